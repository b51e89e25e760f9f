//! Two-port sweeps: what lies in the path besides the cable.
//!
//! [`constant_loss`]: the loss of a cable goes to zero with frequency as k₁√f + k₂f; what is left at
//! zero are adapters or a jumper that was not taken out. [`port_ripple_db`]: what the second port's
//! match, as the joint fit has it, does to the transmission.

use crate::bench::Bench;
use crate::constants::DB_PER_NEPER;
use crate::estimate::{Estimate, Part};
use crate::method::two_port;
use crate::network::Scattering;
use crate::sweep::ThroughSweep;
use crate::uncertain::Uncertain;
use nalgebra::{Matrix3, Vector3};

/// Lowest frequency whose loss follows k₁√f + k₂f: below it conductors level off. Common practice.
const SKIN_EFFECT_FROM_HZ: f64 = 2e6;
/// Fewest points that tell three terms apart.
const FEWEST_POINTS: usize = 30;

/// Loss at 0 Hz of the whole path, dB, with the uncertainty that the scatter of the points gives it;
/// nothing if the sweep does not tell. Needs both directions.
pub fn constant_loss(through: &ThroughSweep) -> Option<Uncertain> {
    let points = losses(through);
    if points.len() < FEWEST_POINTS {
        return None;
    }
    let stop_hz = points[points.len() - 1].0;
    let terms = |f: f64| Vector3::new(1.0, (f / stop_hz).sqrt(), f / stop_hz);
    let mut normal = Matrix3::zeros();
    let mut right = Vector3::zeros();
    for &(f, loss_db) in &points {
        let t = terms(f);
        normal += t * t.transpose();
        right += t * loss_db;
    }
    let inverse = normal.try_inverse()?;
    let fitted = inverse * right;
    // what never falls can't be more than the least that the path loses: then it keeps another law
    if fitted[0] > least_loss_db(&points) {
        return None;
    }
    let left: f64 = points
        .iter()
        .map(|&(f, loss_db)| (loss_db - fitted.dot(&terms(f))).powi(2))
        .sum();
    let variance = left / (points.len() - 3) as f64;
    // neighbouring points err alike, as far as ripple goes: a tenth of them count as independent
    Some(Uncertain::new(
        fitted[0],
        (10.0 * variance * inverse[(0, 0)]).sqrt(),
    ))
}

/// Mean over the tenth of the points that lose least, dB.
fn least_loss_db(points: &[(f64, f64)]) -> f64 {
    let mut losses: Vec<f64> = points.iter().map(|&(_, loss_db)| loss_db).collect();
    losses.sort_by(f64::total_cmp);
    let least = &losses[..losses.len().div_ceil(10)];
    least.iter().sum::<f64>() / least.len() as f64
}

/// Frequency and loss, dB, at each point whose line can be solved.
fn losses(through: &ThroughSweep) -> Vec<(f64, f64)> {
    let Some(reverse) = through.reverse() else {
        return Vec::new();
    };
    let z_ref_ohm = through.z_ref_ohm();
    let loss = |i: usize| {
        let s = Scattering {
            s11: through.s11()[i],
            s21: through.s21()[i],
            s12: reverse.s12[i],
            s22: reverse.s22[i],
            z_ref_ohm: [z_ref_ohm; 2],
        };
        let line = two_port::solve(s)?;
        Some((through.freq_hz()[i], DB_PER_NEPER * line.loss_np()))
    };
    (0..through.freq_hz().len())
        .filter(|&i| through.freq_hz()[i] >= SKIN_EFFECT_FROM_HZ)
        .filter_map(loss)
        .collect()
}

/// Rms that the second port's match puts on the transmission, dB, largest over the sweeps.
pub fn port_ripple_db(bench: &Bench, estimate: &Estimate) -> Option<f64> {
    let with = estimate.predicted(bench, None).ok()?;
    let without = estimate.predicted(bench, Some(Part::SecondPort)).ok()?;
    let pairs = with.throughs.iter().zip(&without.throughs);
    pairs
        .map(|((with, _), (without, _))| ripple_db(with, without))
        .max_by(f64::total_cmp)
}

/// Rms of the difference of two transmissions about its mean, dB.
fn ripple_db(with: &ThroughSweep, without: &ThroughSweep) -> f64 {
    let apart: Vec<f64> = with
        .s21()
        .iter()
        .zip(without.s21())
        .map(|(a, b)| 20.0 * (a.norm() / b.norm()).log10())
        .collect();
    let n = apart.len() as f64;
    let mean = apart.iter().sum::<f64>() / n;
    (apart.iter().map(|a| (a - mean).powi(2)).sum::<f64>() / n).sqrt()
}
