// A number that remembers how it was worked out, for the working of a report alone.
#pragma once

#include <algorithm>
#include <cmath>
#include <initializer_list>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "coldtank/coefficients.hpp"

namespace coldtank::io {

// A figure as it stands in arithmetic.
std::string shown(double value);

// "published: ISO 5814, 20 degC"; by name, of all that sources() lists.
std::string cite(const Constant& constant);
std::string cite(std::string_view name);

// The formulas of the models take it in place of a double. What went in is cited; of the larger or
// smaller of two, what the winner was made of.
class Traced {
public:
    Traced(double value = 0) : text_(shown(value)), value_(value) {}
    // Exact, or part of a fit that the line cites.
    Traced(const Constant& constant) : Traced(double{constant}) {}
    Traced(double value, std::string why) : Traced(value) { why_.push_back(std::move(why)); }

    double value() const { return value_; }
    const std::string& text() const { return text_; }
    const std::vector<std::string>& why() const { return why_; }

    friend Traced operator+(const Traced& a, const Traced& b) {
        return {a.within(kSum) + " + " + b.within(kSum), a.value_ + b.value_, kSum, {&a, &b}};
    }
    friend Traced operator-(const Traced& a, const Traced& b) {
        return {a.within(kSum) + " - " + b.within(kProduct), a.value_ - b.value_, kSum, {&a, &b}};
    }
    friend Traced operator*(const Traced& a, const Traced& b) {
        return {a.within(kProduct) + " * " + b.within(kProduct),
                a.value_ * b.value_,
                kProduct,
                {&a, &b}};
    }
    friend Traced operator/(const Traced& a, const Traced& b) {
        return {
            a.within(kProduct) + "/" + b.within(kPower), a.value_ / b.value_, kProduct, {&a, &b}};
    }
    friend Traced operator-(const Traced& a) {
        return {"(-" + a.within(kAtom) + ")", -a.value_, kAtom, {&a}};
    }
    friend Traced power(const Traced& a, const Traced& b) {
        return {a.within(kAtom) + "^" + b.within(kAtom),
                std::pow(a.value_, b.value_),
                kPower,
                {&a, &b}};
    }
    friend Traced exp(const Traced& a) { return a.called("exp", std::exp(a.value_)); }
    friend Traced log(const Traced& a) { return a.called("ln", std::log(a.value_)); }
    friend Traced log10(const Traced& a) { return a.called("log10", std::log10(a.value_)); }
    friend Traced expm1(const Traced& a) {
        return {"(exp(" + a.text_ + ") - 1)", std::expm1(a.value_), kAtom, {&a}};
    }
    friend Traced cbrt(const Traced& a) {
        return {a.within(kAtom) + "^(1/3)", std::cbrt(a.value_), kPower, {&a}};
    }
    friend Traced larger_of(const Traced& a, const Traced& b) {
        return {"max(" + a.text_ + ", " + b.text_ + ")",
                std::max(a.value_, b.value_),
                kAtom,
                {a.value_ < b.value_ ? &b : &a}};
    }
    friend Traced smaller_of(const Traced& a, const Traced& b) {
        return {"min(" + a.text_ + ", " + b.text_ + ")",
                std::min(a.value_, b.value_),
                kAtom,
                {b.value_ < a.value_ ? &b : &a}};
    }

private:
    enum Level { kAtom, kPower, kProduct, kSum };

    Traced(std::string text, double value, Level level, std::initializer_list<const Traced*> from)
        : text_(std::move(text)), value_(value), level_(level) {
        for (const Traced* each : from) {
            for (const std::string& why : each->why_) {
                if (std::find(why_.begin(), why_.end(), why) == why_.end()) why_.push_back(why);
            }
        }
    }
    // In brackets where it binds less than what stands around it.
    std::string within(Level level) const { return level_ <= level ? text_ : "(" + text_ + ")"; }
    Traced called(const char* function, double value) const {
        return {std::string(function) + "(" + text_ + ")", value, kAtom, {this}};
    }

    std::string text_;
    double value_;
    Level level_ = kAtom;
    std::vector<std::string> why_;
};

using TracedCoefficients = CoefficientsOf<Traced>;

// Each with its source, or as the description's own.
TracedCoefficients traced(const Coefficients& coefficients);

// Stated in the description, else the coefficient.
Traced stated_or(std::optional<double> stated, const Traced& coefficient);
// A limit: the description's own, else the program's of that name.
Traced limit(double value, std::optional<double> own, std::string_view name);

}  // namespace coldtank::io
