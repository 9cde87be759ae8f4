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

std::string refusal_words(DropRefusal why, double by, const DropReport& report, bool rising) {
    switch (why) {
        case DropRefusal::none:
            break;
        case DropRefusal::times_run_back: {
            const auto at = static_cast<std::size_t>(by);
            return fmt::format(
                "the times run back at line {} ({}){}", report.log.lines[at],
                printable(report.log.when[at]),
                report.log.times == DropLog::Times::clock ? "; over midnight write the dates" : "");
        }
        case DropRefusal::few_points:
            return fmt::format("{} points {}, {} are needed: read more often", exact(by),
                               rising ? "while the air was on" : "while all was off",
                               exact(kDropFewest));
        case DropRefusal::low_oxygen:
            return fmt::format(
                "oxygen went to {} mg/L: under {} fish breathe what there is, not what they would",
                figure(by), exact(kDropLeast));
        case DropRefusal::temperature:
            return fmt::format("the temperature changed by {} degC, over {}", figure(by),
                               exact(kDropTemperature));
        case DropRefusal::small_change:
            return fmt::format("oxygen fell by {} mg/L, {} is needed: leave it off longer",
                               figure(std::max(0.0, by)), exact(kDropChange));
        case DropRefusal::scatter:
            return fmt::format(
                "oxygen fell by {} mg/L where the points scatter by {}: ten times the scatter is "
                "needed",
                figure(report.result.fall_mg_l), figure(by));
        case DropRefusal::not_levelled:
            return "the rise does not bend far enough to tell a rate: read on until it stays";
    }
    return {};
}

bool refused(const std::optional<DropPhase>& phase) {
    return phase && phase->refused != DropRefusal::none;
}

std::string conclusion_words(const DropReport& report) {
    const DropResult& result = report.result;
    std::vector<std::string> parts;
    if (result.respiration_mg_kg_h) {
        parts.push_back(fmt::format(
            "the fish breathe {} mg/kg/h, {} times the model's {}{}",
            band_words(*result.respiration_mg_kg_h), band_words(*result.respiration_factor),
            figure(*result.model_mg_kg_h),
            *result.described_factor == 1
                ? ""
                : fmt::format(", where {} is described", figure(*result.described_factor))));
    }
    if (result.sotr_g_h) {
        std::string described;
        if (result.described_sotr_g_h) {
            described = fmt::format(", where {} is described", figure(*result.described_sotr_g_h));
        }
        parts.push_back(fmt::format("the air brings {} g/h at standard, alpha in it{}",
                                    band_words(*result.sotr_g_h), described));
    }
    if (refused(result.off)) {
        parts.push_back("no conclusion of the fish: " +
                        refusal_words(result.off->refused, result.off->refused_by, report, false));
    }
    if (refused(result.on)) {
        parts.push_back("none of the air: " +
                        refusal_words(result.on->refused, result.on->refused_by, report, true));
    }
    if (!result.off && !result.on) {
        parts.push_back("no conclusion: " +
                        refusal_words(result.refused, result.refused_by, report, false));
    }
    return joined(parts, "; ");
}

// Water flows into the tank, and nobody says whether it ran: what it brought would be the stones'.
bool flow_in_doubt(const DropReport& report) {
    const Tank& tank = report.test.tank;
    return !report.flow_told &&
           ((tank.inflow && tank.inflow->flow_l_min > 0) || tank.loop.has_value());
}

// The safe edge of a band in three figures.
std::string edge(double value, bool up) {
    const int decimals = std::max(0, 2 - static_cast<int>(std::floor(std::log10(value))));
    const double steps = std::pow(10, decimals);
    constexpr double kTie = 1e-9;
    const double rounded = up ? std::ceil(value * steps - kTie) : std::floor(value * steps + kTie);
    return figure(rounded / steps, decimals);
}

// The lines for a description: the edge of each band where fish are safe.
struct Paste {
    std::string line;
    std::string about;
};
std::vector<Paste> pastes_of(const DropReport& report) {
    const DropResult& result = report.result;
    std::vector<Paste> pastes;
    if (result.respiration_factor) {
        const double high = result.respiration_factor->high;
        const bool floor = report.test.surface_m3_h == 0 && high < 1;
        const double value = floor ? 1 : high;
        if (kRespirationFactorRange.holds(value)) {
            pastes.push_back({fmt::format("\"respiration_factor\": {}", edge(value, true)),
                              floor ? "of the fish; not under 1 while nobody knows what the "
                                      "surface brought"
                                    : "of the fish: the upper edge of the band"});
        }
    }
    if (result.sotr_g_h && result.sotr_g_h->low > 0 && !flow_in_doubt(report)) {
        pastes.push_back(
            {fmt::format(
                 "\"aeration\": [ {{ \"kind\": \"rated\", \"sotr_g_h\": {}, \"alpha\": 1 }} ]",
                 edge(result.sotr_g_h->low, false)),
             "of the tank, for all its air: the lower edge"});
    }
    return pastes;
}

std::string now_words(const DropReport& report) {
    const DropResult& result = report.result;
    if (result.biomass_kg == 0 || report.log.points.empty()) return {};
    const double lowest = report.log.points[result.lowest].oxygen_mg_l;
    if (!(lowest < kDropStop)) return {};
    return fmt::format(
        "air and water on, if they are not: {} mg/L at {}, and under {} a test ends. Watch the "
        "fish and the meter; numbers later",
        figure(lowest), short_time(report.log, report.log.points[result.lowest].hours),
        exact(kDropStop));
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
    if (result.off) mark(std::max(first, result.off->first), "off ");
    if (result.on) mark(result.on->first, "on ");
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
                           figure(std::max(0.0, *result.breathed_on_mg_kg_h)));
    }
    if (result.biomass_kg == 0) {
        out += fmt::format("; were no air on, it is the surface: --surface-m3-h {}",
                           edge(result.transfer_m3_h->high, true));
    }
    return out;
}

// ---- whether a test is safe

std::vector<std::string> reasons_of(const DropSafety& tank) {
    std::vector<std::string> reasons;
    if (tank.on_loop) reasons.emplace_back("its loop's filter must not stand still");
    if (tank.starts_low) {
        reasons.push_back(fmt::format("oxygen {} at {} mg/L, under {}",
                                      tank.unread ? "cannot start over" : "starts",
                                      figure(tank.oxygen_now_mg_l), exact(kDropStart)));
    }
    if (tank.too_fast) {
        reasons.push_back(
            fmt::format("fed fish draw it to {} mg/L in {} min, under {}", exact(kDropStop),
                        figure(std::floor(*tank.minutes_to_stop), 0), exact(kDropMinutes)));
    }
    if (!tank.failing.empty()) {
        std::vector<std::string> names;
        for (const CheckId id : tank.failing) names.push_back(title_of(id));
        reasons.push_back(fmt::format("in its budget {} fail{}", joined(names, ", "),
                                      names.size() == 1 ? "s" : ""));
    }
    if (tank.unread) {
        reasons.push_back(
            fmt::format("read its oxygen first: {} mg/L or more, this hour", exact(kDropStart)));
    }
    if (tank.without_backup) {
        reasons.emplace_back("no backup is described that holds them: have one ready to start");
    }
    return reasons;
}

std::string clock_after(const Instant& now, double minutes) {
    constexpr std::size_t kDate = 11;
    return minute_of({now.seconds + static_cast<std::int64_t>(minutes * 60), now.offset_s})
        .substr(kDate);
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
    std::string when = fmt::format("at {} mg/L", exact(kDropOn));
    if (tank.minutes_to_stop) {
        const double minutes = std::floor(*tank.minutes_to_stop);
        when += fmt::format(", or after {} min ({} if off now), whatever the meter says",
                            figure(minutes, 0), clock_after(now, minutes));
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
    if (!out.object_or_null(key, phase.has_value())) return;
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

DropReport make_drop_report(ReportHead head, DropLog log, DropTest test, bool flow_told) {
    DropReport report;
    static_cast<ReportHead&>(report) = std::move(head);
    report.file = log.path;
    report.unreadable = report.unreadable || log.unreadable;
    report.errors.insert(report.errors.end(), log.errors.begin(), log.errors.end());
    test.points = log.points;
    report.flow_told = flow_told;
    report.result = assess_drop(test);
    report.verdict = report.result.verdict;
    if (!report.all_read() && report.verdict == Status::pass) report.verdict = Status::unchecked;
    const bool read_temperature =
        std::any_of(log.points.begin(), log.points.end(),
                    [](const DropPoint& point) { return point.temperature_c.has_value(); });
    if (!read_temperature) {
        report.assumed.push_back(
            fmt::format("{} degC, as the log has none", figure(report.result.temperature_c)));
    }
    if (report.result.biomass_kg > 0 && test.surface_m3_h == 0) {
        report.assumed.emplace_back(
            "the surface took up nothing, so that they breathe rather more than this");
    }
    if (!flow_told && report.result.on) {
        report.assumed.emplace_back("no water ran while the air was on");
    }
    report.log = std::move(log);
    report.test = std::move(test);
    return report;
}

DropSafetyReport make_drop_safety_report(ReadResult read) {
    DropSafetyReport report(read);
    if (!read.description) return report;
    if (report.all_read()) report.verdict = Status::pass;
    const Description& description = *read.description;
    for (DropSafety& tank : assess_drop_safety(systems_of(description), description.site.backup)) {
        const auto asked = std::any_of(
            description.tanks.begin(), description.tanks.end(),
            [&](const Tank& each) { return each.name == tank.tank && asked_for(read, each); });
        if (!asked) continue;
        report.verdict = worse(report.verdict, tank.verdict);
        report.tanks.push_back(std::move(tank));
    }
    return report;
}

std::string drop_formats::text(const DropReport& report, const DropRun& run) {
    const std::size_t width = run.show.paper().width;
    const DropResult& result = report.result;
    std::string out;
    if (const std::string now = now_words(report); !now.empty()) {
        out += wrapped("NOW   ", now, kIndent, width);
    }
    out += wrapped(head_of(std::string(name_of(report.verdict))),
                   name_words(report) + conclusion_words(report), kIndent, width);
    bool first = true;
    for (const Paste& paste : pastes_of(report)) {
        out += fmt::format("{}{}\n", first ? "write " : "      ", paste.line);
        out += wrapped("      ", paste.about, kIndent + 2, width);
        first = false;
    }
    if (result.sotr_g_h && flow_in_doubt(report)) {
        out += wrapped("      ",
                       "its air in a line to write: say how much water ran meanwhile, "
                       "--flow-l-min N (0 for none)",
                       kIndent, width);
    }
    const bool told =
        result.refused != DropRefusal::times_run_back && !result.residuals_mg_l.empty();
    if (told && result.off && result.off->refused != DropRefusal::few_points) {
        out += wrapped("off   ", off_words(report, run.show), kIndent, width);
    }
    if (told && result.on && result.on->refused != DropRefusal::few_points) {
        out += wrapped("on    ", on_words(report), kIndent, width);
    }
    if (told) out += picture(report);
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
        out += wrapped(head_of(std::string(name_of(tank.verdict))), safety_words(tank, run.now),
                       kIndent, width);
        if (may_be_tested(tank) && (!tested || minutes_between(tank) < minutes_between(*tested))) {
            tested = &tank;
        }
    }
    if (report.tanks.empty()) out += "no fish in any tank that could be read\n";
    const std::string place = wrapped(
        "", fmt::format("{}, {}", printable(report.site->name), minute_of(run.now)), 2, width);
    if (!tested) return out + place;
    const std::string steps[] = {
        "hang the meter in moving water, calibrated; try the backup; two people where you can, and "
        "one always by the tank",
        fmt::format("feed none; air and water off, write the time; read oxygen and temperature "
                    "every {} min",
                    exact(minutes_between(*tested))),
        "stop at once when fish come up, gather or gasp",
        "then the air on, the water still off: read on until it stays, half an hour or more; then "
        "the water",
        "coldtank droptest LOG.csv FILE --tank NAME --fasted-h N; time,oxygen_mg_l,temperature_c "
        "heads the log"};
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
        if (const std::string words = now_words(report); !words.empty()) now.push_back(words);
        out.texts("now", now);
        out.whole("points", report.log.points.size());
        const bool told = result.refused != DropRefusal::times_run_back &&
                          result.refused != DropRefusal::few_points;
        list_phase(report, "off", told ? result.off : std::nullopt, out);
        list_phase(report, "on", told ? result.on : std::nullopt, out);
        list_estimate("respiration_mg_kg_h", result.respiration_mg_kg_h, out);
        list_estimate("respiration_factor", result.respiration_factor, out);
        list_estimate("kla_per_h", result.kla_per_h, out);
        list_estimate("sotr_g_h", result.sotr_g_h, out);
        out.number("residual_sd_mg_l", result.residual_sd_mg_l);
        out.text_or_null("refused",
                         refusal_words(result.refused, result.refused_by, report, !result.off));
        out.text_or_null("refused_on", refused(result.on)
                                           ? refusal_words(result.on->refused,
                                                           result.on->refused_by, report, true)
                                           : "");
        out.number("biomass_kg", result.biomass_kg);
        out.number("water_m3", result.water_m3);
        out.number("temperature_c", result.temperature_c);
        out.number("saturation_mg_l", result.saturation_mg_l > 0
                                          ? std::optional(result.saturation_mg_l)
                                          : std::nullopt);
        out.number("model_mg_kg_h", result.model_mg_kg_h);
        out.number("steady_mg_l", result.steady_mg_l);
        out.number("respiration_by_rise_mg_kg_h", result.breathed_on_mg_kg_h);
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
            out.number("switch_on_mg_l", kDropOn);
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
