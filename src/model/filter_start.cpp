#include "coldtank/filter_start.hpp"

#include <algorithm>
#include <array>

namespace coldtank {
namespace {

constexpr std::array kSources{kStartTan,       kStartNitrite, kStartFallen,    kStartedTan,
                              kStartedNitrite, kStartedDays,  kCarpFilterDays, kTroutFilterDays};

// The most of something so far, and the first day on which it had fallen from that.
class Fall {
public:
    explicit Fall(double from_mg_l) : from_mg_l_(from_mg_l) {}

    void add(const FilterTest& test, double mg_l, std::optional<FilterTest>& most,
             std::optional<FilterStart::Seen>& fell) {
        // What rises beyond all that was seen has not fallen.
        if (mg_l > most_mg_l_ || !most) {
            most_mg_l_ = mg_l;
            most = test;
            fell.reset();
        }
        if (!fell && most_mg_l_ >= from_mg_l_ && mg_l <= kStartFallen * most_mg_l_) {
            fell = FilterStart::Seen{most->day, most_mg_l_, test.day, mg_l};
        }
    }

private:
    double from_mg_l_;
    double most_mg_l_ = 0;
};

// The tests of one substance. What says the same as the one before is the same test, written down
// again.
class Tests {
public:
    explicit Tests(double under_mg_l) : under_mg_l_(under_mg_l) {}

    bool is_new(const std::optional<double>& mg_l) const {
        return mg_l && !(any_ && *mg_l == last_mg_l_);
    }
    void add(double day, double mg_l) {
        const bool under = mg_l < under_mg_l_;
        if (under && !under_) since_day_ = day;
        under_ = under;
        any_ = true;
        last_mg_l_ = mg_l;
        last_day_ = day;
    }
    double last_day() const { return last_day_; }
    bool is_under() const { return under_; }
    double since_day() const { return since_day_; }

private:
    double under_mg_l_;
    bool any_ = false;
    double last_mg_l_ = 0;
    double last_day_ = 0;
    bool under_ = false;
    double since_day_ = 0;
};

}  // namespace

FilterStart assess_filter_start(std::span<const FilterTest> tests) {
    FilterStart out;
    Fall tan_falls(kStartTan);
    Fall nitrite_falls(kStartNitrite);
    Tests tan(kStartedTan);
    Tests nitrite(kStartedNitrite);
    for (const FilterTest& test : tests) {
        const bool new_tan = tan.is_new(test.tan_mg_l);
        const bool new_nitrite = nitrite.is_new(test.nitrite_mg_l);
        out.tests += new_tan || new_nitrite ? 1 : 0;
        if (new_tan) {
            tan.add(test.day, *test.tan_mg_l);
            tan_falls.add(test, *test.tan_mg_l, out.most_tan, out.ammonia_fell);
        }
        if (!new_nitrite) continue;
        nitrite.add(test.day, *test.nitrite_mg_l);
        if (!out.nitrite_rose && *test.nitrite_mg_l >= kStartNitrite) out.nitrite_rose = test;
        nitrite_falls.add(test, *test.nitrite_mg_l, out.most_nitrite, out.nitrite_fell);
    }
    if (tan.is_under() && nitrite.is_under()) {
        out.under_since_day = std::max(tan.since_day(), nitrite.since_day());
        // As far as both were tested.
        const double last_day = std::min(tan.last_day(), nitrite.last_day());
        out.under_days = std::max(0.0, last_day - *out.under_since_day);
    }
    const bool all_seen = out.ammonia_fell && out.nitrite_rose && out.nitrite_fell;
    out.started = all_seen && out.under_days >= kStartedDays;
    constexpr double kEveryOther = 2;
    constexpr double kWeekly = 7;
    out.next_test_days = out.started ? kWeekly : out.under_since_day && all_seen ? kEveryOther : 1;
    return out;
}

std::span<const Constant> filter_start_sources() noexcept { return kSources; }

}  // namespace coldtank
