#include <algorithm>
#include <cmath>

#include "changes.hpp"
#include "halve.hpp"
#include "season_days.hpp"

namespace coldtank {

using namespace season_days;

namespace {

// What fewer fish make worse, and a slip of the pen, tell nothing of how many there may be.
bool stands_aside(CheckId check) {
    return check == CheckId::input_doubt || check == CheckId::plants ||
           check == CheckId::oxygen_excess;
}

}  // namespace

std::vector<SeasonStock> plan_season(const System& system, std::span<const std::size_t> tanks,
                                     const SeasonInput& season,
                                     std::span<const double> temperatures, Level level) {
    struct Stocking {
        std::size_t tank;
        double present = 0;
        bool open = true;    // fish can live there
        bool fails = false;  // with a single fish
        SeasonStock plan = {};
        // Taken out in time.
        bool gone(Day day) const { return plan.last_safe && *plan.last_safe < day; }
    };
    std::vector<Stocking> stockings;
    for (const std::size_t tank : tanks) {
        Stocking& stocking = stockings.emplace_back(Stocking{.tank = tank});
        for (const FishGroup& group : system.tanks[tank].fish) stocking.present += group.count;
        stocking.open = stocking.present > 0;
    }
    // The fullest of those that are open.
    const auto most = [&] {
        double out = 0;
        for (const Stocking& each : stockings) {
            if (each.open) out = std::max(out, each.present);
        }
        return out;
    };
    const auto count_of = [&](const Stocking& each, double of_fullest) {
        return std::max(1.0, std::floor(of_fullest * each.present / most()));
    };
    const Growth growth(system, season, temperatures);
    // `look` at each day of a system until it has seen enough.
    const auto each_day = [&](const System& tried, auto look) {
        Counts counts(tried, season, growth);
        Days days(tried, season, temperatures, growth);
        for (std::size_t at = 0; at < growth.days(); ++at) {
            counts.to(at);
            for (const Stocking& each : stockings) {
                if (each.gone(season.start + static_cast<Day>(at))) counts.empty(each.tank);
            }
            if (!look(season.start + static_cast<Day>(at), at, days.judged(at, counts))) return;
        }
    };
    // So many fish in the fullest at the start, in the others in proportion, at least one.
    const auto stocked = [&](double of_fullest) {
        System tried = system;
        for (const Stocking& each : stockings) {
            if (each.present == 0) continue;
            const double count = each.open ? count_of(each, of_fullest) : 0;
            scale_fish(tried.tanks[each.tank], count / each.present);
        }
        return tried;
    };
    const auto answer = [&] {
        std::vector<SeasonStock> out;
        for (Stocking& each : stockings) {
            for (std::size_t i = 0; i < system.tanks.size(); ++i) {
                const Tank& tank = system.tanks[i];
                if (i == each.tank || tank.fish.empty()) continue;
                const auto other = std::find_if(stockings.begin(), stockings.end(),
                                                [&](const Stocking& one) { return one.tank == i; });
                (other == stockings.end()  ? each.plan.as_they_are
                 : other->plan.count() > 0 ? each.plan.in_proportion_with
                                           : each.plan.left_empty)
                    .push_back(tank.name);
            }
        }
        for (Stocking& each : stockings) out.push_back(std::move(each.plan));
        return out;
    };
    // Heat that kills is said first: nothing helps there. The fish as described: thinning may take
    // them out in time.
    std::vector<std::optional<Day>> too_warm(system.tanks.size());
    each_day(system, [&](Day day, std::size_t /*at*/, const SystemBudget& budget) {
        for (Stocking& each : stockings) {
            const Check& check = *find_check(budget.tanks[each.tank], CheckId::temperature);
            if (each.present == 0 || too_warm[each.tank] || check.status != Status::fail ||
                is_cold(check)) {
                continue;
            }
            too_warm[each.tank] = day;
        }
        return true;
    });
    for (Stocking& each : stockings) {
        const std::optional<Day>& day = too_warm[each.tank];
        if (!day) continue;
        each.plan.stopped_by = CheckId::temperature;
        each.plan.date = *day;
        each.plan.last_safe = *day - 1;
        each.open = *day > season.start;
    }
    // What each check comes to with one fish, day by day: worse than that and over its limit is
    // what more fish do.
    std::vector<SystemBudget> with_one;
    each_day(stocked(1), [&](Day day, std::size_t /*at*/, SystemBudget budget) {
        for (Stocking& each : stockings) {
            if (!each.open || each.gone(day)) continue;
            SeasonStock& plan = each.plan;
            const auto look = [&](const std::vector<Check>& checks) {
                for (const Check& check : checks) {
                    if (check.status == Status::unchecked &&
                        info_of(check.id).decides == Decides::stock) {
                        add_once(plan.unchecked, check.id);
                    }
                    if (!breaks(check, level) || stands_aside(check.id)) continue;
                    if (!plan.not_by_stock_from) plan.not_by_stock_from = day;
                    add_once(plan.not_by_stock, check.id);
                    each.fails = each.fails || check.status == Status::fail;
                }
            };
            look(budget.tanks[each.tank].checks);
            if (budget.loop) look(budget.loop->checks);
        }
        with_one.push_back(std::move(budget));
        return true;
    });
    for (Stocking& each : stockings) {
        each.open = each.open && !each.fails;
        if (!each.plan.not_by_stock.empty() && !each.plan.last_safe) {
            each.plan.stopped_by = each.plan.not_by_stock.front();
            each.plan.date = each.plan.not_by_stock_from;
        }
    }
    if (most() == 0) return answer();
    struct Stop {
        CheckId check;
        std::string in;
        Day date;
    };
    const auto stop_of = [&](double of_fullest) {
        std::optional<Stop> stop;
        each_day(stocked(of_fullest), [&](Day day, std::size_t at, const SystemBudget& budget) {
            const auto look = [&](const std::vector<Check>& checks,
                                  const std::vector<Check>& before, const std::string& in) {
                for (const Check& check : checks) {
                    if (stop || !breaks(check, level) || stands_aside(check.id)) continue;
                    const auto was =
                        std::find_if(before.begin(), before.end(),
                                     [&](const Check& each) { return each.id == check.id; });
                    if (was != before.end() && was->status >= check.status) continue;
                    stop = Stop{check.id, in, day};
                }
            };
            for (std::size_t i = 0; i < budget.tanks.size(); ++i) {
                look(budget.tanks[i].checks, with_one[at].tanks[i].checks, budget.tanks[i].tank);
            }
            if (budget.loop)
                look(budget.loop->checks, with_one[at].loop->checks, budget.loop->loop);
            return !stop;
        });
        return stop;
    };
    constexpr double kMostFish = 1e9;
    double low = 1;
    double high = std::max(2.0, std::ceil(most()));
    while (high < kMostFish && !stop_of(high)) {
        low = high;
        high *= 2;
    }
    if (high >= kMostFish) return answer();  // nothing stops them: no answer
    const double count = last_whole(low, high, [&](double tried) { return !stop_of(tried); });
    const Stop stop = *stop_of(count + 1);
    for (Stocking& each : stockings) {
        SeasonStock& plan = each.plan;
        if (!each.open) continue;
        if (plan.last_safe) {
            plan.count_until_then = count_of(each, count);
            continue;
        }
        (plan.not_by_stock.empty() ? plan.fish_count : plan.count_by_the_rest.emplace()) =
            count_of(each, count);
        plan.stopped_by = stop.check;
        plan.stopped_in = stop.in == system.tanks[each.tank].name ? "" : stop.in;
        plan.date = stop.date;
    }
    return answer();
}

std::optional<SeasonSupply> season_supply(std::size_t tank, const TankSeason& run,
                                          const System& system, const SeasonInput& season,
                                          std::span<const double> temperatures, Sold sold) {
    const auto used =
        std::find_if(run.used.begin(), run.used.end(),
                     [](const TankSeason::Used& each) { return each.check == CheckId::oxygen; });
    const bool judged = std::find(run.unchecked.begin(), run.unchecked.end(), CheckId::oxygen) ==
                        run.unchecked.end();
    if (used == run.used.end() || !judged) return std::nullopt;
    std::optional<std::size_t> worst;
    for (std::size_t at = 0; at < run.days.size(); ++at) {
        if (!run.days[at].stocked) continue;
        if (!worst || used->share[at] > used->share[*worst]) worst = at;
    }
    if (!worst) return std::nullopt;
    SeasonSupply out{run.days[*worst].day, run.days[*worst].oxygen_lowest_mg_l};
    const Growth growth(system, season, temperatures);
    // What the first day on which its oxygen warns takes, from a day on; null: none does.
    const auto first_plan = [&](const System& tried, std::size_t from) {
        std::optional<Plan> found;
        Counts counts(tried, season, growth);
        Days days(tried, season, temperatures, growth);
        for (std::size_t at = 0; at < run.days.size() && !found; ++at) {
            counts.to(at);
            if (at < from) continue;
            days.each_way(at, counts, [&](const System& that_day) {
                if (found) return;
                const SystemBudget budget = assess_system(that_day);
                if (find_check(budget.tanks[tank], CheckId::oxygen)->status < Status::warn) return;
                found = plan_remedies(that_day, budget, Part{tank}, CheckId::oxygen, sold);
            });
        }
        return found;
    };
    const std::optional<Plan> largest = first_plan(system, *worst);
    if (!largest) return out;
    out.passes = false;
    out.on = largest->on;
    constexpr int kMostRounds = 12;
    for (Remedy remedy : largest->remedies) {
        if (remedy.action != Action::add_air && remedy.action != Action::add_aerator &&
            remedy.action != Action::add_oxygen) {
            continue;
        }
        // Until no day of the season is left on which it warns.
        for (int round = 0; round < kMostRounds; ++round) {
            const System changed = with_remedy(system, assess_system(system), Part{tank}, remedy);
            const std::optional<Plan> rest = first_plan(changed, 0);
            if (!rest) {
                out.remedies.push_back(remedy);
                break;
            }
            const auto more =
                std::find_if(rest->remedies.begin(), rest->remedies.end(),
                             [&](const Remedy& each) { return each.action == remedy.action; });
            if (more == rest->remedies.end()) break;
            *remedy.value += *more->value;
        }
    }
    return out;
}

}  // namespace coldtank
