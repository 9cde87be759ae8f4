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
    bool ended;  // by a line end: without one it may be half-written
    // Opened and not closed, or closed before the end of its cell: then the row is its first line
    // alone, and its cells are not to be used.
    bool bad_quote = false;
};

inline constexpr std::string_view kBadQuote =
    "a quote is opened in this line and not closed at the end of its cell";

// The row that starts at `at`, which moves past it; blank lines are passed over. None at the end.
std::optional<CsvRow> next_csv_row(std::string_view text, std::size_t& at);

}  // namespace coldtank::io
