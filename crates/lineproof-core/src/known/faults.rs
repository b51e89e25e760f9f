//! What the faults of an assayed piece cost: its insertion loss as it lies over that of the same line without them.

use crate::finding::{EventFound, Finding, InsertionLossRow, from_u95};
use crate::fitness::Line;
use crate::network::Scattering;
use crate::uncertain::Uncertain;

/// The faults of a piece.
#[derive(Clone, Debug, PartialEq)]
pub struct Faults {
    /// What and where, in words.
    pub text: String,
    /// What they cost, dB, by rising frequency, Hz; empty of a piece through which nothing is known to get.
    cost_db: Vec<(f64, Uncertain)>,
}

impl Faults {
    /// Those of a finding; `None` if it has none. `sound` is the line without them at a frequency.
    pub(super) fn of(finding: &Finding, sound: impl Fn(f64) -> Option<Line>) -> Option<Self> {
        if finding.events.is_empty() {
            return None;
        }
        let texts: Vec<String> = finding.events.iter().map(EventFound::sentence).collect();
        // rows of the first system come first
        let system_ohm = finding.insertion_loss.first().map(|row| row.between_ohm);
        let rows = finding.insertion_loss.iter();
        let rows = rows.filter(|row| Some(row.between_ohm) == system_ohm);
        let cost = |row: &InsertionLossRow| {
            let sound_db = insertion_loss_db(&sound(row.at_hz)?, row.at_hz, row.between_ohm)?;
            let as_it_lies = from_u95(row.db, row.u95_db);
            let value = (as_it_lies.value - sound_db).max(0.0);
            Some((row.at_hz, Uncertain::new(value, as_it_lies.u)))
        };
        Some(Self {
            text: texts.join("; "),
            cost_db: rows.filter_map(cost).collect(),
        })
    }

    /// Whether anything is known to get through the piece.
    pub(super) fn let_through(&self) -> bool {
        !self.cost_db.is_empty()
    }

    /// What they cost at `freq_hz`, dB: between two rows straight in the logarithm of frequency, with half of their
    /// difference as standard uncertainty, since a fault's part ripples with the standing wave. Nothing beyond the rows.
    pub(super) fn cost_db(&self, freq_hz: f64) -> Option<Uncertain> {
        let above = self.cost_db.iter().position(|(f, _)| *f >= freq_hz)?;
        let (high_hz, high) = self.cost_db[above];
        if high_hz <= freq_hz {
            return Some(high);
        }
        let (low_hz, low) = self.cost_db[above.checked_sub(1)?];
        let t = (freq_hz / low_hz).ln() / (high_hz / low_hz).ln();
        let u = low.u.max(high.u).hypot(0.5 * (high.value - low.value));
        Some(Uncertain::new(low.value * (1.0 - t) + high.value * t, u))
    }
}

/// Insertion loss of a uniform line between equal impedances, dB.
fn insertion_loss_db(line: &Line, freq_hz: f64, between_ohm: f64) -> Option<f64> {
    let matrix = Scattering::line(line.z0(freq_hz), line.gamma_l(freq_hz), between_ohm);
    Some(-20.0 * matrix.ok()?.matrix().0[1][0].norm().log10())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::{
        DelayFound, EventKind, ImpedanceFound, LawRow, LengthBasis, LengthFound, LimitedBy, SCHEMA,
    };
    use crate::known::{CableError, KnownCable};

    /// 10 m of 50 ohm with a bad joint: 1 dB of its own at 100 MHz, and 1.94 dB more for the joint, 20 log(1 + R/2Z0)
    /// of 25 ohm (Pozar, Microwave Engineering, 4th ed., example 4.6).
    fn joint() -> Finding {
        let law = |at_hz: f64, db| LawRow {
            at_hz,
            ohm: 50.0,
            u95_ohm: 0.1,
            one_way_s: 50e-9,
            u95_s: 1e-12,
            db,
            u95_db: 0.01,
            dielectric_part: 0.1,
        };
        let row = |at_hz, db| InsertionLossRow {
            at_hz,
            db,
            u95_db: 0.02,
            between_ohm: 50.0,
        };
        Finding {
            schema: SCHEMA,
            events: vec![EventFound::at(EventKind::Joint, 4.0, 0.02)],
            impedance: Some(ImpedanceFound {
                ohm: 50.0,
                u95_ohm: 0.1,
                at_hz: 1e8,
                limited_by: LimitedBy::Load,
            }),
            delay: Some(DelayFound {
                one_way_s: 50e-9,
                u95_s: 1e-12,
                at_hz: 3e8,
                between_plugs_s: None,
                u95_between_plugs_s: None,
            }),
            length: Some(LengthFound {
                m: 10.0,
                u95_m: 0.01,
                basis: LengthBasis::Tape,
            }),
            law: vec![law(5e7, 0.7), law(1e8, 1.0), law(2e8, 1.4)],
            insertion_loss: vec![row(5e7, 2.64), row(1e8, 2.94)],
            ..Finding::default()
        }
    }

    #[test]
    fn the_piece_as_it_lies_has_its_fault_and_another_run_has_not() {
        let cable = KnownCable::of_finding(&joint(), "x").unwrap();
        let loss = |freq_hz, run_m| cable.line(freq_hz, run_m).map(|line| line.loss_db);
        let lies = loss(1e8, None).unwrap();
        assert!((lies.value - 2.94).abs() < 1e-3, "{lies:?}");
        let between = loss(7e7, None).unwrap();
        assert!((between.value - 0.83 - 1.94).abs() < 0.03, "{between:?}");
        let run = loss(1e8, Some(20.0)).unwrap();
        assert!((run.value - 2.0).abs() < 1e-9, "{run:?}");
        let beyond = loss(1.5e8, None).unwrap_err();
        assert!(matches!(beyond, CableError::FaultBeyond { .. }), "{beyond}");
    }

    #[test]
    fn nothing_is_said_to_get_through_a_broken_piece() {
        let broken = Finding {
            events: vec![EventFound::at(EventKind::Open, 4.0, 0.02)],
            insertion_loss: Vec::new(),
            ..joint()
        };
        let cable = KnownCable::of_finding(&broken, "x").unwrap();
        let error = cable.line(1e8, None).unwrap_err().to_string();
        assert!(error.contains("broken, open at 4.0"), "{error}");
    }
}
