//! What an interrupted run has done already: one JSON line for each cable, with the fingerprint of
//! its files and of everything that was asked, so that a changed file or question is done anew.

use std::fs::{File, OpenOptions};
use std::io::{self, BufRead, BufReader, Write};
use std::path::Path;

use serde::{Deserialize, Serialize};

use super::rows::{Done, Row};

#[derive(Deserialize, Serialize)]
struct Line {
    fingerprint: String,
    row: Row,
}

/// Rows of an earlier run. A last line that was cut off is passed over; a missing file has none.
///
/// # Errors
/// What the system says.
pub fn read(path: &Path) -> io::Result<Done> {
    let file = match File::open(path) {
        Ok(file) => file,
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(Done::new()),
        Err(e) => return Err(e),
    };
    let mut done = Done::new();
    for line in BufReader::new(file).lines() {
        if let Ok(Line { fingerprint, row }) = serde_json::from_str(&line?) {
            done.insert(fingerprint, row);
        }
    }
    Ok(done)
}

/// Opens the file to add rows, on a line of their own even after a cut-off one.
///
/// # Errors
/// What the system says.
pub fn append(path: &Path) -> io::Result<File> {
    let mut file = OpenOptions::new().create(true).append(true).open(path)?;
    if file.metadata()?.len() > 0 {
        file.write_all(b"\n")?;
    }
    Ok(file)
}

/// Adds a row in one write.
///
/// # Errors
/// What the system says.
pub fn add(file: &mut File, fingerprint: &str, row: &Row) -> io::Result<()> {
    let line = Line {
        fingerprint: fingerprint.to_owned(),
        row: row.clone(),
    };
    let mut text = serde_json::to_string(&line)?;
    text.push('\n');
    file.write_all(text.as_bytes())
}
