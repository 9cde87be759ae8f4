// Rows of a CSV file, RFC 4180, or with ; or tabs in place of commas; CRLF and LF. A row is a line:
// a ditto mark is an open quote, and would swallow the next row if a cell could hold a line end.
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
    // A quote that is opened and not closed in its line, or closed before the end of its cell,
    // stands here: then `cells` are those before it, and the row is not to be used.
    std::optional<std::size_t> bad_quote;
};

inline constexpr std::string_view kBadQuote =
    "a quote is opened here and not closed at the end of its cell, in the same line; a ditto mark "
    "is written \"\"\"\"";

// The row that starts at `at`, which moves past it; blank lines are passed over. None at the end.
std::optional<CsvRow> next_csv_row(std::string_view text, std::size_t& at, char separator = ',');

// What separates the cells of a file, by its header: a comma where there is one, else a semicolon
// or a tab. None where it has both of these.
std::optional<char> csv_separator(std::string_view text);

// A text as a cell of a CSV file, RFC 4180: quoted where it must be; where a spreadsheet would run
// it, at its start or behind a ; or tab, with a ' before that.
std::string csv_cell(std::string_view text);
// The text of a cell, its quotes being off already: without those '.
std::string csv_text(std::string_view cell);

}  // namespace coldtank::io
