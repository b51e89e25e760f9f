//! One line for each cable of a box, worst first.

use super::grade::{Grade, grade};
use crate::finding::found::Finding;

/// One cable's line.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Deserialize, serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Row {
    /// Name of the cable.
    pub cable: String,
    /// How good it is.
    pub grade: Grade,
    /// Why that grade.
    pub why: String,
    /// Impedance, ohm.
    pub impedance_ohm: Option<f64>,
    /// Its 95 % half-width, ohm.
    pub u95_impedance_ohm: Option<f64>,
    /// One-way delay, s.
    pub one_way_delay_s: Option<f64>,
    /// Velocity factor.
    pub velocity_factor: Option<f64>,
    /// Loss at 100 MHz as the cable lies, dB.
    pub loss_db_at_100mhz: Option<f64>,
    /// Condition.
    pub condition: Option<String>,
    /// What to do.
    pub verdict: Option<String>,
    /// Number of sweeps that were used.
    pub sweeps: usize,
    /// Files that were left out, with the reason.
    pub left_out: Vec<String>,
}

/// By grade, then by name.
pub fn worst_first(rows: &mut [Row]) {
    rows.sort_by(|a, b| (a.grade, &a.cable).cmp(&(b.grade, &b.cable)));
}

impl Row {
    /// The row of a cable of which nothing is known, and why.
    pub fn not_found(name: &str, why: String) -> Self {
        Self {
            why,
            condition: None,
            ..Self::of(name, &Finding::default(), None, Vec::new())
        }
    }

    /// What to do, for people.
    pub fn to_do(&self) -> String {
        self.verdict.as_deref().unwrap_or("").replace('-', " ")
    }

    /// The row of a finding, for a system of `wanted_ohm`.
    pub fn of(
        name: &str,
        finding: &Finding,
        wanted_ohm: Option<f64>,
        left_out: Vec<String>,
    ) -> Self {
        let (grade, why) = grade(finding, wanted_ohm);
        Self {
            cable: name.to_owned(),
            grade,
            why,
            impedance_ohm: finding.impedance.map(|z| z.ohm),
            u95_impedance_ohm: finding.impedance.map(|z| z.u95_ohm),
            one_way_delay_s: finding.delay.map(|d| d.one_way_s),
            velocity_factor: finding.velocity_factor.map(|v| v.ratio),
            loss_db_at_100mhz: finding.loss_as_it_lies(100e6).map(|(db, _)| db),
            condition: Some(finding.condition.name().to_owned()),
            verdict: finding.verdict.as_ref().map(|v| v.action.name().to_owned()),
            sweeps: finding.sweeps.len(),
            left_out,
        }
    }
}
