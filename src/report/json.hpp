// The JSON of parts of a report, for those that write them elsewhere.
#pragma once

#include "report/report.hpp"
#include "text/json_writer.hpp"

namespace coldtank::io {

Json json_of(const TankReport& report);
Json json_of(const LoopReport& report);

// The "errors" of a report.
Json errors_json(std::span<const InputError> errors);

}  // namespace coldtank::io
