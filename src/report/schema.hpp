// JSON Schemas (draft 2020-12) of what is read and what is printed.
#pragma once

#include <string>

namespace coldtank::io {

// Derived from the table of keys: shapes, ranges and units; not what goes across keys.
std::string description_schema();

// Of the JSON of a budget, from what a report contains.
std::string report_schema();

}  // namespace coldtank::io
