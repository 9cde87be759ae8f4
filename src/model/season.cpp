#include "coldtank/season.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>

#include "season_days.hpp"

namespace coldtank {

using namespace season_days;

namespace {

constexpr std::array kSources{kWarmSpellC, kFeedConversion, kSeasonMostDays, kSeasonGapDays};

double sum_of(const std::vector<double>& counts) {
    double sum = 0;
    for (const double count : counts) sum += count;
    return sum;
}

void note(std::vector<SeasonTrouble>& list, const SeasonTrouble& trouble) {
    const bool known = std::any_of(list.begin(), list.end(), [&](const SeasonTrouble& each) {
        return each.check == trouble.check;
    });
    if (!known) list.push_back(trouble);
}

void add_feed(std::vector<TankSeason::MonthFeed>& months, Day day, double mm, double feed_kg) {
    const std::chrono::year_month_day date = date_of(day);
    const auto year = static_cast<int>(date.year());
    const auto month = static_cast<int>(static_cast<unsigned>(date.month()));
    if (months.empty() || months.back().month != month || months.back().year != year) {
        months.push_back({year, month, 0, {}});
    }
    months.back().feed_kg += feed_kg;
    auto& pellets = months.back().pellets;
    auto pellet = std::find_if(pellets.begin(), pellets.end(),
                               [&](const PelletFeed& each) { return each.pellet_mm == mm; });
    if (pellet == pellets.end()) pellet = pellets.insert(pellets.end(), {mm, 0});
    pellet->feed_kg += feed_kg;
}

// What a part comes to on one more day.
void add_day(PartSeason& part, const std::vector<Check>& checks, Status verdict,
             SeasonTrouble trouble) {
    part.verdict = worse(part.verdict, verdict);
    for (const Check& check : checks) {
        trouble.check = check.id;
        trouble.too_cold = is_cold(check);
        if (check.status >= Status::warn) note(part.warns, trouble);
        if (check.status == Status::fail) note(part.fails, trouble);
        if (check.status == Status::unchecked) add_once(part.unchecked, check.id);
    }
}

}  // namespace

double warm_spell_c_of(const SeasonInput& season) noexcept {
    return season.warm_spell_c.value_or(season.daily.empty() ? double{kWarmSpellC} : 0);
}

Day last_day_of(const SeasonInput& season) noexcept {
    return season.until.value_or(season.start + static_cast<Day>(double{kSeasonMostDays}));
}

SystemSeason run_season(const System& system, const SeasonInput& season,
                        std::span<const double> temperatures, std::size_t every_days) {
    const Growth growth(system, season, temperatures);
    Counts counts(system, season, growth);
    Days days(system, season, temperatures, growth);
    SystemSeason all{std::vector<TankSeason>(system.tanks.size()), std::nullopt};
    std::vector<TankSeason>& out = all.tanks;
    if (system.loop) all.loop.emplace().loop = system.loop->name;
    std::vector<std::array<double, 3>> feed_kg(out.size());
    for (std::size_t i = 0; i < out.size(); ++i) {
        out[i].tank = system.tanks[i].name;
        out[i].start_count = sum_of(counts.of(i, Pace::expected));
        out[i].days.reserve(growth.days());
    }
    for (std::size_t at = 0; at < growth.days(); ++at) {
        counts.to(at);
        if (at % every_days != 0) continue;
        const SystemBudget budgets = days.judged(at, counts);
        bool stocked = false;
        const Day day = season.start + static_cast<Day>(at);
        for (std::size_t i = 0; i < out.size(); ++i) {
            TankSeason& tank = out[i];
            const TankBudget& budget = budgets.tanks[i];
            const Line& line = growth.line(at, i);
            SeasonDay& today_of = tank.days.emplace_back(SeasonDay{});
            today_of.day = day;
            today_of.temperature_c = temperatures[at];
            today_of.peak_temperature_c = budget.peak_temperature_c;
            today_of.fish_count = sum_of(counts.of(i, Pace::expected));
            double kg[3] = {0, 0, 0};
            double feed_g[3] = {0, 0, 0};
            double gain_kg = 0;
            bool held_back = false;
            double counted[3] = {0, 0, 0};
            for (std::size_t g = 0; g < line.groups.size(); ++g) {
                const Group& group = line.groups[g];
                for (const Pace pace : kPaces) {
                    const auto p = static_cast<std::size_t>(pace);
                    const double count = counts.of(i, pace)[g];
                    counted[p] += count;
                    kg[p] += count * group.weight_g[p] / 1000;
                    // Fish that are sold are fed no more.
                    if (season.target_weight_g && line.harvest[p] && *line.harvest[p] <= day) {
                        continue;
                    }
                    const FedFish fed =
                        fed_for(1, group.weight_g[p], group.tgc, pace, temperatures[at],
                                system.tanks[i].fish[group.place], season);
                    feed_g[p] += count * fed.ration_g;
                    held_back = held_back || (pace == Pace::fast && fed.held_back);
                    if (pace != Pace::expected || fed.ration_g == 0) continue;
                    gain_kg += count * fed.gain_g / 1000;
                    add_feed(tank.feed_by_month, day, pellet_mm(group.weight_g[p]),
                             count * fed.ration_g / 1000);
                }
            }
            const auto mean_g = [&](Pace pace) {
                const auto p = static_cast<std::size_t>(pace);
                return counted[p] > 0 ? 1000 * kg[p] / counted[p] : 0;
            };
            today_of.mean_weight_low_g = mean_g(Pace::slow);
            today_of.mean_weight_g = mean_g(Pace::expected);
            today_of.mean_weight_high_g = mean_g(Pace::fast);
            today_of.biomass_kg = kg[1];
            today_of.biomass_high_kg = budget.biomass_kg;
            today_of.ration_g_day = feed_g[1];
            today_of.oxygen_lowest_mg_l = budget.oxygen.lowest_mg_l;
            if (budget.reserve) today_of.reserve_min = budget.reserve->stopped.minutes_to_danger;
            today_of.demand_peak_g_h = budget.oxygen.demand_peak_g_h;
            today_of.verdict = budget.verdict;
            today_of.first_limit = budget.first_limit;
            const Check* first = find_check(budget, budget.first_limit);
            if (first != nullptr) today_of.used_percent = first->used_percent;
            if (tank.used.empty()) {
                for (const Check& check : budget.checks) tank.used.push_back({check.id, {}});
            }
            for (TankSeason::Used& used : tank.used) {
                const Check* check = find_check(budget, used.check);
                used.share.push_back(check == nullptr ? -1 : used_of(*check));
            }
            // At any pace: where a tank is thinned to a weight more slow fish are left.
            const bool fish = counted[0] + counted[1] + counted[2] > 0;
            today_of.stocked = fish;
            if (fish) {
                stocked = true;
                add_day(tank, budget.checks, budget.verdict,
                        {day, {}, budget.peak_temperature_c, today_of.mean_weight_high_g, false});
            }
            const Check& warmth = *find_check(budget, CheckId::temperature);
            if (fish && warmth.status >= Status::warn) {
                if (is_cold(warmth)) {
                    ++tank.days_cold;
                } else {
                    ++tank.days_warm;
                    tank.days_too_warm += warmth.status == Status::fail ? 1 : 0;
                    if (warmth.status == Status::fail && !tank.too_warm_from) {
                        tank.too_warm_from = day;
                    }
                }
            }
            const bool sold = line.harvest[1] && *line.harvest[1] <= day;
            if (fish && !sold && feed_g[1] == 0) {
                const auto eats_no_more = [&](const Group& group) {
                    const Species& species = system.tanks[i].fish[group.place].species;
                    return temperatures[at] > species.optimum_c;
                };
                const bool warm = std::any_of(line.groups.begin(), line.groups.end(), eats_no_more);
                ++(warm ? tank.days_unfed_warm : tank.days_unfed);
            }
            tank.days_held_back += held_back ? 1 : 0;
            tank.gain_kg += gain_kg;
            tank.feed_kg += feed_g[1] / 1000;
            for (const Pace pace : kPaces) {
                const auto p = static_cast<std::size_t>(pace);
                feed_kg[i][p] += feed_g[p] / 1000;
            }
        }
        if (all.loop && stocked) {
            const double peak_c = days.loop_peak_c(at);
            add_day(*all.loop, budgets.loop->checks, budgets.loop->verdict,
                    {day, {}, peak_c, std::nullopt, false});
        }
    }
    for (std::size_t i = 0; i < out.size(); ++i) {
        const auto& harvest = growth.last(i).harvest;
        // Where fish are left by then.
        const auto fish_on = [&](const std::optional<Day>& day) {
            if (!day) return day;
            const auto at = static_cast<std::size_t>(*day - season.start) / every_days;
            return out[i].days[at].fish_count >= 1 ? day : std::nullopt;
        };
        out[i].thinned = counts.thinned(i);
        out[i].harvest = {fish_on(harvest[0]), fish_on(harvest[1]), fish_on(harvest[2])};
        out[i].feed_low_kg = *std::min_element(feed_kg[i].begin(), feed_kg[i].end());
        out[i].feed_high_kg = *std::max_element(feed_kg[i].begin(), feed_kg[i].end());
    }
    return all;
}

double pellet_mm(double mean_weight_g) noexcept {
    struct Band {
        double below_g;
        int tenths_mm;
    };
    // Common practice, no source: makers differ.
    static constexpr Band kBands[] = {{1, 6},   {2, 10},   {8, 15},   {25, 20},
                                      {60, 30}, {200, 40}, {500, 60}, {HUGE_VAL, 80}};
    const Band* band = std::find_if(std::begin(kBands), std::end(kBands),
                                    [&](const Band& each) { return mean_weight_g < each.below_g; });
    return band == std::end(kBands) ? kNotANumber : band->tenths_mm / double{10};
}

std::span<const Constant> season_sources() noexcept { return kSources; }

}  // namespace coldtank
