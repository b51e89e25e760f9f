//! The small random wander of impedance along made cable.
//!
//! A first-order autoregressive process (exponential correlation), sampled in short sections. Its
//! mean is taken out, so that a cable's impedance is the mean of the piece at hand.

use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

/// Length over which the impedance forgets its past, m. An assumption: makers' tolerances on
/// diameter and foam vary over centimetres.
const CORRELATION_M: f64 = 0.04;

/// Longest section that still follows the wander, m.
const SECTION_M: f64 = 0.02;

/// No more sections than this, to keep a long cable affordable.
const MOST_SECTIONS: usize = 2000;

/// Relative departures from the mean impedance, one for each of equally long sections.
pub(crate) fn draw(rng: &mut ChaCha8Rng, length_m: f64, rms: f64) -> Vec<f64> {
    let sections = ((length_m / SECTION_M).ceil() as usize).clamp(10, MOST_SECTIONS);
    let memory = (-length_m / sections as f64 / CORRELATION_M).exp();
    let fresh = (1.0 - memory * memory).sqrt();
    let mut state: f64 = StandardNormal.sample(rng);
    let mut wander: Vec<f64> = (0..sections)
        .map(|_| {
            let step: f64 = StandardNormal.sample(rng);
            state = memory * state + fresh * step;
            rms * state
        })
        .collect();
    let mean = wander.iter().sum::<f64>() / sections as f64;
    for u in &mut wander {
        *u -= mean;
    }
    wander
}

#[cfg(test)]
mod tests {
    use rand_chacha::rand_core::SeedableRng;

    use super::*;

    #[test]
    fn wander_has_the_size_asked_for_and_no_mean() {
        let wander = draw(&mut ChaCha8Rng::seed_from_u64(1), 40.0, 0.002);
        let n = wander.len() as f64;
        let mean = wander.iter().sum::<f64>() / n;
        let rms = (wander.iter().map(|u| u * u).sum::<f64>() / n).sqrt();
        assert!(mean.abs() < 1e-12, "mean {mean:e}");
        // About 40 m / 8 cm = 500 independent values: the rms is good to 1/√1000 = 3 %.
        assert!((rms / 0.002 - 1.0).abs() < 0.1, "rms {rms}");
    }
}
