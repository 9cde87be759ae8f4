#include "report/capacity.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "cli/commands.hpp"
#include "cli/help.hpp"
#include "coldtank/version.hpp"
#include "text/text.hpp"

namespace coldtank::cli {
namespace {

struct Options {
    std::vector<std::string> files;
    std::string format = "text";
    std::string units = "metric";
    std::string at = "warn";
    std::string tank;
    std::string species;
    std::string temperatures_c;
    std::string weights_g;
    std::optional<double> for_count;
    std::optional<double> for_kg;
    bool lines = false;
    bool share = false;
};

int status_of(const io::CapacityReport& report) {
    if (report.unreadable) return kNoInput;
    if (!report.errors.empty()) return kData;
    int status = kPass;
    for (const io::CapacityAnswer& answer : report.tanks) {
        if (answer.fit == Status::warn) status = std::max<int>(status, kWarn);
        if (answer.fit == Status::fail) status = std::max<int>(status, kFail);
    }
    return status;
}

int run(const Options& options) {
    io::CapacityQuestion question;
    question.level = options.at == "fail" ? Level::fail : Level::warn;
    question.temperatures_c = numbers_of(options.temperatures_c);
    question.mean_weights_g = numbers_of(options.weights_g);
    question.for_count = options.for_count;
    question.for_kg = options.for_kg;
    question.share = options.share;
    question.each_check = options.format == "csv";
    if (options.for_count && std::floor(*options.for_count) != *options.for_count) {
        say("coldtank: --for must be a whole number of fish\n");
        return kUsage;
    }
    if ((options.for_count || options.for_kg) &&
        (question.temperatures_c.size() > 1 || question.mean_weights_g.size() > 1)) {
        say("coldtank: --for asks for one temperature and one weight\n");
        return kUsage;
    }
    io::SpeciesBook book;
    if (!options.species.empty()) {
        // A species by name, else a file of them.
        if (const io::BookEntry* entry = book.find(options.species)) {
            question.species = entry->species;
            question.species_name = entry->name;
            question.usual_species = entry->usual;
        } else if (const int wrong = read_species(options.species, book)) {
            return wrong;
        }
    }
    std::vector<io::ReadResult> read;
    if (const int wrong =
            read_descriptions({options.files, options.lines, options.tank}, book, read)) {
        return wrong;
    }
    const bool page = options.format == "text" || options.format == "markdown";
    const io::Display show(page && options.units == "us" ? io::Units::us : io::Units::metric);
    int status = kPass;
    std::vector<io::CapacityReport> reports;
    for (io::ReadResult& one : read) {
        std::fputs(io::errors_as_text(one.errors).c_str(), stderr);
        reports.push_back(io::make_capacity_report(std::move(one), question, show));
        status = std::max(status, status_of(reports.back()));
    }
    std::string out;
    if (options.format == "json") {
        out = io::capacity_json(reports, question, kVersion);
    } else if (options.format == "csv") {
        out = io::capacity_csv(reports);
    } else {
        const auto style = options.format == "text" ? io::PageStyle::text : io::PageStyle::markdown;
        for (const io::CapacityReport& report : reports) {
            if (!out.empty()) out += '\n';
            out += io::capacity_page(report, question, show, style);
        }
        out += '\n' + io::cautions();
    }
    return put(out) ? status : std::max(status, int{kNoOutput});
}

}  // namespace

void add_capacity(CLI::App& app, int& status) {
    const auto options = std::make_shared<Options>();
    CLI::App* command = add_command(
        app, "capacity",
        "How many fish each tank can carry, which check stops it, and what it would take to carry "
        "more.",
        "  coldtank capacity farm.json\n"
        "  coldtank capacity farm.json --weight 20,50,100,200 --temperature 10,14,18\n"
        "  coldtank capacity farm.json --tank \"north round\" --for 200\n\n"
        "Exit status 0; with --for: 0 they fit, 1 over the warn limit, 2 over the fail\n"
        "limit; 64, 65, 66, 74 as budget.");
    command->add_option("FILE", options->files, "descriptions in JSON; - is standard input")
        ->required();
    add_choice(command, "--at", options->at, {"warn", "fail"},
               "the limits to keep: warn, so that all pass, or fail (warn)");
    command
        ->add_option("--temperature", options->temperatures_c,
                     "of the warmest day to come, all day long, degC; several make a table")
        ->type_name("N,...")
        ->check(numbers_in(kTemperatureRange.low, kTemperatureRange.high));
    command
        ->add_option("--weight", options->weights_g,
                     "other mean weights, g, fed by the table; several make a table")
        ->type_name("N,...")
        ->check(numbers_in(kWeightRange.low, kWeightRange.high));
    command
        ->add_option("--species", options->species,
                     "another species by name, or a file of species to add or change")
        ->check(not_empty())
        ->type_name("NAME");
    auto* count = command->add_option("--for", options->for_count, "can it carry so many fish?")
                      ->check(number_in(1, 1e12));
    auto* mass = command->add_option("--for-kg", options->for_kg, "or so many kilograms?")
                     ->check(number_in(1e-6, 1e12));
    count->excludes(mass);
    command->add_option("--tank", options->tank, "only the tank of this name")
        ->check(not_empty())
        ->type_name("NAME");
    add_choice(command, "--format", options->format, {"text", "markdown", "csv", "json"},
               "text, markdown, csv or json");
    add_choice(command, "--units", options->units, {"metric", "us"},
               "metric or us, of text and markdown");
    command->add_flag("--share", options->share,
                      "each loop too, all its tanks in their present proportion");
    command->add_flag("--lines", options->lines, "one description a line (as .jsonl files)");
    command->callback([options, &status] { status = run(*options); });
}

}  // namespace coldtank::cli
