// Clock, CSV and the merging of readings.
#include "read/readings.hpp"

#include <unistd.h>

#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>

#include "check.hpp"
#include "read/csv_objects.hpp"
#include "read/merge.hpp"
#include "text/csv.hpp"
#include "text/text.hpp"

using namespace coldtank;
using namespace coldtank::io;

namespace {

const Instant kNow = parse_time("2026-11-25T02:00:00Z", DayEdge::start).value();

std::string description(const std::string& tanks, const std::string& loops = "") {
    return R"({"format":1,"site":{"name":"Larch Hollow","altitude_m":640},)" +
           (loops.empty() ? "" : "\"loops\":[" + loops + "],") + "\"tanks\":[" + tanks + "]}";
}

std::string tank(const std::string& name, const std::string& water = "",
                 const std::string& fish = "") {
    return R"({"name":")" + name + R"(","volume_l":2000,"water":{"temperature_c":13)" + water +
           R"(},"inflow":{"flow_l_min":35,"oxygen_percent":92},"fish":[)" +
           (fish.empty() ? R"({"species":"rainbow trout","count":120,"mean_weight_g":180})"
                         : fish) +
           "]}";
}

struct Merged {
    ReadingsFile file;
    std::vector<ReadResult> read;
    const Tank& tank(std::size_t i = 0) const { return read[0].description->tanks.at(i); }
    const TankReadings& readings(std::size_t i = 0) const { return read[0].readings.at(i); }
};

Merged merged(const std::string& readings, const std::string& text, const char* ending = ".csv",
              const MaxAge& max_age = {}) {
    const std::string path = (std::filesystem::temp_directory_path() /
                              ("coldtank_readings_test_" + std::to_string(::getpid()) + ending))
                                 .string();
    std::ofstream(path, std::ios::binary) << readings;
    Merged out;
    out.file = read_readings(path, kNow);
    std::filesystem::remove(path);
    out.read.push_back(read_description(text, "farm.json"));
    REQUIRE(out.read[0].errors.empty());
    merge_readings(out.file, kNow, max_age, {}, out.read);
    return out;
}

bool has_error(const Merged& merged, std::size_t line, std::size_t column, const char* part) {
    for (const InputError& error : merged.file.errors) {
        if (error.line == line && error.column == column &&
            error.message.find(part) != std::string::npos) {
            return true;
        }
    }
    for (const InputError& error : merged.file.errors) {
        MESSAGE(error.line.value_or(0) << ":" << error.column.value_or(0) << " " << error.message);
    }
    return false;
}

}  // namespace

TEST_SUITE("readings") {
    TEST_CASE("times: the examples of RFC 3339, section 5.8") {
        const auto seconds = [](const char* text) {
            return parse_time(text, DayEdge::start).value().seconds;
        };
        // 1985-04-12T23:20:50.52Z; seconds by `date -u -d ... +%s` of GNU coreutils.
        CHECK(seconds("1985-04-12T23:20:50.52Z") == 482196050);
        CHECK(seconds("1996-12-19T16:39:57-08:00") == seconds("1996-12-20T00:39:57Z"));
        CHECK(seconds("1990-12-31T23:59:60Z") == seconds("1991-01-01T00:00:00Z"));
    }

    TEST_CASE("times: what is no time, and what comes back as it was written") {
        for (const char* text :
             {"", "2026", "2026-13-01", "2026-02-29", "24.11.2026", "11/24/2026", "2026-11-24T",
              "2026-11-24T24:00Z", "2026-11-24T12:60Z", "2026-11-24T12:00+1", "2026-11-24T12:00Zx",
              "2026-11-24T12:00:61Z", "2026-11-24 9:00", "20261124T120000Z", "1969-12-31"}) {
            CHECK_MESSAGE(!parse_time(text, DayEdge::start).has_value(), text);
        }
        for (const char* text :
             {"2026-11-24T21:30:00+01:00", "2026-11-24T21:30:00Z", "2028-02-29T00:00:59-03:30"}) {
            CHECK(text_of(parse_time(text, DayEdge::start).value()) == text);
        }
        CHECK(parse_time("2026-11-24 21:30Z", DayEdge::start)->seconds ==
              parse_time("2026-11-24t21:30:00z", DayEdge::start)->seconds);
    }

    TEST_CASE("times without an offset go by this machine's zone, the earlier of two") {
        const char* before = std::getenv("TZ");
        const std::string old = before == nullptr ? "" : before;
        setenv("TZ", "CET-1CEST,M3.5.0,M10.5.0/3", 1);
        tzset();
        CHECK(text_of(parse_time("2026-11-24 21:30", DayEdge::start).value()) ==
              "2026-11-24T21:30:00+01:00");
        CHECK(text_of(parse_time("2026-07-01", DayEdge::end).value()) ==
              "2026-07-01T23:59:59+02:00");
        // 2026-10-25 02:30 comes twice: at +02:00 it is the earlier.
        CHECK(parse_time("2026-10-25 02:30", DayEdge::start)->seconds ==
              parse_time("2026-10-25T02:30+02:00", DayEdge::start)->seconds);
        // 2026-03-29 02:30 does not come at all, and is a time all the same.
        CHECK(parse_time("2026-03-29 02:30", DayEdge::start).has_value());
        if (before == nullptr) {
            unsetenv("TZ");
        } else {
            setenv("TZ", old.c_str(), 1);
        }
        tzset();
    }

    TEST_CASE("CSV: RFC 4180, section 2, and what a spreadsheet makes of it") {
        const auto rows = [](std::string_view text) {
            std::vector<std::vector<std::string>> out;
            std::size_t at = 0;
            while (const auto row = next_csv_row(text, at)) {
                std::vector<std::string> cells;
                for (const CsvCell& cell : row->cells) cells.push_back(cell.text);
                out.push_back(cells);
            }
            return out;
        };
        using Rows = std::vector<std::vector<std::string>>;
        CHECK(rows("aaa,bbb,ccc\r\nzzz,yyy,xxx") ==
              Rows{{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}});
        CHECK(rows("\"aaa\",\"b \r\nbb\",\"ccc\"\r\n") ==
              Rows{{"aaa"}, {"bb\"", "ccc"}});  // not a row of ours
        CHECK(rows("\"aaa\",\"b\"\"bb\",\"ccc\"\n") == Rows{{"aaa", "b\"bb", "ccc"}});
        CHECK(rows(",\n\n,a,\n") == Rows{{"", ""}, {"", "a", ""}});
        for (const char* name : {"plain", "=1+1", "-x", "a,b", "a\"b", "@home"}) {
            CHECK(rows(csv_cell(name) + ",1\n") == Rows{{name, "1"}});
        }
        std::size_t at = 0;
        CHECK(next_csv_row("a,b\n", at)->ended);
        at = 0;
        CHECK(!next_csv_row("a,\"b", at)->ended);
    }

    TEST_CASE("a quote in the first line that does not end: found by the fuzzer") {
        for (const char* text : {"\"altitude_m\":nun2,7.11\n", "\"a", "time,\"tank\n1,2\n"}) {
            std::vector<Fault> faults;
            CsvObjects rows(text, Scope::reading, false, faults);
            CHECK_FALSE(rows.next().has_value());
            REQUIRE_FALSE(faults.empty());
            CHECK(faults[0].message == kBadQuote);
        }
    }

    TEST_CASE("the latest value of each column, each with its own age, in any unit") {
        const Merged got = merged(
            "time,tank,temperature_f,oxygen_mg_l,ph,tan_mg_l\n"
            "2026-11-24T22:00:00Z,north round,59,7.1,7.4,0.2\n"
            "2026-11-25T01:00:00Z,north round,,6.8,,\n"
            "2026-11-24T20:00:00Z,north round,50,9.9,6.9,0.9\r\n",
            description(tank("north round")));
        CHECK(got.file.errors.empty());
        check_close(got.tank().water.temperature_c, 15, 1e-12);
        CHECK(got.tank().readings.oxygen_mg_l.value() == 6.8);
        CHECK(got.tank().water.ph.value() == 7.4);
        CHECK(got.tank().readings.tan_mg_l.value() == 0.2);
        CHECK(got.readings().check.status == Status::pass);
        check_close(got.readings().check.value.value(), 4, 1e-12);  // nearest to its limit
        CHECK(got.readings().list.size() == 4);
        check_close(got.readings().list[2].age_h, 1, 1e-12);
        CHECK(got.readings().list[2].column == "oxygen_mg_l");
        CHECK(got.readings().list[2].line == 3);
    }

    TEST_CASE("a column too old is dropped and warns; what was weighed stands") {
        const std::string rows =
            "time,tank,temperature_c,oxygen_mg_l,mean_weight_g\n"
            "2026-11-20T22:00:00Z,north round,18,3.1,210\n"
            "2026-11-25T01:00:00Z,north round,14,,\n";
        const Merged got = merged(rows, description(tank("north round")));
        CHECK(!got.tank().readings.oxygen_mg_l.has_value());
        CHECK(got.tank().water.temperature_c == 14);
        CHECK(got.tank().fish[0].mean_weight_g == 210);
        CHECK(got.readings().check.status == Status::warn);
        check_close(got.readings().check.value.value(), 100, 1e-12);
        CHECK(got.readings().note.find("oxygen_mg_l (100 h)") != std::string::npos);
        MaxAge max_age;
        REQUIRE(parse_max_age("oxygen_mg_l=5d", max_age));
        REQUIRE(parse_max_age("mean_weight_g=4d", max_age));
        const Merged other = merged(rows, description(tank("north round")), ".csv", max_age);
        CHECK(other.tank().readings.oxygen_mg_l.value() == 3.1);
        CHECK(other.tank().fish[0].mean_weight_g == 180);
        CHECK(other.readings().check.status == Status::warn);
        CHECK(other.readings().note.find("mean_weight_g") != std::string::npos);
    }

    TEST_CASE("exactly the greatest age still counts") {
        const std::string rows = "time,tank,oxygen_mg_l\n2026-11-24T00:00:00Z,north round,7\n";
        CHECK(merged(rows, description(tank("north round"))).readings().check.status ==
              Status::pass);
        const std::string older = "time,tank,oxygen_mg_l\n2026-11-23T23:59:59Z,north round,7\n";
        CHECK(merged(older, description(tank("north round"))).readings().check.status ==
              Status::warn);
    }

    TEST_CASE("the warmest hour is what was read and twice the swing that is described") {
        const auto water = [](const char* described, const char* columns, const char* cells,
                              const char* before = "") {
            const Merged got = merged("time,tank," + std::string(columns) + "\n" + before +
                                          "2026-11-25T01:00:00Z,north round," + cells + "\n",
                                      description(tank("north round", described)));
            CHECK(got.file.errors.empty());
            return got.tank().water;
        };
        const Water warmer = water(R"(,"peak_temperature_c":15)", "temperature_c", "16.5");
        CHECK(warmer.temperature_c == 16.5);
        CHECK(warmer.peak_temperature_c.value() == 20.5);
        CHECK(!warmer.peak_assumed);
        const Water winter = water(R"(,"peak_temperature_c":15)", "temperature_c", "5");
        CHECK(winter.peak_temperature_c.value() == 9);
        CHECK(winter.planned_peak_temperature_c.value() == 15);  // of the summer all the same
        // Read in the afternoon, it is the warmest hour: from 13 to 18 h by the clock of the row.
        const auto after = [&](const char* row) {
            return water(R"(,"peak_temperature_c":15)", "temperature_c", "12", row)
                .peak_temperature_c.value();
        };
        CHECK(after("2026-11-24T12:59:00+01:00,north round,13\n") == 16);
        CHECK(after("2026-11-24T13:00:00+01:00,north round,13\n") == 13);
        CHECK(after("2026-11-24T18:00:00+01:00,north round,13\n") == 13);
        CHECK(after("2026-11-24T18:01:00+01:00,north round,17\n") == 17);  // the highest, always
        CHECK(after("2026-11-23T15:00:00+01:00,north round,13\n") == 16);  // the day before
        CHECK(after("2026-11-24T05:30:00-08:00,north round,13\n") == 16);  // dawn, elsewhere
        CHECK(after("2026-11-24T15:00:00Z,north round,13\n") == 16);  // whose afternoon is that?
        CHECK(after("2026-11-24T15:00:00+01:00,north round,11.9\n") == 16);  // warmer since
        // Beyond the model, where it fails as well.
        CHECK(water(R"(,"peak_temperature_c":33)", "temperature_c", "20").peak_temperature_c == 40);
        // Where no swing is described it is the described mean at least.
        const Water night = water("", "temperature_c", "9");
        CHECK(night.temperature_c == 9);
        CHECK(night.peak_temperature_c.value() == 13);
        CHECK(night.peak_assumed);
        const Water measured = water("", "temperature_c,peak_temperature_c", "9,12");
        CHECK(measured.peak_temperature_c.value() == 12);
        CHECK(!measured.peak_assumed);
        CHECK(!water("", "temperature_c", "14").peak_temperature_c.has_value());
        // A peak of yesterday, and a warmer mean today.
        CHECK(!water("", "temperature_c,peak_temperature_c", "15,14").peak_temperature_c);
        CHECK(water(R"(,"peak_temperature_c":15)", "temperature_c,peak_temperature_c", "14,1.9")
                  .peak_temperature_c == 18);
        CHECK(!water("", "peak_temperature_c", "12").peak_temperature_c);
        // An afternoon that is too old says nothing.
        MaxAge ages;
        REQUIRE(parse_max_age("temperature_c=2h", ages));
        CHECK(merged("time,tank,temperature_c\n2026-11-24T15:00:00+01:00,north round,18\n"
                     "2026-11-25T02:30:00+01:00,north round,12\n",
                     description(tank("north round", R"(,"peak_temperature_c":17)")), ".csv", ages)
                  .tank()
                  .water.peak_temperature_c.value() == 20);
    }

    TEST_CASE("the dead are summed over the rows, and of one group") {
        const std::string rows =
            "time,tank,died,fish\n2026-10-01,north round,2,\n2026-11-20,north round,3,\n";
        const Merged got = merged(rows, description(tank("north round")));
        CHECK(got.tank().fish[0].count == 115);
        CHECK(got.readings().check.status == Status::unchecked);  // nothing of its water
        const std::string two =
            R"({"species":"rainbow trout","count":20,"mean_weight_g":180},)"
            R"({"name":"small","species":"rainbow","count":30,"mean_weight_g":90})";
        const Merged which = merged(rows, description(tank("north round", "", two)));
        CHECK(has_error(which, 3, 24, "name one in a column fish"));
        CHECK(which.tank().fish[0].count == 20);
        const Merged named = merged(
            "time,tank,died,fish\n2026-10-01,north round,2,small\n2026-10-02,north round,1,rainbow "
            "trout\n2026-10-03,north round,4,small\n",
            description(tank("north round", "", two)));
        CHECK(named.file.errors.empty());
        CHECK(named.tank().fish[0].count == 19);
        CHECK(named.tank().fish[1].count == 24);
        CHECK(has_error(merged("time,tank,died\n2026-10-01,north round,100\n2026-10-02,north "
                               "round,21\n",
                               description(tank("north round"))),
                        3, 24, "121 died in all, of 120"));
    }

    TEST_CASE("rations and weights go where their keys go") {
        const Merged got =
            merged("time,tank,ration_kg_day,mean_weight_kg\n2026-11-24,north round,0.3,0.2\n",
                   description(tank("north round")));
        check_close(got.tank().feed.ration_g_day.value(), 300, 1e-9);
        check_close(got.tank().fish[0].mean_weight_g, 200, 1e-9);
        CHECK(has_error(merged("time,tank,mean_weight_g\n2026-11-24,north round,9000\n",
                               description(tank("north round"))),
                        2, 24, "cannot be"));
        const std::string own =
            R"({"species":"golden trout","count":20,"mean_weight_g":180,"ration_g_day":30})";
        const std::string other =
            R"(,{"name":"small","species":"brook","count":9,"mean_weight_g":80,"ration_g_day":9})";
        CHECK(has_error(merged("time,tank,ration_g_day\n2026-11-24,north round,50\n",
                               description(tank("north round", "", own + other))),
                        2, 24, "no group is left to eat it"));
        // None for the tank is none to leave over.
        const Merged none = merged("time,tank,ration_g_day\n2026-11-24,north round,0\n",
                                   description(tank("north round", "", own + other)));
        CHECK(none.file.errors.empty());
        CHECK(none.tank().feed.ration_g_day.value() == 0);
        // One group only: with or without its name, by any of its species' names.
        const Merged only = merged(
            "time,tank,fish,ration_g_day,died,mean_weight_g\n"
            "2026-11-23,north round,Golden Trout,50,1,190\n2026-11-24,north round,,60,2,200\n"
            "2026-11-22,north round,golden,70,3,170\n",
            description(tank("north round", "", own)));
        CHECK(only.file.errors.empty());
        CHECK(only.tank().fish[0].ration_g_day.value() == 60);
        CHECK(only.tank().fish[0].mean_weight_g == 200);
        CHECK(only.tank().fish[0].count == 14);
        // Each time the later way of writing it, and of one moment the line further down.
        const std::string two = R"({"species":"rainbow","count":20,"mean_weight_g":180},)"
                                R"({"species":"brook","count":9,"mean_weight_g":80})";
        for (const bool tank_last : {false, true}) {
            const std::string each = std::string("2026-11-2") + (tank_last ? '3' : '5');
            const Merged rations =
                merged("time,tank,fish,ration_g_day\n" + each + ",north round,rainbow,50\n" + each +
                           ",north round,brook,10\n"
                           "2026-11-24,north round,,300\n",
                       description(tank("north round", "", two)));
            CHECK(rations.file.errors.empty());
            CHECK(rations.tank().feed.ration_g_day.has_value() == tank_last);
            CHECK(rations.tank().fish[0].ration_g_day.has_value() == !tank_last);
        }
        const Merged at_once = merged(
            "time,tank,fish,ration_g_day\n2026-11-24,north round,rainbow,50\n"
            "2026-11-24,north round,brook,10\n2026-11-24,north round,,300\n",
            description(tank("north round", "", two)));
        CHECK(at_once.tank().feed.ration_g_day.value() == 300);
        CHECK_FALSE(at_once.tank().fish[0].ration_g_day.has_value());
        for (const char* names :
             {"golden,50\n2026-11-24,north round,,60", ",50\n2026-11-24,north round,golden,60"}) {
            CHECK(merged(std::string("time,tank,fish,ration_g_day\n2026-11-24,north round,") +
                             names + "\n",
                         description(tank("north round", "", own)))
                      .tank()
                      .fish[0]
                      .ration_g_day.value() == 60);
        }
        const std::string alike = R"({"species":"brown trout","count":20,"mean_weight_g":180},)"
                                  R"({"name":"g","species":"brown","count":9,"mean_weight_g":80})";
        CHECK(merged("time,tank,fish,died\n2026-11-24,north round,brown,2\n",
                     description(tank("north round", "", alike)))
                  .tank()
                  .fish[0]
                  .count == 18);
        // Nobody is left to eat what stands from before.
        CHECK(merged("time,tank,ration_g_day,died\n2026-11-01,north round,200,\n"
                     "2026-11-24,north round,,120\n",
                     description(tank("north round")))
                  .file.errors.empty());
    }

    TEST_CASE("what is unknown or wrong has its place, and the rest is used") {
        const Merged got = merged(
            "time,tank,oxygen,ph,oxygen_mg_l\n"
            "2026-11-25,nort round,,7,7\n"
            "yesterday,north round,,7,8\n"
            "2026-11-25,north round,,seven,\n"
            "2026-11-25,north round,,12,\n"
            "2026-11-25,north round,,7,2,1\n"
            "2026-11-25,,,7,1\n"
            "2026-11-25,north round,,7.3,0x10\n"
            "2026-11-25,north round,,7.2,\n"
            ",,,,\n",
            description(tank("north round")));
        CHECK(has_error(got, 1, 11, "did you mean oxygen_mg_l?"));
        CHECK(has_error(got, 2, 1, "did you mean north round?"));
        CHECK(has_error(got, 3, 1, "\"yesterday\" is no time"));
        CHECK(has_error(got, 4, 25, "must be a number, got \"seven\""));
        CHECK(has_error(got, 5, 25, "must be 3 to 11, got 12"));
        CHECK(has_error(got, 6, 1, "decimal comma"));
        CHECK(has_error(got, 7, 1, "tank is missing"));
        CHECK(has_error(got, 8, 29, "must be a number"));
        CHECK(got.file.errors.size() == 8);
        CHECK(got.tank().water.ph.value() == 7.2);
        CHECK(got.read[0].reading_errors.size() == 8);
        CHECK(has_error(merged("tank,ph\nnorth round,7\n", description(tank("north round"))), 1, 1,
                        "no column time"));
        CHECK(has_error(merged("time;tank\tph\n", description(tank("north round"))), 1, 1,
                        "which of them separates the cells?"));
        CHECK(has_error(merged("time,tank,ph,ph\n", description(tank("north round"))), 1, 14,
                        "stands twice"));
        CHECK(has_error(
            merged("time,tank,temperature_c,temperature_f\n", description(tank("north round"))), 1,
            25, "stands twice"));
    }

    TEST_CASE("JSON Lines say the same") {
        const Merged got = merged(
            R"({"time":"2026-11-25T01:00:00Z","tank":"north round","oxygen_mg_l":6.5,"died":2,"ph":null})"
            "\n\n"
            R"({"time":"2026-11-25T01:30:00Z","tank":"north round","oxygen":6.1})"
            "\n"
            R"({"time":"2026-11-25T01:40:00Z","tank":"north round","ph":7.1,"ph":7.2})"
            "\n"
            R"({"time":"2026-11-25T01:50:00Z","ta)",
            description(tank("north round")), ".jsonl");
        CHECK(got.tank().readings.oxygen_mg_l.value() == 6.5);
        CHECK(got.tank().fish[0].count == 118);
        CHECK(has_error(got, 3, 53, "did you mean oxygen_mg_l?"));
        CHECK(has_error(got, 4, 62, "stands twice"));
        CHECK(has_error(got, 5, 32, "quote is not closed"));
        CHECK(got.file.errors.size() == 3);
    }

    TEST_CASE("a half-written last row is left out, a whole one without a line end is not") {
        const std::string whole = "time,tank,oxygen_mg_l,ph\n2026-11-25,north round,7,7.2\n";
        // Nobody goes on writing it: then it is no row.
        const Merged half =
            merged(whole + "2026-11-25T01:00:00Z,north ro", description(tank("north round")));
        CHECK(has_error(half, 3, 1, "half-written?"));
        CHECK(half.tank().readings.oxygen_mg_l.value() == 7);
        const Merged open = merged(whole + "2026-11-25T01:00:00Z,north round,6.5,7.1",
                                   description(tank("north round")));
        CHECK(!open.file.half_written);
        CHECK(open.tank().readings.oxygen_mg_l.value() == 6.5);
    }

    TEST_CASE("a row of JSON that is being written is left out till it is whole") {
        const std::string whole =
            R"({"time": "2026-11-25T00:00:00Z", "tank": "north round", "oxygen_mg_l": 7})";
        const Merged half = merged(whole + "\n{\"time\": \"2026-11-25T01:00:00Z\", \"ta",
                                   description(tank("north round")), ".jsonl");
        CHECK(half.tank().readings.oxygen_mg_l.value() == 7);
        CHECK_FALSE(half.file.errors.empty());
    }

    TEST_CASE("an open quote costs its own line only") {
        const Merged got = merged(
            "time,tank,oxygen_mg_l,notes\n2026-11-25T00:00:00Z,north round,7,\"fed\nlate\"\n"
            "2026-11-25T00:30:00Z,\"north round,7,\n2026-11-25T01:00:00Z,north round,2,\n",
            description(tank("north round")));
        CHECK(has_error(got, 2, 36, "not closed"));
        CHECK(has_error(got, 3, 1, "1 cells where the header has 4"));
        CHECK(has_error(got, 4, 22, "not closed"));
        CHECK(got.file.errors.size() == 3);
        CHECK(got.tank().readings.oxygen_mg_l.value() == 2);
    }

    TEST_CASE("a ditto mark swallows no row: neither it nor the low between two of them") {
        const Merged got = merged(
            "time,tank,oxygen_mg_l,notes\n2026-11-25T00:00:00Z,north round,7,\"\n"
            "2026-11-25T00:30:00Z,north round,3.1,\"\n2026-11-25T01:00:00Z,north round,3.2,\n",
            description(tank("north round")));
        CHECK(has_error(got, 2, 36, "ditto mark"));
        CHECK(has_error(got, 3, 38, "ditto mark"));
        CHECK(got.tank().readings.oxygen_mg_l.value() == 3.2);
        CHECK(got.readings().check.status == Status::warn);  // a recent row could not be used
    }

    TEST_CASE("two stray quotes, and one at the very end") {
        const Merged got = merged(
            "time,tank,oxygen_mg_l,notes\n2026-11-25T00:00:00Z,north round,7,\"net torn\n"
            "2026-11-25T00:30:00Z,north round,3,\n2026-11-25T01:00:00Z,north round,2.5,\"net\n",
            description(tank("north round")));
        CHECK(has_error(got, 2, 36, "a quote is opened"));
        CHECK(has_error(got, 4, 38, "a quote is opened"));
        CHECK(got.tank().readings.oxygen_mg_l.value() == 3);
        const Merged end = merged(
            "time,tank,oxygen_mg_l\n2026-11-25,north round,6\n"
            "2026-11-25T01:00:00Z,north round,\"7.",
            description(tank("north round")));
        CHECK(has_error(end, 3, 34, "a quote is opened"));
        CHECK(end.tank().readings.oxygen_mg_l.value() == 6);
    }

    TEST_CASE("a row of the wrong shape is no news of its tank") {
        const Merged got = merged(
            "time,tank,oxygen_mg_l\n2026-11-25T00:00:00Z,north round,7\n"
            "2026-11-25T01:00:00Z,north round,3,1\n",
            description(tank("north round")));
        CHECK(has_error(got, 3, 1, "decimal comma"));
        CHECK(got.readings().check.status == Status::warn);
        CHECK(got.readings().note.find("line 3 has an error") != std::string::npos);
    }

    TEST_CASE("an oxygen column that is empty for a tank leaves it unchecked") {
        const Merged got = merged(
            "time,tank,temperature_c,oxygen_mg_l\n2026-11-25,north round,13,\n"
            "2026-11-25,south round,13,8\n",
            description(tank("north round") + "," + tank("south round")));
        CHECK(got.readings(0).check.status == Status::unchecked);
        CHECK(std::string(got.readings(0).check.missing).starts_with("oxygen_mg_l"));
        CHECK(got.readings(1).check.status == Status::pass);
    }

    TEST_CASE("nothing of a tank is unchecked, nothing at all warns") {
        const std::string two = tank("north round") + "," + tank("south round");
        const Merged got = merged("time,tank,ph\n2026-11-25,north round,7.2\n", description(two));
        CHECK(got.readings(0).check.status == Status::pass);
        CHECK(got.readings(1).check.status == Status::unchecked);
        for (const char* empty : {"", "time,tank,ph\n",
                                  "time,tank,ph\n2026-11-25,north round,\n"
                                  "2026-11-25,south round,\n",
                                  "time,tank,ph\n2026-11-25,north round,\n"}) {
            const Merged none = merged(empty, description(two));
            CHECK(none.readings(0).check.status == Status::warn);
            CHECK(none.readings(1).check.status == Status::warn);
        }
    }

    TEST_CASE("a row ahead of the clock is not used, and warns") {
        const Merged got = merged(
            "time,tank,oxygen_mg_l\n2026-11-25T01:00:00Z,north round,7\n"
            "2027-11-25T01:00:00Z,north round,9\n2026-11-25T02:04:00Z,north round,6.9\n",
            description(tank("north round")));
        CHECK(got.tank().readings.oxygen_mg_l.value() == 6.9);  // clocks may differ by minutes
        CHECK(got.readings().check.status == Status::warn);
        CHECK(got.readings().note.find("line 3 lies 8759 h ahead") != std::string::npos);
    }

    TEST_CASE("tanks of one name at two sites need a column site") {
        const std::string here = description(tank("north round"));
        const std::string there = R"({"format":1,"site":{"name":"Alder Spring","altitude_m":0},)"
                                  R"("tanks":[)" +
                                  tank("north round") + "]}";
        for (const bool named : {false, true}) {
            ReadingsFile file;
            Measured measured{"/ph", 7.2, kNow, {2, 1}};
            TankLog log;
            log.first = {2, 1};
            log.latest[{"", "ph"}] = measured;
            file.by[{named ? "Alder Spring" : "", "north round"}] = log;
            std::vector<ReadResult> read{read_description(here, "a.json"),
                                         read_description(there, "b.json")};
            merge_readings(file, kNow, {}, {}, read);
            CHECK(file.errors.empty() == named);
            CHECK(!read[0].description->tanks[0].water.ph.has_value());
            CHECK(read[1].description->tanks[0].water.ph.has_value() == named);
        }
    }

    TEST_CASE("a loop's reading is its tanks' too, where they share its water") {
        const std::string loop =
            R"({"name":"yard loop","water":{"temperature_c":13,"ph":7.2},"biofilter":)"
            R"({"media_area_m2":100},"aeration":[{"kind":"rated","sotr_g_h":100}]})";
        const auto on_loop = [](const char* name, const char* water) {
            return std::string(R"({"name":")") + name + R"(","volume_l":1000,"loop":{"name":)" +
                   R"("yard loop","flow_l_min":30},"fish":[{"species":"rainbow","count":9,)" +
                   R"("mean_weight_g":100}])" + water + "}";
        };
        const std::string text =
            description(on_loop("one", "") + "," + on_loop("two", R"(,"water":{"ph":6.9})"), loop);
        const Merged got = merged(
            "time,tank,ph,nitrite_mg_l,temperature_c\n2026-11-25T01:00:00Z,yard loop,7,0.1,15\n",
            text);
        CHECK(got.file.errors.empty());
        const Description& site = *got.read[0].description;
        CHECK(site.loops[0].water.ph.value() == 7);
        CHECK(site.loops[0].readings.nitrite_mg_l.value() == 0.1);
        CHECK(site.tanks[0].water.ph.value() == 7);
        CHECK(site.tanks[0].water.temperature_c == 15);
        CHECK(site.tanks[0].readings.nitrite_mg_l.value() == 0.1);
        CHECK(site.tanks[1].water.ph.value() == 6.9);
        CHECK(site.tanks[1].water.temperature_c == 15);
        const Merged wrong =
            merged("time,tank,oxygen_mg_l,ph\n2026-11-25T01:00:00Z,yard loop,7,7\n", text);
        CHECK(has_error(wrong, 2, 32, "not of a loop"));
        CHECK(wrong.readings(0).loop);
        CHECK(wrong.readings(0).check.status == Status::warn);
        const Merged peak =
            merged("time,tank,temperature_c\n2026-11-25T01:00:00Z,yard loop,16\n",
                   description(on_loop("one", R"(,"water":{"peak_temperature_c":15})"), loop));
        CHECK(peak.tank().water.temperature_c == 16);
        CHECK(peak.tank().water.peak_temperature_c.value() == 20);  // its own swing of 2
        const Merged warm = merged(
            "time,tank,temperature_c\n2026-11-24T16:00:00Z,yard loop,22\n"
            "2026-11-25T01:00:00Z,yard loop,14\n",
            text);
        CHECK(warm.tank().water.temperature_c == 14);
        CHECK(warm.tank().water.peak_temperature_c.value() == 22);
        CHECK(warm.read[0].description->loops[0].water.peak_temperature_c.value() == 22);
        // A reading of the tank itself does not hide its loop's afternoon, before or after it.
        for (const char* own :
             {"2026-11-25T00:30:00Z,one,13.9\n", "2026-11-25T01:30:00Z,one,13.9\n"}) {
            const Merged both =
                merged(std::string("time,tank,temperature_c\n2026-11-24T16:00:00Z,yard loop,22\n"
                                   "2026-11-25T01:00:00Z,yard loop,14\n") +
                           own,
                       text);
            CHECK(both.tank().water.peak_temperature_c.value() == 22);
        }
        const Merged peaks = merged(
            "time,tank,temperature_c,peak_temperature_c\n2026-11-24T05:00:00Z,yard loop,18,\n"
            "2026-11-25T01:00:00Z,yard loop,16,14.3\n",
            text);
        CHECK(peaks.tank().water.peak_temperature_c.value() == 18);
        // Of a tank and its loop the newer counts.
        const auto newer = [&](const char* of_tank, const char* of_loop) {
            return merged(std::string("time,tank,ph\n2026-11-25T0") + of_tank + ":00Z,one,7.1\n" +
                              "2026-11-25T0" + of_loop + ":00Z,yard loop,5\n",
                          text)
                .tank()
                .water.ph.value();
        };
        CHECK(newer("0:30", "1:00") == 5);
        CHECK(newer("1:00", "0:30") == 7.1);
    }

    TEST_CASE("what the latest value alone would hide is looked back for") {
        const Merged got = merged(
            "time,tank,temperature_c,oxygen_mg_l\n"
            "2026-11-20T02:00:00Z,north round,21,1.1\n"  // too old for both
            "2026-11-24T16:00:00Z,north round,16.5,7.5\n"
            "2026-11-25T01:00:00Z,north round,12,3.1\n"
            "2026-11-25T01:50:00Z,north round,12.2,6.4\n",
            description(tank("north round")));
        CHECK(got.tank().water.temperature_c == 12.2);
        CHECK(got.tank().water.peak_temperature_c.value() == 16.5);
        CHECK(got.tank().readings.oxygen_mg_l.value() == 6.4);
        REQUIRE(got.readings().lowest.has_value());
        CHECK(got.readings().lowest->oxygen_mg_l == 3.1);
        CHECK(got.readings().lowest->time == "2026-11-25T01:00:00Z");
        // The latest is the lowest: nothing to add.
        // Each column by its own age.
        MaxAge ages;
        REQUIRE(parse_max_age("temperature_c=30d", ages));
        CHECK(merged("time,tank,temperature_c,peak_temperature_c\n"
                     "2026-11-15,north round,14,20.5\n2026-11-25T01:00:00Z,north round,13,\n",
                     description(tank("north round")), ".csv", ages)
                  .tank()
                  .water.peak_temperature_c.value() == 14);
        CHECK(!merged("time,tank,oxygen_mg_l\n2026-11-25T01:00:00Z,north round,6\n"
                      "2026-11-24T16:00:00Z,north round,7.5\n",
                      description(tank("north round")))
                   .readings()
                   .lowest.has_value());
    }

    TEST_CASE("deaths of the last two days are judged, those before are history") {
        const auto deaths = [](const std::string& rows) {
            return merged("time,tank,died\n" + rows, description(tank("north round")))
                .readings()
                .deaths;
        };
        CHECK(!deaths("2026-11-25,north round,\n").has_value());
        const auto one = deaths("2026-10-01,north round,19\n2026-11-24,north round,1\n");
        REQUIRE(one.has_value());
        check_close(one->value.value(), 100.0 / 101, 1e-12);  // of those that were still there
        CHECK(one->status == Status::pass);
        const auto two = deaths("2026-11-24,north round,1\n2026-11-25,north round,1\n");
        CHECK(two->status == Status::warn);
        check_close(two->value.value(), 100.0 * 2 / 120, 1e-12);
        CHECK(deaths("2026-11-24,north round,12\n")->status == Status::warn);
        CHECK(deaths("2026-11-24,north round,13\n")->status == Status::fail);
        CHECK(deaths("2026-11-24,north round,120\n")->status == Status::fail);
        CHECK(deaths("2026-11-22,north round,13\n")->status == Status::pass);
    }

    TEST_CASE("a row that cannot be used is no news of its tank") {
        const Merged got = merged(
            "time,tank,oxygen_mg_l\n2026-11-25T01:00:00Z,north round,7.1\n"
            "2026-11-25T01:30:00Z,north round,710\n",
            description(tank("north round")));
        CHECK(has_error(got, 3, 34, "(north round)"));
        CHECK(got.readings().check.status == Status::warn);
        CHECK(got.readings().note.find("line 3 has an error") != std::string::npos);
        // One of last month is an error, and no more.
        const Merged old = merged(
            "time,tank,oxygen_mg_l\n2026-10-25T01:30:00Z,north round,710\n"
            "2026-11-25T01:00:00Z,north round,7.1\n",
            description(tank("north round")));
        CHECK(has_error(old, 2, 34, "must be"));
        CHECK(old.readings().check.status == Status::pass);
    }

    TEST_CASE("an age of one tank, and a column for notes") {
        MaxAge max_age;
        REQUIRE(parse_max_age("north round=8d", max_age));
        const std::string rows =
            "time,tank,ph,notes\n2026-11-20,north round,7.2,\"fed late, windy\"\n";
        CHECK(merged(rows, description(tank("north round"))).readings().check.status ==
              Status::warn);
        const Merged got = merged(rows, description(tank("north round")), ".csv", max_age);
        CHECK(got.file.errors.empty());
        CHECK(got.readings().check.status == Status::pass);
        std::vector<ReadResult> read{
            read_description(description(tank("south round")), "farm.json")};
        ReadingsFile file;
        CHECK(merge_readings(file, kNow, max_age, {}, read) == "north round");
    }

    TEST_CASE("ages are written so, and not otherwise") {
        MaxAge max_age;
        CHECK(max_age.hours == 26);
        CHECK(parse_max_age("90min", max_age));
        check_close(max_age.hours, 1.5, 1e-12);
        CHECK(parse_max_age("temperature_f=2d", max_age));
        check_close(max_age.of_column.at("temperature_c"), 48, 1e-12);
        for (const char* text : {"", "26", "h", "-1h", "0h", "1e3h", "nanh", "26 h", "26H", "x=1",
                                 "tank=1h", "died=1h", "1.2.3h", "=1h"}) {
            CHECK_MESSAGE(!parse_max_age(text, max_age), text);
        }
    }
}
