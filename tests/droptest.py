"""A drop test through the program: its log against scipy's least squares, what it refuses, what it
writes and whether that works, and --before.

    droptest.py PROGRAM SOURCE
"""
import json
import math
import random
import re
import subprocess
import sys

program, source = sys.argv[1:]


def run(*arguments, text=""):
    return subprocess.run([program, "droptest", *arguments], input=text, capture_output=True,
                          text=True, cwd=source, check=False)


def told(*arguments, text="", status=None):
    done = run("--format", "json", *arguments, text=text)
    assert status is None or done.returncode == status, (arguments, done)
    document = json.loads(done.stdout)
    assert document["program"]["name"] == "coldtank"
    assert document["verdict"] == document["reports"][0]["verdict"]
    return document["reports"][0]


TANK = ["--volume-l", "2000", "--biomass", "20", "--weight", "250", "--temperature", "12",
        "--fasted-h", "24"]


def log(points, header="minutes,oxygen_mg_l"):
    return "\n".join([header, *(",".join(map(str, row)) for row in points)]) + "\n"


# ---- the example, as the README shows it
READINGS = ["--readings", "examples/weir.readings.csv", "--date", "2026-11-25T09:00+01:00"]
before = run("--before", *READINGS, "examples/weir.json")
with open(f"{source}/examples/weir.before.txt", encoding="utf-8") as file:
    assert before.stdout == file.read(), before.stdout
assert before.returncode == 0
EXAMPLE = ["--fasted-h", "20", "--flow-l-min", "0", "examples/weir.drop.csv", "examples/weir.json"]
page = run(*EXAMPLE)
with open(f"{source}/examples/weir.droptest.txt", encoding="utf-8") as file:
    assert page.stdout == file.read(), page.stdout
assert page.returncode == 1 and page.stderr == ""
for text in (page.stdout, before.stdout):
    lines = text.splitlines()
    assert len(lines) <= 24 and max(map(len, lines)) <= 80 and text.isascii()
    assert "Stay by the tank; stop when fish come up" in text.replace("\n", " ")

# ---- what it writes can be written: the budget then has the edges of the bands
report = told(*EXAMPLE)
with open(f"{source}/examples/weir.json", encoding="utf-8") as file:
    description = json.load(file)
written = json.loads("{" + ",".join(report["write"]) + "}")
tank = description["tanks"][0]
tank["fish"][0]["respiration_factor"] = written["respiration_factor"]
stone = tank["aeration"][0]
del stone["bubble"]
stone.update(transfer_percent_per_m=written["transfer_percent_per_m"], alpha=written["alpha"])
budget = subprocess.run([program, "budget", "--format", "json", "-"], text=True,
                        input=json.dumps(description), capture_output=True, check=False)
assert budget.returncode == 0, budget.stderr
assert written["respiration_factor"] >= report["respiration_factor"]["high"]
assert written["respiration_factor"] < report["respiration_factor"]["high"] * 1.01
# 0.2786 g/L of air, by hand: 120 L/min through 0.9 m.
sotr = 120 * 60 * 0.2786 * 0.9 * stone["transfer_percent_per_m"] / 100
assert report["sotr_g_h"]["low"] * 0.99 < sotr <= report["sotr_g_h"]["low"]
# Whether water ran is not guessed: then the air is not written, and the page asks.
doubt = told(*EXAMPLE[:2], *EXAMPLE[4:])
assert len(doubt["write"]) == 1 and "say how much water ran" in re.sub(
    r"\s+", " ", run(*EXAMPLE[:2], *EXAMPLE[4:]).stdout)
assert "no water ran while the air was on" in doubt["assumed"]

# ---- 9.2 to 7.0 mg/L in 25 min in 1.98 m3: 10.454 g/h, 522.72 mg/kg/h (by hand)
line = [(i, 9.2 - 2.2 * i / 25) for i in range(26)]
report = told("-", *TANK, text=log(line))
assert abs(report["respiration_mg_kg_h"]["value"] - 522.72) < 1e-6
assert report["on"] is None and report["kla_per_h"] is None and report["refused"] is None
assert report["points"] == 26 and report["off"] == {"from": "0", "to": "25"}
assert report["respiration_mg_kg_h"]["low"] <= 522.72 <= report["respiration_mg_kg_h"]["high"]
# The same by a day's clock, by dates over midnight, by seconds, and in US units.
clock = [(f"14:{i + 5:02d}", c) for i, c in line]
dated = [(f"2026-11-2{4 if i < 20 else 5}T{'23' if i < 20 else '00'}:{(i + 40) % 60:02d}:00Z", c)
         for i, c in line]
for rows, header in ((clock, "time,oxygen_mg_l"), (dated, "time,oxygen_mg_l"),
                     ([(60 * i, c) for i, c in line], "seconds,oxygen_mg_l")):
    other = told("-", *TANK, text=log(rows, header))
    assert math.isclose(other["respiration_mg_kg_h"]["value"], 522.72, rel_tol=1e-9), other
    assert other["off"] == {"from": str(rows[0][0]), "to": str(rows[-1][0])}
us = told("-", "--volume-gal", str(2000 / 3.785411784), "--biomass", f"{20 / 0.45359237}lb",
          "--weight", f"{250 / 28.349523125}oz", "--fasted-h", "24",
          text=log([(i, c, 53.6) for i, c in line], "minutes,oxygen_mg_l,temperature_f"))
assert math.isclose(us["respiration_mg_kg_h"]["value"], 522.72, rel_tol=1e-9)
assert math.isclose(us["temperature_c"], 12) and us["assumed"] == ["sea level",
    "the surface took up nothing, so that they breathe rather more than this"]
# Fed by the model and fasted for two days: 1 to 0.55 of it.
share = [told("-", *TANK[:-1], hours, text=log(line))["model_mg_kg_h"] for hours in ("0", "48")]
assert math.isclose(share[1], 0.55 * share[0])

# ---- kLa 1.8, C* 9.6, C0 6.5 in an empty tank of 2 m3 at 12 degC: SOTR 39.56 g/h (by hand)
rise = [(2 * i, 9.6 - 3.1 * math.exp(-1.8 * 2 * i / 60)) for i in range(30)]
assert all(abs(dict(rise)[i] - c) < 5e-5 for i, c in ((10, 7.3035), (20, 7.8987), (40, 8.6663)))
EMPTY = ["--volume-l", "2000", "--biomass", "0", "--temperature", "12"]
report = told("-", *EMPTY, text=log(rise), status=0)
assert abs(report["kla_per_h"]["value"] - 1.8) < 1e-7
assert abs(report["sotr_g_h"]["value"] - 39.56) < 0.005
assert report["off"] is None and report["respiration_mg_kg_h"] is None
assert abs(report["transfer_m3_h"]["value"] - 3.6) < 1e-6
assert json.loads("{" + report["write"][0] + "}") == {"aeration": [
    {"kind": "rated", "sotr_g_h": report["sotr_g_h"]["low"] // 0.1 / 10, "alpha": 1}]}
surface = run("-", *EMPTY, "--no-air", text=log(rise)).stdout
assert "the surface takes up 3.6" in surface and "--surface-m3-h 3.6" in surface
assert "aeration" not in surface

# ---- scipy: both lines with their errors, switches given
try:
    import numpy
    from scipy.optimize import curve_fit
    from scipy.stats import t as student
except ImportError:
    print("python3-scipy is not installed: that part is skipped")
else:
    random.seed(3)
    same = {"kla": 0, "fish": 0}
    for case in range(12):
        breathes = random.uniform(3, 11)
        kla = random.uniform(1.5, 6)
        surface = random.choice([0, 0.3])
        noise = random.choice([0.02, 0.05, 0.1])
        rate = surface / 1.98
        saturation = told("-", *TANK, text=log(line))["saturation_mg_l"]
        rows, level = [], 9.6
        for minute in range(40):
            fallen = (level if rate == 0 else 0) + (
                -breathes / 1.98 * minute / 60 if rate == 0 else
                saturation - breathes / surface
                + (level - saturation + breathes / surface) * math.exp(-rate * minute / 60))
            rows.append((minute, fallen + random.gauss(0, noise)))
        low = rows[-1][1]
        steady = 0.98 * saturation - breathes / kla / 1.98
        for minute in range(40, 110):
            rows.append((minute, steady - (steady - low) * math.exp(-kla * (minute - 40) / 60)
                         + random.gauss(0, noise)))
        report = told("-", *TANK, "--off", "0", "--on", "40", "--surface-m3-h", str(surface),
                      text=log(rows))
        on = numpy.array(rows[40:])
        if report["kla_per_h"] is not None:
            found, errors = curve_fit(
                lambda h, top, start, k: top - (top - start) * numpy.exp(-k * h),
                (on[:, 0] - 40) / 60, on[:, 1], p0=(steady, low, kla), xtol=1e-14, ftol=1e-14)
            assert math.isclose(report["kla_per_h"]["value"], found[2], rel_tol=1e-5)
            assert math.isclose(report["steady_mg_l"], found[0], rel_tol=1e-5)
            # Wider where points lean on each other, which those of one log in a hundred seem to.
            error = report["kla_per_h"]["standard_error"] / errors[2][2] ** 0.5
            assert error > 1 - 1e-5, (case, error)
            same["kla"] += error < 1 + 1e-5
            half = error * student.ppf(0.975, 67) * errors[2][2] ** 0.5
            assert math.isclose(report["kla_per_h"]["high"] - found[2], half, rel_tol=0.01)
        if report["respiration_mg_kg_h"] is not None:
            off = numpy.array(rows[:41])

            def fallen_by(h, start, breathed):  # the very equation, solved in R and C0
                if rate == 0:
                    return start - breathed / 1.98 * h
                settles = saturation - breathed / surface
                return settles + (start - settles) * numpy.exp(-rate * h)

            found, errors = curve_fit(fallen_by, off[:, 0] / 60, off[:, 1], p0=(level, breathes),
                                      xtol=1e-14, ftol=1e-14)
            estimate = report["respiration_mg_kg_h"]
            assert math.isclose(estimate["value"], 50 * found[1], rel_tol=1e-6), (case, estimate)
            error = estimate["standard_error"] / (50 * errors[1][1] ** 0.5)
            assert error > 1 - 1e-5, (case, estimate, errors)
            same["fish"] += error < 1 + 1e-5

    assert same["kla"] >= 7 and same["fish"] >= 9, same

# ---- what it refuses, with the reason
def refused(reason, points, *more, header="minutes,oxygen_mg_l"):
    done = run("-", *TANK, *more, text=log(points, header))
    report = told("-", *TANK, *more, text=log(points, header))
    assert re.search(reason, report["refused"]), report["refused"]
    assert report["respiration_mg_kg_h"] is None and report["write"] == []
    assert report["verdict"] in ("unchecked", "fail") and done.returncode in (1, 2), done
    assert re.search(reason, re.sub(r"\s+", " ", done.stdout)), done.stdout
    return done


refused("7 points", line[:7])
refused("fell by 0.44", [(i, 9 - (9.2 - c) / 5) for i, c in line])
refused("scatter", [(i, c + (0.3 if i % 2 else -0.3)) for i, c in line], "--off", "0")
refused("temperature changed by 1.5", [(i, c, 12 + i * 0.06) for i, c in line],
        header="minutes,oxygen_mg_l,temperature_c")
refused("run back at line 13", [*line[:10], line[11], line[10], *line[12:]])
refused("over midnight write the dates", [(f"{(23 + (i + 40) // 60) % 24}:{(i + 40) % 60:02d}", c)
                                          for i, c in line], header="time,oxygen_mg_l")
low = refused("went to 4.7", [(i, c - 2.3) for i, c in line])
assert low.returncode == 2 and low.stdout.startswith("NOW   air and water on"), low.stdout
warned = run("-", *TANK, text=log([(i, c - 1.5) for i, c in line]))
assert warned.stdout.startswith("NOW   air and water on") and warned.returncode == 1
told_now = told("-", *TANK, text=log([(i, c - 1.5) for i, c in line]))
assert told_now["now"][0].startswith("air and water on") and told_now["refused"] is None

# ---- what was typed wrongly
for arguments, status, words in (
        (["-", *TANK[:-2]], 64, "--fasted-h N"),
        (["-", "--volume-l", "2000", "--fasted-h", "2"], 64, "needs --biomass, --weight, --temp"),
        (["-", *TANK, "--off", "14:05"], 64, "no time of this log, which writes 0"),
        (["-", *TANK, "--off", "5", "--on", "4"], 64, "--off must lie before --on"),
        (["-", *TANK, "--tank", "x"], 64, "stands behind the log"),
        (["-", *TANK, "examples/weir.json"], 64, "the description says it"),
        (["-", "--fasted-h", "3", "examples/cut.json"], 64, "which tank is the log of?"),
        (["-", "--fasted-h", "3", "--tank", "big rund", "examples/cut.json"], 64, "big round"),
        (["examples/weir.json", "examples/weir.json", "--fasted-h", "3"], 65, "is a description"),
        (["no such.csv", *TANK], 66, "no such.csv"),
        (["-", "--fasted-h", "3", "no such.json"], 66, "no such.json"),
        (["--before", "--fasted-h", "3", "examples/weir.json"], 64, "--before needs none"),
        (["--before", "no such.json"], 66, "no such.json"),
        (["a", "b", "c"], 64, "one log and one description")):
    done = run(*arguments, text=log(line))
    assert done.returncode == status and words in done.stderr, (arguments, done)
for text, words in (("minutes,oxygen\n0,9\n", "oxygen_mg_l"), ("time,oxygen_mg_l\n", "no rows"),
                    ("time,oxygen_mg_l\nnoon,9\n", "is no time"), ("", "no rows"),
                    ("oxygen_mg_l\n9\n", "when? a row needs"),
                    ("minutes,oxygen_mg_l\n0,72\n", "oxygen_mg_l")):
    done = run("-", *TANK, text=text)
    assert done.returncode == 65 and words in done.stderr, (text, done)
# A row with a fault is left out, said, and fails the run; the rest is worked out.
done = run("-", *TANK, text=log([*line[:9], (9, "x"), *line[10:]]))
assert done.returncode == 65 and ":11:" in done.stderr and "breathe 523" in done.stdout
assert "\nLOOK  at the meter" in done.stdout and done.stdout.startswith("NOW   air on"), done.stdout
# Of fish that breathe as the model, so that nothing else warns, it is no pass.
calm = [(i, 9.2 - 0.7 * i / 25) for i in range(26)]
assert told("-", *TANK, text=log(calm), status=0)["verdict"] == "pass"
assert told("-", *TANK, text=log([*calm, (26, "x")]), status=65)["verdict"] == "unchecked"

# ---- what was done wrong writes nothing that is worse for fish than the truth
def simulated(start, parts):
    """2482 L, 18 kg: minutes, transfer of the air m3/h, water L/min, respiration mg/kg/h."""
    level, second, rows = start, 0, []
    for minutes, transfer, flow, breathes in parts:
        for _ in range(minutes * 60):
            if second % 120 == 0:
                rows.append((f"{second / 60:g}", f"{level:.2f}", 11.5))
            level += (transfer * (10.68 - level) * 1000 + flow * 60 * (10.5 - level)
                      - breathes * 18) / 2482 / 3600
            second += 1
    return log(rows, "minutes,oxygen_mg_l,temperature_c")


ROUND = ["--volume-l", "2500", "--biomass", "18", "--weight", "200", "--fasted-h", "24",
         "--flow-l-min", "0"]
AS_TOLD = (9.3, ((10, 5, 60, 300), (50, 0, 0, 300), (70, 5, 0, 300)))
DONE_WRONG = (
    (10.3, ((90, 2.5, 0, 260), (50, 0, 0, 260), (90, 2.5, 0, 260))),  # water off first: it drifts
    (10.3, ((60, 2.5, 0, 300), (50, 0, 0, 300), (90, 2.5, 0, 300))),
    (10.0, ((60, 0, 30, 300), (40, 0, 0, 300), (70, 5, 0, 300))),
    (10.3, ((60, 2.5, 0, 220), (60, 0, 0, 220), (90, 2.5, 0, 220))),
    (9.9, ((120, 1, 10, 300),)),  # never off
    (9.4, ((60, 3, 20, 300), (60, 0, 20, 300), (90, 3, 20, 300))),  # the water ran on
    (9.3, ((10, 5, 60, 300), (50, 0, 0, 300), (50, 5, 0, 300), (20, 0, 0, 300))),  # off again
    (9.3, ((10, 5, 60, 300), (50, 0, 0, 300), (60, 5, 0, 300), (40, 0, 0, 300))),
    (9.3, ((10, 5, 60, 300), (20, 0, 0, 300), (5, 5, 0, 300), (25, 0, 0, 300), (60, 5, 0, 300))))
written = {"factor": 0, "air": 0}
for start, parts in (AS_TOLD, *DONE_WRONG):
    report = told("-", *ROUND, text=simulated(start, parts))
    true_factor = parts[0][3] / report["model_mg_kg_h"]
    true_sotr = max(part[1] for part in parts) * 1.024 ** 8.5 * 9.09
    for line_ in report["write"]:
        value = json.loads("{" + line_ + "}")
        if "respiration_factor" in value:
            written["factor"] += 1
            assert value["respiration_factor"] >= 0.99 * true_factor, (parts, report)
        else:
            written["air"] += 1
            assert value["aeration"][0]["sotr_g_h"] <= 1.01 * true_sotr, (parts, report)
assert written["factor"] >= 6 and written["air"] >= 3, written
# Where fall and rise disagree it says so, and the air is not written; a log can be ended.
ran = told("-", *ROUND, text=simulated(*DONE_WRONG[5]), status=1)
assert ran["disagree"] and not any("aeration" in each for each in ran["write"]), ran
assert ran["respiration_by_rise_mg_kg_h"]["low"] > ran["respiration_mg_kg_h"]["high"]
whole = told("-", *ROUND, text=simulated(*AS_TOLD))
assert not whole["disagree"] and whole["points"] == 65 and whole["on"]["to"] == "128"
ended = told("-", *ROUND, "--end", "110", text=simulated(*AS_TOLD))
assert ended["points"] == 56 and ended["on"]["to"] == "110", ended
# The other way round too: water that went on with the air, and was not told of.
both = [row for row in simulated(9.3, ((10, 5, 60, 200), (50, 0, 0, 200))).splitlines()]
for i in range(30):
    level = 10.6 - (10.6 - 7.85) * math.exp(-3.2 * i * 2 / 60) + (0.01 if i % 2 else -0.01)
    both.append(f"{60 + 2 * i},{level:.2f},11.5")
ran = told("-", *ROUND, text="\n".join(both) + "\n", status=1)
assert ran["disagree"] and ran["respiration_by_rise_mg_kg_h"]["high"] < ran["respiration_mg_kg_h"]["low"]
assert not any("aeration" in each for each in ran["write"]), ran
# Air far beyond what is described, where there is an inflow: it may have run.
much = [row for row in simulated(9.5, ((10, 5, 60, 150), (60, 0, 0, 150), (70, 12, 0, 150))).splitlines()]
ran = told("-", "examples/weir.json", "--fasted-h", "20", "--flow-l-min", "0", text="\n".join(much) + "\n")
assert ran["sotr_g_h"]["low"] > 1.5 * 40.6 and ran["verdict"] == "warn"
assert not any("transfer" in each for each in ran["write"]), ran
# A wrong unit, or a slip of ten: no trout breathe so.
for changes in ({"--biomass": "180"}, {"--volume-l": "250000"}, {"--volume-l": "250"}):
    wrong = [changes.get(ROUND[i - 1], each) if i else each for i, each in enumerate(ROUND)]
    report = told("-", *wrong, text=simulated(*AS_TOLD), status=1)
    assert report["doubtful"] and report["write"] == [], (changes, report)
small = [("0.3" if ROUND[i - 1] == "--weight" else each) for i, each in enumerate(ROUND)]
report = told("-", *small, text=simulated(*AS_TOLD))
assert report["respiration_factor"] is None and not any(
    "respiration" in each for each in report["write"])
# Told otherwise than the points look.
assert "switched off at 10 min" in re.sub(r"\s+", " ", run(
    "-", *ROUND, "--off", "0", "--on", "30", text=simulated(*AS_TOLD)).stdout)

# ---- in the middle of a test: when to switch on, and that it is time
unfinished = simulated(9.3, ((10, 5, 60, 150), (40, 0, 0, 150)))
page = run("-", *ROUND, text=unfinished).stdout
assert page.startswith("first the log ends with all off: air on at 7 mg/L or at "), page
again = re.search(r"\(as it falls at\s+([0-9.]+)\s+min\)", page)
level = float(unfinished.splitlines()[-1].split(",")[1])
rate = 150 * 18 / 2482
assert again and abs(float(again.group(1)) - (48 + 60 * (level - 7) / rate)) < 4, page
# By the clock, whatever the meter says, and from the first rows on: as --before says it.
STARTED = ["time,oxygen_mg_l,temperature_c", "09:00,9.60,11.4", "09:10,9.55,11.4"]
FARM = ["examples/weir.json", "--fasted-h", "20"]
first = run("-", *FARM, "--date", "2026-11-25T09:12+01:00", text="\n".join(STARTED) + "\n").stdout
clock = re.match(r"first the log ends with all off: air on at 7 mg/L or at (\d\d:\d\d), whichever", first)
promised = told("--before", "examples/weir.json", "--oxygen", "9.6")["tanks"][0]["minutes_to_stop"]
hours, minutes = map(int, clock.group(1).split(":"))
assert abs(60 * hours + minutes - 540 - promised) < 1.01, (clock, promised)
past = f"2026-11-25T{hours:02d}:{minutes + 1:02d}+01:00"
for date, now_too in ((past, True), ("2026-11-25T09:12+01:00", False)):
    page = run("-", *FARM, "--date", date, text="\n".join(STARTED) + "\n").stdout
    assert page.startswith(f"NOW   air on, if it is not: it is past {clock.group(1)}") == now_too, page
# Over midnight; half a day after its last row nobody stands by it any more.
evening = "\n".join(each.replace("09:", "23:") for each in STARTED) + "\n"
for date, now_too in (("2026-11-26T01:30+01:00", True), ("2026-11-26T11:05+01:00", True),
                      ("2026-11-26T11:12+01:00", False), ("2026-11-26T22:00+01:00", False)):
    page = run("-", *FARM, "--date", date, text=evening).stdout
    assert page.startswith("NOW   air on, if it is not: it is past") == now_too, (date, page)
late = simulated(8.3, ((10, 5, 60, 300), (72, 0, 0, 300)))
assert run("-", *ROUND, text=late).stdout.startswith("NOW   air on"), run("-", *ROUND, text=late)
# What is mistyped beside it hides no danger.
gasping = log([(i, 6.5 - 0.1 * i) for i in range(20)])
for arguments in (["-", *ROUND[:-4]], ["-"], ["-", "--tank", "x", "no such.json"]):
    done = run(*arguments, text=gasping)
    assert done.returncode >= 64 and "NOW: air and water on" in done.stderr, done

# ---- before a test
def safety(change, status, *reasons, readings=None):
    with open(f"{source}/examples/weir.json", encoding="utf-8") as file:
        farm = json.load(file)
    change(farm["tanks"][0])
    report = told("--before", *(READINGS if readings is None else readings), "-",
                  text=json.dumps(farm), status=status)
    tank = report["tanks"][0]
    # As it is printed.
    for reason in reasons:
        assert any(reason in each for each in tank["reasons"]), (reason, tank)
    assert tank["may_be_tested"] == (tank["verdict"] in ("pass", "warn"))
    return tank


assert safety(lambda tank: None, 0)["reasons"] == []
assert safety(lambda tank: None, 0, readings=["--oxygen", "9.6"])["oxygen_now_mg_l"] == 9.6
assert safety(lambda tank: None, 0, readings=["--oxygen", "8"])["oxygen_now_mg_l"] == 8
safety(lambda tank: None, 2, "starts at 7.99 mg/L, under 8", readings=["--oxygen", "7.99"])
assert run("--before", "--oxygen", "5.1", "examples/weir.json").stdout.startswith(
    "NOW   upper round: 5.1 mg/L: stop feeding")
# The limits of the very fish, a backup that lasts, air that holds them, fish that have eaten.
limits = safety(lambda tank: tank.update(limits={"oxygen_warn_mg_l": 7, "oxygen_fail_mg_l": 6}), 0,
                readings=["--oxygen", "9.6"])
assert (limits["switch_on_mg_l"], limits["stop_mg_l"]) == (8, 7)
safety(lambda tank: tank.update(limits={"response_time_min": 200}), 2, "under 200")
safety(lambda tank: tank["fish"][0].update(count=900, mean_weight_g=0.5), 2, "too small")
safety(lambda tank: tank["backup"][0].update(battery_ah=1), 1, "have one ready")
assert safety(lambda tank: None, 0)["air_holds"]
assert not safety(lambda tank: tank.pop("aeration"), 0)["air_holds"]
with open(f"{source}/examples/weir.json", encoding="utf-8") as file:
    bare = json.load(file)
bare["tanks"][0]["aeration"][0]["air_flow_l_min"] = 5
assert "then air AND water on" in run("--before", *READINGS, "-", text=json.dumps(bare)).stdout
now = ["--oxygen", "9.6"]
fed = safety(lambda tank: tank.pop("feed"), 0, readings=now)
fasted = safety(lambda tank: tank.update(feed={"fasted_h": 60}), 0, readings=now)
assert math.isclose(fed["minutes_to_stop"], fasted["minutes_to_stop"])
safety(lambda tank: tank.pop("backup"), 1, "have one ready to start")
safety(lambda tank: tank["fish"][0].update(count=300), 2, "draw it to 6 mg/L in")
safety(lambda tank: tank["water"].update(tan_mg_l=45), 2, "fail")
safety(lambda tank: None, 1, "read its oxygen first",
       readings=["--date", "2026-11-25T09:00+01:00"])
late = ["--readings", "examples/weir.readings.csv", "--date", "2026-11-25T10:30+01:00"]
safety(lambda tank: None, 1, "read its oxygen first", readings=late)
loop = told("--before", "examples/greenhouse.json")
assert all("filter must not stand still" in " ".join(tank["reasons"]) for tank in loop["tanks"])
assert loop["verdict"] == "fail"
print("a drop test holds")
