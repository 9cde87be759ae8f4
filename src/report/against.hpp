// A logbook beside the season that was worked out before.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "logbook/logbook.hpp"
#include "read/season_file.hpp"

namespace coldtank::io {

// A weighing, or the last record, and the day it was foretold for.
struct Against {
    std::string date;
    double mean_weight_g;
    std::optional<double> oxygen_mg_l;  // the lowest that was read that day
    Foretold foretold;
    bool heavier() const { return mean_weight_g > foretold.mean_weight_high_g; }
    bool poorer() const {
        return oxygen_mg_l && foretold.oxygen_lowest_mg_l &&
               *oxygen_mg_l < *foretold.oxygen_lowest_mg_l;
    }
};
std::vector<Against> against_of(std::span<const Logbook> books, const SeasonFile& season,
                                const std::string& site, const std::string& tank);

}  // namespace coldtank::io
