//! The shelf as the program uses it, and what must not break it.
#![expect(clippy::unwrap_used, reason = "helpers of tests may fail as tests do")]

mod archives;
mod cables;
mod layouts;
mod support;
#[cfg(unix)]
mod trouble;
