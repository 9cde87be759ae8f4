#include "read/season_temperatures.hpp"

#include <fmt/core.h>

#include "read/csv_objects.hpp"
#include "read/object_reader.hpp"
#include "text/clock.hpp"
#include "text/text.hpp"

namespace coldtank::io {

SeasonTemperatures read_season_temperatures(const std::string& path) {
    SeasonTemperatures out;
    const auto text = read_text(path, out.unreadable, out.errors);
    if (!text) return out;
    std::vector<Fault> faults;
    CsvObjects rows(*text, Scope::season_temperatures, false, faults);
    while (const auto row = rows.next()) {
        if (row->misshapen) continue;
        const ObjectReader reader(row->node, Scope::season_temperatures, {}, faults);
        const auto typed = reader.text("date");
        const auto temperature_c = reader.number("temperature_c");
        const auto day = typed ? parse_day(*typed) : std::nullopt;
        if (typed && !day) {
            reader.fault("date",
                         fmt::format("\"{}\" is no day: write 2026-04-01", shortened(*typed)));
        } else if (day && !out.daily.empty() && *day <= out.daily.back().day) {
            reader.fault("date", "does not come after the row before");
        } else if (day && temperature_c) {
            out.daily.push_back({*day, *temperature_c});
        }
    }
    if (faults.empty() && out.daily.empty()) faults.push_back({0, {}, "holds no temperature"});
    out.errors = located(std::move(faults), *text, path);
    return out;
}

}  // namespace coldtank::io
