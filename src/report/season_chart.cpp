#include <fmt/core.h>

#include <algorithm>
#include <cmath>
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
// Shares of a limit over this are drawn at it.
constexpr double kMostPercent = 200;

// One number of each day, in the reader's unit.
template <class Value>
std::vector<PicturePoint> points_of(const SeasonAnswer& tank, Measure measure, const Display& show,
                                    const Value& value) {
    std::vector<PicturePoint> out;
    for (const SeasonDay& day : tank.days) {
        out.push_back({static_cast<double>(day.day), show.value(measure, value(day))});
    }
    return out;
}

std::string heading_of(std::string_view words, Measure measure, const Display& show) {
    return fmt::format("{}, {}", words, show.unit(measure));
}

PictureStrip weight_strip(const SeasonAnswer& tank, const SeasonInput& input, const Display& show) {
    PictureStrip out{.heading = heading_of("mean weight", Measure::weight_g, show),
                     .from_zero = true};
    out.lines.push_back(
        {.name = "expected",
         .points = points_of(tank, Measure::weight_g, show,
                             [](const SeasonDay& day) { return day.mean_weight_g; }),
         .low = points_of(tank, Measure::weight_g, show,
                          [](const SeasonDay& day) { return day.mean_weight_low_g; }),
         .high = points_of(tank, Measure::weight_g, show,
                           [](const SeasonDay& day) { return day.mean_weight_high_g; })});
    out.notes.push_back("in the band: from slow growth to fast");
    if (input.target_weight_g) {
        out.limits.push_back(
            {"target", show.value(Measure::weight_g, *input.target_weight_g), Stroke::dashed});
    }
    return out;
}

PictureStrip biomass_strip(const SeasonAnswer& tank, const Display& show) {
    PictureStrip out{.heading = heading_of("fish", Measure::biomass_kg, show), .from_zero = true};
    out.lines.push_back({.name = "expected",
                         .points = points_of(tank, Measure::biomass_kg, show,
                                             [](const SeasonDay& day) { return day.biomass_kg; })});
    out.lines.push_back(
        {.name = "judged",
         .points = points_of(tank, Measure::biomass_kg, show,
                             [](const SeasonDay& day) { return day.biomass_high_kg; }),
         .stroke = Stroke::dashed});
    out.notes.push_back("judged: the most that may be in the tank");
    return out;
}

PictureStrip warmth_strip(const SeasonAnswer& tank, const Display& show) {
    PictureStrip out{.heading = heading_of("temperature", Measure::temperature_c, show)};
    out.lines.push_back(
        {.name = "mean",
         .points = points_of(tank, Measure::temperature_c, show,
                             [](const SeasonDay& day) { return day.temperature_c; })});
    out.lines.push_back(
        {.name = "warmest hour",
         .points = points_of(tank, Measure::temperature_c, show,
                             [](const SeasonDay& day) { return day.peak_temperature_c; }),
         .stroke = Stroke::dotted});
    const auto shown = [&](const std::optional<double>& limit_c) {
        return limit_c ? std::optional(show.value(Measure::temperature_c, *limit_c)) : std::nullopt;
    };
    add_limits(shown(tank.limits.temperature_low_warn_c), shown(tank.limits.temperature_warn_c),
               shown(tank.limits.temperature_fail_c), out);
    return out;
}

// How much of its warn limit each check uses, the tightest ones as lines of their own.
PictureStrip share_strip(const SeasonAnswer& tank) {
    constexpr std::size_t kMostLines = 4;
    PictureStrip out{.heading = "share of its limit that a check uses, %", .from_zero = true};
    struct Most {
        const TankSeason::Used* used;
        double percent;
    };
    std::vector<Most> checks;
    for (const TankSeason::Used& used : tank.used) {
        const double most = *std::max_element(used.share.begin(), used.share.end());
        if (most >= 0) checks.push_back({&used, most});
    }
    std::stable_sort(checks.begin(), checks.end(),
                     [](const Most& a, const Most& b) { return a.percent > b.percent; });
    const double cut = !checks.empty() && checks[0].percent > kMostPercent ? kMostPercent : kEnd;
    constexpr Stroke kStrokes[kMostLines] = {Stroke::solid, Stroke::dashed, Stroke::dotted,
                                             Stroke::dash_dotted};
    std::vector<std::string> rest;
    for (std::size_t i = 0; i < checks.size(); ++i) {
        const std::string title = title_of(checks[i].used->check);
        if (i >= kMostLines) {
            rest.push_back(title);
            continue;
        }
        PictureLine line{.name = title, .points = {}, .stroke = kStrokes[i]};
        for (std::size_t at = 0; at < tank.days.size(); ++at) {
            const double share = checks[i].used->share[at];
            line.points.push_back(
                {static_cast<double>(tank.days[at].day), share < 0 ? kEnd : std::min(share, cut)});
        }
        out.lines.push_back(std::move(line));
    }
    if (!rest.empty() && std::isfinite(checks[kMostLines].percent)) {
        out.notes.push_back(fmt::format("never over {} %: {}",
                                        exact(std::ceil(checks[kMostLines].percent)),
                                        joined(rest, ", ")));
    }
    out.limits.push_back({"limit", 100, Stroke::dashed});
    const auto list = [&](std::string_view word, const std::vector<SeasonTrouble>& troubles) {
        std::vector<std::string> words;
        for (const SeasonTrouble& each : troubles) {
            words.push_back(fmt::format("{} {}", title_of(each.check), day_text(each.day)));
        }
        if (!words.empty()) out.notes.push_back(fmt::format("{}: {}", word, joined(words, ", ")));
    };
    list("warns", tank.warns);
    list("fails", tank.fails);
    if (cut < kEnd) out.notes.push_back(fmt::format("what is over {} stands at it", exact(cut)));
    return out;
}

std::vector<PictureMark> marks_of(const SeasonAnswer& tank) {
    std::vector<PictureMark> out;
    const Day days = tank.days.back().day - tank.days.front().day;
    constexpr Day kOneYear = 365;
    const auto mark = [&](const std::string& name, Day day) {
        const double place = static_cast<double>(day);
        const std::string date =
            days > kOneYear ? day_words(day) : short_date(place);  // else the year is known
        out.push_back({place, fmt::format("{} {}", name, date), {}});
    };
    const auto first = [&](std::string_view word, const std::vector<SeasonTrouble>& troubles) {
        if (troubles.empty()) return;
        mark(fmt::format("{}: {}", word, title_of(troubles.front().check)), troubles.front().day);
    };
    first("warns", tank.warns);
    first("fails", tank.fails);
    const bool told = !tank.fails.empty() && tank.fails.front().check == CheckId::temperature;
    if (tank.too_warm_from && !told) mark("too warm", *tank.too_warm_from);
    if (tank.harvest.fast) mark("ready, fast", *tank.harvest.fast);
    if (tank.harvest.slow) mark("ready, slow", *tank.harvest.slow);
    return out;
}

Picture picture_of(const SeasonAnswer& tank, const SeasonReport& report, const Display& show) {
    Picture out{.title = fmt::format("{}, {}", report.site ? report.site->name : "", tank.tank)};
    if (tank.days.empty()) return out;
    out.description = fmt::format("{} to {}; {}; {} fish at the start, {} of feed",
                                  day_text(tank.days.front().day), day_text(tank.days.back().day),
                                  name_of(tank.verdict), figure(tank.start_count, 0),
                                  show.with_unit(Measure::biomass_kg, tank.feed_kg));
    if (tank.plan && tank.plan->fish_count > 0) {
        out.description += fmt::format("; {} can be stocked", exact(tank.plan->fish_count));
    } else if (tank.plan && tank.plan->last_safe) {
        out.description += fmt::format("; none after {}", day_words(*tank.plan->last_safe));
    }
    out.strips = {weight_strip(tank, report.input, show), biomass_strip(tank, show),
                  warmth_strip(tank, show), share_strip(tank)};
    for (PictureStrip& strip : out.strips) strip.marks = marks_of(tank);
    for (std::size_t i = 1; i < out.strips.size(); ++i) {  // named in the first
        for (PictureMark& mark : out.strips[i].marks) mark.label.clear();
    }
    return out;
}

}  // namespace

std::string season_svg(std::span<const SeasonReport> reports, const Display& show) {
    std::vector<Picture> pictures;
    std::vector<std::string> words;
    for (const SeasonReport& report : reports) {
        for (const SeasonAnswer& tank : report.tanks) {
            pictures.push_back(picture_of(tank, report, show));
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
