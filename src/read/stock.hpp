// The fish of a tank or a trip.
#pragma once

#include <string>
#include <vector>

#include "coldtank/description.hpp"
#include "read/species_book.hpp"
#include "text/json_tree.hpp"

namespace coldtank::io {

// A group of fish.
//   water_l: that they are in; 0 where it could not be read
FishGroup read_group(const JsonNode& node, const std::string& pointer, const SpeciesBook& book,
                     double water_l, std::vector<Fault>& faults);

}  // namespace coldtank::io
