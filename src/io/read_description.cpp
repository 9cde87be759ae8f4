#include "read_description.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cerrno>
#include <cmath>
#include <cstdio>
#include <cstring>
#include <memory>
#include <unordered_map>

#include "coldtank/budget.hpp"
#include "object_reader.hpp"
#include "text.hpp"

namespace coldtank::io {
namespace {

// Fish that weigh more than this share of the water are an error of writing.
constexpr double kHeaviestShare = 0.25;

// ---- the parts of a description

struct LimitField {
    std::string_view key;
    std::optional<double> Limits::*member;
};
constexpr LimitField kLimitFields[] = {
    {"oxygen_warn_mg_l", &Limits::oxygen_warn_mg_l},
    {"oxygen_warn_percent", &Limits::oxygen_warn_percent},
    {"oxygen_fail_mg_l", &Limits::oxygen_fail_mg_l},
    {"reserve_stress_mg_l", &Limits::reserve_stress_mg_l},
    {"reserve_danger_mg_l", &Limits::reserve_danger_mg_l},
    {"response_time_min", &Limits::response_time_min},
    {"nh3_warn_mg_l", &Limits::nh3_warn_mg_l},
    {"nh3_fail_mg_l", &Limits::nh3_fail_mg_l},
    {"tan_warn_mg_l", &Limits::tan_warn_mg_l},
    {"tan_fail_mg_l", &Limits::tan_fail_mg_l},
    {"carbon_dioxide_warn_mg_l", &Limits::carbon_dioxide_warn_mg_l},
    {"carbon_dioxide_fail_mg_l", &Limits::carbon_dioxide_fail_mg_l},
    {"temperature_low_warn_c", &Limits::temperature_low_warn_c},
    {"temperature_warn_c", &Limits::temperature_warn_c},
    {"temperature_fail_c", &Limits::temperature_fail_c},
    {"ph_low_warn", &Limits::ph_low_warn},
    {"ph_high_warn", &Limits::ph_high_warn},
    {"ph_low_fail", &Limits::ph_low_fail},
    {"ph_high_fail", &Limits::ph_high_fail},
    {"density_warn_kg_m3", &Limits::density_warn_kg_m3},
    {"density_fail_kg_m3", &Limits::density_fail_kg_m3},
    {"density_index_kg_m3_cm", &Limits::density_index_kg_m3_cm},
    {"ration_warn_ratio", &Limits::ration_warn_ratio},
    {"exchange_warn_per_h", &Limits::exchange_warn_per_h},
    {"size_spread_warn", &Limits::size_spread_warn},
    {"size_spread_fail", &Limits::size_spread_fail},
    {"nitrate_warn_mg_l", &Limits::nitrate_warn_mg_l},
    {"alkalinity_warn_mg_l", &Limits::alkalinity_warn_mg_l},
    {"alkalinity_fail_mg_l", &Limits::alkalinity_fail_mg_l},
};

void read_limits(const ObjectReader& parent, std::vector<Fault>& faults, Limits& limits) {
    const JsonNode* node = parent.object("limits");
    if (node == nullptr) return;
    const ObjectReader reader(*node, Scope::limits, parent.pointer("limits"), faults);
    for (const LimitField& field : kLimitFields) {
        if (const auto value = reader.number(field.key)) limits.*field.member = value;
    }
}

void read_water(const JsonNode& node, const std::string& pointer, std::vector<Fault>& faults,
                Tank& tank) {
    const ObjectReader reader(node, Scope::water, pointer, faults);
    Water& water = tank.water;
    const auto temperature_c = reader.number("temperature_c");
    water.temperature_c = temperature_c.value_or(0);
    water.peak_temperature_c = reader.number("peak_temperature_c");
    if (temperature_c && water.peak_temperature_c && *water.peak_temperature_c < *temperature_c) {
        reader.fault("peak_temperature_c",
                     "the warmest hour is below the day's mean, temperature_c");
    }
    water.ph = reader.number("ph");
    water.alkalinity_mg_l = reader.number("alkalinity_mg_l");
    reader.number("salinity_g_kg", water.salinity_g_kg);
    Readings& readings = tank.readings;
    readings.oxygen_mg_l = reader.number("oxygen_mg_l");
    readings.tan_mg_l = reader.number("tan_mg_l");
    readings.nitrite_mg_l = reader.number("nitrite_mg_l");
    readings.nitrate_mg_l = reader.number("nitrate_mg_l");
    readings.chloride_mg_l = reader.number("chloride_mg_l");
    readings.carbon_dioxide_mg_l = reader.number("carbon_dioxide_mg_l");
    readings.current_cm_s = reader.number("current_cm_s");
    readings.gas_pressure_percent = reader.number("gas_pressure_percent");
}

Inflow read_inflow(const JsonNode& node, const std::string& pointer, std::vector<Fault>& faults) {
    const ObjectReader reader(node, Scope::inflow, pointer, faults);
    Inflow inflow;
    reader.number("flow_l_min", inflow.flow_l_min);
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
    inflow.keeps_flowing = reader.truth("keeps_flowing");
    return inflow;
}

void read_species(const ObjectReader& reader, const SpeciesBook& book, FishGroup& group) {
    const auto typed = reader.text("species");
    if (!typed) return;
    if (const BookEntry* entry = book.find(*typed)) {
        group.species_name = entry->name;
        group.species = entry->species;
        return;
    }
    const std::vector<std::string> known = book.all_names();
    const std::string near = nearest(*typed, known);
    reader.fault("species",
                 fmt::format("unknown species \"{}\"; {}", shortened(*typed),
                             near.empty() ? "see coldtank species"
                                          : fmt::format("did you mean {}?", printable(near))));
}

FishGroup read_group(const JsonNode& node, const std::string& pointer, const SpeciesBook& book,
                     std::vector<Fault>& faults) {
    const ObjectReader reader(node, Scope::fish, pointer, faults);
    FishGroup group{};
    group.name = reader.text("name").value_or("");
    read_species(reader, book, group);
    reader.number("count", group.count);
    reader.number("mean_weight_g", group.mean_weight_g);
    group.age_months = reader.number("age_months");
    group.condition_factor = reader.number("condition_factor");
    group.ration_g_day = reader.number("ration_g_day");
    reader.number("respiration_factor", group.respiration_factor);
    return group;
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
    reader.number("oxygen_per_feed_g_kg", feed.oxygen_per_feed_g_kg);
    reader.number("peak_factor", feed.peak_factor);

    if (!fish_stand) return;
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

Aerator read_aerator(const JsonNode& node, const std::string& pointer, std::vector<Fault>& faults) {
    // The kind says which keys there are: without it the rest is not looked at.
    static const std::vector<std::pair<std::string, Scope>> kinds{{"diffuser", Scope::diffuser},
                                                                  {"rated", Scope::rated},
                                                                  {"oxygen", Scope::oxygen},
                                                                  {"cascade", Scope::cascade}};
    Scope scope = Scope::diffuser;
    if (const JsonMember* kind = node.find("kind")) {
        std::vector<std::string> known;
        bool found = false;
        for (const auto& [name, of] : kinds) {
            known.push_back(name);
            if (kind->value.kind != JsonNode::Kind::text || kind->value.text != name) continue;
            scope = of;
            found = true;
        }
        if (!found) {
            const std::string near = nearest(kind->value.text, known);
            faults.push_back({kind->value.at, pointer_to(pointer, "kind"),
                              fmt::format("must be one of {}, got {}{}", fmt::join(known, ", "),
                                          seen(kind->value),
                                          near.empty() ? "" : "; did you mean " + near + "?")});
            return {};
        }
    } else if (node.kind == JsonNode::Kind::object) {
        faults.push_back({node.at, pointer, "kind is missing: diffuser, rated, oxygen or cascade"});
        return {};
    }
    const ObjectReader reader(node, scope, pointer, faults);
    Aerator aerator;
    aerator.name = reader.text("name").value_or("");
    reader.number("alpha", aerator.alpha);
    reader.number("beta", aerator.beta);
    if (scope == Scope::rated) {
        aerator.kind = RatedAerator{reader.number("sotr_g_h").value_or(0)};
    } else if (scope == Scope::oxygen) {
        aerator.kind = PureOxygen{reader.number("flow_l_min").value_or(0),
                                  reader.number("absorption_percent").value_or(0)};
    } else if (scope == Scope::cascade) {
        Cascade cascade{.drop_m = reader.number("drop_m").value_or(0)};
        reader.number("quality", cascade.quality);
        reader.number("weir", cascade.weir);
        aerator.kind = cascade;
    } else {
        Diffuser diffuser{reader.number("air_flow_l_min").value_or(0),
                          reader.number("depth_m").value_or(0), std::nullopt,
                          reader.number("transfer_percent_per_m")};
        if (const auto bubble = reader.text("bubble")) {
            diffuser.bubble = *bubble == "fine"     ? Bubble::fine
                              : *bubble == "medium" ? Bubble::medium
                                                    : Bubble::coarse;
        }
        reader.exclusive("bubble", "transfer_percent_per_m");
        if (node.kind == JsonNode::Kind::object && !reader.has("bubble") &&
            !reader.has("transfer_percent_per_m")) {
            reader.fault("",
                         "bubble (fine, medium or coarse) or transfer_percent_per_m is missing");
        }
        if (diffuser.transfer_percent_per_m && transfer_share(diffuser) > 1) {
            reader.fault("transfer_percent_per_m",
                         "over this depth that is more oxygen than the air holds");
        }
        aerator.kind = diffuser;
    }
    return aerator;
}

void check_weight(const ObjectReader& reader, const Tank& tank) {
    double biomass_kg = 0;
    for (const FishGroup& group : tank.fish) biomass_kg += group.count * group.mean_weight_g / 1000;
    if (biomass_kg > kHeaviestShare * tank.volume_l) {
        reader.fault("fish", fmt::format("{} kg of fish in {} L of water cannot be; look at count, "
                                         "mean_weight_g and volume_l",
                                         figure(biomass_kg), figure(tank.volume_l)));
    }
}

// Where a limit of a tank was set: its own limits, or the site's.
struct LimitPlaces {
    const JsonNode* tank = nullptr;
    std::string tank_pointer;
    const JsonNode* site = nullptr;
};

void check_limits(const Tank& tank, const LimitPlaces& places, std::vector<Fault>& faults) {
    for (const LimitConflict& conflict : limit_conflicts(tank)) {
        for (const auto& [node, pointer] : {std::pair{places.tank, places.tank_pointer},
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

// What a site says for all its tanks.
struct SiteDefaults {
    double salinity_g_kg = 0;
    Limits limits;
    const JsonNode* limits_node = nullptr;
};

// One tank; none where it has a fault.
std::optional<Tank> read_tank(const JsonNode& node, const std::string& pointer,
                              const SiteDefaults& site, const SpeciesBook& book,
                              std::vector<Fault>& faults) {
    const std::size_t before = faults.size();
    const ObjectReader reader(node, Scope::tank, pointer, faults);
    Tank tank{};
    tank.limits = site.limits;
    tank.water.salinity_g_kg = site.salinity_g_kg;
    tank.name = reader.text("name").value_or("");
    reader.number("volume_l", tank.volume_l);
    if (const JsonNode* water = reader.object("water")) {
        read_water(*water, reader.pointer("water"), faults, tank);
    }
    if (const JsonNode* inflow = reader.object("inflow")) {
        tank.inflow = read_inflow(*inflow, reader.pointer("inflow"), faults);
    }
    const std::size_t before_fish = faults.size();
    const auto fish = reader.list("fish");
    for (std::size_t i = 0; i < fish.size(); ++i) {
        tank.fish.push_back(
            read_group(fish[i], pointer_to(reader.pointer("fish"), i), book, faults));
    }
    const bool fish_stand = reader.has("fish") && faults.size() == before_fish;
    read_feed(reader, fish_stand, faults, tank);
    const auto aeration = reader.list("aeration");
    for (std::size_t i = 0; i < aeration.size(); ++i) {
        tank.aeration.push_back(
            read_aerator(aeration[i], pointer_to(reader.pointer("aeration"), i), faults));
    }
    read_limits(reader, faults, tank.limits);
    if (fish_stand && tank.volume_l > 0) check_weight(reader, tank);
    if (!fish_stand) tank.fish.clear();  // no species' limits, then
    const std::size_t sound = faults.size();
    check_limits(tank, {reader.object("limits"), reader.pointer("limits"), site.limits_node},
                 faults);
    const bool limits_stand = faults.size() == sound && limit_conflicts(tank).empty();
    if (faults.size() != before || !limits_stand) return std::nullopt;
    return tank;
}

void read_tanks(const ObjectReader& top, const SiteDefaults& site, const SpeciesBook& book,
                std::vector<Fault>& faults, Description& description) {
    const auto nodes = top.list("tanks");
    const JsonNode* list = top.object("tanks");
    if (list != nullptr && list->kind == JsonNode::Kind::list && nodes.empty()) {
        top.fault("tanks", "needs one tank or more");
    }
    // A name that stands twice refuses both.
    const auto name_of_node = [](const JsonNode& node) -> const JsonNode* {
        const JsonMember* name = node.find("name");
        return name != nullptr && name->value.kind == JsonNode::Kind::text ? &name->value : nullptr;
    };
    std::unordered_map<std::string_view, std::vector<std::size_t>> numbers;
    for (std::size_t i = 0; i < nodes.size(); ++i) {
        if (const JsonNode* name = name_of_node(nodes[i])) numbers[name->text].push_back(i + 1);
    }
    for (std::size_t i = 0; i < nodes.size(); ++i) {
        const std::string pointer = pointer_to("/tanks", i);
        std::optional<Tank> tank = read_tank(nodes[i], pointer, site, book, faults);
        const JsonNode* name = name_of_node(nodes[i]);
        if (name != nullptr && numbers[name->text].size() > 1) {
            const auto& same = numbers[name->text];
            faults.push_back(
                {name->at, pointer_to(pointer, "name"),
                 fmt::format("tanks {} and {} are both named \"{}\"; name them apart", same[0],
                             i + 1 == same[0] ? same[1] : i + 1, shortened(name->text))});
            tank.reset();
        }
        if (tank) description.tanks.push_back(std::move(*tank));
    }
}

std::optional<Description> decode(const JsonNode& root, const SpeciesBook& book,
                                  std::vector<Fault>& faults) {
    const ObjectReader top(root, Scope::description, {}, faults);
    if (root.kind != JsonNode::Kind::object) return std::nullopt;
    const bool format = top.number("format").has_value();
    Description description;
    SiteDefaults site;
    bool site_stands = false;
    if (const JsonNode* node = top.object("site")) {
        const std::size_t before = faults.size();
        const ObjectReader reader(*node, Scope::site, "/site", faults);
        description.site.name = reader.text("name").value_or("");
        description.site.altitude_m = reader.number("altitude_m");
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
    read_tanks(top, site, book, faults, description);
    // A part that stands twice: which one was meant?
    if (!format || !site_stands || !root.repeated.empty()) return std::nullopt;
    return description;
}

std::optional<std::string> read_all(const std::string& path, std::string& reason) {
    struct Close {
        void operator()(std::FILE* file) const {
            if (file != stdin) std::fclose(file);
        }
    };
    const std::unique_ptr<std::FILE, Close> file(path == "-" ? stdin
                                                             : std::fopen(path.c_str(), "rb"));
    if (file == nullptr) {
        reason = std::strerror(errno);
        return std::nullopt;
    }
    std::string text;
    char buffer[65536];
    while (const std::size_t got = std::fread(buffer, 1, sizeof buffer, file.get())) {
        text.append(buffer, got);
    }
    if (std::ferror(file.get()) != 0) {
        reason = std::strerror(errno);
        return std::nullopt;
    }
    return text;
}

}  // namespace

static std::vector<InputError> located(std::vector<Fault> faults, std::string_view text,
                                       const std::string& file, std::size_t first_line) {
    std::vector<InputError> errors;
    std::stable_sort(faults.begin(), faults.end(),
                     [](const Fault& a, const Fault& b) { return a.at < b.at; });
    const Lines lines(text);
    for (Fault& fault : faults) {
        const Place place = lines.place_of(fault.at);
        if (fault.first_at) {
            const Place first = lines.place_of(*fault.first_at);
            fault.message += fmt::format("; first at line {}, column {}",
                                         first_line + first.line - 1, first.column);
        }
        errors.push_back({file, first_line + place.line - 1, place.column, std::move(fault.pointer),
                          std::move(fault.message)});
    }
    return errors;
}

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

SpeciesFile read_species_file(const std::string& path) {
    SpeciesFile result;
    std::string reason;
    const std::optional<std::string> text = read_all(path, reason);
    if (!text) {
        result.unreadable = true;
        result.errors.push_back({path, {}, {}, {}, reason});
        return result;
    }
    std::vector<Fault> faults;
    if (const auto tree = parse_json(*text, faults)) result.book.add(*tree, faults);
    result.errors = located(std::move(faults), *text, path, 1);
    return result;
}

std::vector<ReadResult> read_file(const std::string& path, const SpeciesBook& book,
                                  bool one_a_line) {
    std::vector<ReadResult> results;
    std::string reason;
    const std::optional<std::string> text = read_all(path, reason);
    if (!text) {
        ReadResult result;
        result.file = path;
        result.unreadable = true;
        result.errors.push_back({path, {}, {}, {}, reason});
        results.push_back(std::move(result));
        return results;
    }
    if (!one_a_line && !path.ends_with(".jsonl") && !path.ends_with(".ndjson")) {
        results.push_back(read_description(*text, path, book));
        return results;
    }
    std::size_t line = 0;
    for (std::string_view rest = *text; !rest.empty();) {
        ++line;
        const std::size_t end = std::min(rest.find('\n'), rest.size());
        std::string_view record = rest.substr(0, end);
        rest.remove_prefix(std::min(end + 1, rest.size()));
        if (record.ends_with('\r')) record.remove_suffix(1);
        if (record.find_first_not_of(" \t\r") == std::string_view::npos) continue;
        results.push_back(read_description(record, path, book, line));
        results.back().line = line;
    }
    if (results.empty()) results.push_back(read_description({}, path, book));
    return results;
}

}  // namespace coldtank::io
