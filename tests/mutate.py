"""Changes one thing at a time in copies of the sources and looks whether the quick tests notice.

    mutate.py SOURCE_DIRECTORY [COUNT [SEED [FOLDER...]]]

FOLDER is src/model unless told. Numbers by 3 %, whole ones by one, comparisons, operators, min for max, a
statement left out. Prints each mutant that lives, and how many died. What changes nothing (equivalent) stands
in tests/equivalent.txt as "FILE: LINE BEFORE => LINE AFTER", with the reason behind " # "; it is not tried.

One build serves all: of a mutant what includes its file is compiled again and linked before the rest, and the
tests that ctest calls quick run until one fails, those first that noticed others of the same file.
"""
import collections
import json
import os
import random
import re
import shlex
import shutil
import subprocess
import sys
import threading
import time
from pathlib import Path

source = Path(sys.argv[1]).resolve()
count = int(sys.argv[2]) if len(sys.argv) > 2 else 300
dice = random.Random(int(sys.argv[3]) if len(sys.argv) > 3 else 1)
folders = sys.argv[4:] or ["src/model"]
place = source / "build" / "mutants"
tree, build = place / "tree", place / "build"
known = source / "tests" / "equivalent.txt"
equivalent = {line.split(" # ")[0].strip() for line in known.read_text(encoding="utf-8").splitlines()}

SWAPS = [(r" < ", " <= "), (r" <= ", " < "), (r" > ", " >= "), (r" >= ", " > "), (r" == ", " != "), (r" != ", " == "),
         (r" \+ ", " - "), (r" - ", " + "), (r" \* ", " / "), (r" / ", " * "), (r" && ", " || "), (r" \|\| ", " && "),
         (r"\bstd::min\b", "std::max"), (r"\bstd::max\b", "std::min"), (r"\blarger_of\b", "smaller_of"),
         (r"\bsmaller_of\b", "larger_of")]


def copy(to):
    if to.exists():
        shutil.rmtree(to)
    names = subprocess.run(["git", "-C", source, "ls-files"], capture_output=True, text=True, check=True).stdout
    for name in names.splitlines():
        target = to / name
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(source / name, target)


def mutants():
    """All that can be changed: file, line, the line before and after."""
    out = []
    for folder in folders:
        for path in sorted((source / folder).glob("*.[ch]pp")):
            for number, line in enumerate(path.read_text(encoding="utf-8").splitlines()):
                code = line.split("//")[0].rstrip()
                if '"' in code or code.lstrip().startswith("#") or "static_assert" in code:
                    continue
                changes = set()
                for pattern, other in SWAPS:
                    for at in re.finditer(pattern, code):
                        changes.add(code[:at.start()] + other + code[at.end():])
                for at in re.finditer(r"(?<![\w.])\d+\.\d+(?![\w.])", code):
                    changes.add(code[:at.start()] + repr(float(at[0]) * 1.03) + code[at.end():])
                for at in re.finditer(r"(?<![\w.\[])\d+(?![\w.\]])", code):
                    changes.add(code[:at.start()] + str(int(at[0]) + 1) + code[at.end():])
                if re.match(r"^ +[\w.\[\]>*-]+ [-+*/]?= [^;]*;$", code) or re.match(r"^ +[\w.>:-]+\([^;]*\);$", code):
                    changes.add(re.match(r" *", code)[0] + ";")
                out += [(path.relative_to(source), number, line, after) for after in sorted(changes)
                        if float_changed(code, after)]
    return out


def float_changed(before, after):  # 0.0 by 3 % is 0.0
    return re.sub(r"\b0\.0\b", "0", before) != re.sub(r"\b0\.0\b", "0", after)


class Base:
    """The one build: how each object is made, what it includes, how each program is linked."""

    def __init__(self):
        copy(tree)
        subprocess.run(["cmake", "-S", tree, "-B", build, "-DCOLDTANK_TESTS=ON", "-DCMAKE_EXPORT_COMPILE_COMMANDS=ON",
                        "-DCMAKE_DISABLE_PRECOMPILE_HEADERS=ON"],  # a header is read by all that include it
                       check=True, stdout=subprocess.DEVNULL)
        subprocess.run(["cmake", "--build", build, "-j2"], check=True, stdout=subprocess.DEVNULL)
        self.compiled = {}  # source file to its command
        for one in json.loads((build / "compile_commands.json").read_text(encoding="utf-8")):
            file = Path(one["file"])
            if tree / "src" in file.parents:
                self.compiled[file.relative_to(tree)] = (one["directory"], shlex.split(one["command"]))
        self.users = collections.defaultdict(set)  # header to the source files that include it
        for notes in build.rglob("*.cpp.o.d"):
            told = notes.read_text(encoding="utf-8").replace("\\\n", " ").split()[1:]
            files = [Path(word).relative_to(tree) for word in told if Path(word).is_relative_to(tree)]
            for file in files:
                self.users[file].update(files[:1])
        self.programs = {}  # a program to where it is linked, and how
        for name, notes in (("coldtank_tests", "tests/CMakeFiles/coldtank_tests.dir/link.txt"),
                            ("coldtank", "CMakeFiles/coldtank_cli.dir/link.txt")):
            at = build / "tests" if name == "coldtank_tests" else build
            self.programs[at / name] = (at, shlex.split((build / notes).read_text(encoding="utf-8")))
        listed = json.loads(subprocess.run(["ctest", "--test-dir", build, "-L", "quick", "--show-only=json-v1"],
                                           capture_output=True, text=True, check=True).stdout)
        self.tests = {}  # name to command and the seconds it takes
        for one in listed["tests"]:
            must = next((p["value"][0] for p in one["properties"] if p["name"] == "PASS_REGULAR_EXPRESSION"), None)
            started = time.monotonic()
            if not self.passes(one["command"], must, 600):
                sys.exit(f"mutate.py: {one['name']} fails before anything is changed")
            self.tests[one["name"]] = (one["command"], must, time.monotonic() - started)

    @staticmethod
    def passes(command, must, seconds):
        try:
            done = subprocess.run(command, capture_output=True, text=True, timeout=seconds, check=False, errors="replace")
        except subprocess.TimeoutExpired:
            return False
        return re.search(must, done.stdout) is not None if must else done.returncode in (0, 77)


class Worker:
    def __init__(self, base, number):
        self.base, self.at = base, place / f"worker{number}"
        self.tree = self.at / "tree"
        copy(self.tree)

    def notices(self, path, number, after, order):
        """The test that notices; None: none does; "": it does not compile."""
        text = (source / path).read_text(encoding="utf-8").splitlines(keepends=True)
        text[number] = after + "\n"
        (self.tree / path).write_text("".join(text), encoding="utf-8")
        try:
            objects = []
            for user in sorted({path} if path.suffix == ".cpp" else self.base.users[path]):
                if user not in self.base.compiled:
                    continue
                at, command = self.base.compiled[user]
                command = [word.replace(str(tree), str(self.tree)) for word in command]
                out = self.at / (str(user).replace("/", "_") + ".o")
                command[command.index("-o") + 1] = str(out)
                if subprocess.run(command, cwd=at, capture_output=True, check=False).returncode != 0:
                    return ""
                objects.append(str(out))
            mine = {}
            for program, (at, command) in self.base.programs.items():
                out = self.at / program.name
                command = list(command)
                command[command.index("-o") + 1] = str(out)
                first = next(i for i, word in enumerate(command) if word.endswith(".o"))
                command[first:first] = objects if program.name == "coldtank_tests" else \
                    [o for o in objects if not o.endswith("manual.cpp.o")]
                if subprocess.run(command, cwd=at, capture_output=True, check=False).returncode != 0:
                    return ""
                mine[str(program)] = str(out)
            for name in order(self.base.tests):
                words, must, seconds = self.base.tests[name]
                words = [mine.get(word, word) for word in words]
                if words[0] == mine.get(str(build / "tests" / "coldtank_tests")):
                    words.append("--abort-after=1")
                if not self.base.passes(words, must, 10 + 10 * seconds):
                    return name
            return None
        finally:
            shutil.copy2(source / path, self.tree / path)


base = Base()
seconds = sum(each[2] for each in base.tests.values())
print(f"{len(base.tests)} quick tests, {seconds:.0f} s one after another", flush=True)
chosen = [m for m in mutants() if f"{m[0]}: {m[2].strip()} => {m[3].strip()}" not in equivalent]
dice.shuffle(chosen)
lock = threading.Lock()
noticed = collections.defaultdict(collections.Counter)  # of each file, by test
results = []


def work(worker):
    while True:
        with lock:
            if not chosen or len([r for r in results if r[1] != ""]) >= count:
                return
            path, number, before, after = chosen.pop()

        def order(tests):
            return sorted(tests, key=lambda name: (-noticed[path][name], tests[name][2]))

        by = worker.notices(path, number, after, order)
        with lock:
            results.append((path, by))
            if len(results) % 25 == 0:
                tried = [by for _, by in results if by != ""]
                print(f"{sum(by is not None for by in tried)} of {len(tried)} so far", flush=True)
            if by:
                noticed[path][by] += 1
            elif by is None:
                print(f"lives: {path}:{number + 1}: {before.strip()} => {after.strip()}", flush=True)


workers = [threading.Thread(target=work, args=(Worker(base, i),)) for i in range(int(os.environ.get("WORKERS", "2")))]
for each in workers:
    each.start()
for each in workers:
    each.join()
for folder in folders:
    of = [by for path, by in results if str(path.parent) == folder and by != ""]
    died = sum(by is not None for by in of)
    print(f"{folder}: {died} of {len(of)} died ({100 * died / max(1, len(of)):.1f} %)")
print(f"{sum(by == '' for _, by in results)} did not compile")
