//! Which type an assayed cable may be.

use crate::catalogue::{Catalogue, OwnTypeError};
use crate::identify::{Identification, LossSeen, Observed, Per, identify};
use crate::uncertain::Uncertain;

use crate::finding::found::Finding;
use crate::finding::marking::TypeFound;
use crate::finding::quantities::from_u95;

/// Frequencies that losses are compared at where the sweeps cover them, Hz.
const COMPARED_HZ: [f64; 5] = [10e6, 30e6, 100e6, 430e6, 1000e6];
/// Loss that shows: larger than this many times its 95 % half-width.
const SHOWS: f64 = 2.0;
/// Types that a finding lists.
const MOST: usize = 6;
/// Probability from which a type is listed.
const LEAST: f64 = 0.01;
/// Name of the entry for a cable that the catalogue does not have.
pub const NONE: &str = "none of these";

/// What the finding says that could tell a type.
pub fn observed(finding: &Finding) -> Observed {
    let delay = finding.delay.and_then(|d| {
        let (s, u95) = d.between_plugs_s.zip(d.u95_between_plugs_s)?;
        Some(from_u95(s, u95))
    });
    Observed {
        impedance_ohm: finding.impedance.map(|z| z.uncertain()),
        velocity_factor: finding.velocity_factor.map(|v| from_u95(v.ratio, v.u95)),
        loss: delay.map_or_else(Vec::new, |delay| losses(finding, delay)),
        marking: finding.marking.as_ref().and_then(|m| m.designation.clone()),
        ..Observed::default()
    }
}

/// Losses per second of delay, which needs no tape.
fn losses(finding: &Finding, delay: Uncertain) -> Vec<LossSeen> {
    let shows = |row: &&crate::finding::quantities::LossRow| {
        !row.extrapolated && COMPARED_HZ.contains(&row.at_hz) && row.db > SHOWS * row.u95_db
    };
    finding
        .loss
        .iter()
        .filter(shows)
        .map(|row| LossSeen {
            freq_hz: row.at_hz,
            per: Per::SecondOfDelay,
            db: crate::uncertain::propagate([row.uncertain(), delay], |[db, s]| db / s),
        })
        .collect()
}

/// A person's own types, checked, as their file has them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OwnTypes(String);

impl OwnTypes {
    /// The text of a file of types.
    ///
    /// # Errors
    /// [`OwnTypeError`] with the mistake.
    pub fn new(text: String) -> Result<Self, OwnTypeError> {
        Catalogue::built_in().with_own(&text)?;
        Ok(Self(text))
    }

    /// The text.
    pub fn text(&self) -> &str {
        &self.0
    }
}

/// Types for the finding and what was looked at besides, and what would tell them apart. A person's
/// own stand before those of the catalogue.
pub fn find(finding: &mut Finding, look: &Observed, own: Option<&OwnTypes>) {
    let by_sweeps = observed(finding);
    let seen = Observed {
        impedance_ohm: by_sweeps.impedance_ohm,
        velocity_factor: by_sweeps.velocity_factor,
        loss: by_sweeps.loss,
        marking: by_sweeps.marking,
        ..look.clone()
    };
    if seen.impedance_ohm.is_none() {
        return;
    }
    let built_in = Catalogue::built_in();
    let with_own = own.and_then(|own| built_in.with_own(own.text()).ok());
    let Some(found) = identify(with_own.as_ref().unwrap_or(built_in), &seen) else {
        return;
    };
    finding.types = entries(&found);
    if let Some(separator) = found.separators.first() {
        let others = finding
            .types
            .first()
            .is_none_or(|t| t.probability < 0.95 || !t.same_as.is_empty());
        if others {
            let text = format!("to distinguish the types, {}", separator.what);
            finding.advice.push(text.into());
        }
    }
}

/// Groups and "none of these" by falling probability.
pub fn entries(found: &Identification) -> Vec<TypeFound> {
    let mut entries: Vec<TypeFound> = found
        .candidates
        .iter()
        .map(|candidate| TypeFound {
            designation: candidate.members[0].0.clone(),
            probability: candidate.probability,
            same_as: candidate.members[1..]
                .iter()
                .map(|(n, _)| n.clone())
                .collect(),
        })
        .collect();
    entries.push(TypeFound {
        designation: NONE.to_owned(),
        probability: found.none,
        same_as: Vec::new(),
    });
    entries.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    entries.retain(|e| e.probability > LEAST);
    entries.truncate(MOST);
    entries
}
