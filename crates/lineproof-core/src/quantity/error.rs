//! Why a text is not the quantity that was asked for.

use thiserror::Error;

/// Why a text is not the quantity that was asked for.
#[derive(Clone, Debug, Error, PartialEq, Eq)]
#[non_exhaustive]
pub enum QuantityError {
    /// Nothing but blanks.
    #[error("expected a {quantity} such as `{example}`, found nothing")]
    Empty {
        /// What was asked for.
        quantity: &'static str,
        /// How one is written.
        example: &'static str,
    },
    /// No number where one must stand.
    #[error("expected a {quantity} such as `{example}`, found `{text}`")]
    NoNumber {
        /// The whole text.
        text: String,
        /// What was asked for.
        quantity: &'static str,
        /// How one is written.
        example: &'static str,
    },
    /// Digits, points and commas that make no number.
    #[error("`{number}` in `{text}` is not a number")]
    MalformedNumber {
        /// The whole text.
        text: String,
        /// The part that should be a number.
        number: String,
    },
    /// A comma that may group thousands or mark decimals.
    #[error("`{text}` can be read as `{}` or `{}`: write one of them", readings[0], readings[1])]
    AmbiguousNumber {
        /// The whole text.
        text: String,
        /// The two readings.
        readings: [String; 2],
    },
    /// A number without its unit.
    #[error("{quantity} `{text}` has no unit: write `{}` or `{}`", readings[0], readings[1])]
    MissingUnit {
        /// The whole text.
        text: String,
        /// What was asked for.
        quantity: &'static str,
        /// The two likely readings.
        readings: [String; 2],
    },
    /// A unit that this quantity does not have.
    #[error("`{unit}` in `{text}` is not a unit of {quantity}: expected one of {known}")]
    UnknownUnit {
        /// The whole text.
        text: String,
        /// The unit as typed.
        unit: String,
        /// What was asked for.
        quantity: &'static str,
        /// The units that it has.
        known: String,
    },
    /// A unit whose case decides, typed in neither.
    #[error("`{text}` can be read as `{}` or `{}`: write one of them", readings[0], readings[1])]
    AmbiguousUnit {
        /// The whole text.
        text: String,
        /// The two readings.
        readings: [String; 2],
    },
    /// A number that the quantity can't have.
    #[error("{quantity} `{text}` is out of range: expected {expected}")]
    OutOfRange {
        /// The whole text.
        text: String,
        /// What was asked for.
        quantity: &'static str,
        /// The range.
        expected: &'static str,
    },
    /// Something after the end of the quantity.
    #[error("`{rest}` after the {quantity} in `{text}` is not understood")]
    Trailing {
        /// The whole text.
        text: String,
        /// What is left over.
        rest: String,
        /// What was asked for.
        quantity: &'static str,
    },
}
