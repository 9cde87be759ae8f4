#include "cli/commands.hpp"

#include <fmt/core.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <thread>

#include "read/keys.hpp"
#include "report/report.hpp"
#include "text/safe_file.hpp"
#include "text/svg.hpp"
#include "text/text.hpp"
#include "text/units.hpp"

namespace coldtank::cli {

std::span<const Command* const> commands() {
    static const Command* const all[] = {&kBudget,  &kCapacity, &kSpread, &kSeason,     &kOutage,
                                         &kHaul,    &kDroptest, &kTrend,  &kSaturation, &kSpecies,
                                         &kSources, &kSchema,   &kStarter};
    return all;
}

int read_species(const std::string& path, io::SpeciesBook& book) {
    if (path.empty()) return 0;
    io::SpeciesFile file = io::read_species_file(path);
    std::fputs(io::errors_as_text(file.errors).c_str(), stderr);
    if (file.unreadable) return kNoInput;
    if (!file.errors.empty()) return kData;
    book = std::move(file.book);
    return 0;
}

int read_descriptions(const Inputs& inputs, const io::SpeciesBook& book,
                      std::vector<io::ReadResult>& read) {
    for (const std::string& file : inputs.files) {
        for (io::ReadResult& one : io::read_file(file, book, inputs.one_a_line)) {
            read.push_back(std::move(one));
        }
    }
    if (inputs.readings != nullptr) {
        io::ReadingsFile& file = *inputs.readings;
        const std::string unknown = merge_readings(file, inputs.now, inputs.max_age, book, read);
        std::fputs(io::errors_as_text(file.errors).c_str(), stderr);
        if (!unknown.empty()) {
            say("coldtank: --max-age: no column of readings and no tank is \"{}\"\n",
                io::printable(unknown));
            return kUsage;
        }
    }
    if (inputs.tank.empty()) return 0;
    std::vector<std::string> names;
    for (const io::ReadResult& one : read) {
        if (!one.description) continue;
        for (const Tank& tank : one.description->tanks) names.push_back(tank.name);
    }
    if (io::keep_tank_in_all(read, inputs.tank)) return 0;
    const std::string near = meant(inputs.tank, names);
    std::vector<std::string> all;
    for (const std::string& name : names) all.push_back(io::printable(name));
    say("coldtank: no tank is named \"{}\"{}\n", io::printable(inputs.tank),
        !near.empty() || names.empty() ? near : "; known are " + io::joined(all, ", "));
    return kUsage;
}

int take_oxygen(const Arguments& arguments, std::vector<io::ReadResult>& read) {
    const auto oxygen_mg_l = arguments.number("--oxygen");
    if (!oxygen_mg_l) return 0;
    std::vector<Tank*> tanks;
    for (io::ReadResult& one : read) {
        if (!one.description) continue;
        for (Tank& tank : one.description->tanks) {
            if (io::asked_for(one, tank)) tanks.push_back(&tank);
        }
    }
    if (tanks.size() > 1) {
        std::vector<std::string> names;
        for (const Tank* tank : tanks) names.push_back(io::printable(tank->name));
        say("coldtank: the oxygen of which tank? --tank {}\n", io::joined(names, ", or "));
        return kUsage;
    }
    for (Tank* tank : tanks) {
        tank->readings.oxygen_mg_l = oxygen_mg_l;
        tank->readings.oxygen_age_h = 0;
    }
    return 0;
}

std::string wrong_age(const std::string& text) {
    io::MaxAge tried;
    if (io::parse_max_age(text, tried)) return {};
    return fmt::format("must be as 26h, 90min, 8d, tan_mg_l=8d (a column) or TANK=8d, got \"{}\"",
                       io::shortened(text));
}

int read_measured(const Arguments& arguments, const io::Instant& now, Measured& measured) {
    const std::vector<std::string>& files = arguments.all("FILE");
    const std::string& path = arguments.text("--readings");
    if (path == "-" && std::find(files.begin(), files.end(), "-") != files.end()) {
        say("coldtank: standard input is one file: readings or a description\n");
        return kUsage;
    }
    for (const std::string& text : arguments.all("--max-age")) {
        io::parse_max_age(text, measured.max_age);
    }
    measured.merged = !path.empty();
    if (measured.merged) measured.readings = io::read_readings(path, now);
    if (measured.readings.half_written && !arguments.has("--quiet")) {
        say("coldtank: {}: its last row is being written and is left out\n", io::printable(path));
    }
    return kPass;
}

std::size_t jobs_of(const Arguments& arguments) {
    return static_cast<std::size_t>(
        arguments.number("--jobs").value_or(std::max(1U, std::thread::hardware_concurrency())));
}

std::string meant(const std::string& typed, std::span<const std::string> known) {
    const std::string near = io::printable(io::nearest(typed, known));
    if (near.empty()) return {};
    const std::string_view quote = near.find(' ') == std::string::npos ? "" : "\"";
    return fmt::format("; did you mean {}{}{}?", quote, near, quote);
}

std::optional<io::Instant> time_of_run(const std::string& date) {
    if (!date.empty()) return io::parse_time(date, io::DayEdge::end);
    const char* epoch = std::getenv("SOURCE_DATE_EPOCH");
    if (epoch == nullptr) return io::clock_now();
    constexpr std::size_t kMostDigits = 11;
    const std::string_view text(epoch);
    if (text.empty() || text.size() > kMostDigits ||
        text.find_first_not_of("0123456789") != std::string_view::npos) {
        say("coldtank: SOURCE_DATE_EPOCH must be whole seconds, got \"{}\"\n", io::shortened(text));
        return std::nullopt;
    }
    return io::Instant{std::strtoll(epoch, nullptr, 10), 0};
}

std::string wrong_date(const std::string& text) {
    if (io::parse_time(text, io::DayEdge::end)) return {};
    return fmt::format("\"{}\" is no time; {}", io::shortened(text), io::how_to_write_time(text));
}

namespace {

// What a number may end with where an option has a unit.
struct Ending {
    std::string_view unit;  // of the option
    std::string_view ending;
    double factor;
    double zero = 0;  // of its scale, in its own unit
};
constexpr double kDegF = 5.0 / 9;
constexpr Ending kEndings[] = {
    {"degC", "c", 1},  {"degC", "f", kDegF, 32}, {"g", "g", 1},
    {"g", "kg", 1000}, {"g", "oz", io::kOunceG}, {"g", "lb", io::kPoundG},
    {"kg", "kg", 1},   {"kg", "g", 0.001},       {"kg", "lb", io::kPoundG / 1000},
    {"m", "m", 1},     {"m", "ft", io::kFootM}};

}  // namespace

std::optional<double> number_in(std::string_view unit, std::string_view text) {
    const std::string lower = io::lower_case(text);
    const std::size_t end = lower.find_last_not_of("abcdefghijklmnopqrstuvwxyz");
    const std::size_t size = end == std::string::npos ? 0 : end + 1;
    const auto value = io::plain_number(io::trimmed(std::string_view(lower).substr(0, size)));
    const std::string_view ending = std::string_view(lower).substr(size);
    if (ending.empty()) return value;
    for (const Ending& each : kEndings) {
        if (value && each.unit == unit && each.ending == ending) {
            return (*value - each.zero) * each.factor;
        }
    }
    return std::nullopt;
}

std::string endings_of(std::string_view unit) {
    std::vector<std::string_view> endings;
    for (const Ending& each : kEndings) {
        if (each.unit == unit) endings.push_back(each.ending);
    }
    return io::joined(endings, ", ");
}

std::string wrong_if_empty(const std::string& text) {
    return text.empty() ? "is empty: a variable that is not set?" : std::string{};
}

std::string wrong_files(const Command& command, const Arguments& arguments) {
    using Names = Option::Names;
    for (const Option& written : command.options) {
        if (written.names != Names::output) continue;
        for (const std::string& file : arguments.all(written.name)) {
            for (const Option& other : command.options) {
                const bool names_file = other.names == Names::input ||
                                        other.names == Names::output ||
                                        other.names == Names::species_or_input;
                if (&other == &written || !names_file) continue;
                for (const std::string& named : arguments.all(other.name)) {
                    if (!io::same_file(file, named == "-" ? "/dev/stdin" : named)) continue;
                    return fmt::format("{} and {} name one file: {}", written.name, other.name,
                                       io::printable(named));
                }
            }
        }
    }
    return {};
}

const std::vector<std::string>& Arguments::all(std::string_view name) const {
    static const std::vector<std::string> none;
    const auto found = values_.find(name);
    return found == values_.end() ? none : found->second;
}

const std::string& Arguments::text(std::string_view name) const {
    static const std::string none;
    const std::vector<std::string>& values = all(name);
    return values.empty() ? none : values.back();
}

std::optional<double> Arguments::number(std::string_view name) const {
    return has(name) ? io::plain_number(text(name)) : std::nullopt;
}

std::vector<double> Arguments::numbers(std::string_view name) const {
    std::vector<double> numbers;
    const std::string& all_of_them = text(name);
    for (std::size_t at = 0; !all_of_them.empty() && at <= all_of_them.size();) {
        const std::size_t comma = std::min(all_of_them.find(',', at), all_of_them.size());
        numbers.push_back(io::plain_number(all_of_them.substr(at, comma - at)).value());
        at = comma + 1;
    }
    return numbers;
}

void Arguments::put(std::string_view name, std::vector<std::string> values) {
    values_[std::string(name)] = std::move(values);
}

int status_of(const io::ReportHead& report, Status verdict) {
    if (report.unreadable) return kNoInput;
    if (!report.all_read()) return kData;
    return verdict == Status::fail ? kFail : verdict == Status::warn ? kWarn : kPass;
}

io::Display display_of(const Arguments& arguments) {
    if (arguments.text("--format") != "text") return io::Display();
    return io::Display(arguments.text("--units") == "us" ? io::Units::us : io::Units::metric,
                       paper_of(arguments));
}

io::Paper paper_of(const Arguments& arguments) {
    constexpr std::size_t kWidest = 100;
    const auto is_set = [](const char* name) {
        const char* value = std::getenv(name);
        return value != nullptr && *value != '\0';
    };
    const bool terminal =
        arguments.text(kOutputOption.name).empty() && ::isatty(STDOUT_FILENO) == 1;
    const std::string& asked = arguments.text(kColorOption.name);
    const char* kind = std::getenv("TERM");
    const bool dumb = kind == nullptr || *kind == '\0' || std::string_view(kind) == "dumb";
    io::Paper paper;
    paper.colour =
        asked == "always" || (asked == "auto" && terminal && !dumb && !is_set("NO_COLOR"));
    struct winsize size {};
    if (terminal && ::ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0) {
        paper.width = std::clamp<std::size_t>(size.ws_col, io::kPageWidth, kWidest);
    }
    return paper;
}

int write_results(const Arguments& arguments, const std::function<bool(int file)>& write) {
    const std::string& path = arguments.text(kOutputOption.name);
    if (!path.empty()) {
        const std::string why = io::replace_file(path, write);
        if (why.empty()) return kPass;
        say("coldtank: {}: no results were written: {}\n", io::printable(path), why);
        return kNoOutput;
    }
    if (write(STDOUT_FILENO)) return kPass;
    if (errno != EPIPE) std::perror("coldtank: cannot write the results");
    return kNoOutput;
}

int write_results(const Arguments& arguments, std::string_view text) {
    return write_results(arguments, [&](int file) { return io::write_all(file, text); });
}

int write_chart(const std::string& path, std::string_view svg) {
    const auto refuse = [&](std::string_view why) {
        say("coldtank: {}: no chart was drawn: {}\n", io::printable(path), why);
    };
    std::error_code none;
    const auto kind = std::filesystem::status(path, none).type();
    if (kind != std::filesystem::file_type::not_found) {
        std::string reason = "no regular file";
        const auto old = kind == std::filesystem::file_type::regular ? io::read_all(path, reason)
                                                                     : std::optional<std::string>{};
        if (!old) {
            refuse(reason);
            return kNoLogbook;
        }
        if (!old->empty() && !io::is_picture(*old)) {
            refuse("it is no chart of coldtank, and would be lost");
            return kNoLogbook;
        }
    }
    const std::string why = io::replace_file(path, svg);
    if (why.empty()) return kPass;
    refuse(why);
    return kNoOutput;
}

}  // namespace coldtank::cli
