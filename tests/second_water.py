"""What water, fish and aerators do, worked out a second time: see second.py, and README.md."""
import math

# -- constants -------------------------------------------------------------------------------------------

COEFFICIENTS = {  # `coldtank sources`, by the keys that a description may set
    "ammonia_pka_per_salinity_kg_g": 0.003071, "carbon_dioxide_in_air_ppm": 420, "protein_percent": 42,
    "oxygen_per_feed_g_kg": 300, "peak_factor": 1.4, "respiration_c": 0.000305,
    "respiration_warm_exponent": 1.855, "respiration_cold_exponent": 3.13, "respiration_join_f": 50,
    "respiration_weight_exponent": 0.138, "fasted_share": 0.55, "fasted_after_h": 48,
    "tan_per_protein_g_g": 0.092, "tan_unfed_g_kg_day": 0.07, "unfed_excretion_share": 0.5,
    "fed_excretion_share": 0.5, "unfed_excretion_h": 63, "unfed_excretion_end_h": 168,
    "carbon_dioxide_per_oxygen_g_g": 1.375, "solids_per_feed_g_g": 0.3, "cascade_quality": 1.3,
    "cascade_weir": 1, "alpha": 0.9, "beta": 0.98, "transfer_fine_percent_per_m": 4,
    "transfer_medium_percent_per_m": 2.5, "transfer_coarse_percent_per_m": 1.2, "oxygen_in_air_g_l": 0.2786,
    "pure_oxygen_g_l": 1.33, "transfer_per_degree": 1.024, "carbon_dioxide_transfer_ratio": 0.9,
    "cascade_per_m": 0.361, "cascade_per_degree": 0.046, "cascade_stripped_share": 0.25,
    "fish_displacement_l_kg": 1, "resting_share": 0.7, "nitrification_g_m2_day_degree": 0.05368,
    "nitrification_lost_g_m2_day": 0.0859, "filter_half_saturation_mg_l": 0.8, "filter_least_tan_mg_l": 0.07,
    "filter_oxygen_per_tan_g_g": 4.57, "filter_oxygen_per_feed_g_g": 0.1,
    "filter_carbon_dioxide_per_tan_g_g": 5.85, "filter_carbon_dioxide_per_feed_g_g": 0.1375,
    "nitrate_per_tan_g_g": 0.976, "leafy_nitrate_g_m2_day": 0.5, "fruiting_nitrate_g_m2_day": 0.67,
    "alkalinity_per_tan_g_g": 7.14, "alkalinity_per_nitrate_g_g": 3.57, "alkalinity_assumed_mg_l": 50,
    "careful_feed_share": 0.5,
}

LIMITS = {  # README, "Checks and limits"
    "oxygen_warn_mg_l": 6, "oxygen_warn_percent": 60, "oxygen_fail_mg_l": 5, "reserve_stress_mg_l": 5,
    "reserve_danger_mg_l": 3, "response_time_min": 30, "nh3_warn_mg_l": 0.0125, "nh3_fail_mg_l": 0.025,
    "tan_warn_mg_l": 2, "tan_fail_mg_l": 5, "carbon_dioxide_warn_mg_l": 15, "carbon_dioxide_fail_mg_l": 20,
    "ph_low_warn": 6.5, "ph_high_warn": 9, "ph_low_fail": 6, "ph_high_fail": 9.5, "density_fail_kg_m3": 72,
    "density_index_kg_m3_cm": 3.15, "ration_warn_ratio": 1.25, "exchange_warn_per_h": 1,
    "size_spread_warn": 1.5, "size_spread_fail": 2, "nitrate_warn_mg_l": 75, "alkalinity_warn_mg_l": 50,
    "alkalinity_fail_mg_l": 20, "backup_hours": 8,
}
EARLY_LIFE_G = 1
EARLY_LIFE = {"oxygen_warn_mg_l": 8, "oxygen_fail_mg_l": 6, "nh3_warn_mg_l": 0.005, "nh3_fail_mg_l": 0.0125}

SPECIES = {  # warn below, warn above, feeding stops, fail above degC; density kg/m3; TGC x 1000 slow to fast; optimum
    "rainbow trout": (2, 19, 20, 22, 25, (1.0, 1.5, 2.0), 15.5),
    "golden trout": (2, 19, 20, 22, 25, (1.0, 1.5, 2.0), 15.5),
    "brook trout": (1, 16, 19.5, 20, 15, (0.8 * 1.284, 1.284, 1.25 * 1.284), 14.5),
    "brown trout": (2, 18.4, 19.5, 22, 25, (0.8 * 1.0, 1.0, 1.25 * 1.0), 14),
    "Arctic char": (0.5, 16, 18, 19, 25, (0.8 * 1.375, 1.375, 1.25 * 1.375), 14),
}
ALSO = {"rainbow": "rainbow trout", "steelhead": "rainbow trout", "brookie": "brook trout"}  # some of their other names
CONDITION = 0.01107  # k of W = k L^3, g/cm3: Piper et al. 1982

NITRITE_BY_CHLORIDE = [  # chloride from, maximum, 30-day mean: British Columbia, Table 17
    (10, 0.60, 0.20), (8, 0.30, 0.10), (6, 0.24, 0.08), (4, 0.18, 0.06), (2, 0.12, 0.04), (0, 0.06, 0.02)]

ATM_KPA, KELVIN = 101.325, 273.15
STATUSES = ("pass", "unchecked", "warn", "fail")

UNITS = [  # ending of a key, the base ending in its place, factor: NIST SP 811 and molar masses; the longer endings first
    ("_mg_l_as_nh4", "_mg_l", 14.007 / 18.039), ("_mg_l_as_nh3", "_mg_l", 14.007 / 17.031),
    ("_mg_l_as_no2", "_mg_l", 14.007 / 46.005), ("_mg_l_as_no3", "_mg_l", 14.007 / 62.004),
    ("_dkh", "_mg_l", 1000.86 / 56.077), ("_meq_l", "_mg_l", 50.043), ("_mmol_l", "_mg_l", 50.043),
    ("_gal_us_min", "_l_min", 3.785411784), ("_gal_imp_min", "_l_min", 4.54609), ("_ft3_min", "_l_min", 28.316846592),
    ("_gal_us_h", "_l_min", 3.785411784 / 60), ("_gal_imp_h", "_l_min", 4.54609 / 60), ("_m3_h", "_l_min", 1000 / 60),
    ("_gal_us_day", "_l_day", 3.785411784), ("_gal_imp_day", "_l_day", 4.54609), ("_ft3_day", "_l_day", 28.316846592),
    ("_m3_day", "_l_day", 1000), ("_l_h", "_l_min", 1 / 60), ("_l_s", "_l_min", 60), ("_gal_us", "_l", 3.785411784),
    ("_gal_imp", "_l", 4.54609), ("_ft3", "_l", 28.316846592), ("volume_m3", "volume_l", 1000), ("water_m3", "water_l", 1000),
    ("_kg_day", "_g_day", 1000), ("_lb_day", "_g_day", 453.59237), ("_oz_day", "_g_day", 28.349523125),
    ("_kg_h", "_g_h", 1000), ("_lb_h", "_g_h", 453.59237), ("_oz_h", "_g_h", 28.349523125),
    ("weight_kg", "weight_g", 1000), ("_lb", "_g", 453.59237), ("_oz", "_g", 28.349523125),
    ("total_g", "total_kg", 0.001), ("to_g", "to_kg", 0.001),
    ("length_in", "length_cm", 2.54), ("length_mm", "length_cm", 0.1),
    ("_ft2", "_m2", 0.09290304), ("_ft", "_m", 0.3048), ("_in", "_m", 0.0254), ("depth_cm", "depth_m", 0.01),
    ("drop_cm", "drop_m", 0.01), ("altitude_cm", "altitude_m", 0.01),
    ("_hpa", "_kpa", 0.1), ("_mmhg", "_kpa", 0.133322387415), ("_inhg", "_kpa", 3.386388640341),
]
CHLORIDE_OF_SALT = 35.45 / 58.44


def base_units(part):
    """The same description with every key in its base unit."""
    if isinstance(part, list):
        return [base_units(p) for p in part]
    if not isinstance(part, dict):
        return part
    out = {}
    for key, value in part.items():
        if key.endswith("_f"):
            less = 0 if key[:-2] in ("amplitude", "daily_swing", "warm_spell") else 32
            fahrenheit = value if isinstance(value, list) else [value]
            celsius = [(f - less) / 1.8 for f in fahrenheit]
            key, value = key[:-1] + "c", celsius if isinstance(value, list) else celsius[0]
        if isinstance(value, (int, float)):
            for ending, base, factor in UNITS:
                while key.endswith(ending):  # total_lb by way of total_g
                    key, value = key[:-len(ending)] + base, value * factor
        out[key] = base_units(value)
    if "salt_g_l" in out:
        out["chloride_mg_l"] = 1000 * CHLORIDE_OF_SALT * out.pop("salt_g_l")
        out.setdefault("_salinity_of_salt", out["chloride_mg_l"] * 1.6485 / 1000)
    return out


# -- water -----------------------------------------------------------------------------------------------

def air_pressure_kpa(site):
    """US Standard Atmosphere 1976, lowest layer, by geopotential height; or what was measured."""
    if "barometric_pressure_kpa" in site:
        return site["barometric_pressure_kpa"]
    h = 6356766 * site["altitude_m"] / (6356766 + site["altitude_m"])
    return ATM_KPA * (1 - 0.0065 * h / 288.15) ** 5.25588


def oxygen_saturation(temperature_c, pressure_kpa, salinity):
    """Benson & Krause 1984, mg/L (USGS OWQ Technical Memorandum 2011.03)."""
    t, p = temperature_c + KELVIN, pressure_kpa / ATM_KPA
    ln_c = (-139.34411 + 1.575701e5 / t - 6.642308e7 / t ** 2 + 1.243800e10 / t ** 3 - 8.621949e11 / t ** 4
            - salinity * (1.7674e-2 - 1.0754e1 / t + 2.1407e3 / t ** 2))
    u = math.exp(11.8571 - 3840.70 / t - 216961 / t ** 2)
    theta = 0.000975 - 1.426e-5 * temperature_c + 6.436e-8 * temperature_c ** 2
    return math.exp(ln_c) * (p - u) * (1 - theta * p) / ((1 - u) * (1 - theta))


def unionised_fraction(ph, temperature_c, salinity, k):
    """Emerson et al. 1975; salinity after Khoo et al. 1977."""
    pka = 0.09018 + 2729.92 / (temperature_c + KELVIN) + k["ammonia_pka_per_salinity_kg_g"] * salinity
    return 1 / (1 + 10 ** (pka - ph))


NH3_PER_N = 1.2159
MG_CO2, MG_CACO3 = 44009.5, 50043.5


def carbonate(temperature_c):
    """K1, K2, Henry's constant (mol/(L atm)), Kw: Plummer & Busenberg 1982; Kw as in PHREEQC's data."""
    t = temperature_c + KELVIN
    log = math.log10(t)
    k1 = -356.3094 - 0.06091964 * t + 21834.37 / t + 126.8339 * log - 1684915 / t ** 2
    k2 = -107.8871 - 0.03252849 * t + 5151.79 / t + 38.92561 * log - 563713.9 / t ** 2
    kh = 108.3865 + 0.01985076 * t - 6919.53 / t - 40.45154 * log + 669365 / t ** 2
    kw = -283.971 - 0.05069842 * t + 13323.0 / t + 102.24447 * log - 1119669 / t ** 2
    return 10 ** k1, 10 ** k2, 10 ** kh, 10 ** kw


def carbon_dioxide_by_ph(ph, alkalinity, temperature_c):
    k1, k2, _, kw = carbonate(temperature_c)
    h = 10 ** -ph
    return max(0, MG_CO2 * h / k1 * (alkalinity / MG_CACO3 + h - kw / h) / (1 + 2 * k2 / h))


def ph_by_carbon_dioxide(co2, alkalinity, temperature_c):
    """The pH at which that alkalinity goes with that carbon dioxide."""
    low, high = 0.0, 14.0
    k1, k2, _, kw = carbonate(temperature_c)
    for _ in range(200):
        ph = (low + high) / 2
        h = 10 ** -ph
        if k1 * co2 / MG_CO2 / h * (1 + 2 * k2 / h) + kw / h - h < alkalinity / MG_CACO3:
            low = ph
        else:
            high = ph
    return low if 3 <= low <= 11 else None  # the range of the constants


def carbon_dioxide_of_air(temperature_c, pressure_kpa, k):
    return carbonate(temperature_c)[2] * k["carbon_dioxide_in_air_ppm"] * 1e-6 * pressure_kpa / ATM_KPA * MG_CO2


def air_water_ratio(temperature_c):
    """Carbon dioxide in gas over that in water, both by volume."""
    return 1 / (carbonate(temperature_c)[2] * 0.082057 * (temperature_c + KELVIN))


# -- fish ------------------------------------------------------------------------------------------------

RATION = [[float(x) for x in row.split()] for row in """
    2.7 2.2 1.7 1.3 1.0 0.8 0.7 0.6 0.5 0.5 0.4
    2.7 2.3 1.8 1.4 1.1 0.9 0.7 0.6 0.5 0.5 0.4
    2.9 2.4 2.0 1.5 1.2 0.9 0.8 0.7 0.6 0.5 0.5
    3.0 2.5 2.2 1.7 1.3 0.9 0.8 0.7 0.6 0.6 0.5
    3.2 2.6 2.2 1.7 1.3 1.0 0.9 0.8 0.7 0.6 0.5
    3.3 2.8 2.2 1.8 1.4 1.1 0.9 0.8 0.7 0.6 0.5
    3.5 2.8 2.4 1.8 1.4 1.2 0.9 0.8 0.7 0.6 0.5
    3.6 3.0 2.5 1.9 1.4 1.2 1.0 0.9 0.8 0.7 0.6
    3.8 3.1 2.5 2.0 1.5 1.3 1.0 0.9 0.8 0.8 0.6
    4.0 3.3 2.7 2.1 1.6 1.3 1.1 1.0 0.9 0.8 0.7
    4.1 3.4 2.8 2.2 1.7 1.4 1.2 1.0 0.9 0.8 0.7
    4.3 3.6 3.0 2.3 1.7 1.4 1.2 1.0 0.9 0.8 0.7
    4.5 3.8 3.0 2.4 1.8 1.5 1.3 1.1 1.0 0.9 0.8
    4.7 3.9 3.2 2.5 1.9 1.5 1.3 1.1 1.0 0.9 0.8
    5.2 4.3 3.4 2.7 2.0 1.7 1.4 1.2 1.1 1.0 0.9
    5.4 4.5 3.5 2.8 2.1 1.7 1.5 1.3 1.1 1.0 0.9
    5.4 4.5 3.6 2.8 2.1 1.7 1.5 1.3 1.1 1.0 0.9
    5.6 4.7 3.8 2.9 2.2 1.8 1.5 1.3 1.1 1.1 1.0
    5.8 4.9 3.9 3.0 2.3 1.9 1.6 1.4 1.3 1.1 1.0
    6.1 5.1 4.2 3.2 2.4 2.0 1.6 1.4 1.3 1.1 1.0
    6.3 5.3 4.3 3.3 2.5 2.0 1.7 1.5 1.3 1.2 1.0
    6.7 5.5 4.5 3.5 2.6 2.1 1.8 1.5 1.4 1.2 1.1
    7.0 5.8 4.8 3.6 2.7 2.2 1.9 1.6 1.4 1.3 1.2
    7.3 6.0 5.0 3.7 2.8 2.3 1.9 1.7 1.5 1.3 1.2
    7.5 6.3 5.1 3.9 3.0 2.4 2.0 1.7 1.5 1.4 1.3
    7.8 6.5 5.3 4.1 3.1 2.5 2.0 1.8 1.6 1.4 1.3
    8.1 6.7 5.5 4.3 3.2 2.6 2.1 1.8 1.6 1.5 1.4
    8.4 7.0 5.7 4.5 3.4 2.7 2.1 1.9 1.7 1.5 1.4
    8.7 7.2 5.9 4.7 3.5 2.8 2.2 1.9 1.7 1.6 1.5
    9.0 7.5 6.1 4.9 3.6 2.9 2.2 2.0 1.8 1.6 1.5
    9.3 7.8 6.3 5.1 3.8 3.0 2.3 2.0 1.8 1.6 1.6
    9.6 9.1 6.6 5.3 3.9 3.1 2.4 2.1 1.9 1.7 1.6
    9.9 9.4 6.9 5.5 4.0 3.2 2.5 2.1 2.0 1.8 1.7
""".strip().splitlines()]  # Leitritz & Lewis 1980, percent/day: a row a degF from 36 to 68, a class an inch from 0-1 to 10 and over


def length_cm(group):
    return (group["mean_weight_g"] / group["k"]) ** (1 / 3)


def length_class(group):
    """Column of the ration table, and what its last one is multiplied by (a ration falls as 1 / length)."""
    inches = length_cm(group) / 2.54
    if abs(inches - round(inches)) < 1e-9:
        inches = round(inches)
    return min(10, int(inches)), (10 / inches if inches >= 10 else 1)


def table_ration_percent(group, temperature_c):
    """Between the rows by straight lines; below 36 degF in proportion to degC; over 68 degF as there."""
    column, longer = length_class(group)
    f = 1.8 * temperature_c + 32
    if f < 36:
        return longer * RATION[0][column] * temperature_c / ((36 - 32) / 1.8)
    row = min(int(f), 68) - 36
    share = f - 36 - row if f < 68 else 0
    below, above = RATION[row][column], RATION[min(row + 1, 32)][column]
    return longer * (below + share * (above - below))


def taper(group, temperature_c):
    """The advice falls from the species' warn limit to nothing at its feeding stop."""
    _, warn, stop, *_ = SPECIES[group["species"]]
    return max(0, min(1, (stop - temperature_c) / (stop - warn)))


def respiration(weight_g, temperature_c, k):
    """Of fed trout, mg/kg/h: Liao 1971 (degF, lb, lb of oxygen per 100 lb and day)."""
    f, join = 1.8 * temperature_c + 32, k["respiration_join_f"]
    if f >= join:
        by_temperature = f ** k["respiration_warm_exponent"]
    else:
        by_temperature = join ** k["respiration_warm_exponent"] * (f / join) ** k["respiration_cold_exponent"]
    return (k["respiration_c"] * by_temperature * 10000 / 24
            * (weight_g / 453.59237) ** -k["respiration_weight_exponent"])


def oxygen_cost_of_feed(group, k):
    """g of oxygen per g of feed beyond rest, the largest over the ration table."""
    column, longer = length_class(group)
    return max((1 - k["fasted_share"]) * respiration(group["mean_weight_g"], (f - 32) / 1.8, k) * 24 / 1000
               / (10 * longer * RATION[f - 36][column]) for f in range(36, 69))


def respiration_of_ration(group, temperature_c, k):
    """mg/kg/h at the ration of the group."""
    fed = respiration(group["mean_weight_g"], temperature_c, k)
    if group["stated"]:
        rest = k["fasted_share"] * fed
        percent = 100 * group["ration_g_day"] / (1000 * group["kg"])
        fed = rest + min(fed - rest, oxygen_cost_of_feed(group, k) * percent * 10 * 1000 / 24)
    return group["respiration_factor"] * fed


def oxygen_by_feed(ration_g_day, per_feed):
    return ration_g_day / 1000 * per_feed / 24


def demand_when_all_stops(groups, temperature_c, per_feed, share, k):
    """g/h without the peak factor: the larger of respiration of fed fish and of what they ate."""
    return share * sum(max(
        g["respiration_factor"] * respiration(g["mean_weight_g"], temperature_c, k) * g["kg"] / 1000,
        oxygen_by_feed(max(table_ration_percent(g, temperature_c) / 100 * g["kg"] * 1000, g["ration_g_day"]), per_feed))
        for g in groups)


def fasted_share(fasted_h, k):
    return 1 - (1 - k["fasted_share"]) * min(1, (fasted_h or 0) / k["fasted_after_h"])


def excreted_feed(group, fasted_h, k):
    """g/day of feed whose protein leaves the fish as ammonia."""
    table = group["table_g_day"]
    if group["ration_g_day"] > 0:
        return max(group["ration_g_day"], k["fed_excretion_share"] * table)
    half, half_h, end_h = k["unfed_excretion_share"], k["unfed_excretion_h"], k["unfed_excretion_end_h"]
    if fasted_h is None:
        return half * table
    if fasted_h <= half_h:
        return (1 - (1 - half) * fasted_h / half_h) * table
    return half * max(0, (end_h - fasted_h) / (end_h - half_h)) * table


def fish_groups(tank, temperature_c):
    """The groups with fish in them, with what their descriptions leave to be worked out."""
    groups = []
    for entry in tank["fish"]:
        g = dict(entry, species=ALSO.get(entry["species"], entry["species"]))
        g.setdefault("k", entry["condition_factor"] / 100 if "condition_factor" in entry else CONDITION)
        if "per_m3" in g:
            g["count"] = math.ceil(g["per_m3"] * tank["volume_l"] / 1000)
        if g["count"] == 0:
            continue
        if "mean_length_cm" in g:
            g["mean_weight_g"] = g["k"] * g["mean_length_cm"] ** 3
        if "total_kg" in g:
            g["mean_weight_g"] = 1000 * g["total_kg"] / g["count"]
        g["kg"] = g["count"] * g["mean_weight_g"] / 1000
        g.setdefault("respiration_factor", 1)
        groups.append(g)
    feed = tank.get("feed", {})
    without = sum(g["kg"] for g in groups if "ration_g_day" not in g)
    for g in groups:
        g["table_g_day"] = table_ration_percent(g, temperature_c) / 100 * g["kg"] * 1000
        g["advised_g_day"] = taper(g, temperature_c) * g["table_g_day"]
        g["stated"] = True
        if "ration_g_day" in g:
            pass
        elif "ration_g_day" in feed:
            g["ration_g_day"] = feed["ration_g_day"] * g["kg"] / without
        elif "ration_percent_day" in feed:
            g["ration_g_day"] = feed["ration_percent_day"] / 100 * g["kg"] * 1000
        elif feed.get("fasted_h", 0) > 24:
            g["ration_g_day"] = 0
        else:
            g["ration_g_day"], g["stated"] = g["table_g_day"], False
            if "slow_g" in g:  # any weight from slow growth on: just under a whole inch the table feeds more
                inches = int((g["mean_weight_g"] / g["k"]) ** (1 / 3) / 2.54)
                for whole in range(inches, 0, -1):
                    lighter = {**g, "mean_weight_g": g["k"] * (2.54 * (whole - 1e-6)) ** 3}
                    if 2.54 * whole > (g["slow_g"] / g["k"]) ** (1 / 3):
                        g["ration_g_day"] = max(g["ration_g_day"], g["count"] * lighter["mean_weight_g"]
                                                * table_ration_percent(lighter, temperature_c) / 100)
    return groups


# -- aeration --------------------------------------------------------------------------------------------

def transfer(aerators, temperature_c, k):
    """Of all that is not a cascade: K m3/h, K beta m3/h, G g/h of pure oxygen, S m3/h of carbon dioxide."""
    total_k = total_kb = total_g = total_s = 0
    for a in aerators:
        if a["kind"] == "oxygen":
            total_g += a["flow_l_min"] * 60 * k["pure_oxygen_g_l"] * a["absorption_percent"] / 100
        if a["kind"] not in ("diffuser", "rated"):
            continue
        if a["kind"] == "diffuser":
            percent = a.get("transfer_percent_per_m", 0)
            if "bubble" in a:
                percent = k["transfer_%s_percent_per_m" % a["bubble"]]
            sotr = a["air_flow_l_min"] * 60 * k["oxygen_in_air_g_l"] * min(1, percent / 100 * a["depth_m"])
        else:
            sotr = a["sotr_g_h"]
        kla = a.get("alpha", k["alpha"]) * k["transfer_per_degree"] ** (temperature_c - 20) * sotr / 9.09
        total_k += kla
        total_kb += kla * a.get("beta", k["beta"])
        stripped = k["carbon_dioxide_transfer_ratio"] * kla
        if a["kind"] == "diffuser":
            carried = a["air_flow_l_min"] * 60 / 1000 * air_water_ratio(temperature_c)
            stripped = carried * (1 - math.exp(-stripped / carried)) if carried > 0 else 0
        total_s += stripped
    return total_k, total_kb, total_g, total_s


def deficits_left(aerators, temperature_c, k):
    """Share of the oxygen deficit that each fall leaves: Barrett et al."""
    return [1 / (1 + k["cascade_per_m"] * a.get("quality", k["cascade_quality"]) * a.get("weir", k["cascade_weir"])
                 * a["drop_m"] * (1 + k["cascade_per_degree"] * temperature_c))
            for a in aerators if a["kind"] == "cascade"]


def fall_oxygen(oxygen, saturation, left):
    return oxygen + (saturation - oxygen) * (1 - math.prod(left))


def fall_carbon_dioxide(co2, of_air, left, k):
    for share in left:
        taken = min(k["cascade_stripped_share"], 1 - share ** k["carbon_dioxide_transfer_ratio"])
        co2 = of_air + (co2 - of_air) * (1 - taken)
    return co2
