//! The shelf: the record of cables in one SQLite file.
//!
//! A [`Cable`] has a short tag for its label. An assay keeps the sweeps unchanged with their hash,
//! the set-up as JSON, and one finding for each program version that looked at them. Decisions,
//! notes and photos belong to the cable. What was measured and found is only ever added; a cable is
//! retired, never deleted.
//!
//! A [`Shelf`] owns the one connection of its process; it can move to another thread, and whoever
//! wants to share it does so behind a lock. Other processes wait for one another up to
//! [`BUSY_WAIT`]. Every method that writes is one transaction, on the disk when the method returns
//! (write-ahead log with full synchronisation), so a killed process leaves the last complete state.
//!
//! Nobody else sees SQL. Times come from the caller; ids are made here.

mod archive;
mod assay;
mod backup;
mod cable;
mod check;
mod error;
mod journal;
mod list;
mod open;

pub use archive::{Exported, Imported};
pub use assay::{Assay, AssaySummary, Finding, NewAssay, NewFinding, NewSweep, Shelved, Sweep};
pub use cable::{Cable, Edit, Retired};
pub use error::ShelfError;
pub use journal::{Decision, Note, Photo};
pub use list::{Filter, Listed};
pub use open::SCHEMA_VERSION;

use std::path::PathBuf;
use std::time::Duration;

use rusqlite::Connection;
use sha2::{Digest, Sha256};

/// How long a process waits for another one that writes.
pub const BUSY_WAIT: Duration = Duration::from_secs(5);

/// An open shelf.
#[derive(Debug)]
pub struct Shelf {
    connection: Connection,
    path: PathBuf,
    writable: bool,
}

/// SHA-256 of some bytes in lower-case hexadecimal (FIPS 180-4).
pub fn sha256(bytes: &[u8]) -> String {
    use std::fmt::Write;
    let mut text = String::with_capacity(64);
    for byte in Sha256::digest(bytes) {
        let _a_string_never_fails = write!(text, "{byte:02x}");
    }
    text
}

/// An id that sorts by the time it was made (RFC 9562, version 7).
fn new_id() -> String {
    uuid::Uuid::now_v7().to_string()
}
