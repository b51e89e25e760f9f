//! Low-pass transform: signed step and impulse response of a reflection sweep.
//!
//! The transform needs readings at 0, df, 2 df … up to the stop. Sweeps hardly ever have them, so
//! they are resampled (`resample`) through the sweep's mirror image Γ(−f) = Γ*(f) and a value at 0 Hz.
//! That value is what a cable with this far end reflects at direct current: an open +1, a short −1
//! (less its conductors' resistance), a load (R − Z)/(R + Z); if nobody says, the real part, which is
//! even in f, is carried on. A wrong one tilts the step response, so [`LowPass::dc`] says where it is
//! from.
//!
//! Normalisation: the step of a lone reflection ρ rises by ρ, its impulse is ρ high. Source: textbook
//! signal theory; the referee is scikit-rf's `impulse_response`, whose window ends one step beyond
//! the stop, as here. Valid from a start below 1/(4T), T the one-way delay: above it the sweep does
//! not say where 0 Ω is, and [`StartTooHigh`] says so.

use num_complex::Complex64;
use thiserror::Error;

use super::resample::Resampler;
use super::transform::{quick_length, real_inverse};
use super::window::Kaiser;
use crate::sweep::Sweep;

/// Samples for each that the spectrum itself would give.
const OVERSAMPLING: usize = 4;
/// Points that the value at 0 Hz is carried on from.
const CARRIED_ON_FROM: usize = 5;
/// How far, in steps, points may be off the grid and still count as on it.
const ON_GRID: f64 = 1e-6;

/// Where the value at 0 Hz is from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Dc {
    /// From what ends the cable; conductors taken as free of resistance.
    FarEnd(f64),
    /// Measured: the sweep has a point at 0 Hz.
    Measured(f64),
    /// Carried on from the lowest points.
    CarriedOn(f64),
}

impl Dc {
    /// The reflection at 0 Hz.
    pub fn reflection(self) -> f64 {
        match self {
            Self::FarEnd(g) | Self::Measured(g) | Self::CarriedOn(g) => g,
        }
    }
}

/// The sweep starts too high for a signed view.
#[derive(Clone, Copy, Debug, Error, PartialEq)]
#[error(
    "a start of {start_hz} Hz is too high for a step response of this cable: expected {highest_hz} Hz or less"
)]
pub struct StartTooHigh {
    /// Start of the sweep, Hz.
    pub start_hz: f64,
    /// Highest start that would do, 1/(4T), Hz.
    pub highest_hz: f64,
}

/// Step and impulse response against the time there and back.
#[derive(Clone, Debug, PartialEq)]
pub struct LowPass {
    /// Time of the first sample, s: before 0 by half an impulse.
    pub first_s: f64,
    /// Time between samples, s.
    pub step_s: f64,
    /// Reflection per sample, so that their sum is the step.
    pub samples: Vec<f64>,
    /// Size of a lone reflection's sample over the reflection.
    pub lone: f64,
    /// Width of an impulse at half its height, s: closer reflections look as one.
    pub cell_s: f64,
    /// Time beyond which echoes fold back, s: 1/df.
    pub unaliased_s: f64,
    /// Where the value at 0 Hz is from.
    pub dc: Dc,
}

impl LowPass {
    /// Time of each sample, s.
    pub fn times_s(&self) -> impl Iterator<Item = f64> {
        (0..self.samples.len()).map(|i| self.first_s + self.step_s * i as f64)
    }

    /// Impulse response: a lone reflection is as high as it is large.
    pub fn impulse(&self) -> Vec<f64> {
        self.samples.iter().map(|s| s / self.lone).collect()
    }

    /// Step response ρ(t) by the trapezoid rule.
    pub fn step(&self) -> Vec<f64> {
        let mut sum = 0.0;
        let mut last = 0.0;
        self.samples
            .iter()
            .map(|&s| {
                sum += 0.5 * (last + s);
                last = s;
                sum
            })
            .collect()
    }
}

/// Impedance that a step of reflection ρ(t) reads as, ohm, without regard to what lies before.
pub fn apparent_ohm(step: f64, z_ref_ohm: f64) -> f64 {
    z_ref_ohm * (1.0 + step) / (1.0 - step)
}

/// Transforms a sweep. `at_dc` is the reflection at 0 Hz where it is known, `one_way_delay_s` the
/// cable's delay.
///
/// # Errors
/// [`StartTooHigh`] if the sweep does not reach down far enough for that delay.
pub fn low_pass(
    sweep: &Sweep,
    at_dc: Option<f64>,
    one_way_delay_s: Option<f64>,
    window: Kaiser,
) -> Result<LowPass, StartTooHigh> {
    let start_hz = sweep.start_hz();
    let highest_hz = one_way_delay_s.map_or(f64::INFINITY, |t| 0.25 / t);
    if start_hz > highest_hz {
        return Err(StartTooHigh {
            start_hz,
            highest_hz,
        });
    }
    // no pocket analyser reaches 0 Hz: a known far end says what is there
    let dc = dc_of(sweep, at_dc);
    let (df, spectrum) = harmonic(sweep, dc.reflection());
    let ends = spectrum.len() as f64;
    let weights: Vec<f64> = (0..spectrum.len())
        // the window reaches zero one step beyond the stop, as the referee's does, so the last reading counts
        .map(|k| window.at(k as f64 / ends))
        .collect();
    let windowed: Vec<Complex64> = spectrum.iter().zip(&weights).map(|(g, w)| g * w).collect();
    // twice the points for the mirrored half, then oversampled so that a peak between samples loses little height
    let len = quick_length(2 * OVERSAMPLING * spectrum.len());
    let samples = real_inverse(&windowed, len);
    let step_s = 1.0 / (len as f64 * df);
    // an echo at time 0 spreads by half an impulse to negative times, which the transform puts at its end
    let before = (window.first_null() / (ends * df) / step_s).ceil() as usize;
    let before = before.min(len / 4);
    let mut rolled = samples[len - before..].to_vec();
    rolled.extend_from_slice(&samples[..len - before]);
    Ok(LowPass {
        first_s: -(before as f64) * step_s,
        step_s,
        samples: rolled,
        // sample of a constant spectrum: the weights of both halves, 0 Hz counted once
        lone: (2.0 * weights.iter().sum::<f64>() - weights[0]) / len as f64,
        // the impulse's half-height width in units of 1/span, the span reaching one step beyond the stop
        cell_s: window.width() / (ends * df),
        unaliased_s: 1.0 / df,
        dc,
    })
}

fn dc_of(sweep: &Sweep, at_dc: Option<f64>) -> Dc {
    match at_dc {
        _ if sweep.start_hz() == 0.0 => Dc::Measured(sweep.reflection()[0].re),
        Some(known) => Dc::FarEnd(known),
        // a passive one-port reflects no more than all of it
        None => Dc::CarriedOn(carried_on(sweep).clamp(-1.0, 1.0)),
    }
}

/// Real part at 0 Hz of a + bf², least squares through the lowest points.
fn carried_on(sweep: &Sweep) -> f64 {
    let points = sweep.len().min(CARRIED_ON_FROM);
    // the real part of a real function of time is even in f, so the fit goes in f²
    let x: Vec<f64> = sweep.freq_hz()[..points].iter().map(|f| f * f).collect();
    let y: Vec<f64> = sweep.reflection()[..points].iter().map(|g| g.re).collect();
    let n = points as f64;
    let (mx, my) = (x.iter().sum::<f64>() / n, y.iter().sum::<f64>() / n);
    let sxx: f64 = x.iter().map(|a| (a - mx).powi(2)).sum();
    let sxy: f64 = x.iter().zip(&y).map(|(a, b)| (a - mx) * (b - my)).sum();
    if sxx == 0.0 { my } else { my - sxy / sxx * mx }
}

/// Readings at 0, df, 2 df … stop, and df.
fn harmonic(sweep: &Sweep, at_dc: f64) -> (f64, Vec<Complex64>) {
    let freq_hz = sweep.freq_hz();
    // as fine as the coarsest step: a finer grid would only invent readings
    let steps = (sweep.stop_hz() / sweep.largest_step_hz().max(1e-9 * sweep.stop_hz())).round();
    let steps = steps.max(1.0);
    let df = sweep.stop_hz() / steps;
    let from_dc = usize::from(freq_hz[0] == 0.0);
    let on_grid = freq_hz[from_dc..]
        .iter()
        .zip(1..)
        .all(|(f, k)| (f / df - f64::from(k)).abs() < ON_GRID);
    let mut spectrum = vec![Complex64::from(at_dc)];
    if on_grid {
        spectrum.extend_from_slice(&sweep.reflection()[from_dc..]);
    } else {
        let spline = mirrored(sweep, at_dc, from_dc);
        spectrum.extend((1..=steps as usize).map(|k| spline.at(df * k as f64)));
    }
    (df, spectrum)
}

/// A spline through the sweep, its mirror image and the value at 0 Hz.
fn mirrored(sweep: &Sweep, at_dc: f64, from_dc: usize) -> Resampler {
    let above = || {
        let pairs = sweep.freq_hz().iter().zip(sweep.reflection());
        pairs.skip(from_dc)
    };
    // Γ(−f) = Γ*(f): the time function is real
    let below = above().map(|(f, g)| (-f, g.conj()));
    let mut all: Vec<(f64, Complex64)> = below.collect();
    all.reverse();
    all.push((0.0, Complex64::from(at_dc)));
    all.extend(above().map(|(f, g)| (*f, *g)));
    let (freq_hz, reflection): (Vec<f64>, Vec<Complex64>) = all.into_iter().unzip();
    Resampler::new(freq_hz, &reflection)
}
