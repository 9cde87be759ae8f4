#include "report/explain.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "model/formulas.hpp"
#include "report/traced.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

class Working {
public:
    void title(std::string_view text) { out_ += fmt::format("{}\n", text); }

    // A figure of the report: what it is, the formula with its figures, the result, its unit; where
    // it comes from as a whole, and then what went in. A figure that does not exist is left out.
    void line(std::string_view name, const Traced& formula, std::optional<double> figure,
              std::string_view unit, std::string why = {}) {
        if (!figure || !std::isfinite(*figure)) return;
        out_ += wrapped(fmt::format("  {} = ", name),
                        fmt::format("{} = {:.6g}{}{}", formula.text(), off_tie(*figure),
                                    unit.empty() ? "" : " ", unit),
                        6);
        for (const std::string& each : formula.why()) {
            if (why == each) continue;
            why += (why.empty() ? "" : "; ") + each;
        }
        out_ += wrapped("      [", fmt::format("{}]", why.empty() ? "by definition" : why), 7);
    }
    // One that the report does not hold: the next lines go on from it.
    Traced step(std::string_view name, const Traced& formula, std::string_view unit,
                std::string why = {}) {
        line(name, formula, formula.value(), unit, std::move(why));
        return formula.value();
    }
    std::string take() { return std::move(out_); }

private:
    std::string out_;
};

void pressure_lines(Working& working, double altitude_m, double pressure_kpa) {
    const std::string why = cite(formulas::kAtmosphere);
    const Traced height =
        working.step("geopotential height", formulas::geopotential_m(Traced(altitude_m)), "m", why);
    working.line("pressure", formulas::standard_pressure_kpa(height), pressure_kpa, "kPa", why);
}

void saturation_lines(Working& working, std::string_view when, double temperature_c,
                      double salinity_g_kg, const Traced& p, double figure) {
    const std::string why = cite(formulas::kSaturationFit);
    const auto name = [&](std::string_view what) { return fmt::format("{}, {}", what, when); };
    const Traced t = temperature_c;
    const Traced i =
        working.step(name("i, 1 over the temperature in K"), formulas::reciprocal(t), "1/K");
    const Traced u = working.step(name("vapour pressure u"), formulas::vapour_u(i), "atm", why);
    const Traced theta = working.step(name("theta"), formulas::oxygen_theta(t), "1/atm", why);
    const Traced ln_c1 =
        working.step(name("ln C1"), formulas::ln_oxygen_c1(i, Traced(salinity_g_kg)), "", why);
    working.line(name("oxygen saturation"), formulas::oxygen_saturation_mg_l(ln_c1, p, u, theta),
                 figure, "mg/L", why);
}

Traced pound_respiration(double temperature_f, const Coefficients& k,
                         const TracedCoefficients& tk) {
    const Traced f = temperature_f;
    return temperature_f >= k.respiration_join_f ? formulas::pound_warm_mg_kg_h(f, tk)
                                                 : formulas::pound_cold_mg_kg_h(f, tk);
}

void ration_lines(Working& working, const FishGroup& group, const Feed& feed,
                  const TankBudget& budget, const GroupBudget& figures) {
    const std::string table = cite(formulas::kRationFit);
    const double t = budget.temperature_c;
    const RationCells cells = ration_cells({.temperature_c = t, .length_cm = figures.length_cm});
    Traced beyond = 1;
    if (cells.beyond != 1) {
        beyond = working.step("share of the last length class",
                              formulas::beyond_last_length(Traced(figures.length_cm)), "",
                              "judgement: a ration falls as 1 / length");
    }
    // The printed cell that is read, by its row and its length class.
    const auto cell = [&](const RationRow& row) {
        const double from_in = static_cast<double>(cells.column);
        const std::string lengths = cells.column + 1 == std::size(row.percent_day)
                                        ? fmt::format("{} in and over", from_in)
                                        : fmt::format("{}-{} in", from_in, from_in + 1);
        const Traced printed =
            working.step(fmt::format("ration table, {} degF, {}", row.temperature_f, lengths),
                         Traced(row.percent_day[cells.column]), "percent/day", table);
        return cells.beyond == 1 ? printed : beyond * printed;
    };
    working.step("length in inches", Traced(figures.length_cm) / formulas::kCentimetresPerInch,
                 "in", cite(formulas::kCentimetresPerInch));
    if (cells.high == nullptr) {
        working.line("table ration", formulas::colder_than_table(cell(*cells.low), Traced(t)),
                     figures.table_ration_percent_day, "percent/day", table);
    } else {
        const Traced share =
            cells.share == 0
                ? Traced(0)
                : working.step(fmt::format("share from the row of {} degF to the next",
                                           cells.low->temperature_f),
                               formulas::fahrenheit(Traced(t)) - cells.low->temperature_f, "");
        const Traced low = cell(*cells.low);
        const Traced high = cells.high == cells.low ? low : cell(*cells.high);
        working.line("table ration", formulas::between_rows(low, high, share),
                     figures.table_ration_percent_day, "percent/day", table);
    }
    const auto of_species = [&](const Constant& constant) {
        return Traced(double{constant}, cite(constant));
    };
    working.line("taper in warm water",
                 formulas::ration_taper(Traced(t), of_species(group.species.feeding_stop_c),
                                        of_species(group.species.warn_above_c)),
                 figures.ration_taper, "", "judgement: all below, nothing at the feeding stop");
    const Traced kg = figures.biomass_kg;
    working.line("ration by the table",
                 formulas::ration_g_day(Traced(figures.table_ration_percent_day), kg),
                 figures.table_ration_g_day, "g/day", table);
    working.line("ration advised", Traced(figures.table_ration_g_day) * figures.ration_taper,
                 figures.advised_ration_g_day, "g/day");
    const Traced counted = figures.ration_g_day;
    if (!figures.ration_stated) {
        working.line("ration counted", counted, figures.ration_g_day, "g/day",
                     "judgement: by the table without the taper, as no ration is stated");
    } else if (!group.ration_g_day && feed.ration_percent_day) {
        working.line("ration counted",
                     formulas::ration_g_day(Traced(*feed.ration_percent_day, "given"), kg),
                     figures.ration_g_day, "g/day");
    } else {
        working.line("ration counted", counted, figures.ration_g_day, "g/day",
                     group.ration_g_day  ? "given"
                     : feed.ration_g_day ? "its share by mass of the tank's ration, given"
                                         : "given: fasted_h");
    }
}

// Of fed fish, and what the feed costs of it.
void respiration_lines(Working& working, const FishGroup& group, const TankBudget& budget,
                       const GroupBudget& figures, const Coefficients& k,
                       const TracedCoefficients& tk) {
    const Traced weight =
        working.step("respiration over that of a fish of a pound",
                     formulas::weight_factor(Traced(figures.mean_weight_g), tk), "");
    const auto fed = [&](std::string_view when, double temperature_c, double figure) {
        const Traced f = working.step(fmt::format("temperature, {}", when),
                                      formulas::fahrenheit(Traced(temperature_c)), "degF");
        const Traced pound =
            working.step(fmt::format("respiration of a fed fish of a pound, {}", when),
                         pound_respiration(f.value(), k, tk), "mg/kg/h");
        working.line(fmt::format("respiration of fed fish, {}", when), pound * weight, figure,
                     "mg/kg/h");
    };
    fed("mean", budget.temperature_c, figures.fed_mg_kg_h);
    fed("peak", budget.peak_temperature_c, figures.fed_peak_mg_kg_h);
    Traced percent_day = 0;
    if (figures.ration_stated) {
        const DecisiveRow row = decisive_row(figures.length_cm, k);
        const std::string where = fmt::format("at {} degF", row.row->temperature_f);
        const Traced pound =
            working.step(fmt::format("respiration of a fed fish of a pound, {}", where),
                         pound_respiration(row.row->temperature_f, k, tk), "mg/kg/h");
        const Traced pound_cost = working.step(
            "oxygen that feed costs it",
            formulas::pound_feed_cost_g_g(pound, Traced(row.row->percent_day[row.column]), tk),
            "g/g", cite("oxygen that feed costs beyond rest"));
        const double length_cm = figures.length_cm;
        const Traced beyond = ration_cells({.temperature_c = 0, .length_cm = length_cm}).beyond;
        working.line("oxygen that feed costs beyond rest",
                     formulas::feed_cost_g_g(pound_cost, beyond, weight), figures.feed_cost_g_g,
                     "g/g");
        percent_day = working.step(
            "ration", Traced(figures.ration_g_day) / (Traced(figures.biomass_kg) * 1000) * 100,
            "percent/day");
    }
    const auto counted = [&](std::string_view when, double fed_mg_kg_h, double figure) {
        const Traced factor(group.respiration_factor,
                            group.respiration_factor == 1 ? "judgement: 1, as the model" : "given");
        const std::string name = fmt::format("respiration counted, {}", when);
        if (figures.ration_stated) {
            working.line(
                name,
                factor * formulas::respiration_when_fed_mg_kg_h(Traced(fed_mg_kg_h), percent_day,
                                                                Traced(figures.feed_cost_g_g), tk),
                figure, "mg/kg/h");
        } else {
            working.line(name, factor * Traced(fed_mg_kg_h), figure, "mg/kg/h",
                         "judgement: fed by the table");
        }
    };
    counted("mean", figures.fed_mg_kg_h, figures.respiration_mg_kg_h);
    counted("peak", figures.fed_peak_mg_kg_h, figures.respiration_peak_mg_kg_h);
}

// The share of the table's feed that is excreted at least.
Traced excreted_share(const Feed& feed, const GroupBudget& figures, const Coefficients& k,
                      const TracedCoefficients& tk) {
    if (figures.ration_g_day > 0) return tk.fed_excretion_share;
    if (!feed.fasted_h) return tk.unfed_excretion_share;
    const Traced hours(*feed.fasted_h, "given: fasted_h");
    return *feed.fasted_h <= k.unfed_excretion_h ? formulas::unfed_share_at_first(hours, tk)
                                                 : formulas::unfed_share_later(hours, tk);
}

void group_lines(Working& working, const FishGroup& group, const Tank& tank,
                 const TankBudget& budget, const GroupBudget& figures,
                 const TracedCoefficients& tk) {
    const Feed& feed = tank.feed;
    const Coefficients& k = tank.coefficients;
    working.title(fmt::format("fish: {}", printable(figures.name)));
    const Traced weight = figures.mean_weight_g;
    working.line("biomass", formulas::biomass_kg(Traced(figures.count), weight), figures.biomass_kg,
                 "kg");
    const Traced condition =
        group.condition_factor
            ? Traced(*group.condition_factor / 100, "given: condition_factor / 100")
            : Traced(double{group.species.condition_g_cm3}, cite(group.species.condition_g_cm3));
    working.line("length", formulas::length_cm(weight, condition), figures.length_cm, "cm");
    ration_lines(working, group, feed, budget, figures);
    respiration_lines(working, group, budget, figures, k, tk);
    const Traced kg = figures.biomass_kg;
    const Traced by_feed = figures.demand_by_feed_g_h;
    working.line("demand by respiration",
                 formulas::oxygen_by_respiration_g_h(Traced(figures.respiration_mg_kg_h), kg),
                 figures.demand_by_respiration_g_h, "g/h");
    working.line(
        "demand by feed",
        formulas::oxygen_by_feed_g_h(Traced(figures.ration_g_day),
                                     stated_or(feed.oxygen_per_feed_g_kg, tk.oxygen_per_feed_g_kg)),
        figures.demand_by_feed_g_h, "g/h");
    const std::string safe = "judgement: the larger, the safe side";
    working.line("demand", larger_of(Traced(figures.demand_by_respiration_g_h), by_feed),
                 figures.demand_g_h, "g/h", safe);
    working.line(
        "demand at the peak temperature",
        larger_of(formulas::oxygen_by_respiration_g_h(Traced(figures.respiration_peak_mg_kg_h), kg),
                  by_feed),
        figures.demand_before_peak_g_h, "g/h", safe);
    working.line("feed whose protein is excreted",
                 formulas::excreted_feed_g_day(Traced(figures.ration_g_day),
                                               excreted_share(feed, figures, k, tk),
                                               Traced(figures.table_ration_g_day)),
                 figures.excreted_feed_g_day, "g/day");
}

// Henry's constant of carbon dioxide, mol/(L atm).
Traced henry_lines(Working& working, double temperature_c) {
    const std::string why = cite(formulas::kCarbonateFit);
    const Traced kelvin = working.step("temperature", formulas::kelvin(Traced(temperature_c)), "K");
    const Traced log_henry = working.step("log KH of carbon dioxide",
                                          formulas::plummer(formulas::kLogHenry, kelvin), "", why);
    return working.step("KH, Henry's constant of carbon dioxide",
                        formulas::henry_mol_l_atm(log_henry), "mol/(L atm)", why);
}

void aerator_lines(Working& working, const Aerator& aerator, const AeratorBudget& figures,
                   const TankBudget& budget, const TracedCoefficients& tk) {
    if (std::holds_alternative<Cascade>(aerator.kind)) return;
    working.title(fmt::format("aerator: {}",
                              figures.name.empty() ? "without a name" : printable(figures.name)));
    if (const auto* oxygen = std::get_if<PureOxygen>(&aerator.kind)) {
        working.line("pure oxygen absorbed",
                     formulas::pure_oxygen_g_h(Traced(oxygen->flow_l_min),
                                               Traced(oxygen->absorption_percent, "given"), tk),
                     figures.pure_oxygen_g_h, "g/h");
        return;
    }
    const auto* diffuser = std::get_if<Diffuser>(&aerator.kind);
    if (diffuser != nullptr) {
        const Traced percent = stated_or(
            diffuser->transfer_percent_per_m,
            formulas::bubble_percent_per_m(diffuser->bubble.value_or(Bubble::coarse), tk));
        working.line("SOTR",
                     formulas::diffuser_sotr_g_h(
                         Traced(diffuser->air_flow_l_min),
                         formulas::transfer_share(percent, Traced(diffuser->depth_m)), tk),
                     figures.sotr_g_h, "g/h");
    }
    const Traced alpha = stated_or(aerator.alpha, tk.alpha);
    const Traced sotr = figures.sotr_g_h;
    working.line("K at the mean temperature",
                 formulas::field_transfer_m3_h(sotr, alpha, Traced(budget.temperature_c), tk),
                 figures.transfer_m3_h, "m3/h", cite(formulas::kStandardSaturation));
    const Traced t = budget.peak_temperature_c;
    working.line("K at the peak temperature", formulas::field_transfer_m3_h(sotr, alpha, t, tk),
                 figures.transfer_peak_m3_h, "m3/h", cite(formulas::kStandardSaturation));
    const Traced transfer = figures.transfer_peak_m3_h;
    if (diffuser == nullptr) {
        working.line("stripping of carbon dioxide", formulas::stripping_m3_h(transfer, tk),
                     figures.stripping_m3_h, "m3/h");
    } else if (diffuser->air_flow_l_min > 0) {
        const Traced henry = working.step(
            "H, carbon dioxide in gas over water",
            formulas::henry_gas_over_water(henry_lines(working, budget.peak_temperature_c), t), "",
            cite(formulas::kGasConstant));
        const Traced carries =
            working.step("what that air carries",
                         formulas::air_carries_m3_h(
                             formulas::flow_m3_h(Traced(diffuser->air_flow_l_min)), henry),
                         "m3/h");
        working.line("stripping of carbon dioxide",
                     formulas::bubble_stripping_m3_h(transfer, carries, tk), figures.stripping_m3_h,
                     "m3/h");
    }
}

Traced fall_left(const Tank& tank, double temperature_c, const TracedCoefficients& tk) {
    Traced left = 1;
    bool any = false;
    for (const Aerator& aerator : tank.aeration) {
        const auto* cascade = std::get_if<Cascade>(&aerator.kind);
        if (cascade == nullptr) continue;
        const Traced ratio =
            formulas::cascade_deficit_ratio(stated_or(cascade->quality, tk.cascade_quality),
                                            stated_or(cascade->weir, tk.cascade_weir),
                                            Traced(cascade->drop_m), Traced(temperature_c), tk);
        left = any ? left / ratio : 1 / ratio;
        any = true;
    }
    return left;
}

// Of the waters of an inflow one figure, mixed by flow.
Traced mixed(Working& working, const TankBudget& budget, std::string_view what,
             std::string_view unit, auto figure_of) {
    Traced sum = 0;
    Traced flow = 0;
    for (const InflowPart& part : budget.inflow) {
        const bool above = !part.from.empty();
        const Traced own =
            working.step(above ? fmt::format("{}, out of {}", what, printable(part.from))
                               : fmt::format("{}, of new water", what),
                         Traced(figure_of(part)), unit,
                         above ? "its balance, or what was read there, the worse" : "given");
        const Traced own_flow = part.flow_m3_h;
        sum = &part == budget.inflow.data() ? own_flow * own : sum + own_flow * own;
        flow = &part == budget.inflow.data() ? own_flow : flow + own_flow;
    }
    if (budget.inflow.size() == 1) return figure_of(budget.inflow.front());
    return working.step(fmt::format("{}, mixed by flow", what), sum / flow, unit);
}

void inflow_lines(Working& working, const Tank& tank, const TankBudget& budget,
                  const TracedCoefficients& tk) {
    const OxygenBudget& oxygen = budget.oxygen;
    if (budget.flow_m3_h == 0) return;
    working.title(tank.loop ? "supply of the loop" : "inflow");
    working.line("Q", formulas::flow_m3_h(Traced(flow_l_min_of(tank))), budget.flow_m3_h, "m3/h");
    if (tank.loop) {
        if (!oxygen.inflow_mg_l) return;
        working.line("oxygen of the supply, mean",
                     larger_of(Traced(0), Traced(oxygen.inflow_in_balance_mg_l)),
                     oxygen.inflow_mg_l, "mg/L", "balance of the loop, after the tank's cascades");
        working.line("oxygen of the supply, peak",
                     larger_of(Traced(0), Traced(oxygen.inflow_peak_in_balance_mg_l)),
                     oxygen.inflow_peak_mg_l, "mg/L", "the same at peak");
        return;
    }
    const bool falls =
        std::any_of(tank.aeration.begin(), tank.aeration.end(),
                    [](const auto& each) { return std::holds_alternative<Cascade>(each.kind); });
    const auto stated = std::find_if(tank.inflow.begin(), tank.inflow.end(),
                                     [](const Inflow& each) { return each.flow_l_min > 0; });
    const std::string why = "given; it keeps its share of saturation";
    const auto arrives = [&](std::string_view when, double saturation_mg_l, double temperature_c,
                             double InflowPart::*of_part, std::optional<double> figure) {
        const Traced saturation = saturation_mg_l;
        Traced before;
        std::string why_before;
        if (!budget.inflow.empty()) {
            before = mixed(working, budget, fmt::format("oxygen, {}", when), "mg/L",
                           [&](const InflowPart& part) { return part.*of_part; });
            why_before = "as it comes";
        } else {
            before = stated->oxygen_percent ? Traced(*stated->oxygen_percent) / 100 * saturation
                                            : Traced(stated->oxygen_mg_l.value()) *
                                                  (saturation / Traced(oxygen.saturation_mg_l));
            why_before = why;
        }
        const std::string name = fmt::format("oxygen of the inflow, {}", when);
        if (!falls) {
            working.line(name, larger_of(Traced(0), before), figure, "mg/L", why_before);
            return;
        }
        const Traced above = working.step(fmt::format("oxygen above the falls, {}", when), before,
                                          "mg/L", why_before);
        const Traced left = working.step(fmt::format("deficit that the falls leave, {}", when),
                                         fall_left(tank, temperature_c, tk), "");
        working.line(name, larger_of(Traced(0), formulas::after_fall(saturation, above, left)),
                     figure, "mg/L");
    };
    arrives("mean", oxygen.saturation_mg_l, budget.temperature_c, &InflowPart::oxygen_mg_l,
            oxygen.inflow_mg_l);
    arrives("peak", oxygen.saturation_peak_mg_l, budget.peak_temperature_c,
            &InflowPart::oxygen_peak_mg_l, oxygen.inflow_peak_mg_l);
    if (!budget.inflow.empty()) {
        mixed(working, budget, "TAN", "mg/L", [](const InflowPart& part) { return part.tan_mg_l; });
        mixed(working, budget, "carbon dioxide", "mg/L", [&](const InflowPart& part) {
            return part.carbon_dioxide_mg_l.value_or(budget.carbon_dioxide.in_air_mg_l);
        });
    }
}

// The sum of terms: a plain 0 of none.
Traced sum_of(const std::vector<Traced>& terms) {
    Traced sum = 0;
    for (std::size_t i = 0; i < terms.size(); ++i) sum = i == 0 ? terms[0] : sum + terms[i];
    return sum;
}

void oxygen_lines(Working& working, const Tank& tank, const TankBudget& budget,
                  const TracedCoefficients& tk) {
    const OxygenBudget& oxygen = budget.oxygen;
    const std::string balance = "balance: Q Cin + K beta Cs + G = R + (Q + K) C";
    working.title("oxygen");
    std::vector<Traced> demands;
    std::vector<Traced> peaks;
    for (const GroupBudget& group : budget.groups) {
        demands.emplace_back(group.demand_g_h);
        peaks.emplace_back(group.demand_before_peak_g_h);
    }
    working.line("mean demand", sum_of(demands), oxygen.demand_mean_g_h, "g/h",
                 "sum of the groups");
    working.line("R, peak demand", stated_or(tank.feed.peak_factor, tk.peak_factor) * sum_of(peaks),
                 oxygen.demand_peak_g_h, "g/h");
    std::vector<Traced> full_mean;
    std::vector<Traced> full_peak;
    double pure_g_h = 0;
    for (std::size_t i = 0; i < budget.aerators.size(); ++i) {
        const AeratorBudget& figures = budget.aerators[i];
        pure_g_h += figures.pure_oxygen_g_h;
        if (figures.transfer_m3_h == 0) continue;
        const Traced beta = stated_or(tank.aeration[i].beta, tk.beta);
        full_mean.push_back(Traced(figures.transfer_m3_h) * beta * Traced(oxygen.saturation_mg_l));
        full_peak.push_back(Traced(figures.transfer_peak_m3_h) * beta *
                            Traced(oxygen.saturation_peak_mg_l));
    }
    const Traced air_mean = working.step("K beta Cs, mean", sum_of(full_mean), "g/h", "balance");
    const Traced air_peak = working.step("K beta Cs, peak", sum_of(full_peak), "g/h", "balance");
    // A supply that is not known brings nothing that is counted.
    const Traced q = oxygen.inflow_mg_l ? budget.flow_m3_h : 0;
    const Traced pure = pure_g_h;
    const Traced in_mean = oxygen.inflow_in_balance_mg_l;
    const Traced in_peak = oxygen.inflow_peak_in_balance_mg_l;
    working.line("steady oxygen, mean",
                 larger_of(Traced(0), formulas::steady_mg_l(q, in_mean, air_mean, pure,
                                                            Traced(oxygen.demand_mean_g_h),
                                                            Traced(budget.transfer_m3_h))),
                 oxygen.steady_mean_mg_l, "mg/L", balance);
    working.line("lowest oxygen",
                 larger_of(Traced(0), formulas::steady_mg_l(q, in_peak, air_peak, pure,
                                                            Traced(oxygen.demand_peak_g_h),
                                                            Traced(budget.transfer_peak_m3_h))),
                 oxygen.lowest_mg_l, "mg/L", "balance: the same at peak");
    const TankLimits limits = limits_of(tank);
    working.line("warn limit",
                 formulas::oxygen_warn_mg_l(
                     limit(limits.oxygen_warn_mg_l, tank.limits.oxygen_warn_mg_l,
                           budget.early_life ? "oxygen_warn_mg_l, early life" : "oxygen_warn_mg_l"),
                     limit(limits.oxygen_warn_percent, tank.limits.oxygen_warn_percent,
                           "oxygen_warn_percent"),
                     Traced(oxygen.saturation_mg_l)),
                 oxygen.warn_mg_l, "mg/L");
    if (!oxygen.supply_known) return;
    working.line("supply at the warn limit",
                 formulas::supply_g_h(q, in_peak, Traced(oxygen.warn_mg_l), air_peak,
                                      Traced(budget.transfer_peak_m3_h), pure),
                 oxygen.supply_g_h, "g/h", "balance");
    if (oxygen.supply_g_h > 0) {
        working.line("used", 100 * Traced(oxygen.demand_peak_g_h) / Traced(oxygen.supply_g_h),
                     find_check(budget, CheckId::oxygen)->used_percent, "%");
    }
}

void reserve_lines(Working& working, const Tank& tank, const TankBudget& budget,
                   const TracedCoefficients& tk) {
    if (!budget.reserve) return;
    const ReserveBudget& reserve = *budget.reserve;
    const TankLimits limits = limits_of(tank);
    working.title("reserve");
    const Traced water = budget.water_m3;
    working.line("water beside the fish",
                 formulas::water_m3(Traced(budget.volume_l), Traced(budget.biomass_kg), tk),
                 budget.water_m3, "m3");
    std::vector<Traced> groups;
    std::size_t i = 0;
    for (const FishGroup& group : tank.fish) {
        if (group.count == 0) continue;
        const GroupBudget& figures = budget.groups[i++];
        const Traced kg = figures.biomass_kg;
        groups.push_back(larger_of(
            formulas::oxygen_by_respiration_g_h(
                Traced(group.respiration_factor) * Traced(figures.fed_peak_mg_kg_h), kg),
            formulas::oxygen_by_feed_g_h(
                larger_of(formulas::ration_g_day(Traced(figures.table_ration_peak_percent_day), kg),
                          Traced(figures.ration_g_day)),
                stated_or(tank.feed.oxygen_per_feed_g_kg, tk.oxygen_per_feed_g_kg))));
    }
    const Traced share =
        working.step("share that fish breathe after a fast",
                     formulas::fasting_share(Traced(tank.feed.fasted_h.value_or(0)), tk), "");
    working.line("demand when all stops, of fed fish",
                 stated_or(tank.feed.peak_factor, tk.peak_factor) * share * sum_of(groups),
                 reserve.demand_g_h, "g/h", "judgement: when the power fails they have eaten");
    const Traced stress =
        limit(limits.reserve_stress_mg_l, tank.limits.reserve_stress_mg_l, "reserve_stress_mg_l");
    const Traced danger =
        limit(limits.reserve_danger_mg_l, tank.limits.reserve_danger_mg_l, "reserve_danger_mg_l");
    const Traced start = reserve.start_mg_l;
    const Traced demand = reserve.demand_g_h;
    working.line("minutes to stress", formulas::minutes_stopped(water, start, stress, demand),
                 reserve.stopped.minutes_to_stress, "min");
    working.line("minutes to danger", formulas::minutes_stopped(water, start, danger, demand),
                 reserve.stopped.minutes_to_danger, "min");
    if (!reserve.flow_continues || reserve.flow_continues->minutes_to_danger.value_or(0) == 0) {
        return;
    }
    const Traced flow = budget.flow_m3_h;
    const Traced steady =
        working.step("steady oxygen on the inflow alone",
                     formulas::steady_on_flow_mg_l(Traced(reserve.going_on_mg_l), demand, flow),
                     "mg/L", "balance");
    working.line("minutes to danger on the inflow alone",
                 formulas::minutes_with_flow(water, flow, start, steady, danger),
                 reserve.flow_continues->minutes_to_danger, "min", "balance over time");
}

void ammonia_lines(Working& working, const Tank& tank, const TankBudget& budget,
                   const TracedCoefficients& tk) {
    if (budget.groups.empty()) return;
    const AmmoniaBudget& ammonia = budget.ammonia;
    working.title("ammonia");
    working.line(
        "TAN",
        formulas::tan_production_g_day(Traced(ammonia.excreted_feed_g_day),
                                       stated_or(tank.feed.protein_percent, tk.protein_percent),
                                       Traced(budget.biomass_kg), tk),
        ammonia.tan_production_g_day, "g/day");
    const Traced made = ammonia.tan_production_g_day;
    working.line(
        "steady TAN",
        formulas::steady_tan_mg_l(Traced(ammonia.supply_tan_mg_l), made, Traced(budget.flow_m3_h)),
        ammonia.tan_mg_l, "mg/L", "balance");
    if (ammonia.unionised_fraction) {
        const Traced pka =
            working.step("pKa of ammonium",
                         formulas::ammonium_pka(Traced(budget.peak_temperature_c),
                                                Traced(tank.water.salinity_g_kg), tk),
                         "", cite(formulas::kAmmoniaFit));
        working.line("un-ionised fraction",
                     formulas::unionised_fraction(pka, Traced(*tank.water.ph)),
                     ammonia.unionised_fraction, "");
    }
    if (ammonia.nh3_mg_l) {
        working.line(
            "NH3",
            formulas::nh3_mg_l(Traced(*ammonia.tan_mg_l), Traced(*ammonia.unionised_fraction)),
            ammonia.nh3_mg_l, "mg/L", cite(formulas::kNh3PerNitrogen));
    }
    if (ammonia.tan_hours_to_warn) {
        working.line("hours to the TAN warn limit without flow",
                     formulas::hours_to_tan(Traced(budget.water_m3),
                                            limit(limits_of(tank).tan_warn_mg_l,
                                                  tank.limits.tan_warn_mg_l, "tan_warn_mg_l"),
                                            Traced(ammonia.measured_tan_mg_l.value_or(0)), made),
                     ammonia.tan_hours_to_warn, "h", "balance over time");
    }
}

void carbon_dioxide_lines(Working& working, const SitePressure& air, const Tank& tank,
                          const TankBudget& budget, const TracedCoefficients& tk) {
    const CarbonDioxideBudget& co2 = budget.carbon_dioxide;
    working.title("carbon dioxide");
    working.line(
        "production",
        24 * formulas::carbon_dioxide_from_oxygen(Traced(budget.oxygen.demand_mean_g_h), tk),
        co2.production_g_day, "g/day");
    if (co2.balance_mg_l) {
        const Traced henry = henry_lines(working, budget.peak_temperature_c);
        working.line("in equilibrium with air",
                     formulas::carbon_dioxide_in_air_mg_l(henry, Traced(air.pressure_kpa), tk),
                     co2.in_air_mg_l, "mg/L");
        working.line(
            "balance at peak",
            formulas::carbon_dioxide_balance_mg_l(
                Traced(budget.flow_m3_h), Traced(co2.inflow_mg_l.value_or(0)),
                Traced(co2.stripping_m3_h), Traced(co2.in_air_mg_l),
                formulas::carbon_dioxide_from_oxygen(Traced(budget.oxygen.demand_peak_g_h), tk)),
            co2.balance_mg_l, "mg/L",
            co2.balance_judged ? "balance" : "balance, not judged: the inflow's is unknown");
    }
    if (co2.from_ph_mg_l) {
        const std::string why = cite(formulas::kCarbonateFit);
        const Traced kelvin =
            working.step("temperature", formulas::kelvin(Traced(budget.temperature_c)), "K");
        const Traced pk1 = working.step("pK1", formulas::plummer(formulas::kPk1, kelvin), "", why);
        const Traced pk2 = working.step("pK2", formulas::plummer(formulas::kPk2, kelvin), "", why);
        const Traced log_kw =
            working.step("log Kw", formulas::plummer(formulas::kLogKw, kelvin), "", why);
        working.line(
            "from pH",
            formulas::carbon_dioxide_mg_l(formulas::activity(pk1), formulas::activity(pk2),
                                          power(10, log_kw), Traced(*tank.water.alkalinity_mg_l),
                                          formulas::activity(Traced(*tank.water.ph))),
            co2.from_ph_mg_l, "mg/L", why);
    }
}

void space_lines(Working& working, const TankBudget& budget, const TracedCoefficients& tk) {
    if (budget.groups.empty()) return;
    working.title("space and feed");
    const Traced volume_m3 = Traced(budget.volume_l) / 1000;
    working.line("density", Traced(budget.biomass_kg) / volume_m3, budget.density_kg_m3, "kg/m3");
    working.line("exchange", Traced(budget.flow_m3_h) / volume_m3,
                 find_check(budget, CheckId::exchange)->value, "1/h");
    working.step("ration", 100 * Traced(budget.ration_g_day) / (Traced(budget.biomass_kg) * 1000),
                 "percent/day");
    working.line("solids", formulas::solids_g_day(Traced(budget.ration_g_day), tk),
                 budget.solids_g_day, "g/day");
}

}  // namespace

std::string loop_working_of(const Loop& loop, const LoopBudget& budget) {
    Working working;
    const TracedCoefficients tk = traced(loop.coefficients);
    working.title(fmt::format("The working of loop {}", printable(loop.name)));
    const Traced capacity = budget.filter_capacity_g_day;
    const Traced exchange = budget.exchange_m3_day;
    const Traced nitrified = budget.nitrified_g_day;
    if (const auto& filter = loop.biofilter) {
        const Traced mature(filter->maturity_percent,
                            filter->maturity_percent == 100 ? "by definition" : "given");
        working.line(
            "what the filter takes at most",
            filter->removal_g_day
                ? formulas::filter_by_removal_g_day(
                      mature, Traced(*filter->removal_g_day, "given, at 1 mg/L"), tk)
                : formulas::filter_by_area_g_day(
                      mature, Traced(filter->media_area_m2.value()),
                      formulas::filter_rate_g_m2_day(Traced(loop.water.temperature_c), tk)),
            budget.filter_capacity_g_day, "g/day");
    }
    if (budget.supply_tan_mg_l) {
        const Traced tan = *budget.supply_tan_mg_l;
        working.line("supply TAN M", tan, budget.supply_tan_mg_l, "mg/L",
                     "balance: the root at which the next two add up to what is made");
        working.line("nitrified", formulas::nitrified_g_day(capacity, tan, tk),
                     budget.nitrified_g_day, "g/day");
        working.line("exchanged",
                     formulas::exchanged_g_day(exchange, tan, Traced(loop.makeup.tan_mg_l)),
                     budget.exchanged_g_day, "g/day", "balance");
        working.line("made by the tanks", nitrified + Traced(budget.exchanged_g_day),
                     budget.tan_production_g_day, "g/day", "balance");
    }
    working.line("oxygen the filter takes",
                 formulas::filter_oxygen_g_h(nitrified, Traced(budget.feed_g_day), tk),
                 budget.filter_oxygen_g_h, "g/h");
    const Traced plants = budget.plants_g_day;
    if (budget.nitrate_mg_l) {
        const Traced there =
            working.step("nitrate made and brought",
                         formulas::nitrate_there_g_day(formulas::nitrate_made_g_day(nitrified, tk),
                                                       exchange, Traced(loop.makeup.nitrate_mg_l)),
                         "g/day");
        working.line("nitrate", formulas::nitrate_mg_l(there, plants, exchange),
                     budget.nitrate_mg_l, "mg/L", "balance");
    }
    working.line("alkalinity used up", formulas::alkalinity_demand_g_day(nitrified, tk),
                 budget.alkalinity_demand_g_day, "g/day");
    working.line("alkalinity to add",
                 formulas::alkalinity_dose_g_day(
                     Traced(budget.alkalinity_demand_g_day), plants, exchange,
                     Traced(loop.makeup.alkalinity_mg_l),
                     stated_or(loop.water.alkalinity_mg_l, tk.alkalinity_assumed_mg_l), tk),
                 budget.alkalinity_dose_g_day, "g/day");
    return working.take();
}

std::string saturation_working_of(const WaterState& water, std::optional<double> altitude_m,
                                  std::span<const double> temperatures_c) {
    Working working;
    working.title("The working");
    if (altitude_m) {
        pressure_lines(working, *altitude_m, water.pressure_kpa);
    } else {
        working.line("pressure", water.pressure_kpa, water.pressure_kpa, "kPa", "given");
    }
    const Traced p = working.step("p", formulas::atmospheres(Traced(water.pressure_kpa)), "atm");
    for (const double temperature_c : temperatures_c) {
        WaterState there = water;
        there.temperature_c = temperature_c;
        saturation_lines(working, fmt::format("{} degC", shown(temperature_c)), temperature_c,
                         water.salinity_g_kg, p, oxygen_saturation_mg_l(there));
    }
    return working.take();
}

std::string working_of(const Site& site, const SitePressure& air, const Tank& tank,
                       const TankBudget& budget) {
    Working working;
    const TracedCoefficients tk = traced(tank.coefficients);
    working.title(fmt::format("The working of {}", printable(tank.name)));
    working.title("water");
    if (site.altitude_m && !site.barometric_pressure_kpa) {
        pressure_lines(working, *site.altitude_m, air.pressure_kpa);
    } else {
        working.line("pressure", air.pressure_kpa, air.pressure_kpa, "kPa",
                     air.pressure_doubtful ? "the lower of reading and altitude" : "given");
    }
    const Traced p = working.step("p", formulas::atmospheres(Traced(air.pressure_kpa)), "atm");
    const double salinity_g_kg = tank.water.salinity_g_kg;
    saturation_lines(working, "mean", budget.temperature_c, salinity_g_kg, p,
                     budget.oxygen.saturation_mg_l);
    saturation_lines(working, "peak", budget.peak_temperature_c, salinity_g_kg, p,
                     budget.oxygen.saturation_peak_mg_l);
    std::size_t i = 0;
    for (const FishGroup& group : tank.fish) {
        if (group.count == 0) continue;
        group_lines(working, group, tank, budget, budget.groups[i++], tk);
    }
    for (std::size_t a = 0; a < tank.aeration.size(); ++a) {
        aerator_lines(working, tank.aeration[a], budget.aerators[a], budget, tk);
    }
    inflow_lines(working, tank, budget, tk);
    oxygen_lines(working, tank, budget, tk);
    reserve_lines(working, tank, budget, tk);
    ammonia_lines(working, tank, budget, tk);
    carbon_dioxide_lines(working, air, tank, budget, tk);
    space_lines(working, budget, tk);
    return working.take();
}

std::string change_working_of(const WaterChange& change) {
    Working working;
    working.title("change of water");
    const Traced share = Traced(change.percent) / 100;
    for (const WaterChange::Value& value : change.values) {
        const std::string_view key = name_of(value.of);
        const std::size_t unit =
            key.find(value.of == WaterChange::Of::temperature ? "_c" : "_mg_l");
        working.line(fmt::format("{} after it", key.substr(0, unit)),
                     formulas::changed_mg_l(Traced(value.before), Traced(value.fresh), share),
                     value.after, value.of == WaterChange::Of::temperature ? "degC" : "mg/L",
                     "what stays and what comes, mixed");
    }
    return working.take();
}

}  // namespace coldtank::io
