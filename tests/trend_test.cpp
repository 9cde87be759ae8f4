#include "coldtank/trend.hpp"

#include "check.hpp"

using namespace coldtank;
using namespace coldtank::test;

TEST_SUITE("trend") {
    TEST_CASE("NIST Statistical Reference Datasets: Norris") {
        std::vector<TrendPoint> points;
        for (const auto& row : reference_rows("linear_norris_nist.csv")) {
            points.push_back({number(row, "x"), number(row, "y")});
        }
        REQUIRE(points.size() == 36);
        const auto line = fit_line(points);
        REQUIRE(line.has_value());
        check_close(line->slope, 1.00211681802045, 1e-12);
        check_close(line->at(0), -0.262323073774029, 1e-11);
        check_close(line->residual_sd, 0.884796396144373, 1e-12);
        check_close(line->slope_error, 0.000429796848199937, 1e-15);
        // The certified error of the intercept, through the band at 0.
        check_close(line->band_at(0) / student_t_95(34), 0.232818234301152, 1e-11);
    }

    TEST_CASE("Student's t: NIST/SEMATECH e-Handbook, table 1.3.6.7.2, column 0.975") {
        check_close(student_t_95(1), 12.706, 0.0005);
        check_close(student_t_95(10), 2.228, 0.0005);
        check_close(student_t_95(30), 2.042, 0.0005);
        CHECK(student_t_95(1000) >= 1.962);
        check_close(student_t_95(60), 2.000, 0.0005);
        check_close(student_t_95(75), 1.994, 0.0005);  // as of 70
        CHECK(student_t_95(1000) <= 1.984);
        CHECK(std::isinf(student_t_95(0)));
    }

    TEST_CASE("days to a limit, by hand") {
        // Down by 0.1 a day from 8, without scatter: 6 is 10 days after the tenth.
        std::vector<TrendPoint> points;
        for (int day = 0; day <= 10; ++day) points.push_back({double(day), 8 - 0.1 * day});
        const auto line = fit_line(points);
        REQUIRE(line.has_value());
        const DaysTo days = days_to(*line, 6, Side::below, line->last_x);
        check_close(days.likely.value(), 10, 1e-6);
        check_close(days.soonest.value(), 10, 1e-6);
        check_close(days.latest.value(), 10, 1e-6);
        CHECK(!days_to(*line, 9, Side::above, line->last_x).likely.has_value());
        CHECK(days_to(*line, 7.5, Side::below, line->last_x).likely.value() == 0);
        CHECK(days_to(*line, 6.5, Side::above, line->last_x).likely.value() == 0);
    }

    TEST_CASE("the spread holds the line, and grows with the scatter") {
        RandomTanks random(7);
        int open = 0;
        for (int i = 0; i < 500; ++i) {
            std::vector<TrendPoint> points;
            const double slope = random.between(-0.2, 0.2);
            const double scatter = random.between(0, 0.5);
            const int count = static_cast<int>(random.between(3, 40));
            for (int day = 0; day < count; ++day) {
                points.push_back(
                    {double(day), 8 + slope * day + random.between(-scatter, scatter)});
            }
            const auto line = fit_line(points);
            REQUIRE(line.has_value());
            for (const Side side : {Side::below, Side::above}) {
                const DaysTo days =
                    days_to(*line, side == Side::below ? 5 : 11, side, line->last_x);
                if (!days.latest) ++open;
                if (days.likely) {
                    REQUIRE(days.soonest.has_value());
                    CHECK(*days.soonest <= *days.likely);
                    if (days.latest) CHECK(*days.latest >= *days.likely);
                    if (*days.likely > 0) {
                        check_close(line->at(line->last_x + *days.likely),
                                    side == Side::below ? 5 : 11, 1e-9);
                    }
                } else {
                    CHECK(!days.latest.has_value());
                }
            }
        }
        CHECK(open > 50);
    }

    TEST_CASE("too little to draw a line through") {
        CHECK(!fit_line({}).has_value());
        const TrendPoint one[] = {{3, 7}};
        CHECK(!fit_line(one).has_value());
        const TrendPoint same[] = {{3, 7}, {3, 8}};
        CHECK(!fit_line(same).has_value());
        // Two points make a line, and nothing is known of its error.
        const TrendPoint two[] = {{0, 7}, {7, 6}};
        const auto line = fit_line(two);
        REQUIRE(line.has_value());
        check_close(7 * line->slope, -1, 1e-12);
        const DaysTo days = days_to(*line, 5, Side::below, line->last_x);
        check_close(days.likely.value(), 7, 1e-6);
        CHECK(days.soonest.value() == 0);
        CHECK(!days.latest.has_value());
    }
}
