//! Correct raw sweeps, or sweeps whose calibration took its standards for ideal; de-embed adapters.

pub mod arguments;
pub mod correction;
pub mod text;

use clap::Args;
use utoipa_axum::router::OpenApiRouter;

use super::ask::Question;
use crate::cli::ask::print;
use arguments::{CorrectArgs, EXAMPLES};

/// The question.
pub(super) const QUESTION: Question = Question {
    name: "correct",
    about: "Correct raw sweeps, or sweeps whose calibration took its standards for ideal; de-embed adapters",
    examples: EXAMPLES,
    arguments: CorrectArgs::augment_args,
    print: print::<CorrectArgs>,
    page: None,
    routes: OpenApiRouter::new,
};
