#include "text/text.hpp"

#include <fmt/compile.h>
#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <cstdlib>

namespace coldtank::io {
namespace {

// One code point of UTF-8 at the front of `text`, and its length; length 0 where it is broken.
struct CodePoint {
    std::uint32_t value;
    std::size_t length;
};
CodePoint first_code_point(std::string_view text) {
    const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
    const unsigned lead = byte(0);
    if (lead < 0x80) return {lead, 1};
    const std::size_t length = lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : lead >= 0xC2 ? 2 : 0;
    if (length == 0 || lead > 0xF4 || text.size() < length) return {0, 0};
    std::uint32_t value = lead & (0x7Fu >> length);
    for (std::size_t i = 1; i < length; ++i) {
        if ((byte(i) & 0xC0u) != 0x80u) return {0, 0};
        value = (value << 6) | (byte(i) & 0x3Fu);
    }
    const bool overlong = (length == 3 && value < 0x800) || (length == 4 && value < 0x10000);
    if (overlong || (value >= 0xD800 && value <= 0xDFFF) || value > 0x10FFFF) return {0, 0};
    return {value, length};
}

// What moves, hides or forges other text: C0, DEL, C1, what has no width, soft hyphens,
// bidirectional controls and tags.
bool is_control(std::uint32_t c) {
    if (c >= 0x20 && c < 0x7F) return false;
    struct Span {
        std::uint32_t first;
        std::uint32_t last;
    };
    constexpr Span kControls[] = {
        {0x00, 0x1F},     {0x7F, 0x9F},       {0xAD, 0xAD},       {0x34F, 0x34F},
        {0x61C, 0x61C},   {0x115F, 0x1160},   {0x17B4, 0x17B5},   {0x180B, 0x180F},
        {0x200B, 0x200F}, {0x2028, 0x202E},   {0x2060, 0x206F},   {0x2800, 0x2800},
        {0x3164, 0x3164}, {0xFE00, 0xFE0F},   {0xFEFF, 0xFEFF},   {0xFFA0, 0xFFA0},
        {0xFFF9, 0xFFFB}, {0x1BCA0, 0x1BCA3}, {0x1D173, 0x1D17A}, {0xE0000, 0xE0FFF}};
    return std::any_of(std::begin(kControls), std::end(kControls),
                       [&](const Span& span) { return c >= span.first && c <= span.last; });
}

// What stands in a JSON text as it is.
constexpr auto kPlain = [] {
    std::array<bool, 256> plain{};
    for (unsigned char c = ' '; c <= '~'; ++c) plain[c] = c != '"' && c != '\\';
    return plain;
}();

constexpr double kTiedBelow = 1e7;  // seven digits

std::string fixed(double value, int decimals) {
    decimals = std::max(0, decimals);
    const bool has_more_digits = std::abs(value) * std::pow(10, decimals) >= kTiedBelow;
    std::string text = fmt::format("{:.{}f}", has_more_digits ? value : off_tie(value), decimals);
    if (text.find_first_not_of("-0.") == std::string::npos && text[0] == '-') text.erase(0, 1);
    return text;
}

std::string without_trailing_zeros(std::string text) {
    if (text.find('.') == std::string::npos) return text;
    text.erase(text.find_last_not_of('0') + 1);
    if (text.back() == '.') text.pop_back();
    return text;
}

// Decimals for three significant digits.
int decimals_of(double value) {
    const double size = std::abs(off_tie(value));
    if (size == 0 || !std::isfinite(size)) return 0;
    return std::clamp(2 - static_cast<int>(std::floor(std::log10(size))), 0, 12);
}

int order(double a, double b) { return a < b ? -1 : a > b ? 1 : 0; }

}  // namespace

std::string printable(std::string_view text) {
    std::string out;
    while (!text.empty()) {
        const CodePoint c = first_code_point(text);
        if (c.length == 0) {
            out += fmt::format("\\x{:02x}", static_cast<unsigned char>(text[0]));
            text.remove_prefix(1);
            continue;
        }
        if (is_control(c.value)) {
            out += c.value > 0xFFFF ? fmt::format("\\u{{{:x}}}", c.value)
                                    : fmt::format("\\u{:04x}", c.value);
        } else {
            out += text.substr(0, c.length);
        }
        text.remove_prefix(c.length);
    }
    return out;
}

bool is_blank(std::string_view text) {
    while (!text.empty()) {
        const CodePoint c = first_code_point(text);
        const bool blank = c.value == 0x20 || c.value == 0xA0 || c.value == 0x1680 ||
                           (c.value >= 0x2000 && c.value <= 0x200A) || c.value == 0x202F ||
                           c.value == 0x205F || c.value == 0x3000;
        if (c.length == 0 || !(blank || is_control(c.value))) return false;
        text.remove_prefix(c.length);
    }
    return true;
}

std::string shortened(std::string_view text) {
    constexpr std::size_t kMost = 60;
    if (text.size() <= kMost) return printable(text);
    std::size_t end = kMost;  // not inside a code point
    while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0u) == 0x80u) --end;
    return printable(text.substr(0, end)) + "...";
}

void append_json(std::string& out, std::string_view text) {
    out += '"';
    while (!text.empty()) {
        // Most texts are plain to their end.
        std::size_t size = 0;
        while (size < text.size() && kPlain[static_cast<unsigned char>(text[size])]) ++size;
        out.append(text.data(), size);
        text.remove_prefix(size);
        if (text.empty()) break;
        const CodePoint c = first_code_point(text);
        if (c.length == 0) {
            out += "\\ufffd";
        } else if (is_control(c.value) && c.value > 0xFFFF) {
            const std::uint32_t rest = c.value - 0x10000;
            out +=
                fmt::format("\\u{:04x}\\u{:04x}", 0xD800 + (rest >> 10), 0xDC00 + (rest & 0x3FF));
        } else if (is_control(c.value)) {
            out += fmt::format("\\u{:04x}", c.value);
        } else {
            if (c.value == '"' || c.value == '\\') out += '\\';
            out += text.substr(0, c.length);
        }
        text.remove_prefix(std::max<std::size_t>(1, c.length));
    }
    out += '"';
}

std::size_t columns(std::string_view text) {
    std::size_t count = 0;
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (text[i] == '\x1b') {
            i = std::min(text.find('m', i), text.size());
            continue;
        }
        if ((static_cast<unsigned char>(text[i]) & 0xC0u) != 0x80u) ++count;
    }
    return count;
}

double off_tie(double value) {
    constexpr double kTie = 1e-10;  // what is computed keeps about twelve digits on every machine
    return value == 0 ? 0 : value * (1 + kTie);
}

std::string figure(double value) { return figure(value, decimals_of(value)); }

std::string figure(double value, int decimals) {
    if (!std::isfinite(value)) return "not a number";
    if (std::abs(value) >= 1e15) return fmt::format("{:.3g}", value);
    return without_trailing_zeros(fixed(value, decimals));
}

void append_exact(std::string& out, double value) {
    if (!std::isfinite(value)) {
        out += "null";
        return;
    }
    std::array<char, 32> digits;  // "-1.7976931348623157e+308" are 24
    char* const end = fmt::format_to(digits.data(), FMT_COMPILE("{}"), value == 0 ? 0.0 : value);
    out.append(digits.data(), end);
}

std::string exact(double value) {
    std::string out;
    append_exact(out, value);
    return out;
}

std::vector<std::string_view> choices_of(std::string_view list) {
    std::vector<std::string_view> words;
    for (std::size_t from = 0; from <= list.size() && !list.empty();) {
        const std::size_t end = std::min(list.find('|', from), list.size());
        words.push_back(list.substr(from, end - from));
        from = end + 1;
    }
    return words;
}

std::string folded(std::string_view name) {
    std::string out;
    for (const char c : lower_case(trimmed(name))) {
        const bool blank = c == ' ' || c == '\t';
        if (!blank || !out.ends_with(' ')) out += blank ? ' ' : c;
    }
    return out;
}

std::string_view trimmed(std::string_view text) {
    const std::size_t from = text.find_first_not_of(" \t");
    if (from == std::string_view::npos) return {};
    return text.substr(from, text.find_last_not_of(" \t") - from + 1);
}

std::optional<double> plain_number(std::string_view text) {
    if (text.empty() || text.find_first_not_of("+-.0123456789eE") != std::string_view::npos) {
        return std::nullopt;
    }
    const std::string copy(text);
    char* end = nullptr;
    const double value = std::strtod(copy.c_str(), &end);
    if (*end != '\0' || !std::isfinite(value)) return std::nullopt;
    return value;
}

std::optional<double> comma_number(std::string_view text) {
    const std::size_t comma = text.find(',');
    if (comma == 0 || comma == std::string_view::npos ||
        text.find_first_of(".,", comma + 1) != std::string_view::npos ||
        text.find('.') != std::string_view::npos) {
        return std::nullopt;
    }
    std::string plain(text);
    plain[comma] = '.';
    return plain_number(plain);
}

bool may_part_thousands(std::string_view number) {
    if (!number.empty() && (number[0] == '-' || number[0] == '+')) number.remove_prefix(1);
    const std::size_t mark = number.find_first_of(".,");
    constexpr std::size_t kGroup = 3;
    return mark != std::string_view::npos && mark >= 1 && mark <= kGroup && number[0] != '0' &&
           number.size() == mark + 1 + kGroup;
}

Compared compared(double value, std::span<const double> limits) {
    Compared out;
    if (!std::isfinite(value)) {
        out.value = figure(value);
        for (const double limit : limits) out.limits.push_back(figure(limit));
        return out;
    }
    for (int extra = 0;; ++extra) {
        out.value = fixed(value, decimals_of(value) + extra);
        out.limits.clear();
        bool same = true;
        for (const double limit : limits) {
            out.limits.push_back(figure(limit, std::max(2, decimals_of(limit)) + extra));
            same = same &&
                   order(std::strtod(out.value.c_str(), nullptr),
                         std::strtod(out.limits.back().c_str(), nullptr)) == order(value, limit);
        }
        if (same || extra == 17) return out;
    }
}

std::string wrapped(std::string_view head, std::string_view text, std::size_t indent,
                    std::size_t width) {
    std::string out(head);
    std::size_t column = columns(head);
    bool blank = false;  // whether the next word needs a blank before it
    while (!text.empty()) {
        const std::size_t end = std::min(text.find(' '), text.size());
        const std::string_view word = text.substr(0, end);
        text.remove_prefix(std::min(end + 1, text.size()));
        if (word.empty()) continue;
        const std::size_t size = columns(word);
        if (blank && column + 1 + size > width) {
            out += '\n';
            out.append(indent, ' ');
            column = indent;
            blank = false;
        }
        if (blank) {
            out += ' ';
            ++column;
        }
        out += word;
        column += size;
        blank = true;
    }
    out += '\n';
    return out;
}

std::string cut_to(std::string text, std::size_t width) {
    if (columns(text) <= width) return text;
    while (columns(text) > width - 1) {  // whole characters
        while ((static_cast<unsigned char>(text.back()) & 0xC0u) == 0x80u) text.pop_back();
        text.pop_back();
    }
    return text + '.';
}

std::string lower_case(std::string_view text) {
    std::string out(text);
    for (char& c : out) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    return out;
}

std::string listed(const std::vector<std::string>& words) {
    std::string out;
    for (std::size_t i = 0; i < words.size(); ++i) {
        if (i > 0) out += i + 1 == words.size() ? " and " : ", ";
        out += words[i];
    }
    return out;
}

}  // namespace coldtank::io
