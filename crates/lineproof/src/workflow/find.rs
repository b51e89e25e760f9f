//! A bench to a finding: every method, the estimate from all sweeps, and what follows from them.

use std::sync::Arc;

use lineproof_core::bench::Bench;
use lineproof_core::estimate::{Errand, Estimate, Limit, Wanted, estimate_for};
use lineproof_core::identify::Observed;
use lineproof_core::method::{self, Report, Unserved, velocity};
use lineproof_core::quantity::{format_frequency, format_length};
use lineproof_core::uncertain::Uncertain;

use super::criteria::Criteria;
use super::types::OwnTypes;
use super::verdict::Purpose;
use super::{
    advice, checks, condition, doubt, events, geometry, helps, in_system, loss, marking, types,
    verdict,
};
use crate::finding::{
    Condition, DelayFound, ExplanationFound, Finding, ImpedanceFound, ImpedanceRow, LengthBasis,
    LengthFound, MethodFound, MethodLoss, OhmFound, RatioFound, SCHEMA, SweepUsed, Warning,
};

/// Frequency that impedance and loss are stated at where the sweeps cover it, Hz.
pub const USUAL_HZ: f64 = 100e6;
/// Frequency that delay and velocity factor are stated at, Hz: skin effect has let go of them there.
pub const SETTLED_HZ: f64 = 300e6;
/// Standard uncertainty, relative, of a velocity factor that a marking claims: catalogues and
/// pieces differ by up to 5 % (practice of the trade).
pub const MARKED_VELOCITY_U_REL: f64 = 0.025;

/// What is asked besides the usual, and what was noted while sweeping.
#[derive(Clone, Debug, Default)]
pub struct Asked {
    /// Frequencies besides the usual ones, Hz.
    pub frequencies_hz: Vec<f64>,
    /// Temperature of the cable, °C.
    pub temperature_c: Option<f64>,
    /// What the cable must keep to.
    pub criteria: Criteria,
    /// What it is for.
    pub purpose: Purpose,
    /// A person's own types.
    pub own_types: Option<OwnTypes>,
    /// Whether the sweeps are wanted against time too.
    pub views: bool,
    /// What caliper, meter and eye say of it.
    pub look: Observed,
    /// What passes between the estimate and the one who waits for it.
    pub errand: Arc<Errand>,
}

/// Finds what the bench says. What does not wait for each other runs side by side, since a person
/// waits for the whole.
pub fn find(bench: &Bench, sweeps: Vec<SweepUsed>, asked: &Asked) -> Finding {
    let (answers, estimated) =
        rayon::join(|| method::all(bench), || estimate_for(bench, &asked.errand));
    let mut finding = empty(sweeps);
    finding.methods = answers.iter().map(method_found).collect();
    finding.temperature_c = asked.temperature_c;
    let estimate = match estimated {
        Ok(estimate) => Some(estimate),
        Err(error) => {
            let text = format!("impedance, delay and loss are not stated: {error}");
            finding.warnings.push(Warning::new("no-estimate", text));
            None
        }
    };
    if let Some(estimate) = &estimate {
        finding.events = events::events(bench, estimate);
        finding.explanations = explanations(estimate);
    }
    let estimate = estimate.filter(|estimate| {
        let why = doubt::undetermined(bench, estimate, &finding.events);
        if why
            .as_ref()
            .is_some_and(|w| w.code != doubt::DELAY_AMBIGUOUS)
        {
            // places come from the same fit, which may not be believed
            finding.events.clear();
            finding.explanations.clear();
        }
        finding.warnings.extend(why.clone());
        why.is_none()
    });
    let estimate = estimate.as_ref();
    let reports: Vec<Report> = answers.into_iter().flatten().collect();
    let ((), helps) = rayon::join(
        || judge(bench, estimate, &reports, asked, &mut finding),
        || estimate.map_or_else(Vec::new, |e| helps::helps(e, wanted(e))),
    );
    finding.helps = helps;
    finding.advice = advice::advice(bench, &finding);
    finding.cautions = advice::cautions(bench, &finding);
    finding
}

/// Numbers, warnings, condition, verdict and type.
fn judge(
    bench: &Bench,
    estimate: Option<&Estimate>,
    reports: &[Report],
    asked: &Asked,
    finding: &mut Finding,
) {
    if let Some(estimate) = estimate {
        quantities(bench, estimate, asked, finding);
        finding.system = in_system::found(estimate, finding, asked.purpose);
    }
    let found = checks::warnings(bench, estimate, reports, finding);
    finding.warnings.extend(found);
    finding.marking = marking::compare(bench, estimate, finding);
    (finding.condition, finding.condition_reasons) = condition::judge(bench, estimate, finding);
    let verdict = verdict::verdict(bench, estimate, finding, &asked.criteria, asked.purpose);
    finding.verdict = Some(verdict);
    types::find(finding, &asked.look, asked.own_types.as_ref());
    finding.geometry = geometry::compare(finding, &asked.look);
}

/// Frequencies that impedance, delay and loss are stated at.
fn wanted(estimate: &Estimate) -> Wanted {
    let (low, high) = estimate.covered_hz();
    let at_hz = stated_hz(low, high);
    Wanted {
        impedance_hz: at_hz,
        delay_hz: SETTLED_HZ,
        loss_hz: at_hz,
    }
}

fn explanations(estimate: &Estimate) -> Vec<ExplanationFound> {
    let all = estimate.explanations();
    if all.len() < 2 {
        return Vec::new();
    }
    all.iter()
        .map(|e| ExplanationFound {
            kind: e.cause.map(|c| events::kind(Some(c))),
            ln_evidence: e.ln_evidence,
        })
        .collect()
}

/// What one method says, as it is reported.
pub fn method_found(answer: &Result<Report, Unserved>) -> MethodFound {
    match answer {
        Ok(report) => served(report),
        Err(unserved) => MethodFound {
            name: unserved.method.to_string(),
            reason: Some(unserved.reason.clone()),
            would_do: unserved.would_do.clone(),
            ..MethodFound::default()
        },
    }
}

fn empty(sweeps: Vec<SweepUsed>) -> Finding {
    Finding {
        schema: SCHEMA,
        program_version: env!("CARGO_PKG_VERSION"),
        sweeps,
        condition: Condition::Undetermined,
        condition_reasons: Vec::new(),
        events: Vec::new(),
        explanations: Vec::new(),
        impedance: None,
        impedances: Vec::new(),
        impedance_limit: None,
        delay: None,
        velocity_factor: None,
        length: None,
        loss: Vec::new(),
        loss_parts: None,
        law: Vec::new(),
        temperature_c: None,
        methods: Vec::new(),
        marking: None,
        profile: None,
        geometry: None,
        verdict: None,
        types: Vec::new(),
        warnings: Vec::new(),
        helps: Vec::new(),
        advice: Vec::new(),
        cautions: Vec::new(),
        calibration: Vec::new(),
        system: None,
    }
}

fn quantities(bench: &Bench, estimate: &Estimate, asked: &Asked, finding: &mut Finding) {
    let (low, high) = estimate.covered_hz();
    let at_hz = stated_hz(low, high);
    finding.impedance = finite(estimate.impedance_ohm(at_hz)).map(|z| ImpedanceFound {
        ohm: z.value,
        u95_ohm: z.u95(),
        at_hz,
        limited_by: limit_name(estimate.impedance_limited_by(at_hz)),
    });
    finding.impedances = impedance_rows(estimate, &asked.frequencies_hz);
    finding.impedance_limit = finite(estimate.impedance_limit_ohm()).map(OhmFound::from);
    let cable_delay = finite(estimate.cable_delay_s(SETTLED_HZ));
    finding.delay = finite(estimate.one_way_delay_s(SETTLED_HZ)).map(|d| DelayFound {
        one_way_s: d.value,
        u95_s: d.u95(),
        at_hz: SETTLED_HZ,
        between_plugs_s: cable_delay.map(|c| c.value),
        u95_between_plugs_s: cable_delay.map(Uncertain::u95),
    });
    let length = cable_delay
        .filter(|_| !finding.events.iter().any(events::is_seen_to_end_early))
        .and_then(|delay| trusted_length(bench, delay, finding));
    finding.velocity_factor = length
        .zip(cable_delay)
        .map(|(length, delay)| velocity::velocity_factor(length, delay).into());
    finding.loss = loss::rows(estimate, length, asked);
    finding.loss_parts = loss::parts(estimate, at_hz);
    finding.law = loss::law(estimate);
    let by_caliper = finding
        .impedance
        .and_then(|z| geometry::velocity_factor(&asked.look, z.uncertain()));
    finding.length = length_found(bench, length, by_caliper, cable_delay);
    finding.profile = events::profile(bench, estimate);
    finding.warnings.extend(doubt::steel_core(estimate));
    let outside = |f: &&f64| !(low..=high).contains(*f);
    for &f in asked.frequencies_hz.iter().filter(outside) {
        finding.warnings.push(Warning::new(
            "frequency-not-covered",
            format!(
                "at {} the law of the line carries impedance and loss on: the sweeps cover {} to {}",
                format_frequency(f),
                format_frequency(low),
                format_frequency(high)
            ),
        ));
    }
}

/// The length by tape, unless it makes the cable impossibly fast or slow; then a warning says so.
fn trusted_length(bench: &Bench, delay: Uncertain, finding: &mut Finding) -> Option<Uncertain> {
    let length = bench.length_m?;
    let vf = velocity::velocity_factor(length, delay);
    match velocity::why_impossible(vf.value, None) {
        None => Some(length),
        Some(why) => {
            finding.warnings.push(Warning::new(
                "velocity-impossible",
                format!(
                    "with a length of {} the {why}; the length is not used",
                    format_length(length.value)
                ),
            ));
            None
        }
    }
}

/// 100 MHz where it is covered, else the geometric middle of the sweep.
pub fn stated_hz(low: f64, high: f64) -> f64 {
    if (low..=high).contains(&USUAL_HZ) {
        USUAL_HZ
    } else {
        (low.max(high * 1e-3) * high).sqrt()
    }
}

fn impedance_rows(estimate: &Estimate, wanted_hz: &[f64]) -> Vec<ImpedanceRow> {
    let (low, high) = estimate.covered_hz();
    let row = |&at_hz: &f64| {
        finite(estimate.impedance_ohm(at_hz)).map(|z| ImpedanceRow {
            at_hz,
            ohm: z.value,
            u95_ohm: z.u95(),
            extrapolated: !(low..=high).contains(&at_hz),
        })
    };
    loss::told(estimate, wanted_hz)
        .iter()
        .filter_map(row)
        .collect()
}

/// By tape, else from the delay and the velocity factor that the marking claims.
fn length_found(
    bench: &Bench,
    tape: Option<Uncertain>,
    by_caliper: Option<Uncertain>,
    delay: Option<Uncertain>,
) -> Option<LengthFound> {
    let (length, basis) = if let Some(tape) = tape {
        (tape, LengthBasis::Tape)
    } else if let Some(vf) = by_caliper {
        (velocity::length_m(vf, delay?), LengthBasis::Caliper)
    } else {
        let marked = bench.marking.velocity_factor?;
        let vf = Uncertain::new(marked, marked * MARKED_VELOCITY_U_REL);
        let length = velocity::length_m(vf, delay?);
        (length, LengthBasis::MarkedVelocityFactor)
    };
    Some(LengthFound {
        m: length.value,
        u95_m: length.u95(),
        basis,
    })
}

fn served(report: &Report) -> MethodFound {
    MethodFound {
        name: report.method.to_string(),
        ohm: report.impedance_ohm.map(|z| z.value),
        u95_ohm: report.impedance_ohm.map(Uncertain::u95),
        at_hz: report.at_hz,
        one_way_s: report.one_way_delay_s.map(|d| d.value),
        u95_s: report.one_way_delay_s.map(Uncertain::u95),
        delay_at_hz: report.delay_at_hz,
        velocity_factor: report.velocity_factor.map(RatioFound::from),
        length_m: report.length_m.map(|l| l.value),
        u95_m: report.length_m.map(Uncertain::u95),
        loss: report.loss_db.iter().map(method_loss).collect(),
        working: (!report.working.is_empty()).then(|| report.working.join("; ")),
        steps: report.working.clone(),
        remarks: report.remarks.clone(),
        reason: None,
        would_do: None,
    }
}

fn method_loss(&(at_hz, loss): &(Option<f64>, Uncertain)) -> MethodLoss {
    MethodLoss {
        at_hz,
        db: loss.value,
        u95_db: loss.u95(),
    }
}

/// The value, if it is one.
pub fn finite(quantity: Uncertain) -> Option<Uncertain> {
    (quantity.value.is_finite() && quantity.u.is_finite()).then_some(quantity)
}

fn limit_name(limit: Limit) -> &'static str {
    match limit {
        Limit::Load => "load",
        Limit::Calibration => "calibration",
        Limit::Connectors => "plugs",
        Limit::Uniformity => "unevenness",
        Limit::Noise => "noise",
        Limit::Prior => "what cables are",
    }
}
