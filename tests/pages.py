"""What the pages say of random tanks and loops: every format has the same statuses, each status follows
from what stands on its line, the verdict from the lines; no number is none, and no amount negative.

    pages.py PROGRAM SOURCE_DIRECTORY [DESCRIPTIONS] [SEED]
"""
import csv
import io
import json
import math
import random
import re
import subprocess
import sys
from pathlib import Path

program, source = sys.argv[1:3]
count = int(sys.argv[3]) if len(sys.argv) > 3 else 80
seed = int(sys.argv[4]) if len(sys.argv) > 4 else 20261125
dice = random.Random(seed)
ORDER = ["pass", "unchecked", "warn", "fail"]
SPECIES = ["rainbow", "golden", "brook", "brown", "char"]


def some(low, high, digits=2):
    return round(dice.uniform(low, high), digits)


def maybe(share, make):
    return make() if dice.random() < share else None


def without_nothing(parts):
    return {key: value for key, value in parts.items() if value is not None}


def fish():
    return without_nothing({
        "species": dice.choice(SPECIES), "count": dice.randint(1, 400),
        "mean_weight_g": dice.choice([some(0.1, 2), some(5, 80), some(80, 900)]),
        "respiration_factor": maybe(0.1, lambda: some(0.2, 3))})


def aerator():
    return dice.choice([
        {"kind": "diffuser", "air_flow_l_min": some(2, 60), "depth_m": some(0.3, 1.5),
         "bubble": dice.choice(["fine", "medium", "coarse"])},
        {"kind": "rated", "sotr_g_h": some(1, 80)},
        {"kind": "oxygen", "flow_l_min": some(0, 2), "absorption_percent": 15},
        {"kind": "cascade", "drop_m": some(0, 1)}])


def limits():
    if dice.random() < 0.5:  # with which nearly all passes
        return {"oxygen_warn_mg_l": 3, "oxygen_fail_mg_l": 3, "oxygen_warn_percent": 0,
                "response_time_min": 0, "reserve_danger_mg_l": 2, "nh3_warn_mg_l": 9,
                "nh3_fail_mg_l": 9, "tan_warn_mg_l": 99, "tan_fail_mg_l": 99,
                "carbon_dioxide_warn_mg_l": 999, "carbon_dioxide_fail_mg_l": 999,
                "temperature_low_warn_c": 0, "temperature_warn_c": 39, "temperature_fail_c": 40,
                "ph_low_warn": 4, "ph_low_fail": 4, "density_warn_kg_m3": 900,
                "density_fail_kg_m3": 900, "density_index_kg_m3_cm": 99, "ration_warn_ratio": 99,
                "exchange_warn_per_h": 0, "size_spread_warn": 99, "size_spread_fail": 99}
    return without_nothing({
        "oxygen_warn_mg_l": maybe(0.5, lambda: some(5, 7)),
        "nh3_warn_mg_l": maybe(0.3, lambda: some(0.001, 0.02, 4)),
        "carbon_dioxide_warn_mg_l": maybe(0.3, lambda: some(5, 20)),
        "exchange_warn_per_h": maybe(0.3, lambda: some(0, 1))})


def tank(name, loop=None):
    volume = some(50, 8000, 0)
    group = [fish() for _ in range(dice.choice([1, 1, 1, 2]))]
    mass = sum(each["count"] * each["mean_weight_g"] for each in group) / 1000
    if mass > 0.2 * volume:
        volume = round(mass / 0.2 + 1)
    low = some(0, 22)
    ration = dice.choice([{}, {}, {"ration_percent_day": some(0, 3)}, {"fasted_h": some(0, 100)},
                          {"ration_g_day": some(0, 30 * mass)}])
    return without_nothing({
        "name": name, "volume_l": volume,
        "water": without_nothing({
            "temperature_c": low, "peak_temperature_c": maybe(0.5, lambda: low + some(0, 3)),
            "ph": maybe(0.7, lambda: some(5, 9.4)),
            "alkalinity_mg_l": maybe(0.5, lambda: some(5, 250)),
            "oxygen_mg_l": maybe(0.3, lambda: some(2, 14)),
            "tan_mg_l": maybe(0.3, lambda: dice.choice([0, some(0, 6)])),
            "nitrite_mg_l": maybe(0.2, lambda: some(0, 0.7)),
            "chloride_mg_l": maybe(0.2, lambda: some(0, 60)),
            "current_cm_s": maybe(0.1, lambda: some(1, 60))}),
        "inflow": None if loop else maybe(0.7, lambda: without_nothing({
            "flow_l_min": dice.choice([0, some(1, volume / 20)]), "oxygen_percent": some(30, 105),
            "carbon_dioxide_mg_l": maybe(0.4, lambda: some(0, 20)),
            "keeps_flowing": maybe(0.3, lambda: True)})),
        "loop": {"name": loop, "flow_l_min": some(5, 80)} if loop else None,
        "fish": group, "feed": ration, "aeration": [aerator() for _ in range(dice.randint(0, 2))],
        "limits": maybe(0.2, limits)})


def description():
    site = {"name": "site", "altitude_m": some(-50, 2500, 0)}
    if dice.random() < 0.6:
        tanks = [tank("one"), tank("two")]
        if dice.random() < 0.4:  # the second below the first
            flow = some(5, tanks[0]["volume_l"] / 20)
            tanks[0]["inflow"] = {"flow_l_min": flow, "oxygen_percent": some(60, 105),
                                  "carbon_dioxide_mg_l": some(1, 9)}
            tanks[1]["inflow"] = {"from": "one", "flow_l_min": flow * dice.choice([1, 1, 0.5])}
            if dice.random() < 0.5:
                for key in ("temperature_c", "peak_temperature_c"):
                    tanks[1]["water"].pop(key, None)
        return {"format": 1, "site": site, "tanks": tanks}
    loop = {"name": "round", "water": without_nothing({
        "temperature_c": some(4, 20), "ph": some(6, 8),
        "alkalinity_mg_l": maybe(0.7, lambda: some(5, 150)),
        "nitrite_mg_l": maybe(0.5, lambda: some(0, 0.5)),
        "nitrate_mg_l": maybe(0.5, lambda: some(0, 90))}),
        "exchange_l_day": dice.choice([0, 0.5, some(1, 2000)]),
        "makeup": {"tan_mg_l": dice.choice([0, some(0, 1)])},
        "biofilter": {"media_area_m2": some(1, 300), "maturity_percent": dice.choice([100, 60, 9])},
        "aeration": [aerator()]}
    if dice.random() < 0.4:
        loop["plants"] = {"bed_area_m2": some(0.5, 20), "crop": dice.choice(["leafy", "fruiting"])}
    return {"format": 1, "site": site, "loops": [loop],
            "tanks": [tank("one", "round"), tank("two", "round")]}


def run(text, *options):
    done = subprocess.run([program, "budget", *options, "-"], input=text, capture_output=True,
                          text=True, check=False)
    assert done.returncode in (0, 1, 2), done.stderr
    return done


def refuse(constant):
    raise ValueError("not a number: " + constant)


# What may be below 0: a supply that loses, what the make-up brings in, a change, a difference.
SIGNED = {"supply_g_h", "exchanged_g_day", "nitrate_rise_mg_l_day", "difference_mg_l", "altitude_m"}


def no_negative(value, key=""):
    if isinstance(value, dict):
        for name, each in value.items():
            no_negative(each, name)
    elif isinstance(value, list):
        for each in value:
            no_negative(each, key)
    elif isinstance(value, (int, float)) and not isinstance(value, bool):
        assert value >= 0 or key in SIGNED, (key, value)


CHECK_LINE = re.compile(r"^(pass|unchecked|warn|fail) +(\S.*)$")
NUMBER = r"-?\d+(?:\.\d+)?"
# Words that decide in place of a value and its limits.
REASONS = re.compile(r"nothing brings oxygen|rises, nothing keeps up|"
                     r"assumed saturated: as oxygen|advised; no ration is given|"
                     r"is this what you meant\?|over 100 mg/L, if the meter is right|"
                     r"never runs out|falls to nothing|  holds ")


def implied(line):
    """The status that a check line's own numbers give; none where words decide."""
    if REASONS.search(line):
        return None
    short = re.search(rf"needs ({NUMBER}) (?:g|oz)/h, can have ({NUMBER})", line)
    if short:  # over the warn or the fail limit, the word says which
        return "short" if float(short[1]) > float(short[2]) else "pass"
    value = (re.search(rf"(?:warn|fail) in <?({NUMBER}) (?:h|days)\b", line) or
             re.search(rf"at least ({NUMBER}) by balance", line) or
             re.search(rf"filter ({NUMBER}) % started", line) or
             re.search(rf"filter at ({NUMBER}) degC", line) or
             re.search(rf"filter starved(?: at ({NUMBER}))?:", line) or
             re.search(rf"(?<![\w.])({NUMBER})(?= |$)", line))
    limits = re.search(r"(?:warn|fail) +[<>].*", line)
    limits = limits.group(0) if limits else ""
    if not value or not limits:
        return None
    value = float(value.group(1) or 0)
    status = "pass"
    for part in re.split(r", |: ", re.sub(r" \*.*", "", limits)):
        word = part.split(" ")[0]
        for sign, limit in re.findall(rf"([<>])({NUMBER})", part):
            beyond = value < float(limit) if sign == "<" else value > float(limit)
            if beyond and ORDER.index(word) > ORDER.index(status):
                status = word
    return status


def read_page(page):
    """Per tank and loop: the check lines, and the verdict."""
    parts = []
    for line in page.splitlines():
        found = CHECK_LINE.match(line)
        if re.match(r"\w+ +(one|two|loop round): ", line):
            parts.append({"checks": []})
        elif found and parts:
            parts[-1]["checks"].append((found.group(1), found.group(2)))
        elif line.startswith("verdict "):
            parts[-1]["verdict"] = re.match(r"verdict (\w+)", line).group(1)
    return parts


def read_brief(page):
    """Of each tank and loop of a short page, behind the table, the text of its lines by status."""
    parts = []
    status = None
    for line in page.splitlines():
        found = re.match(r"(pass|unchecked|warn|fail) +(?=\S)", line)
        if found and re.match(r"\w+ +(one|two|loop round): ", line):
            parts.append({each: "" for each in ORDER})
            status = None
        elif found and parts:
            status = found.group(1)
            parts[-1][status] += line[10:].lower() + " "
        elif status and re.match(r" {10}\S", line):
            parts[-1][status] += line[10:].lower() + " "
        else:
            status = None
    return parts


# ---- plans, typed into the description as the contract has them: "applied in order"
TODAY = ("oxygen_mg_l", "tan_mg_l", "carbon_dioxide_mg_l", "nitrite_mg_l", "nitrate_mg_l")


def air_of(tank):
    return sum(a.get("air_flow_l_min", 0) for a in tank.get("aeration", []))


def type_in(change, part, loop, whole):
    """Whether the change could be typed in: what the table gave before the water was cooled could
    not."""
    action, value = change["action"], change["value"]
    if action == "grade":
        stated = [group for group in part["fish"] if group["count"] > 0]
        for index in change["groups"]:
            stated[index]["count"] = 0
        return "ration_g_day" not in part.get("feed", {}) and (
            "ration_percent_day" not in part.get("feed", {}))
    if action == "take_out_fish":
        number = sum(group["count"] for group in part["fish"])
        for group in part["fish"]:
            group["count"] = math.floor(group["count"] * (number - value) / number)
        if "ration_g_day" in part.get("feed", {}):
            part["feed"]["ration_g_day"] *= (number - value) / number
    elif action == "cut_ration":
        part.setdefault("feed", {}).pop("ration_percent_day", None)
        part["feed"]["ration_g_day"] = value
    elif action == "add_air":
        share = (air_of(part) + value) / air_of(part)
        for each in part["aeration"]:
            if each["kind"] == "diffuser":
                each["air_flow_l_min"] *= share
    elif action == "add_aerator":
        part.setdefault("aeration", []).append({"kind": "rated", "sotr_g_h": value})
    elif action == "add_oxygen":
        part.setdefault("aeration", []).append(
            {"kind": "oxygen", "flow_l_min": value, "absorption_percent": 10})
    elif action == "cut_oxygen":
        flow = sum(a["flow_l_min"] for a in part["aeration"] if a["kind"] == "oxygen")
        for each in part["aeration"]:
            if each["kind"] == "oxygen":
                each["flow_l_min"] *= value / flow
    elif action == "raise_flow":
        part["inflow" if "inflow" in part else "loop"]["flow_l_min"] = value
    elif action == "enlarge":
        part["volume_l"] = value
    elif action == "add_chloride":
        (part["water"])["chloride_mg_l"] = value
    elif action == "add_media":
        loop["biofilter"]["media_area_m2"] += value
    elif action == "raise_exchange":
        loop["exchange_l_day"] = value
    elif action == "raise_round":
        now = sum(each["loop"]["flow_l_min"] for each in whole["tanks"])
        for each in whole["tanks"]:
            each["loop"]["flow_l_min"] *= value / now
    else:
        return False
    return True


def typed_in(description, report, index):
    """The description with a way carried out in all parts of a system; None where that cannot be."""
    whole = json.loads(json.dumps(description))
    loop = whole.get("loops", [None])[0]
    parts = [(part, whole["tanks"][i]) for i, part in enumerate(report["tanks"])]
    parts += [(part, loop) for part in report["loops"]]
    for part, described in parts:
        for change in part["plans"][index]["changes"]:
            if not type_in(change, described, loop, whole):
                return None
    return whole


def without_today(description):
    whole = json.loads(json.dumps(description))
    for each in whole["tanks"] + whole.get("loops", []):
        for key in TODAY:
            each["water"].pop(key, None)
    for tank in whole["tanks"]:
        tank["water"].pop("alkalinity_mg_l", None)
        if "loop" in tank:  # its loop's would stand for it
            return None
    return whole


promised = promised_in_rows = 0


def in_row(description):
    return any("from" in each.get("inflow", {}) for each in description["tanks"])


def follow_plans(description, report):
    """Each way of each system, typed in, comes to the verdict that it promises and leaves what it
    names."""
    global promised, promised_in_rows
    row = in_row(description)
    if description.get("loops") or row:
        systems = [(description, report)]
    else:
        systems = [({**description, "tanks": [tank]}, {**report, "tanks": [part]})
                   for tank, part in zip(description["tanks"], report["tanks"])]
    for system, its_report in systems:
        first = its_report["tanks"][0]
        for index in range(len(first["plans"])):
            changed = typed_in(system, its_report, index)
            if not changed:
                continue
            # A tank's alkalinity may be its loop's: of a loop what is written stands alone.
            planned = None if description.get("loops") else without_today(changed)
            after = [json.loads(run(json.dumps(text), "--format", "json").stdout)["reports"][0]
                     for text in (changed, planned) if text]
            for kind in ("tanks", "loops"):
                for number, part in enumerate(its_report[kind]):
                    parts = [each[kind][number] for each in after]
                    verdict = max((each["verdict"] for each in parts), key=ORDER.index)
                    left = {check["check"] for each in parts for check in each["checks"]
                            if check["status"] in ("warn", "fail")}
                    plan = part["plans"][index]
                    told = (system, plan, verdict, left)
                    assert set(plan["until_measured"]) <= set(plan["left"]), told
                    if planned:
                        assert plan["verdict_after"] == verdict and set(plan["left"]) == left, told
                    else:
                        assert ORDER.index(verdict) <= ORDER.index(plan["verdict_after"]), told
                        assert left <= set(plan["left"]), told
            promised += 1
            promised_in_rows += row
        worst = [max((part["plans"][index]["verdict_after"]
                      for part in its_report["tanks"] + its_report["loops"]), key=ORDER.index)
                 for index in range(len(first["plans"]))]
        assert worst == sorted(worst, key=ORDER.index), worst  # the best first


US = {"gal": 3.785411784, "gal/min": 3.785411784, "ft3/min": 28.316846592,
      "ft3/h": 28.316846592 / 60, "oz/day": 28.349523125, "oz/h": 28.349523125}
# A change as a page says it, and what it is in a report.
CHANGES = [(r"take out ([\d.]+) fish and their feed", "take_out_fish"),
           (r"feed ([\d.]+) (\S+), not [\d.]+ \(it tells in a day or two\)", "cut_ration"),
           (r"([\d.]+) (\S+) more air", "add_air"),
           (r"an aerator that brings ([\d.]+) (\S+) in clean water", "add_aerator"),
           (r"([\d.]+) (\S+) of water, not", "raise_flow"),
           (r"a tank of ([\d.]+) (\S+), not", "enlarge"),
           (r"([\d.]+) (\S+) of pure oxygen through", "add_oxygen"),
           (r"pure oxygen turned down to ([\d.]+) (\S+)", "cut_oxygen")]
read_and_done = 0


def do_as_the_page_says(described, units):
    """Of a page of one tank the first way, read as a grower reads it and typed in: what it promises
    comes. False where the page says something that is not typed in here."""
    page = run(json.dumps(described), "--units", units).stdout
    found = re.search(r"^(?:to do|today) .*?(?=^\S)", page, re.M | re.S)
    if not found:
        return False
    way = re.sub(r"\s+", " ", found.group(0)).split(" ", 2)[2] if found.group(0).startswith(
        "to do") else re.sub(r"\s+", " ", found.group(0)).split(" ", 1)[1]
    first = ""
    if way.startswith("first "):
        first, way = way[6:].split("; then one of these a ")
    else:
        way = way.removeprefix("a ")
    changes, promise = way.split(": then ", 1)
    promise = re.split(r" b | \(air:", promise)[0].strip()
    whole = json.loads(json.dumps(described))
    for words in ((first + "; ") if first else "").split("; ")[:-1] + changes.split("; "):
        if words.startswith("move ") and words.endswith(" out"):
            groups = [i for i, group in enumerate(whole["tanks"][0]["fish"])
                      if f" {group['count']} {group.get('name', group['species'])} of " in words]
            if not groups:  # by another name of their species
                return False
            if not type_in({"action": "grade", "value": 0, "groups": groups}, whole["tanks"][0],
                           None, whole):
                return False
            continue
        for pattern, action in CHANGES:
            got = re.match(pattern, words)
            if got:
                factor = 1 if action == "take_out_fish" or units == "metric" else US[got.group(2)]
                change = {"action": action, "value": float(got.group(1)) * factor}
                if not type_in(change, whole["tanks"][0], None, whole):
                    return False
                break
        else:
            return False
    after = [json.loads(run(json.dumps(each), "--format", "json").stdout)["reports"][0]["tanks"][0]
             for each in (whole, without_today(whole)) if each]
    left = {check["check"] for each in after for check in each["checks"]
            if check["status"] in ("warn", "fail")}
    if promise in ("all passes", "nothing warns"):
        assert not left, (described, page, left)
    else:
        told = re.sub(r" (still )?(warns?|fails?)| stands? until measured again", "", promise)
        told = {TITLES.get(name.strip(), name.strip().replace(" ", "_"))
                for name in re.split(r"[,;]", told) if name.strip()}
        assert told == left, (page, told, left)
    return True


TITLES = {"ammonia as NH3": "ammonia", "pH": "ph"}
derived = words = troubled = 0
# The examples: their ways too come true, and are read from the page.
for path in sorted(Path(source, "examples").glob("*.json")):
    example = json.loads(path.read_text(encoding="utf-8"))
    if "tanks" not in example:
        continue
    report = json.loads(run(json.dumps(example), "--format", "json").stdout)["reports"][0]
    before = promised
    follow_plans(example, report)
    ways = max((len(part["plans"]) for part in report["tanks"] + report["loops"]), default=0)
    assert promised - before == ways, (path, ways, promised - before)
    if not example.get("loops") and len(example["tanks"]) == 1 and report["verdict"] != "pass":
        assert all(do_as_the_page_says(example, units) for units in ("metric", "us")), path
# A phone shows 70 columns of a mail's first line: a long name gives way, what is wrong does not.
crowded = json.loads(Path(source, "examples/spring.json").read_text(encoding="utf-8"))
crowded["tanks"][0]["fish"][0]["count"] *= 3
for length in (1, 20, 21, 60):
    name = "abcdefghijklmnopqrstuvwxyz" * 3
    crowded["tanks"][0]["name"] = name[:length]
    shown = run(json.dumps(crowded), "--quiet").stdout.splitlines()[0]
    assert shown.startswith(f"fail {name[:length] if length <= 20 else name[:19] + '.'}: oxygen could fall to")
    assert len(shown) <= 70, shown
derived = words = troubled = 0
for number in range(count):
    described = description()
    text = json.dumps(described)
    done = run(text, "--format", "json")
    report = json.loads(done.stdout, parse_constant=refuse)["reports"][0]
    no_negative(report)
    parts = report["tanks"] + report["loops"]
    statuses = [[check["status"] for check in part["checks"]] for part in parts]
    worst = max((ORDER.index(s) for each in statuses for s in each))
    assert done.returncode == {0: 0, 1: 0, 2: 1, 3: 2}[worst], text
    follow_plans(described, report)
    shared = described.get("loops") or in_row(described)
    for alone in [] if shared else described["tanks"]:
        read_and_done += sum(do_as_the_page_says({**described, "tanks": [alone]}, units)
                             for units in ("metric", "us"))
    metric = run(text, "--all").stdout
    us = run(text, "--units", "us", "--all").stdout
    brief = run(text).stdout
    assert all(len(line) <= 80 for line in brief.splitlines()) and brief.isascii(), brief
    # On a page the worst stand first.
    in_order = parts
    parts = sorted(parts, key=lambda part: -ORDER.index(part["verdict"]))
    # In short each status stands too: what does not pass on its line, what passes in one for all.
    for part, lines in zip(parts, read_brief(brief)):
        for check in part["checks"]:
            title = {"oxygen_excess": "oxygen excess"}.get(check["check"], check["check"])
            assert title.replace("_", " ") in lines[check["status"]], (check, lines, brief)
    for page in (metric, us):
        assert "nan" not in page.lower().split() and not re.search(r"\b(inf|-nan)\b", page), page
        assert all(len(line) <= 80 for line in page.splitlines()), page
        assert page.isascii()
        shown = read_page(page)
        assert [[s for s, _ in part["checks"]] for part in shown] == [
            [check["status"] for check in part["checks"]] for part in parts], (text, page)
        for part, printed in zip(parts, shown):
            assert printed["verdict"] == part["verdict"]
            assert part["verdict"] == max((s for s, _ in printed["checks"]), key=ORDER.index)
            for (status, line), check in zip(printed["checks"], part["checks"]):
                if status == "unchecked":
                    assert line.split("needs ")[1], line
                    continue
                says = implied(line)
                if says is None:
                    words += 1
                    assert status == "pass" or REASONS.search(line), (status, line)
                    continue
                derived += 1
                assert says == status or (says == "short" and status in ("warn", "fail")), (
                    says, status, line, text)
    rows = list(csv.DictReader(io.StringIO(run(text, "--format", "csv").stdout)))
    rows = [row for row in rows if row["check"] != "site"]
    assert [row["status"] for row in rows] == [s for each in statuses for s in each]
    # The limits once more, a number a column, and when.
    for row, check in zip(rows, [check for part in in_order for check in part["checks"]]):
        for level in ("warn", "fail"):
            limit = check[level]
            ends = [float(row[f"{level}_{end}"]) for end in ("low", "high") if row[f"{level}_{end}"]]
            assert ends == ([] if limit is None else limit if isinstance(limit, list) else [limit])
        assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(Z|[+-]\d\d:\d\d)", row["date"])
    sheet = run(text, "--format", "markdown").stdout
    table, *sheets = sheet.split("\n## ")
    found = re.findall(r"^\|\*\*(pass|unchecked|warn|fail)\*\* *\|", table, re.M)
    assert sorted(found) == sorted(part["verdict"] for part in parts), sheet
    assert found == sorted(found, key=ORDER.index, reverse=True), sheet  # the worst first
    found = re.findall(r"^\|\*\*(pass|unchecked|warn|fail)\*\* *\|", "\n".join(sheets), re.M)
    assert found == [check["status"] for part in parts for check in part["checks"]], text
    # The same in every format, and with the program's limits.
    for part in parts:
        if part["usual_verdict"] == part["verdict"]:
            continue
        troubled += 1
        assert f"{part['verdict']} by your limits (" in metric.replace("\n", " ").replace("  ", " ")
        assert f"{part['verdict']} by your limits (" in sheet.replace("\n", " ")
        assert any(row["own_limit"] for row in rows), text
assert promised > count / 2, promised
assert promised_in_rows > count / 20, promised_in_rows
assert read_and_done > count / 10, read_and_done
assert derived > 20 * count and words > count / 2 and troubled > 0, (derived, words, troubled)
print(f"seed {seed}: {count} descriptions, {derived} statuses follow from their lines, "
      f"{words} from words, {troubled} verdicts by own limits, {promised} plans keep their promise, "
      f"{read_and_done} as the page says them")
