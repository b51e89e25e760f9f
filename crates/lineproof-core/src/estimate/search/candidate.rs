//! An explanation fitted to part of the points: the unknowns and hyperparameters that suit it best, what it
//! leaves, and how much the sweeps speak for it.
//!
//! A fit comes down in noise, step by step, and learns its hyperparameters last: between the two those that can't
//! win any more are left.

use super::super::model::{AT, Fault, Kind, Layout, PARAMETERS};
use super::super::prior::{Hyperparameters, Known, Surroundings, noise_levels};
use super::cause::Cause;
use super::problem::Problem;
use super::subset::DataSubset;

/// Most that the impedance of a good cable may wander, rms of ln z.
pub(crate) const GOOD_WANDER: f64 = 0.006;
/// Most that an uneven one may.
pub(crate) const MOST_WANDER: f64 = 0.1;
/// A fit that leaves more than this (complex rms) explains nothing: ten times a poor analyser's
/// noise.
pub(crate) const UNEXPLAINED_RMS: f64 = 0.03;
/// Rounds of expectation-maximisation on part of the points.
pub(crate) const FEW_ROUNDS: usize = 6;
/// Steps of Gauss–Newton at fixed hyperparameters that count as not converging.
pub(crate) const MOST_STEPS: usize = 30;
/// Noise, and errors that calibration leaves, from which a whole cable's fit is no place to start
/// from: half as much again as a poor analyser's.
pub(crate) const LOST_NOISE: f64 = 6e-3;
const LOST_SHARED: f64 = 8e-3;
/// A fit whose cost is above this many times the lowest and so much more, before hyperparameters are learnt,
/// is out: real noise is lower and parts them further.
const FAR_ABOVE: (f64, f64) = (2.0, 60.0);
/// Noise that a fit comes down in, and steps at each where faults make the way long.
const NOISE: [f64; 3] = [0.02, 0.005, 0.001];
pub(crate) const STEPS: usize = 12;
/// Steps from the minimum at some hyperparameters to that at others, and the fall of cost by which an explanation
/// may yet be sure; its freedom costs several times as much.
const RETURN_STEPS: usize = 4;
pub(crate) const LEAST_GAIN: f64 = 6.0;
/// Wander from which a cable thought whole is searched for faults.
pub(crate) const UNEVEN: f64 = 0.0035;
/// Sizes from which a cable thought whole leaves something to explain: wander, what calibration
/// leaves, connection, noise.
const SUSPICIOUS: [f64; 4] = [UNEVEN, 1.2e-3, 6e-4, 5e-3];
/// ln of a plug's impedance over the load's from which, either way, nothing is a plug.
const ODD_PLUG: f64 = 1.0;
/// Least step of ln z, ln of resistance and of inductance (as a time constant) over the load, that
/// are called a fault: 3 %, which is less than the ±2 ohm in 50 that cables are sold with; half an
/// ohm and 1 nH on 50.
pub(crate) const LEAST_STEP: f64 = 0.03;
const LEAST_LN_R: f64 = -4.6;
const LEAST_LN_L: f64 = -24.6;

/// Turn of a reflection's phase at half the stop frequency that two places must make to be two, degrees: more
/// than calibration leaves.
const PLACE_PHASE_DEG: f64 = 3.0;

/// One-way delay that no place is known better than, s.
pub(crate) fn place_resolution_s(stop_hz: f64) -> f64 {
    // there and back, at half the stop
    PLACE_PHASE_DEG / 360.0 / stop_hz
}

/// Delay of a wet stretch, in periods of the stop frequency, from which more shows of it than that its impedance is
/// another: near a third of what two places must be apart to look like two.
const LEAST_WET_PERIODS: f64 = 0.15;

/// The same from which two places look like two.
const RESOLVED_PERIODS: f64 = 0.5;

/// Delay of a stub, in periods of the stop frequency, from which its own resonance shows: half way to it.
const LEAST_STUB_PERIODS: f64 = 0.125;

/// An explanation with the unknowns and hyperparameters that suit it best, on part of the points.
#[derive(Clone, Debug)]
pub(crate) struct CandidateFit {
    /// The fault of each place, or an early end; none of a whole cable.
    pub(crate) causes: Vec<Cause>,
    /// Far ends as they are thought to be.
    pub(crate) kinds: Vec<Kind>,
    pub(crate) layout: Layout,
    pub(crate) known: Known,
    pub(crate) hyperparameters: Hyperparameters,
    pub(crate) theta: Vec<f64>,
    pub(crate) ln_evidence: f64,
}

impl CandidateFit {
    /// Values of the faults' unknowns.
    pub(crate) fn faults(&self) -> Vec<Fault<f64>> {
        self.layout.fault_values(&self.theta)
    }

    /// The cable as a fault's prior asks for it.
    pub(crate) fn surroundings(&self) -> Surroundings {
        Surroundings {
            delay_s: self.known.delay_s,
            ln_z: self.theta[AT.line.ln_z],
            kit_ohm: self.known.kit_ohm,
            plug_ohm: self.known.kit_ohm
                * self.theta[AT.near.ln_z].min(self.theta[AT.far.ln_z]).exp(),
        }
    }

    /// Whether every fault is large enough to be one: unevenness that a gentle stretch explains as well
    /// is none.
    pub(crate) fn is_worth_reporting(&self) -> bool {
        self.faults().into_iter().all(|fault| match fault {
            Fault::Series { ln_r, ln_l, .. } => ln_r > LEAST_LN_R || ln_l > LEAST_LN_L,
            // what conducts across the line reflects as its reciprocal in series does
            Fault::Shunt { ln_r, ln_c, .. } => -ln_r > LEAST_LN_R || ln_c > LEAST_LN_L,
            // a stub shorter than that is a capacitance, and nothing says that it is a stub
            Fault::Stub { ln_delay, .. } => {
                ln_delay.exp() * self.layout.covered_hz.1 > LEAST_STUB_PERIODS
            }
            Fault::Between { other, .. } | Fault::Around { other, .. } => {
                other.ln_z_step.abs() > LEAST_STEP
            }
        })
    }

    /// Whether a fault that may be anywhere came to stand at an end of the cable: what is there belongs to the
    /// plug, and has no place of its own.
    fn is_at_an_end(&self) -> bool {
        let (_, stop_hz) = self.layout.covered_hz;
        let least = place_resolution_s(stop_hz) / self.known.delay_s;
        let priors = self.layout.faults().iter().copied();
        priors.zip(self.faults()).any(|(mut prior, mut values)| {
            let free = prior.places_mut().into_iter().map(|p| !p.is_fixed());
            let mut places = free.zip(values.places_mut());
            places.any(|(is_free, place)| is_free && !(least..=1.0 - least).contains(place))
        })
    }

    /// Whether it may be named at all: each fault has a place of its own, and shows what it is named for.
    pub(crate) fn is_nameable(&self) -> bool {
        !self.is_at_an_end() && !self.is_wet_unseen() && !self.is_wet_of_higher_impedance()
    }

    /// Whether a stretch is called wet whose impedance is not lower: water raises the permittivity.
    fn is_wet_of_higher_impedance(&self) -> bool {
        let mut faults = self.causes.iter().zip(self.faults());
        faults.any(|(cause, fault)| {
            let step = fault.other_line().map(|other| other.ln_z_step);
            *cause == Cause::Wet && step.is_some_and(|step| step > -LEAST_STEP)
        })
    }

    /// Whether a stretch is called wet that is too short for its velocity or its loss to show.
    fn is_wet_unseen(&self) -> bool {
        self.has_wet_shorter_than(LEAST_WET_PERIODS)
    }

    /// Whether a stretch is called wet whose two edges look like one.
    pub(crate) fn is_wet_unresolved(&self) -> bool {
        self.has_wet_shorter_than(RESOLVED_PERIODS)
    }

    fn has_wet_shorter_than(&self, periods: f64) -> bool {
        let (_, stop_hz) = self.layout.covered_hz;
        let mut faults = self.layout.fault_at().iter().zip(&self.causes);
        faults.any(|(at, cause)| {
            let [begin, end] = at.edges(&self.theta);
            let delay_s = (end.place - begin.place) * self.known.delay_s;
            *cause == Cause::Wet && delay_s * stop_hz < periods
        })
    }

    /// Whether its hyperparameters are those of a good cable, as those of a faulty one have to be.
    pub(crate) fn wanders_like_a_good_one(&self) -> bool {
        self.hyperparameters.wander <= GOOD_WANDER
    }

    /// By how much its cost falls from where it stands, at its hyperparameters, if this is known instead.
    pub(crate) fn fall(&self, subset: &DataSubset, known: Known) -> f64 {
        let mut problem = self.problem(subset, known);
        problem.minimise(0);
        let before = problem.cost;
        problem.minimise(RETURN_STEPS);
        before - problem.cost
    }

    /// Its cost at its hyperparameters.
    pub(crate) fn cost(&self, subset: &DataSubset) -> f64 {
        let mut problem = self.problem(subset, self.known);
        problem.minimise(RETURN_STEPS);
        problem.cost
    }

    fn problem<'a>(&self, subset: &'a DataSubset, known: Known) -> Problem<'a> {
        let (layout, hyperparameters) = (self.layout.clone(), self.hyperparameters.clone());
        let begin: Vec<(usize, f64)> = self.theta.iter().copied().enumerate().collect();
        Problem::new(&subset.readings, layout, hyperparameters, known, &begin)
    }

    /// A start from its single unknowns and these of the faults.
    pub(crate) fn start_with(&self, layout: &Layout, faults: &[Fault<f64>]) -> Vec<(usize, f64)> {
        // nodes and smooth errors start anew: those of another explanation would hold the fit to it
        let singles = (0..PARAMETERS).map(|i| (i, self.theta[i]));
        let antennas = layout.antennas().into_iter().zip(self.layout.antennas());
        let antennas = antennas.flat_map(|(to, from)| to.zip(from.map(|i| self.theta[i])));
        singles
            .chain(layout.fault_start(faults))
            .chain(antennas)
            .collect()
    }
}

/// Whether a fit leaves anything to explain.
pub(crate) fn is_suspicious(fit: &CandidateFit) -> bool {
    has_odd_sizes(&fit.hyperparameters, &fit.theta)
}

/// Whether these are other than a good cable and a good analyser have.
pub(crate) fn has_odd_sizes(hyperparameters: &Hyperparameters, theta: &[f64]) -> bool {
    let sizes = [
        hyperparameters.wander,
        hyperparameters.shared,
        hyperparameters.connection,
        hyperparameters.largest_noise(),
    ];
    let is_odd = |plug: usize| theta[plug].abs() > ODD_PLUG;
    sizes
        .iter()
        .zip(SUSPICIOUS)
        .any(|(&size, most)| size > most)
        || is_odd(AT.near.ln_z)
        || is_odd(AT.far.ln_z)
}

/// Whether a fit is too far off to start from.
pub(crate) fn is_lost(fit: &CandidateFit) -> bool {
    fit.hyperparameters.largest_noise() > LOST_NOISE || fit.hyperparameters.shared > LOST_SHARED
}

/// Whether so much is left that no law of the conductors explains it.
pub(crate) fn is_hopeless(fit: &CandidateFit) -> bool {
    fit.hyperparameters.largest_noise() > UNEXPLAINED_RMS
}

/// How a fit goes about it: most wander, noise that it comes down in, most steps at each.
#[derive(Clone, Copy, Debug)]
pub(crate) struct FitSchedule {
    most_wander: f64,
    noise: &'static [f64],
    steps: usize,
}

/// For a cable with faults, to which the way is long.
pub(crate) const WITH_FAULTS: FitSchedule = FitSchedule {
    most_wander: GOOD_WANDER,
    noise: &NOISE,
    steps: STEPS,
};

/// A cable without faults.
pub(crate) fn fit_whole(
    subset: &DataSubset,
    known: Known,
    begin: &[(usize, f64)],
    most_wander: f64,
    steps: usize,
) -> Option<CandidateFit> {
    let layout = subset.layout(known, &[]);
    let schedule = FitSchedule {
        most_wander,
        noise: &NOISE[1..],
        steps,
    };
    fit_candidate(subset, layout, known, begin, schedule)
}

/// The same from a start that may be far off: with the noise lowered from high above.
pub(crate) fn fit_whole_from_afar(
    subset: &DataSubset,
    known: Known,
    begin: &[(usize, f64)],
) -> Option<CandidateFit> {
    let schedule = FitSchedule {
        most_wander: MOST_WANDER,
        noise: &NOISE,
        steps: MOST_STEPS,
    };
    fit_candidate(subset, subset.layout(known, &[]), known, begin, schedule)
}

/// An explanation fitted anew with more nodes.
pub(crate) fn finer(fine: &DataSubset, s: &CandidateFit) -> Option<CandidateFit> {
    let subset = fine.with_kinds(&s.kinds);
    let layout = subset.layout(s.known, s.layout.faults());
    let begin = s.start_with(&layout, &s.faults());
    let schedule = FitSchedule {
        most_wander: most_wander(&s.causes),
        ..WITH_FAULTS
    };
    let mut finer = fit_candidate(&subset, layout, s.known, &begin, schedule)?;
    finer.causes.clone_from(&s.causes);
    Some(finer)
}

pub(crate) fn most_wander(causes: &[Cause]) -> f64 {
    if causes.is_empty() {
        MOST_WANDER
    } else {
        GOOD_WANDER
    }
}

/// Fits all unknowns to part of the points, with the noise lowered in steps and the hyperparameters learnt.
/// `None` if the search is cancelled or the equations overflow.
pub(crate) fn fit_candidate(
    subset: &DataSubset,
    layout: Layout,
    known: Known,
    begin: &[(usize, f64)],
    schedule: FitSchedule,
) -> Option<CandidateFit> {
    FitStage::new(subset, layout, known, begin, schedule)?.learn(subset)
}

/// A fit before its hyperparameters are learnt.
pub(crate) struct FitStage<'a> {
    problem: Problem<'a>,
    layout: Layout,
    known: Known,
}

impl<'a> FitStage<'a> {
    /// Fits at noise that is lowered in steps. `None` if the search is cancelled.
    pub(crate) fn new(
        subset: &'a DataSubset,
        layout: Layout,
        known: Known,
        begin: &[(usize, f64)],
        schedule: FitSchedule,
    ) -> Option<Self> {
        let few = &subset.readings;
        let mut problem = Problem::new(
            few,
            layout.clone(),
            Hyperparameters::first(few),
            known,
            begin,
        );
        // noise comes down in steps: at once, the fit would stay in the first fringe it meets
        problem.most_wander = schedule.most_wander;
        for &noise in schedule.noise {
            if subset.is_cancelled() {
                return None;
            }
            problem.hyperparameters.noise = noise_levels(few, noise);
            problem.minimise(schedule.steps);
        }
        Some(Self {
            problem,
            layout,
            known,
        })
    }

    pub(crate) fn cost(&self) -> f64 {
        self.problem.cost
    }

    /// Whether it may turn out to explain more than another does: cost at the other's hyperparameters, which
    /// have to be of the same kind.
    pub(crate) fn may_beat(&mut self, other: &CandidateFit, cost: f64) -> bool {
        self.problem.cost_at(&other.hyperparameters, RETURN_STEPS) < cost - LEAST_GAIN
    }

    /// Whether a fit of this cost may yet turn out the best if the lowest is `lowest`.
    pub(crate) fn may_win(&self, lowest: f64) -> bool {
        self.problem.cost <= FAR_ABOVE.0 * lowest + FAR_ABOVE.1
    }

    /// Learns the hyperparameters. `None` as [`fit_candidate`].
    pub(crate) fn learn(mut self, subset: &DataSubset) -> Option<CandidateFit> {
        if subset.is_cancelled() {
            return None;
        }
        self.problem.learn_hyperparameters(FEW_ROUNDS)?;
        Some(CandidateFit {
            causes: Vec::new(),
            kinds: self.layout.kinds.clone(),
            ln_evidence: self.problem.log_evidence()?,
            theta: self.problem.theta().to_vec(),
            hyperparameters: self.problem.hyperparameters.clone(),
            layout: self.layout,
            known: self.known,
        })
    }
}
