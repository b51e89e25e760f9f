//! Opening the file: settings, migrations, and what is refused.
//!
//! Layouts are numbered SQL files, never edited once landed; the number of the last one is in the
//! file's `user_version`. What each number changed:
//!
//! 1. cables, contents, assays, sweeps, findings, decisions, notes, photos.

use std::path::Path;
use std::time::Duration;

use rusqlite::{Connection, ErrorCode, OpenFlags};
use rusqlite_migration::{M, Migrations};

use crate::{BUSY_WAIT, Shelf, ShelfError};
/// Number of the newest layout.
pub const SCHEMA_VERSION: usize = STEPS.len();
/// Tells a shelf from other SQLite files: `LPsf`.
const APPLICATION_ID: i32 = 0x4c50_7366;

const STEPS: &[M<'_>] = &[M::up(include_str!(
    "migrations/1-cables-assays-findings.sql"
))];

impl Shelf {
    /// Opens the shelf at `path` and makes it if there is none.
    ///
    /// # Errors
    /// [`ShelfError`]: the file is newer, damaged, locked, something else, or can't be written.
    pub fn open_or_make(path: &Path) -> Result<Self, ShelfError> {
        if let Some(folder) = path.parent().filter(|f| !f.as_os_str().is_empty()) {
            std::fs::create_dir_all(folder).map_err(|source| ShelfError::Folder {
                path: folder.to_owned(),
                source,
            })?;
        }
        Self::writing(path, OpenFlags::SQLITE_OPEN_CREATE, BUSY_WAIT)
    }

    /// Opens the shelf at `path` for reading and writing.
    ///
    /// # Errors
    /// As [`Shelf::open_or_make`]; [`ShelfError::Missing`] if there is none.
    pub fn open(path: &Path) -> Result<Self, ShelfError> {
        Self::open_waiting(path, BUSY_WAIT)
    }

    /// The same with another patience than [`BUSY_WAIT`].
    ///
    /// # Errors
    /// As [`Shelf::open`].
    pub fn open_waiting(path: &Path, wait: Duration) -> Result<Self, ShelfError> {
        must_exist(path)?;
        Self::writing(path, OpenFlags::empty(), wait)
    }

    /// Opens the shelf at `path` to look at it: where it can be written as [`Shelf::open`] does,
    /// else for reading alone, from a read-only folder or medium too.
    ///
    /// # Errors
    /// As [`Shelf::open`].
    pub fn open_to_read(path: &Path) -> Result<Self, ShelfError> {
        match Self::open(path) {
            Err(ShelfError::ReadOnly { .. } | ShelfError::Open { .. }) => Self::reading(path),
            other => other,
        }
    }

    /// Where the shelf is.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Whether it can be written.
    pub fn writable(&self) -> bool {
        self.writable
    }

    fn writing(path: &Path, create: OpenFlags, wait: Duration) -> Result<Self, ShelfError> {
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX | create;
        let mut connection =
            Connection::open_with_flags(path, flags).map_err(|e| cannot_open(path, e))?;
        let shelf_error = |e| ShelfError::from_sqlite(path, e);
        connection.busy_timeout(wait).map_err(shelf_error)?;
        recognise(&connection, path)?;
        if connection.is_readonly("main").map_err(shelf_error)? {
            return Err(ShelfError::ReadOnly {
                path: path.to_owned(),
            });
        }
        settings(&connection).map_err(|e| cannot_open(path, e))?;
        migrate(&mut connection, path)?;
        Ok(Self {
            connection,
            path: path.to_owned(),
            writable: true,
        })
    }

    /// A file that nobody can write needs no lock and no shared memory, as long as no log of an
    /// interrupted writer lies beside it.
    fn reading(path: &Path) -> Result<Self, ShelfError> {
        let log = path.with_file_name(format!(
            "{}-wal",
            path.file_name().unwrap_or_default().to_string_lossy()
        ));
        if log.metadata().is_ok_and(|m| m.len() > 0) {
            return Err(ShelfError::ReadOnly {
                path: path.to_owned(),
            });
        }
        let flags = OpenFlags::SQLITE_OPEN_READ_ONLY
            | OpenFlags::SQLITE_OPEN_NO_MUTEX
            | OpenFlags::SQLITE_OPEN_URI;
        let connection = Connection::open_with_flags(immutable_uri(path), flags)
            .map_err(|e| cannot_open(path, e))?;
        let version = recognise(&connection, path)?;
        if version < SCHEMA_VERSION {
            return Err(ShelfError::ReadOnly {
                path: path.to_owned(),
            });
        }
        Ok(Self {
            connection,
            path: path.to_owned(),
            writable: false,
        })
    }
}

fn must_exist(path: &Path) -> Result<(), ShelfError> {
    if path.exists() {
        Ok(())
    } else {
        Err(ShelfError::Missing {
            path: path.to_owned(),
        })
    }
}

/// A file URI as SQLite reads it; bytes that mean something in a URI are escaped.
fn immutable_uri(path: &Path) -> String {
    let absolute = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    let escaped = absolute
        .to_string_lossy()
        .replace('%', "%25")
        .replace('?', "%3f")
        .replace('#', "%23");
    format!("file:{escaped}?immutable=1")
}

/// SQLite can't open a file in a folder where it may not write its log.
fn cannot_open(path: &Path, source: rusqlite::Error) -> ShelfError {
    match source.sqlite_error_code() {
        Some(ErrorCode::CannotOpen | ErrorCode::PermissionDenied) => ShelfError::Open {
            path: path.to_owned(),
            source,
        },
        _ => ShelfError::from_sqlite(path, source),
    }
}

/// The layout's number: 0 for a new file. Refuses what is no shelf or too new, before anything is
/// written.
fn recognise(connection: &Connection, path: &Path) -> Result<usize, ShelfError> {
    let number = |name: &str| {
        connection
            .pragma_query_value(None, name, |row| row.get::<_, i64>(0))
            .map_err(|e| cannot_open(path, e))
    };
    let (application, version) = (number("application_id")?, number("user_version")?);
    if application == 0 && version == 0 && number("schema_version")? == 0 {
        return Ok(0);
    }
    let found = usize::try_from(version).unwrap_or(usize::MAX);
    if application != i64::from(APPLICATION_ID) {
        Err(ShelfError::NotAShelf {
            path: path.to_owned(),
        })
    } else if found > SCHEMA_VERSION {
        Err(ShelfError::Newer {
            path: path.to_owned(),
            found,
            known: SCHEMA_VERSION,
        })
    } else {
        Ok(found)
    }
}

fn settings(connection: &Connection) -> rusqlite::Result<()> {
    connection.pragma_update(None, "journal_mode", "wal")?;
    // With NORMAL a power cut could take back the last confirmed transactions.
    connection.pragma_update(None, "synchronous", "full")?;
    connection.pragma_update(None, "foreign_keys", true)?;
    connection.pragma_update(None, "trusted_schema", false)?;
    Ok(())
}

fn migrate(connection: &mut Connection, path: &Path) -> Result<(), ShelfError> {
    let shelf_error = |e| ShelfError::from_sqlite(path, e);
    let version: i64 = connection
        .pragma_query_value(None, "user_version", |row| row.get(0))
        .map_err(shelf_error)?;
    if usize::try_from(version) == Ok(SCHEMA_VERSION) {
        return Ok(());
    }
    connection
        .pragma_update(None, "application_id", APPLICATION_ID)
        .map_err(shelf_error)?;
    let migrations = Migrations::from_slice(STEPS);
    migrations
        .to_latest(connection)
        .map_err(|error| match error {
            rusqlite_migration::Error::RusqliteError { err, .. } => shelf_error(err),
            // The two that remain can't happen to constant steps and a recognised number.
            _ => ShelfError::NotAShelf {
                path: path.to_owned(),
            },
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_steps_are_valid() {
        Migrations::from_slice(STEPS).validate().unwrap();
    }

    #[test]
    fn uris_escape_what_means_something_in_them() {
        assert_eq!(
            immutable_uri(Path::new("/a b/50%?#.db")),
            "file:/a b/50%25%3f%23.db?immutable=1"
        );
    }
}
