#include "report/against.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>

#include "text/csv.hpp"
#include "text/input.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

constexpr std::array<std::string_view, 7> kColumns{"site",
                                                   "tank",
                                                   "date",
                                                   "mean_weight_g",
                                                   "mean_weight_low_g",
                                                   "mean_weight_high_g",
                                                   "oxygen_lowest_mg_l"};

}  // namespace

SeasonFile read_season_file(const std::string& path) {
    SeasonFile out;
    std::string reason;
    const auto text = read_all(path, reason);
    if (!text) {
        out.unreadable = true;
        out.errors.push_back({path, {}, {}, {}, reason});
        return out;
    }
    std::size_t at = 0;
    std::size_t line = 0;
    const auto wrong = [&](std::string why) {
        out.errors.push_back({path, line, {}, {}, std::move(why)});
    };
    std::array<std::size_t, kColumns.size()> places{};
    while (const auto row = next_csv_row(*text, at)) {
        if (++line == 1) {
            for (std::size_t i = 0; i < kColumns.size(); ++i) {
                const auto found =
                    std::find_if(row->cells.begin(), row->cells.end(),
                                 [&](const CsvCell& cell) { return cell.text == kColumns[i]; });
                if (found == row->cells.end()) {
                    wrong(fmt::format("no column {}: it is no CSV that season wrote", kColumns[i]));
                    return out;
                }
                places[i] = static_cast<std::size_t>(found - row->cells.begin());
            }
            continue;
        }
        const std::size_t most = *std::max_element(places.begin(), places.end());
        if (row->bad_quote || row->cells.size() <= most) {
            wrong("a row that season did not write");
            continue;
        }
        const auto cell = [&](std::size_t i) { return row->cells[places[i]].text; };
        const auto mean = plain_number(cell(3));
        const auto low = plain_number(cell(4));
        const auto high = plain_number(cell(5));
        if (!mean || !low || !high) {
            wrong("no weights");
            continue;
        }
        out.days[{printable(cell(0)), printable(cell(1)), cell(2)}] = {*mean, *low, *high,
                                                                       plain_number(cell(6))};
    }
    if (line == 0) wrong("is empty");
    return out;
}

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
