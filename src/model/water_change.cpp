#include "coldtank/water_change.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "balance.hpp"
#include "formulas.hpp"
#include "halve.hpp"
#include "judgement.hpp"

namespace coldtank {
namespace {

constexpr std::array kSources{kChangeAtOnce, kChangeUrgent, kChangeDegrees};

using Of = WaterChange::Of;

// What is known of the new water.
struct Fresh {
    double tan_mg_l = 0;
    double nitrate_mg_l = 0;
    std::optional<double> chlorine_mg_l = {};
    std::optional<double> oxygen_mg_l = {};
};

// Of several new waters they are mixed by flow; each keeps its share of saturation.
Fresh fresh_of(const System& system, const Tank& tank, double temperature_c) {
    if (system.loop) {
        const Makeup& makeup = system.loop->makeup;
        return {makeup.tan_mg_l, makeup.nitrate_mg_l, makeup.chlorine_mg_l, {}};
    }
    Tank own = tank;
    std::erase_if(own.inflow, [](const Inflow& inflow) { return !inflow.from.empty(); });
    const SupplyWater supply = inflow_supply(own, {system.pressure_kpa});
    if (supply.flow_m3_h == 0) return {};
    const auto holds_mg_l = [&](double t_c) {
        return oxygen_saturation_mg_l(water_at(tank, t_c, system.pressure_kpa));
    };
    return {supply.tan_mg_l, 0, supply.chlorine_mg_l,
            supply.oxygen_mg_l * holds_mg_l(temperature_c) / holds_mg_l(tank.water.temperature_c)};
}

const Check* check_of(const SystemBudget& budget, std::size_t tank, CheckId id) {
    const Check* own = find_check(budget.tanks[tank], id);
    return own == nullptr && budget.loop ? find_check(*budget.loop, id) : own;
}

// The share of the water, in percent, that brings a concentration to its limit.
std::optional<double> needed_percent(double before, double fresh, double limit) {
    if (before <= limit) return 0;
    if (!(fresh < limit)) return std::nullopt;
    return 100 * (before - limit) / (before - fresh);
}

}  // namespace

WaterChange assess_water_change(const System& system, const SystemBudget& budget, std::size_t index,
                                const ChangeQuestion& question) {
    const Tank& tank = system.tanks[index];
    const TankBudget& figures = budget.tanks[index];
    const TankLimits limits = limits_of(tank);
    WaterChange change;
    change.percent = question.percent;
    change.whole_loop = system.loop && figures.flow_m3_h > 0;
    change.volume_l = change.whole_loop ? budget.loop->volume_m3 * 1000 : tank.volume_l;
    const double present_c = tank.water.temperature_c;
    const double fresh_c = question.temperature_c.value_or(present_c);
    const double saturation_mg_l =
        oxygen_saturation_mg_l(water_at(tank, fresh_c, system.pressure_kpa));
    const Fresh fresh = fresh_of(system, tank, fresh_c);
    const auto add = [&](Of of, std::optional<double> read, std::optional<double> predicted,
                         double with, std::optional<double> limit) {
        const std::optional<double> before = read ? read : predicted;
        if (!before) return;
        const double after = formulas::changed_mg_l(*before, with, question.percent / 100);
        change.values.push_back({of, *before, after, with, read.has_value(), limit,
                                 limit ? needed_percent(*before, with, *limit) : std::nullopt});
    };
    const AmmoniaBudget& ammonia = figures.ammonia;
    add(Of::tan, ammonia.measured_tan_mg_l, ammonia.tan_mg_l, fresh.tan_mg_l, limits.tan_warn_mg_l);
    if (ammonia.unionised_fraction && !change.values.empty()) {
        // Warmer water frees more of it.
        const double tan_mg_l = change.values.front().before;
        const auto nh3_after = [&](double share) {
            const double warmer_c = share * (fresh_c - present_c);
            const double at = unionised_fraction(
                water_at(tank, figures.peak_temperature_c + warmer_c, system.pressure_kpa),
                *tank.water.ph, tank.coefficients);
            return nh3_mg_l({.tan_mg_l = formulas::changed_mg_l(tan_mg_l, fresh.tan_mg_l, share),
                             .unionised_fraction = at});
        };
        const double limit = limits.nh3_warn_mg_l;
        std::optional<double> needed = 0;
        if (!(nh3_after(0) <= limit)) {
            needed.reset();
            constexpr int kHalvings = 60;
            if (nh3_after(1) < limit) {
                needed = 100 * last_real(0, 1, kHalvings,
                                         [&](double share) { return nh3_after(share) > limit; });
            }
        }
        change.values.push_back({Of::nh3, nh3_after(0), nh3_after(question.percent / 100),
                                 nh3_after(1), change.values.front().read, limit, needed});
    }
    const Check* nitrite = check_of(budget, index, CheckId::nitrite);
    add(Of::nitrite, tank.readings.nitrite_mg_l, {}, 0,
        nitrite == nullptr ? std::nullopt : nitrite->warn.high);
    add(Of::nitrate, tank.readings.nitrate_mg_l,
        change.whole_loop ? budget.loop->nitrate_mg_l : std::nullopt, fresh.nitrate_mg_l,
        limits.nitrate_warn_mg_l);
    // Nobody tells of that of the new water: what protects from nitrite thins out.
    add(Of::chloride, tank.readings.chloride_mg_l, {}, 0, {});
    if (fresh.chlorine_mg_l > 0.0) {
        add(Of::chlorine, {}, 0, *fresh.chlorine_mg_l,
            chlorine_check(*fresh.chlorine_mg_l).warn.high);
    }
    const OxygenBudget& oxygen = figures.oxygen;
    change.oxygen_assumed = !fresh.oxygen_mg_l;
    add(Of::oxygen, oxygen.measured_mg_l, oxygen.steady_mean_mg_l,
        fresh.oxygen_mg_l.value_or(saturation_mg_l), {});
    add(Of::temperature, present_c, {}, fresh_c, {});

    const Check* breath = find_check(figures, CheckId::oxygen);
    change.low_oxygen = breath != nullptr && breath->status >= Status::warn;
    change.urgent =
        std::any_of(figures.checks.begin(), figures.checks.end(), [](const Check& check) {
            const bool of_water = check.id == CheckId::oxygen || check.id == CheckId::ammonia ||
                                  check.id == CheckId::total_ammonia ||
                                  check.id == CheckId::nitrite;
            return of_water && check.status == Status::fail;
        });
    if (const Check* of_loop = check_of(budget, index, CheckId::nitrite)) {
        change.urgent = change.urgent || of_loop->status == Status::fail;
    }
    change.at_once_percent = change.urgent ? kChangeUrgent : kChangeAtOnce;
    if (const double degrees = std::abs(fresh_c - present_c);
        degrees * change.at_once_percent / 100 > kChangeDegrees) {
        change.at_once_percent = 100 * kChangeDegrees / degrees;
        change.too_warm_or_cold = true;
    }
    const WaterChange::Value* worst = nullptr;
    for (const WaterChange::Value& value : change.values) {
        if (value.of == Of::chlorine || !value.limit || value.before <= *value.limit) continue;
        const auto rank = [](const WaterChange::Value& each) {
            return each.needed_percent.value_or(HUGE_VAL);
        };
        if (worst == nullptr || rank(value) > rank(*worst)) worst = &value;
    }
    if (worst == nullptr) return change;
    change.worst = worst->of;
    change.needed_percent = worst->needed_percent;
    const std::optional<double> settles = worst->of == Of::tan   ? ammonia.tan_mg_l
                                          : worst->of == Of::nh3 ? ammonia.nh3_mg_l
                                                                 : 0;
    change.comes_back = settles.value_or(HUGE_VAL) > *worst->limit;
    if (worst->needed_percent) {
        const double left = 1 - *worst->needed_percent / 100;
        const double each = 1 - change.at_once_percent / 100;
        constexpr double kRounding = 1e-9;
        change.changes = static_cast<int>(std::ceil(std::log(left) / std::log(each) - kRounding));
    }
    return change;
}

std::string_view name_of(WaterChange::Of of) noexcept {
    constexpr std::array<std::string_view, 8> names{
        "tan_mg_l",      "nh3_mg_l",      "nitrite_mg_l", "nitrate_mg_l",
        "chloride_mg_l", "chlorine_mg_l", "oxygen_mg_l",  "temperature_c"};
    return names[static_cast<std::size_t>(of)];
}

std::span<const Constant> water_change_sources() noexcept { return kSources; }

}  // namespace coldtank
