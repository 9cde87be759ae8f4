#include "report/spread.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>

#include "coldtank/droptest.hpp"
#include "report/contents.hpp"
#include "report/page_parts.hpp"
#include "text/csv.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

constexpr std::string_view kCautions =
    "A world is the same tank with every coefficient and measurement drawn anew within what is "
    "known of it (coldtank sources; errors of your own in \"accuracy\"). It says how sure the "
    "figures are, not how sure the models: a status is never lifted by it. An oxygen meter and the "
    "fish decide. By water: residual-current protection.";

// What a grower can measure, and how.
struct Way {
    std::string_view input;
    std::string_view name;
    std::string_view how;
    bool drop_test = false;
};
constexpr std::string_view kDropTest = "a drop test (coldtank droptest)";
constexpr Way kWays[] = {
    {"transfer_fine_percent_per_m", "the air stones", kDropTest, true},
    {"transfer_medium_percent_per_m", "the air stones", kDropTest, true},
    {"transfer_coarse_percent_per_m", "the air stones", kDropTest, true},
    {"transfer_percent_per_m", "the air stones", kDropTest, true},
    {"alpha", "what the water does to the air stones", kDropTest, true},
    {"sotr_g_h", "the aerator", kDropTest, true},
    {"respiration_c", "what these fish breathe", kDropTest, true},
    {"respiration_factor", "what these fish breathe", kDropTest, true},
    {"air_flow_l_min", "the air", "a flow meter, or a jar filled under water and a watch"},
    {"flow_l_min", "the flow", "time a bucket, three times"},
    {"exchange_l_day", "the exchange", "read a water meter twice, a week apart"},
    {"mean_weight_g", "the mean weight", "weigh three nets of fish in a bucket of water"},
    {"count", "the count", "count the fish when they are moved"},
    {"ration_percent", "the ration", "weigh the feed of three days"},
    {"temperature_c", "the temperature", "a checked thermometer, in the warmest hour"},
    {"oxygen_mg_l", "the oxygen", "calibrate the meter, read at dawn and after feeding"},
    {"ph", "the pH", "calibrate the meter in fresh buffers"},
    {"alkalinity_mg_l", "the alkalinity", "a drop kit, twice"},
    {"tan_mg_l", "total ammonia", "a second kit, or a laboratory"},
    {"nitrite_mg_l", "nitrite", "a second kit, or a laboratory"},
    {"nitrate_mg_l", "nitrate", "a second kit, or a laboratory"},
    {"carbon_dioxide_mg_l", "carbon dioxide", "a titration, or a meter"},
    {"volume_l", "the volume", "measure the water, not the tank"},
    {"depth_m", "the depth of the stones", "a folding rule"},
    {"drop_m", "the fall", "a folding rule"},
    {"oxygen_flow_l_min", "the flow of oxygen", "a flow meter for oxygen"},
    {"protein_percent", "the protein of the feed", "read the bag"},
    {"media_area_m2", "the filter media", "the maker's figure, and count them"},
    {"removal_g_day", "what the filter removes", "total ammonia before and behind it, twice"},
    {"nitrification_g_m2_day_degree", "what the filter removes",
     "total ammonia before and behind it, twice (removal_g_day)"},
    {"bed_area_m2", "the beds", "a folding rule"},
    {"absorption_percent", "how much oxygen the stones take up", kDropTest, true},
    {"degasser_percent", "the degasser", "carbon dioxide before and behind it"},
    {"chlorine_mg_l", "chlorine", "a second kit, and dechlorinate"},
    {"chloride_mg_l", "chloride", "a second kit"},
    {"salinity_g_kg", "the salt", "a checked meter"},
    {"gas_pressure_percent", "gas pressure", "a saturometer, twice"},
    {"current_cm_s", "the current", "a float and a watch, ten times"},
    {"condition_percent", "how lean the fish are", "length and weight of ten fish"},
    {"maturity_percent", "how far the filter has started", "total ammonia and nitrite, each week"},
    {"pressure_kpa", "the air pressure", "a barometer on the spot"},
};

const Way* way_of(std::string_view input) {
    const auto* way = std::find_if(std::begin(kWays), std::end(kWays),
                                   [&](const Way& each) { return each.input == input; });
    return way == std::end(kWays) ? nullptr : way;
}

// How open it is whether something happens in so many worlds: most at 50 of 100.
double openness(double percent) { return std::min(percent, 100 - percent); }

// The check of which a better number would settle most: first whether it fails, then whether it
// warns.
const CheckSpread* doubtful_of(const PartSpread& spread) {
    constexpr double kOpen = 5;
    const CheckSpread* out = nullptr;
    const auto rank = [&](const CheckSpread& each) {
        const double fails = openness(each.fail_percent);
        if (fails >= kOpen) return 100 + fails;
        // What can never fail comes after what can.
        const bool may_fail = each.fail_low || each.fail_high;
        return openness(each.worst_percent()) / (may_fail ? 1 : 2);
    };
    for (const CheckSpread& check : spread.checks) {
        if (check.certain || check.first_order.empty()) continue;
        if (out == nullptr || rank(check) > rank(*out)) out = &check;
    }
    return out;
}

// What fails in nearly all worlds no better number mends.
std::string act_words(const PartSpread& spread) {
    constexpr double kNearlyAll = 90;
    std::vector<std::string> fails;
    for (const CheckSpread& check : spread.checks) {
        if (check.fail_percent >= kNearlyAll) fails.push_back(std::string(title_of(check.check)));
    }
    if (fails.empty()) return {};
    return fmt::format("act, do not measure: {} fail{} in nearly all worlds (see budget)",
                       listed(fails), fails.size() == 1 ? "s" : "");
}

std::vector<MeasureFirst> measure_first_of(const PartSpread& spread,
                                           const std::optional<DropSafety>& safety) {
    constexpr double kWorthIt = 0.05;
    constexpr std::size_t kMost = 3;
    std::vector<MeasureFirst> out;
    const CheckSpread* check = doubtful_of(spread);
    if (check == nullptr) return out;
    for (const InputShare& share : check->first_order) {
        const Way* way = way_of(share.input);
        // No noise of the estimate.
        if (way == nullptr || share.index < kWorthIt || share.index < 2 * share.standard_error ||
            out.size() == kMost) {
            continue;
        }
        std::string how(way->how);
        if (way->drop_test) {
            if (!safety || safety->verdict == Status::fail) continue;
            if (safety->verdict == Status::unchecked) how += ", once droptest --before allows it";
            if (safety->verdict == Status::warn) how += ", with a backup beside it";
        }
        out.push_back({check->check, share.input, 100 * share.index, std::string(way->name), how});
    }
    return out;
}

std::string measure_words(const SpreadAnswer& answer) {
    if (answer.measure_first.empty()) return {};
    // What is measured in one way stands once.
    struct Told {
        std::vector<std::string> names;
        std::string_view how;
    };
    std::vector<Told> merged;
    for (const MeasureFirst& each : answer.measure_first) {
        auto same = std::find_if(merged.begin(), merged.end(),
                                 [&](const Told& other) { return other.how == each.how; });
        if (same == merged.end()) same = merged.insert(merged.end(), {{}, each.how});
        same->names.push_back(
            fmt::format("{} ({:.0f} %{})", each.name, std::min(each.share_percent, 100.0),
                        &each == &answer.measure_first.front()
                            ? fmt::format(" of how far {} spreads", title_of(each.check))
                            : std::string()));
    }
    std::vector<std::string> words;
    for (const Told& each : merged) {
        words.push_back(fmt::format("{}: {}", listed(each.names), each.how));
    }
    return joined(words, "; ");
}

// The coefficient that decides most where no grower can measure it.
std::string beyond_words(const SpreadAnswer& answer) {
    const CheckSpread* check = doubtful_of(answer.spread);
    if (check == nullptr) return {};
    const InputShare& most = check->first_order.front();
    constexpr double kMuch = 0.3;
    if (most.index < kMuch || most.index < 2 * most.standard_error ||
        way_of(most.input) != nullptr) {
        return {};
    }
    for (const CoefficientInfo& info : kCoefficients) {
        if (info.key == most.input) {
            return fmt::format("{:.0f} % of how far {} spreads lies with {}, which no tank tells",
                               100 * most.index, title_of(check->check), info.constant.name);
        }
    }
    return {};
}

std::string in_column(double percent) {
    return percent > 0 && percent < 1      ? "<1"
           : percent > 99 && percent < 100 ? ">99"
                                           : of_hundred(percent);
}

// Where a check lies in the worlds, between its limits: "=" from 5 to 95 %, "o" the median, "w" and
// "f" where it warns and fails.
std::string strip_of(const CheckSpread& check, std::size_t width) {
    double from = *check.low;
    double to = *check.high;
    for (const auto& limit : {check.warn_low, check.warn_high, check.fail_low, check.fail_high}) {
        if (!limit) continue;
        from = std::min(from, *limit);
        to = std::max(to, *limit);
    }
    if (!(to > from)) return {};
    std::string out(width, '.');
    const auto place = [&](double value) {
        const double share = (value - from) / (to - from);
        return static_cast<std::size_t>(std::lround(share * static_cast<double>(width - 1)));
    };
    for (std::size_t i = place(*check.low); i <= place(*check.high); ++i) out[i] = '=';
    out[place(*check.median)] = 'o';
    for (const auto& [limit, mark] :
         {std::pair{check.warn_low, 'w'}, std::pair{check.warn_high, 'w'},
          std::pair{check.fail_low, 'f'}, std::pair{check.fail_high, 'f'}}) {
        if (limit) out[place(*limit)] = mark;
    }
    return fmt::format("{} {} {}", figure(from), out, figure(to));
}

std::string range_words(const CheckSpread& check) {
    const auto end = [](const std::optional<double>& value) {
        return value ? figure(*value) : std::string("without end");
    };
    if (!check.low && !check.median && !check.high) return {};
    std::string unit(check.unit.substr(0, check.unit.find(" (")));  // its title says the rest
    if (unit == "-" || unit == "pH") unit.clear();
    return fmt::format("{} ({} to {}){}{}", end(check.median), end(check.low), end(check.high),
                       unit.empty() ? "" : " ", unit);
}

void list_check(const CheckSpread& check, Fields& out) {
    out.text("check", name_of(check.check));
    out.text("status", name_of(check.status));
    out.number("value", check.value);
    out.text("unit", check.unit);
    out.number("low", check.low);
    out.number("median", check.median);
    out.number("high", check.high);
    out.number("pass_percent", check.pass_percent);
    out.number("warn_percent", check.warn_percent);
    out.number("fail_percent", check.fail_percent);
    out.number("unchecked_percent", check.unchecked_percent);
    out.objects("first_order", {}, check.first_order, [&](const InputShare& share) {
        out.text("input", share.input);
        out.number("index", share.index);
        out.number("standard_error", share.standard_error);
    });
}

void list_part(const SpreadAnswer& answer, const SpreadRun& run, Fields& out) {
    const PartSpread& spread = answer.spread;
    out.text(answer.loop ? "loop" : "tank", spread.name);
    out.text("verdict", name_of(spread.verdict));
    out.whole("draws", run.question.draws);
    out.whole("seed", static_cast<std::size_t>(run.question.seed));
    out.number("all_pass_percent", spread.all_pass_percent);
    out.number("nothing_warns_percent", spread.nothing_warns_percent);
    out.number("at_or_below_reading_percent", spread.at_or_below_reading_percent);
    out.objects("checks", {}, spread.checks,
                [&](const CheckSpread& check) { list_check(check, out); });
    out.objects("measure_first", {}, answer.measure_first, [&](const MeasureFirst& each) {
        out.text("input", each.input);
        out.number("share_percent", each.share_percent);
        out.text("how", each.how);
        out.text("check", name_of(each.check));
    });
}

}  // namespace

void add_fixed(PartSpread& spread, const std::vector<Check>& checks, Status verdict) {
    for (const Check& check : checks) {
        const bool drawn =
            std::any_of(spread.checks.begin(), spread.checks.end(),
                        [&](const CheckSpread& each) { return each.check == check.id; });
        if (drawn) continue;
        CheckSpread fixed{};
        fixed.check = check.id;
        fixed.unit = check.unit;
        fixed.status = check.status;
        fixed.value = fixed.low = fixed.median = fixed.high = check.value;
        (check.status == Status::pass   ? fixed.pass_percent
         : check.status == Status::warn ? fixed.warn_percent
         : check.status == Status::fail ? fixed.fail_percent
                                        : fixed.unchecked_percent) = 100;
        if (check.status != Status::pass) spread.all_pass_percent = 0;
        if (check.status >= Status::warn) spread.nothing_warns_percent = 0;
        spread.checks.push_back(std::move(fixed));
    }
    spread.verdict = worse(spread.verdict, verdict);
}

SpreadReport make_spread_report(ReadResult read, const SpreadQuestion& question) {
    SpreadReport report(read);
    if (!read.description) return report;
    const Report budget = make_report(read);
    report.verdict = budget.verdict;
    report.notes = unread_words(budget);
    if (!budget.trips.empty()) report.notes.emplace_back("trips are left out: see coldtank haul");
    const Description& description = *read.description;
    SpreadQuestion asked = question;
    asked.own = description.accuracy;
    std::vector<SpreadAnswer> loops;
    for (const System& system : systems_of(description)) {
        if (!asked_for(read, system)) continue;
        SystemSpread spread = spread_of(system, asked);
        const std::vector<DropSafety> safeties =
            assess_drop_safety({&system, 1}, description.site.backup);
        for (PartSpread& tank : spread.tanks) {
            const auto found =
                std::find_if(safeties.begin(), safeties.end(),
                             [&](const DropSafety& each) { return each.tank == tank.name; });
            SpreadAnswer answer{std::move(tank), false, {}};
            answer.measure_first = measure_first_of(
                answer.spread,
                found == safeties.end() ? std::nullopt : std::optional<DropSafety>(*found));
            report.parts.push_back(std::move(answer));
        }
        if (spread.loop) {
            SpreadAnswer answer{std::move(*spread.loop), true, {}};
            answer.measure_first = measure_first_of(answer.spread, std::nullopt);
            loops.push_back(std::move(answer));
        }
    }
    const auto place_of = [&](const SpreadAnswer& answer) {
        return std::find_if(description.tanks.begin(), description.tanks.end(),
                            [&](const Tank& tank) { return tank.name == answer.spread.name; }) -
               description.tanks.begin();
    };
    std::erase_if(report.parts, [&](const SpreadAnswer& answer) {
        return !asked_for(read, description.tanks[static_cast<std::size_t>(place_of(answer))]);
    });
    std::stable_sort(
        report.parts.begin(), report.parts.end(),
        [&](const SpreadAnswer& a, const SpreadAnswer& b) { return place_of(a) < place_of(b); });
    for (SpreadAnswer& loop : loops) report.parts.push_back(std::move(loop));
    for (SpreadAnswer& part : report.parts) {
        for (const TankReport& tank : budget.tanks) {
            if (part.loop || tank.budget.tank != part.spread.name) continue;
            add_fixed(part.spread, tank.budget.checks, tank.budget.verdict);
        }
        for (const LoopReport& loop : budget.loops) {
            if (!part.loop || loop.budget.loop != part.spread.name) continue;
            add_fixed(part.spread, loop.budget.checks, loop.budget.verdict);
        }
        report.verdict = worse(report.verdict, part.spread.verdict);
    }
    return report;
}

std::string of_hundred(double percent) {
    if (percent > 0 && percent < 1) return "under 1";
    if (percent > 99 && percent < 100) return "over 99";
    return fmt::format("{:.0f}", std::clamp(std::floor(percent + 0.5), 0.0, 100.0));
}

std::string sure_words(const PartSpread& spread) {
    const bool open =
        std::any_of(spread.checks.begin(), spread.checks.end(),
                    [](const CheckSpread& check) { return check.unchecked_percent > 0; });
    const double share = open ? spread.nothing_warns_percent : spread.all_pass_percent;
    std::string out = share == 100
                          ? fmt::format("{} in all worlds that fit what is known",
                                        open ? "nothing warns" : "passes")
                          : fmt::format("{} in {} of 100 worlds that fit what is known",
                                        open ? "nothing warns" : "passes", of_hundred(share));
    std::vector<const CheckSpread*> worst;
    for (const CheckSpread& check : spread.checks) {
        if (check.worst_percent() > 0) worst.push_back(&check);
    }
    std::stable_sort(worst.begin(), worst.end(), [](const CheckSpread* a, const CheckSpread* b) {
        return std::pair(a->fail_percent, a->worst_percent()) >
               std::pair(b->fail_percent, b->worst_percent());
    });
    constexpr std::size_t kMost = 3;
    std::vector<std::string> words;
    for (const CheckSpread* check : worst) {
        if (words.size() == kMost) break;
        std::string each = title_of(check->check);
        if (check->warn_percent > 0)
            each += fmt::format(" warns in {}", of_hundred(check->warn_percent));
        if (check->fail_percent > 0) {
            each += fmt::format("{} fails in {}", check->warn_percent > 0 ? " and" : "",
                                of_hundred(check->fail_percent));
        }
        words.push_back(std::move(each));
    }
    if (worst.size() > kMost) words.push_back(fmt::format("and {} more", worst.size() - kMost));
    if (!words.empty()) out += fmt::format(" ({})", joined(words, ", "));
    return out;
}

std::string surprise_words(const PartSpread& spread) {
    constexpr double kRare = 5;
    if (!spread.at_or_below_reading_percent) return {};
    const double share = *spread.at_or_below_reading_percent;
    if (share < kRare) {
        return fmt::format(
            "oxygen as low as was read is seen in {} of 100 worlds: something is not "
            "as described",
            of_hundred(share));
    }
    if (share > 100 - kRare) {
        return fmt::format("oxygen as high as was read is seen in {} of 100 worlds",
                           of_hundred(100 - share));
    }
    return {};
}

std::string spread_formats::text(const SpreadReport& report, const SpreadRun& run) {
    const std::size_t width = run.show.paper().width;
    if (!report.site) {
        return wrapped("",
                       fmt::format("{}: the description could not be read", printable(report.file)),
                       2, width);
    }
    std::string out =
        wrapped("",
                fmt::format("{}, {}: {} worlds, seed {}", printable(report.site->name),
                            minute_of(run.now), run.question.draws, run.question.seed),
                2, width);
    for (const std::string& words : report.notes) out += wrapped("", words, 2, width);
    for (const SpreadAnswer& part : report.parts) {
        const PartSpread& spread = part.spread;
        out += '\n' + wrapped(fmt::format("{:<5} ", name_of(spread.verdict)),
                              fmt::format("{}{}: {}", part.loop ? "loop " : "",
                                          printable(spread.name), sure_words(spread)),
                              6, width);
        const std::string act = act_words(spread);
        if (!act.empty()) out += wrapped("      ", act, 6, width);
        const std::string measure = act.empty() ? measure_words(part) : "";
        if (!measure.empty()) out += wrapped("      measure first: ", measure, 6, width);
        const std::string beyond = act.empty() ? beyond_words(part) : "";
        if (!beyond.empty()) out += wrapped("      ", beyond, 6, width);
        const std::string surprise = surprise_words(spread);
        if (!surprise.empty()) out += wrapped("      ", surprise, 6, width);
        out += fmt::format("{:<5} {:<15}{:>5}{:>5}{:>5}  {}\n", "", "of 100 worlds", "pass", "warn",
                           "fail", "median (5 to 95 %)");
        for (const CheckSpread& check : spread.checks) {
            if (check.unchecked_percent == 100) {
                out += fmt::format("{:<5} {:<15} not judged\n", name_of(check.status),
                                   title_of(check.check));
                continue;
            }
            std::string line = fmt::format("{:<5} {:<15}{:>5}{:>5}{:>5}  {}", name_of(check.status),
                                           title_of(check.check), in_column(check.pass_percent),
                                           in_column(check.warn_percent),
                                           in_column(check.fail_percent), range_words(check));
            if (check.unchecked_percent > 0) {
                line += fmt::format("; {} not judged", in_column(check.unchecked_percent));
            }
            while (!line.empty() && line.back() == ' ') line.pop_back();
            out += line + '\n';
            if (!check.low || !check.median || !check.high) continue;
            constexpr std::size_t kStrip = 50;
            const std::string strip = strip_of(check, kStrip);
            if (!strip.empty()) out += fmt::format("      {}\n", strip);
        }
    }
    return out;
}

std::string spread_formats::text_end(const SpreadRun& run) {
    if (!run.answered) return "";
    return '\n' + wrapped("", std::string(kCautions), 0, run.show.paper().width);
}

std::string spread_formats::csv_begin(const SpreadRun& /*run*/) {
    return "site,part,name,verdict,all_pass_percent,check,status,value,unit,low,median,high,"
           "pass_percent,warn_percent,fail_percent,unchecked_percent,draws,seed\n";
}

std::string spread_formats::csv(const SpreadReport& report, const SpreadRun& run) {
    std::string out;
    const auto number = [](const std::optional<double>& value) {
        return value ? exact(*value) : std::string{};
    };
    for (const SpreadAnswer& part : report.parts) {
        for (const CheckSpread& check : part.spread.checks) {
            out += fmt::format("{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{}\n",
                               csv_cell(report.site->name), part.loop ? "loop" : "tank",
                               csv_cell(part.spread.name), name_of(part.spread.verdict),
                               exact(part.spread.all_pass_percent), name_of(check.check),
                               name_of(check.status), number(check.value), csv_cell(check.unit),
                               number(check.low), number(check.median), number(check.high),
                               exact(check.pass_percent), exact(check.warn_percent),
                               exact(check.fail_percent), exact(check.unchecked_percent),
                               run.question.draws, run.question.seed);
        }
    }
    return out;
}

std::string spread_formats::json_begin(const SpreadRun& run) {
    return io::json_begin("reports", [&](Fields& out) { list_head(run.now, run.verdict, out); });
}

std::string spread_formats::json(const SpreadReport& report, const SpreadRun& run) {
    return json_item([&](Fields& out) {
        out.text("file", report.file);
        list_site(report.site, report.pressure_kpa, out);
        out.text("verdict", name_of(report.verdict));
        out.texts("warnings", report.notes);
        std::vector<SpreadAnswer> tanks, loops;
        for (const SpreadAnswer& part : report.parts) (part.loop ? loops : tanks).push_back(part);
        out.objects("tanks", {}, tanks,
                    [&](const SpreadAnswer& part) { list_part(part, run, out); });
        out.objects("loops", {}, loops,
                    [&](const SpreadAnswer& part) { list_part(part, run, out); });
        list_errors(report.errors, out);
    });
}

std::string spread_formats::json_end(const SpreadRun& run) {
    return io::json_end(run.reports == 0);
}

}  // namespace coldtank::io
