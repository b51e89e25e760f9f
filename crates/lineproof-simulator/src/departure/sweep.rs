//! What departs in the sweeps: receiver, lead, calibration, file.

use std::f64::consts::PI;

use num_complex::Complex64;

use super::{Departure, Departures, Draw};

/// Drift of gain and phase over a sweep, and from sweep to sweep (complex rms): some 0.02 dB and
/// 0.1 degree, a pocket analyser that warms up.
const DRIFT_DURING: f64 = 2e-3;
const DRIFT_BETWEEN: f64 = 2e-3;
/// Step of gain and phase from band to band (complex rms).
const BAND_STEP: f64 = 1e-3;
/// Where a small analyser changes its band, Hz: multiples of its synthesiser's highest frequency.
const BAND_EDGES_HZ: [f64; 5] = [10e6, 50e6, 140e6, 300e6, 600e6];
/// What moving a lead leaves of its match at the analyser's end (complex), its loss and its delay.
const LEAD_ECHO: f64 = 1.5e-3;
const LEAD_LOSS: f64 = 5e-4;
const LEAD_S: f64 = 1e-12;
/// Delay of a lead one way, s: 0.5 to 1.5 m.
const LEAD_DELAY_S: (f64, f64) = (2.5e-9, 7.5e-9);
/// Points of the calibration's own grid, over at least this band, Hz.
const CALIBRATION_POINTS: usize = 101;
const CALIBRATION_STOP_HZ: f64 = 900e6;
/// Size of a bad point.
const BAD: (f64, f64) = (0.1, 1.0);
/// The upper bands' noise over the lower's, dB, and where they begin.
const UPPER_NOISE_DB: (f64, f64) = (10.0, 20.0);
const UPPER_FROM: f64 = 0.6;

/// Disturbances of one sweep.
pub(crate) struct Disturbed<'a> {
    pub(crate) departures: &'a Departures,
    /// Number of the sweep.
    pub(crate) sweep: u64,
    /// Frequencies as the analyser states them, Hz.
    pub(crate) freq_hz: &'a [f64],
}

impl Disturbed<'_> {
    /// Factor on the raw reading at each point.
    pub(crate) fn gain(&self) -> Vec<Complex64> {
        let mut gain = vec![Complex64::ONE; self.freq_hz.len()];
        if let Some(mut draw) = self.drawn(Departure::DriftBetweenSweeps) {
            let by = complex(&mut draw) * DRIFT_BETWEEN;
            for g in &mut gain {
                *g *= 1.0 + by;
            }
        }
        if let Some(mut draw) = self.drawn(Departure::DriftDuringSweep) {
            drift(&mut draw, &mut gain);
        }
        // steps are the instrument's: the same in every sweep since the calibration
        if let Some(mut draw) = self.departures.drawn(Departure::BandSteps, 0) {
            let steps = BAND_EDGES_HZ.map(|edge_hz| (edge_hz, complex(&mut draw) * BAND_STEP));
            for (g, &f) in gain.iter_mut().zip(self.freq_hz) {
                let over = steps.iter().filter(|(edge_hz, _)| f >= *edge_hz);
                *g *= 1.0 + over.map(|(_, step)| step).sum::<Complex64>();
            }
        }
        gain
    }

    /// What a lead that was moved does to a corrected reading: beyond it everything is turned and
    /// weakened a little more, and what changed at the analyser's end comes before the plane.
    pub(crate) fn lead(&self, reading: &mut [Complex64]) {
        let Some(mut draw) = self.departures.drawn(Departure::MovedLead, 0) else {
            return;
        };
        let before_s = draw.between(LEAD_DELAY_S.0, LEAD_DELAY_S.1);
        let echo = complex(&mut draw) * LEAD_ECHO;
        let (loss, longer_s) = (LEAD_LOSS * draw.normal(), LEAD_S * draw.normal());
        for (r, &f) in reading.iter_mut().zip(self.freq_hz) {
            let turned =
                Complex64::from_polar(1.0 - loss * (f / 100e6).sqrt(), -4.0 * PI * f * longer_s);
            *r = *r * turned + echo * Complex64::cis(4.0 * PI * f * before_s);
        }
    }

    /// Noise over the usual at each point.
    pub(crate) fn noise(&self) -> Vec<f64> {
        let mut noise = vec![1.0; self.freq_hz.len()];
        if let Some(mut draw) = self.departures.drawn(Departure::NoisyUpperBands, 0) {
            let factor = 10.0_f64.powf(draw.between(UPPER_NOISE_DB.0, UPPER_NOISE_DB.1) / 20.0);
            let stop_hz = stop_hz(self.freq_hz);
            for (n, &f) in noise.iter_mut().zip(self.freq_hz) {
                if f > UPPER_FROM * stop_hz {
                    *n = factor;
                }
            }
        }
        noise
    }

    /// What the file holds of a corrected reading.
    pub(crate) fn saved(&self, reading: &mut [Complex64]) {
        if let Some(mut draw) = self.drawn(Departure::BadPoints) {
            let count = if draw.share() < 0.5 { 1 } else { 2 };
            for _ in 0..count {
                let place = (draw.share() * reading.len() as f64) as usize;
                let size = draw.between(BAD.0, BAD.1);
                let turn = Complex64::cis(2.0 * PI * draw.share());
                if let Some(point) = reading.get_mut(place) {
                    *point += size * turn;
                }
            }
        }
        if self.departures.has(Departure::ThreeDigits) {
            for r in reading {
                *r = Complex64::new(three_digits(r.re), three_digits(r.im));
            }
        }
    }

    fn drawn(&self, departure: Departure) -> Option<Draw> {
        self.departures.drawn(departure, self.sweep)
    }
}

/// A ramp and a random walk over the time of the sweep.
fn drift(draw: &mut Draw, gain: &mut [Complex64]) {
    let points = gain.len().max(2) as f64;
    let ramp = complex(draw) * DRIFT_DURING;
    let mut walk = Complex64::ZERO;
    for (i, g) in gain.iter_mut().enumerate() {
        walk += complex(draw) * 0.5 * DRIFT_DURING / points.sqrt();
        *g *= 1.0 + ramp * (i as f64 / points) + walk;
    }
}

/// Error terms as a calibration on a grid of its own leaves them when straight lines are drawn between its points.
/// Behind a lead the terms turn by `behind_s` there and back besides, which straight lines cut short.
pub(crate) fn interpolated(freq_hz: &[f64], terms: &mut [Complex64], behind_s: f64) {
    let stop_hz = stop_hz(freq_hz);
    let step_hz = CALIBRATION_STOP_HZ.max(stop_hz) / (CALIBRATION_POINTS - 1) as f64;
    let turn = |f: f64| Complex64::cis(-2.0 * PI * f * behind_s);
    let known = terms.to_vec();
    let at = |f: f64| between(freq_hz, &known, f) * turn(f);
    for (term, &f) in terms.iter_mut().zip(freq_hz) {
        let below_hz = (f / step_hz).floor() * step_hz;
        let share = (f - below_hz) / step_hz;
        let straight = at(below_hz) * (1.0 - share) + at(below_hz + step_hz) * share;
        *term = straight / turn(f);
    }
}

/// Lead behind which a calibration is interpolated, there and back, s: 20 to 50 cm.
const BEHIND_S: (f64, f64) = (2e-9, 5e-9);

/// The delay of that lead.
pub(crate) fn behind_s(departures: &Departures) -> Option<f64> {
    let draw = departures.drawn(Departure::InterpolatedCalibration, 0);
    draw.map(|mut draw| draw.between(BEHIND_S.0, BEHIND_S.1))
}

/// The value at `f` on a straight line between the points of a rising grid.
fn between(freq_hz: &[f64], values: &[Complex64], f: f64) -> Complex64 {
    let above = freq_hz
        .partition_point(|&g| g < f)
        .clamp(1, freq_hz.len().max(2) - 1);
    let below = above - 1;
    let share = (f - freq_hz[below]) / (freq_hz[above] - freq_hz[below]);
    values[below] + (values[above] - values[below]) * share
}

fn complex(draw: &mut Draw) -> Complex64 {
    Complex64::new(draw.normal(), draw.normal()) * std::f64::consts::FRAC_1_SQRT_2
}

fn three_digits(value: f64) -> f64 {
    if value == 0.0 {
        return 0.0;
    }
    let unit = 10.0_f64.powf(value.abs().log10().floor() - 2.0);
    (value / unit).round() * unit
}

/// Highest frequency of a grid, Hz; a grid without points has no reading that it could matter to.
fn stop_hz(freq_hz: &[f64]) -> f64 {
    freq_hz.last().map_or(f64::NAN, |&stop| stop)
}
