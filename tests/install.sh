# Installed like a Unix program: files, man page, completions, an outside consumer, a Debian package.
#     sh tests/install.sh BUILD_DIRECTORY SOURCE_DIRECTORY
set -eu
build=$1
source=$2
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
say() { echo "install: $*"; exit 1; }

# Four processors do not help a board of 1 GB (730 MB of it free): it is built one file at a time.
jobs() { # PROCESSORS FREE_KB WANTED
    printf 'MemTotal: 9 kB\nMemAvailable:   %s kB\n' "$2" >"$work/meminfo"
    got=$(sh "$source/examples/jobs.sh" "$1" "$work/meminfo")
    [ "$got" = "$3" ] || say "$1 processors and $2 kB: $got compilers, not $3"
}
jobs 4 730000 1
jobs 4 120000 1
jobs 4 1900000 3
jobs 2 8000000 2
[ "$(sh "$source/examples/jobs.sh" 3 "$work/none")" = 3 ] || say "compilers without a meminfo"

cmake --install "$build" --prefix "$work/usr" >"$work/log"
manual=$work/coldtank.1
format=$work/coldtank-description.5
gzip -dc "$work/usr/share/man/man1/coldtank.1.gz" >"$manual"
gzip -dc "$work/usr/share/man/man5/coldtank-description.5.gz" >"$format"
bash=$work/usr/share/bash-completion/completions/coldtank
zsh=$work/usr/share/zsh/vendor-completions/_coldtank
fish=$work/usr/share/fish/vendor_completions.d/coldtank.fish
bin=$work/usr/bin/coldtank
env -i PATH=/nowhere "$bin" budget --date 2026-11-25T05:15+01:00 "$source/examples/spring.json" |
    cmp - "$source/examples/spring.pass.txt"
for file in "$manual" "$format" "$bash" "$zsh" "$fish"; do
    [ -s "$file" ] || say "$file is missing"
done
for file in share/coldtank/species.json share/coldtank/description.schema.json \
    share/doc/coldtank/copyright share/doc/coldtank/changelog.gz include/coldtank/budget.hpp; do
    [ -s "$work/usr/$file" ] || say "$file is missing"
done

# Hardened: position independent, what the loader fills in read-only from the start, stacks and copies guarded.
if command -v readelf >/dev/null 2>&1; then
    readelf -hldW --dyn-syms "$bin" >"$work/elf"
    for sign in 'Type:.*DYN' GNU_RELRO BIND_NOW 'GNU_STACK.* RW ' __stack_chk_fail '__[a-z]*printf_chk' __memcpy_chk; do
        grep -q "$sign" "$work/elf" || say "not hardened: no $sign"
    done
else
    echo "install: no readelf: skipped"
fi

# The man page knows every command and every option, its letter too.
commands=$("$bin" --help | sed -n '/^Subcommands/,$s/^  \([a-z]*\)  .*/\1/p')
[ "$(echo "$commands" | wc -w)" -ge 6 ] || say "commands: $commands"
for command in $commands; do
    grep -q "^\.Ss $command" "$manual" || say "man page: $command"
    "$bin" "$command" --help |
        sed -n 's/^  -\([a-z]\), -\(-[a-z0-9-]*\).*/\1 , \2/p; s/^  -\(-[a-z0-9-]*\).*/\1/p' >"$work/options"
    grep -q "^h , -help$" "$work/options" || say "options of $command"
    while read -r option; do
        grep -q "Fl $option\( \|$\)" "$manual" || say "man page: $command $option"
    done <"$work/options"
done
if command -v mandoc >/dev/null 2>&1; then mandoc -Tlint -Wwarning "$manual" "$format"; fi

# An outside project of the lines of the README finds the installed library, and gives the same
# answer as the example of the tree; so does one that takes the tree into its own: the library alone,
# with the C++ that it needs. The example is clean under every warning.
warnings="-Wall -Wextra -Wpedantic -Wconversion -Wshadow -Werror"
for way in installed within; do
    mkdir "$work/$way"
    { echo 'cmake_minimum_required(VERSION 3.25)'
      echo 'project(tonight CXX)'
      sed -n '/^<!-- consumer -->/,/^```$/p' "$source/README.md" | sed '1,2d;$d'; } \
        >"$work/$way/CMakeLists.txt"
    cp "$source/examples/library.cpp" "$work/$way"
    [ "$way" = installed ] || ln -s "$source" "$work/$way/coldtank"
    cmake -S "$work/$way" -B "$work/$way/build" -DCMAKE_PREFIX_PATH="$work/usr" \
        -DCMAKE_CXX_STANDARD=17 -DCMAKE_CXX_FLAGS="$warnings" >>"$work/log" 2>&1 ||
        { cat "$work/log"; say "$way: not configured"; }
    cmake --build "$work/$way/build" -j "$(sh "$source/examples/jobs.sh")" >>"$work/log" 2>&1 ||
        { cat "$work/log"; say "$way: not built"; }
    "$work/$way/build/tonight" | grep -q "^north round: lowest oxygen" || say "$way: the answer"
done
# Within another project it brings no target, test or package of its own.
cmake -S "$source/tests/consumer" -B "$work/consumer" -DCOLDTANK_SOURCE="$source" \
    >>"$work/log" 2>&1 || { cat "$work/log"; say "the tree within another"; }
if command -v pkg-config >/dev/null 2>&1; then
    found=$(find "$work/usr" -name coldtank.pc)
    # What it says is a list of words.
    # shellcheck disable=SC2046
    g++ -std=c++20 $warnings "$source/examples/library.cpp" -o "$work/tonight" \
        $(PKG_CONFIG_PATH=$(dirname "$found") pkg-config --cflags --libs coldtank)
    "$work/tonight" | grep -q "^north round: lowest oxygen" || say "the answer with pkg-config"
else
    echo "install: no pkg-config: skipped"
fi

# Every public header stands alone, whatever was included before it.
for header in "$work"/usr/include/coldtank/*.hpp; do
    echo "#include <coldtank/$(basename "$header")>" |
        g++ -std=c++20 -fsyntax-only -Wall -Wextra -Wpedantic -Wconversion -Wshadow \
            -Wdouble-promotion -Werror -I "$work/usr/include" -x c++ - 2>"$work/wrong" ||
        { cat "$work/wrong"; say "$header"; }
done
grep -q "\"$("$bin" --version | sed 's/coldtank //')\"" "$work/usr/include/coldtank/version.hpp" ||
    say "the version of the header"

# A Debian package that installs and runs: the program alone, with what it needs.
(cd "$work" && cpack -G DEB --config "$build/CPackConfig.cmake" -B "$work/deb") >>"$work/log" 2>&1 ||
    { cat "$work/log"; say "cpack"; }
sh "$source/tests/deb.sh" "$work"/deb/*.deb "$source"
echo "installed, consumed and packaged"
