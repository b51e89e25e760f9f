//! Where a cable comes from: a type, the file of a finding, or sweeps that are assayed first.

use std::path::{Path, PathBuf};

use lineproof_core::catalogue::{Catalogue, OwnTypeError, Unknown};
use thiserror::Error;

use super::assay::{AssayRequest, Outcome, assay};
use super::cable::{CableError, KnownCable};
use super::gather::GatherError;

/// What was said about the cable.
#[derive(Clone, Debug, Default)]
pub struct Source {
    /// Type by name.
    pub type_name: Option<String>,
    /// File with a finding.
    pub finding: Option<PathBuf>,
    /// Sweeps with what is known about them.
    pub sweeps: Option<AssayRequest>,
    /// Type whose ratings hold for a cable that was assayed.
    pub rated_as: Option<String>,
    /// File with a person's own types.
    pub own_types: Option<PathBuf>,
}

/// Why there is no cable.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum SourceError {
    /// Nothing or more than one thing was said.
    #[error("say which cable: one of --type, --finding, or its sweeps")]
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
    /// A file of types with a mistake.
    #[error("`{path}`")]
    Own {
        /// The file.
        path: PathBuf,
        /// The mistake.
        source: OwnTypeError,
    },
    /// A type that is not known.
    #[error(transparent)]
    Type(#[from] Unknown),
    /// A cable that is not known well enough.
    #[error(transparent)]
    Cable(#[from] CableError),
    /// Sweeps that give no finding.
    #[error("the sweeps give no finding")]
    Sweeps(Box<Outcome>),
    /// Sweeps that can't be put on one bench.
    #[error(transparent)]
    Gather(#[from] GatherError),
}

impl SourceError {
    /// One next step.
    pub fn help(&self) -> Option<String> {
        match self {
            Self::Which => Some("`lineproof types` lists the types".to_owned()),
            Self::Type(_) => {
                Some("`lineproof types` lists them; --own FILE adds your own".to_owned())
            }
            Self::Cable(error) => error.help().map(str::to_owned),
            Self::Gather(error) => error.help(),
            _ => None,
        }
    }
}

/// The built-in catalogue with the types of a person's own file.
///
/// # Errors
/// [`SourceError`] if the file can't be used.
pub fn catalogue(own: Option<&Path>) -> Result<Catalogue, SourceError> {
    let built_in = Catalogue::built_in();
    let Some(path) = own else {
        return Ok(built_in.clone());
    };
    let text = read(path)?;
    built_in.with_own(&text).map_err(|source| SourceError::Own {
        path: path.to_owned(),
        source,
    })
}

/// The cable.
///
/// # Errors
/// [`SourceError`] says what is missing.
pub fn cable(source: &Source) -> Result<KnownCable, SourceError> {
    let catalogue = catalogue(source.own_types.as_deref())?;
    let mut cable = match (&source.type_name, &source.finding, &source.sweeps) {
        (Some(name), None, None) => KnownCable::of_type(catalogue.find(name)?),
        (None, Some(path), None) => of_file(path)?,
        (None, None, Some(request)) => of_sweeps(request)?,
        _ => return Err(SourceError::Which),
    };
    if let Some(name) = &source.rated_as {
        cable.rated_as = Some(catalogue.find(name)?.clone());
    }
    Ok(cable)
}

fn of_file(path: &Path) -> Result<KnownCable, SourceError> {
    let value = serde_json::from_str(&read(path)?).map_err(|source| SourceError::Json {
        path: path.to_owned(),
        source,
    })?;
    let name = path
        .file_stem()
        .map_or_else(String::new, |n| n.to_string_lossy().into_owned());
    Ok(KnownCable::of_finding(&value, &name)?)
}

fn of_sweeps(request: &AssayRequest) -> Result<KnownCable, SourceError> {
    let mut outcome = assay(request);
    if !outcome.unread.is_empty() {
        return Err(SourceError::Sweeps(Box::new(outcome)));
    }
    if let Some(refused) = outcome.refused.pop() {
        return Err(refused.into());
    }
    let finding = outcome.finding?;
    let value = serde_json::to_value(&finding).expect("a finding holds strings and numbers");
    Ok(KnownCable::of_finding(&value, "the swept cable")?)
}

fn read(path: &Path) -> Result<String, SourceError> {
    std::fs::read_to_string(path).map_err(|source| SourceError::Read {
        path: path.to_owned(),
        source,
    })
}
