//! One line model fitted to every sweep of a cable: the seam between what the program reports and
//! how it is estimated.
//!
//! [`estimate`] takes a [`Bench`] and gives an [`Estimate`]; whoever reports it asks for quantities
//! at frequencies and never sees the model's parameters.

use thiserror::Error;

use crate::bench::Bench;
use crate::uncertain::Uncertain;

/// What the sweeps say about the cable, all of them taken together.
#[derive(Clone, Debug)]
pub struct Estimate {}

/// The largest part of an interval.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Limit {
    /// The value of the calibration load.
    Load,
    /// What calibration leaves of the analyser's errors.
    Calibration,
    /// Noise of the readings.
    Noise,
    /// The tape measure.
    Tape,
}

/// Why there is no estimate.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum EstimateError {
    /// No sweep that tells anything about the line.
    #[error("no sweep to estimate from")]
    NoSweeps,
    /// The phase between neighbouring points turns too far to be followed.
    #[error(
        "the step of {step_hz} Hz is too coarse to follow the phase; a step below {wanted_hz} Hz would do"
    )]
    StepTooCoarse {
        /// Largest step, Hz.
        step_hz: f64,
        /// Step that would do, Hz.
        wanted_hz: f64,
    },
    /// No start led to a minimum that explains the data.
    #[error("no uniform line explains the sweeps: {rms} rms remains where {expected} is expected")]
    Unexplained {
        /// What the best fit leaves, rms of the reflection.
        rms: f64,
        /// What the analyser may be off by, rms.
        expected: f64,
    },
}

impl Estimate {
    /// Real part of the characteristic impedance at `freq_hz`, ohm.
    pub fn impedance_ohm(&self, _freq_hz: f64) -> Uncertain {
        Uncertain::exact(f64::NAN)
    }

    /// One-way phase delay of the piece at `freq_hz`, s.
    pub fn one_way_delay_s(&self, _freq_hz: f64) -> Uncertain {
        Uncertain::exact(f64::NAN)
    }

    /// One-way matched loss of the piece at `freq_hz`, dB.
    pub fn loss_db(&self, _freq_hz: f64) -> Uncertain {
        Uncertain::exact(f64::NAN)
    }

    /// Largest part of the impedance's interval.
    pub fn impedance_limited_by(&self) -> Limit {
        Limit::Load
    }

    /// Frequencies that the sweeps cover, Hz: lowest and highest.
    pub fn covered_hz(&self) -> (f64, f64) {
        (0.0, 0.0)
    }

    /// What the fit leaves, rms of the complex reflection over all sweeps.
    pub fn residual_rms(&self) -> f64 {
        f64::NAN
    }
}

/// Estimates the line from all sweeps of the bench.
///
/// # Errors
/// [`EstimateError`] says what the data lack.
pub fn estimate(_bench: &Bench) -> Result<Estimate, EstimateError> {
    Err(EstimateError::NoSweeps)
}
