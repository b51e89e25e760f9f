//! What the person knows besides the sweeps: the load's value, the length, the marking.

use std::fmt;

use thiserror::Error;

use super::plane::Resolved;
use crate::bench::{LARGEST_LOAD_DEVIATION, Load, Marking};
use crate::quantity::Reading;
use crate::uncertain::{COVERAGE_FACTOR_95, Uncertain};

/// What is known, as typed.
#[derive(Clone, Debug, Default)]
pub struct Knowledge {
    /// Resistance of the calibration load by ohmmeter, ohm.
    pub load_ohm: Option<Reading>,
    /// Resistance at the far end of the load sweeps, ohm, if it is another part.
    pub far_load_ohm: Option<Reading>,
    /// Length by tape, m.
    pub length_m: Option<Reading>,
    /// How far the tape may be off, m, 95 % half-width.
    pub tape_error_m: Option<f64>,
    /// Length of the shorter piece by tape, m.
    pub shorter_length_m: Option<Reading>,
    /// Time from the calibration to the sweeps, s.
    pub calibration_age_s: Option<f64>,
    /// What the jacket claims.
    pub marking: Marking,
}

/// A number that is stated besides the sweeps.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stated {
    /// Resistance of the calibration load.
    Load,
    /// Resistance at the far end.
    FarLoad,
    /// Length of the cable.
    Length,
    /// Length of the shorter piece.
    ShorterLength,
}

impl fmt::Display for Stated {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Load => "Calibration load by ohmmeter",
            Self::FarLoad => "Other load at the far end",
            Self::Length => "Length by tape",
            Self::ShorterLength => "Length of the shorter piece by tape",
        })
    }
}

/// Why what was typed can't be used.
#[derive(Clone, Debug, Error)]
#[non_exhaustive]
pub enum KnowledgeError {
    /// A load that differs so much from the sweeps' reference that two things may be meant.
    #[error(
        "a load of {load_ohm} ohm has two readings for sweeps that refer to {reference_ohm} ohm: \
         the calibration load is that far off, or the value belongs to another resistor at the \
         far end"
    )]
    LoadFarFromReference {
        /// Load as typed, ohm.
        load_ohm: f64,
        /// Reference of the sweeps, ohm.
        reference_ohm: f64,
    },
    /// A number that can't be what it is said to be.
    #[error("{of}: {value} is not a positive number")]
    NotPositive {
        /// What it was said of.
        of: Stated,
        /// The number.
        value: f64,
    },
}

/// Error of an ordinary tape on the two planes that a cable is measured between, m (95 %). Common
/// practice: a few millimetres at each plug.
const TAPE_PLANES_M: f64 = 6e-3;
/// Error of an ordinary tape per metre: class III of Directive 2014/32/EU, annex X.
const TAPE_RELATIVE: f64 = 0.4e-3;

impl Knowledge {
    /// Calibration load and far-end load for sweeps that refer to `reference_ohm`.
    ///
    /// # Errors
    /// [`KnowledgeError`] if the calibration load can't be what was calibrated with.
    pub fn loads(
        &self,
        plane: &Resolved,
        reference_ohm: f64,
    ) -> Result<(Load, Load), KnowledgeError> {
        let corrected = plane.plane.standards.is_some_and(|s| s.corrected);
        let kit = match (self.load_ohm, plane.load) {
            (Some(reading), _) => {
                let load = measured_load(Stated::Load, reading)?;
                if !corrected
                    && (reading.value / reference_ohm - 1.0).abs() > LARGEST_LOAD_DEVIATION
                {
                    return Err(KnowledgeError::LoadFarFromReference {
                        load_ohm: reading.value,
                        reference_ohm,
                    });
                }
                load
            }
            (None, Some(load)) => load,
            (None, None) => Load::nominal(reference_ohm),
        };
        let far = match self.far_load_ohm {
            Some(reading) => measured_load(Stated::FarLoad, reading)?,
            None => kit,
        };
        if corrected {
            // the load's value is in the sweeps already, what it is uncertain by is not
            let unit = Uncertain::new(reference_ohm, reference_ohm * kit.ohm.relative());
            return Ok((Load { ohm: unit, ..kit }, far));
        }
        Ok((kit, far))
    }

    /// Length with the tape's error, m.
    ///
    /// # Errors
    /// [`KnowledgeError::NotPositive`].
    pub fn length(&self) -> Result<Option<Uncertain>, KnowledgeError> {
        self.length_m
            .map(|l| self.by_tape(Stated::Length, l))
            .transpose()
    }

    /// Length of the shorter piece with the tape's error, m.
    ///
    /// # Errors
    /// [`KnowledgeError::NotPositive`].
    pub fn shorter_length(&self) -> Result<Option<Uncertain>, KnowledgeError> {
        self.shorter_length_m
            .map(|l| self.by_tape(Stated::ShorterLength, l))
            .transpose()
    }

    fn by_tape(&self, of: Stated, reading: Reading) -> Result<Uncertain, KnowledgeError> {
        positive(of, reading.value)?;
        let u95 = self
            .tape_error_m
            .unwrap_or_else(|| TAPE_PLANES_M.hypot(TAPE_RELATIVE * reading.value));
        Ok(reading.uncertain().widened(u95 / COVERAGE_FACTOR_95))
    }
}

/// A load by ohmmeter, with the digits that were typed.
///
/// # Errors
/// [`KnowledgeError::NotPositive`].
pub fn measured_load(of: Stated, reading: Reading) -> Result<Load, KnowledgeError> {
    positive(of, reading.value)?;
    let mut load = Load::by_ohmmeter(reading.value);
    load.ohm = load.ohm.widened(reading.uncertain().u);
    Ok(load)
}

fn positive(of: Stated, value: f64) -> Result<(), KnowledgeError> {
    if value.is_finite() && value > 0.0 {
        Ok(())
    } else {
        Err(KnowledgeError::NotPositive { of, value })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reading(value: f64) -> Reading {
        Reading {
            value,
            half_digit: 0.005,
        }
    }

    #[test]
    fn the_calibration_load_ends_the_cable_unless_another_is_named() {
        let mut known = Knowledge {
            load_ohm: Some(reading(49.97)),
            ..Knowledge::default()
        };
        let (kit, far) = known.loads(&Resolved::default(), 50.0).unwrap();
        assert!(kit.measured && kit == far);
        known.far_load_ohm = Some(reading(100.1));
        assert_eq!(
            known.loads(&Resolved::default(), 50.0).unwrap().1.ohm.value,
            100.1
        );
    }

    #[test]
    fn a_load_far_from_the_reference_has_two_readings() {
        let known = Knowledge {
            load_ohm: Some(reading(100.1)),
            ..Knowledge::default()
        };
        let error = known.loads(&Resolved::default(), 50.0).unwrap_err();
        assert!(error.to_string().contains("two readings"), "{error}");
    }

    #[test]
    fn the_tape_is_a_few_millimetres_off() {
        let known = Knowledge {
            length_m: Some(reading(1.5)),
            ..Knowledge::default()
        };
        let length = known.length().unwrap().unwrap();
        assert!((0.005..0.015).contains(&length.u95()), "{}", length.u95());
    }
}
