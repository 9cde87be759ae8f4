"""A season from outside: the README's example, the stock of its plan against seasons with it and one more,
a day of it against the budget of that day, growth by a logbook, temperatures from a file, what is refused.

    season.py PROGRAM SOURCE_DIRECTORY
"""
import csv
import io
import json
import subprocess
import sys
import tempfile
from pathlib import Path

program, source = sys.argv[1:3]
example = json.loads(Path(source, "examples/meadow.json").read_text(encoding="utf-8"))
DATE = ["--date", "2027-03-25T09:00+01:00"]


def run(description, *options, command="season", status=None):
    text = description if isinstance(description, str) else json.dumps(description)
    done = subprocess.run([program, command, *DATE, *options, "-"], input=text,
                          capture_output=True, text=True, check=False)
    if status is not None:
        assert done.returncode == status, (done.returncode, done.stdout, done.stderr)
    assert "nan" not in done.stdout.lower(), done.stdout
    return done


def season(description, *options):
    report = json.loads(run(description, "--format", "json", *options).stdout)["reports"][0]
    return report["tanks"][0]


def changed(**keys):
    one = json.loads(json.dumps(example))
    one["season"].update(keys)
    return one


# 1. The page, its JSON, CSV and Markdown say the same.
page = run(example, "--every", "month", status=2).stdout
assert page == Path(source, "examples/meadow.season.txt").read_text(encoding="utf-8")
assert all(len(line) <= 80 for line in page.splitlines()), page
assert page.isascii()
whole = season(example)
stock = int(whole["plan"]["fish_count"])
assert f"stock {stock}, not 260" in page.replace("\n      ", " ")
rows = list(csv.DictReader(io.StringIO(run(example, "--format", "csv").stdout)))
assert len(rows) == len(whole["days"])
for row, day in zip(rows, whole["days"]):
    assert row["date"] == day["date"] and row["verdict"] == day["verdict"]
    assert float(row["oxygen_lowest_mg_l"]) == day["oxygen_lowest_mg_l"]
sheet = run(example, "--every", "month", "--format", "markdown").stdout
assert sheet.count("\n| 20") == page.count("\n2027-") + page.count("\n2028-")
assert [e["check"] for e in (whole["first_fail"], whole["first_warn"])] == ["oxygen", "oxygen"]
assert whole["harvest"]["fast"] < whole["harvest"]["expected"] < whole["harvest"]["slow"]
assert abs(sum(m["feed_kg"] for m in whole["feed_by_month"]) - whole["feed_kg"]) < 1e-9

with tempfile.TemporaryDirectory() as place:
    drawn = Path(place, "meadow.svg")
    run(example, "--chart", drawn, status=2)
    assert drawn.read_text() == Path(source, "examples/meadow.svg").read_text(encoding="utf-8")

# 2. The stock of the plan passes, one more does not; by either limit.
for level, bad in (("warn", ("warn", "fail")), ("fail", ("fail",))):
    count = int(season(example, "--plan", "--at", level)["plan"]["fish_count"])
    for fish, breaks in ((count, False), (count + 1, True)):
        one = json.loads(json.dumps(example))
        one["tanks"][0]["fish"][0]["count"] = fish
        days = season(one)["days"]
        assert any(day["verdict"] in bad for day in days) == breaks, (level, fish)

# 3. A day is the budget of that day: its water, its fish.
for at in (20, 100, 150):
    day = whole["days"][at]
    one = json.loads(json.dumps(example))
    tank = one["tanks"][0]
    tank["water"] = {"temperature_c": day["temperature_c"] + 2, "ph": 7.2, "alkalinity_mg_l": 80,
                     "peak_temperature_c": day["peak_temperature_c"]}
    fish = tank["fish"][0]
    fish["count"] = round(day["fish_count"])
    fish["mean_weight_g"] = 1000 * day["biomass_high_kg"] / fish["count"]
    budget = json.loads(run(one, "--format", "json", command="budget").stdout)
    budget = budget["reports"][0]["tanks"][0]
    assert abs(budget["oxygen"]["lowest_mg_l"] - day["oxygen_lowest_mg_l"]) < 0.01, (budget, day)
    assert budget["verdict"] == day["verdict"]

# 4. Too warm: none, with the last safe day, whatever the stock checks say.
hot = changed(monthly_mean_c=[4, 4, 6, 9, 13, 18, 21, 21, 16, 10, 6, 5])
done = run(hot, "--at", "fail", "--plan", status=2).stdout.replace("\n      ", " ")
plan = season(hot, "--at", "fail", "--plan")["plan"]
assert plan["fish_count"] == 0 and plan["stopped_by"] == "temperature"
assert plan["last_safe"] < plan["date"]
assert "none through the season" in done and "these fish cannot be kept in this water after" in done
# At the warn limits too the fail of the temperature is said.
assert "none through the season" in run(hot).stdout.replace("\n      ", " ")

# 5. Growth by the weighings of a nightly logbook.
with tempfile.TemporaryDirectory() as place:
    log = Path(place, "book.csv")
    grown = json.loads(json.dumps(example))
    grown["tanks"][0]["water"].update({"temperature_c": 10, "peak_temperature_c": 11})
    for date, weight in (("2027-01-05", 40), ("2027-01-06", 40), ("2027-01-25", 45.9),
                         ("2027-02-14", 52.4), ("2027-03-06", 59.5), ("2027-03-24", 66.4)):
        grown["tanks"][0]["fish"][0]["mean_weight_g"] = weight
        done = subprocess.run([program, "budget", "--date", f"{date}T05:15+01:00", "--log", log, "-"],
                              input=json.dumps(grown), capture_output=True, text=True, check=False)
        assert done.returncode in (0, 1), done
    report = json.loads(run(example, "--logbook", log, "--format", "json").stdout)["reports"][0]
    fitted = report["growth"][0]
    assert fitted["weighings"] == 5 and fitted["why_not"] is None, fitted
    # 10 degC is a degree under the place of rainbow trout's 0.98.
    response = 0.66 + (0.98 - 0.66) * 2 / 3
    by_hand = (66.4 ** (1 / 3) - 40 ** (1 / 3)) / (10 * response * 78)
    assert abs(fitted["tgc"] / by_hand - 1) < 0.02, (fitted, by_hand)
    assert fitted["tgc_low"] <= 0.9 * fitted["tgc"] and fitted["tgc_high"] >= 1.1 * fitted["tgc"]
    told = run(example, "--logbook", log).stdout
    assert "growth by 5 weighings of the logbook" in told
    slower = report["tanks"][0]["harvest"]
    assert slower["slow"] != whole["harvest"]["slow"]
    # Fish that came meanwhile begin anew.
    grown["tanks"][0]["fish"][0]["count"] += 40
    subprocess.run([program, "budget", "--date", "2027-03-25T05:15+01:00", "--log", log, "-"],
                   input=json.dumps(grown), capture_output=True, text=True, check=False)
    told = run(example, "--logbook", log).stdout
    assert "not by the logbook: 1 weighings" in told.replace("\n  ", " "), told
    run(example, "--logbook", Path(place, "none.csv"), status=66)

    # 6. Temperatures of days from a file: without a warm spell, said on the first line.
    water = Path(place, "water.csv")
    readings = [(f"2027-{month:02}-{day:02}", month + day / 30) for month in range(4, 10)
                for day in (1, 15, 29)]
    water.write_text("date,temperature_c\n" + "".join(f"{d},{t}\n" for d, t in readings))
    done = run(example, "--temperatures", water)
    assert "without warm spells" in done.stdout.splitlines()[0] + done.stdout.splitlines()[1]
    days = season(example, "--temperatures", water)["days"]
    assert days[0]["temperature_c"] == 4 + 1 / 30 and days[-1]["date"] == "2027-09-29"
    assert "14 days in a row have no temperature" not in done.stdout
    assert "13 days in a row have no temperature" in done.stdout.replace("\n        ", " ")
    for rows, status in (("date,temperature_c\n", 65), ("date,temperature_c\n2027-04-01,70\n", 65),
                         ("date,temperature_c\n2027-04-02,7\n2027-04-01,8\n", 65),
                         ("date,temperature_c\n2027-05-01,7\n2027-06-01,8\n", 65),
                         ("date,temperature_c\n2027-04-01,7\n2027-09-01,8\n", 65)):
        water.write_text(rows)
        run(example, "--temperatures", water, status=status)

# 7. A logbook beside the season: as foretold, heavier, poorer in oxygen.
with tempfile.TemporaryDirectory() as place:
    log, foretold = Path(place, "book.csv"), Path(place, "season.csv")
    grown = changed(start="2025-04-01")  # before today: trend leaves out what is ahead
    by_date = {day["date"]: day for day in season(grown)["days"]}
    foretold.write_text(run(grown, "--format", "csv").stdout)

    def night(date, weight, oxygen):
        grown["tanks"][0]["fish"][0]["mean_weight_g"] = weight
        grown["tanks"][0]["water"]["oxygen_mg_l"] = oxygen
        subprocess.run([program, "budget", "--date", f"{date}T05:15+02:00", "--log", log, "-"],
                       input=json.dumps(grown), capture_output=True, text=True, check=False)
        done = subprocess.run([program, "trend", "--against", foretold, log], capture_output=True,
                              text=True, check=False)
        assert done.returncode == 0, done
        as_json = subprocess.run([program, "trend", "--against", foretold, "--format", "json", log],
                                 capture_output=True, text=True, check=True).stdout
        return done.stdout, json.loads(as_json)["tanks"][0]["against"]

    day = by_date["2025-05-10"]
    text, against = night("2025-05-10", round(day["mean_weight_g"], 1), 9.5)
    assert "heavier than" not in text and "less oxygen was read" not in text, text
    assert against[0]["foretold_mean_weight_g"] == day["mean_weight_g"]
    assert against[0]["foretold_oxygen_lowest_mg_l"] == day["oxygen_lowest_mg_l"]
    text, against = night("2025-06-01", by_date["2025-06-01"]["mean_weight_high_g"] + 3, 9)
    assert "heavier than" in text and "less oxygen was read" not in text, text
    text, against = night("2025-06-20", by_date["2025-06-20"]["mean_weight_g"],
                          by_date["2025-06-20"]["oxygen_lowest_mg_l"] - 0.3)
    assert "heavier than" not in text and "less oxygen was read" in text, text
    assert [each["date"] for each in against] == ["2025-05-10", "2025-06-01", "2025-06-20"]
    foretold.write_text("a,b\n1,2\n")
    refused = subprocess.run([program, "trend", "--against", foretold, log], capture_output=True,
                             text=True, check=False)
    assert refused.returncode == 65 and "no CSV that season wrote" in refused.stderr, refused

# 8. What is refused names what is wrong, and passes nothing.
for keys, words in (({"start": "2027-02-30"}, "start"), ({"ration": 1.2}, "ration_percent_day"),
                    ({"ration": "much"}, "table, growth"), ({"until": "2026-01-01"}, "until"),
                    ({"monthly_mean_c": [4] * 11}, "monthly_mean_c"), ({"fcr": 0}, "fcr"),
                    ({"thinning": [{"date": "2027-06-01"}]}, "count, share or to_kg"),
                    ({"mortality_percent_month": 101}, "mortality_percent_month")):
    done = run(changed(**keys), status=65)
    assert words in done.stderr, (keys, done.stderr)
    assert "pass" not in done.stdout and "could not be read" in done.stdout, (keys, done.stdout)
one_day = run(changed(until=example["season"]["start"]), "--format", "json")
assert one_day.returncode == 0 and len(json.loads(one_day.stdout)["reports"][0]["tanks"][0]["days"]) == 1, one_day
lost = json.loads(json.dumps(example))
del lost["season"]
assert "no season is described" in run(lost, status=65).stdout

# What grew out of trials: temperatures that end too soon, an empty tank, a loop that breaks.
with tempfile.TemporaryDirectory() as place:
    short = Path(place, "short.csv")
    short.write_text("date,temperature_c\n" + "".join(
        f"2027-04-{day:02},8\n" for day in range(1, 31)), encoding="utf-8")
    page = run(example, "--temperatures", short, "--plan", status=0).stdout
    assert page.startswith("unchecked") and "where its temperatures end" in page, page
    none = Path(place, "none.svg")
    done = run({**example, "season": {"start": "2027-04-01", "until": "2027-06-01"}}, "--chart", none)
    assert done.returncode == 65 and "no chart was drawn" in done.stderr and not none.exists()
    done = run({**example, "season": {"start": "2027-04-01", "until": "2027-06-01"}},
               "--format", "csv", status=65)
    assert "temperatures" in done.stderr, done.stderr
empty = json.loads(json.dumps(example))
empty["tanks"][0]["fish"][0]["count"] = 0
told = season(empty, "--plan")
assert told["plan"]["fish_count"] == stock == told["days"][0]["fish_count"], told["plan"]
loop = json.loads(Path(source, "examples/backyard.json").read_text(encoding="utf-8"))
loop["season"] = {"start": "2027-04-01", "until": "2027-06-01", "mean_c": 12, "amplitude_c": 1,
                  "warmest_day": "08-01"}
loop["loops"][0]["water"]["alkalinity_mg_l"] = 15
report = json.loads(run(loop, "--format", "json", status=2).stdout)["reports"][0]
assert report["verdict"] == "fail" and report["loops"][0]["first_fail"]["check"] == "alkalinity"
assert "nitrite" in report["loops"][0]["unchecked"]
print("season ok")
