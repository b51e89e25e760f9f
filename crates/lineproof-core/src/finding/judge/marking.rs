//! What the jacket claims against what was found, and what the difference means.
//!
//! Limits: impedance 5 %, more than the 2 ohm in 50 of MIL-C-17 and about what differs between
//! makers; velocity factor ±2 % agrees, ±5 % with a remark (catalogues are routinely off by that
//! much); loss 20 % or 0.3 dB above the claim, a remark from 10 %. The last two are common
//! practice without a single source.

use crate::bench::{Bench, Marking};
use crate::constants::ETA_0_OVER_2PI_OHM;
use crate::estimate::Estimate;
use crate::quantity::{format_frequency, format_uncertain};
use crate::uncertain::Uncertain;

use crate::finding::found::Finding;
use crate::finding::marking::{Difference, MarkingFound, Quantity};
use crate::finding::quantities::from_u95;

/// Relative difference of impedance that still agrees.
const IMPEDANCE_LIMIT: f64 = 0.05;
/// Relative difference of velocity factor that still agrees, and the one that gets a remark.
const VELOCITY_LIMIT: f64 = 0.05;
const VELOCITY_REMARK: f64 = 0.02;
/// Excess of loss that disagrees: relative, dB, and the relative one that gets a remark.
const LOSS_LIMIT: f64 = 0.20;
const LOSS_LIMIT_DB: f64 = 0.3;
const LOSS_REMARK: f64 = 0.10;

/// The loss at the frequency of the claim beside what the claim makes it for this piece.
pub struct Excess {
    /// As claimed, dB.
    pub marked_db: f64,
    /// As found, dB; where the sweeps do not reach, carried on by the line's law.
    pub found: Uncertain,
    /// Frequency, Hz.
    pub at_hz: f64,
}

/// Claimed and found loss; `None` without a claim or a length.
pub fn excess(bench: &Bench, estimate: &Estimate) -> Option<Excess> {
    let claim = bench.marking.loss?;
    let length = bench.length_m?;
    Some(Excess {
        marked_db: claim.db_per_100m * length.value / 100.0,
        found: estimate.loss_db(claim.at_hz),
        at_hz: claim.at_hz,
    })
}

/// Compares the marking with the finding; `None` if nothing is claimed.
pub fn compare(
    bench: &Bench,
    estimate: Option<&Estimate>,
    finding: &Finding,
) -> Option<MarkingFound> {
    let marking = &bench.marking;
    if *marking == Marking::default() {
        return None;
    }
    let mut comparison = Comparison::default();
    comparison.impedance(marking, finding);
    comparison.velocity_factor(marking, finding);
    comparison.loss(bench, estimate);
    let agrees = (comparison.compared > 0).then_some(comparison.differences.is_empty());
    let explanation = if comparison.differs_in(Quantity::Impedance) {
        explain(marking, finding)
    } else {
        Vec::new()
    };
    Some(MarkingFound {
        designation: marking.designation.clone(),
        agrees,
        differences: comparison.differences,
        remarks: comparison.remarks,
        explanation,
    })
}

#[derive(Default)]
struct Comparison {
    compared: usize,
    differences: Vec<Difference>,
    remarks: Vec<String>,
}

impl Comparison {
    fn differs_in(&self, quantity: Quantity) -> bool {
        self.differences.iter().any(|d| d.quantity == quantity)
    }

    fn impedance(&mut self, marking: &Marking, finding: &Finding) {
        let Some(marked) = marking.impedance_ohm else {
            if marking.velocity_factor.is_none() && marking.loss.is_none() {
                self.remarks.push(
                    "no figure to compare with: give the impedance, velocity factor or loss of \
                     the data sheet"
                        .to_owned(),
                );
            }
            return;
        };
        let Some(found) = finding.impedance else {
            return self.not_compared(Quantity::Impedance);
        };
        self.compared += 1;
        let limit = (IMPEDANCE_LIMIT * marked).max(found.u95_ohm);
        if (found.ohm - marked).abs() > limit {
            self.differ(Quantity::Impedance, marked, found.uncertain(), "ohm");
        } else if found.u95_ohm > IMPEDANCE_LIMIT * marked {
            self.remarks
                .push("impedance agrees only because its interval is wide".to_owned());
        }
    }

    fn velocity_factor(&mut self, marking: &Marking, finding: &Finding) {
        let Some(marked) = marking.velocity_factor else {
            return;
        };
        let Some(found) = finding.velocity_factor else {
            return self.not_compared(Quantity::VelocityFactor);
        };
        self.compared += 1;
        let off = (found.ratio - marked).abs();
        if off > (VELOCITY_LIMIT * marked).max(found.u95) {
            self.differ(
                Quantity::VelocityFactor,
                marked,
                from_u95(found.ratio, found.u95),
                "",
            );
        } else if off > (VELOCITY_REMARK * marked).max(found.u95) {
            self.remarks.push(format!(
                "velocity factor {:.3} is {:+.1} % from the claimed {marked}; catalogues are often that far off",
                found.ratio,
                100.0 * (found.ratio / marked - 1.0)
            ));
        }
    }

    fn loss(&mut self, bench: &Bench, estimate: Option<&Estimate>) {
        let Some(claim) = bench.marking.loss else {
            return;
        };
        let (Some(length), Some(estimate)) = (bench.length_m, estimate) else {
            return self.not_compared(Quantity::Loss);
        };
        let (low, high) = estimate.covered_hz();
        if !(low..=high).contains(&claim.at_hz) {
            self.remarks.push(format!(
                "the loss is claimed at {}, which the sweeps do not reach: not compared",
                format_frequency(claim.at_hz)
            ));
            return;
        }
        self.compared += 1;
        let marked = claim.db_per_100m * length.value / 100.0;
        let found = estimate.loss_db(claim.at_hz);
        let excess = found.value - marked;
        if excess > (LOSS_LIMIT * marked).max(LOSS_LIMIT_DB).max(found.u95()) {
            self.differ(Quantity::Loss, marked, found, "dB");
        } else if excess > (LOSS_REMARK * marked).max(found.u95()) {
            self.remarks.push(format!(
                "the loss at {} is {}, where the marking gives {marked:.2} dB for this piece",
                format_frequency(claim.at_hz),
                format_uncertain(found, "dB")
            ));
        }
    }

    fn differ(&mut self, quantity: Quantity, marked: f64, found: Uncertain, unit: &'static str) {
        let claim = match unit {
            "dB" => format!("{marked:.2} dB"),
            "" => marked.to_string(),
            _ => format!("{marked} {unit}"),
        };
        self.differences.push(Difference {
            quantity,
            marked,
            found: found.value,
            u95: found.u95(),
            unit: unit.to_owned(),
            text: format!(
                "{quantity} is {}, {:+.0} % from the claimed {claim}",
                format_uncertain(found, unit).trim_end(),
                100.0 * (found.value / marked - 1.0)
            ),
        });
    }

    fn not_compared(&mut self, quantity: Quantity) {
        self.remarks
            .push(format!("{quantity} was not determined, so not compared"));
    }
}

/// Which part of the cable makes the impedance another one. Z0/VF = 59.96·ln(D/d) depends on the
/// geometry alone, VF on the dielectric alone.
fn explain(marking: &Marking, finding: &Finding) -> Vec<String> {
    let mut lines = vec![agreement(finding)];
    lines.retain(|l| !l.is_empty());
    if let (Some(z), Some(vf)) = (finding.impedance, finding.velocity_factor) {
        lines.push(cause(marking, z.ohm, vf.ratio, vf.u95));
    }
    lines
}

fn agreement(finding: &Finding) -> String {
    let Some(impedance) = finding.impedance.map(|z| z.uncertain()) else {
        return String::new();
    };
    let agreeing: Vec<&str> = finding
        .methods
        .iter()
        .filter(|m| {
            matches!((m.ohm, m.u95_ohm), (Some(ohm), Some(u95)) if from_u95(ohm, u95).agrees_with(impedance))
        })
        .map(|m| m.name.as_str())
        .collect();
    match agreeing.len() {
        0 | 1 => String::new(),
        n => format!(
            "{n} methods ({}) agree with each other and not with the marking: doubt the marking \
             rather than the measurement",
            agreeing.join("; ")
        ),
    }
}

fn cause(marking: &Marking, z0_ohm: f64, velocity_factor: f64, u95_velocity_factor: f64) -> String {
    let ratio = diameter_ratio(z0_ohm, velocity_factor);
    let found = format!("Z0/VF = 59.96 ln(D/d) gives D/d = {ratio:.2}");
    let (Some(marked_z), Some(marked_vf)) = (marking.impedance_ohm, marking.velocity_factor) else {
        return format!(
            "{found}; a velocity factor of {velocity_factor:.2} is that of {}",
            dielectric(velocity_factor)
        );
    };
    let as_marked = diameter_ratio(marked_z, marked_vf);
    let limit = (VELOCITY_LIMIT * marked_vf).max(u95_velocity_factor);
    let same_dielectric = (velocity_factor - marked_vf).abs() <= limit;
    let same_geometry =
        (z0_ohm / velocity_factor / (marked_z / marked_vf) - 1.0).abs() <= IMPEDANCE_LIMIT;
    let verdict = match (same_dielectric, same_geometry) {
        (true, _) => {
            "the dielectric is as marked but the diameters are not: another cable than marked, or poor manufacture"
        }
        (false, true) => {
            "the diameters are as marked but the dielectric is not: another dielectric, or water in it"
        }
        (false, false) => {
            "neither the diameters nor the dielectric are as marked: another type of cable"
        }
    };
    format!("{found}, where the marking gives {as_marked:.2}; {verdict}")
}

/// D/d that belongs to impedance and velocity factor.
fn diameter_ratio(z0_ohm: f64, velocity_factor: f64) -> f64 {
    (z0_ohm / velocity_factor / ETA_0_OVER_2PI_OHM).exp()
}

/// Dielectrics by velocity factor, 1/√ε_r: solid polyethylene 2.26, PTFE 2.07.
fn dielectric(velocity_factor: f64) -> &'static str {
    match velocity_factor {
        v if v < 0.62 => "something heavier than polyethylene, or of water",
        v if v < 0.68 => "solid polyethylene",
        v if v < 0.72 => "PTFE",
        v if v < 0.78 => "a dense foam",
        v if v < 0.92 => "a foam or an air-spaced dielectric",
        _ => "almost only air",
    }
}
