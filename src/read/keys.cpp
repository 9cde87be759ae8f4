#include "read/keys.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>
#include <optional>

#include "coldtank/budget.hpp"
#include "text/text.hpp"
#include "text/units.hpp"

namespace coldtank::io {
namespace {

constexpr std::array kTemperatureUnits{Unit{"_f", 5.0 / 9, 32}};
constexpr std::array kVolumeUnits{Unit{"_m3", 1000}, Unit{"_gal_us", kGallonUsL},
                                  Unit{"_gal_imp", kGallonImperialL}, Unit{"_ft3", kCubicFootL}};
constexpr std::array kFlowUnits{Unit{"_l_h", 1.0 / 60},
                                Unit{"_l_s", 60},
                                Unit{"_m3_h", 1000.0 / 60},
                                Unit{"_gal_us_min", kGallonUsL},
                                Unit{"_gal_imp_min", kGallonImperialL},
                                Unit{"_gal_us_h", kGallonUsL / 60},
                                Unit{"_gal_imp_h", kGallonImperialL / 60}};
constexpr std::array kAirFlowUnits{Unit{"_l_h", 1.0 / 60}, Unit{"_m3_h", 1000.0 / 60},
                                   Unit{"_ft3_min", kCubicFootL}};
constexpr std::array kMassUnits{Unit{"_kg", 1000}, Unit{"_lb", kPoundG}, Unit{"_oz", kOunceG}};
constexpr std::array kDailyMassUnits{Unit{"_kg_day", 1000}, Unit{"_lb_day", kPoundG},
                                     Unit{"_oz_day", kOunceG}};
constexpr std::array kHourlyMassUnits{Unit{"_kg_h", 1000}, Unit{"_lb_h", kPoundG},
                                      Unit{"_oz_h", kOunceG}};
constexpr std::array kLengthUnits{Unit{"_cm", 1.0 / 100}, Unit{"_ft", kFootM}, Unit{"_in", kInchM}};
constexpr std::array kPressureUnits{Unit{"_hpa", 0.1}, Unit{"_mmhg", kMillimetreOfMercuryKpa},
                                    Unit{"_inhg", kInchOfMercuryKpa}};

constexpr std::array kTanUnits{Unit{"_mg_l_as_nh4", kNitrogenInNh4},
                               Unit{"_mg_l_as_nh3", kNitrogenInNh3}};
constexpr std::array kNitriteUnits{Unit{"_mg_l_as_no2", kNitrogenInNo2}};
constexpr std::array kNitrateUnits{Unit{"_mg_l_as_no3", kNitrogenInNo3}};
constexpr std::array kAlkalinityUnits{Unit{"_dkh", kCaco3PerDegree}, Unit{"_meq_l", kCaco3PerMeq},
                                      Unit{"_mmol_l", kCaco3PerMeq}};

constexpr std::array kChlorideUnits{Unit{"salt_g_l", 1000 * kChlorideInSalt, 0, true}};
constexpr std::array kLengthCmUnits{Unit{"_in", 2.54}, Unit{"_mm", 0.1}};
constexpr std::array kStockUnits{Unit{"_g", 0.001}, Unit{"_lb", kPoundG / 1000},
                                 Unit{"_oz", kOunceG / 1000}};

constexpr Quantity kChloride{"_mg_l", kChlorideUnits};
constexpr Quantity kLengthCm{"_cm", kLengthCmUnits};
constexpr Quantity kStock{"_kg", kStockUnits};
constexpr Quantity kTan{"_mg_l", kTanUnits};
constexpr Quantity kNitrite{"_mg_l", kNitriteUnits};
constexpr Quantity kNitrate{"_mg_l", kNitrateUnits};
constexpr Quantity kAlkalinity{"_mg_l", kAlkalinityUnits};
constexpr Quantity kTemperature{"_c", kTemperatureUnits};
constexpr std::array kTemperatureChangeUnits{Unit{"_f", 5.0 / 9}};
constexpr Quantity kTemperatureChange{"_c", kTemperatureChangeUnits};
constexpr std::array kTgcUnits{Unit{"_x1000", 0.001}};
constexpr Quantity kTgc{"", kTgcUnits};
constexpr Quantity kVolume{"_l", kVolumeUnits};
constexpr Quantity kFlow{"_l_min", kFlowUnits};
constexpr Quantity kAirFlow{"_l_min", kAirFlowUnits};
constexpr Quantity kMass{"_g", kMassUnits};
constexpr Quantity kDailyMass{"_g_day", kDailyMassUnits};
constexpr Quantity kHourlyMass{"_g_h", kHourlyMassUnits};
constexpr Quantity kLength{"_m", kLengthUnits};
constexpr std::array kAreaUnits{Unit{"_ft2", kFootM* kFootM}};
constexpr std::array kDailyVolumeUnits{Unit{"_m3_day", 1000}, Unit{"_gal_us_day", kGallonUsL},
                                       Unit{"_gal_imp_day", kGallonImperialL},
                                       Unit{"_ft3_day", kCubicFootL}};
constexpr Quantity kArea{"_m2", kAreaUnits};
constexpr Quantity kDailyVolume{"_l_day", kDailyVolumeUnits};
constexpr Quantity kPressure{"_kpa", kPressureUnits};

constexpr Key ranged(std::string_view name, std::string_view about, Range range,
                     const Quantity* quantity = nullptr, bool required = false) {
    return {name,       KeyKind::number, about,    required, range.low,
            range.high, range.above,     quantity, {}};
}
constexpr Key amount(std::string_view name, std::string_view about,
                     const Quantity* quantity = nullptr, bool required = false) {
    return ranged(name, about, kAmountRange, quantity, required);
}
constexpr Key positive(std::string_view name, std::string_view about,
                       const Quantity* quantity = nullptr, bool required = false) {
    return ranged(name, about, kPositiveRange, quantity, required);
}
constexpr Key usually(double value, Key key) {
    key.usual = value;
    return key;
}
constexpr Key text(std::string_view name, std::string_view about, bool required = false,
                   std::string_view choices = {}) {
    return {name, KeyKind::text, about, required, 0, 0, false, nullptr, choices};
}
constexpr Key group(std::string_view name, KeyKind kind, std::string_view about,
                    bool required = false) {
    return {name, kind, about, required, 0, 0, false, nullptr, {}};
}

constexpr std::array kDescriptionKeys{
    text("$schema", "where an editor finds the schema; not read"),
    Key{"format", KeyKind::whole, "version of this format, 1", true, 1, 1, false, nullptr, {}},
    group("site", KeyKind::object, "where the tanks stand", true),
    group("tanks", KeyKind::list, "one or more tanks; or trips"),
    group("loops", KeyKind::list, "treated water that tanks share"),
    group("trips", KeyKind::list, "fish on the way in closed water"),
    group("season", KeyKind::object, "the time to come, for coldtank season"),
    group("coefficients", KeyKind::object, "of the models, in place of the program's"),
    group("accuracy", KeyKind::object, "how far off measurements may be, for coldtank spread"),
};
constexpr std::array kSiteKeys{
    text("name", "name of the site", true),
    ranged("altitude_m", "altitude; or give barometric_pressure_kpa", kAltitudeRange, &kLength),
    ranged("barometric_pressure_kpa", "air pressure on the spot, not corrected to sea level",
           kPressureRange, &kPressure),
    usually(0, ranged("salinity_g_kg", "salinity of all tanks", kSalinityRange)),
    group("backup", KeyKind::list, "what runs without mains power, for all tanks together"),
    group("limits", KeyKind::object, "limits in place of the program's, for all tanks"),
};
constexpr std::array kTankKeys{
    text("name", "name, unique in the description", true),
    positive("volume_l", "water volume", &kVolume, true),
    group("water", KeyKind::object, "state of the water and readings (its loop's)"),
    group("inflow", KeyKind::objects, "water through the tank, or a list of waters; or loop"),
    group("loop", KeyKind::object, "treated water through the tank; or inflow"),
    group("fish", KeyKind::list, "groups of fish; [] is an empty tank", true),
    group("feed", KeyKind::object, "ration and feed"),
    group("aeration", KeyKind::list, "aerators"),
    group("backup", KeyKind::list, "what runs without mains power (the site's)"),
    group("limits", KeyKind::object, "limits in place of the site's and the program's"),
};
constexpr std::array kWaterKeys{
    ranged("temperature_c", "the day's mean; required where loop and inflow give none",
           kTemperatureRange, &kTemperature),
    ranged("peak_temperature_c", "warmest hour of that day (the mean)", kTemperatureRange,
           &kTemperature),
    ranged("ph", "measured or stated", kPhRange),
    ranged("alkalinity_mg_l", "as CaCO3", kAlkalinityRange, &kAlkalinity),
    ranged("salinity_g_kg", "salinity (the site's)", kSalinityRange),
    ranged("oxygen_mg_l", "measured oxygen", kOxygenRange),
    ranged("tan_mg_l", "measured total ammonia, as N", kTanRange, &kTan),
    amount("nitrite_mg_l", "measured nitrite, as N", &kNitrite),
    amount("nitrate_mg_l", "measured nitrate, as N", &kNitrate),
    ranged("chloride_mg_l", "measured chloride; or of the salt that was put in", kChlorideRange,
           &kChloride),
    amount("carbon_dioxide_mg_l", "measured carbon dioxide"),
    amount("current_cm_s", "speed of the current where the fish stand"),
    amount("gas_pressure_percent", "measured total gas pressure, percent of the air's"),
};
constexpr std::array kInflowKeys{
    text("from", "the tank above, whose outflow it is; without it is new water"),
    amount("flow_l_min", "flow of this water", &kFlow, true),
    ranged("temperature_c", "of new water, where the tank gives none", kTemperatureRange,
           &kTemperature),
    ranged("oxygen_mg_l", "its oxygen; or oxygen_percent", kOxygenRange),
    ranged("oxygen_percent", "its oxygen, percent of saturation at this site", kOxygenPercentRange),
    usually(0, ranged("tan_mg_l", "its total ammonia, as N", kTanRange, &kTan)),
    amount("carbon_dioxide_mg_l", "its carbon dioxide; or ph and alkalinity_mg_l"),
    ranged("ph", "its pH, with alkalinity_mg_l", kPhRange),
    ranged("alkalinity_mg_l", "its alkalinity as CaCO3, with ph", kAlkalinityRange, &kAlkalinity),
    amount("chlorine_mg_l", "its total chlorine"),
    group("keeps_flowing", KeyKind::truth, "true: flows on without power, as from a spring"),
};
constexpr std::array kFishKeys{
    text("name", "name of the group"),
    text("species", "rainbow, golden, brook or brown trout, Arctic char", true),
    Key{"count", KeyKind::whole, "number of fish", false, 0, kMost, false, nullptr, {}},
    ranged("mean_weight_g", "mean weight of one fish", kWeightRange, &kMass),
    amount("age_months", "age"),
    ranged("condition_factor", "Fulton's, 100 x g/cm3 (the species')", kConditionFactorRange),
    amount("ration_g_day", "feed of this group", &kDailyMass),
    usually(1, ranged("respiration_factor", "this stock's respiration over the model's, measured",
                      kRespirationFactorRange)),
    ranged("mean_length_cm", "mean length, in place of weight (by the condition factor)",
           {0, 200, true}, &kLengthCm),
    positive("total_kg", "weight of all of them, in place of the mean weight", &kStock),
    positive("per_m3", "fish a cubic metre, in place of count (rounded up)"),
    ranged("tgc", "thermal-unit growth coefficient of this stock, g^(1/3)/(degC day)", kTgcRange,
           &kTgc),
};
constexpr std::array kFeedKeys{
    amount("ration_g_day", "feed of all groups without a ration of their own", &kDailyMass),
    ranged("ration_percent_day", "the same in percent of their weight", kRationPercentRange),
    usually(kUsualCoefficients.protein_percent,
            ranged("protein_percent", "protein of the feed", kProteinRange)),
    usually(kUsualCoefficients.oxygen_per_feed_g_kg,
            ranged("oxygen_per_feed_g_kg", "oxygen used per feed", kOxygenPerFeedRange)),
    usually(kUsualCoefficients.peak_factor,
            ranged("peak_factor", "peak over mean demand of a day", kPeakFactorRange)),
    ranged("fasted_h", "hours since the last feed; over 24 without a ration: they are not fed",
           kFastedRange),
};
constexpr std::string_view kKinds = "diffuser|rated|oxygen|cascade";
constexpr Key kAeratorKind = text("kind", "what it is", true, kKinds);
constexpr Key kAeratorName = text("name", "name of the aerator");
constexpr Key kAeratorAlpha = usually(
    kUsualCoefficients.alpha, ranged("alpha", "field over clean transfer", kFieldFactorRange));
constexpr Key kAeratorBeta = usually(
    kUsualCoefficients.beta, ranged("beta", "field over clean saturation", kFieldFactorRange));
constexpr std::array kDiffuserKeys{
    kAeratorKind,
    kAeratorName,
    kAeratorAlpha,
    kAeratorBeta,
    amount("air_flow_l_min", "air as drawn by the pump, at that depth", &kAirFlow, true),
    ranged("depth_m", "depth of the stone", kDepthRange, &kLength, true),
    text("bubble", "bubbles; or transfer_percent_per_m", false, "fine|medium|coarse"),
    ranged("transfer_percent_per_m", "share of the oxygen taken up a metre of depth",
           kTransferRange),
};
constexpr std::array kRatedKeys{
    kAeratorKind,
    kAeratorName,
    kAeratorAlpha,
    kAeratorBeta,
    amount("sotr_g_h", "standard oxygen transfer rate, of a data sheet or drop test", &kHourlyMass,
           true),
};
constexpr std::array kOxygenKeys{
    kAeratorKind,
    kAeratorName,
    kAeratorAlpha,
    kAeratorBeta,
    amount("flow_l_min", "flow of pure oxygen", &kAirFlow, true),
    ranged("absorption_percent", "share taken up; 10-20 for stones is usual", kAbsorptionRange,
           nullptr, true),
};
constexpr std::array kCascadeKeys{
    kAeratorKind,
    kAeratorName,
    kAeratorAlpha,
    kAeratorBeta,
    ranged("drop_m", "height that the inflow falls", kDropRange, &kLength, true),
    usually(kUsualCoefficients.cascade_quality, amount("quality", "a of Barrett et al.")),
    usually(kUsualCoefficients.cascade_weir, amount("weir", "b of Barrett et al.")),
};
// An aerator and for how long it runs without mains power.
template <std::size_t N>
constexpr auto with_supply(const std::array<Key, N>& aerator) {
    constexpr std::array of_supply{
        ranged("hours", "how long it runs; or a battery or cylinder", {0, 8760, true}),
        positive("battery_v", "voltage of its battery"),
        positive("battery_ah", "capacity of its battery, ampere-hours"),
        positive("watts", "what it draws of the battery"),
        positive("cylinder_l", "water volume of its oxygen cylinder"),
        positive("cylinder_bar", "pressure in the cylinder, bar"),
        usually(kCylinderLeftBar, amount("left_bar", "pressure that is left in it, bar")),
    };
    std::array<Key, N + of_supply.size()> all{};
    std::copy(of_supply.begin(), of_supply.end(),
              std::copy(aerator.begin(), aerator.end(), all.begin()));
    return all;
}
constexpr std::array kBackupDiffuserKeys = with_supply(kDiffuserKeys);
constexpr std::array kBackupRatedKeys = with_supply(kRatedKeys);
constexpr std::array kBackupOxygenKeys = with_supply(kOxygenKeys);
constexpr Range kMinutesRange{0, 10080, true};
constexpr Range kChangeShareRange{0, 1, true};
constexpr std::array kTripKeys{
    text("name", "name of the trip", true),
    positive("water_l", "what the bucket or haul tank holds, the fish in it", &kVolume, true),
    ranged("temperature_c", "of that water", kTemperatureRange, &kTemperature, true),
    ranged("minutes", "how long it takes; or hours", kMinutesRange),
    ranged("hours", "the same in hours", {0, 168, true}),
    group("fish", KeyKind::list, "groups of fish of one trip", true),
    group("aeration", KeyKind::list, "aerators on the way"),
    usually(0, ranged("fasted_h", "hours since the last feed", kFastedRange)),
    ranged("ph", "of the water at the start", kPhRange),
    ranged("alkalinity_mg_l", "of that water, as CaCO3", kAlkalinityRange, &kAlkalinity),
    usually(100, ranged("start_oxygen_percent", "its oxygen, percent of saturation",
                        kOxygenPercentRange)),
    usually(0, ranged("salinity_g_kg", "its salinity", kSalinityRange)),
    ranged("arrival_temperature_c", "of the water they go to", kTemperatureRange, &kTemperature),
    ranged("arrival_ph", "of that water", kPhRange),
    group("water_change", KeyKind::object, "changes of water on the way"),
};
constexpr std::array kWaterChangeKeys{
    ranged("share", "share of the water, each time", kChangeShareRange, nullptr, true),
    ranged("every_min", "minutes from one to the next", {1, 10080}, nullptr, true),
};
constexpr std::array kSeasonKeys{
    text("start", "first day, 2026-04-01", true),
    text("until", "last day; or target_weight_g"),
    positive("target_weight_g", "market size of one fish", &kMass),
    Key{"monthly_mean_c",
        KeyKind::numbers,
        "mean temperature of each month, January first",
        false,
        kTemperatureRange.low,
        kTemperatureRange.high,
        false,
        &kTemperature,
        {}},
    ranged("mean_c", "mean of the year, with amplitude_c and warmest_day", kTemperatureRange,
           &kTemperature),
    ranged("amplitude_c", "warmest less mean of the year", kTemperatureChangeRange,
           &kTemperatureChange),
    text("warmest_day", "of the year, 08-05"),
    ranged("daily_swing_c",
           "warmest hour less the day's mean, half of what a thermometer swings (as the tanks are "
           "described)",
           kTemperatureChangeRange, &kTemperatureChange),
    ranged("warm_spell_c", "on top of monthly means or a wave (2); of daily temperatures 0",
           kTemperatureChangeRange, &kTemperatureChange),
    usually(0, ranged("mortality_percent_month", "fish that die", kMortalityRange)),
    text("ration", "by the table, or what growth takes; or ration_percent_day", false,
         "table|growth"),
    ranged("ration_percent_day", "of the weight of the fish", kSeasonRationRange),
    usually(kFeedConversion,
            ranged("fcr", "feed conversion, feed over gain", kFeedConversionRange)),
    group("thinning", KeyKind::list, "fish that are taken out on the way"),
};
constexpr std::array kThinningKeys{
    text("date", "on that morning, 2026-08-01", true),
    text("tank", "of which tank (every one)"),
    amount("count", "fish to take out; or share or to_kg"),
    ranged("share", "share of them to take out, of 1", {0, 1}),
    amount("to_kg", "what is to stay", &kStock),
};
constexpr std::array kLimitKeys{
    amount("oxygen_warn_mg_l", "oxygen warns below; 8 of early life"),
    amount("oxygen_warn_percent", "and below so much of saturation"),
    ranged("oxygen_fail_mg_l", "oxygen fails below; 6 of early life", kOxygenFailRange),
    amount("reserve_stress_mg_l", "oxygen at which fish are in stress"),
    ranged("reserve_danger_mg_l", "oxygen at which fish are in danger", kReserveDangerRange),
    amount("response_time_min",
           "oxygen reserve warns below, fails below half of it: to hear an alarm, come and act"),
    amount("nh3_warn_mg_l", "ammonia as NH3 warns over; 0.005 of early life"),
    amount("nh3_fail_mg_l", "ammonia as NH3 fails over; 0.0125 of early life"),
    amount("tan_warn_mg_l", "total ammonia as N warns over", &kTan),
    amount("tan_fail_mg_l", "total ammonia as N fails over", &kTan),
    amount("carbon_dioxide_warn_mg_l", "carbon dioxide warns over"),
    amount("carbon_dioxide_fail_mg_l", "carbon dioxide fails over"),
    ranged("temperature_low_warn_c", "temperature warns below (the species')", kTemperatureRange,
           &kTemperature),
    ranged("temperature_warn_c", "temperature warns over (the species')", kTemperatureRange,
           &kTemperature),
    ranged("temperature_fail_c", "temperature fails over (the species')", kTemperatureRange,
           &kTemperature),
    ranged("ph_low_warn", "pH warns below", kPhRange),
    ranged("ph_high_warn", "pH warns over", kPhRange),
    ranged("ph_low_fail", "pH fails below", kPhRange),
    ranged("ph_high_fail", "pH fails over", kPhRange),
    amount("density_warn_kg_m3", "density warns over (the species')"),
    amount("density_fail_kg_m3", "density fails over"),
    amount("density_index_kg_m3_cm", "density warns over, for each cm of length"),
    amount("ration_warn_ratio", "a stated ration warns over so many times the advised"),
    amount("exchange_warn_per_h", "water exchange warns below"),
    amount("size_spread_warn", "longest over shortest fish warns over"),
    amount("size_spread_fail", "longest over shortest fish fails over"),
    amount("nitrate_warn_mg_l", "nitrate of a loop, as N, warns over", &kNitrate),
    amount("alkalinity_warn_mg_l", "alkalinity of a loop warns below", &kAlkalinity),
    amount("alkalinity_fail_mg_l", "alkalinity of a loop fails below", &kAlkalinity),
    amount("backup_hours", "how long a backup is wanted to hold"),
};

constexpr std::array kLoopKeys{
    text("name", "name, unique in the description", true),
    group("water", KeyKind::object, "state of the water and readings, for its tanks too", true),
    usually(0, amount("exchange_l_day", "water that leaves and is made up", &kDailyVolume)),
    group("makeup", KeyKind::object, "the new water"),
    group("biofilter", KeyKind::object, "what nitrifies"),
    group("plants", KeyKind::object, "beds on the loop"),
    group("aeration", KeyKind::list, "aerators in its vessel"),
    ranged("supply_oxygen_percent", "measured oxygen of what it sends round, percent",
           kOxygenPercentRange),
    ranged("degasser_percent", "share of the carbon dioxide above the air's that a degasser takes",
           kShareRange),
    group("limits", KeyKind::object, "limits in place of the site's and the program's"),
};
constexpr std::array kLoopWaterKeys{
    ranged("temperature_c", "the day's mean", kTemperatureRange, &kTemperature, true),
    ranged("peak_temperature_c", "warmest hour of that day (the mean)", kTemperatureRange,
           &kTemperature),
    ranged("ph", "measured or stated", kPhRange),
    ranged("alkalinity_mg_l", "as CaCO3", kAlkalinityRange, &kAlkalinity),
    amount("nitrite_mg_l", "measured nitrite, as N", &kNitrite),
    amount("nitrate_mg_l", "measured nitrate, as N", &kNitrate),
    ranged("chloride_mg_l", "measured chloride; or of the salt that was put in", kChlorideRange,
           &kChloride),
};
constexpr std::array kLoopFlowKeys{
    text("name", "name of the loop", true),
    amount("flow_l_min", "flow from the loop", &kFlow, true),
};
constexpr std::array kMakeupKeys{
    usually(0, ranged("tan_mg_l", "its total ammonia, as N", kTanRange, &kTan)),
    usually(0, amount("nitrate_mg_l", "its nitrate, as N", &kNitrate)),
    usually(0,
            ranged("alkalinity_mg_l", "its alkalinity as CaCO3", kAlkalinityRange, &kAlkalinity)),
    amount("chlorine_mg_l", "its total chlorine"),
};
constexpr std::array kBiofilterKeys{
    amount("media_area_m2", "surface of the media; or removal_g_day", &kArea),
    amount("removal_g_day", "TAN it takes at 1 mg/L, measured", &kDailyMass),
    usually(100, ranged("maturity_percent", "how far it has started", kShareRange)),
};
constexpr std::array kPlantsKeys{
    positive("bed_area_m2", "area of the beds", &kArea, true),
    text("crop", "what grows", true, "leafy|fruiting"),
};
constexpr std::array kCoefficientKeys = [] {
    std::array<Key, kCoefficients.size()> all{};
    std::transform(kCoefficients.begin(), kCoefficients.end(), all.begin(),
                   [](const CoefficientInfo& info) {
                       return usually(*info.constant.value,
                                      ranged(info.key, info.constant.name, info.range()));
                   });
    return all;
}();
constexpr std::array kSpeciesFileKeys{
    text("$schema", "where an editor finds a schema; not read"),
    Key{"format", KeyKind::whole, "version of this format, 1", true, 1, 1, false, nullptr, {}},
    group("species", KeyKind::list, "one or more species", true),
};
constexpr Range kAnyTemperature{-2, 40};
constexpr std::array kSpeciesKeys{
    text("name", "name; that of a known species changes it", true),
    text("scientific_name", "scientific name"),
    group("other_names", KeyKind::list, "other names people type"),
    text("like", "the species whose numbers stand where none are given"),
    ranged("optimum_c", "temperature of best growth", kAnyTemperature, &kTemperature),
    ranged("warn_above_c", "warns above", kAnyTemperature, &kTemperature),
    ranged("feeding_stop_c", "feeding stops at, above warn_above_c", kAnyTemperature,
           &kTemperature),
    ranged("fail_above_c", "fails above", kAnyTemperature, &kTemperature),
    ranged("warn_below_c", "warns below", kAnyTemperature, &kTemperature),
    positive("density_warn_kg_m3", "warns above"),
    ranged("condition_g_cm3", "k of weight = k x length^3", {0.003, 0.03}),
    positive("male_mature_months", "age at which males mature"),
    positive("female_mature_months", "age at which females mature"),
    group("sources", KeyKind::object, "where each number comes from, as text"),
};

// A row of a readings file: the keys of water, of a group, and what goes with a row.
constexpr std::array kReadingKeys = [] {
    constexpr std::array of_row{
        text("time", "when it was measured, RFC 3339", true),
        text("tank", "name of the tank, or of a loop", true),
        text("site", "name of the site, where tanks of several have the same name"),
        text("fish", "name of the group, or its species, where the tank has several"),
        text("notes", "whatever; not read"),
    };
    constexpr std::array of_fish{
        Key{"died", KeyKind::whole, "fish that died", false, 0, kMost, false, nullptr, {}},
        kFeedKeys[0],
        kFishKeys[3],
    };
    std::array<Key, of_row.size() + kWaterKeys.size() + of_fish.size()> all{};
    auto at = std::copy(of_row.begin(), of_row.end(), all.begin());
    at = std::copy(kWaterKeys.begin(), kWaterKeys.end(), at);
    at = std::copy(of_fish.begin(), of_fish.end(), at);
    all.back().required = false;
    return all;
}();

// How far off a quantity may be: in the unit of its key, or in percent.
constexpr std::size_t kPercentOnly = static_cast<std::size_t>(
    std::count_if(kAccuracies.begin(), kAccuracies.end(),
                  [](const Accuracy& each) { return each.key == each.percent_key; }));
constexpr std::array kAccuracyKeys = [] {
    std::array<Key, 2 * kAccuracies.size() - kPercentOnly> all{};
    std::size_t at = 0;
    for (const Accuracy& accuracy : kAccuracies) {
        const std::string_view about = "nine of ten lie within it";
        all[at++] = ranged(accuracy.percent_key, about, kErrorPercentRange);
        if (accuracy.key == accuracy.percent_key) continue;
        all[at++] = ranged(accuracy.key, about, error_range(accuracy));
    }
    return all;
}();
// A row of the log of a drop test.
constexpr std::array kSeasonTemperatureKeys{
    text("date", "the day, 2026-04-01", true),
    ranged("temperature_c", "its mean", kTemperatureRange, &kTemperature, true),
};
constexpr std::array kDropLogKeys{
    text("time", "when it was read: RFC 3339, or 14:05 or 14:05:30 by one day's clock"),
    ranged("minutes", "the same, of a stop watch", {0, 10080}),
    ranged("seconds", "the same, of a logger", {0, 604800}),
    ranged("oxygen_mg_l", "what the meter shows, mg/L", kOxygenRange, nullptr, true),
    ranged("temperature_c", "temperature", kTemperatureRange, &kTemperature),
    text("notes", "whatever; not read"),
};

}  // namespace

std::string_view stem(const Key& key) {
    return key.quantity == nullptr
               ? key.name
               : key.name.substr(0, key.name.size() - key.quantity->base.size());
}

std::span<const Key> keys_of(Scope scope) noexcept {
    switch (scope) {
        case Scope::description:
            return kDescriptionKeys;
        case Scope::site:
            return kSiteKeys;
        case Scope::tank:
            return kTankKeys;
        case Scope::water:
            return kWaterKeys;
        case Scope::inflow:
            return kInflowKeys;
        case Scope::fish:
            return kFishKeys;
        case Scope::feed:
            return kFeedKeys;
        case Scope::diffuser:
            return kDiffuserKeys;
        case Scope::rated:
            return kRatedKeys;
        case Scope::oxygen:
            return kOxygenKeys;
        case Scope::cascade:
            return kCascadeKeys;
        case Scope::backup_diffuser:
            return kBackupDiffuserKeys;
        case Scope::backup_rated:
            return kBackupRatedKeys;
        case Scope::backup_oxygen:
            return kBackupOxygenKeys;
        case Scope::trip:
            return kTripKeys;
        case Scope::water_change:
            return kWaterChangeKeys;
        case Scope::season:
            return kSeasonKeys;
        case Scope::thinning:
            return kThinningKeys;
        case Scope::loop:
            return kLoopKeys;
        case Scope::loop_water:
            return kLoopWaterKeys;
        case Scope::loop_flow:
            return kLoopFlowKeys;
        case Scope::makeup:
            return kMakeupKeys;
        case Scope::biofilter:
            return kBiofilterKeys;
        case Scope::plants:
            return kPlantsKeys;
        case Scope::coefficients:
            return kCoefficientKeys;
        case Scope::accuracy:
            return kAccuracyKeys;
        case Scope::species_file:
            return kSpeciesFileKeys;
        case Scope::species:
            return kSpeciesKeys;
        case Scope::reading:
            return kReadingKeys;
        case Scope::drop_log:
            return kDropLogKeys;
        case Scope::season_temperatures:
            return kSeasonTemperatureKeys;
        case Scope::limits:
            break;
    }
    return kLimitKeys;
}

std::string_view name_of(Scope scope) noexcept {
    switch (scope) {
        case Scope::description:
            return "the top level";
        case Scope::site:
            return "site";
        case Scope::tank:
            return "a tank";
        case Scope::water:
            return "a tank's water";
        case Scope::inflow:
            return "inflow";
        case Scope::fish:
            return "a group of fish";
        case Scope::feed:
            return "feed";
        case Scope::diffuser:
            return "a diffuser";
        case Scope::rated:
            return "a rated aerator";
        case Scope::oxygen:
            return "pure oxygen";
        case Scope::cascade:
            return "a cascade";
        case Scope::backup_diffuser:
            return "a backup's diffuser";
        case Scope::backup_rated:
            return "a backup's rated aerator";
        case Scope::backup_oxygen:
            return "a backup's pure oxygen";
        case Scope::trip:
            return "a trip";
        case Scope::water_change:
            return "water_change";
        case Scope::season:
            return "season";
        case Scope::thinning:
            return "thinning";
        case Scope::loop:
            return "a loop";
        case Scope::loop_water:
            return "a loop's water";
        case Scope::loop_flow:
            return "a tank's loop";
        case Scope::makeup:
            return "makeup";
        case Scope::biofilter:
            return "biofilter";
        case Scope::plants:
            return "plants";
        case Scope::coefficients:
            return "coefficients";
        case Scope::accuracy:
            return "accuracy";
        case Scope::species_file:
            return "a species file";
        case Scope::species:
            return "a species";
        case Scope::reading:
            return "readings";
        case Scope::season_temperatures:
            return "temperatures";
        case Scope::drop_log:
            return "the log of a drop test";
        case Scope::limits:
            break;
    }
    return "limits";
}

std::optional<double> usual_of(Scope scope, const Key& key) noexcept {
    if (scope != Scope::limits) return key.usual;
    for (const LimitField& field : limit_fields()) {
        if (field.key == key.name && field.resolved != nullptr) return field.usual;
    }
    return std::nullopt;
}

KeyMatch match_key(Scope scope, std::string_view written) noexcept {
    for (const Key& key : keys_of(scope)) {
        if (written == key.name) return {&key, nullptr};
        if (key.quantity == nullptr) continue;
        for (const Unit& unit : key.quantity->others) {
            const bool is_it = unit.whole_key ? written == unit.suffix
                                              : written.starts_with(stem(key)) &&
                                                    written.substr(stem(key).size()) == unit.suffix;
            if (is_it) return {&key, &unit};
        }
    }
    return {};
}

std::vector<std::string> spellings(const Key& key) {
    std::vector<std::string> all{std::string(key.name)};
    if (key.quantity == nullptr) return all;
    for (const Unit& unit : key.quantity->others) {
        all.push_back(unit.whole_key ? std::string(unit.suffix)
                                     : fmt::format("{}{}", stem(key), unit.suffix));
    }
    return all;
}

}  // namespace coldtank::io
