// From JSON text to a Description, or to every reason why not.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "coldtank/description.hpp"
#include "species_book.hpp"

namespace coldtank::io {

// Something wrong with an input, at its place in the file.
struct InputError {
    std::string file;
    std::optional<std::size_t> line;  // none where the file could not be read at all
    std::optional<std::size_t> column;
    std::string pointer;  // RFC 6901
    std::string message;
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
};

// Reads one description. `first_line` is the line of the file on which `text` starts.
ReadResult read_description(std::string_view text, const std::string& file,
                            const SpeciesBook& book = {}, std::size_t first_line = 1);

// Reads a file ("-" is standard input): one description, or one a line.
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
