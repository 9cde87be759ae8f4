// The coefficients of the models as data: what a description may set otherwise.
#pragma once

#include <array>
#include <optional>
#include <string_view>

#include "coldtank/source.hpp"

namespace coldtank {

// One member a row of coefficients.inc, of its unit. `Number` is double but in the working that
// --explain shows.
template <class Number>
struct CoefficientsOf {
#define COLDTANK_COEFFICIENT(used_in, key, name, value, ...) Number key = value;
#include "coldtank/coefficients.inc"
};
using Coefficients = CoefficientsOf<double>;

// Those of the program.
inline constexpr Coefficients kUsualCoefficients;

// What a description may hold of them, there and elsewhere.
inline constexpr Range kProteinRange{10, 70};          // percent
inline constexpr Range kOxygenPerFeedRange{100, 700};  // g/kg
inline constexpr Range kPeakFactorRange{1, 3};
inline constexpr Range kFieldFactorRange{0, 2};  // alpha, beta
inline constexpr Range kTransferRange{0, 100};   // percent/m
inline constexpr Range kShare{0, 1};
inline constexpr Range kDisplacement{0.5, 2};  // L/kg: water is left beside any stock that is taken
inline constexpr Range kTenfold{0, 1e12};      // as any

// What a coefficient may as well be: 90 % of what is believed lies between both ends. Without ends
// it moves with another, by the same factor, or is known well enough.
struct Likely {
    std::optional<Range> ends = {};
    std::string_view with = {};  // key of another coefficient
    std::string_view why = {};
};
constexpr Likely between(double low, double high, std::string_view why) {
    return {Range{low, high}, {}, why};
}
constexpr Likely moves_with(std::string_view key) { return {{}, key, "with another"}; }
constexpr Likely known(std::string_view why) { return {{}, {}, why}; }

struct CoefficientInfo {
    std::string_view used_in;  // "water", "fish", "aeration", "balance", "loops"
    std::string_view key;      // of a description
    double Coefficients::*member;
    Constant constant;
    Range within;
    double believed_times;
    Likely likely;

    constexpr Range range() const {
        const double value = *constant.value;
        return {within.low < value / 10 ? value / 10 : within.low,
                within.high > value * 10 ? value * 10 : within.high};
    }
    constexpr Range believed() const {
        return {*constant.value / believed_times, *constant.value * believed_times};
    }
};

inline constexpr std::array kCoefficients{
#define COLDTANK_COEFFICIENT(used_in, key, name, value, unit, basis, source, range, believed,  \
                             likely)                                                           \
    CoefficientInfo{                                                                           \
        #used_in, #key,  &Coefficients::key, {name, value, unit, Basis::basis, source}, range, \
        believed, likely},
#include "coldtank/coefficients.inc"
};

}  // namespace coldtank
