"""Loops of treated water, worked out a second time: see second.py, and README.md."""
import math

from second import (
    NH3_PER_N, at_least_0, aerator_doubts, assess_tank, carbon_dioxide_of_air, check, coefficient_doubts, deficits_left,
    excreted_feed, fall_carbon_dioxide, fall_oxygen, figures, first_limit, fish_groups, least, limits_of, most,
    nitrite_check, over, oxygen_saturation, salinity_of, share, transfer, under, unionised_fraction, worst)

LOOP_WATER = ("temperature_c", "peak_temperature_c", "ph", "alkalinity_mg_l", "nitrite_mg_l", "chloride_mg_l", "_salinity_of_salt")


def on_loop(tank, loop):
    """The tank with what its water leaves to the loop."""
    water = {key: loop["water"][key] for key in LOOP_WATER if key in loop["water"]}
    own = tank.get("water", {})
    if "temperature_c" in own:
        water.pop("peak_temperature_c", None)
    salt = max(part.get("_salinity_of_salt", 0) for part in (loop["water"], own))
    return {**tank, "water": {**water, **own, "_salinity_of_salt": salt}}


def root(f):
    """Where a straight line is 0."""
    return f(0) / (f(0) - f(1))


def filter_at_most(loop, temperature_c, k):
    """g/day of TAN that the filter would take if there were ever so much of it."""
    filter_ = loop.get("biofilter", {})
    maturity = filter_.get("maturity_percent", 100) / 100
    half, least = k["filter_half_saturation_mg_l"], k["filter_least_tan_mg_l"]
    if "removal_g_day" in filter_:
        return maturity * filter_["removal_g_day"] * (half + 1 - least) / (1 - least)
    per_m2 = max(0, k["nitrification_g_m2_day_degree"] * temperature_c - k["nitrification_lost_g_m2_day"])
    return maturity * filter_.get("media_area_m2", 0) * per_m2


def nitrified(tan, at_most, k):
    beyond = max(0, tan - k["filter_least_tan_mg_l"])
    return at_most * beyond / (k["filter_half_saturation_mg_l"] + beyond)


def loop_tan(made, at_most, exchange, makeup, k):
    """TAN of the supply at which filter and exchange take what is made; None where they never do.

    Beyond the least b the filter takes M b / (h + b): with what flows in and out a square of b."""
    if exchange == 0 and made >= at_most:
        return None if made > 0 else 0
    half, least_ = k["filter_half_saturation_mg_l"], k["filter_least_tan_mg_l"]
    new = makeup.get("tan_mg_l", 0)
    over_ = made - exchange * (least_ - new)  # what is left to take at the least
    if over_ <= 0:
        return new + made / exchange if exchange > 0 else 0
    if exchange == 0:
        return least_ + half * over_ / (at_most - over_)
    p = exchange * half + at_most - over_  # exchange b2 + p b = over_ half
    root_ = math.sqrt(p * p + 4 * exchange * over_ * half)
    return least_ + (2 * over_ * half / (p + root_) if p > 0 else (root_ - p) / (2 * exchange))


def bearable_share(tanks, q, site, k, warn, loop_tan_of):
    """Of the feed: as much as keeps the ammonia of the loop and of its tanks under the warn limits."""
    rooms = []
    for x in tanks:
        groups = fish_groups(x, x["water"]["temperature_c"])
        limits, _ = limits_of(site, x, groups)
        level = limits["tan_warn_mg_l"]
        if "ph" in x["water"]:
            water = x["water"]
            fraction = unionised_fraction(water["ph"], water.get("peak_temperature_c", water["temperature_c"]), salinity_of(water, site), k)
            level = min(level, limits["nh3_warn_mg_l"] / (fraction * NH3_PER_N))
        rooms.append((x, groups, level))

    def bears(share_):
        made = []
        for x, groups, _ in rooms:
            feed, kg = sum(g["ration_g_day"] for g in groups), sum(g["kg"] for g in groups)
            fed = [{**g, "ration_g_day": share_ * feed * g["kg"] / kg} for g in groups]  # a ration of the tank, by weight
            excreted = sum(excreted_feed(g, x.get("feed", {}).get("fasted_h"), k) for g in fed)
            protein = x.get("feed", {}).get("protein_percent", k["protein_percent"]) / 100
            made.append(max(excreted * protein * k["tan_per_protein_g_g"], k["tan_unfed_g_kg_day"] * sum(g["kg"] for g in groups)))
        tan = loop_tan_of(sum(made))
        return tan is not None and tan <= warn and all(
            tan + m / (24 * q[x["name"]]) <= level for m, (x, groups, level) in zip(made, rooms) if q[x["name"]] > 0)
    low, high = 0, 1
    if not bears(1e-9):
        return 0
    while bears(high) and high < 1e6:
        low, high = high, 2 * high
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if bears(middle) else (low, middle)
    return low


def assess_loop(loop, tanks, site, pressure, k):
    """The loop's figures and what it supplies: by name of its tanks."""
    water = loop["water"]
    t = water["temperature_c"]
    peak_c = water.get("peak_temperature_c", t)
    salinity = max(salinity_of(x["water"], site) for x in tanks)
    alone = {x["name"]: assess_tank(x, site, pressure, k, no_supply()) for x in tanks}  # production and demand, not oxygen
    q = {x["name"]: x["loop"]["flow_l_min"] * 60 / 1000 for x in tanks}
    q_all = sum(q.values())
    volume = sum(x["volume_l"] for x in tanks) / 1000
    feed = sum(alone[n]["ration_g_day"] for n in q)
    made = sum(alone[n]["ammonia"]["tan_production_g_day"] for n in q)
    makeup = loop.get("makeup", {})
    exchange = loop.get("exchange_l_day", 0) / 1000
    if exchange < 0.001 * volume:
        exchange = 0

    # ammonia
    at_most = filter_at_most(loop, t, k)
    tan = loop_tan(made, at_most, exchange, makeup, k)
    steady = tan is not None
    taken = nitrified(tan, at_most, k) if steady else at_most

    # oxygen and carbon dioxide round the loop
    supplies = {}
    oxygen = {}
    for when, temperature in (("oxygen", t), ("oxygen_peak", peak_c)):
        oxygen[when] = loop_oxygen(loop, tanks, q, alone, when, temperature, salinity, site, pressure, k,
                                   (taken * k["filter_oxygen_per_tan_g_g"] + feed * k["filter_oxygen_per_feed_g_g"]) / 24)
    pure = sum(transfer(x.get("aeration", []), t, k)[2] for x in [loop] + tanks)
    needed = sum(alone[n]["oxygen"]["demand_peak_g_h"] for n in q) + (
        taken * k["filter_oxygen_per_tan_g_g"] + feed * k["filter_oxygen_per_feed_g_g"]) / 24
    oxygen["ends_in_nothing"] = ends_in_nothing = pure < needed
    co2 = loop_carbon_dioxide(loop, tanks, q, alone, peak_c, pressure, k,
                              (taken * k["filter_carbon_dioxide_per_tan_g_g"] + feed * k["filter_carbon_dioxide_per_feed_g_g"]) / 24)
    for x in tanks:
        xt = x["water"]["temperature_c"]
        xpeak = x["water"].get("peak_temperature_c", xt)
        falls = x.get("aeration", [])
        xs = salinity_of(x["water"], site)
        supplies[x["name"]] = {
            "q": q[x["name"]], "tan": tan, "kept_q": 0, "co2_known": True, "chlorine": None, "of_loop": True,
            "oxygen": None if oxygen["oxygen"] is None else fall_oxygen(
                oxygen["oxygen"], oxygen_saturation(xt, pressure, xs), deficits_left(falls, xt, k)),
            "oxygen_peak": None if oxygen["oxygen"] is None else fall_oxygen(
                oxygen["oxygen_peak"], oxygen_saturation(xpeak, pressure, xs), deficits_left(falls, xpeak, k)),
            "ends_in_nothing": ends_in_nothing, "co2_endless": co2 is None,
            "co2": None if co2 is None else fall_carbon_dioxide(
                co2, carbon_dioxide_of_air(xpeak, pressure, k), deficits_left(falls, xpeak, k), k)}

    # nitrate and alkalinity
    plants = loop.get("plants")
    by_plants = plants["bed_area_m2"] * k[plants["crop"] + "_nitrate_g_m2_day"] if plants else 0
    to_nitrate = k["nitrate_per_tan_g_g"] * taken
    by_plants = min(by_plants, to_nitrate + exchange * makeup.get("nitrate_mg_l", 0))
    nitrate = rise = days = None
    limits, own = limits_of(site, loop, [])
    if exchange > 0:
        nitrate = max(0, (to_nitrate + exchange * makeup.get("nitrate_mg_l", 0) - by_plants) / exchange)
    else:
        rise = (to_nitrate - by_plants) / volume
        days = max(0, limits["nitrate_warn_mg_l"] - water.get("nitrate_mg_l", 0)) / rise if rise > 0 else None
    used = k["alkalinity_per_tan_g_g"] * taken
    held = water.get("alkalinity_mg_l", k["alkalinity_assumed_mg_l"])
    dose = max(0, used - k["alkalinity_per_nitrate_g_g"] * by_plants - exchange * (makeup.get("alkalinity_mg_l", 0) - held))

    result = {
        "loop": loop["name"], "supply_tan_mg_l": tan, "return_tan_mg_l": tan + made / (24 * q_all) if steady and q_all > 0 else None,
        "supply_oxygen_mg_l": at_least_0(oxygen["oxygen"]), "supply_oxygen_peak_mg_l": at_least_0(oxygen["oxygen_peak"]),
        "supply_carbon_dioxide_mg_l": co2, "nitrate_mg_l": nitrate, "nitrate_rise_mg_l_day": rise, "nitrate_days_to_warn": days,
        "tan_production_g_day": made, "nitrified_g_day": taken,
        "exchanged_g_day": exchange * (tan - makeup.get("tan_mg_l", 0)) if steady else 0,
        "plants_g_day": by_plants, "alkalinity_demand_g_day": used, "alkalinity_dose_g_day": dose,
        "solids_g_day": k["solids_per_feed_g_g"] * feed, "feed_g_day": feed, "feed_bearable_g_day": None, "feed_careful_g_day": None,
    }
    checks = loop_checks(loop, tanks, alone, q, result, limits, oxygen, feed, site, k, days)
    if checks[0]["status"] != "pass" and feed > 0:
        share_ = bearable_share(tanks, q, site, k, limits["tan_warn_mg_l"], lambda made_: loop_tan(made_, at_most, exchange, makeup, k))
        result["feed_bearable_g_day"] = share_ * feed
        maturity = loop.get("biofilter", {}).get("maturity_percent", 100)
        if t < 8 or maturity < 30:
            result["feed_careful_g_day"] = k["careful_feed_share"] * share_ * feed
    result.update(checks=checks, verdict=worst(c["status"] for c in checks), first_limit=first_limit(checks))
    return result, supplies


def no_supply():
    return {"q": 0, "oxygen": 0, "oxygen_peak": 0, "tan": 0, "co2": None, "co2_known": True, "kept_q": 0, "chlorine": None}


def loop_oxygen(loop, tanks, q, alone, when, temperature, salinity, site, pressure, k, by_filter):
    """What the vessel sends round, mg/L: what comes back, its own air, less what the filter takes."""
    saturation = oxygen_saturation(temperature, pressure, salinity)
    if "supply_oxygen_percent" in loop:  # measured
        return loop["supply_oxygen_percent"] / 100 * saturation
    q_all = sum(q.values())
    kla, kb, pure, _ = transfer(loop.get("aeration", []), temperature, k)
    falls = deficits_left(loop.get("aeration", []), temperature, k)
    rooms = []
    for x in tanks:
        xt = x["water"]["temperature_c"]
        if when == "oxygen_peak":
            xt = x["water"].get("peak_temperature_c", xt)
        cs = oxygen_saturation(xt, pressure, salinity_of(x["water"], site))
        a = transfer(x.get("aeration", []), xt, k)
        r = alone[x["name"]]["oxygen"]["demand_mean_g_h" if when == "oxygen" else "demand_peak_g_h"]
        rooms.append((q[x["name"]], a[0], a[1] * cs + a[2] - r, cs, deficits_left(x.get("aeration", []), xt, k)))

    def gain(sent):
        back = sum(qi * (qi * fall_oxygen(sent, cs, left) + brings) / (qi + ki) for qi, ki, brings, cs, left in rooms if qi > 0)
        back = fall_oxygen(back / q_all, saturation, falls) if q_all > 0 else 0  # below 0 in want: no oxygen from nowhere
        return (q_all * back + kb * saturation + pure - by_filter) / (q_all + kla) - sent
    if kla == 0 and not falls and all(room[1] == 0 and not room[4] for room in rooms):
        return None
    return root(gain)


def loop_carbon_dioxide(loop, tanks, q, alone, temperature, pressure, k, by_filter):
    of_air = carbon_dioxide_of_air(temperature, pressure, k)
    q_all = sum(q.values())
    strip = transfer(loop.get("aeration", []), temperature, k)[3]
    falls = deficits_left(loop.get("aeration", []), temperature, k)
    left = 1 - loop.get("degasser_percent", 0) / 100
    if q_all + strip == 0:
        return None
    rooms = []
    for x in tanks:
        xt = x["water"].get("peak_temperature_c", x["water"]["temperature_c"])
        air = carbon_dioxide_of_air(xt, pressure, k)
        s = transfer(x.get("aeration", []), xt, k)[3]
        made = k["carbon_dioxide_per_oxygen_g_g"] * alone[x["name"]]["oxygen"]["demand_peak_g_h"]
        rooms.append((q[x["name"]], s, air, made, deficits_left(x.get("aeration", []), xt, k)))

    def gain(sent):
        back = sum(qi * (qi * fall_carbon_dioxide(sent, air, left_, k) + s * air + made) / (qi + s) for qi, s, air, made, left_ in rooms if qi > 0)
        back = fall_carbon_dioxide(back / q_all, of_air, falls, k)
        inside = (q_all * back + strip * of_air + by_filter) / (q_all + strip)
        return of_air + left * (inside - of_air) - sent
    if left == 1 and strip == 0 and not falls and all(s == 0 and not left_ for _, s, _, _, left_ in rooms):
        return None
    return root(gain)


def loop_flow_check(tanks, alone, q, site):
    """What a tank adds to the water, against its own limits of TAN and NH3: of the tank that comes nearest."""
    best = check("loop_flow", None, None, None, "unchecked")
    for x in tanks:
        if q[x["name"]] == 0:
            continue
        result = alone[x["name"]]
        groups = fish_groups(x, x["water"]["temperature_c"])
        limits, _ = limits_of(site, x, groups)
        rise = result["ammonia"]["tan_production_g_day"] / (24 * q[x["name"]])
        levels = []
        for which in ("warn", "fail"):
            levels.append(limits["tan_%s_mg_l" % which])
            if result["ammonia"]["unionised_fraction"] is not None:
                nh3 = limits["nh3_%s_mg_l" % which] / (result["ammonia"]["unionised_fraction"] * NH3_PER_N)
                levels[-1] = min(levels[-1], nh3)
        c = check("loop_flow", rise, *levels, over(rise, *levels), share(rise, levels[0]))
        if best["value"] is None or c["used_percent"] > best["used_percent"]:
            best = c
    return best


def loop_checks(loop, tanks, alone, q, figures, limits, oxygen, feed, site, k, days):
    water = loop["water"]
    checks = []
    tan = figures["supply_tan_mg_l"]
    because = []
    warn, fail = limits["tan_warn_mg_l"], limits["tan_fail_mg_l"]
    if tan is None:
        because.append(("rises_without_end", "fail", None, None))
    maturity = loop.get("biofilter", {}).get("maturity_percent", 100)
    if maturity < 100:
        because.append(("filter_age", "warn", maturity, 100))
    if water["temperature_c"] < 8:
        because.append(("filter_cold", "warn", water["temperature_c"], 8))
    least = at_least_0(oxygen["oxygen_peak"])
    if oxygen["ends_in_nothing"] if least is None else least < 2:
        because.append(("filter_starved", "fail", least, 2))
    status = worst([over(tan, warn, fail) if tan is not None else "fail"] + [b[1] for b in because])
    checks.append(check("biofilter", tan, warn, fail, status, share(tan, warn), because))
    checks.append(loop_flow_check(tanks, alone, q, site))
    if "nitrite_mg_l" in water:
        c = nitrite_check(water)
        c["used_percent"] = share(c["value"], c["warn"])
        checks.append(c)
    else:
        checks.append(check("nitrite", None, None, None, "unchecked"))
    warn = limits["nitrate_warn_mg_l"]
    value = max((x for x in (figures["nitrate_mg_l"], water.get("nitrate_mg_l")) if x is not None), default=None)
    because = [("days_to_warn", "warn", days, 14)] if days is not None and days < 14 else []
    status = worst([over(value, warn) if value is not None else "unchecked"] + [b[1] for b in because])
    used = max(share(value, warn) or 0, 100 * 14 / days if days else 0)
    checks.append(check("nitrate", value, warn, None, status, None if days == 0 or value is None and not because else used, because))
    warn, fail = limits["alkalinity_warn_mg_l"], limits["alkalinity_fail_mg_l"]
    value = water.get("alkalinity_mg_l")
    status = under(value, warn, fail) if value is not None else "unchecked"
    checks.append(check("alkalinity", value, warn, fail, status, 100 * warn / value if value else None))
    if "plants" in loop:
        least, most = {"leafy": (40, 50), "fruiting": (50, 80)}[loop["plants"]["crop"]]
        protein = sum(alone[x["name"]]["ration_g_day"] * x.get("feed", {}).get("protein_percent", k["protein_percent"]) for x in tanks) / feed if feed else k["protein_percent"]
        value = feed / loop["plants"]["bed_area_m2"]
        warn = [least * 32 / protein, most * 32 / protein]
        checks.append(check("plants", value, warn, None, worst([under(value, warn[0]), over(value, warn[1])])))
    chlorine = loop.get("makeup", {}).get("chlorine_mg_l")
    if chlorine is not None:
        checks.append(check("chlorine", chlorine, 0.003, 0.011, over(chlorine, 0.003, 0.011), share(chlorine, 0.003)))
    slips = coefficient_doubts(k["doubted"], True) + aerator_doubts(loop.get("aeration", []), k)
    if slips:
        checks.append(check("input_doubt", slips, 0, None, "warn"))
    return checks
