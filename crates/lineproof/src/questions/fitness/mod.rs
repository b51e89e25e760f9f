//! Check a cable for a use: loss, VSWR, voltage, heat.

mod arguments;
mod page;
mod text;

use clap::Args;

use super::ask::Question;
use crate::cli::ask::print;
use crate::server::live;
use arguments::{EXAMPLES, UseArgs};
use page::UsePage;

/// The question.
pub(super) const QUESTION: Question = Question {
    name: "use",
    about: "Check a cable for a use: loss, VSWR, voltage, heat",
    examples: EXAMPLES,
    arguments: UseArgs::augment_args,
    print: print::<UseArgs>,
    page: Some((6, ("/use", "Use"))),
    routes: live::routes::<UsePage>,
};
