#include "text/csv.hpp"

#include <algorithm>

#include "text/text.hpp"

namespace coldtank::io {
namespace {

// Of a cell that a spreadsheet might run: where its text begins, or begins again in a sheet that is
// split at ; or tab, behind blanks of any kind.
bool begins(std::string_view cell, std::size_t at) {
    std::string_view before = cell.substr(0, at);
    while (true) {
        constexpr std::string_view kNoBreakBlank = "\xC2\xA0";
        if (before.ends_with(' ')) {
            before.remove_suffix(1);
        } else if (before.ends_with(kNoBreakBlank)) {
            before.remove_suffix(kNoBreakBlank.size());
        } else {
            return before.empty() || before.back() == ';' || before.back() == '\t';
        }
    }
}
// Whether one of = + - @ stands here, behind quotes of this kind or none.
bool is_run(std::string_view cell, std::size_t at) {
    at = cell.find_first_not_of('\'', at);
    return at != std::string_view::npos &&
           std::string_view("=+-@\t\r").find(cell[at]) != std::string_view::npos;
}

}  // namespace

std::optional<CsvRow> next_csv_row(std::string_view text, std::size_t& at, char separator) {
    while (at < text.size() && (text[at] == '\n' || text[at] == '\r')) ++at;
    if (at >= text.size()) return std::nullopt;
    CsvRow row{{}, at, false, {}};
    const auto bad = [&](std::size_t quote) {
        const std::size_t line_end = std::min(text.find('\n', row.at), text.size());
        row.bad_quote = quote;
        row.ended = line_end < text.size();
        at = std::min(line_end + 1, text.size());
        return row;
    };
    for (;;) {
        CsvCell cell{{}, at};
        const bool quoted = at < text.size() && text[at] == '"';
        if (quoted) {
            for (++at;; ++at) {
                if (at >= text.size() || text[at] == '\n' || text[at] == '\r') {
                    return bad(cell.at);
                }
                if (text[at] == '"' && (at + 1 >= text.size() || text[at + 1] != '"')) break;
                if (text[at] == '"') ++at;
                cell.text += text[at];
            }
            ++at;  // past the closing one
            if (at < text.size() && text[at] == '\r') ++at;
            if (at < text.size() && text[at] != separator && text[at] != '\n') return bad(cell.at);
        } else {
            while (at < text.size() && text[at] != separator && text[at] != '\n')
                cell.text += text[at++];
        }
        const bool more = at < text.size() && text[at] == separator;
        row.ended = at < text.size() && text[at] == '\n';
        if (!more && !quoted && cell.text.ends_with('\r')) cell.text.pop_back();
        cell.text = csv_text(cell.text);
        row.cells.push_back(std::move(cell));
        if (at < text.size()) ++at;
        if (!more) return row;
    }
}

std::optional<char> csv_separator(std::string_view text) {
    std::size_t at = 0;
    const auto header = next_csv_row(text, at);
    if (!header || header->cells.size() != 1) return ',';
    const std::string& whole = header->cells[0].text;
    const bool semicolon = whole.find(';') != std::string::npos;
    const bool tab = whole.find('\t') != std::string::npos;
    if (semicolon && tab) return std::nullopt;
    return semicolon ? ';' : tab ? '\t' : ',';
}

std::string csv_cell(std::string_view text) {
    std::string cell;
    const std::string plain = printable(text);
    for (std::size_t i = 0; i < plain.size(); ++i) {
        if (begins(plain, i) && is_run(plain, i)) cell += '\'';
        cell += plain[i];
    }
    if (cell.find_first_of("\",\n\r") == std::string::npos) return cell;
    std::string quoted = "\"";
    for (const char c : cell) {
        if (c == '"') quoted += '"';
        quoted += c;
    }
    return quoted + '"';
}

std::string csv_text(std::string_view cell) {
    std::string text;
    for (std::size_t i = 0; i < cell.size(); ++i) {
        const bool guard = cell[i] == '\'' && begins(cell, i) && is_run(cell, i + 1);
        if (!guard) text += cell[i];
    }
    return text;
}

}  // namespace coldtank::io
