//! Points that do not lie on the smooth curve of their neighbours.
//!
//! After the mean delay is taken out, each reading is predicted from two neighbours on either side
//! (Lagrange); what is left is held against the median of what is left around it. One to three
//! points far out are interference: a transmitter that the analyser hears. A longer stretch is
//! contact that came and went while the sweep ran. Assumes points dense enough that the curve
//! is smooth from one to the next; on a coarse sweep the median is large and little is found.

use std::f64::consts::TAU;

use num_complex::Complex64;

use crate::sweep::Sweep;
use crate::time_domain::resample::mean_delay_s;

/// Readings that are out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outliers {
    /// First and last frequency of the stretch, Hz.
    pub band_hz: (f64, f64),
    /// Points in it.
    pub points: usize,
    /// Largest distance from the neighbours' curve, as a reflection.
    pub size: f64,
}

impl Outliers {
    /// Whether it is a stretch rather than a spike or two.
    pub fn is_burst(&self) -> bool {
        self.points > MOST_IN_A_SPIKE
    }
}

/// Distance, in medians, beyond which a point is out: for Gaussian noise 2^(−36), and a bend of the
/// curve reaches a third of it.
const OUT: f64 = 6.0;
/// Smallest distance that is worth telling, as a reflection.
const WORTH_TELLING: f64 = 4e-3;
/// Points on either side that make the median.
const AROUND: usize = 60;
/// Fewest points that show what is smooth.
const FEWEST_POINTS: usize = 30;
/// How far a stretch stands above the points on either side of it, and how many of those count.
const ABRUPT: f64 = 3.0;
const FLANK: usize = 8;
/// Gap, in points, that still belongs to one stretch. Next to an outlier its neighbours look out.
const GAP: usize = 3;
/// Points that a single spike spreads over through its neighbours' prediction.
const MOST_IN_A_SPIKE: usize = 9;

/// Most stretches that a transmitter or a joint makes; more come from a curve that is not smooth on this
/// grid.
const MOST_STRETCHES: usize = 6;

/// Stretches that are out, by rising frequency.
pub fn outliers(sweep: &Sweep) -> Vec<Outliers> {
    if sweep.len() < FEWEST_POINTS {
        return Vec::new();
    }
    let apart = apart(sweep);
    let out: Vec<usize> = (0..apart.len())
        .filter(|&i| apart[i] > WORTH_TELLING && apart[i] > OUT * median_around(&apart, i))
        .collect();
    let mut stretches: Vec<(usize, usize)> = Vec::new();
    for i in out {
        match stretches.last_mut() {
            Some(last) if i - last.1 <= GAP => last.1 = i,
            _ => stretches.push((i, i)),
        }
    }
    stretches.retain(|&(first, last)| is_abrupt(&apart, first, last));
    if stretches.len() > MOST_STRETCHES {
        return Vec::new();
    }
    let freq_hz = sweep.freq_hz();
    stretches
        .into_iter()
        .map(|(first, last)| Outliers {
            band_hz: (freq_hz[first], freq_hz[last]),
            points: last - first + 1,
            size: apart[first..=last].iter().copied().fold(0.0, f64::max),
        })
        .collect()
}

/// Numbers of the points that are no part of a spike, by rising frequency. What a transmitter puts on a point
/// says nothing of the cable; a burst is something that happened to it, and stays.
pub(crate) fn without_spikes(freq_hz: &[f64], readings: &[Complex64]) -> Vec<usize> {
    let spikes: Vec<Outliers> = Sweep::new(freq_hz.to_vec(), readings.to_vec(), ANY_REFERENCE_OHM)
        .map_or_else(|_| Vec::new(), |sweep| outliers(&sweep))
        .into_iter()
        .filter(|stretch| !stretch.is_burst())
        .collect();
    let is_spike = |f: f64| spikes.iter().any(|s| s.band_hz.0 <= f && f <= s.band_hz.1);
    (0..freq_hz.len())
        .filter(|&i| !is_spike(freq_hz[i]))
        .collect()
}

/// What readings refer to does not matter to their smoothness.
const ANY_REFERENCE_OHM: f64 = 50.0;

/// Whether a stretch stands out from what lies just outside of it: a bend of the curve fades slowly,
/// and at the edge of a sweep nothing shows that the curve is smooth.
fn is_abrupt(apart: &[f64], first: usize, last: usize) -> bool {
    let largest = |range: &[f64]| range.iter().copied().fold(0.0, f64::max);
    let inside = largest(&apart[first..=last]);
    let below = &apart[first.saturating_sub(GAP + FLANK)..first.saturating_sub(GAP)];
    let from = (last + GAP + 1).min(apart.len());
    let above = &apart[from..(from + FLANK).min(apart.len())];
    let smooth_around = below.len().min(above.len()) >= FLANK / 2;
    smooth_around && inside > ABRUPT * largest(below).max(largest(above))
}

/// Distance of each reading from the cubic through its four neighbours; 0 at the ends.
fn apart(sweep: &Sweep) -> Vec<f64> {
    let freq_hz = sweep.freq_hz();
    let delay_s = mean_delay_s(freq_hz, sweep.reflection());
    let still: Vec<Complex64> = freq_hz
        .iter()
        .zip(sweep.reflection())
        .map(|(f, g)| g * Complex64::cis(TAU * f * delay_s))
        .collect();
    let mut apart = vec![0.0; still.len()];
    for i in 2..still.len() - 2 {
        let neighbours = [i - 2, i - 1, i + 1, i + 2];
        let predicted: Complex64 = neighbours
            .iter()
            .map(|&k| still[k] * weight(freq_hz, &neighbours, k, freq_hz[i]))
            .sum();
        apart[i] = (still[i] - predicted).norm();
    }
    apart
}

/// Lagrange's weight of point `k`.
fn weight(freq_hz: &[f64], neighbours: &[usize], k: usize, at_hz: f64) -> f64 {
    let others = neighbours.iter().filter(|&&m| m != k);
    others
        .map(|&m| (at_hz - freq_hz[m]) / (freq_hz[k] - freq_hz[m]))
        .product()
}

/// Median of the neighbourhood, the stretch itself included.
fn median_around(values: &[f64], i: usize) -> f64 {
    let from = i.saturating_sub(AROUND).max(2);
    let to = (i + AROUND + 1).min(values.len() - 2);
    let mut near = values[from..to].to_vec();
    near.sort_by(f64::total_cmp);
    near.get(near.len() / 2).copied().unwrap_or(f64::INFINITY)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 75-ohm line of 20 ns, open, against 50 ohm, in closed form, with a spike.
    fn open_line(spike: f64, step_hz: f64) -> Sweep {
        let freq_hz: Vec<f64> = (1..=201).map(|i| step_hz * f64::from(i)).collect();
        let reading = |(i, f): (usize, &f64)| {
            let far = 0.9 * Complex64::cis(-TAU * f * 40e-9);
            let g = (0.2 + far) / (1.0 + 0.2 * far);
            g + if i == 90 { spike } else { 0.0 }
        };
        let readings = freq_hz.iter().enumerate().map(reading).collect();
        Sweep::new(freq_hz, readings, 50.0).unwrap()
    }

    #[test]
    fn a_spike_is_found_and_a_curve_is_none() {
        let found = outliers(&open_line(0.05, 0.5e6));
        assert_eq!(found.len(), 1);
        assert!(!found[0].is_burst());
        assert!(found[0].band_hz.0 <= 45.5e6 && 45.5e6 <= found[0].band_hz.1);
        let line = open_line(0.05, 0.5e6);
        let kept = without_spikes(line.freq_hz(), line.reflection());
        assert!(!kept.contains(&90) && kept.len() >= 192, "{kept:?}");
        for step_hz in [0.5e6, 2e6, 8e6] {
            assert_eq!(outliers(&open_line(0.0, step_hz)), vec![], "{step_hz}");
        }
    }
}
