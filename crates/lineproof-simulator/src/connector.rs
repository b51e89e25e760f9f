//! Plugs: short lines of their own at both ends of a cable.

use std::f64::consts::PI;

use lineproof_core::constants::SPEED_OF_LIGHT_M_S;
use num_complex::Complex64;

use crate::chain::Chain;

/// A plug with its adapter: a short line of its own.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Connector {
    /// Characteristic impedance, ohm.
    pub impedance_ohm: f64,
    /// Length beyond the calibrated plane, m.
    pub length_m: f64,
    /// Velocity factor inside.
    pub velocity_factor: f64,
}

impl Connector {
    /// SMA; sizes of all these from common practice.
    pub const SMA: Self = Self::new(50.0, 0.009, 0.70);
    /// BNC, 50 ohm.
    pub const BNC: Self = Self::new(50.0, 0.022, 0.70);
    /// Type N, 50 ohm.
    pub const N: Self = Self::new(50.0, 0.025, 0.80);
    /// UHF: not a constant-impedance connector.
    pub const UHF: Self = Self::new(38.0, 0.018, 0.75);
    /// Type F.
    pub const F: Self = Self::new(72.0, 0.012, 0.80);

    const fn new(impedance_ohm: f64, length_m: f64, velocity_factor: f64) -> Self {
        Self {
            impedance_ohm,
            length_m,
            velocity_factor,
        }
    }

    /// One-way delay, s.
    pub fn one_way_delay_s(&self) -> f64 {
        self.length_m / (self.velocity_factor * SPEED_OF_LIGHT_M_S)
    }

    /// Chain matrix with the impedance off by `spread`, relative.
    pub(crate) fn chain(&self, freq_hz: f64, spread: f64) -> Chain {
        let phase = Complex64::new(0.0, 2.0 * PI * freq_hz * self.one_way_delay_s());
        let z_ohm = self.impedance_ohm * (1.0 + spread);
        Chain::line(phase * z_ohm, phase / z_ohm)
    }
}
