// What keeps fish alive, over thousands of random tanks and loops: what is worse for the fish is
// never better on the page. What physics or the rules except is named here and in no other place.
#include <algorithm>
#include <cstdlib>
#include <functional>
#include <limits>
#include <set>

#include "check.hpp"
#include "coldtank/capacity.hpp"
#include "coldtank/validate.hpp"

using namespace coldtank;
using namespace coldtank::test;

namespace {

using Checks = std::set<CheckId>;

// Judged by something else than the water: a matter of feeding, of grading, of the eye.
const Checks kOfNoAccount{CheckId::ration,      CheckId::plants,        CheckId::current,
                          CheckId::size_spread, CheckId::oxygen_excess, CheckId::deaths,
                          CheckId::early_life,  CheckId::input_doubt};

constexpr double kSlack = 1e-9;

// mg/L, where fish die. Below it warmer water may bring more oxygen: air goes in faster and falls
// take more, and what the feed takes does not grow. On a loop the other tanks gain by it.
constexpr double kNearNothing = 3;

bool suffocates(const System& system) {
    const SystemBudget budget = assess_system(system);
    return std::any_of(budget.tanks.begin(), budget.tanks.end(), [](const TankBudget& tank) {
        return tank.oxygen.lowest_mg_l < kNearNothing;
    });
}

// Something a grower does or suffers, and what may look better for it.
struct Step {
    const char* name;
    // False where it does not apply.
    std::function<bool(System&, RandomTanks&)> worsen;
    Checks excepted = {};
    Checks excepted_on_loops = {};  // beside those
    bool capacity = true;
    // Beside those, of a system as it was.
    std::function<Checks(const System&)> excepted_of = {};
};

// Carbon dioxide is stripped more in warmer water and under thinner air, where something strips it;
// what flows in may be as the air has it, and what a pH says falls with warmth.
Checks stripped(const System& system) {
    const bool strips =
        system.loop || std::any_of(system.tanks.begin(), system.tanks.end(), [](const Tank& tank) {
            return !tank.aeration.empty() || tank.water.alkalinity_mg_l || tank.inflow.empty() ||
                   !tank.inflow[0].carbon_dioxide_mg_l;  // or by pH
        });
    return strips ? Checks{CheckId::carbon_dioxide} : Checks{};
}

// On a loop the others gain by the air that goes in faster where one suffocates.
Checks stripped_or_gained(const System& system) {
    Checks checks = stripped(system);
    if (system.loop && suffocates(system)) {
        checks.insert({CheckId::oxygen, CheckId::oxygen_reserve, CheckId::biofilter});
    }
    return checks;
}

// Where a temperature, an age or a weight begins to count otherwise, on both sides of it.
double about(RandomTanks& random, double threshold) {
    return threshold + random.between(-0.3, 0.3);
}

void decorate(Tank& tank, RandomTanks& random) {
    const double thresholds[] = {0.5, 1, 2, 2.2, 5, 8, 10, 14, 16, 18, 18.4, 19, 19.5, 20, 22};
    if (random.chance(0.5)) {
        const double swing = tank.water.peak_temperature_c.value_or(tank.water.temperature_c) -
                             tank.water.temperature_c;
        tank.water.temperature_c = std::max(
            0.0, about(random, thresholds[static_cast<std::size_t>(random.between(0, 14.99))]));
        if (tank.water.peak_temperature_c) {
            tank.water.peak_temperature_c = tank.water.temperature_c + swing;
        }
    }
    for (FishGroup& group : tank.fish) {
        if (random.chance(0.1)) group.mean_weight_g = random.between(0.06, 1.3);
        if (random.chance(0.1)) group.respiration_factor = random.between(0.6, 1.8);
    }
    if (random.chance(0.4)) {  // by the table
        tank.feed.ration_percent_day.reset();
        for (FishGroup& group : tank.fish) group.ration_g_day.reset();
        if (random.chance(0.3)) tank.feed.fasted_h = random.between(0, 200);
    } else if (random.chance(0.3)) {
        tank.feed.ration_percent_day.reset();
        tank.feed.ration_g_day = random.between(0, 3) * tank.volume_l / 10;
        for (FishGroup& group : tank.fish) group.ration_g_day.reset();
    }
    if (!tank.inflow.empty() && random.chance(0.1)) {
        tank.inflow[0].carbon_dioxide_mg_l.reset();
        tank.inflow[0].ph = random.between(6, 8.5);
        tank.inflow[0].alkalinity_mg_l = random.between(10, 250);
    }
    Readings& readings = tank.readings;
    if (random.chance(0.2)) readings.oxygen_mg_l = random.between(3, 12);
    if (random.chance(0.2)) readings.tan_mg_l = random.between(0, 4);
    if (random.chance(0.1)) readings.carbon_dioxide_mg_l = random.between(1, 25);
    if (random.chance(0.2)) readings.nitrite_mg_l = random.between(0, 0.5);
    if (random.chance(0.2)) readings.chloride_mg_l = random.between(0, 60);
    if (random.chance(0.1)) tank.limits.tan_warn_mg_l = random.between(0.2, 4);
    // A limit in percent of saturation cannot be monotone; it has a test of its own.
    tank.limits.oxygen_warn_percent = 0;
}

System random_system(RandomTanks& random) {
    System system;
    if (random.chance(0.6)) {
        system = {random.pressure_kpa(), {random.next()}, std::nullopt};
    } else {
        system = random_loop(random);
        system.pressure_kpa = random.pressure_kpa();
    }
    for (Tank& tank : system.tanks) decorate(tank, random);
    if (system.loop) {
        Loop& loop = *system.loop;
        loop.readings.nitrate_mg_l.reset();
        if (random.chance(0.5)) loop.readings.nitrate_mg_l = random.between(0, 90);
        if (random.chance(0.5)) loop.readings.nitrite_mg_l = random.between(0, 0.5);
        if (random.chance(0.2)) {
            loop.biofilter->media_area_m2.reset();
            loop.biofilter->removal_g_day = random.between(1, 150);
        }
        if (random.chance(0.1)) loop.limits.tan_warn_mg_l = random.between(0.2, 4);
    }
    return system;
}

// ---- what makes it worse

template <class Change>
bool each_tank(System& system, Change change) {
    for (Tank& tank : system.tanks) change(tank);
    return true;
}

bool warmer(System& system, double by_c) {
    const auto warm = [&](Water& water) {
        water.temperature_c += by_c;
        if (water.peak_temperature_c) *water.peak_temperature_c += by_c;
    };
    each_tank(system, [&](Tank& tank) {
        // What flows in is as warm, and holds as much less.
        const auto holds = [&] {
            return oxygen_saturation_mg_l({.temperature_c = tank.water.temperature_c,
                                           .salinity_g_kg = tank.water.salinity_g_kg,
                                           .pressure_kpa = system.pressure_kpa});
        };
        const double before_mg_l = holds();
        warm(tank.water);
        if (!tank.inflow.empty() && tank.inflow[0].oxygen_mg_l) {
            *tank.inflow[0].oxygen_mg_l *= holds() / before_mg_l;
        }
    });
    if (system.loop) warm(system.loop->water);
    return std::all_of(system.tanks.begin(), system.tanks.end(), [](const Tank& tank) {
        return kTemperatureRange.holds(
            tank.water.peak_temperature_c.value_or(tank.water.temperature_c));
    });
}

bool within_class(const FishGroup& group, double weight_g) {
    const double k = group.condition_factor ? *group.condition_factor / 100
                                            : double{group.species.condition_g_cm3};
    const auto column = [&](double grams) {
        return std::min(10.0,
                        std::floor(length_cm({.weight_g = grams, .condition_g_cm3 = k}) / 2.54));
    };
    // Grown out of early life the limits are wider.
    return column(group.mean_weight_g) == column(weight_g) &&
           (group.mean_weight_g < kEarlyLifeG) == (weight_g < kEarlyLifeG);
}

bool fewer_readings(System& system, RandomTanks& random) {
    Tank& tank = system.tanks[0];
    const SystemBudget before = assess_system(system);
    const TankBudget& budget = before.tanks[0];
    const auto passes = [&](CheckId id) {
        const Check* check = find_check(budget, id);
        return check == nullptr || check->status == Status::pass;
    };
    // Only readings that pass, and say no worse than the balance: one that says worse is news.
    switch (static_cast<int>(random.between(0, 4))) {
        case 0:
            if (!tank.readings.oxygen_mg_l || !passes(CheckId::oxygen) ||
                !budget.oxygen.lowest_mg_l ||
                *budget.oxygen.lowest_mg_l > *tank.readings.oxygen_mg_l) {
                return false;
            }
            tank.readings.oxygen_mg_l.reset();
            return true;
        case 1:
            if (!tank.readings.tan_mg_l || !passes(CheckId::total_ammonia) ||
                !passes(CheckId::ammonia) ||
                !(budget.ammonia.tan_mg_l >= *tank.readings.tan_mg_l)) {
                return false;
            }
            tank.readings.tan_mg_l.reset();
            return true;
        case 2:
            if (!tank.readings.chloride_mg_l || !tank.readings.nitrite_mg_l) return false;
            tank.readings.chloride_mg_l.reset();
            return true;
        default:
            if (!tank.readings.carbon_dioxide_mg_l || !passes(CheckId::carbon_dioxide))
                return false;
            tank.readings.carbon_dioxide_mg_l.reset();
            return true;
    }
}

const Step kSteps[] = {
    {"more fish",
     [](System& system, RandomTanks&) {
         return each_tank(system, [](Tank& tank) {
             for (FishGroup& group : tank.fish) group.count *= 1.1;
         });
     },
     {},
     {},
     false},
    {"more fish, fed as much each",
     [](System& system, RandomTanks&) {
         return each_tank(system, [](Tank& tank) { scale_fish(tank, 1.1); });
     }},
    {"heavier fish",
     [](System& system, RandomTanks& random) {
         // All alike: a ration that is shared by mass moves to who grows more.
         const double times = random.between(1.001, 1.05);
         for (Tank& tank : system.tanks) {
             for (FishGroup& group : tank.fish) {
                 const double weight_g = group.mean_weight_g * times;
                 if (!within_class(group, weight_g)) return false;
                 group.mean_weight_g = weight_g;
             }
         }
         return true;
     },
     // Longer fish may stand denser (kg/m3 a cm of length).
     {CheckId::density},
     {},
     false},
    {"more feed",
     [](System& system, RandomTanks&) {
         return each_tank(system, [](Tank& tank) {
             if (tank.feed.ration_g_day) *tank.feed.ration_g_day *= 1.1;
             if (tank.feed.ration_percent_day) *tank.feed.ration_percent_day *= 1.1;
             for (FishGroup& group : tank.fish) {
                 if (group.ration_g_day) *group.ration_g_day *= 1.1;
             }
         });
     }},
    {"warmer water",
     [](System& system, RandomTanks& random) {
         // Below its lower limit warmer is better.
         for (const Tank& tank : system.tanks) {
             if (tank.water.temperature_c < limits_of(tank).temperature_low_warn_c) return false;
         }
         return warmer(system,
                       random.chance(0.5) ? random.between(0.01, 0.5) : random.between(0.5, 3));
     },
     {},
     // A warmer filter takes more ammonia.
     {CheckId::biofilter, CheckId::ammonia, CheckId::total_ammonia},
     true,
     stripped_or_gained},
    {"a warmer hour",
     [](System& system, RandomTanks& random) {
         return each_tank(system, [&](Tank& tank) {
             tank.water.peak_temperature_c =
                 tank.water.peak_temperature_c.value_or(tank.water.temperature_c) +
                 random.between(0.01, 2);
         });
     },
     {},
     {},
     true,
     stripped_or_gained},
    {"a higher site",
     [](System& system, RandomTanks& random) {
         system.pressure_kpa *= random.between(0.9, 0.999);
         return kPressureRange.holds(system.pressure_kpa);
     },
     {},
     {},
     true,
     stripped},
    {"less flow",
     [](System& system, RandomTanks& random) {
         const SystemBudget before = assess_system(system);
         Tank& tank = system.tanks[0];
         const TankBudget& budget = before.tanks[0];
         if (tank.inflow.empty() || tank.inflow[0].flow_l_min == 0) return false;
         // An inflow that is worse than the tank, or than its limit, is no loss.
         const CarbonDioxideBudget& co2 = budget.carbon_dioxide;
         if (budget.oxygen.lowest_mg_l > *budget.oxygen.inflow_peak_mg_l ||
             budget.oxygen.warn_mg_l > *budget.oxygen.inflow_peak_mg_l ||
             co2.balance_mg_l < *co2.inflow_mg_l) {
             return false;
         }
         tank.inflow[0].flow_l_min *= random.between(0.5, 0.99);
         return true;
     }},
    {"less air",
     [](System& system, RandomTanks& random) {
         // Where the water holds more than air gives it, or must, air takes oxygen out; where it
         // holds less carbon dioxide, air brings some.
         const TankBudget budget = assess_system(system).tanks[0];
         if (budget.carbon_dioxide.balance_mg_l < budget.carbon_dioxide.in_air_mg_l) return false;
         for (const Aerator& aerator : system.tanks[0].aeration) {
             const double air_mg_l = aerator.beta.value_or(kUsualCoefficients.beta) *
                                     budget.oxygen.saturation_peak_mg_l;
             if (budget.oxygen.lowest_mg_l > air_mg_l || budget.oxygen.warn_mg_l > air_mg_l) {
                 return false;
             }
         }
         scale_aeration(system.tanks[0], random.between(0.5, 0.99));
         return true;
     }},
    {"less water round the loop",
     [](System& system, RandomTanks& random) {
         if (!system.loop) return false;
         const double share = random.between(0.5, 0.99);
         for (Tank& tank : system.tanks) tank.loop->flow_l_min *= share;
         return true;
     },
     // The loop's air meets less of what comes back, and brings what it sends nearer to its own.
     {CheckId::oxygen, CheckId::oxygen_reserve, CheckId::carbon_dioxide, CheckId::biofilter},
     {},
     false},
    {"less air in the loop",
     [](System& system, RandomTanks& random) {
         if (!system.loop || system.loop->aeration.empty()) return false;
         // As of a tank: air that takes oxygen out, or brings carbon dioxide, is no loss.
         const LoopBudget before = *assess_system(system).loop;
         const Water& water = system.loop->water;
         const WaterState vessel{
             .temperature_c = water.peak_temperature_c.value_or(water.temperature_c),
             .salinity_g_kg = 0,
             .pressure_kpa = system.pressure_kpa};
         if (before.supply_carbon_dioxide_mg_l <
             carbon_dioxide_in_air_mg_l(vessel, kUsualCoefficients))
             return false;
         for (const Aerator& aerator : system.loop->aeration) {
             const double air_mg_l =
                 aerator.beta.value_or(kUsualCoefficients.beta) * oxygen_saturation_mg_l(vessel);
             if (!(before.supply_oxygen_peak_mg_l < air_mg_l)) return false;
         }
         Tank carrier{};
         carrier.aeration = system.loop->aeration;
         scale_aeration(carrier, random.between(0.5, 0.99));
         system.loop->aeration = carrier.aeration;
         return true;
     },
     {},
     {},
     false},
    {"a poorer inflow",
     [](System& system, RandomTanks&) {
         return each_tank(system, [](Tank& tank) {
             if (tank.inflow.empty()) return;
             if (tank.inflow[0].oxygen_mg_l) *tank.inflow[0].oxygen_mg_l *= 0.95;
             if (tank.inflow[0].oxygen_percent) *tank.inflow[0].oxygen_percent *= 0.95;
             if (tank.inflow[0].tan_mg_l) *tank.inflow[0].tan_mg_l += 0.05;
             if (tank.inflow[0].carbon_dioxide_mg_l) *tank.inflow[0].carbon_dioxide_mg_l += 1;
         });
     }},
    {"more ammonia measured",
     [](System& system, RandomTanks& random) {
         return each_tank(system, [&](Tank& tank) {
             if (tank.readings.tan_mg_l) *tank.readings.tan_mg_l += random.between(0.01, 1);
         });
     }},
    {"less oxygen measured",
     [](System& system, RandomTanks& random) {
         return each_tank(system, [&](Tank& tank) {
             if (tank.readings.oxygen_mg_l) *tank.readings.oxygen_mg_l *= random.between(0.7, 0.99);
         });
     }},
    {"a younger filter",
     [](System& system, RandomTanks& random) {
         if (!system.loop || !system.loop->biofilter) return false;
         // One that starves takes less oxygen when it does less.
         if (assess_system(system).loop->filter_starved) return false;
         system.loop->biofilter->maturity_percent *= random.between(0.5, 0.99);
         return true;
     },
     {CheckId::oxygen, CheckId::oxygen_reserve, CheckId::carbon_dioxide, CheckId::nitrate,
      CheckId::alkalinity}},
    {"one reading less", fewer_readings, {CheckId::carbon_dioxide, CheckId::ph}},
};

// ---- what must not look better

double used(const Check& check) {
    return check.exhausted ? 1e300 : check.used_percent.value_or(-1);
}

std::string text_of(const Check& check) {
    std::ostringstream out;
    out.precision(12);
    out << name_of(check.id) << ' ' << name_of(check.status) << " value "
        << check.value.value_or(-1) << " used " << used(check);
    return out.str();
}

template <class Budget>
void no_better(const std::string& step, const Budget& after, const Budget& before,
               const Checks& excepted, int& compared) {
    Status was = Status::pass;
    Status is = Status::pass;
    for (const Check& old : before.checks) {
        if (kOfNoAccount.count(old.id) > 0 || excepted.count(old.id) > 0) continue;
        const Check* now = find_check(after, old.id);
        REQUIRE_MESSAGE(now != nullptr, step << ": " << text_of(old));
        const bool better = now->status < old.status ||
                            (old.status != Status::unchecked &&
                             used(*now) < used(old) - kSlack * (1 + std::abs(used(old))));
        CHECK_MESSAGE(!better, step << ": " << text_of(old) << " -> " << text_of(*now));
        was = worse(was, old.status);
        is = worse(is, now->status);
        ++compared;
    }
    CHECK_MESSAGE(is >= was, step);
}

void no_longer(const std::string& step, const std::optional<double>& after,
               const std::optional<double>& before) {
    // None is never.
    if (!before) return;
    REQUIRE_MESSAGE(after.has_value(), step);
    CHECK_MESSAGE(*after <= *before * (1 + kSlack) + kSlack,
                  step << ": " << *before << " min -> " << *after);
}

// More, or others, by hand: COLDTANK_CASES, COLDTANK_SEED.
int asked(const char* name, int usual) {
    const char* value = std::getenv(name);
    return value == nullptr ? usual : std::atoi(value);
}

Description described(std::vector<Tank> tanks, std::vector<Loop> loops) {
    Description description;
    description.site.name = "site";
    description.site.altitude_m = 300;
    description.tanks = std::move(tanks);
    description.loops = std::move(loops);
    return description;
}

}  // namespace

TEST_SUITE("property") {
    TEST_CASE("what is worse for the fish is never better on the page") {
        RandomTanks random(static_cast<unsigned>(asked("COLDTANK_SEED", 20261125)));
        const int cases = asked("COLDTANK_CASES", random_cases(10000));
        int compared = 0;
        std::map<std::string, int> applied;
        for (int i = 0; i < cases; ++i) {
            const System system = random_system(random);
            const SystemBudget before = assess_system(system);
            for (const Step& step : kSteps) {
                System worsened = system;
                Checks excepted = step.excepted;
                if (system.loop) {
                    excepted.insert(step.excepted_on_loops.begin(), step.excepted_on_loops.end());
                }
                if (step.excepted_of) excepted.merge(step.excepted_of(system));
                if (!step.worsen(worsened, random)) continue;
                ++applied[step.name];
                const SystemBudget after = assess_system(worsened);
                for (std::size_t k = 0; k < before.tanks.size(); ++k) {
                    no_better(step.name, after.tanks[k], before.tanks[k], excepted, compared);
                    const auto& was = before.tanks[k].reserve;
                    const auto& is = after.tanks[k].reserve;
                    if (!was || !is || excepted.count(CheckId::oxygen_reserve) > 0) continue;
                    no_longer(step.name, is->stopped.minutes_to_danger,
                              was->stopped.minutes_to_danger);
                    no_longer(step.name, is->stopped.minutes_to_stress,
                              was->stopped.minutes_to_stress);
                    if (was->flow_continues && is->flow_continues) {
                        no_longer(step.name, is->flow_continues->minutes_to_danger,
                                  was->flow_continues->minutes_to_danger);
                    }
                }
                if (before.loop) {
                    no_better(step.name, *after.loop, *before.loop, excepted, compared);
                }
            }
        }
        CHECK(compared > 100 * cases);
        for (const Step& step : kSteps) CHECK_MESSAGE(applied[step.name] > cases / 50, step.name);
    }

    TEST_CASE("what is worse for the fish never lets a tank carry more") {
        RandomTanks random(static_cast<unsigned>(asked("COLDTANK_SEED", 7)));
        const int cases = asked("COLDTANK_CASES", random_cases(10000)) / 25;
        int compared = 0;
        for (int i = 0; i < cases; ++i) {
            const System system = random_system(random);
            const Level level = i % 2 == 0 ? Level::warn : Level::fail;
            const TankCapacity before = capacity_of(system, 0, level, Detail::total);
            if (!before.stock) continue;
            for (const Step& step : kSteps) {
                // What the filter takes off the ammonia in warmer water, or leaves of the oxygen
                // when it is young, a tank of its loop may use.
                const bool of_loop = system.loop && (!step.excepted_on_loops.empty() ||
                                                     step.excepted.count(CheckId::oxygen) > 0);
                System worsened = system;
                if (!step.capacity || of_loop || !step.worsen(worsened, random)) continue;
                // What is worse for the stock there is, is it for the stock it can carry too?
                System full = system;
                full.tanks[0] = stocked_with(system.tanks[0], std::max(1.0, before.stock->count));
                if (!step.worsen(full, random)) continue;
                const TankCapacity after = capacity_of(worsened, 0, level, Detail::total);
                // Warmer water, thinner air: less carbon dioxide stays; where that decided, it may
                // carry more.
                if (step.excepted_of &&
                    step.excepted_of(system).count(CheckId::carbon_dioxide) > 0 &&
                    before.limited_by == CheckId::carbon_dioxide) {
                    continue;
                }
                REQUIRE(after.stock.has_value());
                CHECK_MESSAGE(after.stock->count <= before.stock->count,
                              std::string(step.name)
                                  << ": " << before.stock->count << " by "
                                  << name_of(before.limited_by.value_or(CheckId::ration)) << " -> "
                                  << after.stock->count);
                ++compared;
            }
        }
        CHECK(compared > 5 * cases);
    }

    TEST_CASE("a limit in percent of saturation moves, the oxygen and the fail limit do not") {
        RandomTanks random(60);
        int compared = 0;
        for (int i = 0; i < 3000; ++i) {
            System system = random_system(random);
            for (Tank& tank : system.tanks) tank.limits.oxygen_warn_percent.reset();
            const SystemBudget before = assess_system(system);
            for (const Step& step : kSteps) {
                const std::string name = step.name;
                if (name != "warmer water" && name != "a warmer hour" && name != "a higher site") {
                    continue;
                }
                System worsened = system;
                if (!step.worsen(worsened, random)) continue;
                const SystemBudget after = assess_system(worsened);
                for (std::size_t k = 0; k < before.tanks.size(); ++k) {
                    const auto& was = before.tanks[k];
                    const auto& is = after.tanks[k];
                    if (was.oxygen.lowest_mg_l > kNearNothing) {
                        CHECK_MESSAGE(*is.oxygen.lowest_mg_l <= *was.oxygen.lowest_mg_l + kSlack,
                                      name);
                    }
                    const bool failed = find_check(was, CheckId::oxygen)->status == Status::fail;
                    const bool fails = find_check(is, CheckId::oxygen)->status == Status::fail;
                    CHECK_MESSAGE((fails || !failed), name);
                    // The warmest hour does not move the limit at all.
                    if (name == "a warmer hour") CHECK(is.oxygen.warn_mg_l == was.oxygen.warn_mg_l);
                    ++compared;
                }
            }
        }
        CHECK(compared > 5000);
    }

    TEST_CASE("a description that is out of its ranges is said to be, and passes nothing") {
        const double nan = std::numeric_limits<double>::quiet_NaN();
        struct Poke {
            const char* pointer;
            std::function<void(Description&, double)> put;
            std::vector<double> wrong;
        };
        const std::vector<Poke> pokes{
            {"/site/altitude_m",
             [](Description& d, double x) { d.site.altitude_m = x; },
             {nan, -501, 5001}},
            {"/tanks/0/volume_l",
             [](Description& d, double x) { d.tanks[0].volume_l = x; },
             {nan, 0, -1, 2e12}},
            {"/tanks/0/water/temperature_c",
             [](Description& d, double x) { d.tanks[0].water.temperature_c = x; },
             {nan, -1, 45}},
            {"/tanks/0/water/ph",
             [](Description& d, double x) { d.tanks[0].water.ph = x; },
             {nan, 2.9, 12}},
            {"/tanks/0/water/salinity_g_kg",
             [](Description& d, double x) { d.tanks[0].water.salinity_g_kg = x; },
             {nan, -1, 41}},
            {"/tanks/0/water/oxygen_mg_l",
             [](Description& d, double x) { d.tanks[0].readings.oxygen_mg_l = x; },
             {nan, -1, 41}},
            {"/tanks/0/inflow/flow_l_min",
             [](Description& d, double x) { d.tanks[0].inflow[0].flow_l_min = x; },
             {nan, -1}},
            {"/tanks/0/inflow/oxygen_percent",
             [](Description& d, double x) { d.tanks[0].inflow[0].oxygen_percent = x; },
             {nan, -1, 201}},
            {"/tanks/0/fish/0/count",
             [](Description& d, double x) { d.tanks[0].fish[0].count = x; },
             {nan, -1, 1.5}},
            {"/tanks/0/fish/0/mean_weight_g",
             [](Description& d, double x) { d.tanks[0].fish[0].mean_weight_g = x; },
             {nan, 0.04, 30001}},
            {"/tanks/0/fish/0/respiration_factor",
             [](Description& d, double x) { d.tanks[0].fish[0].respiration_factor = x; },
             {nan, 0.09, 11}},
            {"/tanks/0/feed/peak_factor",
             [](Description& d, double x) { d.tanks[0].feed.peak_factor = x; },
             {nan, 0.9, 3.1}},
            {"/tanks/0/feed/fasted_h",
             [](Description& d, double x) { d.tanks[0].feed.fasted_h = x; },
             {nan, -1, 8761}},
            {"/tanks/0/aeration/0/beta",
             [](Description& d, double x) { d.tanks[0].aeration[0].beta = x; },
             {nan, -1, 2.1}},
            {"/tanks/0/limits/oxygen_fail_mg_l",
             [](Description& d, double x) { d.tanks[0].limits.oxygen_fail_mg_l = x; },
             {nan, 2.9}},
            {"/tanks/0/limits/reserve_danger_mg_l",
             [](Description& d, double x) { d.tanks[0].limits.reserve_danger_mg_l = x; },
             {nan, 1.9}},
            {"/loops/0/biofilter/maturity_percent",
             [](Description& d, double x) { d.loops[0].biofilter->maturity_percent = x; },
             {nan, -1, 101}},
            {"/loops/0/exchange_l_day",
             [](Description& d, double x) { d.loops[0].exchange_l_day = x; },
             {nan, -1}},
            {"/tanks/1/loop/flow_l_min",
             [](Description& d, double x) { d.tanks[1].loop->flow_l_min = x; },
             {nan, -1}},
        };
        const System loop = backyard();
        const Description good = described({readme_tank(), loop.tanks[0]}, {*loop.loop});
        CHECK(validate(good).empty());
        for (const Poke& poke : pokes) {
            for (const double wrong : poke.wrong) {
                Description bad = good;
                poke.put(bad, wrong);
                const auto faults = validate(bad);
                CHECK_MESSAGE(std::any_of(faults.begin(), faults.end(),
                                          [&](const DescriptionFault& fault) {
                                              return fault.pointer == poke.pointer;
                                          }),
                              std::string(poke.pointer) << ' ' << wrong);
                if (!std::isnan(wrong)) continue;
                // Whoever does not ask is not told that all is well.
                const Assessment assessment = assess(bad);
                Status worst = Status::pass;
                for (const TankBudget& tank : assessment.tanks) worst = worse(worst, tank.verdict);
                for (const LoopBudget& each : assessment.loops) worst = worse(worst, each.verdict);
                CHECK_MESSAGE(worst >= Status::warn, poke.pointer);
            }
        }
    }

    TEST_CASE("nothing is judged of what is not there") {
        Description description = described({readme_tank()}, {});
        description.tanks[0].water.temperature_c = 45;
        description.tanks[0].water.peak_temperature_c.reset();
        TankBudget budget = assess(description).tanks[0];
        CHECK(find_check(budget, CheckId::oxygen)->status == Status::fail);
        CHECK(budget.verdict == Status::fail);
        // A loop by another name.
        description.tanks = {backyard().tanks[0]};
        description.loops = {*backyard().loop};
        description.tanks[0].loop->name = "lopo";
        budget = assess(description).tanks[0];
        CHECK(budget.verdict == Status::unchecked);
        CHECK(budget.checks.empty());
        CHECK(validate(description).size() == 2);  // no such loop, and one that no tank is on
        CHECK(verdict_of({}).worst == Status::unchecked);
        // No site, no species: numbers that are none, and no end of the program.
        CHECK(std::isnan(site_pressure(Site{}).pressure_kpa));
        Tank nobody = readme_tank();
        nobody.fish[0].species = Species{};
        CHECK(assessed(nobody).verdict == Status::fail);
        CHECK(assessed(readme_tank(), site_pressure(Site{}).pressure_kpa).verdict == Status::fail);
        // What the program reads never gets here, a library may say it.
        const auto faults_of = [](auto change) {
            Description odd = described({readme_tank()}, {});
            change(odd);
            return validate(odd).size();
        };
        CHECK(faults_of([](Description&) {}) == 0);
        CHECK(faults_of([](Description& d) { d.tanks.clear(); }) == 1);
        CHECK(faults_of([](Description& d) { d.tanks.push_back(d.tanks[0]); }) == 1);
        CHECK(faults_of([](Description& d) { d.site.altitude_m.reset(); }) == 1);
        CHECK(faults_of([](Description& d) { d.tanks[0].inflow[0].oxygen_mg_l = 9; }) == 1);
        CHECK(faults_of([](Description& d) { d.tanks[0].inflow[0].ph = 7; }) == 1);
        CHECK(faults_of([](Description& d) {
                  d.tanks[0].inflow[0].ph = 7;
                  d.tanks[0].inflow[0].alkalinity_mg_l = 80;
                  d.tanks[0].inflow[0].carbon_dioxide_mg_l = 2;
              }) == 1);
        CHECK(faults_of([](Description& d) { d.tanks[0].feed.ration_percent_day = 1; }) == 1);
        CHECK(faults_of([](Description& d) {
                  d.tanks[0].limits.oxygen_warn_mg_l = 4;
                  d.tanks[0].limits.oxygen_fail_mg_l = 5;
              }) == 1);
        CHECK(faults_of([](Description& d) {
                  auto& stone = std::get<Diffuser>(d.tanks[0].aeration[0].kind);
                  stone.transfer_percent_per_m = 3;
              }) == 1);
        CHECK(faults_of([](Description& d) {
                  Species& species = d.tanks[0].fish[0].species;
                  species.warn_above_c = species.feeding_stop_c;
              }) == 1);
        Tank full = readme_tank();
        full.fish[0].count = 100;
        full.fish[0].mean_weight_g = 5000;
        CHECK_FALSE(too_heavy(full));  // a quarter of its 2000 L
        full.fish[0].count += 1;
        CHECK(too_heavy(full));
        System loop = backyard();
        loop.loop->biofilter = Biofilter{};
        CHECK(validate(described(loop.tanks, {*loop.loop})).size() == 1);
        // Growth that is known exactly has no band; one that is turned round is refused.
        Tank grows = readme_tank();
        for (const auto& [tgc, faults] : {std::pair{Tgc{1.5e-3, 1.5e-3, 1.5e-3}, 0U},
                                          std::pair{Tgc{1.6e-3, 1.5e-3, 1.5e-3}, 1U},
                                          std::pair{Tgc{1.5e-3, 1.5e-3, 1.4e-3}, 1U}}) {
            grows.fish[0].tgc = tgc;
            CHECK(validate(described({grows}, {})).size() == faults);
        }
        const DescriptionFault fault = validate(described({nobody}, {})).at(0);
        CHECK(fault.pointer == "/tanks/0/fish/0/species");
        Tank slow = backyard().tanks[0];
        slow.loop->flow_l_min = std::numeric_limits<double>::quiet_NaN();
        const System system{kSeaLevelKpa, {slow}, backyard().loop};
        CHECK(find_check(*assess_system(system).loop, CheckId::loop_flow)->status == Status::fail);
    }

    TEST_CASE("every random system that is tried here is a description") {
        RandomTanks random(3);
        for (int i = 0; i < 2000; ++i) {
            const System system = random_system(random);
            Description description = described(system.tanks, {});
            if (system.loop) description.loops.push_back(*system.loop);
            for (Tank& tank : description.tanks) {
                tank.feed.ration_percent_day.reset();  // random ones may say it twice
                if (tank.feed.fasted_h > 24.0) tank.feed.ration_g_day.reset();
            }
            for (const DescriptionFault& fault : validate(description)) {
                const bool known = fault.pointer.find("/feed") != std::string::npos ||
                                   fault.message.find("so much fish") == 0;
                CHECK_MESSAGE(known, fault.pointer << ": " << fault.message);
            }
        }
    }
}
