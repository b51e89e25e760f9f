//! What the surfaces know of a question: its verb with arguments, the answer or why there is none, its
//! pages and JSON routes.

use std::error::Error;

use clap::{ArgMatches, Args, Command};
use serde::Serialize;
use utoipa_axum::router::OpenApiRouter;

use super::cable::arguments::SourceArgs;
use super::numbered::Numbered;
use crate::report::units::Units;
use crate::server::frame::Link;
use crate::server::shared::Shared;
use crate::workflow::load::LoadError;
use crate::{diagnostics, exit};

/// A question as the list of all names it.
#[derive(Clone, Copy, Debug)]
pub struct Question {
    /// Its verb on the command line.
    pub name: &'static str,
    /// What it is for, in a line of the help.
    pub about: &'static str,
    /// Examples below the help of the verb.
    pub examples: &'static str,
    /// Adds its arguments to a command.
    pub arguments: fn(Command) -> Command,
    /// Asks it on the command line, prints the answer and gives the exit code.
    pub print: fn(&ArgMatches) -> u8,
    /// Where it stands in the navigation: its place and its page.
    pub page: Option<(u8, Link)>,
    /// Its pages and its JSON routes with their descriptions.
    pub routes: fn() -> OpenApiRouter<Shared>,
}

/// Arguments that ask a question.
pub trait Ask: Args {
    /// What is answered.
    type Answer: Answer;

    /// The answer.
    ///
    /// # Errors
    /// [`Unanswered`] says why there is none.
    fn ask(&self) -> Result<Self::Answer, Unanswered>;

    /// Whether programs read the answer.
    fn json(&self) -> bool {
        false
    }

    /// The arguments that name a cable, if the question is about one.
    fn cable(&mut self) -> Option<&mut SourceArgs> {
        None
    }

    /// Units of lengths in the text.
    fn units(&self) -> Units {
        Units::Metres
    }
}

/// An answer as the surfaces show it.
pub trait Answer: Serialize {
    /// The whole answer for people, readable at 80 columns.
    fn text(&self, units: Units) -> String;

    /// How it went. An answer with [`exit::USAGE`] has no result, only messages.
    fn code(&self) -> u8 {
        exit::ANSWERED
    }

    /// What a terminal says besides: files that were left out and why.
    fn messages(&self) -> Vec<String> {
        Vec::new()
    }

    /// What programs read.
    fn json(&self) -> impl Serialize {
        Numbered::of(self)
    }
}

/// Why there is no answer.
#[derive(Debug)]
pub struct Unanswered {
    /// What a terminal says before: files that can't be read and why.
    pub messages: Vec<String>,
    /// What is wrong, unless the messages say it.
    pub error: Option<Box<dyn Error + Send + Sync>>,
    /// One next step.
    pub help: Option<String>,
    /// Exit code of the command line.
    pub code: u8,
}

impl Question {
    /// Its verb.
    pub fn verb(&self) -> Command {
        (self.arguments)(Command::new(self.name))
            .about(self.about)
            .long_about(None)
            .after_help(self.examples)
    }
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
    pub fn help(self, help: Option<String>) -> Self {
        Self { help, ..self }
    }
}
