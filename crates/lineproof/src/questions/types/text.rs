//! Types as text: a list, one of them, and which one something may be.

use lineproof_core::catalogue::{CableType, Figure, LossCurve, PowerPoint, SHOWN_HZ};
use lineproof_core::identify::Excluded;
use lineproof_core::quantity::{Units, format_frequency, format_length};

use super::answer::{Answered, IdentificationAnswer, TypesAnswer};
use crate::exit;
use crate::questions::ask::Answer;
use crate::report::number::significant;
use crate::report::page::Column::{Number, Right, Text};
use crate::report::page::Page;
use crate::report::types::found;

/// Frequency of the loss in a list, Hz.
pub(super) const LISTED_HZ: f64 = 100e6;
/// Widest bar of a loss curve, characters.
const BAR: f64 = 30.0;

impl Answer for TypesAnswer {
    fn text(&self, _units: Units) -> String {
        match (&self.sources, &self.types[..]) {
            (Some(sources), [one]) => text_of_one(one, sources),
            (_, types) => list(types),
        }
    }

    fn code(&self) -> u8 {
        if self.types.is_empty() {
            exit::UNDETERMINED
        } else {
            exit::ANSWERED
        }
    }
}

impl Answer for Answered {
    fn text(&self, units: Units) -> String {
        match self {
            Self::Types(types) => types.text(units),
            Self::Identified(found) => found.text(units),
        }
    }

    fn code(&self) -> u8 {
        match self {
            Self::Types(types) => types.code(),
            Self::Identified(found) => found.code(),
        }
    }
}

/// A line for each type.
fn list(types: &[CableType]) -> String {
    let mut page = Page::default();
    let mut rows = vec![
        ["type", "ohm", "VF", "dB/100m", "outside", ""]
            .map(str::to_owned)
            .to_vec(),
    ];
    rows.extend(types.iter().map(row));
    page.table(0, &[Text, Right, Number, Number, Right, Text], &rows);
    page.line("");
    page.paragraph(
        "",
        &format!(
            "{} types; loss of a typical piece at {}. m: some or all figures are from memory, not from a document. `lineproof types NAME` \
             shows a type with its sources.",
            types.len(),
            format_frequency(LISTED_HZ)
        ),
    );
    page.finish()
}

fn row(t: &CableType) -> Vec<String> {
    let loss = t.loss.typical_db_m(LISTED_HZ);
    vec![
        t.designation.clone(),
        format!("{}", t.z0_ohm.value),
        format!("{:.2}", t.velocity_factor.value),
        loss.map_or_else(|_| "-".to_owned(), |l| significant(100.0 * l.value, 3)),
        t.jacket_diameter_m
            .as_ref()
            .map_or_else(|| "-".to_owned(), |d| format_length(d.value)),
        if from_memory(t) { "m" } else { "" }.to_owned(),
    ]
}

/// Whether figures of the list are from memory.
pub(super) fn from_memory(t: &CableType) -> bool {
    t.z0_ohm.is_from_memory()
        || t.velocity_factor.is_from_memory()
        || t.loss.source().is_some_and(|s| s.contains("memory"))
}

/// One type with its figures, their sources, and its loss curve.
fn text_of_one(t: &CableType, sources: &[(String, String)]) -> String {
    let mut page = Page::default();
    let aliases = if t.aliases.is_empty() {
        String::new()
    } else {
        format!(", also {}", t.aliases.join(", "))
    };
    let spec = t
        .spec
        .as_ref()
        .map_or_else(String::new, |s| format!(" ({s})"));
    page.paragraph(
        "",
        &format!(
            "{}{spec}{aliases}: {} ohm, {}.",
            t.designation,
            t.z0_ohm.value,
            t.filling.name()
        ),
    );
    page.line("");
    page.table(2, &[Text, Right, Text, Text], &figures(t));
    if !t.notes.is_empty() {
        page.line("");
        page.paragraph("  Note: ", &t.notes);
    }
    curve(&mut page, &t.loss);
    if let Some((heading, rows)) = power_rows(t) {
        page.heading(&heading);
        page.table(2, &[Right, Right, Text], &rows);
    }
    page.heading("Sources");
    for (id, document) in sources {
        page.paragraph(&format!("  {} ", mark(id)), document);
    }
    page.paragraph("  ", VIA);
    page.finish()
}

/// Its power rating if it has one: a heading, and frequency, power, source.
pub(super) fn power_rows(t: &CableType) -> Option<(String, Vec<Vec<String>>)> {
    let power = t.power.as_ref()?;
    let (ambient, stated) = power.ambient_c();
    let said = if stated {
        ""
    } else {
        " (not stated by the maker; usual value)"
    };
    let row = |p: &PowerPoint| {
        vec![
            format_frequency(p.freq_hz),
            format!("{} W", p.average_w),
            mark(&p.source),
        ]
    };
    let rows = power.points().iter().map(row).collect();
    Some((format!("Average power at {ambient} °C{said}"), rows))
}

/// Its figures: name, value, note, source.
pub(super) fn figures(t: &CableType) -> Vec<Vec<String>> {
    let mut rows = Vec::new();
    let mut add = |name: &str, value: String, note: String, source: &str| {
        rows.push(vec![name.to_owned(), value, note, mark(source)]);
    };
    let tolerance = t.z0_tolerance_ohm.as_ref();
    let tolerance = tolerance.map_or_else(String::new, |x| {
        format!("± {} {}", x.value, mark(&x.source))
    });
    add(
        "impedance",
        format!("{} ohm", t.z0_ohm.value),
        tolerance,
        &t.z0_ohm.source,
    );
    let (low, high) = t.velocity_range;
    let vf = &t.velocity_factor;
    add(
        "velocity factor",
        format!("{}", vf.value),
        format!("{low} to {high}"),
        &vf.source,
    );
    if let Some(c) = &t.capacitance_f_m {
        add(
            "capacitance",
            format!("{} pF/m", significant(c.value * 1e12, 3)),
            String::new(),
            &c.source,
        );
    }
    let strands = match t.strands {
        Some(1) => format!("solid {}", t.inner_material),
        Some(n) => format!("{n} wires, {}", t.inner_material),
        None => t.inner_material.clone(),
    };
    let length = |f: &Figure| format_length(f.value);
    if let Some(d) = &t.inner_diameter_m {
        add("inner conductor", length(d), strands, &d.source);
    }
    if let Some(d) = &t.dielectric_diameter_m {
        add(
            "over dielectric",
            length(d),
            t.filling.name().to_owned(),
            &d.source,
        );
    }
    if let Some(d) = &t.jacket_diameter_m {
        add("outside", length(d), t.shield.clone(), &d.source);
    }
    if let Some(v) = &t.voltage_v {
        add(
            "voltage",
            format!("{} V", v.value),
            "as printed, usually rms".to_owned(),
            &v.source,
        );
    }
    rows
}

fn mark(source: &str) -> String {
    format!("[{source}]")
}

/// Loss by frequency with a bar as long as it is in logarithms.
fn curve(page: &mut Page, loss: &LossCurve) {
    let at: Vec<(f64, f64)> = SHOWN_HZ
        .iter()
        .filter_map(|&f| Some((f, 100.0 * loss.printed_db_m(f).ok()?)))
        .collect();
    let (Some(first), Some(last)) = (at.first(), at.last()) else {
        page.heading("No loss in the catalogue");
        return;
    };
    let kind = if loss.is_limit() {
        "upper limit"
    } else {
        "typical"
    };
    page.heading(&format!(
        "Loss, dB/100m, {kind} {}",
        mark(loss.source().unwrap_or_default())
    ));
    let span = (last.1 / first.1).ln().max(1e-9);
    let rows: Vec<Vec<String>> = at
        .iter()
        .map(|&(f, db)| {
            let length = 1.0 + BAR * (db / first.1).ln() / span;
            vec![
                format_frequency(f),
                significant(db, 3),
                "▪".repeat(length as usize),
            ]
        })
        .collect();
    page.table(2, &[Right, Number, Text], &rows);
}

/// Where sheets that are marked so were read.
pub(super) const VIA: &str =
    "Sheets \"via T1\" were read in the TA3HX Coax Cable Database (CC BY 4.0).";

/// A class that something can't be, and why.
pub(super) fn excluded(excluded: &Excluded) -> String {
    let Excluded {
        class,
        types,
        quantity,
    } = excluded;
    let plural = if *types == 1 { "" } else { "s" };
    format!("{class} ({types} type{plural}): {quantity}")
}

impl Answer for IdentificationAnswer {
    fn text(&self, _units: Units) -> String {
        let mut page = Page::default();
        page.paragraph("", &sentence(self));
        found(&mut page, &self.types);
        let what: Vec<String> = self.separators.iter().map(|s| s.what.clone()).collect();
        page.list("What would distinguish them", &what);
        let out: Vec<String> = self.excluded.iter().map(excluded).collect();
        page.list("Excluded types", &out);
        page.finish()
    }
}

/// What it is most likely.
pub(super) fn sentence(found: &IdentificationAnswer) -> String {
    let first = found.types.first();
    let first = first.map_or("none of these", |t| t.designation.as_str());
    format!("Most likely {first}.")
}
