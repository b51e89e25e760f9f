//! The program as people run it: arguments in, text, JSON, messages and exit codes out.
#![expect(clippy::unwrap_used, reason = "helpers of tests may fail as tests do")]

mod assay;
mod documents;
mod marking;
mod plan;
mod readings;
mod report;
mod shelf;
mod sort;
mod support;
