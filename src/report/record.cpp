#include "report/record.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <span>

#include "report/json.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

Json of(std::optional<double> value) { return json_number(value); }
Json of(const std::string& text) { return text.empty() ? Json(nullptr) : Json(text); }

Json of(const FishGroup& group) {
    return {{"name", of(group.name)},
            {"species", group.species_name},
            {"count", group.count},
            {"mean_weight_g", group.mean_weight_g},
            {"age_months", of(group.age_months)},
            {"condition_factor", of(group.condition_factor)},
            {"ration_g_day", of(group.ration_g_day)},
            {"respiration_factor", group.respiration_factor}};
}

// What the tank was worked out from, in the keys of the description.
Json inputs_of(const TankReport& report) {
    const Tank& tank = report.input;
    const Inflow inflow = tank.inflow.value_or(Inflow{});
    double sotr_sum_g_h = 0;
    double pure_g_h = 0;
    for (const Aerator& aerator : tank.aeration) {
        sotr_sum_g_h += sotr_g_h(aerator, tank.coefficients);
        pure_g_h += pure_oxygen_g_h(aerator, tank.coefficients);
    }
    double mean_weight_g = 0;
    double died = 0;
    Json fish = Json::array();
    for (const FishGroup& group : tank.fish) {
        fish.push_back(of(group));
        mean_weight_g += group.count * group.mean_weight_g;
    }
    if (report.readings) {
        for (const UsedReading& each : report.readings->list) {
            if (each.column == "died" && each.used) died += each.value;
        }
    }
    const double count = report.budget.fish_count;
    return {{"volume_l", tank.volume_l},
            {"temperature_c", tank.water.temperature_c},
            {"peak_temperature_c", report.budget.peak_temperature_c},
            {"ph", of(tank.water.ph)},
            {"alkalinity_mg_l", of(tank.water.alkalinity_mg_l)},
            {"salinity_g_kg", tank.water.salinity_g_kg},
            {"oxygen_mg_l", of(tank.readings.oxygen_mg_l)},
            {"tan_mg_l", of(tank.readings.tan_mg_l)},
            {"nitrite_mg_l", of(tank.readings.nitrite_mg_l)},
            {"nitrate_mg_l", of(tank.readings.nitrate_mg_l)},
            {"chloride_mg_l", of(tank.readings.chloride_mg_l)},
            {"carbon_dioxide_mg_l", of(tank.readings.carbon_dioxide_mg_l)},
            {"current_cm_s", of(tank.readings.current_cm_s)},
            {"gas_pressure_percent", of(tank.readings.gas_pressure_percent)},
            {"flow_l_min", tank.loop ? tank.loop->flow_l_min : inflow.flow_l_min},
            {"inflow_oxygen_mg_l", of(inflow.oxygen_mg_l)},
            {"inflow_oxygen_percent", of(inflow.oxygen_percent)},
            {"inflow_tan_mg_l", of(inflow.tan_mg_l)},
            {"inflow_carbon_dioxide_mg_l", of(inflow.carbon_dioxide_mg_l)},
            {"inflow_ph", of(inflow.ph)},
            {"inflow_alkalinity_mg_l", of(inflow.alkalinity_mg_l)},
            {"inflow_chlorine_mg_l", of(inflow.chlorine_mg_l)},
            {"keeps_flowing", inflow.keeps_flowing},
            {"mean_weight_g", count > 0 ? Json(mean_weight_g / count) : Json(nullptr)},
            {"died", died},
            {"ration_g_day", of(tank.feed.ration_g_day)},
            {"ration_percent_day", of(tank.feed.ration_percent_day)},
            {"protein_percent", of(tank.feed.protein_percent)},
            {"oxygen_per_feed_g_kg",
             tank.feed.oxygen_per_feed_g_kg.value_or(tank.coefficients.oxygen_per_feed_g_kg)},
            {"peak_factor", tank.feed.peak_factor.value_or(tank.coefficients.peak_factor)},
            {"fasted_h", of(tank.feed.fasted_h)},
            {"air_flow_l_min", air_flow_l_min(tank.aeration)},
            {"sotr_g_h", sotr_sum_g_h},
            {"pure_oxygen_g_h", pure_g_h},
            {"fish", fish}};
}

// A check without what is for people to do.
void drop_remedies(Json& checks) {
    for (Json& check : checks) check.erase("remedies");
}

// The checks of a loop, in the order of its report; those of a tank stand in that of CheckId.
constexpr CheckId kLoopChecks[] = {CheckId::biofilter, CheckId::loop_flow,   CheckId::nitrite,
                                   CheckId::nitrate,   CheckId::alkalinity,  CheckId::plants,
                                   CheckId::chlorine,  CheckId::input_doubt, CheckId::readings};
static_assert(std::ssize(kLoopChecks) ==
              std::count_if(std::begin(kChecks), std::end(kChecks), [](const CheckInfo& info) {
                  return info.owner == Owner::loop || info.owner == Owner::both;
              }));

// The checks that may stand in a record of a tank, or of its loop.
std::vector<CheckInfo> checks_of(Owner owner) {
    std::vector<CheckInfo> all;
    if (owner == Owner::loop) {
        for (const CheckId id : kLoopChecks) all.push_back(info_of(id));
    } else {
        std::copy_if(std::begin(kChecks), std::end(kChecks), std::back_inserter(all),
                     [](const CheckInfo& info) { return info.owner != Owner::loop; });
    }
    return all;
}

bool has_share(const CheckInfo& check, Owner owner) {
    return check.share == owner || check.share == Owner::both;
}

std::vector<std::string> columns_of(const CheckInfo& check, Owner owner,
                                    const std::string& prefix) {
    const std::string name = prefix + std::string(check.name);
    std::vector<std::string> out{name + "_status"};
    // What has no limits is never judged.
    if (check.warn != Ends::none) out.push_back(name + "_value");
    if (has_share(check, owner)) out.push_back(name + "_used_percent");
    for (const auto& [word, ends] :
         {std::pair{"_warn", check.warn}, std::pair{"_fail", check.fail}}) {
        if (ends == Ends::both) {
            out.push_back(name + word + "_low");
            out.push_back(name + word + "_high");
        } else if (ends != Ends::none) {
            out.push_back(name + word);
        }
    }
    return out;
}

// Figures of the report by their JSON names; an object's joined with "_".
constexpr std::string_view kFigures[] = {"fish_count",
                                         "biomass_kg",
                                         "density_kg_m3",
                                         "ration_g_day",
                                         "advised_ration_g_day",
                                         "oxygen_saturation_mg_l",
                                         "oxygen_inflow_mg_l",
                                         "oxygen_demand_by_respiration_g_h",
                                         "oxygen_demand_by_feed_g_h",
                                         "oxygen_demand_mean_g_h",
                                         "oxygen_demand_peak_g_h",
                                         "oxygen_supply_g_h",
                                         "oxygen_steady_mean_mg_l",
                                         "oxygen_lowest_mg_l",
                                         "oxygen_measured_mg_l",
                                         "oxygen_gap_difference_mg_l",
                                         "oxygen_gap_fish_count",
                                         "oxygen_gap_aeration_percent",
                                         "oxygen_gap_flow_percent",
                                         "oxygen_gap_respiration_factor",
                                         "oxygen_gap_without_aeration_mg_l",
                                         "oxygen_reserve_start_mg_l",
                                         "oxygen_reserve_start_assumed",
                                         "oxygen_reserve_demand_g_h",
                                         "oxygen_reserve_minutes_to_stress",
                                         "oxygen_reserve_minutes_to_danger",
                                         "oxygen_reserve_flow_continues_minutes_to_stress",
                                         "oxygen_reserve_flow_continues_minutes_to_danger",
                                         "ammonia_tan_production_g_day",
                                         "ammonia_tan_mg_l",
                                         "ammonia_measured_tan_mg_l",
                                         "ammonia_unionised_fraction",
                                         "ammonia_nh3_mg_l",
                                         "ammonia_hours_to_warn",
                                         "ammonia_hours_to_fail",
                                         "ammonia_measured_nh3_mg_l",
                                         "carbon_dioxide_production_g_day",
                                         "carbon_dioxide_balance_mg_l",
                                         "carbon_dioxide_from_ph_mg_l",
                                         "carbon_dioxide_from_ph_low_mg_l",
                                         "carbon_dioxide_from_ph_high_mg_l",
                                         "carbon_dioxide_measured_mg_l",
                                         "carbon_dioxide_estimated_ph",
                                         "carbon_dioxide_balance_judged",
                                         "solids_g_day"};
constexpr std::string_view kLoopFigures[] = {"supply_tan_mg_l",
                                             "return_tan_mg_l",
                                             "supply_oxygen_mg_l",
                                             "nitrate_mg_l",
                                             "tan_production_g_day",
                                             "nitrified_g_day",
                                             "exchanged_g_day",
                                             "alkalinity_demand_g_day",
                                             "solids_g_day",
                                             "feed_g_day",
                                             "feed_bearable_g_day",
                                             "feed_careful_g_day",
                                             "supply_oxygen_peak_mg_l",
                                             "supply_carbon_dioxide_mg_l",
                                             "plants_g_day",
                                             "nitrate_rise_mg_l_day",
                                             "nitrate_days_to_warn",
                                             "alkalinity_dose_g_day"};
constexpr std::string_view kInputs[] = {"volume_l",
                                        "temperature_c",
                                        "peak_temperature_c",
                                        "ph",
                                        "alkalinity_mg_l",
                                        "salinity_g_kg",
                                        "oxygen_mg_l",
                                        "tan_mg_l",
                                        "nitrite_mg_l",
                                        "nitrate_mg_l",
                                        "chloride_mg_l",
                                        "carbon_dioxide_mg_l",
                                        "current_cm_s",
                                        "gas_pressure_percent",
                                        "flow_l_min",
                                        "inflow_oxygen_mg_l",
                                        "inflow_oxygen_percent",
                                        "inflow_tan_mg_l",
                                        "inflow_carbon_dioxide_mg_l",
                                        "inflow_ph",
                                        "inflow_alkalinity_mg_l",
                                        "inflow_chlorine_mg_l",
                                        "keeps_flowing",
                                        "mean_weight_g",
                                        "died",
                                        "ration_g_day",
                                        "ration_percent_day",
                                        "protein_percent",
                                        "oxygen_per_feed_g_kg",
                                        "peak_factor",
                                        "fasted_h",
                                        "air_flow_l_min",
                                        "sotr_g_h",
                                        "pure_oxygen_g_h"};
constexpr std::string_view kFront[] = {"time",        "site", "altitude_m",   "pressure_kpa",
                                       "file",        "tank", "loop",         "verdict",
                                       "first_limit", "fish", "usual_verdict"};

std::string cell_of(const Json& value) {
    if (value.is_null()) return {};
    if (value.is_string()) return value.get<std::string>();
    if (value.is_boolean()) return value.get<bool>() ? "true" : "false";
    return exact(value.get<double>());
}

// Scalars of an object, its objects' names joined with "_".
void flatten(const Json& json, const std::string& prefix, std::map<std::string, std::string>& out) {
    for (const auto& [key, value] : json.items()) {
        if (value.is_object()) {
            flatten(value, prefix + key + '_', out);
        } else if (!value.is_array()) {
            out[prefix + key] = cell_of(value);
        }
    }
}

std::string cell_of(std::optional<double> value) { return value ? exact(*value) : ""; }

void add_checks(Owner owner, const std::vector<Check>& checks, const std::string& prefix,
                std::map<std::string, std::string>& out) {
    for (const CheckInfo& info : checks_of(owner)) {
        const auto check = std::find_if(checks.begin(), checks.end(),
                                        [&](const Check& each) { return each.id == info.id; });
        if (check == checks.end()) continue;
        const std::string name = prefix + std::string(info.name);
        out[name + "_status"] = name_of(check->status);
        if (info.warn != Ends::none) out[name + "_value"] = cell_of(check->value);
        if (has_share(info, owner)) out[name + "_used_percent"] = cell_of(check->used_percent);
        const auto add = [&](const std::string& limit, Ends ends, const Bound& bound) {
            if (ends == Ends::low) out[limit] = cell_of(bound.low);
            if (ends == Ends::high) out[limit] = cell_of(bound.high);
            if (ends != Ends::both) return;
            out[limit + "_low"] = cell_of(bound.low);
            out[limit + "_high"] = cell_of(bound.high);
        };
        add(name + "_warn", info.warn, check->warn);
        add(name + "_fail", info.fail, check->fail);
    }
}

const LoopReport* loop_of(const Report& report, const TankReport& tank) {
    for (const LoopReport& loop : report.loops) {
        if (tank.input.loop && loop.budget.loop == tank.input.loop->name) return &loop;
    }
    return nullptr;
}

}  // namespace

Json log_record(const Report& report, const TankReport& tank, const Instant& now) {
    Json out{{"time", text_of(now)},
             {"site", report.site->name},
             {"altitude_m", of(report.site->altitude_m)},
             {"pressure_kpa", report.pressure_kpa},
             {"file", place_of(report)},
             {"loop", tank.input.loop ? Json(tank.input.loop->name) : Json(nullptr)},
             {"inputs", inputs_of(tank)}};
    const Json budget = json_of(tank);
    for (const auto& [key, value] : budget.items()) out[key] = value;
    drop_remedies(out["checks"]);
    out.erase("working");
    if (const LoopReport* loop = loop_of(report, tank)) {
        Json of_loop = json_of(*loop);
        drop_remedies(of_loop["checks"]);
        of_loop.erase("working");
        out["loop_budget"] = std::move(of_loop);
    }
    out[std::string(kRecordEnd)] = kRecordWhole;
    return out;
}

std::vector<std::string> log_columns() {
    std::vector<std::string> out(std::begin(kFront), std::end(kFront));
    for (const std::string_view name : kInputs) out.push_back("input_" + std::string(name));
    out.insert(out.end(), std::begin(kFigures), std::end(kFigures));
    const auto add = [&](Owner owner, const std::string& prefix) {
        for (const CheckInfo& check : checks_of(owner)) {
            for (std::string& name : columns_of(check, owner, prefix)) {
                out.push_back(std::move(name));
            }
        }
    };
    add(Owner::tank, "");
    out.emplace_back("loop_verdict");
    out.emplace_back("loop_first_limit");
    out.emplace_back("loop_usual_verdict");
    for (const std::string_view name : kLoopFigures) out.push_back("loop_" + std::string(name));
    add(Owner::loop, "loop_");
    out.emplace_back("assumed");
    out.emplace_back(kRecordEnd);
    return out;
}

std::map<std::string, std::string> log_cells(const Report& report, const TankReport& tank,
                                             const Instant& now) {
    std::map<std::string, std::string> out;
    const Json record = log_record(report, tank, now);
    for (const auto& [key, value] : record.items()) {
        if (key == "inputs") {
            flatten(value, "input_", out);
        } else if (key == "loop_budget") {
            flatten(value, "loop_", out);
        } else if (value.is_object()) {
            flatten(value, key + '_', out);
        } else if (!value.is_array()) {
            out[key] = cell_of(value);
        }
    }
    out.erase("loop_loop");
    add_checks(Owner::tank, tank.budget.checks, "", out);
    if (const LoopReport* loop = loop_of(report, tank)) {
        add_checks(Owner::loop, loop->budget.checks, "loop_", out);
    }
    std::vector<std::string> fish;
    for (const FishGroup& group : tank.input.fish) {
        fish.push_back(fmt::format("{} {} of {} g", name_of(group), exact(group.count),
                                   exact(group.mean_weight_g)));
    }
    out["fish"] = joined(fish, "; ");
    std::vector<std::string> assumed;
    for (const Assumption& each : tank.budget.assumed) assumed.push_back(words_of(each));
    out["assumed"] = joined(assumed, "; ");
    return out;
}

NewRecords new_records(std::span<const Report> reports, const Instant& now, bool json_lines) {
    NewRecords records;
    records.columns = log_columns();
    for (const Report& report : reports) {
        for (const TankReport& tank : report.tanks) {
            if (json_lines) {
                records.json_lines.push_back(json_line(log_record(report, tank, now)));
            } else {
                records.cells.push_back(log_cells(report, tank, now));
            }
        }
    }
    return records;
}

}  // namespace coldtank::io
