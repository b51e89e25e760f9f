//! A box of cables: files to cables, cables to graded rows, worst first.
//!
//! One bad file never stops the rest: it is named in its cable's row.

use std::collections::HashMap;
use std::path::{Path, PathBuf};

use lineproof_record::sha256;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::facts::{self, Said, Typed, table};
use crate::finding::Finding;
use crate::workflow::assay::{AssayRequest, Role, assay_files};
use crate::workflow::load;
use lineproof_core::finding::judge::grade::{Grade, grade};

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

/// One cable's line.
#[derive(Clone, Debug, Deserialize, PartialEq, Serialize, ToSchema)]
pub struct Row {
    /// Name of the cable.
    pub cable: String,
    /// How good it is.
    pub grade: Grade,
    /// Why that grade.
    pub why: String,
    /// Impedance, ohm.
    pub impedance_ohm: Option<f64>,
    /// Its 95 % half-width, ohm.
    pub u95_impedance_ohm: Option<f64>,
    /// One-way delay, s.
    pub one_way_delay_s: Option<f64>,
    /// Velocity factor.
    pub velocity_factor: Option<f64>,
    /// Loss at 100 MHz, dB.
    pub loss_db_at_100mhz: Option<f64>,
    /// Condition.
    pub condition: Option<String>,
    /// What to do.
    pub verdict: Option<String>,
    /// Number of sweeps that were used.
    pub sweeps: usize,
    /// Files that were left out, with the reason.
    pub left_out: Vec<String>,
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

/// By grade, then by name.
pub fn worst_first(rows: &mut [Row]) {
    rows.sort_by(|a, b| (a.grade, &a.cable).cmp(&(b.grade, &b.cable)));
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

impl Row {
    /// The row of a cable of which nothing is known, and why.
    pub fn not_found(name: &str, why: String) -> Self {
        Self {
            why,
            condition: None,
            ..row(name, &Finding::default(), None, Vec::new())
        }
    }
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
        Ok(finding) => row(&cable.name, &finding, wanted_ohm, left_out),
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

fn row(name: &str, finding: &Finding, wanted_ohm: Option<f64>, left_out: Vec<String>) -> Row {
    let (grade, why) = grade(finding, wanted_ohm);
    Row {
        cable: name.to_owned(),
        grade,
        why,
        impedance_ohm: finding.impedance.map(|z| z.ohm),
        u95_impedance_ohm: finding.impedance.map(|z| z.u95_ohm),
        one_way_delay_s: finding.delay.map(|d| d.one_way_s),
        velocity_factor: finding.velocity_factor.map(|v| v.ratio),
        loss_db_at_100mhz: finding.loss_at(100e6).map(|row| row.db),
        condition: Some(finding.condition.name().to_owned()),
        verdict: finding.verdict.as_ref().map(|v| v.action.name().to_owned()),
        sweeps: finding.sweeps.len(),
        left_out,
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
