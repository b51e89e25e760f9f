//! Sweeps that are not of one cable in one state.

use super::cause::Cause;
use crate::bench::FarEnd;
use crate::uncertain::Uncertain;

/// Sweeps that are of another cable than the others, or of the same one in another state.
#[derive(Clone, Debug, PartialEq)]
pub struct Apart {
    /// The far end in them.
    pub far_end: FarEnd,
    /// By how much the logarithm of the evidence rises if they are.
    pub ln_evidence: f64,
    /// What differs; never empty.
    pub differences: Vec<Difference>,
}

/// What differs between these sweeps and the others, in this order where there are two.
#[derive(Clone, Debug, PartialEq)]
pub enum Difference {
    /// One-way delay, s.
    Delay([Uncertain; 2]),
    /// Impedance, ohm, at a frequency, Hz.
    Impedance(f64, [Uncertain; 2]),
    /// One-way loss, dB, at a frequency, Hz.
    Loss(f64, [Uncertain; 2]),
    /// A fault that the other sweeps do not show.
    Fault(Cause),
    /// One cable for all leaves far more of some sweep than two do.
    Misfit,
}
