//! What is believed before the sweeps are seen: priors of every unknown, and the hyperparameters (sizes
//! of errors, wander and noise) that the sweeps correct.

mod fault;
mod hyperparameters;
mod parameters;
mod plane;

pub(super) use fault::{
    CONNECTOR_LINES, ConnectorLine, DENT_STEP_SD, Surroundings, connector, dent, dent_ln_part,
    joint, shunt, splice_from, splice_up_to, stub, wet,
};
pub(super) use hyperparameters::{Hyperparameters, Level, noise_levels};
pub(super) use parameters::{FarLoad, Known, Prior, USUAL_CONDUCTOR};
pub(super) use plane::PlanePrior;
