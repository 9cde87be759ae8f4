// The log of a drop test: what a meter in the tank showed, row by row.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "coldtank/droptest.hpp"
#include "text/clock.hpp"
#include "text/input.hpp"

namespace coldtank::io {

struct DropLog {
    // How it tells the time: minutes or seconds since a start, the clock of a day, or dates.
    enum class Times { minutes, seconds, clock, dated };

    std::string path;
    bool unreadable = false;
    Times times = Times::minutes;
    Instant first = {};  // of `dated`, from which its hours count; the others count from 0
    std::vector<DropPoint> points;
    std::vector<std::string> when;  // of each, as it is written
    std::vector<std::size_t> lines;
    double step_mg_l = 0;  // the least that its oxygen is written in: 0.01
    std::vector<InputError> errors;

    bool reads_temperature() const;
    // Without what was read after that.
    void end_at(double hours);
};

// A CSV file with oxygen_mg_l and one of time, minutes and seconds; temperature_c where it was
// read. A row with a fault is left out.
DropLog read_drop_log(const std::string& path);

// A time that was typed, as hours of that log: as the log writes its own, or a clock beside dates
// (the nearest to its start). None of any other text.
std::optional<double> hours_in(const DropLog& log, const std::string& typed);
// Such a time for a page: "14:05", "12 min".
std::string short_time(const DropLog& log, double hours);

}  // namespace coldtank::io
