// Where a figure is going: a straight line through what was logged, and when it meets a limit.
#pragma once

#include <optional>
#include <span>

#include "coldtank/source.hpp"

namespace coldtank {

struct TrendPoint {
    double x;  // days, of a trend
    double value;
};

// value = mean_value + slope (x - mean_x), by ordinary least squares.
struct TrendLine {
    std::size_t points;
    double first_x;
    double last_x;
    double mean_x = 0;
    double mean_value = 0;
    double slope = 0;
    double residual_sd = 0;  // NaN with two points
    double slope_error = 0;  // standard error of slope; NaN with two points
    double spread_x_2 = 0;   // sum of (x - mean_x)^2

    double at(double x) const noexcept;
    // Half the width of the 95 % band of the line, infinite with two points.
    double band_at(double x) const noexcept;
    // Half the width of the 95 % interval of the slope, the same.
    double slope_band() const noexcept;
};

// None with fewer than two different times.
// Checked: NIST Statistical Reference Datasets, Norris (tests/reference/linear_norris_nist.csv).
std::optional<TrendLine> fit_line(std::span<const TrendPoint> points) noexcept;

// The quantile of Student's t that holds 95 % between its two signs; infinite for 0 degrees of
// freedom.
double student_t_95(std::size_t degrees_of_freedom) noexcept;

enum class Side { below, above };  // where a limit is broken

// Days from a time, the last point's or later, until the line, and the edges of its 95 % band,
// break a limit: 0 where they do already, none where they never will within kTrendHorizonDays.
struct DaysTo {
    std::optional<double> likely;
    std::optional<double> soonest;
    std::optional<double> latest;
};
DaysTo days_to(const TrendLine& line, double limit, Side broken, double from_days) noexcept;

inline constexpr Constant kTrendHorizonDays{"horizon of a trend", 3650, "days", Basis::judgement,
                                            "no fish is in a tank longer"};

std::span<const Constant> trend_sources() noexcept;

}  // namespace coldtank
