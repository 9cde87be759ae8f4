// From a description to its budgets: balances, then checks, of a tank, a system, all of it.
#include <algorithm>
#include <string_view>
#include <unordered_map>

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

namespace {

// Tanks that are on no loop, from the top down; `above` becomes what those of a row let out.
std::vector<TankBudget> assess_row(const System& system, std::vector<Outflow>& above) {
    const SitePressure air{system.pressure_kpa};
    std::vector<TankBudget> budgets;
    budgets.reserve(system.tanks.size());
    for (const Tank& tank : system.tanks) {
        const SupplyWater supply = inflow_supply(tank, air, above);
        budgets.push_back(assess_tank(tank, supply, air));
        if (system.is_row()) above.push_back(outflow_of(tank, supply, budgets.back()));
    }
    return budgets;
}

// What the tanks of a row let out; of no use to others.
std::vector<Outflow> outflows_of(const System& system) {
    std::vector<Outflow> above;
    if (system.is_row()) assess_row(system, above);
    return above;
}

}  // namespace

SystemBudget assess_system(const System& system) {
    SystemBudget whole;
    if (!system.loop) {
        std::vector<Outflow> above;
        whole.tanks = assess_row(system, above);
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
    if (!system_->loop) return inflow_supply(tank, {system_->pressure_kpa}, above_);
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
    return {system, others, outflows_of(system)};
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
    const std::vector<Outflow> above = outflows_of(system);
    std::vector<TankTrial> trials;
    LoopSums others;
    for (std::size_t i = 0; i < count; ++i) {
        LoopSums all = others;
        all.add(behind[i + 1]);
        trials.emplace_back(system, all, above);
        others.add(own[i]);
    }
    return trials;
}

// ---- a whole description

std::vector<System> systems_of(const Description& description) {
    const SitePressure air = site_pressure(description.site);
    const std::vector<Tank>& tanks = description.tanks;
    // Tanks from the top down, each in the system of those that its water comes from.
    constexpr std::size_t kNone = -1;
    std::vector<std::size_t> row_of(tanks.size(), kNone);
    std::vector<std::vector<std::size_t>> rows;
    std::unordered_map<std::string_view, std::size_t> by_name;
    for (std::size_t i = 0; i < tanks.size(); ++i) by_name.emplace(tanks[i].name, i);
    const std::vector<std::size_t> order = from_the_top(tanks);
    for (const std::size_t i : order) {
        if (tanks[i].loop) continue;
        std::size_t row = rows.size();
        rows.push_back({i});
        row_of[i] = row;
        for (const Inflow& inflow : tanks[i].inflow) {
            const auto at = by_name.find(inflow.from);
            if (inflow.from.empty() || at == by_name.end()) continue;
            const std::size_t other = row_of[at->second];
            if (other == kNone || other == row) continue;
            // One row of the two, at the place of the first.
            const std::size_t first = std::min(row, other);
            std::vector<std::size_t>& second = rows[std::max(row, other)];
            for (const std::size_t tank : second) row_of[tank] = first;
            rows[first].insert(rows[first].end(), second.begin(), second.end());
            second.clear();
            row = first;
        }
    }
    std::vector<std::size_t> place(tanks.size());
    for (std::size_t i = 0; i < order.size(); ++i) place[order[i]] = i;
    for (auto& row : rows) {
        std::sort(row.begin(), row.end(),
                  [&](std::size_t a, std::size_t b) { return place[a] < place[b]; });
    }
    std::vector<System> systems;
    for (const auto& row : rows) {
        if (row.empty()) continue;
        System& system = systems.emplace_back(System{air.pressure_kpa, {}, std::nullopt});
        for (const std::size_t i : row) system.tanks.push_back(tanks[i]);
    }
    for (const Loop& loop : description.loops) {
        System system{air.pressure_kpa, {}, loop};
        for (const Tank& tank : tanks) {
            if (tank.loop && tank.loop->name == loop.name) system.tanks.push_back(tank);
        }
        systems.push_back(std::move(system));
    }
    return systems;
}

Assessment assess(const Description& description) {
    Assessment assessment{.air = site_pressure(description.site), .tanks = {}, .loops = {}};
    // Of one name the places in order: a description that nobody validated may have it twice.
    std::unordered_map<std::string_view, std::vector<std::size_t>> places;
    for (std::size_t i = description.tanks.size(); i-- > 0;) {
        places[description.tanks[i].name].push_back(i);
    }
    for (const Tank& tank : description.tanks) {
        // Stays so, without a check, where its loop is not described.
        assessment.tanks.emplace_back().tank = tank.name;
    }
    for (const System& system : systems_of(description)) {
        SystemBudget budget = assess_system(system);
        for (TankBudget& tank : budget.tanks) {
            std::vector<std::size_t>& left = places.at(tank.tank);
            if (left.empty()) continue;
            const std::size_t at = left.back();
            left.pop_back();
            assessment.tanks[at] = std::move(tank);
        }
        if (budget.loop) assessment.loops.push_back(std::move(*budget.loop));
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
