//! Which cheap observation would tell the types that are left apart.

use super::{Candidate, Observed};
use crate::catalogue::{CableType, Figure};
use crate::quantity::format_length;

/// Probability from which a type counts among those that are left.
const LEFT: f64 = 0.02;
/// Least gain, as a chance of telling two draws apart, that is worth a sentence.
const LEAST_GAIN: f64 = 0.1;
/// Relative difference that a caliper at a jacket, or at a conductor, shows for sure.
const JACKET_STEP: f64 = 0.04;
const CONDUCTOR_STEP: f64 = 0.06;

/// An observation that would tell candidates apart.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Separator {
    /// What to look at, in words, with what to expect.
    #[cfg_attr(feature = "serde", serde(rename = "text"))]
    pub what: String,
    /// Chance that it tells two types, drawn from the probabilities, apart.
    pub gain: f64,
}

/// The observations not made yet, the best first.
pub(super) fn separators(
    candidates: &[(Candidate, &Vec<&CableType>)],
    seen: &Observed,
) -> Vec<Separator> {
    let left = left(candidates);
    let mut found = Vec::new();
    if seen.jacket_diameter_m.is_none() {
        let of = |t: &CableType| t.jacket_diameter_m.clone();
        found.extend(sizes(
            "measure the outside diameter",
            &left,
            JACKET_STEP,
            of,
        ));
    }
    if seen.inner_diameter_m.is_none() {
        let of = |t: &CableType| t.inner_diameter_m.clone();
        found.extend(sizes(
            "measure the inner conductor",
            &left,
            CONDUCTOR_STEP,
            of,
        ));
    }
    if seen.filling.is_none() {
        let what = "look at the dielectric where it is cut";
        found.extend(qualities(what, &left, |t| t.filling.name().to_owned()));
    }
    if seen.magnetic.is_none() {
        let of = |t: &CableType| {
            if t.has_steel_core() {
                "it holds"
            } else {
                "it does not"
            }
        };
        let what = "hold a magnet to the inner conductor";
        found.extend(qualities(what, &left, |t| of(t).to_owned()));
    }
    if seen.stranded.is_none() {
        let of = |t: &CableType| {
            if t.strands.is_none_or(|n| n == 1) {
                "solid"
            } else {
                "stranded"
            }
        };
        found.extend(qualities("look at the inner conductor", &left, |t| {
            of(t).to_owned()
        }));
    }
    found.retain(|s| s.gain > LEAST_GAIN);
    found.sort_by(|a, b| b.gain.total_cmp(&a.gain));
    found
}

fn left<'a>(candidates: &[(Candidate, &Vec<&'a CableType>)]) -> Vec<(&'a CableType, f64)> {
    let mut left: Vec<(&CableType, f64)> = candidates
        .iter()
        .flat_map(|(candidate, group)| {
            group.iter().filter_map(|t| {
                let (_, p) = candidate
                    .members
                    .iter()
                    .find(|(n, _)| *n == t.designation)?;
                (*p > LEFT).then_some((*t, *p))
            })
        })
        .collect();
    let total: f64 = left.iter().map(|(_, p)| p).sum();
    for (_, p) in &mut left {
        *p /= total;
    }
    left.sort_by(|a, b| b.1.total_cmp(&a.1));
    left
}

fn sizes(
    what: &str,
    left: &[(&CableType, f64)],
    step: f64,
    of: impl Fn(&CableType) -> Option<Figure>,
) -> Option<Separator> {
    let apart = |a: &CableType, b: &CableType| match (of(a), of(b)) {
        (Some(a), Some(b)) => (a.value / b.value).ln().abs() > step,
        _ => false,
    };
    let text = |t: &CableType| of(t).map(|f| format_length(f.value));
    separator(what, left, apart, text)
}

fn qualities(
    what: &str,
    left: &[(&CableType, f64)],
    of: impl Fn(&CableType) -> String,
) -> Option<Separator> {
    separator(what, left, |a, b| of(a) != of(b), |t| Some(of(t)))
}

/// Types by what the observation would give, the likely ones first.
fn separator(
    what: &str,
    left: &[(&CableType, f64)],
    apart: impl Fn(&CableType, &CableType) -> bool,
    text: impl Fn(&CableType) -> Option<String>,
) -> Option<Separator> {
    let gain: f64 = left
        .iter()
        .flat_map(|(a, p)| left.iter().map(move |(b, q)| (a, b, p * q)))
        .filter(|(a, b, _)| apart(a, b))
        .map(|(_, _, pq)| pq)
        .sum();
    let mut expected: Vec<(String, Vec<&str>)> = Vec::new();
    for (t, _) in left.iter().take(6) {
        let Some(text) = text(t) else { continue };
        match expected.iter_mut().find(|(known, _)| *known == text) {
            Some((_, names)) => names.push(&t.designation),
            None => expected.push((text, vec![&t.designation])),
        }
    }
    let expected: Vec<String> = expected
        .iter()
        .map(|(text, names)| format!("{}: {text}", names.join(", ")))
        .collect();
    (expected.len() > 1).then(|| Separator {
        what: format!("{what} ({})", expected.join("; ")),
        gain,
    })
}
