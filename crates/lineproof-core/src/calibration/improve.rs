//! A calibration that took its standards as ideal, improved afterwards.
//!
//! An analyser that was calibrated with an open, a short and a load called ideal reads exactly +1,
//! −1 and 0 when it is given these same parts again, whatever they are. So its corrected readings are
//! those of a port whose standards read +1, −1 and 0: the usual calibration with what the parts
//! really are gives the exact bilinear map from its readings to the truth. It equals a full
//! recalibration with the raw readings (a bilinear map of a bilinear map is one).
//!
//! Assumes that the instrument solved the three-term model exactly, with no interpolation between
//! frequencies and no averaging of more than three standards.

use num_complex::Complex64;

use super::CalibrationError;
use super::accuracy::Accuracy;
use super::port::{Calibration, StandardReading, calibrate};
use super::standard::Definition;
use crate::sweep::Sweep;

/// What a standard was taken for and what it is.
#[derive(Clone, Debug)]
pub struct TakenFor {
    /// How messages call it.
    pub name: String,
    /// Reflection that the instrument believed in.
    pub believed: Complex64,
    /// What it is.
    pub definition: Definition,
}

/// The calibration that turns the instrument's corrected readings, at the frequencies of `readings`,
/// into true ones.
///
/// # Errors
/// As [`calibrate`].
pub fn improvement(
    standards: &[TakenFor],
    readings: &Sweep,
    z_ref_ohm: f64,
    accuracy: &Accuracy,
) -> Result<Calibration, CalibrationError> {
    let read: Vec<StandardReading> = standards
        .iter()
        .map(|s| StandardReading {
            name: s.name.clone(),
            definition: s.definition.clone(),
            // an instrument that took a standard for ideal reads exactly that of it: the prior is its raw reading
            raw: constant(readings, s.believed),
        })
        .collect();
    calibrate(&read, z_ref_ohm, accuracy)
}

fn constant(like: &Sweep, value: Complex64) -> Sweep {
    Sweep::new(
        like.freq_hz().to_vec(),
        vec![value; like.len()],
        like.z_ref_ohm(),
    )
    .expect("frequencies and reference are those of a sweep")
}
