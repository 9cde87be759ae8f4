"""What libFuzzer starts from: a dictionary of the keys that the schema knows, and a folder of small files a target.

    fuzz_corpus.py PROGRAM SOURCE_DIRECTORY BUILD_DIRECTORY
"""
import json
import re
import subprocess
import sys
from pathlib import Path

program, source, build = sys.argv[1], Path(sys.argv[2]), Path(sys.argv[3])
schema = json.loads(subprocess.run([program, "schema"], capture_output=True, text=True,
                                   check=True).stdout)
words = set()


def collect(node):
    if isinstance(node, dict):
        for key, value in node.items():
            if key == "properties":
                words.update(value)
            if key == "enum":
                words.update(word for word in value if isinstance(word, str))
            collect(value)
    elif isinstance(node, list):
        for value in node:
            collect(value)


collect(schema)
help_text = subprocess.run([program, "--help"], capture_output=True, text=True, check=True).stdout
commands = [word for word in re.findall(r"^  ([a-z]+) ", help_text, re.M) if word != "coldtank"]
options = set()
for command in commands:
    text = subprocess.run([program, command, "--help"], capture_output=True, text=True, check=True).stdout
    options.update(re.findall(r"--[a-z-]+", text))
with open(build / "fuzz.dict", "w", encoding="utf-8") as out:
    for word in sorted(words) + [f'\\"{word}\\":' for word in sorted(words)]:
        out.write(f'"{word}"\n')
    for word in sorted(options) + commands:
        out.write(f'"{word}"\n')


def corpus(target, files):
    place = build / f"corpus_{target}"
    place.mkdir(exist_ok=True)
    for path in files:
        if isinstance(path, tuple):
            (place / path[0]).write_text(path[1], encoding="utf-8")
        else:
            (place / path.name).write_bytes(path.read_bytes())


examples = sorted(source.glob("examples/*.json"))
bad = sorted(source.glob("tests/bad/*.json"))
starters = sorted(source.glob("data/starter/*.json"))
tables = sorted(source.glob("examples/*.csv"))
corpus("description", examples + bad + starters)
corpus("whole", examples + starters)
corpus("readings", tables + [("rows.jsonl", '{"time": "2026-11-25T05:00Z", "tank": "a", "ph": 7}\n')])
corpus("species", [source / "data/species.json"])
corpus("logs", tables + [("season.csv", subprocess.run(
    [program, "season", "--date", "2027-03-25T09:00Z", "--format", "csv", source / "examples/meadow.json"],
    capture_output=True, text=True, check=False).stdout[:3000])])
log = build / "fuzz_log.csv"
log.unlink(missing_ok=True)
for day in range(1, 6):
    subprocess.run([program, "budget", "--date", f"2026-11-{day:02}T05:00Z", "--log", log, "--quiet",
                    source / "examples/spring.json"], capture_output=True, check=False)
corpus("logbook", [log])
corpus("command", [(f"{command}.txt", "\n".join([command, "--help"])) for command in commands] +
       [("budget2.txt", "budget\n--format\njson\n--units\nus\nx.json"),
        ("haul2.txt", "haul\n--water-l\n20\n--count\n6\n--weight\n250\n--temperature\n14\n--minutes\n40"),
        ("saturation2.txt", "saturation\n--altitude\n500\n--from\n0\n--to\n20")])
