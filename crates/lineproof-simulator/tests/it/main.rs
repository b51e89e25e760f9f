//! The simulator against sources outside the project.

mod aliases;
mod another_load;
mod behind;
mod bench;
mod committed_examples;
mod conductors;
mod corrected;
mod difference;
mod frequencies;
mod further;
mod in_line;
mod independence;
mod lossless_line;
mod one_path;
mod plane;
mod randomness;
mod steel_core;
#[path = "../../../lineproof-core/tests/it/table.rs"]
mod table;
mod two_lengths;
mod two_states;
mod undetermined;
mod without;
