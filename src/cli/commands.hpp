// The commands: each adds itself to the application and leaves its exit status behind.
#pragma once

#include <fmt/core.h>

#include <CLI/CLI.hpp>
#include <cstdio>
#include <string>
#include <string_view>
#include <vector>

#include "read/merge.hpp"

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
    kNoLogbook = 73,
    kNoOutput = 74
};

void add_budget(CLI::App& app, int& status);
void add_capacity(CLI::App& app, int& status);
void add_saturation(CLI::App& app, int& status);
void add_schema(CLI::App& app, int& status);
void add_sources(CLI::App& app, int& status);
void add_species(CLI::App& app, int& status);
void add_starter(CLI::App& app, int& status);
void add_trend(CLI::App& app, int& status);

// A species file over the program's species; does nothing without a path. Not 0: the exit status,
// what is wrong having been said.
int read_species(const std::string& path, io::SpeciesBook& book);

// The descriptions of a command; all of them, or those that have the tank of a name.
// Readings, where there are any, are merged into them; what is wrong with these is said here.
struct Inputs {
    const std::vector<std::string>& files;
    bool one_a_line = false;
    const std::string& tank;
    io::ReadingsFile* readings = nullptr;
    io::MaxAge max_age = {};
    io::Instant now = {};
};
int read_descriptions(const Inputs& inputs, const io::SpeciesBook& book,
                      std::vector<io::ReadResult>& read);

// The time of a run: --date, else SOURCE_DATE_EPOCH, else the clock. None, what is wrong having
// been said, where the second is no such number.
std::optional<io::Instant> time_of_run(const std::string& date);
CLI::Validator date_text();

// A diagnostic on standard error, which may be closed.
template <typename... Arguments>
void say(fmt::format_string<Arguments...> text, Arguments&&... arguments) {
    std::fputs(fmt::format(text, std::forward<Arguments>(arguments)...).c_str(), stderr);
}

// A number option: finite, plain decimal, inside a range.
CLI::Validator number_in(double low, double high);

// Several of them between commas, none left out; and what they say.
CLI::Validator numbers_in(double low, double high);
std::vector<double> numbers_of(const std::string& text);

// Any text but an empty one, as of a variable that is not set.
CLI::Validator not_empty();

// A file that is written to beside the results; not "-".
CLI::Validator own_file();

// Writes results to standard output at once; false, with a message, where that fails.
bool put(std::string_view text);

}  // namespace coldtank::cli
