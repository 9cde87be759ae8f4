// Prints the models on grids for tests/oracles.py: oracle_probe
// water|pressure|ph|course|pieces|line|quantiles
#include <cstdint>
#include <cstdio>
#include <cstring>
#include <iterator>
#include <vector>

#include "coldtank/course.hpp"
#include "coldtank/trend.hpp"
#include "coldtank/water.hpp"
#include "model/sample.hpp"

using namespace coldtank;

namespace {

// Of 0..1, the same on every machine.
class Draws {
public:
    double next() { return uniform_draw(19, 0, row_++, 0, 0); }
    double between(double low, double high) { return low + (high - low) * next(); }

private:
    std::uint64_t row_ = 0;
};

// temperature_c salinity_g_kg pressure_kpa oxygen_mg_l henry_mol_l_atm
void water() {
    for (const double salinity_g_kg : {0.0, 5.0, 35.0}) {
        for (double temperature_c = 0; temperature_c <= 40; temperature_c += 1) {
            const WaterState state{.temperature_c = temperature_c,
                                   .salinity_g_kg = salinity_g_kg,
                                   .pressure_kpa = 101.325};
            std::printf("%.17g %.17g %.17g %.17g %.17g\n", temperature_c, salinity_g_kg,
                        state.pressure_kpa, oxygen_saturation_mg_l(state),
                        carbon_dioxide_henry_mol_l_atm(temperature_c));
        }
    }
}

// altitude_m pressure_kpa
void pressure() {
    for (double altitude_m = -500; altitude_m <= 5000; altitude_m += 50) {
        std::printf("%.17g %.17g\n", altitude_m, standard_pressure_kpa(altitude_m));
    }
}

// temperature_c alkalinity_mg_l carbon_dioxide_mg_l ph
void ph() {
    for (double temperature_c = 0; temperature_c <= 30; temperature_c += 3) {
        for (const double alkalinity_mg_l : {2.0, 20.0, 100.0, 350.0}) {
            for (const double mg_l : {0.3, 2.0, 15.0, 60.0}) {
                std::printf("%.17g %.17g %.17g %.17g\n", temperature_c, alkalinity_mg_l, mg_l,
                            ph_from_carbon_dioxide({temperature_c, alkalinity_mg_l}, mg_l));
            }
        }
    }
}

// water_m3 gain_g_h rate_m3_h start_mg_l hours after_mg_l level_mg_l minutes_down minutes_up (-1:
// never)
void course() {
    Draws draws;
    for (int i = 0; i < 200; ++i) {
        const Course one{draws.between(0.1, 20), draws.between(-60, 60),
                         i % 5 == 0 ? 0 : draws.between(0.01, 30)};
        const double start = draws.between(0.5, 14);
        const double hours = draws.between(0.01, 6);
        const double level = draws.between(0.5, 14);
        std::printf("%.17g %.17g %.17g %.17g %.17g %.17g %.17g %.17g %.17g\n", one.water_m3,
                    one.gain_g_h, one.rate_m3_h, start, hours, one.at(start, hours), level,
                    one.minutes_down_to(start, level).value_or(-1),
                    one.minutes_up_to(start, level).value_or(-1));
    }
}

// Three pieces of water_m3 gain_g_h rate_m3_h hours each, then start_mg_l within_h lowest most last
void pieces() {
    Draws draws;
    for (int i = 0; i < 60; ++i) {
        std::vector<Piece> three;
        for (int part = 0; part < 3; ++part) {
            three.push_back(
                {Course{draws.between(0.5, 9), draws.between(-40, 60), draws.between(0, 9)},
                 draws.between(0.1, 3)});
        }
        const double start = draws.between(3, 12);
        const double within =
            draws.between(0.5, 1) * (three[0].hours + three[1].hours + three[2].hours);
        for (const Piece& each : three) {
            std::printf("%.17g %.17g %.17g %.17g ", each.course.water_m3, each.course.gain_g_h,
                        each.course.rate_m3_h, each.hours);
        }
        const Reach reach = reach_of(three, start, within);
        std::printf("%.17g %.17g %.17g %.17g %.17g\n", start, within, reach.lowest_mg_l,
                    reach.most_mg_l, reach.last_mg_l);
    }
}

// n, n times x value, then slope mean_x mean_value slope_error residual_sd at_end band_at_end
void line() {
    Draws draws;
    for (int i = 0; i < 60; ++i) {
        std::vector<TrendPoint> points;
        const int count = 3 + i;
        for (int each = 0; each < count; ++each) {
            points.push_back({20000 + each + draws.next(), draws.between(5, 9) - 0.02 * each});
        }
        const TrendLine fit = *fit_line(points);
        std::printf("%d", count);
        for (const TrendPoint& each : points) std::printf(" %.17g %.17g", each.x, each.value);
        std::printf(" %.17g %.17g %.17g %.17g %.17g %.17g %.17g\n", fit.slope, fit.mean_x,
                    fit.mean_value, fit.slope_error, fit.residual_sd, fit.at(fit.last_x),
                    fit.band_at(fit.last_x));
    }
}

// share normal_quantile, then degrees_of_freedom student_t_95
void quantiles() {
    for (double share = 0.0005; share < 1; share += 0.0131) {
        std::printf("%.17g %.17g\n", share, normal_quantile(share));
    }
    for (const double share : {1e-300, 1e-100, 1e-20, 1e-9, 1 - 1e-9}) {
        std::printf("%.17g %.17g\n", share, normal_quantile(share));
    }
    for (std::size_t freedom = 1; freedom <= 200; ++freedom) {
        std::printf("%zu %.17g\n", freedom, student_t_95(freedom));
    }
}

struct Grid {
    const char* name;
    void (*print)();
};
constexpr Grid kGrids[]{{"water", water},        {"pressure", pressure}, {"ph", ph},
                        {"course", course},      {"pieces", pieces},     {"line", line},
                        {"quantiles", quantiles}};

}  // namespace

int main(int argc, char** argv) {
    for (const Grid& grid : kGrids) {
        if (argc == 2 && std::strcmp(argv[1], grid.name) == 0) {
            grid.print();
            return 0;
        }
    }
    std::fputs("oracle_probe: which grid?\n", stderr);
    return 64;
}
