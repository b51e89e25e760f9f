//! Which one-way delays a cable of some loss can have, from the range of types on the market.

use std::ops::RangeInclusive;

use num_complex::Complex64;

use super::velocity::slope;
use crate::constants::{DB_PER_NEPER, SPEED_OF_LIGHT_M_S};

/// Frequency at which losses are compared, Hz.
pub const LOSS_HZ: f64 = 1e8;
/// Loss at 100 MHz of cables on a bench, dB per 100 m: 22 mm foam feeders to 1 mm jumpers, a little
/// beyond either (common practice, no single source).
const POSSIBLE_DB_PER_100M: (f64, f64) = (1.5, 100.0);
/// Velocity factor for that comparison; the range above is wide enough for the others.
const VELOCITY_FACTOR: f64 = 0.75;
/// Parts of a sweep whose means give its loss, and the fewest of them.
const PARTS: usize = 8;
const FEWEST: usize = 3;
/// Part of the largest loss that is seen up to which it is the far end's.
const FAR_END_PART: f64 = 0.7;

/// Whether a cable of this one-way delay, s, can have a loss at [`LOSS_HZ`] in this range, dB.
pub fn is_possible(loss_db: &RangeInclusive<f64>, delay_s: f64) -> bool {
    let hundreds_m = delay_s * VELOCITY_FACTOR * SPEED_OF_LIGHT_M_S / 100.0;
    let (low, high) = POSSIBLE_DB_PER_100M;
    *loss_db.end() >= low * hundreds_m && *loss_db.start() <= high * hundreds_m
}

/// The longest one-way delay, s, of a cable with this loss at [`LOSS_HZ`], dB.
pub fn longest_delay_s(loss_db: f64) -> f64 {
    let hundreds_m = loss_db.max(0.0) / POSSIBLE_DB_PER_100M.0;
    hundreds_m * 100.0 / (VELOCITY_FACTOR * SPEED_OF_LIGHT_M_S)
}

/// The loss at [`LOSS_HZ`], dB, of a line whose wave passed it `ways` times and came back whole: 2
/// for the reflection of an open or shorted line, 1 for a transmission.
///
/// The mean of ln |Γ| over whole ripples of a line that ends in total reflection is −2αl, whatever its
/// impedance (Jensen's formula for (ρ + x)/(1 + ρx) on the circle |x| = e^(−2αl) > |ρ|). A straight line over √f
/// is laid through the means of parts of the sweep; where it meets 0 Hz is what a wrong scale lost.
pub fn seen_loss_db(freq_hz: &[f64], values: &[Complex64], ways: f64) -> f64 {
    let part = values.len().div_ceil(PARTS).max(1);
    let of_part = |(values, freq_hz): (&[Complex64], &[f64])| {
        let mean = |sum: f64| sum / values.len() as f64;
        let ln = |v: &Complex64| v.norm().max(f64::MIN_POSITIVE).ln();
        (
            mean(freq_hz.iter().map(|f| f.sqrt()).sum()),
            -mean(values.iter().map(ln).sum()) / ways,
        )
    };
    let parts = values.chunks(part).zip(freq_hz.chunks(part)).map(of_part);
    let parts: Vec<(f64, f64)> = parts.collect();
    // where little comes back from the far end, the near end's reflection is what is left
    let most_np = parts.iter().map(|p| p.1).fold(0.0, f64::max);
    let first_deep = parts.iter().position(|p| p.1 > FAR_END_PART * most_np);
    let parts = &parts[..first_deep
        .map_or(parts.len(), |i| i + 1)
        .max(FEWEST)
        .min(parts.len())];
    let (root_hz, loss_np): (Vec<f64>, Vec<f64>) = parts.iter().copied().unzip();
    slope(&root_hz, &loss_np).unwrap_or(0.0).max(0.0) * LOSS_HZ.sqrt() * DB_PER_NEPER
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    /// A line of 6 dB at 100 MHz between its ends: the mean over ripples is the loss, matched or not (closed form).
    #[test]
    fn the_loss_shows_in_the_mean_of_the_logarithm() {
        let freq_hz: Vec<f64> = (1..=800).map(|k| 5e5 * f64::from(k)).collect();
        for rho in [0.0, 0.2, -0.1] {
            let reflected = |f: &f64| {
                let alpha_np = 6.0 / DB_PER_NEPER * (f / LOSS_HZ).sqrt();
                let back = Complex64::from_polar((-2.0 * alpha_np).exp(), -2.0 * TAU * f * 3e-7);
                (rho + back) / (1.0 + rho * back)
            };
            // below 200 MHz more comes back from the far end than from the near one
            let freq_hz = &freq_hz[..240];
            let values: Vec<Complex64> = freq_hz.iter().map(reflected).collect();
            let loss_db = seen_loss_db(freq_hz, &values, 2.0);
            assert!((loss_db / 6.0 - 1.0).abs() < 0.1, "{rho}: {loss_db}");
            // half of everything is a wrong scale, not loss
            let halves: Vec<Complex64> = values.iter().map(|v| v / 2.0).collect();
            let of_halves = seen_loss_db(freq_hz, &halves, 2.0);
            assert!(
                (of_halves / loss_db - 1.0).abs() < 0.3,
                "{rho}: {of_halves}"
            );
        }
    }

    #[test]
    fn a_feeder_is_longer_than_a_jumper_of_the_same_loss() {
        let longest_s = longest_delay_s(3.0);
        assert!(is_possible(&(3.0..=3.0), 0.99 * longest_s));
        assert!(!is_possible(&(3.0..=3.0), 1.01 * longest_s));
        // the thinnest jumper of 3 dB is 3 m long
        assert!(!is_possible(
            &(3.0..=3.0),
            2.9 / (0.75 * SPEED_OF_LIGHT_M_S)
        ));
    }
}
