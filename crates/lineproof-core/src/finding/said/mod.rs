//! What is said of a finding, once for every surface: which rows, in which order, with how many digits.
//!
//! [`short`] is the answer that fits on a screen, with [`at_use`] in it; [`decision`], [`numbers`], [`sentences`] and
//! [`evidence`] are the whole of it, [`summary`](mod@summary) is a sentence or two for a list, [`label`] what a label
//! has room for, [`compared`] what came of two sets of sweeps. Lengths are in the reader's [`Units`](crate::quantity::Units). A surface renders [`Row`], [`Number`]
//! and [`Sentences`] and adds nothing.

pub mod at_use;
pub mod compared;
pub mod decision;
pub mod evidence;
pub mod label;
pub mod numbers;
mod rows;
pub mod sentences;
pub mod short;
pub mod summary;

pub use rows::{Number, Row, Sentences};
