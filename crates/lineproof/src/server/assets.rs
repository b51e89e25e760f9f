//! Files of the page: embedded, each under a path with its digest, so that browsers may keep it.
//!
//! The chart library is a package that [`build.rs`] embeds if it was fetched; without it pages show
//! the server's own pictures and say so.
//!
//! [`build.rs`]: https://doc.rust-lang.org/cargo/reference/build-scripts.html

use std::fmt::Write;
use std::sync::OnceLock;

use sha2::{Digest, Sha256};

const CSS: &str = "text/css; charset=utf-8";
const SCRIPT: &str = "text/javascript; charset=utf-8";
const SVG: &str = "image/svg+xml";

/// Name, kind and content of each file.
const FILES: [(&str, &str, &[u8]); 7] = [
    ("assay.js", SCRIPT, include_bytes!("assets/assay.js")),
    ("pictures.js", SCRIPT, include_bytes!("assets/pictures.js")),
    ("bench.css", CSS, include_bytes!("assets/bench.css")),
    ("live.js", SCRIPT, include_bytes!("assets/live.js")),
    ("sort.js", SCRIPT, include_bytes!("assets/sort.js")),
    ("icon.svg", SVG, include_bytes!("assets/icon.svg")),
    (
        "charts.js",
        SCRIPT,
        include_bytes!(concat!(env!("OUT_DIR"), "/charts.js")),
    ),
];

/// Whether interactive charts are built in.
pub fn has_charts() -> bool {
    FILES
        .iter()
        .any(|(name, _, bytes)| *name == "charts.js" && !bytes.is_empty())
}

/// Path of a file, with its digest.
///
/// # Panics
/// If there is no such file: names are written in this program.
pub fn path(name: &str) -> String {
    let at = FILES.iter().position(|(n, ..)| *n == name);
    let at = at.expect("pages name only files that are built in");
    format!("/assets/{}/{name}", digests()[at])
}

/// A file: its digest, kind and content.
pub fn file(name: &str) -> Option<(&'static str, &'static str, &'static [u8])> {
    let at = FILES.iter().position(|(n, ..)| *n == name)?;
    let (_, kind, bytes) = FILES[at];
    Some((&digests()[at], kind, bytes))
}

fn digests() -> &'static [String] {
    static DIGESTS: OnceLock<Vec<String>> = OnceLock::new();
    DIGESTS.get_or_init(|| FILES.iter().map(|(.., bytes)| digest(bytes)).collect())
}

/// Twelve hexadecimal digits: enough to tell versions of one file apart.
fn digest(bytes: &[u8]) -> String {
    Sha256::digest(bytes)
        .iter()
        .take(6)
        .fold(String::new(), |mut text, byte| {
            write!(text, "{byte:02x}").expect("writing to a string can't fail");
            text
        })
}
