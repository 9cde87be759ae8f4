#include "read/drop_log.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "read/csv_objects.hpp"
#include "read/object_reader.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

constexpr double kHour = 3600;

struct Timed {
    DropLog::Times times;
    Instant at;  // of a date
    double seconds;
};

// When a row was read; none where that was said to be wrong, or is missing.
std::optional<Timed> time_of(const ObjectReader& row) {
    int told = 0;
    for (const char* name : {"time", "minutes", "seconds"}) told += row.has(name) ? 1 : 0;
    if (told != 1) {
        row.fault(told == 0 ? "oxygen_mg_l" : "time",
                  told == 0 ? "when? a row needs time, minutes or seconds"
                            : "give one of time, minutes and seconds");
        return std::nullopt;
    }
    if (const auto minutes = row.number("minutes")) {
        return Timed{DropLog::Times::minutes, {}, 60 * *minutes};
    }
    if (const auto seconds = row.number("seconds")) {
        return Timed{DropLog::Times::seconds, {}, *seconds};
    }
    const auto text = row.text("time");
    if (!text) return std::nullopt;
    if (const auto clock = parse_clock(*text)) {
        return Timed{DropLog::Times::clock, {}, static_cast<double>(*clock)};
    }
    if (const auto time = parse_time(*text, DayEdge::start)) {
        return Timed{DropLog::Times::dated, *time, 0};
    }
    row.fault("time", fmt::format("\"{}\" is no time; write 14:05 or 14:05:30; {}",
                                  shortened(*text), how_to_write_time(*text)));
    return std::nullopt;
}

void take_row(const JsonNode& node, std::size_t line, std::vector<Fault>& faults, DropLog& log) {
    const std::size_t before = faults.size();
    const ObjectReader row(node, Scope::drop_log, {}, faults);
    const auto oxygen_mg_l = row.number("oxygen_mg_l");
    const auto temperature_c = row.number("temperature_c");
    const auto timed = time_of(row);
    if (faults.size() > before || !timed || !oxygen_mg_l) return;
    if (log.points.empty()) {
        log.times = timed->times;
        log.first = timed->at;
    } else if (timed->times != log.times) {
        row.fault("time", "the rows before tell the time in another way; keep to one");
        return;
    }
    const double hours = log.times == DropLog::Times::dated
                             ? static_cast<double>(timed->at.seconds - log.first.seconds) / kHour
                             : timed->seconds / kHour;
    log.points.push_back({hours, *oxygen_mg_l, temperature_c});
    for (const char* name : {"time", "minutes", "seconds"}) {
        const JsonMember* member = node.find(name);
        if (member != nullptr) log.when.push_back(member->value.text);
    }
    log.lines.push_back(line);
    const std::string& written = node.find("oxygen_mg_l")->value.text;
    const std::size_t mark = written.find_first_of(".,");
    const std::size_t decimals = mark == std::string::npos ? 0 : written.size() - mark - 1;
    const double step = std::pow(10, -static_cast<double>(decimals));
    log.step_mg_l = log.points.size() == 1 ? step : std::min(log.step_mg_l, step);
}

}  // namespace

bool DropLog::reads_temperature() const {
    return std::any_of(points.begin(), points.end(),
                       [](const DropPoint& point) { return point.temperature_c.has_value(); });
}

void DropLog::end_at(double hours) {
    while (!points.empty() && points.back().hours > hours) {
        points.pop_back();
        when.pop_back();
        lines.pop_back();
    }
}

DropLog read_drop_log(const std::string& path) {
    DropLog log;
    log.path = path;
    const auto text = read_text(path, log.unreadable, log.errors);
    if (!text) return log;
    std::vector<Fault> faults;
    if (trimmed(*text).starts_with('{')) {
        faults.push_back({0, {}, "this is a description: the log, a CSV file, stands before it"});
        log.errors = located(std::move(faults), *text, path);
        return log;
    }
    const Lines lines(*text);
    CsvObjects rows(*text, Scope::drop_log, false, faults);
    constexpr std::size_t kMostRows = 20000;
    constexpr std::size_t kMostFaults = 1000;
    while (const auto row = rows.next()) {
        if (log.points.size() == kMostRows || faults.size() > kMostFaults) {
            faults.push_back({row->node.at,
                              {},
                              "too many rows from here: a log of a row each 10 seconds will do"});
            break;
        }
        if (!row->misshapen) take_row(row->node, lines.place_of(row->node.at).line, faults, log);
    }
    log.errors = located(std::move(faults), *text, path);
    return log;
}

std::optional<double> hours_in(const DropLog& log, const std::string& typed) {
    const auto clock = parse_clock(typed);
    switch (log.times) {
        case DropLog::Times::minutes:
        case DropLog::Times::seconds:
            break;
        case DropLog::Times::clock:
            return clock ? std::optional(*clock / kHour) : std::nullopt;
        case DropLog::Times::dated: {
            std::optional<Instant> time = parse_time(typed, DayEdge::start);
            if (clock) {
                constexpr int kDay = 86400;
                time = on_day_of(log.first, *clock);
                const std::int64_t later = time->seconds - log.first.seconds;
                if (later < -kDay / 2) time->seconds += kDay;
                if (later > kDay / 2) time->seconds -= kDay;
            }
            if (!time) return std::nullopt;
            return static_cast<double>(time->seconds - log.first.seconds) / kHour;
        }
    }
    const auto number = plain_number(typed);
    if (!number) return std::nullopt;
    return *number / (log.times == DropLog::Times::minutes ? 60 : kHour);
}

std::string short_time(const DropLog& log, double hours) {
    const auto seconds = static_cast<std::int64_t>(std::llround(hours * kHour));
    switch (log.times) {
        case DropLog::Times::minutes:
        case DropLog::Times::seconds:
            break;
        case DropLog::Times::clock:
            return clock_of({seconds, 0});
        case DropLog::Times::dated:
            return clock_of({log.first.seconds + seconds, log.first.offset_s});
    }
    return figure(60 * hours, 1) + " min";
}

}  // namespace coldtank::io
