//! The search for faults: what could be wrong, looked at quickly, and the likely ones with care.

use super::super::model::{AT, Fault, Kind, Layout, Normal, Readings, covered, kinds, thinned};
use super::super::prior::{Hyperparameters, Known, noise_levels};
use super::candidate::{
    CandidateFit, FitStage, GOOD_WANDER, MOST_STEPS, UNEVEN, WITH_FAULTS, finer, fit_candidate,
    fit_whole, is_lost, is_suspicious,
};
use super::cause::Cause;
use super::evidence::{SURE, choose, most_evident};
use super::growing_band::{self, BandStart};
use super::problem::Problem;
use super::proposal::{self, Proposal, Reclassified};
use super::start::{self, Start};
use super::subset::DataSubset;
use crate::constants::SPEED_OF_LIGHT_M_S;
use crate::method::velocity::POSSIBLE;
use crate::parallel::prelude::*;

/// Most faults along one cable.
const MOST_FAULTS: usize = 3;
/// Proposals of each cause that are fitted with care.
const CAREFUL: usize = 2;
/// Points of each reading set, noise, steps, nodes and smooth terms of a quick fit of a proposal.
const QUICK_POINTS: usize = 72;
const QUICK_NOISE: [f64; 2] = [0.02, 0.004];
const QUICK_STEPS: usize = 6;
const QUICK_NODES: usize = 12;
const QUICK_TERMS: usize = 4;
/// A proposal whose cost in a quick fit is above the best one's by more than this is out; the first
/// of each cause may cost so many times as much besides, since a quick fit has not come to rest.
const HOPELESS: f64 = 60.0;
const FIRST_PART: f64 = 2.0;
/// Nodes from which a place is looked for between them too.
const FINE_NODES: usize = 40;
/// What the search's best start leaves (complex rms) if it has the far end wrong.
const FAR_OFF_RMS: f64 = 0.5;
/// By how much (complex rms) sweeps of one early end may differ whatever was declared: five times the
/// most that a connection differs by.
const FAR_ENDS_RMS: f64 = 0.1;
/// What the best such fit leaves, over its noise, from which no line explains the sweeps: a fifth of the
/// incident wave.
const NO_LINE: f64 = 10.0;
/// Fits that are gone on from after the first band, starts of the search looked at and taken.
const MOST_GROWING: usize = 16;
const SEARCHED: usize = 6;
const STARTS: usize = 2;

/// Adds every explanation that is worth a try to the whole cable, the only one in `all`; if there is
/// none, the cable can only end early. `ln_z` is what the impedance along the whole cable came out
/// as, node by node. `fine` has the nodes that the cable wants, `subset` may have fewer. Whether any line
/// comes near the sweeps.
pub(crate) fn search(
    subset: &DataSubset,
    fine: &DataSubset,
    known: Known,
    ln_z: &[f64],
    all: &mut Vec<CandidateFit>,
) -> bool {
    let whole = all.first().cloned();
    // an early end first: a fault fitted to a cable that ends before it explains nothing
    all.extend(early_ends(subset, known));
    let Some(whole) = whole else {
        return true;
    };
    let ends_early = |s: &CandidateFit| s.layout.faults().is_empty() && !s.causes.is_empty();
    if choose(all).is_some_and(|best| ends_early(&all[best]) && is_an_end(fine, &all[best])) {
        return true;
    }
    all.extend(if is_lost(&whole) {
        let Some(faulty) = from_scratch(subset, fine, &whole, ln_z) else {
            return all.len() > 1;
        };
        faulty
    } else {
        let mut single = with_faults(subset, &whole, ln_z);
        // what the sweeps do not speak for needs no other name
        let evident = most_evident(&single).filter(|best| best.ln_evidence > whole.ln_evidence);
        let other = evident.map_or_else(Vec::new, |best| reclassified(subset, best));
        single.extend(other);
        single
    });
    // one at a time: pairs from the start are hundreds of fits, and the larger fault is found
    // without the other
    for _ in 1..MOST_FAULTS {
        let Some(best) = choose(all).map(|i| &all[i]) else {
            break;
        };
        if best.layout.faults().is_empty() || !is_uneven(best) {
            break;
        }
        let so_far = best.ln_evidence;
        let ln_z = &best.theta[best.layout.node_range()];
        let mut more = with_faults(subset, best, ln_z);
        // each further fault has to earn its freedom as the first one had
        more.retain(|s| s.ln_evidence > so_far + SURE);
        if more.is_empty() {
            break;
        }
        all.extend(more);
    }
    true
}

/// Whether an early end leaves nothing to look for: nothing behind it shows.
fn is_an_end(fine: &DataSubset, early: &CandidateFit) -> bool {
    let explains = |s: &CandidateFit| !is_lost(s) && s.hyperparameters.wander <= UNEVEN;
    !is_suspicious(early) || explains(early) || finer(fine, early).is_some_and(|f| explains(&f))
}

/// Whether a fit is no place to start from even with the nodes that the cable wants: with fewer, a
/// long cable's unevenness looks like noise.
fn is_astray(fine: &DataSubset, best: &CandidateFit) -> bool {
    is_lost(best) && finer(fine, best).is_none_or(|f| is_lost(&f))
}

/// Whether more remains along the cable than a good one has.
fn is_uneven(fit: &CandidateFit) -> bool {
    fit.hyperparameters.wander > 0.99 * GOOD_WANDER
}

/// The cable ending early: whatever was at the far end, an open or a short shows. A through sweep
/// would show nothing of such a cable but its near end.
fn early_ends(subset: &DataSubset, known: Known) -> Vec<CandidateFit> {
    let through = subset.readings.iter().any(|r| r.kind == Kind::Through);
    if through || far_ends_show(&subset.of_cable) {
        return Vec::new();
    }
    let early = |(kind, cause): (Kind, Cause)| {
        let of_cable = |r: &Readings| if r.kind.is_of_cable() { kind } else { r.kind };
        let kinds: Vec<Kind> = subset.readings.iter().map(of_cable).collect();
        let observed = subset.with_kinds(&kinds);
        let mut known = Known {
            ends_early: true,
            ..known
        };
        // the search's coarse line shows an end of the wrong kind by half of the incident wave
        let looks_so = |s: Start| s.rms < FAR_OFF_RMS;
        if !start::search(&observed.of_cable, 1.0)
            .next()
            .is_some_and(looks_so)
        {
            return None;
        }
        let fitted = growing_band::best(&observed.of_cable, known, subset.cancel_flag())?;
        let fitted = fitted.into_iter().next()?;
        known.delay_s = fitted.delay_s;
        let mut fit = fit_whole(&observed, known, &fitted.singles, GOOD_WANDER, MOST_STEPS)?;
        fit.causes = vec![cause];
        Some(fit)
    };
    [(Kind::Open, Cause::Open), (Kind::Short, Cause::Short)]
        .into_par_iter()
        // where every far end was declared so, only the tape tells an early end from the end
        .filter(|(kind, _)| subset.of_cable.iter().any(|r| r.kind != *kind))
        .filter_map(early)
        .collect()
}

/// Whether two sweeps differ by their far ends, which nothing behind an early end does.
fn far_ends_show(readings: &[Readings]) -> bool {
    let differ = |a: &Readings, b: &Readings| {
        let pairs = a.reflection.iter().zip(&b.reflection);
        let square: f64 = pairs.map(|(a, b)| (a - b).norm_sqr()).sum();
        square > a.freq_hz.len() as f64 * FAR_ENDS_RMS * FAR_ENDS_RMS
    };
    let others = |i: usize| readings[i + 1..].iter();
    readings
        .iter()
        .enumerate()
        .any(|(i, a)| others(i).any(|b| a.kind != b.kind && a.freq_hz == b.freq_hz && differ(a, b)))
}

/// The cable with a fault where the fit of a whole one is no place to start from. `None` as
/// [`faults_by_growing_band`].
fn from_scratch(
    subset: &DataSubset,
    fine: &DataSubset,
    whole: &CandidateFit,
    ln_z: &[f64],
) -> Option<Vec<CandidateFit>> {
    let mut all = faults_by_growing_band(subset, whole, ln_z)?;
    let mut astray = most_evident(&all).is_none_or(|best| is_astray(fine, best));
    if astray {
        all.extend(with_faults(subset, whole, ln_z));
    }
    let other = most_evident(&all).map_or_else(Vec::new, |best| reclassified(subset, best));
    all.extend(other);
    astray = astray && most_evident(&all).is_some_and(|best| is_astray(fine, best));
    let near = match most_evident(&all) {
        Some(best) if astray => nudged(subset, best),
        _ => Vec::new(),
    };
    all.extend(near);
    Some(all)
}

/// The cable with a fault, found as a whole one is: from the lowest frequencies up. `None` if no
/// line with a fault comes anywhere near the sweeps.
fn faults_by_growing_band(
    subset: &DataSubset,
    whole: &CandidateFit,
    ln_z: &[f64],
) -> Option<Vec<CandidateFit>> {
    let proposals = proposal::all(ln_z, &whole.surroundings());
    let starts = starts(subset, whole);
    let all = &subset.of_cable;
    let stop = subset.cancel_flag();
    let fitted =
        growing_band::with_faults(all, whole.known, &starts, &proposals, MOST_GROWING, stop);
    if fitted.first().is_some_and(|best| best.0.misfit > NO_LINE) {
        return None;
    }
    let mut taken: Vec<(BandStart, Proposal)> = Vec::new();
    for (end, p) in fitted {
        if taken.iter().filter(|t| t.1.cause == p.cause).count() < CAREFUL {
            taken.push((end, p));
        }
    }
    let starts = taken.into_iter().map(|(end, p)| {
        let known = Known {
            delay_s: end.delay_s,
            ..whole.known
        };
        let layout = subset.layout(known, &[p.prior]);
        let of_fault = layout.fault_start(end.fault.as_slice());
        let begin = end.singles.into_iter().chain(of_fault).collect();
        (vec![p.cause], known, layout, begin)
    });
    Some(careful(subset, starts.collect(), None))
}

/// A start of a careful fit: causes, what is known, layout, unknowns.
type Begin = (Vec<Cause>, Known, Layout, Vec<(usize, f64)>);

/// Fits each start, and goes on with those that may yet win over each other, and over what there is so
/// far.
fn careful(
    subset: &DataSubset,
    starts: Vec<Begin>,
    so_far: Option<&CandidateFit>,
) -> Vec<CandidateFit> {
    let so_far = so_far
        .filter(|s| s.wanders_like_a_good_one())
        .map(|s| (s, s.cost(subset)));
    let begun: Vec<(Vec<Cause>, FitStage)> = starts
        .into_par_iter()
        .filter_map(|(causes, known, layout, begin)| {
            let begun = FitStage::new(subset, layout, known, &begin, WITH_FAULTS)?;
            Some((causes, begun))
        })
        .collect();
    let costs = begun.iter().map(|(_, b)| b.cost());
    // costs at equal noise: comparable before hyperparameters are learnt
    let lowest = costs.fold(f64::INFINITY, f64::min);
    begun
        .into_par_iter()
        .filter(|(_, b)| b.may_win(lowest))
        .filter_map(|(causes, mut b)| {
            if so_far.is_some_and(|(other, cost)| !b.may_beat(other, cost)) {
                return None;
            }
            let fit = b.learn(subset)?;
            Some(CandidateFit { causes, ..fit })
        })
        .collect()
}

/// The same fault reclassified as those that look like it, from where it stands.
fn reclassified(subset: &DataSubset, best: &CandidateFit) -> Vec<CandidateFit> {
    let Some(fault) = best.faults().first().copied() else {
        return Vec::new();
    };
    let others = proposal::reclassified(&fault, &best.surroundings());
    let starts = others.into_iter().map(|other: Reclassified| {
        let p = other.proposal;
        let layout = subset.layout(best.known, &[p.prior]);
        let mut begin = best.start_with(&layout, &[p.start]);
        add_to(&mut begin, AT.line.ln_z, other.add_ln_z);
        add_to(&mut begin, AT.line.ln_conductor, other.add_ln_conductor);
        (vec![p.cause], best.known, layout, begin)
    });
    careful(subset, starts.collect(), None)
}

/// Moves an unknown of a start.
fn add_to(begin: &mut [(usize, f64)], unknown: usize, by: f64) {
    for (_, value) in begin.iter_mut().filter(|(index, _)| *index == unknown) {
        *value += by;
    }
}

/// The same explanation from neighbouring fringes of its places and its delay.
fn nudged(subset: &DataSubset, best: &CandidateFit) -> Vec<CandidateFit> {
    let (Some(&prior), Some(&start)) = (best.layout.faults().first(), best.faults().first()) else {
        return Vec::new();
    };
    let (_, stop_hz) = covered(&subset.of_cable);
    let proposal = Proposal {
        cause: best.causes[0],
        prior,
        start,
    };
    let from = |p: Proposal| best.start_with(&best.layout, &[p.start]);
    let mut starts = Vec::new();
    for by_s in [-0.25 / stop_hz, 0.25 / stop_hz] {
        let mut moved = from(proposal);
        add_to(&mut moved, AT.line.delay_s, by_s);
        // a quarter period of the stop frequency, half a fringe of the round trip
        starts.push(moved);
        for place in proposal.free_places() {
            starts.push(from(proposal.moved(place, by_s / best.known.delay_s)));
        }
    }
    starts
        .into_par_iter()
        .filter_map(|begin| {
            let layout = best.layout.clone();
            let mut s = fit_candidate(subset, layout, best.known, &begin, WITH_FAULTS)?;
            s.causes.clone_from(&best.causes);
            Some(s)
        })
        .collect()
}

/// Delays to start from: those of the search that the tape allows, and the whole cable's.
fn starts(subset: &DataSubset, whole: &CandidateFit) -> Vec<Start> {
    let known = whole.known;
    let allowed = |s: &Start| {
        known
            .length_m
            .is_none_or(|l| POSSIBLE.contains(&(l / (SPEED_OF_LIGHT_M_S * s.delay_s))))
    };
    let theta = &whole.theta;
    let own = Start {
        ln_z: theta[AT.line.ln_z],
        delay_s: theta[AT.line.delay_s],
        ln_conductor: theta[AT.line.ln_conductor],
        rms: 0.0,
    };
    let searched = start::search(&subset.of_cable, known.far_ratio.0.exp()).take(SEARCHED);
    let by_far_ends = start::by_far_ends(&subset.of_cable);
    let first = by_far_ends.into_iter().chain(searched);
    let mut all: Vec<Start> = first.filter(allowed).take(STARTS).collect();
    if all.is_empty() || allowed(&own) {
        all.push(own);
    }
    all
}

/// The explanation with one fault more.
fn with_faults(subset: &DataSubset, so_far: &CandidateFit, ln_z: &[f64]) -> Vec<CandidateFit> {
    let few = thinned(&subset.readings, QUICK_POINTS);
    let mut tried: Vec<(f64, Proposal)> = proposal::all(ln_z, &so_far.surroundings())
        .into_par_iter()
        .filter(|_| !subset.is_cancelled())
        .map(|p| (quick_cost(&few, so_far, &p), p))
        .collect();
    // the quick costs order the proposals; only the first of each cause are fitted with care
    tried.sort_by(|a, b| a.0.total_cmp(&b.0));
    let lowest = tried.first().map_or(0.0, |t| t.0);
    let mut taken: Vec<(f64, Proposal)> = Vec::new();
    for (cost, p) in tried {
        let same = taken.iter().filter(|t| t.1.cause == p.cause).count();
        let most = lowest * if same == 0 { FIRST_PART } else { 1.0 } + HOPELESS;
        if same < CAREFUL && cost < most {
            taken.push((cost, p));
        }
    }
    // on a long cable the grid of places is coarser than a fringe
    if ln_z.len() > FINE_NODES {
        let step = 1.0 / (3.0 * ln_z.len() as f64);
        let shift = |t: &mut (f64, Proposal)| *t = shifted(&few, so_far, *t, step);
        taken.par_iter_mut().for_each(shift);
    }
    let starts = taken.into_iter().map(|(_, p)| {
        let layout = subset.layout(so_far.known, &joined(so_far, &p));
        let begin = begin(so_far, &p, &layout);
        let causes = [so_far.causes.as_slice(), &[p.cause]].concat();
        (causes, so_far.known, layout, begin)
    });
    careful(subset, starts.collect(), Some(so_far))
}

/// The best of a proposal and of its neighbours `step` away.
fn shifted(
    few: &[Readings],
    so_far: &CandidateFit,
    tried: (f64, Proposal),
    step: f64,
) -> (f64, Proposal) {
    let mut best = tried;
    for place in tried.1.free_places() {
        let middle = best.1;
        for by in [-step, step] {
            let p = middle.moved(place, by);
            let cost = quick_cost(few, so_far, &p);
            if cost < best.0 {
                best = (cost, p);
            }
        }
    }
    best
}

/// Faults of an explanation with one more.
fn joined(so_far: &CandidateFit, proposal: &Proposal) -> Vec<Fault<Normal>> {
    [so_far.layout.faults(), &[proposal.prior]].concat()
}

/// Its start.
fn begin(so_far: &CandidateFit, proposal: &Proposal, layout: &Layout) -> Vec<(usize, f64)> {
    let mut faults = so_far.faults();
    faults.push(proposal.start);
    so_far.start_with(layout, &faults)
}

/// Cost of a quick fit.
fn quick_cost(few: &[Readings], so_far: &CandidateFit, proposal: &Proposal) -> f64 {
    let layout = Layout::new(
        kinds(few),
        so_far.layout.terms.min(QUICK_TERMS),
        so_far.layout.nodes.min(QUICK_NODES),
        covered(few),
        joined(so_far, proposal),
    );
    let begin = begin(so_far, proposal, &layout);
    let hyperparameters = Hyperparameters {
        shared: 2e-3,
        wander: GOOD_WANDER,
        ..Hyperparameters::first(few)
    };
    let mut problem = Problem::new(few, layout, hyperparameters, so_far.known, &begin);
    for noise in QUICK_NOISE {
        problem.hyperparameters.noise = noise_levels(few, noise);
        problem.minimise(QUICK_STEPS);
    }
    problem.cost
}
