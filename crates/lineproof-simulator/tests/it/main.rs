//! The simulator against sources outside the project.

mod committed_examples;
mod conductors;
mod further;
mod independence;
mod lossless_line;
mod randomness;
#[path = "../../../lineproof-core/tests/it/table.rs"]
mod table;
