#include "report/species.hpp"

#include <fmt/core.h>

#include <string>

#include "cli/commands.hpp"
#include "report/report.hpp"
#include "text/text.hpp"

namespace coldtank::cli {
namespace {

constexpr Option kOptions[] = {
    {.kind = Option::Kind::text,
     .name = "NAME",
     .value = "NAME",
     .help = "one species in full",
     .names = Option::Names::species},
    {.kind = Option::Kind::text,
     .name = "--species",
     .value = "FILE",
     .help = "a file of species to add or change",
     .names = Option::Names::input},
    {Option::Kind::choice, "--format", "WORD", "text, csv, json or names (one a line)",
     io::names_of<io::kSpeciesFormats>()},
    kOutputOption};

int run(const Arguments& arguments) {
    const std::string& name = arguments.text("NAME");
    io::SpeciesBook book;
    if (const int wrong = read_species(arguments.text("--species"), book)) return wrong;
    const std::string& format = arguments.text("--format");
    const auto all_of = [&](const io::SpeciesRun& species) {
        return write_results(arguments, io::written(io::kSpeciesFormats, format, species, species));
    };
    if (name.empty()) return all_of(book.entries());
    if (const io::BookEntry* entry = book.find(name)) {
        if (format != "text") return all_of({*entry});
        return write_results(arguments, one_species_as_text(*entry));
    }
    const std::string near = meant(name, book.all_names());
    say("coldtank: unknown species \"{}\"{}\n", io::printable(name),
        near.empty() ? "; see coldtank species" : near);
    return kUsage;
}

}  // namespace

const Command kSpecies{
    "species", "The species, their limits and where these come from.",
    "  coldtank species\n"
    "  coldtank species \"brook trout\"\n"
    "\n"
    "With --format json it prints the shape that --species FILE reads: change or\n"
    "add species there; \"like\" names the one whose numbers stand where none are\n"
    "given.",
    kOptions, run};

}  // namespace coldtank::cli
