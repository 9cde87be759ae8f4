"""Who may include whom: no room includes one above it, and no header leads back to itself.

    layers.py SOURCE_DIRECTORY
"""
import re
import sys
from pathlib import Path

source = Path(sys.argv[1])
# A room, and the rooms that it may include beside itself. The public headers are the model's.
ROOMS = {
    "coldtank": set(),
    "model": {"coldtank"},
    "text": set(),
    "read": {"coldtank", "text"},
    "logbook": {"text"},
    "report": {"coldtank", "text", "read", "logbook"},
    "cli": {"coldtank", "text", "read", "logbook", "report"},
}
# What only these rooms may include of others' libraries: none other.
LIBRARIES = {"fmt": {"text", "read", "logbook", "report", "cli"}, "CLI": {"cli"},
             "nlohmann": {"text"}}

files = {}
for root, pattern in ((source / "include", "coldtank/*.hpp"),
                      (source / "include", "coldtank/*.inc"), (source / "src", "*/*.?pp")):
    for path in sorted(root.glob(pattern)):
        files[str(path.relative_to(root))] = path.read_text(encoding="utf-8")
includes = {}
for name, text in files.items():
    room = name.split("/")[0]
    here = includes.setdefault(name, [])
    for target in re.findall(r'^#include "([^"]+)"', text, re.M):
        if target in ("embedded.hpp", "coldtank/version.hpp"):  # made by the build
            continue
        full = target if target in files else f"{room}/{target}"
        assert full in files, f"{name} includes {target}, which is not there"
        other = full.split("/")[0]
        # The working shows the formulas themselves.
        if (name, full) == ("report/explain.cpp", "model/formulas.hpp"):
            continue
        assert other == room or other in ROOMS[room], f"{name} includes upward: {target}"
        here.append(full)
    for library in re.findall(r"^#include <(\w+)/", text, re.M):
        if library in LIBRARIES:
            assert room in LIBRARIES[library], f"{name} includes {library}"
            assert library != "CLI" or name == "cli/program.cpp", f"{name} includes {library}"
    if name.endswith(".cpp") and name.replace(".cpp", ".hpp") in files:
        assert name.replace(".cpp", ".hpp") in here, f"{name} leaves its own header out"

done, open_ = set(), []


def visit(name):
    assert name not in open_, "a circle: " + " -> ".join(open_[open_.index(name):] + [name])
    if name in done:
        return
    open_.append(name)
    for target in includes[name]:
        visit(target)
    open_.pop()
    done.add(name)


for name in files:
    visit(name)
assert len(files) > 60, len(files)
print(f"{len(files)} files, {sum(map(len, includes.values()))} includes: none upward, no circle")
