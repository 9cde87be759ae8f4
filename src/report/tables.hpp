// Tables that the program prints about itself and about water.
#pragma once

#include <string>

#include "coldtank/water.hpp"
#include "text/units.hpp"

namespace coldtank::io {

// Every coefficient, limit and default: used in, name, value, unit, basis, source.
std::string sources_as_text();
std::string sources_as_csv();
std::string sources_as_json();

// A card of oxygen saturation to tape to the meter: mg/L at 80, 90 and 100 % of saturation.
struct CardRange {
    double from_c;
    double to_c;
    double step_c;
};
std::string saturation_as_text(const WaterState& water, const CardRange& range,
                               const Display& show);
std::string saturation_as_csv(const WaterState& water, const CardRange& range);
std::string saturation_as_json(const WaterState& water, const CardRange& range);

}  // namespace coldtank::io
