//! The methods of the trade from values read off a screen or a meter.

mod arguments;
mod page;
mod text;

use clap::Args;

use super::ask::Question;
use crate::cli::ask::print;
use crate::server::live;
use arguments::{EXAMPLES, ReadingsArgs};
use page::ReadingsPage;

/// The question.
pub(super) const QUESTION: Question = Question {
    name: "readings",
    about: "Apply the trade's methods to values read off a screen",
    examples: EXAMPLES,
    arguments: ReadingsArgs::augment_args,
    print: print::<ReadingsArgs>,
    page: Some((5, ("/readings", "Readings"))),
    routes: live::routes::<ReadingsPage>,
};
