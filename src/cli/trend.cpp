#include "report/trend.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <string>
#include <vector>

#include "cli/commands.hpp"
#include "report/report.hpp"
#include "text/text.hpp"

namespace coldtank::cli {
namespace {

std::string wrong_since(const std::string& text) {
    if (io::parse_age_h(text) || io::parse_time(text, io::DayEdge::start)) return {};
    return fmt::format("must be a date as 2026-11-24 or as 60d, got \"{}\"", io::shortened(text));
}

constexpr Option kOptions[] = {
    {.kind = Option::Kind::text,
     .name = "LOG",
     .value = "LOG",
     .help = "logbooks that budget --log wrote",
     .required = true,
     .repeats = true,
     .names = Option::Names::input},
    kTankOption,
    {.kind = Option::Kind::text,
     .name = "--since",
     .value = "TIME",
     .help = "leave out what is older: a date, or 60d before now",
     .check = wrong_since},
    {.kind = Option::Kind::text,
     .name = "--against",
     .value = "FILE",
     .help = "a season worked out before (season --format csv): what was logged beside it",
     .names = Option::Names::input},
    kChartOption,
    {Option::Kind::choice, "--format", "WORD", "text, csv, json or names (the tanks, one a line)",
     io::names_of<io::kTrendFormats>()},
    {Option::Kind::choice, "--units", "WORD", "metric or us, of the text", "metric|us"},
    kDateOption,
    kOutputOption};

int run(const Arguments& arguments) {
    const std::string& tank = arguments.text("--tank");
    const std::string& chart = arguments.text("--chart");
    const std::string& format = arguments.text("--format");
    const std::string& since_text = arguments.text("--since");
    const auto now = time_of_run(arguments.text("--date"));
    if (!now) return kUsage;
    std::optional<io::Instant> since;
    if (!since_text.empty()) {
        since = io::parse_time(since_text, io::DayEdge::start);
        if (const auto hours = io::parse_age_h(since_text); hours && !since) {
            since = *now;
            since->seconds -= static_cast<std::int64_t>(*hours * 3600);
        }
    }
    int status = kPass;
    std::vector<io::Logbook> books;
    for (const std::string& path : arguments.all("LOG")) {
        const io::Logbook& book = books.emplace_back(io::read_logbook(path, io::trend_columns()));
        std::fputs(io::errors_as_text(book.errors).c_str(), stderr);
        if (book.half_written) {
            say("coldtank: {}: its last record is half-written and is left out\n",
                io::printable(path));
        }
        status = std::max(status, book.unreadable       ? int{kNoInput}
                                  : book.errors.empty() ? int{kPass}
                                                        : int{kData});
    }
    std::vector<io::TankTrend> trends = trends_of(books, since, *now);
    if (const std::string& path = arguments.text("--against"); !path.empty()) {
        const io::SeasonFile season = io::read_season_file(path);
        std::fputs(io::errors_as_text(season.errors).c_str(), stderr);
        if (season.unreadable) return kNoInput;
        if (!season.errors.empty()) return kData;
        for (io::TankTrend& trend : trends) {
            trend.against = against_of(books, season, trend.site, trend.tank);
            if (trend.against.empty()) {
                say("coldtank: {}: no weight was logged on a day of {}\n",
                    io::printable(trend.tank), io::printable(path));
            }
        }
    }
    std::vector<std::string> names;
    for (const io::TankTrend& trend : trends) names.push_back(trend.tank);
    if (!tank.empty()) {
        // A CSV holds a name as it can be shown.
        std::erase_if(trends, [&](const io::TankTrend& each) {
            return io::printable(each.tank) != io::printable(tank);
        });
    }
    if (trends.empty() && !tank.empty() && status < kData && !since) {
        say("coldtank: no tank named \"{}\" is logged{}\n", io::printable(tank),
            meant(tank, names));
        return std::max(status, int{kUsage});
    }
    if (!chart.empty()) {
        status = std::max(status, write_chart(chart, trends_svg(trends)));
    }
    const io::Display show(arguments.text("--units") == "us" ? io::Units::us : io::Units::metric);
    const std::string out =
        io::written(io::kTrendFormats, format, trends,
                    io::TrendRun{show, trends.size(), since.has_value(), status == kPass});
    return std::max(status, write_results(arguments, out));
}

}  // namespace

const Command kTrend{
    "trend",
    "What the logbook shows: where oxygen, ammonia, demand and density are going, and when they "
    "meet their limits.",
    "  coldtank trend logbook.csv\n"
    "  coldtank trend --tank \"north round\" --since 2026-11-01 --chart round.svg logbook.csv",
    kOptions, run};

}  // namespace coldtank::cli
