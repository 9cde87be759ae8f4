// One description's report: its budgets with remedies, warnings and errors; as text and as JSON.
#pragma once

#include <algorithm>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "coldtank/capacity.hpp"
#include "coldtank/haul.hpp"
#include "coldtank/plan.hpp"
#include "coldtank/spread.hpp"
#include "coldtank/water_change.hpp"
#include "read/description.hpp"
#include "report/filter_log.hpp"
#include "report/format.hpp"
#include "text/clock.hpp"
#include "text/units.hpp"

namespace coldtank::io {

// A remedy with its words, for people.
struct WordedRemedy {
    Remedy remedy;
    std::string text;
};

// What the description's own limits and coefficients make of a verdict.
struct OwnVerdict {
    Status usual = Status::unchecked;      // the verdict by those of the program
    std::vector<OwnNumber> limits = {};    // those that the description sets
    std::vector<OwnNumber> decisive = {};  // of them those whose check comes out otherwise
};

// A way to make all of a system pass, as far as it changes one part, with its words.
struct WordedPlan {
    Way way;
    std::vector<WordedRemedy> changes;
    PartOutcome outcome;

    // A check that fails or warns today; what was read of the sensors and the dead no plan mends.
    bool mends(CheckId id) const {
        return id != CheckId::readings && id != CheckId::deaths &&
               std::none_of(outcome.left.begin(), outcome.left.end(),
                            [&](const PartOutcome::Left& left) { return left.check == id; });
    }
};

// What a tank and a loop have in common. Remedies and notes: one of each check, mostly empty.
struct PartReport {
    std::vector<std::vector<WordedRemedy>> remedies = {};
    std::vector<std::string> notes = {};
    std::vector<std::string> now = {};  // what to do this minute
    std::vector<WordedPlan> plans = {};
    std::string working = {};                   // where it was asked for
    std::optional<TankReadings> readings = {};  // where a readings file names it
    OwnVerdict own = {};
    std::string told = {};                // what mails have told of it: see news.hpp
    std::optional<PartSpread> sure = {};  // where it was asked for
};

struct TankReport : PartReport {
    TankBudget budget = {};
    Tank input = {};  // what it was worked out from
    bool in_row = false;
    // What it can carry on a day to plan for, where that was asked and all passes.
    std::optional<TankCapacity> capacity = {};
    std::optional<WaterChange> change = {};  // where it was asked for
};

struct LoopReport : PartReport {
    LoopBudget budget = {};
    bool filter_young = false;              // below 100 % mature
    std::optional<FilterStart> start = {};  // then
    Instant asked_at = {};
};

struct TripReport {
    Trip input = {};
    TripBudget budget = {};
    std::vector<TripPlan> plans = {};
};
TripReport trip_report_of(const Trip& trip, double pressure_kpa);

// What every report of a description begins with.
struct ReportHead {
    std::string file;  // empty: of options
    std::optional<std::size_t> line;
    bool unreadable = false;
    std::optional<Site> site;  // none where it could not be read
    double pressure_kpa = 0;
    std::vector<InputError> errors;
    std::vector<InputError> reading_errors;  // of the readings file

    ReportHead() = default;
    explicit ReportHead(const ReadResult& read);
    bool all_read() const { return errors.empty() && reading_errors.empty(); }
    std::vector<InputError> all_errors() const;
};

struct Report : ReportHead {
    using ReportHead::ReportHead;
    std::vector<std::string> warnings;
    std::vector<TankReport> tanks;
    std::vector<LoopReport> loops;
    std::vector<TripReport> trips;
    Status verdict = Status::unchecked;
    Status usual = Status::unchecked;  // by the limits of the program
    bool cut_short = false;            // not all remedies were searched for
};

// What is said of a site as a whole: its warnings, and the trips that do not pass.
struct SiteWords {
    Status status;
    std::string words;
};
std::vector<SiteWords> site_words(const Report& report);

// "pass", or "pass by your limits (oxygen warn 1, usually 6)".
std::string verdict_words(Status verdict, const OwnVerdict& own, const Display& show);
std::string verdict_words(const Report& report, const Display& show);
// "oxygen warn 1, usually 6": the limits of one check; empty where none is set.
std::string own_limit_words(const OwnVerdict& own, CheckId check);
std::string words_of(std::span<const OwnNumber> limits, const Display& show);
// The system by the limits and coefficients of the program; whether that is another.
System as_usual(System system);
bool has_own_numbers(const System& system);
void append(std::vector<OwnNumber>& all, const std::vector<OwnNumber>& more);
// "your limits", or coefficients, or both.
std::string owner_words(std::span<const OwnNumber> numbers);

// What a report is to hold beside its budgets.
struct Asking {
    Display show = Display();
    bool explain = false;                       // the working
    bool room = false;                          // for how many more fish there is room
    bool sure = false;                          // in how many worlds it passes
    std::optional<ChangeQuestion> change = {};  // what a change of water does
    Instant now = {};
    const FilterLog* filter_log = nullptr;  // of a logbook that was given
};

// The report of what was read. Its verdict is the worst of its tanks and warnings, and never pass
// where anything could not be read.
Report make_report(ReadResult read, const Asking& asking = {});

// Asks for the tank of that name only, and leaves of the descriptions those that have it or errors;
// false where all was read and none has it.
bool keep_tank_in_all(std::vector<ReadResult>& read, std::string_view tank);
bool asked_for(const ReadResult& read, const Tank& tank);
bool asked_for(const ReadResult& read, const System& system);

// Words of the contract for people: "peak temperature taken as the mean".
std::string words_of(const Assumption& assumption, const Display& show = Display());

// What does not pass, in words, of one report or of many in order.
struct Troubles {
    struct Part {  // a tank or a loop
        Status verdict;
        std::string place;  // its site, and its file
        std::string alarm;  // for a phone
        std::string text;   // none where something could only not be judged
        bool told_before;   // and no worse
    };
    std::size_t reports = 0;
    std::size_t parts_in_all = 0;
    std::vector<Part> parts = {};
    std::vector<std::string> over = {};  // "well again raceway: ..."
    bool missed = false;                 // of them one is not measured any more: it comes first
    std::vector<std::string> warnings = {};
    std::vector<std::string> unread = {};
    std::string cut_short = {};

    void add(Troubles more);
    bool any_news() const;
};
struct News;
// With what is news of its tanks and loops; without, all is.
//   name_site: several sites are in the run
Troubles troubles_of(const Report& report, const Display& show, bool name_site,
                     const News* news = nullptr);
// The worst first, for a phone at night: ASCII (but for a user's own names), at most 80 columns.
std::string page_of(Troubles troubles, const Instant& now);
std::string cautions();
std::string short_cautions(const Display& show);

// "farm.json", "farm.jsonl line 3"
std::string place_of(const Report& report);

// "coldtank: FILE:LINE:COLUMN: POINTER: message", one a line, the first 20 of each file.
std::string errors_as_text(std::span<const InputError> errors);

// A run, as the formats of its reports know it.
struct BudgetRun {
    Display show;
    Instant now;
    bool all = false;  // every check, remedy and figure on a page
    std::size_t reports = 0;
    bool tanks = false;  // any
    Status verdict = Status::pass;

    void add(const Report& report);
    void add(const BudgetRun& more);
};

namespace budget_formats {
// A page of ASCII (but for a user's own names), at most 80 columns.
std::string text(const Report& report, const BudgetRun& run);
std::string text_end(const BudgetRun& run);
// A page for a logbook: title, date, a table a tank, what to change, a line to sign.
std::string markdown(const Report& report, const BudgetRun& run);
// One row a check, with a header.
std::string csv_begin(const BudgetRun& run);
std::string csv(const Report& report, const BudgetRun& run);
std::string json_begin(const BudgetRun& run);
std::string json(const Report& report, const BudgetRun& run);
std::string json_end(const BudgetRun& run);
// One report a line.
std::string jsonl(const Report& report, const BudgetRun& run);
// The tanks, one a line.
std::string names(const Report& report, const BudgetRun& run);
}  // namespace budget_formats

inline constexpr Format<Report, BudgetRun> kBudgetFormats[] = {
    {"text", nullptr, budget_formats::text, "\n", budget_formats::text_end},
    {"markdown", nullptr, budget_formats::markdown, "\n---\n\n", nullptr},
    {"csv", budget_formats::csv_begin, budget_formats::csv, "", nullptr},
    {"json", budget_formats::json_begin, budget_formats::json, ",", budget_formats::json_end},
    {"jsonl", nullptr, budget_formats::jsonl, "", nullptr},
    {"names", nullptr, budget_formats::names, "", nullptr},
};

// Whether something could not be judged for want of a reading; early life never can.
bool lacks_a_check(const Report& report);

}  // namespace coldtank::io
