//! What lies between the calibrated plane and the cable, as typed: words or a file.

use std::path::Path;

use super::attached::Attached;

/// A fixture between the calibrated plane and the cable, to be de-embedded, as typed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Fixture {
    /// A two-port file.
    File(Attached),
    /// An adapter in words.
    Described(String),
}

impl Fixture {
    /// Whether the text is the name of a file, by its extension.
    pub fn is_file(text: &str) -> bool {
        Path::new(text).extension().is_some_and(|e| {
            let e = e.to_string_lossy().to_ascii_lowercase();
            e == "s2p" || e == "ts" || e == "txt" || e == "csv"
        })
    }

    /// The file of this name, or else a description.
    pub fn named(text: &str) -> Self {
        let path = Path::new(text);
        if Self::is_file(text) {
            Self::File(Attached::at(path.to_owned()))
        } else {
            Self::Described(text.to_owned())
        }
    }
}
