# Scripts, manual pages and C++ without a warning: lint.sh SOURCE BUILD. Exits 77, skipped, without the tools.
set -eu
cd "$1"
skipped=
# SC2164: set -e ends a script whose cd fails.
if command -v shellcheck >/dev/null 2>&1; then
    shellcheck -s sh -S warning -e SC2164 tests/*.sh examples/*.sh
else
    skipped="$skipped shellcheck"
fi
if command -v mandoc >/dev/null 2>&1; then
    for page in "$2"/manual/coldtank*.gz; do
        mandoc -T lint -W warning "$page"
    done
else
    skipped="$skipped mandoc"
fi
# passedByValue: a Range is two numbers and a bit. CastIntegerToAddressAtReturn: takes a pointer to an entry for its
# index. danglingTempReference: an optional's emplace gives the value in it, not a copy. returnDanglingLifetime (of
# cppcheck 2.17): spans of what is static. normalCheckLevelMaxBranches: no finding.
if command -v cppcheck >/dev/null 2>&1; then
    cppcheck --enable=warning,performance,portability --std=c++20 --quiet -I include -I src \
        --template='{file}:{line}: {id}: {message}' --error-exitcode=1 --suppress=passedByValue \
        --suppress=CastIntegerToAddressAtReturn --suppress=danglingTempReference \
        --suppress=passedByValueCallback --suppress=returnDanglingLifetime \
        --suppress=normalCheckLevelMaxBranches src
else
    skipped="$skipped cppcheck"
fi
[ -z "$skipped" ] || { echo "lint: skipped, as they are not there:$skipped"; exit 77; }
echo "lint ok"
