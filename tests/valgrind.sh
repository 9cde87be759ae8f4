# (The C++ library linked in keeps its emergency pool to the end: reachable, not lost.)
# No invalid read, leak or uninitialised value on good and bad input. Exits 77 without valgrind.
program=$1
cd "$2" || exit 1
command -v valgrind >/dev/null 2>&1 || { echo "no valgrind: skipped"; exit 77; }
[ -e /proc/self ] || { echo "no /proc: skipped"; exit 77; }
for file in examples/overstocked.json tests/bad/several_1.json; do
    for format in text json; do
        valgrind -q --error-exitcode=99 --leak-check=full --errors-for-leak-kinds=definite,indirect,possible \
            "$program" budget --format "$format" "$file" >/dev/null
        [ $? = 99 ] && { echo "valgrind: $file as $format"; exit 1; }
    done
done
echo "valgrind is clean"
