#include <fmt/core.h>

#include <optional>
#include <string>
#include <vector>

#include "cli/commands.hpp"
#include "report/explain.hpp"
#include "report/tables.hpp"

namespace coldtank::cli {
namespace {

constexpr Option kOptions[] = {
    {.kind = Option::Kind::number,
     .name = "--altitude",
     .value = "N",
     .help = "altitude, m",
     .range = kAltitudeRange,
     .excludes = "--altitude-ft|--pressure"},
    {.kind = Option::Kind::number,
     .name = "--altitude-ft",
     .value = "N",
     .help = "altitude, ft",
     .range = {-1640, 16404},
     .excludes = "--pressure"},
    {Option::Kind::number, "--pressure", "N", "air pressure on the spot, kPa", "", kPressureRange},
    {Option::Kind::number, "--salinity", "N", "salinity, g/kg (0)", "", kSalinityRange},
    {.kind = Option::Kind::number,
     .name = "--from",
     .value = "N",
     .help = "first temperature, degC (0), or 32f",
     .range = kTemperatureRange,
     .unit = "degC"},
    {.kind = Option::Kind::number,
     .name = "--to",
     .value = "N",
     .help = "last temperature, degC (25), or 77f",
     .range = kTemperatureRange,
     .unit = "degC"},
    {Option::Kind::number, "--step", "N", "step, degC (1)", "", {0.1, 40}},
    {Option::Kind::choice, "--format", "WORD", "text, csv or json",
     io::names_of<io::kSaturationFormats>()},
    {Option::Kind::choice, "--units", "WORD", "metric or us, of the text", "metric|us"},
    {Option::Kind::flag, "--explain", "", "the working behind every figure, with its source"},
    kOutputOption};

int run(const Arguments& arguments) {
    const auto altitude_m = arguments.number("--altitude");
    const auto altitude_ft = arguments.number("--altitude-ft");
    const io::CardRange range{arguments.number("--from").value_or(0),
                              arguments.number("--to").value_or(25),
                              arguments.number("--step").value_or(1)};
    const std::string& format = arguments.text("--format");
    WaterState water{.temperature_c = 0,
                     .salinity_g_kg = arguments.number("--salinity").value_or(0),
                     .pressure_kpa = 0};
    std::optional<double> altitude;
    if (const auto pressure_kpa = arguments.number("--pressure")) {
        water.pressure_kpa = *pressure_kpa;
    } else if (altitude_m || altitude_ft) {
        altitude = altitude_m ? *altitude_m : *altitude_ft * io::kFootM;
        water.pressure_kpa = standard_pressure_kpa(*altitude);
    } else {
        say("coldtank: give --altitude, --altitude-ft or --pressure: oxygen depends "
            "on it\n");
        return kUsage;
    }
    if (range.to_c < range.from_c) {
        say("coldtank: --to is below --from\n");
        return kUsage;
    }
    const bool explain = arguments.has("--explain");
    if (explain && format != "text" && !format.empty()) {
        say("coldtank: --explain is for text\n");
        return kUsage;
    }
    const io::Display show(arguments.text("--units") == "us" ? io::Units::us : io::Units::metric);
    const std::vector<double> temperatures = io::temperatures_of(range);
    std::string out = io::written(io::kSaturationFormats, format, temperatures,
                                  io::SaturationRun{water, show, altitude});
    if (explain) out += '\n' + io::saturation_working_of(water, altitude, temperatures);
    return write_results(arguments, out);
}

}  // namespace

const Command kSaturation{
    "saturation", "A card of oxygen saturation for your altitude, to tape to the meter.",
    "  coldtank saturation --altitude 640\n"
    "  coldtank saturation --altitude-ft 2100 --units us --from 2 --to 20 --step 0.5",
    kOptions, run};

}  // namespace coldtank::cli
