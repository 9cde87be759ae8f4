#include "report/filter_log.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace coldtank::io {
namespace {

constexpr double kDayS = 86400;
constexpr std::array<std::string_view, 6> kColumns{"time", "site",           "tank",
                                                   "loop", "input_tan_mg_l", "input_nitrite_mg_l"};

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
        const std::string loop = record->text("loop");
        if (loop.empty()) continue;
        std::vector<FilterTest>& tests = log[{record->text("site"), loop}];
        const double day = day_of(record->time);
        if (tests.empty() || tests.back().day != day) tests.push_back({day});
        for (const auto& [field, column] :
             {std::pair{&FilterTest::tan_mg_l, "input_tan_mg_l"},
              std::pair{&FilterTest::nitrite_mg_l, "input_nitrite_mg_l"}}) {
            const auto value = record->number(column);
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
