// A drop test, and whether one is safe, for people and as JSON.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "coldtank/droptest.hpp"
#include "read/drop_log.hpp"
#include "report/report.hpp"

namespace coldtank::io {

// What brought oxygen while the air was on, so to say: of an empty tank it may have been nothing
// but the surface.
enum class DropRan { air, surface };

// What a log is of.
struct DropSetting {
    ReportHead head;         // of the tank's description, where there is one
    DropTest test;           // but for its points
    bool flow_told = false;  // how much water ran while the air was on
    DropRan ran = DropRan::air;
    std::vector<std::string> assumed;
};

struct DropReport : ReportHead {
    using ReportHead::ReportHead;
    DropLog log;
    DropTest test;
    bool flow_told = false;
    DropRan ran = DropRan::air;
    DropResult result;
    std::vector<std::string> assumed;
    Status verdict = Status::unchecked;
};
DropReport make_drop_report(DropSetting setting, DropLog log);
// What must be told of a log whatever else is wrong: oxygen under where a test stops; empty:
// nothing.
std::string alarm_of(const DropLog& log, double stop_mg_l);

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
