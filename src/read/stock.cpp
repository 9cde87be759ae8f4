#include "read/stock.hpp"

#include <fmt/core.h>

#include <cmath>

#include "read/object_reader.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

void read_species(const ObjectReader& reader, const SpeciesBook& book, FishGroup& group) {
    const auto typed = reader.text("species");
    if (!typed) return;
    if (const BookEntry* entry = book.find(*typed)) {
        group.species_name = entry->name;
        group.species = entry->species;
        group.usual_species = entry->usual;
        return;
    }
    const std::vector<std::string> known = book.all_names();
    const std::string near = nearest(*typed, known);
    reader.fault("species",
                 fmt::format("unknown species \"{}\"; {}", shortened(*typed),
                             near.empty() ? "see coldtank species"
                                          : fmt::format("did you mean {}?", printable(near))));
}

// How many there are, and what one weighs: as it is told, of a count or so many a cubic metre, and
// of a mean weight, a length or the weight of all.
//   water_l: that they are in; 0 where it could not be read
void read_stock(const ObjectReader& reader, double water_l, FishGroup& group) {
    reader.exclusive("count", "per_m3");
    if (reader.misses("count") && reader.misses("per_m3")) {
        reader.fault("", "count is missing: number of fish");
    }
    reader.number("count", group.count);
    if (const auto per_m3 = reader.number("per_m3")) {
        constexpr double kRounded = 1e-9;  // 40 in 2.5 m3 are 100
        group.count = std::ceil(*per_m3 * water_l / 1000 * (1 - kRounded));
    }
    reader.exclusive("mean_weight_g", "mean_length_cm");
    reader.exclusive("mean_weight_g", "total_kg");
    reader.exclusive("mean_length_cm", "total_kg");
    if (reader.misses("mean_weight_g") && reader.misses("mean_length_cm") &&
        reader.misses("total_kg")) {
        reader.fault("", "mean_weight_g is missing: mean weight of one fish");
    }
    reader.number("mean_weight_g", group.mean_weight_g);
    const auto weigh = [&](std::string_view key, double weight_g) {
        group.mean_weight_g = weight_g;
        // Of no known species nobody knows the shape: that is said of the species.
        if (kWeightRange.holds(weight_g) || std::isnan(weight_g)) return;
        reader.fault(key,
                     fmt::format("they would weigh {} g each: must be {} to {} g", figure(weight_g),
                                 exact(kWeightRange.low), exact(kWeightRange.high)));
    };
    if (const auto length_cm = reader.number("mean_length_cm")) {
        const double condition_g_cm3 = group.condition_factor
                                           ? *group.condition_factor / 100
                                           : double{group.species.condition_g_cm3};
        group.told_by_length = true;
        weigh("mean_length_cm", condition_g_cm3 * *length_cm * *length_cm * *length_cm);
    }
    if (const auto total_kg = reader.number("total_kg")) {
        if (group.count > 0) {
            weigh("total_kg", 1000 * *total_kg / group.count);
        } else if (reader.has("count")) {
            reader.fault("total_kg", "of no fish: what does one weigh? mean_weight_g");
        }
    }
}

}  // namespace

FishGroup read_group(const JsonNode& node, const std::string& pointer, const SpeciesBook& book,
                     double water_l, std::vector<Fault>& faults) {
    const ObjectReader reader(node, Scope::fish, pointer, faults);
    FishGroup group{};
    group.name = reader.text("name").value_or("");
    read_species(reader, book, group);
    group.age_months = reader.number("age_months");
    group.condition_factor = reader.number("condition_factor");
    read_stock(reader, water_l, group);
    group.ration_g_day = reader.number("ration_g_day");
    reader.number("respiration_factor", group.respiration_factor);
    if (const auto tgc = reader.number("tgc")) group.tgc = tgc_of_stock(*tgc);
    return group;
}

}  // namespace coldtank::io
