#include "read/tanks.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <unordered_map>

#include "coldtank/remedy.hpp"
#include "coldtank/validate.hpp"
#include "read/aerators.hpp"
#include "read/rows.hpp"
#include "read/stock.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

// All of a tank's water tells its temperature: it is of tanks above it, or told.
bool is_all_from_above(const Tank& tank) {
    return !tank.inflow.empty() && flow_l_min_of(tank) > 0 &&
           std::all_of(tank.inflow.begin(), tank.inflow.end(), [](const Inflow& inflow) {
               return !inflow.from.empty() || inflow.temperature_c;
           });
}
bool is_partly_from_above(const Tank& tank) {
    return std::any_of(tank.inflow.begin(), tank.inflow.end(), [](const Inflow& inflow) {
        return !inflow.from.empty() && inflow.flow_l_min > 0;
    });
}

// What is missing where a tank tells no temperature, and not all its waters do.
std::string no_temperature(const Tank& tank) {
    return is_partly_from_above(tank)
               ? "temperature_c is missing: of the new water in inflow, or of the tank in water"
               : "temperature_c is missing: the day's mean";
}

// Over what stands there: a loop's value, where the tank has none of its own.
void take(const ObjectReader& reader, std::string_view key, std::optional<double>& into) {
    if (const auto value = reader.number(key)) into = value;
}

// Salt that was put in makes the water as salt: g/L, near enough g/kg. None where chloride was
// told.
std::optional<double> salt_told(const ObjectReader& reader) {
    const auto chloride_mg_l = reader.number("chloride_mg_l");
    if (!chloride_mg_l || !reader.pointer("chloride_mg_l").ends_with("/salt_g_l")) {
        return std::nullopt;
    }
    return *chloride_mg_l * kSaltPerChloride / 1000;
}

void read_water(const JsonNode& node, const std::string& pointer, std::vector<Fault>& faults,
                Tank& tank) {
    const ObjectReader reader(node, Scope::water, pointer, faults);
    Water& water = tank.water;
    const auto temperature_c = reader.number("temperature_c");
    if (temperature_c) {
        water.temperature_c = *temperature_c;
        water.peak_temperature_c.reset();
        if (is_partly_from_above(tank) && !reader.has("peak_temperature_c")) {
            water.from_above = Water::FromAbove::peak;
        }
    } else if (is_all_from_above(tank)) {
        if (!reader.has("temperature_c")) water.from_above = Water::FromAbove::all;
        if (!reader.has("temperature_c") && reader.has("peak_temperature_c")) {
            reader.fault("peak_temperature_c",
                         "give temperature_c too: without, both are of the water that flows in");
        }
    } else if (!tank.loop && reader.misses("temperature_c")) {
        reader.fault("", no_temperature(tank));
    }
    if (const auto peak_c = reader.number("peak_temperature_c")) water.peak_temperature_c = peak_c;
    if (water.from_above == Water::FromAbove::nothing && water.peak_temperature_c &&
        *water.peak_temperature_c < water.temperature_c) {
        reader.fault("peak_temperature_c",
                     "the warmest hour is below the day's mean, temperature_c");
    }
    take(reader, "ph", water.ph);
    take(reader, "alkalinity_mg_l", water.alkalinity_mg_l);
    reader.number("salinity_g_kg", water.salinity_g_kg);
    Readings& readings = tank.readings;
    if (const auto salt = salt_told(reader); salt && !reader.has("salinity_g_kg")) {
        water.salinity_g_kg = std::max(water.salinity_g_kg, *salt);
    }
    readings.oxygen_mg_l = reader.number("oxygen_mg_l");
    readings.tan_mg_l = reader.number("tan_mg_l");
    take(reader, "nitrite_mg_l", readings.nitrite_mg_l);
    take(reader, "nitrate_mg_l", readings.nitrate_mg_l);
    take(reader, "chloride_mg_l", readings.chloride_mg_l);
    readings.carbon_dioxide_mg_l = reader.number("carbon_dioxide_mg_l");
    readings.current_cm_s = reader.number("current_cm_s");
    readings.gas_pressure_percent = reader.number("gas_pressure_percent");
}

Inflow read_inflow(const JsonNode& node, const std::string& pointer, std::vector<Fault>& faults) {
    const ObjectReader reader(node, Scope::inflow, pointer, faults);
    Inflow inflow;
    inflow.from = reader.text("from").value_or("");
    reader.number("flow_l_min", inflow.flow_l_min);
    inflow.temperature_c = reader.number("temperature_c");
    inflow.keeps_flowing = reader.truth("keeps_flowing");
    if (reader.has("from")) {
        for (const Key& key : keys_of(Scope::inflow)) {
            if (is_of_any_inflow(key.name) || !reader.has(key.name)) continue;
            reader.fault(key.name,
                         fmt::format("what flows out of a tank is worked out: take out {}, or from",
                                     stem(key)));
        }
        return inflow;
    }
    inflow.oxygen_mg_l = reader.number("oxygen_mg_l");
    inflow.oxygen_percent = reader.number("oxygen_percent");
    reader.exclusive("oxygen_mg_l", "oxygen_percent");
    if (inflow.flow_l_min > 0 && !reader.has("oxygen_mg_l") && !reader.has("oxygen_percent")) {
        reader.fault("",
                     "oxygen_mg_l or oxygen_percent is missing: water that flows in brings oxygen "
                     "or takes it");
    }
    inflow.tan_mg_l = reader.number("tan_mg_l");
    inflow.carbon_dioxide_mg_l = reader.number("carbon_dioxide_mg_l");
    inflow.ph = reader.number("ph");
    inflow.alkalinity_mg_l = reader.number("alkalinity_mg_l");
    reader.exclusive("carbon_dioxide_mg_l", "ph");
    if (reader.has("ph") != reader.has("alkalinity_mg_l")) {
        reader.fault(reader.has("ph") ? "ph" : "alkalinity_mg_l",
                     "carbon dioxide of the inflow needs ph and alkalinity_mg_l together");
    }
    inflow.chlorine_mg_l = reader.number("chlorine_mg_l");
    return inflow;
}

void read_feed(const ObjectReader& parent, bool fish_stand, std::vector<Fault>& faults,
               Tank& tank) {
    const JsonNode* node = parent.object("feed");
    if (node == nullptr) return;
    const ObjectReader reader(*node, Scope::feed, parent.pointer("feed"), faults);
    Feed& feed = tank.feed;
    feed.ration_g_day = reader.number("ration_g_day");
    feed.ration_percent_day = reader.number("ration_percent_day");
    reader.exclusive("ration_g_day", "ration_percent_day");
    feed.protein_percent = reader.number("protein_percent");
    feed.oxygen_per_feed_g_kg = reader.number("oxygen_per_feed_g_kg");
    feed.peak_factor = reader.number("peak_factor");
    feed.fasted_h = reader.number("fasted_h");

    if (!fish_stand) return;
    if (fed_and_fasted(tank)) {
        reader.fault(
            "fasted_h",
            fmt::format("a ration is stated of fish that were last fed {} h ago; over {} h "
                        "take out the ration or write 0",
                        exact(*feed.fasted_h), exact(kFedWithin)));
    }
    const bool eaters = std::any_of(tank.fish.begin(), tank.fish.end(), [](const FishGroup& group) {
        return group.count > 0 && !group.ration_g_day;
    });
    const bool fish = std::any_of(tank.fish.begin(), tank.fish.end(),
                                  [](const FishGroup& group) { return group.count > 0; });
    if (!eaters && (feed.ration_g_day > 0.0 || (fish && feed.ration_percent_day > 0.0))) {
        reader.fault(feed.ration_g_day ? "ration_g_day" : "ration_percent_day",
                     fish ? "no group is left to eat it: each has a ration of its own; take one out"
                          : "there are no fish to eat it; take it out or write 0");
    }
}

double biomass_of(const Tank& tank) {
    double biomass_kg = 0;
    for (const FishGroup& group : tank.fish) biomass_kg += group.count * group.mean_weight_g / 1000;
    return biomass_kg;
}

void check_weight(const ObjectReader& reader, const Tank& tank) {
    if (too_heavy(tank)) {
        reader.fault("fish", fmt::format("{} kg of fish in {} L of water cannot be; look at count, "
                                         "mean_weight_g and volume_l",
                                         figure(biomass_of(tank)), figure(tank.volume_l)));
    }
}

// Where a limit of a tank was set: its own limits, or the site's.
struct LimitPlaces {
    const JsonNode* own = nullptr;
    std::string own_pointer;
    const JsonNode* site = nullptr;
};

void check_limits(const std::vector<LimitConflict>& conflicts, const LimitPlaces& places,
                  std::vector<Fault>& faults) {
    for (const LimitConflict& conflict : conflicts) {
        for (const auto& [node, pointer] : {std::pair{places.own, places.own_pointer},
                                            std::pair{places.site, std::string("/site/limits")}}) {
            if (node == nullptr) continue;
            // The key as it was written, in whatever unit.
            const auto written = std::find_if(
                node->members.begin(), node->members.end(), [&](const JsonMember& member) {
                    const Key* key = match_key(Scope::limits, member.key).key;
                    return key != nullptr &&
                           (key->name == conflict.warn_key || key->name == conflict.fail_key);
                });
            if (written == node->members.end()) continue;
            Fault fault{written->value.at, pointer_to(pointer, written->key),
                        fmt::format("{} lies beyond {}: a warning must come first; set both",
                                    conflict.warn_key, conflict.fail_key)};
            const bool known = std::any_of(faults.begin(), faults.end(), [&](const Fault& each) {
                return each.at == fault.at && each.message == fault.message;
            });
            if (!known) faults.push_back(std::move(fault));
            break;
        }
    }
}

// A loop that could be read, by its name; none for one with faults.
struct NamedLoop {
    std::string name;
    std::optional<Loop> loop;
};

Loop read_loop(const JsonNode& node, const std::string& pointer, const Limits& site_limits,
               const JsonNode* site_limits_node, std::vector<Fault>& faults) {
    const ObjectReader reader(node, Scope::loop, pointer, faults);
    Loop loop{};
    loop.limits = site_limits;
    loop.name = reader.text("name").value_or("");
    if (const JsonNode* water = reader.object("water")) {
        const ObjectReader part(*water, Scope::loop_water, reader.pointer("water"), faults);
        part.number("temperature_c", loop.water.temperature_c);
        loop.water.peak_temperature_c = part.number("peak_temperature_c");
        if (part.has("temperature_c") && loop.water.peak_temperature_c &&
            *loop.water.peak_temperature_c < loop.water.temperature_c) {
            part.fault("peak_temperature_c",
                       "the warmest hour is below the day's mean, temperature_c");
        }
        loop.water.ph = part.number("ph");
        loop.water.alkalinity_mg_l = part.number("alkalinity_mg_l");
        loop.readings.nitrite_mg_l = part.number("nitrite_mg_l");
        loop.readings.nitrate_mg_l = part.number("nitrate_mg_l");
        loop.readings.chloride_mg_l = part.number("chloride_mg_l");
        loop.water.salinity_g_kg = salt_told(part).value_or(0);
    }
    reader.number("exchange_l_day", loop.exchange_l_day);
    if (const JsonNode* makeup = reader.object("makeup")) {
        const ObjectReader part(*makeup, Scope::makeup, reader.pointer("makeup"), faults);
        part.number("tan_mg_l", loop.makeup.tan_mg_l);
        part.number("nitrate_mg_l", loop.makeup.nitrate_mg_l);
        part.number("alkalinity_mg_l", loop.makeup.alkalinity_mg_l);
        loop.makeup.chlorine_mg_l = part.number("chlorine_mg_l");
    }
    if (const JsonNode* filter = reader.object("biofilter")) {
        const ObjectReader part(*filter, Scope::biofilter, reader.pointer("biofilter"), faults);
        Biofilter biofilter;
        biofilter.media_area_m2 = part.number("media_area_m2");
        biofilter.removal_g_day = part.number("removal_g_day");
        part.exclusive("media_area_m2", "removal_g_day");
        if (filter->kind == JsonNode::Kind::object && !part.has("media_area_m2") &&
            !part.has("removal_g_day")) {
            part.fault("", "media_area_m2 or removal_g_day is missing");
        }
        part.number("maturity_percent", biofilter.maturity_percent);
        loop.biofilter = biofilter;
    }
    if (const JsonNode* plants = reader.object("plants")) {
        const ObjectReader part(*plants, Scope::plants, reader.pointer("plants"), faults);
        loop.plants = Plants{part.number("bed_area_m2").value_or(1),
                             part.text("crop") == "fruiting" ? Crop::fruiting : Crop::leafy};
    }
    const auto aeration = reader.list("aeration");
    for (std::size_t i = 0; i < aeration.size(); ++i) {
        loop.aeration.push_back(
            read_aerator(aeration[i], pointer_to(reader.pointer("aeration"), i), faults));
    }
    loop.supply_oxygen_percent = reader.number("supply_oxygen_percent");
    loop.degasser_percent = reader.number("degasser_percent");
    read_limits(reader, faults, loop.limits);
    check_limits(limit_conflicts(limits_of(loop), loop.limits),
                 {reader.object("limits"), reader.pointer("limits"), site_limits_node}, faults);
    return loop;
}

std::vector<NamedLoop> read_loops(const ObjectReader& top, const Limits& site_limits,
                                  const JsonNode* site_limits_node, std::vector<Fault>& faults) {
    std::vector<NamedLoop> loops;
    const auto nodes = top.list("loops");
    for (std::size_t i = 0; i < nodes.size(); ++i) {
        const std::size_t before = faults.size();
        const std::string pointer = pointer_to("/loops", i);
        Loop loop = read_loop(nodes[i], pointer, site_limits, site_limits_node, faults);
        const auto same = std::find_if(loops.begin(), loops.end(), [&](const NamedLoop& each) {
            return !loop.name.empty() && folded(each.name) == folded(loop.name);
        });
        if (same != loops.end()) {
            faults.push_back(
                {nodes[i].at, pointer,
                 same->name == loop.name
                     ? fmt::format("two loops are named \"{}\"; name them apart",
                                   shortened(loop.name))
                     : fmt::format("two loops, \"{}\" and \"{}\", differ by capitals or blanks "
                                   "alone; name them apart",
                                   shortened(same->name), shortened(loop.name))});
            same->loop.reset();
        }
        const std::string name = loop.name;
        loops.push_back(
            {name, faults.size() == before ? std::optional{std::move(loop)} : std::nullopt});
    }
    return loops;
}

// The loop a tank is on: its water is the tank's where the tank has none. False where that loop has
// faults of its own.
bool read_loop_flow(const JsonNode& node, const std::string& pointer,
                    std::span<const NamedLoop> loops, std::vector<Fault>& faults, Tank& tank) {
    const ObjectReader reader(node, Scope::loop_flow, pointer, faults);
    tank.loop = LoopFlow{reader.text("name").value_or(""), 0};
    reader.number("flow_l_min", tank.loop->flow_l_min);
    if (tank.loop->name.empty()) return true;
    std::vector<std::string> known;
    for (const NamedLoop& each : loops) {
        known.push_back(each.name);
        if (folded(each.name) != folded(tank.loop->name)) continue;
        if (!each.loop) return false;
        tank.loop->name = each.name;
        const double salinity_g_kg = tank.water.salinity_g_kg;
        tank.water = each.loop->water;
        tank.water.salinity_g_kg = std::max(tank.water.salinity_g_kg, salinity_g_kg);
        tank.readings = each.loop->readings;
        return true;
    }
    const std::string near = nearest(tank.loop->name, known);
    reader.fault("name", fmt::format("no loop is named \"{}\"{}", shortened(tank.loop->name),
                                     near.empty() ? "; describe it under loops"
                                                  : "; did you mean " + shortened(near) + "?"));
    return true;
}

// One tank; none where it has a fault.
std::optional<Tank> read_tank(const JsonNode& node, const std::string& pointer,
                              const SiteDefaults& site, std::span<const NamedLoop> loops,
                              const SpeciesBook& book, std::vector<Fault>& faults) {
    const std::size_t before = faults.size();
    const ObjectReader reader(node, Scope::tank, pointer, faults);
    Tank tank{};
    tank.limits = site.limits;
    tank.water.salinity_g_kg = site.salinity_g_kg;
    tank.name = reader.text("name").value_or("");
    reader.number("volume_l", tank.volume_l);
    bool loop_stands = true;
    if (const JsonNode* loop = reader.object("loop")) {
        loop_stands = read_loop_flow(*loop, reader.pointer("loop"), loops, faults, tank);
    }
    reader.exclusive("inflow", "loop");
    for (const auto& [inflow, at] : reader.objects("inflow")) {
        tank.inflow.push_back(read_inflow(*inflow, at, faults));
    }
    if (const JsonNode* water = reader.object("water")) {
        read_water(*water, reader.pointer("water"), faults, tank);
    } else if (is_all_from_above(tank) && !tank.loop) {
        tank.water.from_above = Water::FromAbove::all;
    } else if (!tank.loop && reader.misses("water")) {
        reader.fault("", is_partly_from_above(tank)
                             ? no_temperature(tank)
                             : "water is missing: state of the water and readings");
    }
    const std::size_t before_fish = faults.size();
    const auto fish = reader.list("fish");
    for (std::size_t i = 0; i < fish.size(); ++i) {
        tank.fish.push_back(read_group(fish[i], pointer_to(reader.pointer("fish"), i), book,
                                       tank.volume_l, faults));
    }
    const bool fish_stand = reader.has("fish") && faults.size() == before_fish;
    read_feed(reader, fish_stand, faults, tank);
    const auto aeration = reader.list("aeration");
    for (std::size_t i = 0; i < aeration.size(); ++i) {
        tank.aeration.push_back(
            read_aerator(aeration[i], pointer_to(reader.pointer("aeration"), i), faults));
    }
    tank.backup = read_backup(reader, faults);
    read_limits(reader, faults, tank.limits);
    if (fish_stand && tank.volume_l > 0) check_weight(reader, tank);
    if (!fish_stand) tank.fish.clear();  // no species' limits, then
    const std::size_t sound = faults.size();
    const auto conflicts = limit_conflicts(limits_of(tank), tank.limits);
    check_limits(conflicts, {reader.object("limits"), reader.pointer("limits"), site.limits_node},
                 faults);
    const bool limits_stand = faults.size() == sound && conflicts.empty();
    if (faults.size() != before || !limits_stand || !loop_stands) return std::nullopt;
    return tank;
}

// The loops that tanks with faults are on.
struct BrokenLoops {
    std::vector<std::string> named;
    bool any = false;  // a tank that names none that is known, and has no inflow

    void add(const JsonNode& tank, std::span<const NamedLoop> loops) {
        const JsonMember* on = tank.find("loop");
        const JsonMember* name = on == nullptr ? nullptr : on->value.find("name");
        for (const NamedLoop& loop : loops) {
            if (name == nullptr || folded(name->value.text) != folded(loop.name)) continue;
            named.push_back(loop.name);
            return;
        }
        any = any || on != nullptr || tank.find("inflow") == nullptr;
    }
};

// A loop is worked out with all its tanks or not at all: one that is left out would not be felt.
void keep_whole_loops(const ObjectReader& top, std::span<const NamedLoop> loops,
                      const BrokenLoops& broken, std::vector<Fault>& faults,
                      Description& description) {
    for (std::size_t i = 0; i < loops.size(); ++i) {
        const std::string& name = loops[i].name;
        const auto on_it = [&](const Tank& tank) { return tank.loop && tank.loop->name == name; };
        const bool used = std::any_of(description.tanks.begin(), description.tanks.end(), on_it);
        const bool cut =
            std::find(broken.named.begin(), broken.named.end(), name) != broken.named.end();
        if (loops[i].loop && used && !cut && !broken.any) {
            description.loops.push_back(*loops[i].loop);
            continue;
        }
        std::erase_if(description.tanks, on_it);
        if (!loops[i].loop) continue;
        faults.push_back({top.list("loops")[i].at, pointer_to("/loops", i),
                          cut ? "not worked out: a tank on it has errors"
                          : broken.any
                              ? "not worked out: a tank that may be on it has errors"
                              : "no tank is on this loop; take it out, or name it in a tank"});
    }
}

}  // namespace

void read_limits(const ObjectReader& parent, std::vector<Fault>& faults, Limits& limits) {
    const JsonNode* node = parent.object("limits");
    if (node == nullptr) return;
    const ObjectReader reader(*node, Scope::limits, parent.pointer("limits"), faults);
    for (const LimitField& field : limit_fields()) {
        if (const auto value = reader.number(field.key)) limits.*field.own = value;
    }
}

void read_tanks(const ObjectReader& top, const SiteDefaults& site, const SpeciesBook& book,
                std::vector<Fault>& faults, Description& description) {
    const std::vector<NamedLoop> loops = read_loops(top, site.limits, site.limits_node, faults);
    const auto nodes = top.list("tanks");
    const JsonNode* list = top.object("tanks");
    const bool none =
        list == nullptr ? top.misses("tanks") : list->kind == JsonNode::Kind::list && nodes.empty();
    const JsonNode* trips = top.object("trips");
    if (none && top.misses("trips")) {
        top.fault("tanks", "needs one tank or more (or trips)");
    } else if (none && trips != nullptr && trips->kind == JsonNode::Kind::list &&
               trips->items.empty()) {
        top.fault("trips", "needs one trip or more, where there are no tanks");
    }
    // A name that stands twice refuses both.
    BrokenLoops broken;
    std::vector<std::size_t> place;  // of the tanks that could be read, among the nodes
    // So do two that differ by capitals or blanks alone: a reading is of which?
    std::unordered_map<std::string, std::vector<std::size_t>> numbers;
    for (std::size_t i = 0; i < nodes.size(); ++i) {
        if (const std::string* name = name_of_node(nodes[i])) {
            numbers[folded(*name)].push_back(i + 1);
        }
    }
    for (std::size_t i = 0; i < nodes.size(); ++i) {
        const std::string pointer = pointer_to("/tanks", i);
        std::optional<Tank> tank = read_tank(nodes[i], pointer, site, loops, book, faults);
        const std::string* name = name_of_node(nodes[i]);
        if (name != nullptr && numbers[folded(*name)].size() > 1) {
            const auto& same = numbers[folded(*name)];
            const std::size_t other = i + 1 == same[0] ? same[1] : i + 1;
            const std::string& first = *name_of_node(nodes[same[0] - 1]);
            const std::string& second = *name_of_node(nodes[other - 1]);
            faults.push_back(
                {nodes[i].find("name")->value.at, pointer_to(pointer, "name"),
                 first == second
                     ? fmt::format("tanks {} and {} are both named \"{}\"; name them apart",
                                   same[0], other, shortened(*name))
                     : fmt::format("tanks {} and {}, \"{}\" and \"{}\", differ by capitals or "
                                   "blanks alone; name them apart",
                                   same[0], other, shortened(first), shortened(second))});
            tank.reset();
        }
        if (tank) {
            description.tanks.push_back(std::move(*tank));
            place.push_back(i);
        } else {
            broken.add(nodes[i], loops);
        }
    }
    settle_rows(nodes, std::move(place), site.salinity_g_kg, faults, description.tanks);
    keep_whole_loops(top, loops, broken, faults, description);
}

}  // namespace coldtank::io
