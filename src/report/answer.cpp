// What is wrong and what to do, in few words: the first lines of every page.
#include "report/answer.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "text/text.hpp"

namespace coldtank::io {

const Check& worst_check(const PagePart& part) {
    const Check* worst = nullptr;
    for (const Check& check : *part.checks) {
        if (check.status != part.verdict) continue;
        if (check.id == CheckId::oxygen && check.status >= Status::warn) return check;
        if (worst == nullptr || check.id == part.first_limit) worst = &check;
    }
    return *worst;
}

namespace {

// "6.50 mg/L where 6 is wanted", "57.4 kg/m3, 25 at most".
std::string limit_words(const Check& check, const TankBudget* budget, const Display& show,
                        const std::string& behind = "") {
    const CheckText text = check_text(check, budget, show);
    const Bound& bound = check.status == Status::fail && (check.fail.low || check.fail.high)
                             ? check.fail
                             : check.warn;
    const bool low =
        bound.low && (!bound.high || *check.value - *bound.low < *bound.high - *check.value);
    const auto limit = low ? bound.low : bound.high;
    if (deciding(check) != nullptr || !check.value || !limit || text.limits.empty()) {
        return text.limits.empty() ? text.value + behind
                                   : fmt::format("{}{} ({})", text.value, behind, text.limits);
    }
    const std::string shown = figure(shown_value(check, *limit, show));
    return low ? fmt::format("{}{} where {} is {}", text.value, behind, shown,
                             check.status == Status::fail ? "the least" : "wanted")
               : fmt::format("{}{}, {} at most", text.value, behind, shown);
}

// "4.90 mg/L", as it was read, never rounded across a limit.
std::string read_words(const Check& oxygen, const TankBudget& budget) {
    const std::array limits{oxygen.warn.low.value(), oxygen.fail.low.value()};
    return compared(*budget.oxygen.measured_mg_l, limits).value + " mg/L";
}

// Whether a temperature is that of the warmest hour, which nobody has measured yet.
bool is_warmest_hour(const Check& check, const TankBudget* budget) {
    return check.id == CheckId::temperature && budget != nullptr && check.value &&
           *check.value > budget->temperature_c;
}

// " measured 05:10"
std::string measured_words(const PagePart& part) {
    const UsedReading* reading = reading_of(part.readings, "oxygen_mg_l");
    return reading == nullptr ? " measured" : fmt::format(" measured {}", when_words(*reading));
}

// "; room for 14 more of this size"
std::string room_words(const TankReport& tank, const Display& show) {
    constexpr double kNoLimit = 1e9;
    if (!tank.capacity || !tank.capacity->stock) return {};
    const TankCapacity& capacity = *tank.capacity;
    const double fits = capacity.wrong_temperature ? 0 : capacity.stock->count;
    const double more = std::floor(fits - tank.budget.fish_count);
    if (fits > kNoLimit) return {};
    // A cooler day than is planned for passes; the one that is described does not.
    if (more < 0 && tank.input.water.planned_peak_temperature_c > tank.budget.peak_temperature_c) {
        return fmt::format(
            "; on a day of {}, as described, it holds {}",
            show.with_unit(Measure::temperature_c, *tank.input.water.planned_peak_temperature_c),
            fits == 0 ? "none" : exact(fits));
    }
    if (more < 1) return "; no room for more";
    const auto fish = std::count_if(tank.input.fish.begin(), tank.input.fish.end(),
                                    [](const FishGroup& group) { return group.count > 0; });
    return fmt::format("; room for {}{} more {}{}", capacity.unchecked.empty() ? "" : "at most ",
                       exact(more), fish > 1 ? "in this proportion" : "of this size",
                       tank.input.loop || tank.in_row ? " in this tank alone" : "");
}

}  // namespace

std::string sentence_of(const PagePart& part, const Display& show) {
    const TankBudget* budget = part.budget;
    if (budget != nullptr && budget->groups.empty() && part.verdict < Status::warn) {
        return "no fish in it";
    }
    const Check& check = worst_check(part);
    const std::string title = title_of(check.id);
    if (check.status == Status::unchecked) {
        return fmt::format("all that could be judged passes; {} needs {}", title, check.missing);
    }
    if (check.status == Status::pass) {
        const bool low = check.warn.low && !check.warn.high;
        return fmt::format("{} {}, {}{}", title,
                           low ? "runs short first" : "is nearest to its limit",
                           limit_words(check, budget, show),
                           part.tank == nullptr ? "" : room_words(*part.tank, show));
    }
    if (is_warmest_hour(check, budget)) {
        return fmt::format("temperature could reach {}",
                           limit_words(check, budget, show, " in the warmest hour"));
    }
    if (check.id == CheckId::readings) {
        const auto at = static_cast<std::size_t>(&check - part.checks->data());
        return (*part.notes)[at].empty() ? title : (*part.notes)[at];
    }
    if (budget != nullptr && check.id == CheckId::oxygen) {
        const OxygenBudget& oxygen = budget->oxygen;
        if (is_measured(check, budget) && deciding(check) == nullptr) {
            return fmt::format("oxygen {}", limit_words(check, budget, show, measured_words(part)));
        }
        if (is_measured(check, budget)) {  // how far it falls is not known
            return fmt::format(
                "oxygen {}{}; {} ({})", read_words(check, *budget), measured_words(part),
                check.exhausted ? "then it falls to nothing" : "short in the warmest hour",
                check_text(check, budget, show).limits);
        }
        if (oxygen.measured_mg_l && check.value) {
            return fmt::format("oxygen {}{}; could fall to {}", read_words(check, *budget),
                               measured_words(part),
                               limit_words(check, budget, show, " in the warmest hour"));
        }
        if (check.status == Status::fail && oxygen.supply_known &&
            oxygen.demand_peak_g_h > oxygen.supply_g_h) {
            return fmt::format(
                "{} fish need {} of oxygen an hour in the warmest hour; to stay at {} mg/L {}",
                exact(budget->fish_count), show.with_unit(Measure::dose_g, oxygen.demand_peak_g_h),
                figure(oxygen.warn_mg_l),
                oxygen.supply_g_h > 0 ? fmt::format("air and water bring {}",
                                                    show.bare(Measure::dose_g, oxygen.supply_g_h))
                                      : std::string("nothing here brings any"));
        }
    }
    return fmt::format("{} {}", title, limit_words(check, budget, show));
}

namespace {

constexpr std::size_t kPhone = 70;  // columns that a phone shows of a mail

// What is wrong, in few words; what to do in a word or two, the most urgent first.
struct InShort {
    std::string wrong;
    std::vector<std::string> act;
};

// What to do at once where a check fails.
std::vector<std::string> acts_of(const Check& check) {
    switch (check.id) {
        case CheckId::oxygen:
            return {"stop feeding", "add air"};
        case CheckId::oxygen_reserve:
            return {"keep backup air ready"};
        case CheckId::ammonia:
        case CheckId::total_ammonia:
        case CheckId::nitrite:
        case CheckId::biofilter:
        case CheckId::loop_flow:
            return {"stop feeding", "change water"};
        case CheckId::carbon_dioxide:
            return {"aerate", "open the room"};
        case CheckId::temperature:
            return {"do not feed or handle", "add air"};
        case CheckId::chlorine:
            return {"add air", "shut that inflow"};
        case CheckId::oxygen_excess:
            return {"turn the oxygen down"};
        case CheckId::deaths:
            return {"measure oxygen", "take the dead out"};
        case CheckId::readings:
        case CheckId::input_doubt:
            return {"measure again", "look at the sensor"};
        default:
            return {"read on"};
    }
}

// What is wrong with the readings: a low that has passed, a row, or the age of one.
std::string readings_in_short(const Check& check, const PagePart& part) {
    const TankReadings* readings = part.readings;
    const Because* because = deciding(check);
    if (readings != nullptr && because != nullptr && because->reason == Reason::low_has_passed) {
        return fmt::format("was down to {} mg/L", figure(readings->lowest->oxygen_mg_l));
    }
    if (because != nullptr && because->reason == Reason::row_not_used) {
        return "a reading could not be used";
    }
    if (readings != nullptr) {
        const UsedReading* old = nullptr;  // oxygen kills first
        for (const UsedReading& each : readings->list) {
            if (!each.used && (old == nullptr || each.column == "oxygen_mg_l")) old = &each;
        }
        if (old != nullptr) return fmt::format("{} {} h old", old->column, figure(old->age_h));
    }
    return fmt::format("readings {}", check_text(check, part.budget, Display()).value);
}

InShort in_short(const PagePart& part, const Display& show) {
    const Check& check = worst_check(part);
    const TankBudget* budget = part.budget;
    if (check.status == Status::unchecked) {
        // Up to what it is for.
        const std::string_view missing = check.missing.substr(0, check.missing.find_first_of(",;"));
        return {fmt::format("{} needs {}", title_of(check.id), missing), {}};
    }
    const std::string value = check_text(check, budget, show).value;
    InShort out;
    const bool at_once = !part.now->empty() || is_low_read(part) || check.id == CheckId::readings ||
                         check.id == CheckId::deaths || check.id == CheckId::oxygen_reserve;
    if (at_once) {
        out.act = acts_of(check);
    } else if (std::string change = first_change_of(part, show, true); !change.empty()) {
        out.act = {std::move(change)};
    }
    switch (check.id) {
        case CheckId::oxygen:
            out.wrong = status_of_reading(check, budget) >= Status::warn
                            ? read_words(check, *budget) + measured_words(part)
                        : is_measured(check, budget) && deciding(check) != nullptr
                            ? "oxygen " + (check.exhausted ? "falls to nothing"
                                                           : check_text(check, budget, show).limits)
                        : check.value && !is_measured(check, budget)
                            ? "oxygen could fall to " + value
                            : "oxygen " + value;
            break;
        case CheckId::oxygen_reserve:
            out.wrong = fmt::format("danger {} after a stop", value);
            break;
        case CheckId::deaths:
            out.wrong = value + " died";
            break;
        case CheckId::temperature:
            out.wrong = (is_warmest_hour(check, budget) ? "could reach " : "") + value;
            break;
        case CheckId::readings:
            out.wrong = readings_in_short(check, part);
            break;
        default:
            out.wrong = fmt::format("{} {}", title_of(check.id), value);
            break;
    }
    return out;
}

}  // namespace

std::string phone_line(const PagePart& part, const Display& show, const std::string& site) {
    InShort words = in_short(part, show);
    const UsedReading* fed = part.tank != nullptr && part.tank->input.fish.size() == 1
                                 ? reading_of(part.readings, "ration_g_day")
                                 : nullptr;
    constexpr double kManyG = 1000;
    std::string fed_words;
    if (fed != nullptr) {
        fed_words = ", fed " + (fed->value < kManyG
                                    ? show.with_unit(Measure::dose_g, fed->value)
                                    : show.with_unit(Measure::biomass_kg, fed->value / 1000));
    }
    const std::size_t kShortTitle = site.empty() ? 20 : 34;
    std::string title = site.empty() ? part.title : fmt::format("{} ({})", part.title, site);
    for (int step = 0;; ++step) {
        std::string line = fmt::format("{} {}: {}{}", name_of(part.verdict), title, words.wrong,
                                       step < 1 ? fed_words : "");
        if (!words.act.empty()) line += fmt::format(": {}", joined(words.act, ", "));
        if (columns(line) <= kPhone) return line;
        if (step == 1) title = cut_to(title, kShortTitle);
        if (step >= 2 && words.act.empty()) return cut_to(line, kPhone);
        if (step >= 2) words.act.pop_back();
    }
}

namespace {

// What of its ways is done first, or against what is worst; null: nothing. Salt is against nitrite:
// it comes first where nothing else is short.
const Remedy* first_remedy_of(const PagePart& part) {
    const Check& worst = worst_check(part);
    for (const bool salt : {worst.id == CheckId::nitrite, true}) {
        for (const WordedPlan& plan : *part.plans) {
            for (const WordedRemedy& change : plan.changes) {
                if (salt || change.remedy.action != Action::add_chloride) return &change.remedy;
            }
        }
    }
    const auto& against = (*part.remedies)[static_cast<std::size_t>(&worst - part.checks->data())];
    return against.empty() ? nullptr : &against.front().remedy;
}

}  // namespace

std::string first_change_of(const PagePart& part, const Display& show, bool with_unit) {
    if (!part.plans->empty() && part.plans->front().changes.empty() && !part.ways_are_in.empty()) {
        return part.tank == nullptr ? "its tanks" : part.tank->in_row ? "its row" : "its loop";
    }
    const Remedy* first = first_remedy_of(part);
    if (first == nullptr) return {};
    const double value = first->value.value_or(0);
    const auto shown = [&](std::string_view word, Measure measure, Safe safe) {
        return fmt::format("{}{}{}", word, show.safe(measure, value, safe),
                           with_unit ? fmt::format(" {}", show.unit(measure)) : "");
    };
    switch (first->action) {
        case Action::take_out_fish:
            return fmt::format("out {}{}", exact(value), with_unit ? " fish" : "");
        case Action::grade:
            return fmt::format("grade {}", exact(value));
        case Action::cut_ration:
            return shown("feed ", Measure::daily_mass_g, Safe::down);
        case Action::add_air:
            return shown("air +", Measure::air_flow_l_min, Safe::up);
        case Action::add_oxygen:
            return shown("O2 +", Measure::oxygen_flow_l_min, Safe::up);
        case Action::cut_oxygen:
            return shown("O2 ", Measure::oxygen_flow_l_min, Safe::down);
        case Action::add_inflow:
            return shown("water +", Measure::flow_l_min, Safe::up);
        case Action::add_media:
            return shown("media +", Measure::area_m2, Safe::up);
        case Action::add_removal:
            return "more filter";
        case Action::raise_exchange:
            return shown("change ", Measure::volume_l, Safe::up);
        case Action::add_aerator:
            return "aerator";
        case Action::add_chloride:
            return "salt";
        case Action::raise_flow:
        case Action::raise_round:
            return shown("water ", Measure::flow_l_min, Safe::up);
        case Action::enlarge:
            return shown("room ", Measure::volume_l, Safe::up);
        case Action::cool:
            return shown("cool ", Measure::temperature_c, Safe::down);
        default:  // no word or two would do
            return part.plans->empty() ? "" : "see below";
    }
}

SiteRow site_head(const Display& show) {
    return {nullptr,       "fish",    std::string(show.unit(Measure::biomass_kg)),
            "O2 low",      "read",    "min",
            "short first", "do first"};
}

std::vector<SiteRow> site_rows(const std::vector<PagePart>& parts, const Display& show) {
    constexpr double kLeastMass = 0.01;
    std::vector<SiteRow> rows;
    for (const PagePart& part : parts) {
        SiteRow& row = rows.emplace_back();
        row.part = &part;
        row.first = with_blanks(name_of(worst_check(part).id));
        row.act = part.now->empty() ? first_change_of(part, show) : "NOW, below";
        const TankBudget* budget = part.budget;
        if (budget == nullptr) continue;
        const OxygenBudget& oxygen = budget->oxygen;
        const auto against_limits = [&](double mg_l) {
            const Bound& fail = find_check(*budget, CheckId::oxygen)->fail;
            return compared(mg_l, std::array{oxygen.warn_mg_l, fail.low.value()}).value;
        };
        row.fish = exact(budget->fish_count);
        const double mass = show.value(Measure::biomass_kg, budget->biomass_kg);
        row.mass = mass > 0 && mass < kLeastMass
                       ? "<0.01"
                       : show.bare(Measure::biomass_kg, budget->biomass_kg);
        row.lowest = oxygen.lowest_mg_l ? against_limits(*oxygen.lowest_mg_l) : "?";
        row.read = oxygen.measured_mg_l ? against_limits(*oxygen.measured_mg_l) : "-";
        const auto minutes =
            budget->reserve ? budget->reserve->stopped.minutes_to_danger : std::nullopt;
        row.stops = minutes ? figure(std::floor(*minutes), 0) : "-";
    }
    std::stable_sort(rows.begin(), rows.end(), [](const SiteRow& a, const SiteRow& b) {
        return a.part->verdict > b.part->verdict;
    });
    return rows;
}

bool asks_for_air(const PagePart& part) {
    return std::any_of(part.plans->begin(), part.plans->end(), [](const WordedPlan& plan) {
        return std::any_of(plan.changes.begin(), plan.changes.end(), [](const WordedRemedy& each) {
            return each.remedy.action == Action::add_air;
        });
    });
}

std::size_t common_changes(const PagePart& part) {
    if (part.plans->size() < 2) return 0;
    std::size_t common = part.plans->front().changes.size();
    for (const WordedPlan& plan : *part.plans) {
        const auto& first = part.plans->front().changes;
        const std::size_t most = std::min(common, plan.changes.size());
        common = 0;
        while (common < most && plan.changes[common].text == first[common].text) ++common;
    }
    return common;
}

std::string plan_words(const WordedPlan& plan, const PagePart& part, std::size_t from) {
    std::vector<std::string> changes;
    for (std::size_t i = from; i < plan.changes.size(); ++i) {
        changes.push_back(plan.changes[i].text);
    }
    // "oxygen still fails", "exchange warns", and what waits for a reading.
    std::vector<std::string> then;
    for (const auto& [status, word] :
         {std::pair{Status::fail, "fail"}, std::pair{Status::warn, "warn"}}) {
        for (const bool still : {true, false}) {
            std::vector<std::string> names;
            for (const PartOutcome::Left& left : plan.outcome.left) {
                const auto same = [&](const Check& check) { return check.id == left.check; };
                const auto today = std::find_if(part.checks->begin(), part.checks->end(), same);
                const bool stands = today != part.checks->end() && today->status >= Status::warn;
                if (left.status == status && stands == still && !left.until_measured) {
                    names.push_back(title_of(left.check));
                }
            }
            if (names.empty()) continue;
            then.push_back(fmt::format("{}{} {}{}", joined(names, ", "), still ? " still" : "",
                                       word, names.size() > 1 ? "" : "s"));
        }
    }
    std::vector<std::string> read;
    for (const PartOutcome::Left& left : plan.outcome.left) {
        if (left.until_measured) read.push_back(title_of(left.check));
    }
    if (!read.empty()) {
        then.push_back(fmt::format("{} {} until measured again", joined(read, ", "),
                                   read.size() > 1 ? "stand" : "stands"));
    }
    if (then.empty()) {
        then.emplace_back(plan.outcome.verdict == Status::pass ? "all passes" : "nothing warns");
    }
    return fmt::format("{}: then {}",
                       changes.empty() ? from > 0        ? "nothing more"
                                         : !read.empty() ? "nothing to buy: look why the reading "
                                                           "is worse than what is described"
                                                         : "nothing to change here"
                                       : joined(changes, "; "),
                       joined(then, "; "));
}

}  // namespace coldtank::io
