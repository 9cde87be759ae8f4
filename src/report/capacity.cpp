#include "report/capacity.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <iterator>

#include "report/contents.hpp"
#include "report/page_parts.hpp"
#include "report/words.hpp"
#include "text/csv.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

enum class PageStyle { text, markdown };

std::string names_of(const std::vector<CheckId>& checks) {
    std::vector<std::string> names;
    for (const CheckId id : checks) names.push_back(with_blanks(name_of(id)));
    return joined(names, ", ");
}

std::string_view words_of(Uncertain input) {
    switch (input) {
        case Uncertain::demand_rule:
            return "the rule of demand (by respiration or by feed alone, not the larger)";
        case Uncertain::oxygen_per_feed:
            return "oxygen per feed, 220-500 g/kg";
        case Uncertain::peak_factor:
            return "the day's peak, 1.3-1.5 x the mean";
        case Uncertain::diffuser_share:
            break;
    }
    return "what the diffusers transfer, 0.6-1.6 x the stated";
}

// Why a check has no count.
std::string no_count(const TankCapacity& capacity, CheckId id) {
    const auto& unchecked = capacity.unchecked;
    return std::find(unchecked.begin(), unchecked.end(), id) != unchecked.end() ? "not judged"
                                                                                : "no limit";
}

std::string_view level_words(Level level) {
    return level == Level::warn ? "every stock check passes" : "no stock check fails";
}

double mean_weight_of(const Tank& tank) {
    double count = 0;
    double grams = 0;
    for (const FishGroup& group : tank.fish) {
        count += group.count;
        grams += group.count * group.mean_weight_g;
    }
    return count > 0 ? grams / count : 0;
}

// "rainbow trout", or "fish" where there are several kinds.
std::string kind_of(const Tank& tank) {
    std::string kind;
    for (const FishGroup& group : tank.fish) {
        if (group.count == 0) continue;
        const std::string own = printable(group.species_name);
        if (!kind.empty() && kind != own) return "fish";
        kind = own;
    }
    return kind.empty() ? "fish" : kind;
}

// The weight of the same fish some months on: half as much again, and a round number.
double grown_from(double mean_weight_g) {
    constexpr double kGrowth = 1.6;
    const double scale = std::pow(10, std::floor(std::log10(mean_weight_g)));
    return std::round(kGrowth * mean_weight_g / scale * 2) / 2 * scale;
}

// "fail carbon dioxide 15.9 mg/L"
std::string today_words(const std::vector<Check>& over, const TankBudget& budget,
                        const Display& show) {
    std::vector<std::string> words;
    for (const Check& check : over) {
        const CheckText text = check_text(check, &budget, show);
        words.push_back(
            fmt::format("{} {} {}", name_of(check.status), title_of(check.id), text.value));
    }
    return joined(words, ", ");
}

// Limits and coefficients that decide what some of a system's tanks, or one, can carry.
std::vector<OwnNumber> own_numbers_of(const System& system, std::span<const Tank> tanks) {
    std::vector<OwnNumber> all;
    for (const Tank& tank : tanks) append(all, own_limits_of(tank));
    if (system.loop) append(all, own_limits_of(*system.loop));
    append(all, own_coefficients(tanks.front().coefficients,
                                 system.loop ? Felt::everywhere : Felt::in_tank));
    return all;
}

// "(today's readings: fail oxygen 4.2 mg/L; find out why first)"
std::string today_in_brackets(const CapacityDoubts& doubts) {
    return doubts.today.empty()
               ? ""
               : fmt::format(" (today's readings: {}; find out why first)", doubts.today);
}

// " by your limits (oxygen warn 1, usually 6; by the usual ones 12 fish)"
std::string own_in_brackets(const CapacityDoubts& doubts, double count, const Display& show) {
    if (!doubts.usual_count || *doubts.usual_count == count) return {};
    return fmt::format(" by {} ({}; by the usual ones {} fish)", owner_words(doubts.own_limits),
                       words_of(doubts.own_limits, show), exact(*doubts.usual_count));
}

bool is_warmer_with_mg_l(const Tank& asked, const Tank& described) {
    return asked.water.temperature_c > described.water.temperature_c &&
           std::any_of(described.inflow.begin(), described.inflow.end(), [](const Inflow& inflow) {
               return inflow.flow_l_min > 0 && inflow.oxygen_mg_l;
           });
}

void ask_fit(const System& system, std::size_t index, double count, const Display& show,
             CapacityAnswer& answer) {
    const FitPlan fit = plan_fit(system, index, count, sold_by(show));
    const Planned& on = *fit.plan.on;
    answer.cut_short = fit.plan.cut_short;
    answer.asked_count = count;
    answer.fit = fit.verdict;
    answer.too_many_for = fit.too_many_for;
    Check check{};
    const Check* co2 = find_check(on.budget.tanks[index], CheckId::carbon_dioxide);
    check.id =
        co2 != nullptr && co2->status >= Status::warn ? CheckId::carbon_dioxide : CheckId::oxygen;
    for (const Remedy& remedy : fit.plan.remedies) {
        answer.remedies.push_back(
            {remedy, words_of(remedy, on.system, on.budget, {index}, check, show)});
    }
}

// A system, and its budgets with and without today's readings.
struct Asked {
    const System& system;
    SystemBudget today;
    SystemBudget without;
    std::span<const OwnAccuracy> accuracy;
};

// A quarter of the worlds of a spread: in each a whole capacity is searched.
constexpr std::size_t kSureDraws = 1024;
std::optional<double> sure_count(const Asked& asked, const System& system,
                                 std::optional<std::size_t> tank,
                                 const CapacityQuestion& question) {
    if (!question.sure_percent) return std::nullopt;
    return sure_capacity(system, tank, question.level, *question.sure_percent,
                         {.draws = kSureDraws, .base = 0, .own = asked.accuracy});
}
std::string sure_words(double count, const CapacityQuestion& question,
                       const std::optional<double>& asked) {
    return fmt::format(
        "{} fish keep the limits of these checks in {} of 100 worlds that fit what is known (see "
        "spread){}{}",
        exact(count), exact(*question.sure_percent),
        count == 0 ? ": too warm in the others, or one fish is too many" : "",
        asked > count ? fmt::format("; {} are more than is sure", exact(*asked)) : "");
}

CapacityAnswer answer_for(const Asked& asked, std::size_t index, const CapacityQuestion& question,
                          const Display& show) {
    const System& system = asked.system;
    const Tank& tank = system.tanks[index];
    CapacityAnswer answer;
    answer.tank = tank.name;
    answer.others_stay = system.tanks.size() > 1;
    std::vector<std::optional<double>> temperatures(question.temperatures_c.begin(),
                                                    question.temperatures_c.end());
    std::vector<std::optional<double>> weights(question.mean_weights_g.begin(),
                                               question.mean_weights_g.end());
    if (temperatures.empty()) temperatures.emplace_back();
    if (weights.empty()) weights.emplace_back();
    CapacityDoubts& doubts = answer.doubts;
    doubts.over_today = over_by_readings(asked.today, asked.without, index, question.level);
    if (!doubts.over_today.empty()) {
        doubts.today = today_words(doubts.over_today, asked.today.tanks[index], show);
    }
    System first = system;
    System other = system;
    const bool table = temperatures.size() * weights.size() > 1;
    const Detail detail = table && !question.each_check ? Detail::total : Detail::each_check;
    for (const auto& temperature_c : temperatures) {
        for (const auto& mean_weight_g : weights) {
            const Tank changed = varied(tank, {temperature_c, mean_weight_g, question.species,
                                               question.species_name, question.usual_species});
            other.tanks[index] = changed;
            take_water_from_above(other.tanks);
            if (answer.cells.empty()) first = other;
            answer.inflow_kept = answer.inflow_kept || is_warmer_with_mg_l(changed, tank);
            answer.cells.push_back(
                {temperature_c, mean_weight_g, capacity_of(other, index, question.level, detail)});
        }
    }
    answer.mean_weight_g = mean_weight_of(first.tanks[index]);
    answer.kind = kind_of(first.tanks[index]);
    answer.water = without_todays_readings(first.tanks[index]).water;
    doubts.own_limits = own_numbers_of(first, std::span(first.tanks).subspan(index, 1));
    if (!doubts.own_limits.empty()) {
        const TankCapacity usual =
            capacity_of(as_usual(first), index, question.level, Detail::total);
        if (usual.stock) doubts.usual_count = usual.stock->count;
    }
    const TankBudget as_asked = assess_tank(first.tanks[index], {}, {system.pressure_kpa});
    answer.unfed = !as_asked.groups.empty() && as_asked.ration_g_day == 0;
    if (!answer.cells[0].capacity.has_fish && (question.for_count || question.for_kg)) {
        answer.fit = Status::warn;  // not answered
    }
    if (answer.cells.size() > 1 || !answer.cells[0].capacity.has_fish) return answer;
    answer.sure_count = sure_count(asked, first, index, question);
    answer.range = capacity_range(first, index, question.level);
    if (const double grown_g = grown_from(answer.mean_weight_g);
        kWeightRange.holds(grown_g) && !answer.unfed) {
        Variation grown;
        grown.mean_weight_g = grown_g;
        other.tanks[index] = varied(first.tanks[index], grown);
        answer.grown =
            CapacityCell{{}, grown_g, capacity_of(other, index, question.level, Detail::total)};
    }
    if (question.for_count || question.for_kg) {
        const double count = question.for_count
                                 ? *question.for_count
                                 : std::ceil(*question.for_kg * 1000 / answer.mean_weight_g);
        if (count > 0) ask_fit(first, index, count, show, answer);
        // No more fish than now, and the readings are over: so will they be.
        double present = 0;
        for (const FishGroup& group : tank.fish) present += group.count;
        for (const Check& check : doubts.over_today) {
            if (count >= present) answer.fit = worse(answer.fit, check.status);
        }
    }
    return answer;
}

SharedCapacity answer_for_all(const Asked& asked, const CapacityQuestion& question,
                              const Display& show) {
    const System& system = asked.system;
    SharedCapacity answer{capacity_of_all(system, question.level), {}, system.is_row()};
    answer.sure_count = sure_count(asked, system, std::nullopt, question);
    CapacityDoubts& doubts = answer.doubts;
    for (std::size_t i = 0; i < system.tanks.size(); ++i) {
        const std::vector<Check> over =
            over_by_readings(asked.today, asked.without, i, question.level);
        if (over.empty()) continue;
        doubts.today += fmt::format("{}{}: {}", doubts.today.empty() ? "" : "; ",
                                    printable(system.tanks[i].name),
                                    today_words(over, asked.today.tanks[i], show));
        doubts.over_today.insert(doubts.over_today.end(), over.begin(), over.end());
    }
    doubts.own_limits = own_numbers_of(system, system.tanks);
    if (!doubts.own_limits.empty()) {
        const TankCapacity usual = capacity_of_all(as_usual(system), question.level);
        if (usual.stock) doubts.usual_count = usual.stock->count;
    }
    return answer;
}

std::string stock_words(const Stock& stock, const Display& show) {
    return fmt::format("{} fish, {}", exact(stock.count),
                       show.with_unit(Measure::biomass_kg, stock.biomass_kg));
}

// ---- pages

// "oxygen", "oxygen in lower raceway"
std::string limit_place(const TankCapacity& capacity) {
    const std::string check = title_of(*capacity.limited_by);
    return capacity.limited_in.empty()
               ? check
               : fmt::format("{} in {}", check, printable(capacity.limited_in));
}

// A check could not be judged, or today's readings say otherwise.
bool at_most(const CapacityAnswer& answer, const TankCapacity& cell) {
    return !cell.unchecked.empty() || !answer.doubts.over_today.empty();
}
bool at_most(const CapacityAnswer& answer) { return at_most(answer, answer.cells[0].capacity); }

bool is_at_most(const SharedCapacity& loop) {
    return !loop.capacity.unchecked.empty() || !loop.doubts.over_today.empty();
}

// "at 15 degC, warmest 18"
std::string day_words(const Water& water, const Display& show) {
    const double peak_c = water.peak_temperature_c.value_or(water.temperature_c);
    std::string out =
        fmt::format("at {}", show.with_unit(Measure::temperature_c, water.temperature_c));
    if (peak_c > water.temperature_c) {
        out += fmt::format(", warmest {}", show.bare(Measure::temperature_c, peak_c));
    }
    return out;
}

std::string headline(const CapacityAnswer& answer, const CapacityQuestion& question,
                     const Display& show) {
    const TankCapacity& capacity = answer.cells[0].capacity;
    const std::string name = printable(answer.tank) + today_in_brackets(answer.doubts);
    if (!capacity.has_fish) {
        return fmt::format("{}: no fish are described: which would they be?{}{}", name,
                           question.species ? "" : " --species NAME",
                           question.mean_weights_g.empty() ? " --weight G" : "");
    }
    const std::string size = show.with_unit(Measure::weight_g, answer.mean_weight_g);
    const std::string day = day_words(answer.water, show);
    if (capacity.wrong_temperature) {
        return fmt::format("{}: none: {} of {} are not to be kept {}, whatever the number", name,
                           answer.kind, size, day);
    }
    if (capacity.no_supply) {
        return fmt::format("{}: none; nothing brings oxygen: no inflow, no air", name);
    }
    if (!capacity.stock) {
        return fmt::format("{}: no stock check can be judged; measure, and ask again", name);
    }
    const std::string own = own_in_brackets(answer.doubts, capacity.stock->count, show);
    if (capacity.stock->count == 0) {
        return fmt::format("{}: none; one {} of {} is too many {}, by {}{}", name, answer.kind,
                           size, day, limit_place(capacity), own);
    }
    return fmt::format("{}: {}{} {} of {}{} {}{}; {} stops it{}", name,
                       at_most(answer) ? "at most " : "", exact(capacity.stock->count), answer.kind,
                       size, answer.unfed ? " without feed" : "", day, own, limit_place(capacity),
                       question.level == Level::fail ? " (the fail limits are kept, no more)" : "");
}

// "20.1 kg; when they weigh 400 g, 44"
std::string growth_words(const CapacityAnswer& answer, const Display& show) {
    std::string out =
        show.with_unit(Measure::biomass_kg, answer.cells[0].capacity.stock->biomass_kg);
    if (const auto& grown = answer.grown) {
        out += fmt::format("; when they weigh {}, {}",
                           show.with_unit(Measure::weight_g, *grown->mean_weight_g),
                           grown->capacity.wrong_temperature || !grown->capacity.stock
                               ? "none"
                               : exact(grown->capacity.stock->count));
    }
    return out;
}

std::string range_words(const CapacityAnswer& answer) {
    const CapacityRange& range = *answer.range;
    std::string out = fmt::format("{} to {} fish over what is known of trout and stones",
                                  exact(range.low), exact(range.high));
    if (!range.spreads.empty()) {
        const Spread& most = range.spreads.front();
        out += fmt::format("; most by {} ({} to {})", words_of(most.input), exact(most.low),
                           exact(most.high));
    }
    // Those of the description may be anywhere.
    const auto& own = answer.doubts.own_limits;
    const bool usual = std::all_of(own.begin(), own.end(),
                                   [](const OwnNumber& each) { return each.check.has_value(); });
    return out + (usual ? "; the headline is on the safe side" : "; the headline by your numbers");
}

std::string fit_words(const CapacityAnswer& answer) {
    const std::string asked = fmt::format("{} fish", exact(*answer.asked_count));
    // By the usual limits they may not.
    const auto& usual = answer.doubts.usual_count;
    const std::string own = usual < answer.asked_count && usual
                                ? fmt::format(", by {}; by the usual ones {} do",
                                              owner_words(answer.doubts.own_limits), exact(*usual))
                                : "";
    switch (answer.fit) {
        case Status::pass:
            return asked + " fit" + own;
        case Status::unchecked:
            return asked + " fit as far as can be judged" + own;
        case Status::warn:
        case Status::fail:
            break;
    }
    const std::string over = fmt::format("{} are over the {} limit", asked, name_of(answer.fit));
    if (answer.too_many_for.empty()) return over + "; to carry them:";
    std::vector<std::string> below;
    for (const std::string& name : answer.too_many_for) below.push_back(printable(name));
    return fmt::format("{}, too many for {} below: look at its remedies, or at the whole row's",
                       over, joined(below, ", "));
}

std::string one_text(const CapacityAnswer& answer, const CapacityQuestion& question,
                     const Display& show, PageStyle style) {
    const bool markdown = style == PageStyle::markdown;
    const TankCapacity& capacity = answer.cells[0].capacity;
    std::string out = markdown ? fmt::format("{}\n\n", headline(answer, question, show))
                               : wrapped("", headline(answer, question, show), 2);
    if (!capacity.has_fish || capacity.wrong_temperature) return out;
    const auto line = [&](std::string_view label, const std::string& text) {
        out += markdown ? fmt::format("\n{}: {}\n", label, text)
                        : wrapped(fmt::format("  {:<16}", label), text, 18);
    };
    if (answer.sure_count)
        line("sure", sure_words(*answer.sure_count, question, answer.asked_count));
    if (capacity.stock && capacity.stock->count > 0) {
        line("that is", growth_words(answer, show));
        if (markdown) out += '\n';
    }
    if (markdown) out += "| check | fish | biomass |\n|---|--:|--:|\n";
    for (const CheckCapacity& each : capacity.by_check) {
        const std::string title = with_blanks(name_of(each.check));
        const std::string count =
            each.stock ? exact(each.stock->count) : no_count(capacity, each.check);
        const std::string mass =
            each.stock ? show.with_unit(Measure::biomass_kg, each.stock->biomass_kg) : "";
        out += markdown     ? fmt::format("| {} | {} | {} |\n", title, count, mass)
               : each.stock ? fmt::format("  {:<16}{:>12} fish{:>12}\n", title, count, mass)
                            : fmt::format("  {:<16}{:>12}\n", title, count);
    }
    if (!capacity.unchecked.empty()) {
        line("not judged", fmt::format("{}: so it is at most", names_of(capacity.unchecked)));
    }
    if (!capacity.not_by_stock.empty()) {
        line("beside stock",
             fmt::format("{} not passed, whatever the stock", names_of(capacity.not_by_stock)));
    }
    if (answer.range) line("range", range_words(answer));
    if (answer.others_stay) line("others", "the other tanks on its water stay as they are");
    line("left out",
         "today's readings of oxygen, ammonia, carbon dioxide, nitrite, and what pH says "
         "of carbon dioxide: they belong to today's stock");
    if (answer.inflow_kept) {
        line(
            "assumed",
            "the inflow brings its oxygen_mg_l in warmer water too: if it does not, describe it in "
            "oxygen_percent");
    }
    if (answer.asked_count) {
        line("asked", fit_words(answer));
        for (const WordedRemedy& worded : answer.remedies) {
            out +=
                markdown ? fmt::format("- {}\n", worded.text) : wrapped("    - ", worded.text, 6);
        }
        if (answer.cut_short) {
            line("", "not every change was searched for: it would take too long");
        }
    }
    return out;
}

// All tanks of a loop or a row together.
std::string shared_text(const SharedCapacity& loop, const CapacityQuestion& question,
                        const Display& show) {
    const TankCapacity& capacity = loop.capacity;
    const std::string name =
        fmt::format("{} {}", loop.row ? "row" : "loop", printable(capacity.tank));
    if (!capacity.has_fish || !capacity.stock) {
        return wrapped("", fmt::format("{}: nothing to say: no fish, or no check to judge", name),
                       2);
    }
    std::string out = wrapped(
        "",
        fmt::format(
            "{}, all tanks in proportion, fish and water as described{}: {}{}{}, as long as "
            "{}{}{}",
            name, today_in_brackets(loop.doubts),
            capacity.wrong_temperature
                ? "not at this temperature, whatever the number; by the other checks "
                : "",
            is_at_most(loop) ? "at most " : "", stock_words(*capacity.stock, show),
            level_words(question.level), own_in_brackets(loop.doubts, capacity.stock->count, show),
            capacity.limited_by ? fmt::format("; {} stops it", limit_place(capacity))
                                : std::string{}),
        2);
    if (loop.sure_count) {
        out += wrapped(fmt::format("  {:<16}", "sure"),
                       sure_words(*loop.sure_count, question, std::nullopt), 18);
    }
    for (const CheckCapacity& each : capacity.by_check) {
        out += each.stock ? fmt::format("  {:<16}{:>12} fish{:>12}\n",
                                        with_blanks(name_of(each.check)), exact(each.stock->count),
                                        show.with_unit(Measure::biomass_kg, each.stock->biomass_kg))
                          : fmt::format("  {:<16}{:>12}\n", with_blanks(name_of(each.check)),
                                        no_count(capacity, each.check));
    }
    return out;
}

std::string cell_words(const CapacityAnswer& answer, const TankCapacity& capacity,
                       const Display& show) {
    if (capacity.wrong_temperature) return "none";
    if (!capacity.stock) return "-";
    return fmt::format("{}{} = {}", at_most(answer, capacity) ? "<=" : "",
                       exact(capacity.stock->count),
                       show.with_unit(Measure::biomass_kg, capacity.stock->biomass_kg));
}

// Sizes across, temperatures down; four sizes abreast on a page of 80 columns.
std::string table_text(const CapacityAnswer& answer, const CapacityQuestion& question,
                       const Display& show, PageStyle style) {
    const bool markdown = style == PageStyle::markdown;
    const TankCapacity& first = answer.cells[0].capacity;
    std::string out = wrapped(
        "",
        fmt::format("{}{}: fish it carries{}, as long as {}{}", printable(answer.tank),
                    today_in_brackets(answer.doubts),
                    answer.doubts.over_today.empty() ? "" : " at most", level_words(question.level),
                    own_in_brackets(answer.doubts, first.stock ? first.stock->count : 0, show)),
        2);
    if (!first.has_fish) return wrapped("", headline(answer, question, show), 2);
    const std::size_t across = std::max<std::size_t>(1, question.mean_weights_g.size());
    const std::size_t abreast = markdown ? across : 4;
    for (std::size_t from = 0; from < across; from += abreast) {
        const std::size_t to = std::min(from + abreast, across);
        out += markdown ? "\n|" : "\n";
        out += markdown ? " |" : std::string(10, ' ');
        for (std::size_t column = from; column < to; ++column) {
            const auto& weight = answer.cells[column].mean_weight_g;
            const std::string size =
                show.with_unit(Measure::weight_g, weight.value_or(answer.mean_weight_g));
            out += markdown ? fmt::format(" {} |", size) : fmt::format("{:>17}", size);
        }
        if (markdown) {
            out += "\n|---|";
            for (std::size_t column = from; column < to; ++column) out += "--:|";
        }
        for (std::size_t row = 0; row < answer.cells.size() / across; ++row) {
            const auto& day = answer.cells[row * across].temperature_c;
            const std::string when =
                day ? show.with_unit(Measure::temperature_c, *day) : "as given";
            out += markdown ? fmt::format("\n| {} |", when) : fmt::format("\n{:<10}", when);
            for (std::size_t column = from; column < to; ++column) {
                const std::string cell =
                    cell_words(answer, answer.cells[row * across + column].capacity, show);
                out += markdown ? fmt::format(" {} |", cell) : fmt::format("{:>17}", cell);
            }
        }
        out += '\n';
    }
    return out + (markdown ? "\n" : "") +
           "Temperatures all day long; other sizes eat by the table. <= : one is not judged.\n"
           "none: not to be kept at this temperature.\n";
}

void list_stock(const std::optional<Stock>& stock, Fields& out) {
    out.number("capacity_kg", stock ? std::optional(stock->biomass_kg) : std::nullopt);
    out.number("capacity_count", stock ? std::optional(stock->count) : std::nullopt);
}

void list_limited_by(const TankCapacity& capacity, Fields& out) {
    out.text_or_null("limited_by", capacity.limited_by ? name_of(*capacity.limited_by) : "");
}

void list_capacity(const TankCapacity& capacity, Fields& out) {
    list_stock(capacity.stock, out);
    list_limited_by(capacity, out);
    out.objects("by_check", {}, capacity.by_check, [&](const CheckCapacity& each) {
        out.text("check", name_of(each.check));
        list_stock(each.stock, out);
    });
    const auto names = [&](std::string_view key, const std::vector<CheckId>& checks) {
        out.begin_list(key);
        for (const CheckId id : checks) out.text({}, name_of(id));
        out.end_list();
    };
    names("not_by_stock", capacity.not_by_stock);
    names("unchecked", capacity.unchecked);
    out.text_or_null("limited_in", capacity.limited_in);
}

void list_doubts(const CapacityDoubts& doubts, bool most, Fields& out) {
    out.objects("over_today", {}, doubts.over_today, [&](const Check& check) {
        out.text("check", name_of(check.id));
        out.text("status", name_of(check.status));
        out.number("value", check.value);
    });
    out.truth("at_most", most);
    out.text("own_limits", words_of(doubts.own_limits, Display()));
    out.number("usual_count", doubts.usual_count);
}

void list_answer(const CapacityAnswer& answer, Fields& out) {
    out.text("tank", answer.cells[0].capacity.tank);
    list_capacity(answer.cells[0].capacity, out);
    list_doubts(answer.doubts, at_most(answer), out);
    out.truth("wrong_temperature", answer.cells[0].capacity.wrong_temperature);
    out.number("sure_count", answer.sure_count);
    if (const auto& grown = answer.grown) {
        out.object("grown", [&] {
            out.number("mean_weight_g", grown->mean_weight_g);
            list_stock(grown->capacity.stock, out);
        });
    }
    if (answer.cut_short) out.truth("remedies_cut_short", true);
    if (const auto& range = answer.range) {
        out.object("range", [&] {
            out.number("low_count", range->low);
            out.number("high_count", range->high);
            out.objects("spreads", {}, range->spreads, [&](const Spread& spread) {
                out.text("input", words_of(spread.input));
                out.number("low_count", spread.low);
                out.number("high_count", spread.high);
            });
        });
    }
    if (answer.asked_count) {
        out.object("asked", [&] {
            out.number("count", answer.asked_count);
            out.text("status", name_of(answer.fit));
            out.texts("too_many_for", answer.too_many_for);
            out.objects("remedies", {}, answer.remedies, [&](const WordedRemedy& worded) {
                list_remedy(worded.remedy, out);
                out.text("text", worded.text);
            });
        });
    }
    if (answer.cells.size() > 1) {
        out.objects("table", {}, answer.cells, [&](const CapacityCell& cell) {
            out.number("temperature_c", cell.temperature_c);
            out.number("mean_weight_g", cell.mean_weight_g);
            list_stock(cell.capacity.stock, out);
            list_limited_by(cell.capacity, out);
            out.truth("wrong_temperature", cell.capacity.wrong_temperature);
        });
    }
}

// The worst answer to --for; pass where nothing was asked, unchecked where parts were not read.
Status verdict_of(const CapacityReport& report) {
    Status verdict = report.errors.empty() ? Status::pass : Status::unchecked;
    for (const CapacityAnswer& answer : report.tanks) verdict = worse(verdict, answer.fit);
    return verdict;
}

}  // namespace

CapacityReport make_capacity_report(ReadResult read, const CapacityQuestion& question,
                                    const Display& show) {
    CapacityReport report(read);
    if (!read.description) return report;
    for (const System& system : systems_of(*read.description)) {
        if (!asked_for(read, system)) continue;
        const Asked asked{system, assess_system(system),
                          assess_system(without_todays_readings(system)),
                          read.description->accuracy};
        for (std::size_t i = 0; i < system.tanks.size(); ++i) {
            if (!asked_for(read, system.tanks[i])) continue;
            report.tanks.push_back(answer_for(asked, i, question, show));
        }
        if ((system.loop || system.is_row()) && question.share) {
            report.shared.push_back(answer_for_all(asked, question, show));
        }
    }
    return report;
}

namespace {

std::string page_of(const CapacityReport& report, const CapacityRun& run, PageStyle style) {
    const Display& show = run.show;
    if (!report.site) {
        return wrapped(
            "", fmt::format("{}: the description could not be read", printable(report.file)), 2);
    }
    std::string out = fmt::format(
        "{}{} ({}), {}\n", style == PageStyle::markdown ? "# " : "", printable(report.site->name),
        show.with_unit(Measure::pressure_kpa, report.pressure_kpa), minute_of(run.now));
    for (const CapacityAnswer& answer : report.tanks) {
        out += '\n';
        out += answer.cells.size() > 1 ? table_text(answer, run.question, show, style)
                                       : one_text(answer, run.question, show, style);
    }
    for (const SharedCapacity& loop : report.shared)
        out += '\n' + shared_text(loop, run.question, show);
    return out;
}

}  // namespace

CapacityRun run_of(std::span<const CapacityReport> reports, const CapacityQuestion& question,
                   const Display& show, const Instant& now) {
    CapacityRun run{question, show, now, reports.size(), Status::pass};
    for (const CapacityReport& report : reports) {
        run.verdict = worse(run.verdict, verdict_of(report));
    }
    return run;
}

std::string capacity_formats::text(const CapacityReport& report, const CapacityRun& run) {
    return page_of(report, run, PageStyle::text);
}
std::string capacity_formats::markdown(const CapacityReport& report, const CapacityRun& run) {
    return page_of(report, run, PageStyle::markdown);
}
std::string capacity_formats::page_end(const CapacityRun& /*run*/) { return '\n' + cautions(); }

std::string capacity_formats::csv_begin(const CapacityRun& /*run*/) {
    return "site,tank,temperature_c,mean_weight_g,check,capacity_count,capacity_kg,limits,at_most,"
           "not_by_stock,own_limits,usual_count,date\n";
}

std::string capacity_formats::csv(const CapacityReport& report, const CapacityRun& run) {
    std::string out;
    for (const CapacityAnswer& answer : report.tanks) {
        for (const CapacityCell& cell : answer.cells) {
            for (const CheckCapacity& each : cell.capacity.by_check) {
                out += fmt::format(
                    "{},{},{},{},{},{},{},{},{},{},{},{},{}\n", csv_cell(report.site->name),
                    csv_cell(answer.tank), cell.temperature_c ? exact(*cell.temperature_c) : "",
                    exact(cell.mean_weight_g.value_or(answer.mean_weight_g)), name_of(each.check),
                    each.stock ? exact(each.stock->count) : "",
                    each.stock ? exact(each.stock->biomass_kg) : "",
                    cell.capacity.limited_by == each.check, at_most(answer, cell.capacity),
                    csv_cell(names_of(cell.capacity.not_by_stock)),
                    csv_cell(words_of(answer.doubts.own_limits, Display())),
                    answer.doubts.usual_count && &cell == &answer.cells[0]
                        ? exact(*answer.doubts.usual_count)
                        : "",
                    text_of(run.now));
            }
        }
    }
    return out;
}

std::string capacity_formats::json_begin(const CapacityRun& run) {
    return io::json_begin("reports", [&](Fields& out) {
        list_head(run.now, run.verdict, out);
        out.text("at", run.question.level == Level::warn ? "warn" : "fail");
    });
}

std::string capacity_formats::json(const CapacityReport& report, const CapacityRun& /*run*/) {
    return json_item([&](Fields& out) {
        out.text("file", report.file);
        list_site(report.site, report.pressure_kpa, out);
        out.text("verdict", name_of(verdict_of(report)));
        out.texts("warnings", std::vector<std::string>{});
        out.objects("tanks", {}, report.tanks,
                    [&](const CapacityAnswer& answer) { list_answer(answer, out); });
        for (const bool row : {false, true}) {
            std::vector<SharedCapacity> some;
            std::copy_if(report.shared.begin(), report.shared.end(), std::back_inserter(some),
                         [&](const SharedCapacity& each) { return each.row == row; });
            out.objects(row ? "rows" : "loops", {}, some, [&](const SharedCapacity& shared) {
                out.text(row ? "row" : "loop", shared.capacity.tank);
                list_capacity(shared.capacity, out);
                list_doubts(shared.doubts, is_at_most(shared), out);
                out.number("sure_count", shared.sure_count);
            });
        }
        list_errors(report.errors, out);
    });
}

std::string capacity_formats::json_end(const CapacityRun& run) {
    return io::json_end(run.reports == 0);
}

}  // namespace coldtank::io
