"""Referee for calibration: scikit-rf.

Writes into the folder above (or `--out DIR`):
  standards-scikit-rf.csv    reflections of described standards from 1 MHz to 3 GHz
  one-port-scikit-rf.csv     error terms from three standards and, by least squares, from five
  adapter-scikit-rf.csv      reflections behind an adapter, and the adapter

Usage: .venv/bin/python testdata/reference/gen/calibration_with_scikit_rf.py [--out DIR]
"""

import argparse
import pathlib

import numpy as np
import skrf
from skrf.calibration import OnePort
from skrf.media import DefinedGammaZ0, DistributedCircuit

HERE = pathlib.Path(__file__).resolve().parent
SEED = 20_262
CASES = 12
FREQ_HZ = np.array([1e6, 1e7, 1e8, 3e8, 9e8, 1.5e9, 3e9])

# Invented kits of ordinary size, and the type-N kit that the documentation of scikit-rf prints.
STANDARDS = [
    # name, kind, coefficients or (R, L, C), one_way_delay_s, offset_ohm, loss_ohm_per_s
    ("n-open", "open", (89.939e-15, 2536.8e-27, -264.99e-36, 13.4e-45), 40.856e-12, 50.0, 0.93e9),
    ("n-short", "short", (3.3998e-12, -496.4808e-24, 34.8314e-33, -0.7847e-42), 45.955e-12, 49.992, 1.087e9),
    ("flush-open", "open", (43e-15, 0.0, 0.0, 0.0), 0.0, 50.0, 0.0),
    ("flush-short", "short", (12e-12, 0.0, 0.0, 0.0), 0.0, 50.0, 0.0),
    ("offset-short", "short", (2e-12, 0.0, 0.0, 0.0), 150e-12, 50.3, 1.3e9),
    ("f-open-75", "open", (30e-15, 400e-27, 0.0, 0.0), 25e-12, 75.0, 1.1e9),
    ("load", "load", (49.6, 0.21e-9, 31e-15), 12e-12, 50.0, 1.0e9),
    ("load-75", "load", (75.4, 0.3e-9, 20e-15), 0.0, 75.0, 0.0),
]


def number(x):
    return format(float(x), ".15e")


def complex_fields(*values):
    return [number(part) for z in values for part in (z.real, z.imag)]


def header(what, columns):
    return [
        f"# {what}",
        f"# made by gen/calibration_with_scikit_rf.py with scikit-rf {skrf.__version__}, numpy {np.__version__}",
        columns,
    ]


def frequencies():
    return skrf.Frequency.from_f(FREQ_HZ, unit="hz")


def standard(kind, values, delay, z_off, loss):
    frequency = frequencies()
    medium = DefinedGammaZ0(frequency, z0_port=50.0, z0=50.0)
    if kind == "load":
        r, inductance, capacitance = values
        end = (medium.shunt_capacitor(capacitance) ** medium.inductor(inductance)
               ** medium.resistor(r) ** medium.short())
    else:
        cubic = np.polynomial.polynomial.polyval(FREQ_HZ, values)
        end = (medium.shunt_capacitor(cubic) ** medium.open() if kind == "open"
               else medium.inductor(cubic) ** medium.short())
    if delay > 0.0:
        skin = loss * delay * np.sqrt(FREQ_HZ / 1e9)
        line = DistributedCircuit(
            frequency, z0_port=50.0, R=skin, L=delay * z_off + skin / (2 * np.pi * FREQ_HZ),
            G=np.zeros(len(FREQ_HZ)), C=delay / z_off * np.ones(len(FREQ_HZ)),
        ).line(1.0, unit="m")
        end = line ** end
    return end


def standard_rows():
    rows = header(
        "Described standards against 50 ohm and, renormalised, against 75 ohm.",
        "name,freq_hz,reflection_re,reflection_im,in_75_re,in_75_im",
    )
    for name, *description in STANDARDS:
        network = standard(*description)
        other = network.copy()
        other.renormalize(75)
        for k, f in enumerate(FREQ_HZ):
            fields = complex_fields(network.s[k, 0, 0], other.s[k, 0, 0])
            rows.append(",".join([name, number(f)] + fields))
    return rows


def one_port(values):
    values = np.asarray(values, dtype=complex)
    return skrf.Network(f=[1.0], f_unit="hz", s=values.reshape(1, 1, 1), z0=50)


def normal(rng, size):
    return size * (rng.normal() + 1j * rng.normal()) / np.sqrt(2)


def error_rows():
    names = [f"{what}{i}" for i in range(5) for what in ("standard", "raw")]
    columns = ["case", "count"] + names + ["directivity", "source_match", "tracking", "device", "corrected"]
    split = [c if c in ("case", "count") else f"{c}_re,{c}_im" for c in columns]
    rows = header(
        "Random ports, standards with reading errors of 0.002; with 3 or 5 standards (unused: zero).",
        ",".join(split),
    )
    rng = np.random.default_rng(SEED)
    for case in range(CASES):
        count = 3 if case % 2 == 0 else 5
        e00, e11, t = normal(rng, 0.1), normal(rng, 0.15), np.exp(2j * np.pi * rng.random()) * (0.4 + rng.random())
        turn = np.exp(2j * np.pi * 0.15 * rng.random())
        ideals = np.array([turn, -turn, 0.02, 0.4j, 0.9 * np.exp(2.1j)][:count])
        raw = e00 + t * ideals / (1 - e11 * ideals)
        raw = raw + np.array([normal(rng, 0.002) for _ in range(count)])
        calibration = OnePort(ideals=[one_port(g) for g in ideals], measured=[one_port(m) for m in raw])
        calibration.run()
        terms = [calibration.coefs[k][0] for k in ("directivity", "source match", "reflection tracking")]
        device = normal(rng, 0.7)
        corrected = calibration.apply_cal(one_port(device)).s[0, 0, 0]
        pairs = [z for g, m in zip(ideals, raw, strict=True) for z in (g, m)]
        pairs += [0j] * (10 - len(pairs))
        rows.append(",".join([str(case), str(count)] + complex_fields(*pairs, *terms, device, corrected)))
    return rows


def adapter_rows():
    rows = header(
        "A line of 47 ohm, 120 ps and 0.05 dB at 1 GHz before a reflection of 0.6 e^(0.4j).",
        "freq_hz,reflection_re,reflection_im,seen_re,seen_im",
    )
    frequency = frequencies()
    np_at = 0.05 / (20 * np.log10(np.e)) * np.sqrt(FREQ_HZ / 1e9)
    medium = DefinedGammaZ0(
        frequency, z0_port=50.0, z0=47.0, gamma=np_at + 2j * np.pi * FREQ_HZ * 120e-12
    )
    reflection = 0.6 * np.exp(0.4j)
    device = DefinedGammaZ0(frequency, z0_port=50.0, z0=50.0).load(reflection)
    seen = medium.line(1.0, unit="m") ** device
    for k, f in enumerate(FREQ_HZ):
        rows.append(",".join([number(f)] + complex_fields(reflection, seen.s[k, 0, 0])))
    return rows


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--out", type=pathlib.Path, default=HERE.parent)
    out = parser.parse_args().out
    for name, rows in [
        ("standards-scikit-rf.csv", standard_rows()),
        ("one-port-scikit-rf.csv", error_rows()),
        ("adapter-scikit-rf.csv", adapter_rows()),
    ]:
        (out / name).write_text("\n".join(rows) + "\n", encoding="ascii")


if __name__ == "__main__":
    main()
