#include "report/words.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "text/text.hpp"

namespace coldtank::io {
namespace {

bool falls(const Tank& tank) {
    return std::any_of(tank.aeration.begin(), tank.aeration.end(), [](const Aerator& each) {
        return std::holds_alternative<Cascade>(each.kind);
    });
}

// Of a tank above.
bool gets_water(const Tank& tank) {
    return std::any_of(tank.inflow.begin(), tank.inflow.end(),
                       [](const Inflow& inflow) { return !inflow.from.empty(); });
}

// Beyond its upper limit rather than its lower one.
bool is_high(const Check& check) {
    return check.value && check.warn.high && *check.value > *check.warn.high;
}

// What was read of ammonia or nitrite over its warn limit; none where nobody did.
std::optional<double> read_over(const Check& check, const SystemBudget& budget, Part part) {
    std::optional<double> read;
    if (check.id == CheckId::nitrite) read = check.value;
    if (part.tank && check.id == CheckId::ammonia) {
        read = budget.tanks[*part.tank].ammonia.measured_nh3_mg_l;
    }
    if (part.tank && check.id == CheckId::total_ammonia) {
        read = budget.tanks[*part.tank].ammonia.measured_tan_mg_l;
    }
    return read > check.warn.high && read ? read : std::nullopt;
}

// "change 340 L of the 1000 for clean water (...): 0.0275 to 0.0182 mg/L"; what of it helps now.
// Empty where nothing was read that it would help.
std::string water_change_words(const Check& check, const SystemBudget& budget, Part part,
                               const Display& show) {
    const auto read = read_over(check, budget, part);
    if (!read) return {};
    const bool urgent = [&] {
        if (status_of(*read, check.warn, check.fail) == Status::fail) return true;
        const Check* oxygen = part.tank ? find_check(budget, part, CheckId::oxygen) : nullptr;
        return oxygen != nullptr && oxygen->status == Status::fail;
    }();
    const double volume_l =
        budget.loop ? budget.loop->volume_m3 * 1000 : budget.tanks[part.tank.value()].volume_l;
    const double most = (urgent ? kChangeUrgent : kChangeAtOnce) / 100;
    // In steps that are poured: up, but no further than is borne.
    constexpr double kSmallL = 300;
    const double step_l = volume_l < kSmallL ? (show.units() == Units::us ? kGallonUsL / 4 : 1)
                                             : (show.units() == Units::us ? 5 * kGallonUsL : 10);
    const double wanted = std::ceil((1 - *check.warn.high / *read) * volume_l / step_l) * step_l;
    const double litres =
        wanted <= most * volume_l ? wanted : std::floor(most * volume_l / step_l) * step_l;
    if (litres <= 0) return {};
    const double share = litres / volume_l;
    const double after = *read * (1 - share);
    const std::string_view what = check.id == CheckId::nitrite   ? "nitrite"
                                  : check.id == CheckId::ammonia ? "NH3"
                                                                 : "TAN";
    return fmt::format(
        "change {} of the {} ({} %) for clean water{}, dechlorinated, within {}, its pH no higher: "
        "{} {} to {} mg/L{}",
        show.with_unit(Measure::volume_l, litres), show.bare(Measure::volume_l, volume_l),
        figure(100 * share, 0), budget.loop ? " on the whole loop" : "",
        show.with_unit(Measure::temperature_difference_c, kChangeDegrees), what, figure(*read),
        compared(after, std::array{*check.warn.high}).value,
        after > *check.warn.high ? ", and again in some hours" : "");
}

constexpr const char* kChangePart =
    "change part of the water (clean, dechlorinated, of the same temperature)";

std::string now_words(const Check& check, const SystemBudget& budget, Part part,
                      const Display& show) {
    const std::string change = water_change_words(check, budget, part, show);
    switch (check.id) {
        case CheckId::biofilter:
        case CheckId::loop_flow:
            return "NOW, if fish are in it: stop feeding; exchange clean, dechlorinated water of "
                   "the same temperature; keep the filter under water and aerated";
        case CheckId::alkalinity:
            return "NOW, if fish are in it: feed less; add bicarbonate in small doses; watch the "
                   "pH: no more than 0.5 a day, as it frees ammonia";
        case CheckId::oxygen:
            return "NOW, if fish are in it: stop feeding; run every air pump, stone, oxygen bottle "
                   "and inflow you have; watch the meter";
        case CheckId::oxygen_reserve:
            return "NOW, if fish are in it: do not leave it alone; keep a second, battery-run "
                   "air pump or oxygen at the tank, ready to start";
        case CheckId::ammonia:
        case CheckId::total_ammonia:
            return fmt::format("NOW, if fish are in it: stop feeding; {}; do not raise the pH",
                               change.empty() ? kChangePart : change);
        case CheckId::carbon_dioxide:
            return "NOW, if fish are in it: stop feeding; aerate hard with fresh outdoor air and "
                   "open the room: carbon dioxide gathers indoors";
        case CheckId::temperature:
            return "NOW, if fish are in it: stop feeding; do not handle them; add air or oxygen; "
                   "shade, run cold water through, or bag ice made of dechlorinated water";
        case CheckId::ph:
            return fmt::format(
                "NOW, if fish are in it: stop feeding; {}; change part of the water; "
                "do not move the pH by more than 0.5 in a day",
                is_high(check) ? "stop any lime, soda or new concrete" : "aerate with fresh air");
        case CheckId::nitrite:
            return fmt::format("NOW, if fish are in it: stop feeding; add air; {}",
                               change.empty() ? kChangePart : change);
        case CheckId::oxygen_excess:
            return "NOW, if fish are in it: turn the pure oxygen down; bubble coarse air through "
                   "the "
                   "inflow or let it fall before it reaches the fish; add no oxygen";
        case CheckId::gas_pressure:
            return "NOW, if fish are in it: let the water fall or bubble coarse air through it "
                   "before it reaches the fish; look for air drawn in at a pump or a pipe";
        case CheckId::salinity:
            return "NOW, if fish are in it: add air, stop feeding, and thin the salt out over "
                   "hours "
                   "with dechlorinated fresh water of the same temperature";
        case CheckId::chlorine:
            return "NOW, if fish are in it: add air, then shut that inflow or neutralise it with "
                   "sodium thiosulfate, by its label";
        default:
            return "NOW, if fish are in it: stop feeding; add air or oxygen";
    }
}

std::string advice_words(const Check& check) {
    switch (check.id) {
        case CheckId::ph:
            return is_high(check)
                       ? "not solved here: find what raises it (lime, concrete, plants and algae "
                         "by "
                         "day, a hard supply); add no lime or alkalinity; at most 0.5 a day"
                       : "not solved here: find the cause; fresh air drives out carbon dioxide, "
                         "more "
                         "alkalinity holds the pH up; at most 0.5 a day, as it frees ammonia";
        case CheckId::gas_pressure:
            return "degas the supply (packed column, splash, coarse air) and measure again";
        case CheckId::salinity:
            return "mix it with fresh water; only trout over 100 g or so, led to it over days, "
                   "live "
                   "in more salt; brook trout bear less, and is it g/kg?";
        case CheckId::chlorine:
            return "dechlorinate before the tank: carbon filter or sodium thiosulfate; standing "
                   "does not take chloramine out";
        case CheckId::nitrite:
            return "no chloride of the published table makes this much nitrite safe: change water, "
                   "feed less, look at the filter";
        case CheckId::nitrate:
            return "change part of the water, or run more through: --change-percent says how much";
        case CheckId::input_doubt:
            return "look again at what is written or read, and at its unit; what is right may "
                   "stand";
        case CheckId::current:
            return "no current suits the shortest and the longest fish both: grade";
        default:
            return "no change of stock, feed, air or water that was tried makes this check pass";
    }
}

// ", or 6 more such diffusers": as so much more air.
std::string diffusers_words(double air_flow_l_min, const Tank& tank) {
    double air = 0;
    double count = 0;
    for (const Aerator& aerator : tank.aeration) {
        if (const auto* diffuser = std::get_if<Diffuser>(&aerator.kind)) {
            air += diffuser->air_flow_l_min;
            count += 1;
        }
    }
    if (air == 0) return {};
    const double more = std::ceil(air_flow_l_min * count / air);
    return fmt::format(", or {} more such diffuser{}", exact(more), more > 1 ? "s" : "");
}

// ", as 12 L/min of air through medium stones 1 m deep".
std::string as_stone_words(double wanted_g_h, const Tank& tank, const Display& show,
                           std::string_view as = ", as") {
    const bool us = show.units() == Units::us;
    const double depth_m = us ? 3 * kFootM : 1;
    const Aerator stone{{}, {}, {}, Diffuser{1, depth_m, Bubble::medium, {}}};
    return fmt::format(
        "{} {} {} of air through medium stones {} deep", as,
        show.rounded_up(Measure::air_flow_l_min, wanted_g_h / sotr_g_h(stone, tank.coefficients)),
        show.unit(Measure::air_flow_l_min), us ? "3 ft" : "1 m");
}

// What to change of a tank.
std::string change_words(const Remedy& remedy, const Tank& tank, const TankBudget& budget,
                         const Check& check, const Display& show) {
    const double value = remedy.value.value_or(0);
    switch (remedy.action) {
        case Action::take_out_fish: {
            const double share = value / budget.fish_count;
            const Check* temperature = find_check(budget, CheckId::temperature);
            const bool hot = temperature != nullptr && is_high(*temperature);
            return fmt::format("take out {} of {} fish ({} of {}), and their share of the feed{}",
                               exact(value), exact(budget.fish_count),
                               show.bare(Measure::biomass_kg, share * budget.biomass_kg),
                               show.with_unit(Measure::biomass_kg, budget.biomass_kg),
                               hot ? "; not by net at this temperature" : "");
        }
        case Action::cut_ration:
            return value == 0
                       ? std::string(
                             "stop feeding (for days, not for good; this is after a week, most of "
                             "it tells in two days)")
                       : fmt::format("feed {} {} in place of {} (it tells within a day or two)",
                                     show.safe(Measure::daily_mass_g, value, Safe::down),
                                     show.unit(Measure::daily_mass_g),
                                     show.bare(Measure::daily_mass_g, budget.ration_g_day));
        case Action::add_air:
            return fmt::format(
                "blow {} {} more air through the present diffusers ({} in all){}; a pump at depth "
                "gives half to four fifths of its label",
                show.safe(Measure::air_flow_l_min, value, Safe::up),
                show.unit(Measure::air_flow_l_min),
                show.bare(Measure::air_flow_l_min, air_flow_l_min(tank.aeration) + value),
                diffusers_words(value, tank));
        case Action::add_aerator: {
            // Bubbles fill up with carbon dioxide: the stone is as good for oxygen only.
            if (check.id == CheckId::carbon_dioxide) {
                return fmt::format(
                    "add an aerator of {} {} SOTR (what it brings in clean water) that "
                    "splashes or stirs",
                    show.safe(Measure::hourly_mass_g, value, Safe::up),
                    show.unit(Measure::hourly_mass_g));
            }
            return fmt::format("add an aerator of {} {} SOTR (what it brings in clean water{})",
                               show.safe(Measure::hourly_mass_g, value, Safe::up),
                               show.unit(Measure::hourly_mass_g),
                               as_stone_words(value, tank, show, ": as"));
        }
        case Action::raise_flow:
            return fmt::format("raise the {} to {} {}, of the same water (now {}){}",
                               tank.loop ? "flow from the loop" : "inflow",
                               show.safe(Measure::flow_l_min, value, Safe::up),
                               show.unit(Measure::flow_l_min),
                               show.bare(Measure::flow_l_min, flow_l_min_of(tank)),
                               gets_water(tank) ? ", and with it what the tanks above it get" : "");
        case Action::add_fall:
            return fmt::format("let the inflow fall {}{} {} through air before it reaches the tank",
                               falls(tank) ? "once more, apart from its fall, " : "",
                               show.safe(Measure::altitude_m, value, Safe::up),
                               show.unit(Measure::altitude_m));
        case Action::add_inflow:
            return fmt::format("run {} {} of clean, dechlorinated, air-saturated water through it",
                               show.safe(Measure::flow_l_min, value, Safe::up),
                               show.unit(Measure::flow_l_min));
        case Action::cool:
        case Action::warm:
            return fmt::format("{} the {} to {} {} (now {}), the warmest hour with it",
                               remedy.action == Action::cool ? "cool" : "warm",
                               tank.loop ? "whole loop, this tank" : "water",
                               show.safe(Measure::temperature_c, value,
                                         remedy.action == Action::cool ? Safe::down : Safe::up),
                               show.unit(Measure::temperature_c),
                               show.bare(Measure::temperature_c, tank.water.temperature_c));
        case Action::add_oxygen:
            return fmt::format("add {} {} of pure oxygen through stones that take up {} %",
                               show.safe(Measure::oxygen_flow_l_min, value, Safe::up),
                               show.unit(Measure::oxygen_flow_l_min), exact(kAddedAbsorption));
        case Action::cut_oxygen:
            return fmt::format("turn the pure oxygen down to {} {}",
                               show.safe(Measure::oxygen_flow_l_min, value, Safe::down),
                               show.unit(Measure::oxygen_flow_l_min));
        case Action::enlarge:
            return fmt::format(
                "give them {} {} in place of {}", show.safe(Measure::volume_l, value, Safe::up),
                show.unit(Measure::volume_l), show.bare(Measure::volume_l, tank.volume_l));
        case Action::grade: {
            std::vector<std::string> names;
            for (const std::size_t i : remedy.groups) {
                const GroupBudget& group = budget.groups[i];
                names.push_back(
                    fmt::format("{} ({} fish of {})", printable(group.name), exact(group.count),
                                show.with_unit(Measure::weight_g, group.mean_weight_g)));
            }
            return fmt::format("grade: move {} to another tank", listed(names));
        }
        case Action::add_chloride:
            return fmt::format(
                "bring chloride to {} mg/L with pure salt (at most {} for this water, and as "
                "much "
                "again as flows out), and find the nitrite's source",
                exact(value),
                show.with_unit(Measure::dose_g,
                               std::ceil(value * kSaltPerChloride * budget.water_m3)));
        case Action::change_current:
            return fmt::format("set the current to {}",
                               show.with_unit(Measure::current_cm_s, value));
        default:
            return {};  // of a loop
    }
}

// The same of a loop.
std::string change_words(const Remedy& remedy, const Loop& loop, const LoopBudget& budget,
                         const Display& show) {
    const double value = remedy.value.value_or(0);
    const auto grams = [&](double g) { return show.with_unit(Measure::dose_g, g); };
    const std::string potassium =
        fmt::format("{} a day of potassium bicarbonate or {} of calcium hydroxide",
                    grams(budget.alkalinity_dose_g_day * kKHCO3PerCaCO3),
                    grams(budget.alkalinity_dose_g_day * kCaOH2PerCaCO3));
    switch (remedy.action) {
        case Action::cut_ration:
            return value == 0 ? std::string(
                                    "stop feeding all its tanks, for days, not for good; this "
                                    "is after a week")
                              : fmt::format("feed {} {} in all its tanks in place of {}",
                                            show.safe(Measure::daily_mass_g, value, Safe::down),
                                            show.unit(Measure::daily_mass_g),
                                            show.bare(Measure::daily_mass_g, budget.feed_g_day));
        case Action::add_media:
            return fmt::format(
                "add {} {} of filter media (now {}); it takes 6-12 weeks in cold water to start",
                show.safe(Measure::area_m2, value, Safe::up), show.unit(Measure::area_m2),
                show.bare(Measure::area_m2, loop.biofilter->media_area_m2.value()));
        case Action::add_removal:
            return fmt::format(
                "add filter for {} {} at 1 mg/L (now {}); it takes 6-12 weeks in cold water to "
                "start",
                show.safe(Measure::daily_mass_g, value, Safe::up), show.unit(Measure::daily_mass_g),
                show.bare(Measure::daily_mass_g, loop.biofilter->removal_g_day.value()));
        case Action::raise_exchange:
            return fmt::format("exchange {} {}/day of clean, dechlorinated water (now {})",
                               show.safe(Measure::volume_l, value, Safe::up),
                               show.unit(Measure::volume_l),
                               show.bare(Measure::volume_l, loop.exchange_l_day));
        case Action::raise_round:
            return fmt::format("send {} {} round in all, each tank in proportion (now {})",
                               show.safe(Measure::flow_l_min, value, Safe::up),
                               show.unit(Measure::flow_l_min),
                               show.bare(Measure::flow_l_min, budget.flow_m3_h * 1000 / 60));
        case Action::change_bed:
            return fmt::format(
                "plant {} {} of beds (now {})", show.rounded_up(Measure::area_m2, value),
                show.unit(Measure::area_m2), show.bare(Measure::area_m2, loop.plants->bed_area_m2));
        case Action::add_chloride:
            return fmt::format(
                "bring chloride to {} mg/L with pure salt (at most {} for the tanks' water; "
                "plants "
                "bear little), and find the nitrite's source",
                exact(value), grams(std::ceil(value * kSaltPerChloride * budget.volume_m3)));
        case Action::dose:
            return fmt::format(
                "bring it up over some days: {} of alkalinity as CaCO3 for the tanks' water, "
                "then "
                "hold it: {}; gloves and eye protection; the pH may move by 0.5 a day at most",
                loop.plants ? fmt::format("{} of potassium bicarbonate",
                                          grams(std::ceil(value * kKHCO3PerCaCO3)))
                            : fmt::format("{} of sodium bicarbonate",
                                          grams(std::ceil(value * kNaHCO3PerCaCO3))),
                loop.plants ? potassium
                            : fmt::format("{} a day of sodium bicarbonate",
                                          grams(budget.alkalinity_dose_g_day * kNaHCO3PerCaCO3)));
        default:
            return {};  // of a tank
    }
}

std::string find_cause_words(const Check& check, const SystemBudget& budget, Part part,
                             const Display& show) {
    // Where it fails that stands under NOW.
    std::string first = check.status == Status::fail
                            ? std::string()
                            : water_change_words(check, budget, part, show);
    if (!first.empty()) first += "; then, as ";
    if (!part.tank) {
        return "the reading is worse than the steady state: it has not settled, or more feed goes "
               "in than described; measure again in a week";
    }
    return fmt::format(
        "{}the reading is worse than what is described explains: check the meter, pump, stones "
        "and flow, and count fish and feed again",
        first);
}

}  // namespace

std::string feed_meanwhile_words(const LoopBudget& budget, const Display& show) {
    const double bears_g_day = budget.feed_careful_g_day.value_or(*budget.feed_bearable_g_day);
    if (bears_g_day >= budget.feed_g_day) {
        return fmt::format("now, {} in all",
                           show.with_unit(Measure::daily_mass_g, budget.feed_g_day));
    }
    return fmt::format("{} in all", show.with_unit(Measure::daily_mass_g, std::floor(bears_g_day)));
}

std::string words_of(const Remedy& remedy, const System& system, const SystemBudget& budget,
                     Part part, const Check& check, const Display& show) {
    switch (remedy.action) {
        case Action::now:
            return now_words(check, budget, part, show);
        case Action::advice:
            if (check.id == CheckId::biofilter && budget.loop->feed_bearable_g_day) {
                return fmt::format(
                    "feed no more than {} until it works: a filter in cold water takes 6-12 weeks "
                    "to start",
                    feed_meanwhile_words(*budget.loop, show));
            }
            return advice_words(check);
        case Action::find_cause:
            return find_cause_words(check, budget, part, show);
        case Action::none_suffices:
            return "no single change within reach makes this check pass without harm to another";
        case Action::two_changes: {
            std::vector<std::string> parts;
            for (const Remedy& each : remedy.parts) {
                parts.push_back(words_of(each, system, budget, part, check, show));
            }
            return fmt::format("together: {}", listed(parts));
        }
        default:
            return part.tank ? change_words(remedy, system.tanks[*part.tank],
                                            budget.tanks[*part.tank], check, show)
                             : change_words(remedy, *system.loop, *budget.loop, show);
    }
}

namespace {

// Carbon dioxide is to go too: bubbles alone fill up with it.
bool gasses(const TankBudget& budget) {
    const Check* carbon_dioxide = find_check(budget, CheckId::carbon_dioxide);
    return carbon_dioxide != nullptr && carbon_dioxide->status >= Status::warn;
}

}  // namespace

std::string short_words_of(const Remedy& remedy, const System& system, const SystemBudget& budget,
                           Part part, const Display& show) {
    const double value = remedy.value.value_or(0);
    // "65 L/min, not 12"
    const auto in_place = [&](Measure measure, Safe safe, double present,
                              std::string_view behind = "") {
        return fmt::format("{} {}{}, not {}", show.safe(measure, value, safe), show.unit(measure),
                           behind, show.bare(measure, present));
    };
    const auto more = [&](Measure measure) {
        return fmt::format("{} {}", show.safe(measure, value, Safe::up), show.unit(measure));
    };
    if (!part.tank) {
        const LoopBudget& loop = *budget.loop;
        switch (remedy.action) {
            case Action::add_media:
                return fmt::format("{} {} more filter media, which takes 6-12 weeks to start",
                                   show.safe(Measure::area_m2, value, Safe::up),
                                   show.unit(Measure::area_m2));
            case Action::add_removal:
                return fmt::format("filter for {} more at 1 mg/L, which takes 6-12 weeks to start",
                                   more(Measure::daily_mass_g));
            case Action::raise_exchange:
                return fmt::format("exchange {} a day", in_place(Measure::volume_l, Safe::up,
                                                                 system.loop->exchange_l_day));
            case Action::raise_round:
                return fmt::format("{} round the loop", in_place(Measure::flow_l_min, Safe::up,
                                                                 loop.flow_m3_h * 1000 / 60));
            case Action::add_chloride:
                return fmt::format("chloride to {} mg/L with pure salt", exact(value));
            default:
                return {};
        }
    }
    const Tank& tank = system.tanks[*part.tank];
    const TankBudget& figures = budget.tanks[*part.tank];
    switch (remedy.action) {
        case Action::take_out_fish: {
            const Check* temperature = find_check(figures, CheckId::temperature);
            const bool hot = temperature != nullptr && is_high(*temperature);
            return fmt::format("take out {} fish and their feed{}", exact(value),
                               hot ? " (not by net at this temperature)" : "");
        }
        case Action::cut_ration:
            return fmt::format("feed {} (it tells in a day or two)",
                               in_place(Measure::daily_mass_g, Safe::down, figures.ration_g_day));
        case Action::add_air:
            return fmt::format("{} more air", more(Measure::air_flow_l_min));
        case Action::add_aerator:
            return fmt::format("an aerator that brings {} {} in clean water (its SOTR{}){}",
                               show.safe(Measure::hourly_mass_g, value, Safe::up),
                               show.unit(Measure::hourly_mass_g),
                               gasses(figures) ? "" : as_stone_words(value, tank, show),
                               gasses(figures) ? " and splashes or stirs" : "");
        case Action::cut_oxygen:
            return fmt::format("pure oxygen turned down to {} {}",
                               show.safe(Measure::oxygen_flow_l_min, value, Safe::down),
                               show.unit(Measure::oxygen_flow_l_min));
        case Action::raise_flow:
            return in_place(Measure::flow_l_min, Safe::up, flow_l_min_of(tank), " of water");
        case Action::add_inflow:
            return fmt::format("run {} of clean, dechlorinated, air-saturated water through it",
                               more(Measure::flow_l_min));
        case Action::cool:
            return fmt::format("water of {}",
                               in_place(Measure::temperature_c, Safe::down, figures.temperature_c));
        case Action::add_oxygen:
            return fmt::format("{} of pure oxygen through stones that take up {} %",
                               more(Measure::oxygen_flow_l_min), exact(kAddedAbsorption));
        case Action::enlarge:
            return fmt::format("a tank of {}",
                               in_place(Measure::volume_l, Safe::up, tank.volume_l));
        case Action::grade: {
            std::vector<std::string> names;
            for (const std::size_t i : remedy.groups) {
                const GroupBudget& group = figures.groups[i];
                names.push_back(
                    fmt::format("the {} {} of {}", exact(group.count), printable(group.name),
                                show.with_unit(Measure::weight_g, group.mean_weight_g)));
            }
            return fmt::format("move {} out", listed(names));
        }
        case Action::add_chloride:
            return fmt::format("chloride to {} mg/L with pure salt", exact(value));
        default:
            return {};
    }
}

namespace {

std::string_view word_of(WaterChange::Of of) {
    constexpr std::array<std::string_view, 8> words{
        "TAN", "NH3", "nitrite", "nitrate", "chloride", "chlorine", "oxygen", "temperature"};
    return words[static_cast<std::size_t>(of)];
}

// "NH3 0.0202 to 0.0141 (0.0125 at most)"
std::string words_of(const WaterChange::Value& value, bool assumed, const Display& show) {
    if (value.of == WaterChange::Of::temperature) {
        const auto shown = [&](double c) { return show.bare(Measure::temperature_c, c); };
        return value.before == value.after
                   ? fmt::format("{} stays", show.with_unit(Measure::temperature_c, value.before))
                   : fmt::format("temperature {} to {} {}", shown(value.before), shown(value.after),
                                 show.unit(Measure::temperature_c));
    }
    const auto shown = [&](double mg_l) {
        return value.limit ? compared(mg_l, std::array{*value.limit}).value : figure(mg_l);
    };
    std::string out =
        fmt::format("{} {}{} to {}", word_of(value.of), value.read ? "" : "predicted ",
                    shown(value.before), shown(value.after));
    if (value.of == WaterChange::Of::chlorine) {
        return fmt::format("CHLORINE to {}: dechlorinate it first", shown(value.after));
    }
    if (value.limit) {
        const Compared texts = compared(value.before, std::array{*value.limit});
        out += fmt::format(" ({} at most)", texts.limits[0]);
    }
    if (value.of == WaterChange::Of::oxygen && assumed) out += " if the new water is saturated";
    return out;
}

}  // namespace

std::string words_of(const WaterChange& change, const Display& show) {
    std::vector<std::string> moved;
    bool chloride = false;
    for (const WaterChange::Value& value : change.values) {
        moved.push_back(words_of(value, change.oxygen_assumed, show));
        chloride = chloride || value.of == WaterChange::Of::chloride;
    }
    std::string out =
        fmt::format("{} % of the {} ({} of {}) for {}: {}", figure(change.percent),
                    change.whole_loop ? "whole loop" : "water",
                    show.bare(Measure::volume_l, change.volume_l * change.percent / 100),
                    show.with_unit(Measure::volume_l, change.volume_l),
                    change.whole_loop       ? "its make-up"
                    : change.oxygen_assumed ? "clean water"
                                            : "its new inflow's water",
                    joined(moved, "; "));
    const std::string degrees = show.with_unit(Measure::temperature_difference_c, kChangeDegrees);
    if (change.too_warm_or_cold) {
        out += fmt::format(". No more than {} % at once of water so far from {}",
                           three_digits(change.at_once_percent, Safe::down),
                           show.with_unit(Measure::temperature_c, change.values.back().before));
    } else if (change.percent > change.at_once_percent) {
        out += fmt::format(". That is more than the {} % at once that fish bear well",
                           exact(change.at_once_percent));
    }
    if (change.low_oxygen) {
        out += ". For the oxygen add air and running water: a change is over at once";
    }
    if (!change.worst) {
        return out +
               (change.low_oxygen
                    ? "."
                    : ". Nothing of it is over its warn limit: for that no change is needed.");
    }
    const std::string_view worst = word_of(*change.worst);
    if (!change.needed_percent) {
        return fmt::format("{}. No change brings {} to its limit: the new water holds as much.",
                           out, worst);
    }
    const std::string needed = three_digits(*change.needed_percent, Safe::up);
    out += change.changes <= 1
               ? fmt::format(". {} needs {} %, at once", worst, needed)
               : fmt::format(". {} needs {} %: {} changes of {} %, some hours apart", worst, needed,
                             change.changes, three_digits(change.at_once_percent, Safe::down));
    if (change.comes_back) out += ", and what the fish make brings it back: feed less";
    out += fmt::format("; water dechlorinated, {}its pH no higher while ammonia stands",
                       change.too_warm_or_cold ? "" : fmt::format("within {}, ", degrees));
    if (chloride) out += "; what salt went with it is put back";
    return out + '.';
}

}  // namespace coldtank::io
