#include <fmt/core.h>

#include <memory>
#include <optional>
#include <string>

#include "cli/commands.hpp"
#include "cli/help.hpp"
#include "report/tables.hpp"

namespace coldtank::cli {
namespace {

constexpr double kFootM = 0.3048;  // NIST SP 811

struct Options {
    std::optional<double> altitude_m;
    std::optional<double> altitude_ft;
    std::optional<double> pressure_kpa;
    double salinity_g_kg = 0;
    io::CardRange range{0, 25, 1};
    std::string format = "text";
    std::string units = "metric";
};

int run(const Options& options) {
    WaterState water{.temperature_c = 0, .salinity_g_kg = options.salinity_g_kg, .pressure_kpa = 0};
    if (options.pressure_kpa) {
        water.pressure_kpa = *options.pressure_kpa;
    } else if (options.altitude_m || options.altitude_ft) {
        water.pressure_kpa = standard_pressure_kpa(
            options.altitude_m ? *options.altitude_m : *options.altitude_ft * kFootM);
    } else {
        say("coldtank: give --altitude, --altitude-ft or --pressure: oxygen depends "
            "on it\n");
        return kUsage;
    }
    if (options.range.to_c < options.range.from_c) {
        say("coldtank: --to is below --from\n");
        return kUsage;
    }
    std::string out;
    if (options.format == "csv") {
        out = io::saturation_as_csv(water, options.range);
    } else if (options.format == "json") {
        out = io::saturation_as_json(water, options.range);
    } else {
        const io::Display show(options.units == "us" ? io::Units::us : io::Units::metric);
        out = io::saturation_as_text(water, options.range, show);
    }
    return put(out) ? kPass : kNoOutput;
}

}  // namespace

void add_saturation(CLI::App& app, int& status) {
    const auto options = std::make_shared<Options>();
    CLI::App* command = add_command(
        app, "saturation", "A card of oxygen saturation for your altitude, to tape to the meter.",
        "  coldtank saturation --altitude 640\n"
        "  coldtank saturation --altitude-ft 2100 --units us --from 2 --to 20 --step 0.5");
    auto* metres = command->add_option("--altitude", options->altitude_m, "altitude, m")
                       ->check(number_in(kAltitudeRange.low, kAltitudeRange.high));
    auto* feet = command->add_option("--altitude-ft", options->altitude_ft, "altitude, ft")
                     ->check(number_in(-1640, 16404));
    auto* pressure =
        command->add_option("--pressure", options->pressure_kpa, "air pressure on the spot, kPa")
            ->check(number_in(kPressureRange.low, kPressureRange.high));
    metres->excludes(feet)->excludes(pressure);
    feet->excludes(pressure);
    command->add_option("--salinity", options->salinity_g_kg, "salinity, g/kg (0)")
        ->check(number_in(kSalinityRange.low, kSalinityRange.high));
    command->add_option("--from", options->range.from_c, "first temperature, degC (0)")
        ->check(number_in(kTemperatureRange.low, kTemperatureRange.high));
    command->add_option("--to", options->range.to_c, "last temperature, degC (25)")
        ->check(number_in(kTemperatureRange.low, kTemperatureRange.high));
    command->add_option("--step", options->range.step_c, "step, degC (1)")
        ->check(number_in(0.1, 40));
    add_choice(command, "--format", options->format, {"text", "csv", "json"}, "text, csv or json");
    add_choice(command, "--units", options->units, {"metric", "us"}, "metric or us, of the text");
    command->callback([options, &status] { status = run(*options); });
}

}  // namespace coldtank::cli
