"""Lines that the tests reached, by directory of src, from gcov's notes.

    coverage.py BUILD_DIRECTORY SOURCE_DIRECTORY
"""
import collections
import json
import subprocess
import sys
from pathlib import Path

build, source = Path(sys.argv[1]), Path(sys.argv[2]).resolve()
lines = collections.defaultdict(dict)  # of each file: line to whether it was reached
for notes in build.rglob("*.gcda"):
    told = subprocess.run(["gcov", "--json-format", "--stdout", str(notes.resolve())], capture_output=True,
                          text=True, check=True, cwd=build).stdout
    for one in told.splitlines():
        for file in json.loads(one)["files"]:
            path = Path(file["file"])
            if not path.is_absolute() or source / "src" not in path.parents:
                continue
            text = path.read_text(encoding="utf-8").splitlines()
            for line in file["lines"]:
                # A brace alone is what unwinds after an exception.
                if text[line["line_number"] - 1].strip(" });,") == "":
                    continue
                seen = lines[path].get(line["line_number"], False)
                lines[path][line["line_number"]] = seen or line["count"] > 0
sums = collections.defaultdict(lambda: [0, 0])
for path, reached in lines.items():
    part = path.relative_to(source / "src").parts[0]
    sums[part][0] += sum(reached.values())
    sums[part][1] += len(reached)
for part, (reached, of) in sorted(sums.items()):
    print(f"src/{part}: {100 * reached / of:.1f} % of {of} lines")
for path, reached in sorted(lines.items(), key=lambda x: sum(x[1].values()) / len(x[1]))[:8]:
    print(f"  least: {path.relative_to(source)} {100 * sum(reached.values()) / len(reached):.1f} %")
