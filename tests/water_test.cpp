#include "coldtank/water.hpp"

#include <limits>

#include "check.hpp"

using namespace coldtank;
using namespace coldtank::test;

namespace {
constexpr double kNan = std::numeric_limits<double>::quiet_NaN();
}

TEST_SUITE("water") {
    TEST_CASE("carbon dioxide agrees with the worked examples (Plummer & Busenberg 1982)") {
        check_close(carbon_dioxide_mg_l({10, 100}, 7.0), 25.54, 0.005);  // co2_1
        check_close(carbon_dioxide_mg_l({15, 200}, 7.5), 14.55, 0.005);  // co2_2
    }

    TEST_CASE("pH and carbon dioxide are each other's inverse") {
        for (double temperature_c = 0; temperature_c <= 40; temperature_c += 4) {
            for (double ph = 4.5; ph <= 9; ph += 0.5) {
                const BufferedWater water{temperature_c, 80};
                const double mg_l = carbon_dioxide_mg_l(water, ph);
                check_close(ph_from_carbon_dioxide(water, mg_l), ph, 1e-9);
            }
        }
    }

    TEST_CASE("water holds less oxygen the warmer, the saltier and the higher it is") {
        double last = 100;
        for (double temperature_c = 0; temperature_c <= 40; temperature_c += 0.5) {
            const double here =
                oxygen_saturation_mg_l({.temperature_c = temperature_c, .pressure_kpa = 90});
            CHECK(here < last);
            CHECK(oxygen_saturation_mg_l(
                      {.temperature_c = temperature_c, .salinity_g_kg = 5, .pressure_kpa = 90}) <
                  here);
            CHECK(oxygen_saturation_mg_l({.temperature_c = temperature_c, .pressure_kpa = 80}) <
                  here);
            last = here;
        }
        CHECK(standard_pressure_kpa(1000) < standard_pressure_kpa(999));
    }

    TEST_CASE("ammonia is more toxic the warmer and the more alkaline the water") {
        const WaterState cold{.temperature_c = 8, .pressure_kpa = 95};
        const WaterState warm{.temperature_c = 18, .pressure_kpa = 95};
        CHECK(unionised_fraction(warm, 7, kUsualCoefficients) >
              unionised_fraction(cold, 7, kUsualCoefficients));
        CHECK(unionised_fraction(cold, 8, kUsualCoefficients) >
              unionised_fraction(cold, 7, kUsualCoefficients));
        // 17.031 / 14.007, molar masses.
        check_close(nh3_mg_l({.tan_mg_l = 1, .unionised_fraction = 1}), 17.031 / 14.007, 5e-5);
        check_close(nh3_mg_l({.tan_mg_l = tan_at_nh3_mg_l(
                                  {.nh3_mg_l = 0.0125, .unionised_fraction = 0.004}),
                              .unionised_fraction = 0.004}),
                    0.0125, 1e-15);
    }

    TEST_CASE("at both ends of a range there is an answer, one step out there is none") {
        const auto saturation = [](double t, double s, double p) {
            return oxygen_saturation_mg_l(
                {.temperature_c = t, .salinity_g_kg = s, .pressure_kpa = p});
        };
        CHECK(saturation(0, 0, 101.325) > 14);
        CHECK(saturation(40, 40, 50.7) > 1);
        CHECK(std::isnan(saturation(-0.1, 0, 101.325)));
        CHECK(std::isnan(saturation(40.1, 0, 101.325)));
        CHECK(std::isnan(saturation(10, 40.1, 101.325)));
        CHECK(std::isnan(saturation(10, -0.1, 101.325)));
        CHECK(std::isnan(saturation(10, 0, 50.6)));
        CHECK(std::isnan(saturation(10, 0, 111.5)));
        CHECK(std::isnan(saturation(kNan, 0, 101.325)));
        CHECK(standard_pressure_kpa(-500) > 107);
        CHECK(standard_pressure_kpa(5000) > 54);
        CHECK(std::isnan(standard_pressure_kpa(-501)));
        CHECK(std::isnan(standard_pressure_kpa(5001)));
        CHECK(std::isnan(standard_pressure_kpa(kNan)));
        CHECK(std::isnan(unionised_fraction({.temperature_c = 10, .pressure_kpa = 95}, 11.1,
                                            kUsualCoefficients)));
        CHECK(std::isnan(unionised_fraction({.temperature_c = 10, .pressure_kpa = 95}, kNan,
                                            kUsualCoefficients)));
        CHECK(std::isnan(carbon_dioxide_mg_l({10, -1}, 7)));
        CHECK(std::isnan(carbon_dioxide_mg_l({10, 80}, 2.9)));
        CHECK(std::isnan(ph_from_carbon_dioxide({10, 80}, 0)));
        CHECK(std::isnan(carbon_dioxide_in_air_mg_l({.temperature_c = 41, .pressure_kpa = 95},
                                                    kUsualCoefficients)));
        CHECK(std::isnan(carbon_dioxide_henry_mol_l_atm(-1)));
    }

    TEST_CASE("a pH that cannot be at an alkalinity has no carbon dioxide") {
        CHECK(std::isnan(carbon_dioxide_mg_l({15, 1}, 10)));
        CHECK(carbon_dioxide_mg_l({15, 0}, 5) > 0);
    }
}
