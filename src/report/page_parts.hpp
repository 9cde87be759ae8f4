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
    bool on_loop;  // a loop, or a tank on one
};
std::vector<PagePart> parts_of(const Report& report, const Display& show);

// What is wrong, or what runs short first, as one sentence: "280 fish need 26.4 g of oxygen an hour
// in the warmest hour; air and water bring 2.6".
std::string sentence_of(const PagePart& part, const Display& show);
// The check to name first: of the worst status oxygen, else the one that runs short first.
const Check& worst_check(const PagePart& part);
// The first change of the best way, in a word or two; empty where there is none.
std::string first_change_of(const PagePart& part, const Display& show);

// "take out 197 fish, ...: then exchange still warns"; without its first changes.
std::string plan_words(const WordedPlan& plan, const PagePart& part, std::size_t from = 0);
// So many first changes are those of every way of a part, which has several.
std::size_t common_changes(const PagePart& part);

// "640 m, 93.87 kPa"; the report has a site.
std::string air_words(const Report& report, const Display& show);
// What of a report could not be read; empty where all was.
std::vector<std::string> unread_words(const Report& report);

std::string with_blanks(std::string_view id);  // "oxygen reserve"
std::string title_of(CheckId id);

// A check's value and limits as text, in the same order on paper as in truth.
struct CheckText {
    std::string value;
    std::string limits;
};
CheckText check_text(const Check& check, const TankBudget* budget, const Display& show);
// Whether the description says what any of its fish eat.
bool states_a_ration(const TankBudget& budget);
// What the search for remedies left out; empty where nothing.
std::string cut_short_words(const Report& report);
// "83 % used"; empty where there is none.
std::string used_text(const Check& check);
// Whether the value is a reading, worse than the balance: then its share would mislead.
bool is_measured(const Check& check, const TankBudget* budget);

}  // namespace coldtank::io
