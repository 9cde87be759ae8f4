#include "read/description.hpp"

#include "coldtank/validate.hpp"
#include "read/aerators.hpp"
#include "read/object_reader.hpp"
#include "read/season.hpp"
#include "read/stock.hpp"
#include "read/tanks.hpp"

namespace coldtank::io {
namespace {

std::vector<OwnAccuracy> read_accuracy(const ObjectReader& top, std::vector<Fault>& faults) {
    std::vector<OwnAccuracy> out;
    const JsonNode* node = top.object("accuracy");
    if (node == nullptr) return out;
    const ObjectReader reader(*node, Scope::accuracy, "/accuracy", faults);
    for (const Accuracy& accuracy : kAccuracies) {
        const auto in_percent = reader.number(accuracy.percent_key);
        if (in_percent) out.push_back({accuracy.quantity, *in_percent, true});
        if (accuracy.key == accuracy.percent_key) continue;
        reader.exclusive(accuracy.key, accuracy.percent_key);
        const auto in_unit = reader.number(accuracy.key);
        if (in_unit && !in_percent) out.push_back({accuracy.quantity, *in_unit, false});
    }
    return out;
}

Coefficients read_coefficients(const ObjectReader& top, std::vector<Fault>& faults) {
    Coefficients coefficients;
    const JsonNode* node = top.object("coefficients");
    if (node == nullptr) return coefficients;
    const ObjectReader reader(*node, Scope::coefficients, "/coefficients", faults);
    for (const CoefficientInfo& info : kCoefficients) {
        reader.number(info.key, coefficients.*info.member);
    }
    if (!(coefficients.unfed_excretion_h < coefficients.unfed_excretion_end_h)) {
        const bool end = reader.has("unfed_excretion_end_h");
        reader.fault(end ? "unfed_excretion_end_h" : "unfed_excretion_h",
                     "unfed_excretion_end_h must be over unfed_excretion_h");
    }
    return coefficients;
}

std::optional<Trip> read_trip(const JsonNode& node, const std::string& pointer,
                              double salinity_g_kg, const SpeciesBook& book,
                              std::vector<Fault>& faults) {
    const std::size_t before = faults.size();
    const ObjectReader reader(node, Scope::trip, pointer, faults);
    Trip trip{};
    trip.name = reader.text("name").value_or("");
    trip.water_l = reader.number("water_l").value_or(0);
    trip.temperature_c = reader.number("temperature_c").value_or(0);
    const auto minutes = reader.number("minutes");
    const auto hours = reader.number("hours");
    reader.exclusive("minutes", "hours");
    if (node.kind == JsonNode::Kind::object && reader.misses("minutes") && reader.misses("hours")) {
        reader.fault("", "minutes or hours is missing: how long does it take?");
    }
    trip.minutes = minutes.value_or(60 * hours.value_or(0));
    const auto fish = reader.list("fish");
    for (std::size_t i = 0; i < fish.size(); ++i) {
        trip.fish.push_back(
            read_group(fish[i], pointer_to(reader.pointer("fish"), i), book, trip.water_l, faults));
    }
    const auto aeration = reader.list("aeration");
    for (std::size_t i = 0; i < aeration.size(); ++i) {
        trip.aeration.push_back(
            read_aerator(aeration[i], pointer_to(reader.pointer("aeration"), i), faults));
    }
    reader.number("fasted_h", trip.fasted_h);
    trip.ph = reader.number("ph");
    trip.alkalinity_mg_l = reader.number("alkalinity_mg_l");
    reader.number("start_oxygen_percent", trip.start_oxygen_percent);
    trip.salinity_g_kg = salinity_g_kg;
    reader.number("salinity_g_kg", trip.salinity_g_kg);
    trip.arrival_temperature_c = reader.number("arrival_temperature_c");
    trip.arrival_ph = reader.number("arrival_ph");
    if (const JsonNode* change = reader.object("water_change")) {
        const ObjectReader part(*change, Scope::water_change, reader.pointer("water_change"),
                                faults);
        const auto share = part.number("share");
        const auto every_min = part.number("every_min");
        if (share && every_min) trip.water_change = Trip::WaterChange{*share, *every_min};
    }
    if (faults.size() > before) return std::nullopt;
    double count = 0;
    double biomass_kg = 0;
    for (const FishGroup& group : trip.fish) {
        count += group.count;
        biomass_kg += group.count * group.mean_weight_g / 1000;
    }
    if (count < 1) {
        reader.fault("fish", "there are no fish in it");
        return std::nullopt;
    }
    if (biomass_kg > kHeaviestHaul * trip.water_l) {
        reader.fault("fish", "so much fish in so little water cannot be; look at count and weight");
        return std::nullopt;
    }
    return trip;
}

std::optional<Description> decode(const JsonNode& root, const SpeciesBook& book,
                                  std::vector<Fault>& faults) {
    const ObjectReader top(root, Scope::description, {}, faults);
    if (root.kind != JsonNode::Kind::object) return std::nullopt;
    top.text("$schema");
    const bool format = top.number("format").has_value();
    Description description;
    SiteDefaults site;
    bool site_stands = false;
    if (const JsonNode* node = top.object("site")) {
        const std::size_t before = faults.size();
        const ObjectReader reader(*node, Scope::site, "/site", faults);
        description.site.name = reader.text("name").value_or("");
        description.site.altitude_m = reader.number("altitude_m");
        description.site.backup = read_backup(reader, faults);
        description.site.barometric_pressure_kpa = reader.number("barometric_pressure_kpa");
        if (node->kind == JsonNode::Kind::object && !reader.has("altitude_m") &&
            !reader.has("barometric_pressure_kpa")) {
            reader.fault("",
                         "altitude_m or barometric_pressure_kpa is missing: oxygen depends on it");
        }
        reader.number("salinity_g_kg", site.salinity_g_kg);
        site.limits_node = reader.object("limits");
        read_limits(reader, faults, site.limits);
        site_stands = faults.size() == before;
    }
    const std::size_t before_coefficients = faults.size();
    const Coefficients coefficients = read_coefficients(top, faults);
    description.accuracy = read_accuracy(top, faults);
    const bool coefficients_stand = faults.size() == before_coefficients;
    read_tanks(top, site, book, faults, description);
    if (const JsonNode* season = top.object("season")) {
        description.season = read_season(*season, faults);
    }
    const auto trips = top.list("trips");
    for (std::size_t i = 0; i < trips.size(); ++i) {
        if (auto trip =
                read_trip(trips[i], pointer_to("/trips", i), site.salinity_g_kg, book, faults)) {
            description.trips.push_back(std::move(*trip));
        }
    }
    for (Tank& tank : description.tanks) tank.coefficients = coefficients;
    for (Loop& loop : description.loops) loop.coefficients = coefficients;
    // A part that stands twice: which one was meant?
    if (!format || !site_stands || !coefficients_stand || !root.repeated.empty())
        return std::nullopt;
    if (!faults.empty()) return description;
    // The core has the last word: what it would not work out is not let through.
    for (DescriptionFault& fault : validate(description)) {
        faults.push_back({root.at, std::move(fault.pointer), std::move(fault.message)});
    }
    if (!faults.empty()) return std::nullopt;
    return description;
}

}  // namespace

ReadResult read_description(std::string_view text, const std::string& file, const SpeciesBook& book,
                            std::size_t first_line) {
    ReadResult result;
    result.file = file;
    std::vector<Fault> faults;
    if (const auto tree = parse_json(text, faults))
        result.description = decode(*tree, book, faults);
    result.errors = located(std::move(faults), text, file, first_line);
    return result;
}

}  // namespace coldtank::io
