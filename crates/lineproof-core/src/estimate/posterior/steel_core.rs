//! Copper on steel, recognised by where its resistance levels off.
//!
//! At high frequency the current of a copper-clad steel wire flows in the copper, and its loss grows
//! as √f like any other. Where the skin depth has reached through the layer the resistance falls no
//! more, while that of a copper wire of the same loss at high frequency still falls. So the
//! conductor loss at a few megahertz is compared with that of such a copper cable. Which of the
//! two conductors levels off does not show: a shield of bare foil looks the same.

use std::f64::consts::TAU;

use super::super::model::{AT, shield_shape, wire_ohm_metres, wire_shape};
use super::estimate::{Derivative, Estimate};
use crate::constants::SPEED_OF_LIGHT_M_S;
use crate::uncertain::Uncertain;

/// A conductor whose resistance levels off too early.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SteelCore {
    /// Frequency at which it was noticed, Hz.
    pub freq_hz: f64,
    /// Conductor loss there over that of a copper cable with the same loss at 100 MHz.
    pub excess: Uncertain,
}

/// Frequencies at which the loss is compared, Hz; the lowest that is covered and shows it counts.
const LOW_HZ: [f64; 3] = [0.3e6, 1e6, 3e6];
/// Frequency at which every cable's resistance follows its skin depth, Hz.
const COPPER_HZ: f64 = 1e8;
/// Excess in standard uncertainties from which it is taken as there.
const CERTAIN: f64 = 3.0;
/// Velocity factor where nobody knows it: between solid polyethylene and foam, 0.66 to 0.88.
const VELOCITY_FACTOR: f64 = 0.75;
/// Share of the shield in the conductor loss, and its thickness, m, of an ordinary braided cable.
const SHIELD_SHARE: f64 = 0.35;
const SHIELD_M: f64 = 0.1e-3;
/// Relative standard uncertainty of the copper cable that is compared with: strands, braid and
/// velocity factor move its low-frequency loss by some 10 %.
const COPPER_U_REL: f64 = 0.1;

impl Estimate {
    /// The conductor's early levelling off, if the sweeps show it beyond doubt.
    pub fn steel_core(&self) -> Option<SteelCore> {
        let (low, high) = self.covered_hz;
        LOW_HZ
            .into_iter()
            .filter(|f| (low..=high).contains(f) && high >= 10.0 * f)
            .map(|freq_hz| (freq_hz, self.ln_excess(freq_hz)))
            .find(|(_, excess)| excess.value > CERTAIN * excess.u)
            .map(|(freq_hz, excess)| SteelCore {
                freq_hz,
                excess: excess.map(f64::exp),
            })
    }

    fn ln_excess(&self, freq_hz: f64) -> Uncertain {
        let low = self.line_without_dielectric_loss(freq_hz);
        let high = self.line_without_dielectric_loss(COPPER_HZ);
        let by = low.d_gamma_l.zip_with(high.d_gamma_l, |at_low, at_high| {
            at_low.re / low.gamma_l.re - at_high.re / high.gamma_l.re
        });
        let by: Derivative = by.indexed().collect();
        let z_ohm = self.fit.theta[AT.line.ln_z].exp() * self.kit_load.ohm.value;
        let length_m = high.gamma_l.im / (TAU * COPPER_HZ) * VELOCITY_FACTOR * SPEED_OF_LIGHT_M_S;
        // the copper cable of the same loss at 100 MHz: what both share cancels
        let copper = Copper::of(z_ohm, high.gamma_l.re / length_m);
        let expected = copper.shape(freq_hz) / copper.shape(COPPER_HZ);
        let measured = low.gamma_l.re / high.gamma_l.re;
        Uncertain::new((measured / expected).ln(), self.standard(&by)).widened(COPPER_U_REL)
    }
}

/// An ordinary braided copper cable.
struct Copper {
    radius_m: f64,
}

impl Copper {
    /// With this impedance, whose conductors lose `np_m` at [`COPPER_HZ`]: the wire's radius follows
    /// from its part of the resistance 2Zα.
    fn of(z_ohm: f64, np_m: f64) -> Self {
        let wire_ohm_m = 2.0 * z_ohm * np_m * (1.0 - SHIELD_SHARE);
        Self {
            radius_m: wire_ohm_metres() * COPPER_HZ.sqrt() / wire_ohm_m,
        }
    }

    /// Resistance of both conductors, in √Hz.
    fn shape(&self, freq_hz: f64) -> f64 {
        let wire = wire_shape(freq_hz, self.radius_m).0.re;
        let shield = shield_shape(freq_hz, SHIELD_M).0.re;
        (1.0 - SHIELD_SHARE) * wire + SHIELD_SHARE * shield
    }
}
