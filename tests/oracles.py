"""The water model against independent libraries, through the program.

    oracles.py gsw|iapws PROBE

PROBE prints `temperature salinity pressure oxygen henry` lines of coldtank's own model. Exits 77,
skipped, where the library is not installed.
"""
import subprocess
import sys
import warnings

library, probe = sys.argv[1:]
lines = subprocess.run([probe], capture_output=True, text=True, check=True).stdout.split("\n")
rows = [tuple(map(float, line.split())) for line in lines if line]
assert len(rows) > 50

compared = 0
if library == "gsw":
    # TEOS-10: solubility after Garcia & Gordon 1992 with the coefficients of Benson & Krause 1984.
    try:
        import gsw
    except ImportError:
        print("python3-gsw is not installed: skipped")
        sys.exit(77)
    for temperature_c, salinity_g_kg, _, oxygen_mg_l, _ in rows:
        if salinity_g_kg not in (0, 5, 35) or temperature_c > 30:
            continue
        absolute = salinity_g_kg * 35.16504 / 35
        density = gsw.rho(absolute, gsw.CT_from_t(absolute, temperature_c, 0), 0)
        want = gsw.O2sol_SP_pt(salinity_g_kg, temperature_c) * density * 31.9988e-6
        assert abs(oxygen_mg_l - want) <= 0.0003 * want, (temperature_c, salinity_g_kg,
                                                          oxygen_mg_l, want)
        compared += 1
else:
    # IAPWS Guideline on the Henry's constant, G7-04: mole-fraction constants in MPa; R7-97 for water.
    warnings.simplefilter("ignore")  # below 278 K carbon dioxide is an extrapolation
    try:
        from iapws._iapws import _Henry, _Liquid
    except ImportError:
        print("python3-iapws is not installed: skipped")
        sys.exit(77)
    for temperature_c, salinity_g_kg, pressure_kpa, oxygen_mg_l, henry in rows:
        if salinity_g_kg != 0 or temperature_c > 30:
            continue
        kelvin = temperature_c + 273.15
        water_mol_l = _Liquid(kelvin)["rho"] / 18.015268
        co2 = water_mol_l / (_Henry(kelvin, "CO2") / 0.101325)
        assert abs(henry - co2) <= 0.06 * co2, (temperature_c, henry, co2)
        # Moist air: vapour pressure by Antoine's equation (NIST).
        vapour_kpa = 100 * 10 ** (4.6543 - 1435.264 / (kelvin - 64.848))
        oxygen_mpa = 0.20946 * (pressure_kpa - vapour_kpa) / 1000
        want = oxygen_mpa / _Henry(kelvin, "O2") * water_mol_l * 31998.8
        assert abs(oxygen_mg_l - want) <= 0.012 * want, (temperature_c, oxygen_mg_l, want)
        compared += 1
assert compared >= 20, compared
print(f"{library}: {compared} comparisons hold")
