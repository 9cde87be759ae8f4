#include "coldtank/fish.hpp"

#include <limits>

#include "check.hpp"

using namespace coldtank;
using namespace coldtank::test;

namespace {

constexpr double kNan = std::numeric_limits<double>::quiet_NaN();

// Mueller-Feuga 1978 (from memory), 12-22 degC.
double mueller_feuga_mg_kg_h(double temperature_c, double weight_g) {
    return 249 * std::pow(weight_g, -0.142) * std::pow(10, 0.024 * temperature_c);
}

double celsius(double fahrenheit) { return (fahrenheit - 32) / 1.8; }

}  // namespace

TEST_SUITE("fish") {
    TEST_CASE("respiration agrees with Mueller-Feuga 1978 (from memory) within 3 percent") {
        for (double temperature_c = 12.5; temperature_c <= 20; temperature_c += 0.5) {
            for (const double weight_g : {5.0, 20.0, 100.0, 400.0, 1000.0}) {
                const double other = mueller_feuga_mg_kg_h(temperature_c, weight_g);
                check_close(respiration_mg_kg_h(temperature_c, weight_g), other, 0.03 * other);
            }
        }
    }

    TEST_CASE("respiration is Liao 1971 in its own units (from memory)") {
        // 45 degF, 1 lb: 1.90e-6 x 45^3.130 lb of oxygen per 100 lb a day, on the colder branch.
        check_close(respiration_mg_kg_h(celsius(45), 453.59237),
                    1.90e-6 * std::pow(45, 3.130) * 1e4 / 24, 1e-9);
        // 60 degF, on the warmer one.
        check_close(respiration_mg_kg_h(celsius(60), 453.59237),
                    3.05e-4 * std::pow(60, 1.855) * 1e4 / 24, 1e-9);
    }

    TEST_CASE("respiration rises with temperature without a step and falls with weight") {
        for (double temperature_c = 0; temperature_c < 39.9; temperature_c += 0.05) {
            const double here = respiration_mg_kg_h(temperature_c, 100);
            const double next = respiration_mg_kg_h(temperature_c + 0.05, 100);
            CHECK(next > here);
            CHECK(next < 1.01 * here);
            CHECK(respiration_mg_kg_h(temperature_c, 200) < here);
        }
    }

    TEST_CASE("the trial with 40 g trout at 1.3 percent a day is not above the model's demand") {
        // Prog. Fish-Cult., cutthroat trial (authors from memory Kindschi & Koby 1994): 149
        // mg/kg/h, 274 g oxygen per kg of feed. 149 mg/kg/h x 24 h / 13 g/kg = 275 g/kg: one trial.
        check_close(149 * 24 / 13.0, 274, 2);
        CHECK(274 > 220);  // inside the feed rule's published spread
        CHECK(274 < 500);
        const double by_feed_mg_kg_h = 1000 * oxygen_by_feed_g_h(13, kOxygenPerFeed);
        CHECK(by_feed_mg_kg_h >= 149);
    }

    TEST_CASE("a fasted fish takes 0.55 of a fed one (from memory 0.5-0.6)") {
        check_close(respiration_share(0, 1.5), 0.55, 1e-15);
        check_close(respiration_share(1.5, 1.5), 1, 1e-15);
        check_close(respiration_share(3, 1.5), 1, 1e-15);
        check_close(respiration_share(0.75, 1.5), 0.775, 1e-15);
        check_close(respiration_share(0, 0), 0.55, 1e-15);
        check_close(respiration_share(0.1, 0), 1, 1e-15);
        CHECK(std::isnan(respiration_share(-1, 1)));
        CHECK(std::isnan(respiration_share(kNan, 1)));
    }

    TEST_CASE("the ration table is Leitritz & Lewis 1980, cell by cell") {
        for (const auto& row : reference_rows("ration_leitritz_lewis_1980.csv")) {
            const double length_in = number(row, "length_from_in");
            const double here_in = length_in < 10 ? length_in + 0.5 : 10.0;
            check_close(
                table_ration_percent_day(celsius(number(row, "temperature_f")), 2.54 * here_in),
                number(row, "percent_day"), 1e-9);
        }
        CHECK(ration_table().size() == 33);
    }

    TEST_CASE("between, below and beyond the printed rows") {
        const double length_cm = 2.54 * 8.5;
        // 50.5 degF, 8-9 in: half way between 1.1 and 1.1; 49.5: between 1.0 and 1.1.
        check_close(table_ration_percent_day(celsius(49.5), length_cm), 1.05, 1e-9);
        // Half the first row's temperature above 0 degC: half its ration.
        check_close(table_ration_percent_day(celsius(36) / 2, length_cm), 0.25, 1e-9);
        check_close(table_ration_percent_day(0, length_cm), 0, 1e-15);
        check_close(table_ration_percent_day(25, length_cm), 2.0, 1e-12);  // as at 68 degF
        check_close(table_ration_percent_day(celsius(50), 2.54 * 20), 0.9 * 10 / 20, 1e-9);
        CHECK(std::isnan(table_ration_percent_day(41, length_cm)));
        CHECK(std::isnan(table_ration_percent_day(10, 0)));
    }

    TEST_CASE("trout stop feeding in warm water") {
        const Species& rainbow = find_species("rainbow")->species;
        check_close(ration_taper(19, rainbow), 1, 1e-15);
        check_close(ration_taper(19.5, rainbow), 0.5, 1e-12);
        check_close(ration_taper(20, rainbow), 0, 1e-15);
        check_close(ration_taper(25, rainbow), 0, 1e-15);
    }

    TEST_CASE("length from weight: Piper et al. 1982 (from memory) C = 4000e-7 lb/in3") {
        // W = C L^3 in pounds and inches: 8 in is 0.2048 lb.
        check_close(length_cm(0.2048 * 453.59237, find_species("rainbow")->species.condition_g_cm3),
                    8 * 2.54, 0.01);
        CHECK(std::isnan(length_cm(0.04, 0.011)));
        CHECK(std::isnan(length_cm(30001, 0.011)));
        CHECK(std::isnan(length_cm(100, 0)));
    }

    TEST_CASE("ammonia of feed: the worked example (Timmons & Ebeling, from memory)") {
        // tan_per_feed: 1 kg of 42 percent protein gives 38.64 g.
        check_close(tan_production_g_day({1000, 42, 10}), 38.64, 1e-9);
        // Resting fish still give 0.07 g/kg a day (van Weerd 1995).
        check_close(tan_production_g_day({0, 42, 10}), 0.7, 1e-12);
    }

    TEST_CASE("oxygen by feed: Willoughby 1968 (from memory)") {
        // feed_by_oxygen: 100 US gal/min with 5 mg/L to use, 220 g/kg, carry 12.36 kg a day.
        const double used_g_h = 100 * 3.785411784 * 60 / 1000 * 5;
        check_close(oxygen_by_feed_g_h(12360, 220), used_g_h, 0.003 * used_g_h);
    }

    TEST_CASE("carbon dioxide is one molecule for one of oxygen") {
        check_close(carbon_dioxide_from_oxygen(32), 44, 1e-12);
        CHECK(solids_g_day(1000) >= 250);  // published range 0.25-0.40
        CHECK(solids_g_day(1000) <= 400);
    }

    TEST_CASE("names people type") {
        for (const char* name : {"rainbow", "Rainbow Trout", "RAINBOW-TROUT", "Oncorhynchus mykiss",
                                 "oncorhynchus_mykiss"}) {
            REQUIRE(find_species(name) != nullptr);
            CHECK(find_species(name)->name == "rainbow trout");
        }
        CHECK(find_species("golden trout")->name == "rainbow trout (golden strain)");
        CHECK(find_species("Golden")->name == "rainbow trout (golden strain)");
        CHECK(find_species("brook")->scientific_name == "Salvelinus fontinalis");
        CHECK(find_species("salvelinus fontinalis")->name == "brook trout");
        CHECK(find_species("brown trout")->scientific_name == "Salmo trutta");
        for (const char* name : {"char", "charr", "Arctic Charr", "arctic char"}) {
            REQUIRE(find_species(name) != nullptr);
            CHECK(find_species(name)->name == "Arctic char");
        }
        CHECK(find_species("carp") == nullptr);
        CHECK(find_species("") == nullptr);
    }

    TEST_CASE("brook trout males mature at one year, females at two (common practice, no source)") {
        const Species& brook = find_species("brook")->species;
        check_close(brook.male_mature_months, 12, 0);
        check_close(brook.female_mature_months, 24, 0);
    }

    TEST_CASE(
        "density limits are those of Implementing Regulation (EU) 2020/464, Annex II Part I") {
        check_close(find_species("brook")->species.density_warn_kg_m3, 15, 0);
        for (const char* name : {"rainbow", "golden", "brown", "char"}) {
            check_close(find_species(name)->species.density_warn_kg_m3, 25, 0);
        }
    }
}
