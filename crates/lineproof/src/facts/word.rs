//! What was said of one fact, before it is read.

use std::path::PathBuf;

use crate::workflow::attached::Attached;

/// What was said of one fact.
#[derive(Clone, Debug, PartialEq)]
pub enum Word {
    /// A text as typed, or the text of a file that was written or pasted into a form.
    Text(String),
    /// A file, by its name and what it holds.
    File(Attached),
    /// A number in base units with what it may be off by, from a set-up whose program did not keep the text.
    Number {
        /// The value.
        value: f64,
        /// Half of the last digit that was typed, or the standard uncertainty, as the fact has it.
        spread: f64,
    },
}

impl Word {
    /// A text.
    pub fn text(text: impl Into<String>) -> Self {
        Self::Text(text.into())
    }

    /// What it stands for in a form; a file has no text there.
    pub fn typed(&self) -> &str {
        match self {
            Self::Text(text) => text,
            Self::File(_) | Self::Number { .. } => "",
        }
    }

    /// Whether it says nothing.
    pub fn is_empty(&self) -> bool {
        matches!(self, Self::Text(text) if text.trim().is_empty())
    }

    /// The same as a file, whose name is `name` if it is a text.
    pub fn file(&self, name: &str) -> Option<Attached> {
        match self {
            Self::Text(text) => {
                let bytes = text.as_bytes().to_vec();
                Some(Attached::held(PathBuf::from(name), bytes))
            }
            Self::File(file) => Some(file.clone()),
            Self::Number { .. } => None,
        }
    }
}
