//! How long a cable may be that these sweeps could be of: by the step of the grid, and by what it loses.
//!
//! On an even grid of step Δf a delay and one that is longer by 1/Δf of the round trip turn the phase alike at
//! every point (sampling theorem; the range of a time-domain transform). What tells them apart is a grid that does
//! not start at a multiple of its step, a second grid, the loss that a cable of that length can have, and the tape.

use std::f64::consts::TAU;
use std::ops::RangeInclusive;

use super::super::model::{Kind, Readings};
use crate::line::possible::{is_possible, longest_delay_s, seen_loss_db};

/// Difference between two delays' readings (rms at total reflection) that nothing else can
/// explain: a phase of 3 degrees, more than calibration leaves.
const VISIBLE: f64 = 0.05;
/// Most other delays that are looked at on either side.
const MOST: i32 = 400;

/// What the loss may be more than it seems: parts of ripples, and curvature.
const MARGIN: f64 = 1.5;

/// Kind and frequencies of a reading set.
pub(crate) type KindAndGrid<'a> = (Kind, &'a [f64]);

/// One-way delays of whole cables that turn every phase as the one found, s, and whose loss at
/// [`crate::line::possible::LOSS_HZ`], dB, a cable can have; by rising delay, with the one found unless its own loss
/// is impossible.
pub(crate) fn alike_delays_s(
    grids: &[KindAndGrid],
    found_s: f64,
    loss_db: &RangeInclusive<f64>,
) -> Vec<f64> {
    let of_cable = || grids.iter().filter(|(kind, _)| kind.is_of_cable());
    let Some(apart_s) = of_cable().map(|g| repeat_s(*g)).reduce(f64::max) else {
        return Vec::new();
    };
    (-MOST..=MOST)
        // the coarsest grid repeats first; finer grids rule its aliases out again
        .map(|k| found_s + f64::from(k) * apart_s)
        .filter(|&delay_s| delay_s > 0.0 && is_possible(loss_db, delay_s))
        .filter(|&delay_s| of_cable().all(|g| looks_alike(*g, delay_s - found_s)))
        .collect()
}

/// One-way delays that differ from the one found by whole ranges of the step, and that some point turns otherwise, s.
pub(crate) fn other_folds_s(
    grids: &[KindAndGrid],
    found_s: f64,
    range_s: f64,
    loss_db: &RangeInclusive<f64>,
) -> Vec<f64> {
    let of_cable = || grids.iter().filter(|(kind, _)| kind.is_of_cable());
    (-MOST..=MOST)
        .filter(|&k| k != 0)
        .map(|k| found_s + f64::from(k) * range_s)
        .filter(|&delay_s| delay_s > 0.0 && is_possible(loss_db, delay_s))
        .filter(|&delay_s| !of_cable().all(|g| looks_alike(*g, delay_s - found_s)))
        .collect()
}

/// The longest one-way delay of a cable that loses as little as the open, shorted and through sweeps show, s;
/// zero if there is none of these.
pub(crate) fn longest_by_loss_s(readings: &[Readings]) -> f64 {
    let loss_db = |set: &Readings| match set.kind {
        Kind::Open | Kind::Short => seen_loss_db(&set.freq_hz, &set.reflection, 2.0),
        Kind::Through => seen_loss_db(&set.freq_hz, &set.transmission, 1.0),
        Kind::Load | Kind::OtherLoad | Kind::Antenna | Kind::Check(_) | Kind::Part(_) => 0.0,
    };
    let largest_db = readings.iter().map(loss_db).fold(0.0, f64::max);
    longest_delay_s(MARGIN * largest_db)
}

fn trips(kind: Kind) -> f64 {
    if kind == Kind::Through { 1.0 } else { 2.0 }
}

/// One-way delay after which the phases repeat, s.
fn repeat_s((kind, freq_hz): KindAndGrid) -> f64 {
    let step_hz = (freq_hz[freq_hz.len() - 1] - freq_hz[0]) / (freq_hz.len() - 1).max(1) as f64;
    1.0 / (trips(kind) * step_hz)
}

fn looks_alike((kind, freq_hz): KindAndGrid, longer_s: f64) -> bool {
    let square = |f: &f64| 2.0 - 2.0 * (TAU * trips(kind) * f * longer_s).cos();
    let sum: f64 = freq_hz.iter().map(square).sum();
    sum / freq_hz.len() as f64 <= VISIBLE * VISIBLE
}
