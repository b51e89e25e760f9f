//! Manage the record of cables: list, show, edit, export.

pub mod answer;
pub mod arguments;
pub mod cable;
pub mod change;
pub mod page;
pub mod route;
pub mod text;
pub mod verb;

use clap::Args;

use super::ask::Question;
use crate::cli::ask::verb;
use arguments::{EXAMPLES, ShelfArgs};

/// The question.
pub(super) const QUESTION: Question = Question {
    name: "shelf",
    about: "Manage the record of cables: list, show, edit, export",
    examples: EXAMPLES,
    arguments: ShelfArgs::augment_args,
    print: |matches| verb(matches, verb::shelf),
    page: Some((2, ("/shelf", "Shelf"))),
    routes: route::routes,
};
