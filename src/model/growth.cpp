#include "coldtank/growth.hpp"

#include <array>
#include <cmath>
#include <vector>

#include "formulas.hpp"
#include "numbers.hpp"

namespace coldtank {
namespace {

constexpr double kThousandth = 1e-3;

constexpr Constant kRainbowSlow{"TGC x 1000 of rainbow trout, slow", 1.0, "g^(1/3)/(degC day)",
                                Basis::published, "Iwama & Tautz 1981"};
constexpr Constant kRainbowExpected{"TGC x 1000 of rainbow trout, expected", 1.5,
                                    "g^(1/3)/(degC day)", Basis::from_memory,
                                    "commercial strains; Dwyer et al. 1981 have 1.262 at 13 degC"};
constexpr Constant kRainbowFast{"TGC x 1000 of rainbow trout, fast", 2.0, "g^(1/3)/(degC day)",
                                Basis::common_practice, "fast strains"};
constexpr Constant kBrook{"TGC x 1000 of brook trout", 1.284, "g^(1/3)/(degC day)",
                          Basis::published, "Dwyer et al. 1981"};
constexpr Constant kBrown{"TGC x 1000 of brown trout", 1.0, "g^(1/3)/(degC day)",
                          Basis::from_memory, "farmed strains"};
constexpr Constant kChar{"TGC x 1000 of Arctic char", 1.375, "g^(1/3)/(degC day)", Basis::published,
                         "Jobling 1983, 10 degC"};
constexpr Constant kSlow{"slow growth of the expected, other than rainbow trout", 0.8, "-",
                         Basis::judgement, "strains and farms differ so"};
constexpr Constant kFast{"fast growth of the expected, other than rainbow trout", 1.25, "-",
                         Basis::judgement, "strains and farms differ so"};
constexpr Constant kKnownSlow{"slow growth of a stock whose TGC is told", 0.9, "-",
                              Basis::judgement, "years differ"};
constexpr Constant kKnownFast{"fast growth of a stock whose TGC is told", 1.1, "-",
                              Basis::judgement, "years differ"};
constexpr Constant kResponse4{"growth response at 4 degC", 0.31, "-", Basis::published,
                              "brook trout, after Dwyer et al. 1981"};
constexpr Constant kResponse7{"growth response at 7 degC", 0.66, "-", Basis::from_memory,
                              "rebuilt from printed means"};
constexpr Constant kResponse10{"growth response at 10 degC", 0.98, "-", Basis::published,
                               "brook trout, after Dwyer et al. 1981"};
constexpr Constant kResponse13{"growth response at 13 degC", 1.0, "-", Basis::from_memory,
                               "rebuilt from printed means"};
constexpr Constant kResponse16{"growth response at 16 degC", 0.84, "-", Basis::from_memory,
                               "rebuilt from printed means"};
constexpr Constant kResponse19{"growth response at 19 degC", 0.63, "-", Basis::from_memory,
                               "rebuilt from printed means"};

constexpr std::array kSources{
    kRainbowSlow, kRainbowExpected, kRainbowFast, kBrook,     kBrown,     kChar,       kSlow,
    kFast,        kKnownSlow,       kKnownFast,   kResponse4, kResponse7, kResponse10, kResponse13,
    kResponse16,  kResponse19};

struct Point {
    double temperature_c;
    double response;
};
constexpr std::array<Point, 6> kResponse{{{4, kResponse4},
                                          {7, kResponse7},
                                          {10, kResponse10},
                                          {13, kResponse13},
                                          {16, kResponse16},
                                          {19, kResponse19}}};

double between(const Point& a, const Point& b, double temperature_c) {
    return a.response + (b.response - a.response) * (temperature_c - a.temperature_c) /
                            (b.temperature_c - a.temperature_c);
}

Tgc around(double expected, double slow, double fast) {
    return {slow * expected, expected, fast * expected};
}

// A temperature at which brook trout respond alike.
double shifted(double temperature_c, const Species& species) {
    static const double kBrookOptimumC = find_species("brook trout")->species.optimum_c;
    return temperature_c - (species.optimum_c - kBrookOptimumC);
}

// Of brook trout up to the last point; in the cold straight on down to nothing (judgement).
double growth_curve(double t) {
    std::size_t i = 0;
    while (i + 2 < kResponse.size() && t > kResponse[i + 1].temperature_c) ++i;
    return not_below_zero(between(kResponse[i], kResponse[i + 1], t));
}

}  // namespace

std::optional<Tgc> tgc_of_species(std::string_view name) noexcept {
    const SpeciesEntry* entry = find_species(name);
    if (entry == nullptr) return std::nullopt;
    if (entry->scientific_name == "Oncorhynchus mykiss") {
        return Tgc{kThousandth * kRainbowSlow, kThousandth * kRainbowExpected,
                   kThousandth * kRainbowFast};
    }
    const double expected = entry->scientific_name == "Salvelinus fontinalis" ? kBrook
                            : entry->scientific_name == "Salvelinus alpinus"  ? kChar
                                                                              : kBrown;
    return around(kThousandth * expected, kSlow, kFast);
}

Tgc tgc_of_stock(double tgc) noexcept { return around(tgc, kKnownSlow, kKnownFast); }

double growth_response(double temperature_c, const Species& species) noexcept {
    if (!kTemperatureRange.holds(temperature_c)) return kNotANumber;
    if (temperature_c >= species.feeding_stop_c) return 0;
    const double t = shifted(temperature_c, species);
    if (t <= kResponse.back().temperature_c) return growth_curve(t);
    const Point stop{shifted(species.feeding_stop_c, species), 0};
    return between(kResponse.back(), stop, t);
}

double most_response(double temperature_c, const Species& species) noexcept {
    if (!kTemperatureRange.holds(temperature_c)) return kNotANumber;
    return growth_curve(smaller_of(shifted(temperature_c, species), kResponse[3].temperature_c));
}

double grown_g(const Growing& fish, double days) noexcept {
    if (!kWeightRange.holds(fish.weight_g) || !(days >= 0)) return kNotANumber;
    return fish.weight_g +
           formulas::gained_g(fish.weight_g, fish.tgc, fish.temperature_c, fish.response, days);
}

std::optional<GrowthFit> fit_growth(std::span<const TrendPoint> weighings,
                                    std::span<const TrendPoint> temperatures,
                                    const Species& species) {
    if (temperatures.empty()) return std::nullopt;
    // Units a day between two temperatures change in a straight line.
    std::vector<TrendPoint> roots;
    double units = 0;
    std::size_t next = 0;
    TrendPoint at{weighings.empty() ? 0 : weighings.front().x, temperatures.front().value};
    const auto rate = [&](double temperature_c) {
        return temperature_c * growth_response(temperature_c, species);
    };
    const auto go_to = [&](const TrendPoint& point) {
        units += (point.x - at.x) * (rate(at.value) + rate(point.value)) / 2;
        at = point;
    };
    for (const TrendPoint& weighing : weighings) {
        for (; next < temperatures.size() && temperatures[next].x <= weighing.x; ++next) {
            if (temperatures[next].x < at.x) {
                at.value = temperatures[next].value;
            } else {
                go_to(temperatures[next]);
            }
        }
        go_to({weighing.x, at.value});
        roots.push_back({units, std::cbrt(weighing.value)});
    }
    if (roots.size() < 3) return std::nullopt;
    const auto line = fit_line(roots);
    if (!line) return std::nullopt;
    const double band = line->slope_band();
    const Tgc told = tgc_of_stock(line->slope);
    const Tgc tgc{smaller_of(told.slow, line->slope - band), line->slope,
                  larger_of(told.fast, line->slope + band), true};
    for (const Pace pace : kPaces) {
        if (!kTgcRange.holds(tgc.at(pace))) return std::nullopt;
    }
    return GrowthFit{tgc, roots.size()};
}

std::span<const Constant> growth_sources() noexcept { return kSources; }

}  // namespace coldtank
