// What is wrong and what to do, in few words: the first lines of every page.
#include "report/answer.hpp"

#include <fmt/core.h>

#include <algorithm>

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
std::string limit_words(const Check& check, const TankBudget* budget, const Display& show) {
    const CheckText text = check_text(check, budget, show);
    const Bound& bound = check.status == Status::fail && (check.fail.low || check.fail.high)
                             ? check.fail
                             : check.warn;
    const bool low =
        bound.low && (!bound.high || *check.value - *bound.low < *bound.high - *check.value);
    const auto limit = low ? bound.low : bound.high;
    if (deciding(check) != nullptr || !check.value || !limit || text.limits.empty()) {
        return text.limits.empty() ? text.value : fmt::format("{} ({})", text.value, text.limits);
    }
    const std::string shown = figure(shown_value(check, *limit, show));
    return low ? fmt::format("{} where {} is {}", text.value, shown,
                             check.status == Status::fail ? "the least" : "wanted")
               : fmt::format("{}, {} at most", text.value, shown);
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
        return fmt::format("{} {}, {}", title, low ? "runs short first" : "is nearest to its limit",
                           limit_words(check, budget, show));
    }
    if (check.id == CheckId::readings) {
        const auto at = static_cast<std::size_t>(&check - part.checks->data());
        return (*part.notes)[at].empty() ? title : (*part.notes)[at];
    }
    if (budget != nullptr && check.id == CheckId::oxygen) {
        if (is_measured(check, budget) && deciding(check) == nullptr) {
            return fmt::format("oxygen measured at {}", limit_words(check, budget, show));
        }
        const OxygenBudget& oxygen = budget->oxygen;
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

std::string first_change_of(const PagePart& part, const Display& show) {
    for (const WordedPlan& plan : *part.plans) {
        if (plan.changes.empty()) continue;
        const Remedy& first = plan.changes.front().remedy;
        const double value = first.value.value_or(0);
        const auto shown = [&](std::string_view word, Measure measure, Safe safe) {
            return fmt::format("{}{}", word, show.safe(measure, value, safe));
        };
        switch (first.action) {
            case Action::take_out_fish:
                return fmt::format("out {}", exact(value));
            case Action::grade:
                return fmt::format("grade {}", exact(value));
            case Action::cut_ration:
                return shown("feed ", Measure::daily_mass_g, Safe::down);
            case Action::add_air:
                return shown("air +", Measure::air_flow_l_min, Safe::up);
            case Action::raise_flow:
                return shown("water ", Measure::flow_l_min, Safe::up);
            case Action::enlarge:
                return shown("room ", Measure::volume_l, Safe::up);
            case Action::cool:
                return shown("cool ", Measure::temperature_c, Safe::down);
            default:
                return std::string(name_of(first.action) == "add_aerator" ? "aerator"
                                                                          : "see below");
        }
    }
    return {};
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
        then.push_back(fmt::format("measure {} again, which today's reading fails or warns of",
                                   joined(read, ", ")));
    }
    if (then.empty()) {
        then.emplace_back(plan.outcome.verdict == Status::pass ? "all passes" : "nothing warns");
    }
    return fmt::format(
        "{}: then {}",
        changes.empty() ? from > 0 ? "no more" : "nothing to change here" : joined(changes, "; "),
        joined(then, "; "));
}

}  // namespace coldtank::io
