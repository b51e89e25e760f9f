//! From raw sweeps, or a calibration that took its standards as ideal, to corrected sweeps.

pub mod answer;
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
    about: "From raw sweeps, or a calibration that took its standards as ideal, to corrected sweeps",
    examples: EXAMPLES,
    arguments: CorrectArgs::augment_args,
    print: print::<CorrectArgs>,
    page: None,
    routes: OpenApiRouter::new,
};
