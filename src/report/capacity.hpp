// What each tank can carry, as text, Markdown, CSV and JSON.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "coldtank/capacity.hpp"
#include "coldtank/spread.hpp"
#include "report/report.hpp"
#include "text/units.hpp"

namespace coldtank::io {

struct CapacityQuestion {
    Level level = Level::warn;
    bool share = false;                  // each loop too, its tanks in their present proportion
    bool each_check = false;             // in every cell of a table
    std::vector<double> temperatures_c;  // empty: as described
    std::vector<double> mean_weights_g;  // empty: as described
    std::optional<Species> species;      // none: as described
    std::string species_name;
    std::optional<Species> usual_species;  // see FishGroup
    std::optional<double> sure_percent;    // of the worlds in which the stock is to hold
    std::optional<double> for_count;       // can it carry so many?
    std::optional<double> for_kg;
};

// One size on one kind of day.
struct CapacityCell {
    std::optional<double> temperature_c;
    std::optional<double> mean_weight_g;
    TankCapacity capacity;
};

// What a capacity alone would hide.
struct CapacityDoubts {
    std::vector<Check> over_today;      // by today's readings, which a capacity leaves out
    std::string today;                  // the same in words
    std::vector<OwnNumber> own_limits;  // those that the description sets
    std::optional<double> usual_count;  // by the limits of the program, where those are set
};

struct CapacityAnswer {
    std::string tank;
    double mean_weight_g = 0;                // of all fish, at this question
    std::string kind = {};                   // "rainbow trout", or "fish" of several kinds
    Water water = {};                        // of a day to plan for
    std::vector<CapacityCell> cells;         // one, or a table: temperatures down, sizes across
    std::optional<CapacityCell> grown = {};  // the same fish when they have grown
    CapacityDoubts doubts;
    bool unfed = false;        // counted without feed, as described
    bool inflow_kept = false;  // its oxygen_mg_l, in warmer water than described
    std::optional<CapacityRange> range;
    std::optional<double> sure_count;  // where it was asked for
    std::optional<double> asked_count;
    Status fit = Status::pass;                   // of the stock asked for
    std::vector<std::string> too_many_for = {};  // of tanks below
    bool others_stay = false;                    // as they are: it shares its water
    std::vector<WordedRemedy> remedies;
    bool cut_short = false;  // not all remedies were searched for
};

// All tanks of a loop, or of a row.
struct SharedCapacity {
    TankCapacity capacity;
    CapacityDoubts doubts;
    bool row;
    std::optional<double> sure_count = {};
};

struct CapacityReport : ReportHead {
    using ReportHead::ReportHead;
    std::vector<CapacityAnswer> tanks;
    std::vector<SharedCapacity> shared;
};

CapacityReport make_capacity_report(ReadResult read, const CapacityQuestion& question,
                                    const Display& show);

// A run, as the formats of its reports know it.
struct CapacityRun {
    CapacityQuestion question;
    Display show;
    Instant now;
    std::size_t reports;
    Status verdict;  // the worst answer to --for
};
CapacityRun run_of(std::span<const CapacityReport> reports, const CapacityQuestion& question,
                   const Display& show, const Instant& now);

namespace capacity_formats {
std::string text(const CapacityReport& report, const CapacityRun& run);
std::string markdown(const CapacityReport& report, const CapacityRun& run);
std::string page_end(const CapacityRun& run);
// One row a check, or one a cell of a table.
std::string csv_begin(const CapacityRun& run);
std::string csv(const CapacityReport& report, const CapacityRun& run);
std::string json_begin(const CapacityRun& run);
std::string json(const CapacityReport& report, const CapacityRun& run);
std::string json_end(const CapacityRun& run);
}  // namespace capacity_formats

inline constexpr Format<CapacityReport, CapacityRun> kCapacityFormats[] = {
    {"text", nullptr, capacity_formats::text, "\n", capacity_formats::page_end},
    {"markdown", nullptr, capacity_formats::markdown, "\n", capacity_formats::page_end},
    {"csv", capacity_formats::csv_begin, capacity_formats::csv, "", nullptr},
    {"json", capacity_formats::json_begin, capacity_formats::json, ",", capacity_formats::json_end},
};

}  // namespace coldtank::io
