// Inside the model: what could mend a check, and in which round steps.
#pragma once

#include <cmath>
#include <cstdint>
#include <string_view>
#include <vector>

#include "coldtank/remedy.hpp"

namespace coldtank {

// The round values that one action can take: step i = 1 .. count has the value
// (first + i * direction) * 10^exponent.
struct Steps {
    Action action;
    std::string_view unit;
    std::int64_t first;
    std::int64_t direction;
    int exponent;
    std::int64_t count;

    Remedy at(std::int64_t i) const {
        const auto whole = static_cast<double>(first + i * direction);
        const double scale = std::pow(10, std::abs(exponent));
        return {action, exponent < 0 ? whole / scale : whole * scale, unit, {}, {}};
    }
};

// The changes to try for a check of a part, cheapest first, netting fish late.
std::vector<Steps> changes_for(CheckId check, const Planned& planned, Part part);

// What there may be to bring in or drive out: the demand, and what the supply lacks or has over.
double oxygen_gap_g_h(const TankBudget& budget) noexcept;
// Of the inflow or of the loop.
double supply_flow_l_min(const Tank& tank) noexcept;
// As pure oxygen through stones that a remedy adds.
double as_oxygen_l_min(double gap_g_h, const Tank& tank) noexcept;

// Which groups to move so that the rest are of one size: those outside the run of lengths that
// keeps most fish.
std::optional<Remedy> grading(const TankBudget& budget, double widest_ratio);

inline std::int64_t rounded_down(double value) {
    return static_cast<std::int64_t>(std::floor(value));
}
inline std::int64_t rounded_up(double value) { return static_cast<std::int64_t>(std::ceil(value)); }

inline constexpr Constant kReach{"largest change that a remedy asks for", 10, "times",
                                 Basis::judgement, "beyond it is another installation"};
inline constexpr Constant kCoolingReach{"largest cooling that a remedy asks for", 5, "degC",
                                        Basis::judgement, "beyond it is another installation"};

}  // namespace coldtank
