// What the logbook keeps of a tank: time, inputs, every figure, every check.
#pragma once

#include <map>
#include <span>
#include <string>
#include <vector>

#include "logbook/logbook.hpp"
#include "report/report.hpp"
#include "text/clock.hpp"
#include "text/json_writer.hpp"

namespace coldtank::io {

// As JSON: {"time", "site", ..., "inputs": {...}, the report's tank without remedies,
// "loop_budget"}.
Json log_record(const Report& report, const TankReport& tank, const Instant& now);

// The columns that a record has as CSV, and its cells by column, not yet quoted.
std::vector<std::string> log_columns();
std::map<std::string, std::string> log_cells(const Report& report, const TankReport& tank,
                                             const Instant& now);

// The records of all tanks of all reports, for a logbook of JSON Lines or of CSV.
NewRecords new_records(std::span<const Report> reports, const Instant& now, bool json_lines);

}  // namespace coldtank::io
