//! Files and peers that the benchmarks share.

pub mod estimating;

use std::f64::consts::TAU;
use std::fmt::Write;

use lineproof_core::formats::{Network, ReadOptions, read};
use num_complex::Complex64;

/// Sizes of files, points: a pocket analyser's, a bench analyser's, and far more than either.
pub const POINTS: [usize; 3] = [401, 1601, 100_000];

/// A sweep of a lossy line with an open end, or of the line between two ports, as instruments
/// print it: ten significant digits.
pub fn file(points: usize, ports: usize) -> String {
    let mut text = String::from("! invented sweep for benchmarks\n# Hz S RI R 50\n");
    for i in 0..points {
        let freq_hz = 1e6 + 1e9 * i as f64 / points as f64;
        let through = Complex64::from_polar((-freq_hz.sqrt() * 1e-5).exp(), -TAU * freq_hz * 10e-9);
        let open = through * through;
        let columns: &[Complex64] = match ports {
            1 => &[open],
            _ => &[open * 0.1, through, through, open * 0.1],
        };
        write!(text, "{freq_hz:.1}").expect("a string takes any text");
        for value in columns {
            write!(text, " {:.9e} {:.9e}", value.re, value.im).expect("a string takes any text");
        }
        text.push('\n');
    }
    text
}

/// Our reader; gives the number of points.
pub fn ours(text: &str, ports: usize) -> usize {
    let name = if ports == 1 { "a.s1p" } else { "a.s2p" };
    let measurement = read(text.as_bytes(), name, &ReadOptions::default());
    match measurement.expect("a plain file").network {
        Network::OnePort(sweep) => sweep.len(),
        Network::TwoPort(sweep) => sweep.freq_hz().len(),
    }
}

/// The peer: the standard library's words and numbers of all lines but the first two, nothing
/// else. Gives the sum so that no work is left out.
pub fn plain(text: &str) -> f64 {
    let rows = text.lines().skip(2);
    let mut values: Vec<f64> = Vec::new();
    for row in rows {
        values.extend(
            row.split_whitespace()
                .map(|w| w.parse::<f64>().expect("a number")),
        );
    }
    values.iter().sum()
}
