// Every quantity that a published table tells, beside what coldtank computes: tests/verification.md
// says of how many values, how far apart at most, and why so far is allowed.
#include <algorithm>
#include <cstdlib>
#include <functional>
#include <iomanip>
#include <set>

#include "check.hpp"
#include "coldtank/course.hpp"
#include "coldtank/droptest.hpp"
#include "coldtank/fish.hpp"
#include "coldtank/trend.hpp"
#include "coldtank/water.hpp"
#include "model/formulas.hpp"
#include "model/sample.hpp"
#include "read/keys.hpp"

using namespace coldtank;
using namespace coldtank::test;

namespace {

using Row = std::map<std::string, std::string>;

// Of a column of a table.
struct Compared {
    std::string_view quantity;
    std::string_view unit;
    std::string_view source;  // of several tables of one the same
    std::string_view file;
    std::string_view column;
    double relative;  // tolerance as a share of the value,
    double absolute;  // in its unit,
    bool half_digit;  // and half of the last printed digit: all added up
    std::string_view why;
    std::function<std::optional<double>(const Row&)> ours;  // none: a row that is not compared
};

double oxygen_mg_l(double temperature_c, double pressure_kpa, double salinity_g_kg = 0) {
    return oxygen_saturation_mg_l({.temperature_c = temperature_c,
                                   .salinity_g_kg = salinity_g_kg,
                                   .pressure_kpa = pressure_kpa});
}
double ammonia_share(double temperature_c, double ph, double salinity_g_kg = 0) {
    return unionised_fraction({.temperature_c = temperature_c,
                               .salinity_g_kg = salinity_g_kg,
                               .pressure_kpa = kSeaLevelKpa},
                              ph, kUsualCoefficients);
}

constexpr double kFootM = 0.3048;
constexpr double kMmhgKpa = 0.133322387415;
constexpr double kPsiKpa = 6.894757293;
constexpr double kWaterMolL = 55.51;  // a litre of 1 kg
constexpr double kCo2MolarL =
    22.263;  // of a mole at 0 degC and 1 atm: carbon dioxide is no ideal gas

TrendLine line_of(const std::string& file, const char* x, const char* y, const Row& where = {}) {
    std::vector<TrendPoint> points;
    for (const Row& row : reference_rows(file)) {
        if (where.contains("set") && row.at("set") != where.at("set")) continue;
        points.push_back({number(row, x), number(row, y)});
    }
    return *fit_line(points);
}
TrendLine line_of(const Row& row) {
    const std::string& name = row.at("name");
    return line_of("linear_" + name + (name == "norris" ? "_nist.csv" : ".csv"), "x", "y");
}
TrendLine gum_line() { return line_of("linear_gum_h3.csv", "t", "b"); }
TrendLine anscombe(const Row& row) { return line_of("anscombe_data.csv", "x", "y", row); }
double error_at(const TrendLine& line, double x) {
    return line.band_at(x) / student_t_95(line.points - 2);
}

// From its first point on.
RiseFit rise_of(const Row& fit, const std::string& file, const std::string& name, const char* x,
                const char* y) {
    std::vector<DropPoint> points;
    double first = 0;
    for (const Row& row : reference_rows(file)) {
        if (row.at(name) != fit.at(name)) continue;
        if (points.empty()) first = number(row, x);
        points.push_back({number(row, x) - first, number(row, y)});
    }
    return *fit_rise(points);
}
RiseFit uptake(const Row& fit) {
    return rise_of(fit, "co2_uptake_data.csv", "plant", "concentration", "uptake");
}

double converted(io::Scope scope, std::string_view key, double value) {
    const io::Unit& unit = *io::match_key(scope, key).unit;
    return unit.factor * (value - unit.zero);
}

std::optional<double> student_t(const Row& row) {
    const auto freedom = static_cast<std::size_t>(number(row, "degrees_of_freedom"));
    const bool own = freedom <= 30 || (freedom <= 100 && freedom % 10 == 0);
    if (!own) return std::nullopt;
    return student_t_95(freedom);
}

const std::vector<Compared>& all() {
    static const std::vector<Compared> table{
        // ---- air
        {"air pressure by altitude", "kPa", "US Standard Atmosphere 1976, its formula",
         "standard_atmosphere_1976.csv", "pressure_kpa", 0, 1e-4, false, "digits of its constants",
         [](const Row& row) { return standard_pressure_kpa(number(row, "altitude_m")); }},
        {"air pressure by geopotential altitude", "Pa", "ICAO Doc 7488 / ISO 2533, table",
         "pressure_altitude_isa_table.csv", "pressure_pa", 2e-6, 0, true, "digits of the exponent",
         [](const Row& row) {
             return 1000 * formulas::standard_pressure_kpa(number(row, "altitude_m"));
         }},
        {"air pressure by altitude in feet", "psi", "NASA 1976 table in psi, reprinted",
         "pressure_altitude_us1976_psia.csv", "pressure_psia", 0, 0.003, true,
         "made of inches of mercury with few digits",
         [](const Row& row) {
             return standard_pressure_kpa(kFootM * number(row, "altitude_ft")) / kPsiKpa;
         }},
        {"mean air pressure by altitude", "mmHg", "Dussart & Francis-Boeuf 1949, reprinted",
         "pressure_altitude_dussart1949.csv", "pressure_mmhg", 0.008, 0, true,
         "observed means, no standard atmosphere",
         [](const Row& row) {
             return standard_pressure_kpa(number(row, "altitude_m")) / kMmhgKpa;
         }},
        {"vapour pressure of water", "kPa", "CRC Handbook, 73rd ed.",
         "vapour_pressure_crc73_kpa.csv", "vapour_pressure_kpa", 0.002, 0, true,
         "a fit of three terms",
         [](const Row& row) {
             return formulas::vapour_u(formulas::reciprocal(number(row, "temp_c"))) * kSeaLevelKpa;
         }},
        {"vapour pressure of water", "mmHg", "CRC Handbook, older editions (from memory)",
         "vapour_pressure_crc_mmhg.csv", "vapour_pressure_mmhg", 0.002, 0, true,
         "a fit of three terms",
         [](const Row& row) {
             return formulas::vapour_u(formulas::reciprocal(number(row, "temp_c"))) * 760;
         }},

        // ---- oxygen
        {"oxygen saturation", "mg/L", "ISO 5814 / EN 25814", "oxygen_saturation_iso5814.csv",
         "oxygen_mg_l", 0, 0.001, true, "the rounding of its fit",
         [](const Row& row) { return oxygen_mg_l(number(row, "temperature_c"), kSeaLevelKpa); }},
        {"oxygen saturation", "mg/L", "Standard Methods 4500-O (from memory)",
         "oxygen_saturation_standard_methods.csv", "oxygen_mg_l", 0, 0.002, false,
         "the rounding of its fit",
         [](const Row& row) { return oxygen_mg_l(number(row, "temperature_c"), kSeaLevelKpa); }},
        {"oxygen saturation", "mg/L", "Montgomery, Thom & Cockburn 1964, reprinted",
         "oxygen_montgomery1964.csv", "oxygen_mg_per_l", 0.004, 0, true, "an older measurement",
         [](const Row& row) { return oxygen_mg_l(number(row, "temp_c"), kSeaLevelKpa); }},
        {"oxygen saturation by air pressure", "mg/L", "table of a colorimeter's manual (1990s)",
         "oxygen_by_pressure_colorimeter.csv", "oxygen_mg_per_l", 0.01, 0, true,
         "older solubilities; its maker calls them approximate",
         [](const Row& row) {
             return oxygen_mg_l(number(row, "temp_c"), kMmhgKpa * number(row, "pressure_mmhg"));
         }},
        {"oxygen saturation by altitude", "mg/L", "table of an analyser's manual",
         "oxygen_by_altitude_analyser.csv", "oxygen_mg_per_l", 0.013, 0, true,
         "its rule of pressure by altitude is not told",
         [](const Row& row) {
             return oxygen_mg_l(number(row, "temp_c"),
                                standard_pressure_kpa(number(row, "elevation_m")));
         }},
        {"oxygen saturation by altitude", "mg/L", "table of an oxygen meter's manual",
         "oxygen_by_altitude_meter.csv", "oxygen_mg_per_l", 0.01, 0, true,
         "its rule of pressure by altitude is not told",
         [](const Row& row) {
             return oxygen_mg_l(number(row, "temp_c"),
                                standard_pressure_kpa(number(row, "altitude_m")));
         }},
        {"oxygen that a g/kg of salt takes", "mg/L", "ISO 5814 / EN 25814",
         "oxygen_salinity_coeff_en25814.csv", "k_mg_per_l_per_g_per_kg", 0.04, 0, true,
         "a straight line over all salinities: here to 35 g/kg",
         [](const Row& row) {
             const double t = number(row, "temp_c");
             return (oxygen_mg_l(t, kSeaLevelKpa) - oxygen_mg_l(t, kSeaLevelKpa, 35)) / 35;
         }},

        // ---- ammonia
        {"un-ionised share of ammonia", "%", "Trussell 1972, reprinted",
         "unionised_ammonia_trussell_1972.csv", "percent", 0.025, 0, true, "older constants",
         [](const Row& row) {
             return 100 * ammonia_share(number(row, "temperature_c"), number(row, "ph"));
         }},
        {"un-ionised share of ammonia", "-", "Emerson et al. 1975, table, reprinted",
         "ammonia_fraction_emerson1975.csv", "unionised_fraction", 0.002, 0, true,
         "rounded pKa in the table",
         [](const Row& row) { return ammonia_share(number(row, "temp_c"), number(row, "ph")); }},
        {"un-ionised share of ammonia in sea water", "%", "Bower & Bidwell 1978, reprinted",
         "ammonia_seawater_bower_bidwell1978.csv", "unionised_percent", 0.1, 0, true,
         "a linear term of salinity from memory; trout live in less of it",
         [](const Row& row) {
             return 100 * ammonia_share(number(row, "temp_c"), number(row, "ph"),
                                        number(row, "salinity_g_per_kg"));
         }},
        {"pKa of ammonium", "-", "Bates & Pinching 1949, 1950 (from memory)",
         "ammonium_pka_bates_pinching1950.csv", "pka", 0, 0.005, true, "a line in 1/T through them",
         [](const Row& row) {
             return formulas::ammonium_pka(number(row, "temp_c"), 0.0, kUsualCoefficients);
         }},

        // ---- carbon dioxide
        {"carbon dioxide by pH and alkalinity", "-", "Tucker 1984, factors, reprinted",
         "carbon_dioxide_factor_tucker_1984.csv", "factor", 0.015, 0, true, "older constants",
         [](const Row& row) {
             return carbon_dioxide_mg_l({number(row, "temperature_c"), 100}, number(row, "ph")) /
                    100;
         }},
        {"carbon dioxide by pH and alkalinity", "-", "Tucker 1984, factors, reprinted",
         "co2_factor_tucker1984_more.csv", "co2_factor", 0.025, 0, true,
         "older constants, the farther off the warmer",
         [](const Row& row) {
             return carbon_dioxide_mg_l({number(row, "temp_c"), 100}, number(row, "ph")) / 100;
         }},
        {"first constant of carbonic acid, pK1", "-", "Harned & Davis 1943, reprinted",
         "carbonic_pk1_harned_davis1943.csv", "pk1", 0, 0.004, true, "of two measurements",
         [](const Row& row) {
             return formulas::plummer(formulas::kPk1, formulas::kelvin(number(row, "temp_c")));
         }},
        {"carbon dioxide that water takes up (Bunsen)", "-", "Murray & Riley 1971 (NIST SRD 106)",
         "co2_bunsen_murray_riley1971.csv", "bunsen_co2", 0.015, 0, true, "as measured",
         [](const Row& row) {
             return kCo2MolarL * carbon_dioxide_henry_mol_l_atm(number(row, "temp_c"));
         }},
        {"carbon dioxide that water takes up (Ostwald)", "-", "Kunerth 1922 (NIST SRD 106)",
         "co2_ostwald_kunerth1922.csv", "ostwald_co2", 0.05, 0, true,
         "an old measurement: newer ones find 4 % more",
         [](const Row& row) {
             const double t = number(row, "temp_c");
             return 1 / formulas::henry_gas_over_water(carbon_dioxide_henry_mol_l_atm(t), t);
         }},
        {"carbon dioxide that water takes up, mole fraction x 1000", "-", "CRC Handbook, p. 8-90",
         "co2_solubility_crc_molefraction.csv", "mole_fraction_x1000", 0.037, 0, true,
         "2 % stated; mole fractions for activities",
         [](const Row& row) {
             return 1000 * carbon_dioxide_henry_mol_l_atm(number(row, "temp_c")) *
                    number(row, "pco2_kpa") / kSeaLevelKpa / kWaterMolL;
         }},

        // ---- fish
        {"ration by temperature and length", "%/day", "Leitritz & Lewis 1980, reprinted",
         "ration_leitritz_lewis_1980.csv", "percent_day", 0, 1e-9, false, "the table itself",
         [](const Row& row) {
             const double from_in = number(row, "length_from_in");
             return table_ration_percent_day(
                 {.temperature_c = (number(row, "temperature_f") - 32) / 1.8,
                  .length_cm = 2.54 * (from_in < 10 ? from_in + 0.5 : 10)});
         }},
        {"length by weight and condition", "cm", "table of condition of trout, Norway",
         "condition_trout_norway.csv", "length_cm", 0.0024, 0, false, "weights in whole grams",
         [](const Row& row) {
             return length_cm({.weight_g = number(row, "weight_g"),
                               .condition_g_cm3 = number(row, "condition_k") / 100});
         }},

        // ---- time and statistics
        {"share of the way after time constants", "%", "US Army training text MM0704",
         "course_time_constants.csv", "percent", 0, 0, true, "digits",
         [](const Row& row) {
             return 100 - Course{1, 0, 1}.at(100, number(row, "time_constants"));
         }},
        {"a line: slope", "-", "published fits by R; NIST StRD Norris", "linear_fits.csv", "slope",
         1e-9, 0, true, "digits; of Norris, which has 15, what double holds",
         [](const Row& row) { return line_of(row).slope; }},
        {"a line: at x = 0", "-", "published fits by R; NIST StRD Norris", "linear_fits.csv",
         "intercept", 1e-9, 0, true, "digits; of Norris, which has 15, what double holds",
         [](const Row& row) { return line_of(row).at(0); }},
        {"a line: error of its slope", "-", "published fits by R; NIST StRD Norris",
         "linear_fits.csv", "slope_error", 1e-9, 0, true,
         "digits; of Norris, which has 15, what double holds",
         [](const Row& row) { return line_of(row).slope_error; }},
        {"a line: error at x = 0", "-", "published fits by R; NIST StRD Norris", "linear_fits.csv",
         "intercept_error", 1e-9, 0, true, "digits; of Norris, which has 15, what double holds",
         [](const Row& row) { return error_at(line_of(row), 0); }},
        {"a line: residual deviation", "-", "published fits by R; NIST StRD Norris",
         "linear_fits.csv", "residual_sd", 1e-9, 0, true,
         "digits; of Norris, which has 15, what double holds",
         [](const Row& row) { return line_of(row).residual_sd; }},
        {"a calibration line", "degC", "JCGM 100:2008 (GUM), H.3", "linear_gum_h3.csv", "predicted",
         0, 0, true, "digits", [](const Row& row) { return gum_line().at(number(row, "t")); }},
        {"what a calibration line leaves", "degC", "JCGM 100:2008 (GUM), H.3", "linear_gum_h3.csv",
         "remains", 0, 0, true, "digits",
         [](const Row& row) { return number(row, "b") - gum_line().at(number(row, "t")); }},
        {"four lines: at x = 0", "-", "Anscombe 1973, fits by R", "anscombe_fits.csv", "intercept",
         0, 0, true, "digits", [](const Row& row) { return anscombe(row).at(0); }},
        {"four lines: slope", "-", "Anscombe 1973, fits by R", "anscombe_fits.csv", "slope", 0, 0,
         true, "digits", [](const Row& row) { return anscombe(row).slope; }},
        {"four lines: error of the slope", "-", "Anscombe 1973, fits by R", "anscombe_fits.csv",
         "slope_error", 0, 0, true, "digits",
         [](const Row& row) { return anscombe(row).slope_error; }},
        {"four lines: error at x = 0", "-", "Anscombe 1973, fits by R", "anscombe_fits.csv",
         "intercept_error", 0, 0, true, "digits",
         [](const Row& row) { return error_at(anscombe(row), 0); }},
        {"rise to an asymptote: asymptote", "-", "Kung 1986, fits by R (nlme)", "loblolly_fits.csv",
         "asym", 1e-5, 0, true, "digits, and where R's iteration ended",
         [](const Row& row) {
             return rise_of(row, "loblolly_data.csv", "seed", "age", "height").steady_mg_l;
         }},
        {"rise to an asymptote: log of its rate", "-", "Kung 1986, fits by R (nlme)",
         "loblolly_fits.csv", "lrc", 1e-5, 0, true, "digits, and where R's iteration ended",
         [](const Row& row) {
             return std::log(rise_of(row, "loblolly_data.csv", "seed", "age", "height").kla_per_h);
         }},
        {"rise to an asymptote: at x = 0", "-", "Kung 1986, fits by R (nlme)", "loblolly_fits.csv",
         "r0", 1e-5, 0, true, "digits, and where R's iteration ended",
         [](const Row& row) {
             return rise_of(row, "loblolly_data.csv", "seed", "age", "height").at(-3);
         }},
        {"rise to an asymptote: asymptote", "-", "Potvin et al. 1990, fits by R (nlme)",
         "co2_uptake_fits.csv", "asym", 0, 0, true, "digits",
         [](const Row& row) { return uptake(row).steady_mg_l; }},
        {"rise to an asymptote: log of its rate", "-", "Potvin et al. 1990, fits by R (nlme)",
         "co2_uptake_fits.csv", "lrc", 0, 0, true, "digits",
         [](const Row& row) { return std::log(uptake(row).kla_per_h); }},
        {"rise to an asymptote: x of y = 0", "-", "Potvin et al. 1990, fits by R (nlme)",
         "co2_uptake_fits.csv", "c0", 0, 0, true, "digits",
         [](const Row& row) {
             const RiseFit fit = uptake(row);
             return 95 +
                    std::log((fit.steady_mg_l - fit.start_mg_l) / fit.steady_mg_l) / fit.kla_per_h;
         }},
        {"Student's t, 95 %", "-", "NIST Technical Note 1297, table B.1",
         "student_t_nist_tn1297.csv", "t", 0, 0, true, "digits", student_t},
        {"Student's t, 95 %", "-", "Fisher's table, reprinted", "student_t_table.csv", "t", 0, 0,
         true, "digits; the rows that coldtank has, between them it takes the wider", student_t},
        {"Student's t, 95 %", "-", "R, qt()", "student_t_r.csv", "t", 0, 0.0005, true,
         "three digits in coldtank", student_t},
        {"quantiles of the normal distribution", "-", "Nematrian, table A.7(b)",
         "normal_quantiles.csv", "deviate", 0, 0, true, "digits",
         [](const Row& row) { return normal_quantile(number(row, "percent") / 100); }},

        // ---- units
        {"degF", "degC", "conversion table of a clinical handbook", "temperature_f.csv", "celsius",
         0, 0.03, false, "half a digit of degF",
         [](const Row& row) {
             return converted(io::Scope::water, "temperature_f", number(row, "fahrenheit"));
         }},
        {"ounces", "g", "metric conversion table", "ounces_g.csv", "grams", 2e-5, 0, true,
         "28.35 in its first rows",
         [](const Row& row) {
             return converted(io::Scope::fish, "mean_weight_oz", number(row, "ounces"));
         }},
    };
    return table;
}

// No figure of what the last bits of a machine make.
std::string two_digits(double value) {
    if (value < 1e-9) return "0";
    std::ostringstream out;
    out << std::setprecision(2) << value;
    return out.str();
}

std::string tolerance_of(const Compared& compared) {
    std::string out;
    const auto add = [&](const std::string& part) { out += (out.empty() ? "" : " + ") + part; };
    if (compared.relative > 0) add(two_digits(100 * compared.relative) + " %");
    if (compared.absolute > 0) add(two_digits(compared.absolute));
    if (compared.half_digit) add("half a digit");
    return out;
}

}  // namespace

TEST_SUITE("verification") {
    TEST_CASE("published values, and the table of them is current") {
        constexpr std::size_t kMost = 100;  // that count of one source
        std::map<std::string_view, std::size_t> of_source;
        std::ostringstream lines;
        for (const Compared& compared : all()) {
            double farthest = 0;
            double used = 0;
            const auto rows = reference_rows(std::string(compared.file));
            std::size_t values = 0;
            for (const Row& row : rows) {
                const std::string& printed = row.at(std::string(compared.column));
                if (printed.empty()) continue;
                const double told = std::stod(printed);
                const double tolerance = compared.relative * std::abs(told) + compared.absolute +
                                         (compared.half_digit ? half_digit(printed) : 0);
                const std::optional<double> computed = compared.ours(row);
                if (!computed) continue;
                const double ours = *computed;
                INFO(compared.file << ": " << printed);
                check_close(ours, told, tolerance);
                farthest = std::max(farthest, std::abs(ours - told));
                used = std::max(used, std::abs(ours - told) / tolerance);
                ++values;
            }
            of_source[compared.source] += values;
            lines << "| " << compared.quantity << " | " << compared.source << " | " << values
                  << " | " << two_digits(farthest) << (compared.unit == "-" ? "" : " ")
                  << (compared.unit == "-" ? "" : compared.unit) << " | " << tolerance_of(compared)
                  << " | " << std::lround(100 * used) << " % | " << compared.why << " |\n";
        }
        std::size_t counted = 0;
        for (const auto& [source, values] : of_source) counted += std::min(values, kMost);
        std::ostringstream page;
        page
            << "# What is published, and what coldtank computes\n\n"
               "Made by `tests/verification_test.cpp` of the tables in `tests/reference/`, which "
               "say\n"
               "where each value was read and which are from memory. It fails where a value is\n"
               "farther off than its tolerance, and where this page is stale; then\n"
               "`COLDTANK_WRITE=1 build/tests/coldtank_tests -ts=verification` writes it.\n\n"
               "| quantity | source | values | largest deviation | tolerance | used of it | why so "
               "far |\n|---|---|---|---|---|---|---|\n"
            << lines.str() << "\n"
            << counted << " values of " << of_source.size()
            << " sources, of which none counts more than " << kMost << ".\n";
        const std::string path = COLDTANK_SOURCE_DIR "/tests/verification.md";
        if (std::getenv("COLDTANK_WRITE") != nullptr) std::ofstream(path) << page.str();
        std::ifstream file(path);
        std::ostringstream now;
        now << file.rdbuf();
        CHECK_MESSAGE(now.str() == page.str(), "tests/verification.md is stale");
    }
}
