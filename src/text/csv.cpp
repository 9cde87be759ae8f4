#include "csv.hpp"

#include <algorithm>

#include "text.hpp"

namespace coldtank::io {

std::optional<CsvRow> next_csv_row(std::string_view text, std::size_t& at) {
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
            if (at < text.size() && text[at] != ',' && text[at] != '\n') return bad(cell.at);
        } else {
            while (at < text.size() && text[at] != ',' && text[at] != '\n') cell.text += text[at++];
        }
        const bool more = at < text.size() && text[at] == ',';
        row.ended = at < text.size() && text[at] == '\n';
        if (!more && !quoted && cell.text.ends_with('\r')) cell.text.pop_back();
        cell.text = csv_text(cell.text);
        row.cells.push_back(std::move(cell));
        if (at < text.size()) ++at;
        if (!more) return row;
    }
}

}  // namespace coldtank::io
