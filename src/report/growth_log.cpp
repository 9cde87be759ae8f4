#include "report/growth_log.hpp"

#include <algorithm>
#include <array>

#include "report/filter_log.hpp"

namespace coldtank::io {
namespace {

constexpr std::array<std::string_view, 6> kColumns{
    "time", "site", "tank", "fish_count", "input_temperature_c", "input_mean_weight_g"};

}  // namespace

std::span<const std::string_view> growth_columns() noexcept { return kColumns; }

GrowthLogs growth_logs_of(const Logbook& book) {
    std::vector<const LogRecord*> in_order;
    for (const LogRecord& record : book.records) in_order.push_back(&record);
    std::stable_sort(in_order.begin(), in_order.end(), [](const auto* a, const auto* b) {
        return a->time.seconds < b->time.seconds;
    });
    GrowthLogs logs;
    std::map<std::pair<std::string, std::string>, double> fish_before;
    for (const LogRecord* record : in_order) {
        const std::pair key{record->text("site"), record->text("tank")};
        GrowthLog& log = logs[key];
        const double day = day_of(record->time);
        const auto weight_g = record->number("input_mean_weight_g");
        const auto count = record->number("fish_count");
        const auto before = fish_before.find(key);
        const bool more = count && before != fish_before.end() && *count > before->second;
        const bool lighter =
            weight_g && !log.weighings.empty() && *weight_g < log.weighings.back().value;
        if (!weight_g || !count || more || lighter) log = {};
        if (count) fish_before[key] = *count;
        if (const auto temperature_c = record->number("input_temperature_c")) {
            log.temperatures.push_back({day, *temperature_c});
        }
        if (weight_g && count &&
            (log.weighings.empty() || log.weighings.back().value != *weight_g)) {
            log.weighings.push_back({day, *weight_g});
        }
    }
    return logs;
}

}  // namespace coldtank::io
