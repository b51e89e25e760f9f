//! Where quantities are stated, and what is taken where nothing says better.

use crate::uncertain::Uncertain;

/// Frequency that impedance and loss are stated at where the sweeps cover it, Hz.
pub const USUAL_HZ: f64 = 100e6;
/// Frequency that delay and velocity factor are stated at, Hz: skin effect has let go of them there.
pub const SETTLED_HZ: f64 = 300e6;
/// Standard uncertainty, relative, of a velocity factor that a marking claims: catalogues and
/// pieces differ by up to 5 % (practice of the trade).
pub const MARKED_VELOCITY_U_REL: f64 = 0.025;
/// Impedances that systems have, ohm.
pub const SYSTEMS_OHM: [f64; 3] = [50.0, 75.0, 93.0];
/// Velocity factor for places where nothing says one.
pub const TYPICAL_VELOCITY_FACTOR: f64 = 0.7;

/// 100 MHz where it is covered, else the geometric middle of the sweep.
pub fn stated_hz(low: f64, high: f64) -> f64 {
    if (low..=high).contains(&USUAL_HZ) {
        USUAL_HZ
    } else {
        (low.max(high * 1e-3) * high).sqrt()
    }
}

/// The value, if it is one.
pub fn finite(quantity: Uncertain) -> Option<Uncertain> {
    (quantity.value.is_finite() && quantity.u.is_finite()).then_some(quantity)
}
