//! Assays: the raw sweeps, the set-up, and the findings that programs made of them.

use rusqlite::{OptionalExtension, Row, Transaction, params};

use crate::cable::{check_tag, find_or_make};
use crate::{Shelf, ShelfError, new_id, sha256};

/// An assay to keep.
#[derive(Clone, Debug)]
pub struct NewAssay {
    /// The cable's tag; a cable is made if nobody has it.
    pub tag: String,
    /// When the sweeps were taken, or when they came here; RFC 3339 in UTC.
    pub at: String,
    /// Everything besides the sweeps that is needed to find the same again, as JSON.
    pub setup: String,
    /// The sweeps in the order in which they are used.
    pub sweeps: Vec<NewSweep>,
    /// What was found.
    pub finding: NewFinding,
}

/// A sweep to keep.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewSweep {
    /// Name of the file.
    pub file_name: String,
    /// What it was said to be: `open`, `short`, `load`, `through` or `judge`.
    pub role: String,
    /// All bytes of the file.
    pub bytes: Vec<u8>,
}

/// A finding to keep.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewFinding {
    /// When it was made, RFC 3339 in UTC.
    pub made_at: String,
    /// Version of the program that made it.
    pub program_version: String,
    /// The finding as JSON.
    pub json: String,
}

/// What became of a new assay.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shelved {
    /// Id of the assay.
    pub assay_id: String,
    /// Id of the cable.
    pub cable_id: String,
    /// Whether the cable is new on the shelf.
    pub new_cable: bool,
}

/// An assay in a list.
#[derive(Clone, Debug, PartialEq)]
pub struct AssaySummary {
    /// Its id.
    pub id: String,
    /// When, RFC 3339 in UTC.
    pub at: String,
    /// Number of sweeps.
    pub sweeps: u32,
    /// Number of findings, one for each time that a program looked.
    pub findings: u32,
    /// Program version of the newest finding.
    pub program_version: String,
    /// The newest finding as JSON.
    pub finding: String,
}

/// An assay with everything.
#[derive(Clone, Debug, PartialEq)]
pub struct Assay {
    /// Its id.
    pub id: String,
    /// Tag of its cable.
    pub tag: String,
    /// When, RFC 3339 in UTC.
    pub at: String,
    /// The set-up as JSON.
    pub setup: String,
    /// The sweeps in the order in which they are used.
    pub sweeps: Vec<Sweep>,
    /// Findings, oldest first.
    pub findings: Vec<Finding>,
}

/// A sweep as it was kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sweep {
    /// Name of the file.
    pub file_name: String,
    /// What it was said to be.
    pub role: String,
    /// SHA-256 of the bytes.
    pub sha256: String,
    /// All bytes of the file, unchanged.
    pub bytes: Vec<u8>,
}

/// A finding as it was kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// When it was made, RFC 3339 in UTC.
    pub made_at: String,
    /// Version of the program that made it.
    pub program_version: String,
    /// The finding as JSON.
    pub json: String,
}

impl Shelf {
    /// Keeps an assay. It is on the disk when this returns.
    ///
    /// # Errors
    /// [`ShelfError::BadTag`], or the file can't be written; nothing is stored then.
    pub fn shelve(&mut self, assay: &NewAssay) -> Result<Shelved, ShelfError> {
        let mut shelved = self.shelve_all(std::slice::from_ref(assay))?;
        Ok(shelved.remove(0))
    }

    /// Keeps several assays, all or none.
    ///
    /// # Errors
    /// As [`Shelf::shelve`].
    pub fn shelve_all(&mut self, assays: &[NewAssay]) -> Result<Vec<Shelved>, ShelfError> {
        for assay in assays {
            check_tag(&assay.tag)?;
        }
        self.write(|t| assays.iter().map(|assay| insert(t, assay)).collect())
    }

    /// Keeps another finding of an assay.
    ///
    /// # Errors
    /// [`ShelfError::NoSuchAssay`], or the file can't be written.
    pub fn add_finding(&mut self, assay_id: &str, finding: &NewFinding) -> Result<(), ShelfError> {
        self.assay(assay_id)?;
        self.write(|t| insert_finding(t, assay_id, finding))
    }

    /// The assays of a cable with the newest finding of each, oldest first.
    ///
    /// # Errors
    /// [`ShelfError::NoSuchTag`], or the file can't be read.
    pub fn assays(&self, tag: &str) -> Result<Vec<AssaySummary>, ShelfError> {
        let id = self.cable(tag)?.id;
        let rows = || {
            let mut statement = self.connection.prepare_cached(
                "SELECT a.id, a.at, (SELECT count(*) FROM sweep WHERE assay_id = a.id),
                        (SELECT count(*) FROM finding WHERE assay_id = a.id),
                        f.program_version, f.json
                 FROM assay a JOIN finding f ON f.id =
                     (SELECT id FROM finding WHERE assay_id = a.id ORDER BY made_at DESC, id DESC LIMIT 1)
                 WHERE a.cable_id = ?1 ORDER BY a.at, a.id",
            )?;
            let rows = statement.query_map([&id], summary)?;
            rows.collect::<rusqlite::Result<_>>()
        };
        rows().map_err(|e| self.error(e))
    }

    /// An assay with its sweeps and all findings.
    ///
    /// # Errors
    /// [`ShelfError::NoSuchAssay`], or the file can't be read.
    pub fn assay(&self, id: &str) -> Result<Assay, ShelfError> {
        let found = read(&self.connection, id).map_err(|e| self.error(e))?;
        found.ok_or_else(|| ShelfError::NoSuchAssay { id: id.to_owned() })
    }
}

fn insert(t: &Transaction<'_>, assay: &NewAssay) -> rusqlite::Result<Shelved> {
    let (cable_id, new_cable) = find_or_make(t, &assay.tag, &assay.at)?;
    let assay_id = new_id();
    t.prepare_cached("INSERT INTO assay (id, cable_id, at, setup) VALUES (?1, ?2, ?3, ?4)")?
        .execute(params![assay_id, cable_id, assay.at, assay.setup])?;
    for (position, sweep) in (0_i64..).zip(&assay.sweeps) {
        let hash = insert_content(t, &sweep.bytes)?;
        t.prepare_cached(
            "INSERT INTO sweep (id, assay_id, position, file_name, role, sha256)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
        )?
        .execute(params![
            new_id(),
            assay_id,
            position,
            sweep.file_name,
            sweep.role,
            hash
        ])?;
    }
    insert_finding(t, &assay_id, &assay.finding)?;
    Ok(Shelved {
        assay_id,
        cable_id,
        new_cable,
    })
}

fn insert_finding(
    t: &Transaction<'_>,
    assay_id: &str,
    finding: &NewFinding,
) -> rusqlite::Result<()> {
    t.prepare_cached(
        "INSERT INTO finding (id, assay_id, made_at, program_version, json)
         VALUES (?1, ?2, ?3, ?4, ?5)",
    )?
    .execute(params![
        new_id(),
        assay_id,
        finding.made_at,
        finding.program_version,
        finding.json
    ])?;
    Ok(())
}

/// Stores bytes once, whoever refers to them; gives their hash.
pub(crate) fn insert_content(t: &Transaction<'_>, bytes: &[u8]) -> rusqlite::Result<String> {
    let hash = sha256(bytes);
    t.prepare_cached("INSERT INTO content (sha256, bytes) VALUES (?1, ?2) ON CONFLICT DO NOTHING")?
        .execute(params![hash, bytes])?;
    Ok(hash)
}

fn summary(row: &Row<'_>) -> rusqlite::Result<AssaySummary> {
    Ok(AssaySummary {
        id: row.get(0)?,
        at: row.get(1)?,
        sweeps: row.get(2)?,
        findings: row.get(3)?,
        program_version: row.get(4)?,
        finding: row.get(5)?,
    })
}

fn read(connection: &rusqlite::Connection, id: &str) -> rusqlite::Result<Option<Assay>> {
    let head = connection
        .query_row(
            "SELECT c.tag, a.at, a.setup FROM assay a JOIN cable c ON c.id = a.cable_id WHERE a.id = ?1",
            [id],
            |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)),
        )
        .optional()?;
    let Some((tag, at, setup)) = head else {
        return Ok(None);
    };
    let mut sweeps = connection.prepare_cached(
        "SELECT s.file_name, s.role, s.sha256, c.bytes FROM sweep s JOIN content c USING (sha256)
         WHERE s.assay_id = ?1 ORDER BY s.position",
    )?;
    let sweeps = sweeps.query_map([id], |row| {
        Ok(Sweep {
            file_name: row.get(0)?,
            role: row.get(1)?,
            sha256: row.get(2)?,
            bytes: row.get(3)?,
        })
    })?;
    let mut findings = connection.prepare_cached(
        "SELECT made_at, program_version, json FROM finding WHERE assay_id = ?1 ORDER BY made_at, id",
    )?;
    let findings = findings.query_map([id], |row| {
        Ok(Finding {
            made_at: row.get(0)?,
            program_version: row.get(1)?,
            json: row.get(2)?,
        })
    })?;
    Ok(Some(Assay {
        id: id.to_owned(),
        tag,
        at,
        setup,
        sweeps: sweeps.collect::<Result<_, _>>()?,
        findings: findings.collect::<Result<_, _>>()?,
    }))
}
