//! What the fitted line is: impedance, delay, loss, length, each with its 95 % half-width.

#[cfg(feature = "serde")]
use super::stored;
use super::words::words;
use crate::uncertain::{COVERAGE_FACTOR_95, Uncertain};

/// Characteristic impedance, real part.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ImpedanceFound {
    /// Value, ohm.
    pub ohm: f64,
    /// 95 % half-width, ohm.
    pub u95_ohm: f64,
    /// Frequency it holds at, Hz.
    pub at_hz: f64,
    /// Largest part of the interval.
    pub limited_by: LimitedBy,
}

words! {
    /// Largest part of an interval.
    #[derive(Default)]
    pub enum LimitedBy {
        /// The calibration load's value.
        Load = "load",
        /// What the calibration left of the analyser's errors.
        Calibration = "calibration",
        /// The plugs.
        Plugs = "plugs",
        /// Impedance that is not the same all along the cable.
        Unevenness = "unevenness",
        /// Noise.
        Noise = "noise",
        /// What is believed of cables before any sweep.
        Prior = "what cables are",
        /// Something that this version has no word for.
        #[default]
        #[cfg_attr(feature = "serde", serde(other))]
        Other = "something else",
    }
}

/// Characteristic impedance at a frequency that was asked for.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ImpedanceRow {
    /// Frequency, Hz.
    pub at_hz: f64,
    /// Value, ohm.
    pub ohm: f64,
    /// 95 % half-width, ohm.
    pub u95_ohm: f64,
    /// Whether the frequency lies outside of the sweeps, where the line's law carries the value on.
    #[cfg_attr(
        feature = "serde",
        serde(default, skip_serializing_if = "stored::is_false")
    )]
    pub extrapolated: bool,
}

/// A characteristic impedance, real part.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct OhmFound {
    /// Value, ohm.
    pub ohm: f64,
    /// 95 % half-width, ohm.
    pub u95_ohm: f64,
}

/// The piece between its plugs at one frequency, by the fitted law; a fault along it is not part of it.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct LawRow {
    /// Frequency, Hz.
    pub at_hz: f64,
    /// Characteristic impedance, real part, ohm.
    pub ohm: f64,
    /// 95 % half-width, ohm.
    pub u95_ohm: f64,
    /// One-way phase delay, s.
    pub one_way_s: f64,
    /// 95 % half-width, s.
    pub u95_s: f64,
    /// Matched loss, one way, dB.
    pub db: f64,
    /// 95 % half-width, dB.
    pub u95_db: f64,
    /// The dielectric's part of the loss, 0 to 1.
    pub dielectric_part: f64,
}

/// Matched loss at one frequency.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct LossRow {
    /// Frequency, Hz.
    pub at_hz: f64,
    /// Loss of the piece, one way, dB.
    pub db: f64,
    /// 95 % half-width, dB.
    pub u95_db: f64,
    /// The same for 100 m of it, dB; needs the length.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub db_per_100m: Option<f64>,
    /// 95 % half-width of it, dB.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub u95_db_per_100m: Option<f64>,
    /// Loss of the piece at 20 °C, dB; needs the temperature.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub db_at_20c: Option<f64>,
    /// 95 % half-width of it, dB.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub u95_db_at_20c: Option<f64>,
    /// Whether the frequency lies outside of the sweeps, where the line's law carries the loss on.
    #[cfg_attr(
        feature = "serde",
        serde(default, skip_serializing_if = "stored::is_false")
    )]
    pub extrapolated: bool,
}

/// Insertion loss at one frequency: the piece as it lies, faults and plugs included, between equal impedances.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct InsertionLossRow {
    /// Frequency, Hz.
    pub at_hz: f64,
    /// Insertion loss, dB.
    pub db: f64,
    /// 95 % half-width, dB.
    pub u95_db: f64,
    /// Impedance of source and load, ohm.
    pub between_ohm: f64,
}

/// Input of the piece as it lies at one frequency, the system's impedance at its far end.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct InputRow {
    /// Frequency, Hz.
    pub at_hz: f64,
    /// Resistance at the near end, ohm.
    pub resistance_ohm: f64,
    /// Reactance at the near end, ohm.
    pub reactance_ohm: f64,
    /// The system's impedance, ohm; absent in findings of older programs, as in their insertion losses.
    #[cfg_attr(
        feature = "serde",
        serde(default, skip_serializing_if = "Option::is_none")
    )]
    pub between_ohm: Option<f64>,
    /// Least return loss against the system over the 95 % interval, dB.
    pub return_loss_db: f64,
    /// Largest VSWR against the system over the 95 % interval; absent where it may be infinite.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub vswr: Option<f64>,
}

/// Electrical length of the piece with its plugs at one frequency.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ElectricalLengthRow {
    /// Frequency, Hz.
    pub at_hz: f64,
    /// Phase from end to end, degrees.
    pub deg: f64,
    /// 95 % half-width, degrees.
    pub u95_deg: f64,
    /// Whether the frequency lies outside of the sweeps.
    #[cfg_attr(
        feature = "serde",
        serde(default, skip_serializing_if = "stored::is_false")
    )]
    pub extrapolated: bool,
}

/// What loses how much. A part that its own interval hides is absent, and `reason` says so.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct LossPartsFound {
    /// Frequency, Hz.
    pub at_hz: f64,
    /// The conductors, dB, growing as √f.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub conductor_db: Option<f64>,
    /// 95 % half-width of it, dB.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub u95_conductor_db: Option<f64>,
    /// The dielectric, dB, growing as f.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub dielectric_db: Option<f64>,
    /// 95 % half-width of it, dB.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub u95_dielectric_db: Option<f64>,
    /// Why a part is absent.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub reason: Option<String>,
}

/// One-way delay of the piece.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct DelayFound {
    /// Value with the plugs, s.
    pub one_way_s: f64,
    /// 95 % half-width, s.
    pub u95_s: f64,
    /// Frequency it holds at, Hz.
    pub at_hz: f64,
    /// Value without the plugs, s; less sure, since a sweep hardly tells plug from cable.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub between_plugs_s: Option<f64>,
    /// 95 % half-width of it, s.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub u95_between_plugs_s: Option<f64>,
}

/// A ratio.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct RatioFound {
    /// Value.
    pub ratio: f64,
    /// 95 % half-width.
    pub u95: f64,
}

/// Length of the piece.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct LengthFound {
    /// Value, m.
    pub m: f64,
    /// 95 % half-width, m.
    pub u95_m: f64,
    /// Where it comes from.
    pub basis: LengthBasis,
}

words! {
    /// Where a length comes from.
    pub enum LengthBasis {
        /// The tape measure.
        Tape = "tape",
        /// The delay, the impedance and a caliper's diameters.
        Caliper = "caliper",
        /// The delay and the velocity factor that the jacket claims.
        MarkedVelocityFactor = "marked-velocity-factor",
        /// One that this version has no word for.
        #[cfg_attr(feature = "serde", serde(other))]
        Other = "other",
    }
}

/// Z0/VF, which depends on the diameters alone, by caliper and by the sweeps.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct GeometryFound {
    /// By the diameters, ohm.
    pub impedance_over_velocity_ohm: f64,
    /// 95 % half-width, ohm.
    pub u95_ohm: f64,
    /// By sweeps and tape, ohm.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub by_sweeps_ohm: Option<f64>,
    /// 95 % half-width, ohm.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub u95_by_sweeps_ohm: Option<f64>,
    /// Whether the two agree; absent without a tape.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub agrees: Option<bool>,
    /// The same for people, with what it means.
    pub text: String,
}

/// The piece between a source and a load of a system's impedance.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct SystemFound {
    /// Impedance of the system, ohm.
    pub ohm: f64,
    /// By rising frequency.
    pub rows: Vec<SystemRow>,
}

/// The same at one frequency. Values hold for the 95 % intervals of impedance, delay and loss.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct SystemRow {
    /// Frequency, Hz.
    pub at_hz: f64,
    /// Highest VSWR at the input of this piece with the system's load at its end.
    pub highest_swr: f64,
    /// The return loss with that VSWR, dB.
    pub least_return_loss_db: f64,
    /// Highest VSWR at the worst length near this one.
    pub swr_at_worst_length: f64,
    /// The return loss with that, dB.
    pub return_loss_db_at_worst_length: f64,
    /// Loss beyond that of the same cable matched, dB, at most.
    pub most_extra_loss_db: f64,
}

impl LengthBasis {
    /// How a length comes from there, for people.
    pub fn words(self) -> &'static str {
        match self {
            Self::Tape => "by tape",
            Self::Caliper => "from impedance and diameters",
            Self::MarkedVelocityFactor => "from the claimed velocity factor",
            Self::Other => "",
        }
    }
}

impl DelayFound {
    /// The delay without the plugs where it is known, else with them, s.
    pub fn of_cable(&self) -> Uncertain {
        match (self.between_plugs_s, self.u95_between_plugs_s) {
            (Some(delay_s), Some(u95_s)) => from_u95(delay_s, u95_s),
            _ => from_u95(self.one_way_s, self.u95_s),
        }
    }
}

impl ImpedanceFound {
    /// The value with its standard uncertainty.
    pub fn uncertain(&self) -> Uncertain {
        from_u95(self.ohm, self.u95_ohm)
    }
}

impl From<Uncertain> for OhmFound {
    fn from(impedance_ohm: Uncertain) -> Self {
        Self {
            ohm: impedance_ohm.value,
            u95_ohm: impedance_ohm.u95(),
        }
    }
}

impl From<Uncertain> for RatioFound {
    fn from(ratio: Uncertain) -> Self {
        Self {
            ratio: ratio.value,
            u95: ratio.u95(),
        }
    }
}

impl LossRow {
    /// Loss and half-width at 20 °C if known, else as it was during the sweep, dB; and whether it is the former.
    pub fn comparable(&self) -> (f64, f64, bool) {
        match (self.db_at_20c, self.u95_db_at_20c) {
            (Some(db), Some(u95)) => (db, u95, true),
            _ => (self.db, self.u95_db, false),
        }
    }

    /// The value with its standard uncertainty.
    pub fn uncertain(&self) -> Uncertain {
        from_u95(self.db, self.u95_db)
    }
}

/// A value with the standard uncertainty that belongs to a 95 % half-width.
pub fn from_u95(value: f64, u95: f64) -> Uncertain {
    Uncertain::new(value, u95 / COVERAGE_FACTOR_95)
}
