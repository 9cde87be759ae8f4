"""Built by another compiler, for other machines or more or less optimised it prints the same: every
example, and many descriptions like them, in every format. Text to the byte; in JSON and CSV a number may
differ by 1e-12 of itself, as the C libraries' exp and pow do in their last bits.

    machines.py PROGRAM SOURCE_DIRECTORY [BUILD...]    each in build/BUILD: gcc-O0 gcc-O3 clang arm64 armhf i386
"""
import math
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from everything import Everything

program, source = str(Path(sys.argv[1]).resolve()), Path(sys.argv[2]).resolve()
CLOSE = 1e-12
# The shares of a spread are what is left of two sums near 1: of a small one less is known.
SHARE = re.compile(r'"(?:index|standard_error)": ?(-?[\d.e+-]+)')
# Compiler, its options, and what runs the program where this machine cannot.
BUILDS = {"gcc-O0": ("g++", "-O0", None),
          "gcc-O3": ("g++", "-O3", None),
          "clang": ("clang++", "-O2", None),
          "arm64": ("aarch64-linux-gnu-g++", "-O2", "qemu-aarch64"),
          "armhf": ("arm-linux-gnueabihf-g++", "-O2", "qemu-arm"),
          "i386": ("i686-linux-gnu-g++", "-O2", "qemu-i386")}
NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e[-+]\d+)?")
place = Path(tempfile.mkdtemp(prefix="coldtank-machines-"))


def farthest(here, there):
    """How far apart the numbers are at most, of themselves, and shares of 1; infinitely where other text is."""
    if NUMBER.sub("#", here) != NUMBER.sub("#", there):
        return math.inf
    most = max((abs(float(a) - float(b)) for a, b in zip(SHARE.findall(here), SHARE.findall(there))), default=0)
    pairs = zip(NUMBER.findall(SHARE.sub("", here)), NUMBER.findall(SHARE.sub("", there)))
    return max([most, *(abs(float(a) - float(b)) / max(abs(float(a)), abs(float(b))) for a, b in pairs if a != b)])


everything = Everything(source, place, 60)
commands = everything.commands(program)
expected = [everything.said([program, *command]) for command in commands]
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
        there = everything.said([*([emulator] if emulator else []), build / "coldtank", *command])
        if here == there:
            continue
        differ += 1
        exact = not {"json", "jsonl", "csv"} & set(command)
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
