//! What was decided and why: condition, verdict, events, causes, the jacket, the types, the criteria.

use super::rows::{Row, Rows};
use crate::finding::events::{EventFound, EventKind};
use crate::finding::found::Finding;
use crate::finding::marking::{MarkingFound, TypeFound};
use crate::finding::said::sentences::warnings;
use crate::finding::verdict::{Condition, CriterionFound, VerdictFound};
use crate::quantity::Units;
use crate::quantity::digits::{percent, short};

/// Whether it is sound, what to do, why, and what it seems to be.
pub fn decision(finding: &Finding, units: Units) -> Vec<Row> {
    let mut rows = Rows::default();
    rows.add("Condition", finding.condition.name());
    rows.list("", units.texts(&finding.condition_reasons));
    if let Some(verdict) = &finding.verdict {
        rows.add("What to do", verdict.action.words());
        rows.list("Why, how", units.texts(&verdict.reasons));
    }
    if finding.condition == Condition::Undetermined {
        rows.list("Warnings", warnings(finding, units));
    }
    for (i, event) in finding.events.iter().enumerate() {
        rows.add("Found", event_text(event, finding, units));
        rows.0.last_mut().expect("it was just added").event = Some(i);
    }
    rows.list("Cause", causes(finding, units));
    if let Some(marking) = &finding.marking {
        rows.add("Jacket", jacket(marking));
        rows.list("", against_marking(marking, units));
    }
    rows.list("Type", finding.types.iter().map(type_text));
    rows.0
}

/// An event with its place from both ends, and the cable's own impedance beside that there.
pub fn event_text(event: &EventFound, finding: &Finding, units: Units) -> String {
    let own = own_impedance(event, finding).filter(|_| event.beside_ohm.is_none());
    let own = own.map_or_else(String::new, |own| format!(" {own}"));
    let far = from_far(event).map_or_else(String::new, |far| format!("; {far}"));
    units.text(&format!("{}{own}{far}", event.text()))
}

/// What an event's sentence does not say of it: its length, its place from the far end, and what it lies in.
pub(super) fn event_details(event: &EventFound, finding: &Finding) -> Vec<String> {
    let length = event.length_m.filter(|_| event.kind != EventKind::Wet);
    let length = length.map(|m| format!("over {m:.3} m"));
    let parts = [length, own_impedance(event, finding), from_far(event)];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    if parts.is_empty() {
        return Vec::new();
    }
    vec![parts.join(", ")]
}

fn own_impedance(event: &EventFound, finding: &Finding) -> Option<String> {
    let z = finding
        .impedance
        .filter(|_| event.impedance_ohm.is_some())?;
    Some(format!("in cable of {} ohm", short(z.ohm, z.u95_ohm)))
}

fn from_far(event: &EventFound) -> Option<String> {
    let far = event.from_far_m.filter(|m| *m >= 0.0)?;
    Some(format!("{far:.2} m from the far end"))
}

/// What physics says of each event's cause.
pub fn causes(finding: &Finding, units: Units) -> Vec<String> {
    let causes = finding.events.iter().filter_map(|e| e.cause.as_ref());
    units.texts(causes)
}

fn jacket(marking: &MarkingFound) -> String {
    let what = marking.designation.as_deref().unwrap_or("its figures");
    let judged = match marking.agrees {
        Some(true) => "agrees",
        Some(false) => "does not agree",
        None => "nothing to compare",
    };
    format!("{what}: {judged}")
}

/// What does not agree with the jacket, why, and what could not be compared.
pub fn against_marking(marking: &MarkingFound, units: Units) -> Vec<String> {
    let differences = marking.differences.iter().map(|d| &d.text);
    let besides = marking.explanation.iter().chain(&marking.remarks);
    units.texts(differences.chain(besides))
}

/// Most members of a group that a line names.
const MOST_NAMED: usize = 4;

/// A type with its probability and those that are the same cable.
fn type_text(found: &TypeFound) -> String {
    let also = same_as(found).map_or_else(String::new, |also| format!("; {also}"));
    format!(
        "{} ({}){also}",
        found.designation,
        percent(found.probability)
    )
}

/// The types that are electrically the same cable, in words.
pub fn same_as(found: &TypeFound) -> Option<String> {
    let named = found.same_as.iter().take(MOST_NAMED).cloned();
    let mut also: Vec<String> = named.collect();
    let more = found.same_as.len().saturating_sub(MOST_NAMED);
    also.extend((more > 0).then(|| format!("{more} more")));
    (!also.is_empty()).then(|| format!("the same electrically: {}", also.join(", ")))
}

/// Heading of the criteria.
pub const CRITERIA: &str = "Criteria";

/// Each criterion: whether it passes, what was found with its limit, where the limit comes from.
pub fn criteria(verdict: Option<&VerdictFound>, units: Units) -> Vec<[String; 3]> {
    let criteria = verdict.map_or(&[][..], |verdict| &verdict.criteria);
    let row = |c: &CriterionFound| {
        let passed = if c.passed { "pass" } else { "FAIL" };
        let limit = if c.set {
            "limit from your criteria file".to_owned()
        } else {
            format!("default: {}", c.source)
        };
        [passed.to_owned(), units.text(&c.text), limit]
    };
    criteria.iter().map(row).collect()
}
