#include "coldtank/water.hpp"

#include <array>

#include "formulas.hpp"

namespace coldtank {
namespace {

constexpr std::array kSources{
    formulas::kZeroCelsius,
    formulas::kAtmosphere,
    formulas::kEarthRadius,
    formulas::kSeaLevelTemperature,
    formulas::kLapseRate,
    formulas::kBarometricExponent,
    formulas::kSaturationFit,
    formulas::kAmmoniaFit,
    formulas::kNh3PerNitrogen,
    formulas::kCarbonateFit,
    formulas::kMilligramsPerMoleCo2,
    formulas::kMilligramsPerEquivalent,
};

bool valid(const WaterState& water) {
    return kTemperatureRange.holds(water.temperature_c) &&
           kSalinityRange.holds(water.salinity_g_kg) && kPressureRange.holds(water.pressure_kpa);
}

// The carbonate system of a water: its carbon dioxide at any pH, negative where that is impossible.
class Carbonate {
public:
    explicit Carbonate(const BufferedWater& water) : alkalinity_mg_l_(water.alkalinity_mg_l) {
        const double t = formulas::kelvin(water.temperature_c);
        k1_ = formulas::activity(formulas::plummer(formulas::kPk1, t));
        k2_ = formulas::activity(formulas::plummer(formulas::kPk2, t));
        kw_ = power(10, formulas::plummer(formulas::kLogKw, t));
    }
    double carbon_dioxide_mg_l(double ph) const {
        return formulas::carbon_dioxide_mg_l(k1_, k2_, kw_, alkalinity_mg_l_,
                                             formulas::activity(ph));
    }

private:
    double alkalinity_mg_l_;
    double k1_;
    double k2_;
    double kw_;
};

}  // namespace

double standard_pressure_kpa(double altitude_m) noexcept {
    if (!kAltitudeRange.holds(altitude_m)) return kNotANumber;
    return formulas::standard_pressure_kpa(formulas::geopotential_m(altitude_m));
}

double oxygen_saturation_mg_l(const WaterState& water) noexcept {
    if (!valid(water)) return kNotANumber;
    const double i = formulas::reciprocal(water.temperature_c);
    return formulas::oxygen_saturation_mg_l(
        formulas::ln_oxygen_c1(i, water.salinity_g_kg), formulas::atmospheres(water.pressure_kpa),
        formulas::vapour_u(i), formulas::oxygen_theta(water.temperature_c));
}

double unionised_fraction(const WaterState& water, double ph, const Coefficients& k) noexcept {
    if (!valid(water) || !kPhRange.holds(ph)) return kNotANumber;
    return formulas::unionised_fraction(
        formulas::ammonium_pka(water.temperature_c, water.salinity_g_kg, k), ph);
}

double nh3_mg_l(const TotalAmmonia& ammonia) noexcept {
    return formulas::nh3_mg_l(ammonia.tan_mg_l, ammonia.unionised_fraction);
}

double tan_at_nh3_mg_l(const UnionisedAmmonia& ammonia) noexcept {
    return ammonia.nh3_mg_l / (ammonia.unionised_fraction * formulas::kNh3PerNitrogen);
}

double carbon_dioxide_mg_l(const BufferedWater& water, double ph) noexcept {
    if (!kTemperatureRange.holds(water.temperature_c) ||
        !kAlkalinityRange.holds(water.alkalinity_mg_l) || !kPhRange.holds(ph)) {
        return kNotANumber;
    }
    const double mg_l = Carbonate(water).carbon_dioxide_mg_l(ph);
    return mg_l >= 0 ? mg_l : kNotANumber;
}

double ph_from_carbon_dioxide(const BufferedWater& water, double carbon_dioxide_mg_l) noexcept {
    if (!kTemperatureRange.holds(water.temperature_c) ||
        !kAlkalinityRange.holds(water.alkalinity_mg_l) ||
        !kCarbonDioxideRange.holds(carbon_dioxide_mg_l) || carbon_dioxide_mg_l == 0) {
        return kNotANumber;
    }
    // Carbon dioxide falls as pH rises, wherever it is positive: halve the interval.
    const Carbonate carbonate(water);
    const auto excess = [&](double ph) {
        return carbonate.carbon_dioxide_mg_l(ph) - carbon_dioxide_mg_l;
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
    return formulas::henry_mol_l_atm(
        formulas::plummer(formulas::kLogHenry, formulas::kelvin(temperature_c)));
}

double carbon_dioxide_in_air_mg_l(const WaterState& water, const Coefficients& k) noexcept {
    if (!valid(water)) return kNotANumber;
    return formulas::carbon_dioxide_in_air_mg_l(carbon_dioxide_henry_mol_l_atm(water.temperature_c),
                                                water.pressure_kpa, k);
}

std::span<const Constant> water_sources() noexcept { return kSources; }

}  // namespace coldtank
