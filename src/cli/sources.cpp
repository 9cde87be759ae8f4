#include <string>

#include "cli/commands.hpp"
#include "report/tables.hpp"

namespace coldtank::cli {
namespace {

constexpr Option kOptions[] = {
    {Option::Kind::choice, "--format", "WORD", "text, csv or json", "text|csv|json"}};

int run(const Arguments& arguments) {
    const std::string& format = arguments.text("--format");
    const bool done = put(format == "csv"    ? io::sources_as_csv()
                          : format == "json" ? io::sources_as_json()
                                             : io::sources_as_text());
    return done ? kPass : kNoOutput;
}

}  // namespace

const Command kSources{
    "sources",
    "Every coefficient, limit and default: value, unit, basis, source, where it is used.",
    "  coldtank sources\n"
    "  coldtank sources --format csv > sources.csv",
    kOptions, run};

}  // namespace coldtank::cli
