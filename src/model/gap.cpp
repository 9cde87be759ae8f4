// What a measured oxygen says of the description: each figure that alone would predict it.
#include <algorithm>
#include <cmath>

#include "balance.hpp"
#include "changes.hpp"
#include "halve.hpp"
#include "numbers.hpp"

namespace coldtank {
namespace {

// The share of something in a tank, 1 as described, at which its predicted mean is what was
// measured; the nearest to 1. None within a thousandth to a thousandfold, or at 0.
template <class Scale>
std::optional<double> share_for(const TankTrial& trial, const Tank& tank, double measured_mg_l,
                                Scale scale) {
    const auto above_mg_l = [&](double share) -> std::optional<double> {
        Tank changed = tank;
        scale(changed, share);
        const auto steady_mg_l = trial.steady_oxygen_mg_l(changed);
        if (!steady_mg_l) return std::nullopt;
        return *steady_mg_l - measured_mg_l;
    };
    constexpr double kFound = 1e-12;  // mg/L
    constexpr double kStep = 4;
    constexpr int kSteps = 6;
    double up = 1;
    double down = 1;
    auto at_up = above_mg_l(1);
    auto at_down = at_up;
    // The nearest two shares between which it is crossed.
    std::optional<Bracket> between;
    for (int i = 1; i <= kSteps && !between; ++i) {
        const auto crossed = [&](double from, std::optional<double>& at, double to) {
            const auto next = above_mg_l(to);
            const bool found = at && next && (*at < 0) != (*next < 0);
            if (found) between = {from, to, *at, *next};
            at = next;
            return found;
        };
        const double lower = i == kSteps ? 0 : down / kStep;
        if (crossed(up, at_up, up * kStep)) break;
        if (crossed(down, at_down, lower)) break;
        up *= kStep;
        down = lower;
    }
    if (!between) return std::nullopt;
    const auto share = root_in(*between, kFound, above_mg_l);
    if (!share) return std::nullopt;
    // Over a jump (a filter that starves) it is crossed and never met.
    constexpr double kMet = 1e-6;
    const auto left = above_mg_l(*share);
    if (!left || std::abs(*left) > kMet) return std::nullopt;
    return share;
}

void scale_respiration(Tank& tank, double share) {
    for (FishGroup& group : tank.fish) group.respiration_factor *= share;
}

// The respiration factor of all groups; none where they differ.
std::optional<double> common_factor_of(const Tank& tank) {
    std::optional<double> factor;
    for (const FishGroup& group : tank.fish) {
        if (group.count == 0) continue;
        if (factor && *factor != group.respiration_factor) return std::nullopt;
        factor = group.respiration_factor;
    }
    return factor;
}

OxygenGap gap_of(const TankTrial& trial, const Tank& tank, const TankBudget& budget) {
    OxygenGap gap{.measured_mg_l = *budget.oxygen.measured_mg_l,
                  .predicted_mg_l = *budget.oxygen.steady_mean_mg_l};
    const auto share = [&](auto scale) { return share_for(trial, tank, gap.measured_mg_l, scale); };
    // Not more fish than water.
    if (const auto by = share(scale_fish);
        by && *by * budget.biomass_kg <= kHeaviestShare * budget.volume_l) {
        gap.fish_count = *by * budget.fish_count;
    }
    gap.common_factor = common_factor_of(tank);
    if (gap.common_factor) {
        const auto by = share(scale_respiration);
        if (by && kRespirationFactorRange.holds(*by * *gap.common_factor)) {
            gap.respiration_factor = *by * *gap.common_factor;
        }
    }
    if (const auto by = share(scale_aeration)) gap.aeration_percent = 100 * *by;
    if (const auto by = share(scale_flow); by && *by > 0) gap.flow_percent = 100 * *by;
    if (budget.flow_m3_h > 0) {
        Tank without = tank;
        scale_aeration(without, 0);
        gap.without_aeration_mg_l = trial.steady_oxygen_mg_l(without);
    }
    return gap;
}

}  // namespace

void add_oxygen_gaps(const System& system, SystemBudget& budget) {
    std::vector<TankTrial> trials;
    for (std::size_t i = 0; i < system.tanks.size(); ++i) {
        OxygenBudget& oxygen = budget.tanks[i].oxygen;
        if (!oxygen.measured_mg_l || !oxygen.steady_mean_mg_l || budget.tanks[i].groups.empty()) {
            continue;
        }
        if (trials.empty()) trials = trials_of(system);
        oxygen.gap = gap_of(trials[i], system.tanks[i], budget.tanks[i]);
    }
}

}  // namespace coldtank
