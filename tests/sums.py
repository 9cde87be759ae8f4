"""Nothing that is printed changes unseen: a sum of what each command says of the examples and of descriptions
like them, beside tests/sums.txt. Numbers of JSON and CSV to nine digits, as machines differ in the last ones.

    sums.py PROGRAM SOURCE_DIRECTORY [--write | --into DIRECTORY]

--write puts today's sums into tests/sums.txt; --into writes what is said into a directory, so that two builds
can be compared with diff -r.
"""
import hashlib
import re
import shutil
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from everything import CHART, Everything

program, source = str(Path(sys.argv[1]).resolve()), Path(sys.argv[2]).resolve()
place = Path(tempfile.mkdtemp(prefix="coldtank-sums-"))
NUMBER = re.compile(r"-?\d+\.\d{6,}(?:e[-+]\d+)?|-?\d+(?:\.\d+)?e[-+]\d+")


def rounded(text):
    return NUMBER.sub(lambda match: f"{float(match[0]):.9g}", text)


everything = Everything(source, place, 12)
commands = everything.commands(program)
with ThreadPoolExecutor(2) as several:
    plain = [each for each in commands if CHART not in each]
    texts = dict(zip(map(tuple, plain), several.map(lambda each: everything.said([program, *each]), plain)))
for each in commands:
    if tuple(each) not in texts:  # one picture at a time
        texts[tuple(each)] = everything.said([program, *each])
lines, said = [], []
for each in [*commands, *([name] for name in everything.mails)]:
    name = " ".join(each)
    text = everything.mails.get(name) or texts[tuple(each)]
    if "json" in each or "csv" in each or name in everything.mails:
        text = rounded(text)
    assert not re.search(r"\bnan\b|\binf\b", text), each
    said.append((name, text))
    lines.append(f"{hashlib.sha256(text.encode()).hexdigest()[:12]} {name}")
shutil.rmtree(place)
known = source / "tests/sums.txt"
if sys.argv[3:4] == ["--into"]:
    into = Path(sys.argv[4])
    into.mkdir(parents=True, exist_ok=True)
    for number, (name, text) in enumerate(said):
        (into / f"{number:03}.txt").write_text(f"{name}\n{text}", encoding="utf-8")
elif sys.argv[3:4] == ["--write"]:
    known.write_text("\n".join(lines) + "\n", encoding="utf-8")
else:
    was = known.read_text(encoding="utf-8").splitlines()
    other = sorted(set(lines) - set(was))
    for line in other[:20]:
        print("says something else:", line.split(" ", 1)[1])
    assert not other and len(was) == len(lines), \
        f"{len(other)} of {len(lines)}: look at them by --into of this build and the last, then --write"
print(f"{len(lines)} commands, {sum(text.count(chr(10)) for _, text in said)} lines")
