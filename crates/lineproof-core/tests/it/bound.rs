//! The estimate's errors against the smallest that are possible.
//!
//! `testdata/reference/bound-numpy.csv` holds a Bayesian Cramér–Rao bound for a few lines, computed
//! by an independent numpy model that knows the sizes of noise and errors; the lines' impedance and
//! propagation stand in `bound-lines-numpy.csv`. Here each line is swept many times: plugs,
//! standards, far ends and smooth errors drawn from the priors that the bound assumes, closed form,
//! wander along the line, white noise. The estimate knows none of the sizes. Where the line has no
//! wander the bound knows that it is uniform, which the estimate can't; that ratio is shown only.

#![allow(clippy::unwrap_used, reason = "helpers of tests are tests too")]

use std::f64::consts::TAU;
use std::fmt::Write as _;

use lineproof_core::bench::{Bench, FarEnd, Load};
use lineproof_core::estimate::estimate;
use lineproof_core::sweep::Sweep;
use lineproof_core::uncertain::Uncertain;
use num_complex::Complex64;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng as _, SeedableRng as _};

const J: Complex64 = Complex64::I;

/// Sweeps of each line. The rms of 100 errors is itself known to 7 %.
const SEEDS: u64 = 100;

/// Largest rms error of any quantity over its bound, where the bound knows no more than the model.
const LARGEST_RATIO: f64 = 1.3;

/// Reference and calibration load, ohm.
const REFERENCE_OHM: f64 = 50.0;
/// Delays of smooth errors, s: first and last.
const SUPPORT_S: (f64, f64) = (-0.5e-9, 2.5e-9);
/// Terms of a smooth error.
const TERMS: usize = 12;
/// Longest plug, s.
const LONGEST_PLUG_S: f64 = 250e-12;

#[test]
#[ignore = "a minute, in release only: a step of its own in ./check"]
fn errors_come_near_the_bound() {
    let mut table = format!(
        "{:<28} {:>10} {:>10} {:>10}\n",
        "rms error / bound", "impedance", "delay", "loss"
    );
    let mut far = Vec::new();
    for case in cases() {
        let ratios = case.rms_over_bound();
        let [z, delay, loss] = ratios;
        let uniform = if case.nodes == 0 { ", uniform" } else { "" };
        let name = format!("{}{uniform}", case.name);
        let _ = writeln!(table, "{name:<28} {z:>10.2} {delay:>10.2} {loss:>10.2}");
        if case.nodes > 0 && ratios.iter().any(|&r| r > LARGEST_RATIO) {
            far.push(format!("{name}: {ratios:.2?} times the bound"));
        }
    }
    println!("{table}");
    assert!(far.is_empty(), "{}", far.join("\n"));
}

/// One line with what can be known of it at best.
struct Case {
    name: String,
    far_ends: Vec<FarEnd>,
    noise: f64,
    shared: f64,
    connection: f64,
    /// rms of ln z at each node, and their number; no nodes: a uniform line.
    wander: f64,
    nodes: usize,
    /// Impedance at 100 MHz, ohm; delay without plugs at 300 MHz, s; loss at 100 MHz, dB.
    truth: [f64; 3],
    /// Smallest standard deviation of each, the delay with plugs.
    bound: [f64; 3],
    line: Vec<LineRow>,
}

/// The line at one frequency.
struct LineRow {
    freq_hz: f64,
    /// Characteristic impedance over the reference.
    zc: Complex64,
    gamma_l: Complex64,
}

fn fields(text: &str) -> impl Iterator<Item = Vec<&str>> {
    text.lines()
        .filter(|l| !l.starts_with('#') && !l.starts_with("case,"))
        .map(|l| l.split(',').collect())
}

fn cases() -> Vec<Case> {
    let lines = include_str!("../data/reference/bound-lines-numpy.csv");
    let number = |s: &str| s.parse::<f64>().unwrap();
    fields(include_str!("../data/reference/bound-numpy.csv"))
        .map(|row| Case {
            name: row[0].to_owned(),
            far_ends: row[1].split('+').map(far_end).collect(),
            noise: number(row[2]),
            shared: number(row[3]),
            connection: number(row[4]),
            wander: number(row[5]),
            nodes: row[6].parse().unwrap(),
            truth: [7, 8, 9].map(|i| number(row[i])),
            bound: [10, 11, 12].map(|i| number(row[i])),
            line: fields(lines)
                .filter(|l| l[0] == row[0])
                .map(|l| LineRow {
                    freq_hz: number(l[1]),
                    zc: Complex64::new(number(l[2]), number(l[3])).exp(),
                    gamma_l: Complex64::new(number(l[4]), number(l[5])),
                })
                .collect(),
        })
        .collect()
}

fn far_end(name: &str) -> FarEnd {
    match name {
        "open" => FarEnd::Open,
        "short" => FarEnd::Short,
        _ => FarEnd::Load,
    }
}

impl Case {
    fn rms_over_bound(&self) -> [f64; 3] {
        let mut squares = [0.0; 3];
        for seed in 0..SEEDS {
            let errors = self.errors(seed);
            for (sum, error) in squares.iter_mut().zip(errors) {
                *sum += error * error / SEEDS as f64;
            }
        }
        std::array::from_fn(|i| squares[i].sqrt() / self.bound[i])
    }

    /// Errors of impedance, delay and loss for one draw of everything random.
    fn errors(&self, seed: u64) -> [f64; 3] {
        let mut draw = Draw(ChaCha8Rng::seed_from_u64(seed));
        let setup = Setup::draw(&mut draw, self);
        let kit_load = Load {
            ohm: Uncertain::exact(REFERENCE_OHM),
            measured: true,
        };
        let mut bench = Bench::new(kit_load).unwrap();
        for &end in &self.far_ends {
            let sweep = self.sweep(&setup, end, &mut draw);
            bench.add_sweep(end, sweep, end.to_string()).unwrap();
        }
        let found = estimate(&bench).unwrap_or_else(|e| panic!("{} seed {seed}: {e}", self.name));
        let delay_s = self.truth[1] + setup.near.delay_s + setup.far.delay_s;
        [
            found.impedance_ohm(1e8).value - self.truth[0] * setup.mean_ratio(),
            found.one_way_delay_s(3e8).value - delay_s,
            found.loss_db(1e8).value - self.truth[2],
        ]
    }

    fn sweep(&self, setup: &Setup, end: FarEnd, draw: &mut Draw) -> Sweep {
        let offset = Smooth::draw(draw, self.connection);
        let proportional = Smooth::draw(draw, self.connection);
        let [shared_offset, shared_proportional, quadratic] = &setup.shared;
        let reading = |row: &LineRow| {
            let f = row.freq_hz;
            let b = setup.calibrated(f, setup.reflection(row, end));
            let white = draw.complex() * self.noise * std::f64::consts::FRAC_1_SQRT_2;
            b + shared_offset.at(f)
                + offset.at(f)
                + (shared_proportional.at(f) + proportional.at(f)) * b
                + quadratic.at(f) * b * b
                + white
        };
        let readings = self.line.iter().map(reading).collect();
        let freq_hz = self.line.iter().map(|row| row.freq_hz).collect();
        Sweep::new(freq_hz, readings, REFERENCE_OHM).unwrap()
    }
}

/// A plug: a lossless line.
struct Plug {
    z: f64,
    delay_s: f64,
}

impl Plug {
    fn draw(draw: &mut Draw) -> Self {
        Self {
            z: (0.18 * draw.normal()).exp(),
            delay_s: LONGEST_PLUG_S / (1.0 + (1.1 - 1.3 * draw.normal()).exp()),
        }
    }

    fn before(&self, f: f64, end: Complex64) -> Complex64 {
        let z = Complex64::from(self.z);
        through_line(z, J * TAU * f * self.delay_s, end)
    }
}

/// Reflection against the reference of a line with this far end, by the textbook's
/// Γ e^(−2γl) between two changes of reference.
fn through_line(z: Complex64, gamma_l: Complex64, end: Complex64) -> Complex64 {
    let rho = (z - 1.0) / (z + 1.0);
    let inside = (end - rho) / (1.0 - rho * end) * (-2.0 * gamma_l).exp();
    (rho + inside) / (1.0 + rho * inside)
}

/// Everything random that the sweeps of one line share. Capacitances times and inductances over
/// the reference, s.
struct Setup {
    near: Plug,
    far: Plug,
    open: f64,
    short: f64,
    load_l: f64,
    load_c: f64,
    end_open: f64,
    end_short: f64,
    end_load_l: f64,
    end_load_c: f64,
    shared: [Smooth; 3],
    /// ln of impedance over the line's at each node.
    nodes: Vec<f64>,
}

impl Setup {
    fn draw(draw: &mut Draw, case: &Case) -> Self {
        let r = REFERENCE_OHM;
        let mut around = |mean: f64, spread: f64| mean + spread * draw.normal();
        let [open, end_open] = [around(35e-15, 18e-15) * r, around(0.0, 15e-15) * r];
        let [short, end_short] = [around(18e-12, 14e-12) / r, around(0.0, 12e-12) / r];
        let [load_l, end_load_l] = [around(0.08e-9, 0.09e-9) / r, around(0.0, 0.05e-9) / r];
        let [load_c, end_load_c] = [around(15e-15, 15e-15) * r, around(0.0, 10e-15) * r];
        Self {
            near: Plug::draw(draw),
            far: Plug::draw(draw),
            open,
            short,
            load_l,
            load_c,
            end_open,
            end_short,
            end_load_l,
            end_load_c,
            shared: [1.0, 1.5, 1.5].map(|size| Smooth::draw(draw, size * case.shared)),
            nodes: (0..case.nodes)
                .map(|_| case.wander * draw.normal())
                .collect(),
        }
    }

    fn mean_ratio(&self) -> f64 {
        (self.nodes.iter().sum::<f64>() / self.nodes.len().max(1) as f64).exp()
    }

    /// ln of impedance over the line's in each section: two a node, straight between the middles.
    fn sections(&self) -> Vec<f64> {
        let n = self.nodes.len();
        let at = |i: usize| {
            let (this, odd) = (i / 2, i % 2 == 1);
            let next = if odd {
                (this + 1).min(n - 1)
            } else {
                this.saturating_sub(1)
            };
            0.75 * self.nodes[this] + 0.25 * self.nodes[next]
        };
        if n == 0 {
            vec![0.0]
        } else {
            (0..2 * n).map(at).collect()
        }
    }

    /// Reflection at the near plug, as it is.
    fn reflection(&self, row: &LineRow, end: FarEnd) -> Complex64 {
        let f = row.freq_hz;
        let end = match end {
            FarEnd::Open => open(f, self.open + self.end_open),
            FarEnd::Short => short(f, self.short + self.end_short),
            FarEnd::Load => load(
                f,
                self.load_l + self.end_load_l,
                self.load_c + self.end_load_c,
            ),
        };
        let far = self.far.before(f, end);
        let sections = self.sections();
        let gamma_l = row.gamma_l / sections.len() as f64;
        let line = sections.iter().rev().fold(far, |end, ln_ratio| {
            through_line(row.zc * ln_ratio.exp(), gamma_l, end)
        });
        self.near.before(f, line)
    }

    /// What a calibration reads that took its standards for +1, −1 and 0: the cross-ratio of four
    /// reflections is kept by every bilinear map.
    fn calibrated(&self, f: f64, seen: Complex64) -> Complex64 {
        let (o, s) = (open(f, self.open), short(f, self.short));
        let l = load(f, self.load_l, self.load_c);
        let ratio = (seen - l) * (o - s) / ((seen - s) * (o - l));
        // (x − 0)(1 + 1)/((x + 1)(1 − 0)) = ratio
        ratio / (2.0 - ratio)
    }
}

fn open(f: f64, time_s: f64) -> Complex64 {
    let y = J * TAU * f * time_s;
    (1.0 - y) / (1.0 + y)
}

fn short(f: f64, time_s: f64) -> Complex64 {
    let z = J * TAU * f * time_s;
    (z - 1.0) / (z + 1.0)
}

fn load(f: f64, series_s: f64, parallel_s: f64) -> Complex64 {
    let y = 1.0 / (1.0 + J * TAU * f * series_s) + J * TAU * f * parallel_s;
    (1.0 - y) / (1.0 + y)
}

/// A smooth error: equally spaced echoes of random size.
struct Smooth(Vec<Complex64>);

impl Smooth {
    /// An error of this rms.
    fn draw(draw: &mut Draw, rms: f64) -> Self {
        let size = rms / (2.0 * TERMS as f64).sqrt();
        Self((0..TERMS).map(|_| draw.complex() * size).collect())
    }

    fn at(&self, f: f64) -> Complex64 {
        let step_s = (SUPPORT_S.1 - SUPPORT_S.0) / (TERMS - 1) as f64;
        let echo = |(i, a): (usize, &Complex64)| {
            a * Complex64::cis(-TAU * f * (SUPPORT_S.0 + step_s * i as f64))
        };
        self.0.iter().enumerate().map(echo).sum()
    }
}

/// Seeded draws.
struct Draw(ChaCha8Rng);

impl Draw {
    fn uniform(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Box and Muller's transform.
    fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.uniform()).ln()).sqrt();
        radius * (TAU * self.uniform()).cos()
    }

    /// Two normal numbers.
    fn complex(&mut self) -> Complex64 {
        Complex64::new(self.normal(), self.normal())
    }
}
