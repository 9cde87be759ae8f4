#include <algorithm>

#include "read/description.hpp"
#include "read/object_reader.hpp"
#include "text/text.hpp"

namespace coldtank::io {

SpeciesFile read_species_file(const std::string& path) {
    SpeciesFile result;
    std::string reason;
    const std::optional<std::string> text = read_all(path, reason);
    if (!text) {
        result.unreadable = true;
        result.errors.push_back({path, {}, {}, {}, reason});
        return result;
    }
    std::vector<Fault> faults;
    if (const auto tree = parse_json(*text, faults)) result.book.add(*tree, faults);
    result.errors = located(std::move(faults), *text, path, 1);
    return result;
}

DescriptionFile::DescriptionFile(std::string path, const SpeciesBook& book, bool one_a_line)
    : path_(std::move(path)),
      book_(book),
      one_a_line_(one_a_line || is_json_lines(path_)),
      file_(path_) {}

std::vector<DescriptionFile::Text> DescriptionFile::whole_lines(bool at_end) {
    std::vector<Text> texts;
    std::size_t from = 0;
    for (;;) {
        std::size_t end = rest_.find('\n', from);
        if (end == std::string::npos && !(at_end && from < rest_.size())) break;
        end = std::min(end, rest_.size());
        ++line_;
        std::string_view record = std::string_view(rest_).substr(from, end - from);
        from = std::min(end + 1, rest_.size());
        if (record.ends_with('\r')) record.remove_suffix(1);
        if (record.find_first_not_of(" \t\r") == std::string_view::npos) continue;
        texts.push_back({std::string(record), line_});
    }
    rest_.erase(0, from);
    return texts;
}

std::vector<DescriptionFile::Text> DescriptionFile::next() {
    std::vector<Text> texts;
    while (texts.empty() && !ended_) {
        ended_ = !file_.read_more(rest_);
        if (ended_ && !file_.reason().empty()) {
            texts.push_back({.text = {}, .line = {}, .unreadable = file_.reason()});
        } else if (one_a_line_) {
            texts = whole_lines(ended_);
        } else if (ended_) {
            texts.push_back({std::move(rest_)});
        }
        // A file without one is one that is empty.
        if (ended_ && texts.empty() && !any_) texts.push_back({});
        any_ = any_ || !texts.empty();
    }
    return texts;
}

ReadResult DescriptionFile::read(const Text& text) const {
    if (!text.unreadable.empty()) {
        ReadResult result;
        result.file = path_;
        result.unreadable = true;
        result.errors.push_back({path_, {}, {}, {}, text.unreadable});
        return result;
    }
    ReadResult result = read_description(text.text, path_, book_, text.line.value_or(1));
    result.line = text.line;
    return result;
}

std::vector<ReadResult> read_file(const std::string& path, const SpeciesBook& book,
                                  bool one_a_line) {
    DescriptionFile file(path, book, one_a_line);
    std::vector<ReadResult> results;
    for (;;) {
        const std::vector<DescriptionFile::Text> texts = file.next();
        if (texts.empty()) return results;
        for (const DescriptionFile::Text& text : texts) results.push_back(file.read(text));
    }
}

}  // namespace coldtank::io
