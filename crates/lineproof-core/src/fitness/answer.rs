//! What a use asks of a cable, and what the cable does then.
//!
//! Power, voltage, current and temperature are estimates.

use std::fmt;

use num_complex::Complex64;

use super::{ConductorHeat, PowerBasis, Span, Stress, WrongImpedance};
use crate::finding::OhmFound;
use crate::uncertain::Uncertain;

/// The load as it was asked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum UseLoad {
    /// VSWR against the system.
    Swr(f64),
    /// Impedance, ohm.
    Impedance(Complex64),
}

/// One use.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Use {
    /// Frequency, Hz.
    pub freq_hz: f64,
    /// Length of the run, m; the assayed piece if absent.
    pub run_m: Option<f64>,
    /// Peak envelope power into the line, W.
    pub peak_w: Option<f64>,
    /// Average over peak power.
    pub duty: f64,
    /// What ends the run.
    pub load: UseLoad,
    /// Impedance of source and load, ohm.
    pub system_ohm: Option<f64>,
    /// Temperature around the cable, °C.
    pub ambient_c: f64,
    /// Most loss allowed, dB.
    pub most_loss_db: Option<f64>,
}

/// Something that a use asks of a cable, and whether it gives it.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct UseCheck {
    /// What: `loss`, `heat` or `voltage`.
    pub what: &'static str,
    /// Whether it does; null if the interval does not decide.
    #[cfg_attr(feature = "schema", schema(required))]
    pub passes: Option<bool>,
    /// The same with figures.
    pub text: String,
}

/// The run on one band with a matched load.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct BandOfRun {
    /// Frequency, Hz.
    pub at_hz: f64,
    /// Loss, one way, dB.
    pub loss_db: f64,
    /// 95 % half-width, dB.
    pub u95_db: f64,
    /// Part of the power that reaches the load, 0 to 1.
    pub efficiency: f64,
    /// Average power that the rating allows, W; null without a rating.
    #[cfg_attr(feature = "schema", schema(required))]
    pub allowed_average_w: Option<f64>,
}

/// One-way delay of a run.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct RunDelay {
    /// Value, s.
    pub one_way_s: f64,
    /// 95 % half-width, s.
    pub u95_s: f64,
}

/// Loss of a run with a matched load, one way.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct MatchedLoss {
    /// Value, dB.
    pub db: f64,
    /// 95 % half-width, dB.
    pub u95_db: f64,
}

/// What a use does to a cable: estimates.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct UseStress {
    /// Peak voltage along the run, V.
    pub peak_v: f64,
    /// Peak current along the run, A.
    pub peak_a: f64,
    /// Average power into the run, W.
    pub average_w: f64,
    /// Average power that rating or heat allow here, W; null if neither is known.
    #[cfg_attr(feature = "schema", schema(required))]
    pub allowed_average_w: Option<f64>,
    /// Peak power that the voltage rating allows here, W; null without a rating.
    #[cfg_attr(feature = "schema", schema(required))]
    pub allowed_peak_w: Option<f64>,
    /// Temperature of the inner conductor at its hottest spot, °C; null if it is not known or beyond what
    /// the dielectric stands.
    #[cfg_attr(feature = "schema", schema(required))]
    pub conductor_c: Option<f64>,
    /// Temperature that the dielectric stands, °C, if the inner conductor gets hotter than that.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub conductor_above_c: Option<f64>,
    /// What the allowed average rests on.
    #[cfg_attr(feature = "serde", serde(skip))]
    #[cfg_attr(feature = "schema", schema(ignore))]
    pub basis: Option<PowerBasis>,
}

/// What a cable does at a frequency, over a run, with a power and a load.
#[derive(Clone, Debug)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Fitness {
    /// How a sentence calls the cable.
    pub cable: String,
    /// Length of the run, m; null for an assayed piece whose length is not known.
    #[cfg_attr(feature = "schema", schema(required))]
    pub run_m: Option<f64>,
    /// Frequency, Hz.
    pub at_hz: f64,
    /// Impedance of source and load, ohm.
    pub system_ohm: f64,
    /// Characteristic impedance of the cable, real part.
    pub impedance: OhmFound,
    /// Delay of the run.
    pub delay: RunDelay,
    /// Loss with a matched load.
    pub matched_loss: MatchedLoss,
    /// Loss with this load, dB, by the balance of power.
    pub total_loss_db: Span,
    /// The same by the handbook formula, dB; null for a load that takes nothing.
    #[cfg_attr(feature = "schema", schema(required))]
    pub handbook_loss_db: Option<f64>,
    /// VSWR on the line at the load, against the line's own impedance.
    pub line_swr: Span,
    /// VSWR at the input against the system's impedance.
    pub input_swr: Span,
    /// What a transmitter without a tuner keeps back for the mismatch at the input, dB.
    pub input_mismatch_db: Span,
    /// Part of the power into the line that the load gets, 0 to 1.
    pub efficiency: Span,
    /// Power that the load gets, W; null if no power was given.
    #[cfg_attr(feature = "schema", schema(required))]
    pub load_w: Option<Span>,
    /// Voltage, current and heat; null if no power was given.
    #[cfg_attr(feature = "schema", schema(required))]
    pub stress: Option<UseStress>,
    /// Type whose ratings were used; null if none is known.
    #[cfg_attr(feature = "schema", schema(required))]
    pub rated_as: Option<String>,
    /// Price of an impedance that is not the system's; null if it is, within 5 %.
    #[cfg_attr(feature = "schema", schema(required))]
    pub wrong_impedance: Option<WrongImpedance>,
    /// What the use asks of the cable.
    pub checks: Vec<UseCheck>,
    /// The same run, matched, on other bands, by rising frequency.
    pub bands: Vec<BandOfRun>,
    /// What must be known besides, a sentence each.
    pub remarks: Vec<String>,
    /// Care to take, a sentence each.
    pub cautions: Vec<String>,
    /// The use.
    #[cfg_attr(feature = "serde", serde(skip))]
    #[cfg_attr(feature = "schema", schema(ignore))]
    pub asked: Use,
}

impl Use {
    /// A carrier at `freq_hz` into a load that matches the system, at 25 °C, without power or limits, through the
    /// assayed piece.
    pub fn matched(freq_hz: f64) -> Self {
        Self {
            freq_hz,
            run_m: None,
            peak_w: None,
            duty: 1.0,
            load: UseLoad::Swr(1.0),
            system_ohm: None,
            ambient_c: 25.0,
            most_loss_db: None,
        }
    }
}

impl RunDelay {
    pub(super) fn of(delay_s: Uncertain) -> Self {
        Self {
            one_way_s: delay_s.value,
            u95_s: delay_s.u95(),
        }
    }
}

impl MatchedLoss {
    pub(super) fn of(loss_db: Uncertain) -> Self {
        Self {
            db: loss_db.value,
            u95_db: loss_db.u95(),
        }
    }
}

impl UseStress {
    pub(super) fn of(stress: Stress) -> Self {
        Self {
            peak_v: stress.peak_v,
            peak_a: stress.peak_a,
            average_w: stress.average_w,
            allowed_average_w: stress.allowed_average_w,
            allowed_peak_w: stress.allowed_peak_w,
            conductor_c: stress.conductor.and_then(ConductorHeat::celsius),
            conductor_above_c: match stress.conductor {
                Some(ConductorHeat::Beyond(limit_c)) => Some(limit_c),
                _ => None,
            },
            basis: stress.power_basis,
        }
    }
}

impl fmt::Display for UseLoad {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Swr(swr) => write!(f, "VSWR {swr}"),
            Self::Impedance(z) => {
                let sign = if z.im < 0.0 { '-' } else { '+' };
                write!(f, "{}{sign}j{} ohm", z.re, z.im.abs())
            }
        }
    }
}
