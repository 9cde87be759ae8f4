// Points in time as RFC 3339 writes them.
#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace coldtank::io {

struct Instant {
    std::int64_t seconds = 0;  // since 1970-01-01T00:00:00Z
    int offset_s = 0;          // of the clock it was written by
};

// Clocks of two machines may differ by this; what lies further ahead is wrong.
inline constexpr std::int64_t kClockSlackS = 300;

// What a date without a time of day stands for.
enum class DayEdge { start, end };

// "2026-11-24T21:30:00+01:00", a blank in place of T, seconds left out; without an offset by this
// machine's zone (of two that it may be, the earlier), a date alone by the edge of its day; +0100
// too, and seconds since 1970. None where it is no such text.
std::optional<Instant> parse_time(std::string_view text, DayEdge edge);
// How a text that is none should be written: of a date that may be read in two ways, both.
std::string how_to_write_time(std::string_view text);

// "2026-04-01" as days since 1970-01-01, and back; none of any other text.
std::optional<std::int64_t> parse_day(std::string_view text);
std::string day_text(std::int64_t day);
std::chrono::year_month_day calendar_of(std::int64_t day);
// "9 July 2027"; "9 Jul" of the day that a time is on; "July" of 7.
std::string day_words(std::int64_t day);
std::string short_date(double day);
std::string month_words(int month);

// "3:10", "03:10" or "03:10:30" as seconds of a day; none of any other text.
std::optional<int> parse_clock(std::string_view text);
// That second of the day of an instant, by the same clock.
Instant on_day_of(const Instant& instant, int second_of_day);

// "2026-11-24T21:30:00+01:00", Z for no offset.
std::string text_of(const Instant& instant);
std::string date_of(const Instant& instant);    // "2026-11-24"
std::string minute_of(const Instant& instant);  // "2026-11-24 21:30"
std::string clock_of(const Instant& instant);   // "21:30"

// The clock of this machine, in its zone.
Instant clock_now();

// "26h", "90min" or "8d" as hours; none of any other text.
std::optional<double> parse_age_h(std::string_view text);

}  // namespace coldtank::io
