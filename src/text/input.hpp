// What was read: whole files, and what is wrong in them with its place.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "text/json_tree.hpp"
#include "text/safe_file.hpp"

namespace coldtank::io {

// Something wrong with an input, at its place in the file.
struct InputError {
    std::string file;
    std::optional<std::size_t> line;  // none where the file could not be read at all
    std::optional<std::size_t> column;
    std::string pointer;  // RFC 6901
    std::string message;
};

// A file, or standard input ("-"), as it comes. A FIFO is waited for until somebody writes to it,
// half a minute at most.
class InputFile {
public:
    explicit InputFile(const std::string& path);
    // Appends what one read gives, at most 256 KB; false at the end, and where it cannot be read.
    bool read_more(std::string& text);
    // Why it cannot be read; empty where it can.
    const std::string& reason() const { return reason_; }

private:
    std::string reason_;
    std::string first_;
    std::size_t at_once_ = 8192;
    File opened_;
    int file_;
};

// All of it; none, with the reason, where that fails.
std::optional<std::string> read_all(const std::string& path, std::string& reason);

// All of a file that is text; none, with the error, where it cannot be read (`unreadable`) or is
// none.
std::optional<std::string> read_text(const std::string& path, bool& unreadable,
                                     std::vector<InputError>& errors);

// Whether a file is one JSON value a line, by the ending of its name.
bool is_json_lines(std::string_view path);

// Faults of a text as errors of its file, in the order of the text. `first_line` is the line of the
// file on which `text` starts.
std::vector<InputError> located(std::vector<Fault> faults, std::string_view text,
                                const std::string& file, std::size_t first_line = 1);

}  // namespace coldtank::io
