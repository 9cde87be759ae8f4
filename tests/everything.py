"""What the program says in all its commands and formats, of the examples and of descriptions like them: for
tests/sums.py and tests/machines.py."""
import json
import os
import random
import shutil
import subprocess
from pathlib import Path

from drawn import Drawn

NOW = "2026-11-25T05:15Z"
ENVIRONMENT = {"PATH": os.environ["PATH"], "SOURCE_DATE_EPOCH": "1795580100"}  # 2026-11-25T04:15Z
CHART = "chart.svg"

OWN_LIMITS = [("oxygen_warn_mg_l", 7.5), ("nh3_warn_mg_l", 0.004), ("tan_fail_mg_l", 1.5), ("density_warn_kg_m3", 12),
              ("carbon_dioxide_warn_mg_l", 6), ("temperature_warn_c", 13), ("response_time_min", 60)]


class Everything:
    """In PLACE, an empty directory; `count` descriptions like the examples beside these."""

    def __init__(self, source, place, count):
        self.source, self.place = Path(source), Path(place)
        self.dice = random.Random(20261128)
        self.mails = {}  # of nights that are drawn, and their logbooks, once commands() was asked
        self.examples = sorted((self.source / "examples").glob("*.json")) + sorted(
            (self.source / "data/starter").glob("*.json"))
        assert len(self.examples) > 5
        # Names are of the directory itself, so that no page says where it lies.
        (self.place / "examples").symlink_to(self.source / "examples")
        with (self.place / "many.jsonl").open("w", encoding="utf-8") as file:
            for number in range(count):
                example = self.examples[number % len(self.examples)]
                description = self.like(json.loads(example.read_text(encoding="utf-8")))
                if number % 3 == 0 and "site" in description:
                    description["site"]["limits"] = dict(self.dice.sample(OWN_LIMITS, 2))
                file.write(json.dumps(description) + "\n")

    def like(self, value, key=""):
        """A description like another: each number a little else, with three digits."""
        if isinstance(value, dict):
            return {name: self.like(each, name) for name, each in value.items()}
        if isinstance(value, list):
            return [self.like(each) for each in value]
        if isinstance(value, bool) or not isinstance(value, (int, float)) or key == "format":
            return value
        if key == "count":
            return round(value * self.dice.uniform(0.5, 2))
        return float(f"{value * self.dice.uniform(0.8, 1.25):.3g}")

    def said(self, words):
        chart = self.place / CHART
        chart.unlink(missing_ok=True)
        for word in map(str, words):
            if word.startswith("told"):  # each begins with the same logbook
                shutil.copy(self.place / "book.csv", self.place / word)
        done = subprocess.run(words, capture_output=True, text=True, check=False, cwd=self.place, env=ENVIRONMENT)
        drawn = chart.read_text(encoding="utf-8") if chart.exists() else ""
        return f"exit status {done.returncode}\n{done.stdout}{done.stderr}{drawn}"

    def logbook(self, program):
        """Nights of the examples, which end with more fish than they began with."""
        book, weighed = "book.csv", "weighed.json"
        description = json.loads((self.source / "examples/spring.json").read_text(encoding="utf-8"))
        for day in range(1, 25):
            names = [each.name for each in self.examples[:3]]
            self.said([program, "budget", "--log", book, "--date", f"2026-11-{day:02}", "--quiet",
                       *[f"examples/{name}" for name in names if (self.source / "examples" / name).exists()]])
            if day % 6 == 0:
                for group in description["tanks"][0]["fish"]:
                    group["mean_weight_g"] = round(group["mean_weight_g"] * 1.07, 1)
                (self.place / weighed).write_text(json.dumps(description), encoding="utf-8")
                self.said([program, "budget", "--log", book, "--date", f"2026-11-{day:02}T12:00Z", "--quiet", weighed])
        return book

    def commands(self, program):
        """Lists of words that come after the program's name."""
        here = [f"examples/{each.name}" for each in self.examples if each.parent.name == "examples"]
        night = ["--readings", "examples/spring.readings.csv", "examples/spring.json"]
        weir = ["--readings", "examples/weir.readings.csv", "examples/weir.json"]
        cut = ["--readings", "examples/cut.readings.csv", "examples/cut.json"]
        many = ["--lines", "many.jsonl"]
        book = self.logbook(program)
        forms = ("text", "json", "csv", "markdown")
        out = []

        def add(command, formats, *words):
            for form in formats:
                out.append([command, "--date", NOW, "--format", form, *map(str, words)])

        for extra in ([], ["--explain"], ["--units", "us"], ["--all"]):
            for files in (here, night, weir, cut, many):
                add("budget", forms, *extra, *files)
        add("budget", ("text", "json"), "--change-percent", 30, "--change-temperature", 9, *here)
        add("budget", ("text", "json"), "--logbook", book, *night)
        for later in ("2026-11-25T19:00Z", "2026-11-28T05:00Z"):
            out += [[command, "--date", later, "--format", form, *night] for command in ("budget", "spread", "outage")
                    for form in ("text", "json")]
        # A night's mail: what is news after the last record of the logbook.
        warmer = "warmer.json"
        description = json.loads((self.source / "examples/spring.json").read_text(encoding="utf-8"))
        for tank in description["tanks"]:
            tank["water"].update(temperature_c=17, peak_temperature_c=19.5)
            tank["inflow"]["flow_l_min"] = 15
        (self.place / warmer).write_text(json.dumps(description), encoding="utf-8")
        for number, files in enumerate((night, here[:3], here[3:6], [warmer], [warmer, here[1]])):
            for form in ("text", "json"):
                out.append(["budget", "--date", NOW, "--quiet", "--format", form, "--log",
                            f"told{number}{form}.csv", *files])
        add("budget", ("text", "json", "csv"), "--sure", here[0], *night)
        add("budget", ("text",), "--quiet", *many)
        for extra in ([], ["--for", 1500], ["--for-kg", 60], ["--weight", "20,50,100,200", "--temperature", "10,14,18"],
                      ["--at", "fail"], ["--share"], ["--units", "us", "--for", 400], ["--species", "brook trout"]):
            add("capacity", forms, *extra, *here)
        add("capacity", ("text", "json"), "--sure", 90, here[0])
        add("capacity", ("text", "json"), *many)
        for extra in ([], ["--every", "day"], ["--every", "month"], ["--plan"], ["--units", "us"],
                      ["--chart", CHART], ["--at", "fail", "--plan"]):
            add("season", forms, *extra, "examples/meadow.json")
        add("season", ("text", "json"), "--plan", *many)
        for extra in ([], ["--units", "us"], ["--since", "2026-11-25T04:55Z"]):
            for files in (here, cut, weir, many):
                add("outage", ("text", "json"), *extra, *files)
        add("outage", ("text", "json"), "--tank", "north round", "--oxygen", 5.5, "examples/spring.json")
        for extra in ([], ["--seed", 3, "--no-measure"]):
            add("spread", forms, "--draws", 48, *extra, *here)
        add("spread", ("text", "json"), "--draws", 16, *many)
        for minutes in (20, 75, 400):
            for extra in ([], ["--air", 6, "--depth-m", 0.3], ["--ph", 7.8, "--alkalinity", 60], ["--units", "us"],
                          ["--species", "brook trout", "--fasted-h", 48, "--oxygen-percent", 180]):
                add("haul", ("text", "json", "csv"), "--water-l", 60, "--count", 25, "--weight", 180, "--temperature", 12,
                    "--minutes", minutes, *extra)
        add("haul", ("text", "json", "csv", "markdown"), "examples/bucket.json")
        for extra in ([], ["--units", "us"]):
            add("droptest", ("text", "json"), "--fasted-h", 24, *extra, "examples/weir.drop.csv", "examples/weir.json")
            add("droptest", ("text", "json"), "--fasted-h", 24, "--volume-l", 2000, "--biomass", 20, "--weight", 250,
                "--temperature", 12, *extra, "examples/weir.drop.csv")
            add("droptest", ("text", "json"), "--before", *extra, *night)
            add("droptest", ("text", "json"), "--before", *extra, *here)
        season = "season.csv"
        (self.place / season).write_text(self.said([program, "season", "--date", NOW, "--format", "csv", "examples/meadow.json"])
                          .split("\n", 1)[1], encoding="utf-8")
        for extra in ([], ["--units", "us"], ["--since", "2026-11-10"], ["--chart", CHART], ["--against", season]):
            add("trend", ("text", "json", "csv"), *extra, book)
        out += [["saturation", "--altitude", "640", "--format", form, *extra] for form in ("text", "json", "csv")
                for extra in ([], ["--units", "us"], ["--salinity", "12", "--from", "2", "--to", "22", "--step", "2.5"])]
        out += [["saturation", "--altitude", "640", "--from", "12", "--to", "12", "--explain"]]
        out += [["species", "--format", form] for form in ("text", "json", "csv")]
        out += [["sources", "--format", form] for form in ("text", "json", "csv")]
        out += [["schema"], ["schema", "--report"], ["starter"], ["starter", "--bucket"], ["starter", "--loop"],
                ["starter", "--row"]]
        schema = json.loads(self.said([program, "schema"]).split("\n", 1)[1])
        draws = Drawn(self.place, schema)
        for number in range(5):
            self.mails[f"mails of {number}"] = draws.nights(lambda *words: self.said([program, "budget", *words]), 16)
        out += [[words[0], "--date", NOW, "--format", form, *words[1:]]
                for form, words in draws.all()]
        return out
