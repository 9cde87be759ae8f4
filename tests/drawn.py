"""Inputs that are drawn, with round numbers, zeros and the ends of ranges among them, and the commands over them:
for tests/everything.py. The rest of it goes from the examples; what stands at a bound, in few litres or in many
fish at once, is here."""
import datetime
import json
import math
import random

from second_cases import draw, draw_season


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
    if isinstance(part, bool) or not isinstance(part, (int, float)) or key == "format":
        return part
    if dice.random() > share:  # machines differ in the last digits of what was drawn
        return float(f"{part:.9g}") if isinstance(part, float) else part
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
                           "carbon_dioxide_mg_l", "chloride_mg_l", "died"], 5)
    of_fish = ["ration_g_day", "mean_weight_g"]
    around = {"temperature_c": (4, 18), "oxygen_mg_l": (4, 12), "ph": (6, 8.6), "tan_mg_l": (0, 2), "nitrite_mg_l": (0, 0.5),
              "nitrate_mg_l": (0, 90), "alkalinity_mg_l": (10, 200), "carbon_dioxide_mg_l": (0, 20), "chloride_mg_l": (0, 30),
              "died": (0, 3), "ration_g_day": (0, 1500), "mean_weight_g": (10, 600)}
    rows = [",".join(["time", "site", "tank", "fish", *columns, *of_fish])]
    end = datetime.datetime(2026, 11, 25, 5, 15, tzinfo=datetime.timezone.utc)
    for _ in range(40):
        when = end - datetime.timedelta(minutes=dice.choice([0, 5, 60, 600, 1559, 1560, 1561, 5000, -3]))
        cells = ["" if dice.random() < share else f"{dice.uniform(*around[each]):.{0 if each == 'died' else dice.choice([1, 3])}f}"
                 for each, share in [(each, 0.4) for each in columns] + [(each, 0.8) for each in of_fish]]
        if any(cells[len(columns):]) and dice.random() < 0.2:
            cells[-1] = "0"
        rows.append(",".join([when.isoformat(), dice.choice(sites), dice.choice(["t0", "t0", "t1", "l0"]),
                              dice.choice(["", "", "", "upper", "small ones"]), *cells]))
    return "\n".join(rows) + "\n"


def drop_log(dice):
    """Oxygen that falls with all off and rises with the air on, as meters show it; and how it is asked about."""
    breathes, kla, steady = dice.uniform(0.5, 9), dice.uniform(0.3, 7), dice.uniform(8, 11)
    noise, step, every = dice.choice([0, 0.01, 0.03]), dice.choice([0.01, 0.01, 0.1]), dice.choice([0.5, 1, 2])
    before, falls, rises = dice.choice([0, 0, 5, 10]), dice.choice([8, 15, 25]), dice.choice([0, 15, 40])
    oxygen, rows = steady - breathes / kla, []
    later, gaps = dice.choice([1, 1, 1, 0.5]), dice.choice([0, 0, 0.3])
    minute = 0.0
    while minute < before + falls + rises and len(rows) < 90:
        if minute == 0 or dice.random() >= gaps:
            rows.append((minute, max(0, oxygen + dice.gauss(0, noise))))
        if minute >= before + falls:
            kla *= later if abs(minute - before - falls - rises / 3) < every / 2 else 1
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


def temperatures(dice):
    """A row every ten days, or on the day, of the years that seasons are drawn from."""
    rows, day = ["date,temperature_c"], datetime.date(2026, 12, 20)
    while day < datetime.date(2029, 7, 1):
        rows.append(f"{day},{9 - 5 * math.cos((day.timetuple().tm_yday - 20) / 58.1) + dice.uniform(-1, 1):.1f}")
        day += datetime.timedelta(days=dice.choice([1, 10, 13]))
    return "\n".join(rows) + "\n"


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


class Drawn:
    """Writes files into PLACE; `commands` are lists of words, without the time of the run, each with its format."""

    def __init__(self, place, schema):
        self.place, self.dice, self.bounds = place, random.Random(20261201), Bounds(schema)
        self.commands, self.files = [], 0

    def write(self, text, ending):
        self.files += 1
        name = f"drawn{self.files}.{ending}"
        (self.place / name).write_text(text, encoding="utf-8")
        return name

    def add(self, formats, *words):
        """The formats in turn."""
        self.commands.append((formats[len(self.commands) % len(formats)], [str(word) for word in words]))

    def descriptions(self, count):
        lines = []
        for one in range(count):
            drawn = description(self.dice, self.bounds)
            drawn["site"]["name"] = f"site {one}"
            lines.append(json.dumps(drawn))
        return self.write("\n".join(lines) + "\n", "jsonl")

    def readings(self, count):
        return self.write(readings(self.dice, [f"site {one}" for one in range(count)]), "csv")

    def many(self, count):
        """What takes little time a description."""
        file, measured = self.descriptions(count), self.readings(count)
        self.add(["jsonl"], "budget", file)
        self.add(["json"], "outage", file)
        self.add(["text", "json"], "outage", "--readings", measured, file)
        self.add(["json", "text"], "droptest", "--before", file)
        self.add(["json", "text"], "haul", file)

    def few(self, count):
        dice, file, measured = self.dice, self.descriptions(count), self.readings(count)
        self.add(["text"], "budget", file)
        self.add(["markdown", "csv", "json"], "budget", dice.choice(["--explain", "--all"]), file)
        self.add(["text", "markdown"], "budget", "--units", "us", "--change-percent", 20, file)
        self.add(["text", "json"], "budget", "--readings", measured, *dice.choice([[], ["--require-all"]]), file)
        self.add(["text"], "budget", "--quiet", "--readings", measured, file)
        self.add(["text"], "outage", file)
        self.add(["json"], "capacity", *dice.choice([[], ["--share"], ["--at", "fail"]]), file)
        self.add(["text"], "capacity", *dice.choice([["--for", 100], ["--for-kg", 20],
                                                     ["--weight", "10,100", "--temperature", "8,15"]]), file)
        self.add(["text", "json"], "spread", "--draws", dice.choice([4, 8]), file)

    def seasons(self, count):
        dice, lines = self.dice, []
        for _ in range(count):
            drawn = draw_season(dice, dice.choice(["one", "one", "groups", "row", "loop"]))
            lines.append(json.dumps(rounder(drawn, dice, dice.choice([0, 0.2, 0.6]), self.bounds)))
        file = self.write("\n".join(lines) + "\n", "jsonl")
        self.add(["text", "json"], "season", *dice.choice([[], ["--plan"], ["--every", "day"]]), file)
        self.add(["json", "text", "csv"], "season", "--temperatures", self.write(temperatures(dice), "csv"), file)

    def drop_log(self):
        text, words = drop_log(self.dice)
        self.add(["text", "json"], "droptest", *words, self.write(text, "csv"))

    def nights(self, said, nights):
        """A logbook of one description whose fish grow, whose tests drift and whose numbers now and then jump, and
        what each night mails and the logbook has. said: runs `budget` with more words and gives what it says."""
        dice, mails, book = self.dice, [], f"nights{self.files}.csv"
        while True:  # until it has no errors
            one = rounder(with_ages(draw(dice), dice), dice, 0.1, self.bounds)
            one.pop("trips", None)
            one["site"]["name"] = "drawn"
            if not said(self.write(json.dumps(one), "json")).startswith("exit status 65"):
                break
        start = datetime.datetime(2026, 9, 1, 21, 30, tzinfo=datetime.timezone.utc)
        for night in range(nights):
            for tank in one["tanks"]:
                for group in tank["fish"]:
                    for key in ("mean_weight_g", "total_kg"):
                        if key in group:
                            group[key] = round(group[key] * dice.choice([1, 1, 1.04]), 3)
                    if dice.random() < 0.05 and group.get("count", 0) > 2:
                        group["count"] = round(group["count"] * dice.choice([0.5, 0.9, 1.5]))
                water = tank.setdefault("water", {})
                for key, low, high in (("oxygen_mg_l", 4, 11), ("tan_mg_l", 0, 3), ("nitrite_mg_l", 0, 0.6), ("nitrate_mg_l", 5, 90)):
                    if dice.random() < 0.6:
                        was = water.get(key, dice.uniform(low, high))
                        water[key] = round(min(high, max(low, was + dice.gauss(0, 0.03) * (high - low))), 2)
            when = start + datetime.timedelta(hours=24 * night + dice.choice([0, 0, 7, 12]))
            mails.append(said("--quiet", "--log", book, "--date", when.isoformat(), self.write(json.dumps(one), "json")))
        for extra in ([], ["--chart", "chart.svg"], ["--since", "20d"], ["--units", "us"]):
            self.add(["text", "json", "csv"], "trend", *extra, book)
        return "".join(mails) + (self.place / book).read_text(encoding="utf-8")

    def all(self):
        for _ in range(8):
            self.many(100)
        for _ in range(10):
            self.few(16)
        for _ in range(14):
            self.seasons(3)
        for _ in range(120):
            self.drop_log()
        for _ in range(60):
            self.add(["text", "json"], "haul", *bucket(self.dice))
        return self.commands
