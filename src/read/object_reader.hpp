// One object of an input file, read by the table of keys.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "read/keys.hpp"
#include "text/json_tree.hpp"

namespace coldtank::io {

// What was written, short and harmless.
std::string seen(const JsonNode& node);

// Matches an object's keys against the table, then hands out values. Every fault goes into
// `faults`; a value with a fault is not handed out. Names are the keys of the table, in their base
// unit.
class ObjectReader {
public:
    // Faults: not an object, unknown and repeated keys, missing required ones.
    ObjectReader(const JsonNode& node, Scope scope, std::string pointer,
                 std::vector<Fault>& faults);

    bool has(std::string_view name) const { return find(name) != nullptr; }
    // Neither there nor meant by a key that is not known.
    bool misses(std::string_view name) const;
    std::string pointer(std::string_view name) const;

    // In the base unit, inside its range.
    std::optional<double> number(std::string_view name) const;
    // Into a member that has a default.
    void number(std::string_view name, double& into) const;
    std::optional<std::string> text(std::string_view name) const;
    bool truth(std::string_view name) const;                      // false where it is absent
    const JsonNode* object(std::string_view name) const;          // null where it is absent
    std::span<const JsonNode> list(std::string_view name) const;  // empty where it is absent

    // One object, or those of a list, each with where it stands; empty where it is absent.
    std::vector<std::pair<const JsonNode*, std::string>> objects(std::string_view name) const;

    // Twelve numbers, each as number() takes it; empty where it is absent or has a fault.
    std::vector<double> numbers(std::string_view name) const;

    // A fault of a value, or of the object where the value is absent.
    void fault(std::string_view name, std::string message) const;
    // Two keys of which only one may stand.
    void exclusive(std::string_view one, std::string_view other) const;

private:
    struct Found {
        KeyMatch match;
        const JsonMember* member;
    };

    void take(const JsonMember& member);
    std::optional<double> number_of(const JsonNode& node, const Found& found,
                                    const std::string& pointer) const;
    const Found* find(std::string_view name) const;
    void fault_at(const Found& found, std::string message) const;
    void fault(std::size_t at, std::string pointer, std::string message) const;

    const JsonNode& node_;
    Scope scope_;
    std::string pointer_;
    std::vector<Fault>& faults_;
    std::vector<Found> found_;
    std::vector<const Key*> meant_;  // by keys that are not known
};

}  // namespace coldtank::io
