#include "steps.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>

#include "changes.hpp"

namespace coldtank {
namespace {

constexpr double kHighestFallM = 3;  // of a description
constexpr double kDegF = 5.0 / 9;
constexpr double kDegFZero = -32 * kDegF;
constexpr double kGallonL = 3.785411784;
constexpr double kCubicFootL = 28.316846592;
constexpr double kOunceG = 28.349523125;
constexpr double kFootM = 0.3048;
constexpr double kOxygenFlow = kCubicFootL / 60;  // ft3/h

constexpr Grid kOnes[] = {{HUGE_VAL, 1}};
constexpr Grid kHalves[] = {{HUGE_VAL, 0.5}};
constexpr Grid kQuarters[] = {{HUGE_VAL, 0.25}};
constexpr Grid kTenths[] = {{10, 0.1}, {50, 0.5}, {HUGE_VAL, 1}};
constexpr Grid kAir[] = {{20, 1}, {100, 5}, {HUGE_VAL, 10}};
constexpr Grid kAirFt3[] = {{1, 0.05}, {5, 0.25}, {HUGE_VAL, 0.5}};
constexpr Grid kWater[] = {{20, 1}, {HUGE_VAL, 5}};
constexpr Grid kWaterGal[] = {{5, 0.25}, {20, 1}, {HUGE_VAL, 5}};
constexpr Grid kRoom[] = {{1000, 50}, {HUGE_VAL, 100}};
constexpr Grid kRoomGal[] = {{250, 10}, {HUGE_VAL, 25}};
constexpr Grid kDay[] = {{100, 10}, {1000, 50}, {HUGE_VAL, 100}};
constexpr Grid kDayGal[] = {{50, 5}, {250, 10}, {HUGE_VAL, 25}};
constexpr Grid kFeed[] = {{10, 0.5}, {50, 1}, {200, 5}, {2000, 10}, {HUGE_VAL, 100}};
constexpr Grid kFeedOz[] = {{1, 0.05}, {4, 0.25}, {16, 0.5}, {160, 1}, {HUGE_VAL, 8}};
constexpr Grid kOxygenFt3[] = {{20, 0.25}, {100, 1}, {HUGE_VAL, 2}};
constexpr Grid kAreaFt2[] = {{200, 10}, {1000, 50}, {HUGE_VAL, 100}};
constexpr Grid kBed[] = {{10, 0.1}, {HUGE_VAL, 1}};
constexpr Grid kBedFt2[] = {{100, 1}, {HUGE_VAL, 10}};

// How many steps a value is, with what is a step but for its last digits.
double whole_steps(double value, double step, bool up) {
    constexpr double kSame = 1e-9;
    return up ? std::ceil(value / step - kSame) : std::floor(value / step + kSame);
}
// Steps of tenths and the like are those numbers to their last digit.
double times(double steps, double step) {
    return step < 1 ? steps / std::round(1 / step) : steps * step;
}

// From `from` to the last rung at or before `end`.
Ladder ladder(Action action, std::string_view unit, Sold sold, double from, double end) {
    Ladder out{action, unit, &steps_of(action, sold), from, end > from, 0};
    const double last = out.steps->next(end, !out.up);
    // Counted piece by piece, as at() climbs.
    std::int64_t high = 1;
    const auto beyond = [&](std::int64_t i) {
        const double value = *out.at(i).value;
        return out.up ? value > last : value < last;
    };
    while (high < (std::int64_t{1} << 40) && !beyond(high)) high *= 2;
    std::int64_t low = high / 2;
    if (high == 1) return out;
    while (high - low > 1) {
        const std::int64_t middle = low + (high - low) / 2;
        (beyond(middle) ? high : low) = middle;
    }
    out.count = low;
    return out;
}

// From nothing more to kReach times as much, or to one step.
Ladder more(Action action, std::string_view unit, Sold sold, double scale) {
    Ladder out = ladder(action, unit, sold, 0, kReach * scale);
    out.count = std::max<std::int64_t>(1, out.count);
    return out;
}

// Cheapest first, netting fish late.
std::vector<Ladder> tank_changes_for(CheckId check, const Tank& tank, const TankBudget& budget,
                                     Sold sold) {
    std::vector<Ladder> all;
    const auto add = [&](Action action, std::string_view unit, double from, double end) {
        all.push_back(ladder(action, unit, sold, from, end));
    };
    const bool excess = check == CheckId::oxygen_excess;
    const bool by_stock = check == CheckId::oxygen || check == CheckId::oxygen_reserve ||
                          check == CheckId::ammonia || check == CheckId::total_ammonia ||
                          check == CheckId::carbon_dioxide;
    if ((by_stock || check == CheckId::ration) && budget.ration_g_day > 0) {
        add(Action::cut_ration, "g/day", budget.ration_g_day, 0);
    }
    const double gap_g_h = oxygen_gap_g_h(budget);
    if (by_stock || excess) {
        if (const double air = air_flow_l_min(tank.aeration); air > 0) {
            all.push_back(more(Action::add_air, "L/min", sold, air));
        } else if (gap_g_h > 0) {
            all.push_back(more(Action::add_aerator, "g/h", sold, gap_g_h));
        }
    }
    if ((by_stock || excess || check == CheckId::exchange) && budget.flow_m3_h > 0) {
        const double flow_l_min = flow_l_min_of(tank);
        add(Action::raise_flow, "L/min", flow_l_min, kReach * flow_l_min);
        // Up to the highest fall that the model knows.
        if (by_stock || excess) add(Action::add_fall, "m", 0, kHighestFallM);
    } else if ((by_stock || check == CheckId::exchange) && !tank.loop) {
        // As a flow that turns the tank over once an hour.
        all.push_back(more(Action::add_inflow, "L/min", sold, tank.volume_l / 60));
    }
    if (by_stock && gap_g_h > 0) {
        all.push_back(more(Action::add_oxygen, "L/min", sold, as_oxygen_l_min(gap_g_h, tank)));
    }
    if ((by_stock || check == CheckId::density) && budget.fish_count > 1) {
        add(Action::take_out_fish, "fish", 0, std::ceil(budget.fish_count) - 1);
    }
    // A loop is not cooled by one tank.
    if ((by_stock && !tank.loop) || check == CheckId::temperature || check == CheckId::ration) {
        const TankLimits limits = limits_of(tank);
        const double mean = budget.temperature_c;
        const double low = limits.temperature_low_warn_c.value_or(kTemperatureRange.low);
        const double high = limits.temperature_warn_c.value_or(kTemperatureRange.high);
        if (mean > low) {
            add(Action::cool, "degC", mean, std::max(low, mean - kCoolingReach));
        } else if (check == CheckId::temperature) {
            add(Action::warm, "degC", mean, high);
        }
    }
    if (const double oxygen = oxygen_flow_l_min(tank); excess && oxygen > 0) {
        add(Action::cut_oxygen, "L/min", oxygen, 0);
    }
    if (by_stock || check == CheckId::density) {
        add(Action::enlarge, "L", tank.volume_l, kReach * tank.volume_l);
    }
    return all;
}

std::vector<Ladder> loop_changes_for(CheckId check, const Loop& loop, const LoopBudget& budget,
                                     Sold sold) {
    std::vector<Ladder> all;
    const auto add = [&](Action action, std::string_view unit, double from, double end) {
        all.push_back(ladder(action, unit, sold, from, end));
    };
    const bool filter = check == CheckId::biofilter;
    if ((filter || check == CheckId::loop_flow || check == CheckId::nitrate) &&
        budget.feed_g_day > 0) {
        add(Action::cut_ration, "g/day", budget.feed_g_day, 0);
    }
    if (filter && loop.biofilter) {
        if (const double area = loop.biofilter->media_area_m2.value_or(0); area > 0) {
            all.push_back(more(Action::add_media, "m2", sold, area));
        }
        if (const double removal = loop.biofilter->removal_g_day.value_or(0); removal > 0) {
            all.push_back(more(Action::add_removal, "g/day", sold, removal));
        }
    }
    if (check == CheckId::loop_flow) {
        const double flow_l_min = budget.flow_m3_h * 1000 / 60;
        add(Action::raise_round, "L/min", flow_l_min, kReach * flow_l_min);
    }
    if (filter || check == CheckId::nitrate) {
        if (budget.exchange_m3_day > 0) {
            add(Action::raise_exchange, "L/day", loop.exchange_l_day, kReach * loop.exchange_l_day);
        } else if (budget.volume_m3 > 0) {
            // Up to the whole water ten times a day.
            all.push_back(more(Action::raise_exchange, "L/day", sold, budget.volume_m3 * 1000));
        }
    }
    if (loop.plants && check == CheckId::nitrate) {
        const double bed_m2 = loop.plants->bed_area_m2;
        add(Action::change_bed, "m2", bed_m2, kReach * bed_m2);
    }
    if (loop.plants && check == CheckId::plants && budget.feed_g_day > 0) {
        // A bed may be too big as well as too small: no further than to its other limit.
        const Check& plants = *find_check(budget, CheckId::plants);
        const double bed_m2 = loop.plants->bed_area_m2;
        const double fed_g_day = *plants.value * bed_m2;
        const bool small = *plants.value > *plants.warn.high;
        const double last_m2 = fed_g_day / (small ? *plants.warn.low : *plants.warn.high);
        const double reach_m2 = small ? std::min(last_m2, kReach * bed_m2) : last_m2;
        if ((reach_m2 > bed_m2) == small) add(Action::change_bed, "m2", bed_m2, reach_m2);
    }
    return all;
}

}  // namespace

double Steps::next(double value, bool up) const {
    if (!std::isfinite(value)) return std::nan("");
    const double shown = (value - zero) / unit;
    const auto at = std::find_if(grid.begin(), grid.end(),
                                 [&](const Grid& each) { return shown < each.below; });
    return times(whole_steps(shown, at->step, up), at->step) * unit + zero;
}

const Steps& steps_of(Action action, Sold sold) {
    struct Row {
        Action action;
        Steps metric;
        Steps us;
    };
    static constexpr Row kRows[] = {{Action::take_out_fish, {kOnes}, {kOnes}},
                                    {Action::cut_ration, {kFeed}, {kFeedOz, kOunceG}},
                                    {Action::add_air, {kAir}, {kAirFt3, kCubicFootL}},
                                    {Action::add_aerator, {kAir}, {kAirFt3, kOunceG}},
                                    {Action::raise_flow, {kWater}, {kWaterGal, kGallonL}},
                                    {Action::add_fall, {kTenths}, {kQuarters, kFootM}},
                                    {Action::add_inflow, {kWater}, {kWaterGal, kGallonL}},
                                    {Action::cool, {kHalves}, {kHalves, kDegF, kDegFZero}},
                                    {Action::warm, {kHalves}, {kHalves, kDegF, kDegFZero}},
                                    {Action::add_oxygen, {kTenths}, {kOxygenFt3, kOxygenFlow}},
                                    {Action::cut_oxygen, {kTenths}, {kOxygenFt3, kOxygenFlow}},
                                    {Action::enlarge, {kRoom}, {kRoomGal, kGallonL}},
                                    {Action::add_media, {kAir}, {kAreaFt2, kFootM * kFootM}},
                                    {Action::add_removal, {kAir}, {kFeedOz, kOunceG}},
                                    {Action::raise_exchange, {kDay}, {kDayGal, kGallonL}},
                                    {Action::raise_round, {kWater}, {kWaterGal, kGallonL}},
                                    {Action::change_bed, {kBed}, {kBedFt2, kFootM * kFootM}}};
    static constexpr Steps kPlain{kOnes};
    for (const Row& row : kRows) {
        if (row.action == action) return sold == Sold::us ? row.us : row.metric;
    }
    return kPlain;
}

Remedy Ladder::at(std::int64_t i) const {
    const auto& grid = steps->grid;
    double value = (from - steps->zero) / steps->unit;
    auto left = static_cast<double>(i);
    const auto there = [&](double shown) {
        return Remedy{action, shown * steps->unit + steps->zero, unit, {}, {}};
    };
    if (up) {
        for (const Grid& piece : grid) {
            if (value >= piece.below) continue;
            const double first = whole_steps(value, piece.step, false);
            const double last = whole_steps(piece.below, piece.step, false);
            if (first + left <= last) return there(times(first + left, piece.step));
            left -= last - first;
            value = piece.below;
        }
        return there(std::nan(""));  // no rung: the last piece has no end
    }
    for (auto piece = grid.rbegin(); piece != grid.rend(); ++piece) {
        const double end = std::next(piece) == grid.rend() ? -HUGE_VAL : std::next(piece)->below;
        if (value <= end) continue;
        const double first = whole_steps(value, piece->step, true);
        const double last = whole_steps(end, piece->step, true);
        if (first - left >= last) return there(times(first - left, piece->step));
        left -= first - last;
        value = end;
    }
    return there(std::nan(""));
}

double oxygen_gap_g_h(const TankBudget& budget) noexcept {
    return budget.oxygen.demand_peak_g_h + std::abs(budget.oxygen.supply_g_h);
}

double as_oxygen_l_min(double gap_g_h, const Tank& tank) noexcept {
    const Aerator unit{{}, {}, {}, PureOxygen{1, kAddedAbsorption}};
    return gap_g_h / pure_oxygen_g_h(unit, tank.coefficients);
}

std::vector<Ladder> changes_for(CheckId check, const Planned& planned, Part part, Sold sold) {
    return part.tank ? tank_changes_for(check, planned.system.tanks[*part.tank],
                                        planned.budget.tanks[*part.tank], sold)
                     : loop_changes_for(check, *planned.system.loop, *planned.budget.loop, sold);
}

}  // namespace coldtank
