// Rows of a CSV file, RFC 4180; CRLF and LF, quoted line breaks.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace coldtank::io {

struct CsvCell {
    std::string text;  // as csv_cell() wrote it: without the ' before = + - @
    std::size_t at;    // offset of its first byte
};

struct CsvRow {
    std::vector<CsvCell> cells;
    std::size_t at;
    bool ended;                    // by a line end: without one it may be half-written
    bool quote_left_open = false;  // past a line end: then the row is that line alone
};

inline constexpr std::string_view kQuoteLeftOpen =
    "a quote is opened in this line and never closed";

// The row that starts at `at`, which moves past it; blank lines are passed over. None at the end.
std::optional<CsvRow> next_csv_row(std::string_view text, std::size_t& at);

}  // namespace coldtank::io
