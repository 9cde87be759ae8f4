// New water in place of part of a tank's: what it makes of what is in there now, and how much of it
// is needed.
#pragma once

#include <optional>
#include <vector>

#include "coldtank/loop.hpp"

namespace coldtank {

inline constexpr Constant kChangeAtOnce{"water changed at once, at most", 30, "%", Basis::judgement,
                                        "fish bear a sudden change ill"};
inline constexpr Constant kChangeUrgent{"the same where something fails now", 50, "%",
                                        Basis::judgement, "the lesser evil"};
inline constexpr Constant kChangeDegrees{"a tank cooled or warmed by a change of water, at most", 1,
                                         "degC", Basis::common_practice, "fish are to be tempered"};
inline constexpr Range kChangePercentRange{1, 100};

struct ChangeQuestion {
    double percent = 0;                        // of the water, at once
    std::optional<double> temperature_c = {};  // of the new water; none: the tank's
};

struct WaterChange {
    enum class Of { tan, nh3, nitrite, nitrate, chloride, chlorine, oxygen, temperature };
    struct Value {
        Of of;
        double before;
        double after;
        double fresh;                               // in the new water
        bool read;                                  // before; else predicted
        std::optional<double> limit = {};           // warn
        std::optional<double> needed_percent = {};  // to come to it; 0 within, none: never
    };
    double percent = 0;
    double volume_l = 0;  // of a tank on a loop all that is in the loop's tanks
    bool whole_loop = false;
    std::vector<Value> values = {};
    // Of what is over its warn limit and a change brings down the one that needs most.
    std::optional<Of> worst = {};
    std::optional<double> needed_percent = {};  // none with a worst: no change brings it there
    double at_once_percent = 0;                 // no more than this
    bool urgent = false;                        // something fails now
    bool too_warm_or_cold = false;              // the new water for more than that
    int changes = 0;                            // of at_once_percent, to get there; 0: none needed
    bool oxygen_assumed = false;                // that of the new water, as saturated
    bool comes_back = false;  // the worst: what the fish make brings it there again
    bool low_oxygen = false;  // the check of it warns or fails
};

std::string_view name_of(WaterChange::Of of) noexcept;  // "tan_mg_l": its key in JSON

// Of one tank of a system, as it stands: what was read, else what is predicted. The new water is
// the loop's make-up, or the tank's own new inflow; what is told of neither is clean and saturated.
//   percent: kChangePercentRange
// Check: mass before less what is poured out and brought in, tests/water_change_test.cpp.
WaterChange assess_water_change(const System& system, const SystemBudget& budget, std::size_t tank,
                                const ChangeQuestion& question);

std::span<const Constant> water_change_sources() noexcept;

}  // namespace coldtank
