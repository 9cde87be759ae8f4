// Writes what follows from the tables of commands: the manual page, and completions for shells.
//     coldtank_manual MANUAL_PAGE.in FORMAT_PAGE.in DIRECTORY
#include <fmt/core.h>

#include <algorithm>
#include <cstdio>
#include <fstream>
#include <initializer_list>
#include <sstream>
#include <utility>

#include "cli/commands.hpp"
#include "coldtank/description.hpp"
#include "embedded.hpp"
#include "read/keys.hpp"
#include "text/text.hpp"

namespace coldtank::cli {
namespace {

bool is_operand(const Option& option) { return !option.name.starts_with('-'); }
std::string spaced(std::string_view choices) {
    std::string out(choices);
    for (char& c : out) c = c == '|' ? ' ' : c;
    return out;
}
// What a text is up to its first stop: one line of a menu.
std::string first_part(std::string_view text) {
    const std::string_view part = text.substr(0, text.find_first_of(":;"));
    return std::string(part.substr(0, part.ends_with('.') ? part.size() - 1 : part.size()));
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
    const std::string value = io::lower_case(option.value);
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
    for (const Scope scope : {Scope::description,  Scope::site,          Scope::tank,
                              Scope::water,        Scope::inflow,        Scope::loop_flow,
                              Scope::fish,         Scope::feed,          Scope::diffuser,
                              Scope::rated,        Scope::oxygen,        Scope::cascade,
                              Scope::trip,         Scope::water_change,  Scope::backup_diffuser,
                              Scope::backup_rated, Scope::backup_oxygen, Scope::loop,
                              Scope::loop_water,   Scope::makeup,        Scope::biofilter,
                              Scope::plants,       Scope::season,        Scope::thinning,
                              Scope::limits,       Scope::coefficients}) {
        out += fmt::format(".Ss {}\n.Bl -tag -width Ds\n", io::name_of(scope));
        for (const io::Key& key : io::keys_of(scope)) out += mdoc_key(scope, key);
        out += ".El\n";
    }
    return out;
}

// ---- what is written at its marks

std::string filled(std::string text,
                   std::initializer_list<std::pair<std::string_view, std::string>> marks) {
    for (const auto& [mark, by] : marks) {
        std::size_t at = text.find(mark);
        if (at == std::string::npos) throw std::runtime_error(fmt::format("{} is missing", mark));
        for (; at != std::string::npos; at = text.find(mark, at + by.size())) {
            text.replace(at, mark.size(), by);
        }
    }
    return text;
}

// ---- completions

// The command that prints with --format names what tanks another one may be asked for.
std::string_view namer_of_tanks(const Command& command) {
    const auto prints_names = [](const Option& option) {
        return option.name == "--format" && option.choices.ends_with("|names");
    };
    return std::any_of(command.options.begin(), command.options.end(), prints_names) ? command.name
                                                                                     : kBudget.name;
}

// "budget capacity ... help"
std::string command_words() {
    std::string out;
    for (const Command* command : commands()) out += fmt::format("{} ", command->name);
    return out + "help";
}

// The function of a bash script that completes a value; none where nothing is known of it.
std::string bash_values(const Command& command, const Option& option) {
    switch (option.names) {
        case Option::Names::input:
        case Option::Names::output:
            return "_coldtank_files";
        case Option::Names::tank:
            return fmt::format("_coldtank_tanks {}", namer_of_tanks(command));
        case Option::Names::species:
            return "_coldtank_names species";
        case Option::Names::species_or_input:
            return "_coldtank_names species || _coldtank_files";
        case Option::Names::nothing:
            break;
    }
    return option.choices.empty() ? ""
                                  : fmt::format("_coldtank_words \"{}\"", spaced(option.choices));
}

std::string bash_completion() {
    std::string values;
    std::string others;
    for (const Command* command : commands()) {
        std::string known = "-h --help";
        std::string operands;
        for (const Option& option : command->options) {
            const std::string completed = bash_values(*command, option);
            if (is_operand(option)) {
                operands = fmt::format("            {},*) {} ;;\n", command->name, completed);
                continue;
            }
            std::string called = fmt::format("{},{}", command->name, option.name);
            if (option.letter != 0) {
                known += fmt::format(" -{}", option.letter);
                called += fmt::format(" | {},-{}", command->name, option.letter);
            }
            known += fmt::format(" {}", option.name);
            if (option.kind == Option::Kind::flag) continue;
            values +=
                fmt::format("        {}) {};;\n", called, completed.empty() ? "" : completed + ' ');
        }
        others += fmt::format("            {},-*) _coldtank_words \"{}\" ;;\n{}", command->name,
                              known, operands);
    }
    return filled(
        R"sh(# bash completion for coldtank

_coldtank_words() { mapfile -t COMPREPLY < <(compgen -W "$1" -- "$current"); }

# As file names bash quotes what has blanks.
_coldtank_files() {
    mapfile -t COMPREPLY < <(compgen -f -- "$current")
    compopt -o filenames
}

# What a command prints as names: of species, or of the tanks in files.
_coldtank_names() {
    local name
    while IFS= read -r name; do
        if [[ $name == "$current"* ]]; then COMPREPLY+=("$name"); fi
    done < <("$program" "$1" --format names "${@:2}" 2>/dev/null)
    compopt -o filenames
    [ ${#COMPREPLY[@]} != 0 ]
}
_coldtank_tanks() { if [ ${#files[@]} != 0 ]; then _coldtank_names "$1" "${files[@]}"; fi; }

_coldtank() {
    local program=${1/#\~\//$HOME/} previous current prefix word i
    local -a typed=() files=()
    # What was typed, without quotes. --format=js is two words: bash itself may part them, and
    # replaces then what follows the "=".
    for ((i = 1; i < ${#COMP_WORDS[@]}; ++i)); do
        word=${COMP_WORDS[i]//[\\\"\']/}
        if [ -f "${word/#\~\//$HOME/}" ]; then files+=("${word/#\~\//$HOME/}"); fi
        if ((i > COMP_CWORD)); then continue; fi
        prefix=
        case $word in
            =) if ((i == COMP_CWORD)); then typed+=(''); fi ;;
            --*=*) prefix=${word%%=*}=; typed+=("${word%%=*}" "${word#*=}") ;;
            *) typed+=("$word") ;;
        esac
    done
    COMPREPLY=()
    current=${typed[-1]}
    if [ ${#typed[@]} = 1 ]; then
        case $current in
            -*) _coldtank_words "-h --help -V --version" ;;
            *) _coldtank_words "@COMMANDS@" ;;
        esac
        return
    fi
    previous=${typed[-2]}
    case ${typed[0]},$previous in
@VALUES@
        *) case ${typed[0]},$current in
@OTHERS@
            help,*) _coldtank_words "@COMMANDS@" ;;
        esac ;;
    esac
    COMPREPLY=("${COMPREPLY[@]/#/$prefix}")
}
complete -F _coldtank coldtank
)sh",
        {{"@VALUES@\n", values}, {"@OTHERS@\n", others}, {"@COMMANDS@", command_words()}});
}

// The same for zsh: what follows "[help]" of an option.
std::string zsh_values(const Command& command, const Option& option) {
    if (option.kind == Option::Kind::flag) return {};
    const std::string value = io::lower_case(option.value);
    const auto action = [&]() -> std::string {
        switch (option.names) {
            case Option::Names::input:
            case Option::Names::output:
                return "_files";
            case Option::Names::tank:
                return fmt::format(" _coldtank_tanks {}", namer_of_tanks(command));
            case Option::Names::species:
                return " _coldtank_names species";
            case Option::Names::species_or_input:
                return "{_coldtank_names species || _files}";
            case Option::Names::nothing:
                break;
        }
        return option.choices.empty() ? "" : fmt::format("({})", spaced(option.choices));
    };
    return fmt::format(":{}:{}", value, action());
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
        cases += fmt::format("        {}) _arguments -s $help", command->name);
        for (const Option& option : command->options) {
            cases += " \\\n            ";
            const std::string values = zsh_values(*command, option);
            if (is_operand(option)) {
                cases += fmt::format("'{}{}'", option.repeats ? "*" : "", values);
                continue;
            }
            const std::string rest = fmt::format("[{}]{}", quoted(first_part(option.help)), values);
            const std::string_view joint = option.kind == Option::Kind::flag ? "" : "=";
            if (option.letter == 0) {
                cases +=
                    fmt::format("'{}{}{}{}'", option.repeats ? "*" : "", option.name, joint, rest);
            } else {
                cases += fmt::format("'(-{0} {1})'{{-{0}{2},{1}{3}}}'{4}'", option.letter,
                                     option.name, joint.empty() ? "" : "+", joint, rest);
            }
        }
        cases += " ;;\n";
    }
    return filled(R"sh(#compdef coldtank
# zsh completion for coldtank

# What a command prints as names: of species, or of the tanks in files.
_coldtank_names() {
    local expl
    local -a names=(${(f)"$($program $1 --format names ${@[2,-1]} 2>/dev/null)"})
    _wanted names expl name compadd -a names
}
_coldtank_tanks() {
    local word
    local -a files=()
    for word in ${${(Q)words[2,-1]}/#\~\//$HOME/}; do
        if [[ -f $word ]] files+=($word)
    done
    (( $#files )) && _coldtank_names $1 $files
}

_coldtank() {
    local program=${${(Q)words[1]}/#\~\//$HOME/}
    local -a help=('(- *)'{-h,--help}'[how it is used]')
    local -a commands=(
@COMMANDS@
        'help:every option of a command'
    )
    if (( CURRENT == 2 )); then
        _arguments $help '(- *)'{-V,--version}'[the version]' \
            ':command:{_describe command commands}'
        return
    fi
    local command=$words[2]
    shift words
    (( CURRENT-- ))
    case $command in
@CASES@
        help) _arguments ':command:{_describe command commands}' ;;
    esac
}
_coldtank "$@"
)sh",
                  {{"@COMMANDS@\n", menu}, {"@CASES@\n", cases}});
}

std::string fish_completion() {
    const auto quoted = [](std::string_view text) {
        std::string out;
        for (const char c : text) out += c == '\'' ? std::string("\\'") : std::string(1, c);
        return out;
    };
    // What completes a value: -x takes nothing else, -r -F files too.
    const auto values_of = [](const Command& command, const Option& option) -> std::string {
        switch (option.names) {
            case Option::Names::input:
            case Option::Names::output:
                return "-r -F";
            case Option::Names::tank:
                return fmt::format("-x -a '(__coldtank_tanks {})'", namer_of_tanks(command));
            case Option::Names::species:
                return "-x -a '(__coldtank_names species)'";
            case Option::Names::species_or_input:
                return "-r -F -a '(__coldtank_names species)'";
            case Option::Names::nothing:
                break;
        }
        return option.choices.empty() ? "-x" : fmt::format("-x -a '{}'", spaced(option.choices));
    };
    std::string menu;
    std::string options;
    for (const Command* command : commands()) {
        menu += fmt::format("complete -c coldtank -n '__coldtank_runs \"\"' -a {} -d '{}'\n",
                            command->name, quoted(first_part(command->purpose)));
        for (const Option& option : command->options) {
            const std::string values =
                option.kind == Option::Kind::flag ? "" : values_of(*command, option);
            options += fmt::format("complete -c coldtank -n '__coldtank_runs {}'", command->name);
            if (is_operand(option)) {
                options += values.substr(2) + '\n';
                continue;
            }
            if (option.letter != 0) options += fmt::format(" -s {}", option.letter);
            options += fmt::format(" -l {} -d '{}' {}\n", option.name.substr(2),
                                   quoted(first_part(option.help)), values);
        }
    }
    return filled(R"sh(# fish completion for coldtank

# Whether this command is called; '': none yet.
function __coldtank_runs
    set -l words (commandline -opc)
    test "$words[2]" = "$argv[1]"
end

# What a command prints as names: of species, or of the tanks in files.
function __coldtank_names
    set -l words (commandline -opc | string replace -r '^~/' "$HOME/")
    $words[1] $argv[1] --format names $argv[2..] 2>/dev/null
end
function __coldtank_tanks
    set -l files
    for word in (commandline -op | string replace -r '^~/' "$HOME/")[2..]
        test -f $word; and set -a files $word
    end
    set -q files[1]; and __coldtank_names $argv[1] $files
end

complete -c coldtank -f
complete -c coldtank -s h -l help -d 'how it is used'
complete -c coldtank -n '__coldtank_runs ""' -s V -l version -d 'the version'
@COMMANDS@
complete -c coldtank -n '__coldtank_runs ""' -a help -d 'every option of a command'
complete -c coldtank -n '__coldtank_runs help' -a '@WORDS@'
@OPTIONS@
)sh",
                  {{"@COMMANDS@\n", menu}, {"@WORDS@", command_words()}, {"@OPTIONS@\n", options}});
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
              filled(whole_file(argv[1]),
                     {{"@SYNOPSIS@\n", mdoc_synopsis()}, {"@COMMANDS@\n", mdoc_commands()}}));
        write(
            directory + "/coldtank-description.5",
            filled(whole_file(argv[2]), {{"@KEYS@\n", mdoc_keys()},
                                         {"@EXAMPLE@\n", coldtank::embedded::starter_tank_json}}));
        write(directory + "/coldtank.bash", bash_completion());
        write(directory + "/_coldtank", zsh_completion());
        write(directory + "/coldtank.fish", fish_completion());
    } catch (const std::exception& error) {
        std::fprintf(stderr, "coldtank_manual: %s\n", error.what());
        return kInternal;
    }
    return kPass;
}
