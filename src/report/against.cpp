#include "report/against.hpp"

#include <algorithm>

#include "text/text.hpp"

namespace coldtank::io {

std::vector<Against> against_of(std::span<const Logbook> books, const SeasonFile& season,
                                const std::string& site, const std::string& tank) {
    std::vector<const LogRecord*> records;
    for (const Logbook& book : books) {
        for (const LogRecord& record : book.records) {
            if (printable(record.text("site")) == printable(site) &&
                printable(record.text("tank")) == printable(tank)) {
                records.push_back(&record);
            }
        }
    }
    std::stable_sort(records.begin(), records.end(), [](const auto* a, const auto* b) {
        return a->time.seconds < b->time.seconds;
    });
    std::vector<Against> out;
    std::optional<double> before;
    for (const LogRecord* record : records) {
        const auto weight_g = record->number("input_mean_weight_g");
        const auto oxygen = record->number("input_oxygen_mg_l");
        const std::string date = text_of(record->time).substr(0, 10);
        const auto day = season.days.find({printable(site), printable(tank), date});
        if (!weight_g || day == season.days.end()) continue;
        const bool last = record == records.back();
        if (!out.empty() && out.back().date == date) {
            Against& today = out.back();
            today.mean_weight_g = *weight_g;
            if (oxygen && !(today.oxygen_mg_l <= oxygen)) today.oxygen_mg_l = oxygen;
        } else if (last || before != weight_g) {
            out.push_back({date, *weight_g, oxygen, day->second});
        }
        before = weight_g;
    }
    return out;
}

}  // namespace coldtank::io
