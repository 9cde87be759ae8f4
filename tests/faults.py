"""The logbook under fault: killed, crowded, out of space. After each it holds only whole records,
none is lost that was reported as written, and the exit status told the truth.

    faults.py PROGRAM SOURCE_DIRECTORY [KILLS] [SEED]
"""
import csv
import fcntl
import io
import json
import os
import random
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

program, source = sys.argv[1], Path(sys.argv[2])
kills = int(sys.argv[3]) if len(sys.argv) > 3 else 200
seed = int(sys.argv[4]) if len(sys.argv) > 4 else random.randrange(10**6)
rng = random.Random(seed)
print(f"seed {seed}")
work = Path(tempfile.mkdtemp(prefix="coldtank-faults-"))
os.chmod(work, 0o755)
spring = json.loads((source / "examples/spring.json").read_text())
spring_file = work / "spring.json"
spring_file.write_text(json.dumps(spring))
# Many tanks make a write of many pages, which a kill may cut.
many = json.loads(json.dumps(spring))
many["tanks"] = [dict(spring["tanks"][0], name=f"tank {i}") for i in range(30)]
many_file = work / "many.json"
many_file.write_text(json.dumps(many))


def stamp(number):
    """A time that tells the run."""
    return f"2026-{1 + number // (28 * 24):02}-{1 + number // 24 % 28:02}T{number % 24:02}:00:00Z"


def command(log, number, description=spring_file):
    return [program, "budget", "--quiet", "--log", str(log), "--date", stamp(number),
            str(description)]


def call(log, number, description=spring_file, **more):
    return subprocess.run(command(log, number, description), capture_output=True, text=True,
                          check=False, **more)


def records(log):
    """The whole records by time; fails on anything else. A last line without an end is cut off."""
    text = log.read_bytes()
    cut = text[text.rfind(b"\n") + 1:]
    whole = text[:len(text) - len(cut)].decode("ascii")
    times = []
    if str(log).endswith(".jsonl"):
        for line in whole.splitlines():
            record = json.loads(line)
            assert record["record"] == "whole" and record["checks"]
            times.append(record["time"])
    else:
        rows = list(csv.reader(io.StringIO(whole), strict=True))
        for row in rows[1:]:
            assert len(row) == len(rows[0]) and row[-1] == "whole", row
            times.append(row[0])
    return times, cut


def killed_at_random():
    cut_seen = 0
    for ending in ("csv", "jsonl"):
        log = work / f"killed.{ending}"
        reported = []
        one = min(call(work / f"timing.{ending}", 0, many_file) and time_of(ending)
                  for _ in range(3))
        for number in range(kills // 2):
            if number % 25 == 0 and log.exists():  # from the first line on again
                log.unlink()
                reported = []
            process = subprocess.Popen(command(log, number, many_file), stdout=subprocess.DEVNULL,
                                       stderr=subprocess.DEVNULL)
            time.sleep(rng.uniform(0, 1.2 * one))
            process.send_signal(signal.SIGKILL)
            if process.wait() == 0:
                reported.append(stamp(number))
            if log.exists():
                times, cut = records(log)
                cut_seen += bool(cut)
                for each in reported:
                    assert times.count(each) == 30, (each, times.count(each))
        done = call(log, 9999 % 8000, many_file)
        assert done.returncode == 0, done
        times, cut = records(log)
        assert not cut and times.count(stamp(9999 % 8000)) == 30
        for each in reported:
            assert times.count(each) == 30
    print(f"{kills} kills, {cut_seen} left a half-written record, which the next run moved aside")


def time_of(ending):
    start = time.monotonic()
    call(work / f"timing.{ending}", 1, many_file)
    return time.monotonic() - start


def half_written_ends():
    """What a kill can leave, cut at every place that matters."""
    for ending in ("csv", "jsonl"):
        log = work / f"cut.{ending}"
        assert call(log, 0).returncode == 0
        first = log.read_bytes()
        assert call(log, 1).returncode == 0
        both = log.read_bytes()
        lengths = set(rng.sample(range(len(both)), 60)) | {
            0, 1, len(first) - 1, len(first), len(first) + 1, len(both) - 1}
        for length in sorted(lengths):
            log.write_bytes(both[:length])
            aside = Path(f"{log}.cut")
            aside.unlink(missing_ok=True)
            if 0 < length < 24:  # it could be anybody's file
                assert call(log, 2).returncode == 73 and log.read_bytes() == both[:length]
                continue
            kept = [stamp(i) for i, end in enumerate((len(first) - 1, len(both) - 1))
                    if length >= end]
            done = call(log, 2)
            assert done.returncode == 0, (ending, length, done)
            times, cut = records(log)
            assert times == kept + [stamp(2)] and not cut, (ending, length, times, done.stderr)
            whole_lines = (0, both.find(b"\n"), both.find(b"\n") + 1, len(first) - 1, len(first),
                           len(both) - 1)
            assert not done.stderr, done  # quiet, and all is well
            # Not a byte is lost: what was cut off stands beside it.
            cut_off = both[:length].rsplit(b"\n", 1)[-1] if length not in whole_lines else b""
            assert (aside.read_bytes() if aside.exists() else b"") == (
                cut_off + b"\n" if cut_off else b""), (ending, length)
        # Where it is not told to be quiet it says so; a file that is not ours is not written to.
        log.write_bytes(both[:-30])
        aside.unlink(missing_ok=True)
        aside.symlink_to(spring_file)
        description = spring_file.read_bytes()
        done = call(log, 2)
        assert done.returncode == 74 and spring_file.read_bytes() == description, done
        assert log.read_bytes() == both[:-30]
        aside.unlink()
        loud = [each for each in command(log, 2) if each != "--quiet"]
        done = subprocess.run(loud, capture_output=True, text=True, check=False)
        assert done.returncode == 0 and f"was moved to {aside}" in done.stderr, done
        # What a power cut leaves.
        log.write_bytes(both + bytes(100))
        assert call(log, 2).returncode == 0
        assert records(log) == ([stamp(0), stamp(1), stamp(2)], b"")


def eight_writers():
    for ending in ("csv", "jsonl"):
        for older in (False, True):
            if older and ending == "jsonl":
                continue
            log = work / f"crowd{older:d}.{ending}"
            want = []
            if older:  # all find a header that lacks columns
                assert call(log, 7000).returncode == 0
                rows = list(csv.reader(log.open()))
                with log.open("w", newline="") as file:
                    csv.writer(file, lineterminator="\n").writerows(row[:40] for row in rows)
                want = [stamp(7000)]
            statuses = []

            def write(writer, log=log, statuses=statuses):
                for i in range(12):
                    done = call(log, writer * 12 + i)
                    statuses.append((done.returncode, done.stderr))

            threads = [threading.Thread(target=write, args=(writer,)) for writer in range(8)]
            for thread in threads:
                thread.start()
            for thread in threads:
                thread.join()
            assert statuses == [(0, "")] * 96, statuses
            times, cut = records(log)
            assert sorted(times) == sorted(want + [stamp(i) for i in range(96)]) and not cut


def lock_held():
    log = work / "held.csv"
    assert call(log, 0).returncode == 0
    with log.open("rb") as file:
        fcntl.flock(file, fcntl.LOCK_EX)
        process = subprocess.Popen(command(log, 1))
        time.sleep(0.3)
        assert process.poll() is None and len(records(log)[0]) == 1
        # The alarm does not wait for it.
        loud = [each for each in command(log, 2) if each != "--quiet"]
        waiting = subprocess.Popen(loud, stdout=subprocess.PIPE)
        assert b"north round" in os.read(waiting.stdout.fileno(), 4096)
        waiting.kill()
        waiting.wait()
        waiting.stdout.close()
        page = work / "held.txt"
        whole = subprocess.run([each for each in loud if each not in ("--log", str(log))],
                               capture_output=True, check=False).stdout
        waiting = subprocess.Popen([*loud, "--output", str(page)])
        for _ in range(100):
            if page.exists():
                break
            time.sleep(0.02)
        assert waiting.poll() is None and page.read_bytes() == whole != b""
        waiting.kill()
        waiting.wait()
        fcntl.flock(file, fcntl.LOCK_UN)
        assert process.wait() == 0
    assert len(records(log)[0]) == 2


def no_space():
    limit_to = lambda size: lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))
    for ending in ("csv", "jsonl"):
        log = work / f"full.{ending}"
        for size in (0, 1, 700):
            done = call(log, 0, preexec_fn=limit_to(size))
            assert done.returncode == 74 and "nothing was logged" in done.stderr, done
            assert not log.exists()
        assert call(log, 0).returncode == 0
        before = log.read_bytes()
        for size in (len(before), len(before) + 1, len(before) + 900):
            done = call(log, 1, preexec_fn=limit_to(size))
            assert done.returncode == 74 and done.stderr, done
            assert log.read_bytes() == before
        # With a half-written end, that end too is as it was.
        log.write_bytes(before + before.splitlines(keepends=True)[-1][:500])
        cut = log.read_bytes()
        assert call(log, 1, preexec_fn=limit_to(len(cut) + 700)).returncode == 74
        assert log.read_bytes() == cut
        log.write_bytes(before)
    older = work / "full_older.csv"
    rows = list(csv.reader((work / "full.csv").open()))
    with older.open("w", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows(row[:40] for row in rows)
    before = older.read_bytes()
    done = call(older, 1, preexec_fn=limit_to(len(before) + 500))
    assert done.returncode == 74 and older.read_bytes() == before
    assert not [name for name in os.listdir(work) if name.startswith(".")]
    # A chart that cannot be written leaves the one before.
    chart = work / "chart.svg"
    draw = [program, "trend", "--chart", str(chart), str(work / "full.csv")]
    assert subprocess.run(draw, capture_output=True, check=False).returncode == 0
    before = chart.read_bytes()
    done = subprocess.run(draw, capture_output=True, text=True, check=False,
                          preexec_fn=limit_to(100))
    assert done.returncode == 74 and chart.read_bytes() == before, done
    # Many at once, by a bare name, where only this directory may be written to.
    many_at_once = [subprocess.Popen([os.path.abspath(program), "trend", "--chart", "bare.svg",
                                      "full.csv"], cwd=work, stdout=subprocess.DEVNULL)
                    for _ in range(12)]
    assert [each.wait() for each in many_at_once] == [0] * 12
    assert (work / "bare.svg").read_bytes() == before
    assert not [name for name in os.listdir(work) if name.startswith(".")]
    # A true disk that is full, where one may be mounted.
    disk = work / "disk"
    disk.mkdir()
    if subprocess.run(["mount", "-t", "tmpfs", "-o", "size=64k", "none", str(disk)],
                      capture_output=True, check=False).returncode != 0:
        print("skipped, as nothing may be mounted: a full disk")
        return
    try:
        log = disk / "log.csv"
        written = []
        for number in range(100):
            before = log.read_bytes() if log.exists() else b""
            done = call(log, number)
            if done.returncode != 0:
                assert done.returncode == 74 and "No space left" in done.stderr, done
                assert log.read_bytes() == before
                break
            written.append(stamp(number))
        assert 10 < len(written) < 100 and records(log) == (written, b"")
    finally:
        subprocess.run(["umount", str(disk)], check=True)


def results_in_a_file():
    """With --output: the old page or the new one, whole, whatever happens."""
    page = work / "page.jsonl"
    lines = work / "lines.jsonl"
    lines.write_text((json.dumps(spring) + "\n") * 2000)
    write = [program, "budget", "--format", "jsonl", "--date", stamp(1), "--output", str(page),
             str(lines)]
    start = time.monotonic()
    assert subprocess.run(write, check=False).returncode == 0
    one = time.monotonic() - start
    new = page.read_bytes()
    assert new.count(b"\n") == 2000
    page.write_bytes(b"old\n")
    states = set()
    for _ in range(max(10, kills // 5)):
        process = subprocess.Popen(write)
        time.sleep(rng.uniform(0, one))
        process.send_signal(signal.SIGKILL)
        done = process.wait() == 0
        found = page.read_bytes()
        assert found == new if done else found in (b"old\n", new), (done, len(found))
        states.add(found == new)
        page.write_bytes(b"old\n")
    assert False in states, "none was killed before its end"
    # No room for all of it: the old one stays, and nothing is left beside it.
    full = subprocess.run(write, capture_output=True, text=True, check=False, preexec_fn=lambda:
                          resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000)))
    assert full.returncode == 74 and "page.jsonl: no results were written: " in full.stderr, full
    assert page.read_bytes() == b"old\n"
    assert not [name for name in os.listdir(work) if name.startswith(".page")]
    # Who may read the old one may read the new one.
    os.chmod(page, 0o640)
    assert subprocess.run(write, check=False).returncode == 0
    assert page.read_bytes() == new and page.stat().st_mode & 0o777 == 0o640


def output_lost():
    log = work / "output.csv"
    loud = command(log, 0)
    loud.remove("--quiet")
    with open("/dev/full", "w") as full:
        done = subprocess.run(loud, stdout=full, stderr=subprocess.PIPE, check=False)
    assert done.returncode == 74 and done.stderr and len(records(log)[0]) == 1
    done = subprocess.run(["sh", "-c", 'exec "$@" >&-', "sh", *loud], stderr=subprocess.PIPE,
                          check=False)
    assert done.returncode == 74 and done.stderr and len(records(log)[0]) == 2
    # A reader that went away.
    done = subprocess.run(["sh", "-c", '"$@" | true', "sh", *loud], capture_output=True,
                          check=False)
    for _ in range(100):  # the writer may end after its reader
        if len(records(log)[0]) == 3:
            break
        time.sleep(0.05)
    assert len(records(log)[0]) == 3
    # Without standard input, output and error: no record may go into the logbook's own place.
    done = subprocess.run(["sh", "-c", 'exec "$@" <&- >&- 2>&-', "sh", *loud], check=False)
    assert done.returncode == 74 and len(records(log)[0]) == 4, records(log)
    assert records(log)[1] == b""


def growing_readings():
    path = work / "growing.csv"
    valid = [round(6.01 + 0.01 * i, 2) for i in range(400)]
    path.write_text("time,tank,ph,oxygen_mg_l\n2026-11-25T00:00:00Z,north round,7.2,6.00\n")
    stop = threading.Event()

    def grow():
        with path.open("ab", buffering=0) as file:
            for value in valid:
                row = f"2026-11-25T01:00:00Z,north round,7.2,{value:.2f}\n".encode()
                for at in range(0, len(row), 7):
                    file.write(row[at:at + 7])
                    time.sleep(0.001)
                if stop.is_set():
                    return

    thread = threading.Thread(target=grow)
    thread.start()
    seen = []
    for _ in range(25):
        done = subprocess.run([program, "budget", "--format", "json", "--readings", str(path),
                               "--date", "2026-11-25T02:00:00Z", str(spring_file)],
                              capture_output=True, text=True, check=False)
        assert done.returncode == 0, done
        seen.append(json.loads(done.stdout)["reports"][0]["tanks"][0]["oxygen"]["measured_mg_l"])
        assert seen[-1] in valid or seen[-1] == 6.0, seen[-1]
    stop.set()
    thread.join()
    assert seen == sorted(seen) and len(set(seen)) > 3, seen


def killed_while_columns_are_added():
    log = work / "added.csv"
    assert call(log, 0, many_file).returncode == 0
    rows = list(csv.reader(log.open()))
    older = "\n".join(",".join(row[:40]) for row in rows) + "\n"
    states = set()
    for number in range(max(10, kills // 5)):
        log.write_text(older)
        process = subprocess.Popen(command(log, 1, many_file), stdout=subprocess.DEVNULL,
                                   stderr=subprocess.DEVNULL)
        time.sleep(rng.uniform(0, 0.02))
        process.send_signal(signal.SIGKILL)
        status = process.wait()
        if log.read_text() == older:
            states.add("old")
            assert status != 0
        else:
            states.add("new")
            times, cut = records(log)
            assert times == [stamp(0)] * 30 + [stamp(1)] * 30 and not cut
    log.write_text(older)
    assert call(log, 1, many_file).returncode == 0 and len(records(log)[0]) == 60
    assert not [name for name in os.listdir(work) if name.startswith(".added")], "left behind"
    print(f"killed while columns are added: {sorted(states)}")


def read_only():
    """As a user who may not write."""
    public = work / "coldtank"
    shutil.copy(program, public)
    log = work / "read_only.csv"
    assert call(log, 0).returncode == 0
    os.chmod(log, 0o444)
    before = log.read_bytes()
    become = (lambda: os.setuid(65534)) if os.getuid() == 0 else None
    arguments = [str(public), *command(log, 1)[1:]]
    own = work / "own"
    own.mkdir(mode=0o777)
    os.chmod(own, 0o777)
    drawn = subprocess.run([str(public), "trend", "--chart", "own.svg", str(log)], cwd=own,
                           capture_output=True, text=True, check=False, preexec_fn=become)
    assert drawn.returncode == 0 and (own / "own.svg").exists(), drawn
    done = subprocess.run(arguments, capture_output=True, text=True, check=False,
                          preexec_fn=become)
    assert done.returncode == 73 and "Permission denied" in done.stderr, done
    assert log.read_bytes() == before


def clock_set_back():
    log = work / "back.csv"
    for number in (100, 101, 5, 102):
        assert call(log, number).returncode == 0
    assert records(log)[0] == [stamp(n) for n in (100, 101, 5, 102)]
    trend = subprocess.run([program, "trend", "--format", "json", str(log)], capture_output=True,
                           text=True, check=True)
    tank = json.loads(trend.stdout)["tanks"][0]
    assert (tank["from"], tank["to"]) == (stamp(5), stamp(102))
    # Readings of a time that this clock has not reached are not called fresh.
    rows = "time,tank,oxygen_mg_l\n2026-11-25T01:00:00Z,north round,8.9\n"
    done = subprocess.run([program, "budget", "--quiet", "--readings", "-", "--date",
                           "2026-11-24T01:00:00Z", str(spring_file)], input=rows,
                          capture_output=True, text=True, check=False)
    assert done.returncode == 1 and "ahead of this clock" in done.stdout.replace("\n         ", ""), done


def memory_of(arguments):
    """The most memory in MB that a call took, and its exit status."""
    # The address sanitizer keeps what is freed.
    lean = {**os.environ, "ASAN_OPTIONS": "quarantine_size_mb=1"}
    child = subprocess.Popen(arguments, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
                             env=lean)
    _, status, usage = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    return usage.ru_maxrss / 1024, child.returncode


def lines_of(log):
    """Not the whole of it: what this holds counts as the memory of whom it calls."""
    with log.open("rb") as book:
        return sum(1 for _ in book)


def large_book():
    """A logbook of any size is never read whole: not to append, not to add columns."""
    log = work / "large.csv"
    small, status = memory_of(command(log, 1))
    assert status == 0
    header, record = log.read_text().splitlines(keepends=True)
    with log.open("a", encoding="ascii") as book:
        for _ in range(20):
            book.write(record * (5 * 2**20 // len(record)))  # 100 MB in all
    lines = lines_of(log)
    large, status = memory_of(command(log, 2))
    assert status == 0 and large < small + 30, (small, large)
    assert lines_of(log) == lines + 1
    # An older one, without its last columns but the mark of the end.
    names = header.rstrip("\n").split(",")
    cells = next(csv.reader([record]))
    drop = names.index("loop_verdict")
    old = work / "older.csv"
    with old.open("w", encoding="ascii", newline="") as book:
        writer = csv.writer(book, lineterminator="\n")
        writer.writerow(names[:drop] + names[-1:])
        line = io.StringIO()
        csv.writer(line, lineterminator="\n").writerow(cells[:drop] + cells[-1:])
        for _ in range(20):
            book.write(line.getvalue() * (2**20 // len(line.getvalue())))  # 20 MB in all
    lines = lines_of(old)
    wider, status = memory_of(command(old, 3))
    assert status == 0 and wider < small + 30, (small, wider)
    # A line without end is no logbook.
    endless = work / "endless.csv"
    with endless.open("wb") as book:
        book.truncate(200 * 2**20)
    endless_mb, status = memory_of(command(endless, 4))
    assert status == 73 and endless_mb < small + 100, (status, endless_mb)
    assert endless.stat().st_size == 200 * 2**20
    times, cut = records(old)
    assert len(times) == lines and times[-1] == stamp(3) and not cut


def fifo():
    """One that is written to is read as it comes, one without a writer is waited for half a minute."""
    path = work / "pipe.json"
    os.mkfifo(path)
    text = spring_file.read_text()

    def write():
        time.sleep(0.5)
        with path.open("w", encoding="utf-8") as pipe:
            pipe.write(text[:100])
            pipe.flush()
            time.sleep(0.5)
            pipe.write(text[100:])
    writer = threading.Thread(target=write)
    writer.start()
    done = subprocess.run([program, "budget", str(path)], capture_output=True, text=True, timeout=20,
                          check=False)
    writer.join()
    assert done.returncode == 0 and "north round" in done.stdout, done
    waiting.join(timeout=60)
    (status, err, took), = given_up
    assert status == 66 and "nobody writes to this FIFO" in err, err
    assert 29 < took < 45, took


def umask_kept():
    """A chart and a logbook may be read by whom the umask lets."""
    for mask, mode in ((0o077, 0o600), (0o022, 0o644)):
        log, chart = work / f"mask{mask}.csv", work / f"mask{mask}.svg"
        for number in (1, 2, 3):
            subprocess.run(command(log, number), check=True, umask=mask)
        subprocess.run([program, "trend", "--chart", str(chart), str(log)], check=True, umask=mask,
                       stdout=subprocess.DEVNULL)
        for made in (log, chart):
            assert made.stat().st_mode & 0o777 == mode & 0o666, (made, oct(made.stat().st_mode))


# Half a minute that the others need too.
os.mkfifo(work / "deserted.json")
given_up = []


def wait_for_nobody():
    began = time.monotonic()
    done = subprocess.run([program, "budget", str(work / "deserted.json")], capture_output=True,
                          text=True, check=False)
    given_up.append((done.returncode, done.stderr, time.monotonic() - began))


waiting = threading.Thread(target=wait_for_nobody)
waiting.start()
try:
    for fault in (half_written_ends, killed_at_random, killed_while_columns_are_added,
                  eight_writers, lock_held, no_space, results_in_a_file, output_lost,
                  growing_readings, read_only, clock_set_back, large_book, umask_kept, fifo):
        start = time.monotonic()
        fault()
        print(f"{fault.__name__}: held, {time.monotonic() - start:.1f} s")
finally:
    shutil.rmtree(work, ignore_errors=True)
