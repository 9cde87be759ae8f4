"""The files of data/ against the program, and the schemas against an independent validator.

    data.py PROGRAM SOURCE_DIRECTORY

Exits 77, skipped, where python3-jsonschema is not installed.
"""
import json
import subprocess
import sys
from pathlib import Path

program, source = sys.argv[1], Path(sys.argv[2])


def run(*arguments, text=None):
    return subprocess.run([program, *arguments], input=text, cwd=source, capture_output=True,
                          text=True, check=False)


# One source of truth: what is installed is what the program prints.
assert run("schema").stdout == (source / "data/description.schema.json").read_text()
assert run("schema", "--report").stdout == (source / "data/report.schema.json").read_text()
assert run("species", "--format", "json").stdout == (source / "data/species.json").read_text()
assert run("starter").stdout == (source / "data/starter/tank.json").read_text()
assert run("starter", "--bucket").stdout == (source / "data/starter/bucket.json").read_text()
assert run("starter", "--loop").stdout == (source / "data/starter/loop.json").read_text()
assert run("budget", "data/starter/loop.json").returncode == 0
assert run("budget", "data/starter/tank.json").returncode == 0
assert run("budget", "data/starter/bucket.json").returncode in (0, 1)

try:
    import jsonschema
except ImportError:
    print("python3-jsonschema is not installed: skipped")
    sys.exit(77)

description = json.loads((source / "data/description.schema.json").read_text())
report = json.loads((source / "data/report.schema.json").read_text())
jsonschema.Draft202012Validator.check_schema(description)
jsonschema.Draft202012Validator.check_schema(report)
describes = jsonschema.Draft202012Validator(description)
reports = jsonschema.Draft202012Validator(report)

good = sorted((source / "examples").glob("*.json")) + sorted((source / "data/starter").glob("*.json"))
assert len(good) >= 5
for path in good:
    describes.validate(json.loads(path.read_text()))
    for extra in ((), ("--explain",)):
        reports.validate(json.loads(run("budget", "--format", "json", *extra, str(path)).stdout))

# Bad descriptions that are JSON: their output has its shape too, and those that are wrong in shape
# (not across keys, not repeated keys, which a schema cannot see) are refused by the schema too.
BEYOND = ("twice_key", "twice_nested", "across_peak", "across_no_eater", "across_limits",
          "across_transfer", "species_unknown", "same_name", "weigh", "range_tiny",
          "range_huge", "loop_unknown")
refused = 0
for path in sorted((source / "tests/bad").glob("*.json")):
    done = run("budget", "--format", "json", str(path))
    assert done.returncode == 65, path
    reports.validate(json.loads(done.stdout))
    try:
        bad = json.loads(path.read_bytes().decode("utf-8"), parse_constant=lambda name: 1 / 0)
    except (ValueError, ZeroDivisionError):
        continue
    if path.stem.startswith(BEYOND):
        continue
    assert not describes.is_valid(bad), path
    refused += 1
assert refused >= 25, refused

# Keys, ranges and units: the ends that the schema states are the ends that the reader takes.
tank = {"name": "a", "volume_l": 1000, "water": {"temperature_c": 10}, "fish": []}


def reader_takes(definition, key, value):
    one = json.loads(json.dumps(tank))
    if definition == "tank":
        if key.startswith("volume"):
            del one["volume_l"]
        one[key] = value
    elif definition == "water":
        if key.startswith("temperature"):
            del one["water"]["temperature_c"]
        if key.startswith("peak"):
            one["water"]["temperature_c"] = 0
        one["water"][key] = value
    elif definition == "feed":
        one["feed"] = {key: value}
        one["fish"] = [{"species": "rainbow", "count": 1, "mean_weight_g": 1}]
    whole = {"format": 1, "site": {"name": "s", "altitude_m": 0}, "tanks": [one]}
    return describes.is_valid(whole), run("budget", "-", text=json.dumps(whole)).returncode != 65


ends = 0
for definition in ("water", "feed"):
    for key, shape in description["$defs"][definition]["properties"].items():
        for end, beyond in (("minimum", -1), ("maximum", 1)):
            if end not in shape:
                continue
            step = beyond * max(1e-6, abs(shape[end]) * 1e-6)
            for value in (shape[end], shape[end] + step):
                by_schema, by_reader = reader_takes(definition, key, value)
                assert by_schema == by_reader, (definition, key, value, by_schema, by_reader)
                ends += 1
assert ends >= 50, ends
print(f"{refused} bad descriptions refused by the schema too, {ends} ends of ranges agree")
