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
    bool missed = false;            // what was measured to be wrong is not measured now
    std::string since;              // "2026-11-24 05:15: oxygen 6.2 to 4.9 mg/L; 2 died"
    std::string before;             // what was told of it before this run: see told_text()
    std::string told;               // and with it
};

// Of a report.
struct News {
    std::vector<PartNews> parts;  // in the order of its page: tanks, then loops
    bool of_site = true;          // its warnings are
};

// The last records of the tanks of some reports. A tank goes by its site and name; by its file too
// where another of the run has the same.
std::map<RecordKey, LogRecord> last_records_of(const std::string& logbook,
                                               std::span<const Report> reports, const Instant& now);

// What is news after those records. A check that fails is told once a day, so is one of oxygen,
// reserve, ammonia, nitrite, carbon dioxide, temperature, readings and deaths that warns; an oxygen
// that was read to fail at every run, also when nobody reads it any more; others once. It is over
// where a newer reading shows it; without one it is "not measured".
//   all: what could not be judged is told as well
//   name_site: several sites are in the run
struct Telling {
    Display show;
    bool all = false;
    bool name_site = false;
};
News news_of(const Report& report, const std::map<RecordKey, LogRecord>& last, const Instant& now,
             const Telling& telling);

// Into the report, for its records: what was told with this run, or, where it told nothing that
// anybody read, before it.
void keep_told(const News& news, bool was_read, Report& report);

}  // namespace coldtank::io
