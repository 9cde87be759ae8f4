// What libFuzzer throws at the program: bytes as each kind of file, as a command line, and a
// description from its bytes to every report. The environment's COLDTANK_FUZZ names the target.
//     COLDTANK_FUZZ=whole build/sanitize/tests/fuzz_targets -max_total_time=60 CORPUS
#include <sys/mman.h>
#include <unistd.h>

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "cli/commands.hpp"
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

void must(bool holds) {
    if (!holds) std::abort();
}
// No number that is none in what machines read.
void must_be_json(const std::string& text) {
    std::string bare;  // what stands in no quotes
    bool quoted = false;
    for (std::size_t i = 0; i < text.size(); ++i) {
        if (text[i] == '"') {
            quoted = !quoted;
        } else if (quoted && text[i] == '\\') {
            ++i;
        } else if (!quoted) {
            bare += text[i];
        }
    }
    must(!quoted);
    for (const char* none : {"nan", "inf"}) must(bare.find(none) == std::string::npos);
}

void description(std::string_view bytes) {
    const io::ReadResult read = io::read_description(bytes, "fuzz", io::SpeciesBook(), 1);
    must(read.description || !read.errors.empty());
}

void readings(std::string_view bytes) { io::read_readings(File(bytes).path(), kNow); }

void species(std::string_view bytes) {
    std::vector<io::Fault> faults;
    io::SpeciesBook book;
    if (const auto tree = io::parse_json(bytes, faults)) book.add(*tree, faults);
}

void logbook(std::string_view bytes) {
    const File file(bytes);
    std::vector<io::Logbook> books{io::read_logbook(file.path(), io::trend_columns())};
    std::vector<io::TankTrend> trends = trends_of(books, std::nullopt, kNow);
    trends_svg(trends);
    io::growth_logs_of(io::read_logbook(file.path(), io::growth_columns()));
}

void logs(std::string_view bytes) {
    const File file(bytes);
    io::read_drop_log(file.path());
    io::read_season_temperatures(file.path());
    io::read_season_file(file.path());
}

void command(std::string_view bytes) {
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
    const int status = cli::run_program(words);
    must(status >= 0 && status != 70);
}

// One description of a few tanks to all its reports.
void whole(std::string_view bytes) {
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

using Target = void (*)(std::string_view bytes);
constexpr std::pair<std::string_view, Target> kTargets[]{{"description", description},
                                                         {"readings", readings},
                                                         {"species", species},
                                                         {"logbook", logbook},
                                                         {"logs", logs},
                                                         {"command", command},
                                                         {"whole", whole}};
Target target = nullptr;

}  // namespace

extern "C" int LLVMFuzzerInitialize(int*, char***) {
    const char* const named = std::getenv("COLDTANK_FUZZ");
    for (const auto& [name, each] : kTargets) {
        if (named != nullptr && name == named) target = each;
    }
    must(target != nullptr);
    return 0;
}
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    target({reinterpret_cast<const char*>(data), size});
    return 0;
}
