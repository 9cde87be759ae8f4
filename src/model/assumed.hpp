// Inside the model: what was taken for granted, and what looks like a slip of the pen or the meter.
#pragma once

#include "coldtank/budget.hpp"

namespace coldtank {

// Fill `assumed` and `doubts` of a tank whose balance is finished.
void list_assumptions(const Tank& tank, TankBudget& budget);
void list_doubts(const Tank& tank, TankBudget& budget);

// The same of aerators, a tank's or a loop's.
void list_factors(std::span<const Aerator> aeration, std::vector<Assumption>& assumed);
void list_doubts(const Readings& readings, std::vector<Doubt>& doubts);
void list_doubts(std::span<const Aerator> aeration, std::vector<Doubt>& doubts);

std::span<const Constant> assumed_sources() noexcept;

}  // namespace coldtank
