//! What people add to a cable: decisions, notes, photos.

use rusqlite::params;

use crate::assay::insert_content;
use crate::{Shelf, ShelfError, new_id};

/// What the owner decided about a cable.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Decision {
    /// When, RFC 3339 in UTC.
    pub at: String,
    /// What: keep, repair, discard … in the owner's words.
    pub action: String,
    /// Why.
    pub reason: String,
}

/// A note on a cable.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Note {
    /// When, RFC 3339 in UTC.
    pub at: String,
    /// What.
    pub text: String,
}

/// A photo of a cable.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Photo {
    /// When it came onto the shelf, RFC 3339 in UTC.
    pub at: String,
    /// Name of the file.
    pub file_name: String,
    /// What it shows.
    pub caption: String,
    /// All bytes of the file.
    pub bytes: Vec<u8>,
}

impl Shelf {
    /// Keeps a decision.
    ///
    /// # Errors
    /// [`ShelfError::NoSuchTag`], or the file can't be written.
    pub fn decide(&mut self, tag: &str, decision: &Decision) -> Result<(), ShelfError> {
        let cable = self.cable(tag)?.id;
        self.write(|t| {
            t.execute(
                "INSERT INTO decision (id, cable_id, at, action, reason) VALUES (?1, ?2, ?3, ?4, ?5)",
                params![
                    new_id(),
                    cable,
                    decision.at,
                    decision.action,
                    decision.reason
                ],
            )
        })?;
        Ok(())
    }

    /// Keeps a note.
    ///
    /// # Errors
    /// As [`Shelf::decide`].
    pub fn note(&mut self, tag: &str, note: &Note) -> Result<(), ShelfError> {
        let cable = self.cable(tag)?.id;
        self.write(|t| {
            t.execute(
                "INSERT INTO note (id, cable_id, at, text) VALUES (?1, ?2, ?3, ?4)",
                params![new_id(), cable, note.at, note.text],
            )
        })?;
        Ok(())
    }

    /// Keeps a photo.
    ///
    /// # Errors
    /// As [`Shelf::decide`].
    pub fn photo(&mut self, tag: &str, photo: &Photo) -> Result<(), ShelfError> {
        let cable = self.cable(tag)?.id;
        self.write(|t| {
            let hash = insert_content(t, &photo.bytes)?;
            t.execute(
                "INSERT INTO photo (id, cable_id, at, file_name, caption, sha256)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
                params![
                    new_id(),
                    cable,
                    photo.at,
                    photo.file_name,
                    photo.caption,
                    hash
                ],
            )
        })?;
        Ok(())
    }

    /// Decisions on a cable, oldest first.
    ///
    /// # Errors
    /// [`ShelfError::NoSuchTag`], or the file can't be read.
    pub fn decisions(&self, tag: &str) -> Result<Vec<Decision>, ShelfError> {
        let sql = "SELECT at, action, reason FROM decision WHERE cable_id = ?1 ORDER BY at, id";
        self.of_cable(tag, sql, |row| {
            Ok(Decision {
                at: row.get(0)?,
                action: row.get(1)?,
                reason: row.get(2)?,
            })
        })
    }

    /// Notes on a cable, oldest first.
    ///
    /// # Errors
    /// As [`Shelf::decisions`].
    pub fn notes(&self, tag: &str) -> Result<Vec<Note>, ShelfError> {
        let sql = "SELECT at, text FROM note WHERE cable_id = ?1 ORDER BY at, id";
        self.of_cable(tag, sql, |row| {
            Ok(Note {
                at: row.get(0)?,
                text: row.get(1)?,
            })
        })
    }

    /// Photos of a cable, oldest first.
    ///
    /// # Errors
    /// As [`Shelf::decisions`].
    pub fn photos(&self, tag: &str) -> Result<Vec<Photo>, ShelfError> {
        let sql = "SELECT p.at, p.file_name, p.caption, c.bytes FROM photo p
                   JOIN content c USING (sha256) WHERE p.cable_id = ?1 ORDER BY p.at, p.id";
        self.of_cable(tag, sql, |row| {
            Ok(Photo {
                at: row.get(0)?,
                file_name: row.get(1)?,
                caption: row.get(2)?,
                bytes: row.get(3)?,
            })
        })
    }

    fn of_cable<T>(
        &self,
        tag: &str,
        sql: &str,
        read: impl FnMut(&rusqlite::Row<'_>) -> rusqlite::Result<T>,
    ) -> Result<Vec<T>, ShelfError> {
        let cable = self.cable(tag)?.id;
        let rows = || {
            let mut statement = self.connection.prepare_cached(sql)?;
            statement
                .query_map([cable], read)?
                .collect::<rusqlite::Result<_>>()
        };
        rows().map_err(|e| self.error(e))
    }
}
