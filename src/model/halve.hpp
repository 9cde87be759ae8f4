// Inside the model: halving. An answer holds at a low end and not at a high one; it finds where it
// ends. (Remedies look first where their figures would meet the limit: solver.cpp.)
#pragma once

#include <cmath>
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

}  // namespace coldtank
