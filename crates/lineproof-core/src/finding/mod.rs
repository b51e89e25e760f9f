//! What an assay found, and the judgement behind it.
//!
//! [`Finding`] is the one type: programs read and write it as JSON (features `serde` and `schema`), and every
//! report for people is made from it. [`judge`] takes a [`Bench`](crate::bench::Bench) to a finding: numbers
//! from the estimate, and what follows from them for the cable. [`said`] chooses what a person is told of it.

mod event_text;
mod events;
mod found;
pub mod judge;
mod marking;
mod measured;
mod numbers;
mod profile;
mod quantities;
mod remarks;
pub mod said;
#[cfg(feature = "serde")]
mod stored;
mod verdict;
mod words;

pub use events::{End, EventFound, EventKind, EventRow, ExplanationFound};
pub use found::{Finding, SCHEMA};
pub use marking::{Difference, MarkingFound, Quantity, TypeFound};
pub use measured::{CalibrationFound, MethodFound, MethodLoss, SweepUsed};
pub use numbers::{NumberFound, numbers};
pub use profile::{LeastDentFound, ProfileFound, ProfilePointFound};
pub use quantities::{
    DelayFound, ElectricalLengthRow, GeometryFound, ImpedanceFound, ImpedanceRow, InputRow,
    InsertionLossRow, LawRow, LengthBasis, LengthFound, LimitedBy, LossPartsFound, LossRow,
    OhmFound, RatioFound, SystemFound, SystemRow, from_u95,
};
pub use remarks::{Advice, Gives, Help, Measurement, Warning, WarningCode};
pub use verdict::{Action, Condition, Criterion, CriterionFound, VerdictFound};
