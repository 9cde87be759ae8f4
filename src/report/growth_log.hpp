// The weighings and temperatures of tanks that a logbook holds.
#pragma once

#include <map>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "coldtank/trend.hpp"
#include "logbook/logbook.hpp"

namespace coldtank::io {

// Of the stock that is in a tank now: since its mean weight fell or more fish came.
struct GrowthLog {
    std::vector<TrendPoint> weighings;     // the first record of each weight, g
    std::vector<TrendPoint> temperatures;  // of each record, degC
};

// By site and tank.
using GrowthLogs = std::map<std::pair<std::string, std::string>, GrowthLog>;

std::span<const std::string_view> growth_columns() noexcept;
GrowthLogs growth_logs_of(const Logbook& book);

}  // namespace coldtank::io
