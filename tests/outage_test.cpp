#include "coldtank/outage.hpp"

#include <algorithm>
#include <cmath>

#include "check.hpp"
#include "coldtank/course.hpp"

using namespace coldtank;
using namespace coldtank::test;

namespace {

TankOutage outage_of(const Tank& tank, std::optional<double> stopped_h = {},
                     const std::vector<Backup>& shared = {}) {
    const System system = alone(tank, kSeaLevelKpa);
    return assess_outage({&system, 1}, shared, stopped_h).at(0);
}

const OutageAction* find(const TankOutage& outage, OutageStep step) {
    for (const OutageAction& action : outage.actions) {
        if (action.step == step) return &action;
    }
    return nullptr;
}

double to_danger(const TankOutage& outage, OutageCase which) {
    return outage.course(which).left.minutes_to_danger.value_or(HUGE_VAL);
}

Backup bottle(double flow_l_min, double hours) {
    Backup backup;
    backup.unit.kind = PureOxygen{flow_l_min, kAddedAbsorption};
    backup.hours = hours;
    return backup;
}

}  // namespace

TEST_SUITE("outage") {
    TEST_CASE("how long a battery and a cylinder last, by hand") {
        Backup battery;
        battery.unit.kind = RatedAerator{20};
        battery.battery = Backup::Battery{12, 18, 12};  // half usable, 0.85
        check_close(hours_of(battery), 7.65, 1e-12);
        CHECK(hours_of(Backup{}) == 0);  // nobody knows how long
        Backup cylinder = bottle(2, 0);
        cylinder.cylinder = Backup::Cylinder{50, 200, 0};
        check_close(hours_of(cylinder), 10000.0 / 2 / 60, 1e-12);  // 83.3
        cylinder.cylinder->left_bar = 10;
        check_close(hours_of(cylinder), 79.1667, 5e-5);
    }

    TEST_CASE("all stops: a straight line from what was read, by hand") {
        Tank tank = readme_tank();
        tank.readings.oxygen_mg_l = 7.5;
        tank.readings.oxygen_age_h = 0;
        const TankBudget budget = assessed(tank);
        const TankOutage outage = outage_of(tank);
        CHECK(outage.starts_from == StartsFrom::measured);
        CHECK(outage.judged == OutageCase::all_stops);
        check_close(outage.demand_g_h, budget.reserve->demand_g_h, 1e-12);
        const double per_min = outage.demand_g_h / budget.water_m3 / 60;
        check_close(to_danger(outage, OutageCase::all_stops), (7.5 - 3) / per_min, 1e-9);
        check_close(outage.course(OutageCase::all_stops).left.minutes_to_stress.value(),
                    (7.5 - 5) / per_min, 1e-9);
        // Read four minutes ago: those are gone.
        tank.readings.oxygen_age_h = 4.0 / 60;
        const TankOutage later = outage_of(tank);
        check_close(later.oxygen_now_mg_l, 7.5 - 4 * per_min, 1e-9);
        check_close(to_danger(later, OutageCase::all_stops), (7.5 - 3) / per_min - 4, 1e-9);
        // Of these four the power was there for three: as described, and then a minute without.
        const TankOutage since = outage_of(tank, 1.0 / 60);
        const double rate = budget.flow_m3_h + budget.transfer_peak_m3_h;
        const double settles = budget.oxygen.lowest_mg_l.value();
        const double then = settles + (7.5 - settles) * std::exp(-rate * 0.05 / budget.water_m3);
        check_close(since.oxygen_now_mg_l, then - per_min, 1e-9);
        // It failed before the reading: stopped since the reading all the same.
        check_close(outage_of(tank, 2).oxygen_now_mg_l, 7.5 - 4 * per_min, 1e-9);
    }

    TEST_CASE("where it starts: of an old reading and the prediction the smaller") {
        Tank tank = readme_tank();
        const double predicted = assessed(tank).oxygen.lowest_mg_l.value();
        CHECK(outage_of(tank).starts_from == StartsFrom::predicted);
        check_close(outage_of(tank).oxygen_now_mg_l, predicted, 1e-12);
        tank.readings.oxygen_mg_l = predicted + 2;
        tank.readings.oxygen_age_h = 1.01;
        CHECK(outage_of(tank).starts_from == StartsFrom::predicted);
        tank.readings.oxygen_age_h.reset();  // of unknown age
        CHECK(outage_of(tank).starts_from == StartsFrom::predicted);
        tank.readings.oxygen_mg_l = predicted - 2;
        CHECK(outage_of(tank).starts_from == StartsFrom::measured);
        check_close(outage_of(tank).oxygen_now_mg_l, predicted - 2, 1e-12);
        // A fresh reading stands alone, above it too.
        tank.readings.oxygen_mg_l = predicted + 2;
        tank.readings.oxygen_age_h = 1;
        CHECK(outage_of(tank).starts_from == StartsFrom::measured);
        // Nothing is known: full, and never better than unchecked.
        Tank still = readme_tank();
        still.inflow.clear();
        still.aeration.clear();
        still.fish[0].count = 5;
        const TankOutage unknown = outage_of(still);
        CHECK(unknown.starts_from == StartsFrom::saturation);
        CHECK(unknown.verdict == Status::unchecked);
        still.readings.oxygen_mg_l = 9;
        CHECK(outage_of(still).verdict == Status::pass);
        // An old one may be of before the power failed: a minute more makes nothing better.
        still.readings.oxygen_age_h = 1;
        CHECK(outage_of(still).verdict == Status::pass);
        still.readings.oxygen_age_h = 1.01;
        CHECK(outage_of(still).verdict == Status::unchecked);
        CHECK(outage_of(still, 0.1).verdict == Status::pass);
        still.readings.oxygen_age_h.reset();
        still.fish[0].count = 1500;
        CHECK(outage_of(still).verdict == Status::fail);
    }

    TEST_CASE("a reading that warns is not taken to mend by itself") {
        Tank tank = readme_tank();
        tank.inflow[0].keeps_flowing = true;
        tank.readings.oxygen_age_h = 0.9;
        tank.readings.oxygen_mg_l = 2.6;
        for (const std::optional<double> stopped_h :
             {std::optional<double>(), std::optional<double>(0.1)}) {
            const TankOutage blocked = outage_of(tank, stopped_h);
            CHECK(blocked.oxygen_now_mg_l <= 2.6);
            CHECK(blocked.verdict == Status::fail);
            CHECK(blocked.course(blocked.judged).left.minutes_to_danger == 0.0);
            CHECK(std::any_of(
                blocked.actions.begin(), blocked.actions.end(),
                [](const OutageAction& each) { return each.step == OutageStep::pour; }));
        }
        tank.readings.oxygen_mg_l = 3.4;  // it does not fall, and kills in the end
        CHECK(outage_of(tank).oxygen_now_mg_l <= 3.4);
        const TankOutage low = outage_of(tank);
        CHECK(low.verdict == Status::fail);
        CHECK(low.judged == OutageCase::all_stops);
        CHECK(find(low, OutageStep::look_at_inflow) != nullptr);
        CHECK(find(low, OutageStep::pour) != nullptr);
    }

    TEST_CASE("less oxygen read, or a longer wait, makes nothing better") {
        const auto minutes_of = [](const TankOutage& outage) {
            return outage.course(outage.judged).left.minutes_to_danger.value_or(HUGE_VAL);
        };
        for (const bool keeps_flowing : {false, true}) {
            for (const double flow_l_min : {2.0, 20.0, 60.0}) {
                Tank tank = readme_tank();
                tank.inflow[0].keeps_flowing = keeps_flowing;
                tank.inflow[0].flow_l_min = flow_l_min;
                for (const double age_h : {0.1, 0.5, 1.0, 3.0}) {
                    for (const std::optional<double> stopped_h :
                         {std::optional<double>(), std::optional<double>(0.2)}) {
                        std::optional<TankOutage> richer;
                        for (double mg_l = 11; mg_l > 0.5; mg_l -= 0.25) {
                            tank.readings.oxygen_mg_l = mg_l;
                            tank.readings.oxygen_age_h = age_h;
                            const TankOutage now = outage_of(tank, stopped_h);
                            CHECK(std::isfinite(now.oxygen_now_mg_l));
                            if (mg_l < 5) CHECK(now.verdict >= Status::warn);
                            if (mg_l < 3) CHECK(now.verdict == Status::fail);
                            if (richer) {
                                CHECK(now.oxygen_now_mg_l <= richer->oxygen_now_mg_l + 1e-12);
                                CHECK(minutes_of(now) <= minutes_of(*richer) + 1e-9);
                                CHECK(now.verdict >= richer->verdict);
                            }
                            // The same reading, ten minutes on.
                            tank.readings.oxygen_age_h = age_h + 1.0 / 6;
                            const auto later_h =
                                stopped_h ? std::optional(*stopped_h + 1.0 / 6) : stopped_h;
                            const TankOutage later = outage_of(tank, later_h);
                            if (now.verdict == Status::pass || !later_h) {
                                CHECK(later.verdict >= std::min(now.verdict, Status::unchecked));
                            }
                            richer = now;
                        }
                    }
                }
            }
        }
    }

    TEST_CASE("warmer water, a fish more or less water make nothing better") {
        for (const double flow_l_min : {0.5, 5.0, 12.0, 20.0, 30.0, 60.0}) {
            Tank tank = readme_tank();
            tank.inflow[0].keeps_flowing = true;
            tank.inflow[0].flow_l_min = flow_l_min;
            for (double celsius = 4; celsius < 20; celsius += 0.5) {
                tank.water.temperature_c = celsius;
                for (double count = 20; count < 400; count += 20) {
                    tank.fish[0].count = count;
                    const TankOutage now = outage_of(tank);
                    Tank worse = tank;
                    worse.fish[0].count += 5;
                    CHECK(outage_of(worse).verdict >= now.verdict);
                    worse = tank;
                    worse.water.temperature_c += 0.5;
                    CHECK(outage_of(worse).verdict >= now.verdict);
                    worse = tank;
                    worse.inflow[0].flow_l_min *= 0.9;
                    CHECK(outage_of(worse).verdict >= now.verdict);
                }
            }
        }
    }

    TEST_CASE("an inflow by gravity is what will happen; a loop stops") {
        Tank tank = readme_tank();
        CHECK(outage_of(tank).judged == OutageCase::all_stops);
        tank.inflow[0].keeps_flowing = true;
        const TankOutage outage = outage_of(tank);
        CHECK(outage.judged == OutageCase::water_goes_on);
        const TankBudget budget = assessed(tank);
        const double steady =
            budget.oxygen.inflow_peak_mg_l.value() - outage.demand_g_h / budget.flow_m3_h;
        check_close(outage.course(OutageCase::water_goes_on).steady_mg_l.value(), steady, 1e-9);
        CHECK(to_danger(outage, OutageCase::water_goes_on) >
              to_danger(outage, OutageCase::all_stops));
    }

    TEST_CASE("what is said to hold them holds them, as a backup that is described") {
        RandomTanks random(31);
        int oxygen_tried = 0;
        int air_tried = 0;
        int fewer_tried = 0;
        for (int i = 0; i < 1500; ++i) {
            Tank tank = random.next();
            if (!assessed(tank).reserve) continue;
            const TankOutage outage = outage_of(tank);
            for (const OutageCourse& each : outage.cases) {
                const auto& left = each.left;
                if (left.minutes_to_danger) {
                    CHECK(*left.minutes_to_danger >= 0);
                    CHECK(left.minutes_to_stress.value_or(HUGE_VAL) <= *left.minutes_to_danger);
                }
            }
            // Water that goes on may bring less than there is.
            if (!tank.inflow.empty() &&
                assessed(tank).oxygen.inflow_peak_mg_l > outage.oxygen_now_mg_l) {
                CHECK(to_danger(outage, OutageCase::all_stops) <= to_danger(outage, outage.judged));
            }
            if (const OutageAction* action = find(outage, OutageStep::add_oxygen)) {
                Tank with = tank;
                with.backup = {bottle(*action->value, 5)};
                const TankOutage held = outage_of(with);
                CHECK(held.backup->holds == Holds::warn);
                CHECK(held.backup->hours == 5);
                CHECK(action->holds);
                // A step less would not do.
                if (*action->value > 0.11 && *action->value < 10) {
                    with.backup = {bottle(*action->value - 0.1, 5)};
                    CHECK(outage_of(with).backup->holds < Holds::warn);
                }
                ++oxygen_tried;
            }
            if (const OutageAction* action = find(outage, OutageStep::add_air)) {
                const double present = air_flow_l_min(tank.aeration);
                Tank with = tank;
                for (const Aerator& aerator : tank.aeration) {
                    const auto* diffuser = std::get_if<Diffuser>(&aerator.kind);
                    if (diffuser == nullptr) continue;
                    Backup backup;
                    backup.unit = aerator;
                    std::get<Diffuser>(backup.unit.kind).air_flow_l_min *= *action->value / present;
                    backup.hours = 3;
                    with.backup.push_back(backup);
                }
                CHECK(outage_of(with).backup->holds == Holds::warn);
                CHECK(action->holds);
                ++air_tried;
            }
            if (const OutageAction* action = find(outage, OutageStep::kill)) {
                CHECK(*action->value > 0);
                CHECK(*action->value <= outage.fish_count);
                ++fewer_tried;
            }
            // More backup is never worse.
            Tank some = tank;
            some.backup = {bottle(0.5, 2)};
            Tank more = tank;
            more.backup = {bottle(0.5, 2), bottle(0.5, 4)};
            CHECK(to_danger(outage_of(more), OutageCase::backup) >=
                  to_danger(outage_of(some), OutageCase::backup) - 1e-9);
            const TankOutage none = outage_of(some);
            if (none.oxygen_now_mg_l > none.limits.reserve_danger_mg_l) {
                CHECK(to_danger(none, OutageCase::backup) >= to_danger(none, none.judged) - 1e-9);
            }
        }
        CHECK(oxygen_tried > 400);
        CHECK(air_tried > 50);
        CHECK(fewer_tried > 50);
    }

    TEST_CASE("where the water that goes on holds them nothing is to be brought") {
        Tank tank = readme_tank();
        tank.fish[0].count = 2;
        tank.inflow[0].keeps_flowing = true;
        const TankOutage outage = outage_of(tank);
        CHECK(outage.judged == OutageCase::water_goes_on);
        CHECK(outage.kept_percent == 100);
        Tank two = tank;
        two.inflow.push_back(two.inflow[0]);
        two.inflow[1].keeps_flowing = false;
        two.inflow[1].flow_l_min = two.inflow[0].flow_l_min / 3;
        check_close(outage_of(two).kept_percent, 75, 1e-12);
        for (const OutageStep step :
             {OutageStep::add_air, OutageStep::add_oxygen, OutageStep::pour}) {
            CHECK(find(outage, step) == nullptr);
        }
    }

    TEST_CASE("a site's backup is shared by demand") {
        Tank big = readme_tank();
        big.name = "big";
        Tank small = big;
        small.name = "small";
        small.fish[0].count /= 3;
        small.feed.ration_g_day.reset();
        big.feed.ration_g_day.reset();
        const std::vector<System> systems{alone(big, kSeaLevelKpa), alone(small, kSeaLevelKpa)};
        const std::vector<Backup> shared{bottle(4, 6)};
        const auto both = assess_outage(systems, shared, {});
        REQUIRE(both.size() == 2);
        // Three quarters and one quarter: as if each had its own.
        Tank own = big;
        own.backup = {bottle(3, 6)};
        check_close(both[0].course(OutageCase::backup).steady_mg_l.value_or(-1),
                    outage_of(own).course(OutageCase::backup).steady_mg_l.value_or(-1), 1e-9);
        CHECK(both[0].backup->hours == 6);
        // One that has its own takes nothing of it.
        const std::vector<System> apart{alone(own, kSeaLevelKpa), alone(small, kSeaLevelKpa)};
        CHECK(assess_outage(apart, shared, {})[1].backup->holds >= both[1].backup->holds);
    }

    TEST_CASE("fish go only where their water goes on and holds them, and only in time") {
        Tank full = readme_tank();
        full.name = "full";
        full.readings.oxygen_mg_l = 9;
        full.readings.oxygen_age_h = 0;
        Tank spring = readme_tank();
        spring.name = "spring";
        spring.fish[0].count = 1;
        spring.feed.ration_g_day = 0;
        spring.inflow[0].flow_l_min = 900;
        const auto outage = [&](const Tank& other) {
            const std::vector<System> systems{alone(full, kSeaLevelKpa),
                                              alone(other, kSeaLevelKpa)};
            return assess_outage(systems, {}, {}).at(0);
        };
        CHECK(find(outage(spring), OutageStep::move_fish) == nullptr);  // it would stop too
        spring.inflow[0].keeps_flowing = true;
        REQUIRE(find(outage(spring), OutageStep::move_fish) != nullptr);
        CHECK(find(outage(spring), OutageStep::move_fish)->to == "spring");
        // How many, by hand: the others live at the fail limit, 5 mg/L, on their own water that
        // goes on and on 30 L/min poured from a metre, which bring a share of their demand.
        Tank trickle = full;
        trickle.inflow[0].flow_l_min = 12;
        trickle.inflow[0].keeps_flowing = true;
        const std::vector<System> two{alone(trickle, kSeaLevelKpa), alone(spring, kSeaLevelKpa)};
        const TankOutage left = assess_outage(two, {}, {}).at(0);
        const TankBudget alone_mg_l = assessed(trickle);
        const double saturation = alone_mg_l.oxygen.saturation_peak_mg_l;
        const double poured =
            1 - 1 / cascade_deficit_ratio({.drop_m = 1}, 14.2, kUsualCoefficients);
        const double brought =
            0.72 * (*alone_mg_l.oxygen.inflow_peak_mg_l - 5) + 1.8 * poured * (saturation - 5);
        const double stay = std::floor(120 * brought / left.demand_g_h);
        REQUIRE(find(left, OutageStep::move_fish) != nullptr);
        CHECK(stay > 20);
        CHECK(find(left, OutageStep::move_fish)->value == 120 - stay);
        // What its water brings down to the warn limit, less what its own fish breathe,
        // must do for what the netted ones breathe, 1.6 times as much.
        const TankOutage going = outage(spring);
        const double netted =
            1.6 * going.demand_g_h * *find(going, OutageStep::move_fish)->value / going.fish_count;
        const TankBudget spring_budget = assessed(spring);
        const double least_m3_h =
            (netted + spring_budget.reserve->demand_g_h) /
            (*spring_budget.oxygen.inflow_peak_mg_l - spring_budget.oxygen.warn_mg_l);
        Tank just = spring;
        just.inflow[0].flow_l_min = least_m3_h * 1000 / 60 * 1.0001;
        CHECK(find(outage(just), OutageStep::move_fish) != nullptr);
        just.inflow[0].flow_l_min = least_m3_h * 1000 / 60 * 0.9999;
        CHECK(find(outage(just), OutageStep::move_fish) == nullptr);
        // In room enough: not in water of 150 L.
        Tank narrow = spring;
        narrow.volume_l = 150;
        CHECK(find(outage(narrow), OutageStep::move_fish) == nullptr);
        narrow.volume_l = 400;
        CHECK(find(outage(narrow), OutageStep::move_fish) != nullptr);
        // An empty one too; not where the water is another by over 3 degC, too warm, or unfit.
        Tank other = spring;
        other.fish.clear();
        CHECK(find(outage(other), OutageStep::move_fish) != nullptr);
        other = spring;
        other.water.temperature_c -= 2.9;
        CHECK(find(outage(other), OutageStep::move_fish) != nullptr);
        other.water.temperature_c -= 0.2;
        CHECK(find(outage(other), OutageStep::move_fish) == nullptr);
        other = spring;
        other.fish.clear();
        other.water.peak_temperature_c = 22.5;
        CHECK(find(outage(other), OutageStep::move_fish) == nullptr);
        other = spring;
        other.inflow[0].chlorine_mg_l = 0.5;
        CHECK(find(outage(other), OutageStep::move_fish) == nullptr);
        spring.inflow[0].flow_l_min = 1;
        CHECK(find(outage(spring), OutageStep::move_fish) == nullptr);
        spring.inflow[0].flow_l_min = 900;
        full.readings.oxygen_mg_l = 3.5;
        CHECK(find(outage(spring), OutageStep::move_fish) == nullptr);
        CHECK(find(outage(spring), OutageStep::do_not_net) != nullptr);
    }

    TEST_CASE("a loop that ends in no oxygen is no full tank when the power fails") {
        System loop = backyard();
        loop.loop->aeration.clear();
        for (Tank& tank : loop.tanks) tank.aeration.clear();
        const SystemBudget budget = assess_system(loop);
        REQUIRE(budget.tanks[0].reserve->start_mg_l == 0);
        const TankOutage outage = assess_outage({&loop, 1}, {}, {}).at(0);
        CHECK(outage.oxygen_now_mg_l == 0);
        CHECK(outage.verdict == Status::fail);
    }
}
