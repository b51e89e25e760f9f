//! Impedance along the cable as it is stated, and the least dents that would have shown.

/// Impedance along the cable.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ProfileFound {
    /// Distance below which two places look like one, m.
    pub resolution_m: f64,
    /// From the near end to the far one.
    pub points: Vec<ProfilePointFound>,
    /// Length of the dent that `least_dents` is stated for, m.
    pub least_dent_length_m: f64,
    /// The least dent that would have shown, from the near end to the far one.
    pub least_dents: Vec<LeastDentFound>,
}

/// Impedance at a place.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ProfilePointFound {
    /// Distance from the near end, m.
    pub at_m: f64,
    /// One-way delay of sound cable to it, s.
    pub one_way_s: f64,
    /// High-frequency impedance, ohm.
    pub ohm: f64,
    /// 95 % half-width, ohm; it holds the load's part, which all points share.
    pub u95_ohm: f64,
}

/// The least dent that would have shown at a place.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct LeastDentFound {
    /// Distance from the near end, m.
    pub at_m: f64,
    /// Relative change of the impedance.
    pub relative: f64,
}
