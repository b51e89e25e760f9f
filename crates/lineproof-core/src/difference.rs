//! Where two sweeps of the same cable with the same far end differ: before and after it was flexed,
//! or two in a row.
//!
//! The difference of the two is transformed like a sweep (band-pass, since nothing need be known at
//! 0 Hz) and its peaks stand where something changed. Calibrations and connections repeat only so
//! well; what they leave are echoes within a few nanoseconds of the plugs, so there a change must
//! exceed what the analyser is known to leave. In between only noise and the window's side lobes are
//! in the way. Noise is what stands after the cable's third return, or else what the analyser is
//! known for. Limits: an echo of a changed place stands at its multiples too; a delay that changed
//! moves everything behind it, so that then a place must stand out from the echoes that were there
//! before; a change smaller than the tolerance of its place is not reported.

use num_complex::Complex64;
use thiserror::Error;

use crate::bench::Analyser;
use crate::sweep::Sweep;
use crate::time_domain::band_pass::{BandPass, band_pass};
use crate::time_domain::low_pass::low_pass;
use crate::time_domain::resample::Resampler;
use crate::time_domain::window::Kaiser;

/// Where on the cable a change is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Whereabouts {
    /// At the plug on the analyser.
    NearPlug,
    /// Along the cable.
    Along,
    /// At the far end: its plug, what is on it, or how long the way is.
    FarEnd,
}

/// A place at which two sweeps differ.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Changed {
    /// Time there and back, s.
    pub two_way_s: f64,
    /// Its standard uncertainty, s.
    pub u_s: f64,
    /// Size of the echo of the change, as a reflection at the near end.
    pub size: f64,
    /// The smallest change that is distinguished from none there.
    pub tolerance: f64,
    /// Whether the reflection went towards open (+1) or short (−1), where the sweep shows it.
    pub sign: Option<f64>,
    /// Plug, cable or far end.
    pub whereabouts: Whereabouts,
}

/// How two sweeps differ.
#[derive(Clone, Debug, PartialEq)]
pub struct Difference {
    /// Places that changed, nearest first; empty if nothing did.
    pub places: Vec<Changed>,
    /// What a change along the cable has to exceed to be reported.
    pub tolerance: f64,
    /// Changes closer than this, s there and back, look as one.
    pub cell_s: f64,
    /// Rms of the difference over all points.
    pub rms: f64,
}

/// Why two sweeps can't be compared point by point.
#[derive(Clone, Copy, Debug, Error, PartialEq)]
pub enum DifferenceError {
    /// They share too little of the band.
    #[error("the sweeps share {points} points: expected {FEWEST_POINTS} or more")]
    TooFewPoints {
        /// Points of the first within the band of the second.
        points: usize,
    },
    /// They refer to different impedances.
    #[error("the sweeps refer to {before_ohm} and {after_ohm} ohm")]
    References {
        /// Reference of the first, ohm.
        before_ohm: f64,
        /// Reference of the second, ohm.
        after_ohm: f64,
    },
}

/// Fewest points that a transform is worth.
const FEWEST_POINTS: usize = 16;
/// Latest echo of what calibration and connection leave, s there and back: some 25 cm. Common
/// practice.
const LATEST_RESIDUAL_S: f64 = 2.5e-9;
/// How far above what the analyser is known to leave, at each of two sweeps, a change at a plug must
/// be, in standard uncertainties.
const PLUG_TOLERANCE: f64 = 3.0;
/// Chance that noise alone makes a place.
const FALSE_ALARM: f64 = 1e-3;
/// Side lobes of the usual window, with a margin of 4 dB for the points' grid.
const SIDE_LOBES: f64 = 0.01;
/// A change stands out from the flanks of another if it is this part of the largest.
const WORTH_NAMING: f64 = 0.25;
/// What an echo that moved can differ from itself by.
const MOVED: f64 = 2.0;
/// Most places that are named.
const MOST_PLACES: usize = 4;
/// Uncertainty of a peak far above its tolerance, in cells.
const BEST_PLACE: f64 = 0.05;

/// Compares two sweeps with the same far end. `one_way_delay_s` is the cable's delay with its plugs;
/// `delay_changed` says whether it is another one in the second.
///
/// # Errors
/// [`DifferenceError`] if there is nothing to compare.
pub fn difference(
    before: &Sweep,
    after: &Sweep,
    one_way_delay_s: f64,
    delay_changed: bool,
    analyser: &Analyser,
) -> Result<Difference, DifferenceError> {
    let apart = subtracted(before, after)?;
    let squares: f64 = apart.reflection().iter().map(Complex64::norm_sqr).sum();
    let window = Kaiser::USUAL;
    let seen = band_pass(&apart, window).ok_or(DifferenceError::TooFewPoints { points: 1 })?;
    let zones = Zones::new(&seen, &apart, one_way_delay_s, analyser);
    let signed = low_pass(&apart, Some(0.0), Some(one_way_delay_s), window);
    let signed = signed.ok().map(|s| (s.impulse(), s));
    let old = delay_changed.then(|| band_pass(before, window)).flatten();
    let mut places = zones.places(&seen, old.as_ref());
    for place in &mut places {
        place.sign = signed.as_ref().and_then(|(impulse, signed)| {
            let index = ((place.two_way_s - signed.first_s) / signed.step_s).round();
            Some(impulse.get(index as usize)?.signum())
        });
    }
    Ok(Difference {
        places,
        tolerance: zones.along,
        cell_s: seen.cell_s,
        rms: (squares / apart.len() as f64).sqrt(),
    })
}

/// After less before, at the points of the first within the band of the second.
fn subtracted(before: &Sweep, after: &Sweep) -> Result<Sweep, DifferenceError> {
    let (before_ohm, after_ohm) = (before.z_ref_ohm(), after.z_ref_ohm());
    if (before_ohm / after_ohm - 1.0).abs() > 1e-9 {
        return Err(DifferenceError::References {
            before_ohm,
            after_ohm,
        });
    }
    let (freq_hz, apart): (Vec<f64>, Vec<Complex64>) = if before.freq_hz() == after.freq_hz() {
        let pairs = before.reflection().iter().zip(after.reflection());
        let apart = pairs.map(|(b, a)| a - b).collect();
        (before.freq_hz().to_vec(), apart)
    } else {
        let spline = Resampler::new(after.freq_hz().to_vec(), after.reflection());
        let shared = after.start_hz()..=after.stop_hz();
        let pairs = before.freq_hz().iter().zip(before.reflection());
        pairs
            .filter(|(f, _)| shared.contains(f))
            .map(|(&f, b)| (f, spline.at(f) - b))
            .unzip()
    };
    let points = freq_hz.len();
    let apart = Sweep::new(freq_hz, apart, before_ohm);
    apart
        .ok()
        .filter(|s| s.len() >= FEWEST_POINTS)
        .ok_or(DifferenceError::TooFewPoints { points })
}

/// The stretches of time and what has to be exceeded in each.
struct Zones {
    /// End of the near plug's stretch, s.
    near_end_s: f64,
    /// Far end, s, and the last time that counts.
    far_s: f64,
    last_s: f64,
    /// Tolerance at the plugs and along the cable.
    plugs: f64,
    along: f64,
}

impl Zones {
    fn new(seen: &BandPass, apart: &Sweep, one_way_delay_s: f64, analyser: &Analyser) -> Self {
        // an impulse of the usual window reaches zero a little more than a cell from its middle
        let reach_s = 1.15 * seen.cell_s + LATEST_RESIDUAL_S;
        let far_s = 2.0 * one_way_delay_s;
        let last_s = (far_s + reach_s).min(0.9 * seen.unaliased_s);
        let rms = noise_rms(seen, 3.0 * far_s + reach_s, apart.len(), analyser);
        let cells = (last_s / seen.cell_s).max(1.0);
        let noise = rms * (cells / FALSE_ALARM).ln().sqrt();
        let within = |(i, v): (usize, &f64)| (seen.step_s * i as f64 <= last_s).then_some(*v);
        let inside = seen.envelope.iter().enumerate().filter_map(within);
        let largest = inside.fold(0.0, f64::max);
        Self {
            near_end_s: reach_s,
            far_s: far_s - reach_s,
            last_s,
            plugs: PLUG_TOLERANCE * 2f64.sqrt() * analyser.residual(apart.stop_hz()) + noise,
            along: noise + SIDE_LOBES * largest,
        }
    }

    fn at(&self, two_way_s: f64) -> (Whereabouts, f64) {
        if two_way_s < self.near_end_s.min(0.5 * (self.near_end_s + self.far_s)) {
            (Whereabouts::NearPlug, self.plugs)
        } else if two_way_s > self.far_s {
            (Whereabouts::FarEnd, self.plugs)
        } else {
            (Whereabouts::Along, self.along)
        }
    }

    /// Peaks above the tolerance of their stretch, nearest first.
    fn places(&self, seen: &BandPass, old: Option<&BandPass>) -> Vec<Changed> {
        let envelope = &seen.envelope;
        let last = ((self.last_s / seen.step_s) as usize).min(envelope.len().saturating_sub(2));
        let peak = |i: &usize| {
            let before = if *i == 0 { 0.0 } else { envelope[i - 1] };
            envelope[*i] >= before && envelope[*i] > envelope[i + 1]
        };
        let mut places: Vec<Changed> = (0..=last)
            .filter(peak)
            .filter_map(|i| self.changed(seen, old, i))
            .collect();
        let largest = places.iter().map(|p| p.size).fold(0.0, f64::max);
        places.retain(|p| p.size > WORTH_NAMING * largest);
        places.truncate(MOST_PLACES);
        places
    }

    fn changed(&self, seen: &BandPass, old: Option<&BandPass>, i: usize) -> Option<Changed> {
        let size = seen.envelope[i];
        let two_way_s = seen.step_s * (i as f64 + top(&seen.envelope, i));
        let (whereabouts, tolerance) = self.at(two_way_s);
        let moved = old.map_or(0.0, |old| MOVED * old.largest_near(two_way_s));
        let tolerance = tolerance + moved;
        let u_cells = BEST_PLACE.hypot(0.5 * tolerance / size);
        (size > tolerance).then_some(Changed {
            two_way_s,
            u_s: u_cells * seen.cell_s,
            size,
            tolerance,
            sign: None,
            whereabouts,
        })
    }
}

/// Rms of the transformed noise: from what stands late, where no echo of the cable does, or from the
/// analyser's noise.
fn noise_rms(seen: &BandPass, quiet_from_s: f64, points: usize, analyser: &Analyser) -> f64 {
    let known = 2.0 * analyser.noise / (points as f64).sqrt();
    let end = (0.95 * seen.unaliased_s / seen.step_s) as usize;
    let from = ((quiet_from_s / seen.step_s) as usize).min(end);
    let quiet = &seen.envelope[from..end.min(seen.envelope.len())];
    if (quiet.len() as f64) * seen.step_s < 10.0 * seen.cell_s {
        return 2.0 * known;
    }
    let squares: f64 = quiet.iter().map(|v| v * v).sum();
    (squares / quiet.len() as f64).sqrt().max(0.2 * known)
}

/// Where between the neighbours of `i` the parabola through the three has its top.
fn top(values: &[f64], i: usize) -> f64 {
    if i == 0 || i + 1 >= values.len() {
        return 0.0;
    }
    let (a, b, c) = (values[i - 1], values[i], values[i + 1]);
    let bend = a - 2.0 * b + c;
    if bend < 0.0 {
        0.5 * (a - c) / bend
    } else {
        0.0
    }
}
