#include "read/season.hpp"

#include <fmt/core.h>

#include "read/object_reader.hpp"
#include "text/clock.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

// A day of a key; a fault where it is none.
std::optional<Day> read_day(const ObjectReader& reader, std::string_view key) {
    const auto text = reader.text(key);
    if (!text) return std::nullopt;
    const auto day = parse_day(*text);
    if (!day)
        reader.fault(key, fmt::format("\"{}\" is no day: write 2026-04-01", shortened(*text)));
    return day;
}

}  // namespace

std::optional<SeasonInput> read_season(const JsonNode& node, std::vector<Fault>& faults) {
    const std::size_t before = faults.size();
    const ObjectReader reader(node, Scope::season, "/season", faults);
    SeasonInput season;
    if (const auto start = read_day(reader, "start")) season.start = *start;
    season.until = read_day(reader, "until");
    season.target_weight_g = reader.number("target_weight_g");
    if (reader.misses("until") && reader.misses("target_weight_g")) {
        reader.fault("", "until or target_weight_g is missing: when does it end?");
    }
    if (season.until && *season.until < season.start) {
        reader.fault("until", "lies before start");
    } else if (season.until && *season.until - season.start > static_cast<Day>(kSeasonMostDays)) {
        reader.fault("until", fmt::format("is over {} days from start", exact(kSeasonMostDays)));
    }
    if (const auto means = reader.numbers("monthly_mean_c"); !means.empty()) {
        std::array<double, kNumbers> months{};
        std::copy(means.begin(), means.end(), months.begin());
        season.monthly_mean_c = months;
    }
    const bool wave =
        reader.has("mean_c") || reader.has("amplitude_c") || reader.has("warmest_day");
    if (wave && reader.has("monthly_mean_c")) {
        reader.fault("monthly_mean_c", "give it or mean_c, amplitude_c and warmest_day, not both");
    } else if (wave) {
        const auto mean_c = reader.number("mean_c");
        const auto amplitude_c = reader.number("amplitude_c");
        const auto warmest = reader.text("warmest_day");
        const auto day = warmest ? parse_day("2025-" + *warmest) : std::nullopt;
        if (warmest && !day) reader.fault("warmest_day", "is a day of the year: write 08-05");
        if (!reader.has("mean_c") || !reader.has("amplitude_c") || !warmest) {
            reader.fault("", "mean_c, amplitude_c and warmest_day belong together");
        }
        if (mean_c && amplitude_c && day) {
            season.wave = SeasonInput::Wave{*mean_c, *amplitude_c,
                                            static_cast<int>(*day - *parse_day("2025-01-01")) + 1};
            for (const double end_c : {*mean_c - *amplitude_c, *mean_c + *amplitude_c}) {
                if (!kTemperatureRange.holds(end_c)) {
                    reader.fault("amplitude_c",
                                 "with mean_c leaves what water can be: 0 to 40 degC");
                }
            }
        }
    }
    season.daily_swing_c = reader.number("daily_swing_c");
    season.warm_spell_c = reader.number("warm_spell_c");
    reader.number("mortality_percent_month", season.mortality_percent_month);
    reader.exclusive("ration", "ration_percent_day");
    if (reader.text("ration") == "growth") season.ration = SeasonInput::Ration::growth;
    if (const auto percent = reader.number("ration_percent_day")) {
        season.ration = SeasonInput::Ration::percent;
        season.ration_percent_day = *percent;
    }
    reader.number("fcr", season.fcr);
    const auto list = reader.list("thinning");
    for (std::size_t i = 0; i < list.size(); ++i) {
        const ObjectReader part(list[i], Scope::thinning, pointer_to(reader.pointer("thinning"), i),
                                faults);
        SeasonInput::Thinning thinning{};
        if (const auto day = read_day(part, "date")) thinning.day = *day;
        thinning.tank = part.text("tank").value_or("");
        thinning.count = part.number("count");
        thinning.share = part.number("share");
        thinning.to_kg = part.number("to_kg");
        const int told =
            (part.has("count") ? 1 : 0) + (part.has("share") ? 1 : 0) + (part.has("to_kg") ? 1 : 0);
        if (told != 1) part.fault("", "give count, share or to_kg, one of them");
        season.thinning.push_back(std::move(thinning));
    }
    if (faults.size() > before) return std::nullopt;
    return season;
}

}  // namespace coldtank::io
