//! What typed readings give, for programs.

use lineproof_core::method::readings::Answer;
use serde::Serialize;
use utoipa::ToSchema;

use crate::finding::{MethodFound, OhmFound, RatioFound, SCHEMA};
use crate::report::readings::methods_found;

/// What the methods of the trade make of values read off a screen or a meter.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct ReadingsAnswer {
    /// Number of this layout.
    schema: u32,
    /// Characteristic impedance by the method that knows it best.
    #[serde(skip_serializing_if = "Option::is_none")]
    impedance: Option<OhmFound>,
    /// Velocity factor by the method that knows it best.
    #[serde(skip_serializing_if = "Option::is_none")]
    velocity_factor: Option<RatioFound>,
    /// Each method by itself; those that these readings do not serve have a `reason`.
    methods: Vec<MethodFound>,
    /// Why the readings can't all be right, a sentence each; none if they can.
    impossible: Vec<String>,
    /// What the readings say of each other and of the marking, a sentence each.
    remarks: Vec<String>,
}

impl ReadingsAnswer {
    /// The answer of all methods.
    pub fn of(answer: Answer) -> Self {
        Self {
            schema: SCHEMA,
            impedance: answer.best_impedance().map(OhmFound::from),
            velocity_factor: answer.best_velocity_factor().map(RatioFound::from),
            methods: methods_found(&answer),
            impossible: answer.impossible,
            remarks: answer.remarks,
        }
    }
}
