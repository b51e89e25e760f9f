//! Loss by frequency, at 20 °C, and by what loses it.

use crate::estimate::Estimate;
use crate::quantity::format_frequency;
use crate::uncertain::{Uncertain, propagate};

use super::asked::Asked;
use super::stated::{USUAL_HZ, finite, stated_hz};
use crate::finding::quantities::{LawRow, LossPartsFound, LossRow};

/// Frequencies of the loss table, Hz; amateur and service bands that data sheets list too.
const TABLE_HZ: [f64; 8] = [1e6, 10e6, 30e6, 50e6, 144e6, 430e6, 500e6, 1000e6];
/// Rise of copper's resistance, relative to that at 20 °C, per kelvin (IEC 60028: 0.00393). The
/// loss follows the root of it where skin effect rules: about 0.2 %/K. Common practice.
const COPPER_PER_K: f64 = 0.00393;
/// Temperature that data sheets state loss at, °C.
const SHEET_C: f64 = 20.0;
/// How far a thermometer in the room may be off the copper, K (rectangular half-width). Common
/// practice.
const THERMOMETER_K: f64 = 2.0;

/// The usual frequencies that are covered, in no order.
pub fn usual_hz(low: f64, high: f64) -> impl Iterator<Item = f64> {
    let covered = move |f: &f64| (low..=high).contains(f);
    [USUAL_HZ].into_iter().chain(TABLE_HZ).filter(covered)
}

/// Rows at the usual frequencies that are covered and at those asked for, by rising frequency.
pub fn rows(estimate: &Estimate, length_m: Option<Uncertain>, asked: &Asked) -> Vec<LossRow> {
    let (low, high) = estimate.covered_hz();
    let covered = |f: &f64| (low..=high).contains(f);
    let told = told(estimate, &asked.frequencies_hz);
    let mut at: Vec<f64> = usual_hz(low, high).chain(told).collect();
    if !at.iter().any(covered) {
        at.push(stated_hz(low, high));
    }
    at.sort_by(f64::total_cmp);
    at.dedup();
    at.into_iter()
        .filter_map(|at_hz| {
            let loss = finite(estimate.loss_db(at_hz))?;
            let per_100m = length_m.map(|l| propagate([loss, l], |[db, m]| 100.0 * db / m));
            let cool = asked
                .temperature_c
                .map(|t| at_20c(estimate, at_hz, loss, t));
            Some(LossRow {
                at_hz,
                db: loss.value,
                u95_db: loss.u95(),
                db_per_100m: per_100m.map(|p| p.value),
                u95_db_per_100m: per_100m.map(Uncertain::u95),
                db_at_20c: cool.map(|c| c.value),
                u95_db_at_20c: cool.map(Uncertain::u95),
                extrapolated: !covered(&at_hz),
            })
        })
        .collect()
}

/// Rows of the law for each decade: between two, straight lines in logarithms are off by less than
/// 0.1 % of a loss that grows as √f, f or anything between.
const ROWS_A_DECADE: f64 = 8.0;

/// The fitted law from the lowest to the highest frequency of the sweeps.
pub fn law(estimate: &Estimate) -> Vec<LawRow> {
    let (low, high) = estimate.covered_hz();
    let low = low.max(1e-4 * high);
    let gaps = (ROWS_A_DECADE * (high / low).log10()).ceil().max(1.0);
    let row = |i: u32| {
        let at_hz = low * (high / low).powf(f64::from(i) / gaps);
        let z = finite(estimate.impedance_ohm(at_hz))?;
        let delay = finite(estimate.cable_delay_s(at_hz))?;
        let loss = finite(estimate.loss_db(at_hz)).filter(|l| l.value > 0.0)?;
        let parts = estimate.loss_parts_db(at_hz);
        let (conductor, dielectric) = (parts.conductor.value, parts.dielectric.value);
        Some(LawRow {
            at_hz,
            ohm: z.value,
            u95_ohm: z.u95(),
            one_way_s: delay.value,
            u95_s: delay.u95(),
            db: loss.value,
            u95_db: loss.u95(),
            dielectric_part: (dielectric / (conductor + dielectric)).clamp(0.0, 1.0),
        })
    };
    (0..=gaps as u32).filter_map(row).collect()
}

/// Of the frequencies asked for, those at which something can be said: all, but none below the
/// sweep if the conductor's law is in doubt there.
pub fn told(estimate: &Estimate, wanted_hz: &[f64]) -> Vec<f64> {
    let (low, _) = estimate.covered_hz();
    let doubted = estimate.steel_core().is_some();
    let told = |f: &f64| *f > 0.0 && !(doubted && *f < low);
    wanted_hz.iter().copied().filter(told).collect()
}

/// What the loss would be at 20 °C: the conductors' part less what copper gains by warmth.
fn at_20c(estimate: &Estimate, freq_hz: f64, loss: Uncertain, temperature_c: f64) -> Uncertain {
    let conductor = estimate.loss_parts_db(freq_hz).conductor;
    let warm = Uncertain::within(temperature_c, THERMOMETER_K);
    let gain = propagate([conductor, warm], |[db, t]| {
        db * (1.0 - (1.0 + COPPER_PER_K * (t - SHEET_C)).max(0.1).sqrt().recip())
    });
    Uncertain::new(loss.value - gain.value, loss.u).widened(gain.u)
}

/// The parts of the loss where the sweeps determine them. What is believed of cables beforehand
/// leaves each part an interval wider than its value, so a narrower one comes from the sweeps.
pub fn parts(estimate: &Estimate, at_hz: f64) -> Option<LossPartsFound> {
    let parts = estimate.loss_parts_db(at_hz);
    let seen = |part: Uncertain| finite(part).filter(|p| p.u95() < p.value);
    let (conductor, dielectric) = (seen(parts.conductor), seen(parts.dielectric));
    conductor.or(dielectric)?;
    let hidden = match (conductor, dielectric) {
        (Some(_), None) => Some("dielectric"),
        (None, Some(_)) => Some("conductors"),
        _ => None,
    };
    Some(LossPartsFound {
        at_hz,
        conductor_db: conductor.map(|c| c.value),
        u95_conductor_db: conductor.map(Uncertain::u95),
        dielectric_db: dielectric.map(|d| d.value),
        u95_dielectric_db: dielectric.map(Uncertain::u95),
        reason: hidden.map(|what| {
            format!(
                "the {what} at {} is smaller than its interval: a longer piece or a higher stop \
                 would show it",
                format_frequency(at_hz)
            )
        }),
    })
}
