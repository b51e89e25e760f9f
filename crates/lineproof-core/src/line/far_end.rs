//! What really ends a line: an open has some capacitance, a short some inductance.
//!
//! Tens of femtofarads and tens of picohenries at a flush end (common practice). Either makes the
//! line look longer; neither changes how much is reflected.

use std::f64::consts::TAU;

use num_complex::Complex64;

use super::input_impedance::Termination;
use crate::sweep::reflection_of_impedance;

/// One-way delay by which fringing capacitance at an open end makes a line look longer, s: C·Z0.
///
/// First order: the exact angle is atan(ωCZ0), smaller by a third of its square.
pub fn open_end_delay_s(capacitance_f: f64, z0_ohm: f64) -> f64 {
    capacitance_f * z0_ohm
}

/// One-way delay by which the inductance of a short makes a line look longer, s: L/Z0, first order.
pub fn short_end_delay_s(inductance_h: f64, z0_ohm: f64) -> f64 {
    inductance_h / z0_ohm
}

/// The open end of a line with fringing capacitance; an ideal one at direct current.
pub fn open_end(capacitance_f: f64, freq_hz: f64) -> Termination {
    let susceptance_s = TAU * freq_hz * capacitance_f;
    if susceptance_s == 0.0 {
        return Termination::Open;
    }
    Termination::Impedance(Complex64::new(0.0, -1.0 / susceptance_s))
}

/// A short with inductance.
pub fn short_end(inductance_h: f64, freq_hz: f64) -> Termination {
    Termination::Impedance(Complex64::new(0.0, TAU * freq_hz * inductance_h))
}

/// A resistor with inductance in series.
pub fn load_end(ohm: f64, inductance_h: f64, freq_hz: f64) -> Termination {
    Termination::Impedance(Complex64::new(ohm, TAU * freq_hz * inductance_h))
}

/// Reflection of a bare open end with fringing capacitance: e^(−2j·atan(ωCZ)).
pub fn open_end_reflection(capacitance_f: f64, freq_hz: f64, z_ref_ohm: f64) -> Complex64 {
    match open_end(capacitance_f, freq_hz) {
        Termination::Impedance(z) => reflection_of_impedance(z, z_ref_ohm),
        Termination::Open => Complex64::ONE,
        Termination::Short => -Complex64::ONE,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::line::input_impedance::input_reflection;

    #[test]
    fn fringing_turns_the_reflection_as_that_much_more_line_does() {
        let (capacitance_f, freq_hz) = (40e-15, 100e6);
        let delay_s = open_end_delay_s(capacitance_f, 50.0);
        let longer = Complex64::new(0.0, TAU * freq_hz * delay_s);
        let z0 = Complex64::new(50.0, 0.0);
        let line = input_reflection(Termination::Open, z0, longer, 50.0).unwrap();
        let fringed = open_end_reflection(capacitance_f, freq_hz, 50.0);
        assert!((line - fringed).norm() < 2.0 * (TAU * freq_hz * delay_s).powi(3));
        assert_eq!(
            open_end_reflection(capacitance_f, 0.0, 50.0),
            Complex64::ONE
        );
    }
}
