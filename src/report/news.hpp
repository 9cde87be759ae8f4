// What a night's mail tells: what is worse than the last one said, what still fails, what is over.
// What was told stands with each tank in the logbook.
#pragma once

#include <map>
#include <span>
#include <string>
#include <vector>

#include "logbook/logbook.hpp"
#include "report/report.hpp"

namespace coldtank::io {

// News of one tank or loop.
struct PartNews {
    bool tell = true;               // its page is to be read
    std::vector<std::string> over;  // "well again raceway: oxygen 6.8 mg/L since 06:40"
    std::string since;              // "2026-11-24 05:15: oxygen 6.2 to 4.9 mg/L; 2 died"
    std::string told;               // what was told of it by now: see told_text()
};

// Of a report, in the order of its page: tanks, then loops.
using News = std::vector<PartNews>;

// The last records of the tanks of some reports.
std::map<RecordKey, LogRecord> last_records_of(const std::string& logbook,
                                               std::span<const Report> reports, const Instant& now);

// What is news after those records. A check that fails is told once a day, so is one of oxygen,
// reserve, ammonia, nitrite, carbon dioxide, temperature, readings and deaths that warns; a
// measured oxygen that fails at every run; others once. It is over where a reading shows it;
// without one it is "not measured since". `all`: what could not be judged is told as well.
News news_of(const Report& report, const std::map<RecordKey, LogRecord>& last, const Instant& now,
             bool all);

// Into the report, for its records.
void keep_told(const News& news, Report& report);

}  // namespace coldtank::io
