#include "read/csv_objects.hpp"

#include <fmt/core.h>

#include <algorithm>

#include "text/csv.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

// A cell as the reader of objects wants it: a number where it is one, else a text.
JsonNode node_of(std::string_view cell, std::size_t at) {
    JsonNode node;
    node.at = at;
    node.text = cell;
    node.kind = JsonNode::Kind::text;
    const auto plain = plain_number(cell);
    if (const auto value = plain ? plain : comma_number(cell)) {
        node.kind = JsonNode::Kind::number;
        node.number = *value;
    }
    return node;
}

// Whether a file has a number whose comma can only be a decimal mark.
bool has_decimal_commas(std::string_view text, char separator) {
    std::size_t at = 0;
    while (const auto row = next_csv_row(text, at, separator)) {
        for (const CsvCell& cell : row->cells) {
            const std::string_view number = trimmed(cell.text);
            if (comma_number(number) && !may_part_thousands(number)) return true;
        }
    }
    return false;
}

}  // namespace

CsvObjects::CsvObjects(std::string_view text, Scope scope, bool changing,
                       std::vector<Fault>& faults)
    : text_(text), scope_(scope), changing_(changing), faults_(faults) {
    constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";
    if (text_.starts_with(kByteOrderMark)) at_ = kByteOrderMark.size();
    const auto separator = csv_separator(text_.substr(at_));
    if (!separator) {
        header_fault_ = true;
        fault(at_, {}, "semicolons and tabs: which of them separates the cells? keep one");
        at_ = text_.size();
        return;
    }
    separator_ = *separator;
    decimal_commas_ = has_decimal_commas(text_, separator_);
    const auto header = next_csv_row(text_, at_, separator_);
    if (!header) return;
    if (header->bad_quote) {
        header_fault_ = true;
        fault(*header->bad_quote, {}, std::string(kBadQuote));
        at_ = text_.size();
        return;
    }
    const std::string_view first = trimmed(header->cells[0].text);
    if (plain_number(first) || (!first.empty() && first[0] >= '0' && first[0] <= '9')) {
        std::vector<std::string_view> names;
        for (const Key& key : keys_of(scope_)) names.push_back(key.name);
        header_fault_ = true;
        fault(
            header->at, {},
            fmt::format("the first line names the columns, as {},oxygen_mg_l,temperature_c; known "
                        "here: {}",
                        scope_ == Scope::reading ? "time,tank" : "time", joined(names, ", ")));
        at_ = text_.size();
        return;
    }
    for (const CsvCell& cell : header->cells) {
        const std::string written = lower_case(trimmed(cell.text));
        const Key* key = match_key(scope_, written).key;
        columns_.push_back(key == nullptr ? "" : written);
        if (key == nullptr) {
            header_fault_ = true;
            fault(cell.at, {},
                  fmt::format("unknown column \"{}\"; {}", shortened(written),
                              explain_unknown_key(scope_, written).advice));
        } else if (std::find(keys_.begin(), keys_.end(), key) != keys_.end()) {
            header_fault_ = true;
            fault(cell.at, {},
                  fmt::format("the column {} stands twice and is not used; keep one",
                              written == key->name
                                  ? written
                                  : fmt::format("{} ({})", key->name, shortened(written))));
            // Which of the two was meant?
            for (std::size_t i = 0; i < columns_.size(); ++i) {
                if (i + 1 == columns_.size() || keys_[i] == key) columns_[i].clear();
            }
        }
        keys_.push_back(key);
    }
    for (const Key& key : keys_of(scope_)) {
        if (!key.required || std::find(keys_.begin(), keys_.end(), &key) != keys_.end()) continue;
        fault(header->at, {},
              fmt::format("no column {}: {}; no reading is used", key.name, key.about));
        at_ = text_.size();
    }
}

bool CsvObjects::has(std::string_view column) const {
    return std::any_of(keys_.begin(), keys_.end(),
                       [&](const Key* key) { return key != nullptr && key->name == column; });
}

std::optional<CsvObjects::Row> CsvObjects::next() {
    while (const auto row = next_csv_row(text_, at_, separator_)) {
        if (!row->ended && changing_) {
            half_written_ = true;
            return std::nullopt;
        }
        Row out;
        JsonNode& node = out.node;
        node.kind = JsonNode::Kind::object;
        node.at = row->at;
        bool blank = true;
        std::vector<std::size_t> two_ways;  // cells
        for (std::size_t i = 0; i < row->cells.size(); ++i) {
            const std::string_view cell = trimmed(row->cells[i].text);
            blank = blank && cell.empty();
            if (i >= columns_.size() || columns_[i].empty() || cell.empty()) continue;
            JsonNode value = node_of(cell, row->cells[i].at);
            if (match_key(scope_, columns_[i]).key->kind == KeyKind::text) {
                value.kind = JsonNode::Kind::text;
            } else if (may_part_thousands(cell) &&
                       (cell.find(',') != std::string_view::npos ? !decimal_commas_
                                                                 : decimal_commas_)) {
                two_ways.push_back(i);
            }
            node.members.push_back({columns_[i], row->cells[i].at, std::move(value)});
        }
        if (row->bad_quote) {
            fault(*row->bad_quote, {}, std::string(kBadQuote));
            out.misshapen = true;
            return out;
        }
        if (blank) continue;
        if (row->cells.size() != columns_.size()) {
            fault(row->at, {},
                  fmt::format(
                      "{} cells where the header has {}{}", row->cells.size(), columns_.size(),
                      row->cells.size() > columns_.size() ? "; is there a decimal comma? write 7.2"
                      : row->ended                        ? ""
                                   : "; half-written? a logger must write whole lines"));
            out.misshapen = true;
        }
        for (const std::size_t i : two_ways) {
            if (out.misshapen) break;
            const std::string_view cell = trimmed(row->cells[i].text);
            std::string mark(cell);
            std::string none(cell);
            const std::size_t at_mark = cell.find_first_of(".,");
            mark[at_mark] = '.';
            none.erase(at_mark, 1);
            fault(row->cells[i].at, columns_[i],
                  fmt::format("{} is {} or {}: write the one that it is", cell,
                              exact(plain_number(mark).value_or(0)), none));
        }
        out.misshapen = out.misshapen || !two_ways.empty();
        return out;
    }
    return std::nullopt;
}

void CsvObjects::fault(std::size_t at, std::string_view column, std::string message) {
    faults_.push_back({at, column.empty() ? "" : pointer_to("", column), std::move(message)});
}

}  // namespace coldtank::io
