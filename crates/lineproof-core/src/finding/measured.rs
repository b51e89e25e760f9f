//! What went in: sweeps, what their calibration left, and what each method of the trade reads off them.

use super::quantities::RatioFound;
use crate::calibration::ripple::Residuals;
use crate::quantity::digits::significant;

/// One sweep that went in.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct SweepUsed {
    /// Name of the file.
    pub file: String,
    /// `open`, `short`, `load` or `through`; of a check `open at the plane` and so on.
    pub far_end: String,
    /// Whether the far end was judged by data and name, not declared.
    pub guessed: bool,
    /// Number of points.
    pub points: usize,
    /// Lowest frequency, Hz.
    pub start_hz: f64,
    /// Highest frequency, Hz.
    pub stop_hz: f64,
    /// Of a check: rms difference from what the calibration took its standard for.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub off_rms: Option<f64>,
}

/// What a calibration left, by the ripple of one long line.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct CalibrationFound {
    /// Name of the file.
    pub file: String,
    /// Residual directivity, rms over the band.
    pub directivity: f64,
    /// Residual source match, rms over the band; absent if the line's end does not show it.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub source_match: Option<f64>,
    /// Half of the largest peak to peak of |Γ| within a turn: directivity and source match together
    /// at their worst.
    pub half_peak_to_peak: f64,
    /// Turns of the end's reflection over the sweep.
    pub turns: f64,
    /// The same for people.
    pub text: String,
}

/// What one method found, or why it can't answer.
#[derive(Clone, Debug, Default, PartialEq)]
#[cfg_attr(
    feature = "serde",
    derive(serde::Serialize, serde::Deserialize),
    serde(default)
)]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct MethodFound {
    /// Name of the method.
    #[cfg_attr(feature = "schema", schema(required))]
    pub name: String,
    /// Characteristic impedance, ohm.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub ohm: Option<f64>,
    /// Its 95 % half-width, ohm.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub u95_ohm: Option<f64>,
    /// Frequency that the impedance holds at, Hz.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub at_hz: Option<f64>,
    /// One-way delay, s.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub one_way_s: Option<f64>,
    /// Its 95 % half-width, s.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub u95_s: Option<f64>,
    /// Frequency that the delay holds at, Hz.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub delay_at_hz: Option<f64>,
    /// Velocity factor.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub velocity_factor: Option<RatioFound>,
    /// Length, m.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub length_m: Option<f64>,
    /// Its 95 % half-width, m.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub u95_m: Option<f64>,
    /// Matched loss of the piece, one way.
    #[cfg_attr(
        feature = "serde",
        serde(default, skip_serializing_if = "Vec::is_empty")
    )]
    pub loss: Vec<MethodLoss>,
    /// The arithmetic in one line.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub working: Option<String>,
    /// The same, a step each.
    #[cfg_attr(
        feature = "serde",
        serde(default, skip_serializing_if = "Vec::is_empty")
    )]
    pub steps: Vec<String>,
    /// Biases and assumptions.
    #[cfg_attr(
        feature = "serde",
        serde(default, skip_serializing_if = "Vec::is_empty")
    )]
    pub remarks: Vec<String>,
    /// Why it can't answer.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub reason: Option<String>,
    /// What would do.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub would_do: Option<String>,
}

/// A loss that a method found.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct MethodLoss {
    /// Frequency, Hz; absent for typed readings that name none.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub at_hz: Option<f64>,
    /// Loss of the piece, one way, dB.
    pub db: f64,
    /// 95 % half-width, dB.
    pub u95_db: f64,
}

impl CalibrationFound {
    /// What a line shows, for the file it is from.
    pub fn of(file: String, seen: &Residuals) -> Self {
        let size = |x: f64| format!("{} ({:.0} dB)", significant(x, 2), -20.0 * x.log10());
        let (directivity, source_match) = (seen.directivity(), seen.source_match());
        let text = format!(
            "`{file}`: the calibration left a directivity of {}{}, rms over {:.1} turns of the \
             line; |Γ| has a ripple of ± {}",
            size(directivity),
            source_match.map_or_else(String::new, |m| format!(", source match {}", size(m))),
            seen.turns,
            significant(seen.half_peak_to_peak, 2)
        );
        Self {
            file,
            directivity,
            source_match,
            half_peak_to_peak: seen.half_peak_to_peak,
            turns: seen.turns,
            text,
        }
    }
}
