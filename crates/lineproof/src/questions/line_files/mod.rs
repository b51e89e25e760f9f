//! A known line as a file, and taken off a sweep of what is behind it.

pub mod arguments;
pub mod text;

use clap::Args;
use utoipa_axum::router::OpenApiRouter;

use super::ask::Question;
use crate::cli::ask::print;
use arguments::{NETWORK_EXAMPLES, NetworkArgs, REMOVAL_EXAMPLES, RemovalArgs};

/// The line as a file.
pub(super) const NETWORK: Question = Question {
    name: "network",
    about: "Write a cable of any length as a two-port Touchstone file",
    examples: NETWORK_EXAMPLES,
    arguments: NetworkArgs::augment_args,
    print: print::<NetworkArgs>,
    page: None,
    routes: OpenApiRouter::new,
};

/// What is behind it.
pub(super) const REMOVE_LINE: Question = Question {
    name: "remove-line",
    about: "De-embed a known line from a sweep at its near end",
    examples: REMOVAL_EXAMPLES,
    arguments: RemovalArgs::augment_args,
    print: print::<RemovalArgs>,
    page: None,
    routes: OpenApiRouter::new,
};
