//! Types that are the same cable electrically.
//!
//! A perfect measurement of one piece distinguishes two types only as far as the spread between
//! pieces lets it. With normal spreads the best possible judge is right with probability Φ(d/2), d
//! the distance of the two in standard deviations. Below [`CLOSEST`] he is right less than four
//! times in five: such types are named as a group. A group holds only types that are pairwise so
//! near (complete linkage), formed from the nearest pair on, so that the result depends on nothing
//! but the data.

use nalgebra::DMatrix;

use crate::catalogue::{CONDUCTOR_SPREAD, CableType, Catalogue, DIELECTRIC_SPREAD};

/// Distance below which two types are one cable: Φ(1.68/2) = 0.80.
const CLOSEST: f64 = 1.68;
/// Frequencies at which losses are compared where both types have figures, Hz.
const COMPARED_HZ: [f64; 3] = [30e6, 150e6, 600e6];

/// How far two laws' rise between two frequencies is uncertain by their own fits, k = 1.
const LAW_SPREAD: f64 = 0.06;

/// All types of the catalogue but classes, by groups that are one cable electrically.
pub fn groups(catalogue: &Catalogue) -> Vec<Vec<&CableType>> {
    let types: Vec<&CableType> = catalogue.types().iter().filter(|t| !t.is_class).collect();
    let losses: Vec<[Option<Compared>; 3]> = types.iter().map(|t| compared(t)).collect();
    let n = types.len();
    let mut far = DMatrix::from_fn(n, n, |i, j| {
        distance(types[i], types[j], &losses[i], &losses[j])
    });
    let mut groups: Vec<Vec<&CableType>> = types.into_iter().map(|t| vec![t]).collect();
    while let Some((i, j)) = nearest(&far, &groups) {
        let joined = std::mem::take(&mut groups[j]);
        groups[i].extend(joined);
        // Complete linkage: a group is as far as its farthest member.
        for k in 0..n {
            let farther = far[(i, k)].max(far[(j, k)]);
            far[(i, k)] = farther;
            far[(k, i)] = farther;
        }
    }
    groups.retain(|group| !group.is_empty());
    groups
}

/// The nearest two groups, if they are near enough to be one.
fn nearest(far: &DMatrix<f64>, groups: &[Vec<&CableType>]) -> Option<(usize, usize)> {
    let live: Vec<usize> = (0..groups.len())
        .filter(|&i| !groups[i].is_empty())
        .collect();
    let pairs = live.iter().flat_map(|&i| live.iter().map(move |&j| (i, j)));
    pairs
        .filter(|&(i, j)| i < j && far[(i, j)] < CLOSEST)
        .min_by(|&a, &b| far[a].total_cmp(&far[b]))
}

/// Typical loss, dB/m, and the dielectric's share of it.
type Compared = (f64, f64);

fn compared(t: &CableType) -> [Option<Compared>; 3] {
    COMPARED_HZ.map(|f| {
        let typical = t.loss.typical_db_m(f).ok()?;
        Some((typical.value, t.loss.dielectric_share(f)))
    })
}

/// How far two types lie apart in spreads of a piece.
fn distance(
    a: &CableType,
    b: &CableType,
    loss_a: &[Option<Compared>],
    loss_b: &[Option<Compared>],
) -> f64 {
    let z = (a.z0_ohm.value - b.z0_ohm.value) / rms(a.z0_spread_ohm(), b.z0_spread_ohm());
    let vf = (a.velocity_factor.value - b.velocity_factor.value)
        / rms(a.velocity_spread(), b.velocity_spread());
    let limit = if a.loss.is_limit() == b.loss.is_limit() {
        0.0
    } else {
        0.05
    };
    (z * z + vf * vf + loss_square(loss_a, loss_b, limit)).sqrt()
}

/// Squared distance of the losses: their common factor by the conductors' spread, its change over
/// frequency by the dielectric's. Without common figures they cannot be distinguished.
fn loss_square(a: &[Option<Compared>], b: &[Option<Compared>], limit: f64) -> f64 {
    let ratios: Vec<(f64, f64)> = a
        .iter()
        .zip(b)
        .filter_map(|(a, b)| a.zip(*b))
        .map(|((x, share_x), (y, share_y))| ((x / y).ln(), 0.5 * (share_x + share_y)))
        .collect();
    let (Some(first), Some(last)) = (ratios.first(), ratios.last()) else {
        return 0.0;
    };
    let spread = |share: f64| ((1.0 - share) * CONDUCTOR_SPREAD).hypot(share * DIELECTRIC_SPREAD);
    let mean = ratios.iter().map(|(r, _)| r).sum::<f64>() / ratios.len() as f64;
    let share = ratios.iter().map(|(_, s)| s).sum::<f64>() / ratios.len() as f64;
    let shape =
        (last.0 - first.0) / (DIELECTRIC_SPREAD * (last.1 - first.1).abs()).hypot(LAW_SPREAD);
    (mean / spread(share).hypot(limit)).powi(2) + shape * shape
}

fn rms(a: f64, b: f64) -> f64 {
    (0.5 * (a * a + b * b)).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn together(a: &str, b: &str) -> bool {
        groups(Catalogue::built_in()).iter().any(|group| {
            let has = |name: &str| group.iter().any(|t| t.designation == name);
            has(a) && has(b)
        })
    }

    #[test]
    fn one_core_under_two_jackets_is_one_cable() {
        assert!(together("RG-316/U", "RG-188A/U"));
        assert!(together("RG-213/U", "RG-214/U"));
        assert!(together("RG-180B/U", "RG-195A/U"));
    }

    #[test]
    fn cables_of_other_size_are_not() {
        assert!(!together("RG-58C/U", "RG-213/U"));
        assert!(!together("RG-59B/U", "RG-11A/U"));
        assert!(!together("LMR-400", "LMR-240"));
        assert!(!together("RG-142B/U", "RG-58C/U"));
    }
}
