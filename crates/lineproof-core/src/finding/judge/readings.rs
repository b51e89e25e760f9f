//! What the methods make of the readings.

use super::method_found;
use crate::finding::measured::MethodFound;
use crate::finding::quantities::{OhmFound, RatioFound};
use crate::method::readings::Answer;
use crate::quantity::digits::{pair, significant};
use crate::uncertain::Uncertain;

/// What the methods of the trade make of values read off a screen or a meter.
#[derive(Clone, Debug)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ReadingsAnswer {
    /// Characteristic impedance by the method that knows it best.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub impedance: Option<OhmFound>,
    /// Velocity factor by the method that knows it best.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub velocity_factor: Option<RatioFound>,
    /// Each method by itself; those that these readings do not serve have a `reason`.
    pub methods: Vec<MethodFound>,
    /// Why the readings can't all be right, a sentence each; none if they can.
    pub impossible: Vec<String>,
    /// What the readings say of each other and of the marking, a sentence each.
    pub remarks: Vec<String>,
    /// What they give in one sentence.
    #[cfg_attr(feature = "serde", serde(skip))]
    #[cfg_attr(feature = "schema", schema(ignore))]
    pub sentence: String,
}

impl ReadingsAnswer {
    /// The answer of all methods.
    pub fn of(answer: Answer) -> Self {
        let sentence = sentence(&answer);
        let (impedance, velocity) = (answer.best_impedance(), answer.best_velocity_factor());
        let served = answer.reports.into_iter().map(Ok);
        let unserved = answer.unserved.into_iter().map(Err);
        Self {
            impedance: impedance.map(OhmFound::from),
            velocity_factor: velocity.map(RatioFound::from),
            methods: served.chain(unserved).map(|a| method_found(&a)).collect(),
            impossible: answer.impossible,
            remarks: answer.remarks,
            sentence,
        }
    }
}

/// What they give, and how sure it is.
fn sentence(answer: &Answer) -> String {
    let mut parts = Vec::new();
    if let Some(z) = answer.best_impedance() {
        parts.push(format!("{} ohm", with_interval(z)));
    }
    if let Some(vf) = answer.best_velocity_factor() {
        parts.push(format!("velocity factor {}", with_interval(vf)));
    }
    if let Some(length) = tightest(answer.reports.iter().filter_map(|r| r.length_m)) {
        parts.push(format!("length {} m", with_interval(length)));
    }
    if let Some(delay) = tightest(answer.reports.iter().filter_map(|r| r.one_way_delay_s)) {
        parts.push(format!("{} ns one way", significant(delay.value * 1e9, 4)));
    }
    let losses = answer.reports.iter().flat_map(|r| &r.loss_db);
    if let Some(loss) = tightest(losses.map(|l| l.1)) {
        parts.push(format!("loss {} dB", with_interval(loss)));
    }
    if !answer.impossible.is_empty() {
        let rest = if parts.is_empty() {
            String::new()
        } else {
            format!(" What remains valid: {}.", parts.join(", "))
        };
        format!("These readings cannot all be right.{rest}")
    } else if parts.is_empty() {
        "These readings do not determine anything; the reasons are below.".to_owned()
    } else {
        format!("{}.", parts.join(", "))
    }
}

fn tightest(found: impl Iterator<Item = Uncertain>) -> Option<Uncertain> {
    found.min_by(|a, b| a.u.total_cmp(&b.u))
}

fn with_interval(quantity: Uncertain) -> String {
    let (value, u95) = pair(quantity.value, quantity.u95());
    format!("{value} ± {u95}")
}
