//! Lineproof's command line: arguments in, findings out.
//!
//! [`questions`] holds what can be asked, each question with its answer and how it is shown; [`cli`]
//! and [`server`] ask them. [`workflow`] answers with files and the shelf; [`report`] turns findings
//! into text and the [`finding`] into JSON, [`diagnostics`] errors into messages; [`exit`] says how it went.

pub mod cli;
pub mod diagnostics;
pub mod exit;
pub mod facts;
mod output;
pub mod questions;
pub mod report;
pub mod server;
pub mod stored;
pub mod workflow;

pub use lineproof_core::finding;

use std::process::ExitCode;

/// Reads the arguments of the process, does what they ask, and says how it ended.
pub fn run() -> ExitCode {
    ExitCode::from(match cli::command().try_get_matches() {
        Ok(matches) => cli::run(&matches),
        Err(error) => output::usage(&error),
    })
}
