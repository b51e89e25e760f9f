//! Results to standard output, messages to standard error.

use std::error::Error;
use std::io::{self, ErrorKind, Write};
use std::path::Path;

use serde::Serialize;

use crate::exit;
use crate::workflow::load::shown;

/// Prints a result; `code` comes back if that worked. A reader that has closed the pipe has seen
/// what it wanted.
pub(crate) fn result(text: &str, code: u8) -> u8 {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Ok(()) => code,
        Err(e) if e.kind() == ErrorKind::BrokenPipe => code,
        Err(e) => {
            message(&format!("error: cannot write the result: {e}"));
            exit::OUTPUT
        }
    }
}

/// Prints a result as JSON.
pub(crate) fn json(value: &impl Serialize, code: u8) -> u8 {
    let mut text =
        serde_json::to_string_pretty(value).expect("results hold only strings, numbers and lists");
    text.push('\n');
    result(&text, code)
}

/// Writes a file that was asked for besides the result; `code` comes back if that worked.
pub(crate) fn file(path: &Path, text: &str, code: u8) -> u8 {
    match std::fs::write(path, text) {
        Ok(()) => code,
        Err(e) => {
            message(&format!("error: cannot write `{}`: {e}", shown(path)));
            exit::OUTPUT
        }
    }
}

/// Help and version are answers; everything else is a wrong use. A closed pipe is no error.
pub(crate) fn usage(error: &clap::Error) -> u8 {
    let _closed_pipe_is_fine = error.print();
    if error.use_stderr() {
        exit::USAGE
    } else {
        exit::ANSWERED
    }
}

/// Prints a message. There is nowhere to complain if standard error is closed.
pub(crate) fn message(text: &str) {
    let _nowhere_to_complain = writeln!(io::stderr().lock(), "{text}");
}

/// Prints an error with its causes and, if there is one, the next step.
pub(crate) fn error(error: &dyn Error, help: Option<&str>) {
    message(&error_text(error, help));
}

/// An error with its causes and, if there is one, the next step.
pub(crate) fn error_text(error: &dyn Error, help: Option<&str>) -> String {
    let mut text = format!("error: {error}");
    let mut cause = error.source();
    while let Some(inner) = cause {
        text = format!("{text}: {inner}");
        cause = inner.source();
    }
    match help {
        Some(help) => format!("{text}\nhelp: {help}"),
        None => text,
    }
}
