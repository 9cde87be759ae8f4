# The program as its users call it: exit statuses, streams, formats, odd surroundings.
#     sh tests/cli.sh PROGRAM SOURCE_DIRECTORY
set -u
program=$1
cd "$2"
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
when=2026-11-25T05:15:00+01:00  # of the examples
export SOURCE_DATE_EPOCH=1795580100  # the same: pages say when
failed=0
checked=0

# status_is WANT LABEL COMMAND...: runs it, output in $work/out and $work/err.
status_is() {
    want=$1
    label=$2
    shift 2
    "$@" >"$work/out" 2>"$work/err" </dev/null
    got=$?
    checked=$((checked + 1))
    if [ "$got" != "$want" ]; then
        failed=$((failed + 1))
        echo "FAILED: $label: exit $got, want $want"
        head -n 5 "$work/out" "$work/err"
    fi
}
# holds LABEL COMMAND...: the command succeeds.
holds() {
    label=$1
    shift
    checked=$((checked + 1))
    if ! "$@" >/dev/null 2>&1; then
        failed=$((failed + 1))
        echo "FAILED: $label"
    fi
}

# ---- every example, to the byte, with its exit status
for expected in examples/*.pass.txt examples/*.warn.txt examples/*.fail.txt; do
    name=${expected#examples/}
    verdict=${name%.txt}
    verdict=${verdict##*.}
    case $verdict in pass) want=0 ;; warn) want=1 ;; fail) want=2 ;; esac
    status_is "$want" "$name" "$program" budget --date "$when" "examples/${name%%.*}.json"
    holds "$name: its output" cmp "$work/out" "$expected"
    holds "$name: nothing on standard error" test ! -s "$work/err"
    holds "$name: at most 80 columns" test -z "$(awk 'length > 80' "$work/out")"
    holds "$name: ASCII" test -z "$(LC_ALL=C tr -d '\n -~' <"$work/out")"
done
for description in examples/*.json; do
    base=${description%.json}
    holds "$description has its expected output" ls "$base".*.txt
done

# ---- help, usage
status_is 0 "--help" "$program" --help
status_is 0 "--version" "$program" --version
holds "--version on standard output" grep -q '^coldtank [0-9]' "$work/out"
mv "$work/out" "$work/version"
status_is 0 "-V" "$program" -V
holds "-V is --version" cmp "$work/out" "$work/version"
"$program" --help >"$work/help"
for way in -h help "help help" "help --help"; do
    status_is 0 "$way" "$program" $way
    holds "$way: the help" cmp "$work/out" "$work/help"
done
commands=$(sed -n '/^Subcommands/,$s/^  \([a-z]*\)  .*/\1/p' "$work/help")
holds "the help has the commands" test "$(echo "$commands" | wc -w)" -ge 8
for command in $commands; do
    "$program" "$command" --help >"$work/help"
    for way in "$command -h" "help $command" "help $command --help"; do
        status_is 0 "$way" "$program" $way
        holds "$way: the help of the command" cmp "$work/out" "$work/help"
    done
done
"$program" budget --help | sed -n 's/^  \(-[a-z]\), \(--[a-z-]*\).*/\1 \2/p
    s/^  \(--[a-z-]*\) .*/\1/p' | tr ' ' '\n' >"$work/options"
holds "the options of budget" test "$(wc -l <"$work/options")" -ge 18
sed -n '/^### Options most used/,/^`-`/s/^| \(`-[^|]*\) |.*/\1/p' README.md | grep -o '`-[a-z-]*' | tr -d '`' >"$work/named"
holds "the README names options" test "$(wc -l <"$work/named")" -ge 12
while read -r option; do
    holds "$option of the README is one" grep -qx -e "$option" "$work/options"
done <"$work/named"
status_is 64 "help of no command" "$program" help bugdet
holds "the nearest command is named" grep -q "did you mean budget?" "$work/err"
status_is 64 "no operands" "$program"
status_is 64 "no file" "$program" budget
status_is 64 "unknown option" "$program" budget --colour examples/spring.json
status_is 64 "unknown command" "$program" bugdet examples/spring.json
holds "it is named, with the nearest" grep -q "bugdet.*did you mean budget?" "$work/err"
status_is 64 "a file without a command" "$program" examples/spring.json
holds "the command is named" grep -q "coldtank budget examples/spring.json" "$work/err"
status_is 64 "an option mistyped" "$program" budget --quite examples/spring.json
holds "the nearest option is named" grep -q "did you mean --quiet?" "$work/err"
status_is 64 "unknown format" "$program" budget --format yaml examples/spring.json
holds "the known ones are named" grep -q \
    '"yaml" is none of text, markdown, csv, json, jsonl, names$' "$work/err"
status_is 64 "a format mistyped" "$program" budget --format jsno examples/spring.json
holds "the nearest is named" grep -q 'did you mean json?$' "$work/err"
"$program" budget --format json examples/spring.json >"$work/json"
status_is 0 "a format in capitals" "$program" budget --format=JSON examples/spring.json
holds "is that format" cmp "$work/out" "$work/json"
status_is 64 "unknown tank" "$program" budget --tank "no such" examples/spring.json
status_is 0 "a tank in capitals" "$program" budget --tank "NORTH  ROUND" examples/spring.json
holds "is that tank" grep -q '^pass  north round' "$work/out"
status_is 64 "a tank mistyped" "$program" capacity --tank nroth\ round examples/spring.json
holds "the tank is named there too" grep -q 'did you mean "north round"?$' "$work/err"
"$program" budget --log "$work/log.csv" examples/spring.json >"$work/out"
status_is 64 "a tank of a logbook mistyped" "$program" trend --tank "north-round" "$work/log.csv"
holds "the one that is logged is named" grep -q 'did you mean "north round"?$' "$work/err"
status_is 64 "an option before its command" "$program" --units=us budget examples/spring.json
holds "is told where it stands" grep -q \
    'options stand behind the command: coldtank budget --units=us$' "$work/err"
status_is 64 "a letter before its command" "$program" -x budget examples/spring.json
holds "is told so too" grep -q 'stand behind the command: coldtank budget -x$' "$work/err"
status_is 64 "an option without a command" "$program" --quiet
holds "is told that a command is missing" grep -q 'a command stands first: budget, ' "$work/err"
status_is 64 "an option of the program mistyped" "$program" --verison
holds "the nearest of these is named" grep -q 'did you mean --version?$' "$work/err"
status_is 64 "standard input without a command" "$program" - <examples/spring.json
holds "the command is named for it" grep -q 'coldtank budget -$' "$work/err"
status_is 64 "an option mistyped, and no file" "$program" budget --quite
holds "the option is named first" grep -q "did you mean --quiet?" "$work/err"
status_is 0 "a tank by name" "$program" budget --tank "north round" examples/spring.json
sed 's/north round/south round/' examples/spring.json >"$work/south.json"
status_is 0 "a tank that one of two files has" "$program" budget --require-all \
    --tank "north round" examples/spring.json "$work/south.json"
status_is 1 "one tank of a loop" "$program" budget --tank "yard tank" examples/backyard.json
holds "brings its loop" grep -q '^[a-z]*  loop yard loop: ' "$work/out"
"$program" budget examples/greenhouse.json | grep -A 3 ' growers: ' >"$work/all.txt"
"$program" budget --tank growers examples/greenhouse.json | grep -A 3 ' growers: ' >"$work/one.txt"
holds "the tank is there" test -s "$work/one.txt"
holds "the others on its loop still count" cmp "$work/all.txt" "$work/one.txt"
status_is 0 "budget --help" "$program" budget --help

# ---- files
status_is 66 "a file that is not there" "$program" budget "$work/none.json"
status_is 66 "a directory" "$program" budget "$work"
status_is 66 "one of two is not there" "$program" budget "$work/none.json" examples/overstocked.json
holds "the other is reported all the same" grep -q 'garden round' "$work/out"
status_is 2 "the worst of three decides" "$program" budget examples/overstocked.json \
    examples/altitude.json examples/spring.json
"$program" budget --date "$when" - <examples/spring.json >"$work/stdin.txt"
holds "- is standard input" cmp "$work/stdin.txt" examples/spring.pass.txt

# ---- quiet, require-all
status_is 0 "quiet and well" "$program" budget --quiet examples/spring.json
holds "quiet and well prints nothing" test ! -s "$work/out"
status_is 1 "quiet and not well" "$program" budget --quiet examples/altitude.json
holds "quiet names what does not pass" grep -q '^warn  *exchange' "$work/out"
holds "quiet leaves out what passes" test -z "$(grep '^pass' "$work/out")"
mv "$work/out" "$work/quiet"
status_is 1 "-q" "$program" budget -q examples/altitude.json
holds "-q is --quiet" cmp "$work/out" "$work/quiet"
sed 's/"ph": 7.2,//' examples/spring.json >"$work/no_ph.json"
status_is 0 "unchecked is no failure" "$program" budget "$work/no_ph.json"
holds "unchecked names the reading" grep -q '^unchecked ammonia as NH3  needs water.ph' "$work/out"
status_is 1 "unless all are required" "$program" budget --require-all "$work/no_ph.json"

# ---- broken descriptions
sed 's/"volume_l": 2000/"volume_l": -2000/' examples/spring.json >"$work/broken.json"
status_is 65 "a broken description" "$program" budget "$work/broken.json" examples/altitude.json
holds "its error is placed" grep -q \
    "broken.json:4:42: /tanks/0/volume_l: must be more than 0, got -2000" "$work/err"
holds "the other file has its budget" grep -q 'hut tank' "$work/out"
status_is 65 "broken, as JSON" "$program" budget --format json "$work/broken.json"
holds "errors are in the JSON" grep -q '"pointer": "/tanks/0/volume_l"' "$work/out"
holds "and on standard error" test -s "$work/err"
status_is 65 "quiet about a broken one is not silent" "$program" budget --quiet "$work/broken.json"
holds "it says so" test -s "$work/out" -a -s "$work/err"
printf 'nothing' >"$work/text.json"
status_is 65 "no JSON" "$program" budget "$work/text.json"
for bad in tests/bad/*.json; do
    status_is 65 "$bad" "$program" budget "$bad"
    holds "$bad: its errors" cmp "$work/err" "${bad%.json}.txt"
done

# ---- many on one go
tr -d '\n' <examples/spring.json >"$work/three.jsonl"
printf '\r\n\n{"format":1}\n' >>"$work/three.jsonl"
tr -d '\n' <examples/overstocked.json >>"$work/three.jsonl"
status_is 65 "one description a line" "$program" budget --format jsonl "$work/three.jsonl"
holds "one report a line" test "$(wc -l <"$work/out")" = 3
holds "an error in its line" grep -q 'three.jsonl:3:1: site is missing' "$work/err"
cp "$work/three.jsonl" "$work/three.txt"
status_is 65 "--lines" "$program" budget --lines --format jsonl "$work/three.txt"
holds "--lines reads lines" test "$(wc -l <"$work/out")" = 3

# ---- names alone, for scripts and completions
sed 's/north round/Larch \\"1\\", up/' examples/spring.json >"$work/odd.json"
status_is 2 "names of tanks" "$program" budget --format names "$work/odd.json" \
    examples/greenhouse.json examples/overstocked.json
printf '%s\n' 'Larch "1", up' fingerlings growers finishers 'garden round' >"$work/names"
holds "one a line, as they are" cmp "$work/out" "$work/names"
while read -r tank; do
    "$program" budget --tank "$tank" "$work/odd.json" examples/greenhouse.json \
        examples/overstocked.json >"$work/out"
    holds "tank $tank by its name" grep -qF "$tank: " "$work/out"
done <"$work/names"
status_is 0 "names of what is logged" "$program" trend --format names "$work/log.csv"
holds "that tank" grep -qx "north round" "$work/out"
status_is 0 "names of species" "$program" species --format names
holds "five of them" test "$(wc -l <"$work/out")" = 5
while read -r name; do
    holds "species $name" "$program" species "$name"
done <"$work/out"

# ---- the tables
status_is 0 "saturation" "$program" saturation --altitude 0 --from 10 --to 20 --step 10
holds "10 degC: 11.29 mg/L (ISO 5814)" grep -q '^ *10 .* 11.29$' "$work/out"
holds "20 degC: 9.09 mg/L (ISO 5814)" grep -q '^ *20 .* 9.09$' "$work/out"
holds "says where" grep -q '^Oxygen in water, mg/L, at 0 m, 101.33 kPa$' "$work/out"
status_is 0 "saturation in degF" "$program" saturation --altitude-ft 0 --units us --from 10 --to 10
holds "10 degC is 50 degF" grep -q '^ *50 .* 11.29$' "$work/out"
status_is 0 "saturation as CSV" "$program" saturation --pressure 101.325 --format csv
holds "26 rows and a header" test "$(wc -l <"$work/out")" = 27
status_is 64 "saturation of no place" "$program" saturation
status_is 64 "two places" "$program" saturation --altitude 1 --pressure 100
for value in nan inf 1e400 0x10 '' 6000 '1 2'; do
    status_is 64 "altitude '$value'" "$program" saturation --altitude "$value"
done
status_is 0 "sources" "$program" sources
holds "each with its basis" grep -q 'oxygen_fail_mg_l: 5 mg/L .published: Piper' "$work/out"
status_is 0 "sources as CSV" "$program" sources --format csv
holds "more than a hundred" test "$(wc -l <"$work/out")" -gt 100
status_is 0 "species" "$program" species
status_is 0 "species as CSV" "$program" species --format csv
holds "brook trout as CSV" grep -q "^brook trout,Salvelinus fontinalis,14.5,16," "$work/out"
status_is 0 "one species" "$program" species "Salvelinus fontinalis"
status_is 64 "no such species" "$program" species brok
holds "the nearest is named" grep -q "did you mean brook?" "$work/err"

# ---- a species file
printf '%s' '{"format":1,"species":[{"name":"rainbow trout","warn_above_c":14},
    {"name":"tiger trout","like":"brook","other_names":["tiger"],"density_warn_kg_m3":20}]}' \
    >"$work/species.json"
status_is 1 "a stricter limit" "$program" budget --species "$work/species.json" examples/spring.json
holds "is applied" grep -q '^warn  *temperature .* warn <2 >14' "$work/out"
sed 's/rainbow trout/Tiger/' examples/spring.json >"$work/tiger.json"
status_is 0 "a new species" "$program" budget --species "$work/species.json" "$work/tiger.json"
holds "has its own limit" grep -q 'density .* warn >20' "$work/out"
status_is 65 "unknown without the file" "$program" budget "$work/tiger.json"
printf '{"format":1,"species":[{"name":"rainbow trout","warn_above_c":21}]}' >"$work/species.json"
status_is 65 "limits out of order" "$program" budget --species "$work/species.json" \
    examples/spring.json
holds "placed" grep -q 'species.json:1:63: /species/0/warn_above_c: .*feeding_stop_c' "$work/err"
"$program" species --format json >"$work/own.json"
"$program" species --species "$work/own.json" --format json >"$work/again.json"
holds "its own shape is read back" cmp "$work/own.json" "$work/again.json"
status_is 66 "no species file" "$program" budget --species "$work/none" examples/spring.json

# ---- results in a file
"$program" budget --quiet --log "$work/book.csv" examples/spring.json
# in_file WANT COMMAND...: its results in a file, over an older one, are those on standard output.
in_file() {
    want=$1
    shift
    "$program" "$@" >"$work/direct" 2>/dev/null </dev/null
    echo stale >"$work/page"
    status_is "$want" "$* -o" "$program" "$@" -o "$work/page"
    holds "$* -o: nothing on standard output" test ! -s "$work/out"
    holds "$* -o: the same bytes" cmp "$work/page" "$work/direct"
}
for format in text markdown csv json jsonl names; do
    in_file 2 budget --format "$format" --date 2026-11-25 examples/overstocked.json \
        examples/spring.json
    in_file 2 budget --format "$format" --quiet --date 2026-11-25 examples/overstocked.json
done
in_file 65 budget --format jsonl "$work/three.jsonl"
in_file 66 budget examples/spring.json "$work/none.json"
in_file 0 budget --tank "north round" examples/spring.json
in_file 0 budget --explain --log "$work/book.csv" examples/spring.json
in_file 0 capacity examples/raceway.json
in_file 1 capacity --for 1500 --format csv examples/raceway.json
in_file 0 trend "$work/book.csv"
in_file 0 saturation --altitude 640
in_file 0 species
in_file 0 species "brook trout"
in_file 0 sources --format csv
in_file 0 schema --report
in_file 0 starter --loop
for more in "" "--format jsonl" "--require-all" "--log $work/book.csv"; do
    in_file 0 budget --quiet $more examples/spring.json
    holds "quiet $more and well: an empty page" test -f "$work/page" -a ! -s "$work/page"
done
status_is 0 "--output" "$program" budget --date "$when" --output="$work/new" examples/spring.json
holds "a new page" cmp "$work/new" examples/spring.pass.txt
# A run that has no results leaves what was there.
echo kept >"$work/page"
status_is 64 "no such tank, -o" "$program" budget --tank none -o "$work/page" examples/spring.json
holds "the page is kept" grep -qx kept "$work/page"
status_is 64 "an unknown option, -o" "$program" budget -o "$work/page" --quite examples/spring.json
holds "the page is kept then" grep -qx kept "$work/page"
for file in - --quiet ""; do
    status_is 64 "-o '$file'" "$program" budget -o "$file" examples/spring.json
    holds "-o '$file' makes no file" test ! -e "$file"
done
# Nor does it replace what it reads, or writes besides, by any name.
cp examples/spring.json "$work/farm.json"
ln -s farm.json "$work/link.json"
cp examples/spring.readings.csv "$work/own.csv"
refused() { # OPTION COMMAND...
    named=$1
    shift
    status_is 64 "$*" "$program" "$@"
    holds "$*: it says so" grep -q "^coldtank: --[a-z]* and $named name one file: " "$work/err"
}
refused FILE budget -o "$work/farm.json" examples/spring.json "$work/farm.json"
refused FILE budget -o "$work/../${work##*/}/farm.json" "$work/farm.json"
refused FILE budget -o "$work/link.json" "$work/farm.json"
refused FILE budget -o "$work/farm.json" "$work/link.json"
refused FILE capacity -o "$work/farm.json" "$work/farm.json"
refused --readings budget -o "$work/own.csv" --readings "$work/own.csv" examples/spring.json
refused --readings budget --log "$work/own.csv" --readings "$work/own.csv" examples/spring.json
refused --output budget -o "$work/fresh.csv" --log "$work/fresh.csv" examples/spring.json
refused --species species -o "$work/own.json" --species "$work/own.json"
refused --species capacity -o "$work/own.json" --species "$work/own.json" examples/raceway.json
refused LOG trend -o "$work/book.csv" "$work/book.csv"
refused --output trend -o "$work/chart.svg" --chart "$work/chart.svg" "$work/book.csv"
holds "nothing was made" test ! -e "$work/fresh.csv" -a ! -e "$work/chart.svg"
checked=$((checked + 1))
"$program" budget -o "$work/farm.json" - <"$work/farm.json" 2>"$work/err"
[ $? = 64 ] || { failed=$((failed + 1)); echo "FAILED: -o over standard input"; }
holds "the description is whole" cmp "$work/farm.json" examples/spring.json
holds "the readings are whole" cmp "$work/own.csv" examples/spring.readings.csv
# Where it cannot be written.
status_is 74 "-o in no directory" "$program" budget -o "$work/none/page" examples/spring.json
holds "it is said" grep -q '/none/page: no results were written: No such file' "$work/err"
mkfifo "$work/fifo"
status_is 74 "-o to a FIFO" "$program" budget -o "$work/fifo" examples/spring.json
holds "it is still one" test -p "$work/fifo"
holds "and it is said" grep -q 'fifo: no results were written: no regular file' "$work/err"
status_is 74 "-o to a directory" "$program" budget -o "$work" examples/spring.json
# A standard error that is closed: no diagnostic gets into the page.
checked=$((checked + 1))
"$program" budget --format jsonl -o "$work/page" "$work/three.jsonl" 2>&-
[ $? = 65 ] || { failed=$((failed + 1)); echo "FAILED: closed standard error"; }
"$program" budget --format jsonl "$work/three.jsonl" >"$work/direct" 2>/dev/null
holds "closed standard error: the same page" cmp "$work/page" "$work/direct"

# ---- surroundings
status_is 0 "an empty environment" env -i PATH=/nowhere "$program" budget \
    --date "$when" examples/spring.json
holds "the same bytes" cmp "$work/out" examples/spring.pass.txt
status_is 0 "a C locale" env LC_ALL=C TERM=dumb "$program" budget examples/spring.json
if [ -w /dev/full ]; then
    checked=$((checked + 1))
    "$program" budget examples/spring.json >/dev/full 2>"$work/err"
    [ $? = 74 ] && [ -s "$work/err" ] || { failed=$((failed + 1)); echo "FAILED: full disk"; }
fi
checked=$((checked + 1))
"$program" budget --help >&- 2>/dev/null
[ $? = 74 ] || { failed=$((failed + 1)); echo "FAILED: help to a closed standard output"; }
checked=$((checked + 1))
"$program" budget examples/spring.json >&- 2>"$work/err"
[ $? = 74 ] || { failed=$((failed + 1)); echo "FAILED: closed standard output"; }
printf '%s' '{"format":1,"site":{"name":"e\u001b[31mvil\u202e","altitude_m":0},"tanks":[{"name":"L\u00e4rche","volume_l":10,"water":{"temperature_c":5},"fish":[]}]}' \
    >"$work/evil.json"
status_is 0 "names with controls" "$program" budget "$work/evil.json"
holds "controls are shown, not obeyed" grep -qF 'e\u001b[31mvil\u202e' "$work/out"
status_is 0 "names with controls, JSON" "$program" budget --format json "$work/evil.json"
holds "none in JSON either" test -z "$(LC_ALL=C tr -d '\n -~\303\244' <"$work/out")"

echo "$checked checks, $failed failed"
[ "$failed" = 0 ] && [ "$checked" -gt 60 ]
