// The answer to a page's question: what is wrong, what runs short first, and what to do about it.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "report/page_parts.hpp"

namespace coldtank::io {

// What is wrong, or what runs short first, as one sentence: "280 fish need 26.4 g of oxygen an hour
// in the warmest hour; air and water bring 2.6".
std::string sentence_of(const PagePart& part, const Display& show);
// The same and what to do first, as a phone shows it: 70 columns at most.
// "fail raceway: 4.90 mg/L measured 05:10, fed 3 kg: stop feeding, add air"
//   site: where several are in the run
std::string phone_line(const PagePart& part, const Display& show, const std::string& site = "");
// The check to name first: of the worst status oxygen, else the one that runs short first.
const Check& worst_check(const PagePart& part);
// The first change of the best way, in a word or two; empty where there is none.
std::string first_change_of(const PagePart& part, const Display& show, bool with_unit = false);

// A row of a site's table.
struct SiteRow {
    const PagePart* part = nullptr;
    std::string fish = {};
    std::string mass = {};
    std::string lowest = {};  // oxygen, predicted
    std::string read = {};    // the same, measured
    std::string stops = {};   // minutes to danger if air and water stop
    std::string first = {};   // what runs short first
    std::string act = {};     // what to do first
};
SiteRow site_head(const Display& show);
// The worst first; of a loop without figures.
std::vector<SiteRow> site_rows(const std::vector<PagePart>& parts, const Display& show);

// "take out 197 fish, ...: then exchange still warns"; without its first changes.
std::string plan_words(const WordedPlan& plan, const PagePart& part, std::size_t from = 0);
// Whether a way of it blows more air.
bool asks_for_air(const PagePart& part);
// So many first changes are those of every way of a part, which has several.
std::size_t common_changes(const PagePart& part);

}  // namespace coldtank::io
