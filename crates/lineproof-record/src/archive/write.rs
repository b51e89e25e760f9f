//! Shelf to zip.

use std::io::{Seek, Write};

use rusqlite::types::ValueRef;
use serde_json::{Map, Value, json};
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

use super::{ABOUT, Exported, LAYOUT, TABLES, Table};
use crate::{Filter, Shelf, ShelfError};

impl Shelf {
    /// Writes everything into a zip, as it stands at one moment.
    ///
    /// # Errors
    /// [`ShelfError`]: the shelf can't be read or the archive not be written.
    pub fn export(&self, target: impl Write + Seek) -> Result<Exported, ShelfError> {
        // A read transaction, so that tables and files fit one another while others write.
        let moment = self.connection.unchecked_transaction();
        let moment = moment.map_err(|e| self.error(e))?;
        let mut archive = Archive {
            zip: ZipWriter::new(target),
            exported: Exported::default(),
        };
        let about = json!({"what": "lineproof shelf", "layout": LAYOUT});
        archive.file(ABOUT, about.to_string().as_bytes())?;
        for table in &TABLES {
            self.export_table(table, &mut archive)?;
        }
        archive.file("cables.csv", &self.overview()?)?;
        archive.zip.finish().map_err(archive_error)?;
        drop(moment);
        Ok(archive.exported)
    }

    fn export_table<W: Write + Seek>(
        &self,
        table: &Table,
        archive: &mut Archive<W>,
    ) -> Result<(), ShelfError> {
        let mut lines = String::new();
        let sql = format!(
            "SELECT {} FROM {} ORDER BY id",
            table.columns.join(", "),
            table.name
        );
        let sqlite = |e| self.error(e);
        let mut statement = self.connection.prepare(&sql).map_err(sqlite)?;
        let mut rows = statement.query([]).map_err(sqlite)?;
        while let Some(row) = rows.next().map_err(sqlite)? {
            let mut object = Map::new();
            for (i, name) in table.columns.iter().enumerate() {
                let value = row.get_ref(i).map_err(sqlite)?;
                object.insert((*name).to_owned(), to_json(value));
            }
            if table.has_file() {
                let path = path_of(table, &object);
                let hash = object["sha256"].as_str().unwrap_or_default();
                archive.file(&path, &self.content(hash)?)?;
                archive.exported.files += 1;
                object.insert("path".to_owned(), Value::String(path));
            }
            lines.push_str(&Value::Object(object).to_string());
            lines.push('\n');
            archive.exported.rows += 1;
        }
        archive.file(&table.file(), lines.as_bytes())
    }

    fn content(&self, sha256: &str) -> Result<Vec<u8>, ShelfError> {
        let sql = "SELECT bytes FROM content WHERE sha256 = ?1";
        let read = || {
            let mut statement = self.connection.prepare_cached(sql)?;
            statement.query_row([sha256], |row| row.get(0))
        };
        read().map_err(|e| self.error(e))
    }

    /// The list of cables for a spreadsheet.
    fn overview(&self) -> Result<Vec<u8>, ShelfError> {
        let all = Filter {
            retired: true,
            ..Filter::default()
        };
        let number = |n: Option<f64>| n.map_or_else(String::new, |n| n.to_string());
        let mut table = csv::Writer::from_writer(Vec::new());
        let head = [
            "tag",
            "description",
            "place",
            "retired_at",
            "assays",
            "assayed_at",
            "impedance_ohm",
            "u95_impedance_ohm",
            "length_m",
            "condition",
            "verdict",
            "decision",
        ];
        let mut rows = vec![head.map(str::to_owned).to_vec()];
        for listed in self.cables(&all)? {
            let text = Option::unwrap_or_default;
            rows.push(vec![
                listed.cable.tag,
                listed.cable.description,
                listed.cable.place,
                listed.cable.retired.map_or_else(String::new, |r| r.at),
                listed.assays.to_string(),
                text(listed.assayed_at),
                number(listed.impedance_ohm),
                number(listed.u95_impedance_ohm),
                number(listed.length_m),
                text(listed.condition),
                text(listed.action),
                text(listed.decision),
            ]);
        }
        for row in rows {
            table.write_record(&row).map_err(|e| ShelfError::Archive {
                what: e.to_string(),
            })?;
        }
        table.into_inner().map_err(|e| ShelfError::ArchiveFile {
            source: e.into_error(),
        })
    }
}

struct Archive<W: Write + Seek> {
    zip: ZipWriter<W>,
    exported: Exported,
}

impl<W: Write + Seek> Archive<W> {
    /// One file of the archive, without a time, so that the same shelf gives the same bytes.
    fn file(&mut self, path: &str, bytes: &[u8]) -> Result<(), ShelfError> {
        let options = SimpleFileOptions::default().last_modified_time(zip::DateTime::default());
        self.zip.start_file(path, options).map_err(archive_error)?;
        self.zip.write_all(bytes)?;
        Ok(())
    }
}

fn archive_error(error: zip::result::ZipError) -> ShelfError {
    match error {
        zip::result::ZipError::Io(source) => ShelfError::ArchiveFile { source },
        other => ShelfError::Archive {
            what: other.to_string(),
        },
    }
}

fn to_json(value: ValueRef<'_>) -> Value {
    match value {
        ValueRef::Integer(n) => json!(n),
        ValueRef::Real(x) => json!(x),
        ValueRef::Text(text) => json!(String::from_utf8_lossy(text)),
        // No table of the archive has blobs; theirs are files.
        ValueRef::Null | ValueRef::Blob(_) => Value::Null,
    }
}

/// A place in the archive that no other row has and every file system takes.
fn path_of(table: &Table, row: &Map<String, Value>) -> String {
    let text = |key: &str| row.get(key).and_then(Value::as_str).unwrap_or_default();
    let parent = ["assay_id", "cable_id"].into_iter().map(text);
    let parent: String = parent.collect();
    let name: String = text("file_name")
        .chars()
        .map(|c| {
            if c.is_alphanumeric() || "._-".contains(c) {
                c
            } else {
                '_'
            }
        })
        .collect();
    format!("{}s/{parent}/{}-{name}", table.name, text("id"))
}
