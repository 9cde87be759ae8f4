// Inside the model: small rules for numbers that may not be there.
#pragma once

#include <cfloat>
#include <cmath>
#include <limits>
#include <optional>

namespace coldtank {

static_assert(FLT_EVAL_METHOD == 0,
              "doubles with more digits than doubles have; on 32-bit x86: -msse2 -mfpmath=sse");

inline constexpr double kNotANumber = std::numeric_limits<double>::quiet_NaN();

// The larger and the smaller of two; NaN where either is (those of the standard library hide one).
inline double larger_of(double a, double b) {
    return std::isnan(a) || std::isnan(b) ? kNotANumber : a < b ? b : a;
}
inline double smaller_of(double a, double b) {
    return std::isnan(a) || std::isnan(b) ? kNotANumber : b < a ? b : a;
}
inline double power(double base, double exponent) { return std::pow(base, exponent); }

inline double not_below_zero(double value) { return larger_of(0, value); }

inline std::optional<double> not_below_zero(std::optional<double> value) {
    if (value) value = not_below_zero(*value);
    return value;
}

// The larger of two that may not exist.
inline std::optional<double> larger_of(std::optional<double> a, std::optional<double> b) {
    if (!a || !b) return a ? a : b;
    return larger_of(*a, *b);
}

inline std::optional<double> if_number(double value) {
    return std::isnan(value) ? std::nullopt : std::optional{value};
}

}  // namespace coldtank
