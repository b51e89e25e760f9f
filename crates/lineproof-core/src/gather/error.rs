//! Why a sweep or a whole bench can't be set up.

use thiserror::Error;

use super::knowledge::KnowledgeError;
use crate::bench::{BenchError, FarEnd};
use crate::calibration::CalibrationError;
use crate::calibration::ripple::RippleError;
use crate::far_end::FarEndError;
use crate::sweep::SweepError;

/// Why a sweep or a whole bench can't be set up.
#[derive(Clone, Debug, Error)]
#[non_exhaustive]
pub enum GatherError {
    /// A one-port sweep given as through.
    #[error("`{label}` has one port: a through sweep needs two")]
    NotTwoPort {
        /// Name of the file.
        label: String,
    },
    /// Nobody said what ended the cable and nothing shows it.
    #[error(transparent)]
    FarEnd(#[from] FarEndError),
    /// Sweeps that refer to different impedances can't share one calibration load.
    #[error("`{label}` refers to {found_ohm} ohm, the sweeps before it to {first_ohm} ohm")]
    References {
        /// Name of the file.
        label: String,
        /// Its reference, ohm.
        found_ohm: f64,
        /// Reference of the first sweep, ohm.
        first_ohm: f64,
    },
    /// What is known besides can't be right.
    #[error(transparent)]
    Knowledge(#[from] KnowledgeError),
    /// A sweep given as a check that shows something else.
    #[error(
        "`{label}` is not the calibration's {standard} at the plane: its reflection is off by {rms:.2}"
    )]
    NotTheStandard {
        /// Name of the file.
        label: String,
        /// What it was given as.
        standard: FarEnd,
        /// rms difference from what the analyser took the standard for.
        rms: f64,
    },
    /// A check of a part that nobody described.
    #[error("`{label}` is a check of an unnamed part")]
    NotDescribed {
        /// Name of the file.
        label: String,
    },
    /// A sweep given as a described part that shows something else.
    #[error(
        "`{label}` is not the {name} at the plane: its reflection is off by {rms:.2} from what was described"
    )]
    NotThePart {
        /// Name of the file.
        label: String,
        /// What it was given as.
        name: String,
        /// rms difference from the description.
        rms: f64,
    },
    /// A long line that shows no ripple.
    #[error("`{label}` does not show what the calibration left")]
    Ripple {
        /// Name of the file.
        label: String,
        /// Why not.
        source: RippleError,
    },
    /// A sweep at the plane where the cable was swept through something else.
    #[error(
        "`{label}` was measured at the plane, but the cable behind a two-port to de-embed: it \
         cannot show errors behind that"
    )]
    BeforeTakenAway {
        /// Name of the file.
        label: String,
    },
    /// A two-port that can't be taken out.
    #[error("no two-port can be de-embedded from `{label}`")]
    DeEmbed {
        /// Name of the file.
        label: String,
        /// Why not.
        source: CalibrationError,
    },
    /// A through sweep behind a two-port.
    #[error(
        "`{label}` was swept from port to port: two-ports are de-embedded from reflections only"
    )]
    ThroughBehind {
        /// Name of the file.
        label: String,
    },
    /// A shorter piece of unknown length.
    #[error("the length of the piece of `{label}` is not known")]
    NoShorterLength {
        /// Name of the file.
        label: String,
    },
    /// A shorter piece of a cable that nobody has swept from port to port.
    #[error("`{label}` is a shorter piece, but there is no sweep through the cable itself")]
    ShorterAlone {
        /// Name of the file.
        label: String,
    },
    /// A reference that is no resistance.
    #[error(transparent)]
    Sweep(#[from] SweepError),
    /// What can't stand on the bench.
    #[error(transparent)]
    Bench(#[from] BenchError),
    /// No sweep is left.
    #[error("no usable sweep is left")]
    NothingLeft,
}

impl GatherError {
    /// The file that it is about, if it is about one.
    pub fn label(&self) -> Option<&str> {
        match self {
            Self::FarEnd(e) => Some(&e.name),
            Self::NotTwoPort { label }
            | Self::References { label, .. }
            | Self::NotTheStandard { label, .. }
            | Self::NotDescribed { label }
            | Self::NotThePart { label, .. }
            | Self::Ripple { label, .. }
            | Self::BeforeTakenAway { label }
            | Self::DeEmbed { label, .. }
            | Self::ThroughBehind { label }
            | Self::NoShorterLength { label }
            | Self::ShorterAlone { label } => Some(label),
            Self::Knowledge(_) | Self::Sweep(_) | Self::Bench(_) | Self::NothingLeft => None,
        }
    }
}
