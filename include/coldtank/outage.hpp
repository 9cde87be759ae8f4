// The power is out, or will be: how long the oxygen in each tank lasts, and what makes it last.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "coldtank/remedy.hpp"

namespace coldtank {

// all_stops: neither air nor water. water_goes_on: an inflow by gravity, no air. air_goes_on: the
// aerators, no water. backup: what runs without mains power, from now on.
enum class OutageCase { all_stops, water_goes_on, air_goes_on, backup };
std::string_view name_of(OutageCase outage) noexcept;

// Where the course starts. saturation: nothing is known, taken as full.
enum class StartsFrom { measured, predicted, saturation };
std::string_view name_of(StartsFrom start) noexcept;

// The limit above which a backup holds the oxygen.
enum class Holds { nothing, danger, fail, warn };
std::string_view name_of(Holds holds) noexcept;

struct OutageCourse {
    OutageCase outage;
    std::optional<double> steady_mg_l;  // none: it only falls
    Countdown left;                     // minutes from now; none: never
};

// What to do without mains power, in this order. Of what a value is, see each.
enum class OutageStep {
    look_at_inflow,  // it is all that they have: is its screen clear?
    do_not_feed,
    start_backup,  // hours that it holds
    add_oxygen,    // L/min of pure oxygen at kAddedAbsorption that hold them at the warn limit
    add_air,       // L/min through the stones that are there that hold them at the warn limit
    pour,          // L/min from bucket to bucket, falling kPourFall, that would hold them
    move_fish,     // fish to another tank, which holds them with its own; see `to`
    kill,          // fish that nothing here holds
    do_not_net,    // there is no time for it: air and pouring first
    change_water
};
std::string_view name_of(OutageStep step) noexcept;

struct OutageAction {
    OutageStep step;
    std::optional<double> value = {};
    std::string_view unit = {};
    std::string to = {};                       // of move_fish
    std::optional<double> share_percent = {};  // of pour: what kPourMost meets of the need
    bool holds = false;                        // then danger never comes
    std::optional<double> minutes_to_danger_after = {};  // none where it holds, or changes nothing
};

struct TankOutage {
    std::string tank;
    double fish_count = 0;
    double biomass_kg = 0;
    double oxygen_now_mg_l = 0;
    StartsFrom starts_from = StartsFrom::saturation;
    std::optional<double> read_h;  // age of the reading that it starts from
    bool not_believed = false;     // a reading of more than the water can hold
    double demand_g_h = 0;
    std::vector<OutageCourse> cases;
    OutageCase judged = OutageCase::all_stops;
    bool loop_stops = false;  // its water comes from a loop, which stops
    // The tanks that its water comes from: those that it goes on from, and where none does all.
    std::vector<std::string> above = {};
    bool above_lost = false;  // it is described to go on, and the tank above is not counted on
    double kept_percent = 0;  // of its inflow, that is described to keep flowing
    double water_mg_l = 0;    // what it is counted as, at its lowest, where there is any
    struct OfBackup {
        double hours;
        Holds holds;
        double wanted_h;
    };
    std::optional<OfBackup> backup;
    std::optional<double> stale_min;  // on the backup, until carbon dioxide warns; none: never
    std::vector<OutageAction> actions;
    TankLimits limits{};
    Check reserve = {};
    Status verdict = Status::unchecked;

    const OutageCourse& course(OutageCase outage) const;
};

inline constexpr Constant kPourFallM{"fall of water poured from bucket to bucket", 1, "m",
                                     Basis::judgement, "from the breast to the water"};
inline constexpr Constant kPourMost{"water that one person can pour", 30, "L/min", Basis::judgement,
                                    "three buckets a minute"};
inline constexpr Constant kHandling{"oxygen demand of fish that are netted, times", 1.6, "-",
                                    Basis::published, "1.39-1.98, Davis 1993"};
inline constexpr Constant kNettingMin{"time to net fish out of a tank", 15, "min", Basis::judgement,
                                      "two people, a small tank"};

inline constexpr Constant kRefugeC{"water that fish are moved to in a power cut, at most", 3,
                                   "degC", Basis::judgement,
                                   "from their own: there is no time to temper"};

// The tanks with fish of a site's systems, in their order. `stopped_h`: how long ago the power
// failed; none: at the time of each reading, or now. `shared` is the site's backup, of which each
// tank without one of its own gets its share by demand.
std::vector<TankOutage> assess_outage(std::span<const System> systems,
                                      std::span<const Backup> shared,
                                      std::optional<double> stopped_h);

std::span<const Constant> outage_sources() noexcept;

}  // namespace coldtank
