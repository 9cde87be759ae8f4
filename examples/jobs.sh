# Prints how many compilers to start at once: as many as there are processors, and free memory for,
# 500 MB each.
jobs=$(nproc)
fit=$(awk '/^MemAvailable:/ { print int($2 / 500000) }' /proc/meminfo 2>/dev/null || true)
if [ -n "$fit" ] && [ "$fit" -lt "$jobs" ]; then
    jobs=$fit
fi
[ "$jobs" -ge 1 ] || jobs=1
echo "$jobs"
