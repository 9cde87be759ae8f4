#include "text/svg.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>
#include <optional>

#include "text/clock.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

// In units of the view box. 360 px wide on a phone, its 20 are 11 px.
constexpr double kWidth = 640;
constexpr double kLeft = 84;
constexpr double kRight = 480;
constexpr double kMargin = 16;
constexpr double kLine = 23;  // from a line of text to the next
constexpr double kCharacter = 10.6;
constexpr double kFrame = 150;

// Of what earlier versions drew.
constexpr std::string_view kFormerStart =
    "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"940\" height=\"";

constexpr std::string_view kStyle =
    ".coldtank{display:block;margin:auto;max-width:820px}\n"
    ".coldtank text{font:20px Arial,'Liberation Sans',Helvetica,sans-serif;fill:#15262b}\n"
    ".coldtank .title{font-size:27px;font-weight:bold}\n"
    ".coldtank .heading{font-size:21px;font-weight:bold}\n"
    ".coldtank .soft{fill:#4d5f63}\n"
    ".coldtank .paper{fill:#f6f4ec}\n"
    ".coldtank .frame{fill:#fffefa;stroke:none}\n"
    ".coldtank .grid{stroke:#d5d8cf;stroke-width:1;fill:none}\n"
    ".coldtank .rim{stroke:#6f8084;stroke-width:1.5;fill:none}\n"
    ".coldtank .line{stroke:#0d5561;stroke-width:3;fill:none;stroke-linejoin:round}\n"
    ".coldtank .full{fill:#0d5561;fill-opacity:.6;stroke:none}\n"
    ".coldtank .hollow{fill:#fffefa;stroke:#0d5561;stroke-width:1.6}\n"
    ".coldtank .band{fill:#0d5561;fill-opacity:.15;stroke:none}\n"
    ".coldtank .limit{stroke:#9c3514;stroke-width:2;fill:none}\n"
    ".coldtank .called{fill:#9c3514}\n"
    ".coldtank .arrow{fill:#9c3514;stroke:none}\n"
    ".coldtank .zone{fill:#9c3514;fill-opacity:.05}\n"
    ".coldtank .hatch{stroke:#9c3514;stroke-opacity:.3;stroke-width:1.2}\n"
    ".coldtank .mark{stroke:#15262b;stroke-width:1.5;stroke-dasharray:2 4;fill:none}\n"
    ".coldtank .rhomb{fill:#fffefa;stroke:#15262b;stroke-width:2}\n"
    ".coldtank .leader{stroke:#6f8084;stroke-width:1;fill:none}\n"
    ".coldtank .dashed{stroke-dasharray:9 6}\n"
    ".coldtank .dotted{stroke-dasharray:2 5}\n"
    ".coldtank .dashdot{stroke-dasharray:12 5 2 5}\n"
    "@media (prefers-color-scheme:dark){\n"
    ".coldtank text{fill:#e4ebe6}\n"
    ".coldtank .soft{fill:#a9b8b6}\n"
    ".coldtank .paper{fill:#10191b}\n"
    ".coldtank .frame{fill:#172427}\n"
    ".coldtank .grid{stroke:#2d3d40}\n"
    ".coldtank .rim{stroke:#8a9b9d}\n"
    ".coldtank .line{stroke:#7fd0d6}\n"
    ".coldtank .full{fill:#7fd0d6}\n"
    ".coldtank .hollow{fill:#172427;stroke:#7fd0d6}\n"
    ".coldtank .band{fill:#7fd0d6;fill-opacity:.2}\n"
    ".coldtank .limit{stroke:#ff9d73}\n"
    ".coldtank .called{fill:#ff9d73}\n"
    ".coldtank .arrow{fill:#ff9d73}\n"
    ".coldtank .zone{fill:#ff9d73;fill-opacity:.08}\n"
    ".coldtank .hatch{stroke:#ff9d73}\n"
    ".coldtank .mark{stroke:#e4ebe6}\n"
    ".coldtank .rhomb{fill:#172427;stroke:#e4ebe6}\n"
    ".coldtank .leader{stroke:#8a9b9d}\n"
    "}\n";

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
        else if (c == '"')
            out += "&quot;";
        else
            out += c;
    }
    return out;
}

// A place in the picture.
std::string at(double place) { return figure(place, 1); }

std::string_view class_of(Stroke stroke) {
    return stroke == Stroke::solid    ? ""
           : stroke == Stroke::dashed ? " dashed"
           : stroke == Stroke::dotted ? " dotted"
                                      : " dashdot";
}

double width_of(std::string_view text) { return kCharacter * static_cast<double>(columns(text)); }

enum class Anchor { start, middle, end };

std::string text_svg(double x, double y, std::string_view kind, Anchor anchor,
                     std::string_view text) {
    constexpr std::string_view kAnchors[] = {"", " text-anchor=\"middle\"", " text-anchor=\"end\""};
    return fmt::format("<text x=\"{}\" y=\"{}\"{}{}>{}</text>\n", at(x), at(y),
                       kind.empty() ? "" : fmt::format(" class=\"{}\"", kind),
                       kAnchors[static_cast<int>(anchor)], xml_text(text));
}

std::vector<std::string> lines_of(std::string_view text, std::size_t width, std::size_t most) {
    std::vector<std::string> out;
    if (text.empty()) return out;
    const std::string all = wrapped("", printable(text), 0, width);
    for (std::size_t from = 0; from < all.size() && out.size() < most;) {
        const std::size_t end = std::min(all.find('\n', from), all.size());
        out.push_back(cut_to(all.substr(from, end - from), width));
        from = end + 1;
    }
    return out;
}

// Lines of text from a top on, which moves below them.
std::string paragraph(std::string_view text, std::string_view kind, double& top, std::size_t width,
                      std::size_t most, double line) {
    std::string out;
    for (const std::string& each : lines_of(text, width, most)) {
        top += line;
        out += text_svg(kMargin, top - 6, kind, Anchor::start, each);
    }
    return out;
}

// Decimals that tell the multiples of a step apart.
int decimals_of_step(double step) {
    for (int decimals = 0; decimals < 12; ++decimals) {
        const double scaled = step * std::pow(10, decimals);
        if (std::abs(scaled - std::round(scaled)) < 1e-6 * scaled) return decimals;
    }
    return 12;
}

// ---- the time axis

struct TimeTick {
    double day;
    std::string label;
    std::string below = {};  // a year, or a date below hours
};

struct TimeAxis {
    double first = 0;
    double last = 1;
    std::vector<TimeTick> ticks = {};

    double x(double day) const { return kLeft + (day - first) / (last - first) * (kRight - kLeft); }
};

// Every so many days, months, or parts of a day.
struct TimeStep {
    double days;
    int months;
    double room;  // that a label takes, units
};
constexpr TimeStep kTimeSteps[] = {
    {1.0 / 24, 0, 62}, {1.0 / 12, 0, 62}, {0.125, 0, 62}, {0.25, 0, 62},  {0.5, 0, 62},
    {1, 0, 60},        {2, 0, 60},        {3, 0, 60},     {4, 0, 60},     {5, 0, 60},
    {7, 0, 60},        {10, 0, 60},       {14, 0, 60},    {21, 0, 60},    {30.44, 1, 46},
    {60.9, 2, 46},     {91.3, 3, 46},     {182.6, 6, 46}, {365.2, 12, 46}};
constexpr std::size_t kFewestDates = 5;

std::vector<TimeTick> ticks_of(const TimeStep& step, double first, double last) {
    std::vector<TimeTick> out;
    const auto full = [&] { return out.size() > 64; };
    if (step.months > 0) {
        const auto start = calendar_of(static_cast<std::int64_t>(std::floor(first)));
        for (int month = 12 * static_cast<int>(start.year()) +
                         static_cast<int>(static_cast<unsigned>(start.month())) - 1;
             ; ++month) {
            if (month % step.months != 0) continue;
            const auto day = parse_day(fmt::format("{:04}-{:02}-01", month / 12, month % 12 + 1));
            if (!day || static_cast<double>(*day) > last || full()) break;
            if (static_cast<double>(*day) < first) continue;
            out.push_back({static_cast<double>(*day), month_words(month % 12 + 1).substr(0, 3)});
        }
    } else if (step.days >= 1) {
        const double from = std::ceil(first);
        for (double day = from; day <= last && !full(); day += step.days) {
            out.push_back({day, short_date(day)});
        }
    } else {
        for (double part = std::ceil(first / step.days); part * step.days <= last && !full();
             part += 1) {
            const double day = part * step.days;
            const int hour = static_cast<int>(std::lround((day - std::floor(day)) * 24)) % 24;
            out.push_back({day, fmt::format("{:02}:00", hour)});
        }
    }
    // What stands below: where it changes, and never into the one before.
    std::string said;
    double free = -1e9;
    for (TimeTick& tick : out) {
        const auto date = calendar_of(static_cast<std::int64_t>(std::floor(tick.day + 1e-6)));
        const std::string below = step.days < 1 ? short_date(tick.day + 1e-6)
                                                : std::to_string(static_cast<int>(date.year()));
        const double x = (tick.day - first) / (last - first) * (kRight - kLeft);
        if (below == said || x < free) continue;
        tick.below = said = below;
        free = x + width_of(below) + 8;
    }
    return out;
}

// Round dates, five or more, from the first day of a picture to its last or a little later.
TimeAxis time_axis(double first, double last) {
    constexpr double kLongest = 366.0 * 200;
    if (!(last - first < kLongest) || std::abs(first) > 1e6) return {};
    if (last - first < 0.2) {
        first = std::floor(first);
        last = std::floor(last) + 1;
    }
    const double size = last - first;
    TimeAxis out{first, last, {}};
    for (const TimeStep& step : kTimeSteps) {
        if (size / step.days * step.room > kRight - kLeft) continue;
        out.ticks = ticks_of(step, first, last);
        for (int tries = 0; out.ticks.size() < kFewestDates && tries < 8; ++tries) {
            out.last += step.days / 2;
            out.ticks = ticks_of(step, first, out.last);
        }
        return out;
    }
    for (int years = 2;; years *= 2) {
        const TimeStep step{365.25 * years, 12 * years, 50};
        if (size / step.days * step.room > kRight - kLeft) continue;
        out.ticks = ticks_of(step, first, last);
        return out;
    }
}

// ---- the value axis

struct Values {
    double low = std::numeric_limits<double>::infinity();
    double high = -std::numeric_limits<double>::infinity();

    void hold(double value) {
        if (!std::isfinite(value)) return;
        low = std::min(low, value);
        high = std::max(high, value);
    }
    double size() const { return high - low; }
};

struct ValueAxis {
    ValueTicks ticks;
    double top = 0;     // of the frame
    double bottom = 0;  // of it
    double upper = 0;   // where the highest value is: room for what lies above is over it
    double lower = 0;

    double low() const { return ticks.at.front(); }
    double high() const { return ticks.at.back(); }
    double y(double value) const {
        return lower - (value - low()) / (high() - low()) * (lower - upper);
    }
};

bool is_good(const PicturePoint& point) {
    return std::isfinite(point.day) && std::isfinite(point.value);
}

Values values_of(const PictureStrip& strip) {
    Values out;
    if (strip.from_zero) out.hold(0);
    for (const PictureLine& line : strip.lines) {
        for (const auto* points : {&line.points, &line.low, &line.high}) {
            for (const PicturePoint& each : *points) {
                if (is_good(each)) out.hold(each.value);
            }
        }
    }
    return out;
}

// Whether a limit is shown at its place: where it leaves the lines a fair part of the frame. Beside
// another on its side, only where it is not far beyond that.
bool is_near(double limit, const Values& drawn, const Values& held, bool second, bool from_zero) {
    if (second) {
        return limit >= held.low - held.size() && limit <= held.high + 0.6 * held.size();
    }
    const double size = std::max(drawn.size(), std::abs(drawn.high) / 20);
    const double far = (from_zero ? 15 : 4) * size;
    return limit >= drawn.low - far && limit <= drawn.high + far;
}

// The last value of the first line that has any.
std::optional<double> last_value(const PictureStrip& strip) {
    for (const PictureLine& line : strip.lines) {
        for (auto point = line.points.rbegin(); point != line.points.rend(); ++point) {
            if (is_good(*point)) return point->value;
        }
    }
    return {};
}

// ---- one strip

// What stands to the right of the frame, beside its line.
struct SideLabel {
    double wanted;  // height of its middle
    std::vector<std::string> lines;
    std::string_view kind;
    double place = 0;

    double height() const { return kLine * static_cast<double>(lines.size()); }
};

// Moves labels apart, as little as it takes, between a top and a bottom that hold them all.
void move_apart(std::vector<SideLabel>& labels, double top, double bottom) {
    std::stable_sort(labels.begin(), labels.end(),
                     [](const SideLabel& a, const SideLabel& b) { return a.wanted < b.wanted; });
    double free = top;
    for (SideLabel& each : labels) {
        each.place = std::max(each.wanted, free + each.height() / 2);
        free = each.place + each.height() / 2;
    }
    free = bottom;
    for (auto each = labels.rbegin(); each != labels.rend(); ++each) {
        each->place = std::min(each->place, free - each->height() / 2);
        free = each->place - each->height() / 2;
    }
}

std::vector<std::string> side_lines(std::string_view text) {
    return lines_of(text, static_cast<std::size_t>((kWidth - kRight - 14) / kCharacter), 3);
}

// A limit that is far off, in words.
std::string edge_words(const PictureLimit& limit, bool above, const std::optional<double>& now) {
    std::string out =
        fmt::format("{} {} is {}", limit.name, figure(limit.value), above ? "above" : "below");
    if (now && *now >= 0 && limit.value > 0) {
        out += fmt::format(": now {} % of it", figure(*now / limit.value * 100, 0));
    }
    return out;
}

std::string hatched(const PictureZone& zone, const ValueAxis& axis) {
    const double upper = zone.high >= axis.high() ? axis.top : axis.y(zone.high);
    const double lower = zone.low <= axis.low() ? axis.bottom : axis.y(zone.low);
    if (!(lower - upper > 0.5) || zone.low >= axis.high() || zone.high <= axis.low()) return {};
    std::string out =
        fmt::format("<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" class=\"zone\"/>\n",
                    at(kLeft), at(upper), at(kRight - kLeft), at(lower - upper));
    const double gap = zone.grave ? 9 : 22;
    const double height = lower - upper;
    std::string path;
    for (double x = kLeft - height; x < kRight; x += gap) {
        const double from = std::max(x, kLeft);
        const double to = std::min(x + height, kRight);
        if (to - from < 1) continue;
        path += fmt::format("M{} {}L{} {}", at(from), at(lower - (from - x)), at(to),
                            at(lower - (to - x)));
    }
    return out + fmt::format("<path d=\"{}\" class=\"hatch\"/>\n", path);
}

std::string path_of(std::span<const PicturePoint> points, const TimeAxis& time,
                    const ValueAxis& axis) {
    std::string out;
    for (const PicturePoint& each : points) {
        if (!is_good(each)) continue;
        out += fmt::format("{}{} {}", out.empty() ? "M" : "L", at(time.x(each.day)),
                           at(axis.y(each.value)));
    }
    return out;
}

std::string line_svg(const PictureLine& line, const TimeAxis& time, const ValueAxis& axis) {
    std::string out;
    if (!line.low.empty() && !line.high.empty()) {
        std::vector<PicturePoint> around = line.high;
        around.insert(around.end(), line.low.rbegin(), line.low.rend());
        out += fmt::format("<path d=\"{}Z\" class=\"band\"/>\n", path_of(around, time, axis));
    }
    if (line.joined && line.points.size() > 1) {
        out += fmt::format("<path d=\"{}\" class=\"line{}\"/>\n", path_of(line.points, time, axis),
                           class_of(line.stroke));
    }
    const bool alone = line.points.size() == 1;
    if (line.dots == Dots::none && !alone) return out;
    const double apart = (time.x(line.points.back().day) - time.x(line.points.front().day)) /
                         static_cast<double>(std::max<std::size_t>(line.points.size(), 2) - 1);
    const double radius = alone ? 4.5 : std::clamp(apart * 0.6, 2.0, 4.5);
    for (const PicturePoint& each : line.points) {
        if (!is_good(each)) continue;
        out += fmt::format("<circle cx=\"{}\" cy=\"{}\" r=\"{}\" class=\"{}\"/>\n",
                           at(time.x(each.day)), at(axis.y(each.value)), at(radius),
                           line.dots == Dots::hollow ? "hollow" : "full");
    }
    return out;
}

// Labels of marks in rows above a frame, none over another; of two the later is the lower, so
// that no line of a mark goes through a label.
struct MarkLabel {
    const PictureMark* mark;
    double x;
    Anchor anchor;
    std::size_t row;  // counted from the frame
};
std::vector<MarkLabel> mark_labels(const PictureStrip& strip, const TimeAxis& time) {
    std::vector<MarkLabel> out;
    for (const PictureMark& mark : strip.marks) {
        if (!std::isfinite(mark.day) || mark.label.empty()) continue;
        const double x = time.x(mark.day);
        const bool before = x + 5 + width_of(mark.label) > kWidth;
        out.push_back({&mark, x, before ? Anchor::end : Anchor::start, 0});
    }
    std::stable_sort(out.begin(), out.end(),
                     [](const MarkLabel& a, const MarkLabel& b) { return a.x > b.x; });
    std::vector<std::vector<std::pair<double, double>>> rows;
    for (MarkLabel& each : out) {
        const double width = width_of(each.mark->label) + 5;
        const double from = each.anchor == Anchor::end ? each.x - width : each.x;
        const auto meets = [&](const std::pair<double, double>& other) {
            return from < other.second + 8 && from + width + 8 > other.first;
        };
        while (each.row < rows.size() &&
               std::any_of(rows[each.row].begin(), rows[each.row].end(), meets)) {
            ++each.row;
        }
        if (each.row == rows.size()) rows.emplace_back();
        rows[each.row].emplace_back(from, from + width);
    }
    return out;
}

std::string strip_svg(const PictureStrip& strip, const TimeAxis& time, double& top) {
    std::string out = "<g class=\"strip\">\n";
    top += 12;
    out += paragraph(strip.heading, "heading", top, 50, 2, kLine + 2);
    for (const std::string& note : strip.notes) out += paragraph(note, "soft", top, 62, 3, kLine);
    Values values = values_of(strip);
    if (!std::isfinite(values.size()) || time.ticks.empty() || !last_value(strip)) {
        out += paragraph("nothing to show", "soft", top, 62, 1, kLine);
        return out + "</g>\n";
    }
    const Values drawn = values;
    std::vector<const PictureLimit*> inside;
    std::vector<const PictureLimit*> above;
    std::vector<const PictureLimit*> below;
    std::vector<const PictureLimit*> limits;
    for (const PictureLimit& limit : strip.limits) {
        if (std::isfinite(limit.value)) limits.push_back(&limit);
    }
    const double middle = drawn.low + drawn.size() / 2;
    std::stable_sort(limits.begin(), limits.end(), [&](const auto* a, const auto* b) {
        return std::abs(a->value - middle) < std::abs(b->value - middle);
    });
    for (const PictureLimit* limit : limits) {
        const bool second = std::any_of(inside.begin(), inside.end(), [&](const auto* each) {
            return (each->value > middle) == (limit->value > middle);
        });
        if (is_near(limit->value, drawn, values, second, strip.from_zero)) {
            values.hold(limit->value);
            inside.push_back(limit);
        } else if (limit->value > drawn.high) {
            above.insert(above.begin(), limit);
        } else {
            below.push_back(limit);
        }
    }
    if (!(values.size() > 0)) {  // nothing moves: a little to either side
        const double size = std::max(std::abs(values.high) / 20, 1e-9);
        values.hold(values.high + size);
        if (!strip.from_zero) values.hold(values.low - size);
    }
    ValueAxis axis{value_ticks(values.low, values.high, 5)};
    if (axis.ticks.at.size() < 2) {
        out += paragraph("nothing to show", "soft", top, 62, 1, kLine);
        return out + "</g>\n";
    }
    const int decimals = decimals_of_step(axis.ticks.step);

    std::vector<SideLabel> labels;
    double labels_height = 0;
    const auto add_label = [&](double value, std::string_view words, std::string_view kind) {
        labels.push_back({value, side_lines(words), kind});
        labels_height += labels.back().height();
    };
    for (const PictureLine& line : strip.lines) {
        const auto last = std::find_if(line.points.rbegin(), line.points.rend(), is_good);
        if (!line.name.empty() && last != line.points.rend()) {
            add_label(last->value, line.name, "");
        }
    }
    for (const PictureLimit* limit : inside) {
        add_label(limit->value, fmt::format("{} {}", limit->name, figure(limit->value)), "called");
    }

    const std::vector<MarkLabel> marks = mark_labels(strip, time);
    std::size_t rows = 0;
    for (const MarkLabel& each : marks) rows = std::max(rows, each.row + 1);
    axis.top = top + 12 + kLine * static_cast<double>(rows);
    axis.upper = axis.top + 6 + kLine * static_cast<double>(above.size());
    axis.lower = axis.upper + std::max(kFrame, labels_height);
    axis.bottom = axis.lower + 6 + kLine * static_cast<double>(below.size());
    top = axis.bottom;

    const std::string frame =
        fmt::format("<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" class=\"", at(kLeft),
                    at(axis.top), at(kRight - kLeft), at(axis.bottom - axis.top));
    out += frame + "frame\"/>\n";
    for (const PictureZone& zone : strip.zones) out += hatched(zone, axis);
    std::string grid;
    for (const TimeTick& tick : time.ticks) {
        grid +=
            fmt::format("M{0} {1}L{0} {2}", at(time.x(tick.day)), at(axis.top), at(axis.bottom));
    }
    for (const double value : axis.ticks.at) {
        grid += fmt::format("M{1} {0}L{2} {0}", at(axis.y(value)), at(kLeft), at(kRight));
    }
    out += fmt::format("<path d=\"{}\" class=\"grid\"/>\n", grid);
    for (const double value : axis.ticks.at) {
        const std::string words = figure(value, decimals);
        const double room = kLeft - 12;  // longer ones are pressed together
        const std::string pressed =
            1.08 * width_of(words) > room
                ? fmt::format(" textLength=\"{}\" lengthAdjust=\"spacingAndGlyphs\"", at(room))
                : "";
        out +=
            fmt::format("<text x=\"{}\" y=\"{}\" class=\"value\" text-anchor=\"end\"{}>{}</text>\n",
                        at(kLeft - 8), at(axis.y(value) + 7), pressed, words);
    }
    for (const PictureLimit* limit : inside) {
        out +=
            fmt::format("<path d=\"M{1} {0}L{2} {0}\" class=\"limit{3}\"/>\n",
                        at(axis.y(limit->value)), at(kLeft), at(kRight), class_of(limit->stroke));
    }
    for (const PictureLine& line : strip.lines) {
        if (!line.points.empty()) out += line_svg(line, time, axis);
    }
    for (const PictureMark& mark : strip.marks) {
        if (!std::isfinite(mark.day)) continue;
        const double x = time.x(mark.day);
        double from = axis.top;
        for (const MarkLabel& each : marks) {
            if (each.mark == &mark) from = axis.top - kLine * static_cast<double>(each.row + 1);
        }
        out += fmt::format("<path d=\"M{0} {1}L{0} {2}\" class=\"mark\"/>\n", at(x), at(from),
                           at(axis.bottom));
        for (const double value : mark.at) {
            if (!std::isfinite(value) || value < axis.low() || value > axis.high()) continue;
            out += fmt::format("<path d=\"M{0} {2}L{3} {1}L{0} {4}L{5} {1}Z\" class=\"rhomb\"/>\n",
                               at(x), at(axis.y(value)), at(axis.y(value) - 7), at(x + 7),
                               at(axis.y(value) + 7), at(x - 7));
        }
    }
    for (const MarkLabel& each : marks) {
        out += text_svg(each.anchor == Anchor::start ? each.x + 5 : each.x - 5,
                        axis.top - kLine * static_cast<double>(each.row) - 7, "marked", each.anchor,
                        each.mark->label);
    }
    out += frame + "rim\"/>\n";

    // What is far off: an arrow to where it is, and how far that is.
    const auto edge = [&](std::span<const PictureLimit* const> far, bool is_above, double from) {
        for (std::size_t i = 0; i < far.size(); ++i) {
            const double y = from + kLine * static_cast<double>(i) + kLine / 2;
            const double tip = is_above ? -8 : 8;
            out +=
                fmt::format("<path d=\"M{} {}L{} {}L{} {}Z\" class=\"arrow\"/>\n", at(kLeft + 10),
                            at(y - tip), at(kLeft + 24), at(y - tip), at(kLeft + 17), at(y + tip));
            out +=
                text_svg(kLeft + 32, y + 7, "called", Anchor::start,
                         edge_words(*far[i], is_above,
                                    strip.from_zero ? last_value(strip) : std::optional<double>{}));
        }
    };
    edge(above, true, axis.top + 2);
    edge(below, false, axis.lower + 4);

    for (SideLabel& each : labels) each.wanted = axis.y(each.wanted);
    move_apart(labels, axis.top, axis.bottom);
    for (const SideLabel& each : labels) {
        if (std::abs(each.place - each.wanted) > 5) {
            out += fmt::format("<path d=\"M{} {}L{} {}\" class=\"leader\"/>\n", at(kRight),
                               at(each.wanted), at(kRight + 10), at(each.place));
        }
        double y = each.place - each.height() / 2 + kLine - 6;
        for (const std::string& line : each.lines) {
            out += text_svg(kRight + 13, y, each.kind.empty() ? "side" : "side called",
                            Anchor::start, line);
            y += kLine;
        }
    }
    return out + "</g>\n";
}

std::string time_axis_svg(const TimeAxis& time, double& top) {
    std::string out;
    bool two = false;
    for (const TimeTick& tick : time.ticks) {
        out += text_svg(time.x(tick.day), top + 22, "date", Anchor::middle, tick.label);
        if (tick.below.empty()) continue;
        out += text_svg(time.x(tick.day), top + 22 + kLine, "soft", Anchor::middle, tick.below);
        two = true;
    }
    top += two ? 22 + kLine + 10 : 32;
    return out;
}

std::string picture_svg(const Picture& picture, double& top) {
    Values days;
    for (const PictureStrip& strip : picture.strips) {
        for (const PictureLine& line : strip.lines) {
            for (const PicturePoint& each : line.points) {
                if (is_good(each)) days.hold(each.day);
            }
        }
        for (const PictureMark& mark : strip.marks) days.hold(mark.day);
    }
    const TimeAxis time = std::isfinite(days.size()) ? time_axis(days.low, days.high) : TimeAxis{};
    top += 14;
    std::string out = paragraph(picture.title, "title", top, 38, 3, 34);
    out += paragraph(picture.description, "soft", top, 62, 8, kLine);
    bool drawn = false;
    for (const PictureStrip& strip : picture.strips) {
        out += strip_svg(strip, time, top);
        drawn = true;
    }
    if (drawn && !time.ticks.empty()) out += time_axis_svg(time, top);
    top += 14;
    return out;
}

}  // namespace

void add_limits(std::optional<double> cold, std::optional<double> warn, std::optional<double> fail,
                PictureStrip& strip) {
    constexpr double kEnd = std::numeric_limits<double>::infinity();
    if (cold) {
        strip.limits.push_back({"warn", *cold, Stroke::dashed});
        strip.zones.push_back({-kEnd, *cold, false});
    }
    if (warn) {
        strip.limits.push_back({"warn", *warn, Stroke::dashed});
        strip.zones.push_back({*warn, fail.value_or(kEnd), false});
    }
    if (fail) {
        strip.limits.push_back({"fail", *fail, Stroke::dotted});
        strip.zones.push_back({*fail, kEnd, true});
    }
}

bool is_picture(std::string_view file) {
    return file.starts_with(kPictureStart) || file.starts_with(kFormerStart);
}

ValueTicks value_ticks(double low, double high, int most) {
    if (!std::isfinite(high - low) || !(high >= low) || most < 2) return {};
    const double size = std::max({high - low, std::abs(high) * 1e-9, 1e-300});
    const int start = static_cast<int>(std::floor(std::log10(size / most))) - 1;
    for (int exponent = start; exponent < start + 5; ++exponent) {
        for (const double digit : {1.0, 2.0, 2.5, 5.0}) {
            // Divided where it is below 1: a tenth is no double, ten is.
            const double step =
                exponent < 0 ? digit / std::pow(10, -exponent) : digit * std::pow(10, exponent);
            if (!(step > 0) || !std::isfinite(step)) return {};
            const double from = std::floor(low / step + 1e-9);
            const double to = std::max(std::ceil(high / step - 1e-9), from + 1);
            if (to - from + 1 > most) continue;
            ValueTicks out{step, {}};
            for (double i = from; i <= to; i += 1) {
                out.at.push_back(exponent < 0 ? i * digit / std::pow(10, -exponent) : i * step);
            }
            return out;
        }
    }
    return {};
}

std::string svg_of(std::string_view title, std::string_view description,
                   std::span<const Picture> pictures) {
    std::string body;
    double top = 0;
    for (const Picture& each : pictures) {
        if (top > 0) {
            body += fmt::format("<path d=\"M{1} {0}L{2} {0}\" class=\"rim\"/>\n", at(top),
                                at(kMargin), at(kWidth - kMargin));
        }
        body += picture_svg(each, top);
    }
    const std::string height = at(std::max(std::ceil(top), 60.0));
    return fmt::format(
        "{}viewBox=\"0 0 {} {}\" width=\"100%\" role=\"img\" "
        "aria-labelledby=\"coldtank-title coldtank-description\">\n"
        "<title id=\"coldtank-title\">{}</title>\n<desc id=\"coldtank-description\">{}</desc>\n"
        "<style>\n{}</style>\n<rect width=\"{}\" height=\"{}\" class=\"paper\"/>\n{}</svg>\n",
        kPictureStart, at(kWidth), height, xml_text(title), xml_text(description), kStyle,
        at(kWidth), height, body);
}

}  // namespace coldtank::io
