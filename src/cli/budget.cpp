#include <fmt/core.h>

#include <algorithm>
#include <csignal>
#include <cstdio>
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "cli/commands.hpp"
#include "cli/help.hpp"
#include "coldtank/version.hpp"
#include "logbook/logbook.hpp"
#include "report/record.hpp"
#include "report/report.hpp"
#include "text/text.hpp"

namespace coldtank::cli {
namespace {

struct Options {
    std::vector<std::string> files;
    std::string format = "text";
    std::string tank;
    std::string units = "metric";
    std::string species;
    std::string readings;
    std::vector<std::string> max_age;
    std::string date;
    std::string log;
    bool lines = false;
    bool quiet = false;
    bool explain = false;
    bool require_all = false;
};

int status_of(const io::Report& report, bool require_all) {
    if (report.unreadable) return kNoInput;
    if (!report.errors.empty() || !report.reading_errors.empty()) return kData;
    switch (report.verdict) {
        case Status::fail:
            return kFail;
        case Status::warn:
            return kWarn;
        case Status::unchecked:
            return require_all && lacks_a_check(report) ? kWarn : kPass;
        case Status::pass:
            break;
    }
    return kPass;
}

std::string page_of(const std::vector<io::Report>& reports, const io::Display& show) {
    std::string page;
    for (const io::Report& report : reports) {
        if (!page.empty()) page += '\n';
        if (reports.size() > 1 && report.site) page += place_of(report) + ":\n";
        page += text_of(report, show);
    }
    const bool any = std::any_of(reports.begin(), reports.end(),
                                 [](const io::Report& report) { return !report.tanks.empty(); });
    return any ? page + '\n' + io::cautions() : page;
}

int log_to(const std::string& path, const std::vector<io::Report>& reports, const io::Instant& now,
           bool quiet) {
    const io::Appended done =
        append_to_logbook(path, new_records(reports, now, io::is_json_lines(path)));
    const std::string& said = done.message.empty() ? done.note : done.message;
    if (!said.empty() && !(quiet && done.message.empty())) {
        say("coldtank: {}: {}{}\n", io::printable(path),
            done.message.empty() ? "" : "nothing was logged: ", said);
    }
    switch (done.outcome) {
        case io::Appended::Outcome::written:
            return kPass;
        case io::Appended::Outcome::refused:
            return kNoLogbook;
        case io::Appended::Outcome::failed:
            break;
    }
    return kNoOutput;
}

int run(const Options& options) {
    io::SpeciesBook book;
    std::vector<io::ReadResult> read;
    if (const int wrong = read_species(options.species, book)) return wrong;
    const auto now = time_of_run(options.date);
    if (!now) return kUsage;
    if (options.readings == "-" &&
        std::find(options.files.begin(), options.files.end(), "-") != options.files.end()) {
        say("coldtank: standard input is one file: readings or a description\n");
        return kUsage;
    }
    std::error_code none;
    if (!options.log.empty() && !options.readings.empty() &&
        std::filesystem::equivalent(options.log, options.readings, none)) {
        say("coldtank: --log and --readings name one file\n");
        return kUsage;
    }
    io::MaxAge max_age;
    for (const std::string& text : options.max_age) io::parse_max_age(text, max_age);
    io::ReadingsFile readings;
    const bool merged = !options.readings.empty();
    if (merged) readings = io::read_readings(options.readings, *now);
    if (readings.half_written && !options.quiet) {
        say("coldtank: {}: its last row is being written and is left out\n",
            io::printable(options.readings));
    }
    if (const int wrong = read_descriptions({options.files, options.lines, options.tank,
                                             merged ? &readings : nullptr, max_age, *now},
                                            book, read)) {
        return wrong;
    }

    // JSON and CSV never change their units.
    const bool us =
        options.units == "us" && (options.format == "text" || options.format == "markdown");
    const io::Display show(us ? io::Units::us : io::Units::metric);
    int status = readings.unreadable ? kNoInput : kPass;
    std::vector<io::Report> reports;
    for (io::ReadResult& one : read) {
        std::fputs(io::errors_as_text(one.errors).c_str(), stderr);
        reports.push_back(io::make_report(std::move(one), show, options.explain));
        status = std::max(status, status_of(reports.back(), options.require_all));
    }
    // The alarm first: the logbook may have to be waited for.
    const auto logged = [&](int so_far) {
        return options.log.empty()
                   ? so_far
                   : std::max(so_far, log_to(options.log, reports, *now, options.quiet));
    };
    if (!options.log.empty()) std::signal(SIGPIPE, SIG_IGN);  // a reader gone is no record lost
    if (options.quiet && status == kPass) return logged(status);
    std::string out;
    if (options.format == "json") {
        out = io::json_of(reports, kVersion);
    } else if (options.format == "jsonl") {
        for (const io::Report& report : reports) out += io::json_line_of(report);
    } else if (options.format == "csv") {
        out = csv_of(reports);
    } else if (options.format == "markdown") {
        for (const io::Report& report : reports) {
            if (!out.empty()) out += "\n---\n\n";
            out += markdown_of(report, *now, show);
        }
    } else {
        out = options.quiet ? trouble_page(reports, show) : page_of(reports, show);
    }
    return logged(put(out) ? status : std::max(status, int{kNoOutput}));
}

}  // namespace

void add_budget(CLI::App& app, int& status) {
    const auto options = std::make_shared<Options>();
    CLI::App* command = add_command(
        app, "budget",
        "One budget a tank: oxygen, ammonia, carbon dioxide and space, each with its limit and "
        "what to do.",
        "  coldtank budget farm.json\n"
        "  coldtank budget --quiet --require-all site/*.json\n"
        "\n"
        "Exit status: 0 pass, 1 warn, 2 fail, 64 usage, 65 a description has errors, 66\n"
        "a file cannot be read, 73 not a logbook, 74 cannot write.");
    command->add_option("FILE", options->files, "descriptions in JSON; - is standard input")
        ->required();
    add_choice(command, "--format", options->format, {"text", "markdown", "csv", "json", "jsonl"},
               "text, markdown (a page for a logbook), csv (one row a check), json or jsonl "
               "(one report a line)");
    add_choice(command, "--units", options->units, {"metric", "us"},
               "metric or us, of text and Markdown");
    command->add_option("--tank", options->tank, "only the tank of this name")
        ->check(not_empty())
        ->type_name("NAME");
    command
        ->add_option("--species", options->species,
                     "a file of species to add or change; see coldtank species --format json")
        ->check(not_empty());
    command
        ->add_option("--readings", options->readings,
                     "measurements by tank name, CSV or JSON Lines, put in place of what the "
                     "descriptions say; - is standard input")
        ->check(not_empty());
    command
        ->add_option(
            "--max-age", options->max_age,
            "how old a reading may be (26h); COLUMN=8d or TANK=8d for one; may stand again")
        ->check(CLI::Validator(
            [](const std::string& text) -> std::string {
                io::MaxAge tried;
                if (io::parse_max_age(text, tried)) return {};
                return fmt::format(
                    "must be as 26h, 90min, 8d, tan_mg_l=8d (a column) or TANK=8d, got \"{}\"",
                    io::shortened(text));
            },
            "AGE", "age"))
        ->allow_extra_args(false)
        ->type_name("AGE")
        ->needs("--readings");
    command
        ->add_option("--log", options->log,
                     "a logbook to append a record of each tank to: CSV, or JSON Lines where "
                     "its name ends in .jsonl")
        ->check(not_empty())
        ->check(own_file());
    command
        ->add_option("--date", options->date,
                     "the time of this run (SOURCE_DATE_EPOCH, or the clock)")
        ->check(date_text())
        ->type_name("TIME");
    command->add_flag("--lines", options->lines, "one description a line (as .jsonl files)");
    command->add_flag("--quiet", options->quiet,
                      "print nothing where the exit status is 0, else only what does not pass");
    command->add_flag("--explain", options->explain,
                      "the working behind every figure, with its source");
    command->add_flag("--require-all", options->require_all, "an unchecked check counts as warn");
    command->callback([options, &status] { status = run(*options); });
}

}  // namespace coldtank::cli
