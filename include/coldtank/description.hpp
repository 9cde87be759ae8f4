// What a grower describes: a site, its tanks, the fish in them. Plain structs, and beside each what
// its numbers may be: the reader (src/io) and validate() go by these ranges.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "coldtank/accuracy.hpp"
#include "coldtank/aeration.hpp"
#include "coldtank/growth.hpp"

namespace coldtank {

// An upper end far beyond any tank keeps every sum finite.
inline constexpr double kMost = 1e12;
inline constexpr Range kAmountRange{0, kMost};
inline constexpr Range kPositiveRange{0, kMost, true};
inline constexpr Range kShareRange{0, 100};          // percent
inline constexpr Range kOxygenRange{0, 40};          // mg/L
inline constexpr Range kOxygenPercentRange{0, 200};  // of saturation
inline constexpr Range kTanRange{0, 50};             // mg/L as N
inline constexpr Range kChlorideRange{0, 24000};     // mg/L; the sea has 19400

// The water of a tank: what sets the balance.
struct Water {
    double temperature_c;                           // the day's mean
    std::optional<double> peak_temperature_c = {};  // warmest hour of that day
    bool peak_assumed = false;                      // nobody measured it
    // What is described of that day, where readings put a cooler one in its place: plans go by it.
    std::optional<double> planned_peak_temperature_c = {};
    // What of it is of the tanks above: see take_water_from_above().
    enum class FromAbove { nothing, peak, all };
    FromAbove from_above = FromAbove::nothing;
    std::optional<double> ph = {};               // measured or stated, at temperature_c
    std::optional<double> alkalinity_mg_l = {};  // as CaCO3
    double salinity_g_kg = 0;
};

// Within these a change of the temperatures that were read is looked at.
inline constexpr Constant kTemperatureJumpHours{"hours within which temperatures are compared", 30,
                                                "h", Basis::judgement,
                                                "a nightly reading and the one before, late"};

// What was measured in a tank.
struct Readings {
    std::optional<double> oxygen_mg_l = {};
    std::optional<double> oxygen_age_h = {};  // none: not known
    std::optional<double> temperature_age_h =
        {};                               // of the water's temperature_c; none: as described
    std::optional<double> tan_mg_l = {};  // as N
    std::optional<double> tan_age_h = {};
    std::optional<double> nitrite_mg_l = {};  // as N
    std::optional<double> nitrate_mg_l = {};  // as N
    std::optional<double> chloride_mg_l = {};
    std::optional<double> carbon_dioxide_mg_l = {};
    std::optional<double> carbon_dioxide_age_h = {};
    std::optional<double> current_cm_s = {};
    std::optional<double> gas_pressure_percent = {};
    // Of a readings file: the lowest oxygen that is not too old.
    std::optional<double> lowest_oxygen_mg_l = {};
    // The largest change within kTemperatureJumpHours that a readings file tells of.
    std::optional<double> temperature_jump_c = {};
};

// What flows into a tank: new water, or what another tank lets out. Of the latter only the flow
// and whether it keeps flowing are described.
struct Inflow {
    std::string from = {};  // the tank above; empty: new water
    double flow_l_min = 0;
    std::optional<double> temperature_c = {};   // of new water, for a tank that tells none
    std::optional<double> oxygen_mg_l = {};     // one of the two is set where new water flows
    std::optional<double> oxygen_percent = {};  // of saturation at this site
    std::optional<double> tan_mg_l = {};        // as N
    std::optional<double> carbon_dioxide_mg_l = {};
    std::optional<double> ph = {};  // with alkalinity_mg_l, in place of carbon_dioxide_mg_l
    std::optional<double> alkalinity_mg_l = {};
    std::optional<double> chlorine_mg_l = {};
    bool keeps_flowing = false;  // goes on without power
};

// Within these a stock is believed.
inline constexpr Range kRespirationFactorRange{0.1, 10};
inline constexpr Range kConditionFactorRange{0.3, 3};
inline constexpr Constant kHeaviestHaul{"most fish over the water of a haul, by weight", 0.8,
                                        "kg/L", Basis::judgement, "heavier is a mistyped number"};
inline constexpr Constant kHeaviestShare{"most fish over the water, by weight", 0.25, "kg/L",
                                         Basis::judgement,
                                         "more is an error of writing, not a stock"};

// Fish of one species and size.
struct FishGroup {
    std::string name = {};
    std::string species_name;
    Species species;
    // Of a species file's: the program's own that it stands in for.
    std::optional<Species> usual_species = {};
    double count = 0;  // whole in a description; a share of a fish while a capacity is searched
    double mean_weight_g;
    bool told_by_length = false;  // the weight follows from a length that was told
    std::optional<double> age_months = {};
    std::optional<double> condition_factor = {};  // Fulton, 100 g/cm3
    std::optional<double> ration_g_day = {};
    double respiration_factor = 1;
    std::optional<Tgc> tgc = {};  // growth that a grower knows
    // Of a plan: what the table gave before the water was cooled. Counted, and not a stated ration.
    std::optional<double> kept_ration_g_day = {};
};

// What a group goes by: its name, else its species.
inline const std::string& name_of(const FishGroup& group) {
    return group.name.empty() ? group.species_name : group.name;
}

inline constexpr Range kRationPercentRange{0, 20};
inline constexpr Range kSeasonRationRange{0, 20, true};  // nobody fasts fish for a season
inline constexpr Range kFastedRange{0, 8760};            // h

// Fish that were last fed longer ago, and of which no ration is stated, are fish that are not fed.
inline constexpr Constant kFedWithin{"hours since the last feed of fish that are fed", 24, "h",
                                     Basis::judgement, "one meal a day"};

struct Feed {
    std::optional<double> ration_g_day = {};        // shared by mass among groups without their own
    std::optional<double> ration_percent_day = {};  // of the mass of groups without their own
    // None: those of the coefficients.
    std::optional<double> protein_percent = {};
    std::optional<double> oxygen_per_feed_g_kg = {};
    std::optional<double> peak_factor = {};  // peak over mean demand of a day
    std::optional<double> fasted_h = {};     // hours since the last feed
};

// Below these no limit of a description is a limit: fish die there.
inline constexpr Range kOxygenFailRange{3, kMost};     // mg/L
inline constexpr Range kReserveDangerRange{2, kMost};  // mg/L

// Limits that the description sets in place of those of budget.hpp: a tank's over its site's.
struct Limits {
    std::optional<double> oxygen_warn_mg_l = {};
    std::optional<double> oxygen_warn_percent = {};
    std::optional<double> oxygen_fail_mg_l = {};
    std::optional<double> reserve_stress_mg_l = {};
    std::optional<double> reserve_danger_mg_l = {};
    std::optional<double> response_time_min = {};
    std::optional<double> nh3_warn_mg_l = {};
    std::optional<double> nh3_fail_mg_l = {};
    std::optional<double> tan_warn_mg_l = {};
    std::optional<double> tan_fail_mg_l = {};
    std::optional<double> carbon_dioxide_warn_mg_l = {};
    std::optional<double> carbon_dioxide_fail_mg_l = {};
    std::optional<double> temperature_low_warn_c = {};
    std::optional<double> temperature_warn_c = {};
    std::optional<double> temperature_fail_c = {};
    std::optional<double> ph_low_warn = {};
    std::optional<double> ph_high_warn = {};
    std::optional<double> ph_low_fail = {};
    std::optional<double> ph_high_fail = {};
    std::optional<double> density_warn_kg_m3 = {};
    std::optional<double> density_fail_kg_m3 = {};
    std::optional<double> density_index_kg_m3_cm = {};
    std::optional<double> ration_warn_ratio = {};
    std::optional<double> exchange_warn_per_h = {};
    std::optional<double> size_spread_warn = {};
    std::optional<double> size_spread_fail = {};
    std::optional<double> nitrate_warn_mg_l = {};
    std::optional<double> alkalinity_warn_mg_l = {};
    std::optional<double> alkalinity_fail_mg_l = {};
    std::optional<double> backup_hours = {};
};

// What brings oxygen without mains power, and for how long: stated, or by one of the two.
struct Backup {
    struct Battery {
        double volts;
        double amp_hours;
        double watts;  // that the pump draws
    };
    struct Cylinder {
        double volume_l;  // of water
        double bar;
        double left_bar;  // that stays in it
    };
    Aerator unit = {};
    std::optional<double> hours = {};
    std::optional<Battery> battery = {};
    std::optional<Cylinder> cylinder = {};  // of pure oxygen
};
inline constexpr Constant kBatteryUsable{"usable share of a battery", 0.5, "-",
                                         Basis::common_practice,
                                         "lead-acid lasts longer if half is left in it"};
inline constexpr Constant kBatteryEfficiency{"efficiency of battery, wires and inverter", 0.85, "-",
                                             Basis::common_practice, "a tenth to a fifth is lost"};
inline constexpr double kCylinderLeftBar = 10;
double hours_of(const Backup& backup) noexcept;

// A tank's part in a loop: treated water that several tanks share.
struct LoopFlow {
    std::string name;
    double flow_l_min = 0;
};

struct Tank {
    std::string name;
    double volume_l;
    Water water;
    Readings readings = {};
    std::vector<Inflow> inflow = {};  // all of them, mixed; none of a tank on a loop
    std::optional<LoopFlow> loop = {};
    std::vector<FishGroup> fish = {};
    Feed feed = {};
    std::vector<Aerator> aeration = {};
    std::vector<Backup> backup = {};
    Limits limits = {};
    Coefficients coefficients = {};  // what it is worked out with
};

// All that flows into a tank, L/min.
double flow_l_min_of(const Tank& tank) noexcept;

// New water that makes up for what leaves a loop.
struct Makeup {
    double tan_mg_l = 0;      // as N
    double nitrate_mg_l = 0;  // as N
    double alkalinity_mg_l = 0;
    std::optional<double> chlorine_mg_l = {};
};

// Exactly one of the first two is set.
struct Biofilter {
    std::optional<double> media_area_m2 = {};
    std::optional<double> removal_g_day = {};  // of TAN at 1 mg/L, measured
    double maturity_percent = 100;
};

enum class Crop { leafy, fruiting };

struct Plants {
    double bed_area_m2;
    Crop crop;
};

// Treated water that tanks share: a recirculating or aquaponic system.
struct Loop {
    std::string name;
    Water water;             // of its vessel: filter and sump
    Readings readings = {};  // nitrite, nitrate, chloride
    double exchange_l_day = 0;
    Makeup makeup = {};
    std::optional<Biofilter> biofilter = {};
    std::optional<Plants> plants = {};
    std::vector<Aerator> aeration = {};
    std::optional<double> supply_oxygen_percent = {};  // measured
    std::optional<double> degasser_percent = {};
    Limits limits = {};
    Coefficients coefficients = {};
};

struct Site {
    std::string name;
    std::optional<double> altitude_m = {};  // at least one of the two is set
    std::optional<double> barometric_pressure_kpa = {};
    std::vector<Backup> backup = {};  // for all its tanks together
};

// Fish on the way in closed water.
struct Trip {
    struct WaterChange {
        double share;  // of the water, each time
        double every_min;
    };
    std::string name;
    double water_l;
    double temperature_c;
    double minutes;
    std::vector<FishGroup> fish = {};
    std::vector<Aerator> aeration = {};
    double fasted_h = 0;
    std::optional<double> ph = {};
    std::optional<double> alkalinity_mg_l = {};
    double start_oxygen_percent = 100;
    double salinity_g_kg = 0;
    std::optional<double> arrival_temperature_c = {};
    std::optional<double> arrival_ph = {};
    std::optional<WaterChange> water_change = {};
};

// Days are counted from 1970-01-01.
using Day = std::int64_t;

inline constexpr Constant kWarmSpellC{"warm spell on top of monthly means", 2, "degC",
                                      Basis::judgement, "a hot week is warmer than its month"};
inline constexpr Constant kFeedConversion{"feed conversion", 1.2, "g/g", Basis::common_practice,
                                          "extruded feed, small farms"};
inline constexpr Constant kSeasonMostDays{"days of a season at most", 1100, "days",
                                          Basis::judgement, "three years"};
inline constexpr Constant kSeasonGapDays{"days in a row that daily temperatures may miss, at most",
                                         14, "days", Basis::judgement,
                                         "a warm spell comes and goes in more"};
inline constexpr Range kTemperatureChangeRange{0, 20};
inline constexpr Range kFeedConversionRange{0.5, 5};
inline constexpr Range kMortalityRange{0, 100};  // percent a month

struct SeasonInput {
    // Means of the months, each kept; a wave of the year; or day by day.
    struct Wave {
        double mean_c;
        double amplitude_c;
        int warmest_day_of_year;  // 1 to 366
    };
    struct DayMean {
        Day day;
        double temperature_c;
    };
    struct Thinning {
        Day day;
        std::string tank = {};  // empty: every tank
        // One of them: fish to take out, a share of them, or what is to stay.
        std::optional<double> count = {};
        std::optional<double> share = {};
        std::optional<double> to_kg = {};
    };
    enum class Ration { table, growth, percent };

    Day start = 0;
    std::optional<Day> until = {};
    std::optional<double> target_weight_g = {};  // of the two at least one
    std::optional<std::array<double, 12>> monthly_mean_c = {};
    std::optional<Wave> wave = {};
    std::vector<DayMean> daily = {};           // in order; goes before the other two
    std::optional<double> daily_swing_c = {};  // warmest hour less mean; none: as described
    std::optional<double> warm_spell_c = {};   // none: kWarmSpellC, or 0 with daily
    double mortality_percent_month = 0;
    Ration ration = Ration::table;
    double ration_percent_day = 0;  // with Ration::percent
    double fcr = kFeedConversion;
    std::vector<Thinning> thinning = {};
    double step_days = 1;  // of growth; a whole number of them is a day
};

struct Description {
    Site site;
    std::vector<Tank> tanks = {};
    std::vector<Loop> loops = {};
    std::vector<Trip> trips = {};
    std::optional<SeasonInput> season = {};
    std::vector<OwnAccuracy> accuracy = {};  // each quantity at most once
};

}  // namespace coldtank
