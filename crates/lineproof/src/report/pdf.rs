//! Reports and sheets of labels as PDF, in builds with the feature `pdf`: the same content as the
//! page, as blocks for the typesetter.

use lineproof_core::finding::said::at_use::USE_COLUMNS;
use lineproof_core::finding::said::{Number, decision, evidence, numbers, sentences, short};
use lineproof_core::quantity::Units;
use lineproof_draw::{Label, Sheet};
use lineproof_pdf::{Block, Document, PdfError, Picture};

use super::content;
use super::subject::Subject;
use crate::finding::Finding;

/// Width of a picture with axes, mm: its letters are then as large as the text.
const WIDE_MM: f64 = 130.0;
/// Width of a Smith chart, mm.
const SQUARE_MM: f64 = 110.0;

/// The report of these cables, with lengths in these units.
///
/// # Errors
/// [`PdfError`].
pub fn report(subjects: &[Subject], units: Units) -> Result<Vec<u8>, PdfError> {
    lineproof_pdf::report(&document(subjects, units))
}

/// The same before it is set.
pub fn document(subjects: &[Subject], units: Units) -> Document {
    let mut sections = Vec::new();
    if subjects.len() > 1 {
        sections.push(overview(subjects, units));
    }
    sections.extend(subjects.iter().map(|subject| cable(subject, units)));
    Document {
        title: content::title(subjects),
        sections,
    }
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

fn overview(subjects: &[Subject], units: Units) -> Vec<Block> {
    vec![
        heading(1, content::title(subjects)),
        paragraph(content::counts(subjects)),
        table(
            &content::OVERVIEW_COLUMNS,
            &[],
            subjects
                .iter()
                .map(|s| content::overview(s, units).to_vec()),
        ),
    ]
}

fn cable(subject: &Subject, units: Units) -> Vec<Block> {
    let finding = &subject.finding;
    let mut blocks = vec![heading(1, format!("Cable {}", subject.name))];
    let facts = content::facts(subject);
    if !facts.is_empty() {
        blocks.push(paragraph(facts));
    }
    blocks.push(decision(finding, units));
    if let Some(at_use) = short::answer(finding, units).at_use {
        blocks.push(heading(2, at_use.heading));
        let rows = at_use.rows.into_iter().map(Vec::from);
        blocks.push(table(&USE_COLUMNS, &[1, 2, 3, 4], rows));
        blocks.extend(at_use.note.map(|note| quiet(format!("* {note}"))));
    }
    let [warnings, help, care] = sentences::remarks(finding, units);
    for part in [warnings, help] {
        listed(part.heading, part.items, &mut blocks);
    }
    let criteria = decision::criteria(finding.verdict.as_ref(), units);
    if !criteria.is_empty() {
        blocks.push(heading(2, decision::CRITERIA));
        let rows = criteria.into_iter().map(Vec::from);
        blocks.push(table(&["judged", "found and limit", "source"], &[], rows));
    }
    numbers(finding, units, &mut blocks);
    if let Some((name, rows)) = numbers::in_system(finding) {
        blocks.push(heading(2, name));
        let rows = rows.into_iter().map(Vec::from);
        blocks.push(table(&numbers::SYSTEM_COLUMNS, &[1, 2, 3, 4, 5], rows));
    }
    for part in sentences::beside_numbers(finding, units) {
        listed(part.heading, part.items, &mut blocks);
    }
    pictures(subject, units, &mut blocks);
    methods(finding, units, &mut blocks);
    setup(subject, &mut blocks);
    listed(care.heading, care.items, &mut blocks);
    blocks.push(quiet(content::origin(finding)));
    blocks
}

fn decision(finding: &Finding, units: Units) -> Block {
    let cable = short::cable(finding, units).map(|text| ["Cable".to_owned(), text]);
    let rows = decision::decision(finding, units).into_iter();
    let rows = rows.map(|row| [row.name.to_owned(), row.text]);
    Block::Decision {
        sentence: short::verdict(finding, units),
        condition: finding.condition.to_string(),
        rows: cable.into_iter().chain(rows).collect(),
    }
}

fn numbers(finding: &Finding, units: Units, blocks: &mut Vec<Block>) {
    let numbers = numbers::numbers(finding, units);
    if numbers.is_empty() {
        return;
    }
    blocks.push(heading(2, numbers::NUMBERS));
    let rows = numbers.into_iter().map(number);
    blocks.push(table(&["quantity", "value", "unit", ""], &[1], rows));
    let below = numbers::below_numbers(finding, units);
    blocks.extend(below.into_iter().map(quiet));
}

fn number(row: Number) -> Vec<String> {
    let value = if row.u95.is_empty() {
        row.value
    } else {
        format!("{} ± {}", row.value, row.u95)
    };
    vec![row.name.to_owned(), value, row.unit.to_owned(), row.note]
}

fn pictures(subject: &Subject, units: Units, blocks: &mut Vec<Block>) {
    let pictures = content::pictures(subject, units);
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

fn methods(finding: &Finding, units: Units, blocks: &mut Vec<Block>) {
    if evidence::served(&finding.methods).next().is_some() {
        blocks.push(heading(2, evidence::METHODS));
    }
    for method in evidence::served(&finding.methods) {
        blocks.push(heading(3, evidence::method_title(method, units)));
        blocks.push(Block::List {
            ordered: true,
            items: evidence::steps(method, units),
        });
        let remarks = method.remarks.iter().map(|text| quiet(units.text(text)));
        blocks.extend(remarks);
    }
    let unserved = evidence::unserved(&finding.methods);
    if !unserved.is_empty() {
        blocks.push(heading(2, evidence::UNSERVED));
        blocks.extend(unserved.into_iter().map(quiet));
    }
}

fn setup(subject: &Subject, blocks: &mut Vec<Block>) {
    blocks.push(heading(2, "Set-up"));
    let rows = evidence::sweeps(&subject.finding)
        .into_iter()
        .map(Vec::from);
    blocks.push(table(&evidence::SWEEP_COLUMNS, &[2, 3, 4], rows));
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
