"""The README shows what the program does: each block marked <!-- same as FILE --> is that file; its
tables of keys are those of the schema.

    readme.py SOURCE_DIRECTORY
"""
import json
import re
import sys
from pathlib import Path

source = Path(sys.argv[1])
readme = (source / "README.md").read_text(encoding="utf-8")
blocks = re.findall(r"<!-- same as (\S+) -->\n```\w*\n(.*?)```\n", readme, re.S)
assert {name for name, _ in blocks} >= {"examples/spring.json", "examples/spring.pass.txt",
                                         "examples/library.cpp"}, [name for name, _ in blocks]
for name, text in blocks:
    assert text == (source / name).read_text(encoding="utf-8"), f"README.md differs from {name}"
for command in ("sh examples/quickstart.sh", "sh tests/run.sh"):
    assert command in readme, command
for name in re.findall(r"\]\(([\w./-]+)\)", readme):
    assert (source / name).exists(), f"README.md points at {name}"

# ---- the tables of keys: each key of the schema in its base unit, each required one with its star
schema = json.loads((source / "data/description.schema.json").read_text(encoding="utf-8"))
aerators = {shape["properties"]["kind"]["const"]: shape
            for shape in schema["$defs"]["aerator"]["oneOf"]}


def base_keys(shape):
    """Of spellings in several units, which stand one behind the other, the first."""
    bases, told = [], None
    for key, holds in shape["properties"].items():
        if holds.get("description") != told or told is None:
            bases.append(key)
        told = holds.get("description")
    return bases


def required_keys(shape):
    return set(shape.get("required", [])) | {
        each["oneOf"][0]["required"][0] for each in shape.get("allOf", [])
        if "oneOf" in each and not any("not" in choice for choice in each["oneOf"])}


section = readme.split("## The description")[1].split("## Checks and limits")[0]
rows = {part.replace("`", ""): keys
        for part, keys in re.findall(r"^\| (.*?) \| (.*) \|$", section, re.M)}
shapes = {"top": schema, "a group of fish": schema["$defs"]["fish"],
          "a tank's loop": schema["$defs"]["loop_flow"], "a tank": schema["$defs"]["tank"],
          "a loop": schema["$defs"]["loop"], "a trip": schema["$defs"]["trip"], **aerators,
          **{name: schema["$defs"][name] for name in
             ("site", "water", "inflow", "feed", "makeup", "biofilter", "plants")}}
common = set(base_keys(aerators["rated"])) & set(base_keys(aerators["cascade"]))
checked = 0
for part, shape in shapes.items():
    keys = rows[part]
    if part == "a loop":  # its water is told within its row
        keys = re.sub(r"`water`(\\\*)? \(.*?\)(?=, `exchange)", r"`water`\1", keys)
    written = dict(re.findall(r"`([$a-z0-9_]+)`(\\\*)?", keys))
    choices = {choice for holds in shape["properties"].values() for choice in holds.get("enum", [])}
    if part == "a tank's loop":
        del written["water"]
    if part == "a trip":  # its changes of water are told within its row
        inner = re.search(r"`water_change` \((.*?)\)", keys).group(1)
        change = set(re.findall(r"`([a-z_]+)`", inner))
        assert change == set(schema["$defs"]["water_change"]["properties"]), change
        for key in change:
            del written[key]
    expected = [key for key in base_keys(shape) if part not in aerators or key not in common]
    missing = set(expected) - set(written)
    assert not missing, f"README.md, {part}: {missing} is missing"
    assert set(written) <= set(expected) | choices, (part, set(written) - set(expected) - choices)
    for key in required_keys(shape) - common:
        assert written[key], f"README.md, {part}: {key} is required: a star is missing"
    checked += len(expected)
in_loop = re.search(r"`water`\\\* \((.*?)\), `exchange", rows["a loop"]).group(1)
assert set(re.findall(r"`([a-z0-9_]+)`", in_loop)) == set(base_keys(schema["$defs"]["loop_water"]))
assert set(re.findall(r"`([a-z]+)`", rows["aeration"])) == common
backup = set(re.findall(r"`([a-z_0-9]+)`", rows["backup"])) - {"aeration"}
own = {key for shape in schema["$defs"]["backup"]["oneOf"] for key in base_keys(shape)}
kinds = {shape["properties"]["kind"]["const"] for shape in schema["$defs"]["backup"]["oneOf"]}
of_units = {key for shape in aerators.values() for key in base_keys(shape)}
assert backup - kinds == own - of_units, (backup - kinds) ^ (own - of_units)
limits = readme.split("## Checks and limits")[1].split("## Models")[0]
for key in base_keys(schema["$defs"]["limits"]):
    assert f"`{key}`" in limits, f"README.md, limits: {key} is missing"
assert checked > 70, checked
print(f"{len(blocks)} blocks and {checked} keys of the README hold")
