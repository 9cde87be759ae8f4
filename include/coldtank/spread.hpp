// How sure a budget is: the same system in thousands of worlds that fit what is known.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "coldtank/accuracy.hpp"
#include "coldtank/capacity.hpp"
#include "coldtank/loop.hpp"

namespace coldtank {

inline constexpr Constant kGivenError{"usual error of a coefficient that is given", 10, "%",
                                      Basis::judgement, "whoever gives it has measured it"};

// In every world each coefficient that a system uses, and each quantity that somebody measured, is
// drawn anew; one that stands in several places is one draw. Ends and errors are taken as 90 % of a
// normal distribution, where the higher end is half as much again as the lower, and for errors in
// percent, of a log-normal one. What leaves what a description may hold is drawn again, in that
// place alone.
struct SpreadQuestion {
    std::uint64_t seed = 1;
    std::size_t draws = 4096;
    std::size_t base = 1024;                // rows of the indices; 0: none
    std::span<const OwnAccuracy> own = {};  // errors in place of the usual ones
    double width = 1;                       // 0: all as described
};
inline constexpr std::size_t kMostDraws = 1'000'000;

// What one input decides of how far a check's used_percent spreads (its value, where more than a
// tenth of the worlds have no share): a first-order Sobol' index.
struct InputShare {
    std::string input;  // a coefficient, or "flow_l_min" of a quantity
    double index;
    double standard_error;
};

struct CheckSpread {
    CheckId check;
    std::string_view unit;
    Status status;                            // as described
    std::optional<double> value;              // the same
    std::optional<double> low, median, high;  // of 5, 50 and 95 % of all worlds; none: without end
    std::optional<double> warn_low, warn_high;  // limits as described
    std::optional<double> fail_low, fail_high;
    double pass_percent = 0, warn_percent = 0, fail_percent = 0, unchecked_percent = 0;
    std::vector<InputShare> first_order = {};  // the largest first; of a check that is not certain
    bool certain = true;                       // the same status in all worlds
    double worst_percent() const { return warn_percent + fail_percent; }
};

// Of a tank or a loop.
struct PartSpread {
    std::string name;
    Status verdict = Status::unchecked;  // as described
    std::vector<CheckSpread> checks;
    double all_pass_percent = 0;       // of the worlds
    double nothing_warns_percent = 0;  // passes, or could not be judged
    // Of a tank with measured oxygen: worlds in which no more than was read is predicted.
    std::optional<double> at_or_below_reading_percent = {};
};

struct SystemSpread {
    std::size_t draws;
    std::vector<PartSpread> tanks;
    std::optional<PartSpread> loop;
};

SystemSpread spread_of(const System& system, const SpreadQuestion& question);

// The stock that holds in so many of 100 worlds, and never more than it is as described; none where
// that is none. Of one tank, or of all of a system in their proportion.
std::optional<double> sure_capacity(const System& system, std::optional<std::size_t> tank,
                                    Level level, double percent, const SpreadQuestion& question);

std::span<const Constant> spread_sources() noexcept;

}  // namespace coldtank
