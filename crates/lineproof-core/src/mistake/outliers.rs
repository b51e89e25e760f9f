//! Points that do not lie on the smooth curve of their neighbours.
//!
//! After the mean delay is taken out, each reading is predicted from its nearest neighbours (Lagrange); what is left
//! is held against the median of what is left around it. A few points far out, without which the curve is smooth,
//! are interference: a transmitter that the analyser hears. A longer stretch is contact that came and went while the
//! sweep ran. Assumes points dense enough that the curve is smooth from one to the next; on a coarse sweep the median
//! is large and little is found.

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
    /// Whether it is a stretch rather than a point by itself.
    pub is_burst: bool,
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
/// Most single points that are left out of a sweep; of more, something is wrong with the whole.
const MOST_SPIKES: usize = 6;
/// Least distance of a point at the end of a sweep, whose neighbours are on one side of it: there a curve may bend.
const WORTH_TELLING_AT_END: f64 = 0.05;
/// What two points must leave of the distance that one leaves, to be the bad ones.
const CLEARLY: f64 = 0.5;
/// Points at either end whose neighbours stand on one side.
const END: usize = 2;
/// Ratio of the third frequency to the first up to which the curve may not bend at the low end of a sweep: towards
/// direct current every line's impedance rises.
const EVEN_START: f64 = 1.5;

/// Most stretches that a transmitter or a joint makes; more come from a curve that is not smooth on this
/// grid.
const MOST_STRETCHES: usize = 6;

/// What is out, by rising frequency: points by themselves, then stretches.
pub fn outliers(sweep: &Sweep) -> Vec<Outliers> {
    if sweep.len() < FEWEST_POINTS {
        return Vec::new();
    }
    let curve = Curve::of(sweep.freq_hz(), sweep.reflection());
    let spikes = curve.spikes();
    let is_kept = |i: &usize| spikes.iter().all(|s| s.0 != *i);
    let kept: Vec<usize> = (0..sweep.len()).filter(is_kept).collect();
    let single = spikes.iter().map(|&(i, size)| Outliers {
        band_hz: (curve.freq_hz[i], curve.freq_hz[i]),
        points: 1,
        size,
        is_burst: false,
    });
    single.chain(curve.stretches(&kept)).collect()
}

/// Numbers of the points that are no spikes, by rising frequency. What a transmitter puts on a point
/// says nothing of the cable; a burst is something that happened to it, and stays.
pub(crate) fn without_spikes(freq_hz: &[f64], readings: &[Complex64]) -> Vec<usize> {
    let spikes = if freq_hz.len() < FEWEST_POINTS {
        Vec::new()
    } else {
        Curve::of(freq_hz, readings).spikes()
    };
    (0..freq_hz.len())
        .filter(|i| spikes.iter().all(|s| s.0 != *i))
        .collect()
}

/// Readings with their mean delay taken out.
struct Curve<'a> {
    freq_hz: &'a [f64],
    still: Vec<Complex64>,
}

impl<'a> Curve<'a> {
    fn of(freq_hz: &'a [f64], readings: &[Complex64]) -> Self {
        let delay_s = mean_delay_s(freq_hz, readings);
        let turned = |(f, g): (&f64, &Complex64)| g * Complex64::cis(TAU * f * delay_s);
        Self {
            freq_hz,
            still: freq_hz.iter().zip(readings).map(turned).collect(),
        }
    }

    /// Points that are out by themselves, with their distance: the worst is left out, and the next looked for on
    /// what is left, so that no point is held against a bad one.
    fn spikes(&self) -> Vec<(usize, f64)> {
        let mut kept: Vec<usize> = (0..self.still.len()).collect();
        let mut out: Vec<usize> = Vec::new();
        while let Some(place) = self.worst(&kept) {
            let culprits = self.culprits(&kept, place);
            if out.len() + culprits.len() > MOST_SPIKES {
                // so many are no transmitter: nothing is taken for a spike
                return Vec::new();
            }
            out.extend(culprits.iter().map(|&p| kept[p]));
            kept.retain(|k| !out.contains(k));
        }
        out.sort_unstable();
        let apart = self.apart(&kept);
        // against neighbours of which none is bad
        let size = |i: usize, place: usize| {
            let first = place.saturating_sub(END).min(kept.len() - 2 * END);
            self.distance(i, &kept[first..first + 2 * END])
        };
        out.into_iter()
            .map(|i| (i, kept.partition_point(|&k| k < i)))
            .map(|(i, place)| (i, place, size(i, place)))
            .filter(|&(_, place, size)| {
                size > WORTH_TELLING && stands_out(&apart, place, place, size)
            })
            .map(|(i, _, size)| (i, size))
            .collect()
    }

    /// Place of the point that is out most among those `kept`.
    fn worst(&self, kept: &[usize]) -> Option<usize> {
        let apart = self.apart(kept);
        let steps_up = self.freq_hz.get(END)? / self.freq_hz[0] > EVEN_START;
        let least = |place: usize| {
            if place < END && steps_up {
                f64::INFINITY
            } else if place < END || place + END >= kept.len() {
                WORTH_TELLING_AT_END
            } else {
                WORTH_TELLING
            }
        };
        let over = |place: usize| apart[place] / (OUT * median_around(&apart, place));
        (0..kept.len())
            .filter(|&place| apart[place] > least(place))
            .map(|place| (place, over(place)))
            .filter(|&(_, over)| over > 1.0)
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(place, _)| place)
    }

    /// Of the points around `place`, which is out, the one or two without which the rest is smoothest: a bad point puts
    /// its neighbours out too, those at the end of a sweep as far as itself, and two of them cover each other.
    fn culprits(&self, kept: &[usize], place: usize) -> Vec<usize> {
        let around =
            |reach: usize| place.saturating_sub(reach)..(place + reach + 1).min(kept.len());
        let rest = |without: &[usize]| {
            let near: Vec<usize> = around(4 * END)
                .filter(|p| !without.contains(p))
                .map(|p| kept[p])
                .collect();
            max(&self.apart(&near))
        };
        let smoothest = |sets: Vec<Vec<usize>>| {
            let with_rest = sets.into_iter().map(|set| (rest(&set), set));
            with_rest.min_by(|a, b| a.0.total_cmp(&b.0))
        };
        let pairs =
            || around(2 * END).flat_map(|p| (p + 1..around(2 * END).end).map(move |q| vec![p, q]));
        let one = smoothest(around(2 * END).map(|p| vec![p]).collect());
        let two = smoothest(pairs().collect());
        match (one, two) {
            (Some((of_one, _)), Some((of_two, two))) if of_two < CLEARLY * of_one => two,
            (Some((_, one)), _) => one,
            (None, _) => vec![place],
        }
    }

    /// Stretches that are out among the points `kept`.
    fn stretches(&self, kept: &[usize]) -> Vec<Outliers> {
        let apart = self.apart(kept);
        let out = (END..kept.len().saturating_sub(END))
            .filter(|&i| apart[i] > WORTH_TELLING && apart[i] > OUT * median_around(&apart, i));
        let mut stretches: Vec<(usize, usize)> = Vec::new();
        for i in out {
            match stretches.last_mut() {
                Some(last) if i - last.1 <= GAP => last.1 = i,
                _ => stretches.push((i, i)),
            }
        }
        let largest = |first: usize, last: usize| max(&apart[first..=last]);
        stretches.retain(|&(first, last)| stands_out(&apart, first, last, largest(first, last)));
        if stretches.len() > MOST_STRETCHES {
            return Vec::new();
        }
        let stretch = |(first, last): (usize, usize)| Outliers {
            band_hz: (self.freq_hz[kept[first]], self.freq_hz[kept[last]]),
            points: last - first + 1,
            size: largest(first, last),
            is_burst: true,
        };
        stretches.into_iter().map(stretch).collect()
    }

    /// Distance of a reading from the cubic through four `neighbours`, at the ends of a sweep in units of what noise the
    /// extrapolation makes more of.
    fn distance(&self, here: usize, neighbours: &[usize]) -> f64 {
        let mut predicted = Complex64::ZERO;
        let mut noise = 1.0;
        for &k in neighbours {
            let weight = weight(self.freq_hz, neighbours, k, self.freq_hz[here]);
            predicted += self.still[k] * weight;
            noise += weight * weight;
        }
        (self.still[here] - predicted).norm() * (IN_THE_MIDDLE / noise).sqrt().min(1.0)
    }

    /// Distance of each reading of `kept` from the cubic through its four nearest neighbours among them.
    fn apart(&self, kept: &[usize]) -> Vec<f64> {
        let count = kept.len();
        let apart = |place: usize| {
            let first = place.saturating_sub(END).min(count - 2 * END - 1);
            let neighbours: Vec<usize> = (first..=first + 2 * END)
                .filter(|&p| p != place)
                .map(|p| kept[p])
                .collect();
            self.distance(kept[place], &neighbours)
        };
        (0..count).map(apart).collect()
    }
}

/// What the noise of a reading and of its four neighbours adds up to in the middle of an even grid, as a variance:
/// weights of 2/3 and 1/6 on either side.
const IN_THE_MIDDLE: f64 = 1.0 + 2.0 * (4.0 / 9.0 + 1.0 / 36.0);

fn max(values: &[f64]) -> f64 {
    values.iter().copied().fold(0.0, f64::max)
}

/// Whether something of `size` stands out from what lies just outside of it: a bend of the curve fades slowly.
fn stands_out(apart: &[f64], first: usize, last: usize, size: f64) -> bool {
    let below = &apart[first.saturating_sub(GAP + FLANK)..first.saturating_sub(GAP)];
    let from = (last + GAP + 1).min(apart.len());
    let above = &apart[from..(from + FLANK).min(apart.len())];
    let smooth_around = below.len().max(above.len()) >= FLANK / 2;
    smooth_around && size > ABRUPT * max(below).max(max(above))
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
    let from = i.saturating_sub(AROUND).max(END);
    let to = (i + AROUND + 1).min(values.len() - END);
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
        assert!(!found[0].is_burst);
        assert_eq!(found[0].band_hz, (45.5e6, 45.5e6));
        let line = open_line(0.05, 0.5e6);
        let kept = without_spikes(line.freq_hz(), line.reflection());
        assert!(!kept.contains(&90) && kept.len() == 200, "{kept:?}");
        for step_hz in [0.5e6, 2e6, 8e6] {
            assert_eq!(outliers(&open_line(0.0, step_hz)), vec![], "{step_hz}");
        }
    }

    /// Two bad points are two, however near each other, also at the end of a sweep.
    #[test]
    fn each_of_two_bad_points_is_found() {
        let line = open_line(0.0, 0.5e6);
        let alike = [Complex64::new(0.2, -0.1); 2];
        let unlike = [Complex64::new(0.2, -0.1), Complex64::new(-0.1, 0.4)];
        for (first, second) in [(60, 61), (60, 62), (60, 66), (100, 199), (100, 200)] {
            for off in [alike, unlike] {
                let mut readings = line.reflection().to_vec();
                readings[first] += off[0];
                readings[second] += off[1];
                let kept = without_spikes(line.freq_hz(), &readings);
                let expected: Vec<usize> =
                    (0..201).filter(|&i| i != first && i != second).collect();
                assert_eq!(kept, expected, "{first} {second}");
            }
        }
    }

    /// A contact that came and went over many points is no spike, and stays.
    #[test]
    fn a_stretch_is_no_spike() {
        let line = open_line(0.0, 0.5e6);
        let mut readings = line.reflection().to_vec();
        for (i, r) in readings[80..110].iter_mut().enumerate() {
            *r += Complex64::cis(i as f64) * 0.2;
        }
        let kept = without_spikes(line.freq_hz(), &readings);
        assert_eq!(kept.len(), 201);
        let sweep = Sweep::new(line.freq_hz().to_vec(), readings, 50.0).unwrap();
        let found = outliers(&sweep);
        assert!(found.len() == 1 && found[0].is_burst, "{found:?}");
    }
}
