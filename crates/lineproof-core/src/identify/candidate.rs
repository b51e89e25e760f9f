//! What a cable may be, and what it can not.

/// Types that are one cable electrically, with their probability.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate {
    /// Probability of the group.
    pub probability: f64,
    /// Its types with the probability of each, the most likely first.
    pub members: Vec<(String, f64)>,
}

/// Why types are out of the question.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Excluded {
    /// Class of the types, as [`class`](crate::catalogue::CableType::class).
    pub class: String,
    /// How many of them.
    pub types: usize,
    /// What speaks against them most.
    pub quantity: &'static str,
}
