//! Compare two sets of sweeps of one cable: what changed, and where; on the bench, two cables of the
//! shelf or two assays of one.

pub mod arguments;
pub mod page;
pub mod read;
pub mod route;
pub mod text;

use clap::Args;

use super::ask::Question;
use crate::cli::ask::print;
use arguments::{CompareArgs, EXAMPLES};

/// The question.
pub(super) const QUESTION: Question = Question {
    name: "compare",
    about: "Compare two sets of sweeps of one cable: what changed, and where",
    examples: EXAMPLES,
    arguments: CompareArgs::augment_args,
    print: print::<CompareArgs>,
    page: None,
    routes: route::routes,
};
