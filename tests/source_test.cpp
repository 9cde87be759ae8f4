// Every number has a basis: no bare decimal literal in src/model, no Constant left out of
// sources().
#include <filesystem>
#include <regex>
#include <set>

#include "check.hpp"
#include "coldtank/budget.hpp"
#include "coldtank/sources.hpp"

using namespace coldtank;

namespace {

std::string text_of_file(const std::filesystem::path& path) {
    std::ifstream file(path);
    std::ostringstream text;
    text << file.rdbuf();
    return text.str();
}

// Without comments and texts, and without statements that start with constexpr.
std::string bare(std::string text) {
    text = std::regex_replace(text, std::regex(R"(//[^\n]*)"), "");
    text = std::regex_replace(text, std::regex(R"("([^"\\\n]|\\.)*")"), "\"\"");
    std::string out;
    const std::regex start(R"((^|\n)\s*(inline )?constexpr [^\n;{(]*[{=])");
    for (std::smatch match; std::regex_search(text, match, start);) {
        out += match.prefix();
        const std::string rest = match.suffix();
        const std::size_t end = rest.find(";");
        text = end == std::string::npos ? "" : rest.substr(end + 1);
    }
    return out + text;
}

}  // namespace

TEST_SUITE("source") {
    TEST_CASE("no bare decimal literal in the models") {
        // A fraction or an exponent: 0.5, 1e-3. (Whole numbers and 0.0, 1.0 are counting.)
        const std::regex literal(R"([^\w.](\d+\.\d*[1-9]\d*|\.\d+|\d+(\.\d+)?[eE][-+]?\d+))");
        int files = 0;
        std::vector<std::filesystem::directory_entry> all;
        for (const char* directory : {"/src/model", "/include/coldtank"}) {
            for (const auto& entry : std::filesystem::directory_iterator(
                     std::string(COLDTANK_SOURCE_DIR) + directory)) {
                if (entry.path().extension() == ".inc") continue;  // a table with its sources
                all.push_back(entry);
            }
        }
        for (const auto& entry : all) {
            const std::string text = bare(text_of_file(entry.path()));
            std::smatch match;
            CHECK_MESSAGE(!std::regex_search(text, match, literal), entry.path().filename().string()
                                                                        << ": " << match.str());
            ++files;
        }
        CHECK(files >= 18);
        // The search itself can find one.
        std::smatch match;
        const std::string planted = bare("constexpr double a = 0.5;\nreturn 2 * 0.31 * x;\n");
        CHECK(std::regex_search(planted, match, literal));
        CHECK(match.str() == " 0.31");
    }

    TEST_CASE("every Constant of the code is listed with its source") {
        std::set<std::string> listed;
        for (const Source& each : sources()) {
            const Constant& constant = each.constant;
            CHECK_FALSE(each.used_in.empty());
            CHECK_FALSE(constant.name.empty());
            CHECK_FALSE(constant.source.empty());
            CHECK_FALSE(constant.unit.empty());
            CHECK_MESSAGE(listed.insert(std::string(constant.name)).second, constant.name);
        }
        const std::regex defined(R"(constexpr Constant \w+\{\s*"([^"]+)\")");
        std::size_t found = 0;
        for (const char* folder : {"/src/model", "/include/coldtank"}) {
            for (const auto& entry :
                 std::filesystem::directory_iterator(std::string(COLDTANK_SOURCE_DIR) + folder)) {
                const std::string text = text_of_file(entry.path());
                for (auto at = std::sregex_iterator(text.begin(), text.end(), defined);
                     at != std::sregex_iterator(); ++at) {
                    CHECK_MESSAGE(listed.count((*at)[1].str()) == 1, (*at)[1].str());
                    ++found;
                }
            }
        }
        CHECK(found > 80);
    }

    TEST_CASE("the core includes nothing but the standard library and itself") {
        const std::regex include(R"(#include\s*[<"]([^>"]+)[>"])");
        for (const char* folder : {"/src/model", "/include/coldtank"}) {
            for (const auto& entry :
                 std::filesystem::directory_iterator(std::string(COLDTANK_SOURCE_DIR) + folder)) {
                const std::string text = text_of_file(entry.path());
                for (auto at = std::sregex_iterator(text.begin(), text.end(), include);
                     at != std::sregex_iterator(); ++at) {
                    const std::string name = (*at)[1].str();
                    CHECK_MESSAGE((name.starts_with("coldtank/") ||
                                   std::filesystem::exists(std::string(COLDTANK_SOURCE_DIR) +
                                                           "/src/model/" + name) ||
                                   name.find_first_of("/.") == std::string::npos),
                                  name);
                }
            }
        }
    }
}
