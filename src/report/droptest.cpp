#include "report/droptest.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "report/contents.hpp"
#include "report/page_parts.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

constexpr std::size_t kIndent = 6;

std::string head_of(std::string word) {
    word.append(word.size() < kIndent ? kIndent - word.size() : 1, ' ');
    return word;
}

std::string name_words(const DropReport& report) {
    return report.test.tank.name.empty() ? "" : printable(report.test.tank.name) + ": ";
}

// "523 (518 to 527)"
std::string band_words(const Estimate& estimate) {
    return fmt::format("{} ({} to {})", figure(estimate.value), figure(estimate.low),
                       figure(estimate.high));
}

// ---- what a log bears

// A value beside the limit that it is short of, or over, with digits enough to show it.
struct Beside {
    std::string value;
    std::string limit;
};
Beside beside(double value, double limit) {
    const Compared shown = compared(value, std::array{limit});
    return {shown.value, shown.limits.front()};
}

std::string refusal_words(const DropPhase& phase, const DropReport& report, bool rising) {
    const double by = phase.refused_by;
    const char* const moved = rising ? "rose" : "fell";
    switch (phase.refused) {
        case DropRefusal::none:
            break;
        case DropRefusal::times_run_back: {
            const auto at = static_cast<std::size_t>(by);
            return fmt::format("the times run back at line {} ({}){}", report.log.lines[at],
                               printable(report.log.when[at]),
                               report.log.times == DropLog::Times::clock
                                   ? "; over midnight write the dates, after noon 13:01"
                                   : "");
        }
        case DropRefusal::few_points:
            return fmt::format("{} points {}, {} are needed: read more often", exact(by),
                               rising ? "while the air was on" : "while all was off",
                               exact(kDropFewest));
        case DropRefusal::low_oxygen: {
            const Beside shown = beside(by, report.result.levels.least_mg_l);
            return fmt::format(
                "oxygen went to {} mg/L: under {} fish breathe what there is, not what they would",
                shown.value, shown.limit);
        }
        case DropRefusal::temperature: {
            const Beside shown = beside(by, kDropTemperature);
            return fmt::format("the temperature changed by {} degC, over {}", shown.value,
                               shown.limit);
        }
        case DropRefusal::small_change: {
            const Beside shown = beside(std::max(0.0, by), kDropChange);
            return fmt::format("oxygen {} by {} mg/L, {} is needed{}", moved, shown.value,
                               shown.limit, rising ? "" : ": leave it off longer");
        }
        case DropRefusal::scatter:
            return fmt::format(
                "oxygen {} by less than {} times what the points scatter, {} mg/L: a steadier "
                "meter, or a longer test",
                moved, exact(kDropScatter), figure(by));
        case DropRefusal::bent:
            return rising ? "it does not rise along one curve: did the water go on, or was the air "
                            "changed? Tell --end"
                          : "it does not fall along a line: was all off, all the time? Tell --off "
                            "and --on";
        case DropRefusal::not_levelled:
            return "the rise does not bend far enough to tell a rate: read on until it stays";
    }
    return {};
}

// Where its ends are known.
bool is_told(const std::optional<DropPhase>& phase) {
    return phase && phase->refused != DropRefusal::few_points &&
           phase->refused != DropRefusal::times_run_back;
}

bool refused(const std::optional<DropPhase>& phase) {
    return phase && phase->refused != DropRefusal::none;
}

std::string conclusion_words(const DropReport& report) {
    const DropResult& result = report.result;
    std::vector<std::string> parts;
    if (result.respiration_mg_kg_h) {
        std::string breathes =
            fmt::format("the fish breathe {} mg/kg/h", band_words(*result.respiration_mg_kg_h));
        if (result.respiration_factor) {
            breathes +=
                fmt::format(", {} times the model's {}", band_words(*result.respiration_factor),
                            figure(*result.model_mg_kg_h));
            if (result.breathe_more || *result.described_factor != 1) {
                breathes +=
                    fmt::format(", {}where {} is described", result.breathe_more ? "MORE, " : "",
                                figure(*result.described_factor));
            }
        } else {
            breathes += "; of fish under 1 g there is no model (were kg meant?)";
        }
        parts.push_back(std::move(breathes));
    }
    if (result.doubtful) {
        parts.emplace_back(
            "NO TROUT BREATHE SO: look at the water, the kilograms, the weight of one, the times; "
            "nothing is to be written");
    }
    if (result.transfer_m3_h && report.ran == DropRan::surface) {
        parts.push_back(
            fmt::format("the surface takes up {} m3/h", band_words(*result.transfer_m3_h)));
    } else if (result.sotr_g_h) {
        std::string described;
        if (result.described_sotr_g_h) {
            described = fmt::format(", {}where {} is described",
                                    result.brings_less   ? "LESS, "
                                    : result.brings_more ? "MUCH MORE (did water run?), "
                                                         : "",
                                    figure(*result.described_sotr_g_h));
        }
        parts.push_back(fmt::format("the air brings {} g/h at standard, alpha in it{}",
                                    band_words(*result.sotr_g_h), described));
    }
    const bool fish = result.off.has_value();
    if (refused(result.off)) {
        parts.push_back("no conclusion of the fish: " + refusal_words(*result.off, report, false));
    }
    if (refused(result.on)) {
        parts.push_back((fish ? "none of the air: " : "no conclusion: ") +
                        refusal_words(*result.on, report, true));
    }
    if (result.disagree) {
        parts.push_back(fmt::format(
            "FALL AND RISE DISAGREE, by the rise they breathe {}: did water run (--flow-l-min, "
            "--end), the temperature or the light change, the surface bring much (--surface-m3-h)?",
            figure(result.breathed_on_mg_kg_h->value)));
    }
    if (result.looks_off_h) {
        parts.push_back(fmt::format(
            "the points look as if it was switched off at {}{}: look at --off and --on",
            short_time(report.log, *result.looks_off_h),
            result.looks_on_h ? " and on at " + short_time(report.log, *result.looks_on_h) : ""));
    }
    return joined(parts, "; ");
}

// Water flows into a tank of fish, as far as is known, and nobody says whether it ran: what it
// brought would be the stones'.
bool flow_in_doubt(const DropReport& report) {
    const Tank& tank = report.test.tank;
    const bool described = report.site && !report.site->name.empty();
    const bool flows = flow_l_min_of(tank) > 0 || tank.loop.has_value();
    return !report.flow_told && (flows || (!described && report.result.biomass_kg > 0));
}

// What the air brings without the surface, where that is known: the lower edge.
double stones_g_h(const DropReport& report) {
    const DropResult& result = report.result;
    const double of_each_m3_h = result.sotr_g_h->value / result.transfer_m3_h->value;
    return result.sotr_g_h->low - report.test.surface_m3_h * of_each_m3_h;
}

// The lines for a description: the edge of each band where fish are safe.
struct Paste {
    std::string line;
    std::string about;
};
// Of a tank whose air goes through stones alone, what these give a metre of depth: carbon dioxide
// and a power cut need to know of the air. Else as a device.
Paste air_paste(const DropReport& report, double sotr) {
    const std::vector<Aerator>& aeration = report.test.tank.aeration;
    const Coefficients& k = report.test.tank.coefficients;
    double air_m = 0;
    bool stones = !aeration.empty();
    for (const Aerator& each : aeration) {
        const auto* stone = std::get_if<Diffuser>(&each.kind);
        if (stone == nullptr) {
            stones = false;
        } else {
            air_m += stone->air_flow_l_min * stone->depth_m;
        }
    }
    if (stones && air_m > 0) {
        constexpr double kMinutes = 60;
        const double percent = 100 * sotr / (kMinutes * k.oxygen_in_air_g_l * air_m);
        return {fmt::format("\"transfer_percent_per_m\": {}, \"alpha\": 1",
                            three_digits(percent, Safe::down)),
                "in each of its stones, in place of bubble and alpha: the lower edge"};
    }
    const auto beta = std::find_if(aeration.begin(), aeration.end(),
                                   [](const Aerator& each) { return each.beta.has_value(); });
    return {
        fmt::format("\"aeration\": [ {{ \"kind\": \"rated\", \"sotr_g_h\": {}, \"alpha\": 1{} }} ]",
                    three_digits(sotr, Safe::down),
                    beta == aeration.end() ? "" : ", \"beta\": " + exact(*beta->beta)),
        "in the tank, in place of its aeration: the lower edge, of all its air. What it does "
        "to carbon dioxide was not measured; outage counts no stones then"};
}

std::vector<Paste> pastes_of(const DropReport& report) {
    const DropResult& result = report.result;
    std::vector<Paste> pastes;
    if (result.doubtful || result.disagree || result.looks_off_h) return pastes;
    if (result.transfer_m3_h && report.ran == DropRan::surface) {
        return {{"--surface-m3-h " + three_digits(result.transfer_m3_h->high, Safe::up),
                 "with the log of the same tank with fish: the upper edge"}};
    }
    if (result.respiration_factor) {
        // Never less than the model while what the surface brought is as good as unknown, or no
        // rise bears it out.
        double high = result.respiration_factor->high;
        constexpr double kNothing = 0.02;  // of what the fish breathe
        constexpr double kMgPerG = 1000;
        const bool unknown = report.test.surface_m3_h * result.saturation_mg_l * kMgPerG <
                             kNothing * result.respiration_mg_kg_h->value * result.biomass_kg;
        const bool floor = (unknown || !result.breathed_on_mg_kg_h) && high < 1;
        if (floor) high = 1;
        if (kRespirationFactorRange.holds(high)) {
            pastes.push_back(
                {"\"respiration_factor\": " + three_digits(high, Safe::up),
                 floor     ? "in each group of its fish; not under 1 while nobody knows what the "
                             "surface brought, or no rise bears it out"
                 : unknown ? "in each group of its fish: the upper edge, without what the surface "
                             "brought"
                           : "in each group of its fish: the upper edge"});
        }
    }
    if (result.sotr_g_h && !flow_in_doubt(report) && !result.brings_more) {
        const double sotr = stones_g_h(report);
        if (sotr > 0) pastes.push_back(air_paste(report, sotr));
    }
    return pastes;
}

// Where the log ends with all off.
bool ends_off(const DropReport& report) {
    return report.result.biomass_kg > 0 && !report.result.on && !report.log.points.empty();
}

// This moment on the clock of a log; none where it has none, or is of another day.
std::optional<double> now_in(const DropLog& log, const Instant& now) {
    constexpr double kLongest = 12;  // h
    constexpr double kHour = 3600;
    if (log.points.empty()) return std::nullopt;
    double hours = 0;
    if (log.times == DropLog::Times::dated) {
        hours = static_cast<double>(now.seconds - log.first.seconds) / kHour;
    } else if (log.times == DropLog::Times::clock) {
        hours = hours_in(log, clock_of(now)).value();
        if (hours < log.points.back().hours) hours += 24;  // the log is of yesterday evening
    } else {
        return std::nullopt;
    }
    const double since_h = hours - log.points.back().hours;
    return since_h >= 0 && since_h < kLongest ? std::optional(hours) : std::nullopt;
}

std::string now_words(const DropReport& report, const Instant& now) {
    if (report.result.biomass_kg == 0) return {};
    const DropLevels& levels = report.result.levels;
    if (std::string alarm = alarm_of(report.log, levels.stop_mg_l); !alarm.empty()) return alarm;
    if (!ends_off(report)) return {};
    const auto now_h = now_in(report.log, now);
    if (report.result.stop_h && now_h > report.result.stop_h) {
        return fmt::format("air on, if it is not: it is past {}, when fed fish come to {} mg/L",
                           short_time(report.log, *report.result.stop_h), exact(levels.stop_mg_l));
    }
    if (report.log.points.back().oxygen_mg_l > levels.on_mg_l) return {};
    return fmt::format("air on, if it is not: the log ends with all off at {} mg/L, not over {}",
                       figure(report.log.points.back().oxygen_mg_l), exact(levels.on_mg_l));
}

// Of a test that goes on: when the air goes on again.
std::string on_again_words(const DropReport& report) {
    const DropResult& result = report.result;
    if (!ends_off(report)) return {};
    std::string out =
        fmt::format("the log ends with all off: air on at {} mg/L", exact(result.levels.on_mg_l));
    if (result.stop_h) {
        out += fmt::format(" or at {}, whichever is first", short_time(report.log, *result.stop_h));
    }
    const DropPoint& last = report.log.points.back();
    const double span_h = last.hours - report.log.points[result.off->first].hours;
    if (result.respiration_mg_kg_h && result.fall_mg_l > 0 && span_h > 0 &&
        last.oxygen_mg_l > result.levels.on_mg_l) {
        const double left_h =
            (last.oxygen_mg_l - result.levels.on_mg_l) / result.fall_mg_l * span_h;
        out += fmt::format(" (as it falls at {})", short_time(report.log, last.hours + left_h));
    }
    return out;
}

// What the points are off the fitted lines, as a picture of characters.
std::string picture(const DropReport& report) {
    constexpr int kRows = 5;
    constexpr std::size_t kColumns = 60;
    const DropResult& result = report.result;
    double most = 0;
    std::size_t first = report.log.points.size();
    std::size_t last = 0;
    for (std::size_t i = 0; i < result.residuals_mg_l.size(); ++i) {
        if (!result.residuals_mg_l[i]) continue;
        most = std::max(most, std::abs(*result.residuals_mg_l[i]));
        first = std::min(first, i);
        last = i;
    }
    constexpr double kNothing = 5e-4;
    if (first >= last) return {};
    if (most < kNothing) return "      points and lines differ by less than 0.001 mg/L\n";
    const double from_h = report.log.points[first].hours;
    const double span_h = std::max(report.log.points[last].hours - from_h, 1e-9);
    const auto column = [&](std::size_t i) {
        return static_cast<std::size_t>(std::lround(
            static_cast<double>(kColumns - 1) * (report.log.points[i].hours - from_h) / span_h));
    };
    std::array<std::string, kRows> rows;
    rows.fill(std::string(kColumns, ' '));
    rows[kRows / 2].assign(kColumns, '-');
    for (std::size_t i = first; i <= last; ++i) {
        if (!result.residuals_mg_l[i]) continue;
        const double share = *result.residuals_mg_l[i] / most;
        const auto row = static_cast<std::size_t>(std::lround((1 - share) / 2 * (kRows - 1)));
        rows[row][column(i)] = '*';
    }
    std::string out = "      points less fitted, mg/L\n";
    for (int row = 0; row < kRows; ++row) {
        const std::string label = row == 0           ? "+" + figure(most)
                                  : row == kRows / 2 ? "0"
                                  : row == kRows - 1 ? "-" + figure(most)
                                                     : "";
        std::string line = fmt::format("{:>10} |{}", label, rows[static_cast<std::size_t>(row)]);
        line.erase(line.find_last_not_of(' ') + 1);
        out += line + '\n';
    }
    std::string times(kColumns, ' ');
    const auto mark = [&](std::size_t i, const std::string& word) {
        const std::string text = word + short_time(report.log, report.log.points[i].hours);
        const std::size_t at = std::min(column(i), kColumns - std::min(kColumns, text.size()));
        if (times.substr(at, text.size()).find_first_not_of(' ') != std::string::npos) return;
        times.replace(at, text.size(), text);
    };
    if (result.off && result.off->first >= first) mark(result.off->first, "off ");
    if (result.on && result.on->first >= first) mark(result.on->first, "on ");
    mark(last, "");
    times.erase(times.find_last_not_of(' ') + 1);
    return out + std::string(12, ' ') + times + '\n';
}

std::string phase_words(const DropReport& report, const DropPhase& phase) {
    const std::vector<DropPoint>& points = report.log.points;
    return fmt::format("{} to {}, {} points", short_time(report.log, points[phase.first].hours),
                       short_time(report.log, points[phase.last].hours),
                       phase.last - phase.first + 1);
}

std::string off_words(const DropReport& report, const Display& show) {
    const DropResult& result = report.result;
    std::string out = phase_words(report, *result.off);
    if (!result.respiration_mg_kg_h) return out;
    constexpr double kMgPerG = 1000;
    return out +
           fmt::format(": {} mg/L less, {} g/h of {} of fish out of {} of water",
                       figure(result.fall_mg_l),
                       figure(result.respiration_mg_kg_h->value * result.biomass_kg / kMgPerG),
                       show.with_unit(Measure::biomass_kg, result.biomass_kg),
                       show.with_unit(Measure::volume_l, 1000 * result.water_m3));
}

std::string on_words(const DropReport& report) {
    const DropResult& result = report.result;
    std::string out = phase_words(report, *result.on);
    if (!result.kla_per_h) return out;
    out += fmt::format(": kLa {} an hour, would hold {} mg/L", band_words(*result.kla_per_h),
                       figure(*result.steady_mg_l));
    if (result.breathed_on_mg_kg_h) {
        out += fmt::format("; by that they breathe {} mg/kg/h",
                           band_words(*result.breathed_on_mg_kg_h));
    }
    return out;
}

// ---- whether a test is safe

std::vector<std::string> reasons_of(const DropSafety& tank) {
    std::vector<std::string> reasons;
    if (tank.on_loop) reasons.emplace_back("its loop's filter must not stand still");
    if (tank.gives_water) {
        reasons.emplace_back("tanks below live on its water, which must not stand still");
    }
    if (tank.early_life) reasons.emplace_back("its fish are too small for what is known");
    if (tank.starts_low) {
        const Beside shown = beside(tank.oxygen_now_mg_l, tank.levels.start_mg_l);
        reasons.push_back(fmt::format("oxygen {} at {} mg/L, under {}",
                                      tank.unread ? "cannot start over" : "starts", shown.value,
                                      shown.limit));
    }
    if (tank.too_fast) {
        reasons.push_back(fmt::format(
            "fed fish draw it to {} mg/L in {} min, under {}", exact(tank.levels.stop_mg_l),
            figure(std::floor(*tank.minutes_to_stop), 0), exact(tank.wanted_min)));
    }
    if (!tank.failing.empty()) {
        std::vector<std::string> names;
        for (const CheckId id : tank.failing) names.push_back(title_of(id));
        reasons.push_back(fmt::format("in its budget {} fail{}", joined(names, ", "),
                                      names.size() == 1 ? "s" : ""));
    }
    if (tank.unread) {
        reasons.push_back(
            fmt::format("read its oxygen first: {} mg/L or more, this hour (--oxygen N)",
                        exact(tank.levels.start_mg_l)));
    }
    if (tank.without_backup) {
        reasons.emplace_back(
            "no backup is described that holds them for a test: have one ready to start");
    }
    return reasons;
}

bool may_be_tested(const DropSafety& tank) {
    return tank.verdict == Status::pass || tank.verdict == Status::warn;
}

std::string safety_words(const DropSafety& tank, const Instant& now) {
    const std::string name = printable(tank.tank);
    const std::string reasons = joined(reasons_of(tank), "; ");
    if (!may_be_tested(tank)) {
        return fmt::format("{}: no drop test{}: {}", name,
                           tank.verdict == Status::fail ? "" : " yet", reasons);
    }
    std::string when = fmt::format("at {} mg/L", exact(tank.levels.on_mg_l));
    if (tank.minutes_to_stop) {
        const double minutes = std::floor(*tank.minutes_to_stop);
        when += fmt::format(
            ", or after {} min ({} if off now), whatever the meter says", figure(minutes, 0),
            clock_of({now.seconds + static_cast<std::int64_t>(minutes * 60), now.offset_s}));
    }
    return fmt::format("{}: may be tested now, from {} mg/L: on again {}{}{}", name,
                       figure(tank.oxygen_now_mg_l), when, reasons.empty() ? "" : "; ", reasons);
}

// Twice as many points as are needed, and more.
double minutes_between(const DropSafety& tank) {
    constexpr std::array kSteps{5.0, 2.0, 1.0};
    for (const double step : kSteps) {
        if (!tank.minutes_to_on || *tank.minutes_to_on >= 2 * kDropFewest * step) return step;
    }
    return 0.5;
}

void list_phase(const DropReport& report, std::string_view key,
                const std::optional<DropPhase>& phase, Fields& out) {
    if (!out.object_or_null(key, is_told(phase))) return;
    out.text("from", report.log.when[phase->first]);
    out.text("to", report.log.when[phase->last]);
    out.end_object();
}

void list_estimate(std::string_view key, const std::optional<Estimate>& estimate, Fields& out) {
    if (!out.object_or_null(key, estimate.has_value())) return;
    out.number("value", estimate->value);
    out.number("standard_error", estimate->standard_error);
    out.number("low", estimate->low);
    out.number("high", estimate->high);
    out.end_object();
}

}  // namespace

std::string alarm_of(const DropLog& log, double stop_mg_l) {
    const auto lowest = std::min_element(
        log.points.begin(), log.points.end(),
        [](const DropPoint& a, const DropPoint& b) { return a.oxygen_mg_l < b.oxygen_mg_l; });
    if (lowest == log.points.end() || !(lowest->oxygen_mg_l < stop_mg_l)) return {};
    const Beside shown = beside(lowest->oxygen_mg_l, stop_mg_l);
    return fmt::format(
        "air and water on, if they are not: {} mg/L at {}, and under {} a test ends. Watch the "
        "fish and the meter; numbers later",
        shown.value, short_time(log, lowest->hours), shown.limit);
}

DropReport make_drop_report(DropSetting setting, DropLog log) {
    DropReport report;
    static_cast<ReportHead&>(report) = std::move(setting.head);
    report.file = log.path;
    report.errors.insert(report.errors.end(), log.errors.begin(), log.errors.end());
    report.flow_told = setting.flow_told;
    report.ran = setting.ran;
    report.assumed = std::move(setting.assumed);
    report.test = std::move(setting.test);
    report.test.points = log.points;
    report.test.meter_step_mg_l = log.step_mg_l;
    report.result = assess_drop(report.test);
    report.verdict = report.result.verdict;
    if (!report.all_read() && report.verdict == Status::pass) report.verdict = Status::unchecked;
    if (!log.reads_temperature()) {
        report.assumed.push_back(
            fmt::format("{} degC, as the log has none", figure(report.result.temperature_c)));
    }
    if (report.result.biomass_kg > 0 && report.test.surface_m3_h == 0) {
        report.assumed.emplace_back(
            "the surface took up nothing, so that they breathe rather more than this");
    }
    if (!report.flow_told && report.result.on && report.ran == DropRan::air) {
        report.assumed.emplace_back("no water ran while the air was on");
    }
    report.log = std::move(log);
    return report;
}

DropSafetyReport make_drop_safety_report(ReadResult read) {
    DropSafetyReport report(read);
    if (!read.description) return report;
    const Description& description = *read.description;
    for (DropSafety& tank : assess_drop_safety(systems_of(description), description.site.backup)) {
        const auto asked = std::any_of(
            description.tanks.begin(), description.tanks.end(),
            [&](const Tank& each) { return each.name == tank.tank && asked_for(read, each); });
        if (!asked) continue;
        report.tanks.push_back(std::move(tank));
    }
    // Of no tank nothing is known.
    if (report.all_read() && !report.tanks.empty()) report.verdict = Status::pass;
    for (const DropSafety& tank : report.tanks) {
        report.verdict = worse(report.verdict, tank.verdict);
    }
    return report;
}

std::string drop_formats::text(const DropReport& report, const DropRun& run) {
    const std::size_t width = run.show.paper().width;
    const DropResult& result = report.result;
    std::string out;
    if (const std::string now = now_words(report, run.now); !now.empty()) {
        out += wrapped("NOW   ", now, kIndent, width);
    } else if (const std::string again = on_again_words(report); !again.empty()) {
        out += wrapped("first ", again, kIndent, width);
    }
    if (!report.log.errors.empty() && result.biomass_kg > 0) {
        out += wrapped("LOOK  ", "at the meter: rows of the log could not be read", kIndent, width);
    }
    out += wrapped(head_of(std::string(name_of(report.verdict))),
                   name_words(report) + conclusion_words(report), kIndent, width);
    bool first = true;
    for (const Paste& paste : pastes_of(report)) {
        out += fmt::format("{}{}\n", first ? "write " : "      ", paste.line);
        out += wrapped("      ", paste.about, kIndent + 2, width);
        first = false;
    }
    if (!first && report.ran == DropRan::air && report.site && !report.site->name.empty()) {
        out += "      then run budget and outage again\n";
    }
    if (result.sotr_g_h && report.ran == DropRan::air && !result.doubtful && !result.disagree &&
        flow_in_doubt(report)) {
        out += wrapped("      ",
                       "its air in a line to write: say how much water ran meanwhile, "
                       "--flow-l-min N (0 for none)",
                       kIndent, width);
    }
    if (is_told(result.off)) {
        out += wrapped("off   ", off_words(report, run.show), kIndent, width);
    }
    if (is_told(result.on)) {
        out += wrapped("on    ", on_words(report), kIndent, width);
    }
    out += picture(report);
    if (!report.assumed.empty()) {
        out += wrapped("taken ", joined(report.assumed, "; "), kIndent, width);
    }
    return out;
}

std::string drop_formats::safety_text(const DropSafetyReport& report, const DropRun& run) {
    const std::size_t width = run.show.paper().width;
    if (!report.site) {
        return wrapped("",
                       fmt::format("{}: no drop test: the description could not be read",
                                   printable(report.file)),
                       2, width);
    }
    std::string out;
    if (!report.all_read()) out += "parts could not be read and are not here: test none of those\n";
    const DropSafety* tested = nullptr;
    for (const DropSafety& tank : report.tanks) {
        if (!tank.unread && tank.oxygen_now_mg_l < tank.levels.stop_mg_l) {
            out += wrapped("NOW   ",
                           fmt::format("{}: {} mg/L: stop feeding, add air and water, until the "
                                       "meter climbs",
                                       printable(tank.tank), figure(tank.oxygen_now_mg_l)),
                           kIndent, width);
        }
    }
    for (const DropSafety& tank : report.tanks) {
        out += wrapped(head_of(std::string(name_of(tank.verdict))), safety_words(tank, run.now),
                       kIndent, width);
        // Of several the one that needs most care.
        const auto care = [](const DropSafety& each) {
            return std::pair(!each.air_holds, -minutes_between(each));
        };
        if (may_be_tested(tank) && (!tested || care(tank) > care(*tested))) tested = &tank;
    }
    if (report.tanks.empty()) out += "no fish in any tank that could be read\n";
    const std::string place = wrapped(
        "", fmt::format("{}, {}", printable(report.site->name), minute_of(run.now)), 2, width);
    if (!tested) return out + place;
    const std::string steps[] = {
        std::string("calibrate the meter, hang it at mid-depth, and move it about at each reading; "
                    "try the backup; one always by the tank, better two"),
        fmt::format("feed none; air and water off, write the time; read oxygen and temperature "
                    "every {} min",
                    exact(minutes_between(*tested))),
        fmt::format("stop at once, air and water on, when fish come up, gather or gasp, or at {} "
                    "mg/L",
                    exact(tested->levels.stop_mg_l)),
        tested->air_holds
            ? "then the air on, the water still off: read on until it stays, half an hour or more; "
              "the log ends when the water goes on"
            : "then air AND water on: the air alone does not hold them. Measure the water, for "
              "--flow-l-min; read on until it stays",
        fmt::format("coldtank droptest LOG.csv FILE --tank NAME --fasted-h N --flow-l-min {}; the "
                    "log's first line is time,oxygen_mg_l,temperature_c",
                    tested->air_holds ? "0" : "N")};
    int number = 0;
    for (const std::string& step : steps) {
        out += wrapped(fmt::format("   {}  ", ++number), step, kIndent, width);
    }
    return out + place;
}

std::string drop_formats::text_end(const DropRun& run) {
    return wrapped("",
                   "Estimates. Stay by the tank; stop when fish come up; one tank at a time. By "
                   "water: residual-current protection. Oxygen: no oil, no flame. A vet and local "
                   "rules come first.",
                   0, run.show.paper().width);
}

std::string drop_formats::json_begin(const DropRun& run) {
    return io::json_begin("reports", [&](Fields& out) { list_head(run.now, run.verdict, out); });
}

std::string drop_formats::json(const DropReport& report, const DropRun& run) {
    const DropResult& result = report.result;
    return json_item([&](Fields& out) {
        out.text_or_null("file", report.file);
        list_site(report.site, report.pressure_kpa, out);
        out.text("verdict", name_of(report.verdict));
        out.text_or_null("tank", report.test.tank.name);
        std::vector<std::string> now;
        if (const std::string words = now_words(report, run.now); !words.empty())
            now.push_back(words);
        out.texts("now", now);
        out.whole("points", report.log.points.size());
        list_phase(report, "off", result.off, out);
        list_phase(report, "on", result.on, out);
        list_estimate("respiration_mg_kg_h", result.respiration_mg_kg_h, out);
        list_estimate("respiration_factor", result.respiration_factor, out);
        list_estimate("kla_per_h", result.kla_per_h, out);
        list_estimate("sotr_g_h", result.sotr_g_h, out);
        out.number("residual_sd_mg_l", result.residual_sd_mg_l);
        out.text_or_null("refused", refusal_words(result.main(), report, !result.off));
        out.text_or_null("refused_on",
                         result.off && result.on ? refusal_words(*result.on, report, true) : "");
        if (result.off && !result.on && result.stop_h) {
            out.text("air_on_at", short_time(report.log, *result.stop_h));
        }
        out.truth("disagree", result.disagree);
        out.truth("doubtful", result.doubtful);
        out.number("biomass_kg", result.biomass_kg);
        out.number("water_m3", result.water_m3);
        out.number("temperature_c", result.temperature_c);
        out.number("saturation_mg_l", result.saturation_mg_l > 0
                                          ? std::optional(result.saturation_mg_l)
                                          : std::nullopt);
        out.number("model_mg_kg_h", result.model_mg_kg_h);
        out.number("steady_mg_l", result.steady_mg_l);
        list_estimate("respiration_by_rise_mg_kg_h", result.breathed_on_mg_kg_h, out);
        list_estimate("transfer_m3_h", result.transfer_m3_h, out);
        std::vector<std::string> lines;
        for (const Paste& paste : pastes_of(report)) lines.push_back(paste.line);
        out.texts("write", lines);
        out.texts("assumed", report.assumed);
        list_errors(report.all_errors(), out);
        out.text("date", text_of(run.now));
    });
}

std::string drop_formats::safety_json(const DropSafetyReport& report, const DropRun& run) {
    return json_item([&](Fields& out) {
        out.text("file", report.file);
        list_site(report.site, report.pressure_kpa, out);
        out.text("verdict", name_of(report.verdict));
        out.objects("tanks", {}, report.tanks, [&](const DropSafety& tank) {
            out.text("tank", tank.tank);
            out.text("verdict", name_of(tank.verdict));
            out.truth("may_be_tested", may_be_tested(tank));
            out.number("oxygen_now_mg_l", tank.oxygen_now_mg_l);
            out.text("oxygen_now_from", name_of(tank.starts_from));
            out.number("switch_on_mg_l", tank.levels.on_mg_l);
            out.number("stop_mg_l", tank.levels.stop_mg_l);
            out.truth("air_holds", tank.air_holds);
            out.number("minutes_to_on", tank.minutes_to_on);
            out.number("minutes_to_stop", tank.minutes_to_stop);
            out.texts("reasons", reasons_of(tank));
        });
        list_errors(report.all_errors(), out);
        out.text("date", text_of(run.now));
        if (report.line) out.whole("line", *report.line);
    });
}

std::string drop_formats::json_end(const DropRun& run) { return io::json_end(run.reports == 0); }

}  // namespace coldtank::io
