// What a logbook shows: per tank where oxygen, ammonia, demand and density are going.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "coldtank/trend.hpp"
#include "logbook/logbook.hpp"
#include "report/against.hpp"
#include "report/format.hpp"
#include "text/units.hpp"

namespace coldtank::io {

// One figure over time, with the limits of the last record.
struct Series {
    std::string_view name;  // "oxygen"
    std::string_view unit;
    Side broken;
    std::vector<TrendPoint> points;  // days since the tank's first record
    std::optional<double> warn;
    std::optional<double> fail;
    std::optional<TrendLine> line;
    DaysTo to_warn;
    DaysTo to_fail;
};

struct TankTrend {
    std::string site;
    std::string tank;
    Instant from = {};
    Instant to = {};
    std::optional<double> silent_days = {};  // since the last record, where that is more than two
    std::size_t ahead = 0;                   // records ahead of the clock, left out
    std::size_t records = 0;
    std::map<std::string, std::string> last = {};  // the last record's cells
    std::vector<Series> series = {};
    std::vector<Against> against = {};    // the season that was foretold
    std::vector<TrendPoint> mean_c = {};  // temperatures, the day's mean and its warmest hour
    std::vector<TrendPoint> peak_c = {};
};

// By tank, of all books together, in the order of their first records; `since` leaves out what is
// older.
std::vector<TankTrend> trends_of(std::span<const Logbook> books,
                                 const std::optional<Instant>& since, const Instant& now);

// The columns of a logbook that a trend needs.
std::vector<std::string_view> trend_columns();

// A picture of each tank, one below the other.
std::string trends_svg(std::span<const TankTrend> trends);

// A run, as the formats of its trends know it.
struct TrendRun {
    Display show;
    std::size_t trends;
    bool since;  // older records were left out
    bool whole;  // every logbook could be read
};

namespace trend_formats {
std::string text(const TankTrend& trend, const TrendRun& run);
std::string text_end(const TrendRun& run);
// One row a series.
std::string csv_begin(const TrendRun& run);
std::string csv(const TankTrend& trend, const TrendRun& run);
std::string json_begin(const TrendRun& run);
std::string json(const TankTrend& trend, const TrendRun& run);
std::string json_end(const TrendRun& run);
// The tank.
std::string names(const TankTrend& trend, const TrendRun& run);
}  // namespace trend_formats

inline constexpr Format<TankTrend, TrendRun> kTrendFormats[] = {
    {"text", nullptr, trend_formats::text, "\n", trend_formats::text_end},
    {"csv", trend_formats::csv_begin, trend_formats::csv, "", nullptr},
    {"json", trend_formats::json_begin, trend_formats::json, ",", trend_formats::json_end},
    {"names", nullptr, trend_formats::names, "", nullptr},
};

}  // namespace coldtank::io
