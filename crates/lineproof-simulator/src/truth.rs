//! What a simulated bench really holds.

use crate::body::Body;
use crate::cable::Cable;
use crate::connector::Connector;
use crate::departure::FarParts;
use crate::kit::Kit;

/// What is really on the bench.
#[derive(Clone, Debug, PartialEq)]
pub struct Truth {
    /// The cable that the question is about.
    pub cable: Cable,
    /// What lies between the plugs.
    pub body: Body,
    /// The plugs' nominal sizes.
    pub connector: Option<Connector>,
    /// The kit as it really is.
    pub kit: Kit,
    /// Resistance of the calibration load, ohm: the unit of every impedance that the sweeps show.
    pub load_ohm: f64,
    /// Resistance at the far end of `load` sweeps, ohm.
    pub far_load_ohm: f64,
    /// What ends the cable, where that is not the kit's.
    pub(crate) far_parts: FarParts,
    /// Length between the plugs, m.
    pub length_m: f64,
}

impl Truth {
    /// Real part of the cable's characteristic impedance, ohm.
    pub fn impedance_ohm(&self, freq_hz: f64) -> f64 {
        self.cable.impedance_ohm(freq_hz).re
    }

    /// One-way phase delay between the plugs, s.
    pub fn one_way_delay_s(&self, freq_hz: f64) -> f64 {
        self.body.one_way_delay_s(freq_hz)
    }

    /// One-way phase delay with both plugs, s.
    pub fn connected_one_way_delay_s(&self, freq_hz: f64) -> f64 {
        let plugs_s = self.connector.map_or(0.0, |c| 2.0 * c.one_way_delay_s());
        self.one_way_delay_s(freq_hz) + plugs_s
    }

    /// One-way matched loss between the plugs, dB, without their contacts.
    pub fn loss_db(&self, freq_hz: f64) -> f64 {
        self.body.loss_db(freq_hz)
    }

    /// Velocity factor of the cable.
    pub fn velocity_factor(&self, freq_hz: f64) -> f64 {
        self.cable.velocity_factor(freq_hz)
    }

    /// The kit with what ends `load` sweeps in place of its load.
    pub(crate) fn far_kit(&self) -> Kit {
        let kit = Kit {
            load_ohm: self.far_load_ohm,
            ..self.kit
        };
        self.far_parts.of(kit)
    }
}
