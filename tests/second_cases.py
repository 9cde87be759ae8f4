"""Draws descriptions, has the program work them out and compares every figure with second.py."""
import datetime
import json
import math
import random
import subprocess

import second
import second_time

TEXT = "words, not a figure"
LEFT_OUT = {  # keys of the report that are not compared, and why
    "format": TEXT, "program": TEXT, "file": TEXT, "name": TEXT, "warnings": TEXT, "errors": TEXT, "assumed": TEXT,
    "unit": TEXT, "needs": TEXT, "note": TEXT, "now": TEXT, "date": "given to the run", "line": "checked as the order",
    "changes": "each is proved by applying it, elsewhere", "pellets": "sizes are common practice: only that they are all of the feed",
    "plans": "each is proved by applying it, elsewhere", "remedies": "each is proved by applying it, elsewhere",
    "filter_start": "of tests in a logbook, of which there is none",
    "remedies_cut_short": "of the remedies", "own_limit": "which limit is the user's own: said in words, not worked out",
}
LEFT_OUT_OF_SEASON = {"plan": "proved by stocking it, elsewhere"}
LEFT_OUT_OF_OUTAGE = {"actions": "each is proved by doing it, elsewhere"}
TOLERANCE = 1e-9
SMALLEST = dict.fromkeys(  # what is a difference of larger figures is compared as they are
    ("supply_g_h", "inflow_mg_l", "supply_oxygen_mg_l", "supply_oxygen_peak_mg_l", "steady_mean_mg_l", "lowest_mg_l",
     "start_mg_l", "oxygen_now_mg_l", "reserve_min", "0/value", "steady_mg_l", "minutes_to_stress", "minutes_to_danger", "oxygen/value", "oxygen_reserve/value", "oxygen_excess/value"), 1)
SEARCHED = 1e-7  # of what the program finds by a search that ends there


class Differences:
    def __init__(self):
        self.figures, self.largest, self.found, self.tie = 0, 0.0, [], False

    def compare(self, where, ours, theirs):
        if ours is second.BEYOND:
            return
        if isinstance(theirs, dict):
            if "first_limit" in theirs and "checks" in theirs:  # two checks may use the same share, but for the last digits
                used = [c["used_percent"] for c in theirs["checks"] if c["used_percent"]]
                self.tie = any(rounds_to(a, b) or a == b for i, a in enumerate(used) for b in used[:i])
            if not isinstance(ours, dict):
                return self.differ(where, ours, theirs)
            for key in set(ours) | set(theirs):
                if key[0] == "_" or key in LEFT_OUT and not (key == "date" and where.startswith("season")):
                    continue
                self.compare(where + "/" + key, ours.get(key, "not worked out"), theirs.get(key, [] if key == "because" else "not printed"))
        elif isinstance(theirs, list):
            if not isinstance(ours, list) or len(ours) != len(theirs):
                names = lambda l: [c.get("check", c) if isinstance(c, dict) else c for c in l] if isinstance(l, list) else l
                return self.differ(where, names(ours), names(theirs))
            for i, (a, b) in enumerate(zip(ours, theirs)):
                name = b.get("check", b.get("tank", b.get("loop", b.get("date", i)))) if isinstance(b, dict) else i
                self.compare("%s/%s" % (where, name), a, b)
        elif where.endswith("/first_limit") and self.tie:
            return
        else:
            self.figures += 1
            tolerance = SEARCHED if "/gap/" in where else TOLERANCE
            numbers = [isinstance(x, (int, float)) and not isinstance(x, bool) for x in (ours, theirs)]
            if all(numbers) and max(ours, theirs) > 1000 and where.endswith("used_percent"):
                if abs(ours / theirs - 1) > 1e-6 and theirs < 1e6:  # the supply is a small difference: its rounding shows
                    self.differ(where, ours, theirs)
            elif all(numbers):
                scale = max(abs(ours), abs(theirs), *(SMALLEST.get("/".join(where.split("/")[-n:]), 0) for n in (1, 2)))
                deviation = abs(ours - theirs) / scale if scale > 1e-12 else 0.0
                if tolerance == TOLERANCE:
                    self.largest = max(self.largest, deviation)
                if deviation > tolerance:
                    self.differ(where, ours, theirs)
            elif ours != theirs:
                self.differ(where, ours, theirs)

    def differ(self, where, ours, theirs):
        self.found.append("%s: here %s, the program %s" % (where, json.dumps(ours), json.dumps(theirs)))


def run(program, command, descriptions, *options):
    """One run of the program over all descriptions, one a line."""
    lines = "".join(json.dumps(d) + "\n" for d in descriptions)
    formats = ["--format", "jsonl", "--jobs", "1"] if command == "budget" else ["--format", "json"]
    done = subprocess.run([program, command, "--lines", *formats, "--date", DATE, *options, "-"],
                          input=lines, capture_output=True, text=True)
    if command == "budget":
        return [json.loads(line) for line in done.stdout.splitlines()], done.stderr
    return json.loads(done.stdout)["reports"], done.stderr


DATE = "2026-11-25T05:15+01:00"

# -- descriptions that are drawn -------------------------------------------------------------------------

SPECIES = ["rainbow trout", "brook trout", "brown trout", "Arctic char", "golden trout", "rainbow", "brookie", "steelhead"]


def draw_fish(r):
    g = {"species": r.choice(SPECIES), "count": r.randint(0 if r.random() < 0.05 else 1, 400)}
    weight = math.exp(r.uniform(math.log(0.5), math.log(1500)))
    how = r.random()
    if how < 0.7:
        g["mean_weight_g"] = round(weight, 2)
    elif how < 0.75:
        g["mean_weight_g"] = round(weight, 2)
        g["per_m3"] = round(g.pop("count") * r.uniform(0.1, 0.5), 1) + 0.1
    elif how < 0.8:
        g["mean_length_cm"] = round((weight / 0.011) ** (1 / 3), 2)
        if r.random() < 0.5:
            g["mean_length_in"] = max(1, round(g.pop("mean_length_cm") / 2.54))  # a class begins there
    elif how < 0.9:
        g["total_kg"] = round(max(1, g["count"]) * weight / 1000, 4)
        g["count"] = max(1, g["count"])
    else:
        g["mean_weight_oz"] = round(weight / 28.35, 3)
    if r.random() < 0.1:
        g["condition_factor"] = round(r.uniform(0.8, 1.4), 2)
    if r.random() < 0.1:
        g["respiration_factor"] = round(r.uniform(0.6, 1.9), 2)
    if r.random() < 0.15:
        g["ration_g_day"] = round(g.get("count", 100) * weight * r.choice([0, 0.005, 0.01, 0.02]), 1)
    return g


def draw_aerator(r, cascade=True):
    kind = r.choice(["diffuser", "diffuser", "rated", "oxygen"] + ["cascade"] * cascade)
    a = {"kind": kind}
    if kind == "diffuser":
        a.update(air_flow_l_min=round(r.uniform(2, 150), 1), depth_m=round(r.uniform(0.2, 2), 2))
        if r.random() < 0.7:
            a["bubble"] = r.choice(["fine", "medium", "coarse"])
        else:
            a["transfer_percent_per_m"] = round(r.uniform(0.5, 9), 2)
    elif kind == "rated":
        a["sotr_g_h"] = round(r.uniform(1, 100), 1)
    elif kind == "oxygen":
        a.update(flow_l_min=round(r.uniform(0.05, 2), 2), absorption_percent=r.choice([10, 15, 20, 70]))
    else:
        a["drop_m"] = round(r.uniform(0.05, 1.5), 2)
        if r.random() < 0.3:
            a["quality"] = round(r.uniform(0.7, 1.7), 2)
        if r.random() < 0.3:
            a["weir"] = round(r.uniform(0.8, 1.3), 2)
    if kind in ("diffuser", "rated") and r.random() < 0.3:
        a["alpha"] = round(r.uniform(0.5, 1.1), 2)
        a["beta"] = round(r.uniform(0.9, 1.0), 2)
    return a


def draw_water(r):
    w = {"temperature_c": round(r.uniform(0.5, 22), 1)}
    if r.random() < 0.5:
        w["peak_temperature_c"] = round(w["temperature_c"] + r.uniform(0, 4), 1)
    if r.random() < 0.75:
        w["ph"] = round(r.uniform(5.8, 9.3), 2)
        if r.random() < 0.7:
            w["alkalinity_mg_l"] = r.randint(5, 250)
    for key, chance, low, high in (("oxygen_mg_l", 0.2, 4, 12), ("tan_mg_l", 0.2, 0, 4), ("nitrite_mg_l", 0.15, 0, 0.7),
                                   ("nitrate_mg_l", 0.15, 0, 120), ("chloride_mg_l", 0.15, 0, 30),
                                   ("carbon_dioxide_mg_l", 0.15, 0, 25), ("current_cm_s", 0.15, 0, 60),
                                   ("gas_pressure_percent", 0.1, 95, 115), ("salinity_g_kg", 0.1, 0, 25), ("salt_g_l", 0.05, 0, 6)):
        if r.random() < chance:
            w[key] = round(r.uniform(low, high), 2)
    if "salt_g_l" in w:
        w.pop("chloride_mg_l", None)
    return w


def draw_inflow(r):
    i = {"flow_l_min": round(math.exp(r.uniform(math.log(2), math.log(300))), 1)}
    if r.random() < 0.05:
        i["flow_l_min"] = 0
    if r.random() < 0.6:
        i["oxygen_percent"] = r.randint(50, 110)
    else:
        i["oxygen_mg_l"] = round(r.uniform(5, 13), 1)
    if r.random() < 0.3:
        i["tan_mg_l"] = round(r.uniform(0, 1), 2)
    how = r.random()
    if how < 0.3:
        i["carbon_dioxide_mg_l"] = round(r.uniform(0, 20), 1)
    elif how < 0.5:
        i.update(ph=round(r.uniform(6.3, 8.3), 2), alkalinity_mg_l=r.randint(10, 200))
    if r.random() < 0.1:
        i["chlorine_mg_l"] = round(r.uniform(0, 0.02), 4)
    if r.random() < 0.4:
        i["keeps_flowing"] = r.random() < 0.8
    return i


def draw_backup(r):
    devices = []
    for _ in range(r.randint(1, 2)):
        a = draw_aerator(r, False)
        how = r.random()
        if how < 0.5:
            a["hours"] = round(r.uniform(0.5, 24), 1)
        elif a["kind"] == "oxygen" and how < 0.8:
            a.update(cylinder_l=r.choice([5, 10, 50]), cylinder_bar=r.choice([150, 200]))
            if r.random() < 0.3:
                a["left_bar"] = 5
        else:
            a.update(battery_v=12, battery_ah=r.randint(20, 200), watts=r.randint(10, 80))
        devices.append(a)
    return devices


def draw_limits(r):
    own = {}
    for key, value in second.LIMITS.items():
        if key != "backup_hours" and r.random() < 0.1:
            own[key] = round(value * r.uniform(0.95, 1.05), 6)
    if r.random() < 0.1:
        own["density_warn_kg_m3"] = round(r.uniform(10, 40), 1)
    if r.random() < 0.1:
        own["temperature_warn_c"] = round(r.uniform(15, 18), 1)
    return own


def draw_feed(r, groups):
    feed = {}
    all_own = all("ration_g_day" in g for g in groups)
    how = r.random()
    if not all_own and how < 0.25:
        feed["ration_g_day"] = r.randint(0, 2000)
    elif not all_own and how < 0.5:
        feed["ration_percent_day"] = round(r.uniform(0, 3), 2)
    for key, chance, low, high in (("protein_percent", 0.3, 35, 50), ("oxygen_per_feed_g_kg", 0.2, 200, 500),
                                   ("peak_factor", 0.2, 1, 2)):
        if r.random() < chance:
            feed[key] = round(r.uniform(low, high), 1)
    stated = any(g.get("ration_g_day") for g in groups) or feed.get("ration_g_day") or feed.get("ration_percent_day")
    if r.random() < 0.3:
        feed["fasted_h"] = r.randint(0, 24 if stated else 200)
    return feed


def draw_tank(r, name):
    groups = [draw_fish(r) for _ in range(r.choice([0, 1, 1, 1, 1, 2, 3]) if r.random() < 0.3 else 1)]
    tank = {"name": name, "volume_l": round(math.exp(r.uniform(math.log(500), math.log(20000)))), "water": draw_water(r), "fish": groups}
    kg = sum(g.get("count", 0) * g.get("mean_weight_g", 300) / 1000 for g in groups)
    tank["volume_l"] = max(tank["volume_l"], round(kg * r.uniform(8, 60)) + 100)
    if r.random() < 0.85:
        tank["inflow"] = draw_inflow(r) if r.random() < 0.8 else [draw_inflow(r) for _ in range(r.randint(1, 3))]
    if r.random() < 0.7:
        tank["feed"] = draw_feed(r, groups)
    if r.random() < 0.7:
        tank["aeration"] = [draw_aerator(r, "inflow" in tank) for _ in range(r.randint(1, 3))]
    if r.random() < 0.2:
        tank["limits"] = draw_limits(r)
    if r.random() < 0.15:
        tank["backup"] = draw_backup(r)
    return tank


def draw_loop(r, name, tanks):
    water = {key: value for key, value in draw_water(r).items() if key in (
        "temperature_c", "peak_temperature_c", "ph", "alkalinity_mg_l", "nitrite_mg_l", "nitrate_mg_l", "chloride_mg_l", "salt_g_l")}
    water["temperature_c"] = max(3, water["temperature_c"])
    if "peak_temperature_c" in water:
        water["peak_temperature_c"] = max(water["peak_temperature_c"], water["temperature_c"])
    loop = {"name": name, "water": water}
    volume = sum(t["volume_l"] for t in tanks)
    if r.random() < 0.85:
        loop["exchange_l_day"] = round(volume * math.exp(r.uniform(math.log(0.0005), math.log(2))), 1)
    if r.random() < 0.6:
        loop["makeup"] = {key: round(r.uniform(0, most), 3) for key, most in (
            ("tan_mg_l", 0.3), ("nitrate_mg_l", 10), ("alkalinity_mg_l", 250), ("chlorine_mg_l", 0.02)) if r.random() < 0.5}
    if r.random() < 0.9:
        size = math.exp(r.uniform(math.log(5), math.log(2000)))
        loop["biofilter"] = {"media_area_m2": round(size, 1)} if r.random() < 0.6 else {"removal_g_day": round(size / 4, 1)}
        if r.random() < 0.25:
            loop["biofilter"]["maturity_percent"] = r.randint(0, 100)
    if r.random() < 0.35:
        loop["plants"] = {"bed_area_m2": round(r.uniform(0.5, 40), 1), "crop": r.choice(["leafy", "fruiting"])}
    if r.random() < 0.8:
        loop["aeration"] = [draw_aerator(r) for _ in range(r.randint(1, 3))]
    if r.random() < 0.2:
        loop["supply_oxygen_percent"] = r.randint(50, 120)
    if r.random() < 0.3:
        loop["degasser_percent"] = r.randint(0, 100)
    if r.random() < 0.2:
        loop["limits"] = draw_limits(r)
    return loop


def draw_on_loop(r, name, loop):
    tank = draw_tank(r, name)
    tank.pop("inflow", None)
    if "aeration" in tank:
        tank["aeration"] = [draw_aerator(r) for _ in tank["aeration"]]
    tank["loop"] = {"name": loop, "flow_l_min": round(tank["volume_l"] * r.uniform(0.001, 0.05), 1)}
    how = r.random()
    if how < 0.6:
        del tank["water"]
    elif how < 0.8:
        tank["water"] = {key: value for key, value in tank["water"].items() if "temperature" not in key}
    return tank


def draw_row(r):
    """Two to four tanks one below the other, sometimes with a spring beside, in any order."""
    tanks = [draw_tank(r, "t0")]
    if "inflow" not in tanks[0]:
        tanks[0]["inflow"] = draw_inflow(r)
    left = {"t0": sum(i["flow_l_min"] for i in second.inflows_of(tanks[0]))}
    for n in range(1, r.randint(2, 4)):
        upper = r.choice(sorted(left))
        if left[upper] <= 0:
            continue
        name = "t%d" % n
        tank = draw_tank(r, name)
        flow = round(left[upper] * r.choice([1, 1, 0.5, 0.25]), 3)
        flow = min(flow, left[upper])
        left[upper] = round(left[upper] - flow, 6)
        tank["inflow"] = {"from": upper, "flow_l_min": flow}
        if r.random() < 0.6:
            tank["inflow"]["keeps_flowing"] = True
        left[name] = flow
        if r.random() < 0.25:
            spring = draw_inflow(r)
            spring["temperature_c"] = round(r.uniform(3, 15), 1)
            tank["inflow"] = [tank["inflow"], spring]
            left[name] += spring["flow_l_min"]
        if r.random() < 0.6:
            tank["water"] = {key: value for key, value in tank["water"].items() if "temperature" not in key}
        elif isinstance(tank["inflow"], list):
            del tank["inflow"][1]["temperature_c"]
        tanks.append(tank)
    r.shuffle(tanks)
    return tanks


def draw_trip(r, name):
    groups = [draw_fish(r) for _ in range(r.choice([1, 1, 1, 2]))]
    for g in groups:
        g.pop("ration_g_day", None)
        if "per_m3" in g:
            g["count"] = r.randint(1, 100)
            del g["per_m3"]
    kg = sum(g["count"] * g.get("mean_weight_g", 200) / 1000 + g.get("total_kg", 0) for g in groups)
    trip = {"name": name, "fish": groups, "water_l": round(kg * r.uniform(4, 60) + 10, 1), "temperature_c": round(r.uniform(2, 19), 1)}
    if r.random() < 0.5:
        trip["minutes"] = r.randint(5, 400)
    else:
        trip["hours"] = round(r.uniform(0.1, 8), 2)
    if r.random() < 0.8:
        trip["aeration"] = [draw_aerator(r, False) for _ in range(r.randint(1, 2))]
    for key, chance, low, high in (("fasted_h", 0.6, 0, 120), ("start_oxygen_percent", 0.3, 70, 130), ("salinity_g_kg", 0.2, 0, 8),
                                   ("arrival_temperature_c", 0.3, 3, 19), ("arrival_ph", 0.2, 6.2, 8.6)):
        if r.random() < chance:
            trip[key] = round(r.uniform(low, high), 1)
    if r.random() < 0.6:
        trip.update(ph=round(r.uniform(6.2, 8.5), 2), alkalinity_mg_l=r.randint(10, 250))
    supersaturated = trip.get("start_oxygen_percent", 0) > 100 or any(a["kind"] == "oxygen" for a in trip.get("aeration", []))
    if r.random() < 0.3 and not supersaturated:  # the program's least oxygen leaves out the step down to saturation
        trip["water_change"] = {"share": round(r.uniform(0.1, 0.9), 2), "every_min": r.randint(10, 120)}
    return trip


def draw_site(r):
    site = {"name": "drawn"}
    if r.random() < 0.8:
        site["altitude_m"] = r.randint(-100, 3000)
    else:
        site["barometric_pressure_kpa"] = round(r.uniform(75, 104), 1)
    if r.random() < 0.05:
        site["salinity_g_kg"] = round(r.uniform(0, 12), 1)
    if r.random() < 0.1:
        site["backup"] = draw_backup(r)
    if r.random() < 0.1:
        site["limits"] = draw_limits(r)
    return site


def draw_coefficients(r):
    out = {}
    for key, value in second.COEFFICIENTS.items():
        if r.random() < 0.08:
            narrow = "exponent" in key or key == "transfer_per_degree"
            out[key] = value * (r.uniform(0.99, 1.01) if narrow else r.uniform(0.8, 1.25))
            if key in ("fasted_share", "unfed_excretion_share", "resting_share", "beta", "alpha"):
                out[key] = min(out[key], 1)
    return out


def draw_growing(r):
    g = draw_fish(r)
    for key in ("ration_g_day", "per_m3"):
        g.pop(key, None)
    g["count"] = r.randint(20, 300)
    if "total_kg" in g:
        g["total_kg"] = round(g["count"] * r.uniform(0.005, 0.4), 3)
    if r.random() < 0.3:
        g["tgc_x1000"] = round(r.uniform(0.8, 2), 2)
    return g


def draw_season(r, kind):
    """A tank of one group or of several, a row or a loop through some weeks of the year."""
    d = {"format": 1, "site": draw_site(r)}
    if kind == "row":
        d["tanks"] = draw_row(r)
    elif kind == "loop":
        d["tanks"] = [draw_on_loop(r, "t%d" % i, "l0") for i in range(r.randint(1, 3))]
        d["loops"] = [draw_loop(r, "l0", d["tanks"])]
    else:
        d["tanks"] = [draw_tank(r, "t0")]
        d["tanks"][0].update(inflow=draw_inflow(r), volume_l=50000)
        d["tanks"][0]["inflow"]["flow_l_min"] = max(20, d["tanks"][0]["inflow"]["flow_l_min"])
    for tank in d["tanks"]:
        tank.update(fish=[draw_growing(r) for _ in range(r.randint(1, 3) if kind == "groups" else 1)])
        tank["volume_l"] = max(tank["volume_l"], 20000)
        tank.pop("feed", None)
    if kind in ("one", "row") and r.random() < 0.3:
        d["tanks"][0]["feed"] = {"protein_percent": r.randint(35, 50), "oxygen_per_feed_g_kg": r.randint(200, 500), "peak_factor": 1.5}
    start = datetime.date(2027, 1, 1) + datetime.timedelta(days=r.randint(0, 700))
    season = {"start": start.isoformat(), "until": (start + datetime.timedelta(days=r.randint(20, 60 if kind in ("row", "loop") else 150))).isoformat()}
    warmer = r.uniform(-2, 2)
    if r.random() < 0.4:
        season["monthly_mean_c"] = [round(m + warmer + r.uniform(-1, 1), 1) for m in (4, 4.5, 6, 8, 10.5, 12.5, 13.5, 13.5, 12, 9, 6.5, 5)]
    else:
        season.update(mean_c=round(9 + warmer, 1), amplitude_c=round(r.uniform(1, 6), 1), warmest_day=r.choice(["08-05", "07-20", "03-01"]))
    for key, chance, low, high in (("target_weight_g", 0.5, 150, 400), ("mortality_percent_month", 0.5, 0, 5), ("fcr", 0.3, 0.8, 1.6),
                                   ("daily_swing_c", 0.3, 0, 4), ("warm_spell_c", 0.2, 0, 3)):
        if r.random() < chance:
            season[key] = round(r.uniform(low, high), 2)
    how = r.random()
    if how < 0.3:
        season["ration"] = r.choice(["growth", "table"])
    elif how < 0.5:
        season["ration_percent_day"] = round(r.uniform(0.3, 3), 2)
    if r.random() < 0.2:
        season["thinning"] = [{"date": (start + datetime.timedelta(days=15)).isoformat(), **r.choice([{"count": 10}, {"share": 0.3}, {"to_kg": 5}])}]
    return {**d, "season": season}


ENDINGS = {  # other units that a key may be given in
    "volume_l": ["volume_m3", "volume_gal_us", "volume_gal_imp", "volume_ft3"],
    "flow_l_min": ["flow_l_h", "flow_l_s", "flow_m3_h", "flow_gal_us_min", "flow_gal_imp_min", "flow_gal_us_h", "flow_gal_imp_h"],
    "air_flow_l_min": ["air_flow_l_h", "air_flow_m3_h", "air_flow_ft3_min"], "depth_m": ["depth_cm", "depth_ft", "depth_in"],
    "drop_m": ["drop_cm", "drop_ft", "drop_in"], "sotr_g_h": ["sotr_kg_h", "sotr_lb_h", "sotr_oz_h"],
    "mean_weight_g": ["mean_weight_kg", "mean_weight_lb", "mean_weight_oz"], "mean_length_cm": ["mean_length_in", "mean_length_mm"],
    "total_kg": ["total_g", "total_lb", "total_oz"], "ration_g_day": ["ration_kg_day", "ration_lb_day", "ration_oz_day"],
    "temperature_c": ["temperature_f"], "peak_temperature_c": ["peak_temperature_f"], "altitude_m": ["altitude_cm", "altitude_ft"],
    "barometric_pressure_kpa": ["barometric_pressure_hpa", "barometric_pressure_mmhg", "barometric_pressure_inhg"],
    "tan_mg_l": ["tan_mg_l_as_nh4", "tan_mg_l_as_nh3"], "nitrite_mg_l": ["nitrite_mg_l_as_no2"],
    "nitrate_mg_l": ["nitrate_mg_l_as_no3"], "alkalinity_mg_l": ["alkalinity_dkh", "alkalinity_meq_l", "alkalinity_mmol_l"],
    "temperature_warn_c": ["temperature_warn_f"], "tan_warn_mg_l": ["tan_warn_mg_l_as_nh4"], "exchange_l_day": ["exchange_m3_day", "exchange_gal_us_day"],
    "media_area_m2": ["media_area_ft2"], "bed_area_m2": ["bed_area_ft2"], "removal_g_day": ["removal_kg_day", "removal_lb_day"],
    "water_l": ["water_m3", "water_gal_us"],
}


def other_units(part, r, chance):
    """Some keys in another unit, to as many digits as are printed."""
    if isinstance(part, list):
        return [other_units(p, r, chance) for p in part]
    if not isinstance(part, dict):
        return part
    out = {}
    for key, value in part.items():
        if key in ENDINGS and r.random() < chance and not ("diffuser" not in part.values() and key == "flow_l_min" and "kind" in part):
            other = r.choice(ENDINGS[key])
            if other.endswith("_f"):
                key, value = other, 1.8 * value + 32
            else:
                (one,) = second.base_units({other: 1.0}).values()
                key, value = other, value / one
        out[key] = other_units(value, r, chance)
    return out


def draw(r):
    d = {"format": 1, "site": draw_site(r)}
    if r.random() < 0.2:
        d["tanks"] = draw_row(r)
    elif r.random() < 0.4:
        d["tanks"] = [draw_on_loop(r, "t%d" % i, "l0") for i in range(r.randint(1, 3))]
        d["loops"] = [draw_loop(r, "l0", d["tanks"])]
    else:
        d["tanks"] = [draw_tank(r, "t%d" % i) for i in range(r.randint(1, 3))]
    if r.random() < 0.3:
        d["trips"] = [draw_trip(r, "h%d" % i) for i in range(r.randint(1, 2))]
    if r.random() < 0.15:
        d["coefficients"] = draw_coefficients(r)
    return other_units(d, r, 0.3) if r.random() < 0.15 else d


def rounds_to(value, limit):
    return value is not None and bool(limit) and value != limit and abs(value / limit - 1) < 1e-12


def at_a_limit(report):
    """Whether rounding decides a status: a value that is its limit but for the last digits."""
    for part in report["tanks"] + report["loops"] + report.get("trips", []):
        for c in part["checks"]:
            for limit in (c["warn"], c["fail"]):
                if any(rounds_to(c["value"], one) for one in (limit if isinstance(limit, list) else [limit])):
                    return True
            if any(rounds_to(b["value"], b["limit"]) for b in c.get("because", [])):
                return True
    return False


def compare_outage(d, report, theirs):
    """The tanks of `outage`, in the program's order (the worst first), without what it advises to do."""
    figures, k, based = report
    if not_followed(figures, based):
        return
    ours = {t["tank"]: t for t in second_time.outage(based, figures, k)}
    based_on = {t["tank"]: t["_outage"] for t in figures["tanks"] if "_outage" in t}
    for tank in theirs["tanks"]:
        tank = {key: value for key, value in tank.items() if key not in LEFT_OUT_OF_OUTAGE}
        mine = ours.pop(tank["tank"], None)
        o = based_on[tank["tank"]]
        if o["read_on_dead_loop"]:  # the program starts from the reading
            continue
        if o["from"] == "saturation" and o["measured"] is not None:  # and says "predicted" of it
            tank.pop("oxygen_now_from"), mine.pop("oxygen_now_from")
        if mine is None or not any(second_time.ill_conditioned(c, o["limits"]) for c in mine["cases"]):
            d.compare("%d/outage/%s" % (theirs["line"], tank["tank"]), mine, tank)
    if ours:
        d.differ("%d/outage" % theirs["line"], sorted(ours), None)


def not_followed(figures, description):
    """A tank gives to another what was read over saturation, or has a reading and no fish: not worked out here."""
    by_name = {t["tank"]: t for t in figures["tanks"]}
    given = {i["from"] for t in description["tanks"] for i in second.inflows_of(t) if "from" in i}
    read = {n: by_name[n]["oxygen"]["measured_mg_l"] for n in given if by_name[n]["oxygen"]["measured_mg_l"] is not None}
    return any("_outage" not in by_name[n] or x > by_name[n]["_outage"]["saturation"] for n, x in read.items())


def compare_season(d, number, description, theirs):
    """Temperatures, weights, counts, feed and verdict of every day, and what they come to."""
    dates = max(([day["date"] for day in tank["days"]] for tank in theirs["tanks"]), key=len)
    ours = second_time.Season(second.figures(description)[2], dates)
    for printed in theirs["loops"]:
        d.compare("season %d/%s" % (number, printed["loop"]), ours.loop(printed["loop"]), printed)
    for printed in theirs["tanks"]:
        mine = ours.tank(printed["tank"])
        for key in LEFT_OUT_OF_SEASON:
            printed.pop(key, None)
        tie = [day["_checks"]["oxygen"]["used_percent"] for day in mine["days"] if day["date"] in (mine["supply"]["date"], printed["supply"]["date"])]
        if len(tie) == 2 and None not in tie and abs(tie[0] / tie[1] - 1) < 1e-9:
            printed["supply"] = mine["supply"]
        if mine["supply"]["oxygen_lowest_mg_l"] is None:
            del printed["supply"]["passes"], mine["supply"]["passes"]  # the program's is true of what nobody checked
        for part in printed["feed_by_month"]:
            d.compare("season %d/%s/pellets" % (number, part["month"]), sum(p["feed_kg"] for p in part["pellets"]), part["feed_kg"])
        d.compare("season %d/%s" % (number, printed["tank"]), mine, printed)


def main(arguments):
    program, count, seed = arguments[0], int(arguments[2]), int(arguments[3])
    r = random.Random(seed)
    descriptions = [draw(r) for _ in range(count)]
    d, passed_over = Differences(), 0
    reports, errors = run(program, "budget", descriptions)
    outages, _ = run(program, "outage", descriptions)
    for description, theirs, outage in zip(descriptions, reports, outages):
        figures = None if theirs["errors"] else second.figures(description)
        ours = figures and second.assess(description)
        if ours and "trips" in description:
            ours["trips"] = [second_time.haul(trip, figures[2]["site"]) for trip in figures[2]["trips"]]
            ours["verdict"] = second.worst([ours["verdict"]] + [t["verdict"] for t in ours["trips"]])
        if ours is None or at_a_limit(ours) or at_a_limit(theirs):
            passed_over += 1
            continue
        before = len(d.found)
        d.compare(str(theirs["line"]), ours, theirs)
        compare_outage(d, figures, outage)
        if len(d.found) > before:
            d.found[before] += "\n    " + json.dumps(description)
    seasons = [draw_season(r, r.choice(["one", "one", "groups", "row", "loop"])) for _ in range(count // 25)]
    reports_of_seasons, _ = run(program, "season", seasons)
    for n, (description, theirs) in enumerate(zip(seasons, reports_of_seasons)):
        if not theirs["errors"]:
            before = len(d.found)
            compare_season(d, n, description, theirs)
            if len(d.found) > before:
                d.found[before] += "\n    " + json.dumps(description)
    print("%d descriptions, %d figures compared, largest deviation %.1e" % (len(reports) + len(seasons), d.figures, d.largest))
    for line in d.found[:int(arguments[4]) if len(arguments) > 4 else 10]:
        print(line)
    if len(reports) != count or passed_over > count / 50:
        print("%d reports of %d descriptions, %d of them passed over\n%s" % (len(reports), count, passed_over, errors[:2000]))
        return 1
    return 1 if d.found else 0
