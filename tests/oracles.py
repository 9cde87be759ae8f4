"""The models against independent libraries.

    oracles.py gsw|iapws|fluids|scipy PROBE

PROBE GRID prints numbers of coldtank's own models. Exits 77, skipped, where the library is not installed.
"""
import importlib
import math
import subprocess
import sys
import warnings

library, probe = sys.argv[1:]
try:
    importlib.import_module(library)
except ImportError:
    print(f"python3-{library} is not installed: skipped")
    sys.exit(77)


def grid(name):
    lines = subprocess.run([probe, name], capture_output=True, text=True, check=True).stdout.splitlines()
    return [[float(word) for word in line.split()] for line in lines]


compared = 0
worst = {}


def close(what, got, want, tolerance):
    global compared
    compared += 1
    assert abs(got - want) <= tolerance, (what, got, want, tolerance)
    worst[what] = max(worst.get(what, 0), abs(got - want))


def gsw_water():
    """TEOS-10: solubility after Garcia & Gordon 1992 with the coefficients of Benson & Krause 1984."""
    import gsw
    for temperature_c, salinity_g_kg, _, oxygen_mg_l, _ in grid("water"):
        if temperature_c <= 30:
            absolute = salinity_g_kg * 35.16504 / 35
            density = gsw.rho(absolute, gsw.CT_from_t(absolute, temperature_c, 0), 0)
            want = gsw.O2sol_SP_pt(salinity_g_kg, temperature_c) * density * 31.9988e-6
            close("oxygen, mg/L", oxygen_mg_l, want, 0.0003 * want)


def iapws_water():
    """IAPWS Guideline on the Henry's constant, G7-04: mole-fraction constants in MPa; R7-97 for water."""
    warnings.simplefilter("ignore")  # below 278 K carbon dioxide is an extrapolation
    from iapws._iapws import _Henry, _Liquid
    for temperature_c, salinity_g_kg, pressure_kpa, oxygen_mg_l, henry in grid("water"):
        if salinity_g_kg != 0 or temperature_c > 30:
            continue
        kelvin = temperature_c + 273.15
        water_mol_l = _Liquid(kelvin)["rho"] / 18.015268
        co2 = water_mol_l / (_Henry(kelvin, "CO2") / 0.101325)
        close("Henry's constant of CO2, mol/L/atm", henry, co2, 0.06 * co2)
        # Moist air: vapour pressure by Antoine's equation (NIST).
        vapour_kpa = 100 * 10 ** (4.6543 - 1435.264 / (kelvin - 64.848))
        oxygen_mpa = 0.20946 * (pressure_kpa - vapour_kpa) / 1000
        want = oxygen_mpa / _Henry(kelvin, "O2") * water_mol_l * 31998.8
        close("oxygen, mg/L", oxygen_mg_l, want, 0.012 * want)


def fluids_air():
    """The standard atmosphere of 1976 from its layers, in geometric altitude."""
    from fluids.atmosphere import ATMOSPHERE_1976
    for altitude_m, pressure_kpa in grid("pressure"):
        close("pressure, kPa", pressure_kpa, ATMOSPHERE_1976(altitude_m).P / 1000, 2e-5 * pressure_kpa)


def carbon_dioxide(temperature_c, alkalinity_mg_l, ph):
    """mg/L; Plummer & Busenberg 1982 for both constants; the ion product of water of Harned & Hamer 1933."""
    k = temperature_c + 273.15
    pk1 = 356.3094 + 0.06091964 * k - 21834.37 / k - 126.8339 * math.log10(k) + 1684915 / k ** 2
    pk2 = 107.8871 + 0.03252849 * k - 5151.79 / k - 38.92561 * math.log10(k) + 563713.9 / k ** 2
    pkw = 4470.99 / k - 6.0875 + 0.01706 * k
    h = 10.0 ** -ph
    carbonate = alkalinity_mg_l / 50044.5 - 10 ** -pkw / h + h
    return 44009.5 * carbonate * h ** 2 / (10 ** -pk1 * (h + 2 * 10 ** -pk2))


def scipy_numerics():
    """Roots, integration in time, least squares, quantiles."""
    from scipy.integrate import solve_ivp
    from scipy.optimize import brentq
    from scipy.stats import linregress, norm, t

    for temperature_c, alkalinity_mg_l, mg_l, ph in grid("ph"):
        want = brentq(lambda x: carbon_dioxide(temperature_c, alkalinity_mg_l, x) - mg_l, 3, 11, xtol=1e-12)
        close("pH from carbon dioxide", ph, want, 1e-4)

    def integrated(start, pieces):
        """Concentrations over time, by steps of Runge and Kutta of order 8; what has come to 0 stays there
        while nothing brings it up."""
        tried = [start]
        for water_m3, gain, rate, hours in pieces:
            empty = lambda _, c: c[0]
            empty.terminal, empty.direction = True, -1
            slope = lambda _, c: [(gain - rate * c[0]) / water_m3]
            done = solve_ivp(slope, (0, hours), [tried[-1]], method="DOP853", rtol=1e-11, atol=1e-12, events=empty)
            tried += list(done.y[0][1:])
            if done.status == 1:
                tried[-1] = 0.0
        return tried

    for water_m3, gain, rate, start, hours, after, level, down, up in grid("course"):
        close("a course of time, mg/L", after, integrated(start, [(water_m3, gain, rate, hours)])[-1], 1e-7)
        for minutes, past in ((down, start <= level), (up, start >= level)):
            steady = gain / rate if rate > 0 else math.copysign(math.inf, gain)
            reaches = (min(start, steady) <= level <= max(start, steady)) and steady != level
            if past:
                close("minutes to a level", minutes, 0, 0)
            elif not reaches or (level > start) != (minutes == up):
                continue
            else:
                hit = lambda _, c: c[0] - level
                hit.terminal = True
                slope = lambda _, c: [(gain - rate * c[0]) / water_m3]
                done = solve_ivp(slope, (0, 1e4), [start], method="DOP853", rtol=1e-11, atol=1e-12, events=hit)
                if done.status == 1:
                    close("minutes to a level", minutes, 60 * done.t_events[0][0], 1e-5 * max(1, minutes))

    for row in grid("pieces"):
        start, within, lowest, most, last = row[12:]
        pieces, left = [], within
        for at in (0, 4, 8):
            hours = min(left, row[at + 3])
            left -= hours
            if hours > 0:
                pieces.append((*row[at:at + 3], hours))
        tried = integrated(start, pieces)
        for got, want in ((lowest, min(tried)), (most, max(tried)), (last, tried[-1])):
            close("one course after another, mg/L", got, want, 1e-7)

    for row in grid("line"):
        count = int(row[0])
        x, y = row[1:1 + 2 * count:2], row[2:2 + 2 * count:2]
        slope, mean_x, mean_value, slope_error, residual_sd, at_end, band = row[1 + 2 * count:]
        fit = linregress([each - x[0] for each in x], y)
        close("slope a day", slope, fit.slope, 1e-9)
        close("standard error of a slope", slope_error, fit.stderr, 1e-9)
        close("the line at its end", at_end, fit.intercept + fit.slope * (x[-1] - x[0]), 1e-8)
        spread = sum((each - mean_x) ** 2 for each in x)
        want = t.ppf(0.975, count - 2) * residual_sd * math.sqrt(1 / count + (x[-1] - mean_x) ** 2 / spread)
        assert band >= want * (1 - 3e-4), (band, want)  # between two rows of its table the wider
        close("half a band, over what it must be", band / want, 1, 0.011)

    for row in grid("quantiles"):
        if row[0] >= 1:  # to the three digits of its table, between its rows the wider
            want = t.ppf(0.975, row[0])
            assert row[1] >= want - 0.0005, (row, want)
            close("Student's t", row[1], want, 0.0005 if row[0] <= 30 or row[0] in (40, 50, 60, 70, 80, 90, 100)
                  else 0.023)
        else:
            want = norm.ppf(row[0])
            close("normal deviate", row[1], want, 1e-13 * max(1, abs(want)))


{"gsw": gsw_water, "iapws": iapws_water, "fluids": fluids_air, "scipy": scipy_numerics}[library]()
assert compared >= 40, compared
print(f"{library}: {compared} comparisons hold; the largest deviations: " +
      ", ".join(f"{what} {most:.2g}" for what, most in worst.items()))
