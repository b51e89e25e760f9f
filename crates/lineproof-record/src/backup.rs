//! A copy of the whole shelf while it is in use (SQLite's online backup).

use std::path::Path;

use rusqlite::Connection;
use rusqlite::backup::Backup;

use crate::{Shelf, ShelfError};

/// Pages that are copied before the lock is let go for others.
const PAGES_A_STEP: i32 = 1000;

impl Shelf {
    /// Copies the shelf to `path`, where no file may be yet. The copy is written beside it first and
    /// takes its name when it is whole.
    ///
    /// # Errors
    /// [`ShelfError`]: there is a file already, or no room, or it can't be written.
    pub fn back_up(&self, path: &Path) -> Result<(), ShelfError> {
        if path.exists() {
            return Err(ShelfError::TargetExists {
                path: path.to_owned(),
            });
        }
        let unfinished = path.with_extension("unfinished");
        let done = self.copy_to(&unfinished).and_then(|()| {
            std::fs::rename(&unfinished, path).map_err(|source| ShelfError::ArchiveFile { source })
        });
        if done.is_err() {
            let _may_not_exist = std::fs::remove_file(&unfinished);
        }
        done
    }

    fn copy_to(&self, path: &Path) -> Result<(), ShelfError> {
        let copy = || {
            let mut target = Connection::open(path)?;
            let backup = Backup::new(&self.connection, &mut target)?;
            backup.run_to_completion(PAGES_A_STEP, std::time::Duration::ZERO, None)?;
            drop(backup);
            // One file, nothing beside it: the log is written back when the last user closes.
            target.pragma_update(None, "journal_mode", "delete")?;
            target.pragma_update(None, "journal_mode", "wal")
        };
        copy().map_err(|e| ShelfError::from_sqlite(path, e))
    }
}
