"""Referee for lines and two-ports: scikit-rf.

Writes into the folder above (or `--out DIR`):
  line-scikit-rf.csv      lossy lines with constant R, L, G, C: impedance, gamma, S-parameters
  coax-scikit-rf.csv      line constants of coaxial cross-sections, exact skin effect
  two-port-scikit-rf.csv  conversion, renormalisation, cascade, de-embedding of random two-ports

Usage: .venv/bin/python testdata/reference/gen/line_with_scikit_rf.py [--out DIR]
"""

import argparse
import pathlib

import numpy as np
import skrf
from skrf.media import Coaxial, DistributedCircuit

HERE = pathlib.Path(__file__).resolve().parent
SEED = 20_261
RANDOM_CASES = 6
# Largest singular value of the random two-ports: passive, with a margin.
LARGEST_GAIN = 0.95

LINES = [
    # r_ohm_m, l_h_m, g_s_m, c_f_m, length_m, frequencies_hz
    (0.1, 252e-9, 1e-9, 101e-12, 10.0, [1e3, 1e5, 1e6, 1e7, 1e8]),
    (1.5, 375e-9, 2e-5, 67e-12, 1.5, [1e6, 3.3e7, 1.7e8, 1e9]),
    (8.0, 250e-9, 1e-3, 100e-12, 60.0, [1e6, 1e8, 1e9]),
    (0.0, 250e-9, 0.0, 100e-12, 0.7, [1e6, 123e6, 900e6]),
]

# Shield without end, m: many times the skin depth at the lowest frequency.
THICK = 1.0

COAXES = [
    # inner_diameter_m, outer_diameter_m, eps_r, tan_delta, conductivity_s_per_m, thickness_m
    (0.90e-3, 2.95e-3, 2.25, 0.0002, 5.8e7, THICK),
    (1.02e-3, 4.57e-3, 1.45, 0.0001, 5.8e7, THICK),
    (0.287e-3, 0.838e-3, 2.04, 0.0004, 6.1e7, THICK),
    (1.02e-3, 4.57e-3, 1.45, 0.0001, 5.8e7, 40e-6),
]
COAX_HZ = [1e2, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 6e9]


def header(what, columns):
    return [
        f"# {what}",
        f"# made by gen/line_with_scikit_rf.py with scikit-rf {skrf.__version__}, numpy {np.__version__}",
        columns,
    ]


def number(x):
    return format(float(x), ".15e")


def complex_fields(*values):
    return [number(part) for z in values for part in (z.real, z.imag)]


def line_rows():
    rows = header(
        "Lossy line between 50 ohm ports.",
        "r_ohm_m,l_h_m,g_s_m,c_f_m,length_m,freq_hz,z0_re,z0_im,gamma_re,gamma_im,"
        "s11_re,s11_im,s21_re,s21_im",
    )
    for r, l, g, c, length, frequencies in LINES:
        frequency = skrf.Frequency.from_f(frequencies, unit="hz")
        media = DistributedCircuit(frequency, z0_port=50.0, R=r, L=l, G=g, C=c)
        network = media.line(length, unit="m")
        for k, f in enumerate(frequencies):
            inputs = [number(x) for x in (r, l, g, c, length, f)]
            outputs = complex_fields(
                media.z0_characteristic[k], media.gamma[k], network.s[k, 0, 0], network.s[k, 1, 0]
            )
            rows.append(",".join(inputs + outputs))
    return rows


def coax_rows():
    rows = header(
        "Coaxial cross-sections; a shield 1 m thick stands for one without end.",
        "inner_diameter_m,outer_diameter_m,eps_r,tan_delta,conductivity_s_per_m,thickness_m,freq_hz,"
        "r_ohm_m,l_h_m,g_s_m,c_f_m,z0_re,z0_im,gamma_re,gamma_im",
    )
    frequency = skrf.Frequency.from_f(COAX_HZ, unit="hz")
    for d, outer, eps_r, tan_delta, sigma, thickness in COAXES:
        media = Coaxial(
            frequency, Dint=d, Dout=outer, epsilon_r=eps_r, tan_delta=tan_delta, sigma=sigma,
            tout=thickness, model="schelkunoff",
        )
        for k, f in enumerate(COAX_HZ):
            inputs = [number(x) for x in (d, outer, eps_r, tan_delta, sigma, thickness, f)]
            constants = [number(np.broadcast_to(np.real(x), len(COAX_HZ))[k])
                         for x in (media.R, media.L, media.G, media.C)]
            outputs = complex_fields(media.z0_characteristic[k], media.gamma[k])
            rows.append(",".join(inputs + constants + outputs))
    return rows


def random_two_port(rng):
    s = rng.normal(size=(2, 2)) + 1j * rng.normal(size=(2, 2))
    return s * LARGEST_GAIN / np.linalg.norm(s, 2)


def network(s, z0):
    return skrf.Network(f=[1.0], f_unit="hz", s=s[np.newaxis], z0=[z0])


def two_port_rows():
    rows = header(
        "Random passive two-ports: matrices row by row. References are 50 ohm unless named.",
        "case,what,m11_re,m11_im,m12_re,m12_im,m21_re,m21_im,m22_re,m22_im",
    )
    rng = np.random.default_rng(SEED)
    for case in range(RANDOM_CASES):
        s, other = random_two_port(rng), random_two_port(rng)
        here = network(s, [50, 50])
        there = network(other, [50, 50])
        mixed = network(s, [50, 75])
        to_75 = here.copy()
        to_75.renormalize(75)
        to_mixed = here.copy()
        to_mixed.renormalize([[25, 300]])
        matrices = {
            "s": s,
            "other": other,
            "z": here.z[0],
            "y": here.y[0],
            "h": here.h[0],
            "g": here.g[0],
            "abcd": here.a[0],
            "z-of-50-75": mixed.z[0],
            "abcd-of-50-75": mixed.a[0],
            "s-in-75": to_75.s[0],
            "s-in-25-300": to_mixed.s[0],
            "s-cascade-other": (here**there).s[0],
            "s-inverse-cascade-other": (here.inv**there).s[0],
        }
        for what, matrix in matrices.items():
            rows.append(",".join([str(case), what] + complex_fields(*np.ravel(matrix))))
    return rows


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--out", type=pathlib.Path, default=HERE.parent)
    out = parser.parse_args().out
    for name, rows in [
        ("line-scikit-rf.csv", line_rows()),
        ("coax-scikit-rf.csv", coax_rows()),
        ("two-port-scikit-rf.csv", two_port_rows()),
    ]:
        (out / name).write_text("\n".join(rows) + "\n", encoding="ascii")


if __name__ == "__main__":
    main()
