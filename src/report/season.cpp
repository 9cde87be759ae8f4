#include "report/season.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "report/contents.hpp"
#include "report/page_parts.hpp"
#include "report/words.hpp"
#include "text/clock.hpp"
#include "text/csv.hpp"
#include "text/markdown.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

constexpr std::string_view kCautions =
    "Weights and feed (of that day) as expected; kg, oxygen and checks with the fastest growth in "
    "the warmest "
    "hour; min: what oxygen lasts when all stops. Estimates: an oxygen meter, a scale and the fish "
    "decide. Local law, permits and a vet come first. By water: residual-current protection. "
    "Oxygen: no oil, ventilate. On days that fail fish are not fed.";

std::string spell_words(const SeasonInput& season, const Display& show) {
    const double spell_c = warm_spell_c_of(season);
    return spell_c > 0 ? fmt::format("with warm spells of {}",
                                     show.with_unit(Measure::temperature_difference_c, spell_c))
                       : "without warm spells";
}

std::string trouble_words(const SeasonTrouble& trouble, bool fails, const Display& show) {
    if (trouble.too_cold) return fmt::format("on {} the water is too cold", day_words(trouble.day));
    return fmt::format("on {} {} {} ({} in the warmest hour, {} a fish)", day_words(trouble.day),
                       title_of(trouble.check), fails ? "fails" : "warns",
                       show.with_unit(Measure::temperature_c, trouble.peak_temperature_c),
                       show.with_unit(Measure::weight_g, trouble.mean_weight_g));
}

std::string joined_titles(const std::vector<CheckId>& checks) {
    std::vector<std::string> names;
    for (const CheckId check : checks) names.emplace_back(title_of(check));
    return listed(names);
}

std::string joined_names(const std::vector<std::string>& tanks) {
    std::vector<std::string> names;
    for (const std::string& tank : tanks) names.push_back(printable(tank));
    return listed(names);
}

// What keeps the limits of a level.
std::string stock_words(const TankSeason& tank, const SeasonStock& plan, Level level) {
    const std::string_view limit = level == Level::warn ? "warn" : "fail";
    const std::string in =
        plan.stopped_in.empty() ? "" : fmt::format(" in {}", printable(plan.stopped_in));
    const std::string judged =
        plan.unchecked.empty()
            ? ""
            : fmt::format(", by what could be judged (not {})", joined_titles(plan.unchecked));
    std::string others;
    if (!tank.in_proportion_with.empty()) others += ", the other tanks in proportion";
    if (!tank.as_they_are.empty()) {
        others += fmt::format(", {} as described", joined_names(tank.as_they_are));
    }
    if (!tank.left_empty.empty()) {
        others += fmt::format(", {} empty", joined_names(tank.left_empty));
    }
    const std::string whatever =
        plan.not_by_stock.empty()
            ? ""
            : fmt::format("{} {} whatever the stock, from {}", joined_titles(plan.not_by_stock),
                          plan.not_by_stock.size() == 1 ? "warns" : "warn",
                          day_words(*plan.not_by_stock_from));
    if (plan.last_safe) {
        if (*plan.date <= tank.days.front().day) {
            return "none: the water is too warm from the first day";
        }
        const std::string until_then =
            plan.count_until_then
                ? fmt::format("; up to {} until then{}{}{}", exact(*plan.count_until_then), others,
                              whatever.empty() ? "" : fmt::format(" ({})", whatever), judged)
                : "";
        return fmt::format(
            "none through the season: the water is too warm from {}, and the fish must be out "
            "after {}{}",
            day_words(*plan.date), day_words(*plan.last_safe), until_then);
    }
    const double now = std::floor(tank.start_count);
    const double count = plan.count_by_the_rest.value_or(plan.fish_count);
    if (count == 0) {
        if (!plan.stopped_by) return "none";
        return fmt::format("no stock keeps every {} limit: {} over it with a single fish, from {}",
                           limit, joined_titles(plan.not_by_stock), day_words(*plan.date));
    }
    std::vector<std::string> why;
    if (plan.stopped_by) {
        why.push_back(fmt::format("one more, and {}{} goes over its {} limit on {}{}",
                                  title_of(*plan.stopped_by), in, limit, day_words(*plan.date),
                                  tank.harvest.expected && *plan.date > *tank.harvest.expected
                                      ? ", of fish that grow slowly: \"until\" ends it sooner"
                                      : ""));
    }
    if (!whatever.empty()) why.push_back(whatever);
    return fmt::format("{}{}{}{}",
                       count < now ? fmt::format("stock {}, not {}", exact(count), exact(now))
                                   : fmt::format("up to {} can be stocked", exact(count)),
                       others, why.empty() ? "" : fmt::format(" ({})", joined(why, "; ")), judged);
}

std::string harvest_words(const TankSeason& tank, const SeasonInput& season, const Display& show) {
    if (!season.target_weight_g) return {};
    const std::string size = show.with_unit(Measure::weight_g, *season.target_weight_g);
    const auto& harvest = tank.harvest;
    const std::string by =
        tank.cut_short ? fmt::format(" by {}", day_words(tank.days.back().day)) : "";
    if (!harvest.fast) return fmt::format("{} are not reached{}", size, by);
    const std::optional<Day> bad =
        tank.first_fail ? std::optional(tank.first_fail->day) : std::nullopt;
    const std::string_view falls = bad && *bad < *harvest.fast ? "would fall" : "falls";
    if (!harvest.slow) {
        return fmt::format(
            "harvest of {} {} on {} at the earliest{}, and slow fish do not get there{}", size,
            falls, day_words(*harvest.fast),
            harvest.expected ? fmt::format(", on {} as expected", day_words(*harvest.expected))
                             : "",
            by);
    }
    if (harvest.slow == harvest.fast) {
        return fmt::format("harvest of {} {} on {}", size, falls, day_words(*harvest.fast));
    }
    return fmt::format("harvest of {} {} between {} and {}", size, falls, day_words(*harvest.fast),
                       day_words(*harvest.slow));
}

std::string head_of(const TankSeason& tank, const SeasonReport& report, const SeasonRun& run) {
    const Display& show = run.show;
    std::vector<std::string> parts;
    if (tank.plan) parts.push_back(stock_words(tank, *tank.plan, run.question.level));
    if (tank.first_fail) parts.push_back(trouble_words(*tank.first_fail, true, show));
    // What no stock mends stands beside the stock.
    const auto warn =
        std::find_if(tank.warns.begin(), tank.warns.end(), [&](const SeasonTrouble& each) {
            return !tank.plan ||
                   std::find(tank.plan->not_by_stock.begin(), tank.plan->not_by_stock.end(),
                             each.check) == tank.plan->not_by_stock.end();
        });
    if (warn != tank.warns.end() && (!tank.first_fail || warn->day < tank.first_fail->day)) {
        parts.push_back(trouble_words(*warn, false, show));
    }
    const bool loop_breaks =
        std::any_of(report.loops.begin(), report.loops.end(),
                    [](const LoopSeason& loop) { return loop.verdict >= Status::warn; });
    if (!tank.first_warn && tank.verdict == Status::pass) {
        parts.emplace_back(loop_breaks ? "the tank passes, its loop does not" : "all of it passes");
    }
    if (!tank.first_warn && tank.verdict == Status::unchecked) {
        parts.emplace_back("nothing warns, and not all could be judged");
    }
    if (tank.too_warm_from) {
        parts.push_back(fmt::format("these fish cannot be kept in this water after {}",
                                    day_words(*tank.too_warm_from - 1)));
    }
    std::string out = fmt::format(
        "{}: as described, {}{}: {}", printable(tank.tank), spell_words(report.input, show),
        tank.cut_short
            ? fmt::format(", up to {}, where its temperatures end", day_words(tank.days.back().day))
            : "",
        joined(parts, "; "));
    const std::string harvest = harvest_words(tank, report.input, show);
    out +=
        fmt::format(". {}{} of feed ({} to {})",
                    harvest.empty() ? "" : fmt::format("As described, {}; ", harvest),
                    show.with_unit(Measure::biomass_kg, tank.feed_kg),
                    show.bare(Measure::biomass_kg, std::min(tank.feed_low_kg, tank.feed_high_kg)),
                    show.bare(Measure::biomass_kg, std::max(tank.feed_low_kg, tank.feed_high_kg)));
    const auto unheld = report.unheld.find(tank.tank);
    if (unheld != report.unheld.end() && unheld->second.sooner) {
        const SeasonTrouble& trouble = *unheld->second.sooner;
        out += fmt::format(". Fish that grow past this ration come to {}: then {} {} about {}",
                           show.with_unit(Measure::biomass_kg, unheld->second.biomass_kg),
                           title_of(trouble.check), unheld->second.fails ? "fails" : "warns",
                           day_words(trouble.day));
    }
    return out;
}

std::string loop_words(const LoopSeason& loop, const Display& show) {
    std::vector<std::string> parts;
    const auto list = [&](const std::vector<SeasonTrouble>& troubles, bool fails) {
        for (const SeasonTrouble& each : troubles) {
            const bool told =
                !fails &&
                std::any_of(loop.fails.begin(), loop.fails.end(), [&](const SeasonTrouble& other) {
                    return other.check == each.check && other.day <= each.day;
                });
            if (told) continue;
            parts.push_back(
                fmt::format("on {} {} {} ({} in the warmest hour)", day_words(each.day),
                            title_of(each.check), fails ? "fails" : "warns",
                            show.with_unit(Measure::temperature_c, each.peak_temperature_c)));
        }
    };
    list(loop.fails, true);
    list(loop.warns, false);
    if (parts.empty()) parts.emplace_back("nothing warns");
    if (!loop.unchecked.empty()) {
        parts.push_back(fmt::format("not judged: {}", joined_titles(loop.unchecked)));
    }
    return fmt::format("loop {}: {}", printable(loop.loop), joined(parts, "; "));
}

bool shown_on(const SeasonDay& day, const TankSeason& tank, Every every) {
    if (&day == &tank.days.front() || &day == &tank.days.back() || every == Every::day) return true;
    if (every == Every::week) return (day.day - tank.days.front().day) % 7 == 0;
    return day_text(day.day).ends_with("-01");
}

using Row = std::vector<std::string>;

// Days on which fish would have been sold but for slow growth.
constexpr std::string_view kLate = "*";
bool is_late(const SeasonDay& day, const TankSeason& tank) {
    return tank.harvest.expected && day.day > *tank.harvest.expected;
}
std::string late_words(const TankSeason& tank) {
    return fmt::format("after {} only fish that grow slowly are there",
                       day_words(*tank.harvest.expected));
}

// Each figure is rounded towards its limit: none reads better than it is.
std::vector<Row> rows_of(const TankSeason& tank, const SeasonRun& run) {
    const Display& show = run.show;
    const auto above = [](double value) { return std::ceil(off_tie(value * 10)) / 10; };
    const auto below = [](double value) { return std::floor(off_tie(value * 10)) / 10; };
    const std::string_view feed_unit = show.unit(Measure::daily_mass_g);  // "g/day"
    std::vector<Row> rows{{"date", std::string(show.unit(Measure::temperature_c)), "fish",
                           std::string(show.unit(Measure::weight_g)),
                           fmt::format("most {}", show.unit(Measure::biomass_kg)),
                           fmt::format("feed {}", feed_unit.substr(0, feed_unit.find('/'))), "mg/L",
                           "min", "short first"}};
    const bool some_late = is_late(tank.days.back(), tank);
    for (const SeasonDay& day : tank.days) {
        if (!shown_on(day, tank, run.question.every)) continue;
        std::string first = fmt::format("{} {}", name_of(day.verdict), title_of(day.first_limit));
        if (day.used_percent) {
            const double used = *day.used_percent;
            first +=
                used < 1000
                    ? fmt::format(" {} %", exact(used > 100 ? std::ceil(used) : std::floor(used)))
                    : " >1000 %";
        }
        rows.push_back(
            {day_text(day.day) + std::string(is_late(day, tank) ? kLate
                                             : some_late        ? " "
                                                                : ""),
             fmt::format("{:.1f}",
                         above(show.value(Measure::temperature_c, day.peak_temperature_c))),
             exact(std::floor(day.fish_count)), show.bare(Measure::weight_g, day.mean_weight_g),
             show.bare(Measure::biomass_kg, day.biomass_high_kg),
             show.bare(Measure::daily_mass_g, day.ration_g_day),
             day.oxygen_lowest_mg_l ? fmt::format("{:.1f}", below(*day.oxygen_lowest_mg_l)) : "-",
             !day.reserve_min          ? "-"
             : *day.reserve_min < 1000 ? exact(std::floor(*day.reserve_min))
                                       : ">999",
             first});
    }
    return rows;
}

std::string table_of(const std::vector<Row>& rows) {
    std::vector<std::size_t> widths(rows[0].size(), 0);
    for (const Row& row : rows) {
        for (std::size_t i = 0; i < row.size(); ++i) widths[i] = std::max(widths[i], row[i].size());
    }
    std::string out;
    for (const Row& row : rows) {
        for (std::size_t i = 0; i + 1 < row.size(); ++i) {
            out += fmt::format("{:>{}}{}", row[i], widths[i], i + 2 < row.size() ? " " : "  ");
        }
        out += row.back() + '\n';
    }
    return out;
}

std::string markdown_table_of(const std::vector<Row>& rows) {
    std::string out;
    for (const Row& row : rows) {
        out += fmt::format("| {} |\n", joined(row, " | "));
        if (&row == &rows.front()) {
            out += '|';
            for (std::size_t i = 0; i + 1 < row.size(); ++i) out += i == 0 ? "---|" : "--:|";
            out += "---|\n";
        }
    }
    return out;
}

std::vector<std::pair<std::string_view, std::string>> lines_of(const TankSeason& tank,
                                                               const SeasonReport& report,
                                                               const Display& show) {
    const auto found = report.supplies.find(tank.tank);
    const SeasonReport::Supply* supply = found == report.supplies.end() ? nullptr : &found->second;
    std::vector<std::pair<std::string_view, std::string>> out;
    const auto line = [&](std::string_view label, const std::string& words) {
        out.emplace_back(label, words);
    };
    const auto first = [&](const std::vector<SeasonTrouble>& list, bool fails) {
        std::vector<std::string> words;
        for (const SeasonTrouble& each : list) {
            words.push_back(fmt::format("{} {}", title_of(each.check), day_words(each.day)));
        }
        if (!words.empty()) line(fails ? "fails" : "warns", "first: " + joined(words, ", "));
    };
    if (is_late(tank.days.back(), tank)) line(kLate, late_words(tank));
    first(tank.fails, true);
    first(tank.warns, false);
    if (tank.days_warm > 0) {
        const auto hottest = std::max_element(
            tank.days.begin(), tank.days.end(), [](const SeasonDay& a, const SeasonDay& b) {
                return a.peak_temperature_c < b.peak_temperature_c;
            });
        line("heat",
             fmt::format("{} days over the warn temperature, {} over the fail temperature; "
                         "{} on {}",
                         tank.days_warm, tank.days_too_warm,
                         show.with_unit(Measure::temperature_c, hottest->peak_temperature_c),
                         day_words(hottest->day)));
    }
    if (tank.days_unfed_warm > 0) {
        line(tank.days_warm > 0 ? "" : "heat",
             fmt::format("{} days without feed, too warm to eat", tank.days_unfed_warm));
    }
    if (tank.days_cold > 0) {
        line("cold", fmt::format("{} days under the warn temperature", tank.days_cold));
    }
    if (tank.days_unfed > 0)
        line("winter", fmt::format("{} day{} without feed", tank.days_unfed,
                                   tank.days_unfed == 1 ? "" : "s"));
    if (!tank.thinned.empty()) {
        std::vector<std::string> words;
        for (const Thinned& each : tank.thinned) {
            words.push_back(fmt::format(
                "{} {} fish, {}{}", day_words(each.day), exact(std::round(each.fish_count)),
                show.with_unit(Measure::biomass_kg, each.biomass_kg),
                each.too_many ? " (all there are, and fewer than asked)" : ""));
        }
        if (!words.empty()) line("thinned", joined(words, "; ") + " as expected");
    }
    if (tank.harvest.expected) {
        const auto day =
            std::find_if(tank.days.begin(), tank.days.end(),
                         [&](const SeasonDay& each) { return each.day == *tank.harvest.expected; });
        if (day != tank.days.end()) {
            line("harvest", fmt::format("{}, {} fish, as expected on {}",
                                        show.with_unit(Measure::biomass_kg, day->biomass_kg),
                                        exact(std::floor(day->fish_count)), day_words(day->day)));
        }
    }
    std::vector<std::string> months;
    std::vector<PelletFeed> sizes;
    for (const TankSeason::MonthFeed& month : tank.feed_by_month) {
        std::string words = fmt::format("{}-{:02} {}", month.year, month.month,
                                        show.bare(Measure::biomass_kg, month.feed_kg));
        std::vector<std::string> parts;
        for (const PelletFeed& pellet : month.pellets) {
            parts.push_back(fmt::format("{} of {} mm",
                                        show.bare(Measure::biomass_kg, pellet.feed_kg),
                                        exact(pellet.pellet_mm)));
            auto size = std::find_if(sizes.begin(), sizes.end(), [&](const PelletFeed& each) {
                return each.pellet_mm == pellet.pellet_mm;
            });
            if (size == sizes.end()) size = sizes.insert(sizes.end(), {pellet.pellet_mm, 0});
            size->feed_kg += pellet.feed_kg;
        }
        if (parts.size() > 1) words += fmt::format(" ({})", joined(parts, ", "));
        months.push_back(std::move(words));
    }
    if (!months.empty()) {
        line("feed",
             fmt::format("{} by month: {}", show.unit(Measure::biomass_kg), joined(months, ", ")));
    }
    if (tank.gain_kg > 0) {
        const double conversion = tank.feed_kg / tank.gain_kg;
        constexpr double kMuchMore = 1.1;
        line("", fmt::format("{} gained, {} of feed a {} gained{}",
                             show.with_unit(Measure::biomass_kg, tank.gain_kg), figure(conversion),
                             show.unit(Measure::biomass_kg),
                             conversion > kMuchMore * report.input.fcr
                                 ? ": the ration is more than the fish grow on as expected"
                                 : ""));
    }
    if (!sizes.empty()) {
        std::vector<std::string> parts;
        for (const PelletFeed& size : sizes) {
            parts.push_back(fmt::format("{} mm {}", exact(size.pellet_mm),
                                        show.with_unit(Measure::biomass_kg, size.feed_kg)));
        }
        line("pellets",
             joined(parts, ", ") + " (sizes: common practice; as the feed's maker says)");
    }
    const auto worst = std::max_element(tank.days.begin(), tank.days.end(),
                                        [](const SeasonDay& a, const SeasonDay& b) {
                                            return a.demand_peak_g_h < b.demand_peak_g_h;
                                        });
    line("oxygen", fmt::format("most is needed on {}: {}", day_words(worst->day),
                               show.with_unit(Measure::hourly_mass_g, worst->demand_peak_g_h)));
    if (supply != nullptr) {
        std::vector<std::string> ways;
        for (const WordedRemedy& change : supply->changes) ways.push_back(change.text);
        const std::string lowest =
            supply->supply.oxygen_lowest_mg_l
                ? fmt::format(" ({:.2f} mg/L)",
                              std::floor(off_tie(*supply->supply.oxygen_lowest_mg_l * 100)) / 100)
                : "";
        line("", fmt::format("its worst day is {}{}: {}", day_words(supply->supply.day), lowest,
                             supply->supply.passes ? "oxygen passes with the air described"
                             : ways.empty()        ? "no more air or oxygen alone makes it pass"
                                            : "for oxygen to pass, " + joined(ways, ", or ")));
    }
    if (tank.days_held_back > 0) {
        const auto unheld = report.unheld.find(tank.tank);
        line("growth", fmt::format("held back by the ration on {} days, where fish grow fast{}",
                                   tank.days_held_back,
                                   unheld == report.unheld.end()
                                       ? ""
                                       : fmt::format("; with all they can eat the most is about {}",
                                                     show.with_unit(Measure::biomass_kg,
                                                                    unheld->second.biomass_kg))));
    }
    if (!tank.unchecked.empty()) line("unknown", joined_titles(tank.unchecked));
    return out;
}

std::vector<std::string> names_of(const std::vector<CheckId>& checks) {
    std::vector<std::string> out;
    for (const CheckId check : checks) out.emplace_back(name_of(check));
    return out;
}

void list_trouble(std::string_view key, const std::optional<SeasonTrouble>& trouble, Fields& out) {
    if (!trouble) {
        out.text_or_null(key, "");
        return;
    }
    out.object(key, [&] {
        out.text("date", day_text(trouble->day));
        out.text("check", name_of(trouble->check));
        out.number("peak_temperature_c", trouble->peak_temperature_c);
        out.number("mean_weight_g", trouble->mean_weight_g);
    });
}

std::string text_of_day(const std::optional<Day>& day) { return day ? day_text(*day) : ""; }

void list_supply(const SeasonReport& report, const std::string& tank, Fields& out) {
    const auto supply = report.supplies.find(tank);
    if (supply == report.supplies.end()) {
        out.text_or_null("supply", "");
        return;
    }
    out.object("supply", [&] {
        out.text("date", day_text(supply->second.supply.day));
        out.number("oxygen_lowest_mg_l", supply->second.supply.oxygen_lowest_mg_l);
        out.truth("passes", supply->second.supply.passes);
        out.objects("changes", {}, supply->second.changes, [&](const WordedRemedy& change) {
            list_remedy(change.remedy, out);
            out.text("text", change.text);
        });
    });
}

void list_stock(const TankSeason& tank, Fields& out) {
    const std::optional<SeasonStock>& plan = tank.plan;
    if (!plan) {
        out.text_or_null("plan", "");
        return;
    }
    out.object("plan", [&] {
        out.number("fish_count", plan->fish_count);
        out.text_or_null("stopped_by", plan->stopped_by ? name_of(*plan->stopped_by) : "");
        out.text_or_null("stopped_in", plan->stopped_in);
        out.text_or_null("date", text_of_day(plan->date));
        out.text_or_null("last_safe", text_of_day(plan->last_safe));
        out.texts("unchecked", names_of(plan->unchecked));
        out.texts("not_by_stock", names_of(plan->not_by_stock));
        out.number("count_by_the_rest", plan->count_by_the_rest);
        out.number("count_until_then", plan->count_until_then);
        out.texts("in_proportion_with", tank.in_proportion_with);
        out.texts("as_they_are", tank.as_they_are);
        out.texts("left_empty", tank.left_empty);
    });
}

}  // namespace

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

std::string fitted_words(const SeasonReport::Fitted& fitted) {
    const std::string tank = printable(fitted.tank);
    if (!fitted.fit) {
        return fmt::format("{}: growth by the species, not by the logbook: {}", tank,
                           fitted.why_not);
    }
    const Tgc& tgc = fitted.fit->tgc;
    return fmt::format("{}: growth by {} weighings of the logbook: TGC x 1000 {} ({} to {})", tank,
                       fitted.fit->weighings, figure(1000 * tgc.expected), figure(1000 * tgc.slow),
                       figure(1000 * tgc.fast));
}

}  // namespace

namespace {

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

}  // namespace

namespace {

// The first day on which fish that no ration holds back are worse off.
SeasonReport::Unheld unheld_of(const TankSeason& held, const TankSeason& free) {
    SeasonReport::Unheld out;
    for (const SeasonDay& day : free.days) {
        out.biomass_kg = std::max(out.biomass_kg, day.biomass_high_kg);
    }
    const auto sooner = [](const std::vector<SeasonTrouble>& list,
                           const std::vector<SeasonTrouble>& than) {
        std::optional<SeasonTrouble> first;
        for (const SeasonTrouble& each : list) {
            if (each.check == CheckId::ration || each.check == CheckId::input_doubt) continue;
            if (!first) first = each;
        }
        return first && (than.empty() || first->day < than.front().day) ? first : std::nullopt;
    };
    out.sooner = sooner(free.fails, held.fails);
    out.fails = out.sooner.has_value();
    if (!out.fails && held.fails.empty()) out.sooner = sooner(free.warns, held.warns);
    return out;
}

// The seasons of one system, and what they ask for: a plan, air, growth without a ration.
void answer(System system, const ReadResult& read, const SeasonQuestion& question,
            const std::set<std::string>& filled, std::span<const double> temperatures,
            SeasonReport& report) {
    SystemSeason run = run_season(system, report.input, temperatures);
    std::vector<TankSeason>& seasons = run.tanks;
    struct Answered {
        std::size_t place;  // in the system
        bool filled;        // without fish in the description
    };
    std::vector<Answered> answered;
    bool wants_plan = question.plan;
    const Status limit = question.level == Level::warn ? Status::warn : Status::fail;
    for (std::size_t i = 0; i < seasons.size(); ++i) {
        const TankSeason& season = seasons[i];
        if (!asked_for(read, system.tanks[i]) || season.start_count == 0) continue;
        const auto beyond =
            std::find_if(season.days.begin(), season.days.end(), [](const SeasonDay& day) {
                return !std::isfinite(day.mean_weight_high_g + day.mean_weight_low_g +
                                      day.peak_temperature_c + day.demand_peak_g_h +
                                      day.oxygen_lowest_mg_l.value_or(0));
            });
        if (beyond != season.days.end()) {
            report.missing.push_back(fmt::format(
                "{}: on {} the season leaves what is modelled (water of 0 to 40 degC, fish up "
                "to 30 kg): no answer",
                printable(season.tank), day_words(beyond->day)));
            report.verdict = worse(report.verdict, Status::unchecked);
            continue;
        }
        if (report.known_until && !season.harvest.slow) {  // or fish would be ready
            seasons[i].cut_short = true;
            seasons[i].verdict = worse(season.verdict, Status::unchecked);
        }
        wants_plan = wants_plan || season.verdict >= limit;
        answered.push_back({i, filled.count(season.tank) > 0});
    }
    if (wants_plan) {
        // Tanks with fish in their proportion; those without, all alike, with them as they are.
        std::vector<std::size_t> together[2];
        for (const Answered& each : answered) {
            together[each.filled ? 1 : 0].push_back(each.place);
        }
        for (const std::vector<std::size_t>& places : together) {
            if (places.empty()) continue;
            std::vector<SeasonStock> plans =
                plan_season(system, places, report.input, temperatures, question.level);
            for (std::size_t i = 0; i < places.size(); ++i) {
                TankSeason& season = seasons[places[i]];
                for (std::size_t j = 0; j < system.tanks.size(); ++j) {
                    if (j == places[i] || system.tanks[j].fish.empty()) continue;
                    const std::string& name = system.tanks[j].name;
                    const auto at = std::find(places.begin(), places.end(), j);
                    if (at == places.end()) {
                        season.as_they_are.push_back(name);
                        continue;
                    }
                    const SeasonStock& other = plans[static_cast<std::size_t>(at - places.begin())];
                    const bool stays = other.fish_count + other.count_by_the_rest.value_or(0) +
                                           other.count_until_then.value_or(0) >
                                       0;
                    (stays ? season.in_proportion_with : season.left_empty).push_back(name);
                }
                season.plan = plans[i];
            }
        }
        bool stocked = false;
        for (const Answered& each : answered) {
            const SeasonStock& plan = *seasons[each.place].plan;
            const double count = plan.last_safe ? plan.count_until_then.value_or(0)
                                                : plan.count_by_the_rest.value_or(plan.fish_count);
            if (!each.filled || count < 1) continue;
            system.tanks[each.place] = stocked_with(system.tanks[each.place], count);
            stocked = true;
        }
        if (stocked) {
            SystemSeason again = run_season(system, report.input, temperatures);
            for (std::size_t i = 0; i < seasons.size(); ++i) {
                again.tanks[i].plan = std::move(seasons[i].plan);
                again.tanks[i].in_proportion_with = std::move(seasons[i].in_proportion_with);
                again.tanks[i].as_they_are = std::move(seasons[i].as_they_are);
                again.tanks[i].left_empty = std::move(seasons[i].left_empty);
                again.tanks[i].cut_short = seasons[i].cut_short;
                if (seasons[i].cut_short) {
                    again.tanks[i].verdict = worse(again.tanks[i].verdict, Status::unchecked);
                }
            }
            run = std::move(again);
        }
    }
    for (const Answered& each : answered) {
        const TankSeason& season = seasons[each.place];
        report.verdict = worse(report.verdict, season.verdict);
        auto supply = season_supply(each.place, season, system, report.input, temperatures,
                                    sold_by(question.show));
        if (!supply) continue;
        SeasonReport::Supply told{std::move(*supply), {}};
        for (const Remedy& remedy : told.supply.remedies) {
            told.changes.push_back(
                {remedy, short_words_of(remedy, told.supply.on->system, told.supply.on->budget,
                                        Part{each.place}, question.show)});
        }
        report.supplies.emplace(season.tank, std::move(told));
    }
    if (std::any_of(answered.begin(), answered.end(),
                    [&](const Answered& each) { return seasons[each.place].days_held_back > 0; })) {
        constexpr std::size_t kFreeEveryDays = 7;
        SeasonInput free = report.input;
        free.ration = SeasonInput::Ration::growth;
        const SystemSeason grown_free = run_season(system, free, temperatures, kFreeEveryDays);
        for (const Answered& each : answered) {
            if (seasons[each.place].days_held_back == 0) continue;
            report.unheld.emplace(seasons[each.place].tank,
                                  unheld_of(seasons[each.place], grown_free.tanks[each.place]));
        }
    }
    if (run.loop && !answered.empty()) {
        report.verdict = worse(report.verdict, run.loop->verdict);
        report.loops.push_back(std::move(*run.loop));
    }
    for (const Answered& each : answered) report.tanks.push_back(std::move(seasons[each.place]));
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
    for (const Tank& tank : description.tanks) report.limits.emplace(tank.name, limits_of(tank));
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

std::string season_formats::text(const SeasonReport& report, const SeasonRun& run) {
    const std::size_t width = run.show.paper().width;
    if (!report.site) {
        return wrapped(
            "",
            fmt::format("{}: no season: the description could not be read", printable(report.file)),
            2, width);
    }
    std::string out;
    for (const std::string& why : report.missing) out += wrapped("", why, 2, width);
    if (report.tanks.empty()) return out;
    for (const TankSeason& tank : report.tanks) {
        out += wrapped(fmt::format("{:<5} ", name_of(tank.verdict)),
                       head_of(tank, report, run) + ".", 6, width);
    }
    for (const LoopSeason& loop : report.loops) {
        out += wrapped(fmt::format("{:<5} ", name_of(loop.verdict)),
                       loop_words(loop, run.show) + ".", 6, width);
    }
    out += wrapped("",
                   fmt::format("{}, {} to {}", printable(report.site->name),
                               day_text(report.tanks.front().days.front().day),
                               day_text(report.tanks.front().days.back().day)),
                   2, width);
    if (!report.notes.empty()) {
        out += wrapped("assumed ", joined(report.notes, "; "), 8, width);
    }
    for (const SeasonReport::Fitted& fitted : report.fitted) {
        out += wrapped("", fitted_words(fitted), 2, width);
    }
    for (const TankSeason& tank : report.tanks) {
        out += fmt::format("\n{}\n", cut_to(printable(tank.tank), width));
        out += table_of(rows_of(tank, run));
        for (const auto& [label, words] : lines_of(tank, report, run.show)) {
            out += wrapped(fmt::format("  {:<8}", label), words, 10, width);
        }
    }
    return out;
}

std::string season_formats::text_end(const SeasonRun& run) {
    if (!run.answered) return "";
    return '\n' + wrapped("", std::string(kCautions), 0, run.show.paper().width);
}

std::string season_formats::markdown(const SeasonReport& report, const SeasonRun& run) {
    if (!report.site) return text(report, run);
    std::string out;
    for (const std::string& why : report.missing) out += markdown_text(why) + "\n\n";
    if (report.tanks.empty()) return out;
    out += fmt::format("# {}, {} to {}\n", markdown_text(printable(report.site->name)),
                       day_text(report.tanks.front().days.front().day),
                       day_text(report.tanks.front().days.back().day));
    if (!report.notes.empty()) {
        out += fmt::format("\nAssumed: {}.\n", markdown_text(joined(report.notes, "; ")));
    }
    for (const SeasonReport::Fitted& fitted : report.fitted) {
        out += fmt::format("\n{}\n", markdown_text(fitted_words(fitted)));
    }
    for (const LoopSeason& loop : report.loops) {
        out += fmt::format("\n**{}** {}.\n", name_of(loop.verdict),
                           markdown_text(loop_words(loop, run.show)));
    }
    for (const TankSeason& tank : report.tanks) {
        out += fmt::format("\n## {}: **{}**\n\n{}.\n\n", markdown_text(printable(tank.tank)),
                           name_of(tank.verdict), markdown_text(head_of(tank, report, run)));
        out += markdown_table_of(rows_of(tank, run)) + '\n';
        for (const auto& [label, words] : lines_of(tank, report, run.show)) {
            out +=
                fmt::format("- {}{}{}\n", label, label.empty() ? "" : ": ", markdown_text(words));
        }
    }
    return out;
}

std::string season_formats::markdown_end(const SeasonRun& run) {
    if (!run.answered) return "";
    return '\n' + std::string(kCautions) + '\n';
}

std::string season_formats::csv_begin(const SeasonRun& /*run*/) {
    return "site,tank,date,temperature_c,peak_temperature_c,fish_count,mean_weight_g,"
           "mean_weight_low_g,mean_weight_high_g,biomass_kg,biomass_high_kg,ration_g_day,"
           "oxygen_lowest_mg_l,reserve_min,verdict,first_limit,used_percent\n";
}

std::string season_formats::csv(const SeasonReport& report, const SeasonRun& /*run*/) {
    std::string out;
    for (const TankSeason& tank : report.tanks) {
        for (const SeasonDay& day : tank.days) {
            const auto number = [](const std::optional<double>& value) {
                return value ? exact(*value) : std::string{};
            };
            out += fmt::format(
                "{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{}\n", csv_cell(report.site->name),
                csv_cell(tank.tank), day_text(day.day), exact(day.temperature_c),
                exact(day.peak_temperature_c), exact(day.fish_count), exact(day.mean_weight_g),
                exact(day.mean_weight_low_g), exact(day.mean_weight_high_g), exact(day.biomass_kg),
                exact(day.biomass_high_kg), exact(day.ration_g_day), number(day.oxygen_lowest_mg_l),
                number(day.reserve_min), name_of(day.verdict), name_of(day.first_limit),
                number(day.used_percent));
        }
    }
    return out;
}

std::string season_formats::json_begin(const SeasonRun& run) {
    return io::json_begin("reports", [&](Fields& out) { list_head(run.now, run.verdict, out); });
}

std::string season_formats::json(const SeasonReport& report, const SeasonRun& /*run*/) {
    return json_item([&](Fields& out) {
        out.text("file", report.file);
        list_site(report.site, report.pressure_kpa, out);
        out.text("verdict", name_of(report.verdict));
        out.texts("warnings", report.missing);
        out.texts("assumed", report.notes);
        out.number("warm_spell_c", warm_spell_c_of(report.input));
        out.objects("growth", {}, report.fitted, [&](const SeasonReport::Fitted& fitted) {
            const auto at = [&](Pace pace) {
                return fitted.fit ? std::optional(fitted.fit->tgc.at(pace)) : std::nullopt;
            };
            out.text("tank", fitted.tank);
            out.number("tgc", at(Pace::expected));
            out.number("tgc_low", at(Pace::slow));
            out.number("tgc_high", at(Pace::fast));
            out.whole("weighings",
                      fitted.fit ? std::optional(fitted.fit->weighings) : std::nullopt);
            out.text_or_null("why_not", fitted.why_not);
        });
        out.objects("tanks", {}, report.tanks, [&](const TankSeason& tank) {
            out.text("tank", tank.tank);
            out.text("verdict", name_of(tank.verdict));
            out.objects("days", {}, tank.days, [&](const SeasonDay& day) {
                out.text("date", day_text(day.day));
                out.number("temperature_c", day.temperature_c);
                out.number("peak_temperature_c", day.peak_temperature_c);
                out.number("fish_count", day.fish_count);
                out.number("mean_weight_g", day.mean_weight_g);
                out.number("mean_weight_low_g", day.mean_weight_low_g);
                out.number("mean_weight_high_g", day.mean_weight_high_g);
                out.number("biomass_kg", day.biomass_kg);
                out.number("biomass_high_kg", day.biomass_high_kg);
                out.number("ration_g_day", day.ration_g_day);
                out.number("oxygen_lowest_mg_l", day.oxygen_lowest_mg_l);
                out.number("reserve_min", day.reserve_min);
                out.text("verdict", name_of(day.verdict));
                out.text("first_limit", name_of(day.first_limit));
                out.number("used_percent", day.used_percent);
            });
            list_trouble("first_warn", tank.first_warn, out);
            list_trouble("first_fail", tank.first_fail, out);
            out.object("harvest", [&] {
                out.text_or_null("slow", text_of_day(tank.harvest.slow));
                out.text_or_null("expected", text_of_day(tank.harvest.expected));
                out.text_or_null("fast", text_of_day(tank.harvest.fast));
            });
            out.number("feed_kg", tank.feed_kg);
            out.number("feed_low_kg", tank.feed_low_kg);
            out.number("feed_high_kg", tank.feed_high_kg);
            out.objects("feed_by_month", {}, tank.feed_by_month,
                        [&](const TankSeason::MonthFeed& month) {
                            out.text("month", fmt::format("{}-{:02}", month.year, month.month));
                            out.number("feed_kg", month.feed_kg);
                            out.objects("pellets", {}, month.pellets, [&](const PelletFeed& each) {
                                out.number("pellet_mm", each.pellet_mm);
                                out.number("feed_kg", each.feed_kg);
                            });
                        });
            out.number("gain_kg", tank.gain_kg);
            out.whole("days_warm", static_cast<std::size_t>(tank.days_warm));
            out.whole("days_cold", static_cast<std::size_t>(tank.days_cold));
            out.whole("days_too_warm", static_cast<std::size_t>(tank.days_too_warm));
            out.whole("days_unfed", static_cast<std::size_t>(tank.days_unfed));
            out.whole("days_held_back", static_cast<std::size_t>(tank.days_held_back));
            out.texts("unchecked", names_of(tank.unchecked));
            out.objects("thinned", {}, tank.thinned, [&](const Thinned& each) {
                out.text("date", day_text(each.day));
                out.number("fish_count", each.fish_count);
                out.number("biomass_kg", each.biomass_kg);
                out.truth("too_many", each.too_many);
            });
            list_supply(report, tank.tank, out);
            list_stock(tank, out);
        });
        out.objects("loops", {}, report.loops, [&](const LoopSeason& loop) {
            out.text("loop", loop.loop);
            out.text("verdict", name_of(loop.verdict));
            list_trouble("first_warn", loop.first_warn, out);
            list_trouble("first_fail", loop.first_fail, out);
            out.texts("unchecked", names_of(loop.unchecked));
        });
        list_errors(report.errors, out);
    });
}

std::string season_formats::json_end(const SeasonRun& run) {
    return io::json_end(run.reports == 0);
}

}  // namespace coldtank::io
