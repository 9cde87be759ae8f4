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
inline constexpr Range kAbsorptionRange{0, 100, true};  // percent
inline constexpr Range kDropRange{0, 3};                // m

// Air through a stone or a membrane.
struct Diffuser {
    double air_flow_l_min;  // as drawn by the pump, at that depth
    double depth_m;
    std::optional<Bubble> bubble = {};  // exactly one of the two is set
    std::optional<double> transfer_percent_per_m = {};
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

// What flows in falls through air first.
struct Cascade {
    double drop_m;
    std::optional<double> quality =
        {};  // a and b of Barrett et al.; none: those of the coefficients
    std::optional<double> weir = {};
};

struct Aerator {
    std::string name = {};
    std::optional<double> alpha = {};  // field over clean; none: those of the coefficients
    std::optional<double> beta = {};
    std::variant<Diffuser, RatedAerator, PureOxygen, Cascade> kind;
};

// Air of all diffusers together, L/min.
double air_flow_l_min(std::span<const Aerator> aeration) noexcept;

// Oxygen that the bubbles lose on the way up, as a share of the oxygen in them; may pass 1 for a
// `transfer_percent_per_m` that cannot be.
double transfer_share(const Diffuser& diffuser, const Coefficients& k) noexcept;
// Of each metre of depth: stated, or by its bubbles.
double transfer_percent_per_m(const Diffuser& diffuser, const Coefficients& k) noexcept;

// Standard oxygen transfer rate: g/h; 0 for pure oxygen and cascades.
double sotr_g_h(const Aerator& aerator, const Coefficients& k) noexcept;

// Field transfer coefficient K of OTR = K (beta Cs - C).
// m3/h; 0 for pure oxygen and cascades.
// Source: form of the ASCE / EPA equation (from memory). Checked: worked_examples.csv
double field_transfer_m3_h(const Aerator& aerator, double temperature_c,
                           const Coefficients& k) noexcept;

// Oxygen absorbed from pure oxygen, whatever the water holds: g/h; 0 for the others.
double pure_oxygen_g_h(const Aerator& aerator, const Coefficients& k) noexcept;

// Stripping of carbon dioxide, S of S (X - Xeq).
// m3/h; 0 for pure oxygen and cascades. A diffuser's bubbles fill up as they rise: with little air
// they carry no more than Henry's law lets them. Source: judgement (diffusivity ratio 0.9).
double stripping_m3_h(const Aerator& aerator, double temperature_c, const Coefficients& k) noexcept;

// Ratio of oxygen deficits before and after a fall, >= 1.
// Source: Barrett et al. (from memory). Checked: worked_examples.csv, cascade_20
double cascade_deficit_ratio(const Cascade& cascade, double temperature_c,
                             const Coefficients& k) noexcept;

// Share of the carbon dioxide above air equilibrium that a fall takes out, 0..0.25 (judgement,
// below the published 0.21-0.37 of packed columns).
double cascade_stripped_share(const Cascade& cascade, double temperature_c,
                              const Coefficients& k) noexcept;

// What all falls together leave: of the oxygen that the water lacks, and of the carbon dioxide that
// it has above air equilibrium. 1 without one.
struct CascadesLeave {
    double of_oxygen_deficit = 1;
    double of_carbon_dioxide = 1;
};
CascadesLeave cascades_leave(std::span<const Aerator> aeration, double temperature_c,
                             const Coefficients& k) noexcept;

std::span<const Constant> aeration_sources() noexcept;

}  // namespace coldtank
