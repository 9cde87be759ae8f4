#include "report/tables.hpp"

#include <fmt/core.h>

#include <array>
#include <cmath>
#include <vector>

#include "coldtank/sources.hpp"
#include "text/csv.hpp"
#include "text/json_writer.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

constexpr std::array kShares{80, 90, 100};

std::vector<double> steps_of(const CardRange& range) {
    std::vector<double> temperatures;
    const auto count =
        static_cast<int>(std::floor((range.to_c - range.from_c) / range.step_c + 1e-9));
    for (int i = 0; i <= count; ++i) temperatures.push_back(range.from_c + i * range.step_c);
    return temperatures;
}

double at(WaterState water, double temperature_c) {
    water.temperature_c = temperature_c;
    return oxygen_saturation_mg_l(water);
}

}  // namespace

std::string sources_as_text() {
    std::string out =
        "Every coefficient, limit and default, with its basis and source. What stands in\n"
        "brackets is a key of a description's `coefficients`, which sets it otherwise.\n";
    std::string_view part;
    for (const auto& [used_in, constant, key] : sources()) {
        if (used_in != part) out += fmt::format("\n{}\n", used_in);
        part = used_in;
        const std::string value = constant.value ? exact(*constant.value) : "a fit";
        out += wrapped(key.empty() ? fmt::format("  {}: ", constant.name)
                                   : fmt::format("  {} ({}): ", constant.name, key),
                       fmt::format("{}{}{} [{}: {}]", value, constant.unit == "-" ? "" : " ",
                                   constant.unit == "-" ? "" : constant.unit,
                                   name_of(constant.basis), constant.source),
                       6);
    }
    return out;
}

std::string sources_as_csv() {
    std::string out = "used_in,name,value,unit,basis,source,key\n";
    for (const auto& [used_in, constant, key] : sources()) {
        out += fmt::format("{},{},{},{},{},{},{}\n", csv_cell(used_in), csv_cell(constant.name),
                           constant.value ? exact(*constant.value) : "", csv_cell(constant.unit),
                           csv_cell(name_of(constant.basis)), csv_cell(constant.source), key);
    }
    return out;
}

std::string sources_as_json() {
    JsonWriter out(JsonWriter::Style::page);
    out.begin_object({});
    out.fixed("format", 1);
    out.objects("sources", {}, sources(), [&](const Source& source) {
        const Constant& constant = source.constant;
        out.text("used_in", source.used_in);
        out.text("name", constant.name);
        out.number("value", constant.value);
        out.text("unit", constant.unit);
        out.text("basis", name_of(constant.basis));
        out.text("source", constant.source);
        out.text_or_null("key", source.key);
    });
    out.end_object();
    return out.take();
}

std::string saturation_as_text(const WaterState& water, const CardRange& range,
                               const Display& show) {
    std::string out = fmt::format(
        "Oxygen in water, mg/L, at {}{}\n\n{:>8}",
        show.with_unit(Measure::pressure_kpa, water.pressure_kpa),
        water.salinity_g_kg > 0 ? fmt::format(" and {} g/kg of salt", exact(water.salinity_g_kg))
                                : "",
        show.unit(Measure::temperature_c));
    for (const int share : kShares) out += fmt::format("{:>8}", fmt::format("{} %", share));
    out += '\n';
    for (const double temperature_c : steps_of(range)) {
        out += fmt::format("{:>8}", show.bare(Measure::temperature_c, temperature_c));
        for (const int share : kShares) {
            out += fmt::format("{:>8.2f}", at(water, temperature_c) * share / 100);
        }
        out += '\n';
    }
    return out + "\nBenson & Krause 1984. Set the meter to this pressure and salinity.\n";
}

std::string saturation_as_csv(const WaterState& water, const CardRange& range) {
    std::string out =
        "temperature_c,oxygen_80_percent_mg_l,oxygen_90_percent_mg_l,"
        "oxygen_100_percent_mg_l\n";
    for (const double temperature_c : steps_of(range)) {
        out += exact(temperature_c);
        for (const int share : kShares) {
            out += fmt::format(",{}", exact(at(water, temperature_c) * share / 100));
        }
        out += '\n';
    }
    return out;
}

std::string saturation_as_json(const WaterState& water, const CardRange& range) {
    JsonWriter out(JsonWriter::Style::page);
    out.begin_object({});
    out.fixed("format", 1);
    out.number("pressure_kpa", water.pressure_kpa);
    out.number("salinity_g_kg", water.salinity_g_kg);
    out.objects("rows", {}, steps_of(range), [&](double temperature_c) {
        out.number("temperature_c", temperature_c);
        out.number("saturation_mg_l", at(water, temperature_c));
    });
    out.end_object();
    return out.take();
}

}  // namespace coldtank::io
