// What the logbook keeps of a tank: time, inputs, every figure, every check.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "clock.hpp"
#include "json_text.hpp"
#include "report.hpp"

namespace coldtank::io {

// The last column, and its cell: what stands before it is whole.
inline constexpr std::string_view kRecordEnd = "record";
inline constexpr std::string_view kRecordWhole = "whole";

// As JSON: {"time", "site", ..., "inputs": {...}, the report's tank without remedies,
// "loop_budget"}.
Json log_record(const Report& report, const TankReport& tank, const Instant& now);

// The columns that a record has as CSV, and its cells by column, not yet quoted.
std::vector<std::string> log_columns();
std::map<std::string, std::string> log_cells(const Report& report, const TankReport& tank,
                                             const Instant& now);

}  // namespace coldtank::io
