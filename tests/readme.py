"""The README shows what the program does: each block marked <!-- same as FILE --> is that file.

    readme.py SOURCE_DIRECTORY
"""
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
print(f"{len(blocks)} blocks of the README hold")
