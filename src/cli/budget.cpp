#include <fmt/format.h>

#include <algorithm>
#include <cstdio>
#include <memory>
#include <string>
#include <vector>

#include "../io/report.hpp"
#include "../io/text.hpp"
#include "commands.hpp"
#include "help.hpp"

namespace coldtank::cli {
namespace {

struct Options {
    std::vector<std::string> files;
    std::string format = "text";
    std::string tank;
    std::string units = "metric";
    std::string species;
    bool lines = false;
    bool quiet = false;
    bool explain = false;
    bool require_all = false;
};

int status_of(const io::Report& report, bool require_all) {
    if (report.unreadable) return kNoInput;
    if (!report.errors.empty()) return kData;
    switch (report.verdict) {
        case Status::fail:
            return kFail;
        case Status::warn:
            return kWarn;
        case Status::unchecked:
            return require_all ? kWarn : kPass;
        case Status::pass:
            break;
    }
    return kPass;
}

std::string page_of(const std::vector<io::Report>& reports, bool only_trouble,
                    const io::Display& show) {
    std::string page;
    for (const io::Report& report : reports) {
        if (!page.empty()) page += '\n';
        page += text_of(report, only_trouble, show);
    }
    const bool any = std::any_of(reports.begin(), reports.end(),
                                 [](const io::Report& report) { return !report.tanks.empty(); });
    return any ? page + '\n' + io::cautions() : page;
}

int run(const Options& options) {
    io::SpeciesBook book;
    std::vector<io::ReadResult> read;
    if (const int wrong = read_species(options.species, book)) return wrong;
    if (const int wrong =
            read_descriptions({options.files, options.lines, options.tank}, book, read)) {
        return wrong;
    }

    // JSON never changes its units.
    const bool us = options.units == "us" && options.format == "text";
    const io::Display show(us ? io::Units::us : io::Units::metric);
    int status = kPass;
    std::vector<io::Report> reports;
    for (io::ReadResult& one : read) {
        std::fputs(io::errors_as_text(one.errors).c_str(), stderr);
        reports.push_back(io::make_report(std::move(one), show, options.explain));
        status = std::max(status, status_of(reports.back(), options.require_all));
    }
    if (options.quiet && status == kPass) return status;
    std::string out;
    if (options.format == "json") {
        out = io::json_of(reports, COLDTANK_VERSION);
    } else if (options.format == "jsonl") {
        for (const io::Report& report : reports) out += io::json_line_of(report);
    } else {
        out = page_of(reports, options.quiet, show);
    }
    return put(out) ? status : std::max(status, int{kNoOutput});
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
        "a file cannot be read, 74 cannot write.");
    command->add_option("FILE", options->files, "descriptions in JSON; - is standard input")
        ->required();
    command->add_option("--format", options->format, "text, json or jsonl (one report a line)")
        ->check(CLI::IsMember({"text", "json", "jsonl"}))
        ->type_name("WORD");
    command->add_option("--units", options->units, "metric or us, of the text")
        ->check(CLI::IsMember({"metric", "us"}))
        ->type_name("WORD");
    command->add_option("--tank", options->tank, "only the tank of this name")->type_name("NAME");
    command->add_option("--species", options->species,
                        "a file of species to add or change; see coldtank species --format json");
    command->add_flag("--lines", options->lines, "one description a line (as .jsonl files)");
    command->add_flag("--quiet", options->quiet,
                      "print nothing where the exit status is 0, else only what does not pass");
    command->add_flag("--explain", options->explain,
                      "the working behind every figure, with its source");
    command->add_flag("--require-all", options->require_all, "an unchecked check counts as warn");
    command->callback([options, &status] { status = run(*options); });
}

}  // namespace coldtank::cli
