//! Whether the file still holds what was written.

use crate::{Shelf, ShelfError, sha256};

impl Shelf {
    /// Looks through the whole file: SQLite's own check, references between tables, and the hash of
    /// every sweep and photo. Gives a sentence for each thing that is wrong.
    ///
    /// # Errors
    /// [`ShelfError::Damaged`] if the file is too far gone to be looked through.
    pub fn check(&self) -> Result<Vec<String>, ShelfError> {
        let problems = || {
            let mut problems = self.structure()?;
            problems.extend(self.references()?);
            problems.extend(self.hashes()?);
            Ok(problems)
        };
        problems().map_err(|e| self.error(e))
    }

    fn structure(&self) -> rusqlite::Result<Vec<String>> {
        let mut statement = self.connection.prepare("PRAGMA integrity_check")?;
        let lines: Vec<String> = statement
            .query_map([], |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        Ok(lines.into_iter().filter(|line| line != "ok").collect())
    }

    fn references(&self) -> rusqlite::Result<Vec<String>> {
        let mut statement = self.connection.prepare("PRAGMA foreign_key_check")?;
        let rows = statement.query_map([], |row| {
            let (table, parent): (String, String) = (row.get(0)?, row.get(2)?);
            Ok(format!("a row of {table} refers to a missing {parent}"))
        })?;
        rows.collect()
    }

    fn hashes(&self) -> rusqlite::Result<Vec<String>> {
        let mut statement = self
            .connection
            .prepare("SELECT sha256, bytes FROM content")?;
        let mut rows = statement.query([])?;
        let mut problems = Vec::new();
        while let Some(row) = rows.next()? {
            let stored: String = row.get(0)?;
            let found = sha256(row.get_ref(1)?.as_bytes().unwrap_or_default());
            if stored != found {
                problems.push(format!("content {stored} has become {found}"));
            }
        }
        Ok(problems)
    }
}
