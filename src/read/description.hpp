// From JSON text to a Description, or to every reason why not.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "coldtank/budget.hpp"
#include "read/species_book.hpp"
#include "text/clock.hpp"
#include "text/input.hpp"

namespace coldtank::io {

// A reading of a readings file, as it was used for a tank.
struct UsedReading {
    std::string column;  // in its base unit
    std::string fish;    // the group, where the row names one
    double value = 0;
    std::string time;  // RFC 3339
    Instant at = {};   // the same by the clock of the run
    double age_h = 0;
    bool used = true;  // false: too old, or its loop's is newer, or it cannot be
    std::size_t line = 0;
};

// What a readings file says of a tank or a loop, and whether it is fresh enough.
struct TankReadings {
    std::string name;
    bool loop = false;
    std::vector<UsedReading> list;
    Check check;
    std::string note;
    std::optional<Check> deaths;  // where some were written down
    // The lowest oxygen of the readings that are not too old, where it is not the latest.
    struct Lowest {
        double oxygen_mg_l;
        double latest_mg_l;
        std::string time;
        Instant at;
    };
    std::optional<Lowest> lowest;
};

// One description as far as it could be read: without a site nothing can be worked out; a tank in
// error is left out, the others are there.
struct ReadResult {
    std::string file;
    std::optional<std::size_t> line;  // of a description among one a line
    bool unreadable = false;          // the file, not what is in it
    std::optional<Description> description;
    std::string only_tank;  // what is asked for; empty: all. The others on its loop still count.
    std::vector<InputError> errors;
    std::vector<TankReadings> readings;      // where a readings file was merged
    std::vector<InputError> reading_errors;  // of that file
};

// Reads one description. `first_line` is the line of the file on which `text` starts.
ReadResult read_description(std::string_view text, const std::string& file,
                            const SpeciesBook& book = {}, std::size_t first_line = 1);

// The descriptions of a file ("-" is standard input), one or one a line, as they come.
class DescriptionFile {
public:
    DescriptionFile(std::string path, const SpeciesBook& book, bool one_a_line);

    // One description, not read yet; or, with a reason, the end of a file that cannot be read.
    struct Text {
        std::string text;
        std::optional<std::size_t> line = {};
        std::string unreadable = {};
    };
    // Those that are whole by now, in order: waits for one. None: that was all.
    std::vector<Text> next();
    // Reads one; by several threads at once.
    ReadResult read(const Text& text) const;

private:
    std::vector<Text> whole_lines(bool at_end);

    std::string path_;
    const SpeciesBook& book_;
    bool one_a_line_;
    InputFile file_;
    std::string rest_;
    std::size_t line_ = 0;
    bool any_ = false;
    bool ended_ = false;
};

// All of a file.
std::vector<ReadResult> read_file(const std::string& path, const SpeciesBook& book,
                                  bool one_a_line);

// The program's species with those of a file over them; with errors, the program's alone.
struct SpeciesFile {
    SpeciesBook book;
    bool unreadable = false;
    std::vector<InputError> errors;
};
SpeciesFile read_species_file(const std::string& path);

}  // namespace coldtank::io
