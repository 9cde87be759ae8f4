// A file of the mean temperatures of days.
#pragma once

#include <string>
#include <vector>

#include "coldtank/description.hpp"
#include "text/input.hpp"

namespace coldtank::io {

struct SeasonTemperatures {
    bool unreadable = false;
    std::vector<SeasonInput::DayMean> daily;  // in order
    std::vector<InputError> errors;
};

// A CSV file with date and temperature_c; days between two rows are on a straight line.
SeasonTemperatures read_season_temperatures(const std::string& path);

}  // namespace coldtank::io
