//! Where the fit starts: delay and impedance by a search that does not follow slopes.
//!
//! The cost as a function of the delay has a minimum every half period of the stop frequency, so
//! Gauss–Newton finds the right one only from close by. The delay is found roughly from the time
//! domain (where the far end's echo stands), then every delay around it is tried with a coarse
//! grid of impedances and losses; the best few go on.

use std::f64::consts::TAU;

use num_complex::Complex64;

use super::super::model::{Kind, Readings, covered, thin};
use super::super::prior::USUAL_CONDUCTOR;

/// A start for the fit.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Start {
    /// ln of impedance over calibration load.
    pub(crate) ln_z: f64,
    pub(crate) delay_s: f64,
    pub(crate) ln_conductor: f64,
    /// rms of what is left, complex.
    pub(crate) rms: f64,
}

/// Points of each reading set that the search looks at.
const SEARCH_POINTS: usize = 60;
/// Parts of the band that the far end is looked for in, and starts from each.
const BANDS: [(f64, usize); 3] = [(1.0, 6), (0.2, 3), (0.04, 3)];
/// Part of the unfolded range in which the far end is looked for.
const LONGEST_PART: f64 = 0.97;
/// Most times that the range fits into a delay that is looked for: what a person waits for.
const MOST_FOLDS: usize = 16;
/// Impedances tried, over the calibration load.
const RATIOS: [f64; 9] = [0.5, 0.7, 0.86, 1.0, 1.15, 1.3, 1.5, 1.85, 2.4];
/// The same where the far end was loaded in every sweep: a cable of nearly that impedance shows by a ripple of some
/// hundredths, which a coarser list takes for none.
const RATIOS_LOADED: [f64; 13] = [
    0.5, 0.7, 0.86, 0.93, 0.97, 0.99, 1.01, 1.03, 1.07, 1.15, 1.3, 1.5, 1.85,
];
/// Conductor losses tried, as factors on an ordinary cable's.
const LOSSES: [f64; 3] = [0.4, 1.2, 3.5];

/// Starts, the likely ones first: the best of the whole band, then of its lower parts. At the top of
/// a long cable's sweep the far end's echo is lost in the cable and smeared by dispersion; at the
/// bottom it stands out. Each band is searched when its first start is asked for.
pub(crate) fn search(readings: &[Readings], far_ratio: f64) -> impl Iterator<Item = Start> {
    let (_, stop_hz) = covered(readings);
    BANDS
        .iter()
        .flat_map(move |(part, count)| search_band(readings, far_ratio, part * stop_hz, *count))
}

/// Where the far end stands by what changes with it: between sweeps of two far ends nothing before it does, however
/// much stands there. Nothing if no two sweeps of one grid have other far ends.
pub(crate) fn by_far_ends(readings: &[Readings]) -> Option<Start> {
    let pairs = readings.iter().enumerate().flat_map(|(i, a)| {
        let others = readings[i + 1..].iter();
        others.filter_map(move |b| between(a, b))
    });
    let differences: Vec<Readings> = pairs.collect();
    let delay_s = echo_delays(&differences).first().copied()?;
    Some(Start {
        ln_z: 0.0,
        delay_s,
        ln_conductor: USUAL_CONDUCTOR.ln(),
        rms: f64::INFINITY,
    })
}

/// What two sweeps of other far ends differ by.
fn between(a: &Readings, b: &Readings) -> Option<Readings> {
    let is_reflection = |r: &Readings| r.kind.is_of_cable() && r.kind != Kind::Through;
    let comparable =
        is_reflection(a) && is_reflection(b) && a.kind != b.kind && a.freq_hz == b.freq_hz;
    comparable.then(|| Readings {
        // an open's echo is taken as it stands
        kind: Kind::Open,
        freq_hz: a.freq_hz.clone(),
        reflection: a
            .reflection
            .iter()
            .zip(&b.reflection)
            .map(|(a, b)| a - b)
            .collect(),
        transmission: Vec::new(),
    })
}

/// Starts beyond the unfolded range, up to `longest_s`: there the far end's echo stands where that of a cable
/// stands which is shorter by the range or several of it, but turns otherwise unless the grid starts at a multiple
/// of its step.
pub(crate) fn search_beyond(
    readings: &[Readings],
    far_ratio: f64,
    longest_s: f64,
) -> impl Iterator<Item = Start> {
    let (_, stop_hz) = covered(readings);
    let range_s = unfolded_range(readings);
    let folds = if range_s > 0.0 {
        ((longest_s / range_s).ceil() as usize).min(MOST_FOLDS)
    } else {
        0
    };
    let bands = if folds == 0 { &[] } else { &BANDS[..] };
    bands.iter().flat_map(move |(part, count)| {
        let band = Band::new(readings, part * stop_hz);
        let delays = |rough: f64| (1..=folds).map(move |k| rough + k as f64 * range_s);
        let roughs: Vec<f64> = band.echo_delays().into_iter().flat_map(delays).collect();
        band.search(&roughs, far_ratio, f64::INFINITY, *count)
    })
}

/// The best `count` starts by the readings up to `stop_hz`, best first.
fn search_band(readings: &[Readings], far_ratio: f64, stop_hz: f64, count: usize) -> Vec<Start> {
    let band = Band::new(readings, stop_hz);
    // The near end's echo comes again at the end of the range; a cable that long would turn by
    // nearly a whole turn from point to point, and no sweep of it could be told from a short one's.
    let longest_s = LONGEST_PART * unfolded_range(readings);
    band.search(&band.echo_delays(), far_ratio, longest_s, count)
}

/// The readings up to a frequency, all of them and so many as the search looks at.
struct Band {
    stop_hz: f64,
    part: Vec<Readings>,
    thinned: Vec<Readings>,
}

impl Band {
    fn new(readings: &[Readings], stop_hz: f64) -> Self {
        let part: Vec<Readings> = readings
            .iter()
            .map(|r| thin(r, stop_hz, usize::MAX))
            .collect();
        let thinned = part
            .iter()
            .map(|r| thin(r, f64::INFINITY, SEARCH_POINTS))
            .collect();
        Self {
            stop_hz,
            part,
            thinned,
        }
    }

    fn echo_delays(&self) -> Vec<f64> {
        echo_delays(&self.part)
    }

    /// The best `count` starts around these delays, best first.
    fn search(&self, roughs: &[f64], far_ratio: f64, longest_s: f64, count: usize) -> Vec<Start> {
        let stop_hz = self.stop_hz;
        let mut found = Vec::new();
        let step = 1.0 / (16.0 * stop_hz);
        // peaks are as wide as a fringe, so each peak's neighbours are tried as well
        for rough in roughs {
            // a fringe this way and that, and the whole range below a fringe for very short pieces
            let reach = (1.2 / stop_hz / step).ceil() as i64;
            for k in -reach..=reach {
                let delay_s = rough + k as f64 * step;
                if delay_s > 0.02 / stop_hz && delay_s < longest_s {
                    try_delay(&self.thinned, delay_s, far_ratio, &mut found);
                }
            }
        }
        // delays within a fifth of a period are one start: the fit finds its way between them
        found.sort_by(|a, b| a.rms.total_cmp(&b.rms));
        distinct(found, 0.2 / stop_hz, count)
    }
}

/// Tries every loss and impedance at one delay. The line has a real impedance here, so it needs
/// one exponential for each point and loss.
fn try_delay(readings: &[Readings], delay_s: f64, far_ratio: f64, found: &mut Vec<Start>) {
    let far_load = (far_ratio - 1.0) / (far_ratio + 1.0);
    let is_loaded = |r: &Readings| matches!(r.kind, Kind::Load | Kind::OtherLoad);
    let ratios = if readings.iter().all(is_loaded) {
        &RATIOS_LOADED[..]
    } else {
        &RATIOS[..]
    };
    for loss in LOSSES {
        let ln_conductor = (USUAL_CONDUCTOR * loss).ln();
        let one_way: Vec<Vec<Complex64>> = readings
            .iter()
            .map(|r| propagation(&r.freq_hz, delay_s, ln_conductor))
            .collect();
        // the exponentials are the cost: every impedance reuses those of its loss
        for &ratio in ratios {
            let rho = (ratio - 1.0) / (ratio + 1.0);
            let (mut sum, mut count) = (0.0, 0);
            for (set, waves) in readings.iter().zip(&one_way) {
                let far = match set.kind {
                    Kind::Open => 1.0,
                    Kind::Short => -1.0,
                    Kind::Load | Kind::OtherLoad => far_load,
                    Kind::Through | Kind::Antenna | Kind::Check(_) | Kind::Part(_) => 0.0,
                };
                let (misfit, n) = misfit(set, waves, rho, far);
                sum += misfit;
                count += n;
            }
            let rms = (sum / count.max(1) as f64).sqrt();
            found.push(Start {
                ln_z: ratio.ln(),
                delay_s,
                ln_conductor,
                rms,
            });
        }
    }
}

/// e^(−γl) of a line with conductor loss at each frequency. What the skin effect loses, its inductance delays by as
/// many radians as nepers: over a long thin cable that is whole turns.
fn propagation(freq_hz: &[f64], delay_s: f64, ln_conductor: f64) -> Vec<Complex64> {
    let conductor = ln_conductor.exp() * delay_s;
    let wave = |&f: &f64| {
        let loss_np = conductor * f.sqrt();
        Complex64::from_polar((-loss_np).exp(), -TAU * f * delay_s - loss_np)
    };
    freq_hz.iter().map(wave).collect()
}

/// Sum of squares of readings less a uniform line of reflection `rho` against the reference, and
/// the number of readings.
fn misfit(set: &Readings, waves: &[Complex64], rho: f64, far: f64) -> (f64, usize) {
    let inside = (far - rho) / (1.0 - rho * far);
    let mut sum = 0.0;
    for (reading, wave) in set.reflection.iter().zip(waves) {
        let back = inside * wave * wave;
        sum += (reading - (rho + back) / (1.0 + rho * back)).norm_sqr();
    }
    for (reading, wave) in set.transmission.iter().zip(waves) {
        let arrives = (1.0 - rho * rho) * wave / (1.0 - rho * rho * wave * wave);
        sum += (reading - arrives).norm_sqr();
    }
    (sum, set.reflection.len() + set.transmission.len())
}

fn distinct(sorted: Vec<Start>, apart_s: f64, count: usize) -> Vec<Start> {
    let mut kept: Vec<Start> = Vec::new();
    for s in sorted {
        if kept.len() == count {
            break;
        }
        if kept.iter().all(|k| (k.delay_s - s.delay_s).abs() > apart_s) {
            kept.push(s);
        }
    }
    kept
}

/// One-schedule delays at which the far end's echo may stand, strongest first: peaks of the
/// transforms of all sweeps together, up to the range that the step allows.
fn echo_delays(readings: &[Readings]) -> Vec<f64> {
    let stop_hz = readings
        .iter()
        .filter_map(|r| r.freq_hz.last())
        .fold(0.0, |a: f64, &b| a.max(b));
    let longest = unfolded_range(readings);
    if longest <= 0.0 {
        return Vec::new();
    }
    // a third of a round trip's resolution, so that no peak falls between two
    let spacing = 1.0 / (6.0 * stop_hz);
    let count = ((longest / spacing) as usize).clamp(8, 60_000);
    let mut size = vec![0.0; count];
    for set in readings {
        let (values, factor): (Vec<Complex64>, f64) = match set.kind {
            Kind::Through => (set.transmission.clone(), 1.0),
            _ => (echoes(set), 2.0),
        };
        transform(&set.freq_hz, &values, factor * spacing, &mut size);
    }
    strongest_peaks(&size, 3)
        .into_iter()
        .map(|i| i as f64 * spacing)
        .collect()
}

/// One-schedule delay from which echoes come again because of the step, s; zero for single points.
pub(crate) fn unfolded_range(readings: &[Readings]) -> f64 {
    let of_cable = readings.iter().filter(|r| r.kind.is_of_cable());
    let step_hz = of_cable.map(mean_step).fold(f64::INFINITY, f64::min);
    if step_hz.is_finite() && step_hz > 0.0 {
        0.5 / step_hz
    } else {
        0.0
    }
}

/// Whether the points of some sweep follow the phase of a cable of this one-way delay, s.
pub(crate) fn is_followed(readings: &[Readings], delay_s: f64) -> bool {
    let range_s = unfolded_range(readings);
    range_s <= 0.0 || delay_s < range_s
}

/// A loaded sweep of a matched cable has no far-end echo; a constant near-end reflection would
/// stand at zero, so the mean is taken out.
fn echoes(set: &Readings) -> Vec<Complex64> {
    if !matches!(set.kind, Kind::Load | Kind::OtherLoad) {
        return set.reflection.clone();
    }
    let mean = set.reflection.iter().sum::<Complex64>() / set.reflection.len() as f64;
    set.reflection.iter().map(|r| r - mean).collect()
}

fn mean_step(readings: &Readings) -> f64 {
    let n = readings.freq_hz.len();
    if n < 2 {
        return f64::INFINITY;
    }
    (readings.freq_hz[n - 1] - readings.freq_hz[0]) / (n - 1) as f64
}

/// Adds |Σ value·window·e^(+jωt)| for t = k·spacing to `size`; a Hann window keeps side lobes of
/// the far end below other echoes.
fn transform(freq_hz: &[f64], values: &[Complex64], spacing_s: f64, size: &mut [f64]) {
    let n = freq_hz.len();
    let window = |i: usize| 0.5 * (1.0 - (TAU * (i as f64 + 0.5) / n as f64).cos());
    let mut state: Vec<Complex64> = values
        .iter()
        .enumerate()
        .map(|(i, v)| v * window(i) / n as f64)
        .collect();
    let turn: Vec<Complex64> = freq_hz
        .iter()
        .map(|f| Complex64::from_polar(1.0, TAU * f * spacing_s))
        .collect();
    for s in size {
        *s += state.iter().sum::<Complex64>().norm();
        for (z, t) in state.iter_mut().zip(&turn) {
            *z *= t;
        }
    }
}

fn strongest_peaks(size: &[f64], count: usize) -> Vec<usize> {
    let higher = |i: usize, k: usize| size.get(k).is_none_or(|&s| size[i] >= s);
    let mut peaks: Vec<usize> = (0..size.len())
        .filter(|&i| higher(i, i.wrapping_sub(1)) && higher(i, i + 1))
        .collect();
    peaks.sort_by(|&a, &b| size[b].total_cmp(&size[a]));
    let best = peaks.first().map_or(0.0, |&i| size[i]);
    peaks.truncate(count);
    // a far end is not lost below a quarter: plugs reflect less
    peaks.retain(|&i| size[i] > 0.25 * best);
    peaks
}
