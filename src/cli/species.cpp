#include "report/species.hpp"

#include <fmt/core.h>

#include <memory>
#include <string>

#include "cli/commands.hpp"
#include "cli/help.hpp"
#include "read/keys.hpp"
#include "report/report.hpp"
#include "text/text.hpp"

namespace coldtank::cli {
namespace {

struct Options {
    std::string name;
    std::string file;
    std::string format = "text";
};

int run(const Options& options) {
    io::SpeciesBook book;
    if (const int wrong = read_species(options.file, book)) return wrong;
    if (options.format == "json") return put(species_as_json(book)) ? kPass : kNoOutput;
    if (options.name.empty()) return put(species_as_text(book)) ? kPass : kNoOutput;
    if (const io::BookEntry* entry = book.find(options.name)) {
        return put(one_species_as_text(*entry)) ? kPass : kNoOutput;
    }
    const std::string near = io::nearest(options.name, book.all_names());
    say("coldtank: unknown species \"{}\"{}\n", io::printable(options.name),
        near.empty() ? "; see coldtank species" : "; did you mean " + near + "?");
    return kUsage;
}

}  // namespace

void add_species(CLI::App& app, int& status) {
    const auto options = std::make_shared<Options>();
    CLI::App* command =
        add_command(app, "species", "The species, their limits and where these come from.",
                    "  coldtank species\n"
                    "  coldtank species \"brook trout\"\n"
                    "\n"
                    "With --format json it prints the shape that --species FILE reads: change or\n"
                    "add species there; \"like\" names the one whose numbers stand where none are\n"
                    "given.");
    command->add_option("NAME", options->name, "one species in full");
    command->add_option("--species", options->file, "a file of species to add or change")
        ->check(not_empty());
    add_choice(command, "--format", options->format, {"text", "json"}, "text or json");
    command->callback([options, &status] { status = run(*options); });
}

}  // namespace coldtank::cli
