//! Cables: their tag, what they are, where they hang, and lists of them.

use rusqlite::{OptionalExtension, Row, named_params, params};

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

/// A cable in a list, with the newest finding of its newest assay.
#[derive(Clone, Debug, PartialEq)]
pub struct Listed {
    /// The cable.
    pub cable: Cable,
    /// Number of assays.
    pub assays: u32,
    /// When the newest assay was made.
    pub assayed_at: Option<String>,
    /// Characteristic impedance found, ohm.
    pub impedance_ohm: Option<f64>,
    /// Its 95 % half-width, ohm.
    pub u95_impedance_ohm: Option<f64>,
    /// Length, m.
    pub length_m: Option<f64>,
    /// Condition.
    pub condition: Option<String>,
    /// What to do, by the finding.
    pub action: Option<String>,
    /// What the owner decided last.
    pub decision: Option<String>,
}

/// Which cables a list shows. Nothing set: all that are in use.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Filter {
    /// Retired ones too.
    pub retired: bool,
    /// Text that tag, description or place contain, whatever the case of its ASCII letters.
    pub text: Option<String>,
    /// Impedance range, ohm.
    pub impedance_ohm: Option<(f64, f64)>,
    /// Condition.
    pub condition: Option<String>,
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

const LIST: &str = "
SELECT c.id, c.tag, c.description, c.place, c.created_at, c.changed_at, c.retired_at, c.retired_why,
       (SELECT count(*) FROM assay WHERE cable_id = c.id) AS assays,
       a.at, f.impedance_ohm, f.u95_impedance_ohm, f.length_m, f.condition, f.action,
       (SELECT action FROM decision WHERE cable_id = c.id ORDER BY at DESC, id DESC LIMIT 1)
FROM cable c
LEFT JOIN assay a ON a.id =
    (SELECT id FROM assay WHERE cable_id = c.id ORDER BY at DESC, id DESC LIMIT 1)
LEFT JOIN finding f INDEXED BY finding_of_assay ON f.assay_id = a.id AND f.id =
    (SELECT id FROM finding WHERE assay_id = a.id ORDER BY made_at DESC, id DESC LIMIT 1)
WHERE (:retired OR c.retired_at IS NULL)
  AND (:text IS NULL OR instr(lower(c.tag || char(10) || c.description || char(10) || c.place), lower(:text)))
  AND (:low IS NULL OR f.impedance_ohm BETWEEN :low AND :high)
  AND (:condition IS NULL OR f.condition = :condition)
ORDER BY c.tag COLLATE NOCASE";

impl Shelf {
    /// Cables by tag.
    ///
    /// # Errors
    /// [`ShelfError`] if the file can't be read.
    pub fn cables(&self, filter: &Filter) -> Result<Vec<Listed>, ShelfError> {
        let range = filter.impedance_ohm;
        let rows = || {
            let mut statement = self.connection.prepare_cached(LIST)?;
            let rows = statement.query_map(
                named_params! {
                    ":retired": filter.retired,
                    ":text": filter.text,
                    ":low": range.map(|r| r.0),
                    ":high": range.map(|r| r.1),
                    ":condition": filter.condition,
                },
                listed,
            )?;
            rows.collect::<rusqlite::Result<_>>()
        };
        rows().map_err(|e| self.error(e))
    }

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

fn cable(row: &Row<'_>) -> rusqlite::Result<Cable> {
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

fn listed(row: &Row<'_>) -> rusqlite::Result<Listed> {
    Ok(Listed {
        cable: cable(row)?,
        assays: row.get(8)?,
        assayed_at: row.get(9)?,
        impedance_ohm: row.get(10)?,
        u95_impedance_ohm: row.get(11)?,
        length_m: row.get(12)?,
        condition: row.get(13)?,
        action: row.get(14)?,
        decision: row.get(15)?,
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
