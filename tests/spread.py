"""How sure a budget is, from outside: the README's page, the same bytes of the same seed and any --jobs,
statuses that are never lifted, errors of one's own, capacities that hold.

    spread.py PROGRAM SOURCE_DIRECTORY
"""
import csv
import io
import json
import re
import subprocess
import sys
import tempfile
from pathlib import Path

program, source = sys.argv[1:3]
DATE = ["--date", "2026-11-25T05:15:00+01:00"]


def example(name):
    return json.loads(Path(source, f"examples/{name}.json").read_text(encoding="utf-8"))


def run(description, *options, command="spread", status=None):
    text = description if isinstance(description, str) else json.dumps(description)
    done = subprocess.run([program, command, *DATE, *options, "-"], input=text,
                          capture_output=True, text=True, check=False)
    if status is not None:
        assert done.returncode == status, (done.returncode, done.stdout, done.stderr)
    assert not re.search(r"\b-?(nan|inf)\b", done.stdout.lower()), done.stdout[:2000]
    return done


def spread(description, *options):
    return json.loads(run(description, "--format", "json", *options).stdout)["reports"][0]


spring = example("spring")

# 1. The page, CSV and JSON say the same; 80 columns of ASCII.
page = run(spring, status=0).stdout
assert page == Path(source, "examples/spring.spread.txt").read_text(encoding="utf-8")
assert all(len(line) <= 80 for line in page.splitlines()) and page.isascii(), page
tank = spread(spring)["tanks"][0]
assert (tank["draws"], tank["seed"]) == (4096, 1)
rows = list(csv.DictReader(io.StringIO(run(spring, "--format", "csv").stdout)))
assert [row["check"] for row in rows] == [check["check"] for check in tank["checks"]]
for row, check in zip(rows, tank["checks"]):
    for key in ("low", "median", "high", "pass_percent", "warn_percent", "fail_percent"):
        assert (float(row[key]) if row[key] else None) == check[key], (row, check)

# What decides most and no grower can measure is said, from three tenths of the variance on.
excreting = example("spring")
excreting["tanks"][0]["limits"] = {"tan_warn_mg_l": 0.134}
for percent, told_so in ((5, True), (38, True), (40, False)):
    excreting["accuracy"] = {"flow_percent": percent, "ration_percent": percent - 2}
    told = next(each for each in spread(excreting)["tanks"][0]["checks"] if each["check"] == "total_ammonia")
    most = told["first_order"][0]
    assert most["input"] == "tan_per_protein_g_g" and (most["index"] >= 0.3) == told_so, most
    words = f"{100 * most['index']:.0f} % of how far total ammonia spreads lies with TAN per feed protein, which no tank tells"
    assert (words in " ".join(run(excreting).stdout.split())) == told_so, most
# 2. Statuses and values are the budget's, whatever the worlds say; shares add up.
for name in ("spring", "backyard", "greenhouse", "overstocked", "raceways", "altitude", "trickle"):
    description = example(name)
    told = json.loads(run(description, "--format", "json", command="budget").stdout)
    seen = json.loads(run(description, "--format", "json").stdout)
    assert told["verdict"] == seen["verdict"]
    for kind in ("tanks", "loops"):
        for budget, part in zip(told["reports"][0][kind], seen["reports"][0][kind]):
            assert budget["verdict"] == part["verdict"], name
            known = {check["check"]: check for check in budget["checks"]}
            for check in part["checks"]:
                shares = sum(check[f"{word}_percent"]
                             for word in ("pass", "warn", "fail", "unchecked"))
                assert abs(shares - 100) < 1e-9, check
                if check["check"] in known:
                    assert check["status"] == known[check["check"]]["status"], check
                    assert check["value"] == known[check["check"]]["value"], check
                if check["low"] is not None and check["high"] is not None:
                    assert check["low"] <= check["median"] <= check["high"], check
                for share in check["first_order"]:
                    # No part of the variance, but for the noise of the estimate.
                    assert -5 * share["standard_error"] - 1e-9 <= share["index"] <= 1.2, share
            inputs = {share["input"] for check in part["checks"] for share in check["first_order"]}
            assert {each["input"] for each in part["measure_first"]} <= inputs

# 3. The same seed the same bytes, with any --jobs; another seed other worlds, nearly the same shares.
with tempfile.TemporaryDirectory() as place:
    many = Path(place, "many.jsonl")
    many.write_text("".join(json.dumps(example(name)) + "\n"
                            for name in ("spring", "backyard", "raceways", "overstocked")),
                    encoding="utf-8")
    pages = {subprocess.run([program, "spread", *DATE, "--draws", "256", "--jobs", jobs,
                             "--format", "json", many],
                            capture_output=True, text=True, check=False).stdout
             for jobs in ("1", "2", "7")}
    assert len(pages) == 1
assert run(spring).stdout == page
other = spread(spring, "--seed", "2")["tanks"][0]
assert other["all_pass_percent"] != tank["all_pass_percent"]
assert abs(other["all_pass_percent"] - tank["all_pass_percent"]) < 4

# 4. What one measures better spreads less; what one does not know at all spreads more.
def width(description, check="oxygen"):
    one = next(c for c in spread(description, "--no-measure")["tanks"][0]["checks"]
               if c["check"] == check)
    return one["high"] - one["low"]


careful = {**spring, "accuracy": {"mean_weight_g": 1, "flow_percent": 1, "air_flow_percent": 3}}
careless = {**spring, "accuracy": {"mean_weight_percent": 40, "flow_percent": 40}}
assert width(careful) < width(spring) < width(careless)
known = {**spring, "coefficients": {"transfer_medium_percent_per_m": 2.6}}  # measured: 10 %
assert width(known) < 0.8 * width(spring)
wrong = run({**spring, "accuracy": {"flow_l_min": 5, "flow_percent": 3}})
assert wrong.returncode == 65 and "flow_percent" in wrong.stderr, wrong.stderr
wrong = run({**spring, "accuracy": {"flw_percent": 3}})
assert wrong.returncode == 65 and "flow_percent" in wrong.stderr, wrong.stderr

# 5. A drop test is not advised where it must not be made.
failing = example("overstocked")
for part in spread(failing)["tanks"]:
    assert not any("drop test" in each["how"] for each in part["measure_first"]), part

# 6. budget --sure and capacity --sure.
sure = json.loads(run(spring, "--sure", "--format", "json", command="budget").stdout)
assert sure["reports"][0]["tanks"][0]["sure"]["all_pass_percent"] == tank["all_pass_percent"]
words = run(spring, "--sure", command="budget", status=0).stdout.replace("\n     ", "")
assert "of 100 worlds that fit what is known" in words, words
counts = []
for percent in ("50", "80", "95", "99"):
    one = json.loads(run(spring, "--sure", percent, "--format", "json", command="capacity").stdout)
    answer = one["reports"][0]["tanks"][0]
    assert answer["sure_count"] <= answer["capacity_count"]
    counts.append(answer["sure_count"])
assert counts == sorted(counts, reverse=True) and counts[-1] < counts[0]
stocked = json.loads(json.dumps(spring))
stocked["tanks"][0]["fish"][0]["count"] = int(counts[2])
for reading in ("ph", "alkalinity_mg_l", "oxygen_mg_l", "tan_mg_l"):
    stocked["tanks"][0]["water"].pop(reading, None)
checks = spread(stocked, "--no-measure")["tanks"][0]["checks"]
oxygen = next(check for check in checks if check["check"] == "oxygen")
assert oxygen["pass_percent"] >= 94, oxygen

# 7. A reading that hardly any world explains is told.
odd = json.loads(json.dumps(spring))
odd["tanks"][0]["water"]["oxygen_mg_l"] = 5.6
words = run(odd).stdout.replace("\n      ", " ")
assert "as low as was read" in words, words
assert run('{"format": 1', status=65).stdout.count("could not be read") == 1

# 8. What stands whatever the worlds are, old readings, dead fish, no pass can come of.
done = subprocess.run([program, "spread", "--date", "2026-11-28T05:15:00+01:00", "--format", "json", "--draws", "64",
                       "--readings", source + "/examples/spring.readings.csv", source + "/examples/spring.json"],
                      capture_output=True, text=True, check=False)
old = json.loads(done.stdout)["reports"][0]["tanks"][0]
check = next(each for each in old["checks"] if each["check"] == "readings")
assert check["status"] != "pass" and old["all_pass_percent"] == 0, old
print("spread ok")
