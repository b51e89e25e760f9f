//! Readings between the points, on a grid that a transform can use.
//!
//! The mean delay is taken out first (the mean turn between neighbours, weighted by size), so that
//! a spline through what is left follows a long cable as well as a short one. Valid while the rest
//! turns less than some 60° a step; a coarser sweep folds, which no interpolation undoes.

use std::f64::consts::TAU;

use num_complex::Complex64;

/// A cubic spline through complex readings of a reflection.
pub(crate) struct Resampler {
    freq_hz: Vec<f64>,
    values: Vec<Complex64>,
    curvature: Vec<Complex64>,
    delay_s: f64,
}

impl Resampler {
    /// Through readings at rising frequencies; at least one.
    pub(crate) fn new(freq_hz: Vec<f64>, reflection: &[Complex64]) -> Self {
        // with the bulk delay out, values turn slowly and a cubic follows them between coarse points
        let delay_s = mean_delay_s(&freq_hz, reflection);
        let values: Vec<Complex64> = freq_hz
            .iter()
            .zip(reflection)
            .map(|(f, g)| g * Complex64::cis(TAU * f * delay_s))
            .collect();
        let curvature = curvature(&freq_hz, &values);
        Self {
            freq_hz,
            values,
            curvature,
            delay_s,
        }
    }

    /// The reading at `freq_hz`; beyond the ends the last piece of the spline goes on.
    pub(crate) fn at(&self, freq_hz: f64) -> Complex64 {
        self.without_delay(freq_hz) * Complex64::cis(-TAU * freq_hz * self.delay_s)
    }

    fn without_delay(&self, freq_hz: f64) -> Complex64 {
        let last = self.freq_hz.len() - 1;
        if last == 0 {
            return self.values[0];
        }
        let i = self.freq_hz.partition_point(|f| *f <= freq_hz);
        // beyond the ends the outermost piece goes on rather than a constant, which would kink
        let i = i.clamp(1, last) - 1;
        let h = self.freq_hz[i + 1] - self.freq_hz[i];
        let (a, b) = (
            (self.freq_hz[i + 1] - freq_hz) / h,
            (freq_hz - self.freq_hz[i]) / h,
        );
        a * self.values[i]
            + b * self.values[i + 1]
            + h * h / 6.0
                * ((a * a * a - a) * self.curvature[i] + (b * b * b - b) * self.curvature[i + 1])
    }
}

/// Delay that the readings turn by on the whole, s: from the sum of each reading times its
/// neighbour's conjugate, at the commonest step.
pub(crate) fn mean_delay_s(freq_hz: &[f64], reflection: &[Complex64]) -> f64 {
    let (mut turn, mut width) = (Complex64::ZERO, 0.0);
    for i in 1..freq_hz.len() {
        // the sum lets large, sure readings decide the angle; a mean of angles would count noise alike
        turn += reflection[i - 1] * reflection[i].conj();
        width += freq_hz[i] - freq_hz[i - 1];
    }
    if width == 0.0 || turn == Complex64::ZERO {
        return 0.0;
    }
    turn.arg() / (TAU * width / (freq_hz.len() - 1) as f64)
}

/// Second derivatives of the natural spline, by elimination along the diagonals (for example
/// W. H. Press et al., *Numerical Recipes*, section 3.3, from memory).
fn curvature(x: &[f64], y: &[Complex64]) -> Vec<Complex64> {
    let n = x.len();
    let mut second = vec![Complex64::ZERO; n];
    let mut upper = vec![0.0; n];
    for i in 1..n.saturating_sub(1) {
        // tridiagonal system with zero curvature at the ends, solved in one pass down and one up
        let share = (x[i] - x[i - 1]) / (x[i + 1] - x[i - 1]);
        let pivot = share * upper[i - 1] + 2.0;
        upper[i] = (share - 1.0) / pivot;
        let bend = (y[i + 1] - y[i]) / (x[i + 1] - x[i]) - (y[i] - y[i - 1]) / (x[i] - x[i - 1]);
        second[i] = (6.0 * bend / (x[i + 1] - x[i - 1]) - share * second[i - 1]) / pivot;
    }
    for i in (1..n.saturating_sub(1)).rev() {
        let next = second[i + 1];
        second[i] += upper[i] * next;
    }
    second
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_echo_is_followed_between_the_points() {
        // two echoes, 40 and 50 ns, at 1 MHz steps: 18° a step beside the mean
        let echo =
            |f: f64| Complex64::cis(-TAU * f * 40e-9) + 0.3 * Complex64::cis(-TAU * f * 50e-9);
        let freq_hz: Vec<f64> = (1..=300).map(|i| 1e6 * f64::from(i)).collect();
        let readings: Vec<Complex64> = freq_hz.iter().map(|&f| echo(f)).collect();
        let spline = Resampler::new(freq_hz, &readings);
        for f in [20.3e6, 155.5e6, 250.7e6] {
            let off = (spline.at(f) - echo(f)).norm();
            assert!(off < 1e-4, "{off} at {f}");
        }
    }
}
