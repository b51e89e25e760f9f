//! Sweeps seen against time: where along the cable something reflects.
//!
//! Two views that the trade expects, beside the joint estimate's own profile. [`low_pass`] gives the
//! signed step and impulse response of a sweep that reaches down far enough; [`band_pass`] gives the
//! size of the reflections of any other. [`layer_peeling`] turns a step into impedances that are
//! free of masking. [`views()`] puts them side by side with [`distance`], and says as data what each
//! cannot show. What [`window`] does to both is stated with it.
//!
//! Times are those of the echo, there *and* back, unless a name says one-way.

pub mod band_pass;
pub mod distance;
pub mod layer_peeling;
pub mod low_pass;
pub(crate) mod resample;
mod transform;
pub mod views;
pub mod window;

pub use views::{Known, KnownLoss, Limit, View, Views, views};
