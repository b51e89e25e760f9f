//! What the jacket claims against what was found, and which types the cable may be.

use super::words::words;

/// What the jacket claims against what was found.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct MarkingFound {
    /// Type designation as given.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub designation: Option<String>,
    /// Whether nothing speaks against the claim; absent if nothing could be compared.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub agrees: Option<bool>,
    /// What does not agree.
    pub differences: Vec<Difference>,
    /// What agrees with a remark, and what could not be compared.
    #[cfg_attr(
        feature = "serde",
        serde(default, skip_serializing_if = "Vec::is_empty")
    )]
    pub remarks: Vec<String>,
    /// Why the cable may differ from its marking.
    #[cfg_attr(
        feature = "serde",
        serde(default, skip_serializing_if = "Vec::is_empty")
    )]
    pub explanation: Vec<String>,
}

/// One quantity in which the cable differs from its marking.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Difference {
    /// `impedance`, `velocity factor` or `loss`.
    pub quantity: Quantity,
    /// Claimed value, in `unit`.
    pub marked: f64,
    /// Found value, in `unit`.
    pub found: f64,
    /// 95 % half-width of the found value, in `unit`.
    pub u95: f64,
    /// Unit of the three; empty for a ratio.
    pub unit: String,
    /// The same for people.
    pub text: String,
}

words! {
    /// A quantity that a finding states.
    pub enum Quantity {
        /// Characteristic impedance.
        Impedance = "impedance",
        /// One-way delay.
        Delay = "delay",
        /// Velocity factor.
        VelocityFactor = "velocity factor",
        /// Matched loss.
        Loss = "loss",
        /// One that this version has no word for.
        #[cfg_attr(feature = "serde", serde(other))]
        Other = "other",
    }
}

/// A type that the cable may be.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct TypeFound {
    /// Name; of types that are one cable electrically the likeliest, or `none of these`.
    pub designation: String,
    /// Probability of all of them together.
    pub probability: f64,
    /// The others that are the same cable electrically.
    #[cfg_attr(
        feature = "serde",
        serde(default, skip_serializing_if = "Vec::is_empty")
    )]
    pub same_as: Vec<String>,
}
