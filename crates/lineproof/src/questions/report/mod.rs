//! Write a printable report about one cable or many.

pub mod arguments;
pub mod verb;

use clap::Args;
use utoipa_axum::router::OpenApiRouter;

use super::ask::Question;
use crate::cli::ask::verb;
use arguments::{EXAMPLES, ReportArgs};

/// The question.
pub(super) const QUESTION: Question = Question {
    name: "report",
    about: "Write a printable report about one cable or many",
    examples: EXAMPLES,
    arguments: ReportArgs::augment_args,
    print: |matches| verb(matches, verb::report),
    page: None,
    routes: OpenApiRouter::new,
};
