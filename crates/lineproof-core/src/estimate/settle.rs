//! An explanation fitted to part of the points: the unknowns and levels that suit it best, what it
//! leaves, and how much the sweeps speak for it.
//!
//! A fit comes down in noise, step by step, and learns its levels last: between the two those that can't
//! win any more are left.

use std::sync::atomic::{AtomicBool, Ordering};

use super::explain::Cause;
use super::fault::{Fault, SLOTS, Shape, series, stretch};
use super::fit::Problem;
use super::forward::Readings;
use super::unknowns::{Kind, Known, Layout, Levels, at, resolved_hz, smooth_terms, wanted_nodes};
use super::{
    FEW_POINTS, FEW_ROUNDS, MOST_NODES, UNEXPLAINED_RMS, covered, first_levels, kinds,
    noise_levels, start,
};

/// Most that the impedance of a good cable may wander, rms of ln z.
pub(super) const GOOD_WANDER: f64 = 0.006;
/// Most that an uneven one may.
pub(super) const MOST_WANDER: f64 = 0.1;
/// Noise, and errors that calibration leaves, from which a whole cable's fit is no place to start
/// from: half as much again as a poor analyser's.
const LOST_NOISE: f64 = 6e-3;
const LOST_SHARED: f64 = 8e-3;
/// Most nodes while a fault is looked for from scratch.
const COARSE_NODES: usize = 40;
/// A fit whose cost is above this many times the lowest and so much more, before levels are learnt,
/// is out: real noise is lower and parts them further.
const FAR_ABOVE: (f64, f64) = (2.0, 60.0);
/// Noise that a fit comes down in, and steps at each where faults make the way long.
const NOISE: [f64; 3] = [0.02, 0.005, 0.001];
pub(super) const STEPS: usize = 12;
/// Steps from the minimum at some levels to that at others, and the fall of cost by which an explanation
/// may yet be sure; its freedom costs several times as much.
const RETURN_STEPS: usize = 4;
pub(super) const LEAST_GAIN: f64 = 6.0;
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

impl Settled {
    /// Whether every fault is large enough to be one: unevenness that is as well told by a gentle
    /// stretch is none.
    pub(super) fn is_worth_telling(&self) -> bool {
        let slots = self.theta[self.layout.fault_range()].chunks_exact(SLOTS);
        let mut faults = self.layout.faults.iter().zip(slots);
        faults.all(|(fault, theta)| match fault.shape {
            Shape::Series => theta[series::LN_R] > LEAST_LN_R || theta[series::LN_L] > LEAST_LN_L,
            _ => theta[stretch::STEP].abs() > LEAST_STEP,
        })
    }

    /// Whether its levels are those of a good cable, as those of a faulty one have to be.
    pub(super) fn wanders_like_a_good_one(&self) -> bool {
        self.levels.wander <= GOOD_WANDER
    }

    /// By how much its cost falls from where it stands, at its levels, if this is known instead.
    pub(super) fn fall(&self, sight: &Sight, known: Known) -> f64 {
        let mut problem = self.problem(sight, known);
        problem.minimise(0);
        let before = problem.cost;
        problem.minimise(RETURN_STEPS);
        before - problem.cost
    }

    /// Its cost at its levels.
    pub(super) fn cost(&self, sight: &Sight) -> f64 {
        let mut problem = self.problem(sight, self.known);
        problem.minimise(RETURN_STEPS);
        problem.cost
    }

    fn problem<'a>(&self, sight: &'a Sight, known: Known) -> Problem<'a> {
        let (layout, levels) = (self.layout.clone(), self.levels.clone());
        let begin: Vec<(usize, f64)> = self.theta.iter().copied().enumerate().collect();
        Problem::new(&sight.readings, layout, levels, known, &begin)
    }

    /// A start from its single unknowns and these of the faults.
    pub(super) fn singles_and(&self, layout: &Layout, slots: &[f64]) -> Vec<(usize, f64)> {
        let singles = (0..at::SINGLES).map(|i| (i, self.theta[i]));
        singles
            .chain(layout.fault_range().zip(slots.iter().copied()))
            .collect()
    }
}

/// Whether a fit leaves anything to explain.
pub(super) fn is_suspicious(settled: &Settled) -> bool {
    let levels = &settled.levels;
    let sizes = [
        levels.wander,
        levels.shared,
        levels.connection,
        settled.levels.largest_noise(),
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
    settled.levels.largest_noise() > LOST_NOISE || settled.levels.shared > LOST_SHARED
}

/// Whether so much is left that no law of the conductors explains it.
pub(super) fn is_hopeless(settled: &Settled) -> bool {
    settled.levels.largest_noise() > UNEXPLAINED_RMS
}

/// Sweeps of the cable, and checks of the calibration, which say nothing of it by themselves.
#[derive(Clone, Copy, Debug)]
pub(super) struct Taken<'a> {
    pub(super) of_cable: &'a [Readings],
    pub(super) checks: &'a [Readings],
    pub(super) stop: &'a AtomicBool,
}

impl Taken<'_> {
    pub(super) fn all(&self) -> Vec<Readings> {
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
    pub(super) fn fine(taken: &Taken<'a>, known: Known) -> Self {
        Self::up_to(f64::INFINITY, taken, known)
    }

    /// Up to the frequency to which the most nodes are enough: above, a long cable's unevenness looks
    /// like noise.
    pub(super) fn resolved(taken: &Taken<'a>, known: Known) -> Self {
        Self::up_to(resolved_hz(known.delay_s, MOST_NODES), taken, known)
    }

    fn up_to(stop_hz: f64, taken: &Taken<'a>, known: Known) -> Self {
        let (_, highest_hz) = covered(taken.of_cable);
        let nodes = wanted_nodes(known.delay_s, highest_hz, MOST_NODES);
        let points = FEW_POINTS.max(2 * nodes);
        let below = |r: &Readings| {
            let enough = r.freq_hz.get(FEW_POINTS).copied();
            start::thin(r, enough.map_or(f64::INFINITY, |f| f.max(stop_hz)), points)
        };
        Self {
            of_cable: taken.of_cable.to_vec(),
            readings: taken.all().iter().map(below).collect(),
            most_nodes: MOST_NODES,
            stop: taken.stop,
        }
    }

    pub(super) fn coarse(taken: &Taken<'a>) -> Self {
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

    /// Whether it reaches as far up as `other`.
    pub(super) fn reaches(&self, other: &Self) -> bool {
        covered(&self.readings).1 >= covered(&other.readings).1
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

pub(super) fn ended(readings: &[Readings], kinds: &[Kind]) -> Vec<Readings> {
    let ended = |(r, &kind): (&Readings, &Kind)| Readings { kind, ..r.clone() };
    readings.iter().zip(kinds).map(ended).collect()
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

pub(super) fn most_wander(causes: &[Cause]) -> f64 {
    if causes.is_empty() {
        MOST_WANDER
    } else {
        GOOD_WANDER
    }
}

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

    /// Whether it may turn out to explain more than another does: cost at the other's levels, which
    /// have to be of the same kind.
    pub(super) fn may_beat(&mut self, other: &Settled, cost: f64) -> bool {
        self.problem.cost_at(&other.levels, RETURN_STEPS) < cost - LEAST_GAIN
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
