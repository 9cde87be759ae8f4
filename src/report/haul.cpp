#include "report/haul.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "report/contents.hpp"
#include "report/page_parts.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

// Never rounded up.
std::string whole_minutes(double minutes) {
    return minutes > 0 && minutes < 1 ? "under 1" : figure(std::floor(minutes), 0);
}

std::string kind_of(const Trip& trip) {
    std::string kind;
    for (const FishGroup& group : trip.fish) {
        const std::string own = printable(group.species_name);
        if (!kind.empty() && kind != own) return "fish";
        kind = own;
    }
    return kind;
}

// "6 rainbow trout, 1.5 kg, in 20 L for 40 min: with the stone 8 min to 6 mg/L, 16 to 3; carbon
// dioxide over its limit after 25 min".
std::string head_words(const TripReport& trip, const Display& show) {
    const TripBudget& budget = trip.budget;
    std::string air = trip.input.aeration.empty() ? "without air" : "with its air";
    std::string oxygen = fmt::format("oxygen stays over {} mg/L", figure(6.0));
    if (budget.minutes_to_warn) {
        oxygen = fmt::format("{} {} min to 6 mg/L", air, whole_minutes(*budget.minutes_to_warn));
        if (budget.minutes_to_danger) {
            oxygen += fmt::format(", {} to 3", whole_minutes(*budget.minutes_to_danger));
        }
    }
    std::string stale;
    if (budget.minutes_to_stale && *budget.minutes_to_stale <= budget.minutes) {
        stale = fmt::format("; carbon dioxide over its limit after {} min",
                            whole_minutes(*budget.minutes_to_stale));
    }
    std::string name = trip.input.name.empty() ? "" : printable(trip.input.name) + ": ";
    std::string wait;
    if (budget.tempering_min > 0) {
        wait = fmt::format(" and {} of tempering", figure(std::ceil(budget.tempering_min), 0));
    }
    return fmt::format("{}{} {}, {}, in {} for {} min{}: {}{}", name, exact(budget.fish_count),
                       kind_of(trip.input), show.with_unit(Measure::biomass_kg, budget.biomass_kg),
                       show.with_unit(Measure::volume_l, trip.input.water_l),
                       figure(trip.input.minutes, 0), wait, oxygen, stale);
}

std::string left_words(const TripPlan& plan) {
    if (plan.left.empty())
        return plan.verdict_after == Status::pass ? "all passes" : "nothing warns";
    std::vector<std::string> names;
    for (const CheckId id : plan.left) names.push_back(title_of(id));
    return fmt::format("{} still {}{}", joined(names, ", "),
                       plan.verdict_after == Status::fail ? "fail" : "warn",
                       names.size() > 1 ? "" : "s");
}

bool failing(const TripBudget& budget, CheckId id) {
    return std::any_of(budget.checks.begin(), budget.checks.end(), [&](const Check& check) {
        return check.id == id && check.status == Status::fail;
    });
}

std::string trip_text(const TripReport& trip, const HaulRun& run) {
    constexpr std::size_t kIndent = 6;
    constexpr std::size_t kMostPlans = 4;
    const Display& show = run.show;
    const std::size_t width = show.paper().width;
    const TripBudget& budget = trip.budget;
    std::string status(name_of(budget.verdict));
    status.append(status.size() < kIndent ? kIndent - status.size() : 1, ' ');
    std::string out = wrapped(status, head_words(trip, show), kIndent, width);
    if (failing(budget, CheckId::oxygen) || failing(budget, CheckId::carbon_dioxide)) {
        out += wrapped("",
                       "NOW, if they are in it: aerate hard; pour half of it off for clean water "
                       "of the same temperature without chlorine, again and again; get them into "
                       "a tank",
                       kIndent, width);
    }
    if (trip.plans.empty() && budget.verdict < Status::warn) {
        out += wrapped("      ", "good for the trip by all that was checked", kIndent, width);
    }
    char letter = 'a';
    // Those that mend the verdict; the others where none does.
    const bool any_mends = !trip.plans.empty() && trip.plans.front().verdict_after < budget.verdict;
    for (std::size_t i = 0; i < std::min(kMostPlans, trip.plans.size()); ++i) {
        const TripPlan& plan = trip.plans[i];
        if (any_mends && plan.verdict_after >= budget.verdict) break;
        out += wrapped(fmt::format("{}{}  ", i == 0 ? "then  " : "      ", letter++),
                       fmt::format("{}: {}", words_of(trip, plan, show), left_words(plan)),
                       kIndent + 3, width);
    }
    if (budget.mix_on_arrival) {
        out += wrapped("      ",
                       "on arrival do not wait: mix in aerated water of the tank over 15 to "
                       "30 min",
                       kIndent, width);
    }
    std::vector<std::string> passing;
    for (const Check& check : budget.checks) {
        if (check.status == Status::pass) {
            passing.push_back(title_of(check.id));
            continue;
        }
        std::string line(name_of(check.status));
        line.append(10 - line.size(), ' ');
        std::string title = title_of(check.id);
        title.append(title.size() < 16 ? 16 - title.size() : 1, ' ');
        if (check.status == Status::unchecked) {
            out += wrapped(line + title,
                           check.id == CheckId::early_life
                               ? "no figures for fish under 1 g (were kg meant?)"
                               : fmt::format("needs {}", check.missing),
                           26, width);
            continue;
        }
        const CheckText text = check_text(check, nullptr, show);
        std::string value = text.value;
        value.append(value.size() < 17 ? 17 - value.size() : 1, ' ');
        fmt::format_to(std::back_inserter(out), "{}{}{}{}\n", line, title, value, text.limits);
    }
    if (!passing.empty()) out += wrapped("pass      ", joined(passing, ", "), 10, width);
    return out;
}

void add_trip(const Trip& trip, HaulReport& report) {
    report.trips.push_back(trip_report_of(trip, report.pressure_kpa));
    report.verdict = worse(report.verdict, report.trips.back().budget.verdict);
}

}  // namespace

std::string words_of(const TripReport& trip, const TripPlan& plan, const Display& show) {
    const double value = plan.value;
    const auto up = [&](Measure measure) {
        return fmt::format("{} {}", show.safe(measure, value, Safe::up), show.unit(measure));
    };
    switch (plan.change) {
        case TripChange::fewer: {
            const double trips = std::ceil(trip.budget.fish_count / value);
            return fmt::format("{} fish at a time, {} trips, the rest left in their tank",
                               exact(value), exact(trips));
        }
        case TripChange::more_water:
            return fmt::format("{} of water", up(Measure::volume_l));
        case TripChange::aerate_first:
            return "aerate the water before the fish go in, until it holds what it can";
        case TripChange::less_oxygen:
            return fmt::format("only {} of pure oxygen",
                               show.with_unit(Measure::oxygen_flow_l_min, value));
        case TripChange::more_air:
            return fmt::format("{} more air", up(Measure::air_flow_l_min));
        case TripChange::add_oxygen:
            return fmt::format("{} of pure oxygen through stones that take up {} %",
                               up(Measure::oxygen_flow_l_min), exact(kAddedAbsorption));
        case TripChange::ice:
            return fmt::format(
                "cool the water to {} before loading, with {} of ice made of dechlorinated water",
                show.with_unit(Measure::temperature_c, plan.cooler_c), up(Measure::biomass_kg));
        case TripChange::change_water:
            return fmt::format(
                "half the water changed every {} min, {} of the same temperature, "
                "aerated, no chlorine",
                exact(plan.every_min), up(Measure::volume_l));
        case TripChange::shorter:
            break;
    }
    return fmt::format("{} min, no longer", exact(value));
}

HaulReport make_haul_report(ReadResult read) {
    HaulReport report(read);
    if (!read.description) return report;
    if (report.errors.empty() && !read.description->trips.empty()) report.verdict = Status::pass;
    for (const Trip& trip : read.description->trips) add_trip(trip, report);
    return report;
}

HaulReport make_haul_report(const Trip& trip, double altitude_m, std::vector<std::string> assumed) {
    HaulReport report;
    report.site = Site{.name = trip.name, .altitude_m = altitude_m};
    report.pressure_kpa = site_pressure(*report.site).pressure_kpa;
    report.assumed = std::move(assumed);
    report.verdict = Status::pass;
    add_trip(trip, report);
    return report;
}

HaulRun run_of(std::span<const HaulReport> reports, const Display& show, const Instant& now) {
    HaulRun run{show, now, reports.size(), Status::pass};
    for (const HaulReport& report : reports) run.verdict = worse(run.verdict, report.verdict);
    return run;
}

std::string haul_formats::text(const HaulReport& report, const HaulRun& run) {
    if (!report.site) {
        return wrapped(
            "", fmt::format("{}: the description could not be read", printable(report.file)), 2);
    }
    std::string out;
    if (!report.errors.empty()) out += "parts could not be read and are not here; see the errors\n";
    std::vector<const TripReport*> order;
    for (const TripReport& trip : report.trips) order.push_back(&trip);
    std::stable_sort(order.begin(), order.end(), [](const TripReport* a, const TripReport* b) {
        return a->budget.verdict > b->budget.verdict;
    });
    for (const TripReport* trip : order) out += trip_text(*trip, run);
    if (report.trips.empty()) {
        out += wrapped("",
                       "no trips are described: nothing was checked. A bucket without a FILE: "
                       "coldtank haul --water-l 20 --count 6 --weight 250 --temperature 14 "
                       "--minutes 40",
                       2, run.show.paper().width);
    }
    if (!report.assumed.empty()) {
        out += wrapped("assumed   ", joined(report.assumed, "; "), 10, run.show.paper().width);
    }
    return out;
}

std::string haul_formats::text_end(const HaulRun& run) {
    return wrapped(
        "",
        "Estimates: the meter and the fish decide. Moving fish is regulated: local law and "
        "a vet first. Oxygen: no oil, no flame. Ventilate the car: carbon dioxide gathers.",
        0, run.show.paper().width);
}

std::string haul_formats::json_begin(const HaulRun& run) {
    return io::json_begin("reports", [&](Fields& out) { list_head(run.now, run.verdict, out); });
}

std::string haul_formats::json(const HaulReport& report, const HaulRun& run) {
    return json_item([&](Fields& out) {
        out.text_or_null("file", report.file);
        list_site(report.site, report.pressure_kpa, out);
        out.text("verdict", name_of(report.verdict));
        out.texts("warnings", std::vector<std::string>{});
        list_trips(report.trips, out);
        list_errors(report.errors, out);
        out.text("date", text_of(run.now));
        if (report.line) out.whole("line", *report.line);
    });
}

std::string haul_formats::json_end(const HaulRun& run) { return io::json_end(run.reports == 0); }

}  // namespace coldtank::io
