//! Assays onto the shelf, and old ones looked at again with today's program.

use std::path::{Path, PathBuf};

use etcetera::BaseStrategy;
use lineproof_core::formats::ReadOptions;
use lineproof_record::{
    Assay, AssaySummary, NewAssay, NewFinding, NewSweep, Shelf, ShelfError, Shelved, Sweep,
};
use serde::Serialize;
use thiserror::Error;

use crate::facts::NotUnderstood;
use crate::facts::Setup;
use crate::finding::Finding;
use crate::questions::compare::read::{CompareOutcome, CompareRequest, compare_files};
use crate::stored;
use crate::workflow::assay::AssayRequest;
use crate::workflow::assay::Files;
use crate::workflow::assay::Outcome;
use crate::workflow::assay::Role;
use crate::workflow::assay::assay_files;
use crate::workflow::load;
use crate::workflow::worded::AssayError;
use lineproof_core::comparison::Compare;
use lineproof_core::finding::judge::history::{Change, changes};

/// Why an old assay can't be looked at again.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum AgainError {
    /// The shelf.
    #[error(transparent)]
    Shelf(#[from] ShelfError),
    /// A set-up that this program can't read.
    #[error("cannot read the set-up of assay `{id}`")]
    Setup {
        /// Id of the assay.
        id: String,
        /// What is wrong.
        source: serde_json::Error,
    },
    /// Something that was said and that this program does not understand.
    #[error("the set-up of assay `{id}` is not understood")]
    Said {
        /// Id of the assay.
        id: String,
        /// What.
        source: NotUnderstood,
    },
    /// Sweeps behind a two-port, which a comparison does not de-embed.
    #[error(
        "assay `{id}` was taken behind a two-port: de-embed it with `lineproof correct` and \
         compare the corrected files"
    )]
    Behind {
        /// Id of the assay.
        id: String,
    },
    /// Today's program finds nothing.
    #[error("the sweeps of assay `{id}` give no finding now")]
    Nothing {
        /// Id of the assay.
        id: String,
        /// Why.
        source: AssayError,
    },
}

/// Where the shelf is if nobody says: in the platform's folder for the user's data.
pub fn usual_place() -> Option<PathBuf> {
    let folders = etcetera::choose_base_strategy().ok()?;
    Some(folders.data_dir().join("lineproof").join("shelf.db"))
}

/// Now, as the shelf writes times.
pub fn now() -> String {
    jiff::Timestamp::now()
        .strftime("%Y-%m-%dT%H:%M:%SZ")
        .to_string()
}

/// Puts an assay with its finding on the shelf at `path`, which is made if need be.
///
/// # Errors
/// [`ShelfError`]: nothing is stored then.
pub fn shelve(
    path: &Path,
    tag: &str,
    at: &str,
    setup: &Setup,
    outcome: &Outcome,
    finding: &Finding,
) -> Result<Shelved, ShelfError> {
    let sweeps = outcome.loaded.iter().zip(&outcome.roles);
    let assay = NewAssay {
        tag: tag.to_owned(),
        at: at.to_owned(),
        setup: json(setup),
        sweeps: sweeps
            .map(|(file, role)| NewSweep {
                file_name: file.label.clone(),
                role: role.name(),
                bytes: file.bytes.clone(),
            })
            .collect(),
        finding: new_finding(finding),
    };
    Shelf::open_or_make(path)?.shelve(&assay)
}

/// What today's program finds from an assay's sweeps and set-up.
///
/// # Errors
/// [`AgainError`].
pub fn again(shelf: &Shelf, assay_id: &str) -> Result<Finding, AgainError> {
    let assay = shelf.assay(assay_id)?;
    let request = request(&assay)?;
    let outcome = assay_files(files(assay.sweeps, &request.read), &request);
    outcome.finding.map_err(|source| AgainError::Nothing {
        id: assay_id.to_owned(),
        source,
    })
}

/// The same, with what differs from the newest finding of that assay; keeps the new one if told to.
///
/// # Errors
/// [`AgainError`].
pub fn look_again(
    shelf: &mut Shelf,
    assay: &AssaySummary,
    keep: bool,
) -> Result<Vec<Change>, AgainError> {
    let found = again(shelf, &assay.id)?;
    let changes = changes(&stored::finding(&assay.finding), &found);
    if keep {
        shelf.add_finding(&assay.id, &new_finding(&found))?;
    }
    Ok(changes)
}

/// Two assays compared by their kept sweeps. What is known of the cable and its load is taken from the
/// newer one.
///
/// # Errors
/// [`AgainError`].
pub fn compare_kept(
    shelf: &Shelf,
    before_id: &str,
    after_id: &str,
) -> Result<CompareOutcome, AgainError> {
    let (before, after) = (shelf.assay(before_id)?, shelf.assay(after_id)?);
    let (old, new) = (request(&before)?, request(&after)?);
    let asked = CompareRequest {
        before: Vec::new(),
        after: Vec::new(),
        read: new.read,
        asked: Compare {
            other_load: old.knowledge.load_ohm != new.knowledge.load_ohm,
            ..Compare::default()
        },
        knowledge: new.knowledge.clone(),
    };
    for (assay, setup) in [(&before, &old), (&after, &new)] {
        if !setup.plane.de_embed.is_empty() {
            let id = assay.id.clone();
            return Err(AgainError::Behind { id });
        }
    }
    let of_cable = |sweeps, read: &ReadOptions| {
        let mut files = files(sweeps, read);
        files.retain(|(role, _)| !matches!(role, Role::Part(_) | Role::Line | Role::Shorter));
        files
    };
    Ok(compare_files(
        of_cable(before.sweeps, &old.read),
        of_cable(after.sweeps, &new.read),
        &asked,
    ))
}

/// What was asked of an assay, without its sweeps.
fn request(assay: &Assay) -> Result<AssayRequest, AgainError> {
    let id = || assay.id.clone();
    let setup: Setup = serde_json::from_str(&assay.setup)
        .map_err(|source| AgainError::Setup { id: id(), source })?;
    let request = setup.request();
    request.map_err(|source| AgainError::Said { id: id(), source })
}

/// A finding as the shelf keeps it.
pub fn new_finding(finding: &Finding) -> NewFinding {
    NewFinding {
        made_at: now(),
        program_version: finding.program_version.clone(),
        json: json(finding),
    }
}

/// Stored sweeps as files that were read.
fn files(sweeps: Vec<Sweep>, options: &ReadOptions) -> Files {
    let file = |sweep: Sweep| {
        let file = load::understand(Path::new(&sweep.file_name), sweep.bytes, options);
        // what is not known is judged by its data
        (Role::named(&sweep.role).unwrap_or(Role::Judge), file)
    };
    sweeps.into_iter().map(file).collect()
}

fn json(value: &impl Serialize) -> String {
    serde_json::to_string(value).expect("findings hold only strings, numbers and lists")
}
