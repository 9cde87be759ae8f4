#include "report/notes.hpp"

#include <fmt/core.h>

#include <algorithm>

#include "report/page_parts.hpp"
#include "report/words.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

constexpr std::string_view kNoChloride = "chloride unknown, counted as 0";

// A ration of so many times the table's is a slip of the pen.
constexpr double kMistypedRation = 4;
// So small a percentage was written as a share.
constexpr double kMistypedPercent = 2;
constexpr double kAsMgL = 16;  // what a meter may show in mg/L

std::string words_of(const Doubt& doubt, const Tank* tank) {
    const std::string where =
        doubt.where.empty() ? "" : fmt::format(" of {}", printable(doubt.where));
    const std::string value = exact(doubt.value);
    switch (doubt.slip) {
        case Doubt::Slip::beta:
            return fmt::format("beta {}{}: no water holds more than clean water; {} is usual",
                               value, where, exact(doubt.expected.value()));
        case Doubt::Slip::alpha:
            return fmt::format(
                "alpha {}{}: no aerator does so much better than in clean water; {} "
                "is usual",
                value, where, exact(doubt.expected.value()));
        case Doubt::Slip::ration: {
            const std::string advised =
                fmt::format("{} g/day is advised", figure(doubt.expected.value()));
            if (doubt.where.empty() && tank != nullptr && tank->feed.ration_percent_day) {
                return fmt::format("ration_percent_day {}, where {}: is it a share of 1?",
                                   exact(*tank->feed.ration_percent_day), advised);
            }
            return fmt::format("ration_g_day {}{}, where {}: is it in kg, or of one fish?",
                               figure(doubt.value), where, advised);
        }
        case Doubt::Slip::exchange:
            return fmt::format(
                "flow_l_min, in whatever unit, exchanges the tank {} times an hour: was it meant "
                "per hour, or is the volume in another unit?",
                figure(doubt.value));
        case Doubt::Slip::respiration_factor:
            return fmt::format("respiration_factor {}{}: no trout breathe so much {} than others",
                               value, where, doubt.value < 1 ? "less" : "more");
        case Doubt::Slip::transfer:
            return fmt::format(
                "transfer_percent_per_m {}{}: the finest bubbles give less than {}; "
                "is it of the whole depth?",
                value, where, exact(doubt.expected.value()));
        case Doubt::Slip::cascade:
            return fmt::format("quality or weir {}{}: no water falls so well; {} is usual", value,
                               where, exact(doubt.expected.value()));
        case Doubt::Slip::gas_pressure:
            return fmt::format(
                "gas_pressure_percent {}: is it the excess over the air's? Then it "
                "is {}",
                value, figure(100 + doubt.value));
        case Doubt::Slip::ph_reading:
            return fmt::format("ph {}{}{}: check the meter", value, where,
                               doubt.expected ? fmt::format(", which would be {} mg/L of carbon "
                                                            "dioxide",
                                                            figure(*doubt.expected))
                                              : "");
        case Doubt::Slip::alkalinity:
            return fmt::format(
                "alkalinity_mg_l {}: with this ph fish would leave less carbon dioxide ({} mg/L) "
                "than air does; a kit's degrees go into alkalinity_dkh",
                value, figure(doubt.expected.value()));
        case Doubt::Slip::oxygen_reading:
            return fmt::format("oxygen_mg_l {} ({} % of saturation): check the meter", value,
                               figure(100 * doubt.value / doubt.expected.value(), 0));
        case Doubt::Slip::tan_zero:
            return fmt::format("tan_mg_l 0, where {} is predicted: check the meter or the test kit",
                               figure(doubt.expected.value()));
        case Doubt::Slip::coefficient:
            return fmt::format("coefficient {} {}: far from the usual {}", doubt.where, value,
                               exact(doubt.expected.value()));
        case Doubt::Slip::temperature_jump:
            break;
    }
    return fmt::format(
        "temperature_c changed by {} degC within a day: check the meter; is its "
        "probe in the water?",
        figure(doubt.value));
}

std::string words_of(const std::vector<Doubt>& doubts, const Tank* tank) {
    std::vector<std::string> words;
    for (const Doubt& doubt : doubts) words.push_back(words_of(doubt, tank));
    return joined(words, "; ");
}

// What a meter that is off by a tenth of pH makes of carbon dioxide, where a limit lies within.
std::string band_words(const Check& check, double from_ph_mg_l) {
    const double low = from_ph_mg_l / kPhMeterBand;
    const double high = from_ph_mg_l * kPhMeterBand;
    std::vector<std::string> inside;
    for (const auto& [word, bound] :
         {std::pair{"warn", check.warn}, std::pair{"fail", check.fail}}) {
        if (bound.high && *bound.high >= low && *bound.high <= high) {
            inside.push_back(fmt::format("the {} limit {}", word, exact(*bound.high)));
        }
    }
    if (inside.empty()) return {};
    return fmt::format("a pH meter good to 0.1 says {} to {} mg/L: {} {} inside", figure(low),
                       figure(high), joined(inside, " and "), inside.size() > 1 ? "are" : "is");
}

std::vector<std::string> carbon_dioxide_notes(const Tank& tank, const TankBudget& budget,
                                              const Check& check) {
    std::vector<std::string> notes;
    const CarbonDioxideBudget& co2 = budget.carbon_dioxide;
    // A balance that is not judged, as the inflow is unknown, yet is over the limit at its best.
    if (!co2.balance_judged && co2.balance_mg_l > check.warn.high) {
        notes.push_back(fmt::format(
            "at this stock the balance reaches {} mg/L even with an inflow as clean as air "
            "makes it: a lower reading of today will not last; measure the inflow's carbon "
            "dioxide",
            figure(*co2.balance_mg_l)));
    }
    if (!co2.from_ph_mg_l) return notes;
    if (*tank.water.ph < kPhDoubtLow || *co2.from_ph_mg_l > kCo2Doubt) {
        notes.push_back(
            fmt::format("by pH {}, if the meter is right: check the meter", exact(*tank.water.ph)));
    } else if (!co2.from_ph_judged) {
        notes.push_back(
            fmt::format("by pH {} it would be {} mg/L, not judged over pH {}: check "
                        "the meter",
                        exact(*tank.water.ph), figure(*co2.from_ph_mg_l), exact(kPhDoubtHigh)));
    } else if (check.value == co2.from_ph_mg_l) {
        if (std::string words = band_words(check, *co2.from_ph_mg_l); !words.empty()) {
            notes.push_back(std::move(words));
        }
    }
    return notes;
}

std::vector<std::string> oxygen_notes(const Tank& tank, const TankBudget& budget,
                                      const Check& check) {
    std::vector<std::string> notes;
    const OxygenBudget& oxygen = budget.oxygen;
    if (oxygen.measured_mg_l && oxygen.lowest_mg_l && *oxygen.measured_mg_l < *oxygen.lowest_mg_l &&
        check.status == Status::pass) {
        notes.push_back(
            fmt::format("measured below even the lowest that is predicted, {} mg/L: "
                        "something is not as described",
                        figure(*oxygen.lowest_mg_l)));
    }
    const double usual_beta = tank.coefficients.beta;
    double beta = 0;
    for (const Aerator& aerator : tank.aeration) {
        beta = std::max(beta, aerator.beta.value_or(usual_beta));
    }
    if (beta == 0) beta = usual_beta;
    if (oxygen.warn_mg_l > beta * oxygen.saturation_peak_mg_l) {
        notes.push_back(
            fmt::format("air alone cannot reach {} mg/L here: it holds {} at most; pure "
                        "oxygen or colder water can",
                        figure(oxygen.warn_mg_l), figure(beta * oxygen.saturation_peak_mg_l)));
    }
    return notes;
}

}  // namespace

std::vector<std::string> notes_of(const Tank& tank, const TankBudget& budget) {
    std::vector<std::string> notes(budget.checks.size());
    for (std::size_t i = 0; i < notes.size(); ++i) {
        const Check& check = budget.checks[i];
        switch (check.id) {
            case CheckId::oxygen:
                notes[i] = joined(oxygen_notes(tank, budget, check), "; ");
                break;
            case CheckId::carbon_dioxide:
                notes[i] = joined(carbon_dioxide_notes(tank, budget, check), "; ");
                break;
            case CheckId::density:
                if (budget.loves_company) {
                    notes[i] =
                        "char suffer at low density too: fewer than shoal fight and grow less";
                }
                break;
            case CheckId::ration:
                if (budget.advised_ration_g_day > 0 &&
                    budget.ration_g_day > kMistypedRation * budget.advised_ration_g_day &&
                    check.status >= Status::warn) {
                    notes[i] =
                        "no trout eats that: is the ration, or mean_weight_g, in the unit "
                        "that its key says?";
                }
                break;
            case CheckId::nitrite:
                if (!tank.readings.chloride_mg_l) notes[i] = std::string(kNoChloride);
                break;
            case CheckId::input_doubt:
                notes[i] = words_of(budget.doubts, &tank);
                break;
            default:
                break;
        }
    }
    return notes;
}

std::vector<std::string> loop_notes_of(const Loop& loop, const LoopBudget& budget) {
    std::vector<std::string> notes(budget.checks.size());
    std::string filter;
    if (budget.filter_starved) {
        filter = "the filter gets too little oxygen to work";
    } else if (loop.biofilter && loop.biofilter->maturity_percent < 100) {
        filter = fmt::format("the filter is {} % started: ammonia and nitrite may rise, test daily",
                             exact(loop.biofilter->maturity_percent));
    } else if (filter_is_slow(loop)) {
        filter = "the filter is cold and slow: test ammonia and nitrite often";
    }
    for (std::size_t i = 0; i < notes.size(); ++i) {
        if (budget.checks[i].id == CheckId::biofilter) notes[i] = filter;
        if (budget.checks[i].id == CheckId::nitrite && budget.checks[i].value &&
            !loop.readings.chloride_mg_l) {
            notes[i] = kNoChloride;
        }
        if (budget.checks[i].id == CheckId::input_doubt)
            notes[i] = words_of(budget.doubts, nullptr);
    }
    return notes;
}

void add_warnings(const Tank& tank, const TankBudget& budget, std::vector<std::string>& warnings) {
    const std::string name = printable(tank.name);
    if (budget.ph_contradicts_alkalinity) {
        warnings.push_back(
            fmt::format("{}: ph {} cannot be at alkalinity_mg_l {}; measure both again", name,
                        exact(*tank.water.ph), exact(*tank.water.alkalinity_mg_l)));
    }
    for (const Inflow& inflow : tank.inflow) {
        if (budget.inflow_ph_contradicts_alkalinity && inflow.ph && inflow.alkalinity_mg_l) {
            warnings.push_back(fmt::format(
                "{}: the inflow's ph {} cannot be at its alkalinity_mg_l {}; measure both again",
                name, exact(*inflow.ph), exact(*inflow.alkalinity_mg_l)));
        }
        if (!(inflow.oxygen_percent > 0.0)) continue;
        const double percent = *inflow.oxygen_percent;
        if (percent < kMistypedPercent) {
            warnings.push_back(fmt::format(
                "{}: oxygen_percent {} of the inflow is percent, not a share: is it {}?", name,
                exact(percent), figure(100 * percent)));
        } else if (percent < kAsMgL) {
            warnings.push_back(fmt::format(
                "{}: oxygen_percent {} of the inflow is next to no oxygen: is it mg/L? Then the "
                "key is oxygen_mg_l",
                name, exact(percent)));
        }
    }
}

}  // namespace coldtank::io
