#include <fmt/core.h>

#include <algorithm>
#include <cerrno>
#include <csignal>
#include <cstdio>
#include <exception>
#include <sstream>
#include <string>
#include <vector>

#include "cli/commands.hpp"
#include "cli/help.hpp"
#include "coldtank/version.hpp"
#include "read/keys.hpp"
#include "text/text.hpp"

namespace coldtank::cli {
namespace {

// What a mistyped command, or a file given without one, was meant to be; none where it is known.
std::string advice_for_command(const CLI::App& app, const std::string& typed) {
    std::vector<std::string> known;
    for (const CLI::App* command : app.get_subcommands({})) known.push_back(command->get_name());
    if (typed.empty() || typed[0] == '-' ||
        std::find(known.begin(), known.end(), typed) != known.end()) {
        return {};
    }
    const std::string shown = io::printable(typed);
    if (typed.find_first_of("./") != std::string::npos) {
        return fmt::format("\"{}\" is no command; to work out a file: coldtank budget {}", shown,
                           shown);
    }
    const std::string near = io::nearest(typed, known);
    return fmt::format("unknown command \"{}\"; {}", shown,
                       near.empty() ? fmt::format("known are {}", io::joined(known, ", "))
                                    : fmt::format("did you mean {}?", near));
}

// What a mistyped option was meant to be.
std::string advice_for_option(const CLI::App& app) {
    for (const CLI::App* command : app.get_subcommands()) {
        std::vector<std::string> known;
        for (const CLI::Option* option : command->get_options()) {
            for (const std::string& name : option->get_lnames()) known.push_back("--" + name);
        }
        for (const std::string& extra : command->remaining()) {
            if (extra.empty() || extra[0] != '-') continue;
            const std::string near = io::nearest(extra.substr(0, extra.find('=')), known);
            return fmt::format("unknown option \"{}\"{}", io::printable(extra),
                               near.empty() ? "; see coldtank " + command->get_name() + " --help"
                                            : "; did you mean " + near + "?");
        }
    }
    return {};
}

}  // namespace

CLI::Validator number_in(double low, double high) {
    const auto check = [low, high](const std::string& text) -> std::string {
        const auto value = io::plain_number(text);
        if (value && *value >= low && *value <= high) return {};
        return fmt::format("must be a number from {} to {}, got \"{}\"", low, high,
                           io::printable(text));
    };
    return CLI::Validator(check, fmt::format("{} to {}", low, high), "number");
}

CLI::Validator numbers_in(double low, double high) {
    const auto check = [one = number_in(low, high)](const std::string& text) {
        for (std::size_t at = 0; at <= text.size();) {
            const std::size_t comma = std::min(text.find(',', at), text.size());
            std::string part = text.substr(at, comma - at);
            if (std::string wrong = one(part); !wrong.empty()) return wrong;
            at = comma + 1;
        }
        return std::string{};
    };
    return CLI::Validator(check, fmt::format("{} to {}", low, high), "numbers");
}

std::vector<double> numbers_of(const std::string& text) {
    std::vector<double> numbers;
    for (std::size_t at = 0; !text.empty() && at <= text.size();) {
        const std::size_t comma = std::min(text.find(',', at), text.size());
        numbers.push_back(io::plain_number(text.substr(at, comma - at)).value());
        at = comma + 1;
    }
    return numbers;
}

CLI::Validator not_empty() {
    return CLI::Validator(
        [](const std::string& text) {
            return text.empty() ? std::string("is empty: a variable that is not set?")
                                : std::string{};
        },
        "", "not empty");
}

CLI::Validator own_file() {
    return CLI::Validator(
        [](const std::string& text) {
            return text == "-" ? std::string("is a file of its own, never standard output")
                               : std::string{};
        },
        "", "own file");
}

bool put(std::string_view text) {
    if (std::fwrite(text.data(), 1, text.size(), stdout) == text.size() &&
        std::fflush(stdout) == 0 && std::ferror(stdout) == 0) {
        return true;
    }
    if (errno != EPIPE) std::perror("coldtank: cannot write the results");
    return false;
}

int run(int argc, char** argv) {
    CLI::App app{
        "Will oxygen, ammonia, carbon dioxide and space do for the trout and char in your tanks?",
        "coldtank"};
    app.set_version_flag("--version", fmt::format("coldtank {}", kVersion));
    app.formatter(std::make_shared<HelpFormatter>());
    app.footer(
        "  coldtank starter > farm.json    # a description to put your numbers in\n"
        "  coldtank budget farm.json       # will oxygen, ammonia, CO2 and space do?");
    app.require_subcommand(1);
    int status = kPass;
    add_budget(app, status);
    add_capacity(app, status);
    add_trend(app, status);
    add_saturation(app, status);
    add_species(app, status);
    add_sources(app, status);
    add_schema(app, status);
    add_starter(app, status);
    if (argc < 2) {
        put(app.help());
        return kUsage;
    }
    if (const std::string advice = advice_for_command(app, argv[1]); !advice.empty()) {
        say("coldtank: {}\n", advice);
        return kUsage;
    }
    // An option of nothing would take what comes next.
    for (int i = 2; i < argc; ++i) {
        const std::string_view word(argv[i]);
        if (word.starts_with("--") && word.ends_with("=")) {
            say("coldtank: {} is empty: a variable that is not set?\n", io::printable(word));
            return kUsage;
        }
    }
    try {
        app.parse(argc, argv);
    } catch (const CLI::ExtrasError& error) {
        const std::string advice = advice_for_option(app);
        say("coldtank: {}\n", advice.empty() ? io::printable(error.what()) : advice);
        return kUsage;
    } catch (const CLI::ParseError& error) {
        if (error.get_exit_code() == 0) {
            std::ostringstream help;
            app.exit(error, help, help);
            return put(help.str()) ? kPass : kNoOutput;
        }
        say("coldtank: {}\n", io::printable(error.what()));
        return kUsage;
    }
    return status;
}

}  // namespace coldtank::cli

int main(int argc, char** argv) {
    std::signal(SIGXFSZ, SIG_IGN);  // a file's limit is an error like a full disk
    try {
        return coldtank::cli::run(argc, argv);
    } catch (const std::exception& error) {
        std::fprintf(stderr, "coldtank: internal error: %s\n", error.what());
        return coldtank::cli::kInternal;
    }
}
