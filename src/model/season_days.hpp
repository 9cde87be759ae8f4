// Inside the model: the fish of a system from day to day, how many there are, and the system of a
// day.
#pragma once

#include <algorithm>
#include <cmath>
#include <optional>
#include <span>
#include <vector>

#include "changes.hpp"
#include "coldtank/season.hpp"
#include "dates.hpp"
#include "numbers.hpp"

namespace coldtank::season_days {

inline constexpr double kCmPerInch = 2.54;
inline constexpr double kDaysOfMonth = kDaysOfYear / 12;

// ---- fish

struct Group {
    std::size_t place;  // in Tank::fish
    Tgc tgc;
    double weight_g[3];  // at each pace
};

struct Line {  // a tank
    std::vector<Group> groups;
    std::optional<Day> harvest[3];
};

inline double table_percent_day(double temperature_c, double weight_g, const FishGroup& group) {
    const double condition_g_cm3 = group.condition_factor ? *group.condition_factor / 100
                                                          : double{group.species.condition_g_cm3};
    return table_ration_percent_day(
        {.temperature_c = temperature_c,
         .length_cm = length_cm({.weight_g = weight_g, .condition_g_cm3 = condition_g_cm3})});
}

// What a group is fed at one pace, g a fish and day, and what it gains of it. A ration in percent
// is of the mean weight of that time.
struct FedFish {
    double ration_g;
    double gain_g;
    bool held_back;  // by the ration
};
inline FedFish fed_for(double days, double weight_g, const Tgc& paces, Pace pace,
                       double temperature_c, const FishGroup& group, const SeasonInput& season) {
    const double tgc = paces.at(pace);
    const double response = growth_response(temperature_c, group.species);
    const double grown = grown_g({weight_g, temperature_c, tgc, response}, days);
    const double gain_g = grown - weight_g;
    if (season.ration == SeasonInput::Ration::growth) {
        return {season.fcr * gain_g / days, gain_g, false};
    }
    double percent_day = season.ration_percent_day;
    if (season.ration == SeasonInput::Ration::table) {
        percent_day = table_percent_day(temperature_c, weight_g, group) *
                      ration_taper(temperature_c, group.species);
    }
    const double fed_gain_g = weight_g * std::expm1(percent_day / 100 * days / season.fcr);
    const bool held_back = fed_gain_g < gain_g;
    if (paces.as_fed) return {season.fcr * larger_of(gain_g, fed_gain_g) / days, gain_g, false};
    return {season.fcr * fed_gain_g / days, smaller_of(gain_g, fed_gain_g), held_back};
}

// The fish of a system from day to day; how many there are is scaled by what is tried.
class Growth {
public:
    Growth(const System& system, const SeasonInput& season, std::span<const double> temperatures)
        : system_(system), season_(season), temperatures_(temperatures) {
        for (const Tank& tank : system.tanks) {
            Line& line = lines_.emplace_back();
            for (std::size_t i = 0; i < tank.fish.size(); ++i) {
                const FishGroup& group = tank.fish[i];
                if (group.count == 0) continue;
                const auto of_species = tgc_of_species(group.species_name);
                constexpr Tgc kNone{kNotANumber, kNotANumber, kNotANumber};
                const Tgc tgc = group.tgc.value_or(of_species.value_or(kNone));
                const double start_g = group.mean_weight_g;
                line.groups.push_back({i, tgc, {start_g, start_g, start_g}});
            }
        }
        for (std::size_t i = 0; i < temperatures.size(); ++i) {
            note_harvest(i);
            weights_.push_back(lines_);
            if (!season.until && all_harvested()) break;
            grow(temperatures[i]);
        }
    }

    // Whole days that are described.
    std::size_t days() const { return weights_.size(); }
    const Line& line(std::size_t day, std::size_t tank) const { return weights_[day][tank]; }
    const Line& last(std::size_t tank) const { return lines_[tank]; }

    static double heaviest_g(const Group& group) {
        return larger_of(group.weight_g[0], larger_of(group.weight_g[1], group.weight_g[2]));
    }

private:
    void note_harvest(std::size_t day) {
        if (!season_.target_weight_g) return;
        for (std::size_t i = 0; i < lines_.size(); ++i) {
            for (const Pace pace : kPaces) {
                const auto at = static_cast<std::size_t>(pace);
                double kg = 0;
                double count = 0;
                for (const Group& group : lines_[i].groups) {
                    const double fish = system_.tanks[i].fish[group.place].count;
                    kg += fish * group.weight_g[at] / 1000;
                    count += fish;
                }
                auto& harvest = lines_[i].harvest[at];
                if (!harvest && count > 0 && 1000 * kg / count >= *season_.target_weight_g) {
                    harvest = season_.start + static_cast<Day>(day);
                }
            }
        }
    }
    bool all_harvested() const {
        return std::all_of(lines_.begin(), lines_.end(), [](const Line& line) {
            return line.groups.empty() ||
                   line.harvest[static_cast<std::size_t>(Pace::slow)].has_value();
        });
    }
    void grow(double temperature_c) {
        const int steps = static_cast<int>(std::lround(1 / season_.step_days));
        for (std::size_t i = 0; i < lines_.size(); ++i) {
            for (Group& group : lines_[i].groups) {
                for (const Pace pace : kPaces) {
                    // Of the target weight they are sold: they stay as they are.
                    if (lines_[i].harvest[static_cast<std::size_t>(pace)]) continue;
                    double& weight_g = group.weight_g[static_cast<std::size_t>(pace)];
                    for (int step = 0; step < steps; ++step) {
                        weight_g +=
                            fed_for(season_.step_days, weight_g, group.tgc, pace, temperature_c,
                                    system_.tanks[i].fish[group.place], season_)
                                .gain_g;
                    }
                }
            }
        }
    }

    const System& system_;
    const SeasonInput& season_;
    std::span<const double> temperatures_;
    std::vector<Line> lines_;
    std::vector<std::vector<Line>> weights_;
};

// The counts of each tank's groups on a day at each pace, and what was done before.
class Counts {
public:
    Counts(const System& system, const SeasonInput& season, const Growth& growth)
        : season_(season), growth_(growth), thinned_(system.tanks.size()) {
        for (std::size_t i = 0; i < system.tanks.size(); ++i) {
            names_.push_back(system.tanks[i].name);
            std::vector<double>& counts = counts_[0].emplace_back();
            for (const Group& group : growth.last(i).groups) {
                counts.push_back(system.tanks[i].fish[group.place].count);
            }
        }
        counts_[1] = counts_[2] = counts_[0];
        survive_ = std::pow(1 - season.mortality_percent_month / 100, 1 / kDaysOfMonth);
    }

    // To the morning of a day.
    void to(std::size_t day) {
        if (day > 0) {
            for (auto& at_pace : counts_) {
                for (auto& counts : at_pace) {
                    for (double& count : counts) count *= survive_;
                }
            }
        }
        for (const SeasonInput::Thinning& thinning : season_.thinning) {
            if (thinning.day != season_.start + static_cast<Day>(day)) continue;
            for (std::size_t i = 0; i < names_.size(); ++i) {
                if (!thinning.tank.empty() && thinning.tank != names_[i]) continue;
                for (const Pace pace : kPaces) thin(thinning, day, i, pace);
            }
        }
    }
    void empty(std::size_t tank) {
        for (auto& at_pace : counts_) {
            for (double& count : at_pace[tank]) count = 0;
        }
    }
    const std::vector<double>& of(std::size_t tank, Pace pace) const {
        return counts_[static_cast<std::size_t>(pace)][tank];
    }
    // As expected.
    const std::vector<Thinned>& thinned(std::size_t tank) const { return thinned_[tank]; }

private:
    void thin(const SeasonInput::Thinning& thinning, std::size_t day, std::size_t tank, Pace pace) {
        const auto at = static_cast<std::size_t>(pace);
        std::vector<double>& counts = counts_[at][tank];
        double count = 0;
        double kg = 0;
        for (std::size_t i = 0; i < counts.size(); ++i) {
            count += counts[i];
            kg += counts[i] * growth_.line(day, tank).groups[i].weight_g[at] / 1000;
        }
        if (!(count > 0)) return;
        const double stays = thinning.count   ? (count - *thinning.count) / count
                             : thinning.share ? 1 - *thinning.share
                                              : thinning.to_kg.value_or(kg) / kg;
        const double share = std::clamp(stays, 0.0, 1.0);
        for (double& each : counts) each *= share;
        if (pace != Pace::expected) return;
        const bool too_many = thinning.count && *thinning.count > count;
        const double taken = thinning.count && !too_many ? *thinning.count : count * (1 - share);
        thinned_[tank].push_back({thinning.day, taken, kg * (1 - share), too_many});
    }

    const SeasonInput& season_;
    const Growth& growth_;
    std::vector<std::string> names_;
    std::array<std::vector<std::vector<double>>, 3> counts_;  // by pace
    std::vector<std::vector<Thinned>> thinned_;
    double survive_ = 1;
};

// The share of its limit that a check uses: all and more of what is exhausted, none of what has no
// share.
inline double used_of(const Check& check) {
    return check.used_percent.value_or(check.exhausted ? HUGE_VAL : -1);
}

// The system on a day: its water as warm as it may get, its fish at one pace.
class Days {
public:
    Days(const System& system, const SeasonInput& season, std::span<const double> temperatures,
         const Growth& growth)
        : today_(without_todays_readings(system)),
          described_(today_),
          season_(season),
          temperatures_(temperatures),
          growth_(growth) {}

    // A day is judged by the worst of each check: fast growth in a warm spell; what is worse in the
    // cold as cold as it is without one; and at every pace where fast growth is not the worst: slow
    // fish are in early life for longer, more of them are left where a tank is thinned to a weight,
    // and they take less of pure oxygen.
    template <class Look>
    void each_way(std::size_t day, const Counts& counts, Look look) {
        for (const Pace pace : {Pace::fast, Pace::expected, Pace::slow}) {
            if (pace != Pace::fast && !every_pace_counts(day)) continue;
            const double spell_c = warm_spell_c_of(season_);
            look(at(day, counts, pace, spell_c));
            if (spell_c > 0) look(at(day, counts, pace, 0));
        }
    }
    double loop_peak_c(std::size_t day) const {
        Water water = described_.loop->water;
        set_water(water, described_.loop->water, day, warm_spell_c_of(season_));
        return *water.peak_temperature_c;
    }
    SystemBudget judged(std::size_t day, const Counts& counts) {
        std::optional<SystemBudget> worst;
        each_way(day, counts,
                 [&](const System& system) { add_worse(worst, assess_system(system)); });
        return std::move(*worst);
    }

private:
    const System& at(std::size_t day, const Counts& counts, Pace pace, double warm_spell_c) {
        for (std::size_t i = 0; i < today_.tanks.size(); ++i) {
            Tank& tank = today_.tanks[i];
            set_water(tank.water, described_.tanks[i].water, day, warm_spell_c);
            std::size_t next = 0;
            for (const Group& group : growth_.line(day, i).groups) {
                FishGroup& fish = tank.fish[group.place];
                fish.count = counts.of(i, pace)[next++];
                // Of fish that are held at the target some weigh a day's growth more.
                fish.mean_weight_g = pace == Pace::fast
                                         ? Growth::heaviest_g(group)
                                         : group.weight_g[static_cast<std::size_t>(pace)];
                fish.ration_g_day.reset();
                if (season_.ration == SeasonInput::Ration::table && pace == Pace::fast) {
                    fish.kept_ration_g_day =
                        fish.count * most_by_table_g(tank.water.temperature_c, group, fish);
                } else {
                    fish.kept_ration_g_day.reset();
                }
                // As by the table: fish that stop eating in warm water do so after they ate.
                const double most = most_response(tank.water.temperature_c, fish.species);
                const double grown = grown_g(
                    {fish.mean_weight_g, tank.water.temperature_c, group.tgc.at(pace), most}, 1);
                const double by_growth_g = season_.fcr * (grown - fish.mean_weight_g);
                // Fish that no ration holds back eat what they grow on.
                if (season_.ration == SeasonInput::Ration::growth ||
                    (group.tgc.as_fed &&
                     !(by_growth_g <= untapered_ration_g(tank.water.temperature_c, fish)))) {
                    fish.ration_g_day = fish.count * by_growth_g;
                }
            }
            Feed& feed = tank.feed;
            feed.ration_g_day = feed.fasted_h = std::nullopt;
            feed.ration_percent_day = season_.ration == SeasonInput::Ration::percent
                                          ? std::optional(season_.ration_percent_day)
                                          : std::nullopt;
        }
        set_inflows(today_);
        if (today_.loop) set_water(today_.loop->water, described_.loop->water, day, warm_spell_c);
        return today_;
    }

    // Of one fish, g a day, by the table or in percent.
    double untapered_ration_g(double temperature_c, const FishGroup& group) const {
        const double percent_day =
            season_.ration == SeasonInput::Ration::percent
                ? season_.ration_percent_day
                : table_percent_day(temperature_c, group.mean_weight_g, group);
        return percent_day / 100 * group.mean_weight_g;
    }

    static constexpr double kFull = 100;  // percent of saturation
    // What flows in is over saturation: fewer fish leave more of it.
    bool brings_too_much(std::size_t tank) const {
        const Tank& described = described_.tanks[tank];
        const double full_mg_l =
            oxygen_saturation_mg_l({.temperature_c = described.water.temperature_c,
                                    .salinity_g_kg = described.water.salinity_g_kg,
                                    .pressure_kpa = described_.pressure_kpa});
        return std::any_of(
            described.inflow.begin(), described.inflow.end(), [&](const Inflow& inflow) {
                return inflow.oxygen_percent > kFull || inflow.oxygen_mg_l > full_mg_l;
            });
    }

    static bool has_pure_oxygen(const std::vector<Aerator>& aeration) {
        return std::any_of(aeration.begin(), aeration.end(), [](const Aerator& aerator) {
            return std::holds_alternative<PureOxygen>(aerator.kind);
        });
    }

    // The table falls in steps: under each whole inch fish may eat more than when they are heavier.
    // What fish of any weight from slow to fast eat at most, of one fish, g a day.
    static double most_by_table_g(double temperature_c, const Group& group, const FishGroup& fish) {
        const double condition_g_cm3 = fish.condition_factor ? *fish.condition_factor / 100
                                                             : double{fish.species.condition_g_cm3};
        const auto ration_g = [&](double weight_g) {
            return table_percent_day(temperature_c, weight_g, fish) / 100 * weight_g;
        };
        const auto inches = [&](double weight_g) {
            return length_cm({.weight_g = weight_g, .condition_g_cm3 = condition_g_cm3}) /
                   kCmPerInch;
        };
        double most_g = ration_g(fish.mean_weight_g);
        constexpr double kJustUnder = 1e-6;
        for (double whole = std::floor(inches(fish.mean_weight_g));
             whole > inches(group.weight_g[0]); --whole) {
            const double under_cm = (whole - kJustUnder) * kCmPerInch;
            most_g = larger_of(most_g, ration_g(condition_g_cm3 * under_cm * under_cm * under_cm));
        }
        return most_g;
    }

    bool every_pace_counts(std::size_t day) const {
        for (const SeasonInput::Thinning& thinning : season_.thinning) {
            if (thinning.to_kg && thinning.day <= season_.start + static_cast<Day>(day))
                return true;
        }
        for (std::size_t i = 0; i < today_.tanks.size(); ++i) {
            for (const Group& group : growth_.line(day, i).groups) {
                if (!(group.weight_g[0] >= kEarlyLifeG)) return true;
            }
            const Tank& tank = today_.tanks[i];
            if (has_pure_oxygen(tank.aeration) || tank.readings.current_cm_s ||
                growth_.line(day, i).groups.size() > 1 || brings_too_much(i)) {
                return true;
            }
        }
        const auto& loop = today_.loop;
        return loop && (has_pure_oxygen(loop->aeration) || loop->supply_oxygen_percent > kFull);
    }

    static bool eats_by_growth(const Tank& tank) {
        return std::any_of(tank.fish.begin(), tank.fish.end(),
                           [](const FishGroup& group) { return group.tgc && group.tgc->as_fed; });
    }

    // Of a tank or a loop. What growth takes is no ration that somebody could be warned of.
    template <class Part>
    static void add_worse(Part& part, const Part& other) {
        for (Check& check : part.checks) {
            const Check* same = find_check(other, check.id);
            if (same != nullptr &&
                (check.status < same->status ||
                 (check.status == same->status && used_of(check) < used_of(*same)))) {
                check = *same;
            }
        }
        for (const Check& check : other.checks) {  // that only these fish have
            if (find_check(part, check.id) == nullptr) part.checks.push_back(check);
        }
        set_verdict(part);
    }
    template <class Part>
    static void set_verdict(Part& part) {
        const Verdict verdict = verdict_of(part.checks);
        part.verdict = verdict.worst;
        part.first_limit = verdict.first_limit;
    }
    void add_worse(std::optional<SystemBudget>& worst, SystemBudget budget) const {
        for (std::size_t i = 0; i < budget.tanks.size(); ++i) {
            if (season_.ration != SeasonInput::Ration::growth &&
                !eats_by_growth(described_.tanks[i])) {
                continue;
            }
            std::erase_if(budget.tanks[i].checks,
                          [](const Check& check) { return check.id == CheckId::ration; });
            set_verdict(budget.tanks[i]);
        }
        if (!worst) {
            worst = std::move(budget);
            return;
        }
        for (std::size_t i = 0; i < budget.tanks.size(); ++i) {
            TankBudget& tank = worst->tanks[i];
            TankBudget& other = budget.tanks[i];
            add_worse(tank, other);
            if (other.oxygen.lowest_mg_l < tank.oxygen.lowest_mg_l) tank.oxygen = other.oxygen;
            const auto lasts = [](const TankBudget& of) {  // none: for ever
                return of.reserve ? of.reserve->stopped.minutes_to_danger.value_or(HUGE_VAL) : 0;
            };
            if (lasts(other) < lasts(tank)) tank.reserve = other.reserve;
            tank.biomass_kg = larger_of(tank.biomass_kg, other.biomass_kg);
        }
        if (budget.loop) add_worse(*worst->loop, *budget.loop);
    }

    void set_water(Water& water, const Water& described, std::size_t day,
                   double warm_spell_c) const {
        const double described_peak_c =
            described.peak_temperature_c.value_or(described.temperature_c);
        const double swing_c =
            season_.daily_swing_c.value_or(described_peak_c - described.temperature_c);
        water.temperature_c = temperatures_[day] + warm_spell_c;
        water.peak_temperature_c = water.temperature_c + swing_c;
        const auto month = [&](Day of) { return date_of(of).year() / date_of(of).month(); };
        if (month(season_.start + static_cast<Day>(day)) == month(season_.start)) {
            water.peak_temperature_c = larger_of(*water.peak_temperature_c, described_peak_c);
        }
        water.from_above = Water::FromAbove::nothing;
    }

    // Measured on the day of the description: warmer water holds no larger share of its saturation.
    void set_inflows(System& system) const {
        for (std::size_t i = 0; i < system.tanks.size(); ++i) {
            Tank& tank = system.tanks[i];
            for (std::size_t j = 0; j < tank.inflow.size(); ++j) {
                const std::optional<double>& described = described_.tanks[i].inflow[j].oxygen_mg_l;
                if (!described) continue;
                const auto saturation = [&](const Water& water) {
                    return oxygen_saturation_mg_l({.temperature_c = water.temperature_c,
                                                   .salinity_g_kg = water.salinity_g_kg,
                                                   .pressure_kpa = system.pressure_kpa});
                };
                tank.inflow[j].oxygen_mg_l =
                    smaller_of(*described, *described * saturation(tank.water) /
                                               saturation(described_.tanks[i].water));
            }
        }
    }

    System today_;
    System described_;
    const SeasonInput& season_;
    std::span<const double> temperatures_;
    const Growth& growth_;
};

inline void add_once(std::vector<CheckId>& list, CheckId check) {
    if (std::find(list.begin(), list.end(), check) == list.end()) list.push_back(check);
}

// Of the temperature: on its lower side.
inline bool is_cold(const Check& check) {
    return check.id == CheckId::temperature && check.value && check.warn.low &&
           *check.value < *check.warn.low;
}

inline bool breaks(const Check& check, Level level) {
    return check.status >= (level == Level::warn ? Status::warn : Status::fail);
}

}  // namespace coldtank::season_days
