#include "coldtank/filter_start.hpp"

#include "check.hpp"
#include "report/filter_log.hpp"

using namespace coldtank;
using namespace coldtank::test;

namespace {

FilterStart start_of(const std::vector<std::array<double, 3>>& tests) {
    std::vector<FilterTest> all;
    for (const auto& [day, tan, nitrite] : tests) all.push_back({day, tan, nitrite});
    return assess_filter_start(all);
}

}  // namespace

TEST_SUITE("filter_start") {
    // Day, TAN, nitrite: a start as textbooks draw it (common practice, no source): ammonia rises
    // and falls, nitrite after it, then both stay low.
    const std::vector<std::array<double, 3>> kStart = {
        {0, 0.2, 0},     {2, 0.9, 0.01},  {4, 2.0, 0.05},   {6, 3.0, 0.2},  {8, 2.4, 0.5},
        {10, 1.5, 0.9},  {12, 0.7, 1.2},  {14, 0.4, 1.1},   {16, 0.3, 0.6}, {18, 0.3, 0.2},
        {20, 0.2, 0.05}, {22, 0.2, 0.03}, {24, 0.25, 0.02}, {27, 0.2, 0.04}};

    TEST_CASE("what tests have shown, each with its day") {
        const FilterStart start = start_of(kStart);
        CHECK(start.tests == 14);
        REQUIRE(start.ammonia_fell.has_value());
        CHECK(start.ammonia_fell->from_day == 6);
        CHECK(start.ammonia_fell->from_mg_l == 3.0);
        CHECK(start.ammonia_fell->day == 10);  // 1.5, half of it
        CHECK(start.nitrite_rose->day == 6);
        REQUIRE(start.nitrite_fell.has_value());
        CHECK(start.nitrite_fell->from_day == 12);
        CHECK(start.nitrite_fell->day == 16);
        CHECK(start.under_since_day == 20.0);
        CHECK(start.under_days == 7);
        CHECK(start.started);
        CHECK(start.next_test_days == 7);
    }

    TEST_CASE("nothing is seen before it is there, whatever the day") {
        for (std::size_t count = 0; count < kStart.size(); ++count) {
            const FilterStart start =
                start_of({kStart.begin(), kStart.begin() + static_cast<std::ptrdiff_t>(count)});
            CHECK(start.ammonia_fell.has_value() == (count > 5));
            CHECK(start.nitrite_rose.has_value() == (count > 3));
            CHECK(start.nitrite_fell.has_value() == (count > 8));
            CHECK(start.under_since_day.has_value() == (count > 10 || count == 1));
            CHECK_FALSE(start.started);
            CHECK(start.next_test_days == (count > 10 ? 2 : 1));
        }
    }

    TEST_CASE("a new rise takes back what was seen, and a night that says nothing new counts not") {
        auto again = kStart;
        again.push_back({30, 3.5, 0.04});
        const FilterStart risen = start_of(again);
        CHECK_FALSE(risen.ammonia_fell.has_value());
        CHECK_FALSE(risen.under_since_day.has_value());
        CHECK_FALSE(risen.started);
        CHECK(risen.next_test_days == 1);
        // One test, written down every night for three weeks: it is as old as it is.
        std::vector<std::array<double, 3>> stale = {kStart.begin(), kStart.begin() + 11};
        for (double day = 21; day < 42; ++day) stale.push_back({day, 0.2, 0.05});
        const FilterStart old = start_of(stale);
        CHECK(old.tests == 11);
        CHECK(old.under_days == 0);
        CHECK_FALSE(old.started);
    }

    TEST_CASE("each substance is as old as its own last test") {
        // Nitrite tested once on day 20, TAN every day after: eight days of one are none of both.
        std::vector<std::array<double, 3>> tests = {kStart.begin(), kStart.begin() + 11};
        for (double day = 21; day < 29; ++day) tests.push_back({day, 0.2 + day / 1000, 0.05});
        const FilterStart stale = start_of(tests);
        CHECK(stale.under_since_day == 20.0);
        CHECK(stale.under_days == 0);
        CHECK_FALSE(stale.started);
        // Two tests a few minutes apart are one evening's.
        std::vector<FilterTest> apart;
        for (const auto& [day, tan, nitrite] : kStart) {
            apart.push_back({day, tan, {}});
            apart.push_back({day + 0.003, {}, nitrite});
        }
        check_close(assess_filter_start(apart).under_days, 6.997, 1e-9);
    }

    TEST_CASE("low from the first day is no filter that has started") {
        const FilterStart start = start_of({{0, 0.1, 0}, {5, 0.2, 0.01}, {12, 0.1, 0.02}});
        CHECK_FALSE(start.ammonia_fell.has_value());
        CHECK_FALSE(start.nitrite_rose.has_value());
        CHECK(start.under_days == 12);
        CHECK_FALSE(start.started);
        // One of the two alone is not both.
        CHECK_FALSE(
            assess_filter_start(std::vector<FilterTest>{{3, 0.1, {}}}).under_since_day.has_value());
        CHECK(assess_filter_start({}).tests == 0);
    }

    TEST_CASE("a logbook's tests by loop: the worst of its tanks, in order of time") {
        io::Logbook book;
        const auto add = [&](std::int64_t seconds, const char* tank, const char* loop,
                             const char* tan, const char* nitrite) {
            book.records.push_back({{seconds, 3600},
                                    {{"site", "s"},
                                     {"tank", tank},
                                     {"loop", loop},
                                     {"input_tan_mg_l", tan},
                                     {"input_nitrite_mg_l", nitrite}}});
        };
        add(2 * 86400, "a", "round", "0.5", "");
        add(86400, "a", "round", "2", "0.1");
        add(86400, "b", "round", "3", "");
        add(86400, "c", "", "9", "9");
        add(86400, "d", "other", "nonsense", "0.2");
        const io::FilterLog log = io::filter_log_of(book);
        REQUIRE(log.size() == 2);
        const auto& tests = log.at({"s", "round"});
        REQUIRE(tests.size() == 2);
        CHECK(tests[0].day == 1);
        CHECK(tests[0].tan_mg_l == 3.0);
        CHECK(tests[0].nitrite_mg_l == 0.1);
        CHECK_FALSE(tests[1].nitrite_mg_l.has_value());
        CHECK_FALSE(log.at({"s", "other"})[0].tan_mg_l.has_value());
        CHECK(io::instant_of(1, {0, 3600}).seconds == 86400);
    }
}
