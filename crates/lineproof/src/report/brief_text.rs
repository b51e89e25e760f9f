//! The short answer as text: what fits on a screen.

use lineproof_core::finding::said::at_use::{AtUse, USE_COLUMNS};
use lineproof_core::finding::said::short::{self, Short};

use super::finding::{number, worded};
use super::page::Column::{Number, Right, Text};
use super::page::Page;
use crate::facts::{Surface, table};
use crate::finding::{Finding, SweepUsed};
use lineproof_core::quantity::Units;

/// The short answer, with lengths in these units.
pub fn text(finding: &Finding, units: Units) -> String {
    let said = short::answer(finding, units);
    let mut page = Page::default();
    page.paragraph("", &said.verdict);
    page_of_cable(&mut page, &said);
    let wrong: Vec<String> = said.wrong.iter().map(|row| row.text.clone()).collect();
    page.list(short::wrong_heading(finding, "What is wrong"), &wrong);
    page.list("Against its marking", &said.marking);
    page.list("What to do", &said.next);
    numbers(&mut page, &said);
    if let Some(at_use) = &said.at_use {
        as_it_lies(&mut page, at_use);
    }
    page.list(short::warnings_heading(finding), &said.warnings);
    let advice = said.advice.iter();
    let advice: Vec<String> = advice.map(|a| units.text(&worded(a))).collect();
    page.list("What would help", &advice);
    page.line("");
    if !finding.cautions.is_empty() {
        page.paragraph("", &format!("Safety: {}.", finding.cautions.join("; ")));
    }
    let sweeps = sweeps(&finding.sweeps);
    let more = more(said.disagreeing);
    page.paragraph("", &format!("{sweeps} {more}: `--full`."));
    page.finish()
}

fn page_of_cable(page: &mut Page, said: &Short<'_>) {
    let passes = format!("It passes: {}.", said.passes.join("; "));
    let passes = (!said.passes.is_empty()).then_some(&passes);
    let sentences = said.cable.iter().chain(passes);
    let sentences: Vec<&str> = sentences.map(String::as_str).collect();
    if !sentences.is_empty() {
        page.paragraph("", &sentences.join(" "));
    }
}

fn numbers(page: &mut Page, said: &Short<'_>) {
    let rows: Vec<Vec<String>> = said.numbers.iter().cloned().map(number).collect();
    if rows.is_empty() {
        return;
    }
    page.line("");
    page.table(2, &[Text, Number, Text, Number, Text, Text], &rows);
    if let Some(types) = &said.types {
        page.paragraph("  likely type  ", types);
    }
}

fn as_it_lies(page: &mut Page, at_use: &AtUse) {
    let mut rows = vec![USE_COLUMNS.map(str::to_owned).to_vec()];
    rows.extend(at_use.rows.iter().cloned().map(Vec::from));
    page.heading(&at_use.heading);
    page.table(2, &[Right; 5], &rows);
    if let Some(note) = at_use.note {
        page.paragraph("  * ", note);
    }
    if let Some(ohm) = at_use.other_ohm {
        let option = Surface::Terminal.with(&table::SYSTEM_IMPEDANCE.about, &ohm.to_string());
        page.paragraph("  ", &format!("for a {ohm}-ohm system add {option}"));
    }
}

/// What the full text has besides.
fn more(disagreeing: usize) -> String {
    match disagreeing {
        0 => "Everything".to_owned(),
        1 => "Everything, and why one method disagrees".to_owned(),
        n => format!("Everything, and why {n} methods disagree"),
    }
}

/// Which files were read, and as what.
fn sweeps(sweeps: &[SweepUsed]) -> String {
    let files = sweeps.iter().map(|sweep| {
        let judged = sweep.guessed && sweep.far_end != "through";
        let judged = if judged { ", judged" } else { "" };
        format!("{} ({}{judged})", sweep.file, sweep.far_end)
    });
    format!("Sweeps: {}.", files.collect::<Vec<_>>().join(", "))
}
