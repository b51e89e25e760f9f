//! Types as text: a list, one of them, and which one something may be.

use lineproof_core::catalogue::{CableType, Catalogue, Figure, LossCurve, PowerPoint, PowerRating};
use lineproof_core::identify::{Excluded, Identification};
use lineproof_core::quantity::{format_frequency, format_length};

use super::content;
use super::number::significant;
use super::page::Column::{Number, Right, Text};
use super::page::Page;
use crate::finding::TypeFound;
use lineproof_core::finding::judge::types::entries;

/// Frequency of the loss in a list, Hz.
pub const LISTED_HZ: f64 = 100e6;
/// Frequencies of a loss table, Hz.
const SHOWN_HZ: [f64; 13] = [
    1e6, 3.5e6, 7e6, 14e6, 30e6, 50e6, 100e6, 145e6, 200e6, 435e6, 1e9, 1.3e9, 2.4e9,
];
/// Widest bar of a loss curve, characters.
const BAR: f64 = 30.0;

/// A line for each type.
pub fn list(types: &[&CableType]) -> String {
    let mut page = Page::default();
    let mut rows = vec![
        ["type", "ohm", "VF", "dB/100m", "outside", ""]
            .map(str::to_owned)
            .to_vec(),
    ];
    rows.extend(types.iter().map(|t| row(t)));
    page.table(0, &[Text, Right, Number, Number, Right, Text], &rows);
    page.line("");
    page.paragraph(
        "",
        &format!(
            "{} types; loss of a typical piece at {}. m: all or part of its figures are from memory, \
             not from a document. `lineproof types NAME` shows one with its sources.",
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
pub fn from_memory(t: &CableType) -> bool {
    t.z0_ohm.is_from_memory()
        || t.velocity_factor.is_from_memory()
        || t.loss.source().is_some_and(|s| s.contains("memory"))
}

/// One type with its figures, their sources, and its loss curve.
pub fn one(catalogue: &Catalogue, t: &CableType) -> String {
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
    for (id, document) in source_rows(catalogue, t) {
        page.paragraph(&format!("  {} ", mark(id)), document);
    }
    page.paragraph("  ", VIA);
    page.finish()
}

/// Its power rating if it has one: a heading, and frequency, power, source.
pub fn power_rows(t: &CableType) -> Option<(String, Vec<Vec<String>>)> {
    let power = t.power.as_ref()?;
    let (ambient, stated) = power.ambient_c();
    let said = if stated {
        ""
    } else {
        " (the maker does not say; usual)"
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

/// Its loss at usual frequencies: Hz and dB for 100 m.
pub fn loss_points(t: &CableType) -> impl Iterator<Item = (f64, f64)> {
    SHOWN_HZ
        .iter()
        .filter_map(|&f| Some((f, 100.0 * t.loss.printed_db_m(f).ok()?)))
}

/// Its figures: name, value, note, source.
pub fn figures(t: &CableType) -> Vec<Vec<String>> {
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
pub const VIA: &str = "Sheets \"via T1\" were read in the TA3HX Coax Cable Database (CC BY 4.0).";

/// The documents of its figures: id and document.
pub fn source_rows<'a>(catalogue: &'a Catalogue, t: &'a CableType) -> Vec<(&'a str, &'a str)> {
    let figures = [
        Some(&t.z0_ohm),
        t.z0_tolerance_ohm.as_ref(),
        Some(&t.velocity_factor),
        t.capacitance_f_m.as_ref(),
        t.inner_diameter_m.as_ref(),
        t.dielectric_diameter_m.as_ref(),
        t.jacket_diameter_m.as_ref(),
        t.voltage_v.as_ref(),
    ];
    let of_figures = figures.into_iter().flatten().map(|f| f.source.as_str());
    let power = t
        .power
        .iter()
        .flat_map(PowerRating::points)
        .map(|p| p.source.as_str());
    let mut ids: Vec<&str> = of_figures
        .chain(t.loss.source())
        .chain(power)
        .flat_map(|s| s.split(';'))
        .map(|id| id.split(" (").next().unwrap_or(id).trim())
        .collect();
    ids.sort_unstable();
    ids.dedup();
    let document = |id: &'a str| catalogue.source(id).unwrap_or("given in your own file");
    ids.into_iter().map(|id| (id, document(id))).collect()
}

/// The types that something may be, for a finding.
pub fn found(page: &mut Page, types: &[TypeFound]) {
    if types.is_empty() {
        return;
    }
    page.heading("What type it may be");
    for t in types {
        let also = content::same_as(t).map_or_else(String::new, |also| format!("; {also}"));
        let lead = format!("  {:>3.0} %  ", 100.0 * t.probability);
        page.paragraph(&lead, &format!("{}{also}", t.designation));
    }
}

/// A class that something can't be, and why.
pub fn excluded(excluded: &Excluded) -> String {
    let Excluded {
        class,
        types,
        quantity,
    } = excluded;
    let plural = if *types == 1 { "" } else { "s" };
    format!("{class} ({types} type{plural}): {quantity}")
}

/// What was seen of a cable, answered.
pub fn identification(id: &Identification) -> String {
    let mut page = Page::default();
    let types = entries(id);
    let first = types
        .first()
        .map_or("none of these", |t| t.designation.as_str());
    page.paragraph("", &format!("Most likely {first}."));
    found(&mut page, &types);
    if !id.separators.is_empty() {
        page.heading("What would tell them apart");
        for s in &id.separators {
            page.paragraph("  - ", &s.what);
        }
    }
    if !id.excluded.is_empty() {
        page.heading("What it can't be");
        for e in &id.excluded {
            page.paragraph("  - ", &excluded(e));
        }
    }
    page.finish()
}
