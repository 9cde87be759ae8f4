#include "coldtank/water_change.hpp"

#include <algorithm>
#include <cmath>

#include "check.hpp"

using namespace coldtank;
using namespace coldtank::test;
using Of = WaterChange::Of;

namespace {

const WaterChange::Value* find(const WaterChange& change, Of of) {
    const auto at = std::find_if(change.values.begin(), change.values.end(),
                                 [&](const WaterChange::Value& value) { return value.of == of; });
    return at == change.values.end() ? nullptr : &*at;
}

WaterChange change_of(const Tank& tank, double percent, std::optional<double> temperature_c = {}) {
    const System system = alone(tank, kSeaLevelKpa);
    return assess_water_change(system, assess_system(system), 0, {percent, temperature_c});
}

Tank read_tank() {
    Tank tank = readme_tank();
    tank.inflow[0].tan_mg_l = 0.1;
    tank.readings.tan_mg_l = 3;
    tank.readings.nitrite_mg_l = 0.2;
    tank.readings.nitrate_mg_l = 90;
    tank.readings.chloride_mg_l = 40;
    tank.readings.oxygen_mg_l = 7;
    return tank;
}

}  // namespace

TEST_SUITE("water_change") {
    TEST_CASE("what is poured out and brought in, by hand") {
        // 600 of 2000 L for water with 0.1 mg/L TAN: (1400 x 3 + 600 x 0.1) / 2000 = 2.13.
        const Tank tank = read_tank();
        const WaterChange change = change_of(tank, 30, 10.5);
        CHECK(change.volume_l == 2000);
        check_close(find(change, Of::tan)->after, 2.13, 1e-12);
        check_close(find(change, Of::nitrite)->after, 0.14, 1e-12);
        check_close(find(change, Of::nitrate)->after, 63, 1e-12);
        check_close(find(change, Of::chloride)->after, 28, 1e-12);
        check_close(find(change, Of::temperature)->after, 0.7 * 13.5 + 0.3 * 10.5, 1e-12);
        const double new_mg_l =
            0.92 * oxygen_saturation_mg_l(
                       {.temperature_c = 10.5, .salinity_g_kg = 0, .pressure_kpa = kSeaLevelKpa});
        check_close(find(change, Of::oxygen)->after, 0.7 * 7 + 0.3 * new_mg_l, 1e-12);
        CHECK_FALSE(change.oxygen_assumed);
        // As NH3 the same shares.
        const WaterChange alike = change_of(tank, 30);
        const WaterChange::Value& nh3 = *find(alike, Of::nh3);
        check_close(nh3.after / nh3.before, 2.13 / 3, 1e-12);
        CHECK(find(change, Of::tan)->read);
        CHECK(find(change, Of::chlorine) == nullptr);
    }

    TEST_CASE("what is needed brings the worst to its limit, in steps that fish bear") {
        RandomTanks random(171);
        int steps = 0;
        for (int draw = 0; draw < 300; ++draw) {
            Tank tank = random.next();
            tank.readings.tan_mg_l = random.between(0, 6);
            tank.readings.nitrate_mg_l = random.between(0, 200);
            if (random.chance(0.5)) tank.readings.nitrite_mg_l = random.between(0, 1);
            const WaterChange asked = change_of(tank, 20);
            bool over = false;
            for (const WaterChange::Value& value : asked.values) {
                over = over || (value.limit && value.before > *value.limit);
                if (!value.limit || !value.needed_percent) continue;
                CHECK(*value.needed_percent <= asked.needed_percent.value_or(HUGE_VAL));
                if (*value.needed_percent == 0) continue;
                const WaterChange needed = change_of(tank, *value.needed_percent);
                check_close(find(needed, value.of)->after, *value.limit, 1e-9);
            }
            CHECK(over == asked.worst.has_value());
            if (!asked.needed_percent) continue;
            // One after the other, and one less is too few.
            double left = 1;
            for (int i = 0; i < asked.changes; ++i) {
                if (i > 0) CHECK(1 - left < *asked.needed_percent / 100);
                left *= 1 - asked.at_once_percent / 100;
            }
            CHECK(1 - left >= *asked.needed_percent / 100 - 1e-9);
            steps += asked.changes > 1 ? 1 : 0;
        }
        CHECK(steps > 50);
    }

    TEST_CASE("warm water frees ammonia and holds less oxygen; what the fish make comes back") {
        Tank tank = read_tank();
        const WaterChange same = change_of(tank, 30);
        const WaterChange warm = change_of(tank, 30, 23.5);
        CHECK(find(warm, Of::tan)->after == find(same, Of::tan)->after);
        CHECK(find(warm, Of::nh3)->after > find(same, Of::nh3)->after);
        CHECK(find(warm, Of::oxygen)->after < find(same, Of::oxygen)->after);
        const double at = unionised_fraction(
            {.temperature_c = 14.2 + 3, .salinity_g_kg = 0, .pressure_kpa = kSeaLevelKpa}, 7.2, {});
        check_close(find(warm, Of::nh3)->after,
                    nh3_mg_l({.tan_mg_l = 2.13, .unionised_fraction = at}), 1e-12);
        check_close(find(warm, Of::oxygen)->after,
                    0.7 * 7 + 0.3 * 0.92 *
                                  oxygen_saturation_mg_l({.temperature_c = 23.5,
                                                          .salinity_g_kg = 0,
                                                          .pressure_kpa = kSeaLevelKpa}),
                    1e-9);
        CHECK_FALSE(same.comes_back);
        tank.inflow[0].flow_l_min = 2;  // far too little for what they make
        CHECK(change_of(tank, 30).comes_back);
        tank.inflow.clear();
        CHECK(change_of(tank, 30).comes_back);
    }

    TEST_CASE("no more at once than fish bear; more where something fails now") {
        Tank tank = read_tank();
        CHECK(change_of(tank, 10).at_once_percent == 30);
        tank.readings.nitrite_mg_l = 5;
        CHECK(change_of(tank, 10).urgent);
        CHECK(change_of(tank, 10).at_once_percent == 50);
        // 4 degC colder: a quarter of it cools the tank by a degree.
        const WaterChange cold = change_of(tank, 10, 9.5);
        CHECK(cold.too_warm_or_cold);
        check_close(cold.at_once_percent, 25, 1e-12);
        check_close(find(change_of(tank, 25, 9.5), Of::temperature)->after, 12.5, 1e-12);
        CHECK_FALSE(change_of(tank, 10, 12.5).too_warm_or_cold);
    }

    TEST_CASE("new water that holds as much helps nothing; chlorine is told") {
        Tank tank = read_tank();
        tank.inflow[0].tan_mg_l = 2.5;
        tank.inflow[0].chlorine_mg_l = 0.2;
        const WaterChange change = change_of(tank, 30);
        CHECK(change.worst == Of::tan);
        CHECK_FALSE(change.needed_percent.has_value());
        CHECK(change.changes == 0);
        check_close(find(change, Of::chlorine)->after, 0.06, 1e-12);
        // Nothing is told of the new water of a tank without inflow: clean and saturated.
        tank.inflow.clear();
        const WaterChange still = change_of(tank, 30);
        CHECK(still.oxygen_assumed);
        check_close(find(still, Of::tan)->after, 2.1, 1e-12);
    }

    TEST_CASE("several new waters are mixed, in whatever order they stand") {
        Tank tank = read_tank();
        Inflow tap = tank.inflow[0];
        tap.tan_mg_l = 1.5;
        tap.chlorine_mg_l = 0.3;
        tank.inflow.push_back(tap);
        const WaterChange one = change_of(tank, 30);
        std::swap(tank.inflow[0], tank.inflow[1]);
        const WaterChange other = change_of(tank, 30);
        check_close(find(one, Of::chlorine)->after, 0.3 * 0.15, 1e-12);
        check_close(find(one, Of::tan)->fresh, 0.8, 1e-12);
        CHECK(find(other, Of::chlorine)->after == find(one, Of::chlorine)->after);
        CHECK(other.needed_percent == one.needed_percent);
    }

    TEST_CASE("what was not read is what is predicted; nothing over its limit needs nothing") {
        const WaterChange change = change_of(readme_tank(), 30);
        CHECK_FALSE(find(change, Of::tan)->read);
        CHECK(find(change, Of::nitrite) == nullptr);
        CHECK(find(change, Of::nitrate) == nullptr);
        CHECK_FALSE(change.worst.has_value());
        CHECK(change.changes == 0);
    }

    TEST_CASE("on a loop all of its water is changed, for its make-up") {
        System system = backyard();
        system.tanks.push_back(system.tanks[0]);
        system.tanks[1].name = "second";
        for (Tank& tank : system.tanks) tank.readings = system.loop->readings;
        system.tanks[0].readings.nitrate_mg_l = 100;
        const WaterChange change = assess_water_change(system, assess_system(system), 0, {20, {}});
        CHECK(change.whole_loop);
        CHECK(change.volume_l == 2000);
        check_close(find(change, Of::nitrate)->after, 80 + 0.2 * 2, 1e-12);
        check_close(find(change, Of::tan)->fresh, 0.02, 1e-12);
        // Without flow nothing of the loop reaches the tank.
        system.tanks[1].loop->flow_l_min = 0;
        const WaterChange dry = assess_water_change(system, assess_system(system), 1, {20, {}});
        CHECK_FALSE(dry.whole_loop);
        CHECK(dry.volume_l == 1000);
    }
}
