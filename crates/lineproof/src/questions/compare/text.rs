//! A comparison as text: a sentence, the numbers, the places, warnings, advice.

use lineproof_core::comparison::{Comparison, QuantityCompared};
use lineproof_core::quantity::{format_frequency, format_length};
use serde::Serialize;

use super::read::Compared;
use crate::exit;
use crate::questions::ask::Answer;
use crate::report::number::pair;
use crate::report::page::Column::{Number, Right, Text};
use crate::report::page::Page;
use crate::report::units::Units;

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
    page.paragraph("", &sentence(comparison));
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
                    nowhere(comparison),
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

pub(crate) fn sentence(comparison: &Comparison) -> String {
    match comparison.changed {
        None => "These sets of sweeps cannot be compared; the warnings say why.".to_owned(),
        Some(false) => "No change exceeds the resolution of these sweeps.".to_owned(),
        Some(true) => format!("Changed: {}.", what(comparison).join("; ")),
    }
}

/// What sweeps without a place where they differ say: a cable that is another one as a whole need not
/// differ anywhere along it.
pub(crate) fn nowhere(comparison: &Comparison) -> &'static str {
    if comparison.quantities.iter().any(|q| q.changed) {
        "no place stands out, so the whole cable changed"
    } else {
        "the same along the cable"
    }
}

/// Each quantity that changed, once, and the nearest place along the cable.
fn what(comparison: &Comparison) -> Vec<String> {
    let mut said: Vec<String> = Vec::new();
    for quantity in ["impedance", "delay", "loss"] {
        let of = comparison
            .quantities
            .iter()
            .filter(|q| q.quantity == quantity && q.changed);
        let size = |q: &&QuantityCompared| q.change.abs() / q.u95_change;
        if let Some(q) = of.max_by(|a, b| size(a).total_cmp(&size(b))) {
            let (change, u95) = pair(q.change, q.u95_change);
            let sign = if q.change > 0.0 { "+" } else { "" };
            said.push(format!(
                "{quantity} by {sign}{change} ± {u95} {} at {}",
                q.unit,
                format_frequency(q.at_hz)
            ));
        }
    }
    let places = || comparison.sweeps.iter().flat_map(|s| &s.places);
    let along = places().filter(|p| p.whereabouts == "along");
    let nearest = along.min_by(|a, b| a.at_m.total_cmp(&b.at_m));
    if let Some(place) = nearest {
        said.push(format!("the sweeps from {} on", format_length(place.at_m)));
    } else if let Some(place) = places().next() {
        said.push(format!("the sweeps {}", place.text));
    }
    said
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
