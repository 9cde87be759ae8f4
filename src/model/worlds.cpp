#include "worlds.hpp"

#include <algorithm>
#include <cmath>

#include "numbers.hpp"
#include "sample.hpp"

namespace coldtank {
namespace {

// The deviate of the 95 % point: 90 % of a normal distribution lie between it and its negative.
constexpr double kEnd = 1.6448536269514722;
// Where the higher of two ends is so much more than the lower the logarithm is what is normal.
constexpr double kSkewedFrom = 1.5;
// Near full saturation: an error in mg/L is that share of a reading in percent of it.
constexpr double kFullOxygen = 10;

template <class Kind>
Kind* kind_of(Aerator& aerator) {
    return std::get_if<Kind>(&aerator.kind);
}

bool uses(const System& system, const CoefficientInfo& info) {
    const auto any_aerator = [&](auto has) {
        return std::any_of(system.tanks.begin(), system.tanks.end(),
                           [&](const Tank& tank) {
                               return std::any_of(tank.aeration.begin(), tank.aeration.end(), has);
                           }) ||
               (system.loop &&
                std::any_of(system.loop->aeration.begin(), system.loop->aeration.end(), has));
    };
    const auto has_bubbles = [&](Bubble bubble) {
        return any_aerator([&](const Aerator& aerator) {
            const auto* diffuser = std::get_if<Diffuser>(&aerator.kind);
            return diffuser != nullptr && diffuser->bubble == bubble;
        });
    };
    if (info.used_in == "loops") return system.loop.has_value();
    if (info.key == "transfer_fine_percent_per_m") return has_bubbles(Bubble::fine);
    if (info.key == "transfer_medium_percent_per_m") return has_bubbles(Bubble::medium);
    if (info.key == "transfer_coarse_percent_per_m") return has_bubbles(Bubble::coarse);
    if (info.key.starts_with("cascade_")) {
        return any_aerator(
            [](const Aerator& aerator) { return std::holds_alternative<Cascade>(aerator.kind); });
    }
    if (info.used_in == "aeration") {
        return any_aerator([](const Aerator& aerator) {
            return std::holds_alternative<Diffuser>(aerator.kind) ||
                   std::holds_alternative<RatedAerator>(aerator.kind);
        });
    }
    return true;
}

}  // namespace

Worlds::Worlds(const System& system, const SpreadQuestion& question)
    : system_(system),
      seed_(question.seed),
      width_(question.width),
      accuracies_(kAccuracies.begin(), kAccuracies.end()) {
    for (const OwnAccuracy& own : question.own) {
        Accuracy& accuracy = accuracies_[static_cast<std::size_t>(own.quantity)];
        accuracy.error.value = own.error;
        accuracy.in_percent = own.in_percent;
    }
    add_coefficients();
    add_measurements();
}

Worlds::Input& Worlds::input(std::string_view name) {
    const auto found = std::find_if(inputs_.begin(), inputs_.end(),
                                    [&](const Input& each) { return each.name == name; });
    if (found != inputs_.end()) return *found;
    // Draws go by the name (FNV-1a): an input more or less leaves the worlds of the others as they
    // are.
    std::uint64_t stream = 0xcbf29ce484222325;
    for (const char each : name) {
        stream = (stream ^ static_cast<unsigned char>(each)) * 0x100000001b3;
    }
    return inputs_.emplace_back(Input{std::string(name), stream, {}});
}

void Worlds::add_coefficients() {
    std::vector<Coefficients*> all;
    for (Tank& tank : system_.tanks) all.push_back(&tank.coefficients);
    if (system_.loop) all.push_back(&system_.loop->coefficients);
    // What the fish breathe was measured: not as unsure as a rule for all trout.
    const bool breathing_known =
        std::all_of(system_.tanks.begin(), system_.tanks.end(), [](const Tank& tank) {
            return std::all_of(tank.fish.begin(), tank.fish.end(), [](const FishGroup& group) {
                return group.respiration_factor != 1;
            });
        });
    for (const CoefficientInfo& info : kCoefficients) {
        if (!uses(system_, info)) continue;
        const CoefficientInfo* leads = &info;
        for (const CoefficientInfo& other : kCoefficients) {
            if (other.key == info.likely.with) leads = &other;
        }
        if (!leads->likely.ends) continue;
        if (info.key == "respiration_c" && breathing_known) continue;
        for (Coefficients* k : all) {
            double& number = k->*info.member;
            const double usual = *info.constant.value;
            Place place{&number, number, true, 0, 0, info.range()};
            if (number != usual) {
                place.step = width_ * std::log1p(kGivenError / 100) / kEnd;
                input(leads->key).places.push_back(place);
                continue;
            }
            const Range& ends = *leads->likely.ends;
            const double of_leader = *leads->constant.value;
            if (ends.low > 0 && ends.high >= kSkewedFrom * ends.low) {
                place.shift = width_ * (std::log(ends.low * ends.high) / 2 - std::log(of_leader));
                place.step = width_ * std::log(ends.high / ends.low) / 2 / kEnd;
            } else {
                const double middle = (ends.low + ends.high) / 2;
                place.times = false;
                place.shift = width_ * (middle / of_leader - 1) * usual;
                place.step = width_ * (ends.high - ends.low) / 2 / kEnd * usual / of_leader;
            }
            input(leads->key).places.push_back(place);
        }
        // What the feed is told to be, of a tank.
        for (Tank& tank : system_.tanks) {
            std::optional<double>* given =
                info.key == "protein_percent"        ? &tank.feed.protein_percent
                : info.key == "oxygen_per_feed_g_kg" ? &tank.feed.oxygen_per_feed_g_kg
                : info.key == "peak_factor"          ? &tank.feed.peak_factor
                                                     : nullptr;
            if (given == nullptr) continue;
            add_given(leads->key, *given, info.range());
        }
    }
}

void Worlds::add_given(std::string_view name, std::optional<double>& number, Range within) {
    if (!number || *number == 0) return;
    input(name).places.push_back(
        {&*number, *number, true, 0, width_ * std::log1p(kGivenError / 100) / kEnd, within});
}

void Worlds::add(Quantity quantity, double& number, Range within, double unit) {
    const Accuracy& accuracy = accuracies_[static_cast<std::size_t>(quantity)];
    const double error = *accuracy.error.value;
    // No share of nothing; what was read as nothing may be a little.
    if (!(error > 0) || (number == 0 && accuracy.in_percent)) return;
    Place place{&number, number, accuracy.in_percent, 0, 0, within};
    place.step = width_ * (accuracy.in_percent ? std::log1p(error / 100) : unit * error) / kEnd;
    input(accuracy.key).places.push_back(place);
}

void Worlds::add(Quantity quantity, std::optional<double>& number, Range within) {
    if (number) add(quantity, *number, within);
}

// An error in L/min is that of the largest flow, the others in proportion: what flows in flows out.
void Worlds::add_flows() {
    Accuracy& accuracy = accuracies_[static_cast<std::size_t>(Quantity::flow)];
    std::vector<double*> flows;
    double largest = 0;
    for (Tank& tank : system_.tanks) {
        for (Inflow& inflow : tank.inflow) flows.push_back(&inflow.flow_l_min);
        if (tank.loop) flows.push_back(&tank.loop->flow_l_min);
    }
    for (const double* flow : flows) largest = std::max(largest, *flow);
    if (!accuracy.in_percent && largest > 0) {
        accuracy.error.value = *accuracy.error.value / largest * 100;
        accuracy.in_percent = true;
    }
    for (double* flow : flows) add(Quantity::flow, *flow, kAmountRange);
}

void Worlds::add_measurements() {
    const auto water = [&](Water& of) {
        add(Quantity::temperature, of.temperature_c, kTemperatureRange);
        add(Quantity::temperature, of.peak_temperature_c, kTemperatureRange);
        add(Quantity::temperature, of.planned_peak_temperature_c, kTemperatureRange);
        add(Quantity::ph, of.ph, kPhRange);
        add(Quantity::alkalinity, of.alkalinity_mg_l, kAlkalinityRange);
        add(Quantity::salinity, of.salinity_g_kg, kSalinityRange);
    };
    const auto readings = [&](Readings& of) {
        add(Quantity::oxygen, of.oxygen_mg_l, kOxygenRange);
        add(Quantity::oxygen, of.lowest_oxygen_mg_l, kOxygenRange);
        add(Quantity::tan, of.tan_mg_l, kTanRange);
        add(Quantity::nitrite, of.nitrite_mg_l, kAmountRange);
        add(Quantity::nitrate, of.nitrate_mg_l, kAmountRange);
        add(Quantity::chloride, of.chloride_mg_l, kChlorideRange);
        add(Quantity::carbon_dioxide, of.carbon_dioxide_mg_l, kCarbonDioxideRange);
        add(Quantity::current, of.current_cm_s, kAmountRange);
        add(Quantity::gas_pressure, of.gas_pressure_percent, kAmountRange);
    };
    const auto aeration = [&](std::vector<Aerator>& aerators) {
        for (Aerator& aerator : aerators) {
            add_given("alpha", aerator.alpha, kFieldFactorRange);
            add_given("beta", aerator.beta, kFieldFactorRange);
            if (auto* diffuser = kind_of<Diffuser>(aerator)) {
                add(Quantity::air_flow, diffuser->air_flow_l_min, kAmountRange);
                add(Quantity::depth, diffuser->depth_m, kDepthRange);
                add(Quantity::transfer, diffuser->transfer_percent_per_m, kTransferRange);
            } else if (auto* rated = kind_of<RatedAerator>(aerator)) {
                add(Quantity::sotr, rated->sotr_g_h, kAmountRange);
            } else if (auto* oxygen = kind_of<PureOxygen>(aerator)) {
                add(Quantity::oxygen_flow, oxygen->flow_l_min, kAmountRange);
                add(Quantity::absorption, oxygen->absorption_percent, kAbsorptionRange);
            } else if (auto* cascade = kind_of<Cascade>(aerator)) {
                add(Quantity::drop, cascade->drop_m, kDropRange);
                add_given("cascade_quality", cascade->quality, kPositiveRange);
                add_given("cascade_weir", cascade->weir, kPositiveRange);
            }
        }
    };
    const auto oxygen_percent = [&](std::optional<double>& percent) {
        // In mg/L it is the same share of a reading near full saturation.
        if (percent) add(Quantity::oxygen, *percent, kOxygenPercentRange, *percent / kFullOxygen);
    };
    add(Quantity::pressure, system_.pressure_kpa, kPressureRange);
    add_flows();
    for (Tank& tank : system_.tanks) {
        add(Quantity::volume, tank.volume_l, kPositiveRange);
        water(tank.water);
        readings(tank.readings);
        for (Inflow& inflow : tank.inflow) {
            add(Quantity::temperature, inflow.temperature_c, kTemperatureRange);
            add(Quantity::oxygen, inflow.oxygen_mg_l, kOxygenRange);
            oxygen_percent(inflow.oxygen_percent);
            add(Quantity::tan, inflow.tan_mg_l, kTanRange);
            add(Quantity::carbon_dioxide, inflow.carbon_dioxide_mg_l, kCarbonDioxideRange);
            add(Quantity::ph, inflow.ph, kPhRange);
            add(Quantity::alkalinity, inflow.alkalinity_mg_l, kAlkalinityRange);
            add(Quantity::chlorine, inflow.chlorine_mg_l, kAmountRange);
        }
        for (FishGroup& group : tank.fish) {
            add(Quantity::count, group.count, kAmountRange);
            add(Quantity::mean_weight, group.mean_weight_g, kWeightRange);
            if (group.condition_factor) {
                add(Quantity::condition, group.condition_factor, kConditionFactorRange);
            } else {
                add(Quantity::condition, group.species.condition_g_cm3.value, kPositiveRange);
            }
            if (group.respiration_factor != 1) {
                add(Quantity::respiration_factor, group.respiration_factor,
                    kRespirationFactorRange);
            }
            add(Quantity::ration, group.ration_g_day, kAmountRange);
        }
        add(Quantity::ration, tank.feed.ration_g_day, kAmountRange);
        add(Quantity::ration, tank.feed.ration_percent_day, kRationPercentRange);
        aeration(tank.aeration);
    }
    if (!system_.loop) return;
    Loop& loop = *system_.loop;
    water(loop.water);
    readings(loop.readings);
    add(Quantity::exchange, loop.exchange_l_day, kAmountRange);
    add(Quantity::tan, loop.makeup.tan_mg_l, kTanRange);
    add(Quantity::nitrate, loop.makeup.nitrate_mg_l, kAmountRange);
    add(Quantity::alkalinity, loop.makeup.alkalinity_mg_l, kAlkalinityRange);
    add(Quantity::chlorine, loop.makeup.chlorine_mg_l, kAmountRange);
    if (loop.biofilter) {
        add(Quantity::media_area, loop.biofilter->media_area_m2, kAmountRange);
        add(Quantity::removal, loop.biofilter->removal_g_day, kAmountRange);
        if (loop.biofilter->maturity_percent < kShareRange.high) {
            add(Quantity::maturity, loop.biofilter->maturity_percent, kShareRange);
        }
    }
    if (loop.plants) add(Quantity::bed_area, loop.plants->bed_area_m2, kAmountRange);
    oxygen_percent(loop.supply_oxygen_percent);
    add(Quantity::degasser, loop.degasser_percent, kShareRange);
    aeration(loop.aeration);
}

double Worlds::value_at(const Place& place, double z) {
    const double moved = place.shift + place.step * z;
    return place.times ? place.base * std::exp(moved) : place.base + moved;
}

void Worlds::draw(std::size_t input, std::uint64_t matrix, std::uint64_t row) {
    constexpr int kMostAttempts = 10'000;
    const std::uint64_t stream = inputs_[input].stream;
    const double z = normal_quantile(uniform_draw(seed_, matrix, row, stream, 0));
    std::uint64_t attempt = 0;
    for (const Place& place : inputs_[input].places) {
        double value = value_at(place, z);
        // The place alone is drawn again: the others keep what is the worse for them.
        for (int tries = 0; !place.within.holds(value); ++tries) {
            if (tries == kMostAttempts) {
                value = kNotANumber;
                break;
            }
            value = value_at(place,
                             normal_quantile(uniform_draw(seed_, matrix, row, stream, ++attempt)));
        }
        *place.number = value;
    }
}

const System& Worlds::at(std::uint64_t matrix, std::uint64_t row) {
    for (std::size_t i = 0; i < inputs_.size(); ++i) draw(i, matrix, row);
    mixed_.reset();
    return system_;
}

const System& Worlds::mixed(std::size_t input, std::uint64_t row) {
    if (mixed_) draw(*mixed_, 0, row);
    draw(input, 1, row);
    mixed_ = input;
    return system_;
}

}  // namespace coldtank
