#include "report/outage.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cstdio>
#include <optional>
#include <string>
#include <vector>

#include "cli/commands.hpp"
#include "text/text.hpp"

namespace coldtank::cli {
namespace {

// A time, or of today's clock: "22:10" is yesterday's where it is not yet so late, by over an hour;
// by less a clock is wrong.
std::optional<io::Instant> time_before(const std::string& text, const io::Instant& now) {
    const auto clock = io::parse_clock(text);
    if (!clock) return io::parse_time(text, io::DayEdge::start);
    io::Instant time = io::on_day_of(now, *clock);
    constexpr int kDay = 86400;
    constexpr int kHour = 3600;
    if (time.seconds > now.seconds + kHour) time.seconds -= kDay;
    return time;
}

std::string wrong_since(const std::string& text) {
    if (time_before(text, {})) return {};
    return fmt::format("\"{}\" is no time; write 03:10, or as --date", io::shortened(text));
}

constexpr Option kOptions[] = {
    kFilesOption,
    {.kind = Option::Kind::text,
     .name = "--since",
     .value = "TIME",
     .help = "when the power failed: 03:10, or as --date (at the time of each reading, or now)",
     .check = wrong_since},
    kReadingsOption,
    kMaxAgeOption,
    kTankOption,
    kOxygenOption,
    kSpeciesOption,
    {Option::Kind::choice, "--format", "WORD", "text or json", io::names_of<io::kOutageFormats>()},
    {Option::Kind::choice, "--units", "WORD", "metric or us, of text", "metric|us"},
    kDateOption,
    kLinesOption,
    kOutputOption};

int run(const Arguments& arguments) {
    const std::vector<std::string>& files = arguments.all("FILE");
    const std::string& format = arguments.text("--format");
    const auto now = time_of_run(arguments.text("--date"));
    if (!now) return kUsage;
    std::optional<io::Instant> failed;
    if (arguments.has("--since")) {
        failed = time_before(arguments.text("--since"), *now);
        if (failed->seconds > now->seconds) {
            say("coldtank: --since lies ahead of this clock, which reads {}: is that when the "
                "power "
                "failed?\n",
                io::minute_of(*now));
            return kUsage;
        }
    }
    io::SpeciesBook book;
    if (const int wrong = read_species(arguments.text("--species"), book)) return wrong;
    Measured measured;
    if (const int wrong = read_measured(arguments, *now, measured)) return wrong;
    std::vector<io::ReadResult> read;
    if (const int wrong = read_descriptions(
            {files, arguments.has("--lines"), arguments.text("--tank"),
             measured.merged ? &measured.readings : nullptr, measured.max_age, *now},
            book, read)) {
        return wrong;
    }
    if (const int wrong = take_oxygen(arguments, read)) return wrong;
    int status = measured.readings.unreadable ? kNoInput : kPass;
    std::vector<io::OutageReport> reports;
    for (io::ReadResult& one : read) {
        std::fputs(io::errors_as_text(one.errors).c_str(), stderr);
        reports.push_back(io::make_outage_report(std::move(one), failed, *now));
        status = std::max(status, status_of(reports.back(), reports.back().verdict));
    }
    const io::Display show = display_of(arguments);
    const std::string out =
        io::written(io::kOutageFormats, format, reports, io::run_of(reports, show, *now, failed));
    return std::max(status, write_results(arguments, out));
}

}  // namespace

const Command kOutage{
    "outage",
    "The power is out, or will be: minutes of oxygen left in each tank, and what to do without "
    "mains.",
    "  coldtank outage farm.json\n"
    "  coldtank outage farm.json --tank \"north round\" --oxygen 6.4\n"
    "  coldtank outage farm.json --readings readings.csv --since 03:10\n\n"
    "Exit status by the minutes to danger, as the check oxygen_reserve of budget: 0\n"
    "pass, 1 warn, 2 fail; 64, 65, 66, 74 as budget.",
    kOptions, run};

}  // namespace coldtank::cli
