//! Sweeps corrected with raw readings of standards, or by what the standards are that an analyser called ideal.
//!
//! A [`Port`] is either; it corrects ([`Port::correct`]) and de-embeds what lies between the plane and the
//! cable ([`Between`]), one sweep after the other.

use num_complex::Complex64;

use super::accuracy::Accuracy;
use super::fixture::{Adapter, without_adapter, without_two_port};
use super::improve::{TakenFor, improvement};
use super::kit::{Kind, Kit, StandardsError};
use super::{Calibration, CalibrationError, Corrected, StandardReading, calibrate};
use crate::sweep::{Sweep, ThroughSweep};
use crate::uncertain::COVERAGE_FACTOR_95;

/// How sweeps are corrected.
#[derive(Clone, Debug)]
pub enum Port {
    /// With raw sweeps of standards.
    Calibrated {
        /// The calibration.
        calibration: Box<Calibration>,
        /// Names of the standards.
        names: Vec<String>,
    },
    /// By what the standards are that were called ideal.
    CalledIdeal {
        /// The standards, with what the analyser took them for.
        standards: Vec<TakenFor>,
        /// Reference of the results, ohm.
        reference_ohm: f64,
        /// How far readings and connections are to be trusted.
        accuracy: Accuracy,
    },
}

/// What lies between the calibrated plane and the wanted one.
#[derive(Clone, Debug)]
pub enum Between {
    /// An adapter that was described.
    Described(Adapter),
    /// A two-port that was measured.
    Measured(ThroughSweep),
}

/// What is stated of readings and connections, each as a 95 % half-width; common practice stands in for the rest.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct StatedAccuracy {
    /// What connections differ by, as reflection.
    pub repeatability: Option<f64>,
    /// Noise of a raw reading.
    pub noise: Option<f64>,
    /// Drift since the calibration, as reflection.
    pub drift: Option<f64>,
}

/// Noise of sweeps that an analyser corrected itself, per part; common practice.
const IMPROVED_NOISE: f64 = 3e-4;

impl StatedAccuracy {
    /// With what is usual of a pocket analyser; `called_ideal` for sweeps that it corrected itself.
    fn accuracy(self, called_ideal: bool) -> Accuracy {
        let usual = Accuracy::POCKET;
        let standard = |u95: f64| u95 / COVERAGE_FACTOR_95;
        Accuracy {
            // Constant readings of standards called ideal show no noise; the sweep's own is ordinary.
            noise: self
                .noise
                .map(standard)
                .or(called_ideal.then_some(IMPROVED_NOISE)),
            connection: self.repeatability.map_or(usual.connection, standard),
            drift: self.drift.map_or(usual.drift, standard),
        }
    }
}

impl Port {
    /// A port from raw readings of standards; results refer to `reference_ohm`.
    ///
    /// # Errors
    /// As [`calibrate`].
    pub fn calibrated(
        standards: Vec<StandardReading>,
        reference_ohm: f64,
        stated: StatedAccuracy,
    ) -> Result<Self, CalibrationError> {
        let calibration = calibrate(&standards, reference_ohm, &stated.accuracy(false))?;
        Ok(Self::Calibrated {
            calibration: Box::new(calibration),
            names: standards.into_iter().map(|s| s.name).collect(),
        })
    }

    /// A port whose analyser took the kit's one open, short and load for ideal.
    ///
    /// # Errors
    /// [`StandardsError::NotOneOf`].
    pub fn called_ideal(
        kit: &Kit,
        reference_ohm: f64,
        stated: StatedAccuracy,
    ) -> Result<Self, StandardsError> {
        let taken_for = |(kind, name, believed): (Kind, &'static str, f64)| {
            let (name, standard) = kit.the_one(kind, name)?;
            Ok(TakenFor {
                name: name.clone(),
                believed: Complex64::from(believed),
                definition: standard.definition.clone(),
            })
        };
        let three = [
            (Kind::Open, "open", 1.0),
            (Kind::Short, "short", -1.0),
            (Kind::Load, "load", 0.0),
        ];
        Ok(Self::CalledIdeal {
            standards: three.into_iter().map(taken_for).collect::<Result<_, _>>()?,
            reference_ohm,
            accuracy: stated.accuracy(true),
        })
    }

    /// Names of the standards.
    pub fn names(&self) -> Vec<String> {
        match self {
            Self::Calibrated { names, .. } => names.clone(),
            Self::CalledIdeal { standards, .. } => {
                standards.iter().map(|s| s.name.clone()).collect()
            }
        }
    }

    /// The calibration that corrects this sweep.
    ///
    /// # Errors
    /// [`CalibrationError`] if nothing of it can be.
    pub fn calibration_for(&self, raw: &Sweep) -> Result<Calibration, CalibrationError> {
        match self {
            Self::Calibrated { calibration, .. } => Ok((**calibration).clone()),
            Self::CalledIdeal {
                standards,
                reference_ohm,
                accuracy,
            } => improvement(standards, raw, *reference_ohm, accuracy),
        }
    }

    /// The sweep corrected, what lies between de-embedded from the analyser outwards; and the calibration.
    ///
    /// # Errors
    /// [`CalibrationError`] if no point is left.
    pub fn correct(
        &self,
        raw: &Sweep,
        between: &[Between],
    ) -> Result<(Corrected, Calibration), CalibrationError> {
        let calibration = self.calibration_for(raw)?;
        let mut corrected = calibration.correct(raw)?;
        for two_port in between {
            corrected = match two_port {
                Between::Described(adapter) => without_adapter(&corrected, adapter),
                Between::Measured(sweep) => without_two_port(&corrected, sweep),
            }?;
        }
        Ok((corrected, calibration))
    }
}
