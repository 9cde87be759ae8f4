#include <fmt/core.h>

#include <algorithm>
#include <csignal>
#include <cstdio>
#include <optional>
#include <string>
#include <vector>

#include "cli/commands.hpp"
#include "cli/jobs.hpp"
#include "logbook/logbook.hpp"
#include "report/news.hpp"
#include "report/record.hpp"
#include "report/report.hpp"
#include "text/safe_file.hpp"
#include "text/text.hpp"

namespace coldtank::cli {
namespace {

int status_of(const io::Report& report, bool require_all) {
    const int status = cli::status_of(report, report.verdict);
    const bool lacks = require_all && report.verdict == Status::unchecked && lacks_a_check(report);
    return status == kPass && lacks ? kWarn : status;
}

int log_to(const std::string& path, const std::vector<io::Report>& reports, const io::Instant& now,
           bool quiet) {
    const io::Appended done =
        append_to_logbook(path, new_records(reports, now, io::is_json_lines(path)));
    const std::string& said = done.message.empty() ? done.note : done.message;
    if (!said.empty() && !(quiet && done.message.empty())) {
        say("coldtank: {}: {}{}\n", io::printable(path),
            done.message.empty() ? "" : "nothing was logged: ", said);
    }
    switch (done.outcome) {
        case io::Appended::Outcome::written:
            return kPass;
        case io::Appended::Outcome::refused:
            return kNoLogbook;
        case io::Appended::Outcome::failed:
            break;
    }
    return kNoOutput;
}

constexpr Option kOptions[] = {
    kFilesOption,
    {Option::Kind::choice, "--format", "WORD",
     "text, markdown (a page for a logbook), csv (one row a check), json, jsonl (one report a "
     "line) or names (the tanks, one a line)",
     io::names_of<io::kBudgetFormats>()},
    {Option::Kind::choice, "--units", "WORD", "metric or us, of text and Markdown", "metric|us"},
    kTankOption,
    kSpeciesOption,
    kReadingsOption,
    kMaxAgeOption,
    {.kind = Option::Kind::text,
     .name = "--log",
     .value = "FILE",
     .help = "a logbook to append a record of each tank to: CSV, or JSON Lines where its name ends "
             "in .jsonl",
     .names = Option::Names::output},
    {.kind = Option::Kind::text,
     .name = "--logbook",
     .value = "FILE",
     .help = "a logbook that is read only: what tests of a new filter have shown, with dates",
     .names = Option::Names::input},
    kDateOption,
    kLinesOption,
    kJobsOption,
    {.kind = Option::Kind::flag,
     .name = "--quiet",
     .value = "",
     .help = "print nothing where the exit status is 0, else only what does not pass; with --log "
             "only what is news",
     .letter = 'q'},
    kColorOption,
    {Option::Kind::flag, "--all", "",
     "every check, remedy and figure on a page of text or Markdown"},
    kOutputOption,
    {Option::Kind::flag, "--sure", "",
     "in how many of 100 worlds that fit what is known it passes; see spread"},
    {Option::Kind::flag, "--explain", "", "the working behind every figure, with its source"},
    {Option::Kind::number, "--change-percent", "N",
     "what new water in place of so much of it does now, and how much is needed", "",
     kChangePercentRange},
    {.kind = Option::Kind::number,
     .name = "--change-temperature",
     .value = "N",
     .help = "temperature of that new water (the tank's)",
     .range = kTemperatureRange,
     .needs = "--change-percent",
     .unit = "degC"},
    {Option::Kind::flag, "--require-all", "", "an unchecked check counts as warn"}};

std::optional<ChangeQuestion> change_asked(const Arguments& arguments) {
    const auto percent = arguments.number("--change-percent");
    if (!percent) return std::nullopt;
    return ChangeQuestion{*percent, arguments.number("--change-temperature")};
}

// How the descriptions of a run are answered, each by itself.
struct Answering {
    const io::Format<io::Report, io::BudgetRun>& format;
    io::Display show;
    bool explain;
    bool require_all;
    bool quiet;
    bool many;  // descriptions
    std::optional<ChangeQuestion> change;
    io::Instant now;
    const io::FilterLog* filter_log;
    bool sure;
    std::size_t jobs;

    // What stands alone and is known before the last has come is written at once.
    bool at_once() const { return !quiet && format.between.empty(); }
    bool in_short() const { return quiet && format.name == "text"; }
    // Whole pages say of what passes for how many more there is room.
    io::Asking asking() const {
        const bool page = format.name == "text" || format.name == "markdown";
        return {show, explain, page && !quiet, sure, change, now, filter_log};
    }
};

// One description's part of the results, of the diagnostics, of the exit status and of the run.
struct Answer {
    std::string out;
    std::string err;
    int status = kPass;
    io::Troubles troubles = {};
    io::BudgetRun run;
};

Answer answer_of(io::ReadResult read, const Answering& how, const io::BudgetRun& known) {
    Answer answer{.out = {}, .err = io::errors_as_text(read.errors), .run = known};
    const io::Report report = io::make_report(std::move(read), how.asking());
    answer.status = status_of(report, how.require_all);
    answer.run.add(report);
    if (how.in_short()) {
        answer.troubles = io::troubles_of(report, how.show, how.many);
    } else {
        answer.out = how.format.item(report, known);
    }
    return answer;
}

// Answers descriptions as they come, each with what one read gave: in formats whose items know
// nothing of the run. Of what cannot be written yet the words are kept, no more.
int stream(const Arguments& arguments, const io::SpeciesBook& book, const Answering& how,
           const io::BudgetRun& known) {
    io::BudgetRun run = known;
    io::Troubles troubles;
    std::string out;  // kept from one read to the next, for its room
    int status = kPass;
    const auto answer_all = [&](int results) {
        if (how.at_once() && how.format.begin != nullptr) out = how.format.begin(known);
        for (const std::string& path : arguments.all("FILE")) {
            io::DescriptionFile file(path, book, arguments.has("--lines"));
            for (;;) {
                const std::vector<io::DescriptionFile::Text> texts = file.next();
                if (texts.empty()) break;
                std::vector<std::optional<Answer>> answers(texts.size());
                for_each_index(texts.size(), how.jobs, [&](std::size_t i) {
                    answers[i] = answer_of(file.read(texts[i]), how, known);
                });
                for (std::optional<Answer>& answer : answers) {
                    std::fputs(answer->err.c_str(), stderr);
                    status = std::max(status, answer->status);
                    troubles.add(std::move(answer->troubles));
                    if (run.reports > 0) out += how.format.between;
                    run.add(answer->run);
                    out += answer->out;
                }
                if (!how.at_once()) continue;
                if (!io::write_all(results, out)) return false;
                out.clear();
            }
        }
        if (how.quiet && status == kPass) return true;
        if (how.in_short()) {
            out = page_of(std::move(troubles), known.now);
        } else if (!how.at_once()) {
            if (how.format.begin != nullptr) out.insert(0, how.format.begin(run));
            if (how.format.end != nullptr) out += how.format.end(run);
        }
        return io::write_all(results, out);
    };
    const int written = write_results(arguments, answer_all);
    return std::max(status, written);
}

int run(const Arguments& arguments) {
    const std::vector<std::string>& files = arguments.all("FILE");
    const std::string& format = arguments.text("--format");
    const std::string& log = arguments.text("--log");
    const bool quiet = arguments.has("--quiet");
    io::SpeciesBook book;
    std::vector<io::ReadResult> read;
    if (const int wrong = read_species(arguments.text("--species"), book)) return wrong;
    const auto now = time_of_run(arguments.text("--date"));
    if (!now) return kUsage;
    Measured measured;
    if (const int wrong = read_measured(arguments, *now, measured)) return wrong;
    io::ReadingsFile& readings = measured.readings;
    const io::MaxAge& max_age = measured.max_age;
    const bool merged = measured.merged;
    io::FilterLog filter_log;
    int log_status = kPass;
    if (const std::string& path = arguments.text("--logbook"); !path.empty()) {
        const io::Logbook book_of_tests = io::read_logbook(path, io::filter_columns());
        std::fputs(io::errors_as_text(book_of_tests.errors).c_str(), stderr);
        log_status = book_of_tests.unreadable       ? int{kNoInput}
                     : book_of_tests.errors.empty() ? int{kPass}
                                                    : int{kData};
        filter_log = io::filter_log_of(book_of_tests);
    }
    // JSON and CSV never change their units.
    const bool us = arguments.text("--units") == "us" && (format == "text" || format == "markdown");
    const Answering how{.format = io::format_of(io::kBudgetFormats, format),
                        .show = io::Display(us ? io::Units::us : io::Units::metric,
                                            format == "text" ? paper_of(arguments) : io::Paper{}),
                        .explain = arguments.has("--explain"),
                        .require_all = arguments.has("--require-all"),
                        .quiet = quiet,
                        .many = files.size() > 1 || arguments.has("--lines"),
                        .change = change_asked(arguments),
                        .now = *now,
                        .filter_log = &filter_log,
                        .sure = arguments.has("--sure"),
                        .jobs = jobs_of(arguments)};
    io::BudgetRun known{how.show, *now, arguments.has("--all")};
    const bool by_themselves = how.in_short() || format == "json" || how.format.between.empty();
    if (by_themselves && !merged && log.empty() && arguments.text("--tank").empty()) {
        return std::max(log_status, stream(arguments, book, how, known));
    }
    if (const int wrong =
            read_descriptions({files, arguments.has("--lines"), arguments.text("--tank"),
                               merged ? &readings : nullptr, max_age, *now},
                              book, read)) {
        return wrong;
    }

    int status = std::max<int>(log_status, readings.unreadable ? kNoInput : kPass);
    for (const io::ReadResult& one : read) {
        std::fputs(io::errors_as_text(one.errors).c_str(), stderr);
    }
    std::vector<io::Report> reports(read.size());
    for_each_index(read.size(), how.jobs, [&](std::size_t i) {
        reports[i] = io::make_report(std::move(read[i]), how.asking());
    });
    // A night's mail tells what is news after the last one; any other run tells nothing of it.
    const bool night = how.in_short() && !log.empty();
    std::map<io::RecordKey, io::LogRecord> last;
    if (!log.empty()) last = io::last_records_of(log, reports, *now);
    const bool many = reports.size() > 1;
    std::vector<io::News> news;
    io::Troubles troubles;
    for (const io::Report& report : reports) {
        status = std::max(status, status_of(report, how.require_all));
        known.add(report);
        if (!log.empty()) {
            news.push_back(io::news_of(report, last, *now, {how.show, how.require_all, many}));
        }
        if (how.in_short()) {
            troubles.add(io::troubles_of(report, how.show, many, night ? &news.back() : nullptr));
        }
    }
    const bool silent = quiet && (night ? !troubles.any_news() : status == kPass);
    // The alarm first: the logbook may have to be waited for.
    const auto logged = [&](int so_far) {
        return log.empty() ? so_far : std::max(so_far, log_to(log, reports, *now, quiet));
    };
    if (!log.empty()) std::signal(SIGPIPE, SIG_IGN);  // a reader gone is no record lost
    const std::string out = silent ? ""
                            : how.in_short()
                                ? io::page_of(std::move(troubles), known.now)
                                : io::written(io::kBudgetFormats, format, reports, known);
    const int written = write_results(arguments, out);
    for (std::size_t i = 0; i < news.size(); ++i) {
        io::keep_told(news[i], night && written == kPass, reports[i]);
    }
    return logged(std::max(status, written));
}

}  // namespace

const Command kBudget{
    "budget",
    "One budget a tank: oxygen, ammonia, carbon dioxide and space, each with its limit and what to "
    "do.",
    "  coldtank budget farm.json\n"
    "  coldtank budget --quiet --require-all site/*.json\n"
    "\n"
    "Exit status: 0 pass, 1 warn, 2 fail, 64 usage, 65 a description has errors, 66\n"
    "a file cannot be read, 73 not a logbook, 74 cannot write.",
    kOptions, run};

}  // namespace coldtank::cli
