#include "coldtank/loop.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "judgement.hpp"

namespace coldtank {
namespace {

constexpr Constant kNitrificationSlope{
    "nitrification by temperature", 0.05368, "g/m2/day/degC", Basis::published,
    "line for trout reuse 5-22.5 degC, upper end, after Speece 1973"};
constexpr Constant kNitrificationOffset{
    "nitrification at 0 degC", -0.0859, "g/m2/day", Basis::published,
    "line for trout reuse 5-22.5 degC, upper end, after Speece 1973"};
constexpr Constant kHalfSaturation{"half-saturation of nitrification", 0.8, "mg/L (N)",
                                   Basis::from_memory, "recirculating texts"};
constexpr Constant kRatedTan{"TAN at which removal_g_day is stated", 1, "mg/L (N)",
                             Basis::judgement, "definition of the key"};
constexpr Constant kOxygenPerTan{"oxygen per TAN nitrified", 4.57, "g/g", Basis::published,
                                 "stoichiometry of nitrification"};
constexpr Constant kOxygenPerFeedInFilter{"oxygen of heterotrophs per feed", 0.100, "g/g",
                                          Basis::judgement,
                                          "whole systems are seen at 0.3-1.0 (published)"};
constexpr Constant kCo2PerTan{"carbon dioxide per TAN nitrified", 5.85, "g/g", Basis::published,
                              "alkalinity used up, stoichiometry"};
constexpr Constant kCo2PerFeedInFilter{"carbon dioxide of heterotrophs per feed", 0.1375, "g/g",
                                       Basis::judgement, "1.375 x 0.100"};
constexpr Constant kNitratePerTan{"nitrate per TAN nitrified", 0.976, "g/g", Basis::published,
                                  "stoichiometry: the rest becomes cells"};
constexpr Constant kLeafyUptake{"nitrate taken by leafy plants", 0.5, "g N/m2/day",
                                Basis::published, "range 0.3-0.8"};
constexpr Constant kFruitingUptake{"nitrate taken by fruiting plants", 0.8, "g N/m2/day",
                                   Basis::judgement, "above leafy"};
constexpr Constant kAlkalinityPerTan{"alkalinity per TAN nitrified", 7.14, "g CaCO3/g",
                                     Basis::published, "stoichiometry of nitrification"};
constexpr Constant kAlkalinityPerNitrate{"alkalinity given back per nitrate taken by plants", 3.57,
                                         "g CaCO3/g", Basis::published, "one equivalent a mole"};
constexpr Constant kAssumedAlkalinity{"alkalinity held where none is measured", 50, "mg/L (CaCO3)",
                                      Basis::judgement, "the warn limit"};
constexpr Constant kStarvedOxygen{"oxygen below which a filter starves", 2, "mg/L",
                                  Basis::common_practice, "recirculating practice"};
constexpr Constant kColdFilter{"temperature below which a filter is slow", 8, "degC",
                               Basis::judgement, "few data below"};
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
    kSodiumPerNaHCO3,      kNaHCO3PerCaCO3,        kKHCO3PerCaCO3,   kCaOH2PerCaCO3,
    kNitrificationSlope,   kNitrificationOffset,   kHalfSaturation,  kRatedTan,
    kOxygenPerTan,         kOxygenPerFeedInFilter, kCo2PerTan,       kCo2PerFeedInFilter,
    kNitratePerTan,        kLeafyUptake,           kFruitingUptake,  kAlkalinityPerTan,
    kAlkalinityPerNitrate, kAssumedAlkalinity,     kStarvedOxygen,   kColdFilter,
    kLeafyFeedLow,         kLeafyFeedHigh,         kFruitingFeedLow, kFruitingFeedHigh,
    kPlantFeedProtein,
};

constexpr double kNegligible = 1e-12;  // of a sum of flows: a matrix without a root

// A concentration that is linear in the one unknown of the loop: fixed + slope x.
struct Linear {
    double fixed = 0;
    double slope = 0;
    double at(double x) const { return fixed + slope * x; }
};

double peak_of(const Water& water) {
    return water.peak_temperature_c.value_or(water.temperature_c);
}

// A tank on the loop with flow, and its budget on any supply: demands and wastes do not depend on
// it.
struct Member {
    const Tank* tank;
    const TankBudget* budget;
    double flow_m3_h;
};

WaterState vessel_water(const System& system, double temperature_c) {
    // As salty as the saltiest tank it flows through: the safe side.
    double salinity_g_kg = 0;
    for (const Tank& tank : system.tanks) {
        if (tank.loop->flow_l_min > 0) {
            salinity_g_kg = std::max(salinity_g_kg, tank.water.salinity_g_kg);
        }
    }
    return {.temperature_c = temperature_c,
            .salinity_g_kg = salinity_g_kg,
            .pressure_kpa = system.pressure_kpa};
}

// What falls through cascades: oxygen deficit, or carbon dioxide above the air's, that is left.
double left_by_cascades(std::span<const Aerator> aeration, double temperature_c, bool oxygen) {
    double left = 1;
    for (const Aerator& aerator : aeration) {
        if (const auto* cascade = std::get_if<Cascade>(&aerator.kind)) {
            left *= oxygen ? 1 / cascade_deficit_ratio(*cascade, temperature_c)
                           : 1 - cascade_stripped_share(*cascade, temperature_c);
        }
    }
    return left;
}

struct Transfer {
    double k_m3_h = 0;
    double full_g_h = 0;  // sum of K beta Cs
    double pure_g_h = 0;
};
Transfer transfer_of(std::span<const Aerator> aeration, double temperature_c,
                     double saturation_mg_l) {
    Transfer sum;
    for (const Aerator& aerator : aeration) {
        const double k = field_transfer_m3_h(aerator, temperature_c);
        sum.k_m3_h += k;
        sum.full_g_h += k * aerator.beta * saturation_mg_l;
        sum.pure_g_h += pure_oxygen_g_h(aerator);
    }
    return sum;
}

// ---- TAN

// What the filter takes at most, g/day.
double filter_capacity_g_day(const Loop& loop) {
    if (!loop.biofilter) return 0;
    const Biofilter& filter = *loop.biofilter;
    const double mature = filter.maturity_percent / 100;
    if (filter.removal_g_day) {
        return mature * *filter.removal_g_day * (kHalfSaturation + kRatedTan) / kRatedTan;
    }
    const double g_m2_day =
        std::max(0.0, kNitrificationSlope * loop.water.temperature_c + kNitrificationOffset);
    return mature * filter.media_area_m2.value_or(0) * g_m2_day;
}

// Supply TAN: production + E makeup = A M / (half + M) + E M; the root that is not negative.
std::optional<double> supply_tan(double capacity_g_day, double exchange_m3_day,
                                 double brought_g_day) {
    const double half = kHalfSaturation;
    if (exchange_m3_day == 0) {
        if (brought_g_day == 0) return 0;
        if (brought_g_day >= capacity_g_day) return std::nullopt;
        return half * brought_g_day / (capacity_g_day - brought_g_day);
    }
    const double b = capacity_g_day + half * exchange_m3_day - brought_g_day;
    const double root = std::sqrt(b * b + 4 * exchange_m3_day * half * brought_g_day);
    // Without cancellation on either side.
    return b > 0 ? 2 * half * brought_g_day / (b + root) : (root - b) / (2 * exchange_m3_day);
}

// The share of today's feed at which the worst tank is at its TAN limit.
double bearable_share(const LoopBudget& budget, const Loop& loop, std::span<const Member> members) {
    const auto holds = [&](double share) {
        const auto supply = supply_tan(
            budget.filter_starved ? 0 : budget.filter_capacity_g_day, budget.exchange_m3_day,
            share * budget.tan_production_g_day + budget.exchange_m3_day * loop.makeup.tan_mg_l);
        return supply && std::all_of(members.begin(), members.end(), [&](const Member& member) {
                   return *supply + share * member.budget->ammonia.tan_production_g_day /
                                        (24 * member.flow_m3_h) <=
                          limits_of(*member.tank).tan_warn_mg_l;
               });
    };
    double low = 0;
    double high = 1;
    for (int i = 0; i < 60; ++i) {
        const double middle = (low + high) / 2;
        (holds(middle) ? low : high) = middle;
    }
    return low;
}

void add_tan(const Loop& loop, LoopBudget& budget) {
    budget.filter_capacity_g_day = filter_capacity_g_day(loop);
    const double makeup_g_day = budget.exchange_m3_day * loop.makeup.tan_mg_l;
    budget.supply_tan_mg_l = supply_tan(budget.filter_capacity_g_day, budget.exchange_m3_day,
                                        budget.tan_production_g_day + makeup_g_day);
    budget.nitrified_g_day = budget.filter_capacity_g_day;
    if (const auto supply = budget.supply_tan_mg_l) {
        budget.return_tan_mg_l =
            budget.flow_m3_h > 0
                ? std::optional{*supply + budget.tan_production_g_day / (24 * budget.flow_m3_h)}
                : std::nullopt;
        budget.nitrified_g_day =
            budget.filter_capacity_g_day * *supply / (kHalfSaturation + *supply);
        budget.exchanged_g_day = budget.exchange_m3_day * (*supply - loop.makeup.tan_mg_l);
    }
}

// ---- oxygen

// Supply oxygen with everything at the mean or at the peak; none without a root.
std::optional<double> supply_oxygen(const System& system, std::span<const Member> members,
                                    const LoopBudget& budget, bool peak) {
    const Loop& loop = *system.loop;
    const double vessel_c = peak ? peak_of(loop.water) : loop.water.temperature_c;
    const double saturation_mg_l = oxygen_saturation_mg_l(vessel_water(system, vessel_c));
    if (loop.supply_oxygen_percent) return *loop.supply_oxygen_percent / 100 * saturation_mg_l;
    Linear returned;  // sum of Q C, g/h
    for (const Member& member : members) {
        const Tank& tank = *member.tank;
        const TankBudget& of = *member.budget;
        const double temperature_c = peak ? of.peak_temperature_c : of.temperature_c;
        const double full_mg_l = peak ? of.oxygen.saturation_peak_mg_l : of.oxygen.saturation_mg_l;
        const double demand_g_h = peak ? of.oxygen.demand_peak_g_h : of.oxygen.demand_mean_g_h;
        const Transfer air = transfer_of(tank.aeration, temperature_c, full_mg_l);
        const double left = left_by_cascades(tank.aeration, temperature_c, true);
        const double q = member.flow_m3_h;
        returned.slope += q * q * left / (q + air.k_m3_h);
        returned.fixed += q *
                          (q * full_mg_l * (1 - left) + air.full_g_h + air.pure_g_h - demand_g_h) /
                          (q + air.k_m3_h);
    }
    const double q = budget.flow_m3_h;
    const Transfer air = transfer_of(loop.aeration, vessel_c, saturation_mg_l);
    const double left = left_by_cascades(loop.aeration, vessel_c, true);
    const double denominator = q + air.k_m3_h - left * returned.slope;
    if (denominator <= kNegligible * (q + air.k_m3_h)) return std::nullopt;
    return (left * returned.fixed + q * saturation_mg_l * (1 - left) + air.full_g_h + air.pure_g_h -
            budget.filter_oxygen_g_h) /
           denominator;
}

// ---- carbon dioxide

std::optional<double> supply_carbon_dioxide(const System& system, std::span<const Member> members,
                                            const LoopBudget& budget) {
    const Loop& loop = *system.loop;
    const double vessel_c = peak_of(loop.water);
    const double in_air = carbon_dioxide_in_air_mg_l(vessel_water(system, vessel_c));
    const double kept = 1 - loop.degasser_percent.value_or(0) / 100;
    // The supply as a function of the vessel, then what comes back of it.
    const Linear supply{in_air * (1 - kept), kept};
    Linear returned;
    for (const Member& member : members) {
        const CarbonDioxideBudget& of = member.budget->carbon_dioxide;
        const double left =
            left_by_cascades(member.tank->aeration, member.budget->peak_temperature_c, false);
        const double q = member.flow_m3_h;
        const double total = q + of.stripping_m3_h;
        returned.slope += q * q * left * supply.slope / total;
        returned.fixed += q *
                          (q * (of.in_air_mg_l * (1 - left) + left * supply.fixed) +
                           of.stripping_m3_h * of.in_air_mg_l + of.production_peak_g_h) /
                          total;
    }
    double stripping_m3_h = 0;
    for (const Aerator& aerator : loop.aeration)
        stripping_m3_h += coldtank::stripping_m3_h(aerator, vessel_c);
    const double left = left_by_cascades(loop.aeration, vessel_c, false);
    const double q = budget.flow_m3_h;
    const double denominator = q + stripping_m3_h - left * returned.slope;
    if (denominator <= kNegligible * (q + stripping_m3_h)) return std::nullopt;
    const double made_g_h =
        (kCo2PerTan * budget.nitrified_g_day + kCo2PerFeedInFilter * budget.feed_g_day) / 24;
    const double vessel =
        (left * returned.fixed + q * in_air * (1 - left) + made_g_h + stripping_m3_h * in_air) /
        denominator;
    return supply.at(vessel);
}

// ---- nitrate, alkalinity

void add_nitrate(const Loop& loop, LoopBudget& budget) {
    const double made_g_day = kNitratePerTan * budget.nitrified_g_day;
    const double there_g_day = made_g_day + budget.exchange_m3_day * loop.makeup.nitrate_mg_l;
    budget.planted = loop.plants.has_value();
    if (loop.plants) {
        const double g_m2_day = loop.plants->crop == Crop::leafy ? kLeafyUptake : kFruitingUptake;
        budget.plants_g_day = std::min(loop.plants->bed_area_m2 * g_m2_day, there_g_day);
    }
    if (budget.exchange_m3_day > 0) {
        budget.nitrate_mg_l =
            loop.makeup.nitrate_mg_l + (made_g_day - budget.plants_g_day) / budget.exchange_m3_day;
    } else if (budget.volume_m3 > 0) {
        budget.nitrate_rise_mg_l_day = (made_g_day - budget.plants_g_day) / budget.volume_m3;
        const double room_mg_l = std::max(
            0.0, limits_of(loop).nitrate_warn_mg_l - loop.readings.nitrate_mg_l.value_or(0));
        if (*budget.nitrate_rise_mg_l_day > 0) {
            budget.nitrate_days_to_warn = room_mg_l / *budget.nitrate_rise_mg_l_day;
        }
    }
    budget.alkalinity_demand_g_day = kAlkalinityPerTan * budget.nitrified_g_day;
    const double held_mg_l = loop.water.alkalinity_mg_l.value_or(kAssumedAlkalinity);
    budget.alkalinity_dose_g_day =
        std::max(0.0, budget.alkalinity_demand_g_day - kAlkalinityPerNitrate * budget.plants_g_day -
                          budget.exchange_m3_day * (loop.makeup.alkalinity_mg_l - held_mg_l));
    budget.sodium_g_day = budget.alkalinity_dose_g_day * kNaHCO3PerCaCO3 * kSodiumPerNaHCO3;
}

// ---- checks

Status beyond(double value, std::optional<double> warn, std::optional<double> fail) {
    if (fail && value > *fail) return Status::fail;
    return warn && value > *warn ? Status::warn : Status::pass;
}

void judge_upper(Check& check, double value) {
    check.value = value;
    check.status = beyond(value, check.warn.high, check.fail.high);
    if (check.warn.high && *check.warn.high > 0)
        check.used_percent = 100 * value / *check.warn.high;
    check.exhausted = value > 0 && check.warn.high == 0.0;
}

Check biofilter_check(const Loop& loop, const TankLimits& limits, const LoopBudget& budget) {
    // Without oxygen a filter is none.
    Check check{.id = CheckId::biofilter, .unit = "mg/L (N)"};
    check.warn.high = limits.tan_warn_mg_l;
    check.fail.high = limits.tan_fail_mg_l;
    check.own_limit = loop.limits.tan_warn_mg_l || loop.limits.tan_fail_mg_l;
    if (budget.supply_tan_mg_l) {
        judge_upper(check, *budget.supply_tan_mg_l);
    } else {
        check.status = Status::fail;
        check.exhausted = true;
    }
    if (filter_is_slow(loop)) {
        check.status = worse(check.status, Status::warn);
    }
    if (budget.filter_starved) check.status = Status::fail;
    return check;
}

// The tank whose own TAN on top of the supply is nearest to its limit.
Check loop_flow_check(std::span<const Member> members, double pressure_kpa) {
    Check check{.id = CheckId::loop_flow, .unit = "mg/L (N)"};
    double worst = -1;
    for (const Member& member : members) {
        const TankLimits limits = limits_of(*member.tank);
        double warn = limits.tan_warn_mg_l;
        double fail = limits.tan_fail_mg_l;
        if (member.tank->water.ph) {
            const double fraction =
                unionised_fraction({.temperature_c = member.budget->peak_temperature_c,
                                    .salinity_g_kg = member.tank->water.salinity_g_kg,
                                    .pressure_kpa = pressure_kpa},
                                   *member.tank->water.ph);
            warn = std::min(warn, tan_at_nh3_mg_l(limits.nh3_warn_mg_l, fraction));
            fail = std::min(fail, tan_at_nh3_mg_l(limits.nh3_fail_mg_l, fraction));
        }
        const double added = member.budget->ammonia.tan_production_g_day / (24 * member.flow_m3_h);
        const double used = warn > 0 ? added / warn : (added > 0 ? HUGE_VAL : 0);
        if (used <= worst) continue;
        worst = used;
        check.warn.high = warn;
        check.fail.high = fail;
        judge_upper(check, added);
    }
    if (worst < 0) check.missing = "a tank with flow_l_min on this loop";
    return check;
}

Check nitrate_check(const Loop& loop, const TankLimits& limits, const LoopBudget& budget) {
    Check check{.id = CheckId::nitrate, .unit = "mg/L (N)"};
    check.warn.high = limits.nitrate_warn_mg_l;
    check.own_limit = loop.limits.nitrate_warn_mg_l.has_value();
    const std::optional<double> measured = loop.readings.nitrate_mg_l;
    if (!measured && !budget.nitrate_mg_l) {
        check.missing = "the loop's water.nitrate_mg_l, or an exchange_l_day";
        return check;
    }
    judge_upper(check, std::max(measured.value_or(0), budget.nitrate_mg_l.value_or(0)));
    return check;
}

Check alkalinity_check(const Loop& loop, const TankLimits& limits) {
    Check check{.id = CheckId::alkalinity, .unit = "mg/L"};
    check.warn.low = limits.alkalinity_warn_mg_l;
    check.fail.low = limits.alkalinity_fail_mg_l;
    check.own_limit = loop.limits.alkalinity_warn_mg_l || loop.limits.alkalinity_fail_mg_l;
    if (!loop.water.alkalinity_mg_l) {
        check.missing = "the loop's water.alkalinity_mg_l";
        return check;
    }
    const double value = *loop.water.alkalinity_mg_l;
    check.value = value;
    check.status = value < *check.fail.low   ? Status::fail
                   : value < *check.warn.low ? Status::warn
                                             : Status::pass;
    if (value > 0) check.used_percent = 100 * *check.warn.low / value;
    return check;
}

Check plants_check(const Loop& loop, std::span<const Member> members, const LoopBudget& budget) {
    Check check{.id = CheckId::plants, .unit = "g feed/m2/day"};
    double protein_g = 0;
    for (const Member& member : members) {
        protein_g += member.budget->ration_g_day *
                     member.tank->feed.protein_percent.value_or(kProteinPercent);
    }
    const double protein =
        budget.feed_g_day > 0 ? protein_g / budget.feed_g_day : double{kProteinPercent};
    const double scale = kPlantFeedProtein / protein;
    const bool leafy = loop.plants->crop == Crop::leafy;
    check.warn = {scale * (leafy ? kLeafyFeedLow : kFruitingFeedLow),
                  scale * (leafy ? kLeafyFeedHigh : kFruitingFeedHigh)};
    const double value = budget.feed_g_day / loop.plants->bed_area_m2;
    check.value = value;
    check.status =
        value < *check.warn.low || value > *check.warn.high ? Status::warn : Status::pass;
    return check;
}

void judge_loop(const System& system, std::span<const Member> members, LoopBudget& budget) {
    const Loop& loop = *system.loop;
    const TankLimits limits = limits_of(loop);
    std::vector<Check>& checks = budget.checks;
    checks.push_back(biofilter_check(loop, limits, budget));
    checks.push_back(loop_flow_check(members, system.pressure_kpa));
    if (loop.readings.nitrite_mg_l) {
        checks.push_back(nitrite_check(loop.readings));
        const Check& nitrite = checks.back();
        checks.back().used_percent = 100 * *nitrite.value / *nitrite.warn.high;
    } else {
        checks.push_back({.id = CheckId::nitrite,
                          .unit = "mg/L (N)",
                          .missing = "the loop's water.nitrite_mg_l"});
    }
    checks.push_back(nitrate_check(loop, limits, budget));
    checks.push_back(alkalinity_check(loop, limits));
    if (loop.plants) checks.push_back(plants_check(loop, members, budget));
    if (loop.makeup.chlorine_mg_l) {
        checks.push_back(chlorine_check(*loop.makeup.chlorine_mg_l));
        Check& chlorine = checks.back();
        chlorine.used_percent = 100 * *chlorine.value / *chlorine.warn.high;
    }
    const Verdict verdict = verdict_of(checks);
    budget.verdict = verdict.worst;
    budget.first_limit = verdict.first_limit;
}

// All oxygen there is against all that is needed, where nothing else tells.
SupplyWater::Oxygen without_air(const System& system, std::span<const Member> members,
                                const LoopBudget& budget) {
    double pure_g_h =
        transfer_of(system.loop->aeration, system.loop->water.temperature_c, 0).pure_g_h;
    double needed_g_h = budget.filter_oxygen_g_h;
    for (const Member& member : members) {
        pure_g_h += transfer_of(member.tank->aeration, member.budget->temperature_c, 0).pure_g_h;
        needed_g_h += member.budget->oxygen.demand_peak_g_h;
    }
    return pure_g_h < needed_g_h ? SupplyWater::Oxygen::failing : SupplyWater::Oxygen::unknown;
}

}  // namespace

namespace {

// ---- what a measured oxygen in a tank of a loop says

// The share of something in a tank, 1 as described, at which the tank's predicted mean is what was
// measured, with all that this does to the loop; the nearest to 1. None within a thousandth to a
// thousandfold, or at 0.
template <class Scale>
std::optional<double> share_for(const System& system, std::size_t index, double measured_mg_l,
                                Scale scale) {
    const auto above_mg_l = [&](double share) -> std::optional<double> {
        System changed = system;
        scale(changed.tanks[index], share);
        const auto steady_mg_l = assess_system(changed).tanks[index].oxygen.steady_mean_mg_l;
        if (!steady_mg_l) return std::nullopt;
        return *steady_mg_l - measured_mg_l;
    };
    constexpr double kStep = 1.25;
    constexpr int kSteps = 31;
    double up = 1;
    double down = 1;
    auto at_up = above_mg_l(1);
    auto at_down = at_up;
    // The nearest two shares between which it is crossed.
    std::optional<std::pair<double, double>> between;
    for (int i = 1; i <= kSteps && !between; ++i) {
        const auto crossed = [&](double from, std::optional<double>& at, double to) {
            const auto next = above_mg_l(to);
            const bool found = at && next && (*at < 0) != (*next < 0);
            if (found) between = {from, to};
            at = next;
            return found;
        };
        const double lower = i == kSteps ? 0 : down / kStep;
        if (crossed(up, at_up, up * kStep)) break;
        if (crossed(down, at_down, lower)) break;
        up *= kStep;
        down = lower;
    }
    if (!between) return std::nullopt;
    auto [low, high] = *between;
    const bool rises = *above_mg_l(high) >= 0;
    for (int i = 0; i < 60; ++i) {
        const double middle = (low + high) / 2;
        const auto at = above_mg_l(middle);
        if (!at) return std::nullopt;
        ((*at < 0) == rises ? low : high) = middle;
    }
    // Over a jump (a filter that starves) it is crossed and never met.
    constexpr double kMet = 1e-6;
    const auto left = above_mg_l(low);
    if (!left || std::abs(*left) > kMet) return std::nullopt;
    return low;
}

void scale_aeration(Tank& tank, double share) {
    for (Aerator& aerator : tank.aeration) {
        if (auto* diffuser = std::get_if<Diffuser>(&aerator.kind)) {
            diffuser->air_flow_l_min *= share;
        } else if (auto* rated = std::get_if<RatedAerator>(&aerator.kind)) {
            rated->sotr_g_h *= share;
        } else if (auto* pure = std::get_if<PureOxygen>(&aerator.kind)) {
            pure->flow_l_min *= share;
        }
    }
}

// In place of the gap that takes the loop's supply as given.
void explain_gap(const System& system, std::size_t index, TankBudget& budget) {
    System plain = system;
    for (Tank& tank : plain.tanks) tank.readings.oxygen_mg_l.reset();
    const Tank& tank = plain.tanks[index];
    OxygenGap gap{.measured_mg_l = budget.oxygen.gap->measured_mg_l,
                  .predicted_mg_l = budget.oxygen.gap->predicted_mg_l};
    const auto share = [&](auto scale) {
        return share_for(plain, index, gap.measured_mg_l, scale);
    };
    const auto fish = share([](Tank& each, double by) {
        if (each.feed.ration_g_day) *each.feed.ration_g_day *= by;
        for (FishGroup& group : each.fish) {
            group.count *= by;
            if (group.ration_g_day) *group.ration_g_day *= by;
        }
    });
    if (fish) gap.fish_count = *fish * budget.fish_count;
    const double factor = budget.oxygen.gap->common_factor.value_or(0);
    if (factor > 0) {
        const auto by = share([](Tank& each, double times) {
            for (FishGroup& group : each.fish) group.respiration_factor *= times;
        });
        if (by) gap.respiration_factor = factor * *by;
    }
    gap.common_factor = budget.oxygen.gap->common_factor;
    if (budget.transfer_m3_h > 0 || !tank.aeration.empty()) {
        if (const auto by = share(scale_aeration)) gap.aeration_percent = 100 * *by;
    }
    if (const auto by = share([](Tank& each, double times) { each.loop->flow_l_min *= times; });
        by && *by > 0) {
        gap.flow_percent = 100 * *by;
    }
    scale_aeration(plain.tanks[index], 0);
    gap.without_aeration_mg_l = assess_system(plain).tanks[index].oxygen.steady_mean_mg_l;
    budget.oxygen.gap = believable(gap, budget);
}

}  // namespace

SystemBudget assess_system(const System& system) {
    SystemBudget whole;
    if (!system.loop) {
        for (const Tank& tank : system.tanks) {
            whole.tanks.push_back(
                assess_tank(tank, inflow_supply(tank, system.pressure_kpa), system.pressure_kpa));
        }
        return whole;
    }
    const Loop& loop = *system.loop;
    LoopBudget budget{};
    budget.loop = loop.name;
    budget.exchange_m3_day = loop.exchange_l_day / 1000;

    // Demands and wastes of each tank, before anything is known of the supply.
    std::vector<TankBudget> alone;
    for (const Tank& tank : system.tanks) {
        alone.push_back(assess_tank(tank, {}, system.pressure_kpa));
    }
    std::vector<Member> members;
    for (std::size_t i = 0; i < system.tanks.size(); ++i) {
        const double flow_m3_h = system.tanks[i].loop->flow_l_min * 60 / 1000;
        if (flow_m3_h == 0) continue;
        members.push_back({&system.tanks[i], &alone[i], flow_m3_h});
        budget.flow_m3_h += flow_m3_h;
        budget.volume_m3 += system.tanks[i].volume_l / 1000;
        budget.feed_g_day += alone[i].ration_g_day;
        budget.tan_production_g_day += alone[i].ammonia.tan_production_g_day;
        budget.solids_g_day += alone[i].solids_g_day;
    }

    add_tan(loop, budget);
    budget.filter_oxygen_g_h =
        (kOxygenPerTan * budget.nitrified_g_day + kOxygenPerFeedInFilter * budget.feed_g_day) / 24;
    SupplyWater supply{.recirculated = true};
    supply.tan_mg_l = budget.supply_tan_mg_l.value_or(0);
    supply.tan_rises = !budget.supply_tan_mg_l;
    if (!members.empty()) {
        const auto mean = supply_oxygen(system, members, budget, false);
        const auto peak = supply_oxygen(system, members, budget, true);
        if (mean && peak) {
            supply.oxygen_mg_l = *mean;
            supply.oxygen_peak_mg_l = *peak;
            budget.supply_oxygen_mg_l = std::max(0.0, *mean);
            budget.supply_oxygen_peak_mg_l = std::max(0.0, *peak);
        } else {
            supply.oxygen = without_air(system, members, budget);
        }
        budget.filter_starved =
            supply.oxygen == SupplyWater::Oxygen::failing ||
            (budget.supply_oxygen_peak_mg_l && *budget.supply_oxygen_peak_mg_l < kStarvedOxygen);
        supply.carbon_dioxide_mg_l = supply_carbon_dioxide(system, members, budget);
        supply.carbon_dioxide_rises = !supply.carbon_dioxide_mg_l;
        budget.supply_carbon_dioxide_mg_l = supply.carbon_dioxide_mg_l;
    }
    add_nitrate(loop, budget);
    judge_loop(system, members, budget);
    if (budget.checks[0].status >= Status::warn && budget.feed_g_day > 0) {
        budget.feed_bearable_g_day = budget.feed_g_day * bearable_share(budget, loop, members);
    }
    for (const Tank& tank : system.tanks) {
        supply.flow_m3_h = tank.loop->flow_l_min * 60 / 1000;
        // Flow 0 is a tank without flow: nothing of the loop reaches it.
        whole.tanks.push_back(
            assess_tank(tank, supply.flow_m3_h > 0 ? supply : SupplyWater{}, system.pressure_kpa));
    }
    for (std::size_t i = 0; i < whole.tanks.size() && !loop.supply_oxygen_percent; ++i) {
        if (whole.tanks[i].oxygen.gap && whole.tanks[i].flow_m3_h > 0) {
            explain_gap(system, i, whole.tanks[i]);
        }
    }
    whole.loop = std::move(budget);
    return whole;
}

std::vector<System> systems_of(const Description& description) {
    const double pressure_kpa = site_pressure(description.site).pressure_kpa;
    std::vector<System> systems;
    for (const Tank& tank : description.tanks) {
        if (!tank.loop) systems.push_back({pressure_kpa, {tank}, std::nullopt});
    }
    for (const Loop& loop : description.loops) {
        System system{pressure_kpa, {}, loop};
        for (const Tank& tank : description.tanks) {
            if (tank.loop && tank.loop->name == loop.name) system.tanks.push_back(tank);
        }
        systems.push_back(std::move(system));
    }
    return systems;
}

Assessment assess(const Description& description) {
    Assessment assessment{.air = site_pressure(description.site), .tanks = {}, .loops = {}};
    assessment.tanks.resize(description.tanks.size());
    for (std::size_t i = 0; i < description.tanks.size(); ++i) {
        const Tank& tank = description.tanks[i];
        if (tank.loop) continue;
        assessment.tanks[i] = assess_tank(tank, inflow_supply(tank, assessment.air.pressure_kpa),
                                          assessment.air.pressure_kpa);
    }
    for (const System& system : systems_of(description)) {
        if (!system.loop) continue;
        SystemBudget budget = assess_system(system);
        std::size_t next = 0;
        for (std::size_t i = 0; i < description.tanks.size(); ++i) {
            const auto& loop = description.tanks[i].loop;
            if (loop && loop->name == system.loop->name) {
                assessment.tanks[i] = std::move(budget.tanks[next++]);
            }
        }
        assessment.loops.push_back(std::move(*budget.loop));
    }
    return assessment;
}

bool filter_is_slow(const Loop& loop) noexcept {
    return (loop.biofilter && loop.biofilter->maturity_percent < 100) ||
           loop.water.temperature_c < kColdFilter;
}

const Check* find_check(const LoopBudget& budget, CheckId id) noexcept {
    const auto at = std::find_if(budget.checks.begin(), budget.checks.end(),
                                 [&](const Check& check) { return check.id == id; });
    return at == budget.checks.end() ? nullptr : &*at;
}

std::span<const Constant> loop_sources() noexcept { return kSources; }

}  // namespace coldtank
