"""A row of tanks from outside: the README's example against the same row copied by hand, tank by tank;
errors, with both places; readings in an upper tank; the pages that name the row.

    row.py PROGRAM SOURCE_DIRECTORY
"""
import json
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

program, source = sys.argv[1:3]
example = json.loads(Path(source, "examples/raceways.json").read_text(encoding="utf-8"))
readme = Path(source, "README.md").read_text(encoding="utf-8")
DATE = "2026-11-25T05:15:00+01:00"
work = Path(tempfile.mkdtemp(prefix="coldtank-row-"))
READINGS, LOG = work / "readings.csv", work / "log.csv"


def run(command, description, *options, status=None):
    done = subprocess.run([program, command, *options, "-"], input=json.dumps(description),
                          capture_output=True, text=True, check=False)
    if status is not None:
        assert done.returncode == status, (done.returncode, done.stdout, done.stderr)
    return done


def report(description, command="budget", *options):
    return json.loads(run(command, description, "--date", DATE, "--format", "json",
                          *options).stdout)["reports"][0]


# 1. Copied by hand: the mean that is printed for a tank, three digits, as the inflow of the next.
whole = report(example)["tanks"]
by_hand = []
for tank in example["tanks"]:
    alone = json.loads(json.dumps(tank))
    if by_hand:
        above = by_hand[-1]
        water = example["tanks"][0]["water"]
        alone["water"].update({key: water[key] for key in ("temperature_c", "peak_temperature_c")})
        alone["inflow"] = {"flow_l_min": tank["inflow"]["flow_l_min"],
                           "oxygen_mg_l": float(f"{above['oxygen']['steady_mean_mg_l']:.3g}"),
                           "tan_mg_l": above["ammonia"]["tan_mg_l"],
                           "carbon_dioxide_mg_l": above["carbon_dioxide"]["balance_mg_l"]}
    by_hand.append(report({**example, "tanks": [alone]})["tanks"][0])
copied, true = (each[-1]["oxygen"]["lowest_mg_l"] for each in (by_hand, whole))
assert (by_hand[-1]["verdict"], whole[-1]["verdict"]) == ("warn", "fail")
assert copied - true > 1.4, (copied, true)
said = re.search(r"gets ([\d.]+) mg/L, a warning, for the lower one where ([\d.]+) is the truth", readme)
assert said.groups() == (f"{copied:.2f}", f"{true:.2f}"), (said.groups(), copied, true)
# The first has nothing above it.
assert by_hand[0]["oxygen"] == whole[0]["oxygen"]
# What is handed down is what the tank above lets out.
for above, below in zip(whole, whole[1:]):
    assert len(below["inflow"]) == 1 and below["inflow"][0]["from"] == above["tank"]
    assert below["inflow"][0]["oxygen_mg_l"] == above["oxygen"]["steady_mean_mg_l"]
    assert below["inflow"][0]["oxygen_peak_mg_l"] == above["oxygen"]["lowest_mg_l"]
    assert below["inflow"][0]["tan_mg_l"] == above["ammonia"]["tan_mg_l"]
    assert below["inflow"][0]["carbon_dioxide_mg_l"] == above["carbon_dioxide"]["balance_mg_l"]
assert "inflow" not in whole[0]

# 2. In any order, and by another spelling of the name, the same.
turned = json.loads(json.dumps(example))
turned["tanks"].reverse()
turned["tanks"][0]["inflow"]["from"] = "MIDDLE  Raceway"
assert report(turned)["tanks"] == whole[::-1]

# 3. Errors, with both places; what can be worked out is.
text = json.dumps(example, indent=1)
for wrong, says, left in (
        (text.replace('"from": "middle raceway",\n    "flow_l_min": 200',
                      '"from": "middle raceway",\n    "flow_l_min": 250'),
         r'"middle raceway" receives 200 L/min and gives 250 \(250 to "lower raceway"\).*; '
         r"first at line \d+, column \d+", ["upper raceway", "middle raceway"]),
        (text.replace('"from": "upper raceway"', '"from": "lower raceway"'),
         r'a circle, each of the next: "middle raceway", "lower raceway", "middle raceway".*first at',
         ["upper raceway"]),
        (text.replace('"from": "upper raceway"', '"from": "uper raceway"'),
         r'no tank is named "uper raceway"; did you mean upper raceway\?', ["upper raceway"]),
        (text.replace('"ph": 7.4', '"ph": 74'), r'"middle raceway", the tank above, has errors',
         ["upper raceway"])):
    assert wrong != text
    done = run("budget", json.loads(wrong), "--format", "json", status=65)
    assert re.search(says, done.stderr), done.stderr
    # Said of every part that is left out, and never a pass.
    answer = json.loads(done.stdout)["reports"][0]
    assert [tank["tank"] for tank in answer["tanks"]] == left, (says, done.stderr)
    assert answer["verdict"] != "pass"

# 4. A reading of this hour in the upper raceway is felt below, and only where it is the worse.
for oxygen, lower in ((5.5, True), (10.9, False)):
    rows = f"time,tank,oxygen_mg_l\n2026-11-25T05:00:00+01:00,upper raceway,{oxygen}\n"
    READINGS.write_text(rows, encoding="utf-8")
    read = report(example, "budget", "--readings", str(READINGS))["tanks"]
    assert (read[1]["inflow"][0]["oxygen_mg_l"] == oxygen) == lower
    assert (read[2]["oxygen"]["lowest_mg_l"] < whole[2]["oxygen"]["lowest_mg_l"]) == lower
# Temperatures that were read above are those below, where these have none of their own.
READINGS.write_text("time,tank,temperature_c\n"
                                    "2026-11-25T05:00:00+01:00,upper raceway,9\n", encoding="utf-8")
cool = run("budget", example, "--date", DATE, "--readings", str(READINGS), "--all").stdout
assert len(re.findall(r", 9 degC \(warmest", cool)) == 3, cool

# Warm water from above is warm below: where no warmest hour is told, and where one was read above.
pond = json.loads(json.dumps(example))
pond["tanks"] = pond["tanks"][:2]
pond["tanks"][0]["water"].update(temperature_c=13, peak_temperature_c=22)
pond["tanks"][1]["water"] = {"temperature_c": 13, "ph": 7.4}
below = report(pond)["tanks"][1]
assert [c["value"] for c in below["checks"] if c["check"] == "temperature"] == [22], below["checks"]
pond["tanks"][0]["water"]["peak_temperature_c"] = 14
pond["tanks"][1]["water"]["peak_temperature_c"] = 14
assert [c["status"] for c in report(pond)["tanks"][1]["checks"]
        if c["check"] == "temperature"] == ["pass"]
READINGS.write_text("time,tank,temperature_c\n"
                                    "2026-11-25T05:00:00+01:00,upper raceway,21\n",
                                    encoding="utf-8")
below = report(pond, "budget", "--readings", str(READINGS))["tanks"][1]
assert [c["status"] for c in below["checks"] if c["check"] == "temperature"] == ["fail"], below
# A spring tells its temperature, and the tank need not.
mixed = json.loads(json.dumps(example))
mixed["tanks"][2]["inflow"] = [mixed["tanks"][2]["inflow"],
                               {"flow_l_min": 50, "oxygen_percent": 70, "temperature_c": 7}]
mixed["tanks"][2].pop("water")
page = run("budget", mixed).stdout
assert "10.2 degC (warmest 12.6)" in re.sub(r"\s+", " ", page), page

# 5. The pages name the row.
page = run("capacity", example, "--date", DATE, "--share").stdout
flat = re.sub(r"\s+", " ", page)
assert "oxygen in lower raceway stops it" in flat, page
assert "row upper raceway, middle raceway, lower raceway, all tanks in proportion" in flat, page
shared = report(example, "capacity", "--share")
assert [each["row"] for each in shared["rows"]] == ["upper raceway, middle raceway, lower raceway"]
assert shared["loops"] == [] and shared["rows"][0]["limited_in"] == "lower raceway"
most = shared["rows"][0]["capacity_count"] / 3
for each, fits in ((int(most), True), (int(most) + 2, False)):
    stocked = json.loads(json.dumps(example))
    for tank in stocked["tanks"]:
        tank["fish"][0]["count"] = each
    status = [check["status"] for tank in report(stocked)["tanks"] for check in tank["checks"]
              if check["check"] == "oxygen"]
    assert (set(status) == {"pass"}) == fits, (each, status)
out = re.sub(r"\s+", " ", run("outage", example, "--date", DATE).stdout)
assert "from middle raceway, counted as the" in out, out
pumped = json.loads(json.dumps(example))
del pumped["tanks"][1]["inflow"]["keeps_flowing"]
out = re.sub(r"\s+", " ", run("outage", pumped, "--date", DATE).stdout)
assert out.count("is not described to keep flowing (keeps_flowing)") == 2, out
# A tank above that reads low may have lost its water: nobody counts on it, and looks there first.
READINGS.write_text("time,tank,oxygen_mg_l\n"
                                    "2026-11-25T05:10:00+01:00,upper raceway,4.5\n",
                                    encoding="utf-8")
out = re.sub(r"\s+", " ", run("outage", example, "--date", DATE, "--readings",
                              str(READINGS)).stdout)
assert "Its water from upper raceway is not counted on, as that tank reads low" in out, out
assert out.count("go and look at the inlet") == 3 and "kill" not in out, out
no_test = re.sub(r"\s+", " ", run("droptest", example, "--before").stdout)
assert no_test.count("tanks below live on its water") == 2, no_test
working = run("budget", example, "--explain").stdout
assert "oxygen, peak, out of middle raceway" in working
# A starter that is read as it stands, and passes but for what nobody has measured.
starter = subprocess.run([program, "starter", "--row"], capture_output=True, text=True, check=True)
assert [tank["verdict"] for tank in report(json.loads(starter.stdout))["tanks"]] == ["pass"] * 3

# 6. A change of water, and the filter of a loop that is new.
wet = json.loads(Path(source, "examples/spring.json").read_text(encoding="utf-8"))
wet["tanks"][0]["water"].update(tan_mg_l=2.6, nitrate_mg_l=90)
page = re.sub(r"\s+", " ", run("budget", wet, "--change-percent", "30").stdout)
assert "30 % of the water (600 of 2000 L) for its new inflow's water: TAN 2.60 to 1.82 (2 at most)" in page, page
assert "TAN needs 23.1 %, at once" in page, page
change = report(wet, "budget", "--change-percent", "30")["tanks"][0]["water_change"]
assert change["worst"] == "tan_mg_l" and change["changes"] == 1
assert {each["what"]: each["after"] for each in change["values"]}["nitrate_mg_l"] == 63
nitrate = [c for c in report(wet)["tanks"][0]["checks"] if c["check"] == "nitrate"][0]
assert nitrate["status"] == "warn" and nitrate["warn"] == 75, nitrate
assert run("budget", wet, "--change-percent", "0").returncode == 64
assert run("budget", wet, "--change-temperature", "9").returncode == 64
young = json.loads(Path(source, "examples/backyard.json").read_text(encoding="utf-8"))
young["loops"][0]["biofilter"]["maturity_percent"] = 40
READINGS.write_text(
    "time,tank,tan_mg_l,nitrite_mg_l\n2026-11-24T08:00:00+01:00,yard tank,2.2,0.4\n",
    encoding="utf-8")
for day, name in (("24", "first"), ("25", "again")):
    run("budget", young, "--quiet", "--max-age", "9d", "--readings", str(READINGS), "--log",
        str(LOG), "--date", f"2026-11-{day}T21:00:00+01:00")
before = LOG.read_bytes()
page = re.sub(r"\s+", " ", run("budget", young, "--logbook", str(LOG), "--date", DATE).stdout)
assert "1 ammonia not seen to fall: the most was 2.2 mg/L on 2026-11-24" in page, page
assert "2 nitrite has risen: 0.4 mg/L on 2026-11-24" in page and "test TAN and nitrite every day" in page
start = report(young, "budget", "--logbook", str(LOG))["loops"][0]["filter_start"]
assert start["tests"] == 1 and start["nitrite_rose"] == "2026-11-24" and not start["started"]
assert LOG.read_bytes() == before  # read only
assert run("budget", young, "--logbook", "none.csv").returncode == 66
old = json.loads(Path(source, "examples/backyard.json").read_text(encoding="utf-8"))
assert "filter_start" not in report(old)["loops"][0]
shutil.rmtree(work)
print("rows, changes of water and new filters hold from outside")
