#include "report/trend.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "text/csv.hpp"
#include "text/json_writer.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

constexpr double kDayS = 86400;

// A number of a record; none for an empty cell, and for a text that is none.
std::optional<double> number_of(const std::map<std::string, std::string>& cells,
                                const std::string& column) {
    const auto cell = cells.find(column);
    if (cell == cells.end() || cell->second.empty()) return std::nullopt;
    char* end = nullptr;
    const double value = std::strtod(cell->second.c_str(), &end);
    if (*end != '\0' || !std::isfinite(value)) return std::nullopt;
    return value;
}

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

Series series_of(const SeriesColumns& columns, std::span<const LogRecord* const> records) {
    Series out{columns.name, columns.unit, columns.broken, {}, {}, {}, {}, {}, {}};
    for (const LogRecord* record : records) {
        const auto value = number_of(record->cells, columns.value);
        if (!value) continue;
        out.points.push_back(
            {static_cast<double>(record->time.seconds - records[0]->time.seconds) / kDayS, *value});
    }
    out.warn = number_of(records.back()->cells, columns.warn);
    out.fail = number_of(records.back()->cells, columns.fail);
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

Instant later(const Instant& from, double days) {
    return {from.seconds + static_cast<std::int64_t>(days * kDayS), from.offset_s};
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
        const int column =
            std::clamp(static_cast<int>(point.x / span_days * (kWidth - 1) + 0.5), 0, kWidth - 1);
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
        const auto value = number_of(trend.last, last.column);
        if (!value) continue;
        words.push_back(*last.unit == '\0' ? fmt::format("pH {}", figure(*value, 2))
                                           : figure(*value) + last.unit);
    }
    const auto fish = number_of(trend.last, "fish_count");
    const auto kg = number_of(trend.last, "biomass_kg");
    if (fish && kg) words.push_back(fmt::format("{} fish, {} kg", exact(*fish), figure(*kg)));
    return joined(words, "; ");
}

std::string cell_in(const std::map<std::string, std::string>& cells, const char* column) {
    const auto cell = cells.find(column);
    return cell == cells.end() ? "" : cell->second;
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

// ---- SVG

std::string xml_text(std::string_view text) {
    std::string out;
    for (const char c : printable(text)) {
        // U+FFFE and U+FFFF are no characters of XML: 0xEF 0xBF and one of these, which end no
        // other.
        if ((c == '\xBE' || c == '\xBF') && out.ends_with("\xEF\xBF")) {
            out += '\xBD';  // U+FFFD
            continue;
        }
        if (c == '&')
            out += "&amp;";
        else if (c == '<')
            out += "&lt;";
        else if (c == '>')
            out += "&gt;";
        else
            out += c;
    }
    return out;
}

struct Panel {
    double left, top, width, height;
};

std::string panel_svg(const Series& series, const TankTrend& trend, const Panel& panel) {
    std::string out = fmt::format(
        "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" fill=\"#ffffff\" stroke=\"#8a949b\"/>\n"
        "<text x=\"{}\" y=\"{}\" class=\"title\">{}, {}</text>\n",
        panel.left, panel.top, panel.width, panel.height, panel.left, panel.top - 8, series.name,
        series.unit);
    if (series.points.empty()) {
        return out + fmt::format("<text x=\"{}\" y=\"{}\">nothing logged</text>\n", panel.left + 12,
                                 panel.top + 24);
    }
    const Axis axis = axis_of(series);
    if (!std::isfinite(axis.high - axis.low)) return out;  // no tank has such figures
    const double last_x =
        std::max(series.line ? series.line->last_x : series.points.back().x, 1e-9);
    const auto x = [&](double days) {
        return panel.left + 10 + days / last_x * (panel.width - 20);
    };
    const auto y = [&](double value) {
        return panel.top + (axis.high - value) / (axis.high - axis.low) * panel.height;
    };
    const auto inside = [&](double value) { return std::clamp(value, axis.low, axis.high); };
    for (int i = 0; i <= 4; ++i) {
        const double value = axis.low + i * (axis.high - axis.low) / 4;
        out += fmt::format("<text x=\"{:.1f}\" y=\"{:.1f}\" text-anchor=\"end\">{}</text>\n",
                           panel.left - 6, y(value) + 4, figure(value));
    }
    if (series.line) {
        std::string upper;
        std::string lower;
        for (int i = 0; i <= 24; ++i) {
            const double first_x = series.line->first_x;
            const double days = first_x + (last_x - first_x) * i / 24;
            const double middle = series.line->at(days);
            const double band = series.line->band_at(days);
            upper += fmt::format("{:.1f},{:.1f} ", x(days), y(inside(middle + band)));
            lower = fmt::format("{:.1f},{:.1f} ", x(days), y(inside(middle - band))) + lower;
        }
        out += fmt::format("<polygon points=\"{}{}\" fill=\"#cfe3ea\"/>\n", upper, lower);
    }
    if (series.line) {
        out += fmt::format(
            "<line x1=\"{:.1f}\" y1=\"{:.1f}\" x2=\"{:.1f}\" y2=\"{:.1f}\" stroke=\"#2f6f85\"/>\n",
            x(series.line->first_x), y(series.line->at(series.line->first_x)), x(last_x),
            y(series.line->at(last_x)));
    }
    for (const auto& [limit, word] :
         {std::pair{series.warn, "warn"}, std::pair{series.fail, "fail"}}) {
        if (!limit || *limit < axis.low || *limit > axis.high) continue;
        out += fmt::format(
            "<line x1=\"{:.1f}\" y1=\"{:.1f}\" x2=\"{:.1f}\" y2=\"{:.1f}\" stroke=\"#7a3b1d\" "
            "stroke-dasharray=\"{}\"/>\n<text x=\"{:.1f}\" y=\"{:.1f}\">{} {}</text>\n",
            panel.left, y(*limit), panel.left + panel.width, y(*limit),
            word == std::string_view("warn") ? "6 4" : "2 3", panel.left + 6,
            y(*limit) - 4 < panel.top + 10 ? y(*limit) + 14 : y(*limit) - 4, word, figure(*limit));
    }
    for (const TrendPoint& point : series.points) {
        out += fmt::format("<circle cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"2.5\" fill=\"#1d3b46\"/>\n",
                           x(point.x), y(point.value));
    }
    const double below = panel.top + panel.height + 16;
    return out + fmt::format(
                     "<text x=\"{}\" y=\"{}\">{}</text>\n"
                     "<text x=\"{}\" y=\"{}\" text-anchor=\"end\">{}</text>\n",
                     panel.left, below, date_of(trend.from), panel.left + panel.width, below,
                     date_of(later(trend.from, last_x)));
}

}  // namespace

std::vector<std::string_view> trend_columns() {
    std::vector<std::string_view> out{
        "time", "site", "tank", "verdict", "fish_count", "biomass_kg", "input_mean_weight_g"};
    for (const LastColumn& last : kLastColumns) out.push_back(last.column);
    for (const SeriesColumns& series : kSeries) {
        for (const char* column : {series.value, series.warn, series.fail}) out.push_back(column);
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
            const std::pair name{cell_in(record.cells, "site"), cell_in(record.cells, "tank")};
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
                             printable(cell_in(trend.last, "verdict")));
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
    out = out.substr(0, out.find_last_not_of(" \n") + 1) + '\n';
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
        out.text("verdict", cell_in(trend.last, "verdict"));
        out.object("last", [&] {
            for (const LastColumn& each : kLastColumns) {
                const std::string_view column = each.column;
                out.number(column.substr(column.find('_') + 1),
                           number_of(trend.last, std::string(column)));
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
    constexpr double kPanelWidth = 380;
    constexpr double kRowHeight = 206;
    std::string body;
    double top = 0;
    for (const TankTrend& trend : trends) {
        body += fmt::format("<text x=\"70\" y=\"{}\" class=\"tank\">{}, {}</text>\n", top + 34,
                            xml_text(trend.site), xml_text(trend.tank));
        std::size_t panels = 0;
        for (const Series& series : trend.series) {
            if (series.points.empty()) continue;
            body += panel_svg(series, trend,
                              {70 + static_cast<double>(panels % 2) * (kPanelWidth + 80),
                               top + 74 + static_cast<double>(panels / 2) * kRowHeight, kPanelWidth,
                               kRowHeight - 56});
            ++panels;
        }
        top += 74 + static_cast<double>((panels + 1) / 2) * kRowHeight;
    }
    return fmt::format(
        "{2}{0}\" viewBox=\"0 0 940 {0}\">\n"
        "<style>text {{ font: 12px sans-serif; fill: #26323a }} .title {{ font-weight: bold }} "
        ".tank {{ font: bold 18px sans-serif }}</style>\n"
        "<rect width=\"940\" height=\"{0}\" fill=\"#f4f6f7\"/>\n{1}</svg>\n",
        std::max(top, 60.0), body, kChartStart);
}

}  // namespace coldtank::io
