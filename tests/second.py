"""A second, independent working of the figures that `coldtank budget --format json` prints.

It was written from README.md, `coldtank sources` and the publications they name, not from the C++ code. Where these
left a rule open it was found by asking the program, and README.md has it since ("How the figures come together"). It serves
only to be compared with it (water, fish and aerators in second_water.py, loops in second_loops.py, power cuts, trips and seasons in second_time.py,
the drawing and the comparison in second_cases.py):

    python3 tests/second.py build/coldtank . 2000 7     # 2000 drawn descriptions, seed 7

Units as in the report: mg/L is g/m3, Q and K are m3/h, demand g/h. None is what is not known ("null").
"""
import math
import sys

from second_water import *

# -- time ------------------------------------------------------------------------------------------------

def minutes_to(level, start, water_m3, q, c_in, kla, kbcs, g, r):
    """Until V' dC/dt = Q (Cin - C) + K (beta Cs - C) + G - R has brought the oxygen to a level; None is never."""
    if start <= level:
        return 0
    if q + kla == 0:
        return 60 * water_m3 * (start - level) / (r - g) if r > g else None
    steady = (q * c_in + kbcs + g - r) / (q + kla)
    if steady >= level:
        return None
    return 60 * water_m3 / (q + kla) * math.log((start - steady) / (level - steady))


# -- checks ----------------------------------------------------------------------------------------------

def check(name, value, warn, fail, status, used=None, because=()):
    return {"check": name, "status": status, "value": value, "warn": warn, "fail": fail, "used_percent": used,
            "because": [dict(zip(("reason", "status", "value", "limit"), b)) for b in because]}


def worst(statuses):
    return max(statuses, key=STATUSES.index, default="pass")


def over(value, warn, fail=None):
    """Status of what must not be over its limits."""
    if fail is not None and value > fail:
        return "fail"
    return "warn" if warn is not None and value > warn else "pass"


def under(value, warn, fail=None):
    if fail is not None and value < fail:
        return "fail"
    return "warn" if value < warn else "pass"


def share(value, limit):
    """Percent of a limit that is used; None where there is no limit to use."""
    if value is None or not limit or limit <= 0:
        return None
    return 100 * value / limit


def nitrite_limits(chloride):
    for least, maximum, mean in NITRITE_BY_CHLORIDE:
        if chloride >= least:
            return min(mean, max(0.02, 0.006 * chloride)), maximum


def nitrite_check(water):
    warn, fail = nitrite_limits(water.get("chloride_mg_l", 0))
    return check("nitrite", water["nitrite_mg_l"], warn, fail, over(water["nitrite_mg_l"], warn, fail))


def gathering(name, value, warn, fail, hours_to_warn, hours_to_fail, endless=()):
    """A check of what only gathers: its limit within 72 h warns, within 24 h fails."""
    because = list(endless)
    if endless:
        return check(name, None, warn, fail, "fail", None, because)
    if hours_to_warn is not None and hours_to_warn < 72:
        because.append(("hours_to_warn", "warn", hours_to_warn, 72))
    if hours_to_fail is not None and hours_to_fail < 24:
        because.append(("hours_to_fail", "fail", hours_to_fail, 24))
    status = worst([b[1] for b in because] + [over(value, warn, fail) if value is not None else "pass"])
    used = [share(value, warn)] if value is not None else []
    if hours_to_warn:
        used.append(100 * 72 / hours_to_warn)
    used = max((u for u in used if u is not None), default=None)
    return check(name, value, warn, fail, status, used if hours_to_warn != 0 else None, because)


# -- a tank ----------------------------------------------------------------------------------------------

def salinity_of(water, site):
    """Its own; else the larger of that of what flows in (of a row) or the site's, and of the salt that was put in."""
    if "salinity_g_kg" in water:
        return water["salinity_g_kg"]
    return max(water.get("_salinity_of_inflow", site.get("salinity_g_kg", 0)), water.get("_salinity_of_salt", 0))


def at_least_0(x):
    return None if x is None else max(0, x)


def least(*values):
    return min((x for x in values if x is not None), default=None)


def most(*values):
    return max((x for x in values if x is not None), default=None)


def outage_start(lowest, measured, saturation):
    """What the power cut starts from; a reading far over saturation is not believed."""
    believed = measured if measured is not None and measured <= 1.25 * saturation else None
    doubted = measured is not None and believed is None
    if believed is not None and (lowest is None or believed <= lowest):
        return {"start": believed, "from": "measured", "unchecked": False}
    if lowest is not None:
        return {"start": min(lowest, saturation), "from": "predicted", "unchecked": doubted}
    return {"start": saturation, "from": "saturation", "unchecked": True}


def limits_of(site, tank, groups):
    limits = dict(LIMITS)
    if any(g["mean_weight_g"] < EARLY_LIFE_G for g in groups):
        limits.update(EARLY_LIFE)
    own = {**site.get("limits", {}), **tank.get("limits", {})}
    limits.update(own)
    for name, beyond in (("nh3", max), ("oxygen", min)):  # of early life: never a failure before the user's own warning
        warn, fail = "%s_warn_mg_l" % name, "%s_fail_mg_l" % name
        limits[fail] = beyond(limits[fail], limits[warn])
    return limits, own


def assess_tank(tank, site, pressure, k, supply):
    """supply: q m3/h, oxygen and oxygen_peak (after the falls), tan, co2 (after the falls, None unknown), chlorine."""
    water = tank["water"]
    temperature = water["temperature_c"]
    peak_c = water.get("peak_temperature_c", temperature)
    salinity = salinity_of(water, site)
    saturation = oxygen_saturation(temperature, pressure, salinity)
    saturation_peak = oxygen_saturation(peak_c, pressure, salinity)
    groups = fish_groups(tank, temperature)
    limits, own = limits_of(site, tank, groups)
    feed = tank.get("feed", {})
    per_feed = feed.get("oxygen_per_feed_g_kg", k["oxygen_per_feed_g_kg"])
    peak_factor = feed.get("peak_factor", k["peak_factor"])
    protein = feed.get("protein_percent", k["protein_percent"])
    volume = tank["volume_l"] / 1000
    kg = sum(g["kg"] for g in groups)
    ration = sum(g["ration_g_day"] for g in groups)
    q = supply["q"]

    # oxygen
    aerators = tank.get("aeration", [])
    kla, kb, pure, _ = transfer(aerators, temperature, k)
    kla_peak, kb_peak, _, strip = transfer(aerators, peak_c, k)
    by_respiration = sum(respiration_of_ration(g, temperature, k) * g["kg"] / 1000 for g in groups)
    by_feed = sum(oxygen_by_feed(g["ration_g_day"], per_feed) for g in groups)
    demand = [sum(max(respiration_of_ration(g, t, k) * g["kg"] / 1000, oxygen_by_feed(g["ration_g_day"], per_feed))
                  for g in groups) for t in (temperature, peak_c)]
    demand_mean, demand_peak = demand[0], peak_factor * demand[1]
    warn_at = max(limits["oxygen_warn_mg_l"], limits["oxygen_warn_percent"] / 100 * saturation)
    mean = lowest = None
    flows_on = [None, None]  # below 0 in want, so that no tank below gets oxygen from nowhere
    unsolved = supply["oxygen"] is None  # a loop without any aerator
    if q + kla > 0 and not unsolved:
        flows_on = [(q * supply["oxygen"] + kb * saturation + pure - demand_mean) / (q + kla),
                    (q * supply["oxygen_peak"] + kb_peak * saturation_peak + pure - demand_peak) / (q + kla_peak)]
        mean, lowest = (max(0, x) for x in flows_on)
    gain = q * ((supply["oxygen_peak"] or 0) - warn_at) + kb_peak * saturation_peak - kla_peak * warn_at + pure
    gain = gain if abs(gain) > 1e-12 * (q + kla_peak) * warn_at else 0  # a difference: what is left of it is rounding
    measured = water.get("oxygen_mg_l")
    oxygen = {
        "saturation_mg_l": saturation, "inflow_mg_l": at_least_0(supply["oxygen"]) if q > 0 else None,
        "demand_by_respiration_g_h": by_respiration, "demand_by_feed_g_h": by_feed, "demand_mean_g_h": demand_mean,
        "demand_peak_g_h": demand_peak, "supply_g_h": None if unsolved else gain, "steady_mean_mg_l": mean, "lowest_mg_l": lowest,
        "measured_mg_l": measured,
    }
    if measured is not None and mean is not None and groups:
        oxygen["gap"] = BEYOND if "of_loop" in supply else None  # a search over the whole loop: not worked out here
    if oxygen.get("gap", BEYOND) is not BEYOND:
        oxygen["gap"] = oxygen_gap(measured, mean, tank["volume_l"], groups, q, supply["oxygen"], kla, kb * saturation,
                                   pure, demand_mean, temperature, per_feed, k)
    checks = [oxygen_check(lowest, measured, warn_at, limits["oxygen_fail_mg_l"], demand_peak, gain, groups)]
    if unsolved:
        checks = [unsolved_oxygen_check(measured, warn_at, limits["oxygen_fail_mg_l"], supply["ends_in_nothing"])]
        checks[0]["_no_want"] = not groups or not supply["ends_in_nothing"]
    oxygen["used_percent"] = checks[0]["used_percent"]

    # reserve
    stopped, at_start = 0, least(lowest, measured, saturation_peak)
    reserve = {"minutes_to_stress": None, "minutes_to_danger": None,
               "flow_continues": {"minutes_to_stress": None, "minutes_to_danger": None},
               "start_mg_l": None, "start_assumed": False, "demand_g_h": None}
    if groups:
        predicted = 0 if unsolved and supply["ends_in_nothing"] else lowest
        known = [x for x in (predicted, measured) if x is not None]
        start = min(known + [saturation_peak])
        beside = (tank["volume_l"] - k["fish_displacement_l_kg"] * kg) / 1000
        stopped = peak_factor * demand_when_all_stops(groups, peak_c, per_feed, fasted_share(feed.get("fasted_h"), k), k)
        stress, danger = limits["reserve_stress_mg_l"], limits["reserve_danger_mg_l"]
        minutes = [minutes_to(x, start, beside, 0, 0, 0, 0, 0, stopped) for x in (stress, danger)]
        flowing = [None, None]
        if q > 0 and "of_loop" not in supply:
            flowing = [minutes_to(x, start, beside, q, supply["outage_oxygen"], 0, 0, 0, stopped) for x in (stress, danger)]
        reserve = {"minutes_to_stress": minutes[0], "minutes_to_danger": minutes[1],
                   "flow_continues": dict(zip(("minutes_to_stress", "minutes_to_danger"), flowing)),
                   "start_mg_l": start, "start_assumed": not known, "demand_g_h": stopped}
        judged = minutes[1]
        if supply["kept_q"] > 0:
            judged = minutes_to(danger, start, beside, supply["kept_q"], supply["kept_oxygen"], 0, 0, 0, stopped)
        checks.append(reserve_check(judged, limits["response_time_min"], start, not known, checks[0]))

    # ammonia
    ph = water.get("ph")
    tan_g_day = max(sum(excreted_feed(g, feed.get("fasted_h"), k) for g in groups) * protein / 100
                    * k["tan_per_protein_g_g"], k["tan_unfed_g_kg_day"] * kg)
    fraction = unionised_fraction(ph, peak_c, salinity, k) if ph is not None else None
    tan = supply["tan"] + tan_g_day / (24 * q) if q > 0 and supply["tan"] is not None else None
    nh3 = tan * fraction * NH3_PER_N if tan is not None and fraction is not None else None
    measured_tan = water.get("tan_mg_l")
    measured_nh3 = measured_tan * fraction * NH3_PER_N if measured_tan is not None and fraction is not None else None
    hours = {}
    if q == 0 and groups:
        for name, factor in (("tan", 1), ("nh3", fraction and fraction * NH3_PER_N)):
            for which in ("warn", "fail"):
                level = limits["%s_%s_mg_l" % (name, which)]
                hours[name, which] = None if factor is None else max(
                    0, 24 * beside * (level / factor - (measured_tan or 0)) / tan_g_day)
    ammonia = {
        "tan_production_g_day": tan_g_day, "tan_mg_l": tan, "measured_tan_mg_l": measured_tan,
        "unionised_fraction": fraction, "nh3_mg_l": nh3, "measured_nh3_mg_l": measured_nh3,
        "hours_to_warn": min((h for (_, w), h in hours.items() if w == "warn" and h is not None), default=None),
        "hours_to_fail": min((h for (_, w), h in hours.items() if w == "fail" and h is not None), default=None),
    }
    endless = [("rises_without_end", "fail", None, None)] if supply["tan"] is None else []
    if groups:
        value = max((x for x in (nh3, measured_nh3) if x is not None), default=None)
        if fraction is None and not endless:
            checks.append(check("ammonia", None, limits["nh3_warn_mg_l"], limits["nh3_fail_mg_l"], "unchecked"))
        else:
            checks.append(gathering("ammonia", value, limits["nh3_warn_mg_l"], limits["nh3_fail_mg_l"],
                                    hours.get(("nh3", "warn")), hours.get(("nh3", "fail")), endless))
        value = max((x for x in (tan, measured_tan) if x is not None), default=None)
        checks.append(gathering("total_ammonia", value, limits["tan_warn_mg_l"], limits["tan_fail_mg_l"],
                                hours.get(("tan", "warn")), hours.get(("tan", "fail")), endless))

    # carbon dioxide
    of_air = carbon_dioxide_of_air(peak_c, pressure, k)
    per_oxygen = k["carbon_dioxide_per_oxygen_g_g"]
    alkalinity = water.get("alkalinity_mg_l")
    balance = None
    if q + strip > 0:
        balance = None if supply.get("co2_endless") else (q * (supply["co2"] or 0) + strip * of_air + per_oxygen * demand_peak) / (q + strip)
    judged = balance is not None and supply["co2_known"]
    from_ph = low_ph = high_ph = None
    if ph is not None and alkalinity is not None:
        from_ph = carbon_dioxide_by_ph(ph, alkalinity, temperature)
        low_ph, high_ph = from_ph / 1.26, from_ph * 1.26  # a pH meter good to 0.1
    carbon = {
        "production_g_day": 24 * per_oxygen * demand_mean, "balance_mg_l": balance, "from_ph_mg_l": from_ph,
        "measured_mg_l": water.get("carbon_dioxide_mg_l"), "balance_judged": judged,
        "estimated_ph": None if balance is None or alkalinity is None else
        ph_by_carbon_dioxide(balance, alkalinity, peak_c),
        "from_ph_low_mg_l": low_ph, "from_ph_high_mg_l": high_ph,
    }
    checks.append(carbon_dioxide_check(carbon, ph, limits, q, strip, beside if groups else volume, per_oxygen * demand_peak)
                  if not supply.get("co2_endless") else check(
                      "carbon_dioxide", None, limits["carbon_dioxide_warn_mg_l"], limits["carbon_dioxide_fail_mg_l"], "fail", None,
                      [("rises_without_end", "fail", None, None)]))

    checks += water_and_space_checks(tank, water, groups, limits, own, temperature, peak_c, kg, volume, q, supply,
                                     saturation, pure, kla, kb, demand_mean, salinity, k)
    slips = input_doubts(tank, groups, water, supply, carbon, tan, q / volume, saturation, of_air, k)
    if slips:
        checks.append(check("input_doubt", slips, 0, None, "warn"))
    result = {
        "tank": tank["name"], "verdict": worst(c["status"] for c in checks), "first_limit": first_limit(checks), "fish_count": sum(g["count"] for g in groups), "biomass_kg": kg,
        "density_kg_m3": kg / volume, "ration_g_day": ration, "advised_ration_g_day": sum(g["advised_g_day"] for g in groups),
        "oxygen": oxygen, "oxygen_reserve": reserve, "ammonia": ammonia, "carbon_dioxide": carbon,
        "solids_g_day": k["solids_per_feed_g_g"] * ration, "checks": checks,
    }
    result.update(_temperature_c=temperature, _peak_c=peak_c)
    result["_outflow"] = {
        "oxygen": least(flows_on[0], measured), "oxygen_peak": least(flows_on[1], measured), "tan": most(tan, measured_tan),
        "co2": most(balance, carbon["measured_mg_l"], from_ph if ph is not None and ph <= 9 else None), 
        "co2_known": judged or from_ph is not None and ph <= 9 or carbon["measured_mg_l"] is not None,
        "temperature": temperature, "peak": peak_c, "chlorine": supply.get("chlorine"), "salinity": salinity,
        "resting": most(measured, (q * supply.get("resting", supply["oxygen"] or 0) + kb * saturation + pure
                                   - k["resting_share"] * demand_mean) / (q + kla) if q + kla > 0 else None),
        "outage": max(0, min(at_start, supply["outage_oxygen"] - stopped / q)) if q > 0 and "outage_oxygen" in supply else None,
        "kept_share": supply["kept_q"] / q if q > 0 else 0,
        "kept": max(0, min(at_start, supply["kept_oxygen"] - stopped / supply["kept_q"])) if supply["kept_q"] > 0 else None}
    steady = supply["kept_oxygen"] - stopped / supply["kept_q"] if supply["kept_q"] > 0 else None
    by_reading = outage_start(lowest, measured, saturation_peak)["from"] == "measured"
    result["_water_doubted"] = by_reading and measured < warn_at and steady is not None and not (
        limits["oxygen_fail_mg_l"] <= steady <= measured + 0.2)  # what a meter may be off
    if groups:
        result["_outage"] = {
            "read_on_dead_loop": unsolved and supply["ends_in_nothing"] and measured is not None, "measured": measured, "water_m3": beside, **outage_start(predicted, measured, saturation_peak), "demand": stopped, "q": q if "of_loop" not in supply else 0,
            "oxygen": supply.get("outage_oxygen"), "kept_q": supply["kept_q"], "kept_oxygen": supply.get("kept_oxygen", 0),
            "kla": kla_peak, "kbcs": kb_peak * saturation_peak, "pure": pure, "limits": limits, "warn_at": warn_at,
            "peak": peak_c, "saturation": saturation_peak}
    if supply.get("inflow"):
        result["inflow"] = supply["inflow"]
    return result


BEYOND = object()  # what is not worked out: nobody has 500 times the fish, and the program's search ends somewhere


def oxygen_gap(measured, mean, volume_l, groups, q, c_in, kla, kbcs, pure, demand, temperature, per_feed, k):
    """What alone would explain the measured oxygen: README, "Every night". None where nothing would."""
    air = kbcs + pure - kla * measured
    needed = q * (c_in - measured) + air
    kg = sum(g["kg"] for g in groups)
    gap = {"difference_mg_l": measured - mean, "without_aeration_mg_l": max(0, c_in - demand / q) if q > 0 else None}
    gap["fish_count"] = sum(g["count"] for g in groups) * needed / demand
    if not 0 < kg * needed / demand / volume_l <= 0.25:  # more than 0.25 kg/L is an error of writing
        gap["fish_count"] = None if abs(needed) > 1e-9 * demand else BEYOND
    gap["aeration_percent"] = 100 * (demand - q * (c_in - measured)) / air if air != 0 and kla + pure > 0 else None
    gap["flow_percent"] = 100 * (demand - air) / (q * (c_in - measured)) if q * (c_in - measured) != 0 else None
    for key, one in (("aeration_percent", 100), ("flow_percent", 100), ("fish_count", sum(g["count"] for g in groups))):
        if gap[key] is not None and gap[key] is not BEYOND and not one / 500 < gap[key] < 500 * one:
            gap[key] = BEYOND if gap[key] > 0 else None
    gap["respiration_factor"] = respiration_factor_for(needed, groups, temperature, per_feed, k)
    return gap


def respiration_factor_for(needed, groups, temperature, per_feed, k):
    """The factor of all groups by which they breathe so many g/h; None where none of 0.1 to 10 does."""
    def demand(factor):
        return sum(max(factor * respiration_of_ration({**g, "respiration_factor": 1}, temperature, k) * g["kg"] / 1000,
                       oxygen_by_feed(g["ration_g_day"], per_feed)) for g in groups)
    low, high = 0.1, 10
    if len({g["respiration_factor"] for g in groups}) > 1:
        return None
    if not demand(low) < needed <= demand(high):
        return None
    for _ in range(100):
        middle = (low + high) / 2
        low, high = (middle, high) if demand(middle) < needed else (low, middle)
    return high


def oxygen_check(lowest, measured, warn, fail, demand, supply, groups):
    value = min((x for x in (lowest, measured) if x is not None), default=None)
    status, because = under(value, warn, fail) if value is not None else "pass", []
    if lowest is None and demand > supply and status != "fail":
        status, because = "fail", [("demand_over_supply", "fail", demand, supply)]
    if value is None and not groups and supply == 0:
        status = "unchecked"
    result = check("oxygen", value, warn, fail, status, share(demand, supply), because)
    result["_no_want"] = demand == 0
    return result


def unsolved_oxygen_check(measured, warn, fail, ends_in_nothing):
    """On a loop without any aerator, which only pure oxygen may feed."""
    because = [("rises_without_end", "fail", None, None)] if ends_in_nothing else []
    status = under(measured, warn, fail) if measured is not None else "unchecked"
    return check("oxygen", measured, warn, fail, worst([status] + [b[1] for b in because]), None, because)


def reserve_check(value, warn, start, assumed, oxygen):
    used = 0 if value is None else 100 * warn / value if value > 0 else None
    status = under(value, warn, warn / 2) if value is not None else "pass"
    because = []
    if assumed and oxygen["status"] == "unchecked":
        return check("oxygen_reserve", None, warn, warn / 2, "unchecked")
    if assumed and oxygen["status"] == "fail":
        status = "fail"
        because = [("as_oxygen", status, start, None)]
    return check("oxygen_reserve", value, warn, warn / 2, status, used, because)


def carbon_dioxide_check(carbon, ph, limits, q, strip, water_m3, production):
    warn, fail = limits["carbon_dioxide_warn_mg_l"], limits["carbon_dioxide_fail_mg_l"]
    values = [carbon["measured_mg_l"], carbon["from_ph_mg_l"] if ph is not None and ph <= 9 else None,
              carbon["balance_mg_l"] if carbon["balance_judged"] else None]
    value = max((v for v in values if v is not None), default=None)
    if q + strip == 0 and production > 0 and value is not None:
        hours = [max(0, water_m3 * (level - value) / production) for level in (warn, fail)]
        return gathering("carbon_dioxide", value, warn, fail, *hours)
    status, because, used = "unchecked", [], share(value, warn)
    if value is not None:
        status = over(value, warn, fail)
    if carbon["balance_mg_l"] is not None and not carbon["balance_judged"] and carbon["balance_mg_l"] > warn:
        because, status = [("least_by_balance", "warn", carbon["balance_mg_l"], warn)], worst([status, "warn"])
        used = max(used or 0, share(carbon["balance_mg_l"], warn))
    return check("carbon_dioxide", value, warn, fail, status, used, because)


def water_and_space_checks(tank, water, groups, limits, own, temperature, peak_c, kg, volume, q, supply,
                           saturation, pure, kla, kb, demand_mean, salinity, k):
    checks = []
    if groups:
        species = [SPECIES[g["species"]] for g in groups]
        low = own.get("temperature_low_warn_c", max(s[0] for s in species))
        high = own.get("temperature_warn_c", min(s[1] for s in species))
        fail = own.get("temperature_fail_c", min(s[3] for s in species))
        status = worst([over(peak_c, high, fail), under(temperature, low)])
        checks.append(check("temperature", temperature if temperature < low and peak_c <= fail else peak_c, [low, high], fail, status))
    else:
        checks.append(check("temperature", None, None, None, "unchecked"))
    ph = water.get("ph")
    ranges = [[limits["ph_low_warn"], limits["ph_high_warn"]], [limits["ph_low_fail"], limits["ph_high_fail"]]]
    if ph is None:
        checks.append(check("ph", None, *ranges, "unchecked"))
    else:
        checks.append(check("ph", ph, *ranges, worst([over(ph, ranges[0][1], ranges[1][1]), under(ph, ranges[0][0], ranges[1][0])])))
    if groups:
        density = kg / volume
        warn = own.get("density_warn_kg_m3")
        by_length = kg / sum(g["kg"] / (limits["density_index_kg_m3_cm"] * length_cm(g)) for g in groups)
        warn = min(warn if warn is not None else min(s[4] for s in species), by_length)
        checks.append(check("density", density, warn, limits["density_fail_kg_m3"],
                            over(density, warn, limits["density_fail_kg_m3"]), share(density, warn)))
        stated = [g for g in groups if g["stated"]]
        per_kg = 100 / sum(1000 * g["kg"] for g in stated or groups)
        warn = limits["ration_warn_ratio"] * per_kg * sum(g["advised_g_day"] for g in stated or groups)
        value = per_kg * sum(g["ration_g_day"] if stated else g["advised_g_day"] for g in stated or groups)
        checks.append(check("ration", value, warn, None, over(value, warn) if stated else "pass"))
        checks.append(check("exchange", q / volume, limits["exchange_warn_per_h"], None, under(q / volume, limits["exchange_warn_per_h"])))
        if pure > 0 or q > 0 and (supply.get("resting", supply["oxygen"]) or 0) > saturation * (1 + 1e-9) or water.get("oxygen_mg_l", 0) > 1.1 * saturation:
            checks.append(excess_check(q, supply.get("resting", supply["oxygen"]), kla, kb * saturation, pure, k["resting_share"] * demand_mean,
                                       water.get("oxygen_mg_l"), saturation))
        if len(groups) > 1:
            lengths = [length_cm(g) for g in groups]
            spread = max(lengths) / min(lengths)
            warn, fail = limits["size_spread_warn"], limits["size_spread_fail"]
            checks.append(check("size_spread", spread, warn, fail, over(spread, warn, fail)))
        if "current_cm_s" in water:
            checks.append(current_check(water["current_cm_s"], [length_cm(g) for g in groups]))
    if not groups:
        return checks
    if "nitrite_mg_l" in water:
        checks.append(nitrite_check(water))
    if "nitrate_mg_l" in water and "loop" not in tank:
        warn = limits["nitrate_warn_mg_l"]
        checks.append(check("nitrate", water["nitrate_mg_l"], warn, None, over(water["nitrate_mg_l"], warn), share(water["nitrate_mg_l"], warn)))
    if "gas_pressure_percent" in water:
        checks.append(check("gas_pressure", water["gas_pressure_percent"], 103, 110, over(water["gas_pressure_percent"], 103, 110)))
    if salinity > 0:
        checks.append(check("salinity", salinity, 10, 20, over(salinity, 10, 20)))
    if supply.get("chlorine") is not None:
        checks.append(check("chlorine", supply["chlorine"], 0.003, 0.011, over(supply["chlorine"], 0.003, 0.011)))
    if any(g["mean_weight_g"] < EARLY_LIFE_G for g in groups):
        checks.append(check("early_life", None, None, None, "unchecked"))
    return checks


def excess_check(q, c_in, kla, kbcs, pure, resting_demand, measured, saturation):
    """Oxygen over saturation while the fish rest."""
    values, because = [measured] if measured is not None else [], []
    if q + kla > 0 and c_in is not None:
        values.append(max(0, (q * c_in + kbcs + pure - resting_demand) / (q + kla)))
    elif pure > resting_demand:
        because = [("rises_without_end", "fail", None, None)]
    percent = 100 * max(values) / saturation if values else None
    status = over(percent, 110, 120) if values else "unchecked"
    return check("oxygen_excess", percent, 110, 120, worst([status] + [b[1] for b in because]), None, because)


NARROW = {  # how many times more or less than the program's is asked about; 2 of the others
    "respiration_warm_exponent": 1.05, "respiration_cold_exponent": 1.2, "respiration_join_f": 1.2,
    "respiration_weight_exponent": 1.5, "transfer_per_degree": 1.025, "fish_displacement_l_kg": 1.1}


def coefficient_doubts(k, of_loop):
    """How many coefficients are far from the program's."""
    first, last = list(COEFFICIENTS).index("nitrification_g_m2_day_degree"), len(COEFFICIENTS)
    keys = [key for i, key in enumerate(COEFFICIENTS) if (first <= i < last) == of_loop]
    ratios = ((k[key] / COEFFICIENTS[key], NARROW.get(key, 2)) for key in keys)
    return sum(not 1 / most <= ratio <= most for ratio, most in ratios)


def aerator_doubts(aerators, k):
    slips = 0
    for a in aerators:
        slips += a.get("transfer_percent_per_m", 0) > 10
        if a["kind"] == "cascade":
            slips += (a.get("quality", k["cascade_quality"]) > 1.8) + (a.get("weir", k["cascade_weir"]) > 1.3)
        else:
            slips += (a.get("beta", k["beta"]) > 1) + (a.get("alpha", k["alpha"]) > 1.2)
    return slips


def ph_doubts(ph, co2):
    return ph > 9 or ph < 5.5 or co2 > 100


def input_doubts(tank, groups, water, supply, carbon, tan, exchange, saturation, of_air, k):
    """How many slips are likelier than what is described: README, "Checks and limits"."""
    slips = coefficient_doubts(k["doubted"], False) + aerator_doubts(tank.get("aeration", []), k)
    slips += sum(not 0.5 <= g["respiration_factor"] <= 2 for g in groups)
    own = {id(g): "ration_g_day" in entry for g, entry in zip(groups, (e for e in tank["fish"] if e.get("count", 1) > 0))}
    slips += sum(own[id(g)] and 0 < g["ration_g_day"] < 0.1 * g["advised_g_day"] for g in groups)
    rest = [g for g in groups if g["stated"] and not own[id(g)]]
    slips += 0 < sum(g["ration_g_day"] for g in rest) < 0.1 * sum(g["advised_g_day"] for g in rest)
    slips += exchange > 30
    if "oxygen_mg_l" in water:
        slips += water["oxygen_mg_l"] > 20 or water["oxygen_mg_l"] > 1.6 * saturation
    slips += water.get("tan_mg_l") == 0 and tan is not None and tan > 0.5
    slips += water.get("gas_pressure_percent", 100) < 80
    if carbon["from_ph_mg_l"] is not None:
        slips += ph_doubts(water["ph"], carbon["from_ph_mg_l"])
        slips += bool(groups) and water["alkalinity_mg_l"] < 20 and carbon["from_ph_high_mg_l"] < of_air
    slips += supply.get("ph_slips", 0)
    return slips


def current_check(speed, lengths):
    """Too fast for the shortest or too slow for the longest; Parker & Barnes 2014, Timmons & Youngs."""
    fast, slow = speed / min(lengths), speed / max(lengths)
    fail = 5.25 / min(lengths) ** 0.37
    warn = [0.5, min(1.5, 0.85 * fail)]
    status = over(fast, warn[1], fail)
    if status != "fail" and slow < warn[0]:
        return check("current", slow, warn, fail, "warn")
    return check("current", fast, warn, fail, status)


SHARED = ("oxygen", "oxygen_reserve", "ammonia", "total_ammonia", "carbon_dioxide", "density", "nitrate",
          "biofilter", "loop_flow", "alkalinity")  # checks with a share of their limit


def first_limit(checks):
    """Of the worst status (pass before unchecked) the largest share of a limit; then what has none, as it stands;
    then what is over only because it gathers."""
    def rank(c):
        status = ("unchecked", "pass", "warn", "fail").index(c["status"])
        if c["check"] not in SHARED and c["used_percent"] is None:
            return status, 1, 0
        limit = c["fail"] if c["status"] == "fail" and c["fail"] is not None else c["warn"]
        by_hours = any(b["reason"].startswith(("hours", "days")) for b in c["because"])
        beyond = c["value"] is not None and c["value"] > limit
        spent = c["used_percent"] is None and status > 1 and not c.get("_no_want")
        return status, 0 if by_hours and not beyond else 2, math.inf if spent else c["used_percent"] or 0
    return max(checks, key=rank)["check"]


# -- rows ------------------------------------------------------------------------------------------------

def new_water_carbon_dioxide(inflow, temperature_c):
    if "carbon_dioxide_mg_l" in inflow:
        return inflow["carbon_dioxide_mg_l"]
    if "ph" in inflow and "alkalinity_mg_l" in inflow:
        return carbon_dioxide_by_ph(inflow["ph"], inflow["alkalinity_mg_l"], temperature_c)
    return None


def mixed(parts, key):
    """By flow; None where one is not known."""
    q = sum(p["q"] for p in parts)
    return None if any(p[key] is None for p in parts) else sum(p["q"] * p[key] for p in parts) / q


def inflows_of(tank):
    inflows = tank.get("inflow", [])
    return inflows if isinstance(inflows, list) else [inflows]


def with_inflow_temperature(tank, site, above):
    """The tank with the temperature of what flows in, where it gives none."""
    water = dict(tank.get("water", {}))
    parts = []
    for i in inflows_of(tank):
        if "from" in i:
            out = above[i["from"]]["_outflow"]
            parts.append({"q": i["flow_l_min"], "t": out["temperature"], "peak": out["peak"], "salinity": out["salinity"]})
        else:
            parts.append({"q": i["flow_l_min"], "t": i.get("temperature_c"), "peak": i.get("temperature_c", water.get("temperature_c")),
                          "salinity": site.get("salinity_g_kg", 0)})
    parts = [p for p in parts if p["q"] > 0]
    if parts and any("from" in i for i in inflows_of(tank)):
        water.setdefault("_salinity_of_inflow", mixed(parts, "salinity"))
    own = "temperature_c" in water
    if not own:
        water["temperature_c"] = mixed(parts, "t")
    if "peak_temperature_c" not in water and parts and all(p["peak"] is not None for p in parts):
        water["peak_temperature_c"] = max(water["temperature_c"], mixed(parts, "peak"))
    return {**tank, "water": water}


def inflow_supply(tank, site, pressure, k, above):
    """What the inflow, or a mixture of inflows, brings; above: the tanks already worked out, by name."""
    water = tank["water"]
    t = water["temperature_c"]
    peak_c = water.get("peak_temperature_c", t)
    salinity = salinity_of(water, site)
    saturations = [oxygen_saturation(x, pressure, salinity) for x in (t, peak_c)]
    inflows = inflows_of(tank)
    parts, slips = [], 0
    for i in inflows:
        q = i["flow_l_min"] * 60 / 1000
        if "from" in i:
            upper = above[i["from"]]
            parts.append({"q": q, "from": i["from"], **upper["_outflow"]})
            continue
        percent = i.get("oxygen_percent")
        if percent is None:
            percent = 100 * i["oxygen_mg_l"] / saturations[0] if "oxygen_mg_l" in i else 0
        parts.append({"q": q, "from": None, "oxygen": percent / 100 * saturations[0],
                      "oxygen_peak": percent / 100 * saturations[1], "tan": i.get("tan_mg_l", 0),
                      "co2": new_water_carbon_dioxide(i, t), "chlorine": i.get("chlorine_mg_l")})
        parts[-1].update(resting=parts[-1]["oxygen"], outage=parts[-1]["oxygen_peak"], kept=parts[-1]["oxygen_peak"], co2_known=parts[-1]["co2"] is not None)
        slips += q > 0 and "ph" in i and ph_doubts(i["ph"], parts[-1]["co2"])
    q = sum(p["q"] for p in parts)
    parts, inflows = [p for p in parts if p["q"] > 0], [i for p, i in zip(parts, inflows) if p["q"] > 0]
    kept = [{**p, "q": p["q"] * p.get("kept_share", 1)} for p, i in zip(parts, inflows) if i.get("keeps_flowing") and p["kept"] is not None]
    supply = {"q": q, "oxygen": 0, "oxygen_peak": 0, "tan": 0, "co2": None, "chlorine": None, "co2_known": True,
              "kept_q": sum(p["q"] for p in kept), "ph_slips": slips}
    if q > 0:
        falls = tank.get("aeration", [])
        supply["oxygen"] = fall_oxygen(mixed(parts, "oxygen"), saturations[0], deficits_left(falls, t, k))
        supply["oxygen_peak"] = fall_oxygen(mixed(parts, "oxygen_peak"), saturations[1], deficits_left(falls, peak_c, k))
        supply["resting"] = fall_oxygen(mixed(parts, "resting"), saturations[0], deficits_left(falls, t, k))
        supply["outage_oxygen"] = fall_oxygen(mixed(parts, "outage"), saturations[1], deficits_left(falls, peak_c, k))
        supply["tan"] = mixed(parts, "tan")
        of_air = carbon_dioxide_of_air(peak_c, pressure, k)
        supply["co2_known"] = all(p["co2_known"] for p in parts)
        cleanest = [{**p, "co2": of_air if p["co2"] is None else p["co2"]} for p in parts]
        supply["co2"] = fall_carbon_dioxide(mixed(cleanest, "co2"), of_air, deficits_left(falls, peak_c, k), k)
        if kept:
            supply["kept_oxygen"] = fall_oxygen(mixed(kept, "kept"), saturations[1], deficits_left(falls, peak_c, k))
        if any(p.get("chlorine") is not None for p in parts):
            supply["chlorine"] = sum(p["q"] * (p.get("chlorine") or 0) for p in parts) / q
    if parts and (len(tank["inflow"]) > 1 if isinstance(tank["inflow"], list) else parts[0]["from"]):
        supply["inflow"] = [{"from": p["from"], "flow_l_min": p["q"] * 1000 / 60, "oxygen_mg_l": max(0, p["oxygen"]),
                             "oxygen_peak_mg_l": max(0, p["oxygen_peak"]), "tan_mg_l": p["tan"], "carbon_dioxide_mg_l": p["co2"]}
                            for p in parts]
    return supply


# -- the whole -------------------------------------------------------------------------------------------

def figures(description):
    """What the description is worth by itself; the coefficients; the description in base units."""
    d = {key: part if key == "coefficients" else base_units(part) for key, part in description.items()}
    return assess_by(d), {**COEFFICIENTS, **d.get("coefficients", {})}, d


def assess(description):
    """The report of a description: all that `budget --format json` prints of it in figures."""
    report, _, d = figures(description)
    usual = assess_by(without_own_limits(d), d.get("coefficients", {}))
    for kind in ("tanks", "loops"):
        for part, plain in zip(report[kind], usual[kind]):
            part["usual_verdict"] = plain["verdict"]
    return report


def without_own_limits(d):
    d = {key: value for key, value in d.items() if key != "coefficients"}
    d["site"] = {key: value for key, value in d["site"].items() if key != "limits"}
    for kind in ("tanks", "loops"):
        d[kind] = [{key: value for key, value in part.items() if key != "limits"} for part in d.get(kind, [])]
    return d


def assess_by(d, doubted=None):
    """doubted: coefficients that are not reckoned with and asked about all the same."""
    site, k = d["site"], {**COEFFICIENTS, **d.get("coefficients", {})}
    k["doubted"] = {**k, **(doubted or {})}
    pressure = air_pressure_kpa(site)
    from second_loops import assess_loop, on_loop  # which needs this file
    results, loops = {}, []
    for loop in d.get("loops", []):
        tanks = [on_loop(t, loop) for t in d["tanks"] if t.get("loop", {}).get("name") == loop["name"]]
        figures, supplies = assess_loop(loop, tanks, site, pressure, k)
        loops.append(figures)
        for tank in tanks:
            results[tank["name"]] = assess_tank(tank, site, pressure, k, supplies[tank["name"]])
    waiting = [t for t in d.get("tanks", []) if "loop" not in t]
    while waiting:  # from the top of each row down
        tank = next(t for t in waiting if all(i.get("from") in results or "from" not in i for i in inflows_of(t)))
        waiting.remove(tank)
        tank = with_inflow_temperature(tank, site, results)
        supply = inflow_supply(tank, site, pressure, k, results)
        results[tank["name"]] = assess_tank(tank, site, pressure, k, supply)
    tanks = [results[t["name"]] for t in d.get("tanks", [])]
    return {"site": {"altitude_m": site.get("altitude_m"), "pressure_kpa": pressure}, "tanks": tanks, "loops": loops,
            "verdict": worst(part["verdict"] for part in tanks + loops)}


if __name__ == "__main__":
    from second_cases import main
    sys.exit(main(sys.argv[1:]))
