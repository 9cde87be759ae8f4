// Aerators of a description, and those that run without mains power.
#pragma once

#include <string>
#include <vector>

#include "coldtank/description.hpp"
#include "read/object_reader.hpp"

namespace coldtank::io {

// With `backup`, of what runs without mains power.
Aerator read_aerator(const JsonNode& node, const std::string& pointer, std::vector<Fault>& faults,
                     Backup* backup = nullptr);
// The list `backup` of a tank or site.
std::vector<Backup> read_backup(const ObjectReader& parent, std::vector<Fault>& faults);

}  // namespace coldtank::io
