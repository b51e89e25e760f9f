//! One line model fitted to every sweep of a cable: the seam between what the program reports and
//! how it is estimated.
//!
//! [`estimate`] takes a [`Bench`] and gives an [`Estimate`]; whoever reports it asks for quantities
//! at frequencies and never sees the model's parameters.
//!
//! The model: a uniform lossy line whose impedance wanders a little, a plug at either end, the far
//! end with its parasitics, the calibration with standards that were taken as ideal, smooth errors
//! that remain of the analyser, noise. All of it is fitted at once to all sweeps by Gauss–Newton
//! with Gaussian priors; the sizes of wander, errors and noise come from the data.

#[cfg(test)]
mod derivatives;
mod model;
mod posterior;
mod prior;
mod search;

use num_complex::Complex64;
use thiserror::Error;

use crate::bench::{Bench, FarEnd};
use crate::mistake::outliers;
use model::{AtPlane, Kind, Readings, picked, thin};
use prior::{Known, PlanePrior};
use search::UNEXPLAINED_RMS;

pub use posterior::{
    ByItself, Estimate, Event, Further, LeastChange, Limit, LineInSystem, LossParts, Measure, Part,
    Plug, Profile, ProfilePoint, Quantity, QuantityFrequencies, Side, SteelCore,
};
pub use search::{Cause, Explanation, Progress};

/// Why there is no estimate.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum EstimateError {
    /// No sweep says anything about the line.
    #[error("no sweep to estimate from")]
    NoSweeps,
    /// Fewer points than a line has parameters.
    #[error("{points} points are too few to estimate a line; {wanted} would do")]
    TooFewPoints {
        /// Points there are, over all sweeps.
        points: usize,
        /// Points that would do.
        wanted: usize,
    },
    /// It was cancelled.
    #[error("the estimate was stopped")]
    Stopped,
    /// No start led to a minimum.
    #[error("no line was found that these sweeps could be of")]
    NoStart,
    /// No start led to a minimum that explains the data.
    #[error("no single cable explains the sweeps: {rms:.3} rms of the reflection remains")]
    Unexplained {
        /// What the best fit leaves, rms of the complex reflection.
        rms: f64,
    },
}

/// Fewest points over all sweeps.
const FEWEST_POINTS: usize = 8;
/// Most points of each sweep; of more, that many are taken, spread over the band. What averages
/// out with more points is noise, and noise is not what limits so long a sweep.
const MOST_POINTS: usize = 1001;
/// Estimates the line from all sweeps of the bench.
///
/// # Errors
/// [`EstimateError`] says what the data lack.
pub fn estimate(bench: &Bench) -> Result<Estimate, EstimateError> {
    estimate_for(bench, &Progress::default())
}

/// [`estimate`] for a caller who may cancel it and follows its progress.
///
/// # Errors
/// [`EstimateError`] says what the data lack; [`EstimateError::Stopped`] if it was cancelled.
pub fn estimate_for(bench: &Bench, progress: &Progress) -> Result<Estimate, EstimateError> {
    let readings = collect(bench);
    if readings.is_empty() {
        return Err(EstimateError::NoSweeps);
    }
    let points: usize = readings.iter().map(|r| r.freq_hz.len()).sum();
    if points < FEWEST_POINTS {
        return Err(EstimateError::TooFewPoints {
            points,
            wanted: FEWEST_POINTS,
        });
    }
    let checks: Vec<Readings> = checks(bench).collect();
    let chosen = search::best(&readings, &checks, known_of(bench), progress);
    if progress.is_cancelled() {
        return Err(EstimateError::Stopped);
    }
    let chosen = chosen.ok_or(EstimateError::NoStart)?;
    let rms = chosen
        .fit
        .residual_rms
        .iter()
        .fold(0.0, |a: f64, &b| a.max(b));
    if rms > UNEXPLAINED_RMS {
        return Err(EstimateError::Unexplained { rms });
    }
    Ok(Estimate::new(chosen, bench))
}

fn collect(bench: &Bench) -> Vec<Readings> {
    let reflections = bench.sweeps.iter().map(|s| Readings {
        kind: match s.far_end {
            FarEnd::Open => Kind::Open,
            FarEnd::Short => Kind::Short,
            FarEnd::Load if bench.far_load_is_kit_load() => Kind::Load,
            FarEnd::Load => Kind::OtherLoad,
        },
        freq_hz: s.sweep.freq_hz().to_vec(),
        reflection: s.sweep.reflection().to_vec(),
        transmission: Vec::new(),
    });
    let throughs = bench.throughs.iter().map(|(t, _)| Readings {
        kind: Kind::Through,
        freq_hz: t.freq_hz().to_vec(),
        reflection: t.s11().to_vec(),
        transmission: t.both_ways().transmission,
    });
    reflections
        .chain(throughs)
        .map(|r| thin(&without_spikes(&r), f64::INFINITY, MOST_POINTS))
        .collect()
}

/// The readings but for single points that lie off the curve.
fn without_spikes(readings: &Readings) -> Readings {
    let of = |values: &[Complex64]| outliers::without_spikes(&readings.freq_hz, values);
    let mut keep = of(&readings.reflection);
    if !readings.transmission.is_empty() {
        let passed = of(&readings.transmission);
        keep.retain(|i| passed.binary_search(i).is_ok());
    }
    picked(readings, &keep)
}

/// Standards and other parts at the plane: they say nothing about the cable, so no start is sought in
/// them.
fn checks(bench: &Bench) -> impl Iterator<Item = Readings> {
    let standards = bench
        .plane
        .checks
        .iter()
        .map(|s| (Kind::Check(s.far_end), &s.sweep));
    let parts = bench
        .plane
        .parts
        .iter()
        .map(|p| (Kind::Part(AtPlane::of(p)), &p.sweep));
    standards.chain(parts).map(|(kind, sweep)| {
        let readings = Readings {
            kind,
            freq_hz: sweep.freq_hz().to_vec(),
            reflection: sweep.reflection().to_vec(),
            transmission: Vec::new(),
        };
        thin(&readings, f64::INFINITY, MOST_POINTS)
    })
}

fn known_of(bench: &Bench) -> Known {
    let kit_ohm = bench.kit_load.ohm.value;
    let far_ratio = bench.far_load.ohm.value / kit_ohm;
    let far_u = if bench.far_load_is_kit_load() {
        0.0
    } else {
        bench.far_load.ohm.relative()
    };
    Known {
        delay_s: 0.0,
        kit_ohm,
        far_ratio: (far_ratio.ln(), far_u),
        length_m: bench.length_m.map(|l| l.value),
        ends_early: false,
        any_conductor: false,
        directions_apart: bench
            .throughs
            .iter()
            .map(|(through, _)| through.both_ways().apart)
            .fold(0.0, f64::max),
        plane: PlanePrior::of(&bench.plane),
    }
}
