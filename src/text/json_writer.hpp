// JSON trees as text: numbers in their shortest form, texts harmless on a terminal.
#pragma once

#include <nlohmann/json.hpp>
#include <optional>
#include <string>

namespace coldtank::io {

using Json = nlohmann::ordered_json;

// A number; null where there is none, or it is not finite.
Json json_number(std::optional<double> value);

std::string json_page(const Json& json);  // indented, ends with a newline
std::string json_line(const Json& json);  // one line, ends with a newline

}  // namespace coldtank::io
