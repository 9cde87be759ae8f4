// The waters that flow into a tank: new ones, and those of tanks above it.
#include <algorithm>
#include <cmath>
#include <set>
#include <string_view>
#include <unordered_map>

#include "balance.hpp"
#include "formulas.hpp"

namespace coldtank {
namespace {

// One inflow alone.
SupplyWater water_of(const Inflow& inflow, const Tank& tank, double pressure_kpa) {
    SupplyWater water;
    const double saturation_mg_l =
        oxygen_saturation_mg_l(water_at(tank, tank.water.temperature_c, pressure_kpa));
    const double saturation_peak_mg_l =
        oxygen_saturation_mg_l(water_at(tank, peak_temperature(tank), pressure_kpa));
    water.flow_m3_h = formulas::flow_m3_h(inflow.flow_l_min);
    water.oxygen_mg_l = inflow.oxygen_percent ? *inflow.oxygen_percent / 100 * saturation_mg_l
                                              : inflow.oxygen_mg_l.value_or(0);
    water.oxygen_peak_mg_l = water.oxygen_mg_l * (saturation_peak_mg_l / saturation_mg_l);
    water.oxygen_resting_mg_l = water.oxygen_mg_l;
    water.going_on_mg_l = water.kept_mg_l = water.oxygen_peak_mg_l;
    water.kept_flow_m3_h = inflow.keeps_flowing ? water.flow_m3_h : 0;
    water.tan_mg_l = inflow.tan_mg_l.value_or(0);
    water.chlorine_mg_l = inflow.chlorine_mg_l;
    water.carbon_dioxide_mg_l = inflow.carbon_dioxide_mg_l;
    const bool by_ph = inflow.ph && inflow.alkalinity_mg_l && *inflow.ph <= kPhDoubtHigh;
    if (by_ph && !inflow.carbon_dioxide_mg_l) {
        water.carbon_dioxide_mg_l = if_number(
            carbon_dioxide_mg_l({tank.water.temperature_c, *inflow.alkalinity_mg_l}, *inflow.ph));
        water.ph_contradicts_alkalinity = !water.carbon_dioxide_mg_l;
    }
    water.kept_carbon_dioxide_mg_l = water.carbon_dioxide_mg_l.value_or(0);
    return water;
}

SupplyWater water_of(const Inflow& inflow, std::span<const Outflow> above) {
    SupplyWater water;
    water.flow_m3_h = formulas::flow_m3_h(inflow.flow_l_min);
    // The one just above stands last, mostly.
    const auto at = std::find_if(above.rbegin(), above.rend(), [&](const Outflow& outflow) {
        return outflow.tank == inflow.from;
    });
    if (at == above.rend()) {
        water.oxygen_mg_l = water.oxygen_peak_mg_l = water.tan_mg_l = kNotANumber;
        return water;
    }
    water.oxygen_mg_l = at->oxygen_mg_l;
    water.oxygen_peak_mg_l = at->oxygen_peak_mg_l;
    water.oxygen_resting_mg_l = at->oxygen_resting_mg_l;
    water.tan_mg_l = at->tan_mg_l;
    water.chlorine_mg_l = at->chlorine_mg_l;
    water.carbon_dioxide_mg_l = at->carbon_dioxide_mg_l;
    water.carbon_dioxide_is_least = at->carbon_dioxide_is_least;
    if (inflow.carbon_dioxide_mg_l) {  // of a plan, which starts from a reading
        water.carbon_dioxide_mg_l = inflow.carbon_dioxide_mg_l;
        water.carbon_dioxide_is_least = false;
    }
    water.going_on_mg_l = at->going_on_mg_l;
    water.kept_flow_m3_h = inflow.keeps_flowing ? water.flow_m3_h * at->kept_share : 0;
    water.kept_mg_l = at->kept_mg_l;
    water.kept_carbon_dioxide_mg_l = at->kept_carbon_dioxide_mg_l;
    return water;
}

double blend(double a_m3_h, double a, double b_m3_h, double b) {
    return a_m3_h == 0 ? b : b_m3_h == 0 ? a : (a_m3_h * a + b_m3_h * b) / (a_m3_h + b_m3_h);
}

// What is not known is taken as air leaves it.
void mix(const SupplyWater& more, double in_air_mg_l, SupplyWater& into) {
    if (into.flow_m3_h == 0) {
        into = more;
        return;
    }
    const auto blended = [&](double a, double b) {
        return blend(into.flow_m3_h, a, more.flow_m3_h, b);
    };
    into.oxygen_mg_l = blended(into.oxygen_mg_l, more.oxygen_mg_l);
    into.oxygen_peak_mg_l = blended(into.oxygen_peak_mg_l, more.oxygen_peak_mg_l);
    into.oxygen_resting_mg_l = blended(into.oxygen_resting_mg_l, more.oxygen_resting_mg_l);
    into.going_on_mg_l = blended(into.going_on_mg_l, more.going_on_mg_l);
    into.tan_mg_l = blended(into.tan_mg_l, more.tan_mg_l);
    if (into.carbon_dioxide_mg_l || more.carbon_dioxide_mg_l) {
        into.carbon_dioxide_is_least = into.carbon_dioxide_is_least ||
                                       more.carbon_dioxide_is_least || !into.carbon_dioxide_mg_l ||
                                       !more.carbon_dioxide_mg_l;
        into.carbon_dioxide_mg_l = blended(into.carbon_dioxide_mg_l.value_or(in_air_mg_l),
                                           more.carbon_dioxide_mg_l.value_or(in_air_mg_l));
    }
    if (into.chlorine_mg_l || more.chlorine_mg_l) {
        into.chlorine_mg_l =
            blended(into.chlorine_mg_l.value_or(0), more.chlorine_mg_l.value_or(0));
    }
    into.kept_mg_l =
        blend(into.kept_flow_m3_h, into.kept_mg_l, more.kept_flow_m3_h, more.kept_mg_l);
    into.kept_carbon_dioxide_mg_l = blend(into.kept_flow_m3_h, into.kept_carbon_dioxide_mg_l,
                                          more.kept_flow_m3_h, more.kept_carbon_dioxide_mg_l);
    into.kept_flow_m3_h += more.kept_flow_m3_h;
    into.ph_contradicts_alkalinity =
        into.ph_contradicts_alkalinity || more.ph_contradicts_alkalinity;
    into.flow_m3_h += more.flow_m3_h;
}

// The lowest that a tank comes to without power, on so much water of so much oxygen before falls.
double lowest_without_power_mg_l(const Tank& tank, const TankBudget& budget, double flow_m3_h,
                                 double inflow_mg_l) {
    if (flow_m3_h == 0) return 0;
    const double demand_g_h = budget.reserve ? budget.reserve->demand_g_h : 0;
    double start_mg_l = budget.oxygen.saturation_peak_mg_l;
    for (const auto& known : {budget.oxygen.measured_mg_l, tank.readings.lowest_oxygen_mg_l,
                              budget.oxygen.lowest_mg_l}) {
        if (known) start_mg_l = smaller_of(start_mg_l, *known);
    }
    const double steady_mg_l = after_falls_mg_l(tank, budget, inflow_mg_l) - demand_g_h / flow_m3_h;
    return not_below_zero(smaller_of(start_mg_l, steady_mg_l));
}

// Of each tank the positions of those that its water comes from.
std::vector<std::vector<std::size_t>> above_of(std::span<const Tank> tanks) {
    std::vector<std::vector<std::size_t>> above(tanks.size());
    std::unordered_map<std::string_view, std::size_t> by_name;
    for (std::size_t i = 0; i < tanks.size(); ++i) {
        for (const Inflow& inflow : tanks[i].inflow) {
            if (inflow.from.empty()) continue;
            if (by_name.empty()) {
                for (std::size_t j = 0; j < tanks.size(); ++j) by_name.emplace(tanks[j].name, j);
            }
            const auto at = by_name.find(inflow.from);
            if (at != by_name.end()) above[i].push_back(at->second);
        }
    }
    return above;
}

}  // namespace

double flow_l_min_of(const Tank& tank) noexcept {
    if (tank.loop) return tank.loop->flow_l_min;
    double sum = 0;
    for (const Inflow& inflow : tank.inflow) sum += inflow.flow_l_min;
    return sum;
}

SupplyWater inflow_supply(const Tank& tank, const SitePressure& air,
                          std::span<const Outflow> above) {
    SupplyWater supply;
    std::vector<InflowPart> parts;
    const bool several =
        tank.inflow.size() > 1 || (!tank.inflow.empty() && !tank.inflow.front().from.empty());
    const double in_air_mg_l =
        several ? carbon_dioxide_in_air_mg_l(
                      water_at(tank, peak_temperature(tank), air.pressure_kpa), tank.coefficients)
                : 0;
    for (const Inflow& inflow : tank.inflow) {
        if (inflow.flow_l_min == 0) continue;
        const SupplyWater water = inflow.from.empty() ? water_of(inflow, tank, air.pressure_kpa)
                                                      : water_of(inflow, above);
        if (several) {
            parts.push_back({inflow.from, water.flow_m3_h, water.oxygen_mg_l,
                             water.oxygen_peak_mg_l, water.tan_mg_l, water.carbon_dioxide_mg_l,
                             water.kept_flow_m3_h});
        }
        mix(water, in_air_mg_l, supply);
    }
    supply.parts = std::move(parts);
    return supply;
}

Outflow outflow_of(const Tank& tank, const SupplyWater& supply, const TankBudget& budget) {
    Outflow outflow{};
    outflow.tank = tank.name;
    const OxygenBudget& oxygen = budget.oxygen;
    outflow.oxygen_mg_l = oxygen.steady_in_balance_mg_l.value_or(kNotANumber);
    outflow.oxygen_peak_mg_l = oxygen.lowest_in_balance_mg_l.value_or(kNotANumber);
    outflow.oxygen_resting_mg_l = oxygen.resting_in_balance_mg_l.value_or(kNotANumber);
    if (const auto measured = oxygen.measured_mg_l) {
        outflow.oxygen_resting_mg_l = larger_of(outflow.oxygen_resting_mg_l, *measured);
    }
    if (const auto measured = oxygen.measured_mg_l) {
        outflow.oxygen_mg_l = smaller_of(outflow.oxygen_mg_l, *measured);
        outflow.oxygen_peak_mg_l = smaller_of(outflow.oxygen_peak_mg_l, *measured);
    }
    outflow.tan_mg_l =
        larger_of(budget.ammonia.tan_mg_l, budget.ammonia.measured_tan_mg_l).value_or(kNotANumber);
    const CarbonDioxideBudget& co2 = budget.carbon_dioxide;
    const auto read =
        larger_of(co2.from_ph_judged ? co2.from_ph_mg_l : std::nullopt, co2.measured_mg_l);
    outflow.carbon_dioxide_mg_l = larger_of(co2.balance_mg_l, read);
    outflow.carbon_dioxide_is_least = !co2.balance_judged && !read;
    outflow.chlorine_mg_l = supply.chlorine_mg_l;
    outflow.going_on_mg_l =
        lowest_without_power_mg_l(tank, budget, supply.flow_m3_h, supply.going_on_mg_l);
    outflow.kept_share = supply.flow_m3_h > 0 ? supply.kept_flow_m3_h / supply.flow_m3_h : 0;
    outflow.kept_mg_l =
        lowest_without_power_mg_l(tank, budget, supply.kept_flow_m3_h, supply.kept_mg_l);
    if (supply.kept_flow_m3_h > 0) {
        const double made_g_h = carbon_dioxide_from_oxygen(
            budget.reserve ? budget.reserve->demand_g_h : 0, tank.coefficients);
        outflow.kept_carbon_dioxide_mg_l =
            supply.kept_carbon_dioxide_mg_l + made_g_h / supply.kept_flow_m3_h;
    }
    return outflow;
}

std::vector<std::size_t> from_the_top(std::span<const Tank> tanks) {
    const auto above = above_of(tanks);
    std::vector<std::vector<std::size_t>> below(tanks.size());
    std::vector<std::size_t> waits_for(tanks.size());
    std::set<std::size_t> ready;
    for (std::size_t i = 0; i < tanks.size(); ++i) {
        waits_for[i] = above[i].size();
        for (const std::size_t from : above[i]) below[from].push_back(i);
        if (above[i].empty()) ready.insert(i);
    }
    std::vector<std::size_t> order;
    while (!ready.empty()) {
        const std::size_t next = *ready.begin();
        ready.erase(ready.begin());
        order.push_back(next);
        for (const std::size_t i : below[next]) {
            if (--waits_for[i] == 0) ready.insert(i);
        }
    }
    return order;
}

std::vector<std::size_t> below_of(std::span<const Tank> tanks, std::size_t tank) {
    const auto above = above_of(tanks);
    if (std::all_of(above.begin(), above.end(), [](const auto& each) { return each.empty(); })) {
        return {};
    }
    std::vector<bool> is_below(tanks.size());
    std::vector<std::size_t> found;
    for (const std::size_t i : from_the_top(tanks)) {
        is_below[i] = std::any_of(above[i].begin(), above[i].end(),
                                  [&](std::size_t from) { return from == tank || is_below[from]; });
        if (is_below[i]) found.push_back(i);
    }
    return found;
}

namespace {

using FromAbove = Water::FromAbove;

// The tanks above one, in the order of its inflows: null for new water.
std::vector<const Tank*> sources_of(const Tank& tank, std::span<const Tank> tanks,
                                    std::span<const std::size_t> above) {
    std::vector<const Tank*> sources;
    std::size_t next = 0;
    for (const Inflow& inflow : tank.inflow) {
        const bool known = !inflow.from.empty() && next < above.size();
        sources.push_back(known ? &tanks[above[next++]] : nullptr);
    }
    return sources;
}

// Mixed by flow what each of its waters is; none where none of them has it.
//   of_above, of_new: std::optional<double> of a tank above, of new water
std::optional<double> mixed(const Tank& tank, std::span<const Tank* const> sources, auto of_above,
                            auto of_new) {
    std::optional<double> sum;
    double flow_l_min = 0;
    for (std::size_t i = 0; i < sources.size(); ++i) {
        const Inflow& inflow = tank.inflow[i];
        const std::optional<double> own =
            sources[i] != nullptr ? of_above(*sources[i]) : of_new(inflow);
        if (!own || inflow.flow_l_min == 0) continue;
        sum = blend(flow_l_min, sum.value_or(0), inflow.flow_l_min, *own);
        flow_l_min += inflow.flow_l_min;
    }
    return sum;
}

// The warmest hour of what flows in; new water is as warm as it is told, or as the tank is.
double peak_from_above_c(const Tank& tank, std::span<const Tank* const> sources) {
    return mixed(
               tank, sources,
               [](const Tank& above) { return std::optional(peak_temperature(above)); },
               [&](const Inflow& inflow) {
                   return std::optional(inflow.temperature_c.value_or(tank.water.temperature_c));
               })
        .value_or(tank.water.temperature_c);
}

void take_all(Tank& tank, std::span<const Tank* const> sources) {
    Water& water = tank.water;
    const auto told = [](const Inflow& inflow) { return inflow.temperature_c; };
    water.temperature_c =
        mixed(
            tank, sources,
            [](const Tank& above) { return std::optional(above.water.temperature_c); }, told)
            .value_or(kNotANumber);
    const auto any_above = [&](auto holds) {
        return std::any_of(sources.begin(), sources.end(),
                           [&](const Tank* above) { return above != nullptr && holds(*above); });
    };
    water.peak_temperature_c.reset();
    water.planned_peak_temperature_c.reset();
    if (any_above([](const Tank& above) { return above.water.peak_temperature_c.has_value(); })) {
        water.peak_temperature_c = peak_from_above_c(tank, sources);
    }
    if (any_above(
            [](const Tank& above) { return above.water.planned_peak_temperature_c.has_value(); })) {
        water.planned_peak_temperature_c = mixed(
            tank, sources,
            [](const Tank& above) {
                return std::optional(
                    above.water.planned_peak_temperature_c.value_or(peak_temperature(above)));
            },
            told);
    }
    water.peak_assumed = any_above([](const Tank& above) { return above.water.peak_assumed; });
    tank.readings.temperature_age_h.reset();
    bool all_read = true;
    for (const Tank* above : sources) {
        const auto age_h = above == nullptr ? std::nullopt : above->readings.temperature_age_h;
        all_read = all_read && age_h;
        tank.readings.temperature_age_h = larger_of(tank.readings.temperature_age_h, age_h);
    }
    if (!all_read) tank.readings.temperature_age_h.reset();
}

}  // namespace

void take_water_from_above(std::span<Tank> tanks) {
    if (std::none_of(tanks.begin(), tanks.end(), [](const Tank& tank) {
            return tank.water.from_above != FromAbove::nothing;
        })) {
        return;
    }
    const auto above = above_of(tanks);
    for (const std::size_t i : from_the_top(tanks)) {
        Tank& tank = tanks[i];
        if (tank.water.from_above == FromAbove::nothing) continue;
        const auto sources = sources_of(tank, tanks, above[i]);
        if (tank.water.from_above == FromAbove::all) {
            take_all(tank, sources);
            continue;
        }
        Water& water = tank.water;
        water.peak_temperature_c = larger_of(peak_from_above_c(tank, sources), water.temperature_c);
        water.planned_peak_temperature_c.reset();
        if (std::any_of(sources.begin(), sources.end(), [](const Tank* from) {
                return from != nullptr && from->water.planned_peak_temperature_c;
            })) {
            water.planned_peak_temperature_c = mixed(
                tank, sources,
                [](const Tank& from) {
                    return std::optional(
                        from.water.planned_peak_temperature_c.value_or(peak_temperature(from)));
                },
                [&](const Inflow& inflow) {
                    return std::optional(inflow.temperature_c.value_or(water.temperature_c));
                });
        }
    }
}

void warm_from_above(std::span<Tank> tanks) {
    const auto above = above_of(tanks);
    for (const std::size_t i : from_the_top(tanks)) {
        Tank& tank = tanks[i];
        const bool own = tank.readings.temperature_age_h.has_value();
        if (above[i].empty() || own || tank.water.from_above == FromAbove::all) continue;
        const double peak_c = peak_from_above_c(tank, sources_of(tank, tanks, above[i]));
        if (peak_c > peak_temperature(tank)) tank.water.peak_temperature_c = peak_c;
    }
}

void draw_from_above(std::span<Tank> tanks) {
    const auto above = above_of(tanks);
    const auto order = from_the_top(tanks);
    std::vector<double> given_l_min(tanks.size());
    for (auto at = order.rbegin(); at != order.rend(); ++at) {
        Tank& tank = tanks[*at];
        const double received_l_min = flow_l_min_of(tank);
        if (received_l_min > 0 && given_l_min[*at] > received_l_min) {
            for (Inflow& inflow : tank.inflow) {
                inflow.flow_l_min = tank.inflow.size() == 1
                                        ? given_l_min[*at]
                                        : inflow.flow_l_min * given_l_min[*at] / received_l_min;
            }
        }
        std::size_t next = 0;
        for (const Inflow& inflow : tank.inflow) {
            if (inflow.from.empty() || next >= above[*at].size()) continue;
            given_l_min[above[*at][next++]] += inflow.flow_l_min;
        }
    }
}

}  // namespace coldtank
