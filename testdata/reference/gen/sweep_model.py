"""Sweeps of one cable as a function of unknowns with Gaussian priors, in numpy.

Written from the equations in docs/estimation.md; shares no code with the program. Reflections and
impedances are against the calibration load. Used by bound_with_numpy.py, and by the benchmarks'
peer in bench/peer.
"""

import dataclasses

import numpy as np
from scipy.special import jve

MU_0 = 4e-7 * np.pi
COPPER_S_M = 5.8e7
DEPTH_AT_1_HZ = 1 / np.sqrt(np.pi * MU_0 * COPPER_S_M)
DB_PER_NEPER = 20 / np.log(10)
REFERENCE_OHM = 50.0
# earliest and latest delay of the smooth errors, s
SUPPORT_S = (-0.5e-9, 2.5e-9)
LONGEST_PLUG_S = 250e-12

LINE = ["ln_z", "delay", "ln_conductor", "ln_tan", "ln_radius", "ln_reactance", "exponent",
        "share", "ln_shield"]
SINGLES = LINE + ["near_ln_z", "near_delay", "far_ln_z", "far_delay", "std_open", "std_short",
                  "std_load_l", "std_load_c", "end_open", "end_short", "end_load_l", "end_load_c",
                  "end_load_ln_r"]
AT = {name: i for i, name in enumerate(SINGLES)}


def prior_of_singles(delay_s):
    """Mean and standard deviation of the single unknowns."""
    r = REFERENCE_OHM
    rows = {
        "ln_z": (np.log(60 / r), 0.5), "delay": (delay_s, 0.3 * delay_s),
        "ln_conductor": (np.log(273), 0.9), "ln_tan": (np.log(3e-4), 0.7),
        "ln_radius": (np.log(0.35e-3), 0.7), "ln_reactance": (-0.1, 0.3),
        "exponent": (0, 0.015), "share": (-0.6, 0.6), "ln_shield": (np.log(0.1e-3), 0.5),
        "near_ln_z": (0, 0.18), "near_delay": (-1.1, 1.3),
        "far_ln_z": (0, 0.18), "far_delay": (-1.1, 1.3),
        "std_open": (35e-15 * r, 18e-15 * r), "std_short": (18e-12 / r, 14e-12 / r),
        "std_load_l": (0.08e-9 / r, 0.09e-9 / r), "std_load_c": (15e-15 * r, 15e-15 * r),
        "end_open": (0, 15e-15 * r), "end_short": (0, 12e-12 / r),
        "end_load_l": (0, 0.05e-9 / r), "end_load_c": (0, 10e-15 * r), "end_load_ln_r": (0, 1e-5),
    }
    table = np.array([rows[name] for name in SINGLES], dtype=float)
    return table[:, 0], table[:, 1]


def line(p, f):
    """ln Zc and γl of the whole piece at the frequencies f from the nine line unknowns."""
    ln_z, delay, ln_conductor, ln_tan, ln_radius, ln_reactance, exponent, share, ln_shield = p
    root = np.sqrt(f)
    ka = (1 - 1j) * root / DEPTH_AT_1_HZ * np.exp(ln_radius)
    wire = (1 - 1j) * root * jve(0, ka) / jve(1, ka)
    thick = (1 + 1j) * root / DEPTH_AT_1_HZ * np.exp(ln_shield)
    shield = (1 + 1j) * root / np.tanh(thick)
    part = 1 / (1 + np.exp(-share))
    shape = (1 - part) * wire + part * shield
    # (jω)^(1/2 + exponent) has this ratio of reactance to resistance (causality)
    tilt = np.tan(0.5 * np.pi * (0.5 + exponent))
    bent = (f / 1e8) ** exponent * (
        shape.real + 1j * shape.imag * np.exp(ln_reactance) * tilt
    )
    omega, z = 2 * np.pi * f, np.exp(ln_z)
    series = 1j * omega * delay * z + 2 * z * delay * np.exp(ln_conductor) * bent
    shunt = 1j * omega * delay / z * (1 - 1j * np.exp(ln_tan))
    return 0.5 * np.log(series / shunt), np.sqrt(series * shunt)


def quantities(p, nodes=()):
    """Impedance at 100 MHz, ohm; delay of the cable at 300 MHz, s; loss at 100 MHz, dB."""
    ln_zc, gamma_l = line(p, np.array([1e8, 3e8]))
    mean = np.mean(nodes) if len(nodes) else 0.0
    return np.array([
        REFERENCE_OHM * np.exp(ln_zc[0] + mean).real,
        gamma_l[1].imag / (2 * np.pi * 3e8),
        gamma_l[0].real * DB_PER_NEPER,
    ])


def plug_delay(unknown):
    return LONGEST_PLUG_S / (1 + np.exp(-unknown))


def standards(s, f):
    """Reflections of the calibration's real open, short and load."""
    jw = 2j * np.pi * f
    y, z = jw * s[AT["std_open"]], jw * s[AT["std_short"]]
    y_load = 1 / (1 + jw * s[AT["std_load_l"]]) + jw * s[AT["std_load_c"]]
    return (1 - y) / (1 + y), (z - 1) / (z + 1), (1 - y_load) / (1 + y_load)


def far_end(kind, s, f):
    jw = 2j * np.pi * f
    if kind == "open":
        y = jw * (s[AT["std_open"]] + s[AT["end_open"]])
        return (1 - y) / (1 + y)
    if kind == "short":
        z = jw * (s[AT["std_short"]] + s[AT["end_short"]])
        return (z - 1) / (z + 1)
    z = np.exp(s[AT["end_load_ln_r"]]) + jw * (s[AT["std_load_l"]] + s[AT["end_load_l"]])
    y = 1 / z + jw * (s[AT["std_load_c"]] + s[AT["end_load_c"]])
    return (1 - y) / (1 + y)


def calibrated(s, f, g):
    """The bilinear map that takes the real standards to +1, −1 and 0."""
    o, sh, ld = standards(s, f)
    x, a, b = g - ld, 1 / (o - ld), 1 / (sh - ld)
    return 0.5 * (a - b) * x / (1 - 0.5 * (a + b) * x)


@dataclasses.dataclass
class Model:
    """Sweeps of given far ends over one grid.

    Unknowns: singles, then three shared smooth functions, then two for each sweep, then nodes of
    ln z along the cable. A smooth function has `terms` complex coefficients.
    """

    f: np.ndarray
    kinds: list
    delay_s: float
    shared: float
    connection: float
    wander: float
    nodes: int

    def __post_init__(self):
        span = self.f[-1] - self.f[0]
        self.terms = 4 + int(np.ceil(1.3 * span * (SUPPORT_S[1] - SUPPORT_S[0])))
        delays = np.linspace(*SUPPORT_S, self.terms)
        self.basis = np.exp(-2j * np.pi * np.outer(self.f, delays))
        functions = 3 + 2 * len(self.kinds)
        self.first_node = len(SINGLES) + 2 * self.terms * functions
        self.size = self.first_node + self.nodes
        mean, scale = prior_of_singles(self.delay_s)
        per_term = 1 / np.sqrt(2 * self.terms)
        sizes = [self.shared * k for k in (1, 1.5, 1.5)] + [self.connection] * (functions - 3)
        smooth = np.repeat(np.array(sizes) * per_term, 2 * self.terms)
        self.mean = np.concatenate([mean, np.zeros(self.size - len(mean))])
        self.scale = np.concatenate([scale, smooth, np.full(self.nodes, self.wander)])
        # two sections a node; a node stands at the middle of its own, ln z is straight between
        sections = 2 * self.nodes if self.nodes else 1
        place = (np.arange(sections) + 0.5) / 2 - 0.5
        self.weights = np.zeros((sections, self.nodes))
        for row in range(sections if self.nodes else 0):
            first = int(np.clip(np.floor(place[row]), 0, self.nodes - 1))
            second, share = min(first + 1, self.nodes - 1), np.clip(place[row] - first, 0, 1)
            self.weights[row, first] += 1 - share
            self.weights[row, second] += share

    def smooth(self, theta, function):
        first = len(SINGLES) + 2 * self.terms * function
        pairs = theta[first:first + 2 * self.terms]
        return self.basis @ (pairs[0::2] + 1j * pairs[1::2])

    def lay(self, singles, nodes):
        """ln z (one row each) of near plug, sections of the cable, far plug, and their e^(−2γl)."""
        ln_zc, gamma_l = line(singles[:len(LINE)], self.f)
        along = self.weights @ nodes if self.nodes else np.zeros(1)
        near, far = (np.full((1, len(self.f)), singles[AT[end]]) for end in ("near_ln_z", "far_ln_z"))
        ln_z = np.concatenate([near, ln_zc + along[:, None], far])
        turns = np.empty_like(ln_z)
        turns[1:-1] = np.exp(-2 * gamma_l / len(along))
        for row, end in ((0, "near_delay"), (-1, "far_delay")):
            turns[row] = np.exp(-4j * np.pi * self.f * plug_delay(singles[AT[end]]))
        return ln_z, turns

    def reflect(self, ln_z, turns, far):
        """Reflections of the interfaces, and Γ just behind each; the last is the far end's."""
        edge = np.zeros((1, len(self.f)))
        rho = np.tanh(0.5 * np.diff(ln_z, axis=0, prepend=edge, append=edge))
        behind = np.empty_like(rho)
        behind[-1] = far
        for i in range(len(ln_z) - 1, -1, -1):
            behind[i] = across(rho[i + 1], behind[i + 1]) * turns[i]
        return rho, behind

    def chain(self, singles, nodes, kind):
        """Reflection after the calibration's map, before the smooth errors."""
        ln_z, turns = self.lay(singles, nodes)
        rho, behind = self.reflect(ln_z, turns, far_end(kind, singles, self.f))
        return calibrated(singles, self.f, across(rho[0], behind[0]))

    def chain_gradient(self, singles, nodes, kind):
        """The same, with derivatives by singles and nodes in units of the prior.

        The stack's by its adjoint; the closed forms at its ends and the line's law by central
        differences, which cost little.
        """
        ln_z, turns = self.lay(singles, nodes)
        far = far_end(kind, singles, self.f)
        rho, behind = self.reflect(ln_z, turns, far)
        g = across(rho[0], behind[0])
        value = calibrated(singles, self.f, g)
        # Γ at the near end by ln z and by −2γl of each section, and by the far end
        by_step, by_turn = np.empty_like(behind), np.empty_like(turns)
        adjoint = np.ones_like(self.f, dtype=complex)
        for i in range(len(behind)):
            common = adjoint / (1 + rho[i] * behind[i]) ** 2
            by_step[i] = common * (1 - behind[i] ** 2) * 0.5 * (1 - rho[i] ** 2)
            adjoint = common * (1 - rho[i] ** 2)
            if i < len(turns):
                by_turn[i] = adjoint * behind[i]
                adjoint = adjoint * turns[i]
        by_ln_z = by_step[:-1] - by_step[1:]
        out = np.zeros((len(self.f), len(SINGLES) + self.nodes), dtype=complex)
        body = slice(1, -1)
        for k in range(len(LINE)):
            up, down = (line(moved(singles[:len(LINE)], k, h * self.scale[k]), self.f)
                        for h in (1e-4, -1e-4))
            d_ln_z, d_gamma = (np.subtract(u, d) / 2e-4 for u, d in zip(up, down, strict=True))
            each = -2 * d_gamma / (len(ln_z) - 2)
            out[:, k] = by_ln_z[body].sum(0) * d_ln_z + by_turn[body].sum(0) * each
        for row, z_name, delay_name in ((0, "near_ln_z", "near_delay"), (-1, "far_ln_z", "far_delay")):
            out[:, AT[z_name]] = by_ln_z[row] * self.scale[AT[z_name]]
            part = plug_delay(singles[AT[delay_name]])
            slope = part * (1 - part / LONGEST_PLUG_S) * self.scale[AT[delay_name]]
            out[:, AT[delay_name]] = by_turn[row] * -4j * np.pi * self.f * slope
        for k in range(AT["std_open"], len(SINGLES)):
            up, down = (far_end(kind, moved(singles, k, h * self.scale[k]), self.f)
                        for h in (1e-4, -1e-4))
            out[:, k] = adjoint * (up - down) / 2e-4
        if self.nodes:
            out[:, len(SINGLES):] = (by_ln_z[body].T @ self.weights) * self.scale[self.first_node:]
        step = 1e-6
        through = (calibrated(singles, self.f, g + step) - calibrated(singles, self.f, g - step)) / (2 * step)
        out *= through[:, None]
        for k in range(AT["std_open"], AT["std_load_c"] + 1):
            up, down = (calibrated(moved(singles, k, h * self.scale[k]), self.f, g)
                        for h in (1e-4, -1e-4))
            out[:, k] += (up - down) / 2e-4
        return value, out

    def predict(self, theta):
        """All sweeps, one row each."""
        singles, nodes = theta[:len(SINGLES)], theta[self.first_node:]
        common = [self.smooth(theta, i) for i in range(3)]
        rows = []
        for i, kind in enumerate(self.kinds):
            b = self.chain(singles, nodes, kind)
            offset = common[0] + self.smooth(theta, 3 + 2 * i)
            proportional = common[1] + self.smooth(theta, 4 + 2 * i)
            rows.append(b + offset + proportional * b + common[2] * b * b)
        return np.array(rows)

    def jacobian(self, theta):
        """Derivatives of predict in units of the prior."""
        out = np.zeros((len(self.kinds), len(self.f), self.size), dtype=complex)
        singles, nodes = theta[:len(SINGLES)], theta[self.first_node:]
        common = [self.smooth(theta, i) for i in range(3)]
        for i, kind in enumerate(self.kinds):
            b, by_chain = self.chain_gradient(singles, nodes, kind)
            by_b = 1 + common[1] + self.smooth(theta, 4 + 2 * i) + 2 * common[2] * b
            by_chain *= by_b[:, None]
            out[i, :, :len(SINGLES)] = by_chain[:, :len(SINGLES)]
            out[i, :, self.first_node:] = by_chain[:, len(SINGLES):]
            factors = {0: 1 + 0 * b, 1: b, 2: b * b, 3 + 2 * i: 1 + 0 * b, 4 + 2 * i: b}
            for function, factor in factors.items():
                first = len(SINGLES) + 2 * self.terms * function
                last = first + 2 * self.terms
                column = self.basis * factor[:, None]
                out[i, :, first:last:2] = column * self.scale[first:last:2]
                out[i, :, first + 1:last:2] = 1j * column * self.scale[first + 1:last:2]
        return out


def across(rho, g):
    """Reflection seen through an interface of reflection rho."""
    return (rho + g) / (1 + rho * g)


def moved(values, k, step):
    out = np.array(values, dtype=float)
    out[k] += step
    return out
