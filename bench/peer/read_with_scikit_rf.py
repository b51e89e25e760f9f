#!/usr/bin/env python3
"""Time scikit-rf on Touchstone files: best of several runs, microseconds, one line a file.

usage: read_with_scikit_rf.py FILES…
"""

import sys
import time

import skrf

RUNS = 5


def best_us(path):
    best = float("inf")
    for _ in range(RUNS):
        start = time.perf_counter()
        skrf.Network(path)
        best = min(best, time.perf_counter() - start)
    return 1e6 * best


def main():
    print(f"scikit-rf {skrf.__version__}", file=sys.stderr)
    for path in sys.argv[1:]:
        print(path.rsplit("/", 1)[-1], f"{best_us(path):.1f}")


main()
