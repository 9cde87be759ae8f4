#include "solver.hpp"

#include <algorithm>
#include <cmath>

#include "changes.hpp"
#include "halve.hpp"
#include "numbers.hpp"

namespace coldtank {
namespace {

// What an assessment takes, in groups of fish.
std::int64_t effort_of(const Tank& tank) {
    return 1 + static_cast<std::int64_t>(tank.fish.size()) / 2;
}
std::int64_t effort_of(const System& system) {
    std::int64_t sum = 0;
    for (const Tank& tank : system.tanks) sum += effort_of(tank);
    return sum;
}

bool no_worse(const std::vector<Check>& after, const std::vector<Check>& before) {
    return std::all_of(after.begin(), after.end(), [&](const Check& check) {
        // What suits the plants is no reason to feed the fish what they should not have; a doubt
        // is for the eye.
        if (check.id == CheckId::plants || check.id == CheckId::input_doubt) return true;
        const auto was = std::find_if(before.begin(), before.end(),
                                      [&](const Check& each) { return each.id == check.id; });
        return check.status <= (was == before.end() ? Status::pass : was->status);
    });
}

// Those of the list that are asked for.
bool all_pass(const std::vector<Check>& checks, std::span<const CheckId> asked) {
    return std::all_of(checks.begin(), checks.end(), [&](const Check& check) {
        return check.status == Status::pass ||
               std::find(asked.begin(), asked.end(), check.id) == asked.end();
    });
}

// How far a value is beyond its warn limits; below 0 within them. None where that does not say
// whether the check passes.
std::optional<double> excess_of(const Check& check) {
    if (!check.value || !check.because.empty()) return std::nullopt;
    std::optional<double> excess;
    if (check.warn.high) excess = *check.value - *check.warn.high;
    if (check.warn.low) excess = larger_of(excess, *check.warn.low - *check.value);
    return excess;
}

// Where a figure of the last three trials meets 0, taken as (a + b x) / (1 + c x): exactly so
// in a balance of flows, in a share of fish, in a concentration over a flow.
class Crossing {
public:
    void add(std::int64_t step, std::optional<double> excess) {
        if (!excess || !std::isfinite(*excess)) return;
        points_.push_back({static_cast<double>(step), *excess});
        if (points_.size() > 3) points_.erase(points_.begin());
    }
    std::optional<double> root() const {
        if (points_.size() < 2) return std::nullopt;
        const auto [x0, y0] = points_[points_.size() - 2];
        const auto [x1, y1] = points_.back();
        double root = x1 - y1 * (x1 - x0) / (y1 - y0);
        if (points_.size() == 3) {
            const auto [x2, y2] = points_[0];
            // y + c x y = a + b x, less that of the first point.
            const double u = x0 * y0 - x2 * y2;
            const double v = x1 * y1 - x2 * y2;
            const double c =
                -((y0 - y2) * (x1 - x2) - (y1 - y2) * (x0 - x2)) / (u * (x1 - x2) - v * (x0 - x2));
            const double b = ((y0 - y2) + c * u) / (x0 - x2);
            const double a = y2 + c * x2 * y2 - b * x2;
            if (std::isfinite(-a / b)) root = -a / b;
        }
        return std::isfinite(root) && std::abs(root) < kMost ? std::optional{root} : std::nullopt;
    }

private:
    struct Point {
        double step;
        double excess;
    };
    std::vector<Point> points_;
};

}  // namespace

// ---- trials

Trials::Trials(std::shared_ptr<const Planned> planned, Part part, std::optional<TankTrial> trial,
               std::int64_t& effort_left, std::int64_t& assessments)
    : planned_(std::move(planned)),
      part_(part),
      trial_(std::move(trial)),
      effort_left_(effort_left),
      assessments_(assessments),
      effort_of_all_(effort_of(planned_->system)) {}

const std::vector<Check>* Trials::checks_with(const Remedy& remedy) {
    const Key key = key_of(remedy);
    if (const auto known = known_.find(key); known != known_.end()) return &known->second;
    if (given_up()) return nullptr;
    if (part_.tank && !reaches_beyond(remedy)) {
        // The sums of the other tanks stand.
        const std::size_t i = *part_.tank;
        effort_left_ -= 3 * effort_of(planned_->system.tanks[i]);
        ++assessments_;
        const Tank changed =
            with_change_of_one(planned_->system.tanks[i], planned_->budget.tanks[i], remedy);
        return &known_.emplace(key, trial_->assess(changed).checks).first->second;
    }
    return &known_.emplace(key, checks_of(assess_all(remedy), part_)).first->second;
}

bool Trials::proved(const Remedy& remedy, std::span<const CheckId> checks) {
    if (!planned_->system.loop && !planned_->system.is_row()) {  // then the part is all there is
        const std::vector<Check>* after = checks_with(remedy);
        return after != nullptr && all_pass(*after, checks) &&
               no_worse(*after, planned_->budget.tanks[0].checks);
    }
    if (given_up()) return false;
    const SystemBudget after = assess_all(remedy);
    if (!all_pass(checks_of(after, part_), checks)) return false;
    for (std::size_t i = 0; i < after.tanks.size(); ++i) {
        if (!no_worse(after.tanks[i].checks, planned_->budget.tanks[i].checks)) return false;
    }
    return !after.loop || no_worse(after.loop->checks, planned_->budget.loop->checks);
}

Trials::Key Trials::key_of(const Remedy& remedy) {
    if (remedy.action != Action::two_changes && remedy.groups.empty()) {
        return {{remedy.action, remedy.value.value_or(0)}};
    }
    Key key;
    for (const Remedy& part : remedy.parts) key.emplace_back(part.action, *part.value);
    for (const std::size_t group : remedy.groups) {
        key.emplace_back(remedy.action, static_cast<double>(group));
    }
    return key;
}

SystemBudget Trials::assess_all(const Remedy& remedy) {
    effort_left_ -= 2 * effort_of_all_;
    ++assessments_;
    return assess_system(with_remedy(planned_->system, planned_->budget, part_, remedy));
}

bool Trials::reaches_beyond(const Remedy& remedy) const {
    const System& system = planned_->system;
    const bool thermal = remedy.action == Action::cool || remedy.action == Action::warm;
    return (system.loop || system.is_row()) &&
           (thermal || (!system.loop && remedy.action == Action::raise_flow) ||
            std::any_of(remedy.parts.begin(), remedy.parts.end(),
                        [&](const Remedy& part) { return reaches_beyond(part); }));
}

// ---- the search

Solver::Solver(Trials& trials, std::vector<CheckId> checks)
    : trials_(trials), checks_(std::move(checks)) {
    present_ = outcome_of(checks_of(trials.planned()->budget, trials.part()));
}

std::optional<std::int64_t> Solver::smallest(const Ladder& steps, const Remedy* other) {
    if (steps.count < 1) return std::nullopt;
    const auto at = [&](std::int64_t i) {
        if (other == nullptr) return steps.at(i);
        return Remedy{Action::two_changes, {}, {}, {*other, steps.at(i)}, {}};
    };
    // Between a step that does not suffice and one that does.
    std::int64_t low = 0;
    std::int64_t high = 0;
    Crossing crossing;
    const auto outcome_of_step = [&](std::int64_t i) {
        const Outcome outcome = outcome_at(at(i));
        crossing.add(i, outcome.excess);
        if (other == nullptr) trials_.tried(steps.action).insert(i);
        return outcome;
    };
    if (other == nullptr) crossing.add(0, present_.excess);
    // Checks get better with every step of most changes; the others are looked at in a few
    // places.
    static constexpr std::int64_t kParts[] = {1, 16, 8, 4, 2};
    static constexpr std::int64_t kEndOrHalf[] = {1, 2};
    const auto parts = !only_gains(steps.action) ? std::span<const std::int64_t>(kParts)
                       : other == nullptr        ? std::span(kEndOrHalf).first(1)
                                                 : std::span(kEndOrHalf);
    for (const std::int64_t part : parts) {
        const std::int64_t i = std::max<std::int64_t>(1, steps.count / part);
        if (outcome_of_step(i).passes) {
            high = i;
            break;
        }
        if (part > 1) low = i;
    }
    if (high == 0) return std::nullopt;
    // What was tried for another check.
    if (other == nullptr && only_gains(steps.action)) {
        const std::set<std::int64_t> tried = trials_.tried(steps.action);
        for (const std::int64_t i : tried) {
            if (i <= low || i >= high) continue;
            (outcome_of_step(i).passes ? high : low) = i;
        }
    }
    for (int tries = 0; high - low > 1; ++tries) {
        // Where the figures seem to cross the limit; every third time, in case they do not,
        // in the middle.
        const std::optional<double> root = tries % 3 == 2 ? std::nullopt : crossing.root();
        const std::int64_t middle =
            root && *root > static_cast<double>(low) && *root < static_cast<double>(high) + 1
                ? std::clamp(rounded_up(*root), low + 1, high - 1)
                : low + (high - low) / 2;
        (outcome_of_step(middle).passes ? high : low) = middle;
    }
    const auto proved = [&](std::int64_t i) { return trials_.proved(at(i), checks_); };
    if (proved(high)) return high;
    // What so little harms, more may spare: a little new water shows the carbon dioxide that it
    // does not carry away.
    if (other != nullptr) return std::nullopt;
    low = high;
    for (const std::int64_t part : {8, 4, 2, 1}) {
        const std::int64_t i = high + (steps.count - high) / part;
        if (i > low && proved(i)) {
            return last_whole(low, i, [&](std::int64_t j) { return !proved(j); }) + 1;
        }
        low = std::max(low, i);
    }
    return std::nullopt;
}

std::optional<Remedy> Solver::smallest_pair(const std::vector<Ladder>& changes) {
    constexpr std::int64_t kLevels = 8;
    std::optional<Remedy> best;
    double least = 0;
    for (std::size_t a = 0; a < changes.size(); ++a) {
        for (std::size_t b = a + 1; b < changes.size(); ++b) {
            if (changes[a].count < 1 || changes[b].count < 1) continue;
            if (!may_suffice(changes[a], changes[b])) continue;
            for (std::int64_t level = 1; level <= kLevels; ++level) {
                const double share = static_cast<double>(level) / kLevels;
                if (best && share >= least) break;
                const std::int64_t i = changes[a].count * level / kLevels;
                if (i < 1) continue;
                const Remedy first = changes[a].at(i);
                const auto j = smallest(changes[b], &first);
                if (!j) continue;
                const double effort =
                    share + static_cast<double>(*j) / static_cast<double>(changes[b].count);
                if (best && effort >= least) continue;
                least = effort;
                best = Remedy{Action::two_changes, {}, {}, {first, changes[b].at(*j)}, {}};
            }
        }
    }
    return best;
}

void Solver::solve(const std::vector<Ladder>& changes, std::vector<Remedy>& remedies) {
    const std::size_t before = remedies.size();
    for (const Ladder& steps : changes) {
        if (const auto i = smallest(steps)) remedies.push_back(steps.at(*i));
    }
    if (remedies.size() > before || changes.empty()) return;
    const auto pair = smallest_pair(changes);
    // What was not tried may suffice.
    if (!trials_.given_up()) remedies.push_back({Action::none_suffices, {}, {}, {}, {}});
    if (pair) remedies.push_back(*pair);
}

bool Solver::proved(const Remedy& remedy) {
    return outcome_at(remedy).passes && trials_.proved(remedy, checks_);
}

bool Solver::may_suffice(const Ladder& a, const Ladder& b) {
    if (!only_gains(a.action) || !only_gains(b.action)) return true;
    for (const std::int64_t part_a : {1, 2}) {
        for (const std::int64_t part_b : {1, 2}) {
            const Remedy both{Action::two_changes,
                              {},
                              {},
                              {a.at(std::max<std::int64_t>(1, a.count / part_a)),
                               b.at(std::max<std::int64_t>(1, b.count / part_b))},
                              {}};
            if (outcome_at(both).passes) return true;
        }
    }
    return false;
}

Outcome Solver::outcome_of(const std::vector<Check>& checks) const {
    Outcome outcome{all_pass(checks, checks_), std::nullopt};
    for (const Check& check : checks) {
        if (checks_.size() == 1 && check.id == checks_[0]) outcome.excess = excess_of(check);
    }
    return outcome;
}

Outcome Solver::outcome_at(const Remedy& remedy) {
    const std::vector<Check>* checks = trials_.checks_with(remedy);
    return checks == nullptr ? Outcome{false, std::nullopt} : outcome_of(*checks);
}

}  // namespace coldtank
