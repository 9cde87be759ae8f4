#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <optional>

#include "coldtank/source.hpp"
#include "read/keys.hpp"
#include "text/text.hpp"
#include "text/units.hpp"

// What is said of a key or a number that is not understood: the key that it looks like.
namespace coldtank::io {
namespace {

constexpr std::array kScopes{
    Scope::description,  Scope::site,          Scope::tank,    Scope::water,
    Scope::inflow,       Scope::feed,          Scope::fish,    Scope::diffuser,
    Scope::rated,        Scope::oxygen,        Scope::cascade, Scope::backup_diffuser,
    Scope::backup_rated, Scope::backup_oxygen, Scope::trip,    Scope::water_change,
    Scope::season,       Scope::thinning,      Scope::limits,  Scope::loop,
    Scope::makeup,       Scope::biofilter,     Scope::plants,  Scope::coefficients,
    Scope::accuracy};

// Edits (insert, delete, replace, swap neighbours) between two words, ignoring case.
std::size_t distance(std::string_view one, std::string_view other) {
    const std::string a = lower_case(one);
    const std::string b = lower_case(other);
    std::vector<std::vector<std::size_t>> d(a.size() + 1, std::vector<std::size_t>(b.size() + 1));
    for (std::size_t i = 0; i <= a.size(); ++i) {
        for (std::size_t j = 0; j <= b.size(); ++j) {
            if (i == 0 || j == 0) {
                d[i][j] = i + j;
                continue;
            }
            const bool same = a[i - 1] == b[j - 1];
            d[i][j] =
                std::min({d[i - 1][j] + 1, d[i][j - 1] + 1, d[i - 1][j - 1] + (same ? 0 : 1)});
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
                d[i][j] = std::min(d[i][j], d[i - 2][j - 2] + 1);
            }
        }
    }
    return d[a.size()][b.size()];
}

// The only key of a scope that starts with a part of a word, or holds it; null for none or several.
const Key* only_key(Scope scope, std::string_view part, bool at_start) {
    if (part.size() < 3) return nullptr;
    const Key* only = nullptr;
    for (const Key& key : keys_of(scope)) {
        const std::size_t at = key.name.find(part);
        if (at == std::string_view::npos || (at_start && at != 0)) continue;
        if (only != nullptr) return nullptr;
        only = &key;
    }
    return only;
}

}  // namespace

std::string nearest(std::string_view written, std::span<const std::string> known) {
    std::string best;
    std::size_t least = 1 + std::max<std::size_t>(1, std::min<std::size_t>(3, written.size() / 3));
    if (written.size() > 60) return best;
    for (const std::string& candidate : known) {
        const std::size_t d = distance(written, candidate);
        if (d < least) {
            least = d;
            best = candidate;
        }
    }
    return best;
}

std::string explain_number(Scope scope, const Key& key, const Unit* unit, double value) {
    const auto looks = [&](std::string_view as, std::string_view write) {
        return fmt::format("; {} looks like {}: {}", exact(value), as, write);
    };
    constexpr Range kDegF{40, 104, true};
    constexpr Range kPercent{40, 200, true};
    constexpr Range kHpa{840, 1120, true};
    constexpr Range kHpaOrMmHg{500, 840};
    constexpr Range kInHg{15, 33};
    constexpr Range kFeet{5000, 16400, true};
    if (unit != nullptr) {
        constexpr Range kDegC{-2, 32};
        return unit->suffix == "_f" && kDegC.holds(value)
                   ? looks("degC", fmt::format("{}_c", stem(key)))
                   : "";
    }
    if (key.quantity != nullptr && key.quantity->base == "_c" && kDegF.holds(value)) {
        return "; degF go into the key that ends in _f";
    }
    if (key.name == "oxygen_mg_l" && kPercent.holds(value)) {
        return looks("percent", match_key(scope, "oxygen_percent").key != nullptr
                                    ? "oxygen_percent"
                                    : "coldtank saturation says what 100 % is");
    }
    if (key.quantity != nullptr && key.quantity->base == "_kpa") {
        constexpr std::string_view kHere = ", as it stands at your height, not at sea level";
        const auto ending = [&](std::string_view end) {
            return fmt::format("{}{}{}", stem(key), end, kHere);
        };
        if (kHpa.holds(value)) return looks("hPa", ending("_hpa"));
        if (kHpaOrMmHg.holds(value)) return looks("hPa or mmHg", ending("_hpa or _mmhg"));
        if (kInHg.holds(value)) return looks("inHg", ending("_inhg"));
    }
    if (key.name == "altitude_m" && kFeet.holds(value)) {
        return fmt::format("; {} ft is {} m: altitude_ft", exact(value), figure(value * kFootM, 0));
    }
    return {};
}

namespace {

// What kits and meters print, and the key that it goes into.
struct KitWord {
    std::string_view words;  // of which one is in what was written, "a|b"
    std::string_view key;    // the scope has it
    std::string_view advice;
};
constexpr KitWord kKitWords[] = {
    {"conductivity|ec|tds|ec_us_cm|ec_ms_cm|tds_ppm|tds_mg_l", "chloride_mg_l",
     "it tells all salts together, and not which: test chloride (chloride_mg_l), or give the salt "
     "that was put in (salt_g_l)"},
    {"salt|salt_ppt|salt_kg|salt_g|nacl_g_l", "chloride_mg_l",
     "give the salt that was put in as salt_g_l, or chloride_mg_l"},
    {"ammonia|ammonium|nh3|nh4|ammonia_mg_l|ammonium_mg_l|nh3_mg_l|nh4_mg_l|ammonia_ppm|nh3_ppm|"
     "nh4_ppm|tan_ppm|ammonia_n|tan_as_n|nh3_nh4|nh3_nh4_ppm|total_ammonia|total_ammonia_ppm|"
     "total_ammonia_mg_l",
     "tan_mg_l",
     "kits measure total ammonia: tan_mg_l where the kit says N (NH3-N, NH4-N, TAN), "
     "tan_mg_l_as_nh4 or tan_mg_l_as_nh3 where it says NH4 or NH3"},
    {"nitrite|no2|no2_mg_l|nitrite_ppm|no2_ppm", "nitrite_mg_l",
     "nitrite_mg_l where the kit says N (NO2-N), nitrite_mg_l_as_no2 where it says NO2"},
    {"nitrate|no3|no3_mg_l|nitrate_ppm|no3_ppm", "nitrate_mg_l",
     "nitrate_mg_l where the kit says N (NO3-N), nitrate_mg_l_as_no3 where it says NO3"},
    {"kh|dkh|kh_dkh|alkalinity|alkalinity_ppm|carbonate_hardness|hardness|gh|kh_drops|hardness_dkh|"
     "hardness_dgh|hardness_mg_l|hardness_ppm|hardness_gpg",
     "alkalinity_mg_l",
     "carbonate hardness (KH) is alkalinity_dkh (drops or degrees), or alkalinity_mg_l as CaCO3; "
     "general hardness "
     "(GH) "
     "is another thing"},
    {"do_percent|do_pct|do_sat|oxygen_sat|oxygen_saturation", "oxygen_percent",
     "percent of saturation is oxygen_percent"},
    {"do|do_mg_l|do_ppm|do_percent|do_pct|do_sat|dissolved_oxygen|dissolved_oxygen_mg_l",
     "oxygen_mg_l", "mg/L or ppm is oxygen_mg_l (coldtank saturation says what 100 % is)"},
    {"co2|co2_ppm|co2_mg_l|carbon_dioxide_ppm", "carbon_dioxide_mg_l",
     "mg/L or ppm is carbon_dioxide_mg_l"},
    {"gph|gal_h|gallons_per_hour|lph", "flow_gal_us_h",
     "US gallons go into flow_gal_us_h, imperial ones into flow_gal_imp_h, litres into flow_l_h"},
    {"gpm|gal_min|gallons_per_minute|lpm", "flow_gal_us_min",
     "US gallons go into flow_gal_us_min, imperial ones into flow_gal_imp_min, litres into "
     "flow_l_min"},
    {"gallons|gal|gals|litres|liters|size_gal", "volume_l",
     "US gallons go into volume_gal_us, imperial ones into volume_gal_imp, litres into volume_l"},
    {"length_in|length_inches|size_in|inches|length_cm|size_cm", "mean_length_cm",
     "the mean length is mean_length_in or mean_length_cm"},
    {"weight_lb|weight_oz|weight_kg|lb|oz|pounds|total_weight_lb|total_weight_kg", "total_kg",
     "of one fish: mean_weight_oz, mean_weight_lb, mean_weight_g; of all: total_lb, total_kg"},
    {"number|fish_count|how_many", "count", "the number of fish is count"},
    {"elevation_ft|elevation_m|elevation|height_ft|height_m", "altitude_m",
     "did you mean altitude_m or altitude_ft?"},
    {"pressure_inhg|pressure_hpa|pressure_mbar|pressure_kpa|pressure_mmhg",
     "barometric_pressure_kpa",
     "barometric_pressure_inhg, _hpa, _mmhg or _kpa, as it stands at your height, not at sea "
     "level"},
    {"date|date_time|datetime|when", "time", "when it was read is time"},
    {"dead|deaths|mortality|morts", "died", "fish found dead are died"},
    {"ppm", "oxygen_mg_l", "ppm is mg/L; of what?"},
};

}  // namespace

UnknownKey explain_unknown_key(Scope scope, std::string_view written) {
    for (const KitWord& word : kKitWords) {
        const auto words = choices_of(word.words);
        const Key* const key = match_key(scope, word.key).key;
        if (key != nullptr &&
            std::find(words.begin(), words.end(), lower_case(written)) != words.end()) {
            return {std::string(word.advice), key};
        }
    }
    // A known quantity with no unit, or one that is not in the table.
    for (const Key& key : keys_of(scope)) {
        if (key.quantity == nullptr) continue;
        const std::string_view quantity = stem(key);
        if (written == quantity ||
            (written.starts_with(quantity) && written[quantity.size()] == '_')) {
            return {fmt::format("give it as {}", joined(spellings(key), ", ")), &key};
        }
    }
    if ((scope == Scope::reading || scope == Scope::drop_log) && written == "oxygen_percent") {
        return {"write oxygen_mg_l: coldtank saturation says what 100 % is", nullptr};
    }
    for (const Scope other : kScopes) {
        if (other != scope && match_key(other, written).key != nullptr) {
            return {fmt::format("it belongs in {}", name_of(other)), nullptr};
        }
    }
    std::vector<std::string> known;
    for (const Key& key : keys_of(scope)) {
        for (std::string& spelling : spellings(key)) known.push_back(std::move(spelling));
    }
    if (const std::string near = nearest(written, known); !near.empty()) {
        return {fmt::format("did you mean {}?", near), match_key(scope, near).key};
    }
    // "weight_g", then "temp_f": a part, or a beginning, that only one key has.
    const std::string_view start = written.substr(0, written.find('_'));
    for (const Key* only : {only_key(scope, written, false), only_key(scope, start, true)}) {
        if (only == nullptr) continue;
        return {fmt::format("did you mean {}?", joined(spellings(*only), ", ")), only};
    }
    std::vector<std::string_view> names;
    for (const Key& key : keys_of(scope)) names.push_back(key.name);
    return {scope == Scope::limits         ? "see the table of limits in the README"
            : scope == Scope::coefficients ? "see coldtank sources: the keys stand in brackets"
                                           : fmt::format("known here: {}", joined(names, ", ")),
            nullptr};
}

}  // namespace coldtank::io
