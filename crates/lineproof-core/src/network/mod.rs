//! Two-ports: S, Y, Z, H, G and chain parameters, conversion, cascade, renormalisation.
//!
//! [`Chain`] is what one calculates with (pieces in a row are a product), [`Scattering`] what an
//! analyser measures; [`conversion`] goes between these and the impedance, admittance and hybrid
//! parameters. [`by_far_ends`] makes a two-port from reflections with known ends. [`one_port`] moves a reflection from one reference to another; [`residual_errors`] says
//! what an imperfect calibration does to a reading.
//!
//! Conventions: currents flow into both ports, except that chain parameters use the current out of
//! port 2; `s21` is into port 1, out of port 2; reference impedances are real and positive and may
//! differ from port to port (power waves, so that |S21|² is a ratio of powers).
//!
//! Source of the definitions: D. A. Frickey, "Conversions between S, Z, Y, h, ABCD, and T parameters
//! which are valid for complex source and load impedances", IEEE Trans. MTT 42, 1994, pp. 205-211.

pub mod by_far_ends;
pub mod chain;
pub mod conversion;
mod matrix;
pub mod one_port;
pub mod residual_errors;
pub mod scattering;

pub use by_far_ends::ByFarEnds;
pub use chain::{Chain, length_difference};
pub use conversion::{Admittance, Hybrid, Impedance, InverseHybrid};
pub use matrix::Matrix2;
pub use scattering::Scattering;

use thiserror::Error;

/// Why a description of a two-port does not exist.
#[derive(Clone, Copy, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum NetworkError {
    /// The two-port can't be described by these parameters, as a series impedance alone has no
    /// impedance parameters.
    #[error("this two-port has no {wanted}")]
    NoSuchParameters {
        /// The parameters that were asked for.
        wanted: &'static str,
    },
    /// A chain matrix without inverse, so that its two-port cannot be de-embedded.
    #[error("a two-port without transmission cannot be de-embedded")]
    NoInverse,
    /// A reference impedance that is not a positive finite number.
    #[error("reference impedance {z_ref_ohm} ohm is not a positive number")]
    Reference {
        /// The offending reference, ohm.
        z_ref_ohm: f64,
    },
    /// An element or line whose matrix would not be finite.
    #[error("the matrix of {what} would not be finite")]
    NotFinite {
        /// What was to be described.
        what: &'static str,
    },
}
