// Numbers and a user's words as text: the one place where either becomes output.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace coldtank::io {

// A user's text, safe for a terminal, a log and a mail: controls, what has no width, bidirectional
// marks, tags and broken UTF-8 as \xNN, \uNNNN or \u{NNNNN}; all else as it is.
std::string printable(std::string_view text);
// Whether there is nothing to see in it: blanks of any kind and what has no width.
bool is_blank(std::string_view text);

// The same, cut to some 60 bytes: for messages.
std::string shortened(std::string_view text);

// Appends a text as a JSON string, quotes and all; the same controls as \uNNNN, broken UTF-8 as
// \ufffd.
void append_json(std::string& out, std::string_view text);

// Columns that a text takes, one a code point; none for what sets a terminal's colour.
std::size_t columns(std::string_view text);

// A value as it is to be rounded to at most seven digits. The last bits of what is computed are the
// machine's: so near a tie it counts as one, and a tie is rounded away from zero. -0 becomes 0.
double off_tie(double value);

// A number in plain notation with three significant digits, no "-0", no exponent below 1e15.
std::string figure(double value);
// So many decimals at most, trailing zeros off.
std::string figure(double value, int decimals);
// The shortest text that reads back as the same number.
std::string exact(double value);
void append_exact(std::string& out, double value);

// The words of "a|b|c"; none of an empty list.
std::vector<std::string_view> choices_of(std::string_view list);

// Texts with others between them: "a, b, c".
template <class Texts>
std::string joined(const Texts& texts, std::string_view between) {
    std::string out;
    bool first = true;
    for (const auto& text : texts) {
        if (!first) out += between;
        out += text;
        first = false;
    }
    return out;
}

// At most so many columns of a text, with a full stop where it is cut.
std::string cut_to(std::string text, std::size_t width);
// With the letters of ASCII in lower case.
std::string lower_case(std::string_view text);
// A name as people mean it: without capitals, and with single blanks between its words.
std::string folded(std::string_view name);
// Without the blanks and tabs at its ends.
std::string_view trimmed(std::string_view text);

// A finite number in plain decimal notation, and nothing else.
std::optional<double> plain_number(std::string_view text);
// A number whose decimal mark is a comma: "7,2".
std::optional<double> comma_number(std::string_view text);
// Whether such a mark may as well part thousands: "1,250", "1.250".
bool may_part_thousands(std::string_view number);

// A value and the limits it is held against, with as many digits as it takes for the texts to stand
// in the same order as the numbers.
struct Compared {
    std::string value;
    std::vector<std::string> limits;
};
Compared compared(double value, std::span<const double> limits);

// Text in lines of at most `width` columns, broken at blanks; the first line starts with `head`,
// the rest with `indent` blanks.
std::string wrapped(std::string_view head, std::string_view text, std::size_t indent,
                    std::size_t width = 80);
// "a", "a and b", "a, b and c".
std::string listed(const std::vector<std::string>& words);

}  // namespace coldtank::io
