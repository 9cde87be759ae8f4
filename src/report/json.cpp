// The report as JSON, with the keys of the README.
#include "report/json.hpp"

#include <fmt/core.h>

#include <cmath>

namespace coldtank::io {
namespace {

Json of(std::optional<double> value) { return json_number(value); }
// A number, [low, high] where both stand, null where none does.
Json of(const Bound& bound) {
    if (bound.low && bound.high) return Json::array({of(bound.low), of(bound.high)});
    return of(bound.low ? bound.low : bound.high);
}

Json of(const WordedRemedy& worded) {
    const Remedy& remedy = worded.remedy;
    Json out{{"action", name_of(remedy.action)},
             {"value", of(remedy.value)},
             {"unit", remedy.unit.empty() ? Json(nullptr) : Json(remedy.unit)},
             {"text", worded.text}};
    for (const Remedy& part : remedy.parts) {
        out["parts"].push_back(
            {{"action", name_of(part.action)}, {"value", of(part.value)}, {"unit", part.unit}});
    }
    return out;
}

Json band(std::optional<double> value, double times) {
    return value ? of(*value * times) : Json(nullptr);
}

Json of(const Countdown& countdown) {
    return {{"minutes_to_stress", of(countdown.minutes_to_stress)},
            {"minutes_to_danger", of(countdown.minutes_to_danger)}};
}

Json reserve_of(const std::optional<ReserveBudget>& reserve) {
    Json out = of(reserve ? reserve->stopped : Countdown{});
    out["flow_continues"] =
        reserve && reserve->flow_continues ? of(*reserve->flow_continues) : of(Countdown{});
    out["start_mg_l"] = reserve ? of(reserve->start_mg_l) : Json(nullptr);
    out["start_assumed"] = reserve && reserve->start_assumed;
    out["demand_g_h"] = reserve ? of(reserve->demand_g_h) : Json(nullptr);
    return out;
}

Json checks_of(const std::vector<Check>& list,
               const std::vector<std::vector<WordedRemedy>>& remedies,
               const std::vector<std::string>& notes) {
    Json checks = Json::array();
    for (std::size_t i = 0; i < list.size(); ++i) {
        const Check& check = list[i];
        Json worded = Json::array();
        for (const WordedRemedy& remedy : remedies[i]) worded.push_back(of(remedy));
        Json one{{"check", name_of(check.id)},
                 {"status", name_of(check.status)},
                 {"value", of(check.value)},
                 {"unit", check.unit},
                 {"warn", of(check.warn)},
                 {"fail", of(check.fail)},
                 {"used_percent", of(check.used_percent)},
                 {"remedies", worded},
                 {"own_limit", check.own_limit}};
        if (check.status == Status::unchecked) one["needs"] = check.missing;
        for (const Because& each : check.because) {
            if (each.status < Status::warn) continue;
            one["because"].push_back({{"reason", name_of(each.reason)},
                                      {"status", name_of(each.status)},
                                      {"value", of(each.value)},
                                      {"limit", of(each.limit)}});
        }
        if (i < notes.size() && !notes[i].empty()) one["note"] = notes[i];
        checks.push_back(std::move(one));
    }
    return checks;
}

// The readings as they were used: column in its base unit, its value, its age.
Json of(const TankReadings& readings) {
    Json list = Json::array();
    for (const UsedReading& each : readings.list) {
        list.push_back({{"column", each.column},
                        {"fish", each.fish.empty() ? Json(nullptr) : Json(each.fish)},
                        {"value", of(each.value)},
                        {"time", each.time},
                        {"age_h", of(each.age_h)},
                        {"used", each.used},
                        {"line", each.line}});
    }
    return list;
}

// What a measured oxygen says of the description: each figure alone would explain it.
Json of(const OxygenGap& gap) {
    return {{"difference_mg_l", of(gap.measured_mg_l - gap.predicted_mg_l)},
            {"fish_count", of(gap.fish_count)},
            {"aeration_percent", of(gap.aeration_percent)},
            {"flow_percent", of(gap.flow_percent)},
            {"respiration_factor", of(gap.respiration_factor)},
            {"without_aeration_mg_l", of(gap.without_aeration_mg_l)}};
}

}  // namespace

Json json_of(const LoopReport& report) {
    const LoopBudget& budget = report.budget;
    Json assumed = Json::array();
    for (const Assumption& assumption : budget.assumed) assumed.push_back(words_of(assumption));
    Json out{{"loop", budget.loop},
             {"verdict", name_of(budget.verdict)},
             {"first_limit", name_of(budget.first_limit)},
             {"supply_tan_mg_l", of(budget.supply_tan_mg_l)},
             {"return_tan_mg_l", of(budget.return_tan_mg_l)},
             {"supply_oxygen_mg_l", of(budget.supply_oxygen_mg_l)},
             {"nitrate_mg_l", of(budget.nitrate_mg_l)},
             {"tan_production_g_day", of(budget.tan_production_g_day)},
             {"nitrified_g_day", of(budget.nitrified_g_day)},
             {"exchanged_g_day", of(budget.exchanged_g_day)},
             {"alkalinity_demand_g_day", of(budget.alkalinity_demand_g_day)},
             {"solids_g_day", of(budget.solids_g_day)},
             {"checks", checks_of(budget.checks, report.remedies, report.notes)},
             {"feed_g_day", of(budget.feed_g_day)},
             {"feed_bearable_g_day", of(budget.feed_bearable_g_day)},
             {"feed_careful_g_day", of(budget.feed_careful_g_day)},
             {"usual_verdict", name_of(report.own.usual)},
             {"assumed", assumed},
             {"supply_oxygen_peak_mg_l", of(budget.supply_oxygen_peak_mg_l)},
             {"supply_carbon_dioxide_mg_l", of(budget.supply_carbon_dioxide_mg_l)},
             {"plants_g_day", of(budget.plants_g_day)},
             {"nitrate_rise_mg_l_day", of(budget.nitrate_rise_mg_l_day)},
             {"nitrate_days_to_warn", of(budget.nitrate_days_to_warn)},
             {"alkalinity_dose_g_day", of(budget.alkalinity_dose_g_day)}};
    if (report.readings) out["readings"] = of(*report.readings);
    return out;
}

Json json_of(const TankReport& report) {
    const TankBudget& budget = report.budget;
    const OxygenBudget& oxygen = budget.oxygen;
    const AmmoniaBudget& ammonia = budget.ammonia;
    const CarbonDioxideBudget& co2 = budget.carbon_dioxide;
    Json assumed = Json::array();
    for (const Assumption& assumption : budget.assumed) assumed.push_back(words_of(assumption));
    const Json checks = checks_of(budget.checks, report.remedies, report.notes);
    Json out{{"tank", budget.tank},
             {"verdict", name_of(budget.verdict)},
             {"first_limit", name_of(budget.first_limit)},
             {"fish_count", of(budget.fish_count)},
             {"biomass_kg", of(budget.biomass_kg)},
             {"density_kg_m3", of(budget.density_kg_m3)},
             {"ration_g_day", of(budget.ration_g_day)},
             {"oxygen",
              {{"saturation_mg_l", of(oxygen.saturation_mg_l)},
               {"inflow_mg_l", of(oxygen.inflow_mg_l)},
               {"demand_by_respiration_g_h", of(oxygen.demand_by_respiration_g_h)},
               {"demand_by_feed_g_h", of(oxygen.demand_by_feed_g_h)},
               {"demand_mean_g_h", of(oxygen.demand_mean_g_h)},
               {"demand_peak_g_h", of(oxygen.demand_peak_g_h)},
               {"supply_g_h", oxygen.supply_known ? of(oxygen.supply_g_h) : Json(nullptr)},
               {"steady_mean_mg_l", of(oxygen.steady_mean_mg_l)},
               {"lowest_mg_l", of(oxygen.lowest_mg_l)},
               {"measured_mg_l", of(oxygen.measured_mg_l)},
               {"used_percent", of(find_check(budget, CheckId::oxygen)->used_percent)}}},
             {"oxygen_reserve", reserve_of(budget.reserve)},
             {"ammonia",
              {{"tan_production_g_day", of(ammonia.tan_production_g_day)},
               {"tan_mg_l", of(ammonia.tan_mg_l)},
               {"measured_tan_mg_l", of(ammonia.measured_tan_mg_l)},
               {"unionised_fraction", of(ammonia.unionised_fraction)},
               {"nh3_mg_l", of(ammonia.nh3_mg_l)},
               {"hours_to_warn", of(ammonia.hours_to_warn)},
               {"hours_to_fail", of(ammonia.hours_to_fail)},
               {"measured_nh3_mg_l", of(ammonia.measured_nh3_mg_l)}}},
             {"carbon_dioxide",
              {{"production_g_day", of(co2.production_g_day)},
               {"balance_mg_l", of(co2.balance_mg_l)},
               {"from_ph_mg_l", of(co2.from_ph_mg_l)},
               {"measured_mg_l", of(co2.measured_mg_l)},
               {"estimated_ph", of(co2.estimated_ph)},
               {"balance_judged", co2.balance_judged},
               {"from_ph_low_mg_l", band(co2.from_ph_mg_l, 1 / kPhMeterBand)},
               {"from_ph_high_mg_l", band(co2.from_ph_mg_l, kPhMeterBand)}}},
             {"solids_g_day", of(budget.solids_g_day)},
             {"assumed", assumed},
             {"checks", checks},
             {"advised_ration_g_day", of(budget.advised_ration_g_day)},
             {"usual_verdict", name_of(report.own.usual)}};
    if (oxygen.gap) out["oxygen"]["gap"] = of(*oxygen.gap);
    if (report.readings) out["readings"] = of(*report.readings);
    if (!report.working.empty()) out["working"] = report.working;
    return out;
}

namespace {

Json of(const Report& report) {
    Json site = nullptr;
    if (report.site) {
        site = {{"name", report.site->name},
                {"altitude_m", of(report.site->altitude_m)},
                {"pressure_kpa", of(report.pressure_kpa)}};
    }
    Json tanks = Json::array();
    for (const TankReport& tank : report.tanks) tanks.push_back(json_of(tank));
    Json loops = Json::array();
    for (const LoopReport& loop : report.loops) loops.push_back(json_of(loop));
    Json out{{"file", report.file},
             {"site", site},
             {"verdict", name_of(report.verdict)},
             {"warnings", report.warnings},
             {"tanks", tanks},
             {"loops", loops},
             {"errors", errors_json(report.errors)}};
    for (Json& each : errors_json(report.reading_errors)) out["errors"].push_back(std::move(each));
    if (report.line) out["line"] = *report.line;
    if (report.cut_short) out["remedies_cut_short"] = true;
    return out;
}

}  // namespace

std::string json_line_of(const Report& report) { return json_line(of(report)); }

std::string json_of(std::span<const Report> reports, std::string_view version) {
    Json all = Json::array();
    for (const Report& report : reports) all.push_back(of(report));
    return json_page({{"format", 1},
                      {"program", {{"name", "coldtank"}, {"version", version}}},
                      {"verdict", name_of(worst_of(reports))},
                      {"reports", all}});
}

Json errors_json(std::span<const InputError> errors) {
    const auto count = [](std::optional<std::size_t> value) {
        return value ? Json(*value) : Json(nullptr);
    };
    Json list = Json::array();
    for (const InputError& error : errors) {
        list.push_back({{"file", error.file},
                        {"line", count(error.line)},
                        {"column", count(error.column)},
                        {"pointer", error.pointer},
                        {"message", error.message}});
    }
    return list;
}

}  // namespace coldtank::io
