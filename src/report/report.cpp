#include "report/report.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <set>
#include <type_traits>
#include <unordered_map>

#include "coldtank/haul.hpp"
#include "report/explain.hpp"
#include "report/page_parts.hpp"
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

// What of the fish on their way does not pass; all of it is the haul's to say.
void add_trips(const Description& description, Report& report) {
    for (const Trip& trip : description.trips) {
        const TripBudget budget = assess_trip(trip, report.pressure_kpa);
        if (budget.verdict < Status::warn) continue;
        std::vector<std::string> wrong;
        for (const Check& check : budget.checks) {
            if (check.status >= Status::warn) wrong.push_back(title_of(check.id));
        }
        report.warnings.push_back(fmt::format("trip {}: {} by {}; see coldtank haul",
                                              printable(trip.name), name_of(budget.verdict),
                                              joined(wrong, ", ")));
        report.verdict = worse(report.verdict, budget.verdict);
        report.usual = worse(report.usual, budget.verdict);
    }
}

constexpr std::string_view kNoChloride = "chloride unknown, counted as 0";

// A ration of so many times the table's is a slip of the pen.
constexpr double kMistypedRation = 4;
// So small a percentage was written as a share.
constexpr double kMistypedPercent = 2;

std::string words_of(const Doubt& doubt, const Tank* tank) {
    const std::string where =
        doubt.where.empty() ? "" : fmt::format(" of {}", printable(doubt.where));
    const std::string value = exact(doubt.value);
    switch (doubt.slip) {
        case Doubt::Slip::beta:
            return fmt::format("beta {}{}: no water holds more than clean water; {} is usual",
                               value, where, exact(doubt.expected.value_or(0)));
        case Doubt::Slip::alpha:
            return fmt::format(
                "alpha {}{}: no aerator does so much better than in clean water; {} "
                "is usual",
                value, where, exact(doubt.expected.value_or(0)));
        case Doubt::Slip::ration: {
            const std::string advised =
                fmt::format("{} g/day is advised", figure(doubt.expected.value_or(0)));
            if (doubt.where.empty() && tank != nullptr && tank->feed.ration_percent_day) {
                return fmt::format("ration_percent_day {}, where {}: is it a share of 1?",
                                   exact(*tank->feed.ration_percent_day), advised);
            }
            return fmt::format("ration_g_day {}{}, where {}: is it in kg, or of one fish?",
                               figure(doubt.value), where, advised);
        }
        case Doubt::Slip::exchange:
            return fmt::format(
                "flow_l_min exchanges the tank {} times an hour: is it in L/h, or "
                "volume_l in m3?",
                figure(doubt.value));
        case Doubt::Slip::respiration_factor:
            return fmt::format("respiration_factor {}{}: no trout breathe so much {} than others",
                               value, where, doubt.value < 1 ? "less" : "more");
        case Doubt::Slip::transfer:
            return fmt::format(
                "transfer_percent_per_m {}{}: the finest bubbles give less than {}; "
                "is it of the whole depth?",
                value, where, exact(doubt.expected.value_or(0)));
        case Doubt::Slip::cascade:
            return fmt::format("quality or weir {}{}: no water falls so well; {} is usual", value,
                               where, exact(doubt.expected.value_or(0)));
        case Doubt::Slip::gas_pressure:
            return fmt::format(
                "gas_pressure_percent {}: is it the excess over the air's? Then it "
                "is {}",
                value, figure(100 + doubt.value));
        case Doubt::Slip::ph_reading:
            return fmt::format("ph {}{}{}: check the meter", value, where,
                               doubt.expected ? fmt::format(", which would be {} mg/L of carbon "
                                                            "dioxide",
                                                            figure(*doubt.expected))
                                              : "");
        case Doubt::Slip::oxygen_reading:
            return fmt::format("oxygen_mg_l {} ({} % of saturation): check the meter", value,
                               figure(100 * doubt.value / doubt.expected.value_or(1), 0));
        case Doubt::Slip::tan_zero:
            return fmt::format("tan_mg_l 0, where {} is predicted: check the meter or the test kit",
                               figure(doubt.expected.value_or(0)));
        case Doubt::Slip::coefficient:
            return fmt::format("coefficient {} {}: far from the usual {}", doubt.where, value,
                               exact(doubt.expected.value_or(0)));
        case Doubt::Slip::temperature_jump:
            break;
    }
    return fmt::format(
        "temperature_c changed by {} degC within a day: check the meter; is its "
        "probe in the water?",
        figure(doubt.value));
}

std::string words_of(const std::vector<Doubt>& doubts, const Tank* tank) {
    std::vector<std::string> words;
    for (const Doubt& doubt : doubts) words.push_back(words_of(doubt, tank));
    return joined(words, "; ");
}

// What a meter that is off by a tenth of pH makes of carbon dioxide, where a limit lies within.
std::string band_words(const Check& check, double from_ph_mg_l) {
    const double low = from_ph_mg_l / kPhMeterBand;
    const double high = from_ph_mg_l * kPhMeterBand;
    std::vector<std::string> inside;
    for (const auto& [word, bound] :
         {std::pair{"warn", check.warn}, std::pair{"fail", check.fail}}) {
        if (bound.high && *bound.high >= low && *bound.high <= high) {
            inside.push_back(fmt::format("the {} limit {}", word, exact(*bound.high)));
        }
    }
    if (inside.empty()) return {};
    return fmt::format("a pH meter good to 0.1 says {} to {} mg/L: {} {} inside", figure(low),
                       figure(high), joined(inside, " and "), inside.size() > 1 ? "are" : "is");
}

std::vector<std::string> carbon_dioxide_notes(const Tank& tank, const TankBudget& budget,
                                              const Check& check) {
    std::vector<std::string> notes;
    const CarbonDioxideBudget& co2 = budget.carbon_dioxide;
    // A balance that is not judged, as the inflow is unknown, yet is over the limit at its best.
    if (!co2.balance_judged && co2.balance_mg_l > check.warn.high) {
        notes.push_back(fmt::format(
            "at this stock the balance reaches {} mg/L even with an inflow as clean as air "
            "makes it: a lower reading of today will not last; measure the inflow's carbon "
            "dioxide",
            figure(*co2.balance_mg_l)));
    }
    if (!co2.from_ph_mg_l) return notes;
    if (*tank.water.ph < kPhDoubtLow || *co2.from_ph_mg_l > kCo2Doubt) {
        notes.push_back(
            fmt::format("by pH {}, if the meter is right: check the meter", exact(*tank.water.ph)));
    } else if (!co2.from_ph_judged) {
        notes.push_back(
            fmt::format("by pH {} it would be {} mg/L, not judged over pH {}: check "
                        "the meter",
                        exact(*tank.water.ph), figure(*co2.from_ph_mg_l), exact(kPhDoubtHigh)));
    } else if (check.value == co2.from_ph_mg_l) {
        if (std::string words = band_words(check, *co2.from_ph_mg_l); !words.empty()) {
            notes.push_back(std::move(words));
        }
    }
    return notes;
}

std::vector<std::string> oxygen_notes(const Tank& tank, const TankBudget& budget,
                                      const Check& check) {
    std::vector<std::string> notes;
    const OxygenBudget& oxygen = budget.oxygen;
    if (oxygen.measured_mg_l && oxygen.lowest_mg_l && *oxygen.measured_mg_l < *oxygen.lowest_mg_l &&
        check.status == Status::pass) {
        notes.push_back(
            fmt::format("measured below even the lowest that is predicted, {} mg/L: "
                        "something is not as described",
                        figure(*oxygen.lowest_mg_l)));
    }
    const double usual_beta = tank.coefficients.beta;
    double beta = 0;
    for (const Aerator& aerator : tank.aeration) {
        beta = std::max(beta, aerator.beta.value_or(usual_beta));
    }
    if (beta == 0) beta = usual_beta;
    if (oxygen.warn_mg_l > beta * oxygen.saturation_peak_mg_l) {
        notes.push_back(
            fmt::format("air alone cannot reach {} mg/L here: it holds {} at most; pure "
                        "oxygen or colder water can",
                        figure(oxygen.warn_mg_l), figure(beta * oxygen.saturation_peak_mg_l)));
    }
    return notes;
}

// What a status alone would hide.
std::vector<std::string> notes_of(const Tank& tank, const TankBudget& budget) {
    std::vector<std::string> notes(budget.checks.size());
    for (std::size_t i = 0; i < notes.size(); ++i) {
        const Check& check = budget.checks[i];
        switch (check.id) {
            case CheckId::oxygen:
                notes[i] = joined(oxygen_notes(tank, budget, check), "; ");
                break;
            case CheckId::carbon_dioxide:
                notes[i] = joined(carbon_dioxide_notes(tank, budget, check), "; ");
                break;
            case CheckId::density:
                if (budget.loves_company) {
                    notes[i] =
                        "char suffer at low density too: fewer than shoal fight and grow less";
                }
                break;
            case CheckId::ration:
                if (budget.advised_ration_g_day > 0 &&
                    budget.ration_g_day > kMistypedRation * budget.advised_ration_g_day &&
                    check.status >= Status::warn) {
                    notes[i] =
                        "no trout eats that: is the ration, or mean_weight_g, in the unit "
                        "that its key says?";
                }
                break;
            case CheckId::nitrite:
                if (!tank.readings.chloride_mg_l) notes[i] = std::string(kNoChloride);
                break;
            case CheckId::input_doubt:
                notes[i] = words_of(budget.doubts, &tank);
                break;
            default:
                break;
        }
    }
    return notes;
}

std::vector<std::string> loop_notes_of(const Loop& loop, const LoopBudget& budget) {
    std::vector<std::string> notes(budget.checks.size());
    std::string filter;
    if (budget.filter_starved) {
        filter = "the filter gets too little oxygen to work";
    } else if (loop.biofilter && loop.biofilter->maturity_percent < 100) {
        filter = fmt::format("the filter is {} % started: ammonia and nitrite may rise, test daily",
                             exact(loop.biofilter->maturity_percent));
    } else if (filter_is_slow(loop)) {
        filter = "the filter is cold and slow: test ammonia and nitrite often";
    }
    for (std::size_t i = 0; i < notes.size(); ++i) {
        if (budget.checks[i].id == CheckId::biofilter) notes[i] = filter;
        if (budget.checks[i].id == CheckId::nitrite && budget.checks[i].value &&
            !loop.readings.chloride_mg_l) {
            notes[i] = kNoChloride;
        }
        if (budget.checks[i].id == CheckId::input_doubt)
            notes[i] = words_of(budget.doubts, nullptr);
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
    if (report.all_read() && !description.tanks.empty())
        report.verdict = report.usual = Status::pass;
    std::vector<TankReport> by_system;
    for (const System& system : systems_of(description)) {
        if (!asked_for(read, system)) continue;
        SystemBudget whole = assess_system(system);
        add_oxygen_gaps(system, whole);
        if (const auto bearable = feed_bearable(system, whole)) {
            whole.loop->feed_bearable_g_day = bearable->feed_g_day;
            whole.loop->feed_careful_g_day = bearable->careful_g_day;
        }
        const bool own_numbers = has_own_numbers(system);
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
            added.notes = notes_of(tank, budget);
            if (explain) added.working = working_of(description.site, air, tank, budget);
            if (add_remedies(planner, system, whole, {i}, show, added)) report.cut_short = true;
            add_plans(plans, system, whole, {i}, show, added);
            add_readings(read, false, tank.name, added);
            add_now(added.budget.checks, added);
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
            added.notes = loop_notes_of(*system.loop, *whole.loop);
            if (explain) added.working = loop_working_of(*system.loop, *whole.loop);
            added.filter_young =
                system.loop->biofilter && system.loop->biofilter->maturity_percent < 100;
            if (add_remedies(planner, system, whole, {}, show, added)) report.cut_short = true;
            add_plans(plans, system, whole, {}, show, added);
            add_readings(read, true, system.loop->name, added);
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
