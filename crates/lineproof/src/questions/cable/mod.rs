//! Which cable a question is about: a type, a finding, a cable of the shelf, or sweeps.

pub mod arguments;
pub mod source;
