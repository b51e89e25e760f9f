//! Two sets of files to a comparison.

use lineproof_core::comparison::{self, Compare, Comparison};
use lineproof_core::formats::ReadOptions;
use lineproof_core::gather::{Knowledge, Resolved, gather};
use serde::Serialize;

use crate::workflow::assay::{Files, Input, Read, read_all, sorted_out};
use crate::workflow::load::LoadError;
use crate::workflow::worded::AssayError;

/// What is compared.
#[derive(Clone, Debug)]
pub struct CompareRequest {
    /// Files of the first set.
    pub before: Vec<Input>,
    /// Files of the second set.
    pub after: Vec<Input>,
    /// How files are read.
    pub read: ReadOptions,
    /// What is known of the cable and the load.
    pub knowledge: Knowledge,
    /// How the sets are compared.
    pub asked: Compare,
}

/// What a comparison gave, with what happened to the files.
#[derive(Debug)]
pub struct CompareOutcome {
    /// The comparison; absent if one of the sets has no sweep left.
    pub comparison: Result<Comparison, AssayError>,
    /// Files that could not be read.
    pub unread: Vec<LoadError>,
    /// Sweeps that were read and could not be placed.
    pub refused: Vec<AssayError>,
}

/// A comparison, and what was left out of it.
#[derive(Clone, Debug, Serialize)]
#[serde(transparent)]
pub struct Compared {
    /// The comparison.
    pub comparison: Comparison,
    /// Messages about files that could not be read or used.
    #[serde(skip)]
    pub left_out: Vec<String>,
}

/// Reads both sets and compares them.
pub fn compare(request: &CompareRequest) -> CompareOutcome {
    let before = read_all(&request.before, &request.read);
    let after = read_all(&request.after, &request.read);
    compare_read(before, after, request)
}

/// The same from files that were read already, each with what it was said to be.
pub fn compare_files(before: Files, after: Files, request: &CompareRequest) -> CompareOutcome {
    compare_read(sorted_out(before), sorted_out(after), request)
}

fn compare_read(before: Read, after: Read, request: &CompareRequest) -> CompareOutcome {
    let mut refused = Vec::new();
    let mut set = |read: Read, unread: &mut Vec<LoadError>| {
        unread.extend(read.unread);
        let mut gathered = gather(read.readings, &request.knowledge, Resolved::default())?;
        refused.extend(gathered.refused.drain(..).map(AssayError::from));
        Ok(gathered)
    };
    let mut unread = Vec::new();
    let before = set(before, &mut unread);
    let after = set(after, &mut unread);
    let comparison =
        before.and_then(|before| Ok(comparison::compare(before, after?, &request.asked)));
    CompareOutcome {
        comparison,
        unread,
        refused,
    }
}
