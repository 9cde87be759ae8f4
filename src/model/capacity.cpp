#include "coldtank/capacity.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <iterator>

#include "balance.hpp"
#include "changes.hpp"
#include "halve.hpp"

namespace coldtank {
namespace {

constexpr Constant kOxygenPerFeedLow{"oxygen by feed, least", 222, "g/kg", Basis::published,
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
    // What is unchecked stands in the answer by itself; it may warn when there are more.
    return check.status < (level == Level::warn ? Status::warn : Status::fail);
}

// The budget of one tank, or of all of a system, with so many fish in it.
using Stocked = std::function<SystemBudget(double count)>;

// The filter's capacity, not its age or the cold, is what stock decides.
bool filter_keeps(const LoopBudget& loop, Level level) {
    const Check& check = *find_check(loop, CheckId::biofilter);
    if (!check.value) return false;
    const bool starved = check.status == Status::fail && *check.value <= *check.fail.high;
    const double limit = level == Level::warn ? *check.warn.high : *check.fail.high;
    return !starved && *check.value <= limit;
}

bool loop_keeps(const LoopBudget& loop, CheckId id, Level level) {
    return id == CheckId::biofilter ? filter_keeps(loop, level)
                                    : keeps(*find_check(loop, id), level);
}

// A stock check: of a tank, or of the loop.
struct Judged {
    CheckId id;
    std::optional<std::size_t> tank;

    bool keeps_limit(const SystemBudget& budget, Level level) const {
        return tank ? keeps(*find_check(budget.tanks[*tank], id), level)
                    : loop_keeps(*budget.loop, id, level);
    }
};

// The largest whole count up to which these checks keep their limits. More fish never help any of
// them, so the counts that pass are 1..N: double until one fails, then halve.
double largest_count(const Stocked& stocked, std::span<const Judged> checks, Level level) {
    const auto passes = [&](double count) {
        const SystemBudget budget = stocked(count);
        return std::all_of(checks.begin(), checks.end(),
                           [&](const Judged& check) { return check.keeps_limit(budget, level); });
    };
    double low = 0;
    double high = 1;
    while (high < kMostFish && passes(high)) {
        low = high;
        high *= 2;
    }
    return last_whole(low, high, passes);
}

bool is_stock_check(CheckId id) {
    return info_of(id).decides == Decides::stock && info_of(id).owner == Owner::tank;
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
            change_aerators<Diffuser>(tank, [&](Diffuser& diffuser) {
                const double percent = transfer_percent_per_m(diffuser, tank.coefficients);
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

Tank stocked_with(const Tank& tank, double count) {
    Tank stocked = without_todays_readings(tank);
    scale_fish(stocked, count / fish_in(tank));
    return stocked;
}

Tank varied(const Tank& tank, const Variation& variation) {
    Tank changed = tank;
    if (variation.temperature_c) {
        changed.water.temperature_c = *variation.temperature_c;
        changed.water.peak_temperature_c = *variation.temperature_c;
        changed.water.from_above = Water::FromAbove::nothing;
    }
    if (fish_in(changed) == 0 && variation.species && variation.mean_weight_g) {
        FishGroup& group = changed.fish.emplace_back();
        group.count = 1;
        group.mean_weight_g = *variation.mean_weight_g;
        std::erase_if(changed.fish, [](const FishGroup& each) { return each.count == 0; });
    }
    for (FishGroup& group : changed.fish) {
        if (variation.species) {
            group.species = *variation.species;
            group.species_name = variation.species_name;
            group.usual_species = variation.usual_species;
        }
        if (variation.mean_weight_g) {
            group.mean_weight_g = *variation.mean_weight_g;
            group.ration_g_day.reset();
        }
    }
    if (variation.mean_weight_g) {
        changed.feed.ration_g_day.reset();
        changed.feed.ration_percent_day.reset();
        changed.feed.fasted_h.reset();
    }
    return changed;
}

namespace {

// Whether a check of the loop is one that stock decides.
bool is_loop_stock_check(CheckId id) {
    return info_of(id).decides == Decides::stock && info_of(id).owner != Owner::tank;
}

// What water carries down: the stock checks of tanks below that more fish above can break.
std::vector<Judged> judged_below(std::span<const std::size_t> below, const SystemBudget& one) {
    std::vector<Judged> judged;
    for (const std::size_t tank : below) {
        for (const Check& check : one.tanks[tank].checks) {
            // What cannot be judged yet may warn when there are more.
            if (is_stock_check(check.id) && check.id != CheckId::density) {
                judged.push_back({check.id, tank});
            }
        }
    }
    return judged;
}

// `tanks`: the places in what it answers of those that have fish; `below`, of those that get their
// water.
TankCapacity search(const std::string& name, const Stocked& stocked,
                    std::span<const std::size_t> tanks, std::span<const std::size_t> below,
                    double kg_per_fish, Level level, Detail detail) {
    TankCapacity capacity{};
    capacity.tank = name;
    const auto stock = [&](double count) { return Stock{count, count * kg_per_fish}; };
    const SystemBudget one = stocked(1);
    std::vector<Judged> judged;
    bool any_checked = false;
    for (const std::size_t tank : tanks) {
        const TankBudget& budget = one.tanks[tank];
        if (find_check(budget, CheckId::oxygen)->exhausted && budget.flow_m3_h == 0 &&
            budget.transfer_peak_m3_h == 0) {
            capacity.no_supply = true;
        }
        for (const Check& check : budget.checks) {
            if (!is_stock_check(check.id)) {
                capacity.wrong_temperature =
                    capacity.wrong_temperature ||
                    (check.id == CheckId::temperature && !keeps(check, level));
                if (check.status >= Status::warn && check.id != CheckId::input_doubt) {
                    capacity.not_by_stock.push_back(check.id);
                }
                continue;
            }
            if (check.status == Status::unchecked) {
                capacity.unchecked.push_back(check.id);
            } else {
                any_checked = true;
            }
            judged.push_back({check.id, tank});
        }
    }
    if (one.loop) {
        for (const Check& check : one.loop->checks) {
            if (is_loop_stock_check(check.id)) {
                // More fish may warn of what cannot be judged yet.
                any_checked = any_checked || check.status != Status::unchecked;
                judged.push_back({check.id, std::nullopt});
            } else if (check.status >= Status::warn && check.id != CheckId::plants &&
                       check.id != CheckId::input_doubt) {
                capacity.not_by_stock.push_back(check.id);
            }
        }
    }
    if (!any_checked) return capacity;
    const std::vector<Judged> of_below = judged_below(below, one);
    judged.insert(judged.end(), of_below.begin(), of_below.end());
    const double total = largest_count(stocked, judged, level);
    capacity.stock = stock(total);
    const SystemBudget beyond = stocked(total + 1);
    for (const Judged& check : judged) {
        if (check.keeps_limit(beyond, level)) continue;
        capacity.limited_by = check.id;
        if (check.tank && (tanks.size() > 1 ? one.tanks.size() > 1 : *check.tank != tanks[0])) {
            capacity.limited_in = beyond.tanks[*check.tank].tank;
        }
        break;
    }
    if (detail == Detail::total) return capacity;
    // Beyond all reason is no limit.
    const auto limited = [&](double count) {
        return count < kMostFish ? std::optional{stock(count)} : std::nullopt;
    };
    for (const CheckInfo& info : kChecks) {
        const CheckId id = info.id;
        if (info.decides != Decides::stock || (info.owner != Owner::tank && !one.loop)) continue;
        std::vector<Judged> of_id;
        std::copy_if(judged.begin(), judged.end(), std::back_inserter(of_id),
                     [&](const Judged& check) { return check.id == id; });
        capacity.by_check.push_back(
            {id, of_id.empty()
                     ? std::nullopt
                     : limited(id == capacity.limited_by ? total
                                                         : largest_count(stocked, of_id, level))});
    }
    return capacity;
}

}  // namespace

namespace {

// Of one tank of a system, itself in others' place.
class Place {
public:
    // The system has none of today's readings, and must outlive it.
    Place(const System& system, std::size_t index)
        : system_(system),
          index_(index),
          below_(below_of(system.tanks, index)),
          trial_(trial_of(system, index)) {}

    TankCapacity capacity_of(const Tank& tank, Level level, Detail detail) const {
        const double present = fish_in(tank);
        if (present == 0) return {.tank = tank.name, .has_fish = false};
        const double kg_per_fish = biomass_of(tank) / present;
        if (below_.empty()) {
            const Stocked stocked = [&](double count) {
                return trial_.assess_with_loop(stocked_with(tank, count));
            };
            constexpr std::size_t kOnly = 0;
            return search(tank.name, stocked, {&kOnly, 1}, {}, kg_per_fish, level, detail);
        }
        System other = system_;
        const Stocked stocked = [&](double count) {
            other.tanks[index_] = stocked_with(tank, count);
            return assess_system(other);
        };
        return search(tank.name, stocked, {&index_, 1}, below_, kg_per_fish, level, detail);
    }

private:
    const System& system_;
    std::size_t index_;
    std::vector<std::size_t> below_;
    TankTrial trial_;
};

}  // namespace

TankCapacity capacity_of(const System& system, std::size_t tank, Level level, Detail detail) {
    const System plan = without_todays_readings(system);
    return Place(plan, tank).capacity_of(plan.tanks[tank], level, detail);
}

std::vector<Check> over_by_readings(const SystemBudget& today, const SystemBudget& without,
                                    std::size_t tank, Level level) {
    std::vector<Check> over;
    for (const Check& check : today.tanks[tank].checks) {
        const bool of_readings = is_stock_check(check.id) || check.id == CheckId::nitrite ||
                                 check.id == CheckId::nitrate;
        const Check* other = find_check(without.tanks[tank], check.id);
        if (!of_readings || keeps(check, level)) continue;
        if (other == nullptr || other->status < check.status) over.push_back(check);
    }
    if (!today.loop || today.tanks[tank].flow_m3_h == 0) return over;
    for (const CheckId id : {CheckId::nitrite, CheckId::nitrate}) {
        const Check& check = *find_check(*today.loop, id);
        if (!keeps(check, level) && find_check(*without.loop, id)->status < check.status) {
            over.push_back(check);
        }
    }
    return over;
}

TankCapacity capacity_of_all(const System& system, Level level) {
    double present = 0;
    double biomass_kg = 0;
    std::vector<std::size_t> stocked_tanks;
    for (std::size_t i = 0; i < system.tanks.size(); ++i) {
        const double count = fish_in(system.tanks[i]);
        if (count == 0) continue;
        stocked_tanks.push_back(i);
        present += count;
        biomass_kg += biomass_of(system.tanks[i]);
    }
    std::string name;
    if (system.loop) name = system.loop->name;
    for (std::size_t i = 0; !system.loop && i < system.tanks.size(); ++i) {
        name += (i > 0 ? ", " : "") + system.tanks[i].name;
    }
    if (present == 0) return {.tank = name, .has_fish = false};
    const System plan = without_todays_readings(system);
    const Stocked stocked = [&](double count) {
        System other = plan;
        for (const std::size_t i : stocked_tanks) {
            other.tanks[i] = stocked_with(plan.tanks[i], count * fish_in(plan.tanks[i]) / present);
        }
        return assess_system(other);
    };
    TankCapacity capacity =
        search(name, stocked, stocked_tanks, {}, biomass_kg / present, level, Detail::each_check);
    // What several tanks say is said once.
    for (auto* list : {&capacity.not_by_stock, &capacity.unchecked}) {
        std::sort(list->begin(), list->end());
        list->erase(std::unique(list->begin(), list->end()), list->end());
    }
    return capacity;
}

FitPlan plan_fit(const System& system, std::size_t tank, double count, Sold sold) {
    Planned planned{without_todays_readings(system), {}};
    planned.system.tanks[tank] = stocked_with(planned.system.tanks[tank], count);
    planned.budget = assess_system(planned.system);
    FitPlan fit;
    std::vector<CheckId> troubled;
    const TankBudget& budget = planned.budget.tanks[tank];
    for (const Check& check : budget.checks) {
        if (!is_stock_check(check.id)) continue;
        fit.verdict = worse(fit.verdict, check.status);
        if (check.status >= Status::warn) troubled.push_back(check.id);
    }
    // Nor may it be too many for the tanks below.
    for (const Judged& check : judged_below(below_of(planned.system.tanks, tank), planned.budget)) {
        const TankBudget& of = planned.budget.tanks[*check.tank];
        const Status status = find_check(of, check.id)->status;
        if (status < Status::warn) continue;
        fit.verdict = worse(fit.verdict, status);
        if (std::find(fit.too_many_for.begin(), fit.too_many_for.end(), of.tank) ==
            fit.too_many_for.end()) {
            fit.too_many_for.push_back(of.tank);
        }
    }
    // Too warm is no place for any number of fish.
    if (const Check* temperature = find_check(budget, CheckId::temperature);
        temperature != nullptr && temperature->status >= Status::warn) {
        fit.verdict = worse(fit.verdict, temperature->status);
        troubled.push_back(CheckId::temperature);
    }
    if (const auto& loop = planned.budget.loop) {
        for (const Check& check : loop->checks) {
            if (!is_loop_stock_check(check.id)) continue;
            if (!loop_keeps(*loop, check.id, Level::warn)) {
                fit.verdict = worse(fit.verdict, Status::warn);
            }
            if (!loop_keeps(*loop, check.id, Level::fail)) fit.verdict = Status::fail;
        }
    }
    if (troubled.empty() || !fit.too_many_for.empty()) {
        fit.plan.on = std::make_shared<const Planned>(std::move(planned));
    } else {
        fit.plan = plan_together(std::move(planned), tank, troubled, sold);
    }
    return fit;
}

std::optional<CapacityRange> capacity_range(const System& system, std::size_t index, Level level) {
    const System plan = without_todays_readings(system);
    const Place place(plan, index);
    const Tank& tank = plan.tanks[index];
    const TankCapacity base = place.capacity_of(tank, level, Detail::total);
    if (!base.stock) return std::nullopt;
    const auto count = [&](const Tank& changed) {
        return count_or_zero(place.capacity_of(changed, level, Detail::total));
    };
    CapacityRange range{};
    Tank least = tank;
    Tank most = tank;
    // Fish that are not fed have only one rule.
    const bool fed = assess_tank(stocked_with(tank, 1), {}, {system.pressure_kpa}).ration_g_day > 0;
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
