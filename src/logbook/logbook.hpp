// The logbook: one record a tank and run, appended so that nothing is lost and nothing half-written
// stays; and read again for trends.
#pragma once

#include <functional>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <tuple>
#include <vector>

#include "text/clock.hpp"
#include "text/input.hpp"

namespace coldtank::io {

// What became of an append. `note` is for people where it went well but for something.
struct Appended {
    enum class Outcome { written, refused, failed };
    Outcome outcome = Outcome::written;
    std::string message;
    std::string note;
};

// The last column of every record, and its cell: what stands before it is whole.
inline constexpr std::string_view kRecordEnd = "record";
inline constexpr std::string_view kRecordWhole = "whole";

// Records to append: as lines of JSON, or the cells of a CSV by column, not yet quoted.
struct NewRecords {
    std::vector<std::string> columns;  // of a CSV of this version, kRecordEnd the last
    std::vector<std::map<std::string, std::string>> cells;
    std::vector<std::string> json_lines;
};

// Appends records: JSON Lines where the name ends in .jsonl or .ndjson, else CSV, whose header a
// new file gets first. One write under a lock, then fsync; what fails is taken back. No records:
// nothing is touched.
//   refused: not to be opened, no regular file, or not this program's logbook; failed: disk full
//   and the like. The file is as it was in both.
// A CSV of an older version gets the columns it lacks: a new file beside it, renamed over it. The
// half-written last record of a killed run is moved to FILE.cut.
Appended append_to_logbook(const std::string& path, const NewRecords& records);

// Texts by column. Of an absent column an empty text; no number where none stands.
using CellsByColumn = std::map<std::string, std::string>;
std::string text_in(const CellsByColumn& cells, const std::string& column);
std::optional<double> number_in(const CellsByColumn& cells, const std::string& column);

// A record as read back: its cells by column; of JSON Lines those of the tank, by the same names.
struct LogRecord {
    Instant time;
    CellsByColumn cells;

    std::string text(const std::string& column) const { return text_in(cells, column); }
    std::optional<double> number(const std::string& column) const {
        return number_in(cells, column);
    }
};
struct Logbook {
    bool unreadable = false;
    bool half_written = false;  // its last record, which is left out
    std::vector<LogRecord> records;
    std::vector<InputError> errors;
};
// Whose record it is: site, tank and file.
using RecordKey = std::tuple<std::string, std::string, std::string>;
// The last record of each of `wanted` tanks, of these columns, found from the end of the logbook:
// not all of it is read, and none that is older than `oldest`. What cannot be read is not there.
//   key_of: an empty one of what nobody asks for
std::map<RecordKey, LogRecord> last_records(
    const std::string& path, std::span<const std::string_view> columns,
    const std::function<RecordKey(const LogRecord&)>& key_of, std::size_t wanted,
    const Instant& oldest);
// Of each record these columns; time and tank must be among them.
Logbook read_logbook(const std::string& path, std::span<const std::string_view> columns);

}  // namespace coldtank::io
