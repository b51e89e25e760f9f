//! Make labels for cables, with a QR code.

pub mod arguments;
pub mod content;
pub mod page;
pub mod print;
pub mod route;
pub mod verb;

use clap::Args;

use super::ask::Question;
use crate::cli::ask::verb;
use arguments::{EXAMPLES, LabelArgs};

/// The question.
pub(super) const QUESTION: Question = Question {
    name: "label",
    about: "Make labels for cables, with a QR code",
    examples: EXAMPLES,
    arguments: LabelArgs::augment_args,
    print: |matches| verb(matches, verb::label),
    page: None,
    routes: route::routes,
};
