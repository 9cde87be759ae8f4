// One description's report: its budgets with remedies, warnings and errors; as text and as JSON.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "coldtank/remedy.hpp"
#include "read/description.hpp"
#include "text/clock.hpp"
#include "text/units.hpp"

namespace coldtank::io {

// A remedy with its words, for people.
struct WordedRemedy {
    Remedy remedy;
    std::string text;
};

// What the description's own limits make of a verdict.
struct OwnVerdict {
    Status usual = Status::unchecked;  // the verdict by the limits of the program
    std::vector<OwnLimit> limits;      // those that the description sets
    std::vector<OwnLimit> decisive;    // of them those whose check comes out otherwise
};

struct TankReport {
    TankBudget budget;
    std::vector<std::vector<WordedRemedy>> remedies;  // one list a check
    std::vector<std::string> notes;                   // one a check, mostly empty
    std::string working;                              // where it was asked for
    std::optional<TankReadings> readings;             // where a readings file was given
    Tank input;                                       // what it was worked out from
    OwnVerdict own;
};

struct LoopReport {
    LoopBudget budget;
    std::vector<std::vector<WordedRemedy>> remedies;  // one list a check
    std::vector<std::string> notes;                   // one a check, mostly empty
    std::string working;                              // where it was asked for
    std::optional<TankReadings> readings;             // where a readings file names it
    bool filter_young = false;                        // below 100 % mature
    OwnVerdict own;
};

struct Report {
    std::string file;
    std::optional<std::size_t> line;
    bool unreadable = false;
    std::optional<Site> site;  // none where it could not be read
    double pressure_kpa = 0;
    std::vector<std::string> warnings;
    std::vector<TankReport> tanks;
    std::vector<LoopReport> loops;
    std::vector<InputError> errors;
    std::vector<InputError> reading_errors;  // of the readings file
    Status verdict = Status::unchecked;
    Status usual = Status::unchecked;  // by the limits of the program
    bool cut_short = false;            // not all remedies were searched for
};

// "pass", or "pass by your limits (oxygen warn 1, usually 6)".
std::string verdict_words(Status verdict, const OwnVerdict& own, const Display& show);
std::string verdict_words(const Report& report, const Display& show);
// "oxygen warn 1, usually 6": the limits of one check; empty where none is set.
std::string own_limit_words(const OwnVerdict& own, CheckId check);
std::string words_of(std::span<const OwnLimit> limits, const Display& show);
// The system by the limits of the program; whether that is another.
System with_usual_limits(System system);
bool has_own_limits(const System& system);

// The report of what was read. Its verdict is the worst of its tanks and warnings, and never pass
// where anything could not be read.
Report make_report(ReadResult read, const Display& show = Display(), bool explain = false);

// Asks for the tank of that name only, and leaves of the descriptions those that have it or errors;
// false where all was read and none has it.
bool keep_tank_in_all(std::vector<ReadResult>& read, std::string_view tank);
bool asked_for(const ReadResult& read, const Tank& tank);
bool asked_for(const ReadResult& read, const System& system);

// Words of the contract for people: "peak temperature taken as the mean".
std::string words_of(const Assumption& assumption);

// Pages of ASCII (but for a user's own names), at most 80 columns: one report in full, and of all
// reports what does not pass, the worst first, for a phone at night.
std::string text_of(const Report& report, const Display& show);
std::string trouble_page(std::span<const Report> reports, const Display& show);
std::string cautions();

// A page for a logbook: title, date, a table a tank, what to change, a line to sign.
std::string markdown_of(const Report& report, const Instant& now, const Display& show);
// One row a check, with a header.
std::string csv_of(std::span<const Report> reports);

// "farm.json", "farm.jsonl line 3"
std::string place_of(const Report& report);

// "coldtank: FILE:LINE:COLUMN: POINTER: message", one a line, the first 20 of each file.
std::string errors_as_text(std::span<const InputError> errors);

// The JSON of one report (JSON Lines) or of a run.
std::string json_line_of(const Report& report);
std::string json_of(std::span<const Report> reports, std::string_view version);

Status worst_of(std::span<const Report> reports);

// Whether something could not be judged for want of a reading; early life never can.
bool lacks_a_check(const Report& report);

}  // namespace coldtank::io
