// How sure a budget is, and what to measure first: pages, rows and JSON.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "coldtank/spread.hpp"
#include "report/format.hpp"
#include "report/report.hpp"

namespace coldtank::io {

// What would settle most of it.
struct MeasureFirst {
    CheckId check;      // of which it decides a share
    std::string input;  // as in CheckSpread::first_order
    double share_percent;
    std::string name;  // "the air stones"
    std::string how;
};

struct SpreadAnswer {
    PartSpread spread;
    bool loop = false;
    std::vector<MeasureFirst> measure_first = {};
};

struct SpreadReport : ReportHead {
    using ReportHead::ReportHead;
    std::vector<SpreadAnswer> parts;     // of the tanks in the order of the description, then loops
    Status verdict = Status::unchecked;  // the budget's
    std::vector<std::string> notes;      // what is not in it
};
// Checks of a part that no world changes (ages of readings, deaths), and its verdict in a report.
void add_fixed(PartSpread& spread, const std::vector<Check>& checks, Status verdict);
SpreadReport make_spread_report(ReadResult read, const SpreadQuestion& question);

// "93", "under 1", "over 99": of 100; 0 and 100 are none and all.
std::string of_hundred(double percent);
// "passes in 93 of 100 worlds that fit what is known (oxygen warns in 6 and fails in 1)".
std::string sure_words(const PartSpread& spread);
// "in 2 of 100 worlds it is as low as was read"; empty where that is no surprise.
std::string surprise_words(const PartSpread& spread);

// A run, as the formats of its reports know it.
struct SpreadRun {
    SpreadQuestion question;
    Display show;
    Instant now;
    std::size_t reports = 0;
    Status verdict = Status::pass;
    bool answered = false;  // any tank
};

namespace spread_formats {
std::string text(const SpreadReport& report, const SpreadRun& run);
std::string text_end(const SpreadRun& run);
std::string csv_begin(const SpreadRun& run);
std::string csv(const SpreadReport& report, const SpreadRun& run);
std::string json_begin(const SpreadRun& run);
std::string json(const SpreadReport& report, const SpreadRun& run);
std::string json_end(const SpreadRun& run);
}  // namespace spread_formats

inline constexpr Format<SpreadReport, SpreadRun> kSpreadFormats[] = {
    {"text", nullptr, spread_formats::text, "\n", spread_formats::text_end},
    {"csv", spread_formats::csv_begin, spread_formats::csv, "", nullptr},
    {"json", spread_formats::json_begin, spread_formats::json, ",", spread_formats::json_end},
};

}  // namespace coldtank::io
