#include "coldtank/course.hpp"

#include <cmath>
#include <random>
#include <vector>

#include "check.hpp"

using namespace coldtank;
using namespace coldtank::test;

namespace {

// The same equation in small steps (fourth order), for as long as it stays above 0.
double stepped(const Course& course, double mg_l, double hours) {
    const int steps = std::max(1, static_cast<int>(std::ceil(hours * 3600)));
    const double h = hours / steps;
    const auto slope = [&](double c) {
        return (course.gain_g_h - course.rate_m3_h * c) / course.water_m3;
    };
    for (int i = 0; i < steps; ++i) {
        const double a = slope(mg_l);
        const double b = slope(mg_l + h / 2 * a);
        const double c = slope(mg_l + h / 2 * b);
        const double d = slope(mg_l + h * c);
        mg_l = std::max(0.0, mg_l + h / 6 * (a + 2 * b + 2 * c + d));
    }
    return mg_l;
}

struct Draws {
    std::mt19937_64 engine;
    double operator()(double low, double high) {
        return low + (high - low) * std::uniform_real_distribution<double>(0, 1)(engine);
    }
    Course course() {
        Course drawn{(*this)(0.01, 5), (*this)(-60, 60), 0};
        if ((*this)(0, 1) < 0.8) drawn.rate_m3_h = (*this)(0.01, 20);
        return drawn;
    }
};

}  // namespace

TEST_SUITE("course") {
    TEST_CASE("the closed form is what small steps of one second come to") {
        Draws draw{std::mt19937_64(1)};
        for (int i = 0; i < 300; ++i) {
            const Course course = draw.course();
            const double start = draw(0, 14);
            const double hours = draw(0, 3);
            check_close(course.at(start, hours), stepped(course, start, hours), 1e-6);
        }
    }

    TEST_CASE("it goes to its steady state and no further") {
        Draws draw{std::mt19937_64(2)};
        for (int i = 0; i < 300; ++i) {
            const Course course = draw.course();
            const double start = draw(0, 14);
            const auto steady = course.steady_mg_l();
            if (!steady) {
                CHECK(course.rate_m3_h == 0);
                continue;
            }
            check_close(course.at(start, 1e6), std::max(0.0, *steady), 1e-9);
            // Never beyond it on the way.
            const double on_the_way = course.at(start, draw(0, 2));
            CHECK(on_the_way >= std::min(start, std::max(0.0, *steady)) - 1e-12);
            CHECK(on_the_way <= std::max(start, *steady) + 1e-12);
        }
    }

    TEST_CASE("minutes to a level: the course is there then, and not before") {
        Draws draw{std::mt19937_64(3)};
        int met = 0;
        for (int i = 0; i < 1000; ++i) {
            const Course course = draw.course();
            const double start = draw(0, 14);
            const double level = draw(0.1, 14);
            const auto down = course.minutes_down_to(start, level);
            const auto up = course.minutes_up_to(start, level);
            if (start <= level) CHECK(down.value() == 0);
            if (start >= level) CHECK(up.value() == 0);
            const auto minutes = start > level ? down : up;
            if (!minutes) {  // never
                const double late = course.at(start, 1e7);
                CHECK((start > level ? late >= level - 1e-9 : late <= level + 1e-9));
                continue;
            }
            ++met;
            check_close(course.at(start, *minutes / 60), level, 1e-9 * (1 + level));
            if (*minutes > 1e-6) {
                const double before = course.at(start, *minutes / 61);
                CHECK((start > level ? before > level : before < level));
            }
        }
        CHECK(met > 200);
    }

    TEST_CASE("by hand: nothing exchanges, and a flow alone") {
        // 1.98 m3 of water, 10.454 g/h: from 9.2 to 7.0 mg/L in 25 min (1.98 x 2.2 x 60 / 25).
        const Course stopped{1.98, -1.98 * 2.2 * 60 / 25, 0};
        check_close(-stopped.gain_g_h, 10.4544, 1e-9);
        check_close(stopped.minutes_down_to(9.2, 7.0).value(), 25, 1e-9);
        check_close(stopped.at(9.2, 25.0 / 60), 7.0, 1e-12);
        CHECK(stopped.at(9.2, 10) == 0);
        CHECK_FALSE(Course{1, 0, 0}.minutes_down_to(9, 5).has_value());
        CHECK_FALSE(Course{1, 3, 0}.minutes_down_to(9, 5).has_value());
        // Where it goes to it never is.
        CHECK_FALSE(Course{1, 8, 1}.minutes_down_to(9, 8).has_value());
        CHECK_FALSE(Course{1, 8, 1}.minutes_up_to(5, 8).has_value());
        CHECK(Course{1, 8, 1}.minutes_down_to(8, 8).value() == 0);
        CHECK(Course{1, 8, 1}.minutes_up_to(9, 9).value() == 0);
        CHECK(Course{1, -1, 0}.minutes_up_to(9, 9).value() == 0);
        // kLa 1.8 an hour towards 9.6 from 6.5: 7.3035, 7.8987, 8.6663 at 10, 20, 40 min.
        const Course aerated{1, 1.8 * 9.6, 1.8};
        check_close(aerated.at(6.5, 10.0 / 60), 7.3035, 5e-5);
        check_close(aerated.at(6.5, 20.0 / 60), 7.8987, 5e-5);
        check_close(aerated.at(6.5, 40.0 / 60), 8.6663, 5e-5);
    }

    TEST_CASE("what is lost or changed at the end of a piece; what is reached on the way") {
        const Course falls{2, -4, 0};  // 2 mg/L an hour
        const Course rises{2, 4, 0};
        const std::vector<Piece> over{{rises, 3, 10}, {falls, HUGE_VAL}};
        check_close(reach_of(over, 9, 3).last_mg_l, 15, 1e-12);  // not lost yet
        check_close(reach_of(over, 9, 4).last_mg_l, 8, 1e-12);
        check_close(reach_of(over, 9, 4).most_mg_l, 15, 1e-12);
        check_close(minutes_down_to(over, 9, 4).value(), 180 + 180, 1e-9);
        const std::vector<Piece> changed{{falls, 2, HUGE_VAL, 0.5, 10}, {falls, HUGE_VAL}};
        check_close(reach_of(changed, 9, 2).last_mg_l, 5, 1e-12);
        check_close(reach_of(changed, 9, 3).last_mg_l, 5.5, 1e-12);  // 5, half of it 10, an hour
        check_close(reach_of(changed, 9, 3).lowest_mg_l, 5, 1e-12);
        check_close(reach_of(changed, 9, 3).most_mg_l, 9, 1e-12);
        check_close(minutes_down_to(changed, 9, 4).value(), 120 + 105, 1e-9);
        const std::vector<Piece> thinned{{rises, 2, HUGE_VAL, 0.5, 0}, {rises, HUGE_VAL}};
        check_close(minutes_up_to(thinned, 1, 6).value(), 120 + 105, 1e-9);
        // 4, 8, nine tenths of it nothing: 0.8, which is the lowest, and 2.8 after an hour.
        const std::vector<Piece> fresh{{rises, 2, HUGE_VAL, 0.9, 0}, {rises, HUGE_VAL}};
        check_close(reach_of(fresh, 4, 3).lowest_mg_l, 0.8, 1e-12);
        check_close(reach_of(fresh, 4, 3).last_mg_l, 2.8, 1e-12);
        check_close(reach_of(fresh, 4, 2).lowest_mg_l, 4, 1e-12);
    }

    TEST_CASE("pieces join without a step, and a piece cut in two is the same") {
        Draws draw{std::mt19937_64(4)};
        for (int i = 0; i < 300; ++i) {
            const Course first = draw.course();
            const Course then = draw.course();
            const double start = draw(0, 14);
            const double hours = draw(0.1, 2);
            const double level = draw(0.1, 14);
            const std::vector<Piece> two{{first, hours}, {then, HUGE_VAL}};
            const std::vector<Piece> cut{
                {first, hours / 3}, {first, 2 * hours / 3}, {then, HUGE_VAL}};
            check_close(reach_of(two, start, hours).last_mg_l, first.at(start, hours), 1e-12);
            check_close(reach_of(two, start, hours * (1 + 1e-9)).last_mg_l, first.at(start, hours),
                        1e-5);
            check_close(reach_of(two, start, hours + 0.5).last_mg_l,
                        then.at(first.at(start, hours), 0.5), 1e-12);
            check_close(reach_of(cut, start, hours + 0.5).last_mg_l,
                        reach_of(two, start, hours + 0.5).last_mg_l, 1e-9);
            for (const bool down : {true, false}) {
                const auto of = [&](const std::vector<Piece>& pieces) {
                    return down ? minutes_down_to(pieces, start, level)
                                : minutes_up_to(pieces, start, level);
                };
                const auto one = of(two);
                REQUIRE(one.has_value() == of(cut).has_value());
                if (!one) continue;
                check_close(*of(cut), *one, 1e-7 * (1 + *one));
                if (*one > 0) {
                    check_close(reach_of(two, start, *one / 60).last_mg_l, level,
                                1e-8 * (1 + level));
                }
            }
        }
    }
}
