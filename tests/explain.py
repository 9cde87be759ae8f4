"""The working that --explain shows, redone: every shown arithmetic gives its shown result, with the
program's coefficients and with every one of them set otherwise.

    explain.py PROGRAM SOURCE_DIRECTORY
"""
import json
import math
import pathlib
import random
import re
import subprocess
import sys

program, source = sys.argv[1:]
NAMES = {"exp": math.exp, "ln": math.log, "log10": math.log10, "min": min, "max": max}
BASES = ("published", "common practice", "from memory", "judgement", "given", "balance",
         "by definition", "the same", "sum of", "its share", "the lower")

odd = {"format": 1, "site": {"name": "s", "barometric_pressure_kpa": 96, "salinity_g_kg": 3},
       "tanks": [
    {"name": "cold", "volume_l": 3000, "water": {"temperature_c": 1.5, "ph": 8, "alkalinity_mg_l": 9},
     "inflow": {"flow_l_min": 70, "oxygen_mg_l": 7, "tan_mg_l": 0.1, "ph": 7, "alkalinity_mg_l": 90},
     "fish": [{"species": "brook", "count": 40, "mean_weight_g": 700, "condition_factor": 1.2},
              {"species": "char", "count": 9, "mean_weight_g": 30, "ration_g_day": 2,
               "respiration_factor": 0.8}],
     "aeration": [{"kind": "cascade", "drop_m": 0.6}, {"kind": "rated", "sotr_g_h": 30},
                  {"kind": "oxygen", "flow_l_min": 0.4, "absorption_percent": 20},
                  {"kind": "diffuser", "air_flow_l_min": 9, "depth_m": 1,
                   "transfer_percent_per_m": 3}]},
    {"name": "still", "volume_l": 200, "water": {"temperature_c": 21, "tan_mg_l": 0.4},
     "fish": [{"species": "rainbow", "count": 5, "mean_weight_g": 90}],
     "feed": {"ration_percent_day": 0.5}},
    {"name": "empty", "volume_l": 200, "water": {"temperature_c": 8}, "fish": []}]}

# A loop that cannot bring what its tanks take: the balance goes on below nothing.
drowning = {"format": 1, "site": {"name": "s", "altitude_m": 200}, "tanks": [
    {"name": "deep", "volume_l": 3000, "loop": {"name": "short", "flow_l_min": 20},
     "fish": [{"species": "rainbow", "count": 300, "mean_weight_g": 200}],
     "aeration": [{"kind": "oxygen", "flow_l_min": 2, "absorption_percent": 12}]},
    {"name": "bare", "volume_l": 3000, "loop": {"name": "short", "flow_l_min": 20},
     "fish": [{"species": "rainbow", "count": 300, "mean_weight_g": 200}]}],
     "loops": [{"name": "short", "water": {"temperature_c": 13}, "exchange_l_day": 900,
                "biofilter": {"media_area_m2": 200}}]}


def explain(*arguments, text=None):
    done = subprocess.run([program, "budget", "--explain", *arguments], input=text, cwd=source,
                          capture_output=True, text=True, check=False)
    assert done.returncode in (0, 1, 2), done.stderr
    return done.stdout


NAMES_OF_EXAMPLES = ("spring", "altitude", "overstocked", "backyard", "greenhouse")
described = [json.loads((pathlib.Path(source) / "examples" / f"{name}.json").read_text())
             for name in NAMES_OF_EXAMPLES] + [odd, drowning]
known = json.loads(subprocess.run([program, "sources", "--format", "json"], capture_output=True,
                                  text=True, check=True).stdout)["sources"]
generator = random.Random(7)
set_otherwise = {each["key"]: each["value"] * generator.uniform(0.6, 1.9)
                 for each in known if each["key"]}

# The printed cells of the table (Leitritz & Lewis 1980), as another hand typed them.
cells = {}
for row in (pathlib.Path(source) / "tests/reference/ration_leitritz_lewis_1980.csv").read_text().split("\n"):
    if row and row[0].isdigit():
        degrees, length, percent = row.split(",")
        cells[degrees, length] = float(percent)
seen_cells = set()

redone = 0
given = 0
for description in described + [{**each, "coefficients": set_otherwise} for each in described]:
    page = explain("-", text=json.dumps(description))
    own = "coefficients" in description
    # A figure starts two blanks in; its source stands in brackets; the rest continues it.
    joined = re.sub(r"\n      +(?!\[)", " ", page)
    lines = joined.split("\n")
    wide = [line for line in page.split("\n") if len(line) > 80]
    assert not wide, wide
    start = lines.index(next(line for line in lines if line.startswith("The working of")))
    for number, line in enumerate(lines[start:], start):
        if not re.match(r"  \S.* = .* = ", line):
            continue
        name, arithmetic, result = line.strip().rsplit(" = ", 2)
        why = lines[number + 1].strip()
        assert why.startswith("[") and why[1:].startswith(BASES), (line, why)
        value = eval(arithmetic.replace("^", "**"), {"__builtins__": {}}, NAMES)
        shown = float(result.split(" ")[0])
        if cell := re.match(r"ration table, (\d+) degF, (\d+)(-\d+)? in", name):
            assert cells[cell.groups()[:2]] == shown, line
            seen_cells.add(cell.groups()[:2])
        assert math.isclose(value, shown, rel_tol=2e-5, abs_tol=2e-6), (line, value)
        redone += 1
        given += "given: coefficients" in why
    assert own or given == 0
assert redone > 1400 and given > 200, (redone, given)
assert len(seen_cells) > 8, seen_cells

# A card of saturation: the last line of each temperature is what the card says of it, and that is
# what ISO 5814 prints. Carbon dioxide: Henry's constant at 25 degC is 0.034 mol/(L atm), common to
# all tables of physical chemistry (from memory).
card = subprocess.run([program, "saturation", "--altitude", "0", "--from", "10", "--to", "14",
                       "--step", "4", "--explain"], capture_output=True, text=True, check=True).stdout
said = re.findall(r"oxygen saturation, (\d+) degC = ((?:.|\n)*?) mg/L", card)
for (degrees, arithmetic), printed in zip(said, (11.29, 10.31), strict=True):
    assert abs(float(arithmetic.rsplit("=", 1)[1]) - printed) < 0.006, (degrees, arithmetic)
assert "geopotential height" in card and max(map(len, card.split("\n"))) <= 80, card
refused = subprocess.run([program, "saturation", "--altitude", "0", "--explain", "--format", "csv"],
                         capture_output=True, text=True, check=False)
assert refused.returncode == 64 and not refused.stdout, refused
warm = {**odd, "site": {"name": "s", "altitude_m": 0}, "tanks": [
    {**odd["tanks"][0], "water": {"temperature_c": 25}, "feed": {}}]}
henry = re.search(r"KH, Henry's constant of carbon dioxide = .* = ([\d.]+) mol/\(L atm\)",
                  explain("-", text=json.dumps(warm)).replace("\n      ", " "))
assert abs(float(henry[1]) - 0.034) < 0.0005, henry
print(f"{redone} figures redone, {given} of them with coefficients of the description")
