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

#[cfg_attr(not(feature = "engine"), path = "absent.rs")]
mod engine;

use serde::Serialize;
use thiserror::Error;

/// A report.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Document {
    /// Its title, also at the foot of each page.
    pub title: String,
    /// Its sections; each begins a page.
    pub sections: Vec<Vec<Block>>,
}

/// A piece of a section.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Block {
    /// A heading; a section begins with one of level 1, and no level is left out.
    Heading {
        /// From 1.
        level: usize,
        /// Its text.
        text: String,
    },
    /// Sentences.
    Paragraph {
        /// Their text.
        text: String,
        /// Whether they stand back behind the others.
        quiet: bool,
    },
    /// What the one who decides must know, in a frame.
    Decision {
        /// The sentence that says it.
        sentence: String,
        /// `sound`, `faulty` or anything else, which the frame shows by its line.
        condition: String,
        /// Names and what is said of them; a name that is empty goes on with the one before.
        rows: Vec<[String; 2]>,
    },
    /// Names and what is said of them.
    Terms {
        /// The rows.
        rows: Vec<[String; 2]>,
    },
    /// A table.
    Table {
        /// Headings of its columns.
        columns: Vec<String>,
        /// Numbers of the columns whose cells stand to the right.
        right: Vec<usize>,
        /// Its rows, as many cells as columns.
        rows: Vec<Vec<String>>,
    },
    /// A list.
    List {
        /// Whether its order matters.
        ordered: bool,
        /// Its items.
        items: Vec<String>,
    },
    /// A picture with its caption.
    Picture(Picture),
}

/// A picture.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Picture {
    /// A whole SVG document.
    #[serde(skip)]
    pub svg: String,
    /// What it shows, for those who can't see it.
    pub alt: String,
    /// Caption below it; none if empty.
    pub caption: String,
    /// Width on the page, mm.
    pub width_mm: f64,
}

/// Why there is no PDF.
#[derive(Clone, Debug, Error, PartialEq, Eq)]
#[non_exhaustive]
pub enum PdfError {
    /// The program was built without it.
    #[error("this program was built without PDF")]
    NotBuiltIn,
    /// The typesetter refuses.
    #[error("the PDF can't be set: {what}")]
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
