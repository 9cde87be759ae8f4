// Inside the model: the limits that a description may set, as the program has them, in the order of
// the README.
#pragma once

#include "coldtank/source.hpp"

namespace coldtank {

inline constexpr Constant kOxygenWarn{"oxygen_warn_mg_l", 6, "mg/L", Basis::from_memory,
                                      "EPA 1986"};
inline constexpr Constant kOxygenWarnPercent{
    "oxygen_warn_percent", 60, "% of saturation", Basis::published,
    "Implementing Regulation (EU) 2020/464, Annex II Part I"};
inline constexpr Constant kOxygenFail{"oxygen_fail_mg_l", 5, "mg/L", Basis::published,
                                      "Piper et al. 1982, p. 70"};
inline constexpr Constant kReserveStress{"reserve_stress_mg_l", 5, "mg/L", Basis::published,
                                         "Piper et al. 1982, p. 70"};
inline constexpr Constant kBackupHours{"backup_hours", 8, "h", Basis::judgement, "a night"};
inline constexpr Constant kReserveDanger{"reserve_danger_mg_l", 3, "mg/L", Basis::judgement,
                                         "on EPA 1986: acute mortality limit of salmonids"};
inline constexpr Constant kResponseTime{"response_time_min", 30, "min", Basis::judgement,
                                        "time to hear an alarm, come and act"};
inline constexpr Constant kNh3Warn{"nh3_warn_mg_l", 0.0125, "mg/L (NH3)", Basis::from_memory,
                                   "hatchery limit"};
inline constexpr Constant kNh3Fail{"nh3_fail_mg_l", 0.025, "mg/L (NH3)", Basis::from_memory,
                                   "EIFAC 1970, second-hand"};
// Of a tank with a group of early life.
inline constexpr Constant kEarlyOxygenWarn{"oxygen_warn_mg_l, early life", 8, "mg/L",
                                           Basis::judgement, "EPA 1986 asks 8 to 11 (second-hand)"};
inline constexpr Constant kEarlyOxygenFail{"oxygen_fail_mg_l, early life", 6, "mg/L",
                                           Basis::judgement, "EPA 1986 asks 8 to 11 (second-hand)"};
inline constexpr Constant kEarlyNh3Warn{
    "nh3_warn_mg_l, early life", 0.005, "mg/L (NH3)", Basis::judgement,
    "0.022 killed most trout from egg to fry in 73 days (published)"};
inline constexpr Constant kEarlyNh3Fail{
    "nh3_fail_mg_l, early life", 0.0125, "mg/L (NH3)", Basis::judgement,
    "0.022 killed most trout from egg to fry in 73 days (published)"};
inline constexpr Constant kTanWarn{"tan_warn_mg_l", 2, "mg/L (N)", Basis::judgement,
                                   "at low pH NH3 hides it"};
inline constexpr Constant kTanFail{"tan_fail_mg_l", 5, "mg/L (N)", Basis::judgement,
                                   "at low pH NH3 hides it"};
inline constexpr Constant kCo2Warn{"carbon_dioxide_warn_mg_l", 15, "mg/L", Basis::published,
                                   "Norwegian smolt criterion"};
inline constexpr Constant kCo2Fail{"carbon_dioxide_fail_mg_l", 20, "mg/L", Basis::published,
                                   "textbook target for trout"};
inline constexpr Constant kPhLowWarn{"ph_low_warn", 6.5, "pH", Basis::published,
                                     "Piper et al. 1982, p. 11"};
inline constexpr Constant kPhHighWarn{"ph_high_warn", 9.0, "pH", Basis::published,
                                      "Piper et al. 1982, p. 11"};
inline constexpr Constant kPhLowFail{"ph_low_fail", 6.0, "pH", Basis::judgement,
                                     "half a unit beyond the published range"};
inline constexpr Constant kPhHighFail{"ph_high_fail", 9.5, "pH", Basis::judgement,
                                      "half a unit beyond the published range"};
inline constexpr Constant kDensityFail{"density_fail_kg_m3", 72, "kg/m3", Basis::published,
                                       "SRAC 222, 1990: 4.5 lb/ft3"};
inline constexpr Constant kDensityIndex{"density_index_kg_m3_cm", 3.15, "kg/m3/cm",
                                        Basis::from_memory, "Piper et al. 1982: 0.5 lb/ft3/in"};
inline constexpr Constant kRationRatio{"ration_warn_ratio", 1.25, "-", Basis::judgement,
                                       "uneaten feed fouls the water"};
inline constexpr Constant kExchange{"exchange_warn_per_h", 1, "1/h", Basis::published,
                                    "SRAC 222, 1990"};
inline constexpr Constant kSpreadWarn{"size_spread_warn", 1.5, "-", Basis::common_practice,
                                      "trout eat smaller trout"};
inline constexpr Constant kSpreadFail{"size_spread_fail", 2, "-", Basis::common_practice,
                                      "trout eat smaller trout"};
inline constexpr Constant kNitrateWarn{"nitrate_warn_mg_l", 75, "mg/L (N)", Basis::judgement,
                                       "after Davidson et al. 2014"};
inline constexpr Constant kAlkalinityWarn{"alkalinity_warn_mg_l", 50, "mg/L (CaCO3)",
                                          Basis::common_practice, "recirculating practice"};
inline constexpr Constant kAlkalinityFail{"alkalinity_fail_mg_l", 20, "mg/L (CaCO3)",
                                          Basis::common_practice, "recirculating practice"};

}  // namespace coldtank
