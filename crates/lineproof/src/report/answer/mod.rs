//! Results for programs: what a verb prints with `--json` and a route of the API answers, one
//! definition of each.
//!
//! The rules are those of [`crate::finding`]: keys may be added, never renamed; `u95` is the half-width
//! of a 95 % interval; SI units, except where the key says otherwise. What a question does not ask for
//! or the data do not determine is `null`; of readings, as in a finding, it is absent.

mod correct;
mod cut;
mod fault_cut;
mod fitness;
mod line_files;
mod shelf;
mod sort;
mod types;

use lineproof_core::fitness::Span;
use serde::Serialize;
use utoipa::ToSchema;

pub use correct::CorrectAnswer;
pub use cut::PiecesAnswer;
pub use fault_cut::FaultAnswer;
pub use fitness::UseAnswer;
pub use line_files::RemovalAnswer;
pub use shelf::{CableAnswer, ShelfAnswer};
pub use sort::Table;
pub use types::{IdentificationAnswer, TypesAnswer};

/// Where to cut: pieces of a cable, or around a fault.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(untagged)]
pub enum CutAnswer {
    /// Pieces for a use.
    Pieces(PiecesAnswer),
    /// A fault out of the cable.
    Fault(FaultAnswer),
}

/// A value that lies between two, in the unit of its key.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct Range {
    /// Lowest.
    low: f64,
    /// Highest.
    high: f64,
}

impl From<Span> for Range {
    fn from(span: Span) -> Self {
        Self {
            low: span.low,
            high: span.high,
        }
    }
}
