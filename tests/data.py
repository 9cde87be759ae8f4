"""The files of data/ against the program, and the schemas against an independent validator.

    data.py PROGRAM SOURCE_DIRECTORY

Exits 77, skipped, where python3-jsonschema is not installed.
"""
import json
import shutil
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
assert run("haul", "data/starter/bucket.json").returncode == 0

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
          "across_transfer", "species_unknown", "same_name", "weigh", "loop_unknown")
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

# A second validator, of another language, is of one mind with the first; by hand:
#     npm install --prefix build/npm ajv && NODE_PATH=build/npm/node_modules python3 tests/data.py ...
AJV = """
const Ajv = require('ajv/dist/2020');
const [schema, ...texts] = JSON.parse(require('fs').readFileSync(0, 'utf8'));
const validate = new Ajv({strict: true, strictRequired: false, strictTypes: false}).compile(schema);
console.log(JSON.stringify(texts.map(text => validate(text))));"""


def plain_json(path):
    """Of a file that is JSON, without numbers that are none."""
    try:
        text = json.loads(path.read_bytes().decode("utf-8"), parse_constant=lambda _: 1 / 0)
        json.dumps(text, allow_nan=False)
        return [text]
    except (ValueError, ZeroDivisionError):
        return []


bad = [text for path in sorted((source / "tests/bad").glob("*.json")) for text in plain_json(path)]
texts = [json.loads(path.read_text()) for path in good] + bad
asked = shutil.which("node") and subprocess.run(
    ["node", "-e", AJV], input=json.dumps([description, *texts]), capture_output=True, text=True,
    check=False)
if asked and asked.returncode == 0:
    assert json.loads(asked.stdout) == [describes.is_valid(text) for text in texts]
    print(f"ajv agrees on {len(texts)} descriptions")
else:
    assert not asked or "Cannot find module" in asked.stderr, asked.stderr
    print("node's ajv is not installed: skipped")

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
assert ends >= 90, ends

# An editor is told what a key means, what counts without it and what it may hold; so is who reads a
# report.
def shapes_of(node):
    if isinstance(node, dict):
        yield node
        for value in node.values():
            yield from shapes_of(value)
    elif isinstance(node, list):
        for value in node:
            yield from shapes_of(value)


told = 0
for schema in (description, report):
    assert schema["$id"].startswith("urn:") and schema["title"], schema
    for shape in shapes_of(schema):
        for key, holds in shape.get("properties", {}).items():
            if set(holds) in ({"const"}, {"anyOf"}):  # a condition, not a key
                continue
            assert holds["description"].strip(), key
            if holds.get("type") in ("number", "integer") and schema is description:
                assert "maximum" in holds and {"minimum", "exclusiveMinimum"} & set(holds), key
            told += 1
assert told > 380, told
defs = description["$defs"]
assert defs["feed"]["properties"]["protein_percent"]["default"] == 42
assert defs["limits"]["properties"]["oxygen_warn_mg_l"]["default"] == 6
assert "default" not in defs["limits"]["properties"]["temperature_warn_c"]  # the species'
assert "rainbow trout" in defs["fish"]["properties"]["species"]["examples"]
assert all(defs[name]["title"] for name in defs if name not in ("aerator", "backup"))
# What a default says is what counts: written out it changes nothing.
spring = json.loads((source / "examples/spring.json").read_text())
tank_of = spring["tanks"][0]
for key, shape in defs["feed"]["properties"].items():
    if "default" in shape and key not in tank_of["feed"]:
        tank_of["feed"][key] = shape["default"]
tank_of["aeration"][0].update({key: shape["default"] for key, shape in
                               defs["aerator"]["oneOf"][0]["properties"].items()
                               if "default" in shape})
tank_of["inflow"]["tan_mg_l"] = defs["inflow"]["properties"]["tan_mg_l"]["default"]
spring["site"]["salinity_g_kg"] = defs["site"]["properties"]["salinity_g_kg"]["default"]
spring["coefficients"] = {key: shape["default"]
                          for key, shape in defs["coefficients"]["properties"].items()}
spring["tanks"][0]["limits"] = {key: shape["default"]
                                for key, shape in defs["limits"]["properties"].items()
                                if "default" in shape and "nitrate" not in key
                                and "alkalinity" not in key}
date = ("--date", "2026-11-25", "--format", "json")
written = json.loads(run("budget", *date, "-", text=json.dumps(spring)).stdout)
plain = json.loads(run("budget", *date, "examples/spring.json").stdout)
for ours, theirs in zip(written["reports"][0]["tanks"], plain["reports"][0]["tanks"]):
    assert ours["verdict"] == ours["usual_verdict"]
    for part in ("oxygen", "oxygen_reserve", "ammonia", "carbon_dioxide"):
        assert ours[part] == theirs[part], part
    assert [check["value"] for check in ours["checks"]] == [check["value"]
                                                            for check in theirs["checks"]]
    assert [(check["warn"], check["fail"]) for check in ours["checks"]] == [
        (check["warn"], check["fail"]) for check in theirs["checks"]]

# An editor writes where the schema is: that is not read.
spring["$schema"] = "https://example.org/description.schema.json"
assert describes.is_valid(spring) and run("budget", "-", text=json.dumps(spring)).returncode == 0
spring["$schema"] = 1
assert not describes.is_valid(spring)
assert run("budget", "-", text=json.dumps(spring)).returncode == 65
print(f"{refused} bad descriptions refused by the schema too, {ends} ends of ranges agree")
