#include "coldtank/course.hpp"

#include <cmath>

#include "formulas.hpp"

namespace coldtank {
namespace {

// What the next piece starts from.
double passed_on(const Piece& piece, double end_mg_l) {
    const double kept = smaller_of(end_mg_l, piece.keeps_mg_l);
    return kept + piece.renewed * (piece.by_mg_l - kept);
}

// Minutes to the first level that a chain meets; `to` asks one piece.
std::optional<double> minutes_to(std::span<const Piece> pieces, double start_mg_l, auto to) {
    double before_min = 0;
    double mg_l = start_mg_l;
    for (const Piece& piece : pieces) {
        const std::optional<double> minutes = to(piece.course, mg_l);
        if (minutes && *minutes <= 60 * piece.hours) return before_min + *minutes;
        if (std::isinf(piece.hours)) break;
        mg_l = passed_on(piece, piece.course.at(mg_l, piece.hours));
        before_min += 60 * piece.hours;
    }
    return std::nullopt;
}

}  // namespace

std::optional<double> Course::steady_mg_l() const noexcept {
    if (rate_m3_h == 0) return std::nullopt;
    return gain_g_h / rate_m3_h;
}

double Course::at(double start_mg_l, double hours) const noexcept {
    if (hours == 0) return start_mg_l;
    const double mg_l =
        rate_m3_h == 0 ? formulas::gathered_mg_l(start_mg_l, gain_g_h, water_m3, hours)
                       : formulas::course_mg_l(start_mg_l, gain_g_h, rate_m3_h, water_m3, hours);
    return larger_of(0, mg_l);
}

std::optional<double> Course::minutes_down_to(double start_mg_l, double level_mg_l) const noexcept {
    if (start_mg_l <= level_mg_l) return 0;
    if (rate_m3_h == 0) {
        if (gain_g_h >= 0) return std::nullopt;
        return formulas::minutes_stopped(water_m3, start_mg_l, level_mg_l, -gain_g_h);
    }
    const double steady = gain_g_h / rate_m3_h;
    if (steady >= level_mg_l) return std::nullopt;
    return formulas::minutes_with_flow(water_m3, rate_m3_h, start_mg_l, steady, level_mg_l);
}

std::optional<double> Course::minutes_up_to(double start_mg_l, double level_mg_l) const noexcept {
    if (start_mg_l >= level_mg_l) return 0;
    if (rate_m3_h == 0) {
        if (gain_g_h <= 0) return std::nullopt;
        return 60 * water_m3 * (level_mg_l - start_mg_l) / gain_g_h;
    }
    const double steady = gain_g_h / rate_m3_h;
    if (steady <= level_mg_l) return std::nullopt;
    return formulas::minutes_with_flow(water_m3, rate_m3_h, start_mg_l, steady, level_mg_l);
}

Reach reach_of(std::span<const Piece> pieces, double start_mg_l, double hours) noexcept {
    Reach reach{start_mg_l, start_mg_l, start_mg_l};
    double mg_l = start_mg_l;
    for (const Piece& piece : pieces) {
        const double within = smaller_of(piece.hours, hours);
        mg_l = reach.last_mg_l = piece.course.at(mg_l, within);
        reach.lowest_mg_l = smaller_of(reach.lowest_mg_l, mg_l);
        reach.most_mg_l = larger_of(reach.most_mg_l, mg_l);
        hours -= within;
        if (hours <= 0) break;
        mg_l = passed_on(piece, mg_l);
        reach.lowest_mg_l = smaller_of(reach.lowest_mg_l, mg_l);
    }
    return reach;
}

std::optional<double> minutes_down_to(std::span<const Piece> pieces, double start_mg_l,
                                      double level_mg_l) noexcept {
    return minutes_to(pieces, start_mg_l, [&](const Course& course, double mg_l) {
        return course.minutes_down_to(mg_l, level_mg_l);
    });
}

std::optional<double> minutes_up_to(std::span<const Piece> pieces, double start_mg_l,
                                    double level_mg_l) noexcept {
    return minutes_to(pieces, start_mg_l, [&](const Course& course, double mg_l) {
        return course.minutes_up_to(mg_l, level_mg_l);
    });
}

}  // namespace coldtank
