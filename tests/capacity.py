"""Stocking exactly the printed count passes the budget's stock checks, one more does not.

    capacity.py PROGRAM SOURCE_DIRECTORY
"""
import json
import re
import subprocess
import sys

program, source = sys.argv[1:]
STOCK = ["oxygen", "oxygen_reserve", "ammonia", "total_ammonia", "carbon_dioxide", "density"]


def run(*arguments, text=None):
    done = subprocess.run([program, *arguments], input=text, cwd=source, capture_output=True,
                          text=True, check=False)
    return done.returncode, done.stdout


def stocked(description, count):
    one = json.loads(json.dumps(description))
    tank = one["tanks"][0]
    present = sum(group["count"] for group in tank["fish"])
    assert len(tank["fish"]) == 1
    tank["fish"][0]["count"] = count
    for key in ("ration_g_day",):
        if key in tank.get("feed", {}):
            tank["feed"][key] *= count / present
    tank["water"].pop("alkalinity_mg_l", None)  # today's pH belongs to today's stock
    return json.dumps(one)


def troubled(description, count, level):
    _, text = run("budget", "--format", "jsonl", "-", text=stocked(description, count))
    checks = json.loads(text)["tanks"][0]["checks"]
    bad = {"warn": ("warn", "fail"), "fail": ("fail",)}[level]
    return [c["check"] for c in checks if c["check"] in STOCK and c["status"] in bad]


for name in ("spring", "altitude", "raceway"):
    with open(f"{source}/examples/{name}.json", encoding="utf-8") as file:
        description = json.load(file)
    for level in ("warn", "fail"):
        code, text = run("capacity", "--at", level, "--format", "json", f"examples/{name}.json")
        assert code == 0
        whole = json.loads(text)
        tank = whole["reports"][0]["tanks"][0]
        assert list(tank)[:6] == ["tank", "capacity_kg", "capacity_count", "limited_by",
                                  "by_check", "not_by_stock"], list(tank)
        assert [c["check"] for c in tank["by_check"]] == STOCK
        count = tank["capacity_count"]
        counts = [c["capacity_count"] for c in tank["by_check"] if c["capacity_count"] is not None]
        assert count == min(counts) and count > 0
        assert troubled(description, count, level) == [], (name, level, count)
        assert tank["limited_by"] in troubled(description, count + 1, level), (name, level, count)
        # --for says the same in its exit status.
        assert run("capacity", f"examples/{name}.json", "--for", str(count))[0] == (
            0 if level == "warn" else 1)
    assert run("capacity", f"examples/{name}.json", "--for", str(count + 1))[0] == 2

# An empty tank is asked what it would carry: the same as one that holds one such fish.
with open(f"{source}/examples/spring.json", encoding="utf-8") as file:
    empty = json.load(file)
empty["tanks"][0]["fish"] = []
del empty["tanks"][0]["feed"]
asked = ["capacity", "--species", "brook trout", "--weight", "250"]
_, text = run(*asked, "--format", "json", "-", text=json.dumps(empty))
bare = json.loads(text)["reports"][0]["tanks"][0]
one = json.loads(json.dumps(empty))
one["tanks"][0]["fish"] = [{"species": "brook trout", "count": 1, "mean_weight_g": 250}]
_, text = run("capacity", "--format", "json", "-", text=json.dumps(one))
full = json.loads(text)["reports"][0]["tanks"][0]
assert bare == full and bare["capacity_count"] > 50, (bare, full)
code, text = run(*asked, "--for", str(bare["capacity_count"]), "-", text=json.dumps(empty))
assert code == 0 and f"{bare['capacity_count']} brook trout of 250 g at 13.5 degC, warmest 14.2" in (
    text.replace("\n  ", " ")), text
assert run(*asked, "--for", str(bare["capacity_count"] + 1), "-", text=json.dumps(empty))[0] == 1
code, text = run("capacity", "-", text=json.dumps(empty))
assert code == 0 and "no fish are described" in text and "--species NAME" in text
# How much growth the number leaves.
grown = bare["grown"]
_, text = run(*asked[:-1], str(grown["mean_weight_g"]), "--format", "json", "-",
              text=json.dumps(empty))
assert grown["mean_weight_g"] == 400
assert json.loads(text)["reports"][0]["tanks"][0]["capacity_count"] == grown["capacity_count"]
assert f"when they weigh 400 g, {grown['capacity_count']:.0f}\n" in run(
    *asked, "-", text=json.dumps(empty))[1]
# Where they cannot be kept the answer is none, never a number by the other checks.
for temperature in ("19.5", "24", "75.2f"):
    code, text = run("capacity", "--temperature", temperature, "examples/spring.json")
    assert "north round: none: rainbow trout of 180 g are not to be kept at " in text, text
    assert "fish  " not in text and "that is" not in text
_, text = run("capacity", "--temperature", "14,24", "--weight", "100,200", "examples/spring.json")
assert text.count("none  ") + text.count("none\n") == 2 and "!" not in text, text
# Other units in options.
metric = run("capacity", "--temperature", "10,15", "--weight", "113.398", "--format", "json",
             "examples/spring.json")[1]
us = run("capacity", "--temperature", "50f,59F", "--weight", "4oz", "--format", "json",
         "examples/spring.json")[1]
counts = [[cell["capacity_count"] for cell in json.loads(text)["reports"][0]["tanks"][0]["table"]]
          for text in (metric, us)]
assert counts[0] == counts[1] and len(counts[0]) == 2
assert run("capacity", "--for-kg", "50lb", "examples/spring.json")[0] == run(
    "capacity", "--for-kg", "22.6796185", "examples/spring.json")[0]
for wrong in ("60", "60g", "60ff", "f", "1e400f", "-1c"):
    assert run("capacity", "--temperature", wrong, "examples/spring.json")[0] == 64, wrong

with open(f"{source}/examples/raceway.capacity.txt", encoding="utf-8") as file:
    assert run("capacity", "--date", "2026-11-25T05:15+01:00", "examples/raceway.json",
               "--for", "1500") == (1, file.read())

code, text = run("capacity", "examples/spring.json", "--weight", "50,100", "--temperature",
                 "10,14,18", "--format", "json")
table = json.loads(text)["reports"][0]["tanks"][0]["table"]
assert [(row["temperature_c"], row["mean_weight_g"]) for row in table] == [
    (t, w) for t in (10, 14, 18) for w in (50, 100)]
code, two = run("capacity", "examples/spring.json", "--weight", "50,100", "--format", "json")
assert all(not each["reports"][0]["tanks"][0]["by_check"] for each in map(json.loads, (text, two)))
assert table[0]["capacity_count"] > table[1]["capacity_count"] > table[5]["capacity_count"]
for form, start in (("csv", "site,tank,"), ("markdown", "# Larch Hollow"), ("text", "Larch")):
    code, text = run("capacity", "examples/spring.json", "--weight", "20,50,100,200,400",
                     "--temperature", "10,14,18", "--format", form)
    assert code == 0 and text.startswith(start), text
    if form == "text":
        assert max(map(len, text.split("\n"))) <= 80
for bad in (["--for", "1.5"], ["--for", "0"], ["--weight", "nan"], ["--temperature", "41"],
            ["--for", "3", "--weight", "1,2"]):
    assert run("capacity", "examples/spring.json", *bad)[0] == 64, bad
# One fish is a stock too.
one = json.dumps({"format": 1, "site": {"name": "s", "altitude_m": 0}, "tanks": [
    {"name": "t", "volume_l": 20, "water": {"temperature_c": 8},
     "inflow": {"flow_l_min": 4, "oxygen_percent": 95}, "aeration": [{"kind": "rated", "sotr_g_h": 10}],
     "fish": [{"species": "rainbow", "count": 1, "mean_weight_g": 400}]}]})
code, text = run("capacity", "-", text=one)
assert code == 0 and "at most 1 rainbow trout of 400 g" in text and re.search("that is +0.4 kg", text), text
empty = json.dumps({"format": 1, "site": {"name": "s", "altitude_m": 0}, "tanks": [
    {"name": "e", "volume_l": 10, "water": {"temperature_c": 5}, "fish": []}]})
code, text = run("capacity", "-", text=empty)
assert code == 0 and "no fish are described" in text
code, text = run("capacity", "--format", "json", "-", text=empty)
assert json.loads(text)["reports"][0]["tanks"][0]["capacity_count"] is None
print("the printed counts hold")
