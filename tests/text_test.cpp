// A user's words on their way out: to a terminal, a spreadsheet, a Markdown page.
#include "text/text.hpp"

#include <array>
#include <cmath>
#include <cstdio>
#include <cstdlib>

#include "check.hpp"
#include "text/csv.hpp"
#include "text/markdown.hpp"

using namespace coldtank::io;

namespace {

// What a spreadsheet split at one of these would find in its cells.
bool runs(std::string_view cell, std::string_view separators) {
    std::size_t from = 0;
    for (;;) {
        const std::size_t end = std::min(cell.find_first_of(separators, from), cell.size());
        const std::string_view part = cell.substr(from, end - from);
        if (!part.empty() && std::string_view("=+-@\t\r").find(part[0]) != std::string_view::npos) {
            return true;
        }
        if (end == cell.size()) return false;
        from = end + 1;
    }
}

}  // namespace

TEST_SUITE("text") {
    TEST_CASE("a cell runs in no spreadsheet, and reads back as it was") {
        const char* const names[] = {
            "=1+1",   "+1",      "-x",      "@home",      "a;=1+1",     "a;;-2", "'=x", "''=x",
            "'plain", "a;'=b",   "a\t=cmd", "x - y;@z;+", "north",      "'",     "''",  ";",
            ";'",     "a,\"=b;", "-",       "a'=b",       "\xC3\xA9=1", "; =x"};
        for (const std::string name : names) {
            std::size_t at = 0;
            const std::string line = csv_cell(name) + "\n";
            const auto row = next_csv_row(line, at);
            REQUIRE(row.has_value());
            REQUIRE(row->cells.size() == 1);
            CHECK(row->cells[0].text == printable(name));
            std::string bare = csv_cell(name);
            if (bare[0] == '"') bare = bare.substr(1, bare.size() - 2);
            CHECK_MESSAGE(!runs(bare, ";\t"), bare);
        }
        CHECK(csv_cell("=1+1") == "'=1+1");
        CHECK(csv_cell("a;=1+1") == "a;'=1+1");
        CHECK(csv_cell("north") == "north");
        // The search itself can find one.
        CHECK(runs("a;=b", ";\t"));
    }

    TEST_CASE("what cannot be seen is shown") {
        for (const auto& [text, shown] :
             {std::pair{"a\xC2\xAD"
                        "b",
                        "a\\u00adb"},                  // soft hyphen
              std::pair{"a\xE2\x80\x8B", "a\\u200b"},  // zero-width space
              std::pair{"a\xE2\x80\x8D", "a\\u200d"},  // joiner
              std::pair{"\xE2\x80\xAE"
                        "a",
                        "\\u202ea"},  // right-to-left override
              std::pair{"\xE2\x81\xA6"
                        "a",
                        "\\u2066a"},  // isolate
              std::pair{"\xEF\xBB\xBF"
                        "a",
                        "\\ufeffa"},  // byte order mark
              std::pair{"\xF3\xA0\x81\x81"
                        "a",
                        "\\u{e0041}a"},  // tag A
              std::pair{"\xC3\xA9\xE2\x82\xAC\xF0\x9F\x90\x9F",
                        "\xC3\xA9\xE2\x82\xAC\xF0\x9F\x90\x9F"}}) {
            CHECK(printable(text) == shown);
        }
        const auto json_of = [](std::string_view text) {
            std::string out;
            append_json(out, text);
            return out;
        };
        CHECK(json_of("\xF3\xA0\x81\x81") == "\"\\udb40\\udc41\"");
        CHECK(json_of("\xE2\x80\x8B") == "\"\\u200b\"");
    }

    TEST_CASE("a name in Markdown stays a name") {
        for (const auto& [text, escaped] :
             {std::pair{"- x", "\\- x"}, std::pair{"+ x", "\\+ x"}, std::pair{"1. x", "1\\. x"},
              std::pair{"1) x", "1\\) x"}, std::pair{"12. tank", "12\\. tank"},
              std::pair{"---", "\\---"}, std::pair{"===", "\\==="}, std::pair{"# x", "\\# x"},
              std::pair{"> x", "\\> x"}, std::pair{"[a](b)", "\\[a\\](b)"},
              std::pair{"a - b", "a \\- b"}, std::pair{"http://a.b", "http\\://a.b"},
              std::pair{"www.a.b", "www\\.a.b"}, std::pair{"north round", "north round"},
              std::pair{"(now 15)", "(now 15)"}, std::pair{"at 13.5 degC", "at 13.5 degC"},
              std::pair{"volume_l", "volume_l"}, std::pair{"6-12 weeks", "6-12 weeks"}}) {
            CHECK(markdown_text(text) == escaped);
        }
    }

    TEST_CASE("a tie is rounded away from zero, from whichever side a machine came to it") {
        const auto around = [](double tie, std::string_view text, auto print) {
            const double up = std::abs(tie) * 2;
            for (const double sign : {1.0, -1.0}) {
                const std::string shown = sign < 0 ? "-" + std::string(text) : std::string(text);
                double below = tie;
                double above = tie;
                for (int ulps = 0; ulps < 4; ++ulps) {
                    CHECK(print(sign * below) == shown);
                    CHECK(print(sign * above) == shown);
                    below = std::nextafter(below, 0.0);
                    above = std::nextafter(above, up);
                }
                CHECK(print(sign * tie * (1 - 1e-12)) == shown);
                CHECK(print(sign * tie * (1 - 1e-9)) != shown);
            }
        };
        const auto three = [](double value) { return figure(value); };
        around(1.425, "1.43", three);
        around(1.125, "1.13", three);
        around(9.985, "9.99", three);
        around(142.5, "143", three);
        around(0.0001425, "0.000143", three);
        around(9999.5, "10000", three);
        around(1234567.5, "1234568", three);
        around(2.5, "3", [](double value) { return figure(value, 0); });
        around(0.05, "0.1", [](double value) { return figure(value, 1); });
        around(1.425, "1.43", [](double value) { return compared(value, {}).value; });
        // A power of ten has as many digits from both sides.
        for (const double ten : {9.999999999999998, 10.0, 10.000000000000002}) {
            CHECK(compared(ten, {}).value == "10.0");
        }
    }

    TEST_CASE("what lies on no tie prints as it always did") {
        char expected[64];
        for (int i = 1; i < 20000; ++i) {
            const double value = (i % 2 != 0 ? 1 : -1) * 0.000137 * i * i + 1.0 / i;
            for (int decimals = 0; decimals < 4; ++decimals) {
                std::snprintf(expected, sizeof expected, "%.*f", decimals, value);
                const std::string text = figure(value, decimals);
                const double scaled = std::abs(value) * std::pow(10, decimals);
                if (std::abs(scaled - std::floor(scaled) - 0.5) < 1e-9 * scaled) continue;
                CHECK(std::strtod(text.c_str(), nullptr) == std::strtod(expected, nullptr));
            }
        }
        CHECK(figure(0.0) == "0");
        CHECK(figure(-0.0) == "0");
        CHECK(figure(-0.0001, 2) == "0");
        CHECK(figure(123456789012345.0) == "123456789012345");
        CHECK(figure(1.7976931348623157e308) == "1.8e+308");
        CHECK(off_tie(-0.0) == 0.0);
        CHECK_FALSE(std::signbit(off_tie(-0.0)));
    }

    TEST_CASE("no tie is rounded over a limit") {
        for (const double limit : {6.0, 1.425, 1.43, 0.0125, 142.5, 143.0, 2.5e6}) {
            CHECK(compared(limit, std::array{limit}).value.find_first_of("123456789") !=
                  std::string::npos);
            for (const double off : {0.0, 2.3e-16, 1e-14, 1e-11, 1e-9, 1e-6, 1e-4}) {
                for (const double sign : {1.0, -1.0}) {
                    const double value = limit * (1 + sign * off);
                    const Compared texts = compared(value, std::array{limit});
                    const double shown = std::strtod(texts.value.c_str(), nullptr);
                    const double held = std::strtod(texts.limits[0].c_str(), nullptr);
                    CHECK((shown < held) == (value < limit));
                    CHECK((shown > held) == (value > limit));
                }
            }
        }
    }

    TEST_CASE("a number is one whole text") {
        CHECK(plain_number("-1.5e3") == -1500.0);
        CHECK_FALSE(plain_number(std::string("-1\0,=x", 6)).has_value());
        CHECK_FALSE(plain_number("inf").has_value());
        CHECK_FALSE(plain_number("").has_value());
    }
}
