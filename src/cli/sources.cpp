#include <string>

#include "cli/commands.hpp"
#include "report/tables.hpp"

namespace coldtank::cli {
namespace {

constexpr Option kOptions[] = {{Option::Kind::choice, "--format", "WORD", "text, csv or json",
                                io::names_of<io::kSourceFormats>()},
                               kOutputOption};

int run(const Arguments& arguments) {
    const io::SourcesRun all = sources();
    const std::string& format = arguments.text("--format");
    return write_results(arguments, io::written(io::kSourceFormats, format, all, all));
}

}  // namespace

const Command kSources{
    "sources",
    "Every coefficient, limit and default: value, unit, basis, source, where it is used.",
    "  coldtank sources\n"
    "  coldtank sources --format csv > sources.csv",
    kOptions, run};

}  // namespace coldtank::cli
