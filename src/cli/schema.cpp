#include "report/schema.hpp"

#include "cli/commands.hpp"

namespace coldtank::cli {
namespace {

constexpr Option kOptions[] = {
    {Option::Kind::flag, "--report", "", "of what budget prints with --format json"}};

int run(const Arguments& arguments) {
    const bool done =
        arguments.has("--report") ? put(io::report_schema()) : put(io::description_schema());
    return done ? kPass : kNoOutput;
}

}  // namespace

const Command kSchema{
    "schema",
    "A JSON Schema (draft 2020-12) of the description, for editors that check as you type.",
    "  coldtank schema > description.schema.json\n"
    "  coldtank schema --report > report.schema.json",
    kOptions, run};

}  // namespace coldtank::cli
