"""How fast it is, each row beside its peer in one run: ratios, the least of several turns.

    bench.py PROGRAM PROBE EMPTY [DESCRIPTIONS [DIRECTORY]]

DEVELOPERS.md has what was measured last. Nothing is judged by its seconds: a short run in CI shows
that every row can be measured, and that what is to pass passes.
"""
import json
import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

program, probe, empty = (str(Path(each).resolve()) for each in sys.argv[1:4])
count = int(sys.argv[4]) if len(sys.argv) > 4 else 50000
turns = 5 if count > 1000 else 1
work = Path(tempfile.mkdtemp(prefix="coldtank-bench-"))
dice = random.Random(12)
kept = len(sys.argv) > 5  # a directory to leave the files in
if kept:
    work = Path(sys.argv[5])


def some(low, high, digits=1):
    return round(dice.uniform(low, high), digits)


def aerator():
    return dice.choice([
        {"kind": "diffuser", "air_flow_l_min": some(40, 80), "depth_m": some(0.8, 1.2),
         "bubble": "medium"},
        {"kind": "rated", "sotr_g_h": some(30, 60)}])


def tank(number, crowded=False, loop=None):
    count = dice.randint(20, 45)
    made = {"name": f"round {number}", "volume_l": dice.randint(2500, 4000),
            "water": {"temperature_c": some(9, 13), "ph": some(7.4, 7.6),
                      "alkalinity_mg_l": dice.randint(40, 70)},
            "fish": [{"species": dice.choice(["rainbow", "golden", "brook", "rainbow trout"]),
                      "count": count * 25 if crowded else count,
                      "mean_weight_g": dice.randint(90, 180)}],
            "feed": {"protein_percent": dice.randint(42, 46)},
            "aeration": [aerator()]}
    if loop is None:
        made["inflow"] = {"flow_l_min": dice.randint(90, 160), "oxygen_percent": some(92, 98),
                          "carbon_dioxide_mg_l": some(1, 3), "tan_mg_l": some(0, 0.05, 2)}
    else:
        made["loop"] = {"name": loop, "flow_l_min": dice.randint(80, 160)}
        del made["water"]["ph"], made["water"]["alkalinity_mg_l"]
    return made


def site(tanks, **more):
    return {"format": 1, "site": {"name": "Alder Brook", "altitude_m": dice.randint(0, 600)},
            "tanks": tanks, **more}


def loop_of(tanks, crowded=False, oxygen=None):
    water = {"temperature_c": 12, "ph": 7.2, "alkalinity_mg_l": 90, "nitrate_mg_l": 30,
             "nitrite_mg_l": 0.02, "chloride_mg_l": 60}
    made = [tank(number, crowded, "house") for number in range(tanks)]
    if oxygen is not None:
        for each in made:
            each["water"]["oxygen_mg_l"] = oxygen
    return site(made, loops=[{
        "name": "house", "water": water, "exchange_l_day": 2000 * tanks,
        "makeup": {"tan_mg_l": 0, "nitrate_mg_l": 2, "alkalinity_mg_l": 100},
        "biofilter": {"media_area_m2": 400 * tanks}, "degasser_percent": 70,
        "supply_oxygen_percent": 95}])


def written(name, descriptions):
    path = work / name
    path.write_text("".join(json.dumps(each) + "\n" for each in descriptions))
    return path


def run(command, path=None):
    """Seconds on the clock and of the processor, and the exit status."""
    with open(path or os.devnull, "rb") as given, open(os.devnull, "wb") as none:
        start = time.perf_counter()
        process = os.posix_spawn(command[0], command, os.environ, file_actions=[
            (os.POSIX_SPAWN_DUP2, given.fileno(), 0), (os.POSIX_SPAWN_DUP2, none.fileno(), 1),
            (os.POSIX_SPAWN_DUP2, none.fileno(), 2)])
        _, status, used = os.wait4(process, 0)
        return (time.perf_counter() - start, used.ru_utime + used.ru_stime,
                os.waitstatus_to_exitcode(status))


def budget(*options):
    return [program, "budget", *options]


def least(commands, which=1, times=turns):
    """The least of each, taken in turn so that all see the same noise."""
    best = [float("inf")] * len(commands)
    for _ in range(times):
        for i, (command, path) in enumerate(commands):
            best[i] = min(best[i], run(command, path)[which])
    return best


def row(what, ratio, reach, aim, note=""):
    print(f"| {what} | {ratio} | {reach} | {aim} | {note} |", flush=True)


passing = written("passing.jsonl", (site([tank(i)]) for i in range(count)))
mixed = written("mixed.jsonl", (site([tank(i, dice.random() < 0.1)]) for i in range(count)))
line = ["--lines", "--jobs", "1"]
sizes = passing.stat().st_size / count
assert run(budget("--lines", "--quiet", "-"), passing)[2] == 0, "not all pass"
assert run(budget("--lines", "--quiet", "-"), mixed)[2] == 2, "none fails"
print(f"{count} descriptions of {sizes:.0f} bytes")
print("| what | measured | reach | aim | |\n|---|---|---|---|---|")
jq = shutil.which("jq")
if jq:
    rows = [("jsonl, 1 job, all passing", ["--format", "jsonl"], passing, "1.0", "0.7"),
            ("jsonl, 1 job, 1 in 10 failing", ["--format", "jsonl"], mixed, "1.5", "1.0"),
            ("`--quiet`, 1 job, all passing", ["--quiet"], passing, "0.6", "0.4"),
            ("`--quiet`, 1 in 10 failing", ["--quiet"], mixed, "1.2", "0.8")]
    for what, options, path, reach, aim in rows:
        own, other = least([(budget(*line, *options, "-"), path), ([jq, "-c", "."], path)])
        row(what, f"{own / other:.2f} x jq", reach, aim,
            f"{1e6 * own / count:.1f} us each, jq {1e6 * other / count:.1f}")
else:
    print("| jsonl, `--quiet` | jq is not installed: skipped | | | |")
reading, accepting = map(float, subprocess.run([probe, passing], capture_output=True, check=True,
                                               text=True).stdout.split())
row("reading alone", f"{reading / accepting:.2f} x accept", "1.8", "1.5",
    f"{1e6 * reading / count:.1f} us each, accept {1e6 * accepting / count:.1f}")
one, two = least([(budget("--lines", "--format", "jsonl", "--jobs", jobs, "-"), passing)
                  for jobs in ("1", "2")], which=0)
row("2 jobs", f"{one / two:.2f} x faster", "1.7", "1.9", f"{os.cpu_count()} processors")


# Of a child that a small process starts: this one's own memory would count as the child's.
PEAK = """import resource, subprocess, sys
subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL, check=False)
print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024)"""


def peak_mb(path, times=1):
    with subprocess.Popen(["sh", "-c", f"for i in $(seq {times}); do cat '{path}'; done"],
                          stdout=subprocess.PIPE) as source:
        return float(subprocess.run([sys.executable, "-c", PEAK,
                                     *budget(*line, "--format", "jsonl", "-")],
                                    stdin=source.stdout, capture_output=True, check=True).stdout)


few, many = peak_mb(passing), peak_mb(passing, 20)
row(f"peak memory at {20 * count}", f"{many / few:.2f} x that at {count}", "1.1, 32 MB", "16 MB",
    f"{many:.1f} MB")
single = written("one.json", [site([tank(0)])])
own, other = least([(budget(str(single)), None), ([empty], None)], times=60 * turns)
row("one tank, start to end", f"{own / other:.2f} x an empty program", "1.5", "1.3",
    f"{1e3 * own:.2f} ms, empty {1e3 * other:.2f}")
for what, make, size in (("a site", lambda n: site([tank(i) for i in range(n)]), count // 5),
                         ("a loop", loop_of, count // 25)):
    small = written("small.jsonl", [make(100) for _ in range(20)])
    large = written("large.jsonl", [make(size)])
    assert run(budget(*line, "--quiet", "-"), small)[2] == 0, what
    assert run(budget(*line, "--quiet", "-"), large)[2] == 0, what
    a, b = least([(budget(*line, "--format", "jsonl", "-"), path) for path in (small, large)])
    row(f"per tank: {what} of {size}", f"{b / size / (a / 2000):.2f} x of 100", "2", "1.2",
        f"{1e6 * b / size:.1f} us each")
state = dice.getstate()
plain = written("plain.jsonl", [loop_of(40)])
dice.setstate(state)
measured = written("measured.jsonl", [loop_of(40, oxygen=6.4)])
a, b = least([(budget(*line, "--format", "jsonl", "-"), path) for path in (plain, measured)],
             times=4 * turns)
row("a loop of 40 tanks with measured oxygen", f"{b / a:.2f} x without", "3", "2",
    f"{1e3 * b:.1f} ms")
crowd = written("crowd.jsonl", [loop_of(count // 50, crowded=True)])
seconds = least([(budget(*line, "--format", "jsonl", "-"), crowd)], times=1)[0]
row(f"{count // 50} failing tanks on a loop", f"{seconds:.1f} s", "5 s", "1 s",
    f"peak {peak_mb(crowd):.0f} MB")
if not kept:
    shutil.rmtree(work)
