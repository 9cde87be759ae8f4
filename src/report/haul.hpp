// Fish in a bucket or a haul tank, for people and as JSON.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "coldtank/haul.hpp"
#include "report/report.hpp"

namespace coldtank::io {

struct HaulReport : ReportHead {
    using ReportHead::ReportHead;
    std::vector<TripReport> trips;
    std::vector<std::string> assumed;  // of what was typed
    Status verdict = Status::unchecked;
};
HaulReport make_haul_report(ReadResult read);
// Of a trip that was typed, at that pressure.
HaulReport make_haul_report(const Trip& trip, double altitude_m, std::vector<std::string> assumed);

// What would make it pass, in words.
std::string words_of(const TripReport& trip, const TripPlan& plan, const Display& show);

// A run, as the formats of its reports know it.
struct HaulRun {
    Display show;
    Instant now;
    std::size_t reports = 0;
    Status verdict = Status::pass;
};
HaulRun run_of(std::span<const HaulReport> reports, const Display& show, const Instant& now);

namespace haul_formats {
std::string text(const HaulReport& report, const HaulRun& run);
std::string text_end(const HaulRun& run);
std::string json_begin(const HaulRun& run);
std::string json(const HaulReport& report, const HaulRun& run);
std::string json_end(const HaulRun& run);
}  // namespace haul_formats

inline constexpr Format<HaulReport, HaulRun> kHaulFormats[] = {
    {"text", nullptr, haul_formats::text, "\n", haul_formats::text_end},
    {"json", haul_formats::json_begin, haul_formats::json, ",", haul_formats::json_end},
};

}  // namespace coldtank::io
