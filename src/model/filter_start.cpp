#include "coldtank/filter_start.hpp"

#include <array>

namespace coldtank {
namespace {

constexpr std::array kSources{kStartTan,       kStartNitrite, kStartFallen,    kStartedTan,
                              kStartedNitrite, kStartedDays,  kCarpFilterDays, kTroutFilterDays};

bool is_under(const FilterTest& test) {
    return test.tan_mg_l && test.nitrite_mg_l && *test.tan_mg_l < kStartedTan &&
           *test.nitrite_mg_l < kStartedNitrite;
}

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

}  // namespace

FilterStart assess_filter_start(std::span<const FilterTest> tests) {
    FilterStart out;
    Fall tan(kStartTan);
    Fall nitrite(kStartNitrite);
    const FilterTest* before = nullptr;
    double last_day = 0;
    for (const FilterTest& test : tests) {
        if (!test.tan_mg_l && !test.nitrite_mg_l) continue;
        if (before != nullptr && before->tan_mg_l == test.tan_mg_l &&
            before->nitrite_mg_l == test.nitrite_mg_l) {
            continue;
        }
        before = &test;
        ++out.tests;
        last_day = test.day;
        if (test.tan_mg_l) tan.add(test, *test.tan_mg_l, out.most_tan, out.ammonia_fell);
        if (test.nitrite_mg_l) {
            if (!out.nitrite_rose && *test.nitrite_mg_l >= kStartNitrite) out.nitrite_rose = test;
            nitrite.add(test, *test.nitrite_mg_l, out.most_nitrite, out.nitrite_fell);
        }
        if (!is_under(test)) {
            out.under_since_day.reset();
        } else if (!out.under_since_day) {
            out.under_since_day = test.day;
        }
    }
    if (out.under_since_day) out.under_days = last_day - *out.under_since_day;
    const bool all_seen = out.ammonia_fell && out.nitrite_rose && out.nitrite_fell;
    out.started = all_seen && out.under_days >= kStartedDays;
    constexpr double kEveryOther = 2;
    constexpr double kWeekly = 7;
    out.next_test_days = out.started ? kWeekly : out.under_since_day && all_seen ? kEveryOther : 1;
    return out;
}

std::span<const Constant> filter_start_sources() noexcept { return kSources; }

}  // namespace coldtank
