#include "coldtank/fish.hpp"

#include <algorithm>
#include <array>

#include "formulas.hpp"

namespace coldtank {

namespace {

// ---- species

constexpr Constant kTroutShape{"k of W = k L^3, rainbow, brook, brown trout", 0.01107, "g/cm3",
                               Basis::from_memory, "Piper et al. 1982, C = 4000e-7 lb/in3"};
constexpr Constant kCharShape{"k of W = k L^3, Arctic char", 0.01107, "g/cm3", Basis::judgement,
                              "taken as for brook trout"};
constexpr std::string_view kWelfareRule = "Implementing Regulation (EU) 2020/464, Annex II Part I";

constexpr Constant kNoLowDensity{"", std::nullopt, "kg/m3", Basis::common_practice, ""};

constexpr Species kRainbow{
    .optimum_c = {"rainbow trout: optimum", 15.5, "degC", Basis::published, "range 13.1-19"},
    .warn_above_c = {"rainbow trout: warn above", 19, "degC", Basis::published, "chronic limit"},
    .feeding_stop_c = {"rainbow trout: feeding stop", 20, "degC", Basis::common_practice,
                       "hatchery practice"},
    .fail_above_c = {"rainbow trout: fail above", 22, "degC", Basis::judgement,
                     "lethal 25-26 (from memory)"},
    .warn_below_c = {"rainbow trout: warn below", 2, "degC", Basis::common_practice,
                     "winter practice"},
    .density_warn_kg_m3 = {"rainbow trout: density", 25, "kg/m3", Basis::published, kWelfareRule},
    .density_low_kg_m3 = kNoLowDensity,
    .condition_g_cm3 = kTroutShape,
    .male_mature_months = {"rainbow trout: males mature", 24, "months", Basis::from_memory,
                           "hatchery texts"},
    .female_mature_months = {"rainbow trout: females mature", 30, "months", Basis::from_memory,
                             "hatchery texts"},
};
constexpr Species kBrook{
    .optimum_c = {"brook trout: optimum", 14.5, "degC", Basis::from_memory, "range 13-16"},
    .warn_above_c = {"brook trout: warn above", 16, "degC", Basis::published,
                     "growth falls, Dwyer et al. 1981"},
    .feeding_stop_c = {"brook trout: feeding stop", 19.5, "degC", Basis::judgement,
                       "below the stress limit"},
    .fail_above_c = {"brook trout: fail above", 20, "degC", Basis::published, "stress 20-23"},
    .warn_below_c = {"brook trout: warn below", 1, "degC", Basis::common_practice,
                     "winter practice"},
    .density_warn_kg_m3 = {"brook trout: density", 15, "kg/m3", Basis::published, kWelfareRule},
    .density_low_kg_m3 = kNoLowDensity,
    .condition_g_cm3 = kTroutShape,
    .male_mature_months = {"brook trout: males mature", 12, "months", Basis::common_practice,
                           "no source"},
    .female_mature_months = {"brook trout: females mature", 24, "months", Basis::common_practice,
                             "no source"},
};
constexpr Species kBrown{
    .optimum_c = {"brown trout: optimum", 14, "degC", Basis::published, "range 13.3-18.4"},
    .warn_above_c = {"brown trout: warn above", 18.4, "degC", Basis::published,
                     "upper end of the optimum"},
    .feeding_stop_c = {"brown trout: feeding stop", 19.5, "degC", Basis::from_memory, "Elliott"},
    .fail_above_c = {"brown trout: fail above", 22, "degC", Basis::judgement,
                     "lethal 24.7 (from memory)"},
    .warn_below_c = {"brown trout: warn below", 2, "degC", Basis::common_practice,
                     "winter practice"},
    .density_warn_kg_m3 = {"brown trout: density", 25, "kg/m3", Basis::published, kWelfareRule},
    .density_low_kg_m3 = kNoLowDensity,
    .condition_g_cm3 = kTroutShape,
    .male_mature_months = {"brown trout: males mature", 24, "months", Basis::common_practice,
                           "no source"},
    .female_mature_months = {"brown trout: females mature", 36, "months", Basis::common_practice,
                             "no source"},
};
constexpr Species kChar{
    .optimum_c = {"Arctic char: optimum", 14, "degC", Basis::published, "growth peaks at 15.1"},
    .warn_above_c = {"Arctic char: warn above", 16, "degC", Basis::judgement,
                     "above the growth peak"},
    .feeding_stop_c = {"Arctic char: feeding stop", 18, "degC", Basis::judgement,
                       "below the stress limit"},
    .fail_above_c = {"Arctic char: fail above", 19, "degC", Basis::judgement,
                     "7-day lethal 20.8-21.6, Baroudy & Elliott; 23-24, Saether (both published)"},
    .warn_below_c = {"Arctic char: warn below", 0.5, "degC", Basis::common_practice,
                     "winter practice"},
    .density_warn_kg_m3 = {"Arctic char: density", 25, "kg/m3", Basis::published,
                           "Implementing Regulation (EU) 2020/464, Annex II Part I; char shoal: "
                           "a welfare rule, not biology"},
    .density_low_kg_m3 = {"Arctic char: low density", 15, "kg/m3", Basis::common_practice,
                          "char that do not shoal fight and grow less"},
    .condition_g_cm3 = kCharShape,
    .male_mature_months = {"Arctic char: males mature", 36, "months", Basis::common_practice,
                           "no source"},
    .female_mature_months = {"Arctic char: females mature", 48, "months", Basis::common_practice,
                             "no source"},
};

constexpr std::array<std::string_view, 3> kRainbowNames{"rainbow", "steelhead", "o. mykiss"};
constexpr std::array<std::string_view, 6> kGoldenNames{
    "golden",        "golden rainbow", "golden rainbow trout",
    "golden strain", "golden trout",   "rainbow trout golden strain"};
constexpr std::array<std::string_view, 6> kBrookNames{
    "brook", "brookie", "brook char", "brook charr", "speckled trout", "s. fontinalis"};
constexpr std::array<std::string_view, 2> kBrownNames{"brown", "s. trutta"};
constexpr std::array<std::string_view, 4> kCharNames{"char", "charr", "arctic charr", "s. alpinus"};

constexpr std::array kSpeciesTable{
    SpeciesEntry{"rainbow trout", "Oncorhynchus mykiss", kRainbowNames, kRainbow},
    SpeciesEntry{"rainbow trout (golden strain)", "Oncorhynchus mykiss", kGoldenNames, kRainbow},
    SpeciesEntry{"brook trout", "Salvelinus fontinalis", kBrookNames, kBrook},
    SpeciesEntry{"brown trout", "Salmo trutta", kBrownNames, kBrown},
    SpeciesEntry{"Arctic char", "Salvelinus alpinus", kCharNames, kChar},
};

// ---- ration

constexpr RationRow kRationTable[] = {
    {36, {2.7, 2.2, 1.7, 1.3, 1.0, 0.8, 0.7, 0.6, 0.5, 0.5, 0.4}},
    {37, {2.7, 2.3, 1.8, 1.4, 1.1, 0.9, 0.7, 0.6, 0.5, 0.5, 0.4}},
    {38, {2.9, 2.4, 2.0, 1.5, 1.2, 0.9, 0.8, 0.7, 0.6, 0.5, 0.5}},
    {39, {3.0, 2.5, 2.2, 1.7, 1.3, 0.9, 0.8, 0.7, 0.6, 0.6, 0.5}},
    {40, {3.2, 2.6, 2.2, 1.7, 1.3, 1.0, 0.9, 0.8, 0.7, 0.6, 0.5}},
    {41, {3.3, 2.8, 2.2, 1.8, 1.4, 1.1, 0.9, 0.8, 0.7, 0.6, 0.5}},
    {42, {3.5, 2.8, 2.4, 1.8, 1.4, 1.2, 0.9, 0.8, 0.7, 0.6, 0.5}},
    {43, {3.6, 3.0, 2.5, 1.9, 1.4, 1.2, 1.0, 0.9, 0.8, 0.7, 0.6}},
    {44, {3.8, 3.1, 2.5, 2.0, 1.5, 1.3, 1.0, 0.9, 0.8, 0.8, 0.6}},
    {45, {4.0, 3.3, 2.7, 2.1, 1.6, 1.3, 1.1, 1.0, 0.9, 0.8, 0.7}},
    {46, {4.1, 3.4, 2.8, 2.2, 1.7, 1.4, 1.2, 1.0, 0.9, 0.8, 0.7}},
    {47, {4.3, 3.6, 3.0, 2.3, 1.7, 1.4, 1.2, 1.0, 0.9, 0.8, 0.7}},
    {48, {4.5, 3.8, 3.0, 2.4, 1.8, 1.5, 1.3, 1.1, 1.0, 0.9, 0.8}},
    {49, {4.7, 3.9, 3.2, 2.5, 1.9, 1.5, 1.3, 1.1, 1.0, 0.9, 0.8}},
    {50, {5.2, 4.3, 3.4, 2.7, 2.0, 1.7, 1.4, 1.2, 1.1, 1.0, 0.9}},
    {51, {5.4, 4.5, 3.5, 2.8, 2.1, 1.7, 1.5, 1.3, 1.1, 1.0, 0.9}},
    {52, {5.4, 4.5, 3.6, 2.8, 2.1, 1.7, 1.5, 1.3, 1.1, 1.0, 0.9}},
    {53, {5.6, 4.7, 3.8, 2.9, 2.2, 1.8, 1.5, 1.3, 1.1, 1.1, 1.0}},
    {54, {5.8, 4.9, 3.9, 3.0, 2.3, 1.9, 1.6, 1.4, 1.3, 1.1, 1.0}},
    {55, {6.1, 5.1, 4.2, 3.2, 2.4, 2.0, 1.6, 1.4, 1.3, 1.1, 1.0}},
    {56, {6.3, 5.3, 4.3, 3.3, 2.5, 2.0, 1.7, 1.5, 1.3, 1.2, 1.0}},
    {57, {6.7, 5.5, 4.5, 3.5, 2.6, 2.1, 1.8, 1.5, 1.4, 1.2, 1.1}},
    {58, {7.0, 5.8, 4.8, 3.6, 2.7, 2.2, 1.9, 1.6, 1.4, 1.3, 1.2}},
    {59, {7.3, 6.0, 5.0, 3.7, 2.8, 2.3, 1.9, 1.7, 1.5, 1.3, 1.2}},
    {60, {7.5, 6.3, 5.1, 3.9, 3.0, 2.4, 2.0, 1.7, 1.5, 1.4, 1.3}},
    {61, {7.8, 6.5, 5.3, 4.1, 3.1, 2.5, 2.0, 1.8, 1.6, 1.4, 1.3}},
    {62, {8.1, 6.7, 5.5, 4.3, 3.2, 2.6, 2.1, 1.8, 1.6, 1.5, 1.4}},
    {63, {8.4, 7.0, 5.7, 4.5, 3.4, 2.7, 2.1, 1.9, 1.7, 1.5, 1.4}},
    {64, {8.7, 7.2, 5.9, 4.7, 3.5, 2.8, 2.2, 1.9, 1.7, 1.6, 1.5}},
    {65, {9.0, 7.5, 6.1, 4.9, 3.6, 2.9, 2.2, 2.0, 1.8, 1.6, 1.5}},
    {66, {9.3, 7.8, 6.3, 5.1, 3.8, 3.0, 2.3, 2.0, 1.8, 1.6, 1.6}},
    {67, {9.6, 9.1, 6.6, 5.3, 3.9, 3.1, 2.4, 2.1, 1.9, 1.7, 1.6}},
    {68, {9.9, 9.4, 6.9, 5.5, 4.0, 3.2, 2.5, 2.1, 2.0, 1.8, 1.7}},
};
constexpr Constant kFeedCost{
    "oxygen that feed costs beyond rest", std::nullopt, "g/g", Basis::judgement,
    "largest over the ration table of (fed - fasted) / ration; Willoughby 1968 has 0.22"};

constexpr std::array kSources{
    kTroutShape,
    kCharShape,
    formulas::kGramsPerPound,
    formulas::kCentimetresPerInch,
    formulas::kFahrenheitPerCelsius,
    kFeedCost,
    formulas::kRationFit,
    formulas::kColdRow,
    formulas::kLastLength,
};

// Of a fish of a pound.
double pound_mg_kg_h(double temperature_f, const Coefficients& k) {
    return temperature_f >= k.respiration_join_f ? formulas::pound_warm_mg_kg_h(temperature_f, k)
                                                 : formulas::pound_cold_mg_kg_h(temperature_f, k);
}

// The column of the ration table for a length, and what is left of it beyond the last one.
struct LengthClass {
    std::size_t column;
    double beyond;
};
LengthClass length_class(double length_cm) {
    double length_in = length_cm / formulas::kCentimetresPerInch;
    // A length that became a weight, and a length again: whole inches but for the last digits.
    constexpr double kNoise = 1e-9;
    if (std::abs(length_in - std::round(length_in)) < kNoise) length_in = std::round(length_in);
    return {static_cast<std::size_t>(std::min(length_in, double{formulas::kLastLength})),
            length_in > formulas::kLastLength ? formulas::beyond_last_length(length_cm) : 1};
}

using FeedCosts = std::array<DecisiveRow, std::size(kRationTable[0].percent_day)>;

// By column, where fed fish breathe most for what they eat.
FeedCosts feed_costs(const Coefficients& k) {
    FeedCosts largest{};
    for (const RationRow& row : kRationTable) {
        const double pound = pound_mg_kg_h(row.temperature_f, k);
        for (std::size_t column = 0; column < largest.size(); ++column) {
            const double g_g = formulas::pound_feed_cost_g_g(pound, row.percent_day[column], k);
            if (largest[column].row != nullptr && !(g_g > largest[column].pound_g_g)) continue;
            largest[column] = {&row, column, pound, g_g};
        }
    }
    return largest;
}

bool breathes_as_usual(const Coefficients& k) {
    constexpr const Coefficients& usual = kUsualCoefficients;
    return k.respiration_c == usual.respiration_c &&
           k.respiration_warm_exponent == usual.respiration_warm_exponent &&
           k.respiration_cold_exponent == usual.respiration_cold_exponent &&
           k.respiration_join_f == usual.respiration_join_f && k.fasted_share == usual.fasted_share;
}

}  // namespace

std::span<const SpeciesEntry> species_table() noexcept { return kSpeciesTable; }

bool same_name(std::string_view a, std::string_view b) noexcept {
    const auto folded = [](char c) {
        if (c >= 'A' && c <= 'Z') return static_cast<char>(c - 'A' + 'a');
        return c == '-' || c == '_' ? ' ' : c;
    };
    return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                      [&](char x, char y) { return folded(x) == folded(y); });
}

const SpeciesEntry* find_species(std::string_view typed) noexcept {
    for (const SpeciesEntry& entry : kSpeciesTable) {
        const auto names = entry.other_names;
        if (same_name(typed, entry.name) || same_name(typed, entry.scientific_name) ||
            std::any_of(names.begin(), names.end(),
                        [&](std::string_view name) { return same_name(typed, name); })) {
            return &entry;
        }
    }
    return nullptr;
}

double length_cm(const Build& fish) noexcept {
    if (!kWeightRange.holds(fish.weight_g) || !(fish.condition_g_cm3 > 0)) return kNotANumber;
    return formulas::length_cm(fish.weight_g, fish.condition_g_cm3);
}

double respiration_mg_kg_h(const FishInWater& fish, const Coefficients& k) noexcept {
    if (!kTemperatureRange.holds(fish.temperature_c) || !kWeightRange.holds(fish.weight_g)) {
        return kNotANumber;
    }
    return pound_mg_kg_h(formulas::fahrenheit(fish.temperature_c), k) *
           formulas::weight_factor(fish.weight_g, k);
}

double respiration_when_fed_mg_kg_h(double fed_mg_kg_h, const StatedRation& ration,
                                    const Coefficients& k) noexcept {
    if (!(ration.percent_day >= 0)) return kNotANumber;
    return formulas::respiration_when_fed_mg_kg_h(fed_mg_kg_h, ration.percent_day,
                                                  ration.feed_cost_g_g, k);
}

DecisiveRow decisive_row(double length_cm, const Coefficients& k) noexcept {
    static const FeedCosts usual = feed_costs(kUsualCoefficients);
    const std::size_t column = length_class(length_cm).column;
    return breathes_as_usual(k) ? usual[column] : feed_costs(k)[column];
}

double feed_cost_g_g(const FishSize& fish, const Coefficients& k) noexcept {
    if (!kWeightRange.holds(fish.weight_g) || !(fish.length_cm > 0)) return kNotANumber;
    return formulas::feed_cost_g_g(decisive_row(fish.length_cm, k).pound_g_g,
                                   length_class(fish.length_cm).beyond,
                                   formulas::weight_factor(fish.weight_g, k));
}

double fasting_share(double fasted_h, const Coefficients& k) noexcept {
    if (!(fasted_h >= 0)) return kNotANumber;
    return formulas::fasting_share(fasted_h, k);
}

RationCells ration_cells(const RationCell& asked) noexcept {
    const LengthClass length = length_class(asked.length_cm);
    const std::size_t last = std::size(kRationTable) - 1;
    RationCells cells{length.beyond, length.column, &kRationTable[0], nullptr, 0};
    if (asked.temperature_c < formulas::kColdRow) return cells;
    const double above = formulas::fahrenheit(asked.temperature_c) - kRationTable[0].temperature_f;
    const auto row =
        above >= static_cast<double>(last) ? last : static_cast<std::size_t>(std::max(above, 0.0));
    cells.low = &kRationTable[row];
    cells.high = &kRationTable[std::min(row + 1, last)];
    cells.share = row == last ? 0 : above - static_cast<double>(row);
    return cells;
}

double table_ration_percent_day(const RationCell& asked) noexcept {
    if (!kTemperatureRange.holds(asked.temperature_c) || !(asked.length_cm > 0)) return kNotANumber;
    const RationCells cells = ration_cells(asked);
    const double low = cells.beyond * cells.low->percent_day[cells.column];
    if (cells.high == nullptr) return formulas::colder_than_table(low, asked.temperature_c);
    return formulas::between_rows(low, cells.beyond * cells.high->percent_day[cells.column],
                                  cells.share);
}

double ration_taper(double temperature_c, const Species& species) noexcept {
    if (!kTemperatureRange.holds(temperature_c)) return kNotANumber;
    return formulas::ration_taper(temperature_c, double{species.feeding_stop_c},
                                  double{species.warn_above_c});
}

std::span<const RationRow> ration_table() noexcept { return kRationTable; }

double oxygen_by_feed_g_h(const FeedOxygen& feed) noexcept {
    return formulas::oxygen_by_feed_g_h(feed.ration_g_day, feed.oxygen_per_feed_g_kg);
}

double tan_production_g_day(const Fed& fed, const Coefficients& k) noexcept {
    return formulas::tan_production_g_day(fed.excreted_g_day, fed.protein_percent, fed.biomass_kg,
                                          k);
}

double excreted_feed_g_day(const Eaten& eaten, const Coefficients& k) noexcept {
    double share = eaten.ration_g_day > 0 ? k.fed_excretion_share : k.unfed_excretion_share;
    if (eaten.ration_g_day == 0 && eaten.fasted_h) {
        share = *eaten.fasted_h <= k.unfed_excretion_h
                    ? formulas::unfed_share_at_first(*eaten.fasted_h, k)
                    : formulas::unfed_share_later(*eaten.fasted_h, k);
    }
    return formulas::excreted_feed_g_day(eaten.ration_g_day, share, eaten.table_g_day);
}

double carbon_dioxide_from_oxygen(double oxygen, const Coefficients& k) noexcept {
    return formulas::carbon_dioxide_from_oxygen(oxygen, k);
}

double solids_g_day(double ration_g_day, const Coefficients& k) noexcept {
    return formulas::solids_g_day(ration_g_day, k);
}

std::span<const Constant> fish_sources() noexcept { return kSources; }

}  // namespace coldtank
