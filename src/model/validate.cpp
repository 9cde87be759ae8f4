#include "coldtank/validate.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <sstream>

#include "coldtank/loop.hpp"

namespace coldtank {
namespace {

std::string text_of(double value) {
    std::ostringstream text;
    text << value;
    return text.str();
}

class Validator {
public:
    std::vector<DescriptionFault> faults;

    void site(const Site& site);
    void tank(const std::string& at, const Tank& tank);
    void loop(const std::string& at, const Loop& loop);
    void rows(std::span<const Tank> tanks);
    void fault(std::string at, std::string message) {
        faults.push_back({std::move(at), std::move(message)});
    }

private:
    // `key` of what stands at `at`: put together only where it is wrong.
    void number(const std::string& at, std::string_view key, double value, const Range& range) {
        if (range.holds(value)) return;
        const char* from = range.above ? "over " : "";
        fault(at + std::string(key), "must be " + (from + text_of(range.low)) + " to " +
                                         text_of(range.high) + ", got " + text_of(value));
    }
    void number(const std::string& at, std::string_view key, std::optional<double> value,
                const Range& range) {
        if (value) number(at, key, *value, range);
    }
    void water(const std::string& at, const Water& water);
    void readings(const std::string& at, const Readings& readings);
    void inflow(const std::string& at, const Inflow& inflow);
    void group(const std::string& at, const FishGroup& group);
    void feed(const std::string& at, const Tank& tank);
    void aeration(const std::string& at, const std::vector<Aerator>& aeration,
                  const Coefficients& k);
    void coefficients(const std::string& at, const Coefficients& k);
    void limits(const std::string& at, const Limits& own, const TankLimits& resolved);
};

void Validator::site(const Site& site) {
    if (site.name.empty()) fault("/site/name", "is missing");
    if (!site.altitude_m && !site.barometric_pressure_kpa) {
        fault("/site", "altitude_m or barometric_pressure_kpa is missing: oxygen depends on it");
    }
    number("/site", "/altitude_m", site.altitude_m, kAltitudeRange);
    number("/site", "/barometric_pressure_kpa", site.barometric_pressure_kpa, kPressureRange);
}

void Validator::water(const std::string& at, const Water& water) {
    number(at, "/temperature_c", water.temperature_c, kTemperatureRange);
    number(at, "/peak_temperature_c", water.peak_temperature_c, kTemperatureRange);
    if (water.peak_temperature_c < water.temperature_c && water.peak_temperature_c) {
        fault(at + "/peak_temperature_c",
              "the warmest hour is below the day's mean, temperature_c");
    }
    number(at, "/ph", water.ph, kPhRange);
    number(at, "/alkalinity_mg_l", water.alkalinity_mg_l, kAlkalinityRange);
    number(at, "/salinity_g_kg", water.salinity_g_kg, kSalinityRange);
}

void Validator::readings(const std::string& at, const Readings& readings) {
    number(at, "/oxygen_mg_l", readings.oxygen_mg_l, kOxygenRange);
    number(at, "/oxygen_mg_l", readings.lowest_oxygen_mg_l, kOxygenRange);
    number(at, "/tan_mg_l", readings.tan_mg_l, kTanRange);
    number(at, "/nitrite_mg_l", readings.nitrite_mg_l, kAmountRange);
    number(at, "/nitrate_mg_l", readings.nitrate_mg_l, kAmountRange);
    number(at, "/chloride_mg_l", readings.chloride_mg_l, kChlorideRange);
    number(at, "/carbon_dioxide_mg_l", readings.carbon_dioxide_mg_l, kAmountRange);
    number(at, "/current_cm_s", readings.current_cm_s, kAmountRange);
    number(at, "/gas_pressure_percent", readings.gas_pressure_percent, kAmountRange);
    number(at, "/temperature_c", readings.temperature_jump_c, kTemperatureRange);
}

void Validator::inflow(const std::string& at, const Inflow& inflow) {
    number(at, "/flow_l_min", inflow.flow_l_min, kAmountRange);
    number(at, "/temperature_c", inflow.temperature_c, kTemperatureRange);
    if (!inflow.from.empty()) {
        if (inflow.temperature_c || inflow.oxygen_mg_l || inflow.oxygen_percent ||
            inflow.tan_mg_l || inflow.carbon_dioxide_mg_l || inflow.ph || inflow.alkalinity_mg_l ||
            inflow.chlorine_mg_l) {
            fault(at, "what flows out of a tank is worked out");
        }
        return;
    }
    number(at, "/oxygen_mg_l", inflow.oxygen_mg_l, kOxygenRange);
    number(at, "/oxygen_percent", inflow.oxygen_percent, kOxygenPercentRange);
    if (inflow.oxygen_mg_l && inflow.oxygen_percent) {
        fault(at, "oxygen_mg_l and oxygen_percent exclude each other");
    } else if (inflow.flow_l_min > 0 && !inflow.oxygen_mg_l && !inflow.oxygen_percent) {
        fault(at,
              "oxygen_mg_l or oxygen_percent is missing: water that flows in brings oxygen "
              "or takes it");
    }
    number(at, "/tan_mg_l", inflow.tan_mg_l, kTanRange);
    number(at, "/carbon_dioxide_mg_l", inflow.carbon_dioxide_mg_l, kAmountRange);
    number(at, "/ph", inflow.ph, kPhRange);
    number(at, "/alkalinity_mg_l", inflow.alkalinity_mg_l, kAlkalinityRange);
    if (inflow.ph.has_value() != inflow.alkalinity_mg_l.has_value()) {
        fault(at, "carbon dioxide of the inflow needs ph and alkalinity_mg_l together");
    }
    if (inflow.carbon_dioxide_mg_l && inflow.ph) {
        fault(at, "carbon_dioxide_mg_l and ph exclude each other");
    }
    number(at, "/chlorine_mg_l", inflow.chlorine_mg_l, kAmountRange);
}

void Validator::group(const std::string& at, const FishGroup& group) {
    // Without a species there are no limits to judge it by.
    const Species& species = group.species;
    for (const Constant* needed :
         {&species.warn_above_c, &species.feeding_stop_c, &species.fail_above_c,
          &species.warn_below_c, &species.density_warn_kg_m3, &species.condition_g_cm3,
          &species.male_mature_months, &species.female_mature_months}) {
        if (std::isfinite(double{*needed})) continue;
        fault(at + "/species", "is missing, or lacks a number");
        break;
    }
    if (!(species.warn_above_c < species.feeding_stop_c)) {
        fault(at + "/species", "warn_above_c must be below feeding_stop_c");
    }
    number(at, "/count", group.count, kAmountRange);
    if (group.count != std::floor(group.count)) fault(at + "/count", "must be a whole number");
    number(at, "/mean_weight_g", group.mean_weight_g, kWeightRange);
    number(at, "/age_months", group.age_months, kAmountRange);
    number(at, "/condition_factor", group.condition_factor, kConditionFactorRange);
    number(at, "/ration_g_day", group.ration_g_day, kAmountRange);
    number(at, "/respiration_factor", group.respiration_factor, kRespirationFactorRange);
    if (group.tgc) {
        number(at, "/tgc", group.tgc->expected, kTgcRange);
        if (!(group.tgc->slow <= group.tgc->expected && group.tgc->expected <= group.tgc->fast)) {
            fault(at + "/tgc", "slow growth must be slower than fast");
        }
    }
}

void Validator::feed(const std::string& at, const Tank& tank) {
    const Feed& feed = tank.feed;
    number(at, "/ration_g_day", feed.ration_g_day, kAmountRange);
    number(at, "/ration_percent_day", feed.ration_percent_day, kRationPercentRange);
    if (feed.ration_g_day && feed.ration_percent_day) {
        fault(at, "ration_g_day and ration_percent_day exclude each other");
    }
    number(at, "/protein_percent", feed.protein_percent, kProteinRange);
    number(at, "/oxygen_per_feed_g_kg", feed.oxygen_per_feed_g_kg, kOxygenPerFeedRange);
    number(at, "/peak_factor", feed.peak_factor, kPeakFactorRange);
    number(at, "/fasted_h", feed.fasted_h, kFastedRange);
    if (fed_and_fasted(tank)) {
        fault(at + "/fasted_h", "a ration is stated of fish that were last fed over a day ago");
    }
    const bool eaters = std::any_of(tank.fish.begin(), tank.fish.end(), [](const auto& group) {
        return group.count > 0 && !group.ration_g_day;
    });
    const bool fish = std::any_of(tank.fish.begin(), tank.fish.end(),
                                  [](const auto& group) { return group.count > 0; });
    if (!eaters && (feed.ration_g_day > 0.0 || (fish && feed.ration_percent_day > 0.0))) {
        fault(at, "there are no fish to eat it");
    }
}

void Validator::aeration(const std::string& at, const std::vector<Aerator>& aeration,
                         const Coefficients& k) {
    for (std::size_t i = 0; i < aeration.size(); ++i) {
        const Aerator& aerator = aeration[i];
        const std::string here = at + "/aeration/" + std::to_string(i);
        number(here, "/alpha", aerator.alpha, kFieldFactorRange);
        number(here, "/beta", aerator.beta, kFieldFactorRange);
        if (const auto* diffuser = std::get_if<Diffuser>(&aerator.kind)) {
            number(here, "/air_flow_l_min", diffuser->air_flow_l_min, kAmountRange);
            number(here, "/depth_m", diffuser->depth_m, kDepthRange);
            number(here, "/transfer_percent_per_m", diffuser->transfer_percent_per_m,
                   kTransferRange);
            if (diffuser->bubble.has_value() == diffuser->transfer_percent_per_m.has_value()) {
                fault(here, "needs bubble or transfer_percent_per_m, one of the two");
            }
            if (!(transfer_share(*diffuser, k) <= 1)) {
                const bool stated = diffuser->transfer_percent_per_m.has_value();
                fault(stated ? here : here + "/bubble",
                      std::string("over this depth that is more oxygen than the air holds") +
                          (stated ? "" : ", with the coefficient for these bubbles"));
            }
        } else if (const auto* rated = std::get_if<RatedAerator>(&aerator.kind)) {
            number(here, "/sotr_g_h", rated->sotr_g_h, kAmountRange);
        } else if (const auto* pure = std::get_if<PureOxygen>(&aerator.kind)) {
            number(here, "/flow_l_min", pure->flow_l_min, kAmountRange);
            number(here, "/absorption_percent", pure->absorption_percent, kAbsorptionRange);
        } else if (const auto* cascade = std::get_if<Cascade>(&aerator.kind)) {
            number(here, "/drop_m", cascade->drop_m, kDropRange);
            number(here, "/quality", cascade->quality, kAmountRange);
            number(here, "/weir", cascade->weir, kAmountRange);
        }
    }
}

void Validator::coefficients(const std::string& at, const Coefficients& k) {
    if (!(k.unfed_excretion_h < k.unfed_excretion_end_h)) {
        fault(at + "/coefficients/unfed_excretion_end_h", "must be over unfed_excretion_h");
    }
    const std::string here = at + "/coefficients/";
    for (const CoefficientInfo& info : kCoefficients) {
        const double value = k.*info.member;
        if (value != *info.constant.value) number(here, info.key, value, info.range());
    }
}

void Validator::limits(const std::string& at, const Limits& own, const TankLimits& resolved) {
    const std::string here = at + "/limits/";
    for (const LimitField& field : limit_fields()) {
        number(here, field.key, own.*field.own, field.range);
    }
    for (const LimitConflict& conflict : limit_conflicts(resolved, own)) {
        fault(at + "/limits/" + std::string(conflict.warn_key),
              "lies beyond " + std::string(conflict.fail_key) + ": a warning must come first");
    }
}

void Validator::tank(const std::string& at, const Tank& tank) {
    if (tank.name.empty()) fault(at + "/name", "is missing");
    number(at, "/volume_l", tank.volume_l, kPositiveRange);
    water(at + "/water", tank.water);
    readings(at + "/water", tank.readings);
    if (!tank.inflow.empty() && tank.loop) fault(at, "inflow and loop exclude each other");
    for (std::size_t i = 0; i < tank.inflow.size(); ++i) {
        inflow(at + "/inflow" + (tank.inflow.size() > 1 ? "/" + std::to_string(i) : ""),
               tank.inflow[i]);
    }
    if (tank.loop) number(at, "/loop/flow_l_min", tank.loop->flow_l_min, kAmountRange);
    for (std::size_t i = 0; i < tank.fish.size(); ++i) {
        group(at + "/fish/" + std::to_string(i), tank.fish[i]);
    }
    feed(at + "/feed", tank);
    aeration(at, tank.aeration, tank.coefficients);
    std::vector<Aerator> spare;
    for (const Backup& each : tank.backup) {
        spare.push_back(each.unit);
        number(at, "/backup/hours", hours_of(each), kAmountRange);
    }
    aeration(at + "/backup", spare, tank.coefficients);
    coefficients(at, tank.coefficients);
    limits(at, tank.limits, limits_of(tank));
    if (too_heavy(tank)) fault(at + "/fish", "so much fish in this water cannot be");
}

void Validator::loop(const std::string& at, const Loop& loop) {
    if (loop.name.empty()) fault(at + "/name", "is missing");
    water(at + "/water", loop.water);
    readings(at + "/water", loop.readings);
    number(at, "/exchange_l_day", loop.exchange_l_day, kAmountRange);
    number(at, "/makeup/tan_mg_l", loop.makeup.tan_mg_l, kTanRange);
    number(at, "/makeup/nitrate_mg_l", loop.makeup.nitrate_mg_l, kAmountRange);
    number(at, "/makeup/alkalinity_mg_l", loop.makeup.alkalinity_mg_l, kAlkalinityRange);
    number(at, "/makeup/chlorine_mg_l", loop.makeup.chlorine_mg_l, kAmountRange);
    if (const auto& filter = loop.biofilter) {
        number(at, "/biofilter/media_area_m2", filter->media_area_m2, kAmountRange);
        number(at, "/biofilter/removal_g_day", filter->removal_g_day, kAmountRange);
        number(at, "/biofilter/maturity_percent", filter->maturity_percent, kShareRange);
        if (filter->media_area_m2.has_value() == filter->removal_g_day.has_value()) {
            fault(at + "/biofilter", "needs media_area_m2 or removal_g_day, one of the two");
        }
    }
    if (loop.plants) number(at, "/plants/bed_area_m2", loop.plants->bed_area_m2, kPositiveRange);
    aeration(at, loop.aeration, loop.coefficients);
    coefficients(at, loop.coefficients);
    number(at, "/supply_oxygen_percent", loop.supply_oxygen_percent, kOxygenPercentRange);
    number(at, "/degasser_percent", loop.degasser_percent, kShareRange);
    limits(at, loop.limits, limits_of(loop));
}

void Validator::rows(std::span<const Tank> tanks) {
    std::map<std::string, double> left_l_min;  // of the tanks that are on no loop
    for (const Tank& tank : tanks) {
        if (!tank.loop) left_l_min[tank.name] = flow_l_min_of(tank);
    }
    constexpr double kRounding = 1e-9;
    for (std::size_t i = 0; i < tanks.size(); ++i) {
        std::set<std::string> before;
        for (const Inflow& inflow : tanks[i].inflow) {
            if (inflow.from.empty()) continue;
            const std::string at = "/tanks/" + std::to_string(i) + "/inflow";
            const auto above = left_l_min.find(inflow.from);
            if (above == left_l_min.end()) {
                fault(at, "no tank that is on no loop is named \"" + inflow.from + "\"");
                continue;
            }
            if (!before.insert(inflow.from).second) {
                fault(at, "\"" + inflow.from + "\" stands twice");
            }
            const double rounding = kRounding * inflow.flow_l_min;
            above->second -= inflow.flow_l_min;
            if (above->second < -rounding) {
                fault(at, "\"" + inflow.from + "\" gives more water than it receives");
            }
        }
        const auto& inflow = tanks[i].inflow;
        if (tanks[i].water.from_above == Water::FromAbove::all &&
            (flow_l_min_of(tanks[i]) == 0 ||
             std::any_of(inflow.begin(), inflow.end(), [](const Inflow& each) {
                 return each.from.empty() && !each.temperature_c;
             }))) {
            fault("/tanks/" + std::to_string(i) + "/water",
                  "its temperature is of what flows in, and not all of that tells it");
        }
    }
    if (from_the_top(tanks).size() != tanks.size()) {
        fault("/tanks", "the water of some goes in a circle");
    }
}

}  // namespace

std::vector<DescriptionFault> validate(const Description& description) {
    Validator validator;
    validator.site(description.site);
    if (description.tanks.empty() && description.trips.empty()) {
        validator.fault("/tanks", "needs one tank or more (or trips)");
    }
    std::set<std::string> loops;
    std::set<std::string> used;
    for (std::size_t i = 0; i < description.loops.size(); ++i) {
        const std::string at = "/loops/" + std::to_string(i);
        const std::string& name = description.loops[i].name;
        validator.loop(at, description.loops[i]);
        if (!loops.insert(name).second) {
            validator.fault(at + "/name", "two loops are named \"" + name + "\"");
        }
    }
    validator.rows(description.tanks);
    std::set<std::string> tanks;
    for (std::size_t i = 0; i < description.tanks.size(); ++i) {
        const std::string at = "/tanks/" + std::to_string(i);
        const Tank& tank = description.tanks[i];
        validator.tank(at, tank);
        if (!tanks.insert(tank.name).second) {
            validator.fault(at + "/name", "two tanks are named \"" + tank.name + "\"");
        }
        if (!tank.loop) continue;
        used.insert(tank.loop->name);
        if (loops.count(tank.loop->name) == 0) {
            validator.fault(at + "/loop/name", "no loop is named \"" + tank.loop->name + "\"");
        }
    }
    for (std::size_t i = 0; i < description.loops.size(); ++i) {
        if (used.count(description.loops[i].name) > 0) continue;
        validator.fault("/loops/" + std::to_string(i), "no tank is on this loop");
    }
    return std::move(validator.faults);
}

bool too_heavy(const Tank& tank) noexcept {
    double biomass_kg = 0;
    for (const FishGroup& group : tank.fish) biomass_kg += group.count * group.mean_weight_g / 1000;
    return biomass_kg > kHeaviestShare * tank.volume_l;
}

bool fed_and_fasted(const Tank& tank) noexcept {
    if (!(tank.feed.fasted_h > double{kFedWithin})) return false;
    return tank.feed.ration_g_day > 0.0 || tank.feed.ration_percent_day > 0.0 ||
           std::any_of(tank.fish.begin(), tank.fish.end(),
                       [](const FishGroup& group) { return group.ration_g_day > 0.0; });
}

}  // namespace coldtank
