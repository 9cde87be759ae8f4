#include "judgement.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "limits.hpp"
#include "numbers.hpp"

namespace coldtank {
namespace {

// ---- limits that no description sets; the others stand in limits.hpp

constexpr Constant kExcessWarn{"oxygen excess, warn", 110, "% of saturation", Basis::judgement,
                               "gas disease practice"};
constexpr Constant kExcessFail{"oxygen excess, fail", 120, "% of saturation", Basis::judgement,
                               "gas disease practice"};
constexpr Constant kCurrentLow{"slowest current", 0.5, "body lengths/s", Basis::published,
                               "Parker & Barnes 2014"};
constexpr Constant kCurrentHigh{"fastest current", 1.5, "body lengths/s", Basis::published,
                                "Parker & Barnes 2014"};
constexpr Constant kCurrentHighShare{"fastest current over the highest safe speed", 0.85, "-",
                                     Basis::from_memory, "Timmons & Youngs"};
constexpr Constant kCurrentFail{"highest safe speed at 1 cm", 5.25, "body lengths/s",
                                Basis::from_memory, "Timmons & Youngs: 5.25 / L^0.37"};
constexpr Constant kCurrentExponent{"highest safe speed, exponent of length", 0.37, "-",
                                    Basis::from_memory, "Timmons & Youngs: 5.25 / L^0.37"};
constexpr Constant kGasWarn{"gas pressure, warn", 103, "%", Basis::published,
                            "British Columbia, hatcheries"};
constexpr Constant kGasFail{"gas pressure, fail", 110, "%", Basis::published,
                            "Washington Administrative Code"};
constexpr Constant kSalinityWarn{
    "salinity, warn", 10, "g/kg", Basis::published,
    "McKay & Gjerde 1985: rainbow trout of 51-153 g all lived at 10; for "
    "others judgement"};
constexpr Constant kSalinityFail{
    "salinity, fail", 20, "g/kg", Basis::published,
    "McKay & Gjerde 1985: above it growth falls fast and trout die; for "
    "others judgement"};
constexpr Constant kChlorineWarn{"chlorine, warn", 0.003, "mg/L", Basis::judgement,
                                 "below EPA 1985 chronic; chloramine does not gas off"};
constexpr Constant kChlorineFail{"chlorine, fail", 0.011, "mg/L", Basis::published,
                                 "EPA 1985 chronic"};
constexpr Constant kDeathsWarn{"recent deaths, warn", 1, "%", Basis::judgement,
                               "beyond one fish: a healthy stock loses far less in two days"};
constexpr Constant kDeathsFail{"recent deaths, fail", 10, "%", Basis::judgement,
                               "beyond two fish: something is killing them"};
constexpr Constant kNitriteChloride{
    "nitrite_warn by chloride, at most", 0.006, "mg/L (N) per mg/L", Basis::judgement,
    "lowest effect 0.061 at 10 mg/L chloride in 28 days, Kroupova et al. 2008 (published)"};
constexpr Constant kNitriteLeast{"nitrite_warn, at least", 0.02, "mg/L (N)", Basis::judgement,
                                 "the first row of the published table"};
constexpr Constant kNitriteMost{"nitrite_warn, at most", 0.20, "mg/L (N)", Basis::published,
                                "the same table, its last 30-day mean"};
constexpr Constant kNitriteTable{"nitrite by chloride", std::nullopt, "mg/L (N)", Basis::published,
                                 "British Columbia, Table 17 (Nordin & Pommen 1986)"};
// Steps: from this chloride on, this maximum. The 30-day mean of each but the last is over what
// kNitriteChloride gives.
struct NitriteRow {
    double chloride_from_mg_l;
    double maximum_mg_l;
};
constexpr std::array<NitriteRow, 6> kNitriteRows{
    {{0, 0.06}, {2, 0.12}, {4, 0.18}, {6, 0.24}, {8, 0.30}, {10, 0.60}}};

constexpr std::array kSources{
    kOxygenWarn,      kOxygenWarnPercent, kOxygenFail,      kReserveStress,   kReserveDanger,
    kBackupHours,     kResponseTime,      kNh3Warn,         kNh3Fail,         kTanWarn,
    kTanFail,         kHoursToWarn,       kHoursToFail,     kCo2Warn,         kCo2Fail,
    kPhLowWarn,       kPhHighWarn,        kPhLowFail,       kPhHighFail,      kDensityFail,
    kDensityIndex,    kRationRatio,       kExchange,        kSpreadWarn,      kSpreadFail,
    kExcessWarn,      kExcessFail,        kCurrentLow,      kCurrentHigh,     kCurrentHighShare,
    kCurrentFail,     kCurrentExponent,   kGasWarn,         kGasFail,         kSalinityWarn,
    kSalinityFail,    kChlorineWarn,      kChlorineFail,    kNitriteMost,     kNitriteTable,
    kNitriteChloride, kNitriteLeast,      kEarlyLifeG,      kEarlyOxygenWarn, kEarlyOxygenFail,
    kEarlyNh3Warn,    kEarlyNh3Fail,      kPhMeterBand,     kCo2Doubt,        kPhDoubtLow,
    kPhDoubtHigh,     kNitrateWarn,       kAlkalinityWarn,  kAlkalinityFail,  kDeathsWarn,
    kDeathsFail,      kDeathsWindowH,     kReadingsMaxAgeH, kSwingsToWarmest, kWarmestFromH,
    kWarmestToH,
};

// ---- judging

bool is_beyond(double value, const Bound& bound) {
    return (bound.low && !(value >= *bound.low)) || (bound.high && !(value <= *bound.high));
}

}  // namespace

Status status_of(double value, const Bound& warn, const Bound& fail) noexcept {
    if (std::isnan(value) || is_beyond(value, fail)) return Status::fail;
    return is_beyond(value, warn) ? Status::warn : Status::pass;
}

Status status_now(const Check& check) noexcept {
    Status status = status_of_value(check);
    for (const Because& each : check.because) {
        const bool to_come = each.reason == Reason::hours_to_warn ||
                             each.reason == Reason::hours_to_fail ||
                             each.reason == Reason::days_to_warn;
        if (!to_come) status = worse(status, each.status);
    }
    return status;
}

Status status_of_value(const Check& check) noexcept {
    return check.value ? status_of(*check.value, check.warn, check.fail) : Status::pass;
}

void judge_value(Check& check, double value) noexcept {
    check.value = value;
    check.status = status_of_value(check);
}

Lengths lengths_of(const TankBudget& budget) {
    const auto [shortest, longest] = std::minmax_element(
        budget.groups.begin(), budget.groups.end(),
        [](const GroupBudget& a, const GroupBudget& b) { return a.length_cm < b.length_cm; });
    return {shortest->length_cm, longest->length_cm};
}

void judge_upper(Check& check, double value) noexcept {
    judge_value(check, value);
    if (*check.warn.high > 0) check.used_percent = 100 * value / *check.warn.high;
    check.exhausted = value > 0 && *check.warn.high == 0;
}

Check new_check(CheckId id) { return {.id = id, .unit = info_of(id).unit}; }

void add_reason(Check& check, const Because& because) {
    check.status = worse(check.status, because.status);
    check.because.push_back(because);
}

namespace {

void judge_reading(Check& check, std::optional<double> value, std::string_view missing) {
    if (value) {
        judge_value(check, *value);
    } else {
        check.missing = missing;
    }
}

Check oxygen_check(const TankBudget& budget, const SupplyWater& supply) {
    const OxygenBudget& oxygen = budget.oxygen;
    Check check = new_check(CheckId::oxygen);
    check.warn.low = oxygen.warn_mg_l;
    check.fail.low = oxygen.fail_mg_l;
    const double demand_g_h = oxygen.demand_peak_g_h;
    const bool supplied = budget.flow_m3_h > 0 || budget.transfer_peak_m3_h > 0 ||
                          std::any_of(budget.aerators.begin(), budget.aerators.end(),
                                      [](const AeratorBudget& a) { return a.pure_oxygen_g_h > 0; });
    const bool asked = !(demand_g_h <= 0) || supplied;
    if (asked && oxygen.supply_known) {
        check.value = oxygen.lowest_mg_l;
        check.status =
            status_of(demand_g_h, {.high = oxygen.supply_g_h}, {.high = oxygen.supply_at_fail_g_h});
        if (oxygen.supply_g_h > 0) check.used_percent = 100 * demand_g_h / oxygen.supply_g_h;
        check.exhausted = demand_g_h > 0 && oxygen.supply_g_h <= 0;
    } else if (asked && supply.oxygen == SupplyWater::Oxygen::failing) {
        check.value = oxygen.lowest_mg_l;
        check.exhausted = demand_g_h > 0;
        add_reason(check, {Reason::rises_without_end, Status::fail, {}, {}});
    }
    if (const auto measured = oxygen.measured_mg_l) {
        const Status reading = status_of(*measured, check.warn, check.fail);
        check.status = check.status == Status::unchecked ? reading : worse(check.status, reading);
        check.value = smaller_of(*measured, check.value.value_or(*measured));
    }
    // Where no lowest oxygen says so, or the meter says better.
    if (asked && oxygen.supply_known && check.status > status_of_value(check)) {
        add_reason(check,
                   {Reason::demand_over_supply, check.status, demand_g_h,
                    check.status == Status::fail ? oxygen.supply_at_fail_g_h : oxygen.supply_g_h});
    }
    if (check.status == Status::unchecked) {
        check.missing = supply.oxygen == SupplyWater::Oxygen::unknown
                            ? "an aerator in the loop, or water.oxygen_mg_l"
                            : "an inflow, an aerator or water.oxygen_mg_l";
    }
    return check;
}

Check reserve_check(const TankBudget& budget, const SupplyWater& supply, const TankLimits& limits) {
    Check check = new_check(CheckId::oxygen_reserve);
    check.warn.low = limits.response_time_min;
    check.fail.low = limits.response_time_min / 2;
    const ReserveBudget& reserve = *budget.reserve;
    // From where would it fall, if nothing tells where the oxygen stands?
    if (supply.oxygen == SupplyWater::Oxygen::unknown && !budget.oxygen.measured_mg_l) {
        check.missing = "an aerator in the loop, or water.oxygen_mg_l";
        return check;
    }
    const Countdown& judged = reserve.kept_flow_continues.value_or(reserve.stopped);
    check.status = Status::pass;
    check.used_percent = 0;  // never
    if (judged.minutes_to_danger) {
        judge_value(check, *judged.minutes_to_danger);
        check.used_percent.reset();
        check.exhausted = *check.value == 0 && limits.response_time_min > 0;
        if (*check.value > 0) check.used_percent = 100 * limits.response_time_min / *check.value;
    }
    if (reserve.start_assumed) {
        const Check& oxygen = *find_check(budget, CheckId::oxygen);
        add_reason(check, {Reason::as_oxygen, oxygen.status, reserve.start_mg_l, {}});
        if (check.status == Status::unchecked) check.missing = oxygen.missing;
    }
    return check;
}

// Without flow a concentration gathers: the hours until its limits.
void add_hours(Check& check, double hours_to_warn, double hours_to_fail) {
    const auto gathers = [&](Reason reason, Status status, double hours, double limit) {
        add_reason(check, {reason, hours >= limit ? Status::pass : status, hours, limit});
    };
    gathers(Reason::hours_to_warn, Status::warn, hours_to_warn, kHoursToWarn);
    gathers(Reason::hours_to_fail, Status::fail, hours_to_fail, kHoursToFail);
    // No hour is left of a limit that is reached.
    check.exhausted = check.exhausted || hours_to_warn == 0;
    if (hours_to_warn > 0) {
        check.used_percent = larger_of(check.used_percent, 100 * kHoursToWarn / hours_to_warn);
    }
    if (check.exhausted) check.used_percent.reset();
}

// A concentration that the fish raise: predicted, measured, or, without flow, the hours it takes.
void judge_ammonia(Check& check, std::optional<double> predicted, std::optional<double> measured,
                   std::optional<double> hours_to_warn, std::optional<double> hours_to_fail) {
    check.status = Status::pass;
    if (const auto worst = larger_of(predicted, measured)) {
        judge_upper(check, *worst);
    }
    if (hours_to_warn && hours_to_fail) add_hours(check, *hours_to_warn, *hours_to_fail);
}

Check ammonia_check(const AmmoniaBudget& ammonia, const TankLimits& limits) {
    Check check = new_check(CheckId::ammonia);
    check.warn.high = limits.nh3_warn_mg_l;
    check.fail.high = limits.nh3_fail_mg_l;
    if (!ammonia.unionised_fraction) {
        check.missing = "water.ph";
        return check;
    }
    judge_ammonia(check, ammonia.nh3_mg_l, ammonia.measured_nh3_mg_l, ammonia.nh3_hours_to_warn,
                  ammonia.nh3_hours_to_fail);
    return check;
}

Check total_ammonia_check(const AmmoniaBudget& ammonia, const TankLimits& limits) {
    Check check = new_check(CheckId::total_ammonia);
    check.warn.high = limits.tan_warn_mg_l;
    check.fail.high = limits.tan_fail_mg_l;
    judge_ammonia(check, ammonia.tan_mg_l, ammonia.measured_tan_mg_l, ammonia.tan_hours_to_warn,
                  ammonia.tan_hours_to_fail);
    return check;
}

// What a loop lets rise without end fails, whatever was read today.
void let_rise(Check& check) {
    const Check was = check;
    check = new_check(was.id);
    check.warn = was.warn;
    check.fail = was.fail;
    check.exhausted = true;
    add_reason(check, {Reason::rises_without_end, Status::fail, {}, {}});
}

Check carbon_dioxide_check(const CarbonDioxideBudget& co2, const TankLimits& limits) {
    Check check = new_check(CheckId::carbon_dioxide);
    check.warn.high = limits.carbon_dioxide_warn_mg_l;
    check.fail.high = limits.carbon_dioxide_fail_mg_l;
    const std::optional<double> worst = larger_of(
        co2.balance_judged ? co2.balance_mg_l : std::nullopt,
        larger_of(co2.from_ph_judged ? co2.from_ph_mg_l : std::nullopt, co2.measured_mg_l));
    judge_reading(check, worst,
                  co2.from_ph_mg_l
                      ? "the inflow's carbon_dioxide_mg_l: over pH 9 it is not judged by pH"
                      : "water.ph with alkalinity_mg_l, or the inflow's carbon_dioxide_mg_l");
    if (worst) judge_upper(check, *worst);
    if (worst && co2.gathers_mg_l_h) {
        add_hours(check, not_below_zero(*check.warn.high - *worst) / *co2.gathers_mg_l_h,
                  not_below_zero(*check.fail.high - *worst) / *co2.gathers_mg_l_h);
    }
    // With an inflow as clean as air makes it the balance is the least that can be.
    if (!co2.balance_judged && co2.balance_mg_l && !(*co2.balance_mg_l <= *check.warn.high)) {
        add_reason(check,
                   {Reason::least_by_balance, Status::warn, *co2.balance_mg_l, *check.warn.high});
        check.missing = {};
        if (*check.warn.high > 0) {
            check.used_percent =
                larger_of(check.used_percent, 100 * *co2.balance_mg_l / *check.warn.high);
        }
    }
    return check;
}

Check temperature_check(const TankBudget& budget, const TankLimits& limits) {
    Check check = new_check(CheckId::temperature);
    if (budget.groups.empty()) {
        check.missing = "fish: the limits are a species'";
        return check;
    }
    check.warn = {limits.temperature_low_warn_c, limits.temperature_warn_c};
    check.fail.high = limits.temperature_fail_c;
    // The upper limits meet the warmest hour, the lower one the day's mean.
    const bool cold = budget.temperature_c < *check.warn.low;
    const Status warm = status_of(budget.peak_temperature_c, check.warn, check.fail);
    judge_value(check,
                cold && warm != Status::fail ? budget.temperature_c : budget.peak_temperature_c);
    return check;
}

Check ph_check(const Water& water, const TankLimits& limits) {
    Check check = new_check(CheckId::ph);
    check.warn = {limits.ph_low_warn, limits.ph_high_warn};
    check.fail = {limits.ph_low_fail, limits.ph_high_fail};
    judge_reading(check, water.ph, "water.ph");
    return check;
}

Check density_check(const TankBudget& budget, const TankLimits& limits) {
    Check check = new_check(CheckId::density);
    // The index as a density at these sizes: it is what counts for small fish.
    const double by_index =
        budget.density_kg_m3 * limits.density_index_kg_m3_cm / budget.density_index_kg_m3_cm;
    check.warn.high = smaller_of(limits.density_warn_kg_m3.value_or(by_index), by_index);
    check.fail.high = limits.density_fail_kg_m3;
    judge_upper(check, budget.density_kg_m3);
    return check;
}

constexpr double kNoise = 16 * std::numeric_limits<double>::epsilon();

Check ration_check(const TankBudget& budget, const TankLimits& limits) {
    Check check = new_check(CheckId::ration);
    // What is stated is judged against what is advised for those fish. Where nothing is stated it
    // shows the advice, which passes.
    const bool stated = std::any_of(budget.groups.begin(), budget.groups.end(),
                                    [](const GroupBudget& group) { return group.ration_stated; });
    double ration_g_day = 0;
    double advised_g_day = 0;
    double biomass_kg = 0;
    for (const GroupBudget& group : budget.groups) {
        if (stated && !group.ration_stated) continue;
        ration_g_day += stated ? group.ration_g_day : group.advised_ration_g_day;
        advised_g_day += group.advised_ration_g_day;
        biomass_kg += group.biomass_kg;
    }
    const double percent_per_g = 100 / (biomass_kg * 1000);
    check.warn.high = limits.ration_warn_ratio * advised_g_day * percent_per_g;
    if (!stated) check.warn.high = larger_of(*check.warn.high, advised_g_day * percent_per_g);
    double percent_day = ration_g_day * percent_per_g;
    // Shares of a tank's ration add up to it but for the noise of their last digits.
    if (std::abs(percent_day - *check.warn.high) <= kNoise * *check.warn.high) {
        percent_day = *check.warn.high;
    }
    judge_value(check, percent_day);
    return check;
}

Check exchange_check(const TankBudget& budget, const TankLimits& limits) {
    Check check = new_check(CheckId::exchange);
    check.warn.low = limits.exchange_warn_per_h;
    judge_value(check, budget.flow_m3_h / (budget.volume_l / 1000));
    return check;
}

Check oxygen_excess_check(const OxygenBudget& oxygen) {
    Check check = new_check(CheckId::oxygen_excess);
    check.warn.high = kExcessWarn;
    check.fail.high = kExcessFail;
    std::optional<double> measured;
    if (oxygen.measured_mg_l) measured = 100 * *oxygen.measured_mg_l / oxygen.saturation_mg_l;
    judge_reading(check, larger_of(oxygen.resting_percent, measured),
                  "a steady oxygen: no flow and no air");
    // More than they take, and nothing to take it out again.
    if (!oxygen.resting_percent && oxygen.gathers_at_rest) {
        check.missing = {};
        add_reason(check, {Reason::rises_without_end, Status::fail, {}, {}});
    }
    return check;
}

Check size_spread_check(const TankBudget& budget, const TankLimits& limits) {
    Check check = new_check(CheckId::size_spread);
    check.warn.high = limits.size_spread_warn;
    check.fail.high = limits.size_spread_fail;
    const Lengths lengths = lengths_of(budget);
    judge_value(check, lengths.longest_cm / lengths.shortest_cm);
    return check;
}

// Too fast is judged by the shortest fish, too slow by the longest.
Check current_check(const TankBudget& budget, double current_cm_s) {
    Check check = new_check(CheckId::current);
    const Lengths lengths = lengths_of(budget);
    check.fail.high = kCurrentFail / std::pow(lengths.shortest_cm, double{kCurrentExponent});
    check.warn.low = kCurrentLow;
    check.warn.high = smaller_of(kCurrentHigh, kCurrentHighShare * *check.fail.high);
    // The worse of the two is shown.
    const double slowest = current_cm_s / lengths.longest_cm;
    const double fastest = current_cm_s / lengths.shortest_cm;
    const bool fast = status_of(fastest, check.warn, check.fail) == Status::fail;
    judge_value(check, slowest < *check.warn.low && !fast ? slowest : fastest);
    return check;
}

}  // namespace

namespace {

// The published steps of a chloride, the warning brought down to what trout were seen to bear.
Bound nitrite_row(double chloride_mg_l, Bound& fail) {
    const NitriteRow* row = &kNitriteRows[0];
    for (const NitriteRow& next : kNitriteRows) {
        if (chloride_mg_l >= next.chloride_from_mg_l) row = &next;
    }
    fail.high = row->maximum_mg_l;
    return {.high = smaller_of(kNitriteMost,
                               larger_of(kNitriteLeast, kNitriteChloride * chloride_mg_l))};
}

}  // namespace

Check nitrite_check(const Readings& readings) {
    Check check = new_check(CheckId::nitrite);
    check.warn = nitrite_row(readings.chloride_mg_l.value_or(0), check.fail);
    judge_value(check, *readings.nitrite_mg_l);
    return check;
}

namespace {

// A reading against what stands for all fish.
Check upper_check(CheckId id, double value, const Constant& warn, const Constant& fail) {
    Check check = new_check(id);
    check.warn.high = warn;
    check.fail.high = fail;
    judge_value(check, value);
    return check;
}

}  // namespace

Check chlorine_check(double chlorine_mg_l) {
    return upper_check(CheckId::chlorine, chlorine_mg_l, kChlorineWarn, kChlorineFail);
}

namespace {

// Oxygen can go too far where it is injected, flows in above saturation or was measured too high.
bool may_exceed(const Tank& tank, const SupplyWater& supply, const TankBudget& budget) {
    const OxygenBudget& oxygen = budget.oxygen;
    if (oxygen.measured_mg_l &&
        100 * *oxygen.measured_mg_l / oxygen.saturation_mg_l > kExcessWarn) {
        return true;
    }
    return (supply.flow_m3_h > 0 && supply.oxygen_resting_mg_l > budget.oxygen.saturation_mg_l) ||
           std::any_of(tank.aeration.begin(), tank.aeration.end(), [](const Aerator& aerator) {
               return std::holds_alternative<PureOxygen>(aerator.kind);
           });
}

// The worse; then what stands so now before what will; then what uses more of its limit.
bool limits_sooner(const Check& a, const Check& b) {
    const auto now = [](const Check& check) { return static_cast<int>(status_now(check)); };
    const auto severity = [](const Check& check) {
        return check.status == Status::unchecked ? -1 : static_cast<int>(check.status);
    };
    const auto used = [](const Check& check) {
        return check.exhausted ? std::numeric_limits<double>::infinity()
                               : check.used_percent.value_or(-1);
    };
    if (severity(a) != severity(b)) return severity(a) > severity(b);
    if (now(a) != now(b)) return now(a) > now(b);
    if (used(a) != used(b)) return used(a) > used(b);
    return a.id < b.id;
}

}  // namespace

namespace {

// The checks whose limits the description sets, or a species file.
void mark_own_limits(const Tank& tank, std::vector<Check>& checks) {
    const auto mark = [&](CheckId id) {
        for (Check& check : checks) check.own_limit = check.own_limit || check.id == id;
    };
    for (const LimitField& field : limit_fields()) {
        if (tank.limits.*field.own) mark(field.check);
    }
    // Costly, and seldom asked.
    if (std::any_of(tank.fish.begin(), tank.fish.end(),
                    [](const FishGroup& group) { return group.usual_species.has_value(); })) {
        for (const OwnNumber& limit : own_limits_of(tank)) mark(*limit.check);
    }
}

}  // namespace

void judge(const Tank& tank, const SupplyWater& supply, const TankLimits& limits,
           TankBudget& budget) {
    const bool fish = budget.reserve.has_value();
    std::vector<Check>& checks = budget.checks;
    checks.reserve(std::size(kChecks));
    checks.push_back(oxygen_check(budget, supply));
    if (fish) {
        checks.push_back(reserve_check(budget, supply, limits));
        checks.push_back(ammonia_check(budget.ammonia, limits));
        checks.push_back(total_ammonia_check(budget.ammonia, limits));
        if (budget.flow_m3_h > 0 && supply.tan_without_end) {
            for (Check* check : {&checks[checks.size() - 2], &checks.back()}) {
                let_rise(*check);
            }
        }
    }
    checks.push_back(carbon_dioxide_check(budget.carbon_dioxide, limits));
    if (budget.flow_m3_h > 0 && supply.carbon_dioxide_without_end) let_rise(checks.back());
    checks.push_back(temperature_check(budget, limits));
    checks.push_back(ph_check(tank.water, limits));
    if (fish) {
        checks.push_back(density_check(budget, limits));
        checks.push_back(ration_check(budget, limits));
        checks.push_back(exchange_check(budget, limits));
        if (may_exceed(tank, supply, budget)) checks.push_back(oxygen_excess_check(budget.oxygen));
        if (budget.groups.size() > 1) checks.push_back(size_spread_check(budget, limits));
        if (tank.readings.current_cm_s) {
            checks.push_back(current_check(budget, *tank.readings.current_cm_s));
        }
        if (tank.readings.nitrite_mg_l) checks.push_back(nitrite_check(tank.readings));
        if (tank.readings.nitrate_mg_l && !tank.loop) {  // else its loop's
            checks.push_back(new_check(CheckId::nitrate));
            checks.back().warn.high = limits.nitrate_warn_mg_l;
            judge_upper(checks.back(), *tank.readings.nitrate_mg_l);
        }
        if (tank.readings.gas_pressure_percent) {
            checks.push_back(upper_check(CheckId::gas_pressure, *tank.readings.gas_pressure_percent,
                                         kGasWarn, kGasFail));
        }
        if (!(tank.water.salinity_g_kg <= 0)) {
            checks.push_back(upper_check(CheckId::salinity, tank.water.salinity_g_kg, kSalinityWarn,
                                         kSalinityFail));
        }
        if (supply.chlorine_mg_l) {
            checks.push_back(chlorine_check(*supply.chlorine_mg_l));
        }
    }
    if (budget.early_life) {
        checks.push_back(new_check(CheckId::early_life));
        checks.back().missing = "a hatchery's limits: eggs and sac fry are not covered";
    }
    if (!budget.doubts.empty()) checks.push_back(doubt_check(budget.doubts.size()));
    mark_own_limits(tank, checks);
    const Verdict verdict = verdict_of(checks);
    budget.verdict = verdict.worst;
    budget.first_limit = verdict.first_limit;
}

Check doubt_check(std::size_t doubts) noexcept {
    Check check = new_check(CheckId::input_doubt);
    check.warn.high = 0;
    judge_value(check, static_cast<double>(doubts));
    return check;
}

Check deaths_check(const Deaths& deaths) noexcept {
    Check check = new_check(CheckId::deaths);
    // One fish of a few is no epidemic.
    check.warn.high = std::max(double{kDeathsWarn}, 100 / deaths.fish_count);
    check.fail.high = std::max(double{kDeathsFail}, 200 / deaths.fish_count);
    judge_value(check, 100 * deaths.died / deaths.fish_count);
    return check;
}

Verdict verdict_of(std::span<const Check> checks) noexcept {
    if (checks.empty()) return {};
    Verdict verdict{Status::pass, CheckId::oxygen};
    for (const Check& check : checks) verdict.worst = worse(verdict.worst, check.status);
    verdict.first_limit = std::min_element(checks.begin(), checks.end(), limits_sooner)->id;
    return verdict;
}

std::optional<double> chloride_for_nitrite(double nitrite_mg_l) noexcept {
    if (!(nitrite_mg_l <= kNitriteMost)) return std::nullopt;
    if (nitrite_mg_l <= kNitriteLeast) return 0;
    // Rounded up to a tenth, what a kit can tell.
    double tenths = std::floor(10 * nitrite_mg_l / kNitriteChloride);
    while (kNitriteChloride * (tenths / 10) < nitrite_mg_l) ++tenths;
    return tenths / 10;
}

std::string_view name_of(Status status) noexcept {
    constexpr std::array<std::string_view, 4> names{"pass", "unchecked", "warn", "fail"};
    return names[static_cast<std::size_t>(status)];
}

std::string_view name_of(Reason reason) noexcept {
    constexpr std::array<std::string_view, 12> names{
        "demand_over_supply", "rises_without_end", "hours_to_warn", "hours_to_fail",
        "days_to_warn",       "low_has_passed",    "row_not_used",  "as_oxygen",
        "least_by_balance",   "filter_age",        "filter_cold",   "filter_starved"};
    return names[static_cast<std::size_t>(reason)];
}

std::span<const Constant> judgement_sources() noexcept { return kSources; }

}  // namespace coldtank
