#include "text/json_writer.hpp"

#include <cmath>

#include "text/text.hpp"

namespace coldtank::io {

void Fields::bounds(std::string_view key, std::optional<double> low, std::optional<double> high) {
    if (!low || !high) return number(key, low ? low : high);
    begin_list(key);
    number({}, low);
    number({}, high);
    end_list();
}

void JsonWriter::new_line() {
    if (style_ == Style::line) return;
    out_ += '\n';
    out_.append(2 * levels_.size(), ' ');
}

void JsonWriter::start(std::string_view key) {
    if (levels_.empty()) return;
    if (!levels_.back().empty) out_ += ',';
    levels_.back().empty = false;
    new_line();
    if (levels_.back().list) return;
    // A key is the program's own word: plain.
    out_ += '"';
    out_ += key;
    out_ += style_ == Style::line ? "\":" : "\": ";
}

void JsonWriter::begin(std::string_view key, char bracket) {
    start(key);
    out_ += bracket;
    levels_.push_back({.list = bracket == '['});
}

void JsonWriter::end(char bracket) {
    const bool empty = levels_.back().empty;
    levels_.pop_back();
    if (!empty) new_line();
    out_ += bracket;
}

void JsonWriter::number(std::string_view key, std::optional<double> value) {
    start(key);
    value ? append_exact(out_, *value) : void(out_ += "null");
}

void JsonWriter::whole(std::string_view key, std::optional<std::size_t> value) {
    start(key);
    out_ += value ? std::to_string(*value) : "null";
}

void JsonWriter::text(std::string_view key, std::string_view value) {
    start(key);
    append_json(out_, value);
}

void JsonWriter::truth(std::string_view key, bool value) {
    start(key);
    out_ += value ? "true" : "false";
}

void JsonWriter::null(std::string_view key) {
    start(key);
    out_ += "null";
}

}  // namespace coldtank::io
