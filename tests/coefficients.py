"""Every coefficient can be set, is felt, is named, and is asked about where it is far off.

    coefficients.py PROGRAM
"""
import json
import os
import math
import random
import re
import subprocess
import sys

program = sys.argv[1]
os.environ["SOURCE_DATE_EPOCH"] = "1795580100"  # two runs are of one time

FISH = [{"species": "rainbow", "count": 60, "mean_weight_g": 300}]
BASE = {"format": 1, "site": {"name": "Fernbank", "altitude_m": 100, "salinity_g_kg": 2},
        "tanks": [
    {"name": "spring", "volume_l": 2000,
     "water": {"temperature_c": 12, "peak_temperature_c": 14, "ph": 7.2, "alkalinity_mg_l": 90},
     "inflow": {"flow_l_min": 40, "oxygen_mg_l": 6, "carbon_dioxide_mg_l": 12},
     "fish": FISH, "feed": {"ration_percent_day": 1},
     "aeration": [{"kind": "cascade", "drop_m": 0.2}, {"kind": "cascade", "drop_m": 2},
                  {"kind": "diffuser", "air_flow_l_min": 20, "depth_m": 0.8, "bubble": "fine"},
                  {"kind": "oxygen", "flow_l_min": 0.2, "absorption_percent": 15}]},
    {"name": "stones", "volume_l": 2000, "water": {"temperature_c": 16}, "fish": FISH,
     "aeration": [{"kind": "diffuser", "air_flow_l_min": 20, "depth_m": 0.8, "bubble": "medium"},
                  {"kind": "diffuser", "air_flow_l_min": 20, "depth_m": 0.8, "bubble": "coarse"}]},
    {"name": "hungry", "volume_l": 2000, "water": {"temperature_c": 5}, "fish": FISH,
     "feed": {"fasted_h": 30},
     "aeration": [{"kind": "rated", "sotr_g_h": 30}]},
    {"name": "long hungry", "volume_l": 2000, "water": {"temperature_c": 15}, "fish": FISH,
     "feed": {"fasted_h": 100},
     "aeration": [{"kind": "rated", "sotr_g_h": 30}]},
    {"name": "starved", "volume_l": 2000, "water": {"temperature_c": 8}, "fish": FISH,
     "feed": {"fasted_h": 300}},
    {"name": "unfed", "volume_l": 2000, "water": {"temperature_c": 15}, "fish": FISH,
     "feed": {"ration_g_day": 0}},
    {"name": "a little", "volume_l": 2000, "water": {"temperature_c": 15}, "fish": FISH,
     "feed": {"ration_g_day": 40}},
    {"name": "greens", "volume_l": 2000, "loop": {"name": "beds", "flow_l_min": 60}, "fish": FISH},
    {"name": "fruit", "volume_l": 2000, "loop": {"name": "vines", "flow_l_min": 60}, "fish": FISH},
    {"name": "first", "volume_l": 2000, "loop": {"name": "young", "flow_l_min": 60}, "fish": FISH}],
        "loops": [
    {"name": "beds", "water": {"temperature_c": 15}, "exchange_l_day": 500,
     "biofilter": {"media_area_m2": 300}, "plants": {"bed_area_m2": 4, "crop": "leafy"},
     "aeration": [{"kind": "rated", "sotr_g_h": 200}]},
    {"name": "vines", "water": {"temperature_c": 15}, "exchange_l_day": 500,
     "biofilter": {"media_area_m2": 300}, "plants": {"bed_area_m2": 4, "crop": "fruiting"},
     "aeration": [{"kind": "rated", "sotr_g_h": 200}]},
    {"name": "young", "water": {"temperature_c": 15}, "exchange_l_day": 500,
     "biofilter": {"media_area_m2": 30, "maturity_percent": 20},
     "aeration": [{"kind": "rated", "sotr_g_h": 200}]}]}


def run_all(sets):
    """The reports of the base with each of these."""
    lines = "\n".join(json.dumps({**BASE, "coefficients": each}) for each in sets)
    done = subprocess.run([program, "budget", "--lines", "--format", "jsonl", "-"], input=lines,
                          capture_output=True, text=True, check=False)
    reports = [json.loads(line) for line in done.stdout.splitlines()]
    assert len(reports) == len(sets) and (done.returncode == 65) == any(
        each["errors"] for each in reports), done.returncode
    return reports


def run(coefficients):
    return run_all([coefficients])[0]


def assumed(report):
    return [line for each in report["tanks"] + report["loops"] for line in each["assumed"]]


def doubts(report):
    return [check for each in report["tanks"] + report["loops"] for check in each["checks"]
            if check["check"] == "input_doubt"]


def figures(each):
    """Without what is said about the coefficient itself."""
    if isinstance(each, dict):
        return {k: figures(v) for k, v in each.items()
                if k not in ("assumed", "note", "verdict", "remedies")}
    if isinstance(each, list):
        return [figures(one) for one in each
                if not (isinstance(one, dict) and one.get("check") == "input_doubt")]
    return each


listed = [source for source in json.loads(subprocess.run(
    [program, "sources", "--format", "json"], capture_output=True, text=True,
    check=True).stdout)["sources"] if source["key"]]
plain = json.loads(subprocess.run([program, "budget", "--format", "json", "-"],
                                  input=json.dumps(BASE), capture_output=True, text=True,
                                  check=False).stdout)["reports"][0]
for same in run_all([{}, {source["key"]: source["value"] for source in listed}]):
    assert same["tanks"] == plain["tanks"] and same["loops"] == plain["loops"]
assert not doubts(plain)

ranges = json.loads(subprocess.run([program, "schema"], capture_output=True, text=True,
                                   check=True).stdout)["$defs"]["coefficients"]["properties"]
# How far they are believed, up and down: exponents and bases less than twice.
BELIEVED = {"respiration_warm_exponent": 1.05, "respiration_cold_exponent": 1.2,
            "respiration_join_f": 1.2, "respiration_weight_exponent": 1.5,
            "transfer_per_degree": 1.025}

for source in listed:
    key, value = source["key"], source["value"]
    low, high = ranges[key]["minimum"], ranges[key]["maximum"]
    assert value / 10 <= low < value <= high <= value * 10, key
    # A hundredth is felt, and believed.
    change = 1.01 if value * 1.01 <= high else 0.99
    far = [value * times for times in (1 / BELIEVED.get(key, 2) / 1.001,
                                       BELIEVED.get(key, 2) * 1.001)]
    wrong = [0, -value, high * 1.01, low / 1.01, "1"]
    report, *others = run_all([{key: each} for each in [value * change, *far, *wrong]])
    assert figures(report) != figures(plain), f"{key} is not felt"
    named = [line.split() for line in assumed(report) if line.startswith(f"coefficient {key} ")]
    assert named, key
    for words in named:
        assert [float(words[2]), " ".join(words[3:6]), float(words[6])] == [
            value * change, "in place of", value], words
    assert not doubts(report), key
    for each, report in zip(far + wrong, others, strict=True):
        if each in wrong or not low <= each <= high:
            assert not report["tanks"], (key, each)
            assert report["errors"][0]["pointer"] == f"/coefficients/{key}", report["errors"]
            continue
        found = doubts(report)
        assert found and found[0]["status"] == "warn", (key, each)
        assert report["verdict"] in ("warn", "fail")

# A verdict, or a capacity, that the program's own numbers would not give says so.
LESS = {"respiration_c": 1.6e-4, "oxygen_per_feed_g_kg": 155}
TIGHT = {"format": 1, "site": {"name": "Fernbank", "altitude_m": 100}, "tanks": [
    {"name": "tight", "volume_l": 4000,
     "water": {"temperature_c": 12, "ph": 7.2, "alkalinity_mg_l": 90},
     "inflow": {"flow_l_min": 70, "oxygen_percent": 95, "carbon_dioxide_mg_l": 4},
     "fish": [{"species": "rainbow", "count": 230, "mean_weight_g": 300}]}]}


def page(command, description, *options):
    every = ["--all"] if command == "budget" and not options else []
    return subprocess.run([program, command, *every, *options, "-"], input=json.dumps(description),
                          capture_output=True, text=True, check=False).stdout


NAMED = "by your coefficients (oxygen_per_feed_g_kg 155, usually 300;"
plain, less = page("budget", TIGHT), page("budget", {**TIGHT, "coefficients": LESS})
assert plain.startswith("Fernbank") and ": warn\n" in plain, plain[:200]
assert f"pass {NAMED}" in " ".join(less[:200].split()), less[:200]
report = json.loads(page("budget", {**TIGHT, "coefficients": LESS}, "--format", "json"))
assert report["reports"][0]["tanks"][0]["verdict"] == "pass"
assert report["reports"][0]["tanks"][0]["usual_verdict"] == "warn"
assert NAMED in " ".join(page("capacity", {**TIGHT, "coefficients": LESS}).split())
rows = page("budget", {**TIGHT, "coefficients": LESS}, "--format", "csv").splitlines()[1:]
assert rows and all("respiration_c 0.00016, usually 0.000305" in row for row in rows), rows[0]
careful = " ".join(page("budget", BASE).split())
assert "until tests stay low (half, our judgement)" in careful
careful = " ".join(page("budget", {**BASE, "coefficients": {"careful_feed_share": 0.4}}).split())
assert "until tests stay low (0.4 of it, your coefficient)" in careful

report = run({"filter_half_saturation": 1})
assert "filter_half_saturation_mg_l" in report["errors"][0]["message"], report
assert len(listed) > 40

# All of them anywhere in their range at once: figures may be absurd, never NaN, never infinite.
generator = random.Random(11)
for _ in range(25):
    drawn = {}
    for source in listed:
        ends = ranges[source["key"]]
        drawn[source["key"]] = math.exp(generator.uniform(math.log(ends["minimum"]),
                                                          math.log(ends["maximum"])))
    if drawn["unfed_excretion_end_h"] <= drawn["unfed_excretion_h"]:
        assert "must be over" in run(drawn)["errors"][0]["message"]
        drawn["unfed_excretion_h"] = drawn["unfed_excretion_end_h"] / 2
        if drawn["unfed_excretion_h"] < ranges["unfed_excretion_h"]["minimum"]:
            continue
    report = run(drawn)
    assert report["verdict"] in ("warn", "fail") and not report["errors"], report["errors"]
    page = subprocess.run([program, "budget", "--explain", "-"],
                          input=json.dumps({**BASE, "coefficients": drawn}), capture_output=True,
                          text=True, check=False)
    assert page.returncode in (1, 2) and not re.search(r"\b(nan|inf)\b", page.stdout, re.I)
print(f"{len(listed)} coefficients set")
