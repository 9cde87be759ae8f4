#include "coldtank/loop.hpp"

#include <algorithm>

#include "check.hpp"
#include "coldtank/capacity.hpp"
#include "coldtank/remedy.hpp"
#include "model/halve.hpp"

using namespace coldtank;
using namespace coldtank::test;

namespace {

const Check& check_of(const LoopBudget& budget, CheckId id) {
    const Check* check = find_check(budget, id);
    REQUIRE_MESSAGE(check != nullptr, name_of(id));
    return *check;
}

}  // namespace

TEST_SUITE("loop") {
    TEST_CASE("what is made leaves: TAN and nitrate close to 1e-9") {
        RandomTanks random(31);
        int closed = 0;
        for (int i = 0; i < 3000; ++i) {
            const System system = random_loop(random);
            const LoopBudget b = *assess_system(system).loop;
            const double e = b.exchange_m3_day;
            if (b.supply_tan_mg_l) {
                const double out =
                    b.nitrified_g_day + e * (*b.supply_tan_mg_l - system.loop->makeup.tan_mg_l);
                check_close(out, b.tan_production_g_day,
                            1e-9 * (1 + b.tan_production_g_day + e * *b.supply_tan_mg_l));
                CHECK(*b.supply_tan_mg_l >= 0);
                ++closed;
            }
            if (b.nitrate_mg_l) {
                check_close(
                    b.plants_g_day + e * (*b.nitrate_mg_l - system.loop->makeup.nitrate_mg_l),
                    0.976 * b.nitrified_g_day, 1e-9 * (1 + b.nitrified_g_day));
                CHECK(*b.nitrate_mg_l >= -1e-9);
            }
        }
        CHECK(closed > 1500);
    }

    TEST_CASE("oxygen and carbon dioxide go round and close to 1e-9") {
        RandomTanks random(32);
        int oxygen = 0;
        int dioxide = 0;
        for (int i = 0; i < 2000; ++i) {
            const System system = random_loop(random);
            const SystemBudget whole = assess_system(system);
            const LoopBudget& b = *whole.loop;
            const Loop& loop = *system.loop;
            const double t = loop.water.temperature_c;
            const double saturation =
                oxygen_saturation_mg_l({.temperature_c = t, .pressure_kpa = kSeaLevelKpa});
            // Everything brought in against everything used, over tanks and vessel, at the mean.
            double in = 0;
            double out = b.filter_oxygen_g_h;
            bool positive = b.supply_oxygen_mg_l > 0.0;
            double returned = 0;
            for (std::size_t k = 0; k < system.tanks.size(); ++k) {
                const TankBudget& tank = whole.tanks[k];
                if (tank.flow_m3_h == 0) continue;
                if (!(tank.oxygen.steady_mean_mg_l > 0.0)) positive = false;
                if (!positive) break;
                const double c = *tank.oxygen.steady_mean_mg_l;
                returned += tank.flow_m3_h * c;
                // The tank's own cascade lifts the supply before it enters.
                in += tank.flow_m3_h * (*tank.oxygen.inflow_mg_l - *b.supply_oxygen_mg_l);
                out += tank.oxygen.demand_mean_g_h;
                for (const Aerator& aerator : system.tanks[k].aeration) {
                    in += field_transfer_m3_h(aerator, tank.temperature_c, kUsualCoefficients) *
                          (aerator.beta.value_or(kUsualCoefficients.beta) *
                               tank.oxygen.saturation_mg_l -
                           c);
                }
            }
            if (positive && b.flow_m3_h > 0) {
                double left = 1;
                for (const Aerator& aerator : loop.aeration) {
                    if (const auto* fall = std::get_if<Cascade>(&aerator.kind)) {
                        left /= cascade_deficit_ratio(*fall, t, kUsualCoefficients);
                    }
                    in += field_transfer_m3_h(aerator, t, kUsualCoefficients) *
                          (aerator.beta.value_or(kUsualCoefficients.beta) * saturation -
                           *b.supply_oxygen_mg_l);
                }
                in += (1 - left) * (b.flow_m3_h * saturation - returned);
                check_close(in, out, 1e-9 * (std::abs(in) + out + b.flow_m3_h * saturation));
                ++oxygen;
            }
            if (b.supply_carbon_dioxide_mg_l && !loop.degasser_percent && b.flow_m3_h > 0) {
                const double in_air = carbon_dioxide_in_air_mg_l(
                    {.temperature_c = t, .pressure_kpa = kSeaLevelKpa}, kUsualCoefficients);
                const double x = *b.supply_carbon_dioxide_mg_l;
                double made = (5.85 * b.nitrified_g_day + 0.1375 * b.feed_g_day) / 24;
                double gone = 0;
                double back = 0;
                for (std::size_t k = 0; k < system.tanks.size(); ++k) {
                    const TankBudget& tank = whole.tanks[k];
                    if (tank.flow_m3_h == 0) continue;
                    const CarbonDioxideBudget& co2 = tank.carbon_dioxide;
                    made += co2.production_peak_g_h;
                    gone += co2.stripping_m3_h * (*co2.balance_mg_l - co2.in_air_mg_l) +
                            tank.flow_m3_h * (x - *co2.inflow_mg_l);
                    back += tank.flow_m3_h * *co2.balance_mg_l;
                }
                double left = 1;
                for (const Aerator& aerator : loop.aeration) {
                    if (const auto* fall = std::get_if<Cascade>(&aerator.kind)) {
                        left *= 1 - cascade_stripped_share(*fall, t, kUsualCoefficients);
                    }
                    gone += stripping_m3_h(aerator, t, kUsualCoefficients) * (x - in_air);
                }
                gone += (1 - left) * (back - b.flow_m3_h * in_air);
                check_close(gone, made, 1e-9 * (std::abs(gone) + made + b.flow_m3_h * x));
                ++dioxide;
            }
        }
        CHECK(oxygen > 500);
        CHECK(dioxide > 500);
    }

    TEST_CASE("one tank in a loop is the closed form") {
        const System system = backyard();
        const SystemBudget whole = assess_system(system);
        // P = A x / (0.8 + x) + E (M - Mnew), x = M - 0.07 (Zhu & Chen 1999), by hand as a
        // quadratic in x.
        const double p = 9000 * 0.012 * 0.42 * 0.092;
        const double a = 150 * (0.05368 * 14 - 0.0859);
        const double e = 0.15;
        const double t = p + e * (0.02 - 0.07);
        const double b = a + 0.8 * e - t;
        const double m = 0.07 + (-b + std::sqrt(b * b + 4 * e * 0.8 * t)) / (2 * e);
        check_close(whole.loop->supply_tan_mg_l.value(), m, 1e-9);
        check_close(whole.tanks[0].ammonia.tan_mg_l.value(), m + p / (24 * 2.4), 1e-9);
        check_close(whole.loop->return_tan_mg_l.value(), m + p / (24 * 2.4), 1e-9);
    }

    TEST_CASE("endless exchange is flow-through") {
        System system = backyard();
        system.loop->exchange_l_day = 1e12;
        const SystemBudget whole = assess_system(system);
        check_close(whole.loop->supply_tan_mg_l.value(), 0.02, 1e-6);
        check_close(whole.loop->nitrate_mg_l.value(), 2, 1e-6);
        Tank alone = system.tanks[0];
        alone.loop.reset();
        alone.inflow = {Inflow{}};
        alone.inflow[0].flow_l_min = 40;
        alone.inflow[0].oxygen_percent = 90;
        alone.inflow[0].tan_mg_l = 0.02;
        check_close(whole.tanks[0].ammonia.tan_mg_l.value(),
                    assessed(alone).ammonia.tan_mg_l.value(), 1e-6);
    }

    TEST_CASE("a huge filter and too little flow fail loop_flow") {
        System system = backyard();
        system.loop->biofilter->media_area_m2 = 1e6;
        system.tanks[0].loop->flow_l_min = 0.5;
        const LoopBudget b = *assess_system(system).loop;
        CHECK(check_of(b, CheckId::biofilter).status == Status::pass);
        CHECK(check_of(b, CheckId::loop_flow).status == Status::fail);
    }

    TEST_CASE("N equal tanks are one tank N times as big with N times the flow") {
        System many = backyard();
        System one = backyard();
        for (int i = 1; i < 4; ++i) many.tanks.push_back(many.tanks[0]);
        Tank& big = one.tanks[0];
        big.volume_l *= 4;
        big.loop->flow_l_min *= 4;
        big.fish[0].count *= 4;
        std::get<Diffuser>(big.aeration[0].kind).air_flow_l_min *= 4;
        const SystemBudget a = assess_system(many);
        const SystemBudget b = assess_system(one);
        check_close(*a.loop->supply_tan_mg_l, *b.loop->supply_tan_mg_l, 1e-9);
        check_close(*a.loop->supply_oxygen_mg_l, *b.loop->supply_oxygen_mg_l, 1e-9);
        check_close(*a.loop->supply_carbon_dioxide_mg_l, *b.loop->supply_carbon_dioxide_mg_l, 1e-9);
        check_close(*a.loop->nitrate_mg_l, *b.loop->nitrate_mg_l, 1e-9);
        check_close(*a.tanks[2].oxygen.lowest_mg_l, *b.tanks[0].oxygen.lowest_mg_l, 1e-9);
    }

    TEST_CASE("there is never oxygen from nowhere") {
        System system = backyard();
        system.loop->aeration.clear();
        system.tanks[0].aeration.clear();
        SystemBudget whole = assess_system(system);
        CHECK_FALSE(whole.loop->supply_oxygen_mg_l.has_value());
        CHECK(find_check(whole.tanks[0], CheckId::oxygen)->status == Status::fail);
        CHECK(find_check(whole.tanks[0], CheckId::carbon_dioxide)->status == Status::fail);
        // Pure oxygen enough for all: nothing tells where it settles.
        system.tanks[0].aeration = {{"bottle", 0.9, 0.98, PureOxygen{2, 20}}};
        whole = assess_system(system);
        CHECK(find_check(whole.tanks[0], CheckId::oxygen)->status == Status::unchecked);
        CHECK(find_check(whole.tanks[0], CheckId::oxygen_reserve)->status == Status::unchecked);
        // A measured supply stands in its place.
        system.loop->supply_oxygen_percent = 80;
        whole = assess_system(system);
        CHECK(whole.loop->supply_oxygen_mg_l.has_value());
        CHECK(find_check(whole.tanks[0], CheckId::oxygen)->status == Status::pass);
    }

    TEST_CASE("a starved, a young, a cold and an overrun filter") {
        System system = backyard();
        system.loop->supply_oxygen_percent = 15;
        CHECK(check_of(*assess_system(system).loop, CheckId::biofilter).status == Status::fail);
        system = backyard();
        system.loop->biofilter->maturity_percent = 90;
        CHECK(check_of(*assess_system(system).loop, CheckId::biofilter).status == Status::warn);
        const Plan young = plan_remedies(system, assess_system(system), {}, CheckId::biofilter);
        REQUIRE(young.remedies.size() == 1);
        CHECK(young.remedies[0].action == Action::advice);
        system = backyard();
        system.loop->water.temperature_c = 7;
        CHECK(check_of(*assess_system(system).loop, CheckId::biofilter).status == Status::warn);
        system = backyard();
        system.loop->exchange_l_day = 0;
        system.loop->biofilter->maturity_percent = 0;
        const SystemBudget whole = assess_system(system);
        CHECK_FALSE(whole.loop->supply_tan_mg_l.has_value());
        CHECK(check_of(*whole.loop, CheckId::biofilter).status == Status::fail);
        CHECK(find_check(whole.tanks[0], CheckId::total_ammonia)->status == Status::fail);
        CHECK(find_check(whole.tanks[0], CheckId::ammonia)->status == Status::fail);
        CHECK_FALSE(whole.tanks[0].ammonia.tan_mg_l.has_value());
        check_close(feed_bearable(system, whole)->feed_g_day, 0, 0);
        check_close(feed_bearable(system, whole)->careful_g_day.value(), 0, 0);
        // Of a filter without area or removal nothing is counted on.
        system.loop->biofilter->maturity_percent = 100;
        system.loop->biofilter->media_area_m2.reset();
        system.loop->biofilter->removal_g_day.reset();
        check_close(assess_system(system).loop->filter_capacity_g_day, 0, 0);
    }

    TEST_CASE("water that does not go round at all is not told to go round more") {
        System system = backyard();
        for (Tank& tank : system.tanks) tank.loop->flow_l_min = 0;
        const SystemBudget whole = assess_system(system);
        for (const Remedy& remedy : plan_remedies(system, whole, {}, CheckId::loop_flow).remedies) {
            CHECK(remedy.action != Action::raise_round);
        }
    }

    TEST_CASE("the feed that filter and exchange bear puts the worst tank at its limit") {
        System system = backyard();
        system.loop->biofilter->media_area_m2 = 5;
        const SystemBudget whole = assess_system(system);
        const auto bearable = feed_bearable(system, whole);
        REQUIRE(bearable.has_value());
        CHECK(bearable->feed_g_day < whole.loop->feed_g_day);
        CHECK_FALSE(bearable->careful_g_day.has_value());
        type_ration(system.tanks[0], bearable->feed_g_day);
        check_close(assess_system(system).tanks[0].ammonia.tan_mg_l.value(), 2, 1e-9);
    }

    TEST_CASE("what a filter bears moves with the filter, above the present ration too") {
        System system = backyard();
        double last = -1;
        for (const double maturity : {0.0, 5.0, 29.0, 30.0, 60.0, 99.0}) {
            system.loop->biofilter->maturity_percent = maturity;
            const SystemBudget whole = assess_system(system);
            const auto bearable = feed_bearable(system, whole);
            REQUIRE(bearable.has_value());
            CHECK(bearable->feed_g_day >= last);
            CHECK((maturity == 0 || bearable->feed_g_day > last));
            CHECK(bearable->careful_g_day.has_value() == (maturity < 30));
            if (bearable->careful_g_day) {
                check_close(*bearable->careful_g_day, bearable->feed_g_day / 2, 1e-12);
            }
            last = bearable->feed_g_day;
            // As it is typed: it holds, and a hundredth more does not.
            for (const double share : {0.999999, 1.01}) {
                if (last == 0) continue;
                System typed = system;
                type_ration(typed.tanks[0], share * last);
                const SystemBudget after = assess_system(typed);
                const bool holds = *after.loop->supply_tan_mg_l <= 2 &&
                                   *after.tanks[0].ammonia.tan_mg_l <= 2 &&
                                   after.tanks[0].ammonia.nh3_mg_l.value_or(0) <= 0.0125;
                CHECK(holds == (share < 1));
            }
        }
        CHECK(last > assess_system(system).loop->feed_g_day);  // unclipped
        system.loop->biofilter->maturity_percent = 100;
        CHECK_FALSE(feed_bearable(system, assess_system(system)).has_value());
        system.loop->water.temperature_c = 7;
        CHECK(feed_bearable(system, assess_system(system))->careful_g_day.has_value());
    }

    TEST_CASE("a filter takes nothing below 0.07 mg/L (Zhu & Chen 1999)") {
        System system = backyard();
        system.loop->biofilter->media_area_m2 = 1e9;
        system.loop->exchange_l_day = 0;
        check_close(assess_system(system).loop->supply_tan_mg_l.value(), 0.07, 1e-6);
        // Much exchange alone takes it lower; then nothing is nitrified.
        system.loop->exchange_l_day = 1e6;
        const LoopBudget b = *assess_system(system).loop;
        check_close(b.supply_tan_mg_l.value(),
                    (b.tan_production_g_day + 1000 * system.loop->makeup.tan_mg_l) / 1000, 1e-12);
        CHECK(b.supply_tan_mg_l < 0.07);
        check_close(b.nitrified_g_day, 0, 0);
        system.tanks[0].fish.clear();
        system.loop->exchange_l_day = 0;
        check_close(assess_system(system).loop->supply_tan_mg_l.value(), 0, 0);
        // Measured removal is stated at 1 mg/L: there it takes what it says.
        system = backyard();
        system.loop->biofilter = Biofilter{.removal_g_day = 4};
        system.loop->exchange_l_day = 0;
        type_ration(system.tanks[0], 4 / (0.42 * 0.092));
        check_close(assess_system(system).loop->supply_tan_mg_l.value(), 1, 1e-9);
    }

    TEST_CASE("a closed loop at its last hours, and an exchange that is none") {
        System system = backyard();
        system.loop->exchange_l_day = 0;
        system.loop->plants.reset();
        system.loop->readings.nitrate_mg_l = 74.9;
        Check nitrate = check_of(*assess_system(system).loop, CheckId::nitrate);
        CHECK(nitrate.status == Status::warn);
        REQUIRE(nitrate.because.size() == 1);
        CHECK(nitrate.because[0].reason == Reason::days_to_warn);
        CHECK(*nitrate.because[0].value < 1);
        system.loop->readings.nitrate_mg_l = 5;
        system.tanks[0].feed = {.ration_g_day = 1.0};
        system.tanks[0].fish[0].count = 5;
        nitrate = check_of(*assess_system(system).loop, CheckId::nitrate);
        CHECK(*assess_system(system).loop->nitrate_days_to_warn > 14);
        CHECK(nitrate.status == Status::pass);
        // Under 0.1 % of the volume a day.
        const double volume_l = system.tanks[0].volume_l;
        system.loop->exchange_l_day = 0.00099 * volume_l;
        CHECK_FALSE(assess_system(system).loop->nitrate_mg_l.has_value());
        system.loop->exchange_l_day = 0.00101 * volume_l;
        CHECK(assess_system(system).loop->nitrate_mg_l.has_value());
    }

    TEST_CASE("worked examples: bicarbonate, bed area (Rakocy 2007), FAO Technical Paper 589") {
        // loop_1: 200 kg at 1.2 percent of 42 percent protein, all nitrified: 1112 g/day of NaHCO3.
        System system = backyard();
        system.loop->exchange_l_day = 0;
        system.loop->plants.reset();
        system.loop->biofilter->media_area_m2 = 1e5;
        system.tanks[0] = loop_tank(20000, 500, 1000, 200, 1.2);
        const LoopBudget b = *assess_system(system).loop;
        check_close(b.nitrified_g_day, b.tan_production_g_day, 1e-6);
        check_close(b.alkalinity_dose_g_day * kNaHCO3PerCaCO3, 1112, 0.5);
        // bed_area: 1000 g of feed a day at 60 g/m2/day is 16.7 m2.
        system.tanks[0].feed.ration_percent_day = 0.5;
        system.tanks[0].feed.protein_percent = 32;
        system.loop->plants = Plants{16.7, Crop::fruiting};
        check_close(check_of(*assess_system(system).loop, CheckId::plants).value.value(), 60, 0.15);
        // At 32 percent protein the bands are as printed: 40-50 leafy, 50-80 fruiting.
        Bound band = check_of(*assess_system(system).loop, CheckId::plants).warn;
        check_close(*band.low, 50, 1e-9);
        check_close(*band.high, 80, 1e-9);
        system.loop->plants->crop = Crop::leafy;
        band = check_of(*assess_system(system).loop, CheckId::plants).warn;
        check_close(*band.low, 40, 1e-9);
        check_close(*band.high, 50, 1e-9);
        CHECK(check_of(*assess_system(system).loop, CheckId::plants).status == Status::warn);
    }

    TEST_CASE("each explanation of a measured oxygen holds round the whole loop") {
        RandomTanks random(45);
        int explained[4] = {};
        for (int i = 0; i < 400; ++i) {
            System system = random_loop(random);
            system.tanks[0].readings.oxygen_mg_l = random.between(3, 11);
            SystemBudget whole = assess_system(system);
            add_oxygen_gaps(system, whole);
            const TankBudget& budget = whole.tanks[0];
            if (!budget.oxygen.gap || budget.flow_m3_h == 0) continue;
            const OxygenGap& gap = *budget.oxygen.gap;
            const auto predicts = [&](const System& changed, int which) {
                const auto steady = assess_system(changed).tanks[0].oxygen.steady_mean_mg_l;
                REQUIRE(steady.has_value());
                check_close(*steady, gap.measured_mg_l, 1e-6);
                ++explained[which];
            };
            if (gap.fish_count) {
                System other = system;
                const double share = *gap.fish_count / budget.fish_count;
                scale_fish(other.tanks[0], share);
                predicts(other, 0);
            }
            if (gap.aeration_percent) {
                System other = system;
                const double share = *gap.aeration_percent / 100;
                scale_aeration(other.tanks[0], share);
                predicts(other, 1);
            }
            if (gap.flow_percent) {
                System other = system;
                other.tanks[0].loop->flow_l_min *= *gap.flow_percent / 100;
                predicts(other, 2);
            }
            if (gap.respiration_factor) {
                System other = system;
                for (FishGroup& group : other.tanks[0].fish) {
                    group.respiration_factor = *gap.respiration_factor;
                }
                predicts(other, 3);
            }
        }
        for (const int count : explained) CHECK(count > 30);
    }

    TEST_CASE("a jump is found in few steps, at 0 too") {
        for (const double jump : {0.0, 1e-9, 0.1, 1.0 / 3}) {
            int tried = 0;
            const auto value = [&](double at) -> std::optional<double> {
                if (++tried > 300) return std::nullopt;
                return at <= jump ? -0.4 : 0.4 + at;
            };
            const auto found = root_in({1, 0, 1.4, -0.4}, 1e-12, value);
            REQUIRE(found.has_value());
            CHECK(std::abs(*found - jump) < 1e-15);
        }
    }

    TEST_CASE("a bed too small or too big for the feed is mended by another bed") {
        for (const double share : {0.05, 0.4, 0.7, 1.7, 3.0, 9.0}) {
            System system = backyard();
            const double fed_g_day = assess_system(system).loop->feed_g_day;
            Bound band = check_of(*assess_system(system).loop, CheckId::plants).warn;
            const double fitting_m2 = fed_g_day / ((*band.low + *band.high) / 2);
            system.loop->plants->bed_area_m2 = share * fitting_m2;
            const SystemBudget budget = assess_system(system);
            REQUIRE(check_of(*budget.loop, CheckId::plants).status == Status::warn);
            const Plan plan = plan_remedies(system, budget, {}, CheckId::plants);
            REQUIRE(!plan.remedies.empty());
            // More than ten times the bed is out of reach.
            CHECK((plan.remedies[0].action == Action::change_bed) == (share > 0.09));
            if (plan.remedies[0].action != Action::change_bed) continue;
            system.loop->plants->bed_area_m2 = plan.remedies[0].value.value();
            CHECK(check_of(*assess_system(system).loop, CheckId::plants).status == Status::pass);
        }
    }

    TEST_CASE("nitrate without exchange rises, and is judged by what was measured") {
        System system = backyard();
        system.loop->exchange_l_day = 0;
        system.loop->plants.reset();
        LoopBudget b = *assess_system(system).loop;
        CHECK(check_of(b, CheckId::nitrate).status == Status::unchecked);
        // 0.976 x TAN into 1 m3.
        check_close(b.nitrate_rise_mg_l_day.value(), 0.976 * b.nitrified_g_day, 1e-9);
        system.loop->readings.nitrate_mg_l = 80;
        CHECK(check_of(*assess_system(system).loop, CheckId::nitrate).status == Status::warn);
    }

    TEST_CASE("a tank with flow 0 is left out of the sums") {
        System system = backyard();
        const LoopBudget before = *assess_system(system).loop;
        Tank still = loop_tank(500, 0, 20, 100, 1);
        still.name = "still";
        system.tanks.push_back(still);
        const SystemBudget whole = assess_system(system);
        CHECK(whole.loop->tan_production_g_day == before.tan_production_g_day);
        CHECK_FALSE(whole.tanks[1].ammonia.tan_mg_l.has_value());
        CHECK(whole.tanks[1].ammonia.hours_to_warn.has_value());
        // Nor does what ails the loop reach it, or what keeps it.
        system.loop->aeration.clear();
        system.tanks[0].aeration.clear();
        const SystemBudget failing = assess_system(system);
        CHECK(find_check(failing.tanks[0], CheckId::oxygen)->status == Status::fail);
        CHECK(find_check(failing.tanks[1], CheckId::oxygen)->status == Status::pass);
        system.tanks[1].aeration.clear();
        system.tanks[0].aeration = {{"bottle", 0.9, 0.98, PureOxygen{2, 20}}};
        CHECK(find_check(assess_system(system).tanks[1], CheckId::oxygen)->status == Status::fail);
    }

    TEST_CASE("a loop does not depend on the order of its tanks") {
        System system = backyard();
        Tank other = loop_tank(500, 10, 20, 100, 1);
        other.name = "salty";
        other.water.salinity_g_kg = 12;
        system.tanks.push_back(other);
        System swapped = system;
        std::swap(swapped.tanks[0], swapped.tanks[1]);
        const SystemBudget a = assess_system(system);
        const SystemBudget b = assess_system(swapped);
        check_close(*a.loop->supply_oxygen_mg_l, *b.loop->supply_oxygen_mg_l, 1e-9);
        check_close(*a.loop->supply_tan_mg_l, *b.loop->supply_tan_mg_l, 1e-9);
    }

    TEST_CASE("remedies of a loop and of its tanks are proved on all of it") {
        RandomTanks random(33);
        int proved = 0;
        for (int i = 0; i < 250; ++i) {
            const System system = random_loop(random);
            const SystemBudget whole = assess_system(system);
            for (const Check& check : whole.loop->checks) {
                const Plan plan = plan_remedies(system, whole, {}, check.id);
                CHECK((check.status >= Status::warn) == !plan.remedies.empty());
                for (const Remedy& remedy : plan.remedies) {
                    if (!remedy.value && remedy.parts.empty()) continue;
                    if (remedy.action == Action::dose) continue;  // a reading, not a balance
                    const SystemBudget after =
                        assess_system(with_remedy(plan.on->system, plan.on->budget, {}, remedy));
                    CHECK(find_check(*after.loop, check.id)->status == Status::pass);
                    for (std::size_t k = 0; k < after.tanks.size(); ++k) {
                        for (const Check& now : after.tanks[k].checks) {
                            if (now.id == CheckId::input_doubt) continue;
                            const Check* before = find_check(plan.on->budget.tanks[k], now.id);
                            CHECK(now.status <= (before ? before->status : Status::pass));
                        }
                    }
                    ++proved;
                }
            }
            for (const Check& check : whole.tanks[0].checks) {
                const Plan plan = plan_remedies(system, whole, {0}, check.id);
                CHECK((check.status >= Status::warn) == !plan.remedies.empty());
            }
        }
        CHECK(proved > 150);
    }

    TEST_CASE("capacity of a tank on a loop and of the whole loop is exact to one fish") {
        RandomTanks random(34);
        int exact = 0;
        for (int i = 0; i < 150; ++i) {
            const System system = random_loop(random);
            const TankCapacity all = capacity_of_all(system, Level::warn);
            const TankCapacity one = capacity_of(system, 0, Level::warn);
            if (all.stock) CHECK(all.stock->count == std::floor(all.stock->count));
            REQUIRE(one.stock.has_value());
            for (const CheckCapacity& each : one.by_check) {
                if (each.stock) CHECK(each.stock->count >= one.stock->count);
            }
            // One tank alone in its loop: both questions are the same.
            if (system.tanks.size() == 1 && all.stock) {
                CHECK(all.stock->count == one.stock->count);
                ++exact;
            }
        }
        CHECK(exact > 20);
    }

    TEST_CASE("the solids of a loop are those of its tanks; its water is cooled all together") {
        System system = backyard();
        system.tanks.push_back(system.tanks[0]);
        system.tanks[1].name = "second";
        system.tanks[1].water.temperature_c += 1.5;
        system.tanks[1].fish[0].count *= 2;
        const SystemBudget budget = assess_system(system);
        check_close(budget.loop->solids_g_day,
                    budget.tanks[0].solids_g_day + budget.tanks[1].solids_g_day, 1e-9);
        Remedy cool{Action::cool, system.tanks[0].water.temperature_c - 3, "degC", {}, {}};
        const System cooled = with_remedy(system, budget, Part{0}, cool);
        for (std::size_t i = 0; i < 2; ++i) {
            check_close(cooled.tanks[i].water.temperature_c,
                        system.tanks[i].water.temperature_c - 3, 1e-12);
        }
        check_close(cooled.loop->water.temperature_c, system.loop->water.temperature_c - 3, 1e-12);
    }
}
