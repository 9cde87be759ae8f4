#include "coldtank/trend.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

namespace coldtank {
namespace {

constexpr Constant kStudentT{"Student's t, two-sided 95 %",
                             {},
                             "-",
                             Basis::published,
                             "NIST/SEMATECH e-Handbook of Statistical Methods, table 1.3.6.7.2"};
constexpr std::array kSources{kTrendHorizonDays, kStudentT};

// By degrees of freedom from 1.
constexpr std::array kStudentT95{12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306,
                                 2.262,  2.228, 2.201, 2.179, 2.160, 2.145, 2.131, 2.120,
                                 2.110,  2.101, 2.093, 2.086, 2.080, 2.074, 2.069, 2.064,
                                 2.060,  2.056, 2.052, 2.048, 2.045, 2.042};

struct StudentRow {
    std::size_t degrees_of_freedom;
    double t;
};
constexpr std::array<StudentRow, 7> kStudentT95Beyond{
    {{40, 2.021}, {50, 2.009}, {60, 2.000}, {70, 1.994}, {80, 1.990}, {90, 1.987}, {100, 1.984}}};

// The first time after `from` at which a function that rises for good reaches zero; none within the
// horizon.
template <typename Function>
std::optional<double> first_zero(Function value_at, double from_days) {
    if (value_at(from_days) >= 0) return 0;
    double low = 0;
    double high = 1;
    while (value_at(from_days + high) < 0) {
        low = high;
        high *= 2;
        if (low > kTrendHorizonDays) return std::nullopt;
    }
    for (int i = 0; i < 100; ++i) {
        const double middle = (low + high) / 2;
        (value_at(from_days + middle) < 0 ? low : high) = middle;
    }
    if (high > kTrendHorizonDays) return std::nullopt;
    return high;
}

}  // namespace

double student_t_95(std::size_t degrees_of_freedom) noexcept {
    if (degrees_of_freedom == 0) return std::numeric_limits<double>::infinity();
    if (degrees_of_freedom <= kStudentT95.size()) return kStudentT95[degrees_of_freedom - 1];
    // Between printed rows the wider: a little wide, never too narrow.
    double widest = kStudentT95.back();
    for (const StudentRow& row : kStudentT95Beyond) {
        if (degrees_of_freedom >= row.degrees_of_freedom) widest = row.t;
    }
    return widest;
}

double TrendLine::at(double x) const noexcept { return mean_value + slope * (x - mean_x); }

double TrendLine::band_at(double x) const noexcept {
    if (points <= 2) return std::numeric_limits<double>::infinity();
    const double off = x - mean_x;
    return student_t_95(points - 2) * residual_sd *
           std::sqrt(1 / static_cast<double>(points) + off * off / spread_x_2);
}

double TrendLine::slope_band() const noexcept {
    if (points <= 2) return std::numeric_limits<double>::infinity();
    return student_t_95(points - 2) * slope_error;
}

std::optional<TrendLine> fit_line(std::span<const TrendPoint> points) noexcept {
    if (points.empty()) return std::nullopt;
    TrendLine line{.points = points.size(), .first_x = points[0].x, .last_x = points[0].x};
    const auto count = static_cast<double>(points.size());
    for (const TrendPoint& point : points) {
        line.mean_x += point.x / count;
        line.mean_value += point.value / count;
        line.first_x = std::min(line.first_x, point.x);
        line.last_x = std::max(line.last_x, point.x);
    }
    if (line.first_x == line.last_x) return std::nullopt;
    double product = 0;
    for (const TrendPoint& point : points) {
        const double off = point.x - line.mean_x;
        line.spread_x_2 += off * off;
        product += off * (point.value - line.mean_value);
    }
    line.slope = product / line.spread_x_2;
    double squares = 0;
    for (const TrendPoint& point : points) {
        const double off = point.value - line.at(point.x);
        squares += off * off;
    }
    line.residual_sd = points.size() > 2 ? std::sqrt(squares / (count - 2))
                                         : std::numeric_limits<double>::quiet_NaN();
    line.slope_error = line.residual_sd / std::sqrt(line.spread_x_2);
    return line;
}

DaysTo days_to(const TrendLine& line, double limit, Side broken, double from_days) noexcept {
    // How far beyond the limit the line is, `share` of its band nearer to it.
    const double sign = broken == Side::above ? 1 : -1;
    const auto beyond = [&](double share) {
        return first_zero(
            [&](double days) {
                const double band = share == 0 ? 0 : share * line.band_at(days);
                return sign * (line.at(days) - limit) + band;
            },
            from_days);
    };
    return {beyond(0), beyond(1), beyond(-1)};
}

std::span<const Constant> trend_sources() noexcept { return kSources; }

}  // namespace coldtank
