//! What the joint fit leaves unexplained, by frequency.
//!
//! [`kink`]: a band of many points in which what is left does not average out as noise does, while
//! elsewhere it does: something resonant that is no part of a line, most often common-mode current on
//! the outside of the cable or along the analyser's lead. [`periodic`]: a narrow band in which the cable's
//! unevenness reflects far more than in the rest: a defect that repeats every VF·c/(2f).

use num_complex::Complex64;

use crate::bench::Bench;
use crate::estimate::{Estimate, Part};

/// A band that no line explains.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Kink {
    /// Frequency where it is largest, Hz.
    pub at_hz: f64,
    /// What is left there, as a reflection.
    pub size: f64,
}

/// A defect that repeats.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Periodic {
    /// Frequency at which the reflections add up, Hz.
    pub at_hz: f64,
    /// Size of what they add up to, as a reflection.
    pub size: f64,
    /// Distance between them, s one way: half a turn at that frequency.
    pub spacing_s: f64,
}

/// Points that a mean is taken over.
const MEAN_POINTS: usize = 7;
/// How far the largest mean must stand above the median of all.
const KINK_OVER_MEDIAN: f64 = 7.0;
/// Smallest kink that is worth telling, as a reflection.
const SMALLEST_KINK: f64 = 4e-3;
/// Largest part of the points that a kink may cover, at half its height.
const KINK_PART: f64 = 0.2;
/// How far a periodic reflection must stand above the median of the rest.
const PERIODIC_OVER_MEDIAN: f64 = 6.0;
/// Smallest periodic reflection that is worth telling.
const SMALLEST_PERIODIC: f64 = 0.02;
/// Fewest repeats in the cable that make a period.
const FEWEST_REPEATS: f64 = 4.0;
/// Widest band of one period, in widths that the cable's length gives it.
const WIDEST: f64 = 4.0;

/// The largest kink over all sweeps; nothing if what is left is even.
pub fn kink(bench: &Bench, estimate: &Estimate) -> Option<Kink> {
    let predicted = estimate.predicted(bench, None).ok()?;
    let pairs = bench.sweeps.iter().zip(&predicted.sweeps);
    pairs
        .filter_map(|(read, fitted)| {
            let left = less(read.sweep.reflection(), fitted.sweep.reflection());
            kink_in(read.sweep.freq_hz(), &left)
        })
        .max_by(|a, b| a.size.total_cmp(&b.size))
}

/// A kink in what is left of one sweep.
pub fn kink_in(freq_hz: &[f64], left: &[Complex64]) -> Option<Kink> {
    if left.len() < 8 * MEAN_POINTS {
        return None;
    }
    let means: Vec<f64> = left
        .windows(MEAN_POINTS)
        .map(|w| (w.iter().sum::<Complex64>() / MEAN_POINTS as f64).norm())
        .collect();
    let (place, size) = largest(&means)?;
    let wide = means.iter().filter(|m| **m > 0.5 * size).count();
    let stands_out = size > KINK_OVER_MEDIAN * median(&means) && size > SMALLEST_KINK;
    (stands_out && (wide as f64) < KINK_PART * means.len() as f64).then_some(Kink {
        at_hz: freq_hz[place + MEAN_POINTS / 2],
        size,
    })
}

/// A repeating defect; the loaded sweep shows it best, else the first.
pub fn periodic(bench: &Bench, estimate: &Estimate) -> Option<Periodic> {
    let one_way_s = estimate.one_way_delay_s(estimate.covered_hz().1).value;
    let even = estimate.predicted(bench, Some(Part::Unevenness)).ok()?;
    let pairs = bench.sweeps.iter().zip(&even.sweeps);
    let (read, even) = pairs
        .clone()
        .find(|(s, _)| s.far_end == crate::bench::FarEnd::Load)
        .or_else(|| pairs.clone().next())?;
    let uneven = less(read.sweep.reflection(), even.sweep.reflection());
    periodic_in(read.sweep.freq_hz(), &uneven, one_way_s)
}

/// A repeating defect in what unevenness reflects.
pub fn periodic_in(freq_hz: &[f64], uneven: &[Complex64], one_way_s: f64) -> Option<Periodic> {
    let size: Vec<f64> = uneven.iter().map(|g| g.norm()).collect();
    let (place, top) = largest(&size)?;
    let at_hz = freq_hz[place];
    let spacing_s = 0.5 / at_hz;
    let width_hz = 0.5 / one_way_s;
    let near = |f: f64| (f - at_hz).abs() < WIDEST * width_hz;
    let high = freq_hz
        .iter()
        .zip(&size)
        .filter(|(f, s)| !near(**f) && !harmonic(**f, at_hz, WIDEST * width_hz) && **s > 0.5 * top);
    let stands_out = top > PERIODIC_OVER_MEDIAN * median(&size) && top > SMALLEST_PERIODIC;
    let repeats = one_way_s / spacing_s;
    (stands_out && repeats > FEWEST_REPEATS && high.count() == 0).then_some(Periodic {
        at_hz,
        size: top,
        spacing_s,
    })
}

/// Whether a frequency is near a multiple of `at_hz`.
fn harmonic(freq_hz: f64, at_hz: f64, within_hz: f64) -> bool {
    let order = (freq_hz / at_hz).round();
    order >= 1.0 && (freq_hz - order * at_hz).abs() < within_hz
}

fn less(read: &[Complex64], fitted: &[Complex64]) -> Vec<Complex64> {
    read.iter().zip(fitted).map(|(a, b)| a - b).collect()
}

fn largest(values: &[f64]) -> Option<(usize, f64)> {
    let all = values.iter().copied().enumerate();
    all.max_by(|a, b| a.1.total_cmp(&b.1))
}

fn median(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted
        .get(sorted.len() / 2)
        .copied()
        .unwrap_or(f64::INFINITY)
}
