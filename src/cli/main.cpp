#include <fcntl.h>

#include <algorithm>
#include <csignal>
#include <cstdio>
#include <exception>

#include "cli/commands.hpp"

int main(int argc, char** argv) {
    std::signal(SIGXFSZ, SIG_IGN);  // a file's limit is an error like a full disk
    // A standard stream that is closed stays so: what is opened must not get what goes there.
    for (int stream = 0; stream <= 2; ++stream) {
        if (::fcntl(stream, F_GETFD) < 0) ::open("/dev/null", stream == 0 ? O_WRONLY : O_RDONLY);
    }
    try {
        return coldtank::cli::run_program({argv + std::min(argc, 1), argv + argc});
    } catch (const std::exception& error) {
        std::fprintf(stderr, "coldtank: internal error: %s\n", error.what());
        return coldtank::cli::kInternal;
    }
}
