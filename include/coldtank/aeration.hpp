// What brings oxygen into a tank and drives carbon dioxide out: diffusers, rated aerators, pure
// oxygen, cascades.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <variant>

#include "coldtank/water.hpp"

namespace coldtank {

enum class Bubble { fine, medium, coarse };

inline constexpr Range kDepthRange{0, 10, true};        // m
inline constexpr Range kTransferRange{0, 100};          // percent/m
inline constexpr Range kAbsorptionRange{0, 100, true};  // percent
inline constexpr Range kDropRange{0, 3};                // m
inline constexpr Range kFieldFactorRange{0, 2};         // alpha, beta

// Air through a stone or a membrane.
struct Diffuser {
    double air_flow_l_min;  // as drawn by the pump, at that depth
    double depth_m;
    std::optional<Bubble> bubble;  // exactly one of the two is set
    std::optional<double> transfer_percent_per_m;
};

// Any aerator with a data sheet or a drop test behind it.
struct RatedAerator {
    double sotr_g_h;  // at 20 degC, 101.325 kPa, clean water without oxygen
};

// Pure oxygen through a stone or a cone.
struct PureOxygen {
    double flow_l_min;
    double absorption_percent;
};

inline constexpr Constant kCascadeQuality{"cascade water quality a", 1.3, "-", Basis::from_memory,
                                          "Barrett et al.: 0.65 grossly polluted to 1.8 clean"};
inline constexpr Constant kCascadeWeir{"cascade weir b", 1.0, "-", Basis::from_memory,
                                       "Barrett et al.: free weir 1.0, step weir 1.3"};

// What flows in falls through air first.
struct Cascade {
    double drop_m;
    double quality = kCascadeQuality;
    double weir = kCascadeWeir;
};

inline constexpr Constant kAlpha{"alpha, field over clean transfer", 0.9, "-", Basis::judgement,
                                 "clean fish water"};
inline constexpr Constant kBeta{"beta, field over clean saturation", 0.98, "-", Basis::judgement,
                                "clean fish water"};

struct Aerator {
    std::string name;
    double alpha = kAlpha;
    double beta = kBeta;
    std::variant<Diffuser, RatedAerator, PureOxygen, Cascade> kind;
};

// Air of all diffusers together, L/min.
double air_flow_l_min(std::span<const Aerator> aeration) noexcept;

// Oxygen that the bubbles lose on the way up, as a share of the oxygen in them; may pass 1 for a
// `transfer_percent_per_m` that cannot be.
// Source: judgement, 4 / 2.5 / 1.2 % a metre for fine / medium / coarse.
double transfer_share(const Diffuser& diffuser) noexcept;

// Standard oxygen transfer rate: g/h; 0 for pure oxygen and cascades.
double sotr_g_h(const Aerator& aerator) noexcept;

// Field transfer coefficient K of OTR = K (beta Cs - C).
// m3/h; 0 for pure oxygen and cascades.
// Source: form of the ASCE / EPA equation (from memory). Checked: worked_examples.csv
double field_transfer_m3_h(const Aerator& aerator, double temperature_c) noexcept;

// Oxygen absorbed from pure oxygen, whatever the water holds: g/h; 0 for the others.
double pure_oxygen_g_h(const Aerator& aerator) noexcept;

// Stripping of carbon dioxide, S of S (X - Xeq).
// m3/h; 0 for pure oxygen and cascades. A diffuser's bubbles fill up as they rise: with little air
// they carry no more than Henry's law lets them. Source: judgement (diffusivity ratio 0.9).
double stripping_m3_h(const Aerator& aerator, double temperature_c) noexcept;

// Ratio of oxygen deficits before and after a fall, >= 1.
// Source: Barrett et al. (from memory). Checked: worked_examples.csv, cascade_20
double cascade_deficit_ratio(const Cascade& cascade, double temperature_c) noexcept;

// Share of the carbon dioxide above air equilibrium that a fall takes out, 0..0.25 (judgement,
// below the published 0.21-0.37 of packed columns).
double cascade_stripped_share(const Cascade& cascade, double temperature_c) noexcept;

std::span<const Constant> aeration_sources() noexcept;

}  // namespace coldtank
