// Inside the model: what can be changed of a tank, each in one place.
#pragma once

#include "coldtank/remedy.hpp"

namespace coldtank {

template <class Kind, class Change>
void change_aerators(Tank& tank, Change change) {
    for (Aerator& aerator : tank.aeration) {
        if (auto* kind = std::get_if<Kind>(&aerator.kind)) change(*kind);
    }
}

// Pure oxygen of all its aerators.
double oxygen_flow_l_min(const Tank& tank);

// See with_remedy().
void carry_out(const Remedy& remedy, Part part, const SystemBudget& budget, System& system);

// A tank with a remedy that reaches no other part of its system: see with_remedy().
Tank with_change_of_one(const Tank& tank, const TankBudget& budget, const Remedy& remedy);

// All groups in proportion, their rations with them.
void scale_fish(Tank& tank, double share);
// What the aerators give, but for falls.
void scale_aeration(Tank& tank, double share);
// Of the inflow, or round the loop.
void scale_flow(Tank& tank, double share);

// The mean, and the peak with it.
void change_temperature(Water& water, double temperature_c);

// A tank's ration as it is typed: feed.ration_g_day alone, shared by mass. A ration of 0 is taken
// as one that has been kept for a week.
void set_ration(Tank& tank, double ration_g_day);
inline constexpr Constant kStoppedHours{"hours without feed that a stop of feeding is proved after",
                                        168, "h", Basis::judgement, "a week"};
// All tanks of a loop that are fed, with another ration in all, each in proportion.
System fed_with(const System& system, const SystemBudget& budget, double feed_g_day);

}  // namespace coldtank
