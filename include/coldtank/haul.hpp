// Fish in closed water, in a bucket or a haul tank: what the water comes to while they are in it.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "coldtank/remedy.hpp"

namespace coldtank {

// How the water of a trip becomes what it is at the end.
struct TripBudget {
    std::string trip;
    double fish_count = 0;
    double biomass_kg = 0;
    double load_kg_l = 0;
    double minutes = 0;  // tempering included
    double tempering_min = 0;
    std::optional<double> minutes_to_warn;  // of oxygen, as if the trip went on; none: never
    std::optional<double> minutes_to_fail;
    std::optional<double> minutes_to_danger;
    std::optional<double> minutes_to_stale;  // until carbon dioxide warns
    double oxygen_start_mg_l = 0;
    double oxygen_lowest_mg_l = 0;
    double oxygen_end_mg_l = 0;
    double carbon_dioxide_most_mg_l = 0;
    double carbon_dioxide_end_mg_l = 0;
    double tan_end_mg_l = 0;
    std::optional<double> nh3_end_mg_l;  // at the pH of the end
    std::optional<double> ph_end;
    std::vector<Check> checks;
    Status verdict = Status::unchecked;
    bool mix_on_arrival = false;  // waiting would spoil the water: mix in arrival water instead
};

// What would make a trip pass, one change each, proved on the same model.
enum class TripChange {
    fewer,
    more_water,
    aerate_first,
    more_air,
    add_oxygen,
    less_oxygen,
    ice,
    change_water,
    shorter
};
std::string_view name_of(TripChange change) noexcept;
struct TripPlan {
    TripChange change;
    double value;  // fish a trip; L; % of saturation; L/min; L/min; L/min in all; kg of ice; L
                   // each time; min
    std::string_view unit;
    double every_min = 0;  // of change_water
    double cooler_c = 0;   // of ice: the temperature then
    Status verdict_after;
    std::vector<CheckId> left;  // what warns or fails then
};

inline constexpr Constant kHandlingMin{"time that netted fish breathe harder", 60, "min",
                                       Basis::published, "the first hour, Davis 1993"};
inline constexpr Constant kHaulLoadOxygen{
    "load of a haul with oxygen, warn", 0.17, "kg/L", Basis::published,
    "densest of a trial with brook trout, McDonald et al. 1993"};
inline constexpr Constant kHaulLoadAir{"load of a haul with air, warn", 0.085, "kg/L",
                                       Basis::judgement, "half of that with oxygen"};
inline constexpr Constant kTemperingCPerH{"tempering on arrival", 2, "degC/h",
                                          Basis::common_practice, "fish bear no quicker change"};
inline constexpr Constant kIceMostC{"cooling of a haul by ice, at most", 3, "degC",
                                    Basis::judgement, "from the water that the fish come from"};

// Of water_l of so many degrees by so many: kg of ice, dechlorinated as the water.
double ice_kg(double water_l, double from_c, double to_c) noexcept;
// The share of a load that water of another temperature bears, over that at 52 degF, unclamped.
double load_share(double temperature_c) noexcept;

TripBudget assess_trip(const Trip& trip, double pressure_kpa);
// The least of each change that makes it pass; those that do not suffice name what is left.
std::vector<TripPlan> plan_trip(const Trip& trip, double pressure_kpa);

std::span<const Constant> haul_sources() noexcept;

}  // namespace coldtank
