//! Why there is no PDF.

use thiserror::Error;

/// Why there is no PDF.
#[derive(Clone, Debug, Error, PartialEq, Eq)]
#[non_exhaustive]
pub enum PdfError {
    /// The program was built without it.
    #[error("this build cannot write PDF")]
    NotBuiltIn,
    /// The typesetter refuses.
    #[error("cannot typeset the PDF: {what}")]
    Typesetting {
        /// What it says.
        what: String,
    },
}

impl PdfError {
    /// One next step.
    pub fn help(&self) -> Option<&'static str> {
        match self {
            Self::NotBuiltIn => Some(
                "write it as .html and print it to a PDF from a browser, or build with the feature `pdf`",
            ),
            Self::Typesetting { .. } => None,
        }
    }
}
