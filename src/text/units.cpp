#include "text/units.hpp"

#include <fmt/core.h>

#include <array>
#include <cmath>

#include "text/text.hpp"

namespace coldtank::io {
namespace {

struct Shown {
    std::string_view metric;
    std::string_view us;
    double factor;  // shown = factor * base + offset
    double offset = 0;
};

// In the order of Measure.
constexpr std::array kShown{
    Shown{"degC", "degF", 1.8, 32},
    Shown{"degC", "degF", 1.8},
    Shown{"L", "gal", 1 / kGallonUsL},
    Shown{"L/min", "gal/min", 1 / kGallonUsL},
    Shown{"L/min", "ft3/min", 1 / kCubicFootL},
    Shown{"L/min", "ft3/h", 60 / kCubicFootL},
    Shown{"kg", "lb", 1000 / kPoundG},
    Shown{"g", "oz", 1 / kOunceG},
    Shown{"g/day", "oz/day", 1 / kOunceG},
    Shown{"cm", "in", 1 / (100 * kInchM)},
    Shown{"m", "ft", 1 / kFootM},
    Shown{"kPa", "inHg", 1 / kInchOfMercuryKpa},
    Shown{"kg/m3", "lb/ft3", 1000 / kPoundG* kFootM* kFootM* kFootM},
    Shown{"cm/s", "ft/s", 0.01 / kFootM},
    Shown{"g/h", "oz/h", 1 / kOunceG},
    Shown{"g", "oz", 1 / kOunceG},
    Shown{"m2", "ft2", 1 / (kFootM * kFootM)},
    Shown{"g/m2/day", "oz/ft2/day", kFootM* kFootM / kOunceG},
};

const Shown& shown(Measure measure) { return kShown[static_cast<std::size_t>(measure)]; }

}  // namespace

std::string three_digits(double value, Safe side) {
    if (value == 0) return "0";
    const double step = std::pow(10, std::floor(std::log10(std::abs(value))) - 2);
    const double steps = value / step;
    // A step that is there already is not taken again for a rounding error.
    const double whole = std::round(steps);
    const double safe = std::abs(steps - whole) < 1e-9 ? whole
                        : side == Safe::down           ? std::floor(steps)
                                                       : std::ceil(steps);
    return figure(safe * step);
}

double Display::value(Measure measure, double base) const {
    if (units_ == Units::metric) return base;
    return shown(measure).factor * base + shown(measure).offset;
}

std::string_view Display::unit(Measure measure) const {
    return units_ == Units::metric ? shown(measure).metric : shown(measure).us;
}

std::string Display::with_unit(Measure measure, double base) const {
    return fmt::format("{} {}", bare(measure, base), unit(measure));
}

std::string Display::bare(Measure measure, double base) const {
    const double shown_value = value(measure, base);
    const bool temperature =
        measure == Measure::temperature_c || measure == Measure::temperature_difference_c;
    if (temperature && units_ == Units::us) return figure(shown_value, 1);
    if (temperature || measure == Measure::pressure_kpa) return figure(shown_value, 2);
    return figure(shown_value);
}

std::string Display::rounded_up(Measure measure, double base) const {
    return three_digits(value(measure, base), Safe::up);
}

std::string Display::safe(Measure measure, double base, Safe side) const {
    if (units_ == Units::metric) return exact(base);
    constexpr int kDecimals = 2;  // as the finest step
    constexpr double kSame = 1e-9;
    const double shown_value = value(measure, base);
    const double hundreds = 100 * shown_value;
    return std::abs(hundreds - std::round(hundreds)) < kSame * std::max(1.0, std::abs(hundreds))
               ? figure(shown_value, kDecimals)
               : three_digits(shown_value, side);
}

}  // namespace coldtank::io
