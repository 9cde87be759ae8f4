#include "report/trend.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <tuple>

#include "report/page_parts.hpp"
#include "text/csv.hpp"
#include "text/json_writer.hpp"
#include "text/svg.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

constexpr double kDayS = 86400;

struct SeriesColumns {
    std::string_view name;
    std::string_view unit;
    Side broken;
    const char* value;
    const char* warn;
    const char* fail;
};
constexpr SeriesColumns kSeries[] = {
    {"measured oxygen", "mg/L", Side::below, "oxygen_measured_mg_l", "oxygen_warn", "oxygen_fail"},
    {"lowest oxygen", "mg/L", Side::below, "oxygen_lowest_mg_l", "oxygen_warn", "oxygen_fail"},
    {"ammonia as NH3", "mg/L", Side::above, "ammonia_value", "ammonia_warn", "ammonia_fail"},
    {"demand at peak", "g/h", Side::above, "oxygen_demand_peak_g_h", "oxygen_supply_g_h", ""},
    {"density", "kg/m3", Side::above, "density_value", "density_warn", "density_fail"}};

std::vector<TrendPoint> points_of(const char* column, std::span<const LogRecord* const> records) {
    std::vector<TrendPoint> out;
    for (const LogRecord* record : records) {
        const auto value = number_in(record->cells, column);
        if (!value) continue;
        out.push_back(
            {static_cast<double>(record->time.seconds - records[0]->time.seconds) / kDayS, *value});
    }
    return out;
}

Series series_of(const SeriesColumns& columns, std::span<const LogRecord* const> records) {
    Series out{columns.name, columns.unit, columns.broken, {}, {}, {}, {}, {}, {}};
    out.points = points_of(columns.value, records);
    out.warn = number_in(records.back()->cells, columns.warn);
    out.fail = number_in(records.back()->cells, columns.fail);
    if (out.points.size() > 2) out.line = fit_line(out.points);
    if (!out.line) return out;
    const double last_x =
        static_cast<double>(records.back()->time.seconds - records[0]->time.seconds) / kDayS;
    if (out.warn) out.to_warn = days_to(*out.line, *out.warn, out.broken, last_x);
    if (out.fail) out.to_fail = days_to(*out.line, *out.fail, out.broken, last_x);
    // Whatever the line says, a limit that the last record breaks is met.
    if (out.points.back().x != last_x) return out;
    const double sign = out.broken == Side::above ? 1 : -1;
    for (const auto& [limit, days] :
         {std::pair{out.warn, &out.to_warn}, std::pair{out.fail, &out.to_fail}}) {
        if (limit && sign * (out.points.back().value - *limit) > 0) {
            days->likely = days->soonest = 0;
        }
    }
    return out;
}

constexpr int kYear = 365;

std::string days_words(const std::optional<double>& days) {
    if (!days) return "never";
    if (*days > kYear) return fmt::format(">{}", kYear);
    return *days == 0 ? "now" : figure(*days, *days < 10 ? 1 : 0);
}

// "30 (22-45)"
std::string crossing_words(const std::optional<double>& limit, const DaysTo& days) {
    if (!limit) return "-";
    const std::string likely = days_words(days.likely);
    const std::string soonest = days_words(days.soonest);
    const std::string latest = days_words(days.latest);
    if (soonest == likely && (latest == likely || days.soonest > kYear)) return likely;
    return fmt::format("{} ({}-{})", likely, soonest, latest);
}

// The series that a reader wants to see: the one that meets a limit first.
const Series* most_pressing(const TankTrend& trend) {
    const auto days = [](const Series& series) {
        const double never = 2 * kTrendHorizonDays;
        return series.to_warn.likely.value_or(never + series.to_warn.soonest.value_or(never));
    };
    const Series* first = nullptr;
    for (const Series& each : trend.series) {
        if (each.line && (first == nullptr || days(each) < days(*first))) first = &each;
    }
    return first;
}

// From and to of a value axis that shows all points, and a limit that is not far off.
struct Axis {
    double low;
    double high;
};
Axis axis_of(const Series& series) {
    Axis axis{series.points[0].value, series.points[0].value};
    for (const TrendPoint& point : series.points) {
        axis.low = std::min(axis.low, point.value);
        axis.high = std::max(axis.high, point.value);
    }
    if (series.line) {
        for (const double days : {series.line->first_x, series.line->last_x}) {
            axis.low = std::min(axis.low, series.line->at(days));
            axis.high = std::max(axis.high, series.line->at(days));
        }
    }
    const double size = std::max({axis.high - axis.low, std::abs(axis.high) / 20, 1e-9});
    for (const auto& limit : {series.warn, series.fail}) {
        if (limit && *limit<axis.high + 4 * size&& * limit> axis.low - 4 * size) {
            axis.low = std::min(axis.low, *limit);
            axis.high = std::max(axis.high, *limit);
        }
    }
    const double margin = (axis.high - axis.low > 0 ? axis.high - axis.low : size) / 20;
    return {axis.low - margin, axis.high + margin};
}

// Points and limits in ASCII: 56 columns of time, 9 rows of value.
std::string text_chart(const Series& series, const TankTrend& trend) {
    constexpr int kWidth = 56;
    constexpr int kHeight = 9;
    const Axis axis = axis_of(series);
    if (!std::isfinite(axis.high - axis.low)) return {};
    std::vector<std::string> rows(kHeight, std::string(kWidth, ' '));
    std::vector<std::string> labels(kHeight);
    const auto row_of = [&](double value) {
        const double share = (axis.high - value) / (axis.high - axis.low);
        return std::clamp(static_cast<int>(share * kHeight), 0, kHeight - 1);
    };
    for (const auto& [limit, word] :
         {std::pair{series.warn, " warn"}, std::pair{series.fail, " fail"}}) {
        if (!limit || *limit < axis.low || *limit > axis.high) continue;
        const auto row = static_cast<std::size_t>(row_of(*limit));
        for (int i = 0; i < kWidth; i += 2) rows[row][static_cast<std::size_t>(i)] = '-';
        labels[row] += word;
    }
    const double span_days = std::max(series.line->last_x, 1e-9);
    for (const TrendPoint& point : series.points) {
        const int column = std::clamp(
            static_cast<int>(std::lround(point.x / span_days * (kWidth - 1))), 0, kWidth - 1);
        rows[static_cast<std::size_t>(row_of(point.value))][static_cast<std::size_t>(column)] = '*';
    }
    std::string out = fmt::format("  {}, {}\n", series.name, series.unit);
    for (int i = 0; i < kHeight; ++i) {
        const double middle = axis.high - (i + 0.5) * (axis.high - axis.low) / kHeight;
        const std::string scale = i % 4 == 0 ? figure(middle) : "";
        const auto row = static_cast<std::size_t>(i);
        std::string line = fmt::format("  {:>8} |{}{}", scale, rows[row], labels[row]);
        out += line.substr(0, line.find_last_not_of(' ') + 1) + '\n';
    }
    const std::string first = date_of(trend.from);
    const std::string last = date_of(trend.to);
    return out + fmt::format("           {}{:>{}}\n", first, last,
                             kWidth - static_cast<int>(first.size()));
}

struct LastColumn {
    const char* column;
    const char* unit;
};
constexpr LastColumn kLastColumns[] = {{"input_temperature_c", " degC"},
                                       {"input_oxygen_mg_l", " mg/L oxygen"},
                                       {"input_ph", ""},
                                       {"input_tan_mg_l", " mg/L total ammonia"},
                                       {"input_nitrite_mg_l", " mg/L nitrite"}};

std::string last_words(const TankTrend& trend) {
    std::vector<std::string> words;
    for (const LastColumn& last : kLastColumns) {
        const auto value = number_in(trend.last, last.column);
        if (!value) continue;
        words.push_back(*last.unit == '\0' ? fmt::format("pH {}", figure(*value, 2))
                                           : figure(*value) + last.unit);
    }
    const auto fish = number_in(trend.last, "fish_count");
    const auto kg = number_in(trend.last, "biomass_kg");
    if (fish && kg) words.push_back(fmt::format("{} fish, {} kg", exact(*fish), figure(*kg)));
    return joined(words, "; ");
}

void list_days(std::string_view key, const DaysTo& days, Fields& out) {
    out.object(key, [&] {
        out.number("likely", days.likely);
        out.number("soonest", days.soonest);
        out.number("latest", days.latest);
    });
}

void list_series(const Series& series, Fields& out) {
    out.text("series", series.name);
    out.text("unit", series.unit);
    out.whole("records", series.points.size());
    out.number("value",
               series.points.empty() ? std::nullopt : std::optional(series.points.back().value));
    out.number("warn", series.warn);
    out.number("fail", series.fail);
    std::optional<double> week;
    double band = 0;
    if (series.line) {
        week = 7 * series.line->slope;
        band = 7 * series.line->slope_band();
    }
    out.number("slope_per_week", week);
    out.number("slope_per_week_low", week ? std::optional(*week - band) : std::nullopt);
    out.number("slope_per_week_high", week ? std::optional(*week + band) : std::nullopt);
    list_days("days_to_warn", series.to_warn, out);
    list_days("days_to_fail", series.to_fail, out);
}

// ---- the picture

// Days since 1970 of the clock that wrote the first record.
double first_day_of(const TankTrend& trend) {
    return static_cast<double>(trend.from.seconds + trend.from.offset_s) / kDayS;
}

std::string day_words(double day) { return day_text(static_cast<std::int64_t>(std::floor(day))); }

double last_days_of(const TankTrend& trend) {
    return static_cast<double>(trend.to.seconds - trend.from.seconds) / kDayS;
}

// How far lines are carried on: to the last crossing that comes within as many days as were
// logged, or two weeks.
double days_ahead_of(const TankTrend& trend) {
    const double last = last_days_of(trend);
    double out = 0;
    for (const Series& series : trend.series) {
        for (const DaysTo& days : {series.to_warn, series.to_fail}) {
            if (days.likely && *days.likely <= std::max(last, 14.0)) {
                out = std::max(out, *days.likely);
            }
        }
    }
    return out > 0 ? 1.05 * out : last / 8;
}

// The records of a series, the line through them with its band, and where that leads.
void draw_series(const Series& series, const TankTrend& trend, std::string_view name,
                 std::string_view warn, bool second, PictureStrip& strip) {
    if (series.points.empty()) return;
    const double first_day = first_day_of(trend);
    const double last = last_days_of(trend);
    PictureLine dots{.dots = second ? Dots::hollow : Dots::full, .joined = false};
    for (const TrendPoint& point : series.points) {
        dots.points.push_back({first_day + point.x, point.value});
    }
    if (!series.line) dots.name = name;
    strip.lines.push_back(std::move(dots));
    const double now = series.points.back().value;
    std::vector<std::string> words{fmt::format("{} {}", name.empty() ? "now" : name, figure(now))};
    if (series.broken == Side::above && series.warn && *series.warn > 0 && now >= 0 &&
        now < *series.warn) {
        words.back() += fmt::format(", {} % of {}", figure(now / *series.warn * 100, 0), warn);
    }
    if (series.line) {
        constexpr int kParts = 24;
        PictureLine line{.stroke = second ? Stroke::dotted : Stroke::solid};
        for (int i = 0; i <= kParts; ++i) {
            const double from = series.line->first_x;
            const double x = from + (last - from) * i / kParts;
            const double value = series.line->at(x);
            const double band = series.line->band_at(x);
            if (i == 0 || i == kParts) line.points.push_back({first_day + x, value});
            line.low.push_back({first_day + x, value - band});
            line.high.push_back({first_day + x, value + band});
        }
        PictureLine ahead{
            .name = name.empty() ? "" : fmt::format("{} {}", second ? "\u25cb" : "\u25cf", name),
            .points = {line.points.back()},
            .stroke = Stroke::dashed};
        double until = last + days_ahead_of(trend);
        if (series.line->at(until) < 0 && series.line->at(last) > 0) {
            until = last - series.line->at(last) / series.line->slope;
        }
        ahead.points.push_back({first_day + until, series.line->at(until)});
        strip.lines.push_back(std::move(line));
        strip.lines.push_back(std::move(ahead));
        for (const auto& [limit, days, word] :
             {std::tuple{series.warn, series.to_warn, warn},
              std::tuple{series.fail, series.to_fail, std::string_view("fail")}}) {
            if (!limit || !days.likely || *days.likely > kYear) continue;
            if (*days.likely == 0) {
                const bool broken = series.broken == Side::above ? now > *limit : now < *limit;
                words.push_back(broken ? fmt::format("past {} now", word)
                                       : fmt::format("its line is past {}", word));
                continue;
            }
            const double day = first_day + last + *days.likely;
            words.push_back(fmt::format("{} about {}", word, day_words(day)));
            if (days.soonest && *days.soonest > 0) {
                words.back() +=
                    fmt::format(" (from {})", day_words(first_day + last + *days.soonest));
            }
            if (*days.likely <= days_ahead_of(trend)) {
                strip.marks.push_back({day, fmt::format("{} {}", word, short_date(day)), {*limit}});
            }
        }
    }
    strip.notes.push_back(joined(words, "; "));
}

void limit_strip(const Series& series, std::string_view warn, PictureStrip& strip) {
    if (series.warn) strip.limits.push_back({std::string(warn), *series.warn, Stroke::dashed});
    if (series.fail) strip.limits.push_back({"fail", *series.fail, Stroke::dotted});
}

PictureStrip temperature_strip(const TankTrend& trend) {
    PictureStrip out{.heading = "temperature, degC"};
    const double first_day = first_day_of(trend);
    const auto line = [&](std::string_view name, std::span<const TrendPoint> points,
                          Stroke stroke) {
        if (points.empty()) return;
        PictureLine drawn{.name = fmt::format("{} {}", name, figure(points.back().value)),
                          .stroke = stroke};
        for (const TrendPoint& each : points) {
            drawn.points.push_back({first_day + each.x, each.value});
        }
        out.lines.push_back(std::move(drawn));
    };
    line("mean", trend.mean_c, Stroke::solid);
    line("peak", trend.peak_c, Stroke::dotted);
    add_limits(number_in(trend.last, "temperature_warn_low"),
               number_in(trend.last, "temperature_warn_high"),
               number_in(trend.last, "temperature_fail"), out);
    return out;
}

// What was weighed, over what a season foretold.
PictureStrip weight_strip(const TankTrend& trend) {
    PictureStrip out{.heading = "mean weight, g", .from_zero = true};
    PictureLine expected{.name = "expected"};
    PictureLine weighed{.name = "logged", .dots = Dots::full, .joined = false};
    for (const Against& each : trend.against) {
        const auto day = parse_day(each.date);
        if (!day) continue;
        const auto place = static_cast<double>(*day);
        expected.points.push_back({place, each.foretold.mean_weight_g});
        expected.low.push_back({place, each.foretold.mean_weight_low_g});
        expected.high.push_back({place, each.foretold.mean_weight_high_g});
        weighed.points.push_back({place, each.mean_weight_g});
    }
    out.lines = {std::move(expected), std::move(weighed)};
    out.notes.push_back("in the band: from slow growth to fast, as the season foretold");
    return out;
}

Picture picture_of(const TankTrend& trend) {
    Picture out{.title = fmt::format("{}, {}", trend.site, trend.tank),
                .description = trend.records == 0
                                   ? std::string("nothing is logged")
                                   : fmt::format("{} record{}, {} to {}", trend.records,
                                                 trend.records == 1 ? "" : "s", date_of(trend.from),
                                                 date_of(trend.to))};
    const bool any_line = std::any_of(trend.series.begin(), trend.series.end(),
                                      [](const Series& each) { return each.line.has_value(); });
    if (trend.records > 0 && !any_line) {
        out.description += "; no trend yet: three records are needed";
    }
    PictureStrip oxygen{.heading = "oxygen, mg/L"};
    std::vector<PictureStrip> others;
    for (const Series& series : trend.series) {
        if (series.points.empty()) continue;
        if (series.unit == "mg/L" && series.broken == Side::below) {
            const bool lowest = series.name == "lowest oxygen";
            if (oxygen.limits.empty()) limit_strip(series, "warn", oxygen);
            draw_series(series, trend, lowest ? "lowest" : "measured", "warn", lowest, oxygen);
            continue;
        }
        const bool demand = series.name == "demand at peak";
        PictureStrip strip{.heading = demand ? "demand for oxygen at peak, g/h"
                                             : fmt::format("{}, {}", series.name, series.unit),
                           .from_zero = series.broken == Side::above};
        const std::string_view warn = demand ? "supply" : "warn";
        limit_strip(series, warn, strip);
        draw_series(series, trend, "", warn, false, strip);
        others.push_back(std::move(strip));
    }
    if (!trend.against.empty()) out.strips.push_back(weight_strip(trend));
    if (!oxygen.lines.empty()) out.strips.push_back(std::move(oxygen));
    for (PictureStrip& each : others) out.strips.push_back(std::move(each));
    PictureStrip temperature = temperature_strip(trend);
    if (!temperature.lines.empty()) out.strips.push_back(std::move(temperature));
    return out;
}

// What a picture tells, for who does not see it.
std::string told(const TankTrend& trend, const Picture& picture) {
    std::vector<std::string> words{fmt::format("{}: {}", picture.title, picture.description)};
    for (const Series& series : trend.series) {
        if (series.points.empty()) continue;
        words.push_back(
            fmt::format("{} {} {}", series.name, figure(series.points.back().value), series.unit));
    }
    return joined(words, "; ");
}

}  // namespace

std::vector<std::string_view> trend_columns() {
    std::vector<std::string_view> out{
        "time",        "site",       "tank",       "verdict",
        "first_limit", "fish_count", "biomass_kg", "input_mean_weight_g"};
    for (const LastColumn& last : kLastColumns) out.push_back(last.column);
    for (const SeriesColumns& series : kSeries) {
        for (const char* column : {series.value, series.warn, series.fail}) out.push_back(column);
    }
    for (const char* column : {"input_peak_temperature_c", "temperature_warn_low",
                               "temperature_warn_high", "temperature_fail"}) {
        out.push_back(column);
    }
    return out;
}

std::vector<TankTrend> trends_of(std::span<const Logbook> books,
                                 const std::optional<Instant>& since, const Instant& now) {
    constexpr double kSilentDays = 2;
    std::map<std::pair<std::string, std::string>, std::size_t> ahead;
    std::map<std::pair<std::string, std::string>, std::int64_t> last_ever;
    std::vector<std::pair<std::string, std::string>> order;
    std::map<std::pair<std::string, std::string>, std::vector<const LogRecord*>> by_tank;
    for (const Logbook& book : books) {
        for (const LogRecord& record : book.records) {
            const std::pair name{text_in(record.cells, "site"), text_in(record.cells, "tank")};
            const auto [last, added] = last_ever.try_emplace(name, record.time.seconds);
            if (added) order.push_back(name);
            if (record.time.seconds <= now.seconds + kClockSlackS) {
                last->second =
                    added ? record.time.seconds : std::max(last->second, record.time.seconds);
            }
            if (since && record.time.seconds < since->seconds) continue;
            if (record.time.seconds > now.seconds + kClockSlackS) {
                ++ahead[name];
                continue;
            }
            by_tank[name].push_back(&record);
        }
    }
    std::vector<TankTrend> out;
    for (const auto& name : order) {
        std::vector<const LogRecord*>& records = by_tank[name];
        const double silent = static_cast<double>(now.seconds - last_ever[name]) / kDayS;
        const auto silent_days = silent > kSilentDays ? std::optional(silent) : std::nullopt;
        if (records.empty()) {  // all too old, or ahead of the clock
            out.push_back({.site = name.first,
                           .tank = name.second,
                           .silent_days = silent_days,
                           .ahead = ahead[name]});
            continue;
        }
        // A clock that was set back leaves the book out of order; a book beside its copy has twice
        // the same.
        std::stable_sort(records.begin(), records.end(),
                         [](const LogRecord* a, const LogRecord* b) {
                             return a->time.seconds < b->time.seconds;
                         });
        // Of two at once the second: a run put right.
        const auto same = [](const LogRecord* a, const LogRecord* b) {
            return a->time.seconds == b->time.seconds;
        };
        records.erase(records.begin(), std::unique(records.rbegin(), records.rend(), same).base());
        TankTrend trend{.site = name.first,
                        .tank = name.second,
                        .from = records.front()->time,
                        .to = records.back()->time,
                        .silent_days = silent_days,
                        .ahead = ahead[name],
                        .records = records.size(),
                        .last = records.back()->cells};
        for (const SeriesColumns& columns : kSeries) {
            trend.series.push_back(series_of(columns, records));
        }
        trend.mean_c = points_of("input_temperature_c", records);
        trend.peak_c = points_of("input_peak_temperature_c", records);
        out.push_back(std::move(trend));
    }
    return out;
}

namespace {

// The last dozen of weighings beside the season.
std::string against_words(const TankTrend& trend, const Display& show) {
    constexpr std::size_t kMost = 12;
    std::string out =
        fmt::format("  {:<12} {:>8} {:>24} {:>10} {:>10}\n", "the season",
                    show.unit(Measure::weight_g), "expected (slow to fast)", "mg/L read", "lowest");
    const std::size_t from = trend.against.size() > kMost ? trend.against.size() - kMost : 0;
    for (std::size_t i = from; i < trend.against.size(); ++i) {
        const Against& each = trend.against[i];
        const auto oxygen = [](const std::optional<double>& value) {
            return value ? figure(*value) : std::string("-");
        };
        const auto grams = [&](double value) { return show.bare(Measure::weight_g, value); };
        out += fmt::format("  {:<12} {:>8} {:>24} {:>10} {:>10}\n", each.date,
                           grams(each.mean_weight_g),
                           fmt::format("{} ({} to {})", grams(each.foretold.mean_weight_g),
                                       grams(each.foretold.mean_weight_low_g),
                                       grams(each.foretold.mean_weight_high_g)),
                           oxygen(each.oxygen_mg_l), oxygen(each.foretold.oxygen_lowest_mg_l));
    }
    const Against& last = trend.against.back();
    if (last.heavier()) {
        out += wrapped("  warn    ",
                       "fish are heavier than in the season's fast growth: what it says of checks "
                       "comes sooner; work it out again with --logbook",
                       10);
    }
    if (last.poorer()) {
        out += wrapped("  warn    ",
                       "less oxygen was read than the season has at its lowest: do not trust what "
                       "it passes; coldtank budget with the reading says what is short",
                       10);
    }
    return out;
}

}  // namespace

std::string trend_formats::text(const TankTrend& trend, const TrendRun& run) {
    const Display& show = run.show;
    std::string words =
        fmt::format("{}, {}: {} record{}", printable(trend.site), printable(trend.tank),
                    trend.records, trend.records == 1 ? "" : "s");
    if (trend.records > 0) {
        words += fmt::format(", {} to {}; last verdict {}", date_of(trend.from), date_of(trend.to),
                             printable(text_in(trend.last, "verdict")));
        if (const auto first = text_in(trend.last, "first_limit");
            !first.empty() && text_in(trend.last, "verdict") != "pass") {
            words += fmt::format(": {}", with_blanks(printable(first)));
        }
    }
    std::string out = wrapped("", words, 2);
    if (trend.silent_days) {
        out += wrapped("  warn    ",
                       fmt::format("nothing was logged for {} days: is cron alive?",
                                   figure(*trend.silent_days, 0)),
                       10);
    }
    if (trend.ahead > 0) {
        out += wrapped("  warn    ",
                       fmt::format("{} record{} ahead of this clock left out: is the clock right?",
                                   trend.ahead, trend.ahead == 1 ? "" : "s"),
                       10);
    }
    if (trend.records == 0) return out;
    out += wrapped("  last    ", last_words(trend), 10);
    out += fmt::format("  {:<20} {:>8} {:>10}  {:<18} {}\n", "", "last", "a week", "warn in days",
                       "fail in days");
    out.erase(out.find_last_not_of(" \n") + 1);
    out += '\n';
    for (const Series& series : trend.series) {
        if (series.points.empty()) {
            out += fmt::format("  {:<20} {:>8}  nothing to judge was logged\n", series.name, "-");
            continue;
        }
        const bool density = series.name == "density";
        const double scale = density ? show.value(Measure::density_kg_m3, 1) : 1;
        const std::string label = fmt::format(
            "{} {}", series.name,
            density ? std::string(show.unit(Measure::density_kg_m3)) : std::string(series.unit));
        const double now = series.points.back().value * scale;
        if (!series.line) {
            out += fmt::format("  {:<20} {:>8}  no trend yet: three records are needed\n", label,
                               figure(now));
            continue;
        }
        const double week = 7 * series.line->slope * scale;
        std::string line = fmt::format("  {:<20} {:>8} {:>10}  {:<18} {}", label, figure(now),
                                       fmt::format("{}{}", week > 0 ? "+" : "", figure(week)),
                                       crossing_words(series.warn, series.to_warn),
                                       crossing_words(series.fail, series.to_fail));
        out += line.substr(0, line.find_last_not_of(' ') + 1) + '\n';
    }
    if (!trend.against.empty()) out += against_words(trend, show);
    if (const Series* first = most_pressing(trend)) out += '\n' + text_chart(*first, trend);
    return out;
}

std::string trend_formats::text_end(const TrendRun& run) {
    if (run.trends == 0) {
        return !run.whole  ? ""
               : run.since ? "nothing is logged since\n"
                           : "nothing is logged yet\n";
    }
    return '\n' +
           wrapped("",
                   "A straight line through what was logged; days from the last record until the "
                   "line, and in brackets the edges of its 95 % band, meet a limit: a guess that "
                   "weather, feed, weighings and moved fish undo. Lowest oxygen is predicted, at "
                   "the day's peak. Demand warns where it meets the supply of the last record.",
                   0);
}

std::string trend_formats::json_begin(const TrendRun& /*run*/) {
    return io::json_begin("tanks", list_program);
}
std::string trend_formats::json_end(const TrendRun& run) { return io::json_end(run.trends == 0); }

std::string trend_formats::json(const TankTrend& trend, const TrendRun& /*run*/) {
    return json_item([&](Fields& out) {
        out.text("site", trend.site);
        out.text("tank", trend.tank);
        out.whole("records", trend.records);
        out.text_or_null("from", trend.records > 0 ? text_of(trend.from) : "");
        out.text_or_null("to", trend.records > 0 ? text_of(trend.to) : "");
        out.number("silent_days", trend.silent_days);
        out.whole("records_ahead", trend.ahead);
        out.text("verdict", text_in(trend.last, "verdict"));
        out.object("last", [&] {
            for (const LastColumn& each : kLastColumns) {
                const std::string_view column = each.column;
                out.number(column.substr(column.find('_') + 1),
                           number_in(trend.last, std::string(column)));
            }
        });
        out.objects("series", {}, trend.series,
                    [&](const Series& series) { list_series(series, out); });
        out.objects("against", {}, trend.against, [&](const Against& each) {
            out.text("date", each.date);
            out.number("mean_weight_g", each.mean_weight_g);
            out.number("foretold_mean_weight_g", each.foretold.mean_weight_g);
            out.number("foretold_mean_weight_low_g", each.foretold.mean_weight_low_g);
            out.number("foretold_mean_weight_high_g", each.foretold.mean_weight_high_g);
            out.number("oxygen_mg_l", each.oxygen_mg_l);
            out.number("foretold_oxygen_lowest_mg_l", each.foretold.oxygen_lowest_mg_l);
        });
    });
}

std::string trend_formats::csv_begin(const TrendRun& /*run*/) {
    return "site,tank,series,unit,records,from,to,value,slope_per_week,slope_per_week_low,"
           "slope_per_week_high,warn,fail,days_to_warn,days_to_warn_soonest,days_to_warn_latest,"
           "days_to_fail,days_to_fail_soonest,days_to_fail_latest\n";
}

std::string trend_formats::names(const TankTrend& trend, const TrendRun& /*run*/) {
    return printable(trend.tank) + '\n';
}

std::string trend_formats::csv(const TankTrend& trend, const TrendRun& /*run*/) {
    const auto cell = [](std::optional<double> value) {
        return value && std::isfinite(*value) ? exact(*value) : std::string{};
    };
    std::string out;
    for (const Series& series : trend.series) {
        std::optional<double> week;
        double band = 0;
        if (series.line) {
            week = 7 * series.line->slope;
            band = 7 * series.line->slope_band();
        }
        out += fmt::format(
            "{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{}\n", csv_cell(trend.site),
            csv_cell(trend.tank), series.name, series.unit, series.points.size(),
            text_of(trend.from), text_of(trend.to),
            series.points.empty() ? "" : exact(series.points.back().value), cell(week),
            cell(week ? std::optional(*week - band) : week),
            cell(week ? std::optional(*week + band) : week), cell(series.warn), cell(series.fail),
            cell(series.to_warn.likely), cell(series.to_warn.soonest), cell(series.to_warn.latest),
            cell(series.to_fail.likely), cell(series.to_fail.soonest), cell(series.to_fail.latest));
    }
    return out;
}

std::string trends_svg(std::span<const TankTrend> trends) {
    std::vector<Picture> pictures;
    std::vector<std::string> words;
    for (const TankTrend& trend : trends) {
        pictures.push_back(picture_of(trend));
        words.push_back(told(trend, pictures.back()));
    }
    const std::string title = pictures.size() == 1
                                  ? fmt::format("trend of {}", pictures[0].title)
                                  : fmt::format("trends of {} tanks", pictures.size());
    return svg_of(title, joined(words, ". "), pictures);
}

}  // namespace coldtank::io
