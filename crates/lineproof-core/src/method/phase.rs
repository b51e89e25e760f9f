//! The phase of a reflection followed along frequency: turns, crossings, readings between points.
//!
//! With a far end that reflects everything, the reflection referred to the cable's own impedance
//! is ±e^(−2γl): a spiral about the centre that turns clockwise by 2βl. [`Trace`] unwraps that
//! turn absolutely (zero at 0 Hz), so that a crossing of the real axis has its order, and reads
//! the sweep between its points on the unwound spiral.
//!
//! Assumes one uniform line whose loss comes mostly from its conductors: then the phase lags the
//! lossless one by as many radians as the loss has nepers (internal inductance equals resistance
//! over ω in strong skin effect; Ramo, Whinnery, Van Duzer, *Fields and Waves*, ch. 4), which
//! matters for the order of crossings when a sweep starts far from 0 Hz.
//! Not valid where neighbouring points lie more than half a turn apart: [`Lost`] says so.

use std::f64::consts::{PI, TAU};

use num_complex::Complex64;
use thiserror::Error;

use crate::bench::{EndedSweep, FarEnd};
use crate::constants::SPEED_OF_LIGHT_M_S;
use crate::sweep::{Sweep, impedance_of_reflection, reflection_of_impedance};

use super::text;

/// Half-width of the window in which neighbouring points are averaged, in turns of the spiral.
const WINDOW_TURNS: f64 = 1.0 / 18.0;

/// Turns above which the mean over whole turns shows the centre of the spiral.
const TURNS_FOR_MEAN: f64 = 1.5;

/// Rounds of centre and delay; the error falls by ten or more in each.
const CENTRE_ROUNDS: usize = 3;

/// Turn of the first point below which the sweep itself shows where the spiral starts.
const NEAR_START_TURNS: f64 = 0.25;

/// Agreement of the phase steps with one delay, 0 to 1, below which no delay explains them.
const LEAST_COHERENCE: f64 = 0.6;

/// An open or short sweep whose turns are known.
#[derive(Clone, Debug)]
pub struct Trace<'a> {
    /// The sweep and what ended the cable.
    pub ended: &'a EndedSweep,
    /// Impedance that the spiral is centred on, ohm: the cable's own as far as the sweep shows
    /// it, otherwise the reference.
    pub centre_ohm: f64,
    /// Whether `centre_ohm` comes from the sweep.
    pub centre_found: bool,
    /// Mean round-trip delay, s.
    pub round_trip_delay_s: f64,
    turned_rad: Vec<f64>,
}

/// Why the phase of a sweep can't be followed.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum Lost {
    /// A single point has no slope.
    #[error("one point does not show the phase slope")]
    TooFewPoints,
    /// More than half a turn between neighbouring points.
    #[error("the phase turns by more than half a turn from point to point (step {})", text::hertz(*step_hz))]
    StepTooCoarse {
        /// Largest step of the sweep, Hz.
        step_hz: f64,
        /// A step that would do, Hz.
        wanted_hz: f64,
    },
    /// No single delay explains the phase steps.
    #[error("the phase does not turn steadily, so it is not that of one cable with this far end")]
    NotSteady,
    /// The lowest points belong to another far end.
    #[error("the lowest points look like {looks_like}, not {declared}")]
    FarEnd {
        /// What was declared.
        declared: FarEnd,
        /// What the phase fits.
        looks_like: FarEnd,
    },
}

impl Lost {
    /// What would do instead, where there is something.
    pub fn would_do(&self) -> Option<String> {
        match self {
            Self::StepTooCoarse { wanted_hz, .. } => Some(format!(
                "a step of {} would do",
                text::round_down_hertz(*wanted_hz)
            )),
            Self::FarEnd { looks_like, .. } => Some(format!(
                "declare the far end as {looks_like}, or sweep again"
            )),
            Self::TooFewPoints => Some("a sweep of 101 points or more would do".to_owned()),
            Self::NotSteady => None,
        }
    }
}

impl<'a> Trace<'a> {
    /// Follows the phase of a sweep with the far end open or shorted; a length by tape, m, tells
    /// apart delays that differ by a turn from point to point.
    ///
    /// # Errors
    /// [`Lost`] says what the points lack.
    pub fn follow(ended: &'a EndedSweep, length_m: Option<f64>) -> Result<Self, Lost> {
        let freq_hz = ended.sweep.freq_hz();
        let z_ref_ohm = ended.sweep.z_ref_ohm();
        let sign = end_sign(ended.far_end);
        // a reflection goes both ways
        let path_m = length_m.map(|l| 2.0 * l);
        let first: Vec<_> = ended.sweep.reflection().iter().map(|g| g * sign).collect();
        let delay_s = delay_of(freq_hz, &first, path_m)?;
        let mut trace = Self {
            ended,
            centre_ohm: z_ref_ohm,
            centre_found: false,
            round_trip_delay_s: delay_s,
            turned_rad: unwrap(freq_hz, &first, delay_s),
        };
        trace.anchor(&first)?;
        // Whole turns are as long as the delay says, and the delay is better about the centre.
        for _ in 0..CENTRE_ROUNDS {
            if let Some(centre_ohm) = trace.find_centre() {
                trace.refer_to(centre_ohm)?;
            }
        }
        Ok(trace)
    }

    /// Unwrapped phase at each point, rad: 0 at 0 Hz for both far ends, falling with frequency.
    pub fn turned_rad(&self) -> &[f64] {
        &self.turned_rad
    }

    /// Reflection referred to `z0_ohm`, times the far end's sign: e^(−2γl) if `z0_ohm` is the
    /// cable's impedance.
    pub fn spiral(&self, z0_ohm: f64) -> Vec<Complex64> {
        let sign = end_sign(self.ended.far_end);
        let z_ref_ohm = self.ended.sweep.z_ref_ohm();
        let points = self.ended.sweep.reflection().iter();
        points
            .map(|&g| sign * refer(g, z_ref_ohm, z0_ohm))
            .collect()
    }

    /// Highest order of quarter wave that the sweep passes; 0 if none.
    pub fn highest_order(&self) -> u32 {
        let last = self.turned_rad.last().copied().unwrap_or(0.0);
        (-last / PI).floor().clamp(0.0, 1e6) as u32
    }

    /// Frequency where the line is `order` quarter waves long, Hz, by a straight line through the
    /// neighbouring points; absent outside the sweep.
    pub fn quarter_waves_hz(&self, order: u32) -> Option<f64> {
        self.turn_hz(-PI * f64::from(order))
    }

    /// Frequency where the spiral has turned by `turn_rad` (negative), Hz.
    pub fn turn_hz(&self, turn_rad: f64) -> Option<f64> {
        let freq_hz = self.ended.sweep.freq_hz();
        // the first crossing: noise may cross again near it, which the line through the window evens out
        let after = self.turned_rad.iter().position(|&p| p <= turn_rad)?;
        let before = after.checked_sub(1)?;
        let share = (turn_rad - self.turned_rad[before])
            / (self.turned_rad[after] - self.turned_rad[before]);
        let between_hz = freq_hz[before] + share * (freq_hz[after] - freq_hz[before]);
        // within an eighteenth of a turn an arc departs from its chord by less than a hundredth of its length
        let half_width_hz = WINDOW_TURNS / self.round_trip_delay_s;
        let near: Vec<_> = (0..freq_hz.len())
            .filter(|&k| (freq_hz[k] - between_hz).abs() <= half_width_hz)
            .map(|k| (freq_hz[k] - between_hz, self.turned_rad[k] - turn_rad))
            .collect();
        let refined_hz = between_hz + root_of_line(&near).unwrap_or(0.0);
        // a line that leaves its window is fitted to something else than a crossing
        let inside = (refined_hz - between_hz).abs() <= half_width_hz;
        Some(if inside { refined_hz } else { between_hz })
    }

    /// Lowest order of quarter wave inside the sweep with its frequency, Hz, among every `step`th
    /// order from `from`.
    pub fn lowest_quarter_waves(&self, from: u32, step: usize) -> Option<(u32, f64)> {
        (from..=self.highest_order())
            .step_by(step)
            .find_map(|order| Some((order, self.quarter_waves_hz(order)?)))
    }

    /// Frequency of the quarter wave as the delay tells it, Hz, also beyond the sweep.
    pub fn expected_quarter_wave_hz(&self) -> f64 {
        let freq_hz = self.ended.sweep.stop_hz();
        match self.turned_rad.last() {
            Some(&turned) if turned < 0.0 && freq_hz > 0.0 => freq_hz * PI / -turned,
            _ => 0.5 / self.round_trip_delay_s,
        }
    }

    /// The reflection against the sweep's reference at any frequency inside the sweep.
    pub fn read(&self, freq_hz: f64) -> Option<Reading> {
        read_between(
            &self.ended.sweep,
            freq_hz,
            self.centre_ohm,
            self.round_trip_delay_s,
        )
    }

    fn refer_to(&mut self, centre_ohm: f64) -> Result<(), Lost> {
        let spiral = self.spiral(centre_ohm);
        let freq_hz = self.ended.sweep.freq_hz();
        self.turned_rad = unwrap(freq_hz, &spiral, self.round_trip_delay_s);
        self.centre_ohm = centre_ohm;
        self.centre_found = true;
        self.anchor(&spiral)?;
        self.round_trip_delay_s = mean_delay(freq_hz, &self.turned_rad)
            .filter(|&d| d > 0.0)
            .unwrap_or(self.round_trip_delay_s);
        Ok(())
    }

    /// Shifts the unwrapped phase by whole turns so that it is zero at 0 Hz.
    fn anchor(&mut self, spiral: &[Complex64]) -> Result<(), Lost> {
        let start_turns = self.ended.sweep.start_hz() * self.round_trip_delay_s;
        // near the start one point is enough; from afar a line through all of them has to reach down to 0 Hz
        let intercept_rad = if start_turns < NEAR_START_TURNS {
            self.turned_rad[0] + TAU * start_turns
        } else {
            self.intercept(spiral)
        };
        let turns = (intercept_rad / TAU).round();
        let rest_rad = (intercept_rad - TAU * turns).abs();
        // half a turn off is the other far end; in between neither is sure
        if rest_rad > 0.6 * PI {
            let declared = self.ended.far_end;
            let looks_like = other_end(declared);
            return Err(Lost::FarEnd {
                declared,
                looks_like,
            });
        }
        if rest_rad > 0.4 * PI {
            return Err(Lost::NotSteady);
        }
        self.turned_rad.iter_mut().for_each(|p| *p -= TAU * turns);
        Ok(())
    }

    /// Phase at 0 Hz by a straight line, the lag of skin effect taken out.
    fn intercept(&self, spiral: &[Complex64]) -> f64 {
        let freq_hz = self.ended.sweep.freq_hz();
        let points: Vec<_> = (0..spiral.len())
            .filter(|&k| spiral[k].norm() > 0.0)
            .map(|k| {
                // strong skin effect: internal reactance equals resistance, so the round trip lags by as much as it loses in nepers
                let lag_rad = spiral[k].norm().ln().clamp(-8.0, 0.0);
                (
                    freq_hz[k],
                    self.turned_rad[k] - lag_rad,
                    spiral[k].norm_sqr(),
                )
            })
            .collect();
        line_through(&points).map_or(self.turned_rad[0], |(intercept, _)| intercept)
    }

    /// The impedance that the spiral winds about. The reflection is an analytic function of
    /// e^(−2γl), so its mean over a whole turn is its value at the spiral's centre.
    fn find_centre(&self) -> Option<f64> {
        let sweep = &self.ended.sweep;
        let turns = (self.turned_rad[0] - self.turned_rad[sweep.len() - 1]) / TAU;
        if turns >= TURNS_FOR_MEAN {
            // whole turns only: a rest would pull the mean towards its own side
            let span_hz = turns.floor() / self.round_trip_delay_s;
            let mean = mean_from(sweep, sweep.stop_hz() - span_hz)?;
            return plausible_centre(impedance_of_reflection(mean, sweep.z_ref_ohm()).re);
        }
        let quarter_wave_hz = self.quarter_waves_hz(1)?;
        // too short for a mean: at an eighth wave |Z| of an open or short is the characteristic impedance
        let eighth = self.read(0.5 * quarter_wave_hz)?;
        plausible_centre(impedance_of_reflection(eighth.reflection, sweep.z_ref_ohm()).norm())
    }
}

/// A reading of the reflection between points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// Reflection against the sweep's reference.
    pub reflection: Complex64,
    /// Noise of this reading in units of the noise of one point.
    pub noise_gain: f64,
}

/// Reads a sweep at `freq_hz` by a straight line through the neighbouring points of the unwound
/// spiral about `centre_ohm`; absent outside the sweep.
pub fn read_between(
    sweep: &Sweep,
    freq_hz: f64,
    centre_ohm: f64,
    round_trip_delay_s: f64,
) -> Option<Reading> {
    let (near, at) = neighbours(sweep, freq_hz, WINDOW_TURNS / round_trip_delay_s.abs())?;
    let unwound: Vec<_> = near
        .clone()
        .map(|k| {
            let offset_hz = sweep.freq_hz()[k] - freq_hz;
            let point = refer(sweep.reflection()[k], sweep.z_ref_ohm(), centre_ohm);
            // unwound about the wanted frequency, neighbours lie on a nearly straight line
            let turn = Complex64::cis(TAU * offset_hz * round_trip_delay_s);
            (offset_hz, point * turn)
        })
        .collect();
    let Some((value, noise_gain)) = value_at_zero(&unwound) else {
        return Some(Reading {
            reflection: sweep.reflection()[at],
            noise_gain: 1.0,
        });
    };
    Some(Reading {
        reflection: refer(value, centre_ohm, sweep.z_ref_ohm()),
        noise_gain,
    })
}

/// The same reflection against another reference.
pub fn refer(reflection: Complex64, from_ohm: f64, to_ohm: f64) -> Complex64 {
    let rho = (to_ohm - from_ohm) / (to_ohm + from_ohm);
    (reflection - rho) / (1.0 - rho * reflection)
}

/// How much a small change of a reflection grows when it is referred to `to_ohm`.
pub(crate) fn refer_gain(reflection: Complex64, from_ohm: f64, to_ohm: f64) -> f64 {
    let rho = reflection_of_impedance(Complex64::from(to_ohm), from_ohm).re;
    (1.0 - rho * rho) / (1.0 - rho * reflection).norm_sqr()
}

/// +1 for an open, −1 for a short, +1 for a load.
pub(crate) fn end_sign(end: FarEnd) -> f64 {
    if end == FarEnd::Short { -1.0 } else { 1.0 }
}

/// Delay that makes `values` turn, s: one way or round trip as the values are. `path_m` is the
/// length that the wave goes, which bounds the delay from below.
///
/// # Errors
/// [`Lost`] if the points lie too far apart or turn unsteadily.
pub(crate) fn delay_of(
    freq_hz: &[f64],
    values: &[Complex64],
    path_m: Option<f64>,
) -> Result<f64, Lost> {
    if values.len() < 2 {
        return Err(Lost::TooFewPoints);
    }
    let step_hz = freq_hz.windows(2).map(|w| w[1] - w[0]).fold(0.0, f64::max);
    let least_s = path_m.map_or(0.0, |m| m / SPEED_OF_LIGHT_M_S);
    // With solid dielectric the wave takes about 1.5 times the least time.
    let coarse = |delay_s: f64| Lost::StepTooCoarse {
        step_hz,
        wanted_hz: 0.25 / (1.6 * least_s).max(delay_s),
    };
    if least_s * step_hz > 0.5 {
        return Err(coarse(0.0));
    }
    let (slope_s, coherence) = mean_step(freq_hz, values);
    if coherence < LEAST_COHERENCE {
        return Err(Lost::NotSteady);
    }
    // A phase that rises or is too slow for the length has gone round once more per step.
    // a step of more than half a turn looks like one backwards
    let folded_s = slope_s + 1.0 / step_hz;
    let too_fast = least_s > 0.0 && slope_s < 0.95 * least_s && folded_s < 2.5 * least_s;
    if (slope_s <= 0.0 && folded_s * step_hz < 0.95) || too_fast {
        return Err(coarse(folded_s));
    }
    if slope_s <= 0.0 {
        return Err(Lost::NotSteady);
    }
    Ok(slope_s)
}

/// Phase along the points, rad, unwrapped about the turn that `delay_s` predicts.
pub(crate) fn unwrap(freq_hz: &[f64], values: &[Complex64], delay_s: f64) -> Vec<f64> {
    let mut phase = values[0].arg();
    let mut unwrapped = vec![phase];
    for k in 1..values.len() {
        let predicted = -TAU * delay_s * (freq_hz[k] - freq_hz[k - 1]);
        let change = (values[k] * values[k - 1].conj()).arg();
        // unwrapped about the prediction: steps of up to half a turn either side of it stay right
        phase += predicted + wrap(change - predicted);
        unwrapped.push(phase);
    }
    unwrapped
}

/// `angle` less whole turns, between −π and π.
pub(crate) fn wrap(angle: f64) -> f64 {
    angle - TAU * (angle / TAU).round()
}

/// Intercept and slope of the weighted straight line through (x, y, weight).
pub(crate) fn line_through(points: &[(f64, f64, f64)]) -> Option<(f64, f64)> {
    let total: f64 = points.iter().map(|p| p.2).sum();
    let mean_x = points.iter().map(|p| p.0 * p.2).sum::<f64>() / total;
    let mean_y = points.iter().map(|p| p.1 * p.2).sum::<f64>() / total;
    let spread: f64 = points.iter().map(|p| p.2 * (p.0 - mean_x).powi(2)).sum();
    let shared: f64 = points
        .iter()
        .map(|p| p.2 * (p.0 - mean_x) * (p.1 - mean_y))
        .sum();
    let slope = shared / spread;
    slope
        .is_finite()
        .then_some((mean_y - slope * mean_x, slope))
}

/// Points within `half_width_hz` of `freq_hz`, at least the two around it, and the nearest one.
fn neighbours(
    sweep: &Sweep,
    freq_hz: f64,
    half_width_hz: f64,
) -> Option<(std::ops::Range<usize>, usize)> {
    let grid = sweep.freq_hz();
    if !(sweep.start_hz()..=sweep.stop_hz()).contains(&freq_hz) {
        return None;
    }
    let above = grid.partition_point(|&f| f < freq_hz).min(grid.len() - 1);
    let below = above.saturating_sub(1);
    let at = if freq_hz - grid[below] < grid[above] - freq_hz {
        below
    } else {
        above
    };
    // A one-sided window would tilt the line: both sides are as wide as the nearer edge allows.
    let room_hz = (freq_hz - sweep.start_hz()).min(sweep.stop_hz() - freq_hz);
    let half_width_hz = half_width_hz.min(room_hz);
    let first = grid.partition_point(|&f| f < freq_hz - half_width_hz);
    let end = grid.partition_point(|&f| f <= freq_hz + half_width_hz);
    Some((first.min(below)..end.max(above + 1), at))
}

/// Value at x = 0 of the straight line through complex points, with the gain of their noise.
fn value_at_zero(points: &[(f64, Complex64)]) -> Option<(Complex64, f64)> {
    let count = points.len() as f64;
    let mean_x = points.iter().map(|p| p.0).sum::<f64>() / count;
    let spread: f64 = points.iter().map(|p| (p.0 - mean_x).powi(2)).sum();
    if spread <= 0.0 {
        return None;
    }
    // value of the regression line at 0 as a sum over points; the same weights give the gain of their noise
    let weight = |x: f64| 1.0 / count - mean_x * (x - mean_x) / spread;
    let value = points.iter().map(|&(x, y)| y * weight(x)).sum();
    let gain = points.iter().map(|&(x, _)| weight(x).powi(2)).sum::<f64>();
    Some((value, gain.sqrt()))
}

/// Where the straight line through (x, y) is zero; needs three points.
fn root_of_line(points: &[(f64, f64)]) -> Option<f64> {
    if points.len() < 3 {
        return None;
    }
    let weighted: Vec<_> = points.iter().map(|&(x, y)| (x, y, 1.0)).collect();
    let (intercept, slope) = line_through(&weighted)?;
    Some(-intercept / slope).filter(|x| x.is_finite())
}

/// Delay of the mean phase step, s, and how well the steps agree with it, 0 to 1.
fn mean_step(freq_hz: &[f64], values: &[Complex64]) -> (f64, f64) {
    let steps: Vec<_> = (1..values.len())
        .map(|k| {
            let product = values[k] * values[k - 1].conj();
            (freq_hz[k] - freq_hz[k - 1], product)
        })
        .collect();
    // steps weighted by size: where loss or a crossing of zero leaves little, the phase means little
    let span: f64 = steps.iter().map(|(df, p)| p.norm() * df).sum();
    let turned: f64 = steps.iter().map(|(_, p)| p.norm() * p.arg()).sum();
    let slope_s = -turned / (TAU * span);
    let total: f64 = steps.iter().map(|(_, p)| p.norm()).sum();
    // 1 if every step turns as the mean says, near 0 for noise
    let aligned: Complex64 = steps
        .iter()
        .map(|(df, p)| p * Complex64::cis(TAU * slope_s * df))
        .sum();
    let coherence = aligned.norm() / total;
    if slope_s.is_finite() && coherence.is_finite() {
        (slope_s, coherence)
    } else {
        (0.0, 0.0)
    }
}

fn mean_delay(freq_hz: &[f64], phase_rad: &[f64]) -> Option<f64> {
    let points: Vec<_> = freq_hz
        .iter()
        .zip(phase_rad)
        .map(|(&f, &p)| (f, p, 1.0))
        .collect();
    line_through(&points).map(|(_, slope)| -slope / TAU)
}

/// Mean reflection over frequencies from `from_hz` up, by the trapezoidal rule.
fn mean_from(sweep: &Sweep, from_hz: f64) -> Option<Complex64> {
    let grid = sweep.freq_hz();
    let first = grid.partition_point(|&f| f < from_hz);
    let mut area = Complex64::ZERO;
    for k in first + 1..grid.len() {
        let mean = 0.5 * (sweep.reflection()[k] + sweep.reflection()[k - 1]);
        area += mean * (grid[k] - grid[k - 1]);
    }
    let span_hz = sweep.stop_hz() - grid.get(first)?;
    (span_hz > 0.0).then(|| area / span_hz)
}

/// Coaxial cables lie between about 15 and 300 ohm; anything else is a misreading.
fn plausible_centre(z0_ohm: f64) -> Option<f64> {
    (10.0..400.0).contains(&z0_ohm).then_some(z0_ohm)
}

fn other_end(end: FarEnd) -> FarEnd {
    if end == FarEnd::Short {
        FarEnd::Open
    } else {
        FarEnd::Short
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sweep_of(end: FarEnd, z0_ohm: f64, delay_s: f64, grid: (f64, f64, usize)) -> EndedSweep {
        let (start, stop, count) = grid;
        let freq_hz: Vec<f64> = (0..count)
            .map(|k| start + (stop - start) * k as f64 / (count - 1) as f64)
            .collect();
        let reflection = freq_hz
            .iter()
            .map(|f| {
                let spiral = 0.98 * end_sign(end) * Complex64::cis(-2.0 * TAU * f * delay_s);
                refer(spiral, z0_ohm, 50.0)
            })
            .collect();
        EndedSweep {
            far_end: end,
            sweep: Sweep::new(freq_hz, reflection, 50.0).unwrap(),
            label: "made".to_owned(),
        }
    }

    #[test]
    fn crossings_have_their_order_even_when_the_sweep_starts_late() {
        for end in [FarEnd::Open, FarEnd::Short] {
            let ended = sweep_of(end, 75.0, 5e-9, (120e6, 400e6, 301));
            let trace = Trace::follow(&ended, None).unwrap();
            assert!(
                (trace.centre_ohm - 75.0).abs() < 0.5,
                "{}",
                trace.centre_ohm
            );
            let (order, freq_hz) = trace.lowest_quarter_waves(1, 2).unwrap();
            assert_eq!(order, 3);
            assert!((freq_hz - 150e6).abs() < 5e3, "{freq_hz}");
        }
    }

    #[test]
    fn a_wrong_far_end_is_told_from_the_lowest_points() {
        let mut ended = sweep_of(FarEnd::Open, 50.0, 5e-9, (1e6, 400e6, 301));
        ended.far_end = FarEnd::Short;
        let lost = Trace::follow(&ended, None).unwrap_err();
        assert_eq!(
            lost.to_string(),
            "the lowest points look like open, not short"
        );
    }

    #[test]
    fn a_step_of_more_than_half_a_turn_is_refused() {
        let ended = sweep_of(FarEnd::Open, 50.0, 200e-9, (1e6, 201e6, 101));
        let lost = Trace::follow(&ended, None).unwrap_err();
        assert!(matches!(lost, Lost::StepTooCoarse { .. }), "{lost}");
        let long = sweep_of(FarEnd::Open, 50.0, 600e-9, (1e6, 201e6, 101));
        let lost = Trace::follow(&long, Some(120.0)).unwrap_err();
        assert!(matches!(lost, Lost::StepTooCoarse { .. }), "{lost}");
    }

    #[test]
    fn hundreds_of_turns_are_followed() {
        let ended = sweep_of(FarEnd::Open, 75.0, 500e-9, (0.0, 300e6, 3001));
        let trace = Trace::follow(&ended, None).unwrap();
        assert_eq!(trace.highest_order(), 600);
        let freq_hz = trace.quarter_waves_hz(501).unwrap();
        assert!((freq_hz - 250.5e6).abs() < 1e3, "{freq_hz}");
    }
}
