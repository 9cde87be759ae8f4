#include "logbook/logbook.hpp"

#include <fcntl.h>
#include <fmt/core.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <chrono>
#include <cstring>
#include <filesystem>
#include <thread>

#include "text/csv.hpp"
#include "text/safe_file.hpp"
#include "text/text.hpp"

namespace coldtank::io {
namespace {

using Outcome = Appended::Outcome;

Appended refused(std::string why) { return {Outcome::refused, std::move(why), {}}; }
Appended failed(std::string why) { return {Outcome::failed, std::move(why), {}}; }

std::string reason() { return std::strerror(errno); }

// ---- opening

// The file under its lock; of a new one that nobody else made, `created`.
struct Locked {
    File file;
    bool created = false;
};

// Waits for the lock half a minute. The file that the path names may be replaced while waiting.
std::optional<Appended> open_locked(const std::string& path, Locked& locked) {
    using namespace std::chrono_literals;
    std::error_code none;
    for (int tries = 0; tries < 1500; ++tries) {
        locked.created = false;
        int descriptor = ::open(path.c_str(), O_RDWR | O_APPEND | O_CLOEXEC | O_NONBLOCK);
        if (descriptor < 0 && errno == ENOENT) {
            // Through a link to nowhere, too, but then whoever was first made it.
            const int only_new = std::filesystem::is_symlink(path, none) ? 0 : O_EXCL;
            descriptor =
                ::open(path.c_str(), O_RDWR | O_APPEND | O_CLOEXEC | O_CREAT | only_new, 0644);
            if (descriptor < 0 && errno == EEXIST) continue;
            locked.created = descriptor >= 0 && only_new != 0;
        }
        if (descriptor < 0) return refused(reason());
        locked.file.reset(descriptor);
        struct stat mine {};
        struct stat named {};
        if (::fstat(descriptor, &mine) != 0) return refused(reason());
        if (!S_ISREG(mine.st_mode)) return refused("no regular file");
        if (::flock(descriptor, LOCK_EX | LOCK_NB) != 0) {
            if (errno != EWOULDBLOCK && errno != EINTR) return failed("cannot lock: " + reason());
            std::this_thread::sleep_for(20ms);
            continue;
        }
        if (::stat(path.c_str(), &named) == 0 && mine.st_ino == named.st_ino &&
            mine.st_dev == named.st_dev) {
            return std::nullopt;
        }
    }
    return failed("another program holds its lock");
}

// The ends of a logbook, which may be of any size: never the whole of it.
struct Ends {
    std::size_t size = 0;
    std::string first;  // its first line with its line end; all there is where no line has ended
    std::string last;   // what no line end closes
};

// Longer than any record of any tank.
constexpr std::size_t kLongestLine = std::size_t{1} << 24;
constexpr std::size_t kChunk = std::size_t{1} << 20;

// So many bytes from a place on, or to the end; false where they cannot be read.
bool read_at(int file, std::size_t from, std::size_t count, std::string& into) {
    std::string chunk(count, '\0');
    std::size_t got = 0;
    while (got < count) {
        const ssize_t more =
            ::pread(file, chunk.data() + got, count - got, static_cast<off_t>(from + got));
        if (more < 0 && errno == EINTR) continue;
        if (more < 0) return false;
        if (more == 0) break;
        got += static_cast<std::size_t>(more);
    }
    chunk.resize(got);
    into += chunk;
    return true;
}

// The first line and the open end. None with errno 0: a line too long for a logbook.
std::optional<Ends> ends_of(int file) {
    struct stat state {};
    if (::fstat(file, &state) != 0) return std::nullopt;
    Ends ends;
    ends.size = static_cast<std::size_t>(state.st_size);
    while (ends.first.size() < ends.size && ends.first.size() <= kLongestLine) {
        const std::size_t from = ends.first.size();
        if (!read_at(file, from, std::min(kChunk, ends.size - from), ends.first)) {
            return std::nullopt;
        }
        if (const std::size_t end = ends.first.find('\n', from); end != std::string::npos) {
            ends.first.resize(end + 1);
            break;
        }
    }
    for (std::size_t from = ends.size; from > 0 && ends.last.size() <= kLongestLine;) {
        const std::size_t count = std::min(from, kChunk);
        from -= count;
        std::string chunk;
        if (!read_at(file, from, count, chunk)) return std::nullopt;
        const std::size_t end = chunk.rfind('\n');
        ends.last.insert(0, chunk, end == std::string::npos ? 0 : end + 1);
        if (end != std::string::npos) break;
    }
    errno = 0;
    if (ends.first.size() > kLongestLine || ends.last.size() > kLongestLine) return std::nullopt;
    return ends;
}

// ---- what stands in it

std::string header_of(const std::vector<std::string>& columns) {
    return fmt::format("{}\n", joined(columns, ","));
}

// Starts as a time does, or is the start of one.
bool starts_as_time(std::string_view text) {
    constexpr std::string_view kShape = "0000-00-00T";
    for (std::size_t i = 0; i < std::min(text.size(), kShape.size()); ++i) {
        const bool digit = text[i] >= '0' && text[i] <= '9';
        if (kShape[i] == '0' ? !digit : text[i] != kShape[i]) return false;
    }
    return true;
}

// What a power cut leaves.
bool is_all_nul(std::string_view text) {
    return text.find_first_not_of('\0') == std::string_view::npos;
}

// What to do with a file as it stands: how much of it to keep, what to put first.
struct AsItStands {
    std::size_t keep;                  // the rest is moved to FILE.cut
    std::string first;                 // a line end, a header
    std::vector<std::string> columns;  // of its CSV header
    bool lacks_columns = false;
};

// Shorter than this the start of a file may be anybody's.
constexpr std::size_t kOurStart = 24;

std::optional<Appended> look_at_csv(const Ends& ends, const std::vector<std::string>& ours,
                                    AsItStands& out) {
    const std::string header = header_of(ours);
    out = {ends.size, {}, ours, false};
    if (!ends.first.ends_with('\n') &&
        header.starts_with(ends.first)) {  // empty, or killed in its first line
        if (ends.size > 0 && ends.size < kOurStart) {
            return refused("no logbook of this program: too little stands in it to tell");
        }
        // All of it but its line end is whole.
        const bool all = ends.size + 1 == header.size();
        out.keep = all ? ends.size : 0;
        out.first = all ? "\n" : header;
        return std::nullopt;
    }
    std::size_t at = ends.first.starts_with("\xEF\xBB\xBF") ? 3 : 0;
    const auto row = next_csv_row(ends.first, at);
    out.columns.clear();
    if (row) {
        for (const CsvCell& cell : row->cells) out.columns.push_back(cell.text);
    }
    for (std::size_t i = 0; i < out.columns.size(); ++i) {
        const std::string& column = out.columns[i];
        if (std::find(ours.begin(), ours.end(), column) == ours.end()) {
            return refused(
                fmt::format("no logbook of this program, or of a newer one: it has a column \"{}\"",
                            shortened(column)));
        }
        if (std::count(out.columns.begin(), out.columns.end(), column) > 1) {
            return refused(fmt::format("its column {} stands twice", column));
        }
    }
    for (const char* needed : {"time", "site", "tank", "verdict"}) {
        if (std::find(out.columns.begin(), out.columns.end(), needed) == out.columns.end()) {
            return refused(fmt::format("no logbook of this program: no column {}", needed));
        }
    }
    out.lacks_columns = out.columns.size() < ours.size();
    const std::string_view last = ends.last;
    if (last.empty()) return std::nullopt;
    if (row && !row->ended) {  // the header alone
        out.first = "\n";
        return std::nullopt;
    }
    std::size_t start = 0;
    const auto cells = next_csv_row(last, start);
    const bool whole =
        cells && !cells->bad_quote && cells->cells.size() == out.columns.size() &&
        (out.columns.back() != ours.back() || cells->cells.back().text == kRecordWhole);
    if (whole) {
        out.first = "\n";
    } else if (starts_as_time(last) || is_all_nul(last)) {
        out.keep -= last.size();
    } else {
        return refused("its last line is no record");
    }
    return std::nullopt;
}

std::optional<Appended> look_at_json_lines(const Ends& ends, AsItStands& out) {
    constexpr std::string_view kStart = "{\"time\":\"";
    out = {ends.size, {}, {}, false};
    const bool one_line = !ends.first.ends_with('\n');
    const std::string_view first(ends.first.data(), ends.first.size() - (one_line ? 0 : 1));
    const std::string_view last = ends.last;
    const auto is_record = [](std::string_view line) {
        std::vector<Fault> faults;
        const auto node = parse_json(line, faults);
        return node && node->kind == JsonNode::Kind::object && node->find("time") != nullptr &&
               node->find("tank") != nullptr && node->find("verdict") != nullptr;
    };
    if (!one_line && !is_record(first)) {
        return refused("no logbook of this program: its first line is no record");
    }
    if (last.empty()) return std::nullopt;
    std::vector<Fault> faults;
    const bool json = parse_json(last, faults).has_value();
    const bool alone = last.size() == ends.size;
    if (is_record(last)) {
        out.first = "\n";
    } else if (!json && ((last.starts_with(kStart) && last.size() >= kOurStart) ||
                         (!alone && (kStart.starts_with(last) || last.starts_with(kStart) ||
                                     is_all_nul(last))))) {
        out.keep -= last.size();
    } else {
        return refused("its last line is no record");
    }
    return std::nullopt;
}

// ---- writing

std::string csv_row(const std::vector<std::string>& columns,
                    const std::map<std::string, std::string>& cells) {
    std::string out;
    for (const std::string& column : columns) {
        if (&column != &columns.front()) out += ',';
        const auto cell = cells.find(column);
        if (cell == cells.end() || cell->second.empty()) continue;
        // A number stays bare; a text that a spreadsheet would run does not.
        out += plain_number(cell->second) ? cell->second : csv_cell(cell->second);
    }
    return out + '\n';
}

// One record of an older CSV with all columns, every cell kept; none where it does not fit.
std::optional<std::string> with_all_columns(std::string_view line,
                                            const std::vector<std::string>& columns,
                                            const std::vector<std::string>& ours) {
    std::size_t at = 0;
    const auto row = next_csv_row(line, at);
    if (!row) return std::string{};  // a blank line
    if (row->cells.size() != columns.size() || row->bad_quote) return std::nullopt;
    std::map<std::string, std::string> cells;
    for (std::size_t i = 0; i < columns.size(); ++i) cells[columns[i]] = row->cells[i].text;
    cells[ours.back()] = kRecordWhole;
    return csv_row(ours, cells);
}

// Writes an older CSV, so much of it, with all columns into another file, a piece at a time. False:
// `why`, or errno where that is empty.
bool widen(int from, std::size_t keep, const std::vector<std::string>& columns,
           const std::vector<std::string>& ours, int into, std::string& why) {
    if (!write_all(into, header_of(ours))) return false;
    std::string rest;
    std::size_t line = 0;
    for (std::size_t at = 0; at < keep || !rest.empty();) {
        const std::size_t count = std::min(kChunk, keep - at);
        if (!read_at(from, at, count, rest)) return false;
        at += count;
        std::string out;
        std::size_t start = 0;
        for (;;) {
            std::size_t end = rest.find('\n', start);
            if (end == std::string::npos && at < keep) break;
            end = std::min(end, rest.size());
            if (start >= rest.size()) break;
            if (++line > 1) {  // the header is ours
                const auto wide = with_all_columns(
                    std::string_view(rest).substr(start, end - start), columns, ours);
                if (!wide) {
                    why = fmt::format("line {} does not fit its header: mend it first", line);
                    return false;
                }
                out += *wide;
            }
            start = end + 1;
        }
        rest.erase(0, start);
        if (rest.size() > kLongestLine) {
            why = fmt::format("line {} is too long for a record", line + 1);
            return false;
        }
        if (!write_all(into, out)) return false;
    }
    return true;
}

// As a CSV with these columns, or as JSON Lines.
std::string text_of(const NewRecords& records, const std::vector<std::string>& columns) {
    std::string out;
    for (const std::string& line : records.json_lines) out += line;
    for (const auto& cells : records.cells) out += csv_row(columns, cells);
    return out;
}

// Puts what a killed run left half-written, and was never called written, into FILE.cut.
std::optional<Appended> keep_aside(const std::string& path, int logbook, std::string_view cut,
                                   std::string& note) {
    if (cut.empty()) return std::nullopt;
    const std::string aside = path + ".cut";
    struct stat state {};
    if (::fstat(logbook, &state) != 0) return failed(reason());
    const File file(::open(aside.c_str(),
                           O_WRONLY | O_APPEND | O_CREAT | O_CLOEXEC | O_NONBLOCK | O_NOFOLLOW,
                           state.st_mode & 0777));
    if (file.get() < 0 || !write_all(file.get(), fmt::format("{}\n", cut)) || !sync(file.get())) {
        return failed(fmt::format("{}: {}", printable(aside), reason()));
    }
    sync_directory_of(aside);
    note = fmt::format("the half-written last record of a run that was killed was moved to {}",
                       printable(aside));
    return std::nullopt;
}

// ---- reading

// The columns of texts; all others hold a number or nothing.
bool holds_text(std::string_view column) {
    constexpr std::string_view kTexts[] = {"time",
                                           "site",
                                           "file",
                                           "tank",
                                           "loop",
                                           "fish",
                                           "assumed",
                                           "told",
                                           "loop_told",
                                           kRecordEnd,
                                           "input_inflow_from",
                                           "input_keeps_flowing",
                                           "carbon_dioxide_balance_judged",
                                           "oxygen_reserve_start_assumed"};
    return std::find(std::begin(kTexts), std::end(kTexts), column) != std::end(kTexts) ||
           column.ends_with("_status") || column.ends_with("verdict") ||
           column.ends_with("first_limit");
}

// The scalars of a JSON record's tank by the names of the CSV's columns, its checks too.
void flatten(const JsonNode& node, const std::string& prefix,
             std::map<std::string, std::string>& out) {
    for (const JsonMember& member : node.members) {
        const std::string name =
            prefix + (prefix.empty() && member.key == "inputs" ? "input" : member.key);
        const JsonNode& value = member.value;
        if (value.kind == JsonNode::Kind::object) {
            flatten(value, name + '_', out);
        } else if (value.kind == JsonNode::Kind::number || value.kind == JsonNode::Kind::text) {
            out[name] = value.text;
        } else if (prefix.empty() && member.key == "checks") {
            for (const JsonNode& check : value.items) {
                const JsonMember* id = check.find("check");
                if (id != nullptr) flatten(check, id->value.text + '_', out);
            }
        }
    }
}

// A record, where its time can be read.
void add_record(std::map<std::string, std::string> cells, std::size_t at, Logbook& book,
                std::vector<Fault>& faults) {
    const auto time = parse_time(cells["time"], DayEdge::start);
    if (!time || cells["tank"].empty()) {
        faults.push_back(
            {at,
             {},
             time ? "no record: it names no tank"
                  : fmt::format("no record: its time is \"{}\"", shortened(cells["time"]))});
        return;
    }
    book.records.push_back({*time, std::move(cells)});
}

using Columns = std::span<const std::string_view>;

bool is_wanted(Columns wanted, std::string_view column) {
    return std::find(wanted.begin(), wanted.end(), column) != wanted.end();
}

void read_json_lines(std::string_view text, Columns wanted, Logbook& book,
                     std::vector<Fault>& faults) {
    for (std::size_t at = text.starts_with("\xEF\xBB\xBF") ? 3 : 0; at < text.size();) {
        const std::size_t end = std::min(text.find('\n', at), text.size());
        const std::string_view line = text.substr(at, end - at);
        const std::size_t from = at;
        at = end + 1;
        if (line.find_first_not_of(" \t\r") == std::string_view::npos) continue;
        std::vector<Fault> wrong;
        const auto node = parse_json(line, wrong);
        if (!node && end == text.size()) {
            book.half_written = true;
            return;
        }
        for (Fault& fault : wrong) faults.push_back({from + fault.at, {}, fault.message});
        if (!node) continue;
        std::map<std::string, std::string> cells;
        flatten(*node, {}, cells);
        std::erase_if(cells, [&](const auto& cell) { return !is_wanted(wanted, cell.first); });
        const auto wrong_cell = std::find_if(cells.begin(), cells.end(), [](const auto& cell) {
            return !holds_text(cell.first) && !plain_number(cell.second);
        });
        if (wrong_cell == cells.end()) {
            add_record(std::move(cells), from, book, faults);
        } else {
            faults.push_back({from, pointer_to("", wrong_cell->first),
                              fmt::format("must be a number or null, got \"{}\"",
                                          shortened(wrong_cell->second))});
        }
    }
}

void read_csv(std::string_view text, Columns wanted, Logbook& book, std::vector<Fault>& faults) {
    std::size_t at = text.starts_with("\xEF\xBB\xBF") ? 3 : 0;
    const auto header = next_csv_row(text, at);
    const auto has = [&](std::string_view name) {
        return header && std::any_of(header->cells.begin(), header->cells.end(),
                                     [&](const CsvCell& cell) { return cell.text == name; });
    };
    if (!text.empty() && (!has("time") || !has("site") || !has("tank"))) {
        faults.push_back({0,
                          {},
                          "no logbook of this program: its first line has not the columns time, "
                          "site and tank"});
        return;
    }
    while (const auto row = next_csv_row(text, at)) {
        if (row->cells.size() != header->cells.size() || row->bad_quote) {
            if (!row->ended && !row->bad_quote) {
                book.half_written = true;
                return;
            }
            faults.push_back({row->at,
                              {},
                              row->bad_quote
                                  ? std::string(kBadQuote)
                                  : fmt::format("{} cells where the header has {}",
                                                row->cells.size(), header->cells.size())});
            continue;
        }
        std::map<std::string, std::string> cells;
        bool sound = true;
        for (std::size_t i = 0; i < row->cells.size(); ++i) {
            const std::string& column = header->cells[i].text;
            const std::string& cell = row->cells[i].text;
            if (!is_wanted(wanted, column) || cell.empty()) continue;
            if (!holds_text(column) && !plain_number(cell)) {
                faults.push_back(
                    {row->cells[i].at, pointer_to("", column),
                     fmt::format("must be a number or empty, got \"{}\"", shortened(cell))});
                sound = false;
            }
            cells[column] = cell;
        }
        if (!row->ended && has(kRecordEnd) && row->cells.back().text != kRecordWhole) {
            book.half_written = true;
            return;
        }
        if (sound) add_record(std::move(cells), row->at, book, faults);
    }
}

}  // namespace

std::string text_in(const CellsByColumn& cells, const std::string& column) {
    const auto cell = cells.find(column);
    return cell == cells.end() ? std::string{} : cell->second;
}

std::optional<double> number_in(const CellsByColumn& cells, const std::string& column) {
    return plain_number(text_in(cells, column));
}

Logbook read_logbook(const std::string& path, std::span<const std::string_view> columns) {
    Logbook book;
    std::string why;
    const auto text = read_all(path, why);
    if (!text) {
        book.unreadable = true;
        book.errors.push_back({path, {}, {}, {}, why});
        return book;
    }
    std::vector<Fault> faults;
    if (is_json_lines(path)) {
        read_json_lines(*text, columns, book, faults);
    } else {
        read_csv(*text, columns, book, faults);
    }
    book.errors = located(std::move(faults), *text, path);
    return book;
}

std::map<RecordKey, LogRecord> last_records(
    const std::string& path, std::span<const std::string_view> columns,
    const std::function<RecordKey(const LogRecord&)>& key_of, std::size_t wanted,
    const Instant& oldest) {
    std::map<RecordKey, LogRecord> found;
    constexpr int kMostOld = 200;  // one may be of a clock that was wrong
    constexpr std::size_t kLeastBack = std::size_t{1} << 24;
    constexpr std::size_t kBackPerTank = std::size_t{1} << 16;  // some ten records
    int old = 0;
    const File file(::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK));
    if (file.get() < 0) return found;
    const auto ends = ends_of(file.get());
    if (!ends || !ends->first.ends_with('\n')) return found;
    const bool json = is_json_lines(path);
    const std::size_t back = std::max(kLeastBack, kBackPerTank * wanted);
    const std::size_t start =
        std::max(json ? 0 : ends->first.size(), ends->size - std::min(ends->size, back));
    // A line as the only one of its file.
    const auto take = [&](std::string_view line) {
        Logbook one;
        std::vector<Fault> faults;
        if (json) {
            read_json_lines(line, columns, one, faults);
        } else {
            read_csv(ends->first + std::string(line), columns, one, faults);
        }
        if (one.records.empty()) return true;
        LogRecord& record = one.records.front();
        if (record.time.seconds < oldest.seconds) return ++old < kMostOld;
        old = 0;
        RecordKey key = key_of(record);
        if (key != RecordKey{}) found.try_emplace(std::move(key), std::move(record));
        return true;
    };
    // From a line end back to the one before it.
    std::string rest;
    bool closed = false;  // what stands in `rest` ends with a line end
    for (std::size_t from = ends->size; from > start && found.size() < wanted;) {
        const std::size_t count = std::min(kChunk, from - start);
        from -= count;
        std::string chunk;
        if (!read_at(file.get(), from, count, chunk)) return found;
        rest.insert(0, chunk);
        while (found.size() < wanted) {
            const std::size_t last = closed && !rest.empty() ? rest.size() - 1 : rest.size();
            const std::size_t end = last == 0 ? std::string::npos : rest.rfind('\n', last - 1);
            if (end == std::string::npos && (from > start || !closed)) break;
            const std::size_t begin = end == std::string::npos ? 0 : end + 1;
            if (closed && !take(std::string_view(rest).substr(begin))) return found;
            if (end == std::string::npos) break;
            rest.resize(begin);
            closed = true;
        }
        if (rest.size() > kLongestLine) return found;
    }
    return found;
}

Appended append_to_logbook(const std::string& path, const NewRecords& records) {
    if (records.cells.empty() && records.json_lines.empty()) return {};
    Locked locked;
    if (auto wrong = open_locked(path, locked)) return *wrong;
    const int file = locked.file.get();
    const auto ends = ends_of(file);
    if (!ends) {
        return errno == 0 ? refused("no logbook of this program: a line of it is too long")
                          : failed(reason());
    }
    AsItStands stands;
    if (auto wrong = is_json_lines(path) ? look_at_json_lines(*ends, stands)
                                         : look_at_csv(*ends, records.columns, stands)) {
        return *wrong;
    }
    const std::string cut = stands.keep == 0 ? ends->first : ends->last;
    const bool cuts = stands.keep < ends->size;
    std::string note;
    if (stands.lacks_columns) {
        std::string why;
        std::optional<Appended> lost;
        const std::string failure = replace_file(path, [&](int wider) {
            if (!widen(file, stands.keep, stands.columns, records.columns, wider, why))
                return false;
            lost = keep_aside(path, file, cuts ? cut : "", note);
            return !lost && write_all(wider, text_of(records, records.columns));
        });
        if (!why.empty()) return refused(why);
        if (lost) return *lost;
        if (!failure.empty()) return failed("it lacks columns: " + failure);
        return {Outcome::written, {}, note};
    }
    if (auto wrong = keep_aside(path, file, cuts ? cut : "", note)) return *wrong;
    const std::string text = stands.first + text_of(records, stands.columns);
    if (cuts && ::ftruncate(file, static_cast<off_t>(stands.keep)) != 0) return failed(reason());
    if (!write_all(file, text) || !sync(file)) {
        Appended wrong = failed(reason());
        if (locked.created) {
            ::unlink(path.c_str());
        } else if (::ftruncate(file, static_cast<off_t>(stands.keep)) != 0 ||
                   !write_all(file, cuts ? cut : "")) {
            wrong.message += "; and its end is not as it was";
        }
        return wrong;
    }
    if (locked.created) sync_directory_of(path);
    return {Outcome::written, {}, note};
}

}  // namespace coldtank::io
