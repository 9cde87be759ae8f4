#include "report/spread.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "cli/commands.hpp"
#include "cli/jobs.hpp"
#include "text/text.hpp"

namespace coldtank::cli {
namespace {

constexpr Option kOptions[] = {
    kFilesOption,
    {Option::Kind::number, "--draws", "N",
     "worlds, and rows of what to measure first (4096, and 1024)", "", kDrawsRange},
    {Option::Kind::number, "--seed", "N", "another number, other worlds (1)", "", kSeedRange},
    {Option::Kind::flag, "--no-measure", "", "leave out what to measure first: faster"},
    kTankOption,
    kSpeciesOption,
    kReadingsOption,
    kMaxAgeOption,
    kJobsOption,
    {Option::Kind::choice, "--format", "WORD", "text, csv (a row a check) or json",
     io::names_of<io::kSpreadFormats>()},
    kDateOption,
    kLinesOption,
    kOutputOption};

int run(const Arguments& arguments) {
    const std::string& format = arguments.text("--format");
    const auto now = time_of_run(arguments.text("--date"));
    if (!now) return kUsage;
    io::SpeciesBook book;
    if (const int wrong = read_species(arguments.text("--species"), book)) return wrong;
    Measured measured;
    if (const int wrong = read_measured(arguments, *now, measured)) return wrong;
    SpreadQuestion question;
    for (const char* whole : {"--draws", "--seed"}) {
        const auto number = arguments.number(whole);
        if (number && std::floor(*number) != *number) {
            say("coldtank: {} must be a whole number\n", whole);
            return kUsage;
        }
    }
    if (const auto draws = arguments.number("--draws")) {
        question.draws = question.base = static_cast<std::size_t>(*draws);
    }
    if (const auto seed = arguments.number("--seed")) {
        question.seed = static_cast<std::uint64_t>(*seed);
    }
    if (arguments.has("--no-measure")) question.base = 0;
    std::vector<io::ReadResult> read;
    if (const int wrong = read_descriptions(
            {arguments.all("FILE"), arguments.has("--lines"), arguments.text("--tank"),
             measured.merged ? &measured.readings : nullptr, measured.max_age, *now},
            book, read)) {
        return wrong;
    }
    io::SpreadRun known{question, display_of(arguments), *now};
    std::vector<io::SpreadReport> reports(read.size());
    for_each_index(read.size(), jobs_of(arguments),
                   [&](std::size_t i) { reports[i] = io::make_spread_report(read[i], question); });
    int status = measured.readings.unreadable ? kNoInput : kPass;
    for (std::size_t i = 0; i < read.size(); ++i) {
        std::fputs(io::errors_as_text(reports[i].errors).c_str(), stderr);
        status = std::max(status, status_of(reports[i], reports[i].verdict));
        known.verdict = worse(known.verdict, reports[i].verdict);
        ++known.reports;
        known.answered = known.answered || !reports[i].parts.empty();
    }
    const std::string out = io::written(io::kSpreadFormats, format, reports, known);
    return std::max(status, write_results(arguments, out));
}

}  // namespace

const Command kSpread{"spread",
                      "How sure the budget is: the same tanks in thousands of worlds that fit what "
                      "is known, and what "
                      "to measure first.",
                      "  coldtank spread farm.json\n"
                      "  coldtank spread --tank \"north round\" --seed 7 farm.json",
                      kOptions, run};

}  // namespace coldtank::cli
