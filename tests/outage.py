"""The power cut: the command's page and JSON, against this contract.

    outage.py PROGRAM SOURCE_DIRECTORY
"""
import json
import re
import subprocess
import sys
from pathlib import Path

program, source = sys.argv[1], Path(sys.argv[2])
NOW = "2026-11-25T03:25:00+01:00"
cut = json.loads((source / "examples/cut.json").read_text(encoding="utf-8"))
READINGS = (source / "examples/cut.readings.csv").read_text(encoding="utf-8")
CASES = {"all_stops", "water_goes_on", "air_goes_on", "backup"}


def run(*options, text=None, readings=None, env=None):
    more = []
    if readings is not None:
        path = Path("/dev/stdin") if text is None else None
        assert path is not None
        more, text = ["--readings", "-"], readings
    return subprocess.run([program, "outage", "--date", NOW, *more, *map(str, options)], input=text,
                          cwd=source, capture_output=True, text=True, check=False, env=env)


def tanks_of(done):
    whole = json.loads(done.stdout)
    assert list(whole)[:5] == ["format", "program", "date", "verdict", "reports"], whole
    assert whole["format"] == 1 and whole["date"] == NOW
    report = whole["reports"][0]
    assert list(report)[:7] == ["file", "site", "verdict", "warnings", "tanks", "loops", "errors"]
    for tank in report["tanks"]:
        assert list(tank) == ["tank", "verdict", "oxygen_now_mg_l", "oxygen_now_from", "demand_g_h",
                              "cases", "judged_case", "backup", "actions", "checks"], list(tank)
        assert tank["oxygen_now_from"] in ("measured", "predicted", "saturation")
        for case in tank["cases"]:
            assert list(case) == ["case", "steady_mg_l", "minutes_to_stress", "minutes_to_danger"]
            assert case["case"] in CASES
        assert tank["judged_case"] in {case["case"] for case in tank["cases"]}
        assert tank["backup"] is None or (
            list(tank["backup"]) == ["hours", "holds"]
            and tank["backup"]["holds"] in ("warn", "fail", "danger", "nothing"))
        for action in tank["actions"]:
            assert list(action) == ["action", "value", "unit", "text", "minutes_to_danger_after"]
        assert [check["check"] for check in tank["checks"]] == ["oxygen_reserve"]
        judged = {case["case"]: case for case in tank["cases"]}[tank["judged_case"]]
        assert tank["checks"][0]["value"] == judged["minutes_to_danger"]
        assert tank["verdict"] == tank["checks"][0]["status"]
    return {tank["tank"]: tank for tank in report["tanks"]}


# ---- the example of the README
example = ["--since", "03:18", "examples/cut.json"]
done = run(*example, readings=READINGS)
page = (source / "examples/cut.outage.txt").read_text(encoding="utf-8")
assert done.returncode == 0 and done.stdout == page, done.stdout
assert page.isascii() and all(len(line) <= 80 for line in page.splitlines())
assert len(page.splitlines()) <= 24
head = " ".join(page.splitlines()[:4])
assert re.search(r"big round: 35 kg, \d+ min to stress, \d+ min to danger \(at 04:\d\d\)", head)
tanks = tanks_of(run("--format", "json", *example, readings=READINGS))
big, spring = tanks["big round"], tanks["spring race"]
assert big["judged_case"] == "all_stops" and spring["judged_case"] == "water_goes_on"
assert abs(big["backup"]["hours"] - 12 * 100 * 0.5 * 0.85 / 45) < 1e-12
assert spring["backup"] is None
# Four minutes of a straight line from what was read at 03:21, by the demand that it says.
budget = json.loads(subprocess.run([program, "budget", "--format", "json", "examples/cut.json"],
                                   cwd=source, capture_output=True, text=True, check=False).stdout)
biomass = budget["reports"][0]["tanks"][0]["biomass_kg"]
slope = big["demand_g_h"] / (3 - biomass / 1000) / 60
assert abs(big["oxygen_now_mg_l"] - (7.1 - 4 * slope)) < 1e-9
stops = big["cases"][0]
assert stops["case"] == "all_stops"
assert abs(stops["minutes_to_danger"] - (big["oxygen_now_mg_l"] - 3) / slope) < 1e-9
# What to do is in this order, and only what can be done without mains.
order = [action["action"] for action in big["actions"]]
known = ["look_at_inflow", "do_not_feed", "start_backup", "add_air", "add_oxygen", "pour", "move_fish", "kill",
         "do_not_net", "change_water"]
assert order == sorted(order, key=known.index) and order[0] == "do_not_feed"
assert [each["action"] for each in spring["actions"]][0] == "look_at_inflow"
# what could not be read is said first: there may be fish in it
unread = subprocess.run([program, "outage", "-"], input='{"format": 1, "site": {"name": "x", '
                        '"altitude_m": 0}, "tanks": [{"name": "a"}]}', cwd=source,
                        capture_output=True, text=True, check=False)
assert unread.returncode == 65 and unread.stdout.startswith("LOOK AT ALL TANKS"), unread
broken = subprocess.run([program, "outage", "-"], input='{"format": 1,', cwd=source,
                        capture_output=True, text=True, check=False)
assert broken.returncode == 65 and re.match(r"LOOK AT ALL TANKS.*battery\s+air.*no\s+minutes",
                                            broken.stdout, re.S), broken
head = " ".join(page.split()[:60])
assert "Isolate the mains" in head and "since 03:18, 7 min ago" in head
assert page.splitlines()[1] == "First, big round: start its backup."
assert "every air pump" not in page

# ---- a power cut tried as a grower would: the blower is out
blower = json.loads(json.dumps(cut))
for tank in blower["tanks"]:
    tank.pop("backup", None)
    tank.pop("aeration", None)
    tank["inflow"].pop("keeps_flowing", None)
for oxygen, status in ((9.0, 1), (5.0, 1), (4.0, 2), (2.0, 2)):  # of unknown age
    blower["tanks"][0]["water"]["oxygen_mg_l"] = oxygen
    done = run("--format", "json", "--tank", "big round", "-", text=json.dumps(blower))
    assert done.returncode == status, (oxygen, done.stdout)
# Nothing is known: never a pass.
for tank in blower["tanks"]:
    tank["inflow"] = {"flow_l_min": 0}
    tank["water"].pop("oxygen_mg_l", None)
done = run("--format", "json", "-", text=json.dumps(blower))
assert all(tank["verdict"] != "pass" and tank["oxygen_now_from"] == "saturation"
           for tank in tanks_of(done).values())
assert "taken as full: measure" in " ".join(run("-", text=json.dumps(blower)).stdout.split())

# ---- in other units, with a bare environment, and what is mistyped
page = run("--units", "us", *example, readings=READINGS, env={}).stdout
assert "77.2 lb" in page and not re.search(r"\d (kg|L/min|L|g)\b", page), page
assert run("--since", "05:30", "examples/cut.json").returncode == 2  # yesterday's
for since, words in (("15:26", "since 15:26, 11.9 h ago"), ("15:25", "since 2026-11-24 15:25, 12 h ago")):
    assert words in " ".join(run("--since", since, "examples/cut.json").stdout.split()), since
ahead = run("--since", "03:30", "examples/cut.json")  # a clock that is wrong
assert ahead.returncode == 64 and "ahead of this clock, which reads 2026-11-25 03:25" in ahead.stderr
# The meter as it reads, without a file.
for oxygen, status in ((6.9, 0), (5.2, 1), (4.0, 2), (2.9, 2)):
    done = run("--format", "json", "--tank", "big round", "--oxygen", oxygen, "examples/cut.json")
    tank = tanks_of(done)["big round"]
    assert done.returncode == status and tank["oxygen_now_mg_l"] == oxygen, (oxygen, done)
    assert tank["oxygen_now_from"] == "measured"
done = run("--oxygen", "6.9", "examples/cut.json")
assert done.returncode == 64 and "big round, or spring race" in done.stderr, done
# A reading that cannot be used is no pass, and said at the tank.
for row, words in (("2026-11-25T03:31:00+01:00,spring race,9.4,2.0", "LOOK AT IT: line 2 lies"),
                   ("2026-11-25T03:21:00+01:00,spring raceway,9.4,2.0", "could not all be used"),
                   ("03:21,spring race,9.4,2.0", "LOOK AT IT: line 2 has an error")):
    rows = "time,tank,temperature_c,oxygen_mg_l\n" + row + "\n"
    tank = tanks_of(run("--format", "json", "examples/cut.json", readings=rows))["spring race"]
    assert tank["verdict"] == "unchecked", (row, tank)
    done = run("examples/cut.json", readings=rows)
    assert words in " ".join(done.stdout.split()), (row, done.stdout)
assert "YYYY-MM-DDT03:21" in done.stderr, done.stderr  # how to write it
# A backup that ran all the time has less left; more oxygen than water holds is no reading.
done = run("--since", "22:25", "--tank", "big round", "--oxygen", 6.9, "examples/cut.json")
assert "If it has run since the power failed, 6.3 h of it are left" in " ".join(done.stdout.split())
for oxygen in (18, 30):
    done = run("--tank", "big round", "--oxygen", oxygen, "examples/cut.json")
    assert "more than the water can hold: measure" in " ".join(done.stdout.split()), done.stdout
    tank = tanks_of(run("--format", "json", "--tank", "big round", "--oxygen", oxygen,
                        "examples/cut.json"))["big round"]
    assert tank["oxygen_now_mg_l"] < 11 and tank["verdict"] != "pass"
# What an inflow holds on an ordinary day is believed; far less, or what holds nobody, is not.
spring = json.loads(json.dumps(cut))
spring["tanks"][1]["inflow"]["flow_l_min"] = 50
spring["tanks"][1]["fish"][0]["count"] = 410
held = [case for case in tanks_of(run("--format", "json", "-", text=json.dumps(spring)))["spring race"][
    "cases"] if case["case"] == "water_goes_on"][0]["steady_mg_l"]
assert 5 < held < 6.3, held
for oxygen, judged in ((held + 0.2, "water_goes_on"), (held - 0.1, "water_goes_on"),
                       (held - 0.3, "all_stops")):
    tank = tanks_of(run("--format", "json", "--tank", "spring race", "--oxygen", oxygen, "-",
                        text=json.dumps(spring)))["spring race"]
    assert tank["judged_case"] == judged, (oxygen, tank)
# Nobody is told to kill fish that a backup holds for hours.
assert "kill" not in run("--tank", "big round", "--oxygen", 6.9, "examples/cut.json").stdout
assert "kill" in run("--tank", "big round", "-", text=json.dumps(
    {**cut, "tanks": [{key: value for key, value in cut["tanks"][0].items() if key != "backup"}]})).stdout
# Without a backup the first thing is to pour; of water that leaves them low nothing is counted on.
bare = json.loads(json.dumps(cut))
del bare["tanks"][0]["backup"]
assert run("--tank", "big round", "-", text=json.dumps(bare)).stdout.splitlines()[1].startswith(
    "First, big round: scoop its water and pour it back")
bare["tanks"][1]["inflow"]["flow_l_min"] = 30
minutes = []
for count in (150, 300, 450, 600):
    bare["tanks"][1]["fish"][0]["count"] = count
    tank = tanks_of(run("--format", "json", "--tank", "spring race", "--oxygen", 5.4, "-",
                        text=json.dumps(bare)))["spring race"]
    assert tank["judged_case"] == "all_stops"
    minutes.append(tank["checks"][0]["value"])
assert minutes == sorted(minutes, reverse=True) and None not in minutes, minutes
for wrong in ("2026-11-26", "3 o'clock", "25:00", ""):
    assert run("--since", wrong, "examples/cut.json").returncode == 64, wrong
done = run("--since", "03:18", "examples/none.json")
assert done.returncode == 66 and "No such file" in done.stderr
for backup, words in (({"kind": "oxygen", "flow_l_min": 2, "absorption_percent": 10}, "how long"),
                      ({"kind": "rated", "sotr_g_h": 9, "hours": 2, "battery_v": 12}, "how long"),
                      ({"kind": "rated", "sotr_g_h": 9, "battery_v": 12}, "together"),
                      ({"kind": "rated", "sotr_g_h": 9, "cylinder_l": 9, "cylinder_bar": 99},
                       "pure oxygen"),
                      ({"kind": "cascade", "drop_m": 1, "hours": 2}, "diffuser, rated, oxygen")):
    wrong = json.loads(json.dumps(cut))
    wrong["tanks"][0]["backup"] = [backup]
    done = run("-", text=json.dumps(wrong))
    assert done.returncode == 65 and words in done.stderr, (backup, done.stderr)
print("the power cut holds")
