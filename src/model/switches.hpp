// Inside the model: where a log of oxygen was switched off and on again.
#pragma once

#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

#include "coldtank/droptest.hpp"
#include "numbers.hpp"

namespace coldtank {

inline constexpr Constant kMeterStep{"scatter of a meter's own steps", 0.003, "mg/L",
                                     Basis::judgement, "0.01 mg/L over the root of 12"};

// ---- a straight line through a level and a factor of it: y = level + slope x

// Sums of points over which such a line is fitted.
struct Sums {
    double count = 0, x = 0, xx = 0, y = 0, xy = 0, yy = 0;

    void add(double at, double value) {
        count += 1;
        x += at;
        xx += at * at;
        y += value;
        xy += at * value;
        yy += value * value;
    }
    Sums without(const Sums& less) const {
        return {count - less.count, x - less.x,   xx - less.xx,
                y - less.y,         xy - less.xy, yy - less.yy};
    }
    // Where the x of all points are multiplied.
    Sums scaled(double by) const { return {count, by * x, by * by * xx, y, by * xy, yy}; }
    double spread() const { return xx - x * x / count; }
    double slope() const { return (xy - x * y / count) / spread(); }
    double level() const { return (y - slope() * x) / count; }
    double squares_about_mean() const { return count == 0 ? 0 : larger_of(0, yy - y * y / count); }
    double squares() const {
        return larger_of(0, squares_about_mean() - slope() * slope() * spread());
    }
};

// Rates that are tried, over the whole time, each so many times the one before: of a search that
// ends there, and of one that goes on.
inline constexpr double kLeastRate = 1e-2;
inline constexpr double kRateStep = 1.02;
inline constexpr double kRoughRateStep = 1.1;

// ---- where a log was switched

struct Switches {
    std::size_t off;  // the first point of each phase; `on` may be past the end
    std::size_t on;
    std::size_t off_at_most = 0;  // what as well may be
    std::size_t on_at_least = 0;
    std::size_t on_at_most = 0;
};

// Before it is switched off the oxygen stays where it is, then it falls along a line, then it rises
// to a level: of all ways to part the log so, the one with the least squares, each part paid for by
// the Bayesian information criterion.
class SwitchSearch {
public:
    //   falls_by: the factor of the slope at each point
    SwitchSearch(const std::vector<DropPoint>& points, const std::vector<double>& falls_by,
                 std::optional<std::size_t> off, std::optional<std::size_t> on)
        : size_(points.size()), x_(falls_by), off_(off), on_(on) {
        double mean = 0;
        for (const DropPoint& point : points) {
            mean += point.oxygen_mg_l / static_cast<double>(size_);
        }
        sums_.resize(size_ + 1);
        for (std::size_t i = 0; i < size_; ++i) {
            sums_[i + 1] = sums_[i];
            sums_[i + 1].add(falls_by[i], points[i].oxygen_mg_l - mean);
        }
        add_rises(points, mean);
    }

    // The same with nothing given.
    SwitchSearch free() const {
        SwitchSearch other = *this;
        other.off_.reset();
        other.on_.reset();
        return other;
    }

    Switches best() const {
        // Coarsely over all, then closely about the best.
        const std::size_t stride = 1 + size_ / kMostTried;
        Switches found = best_of({0, size_}, {0, size_}, stride);
        if (stride > 1) {
            const auto about = [&](std::size_t at) {
                return Among{at < stride ? 0 : at - stride, std::min(size_, at + stride)};
            };
            found = best_of(about(found.off), about(found.on), 1);
        }
        return doubted(found);
    }

    double cost_of(const Switches& switches) const { return cost(switches.off, switches.on); }

    // Of an empty tank: it stays, and then rises.
    std::size_t first_of_rise() const {
        std::size_t found = 0;
        double least = HUGE_VAL;
        for (std::size_t on = 0; on + kLeastOn <= size_; ++on) {
            const auto count = static_cast<double>(size_);
            const double squares = sums_[on].squares_about_mean() + rises_[on];
            const double paid =
                count * std::log(larger_of(squares / count, kMeterStep * kMeterStep)) +
                (on > 0 ? kPricePause : 0) * std::log(count);
            if (!(paid < least) || on == 1) continue;
            least = paid;
            found = on;
        }
        return found;
    }

private:
    static constexpr std::size_t kMostTried = 500;
    static constexpr std::size_t kLeastPause = 3;
    static constexpr std::size_t kLeastOff = 3;
    static constexpr std::size_t kLeastOn = 4;
    static constexpr double kPricePause = 3;  // quantities that a part adds
    static constexpr double kPriceRise = 4;
    static constexpr double kDoubt = 9;  // 99 % of chi square for the two

    struct Among {
        std::size_t from, to;
    };

    // Of the rise from each point on, over all rates; where none rises, of points that stay.
    void add_rises(const std::vector<DropPoint>& points, double mean) {
        rises_.assign(size_ + 1, 0);
        for (std::size_t i = 0; i < size_; ++i) {
            rises_[i] = sums_[size_].without(sums_[i]).squares_about_mean();
        }
        const double duration = points.back().hours - points.front().hours;
        double least_step = duration;
        for (std::size_t i = 1; i < size_; ++i) {
            const double step = points[i].hours - points[i - 1].hours;
            if (step > 0) least_step = std::min(least_step, step);
        }
        if (!(duration > 0)) return;
        constexpr double kSameStepH = 1e-9;
        for (double rate = kLeastRate / duration; rate < 2 / least_step; rate *= kRateStep) {
            Sums sums;
            double step_h = 0;
            double decay = 1;
            for (std::size_t i = size_; i-- > 0;) {
                if (i + 1 < size_) {
                    // Mostly the same as of the point before: an exponential is dear.
                    const double next_h = points[i + 1].hours - points[i].hours;
                    if (std::abs(next_h - step_h) > kSameStepH) {
                        step_h = next_h;
                        decay = std::exp(-rate * step_h);
                    }
                    sums = sums.scaled(decay);
                }
                sums.add(1, points[i].oxygen_mg_l - mean);
                if (size_ - i < kLeastOn || !(sums.slope() < 0)) continue;
                rises_[i] = std::min(rises_[i], sums.squares());
            }
        }
    }

    // What parting it so costs, but for the price of a pause.
    double fit_of(std::size_t off, std::size_t on) const {
        // What lies before a switch that was told is nothing to it.
        const bool pauses = off > 0 && !off_;
        if (on < off + kLeastOff || (pauses && off < kLeastPause)) return HUGE_VAL;
        if (!on_ && on < size_ && size_ - on < kLeastOn) return HUGE_VAL;
        const Sums falling = sums_[on].without(sums_[off]);
        if (!(falling.slope() < 0)) return HUGE_VAL;
        double squares = falling.squares() + rises_[on];
        if (pauses) {
            // It may drift, but not as it falls, nor as far.
            const Sums& pause = sums_[off];
            if (pause.slope() < falling.slope() / 2 ||
                pause.slope() * x_[off - 1] < falling.slope() * (x_[on - 1] - x_[off])) {
                return HUGE_VAL;
            }
            squares += pause.squares();
        }
        const auto count = static_cast<double>(size_);
        return count * std::log(larger_of(squares / count, kMeterStep * kMeterStep)) +
               (on < size_ ? kPriceRise * std::log(count) : 0);
    }
    double cost(std::size_t off, std::size_t on) const { return fit_of(off, on) + price_of(off); }
    double price_of(std::size_t off) const {
        return off > 0 ? kPricePause * std::log(static_cast<double>(size_)) : 0;
    }

    Switches best_of(Among offs, Among ons, std::size_t stride) const {
        Switches found{off_.value_or(0), on_.value_or(size_)};
        double least = HUGE_VAL;
        if (off_) offs = {*off_, *off_};
        if (on_) ons = {*on_, *on_};
        for (std::size_t off = offs.from; off <= offs.to; off += stride) {
            for (std::size_t on = ons.to;; on -= stride) {
                const double paid = cost(off, on);
                if (paid < least) {
                    least = paid;
                    found = {off, on};
                }
                if (on < ons.from + stride) break;
            }
        }
        return found;
    }

    // With the switches that the points as well may be of, whatever parts they make; not so far
    // that too few are left.
    Switches doubted(Switches found) const {
        found.off_at_most = found.off;
        found.on_at_least = found.on_at_most = found.on;
        const double bearable = fit_of(found.off, found.on) + kDoubt;
        if (std::isinf(bearable)) return found;  // none was found
        const auto fewest = static_cast<std::size_t>(kDropFewest);
        for (std::size_t on = found.off; !on_ && found.on < size_ && on < size_; ++on) {
            if (on < found.off + fewest || fit_of(found.off, on) > bearable) continue;
            found.on_at_least = std::min(found.on_at_least, on);
            if (on + fewest <= size_) found.on_at_most = std::max(found.on_at_most, on);
        }
        for (std::size_t off = found.off; !off_ && off + fewest <= found.on_at_least; ++off) {
            for (const std::size_t on : {found.on_at_least, found.on, found.on_at_most}) {
                if (fit_of(off, on) <= bearable) found.off_at_most = off;
            }
        }
        return found;
    }

    std::size_t size_;
    std::vector<double> x_;
    std::optional<std::size_t> off_, on_;
    std::vector<Sums> sums_;     // of the points before each
    std::vector<double> rises_;  // squares of the rise from each to the end
};

}  // namespace coldtank
