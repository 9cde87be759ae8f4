// A concentration in a tank over time: oxygen, carbon dioxide or ammonia between two changes.
#pragma once

#include <cmath>
#include <optional>
#include <span>

namespace coldtank {

// While nothing changes: V' dC/dt = gain - rate C. Concentrations in mg/L; one that has reached 0
// stays there while nothing brings it up. Closed form: an exponential, or a straight line where
// nothing exchanges.
struct Course {
    double water_m3;       // > 0: the volume less the fish
    double gain_g_h;       // what comes in less what is used up
    double rate_m3_h = 0;  // what flows through or exchanges with air

    // Where it settles; none where it only moves.
    std::optional<double> steady_mg_l() const noexcept;
    // After so many hours.
    double at(double start_mg_l, double hours) const noexcept;
    // Minutes until it has fallen, or risen, to a level: 0 where it is there already, none where it
    // never is.
    std::optional<double> minutes_down_to(double start_mg_l, double level_mg_l) const noexcept;
    std::optional<double> minutes_up_to(double start_mg_l, double level_mg_l) const noexcept;
};

// One after the other: at each change the concentration goes on from where it is.
struct Piece {
    Course course;
    double hours;                  // the last may be HUGE_VAL
    double keeps_mg_l = HUGE_VAL;  // what is over it at its end is lost
    double renewed = 0;            // the share of the water that is changed at its end,
    double by_mg_l = 0;            // for water of so much
};
// Within so many hours, the start counted; what is changed at their very end is not.
struct Reach {
    double lowest_mg_l, most_mg_l, last_mg_l;
};
Reach reach_of(std::span<const Piece> pieces, double start_mg_l, double hours) noexcept;
std::optional<double> minutes_down_to(std::span<const Piece> pieces, double start_mg_l,
                                      double level_mg_l) noexcept;
std::optional<double> minutes_up_to(std::span<const Piece> pieces, double start_mg_l,
                                    double level_mg_l) noexcept;

}  // namespace coldtank
