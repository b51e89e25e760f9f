//! A file that was named besides the sweeps, such as a kit. Once it is held, its bytes stand for it,
//! so that an assay found again next year uses what it used this year.

use std::path::{Path, PathBuf};

use super::load::{self, LoadError};

/// A file by its path, with its bytes if it is held.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Attached {
    path: PathBuf,
    held: Option<Vec<u8>>,
}

impl Attached {
    /// The file at `path`, not read yet.
    pub fn at(path: PathBuf) -> Self {
        Self { path, held: None }
    }

    /// A file that was read before.
    pub fn held(path: PathBuf, bytes: Vec<u8>) -> Self {
        let held = Some(bytes);
        Self { path, held }
    }

    /// Where it is or was.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The file at `path`, read now, so that whoever keeps it keeps what it was. What can't be read stays so:
    /// whoever needs its bytes says why.
    pub fn read(path: PathBuf) -> Self {
        let held = load::bytes(&path).ok();
        Self { path, held }
    }

    /// Its bytes, read now unless they are held.
    ///
    /// # Errors
    /// As [`load::bytes`].
    pub fn bytes(&self) -> Result<Vec<u8>, LoadError> {
        match &self.held {
            Some(bytes) => Ok(bytes.clone()),
            None => load::bytes(&self.path),
        }
    }
}
