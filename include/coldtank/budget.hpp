// The balance of a tank, and what is judged from it.
//
// Units: m3, h, g; 1 mg/L = 1 g/m3. Every intermediate of a budget has a name here, so that its
// working can be shown and checked. std::nullopt is a figure that does not exist (a steady oxygen
// without flow or air), never one that was not thought of.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "coldtank/check.hpp"
#include "coldtank/description.hpp"

namespace coldtank {

// ---- figures

struct GroupBudget {
    std::string name;  // the group's, or its species
    double count;
    double mean_weight_g;
    double biomass_kg;
    double length_cm;
    double table_ration_percent_day;       // without the taper
    double table_ration_peak_percent_day;  // the same at the peak temperature
    double ration_taper;
    bool ration_stated;           // by the description, not by the table
    double ration_g_day;          // what is counted
    double table_ration_g_day;    // without the taper
    double advised_ration_g_day;  // with it
    double excreted_feed_g_day;
    double feed_cost_g_g;             // of a stated ration
    double fed_mg_kg_h;               // respiration of fed fish at the mean temperature
    double fed_peak_mg_kg_h;          // the same at the peak temperature
    double respiration_mg_kg_h;       // with the ration and the respiration factor, at the mean
    double respiration_peak_mg_kg_h;  // at the peak temperature
    double demand_by_respiration_g_h;
    double demand_by_feed_g_h;
    double demand_g_h;              // the larger of the two
    double demand_before_peak_g_h;  // the same at the peak temperature, without the peak factor
    bool males_mature;
    bool females_mature;
};

struct AeratorBudget {
    std::string name;
    double sotr_g_h;
    double transfer_m3_h;       // K at the mean temperature
    double transfer_peak_m3_h;  // K at the peak temperature
    double stripping_m3_h;      // S at the peak temperature
    double pure_oxygen_g_h;
    double oxygen_g_h;  // given at the lowest oxygen, or at the warn limit without one
};

// What a measured oxygen says of the description: each figure alone would bring the predicted mean
// to it, round the whole loop where there is one. None where no value of that figure could.
struct OxygenGap {
    double measured_mg_l;
    double predicted_mg_l;                  // the steady mean
    std::optional<double> fish_count = {};  // all groups in proportion, their rations with them
    std::optional<double> aeration_percent = {};    // of what the aerators are described to give
    std::optional<double> flow_percent = {};        // of the flow described
    std::optional<double> respiration_factor = {};  // of all groups, where they have one in common
    std::optional<double> common_factor = {};       // their present respiration factor
    std::optional<double> without_aeration_mg_l = {};  // the mean that the flow alone would hold
};

struct OxygenBudget {
    double saturation_mg_l;       // at the mean temperature
    double saturation_peak_mg_l;  // at the peak temperature
    std::optional<double> inflow_mg_l;
    std::optional<double> inflow_peak_mg_l;
    // The same as the balance goes on with them: below 0 of a loop that lacks oxygen; 0 of none.
    double inflow_in_balance_mg_l;
    double inflow_peak_in_balance_mg_l;
    double demand_by_respiration_g_h;
    double demand_by_feed_g_h;
    double demand_mean_g_h;
    double demand_peak_g_h;
    double warn_mg_l;
    double fail_mg_l;
    bool supply_known;          // false: a loop's, which has no steady state
    double supply_g_h;          // at warn_mg_l
    double supply_at_fail_g_h;  // at fail_mg_l
    std::optional<double> steady_mean_mg_l;
    std::optional<double> lowest_mg_l;
    // The same as a tank below goes on with them: below 0 of one that lacks oxygen.
    std::optional<double> steady_in_balance_mg_l;
    std::optional<double> lowest_in_balance_mg_l;
    std::optional<double> resting_in_balance_mg_l;  // with fish at rest, here and above
    std::optional<double> resting_percent;          // of saturation, at 0.7 of the mean demand
    bool gathers_at_rest;  // pure oxygen is more than that, without flow and air
    std::optional<double> measured_mg_l;
    std::optional<OxygenGap> gap;  // where it was asked for: see add_oxygen_gaps()
};

// Minutes until the oxygen falls to a level; none is never.
struct Countdown {
    std::optional<double> minutes_to_stress;
    std::optional<double> minutes_to_danger;
};

struct ReserveBudget {
    double start_mg_l;
    bool start_assumed;    // taken as saturated: nothing else is known
    double demand_g_h;     // of fed fish at their peak, and fasting_share of it
    double fasting_share;  // 1 of fish that were fed lately
    Countdown stopped;     // air and water stop
    // Air stops, the water goes on: all of it, and what is described to keep flowing. The water of
    // a tank above is then counted as poor as it becomes.
    std::optional<Countdown> flow_continues;
    std::optional<Countdown> kept_flow_continues;
    double going_on_mg_l;  // oxygen of all of it, after falls
};

struct AmmoniaBudget {
    double excreted_feed_g_day;  // sum of the groups'
    double tan_production_g_day;
    double supply_tan_mg_l;          // of the inflow or the loop; 0 without flow
    std::optional<double> tan_mg_l;  // steady; none without flow
    std::optional<double> measured_tan_mg_l;
    std::optional<double> unionised_fraction;  // at the peak temperature
    std::optional<double> nh3_mg_l;            // of tan_mg_l
    std::optional<double> measured_nh3_mg_l;   // of measured_tan_mg_l
    // Without flow ammonia only gathers.
    std::optional<double> tan_hours_to_warn;
    std::optional<double> tan_hours_to_fail;
    std::optional<double> nh3_hours_to_warn;
    std::optional<double> nh3_hours_to_fail;
    std::optional<double> hours_to_warn;  // the smaller
    std::optional<double> hours_to_fail;
};

struct CarbonDioxideBudget {
    double production_g_day;  // at the mean demand
    double production_peak_g_h;
    double stripping_m3_h;
    double in_air_mg_l;  // in equilibrium with air
    std::optional<double> inflow_mg_l;
    bool inflow_known;
    std::optional<double> balance_mg_l;
    bool balance_judged;
    std::optional<double> gathers_mg_l_h;  // without flow and air
    std::optional<double> from_ph_mg_l;
    bool from_ph_judged;  // false over kPhDoubtHigh
    std::optional<double> measured_mg_l;
    std::optional<double> estimated_ph;  // where the report asked: see estimated_ph()
};

// What was taken on the optimistic side because the description is silent, and every factor that is
// not the default.
struct Assumption {
    enum class Kind {
        peak_is_mean,
        table_ration,
        fed_so_for_days,
        protein,
        inflow_without_tan,
        no_tan_yet,  // of a tank without flow
        inflow_co2_as_air,
        reserve_from_saturation,
        response_time,
        removal_as_measured,
        pressure_as_read,  // where no altitude is told to hold it against
        soft_water,        // an alkalinity that may be a kit's degrees
        weight_by_length,
        coefficient,
        factor
    };
    Kind kind;
    // Of a factor or a coefficient: its key, its value, the default, and of which group or aerator.
    std::string_view key = {};
    double value = 0;
    double usual = 0;
    std::string where = {};
};

// What looks like a slip: "is this what you meant?"
struct Doubt {
    enum class Slip {
        transfer,            // more than bubbles are seen to give
        cascade,             // better than clean water falls
        gas_pressure,        // an excess where the whole was meant
        beta,                // more than water can hold
        alpha,               // better than clean water
        ration,              // a share where percent was meant, or kg for g
        exchange,            // L/h where L/min was meant
        respiration_factor,  // of another kind of fish
        ph_reading,          // a meter out of its mind
        alkalinity,          // degrees of a kit where mg/L was meant
        oxygen_reading,      // another
        tan_zero,            // a test that shows nothing
        temperature_jump,    // a probe out of the water
        coefficient          // far from the program's
    };
    Slip slip;
    double value;
    std::optional<double> expected;  // advised, predicted or usual
    std::string where = {};          // the group or aerator
};

// One of the waters that are mixed in an inflow, before the tank's falls.
struct InflowPart {
    std::string from;  // the tank above; empty: new water
    double flow_m3_h;
    double oxygen_mg_l;  // below 0 of a tank above that lacks oxygen
    double oxygen_peak_mg_l;
    double tan_mg_l;
    std::optional<double> carbon_dioxide_mg_l;  // none: not known
    double kept_flow_m3_h;                      // that keeps flowing without power
};

struct TankBudget {
    std::string tank;
    double temperature_c;
    double peak_temperature_c;
    double volume_l;
    double water_m3;  // volume less 1 L per kg of fish
    double flow_m3_h;
    double fish_count;
    double biomass_kg;
    double density_kg_m3;
    double density_index_kg_m3_cm;
    double ration_g_day;          // what is counted: stated, or by the table without the taper
    double advised_ration_g_day;  // the table's with the taper
    double transfer_m3_h;         // sum of K at the mean temperature
    double transfer_peak_m3_h;    // sum of K at the peak temperature
    double solids_g_day;
    std::vector<GroupBudget> groups;  // those with fish
    std::vector<AeratorBudget> aerators;
    std::vector<InflowPart> inflow;  // where one is of a tank above, or there are several
    OxygenBudget oxygen;
    std::optional<ReserveBudget> reserve;  // none without fish
    AmmoniaBudget ammonia;
    CarbonDioxideBudget carbon_dioxide;
    std::vector<Assumption> assumed;
    std::vector<Doubt> doubts;
    bool early_life = false;     // a group under kEarlyLifeG
    bool loves_company = false;  // fish that suffer at low density too, at a low density
    bool ph_contradicts_alkalinity = false;
    bool inflow_ph_contradicts_alkalinity = false;
    std::vector<Check> checks;
    Status verdict = Status::unchecked;
    CheckId first_limit = CheckId::oxygen;
};

const Check* find_check(const TankBudget& budget, CheckId id) noexcept;  // null where absent

// Fish that died recently, held against those that were there: in percent.
//   died, of > 0: within kDeathsWindowH
inline constexpr Constant kDeathsWindowH{
    "recent deaths, within", 48, "h", Basis::judgement,
    "a date alone is the start of its day: no night is missed"};
struct Deaths {
    double died;
    double fish_count;
};
Check deaths_check(const Deaths& deaths) noexcept;

// How old a reading may be where nothing else is said.
inline constexpr Constant kReadingsMaxAgeH{"greatest age of a reading", 26, "h", Basis::judgement,
                                           "a nightly reading may be two hours late"};

// The warmest hour where a temperature was read: that and so many times the swing that is
// described; no more than what was read where that was at the warmest of the day.
inline constexpr Constant kSwingsToWarmest{
    "swings from a temperature that was read to the warmest hour", 2, "times", Basis::judgement,
    "peak less mean is one; before dawn the water is as far below its mean"};
inline constexpr Constant kWarmestFromH{"warmest hours of the day, from", 13, "h", Basis::judgement,
                                        "local time"};
inline constexpr Constant kWarmestToH{"warmest hours of the day, to", 18, "h", Basis::judgement,
                                      "local time"};

// ---- limits

// The limits that a tank is judged by: its own, else its species' (the strictest), else those of
// the program. A species' limit is absent from a tank without fish.
struct TankLimits {
    double oxygen_warn_mg_l, oxygen_warn_percent, oxygen_fail_mg_l;
    double reserve_stress_mg_l, reserve_danger_mg_l, response_time_min;
    double nh3_warn_mg_l, nh3_fail_mg_l, tan_warn_mg_l, tan_fail_mg_l;
    double carbon_dioxide_warn_mg_l, carbon_dioxide_fail_mg_l;
    std::optional<double> temperature_low_warn_c, temperature_warn_c, temperature_fail_c;
    double ph_low_warn, ph_high_warn, ph_low_fail, ph_high_fail;
    std::optional<double> density_warn_kg_m3;
    double density_fail_kg_m3, density_index_kg_m3_cm;
    double ration_warn_ratio, exchange_warn_per_h, size_spread_warn, size_spread_fail;
    double nitrate_warn_mg_l, alkalinity_warn_mg_l, alkalinity_fail_mg_l;  // of a loop
    double backup_hours;  // how long a backup is wanted to hold
};
TankLimits limits_of(const Tank& tank);
TankLimits limits_of(const Loop& loop);

inline constexpr Constant kHoursToWarn{"hours to the warn limit without flow", 72, "h",
                                       Basis::judgement, "a weekend away"};
inline constexpr Constant kHoursToFail{"hours to the fail limit without flow", 24, "h",
                                       Basis::judgement, "a day away"};

// Under this mean weight a group is early life: stricter limits, see TankLimits.
inline constexpr Constant kEarlyLifeG{"early life, mean weight under", 1, "g", Basis::judgement,
                                      "fry that have just begun to feed"};
bool has_early_life(const Tank& tank) noexcept;

// Carbon dioxide by a meter of this accuracy of pH is so many times as much, or less.
inline constexpr Constant kPhMeterBand{"carbon dioxide by a pH meter good to 0.1, times", 1.26, "-",
                                       Basis::published, "10^0.1"};
// A carbon dioxide by pH that no tank is seen to hold: the meter may be wrong.
inline constexpr Constant kCo2Doubt{"carbon dioxide by pH in doubt, over", 100, "mg/L",
                                    Basis::judgement, "alkalinity 150 at pH 6.4 is a real 146"};
inline constexpr Constant kPhDoubtLow{"pH in doubt, under", 5.5, "pH", Basis::judgement,
                                      "a meter without calibration is the likelier"};
inline constexpr Constant kPhDoubtHigh{"pH whose carbon dioxide is not judged, over", 9, "pH",
                                       Basis::judgement, "a small error of pH makes all of it"};

// A key of `limits`: where its value stands in a description and among the resolved ones, the
// program's, what it may be, and the check that goes by it first.
struct LimitField {
    std::string_view key;
    std::optional<double> Limits::*own;
    double TankLimits::*resolved;                            // null: a species'
    std::optional<double> TankLimits::*resolved_of_species;  // null: the program's
    double usual;                                            // NaN: a species'
    Range range;
    CheckId check;

    std::optional<double> value_in(const TankLimits& limits) const;
};
std::span<const LimitField> limit_fields() noexcept;

// A limit that a description, or a species file, sets otherwise than the program would, none usual
// where the program has none for these fish; or a coefficient, of which no check is the first.
struct OwnNumber {
    std::string_view key;
    std::optional<CheckId> check;
    double value;
    std::optional<double> usual;
};
std::vector<OwnNumber> own_limits_of(const Tank& tank);
std::vector<OwnNumber> own_limits_of(const Loop& loop);
// Those of filters and beds are felt on a loop alone.
enum class Felt { in_tank, on_loop, everywhere };
std::vector<OwnNumber> own_coefficients(const Coefficients& coefficients, Felt felt);
// By the limits and with the coefficients of the program.
Tank as_usual(const Tank& tank);
Loop as_usual(const Loop& loop);

// A warn limit that lies beyond its fail limit: the names of the two keys.
struct LimitConflict {
    std::string_view warn_key;
    std::string_view fail_key;
};
std::vector<LimitConflict> limit_conflicts(const TankLimits& limits, const Limits& own);

// ---- the balance

// What flows into a tank, before its cascades: its inflows mixed, or the water that a loop sends
// round.
struct SupplyWater {
    double flow_m3_h = 0;  // the rest is meaningless at 0
    double oxygen_mg_l = 0;
    double oxygen_peak_mg_l = 0;     // when the tank is at its peak temperature
    double oxygen_resting_mg_l = 0;  // when fish above are at rest too: the most it may be
    double tan_mg_l = 0;
    std::optional<double> carbon_dioxide_mg_l;  // none: not known
    bool carbon_dioxide_is_least = false;       // that of a part is not known, and taken as in air
    std::optional<double> chlorine_mg_l;
    // Without power: the oxygen that all of it comes to, how much keeps flowing, and that of this.
    double going_on_mg_l = 0;
    double kept_flow_m3_h = 0;
    double kept_mg_l = 0;
    double kept_carbon_dioxide_mg_l = 0;  // of that, while no air strips it
    std::vector<InflowPart> parts;        // see TankBudget::inflow
    bool recirculated = false;            // a loop's: it stops with the power
    // What a loop cannot hold steady.
    enum class Oxygen { known, unknown, failing };
    Oxygen oxygen = Oxygen::known;
    bool tan_without_end = false;             // without end
    bool carbon_dioxide_without_end = false;  // without end
    bool ph_contradicts_alkalinity = false;   // then its carbon dioxide is not known
};

// Air pressure of a site. Where both are given and lie more than 3 kPa apart the reading looks
// corrected to sea level: the lower of the two, and pressure_doubtful.
struct SitePressure {
    double pressure_kpa;
    bool pressure_doubtful = false;
    bool as_of_sea_level = false;  // read, and no altitude to hold it against
};
// NaN where neither is given.
SitePressure site_pressure(const Site& site) noexcept;

// What leaves a tank, which is mixed: of what was read and what is predicted the worse.
struct Outflow {
    std::string_view tank;
    double oxygen_mg_l, oxygen_peak_mg_l;  // as the balance goes on with them
    double oxygen_resting_mg_l;            // with fish at rest, or read: the larger
    double tan_mg_l;
    std::optional<double> carbon_dioxide_mg_l;
    bool carbon_dioxide_is_least;
    std::optional<double> chlorine_mg_l;
    double going_on_mg_l;  // the lowest it comes to without power while all its water goes on
    double kept_share;     // of its water, that keeps flowing without power
    double kept_mg_l;      // the lowest it comes to on that
    double kept_carbon_dioxide_mg_l;  // what it rises to on that, without air
};
Outflow outflow_of(const Tank& tank, const SupplyWater& supply, const TankBudget& budget);

// A tank's inflows as supply water, mixed by flow. New water keeps its share of saturation when it
// warms; `above` holds the tanks that water comes from (oxygen is NaN where one is not among them).
SupplyWater inflow_supply(const Tank& tank, const SitePressure& air,
                          std::span<const Outflow> above = {});

// The budget of one tank with its checks. The tank is valid: see validate.hpp; of one that is not,
// figures are NaN and checks fail.
// Balances: tests/budget_test.cpp recomputes them; mass in = mass out to 1e-12.
TankBudget assess_tank(const Tank& tank, const SupplyWater& supply, const SitePressure& air);

// The pH that the carbon dioxide of the balance would make of the tank's alkalinity, at its peak:
// shown, never judged, and dear to find. None without an alkalinity or a balance, or outside
// kPhRange.
std::optional<double> estimated_ph(const Tank& tank, const TankBudget& budget) noexcept;

std::span<const Constant> budget_sources() noexcept;

}  // namespace coldtank
