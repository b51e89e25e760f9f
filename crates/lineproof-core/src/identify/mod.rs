//! Which type a cable is: probabilities over the catalogue and "none of these".
//!
//! Each type is a normal distribution of what a piece of it shows: impedance, velocity factor,
//! loss at a few frequencies, and diameters, with the spread between makers and pieces
//! ([`CableType::z0_spread_ohm`], [`CableType::velocity_spread`], [`crate::catalogue::CONDUCTOR_SPREAD`]). What was
//! seen adds its own uncertainty. By Bayes' rule with equal odds for every group of types that are
//! the same cable electrically ([`groups()`]), and [`NONE_PRIOR`] for a cable that the catalogue does
//! not have, spread evenly over what cables can be.
//!
//! A bad cable loses more than its type and one in fifty pieces is off by more than the spread (a
//! 7.6 m piece of RG-58 was found at velocity factor 0.59, source W4ZT of the catalogue), so each
//! quantity has a wide second component of 2 %.

mod candidate;
mod groups;
mod likelihood;
mod observed;
mod separate;

use crate::catalogue::{CableType, Catalogue};

pub use candidate::{Candidate, Excluded};
pub use groups::groups;
pub use observed::{LossSeen, Observed, Per};
pub use separate::Separator;

/// Odds, before anything is seen, that a cable is of a type that the catalogue does not have: one in
/// ten. A judgement: there is no census of cables.
pub const NONE_PRIOR: f64 = 0.1;
/// Probability below which a type counts as excluded.
pub const EXCLUDED: f64 = 1e-3;

/// What a cable may be.
#[derive(Clone, Debug, PartialEq)]
pub struct Identification {
    /// Groups above [`EXCLUDED`], the most likely first.
    pub candidates: Vec<Candidate>,
    /// Probability that it is none of the catalogue's types.
    pub none: f64,
    /// Whole classes that it can't be.
    pub excluded: Vec<Excluded>,
    /// Cheap observations that would tell the rest apart, the best first.
    pub separators: Vec<Separator>,
}

/// A catalogue sorted into groups, ready to judge many cables.
#[derive(Clone, Debug)]
pub struct Judge<'a> {
    groups: Vec<Vec<&'a CableType>>,
}

impl<'a> Judge<'a> {
    /// Sorts the catalogue.
    pub fn new(catalogue: &'a Catalogue) -> Self {
        Self {
            groups: groups(catalogue),
        }
    }

    /// Probabilities over the types; `None` if nothing was seen that could tell them apart.
    pub fn identify(&self, seen: &Observed) -> Option<Identification> {
        if seen.is_empty() {
            return None;
        }
        let none = NONE_PRIOR.ln() + likelihood::of_none(seen);
        let weights = self.weights(seen);
        let highest = weights.iter().flatten().fold(none, |a, &b| a.max(b));
        let total = (none - highest).exp()
            + weights
                .iter()
                .flatten()
                .map(|w| (w - highest).exp())
                .sum::<f64>();
        let share = |w: f64| (w - highest).exp() / total;
        let mut candidates: Vec<(Candidate, &Vec<&CableType>)> = self
            .groups
            .iter()
            .zip(&weights)
            .map(|(group, weights)| (candidate(group, weights, &share), group))
            .collect();
        candidates.sort_by(|a, b| b.0.probability.total_cmp(&a.0.probability));
        Some(Identification {
            excluded: excluded(&candidates, seen),
            separators: separate::separators(&candidates, seen),
            candidates: candidates
                .into_iter()
                .map(|(candidate, _)| candidate)
                .filter(|c| c.probability > EXCLUDED)
                .collect(),
            none: share(none),
        })
    }

    /// Log of prior times likelihood of each type. The groups have equal odds, and so have the
    /// types of a group.
    fn weights(&self, seen: &Observed) -> Vec<Vec<f64>> {
        let prior = (1.0 - NONE_PRIOR) / self.groups.len() as f64;
        let of_group = |group: &Vec<&CableType>| {
            let each = (prior / group.len() as f64).ln();
            let weight = |t: &&CableType| each + likelihood::of_type(t, seen);
            group.iter().map(weight).collect()
        };
        self.groups.iter().map(of_group).collect()
    }
}

/// Probabilities over the types of `catalogue`; `None` if nothing was seen that could tell them
/// apart.
pub fn identify(catalogue: &Catalogue, seen: &Observed) -> Option<Identification> {
    Judge::new(catalogue).identify(seen)
}

fn candidate(group: &[&CableType], weights: &[f64], share: &impl Fn(f64) -> f64) -> Candidate {
    let mut members: Vec<(String, f64)> = group
        .iter()
        .zip(weights)
        .map(|(t, &w)| (t.designation.clone(), share(w)))
        .collect();
    members.sort_by(|a, b| b.1.total_cmp(&a.1));
    Candidate {
        probability: members.iter().map(|(_, p)| p).sum(),
        members,
    }
}

/// Classes all of whose types are below [`EXCLUDED`] together, with what speaks most against the
/// type of them that fits best.
fn excluded(candidates: &[(Candidate, &Vec<&CableType>)], seen: &Observed) -> Vec<Excluded> {
    let mut classes: Vec<(&str, usize, f64, (&CableType, f64))> = Vec::new();
    for (candidate, group) in candidates {
        for t in *group {
            let p = candidate.members.iter().find(|(n, _)| *n == t.designation);
            let p = p.map_or(0.0, |(_, p)| *p);
            match classes.iter_mut().find(|(class, ..)| *class == t.class) {
                Some((_, types, sum, best)) => {
                    *types += 1;
                    *sum += p;
                    if p > best.1 {
                        *best = (t, p);
                    }
                }
                None => classes.push((&t.class, 1, p, (t, p))),
            }
        }
    }
    classes
        .into_iter()
        .filter(|(_, _, sum, _)| *sum < EXCLUDED)
        .filter_map(|(class, types, _, (best, _))| {
            likelihood::worst(best, seen).map(|quantity| Excluded {
                class: class.to_owned(),
                types,
                quantity,
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::uncertain::Uncertain;

    fn seen(z0_ohm: f64, velocity_factor: f64, losses: &[(f64, f64)]) -> Observed {
        Observed {
            impedance_ohm: Some(Uncertain::new(z0_ohm, 0.2)),
            velocity_factor: Some(Uncertain::new(velocity_factor, 0.003)),
            loss: losses
                .iter()
                .map(|&(freq_hz, db_100m)| LossSeen {
                    freq_hz,
                    per: Per::Metre,
                    db: Uncertain::new(db_100m / 100.0, 0.02 * db_100m / 100.0),
                })
                .collect(),
            ..Observed::default()
        }
    }

    /// Belden 8263 (RG-59B/U) prints 3.4 dB/100 ft at 100 MHz and 7.0 at 400 MHz.
    #[test]
    fn a_75_ohm_video_cable_is_named() {
        let seen = seen(75.0, 0.66, &[(1e8, 11.2), (4e8, 23.0)]);
        let id = identify(Catalogue::built_in(), &seen).unwrap();
        let first = &id.candidates[0];
        assert!(
            first.members.iter().any(|(n, _)| n == "RG-59B/U"),
            "{first:?}"
        );
        assert!(
            id.excluded.iter().any(|e| e.class == "50 solid PE"),
            "{:?}",
            id.excluded
        );
        let sum: f64 = id.candidates.iter().map(|c| c.probability).sum::<f64>() + id.none;
        assert!((0.98..=1.0 + 1e-9).contains(&sum), "{sum}");
    }

    /// No type is near 64 ohm; the odd piece of a 54-ohm type stays thinkable.
    #[test]
    fn what_no_type_has_is_none_of_these() {
        let id = identify(Catalogue::built_in(), &seen(64.0, 0.66, &[(1e8, 12.0)])).unwrap();
        assert!(id.none > 0.5, "{}", id.none);
        assert!(id.candidates.iter().all(|c| c.probability < id.none));
    }

    #[test]
    fn nothing_seen_says_nothing() {
        assert_eq!(identify(Catalogue::built_in(), &Observed::default()), None);
    }

    #[test]
    fn a_diameter_tells_equal_cables_apart() {
        let mut seen = seen(50.0, 0.66, &[(1e8, 6.1)]);
        seen.jacket_diameter_m = Some(Uncertain::new(10.8e-3, 0.05e-3));
        let id = identify(Catalogue::built_in(), &seen).unwrap();
        assert_eq!(
            id.candidates[0].members[0].0, "RG-214/U",
            "{:?}",
            id.candidates[0]
        );
    }
}
