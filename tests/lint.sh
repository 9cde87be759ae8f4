# Scripts and manual pages without a warning: lint.sh SOURCE BUILD. Exits 77, skipped, without the tools.
# SC2164: set -e ends a script whose cd fails.
set -eu
cd "$1"
command -v shellcheck >/dev/null 2>&1 || { echo "lint: no shellcheck: skipped"; exit 77; }
shellcheck -s sh -S warning -e SC2164 tests/*.sh examples/*.sh
command -v mandoc >/dev/null 2>&1 || { echo "lint: no mandoc: skipped"; exit 77; }
for page in "$2"/manual/coldtank*.gz; do
    mandoc -T lint -W warning "$page"
done
echo "lint ok"
