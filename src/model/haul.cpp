#include "coldtank/haul.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "balance.hpp"
#include "changes.hpp"
#include "coldtank/course.hpp"
#include "coldtank/outage.hpp"
#include "formulas.hpp"
#include "halve.hpp"
#include "judgement.hpp"
#include "numbers.hpp"
#include "steps.hpp"

namespace coldtank {
namespace {

constexpr Constant kOxygenWarn{"oxygen of a haul, warn", 6, "mg/L", Basis::judgement,
                               "as in a tank"};
constexpr Constant kOxygenFail{"oxygen of a haul, fail", 5, "mg/L", Basis::judgement,
                               "as in a tank"};
constexpr Constant kCo2Warn{"carbon dioxide of a haul, warn", 20, "mg/L", Basis::published,
                            "for hauling with oxygen"};
constexpr Constant kCo2Fail{"carbon dioxide of a haul, fail", 30, "mg/L", Basis::judgement,
                            "half more"};
constexpr Constant kNh3Warn{"ammonia of a haul, warn", 0.025, "mg/L", Basis::published,
                            "Piper et al. 1982 p. 357"};
constexpr Constant kNh3Fail{"ammonia of a haul, fail", 0.13, "mg/L", Basis::published,
                            "harms in 6 h, Piper et al. 1982 p. 357"};
constexpr Constant kExcessWarn{"oxygen excess of a haul, warn", 120, "% of saturation",
                               Basis::judgement, "fails in a tank; for hours only"};
constexpr Constant kExcessFail{"oxygen excess of a haul, fail", 200, "% of saturation",
                               Basis::judgement, "more than pays off"};
constexpr Constant kFullLengthCm{"length from which a haul bears its full load", 20, "cm",
                                 Basis::published,
                                 "in proportion to length, Piper et al. 1982 p. 360"};
constexpr Constant kLongTripMin{"trip from which fish are fasted before", 60, "min",
                                Basis::judgement, "shorter ones foul little water"};
constexpr Constant kFastedSmallH{"fasting before a haul, over 10 cm", 48, "h", Basis::published,
                                 "Piper et al. 1982 p. 357"};
constexpr Constant kFastedLargeH{"fasting before a haul, over 20 cm", 72, "h", Basis::published,
                                 "Piper et al. 1982 p. 357"};
constexpr double kDangerMgL = 3;
constexpr double kColdestC = 1;  // of water cooled by ice
constexpr double kSmallCm = 10;
constexpr double kLargeCm = 20;

// As a tank without flow: its fish and its water are worked out and judged as such.
Tank as_tank(const Trip& trip) {
    Tank tank{};
    tank.name = trip.name;
    tank.volume_l = trip.water_l;
    tank.water.temperature_c = trip.temperature_c;
    tank.water.salinity_g_kg = trip.salinity_g_kg;
    tank.water.ph = trip.ph;
    tank.fish = trip.fish;
    return tank;
}

// The terms of the three balances while nothing changes but how hard the fish breathe.
struct Terms {
    double water_m3;
    double saturation_mg_l;
    double breathes_g_h;  // at rest, after its fast
    Transfer air;
    double strips_m3_h = 0;
    double in_air_mg_l;
    double excretes_g_h;

    Course oxygen(double handling) const {
        return {water_m3, air.full_g_h + air.pure_g_h - handling * breathes_g_h, air.k_m3_h};
    }
    Course carbon_dioxide(double handling, const Coefficients& k) const {
        return {water_m3,
                strips_m3_h * in_air_mg_l + carbon_dioxide_from_oxygen(handling * breathes_g_h, k),
                strips_m3_h};
    }
    Course ammonia() const { return {water_m3, excretes_g_h, 0}; }
};

Terms terms_of(const Trip& trip, const Tank& tank, const TankBudget& budget, double pressure_kpa) {
    const Coefficients& k = tank.coefficients;
    const WaterState water{.temperature_c = trip.temperature_c,
                           .salinity_g_kg = trip.salinity_g_kg,
                           .pressure_kpa = pressure_kpa};
    Terms terms{};
    terms.water_m3 = budget.water_m3;
    terms.saturation_mg_l = oxygen_saturation_mg_l(water);
    terms.air = transfer_of(trip.aeration, trip.temperature_c, terms.saturation_mg_l, k);
    terms.in_air_mg_l = carbon_dioxide_in_air_mg_l(water, k);
    for (const Aerator& aerator : trip.aeration) {
        terms.strips_m3_h += stripping_m3_h(aerator, trip.temperature_c, k);
    }
    double excreted_g_day = 0;
    std::size_t i = 0;
    for (const FishGroup& group : trip.fish) {
        if (group.count == 0) continue;
        const GroupBudget& figures = budget.groups[i++];
        terms.breathes_g_h += formulas::oxygen_by_respiration_g_h(
            group.respiration_factor * figures.fed_peak_mg_kg_h, figures.biomass_kg);
        excreted_g_day += excreted_feed_g_day({0, figures.table_ration_g_day, trip.fasted_h}, k);
    }
    terms.breathes_g_h *= fasting_share(trip.fasted_h, k);
    terms.excretes_g_h = tan_production_g_day({.excreted_g_day = excreted_g_day,
                                               .protein_percent = k.protein_percent,
                                               .biomass_kg = budget.biomass_kg},
                                              k) /
                         24;
    return terms;
}

// The three concentrations of a trip, from one change to the next.
struct Pieces {
    std::vector<Piece> oxygen, carbon_dioxide, tan;
};

struct Start {
    double oxygen_mg_l, carbon_dioxide_mg_l;  // without ammonia
};

Start start_of(const Trip& trip, const Terms& terms) {
    Start start{trip.start_oxygen_percent / 100 * terms.saturation_mg_l, terms.in_air_mg_l};
    if (trip.ph && trip.alkalinity_mg_l) {
        const double by_ph =
            carbon_dioxide_mg_l({trip.temperature_c, *trip.alkalinity_mg_l}, *trip.ph);
        if (std::isfinite(by_ph)) start.carbon_dioxide_mg_l = by_ph;
    }
    return start;
}

// Until so many minutes, of which those after the trip itself are waited in water of `waiting`.
// Water is changed for the same as at the start, saturated and without ammonia.
Pieces pieces_of(const Trip& trip, const Terms& on_the_way, const Terms& waiting, double end_min,
                 const Coefficients& k) {
    const double every_min = trip.water_change ? trip.water_change->every_min : HUGE_VAL;
    const double fresh_co2_mg_l = start_of(trip, on_the_way).carbon_dioxide_mg_l;
    Pieces out;
    double next_change_min = every_min;
    for (double now_min = 0; now_min < end_min;) {
        double next_min = std::min(end_min, next_change_min);
        for (const double change_min : {double{kHandlingMin}, trip.minutes}) {
            if (change_min > now_min) next_min = std::min(next_min, change_min);
        }
        const Terms& terms = now_min < trip.minutes ? on_the_way : waiting;
        const double handling = now_min < kHandlingMin ? double{kHandling} : 1;
        const double hours = (next_min - now_min) / 60;
        double renewed = 0;
        if (next_min == next_change_min) {
            renewed = trip.water_change->share;
            next_change_min += every_min;
        }
        out.oxygen.push_back(
            {terms.oxygen(handling), hours, HUGE_VAL, renewed, terms.saturation_mg_l});
        out.carbon_dioxide.push_back(
            {terms.carbon_dioxide(handling, k), hours, HUGE_VAL, renewed, fresh_co2_mg_l});
        out.tan.push_back({terms.ammonia(), hours, HUGE_VAL, renewed, 0});
        now_min = next_min;
    }
    return out;
}

Check judged(CheckId id, double value, Bound warn, Bound fail) {
    Check check = new_check(id);
    check.warn = warn;
    check.fail = fail;
    judge_value(check, value);
    return check;
}

double shortest_cm(const TankBudget& budget) {
    double shortest = HUGE_VAL;
    for (const GroupBudget& group : budget.groups) shortest = std::min(shortest, group.length_cm);
    return shortest;
}

constexpr std::array kSources{
    kOxygenWarn,  kOxygenFail,     kCo2Warn,      kCo2Fail,        kNh3Warn,      kNh3Fail,
    kExcessWarn,  kExcessFail,     kFullLengthCm, kLongTripMin,    kFastedSmallH, kFastedLargeH,
    kHandlingMin, kHaulLoadOxygen, kHaulLoadAir,  kTemperingCPerH, kIceMostC};

}  // namespace

double load_share(double temperature_c) noexcept {
    return formulas::haul_load_share(temperature_c);
}

double ice_kg(double water_l, double from_c, double to_c) noexcept {
    return formulas::ice_kg(water_l, from_c, to_c);
}

TripBudget assess_trip(const Trip& trip, double pressure_kpa) {
    const Tank tank = as_tank(trip);
    const Coefficients& k = tank.coefficients;
    const TankBudget budget = assess_tank(tank, {}, {pressure_kpa});
    const Terms terms = terms_of(trip, tank, budget, pressure_kpa);
    TripBudget out;
    out.trip = trip.name;
    out.fish_count = budget.fish_count;
    out.biomass_kg = budget.biomass_kg;
    out.load_kg_l = budget.biomass_kg / trip.water_l;
    if (trip.arrival_temperature_c) {
        out.tempering_min =
            60 * std::abs(*trip.arrival_temperature_c - trip.temperature_c) / kTemperingCPerH;
    }
    out.minutes = trip.minutes + out.tempering_min;
    const Start start = start_of(trip, terms);
    // As if it went on for a week.
    constexpr double kWeekMin = 7 * 24 * 60;
    const Pieces on = pieces_of(trip, terms, terms, std::max(kWeekMin, out.minutes), k);
    out.minutes_to_warn = minutes_down_to(on.oxygen, start.oxygen_mg_l, kOxygenWarn);
    out.minutes_to_fail = minutes_down_to(on.oxygen, start.oxygen_mg_l, kOxygenFail);
    out.minutes_to_danger = minutes_down_to(on.oxygen, start.oxygen_mg_l, kDangerMgL);
    out.minutes_to_stale = minutes_up_to(on.carbon_dioxide, start.carbon_dioxide_mg_l, kCo2Warn);
    const Pieces run = pieces_of(trip, terms, terms, out.minutes, k);
    const Reach oxygen = reach_of(run.oxygen, start.oxygen_mg_l, HUGE_VAL);
    const Reach co2 = reach_of(run.carbon_dioxide, start.carbon_dioxide_mg_l, HUGE_VAL);
    const Reach tan = reach_of(run.tan, 0, HUGE_VAL);
    out.oxygen_start_mg_l = start.oxygen_mg_l;
    out.oxygen_lowest_mg_l = oxygen.lowest_mg_l;
    out.oxygen_end_mg_l = oxygen.last_mg_l;
    out.carbon_dioxide_end_mg_l = co2.last_mg_l;
    out.carbon_dioxide_most_mg_l = co2.most_mg_l;
    out.tan_end_mg_l = tan.last_mg_l;
    const double before_waiting =
        reach_of(run.oxygen, start.oxygen_mg_l, trip.minutes / 60).lowest_mg_l;
    const double gas_before =
        reach_of(run.carbon_dioxide, start.carbon_dioxide_mg_l, trip.minutes / 60).most_mg_l;

    const WaterState water{.temperature_c = trip.temperature_c,
                           .salinity_g_kg = trip.salinity_g_kg,
                           .pressure_kpa = pressure_kpa};
    const auto nh3_in = [&](const WaterState& in, double tan_mg_l, double ph) {
        return nh3_mg_l(
            {.tan_mg_l = tan_mg_l, .unionised_fraction = unionised_fraction(in, ph, k)});
    };
    const auto nh3_at = [&](double tan_mg_l, double ph) { return nh3_in(water, tan_mg_l, ph); };
    if (trip.ph && trip.alkalinity_mg_l) {
        const double ph = ph_from_carbon_dioxide({trip.temperature_c, *trip.alkalinity_mg_l},
                                                 out.carbon_dioxide_end_mg_l);
        if (std::isfinite(ph)) {
            out.ph_end = ph;
            out.nh3_end_mg_l = nh3_at(out.tan_end_mg_l, ph);
        }
    }
    // ---- checks
    double lowest_mg_l = out.oxygen_lowest_mg_l;
    double most_co2_mg_l = out.carbon_dioxide_most_mg_l;
    if (trip.arrival_temperature_c > trip.temperature_c) {
        // They breathe harder while they warm: all of the wait as in the water that they go to,
        // where that is worse.
        Trip warmer = trip;
        warmer.temperature_c = *trip.arrival_temperature_c;
        const Tank there = as_tank(warmer);
        const Terms warm_terms =
            terms_of(warmer, there, assess_tank(there, {}, {pressure_kpa}), pressure_kpa);
        const Pieces warm = pieces_of(trip, terms, warm_terms, out.minutes, k);
        lowest_mg_l =
            std::min(lowest_mg_l, reach_of(warm.oxygen, start.oxygen_mg_l, HUGE_VAL).lowest_mg_l);
        most_co2_mg_l =
            std::max(most_co2_mg_l,
                     reach_of(warm.carbon_dioxide, start.carbon_dioxide_mg_l, HUGE_VAL).most_mg_l);
    }
    out.checks.push_back(judged(CheckId::oxygen, lowest_mg_l, {.low = kOxygenWarn.value},
                                {.low = kOxygenFail.value}));
    out.checks.push_back(judged(CheckId::carbon_dioxide, most_co2_mg_l, {.high = kCo2Warn.value},
                                {.high = kCo2Fail.value}));
    if (trip.ph && trip.alkalinity_mg_l) {
        // Carbon dioxide must not cure it, and air that drives it out makes it worse: at the
        // highest pH of the way, also where they wait in warmer water; and in the water that they
        // go to.
        WaterState arrival = water;
        arrival.temperature_c = trip.arrival_temperature_c.value_or(trip.temperature_c);
        const double airy_ph =
            ph_from_carbon_dioxide({trip.temperature_c, *trip.alkalinity_mg_l}, co2.lowest_mg_l);
        const double highest_ph = larger_of(*trip.ph, airy_ph);
        const double most_nh3_mg_l =
            larger_of(larger_of(nh3_at(tan.most_mg_l, highest_ph),
                                nh3_in(arrival, tan.most_mg_l, highest_ph)),
                      nh3_in(arrival, out.tan_end_mg_l, trip.arrival_ph.value_or(*trip.ph)));
        out.checks.push_back(judged(CheckId::ammonia, most_nh3_mg_l, {.high = kNh3Warn.value},
                                    {.high = kNh3Fail.value}));
    } else {
        Check check = new_check(CheckId::ammonia);
        check.missing = "ph and alkalinity_mg_l of the trip's water";
        out.checks.push_back(check);
    }
    const bool with_oxygen =
        std::any_of(trip.aeration.begin(), trip.aeration.end(), [](const Aerator& each) {
            const auto* pure = std::get_if<PureOxygen>(&each.kind);
            return pure != nullptr && pure->flow_l_min > 0;
        });
    if (with_oxygen) {
        out.checks.push_back(judged(CheckId::oxygen_excess,
                                    100 * oxygen.most_mg_l / terms.saturation_mg_l,
                                    {.high = kExcessWarn.value}, {.high = kExcessFail.value}));
    }
    constexpr double kLeastShare = 0.1;
    const double bears = (with_oxygen ? kHaulLoadOxygen : kHaulLoadAir) *
                         std::min(1.0, shortest_cm(budget) / kFullLengthCm) *
                         std::clamp(load_share(trip.temperature_c), kLeastShare, 1.0);
    out.checks.push_back(judged(CheckId::load, out.load_kg_l, {.high = bears}, {}));
    double longest = 0;
    for (const GroupBudget& group : budget.groups) longest = std::max(longest, group.length_cm);
    const double wanted_h = out.minutes <= kLongTripMin ? 0
                            : longest > kLargeCm        ? double{kFastedLargeH}
                            : longest > kSmallCm        ? double{kFastedSmallH}
                                                        : 0;
    if (wanted_h > 0) {
        out.checks.push_back(judged(CheckId::fasting, trip.fasted_h, {.low = wanted_h}, {}));
    }
    // They must bear the water that they go to, too.
    Tank there = tank;
    if (trip.arrival_temperature_c) there.water.temperature_c = *trip.arrival_temperature_c;
    if (trip.arrival_ph) there.water.ph = trip.arrival_ph;
    const TankBudget then = assess_tank(there, {}, {pressure_kpa});
    const auto add_worse = [&](CheckId id) {
        const Check& here = *find_check(budget, id);
        const Check& arrival = *find_check(then, id);
        out.checks.push_back(arrival.status > here.status ? arrival : here);
    };
    add_worse(CheckId::temperature);
    if (trip.ph) add_worse(CheckId::ph);
    if (find_check(budget, CheckId::salinity) != nullptr) add_worse(CheckId::salinity);
    if (budget.early_life) out.checks.push_back(new_check(CheckId::early_life));
    out.verdict = verdict_of(out.checks).worst;
    // Where only the waiting spoils it.
    const bool passed = before_waiting >= kOxygenWarn && gas_before <= kCo2Warn;
    out.mix_on_arrival =
        out.tempering_min > 0 && passed && (lowest_mg_l < kOxygenWarn || most_co2_mg_l > kCo2Warn);
    return out;
}

namespace {

Trip with_fish(const Trip& trip, double count) {
    double all = 0;
    for (const FishGroup& group : trip.fish) all += group.count;
    Trip fewer = trip;
    double left = count;
    for (FishGroup& group : fewer.fish) {
        group.count = std::min(left, std::ceil(group.count * count / all));
        left -= group.count;
    }
    return fewer;
}

}  // namespace

std::vector<TripPlan> plan_trip(const Trip& trip, double pressure_kpa) {
    const TripBudget today = assess_trip(trip, pressure_kpa);
    std::vector<TripPlan> plans;
    if (today.verdict < Status::warn) return plans;
    const auto wrong = [](const TripBudget& budget) {
        int sum = 0;
        for (const Check& check : budget.checks) {
            sum += check.status == Status::fail ? 100 : check.status == Status::warn ? 1 : 0;
        }
        return sum;
    };
    // The first step of a change with which the least is wrong; none where it mends nothing.
    const auto offer = [&](TripChange change, std::string_view unit, std::int64_t most, auto make,
                           auto value) {
        if (most < 1) return;
        const auto wrong_at = [&](std::int64_t i) {
            return wrong(assess_trip(make(i), pressure_kpa));
        };
        const int best = wrong_at(most);
        if (best >= wrong(today)) return;
        const std::int64_t step =
            last_whole(std::int64_t{0}, most, [&](std::int64_t i) { return wrong_at(i) > best; }) +
            1;
        const TripBudget after = assess_trip(make(step), pressure_kpa);
        TripPlan plan{.change = change,
                      .value = value(step),
                      .unit = unit,
                      .verdict_after = after.verdict,
                      .left = {}};
        for (const Check& check : after.checks) {
            if (check.status >= Status::warn) plan.left.push_back(check.id);
        }
        plans.push_back(std::move(plan));
    };
    const auto fish = static_cast<std::int64_t>(today.fish_count);
    constexpr std::int64_t kMostTrips = 10;
    offer(
        TripChange::fewer, "fish",
        fish - std::max<std::int64_t>(1, (fish + kMostTrips - 1) / kMostTrips),
        [&](std::int64_t i) { return with_fish(trip, static_cast<double>(fish - i)); },
        [&](std::int64_t i) { return static_cast<double>(fish - i); });
    const double step_l = trip.water_l < 100 ? 5 : trip.water_l < 1000 ? 50 : 100;
    const auto most = static_cast<std::int64_t>(std::floor(kReach * trip.water_l / step_l));
    const double first_l = std::floor(trip.water_l / step_l) * step_l;
    const auto litres = [&](std::int64_t i) { return first_l + static_cast<double>(i) * step_l; };
    offer(
        TripChange::more_water, "L", most,
        [&](std::int64_t i) {
            Trip more = trip;
            more.water_l = litres(i);
            return more;
        },
        litres);
    constexpr double kFull = 100;
    if (trip.start_oxygen_percent < kFull) {
        offer(
            TripChange::aerate_first, "%", 1,
            [&](std::int64_t) {
                Trip full = trip;
                full.start_oxygen_percent = kFull;
                return full;
            },
            [&](std::int64_t) { return kFull; });
    }
    // Only the stones: neither pure oxygen nor a rated device gives more by more air.
    const auto is_stone = [](const Aerator& each) {
        return std::holds_alternative<Diffuser>(each.kind);
    };
    if (const double air = air_flow_l_min(trip.aeration); air > 0) {
        offer(
            TripChange::more_air, "L/min", static_cast<std::int64_t>(kReach * air),
            [&](std::int64_t i) {
                Trip more = trip;
                for (Aerator& each : more.aeration) {
                    if (!is_stone(each)) continue;
                    Tank one{};
                    one.aeration = {each};
                    scale_aeration(one, (air + static_cast<double>(i)) / air);
                    each = one.aeration.front();
                }
                return more;
            },
            [](std::int64_t i) { return static_cast<double>(i); });
    }
    constexpr double kTenth = 0.1;
    offer(
        TripChange::add_oxygen, "L/min", 100,
        [&](std::int64_t i) {
            Trip more = trip;
            more.aeration.push_back(
                {{}, {}, {}, PureOxygen{kTenth * static_cast<double>(i), kAddedAbsorption}});
            return more;
        },
        [&](std::int64_t i) { return static_cast<double>(i) / 10; });
    // Less of it, each time by a fifth, in hundredths of a litre a minute.
    double oxygen_l_min = 0;
    for (const Aerator& each : trip.aeration) {
        if (const auto* pure = std::get_if<PureOxygen>(&each.kind))
            oxygen_l_min += pure->flow_l_min;
    }
    if (oxygen_l_min > 0) {
        constexpr double kFifthLess = 0.8;
        const auto flow_l_min = [&](std::int64_t i) {
            const double hundredths =
                kFull * oxygen_l_min * power(kFifthLess, static_cast<double>(i));
            return std::floor(hundredths) / kFull;
        };
        const auto with_less = [&](std::int64_t i) {
            Trip less = trip;
            for (Aerator& each : less.aeration) {
                if (auto* pure = std::get_if<PureOxygen>(&each.kind)) {
                    pure->flow_l_min *= flow_l_min(i) / oxygen_l_min;
                }
            }
            return less;
        };
        // Too little is as wrong as too much: as far as it mends.
        std::int64_t steps = 0;
        int least = wrong(today);
        constexpr std::int64_t kSteps = 20;
        for (std::int64_t i = 1; i <= kSteps && flow_l_min(i) > 0; ++i) {
            const int then = wrong(assess_trip(with_less(i), pressure_kpa));
            if (then >= least) continue;
            least = then;
            steps = i;
        }
        offer(TripChange::less_oxygen, "L/min", steps, with_less, flow_l_min);
    }
    {
        // Before loading, in half degrees.
        const double own_c = trip.temperature_c;
        const std::size_t before = plans.size();
        double cooler_c = own_c;
        offer(
            TripChange::ice, "kg",
            static_cast<std::int64_t>(2 * std::min<double>(kIceMostC, own_c - kColdestC)),
            [&](std::int64_t i) {
                Trip cool = trip;
                cool.temperature_c = own_c - static_cast<double>(i) / 2;
                return cool;
            },
            [&](std::int64_t i) {
                cooler_c = own_c - static_cast<double>(i) / 2;
                return std::ceil(100 * ice_kg(trip.water_l, own_c, cooler_c)) / 100;
            });
        if (plans.size() > before) plans.back().cooler_c = cooler_c;
    }
    {
        // Half of the water each time, so often as is needed.
        constexpr double kHalf = 0.5;
        constexpr double kOftenMin = 5;
        const std::size_t before = plans.size();
        const auto often = static_cast<std::int64_t>(std::floor(today.minutes / kOftenMin)) - 1;
        double every_min = 0;
        const auto every = [&](std::int64_t i) {
            return std::floor(today.minutes / static_cast<double>(i + 1));
        };
        offer(
            TripChange::change_water, "L", often,
            [&](std::int64_t i) {
                Trip changed = trip;
                changed.water_change = Trip::WaterChange{kHalf, every(i)};
                return changed;
            },
            [&](std::int64_t i) {
                every_min = every(i);
                return kHalf * trip.water_l;
            });
        if (plans.size() > before) plans.back().every_min = every_min;
    }
    const auto whole = static_cast<std::int64_t>(trip.minutes);
    offer(
        TripChange::shorter, "min", whole / 2,
        [&](std::int64_t i) {
            Trip shorter = trip;
            shorter.minutes = static_cast<double>(whole - i);
            return shorter;
        },
        [&](std::int64_t i) { return static_cast<double>(whole - i); });
    std::stable_sort(plans.begin(), plans.end(), [](const TripPlan& a, const TripPlan& b) {
        return a.verdict_after < b.verdict_after;
    });
    return plans;
}

std::string_view name_of(TripChange change) noexcept {
    constexpr std::array<std::string_view, 9> names{"fewer_fish", "more_water",   "aerate_first",
                                                    "add_air",    "add_oxygen",   "less_oxygen",
                                                    "ice",        "change_water", "shorter"};
    return names[static_cast<std::size_t>(change)];
}

std::span<const Constant> haul_sources() noexcept { return kSources; }

}  // namespace coldtank
