//! Why there are no labels.

use thiserror::Error;

use super::code::LEAST_MODULE_MM;
use super::text::LEAST_TEXT_MM;

/// Why there are no labels.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum LabelError {
    /// A sheet that can't be.
    #[error("no such sheet: {what}")]
    Sheet {
        /// What is wrong.
        what: String,
    },
    /// More text than fits readably.
    #[error(
        "the label of `{tag}` does not fit on {} × {} mm in letters of {LEAST_TEXT_MM} mm and a code \
         of {LEAST_MODULE_MM} mm a module", .label_mm[0], .label_mm[1]
    )]
    TooSmall {
        /// The cable's tag.
        tag: String,
        /// Width and height, mm.
        label_mm: [f64; 2],
    },
    /// A text that no code holds.
    #[error("{bytes} bytes for the code of `{tag}` are more than a QR code holds")]
    CodeTooLong {
        /// The cable's tag.
        tag: String,
        /// Length of the text.
        bytes: usize,
    },
    /// More places are used already than a sheet has.
    #[error("{skipped} labels are skipped, but a sheet has {places} only")]
    Skipped {
        /// Places to skip.
        skipped: usize,
        /// Places of a sheet.
        places: usize,
    },
}
