//! A bench to a finding: every method, the estimate from all sweeps, and what follows from them.

use crate::bench::Bench;
use crate::estimate::{Estimate, EstimateError, Limit, QuantityFrequencies, estimate_for};
use crate::method::insertion_loss::LineAsSwept;
use crate::method::{self, Report, Unserved, velocity};
use crate::parallel::join;
use crate::quantity::format_frequency;
use crate::uncertain::Uncertain;

use super::asked::Asked;
use super::disagreement::{self, Contradiction};
use super::stated::{MARKED_VELOCITY_U_REL, SETTLED_HZ, finite, stated_hz};
use super::{
    advice, as_it_lies, checks, condition, doubt, events, geometry, helps, in_system, loss,
    marking, mistakes, types, verdict,
};
use crate::finding::events::ExplanationFound;
use crate::finding::found::{Finding, SCHEMA};
use crate::finding::measured::{MethodFound, MethodLoss, SweepUsed};
use crate::finding::quantities::{
    DelayFound, ImpedanceFound, ImpedanceRow, LengthBasis, LengthFound, LimitedBy, OhmFound,
    RatioFound,
};
use crate::finding::remarks::{Warning, WarningCode};
use crate::finding::verdict::Condition;

/// Finds what the bench says. What does not wait for each other runs side by side, since a person
/// waits for the whole.
pub fn find(bench: &Bench, sweeps: Vec<SweepUsed>, asked: &Asked) -> Finding {
    let out_of_line = mistakes::out_of_line(bench);
    let bench = &bench.without_spikes();
    let (answers, estimated) = join(
        || method::all(bench),
        || estimate_for(bench, &asked.progress),
    );
    let mut finding = empty(sweeps);
    finding.methods = answers.iter().map(method_found).collect();
    finding.warnings = out_of_line;
    finding.temperature_c = asked.temperature_c;
    let estimate = match estimated {
        Ok(estimate) => Some(estimate),
        Err(error) => {
            let text = format!(
                "impedance, delay and loss are not stated: {error}{}",
                what_then(bench, &error)
            );
            finding
                .warnings
                .push(Warning::new(WarningCode::NoEstimate, text));
            None
        }
    };
    if let Some(estimate) = &estimate {
        finding.events = events::events(bench, estimate);
        finding.explanations = explanations(estimate);
    }
    let reports: Vec<Report> = answers.into_iter().flatten().collect();
    let contradictions = estimate.as_ref().map_or_else(Vec::new, |estimate| {
        disagreement::contradictions(bench, estimate, &reports)
    });
    let swept = LineAsSwept::of(bench);
    let estimate = estimate.filter(|estimate| {
        let not_of_the_line = || as_it_lies::contradiction(bench, estimate, swept.as_ref()?);
        let why = doubt::undetermined(bench, estimate, &finding.events, &contradictions)
            .or_else(not_of_the_line);
        let is_of_delay_alone =
            |w: &Warning| w.code == WarningCode::DelayAmbiguous && !estimate.is_unfollowed();
        if why.as_ref().is_some_and(|w| !is_of_delay_alone(w)) {
            // places come from the same fit, which may not be believed
            finding.events.clear();
            finding.explanations.clear();
        }
        finding.warnings.extend(why.clone());
        why.is_none()
    });
    let estimate = estimate.as_ref();
    let contradictions = if estimate.is_some() {
        contradictions
    } else {
        Vec::new()
    };
    let ((), helps) = join(
        || {
            judge(
                bench,
                estimate,
                swept.as_ref(),
                &contradictions,
                asked,
                &mut finding,
            );
        },
        || estimate.map_or_else(Vec::new, |e| helps::helps(e, wanted(e))),
    );
    finding.helps = helps;
    finding.advice = advice::advice(bench, &finding);
    finding.cautions = advice::cautions(bench, &finding);
    finding
}

/// What sweeps that no cable explains may be, and what to do.
fn what_then(bench: &Bench, error: &EstimateError) -> &'static str {
    let several = bench.sweeps.len() + bench.throughs.len() > 1;
    match error {
        EstimateError::Unexplained { .. } if several => {
            "; sweeps of two cables, of one that was changed between them, or a far end other than stated: sweep every \
             far end again, one after the other"
        }
        _ => "",
    }
}

/// Numbers, warnings, condition, verdict and type.
fn judge(
    bench: &Bench,
    estimate: Option<&Estimate>,
    swept: Option<&LineAsSwept>,
    contradictions: &[Contradiction],
    asked: &Asked,
    finding: &mut Finding,
) {
    if let Some(estimate) = estimate {
        quantities(bench, estimate, swept, asked, finding);
        finding.system = in_system::found(estimate, finding, asked.purpose);
    } else if let Some(swept) = swept.filter(|_| is_of_one_line(finding)) {
        as_it_lies::state_as_swept(bench, swept, asked.purpose, finding);
    }
    let found = checks::warnings(bench, estimate, contradictions, finding);
    finding.warnings.extend(found);
    finding.marking = marking::compare(bench, estimate, finding);
    (finding.condition, finding.condition_reasons) = condition::judge(bench, estimate, finding);
    let verdict = verdict::verdict(bench, estimate, finding, &asked.criteria, asked.purpose);
    finding.verdict = Some(verdict);
    types::find(finding, &asked.look, asked.own_types.as_ref());
    finding.geometry = geometry::compare(finding, &asked.look);
}

/// Whether sweeps that no fit explains may yet be those of one line in one state.
fn is_of_one_line(finding: &Finding) -> bool {
    let of_one = [
        WarningCode::NotOneCable,
        WarningCode::NotConverged,
        WarningCode::NoEstimate,
    ];
    finding.warnings.iter().any(|w| of_one.contains(&w.code))
}

/// Frequencies that impedance, delay and loss are stated at.
fn wanted(estimate: &Estimate) -> QuantityFrequencies {
    let (low, high) = estimate.covered_hz();
    let at_hz = stated_hz(low, high);
    QuantityFrequencies {
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
        program_version: env!("CARGO_PKG_VERSION").to_owned(),
        sweeps,
        condition: Condition::Undetermined,
        ..Finding::default()
    }
}

fn quantities(
    bench: &Bench,
    estimate: &Estimate,
    swept: Option<&LineAsSwept>,
    asked: &Asked,
    finding: &mut Finding,
) {
    let (low, high) = estimate.covered_hz();
    let at_hz = stated_hz(low, high);
    finding.impedance = finite(estimate.impedance_ohm(at_hz)).map(|z| ImpedanceFound {
        ohm: z.value,
        u95_ohm: z.u95(),
        at_hz,
        limited_by: limited_by(estimate.impedance_limited_by(at_hz)),
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
        .and_then(|_| trusted_length(bench, estimate, finding));
    finding.velocity_factor = length
        .zip(cable_delay)
        .map(|(length, delay)| velocity::velocity_factor(length, delay).into());
    finding.loss = loss::rows(estimate, length, asked);
    as_it_lies::state(bench, estimate, swept, asked.purpose, finding);
    events::state_by_itself(estimate, finding);
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
            WarningCode::FrequencyNotCovered,
            format!(
                "values at {} are extrapolated: the sweeps cover {} to {}",
                format_frequency(f),
                format_frequency(low),
                format_frequency(high)
            ),
        ));
    }
}

/// The length by tape, unless it can't be the cable's; then a warning says so.
fn trusted_length(bench: &Bench, estimate: &Estimate, finding: &mut Finding) -> Option<Uncertain> {
    match events::believed_length(bench, estimate) {
        Ok(length) => length,
        Err(doubt) => {
            let code = match doubt.slip {
                Some(_) => WarningCode::TapeSlip,
                None => WarningCode::VelocityImpossible,
            };
            finding.warnings.push(Warning::new(code, doubt.text));
            None
        }
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

fn limited_by(limit: Limit) -> LimitedBy {
    match limit {
        Limit::Load => LimitedBy::Load,
        Limit::Calibration => LimitedBy::Calibration,
        Limit::Connectors => LimitedBy::Plugs,
        Limit::Uniformity => LimitedBy::Unevenness,
        Limit::Noise => LimitedBy::Noise,
        Limit::Prior => LimitedBy::Prior,
    }
}
