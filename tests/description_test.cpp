#include "read/description.hpp"

#include <algorithm>
#include <fstream>
#include <iterator>

#include "check.hpp"
#include "coldtank/loop.hpp"
#include "read/keys.hpp"
#include "text/json_tree.hpp"

using namespace coldtank;
using namespace coldtank::io;

namespace {

// A good description around one tank's inner text.
std::string around(const std::string& tank) {
    return R"({"format":1,"site":{"name":"s","altitude_m":0},"tanks":[{)" + tank + "}]}";
}
const std::string kGood = R"("name":"a","volume_l":1000,"water":{"temperature_c":12},"fish":[])";

std::string replaced(std::string text, const std::string& from, const std::string& to) {
    const std::size_t at = text.find(from);
    REQUIRE(at != std::string::npos);
    return text.replace(at, from.size(), to);
}

// The one error of a text is at a place and says this.
void check_refused(const std::string& text, const std::string& pointer, const std::string& says) {
    const ReadResult result = read_description(text, "f.json");
    REQUIRE_MESSAGE(result.errors.size() == 1, text);
    CHECK(result.errors[0].pointer == pointer);
    CHECK_MESSAGE(result.errors[0].message.find(says) != std::string::npos,
                  result.errors[0].message);
    CHECK((!result.description || result.description->tanks.empty()));
}

// "LINE:COLUMN message"
std::string fmt_place(const InputError& error) {
    return std::to_string(*error.line) + ':' + std::to_string(*error.column) + ' ' + error.message;
}

bool parse_depth_is_fine(std::size_t depth) {
    std::vector<Fault> faults;
    return parse_json(std::string(depth, '[') + std::string(depth, ']'), faults).has_value();
}

}  // namespace

TEST_SUITE("description") {
    TEST_CASE("a good one is read as it stands") {
        const ReadResult result = read_description(R"({ "format": 1,
            "site": { "name": "x", "altitude_m": 640, "salinity_g_kg": 2,
                      "limits": {"tan_warn_mg_l": 1, "tan_fail_mg_l": 3} },
            "tanks": [ { "name": "n", "volume_l": 2000,
              "water": {"temperature_c": 13.5, "peak_temperature_c": 14, "ph": 7, "oxygen_mg_l": 9,
                        "tan_mg_l": 0.1, "nitrite_mg_l": 0.01, "nitrate_mg_l": 5,
                        "chloride_mg_l": 8, "carbon_dioxide_mg_l": 4, "current_cm_s": 20,
                        "gas_pressure_percent": 101, "alkalinity_mg_l": 80},
              "inflow": {"flow_l_min": 35, "oxygen_mg_l": 9.5, "ph": 7.5, "alkalinity_mg_l": 90,
                         "tan_mg_l": 0.02, "chlorine_mg_l": 0, "keeps_flowing": true},
              "fish": [ {"name": "g", "species": "char", "count": 12.0, "mean_weight_g": 180,
                         "age_months": 20, "condition_factor": 1.1, "ration_g_day": 3,
                         "respiration_factor": 0.9},
                        {"species": "brook", "count": 3e0, "mean_weight_g": 50} ],
              "feed": {"ration_g_day": 9, "protein_percent": 45, "oxygen_per_feed_g_kg": 280,
                       "peak_factor": 1.3},
              "limits": {"tan_fail_mg_l": 4},
              "aeration": [
                {"kind": "diffuser", "name": "d", "air_flow_l_min": 40, "depth_m": 0.8,
                 "bubble": "coarse", "alpha": 0.8, "beta": 0.9},
                {"kind": "diffuser", "air_flow_l_min": 1, "depth_m": 1,
                 "transfer_percent_per_m": 3},
                {"kind": "rated", "sotr_g_h": 50},
                {"kind": "oxygen", "flow_l_min": 0.5, "absorption_percent": 15},
                {"kind": "cascade", "drop_m": 0.4, "quality": 1.8, "weir": 1.3} ] } ] })",
                                                   "f.json");
        REQUIRE(result.errors.empty());
        const Description& d = result.description.value();
        CHECK(d.site.altitude_m.value() == 640);
        const Tank& t = d.tanks.at(0);
        CHECK(t.water.salinity_g_kg == 2);
        CHECK(t.limits.tan_warn_mg_l.value() == 1);
        CHECK(t.limits.tan_fail_mg_l.value() == 4);
        CHECK(t.readings.chloride_mg_l.value() == 8);
        CHECK(t.readings.gas_pressure_percent.value() == 101);
        CHECK(t.inflow[0].keeps_flowing);
        CHECK(t.inflow[0].ph.value() == 7.5);
        CHECK(t.fish[0].species_name == "Arctic char");
        CHECK(t.fish[0].count == 12);
        CHECK(t.fish[0].respiration_factor == 0.9);
        CHECK(t.fish[1].species_name == "brook trout");
        CHECK(t.feed.peak_factor == 1.3);
        CHECK(t.aeration.size() == 5);
        CHECK(t.aeration[0].alpha == 0.8);
        CHECK(std::get<Diffuser>(t.aeration[0].kind).bubble == Bubble::coarse);
        CHECK(std::get<PureOxygen>(t.aeration[3].kind).absorption_percent == 15);
        CHECK(std::get<Cascade>(t.aeration[4].kind).weir == 1.3);
    }

    TEST_CASE("the same tank in metric and in US units gives the same budget to 1e-9") {
        const auto budget = [](const std::string& text) {
            ReadResult result = read_description(text, "f");
            REQUIRE(result.errors.empty());
            return assess(result.description.value()).tanks.at(0);
        };
        const TankBudget metric = budget(
            R"({"format":1,"site":{"name":"s","altitude_m":609.6},"tanks":[{"name":"a",
            "volume_l":1892.705892,"water":{"temperature_c":12.5,"peak_temperature_c":15},
            "inflow":{"flow_l_min":37.85411784,"oxygen_percent":90},
            "fish":[{"species":"rainbow","count":50,"mean_weight_g":226.796185}],
            "feed":{"ration_g_day":226.796185},
            "aeration":[{"kind":"diffuser","air_flow_l_min":28.316846592,"depth_m":0.6096,
            "bubble":"fine"}]}]})");
        const TankBudget us = budget(
            R"({"format":1,"site":{"name":"s","altitude_ft":2000},"tanks":[{"name":"a",
            "volume_gal_us":500,"water":{"temperature_f":54.5,"peak_temperature_f":59},
            "inflow":{"flow_gal_us_min":10,"oxygen_percent":90},
            "fish":[{"species":"rainbow","count":50,"mean_weight_oz":8}],
            "feed":{"ration_lb_day":0.5},
            "aeration":[{"kind":"diffuser","air_flow_ft3_min":1,"depth_ft":2,
            "bubble":"fine"}]}]})");
        REQUIRE(metric.checks.size() == us.checks.size());
        for (std::size_t i = 0; i < metric.checks.size(); ++i) {
            CHECK(metric.checks[i].status == us.checks[i].status);
            if (!metric.checks[i].value) continue;
            const double want = *metric.checks[i].value;
            check_close(*us.checks[i].value, want, 1e-9 * std::abs(want));
        }
    }

    TEST_CASE("fish as they are told: so many a cubic metre, by length, all of them weighed") {
        const auto read = [](const std::string& fish) {
            return read_description(
                R"({"format":1,"site":{"name":"s","altitude_m":0},"tanks":[{"name":"a",
                "volume_l":2500,"water":{"temperature_c":12},
                "inflow":{"flow_l_min":40,"oxygen_percent":90},
                "fish":[{"species":"rainbow",)" +
                    fish + "}]}]}",
                "f");
        };
        const auto group = [&](const std::string& fish) {
            const ReadResult result = read(fish);
            REQUIRE_MESSAGE(result.errors.empty(), fish);
            return result.description.value().tanks.at(0).fish.at(0);
        };
        check_close(group(R"("per_m3":40,"mean_weight_g":200)").count, 100, 0);
        check_close(group(R"("per_m3":40.1,"mean_weight_g":200)").count, 101, 0);
        // By hand: 0.01107 x 25^3, 0.012 x 25^3, and 9 in of 2.54 cm.
        check_close(group(R"("count":5,"mean_length_cm":25)").mean_weight_g, 172.96875, 1e-9);
        check_close(group(R"("count":5,"mean_length_cm":25,"condition_factor":1.2)").mean_weight_g,
                    187.5, 1e-9);
        check_close(group(R"("count":5,"mean_length_in":9)").mean_weight_g,
                    0.01107 * 22.86 * 22.86 * 22.86, 1e-9);
        check_close(group(R"("count":80,"total_kg":20)").mean_weight_g, 250, 1e-12);
        check_close(group(R"("per_m3":32,"total_lb":44)").mean_weight_g, 44 * 453.59237 / 80, 1e-9);
        for (const auto& [fish, message] :
             {std::pair{R"("mean_weight_g":200)", "count is missing: number of fish"},
              std::pair{R"("count":5)", "mean_weight_g is missing: mean weight of one fish"},
              std::pair{R"("count":5,"per_m3":3,"mean_weight_g":200)",
                        "give count or per_m3, not both"},
              std::pair{R"("count":5,"mean_length_cm":25,"mean_weight_g":200)",
                        "give mean_weight_g or mean_length_cm, not both"},
              std::pair{R"("count":5,"total_kg":400)",
                        "they would weigh 80000 g each: must be 0.05 to 30000 g"},
              std::pair{R"("count":0,"total_kg":4)",
                        "of no fish: what does one weigh? mean_weight_g"}}) {
            const ReadResult result = read(fish);
            const std::string written = fish;  // no binding, for what doctest makes of it
            REQUIRE_MESSAGE(result.errors.size() == 1, written);
            CHECK(result.errors[0].message == message);
        }
    }

    TEST_CASE("what looks like another unit does so from one end to the other") {
        const auto hint = [](Scope scope, const char* written, double value) {
            const KeyMatch match = match_key(scope, written);
            REQUIRE(match.key != nullptr);
            return explain_number(scope, *match.key, match.unit, value);
        };
        // Ends that are meant, and a little beyond them.
        struct Ends {
            Scope scope;
            const char* key;
            double low;
            double high;
            bool above;
            const char* words;
        };
        for (const Ends& at :
             {Ends{Scope::water, "temperature_f", -2, 32, false, "looks like degC"},
              Ends{Scope::water, "temperature_c", 40, 104, true, "degF go into"},
              Ends{Scope::water, "oxygen_mg_l", 40, 200, true, "looks like percent"},
              Ends{Scope::site, "barometric_pressure_kpa", 840, 1120, true, "like hPa:"},
              Ends{Scope::site, "barometric_pressure_kpa", 500, 840, false, "or mmHg"},
              Ends{Scope::site, "barometric_pressure_kpa", 15, 33, false, "like inHg"},
              Ends{Scope::site, "altitude_m", 5000, 16400, true, "altitude_ft"}}) {
            CAPTURE(at.key);
            CAPTURE(at.words);
            const auto holds = [&](double value) {
                return hint(at.scope, at.key, value).find(at.words) != std::string::npos;
            };
            const double next = 1e-6 * at.high;
            CHECK(holds(at.low) == !at.above);
            CHECK(holds(at.low + next));
            CHECK_FALSE(holds(at.low - next));
            CHECK(holds(at.high));
            CHECK_FALSE(holds(at.high + next));
        }
    }

    TEST_CASE("the nearest word is one edit away, of four, and up to three of long ones") {
        const std::vector<std::string> known{"tank", "temperature_c"};
        for (const char* written : {"tankk", "tnk", "tamk", "tnak", "TANK", "ta nk"}) {
            CHECK_MESSAGE(nearest(written, known) == "tank", written);
        }
        for (const char* written : {"tnkk", "tk", "tan", ""}) {
            CHECK_MESSAGE(nearest(written, known) == (std::string(written) == "tan" ? "tank" : ""),
                          written);
        }
        CHECK(nearest("tempratur", known).empty());
        CHECK(nearest("tempratur_c", known) == "temperature_c");
        CHECK(nearest("mperature_c", known) == "temperature_c");
        CHECK(nearest("perature_c", known).empty() == false);
        CHECK(nearest("erature_c", known).empty());
        CHECK(nearest(std::string(61, 'a'), std::vector{std::string(60, 'a')}).empty());
        CHECK_FALSE(nearest(std::string(60, 'a'), std::vector{std::string(61, 'a')}).empty());
        // A species by any of its names.
        const SpeciesBook book;
        CHECK(nearest("Oncorhynchus mykis", book.all_names()) == "Oncorhynchus mykiss");
        CHECK(nearest("browntrout", book.all_names()) == "brown trout");
    }

    TEST_CASE("a cylinder that is shut is no backup, and lasts for no number of hours") {
        const auto errors = [](const char* flow) {
            return read_description(
                       std::string(R"({"format":1,"site":{"name":"s","altitude_m":0,"backup":[)"
                                   R"({"kind":"oxygen","absorption_percent":10,"cylinder_l":5,)"
                                   R"("cylinder_bar":200,"flow_l_min":)") +
                           flow +
                           R"(}]},"tanks":[{"name":"t","volume_l":1000,)"
                           R"("water":{"temperature_c":10},"fish":[]}]})",
                       "farm.json")
                .errors;
        };
        CHECK(errors("1").empty());
        REQUIRE(errors("0").size() == 1);
        CHECK(errors("0")[0].pointer == "/site/backup/0/flow_l_min");
        CHECK(errors("0")[0].message.find("a cylinder that is shut") == 0);
    }

    TEST_CASE("water that a tank above gives none of does not tell how warm it is") {
        const std::string above = R"({"name":"above","volume_l":1000,"water":{"temperature_c":10},
            "inflow":{"flow_l_min":10,"oxygen_percent":90},
            "fish":[{"species":"brook trout","count":5,"mean_weight_g":100}]},)";
        const auto first = [&](const char* flow) {
            const ReadResult read = read_description(
                R"({"format":1,"site":{"name":"s","altitude_m":0},"tanks":[)" + above +
                    R"({"name":"below","volume_l":1000,"inflow":[{"from":"above","flow_l_min":)" +
                    flow + R"(},{"flow_l_min":5,"oxygen_percent":90}],
                    "fish":[{"species":"brook trout","count":5,"mean_weight_g":100}],"water":{}}]})",
                "farm.json");
            REQUIRE_FALSE(read.errors.empty());
            return read.errors[0].message;
        };
        CHECK(first("0") == "temperature_c is missing: the day's mean");
        CHECK(first("5").find("of the new water in inflow") != std::string::npos);
    }

    TEST_CASE("what a number or a kit's word looks like is said, with the key to write") {
        const auto message = [](const std::string& site, const std::string& water) {
            const ReadResult result = read_description(
                R"({"format":1,"site":{"name":"s",)" + site +
                    R"(},"tanks":[{"name":"a","volume_l":2500,"water":{"temperature_c":12)" +
                    water + R"(},"inflow":{"flow_l_min":40,"oxygen_percent":90},"fish":[]}]})",
                "f");
            REQUIRE_MESSAGE(result.errors.size() == 1, (site + water));
            return result.errors[0].message;
        };
        const auto says = [&](const std::string& text, const std::string& word) {
            CHECK_MESSAGE(text.find(word) != std::string::npos, text);
        };
        const std::string here = R"("altitude_m":0)";
        says(message(here, R"(,"oxygen_mg_l":72)"), "72 looks like percent");
        says(message(R"("altitude_m":5200)", ""), "5200 ft is 1585 m: altitude_ft");
        says(message(R"("barometric_pressure_kpa":1013)", ""),
             "1013 looks like hPa: barometric_pressure_hpa, as it stands at your height");
        says(message(R"("barometric_pressure_kpa":29.92)", ""), "barometric_pressure_inhg");
        says(message(R"("barometric_pressure_kpa":760)", ""), "hPa or mmHg");
        for (const char* word : {"ammonia_mg_l", "nh3", "NH4_ppm"}) {
            says(message(here, std::string(",\"") + word + "\":0.5"), "tan_mg_l_as_nh4");
        }
        says(message(here, R"(,"kh":5)"), "alkalinity_dkh");
        says(message(here, R"(,"kh_drops":5)"), "alkalinity_dkh");
        says(message(here, R"(,"do_mg_l":5)"), "oxygen_mg_l");
        says(message(here, R"(,"nitrite_ppm":0.1)"), "nitrite_mg_l_as_no2");
        says(message(here, R"(,"no3":20)"), "nitrate_mg_l_as_no3");
        says(message(here, R"(,"ppm":20)"), "ppm is mg/L; of what?");
        says(message(here, R"(,"conductivity":300)"), "tells all salts together");
    }

    TEST_CASE("a kit's or a meter's word where the other keys are missing too") {
        const ReadResult result = read_description(
            R"({"format":1,"site":{"name":"s","elevation_ft":90},"tanks":[{"name":"a","gallons":600,
            "water":{"temperature_c":12},"inflow":{"gph":400,"do_percent":90},
            "fish":[{"species":"trout","number":5,"length_in":9},
                    {"species":"trout","count":5,"mean_length_in":9}]}]})",
            "f");
        std::string all;
        for (const auto& error : result.errors) all += error.message + "\n";
        for (const char* key : {"altitude_ft", "volume_gal_us", "flow_gal_us_h", "oxygen_percent",
                                "is count", "mean_length_in"}) {
            CHECK_MESSAGE(all.find(key) != std::string::npos, key << " in " << all);
        }
        CHECK_MESSAGE(all.find("not a number g") == std::string::npos, all);
    }

    TEST_CASE("two names that differ by capitals or blanks alone are one too many") {
        const ReadResult result = read_description(
            R"({"format":1,"site":{"name":"s","altitude_m":0},"tanks":[
            {"name":"big round","volume_l":1,"water":{"temperature_c":12},"fish":[]},
            {"name":"Big  Round","volume_l":1,"water":{"temperature_c":12},"fish":[]},
            {"name":"biground","volume_l":1,"water":{"temperature_c":12},"fish":[]}]})",
            "f");
        REQUIRE(result.errors.size() == 2);
        CHECK(result.errors[0].message ==
              "tanks 1 and 2, \"big round\" and \"Big  Round\", differ by capitals or blanks "
              "alone; name them apart");
        CHECK(result.errors[1].pointer == "/tanks/1/name");
        REQUIRE(result.description);
        CHECK(result.description->tanks.size() == 1);
    }

    TEST_CASE("a tank names its loop in any capitals; two such loops are one too many") {
        const auto read = [](const std::string& loops) {
            return read_description(
                R"({"format":1,"site":{"name":"s","altitude_m":0},"tanks":[{"name":"t","volume_l":1,
                "loop":{"name":" FIRST  loop","flow_l_min":1},"fish":[]}],"loops":[)" +
                    loops + "]}",
                "f");
        };
        const std::string one =
            R"({"name":"first loop","water":{"temperature_c":12},"exchange_l_day":9})";
        const ReadResult result = read(one);
        REQUIRE(result.errors.empty());
        CHECK(result.description->tanks[0].loop->name == "first loop");
        const ReadResult two =
            read(one + R"(,{"name":"First loop","water":{"temperature_c":9},"exchange_l_day":9})");
        REQUIRE(!two.errors.empty());
        CHECK(two.errors[0].message.find("differ by capitals or blanks alone") !=
              std::string::npos);
        CHECK((!two.description || two.description->tanks.empty()));
    }

    TEST_CASE("every unit reads as its factor: NIST SP 811 (2008), appendix B") {
        struct Case {
            Scope scope;
            const char* key;
            double one;  // of this unit in the base unit
        };
        // Printed there: gal 3.785412 L, imperial gal 4.54609 L, ft3 28.31685 L, lb 453.5924 g,
        // oz 28.34952 g, ft 0.3048 m, in 0.0254 m, inHg (conventional) 3.386389 kPa,
        // mmHg (conventional) 0.1333224 kPa.
        for (const Case& c : {Case{Scope::tank, "volume_m3", 1000},
                              Case{Scope::tank, "volume_gal_us", 3.785412},
                              Case{Scope::tank, "volume_gal_imp", 4.54609},
                              Case{Scope::tank, "volume_ft3", 28.31685},
                              Case{Scope::inflow, "flow_l_h", 1.0 / 60},
                              Case{Scope::inflow, "flow_l_s", 60},
                              Case{Scope::inflow, "flow_m3_h", 1000.0 / 60},
                              Case{Scope::inflow, "flow_gal_us_min", 3.785412},
                              Case{Scope::inflow, "flow_gal_imp_min", 4.54609},
                              Case{Scope::fish, "mean_weight_kg", 1000},
                              Case{Scope::fish, "mean_weight_lb", 453.5924},
                              Case{Scope::fish, "mean_weight_oz", 28.34952},
                              Case{Scope::feed, "ration_lb_day", 453.5924},
                              Case{Scope::feed, "ration_kg_day", 1000},
                              Case{Scope::feed, "ration_oz_day", 28.34952},
                              Case{Scope::site, "altitude_ft", 0.3048},
                              Case{Scope::site, "altitude_cm", 0.01},
                              Case{Scope::diffuser, "depth_in", 0.0254},
                              Case{Scope::diffuser, "air_flow_ft3_min", 28.31685},
                              Case{Scope::diffuser, "air_flow_m3_h", 1000.0 / 60},
                              Case{Scope::diffuser, "air_flow_l_h", 1.0 / 60},
                              Case{Scope::oxygen, "flow_l_h", 1.0 / 60},
                              Case{Scope::rated, "sotr_lb_h", 453.5924},
                              Case{Scope::site, "barometric_pressure_hpa", 0.1},
                              Case{Scope::site, "barometric_pressure_inhg", 3.386389},
                              Case{Scope::site, "barometric_pressure_mmhg", 0.1333224}}) {
            const KeyMatch match = match_key(c.scope, c.key);
            REQUIRE_MESSAGE(match.unit != nullptr, c.key);
            check_close(match.unit->factor, c.one, 2e-7 * c.one);
            CHECK(match.unit->zero == 0);
        }
        // By hand, of the molar masses that a kit's leaflet has: N 14.007 in NH4 18.039,
        // NH3 17.031, NO2 46.005 and NO3 62.004; 35.45 of Cl in 58.44 of salt; 50.04 mg/L of CaCO3
        // a meq/L, and 17.848 a degree of carbonate hardness (DIN 38409-7, from memory).
        for (const auto& [scope, key, one, tolerance] :
             {std::tuple{Scope::water, "tan_mg_l_as_nh4", 14.007 / 18.039, 1e-6},
              std::tuple{Scope::inflow, "tan_mg_l_as_nh3", 14.007 / 17.031, 1e-6},
              std::tuple{Scope::water, "nitrite_mg_l_as_no2", 14.007 / 46.005, 1e-6},
              std::tuple{Scope::makeup, "nitrate_mg_l_as_no3", 14.007 / 62.004, 1e-6},
              std::tuple{Scope::reading, "salt_g_l", 1000 * 35.45 / 58.44, 0.01},
              std::tuple{Scope::loop_water, "alkalinity_meq_l", 50.04, 0.005},
              std::tuple{Scope::trip, "alkalinity_mmol_l", 50.04, 0.005},
              std::tuple{Scope::reading, "alkalinity_dkh", 17.848, 0.0005},
              std::tuple{Scope::fish, "mean_length_in", 2.54, 0.0},
              std::tuple{Scope::fish, "total_lb", 0.4535924, 1e-7},
              std::tuple{Scope::inflow, "flow_gal_us_h", 3.785412 / 60, 1e-7},
              std::tuple{Scope::loop_flow, "flow_gal_imp_h", 4.54609 / 60, 1e-9}}) {
            const KeyMatch match = match_key(scope, key);
            const std::string written = key;
            REQUIRE_MESSAGE(match.unit != nullptr, written);
            check_close(match.unit->factor, one, tolerance);
        }
        const KeyMatch fahrenheit = match_key(Scope::water, "temperature_f");
        REQUIRE(fahrenheit.unit != nullptr);
        check_close(fahrenheit.unit->factor * (32 - fahrenheit.unit->zero), 0, 0);
        check_close(fahrenheit.unit->factor * (212 - fahrenheit.unit->zero), 100, 1e-12);
    }

    TEST_CASE("line and column point at the fault") {
        const ReadResult result = read_description(
            "{ \"format\": 1,\n  \"site\": {\"name\": \"s\", \"altitude_m\": 9999},\n"
            "  \"tanks\": [\n    {\"name\": \"a\", \"volum_l\": 5,\n"
            "     \"water\": {\"temperature_c\": \"cold\"}, \"fish\": []}]}",
            "f.json", {}, 10);
        REQUIRE(result.errors.size() == 3);
        CHECK(result.errors[0].pointer == "/site/altitude_m");
        CHECK(*result.errors[0].line == 11);
        CHECK(*result.errors[0].column == 39);
        CHECK(result.errors[0].message ==
              "must be -500 to 5000, got 9999; 9999 ft is 3048 m: altitude_ft");
        CHECK(result.errors[1].pointer == "/tanks/0/volum_l");
        CHECK(result.errors[1].message.find("did you mean volume_l?") != std::string::npos);
        CHECK(*result.errors[1].line == 13);
        CHECK(*result.errors[1].column == 19);
        CHECK(result.errors[2].pointer == "/tanks/0/water/temperature_c");
        CHECK(result.errors[2].message == "must be a number, got \"cold\"");
        CHECK(*result.errors[2].line == 14);
        CHECK(*result.errors[2].column == 33);
    }

    TEST_CASE("inclusive ranges: both ends are taken, one step out is refused") {
        const std::string fish =
            R"("name":"a","volume_l":1e9,"water":{"temperature_c":12},"fish":[{"species":"rainbow",)";
        const std::string air =
            R"("name":"a","volume_l":1000,"water":{"temperature_c":12},"fish":[],"aeration":[{)";
        const std::string water = R"("name":"a","volume_l":1000,"fish":[],"water":{)";
        const std::string flow = kGood + R"(,"inflow":{)";
        struct Range {
            std::string before, after;
            std::vector<std::string> good, bad;
        };
        for (const Range& r :
             {Range{water + R"("temperature_c":)", "}", {"0", "40"}, {"-0.1", "40.1"}},
              Range{water + R"("temperature_c":5,"ph":)", "}", {"3", "11"}, {"2.9", "11.1"}},
              Range{
                  water + R"("temperature_c":5,"salinity_g_kg":)", "}", {"0", "40"}, {"-1", "41"}},
              Range{water + R"("temperature_c":5,"tan_mg_l":)", "}", {"0", "50"}, {"-0.1", "50.1"}},
              Range{flow + R"("flow_l_min":1,"oxygen_percent":)", "}", {"0", "200"}, {"-1", "201"}},
              Range{flow + R"("flow_l_min":1,"oxygen_mg_l":)", "}", {"0", "40"}, {"-1", "41"}},
              Range{fish + R"("count":1,"mean_weight_g":)",
                    "}]",
                    {"0.05", "30000"},
                    {"0.049", "30001", "0"}},
              Range{fish + R"("mean_weight_g":1,"count":)",
                    "}]",
                    {"0", "1", "2.0", "1e3"},
                    {"-1", "1.5"}},
              Range{kGood + R"(,"feed":{"protein_percent":)", "}", {"10", "70"}, {"9", "71"}},
              Range{kGood + R"(,"feed":{"peak_factor":)", "}", {"1", "3"}, {"0.9", "3.1"}},
              Range{kGood + R"(,"feed":{"oxygen_per_feed_g_kg":)",
                    "}",
                    {"100", "700"},
                    {"99", "701"}},
              Range{kGood + R"(,"feed":{"ration_percent_day":)", "}", {"0", "20"}, {"-1", "21"}},
              Range{air + R"("kind":"oxygen","flow_l_min":1,"absorption_percent":)",
                    "}]",
                    {"0.1", "100"},
                    {"0", "101"}},
              Range{air + R"("kind":"diffuser","bubble":"fine","air_flow_l_min":1,"depth_m":)",
                    "}]",
                    {"0.01", "10"},
                    {"0", "10.1"}},
              Range{air + R"("kind":"cascade","drop_m":)", "}]", {"0", "3"}, {"-0.1", "3.1"}},
              Range{R"("name":"a","water":{"temperature_c":5},"fish":[],"volume_l":)",
                    "",
                    {"0.001", "1e9"},
                    {"0", "-5", "1e-12", "1e400"}}}) {
            for (const std::string& value : r.good) {
                const std::string text = around(r.before + value + r.after);
                CHECK_MESSAGE(read_description(text, "f").errors.empty(), text);
            }
            for (const std::string& value : r.bad) {
                const std::string text = around(r.before + value + r.after);
                CHECK_MESSAGE(read_description(text, "f").errors.size() == 1, text);
            }
        }
        for (const char* site :
             {R"("altitude_m":-500)", R"("altitude_m":5000)", R"("barometric_pressure_kpa":50.7)",
              R"("barometric_pressure_kpa":111.4)"}) {
            CHECK(read_description(replaced(around(kGood), R"("altitude_m":0)", site), "f")
                      .errors.empty());
        }
        for (const char* site :
             {R"("altitude_m":-501)", R"("altitude_m":5001)", R"("barometric_pressure_kpa":50.6)",
              R"("barometric_pressure_kpa":111.5)", R"("salinity_g_kg":1)"}) {
            CHECK_FALSE(read_description(replaced(around(kGood), R"("altitude_m":0)", site), "f")
                            .errors.empty());
        }
    }

    TEST_CASE("what is wrong is refused at its place, with advice") {
        const std::string good = around(kGood);
        REQUIRE(read_description(good, "f").errors.empty());
        check_refused(replaced(good, R"("fish":[])", R"("fish":[],"ph":7)"), "/tanks/0/ph",
                      "it belongs in a tank's water");
        check_refused(replaced(good, "volume_l", "volume_liters"), "/tanks/0/volume_liters",
                      "give it as volume_l, volume_m3");
        check_refused(replaced(good, "temperature_c", "temp_f"), "/tanks/0/water/temp_f",
                      "did you mean temperature_c, temperature_f?");
        check_refused(replaced(good, "\"temperature_c\":12", "\"temperature_c\":54"),
                      "/tanks/0/water/temperature_c", "degF go into the key that ends in _f");
        check_refused(replaced(good, R"("volume_l":1000)", R"("volume_l":1000,"volume_m3":1)"),
                      "/tanks/0/volume_m3", "volume_l says the same");
        check_refused(replaced(good, R"("volume_l":1000)", R"("volume_l":1000,"volume_l":1)"),
                      "/tanks/0/volume_l",
                      "this key stands twice; keep one; first at line 1, column");
        check_refused(replaced(good, "1000", "\"1000\""), "/tanks/0/volume_l", "must be a number");
        check_refused(replaced(good, "[]}", "{}}"), "/tanks/0/fish", "must be a list");
        check_refused(replaced(good, "\"format\":1", "\"format\":2"), "/format",
                      "must be 1, got 2");
        check_refused(replaced(good, R"("name":"a")", R"("name":" ")"), "/tanks/0/name",
                      "must not be empty");
        check_refused(around(kGood + R"(,"inflow":{"flow_l_min":5})"), "/tanks/0/inflow",
                      "oxygen_mg_l or oxygen_percent is missing");
        CHECK(
            read_description(around(kGood + R"(,"inflow":{"flow_l_min":0})"), "f").errors.empty());
        check_refused(
            around(kGood + R"(,"inflow":{"flow_l_min":5,"oxygen_mg_l":9,"oxygen_percent":90})"),
            "/tanks/0/inflow/oxygen_percent", "not both");
        check_refused(around(kGood + R"(,"inflow":{"flow_l_min":5,"oxygen_mg_l":9,"ph":7})"),
                      "/tanks/0/inflow/ph", "together");
        check_refused(around(kGood + R"(,"feed":{"ration_g_day":10})"),
                      "/tanks/0/feed/ration_g_day", "no fish to eat it");
        check_refused(around(kGood + R"(,"aeration":[{"kind":"bubbler"}])"),
                      "/tanks/0/aeration/0/kind",
                      "must be one of diffuser, rated, oxygen, cascade");
        check_refused(
            around(kGood + R"(,"aeration":[{"kind":"diffuser","air_flow_l_min":1,"depth_m":1}])"),
            "/tanks/0/aeration/0", "bubble (fine, medium or coarse)");
        check_refused(around(kGood +
                             R"(,"aeration":[{"kind":"diffuser","air_flow_l_min":1,"depth_m":10,
                        "transfer_percent_per_m":11}])"),
                      "/tanks/0/aeration/0/transfer_percent_per_m",
                      "more oxygen than the air holds");
        check_refused(replaced(good, R"("temperature_c":12)",
                               R"("temperature_c":12,"peak_temperature_c":11)"),
                      "/tanks/0/water/peak_temperature_c", "below the day's mean");
        check_refused(around(kGood + R"(,"limits":{"tan_warn_mg_l":9})"),
                      "/tanks/0/limits/tan_warn_mg_l", "tan_warn_mg_l lies beyond tan_fail_mg_l");
        check_refused(
            replaced(good, "\"altitude_m\":0", "\"altitude_m\":0,\"limits\":{\"tan_warn_mg_l\":9}"),
            "/site/limits/tan_warn_mg_l", "tan_warn_mg_l lies beyond tan_fail_mg_l");
        check_refused(replaced(good, "\"tanks\"", "\"site\":{},\"tanks\""), "/site",
                      "this key stands twice");
        const std::string fish =
            R"("fish":[{"species":"rainbow","count":2000,"mean_weight_g":180}])";
        check_refused(replaced(good, R"("fish":[])", fish), "/tanks/0/fish",
                      "360 kg of fish in 1000 L");
        check_refused(replaced(good, R"("fish":[])", replaced(fish, "rainbow", "rainbo trout")),
                      "/tanks/0/fish/0/species", "did you mean rainbow trout?");
        check_refused(replaced(good, R"("altitude_m":0)", R"("altitude_m":0,"limit":{})"),
                      "/site/limit", "did you mean limits?");
        check_refused(replaced(good, R"(,"altitude_m":0)", ""), "/site",
                      "altitude_m or barometric_pressure_kpa is missing");
    }

    TEST_CASE("what is not JSON is refused with its place and a way to mend it") {
        const auto first = [](const std::string& text) {
            const ReadResult result = read_description(text, "f");
            REQUIRE_MESSAGE(result.errors.size() == 1, text);
            CHECK_FALSE(result.description.has_value());
            return fmt_place(result.errors[0]);
        };
        CHECK(first("") == "1:1 there is no description here");
        CHECK(first("\xEF\xBB\xBF{}").find("1:1 a byte order mark") == 0);
        CHECK(first(std::string("{}\0x", 4)).find("1:3 a NUL byte") == 0);
        CHECK(first(R"({"a":"b\u0000"})").find("1:6 a NUL in a text") == 0);
        CHECK(first(R"({"a\u0000":1})").find("1:2 a NUL in a text") == 0);
        CHECK(first(std::string("\xFF\xFE{\0}\0", 6)).find("1:1 UTF-16") == 0);
        CHECK(first(std::string("\0{\0}", 4)).find("1:1 UTF-16") == 0);
        CHECK(first(std::string("{\0}\0", 4)).find("1:1 UTF-16") == 0);
        CHECK(first("{\"format\":1,}").find("1:13 a comma stands before") == 0);
        CHECK(first("{\n\"format\": NaN}").find("2:11 NaN is not a JSON number") == 0);
        CHECK(first("{\"format\":1 // x\n}").find("1:13 JSON has no comments") == 0);
        CHECK(first("{'format':1}").find("1:2 texts and keys stand in double quotes") == 0);
        CHECK(first("{\"format\":1").find("1:12 the text ends too early: the { of line 1") == 0);
        CHECK(first("{\"a\":0,8}").find("1:8 a key must stand here; a decimal point") == 0);
        CHECK(first("{\xE2\x80\x9Cq").find("1:2 a curly quote") == 0);
        CHECK(first("{} {}").find("1:4 more text after") == 0);
        CHECK(first("{\"a\":\"\xff\"}").find("1:7 not UTF-8") == 0);
        CHECK(first("{\"a\":1e999}").find("1:6 1e999 is too large") == 0);
        CHECK(first("{\"a\":01}").find("1:7 a number does not start with 0") == 0);
        CHECK(first("{\"a\":+1}").find("1:6 +1 is not a JSON number") == 0);
        CHECK(first("{\"a\":1 \"b\":2}").find("1:8 a comma") == 0);
        CHECK(first("{\"a\":\"b\nc\"}").find("1:8 the quote is not closed on its line") == 0);
        CHECK(first(std::string(17, '[') + std::string(17, ']')).find("1:17 more than 16 levels") ==
              0);
        CHECK(parse_depth_is_fine(16));
    }

    TEST_CASE("a tank in error leaves the others; a name that stands twice refuses both") {
        const std::string three = R"({"format":1,"site":{"name":"s","altitude_m":0},"tanks":[{)" +
                                  kGood + "},{" + replaced(kGood, "\"a\"", "\"b\"") + "},{" +
                                  replaced(replaced(kGood, "\"a\"", "\"c\""), "1000", "-1") + "}]}";
        ReadResult result = read_description(three, "f");
        CHECK(result.errors.size() == 1);
        REQUIRE(result.description->tanks.size() == 2);
        CHECK(result.description->tanks[1].name == "b");
        result = read_description(replaced(three, "\"b\"", "\"a\""), "f");
        CHECK(result.errors.size() == 3);
        CHECK(result.description->tanks.empty());
    }

    TEST_CASE("every key of the table has a kind, a name of its own and words") {
        for (const Scope scope : {Scope::description, Scope::site, Scope::tank, Scope::water,
                                  Scope::inflow, Scope::fish, Scope::feed, Scope::diffuser,
                                  Scope::rated, Scope::oxygen, Scope::cascade, Scope::limits}) {
            std::vector<std::string> all;
            for (const Key& key : keys_of(scope)) {
                CHECK_FALSE(key.about.empty());
                CHECK(key.low <= key.high);
                for (const std::string& spelling : spellings(key)) {
                    CHECK(match_key(scope, spelling).key == &key);
                    all.push_back(spelling);
                }
            }
            std::sort(all.begin(), all.end());
            CHECK(std::adjacent_find(all.begin(), all.end()) == all.end());
        }
    }

    TEST_CASE("every check and every limit stands where a reader looks for it") {
        const auto text_of_file = [](const char* name) {
            std::ifstream file(std::string(COLDTANK_SOURCE_DIR) + '/' + name);
            return std::string(std::istreambuf_iterator<char>(file), {});
        };
        const std::string readme = text_of_file("README.md");
        const std::string schema = text_of_file("data/report.schema.json");
        for (const CheckInfo& info : kChecks) {
            const std::string name(info.name);
            const auto row = readme.find("\n| " + name);
            CHECK_MESSAGE(row != std::string::npos, name);
            // With its unit, less what a concentration is counted as.
            const std::string unit(info.unit.substr(0, info.unit.find(" (")));
            const std::string line = readme.substr(row + 1, readme.find('\n', row + 1) - row);
            const bool counted = info.id == CheckId::size_spread || info.id == CheckId::ph ||
                                 info.id == CheckId::early_life || info.id == CheckId::exchange;
            CHECK_MESSAGE((counted || line.find(unit) != std::string::npos), line);
            std::size_t lists = 0;
            for (std::size_t at = 0; (at = schema.find('"' + name + '"', at)) != std::string::npos;
                 ++at) {
                ++lists;
            }
            CHECK_MESSAGE(lists >= 2, name);  // a check, and what limits first
        }
        const auto keys = keys_of(Scope::limits);
        REQUIRE(keys.size() == limit_fields().size());
        for (std::size_t i = 0; i < keys.size(); ++i) {
            const LimitField& field = limit_fields()[i];
            CHECK(keys[i].name == field.key);
            CHECK(keys[i].low == field.range.low);
            CHECK(keys[i].high == field.range.high);
            CHECK_MESSAGE(readme.find('`' + std::string(field.key) + '`') != std::string::npos,
                          field.key);
        }
    }
}
