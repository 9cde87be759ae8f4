// The report as a page of text: in full, and short for a phone at night.
#include <fmt/core.h>

#include <algorithm>
#include <optional>
#include <set>

#include "report/page_parts.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

// The columns of a check line: status, name, value, limits, share used.
constexpr std::size_t kIndent = 10;
constexpr std::size_t kNameWidth = 16;
constexpr std::size_t kValueWidth = 17;
constexpr std::size_t kWidth = 80;

// Padded by columns, not bytes; at least one blank behind it.
std::string cell(std::string text, std::size_t width) {
    const std::size_t size = columns(text);
    text.append(size < width ? width - size : 1, ' ');
    return text;
}

std::string check_line(const Check& check, const TankBudget* budget, const Display& show) {
    std::string line =
        cell(std::string(name_of(check.status)), kIndent) + cell(title_of(check.id), kNameWidth);
    if (check.status == Status::unchecked) {
        return wrapped(line, fmt::format("needs {}", check.missing), kIndent + kNameWidth);
    }
    const CheckText text = check_text(check, budget, show);
    line += cell(text.value, kValueWidth);
    std::string used = is_measured(check, budget) ? "measured" : used_text(check);
    if (columns(line) + columns(text.limits) + 1 + columns(used) > kWidth) {
        used = used.substr(0, used.find(" used"));
    }
    if (columns(line) + columns(text.limits) + 1 + columns(used) > kWidth) used.clear();
    const std::size_t taken = columns(line) + columns(used);
    if (text.limits.empty() && used.empty())
        return line.substr(0, line.find_last_not_of(' ') + 1) + '\n';
    line +=
        used.empty() ? text.limits : cell(text.limits, taken < kWidth ? kWidth - taken : 1) + used;
    return line + '\n';
}

// A check's line, its note, and at most so many of its remedies beside what to do now, which is
// said once a tank.
std::string check_lines(const PagePart& part, std::size_t i, std::size_t most_remedies,
                        std::set<std::string>& said, const Display& show) {
    std::string out = check_line((*part.checks)[i], part.budget, show);
    if (!(*part.notes)[i].empty()) {
        out += wrapped(std::string(kIndent - 2, ' ') + "! ", (*part.notes)[i], kIndent);
    }
    std::size_t shown = 0;
    for (const WordedRemedy& worded : (*part.remedies)[i]) {
        const Action action = worded.remedy.action;
        const bool once = action == Action::now || action == Action::find_cause;
        if (once && !said.insert(worded.text).second) continue;
        if (action != Action::now && ++shown > most_remedies) break;
        out += wrapped(std::string(kIndent - 2, ' ') + "- ", worded.text, kIndent);
    }
    return out;
}

std::string part_text(const PagePart& part, const Display& show) {
    std::string out = wrapped("", part.head, 2);
    std::set<std::string> said;
    bool starred = false;
    for (std::size_t i = 0; i < part.checks->size(); ++i) {
        const Check& check = (*part.checks)[i];
        out += check_lines(part, i, (*part.remedies)[i].size(), said, show);
        starred = starred || (check.own_limit && check.status != Status::unchecked);
    }
    for (const FigureLine& line : part.figures) {
        out += wrapped(cell("  " + std::string(line.label), kIndent), line.text, kIndent);
    }
    if (starred) out += "  * a limit that the description sets\n";
    out += wrapped("verdict ", part.verdict_words, 2);
    if (!part.working->empty()) out += '\n' + *part.working;
    return out;
}

// ---- for a phone at night

// A tank or loop that does not pass, and the check that says so most.
struct Trouble {
    const Report* report;
    PagePart part;
    const Check* check;
};

// The check to name first: of the worst status oxygen, else the one that limits first.
const Check* worst_check(const PagePart& part) {
    const Check* worst = nullptr;
    for (const Check& check : *part.checks) {
        if (check.status != part.verdict) continue;
        if (check.id == CheckId::oxygen) return &check;
        if (worst == nullptr || check.id == part.first_limit) worst = &check;
    }
    return worst;
}

// "fail: north round (Larch Hollow): oxygen 4.21 mg/L (warn <6, fail <5); also density"
std::string alarm_words(const Trouble& trouble, const Display& show) {
    const Check& check = *trouble.check;
    const std::size_t at = static_cast<std::size_t>(&check - trouble.part.checks->data());
    std::string out = fmt::format(
        "{}: {} ({}): {} ", verdict_words(trouble.part.verdict, *trouble.part.own, show),
        trouble.part.title, printable(trouble.report->site->name), title_of(check.id));
    if (check.status == Status::unchecked) {
        out += fmt::format("needs {}", check.missing);
    } else if (check.id == CheckId::readings) {
        out += (*trouble.part.notes)[at];
    } else {
        const CheckText text = check_text(check, trouble.part.budget, show);
        out += text.limits.empty() ? text.value : fmt::format("{} ({})", text.value, text.limits);
    }
    std::vector<std::string> others;
    for (const Check& each : *trouble.part.checks) {
        if (each.id != check.id && each.status == check.status) others.push_back(title_of(each.id));
    }
    return others.empty() ? out : fmt::format("{}; also {}", out, joined(others, ", "));
}

std::string trouble_text(const PagePart& part, const Display& show) {
    constexpr std::size_t kMostRemedies = 2;
    std::string out = wrapped("", part.head, 2);
    std::set<std::string> said;
    std::vector<std::string> unchecked;
    for (std::size_t i = 0; i < part.checks->size(); ++i) {
        const Check& check = (*part.checks)[i];
        if (check.status == Status::unchecked) {
            unchecked.push_back(fmt::format("{} (needs {})", title_of(check.id), check.missing));
        }
        if (check.status < Status::warn) continue;
        out += check_lines(part, i, kMostRemedies, said, show);
    }
    // Where the meter is what decides, what it may come from; and how old the readings are.
    const Check* oxygen =
        part.budget == nullptr ? nullptr : find_check(*part.budget, CheckId::oxygen);
    const bool by_meter =
        oxygen != nullptr && oxygen->status >= Status::warn && is_measured(*oxygen, part.budget);
    for (const FigureLine& line : part.figures) {
        if ((line.label == "gap" && by_meter) || line.label == "readings") {
            out += wrapped(cell(std::string(line.label), kIndent), line.text, kIndent);
        }
    }
    if (!unchecked.empty()) {
        out += wrapped(cell("unchecked", kIndent), joined(unchecked, "; "), kIndent);
    }
    return out;
}

}  // namespace

std::string budget_formats::text(const Report& report, const BudgetRun& run) {
    const Display& show = run.show;
    std::string out;
    if (report.site) {
        if (run.reports > 1) out += place_of(report) + ":\n";
        out += wrapped(
            "", fmt::format("{}: {}", site_words(report, show), verdict_words(report, show)), 2);
        for (const std::string& warning : report.warnings) {
            out += wrapped(cell("warn", kIndent), warning, kIndent);
        }
        for (const PagePart& part : parts_of(report, show)) out += '\n' + part_text(part, show);
        if (report.cut_short) out += '\n' + wrapped("", cut_short_words(report), 0);
        if (!unread_words(report).empty()) out += '\n';
    }
    for (const std::string& words : unread_words(report)) out += wrapped("", words, 2);
    return out;
}

std::string trouble_page(std::span<const Report> reports, const Display& show) {
    std::vector<Trouble> troubles;
    std::size_t parts_in_all = 0;
    std::vector<std::string> warnings;
    std::vector<std::string> unread;
    for (const Report& report : reports) {
        if (!report.site) {
            for (std::string& words : unread_words(report)) unread.push_back(std::move(words));
            continue;
        }
        for (const std::string& warning : report.warnings) {
            warnings.push_back(fmt::format("warn: {}: {}", printable(report.site->name), warning));
        }
        for (PagePart& part : parts_of(report, show)) {
            ++parts_in_all;
            if (part.verdict == Status::pass) continue;
            const Check* check = worst_check(part);
            troubles.push_back({&report, std::move(part), check});
        }
        for (std::string& words : unread_words(report)) {
            if (std::find(unread.begin(), unread.end(), words) == unread.end()) {
                unread.push_back(std::move(words));
            }
        }
    }
    std::stable_sort(troubles.begin(), troubles.end(), [](const Trouble& a, const Trouble& b) {
        return a.part.verdict > b.part.verdict;
    });
    std::string out;
    for (const Trouble& each : troubles) {
        if (&each == &troubles.front() || each.part.verdict >= Status::warn) {
            out += wrapped("", alarm_words(each, show), 2);
        }
    }
    for (const std::string& words : warnings) out += wrapped("", words, 2);
    for (const std::string& words : unread) out += wrapped("", words, 2);
    if (parts_in_all > 1) {
        std::size_t count[4] = {};
        for (const Trouble& each : troubles) ++count[static_cast<std::size_t>(each.part.verdict)];
        count[0] = parts_in_all - troubles.size();
        std::vector<std::string> counts;
        for (const Status status : {Status::fail, Status::warn, Status::unchecked, Status::pass}) {
            if (const std::size_t n = count[static_cast<std::size_t>(status)]; n > 0) {
                counts.push_back(fmt::format("{} {}", n, name_of(status)));
            }
        }
        out += wrapped(
            "",
            fmt::format("of {} tanks and loops{}: {}", parts_in_all,
                        unread.empty() ? "" : " that could be worked out", joined(counts, ", ")),
            2);
    }
    for (const Trouble& each : troubles) {
        if (each.part.verdict == Status::unchecked && &each == &troubles.front()) continue;
        out += '\n';
        if (each.part.verdict == Status::unchecked) {
            out += wrapped("", alarm_words(each, show), 2);
            continue;
        }
        if (reports.size() > 1) out += place_of(*each.report) + '\n';
        out += trouble_text(each.part, show);
    }
    for (const Report& report : reports) {
        if (!report.cut_short) continue;
        out += '\n' + wrapped("", cut_short_words(report), 0);
        break;
    }
    if (!troubles.empty()) {
        out += '\n' + wrapped("",
                              "An estimate: your oxygen meter and the fish decide. Wet hands off "
                              "mains power; ventilate where oxygen or carbon dioxide gathers. All "
                              "remedies: the same command without --quiet.",
                              0);
    }
    return out;
}

std::string budget_formats::text_end(const BudgetRun& run) {
    return run.tanks ? '\n' + cautions() : "";
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
