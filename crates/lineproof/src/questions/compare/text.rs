//! A comparison as text: a sentence, the numbers, the places, warnings, advice.

use lineproof_core::comparison::{Comparison, QuantityCompared};
use lineproof_core::finding::said::compared;
use lineproof_core::quantity::{Units, format_frequency, format_length};
use serde::Serialize;

use super::read::Compared;
use crate::exit;
use crate::questions::ask::Answer;
use crate::report::number::pair;
use crate::report::page::Column::{Number, Right, Text};
use crate::report::page::Page;

impl Answer for Compared {
    fn text(&self, _units: Units) -> String {
        text(&self.comparison)
    }

    fn code(&self) -> u8 {
        match self.comparison.changed {
            None => exit::UNDETERMINED,
            Some(_) if self.left_out.is_empty() => exit::ANSWERED,
            Some(_) => exit::ANSWERED_IN_PART,
        }
    }

    fn messages(&self) -> Vec<String> {
        self.left_out.clone()
    }

    /// A comparison has the number of its layout itself.
    fn json(&self) -> impl Serialize {
        self
    }
}

/// The whole report.
fn text(comparison: &Comparison) -> String {
    let mut page = Page::default();
    page.paragraph("", &compared::sentence(comparison));
    if !comparison.quantities.is_empty() {
        page.heading("Before, after, change, each with its 95 % interval");
        let rows: Vec<Vec<String>> = comparison.quantities.iter().map(cells).collect();
        let columns = [
            Text, Number, Right, Number, Number, Right, Number, Text, Text,
        ];
        page.table(2, &columns, &rows);
    }
    if !comparison.sweeps.is_empty() {
        page.heading("The sweeps against time");
        for sweeps in &comparison.sweeps {
            let pair = format!("{} with {}:", sweeps.before, sweeps.after);
            if sweeps.places.is_empty() {
                let same = format!(
                    "{pair} {}; a change of {:.4} of the reflection would show",
                    compared::nowhere(comparison),
                    sweeps.told_above
                );
                page.paragraph("  - ", &same);
            }
            for place in &sweeps.places {
                page.paragraph("  - ", &format!("{pair} they differ {}", place.text));
            }
            let cell = format_length(sweeps.cell_m);
            page.paragraph(
                "    ",
                &format!("changes closer than {cell} are not resolved"),
            );
        }
    }
    list(
        &mut page,
        "Warnings",
        comparison.warnings.iter().map(|w| w.text.as_str()),
    );
    list(
        &mut page,
        "What would help",
        comparison.advice.iter().map(String::as_str),
    );
    page.finish()
}

fn cells(q: &QuantityCompared) -> Vec<String> {
    let (before, u95_before) = pair(q.before, q.u95_before);
    let (after, _) = pair(q.after, q.u95_after);
    let (change, u95_change) = pair(q.change, q.u95_change);
    vec![
        q.quantity.to_owned(),
        before,
        format!("± {u95_before}"),
        after,
        change,
        format!("± {u95_change}"),
        q.unit.to_owned(),
        format!("at {}", format_frequency(q.at_hz)),
        if q.changed { "changed" } else { "" }.to_owned(),
    ]
}

fn list<'a>(page: &mut Page, heading: &str, items: impl Iterator<Item = &'a str>) {
    let mut items = items.peekable();
    if items.peek().is_some() {
        page.heading(heading);
    }
    for item in items {
        page.paragraph("  - ", item);
    }
}
