//! What a file holds.

use super::notice::Notice;
use crate::sweep::{Sweep, ThroughSweep};

/// What a file holds.
#[derive(Clone, Debug, PartialEq)]
pub struct Measurement {
    /// The readings.
    pub network: Network,
    /// What was odd, in the order in which it was found.
    pub notices: Vec<Notice>,
    /// S12 and S22 repeat S21 and S11 digit for digit, so they prove neither reciprocity nor
    /// symmetry.
    pub reverse_is_copy: bool,
}

/// Readings of one or two ports.
#[derive(Clone, Debug, PartialEq)]
pub enum Network {
    /// Reflection at one port.
    OnePort(Sweep),
    /// Reflection and transmission.
    TwoPort(ThroughSweep),
}
