//! Reports and sheets of labels as PDF, in builds with the feature `pdf`: the same content as the
//! page, as blocks for the typesetter.

use lineproof_draw::{Label, Sheet};
use lineproof_pdf::{Block, Document, PdfError, Picture};

use super::content;
use super::subject::Subject;
use super::units::Units;
use crate::kept::Kept;

/// Width of a picture with axes, mm: its letters are then as large as the text.
const WIDE_MM: f64 = 130.0;
/// Width of a Smith chart, mm.
const SQUARE_MM: f64 = 110.0;

/// The report of these cables.
///
/// # Errors
/// [`PdfError`].
pub fn report(subjects: &[Subject]) -> Result<Vec<u8>, PdfError> {
    let mut sections = Vec::new();
    if subjects.len() > 1 {
        sections.push(overview(subjects));
    }
    sections.extend(subjects.iter().map(cable));
    lineproof_pdf::report(&Document {
        title: content::title(subjects),
        sections,
    })
}

/// Sheets of labels, each a page of the paper's size; `skipped` places of the first are empty.
///
/// # Errors
/// [`PdfError`].
pub fn labels(
    drawn: &[String],
    labels: &[Label],
    sheet: &Sheet,
    skipped: usize,
) -> Result<Vec<u8>, PdfError> {
    let places = sheet.count();
    let on = |number: usize| {
        let said = labels.iter().enumerate();
        let here = said.filter(|(i, _)| (skipped + i) / places == number);
        let said: Vec<String> = here.map(|(_, label)| words(label)).collect();
        format!("Labels for cables. {}", said.join(". "))
    };
    let sheets = drawn.iter().enumerate().map(|(number, svg)| Picture {
        svg: svg.clone(),
        alt: on(number),
        ..Picture::default()
    });
    let sheets: Vec<Picture> = sheets.collect();
    lineproof_pdf::sheets("Labels for cables", &sheets, sheet.paper_mm)
}

/// A label for those who can't see it.
fn words(label: &Label) -> String {
    let facts = label.facts.join(", ");
    format!("{}: {}, {facts}", label.tag, label.verdict)
}

fn overview(subjects: &[Subject]) -> Vec<Block> {
    vec![
        heading(1, content::title(subjects)),
        paragraph(content::counts(subjects)),
        table(
            &content::OVERVIEW_COLUMNS,
            &[],
            subjects.iter().map(|s| content::overview(s).to_vec()),
        ),
    ]
}

fn cable(subject: &Subject) -> Vec<Block> {
    let kept = &subject.kept;
    let mut blocks = vec![heading(1, format!("Cable {}", subject.name))];
    let facts = content::facts(subject);
    if !facts.is_empty() {
        blocks.push(paragraph(facts));
    }
    blocks.push(decision(kept));
    let criteria = content::criteria(kept.verdict.as_ref());
    if !criteria.is_empty() {
        blocks.push(heading(2, content::CRITERIA));
        let rows = criteria.into_iter().map(Vec::from);
        blocks.push(table(&["judged", "found and wanted", "limit"], &[], rows));
    }
    let numbers = content::numbers(kept, Units::Metres);
    if !numbers.is_empty() {
        blocks.push(heading(2, "Numbers"));
        let rows = numbers.into_iter().map(Vec::from);
        blocks.push(table(&["quantity", "value", "unit", ""], &[1], rows));
    }
    if let Some((name, rows)) = content::in_system(kept) {
        blocks.push(heading(2, name));
        let rows = rows.into_iter().map(Vec::from);
        blocks.push(table(&content::SYSTEM_COLUMNS, &[1, 2, 3, 4, 5], rows));
    }
    let left = kept.calibration.iter().map(|left| left.text.clone());
    listed(content::CALIBRATION, left.collect(), &mut blocks);
    pictures(subject, &mut blocks);
    methods(kept, &mut blocks);
    setup(subject, &mut blocks);
    let warnings = kept.warnings.iter().map(|w| w.text.clone()).collect();
    listed("Warnings", warnings, &mut blocks);
    listed("What would help", kept.advice.clone(), &mut blocks);
    listed("Take care", content::cautions(kept), &mut blocks);
    blocks.push(quiet(content::origin(kept)));
    blocks
}

fn decision(kept: &Kept) -> Block {
    let rows = content::decision(kept, Units::Metres).into_iter();
    Block::Decision {
        sentence: kept.sentence(),
        condition: kept.condition.clone().unwrap_or_default(),
        rows: rows.map(|row| [row.name.to_owned(), row.text]).collect(),
    }
}

fn pictures(subject: &Subject, blocks: &mut Vec<Block>) {
    let pictures = content::pictures(subject);
    if !pictures.is_empty() {
        blocks.push(heading(2, "Pictures"));
    }
    blocks.extend(pictures.into_iter().map(|picture| {
        Block::Picture(Picture {
            alt: lineproof_draw::words(&picture.svg),
            caption: picture.caption,
            width_mm: if picture.name == "smith" {
                SQUARE_MM
            } else {
                WIDE_MM
            },
            svg: picture.svg,
        })
    }));
}

fn methods(kept: &Kept, blocks: &mut Vec<Block>) {
    let unserved = content::unserved(kept);
    if content::served(kept).next().is_some() || unserved.is_some() {
        blocks.push(heading(2, content::METHODS));
    }
    for method in content::served(kept) {
        blocks.push(heading(3, content::method_title(method)));
        blocks.push(Block::List {
            ordered: true,
            items: method.steps.clone(),
        });
        blocks.extend(method.remarks.iter().map(quiet));
    }
    blocks.extend(unserved.map(quiet));
}

fn setup(subject: &Subject, blocks: &mut Vec<Block>) {
    blocks.push(heading(2, "Set-up"));
    let rows = content::sweeps(&subject.kept).into_iter().map(Vec::from);
    blocks.push(table(&content::SWEEP_COLUMNS, &[2, 3, 4], rows));
    let said = subject.setup.iter();
    let rows: Vec<[String; 2]> = said
        .map(|(name, value)| [(*name).to_owned(), value.clone()])
        .collect();
    if !rows.is_empty() {
        blocks.push(Block::Terms { rows });
    }
}

fn heading(level: usize, text: impl Into<String>) -> Block {
    let text = text.into();
    Block::Heading { level, text }
}

fn paragraph(text: impl Into<String>) -> Block {
    let text = text.into();
    Block::Paragraph { text, quiet: false }
}

fn quiet(text: impl Into<String>) -> Block {
    let text = text.into();
    Block::Paragraph { text, quiet: true }
}

fn table(columns: &[&str], right: &[usize], rows: impl Iterator<Item = Vec<String>>) -> Block {
    Block::Table {
        columns: columns.iter().map(|&name| name.to_owned()).collect(),
        right: right.to_vec(),
        rows: rows.collect(),
    }
}

/// A list under its heading, if there is anything to list.
fn listed(name: &str, items: Vec<String>, blocks: &mut Vec<Block>) {
    if !items.is_empty() {
        blocks.push(heading(2, name));
        blocks.push(Block::List {
            ordered: false,
            items,
        });
    }
}
