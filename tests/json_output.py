"""The JSON of the budget: its keys, statuses, types and exact values, against this contract.

    json_output.py PROGRAM SOURCE_DIRECTORY
"""
import json
import os
import subprocess
import sys

program, source = sys.argv[1:]
os.environ["SOURCE_DATE_EPOCH"] = "1795580100"  # two runs are of one time
STATUS = {"pass", "unchecked", "warn", "fail"}
REPORT = ["file", "site", "verdict", "warnings", "tanks", "loops", "errors"]
TANK = ["tank", "verdict", "first_limit", "fish_count", "biomass_kg", "density_kg_m3",
        "ration_g_day", "oxygen", "oxygen_reserve", "ammonia", "carbon_dioxide", "solids_g_day",
        "assumed", "checks"]
PARTS = {
    "oxygen": ["saturation_mg_l", "inflow_mg_l", "demand_by_respiration_g_h", "demand_by_feed_g_h",
               "demand_mean_g_h", "demand_peak_g_h", "supply_g_h", "steady_mean_mg_l",
               "lowest_mg_l", "measured_mg_l", "used_percent"],
    "oxygen_reserve": ["minutes_to_stress", "minutes_to_danger", "flow_continues"],
    "ammonia": ["tan_production_g_day", "tan_mg_l", "measured_tan_mg_l", "unionised_fraction",
                "nh3_mg_l", "hours_to_warn", "hours_to_fail"],
    "carbon_dioxide": ["production_g_day", "balance_mg_l", "from_ph_mg_l", "measured_mg_l",
                       "estimated_ph"],
}
CHECK = ["check", "status", "value", "unit", "warn", "fail", "used_percent", "remedies"]
REMEDY = ["action", "value", "unit", "text"]


def refuse(constant):
    raise ValueError("not JSON: " + constant)


def run(*arguments, text=None):
    done = subprocess.run([program, "budget", *arguments], capture_output=True, input=text,
                          cwd=source, text=True, check=False)
    return done.returncode, done.stdout


def starts_with(keys, found, where):
    assert list(found)[:len(keys)] == keys, f"{where}: {list(found)}"


def check_report(report):
    starts_with(REPORT, report, "report")
    assert report["verdict"] in STATUS
    for tank in report["tanks"]:
        starts_with(TANK, tank, "tank")
        for part, keys in PARTS.items():
            starts_with(keys, tank[part], part)
        worst = max((["pass", "unchecked", "warn", "fail"].index(c["status"])
                     for c in tank["checks"]))
        assert ["pass", "unchecked", "warn", "fail"][worst] == tank["verdict"]
        assert tank["first_limit"] in [c["check"] for c in tank["checks"]]
        for check in tank["checks"]:
            starts_with(CHECK, check, "check")
            assert check["status"] in STATUS
            troubled = check["status"] in ("warn", "fail")
            assert bool(check["remedies"]) == troubled, check
            for remedy in check["remedies"]:
                starts_with(REMEDY, remedy, "remedy")
                assert remedy["text"]


examples = {"examples/spring.json": ("pass", 0), "examples/altitude.json": ("warn", 1),
            "examples/overstocked.json": ("fail", 2)}
for name, (verdict, status) in examples.items():
    code, text = run("--format", "json", name)
    whole = json.loads(text, parse_constant=refuse)
    starts_with(["format", "program", "date", "verdict", "reports"], whole, "top")
    assert whole["format"] == 1 and whole["program"]["name"] == "coldtank"
    assert whole["verdict"] == verdict and code == status, (name, whole["verdict"], code)
    check_report(whole["reports"][0])
    code, line = run("--format", "jsonl", name)
    assert line.count("\n") == 1 and json.loads(line) == whole["reports"][0]

# The example of the README: 6.50 mg/L, 83 % used, 52 min, 12.0 mg/L of carbon dioxide from pH.
code, text = run("--format", "json", "examples/spring.json")
tank = json.loads(text)["reports"][0]["tanks"][0]
assert round(tank["oxygen"]["lowest_mg_l"], 2) == 6.50
assert round(tank["oxygen"]["used_percent"]) == 83
assert round(tank["oxygen_reserve"]["minutes_to_danger"]) == 52
assert round(tank["carbon_dioxide"]["from_ph_mg_l"], 1) == 12.0
by_name = {check["check"]: check for check in tank["checks"]}
assert by_name["temperature"]["warn"] == [2, 19] and by_name["temperature"]["fail"] == 22
assert by_name["ph"]["warn"] == [6.5, 9] and by_name["ph"]["fail"] == [6, 9.5]
assert by_name["exchange"]["fail"] is None and by_name["density"]["warn"] == 25

# A loop: its keys, and its advice, carried out, makes it pass.
LOOP = ["loop", "verdict", "first_limit", "supply_tan_mg_l", "return_tan_mg_l",
        "supply_oxygen_mg_l", "nitrate_mg_l", "tan_production_g_day", "nitrified_g_day",
        "exchanged_g_day", "alkalinity_demand_g_day", "solids_g_day", "checks"]
with open(f"{source}/examples/backyard.json", encoding="utf-8") as file:
    backyard = json.load(file)
code, text = run("--format", "json", "examples/backyard.json")
report = json.loads(text)["reports"][0]
check_report(report)
loop = report["loops"][0]
starts_with(LOOP, loop, "loop")
assert code == 1 and report["verdict"] == "warn" and loop["verdict"] == "warn"
for check in loop["checks"]:
    starts_with(CHECK, check, "check")
(advice,) = [c for c in loop["checks"] if c["check"] == "plants"][0]["remedies"]
assert advice["action"] == "change_bed", advice
backyard["loops"][0]["plants"]["bed_area_m2"] = advice["value"]
code, text = run("--format", "json", "-", text=json.dumps(backyard))
assert code == 0 and json.loads(text)["verdict"] == "pass"
made = loop["tan_production_g_day"]
assert abs(made - loop["nitrified_g_day"] - loop["exchanged_g_day"]) < 1e-9 * made

# A bucket: what does not exist is null.
bucket = {"format": 1, "site": {"name": "s", "altitude_m": 0}, "tanks": [
    {"name": "bucket", "volume_l": 20, "water": {"temperature_c": 12},
     "fish": [{"species": "rainbow", "count": 8, "mean_weight_g": 150}]}]}
code, text = run("--format", "json", "-", text=json.dumps(bucket))
report = json.loads(text, parse_constant=refuse)["reports"][0]
check_report(report)
tank = report["tanks"][0]
assert code == 2 and tank["first_limit"] == "oxygen"
assert tank["oxygen"]["lowest_mg_l"] is None and tank["oxygen"]["used_percent"] is None
assert tank["ammonia"]["tan_mg_l"] is None and tank["ammonia"]["hours_to_warn"] > 0
assert tank["oxygen_reserve"]["flow_continues"] == {"minutes_to_stress": None,
                                                    "minutes_to_danger": None}

# A number comes out as it went in, in its shortest form.
for written in (0.1, 1e-5, 123456789.125, 1 / 3, 2.5e11):
    bucket["tanks"][0]["volume_l"] = max(written, 100)
    code, text = run("--format", "jsonl", "-", text=json.dumps(bucket))
    density = json.loads(text)["tanks"][0]["density_kg_m3"]
    assert f'"density_kg_m3":{json.dumps(density)}'.replace("e-0", "e-") in text.replace(
        "e-0", "e-"), (density, text[:400])
print("the JSON holds")
