//! Zip to shelf.

use std::io::{BufRead, BufReader, Read, Seek};

use rusqlite::types::Value as Sql;
use rusqlite::{OptionalExtension, Transaction, params, params_from_iter};
use serde_json::{Map, Value};
use zip::ZipArchive;
use zip::result::ZipError;

use super::{ABOUT, Imported, LAYOUT, TABLES, Table};
use crate::assay::insert_content;
use crate::{Shelf, ShelfError, sha256};

/// Largest file in an archive that is read, bytes; a sweep of a million points has some 150 MB.
const LARGEST_FILE_BYTES: u64 = 256 << 20;

type Row = Map<String, Value>;

impl Shelf {
    /// Takes in everything from an archive, all or nothing. Rows that are here already stay; of a
    /// cable that was changed on both shelves the later change counts.
    ///
    /// # Errors
    /// [`ShelfError::Archive`]: not an archive of a shelf, a newer layout, or a file whose hash is
    /// not the one in its row; else as other writing methods.
    pub fn import(&mut self, source: impl Read + Seek) -> Result<Imported, ShelfError> {
        let mut zip = ZipArchive::new(source).map_err(|e| unreadable(&e))?;
        check_layout(&mut zip)?;
        let mut imported = Imported::default();
        let mut trouble = None;
        let done = self.write(|t| {
            for table in &TABLES {
                if let Err(error) = import_table(t, table, &mut zip, &mut imported) {
                    trouble = Some(error);
                    return Err(rusqlite::Error::QueryReturnedNoRows);
                }
            }
            Ok(())
        });
        match trouble {
            Some(Trouble::Archive(what)) => Err(ShelfError::Archive { what }),
            Some(Trouble::Sqlite(error)) => Err(self.error(error)),
            None => done.map(|()| imported),
        }
    }
}

/// Why a table did not come in.
enum Trouble {
    Archive(String),
    Sqlite(rusqlite::Error),
}

impl From<rusqlite::Error> for Trouble {
    fn from(error: rusqlite::Error) -> Self {
        Self::Sqlite(error)
    }
}

fn unreadable(error: &ZipError) -> ShelfError {
    ShelfError::Archive {
        what: error.to_string(),
    }
}

fn check_layout(zip: &mut ZipArchive<impl Read + Seek>) -> Result<(), ShelfError> {
    let refused = |what: String| ShelfError::Archive { what };
    let bytes = file(zip, ABOUT).map_err(|_| refused(format!("it has no `{ABOUT}`")))?;
    let about: Value = serde_json::from_slice(&bytes)
        .map_err(|e| refused(format!("`{ABOUT}` is not JSON: {e}")))?;
    match about["layout"].as_u64() {
        Some(LAYOUT) => Ok(()),
        Some(other) => Err(refused(format!(
            "it has layout {other}, this program knows {LAYOUT}"
        ))),
        None => Err(refused(format!("`{ABOUT}` names no layout"))),
    }
}

fn import_table(
    t: &Transaction<'_>,
    table: &Table,
    zip: &mut ZipArchive<impl Read + Seek>,
    imported: &mut Imported,
) -> Result<(), Trouble> {
    let lines = file(zip, &table.file())?;
    for (i, line) in BufReader::new(lines.as_slice()).lines().enumerate() {
        let at = || format!("`{}`, line {}", table.file(), i + 1);
        let line = line.map_err(|e| Trouble::Archive(format!("{}: {e}", at())))?;
        let mut row: Row =
            serde_json::from_str(&line).map_err(|e| Trouble::Archive(format!("{}: {e}", at())))?;
        if table.has_file() {
            import_file(t, &row, zip)?;
        }
        if table.name == "cable" {
            settle_cable(t, &mut row, imported)?;
        }
        if insert(t, table, &row)? {
            imported.new_rows += 1;
        } else {
            imported.known_rows += 1;
        }
    }
    Ok(())
}

/// Stores the file that a row names, if it is what the row says.
fn import_file(
    t: &Transaction<'_>,
    row: &Row,
    zip: &mut ZipArchive<impl Read + Seek>,
) -> Result<(), Trouble> {
    let (path, wanted) = (text(row, "path"), text(row, "sha256"));
    let bytes = file(zip, path)?;
    let found = sha256(&bytes);
    if found != wanted {
        return Err(Trouble::Archive(format!(
            "`{path}` was changed: its hash is {found}, expected {wanted}"
        )));
    }
    insert_content(t, &bytes)?;
    Ok(())
}

/// Another cable may have the tag, and this one may be here with an older or newer row.
fn settle_cable(
    t: &Transaction<'_>,
    row: &mut Row,
    imported: &mut Imported,
) -> Result<(), Trouble> {
    let (id, wanted) = (text(row, "id").to_owned(), text(row, "tag").to_owned());
    let changed_here: Option<String> = t
        .query_row("SELECT changed_at FROM cable WHERE id = ?1", [&id], |r| {
            r.get(0)
        })
        .optional()?;
    if changed_here.as_deref() >= Some(text(row, "changed_at")) {
        return Ok(());
    }
    let tag = free_tag(t, &id, &wanted)?;
    if tag != wanted {
        imported.renamed.push((wanted, tag.clone()));
        row.insert("tag".to_owned(), Value::String(tag));
    }
    if changed_here.is_some() {
        t.execute(
            "UPDATE cable SET tag = ?2, description = ?3, place = ?4, changed_at = ?5,
             retired_at = ?6, retired_why = ?7 WHERE id = ?1",
            params![
                id,
                text(row, "tag"),
                text(row, "description"),
                text(row, "place"),
                text(row, "changed_at"),
                row["retired_at"].as_str(),
                row["retired_why"].as_str()
            ],
        )?;
    }
    Ok(())
}

/// The tag, or the first of `tag-2`, `tag-3` … that no other cable has.
fn free_tag(t: &Transaction<'_>, id: &str, wanted: &str) -> rusqlite::Result<String> {
    let mut taken = t.prepare_cached("SELECT 1 FROM cable WHERE tag = ?1 AND id <> ?2")?;
    let mut tag = wanted.to_owned();
    let mut number = 2;
    while taken.exists([tag.as_str(), id])? {
        let ending = format!("-{number}");
        let kept: String = wanted.chars().take(32 - ending.len()).collect();
        tag = kept + &ending;
        number += 1;
    }
    Ok(tag)
}

/// Inserts a row unless its id is there; says whether it did.
fn insert(t: &Transaction<'_>, table: &Table, row: &Row) -> Result<bool, Trouble> {
    let places: Vec<String> = (1..=table.columns.len()).map(|i| format!("?{i}")).collect();
    let sql = format!(
        "INSERT INTO {} ({}) VALUES ({}) ON CONFLICT (id) DO NOTHING",
        table.name,
        table.columns.join(", "),
        places.join(", ")
    );
    let values = table.columns.iter().map(|column| match row.get(*column) {
        Some(Value::String(text)) => Sql::Text(text.clone()),
        Some(Value::Number(number)) => number.as_i64().map_or(Sql::Null, Sql::Integer),
        _ => Sql::Null,
    });
    Ok(t.prepare_cached(&sql)?.execute(params_from_iter(values))? == 1)
}

fn text<'a>(row: &'a Row, key: &str) -> &'a str {
    row.get(key).and_then(Value::as_str).unwrap_or_default()
}

fn file(zip: &mut ZipArchive<impl Read + Seek>, path: &str) -> Result<Vec<u8>, Trouble> {
    let trouble = |what: String| Trouble::Archive(format!("`{path}`: {what}"));
    let file = zip.by_name(path).map_err(|e| trouble(e.to_string()))?;
    let mut bytes = Vec::new();
    let mut limited = file.take(LARGEST_FILE_BYTES + 1);
    let read = limited.read_to_end(&mut bytes);
    read.map_err(|e| trouble(e.to_string()))?;
    if bytes.len() as u64 > LARGEST_FILE_BYTES {
        return Err(trouble("larger than any sweep".to_owned()));
    }
    Ok(bytes)
}
