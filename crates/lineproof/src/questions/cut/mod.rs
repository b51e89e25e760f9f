//! Where to cut: transformers, stubs, phasing and delay lines, equal sets, a fault out.

mod answer;
mod arguments;
mod fault_text;
mod page;
mod text;

use clap::Args;

use super::ask::Question;
use crate::cli::ask::print;
use crate::server::live;
use arguments::{CutArgs, EXAMPLES};
use page::CutPage;

/// The question.
pub(super) const QUESTION: Question = Question {
    name: "cut",
    about: "Compute where to cut: quarter-wave sections, stubs, phasing and delay lines, a fault",
    examples: EXAMPLES,
    arguments: CutArgs::augment_args,
    print: print::<CutArgs>,
    page: Some((7, ("/cut", "Cut"))),
    routes: live::routes::<CutPage>,
};
