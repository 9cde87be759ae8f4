// Pressure, oxygen saturation, ammonia fraction, carbonate system.
#pragma once

#include <span>

#include "coldtank/coefficients.hpp"

namespace coldtank {

inline constexpr Range kAltitudeRange{-500, 5000};      // m
inline constexpr Range kTemperatureRange{0, 40};        // degC
inline constexpr Range kSalinityRange{0, 40};           // g/kg
inline constexpr Range kPressureRange{50.7, 111.4};     // kPa
inline constexpr Range kPhRange{3, 11};                 // pH
inline constexpr Range kAlkalinityRange{0, 100000};     // mg/L as CaCO3
inline constexpr Range kCarbonDioxideRange{0, 100000};  // mg/L

// The state of a body of water that sets what it can hold.
struct WaterState {
    double temperature_c;      // kTemperatureRange
    double salinity_g_kg = 0;  // kSalinityRange
    double pressure_kpa;       // kPressureRange
};

// Water with its buffer.
struct BufferedWater {
    double temperature_c;    // kTemperatureRange
    double alkalinity_mg_l;  // as CaCO3, kAlkalinityRange
};

// Air pressure at an altitude in the standard atmosphere.
// kPa; NaN outside kAltitudeRange.
// Source: US Standard Atmosphere 1976, eq. 18 and 33a (published).
// Checked: tests/reference/standard_atmosphere_1976.csv
double standard_pressure_kpa(double altitude_m) noexcept;

// Oxygen that water holds in equilibrium with air, at the tank's own pressure.
// mg/L; NaN outside the ranges of WaterState.
// Source: Benson & Krause 1984, eq. 32 and 24 (published; adopted in USGS OWQ Technical Memorandum
// 2011.03 and Standard Methods 4500-O). Checked: tests/reference/oxygen_saturation_*.csv
double oxygen_saturation_mg_l(const WaterState& water) noexcept;

// Share of total ammonia that is un-ionised NH3, 0..1, at a pH.
// NaN outside the ranges of WaterState or kPhRange.
// Source: Emerson et al. 1975 (published); salinity term from memory.
// Checked: tests/reference/unionised_ammonia_trussell_1972.csv
double unionised_fraction(const WaterState& water, double ph, const Coefficients& k) noexcept;

// mg/L of NH3 from mg/L of total ammonia nitrogen and the fraction above.
struct TotalAmmonia {
    double tan_mg_l;
    double unionised_fraction;
};
double nh3_mg_l(const TotalAmmonia& ammonia) noexcept;
// The other way round: the TAN at which NH3 reaches a value. Infinite where the fraction is 0.
struct UnionisedAmmonia {
    double nh3_mg_l;
    double unionised_fraction;
};
double tan_at_nh3_mg_l(const UnionisedAmmonia& ammonia) noexcept;

// Dissolved carbon dioxide from pH and alkalinity.
// mg/L; NaN outside the ranges, and where that pH is impossible at that alkalinity.
// Source: Plummer & Busenberg 1982, no activity correction (published).
// Checked: tests/reference/carbon_dioxide_factor_tucker_1984.csv, worked_examples.csv
double carbon_dioxide_mg_l(const BufferedWater& water, double ph) noexcept;

// The other way round: pH from carbon dioxide and alkalinity.
// pH; NaN outside the ranges, for zero carbon dioxide, and where the answer leaves kPhRange.
double ph_from_carbon_dioxide(const BufferedWater& water, double carbon_dioxide_mg_l) noexcept;

// Henry's constant of carbon dioxide.
// mol/L/atm; NaN outside kTemperatureRange. Source: Plummer & Busenberg 1982 (published).
double carbon_dioxide_henry_mol_l_atm(double temperature_c) noexcept;

// Carbon dioxide of water in equilibrium with outdoor air.
// mg/L; NaN outside the ranges of WaterState.
double carbon_dioxide_in_air_mg_l(const WaterState& water, const Coefficients& k) noexcept;

std::span<const Constant> water_sources() noexcept;

}  // namespace coldtank
