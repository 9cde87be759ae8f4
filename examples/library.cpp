// How much oxygen is there for these fish tonight? The core as a library, without JSON.
#include <coldtank/budget.hpp>
#include <cstdio>

int main() {
    using namespace coldtank;

    Tank tank{};
    tank.name = "north round";
    tank.volume_l = 2000;
    tank.water.temperature_c = 13.5;
    tank.inflow = {Inflow{.flow_l_min = 35, .oxygen_percent = 92}};

    FishGroup trout{};
    trout.species_name = "rainbow trout";
    trout.species = find_species("rainbow trout")->species;
    trout.count = 120;
    trout.mean_weight_g = 180;
    tank.fish.push_back(trout);

    const SitePressure air = site_pressure({.name = "Larch Hollow", .altitude_m = 640});
    const TankBudget budget = assess_tank(tank, inflow_supply(tank, air), air);

    std::printf("%s: lowest oxygen %.2f mg/L, %.0f g/h needed at peak\n", budget.tank.c_str(),
                budget.oxygen.lowest_mg_l.value(), budget.oxygen.demand_peak_g_h);
    for (const Check& check : budget.checks) {
        std::printf("%-10s%s\n", name_of(check.status).data(), name_of(check.id).data());
    }
}
