//! Every number of a finding as people read it: value and interval, unit, what goes with it.

use super::rows::{Number, Numbers};
use crate::finding::found::Finding;
use crate::finding::quantities::{ElectricalLengthRow, InputRow, LossRow};
use crate::quantity::digits::{rounded, significant};
use crate::quantity::{Units, format_frequency};

/// Heading of the numbers.
pub const NUMBERS: &str = "Results, each with its 95 % interval";

/// Every number of the cable: its name, value with interval, unit, and what goes with it.
pub fn numbers(finding: &Finding, units: Units) -> Vec<Number> {
    let mut rows = Numbers::default();
    impedances(finding, &mut rows);
    if let Some(d) = finding.delay {
        let note = format!("one way, at {}", format_frequency(d.at_hz));
        rows.add("delay", (d.one_way_s * 1e9, d.u95_s * 1e9), "ns", note);
        if let (Some(s), Some(u95_s)) = (d.between_plugs_s, d.u95_between_plugs_s) {
            rows.add("", (s * 1e9, u95_s * 1e9), "ns", "between the plugs");
        }
    }
    if let Some(vf) = finding.velocity_factor {
        rows.add("velocity factor", (vf.ratio, vf.u95), "", "");
    }
    if let Some(length) = finding.length {
        let value = (units.of_m(length.m), units.of_m(length.u95_m));
        rows.add("length", value, units.length(), length.basis.words());
    }
    for (i, row) in finding.loss.iter().enumerate() {
        let name = if i == 0 { "loss" } else { "" };
        rows.add(name, (row.db, row.u95_db), "dB", loss_note(row, units));
    }
    loss_parts(finding, &mut rows);
    as_it_lies(finding, &mut rows);
    let mut rows = rows.0;
    rows.extend(finding.temperature_c.map(temperature));
    rows
}

fn impedances(finding: &Finding, rows: &mut Numbers) {
    if let Some(z) = finding.impedance {
        let at = format_frequency(z.at_hz);
        let note = format!("at {at}, limited by {}", z.limited_by);
        rows.add("impedance", (z.ohm, z.u95_ohm), "ohm", note);
    }
    for row in &finding.impedances {
        let note = at(row.at_hz, row.extrapolated);
        rows.add("", (row.ohm, row.u95_ohm), "ohm", note);
    }
    if let Some(z) = finding.impedance_limit {
        let note = "at high frequency";
        rows.add("", (z.ohm, z.u95_ohm), "ohm", note);
    }
}

/// Insertion loss and input of the piece as it lies.
fn as_it_lies(finding: &Finding, rows: &mut Numbers) {
    let mut so_far = None;
    for row in &finding.insertion_loss {
        let at = format_frequency(row.at_hz);
        // named and told once for each system
        let is_new = so_far.replace(row.between_ohm) != Some(row.between_ohm);
        let name = if is_new { "insertion loss" } else { "" };
        let note = if is_new {
            let ohm = row.between_ohm;
            format!("at {at}, faults and plugs included, between {ohm} ohm")
        } else {
            format!("at {at}")
        };
        rows.add(name, (row.db, row.u95_db), "dB", note);
    }
    let mut so_far = None;
    for row in &finding.input {
        let is_new = so_far.replace(row.between_ohm) != Some(row.between_ohm);
        rows.0.push(input(row, is_new));
    }
    for (i, row) in finding.electrical_length.iter().enumerate() {
        electrical_length(row, i == 0, rows);
    }
}

fn electrical_length(row: &ElectricalLengthRow, first: bool, rows: &mut Numbers) {
    let name = if first { "electrical length" } else { "" };
    let note = at(row.at_hz, row.extrapolated);
    let value = (row.deg, row.u95_deg);
    rows.add(name, value, "°", format!("{note}, with plugs"));
}

/// The least return loss at the input; where the interval reaches total reflection, all may come back.
pub(super) fn least_return_loss(row: &InputRow) -> String {
    if row.vswr.is_none() || row.return_loss_db < NO_RETURN_LOSS_DB {
        return "0.0 dB".to_owned();
    }
    format!("≥ {} dB", significant(row.return_loss_db, 3))
}

/// Return loss that one decimal shows as zero, dB.
const NO_RETURN_LOSS_DB: f64 = 0.05;

/// The input in a system, of which the first row tells.
fn input(row: &InputRow, is_first: bool) -> Number {
    let sign = if row.reactance_ohm < 0.0 { '−' } else { '+' };
    let vswr = row
        .vswr
        .map_or_else(String::new, |s| format!(", VSWR ≤ {}", significant(s, 3)));
    let between = row.between_ohm.filter(|_| is_first);
    let between = between.map_or_else(String::new, |ohm| format!(", between {ohm} ohm"));
    Number {
        name: if is_first { "input" } else { "" },
        value: format!(
            "{} {sign} j{}",
            significant(row.resistance_ohm, 3),
            significant(row.reactance_ohm.abs(), 3)
        ),
        u95: String::new(),
        unit: "ohm",
        note: format!(
            "at {}{between}, return loss {}{vswr}",
            format_frequency(row.at_hz),
            least_return_loss(row)
        ),
    }
}

fn loss_parts(finding: &Finding, rows: &mut Numbers) {
    let Some(parts) = &finding.loss_parts else {
        return;
    };
    let at = format_frequency(parts.at_hz);
    let conductor = parts.conductor_db.zip(parts.u95_conductor_db);
    let dielectric = parts.dielectric_db.zip(parts.u95_dielectric_db);
    for (name, part) in [("conductors", conductor), ("dielectric", dielectric)] {
        if let Some(part) = part {
            rows.add("", part, "dB", format!("of it in the {name}, at {at}"));
        }
    }
}

fn temperature(celsius: f64) -> Number {
    Number {
        name: "temperature",
        value: significant(celsius, 3),
        u95: String::new(),
        unit: "°C",
        note: "of the cable during the sweeps".to_owned(),
    }
}

fn loss_note(row: &LossRow, units: Units) -> String {
    let mut notes = vec![at(row.at_hz, row.extrapolated)];
    if let (Some(db), Some(u95)) = (row.db_per_100m, row.u95_db_per_100m)
        && db > u95
    {
        let db = rounded(units.of_db_per_100m(db), units.of_db_per_100m(u95));
        notes.push(format!("{db} {}", units.attenuation()));
    }
    if let (Some(db), Some(u95)) = (row.db_at_20c, row.u95_db_at_20c) {
        notes.push(format!("{} dB at 20 °C", rounded(db, u95)));
    }
    notes.join(", ")
}

fn at(freq_hz: f64, extrapolated: bool) -> String {
    format!("at {}", frequency(freq_hz, extrapolated))
}

/// A frequency, and whether the sweeps reach it.
fn frequency(freq_hz: f64, extrapolated: bool) -> String {
    let beyond = if extrapolated {
        " (beyond the sweeps)"
    } else {
        ""
    };
    format!("{}{beyond}", format_frequency(freq_hz))
}

/// What belongs below the numbers: why a part of the loss is absent.
pub fn below_numbers(finding: &Finding, units: Units) -> Vec<String> {
    let parts = finding.loss_parts.as_ref();
    units.texts(parts.and_then(|parts| parts.reason.as_ref()))
}

/// Headings of the table of the piece in its system.
pub const SYSTEM_COLUMNS: [&str; 6] = [
    "",
    "VSWR",
    "return loss",
    "VSWR, worst length",
    "return loss",
    "more loss",
];

/// The piece between ends of the impedance that was named: heading and rows.
pub fn in_system(finding: &Finding) -> Option<(String, Vec<[String; 6]>)> {
    let system = finding.system.as_ref()?;
    let rows = system.rows.iter().map(|row| {
        [
            format_frequency(row.at_hz),
            format!("{:.2}", row.highest_swr),
            format!("{:.1} dB", row.least_return_loss_db),
            format!("{:.2}", row.swr_at_worst_length),
            format!("{:.1} dB", row.return_loss_db_at_worst_length),
            format!("{:.2} dB", row.most_extra_loss_db),
        ]
    });
    let heading = format!(
        "VSWR and return loss between {} ohm at both ends, at most",
        system.ohm
    );
    Some((heading, rows.collect()))
}
