// Where every number of the models comes from: the list, on top of all that has some.
#pragma once

#include <string_view>
#include <vector>

#include "coldtank/coefficients.hpp"

namespace coldtank {

// A Constant and the part of the models that uses it: "water", "fish", "aeration", "balance",
// "checks", "remedies", "species".
struct Source {
    std::string_view used_in;
    Constant constant;
    std::string_view key = {};  // of a description's `coefficients`; empty: nobody sets it there
    Likely likely = {};         // what it may as well be; empty of what is exact, a fit or a limit
};

// Every Constant of the core, in that order.
std::vector<Source> sources();

}  // namespace coldtank
