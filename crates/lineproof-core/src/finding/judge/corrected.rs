//! What must be known of sweeps that were corrected.

use crate::calibration::Corrected;
use crate::calibration::kit::Kit;
use crate::finding::remarks::{Warning, WarningCode};
use crate::quantity::format_frequency;

/// What must be known of sweeps that were corrected with a kit, `described` or an ordinary one, each with its name.
pub fn warnings<'a>(
    kit: &Kit,
    described: bool,
    sweeps: impl Iterator<Item = (&'a str, &'a Corrected)>,
) -> Vec<Warning> {
    let mut warnings = Vec::new();
    if !described {
        warnings.push(Warning::new(
            WarningCode::KitNotDescribed,
            "no description of the standards: an ordinary open, short and load are assumed, and \
             the intervals are as wide as that",
        ));
    }
    let exact = kit.exact();
    if !exact.is_empty() {
        let text = format!(
            "no limits are stated for {}: taken as exact, so the intervals are too narrow if it is not",
            exact.join(", ")
        );
        warnings.push(Warning::new(WarningCode::StandardWithoutLimits, text));
    }
    for (label, corrected) in sweeps {
        if let Some(i) = corrected.active_point() {
            let text = format!(
                "`{label}` reflects {:.3} at {}, more than a passive cable can: a wrong standard, the \
                 wrong kit, or an old calibration",
                corrected.reflection()[i].norm(),
                format_frequency(corrected.freq_hz()[i])
            );
            warnings.push(Warning::new(WarningCode::ReflectionAboveOne, text));
        }
    }
    warnings
}
