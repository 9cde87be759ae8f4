// Prints the water model on a grid for tests/oracles.py: temperature_c salinity_g_kg pressure_kpa
// oxygen_mg_l henry_mol_l_atm
#include <cstdio>

#include "coldtank/water.hpp"

int main() {
    for (const double salinity_g_kg : {0.0, 5.0, 35.0}) {
        for (double temperature_c = 0; temperature_c <= 40; temperature_c += 1) {
            const coldtank::WaterState water{.temperature_c = temperature_c,
                                             .salinity_g_kg = salinity_g_kg,
                                             .pressure_kpa = 101.325};
            std::printf("%.17g %.17g %.17g %.17g %.17g\n", temperature_c, salinity_g_kg,
                        water.pressure_kpa, coldtank::oxygen_saturation_mg_l(water),
                        coldtank::carbon_dioxide_henry_mol_l_atm(temperature_c));
        }
    }
}
