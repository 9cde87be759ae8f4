#include "coldtank/aeration.hpp"

#include <array>

#include "formulas.hpp"

namespace coldtank {
namespace {

constexpr std::array kSources{formulas::kStandardTemperature, formulas::kStandardSaturation,
                              formulas::kGasConstant};

}  // namespace

double air_flow_l_min(std::span<const Aerator> aeration) noexcept {
    double sum = 0;
    for (const Aerator& aerator : aeration) {
        if (const auto* d = std::get_if<Diffuser>(&aerator.kind)) sum += d->air_flow_l_min;
    }
    return sum;
}

double transfer_percent_per_m(const Diffuser& diffuser, const Coefficients& k) noexcept {
    if (diffuser.transfer_percent_per_m) return *diffuser.transfer_percent_per_m;
    return formulas::bubble_percent_per_m(diffuser.bubble.value_or(Bubble::coarse), k);
}

double transfer_share(const Diffuser& diffuser, const Coefficients& k) noexcept {
    return formulas::transfer_share(transfer_percent_per_m(diffuser, k), diffuser.depth_m);
}

double sotr_g_h(const Aerator& aerator, const Coefficients& k) noexcept {
    if (const auto* diffuser = std::get_if<Diffuser>(&aerator.kind)) {
        return formulas::diffuser_sotr_g_h(diffuser->air_flow_l_min, transfer_share(*diffuser, k),
                                           k);
    }
    if (const auto* rated = std::get_if<RatedAerator>(&aerator.kind)) return rated->sotr_g_h;
    return 0;
}

double field_transfer_m3_h(const Aerator& aerator, double temperature_c,
                           const Coefficients& k) noexcept {
    return formulas::field_transfer_m3_h(sotr_g_h(aerator, k), aerator.alpha.value_or(k.alpha),
                                         temperature_c, k);
}

double pure_oxygen_g_h(const Aerator& aerator, const Coefficients& k) noexcept {
    const auto* oxygen = std::get_if<PureOxygen>(&aerator.kind);
    if (oxygen == nullptr) return 0;
    return formulas::pure_oxygen_g_h(oxygen->flow_l_min, oxygen->absorption_percent, k);
}

double stripping_m3_h(const Aerator& aerator, double temperature_c,
                      const Coefficients& k) noexcept {
    const double transfer_m3_h = field_transfer_m3_h(aerator, temperature_c, k);
    const auto* diffuser = std::get_if<Diffuser>(&aerator.kind);
    if (diffuser == nullptr) return formulas::stripping_m3_h(transfer_m3_h, k);
    const double air_m3_h = formulas::flow_m3_h(diffuser->air_flow_l_min);
    if (air_m3_h == 0) return 0;
    const double henry = formulas::henry_gas_over_water(
        carbon_dioxide_henry_mol_l_atm(temperature_c), temperature_c);
    return formulas::bubble_stripping_m3_h(transfer_m3_h,
                                           formulas::air_carries_m3_h(air_m3_h, henry), k);
}

double cascade_deficit_ratio(const Cascade& cascade, double temperature_c,
                             const Coefficients& k) noexcept {
    return formulas::cascade_deficit_ratio(cascade.quality.value_or(k.cascade_quality),
                                           cascade.weir.value_or(k.cascade_weir), cascade.drop_m,
                                           temperature_c, k);
}

double cascade_stripped_share(const Cascade& cascade, double temperature_c,
                              const Coefficients& k) noexcept {
    return formulas::cascade_stripped_share(cascade_deficit_ratio(cascade, temperature_c, k), k);
}

CascadesLeave cascades_leave(std::span<const Aerator> aeration, double temperature_c,
                             const Coefficients& k) noexcept {
    CascadesLeave left;
    for (const Aerator& aerator : aeration) {
        const auto* cascade = std::get_if<Cascade>(&aerator.kind);
        if (cascade == nullptr) continue;
        left.of_oxygen_deficit /= cascade_deficit_ratio(*cascade, temperature_c, k);
        left.of_carbon_dioxide *= 1 - cascade_stripped_share(*cascade, temperature_c, k);
    }
    return left;
}

std::span<const Constant> aeration_sources() noexcept { return kSources; }

}  // namespace coldtank
