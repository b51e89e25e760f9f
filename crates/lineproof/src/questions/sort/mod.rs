//! Analyse a box of cables: one line for each, worst first.

pub mod answer;
pub mod arguments;
pub mod boxes;
pub mod group;
pub mod page;
pub mod progress;
pub mod route;
pub mod rows;
pub mod text;
pub mod verb;
pub mod watch;

use clap::Args;

use super::ask::Question;
use crate::cli::ask::verb;
use arguments::{EXAMPLES, SortArgs};

/// The question.
pub(super) const QUESTION: Question = Question {
    name: "sort",
    about: "Analyse a box of cables: one line for each, worst first",
    examples: EXAMPLES,
    arguments: SortArgs::augment_args,
    print: |matches| verb(matches, verb::sort),
    page: Some((3, ("/sort", "Sort"))),
    routes: route::routes,
};
