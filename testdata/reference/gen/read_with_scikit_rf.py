#!/usr/bin/env python3
"""Read the Touchstone files of testdata with scikit-rf and keep what it read.

Writes ../read-by-scikit-rf.csv: for each file every n-th point with its four (or one) scattering
parameters. Run again with: python3 testdata/reference/gen/read_with_scikit_rf.py
"""

from pathlib import Path

import numpy
import skrf

TESTDATA = Path(__file__).resolve().parents[2]
POINTS_KEPT = 25


def rows(path):
    network = skrf.Network(str(path))
    step = max(1, len(network.f) // POINTS_KEPT)
    name = path.relative_to(TESTDATA).as_posix()
    for index in range(0, len(network.f), step):
        s = network.s[index]
        order = [(0, 0)] if network.nports == 1 else [(0, 0), (1, 0), (0, 1), (1, 1)]
        values = [part for i, j in order for part in (s[i, j].real, s[i, j].imag)]
        numbers = [network.f[index], network.z0[index, 0].real, *values]
        yield f"{name},{len(network.f)},{index}," + ",".join(repr(float(v)) for v in numbers)


def main():
    files = sorted(TESTDATA.glob("sweeps/*/*.s?p")) + sorted(TESTDATA.glob("touchstone/*.*s*"))
    out = TESTDATA / "reference" / "read-by-scikit-rf.csv"
    with out.open("w", encoding="ascii", newline="\n") as f:
        f.write(f"# scikit-rf {skrf.__version__}, numpy {numpy.__version__}; gen/read_with_scikit_rf.py\n")
        f.write("# s11 s21 s12 s22, real and imaginary part each\n")
        f.write("file,points,index,freq_hz,z_ref_ohm,values\n")
        for path in files:
            f.writelines(row + "\n" for row in rows(path))


main()
