//! The line as it lies at the frequencies of use, faults and plugs included.

use super::numbers::least_return_loss;
use crate::finding::found::Finding;
use crate::finding::judge::stated::SYSTEMS_OHM;
use crate::finding::quantities::{ElectricalLengthRow, InputRow};
use crate::quantity::digits::pair;
use crate::quantity::format_frequency;

/// Headings of [`AtUse::rows`].
pub const USE_COLUMNS: [&str; 5] = [
    "",
    "insertion loss",
    "return loss",
    "VSWR",
    "electrical length",
];

/// The line as it lies, faults and plugs included.
#[derive(Clone, Debug, PartialEq)]
pub struct AtUse {
    /// What it lies between.
    pub heading: String,
    /// A row for each frequency.
    pub rows: Vec<[String; 5]>,
    /// What a star in them means.
    pub note: Option<&'static str>,
    /// The system that such cable is made for, ohm, if the rows are of another.
    pub other_ohm: Option<f64>,
}

/// Marks a loss that is not of the line as it lies.
const MATCHED: &str = "the matched loss of the cable, carried on beyond the sweeps";

/// The line at the frequencies of use; of a finding without them, where the impedance is stated.
pub fn at_use(finding: &Finding) -> Option<AtUse> {
    let between_ohm = finding.insertion_loss.first()?.between_ohm;
    let stated = finding.impedance.map(|z| z.at_hz);
    let asked: Vec<f64> = match finding.electrical_length.as_slice() {
        [] => stated.into_iter().collect(),
        rows => rows.iter().map(|row| row.at_hz).collect(),
    };
    let rows = asked.into_iter().filter_map(|f| use_row(finding, f));
    let rows: Vec<[String; 5]> = rows.collect();
    let starred = rows.iter().any(|[_, loss, ..]| loss.ends_with('*'));
    let own = finding.impedance.map(|z| z.ohm);
    (!rows.is_empty()).then(|| AtUse {
        heading: format!("As it lies between {between_ohm} ohm, faults and plugs included"),
        rows,
        note: starred.then_some(MATCHED),
        other_ohm: own.and_then(|z| other_system(between_ohm, z)),
    })
}

/// How far an impedance may be from that of the system that it is made for, relative.
const MADE_FOR: f64 = 0.06;

fn other_system(between_ohm: f64, cable_ohm: f64) -> Option<f64> {
    let made_for = |s: &f64| (cable_ohm / s - 1.0).abs() < MADE_FOR;
    let system = SYSTEMS_OHM.into_iter().find(made_for)?;
    ((system / between_ohm - 1.0).abs() > MADE_FOR).then_some(system)
}

fn use_row(finding: &Finding, at_hz: f64) -> Option<[String; 5]> {
    let near = |f: f64| (f - at_hz).abs() <= 1e-6 * at_hz;
    let insertion = finding.insertion_loss.iter().find(|row| near(row.at_hz));
    let input = finding.input.iter().find(|row| near(row.at_hz));
    let length = finding.electrical_length.iter().find(|row| near(row.at_hz));
    let matched = finding.loss_at(at_hz);
    let loss = match (insertion, matched) {
        (Some(row), _) => decibels(row.db, row.u95_db),
        (None, Some(row)) => format!("{} *", decibels(row.db, row.u95_db)),
        (None, None) => return None,
    };
    let [return_loss, vswr] = input.map_or_else(|| [const { String::new() }; 2], reflection);
    Some([
        format_frequency(at_hz),
        loss,
        return_loss,
        vswr,
        length.map_or_else(String::new, degrees),
    ])
}

fn decibels(db: f64, u95_db: f64) -> String {
    let (db, u95) = pair(db, u95_db);
    format!("{db} ± {u95} dB")
}

fn degrees(row: &ElectricalLengthRow) -> String {
    let (deg, u95) = pair(row.deg, row.u95_deg);
    format!("{deg} ± {u95}°")
}

/// The worst of return loss and VSWR.
fn reflection(row: &InputRow) -> [String; 2] {
    let vswr = row.vswr.map_or_else(String::new, |s| format!("≤ {s:.2}"));
    [least_return_loss(row), vswr]
}
