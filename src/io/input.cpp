#include "input.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstring>
#include <memory>

namespace coldtank::io {

std::optional<std::string> read_all(const std::string& path, std::string& reason) {
    struct Close {
        void operator()(std::FILE* file) const {
            if (file != stdin) std::fclose(file);
        }
    };
    const std::unique_ptr<std::FILE, Close> file(path == "-" ? stdin
                                                             : std::fopen(path.c_str(), "rb"));
    if (file == nullptr) {
        reason = std::strerror(errno);
        return std::nullopt;
    }
    std::string text;
    char buffer[65536];
    constexpr std::size_t kMostBytes = std::size_t{1} << 30;
    while (const std::size_t got = std::fread(buffer, 1, sizeof buffer, file.get())) {
        text.append(buffer, got);
        if (text.size() > kMostBytes) {
            reason = "too large: more than 1 GiB";
            return std::nullopt;
        }
    }
    if (std::ferror(file.get()) != 0) {
        reason = std::strerror(errno);
        return std::nullopt;
    }
    return text;
}

bool is_json_lines(std::string_view path) {
    return path.ends_with(".jsonl") || path.ends_with(".ndjson");
}

std::vector<InputError> located(std::vector<Fault> faults, std::string_view text,
                                const std::string& file, std::size_t first_line) {
    std::vector<InputError> errors;
    std::stable_sort(faults.begin(), faults.end(),
                     [](const Fault& a, const Fault& b) { return a.at < b.at; });
    const Lines lines(text);
    for (Fault& fault : faults) {
        const Place place = lines.place_of(fault.at);
        if (fault.first_at) {
            const Place first = lines.place_of(*fault.first_at);
            fault.message += fmt::format("; first at line {}, column {}",
                                         first_line + first.line - 1, first.column);
        }
        errors.push_back({file, first_line + place.line - 1, place.column, std::move(fault.pointer),
                          std::move(fault.message)});
    }
    return errors;
}

}  // namespace coldtank::io
