#!/usr/bin/env python3
"""A plain analysis of the measured 10 m cable, with what its own readings say of their scatter.

Writes real-cable-numpy.csv into the folder above (or `--out DIR`): phase delay of S21, loss and
impedance by the eigenvalue of the chain matrix (the cable taken as uniform between the planes), each
at one reading, as people take them off a screen, with a standard uncertainty from three things that
no cable does:
  - S21 and S12 of a passive cable are equal: half of their mean squared difference nearby
  - a phase has no steps: what the analyser is off by changes where it changes its band, by as much
    as the steps there show; their squares, mean of both directions, are added for the edges above
    the frequency
  - loss and impedance are smooth: the scatter about a constant and a root of f nearby. It is large
    where the cable is a number of half waves and the eigenvalue hardly shows

Usage: python3 testdata/reference/gen/real_cable_with_numpy.py [--out DIR]
"""

import argparse
import pathlib

import numpy

HERE = pathlib.Path(__file__).resolve().parent
CABLE = HERE.parents[1] / "sweeps" / "paramrf" / "10m_cable.s2p"
# Readings within this factor are nearby.
NEARBY = 1.1
# Readings nearby at least, at the bottom of the band too.
FEWEST = 8
# Where the analyser changes its band: the phases of S21 and S12 step by 1.1 and 1.0 mrad at 2 MHz,
# that of S12 by 0.9 mrad at 4 MHz. No other jump up to 30 MHz reaches 0.7 mrad.
BAND_EDGES_HZ = (2e6, 4e6)


def load():
    columns = numpy.loadtxt(CABLE, comments=("!", "#")).T
    s11, s21, s12, s22 = (columns[i] + 1j * columns[i + 1] for i in (1, 3, 5, 7))
    return 1e9 * columns[0], s11, s21, s12, s22


def uniform_line(s11, s21, s12, s22, z_ref=50.0):
    """Propagation and characteristic impedance of a symmetrical two-port from its chain matrix."""
    loop = s12 * s21
    a = ((1 + s11) * (1 - s22) + loop) / (2 * s21)
    d = ((1 - s11) * (1 + s22) + loop) / (2 * s21)
    b = ((1 + s11) * (1 + s22) - loop) / (2 * s21)
    c = ((1 - s11) * (1 - s22) - loop) / (2 * s21)
    half = (a + d) / 2
    root = numpy.sqrt(half**2 - 1)
    grown = numpy.where(abs(half + root) > 1, half + root, half - root)
    return numpy.log(abs(grown)), z_ref * numpy.sqrt(b / c)


def steps(freq, phase):
    """Steps of the phase at the band edges: the rise there less that of its neighbours."""
    rise = numpy.diff(phase)
    edges = [numpy.argmin(abs(freq - edge)) for edge in BAND_EDGES_HZ]
    return [(freq[i], rise[i] - (rise[i - 1] + rise[i + 1]) / 2) for i in edges]


def nearby(freq, at):
    inside = numpy.flatnonzero((freq >= at / NEARBY) & (freq <= at * NEARBY))
    if len(inside) >= FEWEST:
        return inside
    return numpy.argsort(abs(freq - at))[:FEWEST]


def scatter(freq, values, at):
    near = nearby(freq, at)
    design = numpy.stack([numpy.ones(len(near)), numpy.sqrt(freq[near])], axis=1)
    fit = numpy.linalg.lstsq(design, values[near], rcond=None)[0]
    return numpy.sqrt(numpy.sum((values[near] - design @ fit) ** 2) / (len(near) - 2))


def delay(freq, s21, s12, at):
    phases = [numpy.unwrap(numpy.angle(s)) for s in (s21, s12)]
    index = numpy.argmin(abs(freq - at))
    near = nearby(freq, at)
    between = numpy.mean(numpy.angle(s21[near] / s12[near]) ** 2) / 2
    stepped = sum(step**2 for p in phases for edge, step in steps(freq, p) if edge > at) / 2
    omega = 2 * numpy.pi * freq[index]
    return freq[index], -phases[0][index] / omega, numpy.sqrt(between + stepped) / omega


def rows():
    freq, s11, s21, s12, s22 = load()
    attenuation, impedance = uniform_line(s11, s21, s12, s22)
    loss = 20 / numpy.log(10) * attenuation
    for at in (1e6, 1e7, 1e8, 5e8):
        yield "one_way_delay_s", *delay(freq, s21, s12, at)
    for at in (1e7, 5e7, 1e8, 2e8, 5e8):
        index = numpy.argmin(abs(freq - at))
        yield "loss_db", freq[index], loss[index], scatter(freq, loss, at)
    for at in (1e7, 3e8):
        index = numpy.argmin(abs(freq - at))
        yield "impedance_ohm", freq[index], impedance[index].real, scatter(freq, impedance.real, at)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--out", type=pathlib.Path, default=HERE.parent)
    out = parser.parse_args().out
    lines = [f"# numpy {numpy.__version__}; gen/real_cable_with_numpy.py", "quantity,freq_hz,value,u"]
    lines += [f"{name},{','.join(repr(float(v)) for v in values)}" for name, *values in rows()]
    (out / "real-cable-numpy.csv").write_text("\n".join(lines) + "\n", encoding="ascii")


if __name__ == "__main__":
    main()
