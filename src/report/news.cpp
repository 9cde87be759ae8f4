#include "report/news.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <optional>
#include <set>

#include "report/answer.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

constexpr double kDailyH = 20;       // a nightly run is told again, one an hour later is not
constexpr double kForgottenH = 200;  // what was told over a week ago is told anew

// A check as it was last told; with the time of the reading that showed it.
struct Told {
    Status status;
    std::string measured = {};  // RFC 3339; empty where none did
    bool missed = false;        // and that nobody has measured it since
};

// What was told of a part, and when last.
struct State {
    std::optional<Instant> at = {};
    std::map<CheckId, Told> checks = {};
};

// "2026-11-25T05:15:00+01:00 oxygen=fail@2026-11-25T05:10:00+01:00 exchange=warn"; a "?" behind a
// time: not measured since.
std::string told_text(const State& state) {
    if (!state.at) return {};
    std::string out = text_of(*state.at);
    for (const auto& [id, told] : state.checks) {
        out += fmt::format(" {}={}", name_of(id), name_of(told.status));
        if (!told.measured.empty()) {
            out += fmt::format("@{}{}", told.measured, told.missed ? "?" : "");
        }
    }
    return out;
}

// What cannot be read was not told.
State state_of(std::string_view text) {
    State state;
    std::string_view rest = text;
    const auto next = [&] {
        const std::size_t end = std::min(rest.find(' '), rest.size());
        const std::string_view word = rest.substr(0, end);
        rest.remove_prefix(std::min(end + 1, rest.size()));
        return word;
    };
    state.at = parse_time(next(), DayEdge::start);
    if (!state.at) return {};
    while (!rest.empty()) {
        std::string_view word = next();
        const std::size_t equal = std::min(word.find('='), word.size());
        const std::size_t at = std::min(word.find('@'), word.size());
        for (const CheckInfo& info : kChecks) {
            if (info.name != word.substr(0, equal) || equal == word.size()) continue;
            for (const Status status : {Status::unchecked, Status::warn, Status::fail}) {
                if (name_of(status) != word.substr(equal + 1, at - equal - 1)) continue;
                Told told{status, std::string(word.substr(std::min(at + 1, word.size())))};
                if (told.measured.ends_with('?')) {
                    told.measured.pop_back();
                    told.missed = true;
                }
                state.checks[info.id] = std::move(told);
            }
        }
    }
    return state;
}

// What may kill is never told only once.
bool is_told_daily(CheckId id, Status status) {
    switch (id) {
        case CheckId::oxygen:
        case CheckId::oxygen_reserve:
        case CheckId::readings:
        case CheckId::deaths:
            return true;
        case CheckId::ammonia:
        case CheckId::total_ammonia:
        case CheckId::nitrite:
        case CheckId::carbon_dioxide:
        case CheckId::temperature:
            return status >= Status::warn;
        default:
            return status == Status::fail;
    }
}

// The column whose readings show how a check stands; empty where none does.
std::string_view column_of(CheckId id) {
    switch (id) {
        case CheckId::oxygen:
        case CheckId::oxygen_excess:
            return "oxygen_mg_l";
        case CheckId::ammonia:
        case CheckId::total_ammonia:
            return "tan_mg_l";
        case CheckId::carbon_dioxide:
            return "carbon_dioxide_mg_l";
        case CheckId::temperature:
            return "temperature_c";
        case CheckId::ph:
            return "ph";
        case CheckId::salinity:
            return "salinity_g_kg";
        case CheckId::nitrite:
            return "nitrite_mg_l";
        case CheckId::nitrate:
            return "nitrate_mg_l";
        case CheckId::alkalinity:
            return "alkalinity_mg_l";
        case CheckId::gas_pressure:
            return "gas_pressure_percent";
        default:
            return {};
    }
}

// By a reading: of those that a balance predicts too, where the reading alone warns or fails.
bool shown_by_reading(const Check& check, const TankBudget* budget) {
    return status_of_reading(check, budget).value_or(Status::fail) >= Status::warn;
}

struct Judged {
    const std::vector<Check>& checks;
    const TankBudget* budget;
    const TankReadings* readings;
    std::string name;
};

// What is over, or that nobody can say, as a phone shows it; none where that is no news.
std::optional<std::string> over_words(const Judged& part, CheckId id, const Told& before) {
    constexpr std::size_t kName = 20;
    const std::string name = cut_to(part.name, kName);
    const UsedReading* reading = reading_of(part.readings, column_of(id));
    if (reading != nullptr) {
        const bool oxygen = id == CheckId::oxygen;
        return fmt::format("well again {}: {}{} since {}", name, title_of(id),
                           oxygen ? fmt::format(" {} mg/L", figure(reading->value)) : "",
                           when_words(*reading));
    }
    if (id == CheckId::readings && !before.measured.empty())
        return std::nullopt;  // its low is over
    if (id == CheckId::readings) return fmt::format("readings of {} are back", name);
    if (!before.measured.empty()) {
        const auto time = parse_time(before.measured, DayEdge::start);
        return fmt::format("not measured {}: {}, {} at {}", name, title_of(id),
                           name_of(before.status), time ? minute_of(*time) : before.measured);
    }
    if (!is_told_daily(id, before.status) || id == CheckId::deaths) return std::nullopt;
    return fmt::format("{}: {} passes by the balance, not measured", name, title_of(id));
}

// It was measured to be wrong, and is not measured now.
bool is_missed(CheckId id, const Told* told, const UsedReading* reading) {
    return told != nullptr && !told->measured.empty() && reading == nullptr &&
           id != CheckId::readings;
}

// All that is wrong with the readings is an oxygen that has risen since.
bool only_a_past_low(const Check& check, const TankReadings* readings) {
    return check.id == CheckId::readings && readings != nullptr && readings->lowest &&
           status_of_value(check) == Status::pass &&
           std::all_of(check.because.begin(), check.because.end(),
                       [](const Because& each) { return each.reason == Reason::low_has_passed; });
}

PartNews news_of(const Judged& part, const State& before, const Instant& now, bool all) {
    PartNews news;
    news.tell = false;
    State after = before;
    std::set<CheckId> still;
    const double hours =
        before.at ? static_cast<double>(now.seconds - before.at->seconds) / 3600 : kForgottenH;
    const bool daily = hours >= kDailyH || hours < 0;
    // What stands wrong now.
    for (const Check& check : part.checks) {
        const Status least =
            all && check.id != CheckId::early_life ? Status::unchecked : Status::warn;
        const auto at = before.checks.find(check.id);
        const Told* told = at == before.checks.end() ? nullptr : &at->second;
        const UsedReading* reading = reading_of(part.readings, column_of(check.id));
        if (check.status < least ||
            (is_missed(check.id, told, reading) && check.status < told->status)) {
            continue;
        }
        const bool measured = reading != nullptr && shown_by_reading(check, part.budget);
        const bool past = only_a_past_low(check, part.readings);
        // A low that has passed was told while it stood.
        const bool worse = (told == nullptr || check.status > told->status) &&
                           !(past && before.checks.count(CheckId::oxygen) > 0);
        const bool gasping = check.id == CheckId::oxygen && reading != nullptr &&
                             status_of_reading(check, part.budget) == Status::fail;
        news.tell =
            news.tell || worse || gasping || (daily && is_told_daily(check.id, check.status));
        after.checks[check.id] = {check.status, measured ? text_of(reading->at)
                                                : past   ? part.readings->lowest->time
                                                         : ""};
        still.insert(check.id);
    }
    // What was wrong when last told, and is not now.
    for (const auto& [id, told] : before.checks) {
        if (still.count(id) > 0) continue;
        const bool missed = is_missed(id, &told, reading_of(part.readings, column_of(id)));
        if (!missed || !told.missed || daily) {
            if (auto words = over_words(part, id, told)) news.over.push_back(std::move(*words));
        }
        if (missed) {
            after.checks[id].missed = true;
        } else {
            after.checks.erase(id);
        }
    }
    if (news.tell || !news.over.empty()) after.at = now;
    if (after.checks.empty()) after = {};
    news.told = told_text(after);
    return news;
}

// "2026-11-24 05:15: oxygen 6.2 to 4.9 mg/L, 13.2 to 13.9 degC"
std::string since_words(const LogRecord& last, const TankReport& tank) {
    const auto number = [&](const char* column) -> std::optional<double> {
        const auto cell = last.cells.find(column);
        return cell == last.cells.end() ? std::nullopt : plain_number(cell->second);
    };
    std::vector<std::string> words;
    const auto moved = [&](const char* column, std::string_view name, std::string_view unit,
                           std::optional<double> value) {
        const auto before = number(column);
        if (!before || !value || before == value) return;
        words.push_back(fmt::format("{}{} to {} {}", name, figure(*before), figure(*value), unit));
    };
    const Readings& readings = tank.input.readings;
    moved("input_oxygen_mg_l", "oxygen ", "mg/L", readings.oxygen_mg_l);
    moved("input_temperature_c", "", "degC", tank.input.water.temperature_c);
    moved("ration_g_day", "fed ", "g/day", tank.budget.ration_g_day);
    if (const auto before = number("fish_count"); before && *before > tank.budget.fish_count) {
        words.push_back(fmt::format("{} fish less", exact(*before - tank.budget.fish_count)));
    }
    return words.empty() ? "" : fmt::format("{}: {}", minute_of(last.time), joined(words, ", "));
}

RecordKey key_of(const Report& report, const TankReport& tank) {
    return {report.site->name, tank.budget.tank, place_of(report)};
}

}  // namespace

std::map<RecordKey, LogRecord> last_records_of(const std::string& logbook,
                                               std::span<const Report> reports,
                                               const Instant& now) {
    constexpr std::string_view kColumns[] = {"time",
                                             "site",
                                             "tank",
                                             "file",
                                             "told",
                                             "loop_told",
                                             "input_oxygen_mg_l",
                                             "input_temperature_c",
                                             "ration_g_day",
                                             "fish_count"};
    std::vector<RecordKey> keys;
    for (const Report& report : reports) {
        for (const TankReport& tank : report.tanks) keys.push_back(key_of(report, tank));
    }
    const Instant oldest{now.seconds - static_cast<std::int64_t>(kForgottenH * 3600), now.offset_s};
    return last_records(logbook, kColumns, keys, oldest);
}

News news_of(const Report& report, const std::map<RecordKey, LogRecord>& last, const Instant& now,
             bool all) {
    News news;
    std::map<std::string_view, State> of_loops;
    const auto told = [](const LogRecord& record, const char* column) {
        const auto cell = record.cells.find(column);
        return cell == record.cells.end() ? State{} : state_of(cell->second);
    };
    for (const TankReport& tank : report.tanks) {
        const auto record = last.find(key_of(report, tank));
        const bool known = record != last.end();
        news.push_back(
            news_of({tank.budget.checks, &tank.budget, tank.readings ? &*tank.readings : nullptr,
                     printable(tank.budget.tank)},
                    known ? told(record->second, "told") : State{}, now, all));
        if (!known) continue;
        news.back().since = since_words(record->second, tank);
        if (tank.input.loop) {
            of_loops.try_emplace(tank.input.loop->name, told(record->second, "loop_told"));
        }
    }
    for (const LoopReport& loop : report.loops) {
        news.push_back(
            news_of({loop.budget.checks, nullptr, loop.readings ? &*loop.readings : nullptr,
                     "loop " + printable(loop.budget.loop)},
                    of_loops[loop.budget.loop], now, all));
    }
    return news;
}

void keep_told(const News& news, Report& report) {
    auto each = news.begin();
    for (TankReport& tank : report.tanks) tank.told = (each++)->told;
    for (LoopReport& loop : report.loops) loop.told = (each++)->told;
}

}  // namespace coldtank::io
