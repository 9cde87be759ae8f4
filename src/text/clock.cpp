#include "text/clock.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <ctime>
#include <vector>

#include "text/text.hpp"

namespace coldtank::io {
namespace {

namespace chr = std::chrono;

// Takes digits off the front of a text; none where there are not so many.
std::optional<int> digits(std::string_view& text, std::size_t count) {
    if (text.size() < count) return std::nullopt;
    int value = 0;
    for (std::size_t i = 0; i < count; ++i) {
        if (text[i] < '0' || text[i] > '9') return std::nullopt;
        value = 10 * value + (text[i] - '0');
    }
    text.remove_prefix(count);
    return value;
}

bool take(std::string_view& text, std::string_view any_of) {
    if (text.empty() || any_of.find(text[0]) == std::string_view::npos) return false;
    text.remove_prefix(1);
    return true;
}

std::int64_t seconds_of(chr::sys_days day, int second_of_day) {
    return chr::duration_cast<chr::seconds>(day.time_since_epoch()).count() + second_of_day;
}

// A wall clock of this machine's zone. Where clocks are set back an hour comes twice: the earlier.
std::optional<Instant> by_local_zone(chr::year_month_day day, int second_of_day) {
    std::optional<Instant> found;
    for (const int summer : {0, 1}) {
        std::tm wall{};
        wall.tm_year = int{day.year()} - 1900;
        wall.tm_mon = static_cast<int>(unsigned{day.month()}) - 1;
        wall.tm_mday = static_cast<int>(unsigned{day.day()});
        wall.tm_hour = second_of_day / 3600;
        wall.tm_min = second_of_day / 60 % 60;
        wall.tm_sec = second_of_day % 60;
        wall.tm_isdst = summer;
        const int hour = wall.tm_hour;
        const std::time_t seconds = std::mktime(&wall);
        if (wall.tm_isdst != summer || wall.tm_hour != hour) continue;
        if (!found || seconds < found->seconds) {
            found = Instant{seconds, static_cast<int>(wall.tm_gmtoff)};
        }
    }
    if (found) return found;
    // An hour that the clocks leave out.
    std::tm wall{};
    wall.tm_year = int{day.year()} - 1900;
    wall.tm_mon = static_cast<int>(unsigned{day.month()}) - 1;
    wall.tm_mday = static_cast<int>(unsigned{day.day()});
    wall.tm_sec = second_of_day;
    wall.tm_isdst = -1;
    const std::time_t seconds = std::mktime(&wall);
    return Instant{seconds, static_cast<int>(wall.tm_gmtoff)};
}

// The wall clock of an instant.
struct Wall {
    chr::year_month_day day;
    int second_of_day;
};
Wall wall_of(const Instant& instant) {
    const chr::seconds local(instant.seconds + instant.offset_s);
    const chr::days day = chr::floor<chr::days>(local);
    return {chr::year_month_day(chr::sys_days(day)),
            static_cast<int>((local - chr::seconds(day)).count())};
}

}  // namespace

namespace {

// Seconds since 1970, from 1973 on: with fewer digits it is no such number, with more they are
// thousandths.
std::optional<Instant> since_1970(std::string_view text) {
    constexpr std::size_t kFewest = 9;
    constexpr std::size_t kMost = 10;
    const std::size_t point = std::min(text.find('.'), text.size());
    const auto digit = [](char c) { return c >= '0' && c <= '9'; };
    const std::string_view behind = text.substr(std::min(point + 1, text.size()));
    if (point < kFewest || point > kMost ||
        !std::all_of(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(point), digit) ||
        !std::all_of(behind.begin(), behind.end(), digit) || text.ends_with('.')) {
        return std::nullopt;
    }
    std::int64_t seconds = 0;
    for (const char c : text.substr(0, point)) seconds = 10 * seconds + (c - '0');
    return Instant{seconds, 0};
}

}  // namespace

std::string how_to_write_time(std::string_view text) {
    const std::string usual =
        "a time is written as 2026-11-24T21:30:00+01:00, a date as 2026-11-24";
    if (parse_clock(text)) return "write its date before it: YYYY-MM-DDT" + std::string(text);
    // "24.11.2026", "11/24/2026 21:30": which is the day?
    std::vector<int> parts;
    std::string_view rest = text;
    std::string_view number;
    const auto next = [&] {
        std::size_t size = 0;
        while (size < rest.size() && rest[size] >= '0' && rest[size] <= '9') ++size;
        number = rest.substr(0, size);
        rest.remove_prefix(size);
    };
    for (const std::size_t most : {2, 2, 4}) {
        next();
        if (number.empty() || number.size() > most) return usual;
        int value = 0;
        for (const char c : number) value = 10 * value + (c - '0');
        parts.push_back(value);
        if (most == 2 && !take(rest, "./-")) return usual;
    }
    if (number.size() != 4) return usual;
    // Its time of day, if it tells one: "5:00", "5:00 PM".
    std::string at;
    if (const std::size_t blank = rest.find_first_not_of(' '); blank != std::string_view::npos) {
        const std::string lower = lower_case(rest.substr(blank));
        std::string_view time = lower;
        const bool am = time.ends_with("am");
        const bool pm = time.ends_with("pm");
        if (am || pm) time.remove_suffix(2);
        if (const auto clock = parse_clock(fmt::format("{:0>5}", trimmed(time)))) {
            constexpr int kNoon = 12 * 3600;
            const int seconds = *clock;
            const int of_half = (am || pm) ? seconds % kNoon + (pm ? kNoon : 0) : seconds;
            at = fmt::format("T{:02}:{:02}", of_half / 3600, of_half / 60 % 60);
        }
    }
    const auto written = [&](int month, int day) {
        return fmt::format("{:04}-{:02}-{:02}{}", parts[2], month, day, at);
    };
    if (parts[0] < 1 || parts[1] < 1 || parts[0] > 31 || parts[1] > 31) return usual;
    if (parts[0] > 12) return "write " + written(parts[1], parts[0]);
    if (parts[1] > 12) return "write " + written(parts[0], parts[1]);
    if (parts[0] == parts[1]) return "write " + written(parts[0], parts[1]);
    return fmt::format("is that {} or {}? write the one that it is", written(parts[1], parts[0]),
                       written(parts[0], parts[1]));
}

std::optional<Instant> parse_time(std::string_view text, DayEdge edge) {
    constexpr int kDay = 24 * 3600;
    if (const auto seconds = since_1970(text)) return seconds;
    const auto year = digits(text, 4);
    if (!year || !take(text, "-")) return std::nullopt;
    const auto month = digits(text, 2);
    if (!month || !take(text, "-")) return std::nullopt;
    const auto date = digits(text, 2);
    if (!date) return std::nullopt;
    const chr::year_month_day day{chr::year(*year), chr::month(static_cast<unsigned>(*month)),
                                  chr::day(static_cast<unsigned>(*date))};
    if (!day.ok() || *year < 1970) return std::nullopt;
    if (text.empty()) return by_local_zone(day, edge == DayEdge::start ? 0 : kDay - 1);
    if (!take(text, "Tt ")) return std::nullopt;
    const auto hour = digits(text, 2);
    if (!hour || !take(text, ":")) return std::nullopt;
    const auto minute = digits(text, 2);
    if (!minute) return std::nullopt;
    int second = 0;
    if (take(text, ":")) {
        const auto read = digits(text, 2);
        if (!read) return std::nullopt;
        second = *read;
        if (take(text, ".")) {
            if (!digits(text, 1)) return std::nullopt;
            while (digits(text, 1)) {
            }
        }
    }
    if (*hour > 23 || *minute > 59 || second > 60) return std::nullopt;
    const int second_of_day = 3600 * *hour + 60 * *minute + second;
    if (text.empty()) return by_local_zone(day, second_of_day);
    if (take(text, "Zz")) {
        if (!text.empty()) return std::nullopt;
        return Instant{seconds_of(day, second_of_day), 0};
    }
    const bool west = text[0] == '-';
    if (!take(text, "+-")) return std::nullopt;
    const auto offset_hour = digits(text, 2);
    if (!offset_hour) return std::nullopt;
    take(text, ":");
    const auto offset_minute = digits(text, 2);
    if (!offset_minute || *offset_hour > 23 || *offset_minute > 59 || !text.empty()) {
        return std::nullopt;
    }
    const int offset_s = (west ? -1 : 1) * (3600 * *offset_hour + 60 * *offset_minute);
    return Instant{seconds_of(day, second_of_day) - offset_s, offset_s};
}

std::optional<std::int64_t> parse_day(std::string_view text) {
    constexpr std::string_view kShape = "0000-00-00";
    if (text.size() != kShape.size()) return std::nullopt;
    int parts[3] = {0, 0, 0};
    std::size_t part = 0;
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (kShape[i] == '-') {
            if (text[i] != '-') return std::nullopt;
            ++part;
            continue;
        }
        if (text[i] < '0' || text[i] > '9') return std::nullopt;
        parts[part] = parts[part] * 10 + (text[i] - '0');
    }
    const std::chrono::year_month_day date{std::chrono::year{parts[0]},
                                           std::chrono::month{static_cast<unsigned>(parts[1])},
                                           std::chrono::day{static_cast<unsigned>(parts[2])}};
    constexpr int kFirstYear = 1900;
    constexpr int kLastYear = 2200;
    if (!date.ok() || parts[0] < kFirstYear || parts[0] > kLastYear) return std::nullopt;
    return std::chrono::sys_days{date}.time_since_epoch().count();
}

std::chrono::year_month_day calendar_of(std::int64_t day) {
    return std::chrono::sys_days{std::chrono::days{day}};
}

std::string month_words(int month) {
    static constexpr const char* kMonths[] = {"January",   "February", "March",    "April",
                                              "May",       "June",     "July",     "August",
                                              "September", "October",  "November", "December"};
    return kMonths[month - 1];
}

std::string day_words(std::int64_t day) {
    const std::chrono::year_month_day date = calendar_of(day);
    return fmt::format("{} {} {}", static_cast<unsigned>(date.day()),
                       month_words(static_cast<int>(static_cast<unsigned>(date.month()))),
                       static_cast<int>(date.year()));
}

std::string short_date(double day) {
    const auto date = calendar_of(static_cast<std::int64_t>(std::floor(day)));
    return fmt::format(
        "{} {}", static_cast<unsigned>(date.day()),
        month_words(static_cast<int>(static_cast<unsigned>(date.month()))).substr(0, 3));
}

std::string day_text(std::int64_t day) {
    const std::chrono::year_month_day date = calendar_of(day);
    return fmt::format("{:04}-{:02}-{:02}", static_cast<int>(date.year()),
                       static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()));
}

std::optional<int> parse_clock(std::string_view text) {
    const auto hour = digits(text, text.find(':') == 1 ? 1 : 2);
    if (!hour || !take(text, ":")) return std::nullopt;
    const auto minute = digits(text, 2);
    int second = 0;
    if (minute && take(text, ":")) {
        const auto read = digits(text, 2);
        if (!read) return std::nullopt;
        second = *read;
    }
    if (!minute || !text.empty() || *hour > 23 || *minute > 59 || second > 59) return std::nullopt;
    return 3600 * *hour + 60 * *minute + second;
}

Instant on_day_of(const Instant& instant, int second_of_day) {
    return {instant.seconds - wall_of(instant).second_of_day + second_of_day, instant.offset_s};
}

std::string date_of(const Instant& instant) {
    const Wall wall = wall_of(instant);
    return fmt::format("{:04}-{:02}-{:02}", int{wall.day.year()}, unsigned{wall.day.month()},
                       unsigned{wall.day.day()});
}

std::string minute_of(const Instant& instant) {
    const int minute = wall_of(instant).second_of_day / 60;
    return fmt::format("{} {:02}:{:02}", date_of(instant), minute / 60, minute % 60);
}

std::string clock_of(const Instant& instant) {
    return minute_of(instant).substr(std::string_view("2026-11-24 ").size());
}

std::string text_of(const Instant& instant) {
    const int second = wall_of(instant).second_of_day;
    std::string out = fmt::format("{}T{:02}:{:02}:{:02}", date_of(instant), second / 3600,
                                  second / 60 % 60, second % 60);
    if (instant.offset_s == 0) return out + 'Z';
    const int minutes = std::abs(instant.offset_s) / 60;
    return out + fmt::format("{}{:02}:{:02}", instant.offset_s < 0 ? '-' : '+', minutes / 60,
                             minutes % 60);
}

Instant clock_now() {
    const std::time_t seconds = std::time(nullptr);
    std::tm wall{};
    localtime_r(&seconds, &wall);
    return {seconds, static_cast<int>(wall.tm_gmtoff)};
}

std::optional<double> parse_age_h(std::string_view text) {
    const std::size_t digits = std::min(text.find_first_not_of(".0123456789"), text.size());
    const std::string number(text.substr(0, digits));
    const std::string_view unit = text.substr(digits);
    char* end = nullptr;
    const double value = std::strtod(number.c_str(), &end);
    const double hours = unit == "h" ? 1 : unit == "min" ? 1.0 / 60 : unit == "d" ? 24 : 0;
    if (number.empty() || *end != '\0' || hours == 0 || !(value > 0 && value < 1e6)) {
        return std::nullopt;
    }
    return value * hours;
}

}  // namespace coldtank::io
