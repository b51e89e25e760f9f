//! The ripple method: what a calibration left, from one sweep of a long line of known impedance.
//!
//! A reading is D + g + M g², with residual directivity D, residual source match M and the reflection g
//! of the line's end, which turns once in the line's round trip τ. So D stands still while g turns once
//! and M g² twice: their sum makes |Γ| ripple, and half of its peak to peak is D + M for a line that
//! ends in a short (EURAMET Calibration Guide 12; from memory). Here the three are separated by their
//! turning, least squares of the complex readings in windows of a few turns, which needs no peak to be
//! hit; tracking goes into g.
//!
//! Assumptions: the line's impedance is known and it has no reflection of its own near the plane. What the
//! impedance is off by counts as D, half of its relative error, and so does an error of the calibration's
//! load; what the near connector reflects counts as D and M: with an ordinary cable in place of an air
//! line the result is an upper limit. A line that ends in a load shows D alone.

use std::f64::consts::TAU;

use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;
use thiserror::Error;

use crate::bench::KnownResidual;
use crate::network::one_port;
use crate::network::residual_errors::directivity_of_ripple;
use crate::sweep::Sweep;

/// What one sweep of a long line shows.
#[derive(Clone, Debug, PartialEq)]
pub struct Residuals {
    /// By rising frequency.
    pub windows: Vec<Window>,
    /// Round trip of the line, s.
    pub round_trip_delay_s: f64,
    /// Turns of the end's reflection over the sweep.
    pub turns: f64,
    /// From start to stop of the sweep, Hz.
    pub span_hz: f64,
    /// Half of the largest peak to peak of |Γ| within a turn: the classical figure.
    pub half_peak_to_peak: f64,
}

/// What a few turns show; magnitudes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    /// Middle, Hz.
    pub freq_hz: f64,
    /// Residual directivity.
    pub directivity: f64,
    /// Residual source match, if the end reflects enough to show it.
    pub source_match: Option<f64>,
}

/// Why a sweep shows no residual.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum RippleError {
    /// The line is too short for the span of the sweep.
    #[error(
        "the end's reflection turns {turns:.1} times over the sweep: expected {FEWEST_TURNS} turns or more, \
         so a longer line or a wider sweep"
    )]
    FewTurns {
        /// How often it turns.
        turns: f64,
    },
    /// A line whose impedance is none.
    #[error("a line of {line_ohm} ohm is impossible: expected a positive number")]
    Line {
        /// The offending impedance, ohm.
        line_ohm: f64,
    },
    /// More than a calibration leaves: the line's own reflection.
    #[error(
        "a directivity of {directivity:.2} is more than a calibration leaves ({WORST}): expected a line of \
         {line_ohm:.1} ohm, the sweeps' reference; one of 75 ohm shows 0.2 at 50"
    )]
    OtherLine {
        /// What was read, rms.
        directivity: f64,
        /// What the line was taken to have, ohm.
        line_ohm: f64,
    },
    /// Steps too coarse for the line.
    #[error(
        "{per_turn:.1} points for each turn of the end's reflection: expected {POINTS_PER_TURN} or more, so \
         a shorter line or more points"
    )]
    FewPoints {
        /// How many there are.
        per_turn: f64,
    },
}

/// Directivity beyond what calibration leaves: a kit's load of 18 dB return loss leaves 0.13 (common
/// practice, no single source).
const WORST: f64 = 0.15;
/// Fewest turns of the end's reflection over the sweep.
const FEWEST_TURNS: f64 = 3.0;
/// Fewest points for each turn: M g² turns twice.
const POINTS_PER_TURN: f64 = 5.0;
/// Turns of one window, and the points that it has at least.
const TURNS: f64 = 2.0;
const POINTS: usize = 24;
/// Reflection of the end below which M g² is too small to tell.
const REFLECTS: f64 = 0.5;
/// Unknowns: size and slope of what turns never, once, twice.
const ORDERS: usize = 3;

impl Residuals {
    /// Residual directivity over the band, rms.
    pub fn directivity(&self) -> f64 {
        rms(self.windows.iter().map(|w| w.directivity))
    }

    /// The size of what calibration left, with how much is known of it. The parasitics of the
    /// calibration's load are in it, which makes it rather too large.
    pub fn size(&self) -> KnownResidual {
        // a smooth function of width ALIKE_S in time has about one free value in each 1/ALIKE_S of span
        let independent = 1.0 + self.span_hz * ALIKE_S;
        KnownResidual {
            directivity: self.directivity(),
            values: independent.min(self.windows.len() as f64),
        }
    }

    /// Residual source match over the band, rms, if the line's end shows it.
    pub fn source_match(&self) -> Option<f64> {
        let all: Option<Vec<f64>> = self.windows.iter().map(|w| w.source_match).collect();
        all.map(|m| rms(m.into_iter()))
    }
}

/// Width in time, s, of what calibration leaves, as the joint estimate believes it: values closer in
/// frequency than its inverse are alike.
const ALIKE_S: f64 = 3e-9;

/// Residual directivity and, from a line that ends in a short or open, source match; the line has
/// `line_ohm`.
///
/// # Errors
/// [`RippleError`] if line and sweep do not make enough turns, or too many, or the line is another.
pub fn residuals(sweep: &Sweep, line_ohm: f64) -> Result<Residuals, RippleError> {
    let freq_hz = sweep.freq_hz();
    // against the line's own impedance its far end turns around the directivity as a circle
    let referred = |&g: &Complex64| one_port::renormalise(g, sweep.z_ref_ohm(), line_ohm);
    let readings: Option<Vec<Complex64>> = sweep.reflection().iter().map(referred).collect();
    let readings = &readings.ok_or(RippleError::Line { line_ohm })?[..];
    let span_hz = sweep.stop_hz() - sweep.start_hz();
    let round_trip_delay_s = round_trip(freq_hz, readings);
    let turns = span_hz * round_trip_delay_s;
    if turns < FEWEST_TURNS || readings.len() < POINTS {
        return Err(RippleError::FewTurns { turns });
    }
    // the coarsest step decides whether the turning is followed without aliasing
    let per_turn = 1.0 / (sweep.largest_step_hz() * round_trip_delay_s);
    if per_turn < POINTS_PER_TURN {
        return Err(RippleError::FewPoints { per_turn });
    }
    // short windows, since directivity is itself a function of frequency; two turns keep circle and centre apart
    let wanted = ((TURNS * per_turn).ceil() as usize).max(POINTS);
    let count = (readings.len() / wanted).max(1);
    let bound = |i: usize| i * readings.len() / count;
    let windows = (0..count).map(|i| {
        let of = bound(i)..bound(i + 1);
        window(&freq_hz[of.clone()], &readings[of], round_trip_delay_s)
    });
    let found = Residuals {
        windows: windows.collect(),
        round_trip_delay_s,
        turns,
        span_hz,
        half_peak_to_peak: half_peak_to_peak(readings, per_turn),
    };
    let directivity = found.directivity();
    if directivity > WORST {
        return Err(RippleError::OtherLine {
            directivity,
            line_ohm,
        });
    }
    Ok(found)
}

/// The delay whose turning explains most of the readings: the largest value of their spectrum against
/// time, from one turn over the sweep to half a turn a step, then between its neighbours.
fn round_trip(freq_hz: &[f64], readings: &[Complex64]) -> f64 {
    let span_hz = freq_hz[freq_hz.len() - 1] - freq_hz[0];
    // without the mean, which does not turn and would win at zero delay
    let mean = readings.iter().sum::<Complex64>() / readings.len() as f64;
    let explained = |delay_s: f64| {
        let turned = freq_hz.iter().zip(readings);
        let sum: Complex64 = turned
            .map(|(&f, g)| (g - mean) * Complex64::cis(TAU * f * delay_s))
            .sum();
        sum.norm()
    };
    let last = 2 * (readings.len() - 1);
    // a quarter of the resolution 1/span, so that the largest value lies near the top of its lobe
    let grid = |i: usize| 0.25 * i as f64 / span_hz;
    let best = (1..last).max_by(|&a, &b| explained(grid(a)).total_cmp(&explained(grid(b))));
    let Some(best) = best else {
        return 0.0;
    };
    let [a, b, c] = [
        grid(best) - 0.25 / span_hz,
        grid(best),
        grid(best) + 0.25 / span_hz,
    ]
    .map(explained);
    // vertex of the parabola through three values: far finer than the grid at a clean peak
    let bend = a - 2.0 * b + c;
    let shift = if bend < 0.0 {
        0.5 * (a - c) / bend
    } else {
        0.0
    };
    grid(best) + shift.clamp(-1.0, 1.0) * 0.25 / span_hz
}

/// Least squares of size and slope of what turns never, once and twice.
fn window(freq_hz: &[f64], readings: &[Complex64], delay_s: f64) -> Window {
    let (first, last) = (freq_hz[0], freq_hz[freq_hz.len() - 1]);
    let middle = f64::midpoint(first, last);
    let place = |f: f64| (f - middle) / (last - middle);
    let design = DMatrix::from_fn(readings.len(), 2 * ORDERS, |i, j| {
        // phases are counted from the middle so that size and slope are nearly uncorrelated there
        let turn = Complex64::cis(-TAU * (freq_hz[i] - middle) * delay_s * (j / 2) as f64);
        turn * if j % 2 == 0 { 1.0 } else { place(freq_hz[i]) }
    });
    let adjoint = design.adjoint();
    let found = (&adjoint * &design)
        .lu()
        .solve(&(adjoint * DVector::from_column_slice(readings)))
        .unwrap_or_else(|| DVector::zeros(2 * ORDERS));
    // M = D + g + M_s g² to second order: the end g turns once, source match times g² twice
    let end = found[2].norm();
    Window {
        freq_hz: middle,
        // what does not turn is the directivity, parasitics of the calibration's load included
        directivity: found[0].norm(),
        source_match: (end > REFLECTS).then(|| found[4].norm() / (end * end)),
    }
}

/// Half of the largest peak to peak of |Γ| within a turn.
fn half_peak_to_peak(readings: &[Complex64], per_turn: f64) -> f64 {
    let turn = (per_turn.ceil() as usize).clamp(2, readings.len());
    let size: Vec<f64> = readings.iter().map(|g| g.norm()).collect();
    let spread = |w: &[f64]| {
        let largest = w.iter().copied().fold(0.0, f64::max);
        let smallest = w.iter().copied().fold(f64::INFINITY, f64::min);
        directivity_of_ripple(largest, smallest)
    };
    size.windows(turn).map(spread).fold(0.0, f64::max)
}

fn rms(values: impl Iterator<Item = f64>) -> f64 {
    let (count, sum) = values.fold((0usize, 0.0), |(n, s), v| (n + 1, s + v * v));
    (sum / count.max(1) as f64).sqrt()
}
