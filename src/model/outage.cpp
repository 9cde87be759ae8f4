#include "coldtank/outage.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>

#include "balance.hpp"
#include "changes.hpp"
#include "coldtank/course.hpp"
#include "formulas.hpp"
#include "judgement.hpp"
#include "steps.hpp"

namespace coldtank {
namespace {

constexpr Constant kMeterOff{"what a meter may be off", 0.2, "mg/L", Basis::common_practice,
                             "a membrane or optical probe, calibrated"};
constexpr Constant kBelieved{"oxygen that is believed, over saturation, at most", 1.25, "-",
                             Basis::judgement, "more is a slip, or leaves the water"};
constexpr Constant kTimeToHelp{"minutes to danger from which help can come", 180, "min",
                               Basis::judgement, "a neighbour, a generator"};
constexpr std::array kSources{kPourFallM,     kPourMost,         kHandling, kNettingMin,
                              kRefugeC,       kMeterOff,         kBelieved, kTimeToHelp,
                              kBatteryUsable, kBatteryEfficiency};

// A tank of a system with its budget, and what of it goes on without mains power.
struct Lasting {
    const Tank& tank;
    const TankBudget& budget;
    TankLimits limits;
    double saturation_mg_l;
    double demand_g_h;        // of fed fish at their peak
    double gravity_m3_h = 0;  // that keeps flowing
    double gravity_mg_l = 0;
    double gravity_carbon_dioxide_mg_l = 0;
    double water_m3_h = 0;  // the same, or all of it where none is described to
    double water_mg_l = 0;

    Lasting(const Tank& of, const TankBudget& with, const SupplyWater& supply)
        : tank(of),
          budget(with),
          limits(limits_of(of)),
          saturation_mg_l(with.oxygen.saturation_peak_mg_l),
          demand_g_h(with.reserve->demand_g_h) {
        if (supply.recirculated || supply.flow_m3_h == 0) return;
        gravity_m3_h = supply.kept_flow_m3_h;
        gravity_carbon_dioxide_mg_l = supply.kept_carbon_dioxide_mg_l;
        gravity_mg_l = not_below_zero(after_falls_mg_l(tank, budget, supply.kept_mg_l));
        water_m3_h = gravity_m3_h > 0 ? gravity_m3_h : supply.flow_m3_h;
        water_mg_l = gravity_m3_h > 0
                         ? gravity_mg_l
                         : not_below_zero(after_falls_mg_l(tank, budget, supply.going_on_mg_l));
    }

    // What is brought by nothing but so much exchange and gain.
    Course course(double gain_g_h, double rate_m3_h) const {
        return {budget.water_m3, gain_g_h - demand_g_h, rate_m3_h};
    }
    Course stopped() const { return course(0, 0); }
    Course on_water() const { return course(water_m3_h * water_mg_l, water_m3_h); }
    // As it is described, until the power fails.
    Course described() const {
        const double rate_m3_h = budget.flow_m3_h + budget.transfer_peak_m3_h;
        const double gain_g_h = budget.oxygen.supply_g_h + rate_m3_h * budget.oxygen.warn_mg_l;
        return {budget.water_m3, gain_g_h - budget.oxygen.demand_peak_g_h, rate_m3_h};
    }
    Course on_air() const {
        const Transfer air = transfer_of(tank.aeration, budget.peak_temperature_c, saturation_mg_l,
                                         tank.coefficients);
        return course(air.full_g_h + air.pure_g_h, air.k_m3_h);
    }
    // With so much more beside the water that keeps flowing.
    Course with(double gain_g_h, double rate_m3_h) const {
        return course(gain_g_h + gravity_m3_h * gravity_mg_l, rate_m3_h + gravity_m3_h);
    }
    // What must be brought, beside the water that keeps flowing, to stay at a level.
    double lacks_g_h(double level_mg_l) const {
        return larger_of(0, demand_g_h - gravity_m3_h * (gravity_mg_l - level_mg_l));
    }
    std::optional<double> minutes_to_danger(const Course& course, double from_mg_l) const {
        return course.minutes_down_to(from_mg_l, limits.reserve_danger_mg_l);
    }
};

// Where it starts, how long ago, and for how much of that the power was still there.
struct Start {
    double mg_l;
    StartsFrom from;
    std::optional<double> read_h;
    double before_h = 0;   // as described
    double stopped_h = 0;  // since
};

Start start_of(const Lasting& lasting, std::optional<double> stopped_h) {
    Readings readings = lasting.tank.readings;
    if (readings.oxygen_mg_l > kBelieved * lasting.saturation_mg_l) readings.oxygen_mg_l.reset();
    // A loop may be known to end in nothing.
    const auto& reserve = lasting.budget.reserve;
    const bool ends = reserve && !reserve->start_assumed && reserve->start_mg_l == 0;
    const std::optional<double> predicted =
        ends ? std::optional(0.0) : lasting.budget.oxygen.lowest_mg_l;
    if (readings.oxygen_mg_l && readings.oxygen_age_h && *readings.oxygen_age_h <= kFreshOxygenH) {
        const double age_h = *readings.oxygen_age_h;
        const double out_h = stopped_h ? smaller_of(*stopped_h, age_h) : age_h;
        return {*readings.oxygen_mg_l, StartsFrom::measured, age_h, age_h - out_h, out_h};
    }
    const double out_h = stopped_h.value_or(0);
    if (readings.oxygen_mg_l && !(predicted < readings.oxygen_mg_l && predicted)) {
        return {*readings.oxygen_mg_l, StartsFrom::measured, readings.oxygen_age_h, 0, out_h};
    }
    // What is over saturation leaves the water: no store to count on.
    if (predicted) {
        return {
            smaller_of(*predicted, lasting.saturation_mg_l), StartsFrom::predicted, {}, 0, out_h};
    }
    return {lasting.saturation_mg_l, StartsFrom::saturation, {}, 0, out_h};
}

// What is left now of a course that has run since the power failed. A reading that warns is not
// taken to mend by itself, whatever the description brings: it may be what has failed.
struct Run {
    double now_mg_l;
    Countdown left;
};
Run run_of(const Lasting& lasting, const Start& start, const Course& course) {
    double at_failure = start.mg_l;
    if (start.before_h > 0) {
        at_failure = lasting.described().at(start.mg_l, start.before_h);
        if (start.mg_l < lasting.budget.oxygen.warn_mg_l) {
            at_failure = smaller_of(at_failure, start.mg_l);
        }
    }
    const double now_mg_l = course.at(at_failure, start.stopped_h);
    return {now_mg_l,
            {course.minutes_down_to(now_mg_l, lasting.limits.reserve_stress_mg_l),
             course.minutes_down_to(now_mg_l, lasting.limits.reserve_danger_mg_l)}};
}

// What some of a tank's backups bring: those that last so long.
Transfer backup_of(const Lasting& lasting, std::span<const Backup> backup, double hours) {
    std::vector<Aerator> units;
    for (const Backup& each : backup) {
        if (hours_of(each) >= hours) units.push_back(each.unit);
    }
    return transfer_of(units, lasting.budget.peak_temperature_c, lasting.saturation_mg_l,
                       lasting.tank.coefficients);
}

Holds held_at(const Lasting& lasting, const Course& course) {
    const auto steady = course.steady_mg_l();
    const auto holds = [&](double level_mg_l) {
        return steady ? *steady >= level_mg_l : course.gain_g_h >= 0;
    };
    return holds(lasting.budget.oxygen.warn_mg_l)      ? Holds::warn
           : holds(lasting.budget.oxygen.fail_mg_l)    ? Holds::fail
           : holds(lasting.limits.reserve_danger_mg_l) ? Holds::danger
                                                       : Holds::nothing;
}

// The backups one after the other run out; what is over saturation leaves the water, and is no
// store.
std::vector<Piece> pieces_of(const Lasting& lasting, std::span<const Backup> backup,
                             double start_mg_l) {
    std::vector<double> ends;
    for (const Backup& each : backup) ends.push_back(hours_of(each));
    std::sort(ends.begin(), ends.end());
    std::vector<Piece> pieces;
    double from_h = 0;
    for (const double end_h : ends) {
        if (end_h <= from_h) continue;
        const Transfer brought = backup_of(lasting, backup, end_h);
        pieces.push_back({lasting.with(brought.full_g_h + brought.pure_g_h, brought.k_m3_h),
                          end_h - from_h, larger_of(start_mg_l, lasting.saturation_mg_l)});
        from_h = end_h;
    }
    pieces.push_back({lasting.with(0, 0), HUGE_VAL});
    return pieces;
}

// Oxygen alone leaves carbon dioxide where it is.
std::optional<double> minutes_to_stale(const Lasting& lasting, std::span<const Backup> backup) {
    const Coefficients& k = lasting.tank.coefficients;
    const CarbonDioxideBudget& co2 = lasting.budget.carbon_dioxide;
    double strips_m3_h = lasting.gravity_m3_h;
    for (const Backup& each : backup) {
        strips_m3_h += stripping_m3_h(each.unit, lasting.budget.peak_temperature_c, k);
    }
    const Course course{
        lasting.budget.water_m3,
        strips_m3_h * co2.in_air_mg_l + carbon_dioxide_from_oxygen(lasting.demand_g_h, k) +
            lasting.gravity_m3_h * not_below_zero(larger_of(co2.inflow_mg_l.value_or(0),
                                                            lasting.gravity_carbon_dioxide_mg_l) -
                                                  co2.in_air_mg_l),
        strips_m3_h};
    return course.minutes_up_to(co2.balance_mg_l.value_or(co2.in_air_mg_l),
                                lasting.limits.carbon_dioxide_warn_mg_l);
}

// What is read, and where less is than an inflow would hold: it is blocked, or not as described;
// one that holds them at no safe level is no help either.
bool looks_blocked(const Lasting& lasting, const Start& start) {
    if (start.from != StartsFrom::measured || start.mg_l >= lasting.budget.oxygen.warn_mg_l) {
        return false;
    }
    const double held_mg_l = lasting.on_water().steady_mg_l().value_or(0);
    return start.mg_l < held_mg_l - kMeterOff || held_mg_l < lasting.budget.oxygen.fail_mg_l;
}

// As described, with its fish.
double demand_of(const Tank& tank, const TankBudget& budget) {
    return tank.fish.empty() || !budget.reserve ? 0 : budget.reserve->demand_g_h;
}

class WholeSite {
public:
    WholeSite(std::span<const System> systems, std::span<const Backup> shared) : shared_(shared) {
        for (const System& system : systems) {
            budgets_.push_back(assess_system(system));
            for (std::size_t i = 0; i < system.tanks.size(); ++i) {
                const TankBudget& budget = budgets_.back().tanks[i];
                Entry& entry = tanks_.emplace_back();
                entry.tank = &system.tanks[i];
                entry.system = &system;
                entry.gives_water = !below_of(system.tanks, i).empty();
                if (system.tanks[i].backup.empty()) {
                    shared_demand_g_h_ += demand_of(system.tanks[i], budget);
                }
            }
        }
        std::size_t at = 0;
        for (const SystemBudget& each : budgets_) {
            for (const TankBudget& budget : each.tanks) tanks_[at++].budget = &budget;
        }
    }

    std::vector<TankOutage> assess(std::optional<double> stopped_h) {
        let_water_down(stopped_h);
        std::vector<TankOutage> out;
        for (const Entry& entry : tanks_) {
            if (entry.budget->reserve) out.push_back(outage_of(entry, stopped_h));
        }
        return out;
    }

private:
    struct Entry {
        const Tank* tank = nullptr;
        const TankBudget* budget = nullptr;
        const System* system = nullptr;
        bool gives_water = false;    // to a tank below
        SupplyWater supply = {};     // with what the tanks above come to
        bool doubted = false;        // its water: it reads low, or the one above does
        bool above_doubted = false;  // the one above
        double taken_g_h = 0;        // what fish told to move here from other tanks breathe
        double taken_kg = 0;
    };

    std::vector<Backup> backup_of_tank(const Entry& entry) const {
        if (!entry.tank->backup.empty() || shared_.empty()) return entry.tank->backup;
        std::vector<Backup> share(shared_.begin(), shared_.end());
        const double part = demand_of(*entry.tank, *entry.budget) / shared_demand_g_h_;
        for (Backup& each : share) {
            Tank one{};
            one.aeration = {each.unit};
            scale_aeration(one, part);
            each.hours = hours_of(each);  // of all of it, whoever it serves
            each.battery.reset();
            each.cylinder.reset();
            each.unit = one.aeration.front();
        }
        return share;
    }

    void let_water_down(std::optional<double> stopped_h);
    TankOutage outage_of(const Entry& entry, std::optional<double> stopped_h);
    void add_actions(const Entry& entry, const Lasting& lasting, std::span<const Backup> backup,
                     TankOutage& out);
    static bool bears(const Entry& from, const Entry& to);
    void add_fewer(const Entry& entry, const Lasting& lasting, std::span<const Backup> backup,
                   TankOutage& out);

    std::span<const Backup> shared_;
    double shared_demand_g_h_ = 0;
    std::vector<SystemBudget> budgets_;
    std::vector<Entry> tanks_;
};

// Each tank of a row gets water that is as poor as the one above becomes, from the start, and no
// better than what was read there.
void WholeSite::let_water_down(std::optional<double> stopped_h) {
    std::vector<Outflow> above;
    std::vector<std::string_view> doubted;
    for (Entry& entry : tanks_) {
        if (entry.tank->loop) {
            entry.supply.recirculated = true;
            continue;
        }
        if (entry.tank == entry.system->tanks.data()) {
            above.clear();
            doubted.clear();
        }
        entry.supply = inflow_supply(*entry.tank, {entry.system->pressure_kpa}, above);
        entry.above_doubted = std::any_of(
            entry.supply.parts.begin(), entry.supply.parts.end(), [&](const InflowPart& part) {
                return part.kept_flow_m3_h > 0 &&
                       std::find(doubted.begin(), doubted.end(), part.from) != doubted.end();
            });
        Outflow outflow = outflow_of(*entry.tank, entry.supply, *entry.budget);
        bool blocked = false;
        if (entry.budget->reserve) {
            const Lasting lasting(*entry.tank, *entry.budget, entry.supply);
            const Start start = start_of(lasting, stopped_h);
            const auto lowest_mg_l = [&](const Course& course) {
                double mg_l = smaller_of(run_of(lasting, start, course).now_mg_l,
                                         course.steady_mg_l().value_or(0));
                if (start.from == StartsFrom::measured) mg_l = smaller_of(mg_l, start.mg_l);
                return not_below_zero(mg_l);
            };
            const double all_mg_l = not_below_zero(
                after_falls_mg_l(*entry.tank, *entry.budget, entry.supply.going_on_mg_l));
            outflow.going_on_mg_l = lowest_mg_l(
                lasting.course(entry.supply.flow_m3_h * all_mg_l, entry.supply.flow_m3_h));
            outflow.kept_mg_l = lowest_mg_l(lasting.with(0, 0));
            blocked = looks_blocked(lasting, start);
        } else {
            const auto read = entry.tank->readings.oxygen_mg_l;
            blocked = read < entry.budget->oxygen.warn_mg_l && read;
        }
        entry.doubted = blocked || entry.above_doubted;
        if (!entry.gives_water) continue;
        above.push_back(outflow);
        if (entry.doubted) doubted.push_back(entry.tank->name);
    }
}

TankOutage WholeSite::outage_of(const Entry& entry, std::optional<double> stopped_h) {
    Lasting lasting(*entry.tank, *entry.budget, entry.supply);
    const Tank& tank = lasting.tank;
    const std::vector<Backup> backup = backup_of_tank(entry);
    TankOutage out;
    out.tank = tank.name;
    out.fish_count = lasting.budget.fish_count;
    out.biomass_kg = lasting.budget.biomass_kg;
    out.demand_g_h = lasting.demand_g_h;
    out.limits = lasting.limits;
    out.loop_stops = tank.loop && tank.loop->flow_l_min > 0;
    const Start start = start_of(lasting, stopped_h);
    out.starts_from = start.from;
    out.read_h = start.read_h;
    out.not_believed = tank.readings.oxygen_mg_l > kBelieved * lasting.saturation_mg_l;
    out.judged = lasting.gravity_m3_h > 0 ? OutageCase::water_goes_on : OutageCase::all_stops;
    // Water that may have stopped, or is poor, is counted as the worse of the two.
    if (entry.doubted && lasting.gravity_m3_h > 0) {
        const auto left = [&](const Course& course) {
            const Countdown countdown = run_of(lasting, start, course).left;
            return std::pair(countdown.minutes_to_danger.value_or(HUGE_VAL),
                             countdown.minutes_to_stress.value_or(HUGE_VAL));
        };
        if (left(lasting.stopped()) <= left(lasting.on_water())) {
            out.judged = OutageCase::all_stops;
            lasting.gravity_m3_h = 0;
        }
    }
    const auto add = [&](OutageCase outage, const Course& course) {
        const Run run = run_of(lasting, start, course);
        out.cases.push_back({outage, course.steady_mg_l(), run.left});
        if (outage == out.judged) out.oxygen_now_mg_l = run.now_mg_l;
    };
    add(OutageCase::all_stops, lasting.stopped());
    for (const InflowPart& part : entry.supply.parts) {
        if (part.from.empty()) continue;
        if (entry.supply.kept_flow_m3_h == 0 || part.kept_flow_m3_h > 0) {
            out.above.push_back(part.from);
        }
    }
    out.above_lost = entry.above_doubted && out.judged == OutageCase::all_stops;
    out.kept_percent =
        entry.supply.flow_m3_h > 0 ? 100 * entry.supply.kept_flow_m3_h / entry.supply.flow_m3_h : 0;
    out.water_mg_l = lasting.water_mg_l;
    if (lasting.water_m3_h > 0) {
        add(OutageCase::water_goes_on, lasting.on_water());
    }
    if (!tank.aeration.empty()) {
        const Course air = lasting.on_air();
        if (air.rate_m3_h > 0 || air.gain_g_h > -lasting.demand_g_h) {
            add(OutageCase::air_goes_on, air);
        }
    }
    if (!backup.empty()) {
        const std::vector<Piece> pieces = pieces_of(lasting, backup, out.oxygen_now_mg_l);
        const auto down_to = [&](double level_mg_l) {
            return minutes_down_to(pieces, out.oxygen_now_mg_l, level_mg_l);
        };
        out.stale_min = minutes_to_stale(lasting, backup);
        out.cases.push_back({OutageCase::backup,
                             pieces.front().course.steady_mg_l(),
                             {down_to(lasting.limits.reserve_stress_mg_l),
                              down_to(lasting.limits.reserve_danger_mg_l)}});
        // What holds as well as all of it, and for how long.
        const Holds holds = held_at(lasting, pieces.front().course);
        double hours = 0;
        for (const Backup& each : backup) {
            const Transfer brought = backup_of(lasting, backup, hours_of(each));
            const Course course = lasting.with(brought.full_g_h + brought.pure_g_h, brought.k_m3_h);
            if (held_at(lasting, course) == holds) hours = std::max(hours, hours_of(each));
        }
        out.backup = {hours, holds, lasting.limits.backup_hours};
    }
    add_actions(entry, lasting, backup, out);

    Check& check = out.reserve = new_check(CheckId::oxygen_reserve);
    check.warn.low = lasting.limits.response_time_min;
    check.fail.low = lasting.limits.response_time_min / 2;
    check.status = Status::pass;
    check.used_percent = 0;
    const auto minutes = out.course(out.judged).left.minutes_to_danger;
    if (minutes) {
        judge_value(check, *minutes);
        check.used_percent.reset();
        if (*minutes > 0) check.used_percent = 100 * lasting.limits.response_time_min / *minutes;
    }
    // Minutes are no comfort where oxygen is too low already.
    const double fail_mg_l = lasting.budget.oxygen.fail_mg_l;
    if (out.oxygen_now_mg_l < fail_mg_l) {
        add_reason(check, {Reason::as_oxygen, Status::warn, out.oxygen_now_mg_l, fail_mg_l});
    }
    // Nor does a pass stand on an old reading where the power may have failed since.
    const bool aged = !stopped_h && tank.readings.oxygen_mg_l &&
                      tank.readings.oxygen_age_h > double{kFreshOxygenH};
    if ((start.from == StartsFrom::saturation || aged || out.not_believed) &&
        check.status == Status::pass) {
        check.status = Status::unchecked;
        check.missing = aged ? "an oxygen reading of this hour" : "water.oxygen_mg_l";
    }
    out.verdict = check.status;
    return out;
}

void WholeSite::add_actions(const Entry& entry, const Lasting& lasting,
                            std::span<const Backup> backup, TankOutage& out) {
    const Tank& tank = lasting.tank;
    const TankBudget& budget = lasting.budget;
    const double warn_mg_l = budget.oxygen.warn_mg_l;
    const double now_mg_l = out.oxygen_now_mg_l;
    // Where it holds they climb out of danger, too.
    const auto after = [&](OutageAction action, const Course& course) {
        action.holds = held_at(lasting, course) != Holds::nothing;
        if (!action.holds) {
            action.minutes_to_danger_after = lasting.minutes_to_danger(course, now_mg_l);
        }
        out.actions.push_back(std::move(action));
    };
    if (entry.supply.kept_flow_m3_h > 0) {
        out.actions.push_back({.step = OutageStep::look_at_inflow});
    }
    out.actions.push_back({.step = OutageStep::do_not_feed});
    if (!backup.empty()) {
        OutageAction start{
            .step = OutageStep::start_backup, .value = out.backup->hours, .unit = "h"};
        start.minutes_to_danger_after = out.course(OutageCase::backup).left.minutes_to_danger;
        start.holds = !start.minutes_to_danger_after;
        out.actions.push_back(std::move(start));
    }
    const double lacks_g_h = lasting.lacks_g_h(warn_mg_l);
    if (lacks_g_h > 0) {
        const double air = air_flow_l_min(tank.aeration);
        std::vector<Aerator> stones;
        std::copy_if(
            tank.aeration.begin(), tank.aeration.end(), std::back_inserter(stones),
            [](const Aerator& each) { return std::holds_alternative<Diffuser>(each.kind); });
        const Transfer present = transfer_of(stones, budget.peak_temperature_c,
                                             lasting.saturation_mg_l, tank.coefficients);
        const double brings_g_h =
            present.full_g_h - present.k_m3_h * warn_mg_l;  // at the warn limit
        if (air > 0 && brings_g_h > 0 && lacks_g_h <= kReach * brings_g_h) {
            const double wanted =
                steps_of(Action::add_air, Sold::metric).next(air * lacks_g_h / brings_g_h, true);
            after({.step = OutageStep::add_air, .value = wanted, .unit = "L/min"},
                  lasting.with(present.full_g_h * wanted / air, present.k_m3_h * wanted / air));
        }
        const double oxygen =
            steps_of(Action::add_oxygen, Sold::metric).next(as_oxygen_l_min(lacks_g_h, tank), true);
        after({.step = OutageStep::add_oxygen, .value = oxygen, .unit = "L/min"},
              lasting.with(oxygen / as_oxygen_l_min(1, tank), 0));
        // Each litre poured comes nearer to saturation by the ratio of a cascade.
        const Aerator bucket{{}, {}, {}, Cascade{.drop_m = kPourFallM}};
        const double taken_up =
            1 - cascades_leave({&bucket, 1}, budget.peak_temperature_c, tank.coefficients)
                    .of_oxygen_deficit;
        const double gained_mg_l = taken_up * (lasting.saturation_mg_l - warn_mg_l);
        const double most_m3_h = formulas::flow_m3_h(kPourMost);
        OutageAction pour{.step = OutageStep::pour, .unit = "L/min"};
        if (gained_mg_l > 0) {
            const double flow_l_min = lacks_g_h / gained_mg_l * 1000 / 60;
            pour.value = steps_of(Action::raise_flow, Sold::metric).next(flow_l_min, true);
            pour.share_percent = smaller_of(100, 100 * most_m3_h * gained_mg_l / lacks_g_h);
        } else {
            pour.share_percent = 0;
        }
        after(std::move(pour),
              lasting.with(most_m3_h * taken_up * lasting.saturation_mg_l, most_m3_h * taken_up));
        add_fewer(entry, lasting, backup, out);
    }
    out.actions.push_back({.step = OutageStep::change_water});
}

// Whether the water of a tank is one that the fish of another can go into at once.
bool WholeSite::bears(const Entry& from, const Entry& to) {
    const double there_c = to.budget->peak_temperature_c;
    if (std::abs(to.tank->water.temperature_c - from.tank->water.temperature_c) > kRefugeC) {
        return false;
    }
    const auto& fish = from.tank->fish;
    return std::none_of(fish.begin(), fish.end(),
                        [&](const FishGroup& group) {
                            return there_c > double{group.species.fail_above_c};
                        }) &&
           std::none_of(to.budget->checks.begin(), to.budget->checks.end(),
                        [](const Check& check) { return check.status == Status::fail; });
}

// How many must go so that the rest hold at the fail limit on what goes on and one who pours.
void WholeSite::add_fewer(const Entry& entry, const Lasting& lasting,
                          std::span<const Backup> backup, TankOutage& out) {
    const double fail_mg_l = lasting.budget.oxygen.fail_mg_l;
    if (out.backup && out.backup->holds >= Holds::fail &&
        out.backup->hours >= out.backup->wanted_h) {
        return;
    }
    const Aerator bucket{{}, {}, {}, Cascade{.drop_m = kPourFallM}};
    const double taken_up = 1 - cascades_leave({&bucket, 1}, lasting.budget.peak_temperature_c,
                                               lasting.tank.coefficients)
                                    .of_oxygen_deficit;
    const Transfer spare = backup_of(lasting, backup, lasting.limits.backup_hours);
    const double brought_g_h =
        lasting.gravity_m3_h * (lasting.gravity_mg_l - fail_mg_l) +
        formulas::flow_m3_h(kPourMost) * taken_up * (lasting.saturation_mg_l - fail_mg_l) +
        spare.full_g_h - spare.k_m3_h * fail_mg_l + spare.pure_g_h;
    const double share = larger_of(0, brought_g_h / lasting.demand_g_h);
    if (share >= 1) return;
    const double go = out.fish_count - std::floor(out.fish_count * share);
    // Netted fish breathe harder: time enough for it?
    const auto minutes = out.course(out.judged).left.minutes_to_danger;
    if (minutes && *minutes / kHandling < kNettingMin) {
        out.actions.push_back({.step = OutageStep::do_not_net});
        return;
    }
    const double moved_g_h = lasting.demand_g_h * go / out.fish_count;
    for (Entry& other : tanks_) {
        if (other.tank == entry.tank) continue;
        const Tank& tank = *other.tank;
        // Its own water must go on, and hold them while they breathe hard, beside its own fish and
        // those sent there before, in room enough; and no tank below live on what they leave.
        const double flow_m3_h = other.supply.kept_flow_m3_h;
        if (flow_m3_h == 0 || other.gives_water || !bears(entry, other)) continue;
        const double brings_mg_l =
            not_below_zero(after_falls_mg_l(tank, *other.budget, other.supply.kept_mg_l));
        const double spare_g_h = flow_m3_h * (brings_mg_l - other.budget->oxygen.warn_mg_l) -
                                 demand_of(tank, *other.budget) - other.taken_g_h;
        const double moved_kg = lasting.budget.biomass_kg * go / out.fish_count;
        const double kg_m3 =
            (other.budget->biomass_kg + other.taken_kg + moved_kg) / other.budget->water_m3;
        if (spare_g_h < kHandling * moved_g_h || kg_m3 > limits_of(tank).density_fail_kg_m3) {
            continue;
        }
        other.taken_g_h += kHandling * moved_g_h;
        other.taken_kg += moved_kg;
        OutageAction move{
            .step = OutageStep::move_fish, .value = go, .unit = "fish", .to = tank.name};
        out.actions.push_back(std::move(move));
        return;
    }
    const auto& left =
        out.backup ? out.course(OutageCase::backup).left : out.course(out.judged).left;
    // Where water is described to go on somebody looks at it first.
    if (entry.supply.kept_flow_m3_h == 0 && left.minutes_to_danger &&
        *left.minutes_to_danger < kTimeToHelp) {
        out.actions.push_back({.step = OutageStep::kill, .value = go, .unit = "fish"});
    }
}

}  // namespace

const OutageCourse& TankOutage::course(OutageCase outage) const {
    return *std::find_if(cases.begin(), cases.end(),
                         [&](const OutageCourse& each) { return each.outage == outage; });
}

double hours_of(const Backup& backup) noexcept {
    if (backup.battery) {
        return formulas::battery_hours(backup.battery->volts, backup.battery->amp_hours,
                                       backup.battery->watts, kBatteryUsable, kBatteryEfficiency);
    }
    if (backup.cylinder) {
        const auto* oxygen = std::get_if<PureOxygen>(&backup.unit.kind);
        return formulas::cylinder_hours(backup.cylinder->volume_l, backup.cylinder->bar,
                                        backup.cylinder->left_bar,
                                        oxygen == nullptr ? 0 : oxygen->flow_l_min);
    }
    return backup.hours.value_or(0);
}

std::string_view name_of(OutageCase outage) noexcept {
    switch (outage) {
        case OutageCase::all_stops:
            return "all_stops";
        case OutageCase::water_goes_on:
            return "water_goes_on";
        case OutageCase::air_goes_on:
            return "air_goes_on";
        case OutageCase::backup:
            break;
    }
    return "backup";
}

std::string_view name_of(StartsFrom start) noexcept {
    return start == StartsFrom::measured    ? "measured"
           : start == StartsFrom::predicted ? "predicted"
                                            : "saturation";
}

std::string_view name_of(Holds holds) noexcept {
    return holds == Holds::warn     ? "warn"
           : holds == Holds::fail   ? "fail"
           : holds == Holds::danger ? "danger"
                                    : "nothing";
}

std::string_view name_of(OutageStep step) noexcept {
    constexpr std::array<std::string_view, 10> names{
        "look_at_inflow", "do_not_feed", "start_backup", "add_oxygen", "add_air",
        "pour",           "move_fish",   "kill",         "do_not_net", "change_water"};
    return names[static_cast<std::size_t>(step)];
}

std::vector<TankOutage> assess_outage(std::span<const System> systems,
                                      std::span<const Backup> shared,
                                      std::optional<double> stopped_h) {
    return WholeSite(systems, shared).assess(stopped_h);
}

std::span<const Constant> outage_sources() noexcept { return kSources; }

}  // namespace coldtank
