// A new filter: what tests of its water have shown so far. What has been seen, never what will be.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "coldtank/source.hpp"

namespace coldtank {

inline constexpr Constant kStartTan{"TAN that a new filter is to take, from", 1, "mg/L (N)",
                                    Basis::judgement, "less may fall by the exchange alone"};
inline constexpr Constant kStartNitrite{"nitrite that shows a filter at work, from", 0.1,
                                        "mg/L (N)", Basis::judgement, "what a kit shows"};
inline constexpr Constant kStartFallen{"fallen: of the most that was seen, at most", 0.5, "-",
                                       Basis::judgement, "well beyond a kit's step"};
inline constexpr Constant kStartedTan{"TAN of a filter that has started, under", 0.5, "mg/L (N)",
                                      Basis::judgement, "recirculating practice"};
inline constexpr Constant kStartedNitrite{"nitrite of a filter that has started, under", 0.1,
                                          "mg/L (N)", Basis::judgement, "recirculating practice"};
inline constexpr Constant kStartedDays{"days under both that a filter has started after", 7, "days",
                                       Basis::judgement, "a week of the same feed"};
inline constexpr Constant kCarpFilterDays{"carp filters from 3 to under 0.25 mg/L of ammonia", 10,
                                          "days", Basis::from_memory, "warm water, seeded"};
inline constexpr Constant kTroutFilterDays{
    "trout filters at 11.5 degC were given, over", 120, "days", Basis::from_memory,
    "over four months before a trial with rainbow trout, 11.5 +- 0.6 degC"};

// One test of the water of a loop, in order.
struct FilterTest {
    double day;  // from any day
    std::optional<double> tan_mg_l = {};
    std::optional<double> nitrite_mg_l = {};
};

struct FilterStart {
    // From its most to what was seen on that day.
    struct Seen {
        double from_day;
        double from_mg_l;
        double day;
        double mg_l;
    };
    std::size_t tests = 0;  // that differ from the one before
    std::optional<FilterTest> most_tan = {};
    std::optional<FilterTest> most_nitrite = {};
    std::optional<Seen> ammonia_fell = {};
    std::optional<FilterTest> nitrite_rose = {};
    std::optional<Seen> nitrite_fell = {};
    // Both under since that day, without a test over; none: the last was not, or lacks one of them.
    std::optional<double> under_since_day = {};
    double under_days = 0;      // until the last test
    double next_test_days = 1;  // after the last: daily, every other day, weekly
    bool started = false;       // all seen, and a week under both
};

// Tests that say the same as the one before are left out: a logbook writes one down every night
// until there is another.
FilterStart assess_filter_start(std::span<const FilterTest> tests);

std::span<const Constant> filter_start_sources() noexcept;

}  // namespace coldtank
