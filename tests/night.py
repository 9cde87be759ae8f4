"""The nightly run: readings, the short page, Markdown and CSV, the logbook and its trends.

    night.py PROGRAM SOURCE_DIRECTORY
"""
import csv
import datetime
import io
import json
import math
import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

program, source = sys.argv[1], Path(sys.argv[2])
work = Path(tempfile.mkdtemp(prefix="coldtank-night-"))
NOW = "2026-11-25T05:15:00+01:00"
spring = json.loads((source / "examples/spring.json").read_text())


def run(*arguments, text=None, env=None, command="budget"):
    return subprocess.run([program, command, *map(str, arguments)], input=text, cwd=source,
                          capture_output=True, text=True, check=False,
                          env=None if env is None else {**os.environ, **env})


def trend(*arguments, now="1795552500"):  # 2026-11-24T20:35:00Z, after the last night below
    return run(*arguments, command="trend", env={"SOURCE_DATE_EPOCH": now})


def same(got, path):
    assert got == (source / path).read_text(encoding="utf-8"), f"{path} differs from:\n{got}"


def page_holds(page):
    assert all(len(line) <= 80 for line in page.splitlines()), page
    assert page.isascii()


# ---- the examples of the README
night = ["--quiet", "--readings", "examples/spring.readings.csv", "--max-age", "ph=8d",
         "--max-age", "tan_mg_l=8d", "--date", NOW, "examples/spring.json"]
done = run(*night)
assert done.returncode == 1 and not done.stderr, done
same(done.stdout, "examples/spring.night.txt")
page_holds(done.stdout)
assert done.stdout.startswith("warn north round: 5.70 mg/L measured 05:10: stop feeding, add air\n")
done = run("--format", "markdown", "--date", NOW, "examples/altitude.json")
assert done.returncode == 1 and not done.stderr
same(done.stdout, "examples/altitude.page.md")
page_holds(done.stdout)

# ---- readings and the JSON of them
done = run("--format", "json", *night[1:])
tank = json.loads(done.stdout)["reports"][0]["tanks"][0]
by_column = {each["column"]: each for each in tank["readings"]}
assert by_column["oxygen_mg_l"]["value"] == 5.7 and by_column["oxygen_mg_l"]["used"]
assert by_column["oxygen_mg_l"]["time"] == "2026-11-25T05:10:00+01:00"
assert abs(by_column["oxygen_mg_l"]["age_h"] - 5 / 60) < 1e-12
assert by_column["died"]["value"] == 1 and tank["fish_count"] == 119
gap = tank["oxygen"]["gap"]
assert abs(gap["difference_mg_l"] - (5.7 - tank["oxygen"]["steady_mean_mg_l"])) < 1e-12
checks = {each["check"]: each for each in tank["checks"]}
assert checks["readings"]["status"] == "pass" and checks["oxygen"]["status"] == "warn"
# What explains the gap, written into the description, predicts what was measured.
more = json.loads(json.dumps(spring))
more["tanks"][0]["water"]["temperature_c"] = 13.9
more["tanks"][0]["fish"][0].update(count=119, respiration_factor=gap["respiration_factor"])
steady = json.loads(run("--format", "json", "-", text=json.dumps(more)).stdout)["reports"][0][
    "tanks"][0]["oxygen"]["steady_mean_mg_l"]
assert abs(steady - 5.7) < 1e-9, steady

# Without readings nothing of this is there; with a file that holds none of this tank, unchecked.
tank = json.loads(run("--format", "json", "examples/spring.json").stdout)["reports"][0]["tanks"][0]
assert "readings" not in tank and "gap" not in tank["oxygen"]
others = "time,tank,ph\n2026-11-25T05:00:00+01:00,hut tank,7\n"
both = ["examples/spring.json", "examples/altitude.json"]
done = run("--readings", "-", "--date", NOW, "examples/spring.json", text=others)
assert done.returncode == 65 and "no tank is named" in done.stderr
done = run("--readings", "-", "--date", NOW, "--format", "json", *both, text=others)
reports = json.loads(done.stdout)["reports"]
assert [r["tanks"][0]["checks"][-1]["status"] for r in reports] == ["unchecked", "pass"]
quiet = [*both, "--tank", "north round", "--quiet", "--readings", "-", "--date", NOW]
assert run(*quiet, text=others).returncode == 0
done = run(*quiet, "--require-all", text=others)
assert done.returncode == 1 and done.stdout.startswith(
    "unchecked north round: readings needs"), done.stdout

# Many dead, and a tank with ways to mend it: what to do now is not lost beside them.
crowded = ["examples/overstocked.json", "--readings", "-", "--date", NOW]
dead = "time,tank,died,fish\n2026-11-25T04:00:00+01:00,garden round,40,grower\n"
done = run("--quiet", *crowded, text=dead)
assert done.returncode == 2 and done.stdout.isascii(), done
words = " ".join(done.stdout.split())
assert "NOW, if fish are in it: " in words and "measure oxygen, temperature, ammonia and pH" in words
assert "take the dead out" in words and "keep some of the freshly dead cold for a fish vet" in words
for extra in [], ["--format", "markdown"]:
    words = " ".join(run(*crowded, *extra, text=dead).stdout.split())
    assert "take the dead out" in words and "fish vet" in words, words
tank = json.loads(run("--format", "json", *crowded, text=dead).stdout)["reports"][0]["tanks"][0]
assert any("take the dead out" in each for each in tank["now"]) and tank["plans"]
assert "geopotential" in run("--explain", *crowded, text=dead).stdout
assert "geopotential" not in run("--quiet", "--explain", *crowded, text=dead).stdout

# Still water that no air reaches: what a meter shows today says nothing of where it falls to.
still = {"format": 1, "site": {"name": "Larch Hollow", "altitude_m": 640}, "tanks": [
    {"name": "still", "volume_l": 1000, "water": {"temperature_c": 12, "oxygen_mg_l": 8.2, "ph": 7, "alkalinity_mg_l": 60},
     "fish": [{"species": "rainbow trout", "count": 20, "mean_weight_g": 100}]}]}
done = run("--date", NOW, "-", text=json.dumps(still))
assert done.returncode == 2, done
assert "fail  still: oxygen 8.20 mg/L measured; then it falls to nothing (needs " in done.stdout, done.stdout
assert "could fall to" not in done.stdout
assert run("--date", NOW, "--quiet", "-", text=json.dumps(still)).stdout.startswith("fail still: oxygen falls to nothing: ")
# So it is where a flow of pure oxygen brings less than the fish take.
still["tanks"][0]["aeration"] = [{"kind": "oxygen", "flow_l_min": 0.02, "absorption_percent": 10}]
done = run("--date", NOW, "-", text=json.dumps(still))
assert re.search(r"fail  still: oxygen 8.20 mg/L measured; short in the warmest hour \(needs \S+\s+g/h, can have \S+\)",
                 done.stdout), done.stdout
assert re.match(r"fail still: oxygen needs \S+ g/h, can have \S+: ",
                run("--date", NOW, "--quiet", "-", text=json.dumps(still)).stdout)
# Salt against nitrite is not what is done first of all where something else is short.
crowd = json.loads(json.dumps(spring))
crowd["tanks"][0]["water"].update(nitrite_mg_l=0.19, chloride_mg_l=25)
crowd["tanks"][0]["fish"][0]["count"] = 330
first = run("--quiet", "-", text=json.dumps(crowd)).stdout.splitlines()[0]
assert first.startswith("fail ") and ": salt" not in first, first
crowd["tanks"][0]["fish"][0]["count"] = 20
crowd["tanks"][0].pop("feed", None)
first = run("--quiet", "-", text=json.dumps(crowd)).stdout.splitlines()[0]
assert first == "warn north round: nitrite 0.190 mg/L: salt", first

# A sensor that died mails; so do a file that is not there, and one that cannot be read.
done = run("--quiet", "--readings", "examples/spring.readings.csv", "--date",
           "2026-11-27T05:15:00+01:00", "examples/spring.json")
assert done.returncode == 1 and done.stdout.startswith("warn north round: oxygen_mg_l 48.1 h old: measure again"), done
assert "too old and not used:" in done.stdout
done = run("--quiet", "--readings", work / "none.csv", "examples/spring.json")
assert done.returncode == 66 and "none.csv: No such file" in done.stderr
assert "north round" in done.stdout  # the budget is there all the same
done = run("--readings", "examples/spring.readings.csv", "--date", NOW, "--max-age", "1 day",
           "examples/spring.json")
assert done.returncode == 64 and "26h" in done.stderr
# Deaths and a low that has passed are not silent.
for rows, status, words in (
        ("2026-11-25T04:00:00+01:00,north round,,13\n", 2, "10.8 % died: measure oxygen, take the dead out"),
        ("2026-11-25T04:00:00+01:00,north round,,2\n", 1, "1.67 % died: measure oxygen, take the dead out"),
        ("2026-11-25T02:00:00+01:00,north round,3.1,\n2026-11-25T05:00:00+01:00,north round,6.3,\n",
         2, "danger 1.48 min after a stop: keep backup air ready")):
    done = run("--quiet", "--readings", "-", "--date", NOW, "examples/spring.json",
               text="time,tank,oxygen_mg_l,died\n2026-11-25T01:00:00+01:00,north round,7.2,\n" + rows)
    first = done.stdout.splitlines()[0]
    assert done.returncode == status and first.endswith(f" north round: {words}"), done
assert "oxygen was down to 3.1 mg/L at 2026-11-25T02:00:00+01:00, now 6.3" in done.stdout, done
assert "down to 3.10: warn <6" in done.stdout and "before that hour comes again" in done.stdout, done
# An age of one tank; a name that is none.
stale = "time,tank,ph\n2026-11-20T05:00:00+01:00,north round,7.2\n"
ages = ["--readings", "-", "--date", NOW, "examples/spring.json", "--max-age"]
assert run(*ages, "north round=8d", text=stale).returncode == 0
assert run(*ages, "noth round=8d", text=stale).returncode == 64
# A bad cell: its place, 65, and never a clean pass.
done = run("--format", "json", "--readings", "-", "--date", NOW, "examples/spring.json",
           text="time,tank,oxygen_mg_l\n2026-11-25T05:00:00+01:00,north round,7,1\n")
assert done.returncode == 65 and "-:2:1: 4 cells where the header has 3" in done.stderr
report = json.loads(done.stdout)["reports"][0]
assert report["verdict"] != "pass" and report["errors"][0]["file"] == "-"

# ---- what spreadsheets and loggers of other countries write: the same readings, or a question
def used(rows, *options):
    done = run("--format", "json", "--readings", "-", "--date", NOW, *options,
               "examples/spring.json", text=rows)
    tank = json.loads(done.stdout)["reports"][0]["tanks"][0]
    return {each["column"]: each["value"] for each in tank.get("readings", [])}, done


usual, _ = used("time,tank,oxygen_mg_l,ph\n2026-11-25T04:00:00Z,north round,7.25,7.1\n")
assert usual == {"oxygen_mg_l": 7.25, "ph": 7.1}
for rows in ("time;tank;oxygen_mg_l;ph\n2026-11-25T04:00:00Z;north round;7,25;7,1\n",
             "Time\tTANK\tOxygen_mg_L\tpH\n2026-11-25T05:00:00+0100\tnorth round\t7,25\t7,1\n",
             "time,tank,oxygen_mg_l,ph\n1795579200,north round,\"7,25\",7.1\n",
             "time;tank;oxygen_mg_l;ph\r\n1795579200.5;north round;7.25;7.1\r\n",
             '{"time": 1795579200, "tank": "north round", "oxygen_mg_l": 7.25, "ph": 7.1}\n'):
    got, done = used(rows)
    assert got == usual and not done.stderr, (rows, got, done.stderr)
# In a file with decimal commas elsewhere 1,250 is no more than 1.25; alone it may be 1250.
got, done = used("time;tank;oxygen_mg_l;ph\n1795579200;north round;7,250;7,1\n")
assert got == usual and not done.stderr
for rows, question in (
        ("time;tank;oxygen_mg_l\n1795579200;north round;7,250\n",
         "-:2:24: /oxygen_mg_l: 7,250 is 7.25 or 7250: write the one that it is"),
        ("time;tank;oxygen_mg_l;ph\n1795579200;north round;7.250;7,1\n",
         "-:2:24: /oxygen_mg_l: 7.250 is 7.25 or 7250: write the one that it is"),
        ("time,tank,ph\n3/4/2026,north round,7\n",
         '"3/4/2026" is no time; is that 2026-04-03 or 2026-03-04? write the one that it is'),
        ("time,tank,ph\n11/25/2026 5:07 PM,north round,7\n",
         '"11/25/2026 5:07 PM" is no time; write 2026-11-25T17:07'),
        ("time,tank,ph\n25.11.2026 12:00 am,north round,7\n",
         '"25.11.2026 12:00 am" is no time; write 2026-11-25T00:00'),
        ("time,tank,ph\n24.11.2026 21:30,north round,7\n",
         '"24.11.2026 21:30" is no time; write 2026-11-24'),
        ("time,tank,ph\n11/24/2026,north round,7\n", "write 2026-11-24"),
        ("time,tank,ph\n1795579200000,north round,7\n", "a time is written as 2026-11-24T21:30"),
        ("time;tank\tph\n", "semicolons and tabs: which of them separates the cells?")):
    got, done = used(rows)
    assert done.returncode == 65 and question in done.stderr and not got, (rows, done.stderr)
# An ambiguous cell is not taken for silence: the tank's reading could not be used.
_, done = used("time;tank;oxygen_mg_l\n1795579200;north round;7,250\n")
assert json.loads(done.stdout)["reports"][0]["verdict"] != "pass"

# ---- quiet: silent exactly when the exit status is 0
for name in sorted((source / "examples").glob("*.json")):
    for extra in ([], ["--require-all"]):
        done = run("--quiet", *extra, name)
        assert bool(done.stdout) == (done.returncode != 0), name
        full = run("--all", *extra, name)
        assert full.returncode == done.returncode
        if done.returncode:
            page_holds(done.stdout)
            verdict = {1: ("warn", "unchecked"), 2: ("fail",)}[done.returncode]
            assert done.stdout.startswith(tuple(v + " " for v in verdict)), done.stdout
            assert len(done.stdout.splitlines()[0]) <= 70
            assert len(done.stdout.splitlines()) < len(full.stdout.splitlines()) * 0.8
# The worst of many comes first, whatever the order of the files.
files = ["examples/spring.json", "examples/altitude.json", "examples/overstocked.json"]
done = run("--quiet", *files)
assert done.returncode == 2 and done.stdout.startswith("fail garden round (Quarry Cottage): oxygen could fall to 0")
assert "of 3 tanks and loops: 1 fail, 1 warn, 1 pass" in done.stdout
assert done.stdout.index("garden round:") < done.stdout.index("hut tank:")
assert "north round" not in done.stdout

# ---- quiet with a logbook: what was told is not told again, what may kill is
def mails(name, nights, tank="north round", description="examples/spring.json", ending=".csv"):
    """The first lines of what is mailed on each of some nights: (time, readings of then)."""
    log, rows, out = work / (name + ending), [], []
    log.unlink(missing_ok=True)
    for when, reading in nights:
        if reading:
            rows.append({"time": when, "tank": tank, **reading})
        columns = sorted({key for row in rows for key in row})
        text = ",".join(columns) + "\n" + "".join(
            ",".join(str(row.get(key, "")) for key in columns) + "\n" for row in rows)
        more = ["--readings", "-"] if rows else []
        done = run("--quiet", "--log", log, "--date", when, *more, description, text=text)
        assert not done.stderr, done.stderr
        page_holds(done.stdout)
        out.append(done.stdout)
    return out


def day(number, time="05:10"):
    return f"2026-11-{number:02}T{time}:00+01:00"


for ending in ".csv", ".jsonl":
    got = mails("oxygen", [
        (day(1), {"oxygen_mg_l": 7}),
        (day(2), {"oxygen_mg_l": 4.9}),                  # worse
        (day(2, "05:40"), None),                         # a measured fail, at every run
        (day(2, "06:40"), {"oxygen_mg_l": 5.6}),         # better, and no mail
        (day(2, "07:40"), {"oxygen_mg_l": 4.8}),         # worse again
        (day(2, "08:40"), {"oxygen_mg_l": 6.8}),         # over, but for its low
        (day(2, "09:40"), {"oxygen_mg_l": 6.9}),
        (day(3, "09:40"), {"oxygen_mg_l": 7})], ending=ending)
    assert got[0] == "" and got[3] == "" and got[6] == "", got
    assert got[1].startswith("fail north round: 4.90 mg/L measured 05:10: stop feeding"), got[1]
    assert "oxygen 7 to 4.9 mg/L" in got[1]              # since the record before
    assert got[2].startswith("fail north round: 4.90 mg/L measured 05:10: stop feeding"), got[2]
    assert got[4].startswith("fail north round: 4.80 mg/L measured 07:40: stop feeding"), got[4]
    assert "well again north round: oxygen 6.8 mg/L since 08:40\n" in got[5], got[5]
    assert "well again" not in got[7], got[7]
# Nobody measures any more what was measured to fail: that is not well, and said at every run.
got = mails("gone", [(day(1), {"oxygen_mg_l": 4.9, "ph": 7.2}), (day(2, "12:10"), {"ph": 7.2}),
                     (day(2, "13:10"), {"ph": 7.2}), (day(3, "12:10"), {"ph": 7.2}),
                     (day(3, "14:10"), {"oxygen_mg_l": 7.1})])
gone = "not measured north round: oxygen 4.9 mg/L, fail at 2026-11-01 05:10\n"
assert all(each.startswith(gone) for each in got[1:4]), got
assert "well again" not in "".join(got[:4])
assert "well again north round: oxygen 7.1 mg/L since 14:10\n" in got[4], got[4]
# What would lie "well again" over it, or keep silent: each was found by a reviewer.
def last_of(nights, **more):
    return mails("found", nights, **more)[-1]


hot = work / "hot.json"
crowd = json.loads(json.dumps(spring))
crowd["tanks"][0]["fish"][0]["count"] = 400
hot.write_text(json.dumps(crowd))
sick = work / "sick.json"
no_ph = json.loads(json.dumps(spring))
del no_ph["tanks"][0]["water"]["ph"]
sick.write_text(json.dumps(no_ph))
# The sensor dies while the balance fails too: said at once, and of oxygen at every run.
got = mails("dies", [(day(1), {"oxygen_mg_l": 3.4}), (day(2, "12:10"), {"ph": 7.2}),
                     (day(2, "13:10"), {"ph": 7.2})], description=hot)
assert all(each.startswith("not measured north round: oxygen 3.4 mg/L, fail at 2026-11-01 05:10\n")
           for each in got[1:]), got
# What worsens does so from the best since it was told: ammonia halved, and half as much again.
for hour, tan, told in ((5, 4.0, True), (7, 2.4, False), (9, 3.5, False), (10, 3.8, True)):
    better = json.loads(json.dumps(spring))
    better["tanks"][0]["water"].update(ph=6.8, alkalinity_mg_l=20, tan_mg_l=tan)
    done = run("--quiet", "--log", work / "better.csv", "--date", f"2026-11-25T{hour:02}:00Z", "-",
               text=json.dumps(better))
    assert done.returncode == 1 and ("total ammonia" in done.stdout) == told, (hour, done)
# A reading that falls on is news, at half a milligram.
got = mails("falls", [(day(1, f"{hour:02}:10"), {"oxygen_mg_l": oxygen}) for hour, oxygen in
                      enumerate((5.9, 5.7, 5.5, 5.4, 5.3))])
assert [bool(each) for each in got] == [True, False, False, True, False], got
# Ammonia that a pH made fail is not well for want of that pH, nor by the reading that failed.
nights = [(day(1), {"ph": 8.6, "tan_mg_l": 1.5}), (day(3), {"tan_mg_l": 1.6})]
assert "well again" not in last_of(nights, description=sick)
assert "not measured north round: ammonia as NH3, fail at" in last_of(nights, description=sick)
# Nor told at every run: once, and each day again.
got = mails("again", [*nights, (day(3, "06:10"), None), (day(4, "06:10"), None), (day(4, "07:10"), None)],
            description=sick)
assert ["not measured north round: ammonia" in each for each in got] == [False, True, False, True, False], got
# An older reading is no cure: the failing row was taken out of the file.
log = work / "older.csv"
for when, row in ((day(2), f"{day(2)},north round,4\n"), (day(2, "06:10"), f"{day(2, '04:00')},north round,8\n")):
    done = run("--quiet", "--log", log, "--date", when, "--readings", "-", "examples/spring.json",
               text="time,tank,oxygen_mg_l\n" + row)
assert done.stdout.startswith("not measured north round: oxygen 4 mg/L, fail at"), done.stdout
# A low between two runs is told, though what came before it was.
got = mails("between", [(day(1), {"oxygen_mg_l": 5.9}), (day(1, "06:10"), {"oxygen_mg_l": 6.2})])
assert "well again" in got[1]
rows = "".join(f"{day(1, time)},north round,{value}\n" for time, value in (
    ("05:10", 5.9), ("06:10", 6.2), ("06:30", 1.2), ("07:00", 6.2)))
done = run("--quiet", "--log", work / "between.csv", "--date", day(1, "07:10"), "--readings", "-",
           "examples/spring.json", text="time,tank,oxygen_mg_l\n" + rows)
assert done.stdout.startswith("fail north round: danger") and "down to 1.2 mg/L" in done.stdout, done
# Deaths that go on are news each time.
got = mails("deaths", [(day(1, f"{hour:02}:10"), {"oxygen_mg_l": 7, "died": 13}) for hour in range(5, 9)])
assert all(each.splitlines()[0].endswith("died: measure oxygen, take the dead out") for each in got), got
# What is over resets no other's day.
got = mails("clock", [(day(1), {"oxygen_mg_l": 5.9, "tan_mg_l": 5, "ph": 8}),
                      (day(1, "23:05"), {"oxygen_mg_l": 7.4}), (day(2), None)])
assert "well again" in got[1] and got[2].startswith("fail north round: ammonia"), got
# A run by hand, and one whose page nobody could get, take nothing of what was told.
log = work / "kept.csv"


def with_log(when, rows, *options, **more):
    return subprocess.run([program, "budget", *options, "--log", log, "--date", when, "--readings",
                           "-", more.pop("description", "examples/spring.json")], cwd=source,
                          input="time,tank,oxygen_mg_l,ph\n" + rows, text=True, check=False,
                          stderr=subprocess.PIPE, **{"stdout": subprocess.PIPE, **more})


row = f"{day(1)},north round,4,7.2\n"
assert with_log(day(1), row, "--quiet").stdout.startswith("fail")
assert with_log(day(1, "12:10"), row).returncode == 2
assert with_log(day(3), f"{day(3)},north round,,7.2\n", "--quiet").stdout.startswith("not measured")
log = work / "full.csv"
if Path("/dev/full").exists():
    with open("/dev/full", "w", encoding="ascii") as full:
        assert with_log(day(1), "", "--quiet", stdout=full, description=hot).returncode == 74
    assert with_log(day(1, "06:10"), "", "--quiet", description=hot).stdout.startswith("fail")
    assert with_log(day(1, "07:10"), "", "--quiet", description=hot).stdout == ""
# One record of a clock that was wrong hides none before it.
log = work / "clock.csv"
row = f"{day(20)},north round,4,7.2\n"
with_log(day(20), row, "--quiet")
run("--quiet", "--log", log, "--date", "2026-01-01T00:00:00+01:00", "examples/overstocked.json")
assert with_log(day(21, "12:10"), f"{day(21)},north round,,7.2\n", "--quiet").stdout.startswith(
    "not measured")
# Names that no terminal should get are the same name in the logbook.
odd = work / "odd.json"
crowd["tanks"][0]["name"] = "a\tb\u200d"
odd.write_text(json.dumps(crowd))
for ending in ".csv", ".jsonl":
    got = mails("odd", [(day(1), None), (day(1, "06:10"), None)], description=odd, ending=ending)
    assert got[0].startswith("fail a") and got[1] == "", got
# A site's own warnings are told once a day too.
air = work / "air.json"
air.write_text(json.dumps({**spring, "site": {**spring["site"], "barometric_pressure_kpa": 101.3}}))
got = mails("air", [(day(1), None), (day(1, "06:10"), None), (day(2), None)], description=air)
assert [("does not fit altitude" in " ".join(each.split())) for each in got] == [True, False, True], got
# Exchange warns: once. Oxygen that is predicted to fail: once a day, an hour later not.
got = mails("once", [(day(1), None), (day(2), None), (day(3), None)],
            description="examples/altitude.json")
assert got[0].startswith("warn hut tank: exchange 0.600 an hour: water 25 L/min\n"), got[0]
assert got[1:] == ["", ""], got
got = mails("daily", [(day(1), None), (day(1, "06:10"), None), (day(2), None)],
            description="examples/overstocked.json")
assert got[0].startswith("fail garden round: oxygen could fall to 0 mg/L: stop feeding, add air\n")
assert got[1] == "" and got[2].splitlines()[0] == got[0].splitlines()[0], got
# Of two tanks the one that is no worse takes a line.
both = [json.loads((source / f"examples/{name}.json").read_text())["tanks"][0]
        for name in ("spring", "altitude")]
two = work / "two.json"
two.write_text(json.dumps({"format": 1, "site": {"name": "Fen", "altitude_m": 640}, "tanks": both}))
got = mails("two", [(day(1), {"oxygen_mg_l": 7}), (day(2), {"oxygen_mg_l": 4.2})], description=two)
assert got[0].startswith("warn hut tank: "), got[0]
assert got[1].startswith("fail north round: 4.20 mg/L measured 05:10"), got[1]
assert "\nno worse: warn hut tank: exchange" in got[1] and "hut tank: exchange" not in got[1].split(
    "no worse")[0], got[1]
# A record that cannot be read, or of another file, tells nothing: it is told anew.
log = work / "oxygen.csv"
kept = log.read_text().splitlines(keepends=True)
log.write_text("".join(kept[:-1]) + kept[-1].replace("whole", "whol"))
done = run("--quiet", "--log", log, "--date", day(4), "examples/overstocked.json")
assert done.returncode == 2 and done.stdout.startswith("fail garden round"), done
# The logbook is read from its end: a big one takes no longer.
big = work / "big.csv"
first, last = kept[0], kept[-1]
with big.open("w") as out:
    out.write(first)
    for _ in range(20000):
        out.write(last)
assert big.stat().st_size > 16e6
done = subprocess.run(["strace", "-f", "-e", "trace=pread64", program, "budget", "--quiet", "--log",
                       big, "--date", day(3, "10:40"), "examples/spring.json"], cwd=source,
                      capture_output=True, text=True, check=False) if shutil.which("strace") else None
if done is not None:
    took = sum(int(size) for size in re.findall(r"pread64\(.* = (\d+)", done.stderr))
    assert 0 < took < 8e6, took

# ---- many files: each under its name, one unreadable fails the run and no more
done = run(*files, work / "gone.json")
assert done.returncode == 66 and "gone.json: No such file" in done.stderr
for name in files:
    assert f"\n{name}:\n" in "\n" + done.stdout
    assert json.loads((source / name).read_text())["tanks"][0]["name"] + ": " in done.stdout
done = run("--quiet", work / "gone.json", "examples/spring.json")
assert done.returncode == 66 and "gone.json: no budget" in done.stdout
one = run("examples/spring.json").stdout
assert "examples/spring.json" not in one

# ---- a change of water, by its litres and what ammonia comes to
sour = json.loads(json.dumps(spring))
sour["tanks"][0]["water"].update(ph=8.0, tan_mg_l=2.4)
for units, litre, limit in (("metric", 1, 10), ("us", 3.785411784, 5)):
    words = " ".join(run("--units", units, "-", text=json.dumps(sour)).stdout.split())
    found = re.search(r"NOW.*?change ([\d.]+) (L|gal) of the ([\d.]+) \((\d+) %\) for clean water, "
                      r"dechlorinated, within \S+ deg., its pH no higher: NH3 0.073 to "
                      r"([\d.]+) mg/L", words)
    amount, share = float(found.group(1)), float(found.group(1)) * litre / 2000
    assert amount % limit == 0 and round(100 * share) == int(found.group(4))
    after = json.loads(json.dumps(sour))
    after["tanks"][0]["water"]["tan_mg_l"] = 2.4 * (1 - share)
    tank = json.loads(run("--format", "json", "-", text=json.dumps(after)).stdout)["reports"][0][
        "tanks"][0]
    check = {each["check"]: each for each in tank["checks"]}["ammonia"]
    assert share <= 0.5 and abs(check["value"] - float(found.group(5))) < 5e-5, check
    assert "and again in some hours" in words
# Where it only warns, no more at once than fish bear.
sour["tanks"][0]["water"]["tan_mg_l"] = 0.7
words = " ".join(run("-", text=json.dumps(sour)).stdout.split())
assert "change 600 L of the 2000 (30 %) for clean water" in words and "again in some hours" in words
assert "NOW" not in words
# None of what was not read.
assert "L of the" not in run("examples/overstocked.json").stdout

# ---- CSV of the budget: a row a check, the same as in JSON
done = run("--format", "csv", *files, "examples/backyard.json")
rows = list(csv.DictReader(io.StringIO(done.stdout)))
reports = json.loads(run("--format", "json", *files, "examples/backyard.json").stdout)["reports"]
expected = []
for report in reports:
    for part in report["tanks"] + report["loops"]:
        for check in part["checks"]:
            expected.append((report["file"], report["site"]["name"], part.get("tank", ""),
                             part.get("loop", ""), check))
assert len(rows) == len(expected) > 40
for row, (name, site, tank_name, loop, check) in zip(rows, expected):
    assert (row["file"], row["site"], row["tank"], row["loop"], row["check"], row["status"],
            row["unit"]) == (name, site, tank_name, loop, check["check"], check["status"],
                             check["unit"])
    for key in ("value", "used_percent", "warn", "fail"):
        number = check[key]
        if isinstance(number, list):
            assert row[key] == " to ".join(f"{each:g}" if each == int(each) else repr(each)
                                           for each in number), row
        else:
            assert (row[key] == "") == (number is None)
            assert number is None or float(row[key]) == number
    assert row["remedy"] == " | ".join(each["text"] for each in check["remedies"])
evil = json.loads(json.dumps(spring))
evil["site"]["name"] = "=cmd()|x"
evil["tanks"][0]["name"] = "a,\"b\"|*_<i>\n`c`"
done = run("--format", "csv", "-", text=json.dumps(evil))
row = list(csv.DictReader(io.StringIO(done.stdout)))[0]
assert row["site"] == "'=cmd()|x" and row["tank"] == "a,\"b\"|*_<i>\\u000a`c`", row
# ... and a Markdown table that a name cannot break.
done = run("--format", "markdown", "--date", NOW, "-", text=json.dumps(evil))
assert "## a,\"b\"\\|\\*\\_\\<i\\>\\\\u000a\\`c\\`: **pass**" in done.stdout, done.stdout
table = [line for line in done.stdout.splitlines() if line.startswith("|")]
assert len({line.count("|") for line in table}) == 1 and len(table) >= 10
assert len({len(line) for line in table}) == 1  # it lines up in plain text
assert done.stdout.splitlines()[2] == NOW
assert "Seen by: ____" in done.stdout

# In the units of the reader, and no others.
page = run("--format", "markdown", "--units", "us", "examples/altitude.json").stdout
assert "52.7 degF" in page and "degC" not in page and "29.1 lb" in page, page
assert run("--format", "csv", "--date", NOW, "--units", "us", *files).stdout == run(
    "--format", "csv", "--date", NOW, *files).stdout

for name in sorted((source / "examples").glob("*.json")):
    for form in ("text", "markdown"):
        page = run("--all", "--format", form, "--units", "us", name).stdout
        left = re.findall(r"\d (?:g/h|g/day|g|kg|L|L/min|m2|g/m2/day|cm/s|degC|m)\b", page)
        assert not left, (name, left)

# ---- the time of a run
stamp = run("--format", "markdown", "examples/spring.json", env={"SOURCE_DATE_EPOCH": "1764000000"})
assert "2025-11-24T16:00:00Z" in stamp.stdout
stamp = run("--format", "markdown", "--date", "2026-11-24", "examples/spring.json",
            env={"SOURCE_DATE_EPOCH": "1", "TZ": "UTC0"})
assert "2026-11-24T23:59:59Z" in stamp.stdout
# Every format says when: in JSON, of the run and of each report.
for form in ("text", "markdown", "csv", "json", "jsonl"):
    for command in ("budget", "capacity"):
        if command == "capacity" and form == "jsonl":
            continue
        said = run("--format", form, "--date", NOW, "examples/spring.json", command=command).stdout
        short = form == "text" or (command == "capacity" and form == "markdown")
        assert (NOW[:10] + " " + NOW[11:16] if short else NOW) in said, (command, form, said)
whole = json.loads(run("--format", "json", "--date", NOW, "examples/spring.json").stdout)
assert whole["date"] == NOW == whole["reports"][0]["date"]
assert "An estimate of 2026-11-25 05:15:" in run(
    "--quiet", "--date", NOW, "examples/altitude.json").stdout
for wrong in ("", "x", "-1", "1e9", "99999999999999999999"):
    assert run("examples/spring.json", env={"SOURCE_DATE_EPOCH": wrong}).returncode == 64, wrong
for wrong in ("now", "24.11.2026", "2026-11-31"):
    assert run("--date", wrong, "examples/spring.json").returncode == 64, wrong

# ---- the logbook: every tank, every figure and check of the JSON, as they stand there
log, lines = work / "log.csv", work / "log.jsonl"
logged = ["examples/greenhouse.json", "examples/backyard.json", "examples/overstocked.json"]
for path in (log, lines):
    done = run("--quiet", "--log", path, "--date", NOW, *logged)
    assert done.returncode == 2 and not done.stderr, done
reports = json.loads(run("--format", "json", "--date", NOW, *logged).stdout)["reports"]
tanks = [(report, tank) for report in reports for tank in report["tanks"]]
rows = list(csv.DictReader(log.open()))
records = [json.loads(line) for line in lines.open()]
assert len(rows) == len(records) == len(tanks) == 5


def flat(value, prefix=""):
    for key, each in value.items():
        if isinstance(each, dict):
            yield from flat(each, f"{prefix}{key}_")
        elif not isinstance(each, list):
            yield prefix + key, each


def as_cell(value):
    return {None: "", True: "true", False: "false"}.get(value, value) if not isinstance(
        value, (int, float)) or isinstance(value, bool) else value


for row, record, (report, tank) in zip(rows, records, tanks):
    assert row["time"] == record["time"] == NOW and row["site"] == report["site"]["name"]
    loops = [each for each in report["loops"] if each["loop"] == row["loop"]]
    assert len(loops) == (1 if row["loop"] else 0)
    figures = dict(flat(tank))
    for loop in loops:
        figures.update((f"loop_{key}", each) for key, each in flat(loop) if key != "loop")
    for prefix, part in [("", tank)] + [("loop_", loop) for loop in loops]:
        for check in part["checks"]:
            name = prefix + check["check"]
            figures[name + "_status"] = check["status"]
            if check["check"] != "early_life":
                figures[name + "_value"] = check["value"]
            if name + "_used_percent" in row:
                figures[name + "_used_percent"] = check["used_percent"]
            else:
                assert check["used_percent"] is None, name
            for limit in ("warn", "fail"):
                if isinstance(check[limit], list):
                    figures[f"{name}_{limit}_low"], figures[f"{name}_{limit}_high"] = check[limit]
                elif check[limit] is not None:
                    end = [e for e in ("", "_low", "_high") if f"{name}_{limit}{e}" in row]
                    assert end, (name, limit)
                    figures[f"{name}_{limit}{end[-1]}"] = check[limit]
    for key, value in figures.items():
        assert key in row, key
        cell = as_cell(value)
        assert row[key] == cell or float(row[key]) == cell, (key, row[key], value)
    for key, value in tank.items():
        if key not in ("checks", "now", "plans"):  # what to do is worked out anew
            assert record[key] == value, key
    assert [c["check"] for c in record["checks"]] == [c["check"] for c in tank["checks"]]
    assert record["inputs"]["volume_l"] == float(row["input_volume_l"])
    assert record["inputs"]["fish"] and row["fish"] and row["record"] == "whole"
header = log.read_text().splitlines()[0].split(",")
assert len(header) == len(set(header)) > 190
# Every column is filled by something.
rich = json.loads(json.dumps(spring))
rich["site"]["barometric_pressure_kpa"] = 93
tank = rich["tanks"][0]
tank["water"].update(salinity_g_kg=1, oxygen_mg_l=7, tan_mg_l=0.3, nitrite_mg_l=0.1,
                     nitrate_mg_l=20, chloride_mg_l=30, carbon_dioxide_mg_l=9, current_cm_s=20,
                     gas_pressure_percent=101)
tank["inflow"].update(tan_mg_l=0.01, ph=7.4, alkalinity_mg_l=80, chlorine_mg_l=0)
tank["fish"].append({"species": "brook", "count": 9, "mean_weight_g": 90, "ration_g_day": 12})
tank["aeration"].append({"kind": "oxygen", "flow_l_min": 0.2, "absorption_percent": 12})
other = json.loads(json.dumps(tank))
other.update(name="other", inflow={"flow_l_min": 35, "oxygen_mg_l": 9, "carbon_dioxide_mg_l": 3},
             feed={"ration_percent_day": 1}, fish=[dict(tank["fish"][0])], aeration=[])
still = {"name": "still", "volume_l": 500, "water": {"temperature_c": 12, "ph": 7.2},
         "fish": [{"species": "rainbow", "count": 9, "mean_weight_g": 90}],
         "feed": {"fasted_h": 30}}
fry = {"name": "fry", "volume_l": 90, "water": {"temperature_c": 9},
       "fish": [{"species": "char", "count": 9, "mean_weight_g": 0.3, "respiration_factor": 0.4}]}
below = {"name": "below", "volume_l": 900, "inflow": {"from": "other", "flow_l_min": 30},
         "fish": [{"species": "rainbow", "count": 9, "mean_weight_g": 90}]}
rich["tanks"] += [other, still, fry, below]
loop = json.loads((source / "examples/backyard.json").read_text())
loop["loops"][0].update(exchange_l_day=0,
                        biofilter={"media_area_m2": 25, "maturity_percent": 20})
loop["loops"][0]["aeration"].append({"kind": "rated", "sotr_g_h": 1, "beta": 1.1})
loop["loops"][0].setdefault("makeup", {})["chlorine_mg_l"] = 0
for number, description in enumerate((rich, loop)):
    (work / f"rich{number}.json").write_text(json.dumps(description))
full = work / "full.csv"
run("--log", full, "--date", NOW, "--readings", "-", work / "rich0.json", work / "rich1.json",
    text=f"time,tank,fish,died,ph\n{NOW},north round,brook,1,7.2\n{NOW},yard loop,,,7.1\n")
filled = {key for row in [*csv.DictReader(full.open()), *csv.DictReader(log.open())]
          for key, value in row.items() if value}
assert filled == set(header), sorted(set(header) - filled)

# It goes on: one header, what was there stays byte for byte.
before = log.read_bytes()
run("--log", log, "--date", NOW, "examples/spring.json")
assert log.read_bytes().startswith(before) and log.read_bytes().count(b"\n") == 7
assert log.read_bytes().count(b"time,site,") == 1
# Readings are among the inputs.
done = run("--log", log, *night[1:])
last = list(csv.DictReader(log.open()))[-1]
assert (last["input_oxygen_mg_l"], last["input_died"], last["readings_status"]) == (
    "5.7", "1", "pass")

# A row that cannot be carried over keeps its own: nothing is changed, nothing cut.
torn = work / "torn.csv"
torn.write_text("time,site,tank,verdict,file\n2026-11-01,a,b,pass,\"x\"y\n2026-11-02,a")
before = torn.read_bytes()
for _ in range(2):
    assert run("--log", torn, "examples/spring.json").returncode == 73
    assert torn.read_bytes() == before and not Path(f"{torn}.cut").exists()

# An older header: columns are added, nothing is lost.
older = work / "older.csv"
rows = list(csv.DictReader(log.open()))
kept = [name for name in header if not name.startswith(("loop_", "density_"))]
with older.open("w", newline="") as file:
    writer = csv.DictWriter(file, kept, extrasaction="ignore", lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
os.chmod(older, 0o640)
link = work / "link.csv"
link.symlink_to(older)
done = run("--log", link, "--date", NOW, "examples/spring.json")
assert done.returncode == 0 and not done.stderr, done
now_rows = list(csv.DictReader(older.open()))
assert older.read_text().splitlines()[0].split(",") == header
assert len(now_rows) == len(rows) + 1 and link.is_symlink()
assert older.stat().st_mode & 0o777 == 0o640
for old, new in zip(rows, now_rows):
    assert {key: old[key] for key in kept} == {key: new[key] for key in kept}
    assert new["loop_verdict"] == "" and new["density_value"] == ""
assert now_rows[-1]["density_value"] and sorted(os.listdir(work)).count(".older.csv.new") == 0
# A hand-made line that does not fit stops that, and nothing is changed.
older.write_text("time,site,tank,verdict\n2026-11-01,Larch Hollow\n")
before = older.read_bytes()
done = run("--log", older, "examples/spring.json")
assert done.returncode == 73 and "line 2" in done.stderr and older.read_bytes() == before

# What would be nothing, as of a variable that is not set, is not taken for nothing.
for option in ("--readings", "--log", "--species", "--tank"):
    assert run(option, "", "examples/spring.json").returncode == 64, option
assert run("--readings", "-", "-", text="").returncode == 64
own = work / "own.csv"
own.write_text("time,tank,ph\n2026-11-25T05:00:00+01:00,north round,7.2\n")
assert run("--readings", own, "--log", own, "examples/spring.json").returncode == 64
# A link to nowhere is a new logbook.
nowhere = work / "nowhere.csv"
nowhere.symlink_to(work / "somewhere.csv")
assert run("--log", nowhere, "examples/spring.json").returncode == 0
assert len((work / "somewhere.csv").read_text().splitlines()) == 2 and nowhere.is_symlink()

# What is no logbook is left as it is: 73.
for name, content in (("notes.csv", "date,what\n2026-11-01,fed\n"), ("text.csv", "hello"),
                      ("newer.csv", ",".join(header + ["brand_new"]) + "\n"),
                      ("twice.csv", "time,site,tank,tank\n"), ("words.jsonl", "hello\n"),
                      ("other.jsonl", '{"a":1}\n'), ("open.jsonl", "hello"),
                      ("diary.jsonl", '{"time":"my diary","text":"precious"}'), ("short.csv", "time"),
                      ("row.jsonl", '{"time":"2026-11-25T05:10:00+01:00","tank":"a","ph":7}'),
                      ("feed.csv", "time,site,tank,ration_g_day\n2026-11-24,a,b,240\n"),
                      ("tail.csv", log.read_text() + "and then I fed them")):
    path = work / name
    path.write_text(content)
    done = run("--log", path, "examples/spring.json")
    assert done.returncode == 73 and f"{name}: nothing was logged: " in done.stderr, (name, done)
    assert path.read_text() == content, name
    assert done.stdout  # the budget is printed all the same
for path in ("-", ""):
    assert run("--log", path, "examples/spring.json").returncode == 64
assert run("--log=", "x.csv", "examples/spring.json").returncode == 64
assert not (source / "x.csv").exists()
done = subprocess.run(["sh", "-c", 'exec "$@" 2>&-', "sh", program, "budget", "--log",
                       work / "notes.csv", "examples/spring.json"], cwd=source, check=False,
                      stdout=subprocess.DEVNULL)
assert done.returncode == 73  # nobody to tell it to
for path in (work, work / "none" / "log.csv", "/dev/null", "/dev/full"):
    assert run("--log", path, "examples/spring.json").returncode == 73, path
# Edited by hand: no last line end, CRLF, a byte order mark.
for change in (lambda b: b.rstrip(b"\n"), lambda b: b.replace(b"\n", b"\r\n"),
               lambda b: b"\xef\xbb\xbf" + b):
    path = work / "edited.csv"
    path.write_bytes(change(log.read_bytes()))
    done = run("--log", path, "--date", NOW, "examples/spring.json")
    assert done.returncode == 0 and not done.stderr, done
    text = path.read_bytes().decode("utf-8-sig")
    assert len(list(csv.DictReader(io.StringIO(text, newline="")))) == len(rows) + 1
# A description in error has no record; the others have theirs.
broken = work / "broken.json"
broken.write_text("{")
done = run("--log", work / "some.csv", broken, "examples/spring.json")
assert done.returncode == 65 and len((work / "some.csv").read_text().splitlines()) == 2
assert run("--log", work / "no.csv", broken).returncode == 65 and not (work / "no.csv").exists()

# ---- trend, against numbers worked out here
STEP = [0.0, 0.3, -0.2, 0.1, -0.3, 0.2, 0.0, -0.1]


def night_of(day):
    description = json.loads(json.dumps(spring))
    tank = description["tanks"][0]
    tank["fish"][0]["mean_weight_g"] = round(150 * 1.012 ** day, 1)
    tank["feed"]["ration_g_day"] = round(200 * 1.012 ** day)
    tank["water"]["temperature_c"] = round(13 + STEP[day % 8], 1)
    tank["water"]["peak_temperature_c"] = round(13.8 + STEP[(day + 3) % 8], 1)
    tank["water"]["oxygen_mg_l"] = round(7.4 - 0.02 * day + STEP[(5 * day + 1) % 8] / 2, 1)
    return json.dumps(description)


books = [work / "spring.csv", work / "spring.jsonl"]
order = list(range(24))
order[10], order[11] = order[11], order[10]  # a clock that was set back
for day in order:
    for book in books:
        run("--log", book, "--date", f"2026-11-{day + 1:02}T21:30:00+01:00", "-",
            text=night_of(day))
done = trend(books[0])
assert done.returncode == 0 and not done.stderr
same(done.stdout, "examples/spring.trend.txt")
page_holds(done.stdout)
assert trend(books[1]).stdout == done.stdout
# A limit that lies over all the points is in the picture too.
fuller = work / "fuller.csv"
rows = list(csv.DictReader(books[0].open()))
for at, row in enumerate(sorted(rows, key=lambda row: row["time"])):
    row["density_value"] = str(20 + 0.2 * at)
with fuller.open("w", newline="") as file:
    writer = csv.DictWriter(file, list(rows[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
chart = trend(fuller).stdout.split("  density, kg/m3\n")[1]
assert re.match(r"\s+24\.9 \|[- ]{50,} +warn\n", chart), chart
svg = work / "trend.svg"
assert trend(books[0], "--chart", svg).returncode == 0
text = svg.read_text()
import xml.etree.ElementTree  # noqa: E402
root = xml.etree.ElementTree.fromstring(text)
SVG = "{http://www.w3.org/2000/svg}"
circles = list(root.iter(SVG + "circle"))
assert len(circles) == 5 * 24 and "nan" not in text and "inf" not in text
# Each record stands where the axis of its strip says, and each limit at its height or by name.
rows = sorted(csv.DictReader(books[0].open()), key=lambda row: row["time"])
strips = root.findall(f"{SVG}g[@class='strip']")
assert [strip.find(f"{SVG}text[@class='heading']").text for strip in strips] == [
    "oxygen, mg/L", "ammonia as NH3, mg/L", "demand for oxygen at peak, g/h", "density, kg/m3",
    "temperature, degC"]
for strip, columns, limits in (
        (strips[0], ("oxygen_measured_mg_l", "oxygen_lowest_mg_l"), ("warn", "fail")),
        (strips[1], ("ammonia_value",), ("warn", "fail")),
        (strips[2], ("oxygen_demand_peak_g_h",), ("supply",)),
        (strips[3], ("density_value",), ("warn", "fail")),
        (strips[4], (), ("warn", "warn", "fail"))):
    scale = strip.findall(f"{SVG}text[@class='value']")
    low, high = scale[0], scale[-1]
    unit = (float(high.text) - float(low.text)) / (float(high.get("y")) - float(low.get("y")))
    seen = [float(low.text) + (float(dot.get("cy")) + 7 - float(low.get("y"))) * unit
            for dot in strip.iter(SVG + "circle")]
    want = [float(row[column]) for column in columns for row in rows]
    assert len(seen) == len(want)
    assert all(abs(a - b) <= 0.11 * abs(unit) for a, b in zip(seen, want)), (seen, want)
    words = [each.text for each in strip.iter(SVG + "text") if "called" in each.get("class", "")]
    assert sorted(each.split()[0] for each in words) == sorted(limits), words
    places = [float(dot.get("cx")) for dot in strip.iter(SVG + "circle")][:24]
    apart = [b - a for a, b in zip(places, places[1:])]
    assert not apart or max(apart) - min(apart) < 0.21, apart
assert len(root.findall(f"{SVG}text[@class='date']")) >= 5
assert root.find(SVG + "title").text == "trend of Larch Hollow, north round"
assert root.get("role") == "img" and "lowest oxygen" in root.find(SVG + "desc").text
assert "prefers-color-scheme:dark" in root.find(SVG + "style").text
lowest = json.loads(trend("--format", "json", books[0]).stdout)["tanks"][0]["series"][1]
meets = datetime.datetime.fromisoformat(rows[-1]["time"]) + datetime.timedelta(
    days=lowest["days_to_warn"]["likely"])
assert f">warn {meets.day} {meets:%b}</text>" in text, meets
strange = work / "strange.csv"  # a name that is no XML
strange.write_text(books[0].read_text().replace(",north round,", ',"a<b&""c",'))
assert trend(strange, "--chart", svg).returncode == 0
root = xml.etree.ElementTree.fromstring(svg.read_text())
assert root.find(f"{SVG}text[@class='title']").text == 'Larch Hollow, a<b&"c'
# The picture of a season: all its days, and over nothing but pictures.
year = json.loads((source / "examples/spring.json").read_text())
year["season"] = {"start": "2026-04-01", "target_weight_g": 350,
                  "monthly_mean_c": [4, 4.5, 6, 8, 11, 14, 16, 16, 13, 10, 7, 5]}
plan = work / "year.json"
plan.write_text(json.dumps(year))
drawn = work / "year.svg"
season = [program, "season", "--chart", drawn, "--format", "csv", plan]
done = subprocess.run(season, capture_output=True, text=True, check=False)
assert done.returncode in (0, 1, 2) and not done.stderr, done
days = list(csv.DictReader(io.StringIO(done.stdout)))
root = xml.etree.ElementTree.fromstring(drawn.read_text())
strips = root.findall(f"{SVG}g[@class='strip']")
assert len(strips) == 4 and len(root.findall(f"{SVG}text[@class='date']")) >= 5
scale = strips[0].findall(f"{SVG}text[@class='value']")
low, high = scale[0], scale[-1]
unit = (float(high.text) - float(low.text)) / (float(high.get("y")) - float(low.get("y")))
(line,) = [each for each in strips[0] if each.get("class") == "line"]
seen = [float(low.text) + (float(place.split()[1]) + 7 - float(low.get("y"))) * unit
        for place in line.get("d")[1:].split("L")]
assert len(seen) == len(days) > 100
assert all(abs(a - float(day["mean_weight_g"])) <= 0.11 * abs(unit) for a, day in zip(seen, days))
season[3] = plan
done = subprocess.run(season, capture_output=True, text=True, check=False)
assert done.returncode in (64, 73) and json.loads(plan.read_text()) == year
# Over a picture of an earlier version, and of one record.
svg.write_text('<svg xmlns="http://www.w3.org/2000/svg" width="940" height="60"></svg>')
assert trend(books[0], "--since", "2026-11-24", "--chart", svg).returncode == 0
root = xml.etree.ElementTree.fromstring(svg.read_text())
assert len(list(root.iter(SVG + "circle"))) == 7
assert len(root.findall(f"{SVG}text[@class='date']")) >= 5

figures = json.loads(trend("--format", "json", books[0]).stdout)["tanks"][0]
rows = sorted(csv.DictReader(books[0].open()), key=lambda row: row["time"])
for series, column, warn, fail, sign in (
        ("measured oxygen", "oxygen_measured_mg_l", "oxygen_warn", "oxygen_fail", -1),
        ("lowest oxygen", "oxygen_lowest_mg_l", "oxygen_warn", "oxygen_fail", -1),
        ("ammonia as NH3", "ammonia_value", "ammonia_warn", "ammonia_fail", 1),
        ("demand at peak", "oxygen_demand_peak_g_h", "oxygen_supply_g_h", None, 1),
        ("density", "density_value", "density_warn", "density_fail", 1)):
    (got,) = [each for each in figures["series"] if each["series"] == series]
    y = [float(row[column]) for row in rows]
    x = list(range(24))
    mean_x, mean_y = sum(x) / 24, sum(y) / 24
    sxx = sum((each - mean_x) ** 2 for each in x)
    slope = sum((a - mean_x) * (b - mean_y) for a, b in zip(x, y)) / sxx
    error = math.sqrt(sum((b - mean_y - slope * (a - mean_x)) ** 2 for a, b in zip(x, y)) / 22 / sxx)
    t = 2.074  # 22 degrees of freedom, NIST/SEMATECH e-Handbook, table 1.3.6.7.2
    assert math.isclose(got["slope_per_week"], 7 * slope, rel_tol=1e-9)
    assert math.isclose(got["slope_per_week_low"], 7 * (slope - t * error), rel_tol=1e-9)
    assert math.isclose(got["slope_per_week_high"], 7 * (slope + t * error), rel_tol=1e-9)
    assert got["value"] == y[-1] and got["warn"] == float(rows[-1][warn])
    end = mean_y + slope * (23 - mean_x)
    for limit, days in ((warn, "days_to_warn"), (fail, "days_to_fail")):
        likely = got[days]["likely"]
        if limit is None:
            assert likely is None
            continue
        value = float(rows[-1][limit])
        want = max(0.0, (value - end) / slope)
        if sign * (y[-1] - value) > 0:  # the last record breaks it
            want = 0
        if likely is not None:
            assert math.isclose(likely, want, abs_tol=1e-6), (series, days, likely, want)
            assert got[days]["soonest"] <= likely
        else:
            assert want > 3650 or slope * sign <= 0
assert figures["records"] == 24 and figures["last"]["oxygen_mg_l"] == json.loads(
    night_of(23))["tanks"][0]["water"]["oxygen_mg_l"]
table = list(csv.DictReader(io.StringIO(trend("--format", "csv", *books).stdout)))
assert len(table) == 5 and {row["records"] for row in table} == {"24"}  # a copy adds nothing
halves = [work / "first.csv", work / "second.csv"]
text = books[0].read_text().splitlines(keepends=True)
halves[0].write_text("".join(text[:12]))
halves[1].write_text(text[0] + "".join(text[12:]))
assert trend(*halves).stdout == trend(books[0]).stdout
recent = trend("--format", "json", "--since", "10d", books[0], now="1795552200")
assert json.loads(recent.stdout)["tanks"][0]["from"] == "2026-11-14T21:30:00+01:00"
late = trend("--since", "2026-12-01", books[0])
assert late.returncode == 0 and "0 records" in late.stdout

# What is no logbook, is not there, or holds too little.
assert trend("examples/spring.json").returncode == 65
assert trend(work / "none.csv").returncode == 66
assert trend("--tank", "no such", books[0]).returncode == 64
assert trend("--chart", work, books[0]).returncode == 73
for precious, status in ((books[0], 64), ("examples/spring.json", 73)):  # a slip of the pen
    before = (source / precious).read_bytes()
    assert trend("--chart", precious, books[0]).returncode == status
    assert (source / precious).read_bytes() == before
# A logbook that has gone silent, a record ahead of the clock, one that breaks a limit now.
silent = trend(books[0], now="1796243700")
assert "nothing was logged for 8 days: is cron alive?" in silent.stdout, silent.stdout
gone = trend("--since", "60d", books[0], now="1803000000")  # not left out in silence
assert gone.returncode == 0 and "0 records" in gone.stdout and "is cron alive?" in gone.stdout
unborn = trend(books[0], now="1577836800")
assert unborn.returncode == 0 and "24 records ahead of this clock" in unborn.stdout
early = trend(books[0], now="1794602100")
assert "11 records ahead of this clock" in early.stdout, early.stdout
table = list(csv.DictReader(books[0].open()))
last = dict(table[-1], time="2026-11-24T21:31:00+01:00", oxygen_measured_mg_l="2.125")
spoilt = work / "spoilt.csv"
with spoilt.open("w", newline="") as file:
    writer = csv.DictWriter(file, list(table[0]), lineterminator="\n")
    writer.writeheader()
    writer.writerows(table + [last])
series = json.loads(trend("--format", "json", spoilt).stdout)["tanks"][0]["series"][0]
assert series["series"] == "measured oxygen" and series["value"] == 2.125
assert series["days_to_fail"]["likely"] == 0, series
# Cells that are no numbers have their place; an open quote costs its line.
text = spoilt.read_text()
for cell in ("3,1", "abc", "0x10", "1e400", "nan"):
    spoilt.write_text(text.replace(",2.125,", f',"{cell}",'))
    done = trend(spoilt)
    assert done.returncode == 65 and f'/oxygen_measured_mg_l: must be a number or empty, got "{cell}"' \
        in done.stderr, (cell, done.stderr)
# Of two at one time the second stands: a run put right.
put_right = work / "put_right.csv"
put_right.write_text("".join(books[0].read_text().splitlines(keepends=True)[:25]))
again = json.loads(night_of(23))
again["tanks"][0]["fish"][0]["count"] = 60
run("--log", put_right, "--date", "2026-11-24T21:30:00+01:00", "-", text=json.dumps(again))
assert "60 fish" in trend(put_right).stdout and "24 records" in trend(put_right).stdout
# JSON Lines are as strict.
bad_lines = work / "bad.jsonl"
bad_lines.write_text(books[1].read_text().replace('"fish_count":120', '"fish_count":"x"', 1))
done = trend(bad_lines)
assert done.returncode == 65 and "bad.jsonl:1:1: /fish_count: must be a number" in done.stderr, done
spoilt.write_text(text.replace(",Larch", ',"Larch', 1))
done = trend(spoilt)
assert done.returncode == 65 and "spoilt.csv:2:1: a quote is opened" in done.stderr
assert "24 records" in done.stdout
one = trend("--since", "2026-11-24", books[0])
assert one.returncode == 0 and "1 record," in one.stdout and "three records are needed" in one.stdout, one.stdout
page_holds(one.stdout)
print("the night's work is done")
