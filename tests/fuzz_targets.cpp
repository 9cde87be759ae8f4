// What libFuzzer throws at the program: bytes as each kind of file, as a command line, and a
// description from its bytes to every report. One target a program: COLDTANK_FUZZ names it.
//     build/sanitize/tests/fuzz_description -max_total_time=60 CORPUS
#include <sys/mman.h>
#include <unistd.h>

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string>
#include <string_view>
#include <vector>

#include "coldtank/season.hpp"
#include "logbook/logbook.hpp"
#include "read/description.hpp"
#include "read/drop_log.hpp"
#include "read/readings.hpp"
#include "read/season_file.hpp"
#include "read/season_temperatures.hpp"
#include "report/capacity.hpp"
#include "report/growth_log.hpp"
#include "report/haul.hpp"
#include "report/outage.hpp"
#include "report/report.hpp"
#include "report/season.hpp"
#include "report/spread.hpp"
#include "report/trend.hpp"

namespace coldtank::cli {
int run(std::vector<std::string> words);  // of main.cpp
}

namespace {

using namespace coldtank;

const io::Instant kNow = *io::parse_time("2026-11-25T05:15:00+01:00", io::DayEdge::start);

// A file that holds these bytes.
class File {
public:
    explicit File(std::string_view bytes) : file_(memfd_create("fuzz", 0)) {
        if (write(file_, bytes.data(), bytes.size()) != static_cast<ssize_t>(bytes.size())) abort();
    }
    File(const File&) = delete;
    File& operator=(const File&) = delete;
    ~File() { close(file_); }
    std::string path() const { return "/proc/self/fd/" + std::to_string(file_); }

private:
    int file_;
};

[[maybe_unused]] void must(bool holds) {
    if (!holds) std::abort();
}
// No number that is none in what machines read.
[[maybe_unused]] void must_be_json(const std::string& text) {
    for (const char* none :
         {": nan", ":nan", ": -nan", ":-nan", ": inf", ":inf", ": -inf", ":-inf"}) {
        must(text.find(none) == std::string::npos);
    }
}

[[maybe_unused]] void description(std::string_view bytes) {
    const io::ReadResult read = io::read_description(bytes, "fuzz", io::SpeciesBook(), 1);
    must(read.description || !read.errors.empty());
}

[[maybe_unused]] void readings(std::string_view bytes) {
    io::read_readings(File(bytes).path(), kNow);
}

[[maybe_unused]] void species(std::string_view bytes) {
    std::vector<io::Fault> faults;
    io::SpeciesBook book;
    if (const auto tree = io::parse_json(bytes, faults)) book.add(*tree, faults);
}

[[maybe_unused]] void logbook(std::string_view bytes) {
    const File file(bytes);
    std::vector<io::Logbook> books{io::read_logbook(file.path(), io::trend_columns())};
    std::vector<io::TankTrend> trends = trends_of(books, std::nullopt, kNow);
    trends_svg(trends);
    io::growth_logs_of(io::read_logbook(file.path(), io::growth_columns()));
}

[[maybe_unused]] void logs(std::string_view bytes) {
    const File file(bytes);
    io::read_drop_log(file.path());
    io::read_season_temperatures(file.path());
    io::read_season_file(file.path());
}

[[maybe_unused]] void command(std::string_view bytes) {
    // In a directory of its own, and no way out of it.
    static const bool inside = [] {
        char place[] = "/tmp/coldtank-fuzz-XXXXXX";
        return mkdtemp(place) != nullptr && chdir(place) == 0;
    }();
    must(inside);
    std::vector<std::string> words(1);
    for (const char each : bytes) {
        if (each == '\n') {
            words.emplace_back();
        } else if (each != '\0') {
            words.back() += each == '/' ? '_' : each;
        }
    }
    if (words.size() > 20) return;
    const int status = coldtank::cli::run(words);
    must(status >= 0 && status != 70);
}

// One description of a few tanks to all its reports.
[[maybe_unused]] void whole(std::string_view bytes) {
    const io::ReadResult read = io::read_description(bytes, "fuzz", io::SpeciesBook(), 1);
    if (!read.description) return;
    if (read.description->tanks.size() > 4) return;
    const io::Display show;
    const std::vector<io::Report> reports{io::make_report(read)};
    const io::BudgetRun run{show, kNow, false};
    for (const auto& format : io::kBudgetFormats) {
        const std::string text = io::written(io::kBudgetFormats, format.name, reports, run);
        if (format.name == "json" || format.name == "jsonl") must_be_json(text);
    }
    const std::vector<io::CapacityReport> capacities{io::make_capacity_report(read, {}, show)};
    must_be_json(
        io::written(io::kCapacityFormats, "json", capacities, run_of(capacities, {}, show, kNow)));
    SpreadQuestion few;
    few.draws = few.base = 4;
    const std::vector<io::SpreadReport> spreads{io::make_spread_report(read, few)};
    must_be_json(io::written(io::kSpreadFormats, "json", spreads,
                             io::SpreadRun{few, show, kNow, 1, Status::pass}));
    const auto& season = read.description->season;
    if (season && last_day_of(*season) - season->start < 100) {
        const std::vector<io::SeasonReport> seasons{io::make_season_report(read, {})};
        must_be_json(
            io::written(io::kSeasonFormats, "json", seasons, io::SeasonRun{{}, show, kNow}));
        io::season_svg(seasons);
    }
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    COLDTANK_FUZZ({reinterpret_cast<const char*>(data), size});
    return 0;
}
