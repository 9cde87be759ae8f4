"""Fish in a bucket: the command's page and JSON, against this contract.

    haul.py PROGRAM SOURCE_DIRECTORY
"""
import json
import re
import subprocess
import sys
from pathlib import Path

program, source = sys.argv[1], Path(sys.argv[2])
BUCKET = ["--water-l", "20", "--count", "6", "--weight", "250", "--temperature", "14",
          "--minutes", "40"]
TRIP = ["trip", "verdict", "fish_count", "biomass_kg", "load_kg_l", "minutes", "minutes_to_warn",
        "minutes_to_fail", "minutes_to_danger", "oxygen_start_mg_l", "oxygen_lowest_mg_l",
        "oxygen_end_mg_l", "carbon_dioxide_end_mg_l", "tan_end_mg_l", "nh3_end_mg_l", "ph_end",
        "checks", "plans"]


def run(*options, text=None, env=None):
    return subprocess.run([program, "haul", *map(str, options)], input=text, cwd=source,
                          capture_output=True, text=True, check=False, env=env)


def trip_of(*options, text=None):
    done = run("--format", "json", *options, text=text)
    whole = json.loads(done.stdout)
    assert list(whole) == ["format", "program", "date", "verdict", "reports"]
    trip = whole["reports"][0]["trips"][0]
    assert list(trip) == TRIP, list(trip)
    assert done.returncode == {"pass": 0, "unchecked": 0, "warn": 1, "fail": 2}[trip["verdict"]]
    for plan in trip["plans"]:
        assert list(plan) == ["way", "changes", "verdict_after", "left"]
        for change in plan["changes"]:
            assert list(change)[:4] == ["action", "value", "unit", "text"]
    return trip


# ---- the example of the README, with a bare environment
done = run(*BUCKET, "--air", "2", env={})
page = (source / "examples/bucket.haul.txt").read_text(encoding="utf-8")
assert done.returncode == 2 and done.stdout == page, done.stdout
assert page.isascii() and all(len(line) <= 80 for line in page.splitlines())
assert len(page.splitlines()) <= 24
assert re.match(r"fail  6 rainbow trout, 1.5 kg, in 20 L for 40 min: with its air \d+ min to 6 mg/L,",
                page)
assert "1 fish at a time" in page and "NOW" in page.splitlines()[2]

# ---- a stone is no worse than none, and what is offered comes true when it is typed
bare, stone = trip_of(*BUCKET), trip_of(*BUCKET, "--air", "2")
assert stone["minutes_to_danger"] > bare["minutes_to_danger"]
assert stone["carbon_dioxide_end_mg_l"] < bare["carbon_dioxide_end_mg_l"]
by_action = {plan["changes"][0]["action"]: plan for plan in stone["plans"]}
typed = {"fewer_fish": "--count", "more_water": "--water-l", "shorter": "--minutes"}
for action, option in typed.items():
    plan = by_action[action]
    options = list(BUCKET)
    options[options.index(option) + 1] = plan["changes"][0]["value"]
    after = trip_of(*options, "--air", "2")
    assert after["verdict"] == plan["verdict_after"], (action, after)
    assert [c["check"] for c in after["checks"] if c["status"] in ("warn", "fail")] == plan["left"]
after = trip_of(*BUCKET, "--air", 2 + by_action["add_air"]["changes"][0]["value"])
assert after["verdict"] == by_action["add_air"]["verdict_after"]

# ---- a trip of a description, in other units, and by hand
described = {"format": 1, "site": {"name": "Mill Bottom", "altitude_m": 0}, "tanks": [
    {"name": "round", "volume_l": 2000, "water": {"temperature_c": 14}, "fish": []}],
    "trips": [{"name": "to the pond", "water_gal_us": 200, "temperature_f": 54, "hours": 2,
               "fasted_h": 72, "ph": 7.4, "alkalinity_mg_l": 90, "arrival_temperature_c": 13.5,
               "fish": [{"species": "brook trout", "count": 60, "mean_weight_g": 200}],
               "aeration": [{"kind": "oxygen", "flow_l_min": 1.5, "absorption_percent": 10}],
               "water_change": {"share": 0.3, "every_min": 60}}]}
trip = trip_of("-", text=json.dumps(described))
assert trip["trip"] == "to the pond" and trip["biomass_kg"] == 12
tempering = (13.5 - (54 - 32) / 1.8) / 2 * 60
assert abs(trip["minutes"] - (120 + tempering)) < 1e-9
assert trip["ph_end"] < 7.4 and trip["nh3_end_mg_l"] > 0
# ---- a budget names the trips that do not pass, at night too, and is no better than they are
def budget_of(site, *options):
    return subprocess.run([program, "budget", *options, "-"], input=json.dumps(site), cwd=source,
                          capture_output=True, text=True, check=False)


spring = json.loads((source / "examples/spring.json").read_text(encoding="utf-8"))
assert budget_of(spring).returncode == 0
small = dict(described["trips"][0], water_gal_us=5)
fits = dict(described["trips"][0], name="with room", water_gal_us=400, aeration=[{
    "kind": "oxygen", "flow_l_min": 0.3, "absorption_percent": 10}])
bad = dict(spring, trips=[fits, small])
verdicts = {each["trip"]: each["verdict"] for each in
            json.loads(run("--format", "json", "-", text=json.dumps(bad)).stdout)["reports"][0]["trips"]}
assert verdicts["to the pond"] == "fail" and verdicts["with room"] in ("pass", "unchecked"), verdicts
for options in ((), ("--quiet",)):
    done = budget_of(bad, *options)
    assert done.returncode == 2 and re.search(
        "fail:? .*trip to the pond: .* fail; load warns", " ".join(done.stdout.split())), done
    assert options or "trip with room" in done.stdout
    assert not options or "with room" not in done.stdout
assert budget_of(bad, "--tank", "north round").returncode == 0
assert budget_of(dict(spring, trips=[fits])).returncode == 0
# The same trips as haul prints, whole, and without any tank.
alone = {key: bad[key] for key in ("format", "site", "trips")}
for document, status in ((bad, 2), (alone, 2), (dict(alone, tanks=[]), 2),
                         (dict(alone, trips=[fits]), 0)):
    done = budget_of(document, "--format", "json")
    assert done.returncode == status, done
    told = json.loads(done.stdout)["reports"][0]
    hauled = json.loads(run("--format", "json", "-", text=json.dumps(document)).stdout)["reports"][0]
    assert told["trips"] == hauled["trips"] and told["verdict"] == max(
        [told["verdict"], *(trip["verdict"] for trip in told["trips"])],
        key=["pass", "unchecked", "warn", "fail"].index)
for wrong in (dict(alone, trips=[]), dict(alone, trips=[], tanks=[]), {"format": 1, "site": spring["site"]}):
    done = budget_of(wrong)
    assert done.returncode == 65 and "needs one t" in done.stderr, done

# What mends a trip: water aerated first, less oxygen; fish too small to know; fish in danger.
empty_water = ["--water-l", 60, "--count", 6, "--weight", 300, "--temperature", 14, "--minutes", 20]
starved = run(*empty_water, "--oxygen-percent", 40)
assert "aerate the water before the fish go in" in starved.stdout, starved.stdout
assert "NOW, if they are in it" in starved.stdout
assert run(*empty_water, "--oxygen-percent", 9.5).returncode == 64  # mg/L
low = run("--water-l", 60, "--count", 10, "--weight", 300, "--temperature", 14, "--minutes", 20)
assert low.returncode == 2 and "NOW, if they are in it" in low.stdout
fry = run("--water-l", 20, "--count", 60, "--weight", 0.3, "--temperature", 14, "--minutes", 60)
assert "early life" in fry.stdout and "were kg meant?" in fry.stdout
gassed = dict(described["trips"][0], fasted_h=100, minutes=60, water_l=400, aeration=[{
    "kind": "oxygen", "flow_l_min": 3, "absorption_percent": 10}])
for key in ("water_gal_us", "hours", "water_change"):
    gassed.pop(key, None)
trip = trip_of("-", text=json.dumps(dict(described, trips=[gassed])))
less = [plan for plan in trip["plans"] if plan["changes"][0]["action"] == "less_oxygen"]
assert less and "oxygen_excess" not in less[0]["left"] and less[0]["verdict_after"] == "warn", less
gassed["aeration"][0]["flow_l_min"] = less[0]["changes"][0]["value"]
after = trip_of("-", text=json.dumps(dict(described, trips=[gassed])))
assert after["verdict"] == less[0]["verdict_after"], after
nothing = run("examples/cut.json")
assert "nothing was checked" in nothing.stdout

us = trip_of("--water-gal", 5, "--count", 6, "--weight-oz", 9, "--temperature-f", 57, "--minutes", 40)
metric = trip_of("--water-l", 5 * 3.785411784, "--count", 6, "--weight", 9 * 28.349523125,
                 "--temperature", (57 - 32) / 1.8, "--minutes", 40)
assert abs(us["minutes_to_danger"] - metric["minutes_to_danger"]) < 1e-9
page = run("--units", "us", *BUCKET).stdout
assert "3.31 lb" in page and not re.search(r"\d (kg|L|L/min|degC)\b", page.replace("kg/L", "")), page

# ---- what is missing or cannot be
for missing in ("--water-l", "--count", "--weight", "--temperature", "--minutes"):
    options = list(BUCKET)
    at = options.index(missing)
    del options[at:at + 2]
    done = run(*options)
    assert done.returncode == 64 and missing in done.stderr, (missing, done)
for options in (["--count", "2.5"], ["--water-l", "1"], ["--species", "carp"], ["--water-gal", "5"]):
    options = [each for each in BUCKET] + options
    if options[-2] in BUCKET:
        at = BUCKET.index(options[-2])
        options = BUCKET[:at] + options[-2:] + BUCKET[at + 2:]
    assert run(*options).returncode == 64, options
assert run("--air", "2", "examples/cut.json").returncode == 64
assert "no trips are described" in run("examples/cut.json").stdout
for key, value in (("minutes", 3), ("water_l", 1), ("fish", []), ("hours", None)):
    wrong = json.loads(json.dumps(described))
    if value is None:
        del wrong["trips"][0][key]
    else:
        wrong["trips"][0][key] = value
    assert run("-", text=json.dumps(wrong)).returncode == 65, key
# A trip that passes passes as a whole, typed and described.
typed = ["--water-l", 200, "--count", 5, "--weight", 100, "--temperature", 10, "--minutes", 20, "--ph", 7.4,
         "--alkalinity", 80, "--air", 6, "--depth-m", 0.3]
done = run("--format", "json", *typed)
assert done.returncode == 0, done
whole = json.loads(done.stdout)
assert whole["verdict"] == whole["reports"][0]["verdict"] == "pass", whole
print("the bucket holds")
