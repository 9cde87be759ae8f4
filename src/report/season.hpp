// A season before it happens: pages, rows and JSON.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "coldtank/season.hpp"
#include "report/growth_log.hpp"
#include "report/report.hpp"

namespace coldtank::io {

enum class Every { day, week, month };

struct SeasonQuestion {
    Level level = Level::warn;  // that the plan keeps
    bool plan = false;          // asked for, also where all passes
    Every every = Every::week;
    std::vector<SeasonInput::DayMean> daily;  // of --temperatures
    std::optional<GrowthLogs> logs;           // of --logbook
    Display show = Display();                 // units of words, and in whose steps what is sold
};

// A tank with fish, or one that was filled.
struct SeasonAnswer : TankSeason {
    std::optional<SeasonStock> plan = {};
    TankLimits limits = {};
    bool cut_short = false;    // by its temperatures
    bool loop_breaks = false;  // the loop it is on warns or fails
    struct Supply {
        SeasonSupply supply;
        std::vector<WordedRemedy> changes = {};  // its remedies in words
    };
    std::optional<Supply> supply = {};
    // Where the ration holds fast growth back: fish that eat all they can.
    struct Unheld {
        double biomass_kg = 0;                     // at most
        std::optional<SeasonTrouble> sooner = {};  // than as described
        bool fails = false;                        // or warns
    };
    std::optional<Unheld> unheld = {};
};

struct SeasonReport : ReportHead {
    using ReportHead::ReportHead;
    SeasonInput input = {};
    std::vector<SeasonAnswer> tanks;     // in the order of the description
    std::vector<LoopSeason> loops = {};  // that these are on
    std::vector<std::string> missing;    // why there is no season
    std::vector<std::string> notes;      // what is taken for granted
    struct Fitted {
        std::string tank;
        std::optional<GrowthFit> fit;
        std::string why_not;
    };
    std::vector<Fitted> fitted;  // growth by the logbook, of each tank with fish
    Status verdict = Status::unchecked;
    std::optional<Day> known_until = {};  // where temperatures of days end it
};
SeasonReport make_season_report(ReadResult read, const SeasonQuestion& question);

// A picture of each tank, one below the other. Empty where there is no season.
std::string season_svg(std::span<const SeasonReport> reports, const Display& show = Display());

// A run, as the formats of its reports know it.
struct SeasonRun {
    SeasonQuestion question;
    Display show;
    Instant now;
    std::size_t reports = 0;
    Status verdict = Status::pass;
    bool answered = false;  // any tank
};

namespace season_formats {
std::string text(const SeasonReport& report, const SeasonRun& run);
std::string text_end(const SeasonRun& run);
std::string markdown(const SeasonReport& report, const SeasonRun& run);
std::string markdown_end(const SeasonRun& run);
// One row a day and tank.
std::string csv_begin(const SeasonRun& run);
std::string csv(const SeasonReport& report, const SeasonRun& run);
std::string json_begin(const SeasonRun& run);
std::string json(const SeasonReport& report, const SeasonRun& run);
std::string json_end(const SeasonRun& run);
}  // namespace season_formats

inline constexpr Format<SeasonReport, SeasonRun> kSeasonFormats[] = {
    {"text", nullptr, season_formats::text, "\n", season_formats::text_end},
    {"markdown", nullptr, season_formats::markdown, "\n", season_formats::markdown_end},
    {"csv", season_formats::csv_begin, season_formats::csv, "", nullptr},
    {"json", season_formats::json_begin, season_formats::json, ",", season_formats::json_end},
};

}  // namespace coldtank::io
