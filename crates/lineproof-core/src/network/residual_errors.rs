//! What residual errors of a one-port calibration do to a reading.
//!
//! ΔΓ = D + TΓ + MΓ² with residual directivity D, tracking T and test port match M. Sources:
//! EURAMET Calibration Guide 12 (form from memory) and the usual return-loss limits of application
//! notes (form from memory). Magnitudes throughout; the phases are not known.

use crate::line::mismatch::{reflection_of_return_loss, return_loss_db};

/// Magnitudes of what calibration left.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ResidualErrors {
    /// Directivity.
    pub directivity: f64,
    /// Reflection tracking.
    pub tracking: f64,
    /// Test port (source) match.
    pub source_match: f64,
    /// Everything that changes from reading to reading.
    pub repeatability: f64,
}

impl ResidualErrors {
    /// Uncertainty of a reflection magnitude, parts combined as root sum of squares.
    pub fn root_sum_square(self, reflection: f64) -> f64 {
        self.parts(reflection)
            .iter()
            .map(|part| part * part)
            .sum::<f64>()
            .sqrt()
    }

    /// Uncertainty of a reflection magnitude if all parts point the same way.
    pub fn worst_case(self, reflection: f64) -> f64 {
        self.parts(reflection).iter().sum()
    }

    /// Lowest and highest return loss, dB, that may stand behind the true `return_loss_db`; the
    /// highest is `None` if the errors may hide the reflection altogether.
    pub fn return_loss_limits_db(self, true_return_loss_db: f64) -> (f64, Option<f64>) {
        let reflection = reflection_of_return_loss(true_return_loss_db);
        let error = self.worst_case(reflection);
        (
            -20.0 * (reflection + error).log10(),
            return_loss_db(reflection - error),
        )
    }

    fn parts(self, reflection: f64) -> [f64; 4] {
        [
            self.directivity,
            self.tracking * reflection,
            self.source_match * reflection * reflection,
            self.repeatability,
        ]
    }
}

/// Residual directivity from the ripple of an air line with a load: half of peak to peak.
pub fn directivity_of_ripple(largest: f64, smallest: f64) -> f64 {
    0.5 * (largest - smallest)
}

/// Residual test port match from the ripple of an air line with a short: half of peak to peak less
/// the directivity, since |Γ| is near 1.
pub fn source_match_of_ripple(largest: f64, smallest: f64, directivity: f64) -> f64 {
    0.5 * (largest - smallest) - directivity
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reflection_below_the_directivity_has_no_upper_limit_of_return_loss() {
        let errors = ResidualErrors {
            directivity: 0.01,
            ..ResidualErrors::default()
        };
        let (low, high) = errors.return_loss_limits_db(45.0);
        assert!(low < 45.0);
        assert_eq!(high, None);
    }
}
