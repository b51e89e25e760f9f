//! The program as people run it: arguments in, text, JSON, messages and exit codes out.
#![expect(clippy::unwrap_used, reason = "helpers of tests may fail as tests do")]

mod assay;
mod bench;
mod bench_assay;
mod bench_plane;
mod caliper;
mod compare;
mod correct;
mod documents;
mod every_key;
mod facts;
mod field;
mod knowledge;
mod label;
mod marking;
mod mistakes;
mod openapi;
mod pages;
#[cfg(feature = "pdf")]
mod pdf;
mod plan;
mod plane;
mod readings;
mod report;
mod same_verdict;
mod serve;
mod served;
mod shelf;
mod sort;
mod stored;
mod support;
mod verdict;
