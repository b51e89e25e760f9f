//! Delays that the points can't tell from the one that was found.
//!
//! On an even grid of step Δf a delay and one that is 1/Δf of the round trip longer turn the phase
//! alike at every point (sampling theorem; the range of a time-domain transform). What tells them
//! apart is a grid that does not start at a multiple of its step, a second grid, the loss that a
//! cable of that length can have, and the tape.

use std::f64::consts::TAU;

use super::super::model::Kind;
use super::estimate::{Estimate, SweepGrid};
use crate::constants::SPEED_OF_LIGHT_M_S;
use crate::uncertain::Uncertain;

/// Difference between the two delays' readings (rms at total reflection) that nothing else can
/// explain: a phase of 3 degrees, more than calibration leaves.
const VISIBLE: f64 = 0.05;
/// Loss at 100 MHz of cables on a bench, dB per 100 m: 22 mm foam feeders to 1 mm jumpers, a little
/// beyond either (common practice, no single source).
const POSSIBLE_DB_PER_100M: (f64, f64) = (1.5, 100.0);
/// Velocity factor for that comparison; the range above is wide enough for the others.
const VELOCITY_FACTOR: f64 = 0.75;
/// Most aliases that are looked at on either side.
const MOST: i32 = 400;

impl Estimate {
    /// One-way delays of whole cables that explain every phase as well as the one found, and whose
    /// loss a cable can have; by rising delay, with the one found unless its own loss is impossible.
    ///
    /// More than one, or another one alone: the delay is a guess.
    pub fn possible_delays_s(&self) -> Vec<f64> {
        let found_s = self.one_way_delay_s(LOSS_HZ).value;
        let of_cable = || self.grids.iter().filter(|t| t.kind.is_of_cable());
        let Some(apart_s) = of_cable().map(range_s).reduce(f64::max) else {
            return Vec::new();
        };
        let loss = self.loss_db(LOSS_HZ);
        (-MOST..=MOST)
            // the coarsest grid repeats first; finer grids rule its aliases out again
            .map(|k| found_s + f64::from(k) * apart_s)
            .filter(|&delay_s| delay_s > 0.0 && loss_is_possible(loss, delay_s))
            .filter(|&delay_s| of_cable().all(|t| looks_alike(t, delay_s - found_s)))
            .collect()
    }
}

fn loss_is_possible(loss: Uncertain, delay_s: f64) -> bool {
    let hundreds_m = delay_s * VELOCITY_FACTOR * SPEED_OF_LIGHT_M_S / 100.0;
    let (low, high) = POSSIBLE_DB_PER_100M;
    loss.value + loss.u95() >= low * hundreds_m && loss.value - loss.u95() <= high * hundreds_m
}

/// Frequency at which the loss is compared, Hz.
const LOSS_HZ: f64 = 1e8;

fn trips(grid: &SweepGrid) -> f64 {
    if grid.kind == Kind::Through { 1.0 } else { 2.0 }
}

/// One-way delay after which the phases repeat.
fn range_s(grid: &SweepGrid) -> f64 {
    let freq_hz = &grid.freq_hz;
    let step_hz = (freq_hz[freq_hz.len() - 1] - freq_hz[0]) / (freq_hz.len() - 1).max(1) as f64;
    1.0 / (trips(grid) * step_hz)
}

fn looks_alike(grid: &SweepGrid, longer_s: f64) -> bool {
    let square = |f: &f64| 2.0 - 2.0 * (TAU * trips(grid) * f * longer_s).cos();
    let sum: f64 = grid.freq_hz.iter().map(square).sum();
    sum / grid.freq_hz.len() as f64 <= VISIBLE * VISIBLE
}
