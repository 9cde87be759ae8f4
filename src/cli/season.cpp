#include "report/season.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cstdio>

#include "cli/commands.hpp"
#include "read/season_temperatures.hpp"
#include "text/text.hpp"

namespace coldtank::cli {
namespace {

constexpr Option kOptions[] = {
    kFilesOption,
    {.kind = Option::Kind::text,
     .name = "--temperatures",
     .value = "FILE",
     .help = "mean temperatures of days, CSV of date and temperature_c, in place of the season's",
     .names = Option::Names::input},
    {.kind = Option::Kind::text,
     .name = "--logbook",
     .value = "FILE",
     .help = "a logbook that is read only: growth by its weighings, in place of the species'",
     .names = Option::Names::input},
    {Option::Kind::flag, "--plan", "", "how many to stock, also where all passes"},
    {Option::Kind::choice, "--at", "WORD", "the limits that the stock keeps", "warn|fail"},
    {Option::Kind::choice, "--every", "WORD", "a row of the table a week, day or month",
     "week|day|month"},
    kTankOption,
    kSpeciesOption,
    kChartOption,
    {Option::Kind::choice, "--format", "WORD", "text, markdown, csv (a row a day) or json",
     io::names_of<io::kSeasonFormats>()},
    {Option::Kind::choice, "--units", "WORD", "metric or us, of text and markdown", "metric|us"},
    kDateOption,
    kLinesOption,
    kOutputOption};

int run(const Arguments& arguments) {
    const std::string& format = arguments.text("--format");
    const std::string& every = arguments.text("--every");
    const auto now = time_of_run(arguments.text("--date"));
    if (!now) return kUsage;
    io::SpeciesBook book;
    if (const int wrong = read_species(arguments.text("--species"), book)) return wrong;
    io::SeasonQuestion question;
    question.level = arguments.text("--at") == "fail" ? Level::fail : Level::warn;
    question.plan = arguments.has("--plan");
    question.show = display_of(arguments);
    question.every = every == "day"     ? io::Every::day
                     : every == "month" ? io::Every::month
                                        : io::Every::week;
    if (const std::string& path = arguments.text("--temperatures"); !path.empty()) {
        io::SeasonTemperatures file = io::read_season_temperatures(path);
        std::fputs(io::errors_as_text(file.errors).c_str(), stderr);
        if (file.unreadable) return kNoInput;
        if (!file.errors.empty()) return kData;
        question.daily = std::move(file.daily);
    }
    int log_status = kPass;
    if (const std::string& path = arguments.text("--logbook"); !path.empty()) {
        const io::Logbook log = io::read_logbook(path, io::growth_columns());
        std::fputs(io::errors_as_text(log.errors).c_str(), stderr);
        if (log.unreadable) return kNoInput;
        if (!log.errors.empty()) log_status = kData;
        question.logs = io::growth_logs_of(log);
    }
    std::vector<io::ReadResult> read;
    if (const int wrong = read_descriptions({arguments.all("FILE"),
                                             arguments.has("--lines"),
                                             arguments.text("--tank"),
                                             nullptr,
                                             {},
                                             *now},
                                            book, read)) {
        return wrong;
    }
    io::SeasonRun known{question, question.show, *now};
    int status = log_status;
    std::vector<io::SeasonReport> reports;
    for (io::ReadResult& one : read) {
        std::fputs(io::errors_as_text(one.errors).c_str(), stderr);
        reports.push_back(io::make_season_report(std::move(one), question));
        const io::SeasonReport& report = reports.back();
        status = std::max(status, status_of(report, report.verdict));
        if (report.site && !report.missing.empty()) status = std::max<int>(status, kData);
        for (const std::string& why : report.missing) {
            if (format == "csv") say("coldtank: {}: {}\n", io::printable(report.file), why);
        }
        known.verdict = worse(known.verdict, report.verdict);
        ++known.reports;
        known.answered = known.answered || !report.tanks.empty();
    }
    if (const std::string& chart = arguments.text("--chart"); !chart.empty()) {
        if (known.answered) {
            status = std::max(status, write_chart(chart, io::season_svg(reports, question.show)));
        } else {
            say("coldtank: {}: no chart was drawn: there is no season\n", io::printable(chart));
        }
    }
    const std::string out = io::written(io::kSeasonFormats, format, reports, known);
    return std::max(status, write_results(arguments, out));
}

}  // namespace

const Command kSeason{
    "season",
    "The time to come, day by day: when each check first warns and fails, when fish are ready, how "
    "much feed, how many to stock.",
    "  coldtank season farm.json\n"
    "  coldtank season --plan --every month farm.json\n"
    "  coldtank season --temperatures water.csv --format csv farm.json\n"
    "  coldtank season --chart farm.svg farm.json",
    kOptions, run};

}  // namespace coldtank::cli
