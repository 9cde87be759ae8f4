# Sets up what is missing, builds, and runs every test:
#     sh tests/run.sh
set -eu
cd "$(dirname "$0")/.."

sh examples/setup.sh g++ cmake make libcli11-dev nlohmann-json3-dev libfmt-dev doctest-dev python3
# Independent checks; where one cannot be had its test is reported as skipped.
checkers="clang libclang-rt-dev clang-format cppcheck shellcheck mandoc valgrind python3-gsw python3-iapws
    python3-scipy python3-fluids python3-jsonschema parallel zsh fish"
# A list of words. At once, or each that can be had.
# shellcheck disable=SC2086
sh examples/setup.sh $checkers || for package in $checkers; do
    sh examples/setup.sh "$package" || echo "coldtank: going on without $package"
done

built() { # DIRECTORY OPTION...
    directory=$1
    shift
    log=$(mktemp)
    if ! { cmake -S . -B "$directory" -DCOLDTANK_TESTS=ON -DCOLDTANK_WERROR=ON "$@" &&
        cmake --build "$directory" -j "$(sh examples/jobs.sh)"; } >"$log" 2>&1; then
        cat "$log" >&2
        rm -f "$log"
        echo "coldtank: the build in $directory failed" >&2
        exit 1
    fi
    rm -f "$log"
}

# The sanitizers find the stack and the threads through /proc, which a bare chroot has not.
if [ -e /proc/self ]; then
    echo "coldtank: tests under the address and undefined behaviour sanitizers"
    # Not optimised but for the models: half the time to build. clang, where it is: the second compiler, and
    # libFuzzer is its own.
    if command -v clang++ >/dev/null 2>&1; then
        set -- -DCMAKE_CXX_COMPILER=clang++ -DCOLDTANK_FUZZ=ON
    else
        echo "coldtank: skipped, as there is no clang: libFuzzer"
        set -- -DCMAKE_CXX_COMPILER=g++ -DCOLDTANK_FUZZ=OFF
    fi
    built build/sanitize "$@" -DCOLDTANK_SANITIZE=ON -DCMAKE_BUILD_TYPE=None "-DCMAKE_CXX_FLAGS=-O0 -g1"
    ctest --test-dir build/sanitize --output-on-failure -j "$(nproc)" --label-exclude once
else
    echo "coldtank: skipped, as there is no /proc: tests under the sanitizers"
fi

echo "coldtank: all tests"
built build
ctest --test-dir build --output-on-failure -j "$(nproc)"
