#include "read/rows.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <set>
#include <unordered_map>

#include "coldtank/loop.hpp"
#include "read/keys.hpp"
#include "read/object_reader.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

// The tanks that get water of others: whose it is, and whether there is as much.
class Rows {
public:
    // `place`: of each tank that could be read, its number among the nodes.
    Rows(std::span<const JsonNode> nodes, std::vector<std::size_t> place, double new_water_g_kg,
         std::vector<Fault>& faults, std::vector<Tank>& tanks)
        : nodes_(nodes),
          place_(std::move(place)),
          new_water_g_kg_(new_water_g_kg),
          faults_(faults),
          tanks_(tanks) {}

    // Leaves out those whose water cannot be told, and those below them.
    void settle() {
        if (std::none_of(tanks_.begin(), tanks_.end(),
                         [](const Tank& tank) { return gets_water(tank); })) {
            take_water_from_above(tanks_);
            return;
        }
        name_sources();
        refuse_circles();
        refuse_too_much();
        for (bool any = true; any;) {
            any = false;
            for (std::size_t i = 0; i < tanks_.size(); ++i) any = follow(i) || any;
        }
        take_salt_from_above();
        std::vector<Tank> kept;
        for (std::size_t i = 0; i < tanks_.size(); ++i) {
            if (!out_.contains(i)) kept.push_back(std::move(tanks_[i]));
        }
        tanks_ = std::move(kept);
        take_water_from_above(tanks_);
    }

private:
    static bool gets_water(const Tank& tank) {
        return std::any_of(tank.inflow.begin(), tank.inflow.end(),
                           [](const Inflow& inflow) { return !inflow.from.empty(); });
    }
    // A key of the part-th inflow of a tank, as it was written; where it is absent, the inflow.
    Fault fault_of(std::size_t tank, std::size_t part, std::string_view key,
                   std::string message) const {
        const JsonNode& inflow = nodes_[place_[tank]].find("inflow")->value;
        const bool list = inflow.kind == JsonNode::Kind::list;
        const JsonNode& object = list ? inflow.items[part] : inflow;
        std::string pointer = pointer_to(pointer_to("/tanks", place_[tank]), "inflow");
        if (list) pointer = pointer_to(pointer, part);
        for (const JsonMember& member : object.members) {
            const Key* known = match_key(Scope::inflow, member.key).key;
            if (known == nullptr || known->name != key) continue;
            return {member.value.at, pointer_to(pointer, member.key), std::move(message)};
        }
        return {object.at, pointer, std::move(message)};
    }
    void refuse(std::size_t tank, Fault fault) {
        faults_.push_back(std::move(fault));
        out_.insert(tank);
    }
    std::size_t position_of(const std::string& name) const {
        return static_cast<std::size_t>(
            std::find_if(tanks_.begin(), tanks_.end(),
                         [&](const Tank& tank) { return tank.name == name; }) -
            tanks_.begin());
    }

    void name_sources();
    void take_salt_from_above();
    void refuse_circles();
    void refuse_too_much();
    // Leaves a tank out whose water is of one that is; true where it was there before.
    bool follow(std::size_t tank);

    std::span<const JsonNode> nodes_;
    std::vector<std::size_t> place_;
    double new_water_g_kg_;  // salt of new water
    std::vector<Fault>& faults_;
    std::vector<Tank>& tanks_;
    std::set<std::size_t> out_;
};

void Rows::name_sources() {
    std::unordered_map<std::string, std::size_t> by_name;
    std::vector<std::string> known;
    for (std::size_t i = 0; i < nodes_.size(); ++i) {
        if (const std::string* name = name_of_node(nodes_[i])) {
            by_name.emplace(folded(*name), i);
            known.push_back(*name);
        }
    }
    for (std::size_t i = 0; i < tanks_.size(); ++i) {
        std::set<std::string> before;
        for (std::size_t part = 0; part < tanks_[i].inflow.size(); ++part) {
            std::string& from = tanks_[i].inflow[part].from;
            if (from.empty()) continue;
            const auto fault = [&](std::string message) {
                refuse(i, fault_of(i, part, "from", std::move(message)));
            };
            const auto at = by_name.find(folded(from));
            if (at == by_name.end()) {
                const std::string near = nearest(from, known);
                fault(fmt::format("no tank is named \"{}\"{}", shortened(from),
                                  near.empty() ? "; new water has no from"
                                               : "; did you mean " + shortened(near) + "?"));
                continue;
            }
            from = *name_of_node(nodes_[at->second]);
            if (at->second == place_[i]) {
                fault("is this tank itself; water that goes round is a loop, see loops");
            } else if (nodes_[at->second].find("loop") != nullptr) {
                fault(fmt::format("\"{}\" is on a loop, and all its water goes back to it",
                                  shortened(from)));
            } else if (!before.insert(from).second) {
                fault(fmt::format("\"{}\" stands twice; give all its flow once", shortened(from)));
            } else if (position_of(from) == tanks_.size()) {
                fault(fmt::format("not worked out: \"{}\", the tank above, has errors",
                                  shortened(from)));
            }
        }
    }
}

// Water is as salt as what flows in, where the tank does not tell.
void Rows::take_salt_from_above() {
    for (const std::size_t i : from_the_top(tanks_)) {
        Tank& tank = tanks_[i];
        if (out_.contains(i) || !gets_water(tank)) continue;
        const JsonMember* water = nodes_[place_[i]].find("water");
        if (water != nullptr && water->value.find("salinity_g_kg") != nullptr) continue;
        // Salt that was put in is no less than what flows in.
        const bool salted = water != nullptr && water->value.find("salt_g_l") != nullptr;
        double flow_l_min = 0;
        double salt = 0;
        for (const Inflow& inflow : tank.inflow) {
            const std::size_t from = position_of(inflow.from);
            flow_l_min += inflow.flow_l_min;
            salt += inflow.flow_l_min * (inflow.from.empty() || from == tanks_.size()
                                             ? new_water_g_kg_
                                             : tanks_[from].water.salinity_g_kg);
        }
        if (flow_l_min > 0) {
            tank.water.salinity_g_kg =
                std::max(salted ? tank.water.salinity_g_kg : 0, salt / flow_l_min);
        }
    }
}

void Rows::refuse_circles() {
    const std::vector<std::size_t> order = from_the_top(tanks_);
    const std::set<std::size_t> sound(order.begin(), order.end());
    std::set<std::size_t> told;
    for (std::size_t i = 0; i < tanks_.size(); ++i) {
        if (sound.contains(i) || told.contains(i)) continue;
        // Up and up, until a tank stands there again.
        std::vector<std::size_t> way;
        std::size_t at = i;
        std::size_t part = 0;
        while (std::find(way.begin(), way.end(), at) == way.end() && !told.contains(at)) {
            way.push_back(at);
            const auto& inflow = tanks_[at].inflow;
            const auto up = std::find_if(inflow.begin(), inflow.end(), [&](const Inflow& each) {
                const std::size_t from = position_of(each.from);
                return !each.from.empty() && from < tanks_.size() && !sound.contains(from);
            });
            part = static_cast<std::size_t>(up - inflow.begin());
            at = position_of(up->from);
        }
        const auto first = std::find(way.begin(), way.end(), at);
        const bool refused = std::any_of(way.begin(), way.end(),
                                         [&](std::size_t each) { return out_.contains(each); });
        told.insert(way.begin(), way.end());
        out_.insert(way.begin(), way.end());
        if (first == way.end() || refused) continue;  // told before, or below what is
        std::vector<std::string> names;
        for (auto each = first; each != way.end(); ++each) {
            names.push_back(fmt::format("\"{}\"", shortened(tanks_[*each].name)));
        }
        names.push_back(names.front());
        Fault fault = fault_of(way.back(), part, "from",
                               fmt::format("a circle, each of the next: {}; where does the water "
                                           "come in? What is pumped round is a loop",
                                           joined(names, ", ")));
        fault.first_at = fault_of(*first, 0, "from", {}).at;
        faults_.push_back(std::move(fault));
    }
}

void Rows::refuse_too_much() {
    constexpr double kRounding = 1e-9;
    for (const Tank& above : tanks_) {
        double given_l_min = 0;
        std::vector<std::string> to;
        std::vector<std::pair<std::size_t, std::size_t>> takers;  // tank and part
        for (std::size_t i = 0; i < tanks_.size(); ++i) {
            for (std::size_t part = 0; part < tanks_[i].inflow.size(); ++part) {
                const Inflow& inflow = tanks_[i].inflow[part];
                if (inflow.from != above.name) continue;
                given_l_min += inflow.flow_l_min;
                to.push_back(fmt::format("{} to \"{}\"", figure(inflow.flow_l_min, 4),
                                         shortened(tanks_[i].name)));
                takers.emplace_back(i, part);
            }
        }
        const double received_l_min = flow_l_min_of(above);
        if (takers.empty() || given_l_min <= received_l_min * (1 + kRounding)) continue;
        const auto [last, part] = takers.back();
        Fault fault = fault_of(
            last, part, "flow_l_min",
            fmt::format("\"{}\" receives {} L/min and gives {} ({}): a tank gives what it receives "
                        "at most",
                        shortened(above.name), figure(received_l_min, 4), figure(given_l_min, 4),
                        joined(to, ", ")));
        const auto at = static_cast<std::size_t>(&above - tanks_.data());
        fault.first_at =
            above.inflow.empty() ? nodes_[place_[at]].at : fault_of(at, 0, "flow_l_min", {}).at;
        faults_.push_back(std::move(fault));
        for (const auto& [tank, unused] : takers) out_.insert(tank);
    }
}

bool Rows::follow(std::size_t tank) {
    if (out_.contains(tank)) return false;
    for (std::size_t part = 0; part < tanks_[tank].inflow.size(); ++part) {
        const std::string& from = tanks_[tank].inflow[part].from;
        if (from.empty() || !out_.contains(position_of(from))) continue;
        refuse(tank, fault_of(tank, part, "from",
                              fmt::format("not worked out: \"{}\", the tank above, has errors",
                                          shortened(from))));
        return true;
    }
    return false;
}

}  // namespace

const std::string* name_of_node(const JsonNode& node) {
    const JsonMember* name = node.find("name");
    return name != nullptr && name->value.kind == JsonNode::Kind::text ? &name->value.text
                                                                       : nullptr;
}

void settle_rows(std::span<const JsonNode> nodes, std::vector<std::size_t> place,
                 double new_water_g_kg, std::vector<Fault>& faults, std::vector<Tank>& tanks) {
    Rows(nodes, std::move(place), new_water_g_kg, faults, tanks).settle();
}

}  // namespace coldtank::io
