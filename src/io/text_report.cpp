// The report as a page for people.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <optional>

#include "report.hpp"
#include "text.hpp"

namespace coldtank::io {
namespace {

// The columns of a check line: status, name, value, limits, share used.
constexpr std::size_t kIndent = 10;
constexpr std::size_t kNameWidth = 16;
constexpr std::size_t kValueWidth = 17;
constexpr std::size_t kWidth = 80;

std::string with_blanks(std::string_view id) {
    std::string text(id);
    std::replace(text.begin(), text.end(), '_', ' ');
    return text;
}

std::string title_of(CheckId id) {
    if (id == CheckId::ammonia) return "ammonia as NH3";
    return id == CheckId::ph ? "pH" : with_blanks(name_of(id));
}

// A check whose value is shown in the reader's units.
std::optional<Measure> measure_of(const Check& check) {
    if (check.id == CheckId::temperature) return Measure::temperature_c;
    if (check.id == CheckId::density) return Measure::density_kg_m3;
    return std::nullopt;
}

double shown_value(const Check& check, double base, const Display& show) {
    const auto measure = measure_of(check);
    return measure ? show.value(*measure, base) : base;
}

// Units as they read best beside a number; what a concentration is of stands in the title.
std::string unit_of(const Check& check, const Display& show) {
    if (check.unit == "g feed/m2/day") return " g/m2/day";
    if (check.unit == "pH" || check.unit == "ratio") return "";
    if (check.unit == "1/h") return " an hour";
    if (check.unit == "body lengths/s") return " lengths/s";
    if (check.unit.starts_with("mg/L")) return " mg/L";
    if (check.unit == "min") return " min";
    if (const auto measure = measure_of(check)) return fmt::format(" {}", show.unit(*measure));
    if (check.unit == "percent/day") return " percent/day";
    return " %";
}

// Padded by columns, not bytes; at least one blank behind it.
std::string cell(std::string text, std::size_t width) {
    const std::size_t size = columns(text);
    text.append(size < width ? width - size : 1, ' ');
    return text;
}

// A check is read against its tank; none for a check of a loop.
bool gathers(const Check& check, const TankBudget* budget) {
    return budget != nullptr &&
           (check.id == CheckId::ammonia || check.id == CheckId::total_ammonia) &&
           budget->ammonia.hours_to_warn.has_value();
}

std::optional<double> hours(const Check& check, const TankBudget* budget) {
    return check.id == CheckId::ammonia ? budget->ammonia.nh3_hours_to_warn
                                        : budget->ammonia.tan_hours_to_warn;
}

// A check's value and limits as text, in the same order on paper as in truth.
struct CheckText {
    std::string value;
    std::string limits;
};

CheckText check_text(const Check& check, const TankBudget* budget, const Display& show) {
    struct Named {
        std::string_view word;
        std::string_view sign;
        std::optional<double> limit;
    };
    const std::array named{Named{"warn", "<", check.warn.low}, Named{"warn", ">", check.warn.high},
                           Named{"fail", "<", check.fail.low}, Named{"fail", ">", check.fail.high}};
    std::vector<double> limits;
    for (const Named& each : named) {
        if (each.limit) limits.push_back(shown_value(check, *each.limit, show));
    }
    const Compared texts = compared(shown_value(check, check.value.value_or(0), show), limits);
    CheckText out;
    if (!check.value && gathers(check, budget)) {
        const double left = hours(check, budget).value_or(0);
        out.value =
            left > 0 && left < 0.1 ? "limit in <0.1 h" : fmt::format("limit in {} h", figure(left));
        out.limits = "warn <72 h, fail <24 h";
        return out;
    }
    std::string_view word;
    std::size_t i = 0;
    for (const Named& each : named) {
        if (!each.limit) continue;
        if (each.word != word) {
            if (!word.empty()) out.limits += ", ";
            out.limits += each.word;
            word = each.word;
        }
        out.limits += fmt::format(" {}{}", each.sign, texts.limits[i++]);
    }
    if (check.own_limit) out.limits += " *";
    if (check.value) {
        out.value = fmt::format("{}{}", texts.value, unit_of(check, show));
    } else if (check.id == CheckId::oxygen_reserve) {
        out.value = "never runs out";
    } else {
        out.value = check.id == CheckId::oxygen && check.exhausted ? "falls to nothing"
                    : check.status == Status::fail                 ? "rises on"
                                                                   : "holds";
    }
    return out;
}

// Whole percent, with decimals only where 100 would be crossed.
std::string used_text(const Check& check) {
    if (check.exhausted) return "used up";
    if (!check.used_percent) return {};
    if (*check.used_percent >= 9999) return ">999 % used";
    const double used = *check.used_percent;
    int decimals = 0;
    std::string text = figure(used, decimals);
    while (decimals < 9 && (text == "100") != (used == 100)) text = figure(used, ++decimals);
    return text + " % used";
}

// Whether the value is a reading, worse than the balance: then its share would mislead.
bool is_measured(const Check& check, const TankBudget* budget) {
    if (budget == nullptr) return false;
    switch (check.id) {
        case CheckId::oxygen:
            return check.value && check.value == budget->oxygen.measured_mg_l;
        case CheckId::ammonia:
            return check.value && check.value == budget->ammonia.measured_nh3_mg_l;
        case CheckId::total_ammonia:
            return check.value && check.value == budget->ammonia.measured_tan_mg_l;
        case CheckId::carbon_dioxide:
            return check.value && check.value == budget->carbon_dioxide.measured_mg_l;
        default:
            return false;
    }
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
    const std::size_t taken = columns(line) + columns(used);
    line +=
        used.empty() ? text.limits : cell(text.limits, taken < kWidth ? kWidth - taken : 1) + used;
    return line + '\n';
}

// How far the deciding check is from its limit.
std::string distance_text(const Check& check, const TankBudget* budget, const Display& show) {
    if (check.status == Status::unchecked) return fmt::format("unchecked, needs {}", check.missing);
    if (!check.value) {
        if (gathers(check, budget)) {
            return fmt::format("without flow it reaches its limit in {} h",
                               figure(hours(check, budget).value_or(0)));
        }
        return check.status == Status::fail ? "nothing keeps up with it" : "it holds";
    }
    const Bound& bound = check.status == Status::fail ? check.fail : check.warn;
    const bool below =
        bound.low && (!bound.high || *check.value - *bound.low < *bound.high - *check.value);
    const std::optional<double> limit = below ? bound.low : bound.high;
    const std::string_view name = check.status == Status::fail ? "fail" : "warn";
    if (!limit) return "it holds";
    const bool beyond = below ? *check.value < *limit : *check.value > *limit;
    if (check.status >= Status::warn && !beyond) return "inside its limits, but see its note";
    const double gap = shown_value(check, *check.value, show) - shown_value(check, *limit, show);
    if (check.exhausted && *check.value == 0) {
        return fmt::format("nothing left, its {} limit is {}{}", name,
                           figure(shown_value(check, *limit, show)), unit_of(check, show));
    }
    return fmt::format("{}{} {} its {} limit", figure(std::abs(gap)), unit_of(check, show),
                       check.status == Status::pass ? "inside" : "beyond", name);
}

std::string verdict_line(const TankBudget& budget, const Display& show) {
    const Check& first = *find_check(budget, budget.first_limit);
    std::string share;
    if (first.used_percent && !first.exhausted && !is_measured(first, &budget)) {
        share = fmt::format(", {}", used_text(first));
    }
    // Oxygen kills first: where it stands is said in any case.
    const Check& oxygen = *find_check(budget, CheckId::oxygen);
    if (oxygen.id != first.id && oxygen.status != Status::unchecked) {
        share += fmt::format("; oxygen {}", name_of(oxygen.status));
        const std::string used = is_measured(oxygen, &budget) ? "" : used_text(oxygen);
        if (!used.empty()) share += ", " + used;
    }
    return wrapped("verdict ",
                   fmt::format("{}; first limit {}: {}{}", name_of(budget.verdict),
                               title_of(first.id), distance_text(first, &budget, show), share),
                   2);
}

std::string head_line(const TankBudget& budget, const Display& show) {
    std::string warmest;
    if (budget.peak_temperature_c > budget.temperature_c) {
        warmest = fmt::format(" (warmest {})",
                              show.bare(Measure::temperature_c, budget.peak_temperature_c));
    }
    const std::string name = fmt::format("{}: ", printable(budget.tank));
    const std::string volume = show.with_unit(Measure::volume_l, budget.volume_l);
    const std::string water =
        fmt::format("{}{}", show.with_unit(Measure::temperature_c, budget.temperature_c), warmest);
    if (budget.groups.empty()) {
        return wrapped("", name + fmt::format("no fish in {}, {}", volume, water), 2);
    }
    return wrapped(
        "",
        name + fmt::format("{} fish, {} in {}, {}, {}", exact(budget.fish_count),
                           show.with_unit(Measure::biomass_kg, budget.biomass_kg), volume,
                           show.with_unit(Measure::density_kg_m3, budget.density_kg_m3), water),
        2);
}

std::string in_minutes(std::optional<double> value) {
    return value ? fmt::format("in {} min", figure(*value)) : "never";
}

// "predicted 6.51 mg/L, measured 7.2"
std::string both(std::optional<double> predicted, std::optional<double> measured) {
    std::vector<std::string> parts;
    if (predicted) parts.push_back(fmt::format("{} mg/L", figure(*predicted)));
    if (measured) parts.push_back(fmt::format("measured {} mg/L", figure(*measured)));
    return parts.empty() ? "unknown" : fmt::format("{}", fmt::join(parts, ", "));
}

std::string figure_lines(const TankBudget& budget, const Display& show) {
    std::string out;
    const auto line = [&](std::string label, const std::string& text) {
        out += wrapped(cell("  " + std::move(label), kIndent), text, kIndent);
    };
    const auto daily = [&](double g_day) { return show.with_unit(Measure::daily_mass_g, g_day); };
    const OxygenBudget& oxygen = budget.oxygen;
    line("oxygen",
         fmt::format("needs {} g/h ({} by respiration, {} by feed), {} at peak; can have {} g/h "
                     "at {} mg/L",
                     figure(oxygen.demand_mean_g_h), figure(oxygen.demand_by_respiration_g_h),
                     figure(oxygen.demand_by_feed_g_h), figure(oxygen.demand_peak_g_h),
                     oxygen.supply_known ? figure(oxygen.supply_g_h) : "unknown",
                     figure(oxygen.warn_mg_l)));
    std::string inflow;
    if (oxygen.inflow_mg_l) inflow = fmt::format("; inflow {}", figure(*oxygen.inflow_mg_l));
    line("", fmt::format("mean {}; lowest {}; saturation {}{}", both(oxygen.steady_mean_mg_l, {}),
                         both(oxygen.lowest_mg_l, oxygen.measured_mg_l),
                         figure(oxygen.saturation_mg_l), inflow));
    if (budget.groups.empty()) return out;
    if (const auto& reserve = budget.reserve) {
        std::string flowing;
        if (reserve->flow_continues) {
            flowing = fmt::format("; if only the air stops: stress {}, danger {}",
                                  in_minutes(reserve->flow_continues->minutes_to_stress),
                                  in_minutes(reserve->flow_continues->minutes_to_danger));
        }
        line("reserve", fmt::format("from {} mg/L, if all stops: stress {}, danger {}{}",
                                    figure(reserve->start_mg_l),
                                    in_minutes(reserve->stopped.minutes_to_stress),
                                    in_minutes(reserve->stopped.minutes_to_danger), flowing));
    }
    line("feed",
         fmt::format("{} ({} percent); the table gives {}; solids {}", daily(budget.ration_g_day),
                     figure(budget.ration_g_day / budget.biomass_kg / 10),
                     daily(budget.table_ration_g_day), daily(budget.solids_g_day)));
    const AmmoniaBudget& ammonia = budget.ammonia;
    std::string toxic;
    if (ammonia.unionised_fraction) {
        toxic = fmt::format("; {} percent of it NH3", figure(100 * *ammonia.unionised_fraction));
    }
    line("ammonia", fmt::format("{} as N; total {}{}", daily(ammonia.tan_production_g_day),
                                both(ammonia.tan_mg_l, ammonia.measured_tan_mg_l), toxic));
    const CarbonDioxideBudget& co2 = budget.carbon_dioxide;
    std::string dioxide = daily(co2.production_g_day);
    if (co2.balance_mg_l) {
        dioxide += fmt::format("; balance {} mg/L{}", figure(*co2.balance_mg_l),
                               co2.balance_judged ? "" : " (not judged: the inflow's is unknown)");
    }
    if (co2.from_ph_mg_l) dioxide += fmt::format("; from pH {} mg/L", figure(*co2.from_ph_mg_l));
    if (co2.measured_mg_l) dioxide += fmt::format("; measured {} mg/L", figure(*co2.measured_mg_l));
    if (!ammonia.unionised_fraction && co2.estimated_ph) {
        dioxide += fmt::format("; would make pH {} (an estimate, not judged)",
                               figure(*co2.estimated_ph, 1));
    }
    line("CO2", dioxide);
    for (const GroupBudget& group : budget.groups) {
        if (!group.males_mature) continue;
        line("maturity", fmt::format("{}: of an age at which males{} mature", printable(group.name),
                                     group.females_mature ? " and females" : ""));
    }
    return out;
}

// The check lines with their notes and remedies; whether one has a limit of the description.
struct CheckLines {
    std::string text;
    bool starred = false;
};
CheckLines check_lines(const std::vector<Check>& checks,
                       const std::vector<std::vector<WordedRemedy>>& remedies,
                       const std::vector<std::string>& notes, const TankBudget* budget,
                       bool only_trouble, const Display& show) {
    CheckLines out;
    std::string said_now;
    for (std::size_t i = 0; i < checks.size(); ++i) {
        const Check& check = checks[i];
        if (only_trouble && check.status == Status::pass) continue;
        out.text += check_line(check, budget, show);
        out.starred = out.starred || (check.own_limit && check.status != Status::unchecked);
        if (i < notes.size() && !notes[i].empty()) {
            out.text += wrapped(std::string(kIndent - 2, ' ') + "! ", notes[i], kIndent);
        }
        for (const WordedRemedy& worded : remedies[i]) {
            if (worded.remedy.action == Action::now) {
                if (worded.text == said_now) continue;
                said_now = worded.text;
            }
            out.text += wrapped(std::string(kIndent - 2, ' ') + "- ", worded.text, kIndent);
        }
    }
    return out;
}

std::string tank_text(const TankReport& report, bool only_trouble, const Display& show) {
    const TankBudget& budget = report.budget;
    const CheckLines lines =
        check_lines(budget.checks, report.remedies, report.notes, &budget, only_trouble, show);
    std::string out = head_line(budget, show) + lines.text;
    if (!only_trouble) {
        out += figure_lines(budget, show);
        if (!budget.assumed.empty()) {
            std::vector<std::string> words;
            for (const Assumption assumption : budget.assumed) {
                words.push_back(words_of(assumption));
            }
            out += wrapped(cell("  assumed", kIndent), fmt::format("{}", fmt::join(words, "; ")),
                           kIndent);
        }
        if (lines.starred) out += "  * a limit that the description sets\n";
    }
    out += verdict_line(budget, show);
    if (!report.working.empty()) out += '\n' + report.working;
    return out;
}

std::string loop_figures(const LoopBudget& budget, const Display& show) {
    std::string out;
    const auto line = [&](std::string label, const std::string& text) {
        out += wrapped(cell("  " + std::move(label), kIndent), text, kIndent);
    };
    const auto daily = [&](double g_day) { return show.with_unit(Measure::daily_mass_g, g_day); };
    const auto or_unknown = [](std::optional<double> value) {
        return value ? figure(*value) : std::string("unknown");
    };
    const double turnover = budget.volume_m3 > 0 ? budget.flow_m3_h / budget.volume_m3 : 0;
    line("round",
         fmt::format("{} through {}, {} times an hour; {}/day exchanged",
                     show.with_unit(Measure::flow_l_min, budget.flow_m3_h * 1000 / 60),
                     show.with_unit(Measure::volume_l, budget.volume_m3 * 1000), figure(turnover),
                     show.with_unit(Measure::volume_l, budget.exchange_m3_day * 1000)));
    line("feed", fmt::format("{}; solids to take out {}", daily(budget.feed_g_day),
                             daily(budget.solids_g_day)));
    line("ammonia",
         fmt::format("{} as N made; {} nitrified (the filter takes {} at most), {} "
                     "exchanged; supply {}, return {} mg/L",
                     daily(budget.tan_production_g_day), daily(budget.nitrified_g_day),
                     daily(budget.filter_capacity_g_day), daily(budget.exchanged_g_day),
                     or_unknown(budget.supply_tan_mg_l), or_unknown(budget.return_tan_mg_l)));
    if (budget.feed_bearable_g_day) {
        line("",
             fmt::format("filter and exchange bear {} of feed in all, to keep every tank at its "
                         "ammonia limit",
                         daily(*budget.feed_bearable_g_day)));
    }
    line("oxygen",
         fmt::format("the supply brings {} mg/L, {} at peak; the filter takes {} g/h",
                     or_unknown(budget.supply_oxygen_mg_l),
                     or_unknown(budget.supply_oxygen_peak_mg_l), figure(budget.filter_oxygen_g_h)));
    line("CO2", fmt::format("the supply brings {} mg/L at peak",
                            or_unknown(budget.supply_carbon_dioxide_mg_l)));
    std::string nitrate = budget.nitrate_mg_l
                              ? fmt::format("settles at {} mg/L as N", figure(*budget.nitrate_mg_l))
                              : std::string("rises without exchange");
    if (budget.nitrate_rise_mg_l_day) {
        nitrate = fmt::format("moves by {} mg/L a day", figure(*budget.nitrate_rise_mg_l_day));
    }
    if (budget.nitrate_days_to_warn) {
        nitrate += fmt::format(", its limit in {} days", figure(*budget.nitrate_days_to_warn));
    }
    line("nitrate", fmt::format("{}; plants take {}", nitrate, daily(budget.plants_g_day)));
    const double dose = budget.alkalinity_dose_g_day;
    const std::string soda =
        fmt::format("{} g of sodium bicarbonate", figure(dose * kNaHCO3PerCaCO3));
    const std::string others =
        fmt::format("{} g of potassium bicarbonate or {} g of calcium hydroxide",
                    figure(dose * kKHCO3PerCaCO3), figure(dose * kCaOH2PerCaCO3));
    std::string how = fmt::format("{}, {}", soda, others);
    if (budget.planted) {
        const std::string builds =
            budget.exchange_m3_day > 0
                ? fmt::format("settles at {} mg/L",
                              figure(budget.sodium_g_day / budget.exchange_m3_day))
                : fmt::format(
                      "rises by {} mg/L a day",
                      figure(budget.volume_m3 > 0 ? budget.sodium_g_day / budget.volume_m3 : 0));
        how = fmt::format("{} ({} would do, but its sodium {})", others, soda, builds);
    }
    line("buffer",
         dose > 0
             ? fmt::format("{} as CaCO3 used up, {} of it to add: {}; each day, in small doses",
                           daily(budget.alkalinity_demand_g_day), daily(dose), how)
             : fmt::format("{} as CaCO3 used up; the make-up brings it back",
                           daily(budget.alkalinity_demand_g_day)));
    return out;
}

std::string loop_text(const LoopReport& report, bool only_trouble, const Display& show) {
    const LoopBudget& budget = report.budget;
    const CheckLines lines =
        check_lines(budget.checks, report.remedies, report.notes, nullptr, only_trouble, show);
    std::string out = wrapped("", fmt::format("loop {}", printable(budget.loop)), 2) + lines.text;
    if (!only_trouble) {
        out += loop_figures(budget, show);
        if (lines.starred) out += "  * a limit that the description sets\n";
    }
    const Check& first = *find_check(budget, budget.first_limit);
    out += wrapped("verdict ",
                   fmt::format("{}; first limit {}: {}", name_of(budget.verdict),
                               title_of(first.id), distance_text(first, nullptr, show)),
                   2);
    if (!report.working.empty()) out += '\n' + report.working;
    return out;
}

}  // namespace

std::string words_of(Assumption assumption) {
    switch (assumption) {
        case Assumption::peak_is_mean:
            return "the warmest hour is no warmer than the mean";
        case Assumption::table_ration:
            return "fed by the table";
        case Assumption::protein:
            return fmt::format("{} percent protein in the feed", exact(kProteinPercent));
        case Assumption::inflow_without_tan:
            return "no ammonia in the inflow";
        case Assumption::inflow_co2_as_air:
            return "carbon dioxide of the inflow unknown (springs and wells carry much)";
        case Assumption::reserve_from_saturation:
            return "the reserve starts from saturated water";
        case Assumption::response_time:
            return "someone is there to act in time (30 min unless limits say otherwise)";
    }
    return {};
}

std::string text_of(const Report& report, bool only_trouble, const Display& show) {
    std::string out;
    const std::string place = report.line
                                  ? fmt::format("{} line {}", printable(report.file), *report.line)
                                  : printable(report.file);
    if (!report.site) {
        return wrapped("", fmt::format("{}: no budget: the description could not be read", place),
                       2);
    }
    std::string air = show.with_unit(Measure::pressure_kpa, report.pressure_kpa);
    if (report.site->altitude_m)
        air = fmt::format("{}, {}", show.with_unit(Measure::altitude_m, *report.site->altitude_m),
                          air);
    out += wrapped(
        "", fmt::format("{} ({}): {}", printable(report.site->name), air, name_of(report.verdict)),
        2);
    for (const std::string& warning : report.warnings)
        out += wrapped(cell("warn", kIndent), warning, kIndent);
    for (const TankReport& tank : report.tanks) {
        if (only_trouble && tank.budget.verdict == Status::pass) continue;
        out += '\n' + tank_text(tank, only_trouble, show);
    }
    for (const LoopReport& loop : report.loops) {
        if (only_trouble && loop.budget.verdict == Status::pass) continue;
        out += '\n' + loop_text(loop, only_trouble, show);
    }
    if (!report.errors.empty()) {
        out += '\n' + wrapped("",
                              fmt::format("{}: parts could not be read and have no budget; see "
                                          "the errors",
                                          place),
                              2);
    }
    return out;
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
