//! Frequencies at which nothing is stated, and why.

use thiserror::Error;

/// Why a frequency is refused.
#[derive(Clone, Copy, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum Refusal {
    /// Two or more standards reflect nearly the same.
    #[error("the standards look alike (condition number {condition:.0})")]
    Alike {
        /// Largest over smallest singular value of the equations.
        condition: f64,
    },
    /// Hardly anything comes back through the path to the standards.
    #[error(
        "the path to the standards loses the signal ({:.0} dB there and back)",
        -20.0 * tracking.log10()
    )]
    PathLost {
        /// Magnitude of the reflection tracking.
        tracking: f64,
    },
    /// The standards are known or read too badly.
    #[error("the standards leave a reflection uncertain by {u:.2}")]
    Uncertain {
        /// Standard uncertainty of a total reflection per part.
        u: f64,
    },
    /// Fewer than three standards are both read and known.
    #[error("{known} standards are known and measured there: expected three or more")]
    TooFewKnown {
        /// How many are.
        known: usize,
    },
    /// The calibration has no such frequency.
    #[error("the standards were not measured at this frequency")]
    NotCalibrated,
    /// Beyond the table of a two-port to de-embed.
    #[error("the two-port to de-embed is not known there")]
    NotTabulated,
    /// The equations have no finite solution.
    #[error("the equations have no solution")]
    NoAnswer,
}

impl Refusal {
    /// A word for programs.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Alike { .. } => "standards-alike",
            Self::PathLost { .. } => "path-lost",
            Self::Uncertain { .. } => "too-uncertain",
            Self::TooFewKnown { .. } => "too-few-standards",
            Self::NotCalibrated => "not-calibrated",
            Self::NotTabulated => "not-tabulated",
            Self::NoAnswer => "no-answer",
        }
    }
}

/// One refused frequency.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RefusedPoint {
    /// Frequency, Hz.
    pub freq_hz: f64,
    /// Why.
    pub refusal: Refusal,
}

/// Refused frequencies next to each other for the same reason.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct RefusedRange {
    /// Lowest, Hz.
    pub start_hz: f64,
    /// Highest, Hz.
    pub stop_hz: f64,
    /// Number of points.
    pub points: usize,
    /// The reason, with the figures of the first point.
    #[cfg_attr(feature = "serde", serde(flatten))]
    pub refusal: Refusal,
}

/// Gathers refused points, rising in frequency, into ranges of one reason. Points that were used in
/// between part them.
pub fn ranges(refused: &[RefusedPoint], used_hz: &[f64]) -> Vec<RefusedRange> {
    let mut ranges: Vec<RefusedRange> = Vec::new();
    for point in refused {
        let parted = |from: f64| used_hz.iter().any(|&f| from < f && f < point.freq_hz);
        match ranges.last_mut() {
            Some(last) if last.refusal.code() == point.refusal.code() && !parted(last.stop_hz) => {
                last.stop_hz = point.freq_hz;
                last.points += 1;
            }
            _ => ranges.push(RefusedRange {
                start_hz: point.freq_hz,
                stop_hz: point.freq_hz,
                points: 1,
                refusal: point.refusal,
            }),
        }
    }
    ranges
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn neighbours_of_one_reason_make_a_range() {
        let alike = |freq_hz| RefusedPoint {
            freq_hz,
            refusal: Refusal::Alike { condition: 500.0 },
        };
        let lost = RefusedPoint {
            freq_hz: 9e9,
            refusal: Refusal::PathLost { tracking: 0.01 },
        };
        let got = ranges(&[alike(1e6), alike(2e6), alike(4e6), lost], &[3e6]);
        let shape: Vec<_> = got
            .iter()
            .map(|r| (r.start_hz, r.stop_hz, r.points))
            .collect();
        assert_eq!(shape, [(1e6, 2e6, 2), (4e6, 4e6, 1), (9e9, 9e9, 1)]);
        assert_eq!(
            got[2].refusal.to_string(),
            "the path to the standards loses the signal (40 dB there and back)"
        );
    }
}
