//! Dips in an otherwise total reflection: an antenna at the far end instead of nothing.
//!
//! An open or shorted cable sends back all but its loss, at every frequency. An antenna takes power in
//! its bands and reflects like an open or short elsewhere. So: where most of the neighbourhood comes
//! back, no point of it may fall to a third. Assumes less than 2 dB of one-way loss where it looks:
//! the ripple that a cable of another impedance than the reference makes on a lossy line is
//! shallower there (a 93-ohm cable on 50 ohm: to a half).

use crate::sweep::Sweep;

/// A band in which the reflection falls away.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dip {
    /// Frequency of the deepest point, Hz.
    pub at_hz: f64,
    /// Reflection there.
    pub reflection: f64,
}

/// Reflection that counts as nearly total.
const NEARLY_TOTAL: f64 = 0.62;
/// Part of the neighbourhood's reflection below which it is a dip.
const DEEP: f64 = 0.35;
/// Largest part of all points that may lie below that: a joint with resistance makes dips too, in half
/// of all points, one for each half wave.
const LARGEST_PART: f64 = 0.2;
/// Fewest points that show a band.
const FEWEST_POINTS: usize = 30;
/// Points of a dip: one alone is interference or a bad reading.
const FEWEST_IN_A_DIP: usize = 2;

/// Dips of a sweep that is meant to have an open or a short at its far end.
pub fn dips(sweep: &Sweep) -> Vec<Dip> {
    let size: Vec<f64> = sweep.reflection().iter().map(|g| g.norm()).collect();
    let points = size.len();
    if points < FEWEST_POINTS {
        return Vec::new();
    }
    let low = size.iter().filter(|s| **s < NEARLY_TOTAL).count();
    if low as f64 > LARGEST_PART * points as f64 {
        return Vec::new();
    }
    let mut dips = Vec::new();
    let mut from = None;
    for i in 0..=points {
        let inside = i < points && size[i] < DEEP * shoulders(&size, i);
        match (inside, from) {
            (true, None) => from = Some(i),
            (false, Some(first)) => {
                from = None;
                if i - first >= FEWEST_IN_A_DIP {
                    let deepest = (first..i).min_by(|&a, &b| size[a].total_cmp(&size[b]));
                    let deepest = deepest.expect("a dip has points");
                    dips.push(Dip {
                        at_hz: sweep.freq_hz()[deepest],
                        reflection: size[deepest],
                    });
                }
            }
            _ => {}
        }
    }
    dips
}

/// The smaller of the largest reflections on either side, 0 unless both are nearly total.
fn shoulders(size: &[f64], i: usize) -> f64 {
    let reach = size.len() / 3;
    let largest = |range: &[f64]| range.iter().copied().fold(0.0, f64::max);
    let below = largest(&size[i.saturating_sub(reach)..i]);
    let above = largest(&size[i..(i + reach).min(size.len())]);
    let both = below.min(above);
    if both > NEARLY_TOTAL { both } else { 0.0 }
}
