#include "read/object_reader.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "text/text.hpp"

namespace coldtank::io {
namespace {

constexpr double kRounding = 1e-12;

std::string_view kind_name(const JsonNode& node) {
    switch (node.kind) {
        case JsonNode::Kind::null:
            return "null";
        case JsonNode::Kind::truth:
            return node.truth ? "true" : "false";
        case JsonNode::Kind::number:
            return "a number";
        case JsonNode::Kind::text:
            return "a text";
        case JsonNode::Kind::list:
            return "a list";
        case JsonNode::Kind::object:
            break;
    }
    return "an object";
}

bool written_as_zero(std::string_view number) {
    return number.substr(0, number.find_first_of("eE")).find_first_of("123456789") ==
           std::string_view::npos;
}

// The range of a key in the unit that was written.
std::string range_of(const Key& key, const Unit* unit, double value) {
    const auto shown = [&](double base) {
        return figure(unit == nullptr ? base : base / unit->factor + unit->zero, 6);
    };
    if (value > key.high && key.high >= 1e12) return fmt::format("at most {}", exact(key.high));
    if (key.high >= 1e12) {
        return key.above_low ? "more than 0" : fmt::format("{} or more", shown(key.low));
    }
    if (key.low == key.high) return shown(key.low);
    return key.above_low ? fmt::format("more than {}, up to {}", shown(key.low), shown(key.high))
                         : fmt::format("{} to {}", shown(key.low), shown(key.high));
}

}  // namespace

std::string seen(const JsonNode& node) {
    if (node.kind == JsonNode::Kind::number) return shortened(node.text);
    if (node.kind == JsonNode::Kind::text) {
        return fmt::format("\"{}\"", shortened(node.text));
    }
    return std::string(kind_name(node));
}

ObjectReader::ObjectReader(const JsonNode& node, Scope scope, std::string pointer,
                           std::vector<Fault>& faults)
    : node_(node), scope_(scope), pointer_(std::move(pointer)), faults_(faults) {
    if (node.kind != JsonNode::Kind::object) {
        fault(node.at, pointer_, fmt::format("must be an object, got {}", seen(node)));
        return;
    }
    found_.reserve(node.members.size());
    for (const JsonMember& member : node.members) take(member);
    for (const JsonNode::Repeated& again : node.repeated) {
        faults_.push_back({again.at, pointer_to(pointer_, again.key),
                           "this key stands twice; keep one", again.first_at});
    }
    for (const Key& key : keys_of(scope)) {
        if (key.required && misses(key.name)) {
            fault(node.at, pointer_, fmt::format("{} is missing: {}", key.name, key.about));
        }
    }
}

bool ObjectReader::misses(std::string_view name) const {
    return node_.kind == JsonNode::Kind::object && !has(name) &&
           std::none_of(meant_.begin(), meant_.end(),
                        [&](const Key* key) { return key != nullptr && key->name == name; });
}

std::string ObjectReader::pointer(std::string_view name) const {
    const Found* found = find(name);
    return found == nullptr ? pointer_ : pointer_to(pointer_, found->member->key);
}

std::optional<double> ObjectReader::number(std::string_view name) const {
    const Found* found = find(name);
    if (found == nullptr) return std::nullopt;
    return number_of(found->member->value, *found, pointer_to(pointer_, found->member->key));
}

std::vector<double> ObjectReader::numbers(std::string_view name) const {
    const Found* found = find(name);
    if (found == nullptr) return {};
    const JsonNode& list = found->member->value;
    if (list.kind != JsonNode::Kind::list || list.items.size() != kNumbers) {
        fault_at(*found,
                 fmt::format("must be a list of {} numbers, got {}", kNumbers,
                             list.kind == JsonNode::Kind::list ? std::to_string(list.items.size())
                                                               : seen(list)));
        return {};
    }
    std::vector<double> values;
    const std::string pointer = pointer_to(pointer_, found->member->key);
    for (std::size_t i = 0; i < list.items.size(); ++i) {
        if (const auto value = number_of(list.items[i], *found, pointer_to(pointer, i))) {
            values.push_back(*value);
        }
    }
    if (values.size() != kNumbers) values.clear();
    return values;
}

std::optional<double> ObjectReader::number_of(const JsonNode& node, const Found& found,
                                              const std::string& pointer) const {
    const auto fault_here = [&](std::string message) {
        fault(node.at, pointer, std::move(message));
    };
    const Key& key = *found.match.key;
    if (node.kind != JsonNode::Kind::number) {
        fault_here(fmt::format("must be a number, got {}", seen(node)));
        return std::nullopt;
    }
    const Unit* unit = found.match.unit;
    const double value = unit == nullptr ? node.number : unit->factor * (node.number - unit->zero);
    if (key.kind == KeyKind::whole && std::floor(value) != value) {
        fault_here(fmt::format("must be a whole number, got {}", seen(node)));
        return std::nullopt;
    }
    if (std::abs(node.number) < kLeastWritten && !written_as_zero(node.text)) {
        fault_here(
            fmt::format("{} is too small to be meant; write 0 or the right number", seen(node)));
        return std::nullopt;
    }
    // An end of the range, written in another unit, may be off by the last digit: the end is meant.
    const double slack = unit == nullptr ? 0 : kRounding * std::max(1.0, std::abs(value));
    if (!(value >= key.low - slack && value <= key.high + slack) ||
        (key.above_low && value <= key.low)) {
        fault_here(fmt::format("must be {}, got {}{}", range_of(key, unit, value), seen(node),
                               explain_number(scope_, key, unit, node.number)));
        return std::nullopt;
    }
    return std::max(key.low, std::min(value, key.high));
}

void ObjectReader::number(std::string_view name, double& into) const {
    if (const auto value = number(name)) into = *value;
}

std::optional<std::string> ObjectReader::text(std::string_view name) const {
    const Found* found = find(name);
    if (found == nullptr) return std::nullopt;
    const JsonNode& node = found->member->value;
    if (node.kind != JsonNode::Kind::text) {
        const Key& key = *found->match.key;
        const std::string hint =
            key.name == "ration" ? "; percent of their weight: ration_percent_day" : "";
        fault_at(*found, fmt::format("must be a text in quotes{}{}, got {}{}",
                                     key.choices.empty() ? "" : ", one of ",
                                     joined(choices_of(key.choices), ", "), seen(node), hint));
        return std::nullopt;
    }
    if (is_blank(node.text)) {
        fault_at(*found, "must not be empty");
        return std::nullopt;
    }
    const auto known = choices_of(found->match.key->choices);
    if (!known.empty() && std::find(known.begin(), known.end(), node.text) == known.end()) {
        const std::string near =
            nearest(node.text, std::vector<std::string>(known.begin(), known.end()));
        fault_at(*found, fmt::format("must be one of {}, got {}{}", joined(known, ", "), seen(node),
                                     near.empty() ? "" : "; did you mean " + near + "?"));
        return std::nullopt;
    }
    return node.text;
}

bool ObjectReader::truth(std::string_view name) const {
    const Found* found = find(name);
    if (found == nullptr) return false;
    const JsonNode& node = found->member->value;
    if (node.kind == JsonNode::Kind::truth) return node.truth;
    fault_at(*found, fmt::format("must be true or false, got {}", seen(node)));
    return false;
}

const JsonNode* ObjectReader::object(std::string_view name) const {
    const Found* found = find(name);
    return found == nullptr ? nullptr : &found->member->value;
}

std::span<const JsonNode> ObjectReader::list(std::string_view name) const {
    const Found* found = find(name);
    if (found == nullptr) return {};
    if (found->member->value.kind != JsonNode::Kind::list) {
        fault_at(*found, fmt::format("must be a list in [ ], got {}", seen(found->member->value)));
        return {};
    }
    return found->member->value.items;
}

std::vector<std::pair<const JsonNode*, std::string>> ObjectReader::objects(
    std::string_view name) const {
    const JsonNode* node = object(name);
    if (node == nullptr) return {};
    if (node->kind != JsonNode::Kind::list) return {{node, pointer(name)}};
    if (node->items.empty()) fault(name, "needs one object or more; without, take the key out");
    std::vector<std::pair<const JsonNode*, std::string>> all;
    for (std::size_t i = 0; i < node->items.size(); ++i) {
        all.emplace_back(&node->items[i], pointer_to(pointer(name), i));
    }
    return all;
}

void ObjectReader::fault(std::string_view name, std::string message) const {
    const Found* found = find(name);
    fault(found == nullptr ? node_.at : found->member->value.at, pointer(name), std::move(message));
}

void ObjectReader::exclusive(std::string_view one, std::string_view other) const {
    if (has(one) && has(other)) fault(other, fmt::format("give {} or {}, not both", one, other));
}

void ObjectReader::take(const JsonMember& member) {
    const KeyMatch match = match_key(scope_, member.key);
    if (match.key == nullptr) {
        const UnknownKey unknown = explain_unknown_key(scope_, member.key);
        meant_.push_back(unknown.meant);
        fault(member.at, pointer_to(pointer_, member.key),
              fmt::format("unknown key in {}; {}", name_of(scope_), unknown.advice));
        return;
    }
    if (const Found* first = find(match.key->name)) {
        faults_.push_back({member.at, pointer_to(pointer_, member.key),
                           fmt::format("{} says the same; keep one", first->member->key),
                           first->member->at});
        return;
    }
    found_.push_back({match, &member});
}

const ObjectReader::Found* ObjectReader::find(std::string_view name) const {
    for (const Found& found : found_) {
        if (found.match.key->name == name) return &found;
    }
    return nullptr;
}

void ObjectReader::fault_at(const Found& found, std::string message) const {
    fault(found.member->value.at, pointer_to(pointer_, found.member->key), std::move(message));
}

void ObjectReader::fault(std::size_t at, std::string pointer, std::string message) const {
    faults_.push_back({at, std::move(pointer), std::move(message)});
}

}  // namespace coldtank::io
