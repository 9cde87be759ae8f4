// Inside the model: the checks of a tank, from its finished balance.
#pragma once

#include "coldtank/budget.hpp"

namespace coldtank {

// Fills checks, verdict and first_limit.
void judge(const Tank& tank, const SupplyWater& supply, const TankLimits& limits,
           TankBudget& budget);

// A check of one value against its bounds.
void judge_value(Check& check, double value) noexcept;
// Of one that must not rise over its upper limits: with the share of its warn limit.
void judge_upper(Check& check, double value) noexcept;

// The shortest and the longest fish; there are fish.
struct Lengths {
    double shortest_cm;
    double longest_cm;
};
Lengths lengths_of(const TankBudget& budget);

// Checks that a loop shares with a tank. The reading is there.
Check nitrite_check(const Readings& readings);
Check chlorine_check(double chlorine_mg_l);
Check doubt_check(std::size_t doubts) noexcept;

// The least chloride at which a nitrite passes; none where no chloride of the table lets it.
std::optional<double> chloride_for_nitrite(double nitrite_mg_l) noexcept;

std::span<const Constant> judgement_sources() noexcept;

}  // namespace coldtank
