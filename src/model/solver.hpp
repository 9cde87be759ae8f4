// Inside the model: how the least change that mends a check is found.
#pragma once

#include <map>
#include <set>

#include "balance.hpp"
#include "steps.hpp"

namespace coldtank {

// What a trial made of the checks of its part.
struct Outcome {
    bool passes;
    std::optional<double> excess;  // of the only check that is asked for
};

// The assessed trials of one planned part. A change is tried once, whichever check asks.
class Trials {
public:
    Trials(std::shared_ptr<const Planned> planned, Part part, std::optional<TankTrial> trial,
           std::int64_t& effort_left, std::int64_t& assessments);

    const std::shared_ptr<const Planned>& planned() const { return planned_; }
    Part part() const { return part_; }
    bool given_up() const { return effort_left_ < 0; }

    // The checks of the part with that change; none where the effort is spent.
    const std::vector<Check>* checks_with(const Remedy& remedy);

    // The steps of a single change that were tried for any check.
    std::set<std::int64_t>& tried(Action action) { return tried_[action]; }

    // Whether the checks pass and no check of any part has become worse, with all of the system
    // assessed.
    bool proved(const Remedy& remedy, std::span<const CheckId> checks);

private:
    using Key = std::vector<std::pair<Action, double>>;
    static Key key_of(const Remedy& remedy);

    SystemBudget assess_all(const Remedy& remedy);

    // Whether a change to a tank changes its whole loop, or tanks above it in its row.
    bool reaches_beyond(const Remedy& remedy) const;

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
    Solver(Trials& trials, std::vector<CheckId> checks);

    // Every single change that suffices; else a word that none does, and the smallest pair.
    void solve(const std::vector<Ladder>& changes, std::vector<Remedy>& remedies);

    // Whether the checks pass and no other has become worse.
    bool proved(const Remedy& remedy);

private:
    // The smallest step that suffices, proved; none where no step does.
    std::optional<std::int64_t> smallest(const Ladder& steps, const Remedy* other = nullptr);

    // The pair of changes that asks least, as shares of what each could do.
    std::optional<Remedy> smallest_pair(const std::vector<Ladder>& changes);
    // Whether two changes do at their ends, or halfway: more of a poor inflow may be worse.
    bool may_suffice(const Ladder& a, const Ladder& b);
    // What does not suffice to its last step suffices nowhere: of one check and one change, and not
    // of colder water, which can hold less of its saturation.
    bool only_gains(Action action) const {
        return checks_.size() == 1 && action != Action::cool && action != Action::warm;
    }

    Outcome outcome_of(const std::vector<Check>& checks) const;
    Outcome outcome_at(const Remedy& remedy);

    Trials& trials_;
    std::vector<CheckId> checks_;
    Outcome present_{};
};

}  // namespace coldtank
