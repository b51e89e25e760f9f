//! Which explanation the sweeps bear out: a cable that is whole, or a fault along it.
//!
//! Every explanation is the same model with something added, fitted to the same readings. What
//! decides is the evidence (Laplace's approximation): how well an explanation fits less what its
//! freedom costs it. A cable that nothing speaks against is not searched ([`super::hunt`] searches).

use std::sync::atomic::Ordering;

use super::fit::{Fit, Problem};
use super::forward::Readings;
use super::settle::{
    GOOD_WANDER, LEAST_GAIN, MOST_WANDER, STEPS, Settled, Sight, Taken, ended, finer, is_hopeless,
    is_lost, is_suspicious, most_wander, settle_whole,
};
use super::unknowns::Known;
use super::{Errand, FEW_ROUNDS, LEVEL_ROUNDS, MOST_STEPS, UNEXPLAINED_RMS, climb, hunt};
use crate::parallel::prelude::*;

/// What is wrong with a cable.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Cause {
    /// Crushed or kinked over a few centimetres.
    Dent,
    /// Water in it.
    Wet,
    /// Another cable joined on.
    Splice,
    /// Resistance in a joint.
    Joint,
    /// It ends early, open.
    Open,
    /// It ends early, short.
    Short,
}

impl Cause {
    /// Velocity in a stretch over that of the cable, from its step of ln z: water slows as it lowers
    /// the impedance, the rest is taken to leave the velocity as it is.
    pub(super) fn velocity(self, step: f64) -> f64 {
        if self == Self::Wet { step.exp() } else { 1.0 }
    }
}

/// An explanation and how much the sweeps speak for it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Explanation {
    /// What is wrong; `None` if nothing is, but for unevenness.
    pub cause: Option<Cause>,
    /// Logarithm of the evidence, against that of the explanation that was chosen.
    pub ln_evidence: f64,
}

/// The explanation that was chosen.
pub(super) struct Chosen {
    pub(super) fit: Fit,
    /// The unknowns as they were before the last steps at fixed levels: what still moves there is
    /// not at rest.
    pub(super) before: Vec<f64>,
    /// Readings with the far ends of the explanation.
    pub(super) readings: Vec<Readings>,
    pub(super) causes: Vec<Cause>,
    /// Every explanation that was tried, the best first; only one if nothing spoke against it.
    pub(super) explanations: Vec<Explanation>,
}

/// By how much the logarithm of the evidence must rise for a fault to be believed: faults are one in
/// twenty, and twenty to one is to be sure.
pub(super) const SURE: f64 = 6.0;
/// Explanations whose evidence is this far below the best are not looked at more finely.
const RIVAL: f64 = 30.0;
/// Steps of the last fit: a long cable that wants more nodes than there are goes down slowly.
const LAST_STEPS: usize = 90;
/// What a climb leaves, over its noise, from which the way to the minimum is long.
const LOST_MISFIT: f64 = 1.5;

/// Fits every explanation that is worth a try and keeps the best; whatever there is, or nothing, once
/// the errand is given up.
pub(super) fn best(
    readings: &[Readings],
    checks: &[Readings],
    known: Known,
    errand: &Errand,
) -> Option<Chosen> {
    let stop = &*errand.stop;
    let taken = &Taken {
        of_cable: readings,
        checks,
        stop,
    };
    let mut all = Vec::new();
    let mut sight = Sight::coarse(taken);
    let mut reach = Reach::Coarse;
    let mut comes_near = true;
    let mut known = known;
    let mut ln_z = Vec::new();
    if let Some(climbed) = climb::best(readings, known, stop) {
        known.delay_s = climbed.delay_s;
        let resolved = Sight::resolved(taken, known);
        let steps = if climbed.misfit < LOST_MISFIT {
            MOST_STEPS
        } else {
            STEPS
        };
        let mut whole = settle_whole(&resolved, known, &climbed.singles, MOST_WANDER, steps);
        if let Some(whole) = &whole {
            ln_z = whole.theta[whole.layout.node_range()].to_vec();
        }
        if whole.as_ref().is_some_and(|w| !is_lost(w)) {
            reach = if resolved.reaches(&sight) {
                Reach::Whole
            } else {
                Reach::Part
            };
            sight = resolved;
        } else {
            whole = settle_whole(&sight, known, &climbed.singles, MOST_WANDER, STEPS);
        }
        all.extend(whole);
    }
    let odd = all.first().filter(|s| is_suspicious(s) && !is_hopeless(s));
    if let Some(other) = odd.and_then(|whole| of_other_law(&sight, whole)) {
        known = other.known;
        all = vec![other];
    }
    if all.first().is_none_or(is_suspicious) {
        errand.seeks_faults.store(true, Ordering::Relaxed);
        let fine = Sight::fine(taken, known);
        comes_near = hunt::search(&sight, &fine, known, &ln_z, &mut all);
    }
    let is_to_refine = match reach {
        Reach::Coarse => comes_near,
        Reach::Part => !is_whole(&all),
        Reach::Whole => false,
    };
    if is_to_refine {
        all = refined(taken, known, &all)?;
    }
    let best = choose(&all)?;
    let explanations = told(&all, best);
    let mut chosen = all.swap_remove(best);
    if !chosen.layout.faults.is_empty() {
        let fine = Sight::fine(taken, chosen.known);
        chosen = polished(&fine.ended(&chosen.kinds), chosen)?;
    }
    finish(chosen, &taken.all(), explanations)
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

/// Whether nothing but a whole cable is sure.
fn is_whole(all: &[Settled]) -> bool {
    let whole = all.iter().find(|s| s.causes.is_empty());
    whole.is_some_and(|w| all.iter().all(|s| s.ln_evidence <= w.ln_evidence + SURE))
}

/// The whole cable with conductors of any law, if the sweeps speak for it as for a fault and nothing
/// is left to explain: a wrong far end would bend any law. The fall of cost is looked at first: twice what
/// the evidence could rise by.
fn of_other_law(sight: &Sight, whole: &Settled) -> Option<Settled> {
    let known = Known {
        any_conductor: true,
        ..whole.known
    };
    if whole.fall(sight, known) < LEAST_GAIN {
        return None;
    }
    let begin = whole.singles_and(&whole.layout, &[]);
    let other = settle_whole(sight, known, &begin, MOST_WANDER, STEPS)?;
    let explains = other.ln_evidence > whole.ln_evidence + SURE && !is_suspicious(&other);
    explains.then_some(other)
}

/// The best explanations on all nodes that the cable wants; the rest as they were.
fn refined(taken: &Taken, known: Known, all: &[Settled]) -> Option<Vec<Settled>> {
    let best = &all[choose(all)?];
    let fine = Sight::fine(taken, known);
    let mut order: Vec<&Settled> = all.iter().collect();
    order.sort_by(|a, b| b.ln_evidence.total_cmp(&a.ln_evidence));
    let is_rival =
        |s: &Settled| s.causes == best.causes || s.ln_evidence > best.ln_evidence - RIVAL;
    let mut rivals: Vec<&Settled> = Vec::new();
    for s in order {
        if is_rival(s) && rivals.iter().all(|r| r.causes != s.causes) {
            rivals.push(s);
        }
    }
    let finer = |s: &&Settled| finer(&fine, s);
    let mut refined: Vec<Settled> = rivals.par_iter().filter_map(finer).collect();
    // the others are told against the best as it was when they were compared
    let of_best = refined.iter().find(|r| r.causes == best.causes)?;
    let offset = of_best.ln_evidence - best.ln_evidence;
    for s in all {
        if refined.iter().all(|r| r.causes != s.causes) {
            refined.push(Settled {
                ln_evidence: s.ln_evidence + offset,
                ..s.clone()
            });
        }
    }
    Some(refined)
}

/// The whole cable unless another explanation is sure. What a slight fault tells far better is no
/// large one.
pub(super) fn choose(all: &[Settled]) -> Option<usize> {
    let whole = all.iter().position(|s| s.causes.is_empty());
    let likelier = |a: &usize, b: &usize| all[*a].ln_evidence.total_cmp(&all[*b].ln_evidence);
    let (told, slight): (Vec<usize>, Vec<usize>) =
        (0..all.len()).partition(|&i| Some(i) == whole || all[i].is_worth_telling());
    let best = told.into_iter().max_by(likelier)?;
    let is_below = |other: usize, by: f64| all[best].ln_evidence <= all[other].ln_evidence + by;
    let is_slight = slight.into_iter().any(|slight| is_below(slight, -RIVAL));
    match whole {
        Some(whole) if is_slight || is_below(whole, SURE) => Some(whole),
        _ => Some(best),
    }
}

/// The best of each kind, against the chosen one.
fn told(all: &[Settled], chosen: usize) -> Vec<Explanation> {
    let mut told: Vec<Explanation> = Vec::new();
    for s in all {
        let this = Explanation {
            cause: s.causes.first().copied(),
            ln_evidence: s.ln_evidence - all[chosen].ln_evidence,
        };
        match told.iter_mut().find(|t| t.cause == this.cause) {
            Some(t) => t.ln_evidence = t.ln_evidence.max(this.ln_evidence),
            None => told.push(this),
        }
    }
    told.sort_by(|a, b| b.ln_evidence.total_cmp(&a.ln_evidence));
    told
}

/// The same explanation come to rest.
fn polished(sight: &Sight, chosen: Settled) -> Option<Settled> {
    let layout = sight.layout(chosen.known, &chosen.layout.faults);
    let slots = &chosen.theta[chosen.layout.fault_range()];
    let begin = if layout.nodes == chosen.layout.nodes {
        chosen.theta.iter().copied().enumerate().collect()
    } else {
        chosen.singles_and(&layout, slots)
    };
    let levels = chosen.levels.clone();
    let known = chosen.known;
    let mut problem = Problem::new(&sight.readings, layout.clone(), levels, known, &begin);
    problem.most_wander = GOOD_WANDER;
    problem.minimise(MOST_STEPS);
    problem.learn_levels(FEW_ROUNDS)?;
    Some(Settled {
        theta: problem.theta().to_vec(),
        levels: problem.levels,
        layout,
        ..chosen
    })
}

/// From part of the points to all.
fn finish(
    settled: Settled,
    readings: &[Readings],
    explanations: Vec<Explanation>,
) -> Option<Chosen> {
    let readings = ended(readings, &settled.kinds);
    let begin: Vec<(usize, f64)> = settled.theta.iter().copied().enumerate().collect();
    let Settled {
        causes,
        layout,
        levels,
        known,
        ..
    } = settled;
    let mut problem = Problem::new(&readings, layout, levels, known, &begin);
    problem.most_wander = most_wander(&causes);
    problem.raise_noise();
    problem.minimise(MOST_STEPS);
    problem.learn_levels(LEVEL_ROUNDS)?;
    let before = problem.theta().to_vec();
    let is_hopeless = problem.levels.largest_noise() > UNEXPLAINED_RMS;
    if !problem.converged() && !is_hopeless {
        problem.minimise(LAST_STEPS);
    }
    let fit = problem.finish()?;
    Some(Chosen {
        fit,
        before,
        readings,
        causes,
        explanations,
    })
}
