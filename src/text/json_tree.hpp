// JSON text as a tree whose every node knows its place.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace coldtank::io {

struct JsonMember;

struct JsonNode {
    enum class Kind { null, truth, number, text, list, object };
    Kind kind = Kind::null;
    std::size_t at = 0;  // offset of its first byte
    bool truth = false;
    double number = 0;
    std::string text;  // of a text its value, of a number its literal
    std::vector<JsonNode> items;
    std::vector<JsonMember> members;  // the first of each key
    struct Repeated {
        std::string key;
        std::size_t at;
        std::size_t first_at;
    };
    std::vector<Repeated> repeated;  // keys that stand again

    const JsonMember* find(std::string_view key) const noexcept;
};

struct JsonMember {
    std::string key;
    std::size_t at = 0;  // of the key
    JsonNode value;
};

// Something wrong with a description, by offset; the file's name and the line come later.
struct Fault {
    std::size_t at;
    std::string pointer;  // RFC 6901
    std::string message;
    std::optional<std::size_t> first_at = {};  // the other place, where there are two
};

struct Place {
    std::size_t line;    // from 1
    std::size_t column;  // from 1, in bytes
};

// Where the lines of a text start, to find many places in it.
class Lines {
public:
    explicit Lines(std::string_view text);
    Place place_of(std::size_t at) const;

private:
    std::vector<std::size_t> starts_;
    std::size_t size_;
};

// A pointer one token further.
std::string pointer_to(std::string_view parent, std::string_view key);
std::string pointer_to(std::string_view parent, std::size_t index);

// Why a file is no text: UTF-16, or a NUL in it; none where it is.
std::optional<Fault> not_text(std::string_view text);

// Strict RFC 8259: no comments, NaN, Infinity, trailing commas, byte order mark or NUL, and no more
// than 16 levels. None where the text is not so: then there is one fault.
std::optional<JsonNode> parse_json(std::string_view text, std::vector<Fault>& faults);

}  // namespace coldtank::io
