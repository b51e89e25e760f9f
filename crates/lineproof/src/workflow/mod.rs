//! What the program does, as plain functions.

pub mod load;
