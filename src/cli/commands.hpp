// The commands: each adds itself to the application and leaves its exit status behind.
#pragma once

#include <CLI/CLI.hpp>
#include <string_view>

namespace coldtank::cli {

// Exit statuses; the largest that applies.
enum Exit {
    kPass = 0,
    kWarn = 1,
    kFail = 2,
    kUsage = 64,
    kData = 65,
    kNoInput = 66,
    kInternal = 70,
    kNoOutput = 74
};

void add_budget(CLI::App& app, int& status);
void add_capacity(CLI::App& app, int& status);
void add_saturation(CLI::App& app, int& status);
void add_schema(CLI::App& app, int& status);
void add_sources(CLI::App& app, int& status);
void add_species(CLI::App& app, int& status);
void add_starter(CLI::App& app, int& status);

// A number option: finite, plain decimal, inside a range.
CLI::Validator number_in(double low, double high);

// Writes results to standard output at once; false, with a message, where that fails.
bool put(std::string_view text);

}  // namespace coldtank::cli
