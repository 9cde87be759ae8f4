// The balance of a loop: tanks that share treated water.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "coldtank/budget.hpp"

namespace coldtank {

inline constexpr Constant kNaHCO3PerCaCO3{"sodium bicarbonate per alkalinity", 1.679, "g/g CaCO3",
                                          Basis::published, "molar masses 2 x 84.007 / 100.087"};
inline constexpr Constant kKHCO3PerCaCO3{"potassium bicarbonate per alkalinity", 2.001, "g/g CaCO3",
                                         Basis::published, "molar masses 2 x 100.115 / 100.087"};
inline constexpr Constant kCaOH2PerCaCO3{"calcium hydroxide per alkalinity", 0.740, "g/g CaCO3",
                                         Basis::published, "molar masses 74.093 / 100.087"};

inline constexpr Constant kSodiumPerNaHCO3{"sodium in sodium bicarbonate", 0.2737, "g/g",
                                           Basis::published, "molar masses 22.990 / 84.007"};

struct LoopBudget {
    std::string loop;
    double flow_m3_h;  // sum of the tanks'
    double exchange_m3_day;
    double volume_m3;  // of the tanks on it
    double feed_g_day;
    double tan_production_g_day;
    std::optional<double> supply_tan_mg_l;  // none: it rises without end
    std::optional<double> return_tan_mg_l;
    double filter_capacity_g_day;  // what the filter takes at most, a r(infinity)
    double nitrified_g_day;        // what it takes, or at most takes
    double exchanged_g_day;  // TAN that leaves with the exchange, less what the make-up brings
    std::optional<double> feed_bearable_g_day;      // where the report asked: see feed_bearable()
    std::optional<double> feed_careful_g_day;       // the same
    std::optional<double> supply_oxygen_mg_l;       // at the mean temperatures
    std::optional<double> supply_oxygen_peak_mg_l;  // at the peak temperatures
    bool filter_starved;                            // too little oxygen for it
    double filter_oxygen_g_h;                       // taken by the filter
    std::optional<double> supply_carbon_dioxide_mg_l;
    std::optional<double> nitrate_mg_l;  // predicted; none without exchange
    bool planted;
    double plants_g_day;                          // nitrate that plants take, as N
    std::optional<double> nitrate_rise_mg_l_day;  // without exchange
    std::optional<double> nitrate_days_to_warn;
    double alkalinity_demand_g_day;  // as CaCO3
    double alkalinity_dose_g_day;    // to hold it
    double sodium_g_day;             // that this dose would bring as sodium bicarbonate
    double solids_g_day;
    std::vector<Assumption> assumed;  // of its aerators
    std::vector<Doubt> doubts;        // the same
    std::vector<Check> checks;
    Status verdict = Status::unchecked;
    CheckId first_limit = CheckId::biofilter;
};

// What must be worked out together: one tank on its inflow, a row of tanks of which each gives
// water to one below it, or a loop and the tanks on it. A tank stands before those below it.
struct System {
    double pressure_kpa;
    std::vector<Tank> tanks;
    std::optional<Loop> loop;

    bool is_row() const { return !loop && tanks.size() > 1; }
};

struct SystemBudget {
    std::vector<TankBudget> tanks;
    std::optional<LoopBudget> loop;
};

// The steady state of the loop, solved as one problem, and each tank on it; or the tanks of a row
// from the top down. A tank with flow 0 is left out of the sums of a loop. Mass balances close to
// 1e-9 (tests/loop_test.cpp), of a row to 1e-12 (tests/row_test.cpp).
SystemBudget assess_system(const System& system);

// What a loop's filter and exchange bear of feed, g/day in all its tanks, in proportion and as it
// is typed: the most at which the supply's TAN and each tank's TAN and NH3 keep their warn limits,
// 0 where fish that are fed next to nothing overload it. A filter counts as mature as it is; that
// it is young, cold or short of oxygen is left out. None where biofilter passes, or nothing is fed.
struct FeedBearable {
    double feed_g_day;
    std::optional<double> careful_g_day;  // of a filter that is very young or cold (judgement)
};
std::optional<FeedBearable> feed_bearable(const System& system, const SystemBudget& budget);

// Says of each tank with a measured oxygen, fish and a steady mean what that reading says of its
// description, the other tanks as they are: fills OxygenBudget::gap.
void add_oxygen_gaps(const System& system, SystemBudget& budget);

// The systems of a description: each tank alone or with those it gives water to or takes it from,
// each loop with its tanks.
std::vector<System> systems_of(const Description& description);

// The order of tanks from the top down, as positions: each after those that its water comes from;
// of several that may come next the first. Tanks of a circle, and those below it, are left out.
std::vector<std::size_t> from_the_top(std::span<const Tank> tanks);

// Those that its water reaches, from the top down.
std::vector<std::size_t> below_of(std::span<const Tank> tanks, std::size_t tank);

// Tanks whose water is from_above get the temperatures of what flows in, mixed by flow, or of that
// the warmest hour alone. There are no circles.
void take_water_from_above(std::span<Tank> tanks);
// Of tanks whose own temperature nobody has read the warmest hour is no cooler than what flows in:
// where it was read above it may be warmer than they are described.
void warm_from_above(std::span<Tank> tanks);

// Tanks that give more than they receive get as much more, each of their inflows in proportion.
void draw_from_above(std::span<Tank> tanks);

const Check* find_check(const LoopBudget& budget, CheckId id) noexcept;  // null where absent

// A tank whose loop is not described has no checks: its verdict is unchecked.
struct Assessment {
    SitePressure air;
    std::vector<TankBudget> tanks;  // in the order of the description
    std::vector<LoopBudget> loops;
};

// A filter that is not fully started, or too cold to trust: biofilter warns whatever is fed.
bool filter_is_slow(const Loop& loop) noexcept;

// The whole description.
Assessment assess(const Description& description);

std::span<const Constant> loop_sources() noexcept;

}  // namespace coldtank
