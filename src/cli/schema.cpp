#include "report/schema.hpp"

#include <memory>

#include "cli/commands.hpp"
#include "cli/help.hpp"
#include "embedded.hpp"

namespace coldtank::cli {

void add_schema(CLI::App& app, int& status) {
    const auto report = std::make_shared<bool>(false);
    CLI::App* command = add_command(
        app, "schema",
        "A JSON Schema (draft 2020-12) of the description, for editors that check as you type.",
        "  coldtank schema > description.schema.json\n"
        "  coldtank schema --report > report.schema.json");
    command->add_flag("--report", *report, "of what budget prints with --format json");
    command->callback([report, &status] {
        const bool done =
            *report ? put(embedded::report_schema_json) : put(io::description_schema());
        status = done ? kPass : kNoOutput;
    });
}

}  // namespace coldtank::cli
