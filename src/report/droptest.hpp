// A drop test, and whether one is safe, for people and as JSON.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "coldtank/droptest.hpp"
#include "read/drop_log.hpp"
#include "report/report.hpp"

namespace coldtank::io {

struct DropReport : ReportHead {
    using ReportHead::ReportHead;
    DropLog log;
    DropTest test;
    bool flow_told = false;  // how much water ran while the air was on
    DropResult result;
    std::vector<std::string> assumed;
    Status verdict = Status::unchecked;
};
// Of a tank at a site; `head` is of its description, where there is one.
DropReport make_drop_report(ReportHead head, DropLog log, DropTest test, bool flow_told);

struct DropSafetyReport : ReportHead {
    using ReportHead::ReportHead;
    std::vector<DropSafety> tanks;
    Status verdict = Status::unchecked;
};
DropSafetyReport make_drop_safety_report(ReadResult read);

// A run, as the formats of its reports know it.
struct DropRun {
    Display show;
    Instant now;
    std::size_t reports = 0;
    Status verdict = Status::pass;
};

namespace drop_formats {
std::string text(const DropReport& report, const DropRun& run);
std::string safety_text(const DropSafetyReport& report, const DropRun& run);
std::string text_end(const DropRun& run);
std::string json_begin(const DropRun& run);
std::string json(const DropReport& report, const DropRun& run);
std::string safety_json(const DropSafetyReport& report, const DropRun& run);
std::string json_end(const DropRun& run);
}  // namespace drop_formats

inline constexpr Format<DropReport, DropRun> kDropFormats[] = {
    {"text", nullptr, drop_formats::text, "\n", drop_formats::text_end},
    {"json", drop_formats::json_begin, drop_formats::json, ",", drop_formats::json_end},
};
inline constexpr Format<DropSafetyReport, DropRun> kDropSafetyFormats[] = {
    {"text", nullptr, drop_formats::safety_text, "\n", drop_formats::text_end},
    {"json", drop_formats::json_begin, drop_formats::safety_json, ",", drop_formats::json_end},
};

}  // namespace coldtank::io
