//! Lineproof's command line: arguments in, findings out.
//!
//! [`cli`] reads arguments and makes requests; [`workflow`] answers them; [`report`] turns answers
//! into text and the [`finding`] into JSON, [`diagnostics`] errors into messages; [`exit`] says how it
//! went.

pub mod cli;
pub mod diagnostics;
pub mod exit;
pub mod kept;
mod output;
pub mod report;
pub mod server;
mod verbs;
pub mod workflow;

pub use lineproof_core::finding;

use std::process::ExitCode;

use clap::Parser;

use cli::{Cli, Verb};

/// Reads the arguments of the process, does what they ask, and says how it ended.
pub fn run() -> ExitCode {
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(error) => return usage(&error),
    };
    let code = match &cli.verb {
        Verb::Assay(arguments) => verbs::assay(arguments),
        Verb::Compare(arguments) => verbs::compare(arguments),
        Verb::Readings(arguments) => verbs::readings(arguments),
        Verb::Correct(arguments) => verbs::correct(arguments),
        Verb::Plan(arguments) => verbs::plan(arguments),
        Verb::Shelf(arguments) => verbs::shelf(arguments),
        Verb::Report(arguments) => verbs::report(arguments),
        Verb::Label(arguments) => verbs::label(arguments),
        Verb::Sort(arguments) => verbs::sort(arguments),
        Verb::Use(arguments) => verbs::fitness(arguments),
        Verb::Cut(arguments) => verbs::cut(arguments),
        Verb::Network(arguments) => verbs::network(arguments),
        Verb::RemoveLine(arguments) => verbs::remove_line(arguments),
        Verb::Types(arguments) => verbs::types(arguments),
        Verb::Serve(arguments) => verbs::serve(arguments),
    };
    ExitCode::from(code)
}

/// Help and version are answers; everything else is a wrong use. A closed pipe is no error.
fn usage(error: &clap::Error) -> ExitCode {
    let _closed_pipe_is_fine = error.print();
    ExitCode::from(if error.use_stderr() {
        exit::USAGE
    } else {
        exit::ANSWERED
    })
}
