// The report as a page of text: in full, and short for a phone at night.
#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>
#include <optional>
#include <set>
#include <utility>

#include "report/answer.hpp"
#include "report/news.hpp"
#include "report/spread.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

// The columns of a check line: status, name, value, limits, share used.
constexpr std::size_t kIndent = 10;
constexpr std::size_t kNameWidth = 16;
constexpr std::size_t kValueWidth = 17;

// Padded by columns, not bytes; at least one blank behind it.
std::string cell(std::string text, std::size_t width) {
    const std::size_t size = columns(text);
    text.append(size < width ? width - size : 1, ' ');
    return text;
}

// Text in lines as wide as the page.
std::string lines(const Display& show, std::string_view head, std::string_view text,
                  std::size_t indent) {
    return wrapped(head, text, indent, show.paper().width);
}

// A status in so many columns; its colour says nothing that its word does not.
std::string status_cell(Status status, std::size_t width, const Display& show) {
    const std::string word(name_of(status));
    if (!show.paper().colour) return cell(word, width);
    const std::string_view colour = status == Status::fail   ? "1;31"
                                    : status == Status::warn ? "1;33"
                                    : status == Status::pass ? "32"
                                                             : "1;36";
    return cell(fmt::format("\x1b[{}m{}\x1b[0m", colour, word), width);
}

// "83 %", "2.2 x", "+73 %"; nothing where that would be misread.
std::string shorter(const std::string& used) {
    if (used.ends_with(" used")) return used.substr(0, used.size() - 5);
    if (used.starts_with("brings")) return {};
    const std::size_t too = used.find(" too ");
    if (too == std::string::npos || used.starts_with("just") || used.starts_with("far")) return {};
    return (used[too - 1] == '%' ? "+" : "") + used.substr(0, too);
}

std::string check_line(const Check& check, const TankBudget* budget, const Display& show) {
    std::string line =
        status_cell(check.status, kIndent, show) + cell(title_of(check.id), kNameWidth);
    if (check.status == Status::unchecked) {
        return lines(show, line, fmt::format("needs {}", check.missing), kIndent + kNameWidth);
    }
    const CheckText text = check_text(check, budget, show);
    line += cell(text.value, kValueWidth);
    std::string used = is_measured(check, budget) ? "measured" : used_text(check);
    if (columns(line) + columns(text.limits) + 1 + columns(used) > show.paper().width) {
        used = shorter(used);
    }
    if (columns(line) + columns(text.limits) + 1 + columns(used) > show.paper().width) used.clear();
    const std::size_t taken = columns(line) + columns(used);
    if (text.limits.empty() && used.empty())
        return line.substr(0, line.find_last_not_of(' ') + 1) + '\n';
    line +=
        used.empty()
            ? text.limits
            : cell(text.limits, taken < show.paper().width ? show.paper().width - taken : 1) + used;
    return line + '\n';
}

// How much of a part is on its page.
enum class Much {
    all,       // every remedy, note and figure
    in_short,  // at most two remedies, and none of what a plan mends anyway
    trouble    // nor what passes
};

// A check's line, its note and its remedies; what to do now is said once a tank.
std::string check_lines(const PagePart& part, std::size_t i, Much much, std::set<std::string>& said,
                        const Display& show) {
    constexpr std::size_t kMostRemedies = 2;
    const Check& check = (*part.checks)[i];
    std::string out = check_line(check, part.budget, show);
    // A plan mends it, and its line says the cause.
    const bool planned = much != Much::all && check.status >= Status::warn &&
                         !part.plans->empty() && part.plans->front().mends(check.id);
    if (!(*part.notes)[i].empty() && !(planned && !check.because.empty())) {
        out += lines(show, std::string(kIndent - 2, ' ') + "! ", (*part.notes)[i], kIndent);
    }
    if (planned) return out;
    std::size_t shown = 0;
    for (const WordedRemedy& worded : (*part.remedies)[i]) {
        const Action action = worded.remedy.action;
        const bool once = action == Action::now || action == Action::find_cause;
        if (once && !said.insert(worded.text).second) continue;
        if (action == Action::now && much != Much::all) continue;
        if (action != Action::now && ++shown > kMostRemedies && much != Much::all) break;
        out += lines(show, std::string(kIndent - 2, ' ') + "- ", worded.text, kIndent);
    }
    return out;
}

// All that is to be done this minute, as one sentence: "NOW, if fish are in it: ...".
std::string now_words(const PagePart& part) {
    constexpr std::string_view kNow = "NOW, if fish are in it: ";
    std::vector<std::string> steps;
    for (const std::string& words : *part.now) {
        std::string_view rest = words;
        if (rest.starts_with(kNow)) rest.remove_prefix(kNow.size());
        while (!rest.empty()) {
            const std::size_t end = std::min(rest.find("; "), rest.size());
            std::string step(rest.substr(0, end));
            rest.remove_prefix(std::min(end + 2, rest.size()));
            // Water is changed once, and as much as the first asks for.
            const bool said = std::any_of(steps.begin(), steps.end(), [&](const std::string& each) {
                return each == step || (each.starts_with("change ") && step.starts_with("change "));
            });
            if (!said) steps.push_back(std::move(step));
        }
    }
    return std::string(kNow) + joined(steps, "; ");
}

// What to do: this minute, and then in one of the ways that mend all of it. What is said of this
// minute is not said again.
std::string plan_text(const PagePart& part, std::set<std::string>& said, const Display& show) {
    std::string out;
    if (!part.now->empty()) {
        out += lines(show, "", now_words(part), kIndent);
        said.insert(part.now->begin(), part.now->end());
    }
    const bool any = std::any_of(part.plans->begin(), part.plans->end(),
                                 [](const WordedPlan& plan) { return !plan.changes.empty(); });
    if (!any && part.verdict < Status::warn) return out;
    if (part.now->empty() && is_low_read(part)) {
        out += lines(show, cell("first", kIndent),
                     "do not feed, and add air, until the meter climbs", kIndent);
    }
    const std::string_view todo = is_forecast(part) ? "today" : "to do";
    bool first = true;
    char letter = 'a';
    const std::size_t common = common_changes(part);
    if (common > 0) {
        std::vector<std::string> changes;
        for (std::size_t i = 0; i < common; ++i) {
            changes.push_back(part.plans->front().changes[i].text);
        }
        out += lines(show, cell(std::string(todo), kIndent),
                     fmt::format("first {}; then one of these", joined(changes, "; ")), kIndent);
        first = false;
    }
    for (const WordedPlan& plan : *part.plans) {
        const std::string head = cell(std::string(first ? todo : ""), kIndent) + letter + "  ";
        out += lines(show, head, plan_words(plan, part, common), head.size());
        first = false;
        ++letter;
    }
    if (!first && asks_for_air(part)) {
        out += lines(show, std::string(kIndent, ' '),
                     "(air: a pump at depth gives half to four fifths of its label)", kIndent);
    }
    if (!first && !part.ways_are_in.empty()) {
        out += lines(show, std::string(kIndent, ' '),
                     fmt::format("(the same letter {})", part.ways_are_in), kIndent);
    }
    return out;
}

// "fail  garden round: 280 fish need ...", and what is in it.
std::string head_text(const PagePart& part, const Display& show) {
    constexpr std::size_t kStatusWidth = 6;
    std::string words = fmt::format("{}: {}", part.title, sentence_of(part, show));
    if (part.own->usual != part.verdict) {
        words += fmt::format("; {}", verdict_words(part.verdict, *part.own, show));
    }
    if (part.sure != nullptr) {
        words += "; " + sure_words(*part.sure);
        if (const std::string odd = surprise_words(*part.sure); !odd.empty()) words += "; " + odd;
    }
    std::string out =
        lines(show, status_cell(part.verdict, kStatusWidth, show), words, kStatusWidth);
    if (!part.stock.empty()) {
        out += lines(show, std::string(kStatusWidth, ' '), part.stock, kStatusWidth);
    }
    return out;
}

// All of a part, or in short: what does not pass, and in a line what does.
std::string part_text(const PagePart& part, const Display& show, Much much,
                      const std::string& since = "") {
    const bool all = much == Much::all;
    std::string out = head_text(part, show);
    if (!since.empty()) out += lines(show, cell("since", kIndent), since, kIndent);
    std::set<std::string> said;
    out += plan_text(part, said, show);
    bool starred = false;
    std::vector<std::string> passing;
    for (std::size_t i = 0; i < part.checks->size(); ++i) {
        const Check& check = (*part.checks)[i];
        if (check.status == Status::pass && much == Much::trouble) continue;
        if (!all && check.status == Status::pass && (*part.notes)[i].empty() && !check.own_limit) {
            passing.push_back(title_of(check.id));
            continue;
        }
        out += check_lines(part, i, much, said, show);
        starred = starred || (check.own_limit && check.status != Status::unchecked);
    }
    if (!passing.empty())
        out +=
            lines(show, status_cell(Status::pass, kIndent, show), joined(passing, ", "), kIndent);
    // Where the meter is what decides, what it may come from; and how old the readings are.
    const Check* oxygen =
        part.budget == nullptr ? nullptr : find_check(*part.budget, CheckId::oxygen);
    const bool by_meter =
        oxygen != nullptr && oxygen->status >= Status::warn && part.budget->oxygen.measured_mg_l;
    for (const FigureLine& line : part.figures) {
        if (!all && !line.always && !(line.label == "gap" && by_meter)) continue;
        out += lines(show, cell("  " + std::string(line.label), kIndent), line.text, kIndent);
    }
    if (starred) out += "  * a limit that the description sets\n";
    if (all) out += lines(show, "verdict ", part.verdict_words, 2);
    if (!part.working->empty() && much != Much::trouble) out += '\n' + *part.working;
    return out;
}

// A row a tank or loop, the worst first.
std::string table_text(const std::vector<PagePart>& parts, const Display& show) {
    // "unchecked" takes the room of a name.
    const bool long_word = std::any_of(parts.begin(), parts.end(), [](const PagePart& part) {
        return part.verdict == Status::unchecked;
    });
    const std::size_t kStatus = long_word ? 10 : 6;
    const std::size_t kName = long_word ? 10 : 14;
    constexpr std::size_t kFigures = 33;
    constexpr std::size_t kFirst = 15;
    const auto row = [&](const std::string& status, const std::string& title,
                         const SiteRow& cells) {
        // A loop's name takes the place of figures that it has not.
        const bool loop = cells.part != nullptr && cells.part->budget == nullptr;
        const std::size_t name = kName + (loop ? kFigures : 0);
        std::string line = status + cell(cut_to(title, name - 1), name);
        if (!loop) {
            line += fmt::format("{:>5} {:>6} {:>6} {:>5} {:>5}  ", cells.fish, cells.mass,
                                cells.lowest, cells.read, cells.stops);
        }
        line += cell(cells.first, kFirst) + cells.act;
        return line.substr(0, line.find_last_not_of(' ') + 1) + '\n';
    };
    std::string out = row(std::string(kStatus, ' '), "", site_head(show));
    for (const SiteRow& each : site_rows(parts, show)) {
        out += row(status_cell(each.part->verdict, kStatus, show), each.part->title, each);
    }
    return out;
}

}  // namespace

std::string budget_formats::text(const Report& report, const BudgetRun& run) {
    const Display& show = run.show;
    std::string out;
    if (report.site) {
        if (run.reports > 1) out += place_of(report) + ":\n";
        out += lines(
            show, "",
            fmt::format("{} ({}), {}: {}", printable(report.site->name), air_words(report, show),
                        minute_of(run.now), verdict_words(report, show)),
            2);
        for (const SiteWords& each : site_words(report)) {
            out += lines(show, status_cell(each.status, kIndent, show), each.words, kIndent);
        }
        std::vector<PagePart> parts = parts_of(report, show);
        if (parts.size() > 1) out += '\n' + table_text(parts, show);
        std::stable_sort(parts.begin(), parts.end(), [](const PagePart& a, const PagePart& b) {
            return a.verdict > b.verdict;
        });
        for (const PagePart& part : parts) {
            if (parts.size() > 1 || run.all) out += '\n';
            out += part_text(part, show, run.all ? Much::all : Much::in_short);
        }
        if (parts.size() > 1 && !run.all) out += '\n';
        if (const std::string words = unmeasured_words(report); !words.empty()) {
            out += lines(show, "", words, 0);
        }
        if (report.cut_short) out += '\n' + lines(show, "", cut_short_words(report), 0);
        if (!unread_words(report).empty()) out += '\n';
    }
    for (const std::string& words : unread_words(report)) out += lines(show, "", words, 2);
    return out;
}

// ---- for a phone at night

Troubles troubles_of(const Report& report, const Display& show, bool name_site, const News* news) {
    Troubles out{.reports = 1, .parts_in_all = report.tanks.size() + report.loops.size()};
    out.unread = unread_words(report);
    out.cut_short = cut_short_words(report);
    if (!report.site) return out;
    for (const SiteWords& each : site_words(report)) {
        if (news != nullptr && !news->of_site) break;
        if (each.status < Status::warn) continue;
        out.warnings.push_back(fmt::format("{}: {}: {}", name_of(each.status),
                                           printable(report.site->name), each.words));
    }
    for (const PartNews& each :
         news == nullptr ? std::vector<PartNews>{} : news->parts) {  // what nobody measures first
        out.over.insert(each.missed ? out.over.begin() : out.over.end(), each.over.begin(),
                        each.over.end());
        out.missed = out.missed || each.missed;
    }
    if (report.verdict == Status::pass) return out;
    const std::vector<PagePart> parts = parts_of(report, show);
    for (std::size_t i = 0; i < parts.size(); ++i) {
        const PagePart& part = parts[i];
        if (part.verdict == Status::pass) continue;
        const PartNews* own = news == nullptr ? nullptr : &news->parts[i];
        const bool told_before = own != nullptr && !own->tell;
        out.parts.push_back(
            {part.verdict, fmt::format("{} ({})", printable(report.site->name), place_of(report)),
             phone_line(part, show, name_site ? printable(report.site->name) : ""),
             part.verdict >= Status::warn && !told_before
                 ? part_text(part, show, Much::trouble, own == nullptr ? "" : own->since)
                 : "",
             told_before});
    }
    return out;
}

void Troubles::add(Troubles more) {
    const auto append = [](auto& all, auto& rest) {
        all.insert(all.end(), std::move_iterator(rest.begin()), std::move_iterator(rest.end()));
    };
    reports += more.reports;
    parts_in_all += more.parts_in_all;
    append(parts, more.parts);
    append(over, more.over);
    missed = missed || more.missed;
    append(warnings, more.warnings);
    append(unread, more.unread);
    if (cut_short.empty()) cut_short = std::move(more.cut_short);
}

bool Troubles::any_news() const {
    return !over.empty() || !unread.empty() || !warnings.empty() ||
           std::any_of(parts.begin(), parts.end(),
                       [](const Part& part) { return !part.told_before; });
}

std::string page_of(Troubles troubles, const Instant& now) {
    std::vector<Troubles::Part>& parts = troubles.parts;
    std::stable_sort(parts.begin(), parts.end(), [](const auto& a, const auto& b) {
        return std::pair(!a.told_before, a.verdict) > std::pair(!b.told_before, b.verdict);
    });
    std::string out;
    std::string over;
    for (const std::string& words : troubles.over) over += words + '\n';
    if (troubles.missed) out += std::exchange(over, {});
    for (const Troubles::Part& each : parts) {
        if (each.told_before) break;
        if (&each == &parts.front() || each.verdict >= Status::warn) out += each.alarm + '\n';
    }
    out += over;
    for (const std::string& words : troubles.warnings) out += wrapped("", words, 2);
    std::set<std::string_view> said;
    for (const std::string& words : troubles.unread) {
        if (said.insert(words).second) out += wrapped("", words, 2);
    }
    if (troubles.parts_in_all > 1) {
        std::size_t count[4] = {};
        for (const Troubles::Part& each : parts) ++count[static_cast<std::size_t>(each.verdict)];
        count[0] = troubles.parts_in_all - parts.size();
        std::vector<std::string> counts;
        for (const Status status : {Status::fail, Status::warn, Status::unchecked, Status::pass}) {
            if (const std::size_t n = count[static_cast<std::size_t>(status)]; n > 0) {
                counts.push_back(fmt::format("{} {}", n, name_of(status)));
            }
        }
        out += wrapped("",
                       fmt::format("of {} tanks and loops{}: {}", troubles.parts_in_all,
                                   troubles.unread.empty() ? "" : " that could be worked out",
                                   joined(counts, ", ")),
                       2);
    }
    std::string place;
    for (const Troubles::Part& each : parts) {
        if (each.text.empty()) continue;
        out += '\n';
        if (each.place != place) out += wrapped("", each.place, 2);
        place = each.place;
        out += each.text;
    }
    // What stands as it was told, or could not be judged.
    bool first = true;
    for (const Troubles::Part& each : parts) {
        if (!each.text.empty() || (&each == &parts.front() && !each.told_before)) continue;
        if (std::exchange(first, false)) out += '\n';
        const bool no_worse = each.told_before && each.verdict >= Status::warn;
        out += (no_worse ? "no worse: " : "") + each.alarm + '\n';
    }
    if (!troubles.cut_short.empty()) out += '\n' + wrapped("", troubles.cut_short, 0);
    if (!parts.empty()) {
        out += '\n' +
               wrapped("",
                       fmt::format("An estimate of {}: your oxygen meter and the fish decide. Wet "
                                   "hands off mains power; ventilate where oxygen or carbon "
                                   "dioxide gathers. All remedies: the same command without "
                                   "--quiet.",
                                   minute_of(now)),
                       0);
    }
    return out;
}

std::string budget_formats::names(const Report& report, const BudgetRun& /*run*/) {
    std::string out;
    for (const TankReport& tank : report.tanks) out += printable(tank.budget.tank) + '\n';
    return out;
}

std::string budget_formats::text_end(const BudgetRun& run) {
    if (!run.tanks) return {};
    return run.all ? '\n' + cautions() : short_cautions(run.show);
}

std::string short_cautions(const Display& show) {
    return lines(show, "",
                 "Estimates: an oxygen meter and the fish decide; local law, permits, a vet "
                 "first. By water: residual-current protection. Oxygen: no oil, ventilate. "
                 "More: --all.",
                 0);
}

std::string cautions() {
    return wrapped(
        "",
        "Estimates for planning, on the safe side: real tanks are seen to carry 1.2 to "
        "1.8 times as much. A calibrated oxygen meter and the fish decide; local law, "
        "permits and a vet come first. By water: residual-current protection, a licensed "
        "electrician. Pure oxygen: no oil or grease, ventilate.",
        0);
}

}  // namespace coldtank::io
