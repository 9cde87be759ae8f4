#include "sample.hpp"

#include <algorithm>

#include "numbers.hpp"

namespace coldtank {
namespace {

std::uint64_t mixed(std::uint64_t word) noexcept {
    word += 0x9e3779b97f4a7c15;
    word = (word ^ (word >> 30)) * 0xbf58476d1ce4e5b9;
    word = (word ^ (word >> 27)) * 0x94d049bb133111eb;
    return word ^ (word >> 31);
}

template <std::size_t size>
double polynomial(const double (&coefficients)[size], double x) noexcept {
    double sum = 0;
    for (std::size_t i = size; i-- > 0;) sum = sum * x + coefficients[i];
    return sum;
}

}  // namespace

double uniform_draw(std::uint64_t seed, std::uint64_t matrix, std::uint64_t row,
                    std::uint64_t input, std::uint64_t attempt) noexcept {
    std::uint64_t word = mixed(seed);
    for (const std::uint64_t part : {matrix, row, input, attempt}) word = mixed(word ^ part);
    constexpr int kLeft = 12;  // 52 bits, and a half: never 0 or 1
    constexpr double kHalf = 0.5;
    return std::ldexp(static_cast<double>(word >> kLeft) + kHalf, kLeft - 64);
}

double normal_quantile(double share) noexcept {
    constexpr double kA[] = {3.3871328727963666080e0, 1.3314166789178437745e2,
                             1.9715909503065514427e3, 1.3731693765509461125e4,
                             4.5921953931549871457e4, 6.7265770927008700853e4,
                             3.3430575583588128105e4, 2.5090809287301226727e3};
    constexpr double kB[] = {1.0,
                             4.2313330701600911252e1,
                             6.8718700749205790830e2,
                             5.3941960214247511077e3,
                             2.1213794301586595867e4,
                             3.9307895800092710610e4,
                             2.8729085735721942674e4,
                             5.2264952788528545610e3};
    constexpr double kC[] = {1.42343711074968357734e0,  4.63033784615654529590e0,
                             5.76949722146069140550e0,  3.64784832476320460504e0,
                             1.27045825245236838258e0,  2.41780725177450611770e-1,
                             2.27238449892691845833e-2, 7.74545014278341407640e-4};
    constexpr double kD[] = {1.0,
                             2.05319162663775882187e0,
                             1.67638483018380384940e0,
                             6.89767334985100004550e-1,
                             1.48103976427480074590e-1,
                             1.51986665636164571966e-2,
                             5.47593808499534494600e-4,
                             1.05075007164441684324e-9};
    constexpr double kE[] = {6.65790464350110377720e0,  5.46378491116411436990e0,
                             1.78482653991729133580e0,  2.96560571828504891230e-1,
                             2.65321895265761230930e-2, 1.24266094738807843860e-3,
                             2.71155556874348757815e-5, 2.01033439929228813265e-7};
    constexpr double kF[] = {1.0,
                             5.99832206555887937690e-1,
                             1.36929880922735805310e-1,
                             1.48753612908506148525e-2,
                             7.86869131145613259100e-4,
                             1.84631831751005468180e-5,
                             1.42151175831644588870e-7,
                             2.04426310338993978564e-15};
    if (!(share > 0 && share < 1)) return kNotANumber;
    constexpr double kMiddle = 0.5, kCentral = 0.425, kNear = 1.6, kFar = 5;
    const double from_middle = share - kMiddle;
    if (std::abs(from_middle) <= kCentral) {
        const double r = kCentral * kCentral - from_middle * from_middle;
        return from_middle * polynomial(kA, r) / polynomial(kB, r);
    }
    double r = std::sqrt(-std::log(from_middle < 0 ? share : 1 - share));
    if (r <= kFar) {
        r -= kNear;
        r = polynomial(kC, r) / polynomial(kD, r);
    } else {
        r -= kFar;
        r = polynomial(kE, r) / polynomial(kF, r);
    }
    return from_middle < 0 ? -r : r;
}

double quantile_of(std::span<const double> sorted, double share) noexcept {
    const double place = share * static_cast<double>(sorted.size() - 1);
    const auto below = static_cast<std::size_t>(place);
    const double low = sorted[below];
    const double high = sorted[std::min(below + 1, sorted.size() - 1)];
    const double part = place - std::floor(place);
    return part == 0 || low == high ? low : low + part * (high - low);
}

void FirstOrderSums::add_row(std::span<const double> at_a, std::span<const double> at_b) {
    for (std::size_t o = 0; o < all_.size(); ++o) {
        All& all = all_[o];
        ++all.rows;
        for (const double value : {at_a[o] - shift_[o], at_b[o] - shift_[o]}) {
            if (!std::isfinite(value)) continue;
            ++all.n;
            all.sum += value;
            all.squares += value * value;
        }
    }
}

void FirstOrderSums::add_mixed(std::size_t input, std::span<const double> at_a,
                               std::span<const double> at_b, std::span<const double> at_ab) {
    for (std::size_t o = 0; o < all_.size(); ++o) {
        const double b = at_b[o] - shift_[o];
        const double d = at_ab[o] - at_a[o];
        if (!std::isfinite(b) || !std::isfinite(d)) continue;
        Sums& sums = sums_[input * all_.size() + o];
        ++sums.n;
        sums.bd += b * d;
        sums.d += d;
        sums.bbdd += b * b * d * d;
        sums.bdd += b * d * d;
        sums.dd += d * d;
    }
}

std::optional<FirstOrder> FirstOrderSums::of(std::size_t input, std::size_t output) const {
    const All& all = all_[output];
    const Sums& sums = sums_[input * all_.size() + output];
    constexpr double kMostWithout = 0.1;
    if (sums.n < 2 || sums.n < (1 - kMostWithout) * all.rows) return std::nullopt;
    const double mean = all.sum / all.n;
    const double variance = all.squares / all.n - mean * mean;
    constexpr double kNoise = 1e-14;
    if (!(variance > kNoise * all.squares / all.n)) return std::nullopt;
    const double part = (sums.bd - mean * sums.d) / sums.n;
    const double square = (sums.bbdd - 2 * mean * sums.bdd + mean * mean * sums.dd) / sums.n;
    const double of_part = not_below_zero(square - part * part);
    return FirstOrder{part / variance, std::sqrt(of_part / sums.n) / variance};
}

}  // namespace coldtank
