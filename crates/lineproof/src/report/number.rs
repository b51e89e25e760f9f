//! Numbers with as many digits as their interval deserves.

pub use lineproof_core::quantity::digits::*;
