// What the tests share: closeness with an explicit tolerance, reference tables, random tanks.
#pragma once

#include <doctest/doctest.h>

#include <cmath>
#include <fstream>
#include <map>
#include <random>
#include <sstream>
#include <string>
#include <vector>

#include "coldtank/capacity.hpp"

namespace coldtank::test {

// How many random cases: a tenth under the sanitizers, which are ten times as slow and look for
// other faults than a share of draws.
constexpr int random_cases(int all) {
#ifdef COLDTANK_SANITIZED
    return all / 10;
#else
    return all;
#endif
}

struct Closeness {
    double got;
    double want;
    double tolerance;
    bool holds() const { return std::abs(got - want) <= tolerance; }
    [[gnu::noinline]] std::string text() const {  // all digits
        std::ostringstream digits;
        digits.precision(17);
        digits << "got " << got << ", want " << want << " +- " << tolerance;
        return digits.str();
    }
};

// Fails on NaN.
#define check_close(got, want, tolerance)                                                         \
    do {                                                                                          \
        const ::coldtank::test::Closeness close_{                                                 \
            static_cast<double>(got), static_cast<double>(want), static_cast<double>(tolerance)}; \
        CHECK_MESSAGE(close_.holds(), close_.text());                                             \
    } while (false)

// Rows of tests/reference/NAME as columns by name; lines that start with # are its provenance.
inline std::vector<std::map<std::string, std::string>> reference_rows(const std::string& name) {
    std::ifstream file(std::string(COLDTANK_SOURCE_DIR "/tests/reference/") + name);
    REQUIRE_MESSAGE(file.good(), name);
    std::vector<std::string> header;
    std::vector<std::map<std::string, std::string>> rows;
    for (std::string line; std::getline(file, line);) {
        if (line.empty() || line[0] == '#') continue;
        std::vector<std::string> cells(1);
        bool quoted = false;
        for (const char c : line) {
            if (c == '"') {
                quoted = !quoted;
            } else if (c == ',' && !quoted) {
                cells.emplace_back();
            } else {
                cells.back() += c;
            }
        }
        if (header.empty()) {
            header = cells;
            continue;
        }
        std::map<std::string, std::string> row;
        for (std::size_t i = 0; i < header.size(); ++i) row[header[i]] = cells.at(i);
        rows.push_back(row);
    }
    REQUIRE(rows.size() > 1);
    return rows;
}

inline double number(const std::map<std::string, std::string>& row, const std::string& column) {
    return std::stod(row.at(column));
}

// Half the last printed digit.
inline double half_digit(const std::string& printed) {
    const std::size_t point = printed.find('.');
    const auto decimals = point == std::string::npos ? 0 : printed.size() - point - 1;
    return 0.5 * std::pow(10, -static_cast<double>(decimals)) * (1 + 1e-9);
}

inline FishGroup fish(std::string_view species, double count, double mean_weight_g) {
    FishGroup group{};
    const SpeciesEntry* entry = find_species(species);
    REQUIRE(entry != nullptr);
    group.species_name = entry->name;
    group.species = entry->species;
    group.count = count;
    group.mean_weight_g = mean_weight_g;
    return group;
}

inline Aerator diffuser(double air_flow_l_min, double depth_m, Bubble bubble = Bubble::medium) {
    return {{}, {}, {}, Diffuser{air_flow_l_min, depth_m, bubble, {}}};
}

inline constexpr double kSeaLevelKpa = 101.325;

inline TankBudget assessed(const Tank& tank, double pressure_kpa = kSeaLevelKpa) {
    return assess_tank(tank, inflow_supply(tank, {pressure_kpa}), {pressure_kpa});
}

// The tank of the README.
inline Tank readme_tank() {
    Tank tank{};
    tank.name = "north round";
    tank.volume_l = 2000;
    tank.water.temperature_c = 13.5;
    tank.water.peak_temperature_c = 14.2;
    tank.water.ph = 7.2;
    tank.water.alkalinity_mg_l = 80;
    tank.inflow = {Inflow{}};
    tank.inflow[0].flow_l_min = 35;
    tank.inflow[0].oxygen_percent = 92;
    tank.fish = {fish("rainbow trout", 120, 180)};
    tank.feed.ration_g_day = 250;
    tank.feed.protein_percent = 42;
    tank.aeration = {diffuser(40, 0.8)};
    return tank;
}

// What its aerators are described to give, so many times.
inline void scale_aeration(Tank& tank, double share) {
    for (Aerator& aerator : tank.aeration) {
        if (auto* diffuser = std::get_if<Diffuser>(&aerator.kind)) {
            diffuser->air_flow_l_min *= share;
        } else if (auto* rated = std::get_if<RatedAerator>(&aerator.kind)) {
            rated->sotr_g_h *= share;
        } else if (auto* pure = std::get_if<PureOxygen>(&aerator.kind)) {
            pure->flow_l_min *= share;
        }
    }
}

// All its fish, their rations with them, so many times.
inline void scale_fish(Tank& tank, double share) {
    if (tank.feed.ration_g_day) *tank.feed.ration_g_day *= share;
    for (FishGroup& group : tank.fish) {
        group.count *= share;
        if (group.ration_g_day) *group.ration_g_day *= share;
    }
}

// Tanks as growers might describe them, and some as they should not.
class RandomTanks {
public:
    explicit RandomTanks(unsigned seed) : engine_(seed) {}

    double between(double low, double high) {
        return std::uniform_real_distribution<double>(low, high)(engine_);
    }
    bool chance(double share) { return between(0, 1) < share; }
    double pressure_kpa() { return standard_pressure_kpa(between(-100, 3000)); }

    Tank next() {
        Tank tank{};
        tank.name = "random";
        tank.volume_l = std::exp(between(std::log(20.0), std::log(50000.0)));
        tank.water.temperature_c = between(1, 22);
        if (chance(0.5)) {
            tank.water.peak_temperature_c = tank.water.temperature_c + between(0, 4);
        }
        if (chance(0.7)) tank.water.ph = between(6, 9);
        if (chance(0.5)) tank.water.alkalinity_mg_l = between(10, 250);
        if (chance(0.2)) tank.water.salinity_g_kg = between(0, 20);
        if (chance(0.8)) {
            Inflow inflow;
            inflow.flow_l_min = tank.volume_l / 60 * between(0.02, 3);
            if (chance(0.5)) {
                inflow.oxygen_percent = between(30, 110);
            } else {
                inflow.oxygen_mg_l = between(3, 12);
            }
            if (chance(0.5)) inflow.tan_mg_l = between(0, 0.5);
            if (chance(0.5)) inflow.carbon_dioxide_mg_l = between(0, 15);
            inflow.keeps_flowing = chance(0.3);
            tank.inflow = {inflow};
        }
        const double biomass_kg = tank.volume_l / 1000 * std::exp(between(0, std::log(80.0)));
        const int groups = chance(0.3) ? 2 : 1;
        const char* const names[] = {"rainbow", "golden trout", "brook", "brown", "char"};
        for (int i = 0; i < groups; ++i) {
            const double weight_g = std::exp(between(std::log(1.0), std::log(1500.0)));
            const double count = std::max(1.0, std::floor(biomass_kg / groups * 1000 / weight_g));
            FishGroup group =
                fish(names[static_cast<std::size_t>(between(0, 4.999))], count, weight_g);
            if (chance(0.2)) group.ration_g_day = between(0, 0.03) * count * weight_g;
            if (chance(0.1)) group.condition_factor = between(0.8, 1.5);
            tank.fish.push_back(group);
        }
        if (chance(0.3)) tank.feed.ration_percent_day = between(0, 2.5);
        if (chance(0.7)) tank.aeration.push_back(diffuser(between(1, 100), between(0.2, 2)));
        if (chance(0.2)) {
            tank.aeration.push_back({"rated", 0.9, 0.95, RatedAerator{between(1, 200)}});
        }
        if (chance(0.2)) {
            tank.aeration.push_back({"oxygen", 0.9, 0.98, PureOxygen{between(0, 3), 15}});
        }
        if (chance(0.2)) tank.aeration.push_back({"fall", 0.9, 0.98, Cascade{between(0, 2)}});
        return tank;
    }

private:
    std::mt19937 engine_;
};

// A tank on a loop, the loop of a backyard, and loops as growers might describe them.
inline Tank loop_tank(double volume_l, double flow_l_min, double count, double weight_g,
                      double ration_percent) {
    Tank tank{};
    tank.name = "tank";
    tank.volume_l = volume_l;
    tank.water.temperature_c = 14;
    tank.water.ph = 7.2;
    tank.loop = LoopFlow{"loop", flow_l_min};
    tank.fish = {fish("rainbow", count, weight_g)};
    tank.feed.ration_percent_day = ration_percent;
    tank.feed.protein_percent = 42;
    tank.aeration = {diffuser(40, 0.8)};
    return tank;
}

inline System backyard() {
    Loop loop{};
    loop.name = "loop";
    loop.water.temperature_c = 14;
    loop.water.ph = 7.2;
    loop.water.alkalinity_mg_l = 80;
    loop.readings.nitrite_mg_l = 0.01;
    loop.readings.chloride_mg_l = 12;
    loop.exchange_l_day = 150;
    loop.makeup = {.tan_mg_l = 0.02, .nitrate_mg_l = 2, .alkalinity_mg_l = 120};
    loop.biofilter = Biofilter{.media_area_m2 = 150};
    loop.plants = Plants{3, Crop::leafy};
    loop.aeration = {diffuser(60, 0.7)};
    return {kSeaLevelKpa, {loop_tank(1000, 40, 60, 150, 1.2)}, loop};
}

// The ration of a tank as a user types it: in all, shared by mass.
inline void type_ration(Tank& tank, double ration_g_day) {
    for (FishGroup& group : tank.fish) group.ration_g_day.reset();
    tank.feed.ration_percent_day.reset();
    tank.feed.ration_g_day = ration_g_day;
    if (ration_g_day == 0) tank.feed.fasted_h = 168;
}

inline System random_loop(RandomTanks& random) {
    System system = backyard();
    Loop& loop = *system.loop;
    loop.water.temperature_c = random.between(5, 20);
    loop.exchange_l_day = random.chance(0.8) ? random.between(10, 3000) : 0;
    loop.makeup.tan_mg_l = random.between(0, 0.2);
    loop.makeup.nitrate_mg_l = random.between(0, 10);
    loop.biofilter->media_area_m2 = random.between(5, 500);
    loop.biofilter->maturity_percent = random.chance(0.7) ? 100 : random.between(0, 100);
    if (random.chance(0.4)) loop.plants.reset();
    if (random.chance(0.3)) loop.degasser_percent = random.between(0, 90);
    if (random.chance(0.2)) loop.aeration.clear();
    if (random.chance(0.2)) loop.aeration.push_back({"fall", 0.9, 0.98, Cascade{0.6}});
    system.tanks.clear();
    const int count = 1 + static_cast<int>(random.between(0, 3));
    for (int i = 0; i < count; ++i) {
        Tank tank = loop_tank(random.between(300, 4000), random.between(5, 120),
                              std::floor(random.between(5, 300)), random.between(20, 400),
                              random.between(0.2, 2.5));
        tank.name = "tank " + std::to_string(i);
        tank.water.temperature_c = loop.water.temperature_c;
        tank.water.peak_temperature_c = loop.water.temperature_c + random.between(0, 2);
        if (random.chance(0.2)) tank.aeration.clear();
        if (random.chance(0.2)) tank.aeration.push_back({"fall", 0.9, 0.98, Cascade{0.3}});
        if (random.chance(0.1)) tank.loop->flow_l_min = 0;
        system.tanks.push_back(tank);
    }
    return system;
}

// A tank that stands by itself.
inline System alone(const Tank& tank, double pressure_kpa) {
    return {pressure_kpa, {tank}, std::nullopt};
}
inline Plan plan_alone(const Tank& tank, const TankBudget& budget, CheckId check,
                       double pressure_kpa) {
    return plan_remedies(alone(tank, pressure_kpa), {{budget}, std::nullopt}, {0}, check);
}
// What a remedy makes of the only tank that it was proved on.
inline Tank mended(const Plan& plan, const Remedy& remedy) {
    return with_remedy(plan.on->system, plan.on->budget, {0}, remedy).tanks[0];
}

}  // namespace coldtank::test
