// How far off a grower's measurements usually are, and what a description may say of its own.
#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <string_view>

#include "coldtank/source.hpp"

namespace coldtank {

// What is measured: 90 % of all measurements lie within `error` of the truth, in the unit of the
// key or in percent of what was read. One error of each quantity in a system: the same meter, scale
// and hand read all of it.
enum class Quantity {
    temperature,
    oxygen,
    ph,
    alkalinity,
    tan,
    nitrite,
    nitrate,
    chloride,
    carbon_dioxide,
    chlorine,
    salinity,
    gas_pressure,
    current,
    volume,
    flow,
    exchange,
    count,
    mean_weight,
    condition,
    respiration_factor,
    ration,
    air_flow,
    depth,
    transfer,
    sotr,
    oxygen_flow,
    absorption,
    drop,
    media_area,
    removal,
    bed_area,
    degasser,
    maturity,
    pressure
};

struct Accuracy {
    Quantity quantity;
    // In a description's `accuracy`: "flow_l_min" and "flow_percent"; the same of what is told in
    // percent only.
    std::string_view key;
    std::string_view percent_key;
    bool in_percent;  // the usual error
    Constant error;   // "L/min", or "%"
};

#define COLDTANK_ACCURACY(quantity, unit, in_percent, error, shown, basis, why)                 \
    Accuracy {                                                                                  \
        Quantity::quantity, #quantity unit, #quantity "_percent", in_percent, {                 \
            "usual error of " #quantity, error, (in_percent) ? "%" : (shown), Basis::basis, why \
        }                                                                                       \
    }
inline constexpr std::array kAccuracies{
    COLDTANK_ACCURACY(temperature, "_c", false, 0.2, "degC", judgement, "a checked thermometer"),
    COLDTANK_ACCURACY(oxygen, "_mg_l", false, 0.2, "mg/L", judgement, "a calibrated meter"),
    COLDTANK_ACCURACY(ph, "", false, 0.1, "-", judgement, "a meter in buffers of the week"),
    COLDTANK_ACCURACY(alkalinity, "_mg_l", false, 10, "mg/L", judgement, "a drop of a kit"),
    COLDTANK_ACCURACY(tan, "_mg_l", true, 15, "mg/L", judgement, "a colour card"),
    COLDTANK_ACCURACY(nitrite, "_mg_l", true, 20, "mg/L", judgement, "a colour card"),
    COLDTANK_ACCURACY(nitrate, "_mg_l", true, 20, "mg/L", judgement, "a colour card"),
    COLDTANK_ACCURACY(chloride, "_mg_l", true, 15, "mg/L", judgement, "a kit"),
    COLDTANK_ACCURACY(carbon_dioxide, "_mg_l", true, 20, "mg/L", judgement, "a titration"),
    COLDTANK_ACCURACY(chlorine, "_mg_l", true, 30, "mg/L", judgement, "a colour card"),
    COLDTANK_ACCURACY(salinity, "_g_kg", true, 10, "g/kg", judgement, "a meter"),
    COLDTANK_ACCURACY(gas_pressure, "_percent", true, 1, "%", judgement, "a saturometer"),
    COLDTANK_ACCURACY(current, "_cm_s", true, 20, "cm/s", judgement, "a float and a watch"),
    COLDTANK_ACCURACY(volume, "_l", true, 5, "L", judgement, "a folding rule"),
    COLDTANK_ACCURACY(flow, "_l_min", true, 10, "L/min", judgement, "a bucket and a watch"),
    COLDTANK_ACCURACY(exchange, "_l_day", true, 10, "L/day", judgement, "a bucket and a watch"),
    COLDTANK_ACCURACY(count, "", true, 2, "fish", judgement, "counted by hand"),
    COLDTANK_ACCURACY(mean_weight, "_g", true, 10, "g", judgement, "a net of thirty fish"),
    COLDTANK_ACCURACY(condition, "_percent", true, 10, "%", judgement, "fish are lean or fat"),
    COLDTANK_ACCURACY(respiration_factor, "", true, 10, "-", judgement, "a drop test"),
    COLDTANK_ACCURACY(ration, "_percent", true, 5, "%", judgement, "a kitchen scale"),
    COLDTANK_ACCURACY(air_flow, "_l_min", true, 20, "L/min", judgement, "a pump's label"),
    COLDTANK_ACCURACY(depth, "_m", true, 5, "m", judgement, "a folding rule"),
    COLDTANK_ACCURACY(transfer, "_percent_per_m", true, 20, "percent/m", judgement,
                      "a maker's figure"),
    COLDTANK_ACCURACY(sotr, "_g_h", true, 15, "g/h", judgement, "a data sheet, or a drop test"),
    COLDTANK_ACCURACY(oxygen_flow, "_l_min", true, 10, "L/min", judgement, "a flow meter"),
    COLDTANK_ACCURACY(absorption, "_percent", true, 25, "%", judgement, "a maker's figure"),
    COLDTANK_ACCURACY(drop, "_m", true, 5, "m", judgement, "a folding rule"),
    COLDTANK_ACCURACY(media_area, "_m2", true, 10, "m2", judgement, "a maker's figure"),
    COLDTANK_ACCURACY(removal, "_g_day", true, 15, "g/day", judgement, "two readings of a kit"),
    COLDTANK_ACCURACY(bed_area, "_m2", true, 5, "m2", judgement, "a folding rule"),
    COLDTANK_ACCURACY(degasser, "_percent", true, 20, "%", judgement, "a maker's figure"),
    COLDTANK_ACCURACY(maturity, "_percent", true, 20, "%", judgement, "a guess"),
    COLDTANK_ACCURACY(pressure, "_kpa", false, 1.5, "kPa", judgement, "the weather of a week"),
};
#undef COLDTANK_ACCURACY

// Of an error in the unit of a key: more than twenty times what is usual is no measurement.
constexpr Range error_range(const Accuracy& accuracy) {
    constexpr double kMostTimes = 20;
    constexpr double kAny = 1e6;
    return {0, accuracy.in_percent ? kAny : kMostTimes * *accuracy.error.value};
}
inline constexpr Range kErrorPercentRange{0, 100};

constexpr const Accuracy& accuracy_of(Quantity quantity) {
    return kAccuracies[static_cast<std::size_t>(quantity)];
}

// An error that a description tells.
struct OwnAccuracy {
    Quantity quantity;
    double error;
    bool in_percent;
};

}  // namespace coldtank
