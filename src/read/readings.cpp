#include "read/readings.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <chrono>
#include <cstdlib>
#include <filesystem>
#include <thread>

#include "read/csv_objects.hpp"
#include "read/object_reader.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

class RowReader {
public:
    RowReader(std::string_view text, const Instant& now, ReadingsFile& file)
        : text_(text), lines_(text), now_(now), file_(file) {}

    void take_csv(bool changing);
    void take_json_lines(bool changing);
    std::vector<Fault> faults;

private:
    void take_row(const JsonNode& row, std::size_t offset);
    void note_unusable(const JsonNode& row);
    // Too long ago to be news.
    bool is_late(const Instant& time) const {
        return static_cast<double>(now_.seconds - time.seconds) > 3600 * kReadingsMaxAgeH;
    }

    std::string_view text_;
    Lines lines_;
    Instant now_;
    ReadingsFile& file_;
    std::vector<std::pair<std::string, Place>> misshapen_;
};

void RowReader::take_row(const JsonNode& row, std::size_t offset) {
    const std::size_t before = faults.size();
    const ObjectReader reader(row, Scope::reading, {}, faults);
    const auto time_text = reader.text("time");
    const auto tank = reader.text("tank");
    const std::string site = reader.has("site") ? reader.text("site").value_or("") : "";
    const std::string fish = reader.has("fish") ? reader.text("fish").value_or("") : "";
    std::optional<Instant> time;
    if (time_text) {
        time = parse_time(*time_text, DayEdge::start);
        if (!time) {
            reader.fault("time", fmt::format("\"{}\" is no time; {}", shortened(*time_text),
                                             how_to_write_time(*time_text)));
        }
    }
    struct Found {
        std::string_view column;
        double value;
    };
    std::vector<Found> values;
    for (const Key& key : keys_of(Scope::reading)) {
        if (key.kind == KeyKind::text || !reader.has(key.name)) continue;
        if (const auto value = reader.number(key.name)) values.push_back({key.name, *value});
    }
    const bool faulty = faults.size() > before;
    for (std::size_t i = before; i < faults.size(); ++i) {
        faults[i].at += offset;
        if (faults[i].first_at) *faults[i].first_at += offset;
        if (tank) faults[i].message += fmt::format(" ({})", shortened(*tank));
    }
    if (!tank) return;
    TankLog& log = file_.by[{site, *tank}];
    if (faulty && !(time && is_late(*time))) log.unusable = lines_.place_of(offset + row.at);
    if (log.first.line == 0) log.first = lines_.place_of(offset + row.at);
    if (!time) return;
    for (const Found& found : values) {
        const std::string pointer = reader.pointer(found.column);
        const JsonMember* member = row.find(std::string_view(pointer).substr(1));
        Measured measured{pointer, found.value, *time,
                          lines_.place_of(offset + (member ? member->value.at : row.at))};
        if (time->seconds > now_.seconds + kClockSlackS) {
            if (!log.ahead) log.ahead = measured;
            continue;
        }
        file_.oxygen_column = file_.oxygen_column || found.column == "oxygen_mg_l";
        if (found.column == "oxygen_mg_l")
            log.oxygen_mg_l.push_back({time->seconds, found.value, time->offset_s});
        if (found.column == "temperature_c") {
            log.temperature_c.push_back({time->seconds, found.value, time->offset_s});
        }
        if (found.column == "peak_temperature_c") {
            log.peak_temperature_c.push_back({time->seconds, found.value, time->offset_s});
        }
        if (found.column == kCounted)
            log.died.push_back({time->seconds, found.value, time->offset_s});
        const std::string group = is_of_fish(found.column) ? fish : "";
        take_later({group, std::string(found.column)}, measured, log.latest);
    }
}

void RowReader::take_csv(bool changing) {
    CsvObjects rows(text_, Scope::reading, changing, faults);
    file_.header_fault = rows.header_fault();
    file_.oxygen_column = file_.oxygen_column || rows.has("oxygen_mg_l");
    while (const auto row = rows.next()) {
        if (row->misshapen) {
            note_unusable(row->node);
        } else {
            take_row(row->node, 0);
        }
    }
    file_.half_written = rows.half_written();
    for (const auto& [tank, place] : misshapen_) {
        for (auto& [name, log] : file_.by) {
            if (name.second == tank) log.unusable = place;
        }
    }
}

// A row of the wrong shape whose tank can be read all the same.
void RowReader::note_unusable(const JsonNode& row) {
    const JsonMember* tank = row.find("tank");
    const JsonMember* time = row.find("time");
    if (tank == nullptr || time == nullptr) return;
    const auto when = parse_time(time->value.text, DayEdge::start);
    if (when && !is_late(*when)) {
        misshapen_.emplace_back(tank->value.text, lines_.place_of(row.at));
    }
}

void RowReader::take_json_lines(bool changing) {
    for (std::size_t at = text_.starts_with("\xEF\xBB\xBF") ? 3 : 0; at < text_.size();) {
        const std::size_t end = std::min(text_.find('\n', at), text_.size());
        std::string_view line = text_.substr(at, end - at);
        const std::size_t from = at;
        at = end + 1;
        if (line.ends_with('\r')) line.remove_suffix(1);
        if (trimmed(line).empty()) continue;
        std::vector<Fault> wrong;
        auto node = parse_json(line, wrong);
        if (end == text_.size() && changing) {
            file_.half_written = true;
            return;
        }
        for (Fault& each : wrong) {
            each.at += from;
            faults.push_back(std::move(each));
        }
        if (!node) continue;
        file_.oxygen_column = file_.oxygen_column || node->find("oxygen_mg_l") != nullptr;
        std::erase_if(node->members, [](const JsonMember& member) {  // measured nothing
            return member.value.kind == JsonNode::Kind::null ||
                   (member.value.kind == JsonNode::Kind::text && member.value.text.empty());
        });
        for (JsonMember& member : node->members) {  // seconds since 1970
            const bool time = member.key == "time";
            if (time && member.value.kind == JsonNode::Kind::number) {
                member.value.kind = JsonNode::Kind::text;
            }
        }
        take_row(*node, from);
    }
}

// All of a file whose last line has ended, or that has stopped growing.
std::optional<std::string> read_settled(const std::string& path, std::string& reason,
                                        bool& changing) {
    using namespace std::chrono_literals;
    constexpr int kStillFor = 6;  // looks
    constexpr int kMost = 40;
    auto text = read_all(path, reason);
    std::error_code none;
    if (path == "-" || !text || !std::filesystem::is_regular_file(path, none)) return text;
    int still = 0;
    for (int look = 0; look < kMost && !text->empty() && text->back() != '\n'; ++look) {
        std::this_thread::sleep_for(50ms);
        if (std::filesystem::file_size(path, none) == text->size()) {
            if (++still == kStillFor) return text;
            continue;
        }
        still = 0;
        text = read_all(path, reason);
        if (!text) return text;
    }
    changing = !text->empty() && text->back() != '\n';
    return text;
}

}  // namespace

// What was counted, weighed or fed: of a group, and it stands until the next.
bool is_of_fish(std::string_view column) {
    return column == kCounted || column == "mean_weight_g" || column == "ration_g_day";
}

// Adds to a count; of all else the later stands, of two at once the second.
void take_later(const std::pair<std::string, std::string>& name, const Measured& measured,
                LatestReadings& latest) {
    const auto [at, added] = latest.try_emplace(name, measured);
    if (added) return;
    const double sum = at->second.value + measured.value;
    const auto when = [](const Measured& one) {
        return std::pair(one.time.seconds, one.place.line);
    };
    if (when(measured) >= when(at->second)) at->second = measured;
    if (name.second == kCounted) at->second.value = sum;
}

ReadingsFile read_readings(const std::string& path, const Instant& now) {
    ReadingsFile file;
    file.path = path;
    std::string reason;
    bool changing = false;
    const auto text = read_settled(path, reason, changing);
    if (!text) {
        file.unreadable = true;
        file.errors.push_back({path, {}, {}, {}, reason});
        return file;
    }
    if (const auto fault = not_text(*text)) {
        file.errors = located({*fault}, *text, path);
        return file;
    }
    RowReader rows(*text, now, file);
    // Standard input has no name to tell by.
    const bool object = path == "-" && trimmed(*text).starts_with('{');
    if (is_json_lines(path) || object) {
        rows.take_json_lines(changing);
    } else {
        rows.take_csv(changing);
    }
    file.errors = located(std::move(rows.faults), *text, path);
    return file;
}

}  // namespace coldtank::io
