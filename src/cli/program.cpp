#include <fmt/core.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <span>
#include <sstream>
#include <string>
#include <vector>

#include "cli/commands.hpp"
#include "coldtank/version.hpp"
#include "text/text.hpp"

namespace coldtank::cli {
namespace {

// ---- help

// A command's description is one sentence; its footer holds the examples and comes right after it.
class HelpFormatter : public CLI::Formatter {
public:
    std::string make_description(const CLI::App* app) const override {
        const std::string examples = app->get_footer();
        return io::wrapped("", app->get_description(), 0) +
               (examples.empty() ? "" : "\n" + examples + "\n") + "\n";
    }
    std::string make_footer(const CLI::App*) const override { return {}; }
    std::string make_subcommand(const CLI::App* command) const override {
        return io::wrapped(padded("  " + command->get_name(), 14), command->get_description(), 14);
    }
    std::string make_option(const CLI::Option* option, bool positional) const override {
        // "-q, --quiet"
        std::string name = "  " + option->get_name(positional, true);
        if (const std::size_t comma = name.find(','); comma != std::string::npos) {
            name.insert(comma + 1, " ");
        }
        if (!positional && option->get_type_size() != 0) {
            const std::string type = option->get_type_name();
            const std::string word = type.substr(0, type.find(':'));
            name += word == "FLOAT" ? " N" : word == "TEXT" ? " FILE" : ' ' + word;
        }
        return io::wrapped(padded(name, 26), option->get_description(), 26);
    }

private:
    static std::string padded(std::string text, std::size_t width) {
        text.append(text.size() + 1 < width ? width - text.size() : 1, ' ');
        return text;
    }
};

// ---- what a mistyped word was meant to be

const Command* command_of(std::string_view name) {
    const auto all = commands();
    const auto found = std::find_if(all.begin(), all.end(),
                                    [&](const Command* command) { return command->name == name; });
    return found == all.end() ? nullptr : *found;
}

std::vector<std::string> command_names() {
    std::vector<std::string> names;
    for (const Command* command : commands()) names.emplace_back(command->name);
    names.emplace_back("help");
    return names;
}

// What a mistyped command, or a file given without one, was meant to be; none where it is known.
std::string advice_for_command(const std::string& typed) {
    if (command_of(typed) != nullptr) return {};
    const std::string shown = io::printable(typed);
    if (typed == "-" || typed.find_first_of("./") != std::string::npos) {
        return fmt::format("\"{}\" is no command; to work out a file: coldtank budget {}", shown,
                           shown);
    }
    const std::vector<std::string> known = command_names();
    const std::string near = meant(typed, known);
    return fmt::format("unknown command \"{}\"{}", shown,
                       near.empty() ? "; known are " + io::joined(known, ", ") : near);
}

// What an option that stands before any command should do; none where it is the program's own.
std::string advice_for_first_option(std::span<const std::string> words) {
    const std::vector<std::string> known = {"-h", "--help", "-V", "--version"};
    const std::string& typed = words[0];
    if (std::find(known.begin(), known.end(), typed) != known.end()) return {};
    const std::string shown = io::printable(typed);
    const std::string near = typed.starts_with("--") ? meant(typed, known) : "";
    if (!near.empty()) return fmt::format("unknown option \"{}\"{}", shown, near);
    for (const std::string& word : words.subspan(1)) {
        if (command_of(word) == nullptr) continue;
        return fmt::format("options stand behind the command: coldtank {} {}", word, shown);
    }
    return fmt::format("unknown option \"{}\"; a command stands first: {}", shown,
                       io::joined(command_names(), ", "));
}

// What a mistyped option was meant to be; none where all are known.
std::string advice_for_option(const CLI::App& app) {
    for (const CLI::App* command : app.get_subcommands()) {
        std::vector<std::string> known;
        for (const CLI::Option* option : command->get_options()) {
            for (const std::string& name : option->get_lnames()) known.push_back("--" + name);
        }
        for (const std::string& extra : command->remaining()) {
            if (extra.empty() || extra[0] != '-') continue;
            const std::string near = meant(extra.substr(0, extra.find('=')), known);
            return fmt::format(
                "unknown option \"{}\"{}", io::printable(extra),
                near.empty() ? "; see coldtank " + command->get_name() + " --help" : near);
        }
    }
    return {};
}

// ---- from the table to the parser

std::vector<std::string> words_of(std::string_view list) {
    const std::vector<std::string_view> words = io::choices_of(list);
    return {words.begin(), words.end()};
}

// A name that looks like an option is one, and the name is missing.
std::string wrong_own_file(const std::string& text) {
    if (text == "-") return "is a file of its own, never standard output";
    return text.starts_with('-') ? fmt::format("must be a file, got \"{}\"", io::shortened(text))
                                 : wrong_if_empty(text);
}

// What is wrong with a number; it becomes one in the unit of its option.
std::string take_number(std::string& text, const Option& option) {
    const Range& range = option.range;
    const auto value = number_in(option.unit, text);
    if (value && *value >= range.low && *value <= range.high) {
        text = io::exact(*value);
        return {};
    }
    const std::string unit =
        option.unit.empty()
            ? ""
            : fmt::format(" {} (it may end with {})", option.unit, endings_of(option.unit));
    const auto comma = io::comma_number(text);
    return fmt::format("must be a number from {} to {}{}, got \"{}\"{}", range.low, range.high,
                       unit, io::printable(text), comma ? "; write " + io::exact(*comma) : "");
}

std::string take_numbers(std::string& text, const Option& option) {
    const auto ending = [](const std::string& number) {
        return io::lower_case(number.substr(number.find_last_of("0123456789.") + 1));
    };
    const std::string last = ending(text);
    std::vector<std::string> numbers;
    for (std::size_t at = 0; at <= text.size();) {
        const std::size_t comma = std::min(text.find(',', at), text.size());
        std::string& number = numbers.emplace_back(text.substr(at, comma - at));
        if (ending(number) != last) {
            return fmt::format("all in one unit: write it behind each number, got \"{}\"",
                               io::printable(text));
        }
        std::string wrong = take_number(number, option);
        if (!wrong.empty()) return wrong;
        at = comma + 1;
    }
    text = io::joined(numbers, ",");
    return {};
}

// One of the choices, in capitals or not; what is typed becomes that one.
CLI::Validator choice_of(std::string_view choices) {
    return {[known = words_of(choices)](std::string& text) -> std::string {
                const std::string lower = CLI::detail::to_lower(text);
                if (std::find(known.begin(), known.end(), lower) != known.end()) {
                    text = lower;
                    return {};
                }
                return fmt::format("\"{}\" is none of {}{}", io::shortened(text),
                                   io::joined(known, ", "), meant(text, known));
            },
            "", "choice"};
}

CLI::Validator validator_of(const Option& option) {
    const bool operand = !option.name.starts_with('-');
    return {[option, operand](std::string& text) -> std::string {
                switch (option.kind) {
                    case Option::Kind::number:
                        return take_number(text, option);
                    case Option::Kind::numbers:
                        return take_numbers(text, option);
                    default:
                        if (option.check != nullptr) return option.check(text);
                        if (option.names == Option::Names::output) return wrong_own_file(text);
                        return operand ? std::string{} : wrong_if_empty(text);
                }
            },
            "", "text"};
}

// What the parser puts an option's values into.
struct Typed {
    std::string text;
    std::vector<std::string> texts;
    bool given = false;
};

void add_option(CLI::App& app, const Option& option, Typed& typed) {
    const std::string name = option.letter == 0 ? std::string(option.name)
                                                : fmt::format("-{},{}", option.letter, option.name);
    const std::string help(option.help);
    CLI::Option* added = nullptr;
    if (option.kind == Option::Kind::flag) {
        added = app.add_flag(name, typed.given, help);
    } else {
        added = option.repeats ? app.add_option(name, typed.texts, help)
                               : app.add_option(name, typed.text, help);
        added->type_name(std::string(option.value));
        if (option.kind == Option::Kind::choice) {
            added->transform(choice_of(option.choices));
        } else {
            added->transform(validator_of(option));
        }
        if (option.repeats && option.name.starts_with('-')) added->allow_extra_args(false);
        if (option.required) added->required();
    }
    if (!option.needs.empty()) added->needs(app.get_option(std::string(option.needs)));
}

// One command of the table; what was typed for it is run when it was parsed.
void add_command(CLI::App& app, const Command& command, int& status) {
    CLI::App* added = app.add_subcommand(std::string(command.name), std::string(command.purpose));
    added->footer(std::string(command.examples));
    const auto typed = std::make_shared<std::vector<Typed>>(command.options.size());
    for (std::size_t i = 0; i < command.options.size(); ++i) {
        add_option(*added, command.options[i], (*typed)[i]);
    }
    for (const Option& option : command.options) {
        for (const std::string& other : words_of(option.excludes)) {
            added->get_option(std::string(option.name))->excludes(added->get_option(other));
        }
    }
    added->callback([added, &command, typed, &status] {
        Arguments arguments;
        for (std::size_t i = 0; i < command.options.size(); ++i) {
            const Option& option = command.options[i];
            Typed& values = (*typed)[i];
            if (option.kind == Option::Kind::flag) {
                if (values.given) arguments.put(option.name, {"given"});
            } else if (added->get_option(std::string(option.name))->count() > 0) {
                arguments.put(option.name, option.repeats
                                               ? std::move(values.texts)
                                               : std::vector<std::string>{std::move(values.text)});
            } else if (option.kind == Option::Kind::choice) {
                arguments.put(option.name, {words_of(option.choices).front()});
            }
        }
        if (const std::string wrong = wrong_files(command, arguments); !wrong.empty()) {
            say("coldtank: {}\n", wrong);
            status = kUsage;
            return;
        }
        status = command.run(arguments);
    });
}

}  // namespace

int run_program(std::vector<std::string> words) {
    CLI::App app{
        "Will oxygen, ammonia, carbon dioxide and space do for the trout and char in your tanks?",
        "coldtank"};
    app.set_version_flag("-V,--version", fmt::format("coldtank {}", kVersion));
    app.formatter(std::make_shared<HelpFormatter>());
    app.footer(
        "  coldtank starter > farm.json    # a description to put your numbers in\n"
        "  coldtank budget farm.json       # will oxygen, ammonia, CO2 and space do?\n"
        "  coldtank help budget            # every option of a command");
    app.require_subcommand(1);
    int status = kPass;
    // "help budget" asks for what "budget --help" prints.
    while (!words.empty() && words[0] == "help") {
        words.erase(words.begin());
        words.emplace_back("--help");
    }
    // Only what is called is set up; of the others the help has the names.
    const Command* const called = words.empty() ? nullptr : command_of(words[0]);
    for (const Command* command : commands()) {
        if (called == nullptr || command == called) add_command(app, *command, status);
    }
    if (words.empty()) {
        write_results(Arguments(), app.help());
        return kUsage;
    }
    const std::string advice = words[0].size() > 1 && words[0][0] == '-'
                                   ? advice_for_first_option(words)
                                   : advice_for_command(words[0]);
    if (!advice.empty()) {
        say("coldtank: {}\n", advice);
        return kUsage;
    }
    // An option of nothing would take what comes next.
    for (const std::string& word : words) {
        if (word.starts_with("--") && word.ends_with("=")) {
            say("coldtank: {} is empty: a variable that is not set?\n", io::printable(word));
            return kUsage;
        }
    }
    try {
        std::reverse(words.begin(), words.end());
        app.parse(words);
    } catch (const CLI::ParseError& error) {
        if (error.get_exit_code() == 0) {
            std::ostringstream help;
            app.exit(error, help, help);
            return write_results(Arguments(), help.str());
        }
        const std::string unknown = advice_for_option(app);
        say("coldtank: {}\n", unknown.empty() ? io::printable(error.what()) : unknown);
        return kUsage;
    }
    return status;
}

}  // namespace coldtank::cli
