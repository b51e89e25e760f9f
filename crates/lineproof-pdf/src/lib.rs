//! Reports and sheets of labels as PDF: values and pictures in, the file's bytes out.
//!
//! A [`Document`] is sections of [`Block`]s, with pictures as SVG text and words in place of them for
//! those who can't see them. [`report`] sets it on A4, [`sheets`] puts each SVG on paper of its size.
//! Both give tagged PDF that keeps PDF/UA-1 (ISO 14289-1: title, language, order of reading, words
//! for every picture) as far as the typesetter checks it. Fonts are embedded; nothing is read from
//! the machine or fetched. Same input, same bytes.
//!
//! The typesetter is heavy, so it stands behind the feature `engine`; without it everything here
//! gives [`PdfError::NotBuiltIn`].

mod document;
#[cfg_attr(not(feature = "engine"), path = "absent.rs")]
mod engine;
mod error;

pub use document::{Block, Document, Picture};
pub use error::PdfError;

/// Sets a report on A4.
///
/// # Errors
/// [`PdfError`].
pub fn report(document: &Document) -> Result<Vec<u8>, PdfError> {
    engine::report(document)
}

/// Puts each picture on a sheet of its own, `paper_mm` wide and high, without margins.
///
/// # Errors
/// [`PdfError`].
pub fn sheets(title: &str, sheets: &[Picture], paper_mm: [f64; 2]) -> Result<Vec<u8>, PdfError> {
    engine::sheets(title, sheets, paper_mm)
}

#[cfg(all(test, not(feature = "engine")))]
mod tests {
    use super::*;

    #[test]
    fn without_the_engine_a_sentence_says_what_to_do() {
        let error = report(&Document::default()).unwrap_err();
        assert_eq!(error, sheets("", &[], [1.0, 1.0]).unwrap_err());
        let help = error.help().unwrap();
        assert!(help.contains(".html") && help.contains("feature `pdf`"));
    }
}
