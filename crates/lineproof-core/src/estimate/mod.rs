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

mod apart;
#[cfg(test)]
mod derivatives;
mod model;
mod of_bench;
mod posterior;
mod prior;
mod search;

use thiserror::Error;

use crate::bench::Bench;
use model::Readings;
use of_bench::{checks, collect, known_of};
use search::UNEXPLAINED_RMS;

pub use posterior::{
    ByItself, Estimate, Event, Further, LeastChange, Limit, LineInSystem, LossParts, Measure, Part,
    Plug, Profile, ProfilePoint, Quantity, QuantityFrequencies, Side, SteelCore,
};
pub use search::{Apart, Cause, Difference, Explanation, Progress};

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
    let apart = apart::apart(bench, &chosen, progress);
    if progress.is_cancelled() {
        return Err(EstimateError::Stopped);
    }
    Ok(Estimate {
        apart,
        ..Estimate::new(chosen, bench)
    })
}
