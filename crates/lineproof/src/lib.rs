//! Lineproof's command line: arguments in, findings out.

pub mod diagnostics;
pub mod workflow;

/// Reads the arguments of the process, does what they ask, and says how it ended.
pub fn run() -> std::process::ExitCode {
    std::process::ExitCode::SUCCESS
}
