#include "report/report.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <set>
#include <type_traits>
#include <unordered_map>

#include "coldtank/haul.hpp"
#include "report/explain.hpp"
#include "report/notes.hpp"
#include "report/page_parts.hpp"
#include "report/spread.hpp"
#include "report/words.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

// Remedies of every check of a part; true where the search was cut short.
bool add_remedies(Planner& planner, const System& system, const SystemBudget& budget, Part part,
                  const Display& show, PartReport& report) {
    bool cut_short = false;
    for (const Check& check : checks_of(budget, part)) {
        const Plan plan = planner.plan(part, check.id);
        cut_short = cut_short || plan.cut_short;
        std::vector<WordedRemedy>& worded = report.remedies.emplace_back();
        for (const Remedy& remedy : plan.remedies) {
            // A tank's changes with the figures of the plan; a loop's, and what only is said, go on
            // from today's.
            const bool planned = part.tank && remedy.value;
            worded.push_back(
                {remedy, planned || remedy.action == Action::two_changes
                             ? words_of(remedy, plan.on->system, plan.on->budget, part, check, show)
                             : words_of(remedy, system, budget, part, check, show)});
        }
    }
    return cut_short;
}

// The ways to make all of the system pass.
void add_plans(const Plans& plans, const System& system, const SystemBudget& budget, Part part,
               const Display& show, PartReport& report) {
    const std::size_t at = part.tank.value_or(system.tanks.size());
    for (const WayPlan& plan : plans.ways) {
        WordedPlan& worded = report.plans.emplace_back();
        worded.way = plan.way;
        worded.outcome = plan.outcomes[at];
        for (const Change& change : plan.changes) {
            if (change.part.tank != part.tank) continue;
            worded.changes.push_back(
                {change.remedy, short_words_of(change.remedy, system, budget, part, show)});
        }
    }
}

// What to do this minute, by all of a part's checks.
void add_now(const std::vector<Check>& checks, PartReport& report) {
    const auto says_now = [&](std::size_t i) {
        const auto& remedies = report.remedies[i];
        return !remedies.empty() && remedies.front().remedy.action == Action::now;
    };
    const auto any_now = [&](auto holds) {
        for (std::size_t i = 0; i < checks.size(); ++i) {
            if (says_now(i) && holds(checks[i].id)) return true;
        }
        return false;
    };
    for (std::size_t i = 0; i < checks.size(); ++i) {
        // Oxygen's has what carbon dioxide and the reserve ask for, ammonia's what all of it asks
        // for, any other more than the reserve's.
        const CheckId own = checks[i].id;
        const bool covered = (own == CheckId::carbon_dioxide &&
                              any_now([](CheckId id) { return id == CheckId::oxygen; })) ||
                             (own == CheckId::total_ammonia &&
                              any_now([](CheckId id) { return id == CheckId::ammonia; })) ||
                             (own == CheckId::oxygen_reserve &&
                              any_now([](CheckId id) { return id != CheckId::oxygen_reserve; }));
        if (says_now(i) && !covered) report.now.push_back(report.remedies[i].front().text);
    }
}

void add_trips(const Description& description, Report& report) {
    for (const Trip& trip : description.trips) {
        report.trips.push_back(trip_report_of(trip, report.pressure_kpa));
        report.verdict = worse(report.verdict, report.trips.back().budget.verdict);
        report.usual = worse(report.usual, report.trips.back().budget.verdict);
    }
}

}  // namespace

std::vector<SiteWords> site_words(const Report& report) {
    std::vector<SiteWords> all;
    for (const std::string& warning : report.warnings) all.push_back({Status::warn, warning});
    for (const TripReport& trip : report.trips) {
        const TripBudget& budget = trip.budget;
        std::vector<std::string> parts;
        for (const Status status : {Status::fail, Status::warn, Status::unchecked}) {
            std::vector<std::string> checks;
            for (const Check& check : budget.checks) {
                if (check.status == status) checks.push_back(title_of(check.id));
            }
            if (checks.empty()) continue;
            const std::string verb =
                status == Status::unchecked
                    ? "not judged"
                    : std::string(name_of(status)) + (checks.size() == 1 ? "s" : "");
            parts.push_back(joined(checks, ", ") + ' ' + verb);
        }
        if (budget.verdict >= Status::warn) parts.emplace_back("see coldtank haul");
        all.push_back(
            {budget.verdict, fmt::format("trip {}{}{}", printable(budget.trip),
                                         parts.empty() ? "" : ": ", joined(parts, "; "))});
    }
    return all;
}

TripReport trip_report_of(const Trip& trip, double pressure_kpa) {
    return {trip, assess_trip(trip, pressure_kpa), plan_trip(trip, pressure_kpa)};
}

namespace {

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
            add_reason(readings.check,
                       {Reason::low_has_passed, Status::warn, readings.lowest->oxygen_mg_l,
                        report.budget.oxygen.warn_mg_l});
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
    const auto& because = readings.check.because;
    const bool low = std::any_of(because.begin(), because.end(), [](const Because& each) {
        return each.reason == Reason::low_has_passed;
    });
    if (low) {
        report.remedies.back().push_back(
            to_do(Action::advice,
                  "find out what was then (feed, pump, flow, weather), and feed less and add air "
                  "before that hour comes again; measure then"));
    }
    if (readings.check.status == Status::warn &&
        (!low || because.size() > 1 || status_of_value(readings.check) > Status::pass)) {
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

// What a logbook and today's readings say of the water of a loop, in order.
std::vector<FilterTest> tests_of(const ReadResult& read, const System& system,
                                 const FilterLog* logged, const Instant& now) {
    std::vector<FilterTest> tests;
    if (logged != nullptr) {
        const auto at = logged->find({read.description->site.name, system.loop->name});
        if (at != logged->end()) tests = at->second;
        // Those ahead of the clock are none.
        std::erase_if(tests, [&](const FilterTest& test) {
            return test.day > day_of({now.seconds + kClockSlackS, 0});
        });
    }
    const auto on_it = [&](const TankReadings& each) {
        return each.loop ? each.name == system.loop->name
                         : std::any_of(system.tanks.begin(), system.tanks.end(),
                                       [&](const Tank& tank) { return tank.name == each.name; });
    };
    for (const TankReadings& of_one : read.readings) {
        if (!on_it(of_one)) continue;
        for (const UsedReading& each : of_one.list) {
            FilterTest test{day_of(each.at)};
            if (each.column == "tan_mg_l") test.tan_mg_l = each.value;
            if (each.column == "nitrite_mg_l") test.nitrite_mg_l = each.value;
            const auto same = std::find_if(tests.begin(), tests.end(),
                                           [&](const FilterTest& t) { return t.day == test.day; });
            if (same == tests.end()) {
                tests.push_back(test);
                continue;
            }
            same->tan_mg_l = std::max(same->tan_mg_l, test.tan_mg_l);
            same->nitrite_mg_l = std::max(same->nitrite_mg_l, test.nitrite_mg_l);
        }
    }
    std::stable_sort(tests.begin(), tests.end(),
                     [](const FilterTest& a, const FilterTest& b) { return a.day < b.day; });
    return tests;
}

// Limits and coefficients that a tank feels.
std::vector<OwnNumber> own_numbers_of(const Tank& tank) {
    std::vector<OwnNumber> own = own_limits_of(tank);
    append(own, own_coefficients(tank.coefficients, tank.loop ? Felt::everywhere : Felt::in_tank));
    return own;
}

// Those that its loop feels: a tank's limits decide what it may add to the tank's ammonia.
std::vector<OwnNumber> own_numbers_of(const System& system) {
    std::vector<OwnNumber> own = own_limits_of(*system.loop);
    for (const Tank& tank : system.tanks) {
        for (const OwnNumber& limit : own_limits_of(tank)) {
            const bool ammonia =
                limit.check == CheckId::ammonia || limit.check == CheckId::total_ammonia;
            if (ammonia) own.push_back(limit);
        }
    }
    append(own, own_coefficients(system.loop->coefficients, Felt::everywhere));
    return own;
}

// Of one tank or loop, whose checks of readings come last in both.
template <class AnyReport, class Budget>
OwnVerdict own_verdict(std::vector<OwnNumber> limits, const AnyReport& report,
                       const Budget& usual) {
    const Budget& budget = report.budget;
    OwnVerdict own{.limits = std::move(limits)};
    std::vector<Check> checks = usual.checks;
    for (const Check& check : budget.checks) {
        if (find_check(usual, check.id) == nullptr) checks.push_back(check);
    }
    own.usual = verdict_of(checks).worst;
    if constexpr (std::is_same_v<AnyReport, TankReport>) {
        const auto& readings = report.readings;
        if (readings && readings->lowest &&
            readings->lowest->oxygen_mg_l < usual.oxygen.warn_mg_l) {
            own.usual = worse(own.usual, Status::warn);
        }
    }
    if (own.usual == budget.verdict) return own;
    for (const OwnNumber& limit : own.limits) {
        if (!limit.check) {  // a coefficient may decide of any check
            own.decisive.push_back(limit);
            continue;
        }
        const Check* mine = find_check(budget, *limit.check);
        const Check* other = find_check(usual, *limit.check);
        if (mine != nullptr && other != nullptr && mine->status != other->status) {
            own.decisive.push_back(limit);
        }
    }
    // Limits of the tanks decide of their loop, or of another check.
    if (own.decisive.empty()) own.decisive = own.limits;
    return own;
}

// "oxygen warn 1, usually 6", "respiration_c 0.0002, usually 0.000305"
std::string words_of(const OwnNumber& limit, const Display& show) {
    if (!limit.check) {
        return fmt::format("{} {}, usually {}", limit.key, exact(limit.value), exact(*limit.usual));
    }
    struct Ending {
        std::string_view ending;
        std::string_view unit;
        std::optional<Measure> measure = {};
    };
    constexpr Ending kEndings[] = {{"_mg_l", ""},
                                   {"_percent", " %"},
                                   {"_kg_m3_cm", ""},
                                   {"_kg_m3", "", Measure::density_kg_m3},
                                   {"_min", ""},
                                   {"_per_h", ""},
                                   {"_c", "", Measure::temperature_c}};
    std::string name(limit.key);
    Ending ending{};
    for (const Ending& each : kEndings) {
        if (!name.ends_with(each.ending)) continue;
        name.resize(name.size() - each.ending.size());
        ending = each;
        break;
    }
    std::replace(name.begin(), name.end(), '_', ' ');
    const auto value = [&](double limit_value) {
        return ending.measure ? show.with_unit(*ending.measure, limit_value) : exact(limit_value);
    };
    return fmt::format("{} {}{}, usually {}", name, value(limit.value), ending.unit,
                       limit.usual ? value(*limit.usual) : "none");
}

}  // namespace

ReportHead::ReportHead(const ReadResult& read)
    : file(read.file),
      line(read.line),
      unreadable(read.unreadable),
      errors(read.errors),
      reading_errors(read.reading_errors) {
    if (!read.description) return;
    site = read.description->site;
    pressure_kpa = site_pressure(*site).pressure_kpa;
}

std::vector<InputError> ReportHead::all_errors() const {
    std::vector<InputError> all = errors;
    all.insert(all.end(), reading_errors.begin(), reading_errors.end());
    return all;
}

Report make_report(ReadResult read, const Asking& asking) {
    // A capacity tries some thirty stocks, on a loop with all of its tanks each.
    constexpr std::size_t kMostForRoom = 50;
    const Display& show = asking.show;
    const bool explain = asking.explain;
    Report report(read);
    if (!read.description) return report;
    const Description& description = *read.description;
    const SitePressure air = site_pressure(description.site);
    if (air.pressure_doubtful) {
        report.warnings.push_back(fmt::format(
            "barometric_pressure_kpa {} does not fit altitude_m {}: the reading looks corrected "
            "to sea level; the lower is used, {} kPa",
            figure(*description.site.barometric_pressure_kpa), figure(*description.site.altitude_m),
            figure(report.pressure_kpa, 2)));
    }
    const bool any = !description.tanks.empty() || !description.trips.empty();
    if (report.all_read() && any) report.verdict = report.usual = Status::pass;
    std::vector<TankReport> by_system;
    for (const System& system : systems_of(description)) {
        if (!asked_for(read, system)) continue;
        SystemBudget whole = assess_system(system);
        if (air.as_of_sea_level) {
            for (TankBudget& tank : whole.tanks) {
                tank.assumed.push_back(
                    {.kind = Assumption::Kind::pressure_as_read, .value = report.pressure_kpa});
            }
        }
        add_oxygen_gaps(system, whole);
        if (const auto bearable = feed_bearable(system, whole)) {
            whole.loop->feed_bearable_g_day = bearable->feed_g_day;
            whole.loop->feed_careful_g_day = bearable->careful_g_day;
        }
        const bool own_numbers = has_own_numbers(system);
        const std::optional<SystemSpread> sure =
            asking.sure ? std::optional(spread_of(system, {.base = 0, .own = description.accuracy}))
                        : std::nullopt;
        const SystemBudget usual = own_numbers ? assess_system(as_usual(system)) : SystemBudget{};
        Planner planner(system, whole,
                        static_cast<double>(system.tanks.size()) /
                            static_cast<double>(description.tanks.size()),
                        sold_by(show));
        // Of one tank alone the ways of its loop would be half a way.
        const bool part_of_loop = !read.only_tank.empty() && system.tanks.size() > 1;
        const Plans plans = part_of_loop ? Plans{} : plan_ways(system, whole, sold_by(show));
        for (std::size_t i = 0; i < system.tanks.size(); ++i) {
            const Tank& tank = system.tanks[i];
            if (!asked_for(read, tank)) continue;
            TankBudget& budget = whole.tanks[i];
            budget.carbon_dioxide.estimated_ph = estimated_ph(tank, budget);
            add_warnings(tank, budget, report.warnings);
            TankReport& added = by_system.emplace_back();
            added.budget = budget;
            added.input = tank;
            added.in_row = system.is_row();
            if (sure) added.sure = sure->tanks[i];
            added.notes = notes_of(tank, budget);
            if (explain) added.working = working_of(description.site, air, tank, budget);
            if (asking.change) {
                added.change = assess_water_change(system, whole, i, *asking.change);
                if (explain) added.working += change_working_of(*added.change);
            }
            if (add_remedies(planner, system, whole, {i}, show, added)) report.cut_short = true;
            add_plans(plans, system, whole, {i}, show, added);
            add_readings(read, false, tank.name, added);
            add_now(added.budget.checks, added);
            if (added.sure) add_fixed(*added.sure, added.budget.checks, added.budget.verdict);
            if (asking.room && added.budget.verdict == Status::pass && budget.fish_count > 0 &&
                system.tanks.size() <= kMostForRoom) {
                added.capacity = capacity_of(system, i, Level::warn, Detail::total);
            }
            added.own = own_numbers ? own_verdict(own_numbers_of(tank), added, usual.tanks[i])
                                    : OwnVerdict{.usual = added.budget.verdict};
            report.verdict = worse(report.verdict, added.budget.verdict);
            report.usual = worse(report.usual, added.own.usual);
        }
        if (whole.loop) {
            LoopReport& added = report.loops.emplace_back();
            added.budget = *whole.loop;
            if (sure) added.sure = sure->loop;
            added.notes = loop_notes_of(*system.loop, *whole.loop);
            if (explain) added.working = loop_working_of(*system.loop, *whole.loop);
            added.filter_young =
                system.loop->biofilter && system.loop->biofilter->maturity_percent < 100;
            if (add_remedies(planner, system, whole, {}, show, added)) report.cut_short = true;
            add_plans(plans, system, whole, {}, show, added);
            add_readings(read, true, system.loop->name, added);
            if (added.filter_young) {
                added.asked_at = asking.now;
                added.start =
                    assess_filter_start(tests_of(read, system, asking.filter_log, asking.now));
            }
            add_now(added.budget.checks, added);
            added.own = own_numbers ? own_verdict(own_numbers_of(system), added, *usual.loop)
                                    : OwnVerdict{.usual = added.budget.verdict};
            report.verdict = worse(report.verdict, added.budget.verdict);
            report.usual = worse(report.usual, added.own.usual);
        }
    }
    // Back into the order of the description.
    std::unordered_map<std::string_view, TankReport*> by_name;
    for (TankReport& tank : by_system) by_name[tank.budget.tank] = &tank;
    for (const Tank& tank : description.tanks) {
        if (asked_for(read, tank)) report.tanks.push_back(std::move(*by_name.at(tank.name)));
    }
    if (read.only_tank.empty()) add_trips(description, report);
    if (!report.warnings.empty()) {
        report.verdict = worse(report.verdict, Status::warn);
        report.usual = worse(report.usual, Status::warn);
    }
    return report;
}

System as_usual(System system) {
    for (Tank& tank : system.tanks) tank = coldtank::as_usual(tank);
    if (system.loop) system.loop = coldtank::as_usual(*system.loop);
    return system;
}

bool has_own_numbers(const System& system) {
    return (system.loop && !own_limits_of(*system.loop).empty()) ||
           std::any_of(system.tanks.begin(), system.tanks.end(), [](const Tank& tank) {
               return !own_limits_of(tank).empty() ||
                      !own_coefficients(tank.coefficients, Felt::everywhere).empty();
           });
}

void append(std::vector<OwnNumber>& all, const std::vector<OwnNumber>& more) {
    all.insert(all.end(), more.begin(), more.end());
}

std::string owner_words(std::span<const OwnNumber> numbers) {
    const auto is_limit = [](const OwnNumber& each) { return each.check.has_value(); };
    const bool limits = std::any_of(numbers.begin(), numbers.end(), is_limit);
    const bool coefficients = !std::all_of(numbers.begin(), numbers.end(), is_limit);
    return limits && coefficients ? "your limits and coefficients"
           : coefficients         ? "your coefficients"
                                  : "your limits";
}

std::string words_of(std::span<const OwnNumber> limits, const Display& show) {
    std::vector<std::string> words;
    for (const OwnNumber& limit : limits) words.push_back(words_of(limit, show));
    return joined(words, "; ");
}

std::string verdict_words(Status verdict, const OwnVerdict& own, const Display& show) {
    if (own.usual == verdict || own.limits.empty()) return std::string(name_of(verdict));
    return fmt::format("{} by {} ({})", name_of(verdict), owner_words(own.decisive),
                       words_of(own.decisive, show));
}

std::string verdict_words(const Report& report, const Display& show) {
    if (report.usual == report.verdict) return std::string(name_of(report.verdict));
    OwnVerdict all{.usual = report.usual};
    std::set<std::string> said;
    const auto take = [&](const OwnVerdict& own, Status verdict) {
        if (own.usual == verdict) return;
        for (const OwnNumber& limit : own.decisive) {
            all.limits.push_back(limit);
            if (said.insert(words_of(limit, show)).second) all.decisive.push_back(limit);
        }
    };
    for (const TankReport& tank : report.tanks) take(tank.own, tank.budget.verdict);
    for (const LoopReport& loop : report.loops) take(loop.own, loop.budget.verdict);
    return verdict_words(report.verdict, all, show);
}

std::string own_limit_words(const OwnVerdict& own, CheckId check) {
    // A loop's checks go by the limits of ammonia too.
    const auto goes_by = [&](std::optional<CheckId> id) {
        return id == check || (check == CheckId::biofilter && id == CheckId::total_ammonia) ||
               (check == CheckId::loop_flow &&
                (id == CheckId::total_ammonia || id == CheckId::ammonia));
    };
    std::vector<OwnNumber> of_check;
    for (const OwnNumber& limit : own.limits) {
        if (!limit.check || goes_by(limit.check)) of_check.push_back(limit);
    }
    return words_of(of_check, Display());
}

bool keep_tank_in_all(std::vector<ReadResult>& read, std::string_view tank) {
    std::erase_if(read, [&](ReadResult& one) {
        one.only_tank = tank;
        if (!one.description) return false;
        // As it is written; where none is written so, but for capitals and blanks.
        const std::vector<Tank>& tanks = one.description->tanks;
        auto found = std::find_if(tanks.begin(), tanks.end(),
                                  [&](const Tank& each) { return each.name == tank; });
        if (found == tanks.end()) {
            found = std::find_if(tanks.begin(), tanks.end(), [&](const Tank& each) {
                return folded(each.name) == folded(tank);
            });
        }
        if (found != tanks.end()) one.only_tank = found->name;
        return found == tanks.end() && one.errors.empty();
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

bool lacks_a_check(const Report& report) {
    const auto lacks = [](const auto& part) {
        const auto& checks = part.budget.checks;
        return std::any_of(checks.begin(), checks.end(), [](const Check& check) {
            return check.status == Status::unchecked && check.id != CheckId::early_life;
        });
    };
    return report.tanks.empty() || std::any_of(report.tanks.begin(), report.tanks.end(), lacks) ||
           std::any_of(report.loops.begin(), report.loops.end(), lacks);
}

void BudgetRun::add(const Report& report) {
    ++reports;
    tanks = tanks || !report.tanks.empty();
    verdict = worse(verdict, report.verdict);
}

void BudgetRun::add(const BudgetRun& more) {
    reports += more.reports;
    tanks = tanks || more.tanks;
    verdict = worse(verdict, more.verdict);
}

}  // namespace coldtank::io
