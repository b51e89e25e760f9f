//! Which explanation the sweeps bear out: a cable that is whole, or a fault along it.
//!
//! Every explanation is the same model with something added, fitted to the same readings. What
//! decides is the evidence (Laplace's approximation): how well an explanation fits less what its
//! freedom costs it. A cable that nothing speaks against is not searched ([`super::hunt`] searches).

use std::sync::atomic::{AtomicBool, Ordering};

use rayon::prelude::*;

use super::fault::{Fault, SLOTS, Shape, series, stretch};
use super::fit::{Fit, Problem};
use super::forward::Readings;
use super::unknowns::{Kind, Known, Layout, Levels, at, smooth_terms, wanted_nodes};
use super::{
    FEW_POINTS, FEW_ROUNDS, LEVEL_ROUNDS, MOST_NODES, MOST_STEPS, UNEXPLAINED_RMS, climb, covered,
    first_levels, hunt, kinds, noise_levels, start,
};

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

/// An explanation with the unknowns and levels that suit it best, on part of the points.
#[derive(Clone, Debug)]
pub(super) struct Settled {
    /// The fault of each place, or an early end; none of a whole cable.
    pub(super) causes: Vec<Cause>,
    /// Far ends as they are thought to be.
    pub(super) kinds: Vec<Kind>,
    pub(super) layout: Layout,
    pub(super) known: Known,
    pub(super) levels: Levels,
    pub(super) theta: Vec<f64>,
    pub(super) ln_evidence: f64,
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

/// Most that the impedance of a good cable may wander, rms of ln z.
pub(super) const GOOD_WANDER: f64 = 0.006;
/// Most that an uneven one may.
const MOST_WANDER: f64 = 0.1;
/// By how much the logarithm of the evidence must rise for a fault to be believed: faults are one in
/// twenty, and twenty to one is to be sure.
pub(super) const SURE: f64 = 6.0;
/// Noise, and errors that calibration leaves, from which a whole cable's fit is no place to start
/// from; and the same of a climb, over its noise.
const LOST_NOISE: f64 = 4e-3;
const LOST_SHARED: f64 = 8e-3;
const LOST_MISFIT: f64 = 1.5;
/// Most nodes while a fault is looked for from scratch.
const COARSE_NODES: usize = 40;
/// Explanations whose evidence is this far below the best are not looked at more finely.
const RIVAL: f64 = 30.0;
/// A fit whose cost is above this many times the lowest and so much more, before levels are learnt,
/// is out: real noise is lower and parts them further.
const FAR_ABOVE: (f64, f64) = (2.0, 60.0);
/// Noise that a fit comes down in, and steps at each where faults make the way long.
const NOISE: [f64; 3] = [0.02, 0.005, 0.001];
const STEPS: usize = 12;
/// Wander from which a cable thought whole is searched for faults.
pub(super) const UNEVEN: f64 = 0.0035;
/// Sizes from which a cable thought whole leaves something to explain: wander, what calibration
/// leaves, connection, noise.
const SUSPICIOUS: [f64; 4] = [UNEVEN, 1.2e-3, 6e-4, 5e-3];
/// ln of a plug's impedance over the load's from which, either way, nothing is a plug.
const ODD_PLUG: f64 = 1.0;
/// Least step of ln z, ln of resistance and of inductance (as a time constant) over the load, that
/// are called a fault: 3 %, which is less than the ±2 ohm in 50 that cables are sold with; half an
/// ohm and 1 nH on 50.
pub(super) const LEAST_STEP: f64 = 0.03;
const LEAST_LN_R: f64 = -4.6;
const LEAST_LN_L: f64 = -24.6;

/// Sweeps of the cable, and checks of the calibration, which say nothing of it by themselves.
#[derive(Clone, Copy, Debug)]
struct Taken<'a> {
    of_cable: &'a [Readings],
    checks: &'a [Readings],
    stop: &'a AtomicBool,
}

impl Taken<'_> {
    fn all(&self) -> Vec<Readings> {
        [self.of_cable, self.checks].concat()
    }
}

/// Part of the points, and the most nodes, that explanations are compared on.
#[derive(Clone, Debug)]
pub(super) struct Sight<'a> {
    /// Every point of the sweeps of the cable: a start is looked for among all.
    pub(super) of_cable: Vec<Readings>,
    /// Part of the points of every sweep, checks of the calibration last.
    pub(super) readings: Vec<Readings>,
    most_nodes: usize,
    stop: &'a AtomicBool,
}

impl<'a> Sight<'a> {
    fn fine(taken: &Taken<'a>, known: Known) -> Self {
        let (_, stop_hz) = covered(taken.of_cable);
        let nodes = wanted_nodes(known.delay_s, stop_hz, MOST_NODES);
        Self {
            of_cable: taken.of_cable.to_vec(),
            readings: thinned(&taken.all(), FEW_POINTS.max(2 * nodes)),
            most_nodes: MOST_NODES,
            stop: taken.stop,
        }
    }

    fn coarse(taken: &Taken<'a>) -> Self {
        Self {
            of_cable: taken.of_cable.to_vec(),
            readings: thinned(&taken.all(), FEW_POINTS),
            most_nodes: COARSE_NODES,
            stop: taken.stop,
        }
    }

    /// Unknowns of a cable with these faults.
    pub(super) fn layout(&self, known: Known, faults: &[Fault]) -> Layout {
        let (start_hz, stop_hz) = covered(&self.of_cable);
        Layout {
            kinds: kinds(&self.readings),
            terms: smooth_terms(stop_hz - start_hz),
            nodes: wanted_nodes(known.delay_s, stop_hz, self.most_nodes),
            faults: faults.to_vec(),
            covered_hz: (start_hz, stop_hz),
        }
    }

    /// The same points with other far ends.
    pub(super) fn ended(&self, kinds: &[Kind]) -> Self {
        Self {
            of_cable: ended(&self.of_cable, kinds),
            readings: ended(&self.readings, kinds),
            ..*self
        }
    }

    /// The flag by which the search is given up.
    pub(super) fn stop(&self) -> &'a AtomicBool {
        self.stop
    }

    pub(super) fn is_stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }
}

/// At most so many points of each reading set.
pub(super) fn thinned(readings: &[Readings], points: usize) -> Vec<Readings> {
    let thin = |r| start::thin(r, f64::INFINITY, points);
    readings.iter().map(thin).collect()
}

fn ended(readings: &[Readings], kinds: &[Kind]) -> Vec<Readings> {
    let ended = |(r, &kind): (&Readings, &Kind)| Readings { kind, ..r.clone() };
    readings.iter().zip(kinds).map(ended).collect()
}

/// Fits every explanation that is worth a try and keeps the best; whatever there is, or nothing, once
/// `stop` is set.
pub(super) fn best(
    readings: &[Readings],
    checks: &[Readings],
    known: Known,
    stop: &AtomicBool,
) -> Option<Chosen> {
    let taken = &Taken {
        of_cable: readings,
        checks,
        stop,
    };
    let mut all = Vec::new();
    let mut sight = Sight::coarse(taken);
    let mut is_coarse = true;
    let mut comes_near = true;
    let mut known = known;
    let mut ln_z = Vec::new();
    if let Some(climbed) = climb::best(readings, known, stop) {
        known.delay_s = climbed.delay_s;
        let fine = Sight::fine(taken, known);
        let steps = if climbed.misfit < LOST_MISFIT {
            MOST_STEPS
        } else {
            STEPS
        };
        let mut whole = settle_whole(&fine, known, &climbed.singles, MOST_WANDER, steps);
        if let Some(whole) = &whole {
            ln_z = whole.theta[whole.layout.node_range()].to_vec();
        }
        if whole.as_ref().is_some_and(|w| !is_lost(w)) {
            (sight, is_coarse) = (fine, false);
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
        let fine = Sight::fine(taken, known);
        comes_near = hunt::search(&sight, &fine, known, &ln_z, &mut all);
    }
    if is_coarse && comes_near {
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

/// An explanation fitted anew with more nodes.
pub(super) fn finer(fine: &Sight, s: &Settled) -> Option<Settled> {
    let sight = fine.ended(&s.kinds);
    let layout = sight.layout(s.known, &s.layout.faults);
    let begin = s.singles_and(&layout, &s.theta[s.layout.fault_range()]);
    let way = Way {
        most_wander: most_wander(&s.causes),
        ..WITH_FAULTS
    };
    let mut finer = settle(&sight, layout, s.known, &begin, way)?;
    finer.causes.clone_from(&s.causes);
    Some(finer)
}

fn most_wander(causes: &[Cause]) -> f64 {
    if causes.is_empty() {
        MOST_WANDER
    } else {
        GOOD_WANDER
    }
}

/// Whether a fit leaves anything to explain.
pub(super) fn is_suspicious(settled: &Settled) -> bool {
    let levels = &settled.levels;
    let sizes = [
        levels.wander,
        levels.shared,
        levels.connection,
        largest_noise(settled),
    ];
    let is_odd = |plug: usize| settled.theta[plug].abs() > ODD_PLUG;
    sizes
        .iter()
        .zip(SUSPICIOUS)
        .any(|(&size, most)| size > most)
        || is_odd(at::NEAR_LN_Z)
        || is_odd(at::FAR_LN_Z)
}

/// Whether a fit is too far off to start from.
pub(super) fn is_lost(settled: &Settled) -> bool {
    largest_noise(settled) > LOST_NOISE || settled.levels.shared > LOST_SHARED
}

/// Whether so much is left that no law of the conductors explains it.
fn is_hopeless(settled: &Settled) -> bool {
    largest_noise(settled) > UNEXPLAINED_RMS
}

fn largest_noise(settled: &Settled) -> f64 {
    let noise = settled.levels.noise.iter();
    noise.fold(0.0, |a: f64, &b| a.max(b))
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

impl Settled {
    /// Whether every fault is large enough to be one: unevenness that is as well told by a gentle
    /// stretch is none.
    fn is_worth_telling(&self) -> bool {
        let slots = self.theta[self.layout.fault_range()].chunks_exact(SLOTS);
        let mut faults = self.layout.faults.iter().zip(slots);
        faults.all(|(fault, theta)| match fault.shape {
            Shape::Series => theta[series::LN_R] > LEAST_LN_R || theta[series::LN_L] > LEAST_LN_L,
            _ => theta[stretch::STEP].abs() > LEAST_STEP,
        })
    }

    /// A start from its single unknowns and these of the faults.
    pub(super) fn singles_and(&self, layout: &Layout, slots: &[f64]) -> Vec<(usize, f64)> {
        let singles = (0..at::SINGLES).map(|i| (i, self.theta[i]));
        singles
            .chain(layout.fault_range().zip(slots.iter().copied()))
            .collect()
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

/// A cable without faults.
pub(super) fn settle_whole(
    sight: &Sight,
    known: Known,
    begin: &[(usize, f64)],
    most_wander: f64,
    steps: usize,
) -> Option<Settled> {
    let layout = sight.layout(known, &[]);
    let way = Way {
        most_wander,
        noise: &NOISE[1..],
        steps,
    };
    settle(sight, layout, known, begin, way)
}

/// The whole cable with conductors of any law, if the sweeps speak for it as for a fault and nothing
/// is left to explain: a wrong far end would bend any law.
fn of_other_law(sight: &Sight, whole: &Settled) -> Option<Settled> {
    let known = Known {
        any_conductor: true,
        ..whole.known
    };
    let begin = whole.singles_and(&whole.layout, &[]);
    let other = settle_whole(sight, known, &begin, MOST_WANDER, STEPS)?;
    let explains = other.ln_evidence > whole.ln_evidence + SURE && !is_suspicious(&other);
    explains.then_some(other)
}

/// How a fit goes about it: most wander, noise that it comes down in, most steps at each.
#[derive(Clone, Copy, Debug)]
pub(super) struct Way {
    most_wander: f64,
    noise: &'static [f64],
    steps: usize,
}

/// The way to a cable with faults, which is long.
pub(super) const WITH_FAULTS: Way = Way {
    most_wander: GOOD_WANDER,
    noise: &NOISE,
    steps: STEPS,
};

/// Fits all unknowns to part of the points, with the noise lowered in steps and the levels learnt.
/// `None` if the search is given up or the equations overflow.
pub(super) fn settle(
    sight: &Sight,
    layout: Layout,
    known: Known,
    begin: &[(usize, f64)],
    way: Way,
) -> Option<Settled> {
    Begun::new(sight, layout, known, begin, way)?.settled(sight)
}

/// A fit before its levels are learnt.
pub(super) struct Begun<'a> {
    problem: Problem<'a>,
    layout: Layout,
    known: Known,
}

impl<'a> Begun<'a> {
    /// Fits at noise that is lowered in steps. `None` if the search is given up.
    pub(super) fn new(
        sight: &'a Sight,
        layout: Layout,
        known: Known,
        begin: &[(usize, f64)],
        way: Way,
    ) -> Option<Self> {
        let few = &sight.readings;
        let mut problem = Problem::new(few, layout.clone(), first_levels(few), known, begin);
        problem.most_wander = way.most_wander;
        for &noise in way.noise {
            if sight.is_stopped() {
                return None;
            }
            problem.levels.noise = noise_levels(few, noise, noise);
            problem.minimise(way.steps);
        }
        Some(Self {
            problem,
            layout,
            known,
        })
    }

    pub(super) fn cost(&self) -> f64 {
        self.problem.cost
    }

    /// Whether a fit of this cost may yet turn out the best if the lowest is `lowest`.
    pub(super) fn may_win(&self, lowest: f64) -> bool {
        self.problem.cost <= FAR_ABOVE.0 * lowest + FAR_ABOVE.1
    }

    /// Learns the levels. `None` as [`settle`].
    pub(super) fn settled(mut self, sight: &Sight) -> Option<Settled> {
        if sight.is_stopped() {
            return None;
        }
        self.problem.learn_levels(FEW_ROUNDS)?;
        Some(Settled {
            causes: Vec::new(),
            kinds: self.layout.kinds.clone(),
            ln_evidence: self.problem.log_evidence()?,
            theta: self.problem.theta().to_vec(),
            levels: self.problem.levels.clone(),
            layout: self.layout,
            known: self.known,
        })
    }
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
    problem.minimise(MOST_STEPS);
    problem.learn_levels(LEVEL_ROUNDS)?;
    let before = problem.theta().to_vec();
    if !problem.converged() {
        problem.minimise(MOST_STEPS);
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
