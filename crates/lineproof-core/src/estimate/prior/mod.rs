//! What is believed before the sweeps are seen: priors of every unknown, and the hyperparameters (sizes
//! of errors, wander and noise) that the sweeps correct.

mod fault;
mod hyperparameters;
mod parameters;
mod plane;

pub(super) use fault::{DENT_STEP_SD, dent, dent_ln_part, joint, splice_from, splice_up_to, wet};
pub(super) use hyperparameters::{Hyperparameters, Level, noise_levels};
pub(super) use parameters::{Known, Prior, USUAL_CONDUCTOR};
pub(super) use plane::PlanePrior;
