#include "report/contents.hpp"

#include <algorithm>
#include <array>

#include "report/haul.hpp"

namespace coldtank::io {
namespace {

constexpr std::size_t kStatuses = static_cast<std::size_t>(Status::fail) + 1;

std::span<const std::string_view> status_names() {
    static const auto names = [] {
        std::array<std::string_view, kStatuses> all;
        for (std::size_t i = 0; i < all.size(); ++i) all[i] = name_of(static_cast<Status>(i));
        return all;
    }();
    return names;
}
std::span<const std::string_view> check_names() {
    static const auto names = [] {
        std::array<std::string_view, std::size(kChecks)> all;
        std::transform(std::begin(kChecks), std::end(kChecks), all.begin(),
                       [](const CheckInfo& info) { return info.name; });
        return all;
    }();
    return names;
}

void list_status(std::string_view key, Status status, Fields& out) {
    out.word(key, name_of(status), status_names());
}

void list_checks(const std::vector<Check>& checks,
                 const std::vector<std::vector<WordedRemedy>>& remedies,
                 const std::vector<std::string>& notes, Purpose purpose, std::size_t at_least,
                 Fields& out) {
    std::size_t next = 0;
    const auto fill = [&](const Check& check) {
        const std::size_t i = next++;
        out.word("check", name_of(check.id), check_names());
        list_status("status", check.status, out);
        out.number("value", check.value);
        out.text("unit", check.unit);
        out.bounds("warn", check.warn.low, check.warn.high);
        out.bounds("fail", check.fail.low, check.fail.high);
        out.number("used_percent", check.used_percent);
        if (purpose == Purpose::report) {
            static const std::vector<WordedRemedy> none;
            out.objects("remedies", "remedy", i < remedies.size() ? remedies[i] : none,
                        [&](const WordedRemedy& worded) {
                            list_remedy(worded.remedy, out);
                            out.text("text", worded.text);
                            if (out.has(!worded.remedy.parts.empty())) {
                                out.objects(
                                    "parts", "part", worded.remedy.parts,
                                    [&](const Remedy& part) { list_remedy(part, out); }, 2);
                            }
                        });
        }
        out.truth("own_limit", check.own_limit);
        if (out.has(check.status == Status::unchecked)) out.text("needs", check.missing);
        std::vector<Because> because;
        std::copy_if(check.because.begin(), check.because.end(), std::back_inserter(because),
                     [](const Because& each) { return each.status >= Status::warn; });
        if (out.has(!because.empty())) {
            out.objects("because", "because", because, [&](const Because& each) {
                out.text("reason", name_of(each.reason));
                list_status("status", each.status, out);
                out.number("value", each.value);
                out.number("limit", each.limit);
            });
        }
        if (out.has(i < notes.size() && !notes[i].empty())) {
            out.text("note", i < notes.size() ? std::string_view(notes[i]) : std::string_view{});
        }
    };
    out.objects("checks", "check", checks, fill, at_least);
}

void list_assumed(const std::vector<Assumption>& assumed, Fields& out) {
    std::vector<std::string> words;
    for (const Assumption& each : assumed) words.push_back(words_of(each));
    out.texts("assumed", words);
}

// The readings as they were used: column in its base unit, its value, its age.
void list_readings(const std::optional<TankReadings>& readings, Fields& out) {
    if (!out.has(readings.has_value())) return;
    static const std::vector<UsedReading> none;
    out.objects("readings", "reading", readings ? readings->list : none,
                [&](const UsedReading& each) {
                    out.text("column", each.column);
                    out.text_or_null("fish", each.fish);
                    out.number("value", each.value);
                    out.text("time", each.time);
                    out.number("age_h", each.age_h);
                    out.truth("used", each.used);
                    out.whole("line", each.line);
                });
}

constexpr std::array kWays{name_of(Way::fish), name_of(Way::equipment), name_of(Way::both)};

void list_sure(const PartReport& report, Purpose purpose, Fields& out) {
    if (purpose != Purpose::report || !out.has(report.sure.has_value())) return;
    static const PartSpread none;
    const PartSpread& sure = report.sure ? *report.sure : none;
    out.object("sure", [&] {
        out.number("all_pass_percent", sure.all_pass_percent);
        out.number("nothing_warns_percent", sure.nothing_warns_percent);
        out.number("at_or_below_reading_percent", sure.at_or_below_reading_percent);
    });
}

void list_plans(const PartReport& report, Purpose purpose, Fields& out) {
    if (purpose != Purpose::report) return;
    out.texts("now", report.now);
    out.objects("plans", "plan", report.plans, [&](const WordedPlan& plan) {
        out.word("way", name_of(plan.way), kWays);
        out.objects("changes", "change", plan.changes, [&](const WordedRemedy& change) {
            list_remedy(change.remedy, out);
            out.text("text", change.text);
            if (out.has(!change.remedy.groups.empty())) {
                out.begin_list("groups");
                for (const std::size_t group : change.remedy.groups) out.whole({}, group);
                if (out.has(change.remedy.groups.empty())) out.whole({}, 0);
                out.end_list();
            }
        });
        list_status("verdict_after", plan.outcome.verdict, out);
        out.begin_list("left");
        for (const PartOutcome::Left& left : plan.outcome.left) {
            out.word({}, name_of(left.check), check_names());
        }
        if (out.has(false)) out.word({}, name_of(CheckId::oxygen), check_names());
        out.end_list();
        out.begin_list("until_measured");
        for (const PartOutcome::Left& left : plan.outcome.left) {
            if (left.until_measured) out.word({}, name_of(left.check), check_names());
        }
        if (out.has(false)) out.word({}, name_of(CheckId::oxygen), check_names());
        out.end_list();
    });
}

void list_working(const std::string& working, Purpose purpose, Fields& out) {
    if (purpose == Purpose::report && out.has(!working.empty())) out.text("working", working);
}

void list_countdown(const Countdown& countdown, Fields& out) {
    out.number("minutes_to_stress", countdown.minutes_to_stress);
    out.number("minutes_to_danger", countdown.minutes_to_danger);
}

void list_oxygen(const TankBudget& budget, Fields& out) {
    const OxygenBudget& oxygen = budget.oxygen;
    out.number("saturation_mg_l", oxygen.saturation_mg_l);
    out.number("inflow_mg_l", oxygen.inflow_mg_l);
    out.number("demand_by_respiration_g_h", oxygen.demand_by_respiration_g_h);
    out.number("demand_by_feed_g_h", oxygen.demand_by_feed_g_h);
    out.number("demand_mean_g_h", oxygen.demand_mean_g_h);
    out.number("demand_peak_g_h", oxygen.demand_peak_g_h);
    out.number("supply_g_h", oxygen.supply_known ? std::optional(oxygen.supply_g_h) : std::nullopt);
    out.number("steady_mean_mg_l", oxygen.steady_mean_mg_l);
    out.number("lowest_mg_l", oxygen.lowest_mg_l);
    out.number("measured_mg_l", oxygen.measured_mg_l);
    const Check* check = find_check(budget, CheckId::oxygen);
    out.number("used_percent", check != nullptr ? check->used_percent : std::nullopt);
    // What a measured oxygen says of the description: each figure alone would explain it.
    if (!out.has(oxygen.gap.has_value())) return;
    const OxygenGap gap = oxygen.gap.value_or(OxygenGap{});
    out.object("gap", [&] {
        out.number("difference_mg_l", gap.measured_mg_l - gap.predicted_mg_l);
        out.number("fish_count", gap.fish_count);
        out.number("aeration_percent", gap.aeration_percent);
        out.number("flow_percent", gap.flow_percent);
        out.number("respiration_factor", gap.respiration_factor);
        out.number("without_aeration_mg_l", gap.without_aeration_mg_l);
    });
}

void list_reserve(const std::optional<ReserveBudget>& reserve, Fields& out) {
    list_countdown(reserve ? reserve->stopped : Countdown{}, out);
    out.object("flow_continues", [&] {
        list_countdown(reserve ? reserve->flow_continues.value_or(Countdown{}) : Countdown{}, out);
    });
    out.number("start_mg_l", reserve ? std::optional(reserve->start_mg_l) : std::nullopt);
    out.truth("start_assumed", reserve && reserve->start_assumed);
    out.number("demand_g_h", reserve ? std::optional(reserve->demand_g_h) : std::nullopt);
}

void list_start(const FilterStart& start, const Instant& now, Fields& out) {
    const auto date = [&](std::string_view key, std::optional<double> day) {
        out.text_or_null(key, day ? date_of(instant_of(*day, now)) : "");
    };
    const auto day_of_seen = [](const std::optional<FilterStart::Seen>& seen) {
        return seen ? std::optional(seen->day) : std::nullopt;
    };
    out.object("filter_start", [&] {
        out.whole("tests", start.tests);
        date("ammonia_fell", day_of_seen(start.ammonia_fell));
        date("nitrite_rose",
             start.nitrite_rose ? std::optional(start.nitrite_rose->day) : std::nullopt);
        date("nitrite_fell", day_of_seen(start.nitrite_fell));
        date("under_since", start.under_since_day);
        out.number("under_days", start.under_days);
        out.number("next_test_days", start.next_test_days);
        out.truth("started", start.started);
    });
}

void list_change(const WaterChange& change, Fields& out) {
    out.object("water_change", [&] {
        out.number("percent", change.percent);
        out.number("volume_l", change.volume_l);
        out.truth("whole_loop", change.whole_loop);
        out.objects("values", "changed", change.values, [&](const WaterChange::Value& value) {
            out.text("what", name_of(value.of));
            out.number("before", value.before);
            out.number("after", value.after);
            out.number("new_water", value.fresh);
            out.truth("read", value.read);
            out.number("limit", value.limit);
            out.number("needed_percent", value.needed_percent);
        });
        out.text_or_null("worst", change.worst ? name_of(*change.worst) : "");
        out.number("needed_percent", change.needed_percent);
        out.number("at_once_percent", change.at_once_percent);
        out.whole("changes", static_cast<std::size_t>(change.changes));
    });
}

void list_ammonia(const AmmoniaBudget& ammonia, Fields& out) {
    out.number("tan_production_g_day", ammonia.tan_production_g_day);
    out.number("tan_mg_l", ammonia.tan_mg_l);
    out.number("measured_tan_mg_l", ammonia.measured_tan_mg_l);
    out.number("unionised_fraction", ammonia.unionised_fraction);
    out.number("nh3_mg_l", ammonia.nh3_mg_l);
    out.number("hours_to_warn", ammonia.hours_to_warn);
    out.number("hours_to_fail", ammonia.hours_to_fail);
    out.number("measured_nh3_mg_l", ammonia.measured_nh3_mg_l);
}

void list_carbon_dioxide(const CarbonDioxideBudget& co2, Fields& out) {
    const auto band = [&](double times) {
        return co2.from_ph_mg_l ? std::optional(*co2.from_ph_mg_l * times) : std::nullopt;
    };
    out.number("production_g_day", co2.production_g_day);
    out.number("balance_mg_l", co2.balance_mg_l);
    out.number("from_ph_mg_l", co2.from_ph_mg_l);
    out.number("measured_mg_l", co2.measured_mg_l);
    out.number("estimated_ph", co2.estimated_ph);
    out.truth("balance_judged", co2.balance_judged);
    out.number("from_ph_low_mg_l", band(1 / kPhMeterBand));
    out.number("from_ph_high_mg_l", band(kPhMeterBand));
}

}  // namespace

void list_remedy(const Remedy& remedy, Fields& out) {
    out.text("action", name_of(remedy.action));
    out.number("value", remedy.value);
    out.text_or_null("unit", remedy.unit);
}

void list_contents(const TankReport& report, Purpose purpose, Fields& out) {
    const TankBudget& budget = report.budget;
    out.text("tank", budget.tank);
    list_status("verdict", budget.verdict, out);
    out.word("first_limit", name_of(budget.first_limit), check_names());
    out.number("fish_count", budget.fish_count);
    out.number("biomass_kg", budget.biomass_kg);
    out.number("density_kg_m3", budget.density_kg_m3);
    out.number("ration_g_day", budget.ration_g_day);
    if (purpose == Purpose::report && out.has(!budget.inflow.empty())) {
        out.objects("inflow", "inflow", budget.inflow, [&](const InflowPart& part) {
            out.text_or_null("from", part.from);
            out.number("flow_l_min", part.flow_m3_h * 1000 / 60);
            out.number("oxygen_mg_l", std::max(0.0, part.oxygen_mg_l));
            out.number("oxygen_peak_mg_l", std::max(0.0, part.oxygen_peak_mg_l));
            out.number("tan_mg_l", part.tan_mg_l);
            out.number("carbon_dioxide_mg_l", part.carbon_dioxide_mg_l);
        });
    }
    out.object("oxygen", [&] { list_oxygen(budget, out); });
    out.object("oxygen_reserve", [&] { list_reserve(budget.reserve, out); });
    out.object("ammonia", [&] { list_ammonia(budget.ammonia, out); });
    out.object("carbon_dioxide", [&] { list_carbon_dioxide(budget.carbon_dioxide, out); });
    out.number("solids_g_day", budget.solids_g_day);
    if (purpose == Purpose::report && out.has(report.change.has_value())) {
        list_change(report.change.value_or(WaterChange{}), out);
    }
    list_assumed(budget.assumed, out);
    list_checks(budget.checks, report.remedies, report.notes, purpose, 4, out);
    out.number("advised_ration_g_day", budget.advised_ration_g_day);
    list_status("usual_verdict", report.own.usual, out);
    list_plans(report, purpose, out);
    list_sure(report, purpose, out);
    list_readings(report.readings, out);
    list_working(report.working, purpose, out);
}

void list_contents(const LoopReport& report, Purpose purpose, Fields& out) {
    const LoopBudget& budget = report.budget;
    out.text("loop", budget.loop);
    list_status("verdict", budget.verdict, out);
    out.word("first_limit", name_of(budget.first_limit), check_names());
    out.number("supply_tan_mg_l", budget.supply_tan_mg_l);
    out.number("return_tan_mg_l", budget.return_tan_mg_l);
    out.number("supply_oxygen_mg_l", budget.supply_oxygen_mg_l);
    out.number("nitrate_mg_l", budget.nitrate_mg_l);
    out.number("tan_production_g_day", budget.tan_production_g_day);
    out.number("nitrified_g_day", budget.nitrified_g_day);
    out.number("exchanged_g_day", budget.exchanged_g_day);
    out.number("alkalinity_demand_g_day", budget.alkalinity_demand_g_day);
    out.number("solids_g_day", budget.solids_g_day);
    if (purpose == Purpose::report && out.has(report.start.has_value())) {
        list_start(report.start.value_or(FilterStart{}), report.asked_at, out);
    }
    list_checks(budget.checks, report.remedies, report.notes, purpose, 5, out);
    out.number("feed_g_day", budget.feed_g_day);
    out.number("feed_bearable_g_day", budget.feed_bearable_g_day);
    out.number("feed_careful_g_day", budget.feed_careful_g_day);
    list_status("usual_verdict", report.own.usual, out);
    list_assumed(budget.assumed, out);
    out.number("supply_oxygen_peak_mg_l", budget.supply_oxygen_peak_mg_l);
    out.number("supply_carbon_dioxide_mg_l", budget.supply_carbon_dioxide_mg_l);
    out.number("plants_g_day", budget.plants_g_day);
    out.number("nitrate_rise_mg_l_day", budget.nitrate_rise_mg_l_day);
    out.number("nitrate_days_to_warn", budget.nitrate_days_to_warn);
    out.number("alkalinity_dose_g_day", budget.alkalinity_dose_g_day);
    list_plans(report, purpose, out);
    list_sure(report, purpose, out);
    list_readings(report.readings, out);
    list_working(report.working, purpose, out);
}

void list_site(const std::optional<Site>& site, double pressure_kpa, Fields& out) {
    if (!out.object_or_null("site", site.has_value())) return;
    out.text("name", site ? std::string_view(site->name) : std::string_view{});
    out.number("altitude_m", site ? site->altitude_m : std::nullopt);
    out.number("pressure_kpa", pressure_kpa);
    out.end_object();
}

void list_trips(const std::vector<TripReport>& trips, Fields& out) {
    out.objects("trips", "trip", trips, [&](const TripReport& trip) {
        const TripBudget& budget = trip.budget;
        out.text("trip", budget.trip);
        list_status("verdict", budget.verdict, out);
        out.number("fish_count", budget.fish_count);
        out.number("biomass_kg", budget.biomass_kg);
        out.number("load_kg_l", budget.load_kg_l);
        out.number("minutes", budget.minutes);
        out.number("minutes_to_warn", budget.minutes_to_warn);
        out.number("minutes_to_fail", budget.minutes_to_fail);
        out.number("minutes_to_danger", budget.minutes_to_danger);
        out.number("oxygen_start_mg_l", budget.oxygen_start_mg_l);
        out.number("oxygen_lowest_mg_l", budget.oxygen_lowest_mg_l);
        out.number("oxygen_end_mg_l", budget.oxygen_end_mg_l);
        out.number("carbon_dioxide_end_mg_l", budget.carbon_dioxide_end_mg_l);
        out.number("tan_end_mg_l", budget.tan_end_mg_l);
        out.number("nh3_end_mg_l", budget.nh3_end_mg_l);
        out.number("ph_end", budget.ph_end);
        list_checks(budget.checks, out);
        out.objects("plans", "trip_plan", trip.plans, [&](const TripPlan& plan) {
            out.text("way", plan.change == TripChange::fewer ? "fish" : "equipment");
            out.objects("changes", "trip_change", std::vector{plan}, [&](const TripPlan& each) {
                out.text("action", name_of(each.change));
                out.number("value", each.value);
                out.text("unit", each.unit);
                out.text("text", words_of(trip, each, Display()));
                if (out.has(each.every_min > 0)) out.number("every_min", each.every_min);
                if (out.has(each.cooler_c > 0)) out.number("temperature_c", each.cooler_c);
            });
            list_status("verdict_after", plan.verdict_after, out);
            out.begin_list("left");
            for (const CheckId id : plan.left) out.text({}, name_of(id));
            if (plan.left.empty() && out.has(false)) out.text({}, {});
            out.end_list();
        });
    });
}

void list_errors(std::span<const InputError> errors, Fields& out) {
    out.objects("errors", "error", errors, [&](const InputError& error) {
        out.text("file", error.file);
        out.whole("line", error.line);
        out.whole("column", error.column);
        out.text("pointer", error.pointer);
        out.text("message", error.message);
    });
}

void list_contents(const Report& report, const Instant& now, Fields& out) {
    out.text("file", report.file);
    list_site(report.site, report.pressure_kpa, out);
    list_status("verdict", report.verdict, out);
    out.texts("warnings", report.warnings);
    out.objects("tanks", "tank", report.tanks,
                [&](const TankReport& tank) { list_contents(tank, Purpose::report, out); });
    out.objects("loops", "loop", report.loops,
                [&](const LoopReport& loop) { list_contents(loop, Purpose::report, out); });
    if (out.has(!report.trips.empty())) list_trips(report.trips, out);
    list_errors(report.all_errors(), out);
    out.text("date", text_of(now));
    if (out.has(report.line.has_value())) out.whole("line", report.line.value_or(1));
    if (out.has(report.cut_short)) out.truth("remedies_cut_short", true);
}

void list_checks(const std::vector<Check>& checks, Fields& out) {
    list_checks(checks, {}, {}, Purpose::report, 0, out);
}

void list_head(const Instant& now, Status verdict, Fields& out) {
    list_program(out);
    out.text("date", text_of(now));
    list_status("verdict", verdict, out);
}

std::string budget_formats::json_begin(const BudgetRun& run) {
    return io::json_begin("reports", [&](Fields& out) { list_head(run.now, run.verdict, out); });
}
std::string budget_formats::json(const Report& report, const BudgetRun& run) {
    return json_item([&](Fields& out) { list_contents(report, run.now, out); });
}
std::string budget_formats::json_end(const BudgetRun& run) {
    return io::json_end(run.reports == 0);
}

std::string budget_formats::jsonl(const Report& report, const BudgetRun& run) {
    JsonWriter out(JsonWriter::Style::line);
    out.object({}, [&] { list_contents(report, run.now, out); });
    return out.take();
}

}  // namespace coldtank::io
