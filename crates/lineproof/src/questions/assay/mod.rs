//! Analyse the sweeps of one cable: impedance, delay, loss, faults, and whether the marking is
//! right.

mod verb;

use clap::Args;
use utoipa_axum::router::OpenApiRouter;

use super::ask::Question;
use crate::cli::ask::verb;
use crate::cli::assay::{AssayArgs, EXAMPLES};

/// The question.
pub(super) const QUESTION: Question = Question {
    name: "assay",
    about: "Analyse the sweeps of one cable: impedance, delay, loss, faults, and whether the marking is right",
    examples: EXAMPLES,
    arguments: AssayArgs::augment_args,
    print: |matches| verb(matches, verb::assay),
    page: Some((1, ("/", "Assay"))),
    routes: OpenApiRouter::new,
};
