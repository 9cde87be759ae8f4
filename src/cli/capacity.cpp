#include "report/capacity.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <optional>
#include <string>
#include <vector>

#include "cli/commands.hpp"
#include "text/text.hpp"

namespace coldtank::cli {
namespace {

int status_of(const io::CapacityReport& report) {
    Status worst = Status::pass;
    for (const io::CapacityAnswer& answer : report.tanks) worst = worse(worst, answer.fit);
    return cli::status_of(report, worst);
}

constexpr Range kCountRange{1, 1e12};
constexpr Range kMassRange{1e-6, 1e12};

constexpr Option kOptions[] = {
    kFilesOption,
    {Option::Kind::choice, "--at", "WORD",
     "the limits to keep: warn, so that all pass, or fail (warn)", "warn|fail"},
    {.kind = Option::Kind::numbers,
     .name = "--temperature",
     .value = "N,...",
     .help = "of the warmest day to come, all day long, degC (or 60f); several make a table",
     .range = kTemperatureRange,
     .unit = "degC"},
    {.kind = Option::Kind::numbers,
     .name = "--weight",
     .value = "N,...",
     .help = "other mean weights, g (or 4oz), fed by the table; several make a table",
     .range = kWeightRange,
     .unit = "g"},
    {.kind = Option::Kind::text,
     .name = "--species",
     .value = "NAME",
     .help = "another species by name, or a file of species to add or change",
     .names = Option::Names::species_or_input},
    {.kind = Option::Kind::number,
     .name = "--for",
     .value = "N",
     .help = "can it carry so many fish?",
     .range = kCountRange,
     .excludes = "--for-kg"},
    {.kind = Option::Kind::number,
     .name = "--for-kg",
     .value = "N",
     .help = "or so many kilograms (or 50lb)?",
     .range = kMassRange,
     .unit = "kg"},
    {.kind = Option::Kind::number,
     .name = "--sure",
     .value = "N",
     .help = "the stock that holds in so many of 100 worlds that fit what is known; see spread",
     .range = {50, 99.9}},
    kTankOption,
    {Option::Kind::choice, "--format", "WORD", "text, markdown, csv or json",
     io::names_of<io::kCapacityFormats>()},
    {Option::Kind::choice, "--units", "WORD", "metric or us, of text and markdown", "metric|us"},
    kDateOption,
    {Option::Kind::flag, "--share", "", "each loop and row too, all its tanks in proportion"},
    kLinesOption,
    kOutputOption};

int run(const Arguments& arguments) {
    const std::string& format = arguments.text("--format");
    const std::string& species = arguments.text("--species");
    io::CapacityQuestion question;
    question.level = arguments.text("--at") == "fail" ? Level::fail : Level::warn;
    question.temperatures_c = arguments.numbers("--temperature");
    question.mean_weights_g = arguments.numbers("--weight");
    question.for_count = arguments.number("--for");
    question.for_kg = arguments.number("--for-kg");
    question.share = arguments.has("--share");
    question.sure_percent = arguments.number("--sure");
    if (question.sure_percent &&
        (question.temperatures_c.size() > 1 || question.mean_weights_g.size() > 1)) {
        say("coldtank: --sure asks for one temperature and one weight\n");
        return kUsage;
    }
    if (question.sure_percent && format == "csv") {
        say("coldtank: --sure is not in CSV: ask for text or json\n");
        return kUsage;
    }
    question.each_check = format == "csv";
    if (question.for_count && std::floor(*question.for_count) != *question.for_count) {
        say("coldtank: --for must be a whole number of fish\n");
        return kUsage;
    }
    if ((question.for_count || question.for_kg) &&
        (question.temperatures_c.size() > 1 || question.mean_weights_g.size() > 1)) {
        say("coldtank: --for asks for one temperature and one weight\n");
        return kUsage;
    }
    const auto now = time_of_run(arguments.text("--date"));
    if (!now) return kUsage;
    io::SpeciesBook book;
    if (!species.empty()) {
        // A species by name, else a file of them.
        if (const io::BookEntry* entry = book.find(species)) {
            question.species = entry->species;
            question.species_name = entry->name;
            question.usual_species = entry->usual;
        } else if (const int wrong = read_species(species, book)) {
            return wrong;
        }
    }
    std::vector<io::ReadResult> read;
    if (const int wrong = read_descriptions(
            {arguments.all("FILE"), arguments.has("--lines"), arguments.text("--tank")}, book,
            read)) {
        return wrong;
    }
    const bool page = format == "text" || format == "markdown";
    const io::Display show(page && arguments.text("--units") == "us" ? io::Units::us
                                                                     : io::Units::metric);
    int status = kPass;
    std::vector<io::CapacityReport> reports;
    for (io::ReadResult& one : read) {
        std::fputs(io::errors_as_text(one.errors).c_str(), stderr);
        reports.push_back(io::make_capacity_report(std::move(one), question, show));
        status = std::max(status, status_of(reports.back()));
    }
    const std::string out =
        io::written(io::kCapacityFormats, format, reports, run_of(reports, question, show, *now));
    return std::max(status, write_results(arguments, out));
}

}  // namespace

const Command kCapacity{
    "capacity",
    "How many fish each tank can carry, which check stops it, and what it would take to carry "
    "more.",
    "  coldtank capacity farm.json\n"
    "  coldtank capacity farm.json --weight 20,50,100,200 --temperature 10,14,18\n"
    "  coldtank capacity farm.json --tank \"north round\" --for 200\n\n"
    "Exit status 0; with --for: 0 they fit, 1 over the warn limit, 2 over the fail\n"
    "limit; 64, 65, 66, 74 as budget.",
    kOptions, run};

}  // namespace coldtank::cli
