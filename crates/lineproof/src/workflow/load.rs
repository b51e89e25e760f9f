//! One file from disk to readings.

use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use lineproof_core::formats::{self, Measurement, ReadError, ReadOptions};
use thiserror::Error;

/// Largest file that is read, bytes: a two-port sweep of a million points has some 150 MB, and
/// sweeps of cables have thousands.
pub const LARGEST_FILE_BYTES: u64 = 256 << 20;

/// A file that was read.
#[derive(Clone, Debug)]
pub struct Loaded {
    /// Where it was.
    pub path: PathBuf,
    /// Name for messages: the file's name without its folder.
    pub label: String,
    /// What it holds.
    pub measurement: Measurement,
    /// Its bytes, for the record.
    pub bytes: Vec<u8>,
}

/// Why a file gave nothing.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum LoadError {
    /// The file can't be opened or read.
    #[error("cannot open `{}`", shown(path))]
    Open {
        /// Where it should be.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// The file is too large to be a sweep.
    #[error(
        "`{}` is larger than {} MB: expected a sweep",
        shown(path),
        LARGEST_FILE_BYTES >> 20
    )]
    TooLarge {
        /// Where it is.
        path: PathBuf,
    },
    /// The file holds no measurement.
    #[error("cannot read `{}`", shown(path))]
    Read {
        /// Where it is.
        path: PathBuf,
        /// What is wrong with it.
        source: Box<ReadError>,
        /// Its bytes, to show the place.
        bytes: Vec<u8>,
    },
}

/// Reads one file.
///
/// # Errors
/// [`LoadError`] with the path and the cause.
pub fn load(path: &Path, options: &ReadOptions) -> Result<Loaded, LoadError> {
    understand(path, bytes(path)?, options)
}

/// Takes the bytes of a file that somebody else has read.
///
/// # Errors
/// [`LoadError::Read`].
pub fn understand(path: &Path, bytes: Vec<u8>, options: &ReadOptions) -> Result<Loaded, LoadError> {
    let name = path.file_name().unwrap_or(path.as_os_str());
    let label = printable(&name.to_string_lossy());
    match formats::read(&bytes, &label, options) {
        Ok(measurement) => Ok(Loaded {
            path: path.to_owned(),
            label,
            measurement,
            bytes,
        }),
        Err(error) => Err(LoadError::Read {
            path: path.to_owned(),
            source: Box::new(error),
            bytes,
        }),
    }
}

/// A path as messages show it.
pub fn shown(path: &Path) -> String {
    printable(&path.display().to_string())
}

/// A file's name without what would steer a terminal or break a line of a message.
fn printable(name: &str) -> String {
    name.replace(char::is_control, "\u{FFFD}")
}

/// All bytes of a file, unless there are too many. The limit holds for what is read, not for what
/// the system says about the file, so pipes and devices end as well.
///
/// # Errors
/// [`LoadError::Open`] or [`LoadError::TooLarge`].
pub fn bytes(path: &Path) -> Result<Vec<u8>, LoadError> {
    let open = |source| LoadError::Open {
        path: path.to_owned(),
        source,
    };
    let file = File::open(path).map_err(open)?;
    let size = file.metadata().map_or(0, |m| m.len());
    let mut bytes = Vec::with_capacity(size.min(LARGEST_FILE_BYTES) as usize);
    let mut limited = file.take(LARGEST_FILE_BYTES + 1);
    limited.read_to_end(&mut bytes).map_err(open)?;
    if bytes.len() as u64 > LARGEST_FILE_BYTES {
        return Err(LoadError::TooLarge {
            path: path.to_owned(),
        });
    }
    Ok(bytes)
}
