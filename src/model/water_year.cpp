// The temperatures of a season: of months, of a wave, of days as they were told.
#include <algorithm>
#include <chrono>
#include <cmath>
#include <numbers>

#include "coldtank/season.hpp"
#include "dates.hpp"
#include "numbers.hpp"

namespace coldtank {
namespace {

double noon_of(Day day) { return static_cast<double>(2 * day + 1) / 2; }

// Straight lines through the middles of the months, so laid that each month keeps its mean. The
// value of a day is that of its noon.
class MonthLines {
public:
    MonthLines(const std::array<double, 12>& means, Day first, Day last) {
        using namespace std::chrono;
        // Some months on either side: what they do there is not felt here.
        constexpr months kBeside{8};
        year_month month = date_of(first).year() / date_of(first).month() - kBeside;
        const year_month end = date_of(last).year() / date_of(last).month() + kBeside;
        for (; month <= end; month += months{1}) {
            begins_.push_back(day_of(month / 1));
            means_.push_back(means[static_cast<unsigned>(month.month()) - 1]);
        }
        begins_.push_back(day_of(month / 1));
        middles_.resize(means_.size());
        for (std::size_t i = 0; i < means_.size(); ++i) {
            middles_[i] = static_cast<double>(begins_[i] + begins_[i + 1]) / 2;
        }
        solve();
        // Where the lines leave what water can be, the month is flatter about its mean.
        flat_.assign(means_.size(), 1);
        for (std::size_t i = 0; i < means_.size(); ++i) {
            for (Day day = begins_[i]; day < begins_[i + 1]; ++day) {
                const double off = line_at(noon_of(day)) - means_[i];
                const double room = off < 0 ? means_[i] - kTemperatureRange.low
                                            : kTemperatureRange.high - means_[i];
                if (std::abs(off) > room) flat_[i] = smaller_of(flat_[i], room / std::abs(off));
            }
        }
    }

    double at(Day day) const {
        const auto next = std::upper_bound(begins_.begin(), begins_.end(), day);
        const auto month = static_cast<std::size_t>(next - begins_.begin()) - 1;
        const double there = means_[month] + flat_[month] * (line_at(noon_of(day)) - means_[month]);
        // It touches the ends of what water can be but for the noise of the last digits.
        constexpr double kNoise = 1e-12;
        if (std::abs(there - kTemperatureRange.low) < kNoise) return kTemperatureRange.low;
        if (std::abs(there - kTemperatureRange.high) < kNoise) return kTemperatureRange.high;
        return there;
    }

private:
    double line_at(double noon) const {
        const auto next = std::upper_bound(middles_.begin(), middles_.end(), noon);
        const auto i = static_cast<std::size_t>(next - middles_.begin());
        if (i == 0) return values_.front();
        if (i == middles_.size()) return values_.back();
        const double share = share_of_next(i - 1, noon);
        return values_[i - 1] + share * (values_[i] - values_[i - 1]);
    }
    double share_of_next(std::size_t i, double noon) const {
        return (noon - middles_[i]) / (middles_[i + 1] - middles_[i]);
    }

    // The mean of a month is linear in its own middle and those beside it: three to a row.
    void solve() {
        const std::size_t count = means_.size();
        std::vector<double> below(count), own(count), above(count), right(means_);
        for (std::size_t i = 0; i < count; ++i) {
            const double days = static_cast<double>(begins_[i + 1] - begins_[i]);
            for (Day day = begins_[i]; day < begins_[i + 1]; ++day) {
                const double noon = noon_of(day);
                if (noon < middles_[i] && i > 0) {
                    const double share = share_of_next(i - 1, noon);
                    below[i] += (1 - share) / days;
                    own[i] += share / days;
                } else if (noon > middles_[i] && i + 1 < count) {
                    const double share = share_of_next(i, noon);
                    above[i] += share / days;
                    own[i] += (1 - share) / days;
                } else {
                    own[i] += 1 / days;
                }
            }
        }
        for (std::size_t i = 1; i < count; ++i) {
            const double factor = below[i] / own[i - 1];
            own[i] -= factor * above[i - 1];
            right[i] -= factor * right[i - 1];
        }
        values_.resize(count);
        for (std::size_t i = count; i-- > 0;) {
            const double next = i + 1 < count ? above[i] * values_[i + 1] : 0;
            values_[i] = (right[i] - next) / own[i];
        }
    }

    std::vector<Day> begins_;
    std::vector<double> means_;
    std::vector<double> middles_;
    std::vector<double> values_;
    std::vector<double> flat_;  // 1: as the lines are
};

double wave_at(const SeasonInput::Wave& wave, Day day) {
    const std::chrono::year_month_day date = date_of(day);
    const Day new_year = day_of(date.year() / 1 / 1);
    // The day of a common year.
    constexpr int kEndOfFebruary = 59;
    const int leap = date.year().is_leap() && wave.warmest_day_of_year > kEndOfFebruary ? 1 : 0;
    const double from_warmest =
        static_cast<double>(day - new_year + 1 - wave.warmest_day_of_year - leap);
    return wave.mean_c +
           wave.amplitude_c * std::cos(2 * std::numbers::pi * from_warmest / kDaysOfYear);
}

}  // namespace

std::vector<double> season_temperatures(const SeasonInput& season, Day first, Day last) {
    std::vector<double> out;
    if (!season.daily.empty()) {
        if (season.daily.front().day > first || season.daily.back().day < last) return out;
        std::size_t at = 0;
        for (Day day = first; day <= last; ++day) {
            while (at + 1 < season.daily.size() && season.daily[at + 1].day <= day) ++at;
            const SeasonInput::DayMean& before = season.daily[at];
            if (before.day == day || at + 1 == season.daily.size()) {
                out.push_back(before.temperature_c);
                continue;
            }
            const SeasonInput::DayMean& after = season.daily[at + 1];
            const double share =
                static_cast<double>(day - before.day) / static_cast<double>(after.day - before.day);
            out.push_back(before.temperature_c +
                          share * (after.temperature_c - before.temperature_c));
        }
    } else if (season.monthly_mean_c) {
        const MonthLines lines(*season.monthly_mean_c, first, last);
        for (Day day = first; day <= last; ++day) out.push_back(lines.at(day));
    } else if (season.wave) {
        for (Day day = first; day <= last; ++day) out.push_back(wave_at(*season.wave, day));
    }
    return out;
}

}  // namespace coldtank
