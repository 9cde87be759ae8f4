"""Descriptions one a line: answered as they come, the same for any number of jobs, in little memory.

    streams.py PROGRAM SOURCE_DIRECTORY
"""
import fcntl
import json
import os
import pty
import random
import re
import shutil
import struct
import subprocess
import sys
import tempfile
import termios
import time
from pathlib import Path

program, source = sys.argv[1], Path(sys.argv[2])
work = Path(tempfile.mkdtemp(prefix="coldtank-streams-"))
os.environ["SOURCE_DATE_EPOCH"] = "1795580100"  # reports say when
generator = random.Random(12)


def description(number, fish):
    return {"format": 1, "site": {"name": "Alder Brook", "altitude_m": generator.randint(0, 900)},
            "tanks": [{"name": f"round {number}", "volume_l": generator.randint(1500, 4000),
                       "water": {"temperature_c": round(generator.uniform(9, 14), 1), "ph": 7.2,
                                 "alkalinity_mg_l": 60},
                       "inflow": {"flow_l_min": generator.randint(60, 120), "oxygen_percent": 95,
                                  "carbon_dioxide_mg_l": 4},
                       "fish": [{"species": "rainbow trout", "count": fish,
                                 "mean_weight_g": generator.randint(80, 200)}],
                       "aeration": [{"kind": "diffuser", "air_flow_l_min": 40, "depth_m": 0.9,
                                     "bubble": "medium"}]}]}


def file_of(name, count, failing=0.1, broken=True):
    lines = []
    for number in range(count):
        lines.append(json.dumps(description(number, 900 if generator.random() < failing else 40)))
        if broken and number % 9 == 4:
            lines.append(generator.choice(["", "  ", '{"format": 1', "[]", '{"format": 2}']))
    path = work / name
    path.write_text("\n".join(lines) + generator.choice(["", "\n"]))
    return path


def run(*arguments, **options):
    return subprocess.run([program, "budget", *map(str, arguments)], capture_output=True,
                          check=False, cwd=source, **options)


# The same bytes for any number of jobs, in every format, errors in their place.
few = file_of("few.jsonl", 60)
for options in (["--format", "jsonl"], ["--format", "csv"], ["--format", "json"], [],
                ["--format", "markdown", "--date", "2026-11-25"], ["--quiet"],
                ["--quiet", "--format", "jsonl"], ["--explain", "--format", "jsonl"]):
    one = run("--jobs", 1, *options, few)
    assert one.returncode == 65 and one.stderr and one.stdout, options
    for jobs in (2, 3, 16):
        other = run("--jobs", jobs, *options, few)
        assert (other.returncode, other.stdout, other.stderr) == (
            one.returncode, one.stdout, one.stderr), (options, jobs)
    whole = run("--jobs", 4, *options, few, "examples/spring.json")
    assert whole.returncode == 65, options
# What is streamed is what is kept: jsonl line by line, each with its own line number.
lines = [json.loads(line) for line in run("--format", "jsonl", few).stdout.splitlines()]
kept = json.loads(run("--format", "json", few).stdout)["reports"]
assert lines == kept and len({each["line"] for each in lines}) == len(lines) > 60
assert any(each["errors"] for each in lines)
for wrong in ("0", "-1", "many", "2000"):
    assert run("--jobs", wrong, few).returncode == 64, wrong

# The first line is answered before there is a second; a tank is never waited for.
with subprocess.Popen([program, "budget", "--lines", "--format", "jsonl", "-"],
                      stdin=subprocess.PIPE, stdout=subprocess.PIPE) as process:
    for number in range(3):
        process.stdin.write(json.dumps(description(number, 40)).encode() + b"\n")
        process.stdin.flush()
        assert json.loads(process.stdout.readline())["tanks"][0]["tank"] == f"round {number}"
        time.sleep(0.1)
    # Half a line is not one yet.
    half = json.dumps(description(3, 40)).encode()
    process.stdin.write(half[:100])
    process.stdin.flush()
    time.sleep(0.2)
    process.stdin.write(half[100:])
    process.stdin.close()
    rest = process.stdout.read().splitlines()
    assert len(rest) == 1 and json.loads(rest[0])["tanks"][0]["tank"] == "round 3"
assert process.returncode == 0

# A reader that is gone ends the run, and says nothing.
many = file_of("many.jsonl", 4000, failing=0, broken=False)
done = subprocess.run(["sh", "-c", f"'{program}' budget --format jsonl '{many}' | head -n 1"],
                      capture_output=True, check=False)
assert done.stdout.count(b"\n") == 1 and not done.stderr, done.stderr


# Memory does not grow with the file.
def peak_kb(path):
    peak = subprocess.run(
        [sys.executable, "-c",
         "import resource, subprocess, sys;"
         "subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL, check=False);"
         "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)",
         program, "budget", "--jobs", "1", "--format", "jsonl", str(path)],
        capture_output=True, text=True, check=True)
    return int(peak.stdout)


long = work / "long.jsonl"
long.write_bytes((many.read_bytes().rstrip(b"\n") + b"\n") * 5)
if not re.search(r"sanitize", program):
    small, large = peak_kb(many), peak_kb(long)
    assert large < 1.1 * small and large < 32000, (small, large)
    print(f"{small} KB for 4,000 descriptions, {large} KB for 20,000")

# Two workers of an engine that pipes text give the bytes of one run.
if shutil.which("parallel"):
    command = f"'{program}' budget --lines --format jsonl -"
    spread = subprocess.run(["parallel", "--pipe", "-k", "--block", "100k", "-j", "2", command],
                            input=many.read_bytes(), capture_output=True, check=False)
    named = [json.loads(line)["tanks"] for line in spread.stdout.splitlines()]
    assert named == [json.loads(line)["tanks"]
                     for line in run("--format", "jsonl", many).stdout.splitlines()]
else:
    print("parallel is not installed: skipped")
# On a terminal the status words have colours, and no line is wider than it or than 100 columns;
# with the colours taken out it is the page that a pipe gets, but for its width.
def on_terminal(columns, *options, **variables):
    leader, follower = pty.openpty()
    fcntl.ioctl(follower, termios.TIOCSWINSZ, struct.pack("HHHH", 24, columns, 0, 0))
    environment = {"PATH": os.environ["PATH"], "TERM": "xterm", "SOURCE_DATE_EPOCH": "1795580100",
                   **variables}
    process = subprocess.Popen([program, "budget", *options, "examples/overstocked.json"],
                               cwd=source, stdout=follower, env=environment)
    os.close(follower)
    out = b""
    while True:
        try:
            piece = os.read(leader, 65536)
        except OSError:
            break
        if not piece:
            break
        out += piece
    os.close(leader)
    assert process.wait() == 2
    return out.decode("ascii").replace("\r\n", "\n")


try:
    os.close(pty.openpty()[0])
    terminal = True
except OSError:
    terminal = False
    print("there is no terminal here: skipped")
colours = re.compile(r"\x1b\[[\d;]*m")
piped = subprocess.run([program, "budget", "examples/overstocked.json"], cwd=source, check=False,
                       capture_output=True, text=True,
                       env={"TERM": "xterm", "SOURCE_DATE_EPOCH": "1795580100"}).stdout
assert "\x1b" not in piped
if terminal:
    shown = on_terminal(80)
    assert colours.sub("", shown) == piped, shown
    words = re.findall(r"\x1b\[[\d;]*m(\w+)\x1b\[0m", shown)
    assert len(words) > 5 and set(words) <= {"pass", "unchecked", "warn", "fail"}
    assert on_terminal(80, NO_COLOR="1") == on_terminal(80, TERM="dumb") == piped
    assert on_terminal(80, NO_COLOR="") == shown
    assert on_terminal(80, "--color", "never") == on_terminal(40, "--color", "never") == piped
    assert on_terminal(80, "--color", "always", NO_COLOR="1") == shown
    wide = on_terminal(120, "--color", "never")
    longest = max(map(len, wide.splitlines()))
    assert 90 < longest <= 100 and len(wide.splitlines()) <= len(piped.splitlines())
    assert set(piped.split()) <= set(wide.split())
    assert max(map(len, on_terminal(90, "--color", "never", "--all").splitlines())) <= 90
overstocked = source / "examples/overstocked.json"
coloured = run("--color", "always", overstocked).stdout
assert b"\x1b[" in coloured
for machine in ("json", "jsonl", "csv", "markdown", "names"):
    assert b"\x1b" not in run("--color", "always", "--format", machine,
                              overstocked).stdout

shutil.rmtree(work)
print("streamed")
