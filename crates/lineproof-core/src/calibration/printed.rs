//! Calibrations and corrected sweeps as programs read them. Complex numbers are real and imaginary part.

use serde::{Serialize, Serializer};

use super::refusal::RefusedRange;
use super::{Calibration, Corrected, Point, Refusal};
use crate::uncertain::COVERAGE_FACTOR_95;

#[derive(Serialize)]
struct CalibrationPrinted<'a> {
    /// 95 % half-width of the noise of a raw reading, either part.
    u95_noise: f64,
    /// Reference of corrected sweeps, ohm.
    z_ref_ohm: f64,
    /// The calibration, by rising frequency.
    calibration: &'a [Point],
    /// Frequencies without a calibration.
    refused: Vec<RefusedRange>,
}

#[derive(Serialize)]
struct CorrectedPrinted {
    /// Its points, by rising frequency.
    points: Vec<PointPrinted>,
    /// Frequencies that were left out.
    refused: Vec<RefusedRange>,
}

#[derive(Serialize)]
struct PointPrinted {
    freq_hz: f64,
    re: f64,
    im: f64,
    /// 95 % half-widths of both parts.
    u95_re: f64,
    u95_im: f64,
}

#[derive(Serialize)]
struct RefusalPrinted {
    /// The reason in a word.
    code: &'static str,
    /// The reason with its figures.
    text: String,
}

impl Serialize for Calibration {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        CalibrationPrinted {
            u95_noise: COVERAGE_FACTOR_95 * self.noise(),
            z_ref_ohm: self.z_ref_ohm(),
            calibration: self.points(),
            refused: self.refused_ranges(),
        }
        .serialize(to)
    }
}

impl Serialize for Corrected {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let point = |index: usize| {
            let [re, im] = self.parts(index);
            PointPrinted {
                freq_hz: self.freq_hz()[index],
                re: re.value,
                im: im.value,
                u95_re: re.u95(),
                u95_im: im.u95(),
            }
        };
        CorrectedPrinted {
            points: (0..self.freq_hz().len()).map(point).collect(),
            refused: self.refused(),
        }
        .serialize(to)
    }
}

impl Serialize for Refusal {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        RefusalPrinted {
            code: self.code(),
            text: self.to_string(),
        }
        .serialize(to)
    }
}
