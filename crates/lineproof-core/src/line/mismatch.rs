//! Mismatch: VSWR, return loss, what a wrong load costs in power and voltage.
//!
//! Two accounts of the loss of a mismatched line stand side by side: the handbook formula
//! ([`handbook_total_loss_db`]), an average over the positions of the load's standing wave, and the
//! balance of power at both ends ([`total_loss_db`]), which is exact. They agree for real Z0 and
//! differ when the line is much shorter than half a wave.
//!
//! Sources: ARRL Antenna Book, chapter on transmission lines (from memory) for the handbook forms;
//! the exact form is P = Re(V·I*) with the line equations. Magnitudes are those of voltage
//! reflections, 0 to 1; all results in dB are positive for a passive load.

use num_complex::Complex64;

use super::input_impedance::{Termination, near_end};
use crate::constants::DB_PER_NEPER;

/// VSWR of a reflection of this magnitude; `None` from 1 on, where there is none.
pub fn swr(reflection: f64) -> Option<f64> {
    (0.0..1.0)
        .contains(&reflection)
        .then(|| (1.0 + reflection) / (1.0 - reflection))
}

/// VSWR from forward and reflected voltage; `None` if the reflected one is not the smaller.
pub fn swr_of_voltages(forward_v: f64, reflected_v: f64) -> Option<f64> {
    swr(reflected_v / forward_v)
}

/// Magnitude of the reflection that has this VSWR (1 or more).
pub fn reflection_of_swr(swr: f64) -> f64 {
    (swr - 1.0) / (swr + 1.0)
}

/// Return loss, dB; `None` for no reflection at all.
pub fn return_loss_db(reflection: f64) -> Option<f64> {
    (reflection > 0.0).then(|| -20.0 * reflection.log10())
}

/// Magnitude of the reflection that has this return loss.
pub fn reflection_of_return_loss(return_loss_db: f64) -> f64 {
    10f64.powf(-return_loss_db / 20.0)
}

/// Power that a reflection of this magnitude keeps from the load, dB; `None` for total reflection.
pub fn mismatch_loss_db(reflection: f64) -> Option<f64> {
    (0.0..1.0)
        .contains(&reflection)
        .then(|| -10.0 * (-reflection * reflection).ln_1p() / std::f64::consts::LN_10)
}

/// Return loss at the near end of a line: that at the far end plus twice the one-way loss, dB.
/// Exact if the reflections refer to the line's own impedance.
pub fn near_return_loss_db(far_return_loss_db: f64, matched_loss_db: f64) -> f64 {
    far_return_loss_db + 2.0 * matched_loss_db
}

/// Magnitude of a reflection seen through a line with this one-way matched loss.
pub fn reflection_through_loss(reflection: f64, matched_loss_db: f64) -> f64 {
    reflection * 10f64.powf(-matched_loss_db / 10.0)
}

/// Loss, dB, of a line with one-way `matched_loss_db` whose load reflects `reflection`, by the
/// handbook formula 10·log((a² − Γ²)/(a(1 − Γ²))), a = 10^(ML/10). `None` for total reflection.
///
/// An average: for a line much shorter than half a wave the truth depends on the side to which the
/// load is off, see [`total_loss_db`].
pub fn handbook_total_loss_db(matched_loss_db: f64, reflection: f64) -> Option<f64> {
    if !(0.0..1.0).contains(&reflection) {
        return None;
    }
    let a = 10f64.powf(matched_loss_db / 10.0);
    let square = reflection * reflection;
    Some(10.0 * ((a * a - square) / (a * (1.0 - square))).log10())
}

/// Loss, dB, of a line between its input terminals and the load, by the balance of power: exact for
/// complex `z0_ohm` and any length. `None` if the load takes no power.
pub fn total_loss_db(z_load_ohm: Complex64, z0_ohm: Complex64, gamma_l: Complex64) -> Option<f64> {
    let ends = near_end(Termination::Impedance(z_load_ohm), z0_ohm, gamma_l);
    let into_line = (ends.voltage * ends.current.conj()).re / 4.0;
    let into_load = (ends.far_voltage * ends.far_current.conj()).re;
    let loss = 10.0 * (into_line / into_load).log10() + DB_PER_NEPER * gamma_l.re;
    (into_load > 0.0 && loss.is_finite()).then_some(loss)
}

/// Peak voltage, V, along a line that carries `power_w` net with this VSWR: √(2 P Z0 VSWR).
pub fn peak_voltage_v(power_w: f64, z0_ohm: f64, swr: f64) -> f64 {
    (2.0 * power_w * z0_ohm * swr).sqrt()
}

/// Peak current, A, along a line that carries `power_w` net with this VSWR: √(2 P VSWR/Z0).
pub fn peak_current_a(power_w: f64, z0_ohm: f64, swr: f64) -> f64 {
    (2.0 * power_w * swr / z0_ohm).sqrt()
}

/// Net power, W, at which the peak voltage reaches `peak_v`: V²/(2 Z0 VSWR). An estimate of what
/// insulation allows; heating and local rules set limits of their own.
pub fn voltage_limited_power_w(peak_v: f64, z0_ohm: f64, swr: f64) -> f64 {
    peak_v * peak_v / (2.0 * z0_ohm * swr)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_does_not_exist_is_absent() {
        assert_eq!(swr(1.0), None);
        assert_eq!(return_loss_db(0.0), None);
        assert_eq!(mismatch_loss_db(1.0), None);
        assert_eq!(handbook_total_loss_db(1.0, 1.0), None);
        let z0 = Complex64::new(50.0, 0.0);
        let reactor = Complex64::new(0.0, 20.0);
        assert_eq!(total_loss_db(reactor, z0, Complex64::new(0.1, 1.0)), None);
    }

    #[test]
    fn with_real_impedance_the_handbook_formula_is_the_power_balance() {
        let z0 = Complex64::new(50.0, 0.0);
        for (load, turn) in [(150.0, 0.3), (10.0, 2.0), (75.0, 31.0)] {
            let exact = total_loss_db(Complex64::new(load, 0.0), z0, Complex64::new(0.2, turn));
            let reflection = ((load - 50.0) / (load + 50.0)).abs();
            let formula = handbook_total_loss_db(0.2 * DB_PER_NEPER, reflection);
            assert!((exact.unwrap() - formula.unwrap()).abs() < 1e-12);
        }
    }

    #[test]
    fn a_matched_line_loses_its_matched_loss_however_long() {
        let z0 = Complex64::new(75.0, 0.0);
        let loss = total_loss_db(z0, z0, Complex64::new(500.0, 1e4)).unwrap();
        assert!((loss - 500.0 * DB_PER_NEPER).abs() < 1e-9);
    }
}
