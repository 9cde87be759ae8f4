#include "report/schema.hpp"

#include "cli/commands.hpp"

namespace coldtank::cli {
namespace {

constexpr Option kOptions[] = {
    {Option::Kind::flag, "--report", "", "of what budget prints with --format json"},
    kOutputOption};

int run(const Arguments& arguments) {
    return write_results(
        arguments, arguments.has("--report") ? io::report_schema() : io::description_schema());
}

}  // namespace

const Command kSchema{
    "schema",
    "A JSON Schema (draft 2020-12) of the description, for editors that check as you type.",
    "  coldtank schema > description.schema.json\n"
    "  coldtank schema --report > report.schema.json",
    kOptions, run};

}  // namespace coldtank::cli
