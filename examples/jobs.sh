# Prints how many compilers to start at once: as many as there are processors, and free memory for,
# 500 MB each (the largest file takes 410 MB of g++ 12, 580 with the sanitizers; the others less).
#     sh examples/jobs.sh [PROCESSORS [MEMINFO]]
jobs=${1:-$(nproc)}
fit=$(awk '/^MemAvailable:/ { print int($2 / 500000) }' "${2:-/proc/meminfo}" 2>/dev/null || true)
if [ -n "$fit" ] && [ "$fit" -lt "$jobs" ]; then
    jobs=$fit
fi
[ "$jobs" -ge 1 ] || jobs=1
echo "$jobs"
