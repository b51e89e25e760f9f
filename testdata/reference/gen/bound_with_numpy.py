"""How well impedance, delay and loss can be known at all: a Bayesian Cramér–Rao bound.

For each case the line is given. Everything else that the sweeps depend on (plugs, standards, far
ends, smooth errors, wander of the impedance) is unknown with a Gaussian prior, and so are the
line's nine unknowns. With J the derivatives of the readings by the unknowns in units of their
priors, noise white and known, the covariance that no estimate beats on average is (JᵀJ + 1)⁻¹
(H. L. Van Trees, *Detection, Estimation, and Modulation Theory*, part I, section 2.4, from memory).
J depends on the plugs, so that the variances are averaged over DRAWS draws of all that is random.

The bound knows the sizes of noise, errors and wander; an estimate that has to find these out can
only do worse. Without wander the bound knows that the line is uniform.

Usage: .venv/bin/python testdata/reference/gen/bound_with_numpy.py [--out FOLDER]
"""

import argparse
import pathlib
import platform

import numpy as np
import scipy
import sweep_model as model

DRAWS = 16
SEED = 20
NOISE = 5e-4
SHARED = 1e-3
CONNECTION = 5e-4
POINTS = 201

# name, far ends, stop; line: impedance, delay, conductor loss, loss tangent, and by how many
# prior deviations the shape's unknowns (radius, reactance, exponent, share, shield) are off
LINES = [
    ("50-ohm-1m", "open+load", 300e6, (50.0, 5.0e-9, 250.0, 2.5e-4), (0.5, 0.3, 0, 0, 0.5)),
    ("75-ohm-1.5m", "open+load", 300e6, (75.0, 7.6e-9, 300.0, 3e-4), (-0.5, 0.5, 0.5, -0.5, 0)),
    ("75-ohm-open-short", "open+short", 500e6, (75.0, 7.6e-9, 300.0, 3e-4),
     (0.5, 0.3, -0.5, 0.5, -0.5)),
    ("50-ohm-4m", "open+load", 300e6, (50.0, 20e-9, 150.0, 2e-4), (0.5, 0.3, 0.5, 0.5, 0.5)),
]
START_HZ = 1e6
# rms of ln z at each node: a good cable, and one that is known to be uniform
WANDERS = [1e-3, 0.0]
NODES_PER_TURN = 6
FEWEST_NODES = 8


def line_unknowns(given, off):
    z_ohm, delay_s, conductor, tan_delta = given
    mean, scale = model.prior_of_singles(delay_s)
    shape = mean[4:9] + np.array(off) * scale[4:9]
    head = [np.log(z_ohm / model.REFERENCE_OHM), delay_s, np.log(conductor), np.log(tan_delta)]
    return np.array(head + list(shape))


def delay_with_plugs(theta):
    plugs = model.plug_delay(theta[model.AT["near_delay"]])
    plugs += model.plug_delay(theta[model.AT["far_delay"]])
    return model.quantities(theta[:9])[1] + plugs


def stated(theta, nodes):
    """Mean impedance, delay with plugs, loss."""
    values = model.quantities(theta[:9], nodes)
    return np.array([values[0], delay_with_plugs(theta), values[2]])


def gradient(sweeps, theta):
    """Derivatives of the stated quantities in units of the prior."""
    out = np.zeros((3, sweeps.size))
    for k in [*range(len(model.SINGLES)), *range(sweeps.first_node, sweeps.size)]:
        step = np.zeros(sweeps.size)
        step[k] = 1e-3 * sweeps.scale[k]
        up, down = (stated(t, t[sweeps.first_node:]) for t in (theta + step, theta - step))
        out[:, k] = (up - down) / 2e-3
    return out


def variances(sweeps, theta):
    rows = sweeps.jacobian(theta).reshape(-1, sweeps.size)
    # noise is stated for the complex reading: half of its variance in each part
    rows = np.concatenate([rows.real, rows.imag]) * np.sqrt(2) / NOISE
    covariance = np.linalg.inv(rows.T @ rows + np.eye(sweeps.size))
    g = gradient(sweeps, theta)
    return np.einsum("qi,ij,qj->q", g, covariance, g)


def bound(far_ends, f, line, wander):
    """Bounds, and the number of nodes of the wander."""
    nodes = max(FEWEST_NODES, int(np.ceil(NODES_PER_TURN * line[1] * f[-1]))) if wander else 0
    sweeps = model.Model(f, far_ends.split("+"), line[1], SHARED, CONNECTION, wander, nodes)
    rng = np.random.default_rng(SEED)
    squares = np.zeros(3)
    for _ in range(DRAWS):
        theta = sweeps.mean + sweeps.scale * rng.standard_normal(sweeps.size)
        theta[:9] = line
        squares += variances(sweeps, theta) / DRAWS
    return np.sqrt(squares), nodes


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--out", type=pathlib.Path, default=pathlib.Path(__file__).parents[1])
    folder = parser.parse_args().out
    made = f"# numpy {np.__version__}, scipy {scipy.__version__}, Python {platform.python_version()}"
    cases = [made, "case,far_ends,noise,shared,connection,wander,nodes,z_at_100mhz_ohm,"
             "cable_delay_at_300mhz_s,loss_at_100mhz_db,bound_z_ohm,bound_delay_s,bound_loss_db"]
    lines = [made, "case,freq_hz,ln_zc_re,ln_zc_im,gamma_l_re,gamma_l_im"]
    for name, far_ends, stop_hz, given, off in LINES:
        unknowns = line_unknowns(given, off)
        f = np.linspace(START_HZ, stop_hz, POINTS)
        for wander in WANDERS:
            bounds, nodes = bound(far_ends, f, unknowns, wander)
            numbers = [f"{x:.6e}" for x in model.quantities(unknowns)]
            # four digits: differences of floating-point numbers carry no more on every machine
            numbers += [f"{x:.3e}" for x in bounds]
            row = [name, far_ends, NOISE, SHARED, CONNECTION, wander, nodes]
            cases.append(",".join([*map(str, row), *numbers]))
        ln_zc, gamma_l = model.line(unknowns, f)
        for row in zip(f, ln_zc.real, ln_zc.imag, gamma_l.real, gamma_l.imag, strict=True):
            lines.append(",".join([name, *(f"{x:.10e}" for x in row)]))
    (folder / "bound-numpy.csv").write_text("\n".join(cases) + "\n", encoding="ascii")
    (folder / "bound-lines-numpy.csv").write_text("\n".join(lines) + "\n", encoding="ascii")


if __name__ == "__main__":
    main()
