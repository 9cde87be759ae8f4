// Tanks that get water of others.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "coldtank/description.hpp"
#include "text/json_tree.hpp"

namespace coldtank::io {

// The name that stands in a node; null where none does.
const std::string* name_of_node(const JsonNode& node);

// Whose water each tank gets, and whether there is as much: puts in what is handed down, and leaves
// out, with a fault at both places, the tanks whose water cannot be told and those below them.
//   place: of each tank that could be read, its number among the nodes
//   new_water_g_kg: salinity of water from no tank, the site's
void settle_rows(std::span<const JsonNode> nodes, std::vector<std::size_t> place,
                 double new_water_g_kg, std::vector<Fault>& faults, std::vector<Tank>& tanks);

}  // namespace coldtank::io
