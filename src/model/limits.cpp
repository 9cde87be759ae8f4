// What a tank or a loop is judged by: its own limits, its species', the program's.
#include "limits.hpp"

#include <algorithm>
#include <array>

#include "coldtank/budget.hpp"
#include "numbers.hpp"

namespace coldtank {
namespace {

bool is_early_life(const FishGroup& group) {
    return group.count > 0 && group.mean_weight_g < kEarlyLifeG;
}

// One row a limit: LimitField for a number of the program's, or for one of the species'.
constexpr LimitField limit(std::string_view key, std::optional<double> Limits::*own,
                           double TankLimits::*resolved, const Constant& usual, Range range,
                           CheckId check) {
    return {key, own, resolved, nullptr, usual, range, check};
}
constexpr LimitField limit_of_species(std::string_view key, std::optional<double> Limits::*own,
                                      std::optional<double> TankLimits::*resolved, Range range,
                                      CheckId check) {
    return {key, own, nullptr, resolved, kNotANumber, range, check};
}

constexpr LimitField kLimitFields[] = {
    limit("oxygen_warn_mg_l", &Limits::oxygen_warn_mg_l, &TankLimits::oxygen_warn_mg_l, kOxygenWarn,
          kAmountRange, CheckId::oxygen),
    limit("oxygen_warn_percent", &Limits::oxygen_warn_percent, &TankLimits::oxygen_warn_percent,
          kOxygenWarnPercent, kAmountRange, CheckId::oxygen),
    limit("oxygen_fail_mg_l", &Limits::oxygen_fail_mg_l, &TankLimits::oxygen_fail_mg_l, kOxygenFail,
          kOxygenFailRange, CheckId::oxygen),
    limit("reserve_stress_mg_l", &Limits::reserve_stress_mg_l, &TankLimits::reserve_stress_mg_l,
          kReserveStress, kAmountRange, CheckId::oxygen_reserve),
    limit("reserve_danger_mg_l", &Limits::reserve_danger_mg_l, &TankLimits::reserve_danger_mg_l,
          kReserveDanger, kReserveDangerRange, CheckId::oxygen_reserve),
    limit("response_time_min", &Limits::response_time_min, &TankLimits::response_time_min,
          kResponseTime, kAmountRange, CheckId::oxygen_reserve),
    limit("nh3_warn_mg_l", &Limits::nh3_warn_mg_l, &TankLimits::nh3_warn_mg_l, kNh3Warn,
          kAmountRange, CheckId::ammonia),
    limit("nh3_fail_mg_l", &Limits::nh3_fail_mg_l, &TankLimits::nh3_fail_mg_l, kNh3Fail,
          kAmountRange, CheckId::ammonia),
    limit("tan_warn_mg_l", &Limits::tan_warn_mg_l, &TankLimits::tan_warn_mg_l, kTanWarn,
          kAmountRange, CheckId::total_ammonia),
    limit("tan_fail_mg_l", &Limits::tan_fail_mg_l, &TankLimits::tan_fail_mg_l, kTanFail,
          kAmountRange, CheckId::total_ammonia),
    limit("carbon_dioxide_warn_mg_l", &Limits::carbon_dioxide_warn_mg_l,
          &TankLimits::carbon_dioxide_warn_mg_l, kCo2Warn, kAmountRange, CheckId::carbon_dioxide),
    limit("carbon_dioxide_fail_mg_l", &Limits::carbon_dioxide_fail_mg_l,
          &TankLimits::carbon_dioxide_fail_mg_l, kCo2Fail, kAmountRange, CheckId::carbon_dioxide),
    limit_of_species("temperature_low_warn_c", &Limits::temperature_low_warn_c,
                     &TankLimits::temperature_low_warn_c, kTemperatureRange, CheckId::temperature),
    limit_of_species("temperature_warn_c", &Limits::temperature_warn_c,
                     &TankLimits::temperature_warn_c, kTemperatureRange, CheckId::temperature),
    limit_of_species("temperature_fail_c", &Limits::temperature_fail_c,
                     &TankLimits::temperature_fail_c, kTemperatureRange, CheckId::temperature),
    limit("ph_low_warn", &Limits::ph_low_warn, &TankLimits::ph_low_warn, kPhLowWarn, kPhRange,
          CheckId::ph),
    limit("ph_high_warn", &Limits::ph_high_warn, &TankLimits::ph_high_warn, kPhHighWarn, kPhRange,
          CheckId::ph),
    limit("ph_low_fail", &Limits::ph_low_fail, &TankLimits::ph_low_fail, kPhLowFail, kPhRange,
          CheckId::ph),
    limit("ph_high_fail", &Limits::ph_high_fail, &TankLimits::ph_high_fail, kPhHighFail, kPhRange,
          CheckId::ph),
    limit_of_species("density_warn_kg_m3", &Limits::density_warn_kg_m3,
                     &TankLimits::density_warn_kg_m3, kAmountRange, CheckId::density),
    limit("density_fail_kg_m3", &Limits::density_fail_kg_m3, &TankLimits::density_fail_kg_m3,
          kDensityFail, kAmountRange, CheckId::density),
    limit("density_index_kg_m3_cm", &Limits::density_index_kg_m3_cm,
          &TankLimits::density_index_kg_m3_cm, kDensityIndex, kAmountRange, CheckId::density),
    limit("ration_warn_ratio", &Limits::ration_warn_ratio, &TankLimits::ration_warn_ratio,
          kRationRatio, kAmountRange, CheckId::ration),
    limit("exchange_warn_per_h", &Limits::exchange_warn_per_h, &TankLimits::exchange_warn_per_h,
          kExchange, kAmountRange, CheckId::exchange),
    limit("size_spread_warn", &Limits::size_spread_warn, &TankLimits::size_spread_warn, kSpreadWarn,
          kAmountRange, CheckId::size_spread),
    limit("size_spread_fail", &Limits::size_spread_fail, &TankLimits::size_spread_fail, kSpreadFail,
          kAmountRange, CheckId::size_spread),
    limit("nitrate_warn_mg_l", &Limits::nitrate_warn_mg_l, &TankLimits::nitrate_warn_mg_l,
          kNitrateWarn, kAmountRange, CheckId::nitrate),
    limit("alkalinity_warn_mg_l", &Limits::alkalinity_warn_mg_l, &TankLimits::alkalinity_warn_mg_l,
          kAlkalinityWarn, kAmountRange, CheckId::alkalinity),
    limit("alkalinity_fail_mg_l", &Limits::alkalinity_fail_mg_l, &TankLimits::alkalinity_fail_mg_l,
          kAlkalinityFail, kAmountRange, CheckId::alkalinity),
    limit("backup_hours", &Limits::backup_hours, &TankLimits::backup_hours, kBackupHours,
          kAmountRange, CheckId::oxygen_reserve),
};

TankLimits resolved(const Limits& own, std::span<const FishGroup> fish) {
    TankLimits limits{};
    for (const LimitField& field : kLimitFields) {
        if (field.resolved != nullptr) {
            limits.*field.resolved = (own.*field.own).value_or(field.usual);
        }
    }
    if (std::any_of(fish.begin(), fish.end(), is_early_life)) {
        // A fail limit that is not given gives way to a warn limit that is.
        if (!own.oxygen_warn_mg_l) limits.oxygen_warn_mg_l = kEarlyOxygenWarn;
        if (!own.oxygen_fail_mg_l) {
            limits.oxygen_fail_mg_l = smaller_of(kEarlyOxygenFail, limits.oxygen_warn_mg_l);
        }
        if (!own.nh3_warn_mg_l) limits.nh3_warn_mg_l = kEarlyNh3Warn;
        if (!own.nh3_fail_mg_l) {
            limits.nh3_fail_mg_l = larger_of(kEarlyNh3Fail, limits.nh3_warn_mg_l);
        }
    }
    // Several species: the strictest.
    const auto tighten = [](std::optional<double>& limit, double of_species, bool upper) {
        if (!limit || (upper ? of_species < *limit : of_species > *limit)) limit = of_species;
    };
    for (const FishGroup& group : fish) {
        if (group.count == 0) continue;
        tighten(limits.temperature_low_warn_c, group.species.warn_below_c, false);
        tighten(limits.temperature_warn_c, group.species.warn_above_c, true);
        tighten(limits.temperature_fail_c, group.species.fail_above_c, true);
        tighten(limits.density_warn_kg_m3, group.species.density_warn_kg_m3, true);
    }
    for (const LimitField& field : kLimitFields) {
        if (field.resolved_of_species != nullptr && own.*field.own) {
            limits.*field.resolved_of_species = own.*field.own;
        }
    }
    return limits;
}

}  // namespace

bool has_early_life(const Tank& tank) noexcept {
    return std::any_of(tank.fish.begin(), tank.fish.end(), is_early_life);
}

TankLimits limits_of(const Tank& tank) { return resolved(tank.limits, tank.fish); }
TankLimits limits_of(const Loop& loop) { return resolved(loop.limits, {}); }

namespace {

std::vector<OwnNumber> own_limits(const TankLimits& own, const TankLimits& usual) {
    std::vector<OwnNumber> all;
    for (const LimitField& field : kLimitFields) {
        const auto value = field.value_in(own);
        const auto program = field.value_in(usual);
        if (value && value != program) all.push_back({field.key, field.check, *value, program});
    }
    return all;
}

static_assert(std::size(kLimitFields) == sizeof(Limits) / sizeof(std::optional<double>),
              "each limit of a description has its row");

}  // namespace

std::optional<double> LimitField::value_in(const TankLimits& limits) const {
    return resolved != nullptr ? limits.*resolved : limits.*resolved_of_species;
}

std::span<const LimitField> limit_fields() noexcept { return kLimitFields; }

std::vector<OwnNumber> own_limits_of(const Tank& tank) {
    const bool sets_any =
        std::any_of(std::begin(kLimitFields), std::end(kLimitFields),
                    [&](const LimitField& field) { return (tank.limits.*field.own).has_value(); });
    const bool own_species =
        std::any_of(tank.fish.begin(), tank.fish.end(),
                    [](const FishGroup& group) { return group.usual_species.has_value(); });
    if (!sets_any && !own_species) return {};
    return own_limits(limits_of(tank), limits_of(as_usual(tank)));
}
std::vector<OwnNumber> own_limits_of(const Loop& loop) {
    return own_limits(limits_of(loop), resolved({}, {}));
}

std::vector<OwnNumber> own_coefficients(const Coefficients& coefficients, Felt felt) {
    std::vector<OwnNumber> own;
    for (const CoefficientInfo& info : kCoefficients) {
        const bool on_loop = info.used_in == "loops";
        if ((felt == Felt::in_tank && on_loop) || (felt == Felt::on_loop && !on_loop)) continue;
        const double value = coefficients.*info.member;
        if (value != *info.constant.value) {
            own.push_back({info.key, std::nullopt, value, info.constant.value});
        }
    }
    return own;
}

Loop as_usual(const Loop& loop) {
    Loop usual = loop;
    usual.limits = {};
    usual.coefficients = {};
    return usual;
}

Tank as_usual(const Tank& tank) {
    Tank usual = tank;
    usual.limits = {};
    usual.coefficients = {};
    for (FishGroup& group : usual.fish) {
        if (!group.usual_species) continue;
        const Species& species = *group.usual_species;
        group.species.warn_below_c = species.warn_below_c;
        group.species.warn_above_c = species.warn_above_c;
        group.species.fail_above_c = species.fail_above_c;
        group.species.density_warn_kg_m3 = species.density_warn_kg_m3;
    }
    return usual;
}

std::vector<LimitConflict> limit_conflicts(const TankLimits& limits, const Limits& own) {
    struct Pair {
        LimitConflict keys;
        std::optional<double> lower;  // must not be above
        std::optional<double> upper;
    };
    const std::array pairs{
        // With a percentage of their own to warn at, mg/L may come second.
        Pair{{"oxygen_warn_mg_l", "oxygen_fail_mg_l"},
             own.oxygen_warn_percent ? std::nullopt : std::optional{limits.oxygen_fail_mg_l},
             limits.oxygen_warn_mg_l},
        Pair{{"alkalinity_warn_mg_l", "alkalinity_fail_mg_l"},
             limits.alkalinity_fail_mg_l,
             limits.alkalinity_warn_mg_l},
        Pair{{"reserve_stress_mg_l", "reserve_danger_mg_l"},
             limits.reserve_danger_mg_l,
             limits.reserve_stress_mg_l},
        Pair{{"nh3_warn_mg_l", "nh3_fail_mg_l"}, limits.nh3_warn_mg_l, limits.nh3_fail_mg_l},
        Pair{{"tan_warn_mg_l", "tan_fail_mg_l"}, limits.tan_warn_mg_l, limits.tan_fail_mg_l},
        Pair{{"carbon_dioxide_warn_mg_l", "carbon_dioxide_fail_mg_l"},
             limits.carbon_dioxide_warn_mg_l,
             limits.carbon_dioxide_fail_mg_l},
        Pair{{"temperature_low_warn_c", "temperature_warn_c"},
             limits.temperature_low_warn_c,
             limits.temperature_warn_c},
        Pair{{"temperature_warn_c", "temperature_fail_c"},
             limits.temperature_warn_c,
             limits.temperature_fail_c},
        Pair{{"ph_low_warn", "ph_low_fail"}, limits.ph_low_fail, limits.ph_low_warn},
        Pair{{"ph_low_warn", "ph_high_warn"}, limits.ph_low_warn, limits.ph_high_warn},
        Pair{{"ph_high_warn", "ph_high_fail"}, limits.ph_high_warn, limits.ph_high_fail},
        Pair{{"density_warn_kg_m3", "density_fail_kg_m3"},
             limits.density_warn_kg_m3,
             limits.density_fail_kg_m3},
        Pair{{"size_spread_warn", "size_spread_fail"},
             limits.size_spread_warn,
             limits.size_spread_fail},
    };
    std::vector<LimitConflict> conflicts;
    for (const Pair& pair : pairs) {
        if (pair.lower && pair.upper && *pair.lower > *pair.upper) conflicts.push_back(pair.keys);
    }
    return conflicts;
}

}  // namespace coldtank
