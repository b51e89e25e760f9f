//! Either answer: pieces of a cable, or a fault out of it.

use lineproof_core::quantity::Units;
use lineproof_core::sections::{FaultAnswer, PiecesAnswer};
use serde::Serialize;
use utoipa::ToSchema;

use super::{fault_text, text};
use crate::questions::ask::Answer;

/// Where to cut: pieces of a cable, or around a fault.
#[derive(Clone, Debug, Serialize, ToSchema)]
#[serde(untagged)]
pub(crate) enum CutAnswer {
    /// Pieces for a use.
    Pieces(#[schema(inline)] PiecesAnswer),
    /// A fault out of the cable.
    Fault(#[schema(inline)] FaultAnswer),
}

impl Answer for CutAnswer {
    fn text(&self, units: Units) -> String {
        let feet = units == Units::Feet;
        match self {
            Self::Pieces(pieces) => text::text(pieces, feet),
            Self::Fault(fault) => fault_text::text(fault, feet),
        }
    }
}
