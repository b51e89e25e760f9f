//! What the line does as it lies: faults, plugs and unevenness included, between equal impedances.

use crate::bench::Bench;
use crate::estimate::{Estimate, LineInSystem};
use crate::line::mismatch::{return_loss_db, swr};

use super::asked::Purpose;
use super::events;
use super::marking;
use super::stated::{SYSTEMS_OHM, finite};
use crate::finding::found::Finding;
use crate::finding::quantities::{ElectricalLengthRow, InputRow, InsertionLossRow};

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
/// that of use; and the electrical length.
pub fn state(bench: &Bench, estimate: &Estimate, purpose: Purpose, finding: &mut Finding) {
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
                finding.insertion_loss.push(InsertionLossRow {
                    at_hz,
                    db: line.insertion_loss_db.value,
                    u95_db: line.insertion_loss_db.u95(),
                    between_ohm: ohm,
                });
                finding.input.extend(input(at_hz, ohm, &line));
            }
        }
    }
    finding.electrical_length = electrical_length(estimate, purpose, finding);
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
