# What takes too long for every run; some parts alone by their names:
#     sh tests/long.sh [sanitizers|threads|builds|coverage|tidy|fuzz|mutation]
# sanitizers: g++'s, of every test. threads: the thread sanitizer over --jobs. builds: the same text, CSV and JSON with
# -O0 and -O3, by clang, and on other machines under emulation. coverage: lines that the tests reach, by directory.
# tidy: clang-tidy, as .clang-tidy says. fuzz: five minutes of libFuzzer a target. mutation: 300 changes of one thing.
set -eu
cd "$(dirname "$0")/.."
sh examples/setup.sh g++ cmake make libcli11-dev nlohmann-json3-dev libfmt-dev doctest-dev python3 clang libclang-rt-dev
parts=${*:-sanitizers threads builds coverage tidy fuzz mutation}
jobs=$(sh examples/jobs.sh)

build() { # DIRECTORY OPTION...
    directory=$1
    shift
    mkdir -p build
    cmake -S . -B "$directory" "$@" >"$directory.log" 2>&1 &&
        cmake --build "$directory" -j "$jobs" >>"$directory.log" 2>&1 ||
        { tail -n 20 "$directory.log" >&2; exit 1; }
}

for part in $parts; do
    echo "coldtank: $part"
    case $part in
    sanitizers)
        build build/sanitize-gcc -DCOLDTANK_TESTS=ON -DCOLDTANK_SANITIZE=ON -DCMAKE_BUILD_TYPE=None \
            "-DCMAKE_CXX_FLAGS=-O1 -g1"
        ctest --test-dir build/sanitize-gcc --output-on-failure -j "$(nproc)" --label-exclude once
        ;;
    threads)
        build build/threads -DCOLDTANK_TESTS=OFF -DCMAKE_BUILD_TYPE=None "-DCMAKE_CXX_FLAGS=-O1 -g1 -fsanitize=thread" \
            -DCMAKE_EXE_LINKER_FLAGS=-fsanitize=thread -DCOLDTANK_LIBSTDCXX_INSIDE=OFF
        python3 -c 'import json, pathlib
for path in sorted(pathlib.Path("examples").glob("*.json")) * 8:
    print(json.dumps(json.loads(path.read_text())))' >build/threads/many.jsonl
        for command in budget "spread --draws 16"; do
            for jobs_asked in 1 4; do
                # $command is a list of words.
                # shellcheck disable=SC2086
                TSAN_OPTIONS=halt_on_error=1 build/threads/coldtank $command --jobs "$jobs_asked" --lines \
                    --format json --date 2026-11-25T05:15Z build/threads/many.jsonl \
                    >"build/threads/out$jobs_asked" || [ $? -le 2 ] || exit 1
            done
            cmp build/threads/out1 build/threads/out4
        done
        ;;
    builds)
        build build/long -DCOLDTANK_TESTS=OFF
        sh examples/setup.sh g++-aarch64-linux-gnu qemu-user || echo "coldtank: going on without arm64"
        python3 tests/machines.py build/long/coldtank .
        ;;
    coverage)
        build build/coverage -DCOLDTANK_TESTS=ON -DCMAKE_BUILD_TYPE=None "-DCMAKE_CXX_FLAGS=-O0 --coverage" \
            -DCMAKE_EXE_LINKER_FLAGS=--coverage
        # What kills the program, measures it or builds it again says nothing of lines.
        ctest --test-dir build/coverage --output-on-failure -j "$(nproc)" -E "bench|install|faults|valgrind|streams"
        python3 tests/coverage.py build/coverage .
        ;;
    tidy)
        sh examples/setup.sh clang-tidy
        cmake -S . -B build/tidy -DCMAKE_CXX_COMPILER=clang++ -DCOLDTANK_TESTS=OFF -DCMAKE_EXPORT_COMPILE_COMMANDS=ON \
            -DCMAKE_DISABLE_PRECOMPILE_HEADERS=ON >/dev/null
        find src -name '*.cpp' -print0 | xargs -0 -n 1 -P "$jobs" clang-tidy -p build/tidy --quiet
        ;;
    fuzz)
        build build/fuzz -DCMAKE_CXX_COMPILER=clang++ -DCOLDTANK_TESTS=ON -DCOLDTANK_SANITIZE=ON -DCOLDTANK_FUZZ=ON \
            -DCMAKE_BUILD_TYPE=None "-DCMAKE_CXX_FLAGS=-O1 -g1"
        cmake --build build/fuzz --target fuzz
        ;;
    mutation)
        python3 tests/mutate.py . 150 1 src/model
        python3 tests/mutate.py . 150 1 src/read src/report
        ;;
    *)
        echo "coldtank: $part is none of sanitizers, threads, builds, coverage, tidy, fuzz, mutation" >&2
        exit 64
        ;;
    esac
done
echo "coldtank: the long tests have passed"
