"""Courses of time, worked out a second time: `outage`, `haul` and `season`. See second.py, and README.md."""
import bisect
import datetime
import math

from second import (
    COEFFICIENTS, LIMITS, NH3_PER_N, SPECIES, air_pressure_kpa, assess_by, carbon_dioxide_by_ph, carbon_dioxide_of_air, check, excreted_feed,
    fasted_share, fish_groups, inflows_of, length_cm, minutes_to, over, oxygen_saturation, ph_by_carbon_dioxide,
    respiration, transfer, under, unionised_fraction, worst)

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
        nh3 = NH3_PER_N * max(
            max(n for _, _, _, n, _ in course) * unionised_fraction(trip["ph"], t, salinity, k),
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


def season_days(tank, season, temperatures):
    """Of a tank of one group, from its mean temperatures day by day: date, count, weights (slow, expected, fast), ration."""
    fcr, target = season.get("fcr", 1.2), season.get("target_weight_g", math.inf)
    (group,) = fish_groups({**tank, "feed": {}}, 10)
    count, weights = group["count"], [group["mean_weight_g"]] * 3
    survival = (1 - season.get("mortality_percent_month", 0) / 100) ** (12 / 365.25)
    days = []
    for date, temperature in temperatures:
        for thin in season.get("thinning", []):
            if thin["date"] == date and thin.get("tank", tank["name"]) == tank["name"]:
                if "count" in thin:
                    count = max(0, count - thin["count"])
                elif "share" in thin:
                    count *= 1 - thin["share"]
                else:
                    count = min(count, 1000 * thin["to_kg"] / max(weights))
        rations, grown = [], []
        for tgc, weight in zip(thermal_units(group), weights):
            reach = (weight ** (1 / 3) + tgc / 1000 * temperature * growth_response(group["species"], temperature)) ** 3
            if weight >= target:
                rations.append(0)
                grown.append(weight)
                continue
            one = fish_groups({"fish": [{"species": group["species"], "k": group["k"], "count": 1, "mean_weight_g": weight}], "volume_l": 1}, temperature)[0]
            percent = season.get("ration_percent_day", 100 * one["advised_g_day"] / weight)
            by_ration = weight * math.exp(percent / 100 / fcr)  # a ration of what they weigh as they grow through the day
            if season.get("ration") == "growth":
                by_ration = max(weight, reach)
            rations.append(fcr * (by_ration - weight))
            grown.append(min(reach, by_ration))
        days.append({"date": date, "fish_count": count, "mean_weight_g": weights[1], "mean_weight_low_g": weights[0],
                     "mean_weight_high_g": weights[2], "biomass_kg": count * weights[1] / 1000,
                     "biomass_high_kg": count * max(weights) / 1000, "ration_g_day": count * rations[1],
                     "_rations": [count * x for x in rations], "_ready": [w >= target for w in weights],
                     "_heaviest_g": max(weights)})
        weights, count = grown, count * survival
    return days


def wave_temperature(season, date):
    """A yearly wave about the mean, warmest on a day of the year."""
    month, day = map(int, season["warmest_day"].split("-"))
    warmest = datetime.date(2027, month, day).timetuple().tm_yday  # of a year without 29 February
    since = datetime.date.fromisoformat(date).timetuple().tm_yday - warmest
    return season["mean_c"] + season["amplitude_c"] * math.cos(2 * math.pi * since / 365.25)


def season_figures(tank, season, dates):
    if "monthly_mean_c" in season:
        of_day = month_temperatures(season["monthly_mean_c"], dates[0], dates[-1])
    else:
        of_day = lambda date: wave_temperature(season, date)
    temperatures = [(date, of_day(date)) for date in dates]
    days = season_days(tank, season, temperatures)
    feeds = [sum(d["_rations"][i] for d in days) / 1000 for i in range(3)]
    months = {}
    for d in days:
        months[d["date"][:7]] = months.get(d["date"][:7], 0) + d["ration_g_day"] / 1000
    ready = [next((d["date"] for d in days if d["_ready"][i]), None) for i in range(3)]
    spell = season.get("warm_spell_c", 2)
    water = tank["water"]
    described = water.get("peak_temperature_c", water["temperature_c"])
    swing = season.get("daily_swing_c", described - water["temperature_c"])
    for d, (date, t) in zip(days, temperatures):
        peak = t + spell + swing
        if date[:7] == dates[0][:7]:  # in the month it starts no hour is cooler than the warmest described
            peak = max(peak, described)
        d.update(temperature_c=t, peak_temperature_c=peak)
    return {"tank": tank["name"], "days": days, "feed_kg": feeds[1], "feed_low_kg": min(feeds), "feed_high_kg": max(feeds),
            "feed_by_month": [{"month": m, "feed_kg": kg} for m, kg in months.items()],
            "harvest": dict(zip(("slow", "expected", "fast"), ready))}


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


READINGS = ("oxygen_mg_l", "tan_mg_l", "carbon_dioxide_mg_l", "nitrite_mg_l", "nitrate_mg_l")


def judged_day(description, tank, season, day):
    """What `budget` says of that day: in its warmest hour, of the heaviest fish there may be, without readings of today."""
    water = {key: value for key, value in tank["water"].items() if key not in READINGS + ("alkalinity_mg_l",)}
    water.update(temperature_c=day["temperature_c"] + season.get("warm_spell_c", 2), peak_temperature_c=day["peak_temperature_c"])
    fish = {key: value for key, value in tank["fish"][0].items() if key not in ("total_kg", "mean_length_cm", "tgc", "tgc_x1000")}
    fish.update(count=day["fish_count"], mean_weight_g=day["_heaviest_g"])
    one = {**description, "tanks": [{**tank, "water": water, "fish": [fish]}]}
    result = assess_by(one)["tanks"][0]
    used = next(c["used_percent"] for c in result["checks"] if c["check"] == result["first_limit"])
    return {"oxygen_lowest_mg_l": result["oxygen"]["lowest_mg_l"], "reserve_min": result["oxygen_reserve"]["minutes_to_danger"],
            "verdict": result["verdict"], "first_limit": result["first_limit"], "used_percent": used}
