// Inside the model: a system in worlds that fit what is known of it.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "coldtank/spread.hpp"

namespace coldtank {

class Worlds {
public:
    Worlds(const System& system, const SpreadQuestion& question);
    Worlds(const Worlds&) = delete;  // it points into its own system
    Worlds& operator=(const Worlds&) = delete;

    std::size_t inputs() const { return inputs_.size(); }
    std::string_view name(std::size_t input) const { return inputs_[input].name; }

    // The world of a row of sample A (0) or B (1).
    const System& at(std::uint64_t matrix, std::uint64_t row);
    // After at(0, row), that world with one input of sample B.
    const System& mixed(std::size_t input, std::uint64_t row);

private:
    // A number that an input sets: of a standard normal z it becomes
    //   added: base + step z      times: base exp(shift + step z)
    struct Place {
        double* number;
        double base;
        bool times;
        double shift;
        double step;
        Range within;
    };
    struct Input {
        std::string name;
        std::uint64_t stream;
        std::vector<Place> places;
    };
    Input& input(std::string_view name);
    void add_coefficients();
    void add_measurements();
    void add(Quantity quantity, std::optional<double>& number, Range within);
    // `unit`: an error that is not in percent is in so many of the number's.
    void add(Quantity quantity, double& number, Range within, double unit = 1);
    void add_given(std::string_view name, std::optional<double>& number, Range within);
    void add_flows();
    static double value_at(const Place& place, double z);
    void draw(std::size_t input, std::uint64_t matrix, std::uint64_t row);

    System system_;
    std::uint64_t seed_;
    double width_;
    std::vector<Accuracy> accuracies_;
    std::vector<Input> inputs_;
    std::optional<std::size_t> mixed_ = {};
};

}  // namespace coldtank
