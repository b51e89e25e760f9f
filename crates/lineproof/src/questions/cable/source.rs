//! Where a cable comes from: a type, the file of a finding, or sweeps that are assayed first.

use std::path::{Path, PathBuf};

use lineproof_core::catalogue::{Catalogue, Unknown};
use lineproof_core::finding::judge::types::OwnTypes;
use lineproof_record::{Shelf, ShelfError};
use thiserror::Error;

use crate::facts::{Help, Surface};
use crate::finding::Finding;
use crate::questions::unanswered::Unanswered;
use crate::stored;
use crate::workflow::assay::{AssayRequest, Outcome, assay};
use crate::workflow::worded::AssayError;
use crate::{diagnostics, exit};
use lineproof_core::known::{CableError, KnownCable};

/// What was said about the cable.
#[derive(Clone, Debug, Default)]
pub struct Source {
    /// Type by name.
    pub type_name: Option<String>,
    /// File with a finding.
    pub finding: Option<PathBuf>,
    /// A cable of the shelf.
    pub shelved: Option<OnShelf>,
    /// Sweeps with what is known about them.
    pub sweeps: Option<AssayRequest>,
    /// Type whose ratings apply to an assayed cable.
    pub rated_as: Option<String>,
    /// A person's own types.
    pub own_types: Option<OwnTypes>,
}

/// A cable of the shelf, by its newest finding.
#[derive(Clone, Debug)]
pub struct OnShelf {
    /// How a sentence calls it.
    pub name: String,
    /// Its tag.
    pub tag: String,
    /// File of the shelf; `None` if the platform has no place for one.
    pub shelf: Option<PathBuf>,
}

/// Why there is no cable.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum SourceError {
    /// Nothing or more than one thing was said.
    #[error("name the cable: one of --type, --finding, --shelved, or its sweeps")]
    Which,
    /// A file that can't be read.
    #[error("cannot read `{path}`")]
    Read {
        /// The file.
        path: PathBuf,
        /// Why.
        source: std::io::Error,
    },
    /// A file that is no JSON.
    #[error("`{path}` is not JSON")]
    Json {
        /// The file.
        path: PathBuf,
        /// Why.
        source: serde_json::Error,
    },
    /// The shelf.
    #[error(transparent)]
    Shelf(#[from] ShelfError),
    /// No shelf.
    #[error("this platform has no default place for the shelf")]
    NoShelf,
    /// A shelved cable that was never assayed.
    #[error("`{0}` has no finding on the shelf")]
    NoFinding(String),
    /// A type that is not known.
    #[error(transparent)]
    Type(#[from] Unknown),
    /// A type of ratings that is not known.
    #[error(transparent)]
    RatedAs(Unknown),
    /// A cable that is not known well enough.
    #[error(transparent)]
    Cable(#[from] CableError),
    /// Sweeps that give no finding.
    #[error("the sweeps give no finding")]
    Sweeps(Box<Outcome>),
    /// Sweeps that can't be put on one bench.
    #[error(transparent)]
    Gather(#[from] AssayError),
}

impl SourceError {
    /// One next step.
    pub fn help(&self) -> Option<Help> {
        let listed = "`lineproof types` lists";
        match self {
            Self::Which => Some(format!("{listed} the types").into()),
            Self::Type(_) | Self::RatedAs(_) => Some(Help::each(
                format!("{listed} them; --own FILE adds your own"),
                "the page “Types” lists them",
            )),
            Self::Cable(error) => cable_help(error),
            Self::Gather(error) => {
                let page = error.help(Surface::Page)?;
                Some(Help::each(error.help(Surface::Terminal)?, page))
            }
            Self::Shelf(error) => error.help().map(Help::from),
            Self::NoShelf => Some("give the file with --shelf FILE".into()),
            _ => None,
        }
    }
}

impl From<SourceError> for Unanswered {
    fn from(error: SourceError) -> Self {
        let messages = match &error {
            SourceError::Sweeps(outcome) => {
                outcome.unread.iter().map(diagnostics::load_error).collect()
            }
            _ => Vec::new(),
        };
        let code = match &error {
            SourceError::Read { .. }
            | SourceError::Sweeps(_)
            | SourceError::Json { .. }
            | SourceError::Shelf(_) => exit::NOTHING_READ,
            SourceError::NoFinding(_) | SourceError::Cable(_) | SourceError::Gather(_) => {
                exit::UNDETERMINED
            }
            _ => exit::USAGE,
        };
        Self {
            messages,
            help: error.help(),
            error: Some(error.into()),
            code,
        }
    }
}

impl From<CableError> for Unanswered {
    fn from(error: CableError) -> Self {
        SourceError::Cable(error).into()
    }
}

fn cable_help(error: &CableError) -> Option<Help> {
    Some(match error {
        CableError::NotFinding => {
            "expected the JSON object that `lineproof assay --json` prints".into()
        }
        CableError::NoLength => "give the length of the swept piece".into(),
        CableError::NoRun => "give the length of the run".into(),
        CableError::Faulty(_) | CableError::FaultBeyond { .. } => {
            "cut the fault out and assay the rest, or give the length of another run".into()
        }
        CableError::Absent(_) => Help::each(
            "see what `lineproof assay` says about the same sweeps",
            "see the warnings of its newest assay",
        ),
        _ => return None,
    })
}

/// The built-in catalogue with a person's own types.
pub fn catalogue(own: Option<&OwnTypes>) -> Catalogue {
    let built_in = Catalogue::built_in();
    own.map_or_else(
        || built_in.clone(),
        |own| {
            built_in
                .with_own(own.text())
                .expect("own types were read when they were given")
        },
    )
}

/// The cable.
///
/// # Errors
/// [`SourceError`] says what is missing.
pub fn cable(source: &Source) -> Result<KnownCable, SourceError> {
    let catalogue = catalogue(source.own_types.as_ref());
    let mut cable = match &source.type_name {
        Some(_) if source.is_found() => return Err(SourceError::Which),
        Some(name) => KnownCable::of_type(catalogue.find(name)?),
        None => {
            let (found, name) = finding(source)?;
            KnownCable::of_finding(&found, &name)?
        }
    };
    if let Some(name) = &source.rated_as {
        let rated_as = catalogue.find(name).map_err(SourceError::RatedAs)?;
        cable.rated_as = Some(rated_as.clone());
    }
    Ok(cable)
}

/// The finding of the cable, and how a sentence calls it.
///
/// # Errors
/// [`SourceError`] says what is missing.
pub fn finding(source: &Source) -> Result<(Finding, String), SourceError> {
    match (&source.finding, &source.shelved, &source.sweeps) {
        (Some(path), None, None) => of_file(path),
        (None, Some(shelved), None) => of_shelf(shelved),
        (None, None, Some(request)) => of_sweeps(request),
        _ => Err(SourceError::Which),
    }
}

impl Source {
    /// Whether it is anything but a type.
    pub fn is_found(&self) -> bool {
        self.finding.is_some() || self.shelved.is_some() || self.sweeps.is_some()
    }
}

fn of_file(path: &Path) -> Result<(Finding, String), SourceError> {
    let finding = serde_json::from_str(&read(path)?).map_err(|source| SourceError::Json {
        path: path.to_owned(),
        source,
    })?;
    let name = path
        .file_stem()
        .map_or_else(String::new, |n| n.to_string_lossy().into_owned());
    Ok((finding, name))
}

fn of_shelf(shelved: &OnShelf) -> Result<(Finding, String), SourceError> {
    let path = shelved.shelf.as_ref().ok_or(SourceError::NoShelf)?;
    let shelf = Shelf::open_to_read(path)?;
    let tag = shelf.cable(&shelved.tag)?.tag;
    let newest = shelf.assays(&tag)?.pop();
    let name = shelved.name.clone();
    let newest = newest.ok_or(SourceError::NoFinding(tag))?;
    Ok((stored::finding(&newest.finding), name))
}

fn of_sweeps(request: &AssayRequest) -> Result<(Finding, String), SourceError> {
    let mut outcome = assay(request);
    if !outcome.unread.is_empty() {
        return Err(SourceError::Sweeps(Box::new(outcome)));
    }
    if let Some(refused) = outcome.refused.pop() {
        return Err(refused.into());
    }
    Ok((outcome.finding?, "the swept cable".to_owned()))
}

fn read(path: &Path) -> Result<String, SourceError> {
    std::fs::read_to_string(path).map_err(|source| SourceError::Read {
        path: path.to_owned(),
        source,
    })
}
