//! What a sweep's step and span let it see in time and distance.
//!
//! Source: sampling theorem; widths of the impulse in units of 1/span are those of the Kaiser
//! window (F. J. Harris, Proc. IEEE 66, 1978, pp. 51-83).

use crate::constants::SPEED_OF_LIGHT_M_S;

/// 50 % width of the low-pass impulse for a Kaiser window of β = 6, in units of 1/span.
pub const KAISER_6_WIDTH: f64 = 0.98;

/// Step between the points of an even sweep, Hz; `None` for fewer than two points.
pub fn step_hz(start_hz: f64, stop_hz: f64, points: usize) -> Option<f64> {
    (points > 1).then(|| (stop_hz - start_hz) / (points - 1) as f64)
}

/// Time after which echoes appear again at the start, 1/step, s.
pub fn alias_free_time_s(step_hz: f64) -> f64 {
    1.0 / step_hz
}

/// Longest line whose far end a *reflection* sweep places without doubt, m.
pub fn reflection_range_m(step_hz: f64, velocity_factor: f64) -> f64 {
    0.5 * transmission_range_m(step_hz, velocity_factor)
}

/// Longest line whose delay a *transmission* sweep places without doubt, m.
pub fn transmission_range_m(step_hz: f64, velocity_factor: f64) -> f64 {
    SPEED_OF_LIGHT_M_S * velocity_factor * alias_free_time_s(step_hz)
}

/// Step with which a reflection sweep reaches `range_m`, Hz.
pub fn step_for_reflection_range_hz(range_m: f64, velocity_factor: f64) -> f64 {
    SPEED_OF_LIGHT_M_S * velocity_factor / (2.0 * range_m)
}

/// Distance at which two echoes are just resolved, m, from 0 Hz to `stop_hz` with an impulse
/// `width` wide in units of 1/`stop_hz`.
pub fn resolution_m(stop_hz: f64, velocity_factor: f64, width: f64) -> f64 {
    0.5 * SPEED_OF_LIGHT_M_S * velocity_factor * width / stop_hz
}
