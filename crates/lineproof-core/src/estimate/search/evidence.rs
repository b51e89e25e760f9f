//! Which candidate the evidence chooses.

use super::candidate::CandidateFit;
use super::cause::{Cause, Explanation};

/// By how much the logarithm of the evidence must rise for a fault to be believed: faults are one in
/// twenty, and twenty to one is to be sure.
pub(crate) const SURE: f64 = 6.0;
/// Explanations whose evidence is this far below the best are not looked at more finely.
pub(crate) const RIVAL: f64 = 30.0;

/// The whole cable unless another explanation is sure. What a slight fault explains far better is no
/// large one.
pub(crate) fn choose(all: &[CandidateFit]) -> Option<usize> {
    let whole = all.iter().position(|s| s.causes.is_empty());
    let likelier = |a: &usize, b: &usize| all[*a].ln_evidence.total_cmp(&all[*b].ln_evidence);
    // the whole cable is no fault, so it is never too slight; what stands at an end is the plug's
    let (reported, slight): (Vec<usize>, Vec<usize>) = (0..all.len())
        .filter(|&i| all[i].is_nameable())
        .partition(|&i| Some(i) == whole || all[i].is_worth_reporting());
    let best = reported.iter().copied().max_by(likelier)?;
    let best = dry(all, &reported, best).unwrap_or(best);
    let is_below = |other: usize, by: f64| all[best].ln_evidence <= all[other].ln_evidence + by;
    // a slight fault that explains far more than any large one: whatever is there is small
    let is_slight = slight.into_iter().any(|slight| is_below(slight, -RIVAL));
    match whole {
        Some(whole) if is_slight || is_below(whole, SURE) => Some(whole),
        _ => Some(best),
    }
}

/// The connector, or the dent, in place of a wet stretch that is not surely one: connectors are commoner than water,
/// and only loss or a length that shows speaks for water.
fn dry(all: &[CandidateFit], reported: &[usize], best: usize) -> Option<usize> {
    let is_wet = |causes: &[Cause]| causes.contains(&Cause::Wet);
    if !is_wet(&all[best].causes) {
        return None;
    }
    let as_many = |s: &CandidateFit| s.causes.len() == all[best].causes.len();
    let close = |s: &CandidateFit| s.ln_evidence > all[best].ln_evidence - SURE;
    // what is too short to look like a stretch may be a dent as well
    let is_unresolved = all[best].is_wet_unresolved();
    let is_dry = |s: &CandidateFit| {
        let dry = |c: &Cause| matches!(c, Cause::Dent | Cause::Connector);
        let joined = s.causes.contains(&Cause::Connector);
        (joined || is_unresolved) && s.causes.iter().all(dry)
    };
    reported
        .iter()
        .copied()
        .filter(|&i| as_many(&all[i]) && close(&all[i]) && is_dry(&all[i]))
        .max_by(|&a, &b| all[a].ln_evidence.total_cmp(&all[b].ln_evidence))
}

/// The candidate of the highest evidence.
pub(crate) fn most_evident(all: &[CandidateFit]) -> Option<&CandidateFit> {
    all.iter()
        .max_by(|a, b| a.ln_evidence.total_cmp(&b.ln_evidence))
}

/// Whether nothing but a whole cable is sure.
pub(crate) fn is_whole(all: &[CandidateFit]) -> bool {
    let whole = all.iter().find(|s| s.causes.is_empty());
    whole.is_some_and(|w| all.iter().all(|s| s.ln_evidence <= w.ln_evidence + SURE))
}

/// The best of each kind, against the chosen one.
pub(crate) fn explanations(all: &[CandidateFit], chosen: usize) -> Vec<Explanation> {
    let mut best: Vec<Explanation> = Vec::new();
    let is_one =
        |s: &&CandidateFit| s.causes.is_empty() || s.is_worth_reporting() && s.is_nameable();
    for s in all.iter().filter(is_one) {
        let this = Explanation {
            cause: s.causes.first().copied(),
            ln_evidence: s.ln_evidence - all[chosen].ln_evidence,
        };
        match best.iter_mut().find(|t| t.cause == this.cause) {
            Some(t) => t.ln_evidence = t.ln_evidence.max(this.ln_evidence),
            None => best.push(this),
        }
    }
    best.sort_by(|a, b| b.ln_evidence.total_cmp(&a.ln_evidence));
    best
}
