//! What is known of a cable that may tell its type.

use crate::catalogue::Filling;
use crate::constants::SPEED_OF_LIGHT_M_S;
use crate::uncertain::Uncertain;

/// What a loss refers to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Per {
    /// One metre of cable.
    Metre,
    /// One second of one-way delay: needs no length.
    SecondOfDelay,
}

/// Matched loss at one frequency.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LossSeen {
    /// Frequency, Hz.
    pub freq_hz: f64,
    /// What it refers to.
    pub per: Per,
    /// Loss, dB per that.
    pub db: Uncertain,
}

/// What was measured or looked at; absent is not known.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Observed {
    /// Characteristic impedance, ohm, at 10 MHz or above.
    pub impedance_ohm: Option<Uncertain>,
    /// Velocity factor.
    pub velocity_factor: Option<Uncertain>,
    /// Loss at one frequency or more.
    pub loss: Vec<LossSeen>,
    /// Outside diameter, m.
    pub jacket_diameter_m: Option<Uncertain>,
    /// Diameter over the dielectric, m.
    pub dielectric_diameter_m: Option<Uncertain>,
    /// Diameter of the inner conductor over its strands, m.
    pub inner_diameter_m: Option<Uncertain>,
    /// Capacitance, F/m.
    pub capacitance_f_m: Option<Uncertain>,
    /// Dielectric by eye.
    pub filling: Option<Filling>,
    /// Whether the inner conductor is stranded.
    pub stranded: Option<bool>,
    /// Whether the inner conductor holds a magnet.
    pub magnetic: Option<bool>,
    /// What the jacket says.
    pub marking: Option<String>,
}

impl Observed {
    /// Whether nothing was seen.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}

impl LossSeen {
    /// The loss per metre of a cable with this velocity factor, dB/m.
    pub(super) fn db_m(&self, velocity_factor: f64) -> Uncertain {
        match self.per {
            Per::Metre => self.db,
            Per::SecondOfDelay => self.db.scaled(1.0 / (velocity_factor * SPEED_OF_LIGHT_M_S)),
        }
    }
}
