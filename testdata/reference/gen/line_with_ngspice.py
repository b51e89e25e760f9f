"""Referee for lines: the circuit simulator ngspice.

Writes into the folder above (or `--out DIR`):
  line-ngspice.csv     a uniform line with R, L, C (distributed model), open, short, load, and
                       between 50-ohm ports; one with G as a ladder of 4096 lumped sections
  damaged-ngspice.csv  three pieces of line with a series and a shunt element between them

Usage: python3 testdata/reference/gen/line_with_ngspice.py [--out DIR]
"""

import argparse
import math
import pathlib
import subprocess
import tempfile

HERE = pathlib.Path(__file__).resolve().parent
# The ladder doubles this often; its error is that of one section, (gamma l/2^12)^2/24.
DOUBLINGS = 12
UNIFORM = {"r": 0.2, "l": 252e-9, "c": 101e-12, "length": 10.0}
WITH_G = {"r": 1.5, "l": 375e-9, "g": 2e-4, "c": 67e-12, "length": 1.5}
PIECES = [
    {"r": 0.2, "l": 252e-9, "c": 101e-12, "length": 0.7},
    {"r": 0.3, "l": 200e-9, "c": 130e-12, "length": 0.05},
    {"r": 0.2, "l": 252e-9, "c": 101e-12, "length": 1.1},
]
SERIES_OHM, SERIES_H, SHUNT_F = 1.5, 3e-9, 2e-12


def version():
    text = subprocess.run(["ngspice", "--version"], capture_output=True, text=True, check=True).stdout
    return next(word for word in text.split() if word.startswith("ngspice-"))


def analyse(circuit, frequencies):
    """Complex voltages of nodes `near` and `far` at each frequency (linear steps)."""
    with tempfile.TemporaryDirectory() as folder:
        data = pathlib.Path(folder) / "out.dat"
        deck = [
            "referee", *circuit, ".options reltol=1e-12 abstol=1e-18 gmin=1e-18", ".control",
            "set numdgt=15",
            f"ac lin {len(frequencies)} {frequencies[0]!r} {frequencies[-1]!r}",
            f"wrdata {data} v(near) v(far)", ".endc", ".end",
        ]
        path = pathlib.Path(folder) / "deck.cir"
        path.write_text("\n".join(deck) + "\n", encoding="ascii")
        subprocess.run(["ngspice", "-b", str(path)], capture_output=True, check=False)
        rows = [[float(x) for x in line.split()] for line in data.read_text().splitlines()]
    for row, frequency in zip(rows, frequencies, strict=True):
        assert math.isclose(row[0], frequency, rel_tol=1e-12)
    return [(complex(*row[1:3]), complex(*row[4:6])) for row in rows]


def ports(end):
    source = ["vs source 0 dc 0 ac 1", "rs source near 50"]
    if end == "open":
        return source
    return [*source, "ve far 0 dc 0" if end == "short" else f"re far 0 {end}"]


def distributed(name, near, far, p):
    return [
        f"o{name} {near} 0 {far} 0 m{name}",
        f".model m{name} ltra(r={p['r']!r} l={p['l']!r} g=0 c={p['c']!r} len={p['length']!r})",
    ]


def ladder(near, far, p):
    """Sections C/2, R, L, C/2 with G beside C, two of each kind making one of the next."""
    part = p["length"] / 2**DOUBLINGS
    half_c, half_g = p["c"] * part / 2, p["g"] * part / 2
    lines = [
        ".subckt s0 a b",
        f"ca a 0 {half_c!r}", f"ra a 0 {1 / half_g!r}",
        f"r1 a m {p['r'] * part!r}", f"l1 m b {p['l'] * part!r}",
        f"cb b 0 {half_c!r}", f"rb b 0 {1 / half_g!r}",
        ".ends",
    ]
    for k in range(1, DOUBLINGS + 1):
        lines += [f".subckt s{k} a b", f"x1 a m s{k - 1}", f"x2 m b s{k - 1}", ".ends"]
    return [*lines, f"xl {near} {far} s{DOUBLINGS}"]


def number(x):
    return format(x, ".15e")


def rows_of(case, circuit_between, end, frequencies):
    """Rows case, end, freq, reflection at the near end and transmission, against 50 ohm."""
    voltages = analyse(ports(end) + circuit_between, frequencies)
    for frequency, (near, far) in zip(frequencies, voltages, strict=True):
        reflection, through = 2 * near - 1, 2 * far
        fields = [frequency, reflection.real, reflection.imag, through.real, through.imag]
        yield ",".join([case, end] + [number(x) for x in fields])


def header(what):
    return [
        f"# {what}",
        f"# made by gen/line_with_ngspice.py with {version()}",
        "case,end,freq_hz,reflection_re,reflection_im,transmission_re,transmission_im",
    ]


ENDS = ["open", "short", "50", "100"]


def line_rows():
    rows = header(
        "Lossy lines from a 50-ohm source: rlc r=0.2 l=252n c=101p 10 m; "
        "rlgc r=1.5 l=375n g=0.2m c=67p 1.5 m. Transmission is twice the far voltage."
    )
    for end in ENDS:
        uniform = distributed("l", "near", "far", UNIFORM)
        rows += rows_of("rlc", uniform, end, [1e6, 3e6, 5e6, 7e6])
        rows += rows_of("rlc", uniform, end, [100e6, 200e6, 300e6])
        rows += rows_of("rlgc", ladder("near", "far", WITH_G), end, [5e6, 55e6, 105e6])
    return rows


def damaged_rows():
    rows = header(
        "r=0.2 l=252n c=101p 0.7 m, 1.5 ohm + 3 nH in series, r=0.3 l=200n c=130p 50 mm, "
        "2 pF across, r=0.2 l=252n c=101p 1.1 m."
    )
    first, dent, last = PIECES
    circuit = [
        *distributed("a", "near", "p", first),
        f"rj p q {SERIES_OHM!r}", f"lj q r {SERIES_H!r}",
        *distributed("b", "r", "s", dent),
        f"cj s 0 {SHUNT_F!r}",
        *distributed("c", "s", "far", last),
    ]
    for end in ENDS:
        rows += rows_of("damaged", circuit, end, [10e6, 130e6, 250e6, 370e6, 490e6])
    return rows


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--out", type=pathlib.Path, default=HERE.parent)
    out = parser.parse_args().out
    for name, rows in [("line-ngspice.csv", line_rows()), ("damaged-ngspice.csv", damaged_rows())]:
        (out / name).write_text("\n".join(rows) + "\n", encoding="ascii")


if __name__ == "__main__":
    main()
