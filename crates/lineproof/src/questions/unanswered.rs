//! Why a question has no answer.

use std::error::Error;

use crate::facts::Help;
use crate::workflow::load::LoadError;
use crate::{diagnostics, exit};

/// Why there is no answer.
#[derive(Debug)]
pub struct Unanswered {
    /// What a terminal says before: files that can't be read and why.
    pub messages: Vec<String>,
    /// What is wrong, unless the messages say it.
    pub error: Option<Box<dyn Error + Send + Sync>>,
    /// One next step.
    pub help: Option<Help>,
    /// Exit code of the command line.
    pub code: u8,
}

impl Unanswered {
    /// What was asked makes no sense.
    pub fn usage(error: impl Into<Box<dyn Error + Send + Sync>>) -> Self {
        Self {
            messages: Vec::new(),
            error: Some(error.into()),
            help: None,
            code: exit::USAGE,
        }
    }

    /// A file that is needed can't be read.
    pub fn unread(error: &LoadError) -> Self {
        Self {
            messages: vec![diagnostics::load_error(error)],
            ..Self::silent(exit::NOTHING_READ)
        }
    }

    /// Nothing more is to be said than the messages.
    pub fn silent(code: u8) -> Self {
        Self {
            messages: Vec::new(),
            error: None,
            help: None,
            code,
        }
    }

    /// Something can't be written.
    pub fn output(error: impl Into<Box<dyn Error + Send + Sync>>) -> Self {
        Self {
            code: exit::OUTPUT,
            ..Self::usage(error)
        }
    }

    /// With the next step that the error knows.
    #[must_use]
    pub fn help(self, help: Option<impl Into<Help>>) -> Self {
        let help = help.map(Into::into);
        Self { help, ..self }
    }
}
