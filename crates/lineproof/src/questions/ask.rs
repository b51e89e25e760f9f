//! What the surfaces know of a question: its verb with arguments, the answer or why there is none, its
//! pages and JSON routes.

use clap::{ArgMatches, Args, Command};
use lineproof_core::quantity::Units;
use serde::Serialize;
use utoipa_axum::router::OpenApiRouter;

use super::cable::arguments::SourceArgs;
use super::numbered::Numbered;
use super::unanswered::Unanswered;
use crate::exit;
use crate::server::frame::Link;
use crate::server::shared::Shared;

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

impl Question {
    /// Its verb.
    pub fn verb(&self) -> Command {
        (self.arguments)(Command::new(self.name))
            .about(self.about)
            .long_about(None)
            .after_help(self.examples)
    }
}
