#include <algorithm>

#include "check.hpp"
#include "coldtank/loop.hpp"

using namespace coldtank;
using namespace coldtank::test;

namespace {

constexpr double kFootM = 0.3048;
constexpr double kPoundKg = 0.45359237;
constexpr double kGallonL = 3.785411784;

Check check_of(const TankBudget& budget, CheckId id) {
    const Check* check = find_check(budget, id);
    REQUIRE_MESSAGE(check != nullptr, name_of(id));
    return *check;
}

bool has(const TankBudget& budget, CheckId id) { return find_check(budget, id) != nullptr; }

bool assumes(const TankBudget& budget, Assumption::Kind kind) {
    return std::any_of(budget.assumed.begin(), budget.assumed.end(),
                       [&](const Assumption& each) { return each.kind == kind; });
}

// The kilograms of one size of trout whose peak demand meets what a flow alone brings at the fail
// limit, at table ration and a peak factor of 1.
double carried_kg(double temperature_c, double pressure_kpa, double flow_l_min,
                  std::optional<double> oxygen_mg_l, double weight_g) {
    Tank tank{};
    tank.volume_l = 10000;
    tank.water.temperature_c = temperature_c;
    tank.inflow = {Inflow{}};
    tank.inflow[0].flow_l_min = flow_l_min;
    tank.inflow[0].oxygen_mg_l = oxygen_mg_l;
    if (!oxygen_mg_l) tank.inflow[0].oxygen_percent = 100;
    tank.feed.peak_factor = 1;
    tank.fish = {fish("rainbow", 1000 / weight_g, weight_g)};  // 1 kg
    const TankBudget budget = assessed(tank, pressure_kpa);
    return budget.oxygen.supply_at_fail_g_h / budget.oxygen.demand_peak_g_h;
}

// Rank of a check among outcomes: higher is worse.
double badness(const Check& check) {
    return check.exhausted ? 1e300 : check.used_percent.value_or(-1);
}

bool no_better(const Check& later, const Check& before) {
    const double was = badness(before);
    return later.status >= before.status && badness(later) >= was - 1e-9 * std::abs(was);
}

// With what its measured oxygen says of it.
TankBudget explained(const Tank& tank, double pressure_kpa) {
    const System system{pressure_kpa, {tank}, std::nullopt};
    SystemBudget budget = assess_system(system);
    add_oxygen_gaps(system, budget);
    return budget.tanks[0];
}

const CheckId kStockChecks[] = {CheckId::oxygen, CheckId::oxygen_reserve, CheckId::ammonia,
                                CheckId::total_ammonia, CheckId::carbon_dioxide};

}  // namespace

TEST_SUITE("budget") {
    // ---- Piper et al. 1982, Fish Hatchery Management

    TEST_CASE("8 mg/L in place of 11 halves what a flow carries (Piper et al. 1982, p. 70)") {
        const double rich = carried_kg(10, 95, 100, 11, 150);
        const double poor = carried_kg(10, 95, 100, 8, 150);
        check_close(poor / rich, 0.5, 1e-12);
    }

    TEST_CASE("flow index of 8-inch trout: careful beside the handbook, never above it") {
        // Piper et al. 1982, worked example p. 70: W = F L I, 5000 ft, 1 gal/min, 8 in (0.2048 lb).
        // 20 % on the careful side, as the demand is the larger of two rules; none on the other.
        int compared = 0;
        for (const auto& row : reference_rows("flow_index_piper_1982.csv")) {
            if (row.at("basis") != "published" || row.at("temperature_f").empty()) continue;
            const double carried =
                carried_kg((number(row, "temperature_f") - 32) / 1.8,
                           standard_pressure_kpa(number(row, "elevation_ft") * kFootM), kGallonL,
                           std::nullopt, 0.2048 * 453.59237);
            const double index = carried / kPoundKg / 8;
            CHECK(index <= number(row, "flow_index"));
            CHECK(index >= 0.8 * number(row, "flow_index"));
            // Not more than the handbook thinks colder water carries on top.
            check_close(index, row.at("temperature_f") == "46" ? 1.77 : 1.22, 0.005);
            ++compared;
        }
        CHECK(compared == 2);
    }

    TEST_CASE("flow index falls with elevation as saturation does") {
        double base_index = 0;
        const auto rows = reference_rows("flow_index_piper_1982.csv");
        for (const auto& row : rows) {
            if (row.at("temperature_f") == "50" && row.at("elevation_ft") == "5000") {
                base_index = number(row, "flow_index");
                break;
            }
        }
        REQUIRE(base_index > 0);
        const auto saturation = [](double elevation_ft) {
            return oxygen_saturation_mg_l(
                {.temperature_c = 10,
                 .pressure_kpa = standard_pressure_kpa(elevation_ft * kFootM)});
        };
        int compared = 0;
        for (const auto& row : rows) {
            if (row.at("basis") != "memory") continue;
            const double ratio = saturation(number(row, "elevation_ft")) / saturation(5000);
            check_close(number(row, "flow_index") / base_index, ratio, 0.01 * ratio);
            ++compared;
        }
        CHECK(compared == 10);
    }

    TEST_CASE("ammonia on a flow: the worked examples of Piper et al. 1982, p. 25") {
        // Factor 3.0 is pounds to mg/L: 10 lb of feed, 39.2 percent protein, 200 gal/min: 0.15.
        for (const double feed_lb : {10.0, 15.0}) {
            Tank tank{};
            tank.volume_l = 100000;
            tank.water.temperature_c = 10;
            tank.inflow = {Inflow{}};
            tank.inflow[0].flow_l_min = 200 * kGallonL;
            tank.inflow[0].oxygen_percent = 100;
            tank.inflow[0].tan_mg_l = 0;
            tank.fish = {fish("rainbow", 1000, 100)};
            tank.feed.ration_g_day = feed_lb * 453.59237;
            tank.feed.protein_percent = 39.2;
            const double published = 0.015 * feed_lb;
            check_close(assessed(tank).ammonia.tan_mg_l.value(), published, 0.01 * published);
        }
    }

    // ---- the example of the README, by hand

    TEST_CASE("the README's tank by hand") {
        const TankBudget b = assessed(readme_tank(), standard_pressure_kpa(640));
        // 6.50 mg/L, 83 % used, 52 min, 12.0 mg/L CO2.
        check_close(b.oxygen.lowest_mg_l.value(), 6.50, 0.005);
        check_close(check_of(b, CheckId::oxygen).used_percent.value(), 83, 0.5);
        check_close(check_of(b, CheckId::oxygen_reserve).value.value(), 51.7, 0.05);
        check_close(b.carbon_dioxide.from_ph_mg_l.value(), 12.0, 0.05);
        CHECK(b.verdict == Status::pass);
        CHECK(b.first_limit == CheckId::oxygen);
        // 21.6 kg in 2 m3; 42 percent of 250 g of feed x 0.092; 2.1 m3/h.
        check_close(b.density_kg_m3, 10.8, 1e-12);
        check_close(b.ammonia.tan_production_g_day, 250 * 0.42 * 0.092, 1e-12);
        check_close(b.ammonia.tan_mg_l.value(), 9.66 / (24 * 2.1), 1e-12);
        check_close(check_of(b, CheckId::exchange).value.value(), 1.05, 1e-12);
        check_close(b.oxygen.demand_by_feed_g_h, 0.25 * 300 / 24, 1e-12);
        // Reserve: 60 x 1.9784 m3 x (lowest - 3) / what fed fish breathe at the peak, 14.2 degC.
        const double fed_g_h = 1.4 * 21.6 / 1000 * 3.05e-4 * std::pow(1.8 * 14.2 + 32, 1.855) *
                               std::pow(180 / 453.59237, -0.138) * 1e4 / 24;
        check_close(b.reserve->demand_g_h, fed_g_h, 1e-9);
        check_close(b.reserve->stopped.minutes_to_danger.value(),
                    60 * 1.9784 * (*b.oxygen.lowest_mg_l - 3) / fed_g_h, 1e-9);
        CHECK(assumes(b, Assumption::Kind::inflow_without_tan));
        CHECK(assumes(b, Assumption::Kind::inflow_co2_as_air));
        CHECK(assumes(b, Assumption::Kind::response_time));
        CHECK_FALSE(assumes(b, Assumption::Kind::peak_is_mean));
        CHECK_FALSE(assumes(b, Assumption::Kind::protein));
    }

    // ---- facts of the trade, common practice, no source

    TEST_CASE("the golden strain gets exactly the rainbow's budget") {
        Tank tank = readme_tank();
        const TankBudget rainbow = assessed(tank);
        tank.fish = {fish("golden trout", 120, 180)};
        const TankBudget golden = assessed(tank);
        REQUIRE(rainbow.checks.size() == golden.checks.size());
        for (std::size_t i = 0; i < rainbow.checks.size(); ++i) {
            CHECK(rainbow.checks[i].status == golden.checks[i].status);
            CHECK(rainbow.checks[i].value == golden.checks[i].value);
            CHECK(rainbow.checks[i].used_percent == golden.checks[i].used_percent);
        }
        CHECK(rainbow.oxygen.demand_peak_g_h == golden.oxygen.demand_peak_g_h);
    }

    TEST_CASE("trout of mixed sizes warn: grade them") {
        Tank tank = readme_tank();
        tank.fish = {fish("rainbow", 60, 300), fish("rainbow", 60, 60)};
        const Check& spread = check_of(assessed(tank), CheckId::size_spread);
        CHECK(spread.status == Status::warn);
        check_close(spread.value.value(), std::cbrt(5.0), 1e-12);
        tank.fish[1].mean_weight_g = 30;  // ten times lighter: 2.15 times shorter
        CHECK(check_of(assessed(tank), CheckId::size_spread).status == Status::fail);
        tank.fish[1].mean_weight_g = 200;
        CHECK(check_of(assessed(tank), CheckId::size_spread).status == Status::pass);
        CHECK_FALSE(has(assessed(readme_tank()), CheckId::size_spread));
    }

    TEST_CASE("crowding fails, and so does a current too slow or too fast") {
        Tank tank = readme_tank();
        tank.fish[0].count = 900;  // 81 kg/m3
        CHECK(check_of(assessed(tank), CheckId::density).status == Status::fail);
        tank = readme_tank();
        tank.readings.current_cm_s = 5;  // a fifth of a body length a second
        CHECK(check_of(assessed(tank), CheckId::current).status == Status::warn);
        tank.readings.current_cm_s = 25;
        CHECK(check_of(assessed(tank), CheckId::current).status == Status::pass);
        tank.readings.current_cm_s = 60;
        CHECK(check_of(assessed(tank), CheckId::current).status == Status::fail);
        // Too slow for both: by the longest, too fast by the shortest.
        tank.fish = {fish("rainbow", 50, 180), fish("rainbow", 50, 100)};
        tank.readings.current_cm_s = 5;
        const TankBudget slow = assessed(tank);
        check_close(check_of(slow, CheckId::current).value.value(), 5 / slow.groups[0].length_cm,
                    1e-12);
        tank.readings.current_cm_s = 40;
        check_close(check_of(assessed(tank), CheckId::current).value.value(),
                    40 / slow.groups[1].length_cm, 1e-12);
    }

    TEST_CASE("fish in a bucket without an air stone have minutes") {
        Tank bucket{};
        bucket.volume_l = 20;
        bucket.water.temperature_c = 12;
        bucket.fish = {fish("rainbow", 10, 150)};
        const TankBudget bare = assessed(bucket);
        CHECK(check_of(bare, CheckId::oxygen).status == Status::fail);
        CHECK(check_of(bare, CheckId::oxygen).exhausted);
        CHECK(bare.first_limit == CheckId::oxygen);
        // From saturation, and never better than the oxygen check.
        CHECK(check_of(bare, CheckId::oxygen_reserve).status == Status::fail);
        CHECK(bare.reserve->stopped.minutes_to_danger.value() < 30);
        CHECK(bare.reserve->stopped.minutes_to_danger.value() > 5);
        CHECK(assumes(bare, Assumption::Kind::reserve_from_saturation));
        bucket.aeration = {diffuser(4, 0.3, Bubble::fine)};
        const TankBudget aired = assessed(bucket);
        CHECK(aired.oxygen.lowest_mg_l.value() > 0);
    }

    // ---- properties over thousands of random tanks

    TEST_CASE("mass in is mass out, to 1e-12") {
        RandomTanks random(1);
        int balances = 0;
        for (int i = 0; i < 3000; ++i) {
            const Tank tank = random.next();
            const double pressure = random.pressure_kpa();
            const TankBudget b = assessed(tank, pressure);
            const auto oxygen_gap = [&](double c, double temperature_c, double inflow,
                                        double demand, double saturation) {
                double in = b.flow_m3_h * inflow;
                double out = b.flow_m3_h * c + demand;
                for (const Aerator& aerator : tank.aeration) {
                    const double k =
                        field_transfer_m3_h(aerator, temperature_c, kUsualCoefficients);
                    in += k * aerator.beta.value_or(kUsualCoefficients.beta) * saturation +
                          pure_oxygen_g_h(aerator, kUsualCoefficients);
                    out += k * c;
                }
                return (in - out) / (in + out);
            };
            if (b.oxygen.lowest_mg_l > 0.0) {
                check_close(oxygen_gap(*b.oxygen.lowest_mg_l, b.peak_temperature_c,
                                       b.oxygen.inflow_peak_mg_l.value_or(0),
                                       b.oxygen.demand_peak_g_h, b.oxygen.saturation_peak_mg_l),
                            0, 1e-12);
                ++balances;
            }
            if (b.oxygen.steady_mean_mg_l > 0.0) {
                check_close(oxygen_gap(*b.oxygen.steady_mean_mg_l, b.temperature_c,
                                       b.oxygen.inflow_mg_l.value_or(0), b.oxygen.demand_mean_g_h,
                                       b.oxygen.saturation_mg_l),
                            0, 1e-12);
            }
            const CarbonDioxideBudget& co2 = b.carbon_dioxide;
            if (co2.balance_mg_l) {
                const double x = *co2.balance_mg_l;
                const double in = b.flow_m3_h * co2.inflow_mg_l.value_or(0) +
                                  co2.stripping_m3_h * co2.in_air_mg_l + co2.production_peak_g_h;
                check_close((b.flow_m3_h + co2.stripping_m3_h) * x / in, 1, 1e-12);
            }
            if (b.ammonia.tan_mg_l) {
                const double brought = tank.inflow[0].tan_mg_l.value_or(0);
                check_close(24 * b.flow_m3_h * (*b.ammonia.tan_mg_l - brought) /
                                b.ammonia.tan_production_g_day,
                            1, 1e-9);
            }
        }
        CHECK(balances > 1000);
    }

    TEST_CASE("a demand above the supply at a limit and a lowest oxygen below it are the same") {
        RandomTanks random(2);
        int judged = 0;
        for (int i = 0; i < 3000; ++i) {
            const TankBudget b = assessed(random.next(), random.pressure_kpa());
            if (!(b.oxygen.lowest_mg_l > 0.0)) continue;
            const Status status = check_of(b, CheckId::oxygen).status;
            CHECK((status == Status::fail) == (*b.oxygen.lowest_mg_l < b.oxygen.fail_mg_l));
            CHECK((status == Status::pass) == (*b.oxygen.lowest_mg_l >= b.oxygen.warn_mg_l));
            ++judged;
        }
        CHECK(judged > 1000);
    }

    TEST_CASE("twice the tank, water, air and fish: the same concentrations") {
        RandomTanks random(3);
        for (int i = 0; i < 2000; ++i) {
            Tank tank = random.next();
            const double pressure = random.pressure_kpa();
            const TankBudget one = assessed(tank, pressure);
            tank.volume_l *= 2;
            if (!tank.inflow.empty()) tank.inflow[0].flow_l_min *= 2;
            for (FishGroup& group : tank.fish) {
                group.count *= 2;
                if (group.ration_g_day) *group.ration_g_day *= 2;
            }
            for (Aerator& aerator : tank.aeration) {
                if (auto* d = std::get_if<Diffuser>(&aerator.kind)) d->air_flow_l_min *= 2;
                if (auto* r = std::get_if<RatedAerator>(&aerator.kind)) r->sotr_g_h *= 2;
                if (auto* o = std::get_if<PureOxygen>(&aerator.kind)) o->flow_l_min *= 2;
            }
            const TankBudget two = assessed(tank, pressure);
            REQUIRE(one.checks.size() == two.checks.size());
            for (std::size_t c = 0; c < one.checks.size(); ++c) {
                CHECK(one.checks[c].status == two.checks[c].status);
                REQUIRE(one.checks[c].value.has_value() == two.checks[c].value.has_value());
                if (!one.checks[c].value) continue;
                const double value = *one.checks[c].value;
                check_close(*two.checks[c].value, value, 1e-9 * (1 + std::abs(value)));
            }
        }
    }

    TEST_CASE("more fish never helps") {
        RandomTanks random(4);
        for (int i = 0; i < 3000; ++i) {
            Tank tank = random.next();
            const double pressure = random.pressure_kpa();
            const TankBudget fewer = assessed(tank, pressure);
            for (FishGroup& group : tank.fish) {
                group.count *= 1.1;
                if (group.ration_g_day) *group.ration_g_day *= 1.1;
            }
            const TankBudget more = assessed(tank, pressure);
            for (const CheckId id : kStockChecks) {
                CHECK_MESSAGE(no_better(check_of(more, id), check_of(fewer, id)), name_of(id));
            }
            CHECK(check_of(more, CheckId::density).status >=
                  check_of(fewer, CheckId::density).status);
        }
    }

    TEST_CASE("a bigger ration never helps") {
        RandomTanks random(5);
        for (int i = 0; i < 3000; ++i) {
            Tank tank = random.next();
            for (FishGroup& group : tank.fish) group.ration_g_day.reset();
            tank.feed.ration_percent_day = random.between(0, 3);
            const double pressure = random.pressure_kpa();
            const TankBudget less = assessed(tank, pressure);
            *tank.feed.ration_percent_day += random.between(0, 0.5);
            const TankBudget more = assessed(tank, pressure);
            for (const CheckId id : kStockChecks) {
                CHECK_MESSAGE(no_better(check_of(more, id), check_of(less, id)), name_of(id));
            }
        }
    }

    TEST_CASE(
        "at a fixed ration warmer water never lowers demand, nor it or altitude raise supply") {
        RandomTanks random(6);
        for (int i = 0; i < 2000; ++i) {
            Tank tank = random.next();
            for (FishGroup& group : tank.fish) group.ration_g_day.reset();
            tank.feed.ration_percent_day = 12;  // above any cell of the table
            tank.water.peak_temperature_c.reset();
            if (!tank.inflow.empty() && tank.inflow[0].oxygen_mg_l) {
                tank.inflow[0].oxygen_mg_l.reset();
                tank.inflow[0].oxygen_percent = 95;
            }
            const double altitude_m = random.between(0, 2500);
            const TankBudget cold = assessed(tank, standard_pressure_kpa(altitude_m));
            const TankBudget high = assessed(tank, standard_pressure_kpa(altitude_m + 200));
            tank.water.temperature_c += random.between(0.1, 3);
            const TankBudget warm = assessed(tank, standard_pressure_kpa(altitude_m));
            CHECK(warm.oxygen.demand_mean_g_h >= cold.oxygen.demand_mean_g_h);
            CHECK(warm.oxygen.demand_peak_g_h >= cold.oxygen.demand_peak_g_h);
            const double slack = 1e-9 * std::abs(cold.oxygen.supply_at_fail_g_h);
            CHECK(warm.oxygen.supply_at_fail_g_h <= cold.oxygen.supply_at_fail_g_h + slack);
            CHECK(high.oxygen.supply_at_fail_g_h <= cold.oxygen.supply_at_fail_g_h + slack);
        }
    }

    TEST_CASE("every number of every random tank is a number, and verdicts follow the checks") {
        RandomTanks random(7);
        for (int i = 0; i < 3000; ++i) {
            const TankBudget b = assessed(random.next(), random.pressure_kpa());
            Status worst = Status::pass;
            const Check* first = nullptr;
            for (const Check& check : b.checks) {
                worst = worse(worst, check.status);
                if (check.value) CHECK(std::isfinite(*check.value));
                if (check.used_percent) CHECK(std::isfinite(*check.used_percent));
                CHECK((check.status == Status::unchecked) == !check.missing.empty());
                if (check.status == b.verdict && first == nullptr) first = &check;
            }
            CHECK(b.verdict == worst);
            const Check& limit = check_of(b, b.first_limit);
            if (worst >= Status::warn) {
                CHECK(limit.status == worst);
                for (const Check& check : b.checks) {
                    if (check.status != worst) continue;
                    // What is so now comes before what will be in hours.
                    CHECK(status_now(limit) >= status_now(check));
                    if (status_now(limit) > status_now(check)) continue;
                    CHECK(badness(limit) >= badness(check));
                }
            }
        }
    }

    // ---- edges

    TEST_CASE("an empty tank shows oxygen, carbon dioxide, temperature and ph") {
        Tank tank = readme_tank();
        tank.fish.clear();
        tank.feed = {};
        TankBudget b = assessed(tank);
        REQUIRE(b.checks.size() == 4);
        CHECK(check_of(b, CheckId::temperature).status == Status::unchecked);
        CHECK(check_of(b, CheckId::oxygen).status == Status::pass);
        tank.limits.temperature_low_warn_c = 5;
        tank.limits.temperature_warn_c = 6;
        tank.limits.temperature_fail_c = 7;
        CHECK(check_of(assessed(tank), CheckId::temperature).status == Status::unchecked);
        tank.inflow[0].oxygen_percent = 40;  // what flows in is itself too poor
        tank.aeration.clear();
        CHECK(check_of(assessed(tank), CheckId::oxygen).status == Status::fail);
        tank.inflow.clear();
        b = assessed(tank);
        CHECK(check_of(b, CheckId::oxygen).status == Status::unchecked);
        CHECK_FALSE(b.reserve.has_value());
        tank.fish = {fish("rainbow", 0, 180)};  // none of them
        CHECK(assessed(tank).checks.size() == 4);
    }

    TEST_CASE("nothing that was not measured passes") {
        Tank tank = readme_tank();
        tank.water.ph.reset();
        const TankBudget b = assessed(tank);
        CHECK(check_of(b, CheckId::ammonia).status == Status::unchecked);
        CHECK(check_of(b, CheckId::ph).status == Status::unchecked);
        CHECK(check_of(b, CheckId::carbon_dioxide).status == Status::unchecked);
        CHECK(b.verdict == Status::unchecked);
        CHECK(b.carbon_dioxide.balance_mg_l.has_value());  // shown all the same
        CHECK(estimated_ph(tank, b).has_value());
        CHECK_FALSE(b.carbon_dioxide.balance_judged);
    }

    TEST_CASE("a measured value worse than the balance decides, a better one does not") {
        Tank tank = readme_tank();
        tank.readings.oxygen_mg_l = 4.9;
        tank.readings.tan_mg_l = 2.5;
        tank.readings.carbon_dioxide_mg_l = 21;
        TankBudget b = assessed(tank);
        CHECK(check_of(b, CheckId::oxygen).status == Status::fail);
        check_close(check_of(b, CheckId::oxygen).value.value(), 4.9, 0);
        CHECK(check_of(b, CheckId::total_ammonia).status == Status::warn);
        CHECK(check_of(b, CheckId::carbon_dioxide).status == Status::fail);
        CHECK(b.reserve->start_mg_l == 4.9);
        tank.readings.oxygen_mg_l = 11;
        tank.readings.tan_mg_l = 0.01;
        tank.readings.carbon_dioxide_mg_l = 1;
        b = assessed(tank);
        check_close(check_of(b, CheckId::oxygen).value.value(), *b.oxygen.lowest_mg_l, 0);
        check_close(check_of(b, CheckId::total_ammonia).value.value(), *b.ammonia.tan_mg_l, 0);
        check_close(check_of(b, CheckId::carbon_dioxide).value.value(),
                    *b.carbon_dioxide.from_ph_mg_l, 0);
    }

    TEST_CASE("each explanation of a measured oxygen, put into the description, predicts it") {
        RandomTanks random(20261125);
        int counted[4] = {};
        for (int i = 0; i < 3000; ++i) {
            Tank tank = random.next();
            const double pressure_kpa = random.pressure_kpa();
            tank.readings.oxygen_mg_l = random.between(0, 13);
            const auto assessed = [&](const Tank& changed) {
                return assess_tank(changed, inflow_supply(changed, {pressure_kpa}), {pressure_kpa});
            };
            const TankBudget budget = explained(tank, pressure_kpa);
            CHECK(budget.oxygen.gap.has_value() == budget.oxygen.steady_mean_mg_l.has_value());
            if (!budget.oxygen.gap) continue;
            const OxygenGap& gap = *budget.oxygen.gap;
            CHECK(gap.predicted_mg_l == *budget.oxygen.steady_mean_mg_l);
            const auto predicts = [&](const Tank& changed) {
                check_close(assessed(changed).oxygen.steady_mean_mg_l.value(), gap.measured_mg_l,
                            1e-9 * (1 + gap.measured_mg_l));
            };
            if (gap.fish_count && *gap.fish_count > 0) {
                Tank more = tank;
                const double share = *gap.fish_count / budget.fish_count;
                scale_fish(more, share);
                predicts(more);
                ++counted[0];
            }
            if (gap.aeration_percent) {
                Tank weaker = tank;
                const double share = *gap.aeration_percent / 100;
                scale_aeration(weaker, share);
                // At a share near nothing the tank may have no balance at all.
                if (assessed(weaker).oxygen.steady_mean_mg_l) {
                    predicts(weaker);
                    ++counted[1];
                }
            }
            if (gap.flow_percent && *gap.flow_percent > 0) {
                Tank other = tank;
                other.inflow[0].flow_l_min *= *gap.flow_percent / 100;
                predicts(other);
                ++counted[2];
            }
            // One factor for all groups, where they had one.
            bool same = true;
            for (const FishGroup& group : tank.fish) {
                for (const FishGroup& other : tank.fish) {
                    same = same && (group.count == 0 || other.count == 0 ||
                                    group.respiration_factor == other.respiration_factor);
                }
            }
            CHECK(gap.common_factor.has_value() == (same && budget.fish_count > 0));
            if (gap.respiration_factor) {
                Tank hungry = tank;
                for (FishGroup& group : hungry.fish) {
                    group.respiration_factor = *gap.respiration_factor;
                }
                predicts(hungry);
                ++counted[3];
            }
        }
        for (const int count : counted) CHECK(count > 300);
    }

    TEST_CASE("a measured oxygen, by hand") {
        // 1 m3/h of water at 10 mg/L, fish that take 2 g/h: 8 mg/L. At 6 mg/L measured they are
        // twice as many, or the flow is half.
        Tank tank{};
        tank.name = "hand";
        tank.volume_l = 1000;
        tank.water = {
            .temperature_c = 10, .peak_temperature_c = {}, .ph = {}, .alkalinity_mg_l = {}};
        tank.inflow = {Inflow{.flow_l_min = 1000.0 / 60, .oxygen_mg_l = 10}};
        tank.fish = {fish("rainbow", 100, 100)};
        tank.feed.ration_g_day = 0;
        const double demand_g_h =
            assess_tank(tank, inflow_supply(tank, {101.325}), {101.325}).oxygen.demand_mean_g_h;
        tank.fish[0].count *= 2 / demand_g_h;
        tank.readings.oxygen_mg_l = 6;
        const TankBudget budget = explained(tank, 101.325);
        REQUIRE(budget.oxygen.gap.has_value());
        check_close(budget.oxygen.gap->predicted_mg_l, 8, 1e-9);
        check_close(budget.oxygen.gap->fish_count.value(), 2 * tank.fish[0].count, 1e-9);
        check_close(budget.oxygen.gap->flow_percent.value(), 50, 1e-9);
        check_close(budget.oxygen.gap->respiration_factor.value(), 2, 1e-9);
        CHECK(!budget.oxygen.gap->aeration_percent.has_value());  // there is none
        tank.readings.oxygen_mg_l = 12;  // more than flows in: no number of fish
        CHECK(!explained(tank, 101.325).oxygen.gap->fish_count.has_value());
    }

    TEST_CASE("without flow ammonia gathers, and the hours count") {
        Tank tank = readme_tank();
        tank.inflow.clear();
        const TankBudget b = assessed(tank);
        CHECK_FALSE(b.ammonia.tan_mg_l.has_value());
        // 24 x 1.9784 m3 x 2 g/m3 / 9.66 g/day
        check_close(b.ammonia.tan_hours_to_warn.value(), 24 * 1.9784 * 2 / 9.66, 1e-9);
        CHECK(check_of(b, CheckId::total_ammonia).status == Status::warn);
        tank.readings.tan_mg_l = 3;
        CHECK(assessed(tank).ammonia.tan_hours_to_warn.value() == 0);
        CHECK(check_of(assessed(tank), CheckId::total_ammonia).exhausted);
    }

    TEST_CASE("a gravity spring is judged on what still flows when the power is off") {
        Tank tank = readme_tank();
        tank.aeration = {diffuser(40, 0.8)};
        tank.fish[0].count = 150;
        CHECK(check_of(assessed(tank), CheckId::oxygen_reserve).value.has_value());
        tank.inflow[0].keeps_flowing = true;
        const Check& reserve = check_of(assessed(tank), CheckId::oxygen_reserve);
        CHECK(reserve.status == Status::pass);
        CHECK_FALSE(reserve.value.has_value());  // never
        // Without flow the promise means nothing.
        tank.inflow[0].flow_l_min = 0;
        CHECK(check_of(assessed(tank), CheckId::oxygen_reserve).value.has_value());
    }

    TEST_CASE("warm, cold, sour and soft water") {
        Tank tank = readme_tank();
        tank.water.temperature_c = 18;
        tank.water.peak_temperature_c = 19.5;
        CHECK(check_of(assessed(tank), CheckId::temperature).status == Status::warn);
        tank.water.peak_temperature_c = 22.5;
        CHECK(check_of(assessed(tank), CheckId::temperature).status == Status::fail);
        tank.water.temperature_c = 1.5;
        tank.water.peak_temperature_c = 2.5;
        const TankBudget cold = assessed(tank);
        CHECK(check_of(cold, CheckId::temperature).status == Status::warn);
        check_close(check_of(cold, CheckId::temperature).value.value(), 1.5, 0);
        tank = readme_tank();
        for (const auto& [ph, status] :
             {std::pair{5.9, Status::fail}, std::pair{6.0, Status::warn},
              std::pair{6.5, Status::pass}, std::pair{9.0, Status::pass},
              std::pair{9.5, Status::warn}, std::pair{9.6, Status::fail}}) {
            tank.water.ph = ph;
            CHECK(check_of(assessed(tank), CheckId::ph).status == status);
        }
        tank.water.ph = 10;
        tank.water.alkalinity_mg_l = 1;
        CHECK(assessed(tank).ph_contradicts_alkalinity);
        CHECK(check_of(assessed(tank), CheckId::carbon_dioxide).status == Status::unchecked);
    }

    TEST_CASE("several species: the strictest limit") {
        Tank tank = readme_tank();
        tank.fish = {fish("rainbow", 60, 180), fish("brook", 60, 180)};
        const TankLimits limits = limits_of(tank);
        check_close(limits.temperature_warn_c.value(), 16, 0);
        check_close(limits.temperature_fail_c.value(), 20, 0);
        check_close(limits.temperature_low_warn_c.value(), 2, 0);
        check_close(limits.density_warn_kg_m3.value(), 15, 0);
        tank.fish[1].count = 0;
        check_close(limits_of(tank).density_warn_kg_m3.value(), 25, 0);
        tank.limits.density_warn_kg_m3 = 40;
        check_close(limits_of(tank).density_warn_kg_m3.value(), 40, 0);
        CHECK(check_of(assessed(tank), CheckId::density).own_limit);
    }

    TEST_CASE("a warn limit beyond its fail limit is found") {
        Tank tank = readme_tank();
        CHECK(limit_conflicts(limits_of(tank), tank.limits).empty());
        tank.limits.oxygen_fail_mg_l = 7;
        tank.limits.temperature_fail_c = 15;
        REQUIRE(limit_conflicts(limits_of(tank), tank.limits).size() == 2);
        CHECK(limit_conflicts(limits_of(tank), tank.limits)[0].fail_key == "oxygen_fail_mg_l");
        CHECK(limit_conflicts(limits_of(tank), tank.limits)[1].warn_key == "temperature_warn_c");
        tank.limits.oxygen_warn_percent = 90;  // that may be above 7 mg/L
        CHECK(limit_conflicts(limits_of(tank), tank.limits).size() == 1);
    }

    TEST_CASE("oxygen of the inflow exactly at a limit passes") {
        Tank tank = readme_tank();
        tank.fish.clear();
        tank.feed = {};
        tank.aeration.clear();
        tank.water = {.temperature_c = 19.1, .salinity_g_kg = 6.3};
        tank.inflow[0].oxygen_percent.reset();
        tank.inflow[0].oxygen_mg_l = 7;
        tank.limits.oxygen_warn_mg_l = 7;
        CHECK(check_of(assessed(tank, standard_pressure_kpa(3000)), CheckId::oxygen).status ==
              Status::pass);
        CHECK(assessed(readme_tank()).ration_g_day == 250);
    }

    TEST_CASE("rations: a group's own, its share of the tank's, the table's") {
        Tank tank = readme_tank();
        tank.fish = {fish("rainbow", 100, 100), fish("rainbow", 100, 300),
                     fish("rainbow", 10, 200)};
        tank.fish[2].ration_g_day = 20;
        TankBudget b = assessed(tank);
        check_close(b.groups[0].ration_g_day, 62.5, 1e-12);
        check_close(b.groups[1].ration_g_day, 187.5, 1e-12);
        check_close(b.groups[2].ration_g_day, 20, 0);
        check_close(b.ration_g_day, 270, 1e-12);  // the tank's stands on top of the groups' own
        tank.feed.ration_g_day.reset();
        tank.feed.ration_percent_day = 1;
        check_close(assessed(tank).groups[1].ration_g_day, 300, 1e-9);
        tank.feed.ration_percent_day.reset();
        b = assessed(tank);
        check_close(b.groups[0].ration_g_day,
                    100 * table_ration_percent_day(
                              {.temperature_c = 13.5, .length_cm = b.groups[0].length_cm}),
                    1e-9);
        CHECK(assumes(b, Assumption::Kind::table_ration));
        CHECK(check_of(b, CheckId::ration).status == Status::pass);
    }

    TEST_CASE("a ration at its limit passes, whatever the last digits of its shares add up to") {
        RandomTanks random(56);
        for (int i = 0; i < random_cases(500); ++i) {
            Tank tank = readme_tank();
            tank.fish.clear();
            for (int group = 0; group < 3; ++group) {
                tank.fish.push_back(
                    fish("rainbow", std::floor(random.between(10, 200)), random.between(20, 400)));
            }
            tank.feed = {};
            const Check advised = check_of(assessed(tank), CheckId::ration);
            tank.feed.ration_percent_day = advised.warn.high;
            const Check at_limit = check_of(assessed(tank), CheckId::ration);
            check_close(at_limit.warn.high.value(), advised.warn.high.value(), 1e-12);
            CHECK(at_limit.status == Status::pass);
            *tank.feed.ration_percent_day *= 1 + 1e-6;
            CHECK(check_of(assessed(tank), CheckId::ration).status == Status::warn);
        }
    }

    TEST_CASE("feeding fish that should not be fed warns") {
        Tank tank = readme_tank();
        tank.water.temperature_c = 20.5;
        tank.water.peak_temperature_c.reset();
        const Check& ration = check_of(assessed(tank), CheckId::ration);
        CHECK(ration.status == Status::warn);
        check_close(ration.warn.high.value(), 0, 0);
    }

    TEST_CASE("own limits at an end of what they may be: no figure without an end") {
        RandomTanks random(57);
        for (const LimitField& field : limit_fields()) {
            for (const double end : {field.range.low, field.range.high}) {
                for (int i = 0; i < random_cases(40); ++i) {
                    Tank tank = random.next();
                    tank.readings.nitrate_mg_l = random.between(0, 100);
                    tank.limits.*field.own = end;
                    const double pressure_kpa = random.pressure_kpa();
                    for (const Check& check : assessed(tank, pressure_kpa).checks) {
                        CAPTURE(field.key);
                        CAPTURE(name_of(check.id));
                        if (check.value) CHECK(std::isfinite(*check.value));
                        if (check.used_percent) CHECK(std::isfinite(*check.used_percent));
                    }
                }
            }
        }
    }

    TEST_CASE("pure oxygen can be too much of a good thing") {
        Tank tank = readme_tank();
        CHECK_FALSE(has(assessed(tank), CheckId::oxygen_excess));
        tank.aeration.push_back({"bottle", 0.9, 0.98, PureOxygen{2, 20}});
        CHECK(check_of(assessed(tank), CheckId::oxygen_excess).status == Status::fail);
        std::get<PureOxygen>(tank.aeration.back().kind).flow_l_min = 0.2;
        CHECK(check_of(assessed(tank), CheckId::oxygen_excess).status == Status::pass);
        tank.readings.oxygen_mg_l = 1.3 * assessed(tank).oxygen.saturation_mg_l;  // measured
        CHECK(check_of(assessed(tank), CheckId::oxygen_excess).status == Status::fail);
        tank.readings.oxygen_mg_l.reset();
        tank.inflow.clear();
        tank.aeration.erase(tank.aeration.begin());
        CHECK(check_of(assessed(tank), CheckId::oxygen_excess).status == Status::unchecked);
    }

    TEST_CASE("nitrite by chloride: British Columbia, Table 17 (Nordin & Pommen 1986)") {
        // Its 30-day mean, brought down to 0.006 mg/L per mg/L of chloride, never below 0.02: at
        // 10 mg/L of chloride 0.061 was the lowest effect on rainbow trout in 28 days, survival
        // unharmed to 0.30 (Kroupova et al. 2008).
        for (const auto& row : reference_rows("nitrite_bc.csv")) {
            Tank tank = readme_tank();
            tank.readings.chloride_mg_l = number(row, "chloride_from_mg_l");
            const double mean = std::min(number(row, "mean_30_day_mg_l"),
                                         std::max(0.02, 0.006 * *tank.readings.chloride_mg_l));
            const double most = number(row, "maximum_mg_l");
            for (const auto& [nitrite, status] :
                 {std::pair{mean, Status::pass}, std::pair{1.01 * mean, Status::warn},
                  std::pair{most, Status::warn}, std::pair{1.01 * most, Status::fail}}) {
                tank.readings.nitrite_mg_l = nitrite;
                CHECK(check_of(assessed(tank), CheckId::nitrite).status == status);
            }
        }
        Tank tank = readme_tank();
        tank.readings.chloride_mg_l = 10;
        for (const auto& [nitrite, status] :
             {std::pair{0.0599, Status::pass}, std::pair{0.061, Status::warn},
              std::pair{0.30, Status::warn}}) {
            tank.readings.nitrite_mg_l = nitrite;
            CHECK(check_of(assessed(tank), CheckId::nitrite).status == status);
        }
        tank.readings.chloride_mg_l = 34;  // here the table is the smaller
        check_close(check_of(assessed(tank), CheckId::nitrite).warn.high.value(), 0.20, 0);
        tank.readings.chloride_mg_l.reset();
        tank.readings.nitrite_mg_l = 0.03;  // without a chloride: the lowest row
        CHECK(check_of(assessed(tank), CheckId::nitrite).status == Status::warn);
        CHECK_FALSE(has(assessed(readme_tank()), CheckId::nitrite));
    }

    TEST_CASE("gas pressure and chlorine, where they are given") {
        Tank tank = readme_tank();
        tank.readings.gas_pressure_percent = 103;
        tank.inflow[0].chlorine_mg_l = 0.003;
        CHECK(check_of(assessed(tank), CheckId::gas_pressure).status == Status::pass);
        CHECK(check_of(assessed(tank), CheckId::chlorine).status == Status::pass);
        tank.readings.gas_pressure_percent = 104;
        tank.inflow[0].chlorine_mg_l = 0.01;
        CHECK(check_of(assessed(tank), CheckId::gas_pressure).status == Status::warn);
        CHECK(check_of(assessed(tank), CheckId::chlorine).status == Status::warn);
        tank.readings.gas_pressure_percent = 111;
        tank.inflow[0].chlorine_mg_l = 0.02;
        CHECK(check_of(assessed(tank), CheckId::gas_pressure).status == Status::fail);
        CHECK(check_of(assessed(tank), CheckId::chlorine).status == Status::fail);
    }

    TEST_CASE("salt (McKay & Gjerde 1985: 0, 10, 20, 24, 28 and 32 g/kg for 12 weeks)") {
        // No trout of 51-153 g died at 0 and 10; growth fell faster above 20; 13 % died at 32.
        Tank tank = readme_tank();
        CHECK_FALSE(has(assessed(tank), CheckId::salinity));
        for (const auto& [g_kg, status] :
             {std::pair{10.0, Status::pass}, std::pair{10.1, Status::warn},
              std::pair{20.0, Status::warn}, std::pair{20.1, Status::fail},
              std::pair{32.0, Status::fail}}) {
            tank.water.salinity_g_kg = g_kg;
            CHECK(check_of(assessed(tank), CheckId::salinity).status == status);
        }
    }

    TEST_CASE("small fish are limited by the density index (Piper et al. 1982, from memory)") {
        Tank tank = readme_tank();
        tank.fish = {fish("rainbow", 10000, 3)};  // 30 kg of 6.5 cm fish in 2 m3
        const TankBudget b = assessed(tank);
        const Check& density = check_of(b, CheckId::density);
        check_close(density.warn.high.value(), 3.15 * b.groups[0].length_cm, 1e-9);
        CHECK(density.warn.high.value() < 25);
    }

    TEST_CASE("a cascade brings oxygen, takes carbon dioxide, and does nothing without flow") {
        Tank tank = readme_tank();
        tank.inflow[0].oxygen_percent = 60;
        tank.inflow[0].carbon_dioxide_mg_l = 20;
        const TankBudget without = assessed(tank);
        tank.aeration.push_back({"fall", 0.9, 0.98, Cascade{1}});
        const TankBudget with = assessed(tank);
        CHECK(with.oxygen.lowest_mg_l.value() > without.oxygen.lowest_mg_l.value());
        CHECK(with.carbon_dioxide.inflow_mg_l.value() < 20);
        CHECK(with.carbon_dioxide.inflow_mg_l.value() > 15);
        tank.inflow[0].flow_l_min = 0;
        const TankBudget still = assessed(tank);
        tank.aeration.pop_back();
        CHECK(still.oxygen.supply_g_h == assessed(tank).oxygen.supply_g_h);
    }

    TEST_CASE("two pressures far apart: the lower, and a doubt") {
        Site site{"x", 1500, 84.0};
        CHECK_FALSE(site_pressure(site).pressure_doubtful);
        check_close(site_pressure(site).pressure_kpa, 84.0, 0);
        site.barometric_pressure_kpa = 101.5;  // corrected to sea level
        CHECK(site_pressure(site).pressure_doubtful);
        check_close(site_pressure(site).pressure_kpa, standard_pressure_kpa(1500), 0);
        site.barometric_pressure_kpa = 80;
        CHECK(site_pressure(site).pressure_doubtful);
        check_close(site_pressure(site).pressure_kpa, 80, 0);
        site.altitude_m.reset();
        check_close(site_pressure(site).pressure_kpa, 80, 0);
    }
}
