"""The crontab lines of the README, as cron would run them.

    cron.py PROGRAM SOURCE_DIRECTORY

Only the two places they name, /usr/local/bin/coldtank and /srv/tanks, are put elsewhere.
"""
import csv
import datetime
import json
import os
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

program, source = sys.argv[1], Path(sys.argv[2])
readme = (source / "README.md").read_text(encoding="utf-8")
crontab = re.search(r"<!-- crontab -->\n```crontab\n(.*?)```\n", readme, re.S).group(1)
lines = [line for line in crontab.splitlines() if line and not re.match(r"#|\w+=", line)]
assert len(lines) == 2, lines
place = Path(tempfile.mkdtemp(prefix="coldtank-cron-"))
home = place / "home"
home.mkdir()


def command_of(line):
    """What cron hands to its shell: five fields, then text in which \\% is % and a bare % ends."""
    match = re.match(r"((?:[\d*/,-]+ +){5})(.*)$", line)
    assert match, line
    for field, most in zip(match.group(1).split(), (59, 23, 31, 12, 7)):
        assert field == "*" or 0 <= int(field) <= most, line
    text = match.group(2)
    assert not re.search(r"(?<!\\)%", text), "a bare % ends a command of cron"
    text = text.replace("\\%", "%")
    for word in text.split():
        if "/" in word and not word.startswith(("/", "--")):
            raise AssertionError(f"{word} is not absolute")
    return text.replace("/usr/local/bin/coldtank", program).replace("/srv/tanks", str(place))


def cron(line):
    done = subprocess.run(
        ["env", "-i", f"HOME={home}", "LOGNAME=tanks", "SHELL=/bin/sh", "PATH=/usr/bin:/bin",
         "/bin/sh", "-c", command_of(line)],
        stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
        cwd=home, check=False)
    return done.returncode, done.stdout  # what it prints, cron mails


def readings(oxygen, hours_ago=1.0, columns="time,tank,temperature_c,oxygen_mg_l"):
    now = datetime.datetime.now(datetime.timezone.utc) - datetime.timedelta(hours=hours_ago)
    (place / "readings.csv").write_text(
        f"{columns}\n{now:%Y-%m-%dT%H:%M:%SZ},north round,13.6,{oxygen}\n")


nightly, weekly = lines
assert "--quiet" in nightly and "--require-all" in nightly
shutil.copy(source / "examples/spring.json", place / "spring.json")
book = place / "logbook.csv"

# All well: not a byte to mail, a record in the logbook.
readings(7.0)
done = cron(nightly)
assert done == (0, ""), done
assert len(list(csv.DictReader(book.open()))) == 1
# Low oxygen: a mail whose first line is the alarm.
readings(4.4)
status, mail = cron(nightly)
assert status == 2 and mail.startswith("fail north round: 4.40 mg/L measured"), mail
assert "NOW" in mail and mail.isascii()
# A sensor that died.
readings(7.0, hours_ago=30)
status, mail = cron(nightly)
assert status == 1 and mail.startswith("not measured north round: oxygen 4.4 mg/L, fail at "), mail
assert "\nwarn north round: oxygen_mg_l 30 h old: measure again" in mail, mail
# A reading that nobody takes counts, as --require-all is there.
readings(7.0, hours_ago=0.5)
no_ph = json.loads((source / "examples/spring.json").read_text())
del no_ph["tanks"][0]["water"]["ph"]
(place / "spring.json").write_text(json.dumps(no_ph))
status, mail = cron(nightly)
assert status == 1 and mail.startswith("unchecked north round"), mail
shutil.copy(source / "examples/spring.json", place / "spring.json")
# A second file that is no description: mailed, and the first is worked out and logged.
(place / "broken.json").write_text("{")
before = len(list(csv.DictReader(book.open())))
status, mail = cron(nightly)
assert status == 65 and "broken.json:1:2" in mail, mail
assert len(list(csv.DictReader(book.open()))) == before + 1
(place / "broken.json").unlink()
# One that cannot be read, and the other tank in trouble: both are said.
(place / "gone.json").symlink_to(place / "nowhere")
readings(4.4)
status, mail = cron(nightly)
assert status == 66 and "gone.json: No such file" in mail and "fail north round" in mail, mail
(place / "gone.json").unlink()
# The logbook spoilt by someone: mailed, never silent.
kept = book.read_bytes()
book.write_text("what I fed today\n")
readings(7.0)
status, mail = cron(nightly)
assert status == 73 and "nothing was logged" in mail, mail
book.write_bytes(kept)
# The weekly line always prints: no mail means no cron.
status, mail = cron(weekly)
assert status == 0 and mail.startswith("Larch Hollow, north round: "), mail

# The units, where systemd is there to look at them.
units = {name: (source / "examples" / name).read_text(encoding="utf-8")
         for name in ("coldtank.service", "coldtank.timer")}
exec_start = re.search(r"^ExecStart=/bin/sh -c '(.*)'$", units["coldtank.service"], re.M).group(1)
text = exec_start.replace("/usr/local/bin/coldtank", program)
(place / "state").mkdir()
for directory, here in (("/srv/tanks", place), ("/var/lib/coldtank", place / "state")):
    text = text.replace(directory, str(here))
readings(7.0)
done = subprocess.run(["env", "-i", "PATH=/usr/bin:/bin", "/bin/sh", "-c", text],
                      stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False)
assert (done.returncode, done.stdout, done.stderr) == (0, "", ""), done
if shutil.which("systemd-analyze"):
    for name, unit in units.items():
        (place / name).write_text(unit.replace("/usr/local/bin/coldtank", program))
    done = subprocess.run(["systemd-analyze", "verify", str(place / "coldtank.timer")],
                          capture_output=True, text=True, check=False)
    said = [line for line in done.stderr.splitlines() if "coldtank." in line]
    assert not said, said
    # What the service may do, were it taken over: little. (An older systemd has no such report.)
    done = subprocess.run(["systemd-analyze", "security", "--offline=true", "--threshold=30",
                           str(place / "coldtank.service")], capture_output=True, text=True,
                          check=False)
    exposure = re.search(r"exposure level for coldtank.service: ([\d.]+)", done.stdout)
    assert exposure and float(exposure.group(1)) < 3, done.stdout + done.stderr
    print(f"the service's exposure is {exposure.group(1)}")
else:
    print("systemd-analyze is not installed: skipped")
shutil.rmtree(place, ignore_errors=True)
print("the crontab does its work")
