// The power cut, for people and as JSON.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "coldtank/outage.hpp"
#include "report/report.hpp"

namespace coldtank::io {

struct OutageReport : ReportHead {
    using ReportHead::ReportHead;
    std::vector<TankOutage> tanks;    // in the order of the description
    std::vector<std::string> doubts;  // of each: what of its readings could not be used
    Status verdict = Status::unchecked;
};

// `failed`: when the power did; none: at the time of each reading, or now.
OutageReport make_outage_report(ReadResult read, const std::optional<Instant>& failed,
                                const Instant& now);

// A run, as the formats of its reports know it.
struct OutageRun {
    Display show;
    Instant now;
    std::optional<Instant> failed;
    std::size_t reports = 0;
    Status verdict = Status::pass;
};
OutageRun run_of(std::span<const OutageReport> reports, const Display& show, const Instant& now,
                 const std::optional<Instant>& failed);

namespace outage_formats {
std::string text(const OutageReport& report, const OutageRun& run);
std::string text_end(const OutageRun& run);
std::string json_begin(const OutageRun& run);
std::string json(const OutageReport& report, const OutageRun& run);
std::string json_end(const OutageRun& run);
}  // namespace outage_formats

inline constexpr Format<OutageReport, OutageRun> kOutageFormats[] = {
    {"text", nullptr, outage_formats::text, "\n", outage_formats::text_end},
    {"json", outage_formats::json_begin, outage_formats::json, ",", outage_formats::json_end},
};

}  // namespace coldtank::io
