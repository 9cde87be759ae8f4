#include "csv.hpp"

namespace coldtank::io {

std::optional<CsvRow> next_csv_row(std::string_view text, std::size_t& at) {
    while (at < text.size() && (text[at] == '\n' || text[at] == '\r')) ++at;
    if (at >= text.size()) return std::nullopt;
    CsvRow row{{}, at, false};
    for (;;) {
        CsvCell cell{{}, at};
        const bool quoted = at < text.size() && text[at] == '"';
        bool inside = quoted;
        if (quoted) ++at;
        for (; at < text.size(); ++at) {
            const char c = text[at];
            if (inside && c == '"') {
                inside = at + 1 < text.size() && text[at + 1] == '"';
                if (!inside) continue;
                ++at;
            } else if (!inside && (c == ',' || c == '\n')) {
                break;
            }
            cell.text += text[at];
        }
        const bool more = at < text.size() && text[at] == ',';
        row.ended = at < text.size() && text[at] == '\n';
        if (!more && cell.text.ends_with('\r')) cell.text.pop_back();
        if (cell.text.size() > 1 && cell.text[0] == '\'' &&
            std::string_view("=+-@\t\r").find(cell.text[1]) != std::string_view::npos) {
            cell.text.erase(0, 1);
        }
        if (inside) {  // to the end of the text: what follows the line is not its cell
            const std::size_t line_end = text.find('\n', row.at);
            if (line_end != std::string_view::npos) {
                row.quote_left_open = row.ended = true;
                at = line_end + 1;
                return row;
            }
        }
        row.cells.push_back(std::move(cell));
        if (at < text.size()) ++at;
        if (!more) return row;
    }
}

}  // namespace coldtank::io
