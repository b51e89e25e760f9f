//! From values to pages: the templates beside this file, set by the typesetter without files,
//! packages or fonts of the machine.

use serde::Serialize;
use typst_as_lib::{TypstAsLibError, TypstEngine};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards};

use crate::{Block, Document, PdfError, Picture};

const REPORT: &str = include_str!("report.typ");
const SHEETS: &str = include_str!("sheets.typ");
const FONTS: [&[u8]; 2] = [
    include_bytes!(concat!(env!("OUT_DIR"), "/DejaVuSans.ttf")),
    include_bytes!(concat!(env!("OUT_DIR"), "/DejaVuSans-Bold.ttf")),
];

pub(crate) fn report(document: &Document) -> Result<Vec<u8>, PdfError> {
    let blocks = document.sections.iter().flatten();
    let pictures = blocks.filter_map(|block| match block {
        Block::Picture(picture) => Some(picture),
        _ => None,
    });
    set(REPORT, document, pictures)
}

/// Data of the template of sheets.
#[derive(Serialize)]
struct Sheets<'a> {
    title: &'a str,
    paper_mm: [f64; 2],
    pictures: &'a [Picture],
}

pub(crate) fn sheets(
    title: &str,
    sheets: &[Picture],
    paper_mm: [f64; 2],
) -> Result<Vec<u8>, PdfError> {
    let data = Sheets {
        title,
        paper_mm,
        pictures: sheets,
    };
    set(SHEETS, &data, sheets.iter())
}

/// Sets a template with its data as `data.json`, and the pictures as `1.svg` and so on.
fn set<'a>(
    template: &'static str,
    data: &impl Serialize,
    pictures: impl Iterator<Item = &'a Picture>,
) -> Result<Vec<u8>, PdfError> {
    let data = serde_json::to_vec(data).expect("documents hold only words and numbers");
    let mut files = vec![("data.json".to_owned(), data)];
    for (number, picture) in (1..).zip(pictures) {
        files.push((format!("{number}.svg"), picture.svg.clone().into_bytes()));
    }
    let files = files
        .iter()
        .map(|(name, bytes)| (name.as_str(), bytes.as_slice()));
    let engine = TypstEngine::builder()
        .main_file(template)
        .fonts(FONTS)
        .with_static_file_resolver(files)
        .build();
    let document: PagedDocument = engine.compile().output.map_err(refused)?;
    let standards = PdfStandards::new(&[PdfStandard::Ua_1]).expect("one standard is no conflict");
    let options = PdfOptions {
        standards,
        ..PdfOptions::default()
    };
    typst_pdf::pdf(&document, &options)
        .map_err(|found| refused(TypstAsLibError::TypstSource(found)))
}

#[expect(clippy::needless_pass_by_value, reason = "for map_err")]
fn refused(error: TypstAsLibError) -> PdfError {
    let what = match &error {
        TypstAsLibError::TypstSource(found) => {
            let said: Vec<&str> = found.iter().map(|d| d.message.as_str()).collect();
            said.join("; ")
        }
        other => other.to_string(),
    };
    PdfError::Typesetting { what }
}
