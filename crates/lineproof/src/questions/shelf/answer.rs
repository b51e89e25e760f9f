//! The shelf for programs: a list of cables, and one of them.

use lineproof_record::{AssaySummary, Decision, Listed, Note};
use serde::Serialize;
use serde_json::Value;
use utoipa::openapi::{RefOr, Schema};
use utoipa::{PartialSchema, ToSchema};

use super::text::{History, Shown};
use crate::finding::{Finding, SCHEMA};
use lineproof_core::finding::judge::history::{Change, Trend};

/// Cables of the shelf.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct ShelfAnswer {
    /// Number of this layout.
    schema: u32,
    /// The cables by tag.
    cables: Vec<CableListed>,
}

/// A cable with the newest finding of its newest assay; what was not found is null.
#[derive(Clone, Debug, Serialize, ToSchema)]
struct CableListed {
    /// Its tag.
    tag: String,
    /// What it is, in the owner's words.
    description: String,
    /// Where it is kept.
    place: String,
    /// When it went out of use, RFC 3339 in UTC; null if it is in use.
    #[schema(required)]
    retired_at: Option<String>,
    /// Number of assays.
    assays: u32,
    /// When the newest assay was made, RFC 3339 in UTC.
    #[schema(required)]
    assayed_at: Option<String>,
    /// Characteristic impedance, ohm.
    #[schema(required)]
    impedance_ohm: Option<f64>,
    /// 95 % half-width, ohm.
    #[schema(required)]
    u95_impedance_ohm: Option<f64>,
    /// Length, m.
    #[schema(required)]
    length_m: Option<f64>,
    /// `sound`, `suspect`, `faulty` or `undetermined`.
    #[schema(required)]
    condition: Option<String>,
    /// What to do, by the finding: `keep`, `use-elsewhere`, `repair`, `discard` or `measure-again`.
    #[schema(required)]
    verdict: Option<String>,
    /// What the owner decided last, in the owner's words.
    #[schema(required)]
    decision: Option<String>,
}

/// A cable of the shelf with everything but its sweeps.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct CableAnswer {
    /// Number of this layout.
    schema: u32,
    /// Its tag.
    tag: String,
    /// What it is, in the owner's words.
    description: String,
    /// Where it is kept.
    place: String,
    /// When it went out of use, RFC 3339 in UTC; null if it is in use.
    #[schema(required)]
    retired_at: Option<String>,
    /// Its assays, oldest first.
    assays: Vec<AssayKept>,
    /// What changed from assay to assay; assays that changed nothing are left out.
    history: Vec<ChangedBy>,
    /// How the loss grows; null with too few assays.
    #[schema(required)]
    trend: Option<Trend>,
    /// When to measure again, days from the newest assay.
    retest_in_days: f64,
    /// What the owner decided, oldest first.
    decisions: Vec<DecisionKept>,
    /// Notes, oldest first.
    notes: Vec<NoteKept>,
    /// Number of photos.
    photos: usize,
}

/// An assay of a cable.
#[derive(Clone, Debug, Serialize, ToSchema)]
struct AssayKept {
    /// Its id.
    id: String,
    /// When the sweeps were taken, RFC 3339 in UTC.
    at: String,
    /// Number of findings, one for each time that a program looked.
    findings: u32,
    /// Version of the program that made the newest finding.
    program_version: String,
    /// The newest finding as that program printed it; null if it can't be read.
    #[schema(required)]
    finding: Option<KeptFinding>,
}

/// A finding as the program that made it printed it.
#[derive(Clone, Debug, Serialize)]
#[serde(transparent)]
struct KeptFinding(Value);

impl PartialSchema for KeptFinding {
    fn schema() -> RefOr<Schema> {
        let mut schema = Finding::schema();
        if let RefOr::T(Schema::Object(object)) = &mut schema {
            let text = "A finding as the program that made it wrote it. Its keys are those of \
                        `Finding`; an older program may lack some, and a newer one may have \
                        more.";
            object.description = Some(text.to_owned());
            object.required.clear();
        }
        schema
    }
}

impl ToSchema for KeptFinding {
    fn schemas(schemas: &mut Vec<(String, RefOr<Schema>)>) {
        Finding::schemas(schemas);
    }
}

/// What had changed by an assay.
#[derive(Clone, Debug, Serialize, ToSchema)]
struct ChangedBy {
    /// When the later assay was made, RFC 3339 in UTC.
    at: String,
    /// What changed beyond the intervals.
    changes: Vec<Change>,
}

/// What the owner decided about a cable.
#[derive(Clone, Debug, Serialize, ToSchema)]
struct DecisionKept {
    /// When, RFC 3339 in UTC.
    at: String,
    /// What, in the owner's words.
    action: String,
    /// Why.
    reason: String,
}

/// A note on a cable.
#[derive(Clone, Debug, Serialize, ToSchema)]
struct NoteKept {
    /// When, RFC 3339 in UTC.
    at: String,
    /// The note.
    text: String,
}

impl ShelfAnswer {
    /// The answer that a list is.
    pub fn of(cables: Vec<Listed>) -> Self {
        Self {
            schema: SCHEMA,
            cables: cables.into_iter().map(CableListed::of).collect(),
        }
    }
}

impl CableListed {
    fn of(listed: Listed) -> Self {
        let cable = listed.cable;
        Self {
            tag: cable.tag,
            description: cable.description,
            place: cable.place,
            retired_at: cable.retired.map(|r| r.at),
            assays: listed.assays,
            assayed_at: listed.assayed_at,
            impedance_ohm: listed.impedance_ohm,
            u95_impedance_ohm: listed.u95_impedance_ohm,
            length_m: listed.length_m,
            condition: listed.condition,
            verdict: listed.action,
            decision: listed.decision,
        }
    }
}

impl CableAnswer {
    /// The answer that a cable is.
    pub fn of(shown: Shown) -> Self {
        let history = History::of(&shown, &shown.findings());
        let changes = history.changes.into_iter();
        Self {
            schema: SCHEMA,
            tag: shown.cable.tag,
            description: shown.cable.description,
            place: shown.cable.place,
            retired_at: shown.cable.retired.map(|r| r.at),
            assays: shown.assays.into_iter().map(AssayKept::of).collect(),
            history: changes
                .map(|(at, changes)| ChangedBy { at, changes })
                .collect(),
            trend: history.trend,
            retest_in_days: history.retest.0,
            decisions: shown.decisions.into_iter().map(DecisionKept::of).collect(),
            notes: shown.notes.into_iter().map(NoteKept::of).collect(),
            photos: shown.photos,
        }
    }
}

impl AssayKept {
    fn of(assay: AssaySummary) -> Self {
        Self {
            id: assay.id,
            at: assay.at,
            findings: assay.findings,
            program_version: assay.program_version,
            finding: serde_json::from_str(&assay.finding).ok().map(KeptFinding),
        }
    }
}

impl DecisionKept {
    fn of(decision: Decision) -> Self {
        Self {
            at: decision.at,
            action: decision.action,
            reason: decision.reason,
        }
    }
}

impl NoteKept {
    fn of(note: Note) -> Self {
        Self {
            at: note.at,
            text: note.text,
        }
    }
}
