// A season that was worked out before, as `season --format csv` wrote it.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <tuple>
#include <vector>

#include "text/input.hpp"

namespace coldtank::io {

// What it foretold of a day.
struct Foretold {
    double mean_weight_g, mean_weight_low_g, mean_weight_high_g;
    std::optional<double> oxygen_lowest_mg_l;
};
struct SeasonFile {
    bool unreadable = false;
    std::vector<InputError> errors;
    std::map<std::tuple<std::string, std::string, std::string>, Foretold> days;  // site, tank, date
};
SeasonFile read_season_file(const std::string& path);

}  // namespace coldtank::io
