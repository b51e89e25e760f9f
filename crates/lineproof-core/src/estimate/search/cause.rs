//! What can be wrong with a cable.

/// What is wrong with a cable.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Cause {
    /// Crushed or kinked over a few centimetres.
    Dent,
    /// Water in it.
    Wet,
    /// Another cable joined on.
    Splice,
    /// Resistance in a joint.
    Joint,
    /// A connector, an adapter or a surge arrestor in the line.
    Connector,
    /// Something that conducts across the line.
    Shunt,
    /// A stub on a tee.
    Stub,
    /// It ends early, open.
    Open,
    /// It ends early, short.
    Short,
}

impl Cause {
    /// Velocity in a stretch over that of the cable, from its step of ln z: water slows as it lowers
    /// the impedance, the rest is taken to leave the velocity as it is.
    pub(crate) fn velocity(self, ln_z_step: f64) -> f64 {
        if self == Self::Wet {
            ln_z_step.exp()
        } else {
            1.0
        }
    }
}

/// An explanation and how much the sweeps speak for it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Explanation {
    /// What is wrong; `None` if nothing is, but for unevenness.
    pub cause: Option<Cause>,
    /// Logarithm of the evidence, against that of the explanation that was chosen.
    pub ln_evidence: f64,
}
