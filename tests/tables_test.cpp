// The tables that stand beside a description: temperatures of days, what a season foretold, the log
// of a drop test. Readings have a file of their own.
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <filesystem>
#include <fstream>
#include <future>
#include <thread>

#include "check.hpp"
#include "read/drop_log.hpp"
#include "read/readings.hpp"
#include "read/season_file.hpp"
#include "read/season_temperatures.hpp"
#include "report/droptest.hpp"
#include "report/growth_log.hpp"
#include "report/report.hpp"

using namespace coldtank;
using namespace coldtank::io;

namespace {

class Written {
public:
    explicit Written(const std::string& bytes, const char* ending = ".csv")
        : path_((std::filesystem::temp_directory_path() /
                 ("coldtank_tables_test_" + std::to_string(::getpid()) + ending))
                    .string()) {
        std::ofstream(path_, std::ios::binary) << bytes;
    }
    ~Written() { std::filesystem::remove(path_); }
    Written(const Written&) = delete;
    Written& operator=(const Written&) = delete;
    const std::string& path() const { return path_; }

private:
    std::string path_;
};

// "LINE:COLUMN message" of each error, a line each.
std::string errors_of(const std::vector<InputError>& errors) {
    std::string out;
    for (const InputError& each : errors) {
        if (each.line) out += std::to_string(*each.line);
        if (each.column) out += ":" + std::to_string(*each.column);
        out += " " + each.message + "\n";
    }
    return out;
}

const std::string kSeason =
    "site,tank,date,mean_weight_g,mean_weight_low_g,mean_weight_high_g,oxygen_lowest_mg_l\n";

}  // namespace

TEST_SUITE("tables") {
    TEST_CASE("what cannot be read, and what is no text") {
        const std::string nowhere = "/nowhere/at/all.csv";
        const std::string wide("t\0,\0", 4);
        const Written utf16(wide);
        const auto check = [&](auto read) {
            const auto none = read(nowhere);
            CHECK(none.unreadable);
            CHECK(errors_of(none.errors) == " No such file or directory\n");
            CHECK(none.errors.at(0).file == nowhere);
            const auto not_text = read(utf16.path());
            CHECK_FALSE(not_text.unreadable);
            CHECK(errors_of(not_text.errors).find("1:1 UTF-16") == 0);
            CHECK(not_text.errors.size() == 1);
        };
        check(read_season_temperatures);
        check(read_season_file);
        check(read_drop_log);
        check([](const std::string& path) { return read_readings(path, Instant{}); });
    }

    TEST_CASE("temperatures of days: in order, each once") {
        const auto read = [](const std::string& rows) {
            return read_season_temperatures(Written("date,temperature_c\n" + rows).path());
        };
        const auto good = read("2026-04-01,6.5\n2026-04-03,7\n");
        CHECK(errors_of(good.errors).empty());
        REQUIRE(good.daily.size() == 2);
        CHECK(good.daily[1].day - good.daily[0].day == 2);
        CHECK(good.daily[0].temperature_c == 6.5);
        CHECK(good.daily[1].temperature_c == 7);
        // 20,454 days from 1970-01-01 to 2026-01-01, 90 to April (GNU date agrees).
        CHECK(good.daily[0].day == 20454 + 90);

        const auto twice = read("2026-04-01,6.5\n2026-04-01,7\n2026-03-31,7\n2026-04-02,8\n");
        CHECK(errors_of(twice.errors) ==
              "3:1 does not come after the row before\n4:1 does not come after the row before\n");
        CHECK(twice.daily.size() == 2);
        CHECK(errors_of(read("01.04.2026,6.5\n").errors) ==
              "2:1 \"01.04.2026\" is no day: write 2026-04-01\n");
        CHECK(errors_of(read("").errors) == "1:1 holds no temperature\n");
        // The first line tells what the columns are, a row does not.
        for (const char* row : {"2026-04-01,6.5\n", "-6.5,2026-04-01\n"}) {
            const auto headless = read_season_temperatures(Written(row).path());
            CHECK(errors_of(headless.errors).find("1:1 the first line names the columns") == 0);
        }
        const auto no_value = read("2026-04-01,\n2026-04-02,7\n2026-04-03,70\n");
        CHECK(no_value.daily.size() == 1);
        CHECK(errors_of(no_value.errors).find("4:12") != std::string::npos);
    }

    TEST_CASE("a season that was foretold, and no other table") {
        const auto read = [](const std::string& rows, const std::string& header = kSeason) {
            return read_season_file(Written(header + rows).path());
        };
        const auto good =
            read("Larch,pool,2026-05-01,80,70,90,7.5\nLarch,pool,2026-05-02,81,71,91,\n");
        CHECK(errors_of(good.errors).empty());
        REQUIRE(good.days.size() == 2);
        const Foretold& first = good.days.at({"Larch", "pool", "2026-05-01"});
        CHECK(first.mean_weight_g == 80);
        CHECK(first.mean_weight_low_g == 70);
        CHECK(first.mean_weight_high_g == 90);
        CHECK(first.oxygen_lowest_mg_l.value() == 7.5);
        CHECK_FALSE(good.days.at({"Larch", "pool", "2026-05-02"}).oxygen_lowest_mg_l.has_value());

        // The columns go by their names.
        const auto turned = read("7.5,90,70,80,2026-05-01,pool,Larch,x\n",
                                 "oxygen_lowest_mg_l,mean_weight_high_g,mean_weight_low_g,"
                                 "mean_weight_g,date,tank,site,more\n");
        CHECK(errors_of(turned.errors).empty());
        CHECK(turned.days.at({"Larch", "pool", "2026-05-01"}).mean_weight_low_g == 70);

        CHECK(errors_of(read("", "site,tank,date\n").errors) ==
              "1 no column mean_weight_g: it is no CSV that season wrote\n");
        CHECK(errors_of(read("").errors) == "1 no days of a season in it\n");
        CHECK(errors_of(read("", "").errors) == "1 no days of a season in it\n");

        const std::string weights = "2 no weights that season wrote\n";
        for (const auto& told : std::vector<std::pair<std::string, std::string>>{
                 {"Larch,pool,2026-05-01,80,70,90", "2 a row that season did not write\n"},
                 {"Larch,\"po\"ol,2026-05-01,80,70,90,7", "2 a row that season did not write\n"},
                 {"Larch,pool,2026-05-01,,70,90,7", weights},
                 {"Larch,pool,2026-05-01,80,,90,7", weights},
                 {"Larch,pool,2026-05-01,80,70,,7", weights},
                 {"Larch,pool,2026-05-01,80,0,90,7", weights},
                 {"Larch,pool,2026-05-01,80,81,90,7", weights},
                 {"Larch,pool,2026-05-01,80,70,79,7", weights},
                 {"Larch,pool,2026-05-01,80,70,30001,7", weights},
                 {"Larch,pool,May,80,70,90,7", "2 no date: May\n"},
                 {"Larch,pool,2026-05-01,80,70,90,much", "2 no oxygen that season wrote\n"},
                 {"Larch,pool,2026-05-01,80,70,90,-1", "2 no oxygen that season wrote\n"}}) {
            const auto bad = read(told.first + "\n");
            CHECK_MESSAGE(errors_of(bad.errors) == told.second, told.first);
            CHECK_MESSAGE(bad.days.empty(), told.first);
        }
        // At the bounds.
        for (const char* row :
             {"Larch,pool,2026-05-01,80,80,80,0", "Larch,pool,2026-05-01,80,70,30000,7"}) {
            CHECK_MESSAGE(errors_of(read(row).errors).empty(), row);
        }
        const auto again =
            read("Larch,pool,2026-05-01,80,70,90,7\nLarch,pool,2026-05-01,85,70,90,7\n");
        CHECK(errors_of(again.errors) == "3 a day that stands there before\n");
        CHECK(again.days.at({"Larch", "pool", "2026-05-01"}).mean_weight_g == 80);
    }

    TEST_CASE("a log's own way of telling the time") {
        const auto read = [](const std::string& text) {
            return read_drop_log(Written(text).path());
        };
        const DropLog minutes = read("minutes,oxygen_mg_l\n0,9.2\n15,8.75\n90,8\n");
        CHECK(errors_of(minutes.errors).empty());
        REQUIRE(minutes.points.size() == 3);
        CHECK(minutes.points[2].hours == 1.5);
        CHECK(minutes.points[1].oxygen_mg_l == 8.75);
        check_close(minutes.step_mg_l, 0.01, 1e-15);
        CHECK(minutes.lines == std::vector<std::size_t>{2, 3, 4});
        CHECK(minutes.when == std::vector<std::string>{"0", "15", "90"});
        CHECK_FALSE(minutes.reads_temperature());
        CHECK(hours_in(minutes, "30").value() == 0.5);
        CHECK_FALSE(hours_in(minutes, "14:05").has_value());
        CHECK(short_time(minutes, 0.2) == "12 min");

        const DropLog seconds = read("seconds,oxygen_mg_l,temperature_c\n0,9,12\n1800,8,\n");
        REQUIRE(seconds.points.size() == 2);
        CHECK(seconds.points[1].hours == 0.5);
        CHECK(seconds.points[0].temperature_c.value() == 12);
        CHECK(seconds.reads_temperature());
        CHECK(seconds.step_mg_l == 1);
        CHECK(hours_in(seconds, "3600").value() == 1);

        const DropLog clock = read("time,oxygen_mg_l\n14:05,9.2\n14:20:30,8.9\n");
        REQUIRE(clock.points.size() == 2);
        check_close((clock.points[1].hours - clock.points[0].hours) * 3600, 15 * 60 + 30, 1e-9);
        check_close(hours_in(clock, "14:05").value(), 14 + 5 / 60.0, 1e-12);
        CHECK_FALSE(hours_in(clock, "90").has_value());
        CHECK(short_time(clock, 14.25) == "14:15");

        const DropLog dated =
            read("time,oxygen_mg_l\n2026-11-25T23:50:00Z,9.2\n2026-11-26T00:20:00Z,8.9\n");
        REQUIRE(dated.points.size() == 2);
        CHECK(dated.points[0].hours == 0);
        CHECK(dated.points[1].hours == 0.5);
        CHECK(short_time(dated, 0.5) == "00:20");
        // The clock that is nearest to the log's start: after midnight, and before it.
        check_close(hours_in(dated, "00:20").value(), 0.5, 1e-12);
        check_close(hours_in(dated, "23:40").value(), -1 / 6.0, 1e-12);
        check_close(hours_in(dated, "2026-11-26T00:50:00Z").value(), 1, 1e-12);
        CHECK_FALSE(hours_in(dated, "soon").has_value());
        const DropLog early =
            read("time,oxygen_mg_l\n2026-11-25T00:10:00Z,9\n2026-11-25T00:20:00Z,8\n");
        check_close(hours_in(early, "23:55").value(), -0.25, 1e-12);
        // Twelve hours away either day is as near: the log's own.
        const DropLog noon =
            read("time,oxygen_mg_l\n2026-11-25T12:00:00Z,9\n2026-11-25T12:20:00Z,8\n");
        check_close(hours_in(noon, "00:00").value(), -12, 1e-12);
        const DropLog midnight =
            read("time,oxygen_mg_l\n2026-11-25T00:00:00Z,9\n2026-11-25T00:20:00Z,8\n");
        check_close(hours_in(midnight, "12:00").value(), 12, 1e-12);
        check_close(hours_in(midnight, "12:01").value(), -12 + 1 / 60.0, 1e-12);
        // Under where a test stops, and not at it, the air goes on first.
        CHECK(alarm_of(minutes, 8).empty());
        CHECK(alarm_of(minutes, 8.01).find(" mg/L at 90 min, and under 8.01") != std::string::npos);
        CHECK(alarm_of(DropLog{}, 8).empty());

        DropLog cut = minutes;
        cut.end_at(0.25);
        CHECK(cut.points.size() == 2);
        CHECK(cut.when.size() == 2);
        CHECK(cut.lines.size() == 2);
        cut.end_at(-1);
        CHECK(cut.points.empty());
    }

    TEST_CASE("rows of a log that cannot be used") {
        const auto errors = [](const std::string& text) {
            return errors_of(read_drop_log(Written(text).path()).errors);
        };
        CHECK(errors("oxygen_mg_l\n9\n").find("2:1 when? a row needs time, minutes or seconds") ==
              0);
        CHECK(errors("minutes,seconds,oxygen_mg_l\n1,60,9\n")
                  .find("give one of time, minutes and seconds") != std::string::npos);
        CHECK(errors("time,oxygen_mg_l\nnoon,9\n").find("2:1 \"noon\" is no time; write 14:05") ==
              0);
        CHECK(errors("time,oxygen_mg_l\n14:05,9\n2026-11-25T14:10:00Z,9\n") ==
              "3:1 the rows before tell the time in another way; keep to one\n");
        CHECK(errors(R"({"format":1})") ==
              "1:1 this is a description: the log, a CSV file, stands before it\n");
        CHECK(errors("minutes,oxygen_mg_l\n0,9\n1,\n2,8.9\n").find("3:1 oxygen_mg_l is missing") ==
              0);
    }

    TEST_CASE("a log of too many rows, or of too many that are wrong") {
        const auto count = [](std::size_t rows, const char* row) {
            std::string text = "minutes,oxygen_mg_l\n";
            for (std::size_t i = 0; i < rows; ++i) text += row;
            return read_drop_log(Written(text).path());
        };
        const DropLog full = count(20000, "1,9\n");
        CHECK(full.points.size() == 20000);
        CHECK(errors_of(full.errors).empty());
        const DropLog over = count(20001, "1,9\n");
        CHECK(over.points.size() == 20000);
        CHECK(errors_of(over.errors).find("20002:1 too many rows from here") == 0);
        const DropLog wrong = count(1002, "1,x\n");
        REQUIRE(wrong.errors.size() == 1002);
        CHECK(wrong.errors.back().line.value() == 1003);
        CHECK(wrong.errors.back().message.find("too many rows") == 0);
    }

    TEST_CASE("growth of the stock that is in a tank now: weighings since it was changed") {
        Logbook book;
        const auto add = [&](int day, const char* weight_g, const char* count) {
            LogRecord record{parse_time("2026-11-0" + std::to_string(day), DayEdge::start).value(),
                             {}};
            record.cells = {{"site", "s"}, {"tank", "t"}, {"input_temperature_c", "10"}};
            if (*weight_g != '\0') record.cells["input_mean_weight_g"] = weight_g;
            if (*count != '\0') record.cells["fish_count"] = count;
            book.records.push_back(record);
        };
        const auto weighings = [&] {
            std::string out;
            const GrowthLogs logs = growth_logs_of(book);
            for (const TrendPoint& point : logs.at({"s", "t"}).weighings) {
                out += std::to_string(static_cast<int>(point.value)) + " ";
            }
            return out;
        };
        add(2, "100", "50");
        add(1, "90", "50");  // in order of time
        add(3, "100", "40");
        add(4, "110", "40");
        CHECK(weighings() == "90 100 110 ");
        CHECK(growth_logs_of(book).at({"s", "t"}).temperatures.size() == 4);
        add(5, "120", "41");  // more came
        CHECK(weighings() == "120 ");
        CHECK(growth_logs_of(book).at({"s", "t"}).temperatures.size() == 1);
        add(6, "119", "41");  // they are lighter: others
        add(7, "125", "30");
        CHECK(weighings() == "119 125 ");
        add(8, "", "30");  // no weight, or no count: nobody knows of which fish
        CHECK(weighings().empty());
        add(8, "130", "30");
        add(9, "131", "");
        CHECK(weighings().empty());
    }

    TEST_CASE("twenty errors are printed, and how many more there are") {
        const auto lines = [](std::size_t count) {
            const std::vector<InputError> errors(count, {"f.json", 3, {}, "/a", "wrong"});
            const std::string text = errors_as_text(errors);
            return std::pair(std::count(text.begin(), text.end(), '\n'),
                             text.substr(text.rfind('\n', text.size() - 2) + 1));
        };
        CHECK(lines(19) ==
              std::pair(std::ptrdiff_t{19}, std::string("coldtank: f.json:3:1: /a: wrong\n")));
        CHECK(lines(20) ==
              std::pair(std::ptrdiff_t{20}, std::string("coldtank: f.json:3:1: /a: wrong\n")));
        CHECK(lines(21) ==
              std::pair(std::ptrdiff_t{21}, std::string("coldtank: f.json: 1 more errors\n")));
        CHECK(lines(25).second == "coldtank: f.json: 5 more errors\n");
    }

    TEST_CASE("a species that is changed keeps the name it has") {
        const Written file(R"({"format":1,"species":[{"name":"Rainbow-Trout","warn_above_c":18.5},)"
                           R"({"name":"Bull trout","like":"brook trout"}]})",
                           ".json");
        const SpeciesFile species = read_species_file(file.path());
        CHECK(errors_of(species.errors).empty());
        const BookEntry* changed = species.book.find("rainbow trout");
        REQUIRE(changed != nullptr);
        CHECK(changed->name == "rainbow trout");
        check_close(double{changed->species.warn_above_c}, 18.5, 0);
        const BookEntry* added = species.book.find("bull trout");
        REQUIRE(added != nullptr);
        CHECK(added->name == "Bull trout");
    }

    // The last row may be half of one while somebody writes.
    TEST_CASE("readings that grow while they are read") {
        const Written table(
            "time,tank,oxygen_mg_l\n2026-11-25T01:00:00Z,pool,7\n2026-11-25T01:10:00Z,pool,6",
            ".csv");
        const Written lines(
            "{\"time\":\"2026-11-25T01:00:00Z\",\"tank\":\"pool\",\"oxygen_mg_l\":7}\n{\"time\":"
            "\"2026",
            ".jsonl");
        std::atomic<bool> stop = false;
        std::thread writer([&] {
            while (!stop) {
                for (const Written* each : {&table, &lines}) {
                    std::ofstream(each->path(), std::ios::app) << '6';
                }
                std::this_thread::sleep_for(std::chrono::milliseconds(20));
            }
        });
        const Instant now = parse_time("2026-11-25T02:00:00Z", DayEdge::start).value();
        auto of_lines = std::async(std::launch::async, read_readings, lines.path(), now);
        const ReadingsFile of_table = read_readings(table.path(), now);
        const ReadingsFile of_both[] = {of_table, of_lines.get()};
        stop = true;
        writer.join();
        for (const ReadingsFile& read : of_both) {
            CHECK(read.half_written);
            CHECK(errors_of(read.errors).empty());
            CHECK(read.by.size() == 1);
        }
    }
}
