// Files of a user's that must not be damaged: whole or as they were.
#pragma once

#include <functional>
#include <string>
#include <string_view>

namespace coldtank::io {

// An open file, closed at the end; -1 is none.
class File {
public:
    explicit File(int descriptor = -1) : descriptor_(descriptor) {}
    File(const File&) = delete;
    File& operator=(const File&) = delete;
    ~File() { close(); }
    void reset(int descriptor) {
        close();
        descriptor_ = descriptor;
    }
    int get() const { return descriptor_; }

private:
    void close();
    int descriptor_;
};

// All of a text; false, with errno, where it cannot be.
bool write_all(int file, std::string_view text);
bool sync(int file);
// A new name in a directory lasts when the directory does.
void sync_directory_of(const std::string& path);

// Whether two paths name one file, be it there or not.
bool same_file(const std::string& one, const std::string& other);

// Puts a new file in place of the one that a path names (through symbolic links), or where there is
// none: written beside it, then renamed over it, so that at any moment one of the two is there,
// whole. Mode and owner stay; a new one gets what the umask leaves. Only a regular file is
// replaced. Empty: done; else the reason.
std::string replace_file(const std::string& path, std::string_view content);
// The same of content too large to hold: `write` writes it all, false, with errno, where it cannot.
std::string replace_file(const std::string& path, const std::function<bool(int file)>& write);

}  // namespace coldtank::io
