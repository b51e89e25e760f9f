//! Every number of a finding as one list for other programs: SI units, no rounding.

use super::events::EventFound;
use super::found::Finding;
use super::measured::MethodFound;
use super::profile::ProfileFound;
use super::quantities::{LossPartsFound, LossRow};

/// What a number beyond the sweeps is marked with.
const BEYOND: &str = "beyond the sweeps";

/// A number of a finding, or the reason why there is none.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct NumberFound {
    /// What it is.
    pub quantity: String,
    /// Frequency, Hz.
    pub at_hz: Option<f64>,
    /// Distance from the near end, m.
    pub at_m: Option<f64>,
    /// The value, in `unit`; absent if `note` says why.
    pub value: Option<f64>,
    /// 95 % half-width, in `unit`.
    pub u95: Option<f64>,
    /// Unit of both; empty for a ratio.
    pub unit: &'static str,
    /// What must be known of it.
    pub note: String,
}

#[derive(Clone, Copy, Default)]
struct Place {
    hz: Option<f64>,
    m: Option<f64>,
}

impl Place {
    const NONE: Self = Self { hz: None, m: None };

    fn hz(hz: f64) -> Self {
        Self {
            hz: Some(hz),
            m: None,
        }
    }

    fn m(m: f64) -> Self {
        Self {
            hz: None,
            m: Some(m),
        }
    }
}

#[derive(Default)]
struct Table(Vec<NumberFound>);

impl Table {
    fn add(
        &mut self,
        quantity: &str,
        place: Place,
        (value, u95): (f64, Option<f64>),
        unit: &'static str,
        note: &str,
    ) {
        self.0.push(NumberFound {
            quantity: quantity.to_owned(),
            at_hz: place.hz,
            at_m: place.m,
            value: Some(value),
            u95,
            unit,
            note: note.to_owned(),
        });
    }
}

/// All numbers of the finding: what, at which frequency or place, value, 95 % half-width, unit, and what must be
/// known of it.
pub fn numbers(finding: &Finding) -> Vec<NumberFound> {
    let mut table = Table::default();
    line(finding, &mut table);
    for row in &finding.loss {
        loss(row, &mut table);
    }
    as_it_lies(finding, &mut table);
    if let Some(parts) = &finding.loss_parts {
        loss_parts(parts, &mut table);
    }
    besides(finding, &mut table);
    for event in &finding.events {
        an_event(event, &mut table);
    }
    for method in &finding.methods {
        a_method(method, &mut table);
    }
    if let Some(profile) = &finding.profile {
        along(profile, &mut table);
    }
    table.0
}

fn beyond(extrapolated: bool) -> &'static str {
    if extrapolated { BEYOND } else { "" }
}

/// Impedance, delay, velocity factor and length.
fn line(finding: &Finding, table: &mut Table) {
    if let Some(z) = finding.impedance {
        let note = format!("limited by {}", z.limited_by);
        let value = (z.ohm, Some(z.u95_ohm));
        table.add("impedance", Place::hz(z.at_hz), value, "ohm", &note);
    }
    for row in &finding.impedances {
        let value = (row.ohm, Some(row.u95_ohm));
        let note = beyond(row.extrapolated);
        table.add("impedance", Place::hz(row.at_hz), value, "ohm", note);
    }
    if let Some(z) = finding.impedance_limit {
        let value = (z.ohm, Some(z.u95_ohm));
        let note = "at high frequency";
        table.add("impedance", Place::NONE, value, "ohm", note);
    }
    if let Some(d) = finding.delay {
        let at = Place::hz(d.at_hz);
        let value = (d.one_way_s, Some(d.u95_s));
        table.add("one-way delay", at, value, "s", "");
        if let Some(s) = d.between_plugs_s {
            let value = (s, d.u95_between_plugs_s);
            table.add("one-way delay", at, value, "s", "between the plugs");
        }
    }
    if let Some(v) = finding.velocity_factor {
        let value = (v.ratio, Some(v.u95));
        table.add("velocity factor", Place::NONE, value, "", "");
    }
    if let Some(l) = finding.length {
        let value = (l.m, Some(l.u95_m));
        table.add("length", Place::NONE, value, "m", l.basis.words());
    }
}

fn loss(row: &LossRow, table: &mut Table) {
    let (at, note) = (Place::hz(row.at_hz), beyond(row.extrapolated));
    table.add("loss", at, (row.db, Some(row.u95_db)), "dB", note);
    if let Some(db) = row.db_per_100m {
        let value = (db, row.u95_db_per_100m);
        table.add("loss per 100 m", at, value, "dB/100m", note);
    }
    if let Some(db) = row.db_at_20c {
        let value = (db, row.u95_db_at_20c);
        table.add("loss at 20 °C", at, value, "dB", note);
    }
}

/// Insertion loss and input of the piece as it lies.
fn as_it_lies(finding: &Finding, table: &mut Table) {
    for row in &finding.insertion_loss {
        let note = format!("between {} ohm", row.between_ohm);
        let value = (row.db, Some(row.u95_db));
        table.add("insertion loss", Place::hz(row.at_hz), value, "dB", &note);
    }
    for row in &finding.input {
        let between = row.between_ohm.map(|ohm| format!("between {ohm} ohm"));
        let mut add = |quantity: &str, value: f64, unit: &'static str, bound: &str| {
            let note: Vec<&str> = between.as_deref().into_iter().chain([bound]).collect();
            let note = note.join(", ");
            let note = note.trim_end_matches(", ");
            table.add(quantity, Place::hz(row.at_hz), (value, None), unit, note);
        };
        add("input resistance", row.resistance_ohm, "ohm", "");
        add("input reactance", row.reactance_ohm, "ohm", "");
        add("input return loss", row.return_loss_db, "dB", "at least");
        if let Some(vswr) = row.vswr {
            add("input VSWR", vswr, "", "at most");
        }
    }
    for row in &finding.electrical_length {
        let value = (row.deg, Some(row.u95_deg));
        let note = beyond(row.extrapolated);
        table.add("electrical length", Place::hz(row.at_hz), value, "°", note);
    }
}

fn loss_parts(parts: &LossPartsFound, table: &mut Table) {
    let at = Place::hz(parts.at_hz);
    let reason = parts.reason.as_deref().unwrap_or("");
    for (part, db, u95) in [
        ("conductors", parts.conductor_db, parts.u95_conductor_db),
        ("dielectric", parts.dielectric_db, parts.u95_dielectric_db),
    ] {
        let quantity = format!("loss of the {part}");
        match db {
            Some(db) => table.add(&quantity, at, (db, u95), "dB", ""),
            None => table.0.push(NumberFound {
                quantity,
                at_hz: at.hz,
                unit: "dB",
                note: reason.to_owned(),
                ..NumberFound::default()
            }),
        }
    }
}

/// Temperature, caliper, system, calibration and types.
fn besides(finding: &Finding, table: &mut Table) {
    if let Some(celsius) = finding.temperature_c {
        let value = (celsius, None);
        table.add("temperature", Place::NONE, value, "°C", "of the cable");
    }
    if let Some(g) = &finding.geometry {
        let by_caliper = (g.impedance_over_velocity_ohm, Some(g.u95_ohm));
        let quantity = "impedance over velocity factor";
        table.add(quantity, Place::NONE, by_caliper, "ohm", "by caliper");
        if let Some(ohm) = g.by_sweeps_ohm {
            let by_sweeps = (ohm, g.u95_by_sweeps_ohm);
            table.add(quantity, Place::NONE, by_sweeps, "ohm", &g.text);
        }
    }
    if let Some(system) = &finding.system {
        let note = format!("between {} ohm at both ends", system.ohm);
        for row in &system.rows {
            for (quantity, value, unit) in [
                ("highest VSWR", row.highest_swr, ""),
                ("least return loss", row.least_return_loss_db, "dB"),
                ("VSWR at the worst length", row.swr_at_worst_length, ""),
                (
                    "return loss at the worst length",
                    row.return_loss_db_at_worst_length,
                    "dB",
                ),
                ("most extra loss", row.most_extra_loss_db, "dB"),
            ] {
                table.add(quantity, Place::hz(row.at_hz), (value, None), unit, &note);
            }
        }
    }
    for left in &finding.calibration {
        let value = (left.directivity, None);
        table.add("residual directivity", Place::NONE, value, "", &left.file);
        if let Some(size) = left.source_match {
            let value = (size, None);
            table.add("residual source match", Place::NONE, value, "", &left.file);
        }
    }
    for found in &finding.types {
        let value = (found.probability, None);
        let name = &found.designation;
        table.add("probability of the type", Place::NONE, value, "", name);
    }
}

fn an_event(event: &EventFound, table: &mut Table) {
    let (at, kind) = (event.at_m.map_or(Place::NONE, Place::m), event.kind.name());
    if let Some(at_m) = event.at_m {
        table.add(
            "place of an event",
            at,
            (at_m, event.u95_m),
            "m",
            &event.text(),
        );
    }
    let mut add = |quantity: &str, value: Option<f64>, u95: Option<f64>, unit: &'static str| {
        if let Some(value) = value {
            table.add(quantity, at, (value, u95), unit, kind);
        }
    };
    add("delay to an event", Some(event.one_way_s), None, "s");
    add("length of an event", event.length_m, None, "m");
    add("event from the far end", event.from_far_m, None, "m");
    add("share of the way to an event", event.share, None, "");
    let u95 = event.u95_impedance_ohm;
    add("impedance at an event", event.impedance_ohm, u95, "ohm");
    let u95 = event.u95_series_ohm;
    add("resistance at an event", event.series_ohm, u95, "ohm");
    let beside = event.beside_ohm;
    add("impedance beside an event", beside, None, "ohm");
    let u95 = event.u95_shunt_ohm;
    add("resistance across at an event", event.shunt_ohm, u95, "ohm");
    let u95 = event.u95_shunt_f;
    add("capacitance across at an event", event.shunt_f, u95, "F");
    let u95 = event.u95_own_delay_s;
    add("delay of an event by itself", event.own_delay_s, u95, "s");
    for row in &event.by_itself {
        let at = Place {
            hz: Some(row.at_hz),
            m: event.at_m,
        };
        let loss = (row.loss_db, Some(row.u95_loss_db));
        table.add("loss of an event by itself", at, loss, "dB", kind);
        let reflected = (row.return_loss_db, None);
        let quantity = "return loss of an event by itself";
        table.add(quantity, at, reflected, "dB", kind);
    }
}

fn a_method(method: &MethodFound, table: &mut Table) {
    let name = method.name.as_str();
    let mut add =
        |quantity: &str, at_hz: Option<f64>, value: Option<f64>, u95, unit: &'static str| {
            if let Some(value) = value {
                let place = Place { hz: at_hz, m: None };
                table.add(quantity, place, (value, u95), unit, name);
            }
        };
    let (ohm, u95) = (method.ohm, method.u95_ohm);
    add("impedance by a method", method.at_hz, ohm, u95, "ohm");
    let (s, u95) = (method.one_way_s, method.u95_s);
    add("delay by a method", method.delay_at_hz, s, u95, "s");
    let velocity = method.velocity_factor;
    let (ratio, u95) = (velocity.map(|v| v.ratio), velocity.map(|v| v.u95));
    add("velocity factor by a method", None, ratio, u95, "");
    let (m, u95) = (method.length_m, method.u95_m);
    add("length by a method", None, m, u95, "m");
    for loss in &method.loss {
        let (db, u95) = (Some(loss.db), Some(loss.u95_db));
        add("loss by a method", loss.at_hz, db, u95, "dB");
    }
}

fn along(profile: &ProfileFound, table: &mut Table) {
    let resolution = (profile.resolution_m, None);
    table.add(
        "resolution along the cable",
        Place::NONE,
        resolution,
        "m",
        "",
    );
    for point in &profile.points {
        let value = (point.ohm, Some(point.u95_ohm));
        let place = Place::m(point.at_m);
        table.add("impedance along the cable", place, value, "ohm", "");
    }
    let note = format!("of {} m", profile.least_dent_length_m);
    for least in &profile.least_dents {
        let value = (least.relative, None);
        let place = Place::m(least.at_m);
        table.add("least dent that shows", place, value, "", &note);
    }
}
