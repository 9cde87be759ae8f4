// What stands beside the checks of a tank or loop: what a status alone would hide, and what cannot
// be or looks mistyped.
#pragma once

#include <string>
#include <vector>

#include "coldtank/loop.hpp"

namespace coldtank::io {

std::vector<std::string> notes_of(const Tank& tank, const TankBudget& budget);
std::vector<std::string> loop_notes_of(const Loop& loop, const LoopBudget& budget);
// Adds what cannot be, or looks mistyped.
void add_warnings(const Tank& tank, const TankBudget& budget, std::vector<std::string>& warnings);

}  // namespace coldtank::io
