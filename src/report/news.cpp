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
constexpr double kForgottenH = 200;  // older records are not looked for

double hours_between(const Instant& from, const Instant& to) {
    return static_cast<double>(to.seconds - from.seconds) / 3600;
}

// Whether so long ago, or ahead of this clock.
bool is_due(const std::optional<Instant>& told, const Instant& now) {
    if (!told) return true;
    const double hours = hours_between(*told, now);
    return hours >= kDailyH || hours < 0;
}

// A check as it was last told: its status and when; the reading that showed it, if one did.
struct Told {
    Status status;
    std::optional<double> value = {};
    std::optional<Instant> measured = {};
    bool missed = false;  // and told that nobody has measured it since
    std::optional<Instant> at = {};
};

// What was told of a part.
struct State {
    std::map<CheckId, Told> checks = {};
    std::optional<Instant> site = {};  // when the warnings of its site were
};

// "oxygen=fail/4.9@2026-11-25T05:10:00+01:00!2026-11-25T05:15:00+01:00 exchange=warn!...": status,
// what was read and when ("?" behind it: not since), and when it was told.
std::string told_text(const State& state) {
    std::vector<std::string> words;
    for (const auto& [id, told] : state.checks) {
        std::string& word = words.emplace_back(name_of(id));
        word += fmt::format("={}", name_of(told.status));
        if (told.value) word += "/" + exact(*told.value);
        if (told.measured)
            word += fmt::format("@{}{}", text_of(*told.measured), told.missed ? "?" : "");
        if (told.at) word += "!" + text_of(*told.at);
    }
    if (state.site) words.push_back("site=warn!" + text_of(*state.site));
    return joined(words, " ");
}

// The text behind a mark up to the next of the marks; empty where it is not there.
std::string_view behind(std::string_view word, char mark, std::string_view marks) {
    const std::size_t at = word.find(mark);
    if (at == std::string_view::npos) return {};
    const std::string_view rest = word.substr(at + 1);
    return rest.substr(0, rest.find_first_of(marks));
}

// What cannot be read was not told.
State state_of(std::string_view text) {
    State state;
    const auto time = [](std::string_view written) -> std::optional<Instant> {
        if (written.empty()) return std::nullopt;
        return parse_time(written, DayEdge::start);
    };
    while (!text.empty()) {
        const std::size_t end = std::min(text.find(' '), text.size());
        const std::string_view word = text.substr(0, end);
        text.remove_prefix(std::min(end + 1, text.size()));
        const std::string_view name = word.substr(0, word.find('='));
        const std::string_view status = behind(word, '=', "/@!");
        const std::optional<Instant> at = time(behind(word, '!', ""));
        if (name == "site" && at) state.site = at;
        const auto* info = std::find_if(std::begin(kChecks), std::end(kChecks),
                                        [&](const CheckInfo& each) { return each.name == name; });
        if (info == std::end(kChecks) || !at) continue;
        for (const Status each : {Status::unchecked, Status::warn, Status::fail}) {
            if (name_of(each) != status) continue;
            const std::string_view read = behind(word, '@', "!");
            const bool missed = read.ends_with('?');
            state.checks[info->id] = {each, plain_number(behind(word, '/', "@!")),
                                      time(read.substr(0, read.size() - (missed ? 1 : 0))), missed,
                                      at};
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

// The columns whose readings show how a check stands, the one without which it cannot be said
// first.
std::vector<std::string_view> columns_of(CheckId id) {
    switch (id) {
        case CheckId::oxygen:
        case CheckId::oxygen_excess:
            return {"oxygen_mg_l"};
        case CheckId::ammonia:
            return {"tan_mg_l", "ph"};
        case CheckId::total_ammonia:
            return {"tan_mg_l"};
        case CheckId::carbon_dioxide:
            return {"carbon_dioxide_mg_l"};
        case CheckId::temperature:
            return {"temperature_c"};
        case CheckId::ph:
            return {"ph"};
        case CheckId::salinity:
            return {"salinity_g_kg"};
        case CheckId::nitrite:
            return {"nitrite_mg_l"};
        case CheckId::nitrate:
            return {"nitrate_mg_l"};
        case CheckId::alkalinity:
            return {"alkalinity_mg_l"};
        case CheckId::gas_pressure:
            return {"gas_pressure_percent"};
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
    const TankReadings* of_loop;  // for what a tank on it has no reading of
    std::string name;

    const UsedReading* reading(std::string_view column) const {
        const UsedReading* own = reading_of(readings, column);
        return own != nullptr ? own : reading_of(of_loop, column);
    }
    // Of a check: none without the first of its columns; else the newest of them.
    const UsedReading* reading(CheckId id) const {
        const UsedReading* newest = nullptr;
        for (const std::string_view column : columns_of(id)) {
            const UsedReading* read = reading(column);
            if (read == nullptr && newest == nullptr) return nullptr;
            if (read != nullptr && (newest == nullptr || read->at.seconds > newest->at.seconds)) {
                newest = read;
            }
        }
        return newest;
    }
    const Check* check(CheckId id) const {
        const auto at = std::find_if(checks.begin(), checks.end(),
                                     [&](const Check& each) { return each.id == id; });
        return at == checks.end() ? nullptr : &*at;
    }
};

bool is_newer(const UsedReading* reading, const std::optional<Instant>& than) {
    return reading != nullptr && (!than || reading->at.seconds > than->seconds);
}

// All that is wrong with the readings is an oxygen that has risen since.
bool only_a_past_low(const Check& check, const TankReadings* readings) {
    return check.id == CheckId::readings && readings != nullptr && readings->lowest &&
           status_of_value(check) == Status::pass &&
           std::all_of(check.because.begin(), check.because.end(),
                       [](const Because& each) { return each.reason == Reason::low_has_passed; });
}

// "not measured raceway: oxygen 4.9 mg/L, fail at 2026-11-25 05:10"
std::string missed_words(const Judged& part, CheckId id, const Told& told) {
    return fmt::format("not measured {}: {}, {} at {}", part.name,
                       id == CheckId::oxygen && told.value
                           ? fmt::format("oxygen {} mg/L", figure(*told.value))
                           : title_of(id),
                       name_of(told.status), minute_of(*told.measured));
}

// What is over; none where that is no news.
std::optional<std::string> over_words(const Judged& part, CheckId id, const Told& told) {
    const UsedReading* reading = part.reading(id);
    if (is_newer(reading, told.measured)) {
        return fmt::format("well again {}: {}{} since {}", part.name, title_of(id),
                           id == CheckId::oxygen
                               ? fmt::format(" {} mg/L", figure(part.reading("oxygen_mg_l")->value))
                               : "",
                           when_words(*reading));
    }
    switch (id) {
        case CheckId::readings:  // or its low is over, which was no want of readings
            if (told.measured) return std::nullopt;
            return fmt::format("readings of {} are back", part.name);
        case CheckId::deaths:
            return fmt::format("no more deaths in {} for two days", part.name);
        default:
            // The reserve follows from oxygen, of which that is said.
            if (!is_told_daily(id, told.status) || id == CheckId::oxygen_reserve)
                return std::nullopt;
            return fmt::format("{}: {} passes by the balance, not measured", part.name,
                               title_of(id));
    }
}

// By so much a value worsens before that is news by itself.
bool is_worse(const Check& check, const Told& told, std::optional<double> value) {
    if (check.status > told.status) return true;
    if (!value || !told.value) return false;
    constexpr double kFallenMgL = 0.5;
    constexpr double kWarmerC = 1;
    constexpr double kTimes = 1.5;
    switch (check.id) {
        case CheckId::oxygen:
            return *value <= *told.value - kFallenMgL;
        case CheckId::oxygen_reserve:
            return *value < *told.value && *value * kTimes <= *told.value;
        case CheckId::temperature:
            return check.warn.high && *value > *check.warn.high && *value >= *told.value + kWarmerC;
        case CheckId::deaths:
            return *value > *told.value;
        case CheckId::ammonia:
        case CheckId::total_ammonia:
        case CheckId::carbon_dioxide:
        case CheckId::nitrite:
            return *value >= *told.value * kTimes;
        default:
            return false;
    }
}

// The better of two values of a check that stands wrong.
double better(const Check& check, double a, double b) {
    return info_of(check.id).warn == Ends::low ? std::max(a, b) : std::min(a, b);
}

PartNews news_of(const Judged& part, State& state, const Instant& now, bool all) {
    PartNews news;
    news.tell = false;
    const State before = state;
    const auto told_before = [&](CheckId id) -> const Told* {
        const auto at = before.checks.find(id);
        return at == before.checks.end() ? nullptr : &at->second;
    };
    std::set<CheckId> wrong;
    // What stands wrong now.
    for (const Check& check : part.checks) {
        const Status least =
            all && check.id != CheckId::early_life ? Status::unchecked : Status::warn;
        if (check.status < least) continue;
        const Told* told = told_before(check.id);
        const UsedReading* reading = part.reading(check.id);
        const UsedReading* measured =
            reading != nullptr && shown_by_reading(check, part.budget) ? reading : nullptr;
        // What was read to be worse, and is not read now, stands as it was.
        if (told != nullptr && told->measured && reading == nullptr &&
            check.status < told->status) {
            continue;
        }
        wrong.insert(check.id);
        Told stands{.status = check.status};
        stands.value = check.id == CheckId::oxygen && measured != nullptr
                           ? std::optional(measured->value)
                           : check.value;
        if (measured != nullptr) stands.measured = measured->at;
        bool is_news = told == nullptr || is_worse(check, *told, stands.value);
        if (only_a_past_low(check, part.readings)) {
            stands.measured = part.readings->lowest->at;
            // One that was told while it stood, or since, is none.
            const auto tells_it = [&](const Told* known) {
                return known != nullptr && known->measured &&
                       known->measured->seconds >= stands.measured->seconds;
            };
            is_news = !tells_it(told) && !tells_it(told_before(CheckId::oxygen));
        }
        const bool gasping =
            check.id == CheckId::oxygen && status_of_reading(check, part.budget) == Status::fail;
        const bool due = told != nullptr && is_due(told->at, now);
        const bool tells = is_news || gasping || (due && is_told_daily(check.id, check.status));
        news.tell = news.tell || tells;
        stands.at = tells || told == nullptr ? now : *told->at;
        if (told != nullptr && !tells) {
            // It worsens from the best since it was told, not from the last.
            if (told->value && stands.value) {
                stands.value = better(check, *told->value, *stands.value);
            }
        }
        if (told != nullptr && told->measured && !stands.measured) {
            stands.measured = told->measured;  // nobody has read it since
            stands.value = told->value;
            stands.missed = told->missed;
        }
        state.checks[check.id] = stands;
    }
    // What was read to be wrong, and nobody reads now; what is over.
    for (const auto& [id, told] : before.checks) {
        const Check* check = part.check(id);
        const bool unread = part.reading(id) == nullptr;
        const bool judged = check != nullptr && check->status == Status::pass;
        const bool read_once = told.measured && id != CheckId::readings;
        const bool newly = is_newer(part.reading(id), told.measured);
        if (read_once && (unread || (wrong.count(id) == 0 && !(judged && newly)))) {
            news.missed = true;
            // Who gasped when last read may gasp now.
            const bool gasped = id == CheckId::oxygen && told.status == Status::fail;
            Told& stands = state.checks[id];
            if (!told.missed || gasped || (is_due(told.at, now) && wrong.count(id) == 0)) {
                news.over.push_back(missed_words(part, id, told));
                stands.at = now;
            }
            stands.missed = true;
        } else if (wrong.count(id) == 0 && (check == nullptr || check->status == Status::pass)) {
            const bool gone = check == nullptr && id != CheckId::deaths;
            if (auto words = gone ? std::nullopt : over_words(part, id, told)) {
                news.over.push_back(std::move(*words));
            }
            state.checks.erase(id);
        }
    }
    for (std::string& words : news.over) {
        constexpr std::size_t kPhone = 70;
        words = cut_to(std::move(words), kPhone);
    }
    news.told = told_text(state);
    return news;
}

// "2026-11-24 05:15: oxygen 6.2 to 4.9 mg/L, 13.2 to 13.9 degC"
std::string since_words(const LogRecord& last, const TankReport& tank, const Display& show) {
    const auto number = [&](const char* column) -> std::optional<double> {
        const auto cell = last.cells.find(column);
        return cell == last.cells.end() ? std::nullopt : plain_number(cell->second);
    };
    std::vector<std::string> words;
    const auto moved = [&](const char* column, std::string_view name,
                           std::optional<Measure> measure, std::optional<double> value) {
        const auto before = number(column);
        if (!before || !value || before == value) return;
        words.push_back(
            measure ? fmt::format("{}{} to {}", name, show.bare(*measure, *before),
                                  show.with_unit(*measure, *value))
                    : fmt::format("{}{} to {} mg/L", name, figure(*before), figure(*value)));
    };
    moved("input_oxygen_mg_l", "oxygen ", {}, tank.input.readings.oxygen_mg_l);
    moved("input_temperature_c", "", Measure::temperature_c, tank.input.water.temperature_c);
    moved("ration_g_day", "fed ", Measure::daily_mass_g, tank.budget.ration_g_day);
    if (const auto before = number("fish_count"); before && *before > tank.budget.fish_count) {
        words.push_back(fmt::format("{} fish less", exact(*before - tank.budget.fish_count)));
    }
    return words.empty() ? "" : fmt::format("{}: {}", minute_of(last.time), joined(words, ", "));
}

RecordKey key_of(const Report& report, const TankReport& tank) {
    return {printable(report.site->name), printable(tank.budget.tank), place_of(report)};
}

std::string cell_of(const LogRecord& record, const char* column) {
    const auto cell = record.cells.find(column);
    return cell == record.cells.end() ? std::string() : cell->second;
}

}  // namespace

std::map<RecordKey, LogRecord> last_records_of(const std::string& logbook,
                                               std::span<const Report> reports,
                                               const Instant& now) {
    constexpr std::string_view kColumns[] = {"time",
                                             "site",
                                             "tank",
                                             "loop",
                                             "file",
                                             "told",
                                             "loop_told",
                                             "input_oxygen_mg_l",
                                             "input_temperature_c",
                                             "ration_g_day",
                                             "fish_count"};
    std::map<std::pair<std::string, std::string>, int> named;
    for (const Report& report : reports) {
        for (const TankReport& tank : report.tanks) {
            const auto [site, name, file] = key_of(report, tank);
            ++named[{site, name}];
        }
    }
    // As the logbook has it, and by its file where there are two.
    const auto key_of_record = [&](const LogRecord& record) -> RecordKey {
        std::string site = printable(cell_of(record, "site"));
        std::string tank = printable(cell_of(record, "tank"));
        const auto times = named.find({site, tank});
        if (times == named.end()) return {};
        const bool by_file = times->second > 1;
        return {std::move(site), std::move(tank), by_file ? cell_of(record, "file") : ""};
    };
    const Instant oldest{now.seconds - static_cast<std::int64_t>(kForgottenH * 3600), now.offset_s};
    std::size_t wanted = 0;
    for (const auto& [name, times] : named) wanted += static_cast<std::size_t>(times);
    const auto found = last_records(logbook, kColumns, key_of_record, wanted, oldest);
    // By the key that each tank of the run has.
    std::map<RecordKey, LogRecord> out;
    for (const Report& report : reports) {
        for (const TankReport& tank : report.tanks) {
            RecordKey key = key_of(report, tank);
            const bool by_file = named[{std::get<0>(key), std::get<1>(key)}] > 1;
            const auto record = found.find(
                {std::get<0>(key), std::get<1>(key), by_file ? std::get<2>(key) : std::string()});
            if (record != found.end()) out.emplace(std::move(key), record->second);
        }
    }
    return out;
}

News news_of(const Report& report, const std::map<RecordKey, LogRecord>& last, const Instant& now,
             const Telling& telling) {
    constexpr std::size_t kName = 20;
    constexpr std::size_t kNameAndSite = 34;
    News news;
    if (!report.site) return news;
    const auto name_of_part = [&](const std::string& name) {
        return telling.name_site
                   ? cut_to(fmt::format("{} ({})", name, printable(report.site->name)),
                            kNameAndSite)
                   : cut_to(name, kName);
    };
    const auto loop_of = [&](const TankReport& tank) -> const LoopReport* {
        for (const LoopReport& loop : report.loops) {
            if (tank.input.loop && loop.budget.loop == tank.input.loop->name) return &loop;
        }
        return nullptr;
    };
    std::map<std::string_view, std::string> of_loops;
    for (const TankReport& tank : report.tanks) {
        const auto record = last.find(key_of(report, tank));
        const bool known = record != last.end();
        const std::string before = known ? cell_of(record->second, "told") : std::string();
        State state = state_of(before);
        const bool first = news.parts.empty();
        const auto said = site_words(report);
        const bool any_said = std::any_of(said.begin(), said.end(), [](const SiteWords& each) {
            return each.status >= Status::warn;
        });
        if (first && any_said) {
            news.of_site = is_due(state.site, now);
            if (news.of_site) state.site = now;
        }
        const LoopReport* loop = loop_of(tank);
        PartNews& part = news.parts.emplace_back(
            news_of({tank.budget.checks, &tank.budget, tank.readings ? &*tank.readings : nullptr,
                     loop != nullptr && loop->readings ? &*loop->readings : nullptr,
                     name_of_part(printable(tank.budget.tank))},
                    state, now, telling.all));
        part.before = before;
        if (!known) continue;
        part.since = since_words(record->second, tank, telling.show);
        if (loop != nullptr && cell_of(record->second, "loop") == loop->budget.loop) {
            of_loops.try_emplace(loop->budget.loop, cell_of(record->second, "loop_told"));
        }
    }
    for (const LoopReport& loop : report.loops) {
        const std::string before = of_loops[loop.budget.loop];
        State state = state_of(before);
        news.parts
            .emplace_back(
                news_of({loop.budget.checks, nullptr, loop.readings ? &*loop.readings : nullptr,
                         nullptr, name_of_part("loop " + printable(loop.budget.loop))},
                        state, now, telling.all))
            .before = before;
    }
    return news;
}

void keep_told(const News& news, bool was_read, Report& report) {
    auto each = news.parts.begin();
    const auto keep = [&](PartReport& part) {
        if (each == news.parts.end()) return;
        part.told = was_read ? each->told : each->before;
        ++each;
    };
    for (TankReport& tank : report.tanks) keep(tank);
    for (LoopReport& loop : report.loops) keep(loop);
}

}  // namespace coldtank::io
