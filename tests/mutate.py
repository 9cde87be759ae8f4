"""Changes one thing at a time in a copy of the sources and looks whether the quick tests notice.

    mutate.py SOURCE_DIRECTORY [COUNT [SEED [FOLDER...]]]

FOLDER is src/model unless told. Numbers by 3 %, whole ones by one, comparisons, operators, min for max, a
statement left out. Prints each mutant that lives, and how many died. What changes nothing (equivalent) stands
in tests/equivalent.txt as "FILE: LINE BEFORE => LINE AFTER", with the reason behind " # ".
"""
import random
import re
import shutil
import subprocess
import sys
from pathlib import Path

source = Path(sys.argv[1]).resolve()
count = int(sys.argv[2]) if len(sys.argv) > 2 else 300
dice = random.Random(int(sys.argv[3]) if len(sys.argv) > 3 else 1)
folders = sys.argv[4:] or ["src/model"]
place = source / "build" / "mutants"
tree, build = place / "tree", place / "build"
known = source / "tests" / "equivalent.txt"
equivalent = {line.split(" # ")[0].strip() for line in known.read_text(encoding="utf-8").splitlines()} \
    if known.exists() else set()

SWAPS = [(r" < ", " <= "), (r" <= ", " < "), (r" > ", " >= "), (r" >= ", " > "), (r" == ", " != "), (r" != ", " == "),
         (r" \+ ", " - "), (r" - ", " + "), (r" \* ", " / "), (r" / ", " * "), (r" && ", " || "), (r" \|\| ", " && "),
         (r"\bstd::min\b", "std::max"), (r"\bstd::max\b", "std::min"), (r"\blarger_of\b", "smaller_of"),
         (r"\bsmaller_of\b", "larger_of")]


def copy():
    tree.parent.mkdir(parents=True, exist_ok=True)
    if tree.exists():
        shutil.rmtree(tree)
    names = subprocess.run(["git", "-C", source, "ls-files"], capture_output=True, text=True, check=True).stdout
    for name in names.splitlines():
        target = tree / name
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(source / name, target)


def run(*command, timeout=600):
    try:
        return subprocess.run(command, capture_output=True, text=True, timeout=timeout, check=False).returncode
    except subprocess.TimeoutExpired:
        return 1


def built():
    return run("cmake", "--build", build, "-j2", "--target", "coldtank_tests") == 0


def noticed():
    return run("ctest", "--test-dir", build, "-L", "quick", "-j2", "--stop-on-failure", timeout=300) != 0


def mutants():
    """All that can be changed: file, line, the line before and after."""
    out = []
    for folder in folders:
        for path in sorted((source / folder).glob("*.[ch]pp")):
            for number, line in enumerate(path.read_text(encoding="utf-8").splitlines()):
                code = line.split("//")[0]
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
                out += [(path.relative_to(source), number, line, after) for after in sorted(changes)]
    return out


copy()
if run("cmake", "-S", tree, "-B", build, "-DCOLDTANK_TESTS=ON") != 0 or not built():
    sys.exit("mutate.py: the sources do not build")
if noticed():
    sys.exit("mutate.py: the quick tests fail before anything is changed")
died = lived = unbuilt = 0
chosen = mutants()
dice.shuffle(chosen)
for path, number, before, after in chosen:
    if died + lived == count:
        break
    name = f"{path}: {before.strip()} => {after.strip()}"
    if name in equivalent:
        continue
    file = tree / path
    text = (source / path).read_text(encoding="utf-8").splitlines(keepends=True)
    text[number] = after + "\n"
    file.write_text("".join(text), encoding="utf-8")
    if not built():
        unbuilt += 1
    elif noticed():
        died += 1
    else:
        lived += 1
        print(f"lives: {path}:{number + 1}: {before.strip()} => {after.strip()}", flush=True)
    shutil.copy(source / path, file)
of = max(1, died + lived)
print(f"{died} of {of} died ({100 * died / of:.1f} %); {unbuilt} did not compile")
