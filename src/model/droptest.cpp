#include "coldtank/droptest.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "balance.hpp"
#include "coldtank/course.hpp"
#include "coldtank/trend.hpp"
#include "formulas.hpp"
#include "judgement.hpp"
#include "limits.hpp"
#include "switches.hpp"

namespace coldtank {
namespace {

constexpr std::array kSources{kDropFewest,      kDropChange, kDropScatter,     kDropTemperature,
                              kDropLeast,       kDropStop,   kDropOn,          kDropStart,
                              kDropMinutes,     kDropBend,   kDropBackupHours, kDropKink,
                              kDropCalibration, kDropMore,   kMeterStep};

constexpr double kMgPerG = 1000;
constexpr double kAgree = 1e-3;                   // of two figures that are one but for rounding
const double kStepsPerScatter = std::sqrt(12.0);  // of numbers that were rounded

using Matrix = std::array<std::array<double, 3>, 3>;
using Vector = std::array<double, 3>;

// The inverse, by elimination with the largest pivot; none where there is none.
std::optional<Matrix> inverse_of(Matrix m) {
    Matrix inverse{};
    for (std::size_t i = 0; i < 3; ++i) inverse[i][i] = 1;
    for (std::size_t column = 0; column < 3; ++column) {
        std::size_t pivot = column;
        for (std::size_t row = column + 1; row < 3; ++row) {
            if (std::abs(m[row][column]) > std::abs(m[pivot][column])) pivot = row;
        }
        if (!(std::abs(m[pivot][column]) > 0)) return std::nullopt;
        std::swap(m[pivot], m[column]);
        std::swap(inverse[pivot], inverse[column]);
        const double divisor = m[column][column];
        for (std::size_t i = 0; i < 3; ++i) {
            m[column][i] /= divisor;
            inverse[column][i] /= divisor;
        }
        for (std::size_t row = 0; row < 3; ++row) {
            if (row == column) continue;
            const double factor = m[row][column];
            for (std::size_t i = 0; i < 3; ++i) {
                m[row][i] -= factor * m[column][i];
                inverse[row][i] -= factor * inverse[column][i];
            }
        }
    }
    return inverse;
}

// How much better other switches must fit before those that were told are asked about.
constexpr double kTold = 30;
// The first point at or after a time.
std::optional<std::size_t> point_at(const std::vector<DropPoint>& points,
                                    std::optional<double> hours) {
    if (!hours) return std::nullopt;
    const auto at = std::find_if(points.begin(), points.end(),
                                 [&](const DropPoint& point) { return point.hours >= *hours; });
    return static_cast<std::size_t>(at - points.begin());
}

// What a mean of residuals is further off for points that lean on each other, by the correlation of
// each with the next: 1 where it may be chance.
double leaning(std::span<const double> residuals) {
    double products = 0;
    double squares = 0;
    for (std::size_t i = 0; i < residuals.size(); ++i) {
        squares += residuals[i] * residuals[i];
        if (i > 0) products += residuals[i] * residuals[i - 1];
    }
    if (!(squares > 0)) return 1;
    // What was fitted has taken some of it away.
    const auto count = static_cast<double>(residuals.size());
    const double raw = products / squares;
    const double correlation = raw + (2 + 4 * raw) / count;
    constexpr double kMost = 0.99;
    constexpr double kChance = 2.5;  // standard errors
    if (!(correlation > kChance / std::sqrt(count))) return 1;
    const double counted = smaller_of(correlation, kMost);
    return std::sqrt((1 + counted) / (1 - counted));
}

// How far points bend away from a line through them, at most: by a square beside it, where that is
// more than chance.
double bend_of(std::span<const TrendPoint> points, const TrendLine& line) {
    double mean_square = 0;
    double with_x = 0;
    for (const TrendPoint& point : points) {
        const double off = point.x - line.mean_x;
        mean_square += off * off / static_cast<double>(points.size());
        with_x += off * off * off / line.spread_x_2;
    }
    // What is left of the square beside a level and a slope.
    const auto square = [&](double x) {
        const double off = x - line.mean_x;
        return off * off - mean_square - with_x * off;
    };
    double products = 0;
    double squares = 0;
    double most = 0;
    for (const TrendPoint& point : points) {
        const double own = square(point.x);
        products += own * (point.value - line.at(point.x));
        squares += own * own;
        most = larger_of(most, std::abs(own));
    }
    if (!(squares > 0)) return 0;
    const double factor = products / squares;
    // By the scatter that is left.
    std::vector<double> rest;
    double rest_squares = 0;
    for (const TrendPoint& point : points) {
        rest.push_back(point.value - line.at(point.x) - factor * square(point.x));
        rest_squares += rest.back() * rest.back();
    }
    const double scatter = std::sqrt(rest_squares / (static_cast<double>(points.size()) - 3));
    constexpr double kChance = 3;  // standard errors
    if (std::abs(factor) < kChance * leaning(rest) * scatter / std::sqrt(squares)) return 0;
    return std::abs(factor) * most;
}

// Scatter is never less than the steps of the meter.
double scatter_of(const DropTest& test, double residual_sd_mg_l) {
    return larger_of(residual_sd_mg_l, test.meter_step_mg_l / kStepsPerScatter);
}

Estimate estimate_of(double value, double standard_error, std::size_t degrees_of_freedom) {
    const double half = standard_error == 0 ? 0 : student_t_95(degrees_of_freedom) * standard_error;
    return {value, standard_error, value - half, value + half};
}
Estimate scaled(const Estimate& of, double by) {
    return {of.value * by, of.standard_error * by, of.low * by, of.high * by};
}

bool is_parted(const DropPhase& phase) {
    return phase.refused != DropRefusal::few_points && phase.refused != DropRefusal::times_run_back;
}

void refuse(DropPhase& phase, DropRefusal why, double by) {
    if (phase.refused != DropRefusal::none) return;
    phase.refused = why;
    phase.refused_by = by;
}

// What its points alone forbid, whatever is fitted.
void look_at(const DropTest& test, bool fish, double least_allowed_mg_l, DropPhase& phase) {
    const std::size_t count = phase.last - phase.first + 1;
    if (phase.last < phase.first || static_cast<double>(count) < kDropFewest) {
        refuse(phase, DropRefusal::few_points,
               phase.last < phase.first ? 0 : static_cast<double>(count));
        return;
    }
    double least_mg_l = HUGE_VAL;
    for (std::size_t i = phase.first; i <= phase.last; ++i) {
        least_mg_l = smaller_of(least_mg_l, test.points[i].oxygen_mg_l);
    }
    if (fish && !(least_mg_l >= least_allowed_mg_l))
        refuse(phase, DropRefusal::low_oxygen, least_mg_l);
}

void look_at_change(double change_mg_l, DropPhase& phase) {
    if (!(change_mg_l >= kDropChange)) refuse(phase, DropRefusal::small_change, change_mg_l);
    if (!(change_mg_l >= kDropScatter * phase.residual_sd_mg_l)) {
        refuse(phase, DropRefusal::scatter, phase.residual_sd_mg_l);
    }
}

// ---- off: V' dC/dt = Ks (Cs - C) - R. With x = (1 - e^(-k t)) / k, k = Ks / V', or t where the
// surface takes up nothing, C = C0 + slope x, and R = V' (k (Cs - C0) - slope).

double falls_by(double rate_per_h, double hours) {
    return rate_per_h == 0 ? hours : -std::expm1(-rate_per_h * hours) / rate_per_h;
}

void fit_fall(const DropTest& test, DropResult& out) {
    DropPhase& phase = *out.off;
    look_at(test, true, out.levels.least_mg_l, phase);
    if (phase.refused == DropRefusal::few_points) return;
    const double rate_per_h = test.surface_m3_h / out.water_m3;
    const double start_h = test.points[phase.first].hours;
    std::vector<TrendPoint> line_points;
    for (std::size_t i = phase.first; i <= phase.last; ++i) {
        line_points.push_back(
            {falls_by(rate_per_h, test.points[i].hours - start_h), test.points[i].oxygen_mg_l});
    }
    const auto line = fit_line(line_points);
    if (!line) {
        refuse(phase, DropRefusal::small_change, 0);
        return;
    }
    std::vector<double> residuals;
    for (std::size_t i = 0; i < line_points.size(); ++i) {
        residuals.push_back(line_points[i].value - line->at(line_points[i].x));
        out.residuals_mg_l[phase.first + i] = residuals.back();
    }
    phase.residual_sd_mg_l = scatter_of(test, line->residual_sd);
    const double first_mg_l = line->at(0);
    out.fall_mg_l = first_mg_l - line->at(line_points.back().x);
    look_at_change(out.fall_mg_l, phase);
    const double leans = leaning(residuals);
    const double bend_mg_l = bend_of(line_points, *line);
    if (bend_mg_l > kDropBend * out.fall_mg_l) refuse(phase, DropRefusal::bent, bend_mg_l);
    if (phase.refused != DropRefusal::none) return;
    const double g_h = formulas::breathed_g_h(out.water_m3, rate_per_h, out.saturation_mg_l,
                                              first_mg_l, line->slope);
    // k C0 + slope, of the mean and the slope, which are independent.
    const double lever = 1 - rate_per_h * line->mean_x;
    const double scatter_mg_l = phase.residual_sd_mg_l * leans;
    const double mean_error =
        rate_per_h * scatter_mg_l / std::sqrt(static_cast<double>(line->points));
    const double slope_error = lever * scatter_mg_l / std::sqrt(line->spread_x_2);
    const Estimate breathed =
        estimate_of(g_h, out.water_m3 * std::hypot(mean_error, slope_error), line->points - 2);
    out.respiration_mg_kg_h = scaled(breathed, kMgPerG / out.biomass_kg);
    if (!out.model_mg_kg_h) return;
    out.respiration_factor = scaled(*out.respiration_mg_kg_h, 1 / *out.model_mg_kg_h);
    out.doubtful = !kDropBelieved.holds(out.respiration_factor->value);
}

// The mean of those that were read with some of the points; it changes respiration and saturation.
struct Temperatures {
    double mean_c = 0;
    double change_c = 0;
};
std::optional<Temperatures> temperatures_of(std::span<const DropPoint> points) {
    double warmest = -HUGE_VAL;
    double coldest = HUGE_VAL;
    double sum_c = 0;
    double read = 0;
    for (const DropPoint& point : points) {
        if (!point.temperature_c) continue;
        warmest = larger_of(warmest, *point.temperature_c);
        coldest = smaller_of(coldest, *point.temperature_c);
        sum_c += *point.temperature_c;
        read += 1;
    }
    if (read == 0) return std::nullopt;
    return Temperatures{sum_c / read, warmest - coldest};
}

double saturation_of(const DropTest& test, double temperature_c) {
    return oxygen_saturation_mg_l({.temperature_c = temperature_c,
                                   .salinity_g_kg = test.tank.water.salinity_g_kg,
                                   .pressure_kpa = test.pressure_kpa});
}

// How far a rise leaves one curve, at the worst place for a kink, mg/L: water that went on again,
// air that was changed. 0 where it may be chance.
double kink_of(std::span<const DropPoint> points, const RiseFit& fit,
               std::span<const double> residuals, double scatter_mg_l) {
    constexpr std::size_t kPlaces = 15;
    constexpr double kChance = 3.5;  // standard errors, the best of so many places
    const double first_h = points.front().hours;
    const double span_h = points.back().hours - first_h;
    std::vector<Vector> slopes;
    Matrix normal{};
    for (const DropPoint& point : points) {
        slopes.push_back(fit.slopes_at(point.hours - first_h));
        for (std::size_t i = 0; i < 3; ++i) {
            for (std::size_t j = 0; j < 3; ++j) normal[i][j] += slopes.back()[i] * slopes.back()[j];
        }
    }
    const auto inverse = inverse_of(normal);
    if (!inverse) return 0;
    double most_mg_l = 0;
    for (std::size_t place = 1; place <= kPlaces; ++place) {
        const double at_h = span_h * static_cast<double>(place) / (kPlaces + 1);
        // What of a line from there on the curve cannot follow.
        std::vector<double> hinge;
        Vector with{};
        for (std::size_t p = 0; p < points.size(); ++p) {
            hinge.push_back(std::max(0.0, points[p].hours - first_h - at_h));
            for (std::size_t i = 0; i < 3; ++i) with[i] += slopes[p][i] * hinge[p];
        }
        double products = 0;
        double squares = 0;
        double widest = 0;
        for (std::size_t p = 0; p < points.size(); ++p) {
            double followed = 0;
            for (std::size_t i = 0; i < 3; ++i) {
                for (std::size_t j = 0; j < 3; ++j) {
                    followed += slopes[p][i] * (*inverse)[i][j] * with[j];
                }
            }
            const double left = hinge[p] - followed;
            products += left * residuals[p];
            squares += left * left;
            widest = std::max(widest, std::abs(left));
        }
        if (!(squares > 0)) continue;
        const double factor = std::abs(products) / squares;
        if (factor * std::sqrt(squares) < kChance * scatter_mg_l) continue;
        most_mg_l = std::max(most_mg_l, factor * widest);
    }
    return most_mg_l;
}

// ---- on: dC/dt = kLa (C* - C). With fish C* is the steady state under their load.

void fit_air(const DropTest& test, DropResult& out) {
    DropPhase& phase = *out.on;
    look_at(test, out.biomass_kg > 0, out.levels.least_mg_l, phase);
    if (phase.refused == DropRefusal::few_points) return;
    const std::span<const DropPoint> points(test.points.data() + phase.first,
                                            phase.last - phase.first + 1);
    const auto fit = fit_rise(points);
    if (!fit) {
        refuse(phase, DropRefusal::not_levelled, 0);
        return;
    }
    std::vector<double> residuals;
    for (const DropPoint& point : points) {
        residuals.push_back(point.oxygen_mg_l - fit->at(point.hours - points.front().hours));
    }
    for (std::size_t i = 0; i < points.size(); ++i) {
        // The point of the switch itself may be the last of the fall.
        std::optional<double>& residual = out.residuals_mg_l[phase.first + i];
        if (!residual) residual = residuals[i];
    }
    const std::size_t free = points.size() - 3;
    const double own_sd_mg_l = std::sqrt(fit->squares / static_cast<double>(free));
    phase.residual_sd_mg_l = scatter_of(test, own_sd_mg_l);
    look_at_change(fit->at(points.back().hours - points.front().hours) - fit->at(0), phase);
    // The errors of the fit are by its own scatter.
    const double leans = leaning(residuals);
    const double wider = own_sd_mg_l > 0 ? phase.residual_sd_mg_l / own_sd_mg_l * leans : 1;
    const double kink_mg_l = kink_of(points, *fit, residuals, phase.residual_sd_mg_l);
    if (kink_mg_l >
        kDropKink * (fit->at(points.back().hours - points.front().hours) - fit->at(0))) {
        refuse(phase, DropRefusal::bent, kink_mg_l);
    }
    const Estimate rate =
        estimate_of(fit->kla_per_h, wider * std::sqrt(fit->covariance[2][2]), free);
    const double flow_per_h = formulas::flow_m3_h(test.flow_l_min) / out.water_m3;
    if (!(rate.low > flow_per_h)) refuse(phase, DropRefusal::not_levelled, rate.low);
    constexpr double kSurest = 0.3;  // standard error over the rate
    if (!(rate.standard_error <= kSurest * rate.value)) {
        refuse(phase, DropRefusal::not_levelled, rate.low);
    }
    if (phase.refused != DropRefusal::none) return;
    out.steady_mg_l = fit->steady_mg_l;
    const Coefficients& k = test.tank.coefficients;
    const double temperature_c =
        temperatures_of(points).value_or(Temperatures{out.temperature_c, 0}).mean_c;
    out.kla_per_h = Estimate{rate.value - flow_per_h, rate.standard_error, rate.low - flow_per_h,
                             rate.high - flow_per_h};
    out.transfer_m3_h = scaled(*out.kla_per_h, out.water_m3);
    out.sotr_g_h =
        scaled(*out.transfer_m3_h, formulas::sotr_of_transfer_g_h(1.0, temperature_c, k));
    // Under their load the air holds C* where it brings what they breathe: R = kLa V' (beta Cs -
    // C*).
    const double saturation_mg_l = saturation_of(test, temperature_c);
    const Transfer described = transfer_of(test.tank.aeration, temperature_c, saturation_mg_l, k);
    if (out.biomass_kg == 0 || test.flow_l_min > 0 || described.pure_g_h > 0) return;
    const double full_mg_l =
        described.k_m3_h > 0 ? described.full_g_h / described.k_m3_h : k.beta * saturation_mg_l;
    const double lacks_mg_l = full_mg_l - fit->steady_mg_l;
    const double by_steady = -fit->kla_per_h;
    const double variance = by_steady * by_steady * fit->covariance[0][0] +
                            2 * by_steady * lacks_mg_l * fit->covariance[0][2] +
                            lacks_mg_l * lacks_mg_l * fit->covariance[2][2];
    const Estimate breathed =
        estimate_of(fit->kla_per_h * lacks_mg_l, wider * std::sqrt(variance), free);
    out.breathed_on_mg_kg_h = scaled(breathed, kMgPerG * out.water_m3 / out.biomass_kg);
}

// What such fish breathe by the model so long after their feed: of what the budget counts with
// their ration, what is above rest falls away.
void add_model(const DropTest& test, DropResult& out) {
    const Coefficients& k = test.tank.coefficients;
    // Of fish so small nobody says what they should breathe.
    if (has_early_life(test.tank)) return;
    Tank tank = test.tank;
    tank.water.temperature_c = out.temperature_c;
    tank.water.peak_temperature_c.reset();
    tank.feed.fasted_h.reset();
    for (FishGroup& group : tank.fish) group.respiration_factor = 1;
    const TankBudget budget = assess_tank(tank, {}, {test.pressure_kpa});
    const double left = (fasting_share(test.fasted_h, k) - k.fasted_share) / (1 - k.fasted_share);
    double model_mg_h = 0;
    double described_mg_h = 0;
    std::size_t i = 0;
    for (const FishGroup& group : test.tank.fish) {
        if (group.count == 0) continue;
        const GroupBudget& figures = budget.groups[i++];
        const double rest_mg_kg_h = k.fasted_share * figures.fed_mg_kg_h;
        const double mg_h = figures.biomass_kg *
                            (rest_mg_kg_h + left * (figures.respiration_mg_kg_h - rest_mg_kg_h));
        model_mg_h += mg_h;
        described_mg_h += group.respiration_factor * mg_h;
    }
    if (!(model_mg_h > 0)) return;
    out.model_mg_kg_h = model_mg_h / out.biomass_kg;
    out.described_factor = described_mg_h / model_mg_h;
}

void add_described_air(const Tank& tank, DropResult& out) {
    double sotr = 0;
    for (const Aerator& aerator : tank.aeration) {
        sotr +=
            aerator.alpha.value_or(tank.coefficients.alpha) * sotr_g_h(aerator, tank.coefficients);
    }
    if (sotr > 0) out.described_sotr_g_h = sotr;
}

// By those of the main part, else of the whole log, else the tank's.
void take_temperature(const DropTest& test, DropResult& out) {
    const std::span<const DropPoint> all(test.points);
    const std::size_t first = out.main().first;
    const std::size_t last = (out.on ? out.on : out.off)->last;
    if (const auto main = temperatures_of(all.subspan(first, out.main().last - first + 1))) {
        out.temperature_c = main->mean_c;
    }
    const auto fitted = temperatures_of(all.subspan(first, last - first + 1));
    if (!fitted || fitted->change_c <= kDropTemperature) return;
    for (std::optional<DropPhase>* phase : {&out.off, &out.on}) {
        if (*phase) refuse(**phase, DropRefusal::temperature, fitted->change_c);
    }
}

// By the clock, whatever a meter says: as fed fish at their peak draw it down from where it was
// off.
void add_stop(const DropTest& test, DropResult& out) {
    const DropPoint& from =
        test.points[is_parted(*out.off)
                        ? out.off->first
                        : point_at(test.points, test.off_h).value_or(0) % test.points.size()];
    Tank tank = test.tank;
    tank.feed.fasted_h.reset();
    const TankBudget budget = assess_tank(tank, {}, {test.pressure_kpa});
    if (!budget.reserve) return;
    const Course stopped{out.water_m3, -budget.reserve->demand_g_h};
    const auto minutes = stopped.minutes_down_to(from.oxygen_mg_l, out.levels.stop_mg_l);
    if (minutes) out.stop_h = from.hours + *minutes / 60;
}

// Where a test is stopped, switched on, and begins: by the limits of the tank, and never lower.
DropLevels levels_of(const Tank& tank, double saturation_mg_l) {
    const TankLimits limits = limits_of(tank);
    double stop_mg_l = larger_of(kDropStop, limits.oxygen_warn_mg_l);
    if (tank.limits.oxygen_warn_percent) {
        stop_mg_l = formulas::oxygen_warn_mg_l(stop_mg_l, *tank.limits.oxygen_warn_percent,
                                               saturation_mg_l);
    }
    return {.least_mg_l = larger_of(kDropLeast, limits.oxygen_fail_mg_l),
            .stop_mg_l = stop_mg_l,
            .on_mg_l = stop_mg_l + (kDropOn - kDropStop),
            .start_mg_l = stop_mg_l + (kDropStart - kDropStop)};
}

bool is_finite(const std::optional<Estimate>& estimate) {
    return estimate && std::isfinite(estimate->low) && std::isfinite(estimate->high);
}

void judge(const DropTest& test, DropResult& out) {
    const bool fish = out.biomass_kg > 0;
    const bool concluded = is_finite(fish ? out.respiration_factor : out.sotr_g_h);
    const auto refused = [](const std::optional<DropPhase>& phase) {
        return phase && phase->refused != DropRefusal::none;
    };
    out.verdict =
        !concluded || refused(out.off) || refused(out.on) ? Status::unchecked : Status::pass;
    if (!fish || test.points.empty()) return;
    const double lowest_mg_l = test.points[out.lowest].oxygen_mg_l;
    out.breathe_more = out.respiration_factor && out.respiration_factor->low > out.described_factor;
    // Another by the rise than by the fall: something was not as it is taken.
    if (out.respiration_mg_kg_h && out.breathed_on_mg_kg_h) {
        const double off = out.breathed_on_mg_kg_h->value - out.respiration_mg_kg_h->value;
        // What the meter and beta may be off is multiplied by the rate.
        const double own_off = kMgPerG * out.transfer_m3_h->value * kDropCalibration *
                               out.saturation_mg_l / out.biomass_kg;
        const double error = std::hypot(out.breathed_on_mg_kg_h->standard_error,
                                        out.respiration_mg_kg_h->standard_error, own_off);
        constexpr double kChance = 2.5;  // standard errors
        out.disagree = std::abs(off) > kChance * error &&
                       std::abs(off) > kAgree * out.respiration_mg_kg_h->value;
    }
    out.brings_less = out.sotr_g_h && out.sotr_g_h->high < out.described_sotr_g_h;
    out.brings_more = out.sotr_g_h && out.described_sotr_g_h && !test.tank.inflow.empty() &&
                      out.sotr_g_h->low > kDropMore * *out.described_sotr_g_h;
    if (out.breathe_more || out.brings_less || out.brings_more || out.doubtful || out.disagree ||
        !(lowest_mg_l >= out.levels.stop_mg_l)) {
        out.verdict = Status::warn;
    }
    if (!(lowest_mg_l >= out.levels.least_mg_l)) out.verdict = Status::fail;
}

// The scatter of all that was fitted.
double pooled_scatter(const DropResult& result) {
    double squares = 0;
    double free = 0;
    const auto add = [&](const std::optional<DropPhase>& phase, double parameters) {
        if (!phase || phase->residual_sd_mg_l == 0) return;
        const double left = static_cast<double>(phase->last - phase->first + 1) - parameters;
        squares += left * phase->residual_sd_mg_l * phase->residual_sd_mg_l;
        free += left;
    };
    add(result.off, 2);
    add(result.on, 3);
    return free > 0 ? std::sqrt(squares / free) : 0;
}

// ---- the rise

// The best of many rates, of which each leaves a straight line: oxygen against e^(-kLa t).
constexpr double kMostRate = 1e3;  // of the whole time
RiseFit rough_rise(std::span<const DropPoint> points) {
    const double first_h = points.front().hours;
    const double duration_h = points.back().hours - first_h;
    RiseFit fit{0, 0, 0, HUGE_VAL};
    for (double rate = kLeastRate; rate < kMostRate; rate *= kRoughRateStep) {
        Sums sums;
        for (const DropPoint& point : points) {
            sums.add(std::exp(-rate * (point.hours - first_h) / duration_h),
                     point.oxygen_mg_l - points.front().oxygen_mg_l);
        }
        const double squares = sums.squares();
        if (!(squares < fit.squares)) continue;
        const double level = sums.level() + points.front().oxygen_mg_l;
        fit = {level, level + sums.slope(), rate / duration_h, squares};
    }
    return fit;
}

double squares_of(const RiseFit& fit, std::span<const DropPoint> points) {
    double squares = 0;
    for (const DropPoint& point : points) {
        const double off = point.oxygen_mg_l - fit.at(point.hours - points.front().hours);
        squares += off * off;
    }
    return squares;
}

// Where a step of the fit goes, by the slopes of the curve at all points.
struct Step {
    Matrix inverse;
    Vector change;
};
std::optional<Step> step_of(const RiseFit& fit, std::span<const DropPoint> points) {
    Matrix normal{};
    Vector toward{};
    for (const DropPoint& point : points) {
        const double t = point.hours - points.front().hours;
        const Vector slopes = fit.slopes_at(t);
        const double off = point.oxygen_mg_l - fit.at(t);
        for (std::size_t i = 0; i < 3; ++i) {
            toward[i] += slopes[i] * off;
            for (std::size_t j = 0; j < 3; ++j) normal[i][j] += slopes[i] * slopes[j];
        }
    }
    const auto inverse = inverse_of(normal);
    if (!inverse) return std::nullopt;
    Step step{*inverse, {}};
    for (std::size_t i = 0; i < 3; ++i) {
        for (std::size_t j = 0; j < 3; ++j) step.change[i] += (*inverse)[i][j] * toward[j];
    }
    return step;
}

// ---- before a test

DropSafety safety_of(const System& system, std::size_t index, const TankBudget& budget,
                     const TankOutage& outage) {
    const Tank& tank = system.tanks[index];
    DropSafety out;
    out.gives_water = !below_of(system.tanks, index).empty();
    out.tank = tank.name;
    out.starts_from = outage.starts_from;
    out.unread = outage.starts_from != StartsFrom::measured || !outage.read_h ||
                 *outage.read_h > kFreshOxygenH;
    // What nobody has read may be as much as the water can hold: no test where that is too little.
    out.oxygen_now_mg_l = out.unread ? budget.oxygen.saturation_peak_mg_l
                                     : smaller_of(outage.oxygen_now_mg_l,
                                                  tank.readings.oxygen_mg_l.value_or(HUGE_VAL));
    if (out.unread) out.starts_from = StartsFrom::saturation;
    out.levels = levels_of(tank, budget.oxygen.saturation_peak_mg_l);
    // Fed fish, whatever a description says of the day it was written.
    const double fed_g_h =
        outage.demand_g_h / fasting_share(tank.feed.fasted_h.value_or(0), tank.coefficients);
    const Course stopped{budget.water_m3, -fed_g_h};
    out.minutes_to_on = stopped.minutes_down_to(out.oxygen_now_mg_l, out.levels.on_mg_l);
    out.minutes_to_stop = stopped.minutes_down_to(out.oxygen_now_mg_l, out.levels.stop_mg_l);
    out.on_loop = tank.loop.has_value();
    out.starts_low = !(out.oxygen_now_mg_l >= out.levels.start_mg_l);
    out.early_life = budget.early_life;
    out.wanted_min = larger_of(kDropMinutes, outage.limits.response_time_min);
    out.too_fast = out.minutes_to_stop && !(*out.minutes_to_stop >= out.wanted_min);
    const auto air = std::find_if(
        outage.cases.begin(), outage.cases.end(),
        [](const OutageCourse& each) { return each.outage == OutageCase::air_goes_on; });
    out.air_holds = air != outage.cases.end() && air->steady_mg_l >= out.levels.on_mg_l;
    out.without_backup = !outage.backup || outage.backup->holds == Holds::nothing ||
                         !(outage.backup->hours >= kDropBackupHours);
    for (const Check& check : budget.checks) {
        if (check.status == Status::fail) out.failing.push_back(check.id);
    }
    const bool never = out.on_loop || out.gives_water || out.early_life || out.starts_low ||
                       out.too_fast || !out.failing.empty();
    out.verdict = never                ? Status::fail
                  : out.unread         ? Status::unchecked
                  : out.without_backup ? Status::warn
                                       : Status::pass;
    return out;
}

}  // namespace

std::array<double, 3> RiseFit::slopes_at(double hours) const noexcept {
    const double left = std::exp(-kla_per_h * hours);
    return {1 - left, left, (steady_mg_l - start_mg_l) * hours * left};
}

double RiseFit::at(double hours) const noexcept {
    return formulas::risen_mg_l(steady_mg_l, start_mg_l, kla_per_h, hours);
}

std::optional<RiseFit> fit_rise(std::span<const DropPoint> points) noexcept {
    constexpr std::size_t kFewest = 4;
    if (points.size() < kFewest) return std::nullopt;
    const double duration_h = points.back().hours - points.front().hours;
    if (!(duration_h > 0)) return std::nullopt;
    RiseFit fit = rough_rise(points);
    if (!(fit.steady_mg_l > fit.start_mg_l)) return std::nullopt;
    fit.squares = squares_of(fit, points);
    constexpr int kMostSteps = 200;
    constexpr int kMostHalvings = 40;
    for (int i = 0; i < kMostSteps; ++i) {
        const auto step = step_of(fit, points);
        if (!step) return std::nullopt;
        fit.covariance = step->inverse;
        RiseFit tried = fit;
        double share = 1;
        for (int halving = 0; halving < kMostHalvings; ++halving, share /= 2) {
            tried.steady_mg_l = fit.steady_mg_l + share * step->change[0];
            tried.start_mg_l = fit.start_mg_l + share * step->change[1];
            tried.kla_per_h = fit.kla_per_h + share * step->change[2];
            tried.squares = tried.kla_per_h > 0 ? squares_of(tried, points) : HUGE_VAL;
            if (tried.squares < fit.squares) break;
        }
        if (!(tried.squares < fit.squares)) break;
        fit = tried;
    }
    // At the end of what was tried there is no bend to tell a rate by.
    const double turned = fit.kla_per_h * duration_h;
    if (!(turned > 2 * kLeastRate && turned < kMostRate / 2)) return std::nullopt;
    const double variance = fit.squares / (static_cast<double>(points.size()) - 3);
    for (auto& row : fit.covariance) {
        for (double& each : row) each *= variance;
    }
    return fit;
}

namespace {

// What no log bears, whatever it is of.
void refuse_log(const DropTest& test, DropPhase& main, DropResult& out) {
    const std::vector<DropPoint>& points = test.points;
    if (static_cast<double>(points.size()) < kDropFewest) {
        refuse(main, DropRefusal::few_points, static_cast<double>(points.size()));
    }
    for (std::size_t i = 0; i < points.size(); ++i) {
        if (points[i].oxygen_mg_l < points[out.lowest].oxygen_mg_l) out.lowest = i;
        if (i > 0 && !(points[i].hours >= points[i - 1].hours)) {
            refuse(main, DropRefusal::times_run_back, static_cast<double>(i));
        }
    }
}

// Parts a log that times run through; what is given stands, the rest is found.
void part(const DropTest& test, DropResult& out) {
    const std::vector<DropPoint>& points = test.points;
    const std::optional<std::size_t> given_off = point_at(points, test.off_h);
    const std::optional<std::size_t> given_on = point_at(points, test.on_h);
    DropPhase& main = out.off ? *out.off : *out.on;
    if (given_off == points.size() || given_on == points.size()) {
        refuse(main, DropRefusal::few_points, 0);
        return;
    }
    std::vector<double> x;
    for (const DropPoint& point : points) {
        x.push_back(falls_by(test.surface_m3_h / out.water_m3, point.hours - points[0].hours));
    }
    const SwitchSearch search(points, x, given_off, given_on);
    if (!out.off) {
        main = {given_on ? *given_on : search.first_of_rise(), points.size() - 1};
        return;
    }
    const Switches found = search.best();
    if (given_off || given_on) {
        const SwitchSearch free = search.free();
        const Switches best = free.best();
        const auto apart = [](std::size_t a, std::size_t b) { return a > b + 1 || b > a + 1; };
        if (search.cost_of(found) > free.cost_of(best) + kTold &&
            (apart(found.off, best.off) || apart(found.on, best.on))) {
            out.looks_off_h = points[best.off].hours;
            if (best.on < points.size()) out.looks_on_h = points[best.on].hours;
        }
    }
    // What may be of either is of none, but a point of the very time that was given, of both.
    main = {found.off_at_most, std::max(found.on_at_least, found.off_at_most + 1) - 1};
    if (found.on_at_most < points.size()) {
        out.on = DropPhase{found.on_at_most, points.size() - 1};
    }
    if (given_on && points[found.on].hours == *test.on_h) main.last = found.on;
}

}  // namespace

DropResult assess_drop(const DropTest& test) {
    DropResult out;
    out.residuals_mg_l.resize(test.points.size());
    for (const FishGroup& group : test.tank.fish) {
        out.biomass_kg += formulas::biomass_kg(group.count, group.mean_weight_g);
    }
    const bool fish = out.biomass_kg > 0;
    out.water_m3 = formulas::water_m3(test.tank.volume_l, out.biomass_kg, test.tank.coefficients);
    const auto whole_log = temperatures_of(test.points);
    out.temperature_c = whole_log ? whole_log->mean_c : test.tank.water.temperature_c;
    out.levels = levels_of(test.tank, saturation_of(test, out.temperature_c));
    DropPhase& main = (fish ? out.off : out.on).emplace(DropPhase{0, 0});
    refuse_log(test, main, out);
    if (main.refused == DropRefusal::none) part(test, out);
    if (main.refused == DropRefusal::none) {
        take_temperature(test, out);
        out.saturation_mg_l = saturation_of(test, out.temperature_c);
        add_described_air(test.tank, out);
        if (fish) {
            add_model(test, out);
            fit_fall(test, out);
        }
        if (out.on) fit_air(test, out);
        out.residual_sd_mg_l = pooled_scatter(out);
    }
    if (fish && !out.on && !test.points.empty()) add_stop(test, out);
    judge(test, out);
    return out;
}

std::vector<DropSafety> assess_drop_safety(std::span<const System> systems,
                                           std::span<const Backup> shared) {
    const std::vector<TankOutage> outages = assess_outage(systems, shared, 0);
    std::vector<DropSafety> out;  // as assess_outage: of the tanks with fish, in their order
    for (const System& system : systems) {
        const SystemBudget budgets = assess_system(system);
        for (std::size_t i = 0; i < system.tanks.size(); ++i) {
            if (!budgets.tanks[i].reserve) continue;
            out.push_back(safety_of(system, i, budgets.tanks[i], outages[out.size()]));
        }
    }
    return out;
}

std::span<const Constant> droptest_sources() noexcept { return kSources; }

}  // namespace coldtank
