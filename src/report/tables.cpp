#include "report/tables.hpp"

#include <fmt/core.h>

#include <array>
#include <cmath>

#include "text/csv.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

constexpr std::array kShares{80, 90, 100};

double at(WaterState water, double temperature_c) {
    water.temperature_c = temperature_c;
    return oxygen_saturation_mg_l(water);
}

}  // namespace

std::string source_formats::text_begin(const SourcesRun& /*run*/) {
    return "Every coefficient, limit and default, with its basis and source. What stands in\n"
           "brackets is a key of a description's `coefficients`, which sets it otherwise;\n"
           "'likely' what it may as well be, for coldtank spread.\n";
}

std::string source_formats::text(const Source& source, const SourcesRun& run) {
    const Constant& constant = source.constant;
    std::string out;
    if (&source == &run.front() || (&source)[-1].used_in != source.used_in) {
        out += fmt::format("\n{}\n", source.used_in);
    }
    const std::string value = constant.value ? exact(*constant.value) : "a fit";
    const Likely& likely = source.likely;
    const std::string may_be =
        likely.ends            ? fmt::format("; likely {} to {}: {}", exact(likely.ends->low),
                                             exact(likely.ends->high), likely.why)
        : !likely.with.empty() ? fmt::format("; moves with {}", likely.with)
        : !likely.why.empty()  ? fmt::format("; taken as known: {}", likely.why)
                               : "";
    return out + wrapped(source.key.empty() ? fmt::format("  {}: ", constant.name)
                                            : fmt::format("  {} ({}): ", constant.name, source.key),
                         fmt::format("{}{}{} [{}: {}{}]", value, constant.unit == "-" ? "" : " ",
                                     constant.unit == "-" ? "" : constant.unit,
                                     name_of(constant.basis), constant.source, may_be),
                         6);
}

std::string source_formats::csv_begin(const SourcesRun& /*run*/) {
    return "used_in,name,value,unit,basis,source,key,likely_low,likely_high,likely_why\n";
}

std::string source_formats::csv(const Source& source, const SourcesRun& /*run*/) {
    const Constant& constant = source.constant;
    const auto& ends = source.likely.ends;
    return fmt::format("{},{},{},{},{},{},{},{},{},{}\n", csv_cell(source.used_in),
                       csv_cell(constant.name), constant.value ? exact(*constant.value) : "",
                       csv_cell(constant.unit), csv_cell(name_of(constant.basis)),
                       csv_cell(constant.source), source.key, ends ? exact(ends->low) : "",
                       ends ? exact(ends->high) : "", csv_cell(source.likely.why));
}

std::string source_formats::json_begin(const SourcesRun& /*run*/) {
    return io::json_begin("sources", [](Fields&) {});
}
std::string source_formats::json_end(const SourcesRun& run) { return io::json_end(run.empty()); }

std::string source_formats::json(const Source& source, const SourcesRun& /*run*/) {
    return json_item([&](Fields& out) {
        const Constant& constant = source.constant;
        out.text("used_in", source.used_in);
        out.text("name", constant.name);
        out.number("value", constant.value);
        out.text("unit", constant.unit);
        out.text("basis", name_of(constant.basis));
        out.text("source", constant.source);
        out.text_or_null("key", source.key);
        const auto& ends = source.likely.ends;
        out.number("likely_low", ends ? std::optional(ends->low) : std::nullopt);
        out.number("likely_high", ends ? std::optional(ends->high) : std::nullopt);
        out.text_or_null("likely_why", source.likely.why);
    });
}

std::vector<double> temperatures_of(const CardRange& range) {
    std::vector<double> temperatures;
    const auto count =
        static_cast<int>(std::floor((range.to_c - range.from_c) / range.step_c + 1e-9));
    for (int i = 0; i <= count; ++i) temperatures.push_back(range.from_c + i * range.step_c);
    return temperatures;
}

std::string saturation_formats::text_begin(const SaturationRun& run) {
    std::string out = fmt::format(
        "Oxygen in water, mg/L, at {}{}{}\n\n{:>8}",
        run.altitude_m ? run.show.with_unit(Measure::altitude_m, *run.altitude_m) + ", " : "",
        run.show.with_unit(Measure::pressure_kpa, run.water.pressure_kpa),
        run.water.salinity_g_kg > 0
            ? fmt::format(" and {} g/kg of salt", exact(run.water.salinity_g_kg))
            : "",
        run.show.unit(Measure::temperature_c));
    for (const int share : kShares) out += fmt::format("{:>8}", fmt::format("{} %", share));
    return out + '\n';
}

std::string saturation_formats::text(const double& temperature_c, const SaturationRun& run) {
    std::string out = fmt::format("{:>8}", run.show.bare(Measure::temperature_c, temperature_c));
    for (const int share : kShares) {
        out += fmt::format("{:>8.2f}", off_tie(at(run.water, temperature_c) * share / 100));
    }
    return out + '\n';
}

std::string saturation_formats::text_end(const SaturationRun& /*run*/) {
    return "\nBenson & Krause 1984. Set the meter to this pressure and salinity.\n";
}

std::string saturation_formats::csv_begin(const SaturationRun& /*run*/) {
    return "temperature_c,oxygen_80_percent_mg_l,oxygen_90_percent_mg_l,"
           "oxygen_100_percent_mg_l\n";
}

std::string saturation_formats::csv(const double& temperature_c, const SaturationRun& run) {
    std::string out = exact(temperature_c);
    for (const int share : kShares) {
        out += fmt::format(",{}", exact(at(run.water, temperature_c) * share / 100));
    }
    return out + '\n';
}

std::string saturation_formats::json_begin(const SaturationRun& run) {
    return io::json_begin("rows", [&](Fields& out) {
        out.number("altitude_m", run.altitude_m);
        out.number("pressure_kpa", run.water.pressure_kpa);
        out.number("salinity_g_kg", run.water.salinity_g_kg);
    });
}

std::string saturation_formats::json(const double& temperature_c, const SaturationRun& run) {
    return json_item([&](Fields& out) {
        out.number("temperature_c", temperature_c);
        out.number("saturation_mg_l", at(run.water, temperature_c));
    });
}

std::string saturation_formats::json_end(const SaturationRun& /*run*/) {
    return io::json_end(false);
}

}  // namespace coldtank::io
