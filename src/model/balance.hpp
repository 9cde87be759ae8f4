// Inside the model: the balance of a tank without its checks, and the sums of a loop.
#pragma once

#include <span>

#include "coldtank/loop.hpp"

namespace coldtank {

inline WaterState water_at(const Tank& tank, double temperature_c, double pressure_kpa) {
    return {.temperature_c = temperature_c,
            .salinity_g_kg = tank.water.salinity_g_kg,
            .pressure_kpa = pressure_kpa};
}
inline double peak_temperature(const Tank& tank) {
    return tank.water.peak_temperature_c.value_or(tank.water.temperature_c);
}
// Oxygen of an inflow at the peak temperature, behind the falls of a tank.
double after_falls_mg_l(const Tank& tank, const TankBudget& budget, double inflow_mg_l);

// What all aerators of a tank or a vessel together bring of oxygen.
struct Transfer {
    double k_m3_h = 0;    // sum of K
    double full_g_h = 0;  // sum of K beta Cs
    double pure_g_h = 0;
};
Transfer transfer_of(std::span<const Aerator> aeration, double temperature_c,
                     double saturation_mg_l, const Coefficients& k);

// A tank's budget without assumptions, doubts, checks and verdict.
TankBudget balance_of(const Tank& tank, const SupplyWater& supply, double pressure_kpa);
// Of it the day's mean of oxygen alone.
std::optional<double> steady_oxygen_mg_l(const Tank& tank, const SupplyWater& supply,
                                         double pressure_kpa);

// A concentration that is linear in the one unknown of the loop: fixed + slope x.
struct Linear {
    double fixed = 0;
    double slope = 0;
    double at(double x) const { return fixed + slope * x; }
};

// What tanks put into the balances of their loop; those of several add up. Nothing of a tank
// without flow.
struct LoopSums {
    std::size_t tanks = 0;
    double flow_m3_h = 0;
    double volume_m3 = 0;
    double feed_g_day = 0;
    double protein_g_day = 0;
    double tan_g_day = 0;
    double solids_g_day = 0;
    double salinity_g_kg = 0;   // the saltiest
    Linear oxygen_g_h;          // returned, sum of Q C, in the oxygen of the supply at the mean
    Linear oxygen_peak_g_h;     // the same at the peak
    Linear carbon_dioxide_g_h;  // the same of carbon dioxide at the peak
    double pure_oxygen_g_h = 0;
    double demand_peak_g_h = 0;
    // The tank whose own TAN on top of the supply's is nearest to its limit.
    double added_tan_mg_l = 0;
    Bound added_warn;
    Bound added_fail;
    Status added_status = Status::unchecked;
    double added_used = -1;  // of the limit
    bool own_limit = false;  // a tank sets limits of ammonia

    void add(const LoopSums& other);
};
LoopSums sums_of(const Tank& tank, double pressure_kpa);

// The loop solved on the sums of all its tanks: its budget without assumptions, checks and verdict,
// and the water it sends round.
struct SolvedLoop {
    LoopBudget budget;
    SupplyWater supply;
};
SolvedLoop solve_loop(const Loop& loop, double pressure_kpa, const LoopSums& sums);
// Fills these in.
void judge(const Loop& loop, const LoopSums& sums, LoopBudget& budget);

// That water as it reaches one tank. Flow 0 is a tank without flow: nothing of the loop reaches it.
SupplyWater supply_of(const SolvedLoop& solved, const Tank& tank);

// One tank of a system under trial: were it like this, and the other tanks as they are. What the
// system holds must outlive it.
class TankTrial {
public:
    TankTrial(const System& system, const LoopSums& others, std::vector<Outflow> above)
        : system_(&system), others_(others), above_(std::move(above)) {}
    std::optional<double> steady_oxygen_mg_l(const Tank& tank) const;
    TankBudget assess(const Tank& tank) const;
    // Of the system's tanks only this one.
    SystemBudget assess_with_loop(const Tank& tank) const;

private:
    SupplyWater supply(const Tank& tank) const;

    const System* system_;
    LoopSums others_;
    std::vector<Outflow> above_;  // of a row, what its tanks let out as they are
};
// One for each tank, and for one alone.
std::vector<TankTrial> trials_of(const System& system);
TankTrial trial_of(const System& system, std::size_t index);

}  // namespace coldtank
