// What the pages for people share: a tank or a loop in words, whatever the page looks like.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "report/report.hpp"

namespace coldtank::io {

// Figures behind the checks under a label; an empty label goes on with the one before.
struct FigureLine {
    std::string_view label;
    std::string text;
    bool always = false;  // on a page in short too
};

// A tank or a loop of a report, in the order of the page: tanks, then loops.
struct PagePart {
    std::string name;   // as written; of a loop without the word
    std::string title;  // as printed: "loop yard loop"
    std::string stock;  // "120 fish, 21.6 kg in 2000 L, ..."; empty for a loop
    Status verdict;
    CheckId first_limit;
    const std::vector<Check>* checks;
    const std::vector<std::vector<WordedRemedy>>* remedies;
    const std::vector<std::string>* notes;
    const TankBudget* budget;  // null for a loop
    std::vector<FigureLine> figures;
    std::string verdict_words;
    const std::string* working;
    const OwnVerdict* own;
    const std::vector<std::string>* now;
    const std::vector<WordedPlan>* plans;
    std::string_view ways_are_in;  // where else a way must be carried out; empty: nowhere
    const TankReadings* readings;  // null where no readings file names it
    const TankReport* tank;        // null for a loop
    const PartSpread* sure;        // null where it was not asked for
};
std::vector<PagePart> parts_of(const Report& report, const Display& show);

// "640 m, 93.87 kPa"; the report has a site.
std::string air_words(const Report& report, const Display& show);
// What of a report could not be read; empty where all was.
std::vector<std::string> unread_words(const Report& report);

std::string with_blanks(std::string_view id);  // "oxygen reserve"
std::string title_of(CheckId id);

// In the reader's units where the check's value is shown in them.
double shown_value(const Check& check, double base, const Display& show);
// What beside the value made a check what it is; null where its value says it all. Of a tank
// without flow the hours are the only value there is.
const Because* deciding(const Check& check);

// A check's value and limits as text, in the same order on paper as in truth.
struct CheckText {
    std::string value;
    std::string limits;
};
CheckText check_text(const Check& check, const TankBudget* budget, const Display& show);
// Whether the description says what any of its fish eat.
bool states_a_ration(const TankBudget& budget);
// What nobody has measured of new water that flows in; empty where none does, or where more urgent
// things are said.
std::string unmeasured_words(const Report& report);
// What the search for remedies left out; empty where nothing.
std::string cut_short_words(const Report& report);
// "83 % used" of what the warn limit allows, "2.2 x too much" over it; empty where there is none.
std::string used_text(const Check& check);
// The reading of a column that is used; null where there is none.
const UsedReading* reading_of(const TankReadings* readings, std::string_view column);
// "05:10", with its date where that is long ago.
std::string when_words(const UsedReading& reading);
// Whether an oxygen that was read warns, and does not fail: then there is no NOW, and no feed.
bool is_low_read(const PagePart& part);
// Whether oxygen fails only by what is predicted, and what was read lately leaves time to act.
bool is_forecast(const PagePart& part);
// What a reading alone makes of a check that a balance predicts as well; none without one.
std::optional<Status> status_of_reading(const Check& check, const TankBudget* budget);
// Whether the value is a reading, worse than the balance: then its share would mislead.
bool is_measured(const Check& check, const TankBudget* budget);

}  // namespace coldtank::io
