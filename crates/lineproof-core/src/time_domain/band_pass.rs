//! Band-pass transform: the size of the reflections where the sweep does not reach down far enough
//! for a signed view.
//!
//! The window spans the sweep from start to stop; nothing need be known at 0 Hz. What comes out has
//! no sign (open and short look alike) and cells twice as wide as those of a low-pass transform to the
//! same span. Source: textbook signal theory; the referee is scikit-rf's `impulse_response` in its
//! band-pass mode, whose window is periodic, as here.

use num_complex::Complex64;

use super::resample::Resampler;
use super::transform::{padded_inverse, quick_length};
use super::window::Kaiser;
use crate::sweep::Sweep;

/// Samples for each that the spectrum itself would give.
const OVERSAMPLING: usize = 4;
/// How far, in steps, points may be off an even grid and still count as on it.
const ON_GRID: f64 = 1e-6;

/// Size of the reflections against the time there and back.
#[derive(Clone, Debug, PartialEq)]
pub struct BandPass {
    /// Time between samples, s; the first is at 0.
    pub step_s: f64,
    /// Size of the reflection: a lone one is as high as it is large.
    pub envelope: Vec<f64>,
    /// Width of an echo at half its height, s.
    pub cell_s: f64,
    /// Time beyond which echoes fold back, s: 1/df.
    pub unaliased_s: f64,
}

impl BandPass {
    /// Largest reflection within a cell of `two_way_s`.
    pub fn largest_near(&self, two_way_s: f64) -> f64 {
        let index = |t: f64| ((t / self.step_s).max(0.0) as usize).min(self.envelope.len());
        let near = index(two_way_s - self.cell_s)..index(two_way_s + self.cell_s);
        self.envelope[near].iter().copied().fold(0.0, f64::max)
    }
}

/// Transforms a sweep of at least two points; of fewer there is nothing to see.
pub fn band_pass(sweep: &Sweep, window: Kaiser) -> Option<BandPass> {
    let points = sweep.len();
    if points < 2 {
        return None;
    }
    let span_hz = sweep.stop_hz() - sweep.start_hz();
    let df = span_hz / (points - 1) as f64;
    let spectrum = even(sweep, df);
    // periodic window: the point beyond the last repeats the first, so the middle lies at half the count
    let half = 0.5 * points as f64;
    let weights: Vec<f64> = (0..points)
        .map(|k| window.at(k as f64 / half - 1.0))
        .collect();
    let windowed: Vec<Complex64> = spectrum.iter().zip(&weights).map(|(g, w)| g * w).collect();
    let len = quick_length(OVERSAMPLING * points);
    // an echo of size 1 makes every reading 1 but for its phase: its sample is the mean weight
    let lone = weights.iter().sum::<f64>() / len as f64;
    let response = padded_inverse(&windowed, len);
    Some(BandPass {
        step_s: 1.0 / (len as f64 * df),
        // without 0 Hz the phase of the response turns with time by itself: only the size is stated
        envelope: response.iter().map(|v| v.norm() / lone).collect(),
        // the window has its middle in the band, so each edge is half the span away: cells twice as wide
        cell_s: 2.0 * window.width() / (points as f64 * df),
        unaliased_s: 1.0 / df,
    })
}

/// The readings on an even grid.
fn even(sweep: &Sweep, df: f64) -> Vec<Complex64> {
    let freq_hz = sweep.freq_hz();
    let wanted = |k: usize| sweep.start_hz() + df * k as f64;
    let on_grid = |(k, f): (usize, &f64)| (f - wanted(k)).abs() < ON_GRID * df;
    if freq_hz.iter().enumerate().all(on_grid) {
        return sweep.reflection().to_vec();
    }
    let spline = Resampler::new(freq_hz.to_vec(), sweep.reflection());
    (0..sweep.len()).map(|k| spline.at(wanted(k))).collect()
}
