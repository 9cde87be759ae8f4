// Writes what follows from the tables of commands: the manual page, and completions for shells.
//     coldtank_manual MANUAL_PAGE.in FORMAT_PAGE.in DIRECTORY
#include <fmt/core.h>

#include <cstdio>
#include <fstream>
#include <sstream>

#include "cli/commands.hpp"
#include "coldtank/description.hpp"
#include "embedded.hpp"
#include "read/keys.hpp"
#include "text/text.hpp"

namespace coldtank::cli {
namespace {

bool is_operand(const Option& option) { return !option.name.starts_with('-'); }
bool takes_file(const Option& option) {
    return option.kind == Option::Kind::text &&
           (option.value.starts_with("FILE") || option.value.starts_with("LOG"));
}
std::string spaced(std::string_view choices) {
    std::string out(choices);
    for (char& c : out) c = c == '|' ? ' ' : c;
    return out;
}
std::string lower_case(std::string_view text) {
    std::string out(text);
    for (char& c : out) c = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    return out;
}
// What a text is up to its first stop: one line of a menu.
std::string first_part(std::string_view text) {
    return std::string(text.substr(0, text.find_first_of(":;,(")));
}

// ---- the manual page, in mdoc

// Lines of text: none starts with what mdoc would take for a request.
std::string mdoc_text(std::string_view text) {
    std::string out = io::wrapped("", std::string(text), 0);
    if (out.starts_with('.') || out.starts_with('\'')) out.insert(0, "\\&");
    for (std::size_t at = 0; (at = out.find('\n', at)) + 1 < out.size(); ++at) {
        if (out[at + 1] == '.' || out[at + 1] == '\'') out.insert(at + 1, "\\&");
    }
    return out;
}

// "Fl -format Ar word", "Fl q , -quiet"
std::string mdoc_option(const Option& option) {
    const std::string value = lower_case(option.value);
    if (is_operand(option)) return "Ar " + value;
    const std::string letter = option.letter == 0 ? "" : fmt::format("{} , ", option.letter);
    const std::string flag = fmt::format("Fl {}{}", letter, option.name.substr(1));
    return option.kind == Option::Kind::flag ? flag : fmt::format("{} Ar {}", flag, value);
}

std::string mdoc_synopsis() {
    std::string out;
    for (const Command* command : commands()) {
        out += fmt::format(".Nm\n.Cm {}\n", command->name);
        const Option* operand = nullptr;
        for (const Option& option : command->options) {
            if (is_operand(option)) {
                operand = &option;
            } else {
                out += fmt::format(".Op {}\n", mdoc_option(option));
            }
        }
        if (operand == nullptr) continue;
        out += fmt::format(".{}{}{}\n", operand->required ? "" : "Op ", mdoc_option(*operand),
                           operand->repeats ? " ..." : "");
    }
    return out;
}

std::string mdoc_commands() {
    std::string out;
    for (const Command* command : commands()) {
        out += fmt::format(".Ss {}\n{}", command->name, mdoc_text(command->purpose));
        bool any = false;
        for (const Option& option : command->options) {
            if (is_operand(option)) continue;
            if (!any) out += ".Bl -tag -width \"--require-all\"\n";
            any = true;
            out += fmt::format(".It {}\n{}", mdoc_option(option), mdoc_text(option.help));
        }
        if (any) out += ".El\n";
    }
    return out;
}

// "0 to 40", "more than 0", of a key's base unit.
std::string mdoc_range(const io::Key& key) {
    if (key.low == key.high) return io::exact(key.low);
    const std::string low = io::exact(key.low);
    if (key.high >= kMost) {
        return key.above_low ? fmt::format("more than {}", low) : fmt::format("{} or more", low);
    }
    return fmt::format("{}{} to {}", key.above_low ? "over " : "", low, io::exact(key.high));
}

std::string mdoc_key(io::Scope scope, const io::Key& key) {
    std::vector<std::string> facts;
    const bool number = key.kind == io::KeyKind::number || key.kind == io::KeyKind::whole;
    if (number) facts.push_back(mdoc_range(key));
    if (key.kind == io::KeyKind::whole && key.low != key.high) facts.emplace_back("whole");
    if (!key.choices.empty()) facts.push_back(io::joined(io::choices_of(key.choices), " or "));
    if (const auto usual = io::usual_of(scope, key)) {
        facts.push_back(fmt::format("{} where it is not given", io::exact(*usual)));
    }
    const std::vector<std::string> spelled = io::spellings(key);
    if (spelled.size() > 1) {
        facts.push_back(fmt::format(
            "or {}", io::joined(std::vector(spelled.begin() + 1, spelled.end()), ", ")));
    }
    return fmt::format(
        ".It Li {}{}\n{}", key.name, key.required ? " Pq required" : "",
        mdoc_text(facts.empty() ? std::string(key.about)
                                : fmt::format("{}: {}", key.about, io::joined(facts, "; "))));
}

std::string mdoc_keys() {
    using io::Scope;
    std::string out;
    for (const Scope scope :
         {Scope::description, Scope::site, Scope::tank, Scope::water, Scope::inflow,
          Scope::loop_flow, Scope::fish, Scope::feed, Scope::diffuser, Scope::rated, Scope::oxygen,
          Scope::cascade, Scope::loop, Scope::loop_water, Scope::makeup, Scope::biofilter,
          Scope::plants, Scope::limits, Scope::coefficients}) {
        out += fmt::format(".Ss {}\n.Bl -tag -width Ds\n", io::name_of(scope));
        for (const io::Key& key : io::keys_of(scope)) out += mdoc_key(scope, key);
        out += ".El\n";
    }
    return out;
}

std::string replaced(std::string text, std::string_view mark, const std::string& by) {
    const std::size_t at = text.find(mark);
    if (at == std::string::npos) throw std::runtime_error(fmt::format("{} is missing", mark));
    return text.replace(at, mark.size(), by);
}

// ---- completions

std::string bash_completion() {
    std::string names;
    std::string values;
    std::string options;
    std::string files;
    for (const Command* command : commands()) {
        names += fmt::format("{} ", command->name);
        std::string known;
        for (const Option& option : command->options) {
            const std::string word = fmt::format("{},{}", command->name, option.name);
            if (is_operand(option)) {
                if (takes_file(option))
                    files += fmt::format("        {},*) _coldtank_files ;;\n", command->name);
                continue;
            }
            known += fmt::format("{} ", option.name);
            if (option.kind == Option::Kind::choice) {
                values += fmt::format("        {}) _coldtank_words \"{}\"; return ;;\n", word,
                                      spaced(option.choices));
            } else if (takes_file(option)) {
                values += fmt::format("        {}) _coldtank_files; return ;;\n", word);
            } else if (option.kind != Option::Kind::flag) {
                values += fmt::format("        {}) return ;;\n", word);
            }
        }
        options +=
            fmt::format("        {},-*) _coldtank_words \"{}--help\" ;;\n", command->name, known);
    }
    return fmt::format(
        "# bash completion for coldtank\n"
        "_coldtank() {{\n"
        "    local current=${{COMP_WORDS[COMP_CWORD]}} previous=${{COMP_WORDS[COMP_CWORD - 1]}}\n"
        "    local command=${{COMP_WORDS[1]}}\n"
        "    _coldtank_words() {{ COMPREPLY=($(compgen -W \"$1\" -- \"$current\")); }}\n"
        "    _coldtank_files() {{ local IFS=$'\\n'; COMPREPLY=($(compgen -f -- \"$current\")); }}\n"
        "    COMPREPLY=()\n"
        "    if [ \"$COMP_CWORD\" = 1 ]; then\n"
        "        _coldtank_words \"{}--help --version\"\n"
        "        return\n"
        "    fi\n"
        "    case $command,$previous in\n{}"
        "    esac\n"
        "    case $command,$current in\n{}{}"
        "    esac\n"
        "}}\n"
        "complete -o filenames -F _coldtank coldtank\n",
        names, values, options, files);
}

std::string zsh_completion() {
    const auto quoted = [](std::string_view text) {
        std::string out;
        for (const char c : text) {
            if (c == '\'' || c == '[' || c == ']' || c == ':') continue;
            out += c;
        }
        return out;
    };
    std::string menu;
    std::string cases;
    for (const Command* command : commands()) {
        menu +=
            fmt::format("        '{}:{}'\n", command->name, quoted(first_part(command->purpose)));
        cases += fmt::format("        {})\n            _arguments", command->name);
        for (const Option& option : command->options) {
            const std::string value = lower_case(option.value);
            std::string action;
            if (option.kind == Option::Kind::choice) {
                action = fmt::format(":{}:({})", value, spaced(option.choices));
            } else if (option.kind != Option::Kind::flag) {
                action = fmt::format(":{}:{}", value, takes_file(option) ? "_files" : "");
            }
            cases +=
                is_operand(option)
                    ? fmt::format(" \\\n                '{}{}'", option.repeats ? "*" : "", action)
                    : fmt::format(" \\\n                '{}{}[{}]{}'", option.repeats ? "*" : "",
                                  option.name, quoted(first_part(option.help)), action);
        }
        cases += " \\\n                '--help[help]' ;;\n";
    }
    return fmt::format(
        "#compdef coldtank\n"
        "# zsh completion for coldtank\n"
        "_coldtank() {{\n"
        "    local -a commands\n"
        "    commands=(\n{}    )\n"
        "    if (( CURRENT == 2 )); then\n"
        "        _describe command commands\n"
        "        return\n"
        "    fi\n"
        "    case $words[2] in\n{}"
        "    esac\n"
        "}}\n"
        "_coldtank \"$@\"\n",
        menu, cases);
}

std::string fish_completion() {
    const auto quoted = [](std::string_view text) {
        std::string out;
        for (const char c : text) out += c == '\'' ? std::string("\\'") : std::string(1, c);
        return out;
    };
    std::string out = "# fish completion for coldtank\n";
    for (const Command* command : commands()) {
        out += fmt::format("complete -c coldtank -f -n __fish_use_subcommand -a {} -d '{}'\n",
                           command->name, quoted(first_part(command->purpose)));
    }
    out += "complete -c coldtank -l help -d 'help'\n";
    for (const Command* command : commands()) {
        const std::string here =
            fmt::format("complete -c coldtank -n '__fish_seen_subcommand_from {}'", command->name);
        for (const Option& option : command->options) {
            if (is_operand(option)) {
                if (takes_file(option)) out += here + " -F\n";
                continue;
            }
            const std::string_view takes = option.kind == Option::Kind::flag ? "-f"
                                           : takes_file(option)              ? "-r"
                                                                             : "-x";
            out += fmt::format("{} {} -l {} -d '{}'", here, takes, option.name.substr(2),
                               quoted(first_part(option.help)));
            if (option.kind == Option::Kind::choice) {
                out += fmt::format(" -a '{}'", spaced(option.choices));
            }
            out += '\n';
        }
    }
    return out;
}

std::string whole_file(const std::string& path) {
    std::ifstream file(path);
    std::ostringstream text;
    text << file.rdbuf();
    if (!file) throw std::runtime_error("cannot read " + path);
    return text.str();
}

void write(const std::string& path, const std::string& text) {
    std::ofstream file(path);
    file << text;
    if (!file.flush()) throw std::runtime_error("cannot write " + path);
}

}  // namespace
}  // namespace coldtank::cli

int main(int argc, char** argv) {
    using namespace coldtank::cli;
    if (argc != 4) return kUsage;
    try {
        const std::string directory = argv[3];
        write(directory + "/coldtank.1",
              replaced(replaced(whole_file(argv[1]), "@SYNOPSIS@\n", mdoc_synopsis()),
                       "@COMMANDS@\n", mdoc_commands()));
        write(directory + "/coldtank-description.5",
              replaced(replaced(whole_file(argv[2]), "@KEYS@\n", mdoc_keys()), "@EXAMPLE@\n",
                       coldtank::embedded::starter_tank_json));
        write(directory + "/coldtank.bash", bash_completion());
        write(directory + "/_coldtank", zsh_completion());
        write(directory + "/coldtank.fish", fish_completion());
    } catch (const std::exception& error) {
        std::fprintf(stderr, "coldtank_manual: %s\n", error.what());
        return kInternal;
    }
    return kPass;
}
