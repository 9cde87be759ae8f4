// The species a description may name: the program's, and those of a species file over them.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "coldtank/fish.hpp"
#include "text/json_tree.hpp"

namespace coldtank::io {

struct BookEntry {
    std::string name;
    std::string scientific_name;
    std::vector<std::string> other_names;
    Species species;
    std::optional<Species> usual;  // of a file's: the program's own that it changes or is like
};

class SpeciesBook {
public:
    SpeciesBook();  // the program's own

    // Reads a species file into the book: a species of a known name is changed, another is added.
    // Faults leave the book as it was.
    void add(const JsonNode& root, std::vector<Fault>& faults);

    const BookEntry* find(std::string_view typed) const noexcept;
    std::vector<std::string> all_names() const;
    const std::vector<BookEntry>& entries() const noexcept { return entries_; }

private:
    std::vector<BookEntry> entries_;
};

// The numbers of a species by their key, in the order of the file.
struct SpeciesField {
    std::string_view key;
    Constant Species::*member;
};
extern const std::array<SpeciesField, 9> kSpeciesFields;

}  // namespace coldtank::io
