#include "coldtank/loop.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "assumed.hpp"
#include "balance.hpp"
#include "changes.hpp"
#include "formulas.hpp"
#include "halve.hpp"
#include "judgement.hpp"

namespace coldtank {
namespace {

constexpr Constant kStarvedOxygen{"oxygen below which a filter starves", 2, "mg/L",
                                  Basis::common_practice, "recirculating practice"};
constexpr Constant kColdFilter{"temperature below which a filter is slow", 8, "degC",
                               Basis::judgement, "few data below"};
constexpr Constant kLeastExchange{"exchange a day that is none, under", 0.001, "of the volume",
                                  Basis::judgement, "splash and wet hands"};
constexpr Constant kNitrateDays{"days to the nitrate limit without exchange, under", 14, "days",
                                Basis::judgement, "two weeks to act"};
constexpr Constant kYoungFilter{"maturity in doubt, under", 30, "%", Basis::judgement,
                                "nobody knows how far it has started"};
constexpr Constant kLeafyFeedLow{"feed per bed, leafy, least", 40, "g/m2/day", Basis::published,
                                 "FAO Technical Paper 589, at 32 % protein"};
constexpr Constant kLeafyFeedHigh{"feed per bed, leafy, most", 50, "g/m2/day", Basis::published,
                                  "FAO Technical Paper 589, at 32 % protein"};
constexpr Constant kFruitingFeedLow{"feed per bed, fruiting, least", 50, "g/m2/day",
                                    Basis::published, "FAO Technical Paper 589, at 32 % protein"};
constexpr Constant kFruitingFeedHigh{"feed per bed, fruiting, most", 80, "g/m2/day",
                                     Basis::published, "FAO Technical Paper 589, at 32 % protein"};
constexpr Constant kPlantFeedProtein{"protein of those feed rates", 32, "%", Basis::published,
                                     "FAO Technical Paper 589; scaled by protein (judgement)"};

constexpr std::array kSources{
    kSodiumPerNaHCO3,    kNaHCO3PerCaCO3,  kKHCO3PerCaCO3,    kCaOH2PerCaCO3,
    formulas::kRatedTan, kLeastExchange,   kNitrateDays,      kYoungFilter,
    kStoppedHours,       kStarvedOxygen,   kColdFilter,       kLeafyFeedLow,
    kLeafyFeedHigh,      kFruitingFeedLow, kFruitingFeedHigh, kPlantFeedProtein,
};

constexpr double kNegligible = 1e-12;  // of a sum of flows: a matrix without a root

double peak_of(const Water& water) {
    return water.peak_temperature_c.value_or(water.temperature_c);
}

// Water of the vessel, as salty as the saltiest tank it flows through: the safe side.
WaterState vessel_water(double temperature_c, double salinity_g_kg, double pressure_kpa) {
    return {.temperature_c = temperature_c,
            .salinity_g_kg = salinity_g_kg,
            .pressure_kpa = pressure_kpa};
}

// ---- TAN

// What the filter takes at most, g/day.
double filter_capacity_g_day(const Loop& loop) {
    if (!loop.biofilter) return 0;
    const Biofilter& filter = *loop.biofilter;
    const Coefficients& k = loop.coefficients;
    if (filter.removal_g_day) {
        return formulas::filter_by_removal_g_day(filter.maturity_percent, *filter.removal_g_day, k);
    }
    return formulas::filter_by_area_g_day(
        filter.maturity_percent, filter.media_area_m2.value_or(0),
        formulas::filter_rate_g_m2_day(loop.water.temperature_c, k));
}

// Supply TAN M: brought = A x / (half + x) + E M with x = M - least; the root that is not negative.
std::optional<double> supply_tan(double capacity_g_day, double exchange_m3_day,
                                 double brought_g_day, const Coefficients& k) {
    const double least = k.filter_least_tan_mg_l;
    if (brought_g_day <= exchange_m3_day * least) {  // below what a filter can take
        return exchange_m3_day > 0 ? brought_g_day / exchange_m3_day : 0;
    }
    const double half = k.filter_half_saturation_mg_l;
    const double left_g_day = brought_g_day - exchange_m3_day * least;
    if (exchange_m3_day == 0) {
        if (!(left_g_day < capacity_g_day)) return std::nullopt;
        return least + half * left_g_day / (capacity_g_day - left_g_day);
    }
    const double b = capacity_g_day + half * exchange_m3_day - left_g_day;
    const double root = std::sqrt(b * b + 4 * exchange_m3_day * half * left_g_day);
    // Without cancellation on either side.
    return least +
           (b > 0 ? 2 * half * left_g_day / (b + root) : (root - b) / (2 * exchange_m3_day));
}

void add_tan(const Loop& loop, LoopBudget& budget) {
    budget.filter_capacity_g_day = filter_capacity_g_day(loop);
    const double makeup_g_day = budget.exchange_m3_day * loop.makeup.tan_mg_l;
    budget.supply_tan_mg_l =
        supply_tan(budget.filter_capacity_g_day, budget.exchange_m3_day,
                   budget.tan_production_g_day + makeup_g_day, loop.coefficients);
    budget.nitrified_g_day = budget.filter_capacity_g_day;
    if (const auto supply = budget.supply_tan_mg_l) {
        if (budget.flow_m3_h > 0) {
            budget.return_tan_mg_l =
                formulas::steady_tan_mg_l(*supply, budget.tan_production_g_day, budget.flow_m3_h);
        }
        budget.nitrified_g_day =
            formulas::nitrified_g_day(budget.filter_capacity_g_day, *supply, loop.coefficients);
        budget.exchanged_g_day =
            formulas::exchanged_g_day(budget.exchange_m3_day, *supply, loop.makeup.tan_mg_l);
    }
}

// ---- oxygen

// Supply oxygen with everything at the mean or at the peak; none without a root.
std::optional<double> supply_oxygen(const Loop& loop, const WaterState& vessel,
                                    const Linear& returned, const LoopBudget& budget) {
    const double saturation_mg_l = oxygen_saturation_mg_l(vessel);
    if (loop.supply_oxygen_percent) return *loop.supply_oxygen_percent / 100 * saturation_mg_l;
    const double q = budget.flow_m3_h;
    const Coefficients& k = loop.coefficients;
    const Transfer air = transfer_of(loop.aeration, vessel.temperature_c, saturation_mg_l, k);
    const double left = cascades_leave(loop.aeration, vessel.temperature_c, k).of_oxygen_deficit;
    const double denominator = q + air.k_m3_h - left * returned.slope;
    if (denominator <= kNegligible * (q + air.k_m3_h)) return std::nullopt;
    return (left * returned.fixed + q * saturation_mg_l * (1 - left) + air.full_g_h + air.pure_g_h -
            budget.filter_oxygen_g_h) /
           denominator;
}

// ---- carbon dioxide

std::optional<double> supply_carbon_dioxide(const Loop& loop, const WaterState& vessel,
                                            const Linear& returned, const LoopBudget& budget) {
    const Coefficients& k = loop.coefficients;
    const double in_air = carbon_dioxide_in_air_mg_l(vessel, k);
    const double kept = 1 - loop.degasser_percent.value_or(0) / 100;
    // The supply as a function of the vessel.
    const Linear supply{in_air * (1 - kept), kept};
    double stripping_m3_h = 0;
    for (const Aerator& aerator : loop.aeration) {
        stripping_m3_h += coldtank::stripping_m3_h(aerator, vessel.temperature_c, k);
    }
    const double left = cascades_leave(loop.aeration, vessel.temperature_c, k).of_carbon_dioxide;
    const double q = budget.flow_m3_h;
    const double denominator = q + stripping_m3_h - left * returned.slope * supply.slope;
    if (denominator <= kNegligible * (q + stripping_m3_h)) return std::nullopt;
    const double made_g_h =
        formulas::filter_carbon_dioxide_g_h(budget.nitrified_g_day, budget.feed_g_day, k);
    const double in_vessel = (left * returned.at(supply.fixed) + q * in_air * (1 - left) +
                              made_g_h + stripping_m3_h * in_air) /
                             denominator;
    return supply.at(in_vessel);
}

// ---- nitrate, alkalinity

void add_nitrate(const Loop& loop, LoopBudget& budget) {
    const Coefficients& k = loop.coefficients;
    const double made_g_day = formulas::nitrate_made_g_day(budget.nitrified_g_day, k);
    const double there_g_day =
        formulas::nitrate_there_g_day(made_g_day, budget.exchange_m3_day, loop.makeup.nitrate_mg_l);
    budget.planted = loop.plants.has_value();
    if (loop.plants) {
        const double g_m2_day = loop.plants->crop == Crop::leafy ? k.leafy_nitrate_g_m2_day
                                                                 : k.fruiting_nitrate_g_m2_day;
        budget.plants_g_day = smaller_of(loop.plants->bed_area_m2 * g_m2_day, there_g_day);
    }
    if (budget.exchange_m3_day > 0) {
        budget.nitrate_mg_l =
            formulas::nitrate_mg_l(there_g_day, budget.plants_g_day, budget.exchange_m3_day);
    } else if (budget.volume_m3 > 0) {
        budget.nitrate_rise_mg_l_day = (made_g_day - budget.plants_g_day) / budget.volume_m3;
        const double room_mg_l = not_below_zero(limits_of(loop).nitrate_warn_mg_l -
                                                loop.readings.nitrate_mg_l.value_or(0));
        if (*budget.nitrate_rise_mg_l_day > 0) {
            budget.nitrate_days_to_warn = room_mg_l / *budget.nitrate_rise_mg_l_day;
        }
    }
    budget.alkalinity_demand_g_day = formulas::alkalinity_demand_g_day(budget.nitrified_g_day, k);
    budget.alkalinity_dose_g_day = formulas::alkalinity_dose_g_day(
        budget.alkalinity_demand_g_day, budget.plants_g_day, budget.exchange_m3_day,
        loop.makeup.alkalinity_mg_l, loop.water.alkalinity_mg_l.value_or(k.alkalinity_assumed_mg_l),
        k);
    budget.sodium_g_day = budget.alkalinity_dose_g_day * kNaHCO3PerCaCO3 * kSodiumPerNaHCO3;
}

// ---- checks

Check biofilter_check(const Loop& loop, const TankLimits& limits, const LoopBudget& budget) {
    Check check = new_check(CheckId::biofilter);
    check.warn.high = limits.tan_warn_mg_l;
    check.fail.high = limits.tan_fail_mg_l;
    check.own_limit = loop.limits.tan_warn_mg_l || loop.limits.tan_fail_mg_l;
    if (budget.supply_tan_mg_l) {
        judge_upper(check, *budget.supply_tan_mg_l);
    } else {
        check.exhausted = true;
        add_reason(check, {Reason::rises_without_end, Status::fail, {}, {}});
    }
    if (loop.biofilter && loop.biofilter->maturity_percent < 100) {
        add_reason(check,
                   {Reason::filter_age, Status::warn, loop.biofilter->maturity_percent, 100});
    }
    if (loop.water.temperature_c < kColdFilter) {
        add_reason(check,
                   {Reason::filter_cold, Status::warn, loop.water.temperature_c, kColdFilter});
    }
    // Without oxygen a filter is none.
    if (budget.filter_starved) {
        add_reason(check, {Reason::filter_starved, Status::fail, budget.supply_oxygen_peak_mg_l,
                           kStarvedOxygen});
    }
    return check;
}

Check loop_flow_check(const LoopSums& sums) {
    Check check = new_check(CheckId::loop_flow);
    if (sums.tanks == 0) {
        check.missing = "a tank with flow_l_min on this loop";
        return check;
    }
    check.own_limit = sums.own_limit;
    check.warn = sums.added_warn;
    check.fail = sums.added_fail;
    judge_upper(check, sums.added_tan_mg_l);
    return check;
}

Check nitrate_check(const Loop& loop, const TankLimits& limits, const LoopBudget& budget) {
    Check check = new_check(CheckId::nitrate);
    check.warn.high = limits.nitrate_warn_mg_l;
    check.own_limit = loop.limits.nitrate_warn_mg_l.has_value();
    if (const auto worst = larger_of(loop.readings.nitrate_mg_l, budget.nitrate_mg_l)) {
        judge_upper(check, *worst);
    } else {
        check.missing = "the loop's water.nitrate_mg_l, or an exchange_l_day";
    }
    // Without exchange it only gathers.
    if (const auto days = budget.nitrate_days_to_warn) {
        const bool soon = !(*days >= kNitrateDays);
        if (soon) {
            add_reason(check, {Reason::days_to_warn, Status::warn, *days, kNitrateDays});
            check.missing = {};
        }
        if (*days > 0 && (soon || check.value)) {
            check.used_percent = larger_of(check.used_percent, 100 * kNitrateDays / *days);
        }
        // No day is left of a limit that is reached.
        check.exhausted = check.exhausted || *days == 0;
        if (check.exhausted) check.used_percent.reset();
    }
    return check;
}

Check alkalinity_check(const Loop& loop, const TankLimits& limits) {
    Check check = new_check(CheckId::alkalinity);
    check.warn.low = limits.alkalinity_warn_mg_l;
    check.fail.low = limits.alkalinity_fail_mg_l;
    check.own_limit = loop.limits.alkalinity_warn_mg_l || loop.limits.alkalinity_fail_mg_l;
    if (!loop.water.alkalinity_mg_l) {
        check.missing = "the loop's water.alkalinity_mg_l";
        return check;
    }
    const double value = *loop.water.alkalinity_mg_l;
    judge_value(check, value);
    if (value > 0) check.used_percent = 100 * *check.warn.low / value;
    return check;
}

Check plants_check(const Loop& loop, const LoopSums& sums) {
    Check check = new_check(CheckId::plants);
    const double protein = sums.feed_g_day > 0 ? sums.protein_g_day / sums.feed_g_day
                                               : loop.coefficients.protein_percent;
    const double scale = kPlantFeedProtein / protein;
    const bool leafy = loop.plants->crop == Crop::leafy;
    check.warn = {scale * (leafy ? kLeafyFeedLow : kFruitingFeedLow),
                  scale * (leafy ? kLeafyFeedHigh : kFruitingFeedHigh)};
    judge_value(check, sums.feed_g_day / loop.plants->bed_area_m2);
    return check;
}

// All oxygen there is against all that is needed, where nothing else tells.
SupplyWater::Oxygen without_air(const Loop& loop, const LoopSums& sums, const LoopBudget& budget) {
    const double pure_g_h =
        sums.pure_oxygen_g_h +
        transfer_of(loop.aeration, loop.water.temperature_c, 0, loop.coefficients).pure_g_h;
    const double needed_g_h = budget.filter_oxygen_g_h + sums.demand_peak_g_h;
    return pure_g_h >= needed_g_h ? SupplyWater::Oxygen::unknown : SupplyWater::Oxygen::failing;
}

// What comes back of a tank, as a function of what it is sent.
Linear returned_oxygen(const Tank& tank, double q, double temperature_c, double saturation_mg_l,
                       double demand_g_h) {
    const Coefficients& k = tank.coefficients;
    const Transfer air = transfer_of(tank.aeration, temperature_c, saturation_mg_l, k);
    const double left = cascades_leave(tank.aeration, temperature_c, k).of_oxygen_deficit;
    return {.fixed = q *
                     (q * saturation_mg_l * (1 - left) + air.full_g_h + air.pure_g_h - demand_g_h) /
                     (q + air.k_m3_h),
            .slope = q * q * left / (q + air.k_m3_h)};
}

Linear returned_carbon_dioxide(const Tank& tank, double q, const TankBudget& budget) {
    const CarbonDioxideBudget& co2 = budget.carbon_dioxide;
    const double left = cascades_leave(tank.aeration, budget.peak_temperature_c, tank.coefficients)
                            .of_carbon_dioxide;
    const double total = q + co2.stripping_m3_h;
    return {.fixed = q *
                     (q * co2.in_air_mg_l * (1 - left) + co2.stripping_m3_h * co2.in_air_mg_l +
                      co2.production_peak_g_h) /
                     total,
            .slope = q * q * left / total};
}

}  // namespace

void judge(const Loop& loop, const LoopSums& sums, LoopBudget& budget) {
    list_assumptions(loop, budget);
    const TankLimits limits = limits_of(loop);
    std::vector<Check>& checks = budget.checks;
    checks.push_back(biofilter_check(loop, limits, budget));
    checks.push_back(loop_flow_check(sums));
    if (loop.readings.nitrite_mg_l) {
        checks.push_back(nitrite_check(loop.readings));
        judge_upper(checks.back(), *loop.readings.nitrite_mg_l);
    } else {
        checks.push_back(new_check(CheckId::nitrite));
        checks.back().missing = "the loop's water.nitrite_mg_l";
    }
    checks.push_back(nitrate_check(loop, limits, budget));
    checks.push_back(alkalinity_check(loop, limits));
    if (loop.plants) checks.push_back(plants_check(loop, sums));
    if (loop.makeup.chlorine_mg_l) {
        checks.push_back(chlorine_check(*loop.makeup.chlorine_mg_l));
        judge_upper(checks.back(), *loop.makeup.chlorine_mg_l);
    }
    if (!budget.doubts.empty()) checks.push_back(doubt_check(budget.doubts.size()));
    const Verdict verdict = verdict_of(checks);
    budget.verdict = verdict.worst;
    budget.first_limit = verdict.first_limit;
}

void LoopSums::add(const LoopSums& other) {
    tanks += other.tanks;
    flow_m3_h += other.flow_m3_h;
    volume_m3 += other.volume_m3;
    feed_g_day += other.feed_g_day;
    protein_g_day += other.protein_g_day;
    tan_g_day += other.tan_g_day;
    solids_g_day += other.solids_g_day;
    salinity_g_kg = larger_of(salinity_g_kg, other.salinity_g_kg);
    for (Linear LoopSums::*sum :
         {&LoopSums::oxygen_g_h, &LoopSums::oxygen_peak_g_h, &LoopSums::carbon_dioxide_g_h}) {
        (this->*sum).fixed += (other.*sum).fixed;
        (this->*sum).slope += (other.*sum).slope;
    }
    pure_oxygen_g_h += other.pure_oxygen_g_h;
    demand_peak_g_h += other.demand_peak_g_h;
    const bool first = tanks == other.tanks;
    const bool worse_added = first || other.added_status > added_status ||
                             (other.added_status == added_status && !std::isnan(added_used) &&
                              !(other.added_used <= added_used));
    own_limit = own_limit || other.own_limit;
    if (other.tanks > 0 && worse_added) {
        added_status = other.added_status;
        added_tan_mg_l = other.added_tan_mg_l;
        added_warn = other.added_warn;
        added_fail = other.added_fail;
        added_used = other.added_used;
    }
}

LoopSums sums_of(const Tank& tank, double pressure_kpa) {
    LoopSums sums;
    const double q = formulas::flow_m3_h(tank.loop->flow_l_min);
    if (q == 0) return sums;
    // Demands and wastes do not depend on what flows in.
    const TankBudget budget = balance_of(tank, {}, pressure_kpa);
    const OxygenBudget& oxygen = budget.oxygen;
    sums.tanks = 1;
    sums.flow_m3_h = q;
    sums.volume_m3 = tank.volume_l / 1000;
    sums.feed_g_day = budget.ration_g_day;
    sums.protein_g_day =
        budget.ration_g_day * tank.feed.protein_percent.value_or(tank.coefficients.protein_percent);
    sums.tan_g_day = budget.ammonia.tan_production_g_day;
    sums.solids_g_day = budget.solids_g_day;
    sums.salinity_g_kg = tank.water.salinity_g_kg;
    sums.oxygen_g_h = returned_oxygen(tank, q, budget.temperature_c, oxygen.saturation_mg_l,
                                      oxygen.demand_mean_g_h);
    sums.oxygen_peak_g_h = returned_oxygen(tank, q, budget.peak_temperature_c,
                                           oxygen.saturation_peak_mg_l, oxygen.demand_peak_g_h);
    sums.carbon_dioxide_g_h = returned_carbon_dioxide(tank, q, budget);
    for (const Aerator& aerator : tank.aeration) {
        sums.pure_oxygen_g_h += pure_oxygen_g_h(aerator, tank.coefficients);
    }
    sums.demand_peak_g_h = oxygen.demand_peak_g_h;
    const Limits& own = tank.limits;
    sums.own_limit =
        own.tan_warn_mg_l || own.tan_fail_mg_l || own.nh3_warn_mg_l || own.nh3_fail_mg_l;
    const TankLimits limits = limits_of(tank);
    sums.added_warn.high = limits.tan_warn_mg_l;
    sums.added_fail.high = limits.tan_fail_mg_l;
    if (const auto fraction = budget.ammonia.unionised_fraction) {
        sums.added_warn.high = smaller_of(
            *sums.added_warn.high,
            tan_at_nh3_mg_l({.nh3_mg_l = limits.nh3_warn_mg_l, .unionised_fraction = *fraction}));
        sums.added_fail.high = smaller_of(
            *sums.added_fail.high,
            tan_at_nh3_mg_l({.nh3_mg_l = limits.nh3_fail_mg_l, .unionised_fraction = *fraction}));
    }
    sums.added_tan_mg_l = sums.tan_g_day / (24 * q);
    sums.added_status = status_of(sums.added_tan_mg_l, sums.added_warn, sums.added_fail);
    sums.added_used = *sums.added_warn.high > 0 ? sums.added_tan_mg_l / *sums.added_warn.high
                      : sums.added_tan_mg_l > 0 ? HUGE_VAL
                                                : 0;
    return sums;
}

SolvedLoop solve_loop(const Loop& loop, double pressure_kpa, const LoopSums& sums) {
    SolvedLoop solved{};
    LoopBudget& budget = solved.budget;
    SupplyWater& supply = solved.supply;
    budget.loop = loop.name;
    budget.flow_m3_h = sums.flow_m3_h;
    budget.volume_m3 = sums.volume_m3;
    budget.feed_g_day = sums.feed_g_day;
    budget.tan_production_g_day = sums.tan_g_day;
    budget.solids_g_day = sums.solids_g_day;
    budget.exchange_m3_day = loop.exchange_l_day / 1000;
    if (budget.exchange_m3_day < kLeastExchange * budget.volume_m3) budget.exchange_m3_day = 0;

    add_tan(loop, budget);
    budget.filter_oxygen_g_h =
        formulas::filter_oxygen_g_h(budget.nitrified_g_day, budget.feed_g_day, loop.coefficients);
    supply.recirculated = true;
    supply.tan_mg_l = budget.supply_tan_mg_l.value_or(0);
    supply.tan_without_end = !budget.supply_tan_mg_l;
    if (sums.tanks > 0) {
        const WaterState mean =
            vessel_water(loop.water.temperature_c, sums.salinity_g_kg, pressure_kpa);
        const WaterState peak = vessel_water(peak_of(loop.water), sums.salinity_g_kg, pressure_kpa);
        const auto at_mean = supply_oxygen(loop, mean, sums.oxygen_g_h, budget);
        const auto at_peak = supply_oxygen(loop, peak, sums.oxygen_peak_g_h, budget);
        if (at_mean && at_peak) {
            supply.oxygen_mg_l = *at_mean;
            supply.oxygen_resting_mg_l = *at_mean;
            supply.oxygen_peak_mg_l = *at_peak;
            budget.supply_oxygen_mg_l = not_below_zero(*at_mean);
            budget.supply_oxygen_peak_mg_l = not_below_zero(*at_peak);
        } else {
            supply.oxygen = without_air(loop, sums, budget);
        }
        budget.filter_starved = supply.oxygen == SupplyWater::Oxygen::failing ||
                                (budget.supply_oxygen_peak_mg_l &&
                                 !(*budget.supply_oxygen_peak_mg_l >= kStarvedOxygen));
        supply.carbon_dioxide_mg_l =
            supply_carbon_dioxide(loop, peak, sums.carbon_dioxide_g_h, budget);
        supply.carbon_dioxide_without_end = !supply.carbon_dioxide_mg_l;
        budget.supply_carbon_dioxide_mg_l = supply.carbon_dioxide_mg_l;
    }
    add_nitrate(loop, budget);
    return solved;
}

SupplyWater supply_of(const SolvedLoop& solved, const Tank& tank) {
    if (tank.loop->flow_l_min == 0) return {};
    SupplyWater supply = solved.supply;
    supply.flow_m3_h = formulas::flow_m3_h(tank.loop->flow_l_min);
    return supply;
}

// ---- what a filter bears

std::optional<FeedBearable> feed_bearable(const System& system, const SystemBudget& budget) {
    if (!system.loop || budget.loop->feed_g_day == 0 ||
        find_check(*budget.loop, CheckId::biofilter)->status == Status::pass) {
        return std::nullopt;
    }
    const Loop& loop = *system.loop;
    const auto holds = [&](double feed_g_day) {
        const System fed = fed_with(system, budget, feed_g_day);
        LoopSums sums;
        for (const Tank& tank : fed.tanks) sums.add(sums_of(tank, fed.pressure_kpa));
        const SolvedLoop solved = solve_loop(loop, fed.pressure_kpa, sums);
        if (!(solved.budget.supply_tan_mg_l <= limits_of(loop).tan_warn_mg_l) ||
            !solved.budget.supply_tan_mg_l) {
            return false;
        }
        return std::all_of(fed.tanks.begin(), fed.tanks.end(), [&](const Tank& tank) {
            if (tank.loop->flow_l_min == 0) return true;
            const TankLimits limits = limits_of(tank);
            const AmmoniaBudget ammonia =
                balance_of(tank, supply_of(solved, tank), fed.pressure_kpa).ammonia;
            return ammonia.tan_mg_l && *ammonia.tan_mg_l <= limits.tan_warn_mg_l &&
                   ammonia.nh3_mg_l.value_or(0) <= limits.nh3_warn_mg_l;
        });
    };
    double low = 0;
    double high = budget.loop->feed_g_day;
    while (high < kMost && holds(high)) {
        low = high;
        high *= 2;
    }
    constexpr int kHalvings = 60;  // to the last digits
    low = last_real(low, high, kHalvings, holds);
    FeedBearable bearable{low, std::nullopt};
    if (loop.water.temperature_c < kColdFilter ||
        (loop.biofilter && loop.biofilter->maturity_percent < kYoungFilter)) {
        bearable.careful_g_day = loop.coefficients.careful_feed_share * low;
    }
    return bearable;
}

bool filter_is_slow(const Loop& loop) noexcept {
    return (loop.biofilter && loop.biofilter->maturity_percent < 100) ||
           loop.water.temperature_c < kColdFilter;
}

std::span<const Constant> loop_sources() noexcept { return kSources; }

}  // namespace coldtank
