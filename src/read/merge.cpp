#include "read/merge.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <cmath>
#include <deque>
#include <tuple>

#include "coldtank/remedy.hpp"
#include "coldtank/validate.hpp"
#include "read/keys.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

// "; known are a, b": of not too many.
std::string known_words(const std::vector<std::string>& names) {
    constexpr std::size_t kMost = 8;
    if (names.empty() || names.size() > kMost) return {};
    std::vector<std::string> shown;
    for (const std::string& name : names) shown.push_back(shortened(name));
    return "; known are " + joined(shown, ", ");
}

// Where a reading goes.
struct Target {
    Tank* tank = nullptr;
    Loop* loop = nullptr;
    Description* description = nullptr;
    TankLog log;
};

using OptionalField = std::optional<double>*;

// The member of a tank, or of a loop, that a column of the water fills; null for the temperatures.
OptionalField field_of(std::string_view column, Water& water, Readings& readings) {
    const std::pair<std::string_view, OptionalField> fields[] = {
        {"ph", &water.ph},
        {"alkalinity_mg_l", &water.alkalinity_mg_l},
        {"oxygen_mg_l", &readings.oxygen_mg_l},
        {"tan_mg_l", &readings.tan_mg_l},
        {"nitrite_mg_l", &readings.nitrite_mg_l},
        {"nitrate_mg_l", &readings.nitrate_mg_l},
        {"chloride_mg_l", &readings.chloride_mg_l},
        {"carbon_dioxide_mg_l", &readings.carbon_dioxide_mg_l},
        {"current_cm_s", &readings.current_cm_s},
        {"gas_pressure_percent", &readings.gas_pressure_percent}};
    for (const auto& [name, field] : fields) {
        if (name == column) return field;
    }
    return nullptr;
}

class Merger {
public:
    // The descriptions are as they were written, before any reading.
    Merger(ReadingsFile& file, const Instant& now, const MaxAge& max_age, const SpeciesBook& book,
           std::span<const ReadResult> read);

    TankReadings merge(Target& target);

private:
    bool use(const Target& target, const std::string& fish, std::string_view column,
             const Measured& measured);
    bool use_of_group(Tank& tank, const std::string& fish, std::string_view column,
                      const Measured& measured);
    void use_of_loop(const Target& target, std::string_view column, const Measured& measured) const;
    void set_temperature(const TankLog& log, Water& water, double temperature_c) const;
    void set_peak(Water& water, double peak_temperature_c) const;
    std::vector<FishGroup*> groups_of(Tank& tank, const std::string& fish) const;
    void name_groups_alike(Target& target) const;
    bool fail(const Measured& measured, std::string message) {
        file_.errors.push_back({file_.path, measured.place.line, measured.place.column,
                                measured.pointer,
                                fmt::format("{} ({})", message, shortened(name_))});
        return false;
    }

    double age_h(const Measured& measured) const {
        return std::max(0.0, static_cast<double>(now_.seconds - measured.time.seconds) / 3600);
    }
    double most_h(const std::string& column) const;
    bool is_aged(const std::string& column) const;
    void look_back(const Target& target, TankReadings& out) const;
    void raise_peak(const TankLog& log, Water& water) const;
    bool seen_at_its_warmest(const TankLog& log, double temperature_c) const;
    bool is_newer(const TankLog::Sample& sample, double hours) const;
    std::optional<double> temperature_jump(const TankLog& log) const;
    bool loop_is_newer(const Target& target, const std::string& column,
                       const Measured& measured) const;

    ReadingsFile& file_;
    Instant now_;
    const MaxAge& max_age_;
    const SpeciesBook& book_;
    std::map<const Water*, Water> described_;
    std::map<std::pair<const Description*, std::string>, const TankLog*> loop_logs_;
    std::string name_;  // of the tank at hand
    std::map<std::tuple<const Description*, std::string, std::string>, Measured> used_of_loops_;
};

Merger::Merger(ReadingsFile& file, const Instant& now, const MaxAge& max_age,
               const SpeciesBook& book, std::span<const ReadResult> read)
    : file_(file), now_(now), max_age_(max_age), book_(book) {
    for (const ReadResult& one : read) {
        if (!one.description) continue;
        for (const Tank& tank : one.description->tanks) described_[&tank.water] = tank.water;
        for (const Loop& loop : one.description->loops) described_[&loop.water] = loop.water;
    }
}

double Merger::most_h(const std::string& column) const {
    if (const auto tank = max_age_.of_tank.find(name_); tank != max_age_.of_tank.end()) {
        return tank->second;
    }
    const auto own = max_age_.of_column.find(column);
    return own == max_age_.of_column.end() ? max_age_.hours : own->second;
}

bool Merger::is_aged(const std::string& column) const {
    return !is_of_fish(column) || max_age_.of_column.count(column) > 0;
}

bool Merger::is_newer(const TankLog::Sample& sample, double hours) const {
    return static_cast<double>(now_.seconds - sample.seconds) <= hours * 3600;
}

// The warmest hour of the readings that are not too old.
void Merger::raise_peak(const TankLog& log, Water& water) const {
    for (const auto& [samples, column] :
         {std::pair{&log.temperature_c, "temperature_c"},
          std::pair{&log.peak_temperature_c, "peak_temperature_c"}}) {
        for (const TankLog::Sample& sample : *samples) {
            if (is_newer(sample, most_h(column)) &&
                sample.value > water.peak_temperature_c.value_or(water.temperature_c)) {
                water.peak_temperature_c = sample.value;
                water.peak_assumed = false;
            }
        }
    }
}

// The largest change between two temperatures that are not too old and lie within a day.
std::optional<double> Merger::temperature_jump(const TankLog& log) const {
    std::vector<TankLog::Sample> samples;
    for (const TankLog::Sample& sample : log.temperature_c) {
        if (is_newer(sample, most_h("temperature_c"))) samples.push_back(sample);
    }
    std::sort(samples.begin(), samples.end(),
              [](const auto& a, const auto& b) { return a.seconds < b.seconds; });
    // The least and the most of those within a day before each, as places: the deques stay sorted
    // by value, so their fronts are the ends.
    std::optional<double> jump;
    std::deque<std::size_t> lows;
    std::deque<std::size_t> highs;
    const auto value = [&](std::size_t i) { return samples[i].value; };
    for (std::size_t i = 0; i < samples.size(); ++i) {
        const auto is_old = [&](std::size_t k) {
            return static_cast<double>(samples[i].seconds - samples[k].seconds) >
                   3600 * kTemperatureJumpHours;
        };
        while (!lows.empty() && value(lows.back()) >= value(i)) lows.pop_back();
        while (!highs.empty() && value(highs.back()) <= value(i)) highs.pop_back();
        lows.push_back(i);
        highs.push_back(i);
        while (is_old(lows.front())) lows.pop_front();
        while (is_old(highs.front())) highs.pop_front();
        const double change =
            std::max(value(i) - value(lows.front()), value(highs.front()) - value(i));
        if (change > jump.value_or(0)) jump = change;
    }
    return jump;
}

// What the latest values alone would hide: the warmest hour, the lowest oxygen, recent deaths.
void Merger::look_back(const Target& target, TankReadings& out) const {
    raise_peak(target.log, target.tank->water);
    if (target.tank->loop) {  // whose water it shares
        const auto log = loop_logs_.find({target.description, target.tank->loop->name});
        if (log != loop_logs_.end()) raise_peak(*log->second, target.tank->water);
    }
    target.tank->readings.temperature_jump_c = temperature_jump(target.log);
    const TankLog::Sample* lowest = nullptr;
    for (const TankLog::Sample& sample : target.log.oxygen_mg_l) {
        if (!is_newer(sample, most_h("oxygen_mg_l"))) continue;
        if (lowest == nullptr || sample.value < lowest->value) lowest = &sample;
    }
    const auto latest = target.log.latest.find({"", "oxygen_mg_l"});
    if (lowest != nullptr) target.tank->readings.lowest_oxygen_mg_l = lowest->value;
    if (lowest != nullptr && lowest->value < latest->second.value) {
        out.lowest = TankReadings::Lowest{lowest->value,
                                          latest->second.value,
                                          text_of({lowest->seconds, now_.offset_s}),
                                          {lowest->seconds, now_.offset_s}};
    }
    if (target.log.died.empty()) return;
    double died = 0;
    double fish_count = 0;
    bool taken_off = true;
    for (const FishGroup& group : target.tank->fish) fish_count += group.count;
    for (const UsedReading& each : out.list) {
        taken_off = taken_off && (each.column != kCounted || each.used);
    }
    for (const TankLog::Sample& sample : target.log.died) {
        if (is_newer(sample, kDeathsWindowH)) died += sample.value;
    }
    if (taken_off) fish_count += died;
    if (fish_count > 0) out.deaths = deaths_check({.died = died, .fish_count = fish_count});
}

// Whether one of the temperatures of a day, not too old, was read in the afternoon where it was
// read, and the water has not become warmer since. Nobody knows the afternoon of a time in UTC.
bool Merger::seen_at_its_warmest(const TankLog& log, double temperature_c) const {
    constexpr std::int64_t kDay = 86400;
    const double most = std::min(double{kReadingsMaxAgeH}, most_h("temperature_c"));
    return std::any_of(
        log.temperature_c.begin(), log.temperature_c.end(), [&](const TankLog::Sample& sample) {
            const std::int64_t local = sample.seconds + sample.offset_s;
            const double hour = static_cast<double>((local % kDay + kDay) % kDay) / 3600;
            return sample.offset_s != 0 && is_newer(sample, most) &&
                   sample.value >= temperature_c && hour >= kWarmestFromH && hour <= kWarmestToH;
        });
}

// A description ages: the warmest hour is what was read, perhaps at the coldest hour, and twice the
// swing that is described. Where no swing is described it is at least the described mean: a reading
// of a cold night says nothing of the afternoon. raise_peak() adds the highest that was read.
void Merger::set_temperature(const TankLog& log, Water& water, double temperature_c) const {
    const Water& described = described_.at(&water);
    water.temperature_c = temperature_c;
    water.peak_temperature_c.reset();
    water.peak_assumed = false;
    if (!described.peak_temperature_c) {
        water.peak_assumed = temperature_c < described.temperature_c;
        if (water.peak_assumed) water.peak_temperature_c = described.temperature_c;
        return;
    }
    const double swing_c = *described.peak_temperature_c - described.temperature_c;
    water.peak_temperature_c = temperature_c;
    if (!seen_at_its_warmest(log, temperature_c))
        *water.peak_temperature_c += kSwingsToWarmest * swing_c;
    // Beyond what the model knows no trout lives: it fails there as well.
    *water.peak_temperature_c =
        std::min(*water.peak_temperature_c, std::max(temperature_c, kTemperatureRange.high));
    water.planned_peak_temperature_c = described.peak_temperature_c;
}

// Of a tank and its loop the newer reading counts; it is put into the tank here.
bool Merger::loop_is_newer(const Target& target, const std::string& column,
                           const Measured& measured) const {
    if (target.tank == nullptr || !target.tank->loop) return false;
    const auto of_loop = used_of_loops_.find({target.description, target.tank->loop->name, column});
    if (of_loop == used_of_loops_.end() || of_loop->second.time.seconds <= measured.time.seconds) {
        return false;
    }
    Tank& tank = *target.tank;
    if (OptionalField field = field_of(column, tank.water, tank.readings)) {
        *field = of_loop->second.value;
    } else if (column == "temperature_c") {
        set_temperature(target.log, tank.water, of_loop->second.value);
    } else {
        set_peak(tank.water, of_loop->second.value);
    }
    return true;
}

// One below the mean is of another day, or a slip: it says nothing of today's warmest hour.
void Merger::set_peak(Water& water, double peak_temperature_c) const {
    if (peak_temperature_c < water.temperature_c) return;
    water.peak_temperature_c = peak_temperature_c;
    water.peak_assumed = false;
    water.planned_peak_temperature_c = described_.at(&water).peak_temperature_c;
}

// The groups that a name means: of that name, else of that species by any of its names; all for an
// empty one.
std::vector<FishGroup*> Merger::groups_of(Tank& tank, const std::string& fish) const {
    std::vector<FishGroup*> found;
    for (FishGroup& group : tank.fish) {
        if (fish.empty() || fish == name_of(group)) found.push_back(&group);
    }
    if (const BookEntry* species = book_.find(fish); found.empty() && species != nullptr) {
        for (FishGroup& group : tank.fish) {
            if (group.species_name == species->name) found.push_back(&group);
        }
        // One that has a name goes by it.
        if (found.size() > 1) {
            std::erase_if(found, [](const FishGroup* group) { return !group->name.empty(); });
        }
    }
    return found;
}

// One name for each group, "" where there is one group only: what was written of it under several
// is one column.
void Merger::name_groups_alike(Target& target) const {
    if (target.tank == nullptr) return;
    LatestReadings alike;
    for (const auto& [name, measured] : target.log.latest) {
        std::pair<std::string, std::string> key = name;
        const auto groups = groups_of(*target.tank, name.first);
        if (is_of_fish(name.second) && groups.size() == 1) {
            key.first = target.tank->fish.size() == 1 ? "" : name_of(*groups[0]);
        }
        take_later(key, measured, alike);
    }
    // A ration of the tank and one of every group: the newer way of writing stands.
    const std::string ration = "ration_g_day";
    const auto of_tank = alike.find({"", ration});
    std::size_t named = 0;
    std::int64_t newest = 0;
    for (const auto& [name, measured] : alike) {
        if (name.second != ration || name.first.empty()) continue;
        ++named;
        newest = std::max(newest, measured.time.seconds);
    }
    if (of_tank != alike.end() && named > 0 && named == target.tank->fish.size()) {
        const bool tank_stands = of_tank->second.time.seconds >= newest;
        std::erase_if(alike, [&](const auto& each) {
            return each.first.second == ration && each.first.first.empty() != tank_stands;
        });
    }
    target.log.latest = std::move(alike);
}

bool Merger::use_of_group(Tank& tank, const std::string& fish, std::string_view column,
                          const Measured& measured) {
    // Who is fed is not fasted any more.
    if (column == "ration_g_day" && measured.value > 0 && tank.feed.fasted_h > double{kFedWithin}) {
        tank.feed.fasted_h.reset();
    }
    const bool only = tank.fish.size() == 1;
    if (column == "ration_g_day" && fish.empty() && !(only && tank.fish[0].ration_g_day)) {
        const auto eats = [](const FishGroup& group) { return group.count > 0; };
        const bool eaters =
            std::any_of(tank.fish.begin(), tank.fish.end(),
                        [&](const FishGroup& group) { return eats(group) && !group.ration_g_day; });
        if (!eaters && measured.value > 0 &&
            std::any_of(tank.fish.begin(), tank.fish.end(), eats)) {
            return fail(measured,
                        "no group is left to eat it: each has a ration of its own; name the group "
                        "in a column fish");
        }
        tank.feed.ration_g_day = measured.value;
        tank.feed.ration_percent_day.reset();
        return true;
    }
    const auto groups = groups_of(tank, fish);
    if (groups.size() != 1) {
        std::vector<std::string> known;
        for (const FishGroup& group : tank.fish) known.emplace_back(name_of(group));
        const std::string near = nearest(fish, known);
        return fail(
            measured,
            tank.fish.empty() ? "there are no fish in this tank"
            : fish.empty()    ? "which fish? the tank has several groups: name one in a column fish"
            : groups.empty()
                ? fmt::format("no fish of this tank are called \"{}\"; {}", shortened(fish),
                              near.empty() ? fmt::format("they are {}", joined(known, ", "))
                                           : fmt::format("did you mean {}?", near))
                : fmt::format("two groups are called \"{}\"; name them apart", shortened(fish)));
    }
    FishGroup* found = groups[0];
    if (column == kCounted) {
        if (measured.value > found->count) {
            return fail(measured, fmt::format("{} died in all, of {} that are described",
                                              exact(measured.value), exact(found->count)));
        }
        found->count -= measured.value;
    } else if (column == "mean_weight_g") {
        const double before = found->mean_weight_g;
        found->mean_weight_g = measured.value;
        if (too_heavy(tank)) {
            found->mean_weight_g = before;
            return fail(measured, "so much fish in this tank cannot be; look at the weight");
        }
    } else {
        found->ration_g_day = measured.value;
        if (only) tank.feed.ration_g_day = tank.feed.ration_percent_day = std::nullopt;
    }
    return true;
}

// The water of a loop, and of its tanks where they have no other.
void Merger::use_of_loop(const Target& target, std::string_view column,
                         const Measured& measured) const {
    Loop& loop = *target.loop;
    std::vector<Tank*> tanks;
    for (Tank& tank : target.description->tanks) {
        if (tank.loop && tank.loop->name == loop.name) tanks.push_back(&tank);
    }
    if (OptionalField field = field_of(column, loop.water, loop.readings)) {
        for (Tank* tank : tanks) {
            OptionalField of_tank = field_of(column, tank->water, tank->readings);
            if (*of_tank == *field) *of_tank = measured.value;
        }
        *field = measured.value;
        return;
    }
    const Water before = loop.water;
    if (column == "temperature_c") {
        set_temperature(target.log, loop.water, measured.value);
    } else {
        set_peak(loop.water, measured.value);
    }
    raise_peak(target.log, loop.water);
    for (Tank* tank : tanks) {
        Water& water = tank->water;
        if (water.temperature_c != before.temperature_c) continue;
        if (water.peak_temperature_c == before.peak_temperature_c) {
            if (column == "temperature_c") tank->readings.temperature_age_h = age_h(measured);
            water.temperature_c = loop.water.temperature_c;
            water.peak_temperature_c = loop.water.peak_temperature_c;
            water.peak_assumed = loop.water.peak_assumed;
            water.planned_peak_temperature_c = loop.water.planned_peak_temperature_c;
        } else if (column == "temperature_c") {  // with a swing of its own
            set_temperature(target.log, water, loop.water.temperature_c);
            raise_peak(target.log, water);
        }
    }
}

bool Merger::use(const Target& target, const std::string& fish, std::string_view column,
                 const Measured& measured) {
    if (target.loop != nullptr) {
        use_of_loop(target, column, measured);
        used_of_loops_[{target.description, target.loop->name, std::string(column)}] = measured;
        return true;
    }
    Tank& tank = *target.tank;
    if (is_of_fish(column)) return use_of_group(tank, fish, column, measured);
    if (OptionalField field = field_of(column, tank.water, tank.readings)) {
        *field = measured.value;
        if (measured.pointer.ends_with("salt_g_l")) {  // salt that was put in is salinity too
            const double salt_g_kg = measured.value * kSaltPerChloride / 1000;
            tank.water.salinity_g_kg = std::max(tank.water.salinity_g_kg, salt_g_kg);
        }
        if (column == "oxygen_mg_l") tank.readings.oxygen_age_h = age_h(measured);
        if (column == "tan_mg_l") tank.readings.tan_age_h = age_h(measured);
        if (column == "carbon_dioxide_mg_l") tank.readings.carbon_dioxide_age_h = age_h(measured);
    } else if (column == "salinity_g_kg") {
        tank.water.salinity_g_kg = measured.value;
    } else {
        tank.water.from_above = Water::FromAbove::nothing;
        if (column == "temperature_c") {
            set_temperature(target.log, tank.water, measured.value);
            tank.readings.temperature_age_h = age_h(measured);
        } else {
            set_peak(tank.water, measured.value);
        }
    }
    return true;
}

TankReadings Merger::merge(Target& target) {
    TankReadings out;
    out.loop = target.loop != nullptr;
    out.name = name_ = out.loop ? target.loop->name : target.tank->name;
    out.check = new_check(CheckId::readings);
    std::vector<std::string> notes;
    std::vector<std::string> too_old;
    const auto could_not = [](const std::string& column, const Measured& measured) {
        return fmt::format("{} of line {} could not be used, see the errors", column,
                           measured.place.line);
    };
    double most_share = 0;
    bool water = false;
    name_groups_alike(target);
    // In the order of the table, a mean before its peak; what is of one group before what is
    // shared.
    for (const Key& key : keys_of(Scope::reading)) {
        for (const bool of_one : {true, false}) {
            for (const auto& [name, measured] : target.log.latest) {
                if (name.second != key.name || name.first.empty() == of_one) continue;
                if (out.loop && match_key(Scope::loop_water, name.second).key == nullptr) {
                    fail(measured, "not of a loop: name a tank");
                    add_reason(out.check, {Reason::row_not_used, Status::warn, {}, {}});
                    notes.push_back(could_not(name.second, measured));
                    continue;
                }
                UsedReading used{name.second,
                                 name.first,
                                 measured.value,
                                 text_of(measured.time),
                                 {measured.time.seconds, now_.offset_s},
                                 static_cast<double>(now_.seconds - measured.time.seconds) / 3600,
                                 true,
                                 measured.place.line};
                used.age_h = std::max(0.0, used.age_h);
                const bool aged = is_aged(name.second);
                const double limit_h = most_h(name.second);
                water = water || aged;
                if (aged && used.age_h > limit_h) {
                    used.used = false;
                    too_old.push_back(fmt::format("{} ({} h)", name.second, figure(used.age_h)));
                    out.check.status = Status::warn;
                } else {
                    const bool newer = loop_is_newer(target, name.second, measured);
                    used.used = !newer && use(target, name.first, name.second, measured);
                    if (!newer && !used.used) {
                        add_reason(out.check, {Reason::row_not_used, Status::warn, {}, {}});
                        notes.push_back(could_not(name.second, measured));
                    }
                }
                // The check shows the one that is nearest to its limit, or furthest over.
                if (aged && used.age_h / limit_h >= most_share) {
                    most_share = used.age_h / limit_h;
                    out.check.value = used.age_h;
                    out.check.warn.high = limit_h;
                }
                out.list.push_back(std::move(used));
            }
        }
    }
    if (file_.header_fault) {
        add_reason(out.check, {Reason::row_not_used, Status::warn, {}, {}});
        notes.emplace_back("a column of the readings file has an error and is not used");
    }
    if (out.check.status != Status::warn) {
        out.check.status = water ? Status::pass : Status::unchecked;
    }
    if (!too_old.empty()) {
        notes.push_back(fmt::format("too old and not used: {}", joined(too_old, ", ")));
    }
    const TankLog& log = target.log;
    if (log.first.line != 0 && log.latest.empty() && !log.ahead && !log.unusable) {
        add_reason(out.check, {Reason::row_not_used, Status::warn, {}, {}});
        notes.push_back(fmt::format("its rows are empty, the first at line {}", log.first.line));
    }
    if (target.log.ahead) {
        add_reason(out.check, {Reason::row_not_used, Status::warn, {}, {}});
        notes.push_back(fmt::format(
            "line {} lies {} h ahead of this clock and is not used: is the "
            "clock right?",
            target.log.ahead->place.line,
            figure(static_cast<double>(target.log.ahead->time.seconds - now_.seconds) / 3600)));
    }
    if (target.log.unusable) {
        add_reason(out.check, {Reason::row_not_used, Status::warn, {}, {}});
        notes.push_back(fmt::format("line {} has an error and not all of it could be used",
                                    target.log.unusable->line));
    }
    if (out.loop) {
        loop_logs_[{target.description, target.loop->name}] = &target.log;
        target.loop->readings.temperature_jump_c = temperature_jump(target.log);
    } else {
        look_back(target, out);
    }
    const bool oxygen_silent = !out.loop && file_.oxygen_column && log.oxygen_mg_l.empty();
    if (out.check.status == Status::pass && oxygen_silent) out.check.status = Status::unchecked;
    if (out.check.status == Status::unchecked) {
        out.check.missing = water ? "oxygen_mg_l: the readings file has the column, and none of "
                                    "this tank"
                                  : "a reading of this tank's water; the readings file has none";
    }
    out.note = joined(notes, "; ");
    return out;
}

// Two logs of one tank: of a site by its name, and of any site.
void add(const TankLog& from, TankLog& to) {
    if (to.first.line == 0) to.first = from.first;
    if (!to.ahead) to.ahead = from.ahead;
    if (from.unusable) to.unusable = from.unusable;
    for (const auto samples : {&TankLog::oxygen_mg_l, &TankLog::temperature_c,
                               &TankLog::peak_temperature_c, &TankLog::died}) {
        (to.*samples).insert((to.*samples).end(), (from.*samples).begin(), (from.*samples).end());
    }
    for (const auto& [name, measured] : from.latest) take_later(name, measured, to.latest);
}

}  // namespace

bool parse_max_age(std::string_view text, MaxAge& into) {
    const std::size_t equal = text.rfind('=');
    const auto hours = parse_age_h(equal == std::string_view::npos ? text : text.substr(equal + 1));
    if (!hours || equal == 0) return false;
    if (equal == std::string_view::npos) {
        into.hours = *hours;
        return true;
    }
    const std::string name(text.substr(0, equal));
    const Key* column = match_key(Scope::reading, name).key;
    if (column == nullptr) {
        into.of_tank[name] = *hours;
    } else if (column->kind == KeyKind::text || column->name == kCounted) {
        return false;
    } else {
        into.of_column[std::string(column->name)] = *hours;
    }
    return true;
}

std::string merge_readings(ReadingsFile& file, const Instant& now, const MaxAge& max_age,
                           const SpeciesBook& book, std::span<ReadResult> read) {
    // Every tank and loop, in order: a loop before its tanks, which may have readings of their own.
    struct NamedTarget {
        ReadResult* result;
        Target target;
        bool named = false;
    };
    std::vector<NamedTarget> all;
    for (ReadResult& one : read) {
        if (!one.description) continue;
        for (Loop& loop : one.description->loops) {
            all.push_back({&one, {nullptr, &loop, &*one.description, {}}});
        }
        for (Tank& tank : one.description->tanks) {
            all.push_back({&one, {&tank, nullptr, &*one.description, {}}});
        }
    }
    const bool all_read = std::all_of(read.begin(), read.end(), [](const ReadResult& one) {
        return !one.unreadable && one.errors.empty();
    });
    for (const auto& [name, log] : file.by) {
        const auto& [site, tank_name] = name;
        std::vector<NamedTarget*> found;
        std::vector<std::string> known;
        bool tank_found = false;
        bool loop_found = false;
        // As it is written; where none is written so, but for capitals and blanks.
        for (const bool exactly : {true, false}) {
            if (!found.empty()) break;
            known.clear();
            for (NamedTarget& each : all) {
                if (!site.empty() && each.target.description->site.name != site) continue;
                const bool loop = each.target.loop != nullptr;
                const std::string& this_name =
                    loop ? each.target.loop->name : each.target.tank->name;
                known.push_back(this_name);
                if (exactly ? trimmed(this_name) != trimmed(tank_name)
                            : folded(this_name) != folded(tank_name)) {
                    continue;
                }
                found.push_back(&each);
                (loop ? loop_found : tank_found) = true;
            }
        }
        if (found.size() == 1) {
            add(log, found[0]->target.log);
            found[0]->named = true;
            continue;
        }
        // A tank that could not be read is not unknown.
        if (found.empty() && !all_read) continue;
        const std::string near = nearest(tank_name, known);
        file.errors.push_back(
            {file.path, log.first.line, log.first.column, "/tank",
             found.empty()
                 ? fmt::format("no tank is named \"{}\"{}{}", shortened(tank_name),
                               site.empty() ? "" : fmt::format(" at \"{}\"", shortened(site)),
                               near.empty() ? known_words(known)
                                            : "; did you mean " + shortened(near) + "?")
             : tank_found && loop_found
                 ? fmt::format("a tank and a loop are named \"{}\": name them apart",
                               shortened(tank_name))
                 : fmt::format("{} tanks are named \"{}\": name the site of each in a column site",
                               found.size(), shortened(tank_name))});
    }
    const bool nothing = std::all_of(file.by.begin(), file.by.end(), [](const auto& each) {
        return each.second.latest.empty() && !each.second.ahead;
    });
    Merger merger(file, now, max_age, book, read);
    for (NamedTarget& each : all) {
        if (each.target.loop != nullptr && !each.named) continue;
        TankReadings readings = merger.merge(each.target);
        // Nothing of any tank: then it is not this tank that nobody measures.
        if (nothing && readings.check.status == Status::unchecked) {
            add_reason(readings.check, {Reason::row_not_used, Status::warn, {}, {}});
            readings.check.missing = {};
            readings.note = file.unreadable ? fmt::format("the readings file could not be read: {}",
                                                          file.errors[0].message)
                                            : "the readings file holds no reading at all";
        }
        each.result->readings.push_back(std::move(readings));
    }
    for (ReadResult& one : read) {
        one.reading_errors = file.errors;
        if (!one.description) continue;
        take_water_from_above(one.description->tanks);
        warm_from_above(one.description->tanks);
    }
    for (const auto& hours_of : max_age.of_tank) {
        const std::string& name = hours_of.first;
        const bool known = std::any_of(all.begin(), all.end(), [&](const NamedTarget& each) {
            return (each.target.loop ? each.target.loop->name : each.target.tank->name) == name;
        });
        if (!known && all_read) return name;
    }
    return {};
}

}  // namespace coldtank::io
