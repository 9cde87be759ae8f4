#include "report/outage.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "report/contents.hpp"
#include "report/page_parts.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

// "39 min", "5.2 h"; what is left is never rounded up.
std::string time_words(double minutes) {
    constexpr double kManyMinutes = 180;
    if (minutes < kManyMinutes) return fmt::format("{} min", figure(std::floor(minutes), 0));
    return fmt::format("{} h", figure(std::floor(minutes / 6) / 10));
}

std::string minutes_words(const std::optional<double>& minutes) {
    return minutes ? time_words(*minutes) : "never";
}

// "03:42", on the clock of the run.
std::string clock_words(const Instant& now, double minutes) {
    constexpr double kDay = 24 * 60;
    const Instant then{now.seconds + static_cast<std::int64_t>(minutes * 60), now.offset_s};
    return minutes < kDay ? clock_of(then) : minute_of(then);
}

std::string from_words(const TankOutage& tank) {
    const std::string level = fmt::format("{} mg/L", figure(tank.oxygen_now_mg_l));
    if (tank.not_believed) {
        return fmt::format("From {}: what was read is more than the water can hold: measure",
                           level);
    }
    switch (tank.starts_from) {
        case StartsFrom::measured:
            if (!tank.read_h) {
                return fmt::format("From {}, by a reading of unknown age: measure", level);
            }
            if (*tank.read_h > kFreshOxygenH) {
                return fmt::format("From {}, read {} ago: measure", level,
                                   time_words(*tank.read_h * 60));
            }
            return fmt::format("From {} now, by a reading of {} ago", level,
                               time_words(*tank.read_h * 60));
        case StartsFrom::predicted:
            return fmt::format("From {}, the least that is predicted: measure", level);
        case StartsFrom::saturation:
            break;
    }
    return fmt::format("From {}: unknown, taken as full: measure", level);
}

// "big tank: 57.4 kg, 22 min to stress, 39 min to danger (at 03:42)"
std::string head_words(const TankOutage& tank, const Instant& now, const Display& show) {
    const OutageCourse& judged = tank.course(tank.judged);
    const std::string mass = show.with_unit(Measure::biomass_kg, tank.biomass_kg);
    const auto& danger = judged.left.minutes_to_danger;
    const auto& stress = judged.left.minutes_to_stress;
    std::string time;
    if (!danger) {
        const std::string to_stress = !stress       ? "stress never"
                                      : *stress < 1 ? "UNDER STRESS NOW"
                                                    : time_words(*stress) + " to stress";
        time = to_stress + ", danger never";
    } else if (*danger < 1) {
        time = "IN DANGER NOW";
    } else {
        time = fmt::format("{} to stress, {} to danger (at {})", minutes_words(stress),
                           time_words(*danger), clock_words(now, *danger));
    }
    return fmt::format("{}: {}, {}", printable(tank.tank), mass, time);
}

// The first thing to do, for the tank that needs it first.
std::string first_words(const TankOutage& tank) {
    if (!tank.course(tank.judged).left.minutes_to_stress) return {};
    const auto has = [&](OutageStep step) {
        return std::any_of(tank.actions.begin(), tank.actions.end(),
                           [&](const OutageAction& each) { return each.step == step; });
    };
    std::string out = fmt::format("First, {}: ", printable(tank.tank));
    if (has(OutageStep::look_at_inflow)) out += "look at its inlet; ";
    if (has(OutageStep::start_backup)) return out + "start its backup.";
    return out +
           "scoop its water and pour it back from breast height, on and on, until air or oxygen "
           "runs.";
}

std::string joined_names(const std::vector<std::string>& names) {
    std::vector<std::string> shown;
    for (const std::string& name : names) shown.push_back(printable(name));
    return joined(shown, " and ");
}

// What goes on by itself, and what would be if it did not.
std::string goes_on_words(const TankOutage& tank) {
    if (tank.judged == OutageCase::water_goes_on) {
        const OutageCourse& stopped = tank.course(OutageCase::all_stops);
        const auto& steady = tank.course(OutageCase::water_goes_on).steady_mg_l;
        const std::string above =
            tank.above.empty()
                ? ""
                : fmt::format(" from {}, counted as the {} mg/L that it comes down to",
                              joined_names(tank.above), figure(tank.water_mg_l));
        const std::string inflow =
            tank.kept_percent < 100
                ? fmt::format("Of the inflow {} % keeps flowing", figure(tank.kept_percent))
                : "The inflow keeps flowing";
        return fmt::format("{}{}{}; were its screen blocked: {} to danger", inflow, above,
                           steady ? fmt::format("{} and {} {} mg/L", above.empty() ? "" : ",",
                                                *steady >= tank.limits.oxygen_fail_mg_l
                                                    ? "holds"
                                                    : "does not hold them: they come to",
                                                figure(std::max(0.0, *steady)))
                                  : "",
                           minutes_words(stopped.left.minutes_to_danger));
    }
    if (tank.actions.front().step == OutageStep::look_at_inflow && !tank.above_lost) {
        return "Its inflow, which should hold more or holds too little, is not counted on";
    }
    if (tank.loop_stops) {
        return "Its loop stops with the power; a filter without flow has used up its oxygen in an "
               "hour: keep it wet, air or a trickle of tank water through it";
    }
    if (tank.above_lost) {
        return fmt::format("Its water from {} is not counted on, as that tank reads low",
                           joined_names(tank.above));
    }
    if (!tank.above.empty()) {
        return fmt::format("Its water from {} is not described to keep flowing (keeps_flowing){}",
                           joined_names(tank.above),
                           tank.backup ? "; nothing but the backup goes on" : "");
    }
    return tank.backup ? "Nothing but the backup goes on" : "Nothing described runs without mains";
}

std::string holds_words(const TankOutage& tank, double warn_mg_l) {
    const TankOutage::OfBackup& backup = *tank.backup;
    const double level_mg_l = backup.holds == Holds::warn   ? warn_mg_l
                              : backup.holds == Holds::fail ? tank.limits.oxygen_fail_mg_l
                                                            : tank.limits.reserve_danger_mg_l;
    const std::string hours = fmt::format("{} h", figure(backup.hours));
    if (backup.holds == Holds::nothing) {
        return fmt::format("runs {}, and is too little for so many", hours);
    }
    return fmt::format("holds them over {} mg/L for {}{}", figure(level_mg_l), hours,
                       backup.hours < backup.wanted_h
                           ? fmt::format(", not the {} h wanted", exact(backup.wanted_h))
                           : "");
}

std::string after_words(const TankOutage& tank, const OutageAction& action) {
    if (action.holds) return {};
    if (action.minutes_to_danger_after && *action.minutes_to_danger_after < 1) {
        return tank.backup && tank.backup->holds != Holds::nothing &&
                       action.step == OutageStep::start_backup
                   ? "; they are in danger until it has climbed"
                   : "; they are in danger already";
    }
    return fmt::format("; danger then in {}", minutes_words(action.minutes_to_danger_after));
}

bool offers_air(const TankOutage& tank) {
    return std::any_of(tank.actions.begin(), tank.actions.end(),
                       [](const OutageAction& each) { return each.step == OutageStep::add_air; });
}

// Oxygen alone leaves carbon dioxide in the water.
std::string stale_words(const TankOutage& tank) {
    if (!tank.stale_min || *tank.stale_min > 60 * tank.backup->hours) return {};
    return fmt::format("; but carbon dioxide is over {} mg/L in {}: aerate or pour too",
                       figure(tank.limits.carbon_dioxide_warn_mg_l), time_words(*tank.stale_min));
}

constexpr double kSoon = 30;  // min

// What is left of a backup that was on all the time.
std::string spent_words(const TankOutage& tank, double since_min) {
    if (since_min < kSoon) return {};
    const double left_min = std::max(0.0, 60 * tank.backup->hours - since_min);
    return fmt::format(". If it has run since the power failed, {} of it are left",
                       time_words(left_min));
}

//   since_min: how long the power has been out, as far as that was told
std::string action_words(const TankOutage& tank, const OutageAction& action, double since_min,
                         const Display& show) {
    const double value = action.value.value_or(0);
    const auto flow = [&](Measure measure, Safe side) {
        return fmt::format("{} {}", show.safe(measure, value, side), show.unit(measure));
    };
    const double warn_mg_l = tank.limits.oxygen_warn_mg_l;
    switch (action.step) {
        case OutageStep::look_at_inflow:
            return "go and look at the inlet: is its screen clear, does it run as always?";
        case OutageStep::do_not_feed:
            return "do not feed";
        case OutageStep::start_backup:
            return fmt::format("start the backup{}: it {}{}{}{}",
                               since_min < kSoon ? "" : ", if it is not on",
                               holds_words(tank, warn_mg_l), after_words(tank, action),
                               stale_words(tank), spent_words(tank, since_min));
        case OutageStep::add_air:
            return fmt::format(
                "battery air, {} through the stones you have, holds them over {} mg/L",
                flow(Measure::air_flow_l_min, Safe::up), figure(warn_mg_l));
        case OutageStep::add_oxygen:
            return fmt::format(
                "{}pure oxygen, {} through stones that take up {} %, holds them {}",
                offers_air(tank) ? "or " : "", flow(Measure::oxygen_flow_l_min, Safe::up),
                exact(kAddedAbsorption),
                offers_air(tank) ? "so" : fmt::format("over {} mg/L", figure(warn_mg_l)));
        case OutageStep::pour:
            if (!action.value) return "pouring water does not help in water so warm";
            if (*action.share_percent >= 100) {
                return fmt::format(
                    "scoop its water and pour it back from breast height: {} holds them over {} "
                    "mg/L",
                    flow(Measure::flow_l_min, Safe::up), figure(warn_mg_l));
            }
            return fmt::format(
                "scoop its water and pour it back from breast height: {} meets {} % of what that "
                "needs{}",
                fmt::format("{} {}", show.bare(Measure::flow_l_min, kPourMost),
                            show.unit(Measure::flow_l_min)),
                figure(std::floor(*action.share_percent), 0), after_words(tank, action));
        case OutageStep::move_fish:
            return fmt::format(
                "move {} of {} fish to {}, whose own water goes on and holds them; netted fish "
                "breathe half as much again: air and pouring first",
                exact(value), exact(tank.fish_count), printable(action.to));
        case OutageStep::kill:
            return fmt::format(
                "pouring keeps {} of {} fish over {} mg/L; where no air, oxygen or other water "
                "comes in time, "
                "kill the rest humanely rather than let all suffocate",
                exact(tank.fish_count - value), exact(tank.fish_count),
                figure(tank.limits.oxygen_fail_mg_l));
        case OutageStep::do_not_net:
            return "do not net fish now: they breathe half as much again, and there is no time";
        case OutageStep::change_water:
            break;
    }
    return "change water only for water of the same temperature without chlorine";
}

double since_of(const OutageRun& run) {
    return run.failed ? static_cast<double>(run.now.seconds - run.failed->seconds) / 60 : 0;
}

// The worst first: what fails, then by the minutes.
std::vector<const TankOutage*> in_order(const std::vector<TankOutage>& tanks) {
    std::vector<const TankOutage*> order;
    for (const TankOutage& tank : tanks) order.push_back(&tank);
    const auto minutes = [](const TankOutage* tank) {
        return tank->course(tank->judged).left.minutes_to_danger.value_or(HUGE_VAL);
    };
    std::stable_sort(order.begin(), order.end(), [&](const TankOutage* a, const TankOutage* b) {
        return std::pair(b->verdict, minutes(a)) < std::pair(a->verdict, minutes(b));
    });
    return order;
}

// What it goes by, and what to do; nothing but to leave them alone where nothing falls.
std::string tank_text(const TankOutage& tank, const OutageRun& run) {
    constexpr std::size_t kIndent = 6;
    const std::size_t width = run.show.paper().width;
    std::string out =
        wrapped("", fmt::format("{}. {}.", from_words(tank), goes_on_words(tank)), 2, width);
    int number = 0;
    for (const OutageAction& action : tank.actions) {
        if (action.step > OutageStep::do_not_feed &&
            !tank.course(tank.judged).left.minutes_to_stress) {
            continue;
        }
        out += wrapped(fmt::format("{:>4}  ", ++number),
                       action_words(tank, action, since_of(run), run.show), kIndent, width);
    }
    return out;
}

// "Power out since 03:18, 7 min ago. Isolate the mains ..."
std::string power_words(const OutageRun& run) {
    std::string out = "Taken as failed at each reading, or now (tell --since TIME).";
    if (run.failed) {
        const double minutes = since_of(run);
        constexpr double kHalfDay = 12 * 60;
        out = fmt::format("Power out since {}, {} ago.",
                          minutes < kHalfDay ? clock_of(*run.failed) : minute_of(*run.failed),
                          time_words(minutes));
    }
    return out + " Isolate the mains before hands go in. Generator outdoors only.";
}

}  // namespace

namespace {

// What a readings file says of a tank and could not be used; empty: nothing.
std::string doubt_of(const ReadResult& read, const std::string& tank) {
    for (const TankReadings& each : read.readings) {
        if (!each.loop && each.name == tank && each.check.status == Status::warn) return each.note;
    }
    return {};
}

}  // namespace

OutageReport make_outage_report(ReadResult read, const std::optional<Instant>& failed,
                                const Instant& now) {
    OutageReport report(read);
    if (!read.description) return report;
    const Description& description = *read.description;
    std::optional<double> stopped_h;
    if (failed) stopped_h = static_cast<double>(now.seconds - failed->seconds) / 3600;
    const std::vector<System> systems = systems_of(description);
    for (TankOutage& tank : assess_outage(systems, description.site.backup, stopped_h)) {
        if (!read.only_tank.empty() && tank.tank != read.only_tank) continue;
        // What was read and cannot be used may be worse than what is gone by.
        report.doubts.push_back(doubt_of(read, tank.tank));
        const bool doubted = !report.doubts.back().empty() || !report.reading_errors.empty();
        if (doubted && tank.verdict == Status::pass) {
            tank.reserve.status = tank.verdict = Status::unchecked;
            tank.reserve.missing = "an oxygen reading that can be used";
        }
        report.tanks.push_back(std::move(tank));
    }
    // Of no tank nothing is known.
    if (report.all_read() && !report.tanks.empty()) report.verdict = Status::pass;
    for (const TankOutage& tank : report.tanks) {
        report.verdict = worse(report.verdict, tank.verdict);
    }
    return report;
}

OutageRun run_of(std::span<const OutageReport> reports, const Display& show, const Instant& now,
                 const std::optional<Instant>& failed) {
    OutageRun run{show, now, failed, reports.size(), Status::pass};
    for (const OutageReport& report : reports) run.verdict = worse(run.verdict, report.verdict);
    return run;
}

std::string outage_formats::text(const OutageReport& report, const OutageRun& run) {
    if (!report.site) {
        return wrapped("",
                       "LOOK AT ALL TANKS. Isolate the mains before hands go in. Do not feed; "
                       "battery air, oxygen, or scoop their water and pour it back from breast "
                       "height, the fullest tank first; net none.",
                       2, run.show.paper().width) +
               wrapped("",
                       fmt::format("{}: the description could not be read: no minutes are known",
                                   printable(report.file)),
                       2, run.show.paper().width);
    }
    const std::size_t width = run.show.paper().width;
    std::string out;
    if (!report.errors.empty()) {
        out += "LOOK AT ALL TANKS: parts could not be read and are not here; see the errors\n";
    } else if (!report.reading_errors.empty()) {
        out += "LOOK AT ALL TANKS: what was read could not all be used; see the errors\n";
    }
    const std::vector<const TankOutage*> order = in_order(report.tanks);
    for (const TankOutage* tank : order) {
        out += wrapped("", head_words(*tank, run.now, run.show), 2, width);
        const std::string first = tank == order.front() ? first_words(*tank) : "";
        if (!first.empty()) out += wrapped("", first, 2, width);
    }
    out += wrapped("",
                   fmt::format("{}, {}. {}", printable(report.site->name), minute_of(run.now),
                               power_words(run)),
                   2, width);
    for (const TankOutage* tank : order) {
        if (order.size() > 1) out += cut_to('\n' + printable(tank->tank), width) + '\n';
        const std::string& doubt =
            report.doubts[static_cast<std::size_t>(tank - report.tanks.data())];
        if (!doubt.empty()) out += wrapped("LOOK AT IT: ", doubt, 2, width);
        out += tank_text(*tank, run);
    }
    if (report.tanks.empty()) out += "no fish in any tank that could be read\n";
    return out;
}

std::string outage_formats::text_end(const OutageRun& run) {
    return wrapped(
        "",
        "Estimates: the meter and the fish decide. Power returns without warning. Oxygen: "
        "no oil, no flame. Batteries vent gas. Nobody works alone at night.",
        0, run.show.paper().width);
}

std::string outage_formats::json_begin(const OutageRun& run) {
    return io::json_begin("reports", [&](Fields& out) { list_head(run.now, run.verdict, out); });
}

std::string outage_formats::json(const OutageReport& report, const OutageRun& run) {
    return json_item([&](Fields& out) {
        out.text("file", report.file);
        list_site(report.site, report.pressure_kpa, out);
        out.text("verdict", name_of(report.verdict));
        out.texts("warnings", std::vector<std::string>{});
        out.objects("tanks", {}, report.tanks, [&](const TankOutage& tank) {
            out.text("tank", tank.tank);
            out.text("verdict", name_of(tank.verdict));
            out.number("oxygen_now_mg_l", tank.oxygen_now_mg_l);
            out.text("oxygen_now_from", name_of(tank.starts_from));
            out.number("demand_g_h", tank.demand_g_h);
            out.objects("cases", {}, tank.cases, [&](const OutageCourse& each) {
                out.text("case", name_of(each.outage));
                out.number("steady_mg_l", each.steady_mg_l);
                out.number("minutes_to_stress", each.left.minutes_to_stress);
                out.number("minutes_to_danger", each.left.minutes_to_danger);
            });
            out.text("judged_case", name_of(tank.judged));
            if (tank.backup) {
                out.object("backup", [&] {
                    out.number("hours", tank.backup->hours);
                    out.text("holds", name_of(tank.backup->holds));
                });
            } else {
                out.null("backup");
            }
            out.objects("actions", {}, tank.actions, [&](const OutageAction& action) {
                out.text("action", name_of(action.step));
                out.number("value", action.value);
                out.text_or_null("unit", action.unit);
                out.text("text", action_words(tank, action, since_of(run), Display()));
                out.number("minutes_to_danger_after", action.minutes_to_danger_after);
            });
            list_checks({tank.reserve}, out);
        });
        out.objects("loops", {}, std::vector<int>{}, [](int) {});
        list_errors(report.all_errors(), out);
        out.text("date", text_of(run.now));
        if (report.line) out.whole("line", *report.line);
    });
}

std::string outage_formats::json_end(const OutageRun& run) {
    return io::json_end(run.reports == 0);
}

}  // namespace coldtank::io
