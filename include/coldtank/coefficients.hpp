// The coefficients of the models as data: what a description may set otherwise.
#pragma once

#include <array>
#include <string_view>

#include "coldtank/source.hpp"

namespace coldtank {

// One member a row of coefficients.inc, of its unit. `Number` is double but in the working that
// --explain shows.
template <class Number>
struct CoefficientsOf {
#define COLDTANK_COEFFICIENT(used_in, key, name, value, unit, basis, source) Number key = value;
#include "coldtank/coefficients.inc"
};
using Coefficients = CoefficientsOf<double>;

// Those of the program.
inline constexpr Coefficients kUsualCoefficients;

struct CoefficientInfo {
    std::string_view used_in;  // "water", "fish", "aeration", "balance", "loops"
    std::string_view key;      // of a description
    double Coefficients::*member;
    Constant constant;

    // What a description may set: positive, and within a tenth to tenfold. More is a slip.
    constexpr Range range() const { return {*constant.value / 10, *constant.value * 10}; }
    // Outside half to twice the program's it is asked about.
    constexpr Range believed() const { return {*constant.value / 2, *constant.value * 2}; }
};

inline constexpr std::array kCoefficients{
#define COLDTANK_COEFFICIENT(used_in, key, name, value, unit, basis, source) \
    CoefficientInfo{#used_in, #key, &Coefficients::key, {name, value, unit, Basis::basis, source}},
#include "coldtank/coefficients.inc"
};

}  // namespace coldtank
