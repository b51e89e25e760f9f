//! The search for faults: what could be wrong, looked at quickly, and the likely ones with care.

use super::climb::{self, Climbed};
use super::explain::{Cause, SURE, choose};
use super::fault::Fault;
use super::fit::Problem;
use super::forward::Readings;
use super::proposal::{self, Proposal};
use super::settle::{
    Begun, GOOD_WANDER, Settled, Sight, UNEVEN, WITH_FAULTS, finer, is_lost, is_suspicious, settle,
    settle_whole, thinned,
};
use super::start::{self, Start};
use super::unknowns::{Kind, Known, Layout, Levels, at};
use super::{MOST_STEPS, covered, first_levels, kinds, noise_levels};
use crate::constants::SPEED_OF_LIGHT_M_S;
use crate::method::velocity::POSSIBLE;
use crate::parallel::prelude::*;

/// Most faults along one cable.
const MOST_FAULTS: usize = 3;
/// Proposals of each cause that are fitted with care.
const CAREFUL: usize = 2;
/// Points of each reading set, noise, steps, nodes and smooth terms of a first look at a proposal.
const GLANCE_POINTS: usize = 72;
const GLANCE_NOISE: [f64; 2] = [0.02, 0.004];
const GLANCE_STEPS: usize = 6;
const GLANCE_NODES: usize = 12;
const GLANCE_TERMS: usize = 4;
/// A proposal whose cost at a first look is above the best one's by more than this is out; the first
/// of each cause may cost so many times as much besides, since a first look has not come to rest.
const HOPELESS: f64 = 60.0;
const FIRST_PART: f64 = 2.0;
/// Nodes from which a place is looked for between them too.
const FINE_NODES: usize = 40;
/// What the search's best start leaves (complex rms) if it has the far end wrong.
const FAR_OFF_RMS: f64 = 0.5;
/// By how much (complex rms) sweeps of one early end may differ whatever was declared: five times the
/// most that a connection differs by.
const FAR_ENDS_RMS: f64 = 0.1;
/// What the best climb leaves, over its noise, from which no line explains the sweeps: a fifth of the
/// incident wave.
const NO_LINE: f64 = 10.0;
/// Climbs that are gone on from after the first band, starts of the search looked at and taken.
const MOST_CLIMBS: usize = 16;
const SEARCHED: usize = 6;
const STARTS: usize = 2;

/// Adds every explanation that is worth a try to the whole cable, the only one in `all`; if there is
/// none, the cable can only end early. `ln_z` is what the impedance along the whole cable came out
/// as, node by node. `fine` has the nodes that the cable wants, `sight` may have fewer. Whether any line
/// comes near the sweeps.
pub(super) fn search(
    sight: &Sight,
    fine: &Sight,
    known: Known,
    ln_z: &[f64],
    all: &mut Vec<Settled>,
) -> bool {
    let whole = all.first().cloned();
    all.extend(early_ends(sight, known));
    let Some(whole) = whole else {
        return true;
    };
    let ends_early = |s: &Settled| s.layout.faults.is_empty() && !s.causes.is_empty();
    if choose(all).is_some_and(|best| ends_early(&all[best]) && is_an_end(fine, &all[best])) {
        return true;
    }
    all.extend(if is_lost(&whole) {
        let Some(faulty) = from_scratch(sight, fine, &whole, ln_z) else {
            return all.len() > 1;
        };
        faulty
    } else {
        let mut single = with_faults(sight, &whole, ln_z);
        // what the sweeps do not speak for needs no other name
        let evident = most_evident(&single).filter(|best| best.ln_evidence > whole.ln_evidence);
        let other = evident.map_or_else(Vec::new, |best| retold(sight, best));
        single.extend(other);
        single
    });
    for _ in 1..MOST_FAULTS {
        let Some(best) = choose(all).map(|i| &all[i]) else {
            break;
        };
        if best.layout.faults.is_empty() || !is_uneven(best) {
            break;
        }
        let so_far = best.ln_evidence;
        let ln_z = &best.theta[best.layout.node_range()];
        let mut more = with_faults(sight, best, ln_z);
        more.retain(|s| s.ln_evidence > so_far + SURE);
        if more.is_empty() {
            break;
        }
        all.extend(more);
    }
    true
}

/// Whether an early end leaves nothing to look for: nothing behind it shows.
fn is_an_end(fine: &Sight, early: &Settled) -> bool {
    let explains = |s: &Settled| !is_lost(s) && s.levels.wander <= UNEVEN;
    !is_suspicious(early) || explains(early) || finer(fine, early).is_some_and(|f| explains(&f))
}

/// Whether a fit is no place to start from even with the nodes that the cable wants: with fewer, a
/// long cable's unevenness looks like noise.
fn is_astray(fine: &Sight, best: &Settled) -> bool {
    is_lost(best) && finer(fine, best).is_none_or(|f| is_lost(&f))
}

/// Whether more remains along the cable than a good one has.
fn is_uneven(settled: &Settled) -> bool {
    settled.levels.wander > 0.99 * GOOD_WANDER
}

fn most_evident(all: &[Settled]) -> Option<&Settled> {
    all.iter()
        .max_by(|a, b| a.ln_evidence.total_cmp(&b.ln_evidence))
}

/// The cable ending early: whatever was at the far end, an open or a short is seen. A through sweep
/// would show nothing of such a cable but its near end.
fn early_ends(sight: &Sight, known: Known) -> Vec<Settled> {
    let through = sight.readings.iter().any(|r| r.kind == Kind::Through);
    if through || far_ends_show(&sight.of_cable) {
        return Vec::new();
    }
    let early = |(kind, cause): (Kind, Cause)| {
        let of_cable = |r: &Readings| if r.kind.is_of_cable() { kind } else { r.kind };
        let kinds: Vec<Kind> = sight.readings.iter().map(of_cable).collect();
        let seen = sight.ended(&kinds);
        let mut known = Known {
            ends_early: true,
            ..known
        };
        let looks_so = |s: Start| s.rms < FAR_OFF_RMS;
        if !start::search(&seen.of_cable, 1.0)
            .next()
            .is_some_and(looks_so)
        {
            return None;
        }
        let climbed = climb::best(&seen.of_cable, known, sight.stop())?;
        known.delay_s = climbed.delay_s;
        let mut settled = settle_whole(&seen, known, &climbed.singles, GOOD_WANDER, MOST_STEPS)?;
        settled.causes = vec![cause];
        Some(settled)
    };
    [(Kind::Open, Cause::Open), (Kind::Short, Cause::Short)]
        .into_par_iter()
        // where every far end was declared so, only the tape tells an early end from the end
        .filter(|(kind, _)| sight.of_cable.iter().any(|r| r.kind != *kind))
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
/// [`climbed_faults`].
fn from_scratch(
    sight: &Sight,
    fine: &Sight,
    whole: &Settled,
    ln_z: &[f64],
) -> Option<Vec<Settled>> {
    let mut all = climbed_faults(sight, whole, ln_z)?;
    let mut astray = most_evident(&all).is_none_or(|best| is_astray(fine, best));
    if astray {
        all.extend(with_faults(sight, whole, ln_z));
    }
    let other = most_evident(&all).map_or_else(Vec::new, |best| retold(sight, best));
    all.extend(other);
    astray = astray && most_evident(&all).is_some_and(|best| is_astray(fine, best));
    let near = match most_evident(&all) {
        Some(best) if astray => nudged(sight, best),
        _ => Vec::new(),
    };
    all.extend(near);
    Some(all)
}

/// The cable with a fault, found as a whole one is: from the lowest frequencies up. `None` if no
/// line with a fault comes anywhere near the sweeps.
fn climbed_faults(sight: &Sight, whole: &Settled, ln_z: &[f64]) -> Option<Vec<Settled>> {
    let proposals = proposal::all(ln_z, whole.known.delay_s);
    let starts = starts(sight, whole);
    let all = &sight.of_cable;
    let stop = sight.stop();
    let climbed = climb::with_faults(all, whole.known, &starts, &proposals, MOST_CLIMBS, stop);
    if climbed.first().is_some_and(|best| best.0.misfit > NO_LINE) {
        return None;
    }
    let mut taken: Vec<(Climbed, Proposal)> = Vec::new();
    for (end, p) in climbed {
        if taken.iter().filter(|t| t.1.cause == p.cause).count() < CAREFUL {
            taken.push((end, p));
        }
    }
    let starts = taken.into_iter().map(|(end, p)| {
        let known = Known {
            delay_s: end.delay_s,
            ..whole.known
        };
        let layout = sight.layout(known, &[p.fault]);
        let slots = layout.fault_range().zip(end.slots);
        let begin = end.singles.into_iter().chain(slots).collect();
        (vec![p.cause], known, layout, begin)
    });
    Some(careful(sight, starts.collect(), None))
}

/// A start of a careful fit: causes, what is known, layout, unknowns.
type Begin = (Vec<Cause>, Known, Layout, Vec<(usize, f64)>);

/// Fits each start, and goes on with those that may yet win over each other, and over what there is so
/// far.
fn careful(sight: &Sight, starts: Vec<Begin>, so_far: Option<&Settled>) -> Vec<Settled> {
    let so_far = so_far
        .filter(|s| s.wanders_like_a_good_one())
        .map(|s| (s, s.cost(sight)));
    let begun: Vec<(Vec<Cause>, Begun)> = starts
        .into_par_iter()
        .filter_map(|(causes, known, layout, begin)| {
            let begun = Begun::new(sight, layout, known, &begin, WITH_FAULTS)?;
            Some((causes, begun))
        })
        .collect();
    let costs = begun.iter().map(|(_, b)| b.cost());
    let lowest = costs.fold(f64::INFINITY, f64::min);
    begun
        .into_par_iter()
        .filter(|(_, b)| b.may_win(lowest))
        .filter_map(|(causes, mut b)| {
            if so_far.is_some_and(|(other, cost)| !b.may_beat(other, cost)) {
                return None;
            }
            let settled = b.settled(sight)?;
            Some(Settled { causes, ..settled })
        })
        .collect()
}

/// The same fault told as those that look like it, from where it stands.
fn retold(sight: &Sight, best: &Settled) -> Vec<Settled> {
    let slots = &best.theta[best.layout.fault_range()];
    proposal::like(best.layout.faults[0].shape, slots, best.known.delay_s)
        .into_par_iter()
        .filter_map(|(p, [by_ln_z, by_ln_k])| {
            let layout = sight.layout(best.known, &[p.fault]);
            let mut begin = best.singles_and(&layout, &p.start);
            begin[at::LINE].1 += by_ln_z;
            begin[at::LINE + 2].1 += by_ln_k;
            let mut s = settle(sight, layout, best.known, &begin, WITH_FAULTS)?;
            s.causes = vec![p.cause];
            Some(s)
        })
        .collect()
}

/// The same explanation from neighbouring fringes of its places and its delay.
fn nudged(sight: &Sight, best: &Settled) -> Vec<Settled> {
    let (_, stop_hz) = covered(&sight.of_cable);
    let slots = &best.theta[best.layout.fault_range()];
    let proposal = Proposal {
        cause: best.causes[0],
        fault: best.layout.faults[0],
        start: std::array::from_fn(|i| slots[i]),
    };
    let begin = best.singles_and(&best.layout, slots);
    let mut starts = Vec::new();
    for by_s in [-0.25 / stop_hz, 0.25 / stop_hz] {
        let mut moved = begin.clone();
        moved[at::LINE + 1].1 += by_s;
        starts.push(moved);
        for slot in proposal.places() {
            let mut moved = begin.clone();
            moved[at::SINGLES + slot].1 += by_s / best.known.delay_s;
            starts.push(moved);
        }
    }
    starts
        .into_par_iter()
        .filter_map(|begin| {
            let layout = best.layout.clone();
            let mut s = settle(sight, layout, best.known, &begin, WITH_FAULTS)?;
            s.causes.clone_from(&best.causes);
            Some(s)
        })
        .collect()
}

/// Delays to climb from: those of the search that the tape allows, and the whole cable's.
fn starts(sight: &Sight, whole: &Settled) -> Vec<Start> {
    let known = whole.known;
    let allowed = |s: &Start| {
        known
            .length_m
            .is_none_or(|l| POSSIBLE.contains(&(l / (SPEED_OF_LIGHT_M_S * s.delay_s))))
    };
    let theta = &whole.theta;
    let own = Start {
        ln_z: theta[at::LINE],
        delay_s: theta[at::LINE + 1],
        ln_conductor: theta[at::LINE + 2],
        rms: 0.0,
    };
    let searched = start::search(&sight.of_cable, known.far_ratio.0.exp()).take(SEARCHED);
    let mut all: Vec<Start> = searched.filter(allowed).take(STARTS).collect();
    if all.is_empty() || allowed(&own) {
        all.push(own);
    }
    all
}

/// The explanation with one fault more.
fn with_faults(sight: &Sight, so_far: &Settled, ln_z: &[f64]) -> Vec<Settled> {
    let glanced = thinned(&sight.readings, GLANCE_POINTS);
    let mut tried: Vec<(f64, Proposal)> = proposal::all(ln_z, so_far.known.delay_s)
        .into_par_iter()
        .filter(|_| !sight.is_stopped())
        .map(|p| (glance(&glanced, so_far, &p), p))
        .collect();
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
    if ln_z.len() > FINE_NODES {
        let step = 1.0 / (3.0 * ln_z.len() as f64);
        let shift = |t: &mut (f64, Proposal)| *t = shifted(&glanced, so_far, *t, step);
        taken.par_iter_mut().for_each(shift);
    }
    let starts = taken.into_iter().map(|(_, p)| {
        let layout = sight.layout(so_far.known, &joined(so_far, &p));
        let begin = begin(so_far, &p, &layout);
        let causes = [so_far.causes.as_slice(), &[p.cause]].concat();
        (causes, so_far.known, layout, begin)
    });
    careful(sight, starts.collect(), Some(so_far))
}

/// The best of a proposal and of its neighbours `step` away.
fn shifted(
    glanced: &[Readings],
    so_far: &Settled,
    tried: (f64, Proposal),
    step: f64,
) -> (f64, Proposal) {
    let mut best = tried;
    for slot in tried.1.places() {
        let middle = best.1;
        for by in [-step, step] {
            let mut p = middle;
            p.start[slot] += by;
            let cost = glance(glanced, so_far, &p);
            if cost < best.0 {
                best = (cost, p);
            }
        }
    }
    best
}

/// Faults of an explanation with one more.
fn joined(so_far: &Settled, proposal: &Proposal) -> Vec<Fault> {
    [so_far.layout.faults.as_slice(), &[proposal.fault]].concat()
}

/// Its start.
fn begin(so_far: &Settled, proposal: &Proposal, layout: &Layout) -> Vec<(usize, f64)> {
    let old = &so_far.theta[so_far.layout.fault_range()];
    so_far.singles_and(layout, &[old, &proposal.start].concat())
}

/// Cost of a quick fit.
fn glance(few: &[Readings], so_far: &Settled, proposal: &Proposal) -> f64 {
    let layout = Layout {
        kinds: kinds(few),
        terms: so_far.layout.terms.min(GLANCE_TERMS),
        nodes: so_far.layout.nodes.min(GLANCE_NODES),
        faults: joined(so_far, proposal),
        covered_hz: covered(few),
    };
    let begin = begin(so_far, proposal, &layout);
    let levels = Levels {
        shared: 2e-3,
        wander: GOOD_WANDER,
        ..first_levels(few)
    };
    let mut problem = Problem::new(few, layout, levels, so_far.known, &begin);
    for noise in GLANCE_NOISE {
        problem.levels.noise = noise_levels(few, noise, noise);
        problem.minimise(GLANCE_STEPS);
    }
    problem.cost
}
