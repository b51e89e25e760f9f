//! Plugs and adapters: short lines at either end of the cable.

use crate::calibration::fixture::LOSS_AT_HZ;

/// Longest delay that a plug with its mate can have, s: 50 mm at a velocity factor of 0.66.
const LONGEST_PLUG_S: f64 = 250e-12;

/// Delay of a plug from its unknown, s, and the derivative: a logistic function, so that no plug
/// grows into a stretch of lossless cable. The prior's middle is 62 ps, its 95 % range 6 to 203: a cut end has none.
pub(crate) fn plug_delay_s(unknown: f64) -> (f64, f64) {
    let part = 1.0 / (1.0 + (-unknown).exp());
    (LONGEST_PLUG_S * part, LONGEST_PLUG_S * part * (1.0 - part))
}

/// An adapter's loss over its loss at 1 GHz: it grows as √f, as conductors lose.
pub(crate) fn adapter_loss_shape(freq_hz: f64) -> f64 {
    (freq_hz / LOSS_AT_HZ).sqrt()
}
