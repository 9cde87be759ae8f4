#include "coldtank/droptest.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "coldtank/course.hpp"
#include "coldtank/trend.hpp"
#include "formulas.hpp"
#include "judgement.hpp"

namespace coldtank {
namespace {

constexpr Constant kMeterStep{"scatter of a meter's own steps", 0.003, "mg/L", Basis::judgement,
                              "0.01 mg/L over the root of 12"};
constexpr std::array kSources{kDropFewest, kDropChange, kDropScatter, kDropTemperature, kDropLeast,
                              kDropStop,   kDropOn,     kDropStart,   kDropMinutes,     kMeterStep};

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
    double squares_about_mean() const { return larger_of(0, yy - y * y / count); }
    double squares() const {
        return larger_of(0, squares_about_mean() - slope() * slope() * spread());
    }
};

// Rates that are tried, over the whole time, each so many times the one before: of a search that
// ends there, and of one that goes on.
constexpr double kLeastRate = 1e-2;
constexpr double kRateStep = 1.02;
constexpr double kRoughRateStep = 1.1;

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
    SwitchSearch(const std::vector<DropPoint>& points, const std::vector<double>& falls_by,
                 std::optional<std::size_t> off, std::optional<std::size_t> on)
        : size_(points.size()), off_(off), on_(on) {
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

private:
    static constexpr std::size_t kMostTried = 500;
    static constexpr std::size_t kLeastOff = 3;
    static constexpr std::size_t kLeastOn = 4;
    static constexpr double kPricePause = 2;  // quantities that a part adds
    static constexpr double kPriceRise = 4;
    static constexpr double kDoubt = 9;  // 99 % of chi square for the two

    struct Among {
        std::size_t from, to;
    };

    // Of the rise from each point on, over all rates.
    void add_rises(const std::vector<DropPoint>& points, double mean) {
        rises_.assign(size_ + 1, HUGE_VAL);
        rises_[size_] = 0;
        const double duration = points.back().hours - points.front().hours;
        double least_step = duration;
        for (std::size_t i = 1; i < size_; ++i) {
            const double step = points[i].hours - points[i - 1].hours;
            if (step > 0) least_step = std::min(least_step, step);
        }
        if (!(duration > 0)) return;
        for (double rate = kLeastRate / duration; rate < 2 / least_step; rate *= kRateStep) {
            Sums sums;
            for (std::size_t i = size_; i-- > 0;) {
                if (i + 1 < size_) {
                    sums = sums.scaled(std::exp(-rate * (points[i + 1].hours - points[i].hours)));
                }
                sums.add(1, points[i].oxygen_mg_l - mean);
                if (size_ - i < kLeastOn || !(sums.slope() < 0)) continue;
                rises_[i] = std::min(rises_[i], sums.squares());
            }
        }
    }

    double cost(std::size_t off, std::size_t on) const {
        if (on < off + kLeastOff || (off > 0 && off < 2)) return HUGE_VAL;
        const Sums falling = sums_[on].without(sums_[off]);
        if (!(falling.slope() < 0)) return HUGE_VAL;
        const double squares =
            falling.squares() + rises_[on] + (off > 0 ? sums_[off].squares_about_mean() : 0);
        const auto count = static_cast<double>(size_);
        const double price = (off > 0 ? kPricePause : 0) + (on < size_ ? kPriceRise : 0);
        return count * std::log(larger_of(squares / count, kMeterStep * kMeterStep)) +
               price * std::log(count);
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

    // With the switches that the points as well may be of, each beside the other as it was found.
    Switches doubted(Switches found) const {
        const double bearable = cost(found.off, found.on) + kDoubt;
        found.off_at_most = found.off;
        found.on_at_least = found.on_at_most = found.on;
        if (std::isinf(bearable)) return found;  // none was found
        for (int turn = 0; turn < 2; ++turn) {
            for (std::size_t off = found.off; !off_ && off > 0 && off < found.on; ++off) {
                for (std::size_t on = found.on_at_least; on <= found.on_at_most; ++on) {
                    if (cost(off, on) <= bearable) found.off_at_most = off;
                }
            }
            for (std::size_t on = found.off; !on_ && found.on < size_ && on < size_; ++on) {
                for (std::size_t off = found.off; off <= found.off_at_most; ++off) {
                    if (cost(off, on) > bearable) continue;
                    found.on_at_least = std::min(found.on_at_least, on);
                    found.on_at_most = std::max(found.on_at_most, on);
                }
            }
        }
        return found;
    }

    std::size_t size_;
    std::optional<std::size_t> off_, on_;
    std::vector<Sums> sums_;     // of the points before each
    std::vector<double> rises_;  // squares of the rise from each to the end
};

// The first point at or after a time.
std::optional<std::size_t> point_at(const std::vector<DropPoint>& points,
                                    std::optional<double> hours) {
    if (!hours) return std::nullopt;
    const auto at = std::find_if(points.begin(), points.end(),
                                 [&](const DropPoint& point) { return point.hours >= *hours; });
    return static_cast<std::size_t>(at - points.begin());
}

Estimate estimate_of(double value, double standard_error, std::size_t degrees_of_freedom) {
    const double half = standard_error == 0 ? 0 : student_t_95(degrees_of_freedom) * standard_error;
    return {value, standard_error, value - half, value + half};
}
Estimate scaled(const Estimate& of, double by) {
    return {of.value * by, of.standard_error * by, of.low * by, of.high * by};
}

void refuse(DropPhase& phase, DropRefusal why, double by) {
    if (phase.refused != DropRefusal::none) return;
    phase.refused = why;
    phase.refused_by = by;
}

// What its points alone forbid, whatever is fitted.
void look_at(const DropTest& test, bool fish, DropPhase& phase) {
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
    if (fish && !(least_mg_l >= kDropLeast)) refuse(phase, DropRefusal::low_oxygen, least_mg_l);
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
    look_at(test, true, phase);
    if (phase.refused == DropRefusal::few_points) return;
    const double rate_per_h = test.surface_m3_h / out.water_m3;
    const double start_h = test.points[phase.first].hours;
    std::vector<TrendPoint> line_points;  // of what a day is to a trend, x is here
    for (std::size_t i = phase.first; i <= phase.last; ++i) {
        line_points.push_back(
            {falls_by(rate_per_h, test.points[i].hours - start_h), test.points[i].oxygen_mg_l});
    }
    const auto line = fit_line(line_points);
    if (!line) {
        refuse(phase, DropRefusal::small_change, 0);
        return;
    }
    phase.residual_sd_mg_l = line->residual_sd;
    const double first_mg_l = line->at(0);
    out.fall_mg_l = first_mg_l - line->at(line_points.back().days);
    look_at_change(out.fall_mg_l, phase);
    for (std::size_t i = 0; i < line_points.size(); ++i) {
        out.residuals_mg_l[phase.first + i] = line_points[i].value - line->at(line_points[i].days);
    }
    if (phase.refused != DropRefusal::none || !out.model_mg_kg_h) return;
    const double g_h = formulas::breathed_g_h(out.water_m3, rate_per_h, out.saturation_mg_l,
                                              first_mg_l, line->slope_per_day);
    // k C0 + slope, of the mean and the slope, which are independent.
    const double lever = 1 - rate_per_h * line->mean_days;
    const double mean_error =
        rate_per_h * line->residual_sd / std::sqrt(static_cast<double>(line->points));
    const double error_g_h = out.water_m3 * std::hypot(mean_error, lever * line->slope_error);
    const Estimate breathed = estimate_of(g_h, error_g_h, line->points - 2);
    constexpr double kMgPerG = 1000;
    out.respiration_mg_kg_h = scaled(breathed, kMgPerG / out.biomass_kg);
    out.respiration_factor = scaled(*out.respiration_mg_kg_h, 1 / *out.model_mg_kg_h);
}

// ---- on: dC/dt = kLa (C* - C). With fish C* is the steady state under their load.

void fit_air(const DropTest& test, DropResult& out) {
    DropPhase& phase = *out.on;
    look_at(test, out.biomass_kg > 0, phase);
    if (phase.refused == DropRefusal::few_points) return;
    const std::span<const DropPoint> points(test.points.data() + phase.first,
                                            phase.last - phase.first + 1);
    const auto fit = fit_rise(points);
    if (!fit) {
        refuse(phase, DropRefusal::not_levelled, 0);
        return;
    }
    const std::size_t free = points.size() - 3;
    phase.residual_sd_mg_l = std::sqrt(fit->squares / static_cast<double>(free));
    const Estimate rate = estimate_of(fit->kla_per_h, std::sqrt(fit->covariance[2][2]), free);
    const double flow_per_h = formulas::flow_m3_h(test.flow_l_min) / out.water_m3;
    if (!(rate.low > flow_per_h)) refuse(phase, DropRefusal::not_levelled, rate.low);
    for (std::size_t i = 0; i < points.size(); ++i) {
        const double residual =
            points[i].oxygen_mg_l - fit->at(points[i].hours - points.front().hours);
        // The point of the switch itself may be the last of the fall.
        if (!out.residuals_mg_l[phase.first + i]) out.residuals_mg_l[phase.first + i] = residual;
    }
    if (phase.refused != DropRefusal::none) return;
    out.steady_mg_l = fit->steady_mg_l;
    const Coefficients& k = test.tank.coefficients;
    out.kla_per_h = Estimate{rate.value - flow_per_h, rate.standard_error, rate.low - flow_per_h,
                             rate.high - flow_per_h};
    out.transfer_m3_h = scaled(*out.kla_per_h, out.water_m3);
    out.sotr_g_h =
        scaled(*out.transfer_m3_h, formulas::sotr_of_transfer_g_h(1.0, out.temperature_c, k));
    if (out.biomass_kg > 0 && test.flow_l_min == 0) {
        constexpr double kMgPerG = 1000;
        out.breathed_on_mg_kg_h = kMgPerG / out.biomass_kg * out.transfer_m3_h->value *
                                  (k.beta * out.saturation_mg_l - fit->steady_mg_l);
    }
}

// What the fish of the model breathe, and those of the description.
void add_model(const DropTest& test, DropResult& out) {
    const Coefficients& k = test.tank.coefficients;
    double model_mg_h = 0;
    double described_mg_h = 0;
    for (const FishGroup& group : test.tank.fish) {
        if (group.count == 0) continue;
        const double kg = formulas::biomass_kg(group.count, group.mean_weight_g);
        const double mg_h =
            kg * respiration_mg_kg_h(
                     {.temperature_c = out.temperature_c, .weight_g = group.mean_weight_g}, k);
        model_mg_h += mg_h;
        described_mg_h += group.respiration_factor * mg_h;
    }
    const double model = fasting_share(test.fasted_h, k) * model_mg_h / out.biomass_kg;
    if (!(model > 0)) return;
    out.model_mg_kg_h = model;
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

// The mean of those that were read with the oxygen; they change respiration and saturation.
void take_temperature(const DropTest& test, DropResult& out) {
    const std::size_t first = (out.off ? out.off : out.on)->first;
    const std::size_t last = (out.on ? out.on : out.off)->last;
    double warmest = -HUGE_VAL;
    double coldest = HUGE_VAL;
    double sum_c = 0;
    double read = 0;
    for (std::size_t i = first; i <= last; ++i) {
        if (!test.points[i].temperature_c) continue;
        warmest = larger_of(warmest, *test.points[i].temperature_c);
        coldest = smaller_of(coldest, *test.points[i].temperature_c);
        sum_c += *test.points[i].temperature_c;
        read += 1;
    }
    if (read == 0) return;
    out.temperature_c = sum_c / read;
    for (std::optional<DropPhase>* phase : {&out.off, &out.on}) {
        if (*phase && !(warmest - coldest <= kDropTemperature)) {
            refuse(**phase, DropRefusal::temperature, warmest - coldest);
        }
    }
}

void judge(const DropTest& test, DropResult& out) {
    const bool fish = out.biomass_kg > 0;
    const DropPhase& main = fish ? *out.off : *out.on;
    out.refused = main.refused;
    out.refused_by = main.refused_by;
    const auto refused = [](const std::optional<DropPhase>& phase) {
        return phase && phase->refused != DropRefusal::none;
    };
    out.verdict = refused(out.off) || refused(out.on) ? Status::unchecked : Status::pass;
    if (!fish || test.points.empty()) return;
    const double lowest_mg_l = test.points[out.lowest].oxygen_mg_l;
    const bool more = out.respiration_factor && out.respiration_factor->low > out.described_factor;
    const bool less = out.sotr_g_h && out.sotr_g_h->high < out.described_sotr_g_h;
    if (more || less || lowest_mg_l < kDropStop) out.verdict = Status::warn;
    if (lowest_mg_l < kDropLeast) out.verdict = Status::fail;
}

// ---- before a test

DropSafety safety_of(const Tank& tank, const TankBudget& budget, const TankOutage& outage) {
    DropSafety out;
    out.tank = tank.name;
    out.starts_from = outage.starts_from;
    out.unread = outage.starts_from != StartsFrom::measured || !outage.read_h ||
                 *outage.read_h > kFreshOxygenH;
    // What nobody has read may be as much as the water can hold: no test where that is too little.
    out.oxygen_now_mg_l = out.unread ? budget.oxygen.saturation_peak_mg_l
                                     : smaller_of(outage.oxygen_now_mg_l,
                                                  tank.readings.oxygen_mg_l.value_or(HUGE_VAL));
    const Course stopped{budget.water_m3, -outage.demand_g_h};
    out.minutes_to_on = stopped.minutes_down_to(out.oxygen_now_mg_l, kDropOn);
    out.minutes_to_stop = stopped.minutes_down_to(out.oxygen_now_mg_l, kDropStop);
    out.on_loop = tank.loop.has_value();
    out.starts_low = !(out.oxygen_now_mg_l >= kDropStart);
    out.too_fast = out.minutes_to_stop && !(*out.minutes_to_stop >= kDropMinutes);
    out.without_backup = !outage.backup || outage.backup->holds == Holds::nothing;
    for (const Check& check : budget.checks) {
        if (check.status == Status::fail) out.failing.push_back(check.id);
    }
    const bool never = out.on_loop || out.starts_low || out.too_fast || !out.failing.empty();
    out.verdict = never                ? Status::fail
                  : out.unread         ? Status::unchecked
                  : out.without_backup ? Status::warn
                                       : Status::pass;
    return out;
}

}  // namespace

std::string_view name_of(DropRefusal refusal) noexcept {
    constexpr std::array<std::string_view, 8> names{"none",       "times_run_back", "few_points",
                                                    "low_oxygen", "temperature",    "small_change",
                                                    "scatter",    "not_levelled"};
    return names[static_cast<std::size_t>(refusal)];
}

double RiseFit::at(double hours) const noexcept {
    return formulas::risen_mg_l(steady_mg_l, start_mg_l, kla_per_h, hours);
}

std::optional<RiseFit> fit_rise(std::span<const DropPoint> points) noexcept {
    constexpr std::size_t kFewest = 4;
    if (points.size() < kFewest) return std::nullopt;
    const double first_h = points.front().hours;
    const double duration_h = points.back().hours - first_h;
    if (!(duration_h > 0)) return std::nullopt;
    // The best of many rates, of which each leaves a straight line: oxygen against e^(-kLa t).
    constexpr double kMostRate = 1e3;
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
    if (!(fit.steady_mg_l > fit.start_mg_l)) return std::nullopt;
    const auto squares_of = [&](const RiseFit& tried) {
        double squares = 0;
        for (const DropPoint& point : points) {
            const double off = point.oxygen_mg_l - tried.at(point.hours - first_h);
            squares += off * off;
        }
        return squares;
    };
    fit.squares = squares_of(fit);
    constexpr int kMostSteps = 200;
    constexpr int kMostHalvings = 40;
    constexpr double kStill = 1e-13;  // of a change, over the value
    for (int step = 0; step < kMostSteps; ++step) {
        Matrix normal{};
        Vector toward{};
        for (const DropPoint& point : points) {
            const double t = point.hours - first_h;
            const double left = std::exp(-fit.kla_per_h * t);
            const Vector slopes{1 - left, left, (fit.steady_mg_l - fit.start_mg_l) * t * left};
            const double off = point.oxygen_mg_l - fit.at(t);
            for (std::size_t i = 0; i < 3; ++i) {
                toward[i] += slopes[i] * off;
                for (std::size_t j = 0; j < 3; ++j) normal[i][j] += slopes[i] * slopes[j];
            }
        }
        const auto inverse = inverse_of(normal);
        if (!inverse) return std::nullopt;
        fit.covariance = *inverse;
        Vector change{};
        for (std::size_t i = 0; i < 3; ++i) {
            for (std::size_t j = 0; j < 3; ++j) change[i] += (*inverse)[i][j] * toward[j];
        }
        bool better = false;
        double share = 1;
        for (int halving = 0; halving < kMostHalvings && !better; ++halving, share /= 2) {
            RiseFit tried = fit;
            tried.steady_mg_l += share * change[0];
            tried.start_mg_l += share * change[1];
            tried.kla_per_h += share * change[2];
            tried.squares = tried.kla_per_h > 0 ? squares_of(tried) : HUGE_VAL;
            if (!(tried.squares < fit.squares)) continue;
            better = true;
            fit = tried;
        }
        const double moved = std::abs(share * change[2]);
        if (!better || moved <= kStill * fit.kla_per_h) break;
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

DropResult assess_drop(const DropTest& test) {
    const Coefficients& k = test.tank.coefficients;
    DropResult out;
    out.residuals_mg_l.resize(test.points.size());
    for (const FishGroup& group : test.tank.fish) {
        out.biomass_kg += formulas::biomass_kg(group.count, group.mean_weight_g);
    }
    const bool fish = out.biomass_kg > 0;
    out.water_m3 = formulas::water_m3(test.tank.volume_l, out.biomass_kg, k);
    out.temperature_c = test.tank.water.temperature_c;
    DropPhase& main = (fish ? out.off : out.on).emplace(DropPhase{0, 0});
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
    const std::optional<std::size_t> given_off = point_at(points, test.off_h);
    const std::optional<std::size_t> given_on = point_at(points, test.on_h);
    if (given_off == points.size() || given_on == points.size()) {
        refuse(main, DropRefusal::few_points, 0);
    }
    if (main.refused != DropRefusal::none) {
        judge(test, out);
        return out;
    }
    if (fish) {
        std::vector<double> x;
        for (const DropPoint& point : points) {
            x.push_back(falls_by(test.surface_m3_h / out.water_m3, point.hours - points[0].hours));
        }
        const Switches found = SwitchSearch(points, x, given_off, given_on).best();
        // What may be of either is of none, but a point of the very time that was given, of both.
        main = {found.off_at_most, std::max(found.on_at_least, found.off_at_most + 1) - 1};
        if (found.on_at_most < points.size()) {
            out.on = DropPhase{found.on_at_most, points.size() - 1};
        }
        if (given_on && points[found.on].hours == *test.on_h) main.last = found.on;
    } else {
        main = {given_on.value_or(0), points.size() - 1};
    }
    take_temperature(test, out);
    out.saturation_mg_l = oxygen_saturation_mg_l({.temperature_c = out.temperature_c,
                                                  .salinity_g_kg = test.tank.water.salinity_g_kg,
                                                  .pressure_kpa = test.pressure_kpa});
    if (fish) {
        add_model(test, out);
        fit_fall(test, out);
    }
    add_described_air(test.tank, out);
    if (out.on) fit_air(test, out);
    double squares = 0;
    double free = 0;
    const auto add_scatter = [&](const std::optional<DropPhase>& phase, double parameters) {
        if (!phase || phase->residual_sd_mg_l == 0) return;
        const double left = static_cast<double>(phase->last - phase->first + 1) - parameters;
        squares += left * phase->residual_sd_mg_l * phase->residual_sd_mg_l;
        free += left;
    };
    add_scatter(out.off, 2);
    add_scatter(out.on, 3);
    if (free > 0) out.residual_sd_mg_l = std::sqrt(squares / free);
    judge(test, out);
    return out;
}

std::vector<DropSafety> assess_drop_safety(std::span<const System> systems,
                                           std::span<const Backup> shared) {
    const std::vector<TankOutage> outages = assess_outage(systems, shared, 0);
    std::vector<DropSafety> out;
    for (const System& system : systems) {
        const SystemBudget budgets = assess_system(system);
        for (std::size_t i = 0; i < system.tanks.size(); ++i) {
            if (!budgets.tanks[i].reserve) continue;
            out.push_back(safety_of(system.tanks[i], budgets.tanks[i], outages[out.size()]));
        }
    }
    return out;
}

std::span<const Constant> droptest_sources() noexcept { return kSources; }

}  // namespace coldtank
