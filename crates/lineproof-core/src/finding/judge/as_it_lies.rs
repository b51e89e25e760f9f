//! What the line does as it lies: faults, plugs and unevenness included, between equal impedances.

use crate::bench::Bench;
use crate::estimate::{Estimate, LineInSystem};
use crate::line::mismatch::{return_loss_db, swr};
use crate::method::insertion_loss::LineAsSwept;
use crate::quantity::{format_frequency, format_uncertain};
use crate::uncertain::Uncertain;

use super::asked::Purpose;
use super::events;
use super::loss;
use super::marking;
use super::stated::{SYSTEMS_OHM, finite};
use crate::finding::found::Finding;
use crate::finding::quantities::{ElectricalLengthRow, InputRow, InsertionLossRow};
use crate::finding::remarks::{Warning, WarningCode};

/// How far the reference of the sweeps may be from the impedance that it stands for, relative.
const NOMINAL: f64 = 0.05;

/// Impedances that the line is stated between, ohm: that of the system first, the one named or else the jacket's;
/// then that of the analyser, between whose ports a measurement of it would be taken, where it is another.
fn between_ohm(bench: &Bench, purpose: Purpose) -> Vec<f64> {
    let kit_ohm = bench.kit_load.ohm.value;
    let near = |s: &f64| (kit_ohm / s - 1.0).abs() < NOMINAL;
    let analysers = SYSTEMS_OHM.into_iter().find(near).unwrap_or(kit_ohm);
    let system = purpose.system_ohm.or_else(|| marking::claimed_ohm(bench));
    let mut all: Vec<f64> = system.into_iter().chain([analysers]).collect();
    all.dedup();
    all
}

/// States insertion loss and input at the frequencies of the loss that the sweeps cover, that of the impedance and
/// that of use; and the electrical length. Where the line as it was swept, which knows no model, excludes what the fit
/// says, it is what is stated.
pub fn state(
    bench: &Bench,
    estimate: &Estimate,
    swept: Option<&LineAsSwept>,
    purpose: Purpose,
    finding: &mut Finding,
) {
    if estimate.events().iter().any(events::is_early) {
        return;
    }
    let (low, high) = estimate.covered_hz();
    let rows = finding.loss.iter().map(|row| row.at_hz);
    let stated = finding.impedance.map(|z| z.at_hz);
    let mut at_hz: Vec<f64> = rows.chain(stated).chain(purpose.use_hz).collect();
    at_hz.retain(|f| (low..=high).contains(f));
    at_hz.sort_by(f64::total_cmp);
    at_hz.dedup();
    for ohm in between_ohm(bench, purpose) {
        for &at_hz in &at_hz {
            if let Some(line) = estimate.in_system(at_hz, ohm) {
                let fitted = line.insertion_loss_db;
                let swept = swept.and_then(|line| line.insertion_loss_db(at_hz, ohm));
                let found = swept.filter(|swept| excludes(*swept, fitted));
                let found = found.unwrap_or(fitted);
                finding.insertion_loss.push(row(at_hz, ohm, found));
                finding.input.extend(input(at_hz, ohm, &line));
            }
        }
    }
    finding.electrical_length = electrical_length(estimate, purpose, finding);
}

/// States the insertion loss of sweeps that no fit explains.
pub fn state_as_swept(bench: &Bench, swept: &LineAsSwept, purpose: Purpose, finding: &mut Finding) {
    let (low, high) = swept.covered_hz();
    let usual = loss::usual_hz(low, high);
    let mut at_hz: Vec<f64> = usual.chain(purpose.use_hz).collect();
    at_hz.sort_by(f64::total_cmp);
    at_hz.dedup();
    for ohm in between_ohm(bench, purpose) {
        for &at_hz in &at_hz {
            let found = swept.insertion_loss_db(at_hz, ohm);
            let rows = found.map(|found| row(at_hz, ohm, found));
            finding.insertion_loss.extend(rows);
        }
    }
}

fn row(at_hz: f64, between_ohm: f64, found: Uncertain) -> InsertionLossRow {
    InsertionLossRow {
        at_hz,
        db: found.value,
        u95_db: found.u95(),
        between_ohm,
    }
}

/// Standard uncertainties of the insertion loss as swept by which a fit of the same sweeps is excluded, and those by
/// which it is no fit of the line at all.
const EXCLUDED: f64 = 3.0;
const NO_FIT: f64 = 5.0;
/// Difference that makes another verdict, as a part of the loss and in dB.
const MATTERS: (f64, f64) = (0.04, 0.05);

fn excludes(swept: Uncertain, fitted: Uncertain) -> bool {
    (swept.value - fitted.value).abs() > EXCLUDED * swept.u.hypot(fitted.u)
}

/// Why the fit is not of this line: the sweeps themselves show another insertion loss.
pub fn contradiction(bench: &Bench, estimate: &Estimate, swept: &LineAsSwept) -> Option<Warning> {
    if estimate.events().iter().any(events::is_early) {
        return None;
    }
    let ohm = *between_ohm(bench, Purpose::default()).last()?;
    let (low, high) = estimate.covered_hz();
    let usual = loss::usual_hz(low, high);
    let apart = usual.filter_map(|at_hz| {
        let fitted = estimate.in_system(at_hz, ohm)?.insertion_loss_db;
        let swept = swept.insertion_loss_db(at_hz, ohm)?;
        let off = (swept.value - fitted.value).abs();
        let matters = off > (MATTERS.0 * swept.value).max(MATTERS.1);
        let size = off / swept.u.hypot(fitted.u);
        (matters && size > NO_FIT).then_some((size, at_hz, swept, fitted))
    });
    let (_, at_hz, swept, fitted) = apart.max_by(|a, b| a.0.total_cmp(&b.0))?;
    let [swept, fitted] = [swept, fitted].map(|loss| format_uncertain(loss, "dB"));
    Some(Warning::new(
        WarningCode::NotOneCable,
        format!(
            "impedance, delay and loss of a cable are not stated: the sweeps themselves show an insertion loss of {swept} \
             at {}, the cable that explains them best would have {fitted}; most likely the line is made of several \
             pieces with connectors between: sweep each piece by itself",
            format_frequency(at_hz)
        ),
    ))
}

/// Electrical length where it was asked for or the cable is used, else where the impedance is stated.
fn electrical_length(
    estimate: &Estimate,
    purpose: Purpose,
    finding: &Finding,
) -> Vec<ElectricalLengthRow> {
    let asked = finding.impedances.iter().map(|z| z.at_hz);
    let mut at_hz: Vec<f64> = asked.chain(purpose.use_hz).collect();
    if at_hz.is_empty() {
        at_hz.extend(finding.impedance.map(|z| z.at_hz));
    }
    at_hz.sort_by(f64::total_cmp);
    at_hz.dedup();
    let (low, high) = estimate.covered_hz();
    let row = |at_hz: f64| {
        let length = finite(estimate.one_way_delay_s(at_hz).scaled(360.0 * at_hz))?;
        Some(ElectricalLengthRow {
            at_hz,
            deg: length.value,
            u95_deg: length.u95(),
            extrapolated: !(low..=high).contains(&at_hz),
        })
    };
    at_hz.into_iter().filter_map(row).collect()
}

fn input(at_hz: f64, ohm: f64, line: &LineInSystem) -> Option<InputRow> {
    let reflection = line.input_reflection;
    let impedance = ohm * (1.0 + reflection) / (1.0 - reflection);
    let worst = line.worst_reflection();
    Some(InputRow {
        at_hz,
        resistance_ohm: impedance.re,
        reactance_ohm: impedance.im,
        between_ohm: Some(ohm),
        return_loss_db: return_loss_db(worst)?,
        vswr: swr(worst).filter(|s| s.is_finite()),
    })
}
