//! How far raw readings and connections may be off, and the noise that raw sweeps show.

use num_complex::Complex64;

use crate::sweep::Sweep;

/// Part of a connection's error that does not depend on the reflection, relative to the part in
/// proportion to it; common practice, no single source.
const ABSOLUTE_PART: f64 = 0.6;
/// Drift of tracking and source match over that of directivity; common practice.
const DRIFT_RATIO: f64 = 1.5;

/// Standard uncertainties per real and imaginary part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Accuracy {
    /// Noise of a raw reading; `None` if it is to be judged from the sweeps of the standards.
    pub noise: Option<f64>,
    /// What one connection differs by from the next, at total reflection.
    pub connection: f64,
    /// Drift of the port between calibration and measurement, as residual directivity.
    pub drift: f64,
}

impl Accuracy {
    /// A pocket analyser with connectors in good order, measured within the hour. Together they make
    /// the `residual_floor` of [`crate::bench::Analyser::POCKET`]; common practice, no single source.
    pub const POCKET: Self = Self {
        noise: None,
        connection: 3e-4,
        drift: 6e-4,
    };

    /// Variance, per part, of what a connection does to `reflection`.
    pub(super) fn connection_variance(&self, reflection: Complex64) -> f64 {
        self.connection.powi(2) * (reflection.norm_sqr() + ABSOLUTE_PART.powi(2))
    }

    /// Variance, per part, of what drift does to a corrected `reflection`: D + TΓ + MΓ².
    pub(super) fn drift_variance(&self, reflection: Complex64) -> f64 {
        let square = reflection.norm_sqr();
        // directivity, tracking and source match drift independently: D + TΓ + MΓ² in squares
        let grown = 1.0 + DRIFT_RATIO.powi(2) * (square + square * square);
        self.drift.powi(2) * grown
    }
}

/// Differences of this order and up are taken to be noise where they are smallest.
const ORDERS: std::ops::RangeInclusive<usize> = 2..=6;
/// Fewest points that say anything about noise.
const FEWEST_POINTS: usize = 12;
/// Noise of the worst analyser that is still of use, per part; common practice. Where steps are so
/// coarse that differences show more, they show the sweep and not its noise.
const MOST_NOISE: f64 = 2e-3;

/// Noise of one raw reading, per part, from how rough the sweeps of the standards are; `None` if
/// they have too few points.
///
/// Standards reflect smoothly, so high differences of their readings are noise. The k-th difference
/// of white noise has C(2k, k) times its variance, and the median of a squared complex normal
/// magnitude is ln 2 of its mean. Of several orders the lowest counts: the others still hold some of
/// the sweep.
pub fn noise_of_standards<'a>(sweeps: impl IntoIterator<Item = &'a Sweep>) -> Option<f64> {
    let largest = sweeps
        .into_iter()
        .filter(|s| s.len() >= FEWEST_POINTS)
        .map(|s| noise_of(s.reflection()))
        .fold(None, |most: Option<f64>, n| {
            Some(most.map_or(n, |m| m.max(n)))
        });
    largest.map(|noise| noise.min(MOST_NOISE))
}

fn noise_of(readings: &[Complex64]) -> f64 {
    let mut differences = readings.to_vec();
    let mut central_binomial = 1.0;
    let mut least = f64::INFINITY;
    for order in 1..=*ORDERS.end() {
        differences = differences.windows(2).map(|w| w[1] - w[0]).collect();
        let k = order as f64;
        // C(2k, k) from C(2k − 2, k − 1), so that no factorial overflows
        central_binomial *= 2.0 * (2.0 * k - 1.0) / k;
        if ORDERS.contains(&order) {
            // the median passes over the few large differences where the sweep itself bends
            let mean_square = median_square(&differences) / std::f64::consts::LN_2;
            // low orders still hold the sweep, high ones amplify rounding: the lowest estimate holds least of either
            least = least.min((mean_square / central_binomial / 2.0).sqrt());
        }
    }
    least
}

fn median_square(values: &[Complex64]) -> f64 {
    let mut squares: Vec<f64> = values.iter().map(Complex64::norm_sqr).collect();
    let middle = squares.len() / 2;
    *squares.select_nth_unstable_by(middle, f64::total_cmp).1
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sweep(noise: f64) -> Sweep {
        let freq_hz: Vec<f64> = (1..=201).map(|i| f64::from(i) * 1.5e6).collect();
        let digits = |x: f64| (1e4 * x.sin()).rem_euclid(1.0) - 0.5;
        let raw = freq_hz.iter().enumerate().map(|(i, f)| {
            let smooth = 0.9 * Complex64::cis(-f * 3e-9) + 0.1 * Complex64::cis(-f * 9e-9);
            let seed = i as f64;
            // A rectangular distribution of width w has a standard deviation of w/√12.
            smooth + 12f64.sqrt() * noise * Complex64::new(digits(12.9 * seed), digits(78.2 * seed))
        });
        Sweep::new(freq_hz.clone(), raw.collect(), 50.0).unwrap()
    }

    /// Rectangular noise is not normal: its median is a tenth off. The lowest of five orders with
    /// 200 points each adds as much again.
    #[test]
    fn noise_is_seen_above_a_smooth_reflection() {
        for noise in [1e-4, 1e-3] {
            let got = noise_of_standards([&sweep(noise)]).unwrap();
            assert!((got / noise - 1.0).abs() < 0.3, "got {got}, wanted {noise}");
        }
        assert!(noise_of_standards([&sweep(0.0)]).unwrap() < 1e-5);
    }
}
