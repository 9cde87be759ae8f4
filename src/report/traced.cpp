#include "report/traced.hpp"

#include <fmt/core.h>

#include "coldtank/sources.hpp"
#include "text/text.hpp"

namespace coldtank::io {

std::string shown(double value) {
    const std::string text = fmt::format("{:.7g}", off_tie(value));
    return value < 0 ? "(" + text + ")" : text;
}

std::string cite(const Constant& constant) {
    return fmt::format("{}: {}", name_of(constant.basis), constant.source);
}
std::string cite(std::string_view name) {
    static const std::vector<Source> all = sources();
    for (const Source& source : all) {
        if (source.constant.name == name) return cite(source.constant);
    }
    return {};
}

TracedCoefficients traced(const Coefficients& coefficients) {
    const auto leaf = [&](const CoefficientInfo& info) {
        const double value = coefficients.*info.member;
        return Traced(value, value == *info.constant.value
                                 ? cite(info.constant)
                                 : fmt::format("given: coefficients, {}", info.key));
    };
    TracedCoefficients all;
    std::size_t i = 0;
#define COLDTANK_COEFFICIENT(used_in, key, ...) all.key = leaf(kCoefficients[i++]);
#include "coldtank/coefficients.inc"
    return all;
}

Traced stated_or(std::optional<double> stated, const Traced& coefficient) {
    return stated ? Traced(*stated, "given") : coefficient;
}
Traced limit(double value, std::optional<double> own, std::string_view name) {
    return {value, own ? "given: limits of the description" : cite(name)};
}

}  // namespace coldtank::io
