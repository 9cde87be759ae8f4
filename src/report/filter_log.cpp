#include "report/filter_log.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>

namespace coldtank::io {
namespace {

constexpr double kDayS = 86400;
constexpr std::array<std::string_view, 6> kColumns{"time", "site",           "tank",
                                                   "loop", "input_tan_mg_l", "input_nitrite_mg_l"};

std::optional<double> number_in(const LogRecord& record, const std::string& column) {
    const auto cell = record.cells.find(column);
    if (cell == record.cells.end() || cell->second.empty()) return std::nullopt;
    char* end = nullptr;
    const double value = std::strtod(cell->second.c_str(), &end);
    return *end == '\0' && std::isfinite(value) ? std::optional(value) : std::nullopt;
}

std::string text_in(const LogRecord& record, const std::string& column) {
    const auto cell = record.cells.find(column);
    return cell == record.cells.end() ? std::string{} : cell->second;
}

}  // namespace

std::span<const std::string_view> filter_columns() noexcept { return kColumns; }

FilterLog filter_log_of(const Logbook& book) {
    std::vector<const LogRecord*> in_order;
    for (const LogRecord& record : book.records) in_order.push_back(&record);
    std::stable_sort(in_order.begin(), in_order.end(), [](const auto* a, const auto* b) {
        return a->time.seconds < b->time.seconds;
    });
    FilterLog log;
    for (const LogRecord* record : in_order) {
        const std::string loop = text_in(*record, "loop");
        if (loop.empty()) continue;
        std::vector<FilterTest>& tests = log[{text_in(*record, "site"), loop}];
        const double day = day_of(record->time);
        if (tests.empty() || tests.back().day != day) tests.push_back({day});
        for (const auto& [field, column] :
             {std::pair{&FilterTest::tan_mg_l, "input_tan_mg_l"},
              std::pair{&FilterTest::nitrite_mg_l, "input_nitrite_mg_l"}}) {
            const auto value = number_in(*record, column);
            auto& most = tests.back().*field;
            if (value && !(most >= value)) most = value;
        }
    }
    return log;
}

double day_of(const Instant& time) { return static_cast<double>(time.seconds) / kDayS; }

Instant instant_of(double day, const Instant& like) {
    return {static_cast<std::int64_t>(std::llround(day * kDayS)), like.offset_s};
}

}  // namespace coldtank::io
