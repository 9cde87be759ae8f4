#include <csignal>
#include <cstdio>
#include <exception>
#include <iostream>

#include "commands.hpp"

namespace coldtank::cli {

bool put(std::string_view text) {
    if (std::fwrite(text.data(), 1, text.size(), stdout) == text.size() &&
        std::fflush(stdout) == 0 && std::ferror(stdout) == 0) {
        return true;
    }
    std::perror("coldtank: cannot write the results");
    return false;
}

int run(int argc, char** argv) {
    CLI::App app{
        "Will oxygen, ammonia, carbon dioxide and space do for the trout and char in your tanks?",
        "coldtank"};
    app.set_version_flag("--version", "coldtank " COLDTANK_VERSION);
    app.require_subcommand(1);
    int status = kPass;
    add_budget(app, status);
    if (argc < 2) {
        std::cout << app.help();
        return kUsage;
    }
    try {
        app.parse(argc, argv);
    } catch (const CLI::ParseError& error) {
        return app.exit(error, std::cout, std::cerr) == 0 ? kPass : kUsage;
    }
    return status;
}

}  // namespace coldtank::cli

int main(int argc, char** argv) {
    try {
        return coldtank::cli::run(argc, argv);
    } catch (const std::exception& error) {
        std::fprintf(stderr, "coldtank: internal error: %s\n", error.what());
        return coldtank::cli::kInternal;
    }
}
