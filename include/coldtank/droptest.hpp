// A drop test: air and flow off for a while, then the air on again, with a meter in the tank. What
// the fish breathe and what the air brings, by it; and whether a tank bears such a test.
#pragma once

#include <array>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "coldtank/outage.hpp"

namespace coldtank {

struct DropPoint {
    double hours;
    double oxygen_mg_l;
    std::optional<double> temperature_c = {};
};

// C = C* - (C* - C0) e^(-kLa t), t from the first point, by least squares (Gauss-Newton with
// halving).
//   points: in order of time
// None for fewer than four different times, and where no curve bends as they do.
// Checked: tests/reference/asymptotic_*.csv (published fits), scipy (tests/droptest.py)
struct RiseFit {
    double steady_mg_l;  // C*
    double start_mg_l;   // C0
    double kla_per_h;
    double squares;                                     // sum of the squared residuals
    std::array<std::array<double, 3>, 3> covariance{};  // in this order
    double at(double hours) const noexcept;             // from the first point
    // How the curve there moves with each of the three.
    std::array<double, 3> slopes_at(double hours) const noexcept;
};
std::optional<RiseFit> fit_rise(std::span<const DropPoint> points) noexcept;

// With its 95 % band, by Student's t.
struct Estimate {
    double value;
    double standard_error;
    double low;
    double high;
};

// What was tested. Where neither switch is given it is found: the log may begin with the air on,
// and end without it.
struct DropTest {
    std::vector<DropPoint> points;
    std::optional<double> off_h = {};  // when air and flow were switched off, on the points' clock
    std::optional<double> on_h = {};   // when the air was switched on again
    Tank tank = {};                    // its fish (none: an empty tank), volume, water, aeration
    double pressure_kpa = 0;
    double fasted_h = 0;         // of the fish
    double surface_m3_h = 0;     // what the surface alone takes up, of an empty tank's test
    double meter_step_mg_l = 0;  // the steps that oxygen is written in
    double flow_l_min = 0;       // of water that ran while the air was on
};

// Oxygen of a test, mg/L: by the limits of its tank, and never lower than the constants below.
struct DropLevels {
    double least_mg_l = 0;  // below, fish breathe what there is
    double stop_mg_l = 0;
    double on_mg_l = 0;  // air on again
    double start_mg_l = 0;
};

// Why a part of a log bears no conclusion.
enum class DropRefusal {
    none,
    times_run_back,
    few_points,
    low_oxygen,
    temperature,
    small_change,  // it falls, or rises, by too little
    scatter,       // by too little for its scatter
    bent,          // it does not fall along a line, or rise along one curve
    not_levelled   // it does not bend as far as a rate can be told from it
};

// A stretch of the log, its last point in it.
struct DropPhase {
    std::size_t first;
    std::size_t last;
    DropRefusal refused = DropRefusal::none;
    double refused_by = 0;  // what the rule looked at: points, mg/L or degC
    double residual_sd_mg_l = 0;
};

struct DropResult {
    double biomass_kg = 0;
    double water_m3 = 0;
    double temperature_c = 0;  // of the log, else of the tank
    double saturation_mg_l = 0;
    DropLevels levels = {};
    std::size_t lowest = 0;        // the point of the least oxygen in all of the log
    std::optional<DropPhase> off;  // none in an empty tank
    std::optional<DropPhase> on;   // none where the log ends before
    // When fed fish would have drawn it to where a test stops, on the points' clock; none: never.
    std::optional<double> stop_h;
    double fall_mg_l = 0;                      // while it was off, along the line
    std::optional<double> model_mg_kg_h;       // of such fish, so long after their feed
    std::optional<double> described_factor;    // what the description takes them for
    std::optional<double> described_sotr_g_h;  // with its alpha
    std::optional<Estimate> respiration_mg_kg_h;
    std::optional<Estimate> respiration_factor;   // over the model
    std::optional<Estimate> kla_per_h;            // without what the flow brings
    std::optional<Estimate> sotr_g_h;             // alpha is in it
    std::optional<Estimate> transfer_m3_h;        // kLa V', as it was
    std::optional<double> steady_mg_l;            // where the air would hold it
    std::optional<Estimate> breathed_on_mg_kg_h;  // by the air's own curve; none with flow
    bool disagree = false;                        // that is surely more than by the fall
    // Where the points look as if it was switched, and that was told otherwise.
    std::optional<double> looks_off_h;
    std::optional<double> looks_on_h;
    bool breathe_more = false;  // surely more than is described
    bool brings_less = false;   // the air surely less
    bool brings_more = false;   // so much more that water may have run
    bool doubtful = false;      // no trout breathe so: a number is wrong
    double residual_sd_mg_l = 0;
    std::vector<std::optional<double>> residuals_mg_l;  // of each point; none outside the phases
    // pass: a conclusion. warn: they breathe more, or the air brings less, than is described, a
    // number is doubtful, or the oxygen went below kDropStop. fail: below kDropLeast with fish in
    // it. unchecked: some or all of it bears none.
    Status verdict = Status::unchecked;

    // That of the fish, or of the air of an empty tank: what the log is of.
    const DropPhase& main() const { return off ? *off : *on; }
};
DropResult assess_drop(const DropTest& test);

// Whether a tank bears a drop test now, and when to switch on again.
struct DropSafety {
    std::string tank;
    double oxygen_now_mg_l = 0;
    StartsFrom starts_from = StartsFrom::saturation;
    DropLevels levels = {};
    std::optional<double> minutes_to_on;  // by fed fish; none: never
    std::optional<double> minutes_to_stop;
    bool air_holds = false;    // without the water, over levels.on_mg_l
    bool on_loop = false;      // its filter would stand still
    bool gives_water = false;  // to tanks below, which would get none
    bool starts_low = false;
    bool early_life = false;  // no figures for fish so small
    double wanted_min = 0;    // minutes to the stop, at least
    bool too_fast = false;
    bool unread = false;           // no oxygen of this hour
    bool without_backup = false;   // none is described, or it holds nothing
    std::vector<CheckId> failing;  // of the budget
    Status verdict = Status::unchecked;
};
std::vector<DropSafety> assess_drop_safety(std::span<const System> systems,
                                           std::span<const Backup> shared);

inline constexpr Constant kDropFewest{"points of a drop test, at least", 8, "-", Basis::judgement,
                                      "fewer leave the band too wide"};
inline constexpr Constant kDropChange{"fall of a drop test, at least", 0.5, "mg/L",
                                      Basis::judgement, "over twice what a meter may be off"};
inline constexpr Constant kDropScatter{"fall of a drop test over its scatter, at least", 10, "-",
                                       Basis::judgement, "else the slope is of the noise"};
inline constexpr Constant kDropTemperature{"change of temperature in a drop test, at most", 1,
                                           "degC", Basis::judgement,
                                           "respiration and saturation change with it"};
inline constexpr Constant kDropLeast{"oxygen of a drop test, at least", 5, "mg/L", Basis::judgement,
                                     "lower, fish breathe as they can"};
inline constexpr Constant kDropStop{"oxygen at which a drop test is stopped", 6, "mg/L",
                                    Basis::judgement, "a tank warns there, or above"};
inline constexpr Constant kDropOn{"oxygen at which a drop test is switched on again", 7, "mg/L",
                                  Basis::judgement, "1 mg/L before it must be"};
inline constexpr Constant kDropStart{"oxygen at the start of a drop test, at least", 8, "mg/L",
                                     Basis::judgement, "2 mg/L to fall"};
inline constexpr Constant kDropMinutes{"minutes to the stop of a drop test, at least", 30, "min",
                                       Basis::judgement, "time to read, and to be wrong"};

inline constexpr Constant kDropBend{"bend of a fall in a drop test over the fall, at most", 0.04,
                                    "-", Basis::judgement, "a surface bends it by a fiftieth"};
inline constexpr Constant kDropKink{"kink of a rise in a drop test over the rise, at most", 0.01,
                                    "-", Basis::judgement, "where it is more than chance"};
inline constexpr Constant kDropCalibration{
    "standard error of meter and beta in a drop test, over saturation", 0.01, "-", Basis::judgement,
    "2 % is as far off as a calibrated meter mostly is"};
inline constexpr Constant kDropMore{"air of a drop test over that described, at most", 1.5, "-",
                                    Basis::judgement, "more is water that ran"};
inline constexpr Constant kDropBackupHours{"hours of the backup in a drop test, at least", 1, "h",
                                           Basis::judgement, "longer than a test"};
// Beyond these a number of the test is wrong (judgement).
inline constexpr Range kDropBelieved{0.25, 4};

std::span<const Constant> droptest_sources() noexcept;

}  // namespace coldtank
