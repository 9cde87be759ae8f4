#include "coldtank/remedy.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <set>

#include "balance.hpp"
#include "changes.hpp"
#include "halve.hpp"
#include "judgement.hpp"
#include "numbers.hpp"

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

// Of the inflow or of the loop.
double supply_flow_l_min(const Tank& tank) {
    return tank.inflow ? tank.inflow->flow_l_min : tank.loop ? tank.loop->flow_l_min : 0;
}

// ---- which changes to try

// Cheapest first, netting fish late.
std::vector<Steps> tank_changes_for(CheckId check, const Tank& tank, const TankBudget& budget) {
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

std::vector<Steps> changes_for(CheckId check, const Planned& planned, Part part) {
    return part.tank ? tank_changes_for(check, planned.system.tanks[*part.tank],
                                        planned.budget.tanks[*part.tank])
                     : loop_changes_for(check, *planned.system.loop, *planned.budget.loop);
}

// ---- solving

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

// What a trial made of the checks of its part.
struct Outcome {
    bool passes;
    std::optional<double> excess;  // of the only check that is asked for
};

// The assessed trials of one planned part. A change is tried once, whichever check asks.
class Trials {
public:
    Trials(std::shared_ptr<const Planned> planned, Part part, std::optional<TankTrial> trial,
           std::int64_t& effort_left, std::int64_t& assessments)
        : planned_(std::move(planned)),
          part_(part),
          trial_(std::move(trial)),
          effort_left_(effort_left),
          assessments_(assessments),
          effort_of_all_(effort_of(planned_->system)) {}

    const std::shared_ptr<const Planned>& planned() const { return planned_; }
    Part part() const { return part_; }
    bool given_up() const { return effort_left_ < 0; }

    // The checks of the part with that change; none where the effort is spent.
    const std::vector<Check>* checks_with(const Remedy& remedy) {
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

    // The steps of a single change that were tried for any check.
    std::set<std::int64_t>& tried(Action action) { return tried_[action]; }

    // Whether the checks pass and no check of any part has become worse, with all of the system
    // assessed.
    bool proved(const Remedy& remedy, std::span<const CheckId> checks) {
        if (!planned_->system.loop) {  // then the part is all there is
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
        return no_worse(after.loop->checks, planned_->budget.loop->checks);
    }

private:
    using Key = std::vector<std::pair<Action, double>>;
    static Key key_of(const Remedy& remedy) {
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

    SystemBudget assess_all(const Remedy& remedy) {
        effort_left_ -= 2 * effort_of_all_;
        ++assessments_;
        return assess_system(with_remedy(planned_->system, planned_->budget, part_, remedy));
    }

    // Whether a change to a tank changes its whole loop.
    bool reaches_beyond(const Remedy& remedy) const {
        return planned_->system.loop &&
               (remedy.action == Action::cool || remedy.action == Action::warm ||
                std::any_of(remedy.parts.begin(), remedy.parts.end(),
                            [&](const Remedy& part) { return reaches_beyond(part); }));
    }

    std::shared_ptr<const Planned> planned_;
    Part part_;
    std::optional<TankTrial> trial_;
    std::int64_t& effort_left_;
    std::int64_t& assessments_;
    std::int64_t effort_of_all_;
    std::map<Key, std::vector<Check>> known_;
    std::map<Action, std::set<std::int64_t>> tried_;
};

// Searches the changes of a part for the least that makes some of its checks pass.
class Solver {
public:
    Solver(Trials& trials, std::vector<CheckId> checks)
        : trials_(trials), checks_(std::move(checks)) {
        present_ = outcome_of(checks_of(trials.planned()->budget, trials.part()));
    }

    // The smallest step that suffices, proved; none where no step does.
    std::optional<std::int64_t> smallest(const Steps& steps, const Remedy* other = nullptr) {
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

    // The pair of changes that asks least, as shares of what each could do.
    std::optional<Remedy> smallest_pair(const std::vector<Steps>& changes) {
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

    // Every single change that suffices; else a word that none does, and the smallest pair.
    void solve(const std::vector<Steps>& changes, std::vector<Remedy>& remedies) {
        const std::size_t before = remedies.size();
        for (const Steps& steps : changes) {
            if (const auto i = smallest(steps)) remedies.push_back(steps.at(*i));
        }
        if (remedies.size() > before || changes.empty()) return;
        const auto pair = smallest_pair(changes);
        // What was not tried may suffice.
        if (!trials_.given_up()) remedies.push_back({Action::none_suffices, {}, {}, {}, {}});
        if (pair) remedies.push_back(*pair);
    }

    // Whether the checks pass and no other has become worse.
    bool proved(const Remedy& remedy) {
        return outcome_at(remedy).passes && trials_.proved(remedy, checks_);
    }

private:
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
                const double c = -((y0 - y2) * (x1 - x2) - (y1 - y2) * (x0 - x2)) /
                                 (u * (x1 - x2) - v * (x0 - x2));
                const double b = ((y0 - y2) + c * u) / (x0 - x2);
                const double a = y2 + c * x2 * y2 - b * x2;
                if (std::isfinite(-a / b)) root = -a / b;
            }
            return std::isfinite(root) && std::abs(root) < kMost ? std::optional{root}
                                                                 : std::nullopt;
        }

    private:
        struct Point {
            double step;
            double excess;
        };
        std::vector<Point> points_;
    };

    // Whether two changes do at their ends, or halfway: more of a poor inflow may be worse.
    bool may_suffice(const Steps& a, const Steps& b) {
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
    // What does not suffice to its last step suffices nowhere: of one check and one change, and not
    // of colder water, which can hold less of its saturation.
    bool only_gains(Action action) const {
        return checks_.size() == 1 && action != Action::cool && action != Action::warm;
    }

    Outcome outcome_of(const std::vector<Check>& checks) const {
        Outcome outcome{all_pass(checks, checks_), std::nullopt};
        for (const Check& check : checks) {
            if (checks_.size() == 1 && check.id == checks_[0]) outcome.excess = excess_of(check);
        }
        return outcome;
    }
    Outcome outcome_at(const Remedy& remedy) {
        const std::vector<Check>* checks = trials_.checks_with(remedy);
        return checks == nullptr ? Outcome{false, std::nullopt} : outcome_of(*checks);
    }

    Trials& trials_;
    std::vector<CheckId> checks_;
    Outcome present_{};
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
    const Lengths lengths = lengths_of(budget);
    const double slowest = std::ceil(*check.warn.low * lengths.longest_cm);
    const double fastest = std::floor(*check.warn.high * lengths.shortest_cm);
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

const std::vector<Check>& checks_of(const SystemBudget& budget, Part part) noexcept {
    return part.tank ? budget.tanks[*part.tank].checks : budget.loop->checks;
}

const Check* find_check(const SystemBudget& budget, Part part, CheckId id) noexcept {
    return part.tank ? find_check(budget.tanks[*part.tank], id) : find_check(*budget.loop, id);
}

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

Loop without_todays_readings(const Loop& loop) {
    Loop plan = loop;
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
            of_part.reset();
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
        own.budget.tanks[*part.tank] = trials[*part.tank].assess(tank);
    }
    ++assessments;
    return std::make_shared<const Planned>(std::move(own));
}

Planner::Planner(const System& system, const SystemBudget& budget, double effort)
    : inner_(new Inner{system, budget,
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
    if (id == CheckId::input_doubt) {
        say(Action::advice);
        return plan;
    }
    const bool urgent = !part.tank || info_of(id).danger == Danger::now;
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
            solver.solve(changes_for(id, *plan.on, part), remedies);
            break;
    }
    plan.cut_short = trials.given_up();
    if (!plan.cut_short && (remedies.empty() || remedies.back().action == Action::now)) {
        say(Action::advice);
    }
    return plan;
}

Plan plan_remedies(const System& system, const SystemBudget& budget, Part part, CheckId check) {
    return Planner(system, budget).plan(part, check);
}

Plan plan_together(Planned planned, std::size_t tank, std::span<const CheckId> checks) {
    Plan plan;
    plan.on = std::make_shared<const Planned>(std::move(planned));
    const Part part{tank};
    // Oxygen knows every change; density only some of them.
    std::vector<Steps> changes = changes_for(CheckId::oxygen, *plan.on, part);
    std::erase_if(changes,
                  [](const Steps& steps) { return steps.action == Action::take_out_fish; });
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
