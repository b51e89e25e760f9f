//! Sentences under their headings: beside the numbers, warnings, what would help, care to take.

use super::rows::Sentences;
use crate::finding::found::Finding;
use crate::finding::judge::advice::line_cautions;
use crate::finding::profile::{LeastDentFound, ProfileFound};
use crate::quantity::digits::significant;
use crate::quantity::{Units, format_length};

/// What stands beside the numbers: the calibration, the caliper, and how small a fault would have shown.
pub fn beside_numbers(finding: &Finding, units: Units) -> [Sentences; 3] {
    let left = finding.calibration.iter().map(|left| &left.text);
    let caliper = finding.geometry.iter().map(|found| &found.text);
    [
        Sentences {
            heading: "What the calibration left",
            items: units.texts(left),
        },
        Sentences {
            heading: "By the caliper",
            items: units.texts(caliper),
        },
        Sentences {
            heading: "Smallest fault that would have shown",
            items: units.texts(&detection(finding)),
        },
    ]
}

/// The least dents at both ends, and how near to each other two places are told apart.
fn detection(finding: &Finding) -> Vec<String> {
    let Some(profile) = &finding.profile else {
        return Vec::new();
    };
    let apart = format_length(profile.resolution_m);
    let apart = format!("two places closer than {apart} are not resolved");
    least_dents(profile).into_iter().chain([apart]).collect()
}

fn least_dents(profile: &ProfileFound) -> Option<String> {
    let (near, far) = (profile.least_dents.first()?, profile.least_dents.last()?);
    let percent = |d: &LeastDentFound| format!("{} %", significant(100.0 * d.relative, 2));
    let (near_end, far_end) = (percent(near), percent(far));
    let size = if near_end == far_end {
        format!("{near_end}, anywhere along the cable")
    } else {
        format!("{near_end} near the analyser, {far_end} at the far end")
    };
    let cm = 100.0 * profile.least_dent_length_m;
    Some(format!(
        "a dent of {cm:.0} cm that changes the impedance by {size}"
    ))
}

/// What follows: warnings, what would help, care to take.
pub fn remarks(finding: &Finding, units: Units) -> [Sentences; 3] {
    [
        Sentences {
            heading: "Warnings",
            items: warnings(finding, units),
        },
        Sentences {
            heading: "What would help",
            items: units.texts(finding.advice.iter().map(|a| &a.text)),
        },
        Sentences {
            heading: "Safety",
            items: cautions(finding),
        },
    ]
}

/// What the reader must know before trusting a number.
pub fn warnings(finding: &Finding, units: Units) -> Vec<String> {
    units.texts(finding.warnings.iter().map(|w| &w.text))
}

/// The finding's cautions, and always those for whoever connects an analyser again.
pub fn cautions(finding: &Finding) -> Vec<String> {
    let mut all = finding.cautions.clone();
    let always = line_cautions().into_iter();
    all.extend(always.filter(|c| !finding.cautions.contains(c)));
    all.push(
        "what this says about fitness is an estimate: local codes and licensed practice come first"
            .to_owned(),
    );
    all
}
