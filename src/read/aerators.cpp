#include "read/aerators.hpp"

#include <fmt/core.h>

#include <algorithm>

#include "text/text.hpp"

namespace coldtank::io {
namespace {

using AeratorKind = std::pair<std::string_view, Scope>;
constexpr AeratorKind kAeratorKinds[] = {{"diffuser", Scope::diffuser},
                                         {"rated", Scope::rated},
                                         {"oxygen", Scope::oxygen},
                                         {"cascade", Scope::cascade}};
constexpr AeratorKind kBackupKinds[] = {{"diffuser", Scope::backup_diffuser},
                                        {"rated", Scope::backup_rated},
                                        {"oxygen", Scope::backup_oxygen}};

// How long a backup runs: one of three ways to say it.
void read_supply(const ObjectReader& reader, Backup& backup) {
    backup.hours = reader.number("hours");
    const auto volts = reader.number("battery_v");
    const auto amp_hours = reader.number("battery_ah");
    const auto watts = reader.number("watts");
    const auto litres = reader.number("cylinder_l");
    const auto bar = reader.number("cylinder_bar");
    const auto left_bar = reader.number("left_bar");
    const bool battery = reader.has("battery_v") || reader.has("battery_ah") || reader.has("watts");
    const bool cylinder = reader.has("cylinder_l") || reader.has("cylinder_bar");
    if (static_cast<int>(reader.has("hours")) + static_cast<int>(battery) +
            static_cast<int>(cylinder) !=
        1) {
        reader.fault("",
                     "how long does it run? give hours, or battery_v, battery_ah and watts, or "
                     "cylinder_l and cylinder_bar");
    }
    if (battery && volts && amp_hours && watts) {
        backup.battery = Backup::Battery{*volts, *amp_hours, *watts};
    } else if (battery) {
        reader.fault("", "a battery needs battery_v, battery_ah and watts together");
    }
    if (cylinder && litres && bar) {
        backup.cylinder = Backup::Cylinder{*litres, *bar, left_bar.value_or(kCylinderLeftBar)};
        if (backup.cylinder->left_bar >= *bar) {
            reader.fault("cylinder_bar", "no more is in it than left_bar, which stays in it");
        }
    } else if (cylinder) {
        reader.fault("", "a cylinder needs cylinder_l and cylinder_bar together");
    }
    const auto* oxygen = std::get_if<PureOxygen>(&backup.unit.kind);
    if (cylinder && oxygen == nullptr) {
        reader.fault("cylinder_l", "a cylinder is of pure oxygen: kind oxygen");
    }
    if (cylinder && reader.has("flow_l_min") && oxygen != nullptr && oxygen->flow_l_min == 0) {
        reader.fault("flow_l_min",
                     "a cylinder that is shut brings nothing: the flow it is opened to");
    }
}

}  // namespace

Aerator read_aerator(const JsonNode& node, const std::string& pointer, std::vector<Fault>& faults,
                     Backup* backup) {
    // The kind says which keys there are: without it the rest is not looked at.
    const std::span<const AeratorKind> kinds = backup == nullptr
                                                   ? std::span<const AeratorKind>(kAeratorKinds)
                                                   : std::span<const AeratorKind>(kBackupKinds);
    Scope scope = kinds.front().second;
    if (const JsonMember* kind = node.find("kind")) {
        const auto found = std::find_if(kinds.begin(), kinds.end(), [&](const auto& each) {
            return kind->value.kind == JsonNode::Kind::text && kind->value.text == each.first;
        });
        if (found == kinds.end()) {
            std::vector<std::string> known;
            for (const auto& [name, keys] : kinds) known.emplace_back(name);
            const std::string near = nearest(kind->value.text, known);
            faults.push_back(
                {kind->value.at, pointer_to(pointer, "kind"),
                 fmt::format("must be one of {}, got {}{}", joined(known, ", "), seen(kind->value),
                             near.empty() ? "" : "; did you mean " + near + "?")});
            return {};
        }
        scope = found->second;
    } else if (node.kind == JsonNode::Kind::object) {
        // A key that no kind has may be this one, mistyped.
        std::string typed;
        std::size_t at = node.at;
        for (const JsonMember& member : node.members) {
            const bool known = std::any_of(kinds.begin(), kinds.end(), [&](const auto& each) {
                return match_key(each.second, member.key).key != nullptr;
            });
            if (known || !typed.empty()) continue;
            typed = member.key;
            at = member.at;
        }
        faults.push_back({at, typed.empty() ? pointer : pointer_to(pointer, typed),
                          fmt::format("kind is missing: diffuser, rated, oxygen{}{}",
                                      backup == nullptr ? " or cascade" : "",
                                      typed.empty() ? ""
                                                    : fmt::format("; is \"{}\" meant to be kind?",
                                                                  shortened(typed)))});
        return {};
    }
    const ObjectReader reader(node, scope, pointer, faults);
    Aerator aerator;
    aerator.name = reader.text("name").value_or("");
    aerator.alpha = reader.number("alpha");
    aerator.beta = reader.number("beta");
    if (scope == Scope::rated || scope == Scope::backup_rated) {
        aerator.kind = RatedAerator{reader.number("sotr_g_h").value_or(0)};
    } else if (scope == Scope::oxygen || scope == Scope::backup_oxygen) {
        aerator.kind = PureOxygen{reader.number("flow_l_min").value_or(0),
                                  reader.number("absorption_percent").value_or(0)};
    } else if (scope == Scope::cascade) {
        Cascade cascade{.drop_m = reader.number("drop_m").value_or(0)};
        cascade.quality = reader.number("quality");
        cascade.weir = reader.number("weir");
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
        if (diffuser.transfer_percent_per_m && transfer_share(diffuser, kUsualCoefficients) > 1) {
            reader.fault("transfer_percent_per_m",
                         "over this depth that is more oxygen than the air holds");
        }
        aerator.kind = diffuser;
    }
    if (backup != nullptr) {
        backup->unit = aerator;
        if (node.kind == JsonNode::Kind::object) read_supply(reader, *backup);
    }
    return aerator;
}

std::vector<Backup> read_backup(const ObjectReader& parent, std::vector<Fault>& faults) {
    std::vector<Backup> all;
    const auto list = parent.list("backup");
    for (std::size_t i = 0; i < list.size(); ++i) {
        read_aerator(list[i], pointer_to(parent.pointer("backup"), i), faults, &all.emplace_back());
    }
    return all;
}

}  // namespace coldtank::io
