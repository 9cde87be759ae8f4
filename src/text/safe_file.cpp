#include "text/safe_file.hpp"

#include <fcntl.h>
#include <fmt/core.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <filesystem>

namespace coldtank::io {

void File::close() {
    if (descriptor_ >= 0) ::close(descriptor_);
}

bool write_all(int file, std::string_view text) {
    while (!text.empty()) {
        const ssize_t written = ::write(file, text.data(), text.size());
        if (written < 0 && errno == EINTR) continue;
        if (written <= 0) return false;
        text.remove_prefix(static_cast<std::size_t>(written));
    }
    return true;
}

bool sync(int file) {
    int done;
    do {
        done = ::fsync(file);
    } while (done != 0 && errno == EINTR);
    return done == 0;
}

void sync_directory_of(const std::string& path) {
    const std::filesystem::path parent = std::filesystem::path(path).parent_path();
    const File directory(
        ::open(parent.empty() ? "." : parent.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
    if (directory.get() >= 0) sync(directory.get());
}

namespace {

// Where a path leads, through symbolic links, to nowhere too.
std::filesystem::path target_of(std::filesystem::path path, std::error_code& wrong) {
    path = std::filesystem::absolute(path, wrong);
    for (int links = 0; links < 40 && std::filesystem::is_symlink(path, wrong); ++links) {
        path = path.parent_path() / std::filesystem::read_symlink(path, wrong);
    }
    return std::filesystem::weakly_canonical(path, wrong);
}

// The file beside it, ours alone until it is renamed: who waits for its lock looks again.
int open_beside(const std::string& beside) {
    for (;;) {
        const int file =
            ::open(beside.c_str(), O_WRONLY | O_CREAT | O_CLOEXEC | O_NOFOLLOW | O_NONBLOCK, 0600);
        if (file < 0) return -1;
        struct stat mine {};
        struct stat named {};
        if (::flock(file, LOCK_EX) == 0 && ::fstat(file, &mine) == 0 &&
            ::stat(beside.c_str(), &named) == 0 && mine.st_ino == named.st_ino &&
            mine.st_dev == named.st_dev) {
            return file;
        }
        ::close(file);
    }
}

// What the umask leaves of a file that all may read.
mode_t mode_of_new() {
    const mode_t mask = ::umask(0);
    ::umask(mask);
    return 0666 & ~mask;
}

}  // namespace

bool same_file(const std::string& one, const std::string& other) {
    std::error_code none;
    return std::filesystem::equivalent(one, other, none) ||
           target_of(one, none) == target_of(other, none);
}

std::string replace_file(const std::string& path, std::string_view content) {
    return replace_file(path, [&](int file) { return write_all(file, content); });
}

std::string replace_file(const std::string& path, const std::function<bool(int file)>& write) {
    std::error_code wrong;
    const std::filesystem::path real = target_of(path, wrong);
    if (wrong) return wrong.message();
    struct stat old_state {};
    const bool old = ::stat(real.c_str(), &old_state) == 0;
    if (old && !S_ISREG(old_state.st_mode)) return "no regular file";
    const std::string beside =
        fmt::format("{}/.{}.coldtank-new", real.parent_path().string(), real.filename().string());
    const File fresh(open_beside(beside));
    if (fresh.get() < 0) return std::strerror(errno);
    const auto give_up = [&](std::string why) {
        ::unlink(beside.c_str());
        return why;
    };
    // Whoever may read the old one may read the new one; the owner only where we may set it.
    if (old && ::fchown(fresh.get(), old_state.st_uid, old_state.st_gid) != 0 &&
        old_state.st_uid != ::geteuid()) {
        return give_up("only its owner can do that");
    }
    if (::ftruncate(fresh.get(), 0) != 0 ||
        ::fchmod(fresh.get(), old ? old_state.st_mode & 07777 : mode_of_new()) != 0 ||
        !write(fresh.get()) || !sync(fresh.get()) || ::rename(beside.c_str(), real.c_str()) != 0) {
        return give_up(std::strerror(errno));
    }
    sync_directory_of(real);
    return {};
}

}  // namespace coldtank::io
