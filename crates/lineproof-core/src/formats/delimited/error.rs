//! Why a text is not a table that can be read.

use thiserror::Error;

use crate::formats::{FrequencyUnit, PointError, Position};

/// Why a text is not a table that can be read.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum DelimitedError {
    /// No row of numbers.
    #[error("no data: expected rows of at least two numbers")]
    NoData,
    /// Numbers without names.
    #[error("no header before the numbers `{found}`: expected names of the columns")]
    NoHeader {
        /// The first row.
        found: String,
        /// Its place.
        at: Position,
    },
    /// No column that can be the frequency.
    #[error("no column of frequencies in the header `{found}`")]
    NoFrequency {
        /// The header.
        found: String,
        /// Its place.
        at: Position,
    },
    /// A frequency column that does not say its unit.
    #[error("the header does not say the unit of frequency, and {}", unit_readings(*highest, readings))]
    FrequencyUnit {
        /// Highest number in the column.
        highest: f64,
        /// Units that would give a sensible sweep.
        readings: Vec<FrequencyUnit>,
        /// The column's name.
        at: Position,
    },
    /// Angles that may be in degrees or radians.
    #[error("the angles in `{name}` can be degrees or radians: all are within 3.15 of zero")]
    AngleUnit {
        /// The column's name.
        name: String,
        /// The header.
        at: Position,
    },
    /// A magnitude below zero.
    #[error("magnitude {found} in `{name}` is negative")]
    NegativeMagnitude {
        /// The column's name.
        name: String,
        /// The number.
        found: f64,
        /// The header.
        at: Position,
    },
    /// Columns that do not determine a reflection.
    #[error("the columns `{found}` determine no reflection: {reason}")]
    NoPair {
        /// The header.
        found: String,
        /// What is missing.
        reason: &'static str,
        /// The header's place.
        at: Position,
    },
    /// A name that occurs twice in the part that it plays.
    #[error("`{first}` and `{second}` can both be the {role}")]
    TwoColumns {
        /// The first name.
        first: String,
        /// The second name.
        second: String,
        /// What both can be.
        role: &'static str,
        /// The header's place.
        at: Position,
    },
    /// A field that is no number.
    #[error("expected a number, found `{found}`")]
    Number {
        /// The field.
        found: String,
        /// The field's place.
        at: Position,
    },
    /// A row with more or fewer fields than the header.
    #[error("a row of {found} fields under a header of {expected}")]
    FieldCount {
        /// Fields in the row.
        found: usize,
        /// Fields in the header.
        expected: usize,
        /// The row.
        at: Position,
    },
    /// Commas that may mark decimals or group thousands.
    #[error("`{found}` can be read as {} or {}", readings[0], readings[1])]
    AmbiguousComma {
        /// The field.
        found: String,
        /// The two readings.
        readings: [String; 2],
        /// The field's place.
        at: Position,
    },
    /// Something unusual, while reading strictly.
    #[error("not accepted when reading strictly: {text}")]
    NotStandard {
        /// What it is.
        text: String,
        /// Where, if it is at one place.
        at: Option<Position>,
    },
    /// The points do not make a sweep.
    #[error(transparent)]
    Points(#[from] PointError),
}

impl DelimitedError {
    /// Where the error is, if it is at one place.
    pub fn position(&self) -> Option<Position> {
        match self {
            Self::NoData => None,
            Self::NotStandard { at, .. } => at.clone(),
            Self::Points(e) => e.position(),
            Self::NoHeader { at, .. }
            | Self::NoFrequency { at, .. }
            | Self::FrequencyUnit { at, .. }
            | Self::AngleUnit { at, .. }
            | Self::NegativeMagnitude { at, .. }
            | Self::NoPair { at, .. }
            | Self::TwoColumns { at, .. }
            | Self::Number { at, .. }
            | Self::FieldCount { at, .. }
            | Self::AmbiguousComma { at, .. } => Some(at.clone()),
        }
    }

    /// One next step, if there is one.
    pub fn help(&self) -> Option<String> {
        let text = match self {
            Self::NoHeader { .. } | Self::NoFrequency { .. } => {
                "put a header such as `Frequency (MHz), R (ohm), X (ohm)` or `Frequency (MHz), S11 re, S11 im` before the numbers"
            }
            Self::FrequencyUnit { .. } => "write the unit into the header, as in `Frequency (MHz)`",
            Self::AngleUnit { .. } => "write the unit into the header, as in `Phase (deg)`",
            Self::NoPair { .. } => {
                "export R and X, real and imaginary part, or return loss with phase"
            }
            Self::AmbiguousComma { .. } => "write points as decimals",
            Self::Points(e) => return e.help(),
            _ => return None,
        };
        Some(text.to_owned())
    }
}

fn unit_readings(highest: f64, units: &[FrequencyUnit]) -> String {
    let named: Vec<String> = units
        .iter()
        .map(|unit| format!("{highest} {unit}"))
        .collect();
    match named.len() {
        0 => format!("no unit makes {highest} a frequency that cables are swept to"),
        _ => format!("the highest can be {}", named.join(" or ")),
    }
}
