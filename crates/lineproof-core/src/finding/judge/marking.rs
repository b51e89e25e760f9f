//! What the jacket claims against what was found, and what the difference means.
//!
//! Limits: impedance 5 %, more than the 2 ohm in 50 of MIL-C-17 and about what differs between
//! makers; velocity factor ±2 % agrees, ±5 % with a remark (catalogues are routinely off by that
//! much); loss 20 % or 0.3 dB above the claim, a remark from 10 %. The last two are common
//! practice without a single source.
//!
//! A name is a claim of its sheet's figures: where the marking states none itself, the catalogue's count, with the
//! spread between pieces. A name that several types bear is right if one of them fits.

use crate::bench::{Bench, Marking};
use crate::catalogue::{Catalogue, Claim, Claimed};
use crate::constants::ETA_0_OVER_2PI_OHM;
use crate::estimate::Estimate;
use crate::quantity::{format_frequency, format_uncertain};
use crate::uncertain::Uncertain;

use super::events;
use super::in_system::insertion_loss_db;
use super::stated::{SYSTEMS_OHM, stated_hz};
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
/// Relative difference of impedances within which cables are of one kind: 53.5 ohm is sold as 50.
const SAME_KIND: f64 = 0.10;

/// The loss at the frequency of the claim beside what the claim makes it for this piece.
pub struct Excess {
    /// As claimed, dB, with the spread between pieces of a type.
    pub marked_db: Uncertain,
    /// The cable between its plugs as found, dB.
    pub found: Uncertain,
    /// The line as it lies, faults and plugs included, dB.
    pub as_it_lies: Uncertain,
    /// Frequency, Hz.
    pub at_hz: f64,
    /// Type whose sheet claims it; absent for a printed figure.
    pub sheet: Option<String>,
}

/// Claimed and found loss, by the reading of the marking that fits best; `None` without a claim or a length that
/// can be believed, or of a cable whose end is not seen.
pub fn excess(bench: &Bench, estimate: &Estimate, finding: &Finding) -> Option<Excess> {
    let claims = claims(bench);
    let claim = best(&claims, bench, Some(estimate), finding)?.0;
    excess_over(claim, bench, estimate)
}

fn claims(bench: &Bench) -> Vec<Claim<'_>> {
    Claim::all(&bench.marking, Catalogue::built_in())
}

fn excess_over(claim: &Claim, bench: &Bench, estimate: &Estimate) -> Option<Excess> {
    let length = events::believed_length(bench, estimate).ok()??;
    let seen_whole = !estimate.events().iter().any(events::is_early);
    let (low, high) = estimate.covered_hz();
    let printed_hz = bench.marking.loss.map(|l| l.at_hz);
    let at_hz = printed_hz.unwrap_or_else(|| stated_hz(low, high));
    let claimed = claim.loss_db_m(at_hz).filter(|_| seen_whole)?;
    Some(Excess {
        marked_db: claimed.figure.scaled(length.value),
        found: estimate.loss_db(at_hz),
        as_it_lies: as_it_lies(bench, estimate, at_hz),
        at_hz,
        sheet: sheet_of(claim, claimed.by_sheet),
    })
}

/// Insertion loss between the impedances that the cable is claimed for, or between its own where none is claimed:
/// a claimed attenuation is that of a matched line. Beyond the sweeps, where no fault is carried on, the loss of the
/// cable itself.
fn as_it_lies(bench: &Bench, estimate: &Estimate, at_hz: f64) -> Uncertain {
    let (low, high) = estimate.covered_hz();
    let own_ohm = || estimate.impedance_ohm(at_hz).value;
    let ohm = claimed_ohm(bench).unwrap_or_else(own_ohm);
    let seen = (low..=high).contains(&at_hz);
    seen.then(|| insertion_loss_db(estimate, at_hz, ohm))
        .flatten()
        .unwrap_or_else(|| estimate.loss_db(at_hz))
}

fn sheet_of(claim: &Claim, by_sheet: bool) -> Option<String> {
    let sheet = claim.sheet.filter(|_| by_sheet);
    sheet.map(|t| t.designation.clone())
}

/// Impedance that the marking claims, ohm: printed, or of the sheet that its name stands for; nothing if it
/// claims none, or several that differ by more than cables of one kind do.
pub fn claimed_ohm(bench: &Bench) -> Option<f64> {
    let claims = claims(bench);
    let claimed: Option<Vec<f64>> = claims
        .iter()
        .map(|c| c.impedance_ohm().map(|z| z.figure.value))
        .collect();
    let claimed = claimed?;
    let first = *claimed.first()?;
    let alike = |z: &f64| (z / first - 1.0).abs() < SAME_KIND;
    claimed.iter().all(alike).then(|| nominal_ohm(first))
}

/// The impedance that such cable is sold as, ohm: a sheet's 53.5 is of a 50-ohm cable.
fn nominal_ohm(z_ohm: f64) -> f64 {
    SYSTEMS_OHM
        .into_iter()
        .find(|s| (z_ohm / s - 1.0).abs() < SAME_KIND)
        .unwrap_or(z_ohm)
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
    let claims = claims(bench);
    let (claim, mut comparison) = best(&claims, bench, estimate, finding)?;
    if let Some(sheet) = claim.sheet {
        let others = claims.len() - 1;
        let of_several = if others > 0 {
            format!(
                ", which fits best of the {} types of that name",
                claims.len()
            )
        } else {
            String::new()
        };
        let text = format!(
            "compared with the sheet of {}{of_several}",
            sheet.designation
        );
        comparison.remarks.insert(0, text);
    }
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

/// The reading of the marking that differs in the fewest quantities and, of those, by the least loss.
fn best<'a, 'm>(
    claims: &'a [Claim<'m>],
    bench: &Bench,
    estimate: Option<&Estimate>,
    finding: &Finding,
) -> Option<(&'a Claim<'m>, Comparison)> {
    let compared = claims
        .iter()
        .map(|claim| (claim, Comparison::of(claim, bench, estimate, finding)));
    compared.min_by(|(_, a), (_, b)| {
        let count = |c: &Comparison| c.differences.len();
        count(a)
            .cmp(&count(b))
            .then(a.loss_off.total_cmp(&b.loss_off))
    })
}

#[derive(Default)]
struct Comparison {
    compared: usize,
    differences: Vec<Difference>,
    remarks: Vec<String>,
    /// |ln| of found over claimed loss; zero if it was not compared.
    loss_off: f64,
}

impl Comparison {
    fn of(claim: &Claim, bench: &Bench, estimate: Option<&Estimate>, finding: &Finding) -> Self {
        let mut comparison = Self::default();
        comparison.impedance(claim, finding);
        comparison.velocity_factor(claim, finding);
        comparison.loss(claim, bench, estimate);
        if claim.sheet.is_none()
            && let Some(name) = &bench.marking.designation
        {
            comparison.remarks.push(format!(
                "the catalogue has no type `{name}`: its figures were not compared, give what its sheet says"
            ));
        }
        comparison
    }

    fn differs_in(&self, quantity: Quantity) -> bool {
        self.differences.iter().any(|d| d.quantity == quantity)
    }

    fn impedance(&mut self, claim: &Claim, finding: &Finding) {
        let Some(marked) = claim.impedance_ohm() else {
            return;
        };
        let Some(found) = finding.impedance else {
            return self.not_compared(Quantity::Impedance);
        };
        self.compared += 1;
        let Claimed { figure, .. } = marked;
        let limit = (IMPEDANCE_LIMIT * figure.value).max(found.u95_ohm.hypot(figure.u95()));
        if (found.ohm - figure.value).abs() > limit {
            let sheet = sheet_of(claim, marked.by_sheet);
            self.differ(
                Quantity::Impedance,
                figure.value,
                found.uncertain(),
                "ohm",
                sheet,
            );
        } else if found.u95_ohm > IMPEDANCE_LIMIT * figure.value {
            self.remarks
                .push("impedance agrees only because its interval is wide".to_owned());
        }
    }

    fn velocity_factor(&mut self, claim: &Claim, finding: &Finding) {
        let Some(marked) = claim.velocity_factor() else {
            return;
        };
        let Some(found) = finding.velocity_factor else {
            return self.not_compared(Quantity::VelocityFactor);
        };
        self.compared += 1;
        let claimed = marked.figure.value;
        let off = (found.ratio - claimed).abs();
        let unsure = found.u95.hypot(marked.figure.u95());
        if off > (VELOCITY_LIMIT * claimed).max(unsure) {
            let sheet = sheet_of(claim, marked.by_sheet);
            let found = from_u95(found.ratio, found.u95);
            self.differ(Quantity::VelocityFactor, claimed, found, "", sheet);
        } else if off > (VELOCITY_REMARK * claimed).max(unsure) {
            self.remarks.push(format!(
                "velocity factor {:.3} is {:+.1} % from the claimed {claimed}; catalogues are often that far off",
                found.ratio,
                100.0 * (found.ratio / claimed - 1.0)
            ));
        }
    }

    fn loss(&mut self, claim: &Claim, bench: &Bench, estimate: Option<&Estimate>) {
        let claims_any = bench.marking.loss.is_some() || claim.sheet.is_some();
        if !claims_any {
            return;
        }
        let Some(estimate) = estimate.filter(|_| bench.length_m.is_some()) else {
            return self.not_compared(Quantity::Loss);
        };
        if let Some(printed) = bench.marking.loss {
            let (low, high) = estimate.covered_hz();
            if !(low..=high).contains(&printed.at_hz) {
                self.remarks.push(format!(
                    "the loss is claimed at {}, which the sweeps do not reach: not compared",
                    format_frequency(printed.at_hz)
                ));
                return;
            }
        }
        let Some(over) = excess_over(claim, bench, estimate) else {
            return self.not_compared(Quantity::Loss);
        };
        self.compared += 1;
        let (marked, found) = (over.marked_db.value, over.found);
        self.loss_off = (found.value.max(f64::MIN_POSITIVE) / marked).ln().abs();
        let excess = found.value - marked;
        let unsure = found.u95().hypot(over.marked_db.u95());
        if excess > (LOSS_LIMIT * marked).max(LOSS_LIMIT_DB).max(unsure) {
            self.differ(Quantity::Loss, marked, found, "dB", over.sheet);
        } else if excess > (LOSS_REMARK * marked).max(unsure) {
            self.remarks.push(format!(
                "the loss at {} is {}, where the marking gives {marked:.2} dB for this piece",
                format_frequency(over.at_hz),
                format_uncertain(found, "dB")
            ));
        }
    }

    fn differ(
        &mut self,
        quantity: Quantity,
        marked: f64,
        found: Uncertain,
        unit: &'static str,
        sheet: Option<String>,
    ) {
        let claim = match unit {
            "dB" => format!("{marked:.2} dB"),
            "" => marked.to_string(),
            _ => format!("{marked} {unit}"),
        };
        let by = sheet.map_or_else(String::new, |t| format!(" by the sheet of {t}"));
        self.differences.push(Difference {
            quantity,
            marked,
            found: found.value,
            u95: found.u95(),
            unit: unit.to_owned(),
            text: format!(
                "{quantity} is {}, {:+.0} % from the claimed {claim}{by}",
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
