//! What is asked of an assay besides its sweeps.

use std::sync::Arc;

use super::criteria::Criteria;
use super::types::OwnTypes;
use crate::estimate::Progress;
use crate::identify::Observed;

/// What is asked besides the usual, and what was noted while sweeping.
#[derive(Clone, Debug, Default)]
pub struct Asked {
    /// Frequencies besides the usual ones, Hz.
    pub frequencies_hz: Vec<f64>,
    /// Temperature of the cable, °C.
    pub temperature_c: Option<f64>,
    /// What the cable must keep to.
    pub criteria: Criteria,
    /// What it is for.
    pub purpose: Purpose,
    /// A person's own types.
    pub own_types: Option<OwnTypes>,
    /// What caliper, meter and eye say of it.
    pub look: Observed,
    /// What passes between the estimate and the one who waits for it.
    pub progress: Arc<Progress>,
}

/// What the cable is for, as far as it was said.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Purpose {
    /// Impedance of the system, ohm.
    pub system_ohm: Option<f64>,
    /// Frequency of use, Hz.
    pub use_hz: Option<f64>,
}
