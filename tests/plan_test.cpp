#include "coldtank/plan.hpp"

#include <algorithm>
#include <map>

#include "check.hpp"

using namespace coldtank;
using namespace coldtank::test;

namespace {

Status worst_of(const SystemBudget& budget) {
    Status worst = Status::pass;
    for (const TankBudget& tank : budget.tanks) worst = worse(worst, tank.verdict);
    return budget.loop ? worse(worst, budget.loop->verdict) : worst;
}

// A tank with a change typed into its description, as a grower would.
void type_in(const Remedy& remedy, Tank& tank) {
    const double value = remedy.value.value_or(0);
    switch (remedy.action) {
        case Action::take_out_fish: {
            double count = 0;
            for (const FishGroup& group : tank.fish) count += group.count;
            const double share = (count - value) / count;
            for (FishGroup& group : tank.fish) {
                group.count = std::floor(group.count * (count - value) / count);
                if (group.ration_g_day) *group.ration_g_day *= share;
            }
            if (tank.feed.ration_g_day) *tank.feed.ration_g_day *= share;
            break;
        }
        case Action::cut_ration:
            type_ration(tank, value);
            break;
        case Action::add_air: {
            double present = 0;
            for (const Aerator& aerator : tank.aeration) {
                const auto* diffuser = std::get_if<Diffuser>(&aerator.kind);
                present += diffuser == nullptr ? 0 : diffuser->air_flow_l_min;
            }
            for (Aerator& aerator : tank.aeration) {
                if (auto* diffuser = std::get_if<Diffuser>(&aerator.kind)) {
                    diffuser->air_flow_l_min *= (present + value) / present;
                }
            }
            break;
        }
        case Action::add_aerator:
            tank.aeration.push_back({"bought", {}, {}, RatedAerator{value}});
            break;
        case Action::add_oxygen:
            tank.aeration.push_back({"bottle", {}, {}, PureOxygen{value, 10}});
            break;
        case Action::raise_flow:
            (!tank.inflow.empty() ? tank.inflow[0].flow_l_min : tank.loop->flow_l_min) = value;
            break;
        case Action::enlarge:
            tank.volume_l = value;
            break;
        default:
            FAIL(name_of(remedy.action));
    }
}

bool is_typed(Action action) {
    return action == Action::take_out_fish || action == Action::cut_ration ||
           action == Action::add_air || action == Action::add_aerator ||
           action == Action::add_oxygen || action == Action::raise_flow ||
           action == Action::enlarge;
}

// What stands in the contract: the worse of the description as it is written and of it without
// today's readings.
Status promised(const System& changed, std::size_t part) {
    const auto verdict = [&](const SystemBudget& budget) {
        return part < budget.tanks.size() ? budget.tanks[part].verdict : budget.loop->verdict;
    };
    return worse(verdict(assess_system(changed)),
                 verdict(assess_system(without_todays_readings(changed))));
}

void holds(const System& system, std::map<Way, int>& met, int& typed, int& passing) {
    const SystemBudget budget = assess_system(system);
    const Plans plans = plan_ways(system, budget);
    REQUIRE(plans.assessments <= kMostPlanAssessments);
    if (worst_of(budget) < Status::warn) {
        CHECK(plans.ways.empty());
        return;
    }
    Status last = Status::pass;
    for (const WayPlan& plan : plans.ways) {
        ++met[plan.way];
        CHECK_FALSE(plan.changes.empty());
        CHECK(plan.worst >= last);  // the best first
        last = plan.worst;
        const System changed = with_changes(system, budget, plan.changes);
        REQUIRE(plan.outcomes.size() == system.tanks.size() + (system.loop ? 1 : 0));
        Status worst = Status::pass;
        for (std::size_t part = 0; part < plan.outcomes.size(); ++part) {
            CHECK(plan.outcomes[part].verdict == promised(changed, part));
            CHECK((plan.outcomes[part].verdict >= Status::warn) ==
                  !plan.outcomes[part].left.empty());
            worst = worse(worst, plan.outcomes[part].verdict);
        }
        CHECK(plan.worst == worst);
        // Of the flow on a loop that of all or that of a tank, and feed for the fish that stay.
        std::map<std::size_t, double> stay;
        bool in_all = false;
        bool of_tank = false;
        for (const Change& change : plan.changes) {
            const Action action = change.remedy.action;
            const double value = change.remedy.value.value_or(0);
            in_all = in_all || action == Action::raise_round;
            of_tank = of_tank || (system.loop && action == Action::raise_flow);
            if (!change.part.tank) continue;
            const TankBudget& of = budget.tanks[*change.part.tank];
            if (action == Action::take_out_fish) {
                CHECK(value < of.fish_count);
                stay[*change.part.tank] = 1 - value / of.fish_count;
            }
            const bool graded = plan.changes.front().remedy.action == Action::grade;
            if (action == Action::cut_ration && !graded && stay.count(*change.part.tank) > 0) {
                CHECK(value <= of.ration_g_day * stay[*change.part.tank] * (1 + 1e-9));
            }
        }
        CHECK_FALSE((in_all && of_tank));
        for (const WayPlan& other : plans.ways) {
            const auto same = [](const Change& a, const Change& b) {
                return a.part.tank == b.part.tank && a.remedy.action == b.remedy.action &&
                       a.remedy.value == b.remedy.value;
            };
            CHECK(
                (&other == &plan || !std::equal(plan.changes.begin(), plan.changes.end(),
                                                other.changes.begin(), other.changes.end(), same)));
        }
        const bool keeps_fish = std::none_of(plan.changes.begin(), plan.changes.end(), [](auto& c) {
            return c.remedy.action == Action::take_out_fish;
        });
        if (plan.way == Way::equipment) CHECK(keeps_fish);
        if (worst == Status::pass || worst == Status::unchecked) ++passing;
        // Typed in by hand it comes to the same.
        const bool by_hand =
            !system.loop && std::all_of(plan.changes.begin(), plan.changes.end(),
                                        [](auto& c) { return is_typed(c.remedy.action); });
        if (!by_hand) continue;
        System own = system;
        for (const Change& change : plan.changes) type_in(change.remedy, own.tanks[0]);
        CHECK(promised(own, 0) == plan.outcomes[0].verdict);
        ++typed;
    }
}

bool has(const std::vector<PartOutcome::Left>& all, CheckId id) {
    return std::any_of(all.begin(), all.end(), [&](auto& left) { return left.check == id; });
}

double multiple_of(double value, double step) {
    return std::abs(value / step - std::round(value / step));
}

}  // namespace

TEST_SUITE("plan") {
    TEST_CASE("each way, carried out, comes to the verdict that it promises") {
        RandomTanks random(14);
        std::map<Way, int> met;
        int typed = 0;
        int passing = 0;
        for (int i = 0; i < random_cases(2500); ++i) {
            const Tank tank = random.next();
            holds(alone(tank, random.pressure_kpa()), met, typed, passing);
        }
        for (const Way way : {Way::fish, Way::equipment, Way::both})
            CHECK(met[way] > random_cases(300));
        CHECK(typed > random_cases(1000));
        CHECK(passing > random_cases(300));
    }

    TEST_CASE("so does each of a loop and all its tanks, solved once") {
        RandomTanks random(15);
        std::map<Way, int> met;
        int typed = 0;
        int passing = 0;
        for (int i = 0; i < random_cases(600); ++i) holds(random_loop(random), met, typed, passing);
        for (const Way way : {Way::fish, Way::equipment, Way::both})
            CHECK(met[way] > random_cases(50));
        CHECK(passing > random_cases(50));
    }

    TEST_CASE("a tank that is overstocked: fewer fish, or air, water and room, or half of each") {
        Tank tank = readme_tank();
        tank.fish[0].count = 600;
        tank.feed = {};
        const System system = alone(tank, kSeaLevelKpa);
        const SystemBudget budget = assess_system(system);
        const Plans plans = plan_ways(system, budget);
        REQUIRE(plans.ways.size() == 3);
        for (const WayPlan& plan : plans.ways) {
            CHECK(plan.worst < Status::warn);
            CHECK(plan.outcomes[0].left.empty());
        }
        const auto fish_of = [&](Way way) {
            for (const WayPlan& plan : plans.ways) {
                if (plan.way != way) continue;
                for (const Change& change : plan.changes) {
                    if (change.remedy.action == Action::take_out_fish) return *change.remedy.value;
                }
            }
            return 0.0;
        };
        CHECK(fish_of(Way::equipment) == 0);
        CHECK(fish_of(Way::both) > 0);
        CHECK(fish_of(Way::both) < fish_of(Way::fish));
        // One fish fewer taken out is not enough.
        Tank one_more = tank;
        one_more.fish[0].count = 600 - fish_of(Way::fish) + 1;
        CHECK(assessed(without_todays_readings(one_more)).verdict >= Status::warn);
    }

    TEST_CASE("what is to be bought, poured and weighed comes in round steps") {
        RandomTanks random(16);
        int seen = 0;
        for (int i = 0; i < 600; ++i) {
            const System system = alone(random.next(), kSeaLevelKpa);
            for (const WayPlan& plan : plan_ways(system, assess_system(system)).ways) {
                for (const Change& change : plan.changes) {
                    const double value = change.remedy.value.value_or(0);
                    double step = 1;
                    switch (change.remedy.action) {
                        case Action::add_air:
                        case Action::add_aerator:
                            step = value < 20 ? 1 : value <= 100 ? 5 : 10;
                            break;
                        case Action::raise_flow:
                        case Action::add_inflow:
                            step = value < 20 ? 1 : 5;
                            break;
                        case Action::enlarge:
                            step = value <= 1000 ? 50 : 100;
                            break;
                        case Action::cut_ration:
                            step = value <= 10     ? 0.5
                                   : value <= 50   ? 1
                                   : value <= 200  ? 5
                                   : value <= 2000 ? 10
                                                   : 100;
                            break;
                        case Action::add_oxygen:
                        case Action::cut_oxygen:
                            step = 0.1;
                            break;
                        case Action::cool:
                            step = 0.5;
                            break;
                        default:
                            break;
                    }
                    CHECK_MESSAGE(multiple_of(value, step) < 1e-9, name_of(change.remedy.action),
                                  " ", value);
                    ++seen;
                }
            }
        }
        CHECK(seen > 1000);
    }

    TEST_CASE("too much pure oxygen is turned down, not blown out") {
        Tank tank = readme_tank();
        tank.feed = {};
        tank.aeration.push_back({"bottle", {}, {}, PureOxygen{12, 15}});
        const System system = alone(tank, kSeaLevelKpa);
        const SystemBudget budget = assess_system(system);
        REQUIRE(find_check(budget.tanks[0], CheckId::oxygen_excess)->status >= Status::warn);
        const Plans plans = plan_ways(system, budget);
        REQUIRE_FALSE(plans.ways.empty());
        REQUIRE(plans.ways[0].changes.size() == 1);
        CHECK(plans.ways[0].changes[0].remedy.action == Action::cut_oxygen);
        CHECK(plans.ways[0].worst < Status::warn);
    }

    TEST_CASE("what no way can mend is named, and what passes needs none") {
        CHECK(plan_ways(alone(readme_tank(), kSeaLevelKpa),
                        assess_system(alone(readme_tank(), kSeaLevelKpa)))
                  .ways.empty());
        Tank hot = readme_tank();
        hot.fish[0].count = 600;
        hot.feed = {};
        hot.water.ph = 5.8;  // fails, and nothing that is bought raises it
        hot.water.peak_temperature_c.reset();
        const System system = alone(hot, kSeaLevelKpa);
        const Plans plans = plan_ways(system, assess_system(system));
        REQUIRE_FALSE(plans.ways.empty());
        for (const WayPlan& plan : plans.ways) {
            CHECK(plan.worst == Status::fail);
            const auto& left = plan.outcomes[0].left;
            CHECK(has(left, CheckId::ph));
            CHECK_FALSE(has(left, CheckId::oxygen));
        }
    }

    TEST_CASE("where only a reading of today stops it, it says so") {
        Tank tank = readme_tank();
        tank.fish[0].count = 600;
        tank.feed = {};
        tank.readings.oxygen_mg_l = 4;
        const System system = alone(tank, kSeaLevelKpa);
        const Plans plans = plan_ways(system, assess_system(system));
        REQUIRE_FALSE(plans.ways.empty());
        CHECK(plans.ways[0].outcomes[0].verdict == Status::fail);
        for (const PartOutcome::Left& left : plans.ways[0].outcomes[0].left) {
            CHECK(left.until_measured);
        }
        CHECK(has(plans.ways[0].outcomes[0].left, CheckId::oxygen));
    }
}
