#include "text/json_writer.hpp"

#include <cmath>

#include "text/text.hpp"

namespace coldtank::io {
namespace {

// `indent` 0: one line.
void write(const Json& json, std::size_t indent, std::size_t depth, std::string& out) {
    const auto new_line = [&](std::size_t level) {
        if (indent == 0) return;
        out += '\n';
        out.append(indent * level, ' ');
    };
    if (json.is_object() || json.is_array()) {
        if (json.empty()) {
            out += json.is_object() ? "{}" : "[]";
            return;
        }
        out += json.is_object() ? '{' : '[';
        bool first = true;
        for (const auto& [key, value] : json.items()) {
            if (!first) out += ',';
            first = false;
            new_line(depth + 1);
            if (json.is_object()) {
                out += json_text(key);
                out += indent == 0 ? ":" : ": ";
            }
            write(value, indent, depth + 1, out);
        }
        new_line(depth);
        out += json.is_object() ? '}' : ']';
    } else if (json.is_number_float()) {
        out += exact(json.get<double>());
    } else if (json.is_string()) {
        out += json_text(json.get_ref<const std::string&>());
    } else {
        out += json.dump();
    }
}

}  // namespace

Json json_number(std::optional<double> value) {
    return value && std::isfinite(*value) ? Json(*value == 0 ? 0.0 : *value) : Json(nullptr);
}

std::string json_page(const Json& json) {
    std::string out;
    write(json, 2, 0, out);
    return out + '\n';
}

std::string json_line(const Json& json) {
    std::string out;
    write(json, 0, 0, out);
    return out + '\n';
}

}  // namespace coldtank::io
