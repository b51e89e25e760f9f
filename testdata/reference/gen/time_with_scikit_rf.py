"""Referee for the transforms to the time domain: scikit-rf.

Writes into the folder above (or `--out DIR`):
  impulse-scikit-rf.csv   impulse responses of a line of three sections in closed form

Usage: .venv/bin/python testdata/reference/gen/time_with_scikit_rf.py [--out DIR]
"""

import argparse
import pathlib

import numpy as np
import skrf

HERE = pathlib.Path(__file__).resolve().parent
STEP_HZ = 1e6
POINTS = 200
SAMPLES = 40
EVERY = 4
# There and back through one section: delay and loss.
SECTION_S = 10e-9
SECTION_NP = 0.02


def line(freq_hz):
    """50 | 75 | 25 ohm | open, seen from 50 ohm."""
    way = np.exp(-2j * np.pi * freq_hz * SECTION_S - SECTION_NP)
    second = (-0.5 + way) / (1 - 0.5 * way)
    first = second * way
    return (0.2 + first) / (1 + 0.2 * first)


def quick_length(length):
    """The length that the program takes: a power of two, or three quarters of one."""
    power = 1 << (length - 1).bit_length()
    return power // 4 * 3 if power // 4 * 3 >= length else power


def impulse(mode, beta):
    """Times and impulse response from time 0, every fourth sample of the padded transform."""
    if mode == "low":
        freq_hz = STEP_HZ * np.arange(POINTS + 1)
        s = line(freq_hz)
        s[0] = 1
        length = quick_length(2 * 4 * len(freq_hz))
    else:
        freq_hz = 200e6 + STEP_HZ * np.arange(POINTS)
        s = line(freq_hz)
        length = quick_length(4 * len(freq_hz))
    network = skrf.Network(f=freq_hz, f_unit="hz", s=s, z0=50)
    bandpass = mode == "band"
    _, y = network.impulse_response(window=("kaiser", beta), n=length, bandpass=bandpass)
    if bandpass:
        window = skrf.Network(f=freq_hz, f_unit="hz", s=np.ones(POINTS), z0=50)
        y = np.abs(y) / np.max(
            np.abs(window.impulse_response(window=("kaiser", beta), n=length, bandpass=True)[1])
        )
    # time 0 stands in the middle; the library's own axis holds for odd lengths
    take = length // 2 + EVERY * np.arange(SAMPLES)
    return EVERY * np.arange(SAMPLES) / (length * STEP_HZ), y[take]


def rows():
    for mode, beta in [("low", 6), ("low", 13), ("band", 6)]:
        for t, y in zip(*impulse(mode, beta), strict=True):
            yield f"{mode},{beta},{float(t):.15e},{float(y):.15e}"


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--out", type=pathlib.Path, default=HERE.parent)
    out = parser.parse_args().out
    text = [
        "# impulse responses, every fourth sample from time 0; band: size over that of a lone reflection",
        f"# made by gen/time_with_scikit_rf.py with scikit-rf {skrf.__version__}, numpy {np.__version__}",
        "mode,beta,time_s,sample",
        *rows(),
    ]
    (out / "impulse-scikit-rf.csv").write_text("\n".join(text) + "\n", encoding="ascii")


if __name__ == "__main__":
    main()
