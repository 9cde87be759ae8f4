# What takes too long for every run; each part alone by its name:
#     sh tests/long.sh [clang|threads|levels|coverage]
# clang: a second compiler, its sanitizers, and 60 s of libFuzzer a target. threads: the thread sanitizer over
# --jobs. levels: the same text and CSV of all examples with -O0, -O2, -O3 and with both compilers. coverage:
# lines that the tests reach, by directory.
set -eu
cd "$(dirname "$0")/.."
sh examples/setup.sh g++ cmake make libcli11-dev nlohmann-json3-dev libfmt-dev doctest-dev python3 clang
parts=${*:-clang threads levels coverage}

build() { # DIRECTORY OPTION...
    directory=$1
    shift
    cmake -S . -B "$directory" "$@" >"$directory.log" 2>&1 &&
        cmake --build "$directory" -j "$(sh examples/jobs.sh)" >>"$directory.log" 2>&1 ||
        { tail -n 20 "$directory.log" >&2; exit 1; }
}

for part in $parts; do
    mkdir -p build
    case $part in
    clang)
        echo "coldtank: clang, its sanitizers and libFuzzer"
        build build/clang -DCMAKE_CXX_COMPILER=clang++ -DCOLDTANK_TESTS=ON -DCOLDTANK_SANITIZE=ON -DCOLDTANK_FUZZ=ON \
            -DCMAKE_BUILD_TYPE=None "-DCMAKE_CXX_FLAGS=-O1 -g1"
        ctest --test-dir build/clang --output-on-failure -j "$(nproc)" --label-exclude once
        cmake --build build/clang --target fuzz
        ;;
    threads)
        echo "coldtank: the thread sanitizer"
        build build/threads -DCOLDTANK_TESTS=OFF -DCMAKE_BUILD_TYPE=None "-DCMAKE_CXX_FLAGS=-O1 -g1 -fsanitize=thread" \
            -DCMAKE_EXE_LINKER_FLAGS=-fsanitize=thread -DCOLDTANK_LIBSTDCXX_INSIDE=OFF
        python3 -c 'import json, pathlib
for path in sorted(pathlib.Path("examples").glob("*.json")) * 20:
    print(json.dumps(json.loads(path.read_text())))' >build/threads/many.jsonl
        for command in budget spread; do
            TSAN_OPTIONS=halt_on_error=1 build/threads/coldtank "$command" --jobs 4 --lines --format json \
                --date 2026-11-25T05:15Z build/threads/many.jsonl >build/threads/out.json ||
                [ $? -le 2 ] || exit 1
        done
        ;;
    levels)
        echo "coldtank: optimisation levels and compilers"
        reference=
        for level in "g++ -O0" "g++ -O2" "g++ -O3" "clang++ -O2"; do
            directory=build/levels-$(echo "$level" | tr -c 'a-zO0-9\n' _)
            build "$directory" -DCMAKE_CXX_COMPILER="${level% *}" -DCOLDTANK_TESTS=OFF -DCMAKE_BUILD_TYPE=None \
                -DCMAKE_CXX_FLAGS="${level#* }"
            for example in examples/*.json; do
                for format in text csv; do
                    echo "== $example $format"
                    "$directory/coldtank" budget --date 2026-11-25T05:15Z --format $format "$example" || true
                done
                "$directory/coldtank" season --date 2026-11-25T05:15Z --every month "$example" 2>&1 || true
                "$directory/coldtank" capacity --date 2026-11-25T05:15Z "$example" 2>&1 || true
            done >"$directory.out"
            if [ -n "$reference" ]; then
                cmp "$reference" "$directory.out"
            fi
            reference=${reference:-$directory.out}
        done
        ;;
    coverage)
        echo "coldtank: coverage"
        build build/coverage -DCOLDTANK_TESTS=ON -DCMAKE_BUILD_TYPE=None "-DCMAKE_CXX_FLAGS=-O0 --coverage" \
            -DCMAKE_EXE_LINKER_FLAGS=--coverage
        ctest --test-dir build/coverage -j "$(nproc)" -E "bench|install|faults|deb|package|machines" || true
        python3 tests/coverage.py build/coverage .
        ;;
    *)
        echo "coldtank: $part is none of clang, threads, levels, coverage" >&2
        exit 64
        ;;
    esac
done
echo "coldtank: the long tests have passed"
