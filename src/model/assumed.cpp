#include "assumed.hpp"

#include <algorithm>
#include <array>

#include "numbers.hpp"

namespace coldtank {
namespace {

// ---- where a slip of the pen or the meter is likelier than the fact

constexpr Constant kBetaDoubt{"beta in doubt, over", 1, "-", Basis::judgement,
                              "water with anything in it holds less than clean water"};
constexpr Constant kAlphaDoubt{"alpha in doubt, over", 1.2, "-", Basis::judgement,
                               "no tank is far better than clean water"};
constexpr Constant kRationDoubt{"stated over advised ration in doubt, under", 0.1, "-",
                                Basis::judgement, "percent or a share, g or kg?"};
constexpr Constant kExchangeDoubt{"exchange in doubt, over", 30, "1/h", Basis::judgement,
                                  "fry troughs run at 12; L/min or L/h?"};
constexpr Constant kRespirationLow{"respiration_factor in doubt, under", 0.5, "-", Basis::judgement,
                                   "resting fish breathe 0.55 of fed ones"};
constexpr Constant kRespirationHigh{"respiration_factor in doubt, over", 2, "-", Basis::judgement,
                                    "beyond what trout differ by"};
constexpr Constant kOxygenDoubt{"oxygen reading in doubt, over", 20, "mg/L", Basis::judgement,
                                "a meter, or pure oxygen out of hand"};
constexpr Constant kOxygenDoubtPercent{"oxygen reading in doubt by saturation, over", 160,
                                       "% of saturation", Basis::judgement,
                                       "a meter, or pure oxygen out of hand"};
constexpr Constant kTanZeroDoubt{"TAN predicted where the test shows 0, in doubt over", 0.5,
                                 "mg/L (N)", Basis::judgement, "is the kit fresh?"};
constexpr Constant kTransferDoubt{"transfer_percent_per_m in doubt, over", 10, "percent/m",
                                  Basis::judgement, "the finest bubbles give 4 to 8"};
constexpr Constant kQualityDoubt{"cascade quality in doubt, over", 1.8, "-", Basis::from_memory,
                                 "Barrett et al.: clean water"};
constexpr Constant kWeirDoubt{"cascade weir in doubt, over", 1.3, "-", Basis::from_memory,
                              "Barrett et al.: step weir"};
constexpr Constant kSoftWater{"alkalinity that may be degrees of a kit, under", 20, "mg/L (CaCO3)",
                              Basis::judgement,
                              "kits print 1 to 20 dKH; water from granite has 5 to 20 mg/L"};
constexpr Constant kGasDoubt{"gas pressure in doubt, under", 80, "%", Basis::judgement,
                             "is it the excess over the air's?"};
constexpr Constant kJumpDoubt{"change of temperature within a day in doubt, from", 8, "degC",
                              Basis::judgement, "is the probe in the water?"};

constexpr std::array kSources{kBetaDoubt,
                              kAlphaDoubt,
                              kRationDoubt,
                              kExchangeDoubt,
                              kRespirationLow,
                              kRespirationHigh,
                              kOxygenDoubt,
                              kOxygenDoubtPercent,
                              kTanZeroDoubt,
                              kJumpDoubt,
                              kTemperatureJumpHours,
                              kTransferDoubt,
                              kQualityDoubt,
                              kWeirDoubt,
                              kGasDoubt,
                              kSoftWater};

bool is_slip(double stated_g_day, double advised_g_day) {
    return stated_g_day > 0 && stated_g_day < kRationDoubt * advised_g_day;
}

void list_doubts(const Readings& readings, std::vector<Doubt>& doubts) {
    const auto jump_c = readings.temperature_jump_c;
    if (jump_c >= double{kJumpDoubt}) {
        doubts.push_back({Doubt::Slip::temperature_jump, *jump_c, {}, {}});
    }
}

void list_factors(std::span<const Aerator> aeration, const Coefficients& k,
                  std::vector<Assumption>& assumed) {
    const auto factor = [&](std::string_view key, std::optional<double> value, double usual,
                            const std::string& where) {
        if (!value || *value == usual) return;
        assumed.push_back({Assumption::Kind::factor, key, *value, usual, where});
    };
    for (const Aerator& aerator : aeration) {
        factor("alpha", aerator.alpha, k.alpha, aerator.name);
        factor("beta", aerator.beta, k.beta, aerator.name);
        if (const auto* cascade = std::get_if<Cascade>(&aerator.kind)) {
            factor("quality", cascade->quality, k.cascade_quality, aerator.name);
            factor("weir", cascade->weir, k.cascade_weir, aerator.name);
        }
    }
}

void list_coefficients(const Coefficients& k, Felt felt, std::vector<Assumption>& assumed,
                       std::vector<Doubt>& doubts) {
    for (const OwnNumber& own : own_coefficients(k, felt)) {
        assumed.push_back({Assumption::Kind::coefficient, own.key, own.value, *own.usual, {}});
        const auto info =
            std::find_if(kCoefficients.begin(), kCoefficients.end(),
                         [&](const CoefficientInfo& each) { return each.key == own.key; });
        if (info->believed().holds(own.value)) continue;
        doubts.push_back({Doubt::Slip::coefficient, own.value, own.usual, std::string(own.key)});
    }
}

void list_doubts(std::span<const Aerator> aeration, const Coefficients& k,
                 std::vector<Doubt>& doubts) {
    for (const Aerator& aerator : aeration) {
        const auto* diffuser = std::get_if<Diffuser>(&aerator.kind);
        if (diffuser != nullptr && diffuser->transfer_percent_per_m > double{kTransferDoubt}) {
            doubts.push_back({Doubt::Slip::transfer, *diffuser->transfer_percent_per_m,
                              kTransferDoubt, aerator.name});
        }
        if (const auto* cascade = std::get_if<Cascade>(&aerator.kind)) {
            const double quality = cascade->quality.value_or(k.cascade_quality);
            const double weir = cascade->weir.value_or(k.cascade_weir);
            if (quality > kQualityDoubt) {
                doubts.push_back({Doubt::Slip::cascade, quality, kUsualCoefficients.cascade_quality,
                                  aerator.name});
            }
            if (weir > kWeirDoubt) {
                doubts.push_back(
                    {Doubt::Slip::cascade, weir, kUsualCoefficients.cascade_weir, aerator.name});
            }
        }
        const double alpha = aerator.alpha.value_or(k.alpha);
        const double beta = aerator.beta.value_or(k.beta);
        if (beta > kBetaDoubt) {
            doubts.push_back({Doubt::Slip::beta, beta, kUsualCoefficients.beta, aerator.name});
        }
        if (alpha > kAlphaDoubt) {
            doubts.push_back({Doubt::Slip::alpha, alpha, kUsualCoefficients.alpha, aerator.name});
        }
    }
}

}  // namespace

void list_assumptions(const Loop& loop, LoopBudget& budget) {
    list_factors(loop.aeration, loop.coefficients, budget.assumed);
    if (loop.biofilter && loop.biofilter->removal_g_day) {
        budget.assumed.push_back({.kind = Assumption::Kind::removal_as_measured});
    }
    list_doubts(loop.aeration, loop.coefficients, budget.doubts);
    list_doubts(loop.readings, budget.doubts);
    list_coefficients(loop.coefficients, Felt::on_loop, budget.assumed, budget.doubts);
}

void list_assumptions(const Tank& tank, TankBudget& budget) {
    using Kind = Assumption::Kind;
    constexpr std::size_t kUsually = 8;
    budget.assumed.reserve(kUsually);
    const bool fish = !budget.groups.empty();
    const Coefficients& k = tank.coefficients;
    const auto assume = [&](bool taken, Kind kind) {
        if (taken) budget.assumed.push_back({.kind = kind});
    };
    const auto any_group = [&](auto holds) {
        return std::any_of(budget.groups.begin(), budget.groups.end(), holds);
    };
    assume(!tank.water.peak_temperature_c || tank.water.peak_assumed, Kind::peak_is_mean);
    assume(any_group([](const GroupBudget& group) { return !group.ration_stated; }),
           Kind::table_ration);
    assume(any_group([&](const GroupBudget& group) {
               return group.ration_stated && group.demand_by_respiration_g_h > 0 &&
                      respiration_when_fed_mg_kg_h(
                          group.fed_mg_kg_h,
                          {group.ration_g_day / group.biomass_kg / 10, group.feed_cost_g_g},
                          k) < group.fed_mg_kg_h;
           }),
           Kind::fed_so_for_days);
    if (budget.ammonia.excreted_feed_g_day > 0 && !tank.feed.protein_percent) {
        budget.assumed.push_back({.kind = Kind::protein, .value = k.protein_percent});
    }
    assume(fish && std::any_of(tank.inflow.begin(), tank.inflow.end(),
                               [](const Inflow& inflow) {
                                   return inflow.from.empty() && inflow.flow_l_min > 0 &&
                                          !inflow.tan_mg_l;
                               }),
           Kind::inflow_without_tan);
    assume(budget.ammonia.tan_hours_to_warn && !tank.readings.tan_mg_l, Kind::no_tan_yet);
    assume(budget.flow_m3_h > 0 && !budget.carbon_dioxide.inflow_known, Kind::inflow_co2_as_air);
    assume(budget.reserve && budget.reserve->start_assumed, Kind::reserve_from_saturation);
    assume(fish && !tank.limits.response_time_min, Kind::response_time);
    if (tank.water.ph && tank.water.alkalinity_mg_l && *tank.water.alkalinity_mg_l < kSoftWater) {
        budget.assumed.push_back({.kind = Kind::soft_water, .value = *tank.water.alkalinity_mg_l});
    }
    const auto factor = [&](std::string_view key, std::optional<double> value, double usual,
                            const std::string& where) {
        if (!value || *value == usual) return;
        budget.assumed.push_back({Kind::factor, key, *value, usual, where});
    };
    std::size_t i = 0;
    for (const FishGroup& group : tank.fish) {
        if (group.count == 0) continue;
        const GroupBudget& figures = budget.groups[i++];
        factor("respiration_factor", group.respiration_factor, 1, name_of(group));
        if (group.told_by_length) {
            budget.assumed.push_back({.kind = Kind::weight_by_length,
                                      .value = figures.mean_weight_g,
                                      .usual = figures.length_cm,
                                      .where = figures.name});
        }
        const double usual = 100 * group.species.condition_g_cm3;
        factor("condition_factor", group.condition_factor, usual, name_of(group));
    }
    if (fish) {
        factor("peak_factor", tank.feed.peak_factor, k.peak_factor, {});
        factor("oxygen_per_feed_g_kg", tank.feed.oxygen_per_feed_g_kg, k.oxygen_per_feed_g_kg, {});
    }
    list_factors(tank.aeration, k, budget.assumed);
    list_coefficients(k, Felt::in_tank, budget.assumed, budget.doubts);
}

// What looks mistyped or misread. A check of its own: it takes no part in remedies or capacity.
void list_doubts(const Tank& tank, TankBudget& budget) {
    using Slip = Doubt::Slip;
    const auto doubt = [&](bool doubtful, Slip slip, double value,
                           std::optional<double> expected = {}, std::string where = {}) {
        if (doubtful) budget.doubts.push_back({slip, value, expected, std::move(where)});
    };
    const Range respiration_range{kRespirationLow, kRespirationHigh};
    double shared_g_day = 0;
    double shared_advised_g_day = 0;
    std::size_t i = 0;
    for (const FishGroup& group : tank.fish) {
        if (group.count == 0) continue;
        const GroupBudget& figures = budget.groups[i++];
        doubt(!respiration_range.holds(group.respiration_factor), Slip::respiration_factor,
              group.respiration_factor, 1, name_of(group));
        if (group.ration_g_day) {
            doubt(is_slip(*group.ration_g_day, figures.advised_ration_g_day), Slip::ration,
                  *group.ration_g_day, figures.advised_ration_g_day, name_of(group));
        } else if (figures.ration_stated) {
            shared_g_day += figures.ration_g_day;
            shared_advised_g_day += figures.advised_ration_g_day;
        }
    }
    doubt(is_slip(shared_g_day, shared_advised_g_day), Slip::ration, shared_g_day,
          shared_advised_g_day);
    list_doubts(tank.aeration, tank.coefficients, budget.doubts);
    const double exchange_per_h = budget.flow_m3_h / (budget.volume_l / 1000);
    doubt(exchange_per_h > kExchangeDoubt, Slip::exchange, exchange_per_h);
    const auto doubt_ph = [&](double ph, double from_ph, std::string where) {
        doubt(ph < kPhDoubtLow || ph > kPhDoubtHigh || from_ph > kCo2Doubt, Slip::ph_reading, ph,
              from_ph, std::move(where));
    };
    if (const auto from_ph = budget.carbon_dioxide.from_ph_mg_l) {
        doubt_ph(*tank.water.ph, *from_ph, {});
        // Fish breathe it out: their water holds more than air would leave in it.
        doubt(tank.water.alkalinity_mg_l < double{kSoftWater} && !budget.groups.empty() &&
                  kPhMeterBand * *from_ph < budget.carbon_dioxide.in_air_mg_l,
              Slip::alkalinity, *tank.water.alkalinity_mg_l, *from_ph);
    }
    for (const Inflow& inflow : tank.inflow) {
        if (inflow.flow_l_min == 0 || !inflow.ph || !inflow.alkalinity_mg_l) continue;
        const double from_ph =
            carbon_dioxide_mg_l({tank.water.temperature_c, *inflow.alkalinity_mg_l}, *inflow.ph);
        if (!std::isnan(from_ph)) doubt_ph(*inflow.ph, from_ph, "the inflow");
    }
    if (const auto gas = tank.readings.gas_pressure_percent) {
        doubt(*gas < kGasDoubt, Slip::gas_pressure, *gas);
    }
    if (const auto measured = budget.oxygen.measured_mg_l) {
        doubt(*measured > kOxygenDoubt ||
                  100 * *measured / budget.oxygen.saturation_mg_l > kOxygenDoubtPercent,
              Slip::oxygen_reading, *measured, budget.oxygen.saturation_mg_l);
    }
    if (const auto predicted = budget.ammonia.tan_mg_l) {
        doubt(budget.ammonia.measured_tan_mg_l == 0.0 && *predicted > kTanZeroDoubt, Slip::tan_zero,
              0, *predicted);
    }
    list_doubts(tank.readings, budget.doubts);
}

std::span<const Constant> assumed_sources() noexcept { return kSources; }

}  // namespace coldtank
