#include "coldtank/haul.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include "check.hpp"
#include "coldtank/outage.hpp"

using namespace coldtank;
using namespace coldtank::test;

namespace {

// 10 L, four rainbow of 250 g, 12 degC, no air.
Trip bucket() {
    Trip trip{};
    trip.name = "bucket";
    trip.water_l = 10;
    trip.temperature_c = 12;
    trip.minutes = 40;
    FishGroup group = readme_tank().fish[0];
    group.count = 4;
    group.mean_weight_g = 250;
    trip.fish = {group};
    trip.fasted_h = 48;
    return trip;
}

const Check& check_of(const TripBudget& budget, CheckId id) {
    return *std::find_if(budget.checks.begin(), budget.checks.end(),
                         [&](const Check& check) { return check.id == id; });
}

Trip changed(const Trip& trip, const TripPlan& plan) {
    Trip out = trip;
    switch (plan.change) {
        case TripChange::fewer:
            out.fish[0].count = plan.value;
            break;
        case TripChange::more_water:
            out.water_l = plan.value;
            break;
        case TripChange::more_air: {
            double air = 0;
            for (const Aerator& each : trip.aeration) {
                if (const auto* stone = std::get_if<Diffuser>(&each.kind)) {
                    air += stone->air_flow_l_min;
                }
            }
            for (Aerator& each : out.aeration) {
                if (auto* stone = std::get_if<Diffuser>(&each.kind)) {
                    stone->air_flow_l_min *= (air + plan.value) / air;
                }
            }
            break;
        }
        case TripChange::aerate_first:
            out.start_oxygen_percent = plan.value;
            break;
        case TripChange::less_oxygen: {
            double oxygen = 0;
            for (const Aerator& each : trip.aeration) {
                if (const auto* pure = std::get_if<PureOxygen>(&each.kind)) {
                    oxygen += pure->flow_l_min;
                }
            }
            for (Aerator& each : out.aeration) {
                if (auto* pure = std::get_if<PureOxygen>(&each.kind)) {
                    pure->flow_l_min *= plan.value / oxygen;
                }
            }
            break;
        }
        case TripChange::add_oxygen:
            out.aeration.push_back({{}, {}, {}, PureOxygen{plan.value, kAddedAbsorption}});
            break;
        case TripChange::ice:
            out.temperature_c = plan.cooler_c;
            break;
        case TripChange::change_water:
            CHECK(plan.value == trip.water_l / 2);  // half of it each time
            out.water_change = Trip::WaterChange{plan.value / trip.water_l, plan.every_min};
            break;
        case TripChange::shorter:
            out.minutes = plan.value;
            break;
    }
    return out;
}

}  // namespace

TEST_SUITE("haul") {
    TEST_CASE("minutes of a bucket without air: the worked numbers of four 250 g rainbow") {
        // From 10.7 mg/L; the worked numbers are at an even demand, quiet and at x 1.6.
        const Trip trip = bucket();
        const TripBudget budget = assess_trip(trip, kSeaLevelKpa);
        check_close(budget.oxygen_start_mg_l, 10.77, 0.02);
        const double from = 10.7 / budget.oxygen_start_mg_l;
        Trip full = trip;
        full.start_oxygen_percent = 100 * from;
        const TripBudget handled = assess_trip(full, kSeaLevelKpa);
        check_close(handled.oxygen_start_mg_l, 10.7, 1e-9);
        // x 1.6 in the first hour, which all of it falls in.
        check_close(handled.minutes_to_warn.value(), 13.0, 0.01 * 13.0);
        check_close(handled.minutes_to_fail.value(), 15.7, 0.01 * 15.7);
        check_close(handled.minutes_to_danger.value(), 21.2, 0.01 * 21.2);
        // Quiet: 1.6 times as long.
        check_close(1.6 * handled.minutes_to_danger.value(), 34.0, 0.01 * 34.0);
        check_close(1.6 * handled.minutes_to_fail.value(), 25.1, 0.01 * 25.1);
        // Carbon dioxide rises by 18.7 mg/L an hour when quiet.
        const double per_h = (handled.carbon_dioxide_end_mg_l - 0.6) / (40.0 / 60) / 1.6;
        check_close(per_h, 18.7, 0.02 * 18.7);
    }

    TEST_CASE("what the books say of loads and ice") {
        // Piper et al. 1982 p. 356: 1000 lb at 52 degF is 722 at 57 and 1278 at 47.
        check_close(1000 * load_share((57 - 32) / 1.8), 722, 0.5);
        check_close(1000 * load_share((47 - 32) / 1.8), 1278, 0.5);
        check_close(1000 * load_share((52 - 32) / 1.8), 1000, 1e-9);
        // 10 L from 15 to 10 degC.
        check_close(ice_kg(10, 15, 10), 0.557, 5e-4);
    }

    TEST_CASE("an air stone is never worse than none in a bucket") {
        Trip trip = bucket();
        trip.fasted_h = 0;
        const TripBudget bare = assess_trip(trip, kSeaLevelKpa);
        for (const double air : {0.5, 1.0, 2.0, 5.0}) {
            Trip stone = trip;
            stone.aeration = {{{}, {}, {}, Diffuser{air, 0.2, Bubble::medium, {}}}};
            const TripBudget budget = assess_trip(stone, kSeaLevelKpa);
            CHECK(budget.oxygen_lowest_mg_l >= bare.oxygen_lowest_mg_l);
            CHECK(budget.carbon_dioxide_most_mg_l <= bare.carbon_dioxide_most_mg_l);
            CHECK(budget.minutes_to_danger.value_or(HUGE_VAL) >= *bare.minutes_to_danger);
        }
    }

    TEST_CASE(
        "more fish, longer, warmer or smaller is never better; a fast and a change never worse") {
        const auto worse_or_same = [](const Trip& worse, const Trip& better) {
            const TripBudget a = assess_trip(worse, kSeaLevelKpa);
            const TripBudget b = assess_trip(better, kSeaLevelKpa);
            CHECK(a.oxygen_lowest_mg_l <= b.oxygen_lowest_mg_l + 1e-9);
            CHECK(a.carbon_dioxide_most_mg_l >= b.carbon_dioxide_most_mg_l - 1e-9);
            CHECK(a.tan_end_mg_l >= b.tan_end_mg_l - 1e-9);
        };
        for (const double minutes : {10.0, 59.0, 60.0, 61.0, 240.0}) {
            for (const double litres : {20.0, 60.0, 300.0}) {
                Trip trip = bucket();
                trip.minutes = minutes;
                trip.water_l = litres;
                trip.aeration = {{{}, {}, {}, Diffuser{2, 0.3, Bubble::medium, {}}}};
                Trip other = trip;
                other.fish[0].count = 5;
                worse_or_same(other, trip);
                other = trip;
                other.minutes += 7;
                worse_or_same(other, trip);
                other = trip;
                other.water_l *= 0.9;
                worse_or_same(other, trip);
                other = trip;
                other.fasted_h = 0;
                worse_or_same(other, trip);
                other = trip;
                other.water_change = Trip::WaterChange{0.3, 9};
                worse_or_same(trip, other);
            }
        }
    }

    TEST_CASE("ammonia is judged at the pH of the start: carbon dioxide is no cure") {
        Trip trip = bucket();
        trip.water_l = 60;
        trip.minutes = 180;
        CHECK(check_of(assess_trip(trip, kSeaLevelKpa), CheckId::ammonia).status ==
              Status::unchecked);
        CHECK_FALSE(assess_trip(trip, kSeaLevelKpa).ph_end.has_value());
        trip.ph = 8;
        trip.alkalinity_mg_l = 100;
        const TripBudget budget = assess_trip(trip, kSeaLevelKpa);
        CHECK(budget.ph_end.value() < 8);
        CHECK(budget.nh3_end_mg_l.value() < check_of(budget, CheckId::ammonia).value.value());
        trip.arrival_ph = 8.6;
        CHECK(check_of(assess_trip(trip, kSeaLevelKpa), CheckId::ammonia).value.value() >
              2 * check_of(budget, CheckId::ammonia).value.value());
    }

    TEST_CASE("carbon dioxide of the start is judged; so is the water that they go to") {
        Trip trip = bucket();
        trip.minutes = 5;
        trip.ph = 6.4;
        trip.alkalinity_mg_l = 200;
        trip.aeration = {{{}, {}, {}, Diffuser{50, 0.5, Bubble::medium, {}}}};
        const TripBudget sour = assess_trip(trip, kSeaLevelKpa);
        CHECK(sour.carbon_dioxide_most_mg_l > 150);
        CHECK(check_of(sour, CheckId::carbon_dioxide).status == Status::fail);
        // 24 degC kills rainbow trout, whatever they come from.
        trip.arrival_temperature_c = 24;
        CHECK(check_of(assess_trip(trip, kSeaLevelKpa), CheckId::temperature).status ==
              Status::fail);
        // More of the ammonia is NH3 in warmer water at the same pH.
        trip.ph = 8;
        const auto nh3 = [&](double arrival_c) {
            trip.arrival_temperature_c = arrival_c;
            trip.fasted_h = 0;
            const TripBudget budget = assess_trip(trip, kSeaLevelKpa);
            return *check_of(budget, CheckId::ammonia).value / budget.tan_end_mg_l;
        };
        CHECK(nh3(18) > 1.4 * nh3(12));
    }

    TEST_CASE("the pH of the water, and of that they go to, is judged as a tank's") {
        Trip trip = bucket();
        trip.minutes = 5;
        trip.alkalinity_mg_l = 100;
        trip.ph = 7.4;
        CHECK(check_of(assess_trip(trip, kSeaLevelKpa), CheckId::ph).status == Status::pass);
        trip.arrival_ph = 4;
        CHECK(check_of(assess_trip(trip, kSeaLevelKpa), CheckId::ph).status == Status::fail);
        trip.arrival_ph.reset();
        trip.ph = 4;
        trip.alkalinity_mg_l = 0;
        CHECK(check_of(assess_trip(trip, kSeaLevelKpa), CheckId::ph).status == Status::fail);
    }

    TEST_CASE("salt water is judged as a tank's") {
        Trip trip = bucket();
        trip.minutes = 5;
        trip.salinity_g_kg = 25;
        CHECK(check_of(assess_trip(trip, kSeaLevelKpa), CheckId::salinity).status == Status::fail);
    }

    TEST_CASE("fish that warm on arrival breathe harder while they wait") {
        Trip trip = bucket();
        trip.water_l = 100;
        trip.minutes = 30;
        trip.arrival_temperature_c = 18;
        const TripBudget warm = assess_trip(trip, kSeaLevelKpa);
        const double lowest = check_of(warm, CheckId::oxygen).value.value();
        CHECK(lowest < warm.oxygen_lowest_mg_l);
        // At most as if all of it were in the warm water, from what is in the water today.
        Trip all = trip;
        all.arrival_temperature_c.reset();
        all.temperature_c = 18;
        all.minutes = warm.minutes;
        const TripBudget hot = assess_trip(all, kSeaLevelKpa);
        CHECK(warm.oxygen_start_mg_l - lowest < hot.oxygen_start_mg_l - hot.oxygen_lowest_mg_l);
        // Cooler water changes nothing of this.
        trip.arrival_temperature_c = 8;
        const TripBudget cool = assess_trip(trip, kSeaLevelKpa);
        check_close(check_of(cool, CheckId::oxygen).value.value(), cool.oxygen_lowest_mg_l, 1e-12);
    }

    TEST_CASE("oxygen over saturation is judged; a token flow is no haul with oxygen") {
        Trip trip = bucket();
        trip.water_l = 1000;
        trip.minutes = 360;
        trip.fasted_h = 72;
        trip.aeration = {{{}, {}, {}, PureOxygen{3, 15}}};
        CHECK(check_of(assess_trip(trip, kSeaLevelKpa), CheckId::oxygen_excess).status ==
              Status::fail);
        trip.aeration = {{{}, {}, {}, PureOxygen{0, 15}}};
        const TripBudget none = assess_trip(trip, kSeaLevelKpa);
        trip.aeration.clear();
        check_close(*check_of(none, CheckId::load).warn.high,
                    *check_of(assess_trip(trip, kSeaLevelKpa), CheckId::load).warn.high, 1e-12);
    }

    TEST_CASE("waiting on arrival makes a trip long; ice freezes no water") {
        Trip trip = bucket();
        trip.fasted_h = 0;
        trip.minutes = 50;
        trip.arrival_temperature_c = 14;
        CHECK(check_of(assess_trip(trip, kSeaLevelKpa), CheckId::fasting).status == Status::warn);
        trip.arrival_temperature_c.reset();
        trip.temperature_c = 2.5;
        for (const TripPlan& plan : plan_trip(trip, kSeaLevelKpa)) {
            if (plan.change == TripChange::ice) CHECK(plan.cooler_c >= 1);
        }
    }

    TEST_CASE("do not wait on arrival: where the way alone passes, and the waiting does not") {
        std::map<bool, int> seen;
        for (double count = 2; count < 40; count += 1) {
            for (const double minutes : {10.0, 40.0, 120.0}) {
                Trip trip;
                trip.name = "a";
                trip.water_l = 80;
                trip.temperature_c = 10;
                trip.minutes = minutes;
                trip.fish = {fish("rainbow trout", count, 150)};
                trip.aeration = {diffuser(3, 0.3)};
                const TripBudget way = assess_trip(trip, kSeaLevelKpa);
                trip.arrival_temperature_c = 6;
                const TripBudget whole = assess_trip(trip, kSeaLevelKpa);
                const auto passes = [](const TripBudget& of) {
                    return of.oxygen_lowest_mg_l >= 6 && of.carbon_dioxide_most_mg_l <= 20;
                };
                CHECK(whole.mix_on_arrival == (passes(way) && !passes(whole)));
                ++seen[whole.mix_on_arrival];
            }
        }
        CHECK(seen[true] > 3);
        CHECK(seen[false] > 3);
        // To the minute, where only the gas spoils it.
        Trip trip = bucket();
        trip.aeration = {{{}, {}, {}, PureOxygen{2, 90}}};
        trip.minutes = 50;
        trip.arrival_temperature_c.reset();
        const double stale = assess_trip(trip, kSeaLevelKpa).minutes_to_stale.value();
        trip.arrival_temperature_c = trip.temperature_c - 2;
        trip.minutes = stale * 0.999;
        CHECK(assess_trip(trip, kSeaLevelKpa).oxygen_lowest_mg_l > 6);
        CHECK(assess_trip(trip, kSeaLevelKpa).mix_on_arrival);
        trip.minutes = stale * 1.001;
        CHECK_FALSE(assess_trip(trip, kSeaLevelKpa).mix_on_arrival);
    }

    TEST_CASE("tempering counts; long trips want a fast; small fish bear less load") {
        Trip trip = bucket();
        trip.arrival_temperature_c = 15;
        const TripBudget budget = assess_trip(trip, kSeaLevelKpa);
        check_close(budget.tempering_min, 90, 1e-9);
        check_close(budget.minutes, 130, 1e-9);
        trip = bucket();
        trip.minutes = 61;
        CHECK(check_of(assess_trip(trip, kSeaLevelKpa), CheckId::fasting).status == Status::warn);
        trip.fasted_h = 72;
        CHECK(check_of(assess_trip(trip, kSeaLevelKpa), CheckId::fasting).status == Status::pass);
        const double bears = *check_of(assess_trip(trip, kSeaLevelKpa), CheckId::load).warn.high;
        check_close(bears, 0.085 * (1 - (53.6 - 52) / 18), 1e-9);
        trip.aeration = {{{}, {}, {}, PureOxygen{1, 10}}};
        check_close(*check_of(assess_trip(trip, kSeaLevelKpa), CheckId::load).warn.high, 2 * bears,
                    1e-9);
        trip.fish[0].mean_weight_g = 10;
        CHECK(*check_of(assess_trip(trip, kSeaLevelKpa), CheckId::load).warn.high < bears * 1.1);
    }

    TEST_CASE("what is offered, carried out, comes to the verdict that it promises") {
        std::set<TripChange> met;
        for (const double litres : {10.0, 20.0, 60.0}) {
            for (const double count : {2.0, 6.0, 12.0}) {
                for (const double minutes : {20.0, 40.0, 90.0}) {
                    for (const double air : {0.0, 2.0}) {
                        Trip trip = bucket();
                        trip.water_l = litres;
                        trip.fish[0].count = count;
                        trip.minutes = minutes;
                        trip.temperature_c = 15;
                        trip.ph = 7.4;
                        trip.alkalinity_mg_l = 80;
                        if (air > 0)
                            trip.aeration = {{{}, {}, {}, Diffuser{air, 0.2, Bubble::medium, {}}}};
                        if (litres > 50) {  // more air is none of its business
                            trip.aeration.push_back({{}, {}, {}, PureOxygen{0.1, 15}});
                        }
                        const TripBudget today = assess_trip(trip, kSeaLevelKpa);
                        const auto plans = plan_trip(trip, kSeaLevelKpa);
                        if (today.verdict < Status::warn) CHECK(plans.empty());
                        Status before = Status::pass;
                        for (const TripPlan& plan : plans) {
                            const TripBudget after = assess_trip(changed(trip, plan), kSeaLevelKpa);
                            CHECK(after.verdict == plan.verdict_after);
                            std::vector<CheckId> left;
                            for (const Check& check : after.checks) {
                                if (check.status >= Status::warn) left.push_back(check.id);
                            }
                            CHECK(left == plan.left);
                            CHECK(plan.verdict_after >= before);  // the best first
                            before = plan.verdict_after;
                            met.insert(plan.change);
                        }
                    }
                }
            }
        }
        for (const TripChange change :
             {TripChange::fewer, TripChange::more_water, TripChange::more_air,
              TripChange::add_oxygen, TripChange::change_water, TripChange::shorter}) {
            CHECK_MESSAGE(met.count(change) == 1, name_of(change));
        }
    }

    TEST_CASE("air that drives carbon dioxide out raises the pH, and ammonia is judged there") {
        Trip trip;
        trip.name = "a";
        trip.water_l = 120;
        trip.temperature_c = 14;
        trip.minutes = 300;
        trip.fish = {fish("rainbow trout", 20, 60)};
        trip.ph = 7.6;
        trip.alkalinity_mg_l = 220;
        trip.fasted_h = 72;
        trip.aeration = {Aerator{.kind = Diffuser{20, 0.4, Bubble::fine}}};
        const TripBudget budget = assess_trip(trip, kSeaLevelKpa);
        const Check& ammonia = check_of(budget, CheckId::ammonia);
        REQUIRE(budget.nh3_end_mg_l.has_value());
        CHECK(*budget.ph_end > 8);
        CHECK(*ammonia.value >= *budget.nh3_end_mg_l - 1e-12);
        CHECK(ammonia.status == Status::warn);
        CHECK(budget.verdict == Status::warn);
        // Still water: carbon dioxide lowers the pH, and does not cure it.
        trip.aeration.clear();
        const TripBudget still = assess_trip(trip, kSeaLevelKpa);
        CHECK(*still.ph_end < 7.6);
        CHECK(*check_of(still, CheckId::ammonia).value > *still.nh3_end_mg_l);
    }
}
