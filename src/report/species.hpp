// The species of a book, as tables and as a file of the same shape.
#pragma once

#include <string>

#include "read/species_book.hpp"

namespace coldtank::io {

std::string species_as_json(const SpeciesBook& book);
std::string species_as_text(const SpeciesBook& book);
std::string one_species_as_text(const BookEntry& entry);

}  // namespace coldtank::io
