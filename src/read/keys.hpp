// The one table of what a description may hold: keys, kinds, ranges, units.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace coldtank::io {

enum class Scope {
    description,
    site,
    tank,
    water,
    inflow,
    fish,
    feed,
    diffuser,
    rated,
    oxygen,
    cascade,
    backup_diffuser,
    backup_rated,
    backup_oxygen,
    trip,
    water_change,
    season,
    thinning,
    limits,
    loop,
    loop_water,
    loop_flow,
    makeup,
    biofilter,
    plants,
    coefficients,
    accuracy,
    species_file,
    species,
    reading,
    drop_log,
    season_temperatures
};

// Smaller than this, as it is written, and not zero is no measurement, and would overflow a
// quotient.
inline constexpr double kLeastWritten = 1e-9;

// objects: one object, or a list of them. numbers: a list of twelve.
enum class KeyKind { number, whole, text, truth, object, list, objects, numbers };
inline constexpr std::size_t kNumbers = 12;

// Another unit for a key: its ending, and base = factor * (value - zero).
struct Unit {
    std::string_view suffix;
    double factor;
    double zero = 0;
    bool whole_key = false;  // `suffix` is all of the key: "salt_g_l" of chloride_mg_l
};

// A key whose name ends in its base unit, and the other endings it may have.
struct Quantity {
    std::string_view base;  // "_l"
    std::span<const Unit> others;
};

struct Key {
    std::string_view name;
    KeyKind kind;
    std::string_view about;
    bool required = false;
    double low = 0;  // of numbers, inclusive
    double high = 0;
    bool above_low = false;              // low itself is out
    const Quantity* quantity = nullptr;  // of numbers with units to choose
    std::string_view choices = {};       // of texts with fixed values, "a|b|c"
    std::optional<double> usual = {};    // what counts where it is not given, in the base unit
};

std::span<const Key> keys_of(Scope scope) noexcept;
std::string_view name_of(Scope scope) noexcept;
// What counts where a key of a scope is not given; none where it is required or something else
// says.
std::optional<double> usual_of(Scope scope, const Key& key) noexcept;

// The key with its ending, and the unit to convert from.
struct KeyMatch {
    const Key* key = nullptr;
    const Unit* unit = nullptr;  // null: the base unit
};
KeyMatch match_key(Scope scope, std::string_view written) noexcept;

// All spellings of a key: "volume_l", "volume_m3", ...
std::vector<std::string> spellings(const Key& key);

// What a number out of its range, as it was written, looks like, and what to write then; empty
// where it is nothing known.
//   unit: the key's; null: its base unit
std::string explain_number(Scope scope, const Key& key, const Unit* unit, double value);

// Whether a key of an inflow is told of the outflow of a tank too: the rest is worked out.
inline bool is_of_any_inflow(std::string_view key) {
    return key == "from" || key == "flow_l_min" || key == "keeps_flowing";
}

// What to write in place of an unknown key: "did you mean ...?", or where it belongs; and the key
// of this scope that was meant, null where that is not known.
struct UnknownKey {
    std::string advice;
    const Key* meant = nullptr;
};
UnknownKey explain_unknown_key(Scope scope, std::string_view written);

// A key without its unit.
std::string_view stem(const Key& key);

// The one of `known` nearest to what was written, ignoring case; empty where none is near.
std::string nearest(std::string_view written, std::span<const std::string> known);

}  // namespace coldtank::io
