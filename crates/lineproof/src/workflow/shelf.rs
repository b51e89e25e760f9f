//! Assays onto the shelf, and old ones looked at again with today's program.

use std::path::{Path, PathBuf};

use etcetera::BaseStrategy;
use lineproof_core::bench::FarEnd;
use lineproof_record::{NewAssay, NewFinding, NewSweep, Shelf, ShelfError, Shelved};
use serde::Serialize;
use thiserror::Error;

use super::assay::{Outcome, Role, assay_files};
use super::gather::GatherError;
use super::load;
use super::setup::Setup;
use crate::finding::Finding;

/// Why an old assay can't be looked at again.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum AgainError {
    /// The shelf.
    #[error(transparent)]
    Shelf(#[from] ShelfError),
    /// A set-up that this program can't read.
    #[error("the set-up of assay `{id}` can't be read")]
    Setup {
        /// Id of the assay.
        id: String,
        /// What is wrong.
        source: serde_json::Error,
    },
    /// Today's program finds nothing.
    #[error("the sweeps of assay `{id}` give no finding now")]
    Nothing {
        /// Id of the assay.
        id: String,
        /// Why.
        source: GatherError,
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
                role: role_name(*role).to_owned(),
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
    let setup: Setup = serde_json::from_str(&assay.setup).map_err(|source| AgainError::Setup {
        id: assay_id.to_owned(),
        source,
    })?;
    let request = setup.request();
    let files = assay.sweeps.into_iter().map(|sweep| {
        let file = load::understand(Path::new(&sweep.file_name), sweep.bytes, &request.read);
        (role_named(&sweep.role), file)
    });
    let outcome = assay_files(files.collect(), &request);
    outcome.finding.map_err(|source| AgainError::Nothing {
        id: assay_id.to_owned(),
        source,
    })
}

/// A finding as the shelf keeps it.
pub fn new_finding(finding: &Finding) -> NewFinding {
    NewFinding {
        made_at: now(),
        program_version: finding.program_version.to_owned(),
        json: json(finding),
    }
}

fn json(value: &impl Serialize) -> String {
    serde_json::to_string(value).expect("findings hold only strings, numbers and lists")
}

fn role_name(role: Role) -> &'static str {
    match role {
        Role::Open => "open",
        Role::Short => "short",
        Role::Load => "load",
        Role::Through => "through",
        Role::Check(FarEnd::Open) => "check-open",
        Role::Check(FarEnd::Short) => "check-short",
        Role::Check(FarEnd::Load) => "check-load",
        Role::Judge => "judge",
    }
}

/// What is not known is judged by its data.
fn role_named(name: &str) -> Role {
    match name {
        "open" => Role::Open,
        "short" => Role::Short,
        "load" => Role::Load,
        "through" => Role::Through,
        "check-open" => Role::Check(FarEnd::Open),
        "check-short" => Role::Check(FarEnd::Short),
        "check-load" => Role::Check(FarEnd::Load),
        _ => Role::Judge,
    }
}
