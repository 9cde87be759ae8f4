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
    Constant condition_g_cm3;  // k of W = k L^3
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

// The species a person typed: any name of the table, any case, "-" and "_" as spaces.
// Null where none matches.
const SpeciesEntry* find_species(std::string_view typed) noexcept;

// Weights of one fish for which the formulas below hold.
inline constexpr Range kWeightRange{0.05, 30000};  // g

// Length of a fish of a weight, from W = k L^3.
// cm; NaN outside kWeightRange or for k <= 0.
double length_cm(double weight_g, double condition_g_cm3) noexcept;

// Oxygen taken up by fed trout, the smaller of the two branches of the source everywhere (which is
// continuous; judgement).
// mg/kg/h; NaN outside kTemperatureRange or kWeightRange.
// Source: Liao 1971 (from memory). Checked against Mueller-Feuga 1978 in tests/fish_test.cpp.
double respiration_mg_kg_h(double temperature_c, double weight_g) noexcept;

// How much less a fish breathes that is fed less than the table: 0.55 (fasted) to 1.
//   ration_percent_day, table_percent_day >= 0 (the table's without the taper)
// NaN for a negative input. Source: judgement; fasted fish 0.5-0.6 of fed (from memory).
double respiration_share(double ration_percent_day, double table_percent_day) noexcept;

// The ration of the printed table, without the taper towards the feeding stop.
// Percent of body weight a day; NaN outside kTemperatureRange or for a length <= 0.
// Source: Leitritz & Lewis 1980 (published), linear between rows, constant above 68 degF; falling
// to 0 from 36 degF to 0 degC and with 10 in / length above 10 in (judgement).
// Checked: tests/reference/ration_leitritz_lewis_1980.csv
double table_ration_percent_day(double temperature_c, double length_cm) noexcept;

// Share of the table ration that warm water leaves, 1 at `warn above` and 0 at the feeding stop
// (judgement). NaN outside kTemperatureRange.
double ration_taper(double temperature_c, const Species& species) noexcept;

// A prepared table row, readable for tests and for a printed table.
struct RationRow {
    int temperature_f;
    double percent_day[11];  // by length class 0-1, 1-2, ... 9-10, 10 inches and more
};
std::span<const RationRow> ration_table() noexcept;

// Oxygen that goes with the feed: g/h for a ration in g/day.
double oxygen_by_feed_g_h(double ration_g_day, double oxygen_per_feed_g_kg) noexcept;

// Total ammonia (as N) of fish: the larger of what the feed and what resting fish give, g/day.
// Source: Timmons & Ebeling (from memory); van Weerd 1995 (published).
struct Fed {
    double ration_g_day;
    double protein_percent;
    double biomass_kg;
};
double tan_production_g_day(const Fed& fed) noexcept;

// Carbon dioxide from oxygen respired, the same unit. 44/32 by mass: one for one by molecule.
double carbon_dioxide_from_oxygen(double oxygen) noexcept;

// Solids from feed, g/day. Published range 0.25-0.40.
double solids_g_day(double ration_g_day) noexcept;

// Defaults of a description.
inline constexpr Constant kProteinPercent{"protein of the feed", 42, "%", Basis::common_practice,
                                          "usual grower feed for trout"};
inline constexpr Constant kOxygenPerFeed{
    "oxygen by feed", 300, "g/kg", Basis::published,
    "range 220 (Willoughby 1968, from memory), 274 measured, 300-500 (Vinci & Summerfelt)"};
inline constexpr Constant kPeakFactor{"peak over mean demand", 1.4, "-", Basis::published,
                                      "range 1.3-1.5; Westers 1.44 (from memory)"};

std::span<const Constant> fish_sources() noexcept;

}  // namespace coldtank
