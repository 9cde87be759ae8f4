#include "steps.hpp"

#include <algorithm>

#include "changes.hpp"

namespace coldtank {
namespace {

constexpr std::int64_t kHighestFallTenths = 30;  // of a description: 3 m

// The exponent that leaves so many digits: 0 for 35 and two digits.
int exponent_of(double value, int digits) {
    return static_cast<int>(std::floor(std::log10(value))) + 1 - digits;
}

// From `present` to kReach times as much.
Steps upwards(Action action, std::string_view unit, double present) {
    const int exponent = exponent_of(present, 2);
    const double units = present / std::pow(10, exponent);
    const std::int64_t first = rounded_down(units);
    return {action, unit, first, 1, exponent, rounded_down(kReach * units) - first};
}

// From nothing more to kReach times `scale` more.
Steps more(Action action, std::string_view unit, double scale) {
    const int exponent = exponent_of(scale, 2);
    return {action, unit, 0, 1, exponent, rounded_down(kReach * scale / std::pow(10, exponent))};
}

// From `present` to nothing.
Steps downwards(Action action, std::string_view unit, double present) {
    const int exponent = exponent_of(present, 3);
    const std::int64_t first = rounded_up(present / std::pow(10, exponent));
    return {action, unit, first, -1, exponent, first};
}

// Cheapest first, netting fish late.
std::vector<Steps> tank_changes_for(CheckId check, const Tank& tank, const TankBudget& budget) {
    std::vector<Steps> all;
    const bool excess = check == CheckId::oxygen_excess;
    const bool by_stock = check == CheckId::oxygen || check == CheckId::oxygen_reserve ||
                          check == CheckId::ammonia || check == CheckId::total_ammonia ||
                          check == CheckId::carbon_dioxide;
    if ((by_stock || check == CheckId::ration) && budget.ration_g_day > 0) {
        all.push_back(downwards(Action::cut_ration, "g/day", budget.ration_g_day));
    }
    const double gap_g_h = oxygen_gap_g_h(budget);
    if (by_stock || excess) {
        if (const double air = air_flow_l_min(tank.aeration); air > 0) {
            all.push_back(more(Action::add_air, "L/min", air));
        } else if (gap_g_h > 0) {
            all.push_back(more(Action::add_aerator, "g/h", gap_g_h));
        }
    }
    if ((by_stock || excess || check == CheckId::exchange) && budget.flow_m3_h > 0) {
        all.push_back(upwards(Action::raise_flow, "L/min", supply_flow_l_min(tank)));
        // In tenths of a metre, up to the highest fall that the model knows.
        if (by_stock || excess)
            all.push_back({Action::add_fall, "m", 0, 1, -1, kHighestFallTenths});
    } else if ((by_stock || check == CheckId::exchange) && !tank.loop) {
        // As a flow that turns the tank over once an hour.
        all.push_back(more(Action::add_inflow, "L/min", tank.volume_l / 60));
    }
    if (by_stock && gap_g_h > 0) {
        all.push_back(more(Action::add_oxygen, "L/min", as_oxygen_l_min(gap_g_h, tank)));
    }
    if ((by_stock || check == CheckId::density) && budget.fish_count > 1) {
        all.push_back({Action::take_out_fish, "fish", 0, 1, 0, rounded_up(budget.fish_count) - 1});
    }
    // A loop is not cooled by one tank.
    if ((by_stock && !tank.loop) || check == CheckId::temperature || check == CheckId::ration) {
        // In tenths of a degree, what a thermometer shows.
        const TankLimits limits = limits_of(tank);
        const double mean = budget.temperature_c;
        const double low = limits.temperature_low_warn_c.value_or(kTemperatureRange.low);
        const double high = limits.temperature_warn_c.value_or(kTemperatureRange.high);
        if (mean > low) {
            const std::int64_t first = rounded_up(10 * mean);
            const std::int64_t last = rounded_up(10 * std::max(low, mean - kCoolingReach));
            all.push_back({Action::cool, "degC", first, -1, -1, first - last});
        } else if (check == CheckId::temperature) {
            const std::int64_t first = rounded_down(10 * mean);
            all.push_back({Action::warm, "degC", first, 1, -1, rounded_down(10 * high) - first});
        }
    }
    if (const double oxygen = oxygen_flow_l_min(tank); excess && oxygen > 0) {
        all.push_back(downwards(Action::cut_oxygen, "L/min", oxygen));
    }
    if (by_stock || check == CheckId::density) {
        all.push_back(upwards(Action::enlarge, "L", tank.volume_l));
    }
    return all;
}

std::vector<Steps> loop_changes_for(CheckId check, const Loop& loop, const LoopBudget& budget) {
    std::vector<Steps> all;
    const bool filter = check == CheckId::biofilter;
    if ((filter || check == CheckId::loop_flow || check == CheckId::nitrate) &&
        budget.feed_g_day > 0) {
        all.push_back(downwards(Action::cut_ration, "g/day", budget.feed_g_day));
    }
    if (filter && loop.biofilter) {
        if (const double area = loop.biofilter->media_area_m2.value_or(0); area > 0) {
            all.push_back(more(Action::add_media, "m2", area));
        }
        if (const double removal = loop.biofilter->removal_g_day.value_or(0); removal > 0) {
            all.push_back(more(Action::add_removal, "g/day", removal));
        }
    }
    if (check == CheckId::loop_flow && budget.flow_m3_h > 0) {
        all.push_back(upwards(Action::raise_round, "L/min", budget.flow_m3_h * 1000 / 60));
    }
    if (filter || check == CheckId::nitrate) {
        if (budget.exchange_m3_day > 0) {
            all.push_back(upwards(Action::raise_exchange, "L/day", loop.exchange_l_day));
        } else if (budget.volume_m3 > 0) {
            // Up to the whole water ten times a day.
            Steps steps = more(Action::raise_exchange, "L/day", budget.volume_m3 * 1000);
            all.push_back(steps);
        }
    }
    if (loop.plants && check == CheckId::nitrate) {
        all.push_back(upwards(Action::change_bed, "m2", loop.plants->bed_area_m2));
    }
    if (loop.plants && check == CheckId::plants && budget.feed_g_day > 0) {
        // A bed may be too big as well as too small: no further than to its other limit.
        const Check& plants = *find_check(budget, CheckId::plants);
        const double bed_m2 = loop.plants->bed_area_m2;
        const double fed_g_day = *plants.value * bed_m2;
        const bool small = *plants.value > *plants.warn.high;
        Steps steps = small ? upwards(Action::change_bed, "m2", bed_m2)
                            : downwards(Action::change_bed, "m2", bed_m2);
        const double last_m2 = fed_g_day / (small ? *plants.warn.low : *plants.warn.high);
        const double last =
            last_m2 / std::pow(10, steps.exponent) - static_cast<double>(steps.first);
        steps.count = std::min(steps.count, rounded_down(std::abs(last)));
        all.push_back(steps);
    }
    return all;
}

}  // namespace

double oxygen_gap_g_h(const TankBudget& budget) noexcept {
    return budget.oxygen.demand_peak_g_h + std::abs(budget.oxygen.supply_g_h);
}

double supply_flow_l_min(const Tank& tank) noexcept {
    return tank.inflow ? tank.inflow->flow_l_min : tank.loop ? tank.loop->flow_l_min : 0;
}

double as_oxygen_l_min(double gap_g_h, const Tank& tank) noexcept {
    const Aerator unit{{}, {}, {}, PureOxygen{1, kAddedAbsorption}};
    return gap_g_h / pure_oxygen_g_h(unit, tank.coefficients);
}

std::vector<Steps> changes_for(CheckId check, const Planned& planned, Part part) {
    return part.tank ? tank_changes_for(check, planned.system.tanks[*part.tank],
                                        planned.budget.tanks[*part.tank])
                     : loop_changes_for(check, *planned.system.loop, *planned.budget.loop);
}

}  // namespace coldtank
