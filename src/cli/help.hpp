// How --help reads: what a command is for, two worked examples, then its options, in 80 columns.
#pragma once

#include <CLI/CLI.hpp>
#include <string>
#include <vector>

#include "text/text.hpp"

namespace coldtank::cli {

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
        std::string name = "  " + (positional ? option->get_name(true) : option->get_name());
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

// A command with its examples, and the status its callback leaves behind.
inline CLI::App* add_command(CLI::App& app, const char* name, const char* purpose,
                             const char* examples) {
    CLI::App* command = app.add_subcommand(name, purpose);
    command->footer(examples);
    return command;
}

// An option that takes one of some words.
inline void add_choice(CLI::App* command, const char* name, std::string& into,
                       const std::vector<std::string>& words, const char* about) {
    command->add_option(name, into, about)->check(CLI::IsMember(words))->type_name("WORD");
}

}  // namespace coldtank::cli
