// The rows of a CSV file as objects of a scope: its header holds the keys.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "read/keys.hpp"
#include "text/json_tree.hpp"

namespace coldtank::io {

// A file's text, with an optional byte order mark; commas, semicolons or tabs between the cells,
// points or commas in the numbers. Every fault goes into `faults`: a column that is not known or
// stands twice is not used, the others are; without a required column there are no rows.
class CsvObjects {
public:
    // `changing`: the file is still written to, and a last row without a line end is not whole.
    CsvObjects(std::string_view text, Scope scope, bool changing, std::vector<Fault>& faults);

    struct Row {
        JsonNode node;
        bool misshapen = false;  // a fault of its shape was said: what is there may be used to tell
                                 // which row it is, and for nothing else
    };
    // The next that is not blank; none at the end.
    std::optional<Row> next();

    bool has(std::string_view column) const;
    bool header_fault() const { return header_fault_; }
    bool half_written() const { return half_written_; }

private:
    void fault(std::size_t at, std::string_view column, std::string message);

    std::string_view text_;
    Scope scope_;
    bool changing_;
    std::vector<Fault>& faults_;
    std::size_t at_ = 0;
    char separator_ = ',';
    bool decimal_commas_ = false;
    std::vector<std::string> columns_;  // as they were written; empty: not used
    std::vector<const Key*> keys_;
    bool header_fault_ = false;
    bool half_written_ = false;
};

}  // namespace coldtank::io
