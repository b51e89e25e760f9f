//! From a rough start to the right minimum: fit the lowest frequencies first, then let the band
//! grow.
//!
//! Where the sweep turns only a few times, plugs and parasitics hardly show and the minimum is
//! broad. Each doubling of the band starts from a delay that is already known to a small part of
//! the next band's fringe. The fits are coarse: few points, few nodes, large noise.

use std::sync::atomic::{AtomicBool, Ordering};

use super::fault::Fault;
use super::fit::Problem;
use super::forward::Readings;
use super::proposal::Proposal;
use super::start::{self, Start};
use super::unknowns::{Known, Layout, Levels, at};
use super::{covered, kinds, noise_levels};
use crate::parallel::prelude::*;

/// Where the full fit starts.
#[derive(Clone, Debug)]
pub(super) struct Climbed {
    /// Values of the single unknowns.
    pub(super) singles: Vec<(usize, f64)>,
    /// One-way delay of the piece, s.
    pub(super) delay_s: f64,
    /// What the coarse fit of the last band leaves, over its noise.
    pub(super) misfit: f64,
    /// Unknowns of the faults.
    pub(super) slots: Vec<f64>,
}

/// Points of each reading set in a coarse fit.
const POINTS: usize = 72;
/// Noise of the coarse fits (complex rms).
const COARSE_NOISE: f64 = 0.02;
/// A coarse fit that leaves less than this part of its noise is at the right minimum.
const GOOD_PART: f64 = 0.4;
/// One that leaves less than this many times its noise is at the right minimum if another climb came
/// to the same delay.
const FAIR_PART: f64 = 1.5;
/// Delays that differ by less than this part of the stop frequency's period are one.
const SAME_PART: f64 = 0.1;
/// One that leaves more than this many times its noise in the first band is at a wrong one, or the
/// cable has two impedances.
const HOPELESS_PART: f64 = 4.0;
/// Steps of one coarse fit.
const COARSE_STEPS: usize = 12;
/// Round trips (turns of the reflection) in the first band.
const FIRST_TURNS: f64 = 1.5;

/// The best of the climbs from the search's starts. Those that do not fit the first band wait until
/// all others have failed.
pub(super) fn best(readings: &[Readings], known: Known, stop: &AtomicBool) -> Option<Climbed> {
    let far_ratio = known.far_ratio.0.exp();
    let (_, stop_hz) = covered(readings);
    let range_s = start::unfolded_range(readings);
    let mut ends: Vec<Climbed> = Vec::new();
    // some fits run away to cables that the step could not show
    let ran_away =
        |climbed: &Climbed| climbed.delay_s <= 0.0 || range_s > 0.0 && climbed.delay_s > range_s;
    let mut is_enough = |climbed: Climbed| {
        let same = |other: &Climbed| (other.delay_s - climbed.delay_s).abs() * stop_hz < SAME_PART;
        let misfit = climbed.misfit;
        let right = misfit < GOOD_PART || misfit < FAIR_PART && ends.iter().any(same);
        let enough = right && !ran_away(&climbed);
        ends.push(climbed);
        enough
    };
    let mut waiting = Vec::new();
    let found = start::search(readings, far_ratio).any(|start| {
        if stop.load(Ordering::Relaxed) {
            return true;
        }
        let mut climb = Climb::new(readings, known, &start, None);
        climb.fit();
        if climb.at.misfit > HOPELESS_PART {
            waiting.push(climb);
            return false;
        }
        is_enough(climb.finish())
    });
    if !found {
        let _ = waiting.into_iter().any(|climb| is_enough(climb.finish()));
    }
    let order = |c: &Climbed| (ran_away(c), c.misfit);
    ends.into_iter().min_by(|a, b| {
        let (a, b) = (order(a), order(b));
        a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
    })
}

/// Climbs with a fault along the cable from every start; `most` of the first bands are gone on
/// from. The best first.
pub(super) fn with_faults(
    readings: &[Readings],
    known: Known,
    starts: &[Start],
    proposals: &[Proposal],
    most: usize,
    stop: &AtomicBool,
) -> Vec<(Climbed, Proposal)> {
    // a whole cable's fit that went astray may have come to a delay that nothing has
    let pairs: Vec<(&Start, &Proposal)> = starts
        .iter()
        .filter(|s| s.delay_s > 0.0)
        .flat_map(|s| proposals.iter().map(move |p| (s, p)))
        .collect();
    let mut climbs: Vec<(Climb, Proposal)> = pairs
        .into_par_iter()
        .filter(|_| !stop.load(Ordering::Relaxed))
        .map(|(start, p)| {
            let mut climb = Climb::new(readings, known, start, Some(p));
            climb.fit();
            (climb, *p)
        })
        .collect();
    climbs.sort_by(|a, b| a.0.at.misfit.total_cmp(&b.0.at.misfit));
    climbs.truncate(most);
    let mut ends: Vec<(Climbed, Proposal)> = climbs
        .into_par_iter()
        .filter(|_| !stop.load(Ordering::Relaxed))
        .map(|(c, p)| (c.finish(), p))
        .collect();
    ends.sort_by(|a, b| a.0.misfit.total_cmp(&b.0.misfit));
    ends
}

/// A climb under way.
struct Climb<'a> {
    readings: &'a [Readings],
    known: Known,
    stop_hz: f64,
    band_hz: f64,
    faults: Vec<Fault>,
    at: Climbed,
}

impl<'a> Climb<'a> {
    fn new(
        readings: &'a [Readings],
        known: Known,
        start: &Start,
        proposal: Option<&Proposal>,
    ) -> Self {
        let delay_s = start.delay_s;
        let (_, stop_hz) = covered(readings);
        Self {
            readings,
            known: Known { delay_s, ..known },
            stop_hz,
            band_hz: stop_hz.min(FIRST_TURNS / (2.0 * delay_s)),
            at: Climbed {
                singles: vec![
                    (at::LINE, start.ln_z),
                    (at::LINE + 1, delay_s),
                    (at::LINE + 2, start.ln_conductor),
                ],
                delay_s,
                misfit: f64::INFINITY,
                slots: proposal.map_or_else(Vec::new, |p| p.start.to_vec()),
            },
            faults: proposal.iter().map(|p| p.fault).collect(),
        }
    }

    /// Fits the present band.
    fn fit(&mut self) {
        let thinned: Vec<Readings> = self
            .readings
            .iter()
            .map(|r| start::thin(r, self.band_hz, POINTS))
            .collect();
        let rows: usize = thinned.iter().map(|r| 2 * r.freq_hz.len()).sum();
        let layout = Layout {
            kinds: kinds(&thinned),
            terms: 2,
            nodes: 4,
            faults: self.faults.clone(),
            covered_hz: covered(&thinned),
        };
        let levels = Levels {
            shared: 3e-3,
            connection: 1e-3,
            wander: 0.02,
            noise: noise_levels(&thinned, COARSE_NOISE, COARSE_NOISE),
        };
        let faults = layout.fault_range();
        let slots = faults.clone().zip(self.at.slots.iter().copied());
        let begin: Vec<(usize, f64)> = self.at.singles.iter().copied().chain(slots).collect();
        let mut problem = Problem::new(&thinned, layout, levels, self.known, &begin);
        problem.minimise(COARSE_STEPS);
        let theta = problem.theta();
        self.at = Climbed {
            singles: (0..at::SINGLES).map(|i| (i, theta[i])).collect(),
            delay_s: theta[at::LINE + 1],
            misfit: (problem.cost / rows as f64).sqrt(),
            slots: theta[faults].to_vec(),
        };
    }

    /// From a fitted band to the whole.
    fn finish(mut self) -> Climbed {
        while self.band_hz < self.stop_hz {
            self.band_hz = self.stop_hz.min(2.0 * self.band_hz);
            self.fit();
        }
        self.at
    }
}

#[cfg(test)]
mod tests {
    use super::super::proposal;
    use super::super::unknowns::Kind;
    use super::*;

    /// Sweeps whose far ends are declared the wrong way round bring the whole cable's fit to such a
    /// start.
    #[test]
    fn a_start_that_nothing_has_is_not_climbed_from() {
        let freq_hz: Vec<f64> = (1..40).map(|i| 1e7 * f64::from(i)).collect();
        let readings = [Readings {
            kind: Kind::Open,
            reflection: vec![1.0.into(); freq_hz.len()],
            transmission: Vec::new(),
            freq_hz,
        }];
        let known = Known::of_delay(3e-9);
        let start = Start {
            ln_z: 0.0,
            delay_s: -1e-9,
            ln_conductor: 5.0,
            rms: 0.0,
        };
        let dent = proposal::dent(0.5, 3e-9, -0.2);
        let never = AtomicBool::new(false);
        assert!(with_faults(&readings, known, &[start], &[dent], 4, &never).is_empty());
    }
}
