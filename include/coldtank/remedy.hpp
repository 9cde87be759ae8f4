// What to change so that a check passes: solved on the balance, and proved by assessing again.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "coldtank/loop.hpp"

namespace coldtank {

enum class Action {
    now,             // fish may be in danger this minute, and no reading says otherwise: no value
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
inline constexpr Constant kFreshOxygenH{
    "age up to which a reading of oxygen says that there is time", 1, "h", Basis::judgement,
    "what stops the air or the water shows within it"};
inline constexpr Constant kAddedAbsorption{"absorption of added pure oxygen", 10, "%",
                                           Basis::from_memory, "10-20 for stones is usual"};

// In whose steps a change is sold, read or poured: what is asked for is always one of them.
enum class Sold { metric, us };

// A part of a system: one of its tanks, by position, or its loop.
struct Part {
    std::optional<std::size_t> tank;  // none: the loop
};
const std::vector<Check>& checks_of(const SystemBudget& budget, Part part) noexcept;
const Check* find_check(const SystemBudget& budget, Part part, CheckId id) noexcept;

// As plans see it: without the readings that belong to today's stock (oxygen, TAN, carbon dioxide,
// nitrite, nitrate) and without the carbon dioxide of today's pH.
Tank without_todays_readings(const Tank& tank);
Loop without_todays_readings(const Loop& loop);
System without_todays_readings(const System& system);

// The system with a remedy of one of its parts carried out; `budget` is its budget. A tank on a
// loop is cooled and warmed with its loop, a loop is fed in all its tanks in proportion.
// Unchanged for actions that change nothing: now, dose, none_suffices, find_cause, advice.
System with_remedy(const System& system, const SystemBudget& budget, Part part,
                   const Remedy& remedy);

// What would make one check of a part pass. Empty for a check that passes or is unchecked.
// Each remedy that changes something suffices alone, is rounded to the safe side, and is proved:
// the whole system as planned, assessed with it, passes this check, and no other check of any part
// gets worse. Where none suffices there is none_suffices, followed by the smallest pair if there is
// one.
struct Planned {
    System system;  // what the remedies were proved on
    SystemBudget budget;
};
struct Plan {
    std::shared_ptr<const Planned> on;  // null for a check that passes
    std::vector<Remedy> remedies;
    bool cut_short = false;  // the search took too long: what was found is all there is
};
Plan plan_remedies(const System& system, const SystemBudget& budget, Part part, CheckId check,
                   Sold sold = Sold::metric);

// The same for many checks of one system. What all of them take together is bounded: of a loop of
// hundreds of failing tanks the last ones are cut short, not the loop itself. Both arguments must
// outlive it.
class Planner {
public:
    // effort: of what one system may take, 0 to 1, where many are planned together.
    Planner(const System& system, const SystemBudget& budget, double effort = 1,
            Sold sold = Sold::metric);
    ~Planner();
    Planner(const Planner&) = delete;
    Planner& operator=(const Planner&) = delete;
    Plan plan(Part part, CheckId check);
    // How often a part, or all of it, was assessed.
    std::int64_t assessments() const;

private:
    struct Inner;
    std::unique_ptr<Inner> inner_;
};

// What would make several checks of a tank pass at once, without taking fish out. The system has
// none of today's readings. The same proof. Never empty unless cut short.
Plan plan_together(Planned planned, std::size_t tank, std::span<const CheckId> checks, Sold sold);

std::span<const Constant> remedy_sources() noexcept;

}  // namespace coldtank
