#include "coldtank/capacity.hpp"

#include <algorithm>

#include "check.hpp"

using namespace coldtank;
using namespace coldtank::test;

namespace {

bool keeps(const Check& check, Level level) {
    return level == Level::warn ? check.status == Status::pass : check.status != Status::fail;
}

bool all_keep(const Tank& tank, double count, double pressure_kpa, Level level) {
    const TankBudget budget = assessed(stocked_with(tank, count), pressure_kpa);
    return std::all_of(budget.checks.begin(), budget.checks.end(), [&](const Check& check) {
        return info_of(check.id).decides != Decides::stock || check.status == Status::unchecked ||
               keeps(check, level);
    });
}

// The raceway of examples/raceway.json: 50 degF, 5000 ft, 60 US gal/min, 8-inch trout, table
// ration, peak factor 1.
Tank raceway() {
    Tank tank{};
    tank.name = "upper raceway";
    tank.volume_l = 160 * 28.316846592;
    tank.water.temperature_c = 10;
    tank.water.ph = 7.5;
    tank.inflow = {Inflow{}};
    tank.inflow[0].flow_l_min = 60 * 3.785411784;
    tank.inflow[0].oxygen_percent = 100;
    tank.inflow[0].carbon_dioxide_mg_l = 4;
    tank.fish = {fish("rainbow", 1200, 0.2048 * 453.59237)};
    tank.feed.peak_factor = 1;
    return tank;
}

double carried_by_oxygen(const Tank& tank, Level level) {
    const TankCapacity capacity =
        capacity_of(alone(tank, standard_pressure_kpa(5000 * 0.3048)), 0, level);
    REQUIRE(capacity.by_check[0].check == CheckId::oxygen);
    return capacity.by_check[0].stock.value().biomass_kg;
}

}  // namespace

TEST_SUITE("capacity") {
    TEST_CASE("every count up to N keeps the limits, and N + 1 does not") {
        RandomTanks random(21);
        int exact = 0;
        int none = 0;
        for (int i = 0; i < random_cases(3000); ++i) {
            const Tank tank = random.next();
            const double pressure = random.pressure_kpa();
            const Level level = i % 2 == 0 ? Level::warn : Level::fail;
            const TankCapacity capacity = capacity_of(alone(tank, pressure), 0, level);
            REQUIRE(capacity.stock.has_value());
            const double n = capacity.stock->count;
            CHECK(n == std::floor(n));
            if (n > 0) {
                CHECK(all_keep(tank, n, pressure, level));
                CHECK(all_keep(tank, 1, pressure, level));
                CHECK(all_keep(tank, std::max(1.0, std::floor(n * random.between(0, 1))), pressure,
                               level));
                ++exact;
            } else {
                ++none;
            }
            CHECK_FALSE(all_keep(tank, n + 1, pressure, level));
            for (const CheckCapacity& each : capacity.by_check) {
                if (each.stock) CHECK(each.stock->count >= n);
            }
        }
        CHECK(exact > random_cases(1500));
        CHECK(none > random_cases(100));
    }

    TEST_CASE("Piper et al. 1982 by hand: W = F L I, 1.5 x 8 in x 60 gal/min = 720 lb") {
        const double pounds = carried_by_oxygen(raceway(), Level::fail) / 0.45359237;
        check_close(pounds, 585.5, 0.05);  // 19 % less: careful, as the index above
        CHECK(pounds <= 720);
        CHECK(pounds >= 0.8 * 720);
    }

    TEST_CASE("what a flow carries moves with the oxygen of the inflow as DOin - DOmin") {
        Tank tank = raceway();
        tank.inflow[0].oxygen_percent.reset();
        tank.inflow[0].oxygen_mg_l = 11;
        const double rich = carried_by_oxygen(tank, Level::fail);
        for (const double oxygen_mg_l : {6.0, 8.0, 9.5}) {
            tank.inflow[0].oxygen_mg_l = oxygen_mg_l;
            // To one fish of 93 g.
            check_close(carried_by_oxygen(tank, Level::fail), rich * (oxygen_mg_l - 5) / (11 - 5),
                        0.1);
        }
    }

    TEST_CASE("with our own limits the flow index is 0.5-1.0, the band of SRAC 222 (1990)") {
        Tank tank = raceway();
        tank.feed.peak_factor = kUsualCoefficients.peak_factor;
        const double index = carried_by_oxygen(tank, Level::warn) / 0.45359237 / (8 * 60);
        CHECK(index > 0.5);
        CHECK(index < 1.0);
    }

    TEST_CASE("readings of today's stock do not count") {
        Tank tank = raceway();
        const TankCapacity clean = capacity_of(alone(tank, 90), 0, Level::warn);
        tank.readings.oxygen_mg_l = 3;
        tank.readings.tan_mg_l = 9;
        tank.readings.carbon_dioxide_mg_l = 40;
        tank.readings.nitrite_mg_l = 5;
        tank.readings.nitrate_mg_l = 500;
        tank.readings.lowest_oxygen_mg_l = 2;
        tank.readings.temperature_jump_c = 9;
        tank.water.alkalinity_mg_l = 200;
        CHECK(capacity_of(alone(tank, 90), 0, Level::warn).stock->count == clean.stock->count);
    }

    TEST_CASE("edges: empty, without supply, without readings, too warm, one fish too many") {
        Tank tank = raceway();
        tank.fish[0].count = 0;
        CHECK_FALSE(capacity_of(alone(tank, 90), 0, Level::warn).has_fish);
        CHECK_FALSE(capacity_range(alone(tank, 90), 0, Level::warn).has_value());

        tank = raceway();
        tank.inflow.clear();
        const TankCapacity still = capacity_of(alone(tank, 90), 0, Level::warn);
        CHECK(still.no_supply);
        CHECK(still.stock->count == 0);
        CHECK(still.limited_by == CheckId::oxygen);

        tank = raceway();
        tank.water.ph.reset();
        tank.inflow[0].carbon_dioxide_mg_l.reset();
        const TankCapacity blind = capacity_of(alone(tank, 90), 0, Level::warn);
        REQUIRE(blind.unchecked.size() == 2);
        CHECK(blind.unchecked[0] == CheckId::ammonia);
        CHECK(blind.unchecked[1] == CheckId::carbon_dioxide);
        CHECK(blind.stock->count > 0);

        tank = raceway();
        tank.water.temperature_c = 21;
        const TankCapacity warm = capacity_of(alone(tank, 90), 0, Level::warn);
        CHECK(std::find(warm.not_by_stock.begin(), warm.not_by_stock.end(), CheckId::temperature) !=
              warm.not_by_stock.end());

        tank = raceway();
        tank.inflow[0].oxygen_percent = 30;
        CHECK(capacity_of(alone(tank, 90), 0, Level::warn).stock->count == 0);
    }

    TEST_CASE("what would let a tank carry more does so") {
        RandomTanks random(22);
        int proved = 0;
        for (int i = 0; i < 300; ++i) {
            const Tank tank = random.next();
            const double pressure = random.pressure_kpa();
            const double n = capacity_of(alone(tank, pressure), 0, Level::warn).stock->count;
            const double wanted = std::ceil(1.3 * n) + 1;
            const FitPlan fit = plan_fit(alone(tank, pressure), 0, wanted);
            const Plan& plan = fit.plan;
            CHECK(fit.verdict >= Status::warn);
            REQUIRE_FALSE(plan.remedies.empty());
            for (const Remedy& remedy : plan.remedies) {
                CHECK(remedy.action != Action::take_out_fish);
                if (remedy.action == Action::none_suffices) continue;
                const Tank changed = mended(plan, remedy);
                CHECK(all_keep(changed, wanted, pressure, Level::warn));
                ++proved;
            }
            const bool warm =
                find_check(plan.on->budget.tanks[0], CheckId::temperature)->status >= Status::warn;
            if (n > 0) CHECK(plan_fit(alone(tank, pressure), 0, n).plan.remedies.empty() != warm);
        }
        CHECK(proved > 200);
    }

    TEST_CASE("the range holds the headline, and every spread lies in it") {
        RandomTanks random(23);
        int ranged = 0;
        for (int i = 0; i < 200; ++i) {
            const Tank tank = random.next();
            const double pressure = random.pressure_kpa();
            const auto range = capacity_range(alone(tank, pressure), 0, Level::warn);
            REQUIRE(range.has_value());
            const double n = capacity_of(alone(tank, pressure), 0, Level::warn).stock->count;
            CHECK(range->low <= n);
            CHECK(range->high >= n);
            for (const Spread& spread : range->spreads) {
                CHECK(spread.low <= spread.high);
                CHECK(spread.low >= range->low);
                CHECK(spread.high <= range->high);
                ++ranged;
            }
        }
        CHECK(ranged > 100);
    }

    TEST_CASE("other sizes and days: bigger fish and colder water carry more kilograms") {
        const Tank tank = readme_tank();
        const auto kg = [&](double temperature_c, double weight_g) {
            const Tank changed = varied(tank, {temperature_c, weight_g, std::nullopt, {}});
            return capacity_of(alone(changed, 95), 0, Level::warn).by_check[0].stock->biomass_kg;
        };
        CHECK(kg(10, 200) > kg(10, 50));
        CHECK(kg(10, 100) > kg(16, 100));
        const Tank brook = varied(
            tank, {std::nullopt, std::nullopt, find_species("brook")->species, "brook trout"});
        CHECK(capacity_of(alone(brook, 95), 0, Level::warn).by_check.back().stock->biomass_kg <
              capacity_of(alone(tank, 95), 0, Level::warn).by_check.back().stock->biomass_kg);
    }
}
