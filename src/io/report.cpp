#include "report.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <type_traits>
#include <unordered_map>

#include "explain.hpp"
#include "text.hpp"
#include "words.hpp"

namespace coldtank::io {
namespace {

std::vector<std::vector<WordedRemedy>> remedies_of(const System& system, const SystemBudget& budget,
                                                   std::size_t tank, const Display& show) {
    std::vector<std::vector<WordedRemedy>> all;
    for (const Check& check : budget.tanks[tank].checks) {
        const Plan plan = plan_remedies(system, budget, tank, check.id);
        std::vector<WordedRemedy>& worded = all.emplace_back();
        for (const Remedy& remedy : plan.remedies) {
            worded.push_back({remedy, words_of(remedy, plan.tank, plan.budget, check, show)});
        }
    }
    return all;
}

std::vector<std::vector<WordedRemedy>> loop_remedies_of(const System& system,
                                                        const SystemBudget& budget,
                                                        const Display& show) {
    std::vector<std::vector<WordedRemedy>> all;
    for (const Check& check : budget.loop->checks) {
        const LoopPlan plan = plan_loop_remedies(system, budget, check.id);
        std::vector<WordedRemedy>& worded = all.emplace_back();
        for (const Remedy& remedy : plan.remedies) {
            worded.push_back(
                {remedy, loop_words_of(remedy, *system.loop, *budget.loop, check, show)});
        }
    }
    return all;
}

// A ration of so many times the table's is a slip of the pen.
constexpr double kMistypedRation = 4;
// So small a percentage was written as a share.
constexpr double kMistypedPercent = 2;

// What a status alone would hide.
std::vector<std::string> notes_of(const TankBudget& budget) {
    std::vector<std::string> notes(budget.checks.size());
    const CarbonDioxideBudget& co2 = budget.carbon_dioxide;
    for (std::size_t i = 0; i < notes.size(); ++i) {
        const Check& check = budget.checks[i];
        // A balance that is not judged, as the inflow is unknown, yet is over the limit at its
        // best.
        if (check.id == CheckId::carbon_dioxide && check.status < Status::warn &&
            !co2.balance_judged && co2.balance_mg_l > check.warn.high) {
            notes[i] = fmt::format(
                "at this stock the balance reaches {} mg/L even with an inflow as clean as air "
                "makes it: a lower reading of today will not last; measure the inflow's carbon "
                "dioxide",
                figure(*co2.balance_mg_l));
        }
    }
    const OxygenBudget& oxygen = budget.oxygen;
    if (oxygen.measured_mg_l && oxygen.lowest_mg_l && *oxygen.measured_mg_l < *oxygen.lowest_mg_l &&
        budget.checks[0].status == Status::pass) {
        notes[0] = fmt::format(
            "measured below even the lowest that is predicted, {} mg/L: "
            "something is not as described",
            figure(*oxygen.lowest_mg_l));
    }
    if (const Check* ration = find_check(budget, CheckId::ration);
        ration != nullptr && budget.table_ration_g_day > 0 &&
        budget.ration_g_day > kMistypedRation * budget.table_ration_g_day) {
        notes[static_cast<std::size_t>(ration - budget.checks.data())] =
            "no trout eats that: is the ration, or mean_weight_g, in the unit that its key says?";
    }
    return notes;
}

std::vector<std::string> loop_notes_of(const Loop& loop, const LoopBudget& budget) {
    std::vector<std::string> notes(budget.checks.size());
    std::string& filter = notes[0];  // biofilter comes first
    if (budget.filter_starved) {
        filter = "the filter gets too little oxygen to work";
    } else if (loop.biofilter && loop.biofilter->maturity_percent < 100) {
        filter = fmt::format("the filter is {} % started: ammonia and nitrite may rise, test daily",
                             exact(loop.biofilter->maturity_percent));
    } else if (filter_is_slow(loop)) {
        filter = "the filter is cold and slow: test ammonia and nitrite often";
    }
    return notes;
}

WordedRemedy to_do(Action action, std::string text) {
    return {{.action = action, .value = {}, .unit = {}, .parts = {}, .groups = {}},
            std::move(text)};
}

// The checks of its readings, after those of its balance.
template <typename AnyReport>
void add_readings(const ReadResult& read, bool loop, std::string_view name, AnyReport& report) {
    const auto at = std::find_if(
        read.readings.begin(), read.readings.end(),
        [&](const TankReadings& each) { return each.loop == loop && each.name == name; });
    if (at == read.readings.end()) return;
    report.readings = *at;
    TankReadings& readings = *report.readings;
    if constexpr (std::is_same_v<AnyReport, TankReport>) {
        // A low that has passed will come again.
        if (readings.lowest && readings.lowest->oxygen_mg_l < report.budget.oxygen.warn_mg_l) {
            readings.check.status = Status::warn;
            readings.note = fmt::format(
                "oxygen was down to {} mg/L at {}, now {}: what happened then will happen "
                "again{}{}",
                exact(readings.lowest->oxygen_mg_l), readings.lowest->time,
                exact(readings.lowest->latest_mg_l), readings.note.empty() ? "" : "; ",
                readings.note);
        }
    }
    report.budget.checks.push_back(readings.check);
    report.notes.push_back(readings.note);
    report.remedies.emplace_back();
    if (readings.check.status == Status::warn) {
        report.remedies.back().push_back(
            to_do(Action::advice,
                  "measure again and write it down; look at the sensor, its cable, battery and "
                  "clock"));
    }
    if (readings.deaths) {
        report.budget.checks.push_back(*readings.deaths);
        report.notes.emplace_back();
        report.remedies.emplace_back();
        if (readings.deaths->status == Status::fail) {
            report.remedies.back().push_back(
                to_do(Action::now,
                      "NOW, if fish are in it: measure oxygen, temperature, ammonia and pH; stop "
                      "feeding; add air; take the dead out"));
        }
        if (readings.deaths->status >= Status::warn) {
            report.remedies.back().push_back(
                to_do(Action::advice,
                      "find out why: keep some of the freshly dead cold for a fish vet, and write "
                      "down what changed (water, feed, weather, new fish)"));
        }
    }
    const Verdict verdict = verdict_of(report.budget.checks);
    report.budget.verdict = verdict.worst;
    report.budget.first_limit = verdict.first_limit;
}

// What cannot be, or looks mistyped.
void add_warnings(const Tank& tank, const TankBudget& budget, std::vector<std::string>& warnings) {
    const std::string name = printable(tank.name);
    if (budget.ph_contradicts_alkalinity) {
        warnings.push_back(
            fmt::format("{}: ph {} cannot be at alkalinity_mg_l {}; measure both again", name,
                        exact(*tank.water.ph), exact(*tank.water.alkalinity_mg_l)));
    }
    if (budget.inflow_ph_contradicts_alkalinity) {
        warnings.push_back(fmt::format(
            "{}: the inflow's ph {} cannot be at its alkalinity_mg_l {}; measure both again", name,
            exact(*tank.inflow->ph), exact(*tank.inflow->alkalinity_mg_l)));
    }
    if (tank.inflow && tank.inflow->oxygen_percent > 0.0 &&
        tank.inflow->oxygen_percent < kMistypedPercent) {
        warnings.push_back(fmt::format(
            "{}: oxygen_percent {} of the inflow is percent, not a share: is it {}?", name,
            exact(*tank.inflow->oxygen_percent), figure(100 * *tank.inflow->oxygen_percent)));
    }
}

}  // namespace

Report make_report(ReadResult read, const Display& show, bool explain) {
    Report report;
    report.file = std::move(read.file);
    report.line = read.line;
    report.unreadable = read.unreadable;
    report.errors = std::move(read.errors);
    report.reading_errors = read.reading_errors;
    if (!read.description) return report;
    const Description& description = *read.description;
    const SitePressure air = site_pressure(description.site);
    report.site = description.site;
    report.pressure_kpa = air.pressure_kpa;
    if (air.pressure_doubtful) {
        report.warnings.push_back(fmt::format(
            "barometric_pressure_kpa {} does not fit altitude_m {}: the reading looks corrected "
            "to sea level; reckoned with the lower, {} kPa",
            figure(*description.site.barometric_pressure_kpa), figure(*description.site.altitude_m),
            figure(report.pressure_kpa, 2)));
    }
    if (report.errors.empty() && report.reading_errors.empty() && !description.tanks.empty())
        report.verdict = Status::pass;
    std::vector<TankReport> by_system;
    for (const System& system : systems_of(description)) {
        if (!asked_for(read, system)) continue;
        const SystemBudget whole = assess_system(system);
        for (std::size_t i = 0; i < system.tanks.size(); ++i) {
            const Tank& tank = system.tanks[i];
            if (!asked_for(read, tank)) continue;
            const TankBudget& budget = whole.tanks[i];
            add_warnings(tank, budget, report.warnings);
            TankReport& added = by_system.emplace_back(TankReport{
                budget,
                remedies_of(system, whole, i, show),
                notes_of(budget),
                explain ? working_of(description.site, air, tank, budget) : std::string{},
                {},
                tank});
            add_readings(read, false, tank.name, added);
            report.verdict = worse(report.verdict, added.budget.verdict);
        }
        if (whole.loop) {
            LoopReport& added = report.loops.emplace_back(
                LoopReport{*whole.loop,
                           loop_remedies_of(system, whole, show),
                           loop_notes_of(*system.loop, *whole.loop),
                           explain ? loop_working_of(*system.loop, *whole.loop) : std::string{},
                           {}});
            add_readings(read, true, system.loop->name, added);
            report.verdict = worse(report.verdict, added.budget.verdict);
        }
    }
    // Back into the order of the description.
    std::unordered_map<std::string_view, TankReport*> by_name;
    for (TankReport& tank : by_system) by_name[tank.budget.tank] = &tank;
    for (const Tank& tank : description.tanks) {
        if (asked_for(read, tank)) report.tanks.push_back(std::move(*by_name.at(tank.name)));
    }
    if (!report.warnings.empty()) report.verdict = worse(report.verdict, Status::warn);
    return report;
}

bool keep_tank_in_all(std::vector<ReadResult>& read, std::string_view tank) {
    std::erase_if(read, [&](ReadResult& one) {
        one.only_tank = tank;
        return one.errors.empty() && one.description &&
               std::none_of(one.description->tanks.begin(), one.description->tanks.end(),
                            [&](const Tank& each) { return each.name == tank; });
    });
    return !read.empty();
}

bool asked_for(const ReadResult& read, const Tank& tank) {
    return read.only_tank.empty() || tank.name == read.only_tank;
}

bool asked_for(const ReadResult& read, const System& system) {
    return std::any_of(system.tanks.begin(), system.tanks.end(),
                       [&](const Tank& tank) { return asked_for(read, tank); });
}

std::string errors_as_text(std::span<const InputError> errors) {
    constexpr std::size_t kMost = 20;
    constexpr std::size_t kLongestPointer = 200;
    std::string out;
    for (std::size_t i = 0; i < std::min(errors.size(), kMost); ++i) {
        const InputError& error = errors[i];
        out += fmt::format("coldtank: {}", printable(error.file));
        if (error.line) out += fmt::format(":{}:{}", *error.line, error.column.value_or(1));
        if (error.pointer.size() > kLongestPointer) {
            out += fmt::format(": {}", shortened(error.pointer));
        } else if (!error.pointer.empty()) {
            out += fmt::format(": {}", printable(error.pointer));
        }
        out += fmt::format(": {}\n", error.message);
    }
    if (errors.size() > kMost) {
        out += fmt::format("coldtank: {}: {} more errors\n", printable(errors[0].file),
                           errors.size() - kMost);
    }
    return out;
}

Status worst_of(std::span<const Report> reports) {
    Status worst = Status::pass;
    for (const Report& report : reports) worst = worse(worst, report.verdict);
    return worst;
}

}  // namespace coldtank::io
