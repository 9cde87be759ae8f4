#include <fmt/core.h>

#include <algorithm>
#include <limits>

#include "coldtank/budget.hpp"
#include "report/page_parts.hpp"
#include "report/season.hpp"
#include "text/clock.hpp"
#include "text/svg.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

constexpr double kEnd = std::numeric_limits<double>::infinity();
// Shares of a limit over this, and those that no number says, are drawn at it.
constexpr double kMostPercent = 200;

// One number of each day.
template <class Value>
std::vector<PicturePoint> points_of(const TankSeason& tank, const Value& value) {
    std::vector<PicturePoint> out;
    for (const SeasonDay& day : tank.days) {
        out.push_back({static_cast<double>(day.day), value(day)});
    }
    return out;
}

PictureStrip weight_strip(const TankSeason& tank, const SeasonInput& input) {
    PictureStrip out{.heading = "mean weight, g", .from_zero = true};
    out.lines.push_back(
        {.name = "expected",
         .points = points_of(tank, [](const SeasonDay& day) { return day.mean_weight_g; }),
         .low = points_of(tank, [](const SeasonDay& day) { return day.mean_weight_low_g; }),
         .high = points_of(tank, [](const SeasonDay& day) { return day.mean_weight_high_g; })});
    out.notes.push_back("in the band: from slow growth to fast");
    if (input.target_weight_g) {
        out.limits.push_back({"target", *input.target_weight_g, Stroke::dashed});
    }
    return out;
}

PictureStrip biomass_strip(const TankSeason& tank) {
    PictureStrip out{.heading = "fish, kg", .from_zero = true};
    out.lines.push_back({.name = "expected", .points = points_of(tank, [](const SeasonDay& day) {
                                                 return day.biomass_kg;
                                             })});
    out.lines.push_back(
        {.name = "judged",
         .points = points_of(tank, [](const SeasonDay& day) { return day.biomass_high_kg; }),
         .stroke = Stroke::dashed});
    out.notes.push_back("judged: the most that may be in the tank");
    return out;
}

PictureStrip warmth_strip(const TankSeason& tank, const TankLimits* limits) {
    PictureStrip out{.heading = "temperature, degC"};
    out.lines.push_back({.name = "mean", .points = points_of(tank, [](const SeasonDay& day) {
                                             return day.temperature_c;
                                         })});
    out.lines.push_back(
        {.name = "warmest hour",
         .points = points_of(tank, [](const SeasonDay& day) { return day.peak_temperature_c; }),
         .stroke = Stroke::dotted});
    if (limits == nullptr) return out;
    if (const auto cold = limits->temperature_low_warn_c) {
        out.limits.push_back({"warn", *cold, Stroke::dashed});
        out.zones.push_back({-kEnd, *cold, false});
    }
    if (const auto warn = limits->temperature_warn_c) {
        out.limits.push_back({"warn", *warn, Stroke::dashed});
        out.zones.push_back({*warn, limits->temperature_fail_c.value_or(kEnd), false});
    }
    if (const auto fail = limits->temperature_fail_c) {
        out.limits.push_back({"fail", *fail, Stroke::dotted});
        out.zones.push_back({*fail, kEnd, true});
    }
    return out;
}

// How much of its warn limit the check uses that runs short first.
PictureStrip share_strip(const TankSeason& tank) {
    PictureStrip out{.heading = "limit used by the tightest check, %", .from_zero = true};
    bool cut = false;
    const auto share = [&](const SeasonDay& day) {
        const double used = day.used_percent.value_or(day.verdict >= Status::fail ? kEnd : -kEnd);
        cut = cut || used > kMostPercent;
        return used < 0 ? kEnd : std::min(used, kMostPercent);
    };
    out.lines.push_back({.points = points_of(tank, share)});
    out.limits.push_back({"limit", 100, Stroke::dashed});
    std::vector<std::string> words;
    for (const SeasonTrouble& each : tank.warns) {
        words.push_back(fmt::format("{} {}", title_of(each.check), day_text(each.day)));
    }
    if (!words.empty()) out.notes.push_back("warns: " + joined(words, ", "));
    words.clear();
    for (const SeasonTrouble& each : tank.fails) {
        words.push_back(fmt::format("{} {}", title_of(each.check), day_text(each.day)));
    }
    if (!words.empty()) out.notes.push_back("fails: " + joined(words, ", "));
    if (cut) out.notes.push_back(fmt::format("what is over {} stands at it", kMostPercent));
    return out;
}

std::vector<PictureMark> marks_of(const TankSeason& tank) {
    std::vector<PictureMark> out;
    const auto mark = [&](std::string_view name, Day day) {
        const double place = static_cast<double>(day);
        out.push_back({place, fmt::format("{} {}", name, short_date(place)), {}});
    };
    if (tank.first_warn) mark("first warn", tank.first_warn->day);
    if (tank.first_fail) mark("first fail", tank.first_fail->day);
    if (tank.harvest.fast) mark("ready, fast", *tank.harvest.fast);
    if (tank.harvest.slow) mark("ready, slow", *tank.harvest.slow);
    return out;
}

Picture picture_of(const TankSeason& tank, const SeasonReport& report) {
    Picture out{.title = fmt::format("{}, {}", report.site ? report.site->name : "", tank.tank)};
    if (tank.days.empty()) return out;
    out.description =
        fmt::format("{} to {}; {}; {} fish at the start, {} kg of feed",
                    day_text(tank.days.front().day), day_text(tank.days.back().day),
                    name_of(tank.verdict), figure(tank.start_count, 0), figure(tank.feed_kg));
    const auto limits = report.limits.find(tank.tank);
    out.strips = {weight_strip(tank, report.input), biomass_strip(tank),
                  warmth_strip(tank, limits == report.limits.end() ? nullptr : &limits->second),
                  share_strip(tank)};
    for (PictureStrip& strip : out.strips) strip.marks = marks_of(tank);
    for (std::size_t i = 1; i < out.strips.size(); ++i) {  // named in the first
        for (PictureMark& mark : out.strips[i].marks) mark.label.clear();
    }
    return out;
}

}  // namespace

std::string season_svg(std::span<const SeasonReport> reports) {
    std::vector<Picture> pictures;
    std::vector<std::string> words;
    for (const SeasonReport& report : reports) {
        for (const TankSeason& tank : report.tanks) {
            pictures.push_back(picture_of(tank, report));
            const Picture& made = pictures.back();
            words.push_back(fmt::format("{}: {}", made.title, made.description));
        }
    }
    const std::string title = pictures.size() == 1
                                  ? fmt::format("season of {}", pictures[0].title)
                                  : fmt::format("seasons of {} tanks", pictures.size());
    return svg_of(title, joined(words, ". "), pictures);
}

}  // namespace coldtank::io
