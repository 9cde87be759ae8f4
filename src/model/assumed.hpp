// Inside the model: what was taken for granted, and what looks like a slip of the pen or the meter.
#pragma once

#include "coldtank/loop.hpp"

namespace coldtank {

// Fill `assumed` and `doubts` of a tank or a loop whose balance is finished.
void list_assumptions(const Tank& tank, TankBudget& budget);
void list_doubts(const Tank& tank, TankBudget& budget);
void list_assumptions(const Loop& loop, LoopBudget& budget);

std::span<const Constant> assumed_sources() noexcept;

}  // namespace coldtank
