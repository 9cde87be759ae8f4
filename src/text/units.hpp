// Quantities as a reader wants to see them: metric, or US customary for text and Markdown.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace coldtank::io {

// Exact conversions by definition: NIST SP 811 (2008), appendix B; imperial gallon 4.54609 L.
inline constexpr double kGallonUsL = 3.785411784;
inline constexpr double kGallonImperialL = 4.54609;
inline constexpr double kCubicFootL = 28.316846592;
inline constexpr double kPoundG = 453.59237;
inline constexpr double kOunceG = 28.349523125;
inline constexpr double kFootM = 0.3048;
inline constexpr double kInchM = 0.0254;
inline constexpr double kInchOfMercuryKpa = 3.386388640341;
inline constexpr double kMillimetreOfMercuryKpa = 0.133322387415;

// What a test kit says in place of nitrogen or CaCO3: by molar masses of N 14.007, H 1.008,
// O 15.999, Ca 40.078, C 12.011, Na 22.990 and Cl 35.45 g/mol (IUPAC 2021, abridged); a degree of
// hardness is 10 mg/L of CaO.
inline constexpr double kNitrogenInNh4 = 14.007 / (14.007 + 4 * 1.008);
inline constexpr double kNitrogenInNh3 = 14.007 / (14.007 + 3 * 1.008);
inline constexpr double kNitrogenInNo2 = 14.007 / (14.007 + 2 * 15.999);
inline constexpr double kNitrogenInNo3 = 14.007 / (14.007 + 3 * 15.999);
inline constexpr double kChlorideInSalt = 35.45 / (22.990 + 35.45);
inline constexpr double kCaco3PerMeq = (40.078 + 12.011 + 3 * 15.999) / 2;
inline constexpr double kCaco3PerDegree = 10 * 2 * kCaco3PerMeq / (40.078 + 15.999);

enum class Units { metric, us };

// One kind of quantity, in the base unit of the core.
enum class Measure {
    temperature_c,
    temperature_difference_c,
    volume_l,
    flow_l_min,
    air_flow_l_min,
    oxygen_flow_l_min,
    biomass_kg,
    weight_g,
    daily_mass_g,
    length_cm,
    altitude_m,
    pressure_kpa,
    density_kg_m3,
    current_cm_s,
    hourly_mass_g,
    dose_g,
    area_m2,
    feed_g_m2_day
};

// How a remedy is rounded so that it stays on the safe side.
enum class Safe { down, up };

// A value in three digits, on the safe side of it.
std::string three_digits(double value, Safe side);

// How wide a page is where nobody says: mail, a file, a narrow terminal.
inline constexpr std::size_t kPageWidth = 80;

// What a page is shown on.
struct Paper {
    std::size_t width = kPageWidth;  // columns
    bool colour = false;
};

class Display {
public:
    explicit Display(Units units = Units::metric, const Paper& paper = {})
        : units_(units), paper_(paper) {}

    const Paper& paper() const { return paper_; }
    Units units() const { return units_; }

    double value(Measure measure, double base) const;  // in the unit shown
    std::string_view unit(Measure measure) const;      // "degC" or "degF"

    // "13.5 degC"; the second without its unit.
    std::string with_unit(Measure measure, double base) const;
    std::string bare(Measure measure, double base) const;
    // Three digits, never less than the value.
    std::string rounded_up(Measure measure, double base) const;
    // A remedy's value: in its own unit, or in another in whose steps it is, as it is; else rounded
    // to the safe side.
    std::string safe(Measure measure, double base, Safe side) const;

private:
    Units units_;
    Paper paper_;
};

}  // namespace coldtank::io
