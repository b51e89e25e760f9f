//! Which explanation the sweeps bear out: a cable that is whole, or a fault along it.
//!
//! Every explanation is the same model with something added, fitted to the same readings. What
//! decides is the evidence (Laplace's approximation): how well an explanation fits less what its
//! freedom costs it. A cable that nothing speaks against is not searched ([`super::fault_search`] searches).

use super::super::model::{AT, Kind, PARAMETERS, Readings, with_kinds};
use super::super::prior::{FarLoad, Known};
use super::candidate::{
    CandidateFit, FEW_ROUNDS, GOOD_WANDER, LEAST_GAIN, MOST_STEPS, MOST_WANDER, STEPS,
    UNEXPLAINED_RMS, finer, fit_whole, fit_whole_from_afar, is_hopeless, is_lost, is_suspicious,
    most_wander,
};
use super::cause::{Cause, Explanation};
use super::evidence::{RIVAL, SURE, choose, explanations, is_whole};
use super::growing_band::BandStart;
use super::problem::{Fit, Problem};
use super::progress::Progress;
use super::subset::{AllReadings, DataSubset};
use super::{antenna, fault_search, growing_band};
use crate::parallel::prelude::*;

/// The explanation that was chosen.
#[derive(Clone, Debug)]
pub(crate) struct Chosen {
    pub(crate) fit: Fit,
    /// The unknowns as they were before the last steps at fixed hyperparameters: what still moves there is
    /// not at rest.
    pub(crate) before: Vec<f64>,
    /// Readings with the far ends of the explanation.
    pub(crate) readings: Vec<Readings>,
    pub(crate) causes: Vec<Cause>,
    pub(crate) known: Known,
    /// Every explanation that was tried, the best first; only one if nothing spoke against it.
    pub(crate) explanations: Vec<Explanation>,
    /// One-way delays of other folds of the step that the sweeps do not speak against, s.
    pub(crate) other_delays_s: Vec<f64>,
}

/// What differs from band to band, from which the conductors may have a law of their own: above what a small analyser
/// drifts in an hour (complex rms; common practice).
const BENT: f64 = 2e-3;
/// Fall of cost from which a far load that is another part is worth a fit.
const LEAST_FALL: f64 = 2.0;
/// By how much the logarithm of its evidence must be higher: one load in ten is not the part that it was declared to be.
const ANOTHER_LOAD: f64 = 2.3;
/// Rounds of expectation-maximisation on all points.
const ALL_POINTS_ROUNDS: usize = 2;
/// Steps of the last fit: a long cable that wants more nodes than there are goes down slowly.
const LAST_STEPS: usize = 90;
/// What the growing band leaves, over its noise, from which the way to the minimum is long.
const LOST_MISFIT: f64 = 1.5;

/// Fits every explanation that is worth a try and keeps the best; `None` if nothing converges, or the
/// search is cancelled.
pub(crate) fn best(
    readings: &[Readings],
    checks: &[Readings],
    known: Known,
    progress: &Progress,
) -> Option<Chosen> {
    let all_readings = &AllReadings {
        of_cable: readings,
        checks,
        cancel: progress.cancel_flag(),
    };
    let mut whole = fit_whole_cable(all_readings, known);
    let other = whole
        .fit
        .as_ref()
        .and_then(|fit| another_load(&whole.subset, fit));
    let with_another_load = |other: &CandidateFit| {
        let known = known.with_far_load(other.known.far_load);
        best(
            &with_load(readings, known.far_load),
            checks,
            known,
            progress,
        )
    };
    if let Some(other) = other.as_ref().filter(|other| !is_suspicious(other)) {
        return with_another_load(other);
    }
    let mut all: Vec<CandidateFit> = whole.fit.take().into_iter().collect();
    // a conductor that is not copper bends the loss as no fault does: tried first, it is one
    // unknown
    let odd = all
        .first()
        .filter(|s| (is_suspicious(s) || is_bent(s)) && !is_hopeless(s));
    if let Some(other) = odd.and_then(|odd| of_other_law(&whole.subset, odd)) {
        whole.known = other.known;
        all = vec![other];
    }
    let mut comes_near = true;
    if all.first().is_none_or(is_suspicious) {
        progress.now_searches_faults();
        let fine = DataSubset::fine(all_readings, whole.known);
        let WholeCable {
            subset,
            known,
            ln_z,
            ..
        } = &whole;
        comes_near = fault_search::search(subset, &fine, *known, ln_z, &mut all);
        // another load is commoner than a fault
        let is_likeliest =
            |other: &&CandidateFit| all.iter().all(|s| s.ln_evidence < other.ln_evidence);
        if let Some(other) = other.as_ref().filter(is_likeliest) {
            return with_another_load(other);
        }
    }
    let is_to_refine = match whole.reach {
        Reach::Coarse => comes_near,
        Reach::Part => !is_whole(&all),
        Reach::Whole => false,
    };
    if is_to_refine {
        all = refined(all_readings, whole.known, &all)?;
    }
    // the list is made before the last fit, which is of the chosen one alone
    let best = choose(&all)?;
    let explanations = explanations(&all, best);
    let mut chosen = all.swap_remove(best);
    if !chosen.layout.faults().is_empty() {
        let fine = DataSubset::fine(all_readings, chosen.known);
        chosen = polished(&fine.with_kinds(&chosen.kinds), chosen)?;
    }
    let chosen = finish(chosen, &all_readings.all(), explanations)?;
    Some(Chosen {
        other_delays_s: whole.other_delays_s,
        ..chosen
    })
}

/// The cable without faults, and what of the sweeps it was fitted to.
struct WholeCable<'a> {
    /// Nothing if no start leads anywhere.
    fit: Option<CandidateFit>,
    known: Known,
    subset: DataSubset<'a>,
    reach: Reach,
    /// Impedance along the cable as it came out on the frequencies that the nodes resolve.
    ln_z: Vec<f64>,
    /// Delays of other folds of the step that the sweeps do not speak against, s.
    other_delays_s: Vec<f64>,
}

fn fit_whole_cable<'a>(all: &AllReadings<'a>, known: Known) -> WholeCable<'a> {
    let mut whole = WholeCable {
        fit: None,
        known,
        subset: DataSubset::coarse(all),
        reach: Reach::Coarse,
        ln_z: Vec::new(),
        other_delays_s: Vec::new(),
    };
    let has_antenna = all.of_cable.iter().any(|r| r.kind == Kind::Antenna);
    let start = if has_antenna {
        let Some(found) = antenna::rough(all.of_cable, &known, all.cancel) else {
            return whole;
        };
        whole.known.antenna = found.antenna;
        found.line
    } else {
        let starts = growing_band::best(all.of_cable, known, all.cancel);
        let Some((start, other_delays_s)) = starts.and_then(|s| likeliest(all, known, s)) else {
            return whole;
        };
        whole.other_delays_s = other_delays_s;
        growing_band::by_tape(start, all.of_cable, known)
    };
    whole.known.delay_s = start.delay_s;
    let known = whole.known;
    let resolved = DataSubset::resolved(all, known);
    let steps = if start.misfit < LOST_MISFIT {
        MOST_STEPS
    } else {
        STEPS
    };
    whole.fit = if has_antenna {
        // what a rough antenna leaves is large
        fit_whole_from_afar(&resolved, known, &start.singles)
    } else {
        fit_whole(&resolved, known, &start.singles, MOST_WANDER, steps)
    };
    if let Some(fit) = &whole.fit {
        whole.ln_z = fit.theta[fit.layout.node_range()].to_vec();
    }
    if whole.fit.as_ref().is_some_and(|w| !is_lost(w)) {
        whole.reach = if resolved.reaches(&whole.subset) {
            Reach::Whole
        } else {
            Reach::Part
        };
        whole.subset = resolved;
    } else {
        whole.fit = fit_whole(&whole.subset, known, &start.singles, MOST_WANDER, STEPS);
    }
    whole
}

/// The likeliest of the folds by the evidence of whole cables, and the delays of those that it is not sure against.
fn likeliest(
    all: &AllReadings,
    known: Known,
    starts: Vec<BandStart>,
) -> Option<(BandStart, Vec<f64>)> {
    if starts.len() < 2 {
        return Some((starts.into_iter().next()?, Vec::new()));
    }
    let subset = DataSubset::coarse(all);
    let ln_evidence = |start: &BandStart| {
        let known = Known {
            delay_s: start.delay_s,
            ..known
        };
        fit_whole(&subset, known, &start.singles, MOST_WANDER, STEPS)
            .map_or(f64::NEG_INFINITY, |fit| fit.ln_evidence)
    };
    let mut fits: Vec<(BandStart, f64)> = starts
        .into_par_iter()
        .map(|start| {
            let evidence = ln_evidence(&start);
            (start, evidence)
        })
        .collect();
    fits.sort_by(|a, b| b.1.total_cmp(&a.1));
    let mut fits = fits.into_iter();
    let (best, highest) = fits.next()?;
    let rivals = fits.filter(|(_, evidence)| *evidence > highest - SURE);
    Some((best, rivals.map(|(start, _)| start.delay_s).collect()))
}

/// What of the sweeps explanations were compared on.
#[derive(Clone, Copy, Debug)]
enum Reach {
    /// All frequencies, on fewer nodes than the cable wants.
    Coarse,
    /// The frequencies to which the most nodes are enough.
    Part,
    /// All frequencies, on as many nodes as there may be.
    Whole,
}

/// Whether so much differs from band to band that it may be the loss's own law.
fn is_bent(fit: &CandidateFit) -> bool {
    fit.hyperparameters.bands > BENT
}

/// The whole cable with conductors of any law, if the sweeps speak for it as for a fault and nothing
/// is left to explain: a wrong far end would bend any law. The fall of cost is looked at first: twice what
/// the evidence could rise by.
fn of_other_law(subset: &DataSubset, whole: &CandidateFit) -> Option<CandidateFit> {
    let known = Known {
        any_conductor: true,
        ..whole.known
    };
    // a few steps at fixed sizes cost a tenth of a fit, and rule out nearly every copper cable; bands that were learnt
    // without it have swallowed what would fall
    if !is_bent(whole) && whole.fall(subset, known) < LEAST_GAIN {
        return None;
    }
    // the law starts anew: one that copper cannot follow has bent all of it out of shape
    let law = AT.line;
    let of_law = [
        law.ln_tan_delta,
        law.tan_delta_exponent,
        law.ln_radius,
        law.ln_reactance,
        law.exponent,
        law.ln_shield_share,
        law.ln_shield,
    ];
    let mut begin = whole.start_with(&whole.layout, &[]);
    begin.retain(|(unknown, _)| !of_law.contains(unknown));
    let other = fit_whole_from_afar(subset, known, &begin)?;
    let explains = other.ln_evidence > whole.ln_evidence + SURE && !is_suspicious(&other);
    explains.then_some(other)
}

/// The whole cable with a far load that is another part than the calibration's, if the sweeps speak for it. It is common
/// and no fault, so less evidence will do.
fn another_load(subset: &DataSubset, whole: &CandidateFit) -> Option<CandidateFit> {
    let is_load = |r: &Readings| r.kind == Kind::Load;
    let shows_it = subset.of_cable.iter().any(is_load) && !subset.of_cable.iter().all(is_load);
    if whole.known.far_load != FarLoad::Kit || !shows_it {
        return None;
    }
    // sizes that were learnt without it have swallowed most of what would fall
    let fall = || whole.fall(subset, whole.known.with_far_load(FarLoad::Other));
    if !is_suspicious(whole) && fall() < LEAST_FALL {
        return None;
    }
    let begin: Vec<(usize, f64)> = (0..PARAMETERS).map(|i| (i, whole.theta[i])).collect();
    let fits = [FarLoad::Alike, FarLoad::Other]
        .into_iter()
        .filter_map(|far_load| {
            let subset = subset.with_kinds(&kinds_with_load(&subset.readings, far_load));
            let known = whole.known.with_far_load(far_load);
            fit_whole(&subset, known, &begin, MOST_WANDER, STEPS)
        });
    fits.filter(|other| other.ln_evidence > whole.ln_evidence + ANOTHER_LOAD)
        .max_by(|a, b| a.ln_evidence.total_cmp(&b.ln_evidence))
}

fn with_load(readings: &[Readings], far_load: FarLoad) -> Vec<Readings> {
    with_kinds(readings, &kinds_with_load(readings, far_load))
}

fn kinds_with_load(readings: &[Readings], far_load: FarLoad) -> Vec<Kind> {
    let kind = |kind| match (kind, far_load) {
        (Kind::Load, FarLoad::Other) => Kind::OtherLoad,
        _ => kind,
    };
    readings.iter().map(|r| kind(r.kind)).collect()
}

/// The best explanations on all nodes that the cable wants; the rest as they were.
fn refined(
    all_readings: &AllReadings,
    known: Known,
    all: &[CandidateFit],
) -> Option<Vec<CandidateFit>> {
    let best = &all[choose(all)?];
    let fine = DataSubset::fine(all_readings, known);
    let mut order: Vec<&CandidateFit> = all.iter().collect();
    order.sort_by(|a, b| b.ln_evidence.total_cmp(&a.ln_evidence));
    let is_rival =
        |s: &CandidateFit| s.causes == best.causes || s.ln_evidence > best.ln_evidence - RIVAL;
    let mut rivals: Vec<&CandidateFit> = Vec::new();
    for s in order {
        if is_rival(s) && rivals.iter().all(|r| r.causes != s.causes) {
            rivals.push(s);
        }
    }
    let finer = |s: &&CandidateFit| finer(&fine, s);
    let mut refined: Vec<CandidateFit> = rivals.par_iter().filter_map(finer).collect();
    // the others stand against the best as it was when they were compared
    let of_best = refined.iter().find(|r| r.causes == best.causes)?;
    let offset = of_best.ln_evidence - best.ln_evidence;
    for s in all {
        if refined.iter().all(|r| r.causes != s.causes) {
            refined.push(CandidateFit {
                ln_evidence: s.ln_evidence + offset,
                ..s.clone()
            });
        }
    }
    Some(refined)
}

/// The same explanation come to rest.
fn polished(subset: &DataSubset, chosen: CandidateFit) -> Option<CandidateFit> {
    let layout = subset.layout(chosen.known, chosen.layout.faults());
    let begin = if layout.nodes == chosen.layout.nodes {
        chosen.theta.iter().copied().enumerate().collect()
    } else {
        chosen.start_with(&layout, &chosen.faults())
    };
    let hyperparameters = chosen.hyperparameters.clone();
    let known = chosen.known;
    let mut problem = Problem::new(
        &subset.readings,
        layout.clone(),
        hyperparameters,
        known,
        &begin,
    );
    problem.most_wander = GOOD_WANDER;
    problem.minimise(MOST_STEPS);
    problem.learn_hyperparameters(FEW_ROUNDS)?;
    Some(CandidateFit {
        theta: problem.theta().to_vec(),
        hyperparameters: problem.hyperparameters,
        layout,
        ..chosen
    })
}

/// The cable without faults.
pub(crate) fn whole(all: &AllReadings, known: Known) -> Option<CandidateFit> {
    fit_whole_cable(all, known).fit
}

/// From part of the points to all.
pub(crate) fn finish(
    candidate: CandidateFit,
    readings: &[Readings],
    explanations: Vec<Explanation>,
) -> Option<Chosen> {
    let readings = with_kinds(readings, &candidate.kinds);
    let begin: Vec<(usize, f64)> = candidate.theta.iter().copied().enumerate().collect();
    let CandidateFit {
        causes,
        layout,
        hyperparameters,
        known,
        ..
    } = candidate;
    let mut problem = Problem::new(&readings, layout, hyperparameters, known, &begin);
    problem.most_wander = most_wander(&causes);
    // all points may show more than the part that noise was learnt on
    problem.raise_noise();
    problem.minimise(MOST_STEPS);
    problem.learn_hyperparameters(ALL_POINTS_ROUNDS)?;
    let before = problem.theta().to_vec();
    let is_hopeless = problem.hyperparameters.largest_noise() > UNEXPLAINED_RMS;
    // a long valley takes steps, but no valley leads out of noise
    if !problem.converged() && !is_hopeless {
        problem.minimise(LAST_STEPS);
    }
    let fit = problem.finish()?;
    Some(Chosen {
        fit,
        before,
        readings,
        causes,
        known,
        explanations,
        other_delays_s: Vec::new(),
    })
}
