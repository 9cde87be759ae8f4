// Inside the model: its equations, each once, close to the paper. They take doubles, or what the
// working of a report is written with (report/explain.cpp): hence `auto`. Ranges are checked, and
// branches and tables looked up, by the functions that call them; units stand in the names.
//
// `k` is a CoefficientsOf<Number>. larger_of, smaller_of, power, exp, log and log10 are found for
// either.
#pragma once

#include <array>
#include <cmath>

#include "coldtank/aeration.hpp"
#include "numbers.hpp"

namespace coldtank::formulas {

using std::cbrt;
using std::exp;
using std::expm1;
using std::log;
using std::log10;

// ---- exact, or a published fit as a whole

inline constexpr Constant kZeroCelsius{"0 degC", 273.15, "K", Basis::published,
                                       "definition of degC, SI"};
inline constexpr Constant kAtmosphere{"standard atmosphere", 101.325, "kPa", Basis::published,
                                      "US Standard Atmosphere 1976"};
inline constexpr Constant kEarthRadius{"effective Earth radius", 6356766, "m", Basis::published,
                                       "US Standard Atmosphere 1976"};
inline constexpr Constant kSeaLevelTemperature{"sea level temperature", 288.15, "K",
                                               Basis::published, "US Standard Atmosphere 1976"};
inline constexpr Constant kLapseRate{"lapse rate", 0.0065, "K/m", Basis::published,
                                     "US Standard Atmosphere 1976"};
inline constexpr Constant kBarometricExponent{"exponent g M / (R L)", 5.25588, "-",
                                              Basis::published, "US Standard Atmosphere 1976"};
inline constexpr Constant kSaturationFit{
    "oxygen saturation", std::nullopt, "mg/L", Basis::published,
    "Benson & Krause 1984, eq. 32 and 24; USGS OWQ Technical Memorandum 2011.03"};
inline constexpr Constant kAmmoniaFit{"pKa of ammonium", std::nullopt, "-", Basis::published,
                                      "Emerson et al. 1975"};
inline constexpr Constant kNh3PerNitrogen{"NH3 per nitrogen", 1.2159, "g/g", Basis::published,
                                          "molar masses 17.031 / 14.007"};
inline constexpr Constant kCarbonateFit{"carbonate system pK1, pK2, log KH, log Kw", std::nullopt,
                                        "-", Basis::published, "Plummer & Busenberg 1982"};
inline constexpr Constant kMilligramsPerMoleCo2{"molar mass of carbon dioxide", 44009.5, "mg/mol",
                                                Basis::published, "standard atomic weights"};
inline constexpr Constant kMilligramsPerEquivalent{"alkalinity as CaCO3", 50043.5, "mg/eq",
                                                   Basis::published, "standard atomic weights"};
inline constexpr Constant kGramsPerPound{"pound", 453.59237, "g", Basis::published, "NIST SP 811"};
inline constexpr Constant kCentimetresPerInch{"inch", 2.54, "cm", Basis::published, "NIST SP 811"};
inline constexpr Constant kFahrenheitPerCelsius{"degF per degC", 1.8, "degF/degC", Basis::published,
                                                "NIST SP 811"};
inline constexpr Constant kStandardTemperature{"temperature of SOTR", 20, "degC",
                                               Basis::from_memory, "ASCE"};
inline constexpr Constant kStandardSaturation{"saturation of SOTR", 9.09, "mg/L", Basis::published,
                                              "ISO 5814, 20 degC"};
inline constexpr Constant kGasConstant{"gas constant", 0.082057, "L atm/(mol K)", Basis::published,
                                       "CODATA"};
inline constexpr Constant kRatedTan{"TAN at which removal_g_day is stated", 1, "mg/L (N)",
                                    Basis::judgement, "definition of the key"};
inline constexpr Constant kRationFit{"ration table", std::nullopt, "percent/day", Basis::published,
                                     "Leitritz & Lewis 1980, misprinted cells as printed"};
inline constexpr Constant kColdRow{"first row of the ration table", 20.0 / 9, "degC",
                                   Basis::published, "36 degF, Leitritz & Lewis 1980"};
inline constexpr Constant kLastLength{"last length class of the ration table", 10, "in",
                                      Basis::published, "Leitritz & Lewis 1980"};

// ---- water

inline auto kelvin(auto temperature_c) { return temperature_c + kZeroCelsius; }

// US Standard Atmosphere 1976, eq. 18 and 33a.
inline auto geopotential_m(auto altitude_m) {
    return kEarthRadius * altitude_m / (kEarthRadius + altitude_m);
}
inline auto standard_pressure_kpa(auto geopotential_m) {
    return kAtmosphere *
           power(1 - kLapseRate * geopotential_m / kSeaLevelTemperature, kBarometricExponent);
}
inline auto atmospheres(auto pressure_kpa) { return pressure_kpa / kAtmosphere; }

// Benson & Krause 1984, eq. 32: ln C1 in powers of i = 1/T, and its salinity term.
inline auto reciprocal(auto temperature_c) { return 1 / kelvin(temperature_c); }
inline auto ln_oxygen_c1(auto i, auto salinity_g_kg) {
    constexpr std::array a{-139.34411, 1.575701e5, -6.642308e7, 1.243800e10, -8.621949e11};
    constexpr std::array s{0.017674, -10.754, 2140.7};
    return a[0] + i * (a[1] + i * (a[2] + i * (a[3] + i * a[4]))) -
           salinity_g_kg * (s[0] + i * (s[1] + i * s[2]));
}
// Eq. 24: vapour pressure u in powers of 1/T, atm; theta in powers of t, 1/atm; p in atm.
inline auto vapour_u(auto i) {
    constexpr std::array u{11.8571, -3840.70, -216961.0};
    return exp(u[0] + i * (u[1] + i * u[2]));
}
inline auto oxygen_theta(auto temperature_c) {
    constexpr std::array a{0.000975, -1.426e-5, 6.436e-8};
    return a[0] + temperature_c * (a[1] + temperature_c * a[2]);
}
inline auto oxygen_saturation_mg_l(auto ln_c1, auto p, auto u, auto theta) {
    return exp(ln_c1) * p * (1 - u / p) * (1 - theta * p) / ((1 - u) * (1 - theta));
}

// Emerson et al. 1975: pKa = a + b/T + c S. (2727.92 in some reprints is a misprint.)
inline auto ammonium_pka(auto temperature_c, auto salinity_g_kg, const auto& k) {
    constexpr std::array a{0.09018, 2729.92};
    return a[0] + a[1] / kelvin(temperature_c) + k.ammonia_pka_per_salinity_kg_g * salinity_g_kg;
}
inline auto unionised_fraction(auto pka, auto ph) { return 1 / (1 + power(10, pka - ph)); }
inline auto nh3_mg_l(auto tan_mg_l, auto fraction) { return tan_mg_l * fraction * kNh3PerNitrogen; }

// Plummer & Busenberg 1982: log10 K = a + b T + c/T + d log10 T + e/T^2.
using Plummer = std::array<double, 5>;
inline constexpr Plummer kPk1{356.3094, 0.06091964, -21834.37, -126.8339, 1684915};
inline constexpr Plummer kPk2{107.8871, 0.03252849, -5151.79, -38.92561, 563713.9};
inline constexpr Plummer kLogHenry{108.3865, 0.01985076, -6919.53, -40.45154, 669365};
inline constexpr Plummer kLogKw{-283.971, -0.05069842, 13323, 102.24447, -1119669};
inline auto plummer(const Plummer& c, auto t) {
    return c[0] + c[1] * t + c[2] / t + c[3] * log10(t) + c[4] / (t * t);
}
// Of a pK or a pH: the equilibrium constant, the activity of hydrogen ions.
inline auto activity(auto p) { return power(10, -p); }
// Carbon dioxide of hydrogen ions h and alkalinity, for equilibrium constants as above; negative
// where that pH is impossible.
inline auto carbon_dioxide_mg_l(auto k1, auto k2, auto kw, auto alkalinity_mg_l, auto h) {
    return kMilligramsPerMoleCo2 * (h / k1) *
           (alkalinity_mg_l / kMilligramsPerEquivalent + h - kw / h) / (1 + 2 * k2 / h);
}
inline auto henry_mol_l_atm(auto log_henry) { return power(10, log_henry); }
inline auto carbon_dioxide_in_air_mg_l(auto henry_mol_l_atm, auto pressure_kpa, const auto& k) {
    return henry_mol_l_atm * (k.carbon_dioxide_in_air_ppm / 1000000) *
           (pressure_kpa / kAtmosphere) * kMilligramsPerMoleCo2;
}

// ---- fish

inline auto biomass_kg(auto count, auto mean_weight_g) { return count * mean_weight_g / 1000; }
inline auto length_cm(auto weight_g, auto condition_g_cm3) {  // of W = k L^3
    return cbrt(weight_g / condition_g_cm3);
}
inline auto fahrenheit(auto temperature_c) { return kFahrenheitPerCelsius * temperature_c + 32; }

// Liao 1971, lb of oxygen per 100 lb of fish a day = c T^a W^b, of a fish of a pound; 1 lb per
// 100 lb is 10000 mg/kg. Below the join it goes on with the exponent of the cold branch
// (judgement).
inline auto pound_warm_mg_kg_h(auto f, const auto& k) {
    return k.respiration_c * power(f, k.respiration_warm_exponent) * 10000 / 24;
}
inline auto pound_cold_mg_kg_h(auto f, const auto& k) {
    return k.respiration_c * power(k.respiration_join_f, k.respiration_warm_exponent) *
           power(f / k.respiration_join_f, k.respiration_cold_exponent) * 10000 / 24;
}
// What a fish breathes over one of a pound.
inline auto weight_factor(auto weight_g, const auto& k) {
    return power(weight_g / kGramsPerPound, -k.respiration_weight_exponent);
}

// What feed costs a fish of a pound in the row of the ration table where it costs most; and one of
// another size, of which a share `beyond` of that row is fed.
inline auto pound_feed_cost_g_g(auto pound_mg_kg_h, auto percent_day, const auto& k) {
    return (1 - k.fasted_share) * pound_mg_kg_h * 24 / 1000 / (10 * percent_day);
}
inline auto feed_cost_g_g(auto pound_g_g, auto beyond, auto weight_factor) {
    return pound_g_g / beyond * weight_factor;
}
// 1 percent a day is 10 g/kg in 24 h.
inline auto respiration_when_fed_mg_kg_h(auto fed_mg_kg_h, auto percent_day, auto feed_cost_g_g,
                                         const auto& k) {
    return k.fasted_share * fed_mg_kg_h + smaller_of((1 - k.fasted_share) * fed_mg_kg_h,
                                                     feed_cost_g_g * percent_day * 10 * 1000 / 24);
}
inline auto fasting_share(auto fasted_h, const auto& k) {
    return 1 - (1 - k.fasted_share) * smaller_of(1, fasted_h / k.fasted_after_h);
}

// The ration table: between two rows, colder than the first, and the lengths beyond the last class.
inline auto beyond_last_length(auto length_cm) {
    return kLastLength / (length_cm / kCentimetresPerInch);
}
inline auto between_rows(auto low, auto high, auto share) { return low + share * (high - low); }
inline auto colder_than_table(auto first, auto temperature_c) {
    return first * temperature_c / kColdRow;
}
inline auto ration_taper(auto temperature_c, auto feeding_stop_c, auto warn_above_c) {
    return larger_of(
        0, smaller_of(1, (feeding_stop_c - temperature_c) / (feeding_stop_c - warn_above_c)));
}
inline auto ration_g_day(auto percent_day, auto biomass_kg) {
    return percent_day / 100 * biomass_kg * 1000;
}

inline auto oxygen_by_feed_g_h(auto ration_g_day, auto oxygen_per_feed_g_kg) {
    return ration_g_day / 1000 * oxygen_per_feed_g_kg / 24;
}
inline auto oxygen_by_respiration_g_h(auto respiration_mg_kg_h, auto biomass_kg) {
    return respiration_mg_kg_h * biomass_kg / 1000;
}
// Timmons & Ebeling 2013; van Weerd 1995.
inline auto tan_production_g_day(auto excreted_g_day, auto protein_percent, auto biomass_kg,
                                 const auto& k) {
    return larger_of(excreted_g_day * protein_percent / 100 * k.tan_per_protein_g_g,
                     k.tan_unfed_g_kg_day * biomass_kg);
}
// Piper et al. 1982 p. 357: half of recently fed; the straight lines are judgement.
inline auto unfed_share_at_first(auto fasted_h, const auto& k) {
    return 1 - (1 - k.unfed_excretion_share) * fasted_h / k.unfed_excretion_h;
}
inline auto unfed_share_later(auto fasted_h, const auto& k) {
    return k.unfed_excretion_share *
           larger_of(0, (k.unfed_excretion_end_h - fasted_h) /
                            (k.unfed_excretion_end_h - k.unfed_excretion_h));
}
inline auto excreted_feed_g_day(auto ration_g_day, auto share, auto table_g_day) {
    return larger_of(ration_g_day, share * table_g_day);
}
inline auto carbon_dioxide_from_oxygen(auto oxygen, const auto& k) {
    return k.carbon_dioxide_per_oxygen_g_g * oxygen;
}
inline auto solids_g_day(auto ration_g_day, const auto& k) {
    return k.solids_per_feed_g_g * ration_g_day;
}

// ---- aeration

inline const auto& bubble_percent_per_m(Bubble bubble, const auto& k) {
    return bubble == Bubble::fine     ? k.transfer_fine_percent_per_m
           : bubble == Bubble::medium ? k.transfer_medium_percent_per_m
                                      : k.transfer_coarse_percent_per_m;
}
inline auto transfer_share(auto percent_per_m, auto depth_m) {
    return percent_per_m / 100 * depth_m;
}
inline auto diffuser_sotr_g_h(auto air_flow_l_min, auto transfer_share, const auto& k) {
    return air_flow_l_min * 60 * k.oxygen_in_air_g_l * transfer_share;
}
// K of OTR = K (beta Cs - C): form of the ASCE / EPA equation.
inline auto field_transfer_m3_h(auto sotr_g_h, auto alpha, auto temperature_c, const auto& k) {
    return alpha * power(k.transfer_per_degree, temperature_c - kStandardTemperature) * sotr_g_h /
           kStandardSaturation;
}
// The same the other way round, of 1 m3/h.
inline auto sotr_of_transfer_g_h(auto alpha, auto temperature_c, const auto& k) {
    return kStandardSaturation /
           (alpha * power(k.transfer_per_degree, temperature_c - kStandardTemperature));
}
inline auto pure_oxygen_g_h(auto flow_l_min, auto absorption_percent, const auto& k) {
    return flow_l_min * 60 * k.pure_oxygen_g_l * absorption_percent / 100;
}
// Henry's constant without a dimension, gas over water.
inline auto henry_gas_over_water(auto henry_mol_l_atm, auto temperature_c) {
    return 1 / (henry_mol_l_atm * kGasConstant * kelvin(temperature_c));
}
inline auto stripping_m3_h(auto transfer_m3_h, const auto& k) {
    return k.carbon_dioxide_transfer_ratio * transfer_m3_h;
}
// Bubbles fill up as they rise, with what air in equilibrium with the water would carry of it.
inline auto air_carries_m3_h(auto air_m3_h, auto henry) { return air_m3_h * henry; }
inline auto bubble_stripping_m3_h(auto transfer_m3_h, auto carries_m3_h, const auto& k) {
    return -carries_m3_h * expm1(-(k.carbon_dioxide_transfer_ratio * transfer_m3_h) / carries_m3_h);
}
// Barrett et al.: oxygen deficits before over after a fall.
inline auto cascade_deficit_ratio(auto quality, auto weir, auto drop_m, auto temperature_c,
                                  const auto& k) {
    return 1 +
           k.cascade_per_m * quality * weir * drop_m * (1 + k.cascade_per_degree * temperature_c);
}
inline auto cascade_stripped_share(auto deficit_ratio, const auto& k) {
    return smaller_of(k.cascade_stripped_share,
                      1 - power(deficit_ratio, -k.carbon_dioxide_transfer_ratio));
}
// What flows in after a fall: of what it lacks of, or has above, its equilibrium a share is left.
inline auto after_fall(auto equilibrium, auto concentration, auto left) {
    return concentration + (equilibrium - concentration) * (1 - left);
}

// ---- growth

// (root + rise)^3 - root^3: 0 where nothing rises, to the last digit.
inline auto gained_g(auto weight_g, auto tgc, auto temperature_c, auto response, auto days) {
    const auto root = cbrt(weight_g);
    const auto rise = tgc * temperature_c * response * days;
    return rise * (3 * root * root + 3 * root * rise + rise * rise);
}

// ---- the balance of a tank

inline auto flow_m3_h(auto flow_l_min) { return flow_l_min * 60 / 1000; }
inline auto water_m3(auto volume_l, auto biomass_kg, const auto& k) {
    return (volume_l - k.fish_displacement_l_kg * biomass_kg) / 1000;
}

// flow (inflow - C) + sum of K (beta Cs - C) + pure - demand = 0, g/h; `air` is the sum of
// K beta Cs.
inline auto steady_mg_l(auto flow, auto inflow_mg_l, auto air_g_h, auto pure_g_h, auto demand_g_h,
                        auto transfer_m3_h) {
    return (flow * inflow_mg_l + air_g_h + pure_g_h - demand_g_h) / (flow + transfer_m3_h);
}
inline auto supply_g_h(auto flow, auto inflow_mg_l, auto oxygen_mg_l, auto air_g_h,
                       auto transfer_m3_h, auto pure_g_h) {
    return flow * (inflow_mg_l - oxygen_mg_l) + air_g_h - transfer_m3_h * oxygen_mg_l + pure_g_h;
}
inline auto oxygen_warn_mg_l(auto warn_mg_l, auto warn_percent, auto saturation_mg_l) {
    return larger_of(warn_mg_l, warn_percent / 100 * saturation_mg_l);
}

// The load that water of another temperature bears over that at 52 degF: 5.6 % a degF.
inline constexpr double kDegFPerC = 1.8;
inline auto haul_load_share(auto temperature_c) {
    return 1 - (kDegFPerC * temperature_c + 32 - 52) / 18;
}
// Ice that cools so much water: by its melting and its warming.
inline constexpr double kIceKjKg = 333.6;
inline constexpr double kWaterKjKgC = 4.186;
inline auto ice_kg(auto water_l, auto from_c, auto to_c) {
    return kWaterKjKgC * water_l * (from_c - to_c) / (kIceKjKg + kWaterKjKgC * to_c);
}

// How long a battery or a cylinder lasts, h.
inline auto battery_hours(auto volts, auto amp_hours, auto watts, auto usable, auto efficiency) {
    return volts * amp_hours * usable * efficiency / watts;
}
inline auto cylinder_hours(auto volume_l, auto bar, auto left_bar, auto flow_l_min) {
    return volume_l * (bar - left_bar) / flow_l_min / 60;
}

// A concentration after some hours: where something exchanges, and where it only gathers.
inline auto course_mg_l(auto start_mg_l, auto gain_g_h, auto rate_m3_h, auto water_m3, auto hours) {
    const auto steady = gain_g_h / rate_m3_h;
    return steady + (start_mg_l - steady) * exp(-rate_m3_h * hours / water_m3);
}
inline auto gathered_mg_l(auto start_mg_l, auto gain_g_h, auto water_m3, auto hours) {
    return start_mg_l + gain_g_h * hours / water_m3;
}
// Minutes until a demand has drawn the oxygen from one level to another: alone, and against an
// inflow that would hold `steady`.
inline auto minutes_stopped(auto water_m3, auto start_mg_l, auto level_mg_l, auto demand_g_h) {
    return larger_of(0, 60 * water_m3 * (start_mg_l - level_mg_l) / demand_g_h);
}
inline auto steady_on_flow_mg_l(auto inflow_mg_l, auto demand_g_h, auto flow) {
    return inflow_mg_l - demand_g_h / flow;
}
inline auto minutes_with_flow(auto water_m3, auto flow, auto start_mg_l, auto steady_mg_l,
                              auto level_mg_l) {
    return larger_of(
        0, 60 * water_m3 / flow * log((start_mg_l - steady_mg_l) / (level_mg_l - steady_mg_l)));
}

// A drop test: what the fish breathe, by the slope at which oxygen begins to fall while the surface
// takes up its part; and the rise to a level.
inline auto breathed_g_h(auto water_m3, auto rate_per_h, auto saturation_mg_l, auto start_mg_l,
                         auto slope_mg_l_h) {
    return water_m3 * (rate_per_h * (saturation_mg_l - start_mg_l) - slope_mg_l_h);
}
inline auto risen_mg_l(auto steady_mg_l, auto start_mg_l, auto rate_per_h, auto hours) {
    return steady_mg_l - (steady_mg_l - start_mg_l) * exp(-rate_per_h * hours);
}

inline auto steady_tan_mg_l(auto supply_mg_l, auto production_g_day, auto flow) {
    return supply_mg_l + production_g_day / (24 * flow);
}
// What a share of new water makes of a concentration, or of a temperature.
inline auto changed_mg_l(auto before, auto fresh, auto share) {
    return before + (fresh - before) * share;
}
inline auto hours_to_tan(auto water_m3, auto limit_mg_l, auto start_mg_l, auto production_g_day) {
    return larger_of(0, 24 * water_m3 * (limit_mg_l - start_mg_l) / production_g_day);
}
inline auto carbon_dioxide_balance_mg_l(auto flow, auto inflow_mg_l, auto stripping_m3_h,
                                        auto in_air_mg_l, auto production_g_h) {
    return (flow * inflow_mg_l + stripping_m3_h * in_air_mg_l + production_g_h) /
           (flow + stripping_m3_h);
}

// ---- a loop

inline auto filter_rate_g_m2_day(auto temperature_c, const auto& k) {
    return larger_of(
        0, k.nitrification_g_m2_day_degree * temperature_c - k.nitrification_lost_g_m2_day);
}
inline auto filter_by_area_g_day(auto maturity_percent, auto area_m2, auto rate_g_m2_day) {
    return maturity_percent / 100 * area_m2 * rate_g_m2_day;
}
inline auto filter_by_removal_g_day(auto maturity_percent, auto removal_g_day, const auto& k) {
    const auto rated = kRatedTan - k.filter_least_tan_mg_l;
    return maturity_percent / 100 * removal_g_day * (k.filter_half_saturation_mg_l + rated) / rated;
}
inline auto nitrified_g_day(auto capacity_g_day, auto tan_mg_l, const auto& k) {
    const auto above = larger_of(0, tan_mg_l - k.filter_least_tan_mg_l);
    return capacity_g_day * above / (k.filter_half_saturation_mg_l + above);
}
inline auto exchanged_g_day(auto exchange_m3_day, auto tan_mg_l, auto makeup_mg_l) {
    return exchange_m3_day * (tan_mg_l - makeup_mg_l);
}
inline auto filter_oxygen_g_h(auto nitrified_g_day, auto feed_g_day, const auto& k) {
    return (k.filter_oxygen_per_tan_g_g * nitrified_g_day +
            k.filter_oxygen_per_feed_g_g * feed_g_day) /
           24;
}
inline auto filter_carbon_dioxide_g_h(auto nitrified_g_day, auto feed_g_day, const auto& k) {
    return (k.filter_carbon_dioxide_per_tan_g_g * nitrified_g_day +
            k.filter_carbon_dioxide_per_feed_g_g * feed_g_day) /
           24;
}
inline auto nitrate_made_g_day(auto nitrified_g_day, const auto& k) {
    return k.nitrate_per_tan_g_g * nitrified_g_day;
}
inline auto nitrate_there_g_day(auto made_g_day, auto exchange_m3_day, auto makeup_mg_l) {
    return made_g_day + exchange_m3_day * makeup_mg_l;
}
inline auto nitrate_mg_l(auto there_g_day, auto plants_g_day, auto exchange_m3_day) {
    return (there_g_day - plants_g_day) / exchange_m3_day;
}
inline auto alkalinity_demand_g_day(auto nitrified_g_day, const auto& k) {
    return k.alkalinity_per_tan_g_g * nitrified_g_day;
}
inline auto alkalinity_dose_g_day(auto demand_g_day, auto plants_g_day, auto exchange_m3_day,
                                  auto makeup_mg_l, auto held_mg_l, const auto& k) {
    return larger_of(0, demand_g_day - k.alkalinity_per_nitrate_g_g * plants_g_day -
                            exchange_m3_day * (makeup_mg_l - held_mg_l));
}

}  // namespace coldtank::formulas
