# The whole tree is formatted as .clang-format says. Exits 77, skipped, without clang-format.
cd "$1" || exit 1
command -v clang-format >/dev/null 2>&1 || { echo "no clang-format: skipped"; exit 77; }
find src include tests examples -name '*.cpp' -o -name '*.hpp' | xargs clang-format --dry-run -Werror
