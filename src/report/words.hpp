// Remedies in words.
#pragma once

#include <string>

#include "coldtank/remedy.hpp"
#include "coldtank/water_change.hpp"
#include "text/units.hpp"

namespace coldtank::io {

// In whose steps what is shown so is sold.
inline Sold sold_by(const Display& show) {
    return show.units() == Units::us ? Sold::us : Sold::metric;
}

// What to do, with the figures of the part as it is. `check` is the check that the remedy is for.
std::string words_of(const Remedy& remedy, const System& system, const SystemBudget& budget,
                     Part part, const Check& check, const Display& show);

// The same in short, for a plan of several changes.
std::string short_words_of(const Remedy& remedy, const System& system, const SystemBudget& budget,
                           Part part, const Display& show);

// How much may be fed on a loop while its filter starts: no more than it bears, and than is fed.
// The budget has a bearable feed.
std::string feed_meanwhile_words(const LoopBudget& budget, const Display& show);

// "30 % (600 of 2000 L): TAN 1.8 to 1.26 mg/L; ... To bring NH3 under 0.0125: 38 %, ..."
std::string words_of(const WaterChange& change, const Display& show);

}  // namespace coldtank::io
