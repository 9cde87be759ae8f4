// Tables that the program prints about itself and about water.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "coldtank/sources.hpp"
#include "coldtank/water.hpp"
#include "report/format.hpp"
#include "text/units.hpp"

namespace coldtank::io {

// Every coefficient, limit and default: used in, name, value, unit, basis, source, key.
using SourcesRun = std::vector<Source>;

namespace source_formats {
std::string text_begin(const SourcesRun& run);
std::string text(const Source& source, const SourcesRun& run);
std::string csv_begin(const SourcesRun& run);
std::string csv(const Source& source, const SourcesRun& run);
std::string json_begin(const SourcesRun& run);
std::string json(const Source& source, const SourcesRun& run);
std::string json_end(const SourcesRun& run);
}  // namespace source_formats

inline constexpr Format<Source, SourcesRun> kSourceFormats[] = {
    {"text", source_formats::text_begin, source_formats::text, "", nullptr},
    {"csv", source_formats::csv_begin, source_formats::csv, "", nullptr},
    {"json", source_formats::json_begin, source_formats::json, ",", source_formats::json_end},
};

// A card of oxygen saturation to tape to the meter: mg/L at 80, 90 and 100 % of saturation, a row a
// temperature.
struct CardRange {
    double from_c;
    double to_c;
    double step_c;
};
std::vector<double> temperatures_of(const CardRange& range);

struct SaturationRun {
    WaterState water;
    Display show;
    std::optional<double> altitude_m;  // where the pressure is that of one
};

namespace saturation_formats {
std::string text_begin(const SaturationRun& run);
std::string text(const double& temperature_c, const SaturationRun& run);
std::string text_end(const SaturationRun& run);
std::string csv_begin(const SaturationRun& run);
std::string csv(const double& temperature_c, const SaturationRun& run);
std::string json_begin(const SaturationRun& run);
std::string json(const double& temperature_c, const SaturationRun& run);
std::string json_end(const SaturationRun& run);
}  // namespace saturation_formats

inline constexpr Format<double, SaturationRun> kSaturationFormats[] = {
    {"text", saturation_formats::text_begin, saturation_formats::text, "",
     saturation_formats::text_end},
    {"csv", saturation_formats::csv_begin, saturation_formats::csv, "", nullptr},
    {"json", saturation_formats::json_begin, saturation_formats::json, ",",
     saturation_formats::json_end},
};

}  // namespace coldtank::io
