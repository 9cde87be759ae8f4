"""Inputs that are drawn, with round numbers, zeros and the ends of ranges among them, and the commands over them:
for tests/everything.py. The rest of it goes from the examples; what stands at a bound, in few litres or in many
fish at once, is here."""
import datetime
import json
import math
import random

from second_cases import draw, draw_season

CHUNK = 16  # descriptions a command


class Bounds:
    """The least and most that a key may be, from the schema."""

    def __init__(self, schema):
        self.of = {}
        self.look(schema)

    def look(self, part):
        if isinstance(part, list):
            for each in part:
                self.look(each)
        elif isinstance(part, dict):
            for key, told in part.get("properties", {}).items():
                if isinstance(told, dict):
                    ends = [told[end] for end in ("minimum", "maximum", "exclusiveMinimum") if end in told]
                    self.of.setdefault(key, []).extend(ends)
            for each in part.values():
                self.look(each)


def rounder(part, dice, share, bounds, key=""):
    """The same with some of its numbers round, 0, or at an end of what they may be."""
    if isinstance(part, dict):
        return {name: rounder(each, dice, share, bounds, name) for name, each in part.items()}
    if isinstance(part, list):
        return [rounder(each, dice, share, bounds, key) for each in part]
    if isinstance(part, bool) or not isinstance(part, (int, float)) or key == "format" or dice.random() > share:
        return part
    how = dice.random()
    if how < 0.03 and bounds.of.get(key):
        return dice.choice(bounds.of[key])
    if how < 0.06:
        return 0
    if key == "count":
        return dice.choice([1, 2, 3, 10, 20, 100])
    digits = 1 if how < 0.6 else 2
    whole = float(f"{part:.{digits}g}") if part else 0
    return int(whole) if whole == int(whole) else whole


def with_ages(description, dice):
    for tank in description.get("tanks", []):
        for group in tank.get("fish", []):
            if dice.random() < 0.3:
                group["age_months"] = dice.choice([0, 6, 11, 12, 17, 18, 20, 23, 24, 29, 30, 36])
            if dice.random() < 0.2:
                group["name"] = dice.choice(["upper", "small ones"])
    return description


def description(dice, bounds):
    return rounder(with_ages(draw(dice), dice), dice, dice.choice([0, 0.1, 0.3, 1]), bounds)


def readings(dice, sites):
    """Of the tanks of one chunk, some hours before the run, late ones and a dead fish among them."""
    columns = dice.sample(["temperature_c", "oxygen_mg_l", "ph", "tan_mg_l", "nitrite_mg_l", "nitrate_mg_l", "alkalinity_mg_l",
                           "carbon_dioxide_mg_l", "chloride_mg_l", "died"], 6)
    around = {"temperature_c": (4, 18), "oxygen_mg_l": (4, 12), "ph": (6, 8.6), "tan_mg_l": (0, 2), "nitrite_mg_l": (0, 0.5),
              "nitrate_mg_l": (0, 90), "alkalinity_mg_l": (10, 200), "carbon_dioxide_mg_l": (0, 20), "chloride_mg_l": (0, 30),
              "died": (0, 3)}
    rows = [",".join(["time", "site", "tank", *columns])]
    end = datetime.datetime(2026, 11, 25, 5, 15, tzinfo=datetime.timezone.utc)
    for _ in range(40):
        when = end - datetime.timedelta(minutes=dice.choice([0, 5, 60, 600, 1559, 1560, 1561, 5000, -3]))
        cells = ["" if dice.random() < 0.4 else str(round(dice.uniform(*around[each]), 0 if each == "died" else 1))
                 for each in columns]
        rows.append(",".join([when.isoformat(), dice.choice(sites), dice.choice(["t0", "t0", "t1", "l0"]), *cells]))
    return "\n".join(rows) + "\n"


def drop_log(dice):
    """Oxygen that falls with all off and rises with the air on, as meters show it; and how it is asked about."""
    breathes, kla, steady = dice.uniform(0.5, 9), dice.uniform(0.3, 7), dice.uniform(8, 11)
    noise, step, every = dice.choice([0, 0.01, 0.03]), dice.choice([0.01, 0.01, 0.1]), dice.choice([0.5, 1, 2])
    before, falls, rises = dice.choice([0, 0, 5, 10]), dice.choice([8, 15, 25]), dice.choice([0, 15, 40])
    oxygen, rows = steady - breathes / kla, []
    minute = 0.0
    while minute < before + falls + rises and len(rows) < 90:
        rows.append((minute, max(0, oxygen + dice.gauss(0, noise))))
        if minute >= before + falls:
            oxygen += (kla * (steady - oxygen) - breathes) * every / 60
        elif minute >= before:
            oxygen = max(3, oxygen - breathes * every / 60)
        minute += every
    digits = round(-math.log10(step))
    with_temperature = dice.random() < 0.6
    way = dice.choice(["minutes", "seconds", "clock", "dates"])
    start = datetime.datetime(2026, 11, 24, 23, 50)

    def time(minutes):
        at = start + datetime.timedelta(minutes=minutes)
        return {"minutes": f"{minutes:g}", "seconds": f"{60 * minutes:g}", "clock": f"{6 + minutes // 60:02.0f}:{minutes % 60 // 1:02.0f}:{minutes * 60 % 60:02.0f}",
                "dates": at.isoformat() + "Z"}[way]

    lines = [",".join([way if way in ("minutes", "seconds") else "time", "oxygen_mg_l"] + ["temperature_c"] * with_temperature)]
    for minutes, shown in rows:
        lines.append(",".join([time(minutes), f"{shown:.{digits}f}"] + ["11.5"] * with_temperature))
    words = []
    if not with_temperature:
        words += ["--temperature", dice.choice([8, 11.5])]
    if dice.random() < 0.3:
        words += ["--off", time(before)]
    if rises and dice.random() < 0.3:
        words += ["--on", time(before + falls)]
    if dice.random() < 0.15:
        words += ["--end", time(before + falls + rises / 2)]
    if dice.random() < 0.15:
        words += ["--flow-l-min", 20]
    volume = dice.choice([400, 2000])
    if dice.random() < 0.15:
        words += ["--biomass", 0, "--volume-l", volume] + dice.choice([[], ["--surface-m3-h", 0.3], ["--no-air"]])
    else:
        words += ["--fasted-h", dice.choice([0, 12, 24, 48]), "--volume-l", volume, "--weight", dice.choice([20, 150, 400]),
                  "--biomass", round(breathes * volume / dice.uniform(150, 400), 1)]
    return "\n".join(lines) + "\n", words


def bucket(dice):
    words = ["--water-l", dice.choice([10, 20, 60, 200]), "--count", dice.choice([1, 2, 6, 25]), "--weight", dice.choice([10, 100, 250, 600]),
             "--temperature", dice.choice([4, 10, 15, 18, 20, 22]), "--minutes", dice.choice([1, 10, 30, 60, 200])]
    for option, values in (("--air", [1, 2, 10]), ("--depth-m", [0.1, 0.5]), ("--bubble", ["fine", "coarse"]), ("--oxygen-percent", [60, 100, 130]),
                           ("--fasted-h", [12, 24, 72]), ("--altitude", [0, 1500]), ("--species", ["brook trout", "Arctic char"])):
        if dice.random() < 0.3 and (option not in ("--depth-m", "--bubble") or "--air" in words):
            words += [option, dice.choice(values)]
    if dice.random() < 0.4:
        words += ["--ph", dice.choice([6.5, 7, 8]), "--alkalinity", dice.choice([10, 50, 150])]
    return words


def commands(place, schema, count):
    """Writes `count` times CHUNK descriptions and what goes with them into a directory: lists of words, without the
    time of the run and the format."""
    dice, bounds, out = random.Random(20261201), Bounds(schema), []
    for number in range(count):
        file = f"drawn{number}.jsonl"
        with (place / file).open("w", encoding="utf-8") as to:
            for one in range(CHUNK):
                drawn = description(dice, bounds)
                drawn["site"]["name"] = f"site {one}"
                to.write(json.dumps(drawn) + "\n")
        measured = f"drawn{number}.csv"
        (place / measured).write_text(readings(dice, [f"site {one}" for one in range(CHUNK)]), encoding="utf-8")
        extra = [["--explain"], ["--units", "us"], ["--all"], ["--change-percent", 20]][number % 4]
        out += [("text", ["budget", file]), ("json", ["budget", file]),
                (["text", "markdown", "csv", "json"][number // 4 % 4], ["budget", *extra, file]),
                (["text", "json"][number % 2], ["budget", "--readings", measured, *dice.choice([[], ["--require-all"]]), file]),
                ("json", ["outage", file]), ("text", ["outage", *dice.choice([[], ["--readings", measured]]), file]),
                ("json", ["capacity", *dice.choice([[], ["--share"], ["--at", "fail"]]), file]),
                ("text", ["capacity", *dice.choice([["--for", 100], ["--for-kg", 20], ["--weight", "10,100", "--temperature", "8,15"]]), file]),
                (["text", "json"][number % 2], ["spread", "--draws", dice.choice([4, 8]), file]),
                (["text", "json"][number % 2], ["droptest", "--before", file])]
        seasons = f"seasons{number}.jsonl"
        with (place / seasons).open("w", encoding="utf-8") as to:
            for _ in range(3):
                drawn = draw_season(dice, dice.choice(["one", "one", "groups", "row", "loop"]))
                to.write(json.dumps(rounder(drawn, dice, dice.choice([0, 0.2, 0.6]), bounds)) + "\n")
        out.append((["text", "json"][number % 2], ["season", *dice.choice([[], ["--plan"], ["--every", "day"]]), seasons]))
        for each in range(4):
            log = f"drawn{number}.{each}.drop.csv"
            text, words = drop_log(dice)
            (place / log).write_text(text, encoding="utf-8")
            out.append((["text", "json"][each % 2], ["droptest", *words, log]))
        for each in range(3):
            out.append((["text", "json"][each % 2], ["haul", *bucket(dice)]))
    return [(form, [str(word) for word in words]) for form, words in out]
