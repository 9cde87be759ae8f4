#include "report/page_parts.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "report/words.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

// A check whose value is shown in the reader's units.
std::optional<Measure> measure_of(const Check& check) {
    if (check.unit == "degC") return Measure::temperature_c;
    if (check.unit == "kg/m3") return Measure::density_kg_m3;
    if (check.unit == "g feed/m2/day") return Measure::feed_g_m2_day;
    return std::nullopt;
}

// Units as they read best beside a number; what a concentration is of stands in the title.
std::string unit_of(const Check& check, const Display& show) {
    if (check.unit == "pH" || check.unit == "ratio") return "";
    if (check.unit == "1/h") return " an hour";
    if (check.unit == "body lengths/s") return " lengths/s";
    if (check.unit.starts_with("mg/L")) return " mg/L";
    if (const auto measure = measure_of(check)) return fmt::format(" {}", show.unit(*measure));
    return fmt::format(" {}", check.unit);
}

// "3.1 h", never rounded over the limit of a reason.
std::string due(const Because& because, std::string_view unit) {
    const double left = because.value.value();
    constexpr double kSoon = 0.1;
    if (left > 0 && left < kSoon) return fmt::format("<{} {}", exact(kSoon), unit);
    return fmt::format("{} {}", compared(left, std::array{because.limit.value()}).value, unit);
}

// A reason in place of the limits: "warn in 31 h: warn <72 h".
std::string reason_text(const Because& because, const Check& check, const Display& show) {
    const auto limit = [&] { return exact(because.limit.value()); };
    switch (because.reason) {
        case Reason::demand_over_supply:
            return fmt::format(
                "needs {}, can have {}",
                show.with_unit(Measure::hourly_mass_g, because.value.value()),
                show.bare(Measure::hourly_mass_g, std::max(0.0, because.limit.value())));
        case Reason::rises_without_end:
            return check.id == CheckId::oxygen ? "nothing brings oxygen"
                                               : "rises, nothing keeps up";
        case Reason::hours_to_warn:
            return fmt::format("warn in {}: warn <{} h", due(because, "h"), limit());
        case Reason::hours_to_fail:
            return fmt::format("fail in {}: fail <{} h", due(because, "h"), limit());
        case Reason::days_to_warn:
            return fmt::format("warn in {}: warn <{} days", due(because, "days"), limit());
        case Reason::low_has_passed:
            return fmt::format(
                "down to {}: warn <{}",
                compared(because.value.value(), std::array{because.limit.value()}).value,
                figure(because.limit.value()));
        case Reason::row_not_used:
            return "a row or column not used";
        case Reason::as_oxygen:
            return "assumed saturated: as oxygen";
        case Reason::least_by_balance: {
            const Compared texts =
                compared(because.value.value(), std::array{because.limit.value()});
            return fmt::format("at least {} by balance: warn >{}", texts.value, texts.limits[0]);
        }
        case Reason::filter_age:
            return fmt::format("filter {} % started: warn <{}", exact(because.value.value()),
                               limit());
        case Reason::filter_cold:
            return fmt::format(
                "filter at {} degC: warn <{}",
                compared(because.value.value(), std::array{because.limit.value()}).value, limit());
        case Reason::filter_starved:
            break;
    }
    const std::array limits{because.limit.value()};
    return fmt::format(
        "filter starved{}: fail <{}",
        because.value ? fmt::format(" at {}", compared(*because.value, limits).value) : "",
        limit());
}

std::string in_minutes(std::optional<double> value) {
    return value ? fmt::format("in {} min", figure(*value)) : "never";
}

// "predicted 6.51 mg/L, measured 7.2"
std::string both(std::optional<double> predicted, std::optional<double> measured) {
    std::vector<std::string> parts;
    if (predicted) parts.push_back(fmt::format("{} mg/L", figure(*predicted)));
    if (measured) parts.push_back(fmt::format("measured {} mg/L", figure(*measured)));
    return parts.empty() ? "unknown" : joined(parts, ", ");
}

// A carbon dioxide by pH that no tank is seen to hold.
bool is_beyond_belief(const Check& check, const TankBudget* budget) {
    return budget != nullptr && check.id == CheckId::carbon_dioxide &&
           check.value > double{kCo2Doubt} && check.value == budget->carbon_dioxide.from_ph_mg_l;
}

// How far the deciding check is from its limit.
std::string distance_text(const Check& check, const TankBudget* budget, const Display& show) {
    if (check.status == Status::unchecked) return fmt::format("unchecked, needs {}", check.missing);
    if (const Because* because = deciding(check)) return reason_text(*because, check, show);
    if (!check.value) {
        return check.status == Status::fail    ? "nothing keeps up with it"
               : check.id == CheckId::readings ? "none to go by"
                                               : "it holds";
    }
    const Bound& bound = check.status == Status::fail ? check.fail : check.warn;
    const bool below =
        bound.low && (!bound.high || *check.value - *bound.low < *bound.high - *check.value);
    const std::optional<double> limit = below ? bound.low : bound.high;
    const std::string_view name = check.status == Status::fail ? "fail" : "warn";
    if (!limit) return "it holds";
    if (check.id == CheckId::input_doubt) return "is this what you meant?";
    if (is_beyond_belief(check, budget)) return "over 100 mg/L, if the meter is right";
    const double gap = shown_value(check, *check.value, show) - shown_value(check, *limit, show);
    if (check.exhausted && *check.value == 0) {
        return fmt::format("nothing left, its {} limit is {}{}", name,
                           figure(shown_value(check, *limit, show)), unit_of(check, show));
    }
    return fmt::format("{}{} {} its {} limit", figure(std::abs(gap)), unit_of(check, show),
                       check.status == Status::pass ? "inside" : "beyond", name);
}

std::string tank_verdict(const TankBudget& budget, const OwnVerdict& own, const Display& show) {
    const Check& first = *find_check(budget, budget.first_limit);
    std::string share;
    if (first.used_percent && !first.exhausted && !is_measured(first, &budget)) {
        share = fmt::format(", {}", used_text(first));
    }
    // Oxygen kills first: where it stands is said in any case.
    const Check& oxygen = *find_check(budget, CheckId::oxygen);
    if (oxygen.id != first.id && oxygen.status != Status::unchecked) {
        share += fmt::format("; oxygen {}", name_of(oxygen.status));
        const std::string used = is_measured(oxygen, &budget) ? "" : used_text(oxygen);
        if (!used.empty()) share += ", " + used;
    }
    return fmt::format("{}; runs short first: {}: {}{}", verdict_words(budget.verdict, own, show),
                       title_of(first.id), distance_text(first, &budget, show), share);
}

// "300 L/min out of upper raceway with 7.2 mg/L oxygen at its lowest": empty of plain new water.
std::string water_words(const TankBudget& budget, const Display& show) {
    std::vector<std::string> words;
    for (const InflowPart& part : budget.inflow) {
        const std::string flow = show.with_unit(Measure::flow_l_min, part.flow_m3_h * 1000 / 60);
        words.push_back(part.from.empty()
                            ? fmt::format("{} of new water", flow)
                            : fmt::format("{} out of {} with {} mg/L oxygen at its lowest", flow,
                                          printable(part.from),
                                          figure(std::max(0.0, part.oxygen_peak_mg_l))));
    }
    return words.empty() ? "" : "; water: " + joined(words, ", ");
}

std::string stock_words(const TankBudget& budget, const Display& show) {
    std::string warmest;
    if (budget.peak_temperature_c > budget.temperature_c) {
        warmest = fmt::format(" (warmest {})",
                              show.bare(Measure::temperature_c, budget.peak_temperature_c));
    }
    const std::string volume = show.with_unit(Measure::volume_l, budget.volume_l);
    const std::string water =
        fmt::format("{}{}", show.with_unit(Measure::temperature_c, budget.temperature_c), warmest);
    if (budget.groups.empty()) {
        return fmt::format("no fish in {}, {}{}", volume, water, water_words(budget, show));
    }
    // What one weighs shows a slip of unit or length at a glance.
    const std::string each =
        budget.groups.size() == 1
            ? " of " + show.with_unit(Measure::weight_g, budget.groups[0].mean_weight_g)
            : "";
    return fmt::format("{} fish{}, {} in {}, {}, {}{}", exact(budget.fish_count), each,
                       show.with_unit(Measure::biomass_kg, budget.biomass_kg), volume,
                       show.with_unit(Measure::density_kg_m3, budget.density_kg_m3), water,
                       water_words(budget, show));
}

// What a measured oxygen that is off the prediction may come from.
std::string gap_words(const OxygenGap& gap, const TankBudget& budget) {
    const double off = gap.measured_mg_l - gap.predicted_mg_l;
    std::string out =
        fmt::format("measured {} mg/L is {} {} the predicted mean {}", figure(gap.measured_mg_l),
                    figure(std::abs(off)), off < 0 ? "below" : "above", figure(gap.predicted_mg_l));
    std::vector<std::string> causes;
    if (gap.fish_count) {
        causes.push_back(fmt::format("{} fish in place of {}", figure(*gap.fish_count, 0),
                                     exact(budget.fish_count)));
    }
    if (gap.aeration_percent) {
        causes.push_back(
            fmt::format("aerators at {} % of what is described", figure(*gap.aeration_percent)));
    }
    if (gap.flow_percent) {
        causes.push_back(fmt::format("{} % of the flow", figure(*gap.flow_percent)));
    }
    if (gap.respiration_factor) {
        causes.push_back(fmt::format("respiration_factor {}", figure(*gap.respiration_factor)));
    }
    if (causes.empty()) return out + "; no fish, air or flow would explain it: check the meter";
    out += fmt::format("; it would take, each alone: {}", joined(causes, ", "));
    if (!gap.aeration_percent && gap.without_aeration_mg_l > gap.measured_mg_l &&
        !budget.aerators.empty()) {
        out += fmt::format("; without any aerator it would still be {} mg/L",
                           figure(*gap.without_aeration_mg_l));
    }
    return out;
}

// What a careful grower's share of the bearable feed rests on.
std::string careful_words(const LoopBudget& budget) {
    const double share = *budget.feed_bearable_g_day > 0
                             ? *budget.feed_careful_g_day / *budget.feed_bearable_g_day
                             : kUsualCoefficients.careful_feed_share;
    return std::abs(share - kUsualCoefficients.careful_feed_share) < 1e-9
               ? "half, our judgement"
               : fmt::format("{} of it, your coefficient", figure(share));
}

// "oxygen_mg_l 5.8 (2.1 h ago), died 4"
std::string readings_words(const TankReadings& readings) {
    std::vector<std::string> words;
    for (const UsedReading& each : readings.list) {
        const std::string fish =
            each.fish.empty() ? "" : fmt::format(" of {}", printable(each.fish));
        words.push_back(fmt::format("{}{} {} ({} h ago{})", each.column, fish,
                                    figure(each.value, 4), figure(each.age_h, 1),
                                    each.used ? "" : ", not used"));
    }
    return words.empty() ? "none" : joined(words, ", ");
}

std::vector<FigureLine> figure_lines(const TankReport& report, const Display& show) {
    const TankBudget& budget = report.budget;
    std::vector<FigureLine> out;
    const auto line = [&](std::string_view label, std::string text) {
        out.push_back({label, std::move(text)});
    };
    const auto daily = [&](double g_day) { return show.with_unit(Measure::daily_mass_g, g_day); };
    const auto hourly = [&](double g_h) { return show.with_unit(Measure::hourly_mass_g, g_h); };
    const auto bare_hourly = [&](double g_h) { return show.bare(Measure::hourly_mass_g, g_h); };
    // What was taken for granted, last of all.
    const auto with_assumed = [&] {
        std::vector<std::string> words;
        for (const Assumption& assumption : budget.assumed) {
            // Stands with the reserve.
            if (assumption.kind == Assumption::Kind::response_time) continue;
            words.push_back(words_of(assumption, show));
        }
        if (!words.empty()) line("assumed", joined(words, "; "));
        return out;
    };
    if (report.change) {
        line("change", words_of(*report.change, show));
        out.back().always = true;
    }
    const OxygenBudget& oxygen = budget.oxygen;
    std::string supply = "can have an unknown amount";
    if (oxygen.supply_known) {
        supply = fmt::format("{} {}", oxygen.supply_g_h < 0 ? "would lose" : "can have",
                             hourly(std::abs(oxygen.supply_g_h)));
    }
    line("oxygen",
         fmt::format("needs {} ({} by respiration, {} by feed), {} at peak; {} at {} mg/L",
                     hourly(oxygen.demand_mean_g_h), bare_hourly(oxygen.demand_by_respiration_g_h),
                     bare_hourly(oxygen.demand_by_feed_g_h), bare_hourly(oxygen.demand_peak_g_h),
                     supply, figure(oxygen.warn_mg_l)));
    std::string inflow;
    if (oxygen.inflow_mg_l) inflow = fmt::format("; inflow {}", figure(*oxygen.inflow_mg_l));
    line("", fmt::format("mean {}; lowest {}; saturation {}{}", both(oxygen.steady_mean_mg_l, {}),
                         both(oxygen.lowest_mg_l, oxygen.measured_mg_l),
                         figure(oxygen.saturation_mg_l), inflow));
    for (const InflowPart& part : budget.inflow) {
        line(&part == budget.inflow.data() ? "inflow" : "",
             fmt::format("{} {}: oxygen {}, {} at its lowest; TAN {}; carbon dioxide {}",
                         show.with_unit(Measure::flow_l_min, part.flow_m3_h * 1000 / 60),
                         part.from.empty() ? "of new water"
                                           : fmt::format("out of {}", printable(part.from)),
                         figure(std::max(0.0, part.oxygen_mg_l)),
                         figure(std::max(0.0, part.oxygen_peak_mg_l)), figure(part.tan_mg_l),
                         part.carbon_dioxide_mg_l ? figure(*part.carbon_dioxide_mg_l) : "unknown"));
    }
    if (const auto& gap = oxygen.gap) line("gap", gap_words(*gap, budget));
    if (report.readings) {
        line("readings", readings_words(*report.readings));
        out.back().always = true;
    }
    if (budget.groups.empty()) return with_assumed();
    if (const auto& reserve = budget.reserve) {
        std::string flowing;
        if (reserve->flow_continues) {
            flowing = fmt::format("; if only the air stops: stress {}, danger {}",
                                  in_minutes(reserve->flow_continues->minutes_to_stress),
                                  in_minutes(reserve->flow_continues->minutes_to_danger));
        }
        const bool sleeps = std::any_of(
            budget.assumed.begin(), budget.assumed.end(),
            [](const Assumption& each) { return each.kind == Assumption::Kind::response_time; });
        line("reserve",
             fmt::format(
                 "from {} mg/L{}, if all stops ({} {}): stress {}, danger {}{}{}",
                 figure(reserve->start_mg_l), reserve->start_assumed ? " assumed" : "",
                 reserve->fasting_share < 1
                     ? fmt::format("fish without feed need {} % of what fed ones do:",
                                   figure(100 * reserve->fasting_share))
                     : "fed fish need",
                 hourly(reserve->demand_g_h), in_minutes(reserve->stopped.minutes_to_stress),
                 in_minutes(reserve->stopped.minutes_to_danger), flowing,
                 sleeps ? "; acting in 30 min takes someone awake: let an alarm wake you" : ""));
    }
    line("feed", fmt::format("{}{} ({} percent); {}; solids {}", daily(budget.ration_g_day),
                             states_a_ration(budget) ? "" : " counted, by the table",
                             figure(budget.ration_g_day / budget.biomass_kg / 10),
                             budget.advised_ration_g_day > 0
                                 ? "advised " + daily(budget.advised_ration_g_day)
                                 : "advised: do not feed",
                             daily(budget.solids_g_day)));
    const AmmoniaBudget& ammonia = budget.ammonia;
    std::string toxic;
    if (ammonia.unionised_fraction) {
        toxic = fmt::format("; {} percent of it NH3", figure(100 * *ammonia.unionised_fraction));
    }
    line("ammonia", fmt::format("{} as N; total {}{}", daily(ammonia.tan_production_g_day),
                                both(ammonia.tan_mg_l, ammonia.measured_tan_mg_l), toxic));
    const CarbonDioxideBudget& co2 = budget.carbon_dioxide;
    std::string dioxide = daily(co2.production_g_day);
    if (co2.balance_mg_l) {
        dioxide += fmt::format("; balance {} mg/L{}", figure(*co2.balance_mg_l),
                               co2.balance_judged ? "" : " (not judged: the inflow's is unknown)");
    }
    if (co2.from_ph_mg_l) {
        const double band = kPhMeterBand;
        dioxide += fmt::format("; from pH {} mg/L ({} to {} by a meter good to 0.1{})",
                               figure(*co2.from_ph_mg_l), figure(*co2.from_ph_mg_l / band),
                               figure(*co2.from_ph_mg_l * band),
                               co2.from_ph_judged ? "" : "; over pH 9 not judged: check the meter");
    }
    if (co2.measured_mg_l) dioxide += fmt::format("; measured {} mg/L", figure(*co2.measured_mg_l));
    if (!ammonia.unionised_fraction && co2.estimated_ph) {
        dioxide += fmt::format("; would make pH {} (an estimate, not judged)",
                               figure(*co2.estimated_ph, 1));
    }
    line("CO2", dioxide);
    for (const GroupBudget& group : budget.groups) {
        if (!group.males_mature) continue;
        line("maturity", fmt::format("{}: of an age at which males{} mature", printable(group.name),
                                     group.females_mature ? " and females" : ""));
    }
    return with_assumed();
}

// How far a new filter is, as far as tests have shown.
std::vector<std::string> start_words(const LoopReport& report, const Display& show) {
    const FilterStart& start = *report.start;
    const auto date = [&](double day) { return date_of(instant_of(day, report.asked_at)); };
    const auto fallen = [&](std::string_view what, const std::optional<FilterStart::Seen>& seen,
                            const std::optional<FilterTest>& most,
                            std::optional<double> FilterTest::*field) {
        if (seen) {
            return fmt::format("{} has fallen: {} mg/L on {}, after {} on {}", what,
                               figure(seen->mg_l), date(seen->day), figure(seen->from_mg_l),
                               date(seen->from_day));
        }
        return most ? fmt::format("{} not seen to fall: the most was {} mg/L on {}", what,
                                  figure(*((*most).*field)), date(most->day))
                    : fmt::format("{}: no test of it", what);
    };
    std::vector<std::string> lines;
    if (start.tests == 0) {
        lines.emplace_back(
            "no test of ammonia and nitrite is known: --logbook FILE or --readings FILE has "
            "them, with their dates");
    } else {
        lines.push_back(
            "1 " + fallen("ammonia", start.ammonia_fell, start.most_tan, &FilterTest::tan_mg_l));
        lines.push_back(start.nitrite_rose ? fmt::format("2 nitrite has risen: {} mg/L on {}",
                                                         figure(*start.nitrite_rose->nitrite_mg_l),
                                                         date(start.nitrite_rose->day))
                                           : fmt::format("2 nitrite not seen at {} mg/L or more",
                                                         exact(kStartNitrite)));
        lines.push_back("3 " + fallen("nitrite", start.nitrite_fell, start.most_nitrite,
                                      &FilterTest::nitrite_mg_l));
        lines.push_back(fmt::format(
            "4 TAN under {} and nitrite under {}: {}; {} days of it at the same feed are wanted",
            exact(kStartedTan), exact(kStartedNitrite),
            start.under_since_day
                ? fmt::format("{} days by tests, since {}", figure(std::floor(start.under_days), 0),
                              date(*start.under_since_day))
                : "not by the last test",
            exact(kStartedDays)));
    }
    std::string feed = "nothing is fed";
    if (report.budget.feed_bearable_g_day) {
        feed = fmt::format("meanwhile feed no more than {}",
                           feed_meanwhile_words(report.budget, show));
    }
    const std::string often = start.started               ? "once a week"
                              : start.next_test_days >= 2 ? "every other day"
                                                          : "every day";
    lines.push_back(
        fmt::format("{}; test TAN and nitrite {}{}", feed, often,
                    start.started ? ", and raise maturity_percent and feed by steps" : ""));
    lines.push_back(fmt::format(
        "others, no promise: carp filters about {} days from 3 to under 0.25 mg/L; trout filters "
        "at 11.5 degC were given over four months",
        exact(kCarpFilterDays)));
    return lines;
}

std::vector<FigureLine> figure_lines(const LoopReport& report, const Display& show) {
    const LoopBudget& budget = report.budget;
    std::vector<FigureLine> out;
    const auto line = [&](std::string_view label, std::string text) {
        out.push_back({label, std::move(text)});
    };
    if (report.readings) {
        line("readings", readings_words(*report.readings));
        out.back().always = true;
    }
    const auto daily = [&](double g_day) { return show.with_unit(Measure::daily_mass_g, g_day); };
    const auto or_unknown = [](std::optional<double> value) {
        return value ? figure(*value) : std::string("unknown");
    };
    if (report.start) {
        std::string_view label = "start";
        for (const std::string& words : start_words(report, show)) {
            out.push_back({label, words, true});
            label = {};
        }
    }
    const double turnover = budget.volume_m3 > 0 ? budget.flow_m3_h / budget.volume_m3 : 0;
    line("round",
         fmt::format("{} through {}, {} times an hour; {}/day exchanged",
                     show.with_unit(Measure::flow_l_min, budget.flow_m3_h * 1000 / 60),
                     show.with_unit(Measure::volume_l, budget.volume_m3 * 1000), figure(turnover),
                     show.with_unit(Measure::volume_l, budget.exchange_m3_day * 1000)));
    line("feed", fmt::format("{}; solids to take out {}", daily(budget.feed_g_day),
                             daily(budget.solids_g_day)));
    line("ammonia",
         fmt::format("{} as N made; {} nitrified (the filter takes {} at most), {} "
                     "{}; supply {}, return {} mg/L",
                     daily(budget.tan_production_g_day), daily(budget.nitrified_g_day),
                     daily(budget.filter_capacity_g_day), daily(std::abs(budget.exchanged_g_day)),
                     budget.exchanged_g_day < 0 ? "brought by the make-up" : "exchanged",
                     or_unknown(budget.supply_tan_mg_l), or_unknown(budget.return_tan_mg_l)));
    if (budget.feed_bearable_g_day) {
        line("", fmt::format(
                     "filter and exchange bear {} of feed in all, to keep every tank at its "
                     "ammonia limit{}{}",
                     daily(*budget.feed_bearable_g_day),
                     report.filter_young ? ", with the filter as far as it is today" : "",
                     budget.feed_careful_g_day
                         ? fmt::format("; a careful grower keeps to {} until tests stay low ({})",
                                       daily(*budget.feed_careful_g_day), careful_words(budget))
                         : ""));
    }
    line("oxygen", fmt::format("the supply brings {} mg/L, {} at peak; the filter takes {}",
                               or_unknown(budget.supply_oxygen_mg_l),
                               or_unknown(budget.supply_oxygen_peak_mg_l),
                               show.with_unit(Measure::hourly_mass_g, budget.filter_oxygen_g_h)));
    line("CO2", fmt::format("the supply brings {} mg/L at peak",
                            or_unknown(budget.supply_carbon_dioxide_mg_l)));
    std::string nitrate = budget.nitrate_mg_l
                              ? fmt::format("settles at {} mg/L as N", figure(*budget.nitrate_mg_l))
                              : std::string("rises without exchange");
    if (budget.nitrate_rise_mg_l_day) {
        nitrate = fmt::format("moves by {} mg/L a day", figure(*budget.nitrate_rise_mg_l_day));
    }
    if (budget.nitrate_days_to_warn) {
        nitrate += fmt::format(", its limit in {} days", figure(*budget.nitrate_days_to_warn));
    }
    line("nitrate", fmt::format("{}; plants take {}", nitrate, daily(budget.plants_g_day)));
    const double dose = budget.alkalinity_dose_g_day;
    const auto grams = [&](double g) { return show.with_unit(Measure::dose_g, g); };
    const std::string soda = fmt::format("{} of sodium bicarbonate", grams(dose * kNaHCO3PerCaCO3));
    const std::string others =
        fmt::format("{} of potassium bicarbonate or {} of calcium hydroxide",
                    grams(dose * kKHCO3PerCaCO3), grams(dose * kCaOH2PerCaCO3));
    std::string how = fmt::format("{}, {}", soda, others);
    if (budget.planted) {
        const std::string builds =
            budget.exchange_m3_day > 0
                ? fmt::format("settles at {} mg/L",
                              figure(budget.sodium_g_day / budget.exchange_m3_day))
                : fmt::format(
                      "rises by {} mg/L a day",
                      figure(budget.volume_m3 > 0 ? budget.sodium_g_day / budget.volume_m3 : 0));
        how = fmt::format("{} ({} would do, but its sodium {})", others, soda, builds);
    }
    line("buffer",
         dose > 0
             ? fmt::format("{} as CaCO3 used up, {} of it to add: {}; each day, in small doses",
                           daily(budget.alkalinity_demand_g_day), daily(dose), how)
             : fmt::format("{} as CaCO3 used up; the make-up brings it back",
                           daily(budget.alkalinity_demand_g_day)));
    std::vector<std::string> assumed;
    for (const Assumption& assumption : budget.assumed)
        assumed.push_back(words_of(assumption, show));
    if (!assumed.empty()) line("assumed", joined(assumed, "; "));
    return out;
}

}  // namespace

double shown_value(const Check& check, double base, const Display& show) {
    const auto measure = measure_of(check);
    return measure ? show.value(*measure, base) : base;
}

const Because* deciding(const Check& check) {
    const Because* worst = nullptr;
    for (const Because& each : check.because) {
        const bool hours =
            each.reason == Reason::hours_to_warn || each.reason == Reason::hours_to_fail;
        if (each.status < check.status && !(hours && !check.value)) continue;
        if (each.status <= status_of_value(check) && check.value) continue;
        if (worst == nullptr || each.status > worst->status) worst = &each;
    }
    return worst;
}

std::string with_blanks(std::string_view id) {
    std::string text(id);
    std::replace(text.begin(), text.end(), '_', ' ');
    return text;
}

std::string title_of(CheckId id) { return std::string(info_of(id).title); }

bool states_a_ration(const TankBudget& budget) {
    return std::any_of(budget.groups.begin(), budget.groups.end(),
                       [](const GroupBudget& group) { return group.ration_stated; });
}

CheckText check_text(const Check& check, const TankBudget* budget, const Display& show) {
    struct Named {
        std::string_view word;
        std::string_view sign;
        std::optional<double> limit;
    };
    const std::array named{Named{"warn", "<", check.warn.low}, Named{"warn", ">", check.warn.high},
                           Named{"fail", "<", check.fail.low}, Named{"fail", ">", check.fail.high}};
    std::vector<double> limits;
    for (const Named& each : named) {
        if (each.limit) limits.push_back(shown_value(check, *each.limit, show));
    }
    const Compared texts = compared(shown_value(check, check.value.value_or(0), show), limits);
    CheckText out;
    if (check.id == CheckId::readings) {
        out.value = check.value ? fmt::format("{} h old", texts.value) : "none to go by";
        if (check.value) out.limits = fmt::format("warn >{}", texts.limits.at(0));
        if (const Because* because = deciding(check))
            out.limits = reason_text(*because, check, show);
        return out;
    }
    if (check.id == CheckId::input_doubt) {
        out.value = fmt::format("{} slip{}", figure(*check.value, 0), *check.value > 1 ? "s" : "");
        out.limits = "is this what you meant?";
        return out;
    }
    if (check.id == CheckId::ration && budget != nullptr && !states_a_ration(*budget)) {
        out.value = *check.value == 0 ? "do not feed" : texts.value + unit_of(check, show);
        out.limits = "advised; no ration is given";
        return out;
    }
    std::string_view word;
    std::size_t i = 0;
    for (const Named& each : named) {
        if (!each.limit) continue;
        if (each.word != word) {
            if (!word.empty()) out.limits += ", ";
            out.limits += each.word;
            word = each.word;
        }
        out.limits += fmt::format(" {}{}", each.sign, texts.limits[i++]);
    }
    if (check.own_limit) out.limits += " *";
    if (const Because* because = deciding(check)) {
        const std::string words = reason_text(*because, check, show);
        if (check.value) {
            out.limits = words;
        } else if (because->reason == Reason::least_by_balance) {
            out.value = "unknown";
            out.limits = words;
        } else {
            // "warn in 19 h" where the value stands, its limits where limits stand.
            const std::size_t colon = words.find(": ");
            out.value = words.substr(0, colon);
            out.limits = colon == std::string::npos ? "" : words.substr(colon + 2);
        }
        if (!check.value) return out;
    }
    if (is_beyond_belief(check, budget)) {
        out.value = fmt::format("over {} mg/L, if the meter is right", exact(kCo2Doubt));
        out.limits.clear();
        return out;
    }
    if (check.value) {
        out.value = fmt::format("{}{}", texts.value, unit_of(check, show));
    } else if (check.id == CheckId::oxygen_reserve) {
        out.value = "never runs out";
    } else {
        out.value = check.id == CheckId::oxygen && check.exhausted ? "falls to nothing"
                    : check.status == Status::fail                 ? "rises on"
                                                                   : "holds";
    }
    return out;
}

std::string used_text(const Check& check) {
    if (check.exhausted) return "used up";
    if (!check.used_percent) return {};
    constexpr double kFull = 100;
    constexpr double kTwice = 200;
    constexpr double kTenTimes = 1000;
    const double used = *check.used_percent;
    // Whole percent, with decimals only where 100 would be crossed.
    if (used <= kFull) {
        int decimals = 0;
        std::string text = figure(used, decimals);
        while (decimals < 9 && (text == "100") != (used == kFull)) text = figure(used, ++decimals);
        return text + " % used";
    }
    // Of oxygen it is what is brought, of what is needed at the limit.
    if (check.id == CheckId::oxygen) {
        return fmt::format("brings {} %", figure(std::floor(100 * kFull / used), 0));
    }
    const std::string_view word = info_of(check.id).warn == Ends::low ? "too little" : "too much";
    if (used >= kTenTimes) return fmt::format("far {}", word);
    if (used > kTwice) return fmt::format("{} x {}", figure(std::round(used / 10) / 10), word);
    const double over = used - kFull;
    return over < 1 ? fmt::format("just {}", word) : fmt::format("{} % {}", figure(over, 0), word);
}

namespace {

// What was read of a check that a balance predicts as well.
std::optional<double> reading_in(const TankBudget* budget, CheckId id) {
    if (budget == nullptr) return std::nullopt;
    switch (id) {
        case CheckId::oxygen:
            return budget->oxygen.measured_mg_l;
        case CheckId::ammonia:
            return budget->ammonia.measured_nh3_mg_l;
        case CheckId::total_ammonia:
            return budget->ammonia.measured_tan_mg_l;
        case CheckId::carbon_dioxide:
            return budget->carbon_dioxide.measured_mg_l;
        default:
            return std::nullopt;
    }
}

}  // namespace

bool is_measured(const Check& check, const TankBudget* budget) {
    return check.value && check.value == reading_in(budget, check.id);
}

std::optional<Status> status_of_reading(const Check& check, const TankBudget* budget) {
    const auto reading = reading_in(budget, check.id);
    return reading ? std::optional(status_of(*reading, check.warn, check.fail)) : std::nullopt;
}

namespace {

constexpr std::string_view kInLoop = "in the loop and in each of its tanks";

std::string_view ways_are_in(const TankReport& tank) {
    return tank.input.loop ? kInLoop : tank.in_row ? "in each tank of its row" : "";
}

}  // namespace

std::vector<PagePart> parts_of(const Report& report, const Display& show) {
    std::vector<PagePart> parts;
    for (const TankReport& tank : report.tanks) {
        const TankBudget& budget = tank.budget;
        parts.push_back({budget.tank, printable(budget.tank), stock_words(budget, show),
                         budget.verdict, budget.first_limit, &budget.checks, &tank.remedies,
                         &tank.notes, &budget, figure_lines(tank, show),
                         tank_verdict(budget, tank.own, show), &tank.working, &tank.own, &tank.now,
                         &tank.plans, ways_are_in(tank), tank.readings ? &*tank.readings : nullptr,
                         &tank, tank.sure ? &*tank.sure : nullptr});
    }
    for (const LoopReport& loop : report.loops) {
        const LoopBudget& budget = loop.budget;
        const Check& first = *find_check(budget, budget.first_limit);
        parts.push_back({budget.loop,
                         fmt::format("loop {}", printable(budget.loop)),
                         {},
                         budget.verdict,
                         budget.first_limit,
                         &budget.checks,
                         &loop.remedies,
                         &loop.notes,
                         nullptr,
                         figure_lines(loop, show),
                         fmt::format("{}; runs short first: {}: {}",
                                     verdict_words(budget.verdict, loop.own, show),
                                     title_of(first.id), distance_text(first, nullptr, show)),
                         &loop.working,
                         &loop.own,
                         &loop.now,
                         &loop.plans,
                         kInLoop,
                         loop.readings ? &*loop.readings : nullptr,
                         nullptr,
                         loop.sure ? &*loop.sure : nullptr});
    }
    return parts;
}

const UsedReading* reading_of(const TankReadings* readings, std::string_view column) {
    if (readings == nullptr) return nullptr;
    for (const UsedReading& each : readings->list) {
        if (each.used && each.column == column) return &each;
    }
    return nullptr;
}

std::string when_words(const UsedReading& reading) {
    constexpr double kLongAgoH = 18;
    constexpr std::size_t kDate = 11;  // "2026-11-25 "
    return minute_of(reading.at).substr(reading.age_h > kLongAgoH ? 0 : kDate);
}

bool is_low_read(const PagePart& part) {
    if (part.budget == nullptr) return false;
    const Check* oxygen = find_check(*part.budget, CheckId::oxygen);
    return oxygen != nullptr && status_of_reading(*oxygen, part.budget) == Status::warn;
}

bool is_forecast(const PagePart& part) {
    if (part.budget == nullptr || !part.now->empty()) return false;
    const Check* oxygen = find_check(*part.budget, CheckId::oxygen);
    return oxygen != nullptr && oxygen->status >= Status::warn &&
           status_of_reading(*oxygen, part.budget) == Status::pass;
}

std::string unmeasured_words(const Report& report) {
    const bool any =
        std::any_of(report.tanks.begin(), report.tanks.end(), [](const TankReport& tank) {
            const Tank& input = tank.input;
            return !input.readings.gas_pressure_percent &&
                   std::any_of(input.inflow.begin(), input.inflow.end(), [](const Inflow& inflow) {
                       return inflow.from.empty() && inflow.flow_l_min > 0;
                   });
        });
    if (!any || report.verdict >= Status::fail) return {};
    return "Of the inflow not checked: gas pressure, iron, copper, hydrogen sulphide.";
}

std::string cut_short_words(const Report& report) {
    return report.cut_short ? "Not every remedy was searched for: so many checks fail "
                              "that it would take too long. For one tank: --tank NAME"
                            : "";
}

std::string air_words(const Report& report, const Display& show) {
    const std::string air = show.with_unit(Measure::pressure_kpa, report.pressure_kpa);
    if (!report.site->altitude_m) return air;
    return fmt::format("{}, {}", show.with_unit(Measure::altitude_m, *report.site->altitude_m),
                       air);
}

std::string place_of(const Report& report) {
    return report.line ? fmt::format("{} line {}", printable(report.file), *report.line)
                       : printable(report.file);
}

std::vector<std::string> unread_words(const Report& report) {
    std::vector<std::string> out;
    const std::string place = place_of(report);
    if (!report.site) {
        out.push_back(fmt::format("{}: no budget: the description could not be read", place));
    } else if (!report.errors.empty()) {
        out.push_back(
            fmt::format("{}: parts could not be read and have no budget; see the errors", place));
    }
    if (!report.reading_errors.empty()) {
        out.push_back(fmt::format("{}: not all readings could be used; see the errors",
                                  printable(report.reading_errors[0].file)));
    }
    return out;
}

std::string words_of(const Assumption& assumption, const Display& show) {
    using Kind = Assumption::Kind;
    switch (assumption.kind) {
        case Kind::peak_is_mean:
            return "the warmest hour is no warmer than the mean";
        case Kind::table_ration:
            return "fed by the table";
        case Kind::fed_so_for_days:
            return "fed so for two days";
        case Kind::protein:
            return fmt::format("{} percent protein in the feed", exact(assumption.value));
        case Kind::inflow_without_tan:
            return "no ammonia in the inflow";
        case Kind::no_tan_yet:
            return "no ammonia in the tank yet: tan_mg_l was not measured";
        case Kind::inflow_co2_as_air:
            return "carbon dioxide of the inflow unknown (springs and wells carry much)";
        case Kind::reserve_from_saturation:
            return "the reserve starts from saturated water";
        case Kind::response_time:
            return "someone is awake and there to act in time (30 min unless limits say otherwise)";
        case Kind::removal_as_measured:
            return "removal_g_day was measured at this temperature: in colder water it is less";
        case Kind::pressure_as_read:
            return fmt::format(
                "a pressure of {} kPa read on the spot, not a weather report's for sea level",
                figure(assumption.value));
        case Kind::soft_water:
            return fmt::format("alkalinity {} is mg/L as CaCO3 (a kit's degrees: alkalinity_dkh)",
                               exact(assumption.value));
        case Kind::weight_by_length:
            return fmt::format("{} weigh {} each, as they are {} long", printable(assumption.where),
                               show.with_unit(Measure::weight_g, assumption.value),
                               show.with_unit(Measure::length_cm, assumption.usual));
        case Kind::coefficient:
            return fmt::format("coefficient {} {} in place of {}", assumption.key,
                               exact(assumption.value), exact(assumption.usual));
        case Kind::factor:
            break;
    }
    return fmt::format(
        "{} {}{} in place of {}", assumption.key, exact(assumption.value),
        assumption.where.empty() ? "" : fmt::format(" of {}", printable(assumption.where)),
        exact(assumption.usual));
}

}  // namespace coldtank::io
