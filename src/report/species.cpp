#include "report/species.hpp"

#include <fmt/core.h>

#include "text/csv.hpp"
#include "text/text.hpp"

namespace coldtank::io {

std::string species_formats::csv_begin(const SpeciesRun& /*run*/) {
    std::string out = "name,scientific_name";
    for (const SpeciesField& field : kSpeciesFields) out += fmt::format(",{}", field.key);
    return out + '\n';
}

std::string species_formats::csv(const BookEntry& entry, const SpeciesRun& /*run*/) {
    std::string out = fmt::format("{},{}", csv_cell(entry.name), csv_cell(entry.scientific_name));
    for (const SpeciesField& field : kSpeciesFields) {
        out += fmt::format(",{}", exact(entry.species.*field.member));
    }
    return out + '\n';
}

std::string species_formats::json_begin(const SpeciesRun& /*run*/) {
    return io::json_begin("species", [](Fields&) {});
}
std::string species_formats::json_end(const SpeciesRun& run) { return io::json_end(run.empty()); }

std::string species_formats::json(const BookEntry& entry, const SpeciesRun& /*run*/) {
    return json_item([&](Fields& out) {
        out.text("name", entry.name);
        out.text("scientific_name", entry.scientific_name);
        out.texts("other_names", entry.other_names);
        for (const SpeciesField& field : kSpeciesFields) {
            out.number(field.key, entry.species.*field.member);
        }
        out.object("sources", [&] {
            for (const SpeciesField& field : kSpeciesFields) {
                const Constant& constant = entry.species.*field.member;
                out.text(field.key,
                         fmt::format("{}: {}", name_of(constant.basis), constant.source));
            }
        });
    });
}

std::string species_formats::names(const BookEntry& entry, const SpeciesRun& /*run*/) {
    return printable(entry.name) + '\n';
}

std::string species_formats::text_begin(const SpeciesRun& /*run*/) {
    return "species                       best  warn  stop  fail  warn density  mature\n"
           "                              degC above  feed above below   kg/m3  months m, f\n";
}

std::string species_formats::text(const BookEntry& entry, const SpeciesRun& /*run*/) {
    const Species& s = entry.species;
    std::string name = printable(entry.name);
    name.append(columns(name) < 30 ? 30 - columns(name) : 1, ' ');
    return fmt::format("{}{:>4} {:>5} {:>5} {:>5} {:>5} {:>7} {:>6} {:>6}\n", name,
                       exact(s.optimum_c), exact(s.warn_above_c), exact(s.feeding_stop_c),
                       exact(s.fail_above_c), exact(s.warn_below_c), exact(s.density_warn_kg_m3),
                       exact(s.male_mature_months), exact(s.female_mature_months));
}

std::string species_formats::text_end(const SpeciesRun& /*run*/) {
    return "\nOne in full, with its sources: coldtank species NAME\n";
}

std::string one_species_as_text(const BookEntry& entry) {
    std::string out =
        fmt::format("{} ({})\n", printable(entry.name), printable(entry.scientific_name));
    std::vector<std::string> names;
    for (const std::string& name : entry.other_names) names.push_back(printable(name));
    if (!names.empty()) out += wrapped("  also: ", joined(names, ", "), 8);
    for (const SpeciesField& field : kSpeciesFields) {
        const Constant& constant = entry.species.*field.member;
        out +=
            wrapped(fmt::format("  {:<21}{:>8} {:<7}", field.key, exact(constant), constant.unit),
                    fmt::format("{}: {}", name_of(constant.basis), constant.source), 39);
    }
    return out;
}

}  // namespace coldtank::io
