"""The completions as a shell completes them: every command, every option, every choice, file names, names
of tanks and species; nothing where nothing is known.

    shells.py SHELL PROGRAM COMPLETIONS_DIRECTORY SOURCE_DIRECTORY

Exits 77, skipped, without that shell, or without a terminal to type at.
"""
import atexit
import os
import pty
import re
import select
import shlex
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

shell, program, completions, source = sys.argv[1], *map(os.path.abspath, sys.argv[2:5])
if shutil.which(shell) is None:
    print(f"no {shell}: skipped")
    sys.exit(77)
try:
    for end in pty.openpty():
        os.close(end)
except OSError as error:
    print(f"no terminal ({error}): skipped")
    sys.exit(77)
work = Path(tempfile.mkdtemp(prefix="coldtank-shells-"))
atexit.register(shutil.rmtree, work, ignore_errors=True)
here = work / "here"
here.mkdir()
environment = {"PATH": f"{os.path.dirname(program)}:/usr/bin:/bin", "HOME": str(work), "LC_ALL": "C",
               "TERM": "dumb", "COLUMNS": "5000", "LINES": "500"}


# ---- shells that are typed at: all completions are put into the line, and it is shown

class Typed:
    READY = b"\x1d"

    def __init__(self, command, setup):
        self.pid, self.terminal = pty.fork()
        if self.pid == 0:
            os.chdir(here)
            os.execvpe(command[0], command, environment)
        self.seen = b""
        # Its name is cut in two: what is echoed is no sign of being ready.
        os.write(self.terminal, setup.encode() + b"printf '\\0''35'\n")
        self.until(self.READY)

    def until(self, sign):
        end = time.monotonic() + 60
        while sign not in self.seen:
            assert time.monotonic() < end, f"{shell} does not answer: {self.seen[-2000:]!r}"
            if select.select([self.terminal], [], [], 1)[0]:
                self.seen += os.read(self.terminal, 65536)
        text, self.seen = self.seen.split(sign, 1)
        return text

    def line(self, typed, after="", key=b"\x18a"):
        os.write(self.terminal, (typed + after).encode() + b"\x02" * len(after) + key + b"\x18p")
        self.until(b"\x1e")
        return self.until(b"\x1f").decode()

    def __call__(self, before, partial, after=""):
        got = shlex.split(self.line(f"{before} {partial}", after))
        return got[len(shlex.split(before)):len(got) - len(shlex.split(after))]


class Fish:
    def __call__(self, before, partial):
        done = subprocess.run(
            ["fish", "--no-config", "-c", f"source '{completions}/coldtank.fish'; complete -C $argv",
             f"{before} {partial}"], cwd=here, env=environment, capture_output=True, text=True,
            check=False)
        assert done.returncode == 0 and not done.stderr, done
        return [line.split("\t")[0] for line in done.stdout.splitlines()]


if shell == "bash":
    ask = Typed(["bash", "--norc", "--noprofile", "-i"], f"""source '{completions}/coldtank.bash'
bind '"\\C-xa": insert-completions'; bind 'set bell-style none'
shown() {{ printf '\\036%s\\037' "$READLINE_LINE"; READLINE_LINE=; }}
bind -x '"\\C-xp": shown'
""")
elif shell == "zsh":
    ask = Typed(["zsh", "-f", "-i"], f"""fpath=('{completions}' $fpath); unsetopt beep promptsp
autoload -Uz compinit; compinit -u -D
zstyle ':completion:all-matches::::' completer _all_matches _complete
zstyle ':completion:all-matches:*' insert true
zle -C all-matches complete-word _generic; bindkey '^Xa' all-matches
shown() {{ printf '\\036%s\\037' $BUFFER; BUFFER= }}; zle -N shown; bindkey '^Xp' shown
""")
else:
    ask = Fish()

checked = 0


def offers(wanted, before, partial="", **more):
    """Just these, in any order, without the = before a value."""
    global checked
    checked += 1
    got = [re.sub(r"^(--[a-z0-9-]+)=(?=.)", "", each) for each in ask(before, partial, **more)]
    got = sorted({each.rstrip("=/" if "sub" in wanted else "=") for each in got})
    assert got == sorted(set(wanted)), f"{shell}: {before} {partial}{more}: {got}, not {wanted}"


def nothing(before, partial=""):
    offers([] if shell == "fish" or not partial else [partial], before, partial)


# ---- what there is to complete: as the program says it

def said(*arguments):
    return subprocess.run([program, *arguments], cwd=here, capture_output=True, text=True,
                          check=False)


shutil.copy(f"{source}/examples/spring.json", here / "my farm.json")
(here / "odd.json").write_text((here / "my farm.json").read_text().replace(
    "north round", "Larch, \\\"upper\\\" it's"))
shutil.copy(f"{source}/examples/raceway.json", work / "home farm.json")
said("budget", "--log", "book.csv", "my farm.json")
(here / "sub").mkdir()
(here / "sub" / "deep.json").write_text("{}")
(here / "text").mkdir()  # named as a format is
files = ["book.csv", "my farm.json", "odd.json", "sub", "text"]
species = said("species", "--format", "names").stdout.splitlines()
assert len(species) == 5, species

help_text = said("--help").stdout
commands = re.findall(r"^  (\w+)  ", help_text.split("Subcommands:")[1], re.M)
assert len(commands) >= 8, commands
offers([*commands, "help"], "coldtank")
offers(["-h", "--help", "-V", "--version"], "coldtank", "-")
offers(["budget"], "coldtank", "bud")
offers([*commands, "help"], "coldtank help")
nothing("coldtank budgte --format")

options_seen = choices_seen = 0
for command in commands:
    page = said(command, "--help").stdout
    options = re.findall(r"^  (?:(-\w), )?(--[\w-]+)(?: (\S+))?  ", page, re.M)
    assert ("-h", "--help", "") in options, page
    called = f"coldtank {command}"
    offers([name for _, name, _ in options], called, "--")
    offers([each for letter, name, _ in options for each in (letter, name) if each], called, "-")
    for letter, name, value in options:
        options_seen += 1
        if not value:
            continue
        ways = [f"{called} {each}" for each in (letter, name) if each]
        if value == "WORD":
            wrong = said(command, name, "?", "x", *(["--altitude", "0"] if "altitude" in page else []))
            choices = re.search(r'"\?" is none of (.+)$', wrong.stderr).group(1).split(", ")
            choices_seen += len(choices)
            offers(choices, ways[0])
            offers(choices, called, f"{name}=")
            for choice in choices:
                meant = [each for each in choices if each.startswith(choice[:2])]
                offers(meant, ways[0], choice[:2])
                offers(meant, called, f"{name}={choice[:2]}")
        elif value in ("FILE", "LOG"):
            for way in ways:
                offers(files, way)
                offers(["my farm.json"], way, "my")
        elif value != "NAME":
            nothing(ways[0])
            nothing(ways[0], "my")
    operand = re.search(r"^Usage: coldtank \w+ \[OPTIONS\](.*)", page, re.M).group(1)
    if not operand:
        nothing(called, "my")
    elif "NAME" not in operand:
        offers(files, called)
        offers(["my farm.json"], called, "my")
        offers(["my farm.json"], f"{called} odd.json --format text", "my")
assert options_seen > 50 and choices_seen > 30, (options_seen, choices_seen)

# ---- files by other names
offers(["sub/deep.json"], "coldtank budget", "sub/d")
offers(["my farm.json"], "coldtank budget", "my\\ f")
nothing("coldtank budget", "nowhere")
if shell != "fish":
    offers(["my farm.json"], "coldtank budget", '"my f')
    offers(["my farm.json"], "coldtank budget", "'my f")
offers(["~/home farm.json"], "coldtank budget", "~/home")

# ---- tanks, of whatever stands in the line
ODD = "Larch, \"upper\" it's"
for namer in ("coldtank budget", "coldtank capacity"):
    offers(["north round"], f"{namer} my\\ farm.json --tank")
    offers(["north round"], f"{namer} 'my farm.json' --tank", "north\\ r")
    offers(["north round", ODD], f"{namer} --lines odd.json \"my farm.json\" --tank")
    offers([ODD], f"{namer} odd.json", "--tank=Lar")
    offers(["upper raceway"], f"{namer} ~/home\\ farm.json --tank")
    nothing(f"{namer} --tank")
    nothing(f"{namer} my\\ farm.json --tank", "south")
    if shell != "fish":  # which is asked at the end of a line only
        offers(["north round"], f"{namer} --tank", "n", after=" 'my farm.json'")
        offers(["north round"], f"{namer} 'my farm.json' --tank", '"nor')
offers(["north round"], "coldtank trend book.csv --tank")
nothing("coldtank trend odd.json --tank")

# ---- species, or else a file of them
offers(species, "coldtank species")
offers(["brook trout"], "coldtank species", "brook")
nothing("coldtank species", "my")
offers(species if shell != "fish" else species + files, "coldtank capacity --species")
offers(["brook trout"], "coldtank capacity --species", "brook")
offers(["my farm.json"], "coldtank capacity --species", "my")
nothing("coldtank capacity --species", "nowhere")

# ---- the key that everybody uses: what it quotes, and adds
if shell != "fish":
    for typed, line in (("coldtank bud", "coldtank budget "),
                        ("coldtank budget my", "coldtank budget my\\ farm.json "),
                        ("coldtank budget su", "coldtank budget sub/"),
                        ("coldtank budget --format te", "coldtank budget --format text "),
                        ("coldtank species --species=my", "coldtank species --species=my\\ farm.json ")):
        assert ask.line(typed, key=b"\t") == line, (shell, typed, ask.line(typed, key=b"\t"))

# ---- bash parts words at a = unless its user had enough of that
if shell == "bash":
    os.write(ask.terminal, b"COMP_WORDBREAKS=${COMP_WORDBREAKS//=}\n")
    for wanted, before, partial in (
            (["--format=json", "--format=jsonl"], "coldtank budget", "--format=js"),
            (["--units=metric", "--units=us"], "coldtank budget", "--units="),
            (["--tank=north round"], "coldtank budget my\\ farm.json", "--tank=nor"),
            (["--log=my farm.json"], "coldtank budget", "--log=my"),
            (["--quiet"], "coldtank budget --units=us", "--qui")):
        assert ask(before, partial) == wanted, (before, partial, ask(before, partial))
print(f"{shell}: {checked} completions, {options_seen} options, {choices_seen} choices")
