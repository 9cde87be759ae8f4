// Where a number of the models comes from, and what it may be.
#pragma once

#include <limits>
#include <optional>
#include <string_view>

namespace coldtank {

// published: the source is named. common_practice: a fact of the trade with no source.
// from_memory: a published value given from memory. judgement: our own, chosen on the safe side.
// given: the user's own.
enum class Basis { published, common_practice, from_memory, judgement, given };

std::string_view name_of(Basis basis) noexcept;  // "common practice"

// One coefficient, limit or default, and why it has that value. A published fit is one Constant
// without a value: its coefficients stand in an array beside the formula, digits as printed.
struct Constant {
    std::string_view name;
    std::optional<double> value;
    std::string_view unit;
    Basis basis;
    std::string_view source;

    // NaN where there is no value.
    constexpr operator double() const {
        return value ? *value : std::numeric_limits<double>::quiet_NaN();
    }
};

// The one place where the validity of a fit, or what a description may hold, is written down: both
// ends are in it, but for a low end that is `above`.
struct Range {
    double low;
    double high;
    bool above = false;
    constexpr bool holds(double x) const {  // false for NaN
        return (above ? x > low : x >= low) && x <= high;
    }
};

}  // namespace coldtank
