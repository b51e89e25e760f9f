//! Delay, length and velocity factor, each from the others.
//!
//! Delays are one way unless the name says otherwise; phases are in radians and fall with
//! frequency, as those of anything that takes time do.

use std::f64::consts::{PI, TAU};

use crate::constants::SPEED_OF_LIGHT_M_S;

/// Velocity factor of a piece of this length and one-way delay.
pub fn velocity_factor(length_m: f64, one_way_delay_s: f64) -> f64 {
    length_m / (SPEED_OF_LIGHT_M_S * one_way_delay_s)
}

/// Velocity factor 1/√εr of a line filled with one dielectric, internal inductance left out.
pub fn velocity_factor_of_dielectric(eps_r: f64) -> f64 {
    1.0 / eps_r.sqrt()
}

/// Effective relative permittivity 1/VF², also of foam and spaced dielectrics.
pub fn effective_eps_r(velocity_factor: f64) -> f64 {
    1.0 / (velocity_factor * velocity_factor)
}

/// One-way delay of a piece, s.
pub fn one_way_delay_s(length_m: f64, velocity_factor: f64) -> f64 {
    length_m / (SPEED_OF_LIGHT_M_S * velocity_factor)
}

/// Physical length of a piece, m.
pub fn length_m(one_way_delay_s: f64, velocity_factor: f64) -> f64 {
    SPEED_OF_LIGHT_M_S * velocity_factor * one_way_delay_s
}

/// Length of free space with the same delay, m.
pub fn electrical_length_m(one_way_delay_s: f64) -> f64 {
    SPEED_OF_LIGHT_M_S * one_way_delay_s
}

/// One-way phase turn at `freq_hz`, rad, whole turns included.
pub fn electrical_angle_rad(one_way_delay_s: f64, freq_hz: f64) -> f64 {
    TAU * freq_hz * one_way_delay_s
}

/// Group delay −dφ/dω, s, of a transmission phase that changes by `phase_rad` over `step_hz`.
pub fn group_delay_s(phase_rad: f64, step_hz: f64) -> f64 {
    -phase_rad / (TAU * step_hz)
}

/// One-way delay, s, from the phase of a *reflection*, which has gone there and back.
pub fn one_way_delay_of_reflection_s(phase_rad: f64, step_hz: f64) -> f64 {
    0.5 * group_delay_s(phase_rad, step_hz)
}

/// Mean characteristic impedance τ/C of a piece from its one-way delay and its total capacitance
/// at low frequency, ohm (IEC 61196-1-108, formula from memory). Per metre will do for both.
pub fn mean_z0_ohm(one_way_delay_s: f64, capacitance_f: f64) -> f64 {
    one_way_delay_s / capacitance_f
}

/// Phases with whole turns added so that no step is larger than half a turn. True phases come out
/// only if the true steps are smaller than that too.
pub fn unwrapped_rad(phase_rad: &[f64]) -> Vec<f64> {
    let mut turns = 0.0;
    let mut previous = phase_rad.first().copied().unwrap_or(0.0);
    phase_rad
        .iter()
        .map(|&phase| {
            let step = phase - previous;
            turns -= (step / TAU).round();
            previous = phase;
            phase + turns * TAU
        })
        .collect()
}

/// Group delay, s, as the least-squares slope of unwrapped transmission phase against frequency;
/// `None` for fewer than two different frequencies.
pub fn group_delay_of_slope_s(freq_hz: &[f64], unwrapped_phase_rad: &[f64]) -> Option<f64> {
    let slope = slope(freq_hz, unwrapped_phase_rad)?;
    Some(-slope / TAU)
}

/// Largest step between points, Hz, at which the phase of a reflection can still be followed: half
/// a turn for there and back.
pub fn largest_step_hz(one_way_delay_s: f64) -> f64 {
    PI / (2.0 * TAU * one_way_delay_s)
}

/// Least-squares slope; `None` if `x` does not vary.
pub(crate) fn slope(x: &[f64], y: &[f64]) -> Option<f64> {
    let count = x.len().min(y.len()) as f64;
    let (mean_x, mean_y) = (x.iter().sum::<f64>() / count, y.iter().sum::<f64>() / count);
    let pairs = || x.iter().zip(y).map(|(x, y)| (x - mean_x, y - mean_y));
    let spread: f64 = pairs().map(|(dx, _)| dx * dx).sum();
    let slope = pairs().map(|(dx, dy)| dx * dy).sum::<f64>() / spread;
    (spread > 0.0 && slope.is_finite()).then_some(slope)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn delay_and_length_are_each_others_inverse() {
        let delay = one_way_delay_s(1.5, 0.66);
        assert!((length_m(delay, 0.66) - 1.5).abs() < 1e-15);
        assert!((velocity_factor(1.5, delay) - 0.66).abs() < 1e-15);
        assert!((effective_eps_r(velocity_factor_of_dielectric(2.3)) - 2.3).abs() < 1e-15);
    }

    #[test]
    fn slope_of_wrapped_phase_gives_the_delay_back() {
        let freq: Vec<f64> = (0..200).map(|k| 1e6 + 0.5e6 * f64::from(k)).collect();
        let wrapped: Vec<f64> = freq
            .iter()
            .map(|f| {
                let phase = -TAU * f * 40e-9;
                phase.sin().atan2(phase.cos())
            })
            .collect();
        let delay = group_delay_of_slope_s(&freq, &unwrapped_rad(&wrapped)).unwrap();
        assert!((delay / 40e-9 - 1.0).abs() < 1e-12);
        assert_eq!(group_delay_of_slope_s(&freq[..1], &wrapped), None);
        assert_eq!(group_delay_of_slope_s(&[], &[]), None);
    }

    #[test]
    fn the_largest_step_turns_a_reflection_by_half_a_turn() {
        let step = largest_step_hz(10e-9);
        assert!((2.0 * electrical_angle_rad(10e-9, step) - PI).abs() < 1e-12);
    }
}
