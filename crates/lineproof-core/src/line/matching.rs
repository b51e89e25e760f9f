//! Pieces cut to an electrical angle: transformers, stubs, phasing lines.
//!
//! Lossless forms with real impedance. Source: D. M. Pozar, Microwave Engineering, 4th ed.,
//! sections 2.3 and 2.5.

use std::f64::consts::{PI, TAU};

use crate::constants::{METRES_PER_FOOT, SPEED_OF_LIGHT_M_S};

/// Characteristic impedance of the quarter wave that matches two resistances, √(R1 R2), ohm.
pub fn quarter_wave_z0_ohm(first_ohm: f64, second_ohm: f64) -> f64 {
    (first_ohm * second_ohm).sqrt()
}

/// Input resistance of a quarter wave with a resistance at its far end, Z0²/R, ohm.
pub fn quarter_wave_input_ohm(z0_ohm: f64, load_ohm: f64) -> f64 {
    z0_ohm * z0_ohm / load_ohm
}

/// Reactance of a shorted stub, Z0 tan θ, ohm.
pub fn shorted_stub_ohm(z0_ohm: f64, angle_rad: f64) -> f64 {
    z0_ohm * angle_rad.tan()
}

/// Reactance of an open stub, −Z0 cot θ, ohm.
pub fn open_stub_ohm(z0_ohm: f64, angle_rad: f64) -> f64 {
    -z0_ohm / angle_rad.tan()
}

/// Shortest angle at which a shorted stub has this reactance, rad, 0 to π.
pub fn shorted_stub_angle_rad(z0_ohm: f64, reactance_ohm: f64) -> f64 {
    half_turn(reactance_ohm.atan2(z0_ohm))
}

/// Shortest angle at which an open stub has this reactance, rad, 0 to π.
pub fn open_stub_angle_rad(z0_ohm: f64, reactance_ohm: f64) -> f64 {
    half_turn(z0_ohm.atan2(-reactance_ohm))
}

/// Physical length of a line that turns the phase by `angle_rad` one way, m.
///
/// ```
/// use lineproof_core::line::matching::length_for_angle_m;
/// // A quarter wave at 14.1 MHz in solid polyethylene.
/// let length = length_for_angle_m(std::f64::consts::FRAC_PI_2, 14.1e6, 0.66);
/// assert!((length - 3.508).abs() < 0.001);
/// ```
pub fn length_for_angle_m(angle_rad: f64, freq_hz: f64, velocity_factor: f64) -> f64 {
    SPEED_OF_LIGHT_M_S * velocity_factor * angle_rad / (TAU * freq_hz)
}

/// Frequency at which a piece turns the phase by `angle_rad` one way, Hz.
pub fn freq_for_angle_hz(angle_rad: f64, length_m: f64, velocity_factor: f64) -> f64 {
    SPEED_OF_LIGHT_M_S * velocity_factor * angle_rad / (TAU * length_m)
}

/// Feet to metres (international foot).
pub fn metres_of_feet(feet: f64) -> f64 {
    feet * METRES_PER_FOOT
}

/// Metres to feet (international foot).
pub fn feet_of_metres(metres: f64) -> f64 {
    metres / METRES_PER_FOOT
}

/// Angles of a stub repeat every half turn.
fn half_turn(angle_rad: f64) -> f64 {
    angle_rad.rem_euclid(PI)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stub_cut_for_a_reactance_has_it() {
        for reactance in [-120.0, -3.0, 0.5, 75.0] {
            let short = shorted_stub_angle_rad(50.0, reactance);
            let open = open_stub_angle_rad(50.0, reactance);
            assert!((0.0..PI).contains(&short) && (0.0..PI).contains(&open));
            assert!((shorted_stub_ohm(50.0, short) - reactance).abs() < 1e-10);
            assert!((open_stub_ohm(50.0, open) - reactance).abs() < 1e-10);
        }
    }

    #[test]
    fn a_quarter_wave_in_feet_is_245_9_over_megahertz() {
        // Handbook constant 245.9 (ARRL Antenna Book, from memory).
        let feet = feet_of_metres(length_for_angle_m(PI / 2.0, 1e6, 1.0));
        assert!((feet - 245.9).abs() < 0.05, "got {feet}");
    }
}
