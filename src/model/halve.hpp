// Inside the model: halving. An answer holds at a low end and not at a high one; it finds where it
// ends. (Remedies look first where their figures would meet the limit: solver.cpp.)
#pragma once

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <type_traits>

namespace coldtank {

// The last whole number at which `holds`, between one where it does and one where it does not.
template <class Number, class Holds>
Number last_whole(Number low, Number high, Holds holds) {
    while (high - low > 1) {
        Number middle = low + (high - low) / 2;
        if constexpr (std::is_floating_point_v<Number>) middle = std::floor(middle);
        (holds(middle) ? low : high) = middle;
    }
    return low;
}

// The same of a real number, after so many halvings.
template <class Holds>
double last_real(double low, double high, int halvings, Holds holds) {
    for (int i = 0; i < halvings; ++i) {
        const double middle = low + (high - low) / 2;
        (holds(middle) ? low : high) = middle;
    }
    return low;
}

// Two places and the values there, of which one is below 0 and the other is not.
struct Bracket {
    double from;
    double to;
    double at_from;
    double at_to;
};

// Where a value crosses 0 within: where it is within `met` of 0, or to the last digits of the
// larger end where it jumps. The line through both ends is tried, an end that stays again counting
// half (the Illinois method), and the middle wherever twice that did not halve what is left. None
// where the value does not exist.
template <class Value>
std::optional<double> root_in(Bracket within, double met, Value value) {
    const double narrow = 4 * std::numeric_limits<double>::epsilon() *
                          std::max(std::abs(within.from), std::abs(within.to));
    double halved = std::abs(within.to - within.from) / 2;
    const double* stays = nullptr;
    for (int i = 1;; ++i) {
        const double width = within.to - within.from;
        const double middle = within.from + width / 2;
        if (std::abs(width) <= narrow) return middle;
        double next = within.from - within.at_from * width / (within.at_to - within.at_from);
        if (i % 3 == 0) {
            if (std::abs(width) > halved) next = middle;
            halved = std::abs(width) / 2;
        }
        if (!((next - within.from) * (within.to - next) > 0)) next = middle;
        const std::optional<double> at = value(next);
        if (!at) return std::nullopt;
        if (std::abs(*at) <= met) return next;
        if ((*at < 0) == (within.at_from < 0)) {
            within.from = next;
            within.at_from = *at;
            if (stays == &within.at_to) within.at_to /= 2;
            stays = &within.at_to;
        } else {
            within.to = next;
            within.at_to = *at;
            if (stays == &within.at_from) within.at_from /= 2;
            stays = &within.at_from;
        }
    }
}

}  // namespace coldtank
