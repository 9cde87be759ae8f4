#include "coldtank/aeration.hpp"

#include "check.hpp"

using namespace coldtank;
using namespace coldtank::test;

TEST_SUITE("aeration") {
    TEST_CASE("field transfer: the worked example (derived, ASCE / EPA form)") {
        // field_transfer: 30 L/min, 1 m, 3 %/m, 12 degC, 500 m, oxygen 8 mg/L.
        const Aerator aerator{{}, 0.9, 0.98, Diffuser{30, 1, {}, 3}};
        check_close(sotr_g_h(aerator, kUsualCoefficients), 15.04, 0.005);
        const double saturation = oxygen_saturation_mg_l(
            {.temperature_c = 12, .pressure_kpa = standard_pressure_kpa(500)});
        check_close(field_transfer_m3_h(aerator, 12, kUsualCoefficients) * (0.98 * saturation - 8),
                    2.39, 0.005);
    }

    TEST_CASE("a rated aerator gives its rating under standard conditions") {
        const Aerator aerator{{}, 1, 1, RatedAerator{100}};
        check_close(field_transfer_m3_h(aerator, 20, kUsualCoefficients) * 9.09, 100, 1e-9);
        // drop_recovery: SOTR 41.7 g/h in 1.5 m3 is kLa20 3.058 1/h.
        check_close(
            field_transfer_m3_h({{}, 1, 1, RatedAerator{41.7}}, 20, kUsualCoefficients) / 1.5,
            3.058, 0.002);
        CHECK(field_transfer_m3_h(aerator, 12, kUsualCoefficients) <
              field_transfer_m3_h(aerator, 13, kUsualCoefficients));
    }

    TEST_CASE("finer bubbles, deeper stones and more air give more") {
        CHECK(sotr_g_h(diffuser(10, 1, Bubble::fine), kUsualCoefficients) >
              sotr_g_h(diffuser(10, 1, Bubble::medium), kUsualCoefficients));
        CHECK(sotr_g_h(diffuser(10, 1, Bubble::medium), kUsualCoefficients) >
              sotr_g_h(diffuser(10, 1, Bubble::coarse), kUsualCoefficients));
        check_close(sotr_g_h(diffuser(10, 2), kUsualCoefficients),
                    2 * sotr_g_h(diffuser(10, 1), kUsualCoefficients), 1e-12);
        check_close(sotr_g_h(diffuser(20, 1), kUsualCoefficients),
                    2 * sotr_g_h(diffuser(10, 1), kUsualCoefficients), 1e-12);
        check_close(sotr_g_h(diffuser(0, 1), kUsualCoefficients), 0, 0);
        check_close(stripping_m3_h(diffuser(0, 1), 12, kUsualCoefficients), 0, 0);
    }

    TEST_CASE("pure oxygen: 1 L/min, all of it taken up, is 1.33 g/L at 20 degC") {
        // Ideal gas: 31.9988 g/mol x 101.325 kPa / (8.314462 J/mol/K x 293.15 K) = 1.330 g/L.
        const double density = 31.9988 * 101.325 / (8.314462 * 293.15);
        const Aerator oxygen{{}, 0.9, 0.98, PureOxygen{1, 100}};
        check_close(pure_oxygen_g_h(oxygen, kUsualCoefficients), 60 * density, 60 * 0.0005);
        check_close(field_transfer_m3_h(oxygen, 12, kUsualCoefficients), 0, 0);
        check_close(stripping_m3_h(oxygen, 12, kUsualCoefficients), 0, 0);
        check_close(pure_oxygen_g_h(diffuser(10, 1), kUsualCoefficients), 0, 0);
    }

    TEST_CASE("a cascade: the worked example (Barrett form; a published one rounds to 2.7 m)") {
        // cascade_20: 20 degC, 1 to 6 mg/L of 9.09, a b = 0.88, 2.65 m.
        const double saturation =
            oxygen_saturation_mg_l({.temperature_c = 20, .pressure_kpa = kSeaLevelKpa});
        const double ratio = (saturation - 1) / (saturation - 6);
        check_close(cascade_deficit_ratio({2.65, 0.88, 1}, 20, kUsualCoefficients), ratio, 0.005);
        check_close(cascade_deficit_ratio({0, 1.3, 1}, 20, kUsualCoefficients), 1, 0);
        check_close(cascade_stripped_share({0, 1.3, 1}, 20, kUsualCoefficients), 0, 0);
        // Published packed columns take 21-37 % of the carbon dioxide: no fall takes more than 25.
        check_close(cascade_stripped_share({3, 1.3, 1}, 20, kUsualCoefficients), 0.25, 0);
    }

    TEST_CASE("bubbles cannot carry more carbon dioxide than Henry's law lets them") {
        for (const double air_l_min : {0.1, 1.0, 10.0, 100.0}) {
            const Aerator aerator = diffuser(air_l_min, 2, Bubble::fine);
            // Dimensionless Henry constant of CO2, gas over water, at 12 degC.
            const double henry =
                1 / (carbon_dioxide_henry_mol_l_atm(12) * 0.082057 * (12 + 273.15));
            const double stripped = stripping_m3_h(aerator, 12, kUsualCoefficients);
            CHECK(stripped > 0);
            CHECK(stripped < air_l_min * 0.06 * henry);
            CHECK(stripped < 0.9 * field_transfer_m3_h(aerator, 12, kUsualCoefficients));
        }
        const Aerator rated{{}, 0.9, 0.98, RatedAerator{50}};
        check_close(stripping_m3_h(rated, 12, kUsualCoefficients),
                    0.9 * field_transfer_m3_h(rated, 12, kUsualCoefficients), 1e-12);
    }
}
