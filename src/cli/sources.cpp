#include <memory>
#include <string>

#include "cli/commands.hpp"
#include "cli/help.hpp"
#include "report/tables.hpp"

namespace coldtank::cli {

void add_sources(CLI::App& app, int& status) {
    const auto format = std::make_shared<std::string>("text");
    CLI::App* command = add_command(
        app, "sources",
        "Every coefficient, limit and default: value, unit, basis, source, where it is used.",
        "  coldtank sources\n"
        "  coldtank sources --format csv > sources.csv");
    add_choice(command, "--format", *format, {"text", "csv", "json"}, "text, csv or json");
    command->callback([format, &status] {
        const bool done = put(*format == "csv"    ? io::sources_as_csv()
                              : *format == "json" ? io::sources_as_json()
                                                  : io::sources_as_text());
        status = done ? kPass : kNoOutput;
    });
}

}  // namespace coldtank::cli
