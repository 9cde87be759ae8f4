# Sets up what is missing, builds into build/, and runs the main job on an example:
#     sh examples/quickstart.sh
set -eu
cd "$(dirname "$0")/.."

sh examples/setup.sh g++ cmake make libcli11-dev nlohmann-json3-dev libfmt-dev
log=$(mktemp)
if ! { cmake -S . -B build -DCOLDTANK_TESTS=OFF && cmake --build build -j "$(sh examples/jobs.sh)"; } \
    >"$log" 2>&1; then
    cat "$log" >&2
    rm -f "$log"
    echo "coldtank: the build failed" >&2
    exit 1
fi
rm -f "$log"

echo '$ build/coldtank budget examples/spring.json'
build/coldtank budget examples/spring.json
echo
echo "coldtank is built: build/coldtank budget YOUR-FILE.json"
