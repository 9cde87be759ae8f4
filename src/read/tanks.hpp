// Tanks, and the loops they are on.
#pragma once

#include <vector>

#include "coldtank/description.hpp"
#include "read/object_reader.hpp"
#include "read/species_book.hpp"

namespace coldtank::io {

// What a site says for all its tanks.
struct SiteDefaults {
    double salinity_g_kg = 0;
    Limits limits;
    const JsonNode* limits_node = nullptr;
};

// The object `limits` of a site, loop or tank.
void read_limits(const ObjectReader& parent, std::vector<Fault>& faults, Limits& limits);

// The lists `tanks` and `loops`: leaves out, with its faults, a tank that has some, and each loop
// such a tank may be on.
void read_tanks(const ObjectReader& top, const SiteDefaults& site, const SpeciesBook& book,
                std::vector<Fault>& faults, Description& description);

}  // namespace coldtank::io
