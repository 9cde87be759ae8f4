// Where every number of the models comes from.
#pragma once

#include <optional>
#include <string_view>
#include <vector>

namespace coldtank {

// published: the source is named. common_practice: a fact of the trade with no source.
// from_memory: a published value given from memory. judgement: our own, chosen on the safe side.
enum class Basis { published, common_practice, from_memory, judgement };

// One coefficient, limit or default, and why it has that value. A published fit is one Constant
// without a value: its coefficients stand in an array beside the formula, digits as printed.
struct Constant {
    std::string_view name;
    std::optional<double> value;
    std::string_view unit;
    Basis basis;
    std::string_view source;

    constexpr operator double() const { return value.value(); }
};

// Every Constant of the core: water, fish, aeration, budget, remedies, in that order.
std::vector<Constant> sources();

}  // namespace coldtank
