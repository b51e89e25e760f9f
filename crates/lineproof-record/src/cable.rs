//! Cables: their tag, what they are, where they hang.

use rusqlite::{OptionalExtension, Row, params};

use crate::{Shelf, ShelfError, new_id};

/// A cable on the shelf.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cable {
    /// Its id.
    pub id: String,
    /// The short tag on its label; unique, whatever the case.
    pub tag: String,
    /// What it is, in the owner's words.
    pub description: String,
    /// Where it is kept.
    pub place: String,
    /// When it came onto the shelf, RFC 3339 in UTC.
    pub created_at: String,
    /// When its row was changed last.
    pub changed_at: String,
    /// Present if it is in use no more.
    pub retired: Option<Retired>,
}

/// When and why a cable was retired.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Retired {
    /// When, RFC 3339 in UTC.
    pub at: String,
    /// Why.
    pub why: String,
}

/// What changes about a cable; absent fields stay.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Edit {
    /// New tag.
    pub tag: Option<String>,
    /// New description.
    pub description: Option<String>,
    /// New place.
    pub place: Option<String>,
}

impl Shelf {
    /// The cable with this tag, whatever the case.
    ///
    /// # Errors
    /// [`ShelfError::NoSuchTag`], or the file can't be read.
    pub fn cable(&self, tag: &str) -> Result<Cable, ShelfError> {
        let found = find(&self.connection, tag).map_err(|e| self.error(e))?;
        found.ok_or_else(|| ShelfError::NoSuchTag {
            tag: tag.to_owned(),
        })
    }

    /// Changes tag, description or place.
    ///
    /// # Errors
    /// [`ShelfError::NoSuchTag`], [`ShelfError::TagTaken`], [`ShelfError::BadTag`], or the file can't
    /// be written.
    pub fn edit(&mut self, tag: &str, edit: &Edit, at: &str) -> Result<Cable, ShelfError> {
        let cable = self.cable(tag)?;
        if let Some(new) = &edit.tag {
            check_tag(new)?;
            if self.cable(new).is_ok_and(|other| other.id != cable.id) {
                return Err(ShelfError::TagTaken { tag: new.clone() });
            }
        }
        self.write(|t| {
            t.execute(
                "UPDATE cable SET tag = coalesce(?2, tag), description = coalesce(?3, description),
                 place = coalesce(?4, place), changed_at = ?5 WHERE id = ?1",
                params![cable.id, edit.tag, edit.description, edit.place, at],
            )
        })?;
        self.cable(edit.tag.as_deref().unwrap_or(tag))
    }

    /// Retires a cable: lists show it no more unless asked.
    ///
    /// # Errors
    /// [`ShelfError::NoSuchTag`], or the file can't be written.
    pub fn retire(&mut self, tag: &str, why: &str, at: &str) -> Result<(), ShelfError> {
        self.set_retired(tag, Some((at, why)), at)
    }

    /// Takes a retired cable back.
    ///
    /// # Errors
    /// As [`Shelf::retire`].
    pub fn take_back(&mut self, tag: &str, at: &str) -> Result<(), ShelfError> {
        self.set_retired(tag, None, at)
    }

    fn set_retired(
        &mut self,
        tag: &str,
        retired: Option<(&str, &str)>,
        at: &str,
    ) -> Result<(), ShelfError> {
        let id = self.cable(tag)?.id;
        self.write(|t| {
            t.execute(
                "UPDATE cable SET retired_at = ?2, retired_why = ?3, changed_at = ?4 WHERE id = ?1",
                params![id, retired.map(|r| r.0), retired.map(|r| r.1), at],
            )
        })?;
        Ok(())
    }

    /// Does something in one transaction that begins by taking the write lock.
    pub(crate) fn write<T>(
        &mut self,
        work: impl FnOnce(&rusqlite::Transaction<'_>) -> rusqlite::Result<T>,
    ) -> Result<T, ShelfError> {
        let done = || {
            let behavior = rusqlite::TransactionBehavior::Immediate;
            let transaction = self.connection.transaction_with_behavior(behavior)?;
            let value = work(&transaction)?;
            transaction.commit()?;
            Ok(value)
        };
        done().map_err(|e| ShelfError::from_sqlite(&self.path, e))
    }

    pub(crate) fn error(&self, source: rusqlite::Error) -> ShelfError {
        ShelfError::from_sqlite(&self.path, source)
    }
}

/// The cable with this tag.
pub(crate) fn find(
    connection: &rusqlite::Connection,
    tag: &str,
) -> rusqlite::Result<Option<Cable>> {
    let mut statement = connection.prepare_cached(
        "SELECT id, tag, description, place, created_at, changed_at, retired_at, retired_why
         FROM cable WHERE tag = ?1",
    )?;
    statement.query_row([tag], cable).optional()
}

/// The id of the cable with this tag, made if there is none; and whether it was.
pub(crate) fn find_or_make(
    connection: &rusqlite::Connection,
    tag: &str,
    at: &str,
) -> rusqlite::Result<(String, bool)> {
    if let Some(cable) = find(connection, tag)? {
        return Ok((cable.id, false));
    }
    let id = new_id();
    connection.execute(
        "INSERT INTO cable (id, tag, description, place, created_at, changed_at)
         VALUES (?1, ?2, '', '', ?3, ?3)",
        params![id, tag, at],
    )?;
    Ok((id, true))
}

/// Refuses what does not fit on a label or can't be typed.
pub(crate) fn check_tag(tag: &str) -> Result<(), ShelfError> {
    let length = tag.chars().count();
    let fits = (1..=32).contains(&length) && tag.trim() == tag && !tag.contains(char::is_control);
    if fits {
        Ok(())
    } else {
        Err(ShelfError::BadTag {
            tag: tag.replace(char::is_control, "\u{FFFD}"),
        })
    }
}

/// A row with all columns of a cable, in their order, as a cable.
pub(crate) fn cable(row: &Row<'_>) -> rusqlite::Result<Cable> {
    let retired_at: Option<String> = row.get(6)?;
    let why: Option<String> = row.get(7)?;
    Ok(Cable {
        id: row.get(0)?,
        tag: row.get(1)?,
        description: row.get(2)?,
        place: row.get(3)?,
        created_at: row.get(4)?,
        changed_at: row.get(5)?,
        retired: retired_at.map(|at| Retired {
            at,
            why: why.unwrap_or_default(),
        }),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tags_must_fit_on_a_label() {
        for good in ["7", "mast-north", "Ölkeller 3", &"x".repeat(32)] {
            assert!(check_tag(good).is_ok(), "{good}");
        }
        for bad in ["", " a", "a ", "a\nb", &"x".repeat(33)] {
            assert!(check_tag(bad).is_err(), "{bad}");
        }
    }
}
