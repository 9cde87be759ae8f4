// The season of a description.
#pragma once

#include <optional>
#include <vector>

#include "coldtank/description.hpp"
#include "text/json_tree.hpp"

namespace coldtank::io {

// None, with the faults, where something in it is wrong.
std::optional<SeasonInput> read_season(const JsonNode& node, std::vector<Fault>& faults);

}  // namespace coldtank::io
