#include "coldtank/aeration.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "numbers.hpp"

namespace coldtank {
namespace {

constexpr Constant kFineShare{"oxygen transfer, fine bubbles", 4, "percent/m", Basis::judgement,
                              "no published measurement of small stones was found"};
constexpr Constant kMediumShare{"oxygen transfer, medium bubbles", 2.5, "percent/m",
                                Basis::judgement,
                                "no published measurement of small stones was found"};
constexpr Constant kCoarseShare{"oxygen transfer, coarse bubbles", 1.2, "percent/m",
                                Basis::judgement,
                                "no published measurement of small stones was found"};
constexpr Constant kOxygenInAir{"oxygen in air", 0.2786, "g/L", Basis::published,
                                "20.95 % of air at 20 degC, 101.325 kPa"};
constexpr Constant kPureOxygenDensity{"pure oxygen", 1.330, "g/L", Basis::published,
                                      "ideal gas at 20 degC, 101.325 kPa"};
constexpr Constant kTransferTheta{"temperature factor of transfer", 1.024, "-", Basis::from_memory,
                                  "ASCE / EPA"};
constexpr Constant kStandardTemperature{"temperature of SOTR", 20, "degC", Basis::from_memory,
                                        "ASCE"};
constexpr Constant kStandardSaturation{"saturation of SOTR", 9.09, "mg/L", Basis::published,
                                       "ISO 5814, 20 degC"};
constexpr Constant kCo2TransferRatio{"transfer of carbon dioxide over oxygen", 0.9, "-",
                                     Basis::judgement, "ratio of diffusivities"};
constexpr Constant kGasConstant{"gas constant", 0.082057, "L atm/(mol K)", Basis::published,
                                "CODATA"};
constexpr Constant kCascadeFall{"cascade, per metre of fall", 0.361, "1/m", Basis::published,
                                "after Metcalf & Eddy; Barrett et al."};
constexpr Constant kCascadeWarmth{"cascade, per degC", 0.046, "1/degC", Basis::published,
                                  "after Metcalf & Eddy; Barrett et al."};
constexpr Constant kCascadeStripped{"carbon dioxide a cascade takes out, at most", 0.25, "-",
                                    Basis::judgement, "packed columns take 0.21-0.37 (published)"};

constexpr std::array kSources{
    kCascadeQuality,
    kCascadeWeir,
    kAlpha,
    kBeta,
    kFineShare,
    kMediumShare,
    kCoarseShare,
    kOxygenInAir,
    kPureOxygenDensity,
    kTransferTheta,
    kStandardTemperature,
    kStandardSaturation,
    kCo2TransferRatio,
    kGasConstant,
    kCascadeFall,
    kCascadeWarmth,
    kCascadeStripped,
};

double percent_per_m(const Diffuser& diffuser) {
    if (diffuser.transfer_percent_per_m) return *diffuser.transfer_percent_per_m;
    switch (diffuser.bubble.value_or(Bubble::coarse)) {
        case Bubble::fine:
            return kFineShare;
        case Bubble::medium:
            return kMediumShare;
        case Bubble::coarse:
            break;
    }
    return kCoarseShare;
}

}  // namespace

double air_flow_l_min(std::span<const Aerator> aeration) noexcept {
    double sum = 0;
    for (const Aerator& aerator : aeration) {
        if (const auto* d = std::get_if<Diffuser>(&aerator.kind)) sum += d->air_flow_l_min;
    }
    return sum;
}

double transfer_share(const Diffuser& diffuser) noexcept {
    return percent_per_m(diffuser) / 100 * diffuser.depth_m;
}

double sotr_g_h(const Aerator& aerator) noexcept {
    if (const auto* diffuser = std::get_if<Diffuser>(&aerator.kind)) {
        return diffuser->air_flow_l_min * 60 * kOxygenInAir * transfer_share(*diffuser);
    }
    if (const auto* rated = std::get_if<RatedAerator>(&aerator.kind)) return rated->sotr_g_h;
    return 0;
}

double field_transfer_m3_h(const Aerator& aerator, double temperature_c) noexcept {
    return aerator.alpha * std::pow(double{kTransferTheta}, temperature_c - kStandardTemperature) *
           sotr_g_h(aerator) / kStandardSaturation;
}

double pure_oxygen_g_h(const Aerator& aerator) noexcept {
    const auto* oxygen = std::get_if<PureOxygen>(&aerator.kind);
    if (oxygen == nullptr) return 0;
    return oxygen->flow_l_min * 60 * kPureOxygenDensity * oxygen->absorption_percent / 100;
}

double stripping_m3_h(const Aerator& aerator, double temperature_c) noexcept {
    const double transfer_m3_h = kCo2TransferRatio * field_transfer_m3_h(aerator, temperature_c);
    const auto* diffuser = std::get_if<Diffuser>(&aerator.kind);
    if (diffuser == nullptr) return transfer_m3_h;
    const double air_m3_h = diffuser->air_flow_l_min * 60 / 1000;
    if (air_m3_h == 0) return 0;
    // Dimensionless Henry constant, gas over water.
    const double henry = 1 / (carbon_dioxide_henry_mol_l_atm(temperature_c) * kGasConstant *
                              (temperature_c + kZeroCelsius));
    return -air_m3_h * henry * std::expm1(-transfer_m3_h / (air_m3_h * henry));
}

double cascade_deficit_ratio(const Cascade& cascade, double temperature_c) noexcept {
    return 1 + kCascadeFall * cascade.quality * cascade.weir * cascade.drop_m *
                   (1 + kCascadeWarmth * temperature_c);
}

double cascade_stripped_share(const Cascade& cascade, double temperature_c) noexcept {
    return smaller_of(kCascadeStripped, 1 - std::pow(cascade_deficit_ratio(cascade, temperature_c),
                                                     -kCo2TransferRatio));
}

std::span<const Constant> aeration_sources() noexcept { return kSources; }

}  // namespace coldtank
