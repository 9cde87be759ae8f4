#include "coldtank/remedy.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>

#include "balance.hpp"
#include "changes.hpp"
#include "halve.hpp"
#include "judgement.hpp"

namespace coldtank {
namespace {

constexpr Constant kReach{"largest change that a remedy asks for", 10, "times", Basis::judgement,
                          "beyond it is another installation"};
constexpr Constant kCoolingReach{"largest cooling that a remedy asks for", 5, "degC",
                                 Basis::judgement, "beyond it is another installation"};

// What the remedies of a system's tanks may take, in groups of fish assessed: a few seconds. A tank
// alone takes a quarter of it at most, so does a loop.
constexpr std::int64_t kMostEffort = 300000;
constexpr std::int64_t kAloneEffort = kMostEffort / 4;

std::int64_t effort_of(const Tank& tank) {
    return 1 + static_cast<std::int64_t>(tank.fish.size()) / 2;
}
std::int64_t effort_of(const System& system) {
    std::int64_t sum = 0;
    for (const Tank& tank : system.tanks) sum += effort_of(tank);
    return sum;
}

constexpr std::int64_t kHighestFallTenths = 30;  // of a description: 3 m

constexpr std::array kSources{kSaltPerChloride, kAddedAbsorption, kReach, kCoolingReach};

// The round values that one action can take: step i = 1 .. count has the value
// (first + i * direction) * 10^exponent.
struct Steps {
    Action action;
    std::string_view unit;
    std::int64_t first;
    std::int64_t direction;
    int exponent;
    std::int64_t count;

    Remedy at(std::int64_t i) const {
        const auto whole = static_cast<double>(first + i * direction);
        const double scale = std::pow(10, std::abs(exponent));
        return {action, exponent < 0 ? whole / scale : whole * scale, unit, {}, {}};
    }
};

// The exponent that leaves so many digits: 0 for 35 and two digits.
int exponent_of(double value, int digits) {
    return static_cast<int>(std::floor(std::log10(value))) + 1 - digits;
}

std::int64_t rounded_down(double value) { return static_cast<std::int64_t>(std::floor(value)); }
std::int64_t rounded_up(double value) { return static_cast<std::int64_t>(std::ceil(value)); }

// From `present` to kReach times as much.
Steps upwards(Action action, std::string_view unit, double present) {
    const int exponent = exponent_of(present, 2);
    const double units = present / std::pow(10, exponent);
    const std::int64_t first = rounded_down(units);
    return {action, unit, first, 1, exponent, rounded_down(kReach * units) - first};
}

// From nothing more to kReach times `scale` more.
Steps more(Action action, std::string_view unit, double scale) {
    const int exponent = exponent_of(scale, 2);
    return {action, unit, 0, 1, exponent, rounded_down(kReach * scale / std::pow(10, exponent))};
}

// From `present` to nothing.
Steps downwards(Action action, std::string_view unit, double present) {
    const int exponent = exponent_of(present, 3);
    const std::int64_t first = rounded_up(present / std::pow(10, exponent));
    return {action, unit, first, -1, exponent, first};
}

double oxygen_flow_l_min(const Tank& tank) {
    double sum = 0;
    for (const Aerator& aerator : tank.aeration) {
        if (const auto* o = std::get_if<PureOxygen>(&aerator.kind)) sum += o->flow_l_min;
    }
    return sum;
}

// Of the inflow or of the loop.
double supply_flow_l_min(const Tank& tank) {
    return tank.inflow ? tank.inflow->flow_l_min : tank.loop ? tank.loop->flow_l_min : 0;
}

// ---- which changes to try

// Cheapest first, netting fish late.
std::vector<Steps> changes_for(CheckId check, const Tank& tank, const TankBudget& budget) {
    std::vector<Steps> all;
    const bool excess = check == CheckId::oxygen_excess;
    const bool by_stock = check == CheckId::oxygen || check == CheckId::oxygen_reserve ||
                          check == CheckId::ammonia || check == CheckId::total_ammonia ||
                          check == CheckId::carbon_dioxide;
    if ((by_stock || check == CheckId::ration) && budget.ration_g_day > 0) {
        all.push_back(downwards(Action::cut_ration, "g/day", budget.ration_g_day));
    }
    const double demand_g_h = budget.oxygen.demand_peak_g_h;
    // What there may be to bring in or drive out: the demand, and what the supply lacks or has
    // over.
    const double gap_g_h = demand_g_h + std::abs(budget.oxygen.supply_g_h);
    if (by_stock || excess) {
        if (const double air = air_flow_l_min(tank.aeration); air > 0) {
            all.push_back(more(Action::add_air, "L/min", air));
        } else if (gap_g_h > 0) {
            all.push_back(more(Action::add_aerator, "g/h", gap_g_h));
        }
    }
    if ((by_stock || excess || check == CheckId::exchange) && budget.flow_m3_h > 0) {
        all.push_back(upwards(Action::raise_flow, "L/min", supply_flow_l_min(tank)));
        // In tenths of a metre, up to the highest fall that the model knows.
        if (by_stock || excess)
            all.push_back({Action::add_fall, "m", 0, 1, -1, kHighestFallTenths});
    } else if ((by_stock || check == CheckId::exchange) && !tank.loop) {
        // As a flow that turns the tank over once an hour.
        all.push_back(more(Action::add_inflow, "L/min", tank.volume_l / 60));
    }
    if (by_stock && gap_g_h > 0) {
        // As a flow of oxygen that would meet the whole demand.
        const Aerator unit{{}, {}, {}, PureOxygen{1, kAddedAbsorption}};
        all.push_back(
            more(Action::add_oxygen, "L/min", gap_g_h / pure_oxygen_g_h(unit, tank.coefficients)));
    }
    if ((by_stock || check == CheckId::density) && budget.fish_count > 1) {
        all.push_back({Action::take_out_fish, "fish", 0, 1, 0, rounded_up(budget.fish_count) - 1});
    }
    // A loop is not cooled by one tank.
    if ((by_stock && !tank.loop) || check == CheckId::temperature || check == CheckId::ration) {
        // In tenths of a degree, what a thermometer shows.
        const TankLimits limits = limits_of(tank);
        const double mean = budget.temperature_c;
        const double low = limits.temperature_low_warn_c.value_or(kTemperatureRange.low);
        const double high = limits.temperature_warn_c.value_or(kTemperatureRange.high);
        if (mean > low) {
            const std::int64_t first = rounded_up(10 * mean);
            const std::int64_t last = rounded_up(10 * std::max(low, mean - kCoolingReach));
            all.push_back({Action::cool, "degC", first, -1, -1, first - last});
        } else if (check == CheckId::temperature) {
            const std::int64_t first = rounded_down(10 * mean);
            all.push_back({Action::warm, "degC", first, 1, -1, rounded_down(10 * high) - first});
        }
    }
    if (const double oxygen = oxygen_flow_l_min(tank); excess && oxygen > 0) {
        all.push_back(downwards(Action::cut_oxygen, "L/min", oxygen));
    }
    if (by_stock || check == CheckId::density) {
        all.push_back(upwards(Action::enlarge, "L", tank.volume_l));
    }
    return all;
}

// ---- the changes

// Every group that has a stated ration with that as its own.
void share_out_ration(Tank& tank, const TankBudget& budget) {
    std::size_t i = 0;
    for (FishGroup& group : tank.fish) {
        if (group.count == 0) continue;
        const GroupBudget& figures = budget.groups[i++];
        if (figures.ration_stated) group.ration_g_day = figures.ration_g_day;
    }
    tank.feed.ration_g_day.reset();
    tank.feed.ration_percent_day.reset();
}

// Fish that eat by the table go on eating what it gave, whatever it gives in colder water.
void keep_rations(Tank& tank, const TankBudget& budget) {
    std::size_t i = 0;
    for (FishGroup& group : tank.fish) {
        if (group.count == 0) continue;
        const GroupBudget& figures = budget.groups[i++];
        // Of those that are left: some may have been taken out first.
        if (figures.ration_stated) continue;
        group.kept_ration_g_day = figures.ration_g_day * (group.count / figures.count);
    }
}

// ---- solving

// What a change does to a system: a tank's of a loop to that loop, where it cools or warms.
System carried_out(const System& system, const SystemBudget& budget,
                   std::optional<std::size_t> tank, const Remedy& remedy) {
    if (!tank) return with_remedy(system, budget, remedy);
    System changed = system;
    if (remedy.action == Action::two_changes) {
        for (const Remedy& part : remedy.parts) {
            changed = carried_out(changed, budget, tank, part);
        }
        return changed;
    }
    const bool thermal = remedy.action == Action::cool || remedy.action == Action::warm;
    if (!thermal || !system.loop) {
        changed.tanks[*tank] = with_remedy(system.tanks[*tank], budget.tanks[*tank], remedy);
        return changed;
    }
    const double warmer_c = remedy.value.value() - system.tanks[*tank].water.temperature_c;
    for (std::size_t i = 0; i < changed.tanks.size(); ++i) {
        Remedy each = remedy;
        each.value = changed.tanks[i].water.temperature_c + warmer_c;
        changed.tanks[i] = with_remedy(changed.tanks[i], budget.tanks[i], each);
    }
    change_temperature(changed.loop->water, changed.loop->water.temperature_c + warmer_c);
    return changed;
}

template <class Budget>
bool no_worse(const Budget& after, const Budget& before) {
    return std::all_of(after.checks.begin(), after.checks.end(), [&](const Check& check) {
        // What suits the plants is no reason to feed the fish what they should not have; a doubt
        // is for the eye.
        if (check.id == CheckId::plants || check.id == CheckId::input_doubt) return true;
        const Check* was = find_check(before, check.id);
        return check.status <= (was == nullptr ? Status::pass : was->status);
    });
}

// Tries changes of a planned system, of one tank or of its loop where no tank is named. Takes what
// it assesses from the effort that is left, and gives up where none is.
class Solver {
public:
    Solver(const System& system, const SystemBudget& budget, std::optional<TankTrial> trial,
           std::vector<CheckId> checks, std::int64_t& effort_left)
        : system_(system),
          budget_(budget),
          trial_(std::move(trial)),
          checks_(std::move(checks)),
          effort_left_(effort_left),
          effort_of_all_(effort_of(system)) {}

    // The smallest step that suffices, proved; none where no step does.
    // Checks get better with every step of most changes: halve between a step that does not
    // suffice and one that does. The others (colder water can hold less of its saturation) are
    // looked at in a few places first.
    std::optional<std::int64_t> smallest(const Steps& steps, const Remedy* other = nullptr) const {
        if (steps.count < 1) return std::nullopt;
        const auto at = [&](std::int64_t i) {
            if (other == nullptr) return steps.at(i);
            return Remedy{Action::two_changes, {}, {}, {*other, steps.at(i)}, {}};
        };
        std::int64_t low = 0;
        std::int64_t high = 0;
        for (const std::int64_t part : {1, 16, 8, 4, 2}) {
            const std::int64_t i = std::max<std::int64_t>(1, steps.count / part);
            if (passes(at(i))) {
                high = i;
                break;
            }
            if (part > 1) low = i;
        }
        if (high == 0) return std::nullopt;
        high = last_whole(low, high, [&](std::int64_t i) { return !passes(at(i)); }) + 1;
        return proved(at(high)) ? std::optional{high} : std::nullopt;
    }

    // The pair of changes that asks least, as shares of what each could do.
    std::optional<Remedy> smallest_pair(const std::vector<Steps>& changes) const {
        constexpr std::int64_t kLevels = 8;
        std::optional<Remedy> best;
        double least = 0;
        for (std::size_t a = 0; a < changes.size(); ++a) {
            for (std::size_t b = a + 1; b < changes.size(); ++b) {
                for (std::int64_t level = 1; level <= kLevels; ++level) {
                    const std::int64_t i = changes[a].count * level / kLevels;
                    if (i < 1) continue;
                    const Remedy first = changes[a].at(i);
                    const auto j = smallest(changes[b], &first);
                    if (!j) continue;
                    const double effort =
                        static_cast<double>(level) / kLevels +
                        static_cast<double>(*j) / static_cast<double>(changes[b].count);
                    if (best && effort >= least) continue;
                    least = effort;
                    best = Remedy{Action::two_changes, {}, {}, {first, changes[b].at(*j)}, {}};
                }
            }
        }
        return best;
    }

    // Every single change that suffices; else a word that none does, and the smallest pair.
    void solve(const std::vector<Steps>& changes, std::vector<Remedy>& remedies) const {
        const std::size_t before = remedies.size();
        for (const Steps& steps : changes) {
            if (const auto i = smallest(steps)) remedies.push_back(steps.at(*i));
        }
        if (remedies.size() > before || changes.empty()) return;
        const auto pair = smallest_pair(changes);
        // What was not tried may suffice.
        if (!given_up()) remedies.push_back({Action::none_suffices, {}, {}, {}, {}});
        if (pair) remedies.push_back(*pair);
    }

    // Whether the check passes and no other has become worse.
    bool proved(const Remedy& remedy) const {
        if (given_up()) return false;
        const System changed = carried_out(system_, budget_, tank(), remedy);
        effort_left_ -= 2 * effort_of_all_;
        const SystemBudget after = assess_system(changed);
        if (!pass(after)) return false;
        for (std::size_t i = 0; i < after.tanks.size(); ++i) {
            if (!no_worse(after.tanks[i], budget_.tanks[i])) return false;
        }
        return !after.loop || no_worse(*after.loop, *budget_.loop);
    }

    bool given_up() const { return effort_left_ < 0; }

private:
    std::optional<std::size_t> tank() const {
        return trial_ ? std::optional{trial_->index()} : std::nullopt;
    }

    template <class Budget>
    bool pass_all(const Budget& budget) const {
        return std::all_of(checks_.begin(), checks_.end(), [&](CheckId id) {
            const Check* check = find_check(budget, id);
            return check == nullptr || check->status == Status::pass;
        });
    }
    bool pass(const SystemBudget& budget) const {
        return trial_ ? pass_all(budget.tanks[trial_->index()]) : pass_all(*budget.loop);
    }

    bool passes(const Remedy& remedy) const {
        if (given_up()) return false;
        if (trial_ && !reaches_beyond(remedy)) {
            // The sums of the other tanks stand.
            const std::size_t i = trial_->index();
            effort_left_ -= 3 * effort_of(system_.tanks[i]);
            return pass_all(
                trial_->assess(with_remedy(system_.tanks[i], budget_.tanks[i], remedy)));
        }
        effort_left_ -= 2 * effort_of_all_;
        return pass(assess_system(carried_out(system_, budget_, tank(), remedy)));
    }

    // Whether a change to a tank changes its whole loop.
    bool reaches_beyond(const Remedy& remedy) const {
        return system_.loop &&
               (remedy.action == Action::cool || remedy.action == Action::warm ||
                std::any_of(remedy.parts.begin(), remedy.parts.end(),
                            [&](const Remedy& part) { return reaches_beyond(part); }));
    }

    const System& system_;
    const SystemBudget& budget_;
    std::optional<TankTrial> trial_;
    std::vector<CheckId> checks_;
    std::int64_t& effort_left_;
    std::int64_t effort_of_all_;
};

// ---- special cases

// Which groups to move so that the rest are of one size: those outside the run of lengths that
// keeps most fish.
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

std::optional<Remedy> current_change(const Check& check, const TankBudget& budget) {
    double shortest = budget.groups.front().length_cm;
    double longest = shortest;
    for (const GroupBudget& group : budget.groups) {
        shortest = std::min(shortest, group.length_cm);
        longest = std::max(longest, group.length_cm);
    }
    const double slowest = std::ceil(*check.warn.low * longest);
    const double fastest = std::floor(*check.warn.high * shortest);
    if (slowest > fastest) return std::nullopt;
    const bool slow = *check.value < *check.warn.low;
    return Remedy{Action::change_current, slow ? slowest : fastest, "cm/s", {}, {}};
}

// A reading shows more carbon dioxide than the balance can explain or judge: take the rest as
// brought by the inflow, so that a plan starts from what was measured.
void explain_carbon_dioxide(const TankBudget& budget, Tank& plan) {
    const CarbonDioxideBudget& co2 = budget.carbon_dioxide;
    if (!plan.inflow || budget.flow_m3_h == 0) return;
    const double reading = std::max(co2.from_ph_mg_l.value_or(0), co2.measured_mg_l.value_or(0));
    if (reading == 0 || (co2.balance_judged && *co2.balance_mg_l >= reading)) return;
    const double above_air =
        ((budget.flow_m3_h + co2.stripping_m3_h) * (reading - co2.in_air_mg_l) -
         co2.production_g_day / 24) /
        budget.flow_m3_h /
        cascades_leave(plan.aeration, budget.peak_temperature_c, plan.coefficients)
            .of_carbon_dioxide;
    plan.inflow->carbon_dioxide_mg_l = co2.in_air_mg_l + std::max(0.0, above_air);
}

}  // namespace

Tank without_todays_readings(const Tank& tank) {
    Tank plan = tank;
    plan.readings.oxygen_mg_l.reset();
    plan.readings.tan_mg_l.reset();
    plan.readings.nitrite_mg_l.reset();
    plan.readings.nitrate_mg_l.reset();
    plan.readings.carbon_dioxide_mg_l.reset();
    plan.readings.lowest_oxygen_mg_l.reset();
    plan.readings.temperature_jump_c.reset();
    plan.water.alkalinity_mg_l.reset();
    return plan;
}

Tank with_remedy(const Tank& tank, const TankBudget& budget, const Remedy& remedy) {
    Tank changed = tank;
    const double value = remedy.value.value_or(0);
    switch (remedy.action) {
        case Action::take_out_fish:
            scale_fish(changed, (budget.fish_count - value) / budget.fish_count);
            break;
        case Action::cut_ration:
            set_ration(changed, value);
            break;
        case Action::add_air: {
            const double present = air_flow_l_min(tank.aeration);
            change_aerators<Diffuser>(changed, [&](Diffuser& diffuser) {
                diffuser.air_flow_l_min *= (present + value) / present;
            });
            break;
        }
        case Action::add_aerator:
            changed.aeration.push_back({"added", {}, {}, RatedAerator{value}});
            break;
        case Action::raise_flow:
            (changed.inflow ? changed.inflow->flow_l_min : changed.loop->flow_l_min) = value;
            break;
        case Action::add_fall:
            changed.aeration.push_back({"added", {}, {}, Cascade{value}});
            break;
        case Action::add_inflow: {
            Inflow inflow;
            inflow.flow_l_min = value;
            inflow.oxygen_percent = 100;
            inflow.tan_mg_l = 0;
            inflow.carbon_dioxide_mg_l = budget.carbon_dioxide.in_air_mg_l;
            changed.inflow = inflow;
            break;
        }
        case Action::cool:
            keep_rations(changed, budget);
            change_temperature(changed.water, value);
            break;
        case Action::warm:
            change_temperature(changed.water, value);
            break;
        case Action::add_oxygen:
            changed.aeration.push_back({"added", {}, {}, PureOxygen{value, kAddedAbsorption}});
            break;
        case Action::cut_oxygen: {
            const double present = oxygen_flow_l_min(tank);
            change_aerators<PureOxygen>(
                changed, [&](PureOxygen& oxygen) { oxygen.flow_l_min *= value / present; });
            break;
        }
        case Action::enlarge:
            changed.volume_l = value;
            break;
        case Action::grade: {
            share_out_ration(changed, budget);
            std::erase_if(changed.fish, [](const FishGroup& group) { return group.count == 0; });
            for (const std::size_t i : remedy.groups) changed.fish[i].count = 0;
            break;
        }
        case Action::add_chloride:
            changed.readings.chloride_mg_l = value;
            break;
        case Action::change_current:
            changed.readings.current_cm_s = value;
            break;
        case Action::add_media:
        case Action::add_removal:
        case Action::raise_exchange:
        case Action::raise_round:
        case Action::change_bed:
        case Action::dose:
            break;  // of a loop
        case Action::two_changes:
            for (const Remedy& part : remedy.parts) changed = with_remedy(changed, budget, part);
            break;
        case Action::now:
        case Action::none_suffices:
        case Action::find_cause:
        case Action::advice:
            break;
    }
    return changed;
}

Loop without_todays_readings(const Loop& loop) {
    Loop plan = loop;
    plan.readings.nitrite_mg_l.reset();
    plan.readings.nitrate_mg_l.reset();
    plan.readings.temperature_jump_c.reset();
    return plan;
}

struct Planner::Inner {
    const System& today;
    const SystemBudget& today_budget;
    System planned;  // without today's readings
    std::optional<SystemBudget> planned_budget;
    std::int64_t left_for_tanks;
    std::int64_t left_for_loop = kAloneEffort;
    std::vector<TankTrial> trials = {};

    const SystemBudget& budget() {
        if (!planned_budget) {
            planned_budget = assess_system(planned);
            trials = trials_of(planned);
        }
        return *planned_budget;
    }
};

Planner::Planner(const System& system, const SystemBudget& budget, double effort)
    : inner_(new Inner{system,
                       budget,
                       system,
                       {},
                       std::max(kAloneEffort, static_cast<std::int64_t>(effort * kMostEffort))}) {
    for (Tank& tank : inner_->planned.tanks) tank = without_todays_readings(tank);
    if (inner_->planned.loop) inner_->planned.loop = without_todays_readings(*system.loop);
}

Planner::~Planner() = default;

Plan Planner::plan(std::size_t index, CheckId id) {
    const Tank& tank = inner_->today.tanks[index];
    const TankBudget& budget = inner_->today_budget.tanks[index];
    Plan plan{inner_->planned.tanks[index], {}, {}};
    const Check* today = find_check(budget, id);
    if (today == nullptr || today->status < Status::warn) return plan;
    if (id == CheckId::input_doubt) {
        plan.remedies.push_back({Action::advice, {}, {}, {}, {}});
        return plan;
    }
    const SystemBudget& all_planned = inner_->budget();
    const TankTrial& trial = inner_->trials[index];
    // Where a plan starts from a reading all the same.
    std::optional<System> own;
    std::optional<SystemBudget> own_budget;
    if (id == CheckId::carbon_dioxide) explain_carbon_dioxide(budget, plan.tank);
    if (id == CheckId::nitrite) plan.tank.readings.nitrite_mg_l = tank.readings.nitrite_mg_l;
    if (id == CheckId::carbon_dioxide || id == CheckId::nitrite) {
        own = inner_->planned;
        own->tanks[index] = plan.tank;
        own_budget = all_planned;
        own_budget->tanks[index] = trial.assess(plan.tank);
    }
    const System& planned_system = own ? *own : inner_->planned;
    const SystemBudget& planned_budget = own ? *own_budget : all_planned;
    plan.budget = planned_budget.tanks[index];

    std::vector<Remedy>& remedies = plan.remedies;
    if (today->status == Status::fail && info_of(id).danger == Danger::now)
        remedies.push_back({Action::now, {}, {}, {}, {}});
    const Check* planned = find_check(plan.budget, id);
    if (planned == nullptr || planned->status < Status::warn) {
        remedies.push_back({Action::find_cause, {}, {}, {}, {}});
        return plan;
    }

    const Solver solver(planned_system, planned_budget, trial, {id}, inner_->left_for_tanks);
    const auto offer = [&](const std::optional<Remedy>& remedy) {
        if (remedy && solver.proved(*remedy)) remedies.push_back(*remedy);
    };
    switch (id) {
        case CheckId::size_spread:
            offer(grading(plan.budget, *planned->warn.high));
            break;
        case CheckId::current:
            offer(current_change(*planned, plan.budget));
            break;
        case CheckId::nitrite:
            if (const auto chloride = chloride_for_nitrite(*tank.readings.nitrite_mg_l)) {
                offer(Remedy{Action::add_chloride, chloride, "mg/L", {}, {}});
            }
            break;
        default: {
            solver.solve(changes_for(id, plan.tank, plan.budget), remedies);
            break;
        }
    }
    plan.cut_short = solver.given_up();
    if (!plan.cut_short && (remedies.empty() || remedies.back().action == Action::now)) {
        remedies.push_back({Action::advice, {}, {}, {}, {}});
    }
    return plan;
}

Plan plan_remedies(const Tank& tank, const TankBudget& budget, CheckId id, double pressure_kpa) {
    return plan_remedies(System{pressure_kpa, {tank}, std::nullopt}, SystemBudget{{budget}, {}}, 0,
                         id);
}

Plan plan_remedies(const System& system, const SystemBudget& budget, std::size_t tank, CheckId id) {
    return Planner(system, budget).plan(tank, id);
}

Together plan_together(const System& system, std::size_t tank, std::span<const CheckId> checks) {
    const SystemBudget budget = assess_system(system);
    // Oxygen knows every change; density only some of them.
    std::vector<Steps> changes =
        changes_for(CheckId::oxygen, system.tanks[tank], budget.tanks[tank]);
    std::erase_if(changes,
                  [](const Steps& steps) { return steps.action == Action::take_out_fish; });
    Together together;
    std::int64_t effort_left = kAloneEffort;
    const Solver solver(system, budget, trial_of(system, tank), {checks.begin(), checks.end()},
                        effort_left);
    solver.solve(changes, together.remedies);
    together.cut_short = solver.given_up();
    if (together.remedies.empty() && !together.cut_short) {
        together.remedies.push_back({Action::none_suffices, {}, {}, {}, {}});
    }
    return together;
}

// ---- loops

namespace {

std::vector<Steps> loop_changes_for(CheckId check, const Loop& loop, const LoopBudget& budget) {
    std::vector<Steps> all;
    const bool filter = check == CheckId::biofilter;
    if ((filter || check == CheckId::loop_flow || check == CheckId::nitrate) &&
        budget.feed_g_day > 0) {
        all.push_back(downwards(Action::cut_ration, "g/day", budget.feed_g_day));
    }
    if (filter && loop.biofilter) {
        if (const double area = loop.biofilter->media_area_m2.value_or(0); area > 0) {
            all.push_back(more(Action::add_media, "m2", area));
        }
        if (const double removal = loop.biofilter->removal_g_day.value_or(0); removal > 0) {
            all.push_back(more(Action::add_removal, "g/day", removal));
        }
    }
    if (check == CheckId::loop_flow && budget.flow_m3_h > 0) {
        all.push_back(upwards(Action::raise_round, "L/min", budget.flow_m3_h * 1000 / 60));
    }
    if (filter || check == CheckId::nitrate) {
        if (budget.exchange_m3_day > 0) {
            all.push_back(upwards(Action::raise_exchange, "L/day", loop.exchange_l_day));
        } else if (budget.volume_m3 > 0) {
            // Up to the whole water ten times a day.
            Steps steps = more(Action::raise_exchange, "L/day", budget.volume_m3 * 1000);
            all.push_back(steps);
        }
    }
    if (loop.plants && check == CheckId::nitrate) {
        all.push_back(upwards(Action::change_bed, "m2", loop.plants->bed_area_m2));
    }
    if (loop.plants && check == CheckId::plants && budget.feed_g_day > 0) {
        // A bed may be too big as well as too small: no further than to its other limit.
        const Check& plants = *find_check(budget, CheckId::plants);
        const double bed_m2 = loop.plants->bed_area_m2;
        const double fed_g_day = *plants.value * bed_m2;
        const bool small = *plants.value > *plants.warn.high;
        Steps steps = small ? upwards(Action::change_bed, "m2", bed_m2)
                            : downwards(Action::change_bed, "m2", bed_m2);
        const double last_m2 = fed_g_day / (small ? *plants.warn.low : *plants.warn.high);
        const double last =
            last_m2 / std::pow(10, steps.exponent) - static_cast<double>(steps.first);
        steps.count = std::min(steps.count, rounded_down(std::abs(last)));
        all.push_back(steps);
    }
    return all;
}

}  // namespace

System with_remedy(const System& system, const SystemBudget& budget, const Remedy& remedy) {
    System changed = system;
    Loop& loop = *changed.loop;
    const double value = remedy.value.value_or(0);
    switch (remedy.action) {
        case Action::cut_ration:
            return fed_with(system, budget, value);
        case Action::add_media:
            *loop.biofilter->media_area_m2 += value;
            break;
        case Action::add_removal:
            *loop.biofilter->removal_g_day += value;
            break;
        case Action::raise_exchange:
            loop.exchange_l_day = value;
            break;
        case Action::raise_round:
            for (Tank& tank : changed.tanks) {
                tank.loop->flow_l_min *= value / (budget.loop->flow_m3_h * 1000 / 60);
            }
            break;
        case Action::change_bed:
            loop.plants->bed_area_m2 = value;
            break;
        case Action::add_chloride:
            loop.readings.chloride_mg_l = value;
            break;
        case Action::two_changes:
            for (const Remedy& part : remedy.parts) changed = with_remedy(changed, budget, part);
            break;
        default:
            break;
    }
    return changed;
}

LoopPlan Planner::plan_loop(CheckId id) {
    LoopPlan plan{inner_->planned, {}, {}};
    const LoopBudget& budget = *inner_->today_budget.loop;
    const Check* today = find_check(budget, id);
    if (today == nullptr || today->status < Status::warn) return plan;
    if (id == CheckId::input_doubt) {
        plan.remedies.push_back({Action::advice, {}, {}, {}, {}});
        return plan;
    }
    plan.budget = inner_->budget();
    if (id == CheckId::nitrite) {
        plan.system.loop->readings = inner_->today.loop->readings;
        plan.budget = assess_system(plan.system);
    }

    std::vector<Remedy>& remedies = plan.remedies;
    const auto say = [&](Action action) { remedies.push_back({action, {}, {}, {}, {}}); };
    if (today->status == Status::fail) say(Action::now);
    const Check* planned = find_check(*plan.budget.loop, id);
    const Solver solver(plan.system, plan.budget, std::nullopt, {id}, inner_->left_for_loop);
    if (id == CheckId::alkalinity) {
        remedies.push_back({Action::dose,
                            std::ceil((*today->warn.low - *today->value) * budget.volume_m3),
                            "g",
                            {},
                            {}});
        return plan;
    }
    if (planned->status < Status::warn) {
        say(Action::find_cause);
        return plan;
    }
    if (id == CheckId::nitrite) {
        if (const auto chloride =
                chloride_for_nitrite(*inner_->today.loop->readings.nitrite_mg_l)) {
            const Remedy remedy{Action::add_chloride, chloride, "mg/L", {}, {}};
            if (solver.proved(remedy)) remedies.push_back(remedy);
        }
    } else if (id == CheckId::biofilter && filter_is_slow(*inner_->today.loop)) {
        say(Action::advice);  // no change makes it older or warmer
    } else {
        solver.solve(loop_changes_for(id, *plan.system.loop, *plan.budget.loop), remedies);
    }
    plan.cut_short = solver.given_up();
    if (!plan.cut_short && (remedies.empty() || remedies.back().action == Action::now)) {
        say(Action::advice);
    }
    return plan;
}

LoopPlan plan_loop_remedies(const System& system, const SystemBudget& budget, CheckId id) {
    return Planner(system, budget).plan_loop(id);
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
