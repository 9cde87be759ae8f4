// The balances of a tank: what goes in, what goes out, what is left.
#include "balance.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "coldtank/budget.hpp"
#include "coldtank/course.hpp"
#include "formulas.hpp"

namespace coldtank {
namespace {

constexpr Constant kPressureDoubt{"pressures that disagree", 3, "kPa", Basis::judgement,
                                  "weather moves pressure by less at one place"};

constexpr Constant kSeaLevelPressure{"pressure that may be meant for sea level, from", 96, "kPa",
                                     Basis::judgement,
                                     "weather reports, whatever the place, lie mostly above"};

constexpr std::array kSources{kPressureDoubt, kSeaLevelPressure, kHeaviestShare, kHeaviestHaul,
                              kFedWithin};

// The oxygen balance at one temperature, g/h:
//   flow (inflow - C) + sum of K (beta Cs - C) + pure - demand = 0
struct OxygenTerms {
    double flow_m3_h = 0;
    double inflow_mg_l = 0;
    double transfer_m3_h = 0;      // sum of K
    double transfer_full_g_h = 0;  // sum of K beta Cs
    double pure_g_h = 0;

    double supply_g_h(double oxygen_mg_l) const {
        return formulas::supply_g_h(flow_m3_h, inflow_mg_l, oxygen_mg_l, transfer_full_g_h,
                                    transfer_m3_h, pure_g_h);
    }
    std::optional<double> steady_mg_l(double demand_g_h) const {
        if (flow_m3_h + transfer_m3_h == 0) return std::nullopt;
        return formulas::steady_mg_l(flow_m3_h, inflow_mg_l, transfer_full_g_h, pure_g_h,
                                     demand_g_h, transfer_m3_h);
    }
};

double peak_factor_of(const Tank& tank) {
    return tank.feed.peak_factor.value_or(tank.coefficients.peak_factor);
}

OxygenTerms oxygen_terms(const Tank& tank, const SupplyWater& supply, double supply_mg_l,
                         const WaterState& water) {
    const Coefficients& k = tank.coefficients;
    const double saturation_mg_l = oxygen_saturation_mg_l(water);
    OxygenTerms terms;
    if (supply.flow_m3_h > 0 && supply.oxygen == SupplyWater::Oxygen::known) {
        terms.flow_m3_h = supply.flow_m3_h;
        terms.inflow_mg_l = formulas::after_fall(
            saturation_mg_l, supply_mg_l,
            cascades_leave(tank.aeration, water.temperature_c, k).of_oxygen_deficit);
    }
    const Transfer air = transfer_of(tank.aeration, water.temperature_c, saturation_mg_l, k);
    terms.transfer_m3_h = air.k_m3_h;
    terms.transfer_full_g_h = air.full_g_h;
    terms.pure_g_h = air.pure_g_h;
    return terms;
}

// ---- fish

// What a group of a tank is said to eat, g/day: its own ration; else its share of the tank's; else
// nothing where it was last fed long ago. None: it eats by the table.
std::optional<double> stated_ration_g_day(const FishGroup& group, const Feed& feed,
                                          double biomass_kg, double sharing_kg) {
    if (group.ration_g_day) return *group.ration_g_day;
    if (feed.ration_g_day) return *feed.ration_g_day * (biomass_kg / sharing_kg);
    if (feed.ration_percent_day) {
        return formulas::ration_g_day(*feed.ration_percent_day, biomass_kg);
    }
    if (feed.fasted_h > double{kFedWithin}) return 0;
    return std::nullopt;
}

GroupBudget group_figures(const FishGroup& group, const Coefficients& k, const TankBudget& budget) {
    GroupBudget figures{};
    figures.name = name_of(group);
    figures.count = group.count;
    figures.mean_weight_g = group.mean_weight_g;
    figures.biomass_kg = formulas::biomass_kg(group.count, group.mean_weight_g);
    const double condition_g_cm3 = group.condition_factor ? *group.condition_factor / 100
                                                          : double{group.species.condition_g_cm3};
    figures.length_cm =
        length_cm({.weight_g = group.mean_weight_g, .condition_g_cm3 = condition_g_cm3});
    figures.table_ration_percent_day = table_ration_percent_day(
        {.temperature_c = budget.temperature_c, .length_cm = figures.length_cm});
    figures.table_ration_peak_percent_day = table_ration_percent_day(
        {.temperature_c = budget.peak_temperature_c, .length_cm = figures.length_cm});
    figures.ration_taper = ration_taper(budget.temperature_c, group.species);
    figures.table_ration_g_day =
        formulas::ration_g_day(figures.table_ration_percent_day, figures.biomass_kg);
    figures.advised_ration_g_day = figures.table_ration_g_day * figures.ration_taper;
    figures.fed_mg_kg_h = respiration_mg_kg_h(
        {.temperature_c = budget.temperature_c, .weight_g = group.mean_weight_g}, k);
    figures.fed_peak_mg_kg_h = respiration_mg_kg_h(
        {.temperature_c = budget.peak_temperature_c, .weight_g = group.mean_weight_g}, k);
    figures.males_mature = group.age_months >= double{group.species.male_mature_months};
    figures.females_mature = group.age_months >= double{group.species.female_mature_months};
    return figures;
}

// What a group eats, breathes and excretes. Without a stated ration it is counted as fed by the
// whole table, whatever is advised: fish that stop eating in warm water do so after they ate.
void add_demand(const FishGroup& group, const Tank& tank, double sharing_kg, GroupBudget& figures) {
    const Feed& feed = tank.feed;
    const Coefficients& k = tank.coefficients;
    const auto stated = stated_ration_g_day(group, feed, figures.biomass_kg, sharing_kg);
    figures.ration_stated = stated.has_value();
    figures.ration_g_day =
        stated ? *stated : group.kept_ration_g_day.value_or(figures.table_ration_g_day);
    const auto respiration = [&](double fed_mg_kg_h) {
        if (!stated) return group.respiration_factor * fed_mg_kg_h;
        const double percent_day = *stated / (figures.biomass_kg * 1000) * 100;
        return group.respiration_factor *
               respiration_when_fed_mg_kg_h(fed_mg_kg_h, {percent_day, figures.feed_cost_g_g}, k);
    };
    if (stated) {
        figures.feed_cost_g_g =
            feed_cost_g_g({.weight_g = group.mean_weight_g, .length_cm = figures.length_cm}, k);
    }
    figures.respiration_mg_kg_h = respiration(figures.fed_mg_kg_h);
    figures.respiration_peak_mg_kg_h = respiration(figures.fed_peak_mg_kg_h);
    const auto demand_g_h = [&](double mg_kg_h) {
        return formulas::oxygen_by_respiration_g_h(mg_kg_h, figures.biomass_kg);
    };
    figures.demand_by_respiration_g_h = demand_g_h(figures.respiration_mg_kg_h);
    figures.demand_by_feed_g_h = oxygen_by_feed_g_h(
        {.ration_g_day = figures.ration_g_day,
         .oxygen_per_feed_g_kg = feed.oxygen_per_feed_g_kg.value_or(k.oxygen_per_feed_g_kg)});
    figures.demand_g_h = larger_of(figures.demand_by_respiration_g_h, figures.demand_by_feed_g_h);
    figures.demand_before_peak_g_h =
        larger_of(demand_g_h(figures.respiration_peak_mg_kg_h), figures.demand_by_feed_g_h);
    figures.excreted_feed_g_day =
        excreted_feed_g_day({figures.ration_g_day, figures.table_ration_g_day, feed.fasted_h}, k);
}

void add_fish(const Tank& tank, TankBudget& budget) {
    const Coefficients& k = tank.coefficients;
    double sharing_kg = 0;
    double index_kg_cm = 0;
    std::vector<const FishGroup*> present;
    for (const FishGroup& group : tank.fish) {
        if (group.count == 0) continue;
        present.push_back(&group);
        const GroupBudget& figures = budget.groups.emplace_back(group_figures(group, k, budget));
        budget.fish_count += figures.count;
        budget.biomass_kg += figures.biomass_kg;
        index_kg_cm += figures.biomass_kg / figures.length_cm;
        if (!group.ration_g_day) sharing_kg += figures.biomass_kg;
    }
    for (std::size_t i = 0; i < present.size(); ++i) {
        GroupBudget& figures = budget.groups[i];
        add_demand(*present[i], tank, sharing_kg, figures);
        budget.ration_g_day += figures.ration_g_day;
        budget.advised_ration_g_day += figures.advised_ration_g_day;
        budget.ammonia.excreted_feed_g_day += figures.excreted_feed_g_day;
        budget.oxygen.demand_by_respiration_g_h += figures.demand_by_respiration_g_h;
        budget.oxygen.demand_by_feed_g_h += figures.demand_by_feed_g_h;
        budget.oxygen.demand_mean_g_h += figures.demand_g_h;
        budget.oxygen.demand_peak_g_h += peak_factor_of(tank) * figures.demand_before_peak_g_h;
    }
    const double volume_m3 = tank.volume_l / 1000;
    budget.density_kg_m3 = budget.biomass_kg / volume_m3;
    budget.density_index_kg_m3_cm = index_kg_cm / volume_m3;
    budget.water_m3 = formulas::water_m3(tank.volume_l, budget.biomass_kg, k);
    budget.solids_g_day = solids_g_day(budget.ration_g_day, k);
}

// ---- the four balances

void add_oxygen(const Tank& tank, const SupplyWater& supply, const TankLimits& limits,
                double pressure_kpa, TankBudget& budget) {
    const Coefficients& k = tank.coefficients;
    const WaterState mean = water_at(tank, budget.temperature_c, pressure_kpa);
    const WaterState peak = water_at(tank, budget.peak_temperature_c, pressure_kpa);
    const OxygenTerms at_mean = oxygen_terms(tank, supply, supply.oxygen_mg_l, mean);
    const OxygenTerms at_peak = oxygen_terms(tank, supply, supply.oxygen_peak_mg_l, peak);
    OxygenBudget& oxygen = budget.oxygen;
    oxygen.saturation_mg_l = oxygen_saturation_mg_l(mean);
    oxygen.saturation_peak_mg_l = oxygen_saturation_mg_l(peak);
    if (at_mean.flow_m3_h > 0) {
        oxygen.inflow_mg_l = not_below_zero(at_mean.inflow_mg_l);
        oxygen.inflow_peak_mg_l = not_below_zero(at_peak.inflow_mg_l);
    }
    oxygen.inflow_in_balance_mg_l = at_mean.inflow_mg_l;
    oxygen.inflow_peak_in_balance_mg_l = at_peak.inflow_mg_l;
    // At the mean: a limit that fell with a warmer peak would let it pass.
    oxygen.warn_mg_l = formulas::oxygen_warn_mg_l(
        limits.oxygen_warn_mg_l, limits.oxygen_warn_percent, oxygen.saturation_mg_l);
    oxygen.fail_mg_l = limits.oxygen_fail_mg_l;
    oxygen.supply_known = supply.oxygen == SupplyWater::Oxygen::known;
    oxygen.supply_g_h = at_peak.supply_g_h(oxygen.warn_mg_l);
    oxygen.supply_at_fail_g_h = at_peak.supply_g_h(oxygen.fail_mg_l);
    oxygen.steady_in_balance_mg_l = at_mean.steady_mg_l(oxygen.demand_mean_g_h);
    oxygen.lowest_in_balance_mg_l = at_peak.steady_mg_l(oxygen.demand_peak_g_h);
    oxygen.steady_mean_mg_l = not_below_zero(oxygen.steady_in_balance_mg_l);
    oxygen.lowest_mg_l = not_below_zero(oxygen.lowest_in_balance_mg_l);
    oxygen.resting_in_balance_mg_l = oxygen_terms(tank, supply, supply.oxygen_resting_mg_l, mean)
                                         .steady_mg_l(k.resting_share * oxygen.demand_mean_g_h);
    if (const auto resting = not_below_zero(oxygen.resting_in_balance_mg_l)) {
        oxygen.resting_percent = 100 * *resting / oxygen.saturation_mg_l;
    }
    oxygen.gathers_at_rest = at_mean.pure_g_h > k.resting_share * oxygen.demand_mean_g_h;
    oxygen.measured_mg_l = tank.readings.oxygen_mg_l;
    budget.transfer_m3_h = at_mean.transfer_m3_h;
    budget.transfer_peak_m3_h = at_peak.transfer_m3_h;

    const double level_mg_l = oxygen.lowest_mg_l.value_or(oxygen.warn_mg_l);
    for (const Aerator& aerator : tank.aeration) {
        AeratorBudget figures{};
        figures.name = aerator.name;
        figures.sotr_g_h = sotr_g_h(aerator, k);
        figures.transfer_m3_h = field_transfer_m3_h(aerator, budget.temperature_c, k);
        figures.transfer_peak_m3_h = field_transfer_m3_h(aerator, budget.peak_temperature_c, k);
        figures.stripping_m3_h = stripping_m3_h(aerator, budget.peak_temperature_c, k);
        figures.pure_oxygen_g_h = pure_oxygen_g_h(aerator, k);
        figures.oxygen_g_h =
            figures.pure_oxygen_g_h +
            figures.transfer_peak_m3_h *
                (aerator.beta.value_or(k.beta) * oxygen.saturation_peak_mg_l - level_mg_l);
        budget.aerators.push_back(figures);
    }
}

// What fish would breathe that were fed by the table or more, at their peak, g/h: when the power
// fails they have eaten.
double demand_when_all_stops_g_h(const Tank& tank, const TankBudget& budget) {
    double sum_g_h = 0;
    std::size_t i = 0;
    for (const FishGroup& group : tank.fish) {
        if (group.count == 0) continue;
        const GroupBudget& figures = budget.groups[i++];
        const double table_g_day =
            formulas::ration_g_day(figures.table_ration_peak_percent_day, figures.biomass_kg);
        sum_g_h += larger_of(
            group.respiration_factor * figures.fed_peak_mg_kg_h * figures.biomass_kg / 1000,
            oxygen_by_feed_g_h({.ration_g_day = larger_of(table_g_day, figures.ration_g_day),
                                .oxygen_per_feed_g_kg = tank.feed.oxygen_per_feed_g_kg.value_or(
                                    tank.coefficients.oxygen_per_feed_g_kg)}));
    }
    return peak_factor_of(tank) * fasting_share(tank.feed.fasted_h.value_or(0), tank.coefficients) *
           sum_g_h;
}

void add_reserve(const Tank& tank, const SupplyWater& supply, const TankLimits& limits,
                 TankBudget& budget) {
    const OxygenBudget& oxygen = budget.oxygen;
    budget.reserve = ReserveBudget{};
    ReserveBudget& reserve = *budget.reserve;
    reserve.fasting_share = fasting_share(tank.feed.fasted_h.value_or(0), tank.coefficients);
    reserve.demand_g_h = demand_when_all_stops_g_h(tank, budget);
    // The least that is known, or saturation: what was read at noon is not what is there at night.
    reserve.start_assumed = true;
    reserve.start_mg_l = oxygen.saturation_peak_mg_l;
    for (const auto& known :
         {oxygen.measured_mg_l, tank.readings.lowest_oxygen_mg_l, oxygen.lowest_mg_l}) {
        if (!known) continue;
        reserve.start_assumed = false;
        reserve.start_mg_l = smaller_of(reserve.start_mg_l, *known);
    }
    if (supply.oxygen == SupplyWater::Oxygen::failing) {
        reserve.start_assumed = false;
        reserve.start_mg_l = 0;
    }
    const auto countdown = [&](const Course& course) {
        return Countdown{course.minutes_down_to(reserve.start_mg_l, limits.reserve_stress_mg_l),
                         course.minutes_down_to(reserve.start_mg_l, limits.reserve_danger_mg_l)};
    };
    reserve.stopped = countdown({budget.water_m3, -reserve.demand_g_h});
    if (budget.flow_m3_h > 0 && !supply.recirculated) {
        const auto on_water = [&](double flow_m3_h, double inflow_mg_l) {
            const double brought_g_h =
                flow_m3_h * not_below_zero(after_falls_mg_l(tank, budget, inflow_mg_l));
            return countdown({budget.water_m3, brought_g_h - reserve.demand_g_h, flow_m3_h});
        };
        reserve.going_on_mg_l =
            not_below_zero(after_falls_mg_l(tank, budget, supply.going_on_mg_l));
        reserve.flow_continues = on_water(budget.flow_m3_h, supply.going_on_mg_l);
        if (supply.kept_flow_m3_h > 0) {
            reserve.kept_flow_continues = on_water(supply.kept_flow_m3_h, supply.kept_mg_l);
        }
    }
}

// The smaller of two that may not exist.
std::optional<double> sooner(std::optional<double> a, std::optional<double> b) {
    if (!a || !b) return a ? a : b;
    return smaller_of(*a, *b);
}

void add_ammonia(const Tank& tank, const SupplyWater& supply, const TankLimits& limits,
                 double pressure_kpa, TankBudget& budget) {
    const Coefficients& k = tank.coefficients;
    AmmoniaBudget& ammonia = budget.ammonia;
    ammonia.tan_production_g_day = tan_production_g_day(
        {.excreted_g_day = ammonia.excreted_feed_g_day,
         .protein_percent = tank.feed.protein_percent.value_or(k.protein_percent),
         .biomass_kg = budget.biomass_kg},
        k);
    ammonia.measured_tan_mg_l = tank.readings.tan_mg_l;
    if (tank.water.ph) {
        ammonia.unionised_fraction = if_number(unionised_fraction(
            water_at(tank, budget.peak_temperature_c, pressure_kpa), *tank.water.ph, k));
    }
    const auto as_nh3 = [&](std::optional<double> tan_mg_l) -> std::optional<double> {
        if (!tan_mg_l || !ammonia.unionised_fraction) return std::nullopt;
        return nh3_mg_l({.tan_mg_l = *tan_mg_l, .unionised_fraction = *ammonia.unionised_fraction});
    };
    if (supply.flow_m3_h > 0 && supply.tan_without_end) {
        // No steady state.
    } else if (supply.flow_m3_h > 0) {
        ammonia.supply_tan_mg_l = supply.tan_mg_l;
        ammonia.tan_mg_l = formulas::steady_tan_mg_l(supply.tan_mg_l, ammonia.tan_production_g_day,
                                                     supply.flow_m3_h);
    } else if (!(ammonia.tan_production_g_day <= 0)) {
        const auto hours_to = [&](double limit_mg_l) {
            return formulas::hours_to_tan(budget.water_m3, limit_mg_l,
                                          ammonia.measured_tan_mg_l.value_or(0),
                                          ammonia.tan_production_g_day);
        };
        ammonia.tan_hours_to_warn = hours_to(limits.tan_warn_mg_l);
        ammonia.tan_hours_to_fail = hours_to(limits.tan_fail_mg_l);
        if (const auto fraction = ammonia.unionised_fraction) {
            ammonia.nh3_hours_to_warn = hours_to(tan_at_nh3_mg_l(
                {.nh3_mg_l = limits.nh3_warn_mg_l, .unionised_fraction = *fraction}));
            ammonia.nh3_hours_to_fail = hours_to(tan_at_nh3_mg_l(
                {.nh3_mg_l = limits.nh3_fail_mg_l, .unionised_fraction = *fraction}));
        }
        ammonia.hours_to_warn = sooner(ammonia.tan_hours_to_warn, ammonia.nh3_hours_to_warn);
        ammonia.hours_to_fail = sooner(ammonia.tan_hours_to_fail, ammonia.nh3_hours_to_fail);
    }
    ammonia.nh3_mg_l = as_nh3(ammonia.tan_mg_l);
    ammonia.measured_nh3_mg_l = as_nh3(ammonia.measured_tan_mg_l);
}

void add_carbon_dioxide(const Tank& tank, const SupplyWater& supply, double pressure_kpa,
                        TankBudget& budget) {
    const Coefficients& k = tank.coefficients;
    CarbonDioxideBudget& co2 = budget.carbon_dioxide;
    co2.production_g_day = 24 * carbon_dioxide_from_oxygen(budget.oxygen.demand_mean_g_h, k);
    co2.production_peak_g_h = carbon_dioxide_from_oxygen(budget.oxygen.demand_peak_g_h, k);
    co2.in_air_mg_l =
        carbon_dioxide_in_air_mg_l(water_at(tank, budget.peak_temperature_c, pressure_kpa), k);
    for (const Aerator& aerator : tank.aeration) {
        co2.stripping_m3_h += stripping_m3_h(aerator, budget.peak_temperature_c, k);
    }
    const double flow_m3_h = supply.flow_m3_h;
    co2.inflow_known =
        flow_m3_h > 0 && supply.carbon_dioxide_mg_l.has_value() && !supply.carbon_dioxide_is_least;
    if (flow_m3_h > 0) {
        co2.inflow_mg_l = formulas::after_fall(
            co2.in_air_mg_l, supply.carbon_dioxide_mg_l.value_or(co2.in_air_mg_l),
            cascades_leave(tank.aeration, budget.peak_temperature_c, k).of_carbon_dioxide);
    }
    if (flow_m3_h + co2.stripping_m3_h > 0 &&
        !(flow_m3_h > 0 && supply.carbon_dioxide_without_end)) {
        co2.balance_mg_l = formulas::carbon_dioxide_balance_mg_l(
            flow_m3_h, co2.inflow_mg_l.value_or(0), co2.stripping_m3_h, co2.in_air_mg_l,
            co2.production_peak_g_h);
        co2.balance_judged = flow_m3_h == 0 || co2.inflow_known;
    } else if (flow_m3_h == 0 && !(co2.production_peak_g_h <= 0)) {
        // Nothing takes it out: it gathers from what was read.
        co2.gathers_mg_l_h = co2.production_peak_g_h / budget.water_m3;
    }
    co2.measured_mg_l = tank.readings.carbon_dioxide_mg_l;
    if (tank.water.alkalinity_mg_l) {
        const double alkalinity_mg_l = *tank.water.alkalinity_mg_l;
        if (tank.water.ph) {
            co2.from_ph_mg_l = if_number(
                carbon_dioxide_mg_l({budget.temperature_c, alkalinity_mg_l}, *tank.water.ph));
            co2.from_ph_judged = *tank.water.ph <= kPhDoubtHigh;
            budget.ph_contradicts_alkalinity = !co2.from_ph_mg_l;
        }
    }
}

}  // namespace

double after_falls_mg_l(const Tank& tank, const TankBudget& budget, double inflow_mg_l) {
    return formulas::after_fall(
        budget.oxygen.saturation_peak_mg_l, inflow_mg_l,
        cascades_leave(tank.aeration, budget.peak_temperature_c, tank.coefficients)
            .of_oxygen_deficit);
}

Transfer transfer_of(std::span<const Aerator> aeration, double temperature_c,
                     double saturation_mg_l, const Coefficients& k) {
    Transfer sum;
    for (const Aerator& aerator : aeration) {
        const double k_m3_h = field_transfer_m3_h(aerator, temperature_c, k);
        sum.k_m3_h += k_m3_h;
        sum.full_g_h += k_m3_h * aerator.beta.value_or(k.beta) * saturation_mg_l;
        sum.pure_g_h += pure_oxygen_g_h(aerator, k);
    }
    return sum;
}

namespace {

TankBudget oxygen_of(const Tank& tank, const SupplyWater& supply, const TankLimits& limits,
                     double pressure_kpa) {
    TankBudget budget{};
    budget.tank = tank.name;
    budget.temperature_c = tank.water.temperature_c;
    budget.peak_temperature_c = peak_temperature(tank);
    budget.volume_l = tank.volume_l;
    budget.flow_m3_h = supply.flow_m3_h;
    add_fish(tank, budget);
    add_oxygen(tank, supply, limits, pressure_kpa, budget);
    return budget;
}

}  // namespace

std::optional<double> steady_oxygen_mg_l(const Tank& tank, const SupplyWater& supply,
                                         double pressure_kpa) {
    return oxygen_of(tank, supply, limits_of(tank), pressure_kpa).oxygen.steady_mean_mg_l;
}

TankBudget balance_of(const Tank& tank, const SupplyWater& supply, double pressure_kpa) {
    const TankLimits limits = limits_of(tank);
    TankBudget budget = oxygen_of(tank, supply, limits, pressure_kpa);
    if (!budget.groups.empty()) add_reserve(tank, supply, limits, budget);
    add_ammonia(tank, supply, limits, pressure_kpa, budget);
    add_carbon_dioxide(tank, supply, pressure_kpa, budget);
    budget.inflow_ph_contradicts_alkalinity = supply.ph_contradicts_alkalinity;
    budget.inflow = supply.parts;
    return budget;
}

std::optional<double> estimated_ph(const Tank& tank, const TankBudget& budget) noexcept {
    if (!tank.water.alkalinity_mg_l || !budget.carbon_dioxide.balance_mg_l) return std::nullopt;
    return if_number(
        ph_from_carbon_dioxide({budget.peak_temperature_c, *tank.water.alkalinity_mg_l},
                               *budget.carbon_dioxide.balance_mg_l));
}

SitePressure site_pressure(const Site& site) noexcept {
    if (!site.altitude_m) {
        const double alone_kpa = site.barometric_pressure_kpa.value_or(kNotANumber);
        return {alone_kpa, false, alone_kpa >= kSeaLevelPressure};
    }
    const double standard_kpa = standard_pressure_kpa(*site.altitude_m);
    if (!site.barometric_pressure_kpa) return {standard_kpa, false};
    const double read_kpa = *site.barometric_pressure_kpa;
    const bool doubtful = std::abs(read_kpa - standard_kpa) > kPressureDoubt;
    return {doubtful ? smaller_of(read_kpa, standard_kpa) : read_kpa, doubtful};
}

std::span<const Constant> budget_sources() noexcept { return kSources; }

}  // namespace coldtank
