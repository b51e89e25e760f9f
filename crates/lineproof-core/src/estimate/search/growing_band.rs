//! From a rough start to the right minimum: fit the lowest frequencies first, then let the band
//! grow.
//!
//! Where the sweep turns only a few times, plugs and parasitics hardly show and the minimum is
//! broad. Each doubling of the band starts from a delay that is already known to a small part of
//! the next band's fringe. The fits are coarse: few points, few nodes, large noise.

use std::f64::consts::PI;
use std::ops::RangeInclusive;
use std::sync::atomic::{AtomicBool, Ordering};

use super::super::model::{AT, Fault, Layout, Normal, PARAMETERS, Readings, covered, kinds, thin};
use super::super::prior::{Hyperparameters, Known, noise_levels};
use super::problem::Problem;
use super::proposal::Proposal;
use super::reach::{self, KindAndGrid};
use super::start::{self, Start};
use crate::constants::{DB_PER_NEPER, SPEED_OF_LIGHT_M_S};
use crate::line::possible::LOSS_HZ;
use crate::method::velocity::USUAL;
use crate::parallel::prelude::*;

/// Where the full fit starts.
#[derive(Clone, Debug)]
pub(crate) struct BandStart {
    /// Values of the single unknowns.
    pub(crate) singles: Vec<(usize, f64)>,
    /// One-schedule delay of the piece, s.
    pub(crate) delay_s: f64,
    /// What the coarse fit of the last band leaves, over its noise.
    pub(crate) misfit: f64,
    /// Values of the fault's unknowns.
    pub(crate) fault: Option<Fault<f64>>,
}

/// Points of each reading set in a coarse fit.
const POINTS: usize = 72;
/// Noise of the coarse fits (complex rms).
const COARSE_NOISE: f64 = 0.02;
/// A coarse fit that leaves less than this part of its noise is at the right minimum.
const GOOD_PART: f64 = 0.4;
/// One that leaves less than this many times its noise is at the right minimum if another start came
/// to the same delay.
const FAIR_PART: f64 = 1.5;
/// One beyond the range of the step must leave less than this many times its noise.
const LEAST_BEYOND: f64 = 2.0;
/// Delays that differ by less than this part of the stop frequency's period are one.
const SAME_PART: f64 = 0.1;
/// One that leaves more than this many times its noise in the first band is at a wrong one, or the
/// cable has two impedances.
const HOPELESS_PART: f64 = 4.0;
/// Factor within which a coarse fit knows the loss.
const LOSS_WITHIN: f64 = 1.5;
/// Steps of one coarse fit.
const COARSE_STEPS: usize = 12;
/// Most times that a better delay is sought among the folds of the best: its loss tells which delays are possible.
const MOST_UNFOLDINGS: usize = 3;
/// What a fit at another fold may leave, over what the best one does, to be compared with it by the evidence: coarse
/// noise hides what tells them apart. And how many are.
const RIVAL_PART: f64 = 1.5;
const MOST_RIVALS: usize = 5;
/// Round trips (turns of the reflection) in the first band.
const FIRST_TURNS: f64 = 1.5;
/// Steps of the grid in the first band of a cable beyond the range.
const LEAST_STEPS: f64 = 8.0;

/// The best of the fits from the search's starts, and behind it those nearly as good whose delay differs by whole
/// ranges of the step. Starts that do not fit the first band wait until all others have failed.
pub(crate) fn best(
    readings: &[Readings],
    known: Known,
    stop: &AtomicBool,
) -> Option<Vec<BandStart>> {
    let far_ratio = known.far_ratio.0.exp();
    let (_, stop_hz) = covered(readings);
    let range_s = start::unfolded_range(readings);
    let longest_s = reach::longest_by_loss_s(readings);
    let mut ends: Vec<BandStart> = Vec::new();
    let ran_away = |fitted: &BandStart| fitted.ran_away(range_s, longest_s);
    // a fair fit may be that of a delay which is the right one less the range: only the best will do
    let may_be_folded = longest_s > range_s;
    let mut is_enough = |fitted: BandStart| {
        let same = |other: &BandStart| (other.delay_s - fitted.delay_s).abs() * stop_hz < SAME_PART;
        let misfit = fitted.misfit;
        let is_fair = misfit < FAIR_PART && !may_be_folded && ends.iter().any(same);
        let right = misfit < GOOD_PART || is_fair;
        let enough = right && !ran_away(&fitted);
        ends.push(fitted);
        enough
    };
    let mut waiting = Vec::new();
    let beyond = start::search_beyond(readings, far_ratio, longest_s);
    let found = start::search(readings, far_ratio)
        .chain(beyond)
        .any(|start| {
            if stop.load(Ordering::Relaxed) {
                return true;
            }
            let mut growing = GrowingBand::new(readings, known, &start, None);
            growing.fit();
            if growing.at.misfit > HOPELESS_PART {
                waiting.push(growing);
                return false;
            }
            is_enough(growing.finish())
        });
    if !found {
        let _ = waiting
            .into_iter()
            .any(|growing| is_enough(growing.finish()));
    }
    let order = |c: &BandStart| (ran_away(c), c.misfit);
    let found = ends.into_iter().min_by(|a, b| {
        let (a, b) = (order(a), order(b));
        a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))
    })?;
    Some(if ran_away(&found) {
        vec![found]
    } else {
        folds(found, readings, known, longest_s, stop)
    })
}

/// The best of the fits at delays that differ by whole ranges of the step, and those that are nearly as good; the best
/// first. Those that the search starts from are not all of them: its rough line ranks them by what it cannot follow.
fn folds(
    found: BandStart,
    readings: &[Readings],
    known: Known,
    longest_s: f64,
    stop: &AtomicBool,
) -> Vec<BandStart> {
    let range_s = start::unfolded_range(readings);
    let mut fits = vec![found];
    if range_s <= 0.0 {
        return fits;
    }
    let grids: Vec<KindAndGrid> = readings.iter().map(|r| (r.kind, &*r.freq_hz)).collect();
    for _ in 0..MOST_UNFOLDINGS {
        let best = &fits[0];
        let delays = reach::other_folds_s(&grids, best.delay_s, range_s, &best.loss_within());
        let others = delays
            .into_iter()
            .filter(|&delay_s| delay_s <= longest_s.max(range_s) && !stop.load(Ordering::Relaxed))
            .map(|delay_s| {
                let mut growing = GrowingBand::at_fold(readings, known, best, delay_s, range_s);
                growing.fit();
                growing.finish()
            });
        let others: Vec<BandStart> = others
            .filter(|other| !other.ran_away(range_s, longest_s))
            .collect();
        let was_s = best.delay_s;
        fits.truncate(1);
        fits.extend(others);
        fits.sort_by(|a, b| a.misfit.total_cmp(&b.misfit));
        if fits[0].delay_s.total_cmp(&was_s).is_eq() {
            break;
        }
    }
    let close = RIVAL_PART * fits[0].misfit;
    fits.retain(|fit| fit.misfit <= close);
    fits.truncate(MOST_RIVALS);
    fits
}

/// The start at another delay that turns every phase alike, if the tape rules out the one found and leaves one.
pub(crate) fn by_tape(start: BandStart, readings: &[Readings], known: Known) -> BandStart {
    let Some(length_m) = known.length_m else {
        return start;
    };
    let is_usual = |delay_s: f64| USUAL.contains(&(length_m / (SPEED_OF_LIGHT_M_S * delay_s)));
    if is_usual(start.delay_s) {
        return start;
    }
    let grids: Vec<KindAndGrid> = readings.iter().map(|r| (r.kind, &*r.freq_hz)).collect();
    let alike = reach::alike_delays_s(&grids, start.delay_s, &start.loss_within());
    let mut by_tape = alike.into_iter().filter(|&d| is_usual(d));
    match (by_tape.next(), by_tape.next()) {
        (Some(only_s), None) => start.at_delay(only_s),
        _ => start,
    }
}

impl BandStart {
    fn value(&self, unknown: usize) -> f64 {
        let of = |single: &&(usize, f64)| single.0 == unknown;
        self.singles
            .iter()
            .find(of)
            .map_or(0.0, |&(_, value)| value)
    }

    /// Some fits run away to cables that neither the step nor the loss could show; and one beyond the range that
    /// explains little is no longer cable, but one with a fault.
    fn ran_away(&self, range_s: f64, longest_s: f64) -> bool {
        let is_beyond = range_s > 0.0 && self.delay_s > range_s;
        let may_be_beyond = self.delay_s <= longest_s && self.misfit < LEAST_BEYOND;
        self.delay_s <= 0.0 || is_beyond && !may_be_beyond
    }

    /// One-way loss at [`LOSS_HZ`], dB.
    fn loss_db(&self) -> f64 {
        let conductor = self.value(AT.line.ln_conductor).exp() * LOSS_HZ.sqrt();
        let dielectric = PI * LOSS_HZ * self.value(AT.line.ln_tan_delta).exp();
        (conductor + dielectric) * self.delay_s * DB_PER_NEPER
    }

    /// The same, as a coarse fit knows it.
    fn loss_within(&self) -> RangeInclusive<f64> {
        let loss_db = self.loss_db();
        loss_db / LOSS_WITHIN..=loss_db * LOSS_WITHIN
    }

    /// The same line, longer or shorter.
    pub(crate) fn with_delay(mut self, delay_s: f64) -> Self {
        for (index, value) in &mut self.singles {
            if *index == AT.line.delay_s {
                *value = delay_s;
            }
        }
        self.delay_s = delay_s;
        self
    }

    /// A cable of another delay and the same loss as a whole.
    fn at_delay(mut self, delay_s: f64) -> Self {
        let longer = (delay_s / self.delay_s).ln();
        for (index, value) in &mut self.singles {
            if *index == AT.line.ln_conductor || *index == AT.line.ln_tan_delta {
                *value -= longer;
            }
        }
        self.with_delay(delay_s)
    }
}

/// Fits with a fault along the cable from every start; `most` of the first bands are gone on
/// from. The best first.
pub(crate) fn with_faults(
    readings: &[Readings],
    known: Known,
    starts: &[Start],
    proposals: &[Proposal],
    most: usize,
    stop: &AtomicBool,
) -> Vec<(BandStart, Proposal)> {
    // a whole cable's fit that went astray may have come to a delay that nothing has
    let pairs: Vec<(&Start, &Proposal)> = starts
        .iter()
        .filter(|s| s.delay_s > 0.0)
        .flat_map(|s| proposals.iter().map(move |p| (s, p)))
        .collect();
    let mut fits: Vec<(GrowingBand, Proposal)> = pairs
        .into_par_iter()
        .filter(|_| !stop.load(Ordering::Relaxed))
        .map(|(start, p)| {
            let mut growing = GrowingBand::new(readings, known, start, Some(p));
            growing.fit();
            (growing, *p)
        })
        .collect();
    fits.sort_by(|a, b| a.0.at.misfit.total_cmp(&b.0.at.misfit));
    fits.truncate(most);
    let mut ends: Vec<(BandStart, Proposal)> = fits
        .into_par_iter()
        .filter(|_| !stop.load(Ordering::Relaxed))
        .map(|(c, p)| (c.finish(), p))
        .collect();
    ends.sort_by(|a, b| a.0.misfit.total_cmp(&b.0.misfit));
    ends
}

/// A fit whose band grows.
struct GrowingBand<'a> {
    readings: &'a [Readings],
    known: Known,
    stop_hz: f64,
    band_hz: f64,
    fault: Option<Fault<Normal>>,
    at: BandStart,
}

impl<'a> GrowingBand<'a> {
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
            // so few turns that a delay off by a fringe of the whole band is still in the valley
            band_hz: stop_hz.min(FIRST_TURNS / (2.0 * delay_s)),
            at: BandStart {
                singles: vec![
                    (AT.line.ln_z, start.ln_z),
                    (AT.line.delay_s, delay_s),
                    (AT.line.ln_conductor, start.ln_conductor),
                ],
                delay_s,
                misfit: f64::INFINITY,
                fault: proposal.map(|p| p.start),
            },
            fault: proposal.map(|p| p.prior),
        }
    }

    /// From a cable of another delay and the same loss, whose points turn as those of one that is shorter by so many
    /// ranges of the step.
    fn at_fold(
        readings: &'a [Readings],
        known: Known,
        best: &BandStart,
        delay_s: f64,
        range_s: f64,
    ) -> Self {
        let (start_hz, stop_hz) = covered(readings);
        let turning_s = (delay_s / range_s).round().mul_add(-range_s, delay_s).abs();
        let least_hz = start_hz + LEAST_STEPS / (2.0 * range_s);
        Self {
            readings,
            known: Known { delay_s, ..known },
            stop_hz,
            band_hz: stop_hz.min((FIRST_TURNS / (2.0 * turning_s)).max(least_hz)),
            at: best.clone().at_delay(delay_s),
            fault: None,
        }
    }

    /// Fits the present band.
    fn fit(&mut self) {
        let thinned: Vec<Readings> = self
            .readings
            .iter()
            .map(|r| thin(r, self.band_hz, POINTS))
            .collect();
        let rows: usize = thinned.iter().map(|r| 2 * r.freq_hz.len()).sum();
        // two terms and four nodes: the band is still narrow, and the noise large
        let faults = self.fault.into_iter().collect();
        let layout = Layout::new(kinds(&thinned), 2, 4, covered(&thinned), faults);
        // large sizes: what four nodes and two terms cannot follow must not pull the line
        let hyperparameters = Hyperparameters {
            shared: 3e-3,
            connection: 1e-3,
            bands: 1e-3,
            wander: 0.02,
            noise: noise_levels(&thinned, COARSE_NOISE),
        };
        let of_fault = layout.fault_start(self.at.fault.as_slice());
        let begin: Vec<(usize, f64)> = self.at.singles.iter().copied().chain(of_fault).collect();
        let fault_at = layout.fault_at().first().copied();
        let mut problem = Problem::new(&thinned, layout, hyperparameters, self.known, &begin);
        problem.minimise(COARSE_STEPS);
        let theta = problem.theta();
        let fault = fault_at.map(|at| at.values(theta));
        self.at = BandStart {
            singles: (0..PARAMETERS).map(|i| (i, theta[i])).collect(),
            delay_s: theta[AT.line.delay_s],
            misfit: (problem.cost / rows as f64).sqrt(),
            fault,
        };
    }

    /// From a fitted band to the whole.
    fn finish(mut self) -> BandStart {
        // twice the band: the delay is then known to a tenth of the new fringe
        while self.band_hz < self.stop_hz {
            self.band_hz = self.stop_hz.min(2.0 * self.band_hz);
            self.fit();
        }
        self.at
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::model::Kind;
    use super::super::proposal;
    use super::*;

    /// Sweeps whose far ends are declared the wrong schedule round bring the whole cable's fit to such a
    /// start.
    #[test]
    fn a_start_that_nothing_has_is_passed_over() {
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
