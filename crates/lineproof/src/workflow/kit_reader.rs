//! Reads a kit's file, and the files that it names.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use lineproof_core::calibration::kit::Kit;
use lineproof_core::calibration::kit_file::{self, KitFile};
use lineproof_core::formats::{Network, ReadOptions};
use thiserror::Error;

use super::attached::Attached;
use super::load::{self, LoadError, shown};

/// Why a kit can't be used.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum KitError {
    /// The file can't be read.
    #[error(transparent)]
    Load(#[from] LoadError),
    /// The file is not of the format.
    #[error("`{}` is not a kit file: {message}", shown(path))]
    Format {
        /// Where it is.
        path: PathBuf,
        /// What is wrong, with the line.
        message: String,
    },
    /// A standard is described in a way that makes no sense.
    #[error("standard `{name}` of `{}`: {message}", shown(path))]
    Standard {
        /// Where the kit is.
        path: PathBuf,
        /// The standard.
        name: String,
        /// What is wrong.
        message: String,
    },
    /// The table of a standard can't be read.
    #[error("standard `{name}`")]
    Table {
        /// The standard.
        name: String,
        /// Why.
        source: Box<LoadError>,
    },
}

/// Reads a kit and the tables it names.
///
/// # Errors
/// [`KitError`] with the file, the standard and what is wrong.
pub fn read(path: &Path) -> Result<Kit, KitError> {
    let file = parsed(&Attached::at(path.to_owned()))?;
    let mut tables = BTreeMap::new();
    for (name, table) in file.tables().map_err(in_file(path))? {
        let beside = path.parent().unwrap_or(Path::new("")).join(table);
        let loaded =
            load::load(&beside, &ReadOptions::default()).map_err(|source| KitError::Table {
                name: name.to_owned(),
                source: Box::new(source),
            })?;
        let Network::OnePort(sweep) = loaded.measurement.network else {
            return Err(KitError::Standard {
                path: path.to_owned(),
                name: name.to_owned(),
                message: format!("`{}` has two ports: a standard has one", loaded.label),
            });
        };
        tables.insert(name.to_owned(), sweep);
    }
    file.kit(&shown(path), &tables).map_err(in_file(path))
}

/// Reads what a kit describes and passes over its tables, so that the file is all that it needs.
///
/// # Errors
/// [`KitError`] with the file, the standard and what is wrong.
pub fn described(file: &Attached) -> Result<Kit, KitError> {
    let path = file.path();
    let kit = parsed(file)?.kit(&shown(path), &BTreeMap::new());
    kit.map_err(in_file(path))
}

fn parsed(file: &Attached) -> Result<KitFile, KitError> {
    let text = String::from_utf8(file.bytes()?).map_err(|error| KitError::Format {
        path: file.path().to_owned(),
        message: error.to_string(),
    })?;
    KitFile::parse(&text).map_err(in_file(file.path()))
}

/// Says in which file something is wrong.
fn in_file(path: &Path) -> impl Fn(kit_file::KitError) -> KitError {
    let path = path.to_owned();
    move |error| {
        let path = path.clone();
        match error {
            kit_file::KitError::Standard { name, message } => KitError::Standard {
                path,
                name,
                message,
            },
            kit_file::KitError::Format { message } => KitError::Format { path, message },
            other => KitError::Format {
                path,
                message: other.to_string(),
            },
        }
    }
}
