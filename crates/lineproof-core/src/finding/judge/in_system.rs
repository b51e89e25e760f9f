//! What the piece does between a source and a load of a system's impedance, whatever reference it was
//! swept against: a 75-ohm cable from a 50-ohm analyser, told in 75 ohm.

use crate::estimate::Estimate;
use crate::fitness::{Line, WrongImpedance, wrong_impedance};
use crate::line::mismatch::{reflection_of_swr, return_loss_db};
use crate::uncertain::Uncertain;

use super::asked::Purpose;
use super::events;
use crate::finding::found::Finding;
use crate::finding::quantities::{SystemFound, SystemRow};

/// The piece in the system that was named, at the frequencies that impedances are stated at and that of
/// use; absent if none was named.
pub fn found(estimate: &Estimate, finding: &Finding, purpose: Purpose) -> Option<SystemFound> {
    let ohm = purpose.system_ohm?;
    let stated = finding.impedance.iter().map(|z| z.at_hz);
    let asked = finding.impedances.iter().map(|z| z.at_hz);
    let mut freq_hz: Vec<f64> = stated.chain(asked).chain(purpose.use_hz).collect();
    freq_hz.sort_by(f64::total_cmp);
    freq_hz.dedup();
    let row = |&at_hz: &f64| {
        let cost = priced(estimate, at_hz, ohm)?;
        let worst = worst_swr(estimate, at_hz, ohm)?;
        Some(SystemRow {
            at_hz,
            highest_swr: cost.input_swr.high,
            least_return_loss_db: return_loss_db_of_swr(cost.input_swr.high)?,
            swr_at_worst_length: worst,
            return_loss_db_at_worst_length: return_loss_db_of_swr(worst)?,
            most_extra_loss_db: cost.extra_loss_db.high,
        })
    };
    let rows: Vec<SystemRow> = freq_hz.iter().filter_map(row).collect();
    (!rows.is_empty()).then_some(SystemFound { ohm, rows })
}

/// Insertion loss of the line as it lies, dB; nothing for one that ends early.
pub fn insertion_loss_db(estimate: &Estimate, freq_hz: f64, between_ohm: f64) -> Option<Uncertain> {
    if estimate.events().iter().any(events::is_early) {
        return None;
    }
    Some(estimate.in_system(freq_hz, between_ohm)?.insertion_loss_db)
}

/// What this piece costs between ends of the system's impedance.
pub fn priced(estimate: &Estimate, at_hz: f64, system_ohm: f64) -> Option<WrongImpedance> {
    wrong_impedance(&line(estimate, at_hz), at_hz, system_ohm)
}

/// Highest VSWR at the worst length, with the impedance at either end of its interval.
fn worst_swr(estimate: &Estimate, at_hz: f64, system_ohm: f64) -> Option<f64> {
    let line = line(estimate, at_hz);
    let (z, u95) = (line.z0_ohm.value, line.z0_ohm.u95());
    let swr = |z0_ohm: f64| {
        let z0_ohm = Uncertain::exact(z0_ohm);
        let at_end = Line { z0_ohm, ..line };
        Some(wrong_impedance(&at_end, at_hz, system_ohm)?.worst_input_swr)
    };
    Some(swr(z - u95)?.max(swr(z + u95)?))
}

fn line(estimate: &Estimate, at_hz: f64) -> Line {
    Line {
        z0_ohm: estimate.impedance_ohm(at_hz),
        one_way_delay_s: estimate.one_way_delay_s(at_hz),
        loss_db: estimate.loss_db(at_hz),
        // only heating asks for it
        dielectric_share: 0.0,
    }
}

fn return_loss_db_of_swr(swr: f64) -> Option<f64> {
    return_loss_db(reflection_of_swr(swr))
}
