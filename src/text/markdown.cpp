#include "text/markdown.hpp"

#include <algorithm>

#include "text/text.hpp"

namespace coldtank::io {
namespace {

// A mark of a list, a rule or a heading at the start of a word: "-", "+", "===", "1." or "1)".
bool starts_block(std::string_view text, std::size_t at) {
    const auto ends = [&](std::size_t end) { return end >= text.size() || text[end] == ' '; };
    const auto word_starts = [&](std::size_t i) { return i == 0 || text[i - 1] == ' '; };
    const char c = text[at];
    if (c == '-' || c == '+' || c == '=') {
        return word_starts(at) && ends(std::min(text.find_first_not_of(c, at), text.size()));
    }
    if ((c != '.' && c != ')') || !ends(at + 1)) return false;
    std::size_t from = at;
    while (from > 0 && text[from - 1] >= '0' && text[from - 1] <= '9') --from;
    if (from == at || !word_starts(from)) return false;
    // Inside a paragraph only a list that starts with 1 begins.
    return from == 0 || (text.substr(from, at - from) == "1" && at + 1 < text.size());
}

}  // namespace

std::string markdown_text(std::string_view text) {
    const std::string plain = printable(text);
    const auto is_word = [](char c) {
        return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
    };
    std::string out;
    for (std::size_t i = 0; i < plain.size(); ++i) {
        const char c = plain[i];
        const bool inside_word = c == '_' && i > 0 && i + 1 < plain.size() &&
                                 is_word(plain[i - 1]) && is_word(plain[i + 1]);
        if (!inside_word && std::string_view("\\`*_[]<>|#&~").find(c) != std::string_view::npos) {
            out += '\\';
        }
        // A word that a line may begin with and that would make it a list, a rule or a heading.
        if (starts_block(plain, i)) out += '\\';
        // What is made a link without being asked.
        const std::string_view rest = std::string_view(plain).substr(i);
        if (rest.starts_with("://") ||
            (c == '.' && i >= 3 && plain.compare(i - 3, 3, "www") == 0)) {
            out += '\\';
        }
        out += c;
    }
    return out;
}

}  // namespace coldtank::io
