#include "report/trend.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "cli/commands.hpp"
#include "cli/help.hpp"
#include "coldtank/version.hpp"
#include "report/report.hpp"
#include "text/safe_file.hpp"
#include "text/text.hpp"

namespace coldtank::cli {
namespace {

struct Options {
    std::vector<std::string> files;
    std::string tank;
    std::string since;
    std::string chart;
    std::string format = "text";
    std::string units = "metric";
};

// Over a picture that trend drew, or where there is nothing; any other file stays as it is.
int write_chart(const std::string& path, const std::string& svg) {
    const auto refuse = [&](std::string_view why) {
        say("coldtank: {}: no chart was drawn: {}\n", io::printable(path), why);
    };
    std::error_code none;
    const auto kind = std::filesystem::status(path, none).type();
    if (kind != std::filesystem::file_type::not_found) {
        std::string reason = "no regular file";
        const auto old = kind == std::filesystem::file_type::regular ? io::read_all(path, reason)
                                                                     : std::optional<std::string>{};
        if (!old) {
            refuse(reason);
            return kNoLogbook;
        }
        if (!old->empty() && !old->starts_with(io::kChartStart)) {
            refuse("it is no chart of coldtank, and would be lost");
            return kNoLogbook;
        }
    }
    const std::string why = io::replace_file(path, svg);
    if (why.empty()) return kPass;
    refuse(why);
    return kNoOutput;
}

int run(const Options& options) {
    const auto now = time_of_run({});
    if (!now) return kUsage;
    std::optional<io::Instant> since;
    if (!options.since.empty()) {
        since = io::parse_time(options.since, io::DayEdge::start);
        if (const auto hours = io::parse_age_h(options.since); hours && !since) {
            since = *now;
            since->seconds -= static_cast<std::int64_t>(*hours * 3600);
        }
    }
    int status = kPass;
    std::vector<io::Logbook> books;
    for (const std::string& path : options.files) {
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
    if (!options.tank.empty()) {
        // A CSV holds a name as it can be shown.
        std::erase_if(trends, [&](const io::TankTrend& each) {
            return io::printable(each.tank) != io::printable(options.tank);
        });
    }
    if (trends.empty() && !options.tank.empty() && status < kData && !since) {
        say("coldtank: no tank named \"{}\" is logged\n", io::printable(options.tank));
        return std::max(status, int{kUsage});
    }
    if (!options.chart.empty()) {
        status = std::max(status, write_chart(options.chart, trends_svg(trends)));
    }
    std::string out;
    if (options.format == "json") {
        out = trends_json(trends, kVersion);
    } else if (options.format == "csv") {
        out = trends_csv(trends);
    } else {
        const io::Display show(options.units == "us" ? io::Units::us : io::Units::metric);
        for (const io::TankTrend& trend : trends) {
            if (!out.empty()) out += '\n';
            out += trend_text(trend, show);
        }
        if (trends.empty() && status == kPass) {
            out = since ? "nothing is logged since\n" : "nothing is logged yet\n";
        }
        if (!trends.empty()) {
            out += '\n' +
                   io::wrapped("",
                               "A straight line through what was logged; days from the last record "
                               "until the line, and in brackets the edges of its 95 % band, meet a "
                               "limit: a guess that weather, feed, weighings and moved fish undo. "
                               "Lowest oxygen is predicted, at the day's peak. Demand warns where "
                               "it meets the supply of the last record.",
                               0);
        }
    }
    return put(out) ? status : std::max(status, int{kNoOutput});
}

}  // namespace

void add_trend(CLI::App& app, int& status) {
    const auto options = std::make_shared<Options>();
    CLI::App* command = add_command(
        app, "trend",
        "What the logbook shows: where oxygen, ammonia, demand and density are going, and when "
        "they meet their limits.",
        "  coldtank trend logbook.csv\n"
        "  coldtank trend --tank \"north round\" --since 2026-11-01 --chart round.svg logbook.csv");
    command->add_option("LOG", options->files, "logbooks that budget --log wrote")->required();
    command->add_option("--tank", options->tank, "only the tank of this name")
        ->check(not_empty())
        ->type_name("NAME");
    command
        ->add_option("--since", options->since,
                     "leave out what is older: a date, or 60d before now")
        ->check(CLI::Validator(
            [](const std::string& text) -> std::string {
                if (io::parse_age_h(text) || io::parse_time(text, io::DayEdge::start)) return {};
                return fmt::format("must be a date as 2026-11-24 or as 60d, got \"{}\"",
                                   io::shortened(text));
            },
            "TIME", "since"))
        ->type_name("TIME");
    command->add_option("--chart", options->chart, "a picture of it, in SVG")
        ->check(not_empty())
        ->check(own_file());
    add_choice(command, "--format", options->format, {"text", "csv", "json"}, "text, csv or json");
    add_choice(command, "--units", options->units, {"metric", "us"}, "metric or us, of the text");
    command->callback([options, &status] { status = run(*options); });
}

}  // namespace coldtank::cli
