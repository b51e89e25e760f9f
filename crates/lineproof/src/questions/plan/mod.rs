//! Which sweep to take, and what it can't show.

mod arguments;
mod page;
mod text;

use clap::Args;

use super::ask::Question;
use crate::cli::ask::print;
use crate::server::live;
use arguments::{EXAMPLES, PlanArgs};
use page::PlanPage;

/// The question.
pub(super) const QUESTION: Question = Question {
    name: "plan",
    about: "Plan a sweep: start, stop and points, and what it cannot show",
    examples: EXAMPLES,
    arguments: PlanArgs::augment_args,
    print: print::<PlanArgs>,
    page: Some((4, ("/plan", "Plan"))),
    routes: live::routes::<PlanPage>,
};
