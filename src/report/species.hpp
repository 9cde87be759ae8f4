// The species of a book, as tables and as a file of the same shape.
#pragma once

#include <string>
#include <vector>

#include "read/species_book.hpp"
#include "report/format.hpp"

namespace coldtank::io {

using SpeciesRun = std::vector<BookEntry>;

namespace species_formats {
std::string text_begin(const SpeciesRun& run);
std::string text(const BookEntry& entry, const SpeciesRun& run);
std::string text_end(const SpeciesRun& run);
// One row a species.
std::string csv_begin(const SpeciesRun& run);
std::string csv(const BookEntry& entry, const SpeciesRun& run);
std::string json_begin(const SpeciesRun& run);
std::string json(const BookEntry& entry, const SpeciesRun& run);
std::string json_end(const SpeciesRun& run);
std::string names(const BookEntry& entry, const SpeciesRun& run);
}  // namespace species_formats

inline constexpr Format<BookEntry, SpeciesRun> kSpeciesFormats[] = {
    {"text", species_formats::text_begin, species_formats::text, "", species_formats::text_end},
    {"csv", species_formats::csv_begin, species_formats::csv, "", nullptr},
    {"json", species_formats::json_begin, species_formats::json, ",", species_formats::json_end},
    {"names", nullptr, species_formats::names, "", nullptr},
};

std::string one_species_as_text(const BookEntry& entry);

}  // namespace coldtank::io
