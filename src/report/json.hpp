// The JSON of parts of a report, for those that write them elsewhere.
#pragma once

#include "json_text.hpp"
#include "report.hpp"

namespace coldtank::io {

Json json_of(const TankReport& report);
Json json_of(const LoopReport& report);

}  // namespace coldtank::io
