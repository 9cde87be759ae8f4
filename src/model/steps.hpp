// Inside the model: what could mend a check, and in which steps it is sold.
#pragma once

#include <cmath>
#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

#include "coldtank/remedy.hpp"

namespace coldtank {

// What is sold, read or poured, by our judgement: values below the end go in such steps of the
// unit.
struct Grid {
    double below;
    double step;
};
// The steps of an action, in a unit of so much of the action's own; its scale may have another
// zero.
struct Steps {
    std::span<const Grid> grid;
    double unit = 1;
    double zero = 0;

    // The next value on the grid; what is on it already, but for its last digits, stays. Not
    // finite: NaN.
    double next(double value, bool up) const;
};
const Steps& steps_of(Action action, Sold sold);

// What one action can be asked for: rung i = 1 .. count is the i-th value of its steps above or
// below where it starts from.
struct Ladder {
    Action action;
    std::string_view unit;
    const Steps* steps;
    double from;
    bool up;
    std::int64_t count;

    Remedy at(std::int64_t i) const;
};

// The changes to try for a check of a part, cheapest first, netting fish late.
std::vector<Ladder> changes_for(CheckId check, const Planned& planned, Part part, Sold sold);

// What there may be to bring in or drive out: the demand, and what the supply lacks or has over.
double oxygen_gap_g_h(const TankBudget& budget) noexcept;
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
