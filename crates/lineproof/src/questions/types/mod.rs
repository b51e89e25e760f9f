//! List the catalogue, show a type, or identify one from what you observe.

mod answer;
mod arguments;
mod page;
mod text;

use clap::Args;

use super::ask::Question;
use crate::cli::ask::print;
use arguments::{EXAMPLES, TypesArgs};

/// The question.
pub(super) const QUESTION: Question = Question {
    name: "types",
    about: "List the catalogue, show a type, or identify one from what you observe",
    examples: EXAMPLES,
    arguments: TypesArgs::augment_args,
    print: print::<TypesArgs>,
    page: Some((8, ("/types", "Types"))),
    routes: page::routes,
};
