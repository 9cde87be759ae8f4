#include "text/json_tree.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cstdint>
#include <deque>
#include <iterator>
#include <nlohmann/json.hpp>

#include "text/text.hpp"

namespace coldtank::io {
namespace {

constexpr std::size_t kDeepest = 16;
constexpr std::size_t kUsualMembers = 8;  // of an object: room that seldom has to grow

// Reads bytes and leaves the position behind where the handler sees it.
class TrackingIterator {
public:
    using difference_type = std::ptrdiff_t;
    using value_type = char;
    using pointer = const char*;
    using reference = const char&;
    using iterator_category = std::input_iterator_tag;

    TrackingIterator(const char* at, const char** seen) : at_(at), seen_(seen) {}
    reference operator*() const { return *at_; }
    TrackingIterator& operator++() {
        *seen_ = ++at_;
        return *this;
    }
    bool operator==(const TrackingIterator& other) const { return at_ == other.at_; }
    bool operator!=(const TrackingIterator& other) const { return at_ != other.at_; }

private:
    const char* at_;
    const char** seen_;
};

bool is_number_byte(char c) {
    return (c >= '0' && c <= '9') || c == '-' || c == '+' || c == '.' || c == 'e' || c == 'E';
}

bool is_between(char c) {
    return c == ' ' || c == '\t' || c == '\r' || c == '\n' || c == ',' || c == ':';
}

bool is_word_byte(char c) {
    return is_number_byte(c) || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_';
}

// Builds the tree from the parser's events. A token starts after the last one and the blanks and
// separators that follow it.
class TreeBuilder final : public nlohmann::json_sax<nlohmann::json> {
public:
    TreeBuilder(std::string_view text, std::vector<Fault>& faults)
        : text_(text), seen_(text.data()), faults_(faults) {}

    const char** seen() { return &seen_; }
    JsonNode take() { return std::move(root_); }

    bool null() override {
        add(JsonNode::Kind::null);
        return true;
    }
    bool boolean(bool value) override {
        add(JsonNode::Kind::truth).truth = value;
        return true;
    }
    bool number_integer(number_integer_t value) override {
        add_number(static_cast<double>(value));
        return true;
    }
    bool number_unsigned(number_unsigned_t value) override {
        add_number(static_cast<double>(value));
        return true;
    }
    bool number_float(number_float_t value, const string_t&) override {
        add_number(value);
        return true;
    }
    bool string(string_t& value) override {
        if (holds_nul(value, next_start(), false)) return false;
        JsonNode& node = add(JsonNode::Kind::text);
        node.text = value;  // a copy: the parser keeps its room
        return true;
    }
    bool binary(binary_t&) override { return false; }
    bool start_object(std::size_t) override { return open(JsonNode::Kind::object); }
    bool start_array(std::size_t) override { return open(JsonNode::Kind::list); }
    bool end_object() override { return close(); }
    bool end_array() override { return close(); }

    bool key(string_t& value) override {
        const std::size_t at = next_start();
        end_token();
        JsonNode& object = *open_.back().node;
        if (holds_nul(value, at, true)) return false;
        skipping_duplicate_ = false;
        awaiting_value_ = true;
        if (const JsonMember* first = object.find(value)) {
            object.repeated.push_back({value, at, first->at});
            duplicates_.push_back({value, at, {}});
            skipping_duplicate_ = true;
        } else {
            object.members.push_back({value, at, {}});
        }
        return true;
    }

    bool parse_error(std::size_t position, const std::string&,
                     const nlohmann::detail::exception& error) override {
        describe(position, error);
        return false;
    }

private:
    // What a node is called in its parent: by a key, or by its place in a list.
    struct Step {
        const std::string* key = nullptr;
        std::size_t index = 0;
    };
    struct Open {
        JsonNode* node;
        Step step;
    };

    bool holds_nul(const std::string& value, std::size_t at, bool is_key) {
        if (value.find('\0') == std::string::npos) return false;
        faults_.push_back(
            {at, is_key ? pointer() : next_pointer(), "a NUL in a text; take the \\u0000 out"});
        return true;
    }

    std::size_t next_start() const {
        std::size_t at = end_;
        while (at < text_.size() && is_between(text_[at])) ++at;
        return at;
    }
    void end_token() { end_ = static_cast<std::size_t>(seen_ - text_.data()); }

    static std::string stepped(std::string_view parent, const Step& step) {
        return step.key != nullptr ? pointer_to(parent, *step.key) : pointer_to(parent, step.index);
    }
    std::string pointer() const {
        std::string pointer;
        for (std::size_t i = 1; i < open_.size(); ++i) pointer = stepped(pointer, open_[i].step);
        return pointer;
    }
    // Of the node that comes next.
    Step next_step() const {
        const JsonNode& parent = *open_.back().node;
        if (parent.kind == JsonNode::Kind::list) return {.index = parent.items.size()};
        return {skipping_duplicate_ ? &duplicates_.back().key : &parent.members.back().key};
    }
    std::string next_pointer() const {
        if (open_.empty()) return {};
        const bool named = open_.back().node->kind == JsonNode::Kind::list || skipping_duplicate_ ||
                           awaiting_value_;
        return named ? stepped(pointer(), next_step()) : pointer();
    }

    JsonNode& slot() {
        awaiting_value_ = false;
        if (open_.empty()) return root_;
        JsonNode& parent = *open_.back().node;
        if (parent.kind == JsonNode::Kind::list) return parent.items.emplace_back();
        if (skipping_duplicate_) {
            skipping_duplicate_ = false;
            return duplicates_.back().value;
        }
        return parent.members.back().value;
    }

    JsonNode& add(JsonNode::Kind kind) {
        const std::size_t at = next_start();
        JsonNode& node = slot();
        node.kind = kind;
        node.at = at;
        end_token();
        return node;
    }

    void add_number(double value) {
        JsonNode& node = add(JsonNode::Kind::number);
        node.number = value;
        end_ = node.at;  // the parser has looked one byte ahead
        const std::size_t digits = node.at + (text_[node.at] == '-' ? 1 : 0);
        const bool zero = text_.substr(digits, 1) == "0";  // it ends there, or with a point or an e
        while (end_ < text_.size() && is_number_byte(text_[end_]) &&
               !(zero && end_ == digits + 1 && text_[end_] >= '0' && text_[end_] <= '9')) {
            ++end_;
        }
        node.text = std::string(text_.substr(node.at, end_ - node.at));
    }

    bool open(JsonNode::Kind kind) {
        if (open_.size() == kDeepest) {
            faults_.push_back(
                {next_start(), next_pointer(),
                 fmt::format("more than {} levels deep; a description needs six", kDeepest)});
            return false;
        }
        const Step step = open_.empty() ? Step{} : next_step();
        JsonNode& node = add(kind);
        if (kind == JsonNode::Kind::object) node.members.reserve(kUsualMembers);
        open_.push_back({&node, step});
        return true;
    }
    bool close() {
        end_token();
        open_.pop_back();
        skipping_duplicate_ = false;
        return true;
    }

    // What was seen at an offset, as far as the word goes.
    std::string seen_at(std::size_t at) const {
        std::size_t end = at;
        while (end < text_.size() && end - at < 20 && is_word_byte(text_[end])) ++end;
        return printable(text_.substr(at, std::max<std::size_t>(1, end - at)));
    }

    void describe(std::size_t position, const nlohmann::detail::exception& error) {
        const std::size_t start = next_start();
        const std::string_view between = text_.substr(end_, start - end_);
        const bool comma = between.find(',') != std::string_view::npos;
        const bool colon = between.find(':') != std::string_view::npos;
        const auto fault = [&](std::size_t at, std::string message) {
            faults_.push_back({at, next_pointer(), std::move(message)});
        };
        if (start >= text_.size()) {
            if (open_.empty()) {
                fault(text_.size(), "there is no description here");
                return;
            }
            const Place place = Lines(text_).place_of(open_.back().node->at);
            fault(text_.size(),
                  fmt::format("the text ends too early: the {} of line {}, column {} is not closed",
                              text_[open_.back().node->at], place.line, place.column));
            return;
        }
        const char first = text_[start];
        const std::string word = seen_at(start);
        if (error.id == 406) {
            fault(start, fmt::format("{} is too large for a number", word));
        } else if (first == '"' && position > start + 1) {
            const std::size_t inside = std::min(position - 1, text_.size());
            if (inside == text_.size()) {
                fault(start, "this quote is not closed");
            } else if (std::string_view(error.what()).find("UTF-8") != std::string_view::npos) {
                fault(inside, "not UTF-8; save the file as UTF-8");
            } else if (static_cast<unsigned char>(text_[inside]) < 0x20) {
                fault(inside, text_[inside] == '\n' || text_[inside] == '\r'
                                  ? "the quote is not closed on its line"
                                  : "a control character in a text; write it as \\u00XX");
            } else if (colon || comma || open_.empty() || end_ == start || text_[inside] == '\\' ||
                       text_[inside - 1] == '\\') {
                fault(inside, "not JSON inside this text; a backslash is written \\\\");
            } else {
                fault(start, "a comma is missing before this");
            }
        } else if (start == end_ && end_ > 0 && text_[end_ - 1] == '0' && first >= '0' &&
                   first <= '9') {
            fault(start, "a number does not start with 0");
        } else if (first == '/' || first == '#') {
            fault(start, "JSON has no comments; take this out");
        } else if ((first == '}' || first == ']') && comma) {
            fault(start, "a comma stands before this bracket; take the comma out");
        } else if (text_.substr(start, 2) == "\xE2\x80") {
            fault(start, "a curly quote; use the straight one, \"");
        } else if (first == '\'') {
            fault(start, "texts and keys stand in double quotes");
        } else if (word == "NaN" || word == "nan" || word == "Infinity" || word == "-Infinity" ||
                   word == "inf" || word == "None") {
            fault(start, fmt::format("{} is not a JSON number; leave the key out where there is no "
                                     "reading",
                                     word));
        } else if (open_.empty() && end_ > 0) {
            fault(start,
                  "more text after the description; one file holds one (or one a line with "
                  "--lines)");
        } else if (word == "True" || word == "False") {
            fault(start, "true and false are written in lower case");
        } else if (first == ',' || (between.size() > 1 && comma && colon)) {
            fault(start, "a value is missing here");
        } else if (!comma && !colon && end_ > 0 &&
                   (first == '"' || first == '{' || first == '[' || is_word_byte(first)) &&
                   !open_.empty() && text_[end_ - 1] != '{' && text_[end_ - 1] != '[') {
            fault(start, "a comma or colon is missing before this");
        } else if (first >= '0' && first <= '9' && comma && end_ > 0 && text_[end_ - 1] >= '0' &&
                   text_[end_ - 1] <= '9') {
            fault(start, "a key must stand here; a decimal point is written ., not ,");
        } else if (is_number_byte(first)) {
            fault(start, fmt::format("{} is not a JSON number; write 0.5, 12, -3 or 1e3", word));
        } else {
            fault(start, fmt::format("'{}' does not belong here", word));
        }
    }

    std::string_view text_;
    const char* seen_;
    std::size_t end_ = 0;  // offset one past the last token
    std::vector<Fault>& faults_;
    JsonNode root_;
    std::deque<JsonMember> duplicates_;  // read past, and thrown away
    bool skipping_duplicate_ = false;
    bool awaiting_value_ = false;  // a key has been read, its value has not
    std::vector<Open> open_;
};

}  // namespace

const JsonMember* JsonNode::find(std::string_view key) const noexcept {
    const auto found = std::find_if(members.begin(), members.end(),
                                    [&](const JsonMember& member) { return member.key == key; });
    return found == members.end() ? nullptr : &*found;
}

Lines::Lines(std::string_view text) : starts_{0}, size_(text.size()) {
    for (std::size_t at = 0; (at = text.find('\n', at)) != std::string_view::npos;) {
        starts_.push_back(++at);
    }
}

Place Lines::place_of(std::size_t at) const {
    at = std::min(at, size_);
    const auto line = std::upper_bound(starts_.begin(), starts_.end(), at) - 1;
    return {static_cast<std::size_t>(line - starts_.begin()) + 1, at - *line + 1};
}

std::string pointer_to(std::string_view parent, std::string_view key) {
    std::string pointer(parent);
    pointer += '/';
    for (const char c : key) {
        if (c == '~') {
            pointer += "~0";
        } else if (c == '/') {
            pointer += "~1";
        } else {
            pointer += c;
        }
    }
    return pointer;
}

std::string pointer_to(std::string_view parent, std::size_t index) {
    std::string pointer(parent);
    return pointer.append("/").append(std::to_string(index));
}

std::optional<Fault> not_text(std::string_view text) {
    const std::size_t nul = text.find('\0');
    if (nul == std::string_view::npos) return std::nullopt;
    // What a spreadsheet or an old editor calls Unicode: two bytes a character.
    const std::string_view start = text.substr(0, 2);
    const bool marked = start == "\xFF\xFE" || start == "\xFE\xFF";
    const bool wide =
        text.size() >= 4 && nul < 2 && (text[nul + 2] == '\0') && text[1 - nul] != '\0';
    if (marked || wide) {
        return Fault{0, {}, "UTF-16, two bytes a character; save the file as UTF-8", {}};
    }
    return Fault{nul, {}, "a NUL byte; this is not a text file", {}};
}

std::optional<JsonNode> parse_json(std::string_view text, std::vector<Fault>& faults) {
    if (text.substr(0, 3) == "\xEF\xBB\xBF") {
        faults.push_back({0, {}, "a byte order mark; save the file as UTF-8 without one"});
        return std::nullopt;
    }
    if (const auto fault = not_text(text)) {
        faults.push_back(*fault);
        return std::nullopt;
    }
    TreeBuilder builder(text, faults);
    const char* const end = text.data() + text.size();
    if (!nlohmann::json::sax_parse(TrackingIterator(text.data(), builder.seen()),
                                   TrackingIterator(end, builder.seen()), &builder)) {
        return std::nullopt;
    }
    return builder.take();
}

}  // namespace coldtank::io
