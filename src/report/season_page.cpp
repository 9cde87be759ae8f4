#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "report/contents.hpp"
#include "report/page_parts.hpp"
#include "report/season.hpp"
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
                       show.with_unit(Measure::weight_g, trouble.mean_weight_g.value()));
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
std::string stock_words(const SeasonAnswer& tank, const SeasonStock& plan, Level level) {
    const std::string_view limit = level == Level::warn ? "warn" : "fail";
    const std::string in =
        plan.stopped_in.empty() ? "" : fmt::format(" in {}", printable(plan.stopped_in));
    const std::string judged =
        plan.unchecked.empty()
            ? ""
            : fmt::format(", by what could be judged (not {})", joined_titles(plan.unchecked));
    std::string others;
    if (!plan.in_proportion_with.empty()) others += ", the other tanks in proportion";
    if (!plan.as_they_are.empty()) {
        others += fmt::format(", {} as described", joined_names(plan.as_they_are));
    }
    if (!plan.left_empty.empty()) {
        others += fmt::format(", {} empty", joined_names(plan.left_empty));
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
    const double count = plan.count();
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

std::string harvest_words(const SeasonAnswer& tank, const SeasonInput& season,
                          const Display& show) {
    if (!season.target_weight_g) return {};
    const std::string size = show.with_unit(Measure::weight_g, *season.target_weight_g);
    const auto& harvest = tank.harvest;
    const std::string by =
        tank.cut_short ? fmt::format(" by {}", day_words(tank.days.back().day)) : "";
    if (!harvest.fast) return fmt::format("{} are not reached{}", size, by);
    const bool at_risk = !tank.fails.empty() && tank.fails.front().day < *harvest.fast;
    const std::string_view falls = at_risk ? "would fall" : "falls";
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

std::string head_of(const SeasonAnswer& tank, const SeasonReport& report, const SeasonRun& run) {
    const Display& show = run.show;
    std::vector<std::string> parts;
    if (tank.plan) parts.push_back(stock_words(tank, *tank.plan, run.question.level));
    if (!tank.fails.empty()) parts.push_back(trouble_words(tank.fails.front(), true, show));
    // What no stock mends stands beside the stock.
    const auto warn =
        std::find_if(tank.warns.begin(), tank.warns.end(), [&](const SeasonTrouble& each) {
            return !tank.plan ||
                   std::find(tank.plan->not_by_stock.begin(), tank.plan->not_by_stock.end(),
                             each.check) == tank.plan->not_by_stock.end();
        });
    if (warn != tank.warns.end() && (tank.fails.empty() || warn->day < tank.fails.front().day)) {
        parts.push_back(trouble_words(*warn, false, show));
    }
    if (tank.warns.empty() && tank.verdict == Status::pass) {
        parts.emplace_back(tank.loop_breaks ? "the tank passes, its loop does not"
                                            : "all of it passes");
    }
    if (tank.warns.empty() && tank.verdict == Status::unchecked) {
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
    if (tank.unheld && tank.unheld->sooner) {
        const SeasonTrouble& trouble = *tank.unheld->sooner;
        out += fmt::format(". Fish that grow past this ration come to {}: then {} {} about {}",
                           show.with_unit(Measure::biomass_kg, tank.unheld->biomass_kg),
                           title_of(trouble.check), tank.unheld->fails ? "fails" : "warns",
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

bool shown_on(const SeasonDay& day, const SeasonAnswer& tank, Every every) {
    if (&day == &tank.days.front() || &day == &tank.days.back() || every == Every::day) return true;
    if (every == Every::week) return (day.day - tank.days.front().day) % 7 == 0;
    return day_text(day.day).ends_with("-01");
}

using Row = std::vector<std::string>;

// Days on which fish would have been sold but for slow growth.
constexpr std::string_view kLate = "*";
bool is_late(const SeasonDay& day, const SeasonAnswer& tank) {
    return tank.harvest.expected && day.day > *tank.harvest.expected;
}
std::string late_words(const SeasonAnswer& tank) {
    return fmt::format("after {} only fish that grow slowly are there",
                       day_words(*tank.harvest.expected));
}

// Each figure is rounded towards its limit: none reads better than it is.
std::vector<Row> rows_of(const SeasonAnswer& tank, const SeasonRun& run) {
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

std::vector<std::pair<std::string_view, std::string>> lines_of(const SeasonAnswer& tank,
                                                               const SeasonReport& report,
                                                               const Display& show) {
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
    if (tank.supply) {
        const SeasonAnswer::Supply* const supply = &*tank.supply;
        std::vector<std::string> ways;
        for (const WordedRemedy& change : supply->changes) ways.push_back(change.text);
        const std::string lowest =
            supply->supply.oxygen_lowest_mg_l
                ? fmt::format(" ({:.2f} mg/L)",
                              std::floor(off_tie(*supply->supply.oxygen_lowest_mg_l * 100)) / 100)
                : "";
        line("", fmt::format("its worst day is {}{}: {}", day_words(supply->supply.day), lowest,
                             supply->supply.passes ? "oxygen passes with the air described"
                             : ways.empty()
                                 ? "no more air or oxygen alone makes it pass"
                                 : "for oxygen to pass all the time, " + joined(ways, ", or ")));
    }
    if (tank.days_held_back > 0) {
        line("growth",
             fmt::format(
                 "held back by the ration on {} days, where fish grow fast{}", tank.days_held_back,
                 !tank.unheld
                     ? ""
                     : fmt::format("; with all they can eat the most is about {}",
                                   show.with_unit(Measure::biomass_kg, tank.unheld->biomass_kg))));
    }
    if (!tank.unchecked.empty()) line("unknown", joined_titles(tank.unchecked));
    return out;
}

std::vector<std::string> names_of(const std::vector<CheckId>& checks) {
    std::vector<std::string> out;
    for (const CheckId check : checks) out.emplace_back(name_of(check));
    return out;
}

// The first of them; null of none.
void list_first(std::string_view key, const std::vector<SeasonTrouble>& troubles, Fields& out) {
    if (troubles.empty()) {
        out.text_or_null(key, "");
        return;
    }
    const SeasonTrouble& trouble = troubles.front();
    out.object(key, [&] {
        out.text("date", day_text(trouble.day));
        out.text("check", name_of(trouble.check));
        out.number("peak_temperature_c", trouble.peak_temperature_c);
        out.number("mean_weight_g", trouble.mean_weight_g);
    });
}

std::string text_of_day(const std::optional<Day>& day) { return day ? day_text(*day) : ""; }

void list_supply(const std::optional<SeasonAnswer::Supply>& supply, Fields& out) {
    if (!supply) {
        out.text_or_null("supply", "");
        return;
    }
    out.object("supply", [&] {
        out.text("date", day_text(supply->supply.day));
        out.number("oxygen_lowest_mg_l", supply->supply.oxygen_lowest_mg_l);
        out.truth("passes", supply->supply.passes);
        out.objects("changes", {}, supply->changes, [&](const WordedRemedy& change) {
            list_remedy(change.remedy, out);
            out.text("text", change.text);
        });
    });
}

void list_stock(const SeasonAnswer& tank, Fields& out) {
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
        out.texts("in_proportion_with", plan->in_proportion_with);
        out.texts("as_they_are", plan->as_they_are);
        out.texts("left_empty", plan->left_empty);
    });
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
    for (const SeasonAnswer& tank : report.tanks) {
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
    for (const SeasonAnswer& tank : report.tanks) {
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
    for (const SeasonAnswer& tank : report.tanks) {
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
    return fmt::format("\n{}\n", kCautions);
}

std::string season_formats::csv_begin(const SeasonRun& /*run*/) {
    return "site,tank,date,temperature_c,peak_temperature_c,fish_count,mean_weight_g,"
           "mean_weight_low_g,mean_weight_high_g,biomass_kg,biomass_high_kg,ration_g_day,"
           "oxygen_lowest_mg_l,reserve_min,verdict,first_limit,used_percent\n";
}

std::string season_formats::csv(const SeasonReport& report, const SeasonRun& /*run*/) {
    std::string out;
    for (const SeasonAnswer& tank : report.tanks) {
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
        out.objects("tanks", {}, report.tanks, [&](const SeasonAnswer& tank) {
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
            list_first("first_warn", tank.warns, out);
            list_first("first_fail", tank.fails, out);
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
            list_supply(tank.supply, out);
            list_stock(tank, out);
        });
        out.objects("loops", {}, report.loops, [&](const LoopSeason& loop) {
            out.text("loop", loop.loop);
            out.text("verdict", name_of(loop.verdict));
            list_first("first_warn", loop.warns, out);
            list_first("first_fail", loop.fails, out);
            out.texts("unchecked", names_of(loop.unchecked));
        });
        list_errors(report.errors, out);
    });
}

std::string season_formats::json_end(const SeasonRun& run) {
    return io::json_end(run.reports == 0);
}

}  // namespace coldtank::io
