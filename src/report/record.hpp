// What the logbook keeps of a tank: time, inputs, every figure, every check.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "logbook/logbook.hpp"
#include "report/report.hpp"
#include "text/clock.hpp"

namespace coldtank::io {

// The columns that a record has as CSV.
std::vector<std::string> log_columns();

// The records of all tanks of all reports, for a logbook of JSON Lines or of CSV.
NewRecords new_records(std::span<const Report> reports, const Instant& now, bool json_lines);

}  // namespace coldtank::io
