//! What stands in for the typesetter in builds without the feature `engine`.

use crate::{Document, PdfError, Picture};

pub(crate) fn report(_document: &Document) -> Result<Vec<u8>, PdfError> {
    Err(PdfError::NotBuiltIn)
}

pub(crate) fn sheets(
    _title: &str,
    _sheets: &[Picture],
    _paper_mm: [f64; 2],
) -> Result<Vec<u8>, PdfError> {
    Err(PdfError::NotBuiltIn)
}
