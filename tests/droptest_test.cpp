#include "coldtank/droptest.hpp"

#include <cmath>
#include <random>
#include <vector>

#include "check.hpp"
#include "coldtank/course.hpp"
#include "coldtank/water.hpp"

using namespace coldtank;
using namespace coldtank::test;

namespace {

// 2000 L and 20 kg: V' 1.98 m3.
Tank tested_tank(double count = 80) {
    Tank tank{};
    tank.name = "tested";
    tank.volume_l = 2000;
    tank.water.temperature_c = 12;
    if (count > 0) tank.fish = {fish("rainbow trout", count, 250)};
    return tank;
}

DropTest with(Tank tank, std::vector<DropPoint> points, double fasted_h = 48) {
    return {.points = std::move(points),
            .tank = std::move(tank),
            .pressure_kpa = kSeaLevelKpa,
            .fasted_h = fasted_h};
}

// 9.2 to 7.0 mg/L in 25 minutes, a point a minute.
std::vector<DropPoint> falling() {
    std::vector<DropPoint> points;
    for (int i = 0; i <= 25; ++i) points.push_back({i / 60.0, 9.2 - 2.2 * i / 25});
    return points;
}
// A rise to `steady` at `kla`, a point each `every` minutes, from a time on.
void rise(std::vector<DropPoint>& points, double from_h, double start, double steady, double kla,
          int count, double every_min) {
    for (int i = 0; i <= count; ++i) {
        const double hours = i * every_min / 60;
        points.push_back({from_h + hours, steady - (steady - start) * std::exp(-kla * hours)});
    }
}

// A log with fish: still with air for a while, then off, then on, by the same equation as a tank's.
struct Simulated {
    std::mt19937_64 engine;
    double noise_mg_l;
    int pause = 0;  // minutes before
    double surface_m3_h = 0;
    double kla_per_h = 3;
    double breathes_g_h = 10.454;

    DropTest draw(bool give_switches) {
        const Tank tank = tested_tank();
        const double water_m3 = 1.98;
        const double saturation =
            oxygen_saturation_mg_l({.temperature_c = 12, .pressure_kpa = kSeaLevelKpa});
        const Course off{water_m3, surface_m3_h * saturation - breathes_g_h, surface_m3_h};
        const double steady =
            tank.coefficients.beta * saturation - breathes_g_h / (kla_per_h * water_m3);
        const Course on{water_m3, kla_per_h * water_m3 * steady, kla_per_h * water_m3};
        std::normal_distribution<double> normal(0, 1);
        const auto noise = [&](std::mt19937_64& of) { return noise_mg_l * normal(of); };
        std::vector<DropPoint> points;
        double mg_l = 9.0;
        int minute = 0;
        for (; minute < pause; ++minute) points.push_back({minute / 60.0, mg_l + noise(engine)});
        constexpr int kOff = 25;
        for (int i = 0; i < kOff; ++i, ++minute) {
            points.push_back({minute / 60.0, off.at(mg_l, i / 60.0) + noise(engine)});
        }
        mg_l = off.at(mg_l, kOff / 60.0);
        const int on_at = minute;
        for (int i = 0; i <= 60; ++i, ++minute) {
            points.push_back({minute / 60.0, on.at(mg_l, i / 60.0) + noise(engine)});
        }
        DropTest test = with(tank, points, 0);
        test.surface_m3_h = surface_m3_h;
        if (give_switches) {
            test.off_h = pause / 60.0;
            test.on_h = on_at / 60.0;
        }
        return test;
    }
};

bool within(const std::optional<Estimate>& estimate, double truth) {
    return estimate && estimate->low <= truth && truth <= estimate->high;
}

System stocked(double oxygen_mg_l, double count) {
    Tank tank = readme_tank();
    tank.fish = {fish("rainbow trout", count, 180)};
    tank.feed.ration_g_day = 100;
    tank.readings.oxygen_mg_l = oxygen_mg_l;
    tank.readings.oxygen_age_h = 0;
    tank.backup = {Backup{.unit = diffuser(60, 0.8), .hours = 10}};
    return alone(tank, kSeaLevelKpa);
}

}  // namespace

TEST_SUITE("droptest") {
    TEST_CASE("asymptotic regressions as published") {
        struct Published {
            const char* file;
            double asymptote, asymptote_sd, log_rate, log_rate_sd, residual_sd;
        };
        for (const Published& published :
             {Published{"asymptotic_loblolly_329.csv", 94.1282, 8.4030, -3.2176, 0.1386, 0.7493},
              Published{"asymptotic_co2_qn1.csv", 38.1398, 0.9164, -4.3806, 0.2042, 1.663}}) {
            std::vector<DropPoint> points;
            for (const auto& row : reference_rows(published.file)) {
                points.push_back({number(row, "x"), number(row, "y")});
            }
            const auto fit = fit_rise(points);
            REQUIRE(fit);
            check_close(fit->steady_mg_l, published.asymptote, 0.5e-4);
            check_close(std::sqrt(fit->covariance[0][0]), published.asymptote_sd, 0.5e-4);
            check_close(std::log(fit->kla_per_h), published.log_rate, 0.5e-4);
            check_close(std::sqrt(fit->covariance[2][2]) / fit->kla_per_h, published.log_rate_sd,
                        0.5e-4);
            check_close(std::sqrt(fit->squares / static_cast<double>(points.size() - 3)),
                        published.residual_sd, 0.5e-3);
        }
        // Four points of a curve are enough, three are not.
        std::vector<DropPoint> few;
        for (const double hours : {0.0, 0.2, 0.5, 1.0}) {
            few.push_back({hours, 9.6 - 3.1 * std::exp(-1.8 * hours)});
        }
        check_close(fit_rise(few)->kla_per_h, 1.8, 1e-6);
        few.pop_back();
        CHECK_FALSE(fit_rise(few).has_value());
        // R0 and c0, the first where x is 0 and the second where y is.
        std::vector<DropPoint> points;
        for (const auto& row : reference_rows("asymptotic_loblolly_329.csv")) {
            points.push_back({number(row, "x"), number(row, "y")});
        }
        check_close(fit_rise(points)->at(-3), -8.2508, 0.5e-4);
    }

    // By hand: 1.98 (9.2 - 7.0) / (25 / 60) = 10.4544.
    TEST_CASE("9.2 to 7.0 mg/L in 25 minutes in 1.98 m3 are 10.454 g/h") {
        const DropResult result = assess_drop(with(tested_tank(), falling()));
        REQUIRE(result.respiration_mg_kg_h);
        check_close(result.water_m3, 1.98, 1e-12);
        check_close(result.respiration_mg_kg_h->value * 20 / 1000, 10.4544, 1e-9);
        check_close(result.fall_mg_l, 2.2, 1e-9);
        CHECK(!result.on);
        CHECK(result.main().refused == DropRefusal::none);
        // Over what the model gives for such fish, fasted for two days.
        const double fed =
            respiration_mg_kg_h({.temperature_c = 12, .weight_g = 250}, kUsualCoefficients);
        check_close(*result.model_mg_kg_h, 0.55 * fed, 1e-9);
        check_close(result.respiration_factor->value, 522.72 / (0.55 * fed), 1e-9);
        // Fed fish breathe more: the same fall is a smaller part of it.
        const DropResult as_fed = assess_drop(with(tested_tank(), falling(), 0));
        check_close(as_fed.respiration_factor->value, 0.55 * result.respiration_factor->value,
                    1e-9);
    }

    // By hand: 9.6 - 3.1 e^(-1.8 t) at 10, 20 and 40 minutes.
    TEST_CASE("kLa 1.8 an hour from 6.5 to 9.6, and its SOTR") {
        const RiseFit rise_fit{9.6, 6.5, 1.8, 0};
        check_close(rise_fit.at(10 / 60.0), 7.3035, 0.5e-4);
        check_close(rise_fit.at(20 / 60.0), 7.8987, 0.5e-4);
        check_close(rise_fit.at(40 / 60.0), 8.6663, 0.5e-4);
        std::vector<DropPoint> points;
        rise(points, 0, 6.5, 9.6, 1.8, 20, 2);
        const DropResult empty = assess_drop(with(tested_tank(0), points));
        REQUIRE(empty.sotr_g_h);
        check_close(empty.kla_per_h->value, 1.8, 1e-8);
        check_close(*empty.steady_mg_l, 9.6, 1e-8);
        check_close(empty.sotr_g_h->value, 39.56, 0.005);  // 1.8 x 1.024^8 x 2 x 9.09
        check_close(empty.transfer_m3_h->value, 3.6, 1e-8);
        CHECK(!empty.off);
        CHECK(!empty.respiration_mg_kg_h);
        CHECK(empty.verdict == Status::pass);
        // Water that ran meanwhile is not the stones' work.
        DropTest flowing = with(tested_tank(0), points);
        flowing.flow_l_min = 20;  // 1.2 m3/h through 2 m3
        check_close(assess_drop(flowing).kla_per_h->value, 1.8 - 0.6, 1e-8);
        flowing.flow_l_min = 60;
        CHECK(assess_drop(flowing).main().refused == DropRefusal::not_levelled);
    }

    TEST_CASE("what the air holds the fish at says once more what they breathe") {
        Simulated simulated{std::mt19937_64(1), 0};
        const DropResult result = assess_drop(simulated.draw(true));
        REQUIRE(result.breathed_on_mg_kg_h);
        check_close(result.breathed_on_mg_kg_h->value, 522.7, 1e-6);
        CHECK(!result.disagree);
        check_close(result.respiration_mg_kg_h->value, 522.7, 1e-6);
        check_close(result.kla_per_h->value, 3, 1e-8);
    }

    TEST_CASE("a surface that takes up oxygen is no fish that breathe less") {
        Simulated simulated{std::mt19937_64(1), 0};
        simulated.surface_m3_h = 0.4;
        DropTest test = simulated.draw(true);
        check_close(assess_drop(test).respiration_mg_kg_h->value, 522.7, 1e-6);
        test.surface_m3_h = 0;
        CHECK(assess_drop(test).respiration_mg_kg_h->value < 490);
    }

    TEST_CASE("the truth is in the band of 930 to 970 of 1000 logs") {
        constexpr int kDraws = random_cases(1000);
        constexpr double kChance = kDraws < 1000 ? 0.05 : 0;  // of so few
        for (const double noise : {0.02, 0.05, 0.1}) {
            for (const bool given : {true, false}) {
                for (const double surface : {0.0, 0.4}) {
                    if (surface > 0 && noise != 0.05) continue;
                    Simulated simulated{std::mt19937_64(4), noise};
                    simulated.surface_m3_h = surface;
                    simulated.pause = given ? 0 : 12;
                    int breathed = 0;
                    int brought = 0;
                    int told = 0;
                    int told_air = 0;
                    for (int i = 0; i < kDraws; ++i) {
                        const DropResult result = assess_drop(simulated.draw(given));
                        told += result.respiration_mg_kg_h.has_value();
                        told_air += result.kla_per_h.has_value();
                        breathed += within(result.respiration_mg_kg_h, 522.7);
                        brought += within(result.kla_per_h, 3);
                    }
                    INFO(noise, " ", given, " ", surface);
                    // Where the switches are told nearly all conclude; some of the worst do not
                    // where they are to be found.
                    CHECK(std::min(told, told_air) >= (given ? 0.98 : 0.92) * kDraws);
                    // In the most noise a switch that was not told costs a hundredth.
                    CHECK(breathed >= ((given || noise < 0.1 ? 0.93 : 0.92) - kChance) * told);
                    CHECK(breathed <= (0.97 + kChance) * told);
                    CHECK(brought >= (0.93 - kChance) * told_air);
                    CHECK(brought <= (0.97 + kChance) * told_air);
                }
            }
        }
    }

    TEST_CASE("where it was switched is found") {
        for (const double noise : {0.0, 0.02, 0.05}) {
            for (const int pause : {0, 12}) {
                Simulated simulated{std::mt19937_64(9), noise};
                simulated.pause = pause;
                for (int i = 0; i < 20; ++i) {
                    const DropResult result = assess_drop(simulated.draw(false));
                    REQUIRE(result.on);
                    check_close(static_cast<double>(result.off->first), pause, noise > 0 ? 4 : 1);
                    check_close(static_cast<double>(result.on->first), pause + 25,
                                noise > 0 ? 4 : 1);
                }
            }
        }
        // One each second: 5,700 points.
        Simulated simulated{std::mt19937_64(9), 0.02};
        const DropTest minutes = simulated.draw(false);
        DropTest seconds = minutes;
        seconds.points.clear();
        for (std::size_t i = 0; i + 1 < minutes.points.size(); ++i) {
            for (int s = 0; s < 60; ++s) {
                const double share = s / 60.0;
                seconds.points.push_back({minutes.points[i].hours + share / 60,
                                          minutes.points[i].oxygen_mg_l * (1 - share) +
                                              minutes.points[i + 1].oxygen_mg_l * share});
            }
        }
        const DropResult result = assess_drop(seconds);
        REQUIRE(result.on);
        check_close(static_cast<double>(result.on->first), 25 * 60, 90);
    }

    TEST_CASE("one switch that is told, wherever it lies, and the other found") {
        Simulated simulated{std::mt19937_64(12), 0.02};
        for (const int early : {0, 1, 2, 5}) {
            DropTest test = simulated.draw(false);
            // Before it was off the oxygen did anything.
            for (int i = 0; i < early; ++i) {
                test.points[static_cast<std::size_t>(i)].oxygen_mg_l = 10.4 - 0.2 * i;
            }
            test.off_h = early / 60.0;
            const DropResult result = assess_drop(test);
            CHECK(result.off->first == static_cast<std::size_t>(early));
            REQUIRE(result.on);
            check_close(static_cast<double>(result.on->first), 25, 2);
            CHECK(result.kla_per_h);
            check_close(result.respiration_mg_kg_h->value, 522.7, 15);
        }
        simulated.pause = 12;
        DropTest test = simulated.draw(false);
        test.on_h = 37 / 60.0;
        const DropResult result = assess_drop(test);
        check_close(static_cast<double>(result.off->first), 12, 3);
        CHECK(result.on->first == 37);
        // Three points after it tell no rate, and hide no pause.
        test.points.resize(40);
        const DropResult cut = assess_drop(test);
        check_close(static_cast<double>(cut.off->first), 12, 3);
        check_close(cut.respiration_mg_kg_h->value, 522.7, 20);
        CHECK(cut.on->refused == DropRefusal::few_points);
    }

    TEST_CASE("what bears no conclusion is refused, and says why") {
        const auto refused = [](DropTest test) { return assess_drop(test).main().refused; };
        const DropTest good = with(tested_tank(), falling());
        CHECK(refused(good) == DropRefusal::none);
        CHECK(assess_drop(good).verdict == Status::warn);  // twice what the model says

        DropTest few = good;
        few.points.resize(7);
        CHECK(refused(few) == DropRefusal::few_points);
        check_close(assess_drop(few).main().refused_by, 7, 0);
        CHECK(!assess_drop(few).respiration_mg_kg_h);
        CHECK(assess_drop(few).verdict == Status::unchecked);
        few.points.clear();
        CHECK(refused(few) == DropRefusal::few_points);

        DropTest shorter = good;
        shorter.on_h = 6 / 60.0;
        CHECK(refused(shorter) == DropRefusal::few_points);
        shorter.on_h = 7 / 60.0;  // the eighth point is of the very time
        CHECK(refused(shorter) == DropRefusal::none);

        DropTest flat = good;
        for (DropPoint& point : flat.points) point.oxygen_mg_l = 9 - (9.2 - point.oxygen_mg_l) / 5;
        CHECK(refused(flat) == DropRefusal::small_change);
        check_close(assess_drop(flat).main().refused_by, 0.44, 1e-9);
        for (DropPoint& point : flat.points) point.oxygen_mg_l = 9;
        CHECK(refused(flat) == DropRefusal::small_change);

        DropTest noisy = good;
        for (std::size_t i = 0; i < noisy.points.size(); ++i) {
            noisy.points[i].oxygen_mg_l += i % 2 == 0 ? 0.23 : -0.23;
        }
        CHECK(refused(noisy) == DropRefusal::scatter);
        for (std::size_t i = 0; i < noisy.points.size(); ++i) {
            noisy.points[i].oxygen_mg_l += i % 2 == 0 ? -0.06 : 0.06;
        }
        CHECK(refused(noisy) == DropRefusal::none);

        DropTest warming = good;
        for (DropPoint& point : warming.points) point.temperature_c = 12 + 2.3 * point.hours;
        CHECK(refused(warming) == DropRefusal::none);
        check_close(assess_drop(warming).temperature_c, 12 + 2.3 * 12.5 / 60, 1e-9);
        for (DropPoint& point : warming.points) point.temperature_c = 12 + 2.5 * point.hours;
        CHECK(refused(warming) == DropRefusal::temperature);

        DropTest low = good;
        for (DropPoint& point : low.points) point.oxygen_mg_l -= 1.9;
        CHECK(refused(low) == DropRefusal::none);
        CHECK(assess_drop(low).verdict == Status::warn);
        low.points.back().oxygen_mg_l = 4.99;
        CHECK(refused(low) == DropRefusal::low_oxygen);
        CHECK(assess_drop(low).verdict == Status::fail);
        check_close(static_cast<double>(assess_drop(low).lowest), 25, 0);

        DropTest back = good;
        std::swap(back.points[10], back.points[11]);
        CHECK(refused(back) == DropRefusal::times_run_back);
        check_close(assess_drop(back).main().refused_by, 11, 0);
        back.points[11].oxygen_mg_l = 4;  // danger is told all the same
        CHECK(assess_drop(back).verdict == Status::fail);

        DropTest never = good;
        never.off_h = 1;
        CHECK(refused(never) == DropRefusal::few_points);
        never.off_h = 0;
        never.on_h = 0;
        CHECK(refused(never) == DropRefusal::few_points);
    }

    TEST_CASE("a rise that does not bend tells no rate, and the fall stands") {
        Simulated simulated{std::mt19937_64(3), 0.05};
        DropTest test = simulated.draw(true);
        test.points.resize(25 + 10);
        test.tank.fish[0].respiration_factor = 10;
        const DropResult result = assess_drop(test);
        CHECK(result.respiration_mg_kg_h);
        REQUIRE(result.on);
        CHECK(result.on->refused != DropRefusal::none);
        CHECK(!result.kla_per_h);
        CHECK(!result.sotr_g_h);
        CHECK(result.verdict == Status::unchecked);
    }

    TEST_CASE("fish that surely breathe more, or stones that bring less, than described warn") {
        Simulated simulated{std::mt19937_64(3), 0.02};
        DropTest test = simulated.draw(true);
        for (FishGroup& group : test.tank.fish) group.respiration_factor = 10;
        test.tank.aeration = {{"rated", 1.0, {}, RatedAerator{62}}};
        CHECK(assess_drop(test).verdict == Status::pass);
        test.tank.aeration = {{"rated", 1.0, {}, RatedAerator{90}}};
        CHECK(assess_drop(test).verdict == Status::warn);
        test.tank.aeration.clear();
        test.tank.fish[0].respiration_factor = 1;
        CHECK(assess_drop(test).verdict == Status::warn);
    }

    TEST_CASE("only a tank that bears it is tested") {
        const auto safety = [](const System& system) {
            return assess_drop_safety(std::vector{system}, {}).at(0);
        };
        const System good = stocked(9.5, 60);
        const DropSafety ok = safety(good);
        CHECK(ok.verdict == Status::pass);
        // By hand: V' (9.5 - 7) and V' (9.5 - 6) over the demand of fed fish at their peak.
        const TankOutage out = assess_outage(std::vector{good}, {}, 0).at(0);
        const double water_m3 = (2000 - 60 * 0.18) / 1000;
        check_close(*ok.minutes_to_on, 60 * water_m3 * 2.5 / out.demand_g_h, 1e-9);
        check_close(*ok.minutes_to_stop, 60 * water_m3 * 3.5 / out.demand_g_h, 1e-9);

        System other = good;
        other.tanks[0].readings.oxygen_mg_l = 7.99;
        CHECK(safety(other).starts_low);
        CHECK(safety(other).verdict == Status::fail);
        other = good;
        other.tanks[0].readings.oxygen_age_h = 1.5;
        CHECK(safety(other).unread);
        CHECK(safety(other).verdict == Status::unchecked);
        other.tanks[0].readings = {};
        CHECK(safety(other).verdict == Status::unchecked);
        other = good;
        other.tanks[0].backup.clear();
        CHECK(safety(other).verdict == Status::warn);
        other = stocked(9.5, 300);
        CHECK(safety(other).too_fast);
        CHECK(safety(other).verdict == Status::fail);
        other = good;
        other.tanks[0].readings.tan_mg_l = 40;
        CHECK(!safety(other).failing.empty());
        CHECK(safety(other).verdict == Status::fail);

        System loop = backyard();
        loop.tanks[0].readings.oxygen_mg_l = 9.5;
        loop.tanks[0].readings.oxygen_age_h = 0.1;
        loop.tanks[0].fish = {fish("rainbow trout", 10, 150)};
        CHECK(safety(loop).on_loop);
        CHECK(safety(loop).verdict == Status::fail);
    }

    TEST_CASE("every condition by itself") {
        const auto safety = [](const System& system) {
            return assess_drop_safety(std::vector{system}, {}).at(0);
        };
        // A backup that runs for hours and brings nothing, and one that runs for minutes.
        System other = stocked(9.5, 60);
        other.tanks[0].backup[0].unit = diffuser(0.5, 0.2);
        CHECK(safety(other).without_backup);
        other = stocked(9.5, 60);
        other.tanks[0].backup[0].hours = 0.9;
        CHECK(safety(other).without_backup);
        other.tanks[0].backup[0].hours = 1;
        CHECK_FALSE(safety(other).without_backup);
        // A prediction below an old reading is no reading; what nobody read may be full.
        other = stocked(9.5, 60);
        other.tanks[0].readings.oxygen_age_h = 3;
        CHECK(safety(other).unread);
        CHECK(safety(other).starts_from == StartsFrom::saturation);
        // What climbs by the description is not counted on.
        other = stocked(8.4, 30);
        other.tanks[0].readings.oxygen_age_h = 0.9;
        check_close(safety(other).oxygen_now_mg_l, 8.4, 1e-12);
        other.tanks[0].readings.oxygen_age_h = 0;
        other.tanks[0].readings.oxygen_mg_l = 8;
        CHECK(!safety(other).starts_low);
        // Several tanks keep their order, and those without fish are not there.
        Tank empty = readme_tank();
        empty.name = "empty";
        empty.fish.clear();
        const auto all = assess_drop_safety(
            std::vector{alone(empty, kSeaLevelKpa), stocked(9.5, 60), stocked(7, 60)}, {});
        REQUIRE(all.size() == 2);
        CHECK(all[0].verdict == Status::pass);
        CHECK(all[1].starts_low);
    }

    TEST_CASE("the model is the budget's for those fish and their ration") {
        // They breathe 1.4 times what the budget counts for them, just fed.
        Tank tank = tested_tank();
        tank.feed.ration_g_day = 60;
        const TankBudget budget = assessed(tank);
        const double counted = budget.groups[0].respiration_mg_kg_h;
        CHECK(counted < 0.9 * budget.groups[0].fed_mg_kg_h);
        const auto breathing = [&](double mg_kg_h) {
            std::vector<DropPoint> points;
            for (int i = 0; i <= 30; ++i) {
                points.push_back({i / 60.0, 9.4 - mg_kg_h * 20 / 1000 / 1.98 * i / 60});
            }
            return points;
        };
        check_close(assess_drop(with(tank, breathing(1.4 * counted), 0)).respiration_factor->value,
                    1.4, 1e-9);
        // Fasted for two days nothing is left of the feed.
        check_close(*assess_drop(with(tank, breathing(counted), 48)).model_mg_kg_h,
                    0.55 * budget.groups[0].fed_mg_kg_h, 1e-9);
        check_close(*assess_drop(with(tank, breathing(counted), 24)).model_mg_kg_h,
                    (counted + 0.55 * budget.groups[0].fed_mg_kg_h) / 2, 1e-9);
    }

    TEST_CASE("what is not known is no pass") {
        DropTest test = with(tested_tank(), falling(), 0);
        for (FishGroup& group : test.tank.fish) group.respiration_factor = 10;
        REQUIRE(assess_drop(test).verdict == Status::pass);
        DropTest other = test;
        other.pressure_kpa = 0;
        other.surface_m3_h = 0.1;
        CHECK(assess_drop(other).verdict != Status::pass);
        other = test;
        other.fasted_h = -1;
        CHECK(assess_drop(other).verdict == Status::unchecked);
        other = test;
        other.tank.fish = {fish("rainbow trout", 25000, 0.8)};
        CHECK(assess_drop(other).verdict != Status::pass);
        CHECK(assess_drop(other).respiration_mg_kg_h);
        CHECK(!assess_drop(other).respiration_factor);
        // Below the limit at which a test ends, the tank's own too.
        other = test;
        for (DropPoint& point : other.points) point.oxygen_mg_l -= 1.1;
        CHECK(assess_drop(other).verdict == Status::warn);
        other = test;
        other.tank.limits.oxygen_warn_mg_l = 7.1;
        CHECK(assess_drop(other).verdict == Status::warn);
        other.tank.limits.oxygen_fail_mg_l = 7.05;
        CHECK(assess_drop(other).verdict == Status::fail);
        CHECK(assess_drop(other).main().refused == DropRefusal::low_oxygen);
        // A hundred times what they should breathe is a number that is wrong.
        other = test;
        other.tank.fish = {fish("rainbow trout", 2, 250)};
        CHECK(assess_drop(other).doubtful);
        CHECK(assess_drop(other).verdict == Status::warn);
    }

    TEST_CASE("the band of a coarse meter, and of points that lean on each other") {
        DropTest coarse = with(tested_tank(), {}, 0);
        for (int i = 0; i < 8; ++i) coarse.points.push_back({i / 20.0, 9.0 - 0.1 * i});
        coarse.meter_step_mg_l = 0.1;
        const DropResult result = assess_drop(coarse);
        REQUIRE(result.respiration_mg_kg_h);
        // By hand: 0.1 / root 12 over the root of the spread of x, 1.98 m3, 20 kg.
        double spread = 0;
        for (int i = 0; i < 8; ++i) spread += std::pow((i - 3.5) / 20, 2);
        check_close(result.respiration_mg_kg_h->standard_error,
                    1.98 / 20 * 1000 * 0.1 / std::sqrt(12) / std::sqrt(spread), 1e-9);
        check_close(result.residual_sd_mg_l, 0.1 / std::sqrt(12), 1e-12);

        std::mt19937_64 engine(8);
        std::normal_distribution<double> noise(0, 1);
        int within_band = 0;
        for (int draw = 0; draw < 300; ++draw) {
            DropTest test = with(tested_tank(), {}, 0);
            test.off_h = 0;
            double off = noise(engine);
            for (int i = 0; i < 80; ++i) {
                test.points.push_back({i / 120.0, 9.6 - 3.0 * i / 120 + 0.03 * off});
                off = 0.8 * off + 0.6 * noise(engine);
            }
            within_band += within(assess_drop(test).respiration_mg_kg_h, 3.0 * 1.98 / 20 * 1000);
        }
        CHECK(within_band >= 0.87 * 300);  // a third of them without it
    }

    TEST_CASE("the rise: its own rules, its beta, and what it says of the fish") {
        Simulated simulated{std::mt19937_64(5), 0.02};
        const DropTest test = simulated.draw(true);
        REQUIRE(assess_drop(test).kla_per_h);
        // Where water holds less of the air's oxygen, the same rise says that they breathe less.
        DropTest salty = test;
        salty.tank.aeration = {{"rated", 1.0, 0.9, RatedAerator{1}}};
        CHECK(assess_drop(salty).breathed_on_mg_kg_h->value <
              assess_drop(test).breathed_on_mg_kg_h->value - 100);
        // It warms by over a degree.
        DropTest warm = test;
        for (std::size_t i = 0; i < warm.points.size(); ++i) {
            warm.points[i].temperature_c = i < 50 ? 12 : 13.1;
        }
        CHECK(assess_drop(warm).on->refused == DropRefusal::temperature);
        CHECK(!assess_drop(warm).kla_per_h);
        // Each part by its own mean.
        DropTest two = test;
        for (std::size_t i = 0; i < two.points.size(); ++i) {
            two.points[i].temperature_c = i < 25 ? 12 : 12.8;
        }
        check_close(assess_drop(two).sotr_g_h->value / assess_drop(test).sotr_g_h->value,
                    std::pow(1.024, -0.8), 1e-6);
        // A little more by the rise is chance, much more is a test that went wrong.
        CHECK(!assess_drop(test).disagree);
        DropTest calm = test;
        calm.on_h = 24.5 / 60;
        for (std::size_t i = 0; i < 25; ++i) {
            calm.points[i].oxygen_mg_l = 9 - 0.4 * (9 - calm.points[i].oxygen_mg_l);
        }
        CHECK(assess_drop(calm).disagree);
        CHECK(assess_drop(calm).verdict == Status::warn);
        // Too small a rise.
        DropTest flat = test;
        for (std::size_t i = 25; i < flat.points.size(); ++i) {
            flat.points[i].oxygen_mg_l = 7 + 0.2 * (flat.points[i].oxygen_mg_l - 7);
        }
        CHECK(assess_drop(flat).on->refused != DropRefusal::none);
    }

    TEST_CASE("an empty tank that stays before its air comes on") {
        std::vector<DropPoint> points;
        for (int i = 0; i < 15; ++i) points.push_back({i / 60.0, 3.0 + 0.01 * (i % 2)});
        rise(points, 0.25, 3, 10, 3, 60, 1);
        DropTest test = with(tested_tank(0), points);
        const DropResult found = assess_drop(test);
        REQUIRE(found.kla_per_h);
        CHECK(found.on->first >= 14);
        CHECK(found.on->first <= 16);
        check_close(found.kla_per_h->value, 3, 0.01);
        test.on_h = 0.25;
        check_close(assess_drop(test).kla_per_h->value, 3, 1e-8);
        test.on_h = 0;  // as was told, which no curve fits
        CHECK(assess_drop(test).main().refused != DropRefusal::none);
    }

    TEST_CASE("a described factor or air within the band is not told of") {
        Simulated simulated{std::mt19937_64(3), 0.05};
        DropTest test = simulated.draw(true);
        const DropResult result = assess_drop(test);
        test.tank.fish[0].respiration_factor =
            (result.respiration_factor->low + result.respiration_factor->value) / 2;
        test.tank.aeration = {
            {"rated", 1.0, {}, RatedAerator{(result.sotr_g_h->high + result.sotr_g_h->value) / 2}}};
        CHECK(assess_drop(test).verdict == Status::pass);
        DropTest more = test;
        more.tank.fish[0].respiration_factor = 0.99 * result.respiration_factor->low;
        CHECK(assess_drop(more).breathe_more);
        CHECK(assess_drop(more).verdict == Status::warn);
        DropTest less = test;
        less.tank.aeration = {{"rated", 1.0, {}, RatedAerator{1.01 * result.sotr_g_h->high}}};
        CHECK(assess_drop(less).brings_less);
        CHECK(assess_drop(less).verdict == Status::warn);
    }

    TEST_CASE("a fall that bends is refused; what a surface bends is not") {
        const auto bent = [](double rate_per_h) {
            std::vector<DropPoint> points;
            for (int i = 0; i <= 40; ++i) {
                const double hours = i / 60.0;
                points.push_back({hours, 9.4 - 2 * -std::expm1(-rate_per_h * hours) / rate_per_h});
            }
            DropTest test = with(tested_tank(), points, 0);
            test.off_h = 0;
            return assess_drop(test).main().refused;
        };
        CHECK(bent(0.2) == DropRefusal::none);
        CHECK(bent(1.0) == DropRefusal::bent);
    }

    TEST_CASE(
        "how far a fall bends: by the parabola of least squares, whatever its points' spacing") {
        std::vector<DropPoint> points;
        for (int i = 0; i <= 40; ++i) {
            const double hours = 0.7 * std::pow(i / 40.0, 2.5);
            points.push_back({hours, 9.4 - 2 * -std::expm1(-hours)});
        }
        DropTest test = with(tested_tank(), points, 0);
        test.off_h = 0;
        const DropPhase phase = assess_drop(test).main();
        REQUIRE(phase.refused == DropRefusal::bent);
        points.resize(phase.last + 1);
        CHECK(points.size() > 20);
        // y = a + b x + c x^2: c by what is left of x^2 and of y beside their lines on x.
        const auto left_of = [&](auto of) {
            double n = 0, x = 0, y = 0, xx = 0, xy = 0;
            for (const DropPoint& point : points) {
                n += 1;
                x += point.hours;
                y += of(point);
                xx += point.hours * point.hours;
                xy += point.hours * of(point);
            }
            const double slope = (n * xy - x * y) / (n * xx - x * x);
            std::vector<double> left;
            for (const DropPoint& point : points) {
                left.push_back(of(point) - (y - slope * x) / n - slope * point.hours);
            }
            return left;
        };
        const auto square = left_of([](const DropPoint& p) { return p.hours * p.hours; });
        const auto oxygen = left_of([](const DropPoint& p) { return p.oxygen_mg_l; });
        double products = 0, squares = 0, most = 0;
        for (std::size_t i = 0; i < points.size(); ++i) {
            products += square[i] * oxygen[i];
            squares += square[i] * square[i];
            most = std::max(most, std::abs(square[i]));
        }
        check_close(phase.refused_by, products / squares * most, 1e-9);
    }

    TEST_CASE("air that weakens while oxygen rises bends the rise") {
        const auto rise_of = [](double later_share) {
            std::vector<DropPoint> points;
            double mg_l = 3;
            for (int i = 0; i <= 60; ++i) {
                points.push_back({i / 60.0, mg_l});
                mg_l += (i < 20 ? 1 : later_share) * 2 * (9.6 - mg_l) / 60;
            }
            Tank empty = tested_tank(0);
            DropTest test = with(empty, points, 0);
            test.on_h = 0;
            return assess_drop(test).main();
        };
        CHECK(rise_of(1).refused == DropRefusal::none);
        CHECK(rise_of(0.97).refused == DropRefusal::none);
        const DropPhase weakened = rise_of(0.5);
        CHECK(weakened.refused == DropRefusal::bent);
        CHECK(weakened.refused_by > 0.1);
        CHECK(weakened.refused_by < 1);
    }

    TEST_CASE("a rise whose points lean on each other is known less well than one that scatters") {
        // The same sixty errors: in their order a slow wave, shuffled a scatter.
        std::vector<double> errors;
        for (int i = 0; i < 60; ++i) errors.push_back(0.02 * std::sin(i / 2.0));
        const auto half_band = [&] {
            std::vector<DropPoint> points;
            for (std::size_t i = 0; i < errors.size(); ++i) {
                const double hours = static_cast<double>(i) / 60;
                points.push_back({hours, 9.6 - 3.1 * std::exp(-1.8 * hours) + errors[i]});
            }
            Tank empty = tested_tank();
            empty.fish.clear();
            DropTest test = with(empty, points, 0);
            test.on_h = 0;
            const DropResult result = assess_drop(test);
            REQUIRE(result.kla_per_h);
            return result.kla_per_h->high - result.kla_per_h->value;
        };
        const double waves = half_band();
        std::mt19937_64 engine(5);
        for (std::size_t i = errors.size() - 1; i > 0; --i) {
            std::swap(errors[i], errors[engine() % (i + 1)]);
        }
        CHECK(waves > 1.5 * half_band());
    }

    TEST_CASE("more fish, a lower start, warmer water never make a test safe") {
        std::mt19937_64 engine(11);
        const auto between = [&](double low, double high) {
            return std::uniform_real_distribution<double>(low, high)(engine);
        };
        int safe = 0;
        for (int i = 0; i < 300; ++i) {
            const System as_is = stocked(between(7.8, 9.8), std::floor(between(20, 120)));
            const auto verdict = [&](auto change) {
                System other = as_is;
                change(other.tanks[0]);
                return assess_drop_safety(std::vector{other}, {}).at(0).verdict;
            };
            const Status before = verdict([](Tank&) {});
            safe += before == Status::pass;
            CHECK(verdict([&](Tank& tank) { tank.fish[0].count *= 1.2; }) >= before);
            CHECK(verdict([&](Tank& tank) { *tank.readings.oxygen_mg_l -= 0.3; }) >= before);
            CHECK(verdict([&](Tank& tank) { *tank.water.peak_temperature_c += 1.5; }) >= before);
            CHECK(verdict([&](Tank& tank) { tank.volume_l *= 0.9; }) >= before);
            CHECK(verdict([&](Tank& tank) { tank.readings.oxygen_age_h = 2; }) >=
                  Status::unchecked);
        }
        CHECK(safe > 60);
        CHECK(safe < 280);
    }
}
