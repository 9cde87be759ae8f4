// Remedies in words.
#pragma once

#include <string>

#include "coldtank/remedy.hpp"
#include "text/units.hpp"

namespace coldtank::io {

// What to do, with the figures of the tank as it is. `check` is the check that the remedy is for.
std::string words_of(const Remedy& remedy, const Tank& tank, const TankBudget& budget,
                     const Check& check, const Display& show);

// The same for a check of a loop.
std::string loop_words_of(const Remedy& remedy, const Loop& loop, const LoopBudget& budget,
                          const Check& check, const Display& show);

}  // namespace coldtank::io
