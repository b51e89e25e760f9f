//! Files and words as the shelf keeps them: a file with its content, without its folder.

use std::path::PathBuf;

use serde::{Deserialize, Serialize};

use super::word::Word;
use crate::workflow::attached::Attached;
use crate::workflow::load;

/// A file by its name, with what it held.
#[derive(Clone, Debug, Deserialize, PartialEq, Serialize)]
pub(super) struct StoredFile {
    name: String,
    content: Option<Content>,
}

/// Readable where the file is.
#[derive(Clone, Debug, Deserialize, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
enum Content {
    Text(String),
    Bytes(Vec<u8>),
}

/// What was said of one fact.
#[derive(Deserialize, Serialize)]
#[serde(untagged)]
pub(super) enum StoredWord {
    /// As typed.
    Text(String),
    /// A file.
    File(StoredFile),
    /// A number of an older set-up.
    Number {
        /// In base units.
        value: f64,
        /// What it may be off by.
        spread: f64,
    },
}

impl StoredFile {
    pub(super) fn of(file: &Attached) -> Self {
        let content = file.bytes().ok().map(|bytes| {
            String::from_utf8(bytes)
                .map_or_else(|error| Content::Bytes(error.into_bytes()), Content::Text)
        });
        let name = file.path().file_name().unwrap_or(file.path().as_os_str());
        Self {
            name: load::shown(name.as_ref()),
            content,
        }
    }

    pub(super) fn name(&self) -> &str {
        &self.name
    }

    pub(super) fn attached(&self) -> Attached {
        let path = PathBuf::from(&self.name);
        match &self.content {
            Some(Content::Text(text)) => Attached::held(path, text.clone().into_bytes()),
            Some(Content::Bytes(bytes)) => Attached::held(path, bytes.clone()),
            None => Attached::at(path),
        }
    }
}

impl From<&Word> for StoredWord {
    fn from(word: &Word) -> Self {
        match word {
            Word::Text(text) => Self::Text(text.clone()),
            Word::File(file) => Self::File(StoredFile::of(file)),
            &Word::Number { value, spread } => Self::Number { value, spread },
        }
    }
}

impl From<StoredWord> for Word {
    fn from(stored: StoredWord) -> Self {
        match stored {
            StoredWord::Text(text) => Self::Text(text),
            StoredWord::File(file) => Self::File(file.attached()),
            StoredWord::Number { value, spread } => Self::Number { value, spread },
        }
    }
}
