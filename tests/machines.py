"""Built by another compiler, for other machines or more or less optimised it prints the same: every
example, and many descriptions like them, in every format. Text to the byte; in JSON and CSV a number may
differ by 1e-12 of itself, as the C libraries' exp and pow do in their last bits.

    machines.py PROGRAM SOURCE_DIRECTORY [BUILD...]    each in build/BUILD: gcc-O0 gcc-O3 clang arm64 armhf i386
"""
import json
import math
import os
import random
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

program, source = sys.argv[1], Path(sys.argv[2]).resolve()
COUNT = 400
CLOSE = 1e-12
# Compiler, its options, and what runs the program where this machine cannot.
BUILDS = {"gcc-O0": ("g++", "-O0", None),
          "gcc-O3": ("g++", "-O3", None),
          "clang": ("clang++", "-O2", None),
          "arm64": ("aarch64-linux-gnu-g++", "-O2", "qemu-aarch64"),
          "armhf": ("arm-linux-gnueabihf-g++", "-O2", "qemu-arm"),
          "i386": ("i686-linux-gnu-g++", "-O2", "qemu-i386")}
NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e[-+]\d+)?")
os.environ["SOURCE_DATE_EPOCH"] = "1795580100"
dice = random.Random(20261128)
place = Path(tempfile.mkdtemp(prefix="coldtank-machines-"))
chart = place / "chart.svg"


def like(value, key=""):
    """A description like another: each number a little else, with three digits."""
    if isinstance(value, dict):
        return {name: like(each, name) for name, each in value.items()}
    if isinstance(value, list):
        return [like(each) for each in value]
    if isinstance(value, bool) or not isinstance(value, (int, float)) or key == "format":
        return value
    if key == "count":
        return round(value * dice.uniform(0.5, 2))
    return float(f"{value * dice.uniform(0.8, 1.25):.3g}")


def run(words):
    chart.unlink(missing_ok=True)
    done = subprocess.run(words, capture_output=True, text=True, check=False)
    drawn = chart.read_text() if chart.exists() else ""
    return f"exit status {done.returncode}\n{done.stdout}{done.stderr}{drawn}"


def farthest(here, there):
    """How far apart, of themselves, the numbers are at most; infinitely where other text is."""
    if NUMBER.sub("#", here) != NUMBER.sub("#", there):
        return math.inf
    pairs = zip(NUMBER.findall(here), NUMBER.findall(there))
    return max((abs(float(a) - float(b)) / max(abs(float(a)), abs(float(b)))
                for a, b in pairs if a != b), default=0)


examples = sorted((source / "examples").glob("*.json")) + sorted(
    (source / "data/starter").glob("*.json"))
assert len(examples) > 5
many = place / "many.jsonl"
with many.open("w") as file:
    for number in range(COUNT):
        description = json.loads(examples[number % len(examples)].read_text())
        file.write(json.dumps(like(description)) + "\n")
names = list(map(str, examples))
night = ["--readings", str(source / "examples/spring.readings.csv"),
         str(source / "examples/spring.json")]
book = str(place / "book.csv")
for day in range(1, 25):
    run([program, "budget", "--log", book, "--date", f"2026-11-{day:02}", "--quiet", *names])
commands = [["budget", "--format", form, *extra, *files] for form in ("text", "json", "csv", "markdown")
            for extra in ([], ["--explain"], ["--units", "us"]) for files in (names, night, [str(many)])]
commands += [["capacity", "--format", form, *extra, *names] for form in ("text", "json", "csv", "markdown")
             for extra in ([], ["--for", "1500"],
                           ["--weight", "20,50,100,200", "--temperature", "10,14,18"])]
commands += [[command, "--format", form, *names] for command in ("season", "outage")
             for form in ("text", "json", "csv")]
commands += [["spread", "--draws", "64", "--format", form, *names] for form in ("text", "json", "csv")]
commands += [["droptest", "--format", form, "--fasted-h", "24", str(source / "examples/weir.drop.csv"), str(source / "examples/weir.json")]
             for form in ("text", "json")]
commands += [["trend", "--format", form, book] for form in ("text", "json", "csv")]
commands += [["trend", "--chart", str(chart), book], ["saturation", "--altitude", "640"],
             ["species"], ["sources"], ["schema"]]
expected = [run([program, *command]) for command in commands]
lines = sum(text.count("\n") for text in expected)
assert lines > 20000, lines

failed = False
for machine in sys.argv[3:] or BUILDS:
    compiler, options, emulator = BUILDS[machine]
    if missing := [tool for tool in (compiler, emulator) if tool and not shutil.which(tool)]:
        print(f"{machine}: no {' and no '.join(missing)}: skipped")
        continue
    build = source / "build" / machine
    subprocess.run(["cmake", "-S", source, "-B", build, f"-DCMAKE_CXX_COMPILER={compiler}",
                    "-DCMAKE_BUILD_TYPE=None", f"-DCMAKE_CXX_FLAGS={options}", "-DCOLDTANK_TESTS=OFF",
                    f"-DCOLDTANK_ONE_FILE={'ON' if emulator else 'OFF'}"],
                   check=True, stdout=subprocess.DEVNULL)
    jobs = subprocess.run(["sh", source / "examples/jobs.sh"], capture_output=True, text=True,
                          check=True).stdout.strip()
    subprocess.run(["cmake", "--build", build, "--target", "coldtank_cli", "-j", jobs], check=True,
                   stdout=subprocess.DEVNULL)
    differ, most = 0, 0.0
    for command, here in zip(commands, expected):
        there = run([*([emulator] if emulator else []), build / "coldtank", *command])
        if here == there:
            continue
        differ += 1
        exact = command[0] not in ("budget", "capacity", "trend") or not {"json", "csv"} & set(command)
        far = farthest(here, there)
        if exact or far > CLOSE:
            failed = True
            a, b = next((a, b) for a, b in zip(here.split("\n"), there.split("\n")) if a != b)
            print(f"{machine}: coldtank {' '.join(command)}\n  here:  {a[:300]}\n  there: {b[:300]}")
        else:
            most = max(most, far)
    print(f"{machine}: {len(commands)} runs, {lines} lines; {differ} runs differ, "
          f"in the last digits of numbers of JSON and CSV: by {most:.1e} at most")
shutil.rmtree(place)
sys.exit(failed)
