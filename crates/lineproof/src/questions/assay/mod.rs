//! Analyse the sweeps of one cable: impedance, delay, loss, faults, and whether the marking is
//! right.

pub mod arguments;
pub mod page;
pub mod route;
pub mod sessions;
mod verb;

use clap::Args;

use super::ask::Question;
use crate::cli::ask::verb;
use arguments::{AssayArgs, EXAMPLES};

/// The question.
pub(super) const QUESTION: Question = Question {
    name: "assay",
    about: "Analyse the sweeps of one cable: impedance, delay, loss, faults, and whether the marking is right",
    examples: EXAMPLES,
    arguments: AssayArgs::augment_args,
    print: |matches| verb(matches, verb::assay),
    page: Some((1, ("/", "Assay"))),
    routes: page::routes,
};
