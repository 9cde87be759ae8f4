#include "coldtank/fish.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "numbers.hpp"

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

// ASCII letters in lower case; "-" and "_" are spaces.
constexpr char folded(char c) {
    if (c >= 'A' && c <= 'Z') return static_cast<char>(c - 'A' + 'a');
    return c == '-' || c == '_' ? ' ' : c;
}

bool same_name(std::string_view a, std::string_view b) {
    return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                      [](char x, char y) { return folded(x) == folded(y); });
}

// ---- respiration

// Liao 1971 for trout, lb of oxygen per 100 lb of fish a day = c T^a W^b, T in degF, W in lb.
constexpr Constant kLiaoFit{
    "respiration of fed trout", std::nullopt, "mg/kg/h", Basis::from_memory,
    "Liao 1971; below 50 degF its warm branch goes on with the cold exponent (judgement)"};
constexpr double kLiaoCoefficient = 3.05e-4;
constexpr double kLiaoWarmExponent = 1.855;
constexpr double kLiaoColdExponent = 3.130;
constexpr double kLiaoJoinF = 50;
constexpr double kLiaoWeightExponent = -0.138;
constexpr Constant kGramsPerPound{"pound", 453.59237, "g", Basis::published, "NIST SP 811"};
constexpr Constant kCentimetresPerInch{"inch", 2.54, "cm", Basis::published, "NIST SP 811"};
constexpr Constant kFahrenheitPerCelsius{"degF per degC", 1.8, "degF/degC", Basis::published,
                                         "NIST SP 811"};

constexpr Constant kFastedShare{"respiration of fasted over fed fish", 0.55, "-", Basis::judgement,
                                "0.5-0.6 (from memory)"};
constexpr Constant kFastingHours{"hours until fed fish breathe as fasted", 48, "h",
                                 Basis::judgement, "trout empty their gut in one to three days"};
constexpr Constant kFeedCost{
    "oxygen that feed costs beyond rest", std::nullopt, "g/g", Basis::judgement,
    "largest over the ration table of (fed - fasted) / ration; Willoughby 1968 has 0.22"};

// ---- ration

constexpr Constant kRationFit{"ration table", std::nullopt, "percent/day", Basis::published,
                              "Leitritz & Lewis 1980, misprinted cells as printed"};
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
constexpr Constant kColdRow{"first row of the ration table", 20.0 / 9, "degC", Basis::published,
                            "36 degF, Leitritz & Lewis 1980"};
constexpr Constant kLastLength{"last length class of the ration table", 10, "in", Basis::published,
                               "Leitritz & Lewis 1980"};

// ---- wastes

constexpr Constant kTanPerProtein{"TAN per feed protein", 0.092, "g/g", Basis::published,
                                  "Timmons & Ebeling 2013: 0.16 x 0.8 x 0.8 x 0.9"};
constexpr Constant kTanUnfed{"TAN of unfed fish", 0.07, "g/kg/day", Basis::published,
                             "van Weerd 1995"};
constexpr Constant kUnfedShare{"excretion of fish that are not fed, over the table's", 0.5, "-",
                               Basis::published,
                               "after 63 h, Piper et al. 1982 p. 357; for all unsaid, judgement"};
constexpr Constant kFedShare{"excretion of fish that are fed, over the table's, at least", 0.5, "-",
                             Basis::judgement, "as of fish without feed for 63 h"};
constexpr Constant kUnfedHours{"hours without feed until excretion is half", 63, "h",
                               Basis::published, "Piper et al. 1982 p. 357"};
constexpr Constant kUnfedEnd{"hours without feed until only 0.07 g/kg/day is left", 168, "h",
                             Basis::judgement, "a week; the same page still counts after 63 h"};
constexpr Constant kCo2PerOxygen{"carbon dioxide per oxygen respired", 1.375, "g/g",
                                 Basis::published, "molar masses 44 / 32, quotient 1"};
constexpr Constant kSolidsPerFeed{"solids per feed", 0.300, "g/g", Basis::published,
                                  "range 0.25-0.40"};

constexpr std::array kSources{
    kProteinPercent,
    kOxygenPerFeed,
    kPeakFactor,
    kTroutShape,
    kCharShape,
    kLiaoFit,
    kGramsPerPound,
    kCentimetresPerInch,
    kFahrenheitPerCelsius,
    kFastedShare,
    kFastingHours,
    kFeedCost,
    kRationFit,
    kColdRow,
    kLastLength,
    kTanPerProtein,
    kTanUnfed,
    kUnfedShare,
    kFedShare,
    kUnfedHours,
    kUnfedEnd,
    kCo2PerOxygen,
    kSolidsPerFeed,
};

double fahrenheit(double temperature_c) { return kFahrenheitPerCelsius * temperature_c + 32; }

// Liao's warm branch, and what goes on from it below 50 degF, for a fish of a pound: mg/kg/h.
double liao_mg_kg_h(double temperature_f) {
    const double lb_per_100_lb_day =
        temperature_f >= kLiaoJoinF ? kLiaoCoefficient * std::pow(temperature_f, kLiaoWarmExponent)
                                    : kLiaoCoefficient * std::pow(kLiaoJoinF, kLiaoWarmExponent) *
                                          std::pow(temperature_f / kLiaoJoinF, kLiaoColdExponent);
    return lb_per_100_lb_day * 10000 / 24;  // 1 lb per 100 lb = 10000 mg/kg
}

double liao_weight(double weight_g) {
    return std::pow(weight_g / kGramsPerPound, kLiaoWeightExponent);
}

// The column of the ration table for a length, and what is left of it beyond the last one.
struct LengthClass {
    std::size_t column;
    double beyond;
};
LengthClass length_class(double length_cm) {
    const double length_in = length_cm / kCentimetresPerInch;
    return {static_cast<std::size_t>(std::min(length_in, double{kLastLength})),
            length_in > kLastLength ? kLastLength / length_in : 1};
}

// feed_cost_g_g of a fish of a pound, by column: where fed fish breathe most for what they eat.
std::array<double, std::size(kRationTable[0].percent_day)> feed_costs() {
    std::array<double, std::size(kRationTable[0].percent_day)> largest{};
    for (const RationRow& row : kRationTable) {
        const double g_kg_day = (1 - kFastedShare) * liao_mg_kg_h(row.temperature_f) * 24 / 1000;
        for (std::size_t column = 0; column < largest.size(); ++column) {
            largest[column] = std::max(largest[column], g_kg_day / (10 * row.percent_day[column]));
        }
    }
    return largest;
}

}  // namespace

std::span<const SpeciesEntry> species_table() noexcept { return kSpeciesTable; }

const SpeciesEntry* find_species(std::string_view typed) noexcept {
    for (const SpeciesEntry& entry : kSpeciesTable) {
        const auto names = entry.other_names;
        if (same_name(typed, entry.name) ||
            std::any_of(names.begin(), names.end(),
                        [&](std::string_view name) { return same_name(typed, name); }) ||
            same_name(typed, entry.scientific_name)) {
            return &entry;
        }
    }
    return nullptr;
}

double length_cm(const Build& fish) noexcept {
    if (!kWeightRange.holds(fish.weight_g) || !(fish.condition_g_cm3 > 0)) return kNotANumber;
    return std::cbrt(fish.weight_g / fish.condition_g_cm3);
}

double respiration_mg_kg_h(const FishInWater& fish) noexcept {
    if (!kTemperatureRange.holds(fish.temperature_c) || !kWeightRange.holds(fish.weight_g)) {
        return kNotANumber;
    }
    return liao_mg_kg_h(fahrenheit(fish.temperature_c)) * liao_weight(fish.weight_g);
}

double respiration_when_fed_mg_kg_h(double fed_mg_kg_h, const StatedRation& ration) noexcept {
    if (!(ration.percent_day >= 0)) return kNotANumber;
    // 1 percent a day is 10 g/kg in 24 h.
    const double cost_mg_kg_h = ration.feed_cost_g_g * ration.percent_day * 10 * 1000 / 24;
    return kFastedShare * fed_mg_kg_h + smaller_of((1 - kFastedShare) * fed_mg_kg_h, cost_mg_kg_h);
}

double feed_cost_g_g(const FishSize& fish) noexcept {
    if (!kWeightRange.holds(fish.weight_g) || !(fish.length_cm > 0)) return kNotANumber;
    static const auto of_a_pound = feed_costs();
    const LengthClass length = length_class(fish.length_cm);
    return of_a_pound[length.column] / length.beyond * liao_weight(fish.weight_g);
}

double fasting_share(double fasted_h) noexcept {
    if (!(fasted_h >= 0)) return kNotANumber;
    return 1 - (1 - kFastedShare) * std::min(1.0, fasted_h / kFastingHours);
}

double table_ration_percent_day(const RationCell& asked) noexcept {
    if (!kTemperatureRange.holds(asked.temperature_c) || !(asked.length_cm > 0)) return kNotANumber;
    const LengthClass length = length_class(asked.length_cm);
    const auto cell = [&](std::size_t row) {
        return length.beyond * kRationTable[row].percent_day[length.column];
    };

    if (asked.temperature_c < kColdRow) return cell(0) * asked.temperature_c / kColdRow;
    const std::size_t last = std::size(kRationTable) - 1;
    const double above = fahrenheit(asked.temperature_c) - kRationTable[0].temperature_f;
    if (above >= static_cast<double>(last)) return cell(last);
    const auto row = static_cast<std::size_t>(std::max(above, 0.0));
    const double share = above - static_cast<double>(row);
    return cell(row) + share * (cell(row + 1) - cell(row));
}

double ration_taper(double temperature_c, const Species& species) noexcept {
    if (!kTemperatureRange.holds(temperature_c)) return kNotANumber;
    const double stop_c = species.feeding_stop_c;
    return std::clamp((stop_c - temperature_c) / (stop_c - species.warn_above_c), 0.0, 1.0);
}

std::span<const RationRow> ration_table() noexcept { return kRationTable; }

double oxygen_by_feed_g_h(const FeedOxygen& feed) noexcept {
    return feed.ration_g_day / 1000 * feed.oxygen_per_feed_g_kg / 24;
}

double tan_production_g_day(const Fed& fed) noexcept {
    return larger_of(fed.excreted_g_day * fed.protein_percent / 100 * kTanPerProtein,
                     kTanUnfed * fed.biomass_kg);
}

double excreted_feed_g_day(const Eaten& eaten) noexcept {
    double share = eaten.ration_g_day > 0 ? kFedShare : kUnfedShare;
    if (eaten.ration_g_day == 0 && eaten.fasted_h) {
        const double h = *eaten.fasted_h;
        share = h <= kUnfedHours
                    ? 1 - (1 - kUnfedShare) * h / kUnfedHours
                    : kUnfedShare * std::max(0.0, (kUnfedEnd - h) / (kUnfedEnd - kUnfedHours));
    }
    return larger_of(eaten.ration_g_day, share * eaten.table_g_day);
}

double carbon_dioxide_from_oxygen(double oxygen) noexcept { return kCo2PerOxygen * oxygen; }

double solids_g_day(double ration_g_day) noexcept { return kSolidsPerFeed * ration_g_day; }

std::span<const Constant> fish_sources() noexcept { return kSources; }

}  // namespace coldtank
