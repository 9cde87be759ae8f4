// Trout and char: length, respiration, ration, wastes.
#pragma once

#include <optional>
#include <span>
#include <string_view>

#include "coldtank/water.hpp"

namespace coldtank {

// What the balance and its checks need to know of a species.
struct Species {
    Constant optimum_c;
    Constant warn_above_c;
    Constant feeding_stop_c;
    Constant fail_above_c;
    Constant warn_below_c;
    Constant density_warn_kg_m3;
    Constant density_low_kg_m3;  // without a value: of fish that keep their distance gladly
    Constant condition_g_cm3;    // k of W = k L^3
    Constant male_mature_months;
    Constant female_mature_months;
};

struct SpeciesEntry {
    std::string_view name;             // "rainbow trout"
    std::string_view scientific_name;  // "Oncorhynchus mykiss"
    std::span<const std::string_view> other_names;
    Species species;
};

// Rainbow trout, its golden strain (the same parameters), brook trout, brown trout, Arctic char.
std::span<const SpeciesEntry> species_table() noexcept;

// Whether two names are one: in any case, with "-" and "_" as spaces.
bool same_name(std::string_view a, std::string_view b) noexcept;

// The species a person typed: any name of the table.
// Null where none matches.
const SpeciesEntry* find_species(std::string_view typed) noexcept;

// Weights of one fish for which the formulas below hold.
inline constexpr Range kWeightRange{0.05, 30000};  // g

// Length of a fish of a weight, from W = k L^3.
// cm; NaN outside kWeightRange or for k <= 0.
struct Build {
    double weight_g;
    double condition_g_cm3;
};
double length_cm(const Build& fish) noexcept;

// Oxygen taken up by fed trout.
// mg/kg/h; NaN outside kTemperatureRange or kWeightRange.
// Source: Liao 1971 (from memory), the warm branch from 50 degF up; below it that branch goes on
// from its value at 50 degF with the exponent of the cold one (judgement: the cold branch as
// printed stands lower, with a step). Checked: Mueller-Feuga 1978 in tests/fish_test.cpp.
struct FishInWater {
    double temperature_c;
    double weight_g;
};
double respiration_mg_kg_h(const FishInWater& fish, const Coefficients& k) noexcept;

// What a ration does to it: 0.55 of it at rest, and on top what the ration costs, at most the rest.
//   fed_mg_kg_h as above, ration_percent_day >= 0, feed_cost_g_g as below
// mg/kg/h; NaN for a negative ration. Source: judgement; fasted fish 0.5-0.6 of fed (from memory).
struct StatedRation {
    double percent_day;
    double feed_cost_g_g;
};
double respiration_when_fed_mg_kg_h(double fed_mg_kg_h, const StatedRation& ration,
                                    const Coefficients& k) noexcept;

// Oxygen that a gram of feed costs a fish of a size on top of rest, at most: the largest over the
// rows of the ration table of what separates fed from fasted there, over the ration of that row.
// g/g, 0.11-0.14 below 10 g, 0.38 at 1 kg; NaN outside kWeightRange or for a length <= 0.
// Source: judgement; Willoughby 1968 has 0.22 (published).
struct FishSize {
    double weight_g;
    double length_cm;
};
double feed_cost_g_g(const FishSize& fish, const Coefficients& k) noexcept;

// How much of a fed fish's oxygen is taken up so many hours after the last feed, 0.55..1: falls
// over two days. NaN for a negative input. Source: judgement.
double fasting_share(double fasted_h, const Coefficients& k) noexcept;

// The ration of the printed table, without the taper towards the feeding stop.
// Percent of body weight a day; NaN outside kTemperatureRange or for a length <= 0.
// Source: Leitritz & Lewis 1980 (published), linear between rows, constant above 68 degF; falling
// to 0 from 36 degF to 0 degC and with 10 in / length above 10 in (judgement).
// Checked: tests/reference/ration_leitritz_lewis_1980.csv
struct RationCell {
    double temperature_c;
    double length_cm;
};
double table_ration_percent_day(const RationCell& asked) noexcept;

// Share of the table ration that warm water leaves, 1 at `warn above` and 0 at the feeding stop
// (judgement). NaN outside kTemperatureRange.
double ration_taper(double temperature_c, const Species& species) noexcept;

// A prepared table row, readable for tests and for a printed table.
struct RationRow {
    int temperature_f;
    double percent_day[11];  // by length class 0-1, 1-2, ... 9-10, 10 inches and more
};
std::span<const RationRow> ration_table() noexcept;

// The cells that a ration is read from: `low` alone below the first row, else between the two; the
// column of the length, and the share of it beyond the last class.
struct RationCells {
    double beyond;
    std::size_t column;
    const RationRow* low;
    const RationRow* high;  // null: colder than the table
    double share;           // from low to high
};
RationCells ration_cells(const RationCell& asked) noexcept;

// The row of the table where feed costs a fish of that length most oxygen, at a weight of a pound.
struct DecisiveRow {
    const RationRow* row;
    std::size_t column;
    double pound_mg_kg_h;  // respiration
    double pound_g_g;      // what feed costs
};
DecisiveRow decisive_row(double length_cm, const Coefficients& k) noexcept;

// Oxygen that goes with the feed: g/h for a ration in g/day.
struct FeedOxygen {
    double ration_g_day;
    double oxygen_per_feed_g_kg;
};
double oxygen_by_feed_g_h(const FeedOxygen& feed) noexcept;

// Total ammonia (as N) of fish: the larger of what the feed and what resting fish give, g/day.
//   excreted_g_day: the feed whose protein they excrete, see excreted_feed_g_day
// Source: Timmons & Ebeling 2013; van Weerd 1995 (published).
struct Fed {
    double excreted_g_day;
    double protein_percent;
    double biomass_kg;
};
double tan_production_g_day(const Fed& fed, const Coefficients& k) noexcept;

// The feed whose protein a group excretes, g/day: its ration, and never less than a share of the
// table's, which fish that are not fed draw from their own flesh. `fasted_h` where it is known.
//   table_g_day: the table's without the taper
// Source: half of recently fed after 63 h, Piper et al. 1982 p. 357 (published); the straight lines
// between, and to 0 after a week, are judgement.
struct Eaten {
    double ration_g_day;
    double table_g_day;
    std::optional<double> fasted_h;
};
double excreted_feed_g_day(const Eaten& eaten, const Coefficients& k) noexcept;

// Carbon dioxide from oxygen respired, the same unit. 44/32 by mass: one for one by molecule.
double carbon_dioxide_from_oxygen(double oxygen, const Coefficients& k) noexcept;

// Solids from feed, g/day. Published range 0.25-0.40.
double solids_g_day(double ration_g_day, const Coefficients& k) noexcept;

std::span<const Constant> fish_sources() noexcept;

}  // namespace coldtank
