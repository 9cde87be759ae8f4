#include "coldtank/water.hpp"

#include <array>
#include <cmath>

#include "numbers.hpp"

namespace coldtank {
namespace {

constexpr Constant kAtmosphere{"standard atmosphere", 101.325, "kPa", Basis::published,
                               "US Standard Atmosphere 1976"};
constexpr Constant kEarthRadius{"effective Earth radius", 6356766, "m", Basis::published,
                                "US Standard Atmosphere 1976"};
constexpr Constant kSeaLevelTemperature{"sea level temperature", 288.15, "K", Basis::published,
                                        "US Standard Atmosphere 1976"};
constexpr Constant kLapseRate{"lapse rate", 0.0065, "K/m", Basis::published,
                              "US Standard Atmosphere 1976"};
constexpr Constant kBarometricExponent{"exponent g M / (R L)", 5.25588, "-", Basis::published,
                                       "US Standard Atmosphere 1976"};

// Benson & Krause 1984, eq. 32: ln C1 in powers of 1/T; the salinity term; eq. 24: vapour
// pressure u in powers of 1/T, theta in powers of t.
constexpr Constant kSaturationFit{
    "oxygen saturation", std::nullopt, "mg/L", Basis::published,
    "Benson & Krause 1984, eq. 32 and 24; USGS OWQ Technical Memorandum 2011.03"};
constexpr std::array<double, 5> kOxygen{-139.34411, 1.575701e5, -6.642308e7, 1.243800e10,
                                        -8.621949e11};
constexpr std::array<double, 3> kOxygenSalinity{0.017674, -10.754, 2140.7};
constexpr std::array<double, 3> kVapour{11.8571, -3840.70, -216961};
constexpr std::array<double, 3> kTheta{0.000975, -1.426e-5, 6.436e-8};

// Emerson et al. 1975: pKa = a + b/T + c S. (2727.92 in some reprints is a misprint.)
constexpr Constant kAmmoniaFit{"pKa of ammonium", std::nullopt, "-", Basis::published,
                               "Emerson et al. 1975"};
constexpr std::array<double, 2> kAmmonia{0.09018, 2729.92};
constexpr Constant kAmmoniaSalinity{"pKa of ammonium per g/kg of salt", 0.003071, "kg/g",
                                    Basis::from_memory, "after Khoo et al. 1977"};
constexpr Constant kNh3PerNitrogen{"NH3 per nitrogen", 1.2159, "g/g", Basis::published,
                                   "molar masses 17.031 / 14.007"};

// Plummer & Busenberg 1982: log10 K = a + b T + c/T + d log10 T + e/T^2.
constexpr Constant kCarbonateFit{"carbonate system pK1, pK2, log KH, log Kw", std::nullopt, "-",
                                 Basis::published, "Plummer & Busenberg 1982"};
constexpr std::array<double, 5> kPk1{356.3094, 0.06091964, -21834.37, -126.8339, 1684915};
constexpr std::array<double, 5> kPk2{107.8871, 0.03252849, -5151.79, -38.92561, 563713.9};
constexpr std::array<double, 5> kLogHenry{108.3865, 0.01985076, -6919.53, -40.45154, 669365};
constexpr std::array<double, 5> kLogKw{-283.971, -0.05069842, 13323, 102.24447, -1119669};
constexpr Constant kMilligramsPerMoleCo2{"molar mass of carbon dioxide", 44009.5, "mg/mol",
                                         Basis::published, "standard atomic weights"};
constexpr Constant kMilligramsPerEquivalent{"alkalinity as CaCO3", 50043.5, "mg/eq",
                                            Basis::published, "standard atomic weights"};
constexpr Constant kCo2InAir{"carbon dioxide in outdoor air", 420e-6, "atm/atm", Basis::published,
                             "global mean of recent years; indoor air holds more"};

constexpr std::array kSources{
    kZeroCelsius,
    kAtmosphere,
    kEarthRadius,
    kSeaLevelTemperature,
    kLapseRate,
    kBarometricExponent,
    kSaturationFit,
    kAmmoniaFit,
    kAmmoniaSalinity,
    kNh3PerNitrogen,
    kCarbonateFit,
    kMilligramsPerMoleCo2,
    kMilligramsPerEquivalent,
    kCo2InAir,
};

double kelvin(double temperature_c) { return temperature_c + kZeroCelsius; }

bool valid(const WaterState& water) {
    return kTemperatureRange.holds(water.temperature_c) &&
           kSalinityRange.holds(water.salinity_g_kg) && kPressureRange.holds(water.pressure_kpa);
}

double plummer(const std::array<double, 5>& c, double temperature_c) {
    const double t = kelvin(temperature_c);
    return c[0] + c[1] * t + c[2] / t + c[3] * std::log10(t) + c[4] / (t * t);
}

// CO2 as in the header, for any hydrogen ion activity h; negative where the pH is impossible.
double carbon_dioxide_at(const BufferedWater& water, double h) {
    const double k1 = std::pow(10, -plummer(kPk1, water.temperature_c));
    const double k2 = std::pow(10, -plummer(kPk2, water.temperature_c));
    const double kw = std::pow(10, plummer(kLogKw, water.temperature_c));
    const double alkalinity = water.alkalinity_mg_l / kMilligramsPerEquivalent;
    return kMilligramsPerMoleCo2 * (h / k1) * (alkalinity + h - kw / h) / (1 + 2 * k2 / h);
}

}  // namespace

double standard_pressure_kpa(double altitude_m) noexcept {
    if (!kAltitudeRange.holds(altitude_m)) return kNotANumber;
    const double geopotential_m = kEarthRadius * altitude_m / (kEarthRadius + altitude_m);
    return kAtmosphere * std::pow(1 - kLapseRate * geopotential_m / kSeaLevelTemperature,
                                  double{kBarometricExponent});
}

double oxygen_saturation_mg_l(const WaterState& water) noexcept {
    if (!valid(water)) return kNotANumber;
    const double t = water.temperature_c;
    const double i = 1 / kelvin(t);
    const double ln_c1 =
        kOxygen[0] + i * (kOxygen[1] + i * (kOxygen[2] + i * (kOxygen[3] + i * kOxygen[4]))) -
        water.salinity_g_kg *
            (kOxygenSalinity[0] + i * (kOxygenSalinity[1] + i * kOxygenSalinity[2]));
    const double p = water.pressure_kpa / kAtmosphere;
    const double u = std::exp(kVapour[0] + i * (kVapour[1] + i * kVapour[2]));
    const double theta = kTheta[0] + t * (kTheta[1] + t * kTheta[2]);
    return std::exp(ln_c1) * p * (1 - u / p) * (1 - theta * p) / ((1 - u) * (1 - theta));
}

double unionised_fraction(const WaterState& water, double ph) noexcept {
    if (!valid(water) || !kPhRange.holds(ph)) return kNotANumber;
    const double pka = kAmmonia[0] + kAmmonia[1] / kelvin(water.temperature_c) +
                       kAmmoniaSalinity * water.salinity_g_kg;
    return 1 / (1 + std::pow(10, pka - ph));
}

double nh3_mg_l(const TotalAmmonia& ammonia) noexcept {
    return ammonia.tan_mg_l * ammonia.unionised_fraction * kNh3PerNitrogen;
}

double tan_at_nh3_mg_l(const UnionisedAmmonia& ammonia) noexcept {
    return ammonia.nh3_mg_l / (ammonia.unionised_fraction * kNh3PerNitrogen);
}

double carbon_dioxide_mg_l(const BufferedWater& water, double ph) noexcept {
    if (!kTemperatureRange.holds(water.temperature_c) ||
        !kAlkalinityRange.holds(water.alkalinity_mg_l) || !kPhRange.holds(ph)) {
        return kNotANumber;
    }
    const double mg_l = carbon_dioxide_at(water, std::pow(10, -ph));
    return mg_l >= 0 ? mg_l : kNotANumber;
}

double ph_from_carbon_dioxide(const BufferedWater& water, double carbon_dioxide_mg_l) noexcept {
    if (!kTemperatureRange.holds(water.temperature_c) ||
        !kAlkalinityRange.holds(water.alkalinity_mg_l) ||
        !kCarbonDioxideRange.holds(carbon_dioxide_mg_l) || carbon_dioxide_mg_l == 0) {
        return kNotANumber;
    }
    // Carbon dioxide falls as pH rises, wherever it is positive: halve the interval.
    const auto excess = [&](double ph) {
        return carbon_dioxide_at(water, std::pow(10, -ph)) - carbon_dioxide_mg_l;
    };
    double low = kPhRange.low;
    double high = kPhRange.high;
    if (excess(low) < 0 || excess(high) > 0) return kNotANumber;
    for (;;) {
        const double middle = low + (high - low) / 2;
        if (middle <= low || middle >= high) return middle;
        (excess(middle) > 0 ? low : high) = middle;
    }
}

double carbon_dioxide_henry_mol_l_atm(double temperature_c) noexcept {
    if (!kTemperatureRange.holds(temperature_c)) return kNotANumber;
    return std::pow(10, plummer(kLogHenry, temperature_c));
}

double carbon_dioxide_in_air_mg_l(const WaterState& water) noexcept {
    if (!valid(water)) return kNotANumber;
    return carbon_dioxide_henry_mol_l_atm(water.temperature_c) * kCo2InAir *
           (water.pressure_kpa / kAtmosphere) * kMilligramsPerMoleCo2;
}

std::span<const Constant> water_sources() noexcept { return kSources; }

}  // namespace coldtank
