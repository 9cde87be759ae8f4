#include "report/season.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "report/page_parts.hpp"
#include "report/words.hpp"
#include "text/clock.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

// The growth that a logbook tells, put into the description.
std::vector<SeasonReport::Fitted> fit_all(Description& description, const GrowthLogs& logs) {
    std::vector<SeasonReport::Fitted> out;
    for (Tank& tank : description.tanks) {
        std::vector<FishGroup*> groups;
        for (FishGroup& group : tank.fish) {
            if (group.count > 0) groups.push_back(&group);
        }
        if (groups.empty()) continue;
        SeasonReport::Fitted& fitted = out.emplace_back(SeasonReport::Fitted{tank.name, {}, {}});
        const auto log = logs.find({printable(description.site.name), printable(tank.name)});
        if (groups.size() > 1) {
            fitted.why_not = "several groups, and the logbook has one mean weight";
        } else if (log == logs.end() || log->second.weighings.size() < 3) {
            fitted.why_not =
                fmt::format("{} weighings of these fish; it takes three",
                            log == logs.end() ? std::size_t{0} : log->second.weighings.size());
        } else {
            fitted.fit =
                fit_growth(log->second.weighings, log->second.temperatures, groups[0]->species);
            if (fitted.fit) {
                groups[0]->tgc = fitted.fit->tgc;
            } else {
                fitted.why_not = fmt::format("{} weighings of which no growth can be told",
                                             log->second.weighings.size());
            }
        }
    }
    return out;
}

// What the season takes for granted, and what it leaves out.
std::vector<std::string> notes_of(const Description& description, const SeasonInput& season) {
    std::vector<std::string> out;
    bool readings = false;
    bool rations = false;
    bool fixed_oxygen = false;
    bool aside = std::any_of(description.loops.begin(), description.loops.end(),
                             [](const Loop& loop) { return loop.plants.has_value(); });
    bool swings = false;
    for (const Tank& tank : description.tanks) {
        swings = swings || tank.water.peak_temperature_c.value_or(tank.water.temperature_c) >
                               tank.water.temperature_c;
        aside = aside ||
                std::any_of(tank.aeration.begin(), tank.aeration.end(), [](const Aerator& aerator) {
                    return std::holds_alternative<PureOxygen>(aerator.kind);
                });
        fixed_oxygen = fixed_oxygen || std::any_of(tank.inflow.begin(), tank.inflow.end(),
                                                   [](const Inflow& inflow) {
                                                       return inflow.oxygen_mg_l.has_value();
                                                   });
        readings = readings || tank.water.alkalinity_mg_l || tank.readings.oxygen_mg_l ||
                   tank.readings.tan_mg_l || tank.readings.carbon_dioxide_mg_l;
        rations = rations || tank.feed.ration_g_day || tank.feed.ration_percent_day ||
                  std::any_of(tank.fish.begin(), tank.fish.end(), [](const FishGroup& group) {
                      return group.ration_g_day.has_value();
                  });
    }
    if (readings) {
        out.emplace_back("left out: readings of today, and carbon dioxide by today's pH");
    }
    if (rations)
        out.emplace_back("left out: the rations of today; fish eat by the season's ration");
    if (fixed_oxygen) {
        out.emplace_back(
            "an inflow's oxygen in mg/L is no larger share of saturation in warmer water");
    }
    if (!season.daily_swing_c && !swings) {
        out.emplace_back(
            "the warmest hour is no warmer than the day's mean: no daily_swing_c, and no peak "
            "temperature, is described");
    }
    if (aside) {
        out.emplace_back(
            "plans leave aside what fewer fish make worse: plants that starve, oxygen excess");
    }
    if (season.mortality_percent_month > 0) {
        out.push_back(fmt::format("{} % die a month: if fewer do, the tanks are fuller",
                                  exact(season.mortality_percent_month)));
    }
    out.push_back(fmt::format("feed conversion {} (fcr)", exact(season.fcr)));
    Day most = 0;
    for (std::size_t i = 1; i < season.daily.size(); ++i) {
        const Day apart = season.daily[i].day - season.daily[i - 1].day;
        most = std::max(most, apart);
    }
    if (most > 1) {
        out.push_back(
            fmt::format("{} days in a row have no temperature in the file: straight "
                        "lines between",
                        most - 1));
    }
    for (const SeasonInput::Thinning& thinning : season.thinning) {
        if (thinning.day < season.start || (season.until && thinning.day > *season.until)) {
            out.push_back(fmt::format("thinning on {} is not in the season, and does nothing",
                                      day_words(thinning.day)));
        }
    }
    return out;
}

// The first day on which fish that no ration holds back are worse off.
SeasonAnswer::Unheld unheld_of(const TankSeason& held, const TankSeason& free) {
    SeasonAnswer::Unheld out;
    for (const SeasonDay& day : free.days) {
        out.biomass_kg = std::max(out.biomass_kg, day.biomass_high_kg);
    }
    const auto counts = [](const SeasonTrouble& each) {
        return each.check != CheckId::ration && each.check != CheckId::input_doubt;
    };
    const auto sooner = [&](const std::vector<SeasonTrouble>& list,
                            const std::vector<SeasonTrouble>& than) {
        std::optional<SeasonTrouble> first;
        for (const SeasonTrouble& each : list) {
            if (!first && counts(each)) first = each;
        }
        const auto before = std::find_if(than.begin(), than.end(), counts);
        return first && (before == than.end() || first->day < before->day) ? first : std::nullopt;
    };
    out.sooner = sooner(free.fails, held.fails);
    out.fails = out.sooner.has_value();
    if (!out.fails && held.fails.empty()) out.sooner = sooner(free.warns, held.warns);
    return out;
}

// Of larger systems the air of the worst days is not looked for: it takes the square of their
// tanks.
constexpr std::size_t kMostForSupply = 20;

// A tank that is asked about.
struct Place {
    std::size_t at;  // in its system
    bool filled;     // without fish in the description
};

// On which day a season leaves what is modelled.
std::optional<Day> beyond_models(const TankSeason& season) {
    for (const SeasonDay& day : season.days) {
        if (!std::isfinite(day.mean_weight_high_g + day.mean_weight_low_g + day.peak_temperature_c +
                           day.demand_peak_g_h + day.oxygen_lowest_mg_l.value_or(0))) {
            return day.day;
        }
    }
    return std::nullopt;
}

SeasonAnswer::Supply supply_of(SeasonSupply supply, std::size_t place, const Display& show) {
    SeasonAnswer::Supply out{std::move(supply), {}};
    for (const Remedy& remedy : out.supply.remedies) {
        out.changes.push_back({remedy, short_words_of(remedy, out.supply.on->system,
                                                      out.supply.on->budget, Part{place}, show)});
    }
    return out;
}

// Plans of tanks with fish, in their proportion, and of those without, all alike, with the others
// as they are. Those without are then stocked so.
std::vector<std::optional<SeasonStock>> plan_all(System& system, std::span<const Place> places,
                                                 const SeasonInput& season,
                                                 std::span<const double> temperatures,
                                                 Level level) {
    std::vector<std::optional<SeasonStock>> plans(system.tanks.size());
    for (const bool filled : {false, true}) {
        std::vector<std::size_t> together;
        for (const Place& place : places) {
            if (place.filled == filled) together.push_back(place.at);
        }
        const std::vector<SeasonStock> found =
            plan_season(system, together, season, temperatures, level);
        for (std::size_t i = 0; i < together.size(); ++i) plans[together[i]] = found[i];
    }
    for (const Place& place : places) {
        const double count = plans[place.at]->count();
        if (!place.filled || count < 1) continue;
        system.tanks[place.at] = stocked_with(system.tanks[place.at], count);
    }
    return plans;
}

// The seasons of one system, and what they ask for: a plan, air, growth that no ration holds back.
void answer(System system, const ReadResult& read, const SeasonQuestion& question,
            const std::set<std::string>& filled, std::span<const double> temperatures,
            SeasonReport& report) {
    SystemSeason run = run_season(system, report.input, temperatures);
    std::vector<Place> places;
    bool wants_plan = question.plan;
    const Status limit = question.level == Level::warn ? Status::warn : Status::fail;
    for (std::size_t i = 0; i < run.tanks.size(); ++i) {
        const TankSeason& season = run.tanks[i];
        if (!asked_for(read, system.tanks[i]) || season.start_count == 0) continue;
        if (const auto day = beyond_models(season)) {
            report.missing.push_back(
                fmt::format("{}: on {} the season leaves what is modelled (water of 0 to 40 degC, "
                            "fish up to 30 kg): no answer",
                            printable(season.tank), day_words(*day)));
            report.verdict = worse(report.verdict, Status::unchecked);
            continue;
        }
        wants_plan = wants_plan || season.verdict >= limit;
        places.push_back({i, filled.count(season.tank) > 0});
    }
    std::vector<std::optional<SeasonStock>> plans(system.tanks.size());
    if (wants_plan) {
        plans = plan_all(system, places, report.input, temperatures, question.level);
        if (!filled.empty()) run = run_season(system, report.input, temperatures);
    }
    const bool held_back = std::any_of(places.begin(), places.end(), [&](const Place& place) {
        return run.tanks[place.at].days_held_back > 0;
    });
    SystemSeason free;
    if (held_back) {
        constexpr std::size_t kEveryDays = 7;
        SeasonInput input = report.input;
        input.ration = SeasonInput::Ration::growth;
        free = run_season(system, input, temperatures, kEveryDays);
    }
    const bool loop_breaks = run.loop && run.loop->verdict >= Status::warn;
    for (const Place& place : places) {
        SeasonAnswer answer{std::move(run.tanks[place.at])};
        answer.plan = std::move(plans[place.at]);
        answer.limits = limits_of(system.tanks[place.at]);
        answer.loop_breaks = loop_breaks;
        if (report.known_until && !answer.harvest.slow) {  // or fish would be ready
            answer.cut_short = true;
            answer.verdict = worse(answer.verdict, Status::unchecked);
        }
        if (system.tanks.size() <= kMostForSupply) {
            if (auto supply = season_supply(place.at, answer, system, report.input, temperatures,
                                            sold_by(question.show))) {
                answer.supply = supply_of(std::move(*supply), place.at, question.show);
            }
        }
        if (answer.days_held_back > 0) answer.unheld = unheld_of(answer, free.tanks[place.at]);
        report.verdict = worse(report.verdict, answer.verdict);
        report.tanks.push_back(std::move(answer));
    }
    if (system.tanks.size() > kMostForSupply && !places.empty()) {
        report.notes.push_back(
            fmt::format("the air of the worst days is not looked for: {} tanks "
                        "share their water",
                        system.tanks.size()));
    }
    if (run.loop && !places.empty()) {
        report.verdict = worse(report.verdict, run.loop->verdict);
        report.loops.push_back(std::move(*run.loop));
    }
}

}  // namespace

SeasonReport make_season_report(ReadResult read, const SeasonQuestion& question) {
    SeasonReport report(read);
    if (!read.description) return report;
    const Description& description = *read.description;
    if (!description.season) {
        const bool wrong = std::any_of(
            read.errors.begin(), read.errors.end(),
            [](const InputError& error) { return error.pointer.starts_with("/season"); });
        report.missing.emplace_back(
            wrong ? "the season could not be read"
                  : "no season is described: add \"season\": {\"start\": \"2026-04-01\", "
                    "\"target_weight_g\": 350, \"monthly_mean_c\": [twelve]}");
        return report;
    }
    report.input = *description.season;
    if (!question.daily.empty()) {
        report.input.daily = question.daily;
        report.input.monthly_mean_c.reset();
        report.input.wave.reset();
    }
    Day last = last_day_of(report.input);
    if (!report.input.until && !report.input.daily.empty()) {
        last = std::min(last, report.input.daily.back().day);
        report.known_until = last;
    }
    const std::vector<double> temperatures =
        season_temperatures(report.input, report.input.start, last);
    for (std::size_t i = 1; i < report.input.daily.size(); ++i) {
        const Day from = report.input.daily[i - 1].day;
        const Day to = report.input.daily[i].day;
        if (static_cast<double>(to - from - 1) > kSeasonGapDays && to > report.input.start &&
            from < last) {
            report.missing.push_back(
                fmt::format("no temperatures between {} and {}: {} days without are as much as can "
                            "be bridged",
                            day_words(from), day_words(to), exact(kSeasonGapDays)));
        }
    }
    if (!report.missing.empty()) return report;
    if (temperatures.empty()) {
        report.missing.push_back(
            report.input.daily.empty()
                ? "the season has no temperatures: monthly_mean_c, or mean_c with amplitude_c and "
                  "warmest_day, or --temperatures FILE"
                : fmt::format("the temperatures of the file do not reach from {} to {}",
                              day_text(report.input.start), day_text(last)));
        return report;
    }
    for (const SeasonInput::Thinning& thinning : report.input.thinning) {
        const bool known =
            thinning.tank.empty() ||
            std::any_of(description.tanks.begin(), description.tanks.end(),
                        [&](const Tank& tank) { return tank.name == thinning.tank; });
        if (!known) {
            report.missing.push_back(
                fmt::format("thinning: no tank is named \"{}\"", shortened(thinning.tank)));
        }
    }
    for (const Tank& tank : description.tanks) {
        for (const FishGroup& group : tank.fish) {
            if (group.count > 0 && !group.tgc && !tgc_of_species(group.species_name)) {
                report.missing.push_back(
                    fmt::format("{}: nobody knows how fast {} grow: give the group a tgc",
                                printable(tank.name), printable(group.species_name)));
            }
        }
    }
    if (!report.missing.empty()) return report;
    if (report.all_read()) report.verdict = Status::pass;
    Description grown = description;
    report.notes = notes_of(description, report.input);
    std::set<std::string> filled;
    if (question.plan) {
        for (Tank& tank : grown.tanks) {
            const bool empty = std::all_of(tank.fish.begin(), tank.fish.end(),
                                           [](const FishGroup& group) { return group.count == 0; });
            if (!empty || tank.fish.empty()) continue;
            for (FishGroup& group : tank.fish) group.count = 1;
            filled.insert(tank.name);
            report.notes.push_back(
                fmt::format("{} has no fish: its days are those of the fish it can hold",
                            printable(tank.name)));
        }
    }
    if (question.logs) report.fitted = fit_all(grown, *question.logs);
    for (const System& system : systems_of(grown)) {
        if (asked_for(read, system)) answer(system, read, question, filled, temperatures, report);
    }
    for (const SeasonInput::Thinning& thinning : report.input.thinning) {
        if (!report.tanks.empty() && !report.input.until &&
            thinning.day > report.tanks.front().days.back().day) {
            report.notes.push_back(fmt::format(
                "thinning on {} is after the season, and does nothing", day_words(thinning.day)));
        }
    }
    if (report.tanks.empty() && report.missing.empty()) {
        report.verdict = Status::unchecked;
        report.missing.emplace_back(
            "there are no fish in any tank that could be read (--plan says how many there could be "
            "of fish with "
            "\"count\": 0)");
    }
    return report;
}

}  // namespace coldtank::io
