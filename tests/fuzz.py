"""Broken and odd descriptions by the thousand: no crash, no invalid JSON, no number that is none.

    fuzz.py PROGRAM SOURCE_DIRECTORY [COUNT [SEED]]

In CI a short run; for a long one: python3 tests/fuzz.py build/sanitize/coldtank . 20000 7
"""
import copy
import json
import random
import subprocess
import sys
from pathlib import Path

program, source = sys.argv[1], Path(sys.argv[2])
count = int(sys.argv[3]) if len(sys.argv) > 3 else 600
dice = random.Random(int(sys.argv[4]) if len(sys.argv) > 4 else 1)
seeds = [json.loads(path.read_text()) for path in sorted((source / "examples").glob("*.json"))]
seeds += [json.loads(path.read_text()) for path in sorted((source / "data/starter").glob("*.json"))]
NUMBERS = [0, -0.0, 1, -1, 0.5, 1e-9, 1e-300, 1e9, 1e12, 1e300, 40, 100, 3, 11, 5000, 1e400]
OTHERS = [None, True, "", "x", "rainbow", [], {}, [1], {"a": 1}, "\u202e\u0007"]


def places(node, path=()):
    yield path
    if isinstance(node, dict):
        for key in node:
            yield from places(node[key], path + (key,))
    elif isinstance(node, list):
        for index, item in enumerate(node):
            yield from places(item, path + (index,))


def change(node):
    path = dice.choice([place for place in places(node) if place])
    for step in path[:-1]:
        node = node[step]
    kind = dice.random()
    if kind < 0.2:
        del node[path[-1]]
    elif kind < 0.75 and isinstance(node[path[-1]], (int, float)):
        value = node[path[-1]]
        node[path[-1]] = dice.choice([value * dice.choice([0, 0.1, 0.5, 2, 10, 1000]),
                                      dice.choice(NUMBERS)])
    elif kind < 0.85:
        node[path[-1]] = copy.deepcopy(dice.choice(OTHERS))
    elif isinstance(node, dict):
        node[dice.choice(["ph", "volume_m3", "x", "limits", "inflow", "loop", "~/"])] = (
            copy.deepcopy(dice.choice(NUMBERS + OTHERS)))


lines = []
for _ in range(count):
    one = json.loads(json.dumps(dice.choice(seeds)))
    for _ in range(dice.choice([1, 1, 2, 3, 6])):
        if len(list(places(one))) > 1:
            change(one)
    text = json.dumps(one).replace("Infinity", "1e400")
    if dice.random() < 0.2:  # and broken as text
        at = dice.randrange(len(text))
        text = text[:at] + dice.choice(["", "}", ",", "\"", "\\", "1", "\x01", "é", "//"]) + text[at + 1:]
    lines.append(text.replace("\n", " "))

for arguments in (("budget", "--format", "jsonl"), ("budget", "--explain"),
                  ("capacity", "--format", "json", "--share"),
                  ("season", "--format", "json", "--plan"), ("season", "--every", "month")):
    done = subprocess.run([program, *arguments, "--lines", "-"], input="\n".join(lines) + "\n",
                          capture_output=True, text=True, check=False, cwd=source)
    assert done.returncode in (0, 1, 2, 65), (arguments, done.returncode, done.stderr[-2000:])
    for word in ("nan", "inf ", "-nan", "not a number"):
        assert f" {word}" not in done.stdout, (arguments, word)


    def refuse(name):
        raise ValueError(name)


    if "jsonl" in arguments:
        reports = [json.loads(line, parse_constant=refuse) for line in done.stdout.splitlines()]
        assert len(reports) == count, (len(reports), count)
        good = sum(1 for report in reports if report["tanks"])
        assert good > count / 10, good
    elif "json" in arguments:
        json.loads(done.stdout, parse_constant=refuse)
# ---- logs of a drop test, broken as a hand or a logger breaks them
log = (source / "examples/weir.drop.csv").read_text().splitlines()
concluded = 0
for _ in range(count // 4):
    rows = [line.split(",") for line in log]
    for _ in range(dice.choice([0, 1, 1, 2, 5, 20])):
        row = dice.choice(rows)
        at = dice.randrange(len(row))
        row[at] = dice.choice(["", "x", "-1", "0", "9,2", "1e400", "09:04", "24:00", "2026-11-25T09:04Z",
                               "40", "nan", "\u202e", "=1+1", "\"", row[at] + "0", "5.1"])
    if dice.random() < 0.3:
        rows = rows[:dice.randrange(len(rows))]
    if dice.random() < 0.2:
        dice.shuffle(rows)
    text = dice.choice(["\n", "\r\n"]).join(dice.choice([",", ",", ";"]).join(row) for row in rows)
    options = dice.choice([["examples/weir.json"], ["--volume-l", "2500", "--biomass", "18", "--weight",
                                                    "200", "--temperature", "11"],
                           ["--volume-l", "2500", "--biomass", "0", "--temperature", "11"]])
    for form in ("text", "json"):
        done = subprocess.run([program, "droptest", "--format", form, "--fasted-h", "20", "-", *options],
                              input=text, capture_output=True, text=True, check=False, cwd=source)
        assert done.returncode in (0, 1, 2, 64, 65), (text, options, done)
        for word in ("nan", "inf", "-nan", "null mg"):
            assert f" {word} " not in done.stdout, (text, options, done.stdout)
        assert all(len(line) <= 80 for line in done.stdout.splitlines()) or form == "json", done.stdout
        if form == "json" and done.stdout:
            report = json.loads(done.stdout, parse_constant=lambda name: 1 / 0)["reports"][0]
            concluded += report["respiration_mg_kg_h"] is not None
            told = report["refused"] is None or report["respiration_mg_kg_h"] is None
            assert told and (report["verdict"] != "pass" or report["write"]), report
assert concluded > count / 40, concluded
print(f"{count} odd descriptions, {good} of them with a budget")
