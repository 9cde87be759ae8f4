#include "text/svg.hpp"

#include <cmath>
#include <limits>
#include <regex>

#include "check.hpp"
#include "report/season.hpp"
#include "text/clock.hpp"

using namespace coldtank;
using namespace coldtank::io;
using namespace coldtank::test;

namespace {

constexpr double kStart = 20544;  // 2026-04-01

PictureStrip rising(double from, double to, double days) {
    PictureStrip out{.heading = "figure, mg/L"};
    PictureLine line{.name = "level", .dots = Dots::full};
    for (int i = 0; i <= 10; ++i) {
        line.points.push_back({kStart + days * i / 10, from + (to - from) * i / 10});
    }
    out.lines.push_back(line);
    return out;
}

std::string drawn(const PictureStrip& strip, std::string title = "tank") {
    const Picture picture{.title = title, .strips = {strip}};
    return svg_of(title, "what it shows", {&picture, 1});
}

struct Text {
    double x;
    double y;
    std::string words;
};
std::vector<Text> texts(const std::string& svg, const std::string& kind) {
    static const std::regex pattern(
        R"re(<text x="([-0-9.]+)" y="([-0-9.]+)" class="([a-z ]+)"[^>]*>([^<]*)</text>)re");
    std::vector<Text> out;
    for (std::sregex_iterator each(svg.begin(), svg.end(), pattern), end; each != end; ++each) {
        if ((*each)[3] == kind) {
            out.push_back({std::stod((*each)[1]), std::stod((*each)[2]), (*each)[4]});
        }
    }
    return out;
}

std::size_t count(const std::string& svg, const std::string& part) {
    std::size_t out = 0;
    for (auto at = svg.find(part); at != std::string::npos; at = svg.find(part, at + 1)) ++out;
    return out;
}

bool has(const std::string& svg, const std::string& part) {
    return svg.find(part) != std::string::npos;
}

}  // namespace

TEST_SUITE("svg") {
    TEST_CASE("the ticks of values are round, few, and around what is shown") {
        for (const double low : {-3.7, 0.0, 1e-7, 0.0125, 4.99, 990.0}) {
            for (const double size : {1e-9, 3e-6, 0.0037, 0.1, 0.7, 2.0, 9.9, 77.0, 123456.0}) {
                const ValueTicks ticks = value_ticks(low, low + size, 5);
                CAPTURE(low);
                CAPTURE(size);
                REQUIRE(ticks.at.size() >= 2);
                CHECK(ticks.at.size() <= 5);
                CHECK(ticks.at.front() <= low + 1e-6 * size);
                CHECK(ticks.at.back() >= low + size - 1e-6 * size);
                double digits = ticks.step;
                while (digits < 0.999) digits *= 10;
                while (digits > 9.99) digits /= 10;
                const bool round = std::abs(digits - 1) < 1e-6 || std::abs(digits - 2) < 1e-6 ||
                                   std::abs(digits - 2.5) < 1e-6 || std::abs(digits - 5) < 1e-6;
                CHECK(round);
            }
        }
        CHECK(value_ticks(0, 1, 5).at == std::vector<double>{0, 0.25, 0.5, 0.75, 1});
        CHECK(value_ticks(5, 5, 5).at.size() >= 2);
        const double infinite = std::numeric_limits<double>::infinity();
        CHECK(value_ticks(0, infinite, 5).at.empty());
        CHECK(value_ticks(std::nan(""), 1, 5).at.empty());
        CHECK(value_ticks(-1.7e308, 1.7e308, 5).at.empty());
        CHECK(value_ticks(2, 1, 5).at.empty());
    }

    TEST_CASE("points stand where the axis says") {
        const std::string svg = drawn(rising(3.1, 8.9, 60));
        const std::vector<Text> values = texts(svg, "value");
        REQUIRE(values.size() >= 3);
        const double first = std::stod(values.front().words);
        const double step =
            (std::stod(values.back().words) - first) / (values.back().y - values.front().y);
        const std::regex circle(R"re(<circle cx="([0-9.]+)" cy="([0-9.]+)")re");
        int found = 0;
        for (std::sregex_iterator each(svg.begin(), svg.end(), circle), end; each != end; ++each) {
            const double value = first + (std::stod((*each)[2]) + 7 - values.front().y) * step;
            check_close(value, 3.1 + 5.8 * found / 10, 0.1 * std::abs(step) + 1e-9);
            ++found;
        }
        CHECK(found == 11);
    }

    TEST_CASE("five dates or more, each at its day, none over another") {
        for (const double days :
             {0.0,  0.3,   1.0,   3.0,   4.0,   7.5,   10.0,  24.0,  60.0,   61.0,
              90.0, 120.0, 200.0, 280.0, 300.0, 365.0, 500.0, 700.0, 1500.0, 4000.0}) {
            CAPTURE(days);
            const std::vector<Text> dates = texts(drawn(rising(1, 2, days)), "date");
            CHECK(dates.size() >= 5);
            for (std::size_t i = 1; i < dates.size(); ++i) {
                const double room = 9.5 * static_cast<double>(std::max(dates[i].words.size(),
                                                                       dates[i - 1].words.size()));
                CHECK(dates[i].x - dates[i - 1].x >= room);
            }
        }
        const std::string svg = drawn(rising(1, 2, 60));
        const std::vector<Text> dates = texts(svg, "date");
        CHECK(dates[0].words == "1 Apr");
        CHECK(dates[1].words == "11 Apr");
        CHECK(texts(svg, "soft").back().words == "2026");
        CHECK(short_date(kStart + 0.9) == "1 Apr");
    }

    TEST_CASE("a limit is in the frame, or named at its edge with how far it is") {
        PictureStrip strip = rising(0.0005, 0.001, 20);
        strip.from_zero = true;
        strip.limits = {{"warn", 0.0125, Stroke::dashed}, {"fail", 0.025, Stroke::dotted}};
        std::string svg = drawn(strip);
        REQUIRE(texts(svg, "side called").size() == 1);
        CHECK(texts(svg, "side called")[0].words == "warn 0.0125");
        REQUIRE(texts(svg, "called").size() == 1);
        CHECK(texts(svg, "called")[0].words == "fail 0.025 is above: now 4 % of it");
        CHECK(count(svg, "class=\"arrow\"") == 1);
        strip.limits = {{"warn", 0.5, Stroke::dashed}};
        svg = drawn(strip);
        CHECK(texts(svg, "side called").empty());
        REQUIRE(texts(svg, "called").size() == 1);
        CHECK(texts(svg, "called")[0].words == "warn 0.5 is above: now 0 % of it");
        strip = rising(9.0, 9.2, 20);
        strip.limits = {{"warn", 5, Stroke::dashed}};
        svg = drawn(strip);
        REQUIRE(texts(svg, "called").size() == 1);
        CHECK(texts(svg, "called")[0].words == "warn 5 is below");
        // One way or the other, wherever it is.
        for (double limit = -50; limit < 50; limit += 0.7) {
            strip.limits = {{"warn", limit, Stroke::dashed}};
            svg = drawn(strip);
            CHECK(texts(svg, "called").size() + texts(svg, "side called").size() == 1);
        }
    }

    TEST_CASE("names beside lines and labels of marks keep apart") {
        PictureStrip strip = rising(5, 5.01, 20);
        for (const char* name : {"one", "two", "three", "four", "five"}) {
            strip.limits.push_back({name, 5.005, Stroke::dashed});
        }
        for (const double day : {1.0, 1.2, 3.0, 19.0, 19.5, 20.0}) {
            strip.marks.push_back({kStart + day, "first warn 2 Apr", {5}});
        }
        const std::string svg = drawn(strip);
        std::vector<Text> side = texts(svg, "side called");
        for (const Text& each : texts(svg, "side")) side.push_back(each);
        CHECK(side.size() == 6);
        for (std::size_t i = 0; i < side.size(); ++i) {
            for (std::size_t k = 0; k < i; ++k) CHECK(std::abs(side[i].y - side[k].y) > 22);
        }
        CHECK(texts(svg, "marked").size() == 6);
        CHECK(count(svg, "class=\"rhomb\"") == 6);
        CHECK(count(svg, "class=\"mark\"") == 6);
    }

    TEST_CASE("a name is text, whatever stands in it") {
        const std::string svg = drawn(rising(1, 2, 9), "a<b&\"c\x01");
        CHECK(has(svg, "<title id=\"coldtank-title\">a&lt;b&amp;&quot;c\\u0001</title>"));
        CHECK_FALSE(has(svg, "a<b"));
        CHECK(has(drawn(rising(1, 2, 9), "\xEF\xBF\xBF"), "\xEF\xBF\xBD"));
    }

    TEST_CASE("who does not see it, who reads in the dark, and who draws over it") {
        const std::string svg = drawn(rising(1, 2, 9));
        CHECK(is_picture(svg));
        CHECK(svg.starts_with(kPictureStart));
        CHECK(has(svg, "role=\"img\" aria-labelledby=\"coldtank-title coldtank-description\""));
        CHECK(has(svg, "<desc id=\"coldtank-description\">what it shows</desc>"));
        CHECK(has(svg, "@media (prefers-color-scheme:dark)"));
        CHECK(count(svg, "http") == 1);  // the name space
        CHECK(svg == drawn(rising(1, 2, 9)));
        CHECK(is_picture("<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"940\" height=\"60\">"));
        CHECK_FALSE(is_picture("<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"10\">"));
        CHECK_FALSE(is_picture(""));
    }

    TEST_CASE("what is not finite is left out") {
        const double nan = std::nan("");
        const double infinite = std::numeric_limits<double>::infinity();
        PictureStrip strip = rising(1, 2, 9);
        strip.lines[0].points.push_back({kStart + 10, nan});
        strip.lines[0].points.push_back({nan, 1});
        strip.lines[0].points.push_back({infinite, -infinite});
        strip.lines.push_back({.name = "none", .points = {{nan, nan}}});
        strip.lines.push_back({.name = "wide",
                               .points = {{kStart, 1}, {kStart + 1, 1}},
                               .low = {{kStart, -infinite}, {kStart + 1, -infinite}},
                               .high = {{kStart, infinite}, {kStart + 1, infinite}}});
        strip.limits = {{"warn", nan, Stroke::dashed}, {"fail", infinite, Stroke::dotted}};
        strip.zones = {{-infinite, 1.2, false}, {1.8, infinite, true}, {nan, nan, true}};
        strip.marks = {{nan, "never", {nan}}, {kStart + 2, "once", {nan, infinite}}};
        const std::string svg = drawn(strip);
        CHECK_FALSE(has(svg, "nan"));
        CHECK_FALSE(has(svg, "inf"));
        CHECK(count(svg, "<circle") == 11);
        CHECK(texts(svg, "marked").size() == 1);
        CHECK(has(drawn({.heading = "empty"}), "nothing to show"));
        for (const double huge : {1e300, 1.7e308, -1e308}) {
            CHECK_FALSE(has(drawn(rising(-huge, huge, 3)), "nan"));
            CHECK_FALSE(has(drawn(rising(0, huge, 3)), "inf"));
        }
        CHECK_FALSE(has(drawn(rising(1, 2, 1e300)), "nan"));
        CHECK(is_picture(svg_of("none", "", {})));
    }

    TEST_CASE("a season: four strips a tank, its dates, its limits, its days") {
        SeasonReport report;
        report.site = Site{.name = "Larch & Hollow"};
        report.input.target_weight_g = 350;
        SeasonAnswer tank{};
        tank.tank = "north";
        for (int i = 0; i < 200; ++i) {
            SeasonDay day{};
            day.day = static_cast<Day>(kStart) + i;
            day.temperature_c = 10;
            day.peak_temperature_c = 12;
            day.mean_weight_g = 100 + i;
            day.mean_weight_low_g = 90 + i;
            day.mean_weight_high_g = 120 + i;
            day.biomass_kg = 30;
            day.biomass_high_kg = 40;
            day.verdict = i < 150 ? Status::pass : Status::fail;
            tank.days.push_back(day);
        }
        for (const auto& [check, most] :
             {std::pair{CheckId::density, 30.0}, std::pair{CheckId::oxygen, 398.0},
              std::pair{CheckId::ammonia, 20.0}, std::pair{CheckId::exchange, 12.5},
              std::pair{CheckId::ration, 11.0}, std::pair{CheckId::current, 12.0}}) {
            TankSeason::Used used{check, {}};
            for (int i = 0; i < 200; ++i) {
                used.share.push_back(i < 190 ? most * i / 199 : -1);
            }
            tank.used.push_back(used);
        }
        tank.warns = {
            SeasonTrouble{static_cast<Day>(kStart) + 50, CheckId::oxygen, 12, 150, false}};
        tank.harvest.fast = static_cast<Day>(kStart) + 199;
        tank.limits.temperature_warn_c = 19;
        tank.limits.temperature_fail_c = 22;
        report.tanks = {tank, tank};
        const std::string svg = season_svg({&report, 1});
        CHECK(is_picture(svg));
        CHECK(texts(svg, "heading").size() == 8);
        CHECK(texts(svg, "title").size() == 2);
        CHECK(texts(svg, "title")[0].words == "Larch &amp; Hollow, north");
        REQUIRE(texts(svg, "marked").size() == 4);
        std::vector<std::string> words;
        for (const char* kind : {"marked", "side", "side called", "called", "soft"}) {
            for (const Text& each : texts(svg, kind)) words.push_back(each.words);
        }
        for (const char* each :
             {"warns: oxygen 21 May", "never over 12 %: current, ration", "ready, fast 17 Oct",
              "expected", "judged", "mean", "target 350", "oxygen", "density", "limit 100",
              "warns: oxygen 2026-05-21", "what is over 200 stands at it"}) {
            CAPTURE(each);
            CHECK(std::count(words.begin(), words.end(), each) >= 2);
        }
        CHECK(count(svg, "class=\"mark\"") == 16);
        CHECK(count(svg, "class=\"band\"") == 2);
        CHECK_FALSE(has(svg, "nan"));
        CHECK_FALSE(has(svg, "inf"));
        CHECK(is_picture(season_svg({})));
    }
}
