//! What a report says of its cables besides their findings, apart from how it looks: titles, the table of all,
//! pictures and who made it. What is said of a finding is the core's (`finding::said`).

use lineproof_core::finding::judge::beside::{Beside, beside};
use lineproof_core::finding::said::summary::summary;
use lineproof_core::quantity::Units;

use super::subject::Subject;
use crate::finding::Finding;
use crate::workflow::pictures;

/// A picture of a finding.
#[derive(Clone, Debug)]
pub struct Picture {
    /// Its name: `smith`, `profile`, `loss` or `return-loss`.
    pub name: &'static str,
    /// The SVG.
    pub svg: String,
    /// What stands below it.
    pub caption: String,
}

/// Title of a report.
pub fn title(subjects: &[Subject]) -> String {
    match subjects {
        [only] => format!("Cable {}", only.name),
        many => format!("{} cables", many.len()),
    }
}

/// How many cables there are for each thing to do, the most frequent first.
pub fn counts(subjects: &[Subject]) -> String {
    let mut counts: Vec<(&str, usize)> = Vec::new();
    for subject in subjects {
        let words = to_do(&subject.finding);
        match counts.iter_mut().find(|(known, _)| *known == words) {
            Some((_, count)) => *count += 1,
            None => counts.push((words, 1)),
        }
    }
    counts.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(b.0)));
    let counts = counts
        .iter()
        .map(|(words, count)| format!("{words}: {count}"));
    counts.collect::<Vec<_>>().join(", ")
}

fn to_do(finding: &Finding) -> &'static str {
    let verdict = finding.verdict.as_ref();
    verdict.map_or("not judged", |verdict| verdict.action.words())
}

/// Headings of the table of cables.
pub const OVERVIEW_COLUMNS: [&str; 4] = ["cable", "found", "condition", "what to do"];

/// A cable's row in the table of all.
pub fn overview(subject: &Subject, units: Units) -> [String; 4] {
    let Subject { name, finding, .. } = subject;
    [
        name.clone(),
        summary(finding, units),
        finding.condition.to_string(),
        to_do(finding).to_owned(),
    ]
}

/// What the owner says of it, and when it was measured.
pub fn facts(subject: &Subject) -> String {
    let measured = (!subject.day.is_empty()).then(|| format!("measured {}", subject.day));
    let given = (!subject.description.is_empty()).then(|| subject.description.clone());
    let facts: Vec<String> = given.into_iter().chain(measured).collect();
    facts.join(", ")
}

/// The pictures that the finding and its sweeps make.
pub fn pictures(subject: &Subject, units: Units) -> Vec<Picture> {
    let (finding, sweeps) = (&subject.finding, &subject.sweeps);
    let mut all = Vec::new();
    let mut add = |name, svg, caption: String| all.push(Picture { name, svg, caption });
    if !sweeps.is_empty() {
        let svg = lineproof_draw::smith(&pictures::smith(sweeps, finding));
        let caption = "Reflections; frequency rises clockwise. Circles mark the points that the methods read.";
        add("smith", svg, caption.to_owned());
    }
    if let Some(profile) = pictures::profile(finding, units) {
        let caption = "Impedance along the cable with its 95 % band.";
        add(
            "profile",
            lineproof_draw::profile(&profile),
            caption.to_owned(),
        );
    }
    if !finding.loss.is_empty() {
        let svg = lineproof_draw::loss(&pictures::loss(finding));
        add("loss", svg, loss_caption(finding));
    }
    if !sweeps.is_empty() {
        let svg = lineproof_draw::return_loss(&pictures::return_loss(sweeps));
        let caption = "Return loss of the sweeps as read.";
        add("return-loss", svg, caption.to_owned());
    }
    all
}

fn loss_caption(finding: &Finding) -> String {
    let whole = "Matched one-way loss of the piece.".to_owned();
    let mut caption = vec![whole];
    let beside = beside(finding);
    if !beside.is_empty() {
        caption.push("The catalogue's loss for the same length is beside it.".to_owned());
    }
    let mut documents: Vec<_> = beside.iter().filter_map(Beside::document).collect();
    documents.dedup();
    let named = documents
        .iter()
        .map(|(id, document)| format!("[{id}] {document}."));
    caption.extend(named);
    caption.join(" ")
}

/// Who made it, and what its intervals are.
pub fn origin(finding: &Finding) -> String {
    let version = match finding.program_version.as_str() {
        "" => "of unknown version",
        known => known,
    };
    format!("Made by lineproof {version}. Each ± is the half-width of a 95 % interval.")
}
