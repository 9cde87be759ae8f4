#include "coldtank/spread.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "../src/model/sample.hpp"
#include "../src/model/worlds.hpp"
#include "check.hpp"

using namespace coldtank;
using namespace coldtank::test;

namespace {

// First-order indices of a function of so many uniform numbers of 0..1.
template <class Function>
std::vector<FirstOrder> indices_of(std::size_t inputs, std::size_t rows, Function function) {
    FirstOrderSums sums(inputs, 1);
    std::vector<double> a(inputs), b(inputs);
    for (std::size_t row = 0; row < rows; ++row) {
        for (std::size_t i = 0; i < inputs; ++i) {
            a[i] = uniform_draw(11, 0, row, i, 0);
            b[i] = uniform_draw(11, 1, row, i, 0);
        }
        const double at_a[] = {function(a)};
        const double at_b[] = {function(b)};
        sums.add_row(at_a, at_b);
        for (std::size_t i = 0; i < inputs; ++i) {
            std::vector<double> ab = a;
            ab[i] = b[i];
            const double at_ab[] = {function(ab)};
            sums.add_mixed(i, at_a, at_b, at_ab);
        }
    }
    std::vector<FirstOrder> out;
    for (std::size_t i = 0; i < inputs; ++i) out.push_back(sums.of(i, 0).value());
    return out;
}

constexpr std::size_t kRows = 65'536;

System small_system() {
    Tank tank = readme_tank();
    return alone(tank, kSeaLevelKpa);
}

}  // namespace

TEST_SUITE("spread") {
    TEST_CASE("the normal deviate of a share: AS 241 against the error function") {
        // Wichura 1988 prints -0.6744897501960817 of 0.25, -3.090232306167814 of 0.001 and
        // -9.262340089798408 of 1e-20 (published).
        check_close(normal_quantile(0.25), -0.6744897501960817, 1e-15);
        check_close(normal_quantile(0.001), -3.090232306167814, 1e-14);
        check_close(normal_quantile(1e-20), -9.262340089798408, 1e-14);
        for (double share = 0.0005; share < 1; share += 0.0005) {
            const double back = std::erfc(-normal_quantile(share) / std::numbers::sqrt2) / 2;
            check_close(back, share, 1e-15 + 4e-15 * share);
        }
        CHECK(std::isnan(normal_quantile(0)));
        CHECK(std::isnan(normal_quantile(1)));
        CHECK(std::isnan(normal_quantile(std::nan(""))));
    }

    TEST_CASE("draws: even, of no order, other seeds other numbers") {
        double sum = 0;
        double squares = 0;
        constexpr int kDraws = 100'000;
        for (int row = 0; row < kDraws; ++row) {
            const double u = uniform_draw(1, 0, static_cast<std::uint64_t>(row), 3, 0);
            REQUIRE((u > 0 && u < 1));
            sum += u;
            squares += u * u;
        }
        check_close(sum / kDraws, 0.5, 4 * 0.2887 / std::sqrt(kDraws));
        check_close(squares / kDraws, 1.0 / 3, 4 * 0.298 / std::sqrt(kDraws));
        CHECK(uniform_draw(1, 0, 5, 3, 0) != uniform_draw(2, 0, 5, 3, 0));
        CHECK(uniform_draw(1, 0, 5, 3, 0) != uniform_draw(1, 1, 5, 3, 0));
        CHECK(uniform_draw(1, 0, 5, 3, 0) != uniform_draw(1, 0, 3, 5, 0));
    }

    TEST_CASE("Ishigami and Homma 1990, a 7, b 0.1: 0.3139, 0.4424, 0") {
        const auto f = indices_of(3, kRows, [](const std::vector<double>& u) {
            const auto x = [&](std::size_t i) { return std::numbers::pi * (2 * u[i] - 1); };
            return std::sin(x(0)) + 7 * std::pow(std::sin(x(1)), 2) +
                   0.1 * std::pow(x(2), 4) * std::sin(x(0));
        });
        check_close(f[0].index, 0.3139, 0.01);
        check_close(f[1].index, 0.4424, 0.01);
        check_close(f[2].index, 0, 0.01);
        for (const FirstOrder& each : f) {
            CHECK(each.standard_error > 0.001);
            CHECK(each.standard_error < 0.01);
        }
    }

    TEST_CASE("the g-function of Sobol' 1993, by its closed form") {
        const double a[] = {0, 1, 4.5, 9, 99, 99, 99, 99};
        double variance = 1;
        for (const double each : a) variance *= 1 + 1 / (3 * (1 + each) * (1 + each));
        variance -= 1;
        const auto f = indices_of(8, kRows, [&](const std::vector<double>& u) {
            double product = 1;
            for (std::size_t i = 0; i < 8; ++i) {
                product *= (std::abs(4 * u[i] - 2) + a[i]) / (1 + a[i]);
            }
            return product;
        });
        for (std::size_t i = 0; i < 8; ++i) {
            check_close(f[i].index, 1 / (3 * (1 + a[i]) * (1 + a[i])) / variance, 0.01);
        }
    }

    TEST_CASE("a sum of known variances: their shares; half the error, a quarter of the variance") {
        const double sd[] = {3, 2, 1, 0};
        const auto shares = [&](double of_first) {
            return indices_of(4, kRows, [&](const std::vector<double>& u) {
                double sum = 100;
                for (std::size_t i = 0; i < 4; ++i) {
                    sum += (i == 0 ? of_first : sd[i]) * normal_quantile(u[i]);
                }
                return sum;
            });
        };
        const auto whole = shares(3);
        for (std::size_t i = 0; i < 4; ++i) check_close(whole[i].index, sd[i] * sd[i] / 14, 0.01);
        const auto half = shares(1.5);
        check_close(half[0].index, 2.25 / 7.25, 0.01);
    }

    TEST_CASE("no index without variance, or where a tenth of the worlds has no value") {
        FirstOrderSums sums(1, 2);
        for (int row = 0; row < 100; ++row) {
            const double missing = row % 5 == 0 ? std::nan("") : row;
            const double at_a[] = {7, missing};
            const double at_b[] = {7, double(row)};
            sums.add_row(at_a, at_b);
            sums.add_mixed(0, at_a, at_b, at_b);
        }
        CHECK_FALSE(sums.of(0, 0).has_value());
        CHECK_FALSE(sums.of(0, 1).has_value());
    }

    TEST_CASE(
        "JCGM 101:2008, 9.2: the sum of four, normal, rectangular, and one ten times as wide") {
        // Standard uncertainty and the 95 % interval as printed, tolerance 0.05 and 0.5
        // (published).
        constexpr std::size_t kTrials = 100'000;
        const auto interval = [&](auto deviate) {
            std::vector<double> sums(kTrials);
            for (std::size_t row = 0; row < kTrials; ++row) {
                for (std::size_t i = 0; i < 4; ++i) {
                    sums[row] += deviate(i, uniform_draw(5, 0, row, i, 0));
                }
            }
            double squares = 0;
            for (const double each : sums) squares += each * each;
            std::sort(sums.begin(), sums.end());
            return std::array{std::sqrt(squares / kTrials), quantile_of(sums, 0.025),
                              quantile_of(sums, 0.975)};
        };
        const auto rectangular = [](double u) { return std::sqrt(3.0) * (2 * u - 1); };
        const auto normal = interval([](std::size_t, double u) { return normal_quantile(u); });
        check_close(normal[0], 2.0, 0.05);
        check_close(normal[1], -3.92, 0.05);
        check_close(normal[2], 3.92, 0.05);
        const auto even = interval([&](std::size_t, double u) { return rectangular(u); });
        check_close(even[0], 2.0, 0.05);
        check_close(even[1], -3.88, 0.05);
        check_close(even[2], 3.88, 0.05);
        const auto wide =
            interval([&](std::size_t i, double u) { return (i == 3 ? 10 : 1) * rectangular(u); });
        check_close(wide[0], 10.1, 0.5);
        check_close(wide[1], -17.0, 0.5);
        check_close(wide[2], 17.0, 0.5);
    }

    TEST_CASE("quantiles of a log-normal") {
        std::vector<double> values;
        for (std::uint64_t row = 0; row < 200'000; ++row) {
            values.push_back(std::exp(1 + 0.5 * normal_quantile(uniform_draw(3, 0, row, 0, 0))));
        }
        std::sort(values.begin(), values.end());
        for (const double share : {0.05, 0.25, 0.5, 0.75, 0.95}) {
            const double want = std::exp(1 + 0.5 * normal_quantile(share));
            check_close(quantile_of(values, share), want, 0.01 * want);
        }
        const double few[] = {1, 2, 4};
        CHECK(quantile_of(few, 0.5) == 2);
        CHECK(quantile_of(few, 0.75) == 3);
        CHECK(quantile_of(few, 1) == 4);
    }

    TEST_CASE("without any range the spread is the budget, to the last digit") {
        RandomTanks random(190);
        std::vector<System> systems{small_system(), backyard()};
        for (int i = 0; i < 60; ++i) systems.push_back(alone(random.next(), random.pressure_kpa()));
        for (const System& system : systems) {
            const SystemBudget budget = assess_system(system);
            const SystemSpread spread = spread_of(system, {.draws = 8, .base = 4, .width = 0});
            for (std::size_t i = 0; i < system.tanks.size(); ++i) {
                for (const CheckSpread& each : spread.tanks[i].checks) {
                    const Check* check = find_check(budget.tanks[i], each.check);
                    REQUIRE(check != nullptr);
                    CHECK(each.status == check->status);
                    if (!check->value && check->id != CheckId::oxygen_reserve) {
                        CHECK((!each.low && !each.high));
                    }
                    if (check->value && !std::isnan(*check->value)) {
                        CHECK(each.low == check->value);
                        CHECK(each.median == check->value);
                        CHECK(each.high == check->value);
                    }
                    CHECK(each.certain);
                    const double of_status = check->status == Status::pass   ? each.pass_percent
                                             : check->status == Status::warn ? each.warn_percent
                                             : check->status == Status::fail
                                                 ? each.fail_percent
                                                 : each.unchecked_percent;
                    CHECK(of_status == 100);
                }
                CHECK(spread.tanks[i].verdict == budget.tanks[i].verdict);
            }
            REQUIRE(spread.loop.has_value() == budget.loop.has_value());
            if (!budget.loop) continue;
            for (const CheckSpread& each : spread.loop->checks) {
                const Check& check = *find_check(*budget.loop, each.check);
                CHECK(each.status == check.status);
                if (check.value) CHECK(each.median == check.value);
            }
        }
    }

    TEST_CASE("worlds in which a figure rises without end are in its range") {
        System loop = backyard();
        loop.loop->exchange_l_day = 0;
        loop.loop->biofilter = Biofilter{.media_area_m2 = {}, .removal_g_day = 1.6};
        const SystemSpread spread = spread_of(loop, {.draws = 1000, .base = 0});
        const auto filter =
            std::find_if(spread.loop->checks.begin(), spread.loop->checks.end(),
                         [](const CheckSpread& each) { return each.check == CheckId::biofilter; });
        REQUIRE(filter != spread.loop->checks.end());
        CHECK(filter->fail_percent > 5);
        CHECK_FALSE(filter->high.has_value());
    }

    TEST_CASE("each input stays where a description may be, and its ends hold 90 of 100") {
        System system = backyard();
        Worlds worlds(system, {});
        CHECK(worlds.inputs() > 30);
        constexpr std::size_t kWorlds = 20'000;
        std::vector<double> alpha, volume_l, temperature_c, stones, rate, lost;
        for (std::uint64_t row = 0; row < kWorlds; ++row) {
            const System& world = worlds.at(0, row);
            const Coefficients& k = world.tanks[0].coefficients;
            CHECK(k.alpha == world.loop->coefficients.alpha);
            CHECK(k.alpha == world.tanks.back().coefficients.alpha);
            alpha.push_back(k.alpha);
            volume_l.push_back(world.tanks[0].volume_l);
            temperature_c.push_back(world.tanks[0].water.temperature_c);
            stones.push_back(k.transfer_medium_percent_per_m);
            rate.push_back(k.nitrification_g_m2_day_degree);
            lost.push_back(k.nitrification_lost_g_m2_day);
            check_close(rate.back() / lost.back(), 0.05368 / 0.0859, 1e-12);
        }
        const auto ends = [&](std::vector<double> values, double low, double high) {
            std::sort(values.begin(), values.end());
            const double width = high - low;
            check_close(quantile_of(values, 0.05), low, 0.03 * width);
            check_close(quantile_of(values, 0.95), high, 0.03 * width);
        };
        const Tank& tank = system.tanks[0];
        ends(alpha, 0.7, 1);
        ends(volume_l, tank.volume_l / 1.05, tank.volume_l * 1.05);
        ends(temperature_c, tank.water.temperature_c - 0.2, tank.water.temperature_c + 0.2);
        ends(rate, 0.02684, 0.08052);
    }

    TEST_CASE("a draw that leaves its range is drawn again, not put at its end") {
        Tank tank = readme_tank();
        tank.water.temperature_c = 0.05;
        tank.water.peak_temperature_c = 0.05;
        const System system = alone(tank, kSeaLevelKpa);
        Worlds worlds(system, {});
        int at_end = 0;
        double least = 1;
        for (std::uint64_t row = 0; row < 5000; ++row) {
            const double t = worlds.at(0, row).tanks[0].water.temperature_c;
            CHECK(t >= 0);
            least = std::min(least, t);
            at_end += t == 0 ? 1 : 0;
        }
        CHECK(at_end == 0);
        CHECK(least < 0.001);
    }

    TEST_CASE("own errors: none, and half, take their part of the spread") {
        const System system = small_system();
        constexpr std::size_t kBase = random_cases(4096);
        const auto share_of = [&](std::span<const OwnAccuracy> own, std::string_view input) {
            const SystemSpread spread =
                spread_of(system, {.draws = 512, .base = kBase, .own = own});
            for (const CheckSpread& each : spread.tanks[0].checks) {
                if (each.check != CheckId::oxygen) continue;
                REQUIRE_FALSE(each.first_order.empty());
                for (const InputShare& share : each.first_order) {
                    if (share.input == input) return share.index;
                }
            }
            return 0.0;
        };
        const double usual = share_of({}, "air_flow_l_min");
        const OwnAccuracy none[] = {{Quantity::air_flow, 0, true}};
        const OwnAccuracy twice[] = {{Quantity::air_flow, 44, true}};  // ln 1.44 = 2 ln 1.2
        CHECK(usual > 0.005);
        CHECK(share_of(none, "air_flow_l_min") == 0);
        CHECK(share_of(twice, "air_flow_l_min") > 2.2 * usual);
    }

    TEST_CASE("the same seed the same worlds, another others; the mean of many is that of more") {
        const System system = small_system();
        const auto oxygen = [&](std::uint64_t seed, std::size_t draws) {
            return spread_of(system, {.seed = seed, .draws = draws, .base = 0}).tanks[0].checks[0];
        };
        CHECK(oxygen(1, 512).median == oxygen(1, 512).median);
        CHECK(oxygen(1, 512).median != oxygen(2, 512).median);
        check_close(oxygen(1, 4096).pass_percent, oxygen(2, 4096).pass_percent, 4);
        check_close(*oxygen(1, 4096).median, *oxygen(2, 4096).median, 0.1);
    }

    TEST_CASE("how a loop is built and run is not exact: each of its numbers is drawn") {
        System by_area = backyard();
        by_area.loop->biofilter->maturity_percent = 80;
        by_area.loop->degasser_percent = 30;
        System by_removal = by_area;
        by_removal.loop->biofilter = Biofilter{.removal_g_day = 20, .maturity_percent = 80};
        const auto lows = [](const System& system, double error, Quantity quantity) {
            const OwnAccuracy own[] = {{quantity, error, true}};
            const auto spread = spread_of(system, {.draws = 64, .base = 0, .own = own});
            std::vector<double> out;
            for (const CheckSpread& each : spread.loop->checks) {
                if (each.low) out.push_back(*each.low);
            }
            for (const CheckSpread& each : spread.tanks[0].checks) {
                if (each.low) out.push_back(*each.low);
            }
            return out;
        };
        for (const auto& [quantity, system] :
             {std::pair{Quantity::exchange, by_area}, std::pair{Quantity::media_area, by_area},
              std::pair{Quantity::removal, by_removal}, std::pair{Quantity::maturity, by_area},
              std::pair{Quantity::condition, by_area}, std::pair{Quantity::bed_area, by_area},
              std::pair{Quantity::degasser, by_area}}) {
            CHECK(lows(system, 0, quantity) != lows(system, 40, quantity));
        }
    }

    TEST_CASE("of a hundred worlds each passes, warns, fails or is not checked") {
        RandomTanks random(191);
        for (int i = 0; i < random_cases(300); ++i) {
            const System system = alone(random.next(), random.pressure_kpa());
            const SystemSpread spread = spread_of(system, {.draws = 64, .base = 0});
            for (const CheckSpread& each : spread.tanks[0].checks) {
                check_close(each.pass_percent + each.warn_percent + each.fail_percent +
                                each.unchecked_percent,
                            100, 1e-9);
            }
        }
    }

    TEST_CASE("in the same worlds more fish or less air never pass more often") {
        const System system = small_system();
        const auto passes = [](const System& of) {
            const auto spread = spread_of(of, {.draws = 1000, .base = 0});
            const auto& checks = spread.tanks[0].checks;
            return std::find_if(
                       checks.begin(), checks.end(),
                       [](const CheckSpread& each) { return each.check == CheckId::oxygen; })
                ->pass_percent;
        };
        const double described = passes(system);
        System fuller = system;
        fuller.tanks[0].fish[0].count += 1;
        CHECK(passes(fuller) <= described);
        System still = system;
        still.tanks[0].aeration.clear();  // and with it inputs of its own
        CHECK(passes(still) < described);
        // A check that air does not touch comes to the same in every world.
        const auto density = [](const System& of) {
            const auto spread = spread_of(of, {.draws = 200, .base = 0});
            for (const CheckSpread& each : spread.tanks[0].checks) {
                if (each.check == CheckId::density) return each.median;
            }
            return std::optional<double>();
        };
        CHECK(density(still) == density(system));
    }

    TEST_CASE("a capacity that is sure: never more than as described, and it holds so often") {
        System system = small_system();
        system.tanks[0].fish[0].mean_weight_g = 20;  // so many that no two worlds carry as many
        const double plain = capacity_of(system, 0, Level::warn, Detail::total).stock->count;
        double before = plain;
        for (const double percent : {50.0, 80.0, 95.0, 99.0}) {
            const SpreadQuestion question{.draws = 500};
            const double sure = sure_capacity(system, 0, Level::warn, percent, question).value();
            CHECK(sure <= before);
            before = sure;
            // That stock, in the same worlds.
            Worlds worlds(system, question);
            int holds = 0;
            int more = 0;
            for (std::uint64_t row = 0; row < question.draws; ++row) {
                const TankCapacity one =
                    capacity_of(worlds.at(0, row), 0, Level::warn, Detail::total);
                holds += one.stock->count >= sure ? 1 : 0;
                more += one.stock->count > sure ? 1 : 0;
            }
            CHECK(holds >= percent / 100 * 500);
            if (sure < plain) CHECK(more < percent / 100 * 500);
        }
        CHECK(before < plain);
    }

    TEST_CASE("a reading that is lower than most worlds predict is told") {
        Tank tank = readme_tank();
        tank.readings.oxygen_mg_l = 5.0;
        const PartSpread low =
            spread_of(alone(tank, kSeaLevelKpa), {.draws = 1000, .base = 0}).tanks[0];
        tank.readings.oxygen_mg_l = 9.0;
        const PartSpread high =
            spread_of(alone(tank, kSeaLevelKpa), {.draws = 1000, .base = 0}).tanks[0];
        REQUIRE(low.at_or_below_reading_percent.has_value());
        CHECK(*low.at_or_below_reading_percent < *high.at_or_below_reading_percent);
        CHECK(*low.at_or_below_reading_percent < 30);
        const PartSpread none = spread_of(small_system(), {.draws = 10, .base = 0}).tanks[0];
        CHECK_FALSE(none.at_or_below_reading_percent.has_value());
    }

    TEST_CASE("every coefficient has a range that holds its value's neighbours, or says why not") {
        for (const CoefficientInfo& info : kCoefficients) {
            CAPTURE(info.key);
            CHECK_FALSE(info.likely.why.empty());
            if (info.likely.ends) {
                const Range& ends = *info.likely.ends;
                CHECK(ends.low < ends.high);
                CHECK(ends.holds(*info.constant.value));
                CHECK(info.range().holds(ends.low));
                CHECK(info.range().holds(ends.high));
            }
            if (info.likely.with.empty()) continue;
            CHECK(std::any_of(kCoefficients.begin(), kCoefficients.end(),
                              [&](const CoefficientInfo& other) {
                                  return other.key == info.likely.with && other.likely.ends;
                              }));
        }
        for (const Accuracy& accuracy : kAccuracies) {
            CAPTURE(accuracy.key);
            CHECK(&accuracy == &accuracy_of(accuracy.quantity));
        }
    }
}
