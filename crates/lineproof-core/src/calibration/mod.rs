//! Calibration of a reflection port, improvement of one made elsewhere, and the reference plane.
//!
//! [`calibrate`] takes raw readings of known standards ([`StandardReading`]) to a [`Calibration`],
//! which corrects raw sweeps; [`improve`] takes an instrument's own calibration, made with standards
//! that were called ideal, to the one it should have been; [`fixture`] moves the plane: port
//! extension, de-embedding of adapters, two lengths of one cable; [`ripple`] says what a
//! calibration left. A [`kit`] describes the standards ([`kit_file`] reads its text), [`in_words`] reads adapters,
//! [`correction`] puts it all together for one port.
//! Every corrected point carries its covariance, and a frequency that can't be corrected is refused by name ([`Refusal`]).
//!
//! Conventions: reflections look away from the port; a standard's reflection refers to the reference
//! that results are wanted in, so a 75-ohm result needs no 75-ohm port.

pub mod accuracy;
mod corrected;
pub mod correction;
pub mod equivalent;
pub mod error_terms;
pub mod fixture;
pub mod improve;
pub mod in_words;
pub mod kit;
pub mod kit_file;
mod port;
#[cfg(feature = "serde")]
mod printed;
pub mod refusal;
pub mod ripple;
pub mod standard;
pub mod tabulated;

use thiserror::Error;

pub use accuracy::Accuracy;
pub use corrected::Corrected;
pub use error_terms::ErrorTerms;
pub use port::{Calibration, Point, StandardReading, calibrate};
pub use refusal::Refusal;
pub use standard::{Definition, Standard};
pub use tabulated::Tabulated;

/// Why there is no calibration or no corrected sweep.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum CalibrationError {
    /// Fewer than three standards.
    #[error("the error terms need at least three standards, found {found}")]
    TooFewStandards {
        /// How many there are.
        found: usize,
    },
    /// A reference impedance that is not a positive finite number.
    #[error("reference impedance {z_ref_ohm} ohm is not a positive number")]
    Reference {
        /// The offending reference, ohm.
        z_ref_ohm: f64,
    },
    /// Every point is refused.
    #[error("no point can be corrected; at the first, {refusal}")]
    NothingUsable {
        /// Why the first one is.
        refusal: Refusal,
    },
}
