#include "coldtank/capacity.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace coldtank {
namespace {

constexpr std::array kStockChecks{CheckId::oxygen,         CheckId::oxygen_reserve,
                                  CheckId::ammonia,        CheckId::total_ammonia,
                                  CheckId::carbon_dioxide, CheckId::density};

constexpr Constant kOxygenPerFeedLow{"oxygen by feed, least", 220, "g/kg", Basis::from_memory,
                                     "Willoughby 1968"};
constexpr Constant kOxygenPerFeedHigh{"oxygen by feed, most", 500, "g/kg", Basis::published,
                                      "Vinci & Summerfelt"};
constexpr Constant kPeakFactorLow{"peak over mean demand, least", 1.3, "-", Basis::published,
                                  "range 1.3-1.5"};
constexpr Constant kPeakFactorHigh{"peak over mean demand, most", 1.5, "-", Basis::published,
                                   "range 1.3-1.5"};
constexpr Constant kShareLow{"diffuser transfer over the stated, least", 0.6, "-", Basis::judgement,
                             "fouled or coarser than thought"};
constexpr Constant kShareHigh{"diffuser transfer over the stated, most", 1.6, "-", Basis::judgement,
                              "new stones, finer than thought"};

constexpr std::array kSources{kOxygenPerFeedLow, kOxygenPerFeedHigh, kPeakFactorLow,
                              kPeakFactorHigh,   kShareLow,          kShareHigh};

// More fish than any check could pass: the search ends here.
constexpr double kMostFish = 1e15;

double fish_in(const Tank& tank) {
    double count = 0;
    for (const FishGroup& group : tank.fish) count += group.count;
    return count;
}

double biomass_of(const Tank& tank) {
    double biomass_kg = 0;
    for (const FishGroup& group : tank.fish) biomass_kg += group.count * group.mean_weight_g / 1000;
    return biomass_kg;
}

bool keeps(const Check& check, Level level) {
    return level == Level::warn ? check.status == Status::pass : check.status != Status::fail;
}

TankBudget assessed(const Tank& tank, double pressure_kpa) {
    return assess_tank(tank, inflow_supply(tank, pressure_kpa), pressure_kpa);
}

// The largest whole count up to which these checks keep their limits. More fish never help any of
// them, so the counts that pass are 1..N: double until one fails, then halve.
double largest_count(const Tank& tank, double pressure_kpa, std::span<const CheckId> checks,
                     Level level) {
    const auto passes = [&](double count) {
        const TankBudget budget = assessed(stocked_with(tank, count), pressure_kpa);
        return std::all_of(checks.begin(), checks.end(),
                           [&](CheckId id) { return keeps(*find_check(budget, id), level); });
    };
    double low = 0;
    double high = 1;
    while (high < kMostFish && passes(high)) {
        low = high;
        high *= 2;
    }
    while (high - low > 1) {
        const double middle = std::floor(low + (high - low) / 2);
        (passes(middle) ? low : high) = middle;
    }
    return low;
}

bool is_stock_check(CheckId id) {
    return std::find(kStockChecks.begin(), kStockChecks.end(), id) != kStockChecks.end();
}

template <class Change>
void for_each_diffuser(Tank& tank, Change change) {
    for (Aerator& aerator : tank.aeration) {
        if (auto* diffuser = std::get_if<Diffuser>(&aerator.kind)) change(*diffuser);
    }
}

// One input at one end of its spread.
Tank with_input(Tank tank, Uncertain input, bool generous) {
    switch (input) {
        case Uncertain::demand_rule:
            // Not the larger of the two rules but one of them: by feed alone here.
            if (generous) {
                for (FishGroup& group : tank.fish) group.respiration_factor = 0;
            }
            break;
        case Uncertain::oxygen_per_feed:
            tank.feed.oxygen_per_feed_g_kg = generous ? kOxygenPerFeedLow : kOxygenPerFeedHigh;
            break;
        case Uncertain::peak_factor:
            tank.feed.peak_factor = generous ? kPeakFactorLow : kPeakFactorHigh;
            break;
        case Uncertain::diffuser_share:
            for_each_diffuser(tank, [&](Diffuser& diffuser) {
                const double percent = 100 * transfer_share(diffuser) / diffuser.depth_m;
                diffuser.bubble.reset();
                diffuser.transfer_percent_per_m = percent * (generous ? kShareHigh : kShareLow);
            });
            break;
    }
    return tank;
}

// By respiration alone: the other half of demand_rule.
Tank by_respiration(Tank tank) {
    tank.feed.oxygen_per_feed_g_kg = 0;
    return tank;
}

double count_or_zero(const TankCapacity& capacity) {
    return capacity.stock ? capacity.stock->count : 0;
}

}  // namespace

std::span<const CheckId> stock_checks() noexcept { return kStockChecks; }

Tank stocked_with(const Tank& tank, double count) {
    Tank stocked = without_todays_readings(tank);
    const double share = count / fish_in(tank);
    for (FishGroup& group : stocked.fish) {
        group.count *= share;
        if (group.ration_g_day) *group.ration_g_day *= share;
    }
    if (stocked.feed.ration_g_day) *stocked.feed.ration_g_day *= share;
    return stocked;
}

Tank varied(const Tank& tank, const Variation& variation) {
    Tank changed = tank;
    if (variation.temperature_c) {
        changed.water.temperature_c = *variation.temperature_c;
        changed.water.peak_temperature_c = *variation.temperature_c;
    }
    for (FishGroup& group : changed.fish) {
        if (variation.species) {
            group.species = *variation.species;
            group.species_name = variation.species_name;
        }
        if (variation.mean_weight_g) {
            group.mean_weight_g = *variation.mean_weight_g;
            group.ration_g_day.reset();
        }
    }
    if (variation.mean_weight_g) {
        changed.feed.ration_g_day.reset();
        changed.feed.ration_percent_day.reset();
    }
    return changed;
}

TankCapacity capacity_of(const Tank& tank, double pressure_kpa, Level level, Detail detail) {
    TankCapacity capacity{};
    capacity.tank = tank.name;
    const double present = fish_in(tank);
    if (present == 0) {
        capacity.has_fish = false;
        return capacity;
    }
    const auto stock = [&](double count) {
        return Stock{count, count * biomass_of(tank) / present};
    };
    const TankBudget one = assessed(stocked_with(tank, 1), pressure_kpa);
    capacity.no_supply = find_check(one, CheckId::oxygen)->exhausted && one.flow_m3_h == 0 &&
                         one.transfer_peak_m3_h == 0;
    std::vector<CheckId> judged;
    for (const Check& check : one.checks) {
        if (!is_stock_check(check.id)) {
            if (check.status >= Status::warn) capacity.not_by_stock.push_back(check.id);
        } else if (check.status == Status::unchecked) {
            capacity.unchecked.push_back(check.id);
        } else {
            judged.push_back(check.id);
        }
    }
    if (judged.empty()) return capacity;
    const double total = largest_count(tank, pressure_kpa, judged, level);
    capacity.stock = stock(total);
    const TankBudget beyond = assessed(stocked_with(tank, total + 1), pressure_kpa);
    for (const CheckId id : judged) {
        if (keeps(*find_check(beyond, id), level)) continue;
        capacity.limited_by = id;
        break;
    }
    if (detail == Detail::total) return capacity;
    for (const CheckId id : kStockChecks) {
        const bool counts = std::find(judged.begin(), judged.end(), id) != judged.end();
        capacity.by_check.push_back(
            {id,
             counts ? std::optional{stock(id == capacity.limited_by
                                              ? total
                                              : largest_count(tank, pressure_kpa, {&id, 1}, level))}
                    : std::nullopt});
    }
    return capacity;
}

FitPlan plan_fit(const Tank& tank, double count, double pressure_kpa) {
    FitPlan plan{stocked_with(tank, count), {}, Status::pass, {}};
    plan.budget = assessed(plan.tank, pressure_kpa);
    std::vector<CheckId> troubled;
    for (const CheckId id : kStockChecks) {
        const Check* check = find_check(plan.budget, id);
        if (check == nullptr) continue;
        plan.verdict = worse(plan.verdict, check->status);
        if (check->status >= Status::warn) troubled.push_back(id);
    }
    if (!troubled.empty()) {
        plan.remedies = plan_together(plan.tank, plan.budget, troubled, pressure_kpa);
    }
    return plan;
}

std::optional<CapacityRange> capacity_range(const Tank& tank, double pressure_kpa, Level level) {
    const TankCapacity base = capacity_of(tank, pressure_kpa, level, Detail::total);
    if (!base.stock) return std::nullopt;
    const auto count = [&](const Tank& changed) {
        return count_or_zero(capacity_of(changed, pressure_kpa, level, Detail::total));
    };
    CapacityRange range{};
    Tank least = tank;
    Tank most = tank;
    // Fish that are not fed have only one rule.
    const bool fed = assessed(stocked_with(tank, 1), pressure_kpa).ration_g_day > 0;
    for (const Uncertain input : {Uncertain::demand_rule, Uncertain::oxygen_per_feed,
                                  Uncertain::peak_factor, Uncertain::diffuser_share}) {
        if (!fed && input != Uncertain::peak_factor && input != Uncertain::diffuser_share) continue;
        Spread spread{input, count(with_input(tank, input, false)),
                      count(with_input(tank, input, true))};
        if (input == Uncertain::demand_rule) {
            spread.high = std::max(spread.high, count(by_respiration(tank)));
        }
        if (spread.low > spread.high) std::swap(spread.low, spread.high);
        if (spread.low != spread.high) range.spreads.push_back(spread);
        least = with_input(least, input, false);
        if (input != Uncertain::demand_rule) most = with_input(most, input, true);
    }
    range.low = std::min(base.stock->count, count(least));
    range.high = std::max(base.stock->count, count(by_respiration(most)));
    if (fed) {
        range.high = std::max(range.high, count(with_input(most, Uncertain::demand_rule, true)));
    }
    std::stable_sort(
        range.spreads.begin(), range.spreads.end(),
        [](const Spread& a, const Spread& b) { return a.high - a.low > b.high - b.low; });
    return range;
}

std::span<const Constant> capacity_sources() noexcept { return kSources; }

}  // namespace coldtank
