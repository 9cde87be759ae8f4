// How fast trout and char grow: the thermal-unit growth coefficient (TGC).
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string_view>

#include "coldtank/fish.hpp"
#include "coldtank/trend.hpp"

namespace coldtank {

inline constexpr Range kTgcRange{0.0001, 0.01};  // g^(1/3)/(degC day)

// A stock may grow slowly or fast: nobody knows beforehand.
enum class Pace { slow, expected, fast };
inline constexpr Pace kPaces[] = {Pace::slow, Pace::expected, Pace::fast};

// d W^(1/3) / dt = TGC t response(t): g^(1/3) / (degC day) at each pace.
struct Tgc {
    double slow, expected, fast;
    bool as_fed = false;  // measured on fish as they were fed: no ration holds it back
    double at(Pace pace) const noexcept {
        return pace == Pace::slow ? slow : pace == Pace::fast ? fast : expected;
    }
};
// Of a species of the table, by any of its names; none of others.
//   rainbow (and golden) 1.0, 1.5, 2.0e-3: Iwama & Tautz 1981 (published), from memory, in use;
//   brook 1.284e-3 Dwyer et al. 1981, Arctic char 1.375e-3 Jobling 1983 (published), brown 1.0e-3
//   (from memory), each 0.8 and 1.25 of it (judgement).
std::optional<Tgc> tgc_of_species(std::string_view name) noexcept;
// Of a stock whose coefficient a grower knows.
Tgc tgc_of_stock(double tgc) noexcept;

// How much of that growth a temperature allows: 1 at best. Brook trout's, shifted by the optimum of
// other species (judgement); 0 from the feeding stop and where it is too cold.
// NaN outside kTemperatureRange.
double growth_response(double temperature_c, const Species& species) noexcept;

// The most of it at any temperature up to this one: what fish may have eaten before it got warmer.
double most_response(double temperature_c, const Species& species) noexcept;

// What a fish weighs after so many days at one temperature, as far as feed does not limit it.
// g; NaN outside kWeightRange or for negative days.
struct Growing {
    double weight_g;
    double temperature_c;
    double tgc;
    double response;
};
double grown_g(const Growing& fish, double days) noexcept;

// How a stock grew by its weighings: cube roots of weights over the temperature units that came
// together meanwhile, by least squares. Slow and fast are the edges of the 95 % band of the slope,
// and no nearer than those of a stock whose coefficient is told.
//   weighings, temperatures: in order of days; the last of the temperatures holds on
//   none: fewer than three weighings, or a band that is not all within kTgcRange
struct GrowthFit {
    Tgc tgc;
    std::size_t weighings;
};
std::optional<GrowthFit> fit_growth(std::span<const TrendPoint> weighings,
                                    std::span<const TrendPoint> temperatures,
                                    const Species& species);

std::span<const Constant> growth_sources() noexcept;

}  // namespace coldtank
