// The tests of the water of loops that a logbook holds.
#pragma once

#include <map>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "coldtank/filter_start.hpp"
#include "logbook/logbook.hpp"
#include "text/clock.hpp"

namespace coldtank::io {

// Of the loop of a site: the most of TAN and nitrite that any of its tanks had in each run. A day
// is one since 1970.
using FilterLog = std::map<std::pair<std::string, std::string>, std::vector<FilterTest>>;

std::span<const std::string_view> filter_columns() noexcept;
FilterLog filter_log_of(const Logbook& book);

Instant instant_of(double day, const Instant& like);
double day_of(const Instant& time);

}  // namespace coldtank::io
