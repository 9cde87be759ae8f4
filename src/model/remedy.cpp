#include "coldtank/remedy.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "judgement.hpp"
#include "solver.hpp"

namespace coldtank {
namespace {

// What the remedies of a system's tanks may take, in groups of fish assessed: a few seconds. A tank
// alone takes a quarter of it at most, so does a loop.
constexpr std::int64_t kMostEffort = 300000;
constexpr std::int64_t kAloneEffort = kMostEffort / 4;

constexpr std::array kSources{kSaltPerChloride, kAddedAbsorption, kReach, kCoolingReach,
                              kFreshOxygenH};

std::optional<Remedy> current_change(const Check& check, const TankBudget& budget) {
    const Lengths lengths = lengths_of(budget);
    const double slowest = std::ceil(*check.warn.low * lengths.longest_cm);
    const double fastest = std::floor(*check.warn.high * lengths.shortest_cm);
    if (slowest > fastest) return std::nullopt;
    const bool slow = *check.value < *check.warn.low;
    return Remedy{Action::change_current, slow ? slowest : fastest, "cm/s", {}, {}};
}

// Whether what was read of it does not fail, and the prediction alone does: then there is time.
// Oxygen goes in an hour, and so may a day warm: a reading older than that, or nobody knows how
// old, does not count.
bool reading_passes(const TankBudget& budget, const Readings& readings, CheckId id) {
    const auto within = [&](CheckId check, std::optional<double> measured) {
        const Check* judged = find_check(budget, check);
        return judged != nullptr && measured &&
               status_of(*measured, judged->warn, judged->fail) < Status::fail;
    };
    const auto within_h = [](const std::optional<double>& age_h, double most_h) {
        return age_h && *age_h <= most_h;
    };
    switch (id) {
        case CheckId::oxygen:
        case CheckId::oxygen_reserve:
            return within_h(readings.oxygen_age_h, kFreshOxygenH) &&
                   within(CheckId::oxygen, budget.oxygen.measured_mg_l);
        case CheckId::temperature:
            return within_h(readings.temperature_age_h, kFreshOxygenH) &&
                   within(id, budget.temperature_c);
        case CheckId::ammonia:
            return within_h(readings.tan_age_h, kReadingsMaxAgeH) &&
                   within(id, budget.ammonia.measured_nh3_mg_l);
        case CheckId::total_ammonia:
            return within_h(readings.tan_age_h, kReadingsMaxAgeH) &&
                   within(id, budget.ammonia.measured_tan_mg_l);
        case CheckId::carbon_dioxide:
            return within_h(readings.carbon_dioxide_age_h, kReadingsMaxAgeH) &&
                   within(id, budget.carbon_dioxide.measured_mg_l);
        default:
            return false;
    }
}

// A reading shows more carbon dioxide than the balance can explain or judge: take the rest as
// brought by the inflow, so that a plan starts from what was measured.
void explain_carbon_dioxide(const TankBudget& budget, Tank& plan) {
    const CarbonDioxideBudget& co2 = budget.carbon_dioxide;
    if (plan.inflow.empty() || budget.flow_m3_h == 0) return;
    const double reading = std::max(co2.from_ph_mg_l.value_or(0), co2.measured_mg_l.value_or(0));
    if (reading == 0 || (co2.balance_judged && *co2.balance_mg_l >= reading)) return;
    const double above_air =
        ((budget.flow_m3_h + co2.stripping_m3_h) * (reading - co2.in_air_mg_l) -
         co2.production_g_day / 24) /
        budget.flow_m3_h /
        cascades_leave(plan.aeration, budget.peak_temperature_c, plan.coefficients)
            .of_carbon_dioxide;
    for (Inflow& inflow : plan.inflow) {
        inflow.carbon_dioxide_mg_l = co2.in_air_mg_l + std::max(0.0, above_air);
    }
}

}  // namespace

std::optional<Remedy> grading(const TankBudget& budget, double widest_ratio) {
    const auto& groups = budget.groups;
    std::optional<Remedy> best;
    for (const GroupBudget& shortest : groups) {
        Remedy move{Action::grade, 0, "fish", {}, {}};
        for (std::size_t i = 0; i < groups.size(); ++i) {
            const double length = groups[i].length_cm;
            if (length >= shortest.length_cm && length / shortest.length_cm <= widest_ratio) {
                continue;
            }
            move.groups.push_back(i);
            *move.value += groups[i].count;
        }
        if (!best || *move.value < *best->value) best = move;
    }
    return best;
}

const std::vector<Check>& checks_of(const SystemBudget& budget, Part part) noexcept {
    return part.tank ? budget.tanks[*part.tank].checks : budget.loop->checks;
}

const Check* find_check(const SystemBudget& budget, Part part, CheckId id) noexcept {
    return part.tank ? find_check(budget.tanks[*part.tank], id) : find_check(*budget.loop, id);
}

namespace {

// At the warmest hour that is described, not at a cooler one of today.
Water of_a_day_to_plan_for(Water water) {
    const double today_c = water.peak_temperature_c.value_or(water.temperature_c);
    if (water.planned_peak_temperature_c > today_c) {
        water.peak_temperature_c = water.planned_peak_temperature_c;
    }
    water.planned_peak_temperature_c.reset();
    return water;
}

}  // namespace

Tank without_todays_readings(const Tank& tank) {
    Tank plan = tank;
    plan.water = of_a_day_to_plan_for(plan.water);
    plan.readings.oxygen_mg_l.reset();
    plan.readings.oxygen_age_h.reset();
    plan.readings.temperature_age_h.reset();
    plan.readings.tan_mg_l.reset();
    plan.readings.nitrite_mg_l.reset();
    plan.readings.nitrate_mg_l.reset();
    plan.readings.carbon_dioxide_mg_l.reset();
    plan.readings.lowest_oxygen_mg_l.reset();
    plan.readings.temperature_jump_c.reset();
    plan.water.alkalinity_mg_l.reset();
    return plan;
}

Loop without_todays_readings(const Loop& loop) {
    Loop plan = loop;
    plan.water = of_a_day_to_plan_for(plan.water);
    plan.readings.nitrite_mg_l.reset();
    plan.readings.nitrate_mg_l.reset();
    plan.readings.temperature_jump_c.reset();
    return plan;
}

System without_todays_readings(const System& system) {
    System plan = system;
    for (Tank& tank : plan.tanks) tank = without_todays_readings(tank);
    if (plan.loop) plan.loop = without_todays_readings(*plan.loop);
    return plan;
}

struct Planner::Inner {
    const System& today;
    const SystemBudget& today_budget;
    Sold sold;
    std::int64_t left_for_tanks;
    std::int64_t left_for_loop = kAloneEffort;
    std::int64_t assessments = 0;
    std::shared_ptr<const Planned> planned = {};  // without today's readings
    std::vector<TankTrial> trials = {};
    std::optional<Trials> of_part = {};  // the last that was asked about

    const std::shared_ptr<const Planned>& plan() {
        if (planned) return planned;
        System system = without_todays_readings(today);
        SystemBudget budget = assess_system(system);
        ++assessments;
        planned = std::make_shared<const Planned>(Planned{std::move(system), std::move(budget)});
        trials = trials_of(planned->system);
        return planned;
    }
    Trials trials_on(std::shared_ptr<const Planned> on, Part part) {
        return {std::move(on), part, part.tank ? std::optional{trials[*part.tank]} : std::nullopt,
                part.tank ? left_for_tanks : left_for_loop, assessments};
    }
    Trials& trials_of_part(Part part) {
        if (!of_part || of_part->part().tank != part.tank) {
            of_part.emplace(trials_on(plan(), part));
        }
        return *of_part;
    }
    // A plan that starts from a reading of today all the same; null where it does not.
    std::shared_ptr<const Planned> from_reading(Part part, CheckId id);
};

std::shared_ptr<const Planned> Planner::Inner::from_reading(Part part, CheckId id) {
    if (id != CheckId::nitrite && !(id == CheckId::carbon_dioxide && part.tank)) return nullptr;
    Planned own = *plan();
    if (!part.tank) {
        own.system.loop->readings = today.loop->readings;
        own.budget = assess_system(own.system);
    } else {
        Tank& tank = own.system.tanks[*part.tank];
        if (id == CheckId::carbon_dioxide) {
            explain_carbon_dioxide(today_budget.tanks[*part.tank], tank);
        } else {
            tank.readings.nitrite_mg_l = today.tanks[*part.tank].readings.nitrite_mg_l;
        }
        if (own.system.is_row()) {
            own.budget = assess_system(own.system);
        } else {
            own.budget.tanks[*part.tank] = trials[*part.tank].assess(tank);
        }
    }
    ++assessments;
    return std::make_shared<const Planned>(std::move(own));
}

Planner::Planner(const System& system, const SystemBudget& budget, double effort, Sold sold)
    : inner_(new Inner{system, budget, sold,
                       std::max(kAloneEffort, static_cast<std::int64_t>(effort * kMostEffort))}) {}

Planner::~Planner() = default;

std::int64_t Planner::assessments() const { return inner_->assessments; }

Plan Planner::plan(Part part, CheckId id) {
    Plan plan;
    const Check* today = find_check(inner_->today_budget, part, id);
    if (today == nullptr || today->status < Status::warn) return plan;
    std::vector<Remedy>& remedies = plan.remedies;
    const auto say = [&](Action action) { remedies.push_back({action, {}, {}, {}, {}}); };
    plan.on = inner_->from_reading(part, id);
    std::optional<Trials> own;
    if (plan.on) own.emplace(inner_->trials_on(plan.on, part));
    Trials& trials = own ? *own : inner_->trials_of_part(part);
    plan.on = trials.planned();
    if (id == CheckId::input_doubt || (id == CheckId::nitrate && part.tank)) {
        say(Action::advice);
        return plan;
    }
    const bool urgent =
        !part.tank || (info_of(id).danger == Danger::now &&
                       !reading_passes(inner_->today_budget.tanks[*part.tank],
                                       inner_->today.tanks[*part.tank].readings, id));
    if (today->status == Status::fail && urgent) say(Action::now);
    if (id == CheckId::alkalinity) {
        remedies.push_back(
            {Action::dose,
             std::ceil((*today->warn.low - *today->value) * inner_->today_budget.loop->volume_m3),
             "g",
             {},
             {}});
        return plan;
    }
    const Check* planned = find_check(plan.on->budget, part, id);
    if (planned == nullptr || planned->status < Status::warn) {
        say(Action::find_cause);
        return plan;
    }

    Solver solver(trials, {id});
    const auto offer = [&](const std::optional<Remedy>& remedy) {
        if (remedy && solver.proved(*remedy)) remedies.push_back(*remedy);
    };
    switch (id) {
        case CheckId::size_spread:
            offer(grading(plan.on->budget.tanks[*part.tank], *planned->warn.high));
            break;
        case CheckId::current:
            offer(current_change(*planned, plan.on->budget.tanks[*part.tank]));
            break;
        case CheckId::nitrite:
            if (const auto chloride = chloride_for_nitrite(*planned->value)) {
                offer(Remedy{Action::add_chloride, chloride, "mg/L", {}, {}});
            }
            break;
        case CheckId::biofilter:
            if (filter_is_slow(*inner_->today.loop)) break;  // no change makes it older or warmer
            [[fallthrough]];
        default:
            solver.solve(changes_for(id, *plan.on, part, inner_->sold), remedies);
            break;
    }
    plan.cut_short = trials.given_up();
    if (!plan.cut_short && (remedies.empty() || remedies.back().action == Action::now)) {
        say(Action::advice);
    }
    return plan;
}

Plan plan_remedies(const System& system, const SystemBudget& budget, Part part, CheckId check,
                   Sold sold) {
    return Planner(system, budget, 1, sold).plan(part, check);
}

Plan plan_together(Planned planned, std::size_t tank, std::span<const CheckId> checks, Sold sold) {
    Plan plan;
    plan.on = std::make_shared<const Planned>(std::move(planned));
    const Part part{tank};
    // Oxygen knows every change; density only some of them.
    std::vector<Ladder> changes = changes_for(CheckId::oxygen, *plan.on, part, sold);
    std::erase_if(changes,
                  [](const Ladder& steps) { return steps.action == Action::take_out_fish; });
    std::int64_t effort_left = kAloneEffort;
    std::int64_t assessments = 0;
    Trials trials(plan.on, part, trial_of(plan.on->system, tank), effort_left, assessments);
    Solver(trials, {checks.begin(), checks.end()}).solve(changes, plan.remedies);
    plan.cut_short = trials.given_up();
    if (plan.remedies.empty() && !plan.cut_short) {
        plan.remedies.push_back({Action::none_suffices, {}, {}, {}, {}});
    }
    return plan;
}

std::string_view name_of(Action action) noexcept {
    constexpr std::array<std::string_view, 26> names{
        "now",        "take_out_fish",  "cut_ration",     "add_air",       "add_aerator",
        "raise_flow", "add_fall",       "add_inflow",     "cool",          "warm",
        "add_oxygen", "cut_oxygen",     "enlarge",        "grade",         "add_chloride",
        "add_media",  "add_removal",    "raise_exchange", "raise_round",   "change_bed",
        "dose",       "change_current", "two_changes",    "none_suffices", "find_cause",
        "advice"};
    return names[static_cast<std::size_t>(action)];
}

std::span<const Constant> remedy_sources() noexcept { return kSources; }

}  // namespace coldtank
