"""Courses of time, worked out a second time: `outage`, `haul` and `season`. See second.py, and README.md."""
import math

from second import inflows_of, minutes_to, transfer, check, under, worst

# -- outage ----------------------------------------------------------------------------------------------

BATTERY = 0.5 * 0.85  # usable share, efficiency of wires and inverter


def backup_hours(device):
    if "hours" in device:
        return device["hours"]
    if "battery_v" in device:
        return device["battery_v"] * device["battery_ah"] * BATTERY / device["watts"]
    return device["cylinder_l"] * (device["cylinder_bar"] - device.get("left_bar", 10)) / device["flow_l_min"] / 60


def oxygen_after(minutes, start, water_m3, q, c_in, kla, kbcs, g, r):
    if q + kla == 0:
        return max(0, start + (g - r) * minutes / 60 / water_m3)
    steady = (q * c_in + kbcs + g - r) / (q + kla)
    return max(0, steady + (start - steady) * math.exp(-(q + kla) * minutes / 60 / water_m3))


def outage_case(name, o, q, c_in, kla, kbcs, g):
    limits = o["limits"]
    course = (o["water_m3"], q, c_in, kla, kbcs, g, o["demand"])
    steady = (q * c_in + kbcs + g - o["demand"]) / (q + kla) if q + kla > 0 else None
    return {"case": name, "steady_mg_l": steady,
            "minutes_to_stress": minutes_to(limits["reserve_stress_mg_l"], o["start"], *course),
            "minutes_to_danger": minutes_to(limits["reserve_danger_mg_l"], o["start"], *course)}


def backup_case(o, devices, share, k):
    """The backup, device by device as long as each lasts, then nothing."""
    kla, kb, g, _ = (share * x for x in transfer(devices, o["peak"], k))
    case = outage_case("backup", o, o["kept_q"], o["kept_oxygen"], kla, kb * o["saturation"], g)
    ends = sorted({60 * backup_hours(d) for d in devices})
    stages = []  # until when, and the course with what still runs then
    for end in ends + [math.inf]:
        kla, kb, g, _ = (share * x for x in transfer([d for d in devices if 60 * backup_hours(d) >= end], o["peak"], k))
        stages.append((end, (o["water_m3"], o["kept_q"], o["kept_oxygen"], kla, kb * o["saturation"], g, o["demand"])))
    for key, level in (("minutes_to_stress", "reserve_stress_mg_l"), ("minutes_to_danger", "reserve_danger_mg_l")):
        now, start, case[key] = 0, o["start"], None
        for end, course in stages:
            minutes = minutes_to(o["limits"][level], start, *course)
            if minutes is not None and now + minutes <= end:
                case[key] = now + minutes
                break
            if end < math.inf:
                start, now = min(max(o["saturation"], o["start"]), oxygen_after(end - now, start, *course)), end  # more leaves the water
    def held(course):
        steady = steady_of(*course)
        limits = o["limits"]
        return ("warn" if steady >= o["warn_at"] else "fail" if steady >= limits["oxygen_fail_mg_l"]
                else "danger" if steady >= limits["reserve_danger_mg_l"] else "nothing")
    holds = held(stages[0][1])
    hours = ends[-1]
    if holds != "nothing":
        hours = next((end for (end, _), (_, after) in zip(stages[:-1], stages[1:-1] + [(0, None)])
                      if after is None or held(after) != holds), ends[-1])
    return case, {"hours": hours / 60, "holds": holds}


def ill_conditioned(case, limits):
    """The course creeps up to a level: a digit of the steady oxygen makes hours."""
    steady = case["steady_mg_l"]
    return steady is not None and any(abs(steady - limits[key]) < 1e-3 for key in ("reserve_stress_mg_l", "reserve_danger_mg_l"))


def steady_of(water_m3, q, c_in, kla, kbcs, g, r):
    if q + kla == 0:
        return math.inf if g >= r else -math.inf
    return (q * c_in + kbcs + g - r) / (q + kla)


def water_doubted(tank, tanks, by_name):
    """An inflow that leaves the fish low by a reading, here or above, is counted on only where it makes things worse."""
    return by_name[tank["name"]]["_water_doubted"] or any(
        water_doubted(tanks[i["from"]], tanks, by_name) for i in inflows_of(tank)
        if "from" in i and i.get("keeps_flowing") and by_name[i["from"]]["_outflow"]["kept_share"] > 0)


def outage(description, report, k):
    """The tanks of `outage`, from the figures of the budget."""
    site = description["site"]
    tanks = {t["name"]: t for t in description["tanks"]}
    results, by_name = [], {r["tank"]: r for r in report["tanks"]}
    shared = [n for n, t in tanks.items() if "backup" not in t]
    demand = {r["tank"]: r["_outage"]["demand"] for r in report["tanks"] if "_outage" in r}
    for r in report["tanks"]:
        if "_outage" not in r:
            continue
        o, tank = r["_outage"], tanks[r["tank"]]
        minutes = outage_case("", o, 0, 0, 0, 0, 0)["minutes_to_danger"]
        flowing = outage_case("", o, o["kept_q"], o["kept_oxygen"], 0, 0, 0)["minutes_to_danger"]
        if water_doubted(tank, tanks, by_name) and (flowing is None or minutes is not None and minutes <= flowing):
            o = {**o, "kept_q": 0}
        cases = [outage_case("all_stops", o, 0, 0, 0, 0, 0)]
        if o["q"] > 0:
            water = ("kept_q", "kept_oxygen") if r["_outage"]["kept_q"] > 0 else ("q", "oxygen")
            cases.append(outage_case("water_goes_on", o, *(r["_outage"][key] for key in water), 0, 0, 0))
        if o["kla"] > 0 or o["pure"] > 0:
            cases.append(outage_case("air_goes_on", o, 0, 0, o["kla"], o["kbcs"], o["pure"]))
        backup = None
        devices = tank.get("backup", site.get("backup", []))
        if devices:
            part = 1 if "backup" in tank else demand[r["tank"]] / sum(demand[n] for n in shared if n in demand)
            case, backup = backup_case(o, devices, part, k)
            cases.append(case)
        judged = "water_goes_on" if o["kept_q"] > 0 else "all_stops"
        value = cases[0]["minutes_to_danger"]
        if o["kept_q"] > 0:
            value = outage_case("", o, o["kept_q"], o["kept_oxygen"], 0, 0, 0)["minutes_to_danger"]
        warn = o["limits"]["response_time_min"]
        because = []
        status = "pass" if value is None else under(value, warn, warn / 2)
        if o["unchecked"]:
            status = worst([status, "unchecked"])
        if o["from"] != "saturation" and o["start"] < o["limits"]["oxygen_fail_mg_l"]:
            because = [("as_oxygen", "warn", o["start"], o["limits"]["oxygen_fail_mg_l"])]
            status = worst([status, "warn"])
        used = 0 if value is None else 100 * warn / value if value > 0 else None
        results.append({
            "tank": r["tank"], "verdict": status, "oxygen_now_mg_l": o["start"], "demand_g_h": o["demand"],
            "oxygen_now_from": o["from"], "cases": cases, "judged_case": judged, "backup": backup,
            "checks": [check("oxygen_reserve", value, warn, warn / 2, status, used, because)]})
    return results
