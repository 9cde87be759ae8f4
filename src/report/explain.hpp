// The working behind a budget: every figure as arithmetic that a pocket calculator can redo.
#pragma once

#include <optional>
#include <span>
#include <string>

#include "coldtank/loop.hpp"
#include "coldtank/water_change.hpp"

namespace coldtank::io {

// One figure a line, in reading order: "name = arithmetic = result unit", then its source and
// basis. The arithmetic uses + - * / ^ ( ) exp ln log10 min max; figures have seven digits, results
// six.
std::string working_of(const Site& site, const SitePressure& air, const Tank& tank,
                       const TankBudget& budget);

// The same for a card of oxygen saturation: of each temperature.
std::string saturation_working_of(const WaterState& water, std::optional<double> altitude_m,
                                  std::span<const double> temperatures_c);

// The same for a loop.
std::string loop_working_of(const Loop& loop, const LoopBudget& budget);

// The same of a change of water.
std::string change_working_of(const WaterChange& change);

}  // namespace coldtank::io
