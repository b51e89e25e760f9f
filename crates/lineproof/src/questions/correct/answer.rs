//! A correction for programs.

use lineproof_core::calibration::refusal::RefusedRange;
use lineproof_core::calibration::{Corrected, Point};
use lineproof_core::uncertain::COVERAGE_FACTOR_95;
use num_complex::Complex64;
use serde::{Serialize, Serializer};

use super::correction::{CorrectedFile, Correction};
use super::text::refused_calibration;
use crate::finding::{CalibrationFound, Warning};
use crate::workflow::load::shown;

/// A calibration, and the sweeps that it corrected. Complex numbers are real and imaginary part.
#[derive(Clone, Debug, Serialize)]
struct Printed<'a> {
    /// Name of the kit.
    kit: &'a str,
    /// Names of the standards that were used.
    standards: &'a [String],
    /// Whether an analyser's own calibration was improved.
    improved: bool,
    /// 95 % half-width of the noise of a raw reading, either part.
    u95_noise: f64,
    /// Reference of the corrected sweeps, ohm.
    z_ref_ohm: f64,
    /// The calibration, by rising frequency.
    calibration: Vec<CalibrationPoint>,
    /// Frequencies without a calibration.
    refused: Vec<RangeRefused>,
    /// The corrected sweeps.
    sweeps: Vec<SweepCorrected>,
    /// What the calibration left, by the ripple of long lines.
    left: &'a [CalibrationFound],
    /// Files that could not be read or corrected, a sentence each.
    failed: Vec<String>,
    /// What the reader must know.
    warnings: &'a [Warning],
}

/// The calibration at one frequency.
#[derive(Clone, Copy, Debug, Serialize)]
struct CalibrationPoint {
    /// Frequency, Hz.
    freq_hz: f64,
    /// Largest over smallest singular value of the equations.
    condition: f64,
    /// rms of what the standards leave, in the raw reading's unit; zero with three standards.
    residual_rms: f64,
    /// How much more the standards disagree than their uncertainties say, at least 1.
    widened: f64,
    /// Directivity.
    directivity: [f64; 2],
    /// Source match.
    source_match: [f64; 2],
    /// Tracking.
    tracking: [f64; 2],
}

/// Frequencies that were refused for one reason.
#[derive(Clone, Debug, Serialize)]
struct RangeRefused {
    /// Lowest, Hz.
    start_hz: f64,
    /// Highest, Hz.
    stop_hz: f64,
    /// Number of points.
    points: usize,
    /// The reason in a word.
    code: &'static str,
    /// The reason with the figures of the first point.
    text: String,
}

/// A corrected sweep.
#[derive(Clone, Debug, Serialize)]
struct SweepCorrected {
    /// The file that it came from.
    file: String,
    /// The file that it was written to.
    written: String,
    /// The file that its intervals were written to.
    intervals: String,
    /// Its points, by rising frequency.
    points: Vec<PointCorrected>,
    /// Frequencies that were left out.
    refused: Vec<RangeRefused>,
}

/// A corrected reflection.
#[derive(Clone, Copy, Debug, Serialize)]
struct PointCorrected {
    /// Frequency, Hz.
    freq_hz: f64,
    /// Real part.
    re: f64,
    /// Imaginary part.
    im: f64,
    /// 95 % half-width of the real part.
    u95_re: f64,
    /// 95 % half-width of the imaginary part.
    u95_im: f64,
}

impl Serialize for Correction {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        Printed::of(self).serialize(to)
    }
}

impl<'a> Printed<'a> {
    fn of(correction: &'a Correction) -> Self {
        let calibration = &correction.calibration;
        let refused = refused_calibration(correction);
        Self {
            improved: correction.improved,
            u95_noise: COVERAGE_FACTOR_95 * calibration.noise(),
            z_ref_ohm: calibration.z_ref_ohm(),
            calibration: calibration
                .points()
                .iter()
                .map(CalibrationPoint::of)
                .collect(),
            refused: refused.iter().map(RangeRefused::of).collect(),
            sweeps: correction.sweeps.iter().map(SweepCorrected::of).collect(),
            failed: correction.failed.iter().map(ToString::to_string).collect(),
            kit: &correction.kit,
            standards: &correction.standards,
            left: &correction.left,
            warnings: &correction.warnings,
        }
    }
}

impl CalibrationPoint {
    fn of(point: &Point) -> Self {
        let parts = |term: Complex64| [term.re, term.im];
        Self {
            freq_hz: point.freq_hz,
            condition: point.condition,
            residual_rms: point.residual_rms,
            widened: point.widened,
            directivity: parts(point.terms.directivity),
            source_match: parts(point.terms.source_match),
            tracking: parts(point.terms.tracking),
        }
    }
}

impl RangeRefused {
    fn of(range: &RefusedRange) -> Self {
        Self {
            start_hz: range.start_hz,
            stop_hz: range.stop_hz,
            points: range.points,
            code: range.refusal.code(),
            text: range.refusal.to_string(),
        }
    }
}

impl SweepCorrected {
    fn of(file: &CorrectedFile) -> Self {
        let corrected = &file.corrected;
        let points = 0..corrected.freq_hz().len();
        Self {
            file: file.label.clone(),
            written: shown(&file.written),
            intervals: shown(&file.intervals),
            points: points.map(|i| PointCorrected::of(corrected, i)).collect(),
            refused: corrected.refused().iter().map(RangeRefused::of).collect(),
        }
    }
}

impl PointCorrected {
    fn of(corrected: &Corrected, index: usize) -> Self {
        let [re, im] = corrected.parts(index);
        Self {
            freq_hz: corrected.freq_hz()[index],
            re: re.value,
            im: im.value,
            u95_re: re.u95(),
            u95_im: im.u95(),
        }
    }
}
