// The commands as data: help, completion and the parsing of a command line follow from these
// tables.
#pragma once

#include <fmt/core.h>

#include <cstdio>
#include <functional>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "coldtank/spread.hpp"
#include "read/merge.hpp"
#include "report/report.hpp"
#include "text/units.hpp"

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

// What is wrong with a text that was typed; empty: nothing.
using TextCheck = std::string (*)(const std::string&);

// An option of a command, or an operand: then its name has no dashes.
struct Option {
    enum class Kind { flag, text, number, numbers, choice };
    // What a text names: a file that is read, or one that is written; a tank; a species; a species
    // or else a file that is read.
    enum class Names { nothing, input, output, tank, species, species_or_input };
    Kind kind;
    std::string_view name;   // "--format"
    std::string_view value;  // what it takes, as the help shows it: "FILE"
    std::string_view help;
    std::string_view choices = {};  // "text|csv|json": the first where it is not given
    Range range = {};               // of numbers
    TextCheck check = nullptr;      // of a text; without one it is any but an empty one
    bool required = false;
    bool repeats = false;
    std::string_view needs = {};     // another option
    std::string_view excludes = {};  // others: "--altitude-ft|--pressure"
    char letter = 0;                 // 'q': -q does the same
    std::string_view unit = {};      // of numbers that may end with another: "degC" takes 60f
    Names names = Names::nothing;
};

// What commands that read descriptions share.
inline constexpr Option kFilesOption{.kind = Option::Kind::text,
                                     .name = "FILE",
                                     .value = "FILE",
                                     .help = "descriptions in JSON; - is standard input",
                                     .required = true,
                                     .repeats = true,
                                     .names = Option::Names::input};
inline constexpr Option kLinesOption{Option::Kind::flag, "--lines", "",
                                     "one description a line (as .jsonl files)"};
inline constexpr Option kJobsOption{
    Option::Kind::number,
    "--jobs",
    "N",
    "how many descriptions at once (as many as there are processors)",
    "",
    {1, 1024}};
// Whether a text is such a date.
std::string wrong_date(const std::string& text);
inline constexpr Option kDateOption{
    .kind = Option::Kind::text,
    .name = "--date",
    .value = "TIME",
    .help = "the time of this run (SOURCE_DATE_EPOCH, or the clock)",
    .check = wrong_date};
inline constexpr Option kTankOption{.kind = Option::Kind::text,
                                    .name = "--tank",
                                    .value = "NAME",
                                    .help = "only the tank of this name",
                                    .names = Option::Names::tank};
// Of worlds that fit what is known.
inline constexpr Range kDrawsRange{2, static_cast<double>(kMostDraws)};
inline constexpr Range kSeedRange{0, 1e15};
// What was measured.
std::string wrong_age(const std::string& text);
inline constexpr Option kReadingsOption{
    .kind = Option::Kind::text,
    .name = "--readings",
    .value = "FILE",
    .help =
        "measurements by tank name, CSV or JSON Lines, put in place of what the descriptions "
        "say; - is standard input",
    .names = Option::Names::input};
inline constexpr Option kMaxAgeOption{
    .kind = Option::Kind::text,
    .name = "--max-age",
    .value = "AGE",
    .help = "how old a reading may be (26h); COLUMN=8d or TANK=8d for one; may stand again",
    .check = wrong_age,
    .repeats = true,
    .needs = "--readings"};
inline constexpr Option kSpeciesOption{
    .kind = Option::Kind::text,
    .name = "--species",
    .value = "FILE",
    .help = "a file of species to add or change; see coldtank species --format json",
    .names = Option::Names::input};
// What the meter shows this minute, in place of a readings file.
inline constexpr Option kOxygenOption{
    .kind = Option::Kind::number,
    .name = "--oxygen",
    .value = "N",
    .help = "oxygen of the tank as the meter shows it now, mg/L; with --tank where there are more",
    .range = kOxygenRange};
// What all commands share: they print results.
inline constexpr Option kOutputOption{
    .kind = Option::Kind::text,
    .name = "--output",
    .value = "FILE",
    .help = "the results in this file, replaced whole, and not on standard output",
    .letter = 'o',
    .names = Option::Names::output};

// What was typed. Of an option that was not given: no text, no number, false; of a choice its
// first.
class Arguments {
public:
    bool has(std::string_view name) const { return !all(name).empty(); }
    const std::string& text(std::string_view name) const;
    const std::vector<std::string>& all(std::string_view name) const;
    std::optional<double> number(std::string_view name) const;
    // The numbers between the commas of a text.
    std::vector<double> numbers(std::string_view name) const;
    void put(std::string_view name, std::vector<std::string> values);

private:
    std::map<std::string, std::vector<std::string>, std::less<>> values_;
};

struct Command {
    std::string_view name;
    std::string_view purpose;   // one sentence
    std::string_view examples;  // two, and what a user must know of exit statuses
    std::span<const Option> options;
    int (*run)(const Arguments&);  // answers the exit status
};

extern const Command kBudget;
extern const Command kCapacity;
extern const Command kOutage;
extern const Command kSeason;
extern const Command kSpread;
extern const Command kHaul;
extern const Command kDroptest;
extern const Command kTrend;
extern const Command kSaturation;
extern const Command kSpecies;
extern const Command kSources;
extern const Command kSchema;
extern const Command kStarter;

// All of them, in the order of the help.
std::span<const Command* const> commands();

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

// --oxygen into the only tank that is asked for; not 0: the exit status, what is wrong having been
// said.
int take_oxygen(const Arguments& arguments, std::vector<io::ReadResult>& read);

// The readings of a run; not 0: the exit status, what is wrong having been said.
struct Measured {
    io::ReadingsFile readings;
    io::MaxAge max_age;
    bool merged = false;  // there are any
};
int read_measured(const Arguments& arguments, const io::Instant& now, Measured& measured);

// The time of a run: --date, else SOURCE_DATE_EPOCH, else the clock. None, what is wrong having
// been said, where the second is no such number.
std::optional<io::Instant> time_of_run(const std::string& date);

// How many descriptions at once.
std::size_t jobs_of(const Arguments& arguments);

// A diagnostic on standard error, which may be closed.
template <typename... Arguments>
void say(fmt::format_string<Arguments...> text, Arguments&&... arguments) {
    std::fputs(fmt::format(text, std::forward<Arguments>(arguments)...).c_str(), stderr);
}

// "; did you mean budget?", of what was typed and what is known; empty where nothing is near.
std::string meant(const std::string& typed, std::span<const std::string> known);

// A number with a unit of its own behind it, "60f" or "4oz", in the unit of an option; a plain one
// is in that unit. None of another text.
std::optional<double> number_in(std::string_view unit, std::string_view text);
// The units that such a number may end with: "c, f".
std::string endings_of(std::string_view unit);

// Any text but an empty one, as of a variable that is not set.
std::string wrong_if_empty(const std::string& text);

// Two options that name one file, of which one is written; what is wrong with that, or nothing.
std::string wrong_files(const Command& command, const Arguments& arguments);

// What is drawn.
inline constexpr Option kChartOption{.kind = Option::Kind::text,
                                     .name = "--chart",
                                     .value = "FILE",
                                     .help = "a picture of it, in SVG",
                                     .names = Option::Names::output};
// A picture over one that this program drew, or where there is nothing; any other file stays as it
// is. Answers kPass; or kNoLogbook or kNoOutput, with a message.
int write_chart(const std::string& path, std::string_view svg);

// What a page is shown on: standard output, where it is a terminal, and what is asked of colours.
inline constexpr Option kColorOption{.kind = Option::Kind::choice,
                                     .name = "--color",
                                     .value = "WORD",
                                     .help =
                                         "status words in colour: auto (on a terminal, unless "
                                         "NO_COLOR is set), never or always",
                                     .choices = "auto|never|always"};
io::Paper paper_of(const Arguments& arguments);
// Of a command with text and JSON, of which the text alone has units and a width.
io::Display display_of(const Arguments& arguments);
// The exit status of a report: what could not be read before its verdict; unchecked is no fault.
int status_of(const io::ReportHead& report, Status verdict);

// Results: to standard output at once, or with --output in place of its file when all are written.
// `write` puts them into an open file: false, with errno, where it cannot. Answers kPass; or
// kNoOutput, with a message.
int write_results(const Arguments& arguments, const std::function<bool(int file)>& write);
int write_results(const Arguments& arguments, std::string_view text);

// All of the program but its process: the words of a command line, without the program's own name,
// to an exit status.
int run_program(std::vector<std::string> words);

}  // namespace coldtank::cli
