// A user's words on their way out: to a terminal, a spreadsheet, a Markdown page.
#include "text/text.hpp"

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

    TEST_CASE("a number is one whole text") {
        CHECK(plain_number("-1.5e3") == -1500.0);
        CHECK_FALSE(plain_number(std::string("-1\0,=x", 6)).has_value());
        CHECK_FALSE(plain_number("inf").has_value());
        CHECK_FALSE(plain_number("").has_value());
    }
}
