// What was measured put in place of what the descriptions say.
#pragma once

#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "read/readings.hpp"

namespace coldtank::io {

// How old a reading may be. What was counted or weighed (died, mean_weight_g, ration_g_day) stands
// until the next, unless its column is named.
struct MaxAge {
    double hours = kReadingsMaxAgeH;
    std::map<std::string, double> of_column;
    std::map<std::string, double> of_tank;  // over both
};
// "26h", "90min", "8d", or "COLUMN=8d", or "TANK=8d"; false where it is no such text.
bool parse_max_age(std::string_view text, MaxAge& into);

// Puts the readings into the descriptions and leaves behind what was used (ReadResult::readings).
// Tanks that nothing names, deaths without a group and the like become errors of the file.
// The first name of max_age.of_tank that no description has; empty: all are there.
std::string merge_readings(ReadingsFile& file, const Instant& now, const MaxAge& max_age,
                           const SpeciesBook& book, std::span<ReadResult> read);

}  // namespace coldtank::io
