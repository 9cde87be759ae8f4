// The report as a Markdown page for a logbook, and as CSV for a spreadsheet.
#include <fmt/core.h>

#include <algorithm>
#include <array>

#include "report/answer.hpp"
#include "report/spread.hpp"
#include "text/csv.hpp"
#include "text/markdown.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

// A Markdown table whose columns line up in plain text too.
std::string table_of(const std::vector<std::vector<std::string>>& rows) {
    std::vector<std::size_t> widths(rows.front().size());
    for (const auto& row : rows) {
        for (std::size_t i = 0; i < row.size(); ++i) {
            widths[i] = std::max(widths[i], columns(row[i]));
        }
    }
    std::string out;
    const auto add = [&](const std::vector<std::string>& row, char fill) {
        for (std::size_t i = 0; i < row.size(); ++i) {
            out += '|';
            out += row[i];
            out.append(widths[i] - columns(row[i]), fill);
        }
        out += "|\n";
    };
    add(rows.front(), ' ');
    add(std::vector<std::string>(widths.size()), '-');
    for (std::size_t i = 1; i < rows.size(); ++i) add(rows[i], ' ');
    return out;
}

// A row a tank or loop, the worst first.
std::string site_table(const std::vector<PagePart>& parts, const Display& show) {
    const SiteRow head = site_head(show);
    std::vector<std::vector<std::string>> rows{{"status", "tank", head.fish, head.mass, head.lowest,
                                                head.read, head.stops, head.first, head.act}};
    for (const SiteRow& each : site_rows(parts, show)) {
        rows.push_back({fmt::format("**{}**", name_of(each.part->verdict)),
                        markdown_text(each.part->title), each.fish, each.mass, each.lowest,
                        each.read, each.stops, each.first, each.act});
    }
    return table_of(rows);
}

// The ways to mend all of it, the best first.
std::string plans_page(const PagePart& part) {
    if (part.verdict < Status::warn) return {};
    std::string list;
    char letter = 'a';
    for (const WordedPlan& plan : *part.plans) {
        list += wrapped(fmt::format("- {}: ", letter), markdown_text(plan_words(plan, part)), 2);
        ++letter;
    }
    if (list.empty()) return {};
    return fmt::format(
        "To do, one of these{}:\n\n{}\n",
        part.ways_are_in.empty() ? "" : fmt::format(", the same letter {}", part.ways_are_in),
        list);
}

std::string part_page(const PagePart& part, const Display& show, bool all) {
    std::string out = fmt::format("\n## {}: **{}**\n\n", markdown_text(part.title),
                                  markdown_text(verdict_words(part.verdict, *part.own, show)));
    out += wrapped("", markdown_text(sentence_of(part, show)) + ".", 0) + '\n';
    if (part.sure != nullptr) {
        out += wrapped("", markdown_text("It " + sure_words(*part.sure)) + ".", 0) + '\n';
    }
    if (!part.stock.empty()) out += wrapped("", markdown_text(part.stock), 0) + '\n';
    for (const std::string& now : *part.now) {
        out += wrapped("", "**NOW**" + markdown_text(now.substr(now.find("NOW") + 3)), 0) + '\n';
    }
    out += plans_page(part);
    std::vector<std::vector<std::string>> rows{{"status", "check", "value", "limits", "used"}};
    std::vector<std::string> notes;
    std::vector<std::string> changes;
    bool starred = false;
    for (std::size_t i = 0; i < part.checks->size(); ++i) {
        const Check& check = (*part.checks)[i];
        const std::string status = fmt::format("**{}**", name_of(check.status));
        if (check.status == Status::unchecked) {
            rows.push_back({status, title_of(check.id), "-", "-", "-"});
            notes.push_back(fmt::format("{}: needs {}", title_of(check.id), check.missing));
        } else {
            const CheckText text = check_text(check, part.budget, show);
            const std::string used = used_text(check);
            starred = starred || check.own_limit;
            rows.push_back({status, title_of(check.id), text.value, text.limits,
                            is_measured(check, part.budget) ? "measured"
                                                            : used.substr(0, used.find(" used"))});
        }
        if (!(*part.notes)[i].empty()) {
            notes.push_back(
                fmt::format("{}: {}", title_of(check.id), markdown_text((*part.notes)[i])));
        }
        if (!all && !part.plans->empty() && part.plans->front().mends(check.id)) continue;
        for (const WordedRemedy& worded : (*part.remedies)[i]) {
            if (worded.remedy.action == Action::now) continue;  // stands above
            changes.push_back(
                fmt::format("{}: {}", title_of(check.id), markdown_text(worded.text)));
        }
    }
    out += table_of(rows);
    if (starred) out += "\n\\* a limit that the description sets\n";
    if (!notes.empty()) {
        out += '\n';
        for (const std::string& note : notes) out += wrapped("- ", note, 2);
    }
    if (!changes.empty()) {
        out += "\nTo do, each change sufficient alone for its check:\n\n";
        for (const std::string& change : changes) out += wrapped("- ", change, 2);
    }
    if (all) {
        out += "\nBehind it:\n\n";
        std::vector<std::string> lines;
        for (const FigureLine& line : part.figures) {
            const std::string text = markdown_text(line.text);
            if (line.label.empty() && !lines.empty()) {
                lines.back() += "; " + text;
            } else {
                lines.push_back(fmt::format("{}: {}", line.label, text));
            }
        }
        for (const std::string& line : lines) out += wrapped("- ", line, 2);
        out += '\n' + wrapped("", "Verdict: " + markdown_text(part.verdict_words), 0);
    }
    if (!part.working->empty()) {
        out += "\n";
        std::string_view rest = *part.working;
        while (!rest.empty()) {
            const std::size_t end = std::min(rest.find('\n'), rest.size() - 1);
            out += "    " + std::string(rest.substr(0, end + 1));
            rest.remove_prefix(end + 1);
        }
    }
    return out;
}

std::string bound_cell(const Bound& bound) {
    if (bound.low && bound.high)
        return fmt::format("{} to {}", exact(*bound.low), exact(*bound.high));
    const auto limit = bound.low ? bound.low : bound.high;
    return limit ? exact(*limit) : "";
}

// "hours_to_fail 12.5 (24)", of those that made the status.
std::string because_words(const Check& check) {
    std::vector<std::string> words;
    for (const Because& each : check.because) {
        if (each.status < Status::warn) continue;
        std::string one(name_of(each.reason));
        if (each.value) one += ' ' + exact(*each.value);
        if (each.limit) one += fmt::format(" ({})", exact(*each.limit));
        words.push_back(std::move(one));
    }
    return joined(words, "; ");
}

std::string number_cell(std::optional<double> value) { return value ? exact(*value) : ""; }

}  // namespace

std::string budget_formats::markdown(const Report& report, const BudgetRun& run) {
    const Display& show = run.show;
    std::string out = report.site
                          ? fmt::format("# {}: **{}**\n\n", markdown_text(report.site->name),
                                        markdown_text(verdict_words(report, show)))
                          : std::string("# No budget\n\n");
    out += text_of(run.now) + "\n\n" + wrapped("", markdown_text(place_of(report)), 0);
    if (report.site) out += wrapped("", markdown_text(air_words(report, show)), 0);
    for (const SiteWords& each : site_words(report)) {
        out += '\n' +
               wrapped("- ", fmt::format("{}: {}", name_of(each.status), markdown_text(each.words)),
                       2);
    }
    for (const std::string& words : unread_words(report)) {
        out += '\n' + wrapped("- ", markdown_text(words), 2);
    }
    std::vector<PagePart> parts = parts_of(report, show);
    std::stable_sort(parts.begin(), parts.end(),
                     [](const PagePart& a, const PagePart& b) { return a.verdict > b.verdict; });
    if (parts.size() > 1) out += '\n' + site_table(parts, show);
    for (const PagePart& part : parts) out += part_page(part, show, run.all);
    if (report.cut_short) out += '\n' + wrapped("", cut_short_words(report), 0);
    if (const std::string words = unmeasured_words(report); !words.empty()) {
        out += '\n' + wrapped("", words, 0);
    }
    if (!report.tanks.empty()) out += '\n' + cautions();
    return out +
           "\nSeen by: ____________________  Time: ____________  Done: ____________________\n";
}

std::string budget_formats::csv_begin(const BudgetRun& /*run*/) {
    return "file,site,tank,loop,check,status,value,unit,warn,fail,used_percent,needs,note,remedy,"
           "own_limit,because,date,warn_low,warn_high,fail_low,fail_high\n";
}

std::string budget_formats::csv(const Report& report, const BudgetRun& run) {
    if (!report.site) return {};
    std::string out;
    const std::string front =
        fmt::format("{},{}", csv_cell(place_of(report)), csv_cell(report.site->name));
    const std::string date = text_of(run.now);
    for (const SiteWords& each : site_words(report)) {
        out += fmt::format("{},,,site,{},,,,,,,{},,,,{},,,,\n", front, name_of(each.status),
                           csv_cell(each.words), date);
    }
    if (report.cut_short) {
        out += fmt::format("{},,,site,,,,,,,,{},,,,{},,,,\n", front,
                           csv_cell(cut_short_words(report)), date);
    }
    for (const PagePart& part : parts_of(report, Display())) {
        for (std::size_t i = 0; i < part.checks->size(); ++i) {
            const Check& check = (*part.checks)[i];
            std::vector<std::string> remedies;
            for (const WordedRemedy& worded : (*part.remedies)[i]) {
                remedies.push_back(worded.text);
            }
            out += fmt::format(
                "{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{}\n", front,
                part.budget != nullptr ? csv_cell(part.name) + ',' : ',' + csv_cell(part.name),
                name_of(check.id), name_of(check.status), number_cell(check.value),
                csv_cell(check.unit), bound_cell(check.warn), bound_cell(check.fail),
                number_cell(check.used_percent),
                csv_cell(check.status == Status::unchecked ? check.missing : ""),
                csv_cell((*part.notes)[i]), csv_cell(joined(remedies, " | ")),
                csv_cell(own_limit_words(*part.own, check.id)), csv_cell(because_words(check)),
                date, number_cell(check.warn.low), number_cell(check.warn.high),
                number_cell(check.fail.low), number_cell(check.fail.high));
        }
    }
    return out;
}

}  // namespace coldtank::io
