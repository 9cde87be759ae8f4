// What to change so that a check passes: solved on the balance, and proved by assessing again.
#pragma once

#include <memory>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "coldtank/loop.hpp"

namespace coldtank {

enum class Action {
    now,             // fish may be in danger this minute: no value
    take_out_fish,   // value: fish to take out; they take their share of the ration
    cut_ration,      // value: the new ration of the tank, g/day
    add_air,         // value: L/min more through the present diffusers
    add_aerator,     // value: SOTR of an aerator to add, g/h
    raise_flow,      // value: the new inflow, L/min
    add_fall,        // value: m that the inflow falls through air first
    add_inflow,      // value: L/min of clean, air-saturated water for a tank without inflow
    cool,            // value: the new mean temperature, degC; the peak falls with it
    warm,            // the same, upwards
    add_oxygen,      // value: L/min of pure oxygen more, at kAddedAbsorption
    cut_oxygen,      // value: the new flow of pure oxygen, L/min
    enlarge,         // value: the volume that would do, L
    grade,           // value: fish to move to another tank; `groups` says which
    add_chloride,    // value: the chloride to reach, mg/L
    add_media,       // value: m2 of filter media more
    add_removal,     // value: g/day at 1 mg/L more that the filter removes
    raise_exchange,  // value: the new exchange of the loop, L/day
    raise_round,     // value: the new flow round the loop, L/min, each tank in proportion
    change_bed,      // value: the new bed area, m2
    dose,            // value: g of alkalinity as CaCO3 to bring it to its limit, once
    change_current,  // value: the new current, cm/s
    two_changes,     // no single one suffices: `parts` together do
    none_suffices,   // neither a single change nor a pair does
    find_cause,      // a reading is worse than the balance: something is not as described
    advice           // nothing to solve: the words go with the check
};

std::string_view name_of(Action action) noexcept;  // "take_out_fish"

struct Remedy {
    Action action;
    std::optional<double> value;
    std::string_view unit;
    std::vector<Remedy> parts;        // of two_changes
    std::vector<std::size_t> groups;  // of grade: positions in TankBudget::groups
};

inline constexpr Constant kSaltPerChloride{"salt per chloride", 1.6485, "g/g", Basis::published,
                                           "molar masses 58.44 / 35.45"};
inline constexpr Constant kAddedAbsorption{"absorption of added pure oxygen", 10, "%",
                                           Basis::from_memory, "10-20 for stones is usual"};

// The tank as plans see it: without the readings that belong to today's stock (oxygen, TAN, carbon
// dioxide, nitrite, nitrate) and without the carbon dioxide of today's pH.
Tank without_todays_readings(const Tank& tank);

Loop without_todays_readings(const Loop& loop);

// The tank with a remedy carried out. `budget` is the budget of `tank`.
// Only for actions that change something: not now, none_suffices, find_cause, advice.
Tank with_remedy(const Tank& tank, const TankBudget& budget, const Remedy& remedy);

// What would make one check of a tank pass. Empty for a check that passes or is unchecked.
// Each remedy that changes something suffices alone, is rounded to the safe side, and is proved:
// the whole budget of the planned tank, assessed with it, passes this check, and no other check
// gets worse. Where none suffices there is none_suffices, followed by the smallest pair if there is
// one.
struct Plan {
    Tank tank;          // what the remedies were proved on
    TankBudget budget;  // of it
    std::vector<Remedy> remedies;
    bool cut_short = false;  // the search took too long: what was found is all there is
};
Plan plan_remedies(const Tank& tank, const TankBudget& budget, CheckId check, double pressure_kpa);
// The same for a tank of a system: no check of its loop or of another tank on it gets worse either.
Plan plan_remedies(const System& system, const SystemBudget& budget, std::size_t tank,
                   CheckId check);

// The same for a check of a loop. A cut ration is that of all its tanks, in proportion.
struct LoopPlan {
    System system;
    SystemBudget budget;
    std::vector<Remedy> remedies;
    bool cut_short = false;
};

// Both, for many checks of one system. What all of them take together is bounded: of a loop of
// hundreds of failing tanks the last ones are cut short, not the loop itself. Both arguments must
// outlive it.
class Planner {
public:
    // effort: of what one system may take, 0 to 1, where many are planned together.
    Planner(const System& system, const SystemBudget& budget, double effort = 1);
    ~Planner();
    Planner(const Planner&) = delete;
    Planner& operator=(const Planner&) = delete;
    Plan plan(std::size_t tank, CheckId check);
    LoopPlan plan_loop(CheckId check);

private:
    struct Inner;
    std::unique_ptr<Inner> inner_;
};
LoopPlan plan_loop_remedies(const System& system, const SystemBudget& budget, CheckId check);
System with_remedy(const System& system, const SystemBudget& budget, const Remedy& remedy);

// What would make several checks of a tank pass at once, without taking fish out. The system has
// none of today's readings. The same proof.
struct Together {
    std::vector<Remedy> remedies;  // never empty unless cut short
    bool cut_short = false;
};
Together plan_together(const System& system, std::size_t tank, std::span<const CheckId> checks);

std::span<const Constant> remedy_sources() noexcept;

}  // namespace coldtank
