// Whether a description can be worked out: all that is wrong with it.
#pragma once

#include <string>
#include <vector>

#include "coldtank/description.hpp"

namespace coldtank {

// Where, as a JSON Pointer in the keys of the description, and what.
struct DescriptionFault {
    std::string pointer;  // "/tanks/0/water/temperature_c"
    std::string message;  // "must be 0 to 40, got 45"
};

// Every fault of a description: numbers that are none or out of the ranges of description.hpp,
// parts that are missing or do not fit together. Empty for one that can be assessed. What the
// reader of JSON lets through has none.
std::vector<DescriptionFault> validate(const Description& description);

// Fish that weigh more than a quarter of the water: an error of writing.
bool too_heavy(const Tank& tank) noexcept;

// A stated ration above 0 of fish that were last fed longer ago than kFedWithin: one of the two is
// wrong.
bool fed_and_fasted(const Tank& tank) noexcept;

}  // namespace coldtank
