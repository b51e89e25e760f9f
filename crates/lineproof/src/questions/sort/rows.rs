//! A box of cables: files to cables, cables to graded rows, worst first.
//!
//! One bad file never stops the rest: it is named in its cable's row.

use std::collections::HashMap;
use std::path::{Path, PathBuf};

pub use lineproof_core::finding::judge::sorted::{Row, worst_first};
use lineproof_record::sha256;
use rayon::prelude::*;

use crate::facts::{self, Said, Typed, table};
use crate::workflow::assay::{AssayRequest, Role, assay_files};
use crate::workflow::load;

/// Rows by fingerprint of what was asked.
pub type Done = HashMap<String, Row>;

/// The files of one cable and what is known of it alone.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Cable {
    /// Its name in the box.
    pub name: String,
    /// Its sweeps.
    pub files: Vec<(PathBuf, Role)>,
    /// What is said of it alone: its length, what its jacket claims. Every text in it is understood.
    pub said: Said,
}

/// Reads and finds all cables on all cores, worst first. `known` has rows from an interrupted run by
/// fingerprint; `done` is told of each new one, from several threads.
pub fn sort(
    cables: &[Cable],
    request: &AssayRequest,
    known: &Done,
    done: &(impl Fn(&str, &Row) + Sync),
) -> Vec<Row> {
    let mut rows: Vec<Row> = cables
        .par_iter()
        .map(|cable| {
            let read = Read::of(cable, request);
            if let Some(row) = known.get(&read.fingerprint) {
                done(&read.fingerprint, row);
                return row.clone();
            }
            let fingerprint = read.fingerprint.clone();
            let row = one(cable, read, request);
            done(&fingerprint, &row);
            row
        })
        .collect();
    worst_first(&mut rows);
    rows
}

/// Finds one cable.
pub fn find_one(cable: &Cable, request: &AssayRequest) -> Row {
    one(cable, Read::of(cable, request), request)
}

/// The same from bytes that somebody else has read, in the order of the cable's files.
pub fn find_read(cable: &Cable, bytes: Vec<Vec<u8>>, request: &AssayRequest) -> Row {
    let files = cable.files.iter().zip(bytes);
    let read = Read {
        files: files
            .map(|((path, role), bytes)| (path.clone(), *role, Ok(bytes)))
            .collect(),
        fingerprint: String::new(),
    };
    one(cable, read, request)
}

/// A cable's files as bytes, and what tells this question from every other.
struct Read {
    files: Vec<(PathBuf, Role, Result<Vec<u8>, load::LoadError>)>,
    fingerprint: String,
}

impl Read {
    fn of(cable: &Cable, request: &AssayRequest) -> Self {
        let files: Vec<_> = cable
            .files
            .iter()
            .map(|(path, role)| (path.clone(), *role, load::bytes(path)))
            .collect();
        let asked = of_cable(request, cable);
        let setup = (
            &asked.read,
            &asked.knowledge,
            &asked.plane,
            asked.asked.criteria,
            asked.asked.purpose,
        );
        let version = env!("CARGO_PKG_VERSION");
        let mut asked = vec![format!("{version} {} {setup:?}", cable.name)];
        asked.extend(files.iter().map(|(path, role, bytes)| {
            let hash = bytes
                .as_ref()
                .map_or_else(ToString::to_string, |bytes| sha256(bytes));
            format!("{} {role:?} {hash}", path.display())
        }));
        Self {
            fingerprint: sha256(asked.join("\n").as_bytes()),
            files,
        }
    }
}

fn of_cable(request: &AssayRequest, cable: &Cable) -> AssayRequest {
    let mut request = request.clone();
    let mut typed = Typed::new(&cable.said);
    request.knowledge.length_m = typed.get(&table::LENGTH);
    request.knowledge.marking = facts::marking(&mut typed);
    request
}

fn one(cable: &Cable, read: Read, request: &AssayRequest) -> Row {
    let request = of_cable(request, cable);
    let wanted_ohm = request.asked.purpose.system_ohm;
    let files = read.files.into_iter().map(|(path, role, bytes)| {
        let file = bytes.and_then(|bytes| load::understand(&path, bytes, &request.read));
        (role, file)
    });
    let outcome = assay_files(files.collect(), &request);
    let unread = outcome.unread.iter().map(why);
    let refused = outcome.refused.iter().map(ToString::to_string);
    let left_out: Vec<String> = unread.chain(refused).collect();
    match outcome.finding {
        Ok(finding) => Row::of(&cable.name, &finding, wanted_ohm, left_out),
        Err(error) => {
            let why = left_out
                .first()
                .cloned()
                .unwrap_or_else(|| error.to_string());
            Row {
                left_out,
                ..Row::not_found(&cable.name, why)
            }
        }
    }
}

/// An error with its place and cause in one line.
fn why(error: &load::LoadError) -> String {
    let place = match error {
        load::LoadError::Read { source, .. } => source.position(),
        _ => None,
    };
    let line = place.map_or_else(String::new, |place| format!(", line {}", place.line));
    match std::error::Error::source(error) {
        Some(cause) => format!("{error}{line}: {cause}"),
        None => error.to_string(),
    }
}

/// A path as a row names it.
pub fn shown(path: &Path) -> String {
    load::shown(path)
}
