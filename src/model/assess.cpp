// From a description to its budgets: balances, then checks, of a tank, a system, all of it.
#include <algorithm>

#include "assumed.hpp"
#include "balance.hpp"
#include "judgement.hpp"

namespace coldtank {
namespace {

const Check* find_in(const std::vector<Check>& checks, CheckId id) {
    const auto at = std::find_if(checks.begin(), checks.end(),
                                 [&](const Check& check) { return check.id == id; });
    return at == checks.end() ? nullptr : &*at;
}

}  // namespace

TankBudget assess_tank(const Tank& tank, const SupplyWater& supply, const SitePressure& air) {
    TankBudget budget = balance_of(tank, supply, air.pressure_kpa);
    budget.early_life = has_early_life(tank);
    budget.loves_company = std::any_of(tank.fish.begin(), tank.fish.end(), [&](const auto& group) {
        return group.count > 0 && budget.density_kg_m3 < group.species.density_low_kg_m3;
    });
    list_assumptions(tank, budget);
    list_doubts(tank, budget);
    judge(tank, supply, limits_of(tank), budget);
    return budget;
}

SystemBudget assess_system(const System& system) {
    SystemBudget whole;
    if (!system.loop) {
        for (const Tank& tank : system.tanks) {
            whole.tanks.push_back(assess_tank(tank, inflow_supply(tank, {system.pressure_kpa}),
                                              {system.pressure_kpa}));
        }
        return whole;
    }
    LoopSums sums;
    for (const Tank& tank : system.tanks) sums.add(sums_of(tank, system.pressure_kpa));
    SolvedLoop solved = solve_loop(*system.loop, system.pressure_kpa, sums);
    judge(*system.loop, sums, solved.budget);
    for (const Tank& tank : system.tanks) {
        whole.tanks.push_back(assess_tank(tank, supply_of(solved, tank), {system.pressure_kpa}));
    }
    whole.loop = std::move(solved.budget);
    return whole;
}

SupplyWater TankTrial::supply(const Tank& tank) const {
    if (!system_->loop) return inflow_supply(tank, {system_->pressure_kpa});
    LoopSums sums = others_;
    sums.add(sums_of(tank, system_->pressure_kpa));
    return supply_of(solve_loop(*system_->loop, system_->pressure_kpa, sums), tank);
}

std::optional<double> TankTrial::steady_oxygen_mg_l(const Tank& tank) const {
    return coldtank::steady_oxygen_mg_l(tank, supply(tank), system_->pressure_kpa);
}

TankBudget TankTrial::assess(const Tank& tank) const {
    return assess_tank(tank, supply(tank), {system_->pressure_kpa});
}

SystemBudget TankTrial::assess_with_loop(const Tank& tank) const {
    if (!system_->loop) return {{assess(tank)}, std::nullopt};
    LoopSums sums = others_;
    sums.add(sums_of(tank, system_->pressure_kpa));
    SolvedLoop solved = solve_loop(*system_->loop, system_->pressure_kpa, sums);
    judge(*system_->loop, sums, solved.budget);
    return {{assess_tank(tank, supply_of(solved, tank), {system_->pressure_kpa})},
            std::move(solved.budget)};
}

TankTrial trial_of(const System& system, std::size_t index) {
    LoopSums others;
    for (std::size_t i = 0; system.loop && i < system.tanks.size(); ++i) {
        if (i != index) others.add(sums_of(system.tanks[i], system.pressure_kpa));
    }
    return {system, others};
}

std::vector<TankTrial> trials_of(const System& system) {
    const std::size_t count = system.tanks.size();
    // Those before and those behind each tank.
    std::vector<LoopSums> own(count);
    std::vector<LoopSums> behind(count + 1);
    for (std::size_t i = count; system.loop && i-- > 0;) {
        own[i] = sums_of(system.tanks[i], system.pressure_kpa);
        behind[i] = behind[i + 1];
        behind[i].add(own[i]);
    }
    std::vector<TankTrial> trials;
    LoopSums others;
    for (std::size_t i = 0; i < count; ++i) {
        LoopSums all = others;
        all.add(behind[i + 1]);
        trials.emplace_back(system, all);
        others.add(own[i]);
    }
    return trials;
}

// ---- a whole description

System system_of(const Tank& tank, const SitePressure& air) {
    return {air.pressure_kpa, {tank}, std::nullopt};
}

std::vector<System> systems_of(const Description& description) {
    const SitePressure air = site_pressure(description.site);
    std::vector<System> systems;
    for (const Tank& tank : description.tanks) {
        if (!tank.loop) systems.push_back(system_of(tank, air));
    }
    for (const Loop& loop : description.loops) {
        System system{air.pressure_kpa, {}, loop};
        for (const Tank& tank : description.tanks) {
            if (tank.loop && tank.loop->name == loop.name) system.tanks.push_back(tank);
        }
        systems.push_back(std::move(system));
    }
    return systems;
}

Assessment assess(const Description& description) {
    Assessment assessment{.air = site_pressure(description.site), .tanks = {}, .loops = {}};
    assessment.tanks.resize(description.tanks.size());
    for (std::size_t i = 0; i < description.tanks.size(); ++i) {
        const Tank& tank = description.tanks[i];
        // Stays so, without a check, where its loop is not described.
        assessment.tanks[i].tank = tank.name;
        if (tank.loop) continue;
        assessment.tanks[i] =
            assess_tank(tank, inflow_supply(tank, assessment.air), assessment.air);
    }
    for (const System& system : systems_of(description)) {
        if (!system.loop) continue;
        SystemBudget budget = assess_system(system);
        std::size_t next = 0;
        for (std::size_t i = 0; i < description.tanks.size(); ++i) {
            const auto& loop = description.tanks[i].loop;
            if (loop && loop->name == system.loop->name) {
                assessment.tanks[i] = std::move(budget.tanks[next++]);
            }
        }
        assessment.loops.push_back(std::move(*budget.loop));
    }
    return assessment;
}

const Check* find_check(const TankBudget& budget, CheckId id) noexcept {
    return find_in(budget.checks, id);
}
const Check* find_check(const LoopBudget& budget, CheckId id) noexcept {
    return find_in(budget.checks, id);
}

}  // namespace coldtank
