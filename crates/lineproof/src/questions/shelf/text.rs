//! The shelf as text.

use lineproof_core::finding::said::summary::summary;
use lineproof_core::quantity::{Units, format_length};
use lineproof_record::{AssaySummary, Cable, Decision, Listed, Note, Shelf, ShelfError};

use crate::finding::Finding;
use crate::report::number::pair;
use crate::report::page::Column::{Number, Right, Text};
use crate::report::page::Page;
use crate::stored;
use lineproof_core::finding::judge::history::{Change, Trend, changes, retest, trend};

/// One cable with everything but its sweeps.
#[derive(Debug)]
pub struct Shown {
    /// The cable.
    pub cable: Cable,
    /// Its assays, oldest first.
    pub assays: Vec<AssaySummary>,
    /// Decisions, oldest first.
    pub decisions: Vec<Decision>,
    /// Notes, oldest first.
    pub notes: Vec<Note>,
    /// Number of photos.
    pub photos: usize,
}

impl Shown {
    /// Everything about the cable with this tag.
    ///
    /// # Errors
    /// [`ShelfError::NoSuchTag`], or the shelf can't be read.
    pub fn of(shelf: &Shelf, tag: &str) -> Result<Self, ShelfError> {
        Ok(Self {
            cable: shelf.cable(tag)?,
            assays: shelf.assays(tag)?,
            decisions: shelf.decisions(tag)?,
            notes: shelf.notes(tag)?,
            photos: shelf.photos(tag)?.len(),
        })
    }

    /// The newest finding of each assay.
    pub fn findings(&self) -> Vec<Finding> {
        let stored = self.assays.iter().map(|a| &a.finding);
        stored.map(|json| stored::finding(json)).collect()
    }
}

/// A list for people.
pub fn list(cables: &[Listed]) -> String {
    let mut page = Page::default();
    if cables.is_empty() {
        page.line("No cable on this shelf matches; `lineproof assay … --shelve TAG` stores one.");
        return page.finish();
    }
    let rows: Vec<Vec<String>> = cables.iter().map(row).collect();
    page.table(0, &[Text, Number, Text, Right, Text, Text, Text], &rows);
    page.finish()
}

fn row(listed: &Listed) -> Vec<String> {
    let (ohm, u95) = match (listed.impedance_ohm, listed.u95_impedance_ohm) {
        (Some(ohm), Some(u95)) => {
            let (ohm, u95) = pair(ohm, u95);
            (ohm, format!("± {u95} ohm"))
        }
        _ => ("-".to_owned(), String::new()),
    };
    let retired = listed.cable.retired.as_ref().map(|_| "retired".to_owned());
    let standing = retired
        .or(listed.decision.clone())
        .or(listed.action.as_ref().map(|a| a.replace('-', " ")))
        .unwrap_or_default();
    vec![
        listed.cable.tag.clone(),
        ohm,
        u95,
        listed.length_m.map_or_else(String::new, format_length),
        listed.condition.clone().unwrap_or_default(),
        standing,
        [day(listed.assayed_at.as_deref()), &listed.cable.place]
            .join("  ")
            .trim()
            .to_owned(),
    ]
}

/// One cable for people.
pub fn show(shown: &Shown) -> String {
    let mut page = Page::default();
    let cable = &shown.cable;
    page.paragraph("", &head(cable));
    let findings = shown.findings();
    if let Some(newest) = findings.last() {
        page.paragraph("", &summary(newest, Units::Metres));
    }
    page.heading("Assays");
    let rows: Vec<Vec<String>> = shown.assays.iter().zip(&findings).map(assay_row).collect();
    page.table(2, &[Text, Text, Text], &rows);
    let history = History::of(shown, &findings);
    for (at, changes) in &history.changes {
        page.heading(&format!("Changed by {}", day(Some(at))));
        for change in changes {
            page.paragraph("  - ", &change.text);
        }
    }
    if !shown.decisions.is_empty() {
        page.heading("Decisions");
    }
    for decision in &shown.decisions {
        let why = if decision.reason.is_empty() { "" } else { ": " };
        let text = format!(
            "{} {}{why}{}",
            day(Some(&decision.at)),
            decision.action,
            decision.reason
        );
        page.paragraph("  - ", &text);
    }
    if !shown.notes.is_empty() {
        page.heading("Notes");
    }
    for note in &shown.notes {
        page.paragraph("  - ", &format!("{} {}", day(Some(&note.at)), note.text));
    }
    if shown.photos > 0 {
        page.line("");
        page.line(&format!(
            "Photos: {}; `shelf export` gives them.",
            shown.photos
        ));
    }
    if cable.retired.is_none() {
        page.heading("Next");
        page.paragraph("  - ", &history.retest.1);
    }
    page.finish()
}

fn head(cable: &Cable) -> String {
    let said = [&cable.description, &cable.place];
    let said = said.into_iter().filter(|s| !s.is_empty());
    let mut parts: Vec<String> = said.cloned().collect();
    if let Some(retired) = &cable.retired {
        let why = if retired.why.is_empty() { "" } else { ", " };
        parts.push(format!(
            "retired {}{why}{}",
            day(Some(&retired.at)),
            retired.why
        ));
    }
    if parts.is_empty() {
        format!("Cable {}.", cable.tag)
    } else {
        format!("Cable {}: {}.", cable.tag, parts.join("; "))
    }
}

fn assay_row((assay, finding): (&AssaySummary, &Finding)) -> Vec<String> {
    vec![
        day(Some(&assay.at)).to_owned(),
        format!("{} sweeps", assay.sweeps),
        summary(finding, Units::Metres),
    ]
}

/// What changed from assay to assay, and what follows.
#[derive(Debug)]
pub struct History {
    /// When the later assay was made and what had changed by then.
    pub changes: Vec<(String, Vec<Change>)>,
    /// How the loss grows.
    pub trend: Option<Trend>,
    /// When to measure again: days from the newest assay, and a sentence.
    pub retest: (f64, String),
}

impl History {
    /// The history of a cable with the newest finding of each of its assays.
    pub fn of(shown: &Shown, findings: &[Finding]) -> Self {
        let steps = findings.windows(2).zip(&shown.assays[1..]);
        let steps = steps.map(|(pair, assay)| (assay.at.clone(), changes(&pair[0], &pair[1])));
        let changes: Vec<_> = steps.filter(|(_, changes)| !changes.is_empty()).collect();
        let newest = shown.assays.last().map(|a| &a.at);
        let changed_last = changes.last().map(|(at, _)| at) == newest && newest.is_some();
        let days: Vec<f64> = shown.assays.iter().map(|a| days(&a.at)).collect();
        let trend = trend(&days, findings);
        Self {
            retest: retest(findings.len(), changed_last, trend),
            changes,
            trend,
        }
    }
}

/// Days since 1970.
fn days(at: &str) -> f64 {
    let at: Option<jiff::Timestamp> = at.parse().ok();
    at.map_or(0.0, |at| at.as_second() as f64 / 86_400.0)
}

/// The day of a time as the shelf writes it.
pub fn day(at: Option<&str>) -> &str {
    at.and_then(|at| at.get(..10)).unwrap_or("")
}
