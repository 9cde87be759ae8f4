// The night's measurements: read from CSV or JSON Lines, merged into descriptions by tank name.
#pragma once

#include <map>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "read/description.hpp"
#include "text/clock.hpp"

namespace coldtank::io {

// The latest value of one column, or the sum of a column that is counted.
struct Measured {
    std::string pointer;  // the column as it was written
    double value = 0;     // in the base unit
    Instant time;
    Place place;
};

// The latest of each column, by fish and column.
using LatestReadings = std::map<std::pair<std::string, std::string>, Measured>;

// Adds to a count; of all else the later stands, of two at once the one further down the file.
void take_later(const std::pair<std::string, std::string>& name, const Measured& measured,
                LatestReadings& latest);

// What was counted, weighed or fed: of a group, and it stands until the next.
bool is_of_fish(std::string_view column);
inline constexpr std::string_view kCounted = "died";

// All that a readings file says of one tank.
struct TankLog {
    Place first;  // its first row
    LatestReadings latest;
    // Every one that a single latest value would hide.
    struct Sample {
        std::int64_t seconds;
        double value;
        int offset_s = 0;  // of its clock; 0 may be a zone that nobody wrote
    };
    std::vector<Sample> oxygen_mg_l;
    std::vector<Sample> temperature_c;
    std::vector<Sample> peak_temperature_c;
    std::vector<Sample> died;
    std::optional<Measured> ahead;  // the first reading that lies ahead of the clock
    std::optional<Place> unusable;  // the last row with a fault
};

struct ReadingsFile {
    std::string path;
    bool unreadable = false;
    bool half_written = false;   // its last row, which is left out
    bool header_fault = false;   // a column that is not known, or that stands twice
    bool oxygen_column = false;  // it has one
    std::map<std::pair<std::string, std::string>, TankLog> by;  // by site ("": any), tank
    std::vector<InputError> errors;
};

// Reads CSV, or JSON Lines by the ending of its name (.jsonl, .ndjson). A file that is being
// written to is waited for, two seconds at most.
ReadingsFile read_readings(const std::string& path, const Instant& now);

}  // namespace coldtank::io
