#include "read/season_file.hpp"

#include <fmt/core.h>

#include <algorithm>
#include <array>

#include "coldtank/description.hpp"
#include "text/clock.hpp"
#include "text/csv.hpp"
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
    const auto text = read_text(path, out.unreadable, out.errors);
    if (!text) return out;
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
        if (!mean || !low || !high || !(*low > 0 && *low <= *mean && *mean <= *high) ||
            *high > kWeightRange.high) {
            wrong("no weights that season wrote");
            continue;
        }
        if (!parse_day(cell(2))) {
            wrong(fmt::format("no date: {}", shortened(cell(2))));
            continue;
        }
        const auto oxygen = plain_number(cell(6));
        if (cell(6).empty() == oxygen.has_value() || (oxygen && !(*oxygen >= 0))) {
            wrong("no oxygen that season wrote");
            continue;
        }
        if (out.days.count({printable(cell(0)), printable(cell(1)), cell(2)}) > 0) {
            wrong("a day that stands there before");
            continue;
        }
        out.days[{printable(cell(0)), printable(cell(1)), cell(2)}] = {*mean, *low, *high, oxygen};
    }
    if (out.days.empty() && out.errors.empty()) {
        line = std::max<std::size_t>(line, 1);
        wrong("no days of a season in it");
    }
    return out;
}

}  // namespace coldtank::io
