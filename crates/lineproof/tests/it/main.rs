//! The program as people run it: arguments in, text, JSON, messages and exit codes out.

mod assay;
mod marking;
mod plan;
mod readings;
mod support;
