// Three ways to a system that passes. A way is a few levers; each is drawn as far as is needed.
#include "coldtank/plan.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <tuple>

#include "changes.hpp"
#include "judgement.hpp"
#include "steps.hpp"

namespace coldtank {
namespace {

constexpr Constant kLeastFeed{"least share of a ration that a plan feeds on", 0.3, "-",
                              Basis::judgement, "below it fish are too many, not too well fed"};

constexpr double kLeastRation = 2;  // g/day: less is not weighed

// One kind of change to some parts, from level 0, none of it, to its last level.
struct Lever {
    struct Member {
        Part part;
        double present;  // what it starts from
        double reach;    // what it may come to
        std::vector<std::size_t> groups = {};
    };
    Action action;
    std::string_view unit;
    const Steps* steps;
    int levels;
    std::vector<Member> members = {};

    std::optional<Remedy> at(const Member& member, int level) const;
};

constexpr int kLevels = 64;
constexpr int kFeedLevels = 14;
constexpr int kMostFishLevels = 1023;

std::optional<Remedy> Lever::at(const Member& member, int level) const {
    if (level == 0) return std::nullopt;
    Remedy remedy{action, {}, unit, {}, member.groups};
    const double share = static_cast<double>(level) / levels;
    switch (action) {
        case Action::take_out_fish:
            remedy.value = std::min(member.reach, std::ceil(member.present * level / (levels + 1)));
            break;
        case Action::cut_ration:
        case Action::cut_oxygen:
            remedy.value =
                steps->next(member.present + share * (member.reach - member.present), false);
            break;
        case Action::cool:  // no further than its reach
            remedy.value = std::max(
                steps->next(member.reach, true),
                steps->next(member.present + share * (member.reach - member.present), false));
            break;
        case Action::grade:
        case Action::add_chloride:
            remedy.value = member.reach;
            break;
        default:  // in small steps first
            remedy.value =
                steps->next(member.present + share * share * (member.reach - member.present), true);
            break;
    }
    return remedy;
}

bool is_of_stock(CheckId id) {
    return id == CheckId::oxygen || id == CheckId::oxygen_reserve || id == CheckId::ammonia ||
           id == CheckId::total_ammonia || id == CheckId::carbon_dioxide;
}

// How much is wrong: fails, then warnings.
struct Trouble {
    int fails = 0;
    int warns = 0;
    auto operator<=>(const Trouble&) const = default;
};

class WaySolver {
public:
    WaySolver(const System& system, const SystemBudget& budget, Sold sold);
    Plans solve();

private:
    using Levels = std::vector<int>;  // one a lever

    bool fails(Part part, auto holds) const {
        const auto& checks = checks_of(budget_, part);
        return std::any_of(checks.begin(), checks.end(), [&](const Check& check) {
            return check.status >= Status::warn && holds(check.id);
        });
    }
    bool fails(Part part, CheckId id) const {
        return fails(part, [&](CheckId each) { return each == id; });
    }
    struct Counts {
        double all = 0;
        double largest = 1;
        double ration_g_day = 0;
        double advised_g_day = 0;
    };
    Counts counts_without(std::size_t tank, std::span<const std::size_t> graded) const;
    void add_common_levers();
    void add_fish_levers();
    void add_equipment_levers();
    Lever lever(Action action, std::string_view unit, int levels,
                std::vector<Lever::Member> members = {}) const {
        return {action, unit, &steps_of(action, sold_), levels, std::move(members)};
    }
    void add(Lever lever, std::vector<std::size_t>& to);

    std::vector<Change> changes_at(const Levels& levels) const;
    void add_flow_from_above(std::vector<Change>& changes) const;
    Trouble trouble_at(const Levels& levels);
    SystemBudget assessed(const System& system, const SystemBudget& budget,
                          const std::vector<Change>& changes);
    bool spent() const { return assessments_ >= kMostPlanAssessments - kFinalAssessments; }

    // The last levels of so many levers.
    Levels full(std::span<const std::size_t> levers, Levels levels) const;
    // The levers, of those that may be drawn together, with which least is wrong.
    std::vector<std::size_t> best_of(const std::vector<std::vector<std::size_t>>& sets,
                                     const Levels& from);
    // All of them together no further than where least is wrong.
    Levels together(std::span<const std::size_t> levers, const Levels& from);
    // Then each for itself, with no more wrong than that.
    Levels least(std::span<const std::size_t> levers, Levels levels);
    // One of them drawn further, so that less is wrong; none where that does not help.
    std::optional<Levels> one_further(std::span<const std::size_t> levers, const Levels& levels);
    int least_level(int low, int high, auto holds);
    std::optional<WayPlan> plan_of(Way way, const Levels& levels);

    static constexpr std::int64_t kFinalAssessments = 12;  // each way once more

    const System& today_;
    const SystemBudget& today_budget_;
    Sold sold_;
    System system_;  // without today's readings
    SystemBudget budget_;
    std::vector<Part> parts_;
    std::vector<Counts> left_;  // of each tank, the fish that are not graded out of it
    std::vector<Lever> levers_;
    std::vector<std::size_t> common_;
    std::vector<std::size_t> fish_;
    std::vector<std::size_t> equipment_;
    std::map<Levels, Trouble> known_;
    std::int64_t assessments_ = 1;
};

Trouble trouble_of(const SystemBudget& budget, const std::vector<Part>& parts) {
    Trouble trouble;
    for (const Part& part : parts) {
        for (const Check& check : checks_of(budget, part)) {
            // What suits the plants is no reason to starve fish.
            if (check.id == CheckId::plants) continue;
            trouble.fails += check.status == Status::fail ? 1 : 0;
            trouble.warns += check.status == Status::warn ? 1 : 0;
        }
    }
    return trouble;
}

WaySolver::WaySolver(const System& system, const SystemBudget& budget, Sold sold)
    : today_(system),
      today_budget_(budget),
      sold_(sold),
      system_(without_todays_readings(system)),
      budget_(assess_system(system_)) {
    for (std::size_t i = 0; i < system_.tanks.size(); ++i) parts_.push_back({i});
    if (system_.loop) parts_.push_back({});
    add_common_levers();
    add_fish_levers();
    add_equipment_levers();
}

void WaySolver::add(Lever lever, std::vector<std::size_t>& to) {
    if (lever.members.empty() || lever.levels < 1) return;
    to.push_back(levers_.size());
    levers_.push_back(std::move(lever));
}

// What no way goes without: fish too far apart, more feed than they eat, salt against nitrite.
void WaySolver::add_common_levers() {
    Lever grade = lever(Action::grade, "fish", 1);
    Lever chloride = lever(Action::add_chloride, "mg/L", 1);
    Lever feed = lever(Action::cut_ration, "g/day", 1);
    for (const Part& part : parts_) {
        if (const Check* nitrite = find_check(today_budget_, part, CheckId::nitrite);
            nitrite != nullptr && nitrite->status >= Status::warn) {
            if (const auto mg_l = chloride_for_nitrite(*nitrite->value)) {
                chloride.members.push_back({part, 0, *mg_l});
            }
        }
        if (!part.tank) continue;
        const TankBudget& budget = budget_.tanks[*part.tank];
        std::optional<Remedy> move;
        if (fails(part, CheckId::size_spread)) {
            move = grading(budget, *find_check(budget, CheckId::size_spread)->warn.high);
        }
        if (move) grade.members.push_back({part, 0, *move->value, move->groups});
        left_.push_back(
            counts_without(*part.tank, move ? move->groups : std::vector<std::size_t>{}));
    }
    add(std::move(grade), common_);
    for (const Part& part : parts_) {
        if (!part.tank || !fails(part, CheckId::ration)) continue;
        const Counts& left = left_[*part.tank];
        if (left.advised_g_day >= kLeastRation) {
            feed.members.push_back({part, left.ration_g_day, left.advised_g_day});
        }
    }
    add(std::move(feed), common_);
    add(std::move(chloride), common_);
}

WaySolver::Counts WaySolver::counts_without(std::size_t tank,
                                            std::span<const std::size_t> graded) const {
    Counts count;
    const auto& groups = budget_.tanks[tank].groups;
    for (std::size_t i = 0; i < groups.size(); ++i) {
        if (std::find(graded.begin(), graded.end(), i) != graded.end()) continue;
        count.all += groups[i].count;
        count.ration_g_day += groups[i].ration_g_day;
        count.advised_g_day += groups[i].advised_ration_g_day;
        count.largest = std::max(count.largest, groups[i].count);
    }
    return count;
}

void WaySolver::add_fish_levers() {
    const Part loop;
    const bool of_loop =
        system_.loop && fails(loop, [](CheckId id) {
            return id == CheckId::biofilter || id == CheckId::loop_flow || id == CheckId::nitrate;
        });
    Lever fish = lever(Action::take_out_fish, "fish", 0);
    Lever feed = lever(Action::cut_ration, "g/day", kFeedLevels);
    for (const Part& part : parts_) {
        if (!part.tank) continue;
        const bool of_stock = of_loop || fails(part, is_of_stock);
        const Counts& count = left_[*part.tank];
        if ((of_stock || fails(part, CheckId::density)) && count.all > 1) {
            // One fish of the largest group stays.
            fish.members.push_back(
                {part, count.all, std::floor(count.all - count.all / count.largest)});
            fish.levels = std::max(
                fish.levels, static_cast<int>(std::min<double>(kMostFishLevels, count.all - 1)));
        }
        if (of_stock && count.ration_g_day >= kLeastRation) {
            feed.members.push_back({part, count.ration_g_day, kLeastFeed * count.ration_g_day});
        }
    }
    add(std::move(feed), fish_);
    add(std::move(fish), fish_);
}

// In the order in which they are tried together: what is bought most easily first.
void WaySolver::add_equipment_levers() {
    Lever air = lever(Action::add_air, "L/min", kLevels);
    Lever aerator = lever(Action::add_aerator, "g/h", kLevels);
    Lever flow = lever(Action::raise_flow, "L/min", kLevels);
    Lever inflow = lever(Action::add_inflow, "L/min", kLevels);
    Lever room = lever(Action::enlarge, "L", kLevels);
    Lever cool = lever(Action::cool, "degC", 0);
    Lever less = lever(Action::cut_oxygen, "L/min", kLevels);
    Lever oxygen = lever(Action::add_oxygen, "L/min", kLevels);
    // Round the loop in all, or of its tanks: not both.
    const bool in_all = system_.loop && fails(Part{}, CheckId::loop_flow);
    for (const Part& part : parts_) {
        if (!part.tank) continue;
        const Tank& tank = system_.tanks[*part.tank];
        const TankBudget& budget = budget_.tanks[*part.tank];
        const bool of_stock = fails(part, is_of_stock);
        const bool excess = fails(part, CheckId::oxygen_excess);
        const bool dense = fails(part, CheckId::density);
        const bool slow = fails(part, CheckId::exchange);
        const double gap_g_h = oxygen_gap_g_h(budget);
        if (of_stock || excess) {
            if (const double present = air_flow_l_min(tank.aeration); present > 0) {
                air.members.push_back({part, 0, kReach * present});
            } else if (gap_g_h > 0) {
                aerator.members.push_back({part, 0, kReach * gap_g_h});
            }
        }
        if (of_stock || excess || dense || slow) {
            const double present = flow_l_min_of(tank);
            if (present > 0 && !in_all) {
                flow.members.push_back({part, present, kReach * present});
            } else if (present == 0 && !tank.loop) {
                inflow.members.push_back({part, 0, kReach * tank.volume_l / 60});
            }
        }
        if (of_stock || dense) {
            room.members.push_back({part, tank.volume_l, kReach * tank.volume_l});
        }
        if (const double present = oxygen_flow_l_min(tank); excess && present > 0) {
            less.members.push_back({part, present, 0});
        }
        if (of_stock && gap_g_h > 0) {
            oxygen.members.push_back({part, 0, kReach * as_oxygen_l_min(gap_g_h, tank)});
        }
        if (!tank.loop && fails(part, CheckId::temperature)) {
            const double low =
                limits_of(tank).temperature_low_warn_c.value_or(kTemperatureRange.low);
            const double coldest = std::max(low, budget.temperature_c - kCoolingReach);
            if (budget.temperature_c > low) {
                cool.members.push_back({part, budget.temperature_c, coldest});
                const double step_c = cool.steps->grid.front().step * cool.steps->unit;
                cool.levels = std::max(
                    cool.levels,
                    static_cast<int>(std::floor((budget.temperature_c - coldest) / step_c)));
            }
        }
    }
    add(std::move(less), equipment_);
    add(std::move(air), equipment_);
    add(std::move(aerator), equipment_);
    add(std::move(flow), equipment_);
    add(std::move(inflow), equipment_);
    add(std::move(cool), equipment_);
    if (system_.loop) {
        const Part part;
        const Loop& loop = *system_.loop;
        const LoopBudget& budget = *budget_.loop;
        const bool filter = fails(part, CheckId::biofilter);
        if (filter && loop.biofilter && !filter_is_slow(loop)) {
            const double area = loop.biofilter->media_area_m2.value_or(0);
            const double removal = loop.biofilter->removal_g_day.value_or(0);
            if (area > 0) {
                add(lever(Action::add_media, "m2", kLevels, {{part, 0, kReach * area}}),
                    equipment_);
            } else if (removal > 0) {
                add(lever(Action::add_removal, "g/day", kLevels, {{part, 0, kReach * removal}}),
                    equipment_);
            }
        }
        if (fails(part, CheckId::loop_flow) && budget.flow_m3_h > 0) {
            const double present = budget.flow_m3_h * 1000 / 60;
            add(lever(Action::raise_round, "L/min", kLevels, {{part, present, kReach * present}}),
                equipment_);
        }
        if (filter || fails(part, CheckId::nitrate)) {
            const double present = loop.exchange_l_day;
            const double reach =
                budget.exchange_m3_day > 0 ? kReach * present : budget.volume_m3 * 1000;
            add(lever(Action::raise_exchange, "L/day", kLevels, {{part, present, reach}}),
                equipment_);
        }
    }
    add(std::move(room), equipment_);
    add(std::move(oxygen), equipment_);
}

std::vector<Change> WaySolver::changes_at(const Levels& levels) const {
    std::vector<Change> changes;
    const auto take = [&](auto is_wanted) {
        for (std::size_t i = 0; i < levers_.size(); ++i) {
            if (!is_wanted(levers_[i].action)) continue;
            for (const Lever::Member& member : levers_[i].members) {
                if (auto remedy = levers_[i].at(member, levels[i])) {
                    changes.push_back({member.part, std::move(*remedy)});
                }
            }
        }
    };
    // Fish first, then their feed.
    take([](Action action) { return action == Action::grade; });
    take([](Action action) { return action == Action::take_out_fish; });
    take([](Action action) { return action == Action::cut_ration; });
    take([](Action action) {
        return action != Action::grade && action != Action::take_out_fish &&
               action != Action::cut_ration;
    });
    // Of two rations of one tank the smaller, and no more than the share of the fish that stay.
    std::map<std::size_t, double> least;
    std::map<std::size_t, double> stay;
    for (const Change& change : changes) {
        const double value = change.remedy.value.value_or(0);
        if (change.remedy.action == Action::take_out_fish) {
            const double count = left_[*change.part.tank].all;
            stay[*change.part.tank] = (count - value) / count;
        } else if (change.remedy.action == Action::cut_ration) {
            const auto [at, added] = least.try_emplace(*change.part.tank, value);
            if (!added) at->second = std::min(at->second, value);
        }
    }
    std::erase_if(changes, [&](Change& change) {
        if (change.remedy.action != Action::cut_ration) return false;
        const std::size_t tank = *change.part.tank;
        const auto at = least.find(tank);
        if (at == least.end()) return true;
        const auto share = stay.find(tank);
        change.remedy.value =
            share == stay.end()
                ? at->second
                : steps_of(Action::cut_ration, sold_).next(at->second * share->second, false);
        least.erase(at);
        return *change.remedy.value <= 0;  // too little to weigh: their share is fed
    });
    return changes;
}

// What tanks of a row must let down so that one below gets its water: from the bottom up, each in
// steps of its own.
void WaySolver::add_flow_from_above(std::vector<Change>& changes) const {
    if (!system_.is_row()) return;
    System changed = with_changes(system_, budget_, changes);
    for (std::size_t i = system_.tanks.size(); i-- > 0;) {
        constexpr double kSame = 1e-12;
        const double needed_l_min = flow_l_min_of(changed.tanks[i]);
        if (needed_l_min <= flow_l_min_of(system_.tanks[i]) * (1 + kSame)) continue;
        const auto at = std::find_if(changes.begin(), changes.end(), [&](const Change& change) {
            return change.part.tank == i && (change.remedy.action == Action::raise_flow ||
                                             change.remedy.action == Action::add_inflow);
        });
        if (at != changes.end() && at->remedy.action == Action::add_inflow) continue;
        if (at != changes.end() && *at->remedy.value >= needed_l_min * (1 - kSame)) continue;
        const double flow_l_min = steps_of(Action::raise_flow, sold_).next(needed_l_min, true);
        if (at == changes.end()) {
            changes.push_back({{i}, {Action::raise_flow, flow_l_min, "L/min", {}, {}}});
        } else {
            at->remedy.value = flow_l_min;
        }
        scale_flow(changed.tanks[i], flow_l_min / needed_l_min);
        draw_from_above(changed.tanks);
    }
}

SystemBudget WaySolver::assessed(const System& system, const SystemBudget& budget,
                                 const std::vector<Change>& changes) {
    ++assessments_;
    return assess_system(with_changes(system, budget, changes));
}

Trouble WaySolver::trouble_at(const Levels& levels) {
    const auto [at, added] = known_.try_emplace(levels);
    if (added) {
        at->second = trouble_of(assessed(system_, budget_, changes_at(levels)), parts_);
    }
    return at->second;
}

WaySolver::Levels WaySolver::full(std::span<const std::size_t> levers, Levels levels) const {
    for (const std::size_t i : levers) levels[i] = levers_[i].levels;
    return levels;
}

std::vector<std::size_t> WaySolver::best_of(const std::vector<std::vector<std::size_t>>& sets,
                                            const Levels& from) {
    std::vector<std::size_t> best;
    Trouble least = trouble_at(from);
    for (const std::vector<std::size_t>& set : sets) {
        if (spent()) break;
        const Trouble trouble = trouble_at(full(set, from));
        if (trouble < least) {
            least = trouble;
            best = set;
        }
    }
    return best;
}

int WaySolver::least_level(int low, int high, auto holds) {
    while (high - low > 1 && !spent()) {
        const int middle = low + (high - low) / 2;
        (holds(middle) ? high : low) = middle;
    }
    return high;
}

WaySolver::Levels WaySolver::together(std::span<const std::size_t> levers, const Levels& from) {
    const Levels ends = full(levers, from);
    const auto drawn = [&](int share) {
        Levels some = from;
        for (const std::size_t i : levers) some[i] = (ends[i] * share + kLevels - 1) / kLevels;
        return some;
    };
    // More may be too much: ten times the air drives oxygen in and out alike.
    int high = kLevels;
    Trouble goal = trouble_at(drawn(high));
    for (const int share : {kLevels / 2, kLevels / 4, kLevels / 8}) {
        if (spent()) break;
        const Trouble there = trouble_at(drawn(share));
        if (there <= goal) high = share;
        goal = std::min(goal, there);
    }
    return drawn(least_level(0, high, [&](int share) { return trouble_at(drawn(share)) <= goal; }));
}

WaySolver::Levels WaySolver::least(std::span<const std::size_t> levers, Levels levels) {
    Trouble goal = trouble_at(levels);
    for (;;) {
        // The last of them is what one would do without most gladly.
        for (auto at = levers.rbegin(); at != levers.rend(); ++at) {
            Levels some = levels;
            levels[*at] = least_level(-1, levels[*at], [&](int level) {
                some[*at] = level;
                return trouble_at(some) <= goal;
            });
        }
        // What one of them mends another may have undone: water for the exchange, room for the
        // time.
        const auto further = one_further(levers, levels);
        if (!further) return levels;
        levels = *further;
        goal = trouble_at(levels);
    }
}

std::optional<WaySolver::Levels> WaySolver::one_further(std::span<const std::size_t> levers,
                                                        const Levels& levels) {
    const Trouble present = trouble_at(levels);
    for (auto at = levers.rbegin(); at != levers.rend() && present != Trouble{}; ++at) {
        constexpr int kParts = 4;
        for (int part = 1; part <= kParts && !spent(); ++part) {
            Levels some = levels;
            some[*at] = (levers_[*at].levels * part + kParts - 1) / kParts;
            if (some[*at] > levels[*at] && trouble_at(some) < present) return some;
        }
    }
    return std::nullopt;
}

std::optional<WayPlan> WaySolver::plan_of(Way way, const Levels& levels) {
    WayPlan plan{.way = way, .changes = changes_at(levels), .outcomes = {}};
    if (plan.changes.empty()) return std::nullopt;
    add_flow_from_above(plan.changes);
    const SystemBudget planned = assessed(system_, budget_, plan.changes);
    const SystemBudget written = assessed(today_, today_budget_, plan.changes);
    plan.worst = Status::pass;
    for (const Part& part : parts_) {
        PartOutcome& outcome = plan.outcomes.emplace_back();
        const Status of_plan = verdict_of(checks_of(planned, part)).worst;
        const Status as_written = verdict_of(checks_of(written, part)).worst;
        outcome.verdict = worse(of_plan, as_written);
        const auto leave = [&](CheckId id, Status as_it_is, Status in_plan) {
            const Status both = worse(as_it_is, in_plan);
            if (both < Status::warn) return;
            outcome.left.push_back({id, both, in_plan < Status::warn});
            if (id == CheckId::plants) return;
            plan.fails += in_plan == Status::fail ? 1 : 0;
            plan.warns += in_plan == Status::warn ? 1 : 0;
        };
        for (const Check& check : checks_of(written, part)) {
            const Check* other = find_check(planned, part, check.id);
            leave(check.id, check.status, other == nullptr ? check.status : other->status);
        }
        // What a reading above hides today.
        for (const Check& check : checks_of(planned, part)) {
            if (find_check(written, part, check.id) != nullptr) continue;
            leave(check.id, Status::pass, check.status);
        }
        plan.worst = worse(plan.worst, outcome.verdict);
    }
    return plan;
}

// The verdict, and readings of today aside how much is wrong.
std::tuple<Status, int, int> rank(const WayPlan& plan) {
    return {plan.worst, plan.fails, plan.warns};
}

// Whether a way asks for all that another asks for.
bool asks_all_of(const WayPlan& way, const WayPlan& other) {
    return std::all_of(other.changes.begin(), other.changes.end(), [&](const Change& change) {
        return std::any_of(way.changes.begin(), way.changes.end(), [&](const Change& own) {
            return own.part.tank == change.part.tank && own.remedy.action == change.remedy.action &&
                   own.remedy.value == change.remedy.value;
        });
    });
}

Plans WaySolver::solve() {
    Plans plans;
    const Levels none(levers_.size(), 0);
    const Levels start = full(common_, none);
    const Trouble now = trouble_at(none);
    std::vector<std::pair<Way, Levels>> found;

    std::vector<std::vector<std::size_t>> sets;
    for (const std::size_t lever : fish_) sets.push_back({lever});
    if (fish_.size() > 1) sets.push_back(fish_);
    const auto fish = best_of(sets, start);
    const Levels fewer = fish.empty() ? start : least(fish, together(fish, start));
    if (trouble_at(fewer) < now) found.emplace_back(Way::fish, fewer);

    sets.clear();
    std::vector<std::size_t> upto;
    for (const std::size_t lever : equipment_) {
        upto.push_back(lever);
        sets.push_back(upto);
    }
    const auto equipment = best_of(sets, start);
    const Levels more = equipment.empty() ? start : least(equipment, together(equipment, start));
    if (trouble_at(more) < now) found.emplace_back(Way::equipment, more);

    if (!fish.empty() && !equipment_.empty() && !spent()) {
        // Half of the fish, and of the rest no more than is needed then.
        Levels some = equipment.empty() ? start : more;
        for (const std::size_t i : fish) some[i] = (fewer[i] + 1) / 2;
        const auto rest = equipment.empty() ? best_of(sets, some) : equipment;
        if (equipment.empty() && !rest.empty()) some = together(rest, some);
        if (!rest.empty()) some = least(rest, some);
        if (!rest.empty() && trouble_at(some) < now) found.emplace_back(Way::both, some);
    }
    for (const auto& [way, levels] : found) {
        if (auto plan = plan_of(way, levels)) plans.ways.push_back(std::move(*plan));
    }
    std::stable_sort(plans.ways.begin(), plans.ways.end(),
                     [](const WayPlan& a, const WayPlan& b) { return rank(a) < rank(b); });
    // What another way reaches with some of the same changes is no way of its own.
    for (std::size_t i = 0; i < plans.ways.size();) {
        const bool beaten =
            std::any_of(plans.ways.begin(), plans.ways.end(), [&](const WayPlan& other) {
                return &other != &plans.ways[i] && rank(other) <= rank(plans.ways[i]) &&
                       asks_all_of(plans.ways[i], other) &&
                       (!asks_all_of(other, plans.ways[i]) || &other < &plans.ways[i]);
            });
        if (beaten) {
            plans.ways.erase(plans.ways.begin() + static_cast<std::ptrdiff_t>(i));
        } else {
            ++i;
        }
    }
    plans.assessments = assessments_;
    return plans;
}

// Whole fish out of each group, and their share of what is fed.
void take_out(Tank& tank, double fish) {
    double count = 0;
    for (const FishGroup& group : tank.fish) count += group.count;
    std::vector<double> kept;
    for (const FishGroup& group : tank.fish) {
        kept.push_back(std::floor(group.count * (count - fish) / count));
    }
    scale_fish(tank, (count - fish) / count);
    for (std::size_t i = 0; i < kept.size(); ++i) tank.fish[i].count = kept[i];
}

constexpr std::array kSources{kLeastFeed};

}  // namespace

System with_changes(const System& system, const SystemBudget& budget,
                    const std::vector<Change>& changes) {
    System changed = system;
    // Water first: what the table gave before is kept, and goes with the fish.
    for (const bool water : {true, false}) {
        for (const Change& change : changes) {
            if ((change.remedy.action == Action::cool) != water) continue;
            if (change.remedy.action == Action::take_out_fish) {
                take_out(changed.tanks[*change.part.tank], *change.remedy.value);
            } else {
                carry_out(change.remedy, change.part, budget, changed);
            }
        }
    }
    if (changed.is_row()) draw_from_above(changed.tanks);
    return changed;
}

Plans plan_ways(const System& system, const SystemBudget& budget, Sold sold) {
    const auto passes = [](const auto& part) { return part.verdict < Status::warn; };
    if (std::all_of(budget.tanks.begin(), budget.tanks.end(), passes) &&
        (!budget.loop || passes(*budget.loop))) {
        return {};
    }
    return WaySolver(system, budget, sold).solve();
}

std::span<const Constant> plan_sources() noexcept { return kSources; }

}  // namespace coldtank
