//! Why a file gives no measurement.

use thiserror::Error;

use super::decode::DecodeError;
use super::delimited::DelimitedError;
use super::notice::Position;
use super::touchstone::TouchstoneError;

/// Why a file gives no measurement.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum ReadError {
    /// The bytes are no text.
    #[error(transparent)]
    Decode(#[from] DecodeError),
    /// It is, or should be, a Touchstone file.
    #[error(transparent)]
    Touchstone(#[from] TouchstoneError),
    /// It is a table.
    #[error(transparent)]
    Delimited(#[from] DelimitedError),
    /// Neither an option line nor a header was found.
    #[error("expected a Touchstone file or a table with a header, found `{found}`")]
    Unrecognised {
        /// The first line with something on it.
        found: String,
        /// Where it stands.
        at: Position,
    },
    /// Nothing but blanks.
    #[error("the file is empty")]
    Empty,
}

impl ReadError {
    /// Where the error is, if it is at one place.
    pub fn position(&self) -> Option<Position> {
        match self {
            Self::Touchstone(e) => e.position(),
            Self::Delimited(e) => e.position(),
            Self::Unrecognised { at, .. } => Some(at.clone()),
            Self::Decode(_) | Self::Empty => None,
        }
    }

    /// One next step, if there is one.
    pub fn help(&self) -> Option<String> {
        match self {
            Self::Touchstone(e) => e.help(),
            Self::Delimited(e) => e.help(),
            Self::Unrecognised { .. } => Some(
                "a table needs a header such as `Frequency (MHz), R (ohm), X (ohm)`".to_owned(),
            ),
            Self::Decode(e) => e.help(),
            Self::Empty => None,
        }
    }
}
