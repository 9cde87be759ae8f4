// Inside the model: draws, the normal distribution and first-order indices of variance.
#pragma once

#include <cmath>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

namespace coldtank {

// A number of 0..1, both out, that depends on these alone: no order of draws, no state.
// SplitMix64 (Steele, Lea & Flood 2014), one step a word.
double uniform_draw(std::uint64_t seed, std::uint64_t matrix, std::uint64_t row,
                    std::uint64_t input, std::uint64_t attempt) noexcept;

// The standard normal deviate below which a share lies; NaN outside 0..1.
// Source: Wichura 1988, algorithm AS 241 (PPND16), relative accuracy 1e-16 (published).
double normal_quantile(double share) noexcept;

// A share's place in sorted numbers: straight lines between neighbours. Not empty.
double quantile_of(std::span<const double> sorted, double share) noexcept;

struct FirstOrder {
    double index;
    double standard_error;
};

// First-order Sobol' indices of several outputs at once, of which NaN is none, by rows of two
// independent samples A and B; `AB` is A with one input of B.
//   index = mean of (f(B) - mean)(f(AB) - f(A)) / variance
// Source: Saltelli et al. 2010, table 2 (b) (published).
class FirstOrderSums {
public:
    FirstOrderSums(std::size_t inputs, std::size_t outputs)
        : sums_(inputs * outputs), shift_(outputs), all_(outputs) {}

    // What is near each output keeps digits. Once, before all rows.
    void set_shift(std::span<const double> near) { shift_.assign(near.begin(), near.end()); }
    void add_row(std::span<const double> at_a, std::span<const double> at_b);
    void add_mixed(std::size_t input, std::span<const double> at_a, std::span<const double> at_b,
                   std::span<const double> at_ab);
    // None of an output without variance, or of which more than a tenth of the rows had none.
    std::optional<FirstOrder> of(std::size_t input, std::size_t output) const;

private:
    struct Sums {
        double n = 0, bd = 0, d = 0, bbdd = 0, bdd = 0, dd = 0;
    };
    struct All {
        double n = 0, sum = 0, squares = 0, rows = 0;
    };
    std::vector<Sums> sums_;  // of each input, of each output
    std::vector<double> shift_;
    std::vector<All> all_;
};

}  // namespace coldtank
