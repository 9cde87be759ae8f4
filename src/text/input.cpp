#include "text/input.hpp"

#include <fcntl.h>
#include <fmt/core.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <cstring>
#include <thread>

namespace coldtank::io {

namespace {

// A FIFO that nobody has opened to write to, and nobody does for so long, is given up.
constexpr int kFifoWaitS = 30;

// Opens a file to read, a FIFO once it has a writer; -1 with the reason where that fails.
int open_to_read(const std::string& path, std::string& first, std::string& reason) {
    using namespace std::chrono;
    const int file = ::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    struct stat state {};
    if (file < 0 || ::fstat(file, &state) != 0) {
        reason = std::strerror(errno);
        if (file >= 0) ::close(file);
        return -1;
    }
    const auto until = steady_clock::now() + seconds(kFifoWaitS);
    while (S_ISFIFO(state.st_mode)) {
        char byte = 0;
        const ssize_t got = ::read(file, &byte, 1);
        if (got > 0) first.assign(1, byte);
        if (got > 0 || (got < 0 && errno == EAGAIN)) break;  // somebody writes
        if (got < 0 && errno != EINTR) {
            reason = std::strerror(errno);
            ::close(file);
            return -1;
        }
        if (steady_clock::now() >= until) {
            reason = fmt::format("nobody writes to this FIFO: waited {} s", kFifoWaitS);
            ::close(file);
            return -1;
        }
        std::this_thread::sleep_for(milliseconds(20));
    }
    ::fcntl(file, F_SETFL, ::fcntl(file, F_GETFL) & ~O_NONBLOCK);
    return file;
}

}  // namespace

InputFile::InputFile(const std::string& path)
    : opened_(path == "-" ? -1 : open_to_read(path, first_, reason_)),
      file_(path == "-" ? STDIN_FILENO : opened_.get()) {}

bool InputFile::read_more(std::string& text) {
    if (file_ < 0) return false;
    constexpr std::size_t kMostAtOnce = std::size_t{1} << 18;
    constexpr std::size_t kMostBytes = std::size_t{1} << 30;
    const std::size_t before = text.size();
    text += first_;
    first_.clear();
    const std::size_t there = text.size();
    text.resize(there + at_once_);
    ssize_t got = 0;
    do {
        got = ::read(file_, text.data() + there, at_once_);
    } while (got < 0 && errno == EINTR);
    text.resize(there + static_cast<std::size_t>(std::max<ssize_t>(0, got)));
    if (got < 0) reason_ = std::strerror(errno);
    // A small file takes little room.
    if (static_cast<std::size_t>(got) == at_once_) at_once_ = std::min(kMostAtOnce, 4 * at_once_);
    if (text.size() > kMostBytes) reason_ = "too large: more than 1 GiB";
    return reason_.empty() && text.size() > before;
}

std::optional<std::string> read_all(const std::string& path, std::string& reason) {
    InputFile file(path);
    std::string text;
    while (file.read_more(text)) {
    }
    reason = file.reason();
    if (!reason.empty()) return std::nullopt;
    return text;
}

std::optional<std::string> read_text(const std::string& path, bool& unreadable,
                                     std::vector<InputError>& errors) {
    std::string reason;
    auto text = read_all(path, reason);
    if (!text) {
        unreadable = true;
        errors.push_back({path, {}, {}, {}, reason});
    } else if (const auto fault = not_text(*text)) {
        errors = located({*fault}, *text, path);
        text.reset();
    }
    return text;
}

bool is_json_lines(std::string_view path) {
    return path.ends_with(".jsonl") || path.ends_with(".ndjson");
}

std::vector<InputError> located(std::vector<Fault> faults, std::string_view text,
                                const std::string& file, std::size_t first_line) {
    std::vector<InputError> errors;
    if (faults.empty()) return errors;
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
