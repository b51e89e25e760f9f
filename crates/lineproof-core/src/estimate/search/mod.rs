//! How the explanation is found: starting points, a band that grows, candidate faults, and the
//! comparison of explanations by evidence.
//!
//! [`comparison::best`] is the way in. Each candidate is a [`problem::Problem`] minimised by
//! Gauss–Newton with its hyperparameters learnt in between.

mod antenna;
mod apart;
mod candidate;
mod cause;
mod comparison;
mod equations;
mod evidence;
mod fault_search;
mod growing_band;
mod linear;
mod problem;
mod progress;
mod proposal;
mod reach;
mod start;
mod step;
mod subset;
mod two_cables;

pub(super) use apart::{
    is_followed, leaves_something, ln_evidence, may_have_faults, misses, points, whole,
};
pub(super) use candidate::{GOOD_WANDER, LEAST_STEP, UNEVEN, UNEXPLAINED_RMS, place_resolution_s};
pub use cause::{Cause, Explanation};
pub(super) use comparison::{Chosen, best};
pub(super) use equations::noise_shape;
pub(super) use evidence::{RIVAL, SURE};
pub(super) use problem::{Fit, Problem};
pub use progress::Progress;
pub(super) use reach::{KindAndGrid, alike_delays_s};
pub use two_cables::{Apart, Difference};
