#include "report/explain.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "coldtank/sources.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

// A figure as it stands in arithmetic.
std::string n(double value) {
    const std::string text = fmt::format("{:.7g}", value == 0 ? 0.0 : value);
    return value < 0 ? "(" + text + ")" : text;
}

std::string sum_of(const std::vector<double>& terms) {
    std::vector<std::string> texts;
    for (const double term : terms) texts.push_back(n(term));
    return texts.empty() ? "0" : joined(texts, " + ");
}

class Working {
public:
    void title(std::string_view text) { out_ += fmt::format("{}\n", text); }

    // A figure: what it is, its arithmetic, its result, its unit, and why.
    void line(std::string_view name, const std::string& arithmetic, double result,
              std::string_view unit, std::string_view why) {
        if (!std::isfinite(result)) return;
        out_ += wrapped(fmt::format("  {} = ", name),
                        fmt::format("{} = {:.6g}{}{}", arithmetic, result == 0 ? 0.0 : result,
                                    unit.empty() ? "" : " ", unit),
                        6);
        out_ += wrapped("      [", fmt::format("{}]", why), 7);
    }
    void line(std::string_view name, const std::string& arithmetic, std::optional<double> result,
              std::string_view unit, std::string_view why) {
        if (result) line(name, arithmetic, *result, unit, why);
    }
    std::string take() { return std::move(out_); }

private:
    std::string out_;
};

// Source and basis of a Constant, by its name.
std::string cite(std::string_view name) {
    for (const Source& source : sources()) {
        if (source.constant.name == name) {
            return fmt::format("{}: {}", name_of(source.constant.basis), source.constant.source);
        }
    }
    return {};
}
std::string cite(const Constant& constant) {
    return fmt::format("{}: {}", name_of(constant.basis), constant.source);
}

const std::string kDefinition = "by definition";

void saturation_lines(Working& working, std::string_view when, double t, double s, double p_kpa,
                      double result) {
    const double k = t + 273.15;
    const double p = p_kpa / 101.325;
    const double u = std::exp(11.8571 - 3840.70 / k - 216961 / (k * k));
    const double theta = 0.000975 - 1.426e-5 * t + 6.436e-8 * t * t;
    const double ln_c1 = -139.34411 + 1.575701e5 / k - 6.642308e7 / (k * k) +
                         1.243800e10 / (k * k * k) - 8.621949e11 / (k * k * k * k) -
                         s * (0.017674 - 10.754 / k + 2140.7 / (k * k));
    const std::string why = cite("oxygen saturation");
    const std::string K = n(k);
    const std::string end = fmt::format(" at the {} temperature", when);
    working.line(fmt::format("vapour pressure u{}", end),
                 fmt::format("exp(11.8571 - 3840.70/{0} - 216961/{0}^2)", K), u, "atm", why);
    working.line(fmt::format("theta{}", end),
                 fmt::format("0.000975 - 1.426e-5*{0} + 6.436e-8*{0}^2", n(t)), theta, "1/atm",
                 why);
    working.line(fmt::format("ln C1{}", end),
                 fmt::format("-139.34411 + 1.575701e5/{0} - 6.642308e7/{0}^2 + 1.243800e10/{0}^3 - "
                             "8.621949e11/{0}^4 - {1}*(0.017674 - 10.754/{0} + 2140.7/{0}^2)",
                             K, n(s)),
                 ln_c1, "", why);
    working.line(fmt::format("oxygen saturation{}", end),
                 fmt::format("exp({0})*{1}*(1 - {2}/{1})*(1 - {3}*{1})/((1 - {2})*(1 - {3}))",
                             n(ln_c1), n(p), n(u), n(theta)),
                 result, "mg/L", why);
}

void ration_line(Working& working, const GroupBudget& group, double temperature_c) {
    const auto table = ration_table();
    const double length_in = group.length_cm / 2.54;
    const auto column = static_cast<std::size_t>(std::min(length_in, 10.0));
    const std::string beyond =
        length_in > 10 ? fmt::format("10/({}/2.54)*", n(group.length_cm)) : std::string{};
    const double above = 1.8 * temperature_c + 32 - table[0].temperature_f;
    const std::size_t last = table.size() - 1;
    std::string arithmetic;
    if (above < 0) {
        arithmetic = fmt::format("{}{}*{}/(20/9)", beyond, n(table[0].percent_day[column]),
                                 n(temperature_c));
    } else if (above >= static_cast<double>(last)) {
        arithmetic = beyond + n(table[last].percent_day[column]);
    } else {
        const auto row = static_cast<std::size_t>(above);
        arithmetic = fmt::format("{}({} + (1.8*{} + 32 - {})*({} - {}))", beyond,
                                 n(table[row].percent_day[column]), n(temperature_c),
                                 table[row].temperature_f, n(table[row + 1].percent_day[column]),
                                 n(table[row].percent_day[column]));
    }
    working.line("table ration", arithmetic, group.table_ration_percent_day, "percent/day",
                 cite("ration table"));
}

// The row of the ration table that decides what feed costs.
void feed_cost_line(Working& working, const GroupBudget& figures) {
    const double length_in = figures.length_cm / 2.54;
    const auto column = static_cast<std::size_t>(std::min(length_in, 10.0));
    const RationRow* decides = nullptr;
    double most = 0;
    for (const RationRow& row : ration_table()) {
        const double fed = respiration_mg_kg_h(
            {.temperature_c = (row.temperature_f - 32) / 1.8, .weight_g = figures.mean_weight_g});
        if (fed / row.percent_day[column] <= most) continue;
        most = fed / row.percent_day[column];
        decides = &row;
    }
    if (decides == nullptr) return;
    working.line(
        "oxygen that feed costs beyond rest",
        fmt::format("0.45*{}*24/1000/(10*{}{})",
                    n(respiration_mg_kg_h({.temperature_c = (decides->temperature_f - 32) / 1.8,
                                           .weight_g = figures.mean_weight_g})),
                    n(decides->percent_day[column]),
                    length_in > 10 ? fmt::format("*10/{}", n(length_in)) : std::string{}),
        figures.feed_cost_g_g, "g/g",
        fmt::format("{}; here at {} degF", cite("oxygen that feed costs beyond rest"),
                    decides->temperature_f));
}

void group_lines(Working& working, const FishGroup& group, const Feed& feed,
                 const TankBudget& budget, const GroupBudget& figures) {
    working.title(fmt::format("fish: {}", printable(figures.name)));
    working.line("biomass", fmt::format("{}*{}/1000", n(figures.count), n(figures.mean_weight_g)),
                 figures.biomass_kg, "kg", kDefinition);
    const double k = group.condition_factor ? *group.condition_factor / 100
                                            : double{group.species.condition_g_cm3};
    working.line("length", fmt::format("({}/{})^(1/3)", n(figures.mean_weight_g), n(k)),
                 figures.length_cm, "cm",
                 group.condition_factor ? "given: condition_factor / 100"
                                        : cite(group.species.condition_g_cm3));
    ration_line(working, figures, budget.temperature_c);
    working.line(
        "taper in warm water",
        fmt::format("min(1, max(0, ({0} - {1})/({0} - {2})))", n(group.species.feeding_stop_c),
                    n(budget.temperature_c), n(group.species.warn_above_c)),
        figures.ration_taper, "", cite(group.species.feeding_stop_c));
    working.line(
        "ration by the table",
        fmt::format("{}/100*{}*1000", n(figures.table_ration_percent_day), n(figures.biomass_kg)),
        figures.table_ration_g_day, "g/day", cite("ration table"));
    working.line("ration advised",
                 fmt::format("{}*{}", n(figures.table_ration_g_day), n(figures.ration_taper)),
                 figures.advised_ration_g_day, "g/day", cite(group.species.feeding_stop_c));
    if (!figures.ration_stated) {
        working.line("ration counted", n(figures.ration_g_day), figures.ration_g_day, "g/day",
                     "judgement: by the table without the taper, as no ration is stated");
    } else if (!group.ration_g_day && feed.ration_percent_day) {
        working.line(
            "ration counted",
            fmt::format("{}/100*{}*1000", n(*feed.ration_percent_day), n(figures.biomass_kg)),
            figures.ration_g_day, "g/day", "given");
    } else {
        working.line("ration counted", n(figures.ration_g_day), figures.ration_g_day, "g/day",
                     group.ration_g_day  ? "given"
                     : feed.ration_g_day ? "its share by mass of the tank's ration, given"
                                         : "given: fasted_h");
    }
    const auto fed = [&](double temperature_c) {
        const double f = 1.8 * temperature_c + 32;
        const std::string by_temperature =
            f >= 50 ? fmt::format("{}^1.855", n(f)) : fmt::format("50^1.855*({}/50)^3.13", n(f));
        return fmt::format("3.05e-4*{}*({}/453.59237)^-0.138*10000/24", by_temperature,
                           n(figures.mean_weight_g));
    };
    const std::string liao = cite("respiration of fed trout");
    working.line("fed respiration at the mean temperature", fed(budget.temperature_c),
                 figures.fed_mg_kg_h, "mg/kg/h", liao);
    working.line("fed respiration at the peak temperature", fed(budget.peak_temperature_c),
                 figures.fed_peak_mg_kg_h, "mg/kg/h", liao);
    if (figures.ration_stated) feed_cost_line(working, figures);
    const auto respiration = [&](double fed_mg_kg_h) {
        if (!figures.ration_stated) {
            return fmt::format("{}*{}", n(group.respiration_factor), n(fed_mg_kg_h));
        }
        return fmt::format("{0}*(0.55*{1} + min(0.45*{1}, {2}*{3}/{4}*1000/24))",
                           n(group.respiration_factor), n(fed_mg_kg_h), n(figures.feed_cost_g_g),
                           n(figures.ration_g_day), n(figures.biomass_kg));
    };
    const std::string why = figures.ration_stated ? cite("respiration of fasted over fed fish")
                                                  : "judgement: fed by the table";
    working.line("respiration at the mean temperature", respiration(figures.fed_mg_kg_h),
                 figures.respiration_mg_kg_h, "mg/kg/h", why);
    working.line("respiration at the peak temperature", respiration(figures.fed_peak_mg_kg_h),
                 figures.respiration_peak_mg_kg_h, "mg/kg/h", why);
    working.line("demand by respiration",
                 fmt::format("{}*{}/1000", n(figures.respiration_mg_kg_h), n(figures.biomass_kg)),
                 figures.demand_by_respiration_g_h, "g/h", kDefinition);
    working.line(
        "demand by feed",
        fmt::format("{}/1000*{}/24", n(figures.ration_g_day), n(feed.oxygen_per_feed_g_kg)),
        figures.demand_by_feed_g_h, "g/h", cite("oxygen by feed"));
    working.line("demand, the larger",
                 fmt::format("max({}, {})", n(figures.demand_by_respiration_g_h),
                             n(figures.demand_by_feed_g_h)),
                 figures.demand_g_h, "g/h", "judgement: the safe side");
    working.line("demand at the peak temperature, the larger",
                 fmt::format("max({}*{}/1000, {})", n(figures.respiration_peak_mg_kg_h),
                             n(figures.biomass_kg), n(figures.demand_by_feed_g_h)),
                 figures.demand_before_peak_g_h, "g/h", "judgement: the safe side");
    const double share =
        figures.table_ration_g_day > 0 ? excreted_feed_g_day({0, 1, feed.fasted_h}) : 0;
    working.line("feed whose protein is excreted",
                 fmt::format("max({}, {}*{})", n(figures.ration_g_day),
                             n(figures.ration_g_day > 0 ? excreted_feed_g_day({0, 1, {}}) : share),
                             n(figures.table_ration_g_day)),
                 figures.excreted_feed_g_day, "g/day",
                 cite("excretion of fish that are not fed, over the table's"));
}

void aerator_lines(Working& working, const Aerator& aerator, const AeratorBudget& figures,
                   const TankBudget& budget) {
    if (std::holds_alternative<Cascade>(aerator.kind)) return;
    working.title(fmt::format("aerator: {}",
                              figures.name.empty() ? "without a name" : printable(figures.name)));
    if (const auto* oxygen = std::get_if<PureOxygen>(&aerator.kind)) {
        working.line(
            "pure oxygen absorbed",
            fmt::format("{}*60*1.33*{}/100", n(oxygen->flow_l_min), n(oxygen->absorption_percent)),
            figures.pure_oxygen_g_h, "g/h", cite("pure oxygen"));
        return;
    }
    if (const auto* diffuser = std::get_if<Diffuser>(&aerator.kind)) {
        const double percent = 100 * transfer_share(*diffuser) / diffuser->depth_m;
        working.line("SOTR",
                     fmt::format("{}*60*0.2786*{}/100*{}", n(diffuser->air_flow_l_min), n(percent),
                                 n(diffuser->depth_m)),
                     figures.sotr_g_h, "g/h",
                     diffuser->transfer_percent_per_m ? "given: transfer_percent_per_m"
                                                      : cite("oxygen transfer, medium bubbles"));
    }
    const auto transfer = [&](double temperature_c) {
        return fmt::format("{}*1.024^({} - 20)*{}/9.09", n(aerator.alpha), n(temperature_c),
                           n(figures.sotr_g_h));
    };
    working.line("K at the mean temperature", transfer(budget.temperature_c), figures.transfer_m3_h,
                 "m3/h", cite("temperature factor of transfer"));
    working.line("K at the peak temperature", transfer(budget.peak_temperature_c),
                 figures.transfer_peak_m3_h, "m3/h", cite("temperature factor of transfer"));
    const double t = budget.peak_temperature_c;
    const auto* diffuser = std::get_if<Diffuser>(&aerator.kind);
    if (diffuser != nullptr && diffuser->air_flow_l_min > 0) {
        const double air = diffuser->air_flow_l_min * 0.06;
        const double henry = 1 / (carbon_dioxide_henry_mol_l_atm(t) * 0.082057 * (t + 273.15));
        working.line("H, carbon dioxide in gas over water",
                     fmt::format("1/({}*0.082057*({} + 273.15))",
                                 n(carbon_dioxide_henry_mol_l_atm(t)), n(t)),
                     henry, "", cite("carbonate system pK1, pK2, log KH, log Kw"));
        working.line("stripping of carbon dioxide",
                     fmt::format("{0}*{1}*(1 - exp(-0.9*{2}/({0}*{1})))", n(air), n(henry),
                                 n(figures.transfer_peak_m3_h)),
                     figures.stripping_m3_h, "m3/h",
                     cite("transfer of carbon dioxide over oxygen"));
    } else if (diffuser == nullptr) {
        working.line("stripping of carbon dioxide",
                     fmt::format("0.9*{}", n(figures.transfer_peak_m3_h)), figures.stripping_m3_h,
                     "m3/h", cite("transfer of carbon dioxide over oxygen"));
    }
}

void inflow_lines(Working& working, const Tank& tank, const TankBudget& budget) {
    if (budget.flow_m3_h > 0 && tank.loop) {
        working.title("supply of the loop");
        working.line("Q", fmt::format("{}*60/1000", n(tank.loop->flow_l_min)), budget.flow_m3_h,
                     "m3/h", kDefinition);
        if (budget.oxygen.inflow_mg_l) {
            working.line("oxygen of the supply, mean", n(*budget.oxygen.inflow_mg_l),
                         budget.oxygen.inflow_mg_l, "mg/L",
                         "balance of the loop, after the tank's cascades");
            working.line("oxygen of the supply, peak", n(*budget.oxygen.inflow_peak_mg_l),
                         budget.oxygen.inflow_peak_mg_l, "mg/L", "the same at peak");
        }
        return;
    }
    if (budget.flow_m3_h == 0 || !tank.inflow) return;
    const Inflow& inflow = *tank.inflow;
    const OxygenBudget& oxygen = budget.oxygen;
    working.title("inflow");
    working.line("Q", fmt::format("{}*60/1000", n(inflow.flow_l_min)), budget.flow_m3_h, "m3/h",
                 kDefinition);
    const std::string share =
        inflow.oxygen_percent
            ? fmt::format("{}/100", n(*inflow.oxygen_percent))
            : fmt::format("{}/{}", n(inflow.oxygen_mg_l.value_or(0)), n(oxygen.saturation_mg_l));
    const auto arrives = [&](double saturation, double temperature_c) {
        std::string ratios;
        for (const Aerator& aerator : tank.aeration) {
            const auto* cascade = std::get_if<Cascade>(&aerator.kind);
            if (cascade == nullptr) continue;
            ratios += fmt::format("/(1 + 0.361*{}*{}*{}*(1 + 0.046*{}))", n(cascade->quality),
                                  n(cascade->weir), n(cascade->drop_m), n(temperature_c));
        }
        return fmt::format("{0}*(1 - (1 - {1}){2})", n(saturation), share, ratios);
    };
    working.line(
        "oxygen of the inflow, mean", arrives(oxygen.saturation_mg_l, budget.temperature_c),
        oxygen.inflow_mg_l, "mg/L",
        "given; it keeps its share of saturation. Cascades: " + cite("cascade, per metre of fall"));
    working.line("oxygen of the inflow, peak",
                 arrives(oxygen.saturation_peak_mg_l, budget.peak_temperature_c),
                 oxygen.inflow_peak_mg_l, "mg/L", "the same at the peak temperature");
}

// Where the winner of the two warn limits of oxygen comes from.
std::string warn_source(const Tank& tank, const TankBudget& budget) {
    const TankLimits limits = limits_of(tank);
    const bool by_percent = budget.oxygen.warn_mg_l > limits.oxygen_warn_mg_l;
    if (by_percent ? tank.limits.oxygen_warn_percent : tank.limits.oxygen_warn_mg_l) {
        return "given: limits of the description";
    }
    if (by_percent) return cite("oxygen_warn_percent");
    return cite(budget.early_life ? "oxygen_warn_mg_l, early life" : "oxygen_warn_mg_l");
}

void oxygen_lines(Working& working, const Tank& tank, const TankBudget& budget) {
    const OxygenBudget& oxygen = budget.oxygen;
    working.title("oxygen");
    std::vector<double> demands;
    std::vector<double> peaks;
    for (const GroupBudget& group : budget.groups) {
        demands.push_back(group.demand_g_h);
        peaks.push_back(group.demand_before_peak_g_h);
    }
    working.line("mean demand", sum_of(demands), oxygen.demand_mean_g_h, "g/h",
                 "sum of the groups");
    working.line("R, peak demand", fmt::format("{}*({})", n(tank.feed.peak_factor), sum_of(peaks)),
                 oxygen.demand_peak_g_h, "g/h", cite("peak over mean demand"));
    std::string full_mean = "0", full_peak = "0";
    double pure = 0;
    for (std::size_t i = 0; i < budget.aerators.size(); ++i) {
        const AeratorBudget& figures = budget.aerators[i];
        pure += figures.pure_oxygen_g_h;
        if (figures.transfer_m3_h == 0) continue;
        const std::string beta = n(tank.aeration[i].beta);
        full_mean +=
            fmt::format(" + {}*{}*{}", n(figures.transfer_m3_h), beta, n(oxygen.saturation_mg_l));
        full_peak += fmt::format(" + {}*{}*{}", n(figures.transfer_peak_m3_h), beta,
                                 n(oxygen.saturation_peak_mg_l));
    }
    const std::string q = n(budget.flow_m3_h);
    const auto steady = [&](double inflow, const std::string& full, double transfer,
                            double demand) {
        return fmt::format("max(0, ({}*{} + {} + {} - {})/({} + {}))", q, n(inflow), full, n(pure),
                           n(demand), q, n(transfer));
    };
    working.line("steady oxygen, mean",
                 steady(oxygen.inflow_mg_l.value_or(0), full_mean, budget.transfer_m3_h,
                        oxygen.demand_mean_g_h),
                 oxygen.steady_mean_mg_l, "mg/L", "balance: Q Cin + K beta Cs + G = R + (Q + K) C");
    working.line("lowest oxygen",
                 steady(oxygen.inflow_peak_mg_l.value_or(0), full_peak, budget.transfer_peak_m3_h,
                        oxygen.demand_peak_g_h),
                 oxygen.lowest_mg_l, "mg/L", "the same at peak");
    const TankLimits limits = limits_of(tank);
    working.line("warn limit",
                 fmt::format("max({}, {}/100*{})", n(limits.oxygen_warn_mg_l),
                             n(limits.oxygen_warn_percent), n(oxygen.saturation_mg_l)),
                 oxygen.warn_mg_l, "mg/L", warn_source(tank, budget));
    if (!oxygen.supply_known) return;
    working.line("supply at the warn limit",
                 fmt::format("{}*({} - {}) + {} - {}*{} + {}", q,
                             n(oxygen.inflow_peak_mg_l.value_or(0)), n(oxygen.warn_mg_l), full_peak,
                             n(budget.transfer_peak_m3_h), n(oxygen.warn_mg_l), n(pure)),
                 oxygen.supply_g_h, "g/h", "balance");
    if (oxygen.supply_g_h > 0) {
        working.line("used",
                     fmt::format("100*{}/{}", n(oxygen.demand_peak_g_h), n(oxygen.supply_g_h)),
                     find_check(budget, CheckId::oxygen)->used_percent, "%", kDefinition);
    }
}

void reserve_lines(Working& working, const Tank& tank, const TankBudget& budget) {
    if (!budget.reserve) return;
    const ReserveBudget& reserve = *budget.reserve;
    const TankLimits limits = limits_of(tank);
    working.title("reserve");
    working.line("water beside the fish",
                 fmt::format("({} - 1*{})/1000", n(budget.volume_l), n(budget.biomass_kg)),
                 budget.water_m3, "m3", cite("water that fish displace"));
    std::vector<std::string> groups;
    std::size_t i = 0;
    for (const FishGroup& group : tank.fish) {
        if (group.count == 0) continue;
        const GroupBudget& figures = budget.groups[i++];
        groups.push_back(fmt::format(
            "max({}*{}*{}/1000, max({}*{}*10, {})/1000*{}/24)", n(group.respiration_factor),
            n(figures.fed_peak_mg_kg_h), n(figures.biomass_kg),
            n(figures.table_ration_peak_percent_day), n(figures.biomass_kg),
            n(figures.ration_g_day), n(tank.feed.oxygen_per_feed_g_kg)));
    }
    working.line("demand when all stops, of fed fish",
                 fmt::format("{}*{}*({})", n(tank.feed.peak_factor), n(reserve.fasting_share),
                             joined(groups, " + ")),
                 reserve.demand_g_h, "g/h", "judgement: when the power fails they have eaten");
    const auto countdown = [&](double level) {
        return fmt::format("max(0, 60*{}*({} - {})/{})", n(budget.water_m3), n(reserve.start_mg_l),
                           n(level), n(reserve.demand_g_h));
    };
    const std::string given = "given: limits of the description";
    working.line("minutes to stress", countdown(limits.reserve_stress_mg_l),
                 reserve.stopped.minutes_to_stress, "min",
                 tank.limits.reserve_stress_mg_l ? given : cite("reserve_stress_mg_l"));
    working.line("minutes to danger", countdown(limits.reserve_danger_mg_l),
                 reserve.stopped.minutes_to_danger, "min",
                 tank.limits.reserve_danger_mg_l ? given : cite("reserve_danger_mg_l"));
    if (!reserve.flow_continues || reserve.flow_continues->minutes_to_danger.value_or(0) == 0) {
        return;
    }
    const double steady = *budget.oxygen.inflow_peak_mg_l - reserve.demand_g_h / budget.flow_m3_h;
    working.line("steady oxygen on the inflow alone",
                 fmt::format("{} - {}/{}", n(*budget.oxygen.inflow_peak_mg_l),
                             n(reserve.demand_g_h), n(budget.flow_m3_h)),
                 steady, "mg/L", "balance");
    working.line("minutes to danger on the inflow alone",
                 fmt::format("60*{0}/{1}*ln(({2} - {3})/({4} - {3}))", n(budget.water_m3),
                             n(budget.flow_m3_h), n(reserve.start_mg_l), n(steady),
                             n(limits.reserve_danger_mg_l)),
                 reserve.flow_continues->minutes_to_danger, "min", "balance over time");
}

void ammonia_lines(Working& working, const Tank& tank, const TankBudget& budget) {
    if (budget.groups.empty()) return;
    const AmmoniaBudget& ammonia = budget.ammonia;
    working.title("ammonia");
    working.line(
        "TAN",
        fmt::format("max({}*{}/100*0.092, 0.07*{})", n(ammonia.excreted_feed_g_day),
                    n(tank.feed.protein_percent.value_or(kProteinPercent)), n(budget.biomass_kg)),
        ammonia.tan_production_g_day, "g/day", cite("TAN per feed protein"));
    working.line("steady TAN",
                 fmt::format("{} + {}/(24*{})", n(ammonia.supply_tan_mg_l),
                             n(ammonia.tan_production_g_day), n(budget.flow_m3_h)),
                 ammonia.tan_mg_l, "mg/L", "balance");
    if (ammonia.unionised_fraction) {
        working.line("un-ionised fraction",
                     fmt::format("1/(1 + 10^(0.09018 + 2729.92/({} + 273.15) + 0.003071*{} - {}))",
                                 n(budget.peak_temperature_c), n(tank.water.salinity_g_kg),
                                 n(*tank.water.ph)),
                     ammonia.unionised_fraction, "", cite("pKa of ammonium"));
    }
    if (ammonia.nh3_mg_l) {
        working.line(
            "NH3",
            fmt::format("{}*{}*1.2159", n(*ammonia.tan_mg_l), n(*ammonia.unionised_fraction)),
            ammonia.nh3_mg_l, "mg/L", cite("NH3 per nitrogen"));
    }
    if (ammonia.tan_hours_to_warn) {
        working.line(
            "hours to the TAN warn limit without flow",
            fmt::format("max(0, 24*{}*({} - {})/{})", n(budget.water_m3),
                        n(limits_of(tank).tan_warn_mg_l), n(ammonia.measured_tan_mg_l.value_or(0)),
                        n(ammonia.tan_production_g_day)),
            ammonia.tan_hours_to_warn, "h", "balance over time");
    }
}

void carbon_dioxide_lines(Working& working, const Tank& tank, const TankBudget& budget) {
    const CarbonDioxideBudget& co2 = budget.carbon_dioxide;
    working.title("carbon dioxide");
    working.line("production", fmt::format("1.375*{}*24", n(budget.oxygen.demand_mean_g_h)),
                 co2.production_g_day, "g/day", cite("carbon dioxide per oxygen respired"));
    if (co2.balance_mg_l) {
        working.line(
            "balance at peak",
            fmt::format("({0}*{1} + {2}*{3} + 1.375*{4})/({0} + {2})", n(budget.flow_m3_h),
                        n(co2.inflow_mg_l.value_or(0)), n(co2.stripping_m3_h), n(co2.in_air_mg_l),
                        n(budget.oxygen.demand_peak_g_h)),
            co2.balance_mg_l, "mg/L",
            co2.balance_judged ? "balance" : "balance, not judged: the inflow's is unknown");
    }
    if (co2.from_ph_mg_l) {
        const double k = budget.temperature_c + 273.15;
        const auto fit = [&](double a, double b, double c, double d, double e) {
            return fmt::format("{} + {}*{} + {}/{} + {}*log10({}) + {}/{}^2", n(a), n(b), n(k),
                               n(c), n(k), n(d), n(k), n(e), n(k));
        };
        const auto value = [&](double a, double b, double c, double d, double e) {
            return a + b * k + c / k + d * std::log10(k) + e / (k * k);
        };
        const std::string why = cite("carbonate system pK1, pK2, log KH, log Kw");
        const double pk1 = value(356.3094, 0.06091964, -21834.37, -126.8339, 1684915);
        const double pk2 = value(107.8871, 0.03252849, -5151.79, -38.92561, 563713.9);
        const double log_kw = value(-283.971, -0.05069842, 13323, 102.24447, -1119669);
        working.line("pK1", fit(356.3094, 0.06091964, -21834.37, -126.8339, 1684915), pk1, "", why);
        working.line("pK2", fit(107.8871, 0.03252849, -5151.79, -38.92561, 563713.9), pk2, "", why);
        working.line("log Kw", fit(-283.971, -0.05069842, 13323, 102.24447, -1119669), log_kw, "",
                     why);
        working.line(
            "from pH",
            fmt::format("44009.5*10^({0} - {1})*({2}/50043.5 + 10^(-{1}) - 10^({3} + {1}))/"
                        "(1 + 2*10^({1} - {4}))",
                        n(pk1), n(*tank.water.ph), n(*tank.water.alkalinity_mg_l), n(log_kw),
                        n(pk2)),
            co2.from_ph_mg_l, "mg/L", why);
    }
}

void space_lines(Working& working, const TankBudget& budget) {
    if (budget.groups.empty()) return;
    working.title("space and feed");
    working.line("density", fmt::format("{}/({}/1000)", n(budget.biomass_kg), n(budget.volume_l)),
                 budget.density_kg_m3, "kg/m3", kDefinition);
    working.line("exchange", fmt::format("{}/({}/1000)", n(budget.flow_m3_h), n(budget.volume_l)),
                 find_check(budget, CheckId::exchange)->value, "1/h", kDefinition);
    working.line(
        "ration", fmt::format("100*{}/({}*1000)", n(budget.ration_g_day), n(budget.biomass_kg)),
        100 * budget.ration_g_day / (budget.biomass_kg * 1000), "percent/day", kDefinition);
    working.line("solids", fmt::format("0.3*{}", n(budget.ration_g_day)), budget.solids_g_day,
                 "g/day", cite("solids per feed"));
}

}  // namespace

std::string loop_working_of(const Loop& loop, const LoopBudget& budget) {
    Working working;
    working.title(fmt::format("The working of loop {}", printable(loop.name)));
    const double t = loop.water.temperature_c;
    if (loop.biofilter && loop.biofilter->media_area_m2) {
        working.line("what the filter takes at most",
                     fmt::format("{}/100*{}*max(0, 0.05368*{} - 0.0859)",
                                 n(loop.biofilter->maturity_percent),
                                 n(*loop.biofilter->media_area_m2), n(t)),
                     budget.filter_capacity_g_day, "g/day", cite("nitrification by temperature"));
    } else if (loop.biofilter) {
        working.line("what the filter takes at most",
                     fmt::format("{}/100*{}*(0.8 + 1 - 0.07)/(1 - 0.07)",
                                 n(loop.biofilter->maturity_percent),
                                 n(loop.biofilter->removal_g_day.value_or(0))),
                     budget.filter_capacity_g_day, "g/day", "given, at 1 mg/L");
    }
    if (budget.supply_tan_mg_l) {
        const std::string m = n(*budget.supply_tan_mg_l);
        working.line("supply TAN M", m, budget.supply_tan_mg_l, "mg/L",
                     "balance: the root at which the next two add up to what is made");
        working.line("nitrified",
                     fmt::format("{0}*max(0, {1} - 0.07)/(0.8 + max(0, {1} - 0.07))",
                                 n(budget.filter_capacity_g_day), m),
                     budget.nitrified_g_day, "g/day", cite("half-saturation of nitrification"));
        working.line(
            "exchanged",
            fmt::format("{}*({} - {})", n(budget.exchange_m3_day), m, n(loop.makeup.tan_mg_l)),
            budget.exchanged_g_day, "g/day", "balance");
        working.line("made by the tanks",
                     fmt::format("{} + {}", n(budget.nitrified_g_day), n(budget.exchanged_g_day)),
                     budget.tan_production_g_day, "g/day", "balance");
    }
    working.line(
        "oxygen the filter takes",
        fmt::format("(4.57*{} + 0.1*{})/24", n(budget.nitrified_g_day), n(budget.feed_g_day)),
        budget.filter_oxygen_g_h, "g/h", cite("oxygen per TAN nitrified"));
    if (budget.nitrate_mg_l) {
        working.line("nitrate",
                     fmt::format("{} + (0.976*{} - {})/{}", n(loop.makeup.nitrate_mg_l),
                                 n(budget.nitrified_g_day), n(budget.plants_g_day),
                                 n(budget.exchange_m3_day)),
                     budget.nitrate_mg_l, "mg/L", cite("nitrate per TAN nitrified"));
    }
    working.line("alkalinity used up", fmt::format("7.14*{}", n(budget.nitrified_g_day)),
                 budget.alkalinity_demand_g_day, "g/day", cite("alkalinity per TAN nitrified"));
    working.line(
        "alkalinity to add",
        fmt::format("max(0, {} - 3.57*{} - {}*({} - {}))", n(budget.alkalinity_demand_g_day),
                    n(budget.plants_g_day), n(budget.exchange_m3_day),
                    n(loop.makeup.alkalinity_mg_l), n(loop.water.alkalinity_mg_l.value_or(50))),
        budget.alkalinity_dose_g_day, "g/day",
        cite("alkalinity given back per nitrate taken by plants"));
    return working.take();
}

std::string working_of(const Site& site, const SitePressure& air, const Tank& tank,
                       const TankBudget& budget) {
    Working working;
    working.title(fmt::format("The working of {}", printable(tank.name)));
    working.title("water");
    if (site.altitude_m && !site.barometric_pressure_kpa) {
        const double z = *site.altitude_m;
        const double h = 6356766 * z / (6356766 + z);
        working.line("geopotential height", fmt::format("6356766*{0}/(6356766 + {0})", n(z)), h,
                     "m", cite("effective Earth radius"));
        working.line("pressure", fmt::format("101.325*(1 - 0.0065*{}/288.15)^5.25588", n(h)),
                     air.pressure_kpa, "kPa", cite("standard atmosphere"));
    } else {
        working.line("pressure", n(air.pressure_kpa), air.pressure_kpa, "kPa",
                     air.pressure_doubtful ? "the lower of reading and altitude" : "given");
    }
    const double s = tank.water.salinity_g_kg;
    saturation_lines(working, "mean", budget.temperature_c, s, air.pressure_kpa,
                     budget.oxygen.saturation_mg_l);
    saturation_lines(working, "peak", budget.peak_temperature_c, s, air.pressure_kpa,
                     budget.oxygen.saturation_peak_mg_l);
    std::size_t i = 0;
    for (const FishGroup& group : tank.fish) {
        if (group.count == 0) continue;
        group_lines(working, group, tank.feed, budget, budget.groups[i++]);
    }
    for (std::size_t a = 0; a < tank.aeration.size(); ++a) {
        aerator_lines(working, tank.aeration[a], budget.aerators[a], budget);
    }
    inflow_lines(working, tank, budget);
    oxygen_lines(working, tank, budget);
    reserve_lines(working, tank, budget);
    ammonia_lines(working, tank, budget);
    carbon_dioxide_lines(working, tank, budget);
    space_lines(working, budget);
    return working.take();
}

}  // namespace coldtank::io
