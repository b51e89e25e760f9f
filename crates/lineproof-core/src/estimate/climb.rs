//! From a rough start to the right minimum: fit the lowest frequencies first, then let the band
//! grow.
//!
//! Where the sweep turns only a few times, plugs and parasitics hardly show and the minimum is
//! broad. Each doubling of the band starts from a delay that is already known to a small part of
//! the next band's fringe. The fits are coarse: few points, few nodes, large noise.

use super::fit::Problem;
use super::forward::Readings;
use super::start::{self, Start};
use super::unknowns::{Known, Layout, Levels, at};
use super::{kinds, noise_levels};

/// Where the full fit starts.
#[derive(Clone, Debug)]
pub(super) struct Climbed {
    /// Values of the single unknowns.
    pub(super) singles: Vec<(usize, f64)>,
    /// One-way delay of the piece, s.
    pub(super) delay_s: f64,
    /// Cost of the coarse fit over the whole band.
    cost: f64,
}

/// Points of each reading set in a coarse fit.
const POINTS: usize = 72;
/// Noise of the coarse fits (complex rms).
const COARSE_NOISE: f64 = 0.02;
/// A coarse fit that leaves less than this part of its noise is at the right minimum.
const GOOD_PART: f64 = 0.4;
/// Steps of one coarse fit.
const COARSE_STEPS: usize = 12;
/// Round trips (turns of the reflection) in the first band.
const FIRST_TURNS: f64 = 1.5;

/// The best of the climbs from the search's starts.
pub(super) fn best(readings: &[Readings], known: Known) -> Option<Climbed> {
    let far_ratio = known.far_ratio.0.exp();
    let mut best: Option<Climbed> = None;
    for start in start::search(readings, far_ratio) {
        let climbed = climb(readings, known, &start);
        let rows: usize = readings
            .iter()
            .map(|r| 2 * r.freq_hz.len().min(POINTS))
            .sum();
        let good = climbed.cost < GOOD_PART * GOOD_PART * rows as f64;
        if best.as_ref().is_none_or(|b| climbed.cost < b.cost) {
            best = Some(climbed);
        }
        if good {
            break;
        }
    }
    best
}

fn climb(readings: &[Readings], known: Known, start: &Start) -> Climbed {
    let known = Known {
        delay_s: start.delay_s,
        ..known
    };
    let mut singles = vec![
        (at::LINE, start.ln_z),
        (at::LINE + 1, start.delay_s),
        (at::LINE + 2, start.ln_conductor),
    ];
    let stop_hz = readings
        .iter()
        .filter_map(|r| r.freq_hz.last())
        .fold(0.0, |a: f64, &b| a.max(b));
    let mut band_hz = FIRST_TURNS / (2.0 * start.delay_s);
    loop {
        band_hz = band_hz.min(stop_hz);
        let thinned: Vec<Readings> = readings
            .iter()
            .map(|r| start::thin(r, band_hz, POINTS))
            .collect();
        let layout = Layout {
            kinds: kinds(&thinned),
            terms: 2,
            nodes: 4,
        };
        let levels = Levels {
            shared: 3e-3,
            connection: 1e-3,
            wander: 0.02,
            noise: noise_levels(&thinned, COARSE_NOISE, COARSE_NOISE),
        };
        let mut problem = Problem::new(&thinned, layout, levels, known, &singles);
        problem.minimise(COARSE_STEPS);
        let theta = problem.theta().to_vec();
        singles = (0..at::SINGLES).map(|i| (i, theta[i])).collect();
        if band_hz >= stop_hz {
            return Climbed {
                singles,
                delay_s: theta[at::LINE + 1],
                cost: problem.cost,
            };
        }
        band_hz *= 2.0;
    }
}
