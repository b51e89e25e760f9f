//! An antenna at the far end, found roughly: where it reflects nearly all it is as good as an open, which gives the line;
//! with the line taken off, its resonances stand bare.

use std::f64::consts::TAU;
use std::sync::atomic::AtomicBool;

use num_complex::Complex64;

use super::super::model::{
    AT, Antenna, Branch, Forward, Kind, Layout, PARAMETERS, Readings, covered, picked,
};
use super::super::prior::Known;
use super::growing_band::{self, BandStart};
use crate::network::ByFarEnds;

/// A line and what ends it, to start from.
pub(crate) struct AntennaStart {
    pub(crate) line: BandStart,
    pub(crate) antenna: Antenna,
}

/// ln of a reflection below the smooth envelope of all from which the antenna takes power.
const TAKES: f64 = 0.06;
/// Rounds in which the envelope lets go of what lies below it.
const ROUNDS: usize = 12;
/// Width of what a resonance bends, over what it takes power from.
const BENT: f64 = 1.25;
/// Fewest points of a part of the sweep that a line is looked for in, and the least part of the band.
const FEWEST: usize = 24;
const LEAST_PART: f64 = 0.1;
/// A lower part of the band is taken if it is so large a part of the largest: there the line turns least.
const LOWER_PART: f64 = 0.4;
/// Delays tried about the one found, in periods of the stop frequency, and tries in each.
const PERIODS: i32 = 6;
const TRIES: i32 = 32;
/// Least power that a branch takes, of what arrives.
const LEAST_ABSORBED: f64 = 0.06;

/// The line and the antenna of the first such sweep; `None` if no part of the band shows the line by itself.
pub(crate) fn rough(
    readings: &[Readings],
    known: &Known,
    stop: &AtomicBool,
) -> Option<AntennaStart> {
    let at = readings.iter().position(|r| r.kind == Kind::Antenna)?;
    let run = quiet_run(&readings[at])?;
    let as_end = |kind: Kind| -> Vec<Readings> {
        let keep: Vec<usize> = run.clone().collect();
        let quiet = Readings {
            kind,
            ..picked(&readings[at], &keep)
        };
        let mut all = readings.to_vec();
        all[at] = quiet;
        all.retain(|r| r.kind != Kind::Antenna);
        all
    };
    let ends = [Kind::Open, Kind::Short];
    let found = ends.into_iter().filter_map(|kind| {
        let line = growing_band::best(&as_end(kind), *known, stop)?;
        line.into_iter().next()
    });
    let mut line = found.min_by(|a, b| a.misfit.total_cmp(&b.misfit))?;
    let sweep = &readings[at];
    let behind = behind(&line, sweep);
    let by_s = delay_off(sweep, &behind);
    let delay_s = line.delay_s + by_s;
    line = line.with_delay(delay_s);
    let behind: Vec<Complex64> = behind
        .iter()
        .zip(&sweep.freq_hz)
        .map(|(g, f)| g * Complex64::from_polar(1.0, 2.0 * TAU * f * by_s))
        .collect();
    Some(AntennaStart {
        line,
        antenna: Antenna::new(branches(&sweep.freq_hz, &behind)),
    })
}

/// The part of the sweep in which the antenna takes hardly any power: points without a gap.
fn quiet_run(sweep: &Readings) -> Option<std::ops::Range<usize>> {
    let size: Vec<f64> = sweep
        .reflection
        .iter()
        .map(|g| g.norm().max(1e-6).ln())
        .collect();
    let freq_hz = &sweep.freq_hz;
    let stop_hz = *freq_hz.last()?;
    let mut quiet = vec![true; size.len()];
    let mut envelope = vec![0.0; size.len()];
    for _ in 0..ROUNDS {
        // ln of the envelope: −a√f − bf, as a line loses
        let mut sums = [0.0; 5];
        for i in (0..size.len()).filter(|&i| quiet[i]) {
            let x = freq_hz[i] / stop_hz;
            let (u, v) = (x.sqrt(), x);
            for (sum, add) in sums
                .iter_mut()
                .zip([u * u, u * v, v * v, u * size[i], v * size[i]])
            {
                *sum += add;
            }
        }
        let [uu, uv, vv, uy, vy] = sums;
        let determinant = uu * vv - uv * uv;
        let both = (
            (uy * vv - vy * uv) / determinant,
            (vy * uu - uy * uv) / determinant,
        );
        // a loss that grows faster than f or falls is no line's
        let (a, b) = if both.0 <= 0.0 && both.1 <= 0.0 {
            both
        } else {
            (uy / uu, 0.0)
        };
        for i in 0..size.len() {
            let x = freq_hz[i] / stop_hz;
            envelope[i] = a * x.sqrt() + b * x;
            quiet[i] = size[i] > envelope[i] - TAKES + 0.1 * envelope[i].min(0.0);
        }
    }
    let mut bent = vec![false; size.len()];
    for i in (0..size.len()).filter(|&i| !quiet[i]) {
        let begin = freq_hz.partition_point(|&f| f < freq_hz[i] / BENT);
        let end = freq_hz.partition_point(|&f| f <= freq_hz[i] * BENT);
        // a point or two by themselves are noise
        if i > 0 && !quiet[i - 1] {
            bent[begin..end].fill(true);
        }
    }
    let mut runs: Vec<std::ops::Range<usize>> = Vec::new();
    for i in (0..bent.len()).filter(|&i| !bent[i]) {
        match runs.last_mut() {
            Some(run) if run.end == i => run.end = i + 1,
            _ => runs.push(i..i + 1),
        }
    }
    let span = |run: &std::ops::Range<usize>| freq_hz[run.end - 1] - freq_hz[run.start];
    runs.retain(|run| run.len() >= FEWEST && span(run) > LEAST_PART * (stop_hz - freq_hz[0]));
    let largest = runs.iter().map(span).fold(0.0, f64::max);
    runs.into_iter()
        .find(|run| span(run) >= LOWER_PART * largest)
}

/// Reflection of what ends the line, the line taken off.
fn behind(line: &BandStart, sweep: &Readings) -> Vec<Complex64> {
    let ends = [Kind::Open, Kind::Short, Kind::Load];
    let grid = covered(std::slice::from_ref(sweep));
    let layout = Layout::new(ends.to_vec(), 2, 4, grid, Vec::new());
    let mut theta = vec![0.0; layout.len()];
    for &(index, value) in &line.singles {
        theta[index] = value;
    }
    let ideal = [
        AT.standards.into_array().as_slice(),
        &AT.far_end.into_array(),
    ]
    .concat();
    for unknown in ideal.into_iter().filter(|&unknown| unknown < PARAMETERS) {
        theta[unknown] = 0.0;
    }
    let mut seen = vec![[Complex64::ZERO; 3]; sweep.freq_hz.len()];
    for (set, _) in ends.iter().enumerate() {
        Forward::default().predict(&layout, &theta, set, &sweep.freq_hz, |i, p| {
            seen[i][set] = p.reflection;
        });
    }
    seen.into_iter()
        .zip(&sweep.reflection)
        .map(|(ends, &input)| ByFarEnds::of_open_short_load(ends).end(input))
        .collect()
}

/// By how much the line is longer, one way, s: what ends it turns back and forth at its resonances, and is otherwise
/// the same.
fn delay_off(sweep: &Readings, behind: &[Complex64]) -> f64 {
    let (_, stop_hz) = covered(std::slice::from_ref(sweep));
    let step_s = 1.0 / (f64::from(TRIES) * stop_hz);
    let together = |k: i32| {
        let turned = |(g, f): (&Complex64, &f64)| {
            // what takes power says nothing of the delay
            let weight = g.norm().min(1.0).powi(4);
            weight * (g / g.norm()) * Complex64::from_polar(1.0, TAU * f * f64::from(k) * step_s)
        };
        let sum: Complex64 = behind.iter().zip(&sweep.freq_hz).map(turned).sum();
        sum.norm()
    };
    let tried = -PERIODS * TRIES..=PERIODS * TRIES;
    let best = tried.max_by(|&a, &b| together(a).total_cmp(&together(b)));
    0.5 * f64::from(best.expect("zero is tried")) * step_s
}

/// Resonances by the power that they take, the strongest first.
fn branches(freq_hz: &[f64], behind: &[Complex64]) -> [Branch; super::super::model::BRANCHES] {
    let mut found = [Branch::NONE; super::super::model::BRANCHES];
    let mut left: Vec<f64> = behind.iter().map(|g| 1.0 - g.norm_sqr()).collect();
    for branch in &mut found {
        // three neighbours at once: one point's noise is no resonance
        let smooth = |i: usize| {
            let near = &left[i.saturating_sub(1)..(i + 2).min(left.len())];
            near.iter().sum::<f64>() / near.len() as f64
        };
        let Some(at) = (0..left.len()).max_by(|&a, &b| smooth(a).total_cmp(&smooth(b))) else {
            break;
        };
        let taken = smooth(at).min(0.999);
        if taken < LEAST_ABSORBED {
            break;
        }
        let is_half = |i: &usize| smooth(*i) < 0.5 * taken;
        let below = (0..at).rev().find(is_half);
        let above = (at..left.len()).find(is_half);
        let half_hz = match (below, above) {
            (Some(a), Some(b)) => 0.5 * (freq_hz[b] - freq_hz[a]),
            (Some(a), None) => freq_hz[at] - freq_hz[a],
            (None, Some(b)) => freq_hz[b] - freq_hz[at],
            (None, None) => 0.5 * freq_hz[at],
        };
        let loaded_q = (0.5 * freq_hz[at] / half_hz.max(freq_hz[1] - freq_hz[0])).clamp(0.5, 200.0);
        // 1 − |Γ|² = 4g/(1 + g)² at resonance; of the two the sign of Γ chooses
        let size = (1.0 - taken).sqrt();
        let g = if behind[at].re > 0.0 {
            (1.0 - size) / (1.0 + size)
        } else {
            (1.0 + size) / (1.0 - size)
        };
        *branch = Branch {
            ln_g: g.ln(),
            ln_f: freq_hz[at].ln(),
            ln_q: (loaded_q * (1.0 + g)).ln(),
        };
        for (left, &f) in left.iter_mut().zip(freq_hz) {
            let (y, _) = branch.admittance(f);
            // twice as wide: what is left of its skirts is no resonance
            let takes = 1.0 - ((1.0 - y) / (1.0 + y)).norm_sqr();
            *left -= 2.0 * takes;
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Resonances of a dipole for two bands, by the admittance of its branches.
    #[test]
    fn resonances_are_found_by_the_power_that_they_take() {
        let branch = |g: f64, f: f64, q: f64| Branch {
            ln_g: g.ln(),
            ln_f: f.ln(),
            ln_q: q.ln(),
        };
        let (low, high) = (branch(0.9, 51e6, 12.0), branch(1.4, 145e6, 15.0));
        let grid: Vec<f64> = (1..=400).map(|i| 0.75e6 * f64::from(i)).collect();
        let reflection: Vec<Complex64> = grid
            .iter()
            .map(|&f| {
                let y = low.admittance(f).0 + high.admittance(f).0;
                (1.0 - y) / (1.0 + y)
            })
            .collect();
        let found = branches(&grid, &reflection);
        for (wanted, tolerance) in [(low, 0.03), (high, 0.03)] {
            let near = |b: &&Branch| (b.ln_f - wanted.ln_f).abs() < tolerance;
            let found = found.iter().find(near).expect("the resonance is found");
            assert!((found.ln_q - wanted.ln_q).abs() < 0.7, "{found:?}");
        }
    }
}
