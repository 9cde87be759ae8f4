"""Courses of time, worked out a second time: `outage`, `haul` and `season`. See second.py, and README.md."""
import bisect
import datetime
import math

from second import (
    SHARED,
    COEFFICIENTS, LIMITS, NH3_PER_N, SPECIES, STATUSES, air_pressure_kpa, assess_by, carbon_dioxide_by_ph, carbon_dioxide_of_air,
    check, excreted_feed, fasted_share, first_limit, fish_groups, inflows_of, least, length_cm, minutes_to, over, oxygen_saturation,
    ph_by_carbon_dioxide, respiration, transfer, under, unionised_fraction, worst)

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
        if o["start"] < o["limits"]["oxygen_fail_mg_l"]:
            because = [("as_oxygen", "warn", o["start"], o["limits"]["oxygen_fail_mg_l"])]
            status = worst([status, "warn"])
        used = 0 if value is None else 100 * warn / value if value > 0 else None
        results.append({
            "tank": r["tank"], "verdict": status, "oxygen_now_mg_l": o["start"], "demand_g_h": o["demand"],
            "oxygen_now_from": o["from"], "cases": cases, "judged_case": judged, "backup": backup,
            "checks": [check("oxygen_reserve", value, warn, warn / 2, status, used, because)]})
    return results


# -- haul ------------------------------------------------------------------------------------------------

NETTED, NETTED_MIN = 1.6, 60  # netted fish breathe harder: Davis 1993
WEEK_MIN = 7 * 24 * 60


def trip_minutes(trip, tempering=True):
    """The way, and tempering on arrival by 2 degC an hour."""
    minutes = trip["minutes"] if "minutes" in trip else 60 * trip["hours"]
    return minutes + tempering * 60 * abs(trip.get("arrival_temperature_c", trip["temperature_c"]) - trip["temperature_c"]) / 2


def trip_rates(trip, groups, temperature, pressure, salinity, k):
    """K, K beta Cs, G; respiration; what strips carbon dioxide and what the air holds; saturation."""
    saturation = oxygen_saturation(temperature, pressure, salinity)
    kla, kb, g, strip = transfer(trip.get("aeration", []), temperature, k)
    rest = fasted_share(trip.get("fasted_h", 0), k) * sum(
        x["respiration_factor"] * respiration(x["mean_weight_g"], temperature, k) * x["kg"] / 1000 for x in groups)
    return kla, kb * saturation, g, rest, strip, carbon_dioxide_of_air(temperature, pressure, k), saturation


def trip_course(trip, groups, arrival, pressure, salinity, minutes, k):
    """Step by step: (minute, oxygen, carbon dioxide, TAN, rates of the step that ends there); tempering at arrival degC."""
    t, way = trip["temperature_c"], trip_minutes(trip, False)
    water = (trip["water_l"] - k["fish_displacement_l_kg"] * sum(x["kg"] for x in groups)) / 1000
    on_the_way, there = (trip_rates(trip, groups, x, pressure, salinity, k) for x in (t, arrival))
    co2 = on_the_way[5]
    if "ph" in trip and "alkalinity_mg_l" in trip:
        co2 = carbon_dioxide_by_ph(trip["ph"], trip["alkalinity_mg_l"], t)
    filled = (trip.get("start_oxygen_percent", 100) / 100 * on_the_way[6], co2, 0)
    fed = sum(excreted_feed({**x, "ration_g_day": 0}, trip.get("fasted_h", 0), k) for x in groups)
    tan_g_h = max(fed * k["protein_percent"] / 100 * k["tan_per_protein_g_g"], k["tan_unfed_g_kg_day"] * sum(x["kg"] for x in groups)) / 24
    change = trip.get("water_change")
    changes = set()
    if change:
        changes = {n * change["every_min"] for n in range(1, int(minutes / change["every_min"]) + 1)}
    now, state, course = 0, filled, [(0, *filled, on_the_way)]
    for end in sorted(x for x in changes | {NETTED_MIN, way, minutes} if x <= minutes):
        kla, kbcs, g, rest, strip, of_air, _ = rates = there if now >= way else on_the_way
        c, x, n = state
        r = rest * (NETTED if now < NETTED_MIN else 1)
        h = (end - now) / 60
        c = oxygen_after(end - now, c, water, 0, 0, kla, kbcs, g, r)
        made = k["carbon_dioxide_per_oxygen_g_g"] * r
        if strip > 0:
            steady = of_air + made / strip
            x = steady + (x - steady) * math.exp(-strip * h / water)
        else:
            x += made * h / water
        state, now = (c, x, n + tan_g_h * h / water), end
        course.append((now, *state, rates))
        if end in changes and end < minutes:
            fresh = (rates[6], co2, 0)
            state = tuple(change["share"] * f + (1 - change["share"]) * s for f, s in zip(fresh, state))
            course.append((now, *state, rates))
    return course, water


def minutes_until(level, course, water):
    """Of oxygen, as if the trip went on for a week."""
    for (now, c, *_), (end, _, _, _, rates) in zip(course, course[1:]):
        if end == now:
            continue
        kla, kbcs, g, rest, *_ = rates
        m = minutes_to(level, c, water, 0, 0, kla, kbcs, g, rest * (NETTED if now < NETTED_MIN else 1))
        if m is not None and now + m <= end:
            return now + m
    return None


def haul(trip, site):
    k = COEFFICIENTS  # what a description sets is for its tanks and loops
    groups = fish_groups({"fish": trip["fish"], "volume_l": trip["water_l"]}, trip["temperature_c"])
    limits = LIMITS
    salinity = trip.get("salinity_g_kg", site.get("salinity_g_kg", 0))
    pressure, t = air_pressure_kpa(site), trip["temperature_c"]
    minutes = trip_minutes(trip)
    course, water = trip_course(trip, groups, t, pressure, salinity, minutes, k)
    week, _ = trip_course(trip, groups, t, pressure, salinity, WEEK_MIN, k)
    kg = sum(g["kg"] for g in groups)
    alkalinity = trip.get("alkalinity_mg_l")
    _, oxygen_end, co2_end, tan_end, _ = course[-1]
    ph_end = nh3_end = None
    if "ph" in trip and alkalinity is not None:
        ph_end = ph_by_carbon_dioxide(co2_end, alkalinity, t)
        nh3_end = tan_end * unionised_fraction(ph_end, t, salinity, k) * NH3_PER_N
    lowest = min(c for _, c, *_ in course)
    warn_at = limits["oxygen_warn_mg_l"]
    result = {
        "trip": trip["name"], "fish_count": sum(g["count"] for g in groups), "biomass_kg": kg, "load_kg_l": kg / trip["water_l"],
        "minutes": minutes, "oxygen_start_mg_l": course[0][1], "oxygen_lowest_mg_l": lowest, "oxygen_end_mg_l": oxygen_end,
        "carbon_dioxide_end_mg_l": co2_end, "tan_end_mg_l": tan_end, "nh3_end_mg_l": nh3_end, "ph_end": ph_end,
        "minutes_to_warn": minutes_until(warn_at, week, water), "minutes_to_fail": minutes_until(limits["oxygen_fail_mg_l"], week, water),
        "minutes_to_danger": minutes_until(limits["reserve_danger_mg_l"], week, water)}
    # checks, in warmer water on arrival too
    arrival = trip.get("arrival_temperature_c", t)
    steps = course
    if arrival > t:
        steps = course + trip_course(trip, groups, arrival, pressure, salinity, minutes, k)[0]
    lowest = min(c for _, c, *_ in steps)
    checks = [check("oxygen", lowest, warn_at, limits["oxygen_fail_mg_l"], under(lowest, warn_at, limits["oxygen_fail_mg_l"]))]
    co2 = max(x for _, _, x, _, _ in steps)
    checks.append(check("carbon_dioxide", co2, 20, 30, over(co2, 20, 30)))
    if ph_end is None:
        checks.append(check("ammonia", None, None, None, "unchecked"))
    else:
        highest_ph = max(trip["ph"], ph_by_carbon_dioxide(min(x for _, _, x, _, _ in course), alkalinity, t))
        nh3 = NH3_PER_N * max(
            *(max(n for _, _, _, n, _ in course) * unionised_fraction(highest_ph, x, salinity, k) for x in (t, arrival)),
            tan_end * unionised_fraction(trip.get("arrival_ph", trip["ph"]), arrival, salinity, k))
        checks.append(check("ammonia", nh3, 0.025, 0.13, over(nh3, 0.025, 0.13)))
    kinds = {a["kind"] for a in trip.get("aeration", [])}
    if "oxygen" in kinds:
        percent = max(100 * c / course[0][4][6] for _, c, *_ in steps)
        checks.append(check("oxygen_excess", percent, 120, 200, over(percent, 120, 200)))
    length = min(length_cm(g) for g in groups)
    warn = (0.17 if "oxygen" in kinds else 0.085) * min(1, length / 20) * max(0, min(1, 1 - 0.1 * (t - 20 / 1.8)))
    checks.append(check("load", kg / trip["water_l"], warn, None, over(kg / trip["water_l"], warn)))
    longest = max(length_cm(g) for g in groups)
    if minutes > 60 and longest > 10:
        wanted = 72 if longest > 20 else 48
        fasted = trip.get("fasted_h", 0)
        checks.append(check("fasting", fasted, wanted, None, under(fasted, wanted)))
    species = [SPECIES[g["species"]] for g in groups]
    low, high, fail = max(s[0] for s in species), min(s[1] for s in species), min(s[3] for s in species)
    way, there = (worst([over(x, high, fail), under(x, low)]) for x in (t, arrival))
    checks.append(check("temperature", arrival if worst([way, there]) != way else t, [low, high], fail, worst([way, there])))
    if "ph" in trip:
        ranges = [[limits["ph_low_warn"], limits["ph_high_warn"]], [limits["ph_low_fail"], limits["ph_high_fail"]]]
        ph = trip["ph"], trip.get("arrival_ph", trip["ph"])
        way, there = (worst([over(p, ranges[0][1], ranges[1][1]), under(p, ranges[0][0], ranges[1][0])]) for p in ph)
        checks.append(check("ph", ph[0] if worst([way, there]) == way else ph[1], *ranges, worst([way, there])))
    if salinity > 0:
        checks.append(check("salinity", salinity, 10, 20, over(salinity, 10, 20)))
    if any(g["mean_weight_g"] < 1 for g in groups):
        checks.append(check("early_life", None, None, None, "unchecked"))
    result.update(checks=checks, verdict=worst(c["status"] for c in checks))
    return result


# -- season ----------------------------------------------------------------------------------------------

RESPONSE = [(4, 0.31), (7, 0.66), (10, 0.98), (13, 1.0), (16, 0.84), (19, 0.63)]  # brook trout: Dwyer et al. 1981
BROOK_OPTIMUM = 14.5


def growth_response(species, temperature):
    """Growth over that at the best temperature: brook trout's, shifted by the optimum, 0 from the feeding stop on.

    Straight lines; below the first point the first line goes on to 0, behind the last one falls to 0 at the stop."""
    stop, shift = SPECIES[species][2], SPECIES[species][6] - BROOK_OPTIMUM
    points = [(t + shift, r) for t, r in RESPONSE]
    if temperature >= stop:
        return 0
    if temperature > points[-1][0]:
        points.append((stop, 0))
    (t0, r0), (t1, r1) = next((a, b) for a, b in zip(points, points[1:]) if temperature <= b[0])
    return max(0, r0 + (r1 - r0) * (temperature - t0) / (t1 - t0))


def thermal_units(entry):
    """TGC x 1000, slow to fast."""
    if "tgc" in entry or "tgc_x1000" in entry:
        told = entry.get("tgc_x1000", 1000 * entry.get("tgc", 0))
        return 0.9 * told, told, 1.1 * told
    return SPECIES[entry["species"]][5]


def best_response(species, temperature):
    """The largest up to that temperature."""
    knots = [t + SPECIES[species][6] - BROOK_OPTIMUM for t, _ in RESPONSE]
    return max(growth_response(species, t) for t in [temperature] + [t for t in knots if t < temperature])


def a_day(group, weight, tgc, temperature, season, judged=False):
    """Of one fish: what it eats that day, its weight after it, and whether the ration holds it back.

    Where it is judged, growth is what it may be at most: with the best response up to that temperature."""
    fcr = season.get("fcr", 1.2)
    response = (best_response if judged else growth_response)(group["species"], temperature)
    reach = max(weight, (weight ** (1 / 3) + tgc / 1000 * temperature * response) ** 3)
    if season.get("ration") == "growth":
        return fcr * (reach - weight), reach, False
    one = fish_groups({"fish": [{"species": group["species"], "k": group["k"], "count": 1, "mean_weight_g": weight}], "volume_l": 1}, temperature)[0]
    percent = season.get("ration_percent_day", 100 * one["advised_g_day"] / weight)
    by_ration = weight * math.exp(percent / 100 / fcr)  # a ration of what they weigh as they grow through the day
    return fcr * (by_ration - weight), min(reach, by_ration), by_ration < reach


def total(fish, of):
    return sum(g["count"] * g[of] for g in fish)


def is_ready(fish, season):
    """The fish of a tank weigh on average what they are sold at: none is fed any more."""
    return total(fish, "weight") >= season.get("target_weight_g", math.inf) * sum(g["count"] for g in fish)


def season_days(tank, season, temperatures):
    """Of each day the fish by their pace (slow, expected, fast): a list of groups with count, weight, ration."""
    groups = fish_groups({**tank, "feed": {}}, 10)
    paces = [[{"count": g["count"], "weight": g["mean_weight_g"]} for g in groups] for _ in range(3)]
    survival = (1 - season.get("mortality_percent_month", 0) / 100) ** (12 / 365.25)
    days, thinned = [], []
    for date, temperature in temperatures:
        for thin in season.get("thinning", []):
            if thin["date"] != date or thin.get("tank", tank["name"]) != tank["name"]:
                continue
            for pace, fish in enumerate(paces):
                count = sum(g["count"] for g in fish)
                left = 1 - thin["share"] if "share" in thin else (
                    max(0, 1 - thin["count"] / count) if "count" in thin else min(1, 1000 * thin["to_kg"] / total(fish, "weight"))) if count else 0
                if pace == 1:
                    thinned.append({"date": date, "fish_count": (1 - left) * count, "biomass_kg": (1 - left) * total(fish, "weight") / 1000,
                                    "too_many": thin.get("count", 0) > count})
                for g in fish:
                    g["count"] *= left
        for fish, tgcs in zip(paces, zip(*map(thermal_units, groups))):
            for g, group, tgc in zip(fish, groups, tgcs):
                g["ration"], g["next"], g["held"] = (0, g["weight"], False) if is_ready(fish, season) else a_day(group, g["weight"], tgc, temperature, season)
        days.append({"paces": paces, "by_own_weight": any("to_kg" in x for x in season.get("thinning", []) if x["date"] <= date and x.get("tank", tank["name"]) == tank["name"]),
                     "ready": [is_ready(fish, season) for fish in paces]})
        paces = [[{"count": g["count"] * survival, "weight": g["next"]} for g in fish] for fish in paces]
    return groups, days, thinned


def wave_temperature(season, date):
    """A yearly wave about the mean, warmest on a day of the year."""
    since = (datetime.date.fromisoformat(date) - datetime.date.fromisoformat(date[:5] + season["warmest_day"])).days
    return season["mean_c"] + season["amplitude_c"] * math.cos(2 * math.pi * since / 365.25)


def month_temperatures(means, first, last):
    """Of a date between these: straight lines between the middles of months, so that each month keeps its mean.

    Of eight months before and behind too: what is assumed beyond them is not felt."""
    first, last = (int(date[:4]) * 12 + int(date[5:7]) - 1 for date in (first, last))
    months = range(first - 8, last + 9)
    starts = [datetime.date(m // 12, m % 12 + 1, 1).toordinal() for m in [*months, last + 9]]
    spans = list(zip(starts, starts[1:]))
    middles = [(a + b - 1) / 2 for a, b in spans]
    knots = [means[m % 12] for m in months]

    def at(day):
        i = bisect.bisect(middles, day)
        if i in (0, len(knots)):
            return knots[max(0, i - 1)]
        return knots[i - 1] + (knots[i] - knots[i - 1]) * (day - middles[i - 1]) / (middles[i] - middles[i - 1])
    for _ in range(40):  # what a month is off is added to its middle, until none is
        for i, (a, b) in enumerate(spans):
            knots[i] += means[months[i] % 12] - sum(at(d) for d in range(a, b)) / (b - a)
    return lambda date: at(datetime.date.fromisoformat(date).toordinal())


def of_dates(season, dates):
    """The mean temperature of each date."""
    if "monthly_mean_c" in season:
        at = month_temperatures(season["monthly_mean_c"], dates[0], dates[-1])
        return [(date, at(date)) for date in dates]
    return [(date, wave_temperature(season, date)) for date in dates]


READINGS = ("oxygen_mg_l", "tan_mg_l", "carbon_dioxide_mg_l", "nitrite_mg_l", "nitrate_mg_l")


class Season:
    """A description with a season, in base units, through its dates."""

    def __init__(self, description, dates):
        self.d, self.season = description, description["season"]
        self.temperatures = of_dates(self.season, dates)
        self.spell = self.season.get("warm_spell_c", 2)
        tanks = assess_by(description)["tanks"]
        self.described = {t["tank"]: (t["_temperature_c"], t["_peak_c"]) for t in tanks}
        self.salinity = {t["tank"]: t["_outflow"]["salinity"] for t in tanks}
        for x in description.get("loops", []):
            mean = x["water"]["temperature_c"]
            self.described[x["name"]] = mean, x["water"].get("peak_temperature_c", mean)
        self.grown = {t["name"]: season_days(t, self.season, self.temperatures) for t in description["tanks"]}
        parts = description["tanks"] + description.get("loops", [])
        pure = (any(a["kind"] == "oxygen" for part in parts for a in part.get("aeration", []))
                or any(x.get("supply_oxygen_percent", 0) > 100 for x in parts)
                or any(i.get("oxygen_percent", 0) > 100 or i.get("oxygen_mg_l", 0) > oxygen_saturation(
                    self.described[t["name"]][0], air_pressure_kpa(description["site"]), self.salinity[t["name"]])
                    for t in description["tanks"] for i in inflows_of(t))
                or any("current_cm_s" in t.get("water", {}) or sum(g["count"] > 0 for g in fish_groups(t, 10)) > 1
                       for t in description["tanks"]))
        self.judged = [self.judge(n, pure) for n in range(len(dates))]

    def peak(self, name, n, spell):
        date, t = self.temperatures[n]
        mean, peak = self.described[name]
        warmest = t + spell + self.season.get("daily_swing_c", peak - mean)
        if date[:7] == self.temperatures[0][0][:7]:  # in the month it starts no hour is cooler than the warmest described
            return max(warmest, peak)
        return warmest

    def water_of_day(self, part, n, spell):
        """Of a tank or a loop, without readings of today."""
        water = {key: value for key, value in part.get("water", {}).items() if key not in READINGS}
        if "fish" in part:
            water["alkalinity_mg_l"] = None  # nor that of its loop, which counts for the loop alone
        return {**water, "temperature_c": self.temperatures[n][1] + spell, "peak_temperature_c": self.peak(part["name"], n, spell)}

    def tank_of_day(self, tank, n, pace, spell):
        """With the fish (for the fastest the heaviest), water and feed of that day, and without readings of today."""
        t, name = self.temperatures[n][1] + spell, tank["name"]
        groups, days, _ = self.grown[name]
        fish = []
        for i, group in enumerate(groups):
            g = days[n]["paces"][pace][i]
            if pace == 2:
                g = {**g, "weight": max(fish[i]["weight"] for fish in days[n]["paces"])}
            fish.append({key: group[key] for key in ("species", "k", "respiration_factor")})
            fish[-1].update(count=g["count"], mean_weight_g=g["weight"])
            if pace == 2:
                fish[-1]["slow_g"] = days[n]["paces"][0][i]["weight"]
            if "ration_percent_day" in self.season:  # as if none was ready yet
                fish[-1]["ration_g_day"] = g["count"] * g["weight"] * self.season["ration_percent_day"] / 100
            elif self.season.get("ration") == "growth":
                fish[-1]["ration_g_day"] = g["count"] * a_day(group, g["weight"], thermal_units(group)[pace], t, self.season, True)[0]
        inflows = [dict(i) for i in inflows_of(tank)]
        for i in inflows:
            if "oxygen_mg_l" in i:
                now, then = (oxygen_saturation(x, air_pressure_kpa(self.d["site"]), self.salinity[name]) for x in (self.described[name][0], t))
                i["oxygen_mg_l"] *= min(1, then / now)
        return {**tank, "water": self.water_of_day(tank, n, spell), "fish": fish, **({"inflow": inflows if isinstance(tank["inflow"], list) else inflows[0]} if inflows else {})}

    def judge(self, n, pure):
        """What `budget` says of the worse of the day with the warm spell and without it: of fast growth, and of others."""
        worst_of = {}
        slow = any(g["weight"] < 1 for _, days, _ in self.grown.values() for g in days[n]["paces"][0])
        others = pure or slow or any(days[n]["by_own_weight"] for _, days, _ in self.grown.values())
        for pace in (2, 1, 0) if others else (2,):
            for spell in (self.spell, 0) if self.spell else (0,):
                one = assess_by({**self.d, "tanks": [self.tank_of_day(t, n, pace, spell) for t in self.d["tanks"]],
                                 "loops": [{**x, "water": self.water_of_day(x, n, spell)} for x in self.d.get("loops", [])]})
                for part in one["tanks"] + one["loops"]:
                    into = worst_of.setdefault(part.get("tank", part.get("loop")), {"checks": {}, "oxygen_lowest_mg_l": [], "reserve_min": []})
                    if "tank" in part:
                        into["oxygen_lowest_mg_l"].append(part["oxygen"]["lowest_mg_l"])
                        into["reserve_min"].append(part["oxygen_reserve"]["minutes_to_danger"])
                    for c in part["checks"]:
                        if c["check"] == "ration" and self.season.get("ration") == "growth":
                            continue
                        def rank(x):
                            spent = x["used_percent"] is None and x["check"] in SHARED and x["status"] in ("warn", "fail") and not x.get("_no_want")
                            return STATUSES.index(x["status"]), math.inf if spent else -1 if x["used_percent"] is None else x["used_percent"]
                        if c["check"] not in into["checks"] or rank(c) > rank(into["checks"][c["check"]]):
                            into["checks"][c["check"]] = c
        for into in worst_of.values():
            checks = list(into["checks"].values())
            first = first_limit(checks)
            into["_checks"] = into.pop("checks")
            into.update(oxygen_lowest_mg_l=least(*into["oxygen_lowest_mg_l"]), reserve_min=least(*into["reserve_min"]),
                        first_limit=first, verdict=worst(c["status"] for c in checks), used_percent=into["_checks"][first]["used_percent"])
        return worst_of

    def loop(self, name):
        days = [{"date": date, "peak_temperature_c": self.peak(name, n, self.spell), "mean_weight_high_g": None, **self.judged[n][name]}
                for n, (date, _) in enumerate(self.temperatures)]
        return {"loop": name, **firsts(days)}

    def tank(self, name):
        groups, grown, thinned = self.grown[name]
        days = []
        for n, ((date, t), day) in enumerate(zip(self.temperatures, grown)):
            kg = [total(fish, "weight") / 1000 for fish in day["paces"]]
            counts = [sum(g["count"] for g in fish) for fish in day["paces"]]
            mean = [1000 * x / count if count else None for x, count in zip(kg, counts)]
            days.append({"date": date, "temperature_c": t, "peak_temperature_c": self.peak(name, n, self.spell), "fish_count": counts[1],
                         "mean_weight_g": mean[1], "mean_weight_low_g": mean[0], "mean_weight_high_g": mean[2], "biomass_kg": kg[1],
                         "biomass_high_kg": max(kg + [sum(fast[-1]["count"] * max(g["weight"] for g in fast) for fast in zip(*day["paces"])) / 1000]), "ration_g_day": total(day["paces"][1], "ration"), **self.judged[n][name]})
        feeds = [sum(total(day["paces"][i], "ration") for day in grown) / 1000 for i in range(3)]
        months = {}
        for d in days:
            months[d["date"][:7]] = months.get(d["date"][:7], 0) + d["ration_g_day"] / 1000
        ready = [next((d["date"] for d, day in zip(days, grown) if day["ready"][i]), None) for i in range(3)]
        warm = [next(c for c in self.judged[n][name]["_checks"].values() if c["check"] == "temperature") for n in range(len(days))]
        limits = [(d["temperature_c"], d["peak_temperature_c"], c["warn"], c["fail"]) for d, c in zip(days, warm) if c["warn"]]
        return {"tank": name, "days": days, "gain_kg": sum(g["count"] * (g["next"] - g["weight"]) for day in grown for g in day["paces"][1]) / 1000,
                "days_warm": sum(x > warn[1] for _, x, warn, _ in limits), "days_too_warm": sum(x > fail for _, x, _, fail in limits),
                "days_cold": sum(t < warn[0] and x <= warn[1] for t, x, warn, _ in limits),
                "days_unfed": sum(d["ration_g_day"] == 0 and d["fish_count"] > 0 and not day["ready"][1] for d, day in zip(days, grown)),
                "feed_kg": feeds[1], "feed_low_kg": min(feeds), "feed_high_kg": max(feeds), "thinned": thinned,
                "feed_by_month": [{"month": m, "feed_kg": kg} for m, kg in months.items() if kg > 0],
                "harvest": dict(zip(("slow", "expected", "fast"), ready)), **firsts(days),
                "days_held_back": sum(any(g["held"] and g["count"] for g in day["paces"][2]) for day in grown), "supply": supply_of(days)}


def supply_of(days):
    """The day whose oxygen is used most, and whether it passes: the first of those on which it is used up."""
    def used(d):
        c = d["_checks"]["oxygen"]
        return math.inf if c["used_percent"] is None and not c["_no_want"] else c["used_percent"] or 0
    d = max(days, key=used)
    return {"date": d["date"], "oxygen_lowest_mg_l": d["oxygen_lowest_mg_l"], "passes": d["_checks"]["oxygen"]["status"] == "pass"}


def firsts(days):
    """The verdict of all days, and when and of what the first warning and failure are."""
    result = {"verdict": worst(d["verdict"] for d in days)}
    for status, those in (("warn", ("warn", "fail")), ("fail", ("fail",))):
        result["first_" + status] = next(({
            "date": d["date"], "check": name, "peak_temperature_c": d["peak_temperature_c"], "mean_weight_g": d["mean_weight_high_g"]}
            for d in days for name, c in d["_checks"].items() if c["status"] in those), None)
    result["unchecked"] = list(dict.fromkeys(name for d in days for name, c in d["_checks"].items() if c["status"] == "unchecked"))
    return result
